//! Truth trials: hidden truths searched through by plans and by habits, and what was promised beside what came true.

use crate::TIMES_S;
use crate::bathers::{Zone, together};
use crate::chain::{Outcome, Thinking, found_as_written, found_at_pace, search_through, told};
use crate::habits::{Habit, Patch, by_habit};
use crate::incident::{Source, Witnesses, World};
use crate::luck::Luck;
use crate::promise::{Counting, promise, sweeps};
use crate::shares::{Mean, found_within};
use measure::{Seed, parameters::value};
use rayon::prelude::*;
use search::Setting;
use search::course::Course;
use search::plan::Outlook;
use search::survival::Curve;
use serde::Serialize;

/// What is tried.
#[derive(Clone, Copy, Debug)]
pub struct Trials<'a> {
    /// Water, day and crew.
    pub setting: Setting<'a>,
    /// Bathing areas.
    pub zones: &'a [Zone],
    /// Who can say where they were.
    pub witnesses: Witnesses,
    /// How the world differs from what the plan takes for true.
    pub world: World,
    /// Time of day of the alarms \[s after midnight\].
    pub at_s: f64,
    /// How hard plans are thought about.
    pub thinking: Thinking,
    /// Whether everything is planned anew as reports come; otherwise the first plan is carried out at the crew's pace.
    pub planned_anew: bool,
    /// When a trial ends \[s since the alarm\].
    pub horizon_s: f64,
    /// Seed of all of it.
    pub seed: Seed,
}

/// One trial: the same truth, crew and luck in every column.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Trial {
    /// What the first plan promised for [`TIMES_S`], of somebody on the bottom.
    pub promised: Vec<f64>,
    /// Worth that the first plan promised.
    pub promised_worth: f64,
    /// Worth that each habit could promise, as the first plan does.
    pub habits_worth: Vec<f64>,
    /// Found by the first plan as written, at planned times \[s\].
    pub as_written_s: Option<f64>,
    /// Found by the whole chain with reports and new plans, at the crew's pace \[s\].
    pub planned_s: Option<f64>,
    /// Found by each habit, at the crew's pace \[s\].
    pub habits_s: Vec<Option<f64>>,
    /// When they came to rest \[s since the alarm\].
    pub rest_s: f64,
    /// Plans made.
    pub plans: u32,
}

/// Trials that are run side by side before anybody is asked whether to go on.
const BLOCK: u64 = 8;

/// Runs trials.
///
/// # Inputs
/// - `trials` · `count` · `tell`: hears how many are done, after every few; `false` ends it there
///
/// # Gives
/// The trials done, in order; none where bathers have no water. The same on any number of threads.
///
/// # Source
/// [`Source::draw`], [`search_through`], [`by_habit`]
pub fn run(trials: &Trials, count: u64, tell: &dyn Fn(u64) -> bool) -> Vec<Trial> {
    let zone = together(trials.zones);
    let source = Source {
        setting: trials.setting,
        zone: &zone,
        witnesses: trials.witnesses,
        world: trials.world,
        at_s: trials.at_s,
    };
    let mut all = Vec::new();
    let mut first = 0;
    while first < count {
        let end = (first + BLOCK).min(count);
        let block: Vec<Option<Trial>> =
            (first..end).into_par_iter().map(|number| one(trials, &source, number)).collect();
        all.extend(block.into_iter().flatten());
        first = end;
        if !tell(first) {
            break;
        }
    }
    all
}

fn one(trials: &Trials, source: &Source, number: u64) -> Option<Trial> {
    let incident = source.draw(trials.seed, number)?;
    let setting = &trials.setting;
    let told = told(&incident, trials.thinking);
    let course = Course::open(setting, &told);
    let outlook = trials.world.outlook();
    let luck = Luck { seed: incident.seed, outlook, pace_sd: trials.world.pace_sd };
    let on_time = Luck { pace_sd: 0.0, ..luck };
    let counting = Counting {
        ground: setting.ground,
        water_c: setting.day.water_c,
        outlook: Outlook::default(),
        times_s: &TIMES_S,
    };
    let first = course.plan.clone();
    let promised = promise(&sweeps(&first), &course.belief.cloud, &counting);
    let height_m = incident.alarm.missing.height_m;
    let patch = Patch::about(setting, trials.zones, course.last_seen(setting.site));
    let in_time = |found: Option<f64>| found.filter(|&s| s <= trials.horizon_s);
    let ways =
        Habit::ALL.map(|habit| by_habit(setting, (&first, height_m), &patch, (habit, trials.horizon_s)));
    let habits_s = ways.iter().map(|way| in_time(found_at_pace(way, &incident, &luck))).collect();
    let habits_worth =
        ways.iter().map(|way| promise(&sweeps(way), &course.belief.cloud, &counting).worth).collect();
    let as_written_s = in_time(found_as_written(&first, &incident, &on_time));
    let outcome = if trials.planned_anew {
        search_through((setting, course), &told, (&incident, &luck), trials.horizon_s)
    } else {
        Outcome { found_s: in_time(found_at_pace(&first, &incident, &luck)), plans: 1 }
    };
    Some(Trial {
        promised: promised.by,
        promised_worth: promised.worth,
        habits_worth,
        as_written_s,
        planned_s: outcome.found_s,
        habits_s,
        rest_s: incident.body.rest_s,
        plans: outcome.plans,
    })
}

/// How one way of searching did.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Column {
    /// What it is.
    pub name: String,
    /// Share found by each of [`TIMES_S`].
    pub found_by: Vec<Mean>,
    /// Time by which a quarter, a half and three quarters of all were found \[s\].
    pub quantiles_s: Vec<Option<f64>>,
    /// Survival-weighted finds a trial: the worth of the search, by which plans are chosen.
    pub worth: Mean,
}

