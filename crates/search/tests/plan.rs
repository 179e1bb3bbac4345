//! Plans for whole waters: base case, larger crews, ceilings, the checker, determinism.

mod common;

use common::*;
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

// shows: PL-3, PL-4
#[test]
fn three_guards_one_device_lead_watches_and_calls() {
    let world = beach(3, 40_000);
    let plan = checked(&world);
    assert!(plan.jobs.contains(&(0, Role::Lead, None)));
    assert!(plan.jobs.iter().any(|job| job.1 == Role::First));
    assert!(plan.value > 0.0);
    // In the water: nobody but the other two, and dives only under the eyes of the lead.
    for team in &plan.teams {
        assert!(!team.members.contains(&0), "{team:?}");
        assert!(team.method != Method::Dive || team.lookout == Some(0), "{team:?}");
    }
    assert!(plan.gaps.iter().any(|gap| gap.why.contains("under the Raft")), "{:?}", plan.gaps);
}

// shows: PL-3
#[test]
fn eleven_guards_wade_and_dive_at_once() {
    let world = beach(11, 200_000);
    let plan = checked(&world);
    let dive = team_of(&plan, Method::Dive).expect("a dive line");
    assert!(dive.lookout.is_some());
    assert!(team_of(&plan, Method::Wade).is_some());
    assert!(plan.found_by[2].1 > 0.2, "{:?}", plan.found_by);
}
