//! Names, kept apart from the log: texts hold marks such as `⟦7⟧` where a name belongs, and the name is put in last.
//!
//! Deleting the names leaves the log and its digests whole; screens then say "guard 7".

use crate::report::Person;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// One thing to be kept apart from the log.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(tag = "note", rename_all = "snake_case")]
pub enum NameNote {
    /// The name of a person of the list.
    Person {
        /// Number.
        person: Person,
        /// Name as called.
        name: String,
    },
    /// What was told of a missing person.
    Missing {
        /// Incident, from 1.
        incident: u32,
        /// Which missing person, from 1.
        missing: u32,
        /// Words.
        words: String,
    },
    /// To whom command passed.
    Command {
        /// Incident, from 1.
        incident: u32,
        /// Name.
        to: String,
    },
}

/// All names so far.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Names {
    people: BTreeMap<Person, String>,
    missing: BTreeMap<String, String>,
    command: BTreeMap<u32, String>,
}

const OPEN: char = '\u{27e6}';
const CLOSE: char = '\u{27e7}';

/// The mark that stands for a person's name in a text.
pub fn mark(person: Person) -> String {
    format!("{OPEN}{person}{CLOSE}")
}

impl Names {
    /// Takes in a note; a later one for the same person replaces the earlier.
    pub fn keep(&mut self, note: &NameNote) {
        match note {
            NameNote::Person { person, name } => {
                self.people.insert(*person, tidy(name, 60));
            }
            NameNote::Missing { incident, missing, words } => {
                self.missing.insert(format!("{incident}/{missing}"), tidy(words, 400));
            }
            NameNote::Command { incident, to } => {
                self.command.insert(*incident, tidy(to, 120));
            }
        }
    }

    /// The name of a person, or their number in words.
    pub fn person(&self, person: Person) -> String {
        self.people.get(&person).cloned().unwrap_or_else(|| format!("guard {person}"))
    }

    /// The number of whoever is called so.
    pub fn number_of(&self, name: &str) -> Option<Person> {
        let name = tidy(name, 60);
        self.people.iter().find(|(_, known)| known.eq_ignore_ascii_case(&name)).map(|(person, _)| *person)
    }

    /// What was told of a missing person.
    pub fn missing(&self, incident: u32, missing: u32) -> Option<&str> {
        self.missing.get(&format!("{incident}/{missing}")).map(String::as_str)
    }

    /// To whom command passed.
    pub fn command(&self, incident: u32) -> Option<&str> {
        self.command.get(&incident).map(String::as_str)
    }

    /// A text with names in the place of marks.
    pub fn say(&self, text: &str) -> String {
        let mut said = String::with_capacity(text.len());
        let mut rest = text;
        while let Some(at) = rest.find(OPEN) {
            said.push_str(&rest[..at]);
            let after = &rest[at + OPEN.len_utf8()..];
            let number = after.find(CLOSE).and_then(|end| after[..end].parse().ok().zip(Some(end)));
            match number {
                Some((person, end)) => {
                    said.push_str(&self.person(person));
                    rest = &after[end + CLOSE.len_utf8()..];
                }
                None => rest = after,
            }
        }
        said.push_str(rest);
        said
    }
}

/// Words as typed, without what could not be read aloud or would stand for a mark.
pub(crate) fn tidy(text: &str, most: usize) -> String {
    let plain: String = text
        .chars()
        .map(|c| if c.is_control() { ' ' } else { c })
        .filter(|c| !matches!(*c, OPEN | CLOSE))
        .collect();
    let words: Vec<&str> = plain.split_whitespace().collect();
    words.join(" ").chars().take(most).collect()
}