/// The plan against one habit, trial by trial.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Gain {
    /// Which habit.
    pub habit: Habit,
    /// Share found by each of [`TIMES_S`], plan less habit.
    pub found_by: Vec<Mean>,
    /// Worth, plan less habit.
    pub worth: Mean,
    /// Worth promised by the first plan less that of the habit, as written and on the whole belief: nothing is drawn but alarms.
    pub promised: Mean,
    /// Mean worth the habit could promise.
    pub habit_promised: f64,
}

/// What a row of trials says.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Verdict {
    /// Trials done.
    pub trials: usize,
    /// Times of the shares \[s since the alarm\].
    pub times_s: Vec<f64>,
    /// Promised by first plans, mean over the trials.
    pub promised: Vec<f64>,
    /// Found by first plans as written, less promised: zero within its error if promises are true.
    pub beyond_promise: Vec<Mean>,
    /// The same of the worth.
    pub worth_beyond_promise: Mean,
    /// First plan as written, whole chain, habits.
    pub columns: Vec<Column>,
    /// The chain against each habit.
    pub gains: Vec<Gain>,
    /// Plans made in a search, mean.
    pub plans: f64,
}

impl Verdict {
    /// Whether every promise is true within `sigmas` standard errors.
    pub fn keeps_its_word(&self, sigmas: f64) -> bool {
        self.beyond_promise.iter().chain([&self.worth_beyond_promise]).all(|m| m.sigmas().abs() <= sigmas)
    }
}

/// Standard error of a mean count if promises are true, from the variance of each trial. Of a few trials without a find the finds
/// themselves tell no spread, and any promise would seem broken.
fn promised_error(variances: impl ExactSizeIterator<Item = f64>) -> f64 {
    let n = variances.len().max(1) as f64;
    variances.map(|v| v.max(0.0)).sum::<f64>().sqrt() / n
}

/// Variance of the worth of one trial by its promise, all finds weighing alike.
fn worth_spread(trial: &Trial) -> f64 {
    match trial.promised.last() {
        Some(&found) if found > 0.0 => trial.promised_worth * trial.promised_worth * (1.0 - found) / found,
        _ => 0.0,
    }
}

/// What trials say, with Monte-Carlo errors.
///
/// # Inputs
/// - `all`: trials · `water_c`: temperature of the water, for the weight \[°C\]
///
/// # Gives
/// The verdict; differences are taken trial by trial.
///
/// # Source
/// textbook
pub fn verdict(all: &[Trial], water_c: f64) -> Verdict {
    let curve = Curve { v_8: value("survival_v_8"), water_c };
    let worth = |trial: &Trial, found: Option<f64>| {
        found.map_or(0.0, |at_s| curve.at((at_s + value("ashore_s") - trial.rest_s) / 60.0))
    };
    let by = |found: Option<f64>, time_s: f64| found.is_some_and(|at_s| at_s <= time_s);
    let column = |name: &str, found: &dyn Fn(&Trial) -> Option<f64>| Column {
        name: name.into(),
        found_by: TIMES_S.map(|t| Mean::share(all.iter().map(|trial| by(found(trial), t)))).to_vec(),
        quantiles_s: [0.25, 0.5, 0.75]
            .map(|share| found_within(&all.iter().map(found).collect::<Vec<_>>(), share))
            .to_vec(),
        worth: Mean::of(all.iter().map(|trial| worth(trial, found(trial)))),
    };
    let number = |hit: bool| f64::from(u8::from(hit));
    let beyond = |k: usize| {
        let more = all.iter().map(|trial| number(by(trial.as_written_s, TIMES_S[k])) - trial.promised[k]);
        Mean::of(more)
            .at_least(promised_error(all.iter().map(|trial| trial.promised[k] * (1.0 - trial.promised[k]))))
    };
    let mut columns = vec![
        column("first plan as written", &|trial| trial.as_written_s),
        column("plan at the crew's pace", &|trial| trial.planned_s),
    ];
    let mut gains = Vec::new();
    for (k, habit) in Habit::ALL.into_iter().enumerate() {
        columns.push(column(habit.words(), &|trial| trial.habits_s[k]));
        let more = |t: f64| {
            Mean::of(
                all.iter().map(|trial| number(by(trial.planned_s, t)) - number(by(trial.habits_s[k], t))),
            )
        };
        let worth =
            Mean::of(all.iter().map(|trial| worth(trial, trial.planned_s) - worth(trial, trial.habits_s[k])));
        let promised = Mean::of(all.iter().map(|trial| trial.promised_worth - trial.habits_worth[k]));
        let habit_promised = Mean::of(all.iter().map(|trial| trial.habits_worth[k])).mean;
        gains.push(Gain { habit, found_by: TIMES_S.map(more).to_vec(), worth, promised, habit_promised });
    }
    let n = all.len().max(1) as f64;
    Verdict {
        trials: all.len(),
        times_s: TIMES_S.to_vec(),
        promised: (0..TIMES_S.len()).map(|k| all.iter().map(|t| t.promised[k]).sum::<f64>() / n).collect(),
        beyond_promise: (0..TIMES_S.len()).map(beyond).collect(),
        worth_beyond_promise: Mean::of(
            all.iter().map(|trial| worth(trial, trial.as_written_s) - trial.promised_worth),
        )
        .at_least(promised_error(all.iter().map(worth_spread))),
        columns,
        gains,
        plans: all.iter().map(|trial| f64::from(trial.plans)).sum::<f64>() / n,
    }
}
