//! Pure crates read no clock, file, environment, socket or unseeded chance, iterate nothing unordered, print nothing.

use super::source::{Source, Tree, is_name};
use super::{Found, PURE};

/// Words that do not occur in a pure crate outside its tests, with what each would let in.
const BANNED: [(&str, &str); 22] = [
    ("std::fs", "files"),
    ("std::net", "sockets"),
    ("std::env", "the environment"),
    ("std::process", "other programs"),
    ("env::var", "the environment"),
    ("File::open", "files"),
    ("stdin", "input"),
    ("stdout", "printing"),
    ("stderr", "printing"),
    ("println!", "printing"),
    ("eprintln!", "printing"),
    ("print!", "printing"),
    ("eprint!", "printing"),
    ("dbg!", "printing"),
    ("Instant", "a clock"),
    ("SystemTime", "a clock"),
    ("Zoned::now", "a clock"),
    ("Timestamp::now", "a clock"),
    ("HashMap", "an order that changes from run to run; take BTreeMap"),
    ("HashSet", "an order that changes from run to run; take BTreeSet"),
    ("thread_rng", "unseeded chance"),
    ("getrandom", "unseeded chance"),
];

/// Looks through the working lines of every pure crate.
pub fn check(tree: &Tree, found: &mut Found) {
    for source in tree.sources.iter().filter(|s| PURE.contains(&s.house()) && s.path.contains("/src/")) {
        for (line, what) in breaches(source) {
            found.fault(&source.path, line, what);
        }
    }
}

fn breaches(source: &Source) -> Vec<(usize, String)> {
    let mut all = Vec::new();
    for (number, line) in source.working_lines() {
        for (word, what) in BANNED {
            if has_word(line, word) {
                all.push((
                    number,
                    format!("`{word}` lets in {what}; a pure crate takes such things as arguments"),
                ));
            }
        }
        for part in line.split_once("std::{").map_or("", |(_, rest)| rest).split([',', '}', '{']) {
            let part = part.trim().split("::").next().unwrap_or("");
            if ["fs", "net", "env", "process"].contains(&part) {
                all.push((number, format!("`std::{part}` has no place in a pure crate")));
            }
        }
    }
    all
}

/// Whether `word` stands in `line` by itself, not as part of a longer name.
fn has_word(line: &str, word: &str) -> bool {
    line.match_indices(word).any(|(at, _)| {
        let before = at.checked_sub(1).map(|k| line.as_bytes()[k]);
        let after = line.as_bytes().get(at + word.len());
        !before.is_some_and(is_name) && !after.is_some_and(|&b| is_name(b))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_a_pure_crate_may_not_hold_is_found() {
        for line in [
            "use std::fs;",
            "use std::{fmt, fs::File};",
            "let t = std::time::Instant::now();",
            "println!(\"x\");",
            "use std::collections::HashMap;",
            "let v = std::env::var(\"A\");",
        ] {
            assert!(!breaches(&Source::new("crates/water/src/a.rs", line)).is_empty(), "{line}");
        }
    }

    #[test]
    fn what_it_may_hold_is_left_alone() {
        for line in [
            "use std::collections::BTreeMap;",
            "// println! and HashMap in a comment",
            "let text = \"std::fs\";",
            "let instant = 3;",
            "#[cfg(test)]\nmod tests { use std::collections::HashSet; }",
            "writeln!(f, \"x\")",
        ] {
            assert!(breaches(&Source::new("crates/water/src/a.rs", line)).is_empty(), "{line}");
        }
    }
}
