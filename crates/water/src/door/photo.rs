//! The photo from above that may lie under the map: what it is and where it lies. It is for looking at alone:
//! whatever is wrong with it is said, and the site is used without it.

use crate::door::projection::Projection;
use crate::door::settings::{Settings, is_plain_name};
use crate::door::{SITE_FILE, SiteFiles, outline, settings};
use crate::formats::picture::{Picture, picture};
use crate::formats::section::{Section, pair_of};
use crate::formats::words::short;
use crate::problem::{At, Report};
use crate::{Frame, LonLat, Site};
use measure::Spot;
use measure::parameters::value;

/// A photo of the site from above.
#[derive(Clone, Debug, PartialEq)]
pub struct Photo {
    /// Its file in the site folder.
    pub file: String,
    /// Media type: `image/jpeg` or `image/png`.
    pub media: &'static str,
    /// Pixels from left to right.
    pub width_px: u32,
    /// Pixels from top to bottom.
    pub height_px: u32,
    /// Upper left, upper right, lower right and lower left corner of the picture, in site metres: a parallelogram.
    pub corners: [Spot; 4],
    /// Day it was taken, as written; empty if not told.
    pub date: String,
}

/// `[photo]` of `site.toml`.
#[derive(Clone, Debug)]
pub(crate) struct Entry {
    pub file: String,
    date: String,
    epsg: u32,
    placed: Placed,
    at: At,
}

/// How the place of a photo is told.
#[derive(Clone, Debug)]
enum Placed {
    /// By a world file beside it.
    World,
    /// By places in the picture, in pixels from its upper left corner.
    Points(Vec<((f64, f64), LonLat)>),
    /// By its corners; the size of the picture says which pixels they are.
    Corners(Vec<LonLat>),
}

/// Reads `[photo]`.
pub(crate) fn entry(mut table: Section, report: &mut Report) -> Option<Entry> {
    let file = table.string("file", report);
    match &file {
        Some(name) if is_plain_name(name) => table.call(format!("photo \"{}\"", short(name))),
        Some(name) => {
            let what = format!("file \"{}\" is not a name in the site folder", short(name));
            let remedy = "put the picture beside site.toml and write its name alone";
            report.fatal("W109", table.at_key("file"), what, remedy);
        }
        None if !table.has("file") => {
            table.missing("file", "name the picture, or take [photo] out", report);
        }
        None => {}
    }
    let epsg = table.count("epsg", 999_999, report);
    let corners = corners(&mut table, report);
    let points = points(&mut table, report);
    let date = settings::date(&mut table, report);
    let ways = usize::from(corners.is_some()) + usize::from(points.is_some());
    if ways == 2 || (ways == 1 && epsg.is_some()) {
        let what = "says twice where the photo lies";
        report.fatal("W333", table.at(), what, "keep one of corners, points, and epsg with a world file");
    }
    let at = table.at();
    table.finish(report);
    let placed = corners.map(Placed::Corners).or(points.map(Placed::Points)).unwrap_or(Placed::World);
    let file = file.filter(|name| is_plain_name(name))?;
    Some(Entry { file, date, epsg: epsg.unwrap_or(4326), placed, at })
}

fn corners(table: &mut Section, report: &mut Report) -> Option<Vec<LonLat>> {
    let value = table.get("corners")?.get_ref();
    let pairs: Option<Vec<LonLat>> = value
        .as_array()
        .and_then(|items| items.iter().map(|item| degrees(pair_of(item.get_ref())?)).collect())
        .filter(|pairs: &Vec<LonLat>| pairs.len() == 4);
    if pairs.is_none() {
        let wanted = "four pairs [longitude, latitude]: upper left, upper right, lower right, lower left";
        table.wrong_kind("corners", wanted, report);
    }
    pairs
}

