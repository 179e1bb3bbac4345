//! Elementary functions without branches, so that loops over arrays of them become vector code.
//!
//! Each is plain IEEE arithmetic (no fused multiply-add), so the bits are the same on every machine, in
//! every vector width and on any number of threads. Errors are stated and tested against libm.
//! They are for kernels over many particles; single values go through libm.

/// 1.5 × 2^52: adding and taking it away rounds to the nearest whole number.
const ROUND: f64 = 6_755_399_441_055_744.0;

/// 2^52: a whole number added to it shows in its lowest bits.
const WHOLE: f64 = 4_503_599_627_370_496.0;

/// Largest whole number not above `x`, for 0 ≤ x < 2^51.
///
/// # Source
/// exact in IEEE arithmetic: rounding to the nearest, taken back by one where it went up
#[inline(always)]
pub fn floor(x: f64) -> f64 {
    let near = (x + WHOLE) - WHOLE;
    near - if near > x { 1.0 } else { 0.0 }
}

/// A whole number 0 ≤ x < 2^32 as an index, without the checks that a cast makes one by one.
///
/// # Gives
/// Some number for anything else: callers still check the bounds of what they index.
#[inline(always)]
pub fn index(x: f64) -> u32 {
    (x + WHOLE).to_bits() as u32
}

/// A whole number 0 ≤ x < 2^51 as 64 bits, without the checks that a cast makes one by one.
///
/// # Gives
/// Some number below 2^52 for anything else.
#[inline(always)]
pub fn whole(x: f64) -> u64 {
    (x + WHOLE).to_bits() & (WHOLE as u64 - 1)
}

/// Natural logarithm of a normal positive number.
///
/// # Inputs
/// - `x`: normal and positive; anything else gives a meaningless finite number
///
/// # Gives
/// ln x, error at most 2 units in the last place.
///
/// # Source
/// argument split at √½ and the odd series in (m−1)/(m+1); coefficients of the freely distributable C
/// mathematics library (fdlibm, `e_log.c`, Sun Microsystems 1993) as kept by the libm crate
#[inline(always)]
pub fn ln(x: f64) -> f64 {
    const LN2_HIGH: f64 = 6.931_471_803_691_238e-1;
    const LN2_LOW: f64 = 1.908_214_929_270_587_7e-10;
    // Exponent of x relative to √½ … √2, as a small whole number kept in a double.
    let bits = x.to_bits();
    let shifted = bits.wrapping_add(0x3FF0_0000_0000_0000 - 0x3FE6_A09E_667F_3BCD);
    let biased = shifted >> 52;
    let k = f64::from_bits(0x4330_0000_0000_0000 | biased) - (4_503_599_627_370_496.0 + 1023.0);
    let m = f64::from_bits(bits.wrapping_sub((biased.wrapping_sub(1023)) << 52));
    let f = m - 1.0;
    let s = f / (2.0 + f);
    let z = s * s;
    let w = z * z;
    let even = w * (0.399_999_999_994_094_2 + w * (0.222_221_984_321_497_84 + w * 0.153_138_376_992_093_73));
    let odd = z
        * (0.666_666_666_666_673_5
            + w * (0.285_714_287_436_623_9 + w * (0.181_835_721_616_180_5 + w * 0.147_981_986_051_165_86)));
    let half = 0.5 * f * f;
    k * LN2_HIGH - ((half - (s * (half + even + odd) + k * LN2_LOW)) - f)
}

/// Sine and cosine of `turns` full turns.
///
/// # Inputs
/// - `turns`: within ±2^20
///
/// # Gives
/// (sin 2πu, cos 2πu), absolute error below 3e-16.
///
/// # Source
/// reduction to an eighth of a turn (exact) and the kernel polynomials of fdlibm (`k_sin.c`, `k_cos.c`)
#[inline(always)]
pub fn sin_cos_turns(turns: f64) -> (f64, f64) {
    let shifted = 4.0 * turns + ROUND;
    let quarter = shifted.to_bits();
    let rest = turns - 0.25 * (shifted - ROUND);
    let x = rest * std::f64::consts::TAU;
    let z = x * x;
    let sin = x + x
        * z
        * (-1.666_666_666_666_663_2e-1
            + z * (8.333_333_333_322_49e-3
                + z * (-1.984_126_982_985_795e-4
                    + z * (2.755_731_370_707_006_8e-6
                        + z * (-2.505_076_025_340_686_3e-8 + z * 1.589_690_995_211_55e-10)))));
    let cos = 1.0 - 0.5 * z
        + z * z
            * (4.166_666_666_666_66e-2
                + z * (-1.388_888_888_887_411e-3
                    + z * (2.480_158_728_947_673e-5
                        + z * (-2.755_731_435_139_066_3e-7
                            + z * (2.087_572_321_298_175e-9 - z * 1.135_964_755_778_819_5e-11)))));
    // Odd quarters swap sine and cosine; the sign bits follow from the quarter.
    let swap = (quarter & 1).wrapping_neg();
    let (a, b) = (sin.to_bits(), cos.to_bits());
    let first = (a & !swap) | (b & swap);
    let second = (b & !swap) | (a & swap);
    let sin_sign = (quarter & 2) << 62;
    let cos_sign = (quarter.wrapping_add(1) & 2) << 62;
    (f64::from_bits(first ^ sin_sign), f64::from_bits(second ^ cos_sign))
}

