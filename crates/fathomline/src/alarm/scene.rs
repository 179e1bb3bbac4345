//! The picture of a search.

use super::Outcome;
use crate::picture::{Header, Look, SearchScene, Searched};
use search::Stretch;
use search::course::{Begun, Course, State};
use search::plan::Plan;
use search::told::clock_text;

/// Hands the search to `draw` as a picture or an export sees it.
pub fn scene<T>(outcome: &Outcome, look: Look, draw: impl FnOnce(&SearchScene) -> T) -> T {
    let course = &outcome.course;
    let alarm_s = course.alarm.at_s;
    let grid = outcome.water.ground.grid;
    let smooth = course.belief.smoothed(&grid);
    let levels: Vec<(f64, f64)> =
        outcome.regions.iter().map(|region| (region.share, region.density * grid.cell_area_m2())).collect();
    let shown = shown_runs(course);
    let numbers: Vec<usize> = shown.iter().map(|&run| course.number_of(run)).collect();
    let runs = shown.iter().map(|&run| course.plan.runs[run].clone()).collect();
    let plan = Plan { runs, ..course.plan.clone() };
    let searched: Vec<Searched> = course.begun.iter().filter_map(|begun| searched(outcome, begun)).collect();
    let next =
        outcome.orders.iter().find(|order| order.at_s >= course.now_s).map(|order| order.words.clone());
    let title = match course.state {
        State::Searching => "Swimmer missing",
        State::AllOut { .. } => "All out of the water",
        State::CountShort { .. } => "Searcher missing: count short",
        State::Found => "Found",
    };
    let header = Header {
        title: title.into(),
        clock: format!("{}:{:02}", (course.now_s / 60.0) as u32, course.now_s as u32 % 60),
        now: clock_text(alarm_s + course.now_s),
        alarm: clock_text(alarm_s),
        say_next: next,
    };
    draw(&SearchScene {
        setting: outcome.setting(),
        alarm: &course.alarm,
        cloud: &course.belief.cloud,
        masses: course.belief.masses,
        map: Some(&smooth),
        regions: &levels,
        plan: &plan,
        numbers: &numbers,
        searched: &searched,
        people: &[],
        now_s: course.now_s,
        header,
        look: Look { cautions: outcome.cautions.clone(), date: course.day.date.clone(), ..look },
    })
}

/// Runs that are drawn: those under way, and the next three of each team, as the orders tell them.
fn shown_runs(course: &Course) -> Vec<usize> {
    let runs = &course.plan.runs;
    let mut order: Vec<usize> = (0..runs.len()).collect();
    order.sort_by(|a, b| runs[*a].leaves_s.total_cmp(&runs[*b].leaves_s).then(a.cmp(b)));
    let mut waiting = vec![0; course.plan.teams.len()];
    order.retain(|&run| {
        waiting[runs[run].team] += usize::from(!runs[run].under_way);
        runs[run].under_way || waiting[runs[run].team] <= super::text::SHOWN
    });
    order
}

/// What an order has searched so far, as one stretch.
fn searched(outcome: &Outcome, begun: &Begun) -> Option<Searched> {
    let legs = &begun.run.legs[..begun.legs_reported.min(begun.run.legs.len())];
    let (first, last) = (legs.first()?, legs.last()?);
    let mut sweep = first.sweep;
    if let (Stretch::Strip { from, width_m, .. }, Stretch::Strip { to, .. }) =
        (first.sweep.stretch, last.sweep.stretch)
    {
        sweep.stretch = Stretch::Strip { from, to, width_m };
    }
    let by = outcome.course.day.crew[begun.team.leader].name.clone();
    Some(Searched { number: begun.number, sweep, by })
}
