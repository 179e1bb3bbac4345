//! Ways a crew searches without a plan: the same people in the same teams, at the same paces and limits, in another order.
//!
//! The habits get what the plan worked out of who searches with whom, and its first guard and its poles; only lines
//! go their own way. Where a rule would hinder a habit more than its idea does, the habit is let off it: it keeps
//! neither to the speed times depth of wading, nor apart from the other line, and crosses a current as it likes.

use crate::bathers::Zone;
use measure::{Spot, parameters::value};
use search::lines::{DivePace, Grip, chances, dive_step, dive_time, pause_after, wade_line_mps, water_turn};
use search::plan::{Leg, Plan, Run, Team};
use search::{Method, Setting, Stretch, Sweep};

/// A way to order the water.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Habit {
    /// Outward square from the last seen point.
    Square,
    /// The whole bathing area, lane after lane from the shallow side.
    Side,
    /// The nearest piece of a lane that is not done yet.
    Nearest,
}

impl Habit {
    /// All habits.
    pub const ALL: [Habit; 3] = [Habit::Square, Habit::Side, Habit::Nearest];

    /// As people call it.
    pub fn words(self) -> &'static str {
        match self {
            Habit::Square => "outward square",
            Habit::Side => "lanes from one side",
            Habit::Nearest => "nearest first",
        }
    }
}

/// The ground a crew without a plan means to search: a rectangle about the last seen point.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Patch {
    /// The last seen point.
    pub last_seen: Spot,
    /// Along the depth contours there, deep water to the left.
    pub along: Spot,
    /// From the last seen point along: (back, ahead) \[m\].
    pub along_m: (f64, f64),
    /// From the last seen point across: (to the shallow side, to the deep side) \[m\].
    pub across_m: (f64, f64),
}

/// Half of the side of a patch where no bathing area is near \[m\]; also the least that a patch reaches each way.
const PATCH_HALF_M: f64 = 20.0;
/// A bathing area this near to the last seen point is the one that is searched \[m\].
const NEAR_M: f64 = 15.0;
/// How far over the edge of the bathing area they search \[m\].
const OVER_M: f64 = 5.0;

impl Patch {
    /// The bathing area about the last seen point, laid along the depth contours.
    ///
    /// # Inputs
    /// - `setting` · `zones`: bathing areas · `last_seen`
    ///
    /// # Gives
    /// At least 20 m each way from the last seen point.
    ///
    /// # Source
    /// assumed
    pub fn about(setting: &Setting, zones: &[Zone], last_seen: Spot) -> Patch {
        let along = contour(setting, last_seen);
        let grid = &setting.ground.grid;
        let gap = |zone: &Zone| {
            let spots = zone.cells.iter().map(|&cell| grid.centre(cell as usize));
            spots.map(|spot| spot.distance(last_seen)).fold(f64::INFINITY, f64::min)
        };
        let near = zones.iter().map(|zone| (gap(zone), zone)).filter(|(gap_m, _)| *gap_m <= NEAR_M);
        let mut patch = Patch {
            last_seen,
            along,
            along_m: (-PATCH_HALF_M, PATCH_HALF_M),
            across_m: (-PATCH_HALF_M, PATCH_HALF_M),
        };
        if let Some((_, zone)) = near.min_by(|a, b| a.0.total_cmp(&b.0)) {
            for &cell in &zone.cells {
                let off = grid.centre(cell as usize) - last_seen;
                let (ahead, left) = (off.dot(along), off.dot(along.left()));
                patch.along_m = (patch.along_m.0.min(ahead - OVER_M), patch.along_m.1.max(ahead + OVER_M));
                patch.across_m = (patch.across_m.0.min(left - OVER_M), patch.across_m.1.max(left + OVER_M));
            }
        }
        patch
    }

    fn at(&self, ahead_m: f64, left_m: f64) -> Spot {
        self.last_seen + self.along * ahead_m + self.along.left() * left_m
    }

    /// Lanes side by side, shallow side first.
    fn lanes(&self, width_m: f64) -> Vec<(Spot, Spot)> {
        let (low, high) = self.across_m;
        let count = ((high - low) / width_m).ceil().max(1.0) as usize;
        (0..count)
            .map(|k| {
                let left_m = low + (k as f64 + 0.5) * width_m;
                (self.at(self.along_m.0, left_m), self.at(self.along_m.1, left_m))
            })
            .collect()
    }
}

