//! Misses by passes for trials: single precision, straight lines, looked up without a branch.

use crate::plan::cells::MissTable;

/// Places of one bed in a table of misses: whole passes, and room to a power of two.
pub(super) const KNOTS: usize = 32;
/// Passes after which a further one is worth nothing.
const PASSES_MOST: f32 = 24.0;

/// Miss by passes, firm then rough: for every whole number the straight line from the one before, as height at no pass and slope.
pub(super) type Curve = [(f32, f32); 2 * KNOTS];

/// The table of a method's misses.
pub(super) fn curve(tables: &[MissTable; 2]) -> Curve {
    std::array::from_fn(|place| {
        let (bed, knot) = (place / KNOTS, place % KNOTS);
        let (from, to) = (knot.saturating_sub(1) as f64, knot.max(1) as f64);
        let step = tables[bed].at(to) - tables[bed].at(from);
        ((tables[bed].at(from) - step * from) as f32, step as f32)
    })
}

/// Miss after passes on a bed (0, or [`KNOTS`] for rough).
#[inline]
pub(super) fn at(curve: &Curve, bed: u32, passes: f32) -> f32 {
    /// From here on single precision knows whole numbers alone, and its lowest bits count them.
    const WHOLE: f32 = 8_388_608.0;
    let passes = passes.min(PASSES_MOST);
    // Half a pass more, rounded: the next whole number. On a whole number itself both lines meet.
    let next = (passes + 0.5 + WHOLE).to_bits() as usize & (KNOTS - 1);
    let (height, slope) = curve[(next | bed as usize) & (2 * KNOTS - 1)];
    height + slope * passes
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Detection;

    #[test]
    fn the_table_of_a_trial_is_that_of_the_cells() {
        let tables = [0.7, 0.5].map(|chance| MissTable::new(Detection::undrilled(chance)));
        let curve = curve(&tables);
        for (bed, table) in tables.iter().enumerate() {
            for k in 0..2_600_u16 {
                let passes = f32::from(k) * 0.01;
                let (ours, exact) = (at(&curve, (bed * KNOTS) as u32, passes), table.at(f64::from(passes)));
                // Single precision, and a line that is begun at no pass.
                assert!((f64::from(ours) - exact).abs() < 1e-6, "{passes}: {ours} {exact}");
            }
        }
    }
}
