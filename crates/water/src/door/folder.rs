//! A whole site folder: settings, map, soundings, and what they say of each other.

use crate::door::projection::Projection;
use crate::door::settings::{Format, Settings, Source};
use crate::door::soundings::Placed;
use crate::door::{Checked, SiteFiles, map, outline, photo, raster, settings, soundings, stray};
use crate::formats;
use crate::problem::{At, Report};
use crate::site::{Feature, Kind};
use crate::{Field, Frame, Hypsography, LonLat, Site};
use measure::Spot;

/// The file that says what the site is.
pub const SITE_FILE: &str = "site.toml";
/// The file with everything that is drawn.
pub const MAP_FILE: &str = "map.geojson";
/// The day's file, where it lies in the site folder.
pub const DAY_FILE: &str = "day.toml";
/// Soundings files that are read though `site.toml` names none.
const USUAL: [&str; 5] =
    ["soundings.csv", "soundings.xyz", "soundings.geojson", "soundings.asc", "soundings.tif"];

/// Names of the files that a site folder may hold: the known ones, and those that its `site.toml` names.
///
/// # Inputs
/// - `site_toml`: what `site.toml` holds; anything at all, it need not be right
pub fn named_files(site_toml: &[u8]) -> Vec<String> {
    let read = settings::read(site_toml, &mut Report::of(SITE_FILE));
    let mut names = vec![SITE_FILE.to_string(), MAP_FILE.to_string()];
    for source in &read.sources {
        names.push(source.file.clone());
        names.extend(world_file(&source.file));
    }
    if read.sources.is_empty() {
        names.extend(USUAL.iter().map(|name| name.to_string()));
        names.extend(world_file(USUAL[4]));
    }
    if let Some(entry) = &read.photo {
        names.push(entry.file.clone());
        names.extend(photo::world_files(&entry.file));
    }
    let mut seen = std::collections::BTreeSet::new();
    names.retain(|name| seen.insert(name.clone()));
    names
}

/// The georeference beside a GeoTIFF.
fn world_file(name: &str) -> Option<String> {
    let (stem, ending) = name.rsplit_once('.')?;
    matches!(ending.to_ascii_lowercase().as_str(), "tif" | "tiff").then(|| format!("{stem}.tfw"))
}

/// Reads a site folder: every file checked as far as it goes, all problems at once.
///
/// # Inputs
/// - `files`: `site.toml`, `map.geojson` and the soundings that `site.toml` names
///
/// # Gives
/// The site in site metres unless a problem is fatal, and all problems in the order of the files.
pub fn read_site(files: &SiteFiles) -> Checked<Site> {
    let mut report = Report::of(SITE_FILE);
    let Some(bytes) = files.bytes(SITE_FILE) else {
        report.fatal(
            "W001",
            At::file(),
            "is not there",
            "write it: name, origin, time_zone, water_kind at least",
        );
        return Checked::of(None, report.problems);
    };
    let settings = settings::read(bytes, &mut report);
    let mut map_report = Report::of(MAP_FILE);
    let map_bytes = files.bytes(MAP_FILE);
    // Without an origin the rest is checked about the map's own first position.
    let frame = settings
        .frame
        .or_else(|| map::frame_of(map_bytes?))
        .unwrap_or_else(|| Frame::new(LonLat { lon: 0.0, lat: 0.0 }));
    let (mut features, heights) =
        map_bytes.map_or_else(Default::default, |bytes| map::read(bytes, &frame, &mut map_report));
    outline::unite(&mut features, &mut map_report);
    outline::name_far_features(&features, &mut map_report);
    let water = outline::water(&features);
    let mut survey = survey(files, &settings, (&frame, &water), &mut report);
    let mut photo_report = Report::of(settings.photo.as_ref().map_or(SITE_FILE, |entry| entry.file.as_str()));
    photo::read(files, &settings, (&frame, &water), &mut photo_report);
    if water.is_empty() && map_report.problems.iter().all(|p| !p.fatal) {
        add_outline(&mut features, &survey, &mut map_report);
    }
    let mut problems = report.problems;
    problems.append(&mut map_report.problems);
    problems.append(&mut survey.problems);
    problems.append(&mut photo_report.problems);
    Checked::of(Some(site(settings, frame, (features, heights), survey)), problems)
}

/// What all soundings files gave.
struct Survey {
    placed: Vec<Placed>,
    raster: Option<Field<f64>>,
    own_cells: Option<Hypsography>,
    newest: String,
    problems: Vec<crate::Problem>,
}

fn sources(files: &SiteFiles, settings: &Settings) -> Vec<Source> {
    if !settings.sources.is_empty() {
        return settings.sources.clone();
    }
    USUAL.iter().filter(|name| files.bytes(name).is_some()).take(1).map(|name| Source::plain(name)).collect()
}

