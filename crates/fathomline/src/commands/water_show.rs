//! `fathomline water show DIR`: the water in numbers, with everything that is doubtful about it.

use super::options::{draw, lonlat, print};
use crate::picture::{self, Look, Theme, Under};
use crate::site_folder::{load_photo, load_site};
use std::fmt::Write as _;
use std::path::PathBuf;
use std::process::ExitCode;
use water::{FOOT_M, Ground, LonLat, Problem, Site, Units, WaterSummary, depth_at};

/// Show a site: depth, bands, area, volume, distance to soundings; picture and numbers.
#[derive(clap::Args)]
pub struct Show {
    /// Site folder.
    pub dir: PathBuf,
    /// Stage in metres, on the scale of the site; its datum stage if not given.
    #[arg(long, allow_hyphen_values = true, value_parser = number)]
    pub stage: Option<f64>,
    /// All of it as one JSON object.
    #[arg(long)]
    pub json: bool,
    /// Depth at a place: longitude,latitude in degrees.
    #[arg(long, value_name = "LON,LAT", allow_hyphen_values = true, value_parser = lonlat)]
    pub at: Option<LonLat>,
    /// Write the picture: FILE.svg or FILE.png.
    #[arg(long, value_name = "FILE")]
    pub map: Option<PathBuf>,
    /// Leave the site's photo out of the picture.
    #[arg(long)]
    pub no_photo: bool,
    /// Light the picture is made for.
    #[arg(long, value_enum, default_value_t)]
    pub light: Theme,
}

impl Show {
    /// Runs it.
    pub fn run(self) -> ExitCode {
        print(self.shown())
    }

    /// The text, with the picture written where asked; or everything that keeps the site out.
    fn shown(&self) -> Result<String, Vec<Problem>> {
        let (site, problems) = load_site(&self.dir)?;
        let ground = ground(&site, self.stage);
        if let Some(file) = &self.map {
            let photo = if self.no_photo { None } else { load_photo(&self.dir, &site) };
            let photo = photo.map(|(photo, bytes)| Under::new(photo, &bytes));
            let look = Look { theme: self.light, photo, ..Look::default() };
            draw("--map", file, &picture::water_map(&site, &ground, &look))?;
        }
        Ok(self.show(&site, &ground, &problems) + "\n")
    }

    /// What is printed: a table, or one JSON object.
    fn show(&self, site: &Site, ground: &Ground, problems: &[Problem]) -> String {
        let summary = WaterSummary::of(site, ground, problems);
        let at = self.at.map(|place| At::new(site, ground, place));
        if self.json { json(&summary, at.as_ref()) } else { table(&summary, at.as_ref(), site.units) }
    }
}

/// The site's ground at a stage, or at its datum.
fn ground(site: &Site, stage_m: Option<f64>) -> Ground {
    Ground::build(site, stage_m.unwrap_or(site.datum_stage_m)).value
}

fn number(text: &str) -> Result<f64, String> {
    match text.trim().parse::<f64>() {
        Ok(value) if value.is_finite() => Ok(value),
        _ => Err(format!("{text:?} must be a number of metres with a decimal point")),
    }
}

/// The depth asked for.
struct At {
    place: LonLat,
    depth_m: Option<f64>,
    distance_to_sounding_m: Option<f64>,
}

impl At {
    fn new(site: &Site, ground: &Ground, place: LonLat) -> At {
        let spot = site.frame.to_site(place);
        let (depth_m, from_cell_m) = depth_at(ground, spot);
        // For one place the true distance is cheap; the ground has it per cell.
        let nearest_m = site.soundings.iter().map(|s| s.spot.distance(spot)).fold(f64::INFINITY, f64::min);
        let distance_m = if nearest_m.is_finite() { nearest_m } else { from_cell_m };
        At {
            place,
            depth_m: Some(depth_m).filter(|d| d.is_finite()),
            distance_to_sounding_m: Some(distance_m).filter(|d| d.is_finite()),
        }
    }
}

