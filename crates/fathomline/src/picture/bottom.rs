//! The bottom on a picture: land, bands by depth, contours, sounding figures, and where no sounding is near.

use super::label::Labels;
use super::outline;
use super::page::{Page, Type};
use super::photo::{OVER, Under};
use super::scene::Theme;
use super::units::{contour_text, sounding_text};
use super::view::View;
use measure::Spot;
use measure::parameters::value;
use water::{Cover, FOOT_M, Field, Ground, Kind, Shape, Site, Units};

/// Site and bottom in a window.
#[derive(Clone, Copy)]
pub struct Bottom<'a> {
    /// Site.
    pub site: &'a Site,
    /// Bottom at today's stage.
    pub ground: &'a Ground,
    /// Window.
    pub view: &'a View,
    /// Without figures and with fewer contours, under a search.
    pub quiet: bool,
    /// Photo that shows through the bands, and for which light.
    pub photo: Option<(&'a Under, Theme)>,
}

/// A piece of water without a sounding near.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Untrusted {
    /// A place well inside it.
    pub spot: Spot,
    /// Area \[m²\].
    pub area_m2: f64,
    /// Greatest distance to a sounding \[m\]; infinite where there is none at all.
    pub far_m: f64,
}

/// Pieces of water smaller than this are not marked \[m²\].
const SPECK_M2: f64 = 10.0;