/// Seventh root of a number that is not negative.
///
/// # Inputs
/// - `z`: 0 to 1e280; below 1e-280 the result fades to zero with z
///
/// # Gives
/// z^(1/7), relative error below 2e-15 from 1e-280 on; 0 at 0.
///
/// # Source
/// inverse root by the exponent (as in fast inverse square roots), then two steps of the binomial series of
/// (1−r)^(−1/7), without division
#[inline(always)]
pub fn seventh_root(z: f64) -> f64 {
    // Bits of z divided by seven in the upper half, by multiplication: 2^32 / 7 = 613,566,756.57.
    let x = if z > 1e-280 { z } else { 1e-280 };
    let seventh = ((x.to_bits() >> 32) * 613_566_757) >> 32;
    // Exponent of the inverse root of 1 is that of 1: 1023·(8/7)·2^20, less 63,140 so that |r| stays below 0.21 both ways.
    let mut w = f64::from_bits((SEVENTH_START - seventh) << 32);
    let w2 = w * w;
    let r = 1.0 - x * w * w2 * (w2 * w2);
    w += w * r * (A1 + r * (A2 + r * (A3 + r * (A4 + r * A5))));
    let w2 = w * w;
    let w4 = w2 * w2;
    let r = 1.0 - x * w * (w2 * w4);
    w += w * r * (A1 + r * (A2 + r * A3));
    let w2 = w * w;
    z * (w2 * w2 * w2)
}

const SEVENTH_START: u64 = 1_225_872_000;
const A1: f64 = 1.0 / 7.0;
const A2: f64 = 4.0 / 49.0;
const A3: f64 = 20.0 / 343.0;
const A4: f64 = 110.0 / 2401.0;
const A5: f64 = 638.0 / 16807.0;

/// Exponential function.
///
/// # Inputs
/// - `x`: −700 to 700; outside it is held at the ends
///
/// # Gives
/// e^x, relative error below 4e-16.
///
/// # Source
/// reduction by ln 2 in two parts, series to the thirteenth power
#[inline(always)]
pub fn exp(x: f64) -> f64 {
    let x = if x > 700.0 { 700.0 } else { x };
    let x = if x > -700.0 { x } else { -700.0 };
    let shifted = x * std::f64::consts::LOG2_E + ROUND;
    let k = shifted - ROUND;
    let r = x - k * 6.931_471_803_691_238e-1 - k * 1.908_214_929_270_587_7e-10;
    let tail = 1.0 / 5040.0
        + r * (1.0 / 40_320.0
            + r * (1.0 / 362_880.0
                + r * (1.0 / 3_628_800.0
                    + r * (1.0 / 39_916_800.0 + r * (1.0 / 479_001_600.0 + r * (1.0 / 6_227_020_800.0))))));
    let series =
        r * r * (0.5 + r * (1.0 / 6.0 + r * (1.0 / 24.0 + r * (1.0 / 120.0 + r * (1.0 / 720.0 + r * tail)))));
    let whole = shifted.to_bits().wrapping_add(1023) << 52;
    (1.0 + (r + series)) * f64::from_bits(whole)
}

/// Exponential of single precision, for sums of many small terms.
///
/// # Inputs
/// - `x`: −80 to 80; beyond that the end value
///
/// # Gives
/// e^x, relative error below 2e-7.
///
/// # Source
/// reduction by ln 2 in two parts, series to the seventh power
#[inline(always)]
pub fn exp_single(x: f32) -> f32 {
    /// 1.5 × 2^23: adding and taking it away rounds to the nearest whole number.
    const ROUND: f32 = 12_582_912.0;
    let x = if x > 80.0 { 80.0 } else { x };
    let x = if x > -80.0 { x } else { -80.0 };
    let shifted = x * std::f32::consts::LOG2_E + ROUND;
    let k = shifted - ROUND;
    let r = x - k * 0.693_359_4 + k * 2.121_944_4e-4;
    let tail = 1.0 / 120.0 + r * (1.0 / 720.0 + r * (1.0 / 5040.0));
    let series = r * r * (0.5 + r * (1.0 / 6.0 + r * (1.0 / 24.0 + r * tail)));
    let whole = shifted.to_bits().wrapping_add(127) << 23;
    (1.0 + (r + series)) * f32::from_bits(whole)
}

