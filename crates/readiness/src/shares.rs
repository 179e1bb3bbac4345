//! Shares and means of trials with their Monte-Carlo error.

use serde::Serialize;

/// A mean with its standard error.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct Mean {
    /// The mean.
    pub mean: f64,
    /// Its standard error.
    pub error: f64,
}

impl Mean {
    /// The same mean with an error of no less than `error`.
    #[must_use]
    pub fn at_least(self, error: f64) -> Mean {
        Mean { error: self.error.max(error), ..self }
    }

    /// Mean of independent values.
    ///
    /// # Inputs
    /// - `values`: what is not a number is left out
    ///
    /// # Gives
    /// Zero, with an infinite error, of fewer than two values.
    ///
    /// # Source
    /// textbook
    pub fn of(values: impl IntoIterator<Item = f64>) -> Mean {
        let all: Vec<f64> = values.into_iter().filter(|v| v.is_finite()).collect();
        let n = all.len() as f64;
        if all.len() < 2 {
            return Mean { mean: all.first().copied().unwrap_or(0.0), error: f64::INFINITY };
        }
        let mean = all.iter().sum::<f64>() / n;
        let square = all.iter().map(|v| (v - mean) * (v - mean)).sum::<f64>() / (n - 1.0);
        Mean { mean, error: (square / n).sqrt() }
    }

    /// A share of ones and zeros; where all are alike the error is that of one case more of the other kind.
    ///
    /// # Inputs
    /// - `hits`: one a trial
    ///
    /// # Source
    /// binomial error with one success and one failure added (textbook)
    pub fn share(hits: impl IntoIterator<Item = bool>) -> Mean {
        let all: Vec<bool> = hits.into_iter().collect();
        let (n, k) = (all.len() as f64, all.iter().filter(|hit| **hit).count() as f64);
        let smooth = (k + 1.0) / (n + 2.0);
        Mean { mean: if n > 0.0 { k / n } else { 0.0 }, error: (smooth * (1.0 - smooth) / n.max(1.0)).sqrt() }
    }

    /// Mean of something dear, from many cheap values and a few dear ones of the same cases: the mean of the cheap, put right by
    /// what the dear ones differ.
    ///
    /// # Inputs
    /// - `cases`: the cheap value, and the dear one where there is one
    ///
    /// # Gives
    /// The cheap mean where there is no dear value at all; an infinite error where there is one alone.
    ///
    /// # Source
    /// two-level Monte Carlo (textbook)
    pub fn put_right(cases: &[(f64, Option<f64>)]) -> Mean {
        let cheap = Mean::of(cases.iter().map(|case| case.0));
        let both: Vec<(f64, f64)> =
            cases.iter().filter_map(|&(cheap, dear)| Some((cheap, dear? - cheap))).collect();
        if both.is_empty() {
            return cheap;
        }
        let differ = Mean::of(both.iter().map(|pair| pair.1));
        let (n, m) = (cases.len() as f64, both.len() as f64);
        let middle = both.iter().map(|pair| pair.0).sum::<f64>() / m;
        let together = both.iter().map(|(a, b)| (a - middle) * (b - differ.mean)).sum::<f64>() / (m - 1.0);
        // The dear cases are among the cheap ones: both means move together by what they share.
        let square = cheap.error.powi(2) + differ.error.powi(2) + 2.0 * together / n;
        let error = if square.is_nan() { f64::INFINITY } else { square.max(0.0).sqrt() };
        Mean { mean: cheap.mean + differ.mean, error }
    }

    /// How many standard errors it lies from zero.
    pub fn sigmas(&self) -> f64 {
        if self.error > 0.0 { self.mean / self.error } else { 0.0 }
    }

    /// Whether it is told apart from zero: two standard errors or more.
    pub fn told_apart(&self) -> bool {
        self.sigmas().abs() >= 2.0
    }
}

/// The time by which a share of all trials was found \[s\]; `None` if so many never were.
///
/// # Inputs
/// - `found_s`: one a trial · `share` in (0, 1)
///
/// # Source
/// order statistics (textbook)
pub fn found_within(found_s: &[Option<f64>], share: f64) -> Option<f64> {
    let mut times: Vec<f64> = found_s.iter().flatten().copied().collect();
    times.sort_by(f64::total_cmp);
    let wanted = (share * found_s.len() as f64).ceil().max(1.0) as usize;
    times.get(wanted - 1).copied()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_few_dear_values_put_many_cheap_ones_right() {
        // Cheap values 0 or 1, dear ones 0.2 more: the mean is theirs and no doubt comes in.
        let cases: Vec<(f64, Option<f64>)> =
            (0..100).map(|k| (f64::from(k % 2), (k % 5 == 0).then(|| f64::from(k % 2) + 0.2))).collect();
        let (right, cheap) = (Mean::put_right(&cases), Mean::of(cases.iter().map(|c| c.0)));
        assert!((right.mean - 0.7).abs() < 1e-12 && (right.error - cheap.error).abs() < 1e-12, "{right:?}");
        // Dear for all of them: mean and error are those of the dear values, whatever the cheap ones are.
        let all: Vec<(f64, Option<f64>)> =
            (0..50).map(|k| (f64::from(k % 7), Some(f64::from(k % 3)))).collect();
        let (right, dear) = (Mean::put_right(&all), Mean::of(all.iter().filter_map(|c| c.1)));
        assert!((right.mean - dear.mean).abs() < 1e-12 && (right.error - dear.error).abs() < 1e-12);
        assert_eq!(Mean::put_right(&[(0.5, None), (0.7, None)]), Mean::of([0.5, 0.7]));
        assert!(Mean::put_right(&[(0.5, Some(0.6)), (0.7, None)]).error.is_infinite());
    }

    #[test]
    fn means_shares_and_quantiles_are_those_of_the_textbook() {
        let mean = Mean::of([1.0, 2.0, 3.0, 4.0, f64::NAN]);
        assert!((mean.mean - 2.5).abs() < 1e-12 && (mean.error - (5.0_f64 / 3.0 / 4.0).sqrt()).abs() < 1e-12);
        assert!(!Mean::of([1.0]).told_apart() && Mean::of([1.0]).error.is_infinite());
        let share = Mean::share((0..100).map(|k| k < 30));
        assert!((share.mean - 0.3).abs() < 1e-12 && (share.error - 0.0460).abs() < 0.001);
        assert!(Mean::share([false; 10]).error > 0.05);
        let times = [Some(30.0), None, Some(10.0), Some(20.0)];
        assert_eq!(found_within(&times, 0.5), Some(20.0));
        assert_eq!(found_within(&times, 0.75), Some(30.0));
        assert_eq!(found_within(&times, 0.9), None);
        assert_eq!(found_within(&[], 0.5), None);
    }
}
