//! Files that can be read and functions that fit a screen. Exceptions are written down, with the reason.

use super::Found;
use super::source::Tree;
use serde::Deserialize;

const FILE_LINES: usize = 600;
const FUNCTION_LINES: usize = 70;
const ALLOWED: &str = "xtask/tidy-allow.toml";

/// The exceptions: each may only shrink.
#[derive(Default, Deserialize)]
#[serde(default, deny_unknown_fields)]
struct Allowed {
    file: Vec<Exception>,
    function: Vec<Exception>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Exception {
    path: String,
    #[serde(default)]
    name: String,
    lines: usize,
    reason: String,
}

/// Measures every file and function that is no test.
pub fn check(tree: &Tree, found: &mut Found) -> Result<(), String> {
    let allowed: Allowed = match tree.text(ALLOWED) {
        Some(text) => toml::from_str(text).map_err(|e| format!("{ALLOWED}: {e}"))?,
        None => Allowed::default(),
    };
    for exception in allowed.file.iter().chain(&allowed.function) {
        if exception.reason.trim().len() < 10 {
            found.fault(ALLOWED, 0, format!("{} has no reason; say why it may be so long", exception.path));
        }
    }
    let (mut used_files, mut used_functions) =
        (vec![false; allowed.file.len()], vec![false; allowed.function.len()]);
    for source in &tree.sources {
        let lines = source.text.lines().count()
            - source.test.iter().filter(|&&test| test).count().min(source.text.lines().count());
        let pardon = allowed.file.iter().position(|e| e.path == source.path);
        if lines > FILE_LINES {
            pardon.into_iter().for_each(|k| used_files[k] = true);
            match pardon {
                Some(k) if lines <= allowed.file[k].lines => {}
                _ => found.fault(
                    &source.path,
                    0,
                    format!("{lines} lines without tests, {FILE_LINES} allowed; split it by what it does"),
                ),
            }
        }
        for function in source.functions.iter().filter(|f| !source.is_test(f.line)) {
            let lines = function.end - function.line + 1;
            if lines <= FUNCTION_LINES {
                continue;
            }
            let pardon =
                allowed.function.iter().position(|e| e.path == source.path && e.name == function.name);
            pardon.into_iter().for_each(|k| used_functions[k] = true);
            match pardon {
                Some(k) if lines <= allowed.function[k].lines => {}
                _ => found.fault(
                    &source.path,
                    function.line,
                    format!("{} has {lines} lines, {FUNCTION_LINES} allowed; leave the flow here and move the arithmetic out", function.name),
                ),
            }
        }
    }
    for (exception, used) in
        allowed.file.iter().zip(used_files).chain(allowed.function.iter().zip(used_functions))
    {
        if !used {
            found.fault(
                ALLOWED,
                0,
                format!(
                    "the exception for {} {} is no longer needed; take it out",
                    exception.path, exception.name
                ),
            );
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tidy::source::Source;

    fn faults(lines: usize, allowed: &str) -> Vec<String> {
        let text = format!("fn long() {{\n{}}}\n", "    step();\n".repeat(lines - 2));
        let tree = Tree {
            files: vec![(ALLOWED.to_string(), allowed.to_string())],
            sources: vec![Source::new("crates/x/src/a.rs", &text)],
        };
        let mut found = Found::default();
        check(&tree, &mut found).unwrap();
        found.faults
    }

    #[test]
    fn long_functions_and_files_are_refused_and_pardons_only_shrink() {
        assert!(faults(70, "").is_empty());
        assert_eq!(faults(71, "").len(), 1);
        assert_eq!(faults(601, "").len(), 2);
        let pardon = "[[function]]\npath = \"crates/x/src/a.rs\"\nname = \"long\"\nlines = 75\nreason = \"one table, read downwards\"\n";
        assert!(faults(75, pardon).is_empty());
        assert_eq!(faults(76, pardon).len(), 1, "grown past its pardon");
        assert_eq!(faults(60, pardon).len(), 1, "a pardon that is no longer needed");
        assert_eq!(faults(75, &pardon.replace("one table, read downwards", "")).len(), 1, "no reason given");
    }
}