/// Angle of a step from the x axis, counter-clockwise, −π to π.
///
/// # Inputs
/// - `y`, `x`: finite
///
/// # Gives
/// atan2(y, x) \[rad\], absolute error below 5e-16; 0 where both are zero. The sign of a zero is not looked at.
///
/// # Source
/// reduction to an eighth of a turn, then (t−1)/(t+1) past tan 22.5°; the odd polynomial of fdlibm (`s_atan.c`, Sun
/// Microsystems 1993) as kept by the libm crate
#[inline(always)]
pub fn atan2(y: f64, x: f64) -> f64 {
    use std::f64::consts::{FRAC_PI_2, FRAC_PI_4, PI};
    let (across, along) = (y.abs(), x.abs());
    let (least, most) = if across > along { (along, across) } else { (across, along) };
    let steep = least > 0.414_213_562_373_095_03 * most;
    let (over, under) = if steep { (least - most, least + most) } else { (least, most) };
    let t = over / if under > 0.0 { under } else { 1.0 };
    let z = t * t;
    let w = z * z;
    let even = z
        * (3.333_333_333_333_293e-1
            + w * (1.428_571_427_250_346_6e-1
                + w * (9.090_887_133_436_507e-2
                    + w * (6.661_073_137_387_531e-2
                        + w * (4.976_877_994_615_932e-2 + w * 1.628_582_011_536_578_2e-2)))));
    let odd = w
        * (-1.999_999_999_987_648_3e-1
            + w * (-1.111_111_040_546_235_6e-1
                + w * (-7.691_876_205_044_83e-2
                    + w * (-5.833_570_133_790_573_5e-2 - w * 3.653_157_274_421_691_6e-2))));
    let eighth = t - t * (even + odd) + if steep { FRAC_PI_4 } else { 0.0 };
    let quarter = if across > along { FRAC_PI_2 - eighth } else { eighth };
    let half = if x < 0.0 { PI - quarter } else { quarter };
    if y < 0.0 { -half } else { half }
}

/// Two independent standard normals from two uniforms in \[0, 1): Box and Muller with [`ln`] and [`sin_cos_turns`].
///
/// # Gives
/// The same pair as [`crate::chance::box_muller`] to a few units in the last place.
///
/// # Source
/// Box and Muller's transformation
#[inline(always)]
pub fn normal_pair(first: f64, second: f64) -> (f64, f64) {
    // 1 − u is exact for 53-bit uniforms, so nothing is lost near zero.
    let radius = (-2.0 * ln(1.0 - first)).sqrt();
    let (sin, cos) = sin_cos_turns(second);
    (radius * cos, radius * sin)
}

/// Runs `work` compiled for the widest vectors that keep the bits: AVX2 where the machine has it, else as built.
///
/// No fused multiply-add is enabled, so results do not depend on the machine.
#[inline]
pub fn wide<R>(work: impl FnOnce() -> R) -> R {
    #[cfg(target_arch = "x86_64")]
    if std::arch::is_x86_feature_detected!("avx2") {
        // SAFETY: the feature was just detected; nothing else is asked of the caller.
        return unsafe { with_avx2(work) };
    }
    work()
}

