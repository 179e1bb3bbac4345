//! Special functions the models need, each with its accuracy.

use std::f64::consts::{FRAC_1_SQRT_2, PI};

/// Error function (libm, last digit).
pub fn erf(x: f64) -> f64 {
    libm::erf(x)
}

/// Standard normal distribution function Φ(z), accurate in both tails.
pub fn normal_cdf(z: f64) -> f64 {
    0.5 * libm::erfc(-z * FRAC_1_SQRT_2)
}

/// Standard normal density φ(z).
pub fn normal_density(z: f64) -> f64 {
    libm::exp(-0.5 * z * z) / (2.0 * PI).sqrt()
}

/// Standard normal quantile: z with Φ(z) = p, for 0 < p < 1; error below 1e-12 (bisection then Newton).
pub fn normal_quantile(p: f64) -> f64 {
    assert!(p > 0.0 && p < 1.0, "a quantile needs 0 < p < 1, got {p}");
    let (mut low, mut high) = (-38.0, 38.0);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if normal_cdf(middle) < p { low = middle } else { high = middle }
    }
    let mut z = 0.5 * (low + high);
    for _ in 0..2 {
        let density = normal_density(z);
        if density > 1e-300 {
            z -= (normal_cdf(z) - p) / density;
        }
    }
    z
}

/// Mean shortfall of the rearmost of `n` equal searchers: m_n with E\[min of n N(0,1)\] = −m_n.
///
/// # Source
/// ∫ x n φ Φ^(n−1) dx by Simpson's rule on \[−9, 9\], error below 1e-10; closed forms for n ≤ 5
/// (Jones 1948) are its test.
pub fn rearmost_mean(n: usize) -> f64 {
    if n <= 1 {
        return 0.0;
    }
    let steps = 3600;
    let h = 18.0 / f64::from(steps);
    let term = |z: f64| z * n as f64 * normal_density(z) * normal_cdf(z).powi(n as i32 - 1);
    let mut sum = term(-9.0) + term(9.0);
    for k in 1..steps {
        sum += term(-9.0 + h * f64::from(k)) * if k % 2 == 1 { 4.0 } else { 2.0 };
    }
    sum * h / 3.0
}

/// E\[(1−p)^k\] for p ~ Beta(a, b): the chance that `k` passes all miss.
///
/// Between whole numbers of passes it is linear: a pass that covers a place with chance c counts
/// as c of a pass, which is exact for the first one.
///
/// # Source
/// Product of (b+j)/(a+b+j), j < k (Beta moments; docs/models/belief.md BE-7).
pub fn beta_miss(a: f64, b: f64, k: f64) -> f64 {
    let whole = k.max(0.0).floor();
    let mut miss = 1.0;
    let mut j = 0.0;
    while j < whole {
        miss *= (b + j) / (a + b + j);
        j += 1.0;
    }
    let next = miss * (b + whole) / (a + b + whole);
    miss + (next - miss) * (k.max(0.0) - whole)
}

