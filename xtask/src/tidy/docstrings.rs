//! Public functions that compute say what goes in, what comes out and whose science it is.

use super::source::{Function, Tree};
use super::{Found, PURE};

/// Checks public functions of the pure crates outside tests, and that cited model pages exist.
pub fn check(tree: &Tree, found: &mut Found) {
    for source in tree.sources.iter().filter(|s| PURE.contains(&s.house()) && s.path.contains("/src/")) {
        for function in source.functions.iter().filter(|f| f.public && !source.is_test(f.line)) {
            for section in lacking(function) {
                found.fault(
                    &source.path,
                    function.line,
                    format!("{} computes but its documentation has no `# {section}`", function.name),
                );
            }
        }
        for (number, line) in
            source.text.lines().enumerate().filter(|(_, line)| line.trim_start().starts_with("//"))
        {
            for page in pages(line) {
                if tree.text(&page).is_none() {
                    found.fault(
                        &source.path,
                        number + 1,
                        format!("{page} is not there; write the page or name the right one"),
                    );
                }
            }
        }
    }
}

/// The sections that a function's documentation should have and has not.
fn lacking(function: &Function) -> Vec<&'static str> {
    let cites_model = function.doc.iter().any(|line| line.contains("Model `"));
    let wanted: &[&str] = if cites_model {
        &["Inputs", "Gives", "Source"]
    } else if takes_numbers_and_gives_one(&function.signature) {
        &["Source"]
    } else {
        &[]
    };
    let has = |section: &str| {
        function.doc.iter().any(|line| line.strip_prefix("# ").is_some_and(|title| title.trim() == section))
    };
    wanted.iter().copied().filter(|section| !has(section)).collect()
}

/// Free functions from at least two numbers to a number: formulas, as far as one can tell from outside.
fn takes_numbers_and_gives_one(signature: &str) -> bool {
    let Some((taken, given)) = signature.split_once("->") else { return false };
    let free = !taken.contains("self");
    free && taken.matches(": f64").count() >= 2 && given.contains("f64")
}

/// Pages of docs/models that a comment names.
fn pages(line: &str) -> Vec<String> {
    line.match_indices("docs/models/")
        .filter_map(|(at, _)| {
            let rest = &line[at..];
            let end = rest.find(".md")? + 3;
            let page = &rest[..end];
            page.bytes().all(|b| b.is_ascii_alphanumeric() || b"/._-".contains(&b)).then(|| page.to_string())
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tidy::source::Source;

    #[test]
    fn a_formula_needs_its_source() {
        let bare = "/// Speed.\npub fn speed(a_m: f64, b_s: f64) -> f64 {\n    a_m / b_s\n}\n";
        assert_eq!(lacking(&Source::new("crates/water/src/a.rs", bare).functions[0]), ["Source"]);
        let told = "/// Speed. Model `S`.\n///\n/// # Inputs\n/// - a\n///\n/// # Source\n/// textbook\npub fn speed(a_m: f64) -> f64 {\n    a_m\n}\n";
        assert_eq!(lacking(&Source::new("crates/water/src/a.rs", told).functions[0]), ["Gives"]);
        let plain = "/// The name.\npub fn name(&self, a: f64, b: f64) -> f64 {\n    a\n}\n";
        assert!(lacking(&Source::new("crates/water/src/a.rs", plain).functions[0]).is_empty());
    }

    #[test]
    fn pages_are_read_out_of_comments() {
        assert_eq!(pages("/// Model `x`, docs/models/sightings.md."), ["docs/models/sightings.md"]);
        assert!(pages("/// the pages of docs/models/<page>.md").is_empty());
    }
}
