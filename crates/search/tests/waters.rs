//! Random small waters and crews: no plan breaks a rule, no value passes its ceiling, nobody is left without an order.

mod common;

use common::*;
use measure::{Bearing, Seed, Spot, chance::Draws};
use rayon::prelude::*;
use search::{
    Method,
    orders::{BREATH_WORDS, Order, orders},
    plan::{Crew, Plan, Request, Spent, check::check, plan},
};
use water::{Bed, Cover, FloatVelocity, Flow, Hours, Kind, Shape, Support, Units};

/// Waters tried; `FATHOMLINE_WATERS` asks for more.
fn count() -> u64 {
    #[allow(clippy::disallowed_methods)] // a test is told its size from outside, as proptest is
    std::env::var("FATHOMLINE_WATERS").ok().and_then(|text| text.parse().ok()).unwrap_or(2_000)
}

fn chance(draws: &mut Draws, share: f64) -> bool {
    draws.u01() < share
}

fn random_crew(draws: &mut Draws) -> Vec<water::Member> {
    let mut people = crew(draws.index(13));
    for m in &mut people {
        m.height_m = draws.between(1.45, 2.0);
        m.wade = chance(draws, 0.8);
        m.dive_m = chance(draws, 0.6).then(|| draws.between(0.5, 6.0));
        m.board = chance(draws, 0.3);
        m.lookout = chance(draws, 0.5);
        m.lead = chance(draws, 0.3);
        m.volunteer = chance(draws, 0.2);
        if chance(draws, 0.1) {
            m.hours = vec![Hours { from_s: 0.0, to_s: draws.between(0.0, 86_400.0) }];
        }
    }
    people
}

fn random_world(number: u64) -> World {
    let mut draws = Seed(number).stream("waters").draws();
    let (cols, rows) = (4 + draws.index(70), 4 + draws.index(70));
    let (deep, slope, turn) = (draws.between(-0.5, 3.0), draws.between(0.0, 0.12), draws.between(0.0, 360.0));
    let way = Spot::towards(Bearing::new(turn), 1.0);
    let hump = Spot::new(draws.between(0.0, cols as f64), draws.between(0.0, rows as f64));
    let height = draws.between(-3.0, 4.0);
    let mut ground = ground(cols, rows, |s| {
        let off = s.distance(hump);
        deep + slope * s.dot(way) - height * (-off * off / 60.0).exp()
    });
    for _ in 0..draws.index(5) {
        let (east, north, side) =
            (draws.between(0.0, cols as f64), draws.between(0.0, rows as f64), draws.between(1.0, 8.0));
        let what = draws.index(5);
        for cell in 0..ground.grid.len() {
            let s = ground.grid.centre(cell);
            if s.east < east || s.north < north || s.east > east + side || s.north > north + side {
                continue;
            }
            match what {
                0 => ground.depth_m[cell] = f64::NAN,
                1 => ground.keep_off[cell] = true,
                2 => ground.cover[cell] = Cover::Land,
                3 if ground.depth_m[cell] > 0.0 => ground.cover[cell] = Cover::Under,
                _ => ground.bed[cell] = Bed::Weed,
            }
        }
    }
    let inside =
        |draws: &mut Draws| Spot::new(draws.between(0.0, cols as f64), draws.between(0.0, rows as f64));
    let mut features = if chance(&mut draws, 0.7) { marks() } else { Vec::new() };
    if chance(&mut draws, 0.25) {
        features.push(feature("Weir", Kind::NoGo, Shape::Point(inside(&mut draws))));
    }
    if chance(&mut draws, 0.2) {
        let line = vec![inside(&mut draws), inside(&mut draws)];
        features.push(feature("Intake", Kind::NoGo, Shape::Line(line)));
    }
    if chance(&mut draws, 0.2) {
        features.push(feature("Pontoon", Kind::Raft(Support::Floating), square(5.0, 5.0, 4.0)));
    }
    let velocity = Spot::towards(Bearing::new(draws.between(0.0, 360.0)), draws.between(0.0, 0.7));
    let flow = match draws.index(3) {
        0 => Flow::Still,
        1 => Flow::Uniform { velocity, covariance: [1e-4, 0.0, 1e-4] },
        _ => Flow::Field {
            runs: (0..3)
                .map(|k| FloatVelocity {
                    spot: inside(&mut draws),
                    velocity: velocity * (0.3 * f64::from(k)),
                    variance: 1e-4,
                })
                .collect(),
        },
    };
    let last_seen = inside(&mut draws);
    let heaps =
        [(last_seen, draws.between(0.5, 15.0), 0.7), (inside(&mut draws), draws.between(2.0, 20.0), 0.3)];
    let belief = belief(&ground, &heaps, if chance(&mut draws, 0.05) { 0 } else { 1500 });
    let mut site = site(features);
    site.units = if chance(&mut draws, 0.3) { Units::Feet } else { Units::Metric };
    let mut day = day(random_crew(&mut draws));
    day.water_c = draws.between(2.0, 28.0);
    day.secchi_m = draws.between(0.1, 6.0);
    day.kit.boards = draws.index(2) as u32;
    day.kit.fins = 3 * draws.index(5) as u32;
    let people = (0..day.crew.len())
        .map(|member| Crew {
            member,
            from_s: if chance(&mut draws, 0.3) { draws.between(-30.0, 600.0) } else { 0.0 },
            at: inside(&mut draws),
            out: chance(&mut draws, 0.08),
            spent: None,
        })
        .collect();
    World { site, day, ground, flow, belief, crew: people, last_seen }
}

