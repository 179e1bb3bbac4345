//! The handover sheet as data: one page for whoever takes over.

use crate::chain;
use crate::names::Names;
use crate::screen::{
    FoundBy, Gap, LogLine, MapNow, MissingWords, PersonNow, Share, SightingWords, Stage, Words,
};
use crate::show;
use crate::state::State;
use crate::think::Thought;
use schemars::JsonSchema;
use serde::Serialize;

/// One page.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Handover {
    /// Site.
    pub site: String,
    /// Made at.
    pub at_ms: i64,
    /// Local time minus UTC \[s\].
    pub utc_offset_s: i32,
    /// A drill.
    pub practice: bool,
    /// Stage.
    pub stage: Stage,
    /// First touch.
    pub alarm_at_ms: Option<i64>,
    /// Time since the alarm, `6:42`.
    pub since: String,
    /// Who is missing.
    pub missing: Vec<MissingWords>,
    /// Where and when, as each witness said.
    pub sightings: Vec<SightingWords>,
    /// How sure, in one sentence.
    pub sentence: String,
    /// Lanes: what was searched by whom, how, how well, when.
    pub lanes: Vec<HandoverLane>,
    /// What is not covered, and why.
    pub gaps: Vec<Gap>,
    /// Bottom, afloat, ashore, elsewhere.
    pub shares: Vec<Share>,
    /// Looked at ashore.
    pub ashore: Vec<String>,
    /// What comes next if nothing is found.
    pub next: Vec<String>,
    /// Chance found by.
    pub found_by: Vec<FoundBy>,
    /// Conditions.
    pub conditions: Words,
    /// People.
    pub people: Vec<PersonNow>,
    /// Command line.
    pub command: String,
    /// Services, in words.
    pub services: String,
    /// The log, oldest first.
    pub log: Vec<LogLine>,
    /// Entries in the whole log.
    pub seq: u64,
    /// Head code.
    pub head_code: String,
    /// Map.
    pub map: MapNow,
    /// Cautions, the standing one last.
    pub cautions: Vec<String>,
}

/// A lane on the sheet.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct HandoverLane {
    /// Number.
    pub order: usize,
    /// Method and people.
    pub line: String,
    /// Where: landmarks of its ends, and its length.
    pub place: String,
    /// State in words.
    pub state: String,
    /// When it ended, or the last word of it.
    pub at_ms: Option<i64>,
    /// Chance that one pass finds somebody who is there and not hidden.
    pub finds: f64,
    /// Share of the belief in it now.
    pub holds: f64,
}

/// The sheet of now.
///
/// # Inputs
/// - `state` · `thought`: the latest finished · `names` · `now_ms`
///
/// # Gives
/// One page; an empty one before any alarm.
///
/// # Source
/// docs/handbook/alarm-room.md
pub fn handover(state: &State, thought: &Thought, names: &Names, now_ms: i64) -> Handover {
    show::sheet(state, thought, names, now_ms, chain::head_code(&state.head))
}