fn json(summary: &WaterSummary, at: Option<&At>) -> String {
    let mut all = serde_json::to_value(summary).expect("plain numbers and text");
    if let Some(at) = at {
        all["depth_m"] = at.depth_m.into();
        all["distance_to_sounding_m"] = at.distance_to_sounding_m.into();
        all["at"] = serde_json::json!({
            "lon": at.place.lon, "lat": at.place.lat,
            "depth_m": at.depth_m, "distance_to_sounding_m": at.distance_to_sounding_m,
        });
    }
    serde_json::to_string_pretty(&all).expect("plain numbers and text")
}

/// Thousands apart, so that large areas can be read at arm's length: `579,077.37`.
fn grouped(value: f64, decimals: usize) -> String {
    let text = format!("{:.decimals$}", value.abs());
    let (whole, rest) = text.split_once('.').map_or((text.as_str(), None), |(w, r)| (w, Some(r)));
    let mut out = String::new();
    for (i, digit) in whole.chars().enumerate() {
        if i > 0 && (whole.len() - i) % 3 == 0 {
            out.push(',');
        }
        out.push(digit);
    }
    let sign = if value < 0.0 { "-" } else { "" };
    rest.map_or_else(|| format!("{sign}{out}"), |rest| format!("{sign}{out}.{rest}"))
}

/// A number in metres (or their square or cube), with feet beside it where the site shows feet.
fn with_feet(value: Option<f64>, power: i32, units: Units) -> String {
    let Some(value) = value else { return "not known".into() };
    let suffix = match power {
        1 => "",
        2 => "2",
        _ => "3",
    };
    let mut text = format!("{} m{suffix}", grouped(value, 2));
    if units == Units::Feet {
        let _ = write!(text, " ({} ft{suffix})", grouped(value / FOOT_M.powi(power), 1));
    }
    text
}

fn table(summary: &WaterSummary, at: Option<&At>, units: Units) -> String {
    let mut text = format!("{}, stage {}\n", summary.name, with_feet(Some(summary.stage_m), 1, units));
    let bands = &summary.bands;
    let mut rows = vec![
        ("area", with_feet(Some(summary.area_m2), 2, units)),
        ("volume", with_feet(summary.volume_m3, 3, units)),
        ("mean depth", with_feet(summary.mean_depth_m, 1, units)),
        ("greatest depth", with_feet(summary.max_depth_m, 1, units)),
        ("to wade", with_feet(Some(bands.wade_m2), 2, units)),
        ("to surface-dive", with_feet(Some(bands.dive_m2), 2, units)),
        ("too deep for both", with_feet(Some(bands.deep_m2), 2, units)),
        ("depth not known", with_feet(Some(summary.unknown_m2), 2, units)),
        ("soundings used", summary.soundings.to_string()),
        ("cell", with_feet(Some(summary.cell_m), 1, units)),
        ("counted over", summary.counted_over.clone()),
    ];
    if let Some(at) = at {
        rows.push(("at", format!("{}, {}", at.place.lon, at.place.lat)));
        rows.push(("  depth", with_feet(at.depth_m, 1, units)));
        rows.push(("  nearest sounding", with_feet(at.distance_to_sounding_m, 1, units)));
    }
    for (name, value) in rows {
        let _ = writeln!(text, "  {name:<20}{value:>24}");
    }
    for note in &summary.notes {
        let _ = writeln!(text, "note: {note}");
    }
    for problem in &summary.problems {
        let _ = writeln!(text, "{problem}");
    }
    text.push_str("planning aid only: depths are those of the soundings' day, shifted to this stage");
    text
}

#[cfg(test)]
mod tests {
    use super::*;
    use measure::Spot;
    use water::{Bed, Feature, Frame, Kind, Limits, Salinity, Shape, Sounding, WaterKind};

