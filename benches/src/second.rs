//! What a second of planning is worth: several alarms on three real waters, each with its first plan, the plan of a second
//! beside that of a minute, what the price of orders costs, and how long a report takes to be answered.

use measure::{Seed, Spot};
use search::belief::Belief;
use search::course::{Course, Told};
use search::plan::{Crew, Outlook, Plan, Request, check::check, plan, plan_by, valued};
use search::told::{Happening, Report};
use search::{Alarm, AlarmKind, Missing, Seen, Setting, Sighting, WitnessClass, zero::at_posts};
use serde_json::json;
use water::door::{SiteFiles, read_day, read_site};
use water::{Day, Flow, Ground, Site};

/// Particles of a belief.
const PARTICLES: usize = 200_000;
/// Depths at which somebody was last seen \[m\], and the standard error that goes with each \[m\].
const PLACES: [(f64, f64); 3] = [(1.0, 7.0), (1.8, 7.0), (2.8, 12.0)];
/// Reports that are answered one after another.
const REPORTS: usize = 10;
/// Effort by which the pace of improving is measured.
const PACED: u64 = 160_000;

macro_rules! folder {
    ($name:literal, $($file:literal),*) => {
        ($name, [$(($file, &include_bytes!(concat!("../../data/sites/", $name, "/", $file))[..])),*].to_vec())
    };
}

/// A site's folder: name, and every file with its bytes.
type Folder = (&'static str, Vec<(&'static str, &'static [u8])>);

/// The three waters, by their site folders.
fn folders() -> [Folder; 3] {
    [
        folder!("kestrel-tarn", "site.toml", "map.geojson", "soundings.csv", "day.toml"),
        folder!("lake-227", "site.toml", "map.geojson", "227_LA.csv", "day.toml"),
        folder!(
            "pleasant-lake",
            "site.toml",
            "map.geojson",
            "pleasant_elevation.tif",
            "pleasant_elevation.tfw",
            "day.toml"
        ),
    ]
}

/// A water with its day and crew.
struct Water {
    name: &'static str,
    site: Site,
    day: Day,
    ground: Ground,
    flow: Flow,
    crew: Vec<Crew>,
}

impl Water {
    fn new((name, files): Folder) -> Self {
        let kept = files.iter().filter(|(file, _)| *file != "day.toml");
        let files_of =
            SiteFiles { files: kept.map(|(file, bytes)| (file.to_string(), bytes.to_vec())).collect() };
        let site = read_site(&files_of).value.expect("the site passes its own door");
        let day = files.iter().find(|(file, _)| *file == "day.toml").expect("a day").1;
        let day = read_day("day.toml", day, &site).value.expect("the day passes its own door");
        let ground = Ground::build(&site, day.stage_m).value;
        let flow = Flow::from_floats(&day.floats).value;
        let crew = at_posts(&Setting { site: &site, day: &day, ground: &ground, flow: &flow });
        Water { name, site, day, ground, flow, crew }
    }

    fn setting(&self) -> Setting<'_> {
        Setting { site: &self.site, day: &self.day, ground: &self.ground, flow: &self.flow }
    }

    /// The water of about a depth that is nearest to where people stand.
    fn place(&self, depth_m: f64) -> Spot {
        let stand = self.crew.first().map_or(Spot::default(), |c| c.at);
        let near = |spot: &Spot| (spot.distance(stand) / 10.0).round();
        let cells = (0..self.ground.grid.len())
            .filter(|&cell| self.ground.is_water(cell) && (self.ground.depth_m[cell] - depth_m).abs() < 0.15);
        let spots = cells.map(|cell| self.ground.grid.centre(cell));
        spots.min_by(|a, b| near(a).total_cmp(&near(b))).expect("water of every depth asked for")
    }
}

/// What is planned for an alarm: nothing is under way yet.
fn request<'a>(
    water: &'a Water,
    (alarm, last_seen): (&Alarm, Spot),
    belief: &'a Belief,
    effort: u64,
) -> Request<'a> {
    Request {
        setting: water.setting(),
        belief,
        crew: &water.crew,
        now_s: 0.0,
        alarm_at_s: alarm.at_s,
        last_seen,
        missing_height_m: alarm.missing.height_m,
        before: None,
        seed: Seed(1),
        effort,
    }
}

