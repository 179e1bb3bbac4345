//! A small beach that owns what a setting borrows.
#![allow(dead_code)] // each test binary uses its own part

#[path = "../../../search/tests/common/mod.rs"]
mod common;

pub use common::{crew, day, feature, marks, site};
use measure::Spot;
use readiness::what_if::Scene;
use water::{Flow, Kind, Shape};

/// A rectangle on the map.
pub fn area(east: (f64, f64), north: (f64, f64)) -> Shape {
    let at = |e: f64, n: f64| Spot::new(e, n);
    Shape::Area(vec![vec![vec![
        at(east.0, north.0),
        at(east.1, north.0),
        at(east.1, north.1),
        at(east.0, north.1),
        at(east.0, north.0),
    ]]])
}

/// A beach of 120 × 80 m with a bathing area 40 × 30 m, depth 0 to 2.6 m, still water.
pub fn beach(people: usize) -> Scene {
    let ground = common::ground(120, 80, |s| ((s.north - 5.0) * 0.06).clamp(-1.0, 3.5));
    let mut features = marks();
    features.retain(|f| !matches!(f.kind, Kind::Raft(_)));
    features.push(feature("Beach", Kind::BathingArea, area((40.0, 80.0), (8.0, 38.0))));
    Scene { site: site(features), day: day(crew(people)), ground, flow: Flow::Still, rope_m: None }
}