    fn pond() -> Site {
        let ring = [(0.0, 0.0), (100.0, 0.0), (100.0, 60.0), (0.0, 60.0), (0.0, 0.0)];
        let ring = ring.iter().map(|&(e, n)| Spot::new(e, n)).collect();
        let sounding = |i: i32, j: i32| Sounding {
            spot: Spot::new(5.0 * f64::from(i), 5.0 * f64::from(j)),
            depth_m: 0.05 * f64::from(i),
        };
        Site {
            name: "test pond".into(),
            frame: Frame::new(LonLat { lon: -3.1, lat: 54.5 }),
            time_zone: "Europe/London".into(),
            water_kind: WaterKind::Lake,
            salinity: Salinity::Fresh,
            stage_datum: "pole".into(),
            datum_stage_m: 1.0,
            units: Units::Metric,
            emergency_number: "112".into(),
            plan_text: String::new(),
            flags: vec![],
            bed: Bed::Sand,
            limits: Limits::default(),
            features: vec![Feature {
                name: "pond".into(),
                kind: Kind::Water,
                shape: Shape::Area(vec![vec![ring]]),
            }],
            soundings: (1..20).flat_map(|i| (1..12).map(move |j| sounding(i, j))).collect(),
            raster: None,
            hypsography: None,
            sounded_on: String::new(),
            heights: Vec::new(),
        }
    }

    fn options(json: bool, at: Option<LonLat>) -> Show {
        Show { dir: PathBuf::new(), stage: None, json, at, map: None, no_photo: false, light: Theme::Sun }
    }

    #[test]
    fn the_json_has_the_fixed_names() {
        let site = pond();
        let spot = Spot::new(52.0, 31.0);
        let text =
            options(true, Some(site.frame.to_lonlat(spot))).show(&site, &ground(&site, Some(1.5)), &[]);
        let all: serde_json::Value = serde_json::from_str(&text).unwrap();
        let number = |name: &str| all[name].as_f64().unwrap_or_else(|| panic!("{name}: {text}"));
        assert_eq!((number("area_m2"), number("soundings"), number("cell_m")), (6000.0, 209.0, 1.0));
        assert!((number("mean_depth_m") * number("area_m2") - number("volume_m3")).abs() < 1e-6);
        // 0.01 m a metre of east, half a metre more stage.
        assert!((number("depth_m") - 1.02).abs() < 1e-6 && all["at"]["depth_m"] == all["depth_m"]);
        assert!((number("distance_to_sounding_m") - 5f64.sqrt()).abs() < 1e-6);
        let bands = ["wade_m2", "dive_m2", "deep_m2"].map(|b| all["bands"][b].as_f64().unwrap());
        assert_eq!(bands.iter().sum::<f64>(), 6000.0);
        assert!(all["problems"].as_array().unwrap().is_empty());
    }

    #[test]
    fn the_table_says_what_is_not_known() {
        let mut site = pond();
        let text = options(false, None).show(&site, &ground(&site, None), &[]);
        assert!(text.contains("6,000.00 m2") && text.contains("test pond, stage 1.00 m"), "{text}");
        site.soundings.clear();
        site.units = Units::Feet;
        let text = options(false, Some(LonLat { lon: 0.0, lat: 0.0 })).show(&site, &ground(&site, None), &[]);
        assert!(
            text.contains("not known") && text.contains("no soundings") && text.contains("ft2"),
            "{text}"
        );
        let null: serde_json::Value =
            serde_json::from_str(&options(true, None).show(&site, &ground(&site, None), &[])).unwrap();
        assert!(null["volume_m3"].is_null() && null["area_m2"].as_f64() == Some(6000.0));
    }

    #[test]
    fn numbers_are_read_and_shown() {
        assert!(number("-0.3") == Ok(-0.3) && number("inf").is_err() && number("x").is_err());
        assert_eq!(grouped(579_077.371, 2), "579,077.37");
        assert_eq!((grouped(999.0, 0), grouped(-1000.0, 1)), ("999".into(), "-1,000.0".into()));
    }
}
