//! What the door says of bad input: everything at once, each with value, rule and the way out.

use serde::{Deserialize, Serialize};
use std::fmt;

/// Where in the input a problem sits.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Place {
    /// File name within the site folder, or the command-line option.
    pub file: String,
    /// Line, from 1.
    pub line: Option<usize>,
    /// Feature id or number, field, or member: whatever finds it.
    pub item: Option<String>,
}

/// One thing wrong with the input.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Problem {
    /// Code of docs/problems.md, such as `W104`.
    pub code: String,
    /// Whether the input cannot be used (otherwise: it is used, with this said).
    pub fatal: bool,
    /// Where.
    pub place: Place,
    /// The value and the rule it breaks, lower case.
    pub what: String,
    /// The way out, lower case.
    pub remedy: String,
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", self.code, self.place.file)?;
        if let Some(line) = self.place.line {
            write!(f, ":{line}")?;
        }
        if let Some(item) = &self.place.item {
            write!(f, " ({item})")?;
        }
        write!(f, ": {}; {}", self.what, self.remedy)
    }
}

/// Where in one file: by line, by item, by both or the file as a whole.
#[derive(Clone, Debug, Default)]
pub(crate) struct At {
    pub line: Option<usize>,
    pub item: Option<String>,
}

impl At {
    /// The file as a whole.
    pub fn file() -> At {
        At::default()
    }

    /// A line, from 1.
    pub fn line(line: usize) -> At {
        At { line: Some(line), item: None }
    }

    /// A feature, key or member.
    pub fn item(item: impl Into<String>) -> At {
        At { line: None, item: Some(item.into()) }
    }

    /// A key or member that starts on a line.
    pub fn both(line: usize, item: impl Into<String>) -> At {
        At { line: Some(line), item: Some(item.into()) }
    }
}

/// Problems as they are found in one file.
#[derive(Debug)]
pub(crate) struct Report {
    pub file: String,
    pub problems: Vec<Problem>,
}

impl Report {
    /// Nothing found yet.
    pub fn of(file: &str) -> Report {
        Report { file: file.to_string(), problems: Vec::new() }
    }

    /// The input cannot be used.
    pub fn fatal(&mut self, code: &str, at: At, what: impl Into<String>, remedy: impl Into<String>) {
        self.push(code, true, at, (what.into(), remedy.into()));
    }

    /// The input is used, with this said.
    pub fn note(&mut self, code: &str, at: At, what: impl Into<String>, remedy: impl Into<String>) {
        self.push(code, false, at, (what.into(), remedy.into()));
    }

    fn push(&mut self, code: &str, fatal: bool, at: At, (what, remedy): (String, String)) {
        let place = Place { file: self.file.clone(), line: at.line, item: at.item };
        self.problems.push(Problem { code: code.to_string(), fatal, place, what, remedy });
    }
}
