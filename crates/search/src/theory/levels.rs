//! Best spread of effort over a map of equal cells, for many amounts of effort at once, without sorting it.
//!
//! Positive doubles order like their bit patterns, so the high bits name a narrow bucket of chance. One
//! pass counts each bucket and keeps Σ p and Π p; a walk from the top bucket down tells in which bucket each
//! level lies; only the cells of those few buckets are sorted.

/// Bits of the fraction that name a bucket: 64 buckets between a chance and its double.
const FRACTION_BITS: u32 = 6;
const SHIFT: u32 = 52 - FRACTION_BITS;
/// Products of fractions in [1, 2) are folded into the logarithm before they can overflow.
const FOLD_AT: f64 = 1e290;

/// Water level and chance found for one amount of effort.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Level {
    /// Natural logarithm of the level λ: cells with more chance than λ are searched, to coverage ln(p/λ).
    pub log_level: f64,
    /// Chance found, Σ p (1 − λ/p) over those cells.
    pub pos: f64,
}

/// All cells of one bucket taken together.
#[derive(Clone, Copy)]
struct Bucket {
    count: u64,
    sum: f64,
    product: f64,
}

/// Cells above some chance: how many, their Σ p and their Σ ln p.
#[derive(Clone, Copy, Default)]
struct Above {
    count: f64,
    sum: f64,
    logs: f64,
}

impl Above {
    fn with(self, p: f64) -> Above {
        Above { count: self.count + 1.0, sum: self.sum + p, logs: self.logs + libm::log(p) }
    }

    /// Effort at which a cell of chance e^`log_p` would be next.
    fn need(self, log_p: f64) -> f64 {
        self.logs - self.count * log_p
    }

    fn level(self, effort: f64) -> Level {
        let log_level = (self.logs - effort) / self.count;
        Level { log_level, pos: (self.sum - self.count * libm::exp(log_level)).max(0.0) }
    }
}

/// Level and chance found for each amount of swept area, over equal cells of one square unit each.
///
/// Equal to [`super::optimal_effort`] with W/A = 1 in every cell. Model `optimal_effort`,
/// docs/models/theory.md (TH-12).
///
/// # Inputs
/// - `p`: chance per cell; zero, negative, infinite or NaN cells are left out · `efforts`: swept area over cell area, rising, ≥ 0
///
/// # Gives
/// One level per effort; empty if no cell has any chance.
///
/// # Panics
/// If `efforts` do not rise.
///
/// # Source
/// koopman; derived again here
pub fn levels(p: &[f64], efforts: &[f64]) -> Vec<Level> {
    assert!(efforts.windows(2).all(|w| w[0] <= w[1]), "efforts must rise");
    let Some((first, buckets, folded)) = fill(p) else { return Vec::new() };
    let key = |p: f64| (p.to_bits() >> SHIFT) as usize - first;
    // Walk down: `held[j]` is the bucket in which level j lies, with all cells above that bucket.
    let mut held: Vec<(usize, Above)> = Vec::with_capacity(efforts.len());
    let mut above = Above::default();
    for k in (0..buckets.len()).rev() {
        let bucket = &buckets[k];
        if bucket.count == 0 {
            continue;
        }
        let floor = libm::log(f64::from_bits(((first + k) as u64) << SHIFT));
        let whole = Above {
            count: above.count + bucket.count as f64,
            sum: above.sum + bucket.sum,
            logs: above.logs + bucket_logs(bucket, first + k) + folded[k],
        };
        while held.len() < efforts.len() && whole.need(floor) >= efforts[held.len()] {
            held.push((k, above));
        }
        if held.len() == efforts.len() {
            break;
        }
        above = whole;
    }
    let kept = gather(p, &held, buckets.len(), key);
    let mut answer: Vec<Level> =
        held.iter().zip(efforts).map(|((k, above), e)| within(*above, &kept[*k], *e)).collect();
    // What is left spends past the last cell: every cell is searched.
    answer.extend(efforts[held.len()..].iter().map(|e| above.level(*e)));
    answer
}