/// `work`, inlined into a function that may use AVX2.
///
/// # Safety
/// The machine must have AVX2.
#[cfg(target_arch = "x86_64")]
#[target_feature(enable = "avx2")]
unsafe fn with_avx2<R>(work: impl FnOnce() -> R) -> R {
    work()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Seed;

    /// Largest relative error over many values.
    fn worst(values: impl Iterator<Item = f64>, own: fn(f64) -> f64, exact: impl Fn(f64) -> f64) -> f64 {
        values.map(|x| ((own(x) - exact(x)) / exact(x)).abs()).fold(0.0, f64::max)
    }

    fn uniforms(count: u64) -> impl Iterator<Item = f64> {
        let stream = Seed(3).stream("fastmath");
        (0..count).map(move |k| stream.u01(k))
    }

    #[test]
    fn floors_and_indices_are_exact() {
        for x in uniforms(5_000).map(|u| u * 70_000.0).chain([0.0, 1.0, 0.5, 1.5, 2.5, 4_294_967_295.0]) {
            assert_eq!(floor(x), libm::floor(x), "{x}");
            assert_eq!(f64::from(index(floor(x))), libm::floor(x), "{x}");
            assert_eq!(
                (whole(floor(x)), whole(floor(x * 65_536.0))),
                (x as u64, (x * 65_536.0) as u64),
                "{x}"
            );
        }
        let below = 1.0 - f64::EPSILON / 2.0;
        assert_eq!((floor(below), floor(1.0 + below)), (0.0, 2.0));
    }

    #[test]
    fn logarithm_keeps_its_stated_error() {
        let wide = uniforms(20_000).map(|u| libm::exp2(600.0 * (u - 0.5)));
        assert!(worst(wide, ln, libm::log) < 4.5e-16);
        let near = uniforms(20_000).map(|u| 1.0 - u * 0.3).filter(|&x| x != 1.0);
        assert!(worst(near, ln, libm::log) < 4.5e-16);
        assert_eq!(ln(1.0), 0.0);
        assert_eq!(ln(1.0 - 1.0 / 9_007_199_254_740_992.0), -1.110_223_024_625_156_6e-16);
    }

    #[test]
    fn sine_and_cosine_keep_their_stated_error() {
        for u in uniforms(20_000).chain((0..=64).map(|k| f64::from(k) / 64.0)) {
            // The angle itself is rounded in the libm comparison, so that its own error is taken out first.
            let angle = std::f64::consts::TAU * (u - libm::round(4.0 * u) / 4.0);
            let (sin, cos) = (libm::sin(angle), libm::cos(angle));
            let expect = match libm::round(4.0 * u) as i32 & 3 {
                0 => (sin, cos),
                1 => (cos, -sin),
                2 => (-sin, -cos),
                _ => (-cos, sin),
            };
            let own = sin_cos_turns(u);
            assert!((own.0 - expect.0).abs() < 3e-16 && (own.1 - expect.1).abs() < 3e-16, "{u}: {own:?}");
        }
    }

    #[test]
    fn seventh_root_keeps_its_stated_error() {
        let seventh = |z: f64| libm::pow(z, 1.0 / 7.0);
        let error = worst(uniforms(50_000).filter(|&u| u > 0.0), seventh_root, seventh);
        assert!(error < 2e-15, "{error}");
        let wide = uniforms(50_000).map(|u| libm::pow(10.0, -270.0 + 540.0 * u));
        // 1/7 rounded to a double moves the libm value by up to 620 · 5e-18 of itself.
        assert!(worst(wide, seventh_root, seventh) < 2e-14);
        assert_eq!(seventh_root(0.0), 0.0);
        assert!((seventh_root(128.0) - 2.0).abs() < 4e-15 && (seventh_root(1.0) - 1.0).abs() < 2e-15);
    }

    #[test]
    fn exponential_keeps_its_stated_error() {
        let values = uniforms(20_000).map(|u| 40.0 * (u - 0.5)).chain([-690.0, 690.0, 0.0]);
        assert!(worst(values, exp, libm::exp) < 4.5e-16);
    }

    #[test]
    fn the_single_exponential_keeps_its_stated_error() {
        for x in uniforms(50_000).map(|u| (160.0 * (u - 0.5)) as f32).chain([-80.0, 80.0, 0.0]) {
            let exact = libm::exp(f64::from(x));
            assert!((f64::from(exp_single(x)) / exact - 1.0).abs() < 2e-7, "{x}");
        }
    }

    #[test]
    fn the_angle_of_a_step_keeps_its_stated_error() {
        let mut us = uniforms(40_000);
        while let (Some(a), Some(b)) = (us.next(), us.next()) {
            let (y, x) = (2.0 * a - 1.0, (2.0 * b - 1.0) * libm::exp2(40.0 * (a - b)));
            assert!((atan2(y, x) - libm::atan2(y, x)).abs() < 5e-16, "{y} {x}");
        }
        for (y, x) in [(0.0, 1.0), (0.0, -1.0), (1.0, 0.0), (-1.0, 0.0), (1.0, 1.0), (-3.0, -3.0), (0.0, 0.0)]
        {
            assert!((atan2(y, x) - libm::atan2(y, x)).abs() < 5e-16, "{y} {x}");
        }
    }

    #[test]
    fn normals_agree_with_the_scalar_pair() {
        let stream = Seed(5).stream("pairs");
        for k in 0..20_000 {
            let (a, b) = (stream.u01(2 * k), stream.u01(2 * k + 1));
            let (own, plain) = (normal_pair(a, b), crate::chance::box_muller(a, b));
            // 2πu is rounded before libm's sine takes it: up to 4.4e-16 of angle, times the radius of at most 8.6.
            assert!((own.0 - plain.0).abs() < 8e-15 && (own.1 - plain.1).abs() < 8e-15, "{k}");
        }
        assert_eq!(normal_pair(0.0, 0.3), (0.0, 0.0));
    }
}
