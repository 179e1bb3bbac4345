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
            match pardon {
                Some(k) if lines <= allowed.file[k].lines => used_files[k] = true,
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
            match pardon {
                Some(k) if lines <= allowed.function[k].lines => used_functions[k] = true,
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
