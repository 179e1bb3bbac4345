//! The registers agree with the code: parameters are used, cited sources exist, problem codes are explained.

use super::Found;
use super::source::Tree;
use std::collections::{BTreeMap, BTreeSet};

const PROBLEMS: &str = "docs/problems.md";
const SOURCES: &str = "data/sources.toml";

/// Checks the three registers.
pub fn check(tree: &Tree, found: &mut Found) -> Result<(), String> {
    parameters(tree, found)?;
    sources(tree, found)?;
    problems(tree, found);
    Ok(())
}

fn keys(tree: &Tree, path: &str) -> Result<Vec<String>, String> {
    let table: toml::Table =
        toml::from_str(tree.text(path).unwrap_or("")).map_err(|e| format!("{path}: {e}"))?;
    Ok(table.keys().cloned().collect())
}

fn parameters(tree: &Tree, found: &mut Found) -> Result<(), String> {
    let tables: Vec<&str> = tree
        .files
        .iter()
        .map(|(path, _)| path.as_str())
        .filter(|path| path.starts_with("data/parameters/") && path.ends_with(".toml"))
        .collect();
    for path in tables {
        let idle: Vec<String> = keys(tree, path)?
            .into_iter()
            .filter(|name| {
                let quoted = format!("\"{name}\"");
                let reads = |text: &str| text.contains(&quoted);
                !tree.sources.iter().any(|source| source.path.starts_with("crates/") && reads(&source.text))
            })
            .collect();
        if !idle.is_empty() {
            found.doubt(path, 0, format!("no code reads {}", idle.join(", ")));
        }
    }
    Ok(())
}

/// Sources cited by id in documentation comments, model pages and published checks.
fn sources(tree: &Tree, found: &mut Found) -> Result<(), String> {
    let known: BTreeSet<String> = keys(tree, SOURCES)?.into_iter().collect();
    for (path, text) in &tree.files {
        let rust = path.starts_with("crates/") && path.ends_with(".rs");
        let page = path.starts_with("docs/models/") && path.ends_with(".md");
        let checks = path.ends_with(".toml") && path.contains("tests/");
        for (number, line) in text.lines().enumerate() {
            let spoken = page || (rust && line.trim_start().starts_with("//"));
            let cited = if spoken { dated_ids(line) } else { Vec::new() };
            let given = checks.then(|| line.trim().strip_prefix("source = \"")).flatten();
            let given = given.and_then(|rest| rest.strip_suffix('"')).filter(|id| !id.contains(' '));
            for id in cited.iter().map(String::as_str).chain(given) {
                if !known.contains(id) {
                    found.fault(path, number + 1, format!("cites {id}, which {SOURCES} does not have"));
                }
            }
        }
    }
    Ok(())
}

/// Words of the form `name-1981` or `two-names-2006a`.
fn dated_ids(line: &str) -> Vec<String> {
    line.split(|c: char| !(c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-'))
        .filter(|word| {
            let Some((name, year)) = word.rsplit_once('-') else { return false };
            let year = year.trim_end_matches(|c: char| c.is_ascii_lowercase());
            let number: u32 = year.parse().unwrap_or(0);
            name.starts_with(|c: char| c.is_ascii_lowercase())
                && year.len() == 4
                && (1800..2100).contains(&number)
        })
        .map(str::to_string)
        .collect()
}

/// Codes such as `W104`: every one in the code is explained, and every explained one is in the code.
fn problems(tree: &Tree, found: &mut Found) {
    let mut raised: BTreeMap<String, (&str, usize)> = BTreeMap::new();
    for source in tree
        .sources
        .iter()
        .filter(|source| source.path.starts_with("crates/") && source.path.contains("/src/"))
    {
        for (number, line) in
            source.text.lines().enumerate().filter(|(number, _)| !source.is_test(number + 1))
        {
            if line.trim_start().starts_with("//") {
                continue;
            }
            for text in line.split('"').skip(1).step_by(2).filter(|text| is_code(text)) {
                raised.entry(text.to_string()).or_insert((&source.path, number + 1));
            }
        }
    }
    let page = tree.text(PROBLEMS).unwrap_or("");
    let explained: BTreeSet<&str> =
        page.split(|c: char| !c.is_ascii_alphanumeric()).filter(|word| is_code(word)).collect();
    for (code, (path, line)) in &raised {
        if !explained.contains(code.as_str()) {
            found.fault(path, *line, format!("{code} is not explained in {PROBLEMS}"));
        }
    }
    for code in explained {
        if !raised.contains_key(code) {
            found.fault(PROBLEMS, 0, format!("no code raises {code}; take it out"));
        }
    }
}

fn is_code(text: &str) -> bool {
    text.len() == 4
        && text.as_bytes()[0].is_ascii_uppercase()
        && text.bytes().skip(1).all(|b| b.is_ascii_digit())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ids_and_codes_are_told_from_other_words() {
        assert_eq!(
            dated_ids("/// cox-2004 and reilly-2006a, on 2026-07-03, see vista-distance"),
            ["cox-2004", "reilly-2006a"]
        );
        assert!(is_code("W104") && !is_code("W10") && !is_code("w104") && !is_code("1234"));
    }
}
