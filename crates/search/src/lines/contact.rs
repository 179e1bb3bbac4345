//! Chance that a line of sweeping feet or hands meets and recognises a person lying on the bottom.

/// Chance that one pass of a line finds a body that lies in its strip.
///
/// The body is a box `length_m` × `width_m` at a uniform angle φ to the walking direction; its extent
/// across is E = L sin φ + w cos φ. With searchers `spacing_m` apart reaching `reach_m` to each side at a
/// uniform offset, x = (E + 2r)/s of them pass over it on average, the whole part surely and the fraction
/// by chance; each feels it with chance `touch`, and `cap` is what remains for the line as a whole.
/// Model `contact`, docs/models/lines.md.
///
/// # Inputs
/// - `spacing_m` s > 0 · `reach_m` r ≥ 0 · `length_m` L ≥ 0 · `width_m` w ≥ 0 \[m\] · `touch` p, `cap` in 0..1
///
/// # Gives
/// Chance in \[0, cap\].
///
/// # Source
/// derived here; no published test of foot or hand sweeps was found
pub fn contact(spacing_m: f64, reach_m: f64, length_m: f64, width_m: f64, touch: f64, cap: f64) -> f64 {
    contact_in(20_000, [spacing_m, reach_m], [length_m, width_m], touch, cap)
}

/// The same by a midpoint rule of `steps` steps: the integrand is continuous with a few kinks, so the error falls as 1/n².
pub(super) fn contact_in(steps: usize, line_m: [f64; 2], body_m: [f64; 2], touch: f64, cap: f64) -> f64 {
    let ([spacing_m, reach_m], [length_m, width_m]) = (line_m, body_m);
    let miss = 1.0 - touch;
    let mut sum = 0.0;
    for k in 0..steps {
        let phi = (k as f64 + 0.5) * std::f64::consts::FRAC_PI_2 / steps as f64;
        let extent = length_m * libm::sin(phi) + width_m * libm::cos(phi);
        let feet = (extent + 2.0 * reach_m) / spacing_m;
        let whole = feet.floor();
        let missed = libm::pow(miss, whole);
        sum += 1.0 - missed * (1.0 - (feet - whole) * touch);
    }
    cap * sum / steps as f64
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_table_of_the_facts_to_its_printed_digits() {
        let spacings = [0.6, 1.0, 1.2, 2.0];
        let adult = [[0.84, 0.69, 0.63, 0.45], [0.92, 0.84, 0.80, 0.62], [0.94, 0.91, 0.89, 0.75]];
        let child = [[0.79, 0.62, 0.56, 0.39], [0.90, 0.79, 0.73, 0.54], [0.94, 0.88, 0.84, 0.66]];
        for (length, width, table) in [(1.7, 0.35, adult), (1.2, 0.25, child)] {
            for (touch, row) in [0.5, 0.7, 0.85].iter().zip(table) {
                for (spacing, expect) in spacings.iter().zip(row) {
                    let pod = contact(*spacing, 0.35, length, width, *touch, 0.95);
                    assert!(
                        (pod - expect).abs() < 0.0051,
                        "{length} m, {spacing} m, {touch}: {pod} not {expect}"
                    );
                }
            }
        }
    }
}
