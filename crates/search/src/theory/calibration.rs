//! Is a map honest? Scores of belief maps against known truths, for drills and hidden-truth trials.

/// Brier score of yes/no forecasts and its parts: score = reliability − resolution + uncertainty.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BrierParts {
    /// Mean squared error.
    pub score: f64,
    /// How far stated chances lie from frequencies; 0 is best.
    pub reliability: f64,
    /// How far frequencies lie from the mean; greater is better.
    pub resolution: f64,
    /// Variance of the outcomes.
    pub uncertainty: f64,
}

/// Brier score of `(stated chance, came true)` with its parts, grouped by equal stated chance.
///
/// # Inputs
/// - `forecasts`: stated chance, and whether it came true
///
/// # Gives
/// The parts; all zero without forecasts.
///
/// # Source
/// decomposition attributed to Murphy 1973 (from memory); identity recomputed
pub fn brier_parts(forecasts: &[(f64, bool)]) -> BrierParts {
    let n = forecasts.len() as f64;
    if forecasts.is_empty() {
        return BrierParts { score: 0.0, reliability: 0.0, resolution: 0.0, uncertainty: 0.0 };
    }
    let outcome = |came: bool| if came { 1.0 } else { 0.0 };
    let mean = forecasts.iter().map(|f| outcome(f.1)).sum::<f64>() / n;
    let mut sorted = forecasts.to_vec();
    sorted.sort_by(|a, b| a.0.total_cmp(&b.0));
    let (mut reliability, mut resolution) = (0.0, 0.0);
    for group in sorted.chunk_by(|a, b| a.0 == b.0) {
        let size = group.len() as f64;
        let rate = group.iter().map(|f| outcome(f.1)).sum::<f64>() / size;
        reliability += size / n * (group[0].0 - rate) * (group[0].0 - rate);
        resolution += size / n * (rate - mean) * (rate - mean);
    }
    let score = forecasts.iter().map(|f| (f.0 - outcome(f.1)) * (f.0 - outcome(f.1))).sum::<f64>() / n;
    BrierParts { score, reliability, resolution, uncertainty: mean * (1.0 - mean) }
}

/// Brier score over many cells of which one held the truth: Σ (p − o)².
///
/// # Inputs
/// - `p`: chance per cell · `truth`: index of the true cell
///
/// # Gives
/// Score in \[0, 2\]; 0 is best.
///
/// # Panics
/// If `truth` is no cell.
///
/// # Source
/// definition
pub fn brier_many(p: &[f64], truth: usize) -> f64 {
    p.iter().enumerate().map(|(k, p)| if k == truth { (p - 1.0) * (p - 1.0) } else { p * p }).sum()
}

/// Where the true cell stands among all when they are opened by falling chance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rank {
    /// Chance in cells above the true one: the lower end of the region level that meets the truth.
    pub low: f64,
    /// The same with its ties and itself; the level is uniform between the two.
    pub high: f64,
    /// Mean number of cells opened until the truth.
    pub opened: f64,
    /// Natural logarithm of the chance given to the true cell.
    pub log_score: f64,
    /// Rating from 1 (first) through 0 (chance) to −1 (last).
    pub rating: f64,
}

/// Rank of the true cell in a map of equal cells; a map is honest when the level is uniform over cases.
///
/// # Inputs
/// - `p`: chance per cell · `truth`: index of the true cell
///
/// # Gives
/// Where the true cell stands.
///
/// # Panics
/// If `truth` is no cell.
///
/// # Source
/// probability integral transform; rating from memory (Sava et al. 2016), unverified
pub fn rank_of(p: &[f64], truth: usize) -> Rank {
    let mine = p[truth];
    let (mut low, mut tied, mut above, mut same) = (0.0, 0.0, 0.0, 0.0);
    for &other in p {
        if other > mine {
            low += other;
            above += 1.0;
        } else if other == mine {
            tied += other;
            same += 1.0;
        }
    }
    let middle = (2.0 * above + same) / (2.0 * p.len() as f64);
    Rank {
        low,
        high: low + tied,
        opened: above + 0.5 * (same + 1.0),
        log_score: libm::log(mine),
        rating: (0.5 - middle) / 0.5,
    }
}

