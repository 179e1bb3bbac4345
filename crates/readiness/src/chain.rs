//! One incident searched through: alarm, orders, simulated searching, reports, new plans, until found or the horizon.

use crate::incident::Incident;
use crate::luck::{Body, Luck, Passes};
use crate::promise::sweeps;
use measure::Seed;
use search::course::{Course, State, Told};
use search::plan::{Plan, Request};
use search::told::{Happening, Report};
use search::{Method, Setting, Sweep};

/// How hard the plans of a simulated search are thought about.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct Thinking {
    /// Particles of the belief.
    pub particles: usize,
    /// Effort of the first plan; later ones get a quarter.
    pub effort: u64,
}

impl Default for Thinking {
    fn default() -> Self {
        Thinking { particles: 20_000, effort: Request::FIRST_EFFORT }
    }
}

/// What the search is told at the alarm.
pub fn told(incident: &Incident, thinking: Thinking) -> Told {
    Told {
        alarm: incident.alarm.clone(),
        reports: Vec::new(),
        now_s: None,
        // The crew's own seed: nothing of it is known to the truth.
        seed: Seed(incident.seed.stream("crew").bits(0)),
        particles: thinking.particles,
        effort: thinking.effort,
    }
}

/// When the sweeps of a plan find somebody, carried out as written at the planned times; no new plan is made.
///
/// # Inputs
/// - `plan` · `incident` · `luck`
///
/// # Gives
/// \[s since the alarm\], at the end of the sweep that finds.
///
/// # Source
/// [`Passes::find`]
pub fn found_as_written(plan: &Plan, incident: &Incident, luck: &Luck) -> Option<f64> {
    let mut passes = Passes::new(&incident.body, luck);
    sweeps(plan).iter().find(|sweep| passes.find(sweep)).map(|sweep| sweep.to_s)
}

/// The same with the pace of the crew: every team is late or early from the moment it was formed.
///
/// # Inputs
/// - `plan`: of one leg a run, or as planned · `incident` · `luck`
///
/// # Gives
/// \[s since the alarm\].
///
/// # Source
/// [`Passes::find`]
pub fn found_at_pace(plan: &Plan, incident: &Incident, luck: &Luck) -> Option<f64> {
    found_by(&sweeps_at_pace(plan, luck), &incident.body, luck)
}

/// The sweeps of a plan in the order in which they end at the pace of the crew.
///
/// # Inputs
/// - `plan` · `luck`: the pace alone counts
///
/// # Source
/// as [`found_at_pace`]
pub fn sweeps_at_pace(plan: &Plan, luck: &Luck) -> Vec<Sweep> {
    let mut paced: Vec<Sweep> = Vec::new();
    for run in &plan.runs {
        let from_s = plan.teams[run.team].formed_s;
        let pace = luck.pace(plan.teams[run.team].method);
        paced.extend(run.legs.iter().map(|leg| at_pace(&leg.sweep, from_s, pace)));
    }
    paced.sort_by(|a, b| a.to_s.total_cmp(&b.to_s));
    paced
}

fn at_pace(sweep: &Sweep, from_s: f64, pace: f64) -> Sweep {
    let at = |t: f64| if t > from_s { from_s + (t - from_s) * pace } else { t };
    Sweep { from_s: at(sweep.from_s), to_s: at(sweep.to_s), ..*sweep }
}

/// What came of a search.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Outcome {
    /// When they were found \[s since the alarm\], if before the horizon.
    pub found_s: Option<f64>,
    /// Plans that were made.
    pub plans: u32,
}

/// Something that happens next.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Next {
    /// An order begins.
    Begin,
    /// A leg of a begun order ends: (index in `Course::begun`, leg).
    Leg(usize, usize),
}

/// A search as it really goes.
struct Going<'a> {
    course: Course,
    luck: &'a Luck,
    /// Legs really searched, by index in `Course::begun`.
    done: Vec<usize>,
    /// When each order really began \[s since the alarm\].
    began_s: Vec<f64>,
    horizon_s: f64,
}

/// Searches one incident through: reports come as lanes and dives end, and what has not begun is planned anew.
///
/// A lane is reported when it ends, a dive when its heads are up, both at the crew's own pace.
///
/// # Inputs
/// - `setting` · `course`: at the alarm ([`Course::open`]) · `told`: the same as at its start
/// - `incident`, `luck` · `horizon_s`: when the trial ends \[s since the alarm\]
///
/// # Gives
/// When they were found.
///
/// # Source
/// the course of a search (docs/handbook/alarm.md), simulated
pub fn search_through(
    scene: (&Setting, Course),
    told: &Told,
    (incident, luck): (&Incident, &Luck),
    horizon_s: f64,
) -> Outcome {
    let mut passes = Passes::new(&incident.body, luck);
    let mut found_s = None;
    let plans = go_on(scene, told, (luck, horizon_s), &mut |sweep| {
        if passes.find(sweep) {
            found_s = Some(sweep.to_s);
        }
        found_s.is_none()
    });
    Outcome { found_s, plans }
}

