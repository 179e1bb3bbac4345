//! A depth raster of a file, drawn anew on square metric cells of the site as depth below datum.

use crate::door::outline;
use crate::door::projection::Projection;
use crate::door::settings::{Format, Source, Values};
use crate::door::soundings::{Datum, format_of};
use crate::formats::raster::{self, Raster};
use crate::problem::{At, Report};
use crate::{Field, Grid, Hypsography};
use measure::Spot;
use measure::parameters::value;

/// Reads a raster file; `world` is the georeference beside a GeoTIFF, if there is one.
fn read_raster(format: Format, bytes: &[u8], world: Option<&[u8]>) -> Result<Raster, String> {
    match format {
        Format::EsriAscii => raster::esri_ascii(bytes),
        _ => raster::geotiff(bytes, world),
    }
}

/// Reads a raster and draws it on the site's cells.
pub(crate) fn read(
    source: &Source,
    (bytes, world): (&[u8], Option<&[u8]>),
    (projection, datum_stage_m): (&Projection, f64),
    water: &Vec<Vec<Vec<Spot>>>,
    report: &mut Report,
) -> Option<Drawn> {
    let format = format_of(source)?;
    let raster = match read_raster(format, bytes, world) {
        Ok(raster) => raster,
        Err(why) => {
            report.fatal("W320", At::file(), why, "export the raster again as Esri ASCII or GeoTIFF");
            return None;
        }
    };
    if !raster.values.iter().any(|v| v.is_finite()) {
        report.fatal("W321", At::file(), "has no cell with a value", "look at its no-data value");
        return None;
    }
    let datum = Datum::of(source, Values::Depth, datum_stage_m);
    let finite = || raster.values.iter().filter(|v| v.is_finite());
    let (below, above) = (finite().filter(|v| **v < 0.0).count(), finite().filter(|v| **v > 0.0).count());
    let upside_down = match datum.values {
        Values::Depth => below > above,
        Values::ElevationBelowSurface => above > below,
        Values::Level => false,
    };
    if upside_down {
        let what = format!("most values have the wrong sign: {} of {}", below.max(above), finite().count());
        let remedy = "write values = \"depth\", \"elevation_below_surface\", or \"level\" with water_level_m";
        report.fatal("W305", At::file(), what, remedy);
        return None;
    }
    let grid = site_grid(&raster, projection, report)?;
    let own = own_cells(&raster, (projection, &datum), water);
    Some(Drawn { field: draw(&raster, (projection, &datum), grid, report), own })
}

/// A raster on the site's cells, and its own cells for area and volume.
pub(crate) struct Drawn {
    /// Depth below datum on site cells.
    pub field: Field<f64>,
    /// The file's own cells, where they are square metres.
    pub own: Option<Hypsography>,
}

/// The file's own cells that lie in the water of the map (all of them where it has none), as depths below
/// datum; `None` where a unit of the file is not a metre on the ground, to half a per cent.
fn own_cells(
    raster: &Raster,
    (projection, datum): (&Projection, &Datum),
    water: &Vec<Vec<Vec<Spot>>>,
) -> Option<Hypsography> {
    let place =
        |col: f64, row: f64| (raster.west + col * raster.cell[0], raster.south + row * raster.cell[1]);
    let site = |(x, y): (f64, f64)| projection.to_site(x, y);
    let (col, row) = (0.5 * raster.cols as f64, 0.5 * raster.rows as f64);
    let middle = site(place(col, row))?;
    let east = site(place(col + 1.0, row))?.distance(middle) / raster.cell[0];
    let north = site(place(col, row + 1.0))?.distance(middle) / raster.cell[1];
    if projection.in_degrees() || (east - 1.0).abs() > 0.005 || (north - 1.0).abs() > 0.005 {
        return None;
    }
    let inside = |n: usize| {
        let (col, row) = ((n % raster.cols) as f64 + 0.5, (n / raster.cols) as f64 + 0.5);
        water.is_empty() || site(place(col, row)).is_some_and(|spot| outline::distance(water, spot) == 0.0)
    };
    let known = (0..raster.values.len()).filter(|n| raster.values[*n].is_finite() && inside(*n));
    let values: Vec<f64> = known.map(|n| raster.values[n]).collect();
    let area_m2 = raster.cell[0] * raster.cell[1];
    Some(match datum.values {
        // A level is a fixed height less the depth: the height that has depth zero.
        Values::Level => Hypsography::of_levels(area_m2, values.into_iter(), datum.depth_m(0.0)),
        _ => Hypsography::of_depths(area_m2, values.into_iter().map(|value| datum.depth_m(value))),
    })
}

