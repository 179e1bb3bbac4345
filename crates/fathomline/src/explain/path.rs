//! Searcher paths on small grids: the planner's way of searching, put to cases whose answer is known.

use super::Form;
use super::model::{Answer, Basis, Input, Model, Range, Shape};
use search::path::{Instance, Options, Telling, from_json, solve};
use serde_json::json;
use std::time::Instant;

/// Models of this group.
pub const MODELS: &[Model] = &[Model {
    name: "path",
    summary: "best searcher paths on a small grid, with a ceiling, by the planner's way of searching",
    page: "path",
    inputs: &[Input::new(
        "instance",
        Shape::Instance,
        Range::ANY,
        "instance",
        "grid, chances, contact, weights, starts: any of the written forms",
    )],
    constants: &[],
    results: &[
        ("value", "share"),
        ("path", "cell"),
        ("paths", "cell"),
        ("proven", "yes or no"),
        ("ceiling", "share"),
        ("moves", "moves"),
        ("seconds", "s"),
    ],
    basis: Basis::Derived,
    sources: &["eagle-1984"],
    example: r#"{"rows": 1, "cols": 3, "T": 2, "p": [0.2, 0.5, 0.3], "q": [0.5, 0.5, 0.5], "V": [1, 0.5], "starts": [1]}"#,
    evaluate: path,
}];

fn path(form: &mut Form) -> Option<Answer> {
    let object = form.instance("instance");
    let instance = match from_json(&object) {
        Ok(instance) => instance,
        Err(problems) => {
            problems.into_iter().for_each(|problem| form.problem(problem));
            return None;
        }
    };
    let begun = Instant::now();
    let solved = solve(&instance, Options::default());
    let seconds = begun.elapsed().as_secs_f64();
    let told: Vec<Vec<usize>> = solved
        .paths
        .iter()
        .enumerate()
        .map(|(searcher, cells)| as_told(&instance, searcher, cells))
        .collect();
    let answer = Answer::new()
        .with("value", solved.value)
        .with_value("path", json!(told.first()))
        .with_value("paths", json!(told))
        .with_value("proven", json!(solved.proven))
        .with("ceiling", solved.ceiling)
        .with_value("moves", json!(solved.moves))
        .with("seconds", seconds);
    Some(if solved.proven {
        answer
    } else {
        answer
            .with_note("not proven: no path is worth more than the ceiling, one may be worth more than this")
    })
}

/// A path in the way its instance tells cells: from its start where it tells one, counted as it counts.
fn as_told(instance: &Instance, searcher: usize, cells: &[usize]) -> Vec<usize> {
    match instance.telling {
        Telling::PerSearcher => cells.to_vec(),
        Telling::FromStart => {
            std::iter::once(instance.starts[searcher]).chain(cells.iter().copied()).collect()
        }
        Telling::CountedFromOne => cells.iter().map(|cell| cell + 1).collect(),
    }
}
