//! `fathomline practice trials`: hidden truths, searched through by plans and by habits.

use super::simulated::{Scene, option_problem, print, witness_words};
use crate::progress::Progress;
use measure::Seed;
use readiness::bathers::zones;
use readiness::chain::Thinking;
use readiness::incident::{Truths, Witnesses, World, scaled};
use readiness::trials::{Trial, Trials, Verdict, run, verdict};
use search::Setting;
use serde_json::json;
use std::fmt::Write;
use std::process::ExitCode;
use water::{Day, Problem};

/// Search for hidden truths with plans and with habits, and hold promises against what came true.
#[derive(clap::Args)]
pub struct TruthTrials {
    #[command(flatten)]
    scene: Scene,
    /// How many truths.
    #[arg(long, default_value_t = 200, value_parser = clap::value_parser!(u64).range(2..=100_000))]
    trials: u64,
    /// Minutes after which a trial ends.
    #[arg(long, value_name = "MIN", default_value_t = 30.0)]
    horizon: f64,
    /// Where truths come from: drawn from the belief of what was told, or from where bathers are, step by step.
    #[arg(long, value_enum, default_value_t = From::Model)]
    truths: From,
    /// Who can say where they were.
    #[arg(long, value_enum, default_value_t = Who::One)]
    witnesses: Who,
    /// Only the first so many of the day's crew.
    #[arg(long, value_name = "PEOPLE")]
    crew: Option<usize>,
    /// The current, as a share of the measured one, known to the plan.
    #[arg(long, value_name = "SHARE", default_value_t = 1.0)]
    current: f64,
    /// How the world differs from what the plan takes for true: spread=1.5,shift=20,contact=-0.33,current=1.5,pace=0.3.
    #[arg(long, value_name = "KEY=NUMBER,…")]
    perturb: Option<String>,
    /// The spread of scenes: witnesses, crews and currents, one row each.
    #[arg(long)]
    spread: bool,
    /// Effort of a first plan \[evaluations\].
    #[arg(long, default_value_t = search::plan::Request::FIRST_EFFORT)]
    effort: u64,
    /// Carry out first plans, at the crew's pace, without planning anew as reports come: ten times as fast.
    #[arg(long)]
    first_plan: bool,
    /// Particles of each belief.
    #[arg(long, default_value_t = 20_000)]
    particles: usize,
    /// Simulate the whole water, however large.
    #[arg(long)]
    whole: bool,
    /// Print everything as JSON, every trial too.
    #[arg(long)]
    json: bool,
}

/// Where truths come from.
#[derive(Clone, Copy, clap::ValueEnum)]
enum From {
    /// From the belief of what was told: promises must come true.
    Model,
    /// From where bathers are, with witnesses as bad as witnesses are.
    Bathers,
}

/// Who can say where they were.
#[derive(Clone, Copy, clap::ValueEnum)]
enum Who {
    /// Nobody.
    Nobody,
    /// One companion.
    One,
    /// Two who agree.
    Agree,
    /// Two who disagree.
    Disagree,
    /// A guard who can only point.
    Bearing,
    /// As often as the register says.
    Mixed,
}

impl Who {
    fn witnesses(self) -> Witnesses {
        match self {
            Who::Nobody => Witnesses::Nobody,
            Who::One => Witnesses::One,
            Who::Agree => Witnesses::Agree,
            Who::Disagree => Witnesses::Disagree,
            Who::Bearing => Witnesses::Bearing,
            Who::Mixed => Witnesses::Mixed,
        }
    }
}

/// One scene of trials and what it gave.
struct Row {
    witnesses: Witnesses,
    crew: usize,
    current: f64,
    all: Vec<Trial>,
    verdict: Verdict,
}

impl TruthTrials {
    /// Runs it.
    pub fn run(self) -> ExitCode {
        print(self.rows())
    }

