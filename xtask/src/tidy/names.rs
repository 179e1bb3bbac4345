//! Names say what a thing is; words that fit anything say nothing.

use super::Found;
use super::source::{Tree, is_name};

const EMPTY: [&str; 8] = ["manager", "helper", "helpers", "util", "utils", "service", "handler", "misc"];

/// Looks at file names and at what is declared.
pub fn check(tree: &Tree, found: &mut Found) {
    for source in &tree.sources {
        for part in source.path.trim_end_matches(".rs").split(['/', '-']) {
            if let Some(word) = empty_word(part) {
                found.fault(
                    &source.path,
                    0,
                    format!("{word:?} in a file name says nothing; name what it holds"),
                );
            }
        }
        for (number, line) in source.bare.lines().enumerate() {
            for key in ["struct ", "enum ", "trait ", "fn ", "mod "] {
                let Some((before, rest)) = line.split_once(key) else { continue };
                if before.bytes().last().is_some_and(is_name) {
                    continue;
                }
                let name: String = rest.bytes().take_while(|&b| is_name(b)).map(char::from).collect();
                if let Some(word) = empty_word(&name) {
                    found.fault(
                        &source.path,
                        number + 1,
                        format!("{word:?} in {name} says nothing; name what it does"),
                    );
                }
            }
        }
    }
}

/// The first empty word in a name written with underscores or capitals.
fn empty_word(name: &str) -> Option<&'static str> {
    let mut apart = String::new();
    for letter in name.chars() {
        if letter.is_uppercase() {
            apart.push('_');
        }
        apart.extend(letter.to_lowercase());
    }
    EMPTY.into_iter().find(|word| apart.split('_').any(|part| part == *word))
}

#[cfg(test)]
mod tests {
    use super::empty_word;

    #[test]
    fn empty_words_are_found_and_trade_words_are_not() {
        assert_eq!(empty_word("LaneManager"), Some("manager"));
        assert_eq!(empty_word("string_utils"), Some("utils"));
        assert_eq!(empty_word("tell_services"), None);
        assert_eq!(empty_word("Sighting"), None);
    }
}