impl Bottom<'_> {
    /// Draws land, bands and contours, clipped to the frame; gives what is not trusted, largest first.
    pub fn draw(&self, page: &mut Page, labels: &mut Labels) -> Vec<Untrusted> {
        let (view, ink) = (self.view, page.ink);
        page.rect(view.frame, &format!("fill=\"{}\"", ink.land));
        if let Some((photo, theme)) = self.photo {
            photo.draw(page, view, theme);
        }
        let through = if self.photo.is_some() { format!("opacity=\"{OVER}\"") } else { String::new() };
        let mut water = String::new();
        for feature in self.site.of_kind(Kind::Water) {
            if let Shape::Area(polygons) = &feature.shape {
                polygons.iter().for_each(|rings| water.push_str(&view.rings(rings)));
            }
        }
        let ground = self.ground;
        let depth = spread(view.reduced(&ground.grid, |k| {
            if ground.cover[k] == Cover::Land { f64::NAN } else { ground.depth_m[k] }
        }));
        if water.is_empty() {
            // No shore was drawn: today's wet cells are the water.
            let wet = view.reduced(&ground.grid, |k| if ground.is_water(k) { 1.0 } else { 0.0 });
            water = view.rings(&outline::rings(&wet, 0.5));
        }
        page.define(&format!(
            "<clipPath id=\"water\"><path clip-rule=\"evenodd\" d=\"{water}\"/></clipPath>"
        ));
        let mut untrusted = Vec::new();
        // Bands lie upon each other: together they let the photo through, not one by one.
        page.open(&through);
        page.path(&water, &format!("fill=\"{}\" fill-rule=\"evenodd\"", ink.wade));
        if !water.is_empty() {
            page.open("clip-path=\"url(#water)\"");
            self.bands(page, &depth);
            page.close();
        }
        page.close();
        if !water.is_empty() {
            page.open("clip-path=\"url(#water)\"");
            untrusted = self.not_trusted(page);
            self.contours(page, labels, &depth);
            page.close();
        }
        let shore =
            format!("fill=\"none\" stroke=\"{}\" stroke-width=\"2.6\" stroke-linejoin=\"round\"", ink.ink);
        page.path(&water, &shore);
        untrusted
    }

    fn bands(&self, page: &mut Page, depth: &Field<f64>) {
        let limits = self.site.limits;
        let smooth = |level: f64| -> Vec<Vec<Spot>> {
            outline::rings(depth, level).iter().map(|r| outline::rounded(r)).collect()
        };
        for (level, colour) in [(limits.wade_depth_m, page.ink.dive), (limits.dive_depth_m, page.ink.deep)] {
            let d = self.view.rings(&smooth(level));
            page.path(&d, &format!("fill=\"{colour}\" fill-rule=\"evenodd\""));
        }
        let dry = Field {
            grid: depth.grid,
            values: depth.values.iter().map(|d| if *d <= 0.0 { 1.0 } else { 0.0 }).collect(),
        };
        let d = self.view.rings(&outline::rings(&dry, 0.5));
        let line = format!("stroke=\"{}\" stroke-width=\"1.5\" stroke-dasharray=\"2 4\"", page.ink.ink);
        page.path(&d, &format!("fill=\"{}\" fill-rule=\"evenodd\" {line}", page.ink.land));
    }

    /// Contours at round depths, and the wading and diving limits as stronger lines with their figure.
    fn contours(&self, page: &mut Page, labels: &mut Labels, depth: &Field<f64>) {
        let unit = if self.site.units == Units::Feet { FOOT_M } else { 1.0 };
        let deepest = depth.values.iter().copied().filter(|d| d.is_finite()).fold(0.0, f64::max);
        let most = if self.quiet { 5.0 } else { 9.0 };
        let step = [0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0]
            .into_iter()
            .find(|s| deepest / unit / s <= most)
            .unwrap_or(500.0);
        let limits = self.site.limits;
        let mut levels: Vec<(f64, bool)> = (1..=20)
            .map(|k| (f64::from(k) * step * unit, false))
            .filter(|(level, _)| *level < deepest)
            .collect();
        levels
            .retain(|(l, _)| [limits.wade_depth_m, limits.dive_depth_m].iter().all(|k| (l - k).abs() > 0.02));
        levels.extend([(limits.wade_depth_m, true), (limits.dive_depth_m, true)]);
        for (level, key) in levels {
            let mut rings: Vec<Vec<Spot>> =
                outline::rings(depth, level).iter().map(|r| outline::rounded(r)).collect();
            let (colour, width) = if key { (page.ink.iso_key, 2.0) } else { (page.ink.iso, 1.3) };
            let line = format!("fill=\"none\" stroke=\"{colour}\" stroke-width=\"{width}\"");
            page.path(&self.view.rings(&rings), &line);
            if !self.quiet || key {
                rings.sort_by(|a, b| outline::ring_area(b).abs().total_cmp(&outline::ring_area(a).abs()));
                let weight = if key { 800 } else { 500 };
                let set = Type::new(13.0, weight, page.ink.iso_key).halo(page.ink.dive);
                self.figure_on_line(page, labels, &rings, (set, &contour_text(level / unit)));
            }
        }
    }

    /// Writes a contour's figure on the first free place of its longest rings.
    fn figure_on_line(
        &self,
        page: &mut Page,
        labels: &mut Labels,
        rings: &[Vec<Spot>],
        (set, text): (Type, &str),
    ) {
        let size = (set.width(text) + 4.0, set.size * 1.1);
        for ring in rings.iter().take(3) {
            let stride = (ring.len() / 40).max(1);
            for spot in ring.iter().skip(ring.len() / 7).step_by(stride) {
                let wet = self.ground.grid.cell(*spot).is_some_and(|k| self.ground.is_water(k));
                let (x, y) = self.view.px(*spot);
                let room =
                    super::page::Rect { x: x - 0.5 * size.0, y: y - 0.5 * size.1, w: size.0, h: size.1 };
                if wet && labels.free(room) {
                    page.text((room.x + 2.0, room.y + set.size * 0.88), set, text);
                    return;
                }
            }
        }
    }

    /// Hatches water farther from a sounding than the register allows; gives its pieces, largest first.
    fn not_trusted(&self, page: &mut Page) -> Vec<Untrusted> {
        let (ground, far) = (self.ground, value("far_sounding_m"));
        if self.site.raster.is_some() && ground.to_sounding_m.iter().all(|d| !d.is_finite()) {
            return Vec::new();
        }
        let away = self.view.reduced(&ground.grid, |k| {
            if ground.is_water(k) { f64::from(ground.to_sounding_m[k]).min(1e6) } else { f64::NAN }
        });
        let rings: Vec<Vec<Spot>> = outline::rings(&away, far)
            .iter()
            .filter(|r| outline::ring_area(r).abs() >= SPECK_M2)
            .map(|r| outline::rounded(r))
            .collect();
        let d = self.view.rings(&rings);
        let edge = format!("stroke=\"{}\" stroke-width=\"1.6\" stroke-dasharray=\"1.5 4\"", page.ink.ink);
        page.path(&d, &format!("fill=\"url(#doubt)\" fill-rule=\"evenodd\" {edge}"));
        pieces(&away, far).into_iter().filter(|piece| piece.area_m2 >= SPECK_M2).collect()
    }

    /// Depth figures of soundings at today's stage, tenths small and low, thinned so that they stay legible.
    pub fn soundings(&self, page: &mut Page, labels: &mut Labels) {
        let fall = self.ground.stage_m - self.site.datum_stage_m;
        let size = 12.5;
        // One try in each square of 12: a million soundings cost no more than the picture has room.
        let f = self.view.frame;
        let (across, down) = ((f.w / 12.0) as usize + 1, (f.h / 12.0) as usize + 1);
        let mut tried = vec![false; across * down];
        for sounding in &self.site.soundings {
            let wet = self.ground.grid.cell(sounding.spot).is_some_and(|k| self.ground.is_water(k));
            if !wet || !self.view.holds(sounding.spot) {
                continue;
            }
            let depth = sounding.depth_m + fall;
            let (x, y) = self.view.px(sounding.spot);
            let square = ((y - f.y) / 12.0) as usize * across + ((x - f.x) / 12.0) as usize;
            if std::mem::replace(&mut tried[square], true) {
                continue;
            }
            let room = super::page::Rect { x: x - 11.0, y: y - 9.0, w: 24.0, h: 18.0 };
            if !depth.is_finite() || !labels.free(room.grown(4.0)) {
                continue;
            }
            let (whole, tenths) = sounding_text(depth, self.site.units);
            let set = Type::new(size, 500, page.ink.ink);
            let small = Type::new(size * 0.74, 500, page.ink.ink);
            let left = x - 0.5 * (set.width(&whole) + small.width(&tenths));
            page.text((left, y + 4.0), set, &whole);
            if !tenths.is_empty() {
                page.text((left + set.width(&whole) + 0.3, y + 7.0), small, &tenths);
            }
        }
    }
}

