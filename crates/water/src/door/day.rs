//! `day.toml`: conditions of the day and timed floats; the crew has its own file.

use crate::day::{Day, FloatRun, Kit};
use crate::door::Checked;
use crate::door::crew;
use crate::formats::section::{Codes, Range, Section, pair_of, parse};
use crate::formats::soundings::is_date;
use crate::formats::text::text;
use crate::formats::words::{choose, short};
use crate::problem::Report;
use crate::{LonLat, Site};
use measure::parameters::{parameter, value};
use measure::{Bearing, Spot, Standing};
use toml::de::DeValue;

const CODES: Codes = Codes { syntax: "W401", unknown: "W402", kind: "W403", missing: "W404", range: "W405" };

/// Values nobody gave, as they are filled in.
type Assumed = Vec<(String, String, Standing)>;

/// Reads a day file against its site.
///
/// # Inputs
/// - `file_name`: what the file is called in problems
/// - `bytes`: what it holds
/// - `site`: the site; posts and marks are looked up in it
///
/// # Gives
/// The day unless a problem is fatal; defaults that were taken are in [`Day::assumed`] with their standing.
pub fn read_day(file_name: &str, bytes: &[u8], site: &Site) -> Checked<Day> {
    let mut report = Report::of(file_name);
    let Some(text) = text(bytes, &mut report) else { return Checked::of(None, report.problems) };
    let table = parse(text, CODES, &mut report);
    let mut top = Section::top(text, CODES, table.get_ref());
    let day = fill(&mut top, site, &mut report);
    top.finish(&mut report);
    Checked::of(Some(day), report.problems)
}

fn fill(top: &mut Section, site: &Site, report: &mut Report) -> Day {
    let mut assumed = Assumed::new();
    let date = date(top, report);
    let stage_m = stage(top, site, &mut assumed, report);
    let (wind_mps, wind_from) = wind(top, &mut assumed, report);
    let water = Range::new(-2.0, 40.0, "°C");
    let water_c = top.number("water_c", water, report).unwrap_or_else(|| default("water_c", &mut assumed));
    let secchi_m = clarity(top, &mut assumed, report);
    let floats = top.tables("floats", report);
    let floats = floats.into_iter().filter_map(|float| one_float(float, site, report)).collect();
    let crew = crew::read(top, site, (CODES, &mut assumed), report);
    if crew.is_empty() && !top.has("crew") {
        let what = "no crew is given: nobody can be sent";
        report.note("W413", top.at(), what, "add [[crew]] with name, height_m and what each may do");
    }
    let kit = kit(top, &mut assumed, report);
    Day { date, stage_m, wind_mps, wind_from, water_c, secchi_m, floats, crew, kit, assumed }
}

/// The register's default, listed as assumed.
fn default(name: &str, assumed: &mut Assumed) -> f64 {
    let found = parameter(name);
    assumed.push((name.to_string(), format!("{} {}", found.value, found.unit), found.standing));
    found.value
}

fn date(top: &mut Section, report: &mut Report) -> String {
    let Some(date) = top.string("date", report) else {
        if !top.has("date") {
            top.missing("date", "write date = \"YYYY-MM-DD\"", report);
        }
        return String::new();
    };
    if !is_date(&date) {
        let what = format!("date \"{}\" does not exist", short(&date));
        report.fatal("W405", top.at_key("date"), what, "write dates as YYYY-MM-DD");
    }
    date
}

fn stage(top: &mut Section, site: &Site, assumed: &mut Assumed, report: &mut Report) -> f64 {
    let most = value("stage_change_most_m");
    let Some(stage_m) = top.number("stage_m", Range::new(-1000.0, 10_000.0, "m"), report) else {
        let words = format!("{} m, the site's datum stage", site.datum_stage_m);
        assumed.push(("stage_m".into(), words, Standing::Assumed));
        return site.datum_stage_m;
    };
    let change = stage_m - site.datum_stage_m;
    if change.abs() > most {
        report.fatal(
            "W406",
            top.at_key("stage_m"),
            format!(
                "stage_m {stage_m} is {change:.2} m from the datum stage {}; {most:.0} m is the most",
                site.datum_stage_m
            ),
            "read the gauge that datum_stage_m of site.toml belongs to, in metres",
        );
    }
    stage_m
}

/// Knots and kilometres an hour in metres a second; both exact by definition of the nautical mile.
const WINDS: [(&str, f64); 3] = [("wind_mps", 1.0), ("wind_kmh", 1.0 / 3.6), ("wind_knots", 1852.0 / 3600.0)];

fn wind(top: &mut Section, assumed: &mut Assumed, report: &mut Report) -> (f64, Bearing) {
    const MOST_MPS: f64 = 60.0;
    let mut found = Vec::new();
    for (key, factor) in WINDS {
        let given =
            top.number(key, Range::new(0.0, MOST_MPS / factor, key.trim_start_matches("wind_")), report);
        if top.has(key) {
            found.push((key, given.unwrap_or(0.0) * factor));
        }
    }
    if found.len() > 1 {
        let words = found.iter().map(|(key, _)| *key).collect::<Vec<_>>().join(", ");
        report.fatal(
            "W407",
            top.at_key(found[1].0),
            format!("the wind is given more than once: {words}"),
            "keep one",
        );
    }
    let from =
        top.number("wind_from_deg", Range::new(0.0, 360.0, "degrees true, where it comes from"), report);
    let wind_mps = found.first().map_or_else(|| default("wind_mps", assumed), |(_, wind)| *wind);
    if from.is_none() && wind_mps > 0.0 {
        assumed.push(("wind_from_deg".into(), "0 degrees (north)".into(), Standing::Assumed));
        if !found.is_empty() && !top.has("wind_from_deg") {
            let what = "wind without wind_from_deg: north is assumed";
            report.note(
                "W408",
                top.at_key(found[0].0),
                what,
                "write where the wind comes from in degrees true",
            );
        }
    }
    (wind_mps, Bearing::new(from.unwrap_or(0.0)))
}

