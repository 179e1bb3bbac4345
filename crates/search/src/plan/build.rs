//! Builds a plan: splits of the people, greedy fills, the best improved by effort, checked before it is given.

use super::{
    Outlook, Plan, Request, Run,
    ceiling::ceiling,
    check::broken_rules,
    draft::Draft,
    fill::{Field, Power, Recipe, fill, first_gains, strips_meet},
    gaps::gaps,
    improve::Improver,
    keep::kept,
    lanes::{COARSE, Catalogue, FINE, Shape},
    lone::{Piece, first_guard, under_cover, under_way},
    pool::{FILL_TRIALS, POWERS, Pool},
    posts::{Posts, posts},
    price::of_plan,
    problem::{Person, Problem},
    roles::{Line, Split, kit_for, splits},
    start::{Alone, Start},
    why::{why, why_next},
    write::write,
};
use crate::{Method, lines::wade_depth, orders::clock};
use measure::parameters::value;
use rayon::prelude::*;

/// Splits that are planned on fine lanes with every power.
const DEEPER: usize = 3;

/// The best plan found within the effort asked for.
///
/// Posts are filled first (lead, lookout, gate); every split of the others over wading and dive lines is
/// filled greedily by gain over a power of time; the best three are filled with every power, started at
/// places well apart, cut and refilled, and changed run by run until the effort is spent. The plan is checked by code that shares nothing with
/// this; what it rejects is not given. Model `plan`, docs/models/plan.md.
///
/// # Inputs
/// - `request`
///
/// # Gives
/// A plan with its value, ceiling, gaps and notes; never empty-handed: with nobody to send, its notes say what can still be done.
///
/// # Source
/// greedy by gain over a power of time, ruin-and-refill, annealing: chosen by trials on invented waters
pub fn plan(request: &Request) -> Plan {
    plan_by(request, &Outlook::default())
}

/// The best plan for another view of what the register says: how much a plan leans on a value that may be wrong.
///
/// # Inputs
/// - `request` · `outlook`
///
/// # Gives
/// As [`plan`]; the sweeps carry the chances of the outlook.
///
/// # Source
/// as [`plan`]
pub fn plan_by(request: &Request, outlook: &Outlook) -> Plan {
    let problem = Problem::new(request, outlook);
    let posts = posts(&problem);
    let covers = under_cover(&problem, request.now_s);
    let clear = super::lanes::look_shape(problem.setting().day.secchi_m).is_some();
    let splits = splits(&problem, &posts, usize::from(clear || !covers.is_empty()));
    let coarse = library(&problem, &splits, COARSE);
    let (splits, ranked) = likely(&problem, splits, &coarse);
    let library = library(&problem, &splits, FINE);
    let fields: Vec<Field> = splits.iter().map(|split| field(&problem, split, &library)).collect();
    let written = |split: usize, draft: &Draft| {
        let plan = write(&problem, &posts, Some((&splits[split], &fields[split], draft)));
        let refused = broken_rules(&plan, request).into_iter().next();
        (plan, refused)
    };
    let mut pool = Pool::begin(&problem, &fields, ranked);
    if pool.spent < request.effort {
        pool.improve(&problem, &fields, &|split, draft| written(split, draft).1.is_none());
    }
    let (mut refused, mut sound) = (None, None);
    for (split, draft) in &pool.drafts {
        match written(*split, draft) {
            (mut plan, None) => {
                plan.priced = of_plan(&problem, &plan);
                plan.why = why(&problem, (&splits[*split], &fields[*split], draft), &plan);
                sound = Some(plan);
                break;
            }
            (_, broken) => refused = refused.or(broken),
        }
    }
    let mut chosen = sound.unwrap_or_else(|| {
        let mut bare = write(&problem, &posts, None);
        bare.notes.extend(refused.map(|broken| {
            format!(
                "no line order stood up to the check ({}); search by the local plan and ask again",
                broken.what
            )
        }));
        bare
    });
    if let Some(kept) = kept(&problem, &chosen).filter(|kept| broken_rules(kept, request).is_empty()) {
        chosen = kept;
        chosen.why = why_next(&problem, &chosen, [&library, &coarse]);
    }
    chosen.evaluations = pool.spent;
    chosen.ceiling = ceiling(&problem, &posts);
    chosen.gaps = gaps(&problem, &chosen, &library.iter().chain(&coarse).map(|(c, _)| c).collect::<Vec<_>>());
    notes(&problem, &posts, &coarse, &mut chosen);
    chosen
}

