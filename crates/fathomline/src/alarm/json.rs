//! The same as JSON: docs/handbook/alarm-plan.schema.json describes it.

use super::Outcome;
use measure::Spot;
use search::course::State;
use search::told::clock_text;
use serde_json::{Value, json};
use water::LonLat;

/// Name of the shape of this object; a change that readers must know gets a new one.
const SCHEMA: &str = "fathomline alarm plan 1";

/// Everything that is printed, and the numbers behind it, as one object.
pub fn json(outcome: &Outcome) -> String {
    let course = &outcome.course;
    let site = &outcome.water.site;
    let value = json!({
        "schema": SCHEMA,
        "site": site.name,
        "origin": [site.frame.origin().lon, site.frame.origin().lat],
        "seed": outcome.seed,
        "alarm": { "at": clock_text(course.alarm.at_s), "told": course.alarm },
        "now": clock_text(course.alarm.at_s + course.now_s),
        "now_s": course.now_s,
        "state": state(&course.state),
        "masses": course.belief.masses,
        "last_seen": place(outcome, course.last_seen(site)),
        "regions": outcome.regions.iter().map(|region| json!({
            "share": region.share, "area_m2": region.area_m2, "density_per_m2": region.density,
        })).collect::<Vec<_>>(),
        "orders": orders(outcome),
        "under_way": course.begun.iter().map(|begun| json!({
            "order": begun.number,
            "people": names(outcome, &begun.team.members),
            "ended_s": begun.ended_s,
            "stopped_short": begun.stopped_short,
            "legs": begun.run.legs.len(),
            "legs_reported": begun.legs_reported,
            "until_s": begun.run.to_s,
        })).collect::<Vec<_>>(),
        "plan": plan(outcome),
        "not_covered": course.plan.gaps.iter().map(|gap| json!({
            "place": place(outcome, gap.spot), "area_m2": gap.area_m2, "mass": gap.mass, "why": gap.why,
        })).collect::<Vec<_>>(),
        "cautions": outcome.cautions,
        "said": course.said,
        "notes": outcome.notes(),
        "assumed": course.day.assumed.iter().map(|(name, value, standing)| json!({
            "name": name, "value": value, "standing": standing,
        })).collect::<Vec<_>>(),
        "problems": outcome.water.problems,
    });
    let mut text =
        serde_json::to_string_pretty(&value).unwrap_or_else(|error| panic!("plain values: {error}"));
    text.push('\n');
    text
}

fn state(state: &State) -> Value {
    match state {
        State::Searching => json!("searching"),
        State::AllOut { reason } => json!({ "all_out": reason }),
        State::CountShort { order, up, down } => {
            json!({ "count_short": { "order": order, "up": up, "down": down } })
        }
        State::Found => json!("found"),
    }
}

/// Site metres and longitude, latitude of a place.
fn place(outcome: &Outcome, spot: Spot) -> Value {
    let LonLat { lon, lat } = outcome.water.site.frame.to_lonlat(spot);
    json!({ "east_m": spot.east, "north_m": spot.north, "lonlat": [lon, lat] })
}

fn names(outcome: &Outcome, people: &[usize]) -> Vec<String> {
    people
        .iter()
        .filter_map(|&who| outcome.course.day.crew.get(who))
        .map(|member| member.name.clone())
        .collect()
}

fn orders(outcome: &Outcome) -> Vec<Value> {
    let number = |run: usize| outcome.course.number_of(run);
    let one = |order: &search::orders::Order| {
        json!({
            "at": order.clock, "at_s": order.at_s, "number": order.run.map(number), "to": order.to, "words": order.words,
            "lines": order.lines, "people": names(outcome, &order.people), "run": order.run, "post": order.post,
        })
    };
    outcome.orders.iter().map(one).collect()
}

/// A lane that a line begins with, or could.
fn choice(outcome: &Outcome, choice: &search::plan::Choice) -> Value {
    json!({
        "from": place(outcome, choice.from),
        "to": place(outcome, choice.to),
        "mass": choice.mass,
        "found": choice.found,
        "seconds": choice.seconds,
        "found_a_minute": choice.per_minute(),
    })
}

fn plan(outcome: &Outcome) -> Value {
    let plan = &outcome.course.plan;
    let runs = plan.runs.iter().enumerate().map(|(k, run)| {
        json!({
            "order": outcome.course.number_of(k),
            "team": run.team,
            "method": plan.teams[run.team].method,
            "people": names(outcome, &plan.teams[run.team].members),
            "from": place(outcome, run.from),
            "to": place(outcome, run.to),
            "bearing_deg": run.from.bearing_to(run.to),
            "length_m": run.from.distance(run.to),
            "width_m": run.width_m,
            "leaves_s": run.leaves_s,
            "from_s": run.from_s,
            "to_s": run.to_s,
            "legs": run.legs.len(),
            "gain": run.gain,
            "under_way": run.under_way,
        })
    });
    let teams = plan.teams.iter().map(|team| {
        json!({
            "method": team.method,
            "people": names(outcome, &team.members),
            "leader": outcome.course.day.crew[team.leader].name,
            "lookout": team.lookout.map(|who| outcome.course.day.crew[who].name.clone()),
            "spacing_m": team.spacing_m,
            "width_m": team.width_m,
            "depth_m": [team.depth_from_m, team.depth_to_m],
            "fins": team.fins,
            "formed_s": team.formed_s,
        })
    });
    json!({
        "teams": teams.collect::<Vec<_>>(),
        "jobs": plan.jobs.iter().map(|(who, role, team)| json!({
            "name": outcome.course.day.crew[*who].name, "role": role, "team": team,
        })).collect::<Vec<_>>(),
        "runs": runs.collect::<Vec<_>>(),
        "value": plan.value,
        "price": plan.price,
        "priced": { "orders": plan.priced.orders, "quarter_turns": plan.priced.quarter_turns },
        "value_less_price": plan.value - plan.price,
        "ceiling": plan.ceiling,
        "why": plan.why.iter().map(|why| json!({
            "order": outcome.course.number_of(why.run),
            "chosen": choice(outcome, &why.chosen),
            "other": why.other.as_ref().map(|other| choice(outcome, other)),
        })).collect::<Vec<_>>(),
        "found_by": plan.found_by.iter().map(|(s, chance)| json!({ "after_s": s, "chance": chance })).collect::<Vec<_>>(),
    })
}