/// The sweeps of a search in which nobody is found, as [`search_through`] goes on, in the order of their ends at the crew's
/// own pace.
///
/// No report tells where somebody lies before they are found: up to then the search goes the same way whoever is missing,
/// and one course serves for every truth behind an alarm.
///
/// # Inputs
/// - as [`search_through`]; of the luck the pace alone counts
///
/// # Gives
/// Every sweep that ended within the horizon.
///
/// # Source
/// as [`search_through`]
pub fn searched(scene: (&Setting, Course), told: &Told, luck: &Luck, horizon_s: f64) -> Vec<Sweep> {
    let mut all = Vec::new();
    go_on(scene, told, (luck, horizon_s), &mut |sweep| {
        all.push(*sweep);
        true
    });
    all
}

/// When sweeps in the order of their ends find somebody \[s since the alarm\].
///
/// # Inputs
/// - `sweeps`: as really made · `body` · `luck`
///
/// # Source
/// [`Passes::find`]
pub fn found_by(sweeps: &[Sweep], body: &Body, luck: &Luck) -> Option<f64> {
    let mut passes = Passes::new(body, luck);
    sweeps.iter().find(|sweep| passes.find(sweep)).map(|sweep| sweep.to_s)
}

/// Goes on until the horizon or as long as every sweep asks for more; gives the plans made.
fn go_on(
    (setting, course): (&Setting, Course),
    told: &Told,
    (luck, horizon_s): (&Luck, f64),
    more: &mut dyn FnMut(&Sweep) -> bool,
) -> u32 {
    let mut going = Going { course, luck, done: Vec::new(), began_s: Vec::new(), horizon_s };
    let mut plans = 1;
    going.course.pass_to(0.0);
    while let Some((at_s, next)) = going.next() {
        match next {
            Next::Begin => going.course.pass_to(at_s),
            Next::Leg(k, leg) => {
                if !more(&going.searched(k, leg)) {
                    return plans;
                }
                if let Some(happening) = going.word(k, leg) {
                    let before = going.course.plan.now_s;
                    going.course.report(setting, told, &Report { at_s, happening, line: 0 });
                    plans += u32::from(going.course.plan.now_s > before);
                    going.course.pass_to(at_s);
                }
            }
        }
        if going.course.state != State::Searching {
            break;
        }
    }
    plans
}

impl Going<'_> {
    /// The earliest thing that happens before the horizon; ends of legs before begins of orders.
    fn next(&mut self) -> Option<(f64, Next)> {
        self.done.resize(self.course.begun.len(), 0);
        self.began_s.resize(self.course.begun.len(), self.course.now_s);
        let mut best: Option<(f64, Next)> = None;
        let mut offer = |at_s: f64, next: Next| {
            if at_s <= self.horizon_s && best.is_none_or(|(other_s, _)| at_s < other_s) {
                best = Some((at_s, next));
            }
        };
        for (k, begun) in self.course.begun.iter().enumerate() {
            if begun.reported || begun.stopped_short || self.done[k] >= begun.run.legs.len() {
                continue;
            }
            offer(
                self.actual(k, begun.run.legs[self.done[k]].sweep.to_s).max(self.course.now_s),
                Next::Leg(k, self.done[k]),
            );
        }
        let now_s = self.course.now_s;
        for run in self.course.plan.runs.iter().filter(|run| !run.under_way && run.leaves_s > now_s) {
            offer(run.leaves_s, Next::Begin);
        }
        best
    }

    /// A planned time of a begun order, at this crew's pace from when they really left for it.
    fn actual(&self, k: usize, planned_s: f64) -> f64 {
        let begun = &self.course.begun[k];
        let leaves_s = begun.run.leaves_s;
        self.began_s[k].max(leaves_s) + (planned_s - leaves_s).max(0.0) * self.luck.pace(begun.team.method)
    }

    /// A leg as it was really searched.
    fn searched(&mut self, k: usize, leg: usize) -> Sweep {
        let sweep = self.course.begun[k].run.legs[leg].sweep;
        self.done[k] = leg + 1;
        Sweep { from_s: self.actual(k, sweep.from_s), to_s: self.actual(k, sweep.to_s), ..sweep }
    }

    /// What is reported when a leg ends: every dive of a dive line, every other lane when it is done.
    fn word(&self, k: usize, leg: usize) -> Option<Happening> {
        let begun = &self.course.begun[k];
        let order = begun.number;
        let last = leg + 1 == begun.run.legs.len();
        match begun.team.method {
            Method::Dive => Some(Happening::DiveMade { order, up: None }),
            Method::Wade | Method::Alone | Method::Look | Method::Pole => {
                last.then_some(Happening::LaneWalked { order })
            }
        }
    }
}