fn points(table: &mut Section, report: &mut Report) -> Option<Vec<((f64, f64), LonLat)>> {
    if !table.has("points") {
        return None;
    }
    let mut all = Vec::new();
    for mut one in table.tables("points", report) {
        let pixel = one.get("pixel").and_then(|value| pair_of(value.get_ref()));
        let at = one.get("at").and_then(|value| degrees(pair_of(value.get_ref())?));
        if pixel.is_none() {
            one.wrong_kind("pixel", "[pixels from the left, pixels from the top]", report);
        }
        if at.is_none() {
            one.wrong_kind("at", "[longitude, latitude] in degrees", report);
        }
        one.finish(report);
        all.extend(pixel.zip(at));
    }
    Some(all)
}

fn degrees((lon, lat): (f64, f64)) -> Option<LonLat> {
    (lon.abs() <= 180.0 && lat.abs() <= 90.0).then_some(LonLat { lon, lat })
}

/// Names of the files that tell where a picture lies, of which one may be there.
pub(crate) fn world_files(name: &str) -> Vec<String> {
    let Some((stem, ending)) = name.rsplit_once('.') else { return Vec::new() };
    let usual = match ending.to_ascii_lowercase().as_str() {
        "jpg" | "jpeg" => "jgw",
        "png" => "pgw",
        _ => return vec![format!("{stem}.wld")],
    };
    vec![format!("{stem}.{usual}"), format!("{stem}.wld")]
}

/// The photo of a site that came through the door; `None` where it has none, or none that can be used.
///
/// # Inputs
/// - `files`: the site's own · `site`
///
/// # Gives
/// The photo. What is wrong with it, `read_site` has said.
pub fn read_photo(files: &SiteFiles, site: &Site) -> Option<Photo> {
    let mut silent = Report::of(SITE_FILE);
    let settings = settings::read(files.bytes(SITE_FILE)?, &mut silent);
    read(files, &settings, (&site.frame, &outline::water(&site.features)), &mut silent)
}

/// Reads the photo and says whatever keeps it from being shown.
pub(crate) fn read(
    files: &SiteFiles,
    settings: &Settings,
    (frame, water): (&Frame, &Vec<Vec<Vec<Spot>>>),
    report: &mut Report,
) -> Option<Photo> {
    let entry = settings.photo.as_ref()?;
    let Some(bytes) = files.bytes(&entry.file) else {
        let remedy = "add the picture, or take [photo] out; the site is used without it";
        report.note("W330", At::file(), "is named as the photo and is not there", remedy);
        return None;
    };
    let head = usable(bytes, report)?;
    let ties = ties(files, entry, (&head, frame), report)?;
    let corners = laid(&ties, (&head, entry), report)?;
    if !water.is_empty() && !overlaps(&corners, water) {
        let remedy =
            "look at its corners, points or epsg code (longitude comes first), and at the origin of the site";
        report.note("W334", entry.at.clone(), "the photo does not show any water of the map", remedy);
        return None;
    }
    let Picture { media, width_px, height_px, .. } = head;
    let (file, date) = (entry.file.clone(), entry.date.clone());
    Some(Photo { file, media, width_px, height_px, corners, date })
}

/// Whether every phone can be given this picture.
fn usable(bytes: &[u8], report: &mut Report) -> Option<Picture> {
    let most = value("photo_most_bytes");
    if bytes.len() as f64 > most {
        let what = format!("is {:.1} MB, and every phone fetches it", bytes.len() as f64 / 1e6);
        let remedy = format!("save it again smaller, at most {:.0} MB", most / 1e6);
        report.note("W331", At::file(), what, remedy);
        return None;
    }
    let head = match picture(bytes) {
        Ok(head) => head,
        Err(why) => {
            report.note("W332", At::file(), why, "export the photo again as JPEG or PNG");
            return None;
        }
    };
    let side = value("photo_side_most_px");
    if f64::from(head.width_px.max(head.height_px)) > side {
        let what = format!("is {} × {} pixels, more than a phone can draw", head.width_px, head.height_px);
        let remedy =
            format!("make it smaller, at most {side:.0} pixels each way; the corners stay as they are");
        report.note("W331", At::file(), what, remedy);
        return None;
    }
    if !head.upright {
        let what = "carries a camera's note to be turned, so its pixels do not lie as they are shown";
        report.note("W332", At::file(), what, "turn it for good in a picture editor and save it again");
        return None;
    }
    Some(head)
}

