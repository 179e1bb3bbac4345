//! What goes over the wire beside reports and screens; the browser's types are made from these.

use incident::screen::Words;
use measure::Spot;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Answer to `GET /api/hello`, open to all.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Hello {
    /// Name of the site.
    pub site: String,
    /// Version of the program.
    pub version: String,
    /// Server's time.
    pub now_ms: i64,
    /// Whether this browser has joined.
    pub joined: bool,
    /// Whether a drill is on, or the desk was started for practice.
    pub practice: bool,
    /// Its device, once joined.
    pub device: Option<String>,
    /// To be sent as `x-fathomline-csrf` with every POST, once joined.
    pub csrf: Option<String>,
}

/// Body of `POST /api/join`: word or token.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Join {
    /// Made by the device and kept by it: 8 to 64 letters, digits, `-`.
    pub device: String,
    /// The day's crew word.
    #[serde(default)]
    pub word: Option<String>,
    /// Token of the QR code.
    #[serde(default)]
    pub token: Option<String>,
}

/// Answer to a join that is let in; the cookie comes with it.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Joined {
    /// The device.
    pub device: String,
    /// To be sent as `x-fathomline-csrf` with every POST.
    pub csrf: String,
}

/// What was not done, why, and the way out.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Refused {
    /// Code, explained in docs/problems.md.
    pub code: String,
    /// What is wrong.
    pub what: String,
    /// The way out.
    pub remedy: String,
}

/// Answer to `POST /api/report`: one for each report, in their order. All of it is on disk.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Answers {
    /// In the order of the reports.
    pub answers: Vec<Answer>,
}

/// Answer to one report.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(tag = "answer", rename_all = "snake_case")]
pub enum Answer {
    /// It is in the log.
    Recorded {
        /// The device's number of the report.
        report_id: String,
        /// Its first entry.
        seq: u64,
        /// When it was recorded.
        recorded_at_ms: i64,
    },
    /// It was in the log already.
    Repeated {
        /// The device's number of the report.
        report_id: String,
        /// Its first entry.
        seq: u64,
    },
    /// It is not in the log and need not be sent again.
    Refused {
        /// The device's number of the report.
        report_id: String,
        /// Code, explained in docs/problems.md.
        code: String,
        /// What is wrong.
        what: String,
        /// The way out.
        remedy: String,
    },
}

/// Server-sent event `beat`, every 3 s.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Beat {
    /// Server's time.
    pub now_ms: i64,
    /// Last entry of the log.
    pub seq: u64,
    /// Devices that have joined.
    pub phones: usize,
    /// Devices that listen now.
    pub live: usize,
    /// Head code of the log.
    pub head_code: String,
    /// What every screen must say: a disk that takes nothing, a picture that is late.
    pub trouble: Vec<String>,
    /// When the morning's cards were made: a phone that has others fetches them.
    pub zero_made_at_ms: Option<i64>,
}

/// Answer to `GET /api/explain/{model}`.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Page {
    /// Title.
    pub title: String,
    /// The page as HTML, without scripts.
    pub html: String,
}

/// Answer to `GET /api/zero`: the first orders of an alarm at each place, made in the morning.
#[derive(Clone, Debug, Default, Serialize, JsonSchema)]
pub struct Zero {
    /// When they were made; absent while they are being made for the first time.
    pub made_at_ms: Option<i64>,
    /// By bathing area.
    pub zones: Vec<ZoneCards>,
    /// By place.
    pub cells: Vec<CellCards>,
}

/// Cards of a bathing area.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct ZoneCards {
    /// Area.
    pub name: String,
    /// In the order to be said.
    pub cards: Vec<Words>,
}

/// Cards of a place.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct CellCards {
    /// Its middle.
    pub spot: Spot,
    /// In the order to be said.
    pub cards: Vec<Words>,
}
