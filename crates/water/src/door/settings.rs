//! `site.toml`: what the site says of itself, and which files hold its soundings.

use crate::door::photo;
use crate::formats::section::{Codes, Range, Section, pair_of, parse};
use crate::formats::soundings::{Columns, is_date};
use crate::formats::text::text;
use crate::formats::words::short;
use crate::problem::{At, Report};
use crate::site::{Bed, Limits, Salinity, Units, WaterKind};
use crate::{Frame, LonLat};

const CODES: Codes = Codes { syntax: "W101", unknown: "W102", kind: "W103", missing: "W104", range: "W105" };

/// How a file of soundings is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Format {
    Csv,
    Xyz,
    GeoJson,
    EsriAscii,
    GeoTiff,
}

/// What the third number of a sounding is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Values {
    /// Depth below the surface, positive down.
    Depth,
    /// Height above the surface, negative down.
    ElevationBelowSurface,
    /// Height of the bottom in the datum of `water_level_m`.
    Level,
}

/// One `[[soundings]]` entry.
#[derive(Clone, Debug)]
pub(crate) struct Source {
    pub file: String,
    pub format: Option<Format>,
    /// As written; a GeoTIFF may name its own.
    pub epsg: Option<u32>,
    pub columns: Columns,
    pub values: Option<Values>,
    pub water_level_m: Option<f64>,
    /// Stage on the day of the survey, if it was not the datum stage.
    pub stage_m: Option<f64>,
    pub date: String,
    pub at: At,
}

impl Source {
    /// A file that `site.toml` does not name, read with all defaults.
    pub fn plain(file: &str) -> Source {
        Source {
            file: file.to_string(),
            format: None,
            epsg: None,
            columns: Columns::default(),
            values: None,
            water_level_m: None,
            stage_m: None,
            date: String::new(),
            at: At::file(),
        }
    }
}

/// Everything `site.toml` says, defaults filled in.
#[derive(Debug)]
pub(crate) struct Settings {
    pub name: String,
    pub frame: Option<Frame>,
    pub time_zone: String,
    pub water_kind: WaterKind,
    pub salinity: Salinity,
    pub stage_datum: String,
    pub datum_stage_m: f64,
    pub units: Units,
    pub emergency_number: String,
    pub plan_text: String,
    pub flags: Vec<(String, String)>,
    pub bed: Bed,
    pub limits: Limits,
    pub sources: Vec<Source>,
    pub photo: Option<photo::Entry>,
}

/// Reads `site.toml`; what is missing is reported and stands in as a default, so that the other files can be checked too.
pub(crate) fn read(bytes: &[u8], report: &mut Report) -> Settings {
    let text = text(bytes, report).unwrap_or("");
    let faults = report.problems.len();
    let table = parse(text, CODES, report);
    let mut top = Section::top(text, CODES, table.get_ref());
    if text.is_empty() || (report.problems.len() > faults && table.get_ref().is_empty()) {
        // Nothing could be read: the list of all missing keys would hide the one thing to mend.
        let mut silent = Report::of(&report.file);
        return fill(&mut top, &mut silent);
    }
    let settings = fill(&mut top, report);
    top.finish(report);
    settings
}

fn fill(top: &mut Section, report: &mut Report) -> Settings {
    let name = required(top, ("name", "write name = \"the site's name\""), report);
    let frame = origin(top, report);
    let time_zone = required(top, ("time_zone", "write time_zone = \"Europe/London\" or the like"), report);
    if !time_zone.is_empty() && jiff::tz::TimeZoneDatabase::bundled().get(&time_zone).is_err() {
        report.fatal(
            "W106",
            top.at_key("time_zone"),
            format!("time zone \"{}\" is not one of the IANA list", short(&time_zone)),
            "write Region/City, such as Europe/London or America/Winnipeg",
        );
    }
    if !top.has("water_kind") {
        top.missing("water_kind", "write water_kind = \"lake\", \"river\", \"sea\" or \"pool\"", report);
    }
    let kinds = [
        ("lake", WaterKind::Lake),
        ("river", WaterKind::River),
        ("sea", WaterKind::Sea),
        ("pool", WaterKind::Pool),
    ];
    let water_kind = top.word("water_kind", &kinds, report).unwrap_or(WaterKind::Lake);
    let salts = [("fresh", Salinity::Fresh), ("brackish", Salinity::Brackish), ("salt", Salinity::Salt)];
    let units = [("metric", Units::Metric), ("feet", Units::Feet)];
    Settings {
        name,
        frame,
        time_zone,
        water_kind,
        salinity: top.word("salinity", &salts, report).unwrap_or_else(|| usual_salt(top, water_kind, report)),
        stage_datum: top.string("stage_datum", report).unwrap_or_default(),
        datum_stage_m: top
            .number("datum_stage_m", Range::new(-500.0, 9000.0, "m"), report)
            .unwrap_or_else(|| assumed_stage(top, report)),
        units: top.word("units", &units, report).unwrap_or_default(),
        emergency_number: told(top, "emergency_number", report),
        plan_text: told(top, "plan_text", report),
        flags: top.table("flags", report).map(|flags| flags.own_words(report)).unwrap_or_default(),
        bed: bed(top, report),
        limits: limits(top, report),
        sources: top.tables("soundings", report).into_iter().filter_map(|s| source(s, report)).collect(),
        photo: top.table("photo", report).and_then(|table| photo::entry(table, report)),
    }
}