/// A place of the picture in pixels, and where it is in site metres.
type Tie = ((f64, f64), Spot);

/// Pixels of a picture tied to site metres.
fn ties(
    files: &SiteFiles,
    entry: &Entry,
    (head, frame): (&Picture, &Frame),
    report: &mut Report,
) -> Option<Vec<Tie>> {
    let (w, h) = (f64::from(head.width_px), f64::from(head.height_px));
    let edges = [(0.0, 0.0), (w, 0.0), (w, h), (0.0, h)];
    match &entry.placed {
        Placed::Corners(places) => {
            Some(edges.into_iter().zip(places).map(|(pixel, place)| (pixel, frame.to_site(*place))).collect())
        }
        Placed::Points(points) => {
            Some(points.iter().map(|(pixel, place)| (*pixel, frame.to_site(*place))).collect())
        }
        Placed::World => {
            let name = world_files(&entry.file).into_iter().find(|name| files.bytes(name).is_some());
            let Some(name) = name else {
                let what = "nothing says where the photo lies";
                let remedy = "write corners = [[lon, lat], ...] from its upper left clockwise, or points, or add its world file";
                report.note("W333", entry.at.clone(), what, remedy);
                return None;
            };
            let world = world(files.bytes(&name)?);
            let Some([a, d, b, e, c, f]) = world else {
                let what = format!("its world file {name} is not six numbers");
                report.note("W333", entry.at.clone(), what, "export the photo again with its world file");
                return None;
            };
            let projection = match Projection::of(entry.epsg, *frame) {
                Ok(projection) => projection,
                Err(why) => {
                    report.note("W333", entry.at.clone(), why, "write the epsg code of the world file");
                    return None;
                }
            };
            // A world file speaks of the middles of pixels.
            let place = |(x, y): (f64, f64)| {
                let (x, y) = (x - 0.5, y - 0.5);
                projection.to_site(a * x + b * y + c, d * x + e * y + f)
            };
            let places: Option<Vec<Spot>> = edges.into_iter().map(place).collect();
            if places.is_none() {
                let what = format!("its world file {name} leads off the earth");
                report.note("W334", entry.at.clone(), what, "write the epsg code of the world file");
            }
            Some(edges.into_iter().zip(places?).collect())
        }
    }
}

fn world(bytes: &[u8]) -> Option<[f64; 6]> {
    let text = std::str::from_utf8(bytes).ok()?;
    let numbers: Option<Vec<f64>> = text.split_whitespace().map(|word| word.parse().ok()).collect();
    numbers?.try_into().ok().filter(|all: &[f64; 6]| all.iter().all(|v| v.is_finite()))
}

