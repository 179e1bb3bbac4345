//! What one sighting says of a place: a density over the water that can be drawn from and asked (models B2).

use super::basin::{Basin, Bottom};
use crate::alarm::{Seen, Sighting, WitnessClass};
use crate::sighting::true_range;
use measure::chance::Stream;
use measure::{Bearing, Spot, fastmath, parameters::value};
use std::f64::consts::TAU;

/// Places one sighting leaves open.
#[derive(Clone, Debug)]
pub enum Testimony {
    /// Round a point, normal with this standard error per axis \[m\].
    Round {
        /// Middle.
        spot: Spot,
        /// Standard error per axis \[m\].
        sigma_m: f64,
    },
    /// Round a bearing and a distance from a stand.
    Wedge {
        /// Where the witness stood.
        stood: Spot,
        /// Direction.
        bearing: Bearing,
        /// Standard error \[turns\].
        sigma_turns: f64,
        /// True distance expected \[m\].
        range_m: f64,
        /// Its standard error \[m\].
        range_sigma_m: f64,
    },
    /// Along a bearing, anywhere in the water.
    Ray {
        /// Where the witness stood.
        stood: Spot,
        /// Direction.
        bearing: Bearing,
        /// Standard error \[turns\].
        sigma_turns: f64,
        /// Water near the line.
        cells: CellTable,
    },
    /// Anywhere in an area of water.
    Within(CellTable),
}

/// Cells with weights: a place is drawn by cell, then evenly within it.
#[derive(Clone, Debug)]
pub struct CellTable {
    /// Indices into the grid, rising.
    cells: Vec<u32>,
    /// Running sum of the weights.
    sums: Vec<f64>,
}

impl CellTable {
    /// The cells with a weight above zero.
    pub fn new(cells: &[u32], weight: impl Fn(u32) -> f64) -> Self {
        let mut table = CellTable { cells: Vec::new(), sums: Vec::new() };
        let mut sum = 0.0;
        for &cell in cells {
            let w = weight(cell);
            if w > 0.0 {
                sum += w;
                table.cells.push(cell);
                table.sums.push(sum);
            }
        }
        table
    }

    /// Whether there is no cell.
    pub fn is_empty(&self) -> bool {
        self.cells.is_empty()
    }

    fn total(&self) -> f64 {
        self.sums.last().copied().unwrap_or(0.0)
    }

    /// A place: cell by `u`, then by `east` and `north` within the cell, each in \[0, 1).
    pub fn draw(&self, basin: &Basin, u: f64, east: f64, north: f64) -> Spot {
        let at = self.sums.partition_point(|&sum| sum <= u * self.total()).min(self.cells.len() - 1);
        let cell_m = basin.grid.cell_m;
        basin.grid.centre(self.cells[at] as usize) + Spot::new((east - 0.5) * cell_m, (north - 0.5) * cell_m)
    }

    fn holds(&self, cell: usize) -> bool {
        self.cells.binary_search(&(cell as u32)).is_ok()
    }
}

/// Counters one draw may use.
pub const DRAW_COUNTERS: u64 = 18;

impl Testimony {
    /// What `sighting` says, in this water; doubts go to `notes`.
    ///
    /// # Inputs
    /// - `sighting`: as told · `basin`: today's water, not empty
    ///
    /// # Gives
    /// The places left open; `None` if it says nothing that can be used. A place on land is moved to the nearest water.
    ///
    /// # Source
    /// assumed and common practice: register entries `tap_sigma_*`, `bearing_sigma_*`, `range_*`
    pub fn new(sighting: &Sighting, basin: &Basin, notes: &mut Vec<String>) -> Option<Self> {
        let by = &sighting.by;
        match &sighting.seen {
            Seen::Point { spot, error_m, stood } => {
                let doubt_m = error_m.filter(|e| e.is_finite()).unwrap_or(0.0);
                let wet = usable((*spot, doubt_m), by, basin, notes)?;
                let distance = match stood {
                    Some(stand) if stand.is_finite() => stand.distance(*spot),
                    _ => basin.to_shore_m(wet),
                };
                let by_register = value("tap_sigma_floor_m").max(value("tap_sigma_share") * distance);
                let sigma_m = error_m.filter(|e| e.is_finite() && *e >= 0.0).unwrap_or(by_register).max(0.5);
                Some(Testimony::Round { spot: wet, sigma_m })
            }
            Seen::Bearing { stood, bearing, error_deg, range_m, by_mark } => {
                if !stood.is_finite() || !bearing.degrees().is_finite() {
                    notes.push(format!("{by}: the bearing or the stand is not a number; not used"));
                    return None;
                }
                let by_class = value(match sighting.class {
                    WitnessClass::Guard => "bearing_sigma_stand_deg",
                    WitnessClass::Companion | WitnessClass::Distant => "bearing_sigma_witness_deg",
                });
                let error = error_deg.filter(|e| e.is_finite() && *e > 0.0).unwrap_or(by_class);
                let sight =
                    Sight { by, stood: *stood, bearing: *bearing, sigma_turns: error.max(0.2) / 360.0 };
                match range_m.filter(|r| r.is_finite() && *r > 0.0) {
                    Some(stated_m) => sight.at_range(stated_m, *by_mark, basin, notes),
                    None => sight.anywhere_along(basin, notes),
                }
            }
            Seen::Area { name, rings } => in_area(by, name, rings, basin, notes),
        }
    }