/// Fills cells without a number from their neighbours, six cells far, so that contours run on to the shore.
fn spread(mut field: Field<f64>) -> Field<f64> {
    let (cols, rows) = (field.grid.cols as i64, field.grid.rows as i64);
    for _ in 0..6 {
        let before = field.values.clone();
        for k in 0..before.len() {
            if before[k].is_finite() {
                continue;
            }
            let (col, row) = (k as i64 % cols, k as i64 / cols);
            let (mut sum, mut count) = (0.0, 0.0);
            for (dc, dr) in [(-1, 0), (1, 0), (0, -1), (0, 1), (-1, -1), (1, -1), (-1, 1), (1, 1)] {
                let (c, r) = (col + dc, row + dr);
                if c >= 0 && r >= 0 && c < cols && r < rows {
                    let v = before[(r * cols + c) as usize];
                    if v.is_finite() {
                        sum += v;
                        count += 1.0;
                    }
                }
            }
            if count > 0.0 {
                field.values[k] = sum / count;
            }
        }
    }
    field
}

/// The cell of a piece nearest to its middle.
fn innermost(away: &Field<f64>, cells: &[usize]) -> Spot {
    let sum = cells.iter().fold(Spot::default(), |sum, &k| sum + away.grid.centre(k));
    let middle = sum * (1.0 / cells.len().max(1) as f64);
    let places = cells.iter().map(|&k| away.grid.centre(k));
    places.min_by(|a, b| a.distance(middle).total_cmp(&b.distance(middle))).unwrap_or(middle)
}

/// Connected pieces where the field is at or above `far`, largest first.
fn pieces(away: &Field<f64>, far: f64) -> Vec<Untrusted> {
    let (cols, all) = (away.grid.cols, away.values.len());
    let mut seen = vec![false; all];
    let mut found = Vec::new();
    for start in 0..all {
        if seen[start] || away.values[start].is_nan() || away.values[start] < far {
            continue;
        }
        let (mut cells, mut farthest, mut stack) = (Vec::new(), start, vec![start]);
        seen[start] = true;
        while let Some(k) = stack.pop() {
            cells.push(k);
            if away.values[k] > away.values[farthest] {
                farthest = k;
            }
            let (col, row) = (k % cols, k / cols);
            let beside = [
                (col > 0).then(|| k - 1),
                (col + 1 < cols).then(|| k + 1),
                (row > 0).then(|| k - cols),
                (row + 1 < away.grid.rows).then(|| k + cols),
            ];
            for next in beside.into_iter().flatten() {
                if !seen[next] && away.values[next] >= far {
                    seen[next] = true;
                    stack.push(next);
                }
            }
        }
        let far_m = away.values[farthest];
        found.push(Untrusted {
            spot: innermost(away, &cells),
            area_m2: cells.len() as f64 * away.grid.cell_area_m2(),
            far_m: if far_m >= 1e6 { f64::INFINITY } else { far_m },
        });
    }
    found.sort_by(|a, b| b.area_m2.total_cmp(&a.area_m2));
    found
}