/// What is wrong with a plan, if anything.
fn wrong(plan: &Plan, request: &Request) -> Option<String> {
    let review = check(plan, request);
    if let Some(broken) = review.violations.first() {
        return Some(format!("{}: {}", broken.rule, broken.what));
    }
    if let Some(note) = plan.notes.iter().find(|n| n.contains("stood up to the check")) {
        return Some(note.clone());
    }
    if !(plan.value.is_finite() && plan.value <= plan.ceiling * (1.0 + 1e-9) + 1e-12) {
        return Some(format!("value {} over ceiling {}", plan.value, plan.ceiling));
    }
    let found: Vec<f64> = plan.found_by.iter().map(|f| f.1).collect();
    if found.windows(2).any(|w| w[0] > w[1]) || found.iter().any(|f| !(0.0..=1.0).contains(f)) {
        return Some(format!("chances {found:?}"));
    }
    let told = orders(plan, &request.setting, request.alarm_at_s);
    if told.is_empty() || told.iter().any(|o| o.words.contains("NaN") || o.words.contains("inf ")) {
        return Some(format!("orders {told:?}"));
    }
    let breath = |o: &&Order| o.words[o.to.len()..].split_whitespace().count() > BREATH_WORDS + 1;
    if let Some(long) = told.iter().find(breath) {
        return Some(format!("more than a breath: {}", long.words));
    }
    let idle = request.crew.iter().filter(|c| !c.out && c.from_s <= request.now_s).find(|person| {
        let on = request.setting.day.crew[person.member].on_duty(request.alarm_at_s + request.now_s);
        on && plan.jobs.iter().all(|j| j.0 != person.member)
    });
    idle.map(|person| format!("member {} has no job", person.member))
}

/// What one water came to.
#[derive(Default)]
struct Tried {
    failures: Vec<String>,
    with_runs: bool,
    under_way: bool,
    /// Somebody comes later than a line forms, and is in a line.
    late: bool,
    /// Volunteers in a line.
    helped: bool,
    /// Somebody of a line under way is tired out.
    tired: bool,
    /// Somebody has dived or waded before, and searches again.
    again: bool,
    /// Somebody came after the first plan.
    came: bool,
}