/// Lowest key, buckets from there up, and what was folded out of their products (as logarithms).
fn fill(p: &[f64]) -> Option<(usize, Vec<Bucket>, Vec<f64>)> {
    let (mut least, mut most) = (f64::INFINITY, 0.0_f64);
    for &p in p {
        if searchable(p) {
            least = least.min(p);
            most = most.max(p);
        }
    }
    if most == 0.0 {
        return None;
    }
    let first = (least.to_bits() >> SHIFT) as usize;
    let size = (most.to_bits() >> SHIFT) as usize - first + 1;
    let mut buckets = vec![Bucket { count: 0, sum: 0.0, product: 1.0 }; size];
    let mut folded = vec![0.0; size];
    for &p in p {
        if searchable(p) {
            let key = (p.to_bits() >> SHIFT) as usize - first;
            let bucket = &mut buckets[key];
            bucket.count += 1;
            bucket.sum += p;
            bucket.product *= fraction(p);
            if bucket.product > FOLD_AT {
                folded[key] += libm::log(bucket.product);
                bucket.product = 1.0;
            }
        }
    }
    Some((first, buckets, folded))
}

/// Whether a cell counts: chances below 2.3e-308 have no full fraction and are nothing to any search.
#[inline(always)]
fn searchable(p: f64) -> bool {
    (f64::MIN_POSITIVE..f64::INFINITY).contains(&p)
}

const FRACTION: u64 = (1 << 52) - 1;
const ONE: u64 = 1023 << 52;

#[inline(always)]
fn fraction(p: f64) -> f64 {
    f64::from_bits(p.to_bits() & FRACTION | ONE)
}

/// Σ ln p of a bucket from its product of fractions and its exponent.
fn bucket_logs(bucket: &Bucket, key: usize) -> f64 {
    let exponent = (key >> FRACTION_BITS) as f64 - 1023.0;
    libm::log(bucket.product) + bucket.count as f64 * exponent * std::f64::consts::LN_2
}

/// The cells of the buckets that hold a level, sorted from the greatest chance.
fn gather(p: &[f64], held: &[(usize, Above)], size: usize, key: impl Fn(f64) -> usize) -> Vec<Vec<f64>> {
    let mut wanted = vec![false; size];
    let mut least = size;
    for (k, _) in held {
        wanted[*k] = true;
        least = least.min(*k);
    }
    let mut kept = vec![Vec::new(); size];
    for &p in p {
        if searchable(p) && wanted[key(p)] {
            kept[key(p)].push(p);
        }
    }
    for bucket in &mut kept {
        bucket.sort_unstable_by(|a, b| b.total_cmp(a));
    }
    kept
}

/// The level for `effort` among the sorted cells of its bucket.
fn within(mut above: Above, cells: &[f64], effort: f64) -> Level {
    for &p in cells {
        let log_p = libm::log(p);
        if above.count > 0.0 && above.need(log_p) >= effort {
            break;
        }
        above = above.with(p);
    }
    above.level(effort)
}

/// Coverage of every cell at one level: ln(p) − ln λ where that is positive.
///
/// # Inputs
/// - `log_p`: natural logarithm of the chance per cell (−∞ where none) · `level` · `map`: written, as long as `log_p`
///
/// # Gives
/// Nothing; the coverage is in `map`.
///
/// # Source
/// koopman
pub fn effort_map(log_p: &[f64], level: Level, map: &mut [f64]) {
    for (out, log_p) in map.iter_mut().zip(log_p) {
        *out = (log_p - level.log_level).max(0.0);
    }
}

/// Levels as [`levels`] and the map of coverage for each, one after another in `maps`.
///
/// # Inputs
/// - `p`, `efforts` as [`levels`] · `maps`: written; `p.len()` values for each effort
///
/// # Gives
/// The levels.
///
/// # Panics
/// If `maps` is not `p.len() × efforts.len()` long.
///
/// # Source
/// koopman
pub fn effort_maps(p: &[f64], efforts: &[f64], maps: &mut [f64]) -> Vec<Level> {
    assert_eq!(maps.len(), p.len() * efforts.len(), "one map for each effort");
    let all = levels(p, efforts);
    if all.is_empty() {
        maps.fill(0.0);
        return all;
    }
    let log_p: Vec<f64> =
        p.iter().map(|&p| if searchable(p) { libm::log(p) } else { f64::NEG_INFINITY }).collect();
    for (map, level) in maps.chunks_exact_mut(p.len()).zip(&all) {
        effort_map(&log_p, *level, map);
    }
    all
}

