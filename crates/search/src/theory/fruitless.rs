//! What a search that found nobody teaches: Bayes' rule over cells and the rest of the world.

/// Belief after a search that found nobody.
#[derive(Clone, Debug, PartialEq)]
pub struct Fruitless {
    /// Chance, before the search, that it would find: Σ p d.
    pub pos: f64,
    /// Belief per cell afterwards.
    pub posterior: Vec<f64>,
    /// Belief in the rest of the world afterwards.
    pub rest: f64,
}

/// The search could not have failed, and did: what was put in cannot all be true.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Contradiction;

/// Rounding of a sum of shares that is taken for one.
const ROUNDING: f64 = 1e-12;

/// Belief after a search with chance `d[i]` of finding in cell i found nobody:
/// p' = p (1 − d) / (1 − Σ p d), and the rest r' = r / (1 − Σ p d).
///
/// Shares that are neither in `p` nor in `rest` belong to no cell asked about; they weigh on the sum
/// and are not reported. Model `bayes`, docs/models/theory.md.
///
/// # Inputs
/// - `p`: belief per cell · `d`: chance of finding there, as long as `p` · `rest`: belief elsewhere; Σ p + rest ≤ 1
///
/// # Gives
/// The new belief, or [`Contradiction`] if the search was certain to find.
///
/// # Panics
/// If `p` and `d` differ in length.
///
/// # Source
/// Bayes' rule
pub fn fruitless(p: &[f64], d: &[f64], rest: f64) -> Result<Fruitless, Contradiction> {
    assert_eq!(p.len(), d.len(), "one chance of finding per cell");
    let missed: f64 = p.iter().zip(d).map(|(p, d)| p * (1.0 - d)).sum();
    let outside = 1.0 - p.iter().sum::<f64>() - rest;
    // Adding what is left, instead of taking Σ p d from one, keeps small remainders exact.
    let left = missed + rest + if outside > ROUNDING { outside } else { 0.0 };
    if left <= 0.0 {
        return Err(Contradiction);
    }
    Ok(Fruitless {
        pos: p.iter().zip(d).map(|(p, d)| p * d).sum(),
        posterior: p.iter().zip(d).map(|(p, d)| p * (1.0 - d) / left).collect(),
        rest: rest / left,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    const P: [f64; 4] = [0.35, 0.25, 0.15, 0.10];

    // shows: TH-3
    #[test]
    fn searched_cells_fall_and_the_rest_rises() {
        let after = fruitless(&P, &[0.6, 0.4, 0.0, 0.0], 0.15).unwrap();
        assert!((after.pos - 0.31).abs() < 1e-15);
        assert!((after.posterior[0] - 0.202_898_550_724_637_67).abs() < 1e-15);
        assert!((after.rest - 0.217_391_304_347_826_1).abs() < 1e-15);
        assert!((after.posterior.iter().sum::<f64>() + after.rest - 1.0).abs() < 1e-15);
        let same = fruitless(&P, &[0.0; 4], 0.15).unwrap();
        assert!(same.posterior.iter().zip(P).all(|(a, b)| (a - b).abs() < 1e-15));
    }

    // shows: TH-4
    #[test]
    fn the_order_of_searches_does_not_matter() {
        let (first, second) = ([0.6, 0.4, 0.0, 0.0], [0.6, 0.0, 0.5, 0.5]);
        let run = |a: &[f64], b: &[f64]| {
            let once = fruitless(&P, a, 0.15).unwrap();
            let twice = fruitless(&once.posterior, b, once.rest).unwrap();
            (1.0 - (1.0 - once.pos) * (1.0 - twice.pos), twice)
        };
        let ((found, one), (other_found, other)) = (run(&first, &second), run(&second, &first));
        assert!((found - 0.519).abs() < 1e-15 && (found - other_found).abs() < 1e-15);
        assert!(one.posterior.iter().zip(&other.posterior).all(|(a, b)| (a - b).abs() < 1e-15));
    }

    // shows: TH-5
    #[test]
    fn certainty_that_failed_is_a_contradiction() {
        assert_eq!(fruitless(&[1.0], &[1.0], 0.0), Err(Contradiction));
        assert_eq!(fruitless(&[0.1; 10], &[1.0; 10], 0.0), Err(Contradiction));
        assert!(fruitless(&[0.999], &[1.0], 0.001).is_ok_and(|a| a.rest == 1.0));
    }
}
