//! What all screens are made from: the newest state, the latest finished thought, and what is wrong with the desk.

use super::sequencer::Log;
use incident::state::Phase;
use incident::{Names, Screen, State, Thought, chain};
use std::sync::Arc;
use tokio::sync::watch;

/// Everything that screens are made from, at one moment.
#[derive(Clone)]
pub struct Picture {
    /// State after the last entry on disk.
    pub state: Arc<State>,
    /// Names, kept apart from the log.
    pub names: Arc<Names>,
    /// The latest finished thought.
    pub thought: Arc<Thought>,
    /// Number of the last entry.
    pub seq: u64,
    /// Head code of the log.
    pub head_code: String,
    /// What is wrong with the disk, if anything.
    pub disk: Option<String>,
    /// What is wrong with the thinking, if anything.
    pub thinking: Option<String>,
}

impl Picture {
    /// The picture at the end of a log, before any thought.
    pub fn of(log: &Log) -> Picture {
        Picture {
            state: Arc::clone(&log.state),
            names: Arc::clone(&log.names),
            thought: Arc::default(),
            seq: log.state.seq,
            head_code: chain::head_code(&log.state.head),
            disk: None,
            thinking: None,
        }
    }

    /// Whether a search is under way whose orders stand in the log, and this desk, started anew, has not thought it through yet.
    pub fn catches_up(&self) -> bool {
        let given = |incident: &&incident::state::Incident| {
            incident.number != self.thought.incident
                && incident.phase == Phase::Searching
                && incident.short.is_empty()
                && !incident.orders.is_empty()
        };
        self.state.open().is_some_and(|incident| given(&incident))
    }

    /// What every screen must say.
    pub fn trouble(&self) -> Vec<String> {
        let behind = self.catches_up().then(|| {
            "the desk was started again and works the search out of its log: orders given stand, go on reporting".into()
        });
        self.disk.iter().cloned().chain(self.thinking.clone()).chain(behind).collect()
    }
}

/// Where the newest picture is put; whoever looks sees the latest and skips what lay between.
pub type Board = watch::Sender<Picture>;

/// The screen of a device.
pub fn screen_of(picture: &Picture, device: &str, now_ms: i64) -> Screen {
    incident::screen(&picture.state, &picture.thought, &picture.state.sender(device), &picture.names, now_ms)
}
