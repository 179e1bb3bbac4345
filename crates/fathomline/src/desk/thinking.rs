//! Belief and plan in a thread of their own: always from the newest state, never in the way of a report.
//!
//! A thought that fails is dropped with its reason, and the last good picture stays with its age.

use super::clock::{clock, now_ms};
use super::picture::Board;
use super::sequencer::Job;
use incident::{State, Thinker, Thought};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;
use std::sync::mpsc::{Receiver, RecvTimeoutError, SyncSender};
use std::time::Duration;

/// Time alone changes what is due: the picture is made anew this often while somebody is missing.
const ANEW: Duration = Duration::from_secs(1);

/// Pause after a fault of ours.
const AFTER_FAULT: Duration = Duration::from_secs(5);

/// What thinks, and what it takes to begin again after a failure.
pub struct Mind {
    make: Box<dyn Fn() -> Thinker + Send>,
    thinker: Option<Thinker>,
    board: Arc<Board>,
    jobs: SyncSender<Job>,
    last_good: Option<String>,
}

impl Mind {
    /// A mind that begins with `make`.
    ///
    /// # Inputs
    /// - `make`: builds bottom, current and the rest, which takes a moment · `board`: where thoughts are put · `jobs`: where the orders that were
    ///   shown are recorded
    pub fn new(make: Box<dyn Fn() -> Thinker + Send>, board: Arc<Board>, jobs: SyncSender<Job>) -> Mind {
        Mind { make, thinker: None, board, jobs, last_good: None }
    }

    /// Thinks whenever something new is on the board, until the desk ends.
    ///
    /// # Inputs
    /// - `wake`: a sign for each change; several signs are one
    pub fn run(mut self, wake: &Receiver<()>) {
        loop {
            let state = Arc::clone(&self.board.borrow().state);
            self.think(&state);
            match wake.recv_timeout(ANEW) {
                Ok(()) => while wake.try_recv().is_ok() {},
                Err(RecvTimeoutError::Timeout) => {}
                Err(RecvTimeoutError::Disconnected) => return,
            }
        }
    }

    fn think(&mut self, state: &State) {
        let now = now_ms();
        let outcome = catch_unwind(AssertUnwindSafe(|| {
            let thinker = self.thinker.get_or_insert_with(|| (self.make)());
            let thought = thinker.follow(state, now);
            let is_news = thought.shown(state).is_some();
            (thought, is_news)
        }));
        match outcome {
            Ok((thought, is_news)) => {
                self.last_good = Some(clock(now, state.day.as_ref().map_or(0, |day| day.utc_offset_s)));
                self.show(Some(&thought), None);
                if is_news {
                    // The desk ends when nobody takes jobs any more.
                    let _ = self.jobs.send(Job::Shown(thought));
                }
                self.prepare();
            }
            Err(_) => {
                self.thinker = None;
                let picture = match &self.last_good {
                    Some(clock) => format!("picture from {clock}: thinking failed and is tried again"),
                    None => "no picture yet: thinking failed and is tried again".to_string(),
                };
                self.show(None, Some(picture));
                // The same again at once would fail the same way.
                std::thread::sleep(AFTER_FAULT);
            }
        }
    }

    /// Between two touches there is time to work ahead. A fault in it shows itself again where it matters.
    fn prepare(&mut self) {
        let prepared = catch_unwind(AssertUnwindSafe(|| self.thinker.as_mut().map(Thinker::prepare)));
        if prepared.is_err() {
            self.thinker = None;
        }
    }

    fn show(&self, thought: Option<&Arc<Thought>>, thinking: Option<String>) {
        self.board.send_if_modified(|picture| {
            let is_new = thought.is_some_and(|new| !Arc::ptr_eq(new, &picture.thought));
            let changed = is_new || picture.thinking != thinking;
            picture.thinking = thinking;
            if let Some(thought) = thought {
                picture.thought = Arc::clone(thought);
            }
            changed
        });
    }
}