    /// The same, weakened: its density raised to `exponent` (witnesses who talked).
    pub fn tempered(&self, exponent: f64) -> Self {
        let wider = 1.0 / exponent.max(0.01).sqrt();
        let mut weak = self.clone();
        match &mut weak {
            Testimony::Round { sigma_m, .. } => *sigma_m *= wider,
            Testimony::Wedge { sigma_turns, range_sigma_m, .. } => {
                *sigma_turns *= wider;
                *range_sigma_m *= wider;
            }
            // Cells were weighed with the narrower bell; an area raised to any power is itself.
            Testimony::Ray { .. } | Testimony::Within(_) => {}
        }
        weak
    }

    /// Water it leaves open, for comparing sharpness \[m²\].
    pub fn spread_m2(&self, basin: &Basin) -> f64 {
        match self {
            Testimony::Round { sigma_m, .. } => TAU * sigma_m * sigma_m,
            Testimony::Wedge { sigma_turns, range_m, range_sigma_m, .. } => {
                TAU * (TAU * sigma_turns * range_m) * range_sigma_m
            }
            Testimony::Ray { cells, .. } | Testimony::Within(cells) => {
                cells.total() * basin.grid.cell_area_m2()
            }
        }
    }

    /// A place drawn from it, in the water where that can be had in six tries.
    pub fn draw(&self, basin: &Basin, stream: Stream, counter: u64) -> Spot {
        let u = |k: u64| stream.u01(counter + k);
        match self {
            Testimony::Round { spot, sigma_m } => (0..6)
                .map(|k| fastmath::normal_pair(u(2 * k), u(2 * k + 1)))
                .map(|(a, b)| *spot + Spot::new(a, b) * *sigma_m)
                .find(|&place| basin.is_water(place))
                .unwrap_or(*spot),
            Testimony::Wedge { stood, bearing, sigma_turns, range_m, range_sigma_m } => {
                let mut place = *stood;
                for k in 0..6 {
                    let (a, b) = fastmath::normal_pair(u(2 * k), u(2 * k + 1));
                    let (sin, cos) = fastmath::sin_cos_turns(bearing.degrees() / 360.0 + a * sigma_turns);
                    place = *stood + Spot::new(sin, cos) * (range_m + b * range_sigma_m).abs();
                    if basin.is_water(place) {
                        break;
                    }
                }
                place
            }
            Testimony::Ray { cells, .. } | Testimony::Within(cells) => cells.draw(basin, u(0), u(1), u(2)),
        }
    }

    /// Density at a place \[1/m²\].
    pub fn density(&self, basin: &Basin, spot: Spot) -> f64 {
        match self {
            Testimony::Round { spot: middle, sigma_m } => {
                bell(spot.distance(*middle) / sigma_m) / (TAU * sigma_m * sigma_m)
            }
            Testimony::Wedge { stood, bearing, sigma_turns, range_m, range_sigma_m } => {
                let range = spot.distance(*stood);
                let turns = off_turns(*stood, *bearing, spot) / sigma_turns;
                let along = (range - range_m) / range_sigma_m;
                let norm = TAU * (sigma_turns * TAU) * range_sigma_m * range.max(0.1);
                bell(turns) * bell(along) / norm
            }
            Testimony::Ray { stood, bearing, sigma_turns, cells } => {
                bell(off_turns(*stood, *bearing, spot) / sigma_turns)
                    / (cells.total() * basin.grid.cell_area_m2())
            }
            Testimony::Within(cells) => match basin.grid.cell(spot) {
                Some(cell) if cells.holds(cell) => 1.0 / (cells.total() * basin.grid.cell_area_m2()),
                _ => 0.0,
            },
        }
    }
}

/// A direction from a stand.
struct Sight<'a> {
    by: &'a str,
    stood: Spot,
    bearing: Bearing,
    sigma_turns: f64,
}