/// Which way the depth contours run at a place, deep water to the left; east where the bottom is level.
fn contour(setting: &Setting, spot: Spot) -> Spot {
    let depth = |off: Spot| {
        let grid = &setting.ground.grid;
        let cell = grid.cell(spot + off);
        cell.map(|c| setting.ground.depth_m[c]).filter(|d| d.is_finite()).unwrap_or(0.0).max(0.0)
    };
    let reach_m = 8.0;
    let slope = Spot::new(
        depth(Spot::new(reach_m, 0.0)) - depth(Spot::new(-reach_m, 0.0)),
        depth(Spot::new(0.0, reach_m)) - depth(Spot::new(0.0, -reach_m)),
    );
    // Turned right by a quarter: deep water lies to the left of the way.
    slope.unit().map_or(Spot::new(1.0, 0.0), |deep| Spot::new(deep.north, -deep.east))
}

/// One team on its way through a habit.
struct Walk<'a> {
    setting: &'a Setting<'a>,
    team: &'a Team,
    index: usize,
    height_m: f64,
    at: Spot,
    faces: Spot,
    now_s: f64,
    end_s: f64,
    dives: usize,
    runs: Vec<Run>,
}

/// The teams of a plan, first guard and poles as planned, lines by habit.
///
/// # Inputs
/// - `setting` · `planned`: the plan whose people search, with the height of who is missing \[m\] · `patch` · `habit`, `horizon_s`: how long \[s\]
///
/// # Gives
/// A plan of one leg a run; only its teams, runs and times mean anything.
///
/// # Source
/// common practice, no published source
pub fn by_habit(
    setting: &Setting,
    (planned, height_m): (&Plan, f64),
    patch: &Patch,
    (habit, horizon_s): (Habit, f64),
) -> Plan {
    let mut other = Plan { runs: Vec::new(), ..planned.clone() };
    for (index, team) in planned.teams.iter().enumerate() {
        if !matches!(team.method, Method::Wade | Method::Dive) {
            other.runs.extend(planned.runs.iter().filter(|run| run.team == index).cloned());
            continue;
        }
        // The longest turn in the water binds a habit as it binds the plan.
        let end_s = horizon_s.min(team.formed_s + water_turn(setting.day.water_c));
        let mut walk = Walk {
            setting,
            team,
            index,
            height_m,
            at: patch.last_seen,
            faces: Spot::default(),
            now_s: team.formed_s,
            end_s,
            dives: 0,
            runs: Vec::new(),
        };
        walk.go(habit, patch);
        other.runs.append(&mut walk.runs);
    }
    other
}