/// Points at which a mean over p ~ Beta(a, b) is read off: exact for polynomials of p up to degree eleven.
///
/// # Inputs
/// - `a`, `b`: both above zero
///
/// # Gives
/// (p, weight) in rising order of p; the weights sum to one.
///
/// # Source
/// Gauss quadrature with the recurrence of the Jacobi polynomials on \[0, 1\] (textbook); roots by bisection between those of the
/// polynomial before, to the last digits.
pub fn beta_points(a: f64, b: f64) -> [(f64, f64); BETA_POINTS] {
    let sum = a + b;
    let (mut middle, mut spread) = ([a / sum; BETA_POINTS], [1.0; BETA_POINTS]);
    for k in 1..BETA_POINTS {
        let (n, twice) = (k as f64, 2.0 * k as f64 + sum);
        middle[k] = 0.5 + 0.5 * (a - b) / twice * (sum - 2.0) / (twice - 2.0);
        let lead = if k == 1 { 1.0 } else { (n + sum - 2.0) / (twice - 3.0) };
        let square = n * (n + a - 1.0) / (twice - 2.0) * (n + b - 1.0) / (twice - 2.0) * lead / (twice - 1.0);
        spread[k] = square.sqrt();
    }
    // Value of the polynomial of a degree, and the sum of squares of those below, all of norm one.
    let walk = |degree: usize, p: f64| {
        let (mut before, mut here, mut squares) = (0.0, 1.0, 0.0);
        for k in 0..degree {
            squares += here * here;
            let next = spread.get(k + 1).copied().unwrap_or(1.0);
            let value = ((p - middle[k]) * here - if k == 0 { 0.0 } else { spread[k] * before }) / next;
            (before, here) = (here, value);
        }
        (here, squares)
    };
    let mut roots: Vec<f64> = Vec::new();
    for degree in 1..=BETA_POINTS {
        let ends: Vec<f64> = std::iter::once(0.0).chain(roots).chain(std::iter::once(1.0)).collect();
        roots = ends
            .windows(2)
            .map(|pair| {
                let (mut low, mut high) = (pair[0], pair[1]);
                let rising = walk(degree, high).0 > 0.0;
                for _ in 0..60 {
                    let p = 0.5 * (low + high);
                    if (walk(degree, p).0 > 0.0) == rising { high = p } else { low = p }
                }
                0.5 * (low + high)
            })
            .collect();
    }
    std::array::from_fn(|j| (roots[j], 1.0 / walk(BETA_POINTS, roots[j]).1))
}

/// Points of [`beta_points`].
pub const BETA_POINTS: usize = 6;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rearmost_agrees_with_the_closed_forms() {
        let closed = [
            (2, 1.0 / PI.sqrt()),
            (3, 3.0 / (2.0 * PI.sqrt())),
            (4, 6.0 / (PI * PI.sqrt()) * 2.0_f64.sqrt().atan()),
            (5, 5.0 / (4.0 * PI.sqrt()) * (1.0 + 6.0 / PI * (1.0_f64 / 3.0).asin())),
        ];
        for (n, expect) in closed {
            assert!((rearmost_mean(n) - expect).abs() < 1e-10, "n {n}: {}", rearmost_mean(n));
        }
        assert_eq!(rearmost_mean(1), 0.0);
    }

    #[test]
    fn quantile_inverts_the_distribution() {
        for p in [1e-9, 0.01, 0.3, 0.5, 0.84, 0.999] {
            assert!((normal_cdf(normal_quantile(p)) - p).abs() < 1e-12 * p.max(1e-3), "{p}");
        }
    }

    // shows: BE-7
    #[test]
    fn repeated_passes_are_worth_less_than_independent_ones() {
        assert!((beta_miss(25.0, 5.0, 2.0) - 0.032_258_064_516_129_03).abs() < 1e-15);
        assert!((beta_miss(25.0, 5.0, 0.5) - (1.0 - 0.5 * 25.0 / 30.0)).abs() < 1e-15);
        assert_eq!(beta_miss(3.0, 2.0, 0.0), 1.0);
    }

    #[test]
    fn points_of_a_beta_give_its_moments() {
        for (a, b) in
            [(2.8, 1.2), (0.4, 3.6), (25.0, 5.0), (0.5, 0.5), (1.0, 1.0), (3.6, 0.4), (9e9, 1e9), (1.0, 2e-6)]
        {
            let points = beta_points(a, b);
            assert!(points.windows(2).all(|pair| pair[0].0 <= pair[1].0), "{points:?}");
            for k in 0..12 {
                let missed: f64 = points.iter().map(|&(p, w)| w * libm::pow(1.0 - p, f64::from(k))).sum();
                let exact = beta_miss(a, b, f64::from(k));
                // Where all chance lies within 1e-5 the roots are close enough to cost some digits.
                assert!((missed - exact).abs() < 1e-11, "{a} {b}, {k} passes: {missed} not {exact}");
            }
        }
    }
}