/// Everybody as a plan leaves them some time later: where they are, what they have behind them, who is tired, who came.
fn later(before: &Plan, crew: &[Crew], now_s: f64, draws: &mut Draws) -> Vec<Crew> {
    let mut crew = crew.to_vec();
    for c in &mut crew {
        let member = c.member;
        if c.out && chance(draws, 0.5) {
            (c.out, c.from_s) = (false, now_s);
            continue;
        }
        let begun = before.runs.iter().filter(|r| r.from_s <= now_s);
        let mut mine: Vec<_> = begun.filter(|r| before.teams[r.team].members.contains(&member)).collect();
        mine.sort_by(|a, b| a.from_s.total_cmp(&b.from_s));
        let (Some(first), Some(last)) = (mine.first(), mine.last()) else { continue };
        let (mut dives, mut up_s) = (0, f64::NEG_INFINITY);
        for run in mine.iter().filter(|r| before.teams[r.team].method == Method::Dive) {
            dives = if run.from_s - up_s >= 300.0 { 0 } else { dives } + run.legs.len();
            up_s = run.to_s;
        }
        c.at = last.to;
        c.from_s = if last.under_way { last.to_s } else { now_s };
        c.spent = Some(Spent {
            method: before.teams[last.team].method,
            ended_s: last.to_s.min(c.from_s),
            dives,
            since_s: first.from_s,
        });
        c.out = chance(draws, 0.1);
    }
    crew
}

/// Plans on a random water, and again a while later.
fn tried(number: u64) -> Tried {
    let world = random_world(number);
    // One in sixteen is improved as well: changed plans must keep the rules too.
    let effort = if number % 16 == 0 { 8_000 } else { 12 };
    let first = Request { effort, seed: Seed(number), ..world.request() };
    let mut before = plan(&first);
    let mut tried = Tried::default();
    tried.failures.extend(wrong(&before, &first).map(|what| format!("water {number}: {what}")));
    let lines = |plan: &Plan| -> Vec<usize> {
        plan.runs.iter().filter(|r| !r.under_way).flat_map(|r| plan.teams[r.team].members.clone()).collect()
    };
    tried.with_runs = !before.runs.is_empty();
    tried.late = lines(&before).iter().any(|&k| world.crew[k].from_s > 60.0);
    tried.helped = lines(&before).iter().any(|&k| world.day.crew[k].volunteer);
    // A while later: what has begun is under way, everybody is where their run left them.
    let mut draws = Seed(number).stream("later").draws();
    let now_s = [150.0, 400.0, 900.0][draws.index(3)];
    for run in &mut before.runs {
        run.under_way = run.from_s <= now_s && run.to_s > now_s;
    }
    let crew = later(&before, &world.crew, now_s, &mut draws);
    let second = Request { now_s, before: Some(&before), crew: &crew, ..first };
    let next = plan(&second);
    tried.failures.extend(wrong(&next, &second).map(|what| format!("water {number} again: {what}")));
    tried.under_way = before.runs.iter().any(|run| run.under_way);
    let busy = before.runs.iter().filter(|r| r.under_way);
    tried.tired = busy.flat_map(|r| &before.teams[r.team].members).any(|&k| crew[k].out);
    tried.again = lines(&next).iter().any(|&k| crew[k].spent.is_some());
    tried.came = lines(&next).iter().any(|&k| world.crew[k].out);
    tried
}

// shows: PL-1, PL-3
#[test]
fn no_rule_is_broken_on_random_waters_nor_by_planning_again() {
    let all: Vec<Tried> = (0..count()).into_par_iter().map(tried).collect();
    let failures: Vec<String> = all.iter().flat_map(|one| one.failures.clone()).collect();
    assert!(failures.is_empty(), "{} failures\n{}", failures.len(), failures.join("\n"));
    let often = |what: &str, share: u64, of: fn(&Tried) -> bool| {
        let seen = all.iter().filter(|one| of(one)).count() as u64;
        assert!(seen * share > count(), "{what}: {seen} waters of {}", count());
    };
    often("anything to search", 3, |one| one.with_runs);
    often("lines under way when planned again", 10, |one| one.under_way);
    often("somebody late in a line", 20, |one| one.late);
    often("volunteers in a line", 20, |one| one.helped);
    often("somebody tired under way", 50, |one| one.tired);
    often("somebody who searches again", 5, |one| one.again);
    often("somebody who came in a line", 50, |one| one.came);
}
