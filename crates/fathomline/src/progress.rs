//! How far a long computation has come, on standard error; Ctrl-C ends it and keeps what is done.

use std::cell::Cell;
use std::io::{IsTerminal, Write};
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

/// Set by Ctrl-C.
static ENOUGH: AtomicBool = AtomicBool::new(false);

/// A bar on standard error.
pub struct Progress {
    name: String,
    total: u64,
    shown: Cell<Option<Instant>>,
    begun: Instant,
}

impl Progress {
    /// Begins; the first Ctrl-C from now on asks for an end, a second one ends the program.
    pub fn new(name: impl Into<String>, total: u64) -> Self {
        // A handler that is there already is ours.
        let _ = ctrlc::set_handler(|| {
            if ENOUGH.swap(true, Ordering::Relaxed) {
                std::process::exit(130);
            }
        });
        Progress { name: name.into(), total, shown: Cell::new(None), begun: Instant::now() }
    }

    /// Shows how many are done; gives whether to go on.
    pub fn tell(&self, done: u64) -> bool {
        let due = self.shown.get().is_none_or(|at| at.elapsed() > Duration::from_millis(500));
        if due || done >= self.total {
            self.shown.set(Some(Instant::now()));
            let seconds = self.begun.elapsed().as_secs();
            let (end, begin) = if std::io::stderr().is_terminal() { ("", "\r\x1b[K") } else { ("\n", "") };
            let full = (20 * done / self.total.max(1)) as usize;
            let bar = format!("{}{}", "#".repeat(full.min(20)), ".".repeat(20_usize.saturating_sub(full)));
            let mut out = std::io::stderr().lock();
            // Nobody is helped by a complaint that progress could not be shown.
            let _ = write!(out, "{begin}{} [{bar}] {done} of {}, {seconds} s{end}", self.name, self.total);
            let _ = out.flush();
        }
        if done >= self.total && std::io::stderr().is_terminal() {
            eprintln!();
        }
        !Progress::ended()
    }

    /// Whether somebody has asked for an end.
    pub fn ended() -> bool {
        ENOUGH.load(Ordering::Relaxed)
    }
}
