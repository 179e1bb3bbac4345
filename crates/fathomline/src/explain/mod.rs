//! Every number by hand calculator: a list of models, a page for each, and its evaluation by the code the product runs.
//!
//! A model is one entry of a group's `MODELS`: what it takes, what it gives, how well that is known, an
//! example, and a function from checked inputs to results. To add one, write the entry and its section in
//! docs/models. Start reading at [`Model`], then [`Form`].

mod current;
mod form;
mod glare;
mod json;
mod lines;
mod model;
mod page;
mod path;
mod reach;
mod sightings;
mod sinking;
mod survival;
mod theory;
mod view;
mod water;

pub use form::Form;
pub use model::{Answer, Basis, Fallback, Input, Model, Range, Shape};
pub use page::{list, page};

use measure::{Standing, parameters};
use serde_json::{Map, Value, json};

/// All models, in the order of the list.
pub fn models() -> impl Iterator<Item = &'static Model> {
    let groups: &[&[Model]] = &[
        water::MODELS,
        theory::MODELS,
        sightings::MODELS,
        current::MODELS,
        sinking::MODELS,
        lines::MODELS,
        survival::MODELS,
        path::MODELS,
        reach::MODELS,
        glare::MODELS,
        view::MODELS,
    ];
    groups.iter().copied().flatten()
}

/// The model called `name`, or what is wrong with the name.
pub fn model(name: &str) -> Result<&'static Model, String> {
    models().find(|m| m.name == name).ok_or_else(|| {
        let near = form::nearest(name, models().map(|m| m.name));
        format!("no model is called {name:?}; did you mean {near:?}? `fathomline explain` lists them all")
    })
}

/// Evaluates a model on the inputs written in `text`.
///
/// # Inputs
/// - `model` · `text`: one JSON object
///
/// # Gives
/// One JSON object (model, inputs with the defaults used, result, unit, standing, sources, notes), or every
/// problem at once.
pub fn evaluate(model: &Model, text: &str) -> Result<Value, Vec<String>> {
    let object = json::object(text)?;
    let mut form = Form::new(model, object);
    let answer = (model.evaluate)(&mut form);
    let (inputs, defaults, mut problems) = form.close();
    let Some(answer) = answer.filter(|_| problems.is_empty()) else {
        assert!(!problems.is_empty(), "{} gave neither an answer nor a problem", model.name);
        return Err(problems);
    };
    problems.extend(answer.beyond().into_iter().map(|name| {
        format!("{name} is beyond what a number can hold; check the size of the inputs against their units")
    }));
    if !problems.is_empty() {
        return Err(problems);
    }
    let units: Map<String, Value> = model.results.iter().map(|(n, u)| ((*n).into(), json!(u))).collect();
    Ok(json!({
        "model": model.name,
        "inputs": inputs,
        "result": answer.results,
        "unit": units,
        "standing": standing(model, &defaults),
        "sources": sources(model, &defaults),
        "notes": answer.notes,
    }))
}

/// The weakest standing among the model and the defaults it used.
fn standing(model: &Model, defaults: &[&str]) -> String {
    let used = defaults.iter().map(|name| parameters::parameter(name).standing);
    let own = match model.basis {
        Basis::Derived => None,
        Basis::Known(standing) => Some(standing),
    };
    let weakest: Option<Standing> = used.chain(own).max();
    weakest.map_or_else(|| model::DERIVED.to_string(), |s| s.to_string())
}

/// Sources of the model and of the defaults it used, each once.
fn sources(model: &Model, defaults: &[&str]) -> Vec<Value> {
    let mut ids: Vec<&str> = model.sources.to_vec();
    ids.extend(
        defaults.iter().flat_map(|name| parameters::parameter(name).sources.iter().map(String::as_str)),
    );
    let mut seen = Vec::new();
    ids.retain(|id| {
        !seen.contains(id) && {
            seen.push(*id);
            true
        }
    });
    let all = parameters::sources();
    ids.iter().map(|id| json!({ "id": id, "citation": all[*id].citation, "read": all[*id].read })).collect()
}
