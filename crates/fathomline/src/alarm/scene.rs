//! The picture of a search.

use super::Outcome;
use crate::picture::{Header, Look, SearchScene, Searched};
use search::course::State;
use search::told::clock_text;

/// Hands the search to `draw` as a picture or an export sees it.
pub fn scene<T>(outcome: &Outcome, look: Look, draw: impl FnOnce(&SearchScene) -> T) -> T {
    let course = &outcome.course;
    let alarm_s = course.alarm.at_s;
    let grid = outcome.water.ground.grid;
    let smooth = course.belief.smoothed(&grid);
    let levels: Vec<(f64, f64)> =
        outcome.regions.iter().map(|region| (region.share, region.density * grid.cell_area_m2())).collect();
    let numbers: Vec<usize> = (0..course.plan.runs.len()).map(|run| course.number_of(run)).collect();
    let mut searched = Vec::new();
    for begun in &course.begun {
        let by = course.day.crew[begun.team.leader].name.clone();
        for leg in begun.run.legs.iter().take(begun.legs_reported) {
            searched.push(Searched { number: begun.number, sweep: leg.sweep, by: by.clone() });
        }
    }
    let next =
        outcome.orders.iter().find(|order| order.at_s >= course.now_s).map(|order| order.words.clone());
    let title = match course.state {
        State::Searching => "Swimmer missing",
        State::AllOut { .. } => "All out of the water",
        State::CountShort { .. } => "Searcher missing: count short",
        State::Found => "Found",
    };
    let header = Header {
        title: format!("{} · {title}", outcome.water.site.name),
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
        plan: &course.plan,
        numbers: &numbers,
        searched: &searched,
        people: &[],
        now_s: course.now_s,
        header,
        look: Look { cautions: outcome.cautions.clone(), date: course.day.date.clone(), ..look },
    })
}
