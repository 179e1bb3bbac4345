//! Soundings of one file: read, brought into site metres and turned into depth below the site's datum.

use crate::Sounding;
use crate::door::projection::Projection;
use crate::door::settings::{Format, Source, Values};
use crate::formats::soundings::{Row, Rows, csv, geojson, xyz};
use crate::formats::text::text;
use crate::formats::words::list;
use crate::problem::{At, Report};
use measure::parameters::value;
use rayon::prelude::*;

/// A sounding with the line it came from.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Placed {
    pub line: usize,
    pub file: usize,
    pub sounding: Sounding,
}

/// The format of a source, by its word or its extension.
pub(crate) fn format_of(source: &Source) -> Option<Format> {
    let ending = source.file.rsplit_once('.').map(|(_, ending)| ending.to_ascii_lowercase());
    source.format.or(match ending.as_deref()? {
        "csv" | "tsv" => Some(Format::Csv),
        "xyz" | "txt" => Some(Format::Xyz),
        "geojson" | "json" => Some(Format::GeoJson),
        "asc" => Some(Format::EsriAscii),
        "tif" | "tiff" => Some(Format::GeoTiff),
        _ => None,
    })
}

/// Turns values of a source into depth below the site's datum level.
pub(crate) struct Datum {
    pub values: Values,
    pub water_level_m: f64,
    /// Datum stage less the stage of the survey: what the water would have stood higher.
    pub rise_m: f64,
}

impl Datum {
    pub fn of(source: &Source, usual: Values, datum_stage_m: f64) -> Datum {
        Datum {
            values: source.values.unwrap_or(usual),
            water_level_m: source.water_level_m.unwrap_or(0.0),
            rise_m: source.stage_m.map_or(0.0, |stage| datum_stage_m - stage),
        }
    }

    pub fn depth_m(&self, raw: f64) -> f64 {
        self.rise_m
            + match self.values {
                Values::Depth => raw,
                Values::ElevationBelowSurface => -raw,
                Values::Level => self.water_level_m - raw,
            }
    }
}

/// Reads the points of one file.
pub(crate) fn read(
    (source, file): (&Source, usize),
    bytes: &[u8],
    (projection, datum_stage_m): (&Projection, f64),
    report: &mut Report,
) -> Option<(Vec<Placed>, String)> {
    let text = text(bytes, report)?;
    let format = format_of(source)?;
    let rows = match format {
        Format::Csv => csv(text, &source.columns),
        Format::Xyz => xyz(text),
        _ => geojson(text),
    };
    say_faults(&rows, report)?;
    let usual = if format == Format::GeoJson { Values::ElevationBelowSurface } else { Values::Depth };
    let datum = Datum::of(source, usual, datum_stage_m);
    if rows.rows.is_empty() {
        report.fatal(
            "W303",
            At::file(),
            "holds no sounding",
            "add soundings, or take the file out of site.toml",
        );
        return None;
    }
    say_odd_column(&rows, source, report)?;
    say_upside_down(&rows, &datum, report)?;
    let newest = rows.newest.clone();
    let placed = place(rows.rows, file, (projection, &datum), report)?;
    Some((keep_sensible(placed, &datum, report), newest))
}

fn say_faults(rows: &Rows, report: &mut Report) -> Option<()> {
    if let Some(fault) = &rows.refused {
        report.fatal("W301", At::line(fault.line), fault.what.clone(), fault.remedy.clone());
        return None;
    }
    // A few bad rows among many leave a good survey; more than that, and the file is not what it seems.
    let many = rows.fault_count * 10 > rows.rows.len() + rows.fault_count;
    for fault in &rows.faults {
        let what = format!("{}: not used", fault.what);
        match many {
            true => report.fatal("W302", At::line(fault.line), what, fault.remedy.clone()),
            false => report.note("W302", At::line(fault.line), what, fault.remedy.clone()),
        }
    }
    if rows.fault_count > rows.faults.len() {
        let what = format!("{} more rows cannot be read", rows.fault_count - rows.faults.len());
        report.note("W302", At::file(), what, "mend those above first, they may be of one kind");
    }
    Some(())
}

/// Refuses a table whose column of depths says itself that it holds something else: nothing later would tell.
fn say_odd_column(rows: &Rows, source: &Source, report: &mut Report) -> Option<()> {
    let name = rows.value_name.as_str();
    let words: Vec<&str> = name.split(|c: char| !c.is_ascii_alphanumeric()).collect();
    let has = |known: &[&str]| words.iter().any(|word| known.contains(word));
    let what = format!("the column {name} is read as depths in metres, and by its name ");
    if has(&["level", "elevation", "height", "altitude"]) && source.values.is_none() {
        let remedy = "write values = \"level\" with water_level_m, or values = \"elevation_below_surface\"";
        report.fatal("W305", At::line(1), format!("{what}it holds heights"), remedy);
        return None;
    }
    if has(&["ft", "feet", "foot", "fathom", "fathoms", "cm", "mm", "yd", "inch", "inches"]) {
        let remedy = "turn the values into metres (1 foot is 0.3048 m) and name the column depth_m";
        report.fatal("W305", At::line(1), format!("{what}it holds another unit"), remedy);
        return None;
    }
    Some(())
}