#[cfg(test)]
mod tests {
    use super::super::effort::{Cell, optimal_effort};
    use super::*;
    use proptest::prelude::*;

    fn plain(p: &[f64], effort: f64) -> (f64, f64) {
        let cells: Vec<Cell> = p.iter().map(|&p| Cell { p, area_m2: 1.0, sweep_width_m: 1.0 }).collect();
        let best = optimal_effort(&cells, effort);
        (best.level, best.pos)
    }

    // shows: TH-12
    #[test]
    fn the_bell_gives_the_closed_form_within_its_grid_error() {
        let mut p: Vec<f64> = (0..200 * 200)
            .map(|k| (f64::from(k % 200) - 99.5, f64::from(k / 200) - 99.5))
            .map(|(x, y)| libm::exp(-(x * x + y * y) / (2.0 * 16.0 * 16.0)))
            .collect();
        let total: f64 = p.iter().sum();
        p.iter_mut().for_each(|p| *p /= total);
        let efforts = [0.0, 20.0, 2000.0, 9000.0];
        for (level, effort) in levels(&p, &efforts).iter().zip(efforts) {
            let exact = super::super::circular_normal_effort(16.0, effort).1;
            assert!((level.pos - exact).abs() < 2e-4, "{effort}: {} {exact}", level.pos);
            assert!((level.pos - plain(&p, effort).1).abs() < 1e-13);
        }
        let mut maps = vec![f64::NAN; 4 * p.len()];
        let all = effort_maps(&p, &efforts, &mut maps);
        for (k, effort) in efforts.iter().enumerate() {
            let spent: f64 = maps[k * p.len()..(k + 1) * p.len()].iter().sum();
            assert!((spent - effort).abs() < 1e-9 * effort.max(1.0), "{spent} {effort} {:?}", all[k]);
        }
    }

    // shows: TH-12
    #[test]
    fn ties_subnormals_and_rubbish_cells_are_borne() {
        let tied = [0.25; 4];
        assert!((levels(&tied, &[4.0])[0].pos - (1.0 - libm::exp(-1.0))).abs() < 1e-15);
        assert!(levels(&[0.0, f64::NAN, -1.0, 1e-320], &[1.0]).is_empty() && levels(&[], &[1.0]).is_empty());
        assert!(levels(&[0.5], &[]).is_empty());
        for odd in [vec![1e-310, 0.5, 3e-308], vec![f64::MIN_POSITIVE, 1.0, 0.0]] {
            for effort in [0.0, 3.0, 900.0, 5000.0] {
                let (level, pos) = plain(&odd, effort);
                let got = levels(&odd, &[effort])[0];
                assert!((got.pos - pos).abs() < 1e-12, "{odd:?} {effort}: {got:?} {level} {pos}");
            }
        }
        let many = vec![1.9_f64; 40_000];
        assert!((levels(&many, &[10.0])[0].log_level - (libm::log(1.9) - 10.0 / 40_000.0)).abs() < 1e-10);
    }

    proptest! {
        // shows: TH-12
        #[test]
        fn buckets_give_what_sorting_gives(
            p in prop::collection::vec(prop_oneof![0.0..1.0_f64, 0.0..1e-6_f64, Just(0.25)], 1..200),
            mut efforts in prop::collection::vec(0.0..500.0_f64, 1..8),
        ) {
            efforts.sort_by(f64::total_cmp);
            for (got, effort) in levels(&p, &efforts).iter().zip(&efforts) {
                let (level, pos) = plain(&p, *effort);
                prop_assert!((got.pos - pos).abs() <= 1e-11 * pos.max(1e-3), "{effort}: {got:?} {pos}");
                prop_assert!((libm::exp(got.log_level) - level).abs() <= 1e-10 * level.max(1e-300));
            }
        }
    }
}