/// One alarm.
fn alarm(spot: Spot, error_m: f64) -> Alarm {
    let sighting = |by: &str, class, spot: Spot, error_m, at_s| Sighting {
        by: by.into(),
        class,
        seen: Seen::Point { spot, error_m: Some(error_m), stood: None },
        heading: None,
        from_s: at_s,
        to_s: at_s + 30.0,
        went_under: false,
        talked_with: Vec::new(),
    };
    Alarm {
        kind: AlarmKind::CountShort,
        at_s: 14.5 * 3600.0,
        missing: Missing { height_m: 1.4, swimmer: None },
        sightings: vec![
            sighting("cousin", WitnessClass::Companion, spot, error_m, -150.0),
            sighting("guard", WitnessClass::Guard, spot + Spot::new(9.0, 5.0), error_m + 2.0, -120.0),
        ],
    }
}

/// Prints one line for each alarm; a minute of one core for each is spent on the plan of a minute.
///
/// `only`: the water whose alarms are taken, or one alarm as `water/depth`; nothing takes all of them.
pub fn run(threads: usize, repeats: usize, only: &str) {
    let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().expect("a pool of threads");
    for folder in folders() {
        let water = Water::new(folder);
        for (depth_m, error_m) in PLACES {
            let wanted = ["", water.name].contains(&only) || only == format!("{}/{depth_m:.1}", water.name);
            if wanted {
                pool.install(|| measure(&water, (depth_m, error_m), threads, repeats));
            }
        }
    }
}

/// Prints one line for each alarm: what its first plan takes, and how many whole plans are valued a second.
pub fn run_first(threads: usize, repeats: usize) {
    let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().expect("a pool of threads");
    for folder in folders() {
        let water = Water::new(folder);
        for place in PLACES {
            pool.install(|| first(&water, place, threads, repeats));
        }
    }
}

fn first(water: &Water, (depth_m, error_m): (f64, f64), threads: usize, repeats: usize) {
    let setting = water.setting();
    let last_seen = water.place(depth_m);
    let alarm = alarm(last_seen, error_m);
    let belief =
        |seed| Belief::start(&setting, &alarm, Seed(seed), PARTICLES).value.broad(&setting, Seed(seed));
    let (known, fresh) = (belief(1), belief(1001));
    let request = |belief| request(water, (&alarm, last_seen), belief, Request::FIRST_EFFORT);
    let spent = |changes: u64| {
        let before = crate::cpu_s();
        (valued(&request(&known), changes), crate::cpu_s() - before)
    };
    // Both set up alike: the difference is changes alone.
    let ((few, few_s), (many, many_s)) = (spent(10_000), spent(70_000));
    let params = json!({ "water": water.name, "depth_m": depth_m, "people": water.crew.len() });
    let work = || plan(&request(&known));
    crate::report("first", "plan", params, threads, repeats, work, |made| {
        json!({
            "value": made.value, "price": made.price, "orders": made.runs.len(),
            "cells_over_fresh_particles": made.value / check(made, &request(&fresh)).value,
            "whole_plans_valued_per_cpu_s": (many - few) as f64 / (many_s - few_s),
            "valued_of_changes": (many - few) as f64 / 60_000.0,
        })
    });
}