/// How many whole plans are valued, one after another on one thread, in so many changes of the first plan: what the pace
/// of improving is measured by.
///
/// # Inputs
/// - `request`: its effort is not used · `changes`: tried
///
/// # Gives
/// Plans valued to their end on the cells; changes that a rule refuses before are not counted.
///
/// # Source
/// as [`plan`]
pub fn valued(request: &Request, changes: u64) -> u64 {
    let problem = Problem::new(request, &Outlook::default());
    let posts = posts(&problem);
    let splits = splits(&problem, &posts, 0);
    let coarse = library(&problem, &splits, COARSE);
    let (splits, ranked) = likely(&problem, splits, &coarse);
    let library = library(&problem, &splits, FINE);
    let fields: Vec<Field> = splits.iter().map(|split| field(&problem, split, &library)).collect();
    let pool = Pool::begin(&problem, &fields, ranked);
    let Some((split, draft)) = pool.drafts.first() else { return 0 };
    Improver::new(&problem, &fields[*split]).valued(draft, changes, request.seed.stream("plan pace"))
}

/// Lanes of every shape of line, with what each leg finds at first.
pub(super) type Library = Vec<(Catalogue, Vec<f64>)>;

fn library(problem: &Problem, splits: &[Split], offsets: usize) -> Library {
    let mut shapes: Vec<Shape> = Vec::new();
    for line in splits.iter().flat_map(|split| &split.lines) {
        if !shapes.contains(&line.shape) {
            shapes.push(line.shape.clone());
        }
    }
    shapes
        .into_par_iter()
        .map(|shape| {
            let catalogue = Catalogue::new(problem, shape, offsets);
            let gains = first_gains(problem, &catalogue);
            (catalogue, gains)
        })
        .collect()
}

/// A split with its lanes, its first guard and its pole.
fn field<'a>(problem: &Problem, split: &'a Split, library: &'a Library) -> Field<'a> {
    let request = problem.request;
    let rules = &problem.rules;
    let mut pieces = frozen_pieces(problem);
    let mut guard: Option<(Person, Option<Alone>)> = None;
    if let Some((first, watcher)) = split.first
        && let Some(person) = problem.person(first)
    {
        let there_s =
            person.from_s + rules.reaction_s + person.at.distance(request.last_seen) / rules.gather_mps;
        let in_line = split.lines.iter().any(|line| line.members.contains(&first));
        let watched = watcher.and_then(|k| problem.person(k)).is_some_and(|w| w.from_s <= there_s);
        // Nobody watches a lone diver and a dive line at once.
        let shared = watched && split.lines.iter().any(|line| line.lookout == watcher);
        let until_s = if in_line || shared { request.now_s + rules.form_s - 15.0 } else { f64::INFINITY };
        let piece = first_guard(problem, person, watched, until_s);
        let free_s = piece.as_ref().map_or(there_s + 5.0, |p| p.to_s);
        let alone = piece.as_ref().map(|p| alone_before(problem, first, p));
        pieces.extend(piece);
        guard = Some((first_ready(problem, first, free_s), alone));
    }
    pieces.extend(pole(problem, split, &pieces).into_iter().flat_map(|(_, pieces)| pieces));
    field_of(problem, &split.lines, (pieces, guard), library)
}

