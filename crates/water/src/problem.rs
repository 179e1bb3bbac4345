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
