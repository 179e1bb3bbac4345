//! From where trouble began to where they lie: carried at the surface, sunk, scattered, perhaps moved along the bed (models B3 to B5).

use super::Currents;
use super::basin::{Basin, Bottom};
use super::sink::{LANES, Lanes, Row};
use super::surface::{BLOCK, Starts};
use crate::Setting;
use crate::physics;
use measure::chance::{Seed, Stream};
use measure::{Spot, fastmath, parameters::value};
use rayon::prelude::*;
use water::{Flow, Salinity};

/// Steps of sinking.
const SINK_STEPS: u32 = 20;
/// Steps of drift at the surface.
const DRIFT_STEPS: u32 = 8;
/// Steps of sliding along the bed.
const SLIDE_STEPS: u32 = 24;
/// Every so many particles one is kept as a drifter, but no more than this many drifters.
const MOST_DRIFTERS: usize = 4096;

/// Where they came to rest, one entry a particle, in the order of the starts.
#[derive(Clone, Debug, Default)]
pub struct Fates {
    /// Place on the bottom.
    pub spot: Vec<Spot>,
    /// Moment of coming to rest \[s since the alarm\].
    pub rest_s: Vec<f32>,
    /// Surface current that carried them \[m/s\], for widening down-current.
    pub current: Vec<Spot>,
}

/// Somebody who floats: where they were when they stopped swimming, and how they go on from there.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Drifter {
    /// Place.
    pub spot: Spot,
    /// From when the water carries them \[s since the alarm\].
    pub from_s: f64,
    /// Velocity at the surface \[m/s\].
    pub velocity: Spot,
}

/// What moves them, looked up once.
struct Forces<'a> {
    basin: &'a Basin,
    currents: &'a Currents,
    /// Surface velocity per share of leeway \[m/s\].
    wind: Spot,
    leeway: f64,
    leeway_spread: f64,
    sink_log_median: f64,
    sink_log_sd: f64,
    scatter: f64,
    bed_height_m: f64,
    /// Holding speed for a drag area of one square metre \[m/s\].
    hold_mps: f64,
    drag_area_m2: (f64, f64),
    catch_s: f64,
}

impl<'a> Forces<'a> {
    fn new(basin: &'a Basin, (setting, currents): (&Setting, &'a Currents)) -> Self {
        let (fresh, salt) = (value("density_fresh_kgm3"), value("density_salt_kgm3"));
        let density = match setting.site.salinity {
            Salinity::Fresh => fresh,
            Salinity::Brackish => 0.5 * (fresh + salt),
            Salinity::Salt => salt,
        };
        let area = measure::parameters::parameter("bed_drag_area_m2");
        let wind_mps = Some(setting.day.wind_mps).filter(|w| w.is_finite()).unwrap_or(0.0);
        let from = setting.day.wind_from;
        Forces {
            basin,
            currents,
            wind: if from.degrees().is_finite() {
                Spot::towards(from.reversed(), wind_mps)
            } else {
                Spot::default()
            },
            leeway: value("leeway_share"),
            leeway_spread: value("leeway_spread_share"),
            sink_log_median: libm::log(value("sink_median_mps")),
            sink_log_sd: value("sink_log_sd"),
            scatter: value("sink_scatter_share"),
            bed_height_m: value("bed_height_m"),
            hold_mps: physics::holding_speed(density) * value("bed_drag_area_m2").sqrt(),
            drag_area_m2: (area.low, area.high),
            catch_s: value("bed_catch_s"),
        }
    }

    /// Share of the wind that drives a particle.
    #[inline(always)]
    fn leeway(&self, chance: f64) -> f64 {
        (self.leeway + self.leeway_spread * chance).max(0.0)
    }
}

/// Surface current at a place with a particle's own share of its doubt \[m/s\].
#[inline(always)]
fn current_at(flow: &Flow, spot: Spot, (first, second): (f64, f64)) -> Spot {
    let [ee, en, nn] = flow.covariance_at(spot);
    let a = ee.max(0.0).sqrt();
    let b = if a > 0.0 { en / a } else { 0.0 };
    let c = (nn - b * b).max(0.0).sqrt();
    let current = flow.at(spot) + Spot::new(a * first, b * first + c * second);
    if current.is_finite() { current } else { Spot::default() }
}

/// Where everybody comes to rest.
///
/// # Inputs
/// - `basin` · `water`: wind, salt; currents by time · `starts` · `seed`
///
/// # Gives
/// One fate a start, the same on any number of threads.
///
/// # Source
/// `physics` for the scalar forms; profile, scatter and speeds of the register
pub fn fates(basin: &Basin, water: (&Setting, &Currents), starts: &Starts, seed: Seed) -> Fates {
    let forces = Forces::new(basin, water);
    let streams = Streams::new(seed);
    let count = starts.spot.len();
    let blocks: Vec<Fates> = (0..count.div_ceil(BLOCK))
        .into_par_iter()
        .map(|block| {
            let end = ((block + 1) * BLOCK).min(count);
            fastmath::wide(
                #[inline(always)]
                || block_fates(&forces, &streams, starts, block * BLOCK..end),
            )
        })
        .collect();
    let mut all = Fates::default();
    for block in &blocks {
        all.spot.extend_from_slice(&block.spot);
        all.rest_s.extend_from_slice(&block.rest_s);
        all.current.extend_from_slice(&block.current);
    }
    all
}

