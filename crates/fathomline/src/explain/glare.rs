//! The sun, and light at the surface: position, reflection, glint.

use super::Form;
use super::model::{Answer, Basis, Input, Model, Range, Shape};
use measure::{Bearing, Standing, parameters::value};
use serde_json::json;
use watch::glare::{self, Beam, Look, Slopes, Step, Surface, Thresholds, Wind};
use watch::sun::{Air, Station, delta_t_s, sun_at};

const AXES: &[&str] = &["one", "two"];
const INDEX: Range = Range::closed(1.0, 5.0);

/// Models of this group.
pub const MODELS: &[Model] = &[
    Model {
        name: "sun",
        summary: "where the sun stands at one moment",
        page: "sun",
        inputs: &[
            Input::new("time", Shape::Time, Range::ANY, "RFC 3339", "moment with its offset from UTC"),
            Input::number("lat", Range::closed(-90.0, 90.0), "degrees", "latitude, north positive"),
            Input::number("lon", Range::closed(-180.0, 180.0), "degrees", "longitude, east positive"),
            Input::number("elevation_m", Range::closed(-500.0, 9000.0), "m", "height over the sea")
                .or_value(0.0),
            Input::number(
                "pressure_hpa",
                Range::closed(1.0, 2000.0),
                "hPa",
                "air pressure there; if left out that of the standard atmosphere at this height",
            )
            .optional(),
            Input::number("temperature_c", Range::closed(-90.0, 70.0), "C", "air temperature")
                .or("air_temperature_c"),
            Input::number(
                "delta_t_s",
                Range::closed(-1e5, 1e5),
                "s",
                "terrestrial less universal time; if left out estimated for the year",
            )
            .optional(),
        ],
        constants: &["air_pressure_hpa"],
        results: &[
            ("zenith_deg", "degrees"),
            ("azimuth_deg", "degrees true"),
            ("elevation_deg", "degrees"),
            ("apparent_elevation_deg", "degrees"),
        ],
        basis: Basis::Known(Standing::Published),
        sources: &["reda-andreas-2004"],
        example: r#"{"time": "2003-10-17T12:30:30-07:00", "lat": 39.742476, "lon": -105.1786, "elevation_m": 1830.14, "pressure_hpa": 820, "temperature_c": 11, "delta_t_s": 67}"#,
        evaluate: sun,
    },
    Model {
        name: "fresnel",
        summary: "share of light that the surface throws back, and where the rest goes",
        page: "glare",
        inputs: &[
            Input::number("incidence_deg", Range::closed(0.0, 90.0), "degrees", "angle from the vertical"),
            Input::number("n", INDEX, "ratio", "refractive index of the water").or("refractive_index"),
        ],
        constants: &[],
        results: &[("rs", "share"), ("rp", "share"), ("r", "share"), ("refracted_deg", "degrees")],
        basis: Basis::Derived,
        sources: &[],
        example: r#"{"incidence_deg": 80, "n": 1.333}"#,
        evaluate: fresnel,
    },
    Model {
        name: "glint",
        summary: "mean glint of the sun on one spot, against the background there",
        page: "glare",
        inputs: &[
            Input::number("sun_elevation_deg", Range::closed(-90.0, 90.0), "degrees", "height of the sun"),
            Input::number("sun_azimuth_deg", Range::BEARING, "degrees true", "bearing of the sun"),
            Input::number(
                "view_zenith_deg",
                Range { high_open: true, ..Range::closed(0.0, 90.0) },
                "degrees",
                "angle of the look from the vertical",
            ),
            Input::number("look_azimuth_deg", Range::BEARING, "degrees true", "bearing of the look"),
            Input::number("wind_mps", Range::closed(0.0, 60.0), "m/s", "wind over the water"),
            Input::number("wind_from_deg", Range::BEARING, "degrees true", "where it comes from")
                .optional(),
            Input::new(
                "axes",
                Shape::Word(AXES),
                Range::ANY,
                "word",
                "slopes the same all round, or apart along and across the wind; if left out two where wind_from_deg is given",
            )
            .optional(),
            Input::number("slope_factor", Range::closed(0.001, 10.0), "share", "of the site on slope variance")
                .or("slope_factor"),
        ],
        constants: &[
            "refractive_index",
            "slope_floor",
            "water_luminance_share",
            "contrast_threshold",
            "contrast_under",
            "contrast_head",
            "glare_slight",
            "glare_impaired",
            "cox_munk_wind_most_mps",
        ],
        results: &[
            ("tilt_deg", "degrees"),
            ("omega_deg", "degrees"),
            ("r", "share"),
            ("density", "1"),
            ("glint", "1/sr"),
            ("ratio", "ratio"),
            ("label", "word"),
            ("background_cdm2", "cd/m2"),
        ],
        basis: Basis::Known(Standing::FromMemory),
        sources: &["cox-munk-1954", "smith-1967", "ies-daylight", "kasten-young-1989"],
        example: r#"{"sun_elevation_deg": 25, "sun_azimuth_deg": 240, "view_zenith_deg": 84.289, "look_azimuth_deg": 245, "wind_mps": 4, "axes": "one", "slope_factor": 1}"#,
        evaluate: glint,
    },
];

