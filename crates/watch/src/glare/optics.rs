//! Light at the surface: how much is thrown back, where the rest goes, and the way of a look into the water.

/// Light meeting the surface of water.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fresnel {
    /// Share thrown back of light that swings across the plane of incidence.
    pub rs: f64,
    /// The same along it.
    pub rp: f64,
    /// The same for unpolarised light.
    pub r: f64,
    /// Angle from the vertical of what goes in \[degrees\].
    pub refracted_deg: f64,
}

/// What the surface throws back and where the rest goes.
///
/// Model `fresnel`, docs/models/glare.md.
///
/// # Inputs
/// - `incidence_deg`: angle from the vertical, 0 to 90 · `n`: refractive index of what lies under the surface, 1 or more
///
/// # Gives
/// Shares, and the angle in the water \[degrees\].
///
/// # Source
/// Fresnel's equations and Snell's law, textbook
pub fn fresnel(incidence_deg: f64, n: f64) -> Fresnel {
    let (sin_i, cos_i) = libm::sincos(incidence_deg.clamp(0.0, 90.0).to_radians());
    let sin_t = sin_i / n;
    let cos_t = (1.0 - sin_t * sin_t).max(0.0).sqrt();
    let (rs, rp) = shares(cos_i.max(0.0), cos_t, n);
    Fresnel { rs, rp, r: 0.5 * (rs + rp), refracted_deg: libm::asin(sin_t.min(1.0)).to_degrees() }
}

/// Share of unpolarised light thrown back, from the cosine of incidence.
///
/// # Source
/// Fresnel's equations, textbook
#[inline(always)]
pub fn reflectance(cos_incidence: f64, n: f64) -> f64 {
    let sin2_t = (1.0 - cos_incidence * cos_incidence) / (n * n);
    let cos_t = (1.0 - sin2_t).max(0.0).sqrt();
    let (rs, rp) = shares(cos_incidence, cos_t, n);
    0.5 * (rs + rp)
}

#[inline(always)]
fn shares(cos_i: f64, cos_t: f64, n: f64) -> (f64, f64) {
    let s = (cos_i - n * cos_t) / (cos_i + n * cos_t);
    let p = (n * cos_i - cos_t) / (n * cos_i + cos_t);
    (s * s, p * p)
}

/// Refractive index of distilled water at 20 °C.
///
/// # Inputs
/// - `wavelength_um`: 0.182 to 1.129 micrometres
///
/// # Source
/// daimon-2007, four-term dispersion formula at 20 °C
pub fn water_index(wavelength_um: f64) -> f64 {
    const TERMS: [(f64, f64); 4] = [
        (5.684_027_565e-1, 5.101_829_712e-3),
        (1.726_177_391e-1, 1.821_153_936e-2),
        (2.086_189_578e-2, 2.620_722_293e-2),
        (1.130_748_688e-1, 1.069_792_721e1),
    ];
    let square = wavelength_um * wavelength_um;
    (1.0 + TERMS.iter().map(|(a, b)| a * square / (square - b)).sum::<f64>()).sqrt()
}

/// The way of a look from an eye over the water to a place under it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LookIn {
    /// Where it crosses the surface, from below the eye \[m\].
    pub crossing_m: f64,
    /// Angle from the vertical in the air \[degrees\].
    pub incidence_deg: f64,
    /// The same in the water.
    pub refracted_deg: f64,
    /// Share of light thrown back there.
    pub r: f64,
    /// Way in the water \[m\].
    pub path_m: f64,
}

/// Where an eye, a place in or on the water, and the surface between them lie.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LookAt {
    /// Height of the eye over the water \[m\].
    pub eye_m: f64,
    /// Level distance to the place \[m\].
    pub distance_m: f64,
    /// Its depth \[m\].
    pub depth_m: f64,
}

