//! The alarm at the command line: from what was told to orders, as words, as JSON, as a picture.
//!
//! It computes nothing of its own: belief, plan and orders come from `search`.
//! Start reading at [`follow`].

mod json;
mod scene;
mod text;

pub use json::json;
pub use scene::scene;
pub use text::text;

use measure::{Seed, parameters::value};
use search::Setting;
use search::belief::Region;
use search::course::Course;
use search::orders::{Order, cautions};
use search::told::Report;
use water::{Day, Flow, Ground, Problem, Site};

/// Shares inside the regions that are shown.
pub const SHARES: [f64; 3] = [0.5, 0.8, 0.95];

/// What was told on the command line and in the report file.
pub struct Told {
    /// The alarm.
    pub alarm: search::Alarm,
    /// Reports.
    pub reports: Vec<Report>,
    /// Time of day for which orders are wanted \[s after midnight\].
    pub now_clock_s: Option<f64>,
    /// Seed.
    pub seed: u64,
}

/// Water and day, built once for a search.
pub struct Water {
    /// The site.
    pub site: Site,
    /// The bottom at today's stage.
    pub ground: Ground,
    /// Today's current.
    pub flow: Flow,
    /// What the door said of site and day.
    pub problems: Vec<Problem>,
    /// Doubts of bottom and current.
    pub notes: Vec<String>,
}

/// A search followed to now, with all that is printed of it.
pub struct Outcome {
    /// The water.
    pub water: Water,
    /// The search.
    pub course: Course,
    /// Orders of now and next, in the order to be said.
    pub orders: Vec<Order>,
    /// Highest-density regions of the belief.
    pub regions: Vec<Region>,
    /// Cautions that apply now.
    pub cautions: Vec<String>,
    /// Seed.
    pub seed: u64,
}

impl Outcome {
    /// Water and day as the search sees them.
    pub fn setting(&self) -> Setting<'_> {
        let Water { site, ground, flow, .. } = &self.water;
        Setting { site, day: &self.course.day, ground, flow }
    }

    /// Doubts of plan, belief and water, each once.
    pub fn notes(&self) -> Vec<String> {
        let mut all: Vec<String> = Vec::new();
        for note in self.course.plan.notes.iter().chain(&self.course.belief_notes).chain(&self.water.notes) {
            if !all.contains(note) {
                all.push(note.clone());
            }
        }
        all
    }
}

/// Builds bottom and current of the day.
pub fn water(site: Site, day: &Day, problems: Vec<Problem>) -> Water {
    let ground = Ground::build(&site, day.stage_m);
    let flow = Flow::from_floats(&day.floats);
    let mut notes = ground.notes;
    notes.extend(flow.notes);
    Water { site, ground: ground.value, flow: flow.value, problems, notes }
}

/// Follows a search from the alarm to now.
pub fn follow(water: Water, day: &Day, told: Told) -> Outcome {
    let now_s = told.now_clock_s.map(|clock| search::told::clock_gap_s(told.alarm.at_s, clock));
    let inputs = search::course::Told {
        alarm: told.alarm,
        reports: told.reports,
        now_s,
        seed: Seed(told.seed),
        particles: value("particles") as usize,
        effort: search::plan::Request::SECOND_EFFORT,
    };
    let setting = Setting { site: &water.site, day, ground: &water.ground, flow: &water.flow };
    let course = Course::follow(&setting, &inputs);
    let setting = Setting { day: &course.day, ..setting };
    let words = course.orders(&setting);
    let regions = course.belief.regions(&water.ground.grid, &SHARES);
    let cautions = cautions(&course.plan, &setting);
    Outcome { orders: words, regions, cautions, seed: told.seed, course, water }
}
