//! Plans for whole waters: base case, larger crews, ceilings, the checker, determinism.

mod common;

use common::*;
use measure::Spot;
use search::{
    Method,
    plan::{Plan, Role, check::check, plan},
};

/// Plans, lets the checker replay it, and compares its figures with the raw particles.
fn checked(world: &World) -> Plan {
    let request = world.request();
    let plan = plan(&request);
    let review = check(&plan, &request);
    assert_eq!(review.violations, Vec::new());
    assert!(plan.value <= plan.ceiling * (1.0 + 1e-12), "{} over {}", plan.value, plan.ceiling);
    assert!(
        (review.value - plan.value).abs() <= 0.06 * plan.value + 1e-9,
        "cells {} particles {}",
        plan.value,
        review.value
    );
    plan
}

fn team_of(plan: &Plan, method: Method) -> Option<&search::plan::Team> {
    plan.teams.iter().find(|team| team.method == method)
}

#[test]
fn three_guards_one_device_lead_watches_and_calls() {
    let world = beach(3, 40_000);
    let plan = checked(&world);
    for run in &plan.runs {
        println!(
            "{:?} {:.0}..{:.0} {:?} {:?} legs {} gain {:.4}",
            plan.teams[run.team].method,
            run.from_s,
            run.to_s,
            run.from,
            run.to,
            run.legs.len(),
            run.gain
        );
    }
    println!("{} of {} {:?} {:?}", plan.value, plan.ceiling, plan.found_by, plan.notes);
    for gap in &plan.gaps {
        println!("{gap:?}");
    }
    assert!(plan.jobs.contains(&(0, Role::Lead, None)));
    assert!(plan.jobs.iter().any(|job| job.1 == Role::First));
    assert!(plan.value > 0.0);
}

#[test]
fn eleven_guards_wade_and_dive_at_once() {
    let world = beach(11, 200_000);
    let plan = checked(&world);
    for run in &plan.runs {
        println!(
            "{:?} {:.0}..{:.0} {:?} {:?} legs {} gain {:.4}",
            plan.teams[run.team].method,
            run.from_s,
            run.to_s,
            run.from,
            run.to,
            run.legs.len(),
            run.gain
        );
    }
    println!("{} of {} {:?} {:?}", plan.value, plan.ceiling, plan.found_by, plan.notes);
    for gap in &plan.gaps {
        println!("{gap:?}");
    }
    let dive = team_of(&plan, Method::Dive).expect("a dive line");
    assert!(dive.lookout.is_some());
    let _ = Spot::default();
}