    fn rows(&self) -> Result<String, Vec<Problem>> {
        let scene = self.scene.load()?;
        let world = self.world()?;
        let horizon_s = self.horizon * 60.0;
        if !(60.0..=10_800.0).contains(&horizon_s) {
            let what = format!("--horizon {} is no time to search", self.horizon);
            return Err(vec![option_problem("--horizon", what, "give 1 to 180 minutes")]);
        }
        if !(0.0..=20.0).contains(&self.current) {
            let what = format!("{} times the current makes no sense", self.current);
            return Err(vec![option_problem("--current", what, "give 0 to 20; 1 is the measured current")]);
        }
        let base = scene.simulated(self.whole);
        let mut rows = Vec::new();
        for (witnesses, crew, current) in self.scenes(scene.day.crew.len()) {
            let day = Day { crew: scene.day.crew[..crew].to_vec(), ..scene.day.clone() };
            let flow = scaled(&base.flow, current);
            let setting = Setting { day: &day, flow: &flow, ..base.setting() };
            let areas = zones(&setting, None);
            scene.need_bathers(&areas)?;
            let trials = Trials {
                setting,
                zones: &areas,
                witnesses,
                world,
                at_s: scene.at_s,
                thinking: Thinking { effort: self.effort, particles: self.particles },
                planned_anew: !self.first_plan,
                horizon_s,
                seed: Seed(self.scene.seed),
            };
            let name = format!("{}, {crew} people, current × {current}", witness_words(witnesses));
            let progress = Progress::new(name, self.trials);
            let all = run(&trials, self.trials, &|done| progress.tell(done));
            let verdict = verdict(&all, day.water_c);
            rows.push(Row { witnesses, crew, current, all, verdict });
            if Progress::ended() {
                break;
            }
        }
        if self.json {
            return Ok(self.json(&rows, &world));
        }
        let mut text = self.text(&base.site.name, &rows, &world);
        if let Some(note) = scene.cut_words(self.whole) {
            let _ = writeln!(text, "\nnote: {note}");
        }
        Ok(text)
    }

    /// Scenes: (witnesses, people, current).
    fn scenes(&self, people: usize) -> Vec<(Witnesses, usize, f64)> {
        let base = (self.witnesses.witnesses(), self.crew.unwrap_or(people).min(people), self.current);
        if !self.spread {
            return vec![base];
        }
        let mut all = vec![base];
        let witnesses = [Witnesses::Nobody, Witnesses::Agree, Witnesses::Disagree, Witnesses::Bearing];
        all.extend(witnesses.map(|who| (who, base.1, base.2)));
        all.extend([3, 6].map(|crew| (base.0, crew.min(people), base.2)));
        all.extend([0.0, 2.0].map(|share| (base.0, base.1, base.2 * share)));
        all.dedup();
        all
    }

    fn world(&self) -> Result<World, Vec<Problem>> {
        let mut world = World::as_modelled(match self.truths {
            From::Model => Truths::Model,
            From::Bathers => Truths::Bathers,
        });
        let refuse = |part: &str| {
            let remedy = "use spread=0.1..10, shift=0..500, contact=-1..1, current=-10..10, pace=0..1";
            vec![option_problem("--perturb", format!("{part:?} is not understood"), remedy)]
        };
        for part in
            self.perturb.iter().flat_map(|text| text.split(',')).filter(|part| !part.trim().is_empty())
        {
            let number = |text: &str| text.trim().parse::<f64>().ok().filter(|n| n.is_finite());
            let Some((key, value)) = part.split_once('=').and_then(|(key, text)| Some((key, number(text)?)))
            else {
                return Err(refuse(part));
            };
            let fits = match key.trim() {
                "spread" => (0.1..=10.0).contains(&value).then(|| world.spread = value),
                "shift" => (0.0..=500.0).contains(&value).then(|| world.shift_m = value),
                "contact" => (-1.0..=1.0).contains(&value).then(|| world.contact = 1.0 + value),
                "current" => (-10.0..=10.0).contains(&value).then(|| world.current = value),
                "pace" => (0.0..=1.0).contains(&value).then(|| world.pace_sd = value),
                _ => None,
            };
            fits.ok_or_else(|| refuse(part))?;
        }
        Ok(world)
    }

    fn json(&self, rows: &[Row], world: &World) -> String {
        let scenes: Vec<_> = rows
            .iter()
            .map(|row| {
                json!({
                    "witnesses": row.witnesses, "people": row.crew, "current": row.current,
                    "verdict": row.verdict, "trials": row.all,
                })
            })
            .collect();
        let whole = json!({
            "seed": self.scene.seed, "horizon_min": self.horizon, "effort": self.effort,
            "world": world, "asked_for": self.trials, "scenes": scenes,
        });
        format!("{whole:#}\n")
    }