/// How often the truth falls in a map's region of level `alpha` when the map's spread is `ratio` times the true one.
///
/// # Inputs
/// - `alpha`: level of the region, below 1 · `ratio`: spread of the map over the true one
///
/// # Gives
/// Share of truths inside.
///
/// # Source
/// derived here for circular normal errors: 1 − (1 − α)^(ratio²)
pub fn region_share(alpha: f64, ratio: f64) -> f64 {
    -libm::expm1(ratio * ratio * libm::log1p(-alpha))
}

/// Two-sided exact binomial p-value of `hits` of `tries` under chance `p`: all outcomes at most as likely.
///
/// # Inputs
/// - `hits` of `tries` · `p`: chance of one hit
///
/// # Gives
/// Share in \[0, 1\].
///
/// # Source
/// definition of the exact test
pub fn binomial_two_sided(hits: u32, tries: u32, p: f64) -> f64 {
    let chance = |k: u32| {
        let (k, n) = (f64::from(k), f64::from(tries));
        let ways = libm::lgamma(n + 1.0) - libm::lgamma(k + 1.0) - libm::lgamma(n - k + 1.0);
        libm::exp(ways) * libm::pow(p, k) * libm::pow(1.0 - p, n - k)
    };
    let limit = chance(hits) * (1.0 + 1e-7);
    (0..=tries).map(chance).filter(|c| *c <= limit).sum::<f64>().min(1.0)
}

/// Largest gap between the levels `u` and the uniform distribution (Kolmogorov's distance).
///
/// # Inputs
/// - `u`: levels in \[0, 1\]
///
/// # Gives
/// Distance in \[0, 1\]; 0 without levels.
///
/// # Source
/// definition
pub fn uniform_gap(u: &[f64]) -> f64 {
    let mut sorted = u.to_vec();
    sorted.sort_by(f64::total_cmp);
    let n = sorted.len() as f64;
    let gap = |(k, u): (usize, &f64)| ((k as f64 + 1.0) / n - u).max(u - k as f64 / n);
    sorted.iter().enumerate().map(gap).fold(0.0, f64::max)
}

#[cfg(test)]
mod tests {
    use super::*;

    // shows: TH-18
    #[test]
    fn the_brier_score_is_the_sum_of_its_parts() {
        let stated = [0.1, 0.1, 0.1, 0.1, 0.4, 0.4, 0.4, 0.8, 0.8, 0.8];
        let came = [false, false, false, true, false, true, false, true, true, false];
        let parts = brier_parts(&stated.into_iter().zip(came).collect::<Vec<_>>());
        assert!((parts.score - 0.224).abs() < 1e-15);
        assert!((parts.reliability - parts.resolution + parts.uncertainty - parts.score).abs() < 1e-15);
    }

    // shows: TH-19
    #[test]
    fn an_honest_map_meets_the_truth_as_often_as_it_says() {
        let map = [0.30, 0.25, 0.25, 0.10, 0.06, 0.04];
        let rank = rank_of(&map, 1);
        assert!((rank.low - 0.3).abs() < 1e-15 && (rank.high - 0.8).abs() < 1e-15);
        assert_eq!(rank.opened, 2.5);
        assert!((rank.rating - 1.0 / 3.0).abs() < 1e-14);
        assert!((region_share(0.5, 1.0) - 0.5).abs() < 1e-15);
        assert!((binomial_two_sided(14, 40, 0.5) - 0.080_690_467_751_992_4).abs() < 1e-12);
        let levels = [0.03, 0.11, 0.24, 0.35, 0.41, 0.52, 0.66, 0.71, 0.83, 0.97];
        assert!((uniform_gap(&levels) - 0.09).abs() < 1e-12);
    }
}
