//! Numbered rules of docs/models: each is shown by a test, and no test shows a rule that is gone.

use super::Found;
use super::source::Tree;
use std::collections::BTreeMap;

/// Pairs `- **SW-3** …` in docs/models with `// shows: SW-3` in tests.
pub fn check(tree: &Tree, found: &mut Found) {
    let mut rules: BTreeMap<String, (&str, usize, bool)> = BTreeMap::new();
    for (path, text) in
        tree.files.iter().filter(|(path, _)| path.starts_with("docs/models/") && path.ends_with(".md"))
    {
        for (number, line) in text.lines().enumerate() {
            let Some(id) = rule_of(line) else { continue };
            if let Some((other, at, _)) = rules.insert(id.clone(), (path.as_str(), number + 1, false)) {
                found.fault(
                    path,
                    number + 1,
                    format!("rule {id} is written twice, also at {other}:{at}; number it anew"),
                );
            }
        }
    }
    for source in &tree.sources {
        for (number, line) in source.text.lines().enumerate() {
            for id in shown(line) {
                match rules.get_mut(&id) {
                    Some((_, _, seen)) => *seen = true,
                    None => found.fault(
                        &source.path,
                        number + 1,
                        format!("shows {id}, and no page of docs/models has that rule"),
                    ),
                }
            }
        }
    }
    for (id, (path, line, seen)) in rules {
        if !seen {
            found.fault(
                path,
                line,
                format!("no test says `// shows: {id}`; write one, or take the rule out"),
            );
        }
    }
}

/// The id of a line `- **XX-1** …`.
fn rule_of(line: &str) -> Option<String> {
    let (id, _) = line.strip_prefix("- **")?.split_once("**")?;
    is_id(id).then(|| id.to_string())
}

/// The ids of a comment line `// shows: XX-1, XX-2`.
fn shown(line: &str) -> Vec<String> {
    let Some(rest) =
        line.trim_start().strip_prefix("//").and_then(|rest| rest.trim_start().strip_prefix("shows:"))
    else {
        return Vec::new();
    };
    rest.split([',', ' ', ';'])
        .filter(|part| !part.is_empty())
        .take_while(|part| is_id(part))
        .map(str::to_string)
        .collect()
}

fn is_id(text: &str) -> bool {
    text.split_once('-').is_some_and(|(letters, number)| {
        !letters.is_empty()
            && letters.bytes().all(|b| b.is_ascii_uppercase() || b.is_ascii_digit())
            && !number.is_empty()
            && number.bytes().all(|b| b.is_ascii_digit())
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rules_and_what_shows_them_are_read() {
        assert_eq!(rule_of("- **SW-3** a swept strip …").as_deref(), Some("SW-3"));
        assert_eq!(rule_of("- **bold** words"), None);
        assert_eq!(shown("    // shows: SW-3, B7-1"), ["SW-3", "B7-1"]);
        assert!(shown("let x = 1; // says nothing").is_empty());
    }
}