/// The drifters among the starts: the same persons, with the same currents, if they float instead.
pub fn drifters(basin: &Basin, water: (&Setting, &Currents), starts: &Starts, seed: Seed) -> Vec<Drifter> {
    let forces = Forces::new(basin, water);
    let streams = Streams::new(seed);
    let every = starts.spot.len().div_ceil(MOST_DRIFTERS).max(1);
    (0..starts.spot.len())
        .step_by(every)
        .map(|i| {
            let (spot, k) = (starts.spot[i], i as u64);
            let chance = streams.current.normal_pair(2 * k);
            let (leeway, _) = streams.leeway.normal_pair(2 * k);
            let wind = forces.wind * forces.leeway(leeway);
            // Carried by what each current made of them until the next was timed; the newest carries on.
            let mut drifter =
                Drifter { spot, from_s: starts.under_s[i] - starts.carried_s[i], velocity: Spot::default() };
            for (begins_s, ends_s, flow) in forces.currents.spans() {
                if begins_s > drifter.from_s {
                    drifter.spot = drifter.spot + drifter.velocity * (begins_s - drifter.from_s);
                    drifter.from_s = begins_s;
                }
                if ends_s > drifter.from_s {
                    drifter.velocity = current_at(flow, drifter.spot, chance) + wind;
                }
            }
            drifter
        })
        .collect()
}

/// Purposes of chance, by particle.
struct Streams {
    current: Stream,
    leeway: Stream,
    sink: Stream,
    scatter: Stream,
    bed: Stream,
}

impl Streams {
    fn new(seed: Seed) -> Self {
        Streams {
            current: seed.stream("current"),
            leeway: seed.stream("leeway"),
            sink: seed.stream("sink"),
            scatter: seed.stream("scatter"),
            bed: seed.stream("bed"),
        }
    }
}

/// Normals 2i and 2i+1 of a stream for a row of particles.
#[inline(always)]
fn normals(stream: Stream, first: usize) -> (Row, Row) {
    let (mut a, mut b) = ([0.0; LANES], [0.0; LANES]);
    for j in 0..LANES {
        let counter = 2 * (first + j) as u64;
        (a[j], b[j]) = fastmath::normal_pair(stream.u01(counter), stream.u01(counter + 1));
    }
    (a, b)
}

#[inline(always)]
fn block_fates(forces: &Forces, streams: &Streams, starts: &Starts, range: std::ops::Range<usize>) -> Fates {
    let mut fates = Fates::default();
    let mut first = range.start;
    while first < range.end {
        let filled = (range.end - first).min(LANES);
        row_fates(forces, streams, starts, first, filled, &mut fates);
        first += LANES;
    }
    fates
}

/// What is its own of each body of a row at the surface: shares of the doubt of the current, and of the leeway.
struct Chance {
    along: Row,
    across: Row,
    leeway: Row,
}

/// Carries a row of bodies from where trouble began to where they go under, and leaves the current that they sink in.
#[inline(always)]
fn drift_all(
    forces: &Forces,
    chance: &Chance,
    (starts, first, filled): (&Starts, usize, usize),
    lanes: &mut Lanes,
) {
    let start = |j: usize| first + j.min(filled - 1);
    let mut seconds = [0.0; LANES];
    if let Some(flow) = forces.currents.only() {
        for j in 0..LANES {
            seconds[j] = starts.carried_s[start(j)];
        }
        drift_in(forces, chance, (flow, &seconds), lanes);
        return;
    }
    for (begins_s, ends_s, flow) in forces.currents.spans() {
        for j in 0..LANES {
            let (under_s, carried_s) = (starts.under_s[start(j)], starts.carried_s[start(j)]);
            let from_s = under_s - carried_s;
            // Whoever one current carried all the way is where that current alone would have brought them, to the bit.
            let whole = begins_s <= from_s && under_s <= ends_s;
            let part_s = (under_s.min(ends_s) - from_s.max(begins_s)).max(0.0);
            seconds[j] = if whole { carried_s } else { part_s };
        }
        if seconds.iter().any(|s| *s > 0.0) {
            drift_in(forces, chance, (flow, &seconds), lanes);
        }
    }
    // They sink in the current of the moment they go under.
    for j in 0..LANES {
        let spot = Spot::new(lanes.east[j], lanes.north[j]);
        let flow = forces.currents.at(starts.under_s[start(j)]);
        let current = current_at(flow, spot, (chance.along[j], chance.across[j]));
        (lanes.current_east[j], lanes.current_north[j]) = (current.east, current.north);
    }
}