fn measure(water: &Water, place: (f64, f64), threads: usize, repeats: usize) {
    let setting = water.setting();
    let last_seen = water.place(place.0);
    let alarm = alarm(last_seen, place.1);
    let belief = Belief::start(&setting, &alarm, Seed(1), PARTICLES).value.broad(&setting, Seed(1));
    let request = |effort| request(water, (&alarm, last_seen), &belief, effort);
    let timed = |effort: u64| {
        let before = crate::cpu_s();
        let made = plan(&request(effort));
        (made, crate::cpu_s() - before)
    };
    let mut first_s: Vec<f64> = (0..repeats.max(3)).map(|_| timed(Request::FIRST_EFFORT).1).collect();
    first_s.sort_by(f64::total_cmp);
    let (quick, quick_s) = timed(1);
    let (paced, paced_s) = timed(PACED);
    let rate = (paced.evaluations - quick.evaluations) as f64 / (paced_s - quick_s);
    // Effort that takes so many seconds on one core, the first plan among them.
    let effort = |seconds: f64| (quick.evaluations as f64 + rate * (seconds - quick_s).max(0.0)) as u64;
    let (one, one_s) = timed(effort(1.0));
    let (minute, minute_s) = timed(effort(60.0));
    let free = plan_by(&request(effort(1.0)), &Outlook { price: 0.0, ..Outlook::default() });
    let mut answers = answers(water, &alarm);
    answers.sort_by(f64::total_cmp);
    let said = |plan: &Plan| json!({ "value": plan.value, "price": plan.price, "orders": plan.runs.len(), "quarter_turns": quarter_turns(plan) });
    let line = json!({
        "workload": "second", "variant": "plan",
        "params": { "water": water.name, "depth_m": place.0, "people": water.crew.len() },
        "threads": threads, "median_s": one_s, "min_s": one_s, "cpu_median_s": one_s, "times_s": [one_s],
        "result": {
            "first_cpu_s": first_s[first_s.len() / 2],
            "second": said(&one), "second_cpu_s": one_s,
            "minute": said(&minute), "minute_cpu_s": minute_s,
            "second_of_minute": one.value / minute.value,
            "worth_second_of_minute": (one.value - one.price) / (minute.value - minute.price),
            "without_price": said(&free),
            "simplicity_costs": 1.0 - one.value / free.value.max(1e-300),
            "answer_median_cpu_s": answers[answers.len() / 2],
            "answer_most_cpu_s": answers[answers.len() - 1],
        },
    });
    println!("{line}");
}

/// Lanes at 45 to 135 degrees to the one before of the same line.
fn quarter_turns(plan: &Plan) -> usize {
    (0..plan.teams.len())
        .map(|team| {
            let mine: Vec<_> =
                plan.runs.iter().filter(|run| run.team == team && run.from != run.to).collect();
            let turns = mine.windows(2).filter(|pair| {
                let off = pair[0].from.bearing_to(pair[0].to).angle_to(pair[1].from.bearing_to(pair[1].to));
                (45.0..135.0).contains(&off)
            });
            turns.count()
        })
        .sum()
}

/// Seconds on a core from a report to new orders: lanes that end, a new witness and one more guard among them.
fn answers(water: &Water, alarm: &Alarm) -> Vec<f64> {
    let setting = water.setting();
    let told = Told {
        alarm: alarm.clone(),
        reports: Vec::new(),
        now_s: None,
        seed: Seed(1),
        particles: PARTICLES,
        effort: Request::SECOND_EFFORT,
    };
    let mut course = Course::open(&setting, &told);
    let mut spent = Vec::new();
    for line in 1..=REPORTS {
        let open = course.begun.iter().filter(|b| b.ended_s.is_none());
        let next = open.min_by(|a, b| a.run.to_s.total_cmp(&b.run.to_s)).map(|b| (b.number, b.run.to_s));
        let happening = match (line, next) {
            (4, _) => {
                let mut sighting = alarm.sightings[0].clone();
                sighting.by = "swimmer".into();
                let Seen::Point { spot, .. } = &mut sighting.seen else { break };
                *spot = *spot + Spot::new(-12.0, 6.0);
                Happening::Witness(sighting)
            }
            (_, Some((order, _))) => Happening::LaneWalked { order },
            (_, None) => {
                course.pass_to(course.now_s + 60.0);
                continue;
            }
        };
        let at_s = next.map_or(course.now_s, |(_, to_s)| to_s).max(course.now_s);
        let before = crate::cpu_s();
        course.report(&setting, &told, &Report { at_s, happening, line });
        course.orders(&setting);
        spent.push(crate::cpu_s() - before);
        course.pass_to(at_s);
    }
    spent
}