fn clarity(top: &mut Section, assumed: &mut Assumed, report: &mut Report) -> f64 {
    let secchi = top.number("secchi_m", Range::new(0.01, 60.0, "m"), report);
    let beam = top.number("beam_per_m", Range::new(0.02, 500.0, "per metre"), report);
    if top.has("secchi_m") && top.has("beam_per_m") {
        let what = "clarity is given twice, by secchi_m and beam_per_m";
        report.fatal("W407", top.at_key("beam_per_m"), what, "keep the one that was measured");
    }
    match (secchi, beam) {
        (Some(secchi), _) => secchi,
        (None, Some(beam)) => {
            let relation = parameter("secchi_beam");
            let words = format!("{} / beam_per_m", relation.value);
            assumed.push(("secchi_m".into(), words, relation.standing));
            relation.value / beam
        }
        (None, None) => default("secchi_m", assumed),
    }
}

fn one_float(mut float: Section, site: &Site, report: &mut Report) -> Option<FloatRun> {
    let from = end(&mut float, "from", site, report);
    let seconds = float.number("seconds", Range::new(0.0, 86_400.0, "s"), report);
    if !float.has("from") {
        float.missing("from", "write from = [longitude, latitude] or the name of a mark", report);
    }
    if !float.has("seconds") {
        float.missing("seconds", "write the seconds between from and to", report);
    }
    let metres = float.number("distance_m", Range::new(0.0, 20_000.0, "m"), report);
    let bearing = float.number("bearing_deg", Range::new(0.0, 360.0, "degrees true"), report);
    let by_step = float.has("distance_m") || float.has("bearing_deg");
    let to = if float.has("to") {
        if by_step {
            let what = "the end is given twice, by to and by distance_m and bearing_deg";
            report.fatal("W407", float.at(), what, "keep one of them");
        }
        end(&mut float, "to", site, report)
    } else {
        float.get("to");
        for key in ["distance_m", "bearing_deg"] {
            if !float.has(key) {
                float.missing(key, "write to = [longitude, latitude], or distance_m and bearing_deg", report);
            }
        }
        from.zip(metres.zip(bearing)).map(|(from, (m, b))| from + Spot::towards(Bearing::new(b), m))
    };
    let at = float.at();
    if seconds == Some(0.0) {
        report.fatal(
            "W409",
            float.at_key("seconds"),
            "seconds is 0: no speed comes of it",
            "time the float again",
        );
    }
    float.finish(report);
    let run = FloatRun { from: from?, to: to?, seconds: seconds.filter(|s| *s > 0.0)? };
    let pace = run.from.distance(run.to) / run.seconds;
    let (slow, fast) = (value("stuck_mps"), value("float_fastest_mps"));
    if pace > fast {
        let what = format!("moved {pace:.1} m/s, more than {fast} m/s: place, time or unit is wrong");
        report.note("W410", at, what, "mend it or take it out; it is used as it stands");
    } else if pace < slow {
        let what = format!("moved {pace:.3} m/s, less than {slow} m/s: it was stuck, or there is no current");
        report.note("W411", at, what, "take it out if it was stuck; it is used as it stands");
    }
    Some(run)
}

/// One end of a float run: `[lon, lat]`, or the name of a feature.
fn end(float: &mut Section, key: &'static str, site: &Site, report: &mut Report) -> Option<Spot> {
    let value = float.get(key)?.get_ref();
    if let DeValue::String(name) = value {
        if let Some(feature) = site.named(name) {
            return Some(feature.shape.middle());
        }
        let names: Vec<&str> =
            site.features.iter().map(|f| f.name.as_str()).filter(|n| !n.is_empty()).collect();
        let what = format!("{key} \"{}\" is no name on the map", short(name));
        report.fatal("W412", float.at_key(key), what, choose(name, &names));
        return None;
    }
    let Some((lon, lat)) = pair_of(value) else {
        float.wrong_kind(key, "[longitude, latitude] or the name of a mark", report);
        return None;
    };
    let reach = measure::parameters::value("site_reach_m");
    let inside = lon.abs() <= 180.0 && lat.abs() <= 90.0;
    let spot = inside.then(|| site.frame.to_site(LonLat { lon, lat })).filter(|s| s.length() <= reach);
    if spot.is_none() {
        let what = format!("{key} [{lon}, {lat}] does not lie at this site");
        report.fatal("W412", float.at_key(key), what, "write longitude first, then latitude, in degrees");
    }
    spot
}

fn kit(top: &mut Section, assumed: &mut Assumed, report: &mut Report) -> Kit {
    let Some(mut table) = top.table("kit", report) else {
        if !top.has("kit") {
            assumed.push(("kit".into(), "none".into(), Standing::Assumed));
        }
        return Kit::default();
    };
    let mut count = |key| table.count(key, 10_000, report).unwrap_or(0);
    let kit = Kit {
        tubes: count("tubes"),
        masks: count("masks"),
        fins: count("fins"),
        boards: count("boards"),
        boats: count("boats"),
        radios: count("radios"),
        throw_lines: count("throw_lines"),
        poles: count("poles"),
        markers: count("markers"),
    };
    table.finish(report);
    kit
}