/// Drifts every body of a row for its own time in one current.
#[inline(always)]
fn drift_in(forces: &Forces, chance: &Chance, (flow, seconds): (&Flow, &Row), lanes: &mut Lanes) {
    let mut part = |seconds: &Row, steps: u32| {
        let (mut way_east, mut way_north) = ([0.0; LANES], [0.0; LANES]);
        for j in 0..LANES {
            let spot = Spot::new(lanes.east[j], lanes.north[j]);
            let current = current_at(flow, spot, (chance.along[j], chance.across[j]));
            (lanes.current_east[j], lanes.current_north[j]) = (current.east, current.north);
            let way = (current + forces.wind * forces.leeway(chance.leeway[j])) * seconds[j];
            (way_east[j], way_north[j]) = (way.east, way.north);
        }
        lanes.carry(forces.basin, &way_east, &way_north, steps);
    };
    match flow {
        Flow::Field { .. } => {
            // The current changes on the way: half with the current at the start, half with that at the middle.
            let half = seconds.map(|s| 0.5 * s);
            part(&half, DRIFT_STEPS / 2);
            part(&half, DRIFT_STEPS / 2);
        }
        Flow::Still | Flow::Uniform { .. } => part(seconds, DRIFT_STEPS),
    }
}

/// One row of bodies, of which the first `filled` count.
#[inline(always)]
fn row_fates(
    forces: &Forces,
    streams: &Streams,
    starts: &Starts,
    first: usize,
    filled: usize,
    fates: &mut Fates,
) {
    let mut lanes = Lanes::default();
    // A row that is not full repeats its last body.
    let start = |j: usize| first + j.min(filled - 1);
    let (along, across) = normals(streams.current, first);
    let (leeway, _) = normals(streams.leeway, first);
    let (speed, _) = normals(streams.sink, first);
    let (right, up) = normals(streams.scatter, first);
    for j in 0..LANES {
        lanes.slowness[j] = fastmath::exp(-(forces.sink_log_median + forces.sink_log_sd * speed[j]));
    }
    for j in 0..LANES {
        let spot = starts.spot[start(j)];
        (lanes.east[j], lanes.north[j]) = (spot.east, spot.north);
    }
    let chance = Chance { along, across, leeway };
    drift_all(forces, &chance, (starts, first, filled), &mut lanes);
    let sunk_m = lanes.sink(forces.basin, SINK_STEPS);
    lanes.scatter(forces.basin, forces.scatter, &right, &up);
    let mut depth_m = [0.0; LANES];
    forces.basin.depths(&lanes.east, &lanes.north, &mut depth_m);
    for j in 0..filled {
        let current = Spot::new(lanes.current_east[j], lanes.current_north[j]);
        let landed = Spot::new(lanes.east[j], lanes.north[j]);
        let landed_s = starts.under_s[first + j] + sunk_m[j] * lanes.slowness[j];
        let u = |k: u64| streams.bed.u01(2 * (first + j) as u64 + k);
        let (spot, slid_s) = slide(forces, landed, current, depth_m[j], [u(0), u(1)]);
        fates.spot.push(spot);
        fates.rest_s.push((landed_s + slid_s) as f32);
        fates.current.push(current);
    }
}

/// Where a body on the bed comes to lie, and after how long \[s\] (models B5).
///
/// It slides with what the current at the body exceeds the holding speed by, until the current is
/// weaker, something catches it, or the shore stops it.
fn slide(forces: &Forces, landed: Spot, current: Spot, depth_m: f64, u: [f64; 2]) -> (Spot, f64) {
    let (low, high) = forces.drag_area_m2;
    let hold_mps = forces.hold_mps / (low + (high - low) * u[0]).sqrt();
    let surface_mps = current.length();
    let excess = |depth_m: f64| {
        let share = if depth_m > forces.bed_height_m {
            fastmath::seventh_root(forces.bed_height_m / depth_m)
        } else {
            1.0
        };
        surface_mps * share - hold_mps
    };
    // Most never move: the surface current itself would have to beat the holding speed.
    if surface_mps <= hold_mps || excess(depth_m) <= 0.0 {
        return (landed, 0.0);
    }
    let step_s = -forces.catch_s * fastmath::ln(1.0 - u[1]) / f64::from(SLIDE_STEPS);
    let direction = current * (1.0 / surface_mps);
    let (mut spot, mut seconds) = (landed, 0.0);
    for _ in 0..SLIDE_STEPS {
        let mps = excess(forces.basin.depth(spot));
        let next = spot + direction * (mps * step_s);
        if mps <= 0.0 || !forces.basin.is_water(next) {
            break;
        }
        spot = next;
        seconds += step_s;
    }
    (spot, seconds)
}
