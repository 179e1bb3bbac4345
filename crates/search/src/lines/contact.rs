//! Chance that a line of sweeping feet or hands meets and recognises a person lying on the bottom.

use std::f64::consts::FRAC_PI_2;

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
    let body = Body { spacing_m, reach_m, length_m, width_m };
    let mut sum = 0.0;
    // The extent rises to the diagonal of the box, seen across at φ₀, and falls again.
    let peak = libm::atan2(length_m, width_m);
    for (from, to) in [(0.0, peak), (peak, FRAC_PI_2)] {
        let (first, last) = (body.feet(from), body.feet(to));
        let mut cuts = vec![from, to];
        cuts.extend(body.crossings(first.min(last), first.max(last), from < peak && to <= peak, touch));
        cuts.sort_by(f64::total_cmp);
        for pair in cuts.windows(2) {
            sum += body.found(pair[0], pair[1], touch);
        }
    }
    (cap * sum / FRAC_PI_2).clamp(0.0, cap)
}

/// A body on the bottom and the line that comes over it.
struct Body {
    spacing_m: f64,
    reach_m: f64,
    length_m: f64,
    width_m: f64,
}

/// A body that so many have felt for has been found but for 1e-20.
const SURE: f64 = 46.0;
/// More pieces than this are not cut out one by one: only touches below one in twenty thousand come here.
const MOST_PIECES: f64 = 1e6;

impl Body {
    /// Mean number x of searchers that pass over it at angle φ.
    fn feet(&self, phi: f64) -> f64 {
        (self.length_m * libm::sin(phi) + self.width_m * libm::cos(phi) + 2.0 * self.reach_m) / self.spacing_m
    }

    /// Angles at which x is a whole number between `low` and `high`, on the rising or the falling side.
    fn crossings(&self, low: f64, high: f64, rising: bool, touch: f64) -> Vec<f64> {
        let diagonal = libm::hypot(self.length_m, self.width_m);
        let peak = libm::atan2(self.length_m, self.width_m);
        let enough = if touch < 1.0 { SURE / -libm::log1p(-touch) + 2.0 } else { 2.0 };
        let (mut x, end) = (low.floor() + 1.0, high.min(low.floor() + MOST_PIECES).min(enough));
        let mut angles = Vec::new();
        while x < end {
            let share = ((x * self.spacing_m - 2.0 * self.reach_m) / diagonal).clamp(-1.0, 1.0);
            let away = libm::acos(share);
            angles.push((if rising { peak - away } else { peak + away }).clamp(0.0, FRAC_PI_2));
            x += 1.0;
        }
        angles
    }

    /// ∫ 1 − (1−p)^k (1 − (x−k) p) dφ over a piece on which k = floor(x) does not change: x is a sum of sines.
    fn found(&self, from: f64, to: f64, touch: f64) -> f64 {
        if to <= from {
            return 0.0;
        }
        if (self.feet(to) - self.feet(from)).abs() > 1.5 {
            return self.smooth(from, to, touch);
        }
        let whole = self.feet(0.5 * (from + to)).floor();
        let ends = self.length_m * (libm::cos(from) - libm::cos(to))
            + self.width_m * (libm::sin(to) - libm::sin(from));
        let over = (ends + 2.0 * self.reach_m * (to - from)) / self.spacing_m - whole * (to - from);
        (to - from) - libm::pow(1.0 - touch, whole) * ((to - from) - touch * over)
    }

    /// The same over many whole numbers, where (1−p)^x hardly bends between two of them: midpoint rule.
    fn smooth(&self, from: f64, to: f64, touch: f64) -> f64 {
        const STEPS: u32 = 2000;
        let step = (to - from) / f64::from(STEPS);
        let missed = |k| libm::pow(1.0 - touch, self.feet(from + (f64::from(k) + 0.5) * step));
        (0..STEPS).map(|k| 1.0 - missed(k)).sum::<f64>() * step
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // shows: LN-1
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

    /// Midpoint rule, for comparison.
    fn by_steps(body: [f64; 4], touch: f64, cap: f64) -> f64 {
        let [spacing, reach, length, width] = body;
        let n = 400_000;
        let mut sum = 0.0;
        for k in 0..n {
            let phi = (f64::from(k) + 0.5) * FRAC_PI_2 / f64::from(n);
            let feet = (length * phi.sin() + width * phi.cos() + 2.0 * reach) / spacing;
            sum += 1.0 - (1.0 - touch).powf(feet.floor()) * (1.0 - feet.fract() * touch);
        }
        cap * sum / f64::from(n)
    }

    // shows: LN-1
    #[test]
    fn pieces_agree_with_small_steps_at_every_shape() {
        for (body, touch) in [
            ([0.75, 0.4, 1.7, 0.35], 0.7),
            ([1.4, 0.7, 1.7, 0.35], 0.6),
            ([0.05, 0.4, 1.7, 0.35], 0.02),
            ([0.3, 0.0, 1.7, 0.0], 1.0),
            ([0.3, 0.1, 0.2, 0.9], 0.5),
            ([50.0, 0.4, 1.7, 0.35], 0.7),
            ([0.5, 0.25, 1.0, 1.0], 0.5),
        ] {
            let (exact, steps) =
                (contact(body[0], body[1], body[2], body[3], touch, 0.95), by_steps(body, touch, 0.95));
            assert!((exact - steps).abs() < 1e-9, "{body:?} {touch}: {exact} {steps}");
        }
    }

    // shows: LN-1
    #[test]
    fn far_apart_the_chance_is_the_mean_extent() {
        let mean = 2.0 / std::f64::consts::PI * (1.7 + 0.35) + 0.8;
        assert!((contact(100.0, 0.4, 1.7, 0.35, 0.7, 1.0) - 0.7 * mean / 100.0).abs() < 1e-15);
    }

    // shows: LN-2
    #[test]
    fn no_touch_finds_nobody_and_close_lines_find_up_to_the_cap() {
        assert_eq!(contact(0.75, 0.4, 1.7, 0.35, 0.0, 0.95), 0.0);
        assert_eq!(contact(0.75, 0.4, 1.7, 0.35, 0.7, 0.0), 0.0);
        assert_eq!(contact(0.75, 0.0, 0.0, 0.0, 0.7, 0.95), 0.0);
        assert!((contact(1e-9, 0.4, 1.7, 0.35, 0.7, 0.95) - 0.95).abs() < 1e-12);
        // 8e6 feet or more, one in a million: all but e^-8 or less; 1e-3 is far above what the rule leaves out.
        assert!((contact(1e-7, 0.4, 1.7, 0.35, 1e-6, 1.0) - 1.0).abs() < 1e-3);
    }
}
