//! Numbers that carry their unit, where they come from, and how far they can be trusted.

use serde::{Deserialize, Serialize};
use std::fmt;

/// How a number is known. The order runs from the best founded to the weakest.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Standing {
    /// In a published source that is named.
    #[serde(rename = "published")]
    Published,
    /// Measured at this site or with this crew.
    #[serde(rename = "measured here")]
    MeasuredHere,
    /// What the trade does; no published source was found.
    #[serde(rename = "common practice, no published source")]
    CommonPractice,
    /// Recalled from a source that was not read again.
    #[serde(rename = "from memory, unverified")]
    FromMemory,
    /// Chosen by us.
    #[serde(rename = "assumed")]
    Assumed,
}

impl fmt::Display for Standing {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Standing::Published => "published",
            Standing::MeasuredHere => "measured here",
            Standing::CommonPractice => "common practice, no published source",
            Standing::FromMemory => "from memory, unverified",
            Standing::Assumed => "assumed",
        })
    }
}

/// A number fit to be shown: with unit, spread, the model that gave it, its inputs and standing.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Figure {
    /// The value, in `unit`.
    pub value: f64,
    /// Unit as written on screen: `m`, `m/s`, `share`, `s` …
    pub unit: String,
    /// Half-width of what it may well be instead, in `unit`; `None` where no spread is known.
    pub spread: Option<f64>,
    /// Model id: the page the page of that model under docs/models and the `explain` entry.
    pub model: String,
    /// Names of what went in.
    pub inputs: Vec<String>,
    /// Source ids in data/sources.toml.
    pub sources: Vec<String>,
    /// The weakest standing among what went in.
    pub standing: Standing,
}

/// A value with doubts that must be shown beside it ("no soundings here since May").
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Noted<T> {
    /// The value.
    pub value: T,
    /// Lower-case sentences for people.
    pub notes: Vec<String>,
}

impl<T> Noted<T> {
    /// A value without doubts.
    pub fn sure(value: T) -> Self {
        Noted { value, notes: Vec::new() }
    }
}