/// Square cells over the raster, no coarser than it unless that would be too many.
fn site_grid(raster: &Raster, projection: &Projection, report: &mut Report) -> Option<Grid> {
    let edge = |t: f64, n: usize| t * n as f64;
    let mut spots = Vec::new();
    for n in 0..=20 {
        let t = f64::from(n) / 20.0;
        let (x, y) = (edge(raster.cell[0], raster.cols), edge(raster.cell[1], raster.rows));
        for (dx, dy) in [(t * x, 0.0), (t * x, y), (0.0, t * y), (x, t * y)] {
            spots.push(projection.to_site(raster.west + dx, raster.south + dy));
        }
    }
    let reach = value("site_reach_m");
    let spots: Option<Vec<Spot>> = spots.into_iter().collect();
    let Some(spots) = spots.filter(|spots| spots.iter().all(|s| s.length() <= 2.0 * reach)) else {
        let what = format!("does not lie within {:.0} km of the site's origin", 2.0 * reach / 1000.0);
        let remedy =
            "write the raster's epsg code in site.toml, look at origin, or cut the raster to the site";
        report.fatal("W322", At::file(), what, remedy);
        return None;
    };
    let fold =
        |pick: fn(f64, f64) -> f64, of: fn(&Spot) -> f64| spots.iter().map(of).reduce(pick).unwrap_or(0.0);
    let low = Spot::new(fold(f64::min, |s| s.east), fold(f64::min, |s| s.north));
    let high = Spot::new(fold(f64::max, |s| s.east), fold(f64::max, |s| s.north));
    let (x, y) = (
        raster.west + 0.5 * edge(raster.cell[0], raster.cols),
        raster.south + 0.5 * edge(raster.cell[1], raster.rows),
    );
    let middle = projection.to_site(x, y)?;
    let east = projection.to_site(x + raster.cell[0], y)?.distance(middle);
    let north = projection.to_site(x, y + raster.cell[1])?.distance(middle);
    let span = high - low;
    let own = east.min(north);
    let most = value("cells_most");
    let least = (span.east * span.north / most).sqrt().max(span.east / most).max(span.north / most);
    let cell_m = own.max(least);
    if !(cell_m > 0.0 && cell_m.is_finite()) {
        report.fatal("W322", At::file(), "has cells of no size", "look at its georeference");
        return None;
    }
    if cell_m > own * 1.001 {
        let what =
            format!("has cells of {own:.2} m, more than {most:.0} over the site: drawn at {cell_m:.2} m");
        report.note("W323", At::file(), what, "cut the raster to the water, or make it coarser");
    }
    let cells = |metres: f64| (metres / cell_m).ceil().max(1.0) as usize;
    Some(Grid { corner: low, cell_m, cols: cells(span.east), rows: cells(span.north) })
}

fn draw(
    raster: &Raster,
    (projection, datum): (&Projection, &Datum),
    grid: Grid,
    report: &mut Report,
) -> Field<f64> {
    let deepest = value("sounding_deepest_m");
    let about = raster.west + 0.5 * raster.cell[0] * raster.cols as f64;
    let mut absurd = 0usize;
    let values = (0..grid.len())
        .map(|n| {
            let depth = projection
                .to_file(grid.centre(n), about)
                .map_or(f64::NAN, |(x, y)| datum.depth_m(bilinear(raster, x, y)));
            if depth.abs() > deepest {
                absurd += 1;
                return f64::NAN;
            }
            depth
        })
        .collect();
    if absurd > 0 {
        let what = format!("{absurd} cells have depths beyond {deepest:.0} m, not used");
        report.note("W307", At::file(), what, "look at the unit (metres) and at the no-data value");
    }
    Field { grid, values }
}

/// The value at a place between the middles of cells; a cell without value takes no part, and has none itself.
fn bilinear(raster: &Raster, x: f64, y: f64) -> f64 {
    let (u, v) = ((x - raster.west) / raster.cell[0], (y - raster.south) / raster.cell[1]);
    if !(u >= 0.0 && v >= 0.0 && u < raster.cols as f64 && v < raster.rows as f64) {
        return f64::NAN;
    }
    let at = |col: usize, row: usize| raster.values[row * raster.cols + col];
    if at(u as usize, v as usize).is_nan() {
        return f64::NAN;
    }
    let split = |w: f64, count: usize| {
        let w = (w - 0.5).clamp(0.0, (count - 1) as f64);
        let low = (w as usize).min(count - 1);
        (low, (low + 1).min(count - 1), w - low as f64)
    };
    let ((c0, c1, s), (r0, r1, t)) = (split(u, raster.cols), split(v, raster.rows));
    let corners = [
        (at(c0, r0), (1.0 - s) * (1.0 - t)),
        (at(c1, r0), s * (1.0 - t)),
        (at(c0, r1), (1.0 - s) * t),
        (at(c1, r1), s * t),
    ];
    let known = corners.iter().filter(|(value, _)| value.is_finite());
    let (sum, weight) = known.fold((0.0, 0.0), |(sum, weight), (value, w)| (sum + value * w, weight + w));
    if weight > 0.0 { sum / weight } else { at(u as usize, v as usize) }
}

/// Places of a raster that are wet, for an outline where the map has none.
pub(crate) fn wet_places(field: &Field<f64>) -> Vec<Spot> {
    (0..field.grid.len()).filter(|n| field.values[*n] > 0.0).map(|n| field.grid.centre(n)).collect()
}

/// Whether any wet cell lies in the water.
pub(crate) fn meets(field: &Field<f64>, water: &Vec<Vec<Vec<Spot>>>) -> bool {
    let wet = wet_places(field);
    // A few thousand places over the whole raster are enough to notice one that lies elsewhere.
    let step = 1 + wet.len() / 4000;
    wet.iter().step_by(step).any(|spot| outline::distance(water, *spot) == 0.0)
}
