//! The list of models and the page of one, as text.

use super::{Basis, Fallback, Model, evaluate, models};
use measure::parameters::{parameter, sources};
use std::fmt::Write;

const PAGES: &[(&str, &str)] = &[
    ("place", include_str!("../../../../docs/models/place.md")),
    ("theory", include_str!("../../../../docs/models/theory.md")),
    ("sightings", include_str!("../../../../docs/models/sightings.md")),
    ("current", include_str!("../../../../docs/models/current.md")),
    ("sinking", include_str!("../../../../docs/models/sinking.md")),
    ("lines", include_str!("../../../../docs/models/lines.md")),
    ("survival", include_str!("../../../../docs/models/survival.md")),
    ("path", include_str!("../../../../docs/models/path.md")),
    ("reach", include_str!("../../../../docs/models/reach.md")),
    ("sun", include_str!("../../../../docs/models/sun.md")),
    ("glare", include_str!("../../../../docs/models/glare.md")),
    ("view", include_str!("../../../../docs/models/view.md")),
];

/// All models, a line each.
pub fn list() -> String {
    let width = models().map(|m| m.name.len()).max().unwrap_or(0);
    let mut text = String::new();
    for model in models() {
        let _ = writeln!(text, "{:width$}  {}", model.name, model.summary);
    }
    text + "\n`fathomline explain MODEL` prints the page of a model, `--json '{…}'` or `--json -` evaluates it.\n"
}

/// The page of a model: formula, symbols, valid range, defaults with standing, sources, worked example.
pub fn page(model: &Model) -> String {
    let mut text = format!("{}: {}\n\n{}\n", model.name, model.summary, section(model));
    let _ = writeln!(text, "Inputs");
    for input in model.inputs {
        let range = input.range.words();
        let _ = writeln!(
            text,
            "  {}: {} [{}], {}{}{}; {}",
            input.name,
            input.what,
            input.unit,
            input.shape.words(),
            if range.is_empty() { "" } else { ", " },
            range,
            fallback(&input.fallback)
        );
    }
    if !model.constants.is_empty() {
        let _ = writeln!(text, "\nConstants of the register");
    }
    for name in model.constants {
        let _ = writeln!(text, "  {}", registered(name));
    }
    let _ = writeln!(text, "\nResults");
    for (name, unit) in model.results {
        let _ = writeln!(text, "  {name} [{unit}]");
    }
    let _ = writeln!(text, "\nStanding of the formula: {}", basis(model));
    let _ = writeln!(text, "\nSources");
    for id in source_ids(model) {
        let source = &sources()[id];
        let _ = writeln!(text, "  {id}: {} (read: {})", source.citation, source.read);
    }
    if source_ids(model).is_empty() {
        let _ = writeln!(text, "  none: the formula follows from what is stated above");
    }
    let _ = writeln!(text, "\nExample\n  fathomline explain {} --json '{}'", model.name, model.example);
    match evaluate(model, model.example) {
        Ok(answer) => {
            let _ = writeln!(text, "  {}", answer["result"]);
        }
        Err(problems) => panic!("the example of {} is refused: {problems:?}", model.name),
    }
    text
}

fn basis(model: &Model) -> String {
    match model.basis {
        Basis::Derived => super::model::DERIVED.into(),
        Basis::Known(standing) => standing.to_string(),
    }
}

fn fallback(fallback: &Fallback) -> String {
    match fallback {
        Fallback::Required => "must be given".into(),
        Fallback::Optional => "may be left out".into(),
        Fallback::Value(value) => format!("if left out {value}"),
        Fallback::Register(name) => format!("if left out {}", registered(name)),
    }
}

/// A parameter of the register with all that is known of it.
fn registered(name: &str) -> String {
    let p = parameter(name);
    format!(
        "{} {} ({name}: {}; sensible range {} to {}; {})",
        p.value, p.unit, p.standing, p.low, p.high, p.note
    )
}

/// Sources of the model and of its defaults, each once.
fn source_ids(model: &Model) -> Vec<&str> {
    let mut ids: Vec<&str> = model.sources.to_vec();
    for input in model.inputs {
        if let Fallback::Register(name) = input.fallback {
            ids.extend(parameter(name).sources.iter().map(String::as_str));
        }
    }
    ids.extend(model.constants.iter().flat_map(|name| parameter(name).sources.iter().map(String::as_str)));
    let mut seen: Vec<&str> = Vec::new();
    for id in ids {
        if !seen.contains(&id) {
            seen.push(id);
        }
    }
    seen
}

/// The section of a model in its page of docs/models, without its heading.
///
/// # Panics
/// If page or section is missing: both are ours.
pub fn section(model: &Model) -> String {
    let page = PAGES.iter().find(|(name, _)| *name == model.page);
    let page = page.unwrap_or_else(|| panic!("{}: no page {}", model.name, model.page)).1;
    let heading = format!("## {}\n", model.name);
    let start =
        page.find(&heading).unwrap_or_else(|| panic!("{}: no section in {}.md", model.name, model.page));
    let rest = &page[start + heading.len()..];
    format!("{}\n", rest[..rest.find("\n## ").unwrap_or(rest.len())].trim())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_model_has_a_page_with_all_its_parts() {
        assert!(models().count() >= 25);
        for model in models() {
            let text = page(model);
            for part in ["Formula", "Symbols", "Valid", "Inputs", "Results", "Standing", "Sources", "Example"]
            {
                assert!(text.contains(part), "{} lacks {part}", model.name);
            }
            for (name, _) in model.results {
                assert!(
                    text.contains(&format!("\"{name}\":")),
                    "the example of {} gives no {name}",
                    model.name
                );
            }
        }
    }
}