fn sun(form: &mut Form) -> Option<Answer> {
    let time = form.time("time");
    let (lat, lon, height) = (form.number("lat"), form.number("lon"), form.number("elevation_m"));
    let (pressure, temperature) = (form.number("pressure_hpa"), form.number("temperature_c"));
    let delta = form.number("delta_t_s");
    if form.troubled() {
        return None;
    }
    let (time, height_m) = (time?, height?);
    let pressure_hpa = pressure.unwrap_or_else(|| {
        let pressure = Air::at_height(height_m).pressure_hpa;
        form.put_derived("pressure_hpa", pressure);
        form.used("air_pressure_hpa");
        pressure
    });
    let delta = delta.unwrap_or_else(|| {
        let seconds = delta_t_s(time);
        form.put_derived("delta_t_s", seconds);
        seconds
    });
    let station = Station { lat_deg: lat?, lon_deg: lon?, height_m };
    let air = Air { pressure_hpa, temperature_c: temperature? };
    let Some(sun) = sun_at(time, station, air, delta) else {
        form.problem("time: the sun is computed for the years -2000 to 6000; give a moment in them");
        return None;
    };
    let answer = Answer::new()
        .with("zenith_deg", sun.zenith_deg())
        .with("azimuth_deg", sun.azimuth_deg)
        .with("elevation_deg", sun.elevation_deg)
        .with("apparent_elevation_deg", sun.apparent_deg);
    let answer = answer.with_note("zenith as it is seen, with refraction; elevation_deg is without it");
    if sun.apparent_deg < 0.0 { Some(answer.with_note("the sun is below the horizon")) } else { Some(answer) }
}

fn fresnel(form: &mut Form) -> Option<Answer> {
    let (incidence, n) = (form.number("incidence_deg"), form.number("n"));
    let light = glare::fresnel(incidence?, n?);
    Some(
        Answer::new()
            .with("rs", light.rs)
            .with("rp", light.rp)
            .with("r", light.r)
            .with("refracted_deg", light.refracted_deg),
    )
}

/// A unit step by elevation and bearing: east, north, up.
fn step(elevation_deg: f64, azimuth_deg: f64) -> [f64; 3] {
    let (up, level) = libm::sincos(elevation_deg.to_radians());
    let (east, north) = libm::sincos(azimuth_deg.to_radians());
    [level * east, level * north, up]
}

fn glint(form: &mut Form) -> Option<Answer> {
    let (elevation, azimuth) = (form.number("sun_elevation_deg"), form.number("sun_azimuth_deg"));
    let (zenith, look) = (form.number("view_zenith_deg"), form.number("look_azimuth_deg"));
    let (speed, from) = (form.number("wind_mps"), form.number("wind_from_deg"));
    let (axes, factor) = (form.word("axes"), form.number("slope_factor"));
    if axes == Some("two") && from.is_none() && !form.given("wind_from_deg") {
        form.problem("wind_from_deg is missing: two axes lie along and across the wind; give its bearing, or axes \"one\"");
    }
    if form.troubled() {
        return None;
    }
    let (elevation, speed_mps) = (elevation?, speed?);
    let from = from.filter(|_| axes != Some("one")).map(Bearing::new);
    let surface = Surface::new(Slopes::new(&Wind { speed_mps, from }, factor?));
    let beam = Beam::new(step(elevation, azimuth?), &surface.slopes);
    let look = Look::new(step(90.0 - zenith?, look? + 180.0), &surface.slopes, surface.n);
    let g = glare::glint(&surface, &beam, &look);
    for name in ["slope_floor", "contrast_threshold", "contrast_under", "contrast_head"] {
        form.used(name);
    }
    for name in ["refractive_index", "water_luminance_share", "glare_slight", "glare_impaired"] {
        form.used(name);
    }
    let up = beam.light.beam_lx > 0.0;
    let background = look.background_cdm2(&beam.light);
    let ratio = if up { beam.light.beam_lx * g.per_lux / background } else { 0.0 };
    let label = if up { Thresholds::usual().step(ratio) } else { Step::NoSun };
    let answer = Answer::new()
        .with("tilt_deg", libm::atan(g.tan2.sqrt()).to_degrees())
        .with("omega_deg", libm::acos(g.cos_omega.clamp(-1.0, 1.0)).to_degrees())
        .with("r", g.r)
        .with("density", g.density)
        .with("glint", g.per_lux)
        .with("ratio", ratio)
        .with_value("label", json!(label.words()))
        .with("background_cdm2", background)
        .with_note(
            "mean of many waves under a clear sky: no flashes, no boat wake, no veil of the direct sun",
        );
    let calm = speed_mps < 1.0 || speed_mps > value("cox_munk_wind_most_mps");
    form.used("cox_munk_wind_most_mps");
    Some(if calm {
        answer.with_note("slopes were measured at 1 to 14 m/s of wind; beyond that they are carried on")
    } else {
        answer
    })
}