/// Lines with their lanes, after the pieces that come first; every shape of theirs is in the library.
///
/// Of the first guard: when and where they are free for a line, and what they searched alone before.
pub(super) fn field_of<'a>(
    problem: &Problem,
    lines: &'a [Line],
    (pieces, guard): (Vec<Piece>, Option<(Person, Option<Alone>)>),
    library: &'a Library,
) -> Field<'a> {
    let ready = |k: usize| match guard {
        Some((first, _)) if first.member == k => Some(first),
        _ => problem.person(k).copied(),
    };
    let alone = guard.and_then(|(_, alone)| alone);
    let entry = |shape: &Shape| {
        library.iter().find(|(c, _)| c.shape == *shape).expect("the library holds every shape of every split")
    };
    Field {
        lines,
        catalogues: lines.iter().map(|line| &entry(&line.shape).0).collect(),
        spreads: pieces.iter().map(|piece| problem.blocks.of_piece(piece)).collect(),
        pieces,
        // A line waits for its lookout as well.
        ready: lines
            .iter()
            .map(|line| line.members.iter().chain(&line.lookout).filter_map(|&k| ready(k)).collect())
            .collect(),
        starts: lines.iter().map(|line| Start::of(problem, line, alone)).collect(),
        gains: lines.iter().map(|line| entry(&line.shape).1.as_slice()).collect(),
    }
}

/// The first guard once they are free for a line.
pub(super) fn first_ready(problem: &Problem, member: usize, from_s: f64) -> Person {
    Person { member, from_s, at: problem.request.last_seen, spent: None }
}

/// What a line takes over of a first guard who searched alone; whoever dived rests before they dive again.
pub(super) fn alone_before(problem: &Problem, first: usize, piece: &Piece) -> Alone {
    let stands_m = wade_depth(problem.member(first), &problem.setting().site.limits).unwrap_or(0.0);
    let rest_s = if piece.depth_m > stands_m { value("rest_least_s") } else { 0.0 };
    Alone { who: first, begun_s: piece.from_s, rested_s: piece.to_s + rest_s }
}

/// Runs under way, as pieces that are searched whatever is planned.
fn frozen_pieces(problem: &Problem) -> Vec<Piece> {
    let Some(before) = problem.request.before else { return Vec::new() };
    let runs: Vec<&Run> = before.runs.iter().filter(|run| run.under_way).collect();
    let pairs: Vec<_> = runs.iter().map(|run| (*run, &before.teams[run.team])).collect();
    under_way(problem, &pairs)
}

/// Who poles under rafts and docks in a split, and the pieces in order.
///
/// `others` are the pieces already set; the pole waits until whoever works close by has finished.
pub(super) fn pole(problem: &Problem, split: &Split, others: &[Piece]) -> Option<(usize, Vec<Piece>)> {
    let looking = split.lines.iter().filter(|line| line.shape.method == Method::Look).count();
    if !kit_for(problem, Method::Pole, looking) {
        return None;
    }
    let first = split.first.map(|f| f.0);
    let who = split.spare.iter().copied().find(|&k| Some(k) != first && !problem.member(k).volunteer)?;
    let person = problem.person(who)?;
    let rules = &problem.rules;
    let (mut free_s, mut at) = (person.from_s + rules.reaction_s, person.at);
    let mut pieces = Vec::new();
    for (mut piece, _) in under_cover(problem, problem.request.now_s).into_iter().take(3) {
        let (from, to, _) = piece.outline();
        let near = |other: &&Piece| strips_meet(other.outline(), piece.outline(), rules.apart_m);
        let clear_s = others.iter().filter(near).map(|other| other.to_s + 1.0).fold(0.0, f64::max);
        let begin_s = (free_s + at.distance(from) / rules.gather_mps + rules.order_s).max(clear_s);
        let seconds = piece.to_s - piece.from_s;
        piece.from_s = begin_s;
        piece.to_s = begin_s + seconds;
        if piece.to_s > problem.end_s || !problem.may_pass(at, from) {
            break;
        }
        (free_s, at) = (piece.to_s, to);
        pieces.push(piece);
    }
    (!pieces.is_empty()).then_some((who, pieces))
}