fn required(top: &mut Section, (key, remedy): (&'static str, &str), report: &mut Report) -> String {
    match top.string(key, report) {
        Some(text) if !text.is_empty() => text,
        _ => {
            if !top.has(key) || top.get(key).is_some_and(|v| v.get_ref().is_str()) {
                top.missing(key, remedy, report);
            }
            String::new()
        }
    }
}

/// Words that a search needs but that compute does not: their absence is said and not fatal.
fn told(top: &mut Section, key: &'static str, report: &mut Report) -> String {
    let text = top.string(key, report).unwrap_or_default();
    if text.is_empty() && (!top.has(key) || top.get(key).is_some_and(|v| v.get_ref().is_str())) {
        report.note(
            "W107",
            top.at(),
            format!("\"{key}\" is not given: orders cannot show it"),
            format!("write {key} = \"...\" from the local emergency action plan"),
        );
    }
    text
}

fn usual_salt(top: &Section, kind: WaterKind, report: &mut Report) -> Salinity {
    let (salt, word) =
        if kind == WaterKind::Sea { (Salinity::Salt, "salt") } else { (Salinity::Fresh, "fresh") };
    if !top.has("salinity") {
        let what = format!("salinity is not given: {word} is assumed from the kind of water");
        report.note("W108", top.at(), what, "write salinity = \"fresh\", \"brackish\" or \"salt\"");
    }
    salt
}

fn assumed_stage(top: &Section, report: &mut Report) -> f64 {
    if !top.has("datum_stage_m") {
        report.note(
            "W108",
            top.at(),
            "datum_stage_m is not given: 0 m is assumed to be the stage of the soundings",
            "write the gauge reading at which the soundings have their depth",
        );
    }
    0.0
}

fn bed(top: &mut Section, report: &mut Report) -> Bed {
    let found = top.word("bed", &BEDS, report);
    if !top.has("bed") {
        report.note(
            "W108",
            top.at(),
            "bed is not given: mud is assumed where no bottom polygon says otherwise",
            "write bed = \"sand\", \"mud\", \"weed\" or \"rock\"",
        );
    }
    found.unwrap_or(Bed::Mud)
}

/// Words for the bottom.
pub(crate) const BEDS: [(&str, Bed); 4] =
    [("sand", Bed::Sand), ("mud", Bed::Mud), ("weed", Bed::Weed), ("rock", Bed::Rock)];

fn origin(top: &mut Section, report: &mut Report) -> Option<Frame> {
    let Some(value) = top.get("origin") else {
        top.missing("origin", "write origin = [longitude, latitude] in degrees", report);
        return None;
    };
    let value = value.get_ref();
    let pair = pair_of(value).or_else(|| {
        let table = value.as_table()?;
        let at = |key: &str| {
            let (_, value) = table.iter().find(|(k, _)| k.get_ref().as_ref() == key)?;
            crate::formats::section::number_of(value.get_ref()).filter(|v| v.is_finite())
        };
        (table.len() == 2).then_some((at("lon")?, at("lat")?))
    });
    let Some((lon, lat)) = pair else {
        top.wrong_kind("origin", "[longitude, latitude] in degrees", report);
        return None;
    };
    if lon.abs() <= 180.0 && lat.abs() <= 90.0 {
        return Some(Frame::new(LonLat { lon, lat }));
    }
    let remedy = if lon.abs() <= 90.0 && lat.abs() <= 180.0 {
        "longitude comes first: turn the two round"
    } else {
        "give degrees WGS 84, longitude -180 to 180 first, then latitude -90 to 90"
    };
    let what = format!("origin is [{lon}, {lat}], out of range");
    report.fatal("W105", top.at_key("origin"), what, remedy);
    None
}

fn limits(top: &mut Section, report: &mut Report) -> Limits {
    let mut limits = Limits::default();
    let Some(mut table) = top.table("limits", report) else { return limits };
    for (key, range, slot) in [
        ("wade_depth_m", Range::new(0.3, 1.5, "m"), &mut limits.wade_depth_m),
        ("wade_product_stop_m2ps", Range::new(0.05, 1.0, "m²/s"), &mut limits.wade_product_stop_m2ps),
        ("dive_depth_m", Range::new(0.0, 10.0, "m"), &mut limits.dive_depth_m),
        ("keep_off_m", Range::new(0.0, 100.0, "m"), &mut limits.keep_off_m),
        ("reach_s", Range::new(5.0, 900.0, "s"), &mut limits.reach_s),
        ("head_first_depth_m", Range::new(1.5, 10.0, "m"), &mut limits.head_first_depth_m),
    ] {
        *slot = table.number(key, range, report).unwrap_or(*slot);
    }
    table.finish(report);
    limits
}

fn source(mut table: Section, report: &mut Report) -> Option<Source> {
    let file = table.string("file", report);
    if let Some(file) = &file {
        table.call(format!("soundings \"{}\"", short(file)));
        if !is_plain_name(file) {
            report.fatal(
                "W109",
                table.at_key("file"),
                format!("file \"{}\" is not a name in the site folder", short(file)),
                "put the file beside site.toml and write its name alone",
            );
        }
    } else if !table.has("file") {
        table.missing("file", "name the file that holds the soundings", report);
    }
    let formats = [
        ("csv", Format::Csv),
        ("xyz", Format::Xyz),
        ("geojson", Format::GeoJson),
        ("esri_ascii", Format::EsriAscii),
        ("geotiff", Format::GeoTiff),
    ];
    let kinds = [
        ("depth", Values::Depth),
        ("elevation_below_surface", Values::ElevationBelowSurface),
        ("level", Values::Level),
    ];
    let level = Range::new(-500.0, 9000.0, "m");
    let source = Source {
        format: table.word("format", &formats, report),
        epsg: table.count("epsg", 999_999, report),
        columns: columns(&mut table, report),
        values: table.word("values", &kinds, report),
        water_level_m: table.number("water_level_m", level, report),
        stage_m: table.number("stage_m", level, report),
        date: date(&mut table, report),
        at: table.at(),
        file: file.clone().unwrap_or_default(),
    };
    level_rule(&table, &source, report);
    table.finish(report);
    file.filter(|name| is_plain_name(name)).map(|_| source)
}

fn level_rule(table: &Section, source: &Source, report: &mut Report) {
    match (source.values, source.water_level_m) {
        (Some(Values::Level), None) if !table.has("water_level_m") => report.fatal(
            "W110",
            table.at(),
            "values = \"level\" without water_level_m: heights of the bottom give no depth alone",
            "write water_level_m, the height of the water at the datum stage in the same datum",
        ),
        (kind, Some(_)) if kind != Some(Values::Level) => report.fatal(
            "W110",
            table.at(),
            "water_level_m is given but values is not \"level\"",
            "write values = \"level\" if the file holds heights of the bottom, or take water_level_m out",
        ),
        _ => {}
    }
}

fn columns(table: &mut Section, report: &mut Report) -> Columns {
    let Some(mut names) = table.table("columns", report) else { return Columns::default() };
    let mut name = |key| names.string(key, report).unwrap_or_default();
    let columns = Columns { x: name("x"), y: name("y"), value: name("value"), date: name("date") };
    names.finish(report);
    columns
}

/// A date that exists, or nothing.
pub(crate) fn date(table: &mut Section, report: &mut Report) -> String {
    let date = table.string("date", report).unwrap_or_default();
    if date.is_empty() || is_date(&date) {
        return date;
    }
    let what = format!("date \"{}\" does not exist", short(&date));
    report.fatal("W105", table.at_key("date"), what, "write dates as YYYY-MM-DD");
    String::new()
}

/// Whether a name stays inside the site folder.
pub(crate) fn is_plain_name(name: &str) -> bool {
    !name.is_empty()
        && name != "."
        && name != ".."
        && !name.contains(['/', '\\', ':'])
        && !name.chars().any(char::is_control)
}