fn say_upside_down(rows: &Rows, datum: &Datum, report: &mut Report) -> Option<()> {
    let raw: Vec<&Row> = rows.rows.iter().filter(|r| !r.is_depth).collect();
    let (below, above) =
        (raw.iter().filter(|r| r.value < 0.0).count(), raw.iter().filter(|r| r.value > 0.0).count());
    let (what, word) = match datum.values {
        Values::Depth if below > above => ("depths are negative", "elevation_below_surface"),
        Values::ElevationBelowSurface if above > below => ("heights below the surface are positive", "depth"),
        _ => return Some(()),
    };
    report.fatal(
        "W305",
        At::file(),
        format!("most {what}: {} of {}", below.max(above), raw.len()),
        format!("write values = \"{word}\" for this file, or \"level\" with water_level_m if these are heights in a datum"),
    );
    None
}

/// Brings rows into site metres; a file whose places are nowhere is refused, single ones are named.
fn place(
    rows: Vec<Row>,
    file: usize,
    (projection, datum): (&Projection, &Datum),
    report: &mut Report,
) -> Option<Vec<Placed>> {
    let spots: Vec<Option<Placed>> = rows
        .par_iter()
        .map(|row| {
            let spot = projection.to_site(row.x, row.y)?;
            let depth_m = if row.is_depth { row.value + datum.rise_m } else { datum.depth_m(row.value) };
            Some(Placed { line: row.line, file, sounding: Sounding { spot, depth_m } })
        })
        .collect();
    let lost: Vec<&Row> =
        rows.iter().zip(&spots).filter(|(_, spot)| spot.is_none()).map(|(row, _)| row).collect();
    if let Some(first) = lost.first() {
        let what = format!(
            "{} positions are out of range (lines {}), the first [{}, {}]",
            lost.len(),
            list(lost.iter().map(|r| r.line.to_string())),
            first.x,
            first.y
        );
        let remedy = if projection.in_degrees() && (first.x.abs() > 360.0 || first.y.abs() > 360.0) {
            "these look like projected metres: write the file's epsg code in site.toml"
        } else if projection.in_degrees() && first.x.abs() <= 90.0 {
            "longitude and latitude look swapped: name the columns in site.toml"
        } else {
            "look at the columns and the epsg code of this file in site.toml"
        };
        if lost.len() * 10 > rows.len() {
            report.fatal("W306", At::line(first.line), what, remedy);
            return None;
        }
        report.note("W306", At::line(first.line), format!("{what}: not used"), remedy);
    }
    Some(spots.into_iter().flatten().collect())
}

/// Leaves out depths that cannot be, each named.
fn keep_sensible(placed: Vec<Placed>, datum: &Datum, report: &mut Report) -> Vec<Placed> {
    let deepest = value("sounding_deepest_m");
    let highest = if datum.values == Values::Level { value("bank_highest_m") } else { 0.0 };
    let words = |p: &Placed| format!("line {}: {} m", p.line, (p.sounding.depth_m * 1000.0).round() / 1000.0);
    let say = |code: &str, bad: Vec<&Placed>, what: &str, remedy: &str, report: &mut Report| {
        if let Some(first) = bad.first() {
            let what = format!("{} {what}, not used: {}", bad.len(), list(bad.iter().map(|p| words(p))));
            report.note(code, At::line(first.line), what, remedy);
        }
    };
    let is_deep = |p: &&Placed| p.sounding.depth_m > deepest;
    // Depth zero is the shore itself and is kept.
    let is_dry = |p: &&Placed| p.sounding.depth_m < -highest;
    let deep: Vec<&Placed> = placed.iter().filter(is_deep).collect();
    let dry: Vec<&Placed> = placed.iter().filter(is_dry).collect();
    say(
        "W307",
        deep,
        &format!("depths are greater than {deepest:.0} m"),
        "look at the unit (metres) and the column",
        report,
    );
    say("W308", dry, "depths lie above the water", "look at the sign, or take the rows out", report);
    let banks = placed.iter().filter(|p| p.sounding.depth_m < 0.0 && !is_dry(p)).count();
    if banks > 0 {
        let what = format!("{banks} points lie above the water by up to {highest:.0} m: taken as dry bank");
        report.note("W309", At::file(), what, "nothing to do if the survey runs up the bank");
    }
    placed.into_iter().filter(|p| !is_deep(&p) && !is_dry(&p)).collect()
}