/// How a look goes in: the crossing at which Snell's law holds on both sides.
///
/// Model `look_in`, docs/models/view.md.
///
/// # Inputs
/// - `look`: heights and distance, none below zero · `n`: refractive index
///
/// # Gives
/// The crossing, the angles, the share thrown back and the way in the water. On the surface (depth 0) it crosses at the place.
///
/// # Source
/// Snell's law, textbook; found by halving, as the mismatch falls all the way from the eye to the place
pub fn look_in(look: &LookAt, n: f64) -> LookIn {
    let LookAt { eye_m, distance_m, depth_m } = *look;
    let (mut near, mut far) = (0.0, distance_m);
    let sine = |along: f64, up: f64| if along > 0.0 { along / along.hypot(up) } else { 0.0 };
    for _ in 0..200 {
        let middle = 0.5 * (near + far);
        let mismatch = sine(middle, eye_m) - n * sine(distance_m - middle, depth_m);
        if mismatch > 0.0 {
            far = middle;
        } else {
            near = middle;
        }
        if middle == near && middle == far {
            break;
        }
    }
    let crossing_m = 0.5 * (near + far);
    let incidence_deg = libm::atan2(crossing_m, eye_m).to_degrees();
    let light = fresnel(incidence_deg, n);
    LookIn {
        crossing_m,
        incidence_deg,
        refracted_deg: light.refracted_deg,
        r: light.r,
        path_m: (distance_m - crossing_m).hypot(depth_m),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // shows: GL-1
    #[test]
    fn the_surface_throws_back_what_fresnel_says() {
        for n in [1.331, 1.333, 1.339] {
            let plumb = ((n - 1.0) / (n + 1.0)) * ((n - 1.0) / (n + 1.0));
            assert!((fresnel(0.0, n).r - plumb).abs() < 1e-15);
            let brewster = libm::atan(n).to_degrees();
            assert!(fresnel(brewster, n).rp < 1e-30 && fresnel(brewster, n).rs > 0.05);
            assert!((fresnel(90.0, n).r - 1.0).abs() < 1e-12);
            let mut last = 0.0;
            for k in 0..=900 {
                let light = fresnel(0.1 * f64::from(k), n);
                let cosine = libm::cos((0.1 * f64::from(k)).to_radians()).max(0.0);
                assert!((light.r - reflectance(cosine, n)).abs() < 1e-13);
                assert!((0.0..=1.0).contains(&light.rp) && light.rs >= last && light.rs >= light.rp - 1e-15);
                last = light.rs;
            }
        }
        assert!(fresnel(f64::NAN, 1.333).r.is_nan() && fresnel(400.0, 1.333).r > 1.0 - 1e-12);
    }

    // shows: GL-2
    #[test]
    fn the_measured_index_of_water_is_the_one_used() {
        // Rows of the 1973 table at 25 °C, printed to three decimals.
        for (um, n) in [(0.45, 1.337), (0.5, 1.335), (0.55, 1.333), (0.6, 1.332), (0.7, 1.331)] {
            // The older table lies up to 0.0026 lower, of which 5 K and rounding explain about 0.001: that much the two differ.
            assert!((water_index(um) - n).abs() < 0.003, "{um}: {}", water_index(um));
        }
        let used = measure::parameters::value("refractive_index");
        assert!((water_index(0.589) - used).abs() < 0.0005 && (water_index(0.55) - used).abs() < 0.002);
    }

    // shows: VW-2
    #[test]
    fn a_look_goes_in_by_snell() {
        for (eye_m, distance_m, depth_m) in
            [(3.0, 30.0, 2.0), (1.6, 4.0, 6.0), (4.0, 0.0, 3.0), (2.5, 80.0, 0.3)]
        {
            let look = look_in(&LookAt { eye_m, distance_m, depth_m }, 1.333);
            let (i, t) = (look.incidence_deg.to_radians(), look.refracted_deg.to_radians());
            assert!((libm::sin(i) - 1.333 * libm::sin(t)).abs() < 1e-12);
            let reached = eye_m * libm::tan(i) + depth_m * libm::tan(t);
            assert!((reached - distance_m).abs() < 1e-6 * (1.0 + distance_m), "{look:?}");
            assert!((look.path_m - depth_m / libm::cos(t)).abs() < 1e-6, "{look:?}");
        }
        let flat = look_in(&LookAt { eye_m: 3.0, distance_m: 30.0, depth_m: 0.0 }, 1.333);
        assert!((flat.crossing_m - 30.0).abs() < 1e-9 && flat.path_m < 1e-9);
        let level = look_in(&LookAt { eye_m: 0.0, distance_m: 30.0, depth_m: 1.0 }, 1.333);
        assert!(level.crossing_m.is_finite() && level.r <= 1.0);
    }
}