/// The splits worth most on coarse lanes, best first, and the effort that took.
fn likely(problem: &Problem, splits: Vec<Split>, coarse: &Library) -> (Vec<Split>, u64) {
    let power = Power::new(POWERS[0]);
    let fields: Vec<Field> = splits.iter().map(|split| field(problem, split, coarse)).collect();
    let mut drafts: Vec<(usize, Draft)> = fields
        .par_iter()
        .enumerate()
        .map(|(k, field)| (k, fill(problem, field, &[], Recipe { power: &power, noise: None })))
        .collect();
    super::pool::sort(&mut drafts);
    let ranked = drafts.len() as u64 * FILL_TRIALS;
    (drafts.iter().take(DEEPER).map(|(k, _)| splits[*k].clone()).collect(), ranked)
}

/// Plain statements about who and what there is.
fn notes(problem: &Problem, posts: &Posts, library: &Library, plan: &mut Plan) {
    let day = problem.setting().day;
    let site = problem.setting().site;
    let mut notes = posts.notes.clone();
    let call = if site.emergency_number.is_empty() {
        "the local emergency number".to_string()
    } else {
        site.emergency_number.clone()
    };
    match problem.people.len() {
        0 => notes.push(format!(
            "nobody can be sent: call {call}, count the bathers out, keep eyes on the last seen point, throw or reach from the edge"
        )),
        1 => notes.push(format!(
            "one person alone stays out of the water: call {call}, mark the last seen point against two shore marks, count, look, throw or reach; send bathers for help"
        )),
        _ if posts.lead.is_none() => notes.push(format!(
            "nobody here is qualified to search in the water: call {call}, clear and count the water, look from the shore and the dock, throw or reach, keep the witness where they stand"
        )),
        _ => {}
    }
    let divers = problem.people.iter().filter(|p| day.crew[p.member].dive_m.is_some()).count();
    if posts.lead.is_some() && problem.people.len() > 1 {
        if problem.rules.dive_s.is_none() {
            notes.push(format!("water of {:.0} °C: no surface dives without a wetsuit", day.water_c));
        } else if divers == 0 {
            notes.push("nobody here may dive: what is too deep to wade is not searched".into());
        } else if library.iter().any(|(c, _)| c.cannot_advance) {
            notes.push(
                "a dive line cannot advance at today's dive time: too short a way along the bottom".into(),
            );
        }
        if !problem.people.iter().any(|p| day.crew[p.member].lookout) && divers > 0 {
            notes.push("nobody here may be lookout: no dives".into());
        }
    }
    if problem.cells.total <= 0.0 {
        notes.push(
            "the belief holds nothing on the bottom: mark the last seen point, shore check first".into(),
        );
    }
    let last_s = plan.runs.iter().map(|r| r.to_s).fold(0.0, f64::max);
    if !plan.runs.is_empty() && last_s < problem.end_s - 300.0 && problem.rules.turn_limit_s > 1200.0 {
        notes.push(format!(
            "after {:.0} minutes nothing in reach is worth a lane: widen, down-current, the other depth, elsewhere",
            (last_s - problem.request.now_s).max(0.0) / 60.0
        ));
    }
    let named = |p: &Person| {
        format!("{} {}", problem.member(p.member).name, clock(problem.request.alarm_at_s, p.from_s))
    };
    let later: Vec<String> = problem.people.iter().filter(|p| problem.is_late(p.member)).map(named).collect();
    if !later.is_empty() {
        notes.push(format!("free only later, and planned with from then: {}", later.join(", ")));
    }
    let late = problem.request.crew.len() - problem.people.len().min(problem.request.crew.len());
    if late > 0 {
        notes.push(format!("{late} of the crew cannot be sent: off duty, out, or too late"));
    }
    notes.append(&mut plan.notes);
    plan.notes = notes;
}