/// The corners of a picture that is laid flat as near to all its ties as can be.
fn laid(ties: &[Tie], (head, entry): (&Picture, &Entry), report: &mut Report) -> Option<[Spot; 4]> {
    let at = || entry.at.clone();
    let Some(flat) = Flat::through(ties) else {
        let what = "its points lie on one line or are fewer than three";
        report.note("W333", at(), what, "give three points or more that lie well apart");
        return None;
    };
    let turn = flat.right.cross(flat.down);
    if !(turn.abs() > 1e-9 && turn.is_finite()) {
        report.note(
            "W333",
            at(),
            "its pixels have no size on the ground",
            "look at its corners or world file",
        );
        return None;
    }
    if turn > 0.0 {
        let remedy =
            "write the corners from the upper left of the picture clockwise; pixels count from its top";
        report.note("W333", at(), "the photo would lie mirrored", remedy);
        return None;
    }
    let (wide, high) = (flat.right.length(), flat.down.length());
    let off = ties.iter().map(|(pixel, spot)| flat.at(*pixel).distance(*spot)).fold(0.0, f64::max);
    if off > value("photo_misfit_m") {
        let what = format!(
            "its corners or points do not fit together: laid as well as can be, one is {off:.1} m off"
        );
        report.note(
            "W335",
            at(),
            what,
            "look at each; the photo is shown, and what it shows may lie so far off",
        );
    } else if wide > 1.5 * high || high > 1.5 * wide {
        let what = format!("its pixels are {wide:.3} m wide and {high:.3} m high: the photo looks stretched");
        report.note("W335", at(), what, "begin the corners at the upper left of the picture, then clockwise");
    }
    let (w, h) = (f64::from(head.width_px), f64::from(head.height_px));
    Some([(0.0, 0.0), (w, 0.0), (w, h), (0.0, h)].map(|pixel| flat.at(pixel)))
}

/// A picture laid flat: where its middle pixel lies, and one pixel to the right and down in metres.
struct Flat {
    pixel: (f64, f64),
    spot: Spot,
    right: Spot,
    down: Spot,
}

impl Flat {
    /// Least squares through all ties; `None` where they do not say how it lies.
    fn through(ties: &[Tie]) -> Option<Flat> {
        let count = ties.len() as f64;
        if ties.len() < 3 {
            return None;
        }
        let (x0, y0) = ties.iter().fold((0.0, 0.0), |(x, y), ((u, v), _)| (x + u / count, y + v / count));
        let spot = ties.iter().fold(Spot::default(), |sum, (_, spot)| sum + *spot * (1.0 / count));
        let (mut xx, mut xy, mut yy) = (0.0, 0.0, 0.0);
        let (mut with_x, mut with_y) = (Spot::default(), Spot::default());
        for ((u, v), place) in ties {
            let (x, y, from) = (u - x0, v - y0, *place - spot);
            (xx, xy, yy) = (xx + x * x, xy + x * y, yy + y * y);
            (with_x, with_y) = (with_x + from * x, with_y + from * y);
        }
        let all = xx * yy - xy * xy;
        // Points along one line: the area that they span is nothing beside their length.
        if !(all.is_finite() && all > 1e-6 * (xx + yy).powi(2)) {
            return None;
        }
        let right = (with_x * yy - with_y * xy) * (1.0 / all);
        let down = (with_y * xx - with_x * xy) * (1.0 / all);
        Some(Flat { pixel: (x0, y0), spot, right, down })
    }

    fn at(&self, (x, y): (f64, f64)) -> Spot {
        self.spot + self.right * (x - self.pixel.0) + self.down * (y - self.pixel.1)
    }
}

/// Whether any of the picture lies over the water.
fn overlaps(corners: &[Spot; 4], water: &Vec<Vec<Vec<Spot>>>) -> bool {
    let [origin, right, _, down] = *corners;
    let (right, down) = (right - origin, down - origin);
    // A grid over the picture, and the shore for water that slips between its places.
    const STEPS: u32 = 48;
    let part = |n: u32| f64::from(n) / f64::from(STEPS);
    let mut grid = (0..=STEPS).flat_map(|i| (0..=STEPS).map(move |j| (i, j)));
    if grid.any(|(i, j)| outline::distance(water, origin + right * part(i) + down * part(j)) == 0.0) {
        return true;
    }
    let turn = right.cross(down);
    let inside = |spot: &Spot| {
        let from = *spot - origin;
        let (u, v) = (from.cross(down) / turn, right.cross(from) / turn);
        (0.0..=1.0).contains(&u) && (0.0..=1.0).contains(&v)
    };
    water.iter().flatten().flatten().any(inside)
}