impl Walk<'_> {
    fn depth(&self, spot: Spot) -> f64 {
        let ground = self.setting.ground;
        let cell = ground.grid.cell(spot).filter(|&c| ground.is_water(c));
        cell.map_or(f64::NAN, |c| ground.depth_m[c])
    }

    /// Whether the whole width of the line is in its water, by the plainest reading.
    fn fits(&self, spot: Spot, along: Spot) -> bool {
        let low_m = if self.team.method == Method::Dive { value("dive_least_depth_m") } else { 0.05 };
        [-0.45, 0.0, 0.45].iter().all(|share| {
            let depth = self.depth(spot + along.left() * (share * self.team.width_m));
            (low_m..=self.team.depth_to_m).contains(&depth)
        })
    }

    fn open(&self) -> bool {
        self.now_s < self.end_s
    }

    /// With the current, where one runs that binds a line.
    fn with_current(&self, from: Spot, to: Spot) -> (Spot, Spot) {
        let current = self.setting.flow.at(from.lerp(to, 0.5));
        let against = current.length() >= value("line_current_mps") && current.dot(to - from) < 0.0;
        if against { (to, from) } else { (from, to) }
    }

    /// Searches from `from` to `to` where the water allows; what does not fit is passed by.
    fn strip(&mut self, from: Spot, to: Spot) {
        let (from, to) = self.with_current(from, to);
        let Some(along) = (to - from).unit() else { return };
        let mut done_m = 0.0;
        let whole_m = from.distance(to);
        let mut first = true;
        while done_m < whole_m - 1.0 && self.open() {
            let here = from + along * done_m;
            let Some((seconds, length_m, advance_m)) = self.step(here + along * 2.5) else {
                done_m += 1.0;
                first = true;
                continue;
            };
            let part = (length_m.min(whole_m - done_m) / length_m).clamp(0.0, 1.0);
            let there = here + along * (length_m * part);
            if !(self.fits(here, along) && self.fits(there, along)) {
                done_m += 1.0;
                first = true;
                continue;
            }
            if first {
                self.come_to(here, along);
                first = false;
            }
            // A wade ends where the lane does; a dive takes its whole time.
            let wades = self.team.method == Method::Wade;
            self.leg(here, there, if wades { seconds * part } else { seconds });
            self.at = there;
            done_m += advance_m.min(length_m * part).max(1.0);
        }
    }

    /// The way to where the line searches next, and the turn if it faces another way; a habit needs no order.
    fn come_to(&mut self, here: Spot, along: Spot) {
        let wades = self.team.method == Method::Wade;
        let pace = value(if wades { "transit_wade_mps" } else { "transit_swim_mps" });
        if !self.runs.is_empty() {
            self.now_s += self.at.distance(here) / pace;
        }
        if self.faces.dot(along) < 0.99 {
            // The register's time is that of a line of six at 1.3 m.
            self.now_s += (value("turn_s") * self.team.width_m / 7.8).max(0.5 * value("turn_s"));
        }
        self.faces = along;
    }

    /// Seconds of a leg, its length and how far the line has come after it; `None` where a dive line cannot advance.
    fn step(&self, spot: Spot) -> Option<(f64, f64, f64)> {
        let depth = self.depth(spot);
        let depth = if depth.is_finite() { depth } else { 1.0 };
        if self.team.method == Method::Wade {
            return Some((5.0 / wade_line_mps(depth), 5.0, 5.0));
        }
        let day = self.setting.day;
        let pace = DivePace::today(self.team.fins);
        let dive_s = dive_time(day.water_c)?;
        let step = dive_step(depth, self.team.members.len(), dive_s, &pace)?;
        let done = self.dives % value("dives_before_rest") as usize + 1;
        Some((step.cycle.under_s + pause_after(dive_s, done, &pace), step.cycle.bottom_m, step.advance_m))
    }

    fn leg(&mut self, from: Spot, to: Spot, seconds: f64) {
        let spot = from.lerp(to, 0.5);
        let elbows = self.team.method == Method::Wade && self.team.spacing_m < Grip::Hands.spacing_m() - 0.01;
        let grip = if elbows { Grip::Elbows } else { Grip::Hands };
        let chance = chances(grip, self.height_m)[self.team.method.index()];
        let sweep = Sweep {
            method: self.team.method,
            stretch: Stretch::Strip { from, to, width_m: self.team.width_m },
            steer_m: value("steer_free_m"),
            firm: chance.firm,
            rough: chance.rough,
            from_s: self.now_s,
            to_s: self.now_s + seconds,
        };
        self.now_s += seconds;
        self.dives += 1;
        self.runs.push(Run {
            team: self.index,
            from,
            to,
            width_m: self.team.width_m,
            leaves_s: sweep.from_s,
            from_s: sweep.from_s,
            to_s: sweep.to_s,
            legs: vec![Leg { sweep, depth_m: self.depth(spot) }],
            gain: 0.0,
            shore_left: true,
            under_way: false,
        });
    }

    fn go(&mut self, habit: Habit, patch: &Patch) {
        let lanes = patch.lanes(self.team.width_m);
        // Whoever is through before time is up begins again; three times is more than any turn allows.
        for _ in 0..3 {
            let before_s = self.now_s;
            match habit {
                Habit::Square => self.square(patch),
                Habit::Side => {
                    for (k, (a, b)) in lanes.iter().enumerate() {
                        if k % 2 == 0 { self.strip(*a, *b) } else { self.strip(*b, *a) }
                    }
                }
                Habit::Nearest => self.nearest(&lanes, patch.last_seen),
            }
            if !self.open() || self.now_s == before_s {
                break;
            }
        }
    }

    fn square(&mut self, patch: &Patch) {
        let step_m = self.team.width_m;
        let (mut at, mut way) = (patch.last_seen, patch.along);
        for k in 0..60 {
            let to = at + way * (step_m * (1 + k / 2) as f64);
            self.strip(at, to);
            at = to;
            way = way.left();
        }
    }

    /// Pieces of ten metres, so that the nearest is near.
    fn nearest(&mut self, lanes: &[(Spot, Spot)], last_seen: Spot) {
        const PIECE_M: f64 = 10.0;
        let mut left: Vec<(Spot, Spot)> = Vec::new();
        for (a, b) in lanes {
            let count = (a.distance(*b) / PIECE_M).ceil().max(1.0);
            left.extend((0..count as usize).map(|k| {
                let k = k as f64;
                (a.lerp(*b, k / count), a.lerp(*b, (k + 1.0) / count))
            }));
        }
        let mut at = last_seen;
        while self.open() && !left.is_empty() {
            let gap = |(a, b): &(Spot, Spot)| at.distance(*a).min(at.distance(*b));
            let nearest =
                (0..left.len()).min_by(|&p, &q| gap(&left[p]).total_cmp(&gap(&left[q])).then(p.cmp(&q)));
            let Some(k) = nearest else { break };
            let (a, b) = left.remove(k);
            let (from, to) = if at.distance(a) <= at.distance(b) { (a, b) } else { (b, a) };
            let before = self.runs.len();
            self.strip(from, to);
            if self.runs.len() > before {
                at = self.at;
            }
        }
    }
}
