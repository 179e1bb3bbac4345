//! Repeated looks at the same ground: independent, overlapping, and over kinds of bottom.

/// What repeated looks give.
#[derive(Clone, Debug, PartialEq)]
pub struct Looks {
    /// Chance found.
    pub found: f64,
    /// Share of each kind if all looks failed; `None` where they cannot all fail.
    pub posterior: Option<Vec<f64>>,
}

/// `repeats` looks over ground of several kinds, each look finding with chance `q` of its kind.
///
/// found = Σ π (1 − (1 − q)^n), not the same with the mean of q: what the first look leaves lies where
/// looks are poor. Shares that add to less than one leave a part that no look finds.
/// Model `looks`, docs/models/theory.md.
///
/// # Inputs
/// - `share`: π per kind, Σ ≤ 1 · `q` per kind · `repeats` n ≥ 0
///
/// # Gives
/// Chance found, and the shares afterwards if nobody was found.
///
/// # Panics
/// If the rows differ in length.
///
/// # Source
/// product of independent misses within a kind
pub fn looks(share: &[f64], q: &[f64], repeats: f64) -> Looks {
    assert_eq!(share.len(), q.len(), "one chance per kind");
    let missed: Vec<f64> = share.iter().zip(q).map(|(s, q)| s * libm::pow(1.0 - q, repeats)).collect();
    let found = share
        .iter()
        .zip(q)
        .map(|(s, q)| if repeats == 0.0 { 0.0 } else { -s * libm::expm1(repeats * libm::log1p(-q)) })
        .sum();
    let outside = 1.0 - share.iter().sum::<f64>();
    let left = missed.iter().sum::<f64>() + if outside > 1e-12 { outside } else { 0.0 };
    Looks { found, posterior: (left > 0.0).then(|| missed.iter().map(|m| m / left).collect()) }
}

/// Chance that at least one of several independent looks finds: 1 − Π (1 − q).
///
/// # Inputs
/// - `q`: chance of each look
///
/// # Gives
/// Share.
///
/// # Source
/// product of independent misses
pub fn any_look(q: &[f64]) -> f64 {
    1.0 - q.iter().map(|q| 1.0 - q).product::<f64>()
}

/// Chance that one pass finds when a share `overlap` of the ground is looked at twice.
///
/// # Inputs
/// - `q`: chance of one look · `overlap`: share of the ground looked at twice
///
/// # Gives
/// Share.
///
/// # Source
/// product of independent misses
pub fn overlapped(q: f64, overlap: f64) -> f64 {
    (1.0 - overlap) * q + overlap * q * (2.0 - q)
}

#[cfg(test)]
mod tests {
    use super::*;

    // shows: TH-16
    #[test]
    fn kinds_of_bottom_make_later_looks_worth_less() {
        let (share, q) = ([0.6, 0.3, 0.1], [0.85, 0.55, 0.15]);
        for (n, expect) in [(0.0, 0.0), (1.0, 0.69), (2.0, 0.8535), (3.0, 0.909_225)] {
            assert!((looks(&share, &q, n).found - expect).abs() < 1e-14, "{n} looks");
        }
        let after = looks(&share, &q, 2.0).posterior.unwrap();
        assert!((after[2] - 0.493_174_061_433_447_16).abs() < 1e-14);
        let mean: f64 = share.iter().zip(q).map(|(s, q)| s * q).sum();
        assert!(looks(&share, &q, 3.0).found < looks(&[1.0], &[mean], 3.0).found);
    }

    // shows: TH-17
    #[test]
    fn a_share_nobody_finds_grows() {
        let hidden = looks(&[0.08, 0.92], &[0.0, 0.7], 2.0);
        assert!((hidden.found - 0.8372).abs() < 1e-14);
        assert!((hidden.posterior.unwrap()[0] - 0.491_400_491_400_491_4).abs() < 1e-14);
        let unnamed = looks(&[0.92], &[0.7], 2.0);
        assert!((unnamed.posterior.unwrap()[0] - (1.0 - 0.491_400_491_400_491_4)).abs() < 1e-14);
        assert_eq!(looks(&[1.0], &[1.0], 1.0), Looks { found: 1.0, posterior: None });
        assert_eq!(looks(&[1.0], &[1.0], 0.0).posterior, Some(vec![1.0]));
    }

    // shows: TH-16
    #[test]
    fn independent_and_overlapping_looks() {
        assert!((any_look(&[0.7, 0.6, 0.5]) - 0.94).abs() < 1e-15);
        assert!((overlapped(0.7, 0.25) - 0.7525).abs() < 1e-15);
    }
}