impl Sight<'_> {
    /// With a distance: a wedge, or the nearest water where the wedge holds none; far from any water the bearing alone.
    fn at_range(
        &self,
        stated_m: f64,
        by_mark: bool,
        basin: &Basin,
        notes: &mut Vec<String>,
    ) -> Option<Testimony> {
        let Sight { by, stood, bearing, sigma_turns } = *self;
        let (range_m, share) = true_range(stated_m, by_mark);
        let place = stood + Spot::towards(bearing, range_m);
        let range_sigma_m = (range_m * share).max(0.5);
        let widest_m = range_sigma_m.max(range_m * sigma_turns * TAU);
        match basin.nearest(place) {
            Some(wet) if wet.distance(place) > value("sighting_far_m").max(3.0 * widest_m) => {
                notes.push(format!(
                    "{by}: bearing {bearing} and distance {} end {} from any water; the distance is not used",
                    basin.units.distance(stated_m),
                    basin.units.distance(wet.distance(place))
                ));
                self.anywhere_along(basin, notes)
            }
            // Beyond three standard errors no draw would find water.
            Some(wet) if wet.distance(place) > 3.0 * widest_m => {
                notes.push(format!(
                    "{by}: bearing {bearing} and distance {} end on land; moved {} to the nearest water",
                    basin.units.distance(stated_m),
                    basin.units.distance(wet.distance(place))
                ));
                Some(Testimony::Round { spot: wet, sigma_m: widest_m })
            }
            _ => Some(Testimony::Wedge { stood, bearing, sigma_turns, range_m, range_sigma_m }),
        }
    }

    /// Without a distance: all the water along the line.
    fn anywhere_along(&self, basin: &Basin, notes: &mut Vec<String>) -> Option<Testimony> {
        let Sight { by, stood, bearing, sigma_turns } = *self;
        let cells = CellTable::new(&basin.cells, |cell| {
            let turns = off_turns(stood, bearing, basin.grid.centre(cell as usize));
            if turns.abs() > 4.0 * sigma_turns { 0.0 } else { bell(turns / sigma_turns) }
        });
        if cells.is_empty() {
            notes.push(format!("{by}: no water along bearing {bearing} from the stand; not used"));
            return None;
        }
        Some(Testimony::Ray { stood, bearing, sigma_turns, cells })
    }
}

/// An area as told; one without a whole cell of water is taken as the nearest water.
fn in_area(
    by: &str,
    name: &str,
    rings: &[Vec<Vec<Spot>>],
    basin: &Basin,
    notes: &mut Vec<String>,
) -> Option<Testimony> {
    let cells = CellTable::new(&basin.cells, |cell| {
        f64::from(u8::from(inside(rings, basin.grid.centre(cell as usize))))
    });
    if !cells.is_empty() {
        return Some(Testimony::Within(cells));
    }
    let middle = water::Shape::Area(rings.to_vec()).middle();
    let Some(wet) = basin.nearest(middle).filter(|_| middle.is_finite() && !rings.is_empty()) else {
        notes.push(format!("{by}: the area {name} has no shape; not used"));
        return None;
    };
    notes.push(format!(
        "{by}: {name} holds no water of a whole cell; taken as the nearest water, {} off",
        basin.units.distance(wet.distance(middle))
    ));
    Some(Testimony::Round { spot: wet, sigma_m: value("tap_sigma_floor_m") })
}

/// A pointed-out place, moved to the nearest water if it is on land; farther off than a slip it says nothing.
fn usable((spot, doubt_m): (Spot, f64), by: &str, basin: &Basin, notes: &mut Vec<String>) -> Option<Spot> {
    if !spot.is_finite() {
        notes.push(format!("{by}: the place is not a number; not used"));
        return None;
    }
    let wet = basin.nearest(spot)?;
    let off = wet.distance(spot);
    let told = basin.units.distance(off);
    if off > value("sighting_far_m").max(3.0 * doubt_m) {
        notes.push(format!("{by}: the place lies {told} from any water; not used: ask again where"));
        return None;
    }
    if off > 0.0 {
        notes.push(format!("{by}: the place is not in the water; moved {told} to the nearest water"));
    }
    Some(wet)
}

/// e^(−z²/2).
#[inline]
fn bell(z: f64) -> f64 {
    fastmath::exp(-0.5 * z * z)
}

/// Angle from the bearing to a place, −½ to ½ turn.
fn off_turns(stood: Spot, bearing: Bearing, spot: Spot) -> f64 {
    let step = spot - stood;
    let turn = libm::atan2(step.east, step.north) / TAU - bearing.degrees() / 360.0;
    turn - libm::round(turn)
}

/// Whether a place lies in polygons of rings: outer rings and holes by the even-odd rule, polygon by polygon.
pub fn inside(polygons: &[Vec<Vec<Spot>>], spot: Spot) -> bool {
    polygons.iter().any(|rings| rings.iter().filter(|ring| in_ring(ring, spot)).count() % 2 == 1)
}

fn in_ring(ring: &[Spot], spot: Spot) -> bool {
    let mut odd = false;
    for pair in ring.windows(2) {
        let (a, b) = (pair[0], pair[1]);
        if (a.north > spot.north) != (b.north > spot.north)
            && spot.east < a.east + (spot.north - a.north) / (b.north - a.north) * (b.east - a.east)
        {
            odd = !odd;
        }
    }
    odd
}