    fn text(&self, site: &str, rows: &[Row], world: &World) -> String {
        let mut text = String::new();
        let _ =
            writeln!(text, "{site}: truth trials, seed {}, {} minutes each", self.scene.seed, self.horizon);
        let from = match world.truths {
            Truths::Model => "drawn from the belief of what was told",
            Truths::Bathers => "drawn from where bathers are, with witnesses as bad as witnesses are",
        };
        let _ = writeln!(
            text,
            "Truths lie on the bottom, {from}: spread × {}, {} m off, chance of a pass × {:.2}, current × {}, spread of pace {}",
            world.spread, world.shift_m, world.contact, world.current, world.pace_sd
        );
        for row in rows {
            one(&mut text, row);
        }
        if rows.len() > 1 {
            summary(&mut text, rows);
        }
        text
    }
}

fn percent(share: f64) -> String {
    format!("{:.0} %", 100.0 * share)
}

fn minutes(seconds: Option<f64>) -> String {
    seconds.map_or("-".into(), |s| format!("{:.1}", s / 60.0))
}

/// One scene in full.
fn one(text: &mut String, row: &Row) {
    let v = &row.verdict;
    let _ = writeln!(
        text,
        "\n{} trials: {}, {} people, current × {}; {:.1} plans in a search",
        v.trials,
        witness_words(row.witnesses),
        row.crew,
        row.current,
        v.plans
    );
    let heads: Vec<String> = v.times_s.iter().map(|s| format!("{:.0} min", s / 60.0)).collect();
    let _ = writeln!(text, "  {:<34}{}   25/50/75 % by [min]", "found within", columns(&heads));
    let promised: Vec<String> = v.promised.iter().map(|&p| percent(p)).collect();
    let _ = writeln!(text, "  {:<34}{}", "promised by the first plan", columns(&promised));
    for column in &v.columns {
        let cells: Vec<String> = column
            .found_by
            .iter()
            .map(|m| format!("{:.0} ± {:.0} %", 100.0 * m.mean, 100.0 * m.error))
            .collect();
        let times: Vec<String> = column.quantiles_s.iter().map(|&s| minutes(s)).collect();
        let _ = writeln!(text, "  {:<34}{}   {}", column.name, columns(&cells), times.join(" / "));
    }
    let signed = |m: &readiness::shares::Mean| format!("{:+.1} ± {:.1}", 100.0 * m.mean, 100.0 * m.error);
    let beyond: Vec<String> = v.beyond_promise.iter().map(signed).collect();
    let word = if v.keeps_its_word(2.5) { "within the error" } else { "NOT within the error" };
    let _ = writeln!(text, "  {:<34}{}   {word}", "first plan less its promise [%]", columns(&beyond));
    for gain in &v.gains {
        let cells: Vec<String> = gain.found_by.iter().map(signed).collect();
        let name = format!("gain over {} [%]", gain.habit.words());
        let _ = writeln!(text, "  {name:<34}{}   {}", columns(&cells), worth(row, gain));
    }
}

/// Worth of the plan over the worth of a habit, in words.
fn worth(row: &Row, gain: &readiness::trials::Gain) -> String {
    let plan = row.verdict.columns[1].worth.mean;
    let habit = plan - gain.worth.mean;
    if habit <= 0.0 {
        return "worth: the habit finds nobody in time".into();
    }
    let expected = 1.0 + gain.promised.mean / gain.habit_promised.max(1e-9);
    let error = gain.promised.error / gain.habit_promised.max(1e-9);
    format!(
        "worth × {:.2} ± {:.2}, first plan × {expected:.2} ± {error:.2}",
        plan / habit,
        gain.worth.error / habit
    )
}

/// All scenes, a line each.
fn summary(text: &mut String, rows: &[Row]) {
    let _ = writeln!(
        text,
        "\n| scene | promised, 10 min | first plan as written | plan at the crew's pace | square | one side | nearest | worth over best habit |"
    );
    let _ = writeln!(text, "|---|---|---|---|---|---|---|---|");
    for row in rows {
        let v = &row.verdict;
        let at = 2;
        let shares: Vec<String> = v
            .columns
            .iter()
            .map(|c| format!("{:.0} ± {:.0} %", 100.0 * c.found_by[at].mean, 100.0 * c.found_by[at].error))
            .collect();
        let best = v.gains.iter().min_by(|a, b| a.worth.mean.total_cmp(&b.worth.mean));
        let _ = writeln!(
            text,
            "| {}, {} people, current × {} | {} | {} | {} |",
            witness_words(row.witnesses),
            row.crew,
            row.current,
            percent(v.promised[at]),
            shares.join(" | "),
            best.map_or(String::new(), |gain| worth(row, gain).replace("worth ", ""))
        );
    }
}

fn columns(cells: &[String]) -> String {
    cells.iter().map(|cell| format!("{cell:>13}")).collect()
}
