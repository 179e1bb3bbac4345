//! Bathing areas in numbers: how late at the worst place, in the middle, and how much lies beyond the site's limit.

use super::arrivals::Reach;
use super::back::WayBack;
use super::march::Footing;
use measure::Spot;
use serde::Serialize;
use water::{Kind, Shape, Site};

/// One piece of water with a name.
#[derive(Clone, Debug, PartialEq)]
pub struct Zone {
    /// Name; the site's water where no bathing area is drawn.
    pub name: String,
    /// Its cells of open water.
    pub cells: Vec<usize>,
}

/// Arrival over a zone.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ZoneReach {
    /// Name.
    pub zone: String,
    /// Open water in it \[m²\].
    pub area_m2: f64,
    /// Half of it is reached within this \[s\]; none where less than half is reached at all.
    pub median_s: Option<f64>,
    /// The worst place that is reached at all \[s\].
    pub worst_s: Option<f64>,
    /// Where that is.
    pub worst_at: Option<Spot>,
    /// Share beyond the site's limit, what nobody reaches included.
    pub beyond_share: f64,
    /// Share that nobody reaches: the current denies it, or it is closed.
    pub denied_share: f64,
    /// Longest way back from a place of the zone to a landing \[s\].
    pub back_worst_s: Option<f64>,
    /// Share from which no landing can be made.
    pub no_landing_share: f64,
}

/// The bathing areas of a site as cells of a reach; one zone of all water where none is drawn.
pub fn zones(reach: &Reach, site: &Site) -> Vec<Zone> {
    let terrain = &reach.terrain;
    let open = |cell: &usize| terrain.footing[*cell] == Footing::Water;
    let mut all = Vec::new();
    for (number, feature) in site.of_kind(Kind::BathingArea).enumerate() {
        let Shape::Area(polygons) = &feature.shape else { continue };
        let mut cells: Vec<usize> = terrain.grid.cells_inside(polygons).into_iter().filter(open).collect();
        cells.sort_unstable();
        cells.dedup();
        let name =
            if feature.name.is_empty() { format!("area {}", number + 1) } else { feature.name.clone() };
        all.push(Zone { name, cells });
    }
    if all.is_empty() {
        let cells = (0..terrain.grid.len()).filter(open).collect();
        all.push(Zone { name: "all water".into(), cells });
    }
    all
}

/// Arrival over a zone, from times in every cell. Model `reach`, docs/models/reach.md.
///
/// # Inputs
/// - `reach`, `zone` · `times`: arrival in every cell \[s\], of one post or of all · `back`: the way back, if wanted
/// - `limit_s`: the site's limit
///
/// # Gives
/// Worst, median and shares; every cell weighs the same.
///
/// # Source
/// order statistics, by definition
pub fn over_zone(
    reach: &Reach,
    zone: &Zone,
    (times, back): (&[f32], Option<&WayBack>),
    limit_s: f64,
) -> ZoneReach {
    let count = zone.cells.len();
    let share = |n: usize| if count == 0 { 0.0 } else { n as f64 / count as f64 };
    let mut reached: Vec<usize> = zone.cells.iter().copied().filter(|&c| times[c].is_finite()).collect();
    reached.sort_by(|&a, &b| times[a].total_cmp(&times[b]).then(a.cmp(&b)));
    let worst = reached.last().copied();
    let beyond = zone.cells.iter().filter(|&&c| f64::from(times[c]) > limit_s).count();
    let landing = |cell: &usize| back.map(|b| b.landing_s[*cell]);
    let landed: Vec<f32> = zone.cells.iter().filter_map(landing).collect();
    let longest = landed.iter().copied().filter(|s| s.is_finite()).max_by(f32::total_cmp);
    ZoneReach {
        zone: zone.name.clone(),
        area_m2: count as f64 * reach.terrain.grid.cell_area_m2(),
        median_s: reached.get(count.saturating_sub(1) / 2).map(|&c| f64::from(times[c])),
        worst_s: worst.map(|c| f64::from(times[c])),
        worst_at: worst.map(|c| reach.terrain.grid.centre(c)),
        beyond_share: share(beyond),
        denied_share: share(count - reached.len()),
        back_worst_s: longest.map(f64::from),
        no_landing_share: share(landed.iter().filter(|s| s.is_infinite()).count()),
    }
}