fn survey(
    files: &SiteFiles,
    settings: &Settings,
    (frame, water): (&Frame, &Vec<Vec<Vec<Spot>>>),
    report: &mut Report,
) -> Survey {
    let sources = sources(files, settings);
    if sources.is_empty() && settings.sources.is_empty() {
        let remedy = "add [[soundings]] with file = \"soundings.csv\" (lon,lat,depth_m)";
        report.note("W304", At::file(), "no soundings: no depth is known anywhere", remedy);
    }
    let names: Vec<String> = sources.iter().map(|s| s.file.clone()).collect();
    let mut reports: Vec<Report> = names.iter().map(|name| Report::of(name)).collect();
    let mut out = Survey {
        placed: Vec::new(),
        raster: None,
        own_cells: None,
        newest: String::new(),
        problems: Vec::new(),
    };
    for (n, source) in sources.iter().enumerate() {
        if names[..n].contains(&source.file) {
            report.fatal(
                "W109",
                source.at.clone(),
                "names a file for the second time",
                "name each file once",
            );
            continue;
        }
        let bytes = files.bytes(&source.file);
        let Some(projection) = projection((source, bytes), frame, report) else { continue };
        let Some(bytes) = bytes else {
            reports[n].fatal(
                "W001",
                At::file(),
                "is named in site.toml and is not there",
                "add the file, or take its entry out",
            );
            continue;
        };
        let with = (&projection, settings.datum_stage_m);
        match soundings::format_of(source) {
            None => report.fatal(
                "W105",
                source.at.clone(),
                "the ending of the file does not say its format",
                "write format = \"csv\", \"xyz\", \"geojson\", \"esri_ascii\" or \"geotiff\"",
            ),
            Some(Format::EsriAscii | Format::GeoTiff) => {
                let world = world_file(&source.file).and_then(|name| files.bytes(&name));
                let drawn = raster::read(source, (bytes, world), with, water, &mut reports[n]);
                take_raster(drawn, water, &mut out, &mut reports[n]);
            }
            Some(_) => {
                if let Some((placed, newest)) = soundings::read((source, n), bytes, with, &mut reports[n]) {
                    out.placed.extend(placed);
                    out.newest = out.newest.clone().max(newest);
                }
            }
        }
        out.newest = out.newest.clone().max(source.date.clone());
    }
    out.placed = stray::set_aside(std::mem::take(&mut out.placed), water, &names, &mut reports);
    stray::settle_doubles(&mut out.placed, &mut reports);
    stray::name_spikes(&out.placed, &mut reports);
    out.problems = reports.into_iter().flat_map(|r| r.problems).collect();
    out
}

/// The coordinates of a file: by the code in `site.toml`, else by the one a GeoTIFF names itself, else degrees.
fn projection(
    (source, bytes): (&Source, Option<&[u8]>),
    frame: &Frame,
    report: &mut Report,
) -> Option<Projection> {
    let own = bytes
        .filter(|_| soundings::format_of(source) == Some(Format::GeoTiff))
        .and_then(formats::raster::geotiff_epsg);
    if let (Some(written), Some(own)) = (source.epsg, own.filter(|own| source.epsg != Some(*own))) {
        let what = format!("epsg {written} is used, and {} itself names {own}", source.file);
        report.note("W111", source.at.clone(), what, "take epsg out of site.toml unless the file is wrong");
    }
    let epsg = source.epsg.or(own).unwrap_or(4326);
    match Projection::of(epsg, *frame) {
        Ok(projection) => {
            if projection.shifted() {
                let what = format!(
                    "EPSG:{epsg} is brought to WGS 84 by one shift for its whole country: good to about 5 m"
                );
                let remedy = "compare a mark that you can see, or export in longitude and latitude on WGS 84";
                report.note("W111", source.at.clone(), what, remedy);
            }
            Some(projection)
        }
        Err(why) => {
            let remedy = "write the code the survey names, such as 32615 for UTM zone 15 north, or export in longitude and latitude";
            report.fatal("W111", source.at.clone(), why, remedy);
            None
        }
    }
}

fn take_raster(
    drawn: Option<raster::Drawn>,
    water: &Vec<Vec<Vec<Spot>>>,
    out: &mut Survey,
    report: &mut Report,
) {
    let Some(raster::Drawn { field, own }) = drawn else { return };
    if out.raster.is_some() {
        report.fatal(
            "W324",
            At::file(),
            "is the second raster of the site",
            "join the rasters into one file",
        );
    } else if !water.is_empty() && !raster::meets(&field, water) {
        let remedy = "look at its epsg code, its sign, and the origin of the site";
        report.fatal("W322", At::file(), "no wet cell of it lies in the water of the map", remedy);
    }
    out.raster = Some(field);
    out.own_cells = own;
}

/// Draws the water round what was sounded, where the map has no water.
fn add_outline(features: &mut Vec<Feature>, survey: &Survey, report: &mut Report) {
    let mut places: Vec<Spot> =
        survey.placed.iter().filter(|p| p.sounding.depth_m > 0.0).map(|p| p.sounding.spot).collect();
    places.extend(survey.raster.as_ref().map(raster::wet_places).unwrap_or_default());
    match outline::round(&places) {
        Some(feature) => {
            let what = format!(
                "no water polygon: the outline is drawn round the {} soundings used, {} m outside them; its shore is not surveyed",
                places.len(),
                measure::parameters::value("outline_margin_m")
            );
            report.note("W220", At::file(), what, "draw the shore as a polygon of kind water");
            features.push(feature);
        }
        None => {
            let remedy = "draw the shore as a polygon of kind water, or add soundings";
            report.fatal(
                "W221",
                At::file(),
                "no water polygon, and no wet sounding to draw one round",
                remedy,
            );
        }
    }
}

fn site(
    settings: Settings,
    frame: Frame,
    (features, heights): (Vec<Feature>, Vec<(String, f64)>),
    survey: Survey,
) -> Site {
    debug_assert!(features.iter().all(|f| f.kind != Kind::Water || f.shape.middle().is_finite()));
    Site {
        name: settings.name,
        frame,
        time_zone: settings.time_zone,
        water_kind: settings.water_kind,
        salinity: settings.salinity,
        stage_datum: settings.stage_datum,
        datum_stage_m: settings.datum_stage_m,
        units: settings.units,
        emergency_number: settings.emergency_number,
        plan_text: settings.plan_text,
        flags: settings.flags,
        bed: settings.bed,
        limits: settings.limits,
        features,
        soundings: survey.placed.iter().map(|p| p.sounding).collect(),
        raster: survey.raster,
        hypsography: survey.own_cells,
        sounded_on: survey.newest,
        heights,
    }
}
