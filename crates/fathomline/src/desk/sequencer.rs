//! The one place where something becomes true: check, append, flush, acknowledge, apply, think, show.
//!
//! One thread takes reports in the order of their coming, several at once if they wait, so that a flush is shared.
//! What was not flushed was not acknowledged, and nobody has seen it.

use super::clock::now_ms;
use super::picture::Board;
use super::store::{NameRow, Row, Store, StoreError};
use super::wire::{Answer, Refused};
use incident::report::{Role, Sent};
use incident::{Decided, Entry, Event, MorningCards, NameNote, Names, Sender, State, Thought, chain, decide};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;
use std::sync::mpsc::{Receiver, RecvTimeoutError};
use std::time::Duration;
use tokio::sync::oneshot;

/// Device under which the desk itself records.
pub const DESK: &str = "desk";
/// Most jobs that share a flush.
const JOBS_MOST: usize = 64;
/// While the disk takes nothing, it is tried again this often.
const TRY_AGAIN: Duration = Duration::from_secs(3);

/// A report as it came: to be decided, or no report at all.
pub type Came = Result<Sent, Answer>;

/// Something to be written.
pub enum Job {
    /// Reports of a device, in its order.
    Reports {
        /// Device.
        device: String,
        /// Reports.
        came: Vec<Came>,
        /// Where the answers go, once all is on disk.
        answer: oneshot::Sender<Result<Vec<Answer>, Refused>>,
    },
    /// A device joins.
    Admit {
        /// Digest of its cookie.
        cookie_digest: String,
        /// Device.
        device: String,
        /// Where the answer goes, once it is on disk.
        answer: oneshot::Sender<Result<(), Refused>>,
    },
    /// What a thought shows that the log does not hold yet is to be recorded.
    Shown(Arc<Thought>),
    /// The morning's cards were made.
    Cards(MorningCards),
}

/// The log with the state that follows from it.
pub struct Sequencer {
    store: Store,
    log: Log,
    board: Arc<Board>,
    /// A write failed: whether it reached the disk all the same is looked up before the next.
    in_doubt: bool,
}

/// State at the end of the log.
#[derive(Clone, Default)]
pub struct Log {
    /// State.
    pub state: Arc<State>,
    /// Names.
    pub names: Arc<Names>,
}

impl Log {
    /// Follows lines of the log, which must go on where this one ends.
    pub fn follow(&mut self, lines: &[String]) -> Result<(), String> {
        for line in lines {
            let entry =
                chain::entry(line).map_err(|error| format!("entry {}: {error}", self.state.seq + 1))?;
            self.step(&entry, chain::digest(line));
        }
        Ok(())
    }

    fn step(&mut self, entry: &Entry, digest: chain::Digest) {
        let state = Arc::make_mut(&mut self.state);
        state.apply(entry);
        // Of a later program's entry only the line itself is the truth.
        state.set_head(digest);
    }
}

/// What one flush will write.
struct Batch {
    log: Log,
    rows: Vec<Row>,
    notes: Vec<NameNote>,
    sessions: Vec<(String, String)>,
}

impl Sequencer {
    /// A sequencer at the end of a log.
    pub fn new(store: Store, log: Log, board: Arc<Board>) -> Sequencer {
        Sequencer { store, log, board, in_doubt: true }
    }

    /// Works until nobody is left to send jobs. Whether the disk takes anything is known before the first report.
    pub fn run(mut self, jobs: &Receiver<Job>) {
        self.write(Vec::new());
        loop {
            let first =
                if self.in_doubt { jobs.recv_timeout(TRY_AGAIN) } else { jobs.recv().map_err(Into::into) };
            match first {
                Ok(first) => {
                    let mut all = vec![first];
                    all.extend(jobs.try_iter().take(JOBS_MOST - 1));
                    self.write(all);
                }
                Err(RecvTimeoutError::Timeout) => self.write(Vec::new()),
                Err(RecvTimeoutError::Disconnected) => return,
            }
        }
    }

    /// Decides, writes, answers and shows what came.
    fn write(&mut self, jobs: Vec<Job>) {
        let mut batch =
            Batch { log: self.log.clone(), rows: Vec::new(), notes: Vec::new(), sessions: Vec::new() };
        let outcome = self.recover(&mut batch).and_then(|()| {
            let answers: Vec<Reply> =
                jobs.iter().map(|job| self.decided(&mut batch, job)).collect::<Result<_, _>>()?;
            self.store.append(&batch.rows, &name_rows(&batch.notes), &batch.sessions, now_ms())?;
            Ok(answers)
        });
        match outcome {
            Ok(replies) => {
                self.in_doubt = false;
                self.log = batch.log;
                self.show(None);
                jobs.into_iter().zip(replies).for_each(|(job, reply)| job.answered(Ok(reply)));
            }
            Err(error) => {
                self.in_doubt = true;
                let refused = refused(&error);
                self.show(Some(refused.what.clone()));
                jobs.into_iter().for_each(|job| job.answered(Err(refused.clone())));
            }
        }
    }

    /// After a failed write: takes in whatever reached the disk all the same.
    fn recover(&mut self, batch: &mut Batch) -> Result<(), StoreError> {
        if self.in_doubt {
            let lines = self.store.lines_after(self.log.state.seq)?;
            self.log.follow(&lines).map_err(StoreError::Unreadable)?;
            self.store.try_writing()?;
            batch.log = self.log.clone();
        }
        Ok(())
    }

    fn decided(&self, batch: &mut Batch, job: &Job) -> Result<Reply, StoreError> {
        match job {
            Job::Reports { device, came, .. } => {
                let answer = |batch: &mut Batch, came: &Came| match came {
                    Ok(sent) => self.report_or_fault(batch, device, sent),
                    Err(answer) => Ok(answer.clone()),
                };
                came.iter().map(|came| answer(batch, came)).collect::<Result<_, _>>().map(Reply::Answers)
            }
            Job::Admit { cookie_digest, device, .. } => {
                batch.sessions.push((cookie_digest.clone(), device.clone()));
                Ok(Reply::Done)
            }
            Job::Shown(thought) => {
                if let Some(event) = thought.shown(&batch.log.state) {
                    let report_id = format!("shown-{}", batch.log.state.seq + 1);
                    batch.add(&desk_itself(), (&report_id, now_ms()), vec![event]);
                }
                Ok(Reply::Done)
            }
            Job::Cards(cards) => {
                // The same cards again, after a start of the desk, are no news.
                if batch.log.state.cards.as_ref() != Some(cards) {
                    let report_id = format!("cards-{}", batch.log.state.seq + 1);
                    batch.add(&desk_itself(), (&report_id, now_ms()), vec![Event::CardsMade(*cards)]);
                }
                Ok(Reply::Done)
            }
        }
    }

    /// Decides one report; a fault of ours in it refuses this one and touches nothing else.
    fn report_or_fault(&self, batch: &mut Batch, device: &str, sent: &Sent) -> Result<Answer, StoreError> {
        let (log, rows, notes) = (batch.log.clone(), batch.rows.len(), batch.notes.len());
        let outcome = catch_unwind(AssertUnwindSafe(|| self.report(batch, device, sent)));
        outcome.unwrap_or_else(|_| {
            batch.log = log;
            batch.rows.truncate(rows);
            batch.notes.truncate(notes);
            Ok(Answer::Refused {
                report_id: sent.report_id.clone(),
                code: "D014".into(),
                what: format!("a fault of the desk itself, after entry {}", batch.log.state.seq),
                remedy: "write it on the paper slate, and send us the log".into(),
            })
        })
    }

    /// Decides one report and puts what follows from it at the end of the batch.
    fn report(&self, batch: &mut Batch, device: &str, sent: &Sent) -> Result<Answer, StoreError> {
        let report_id = sent.report_id.clone();
        let waiting = batch.rows.iter().find(|row| row.device == device && row.report_id == report_id);
        let known = match waiting {
            Some(row) => Some((row.seq, row.recorded_at_ms)),
            None => self.store.recorded(device, &report_id)?,
        };
        if let Some((seq, _)) = known {
            return Ok(Answer::Repeated { report_id, seq });
        }
        let sender = batch.log.state.sender(device);
        let now = now_ms().max(batch.log.state.recorded_at_ms + 1);
        match decide(&batch.log.state, &sender, sent, now) {
            Ok(Decided { events, names, happened_at_ms }) => {
                // A report that changes nothing is acknowledged at the entry that says so already.
                let seq = batch.log.state.seq + u64::from(!events.is_empty());
                let recorded_at_ms = batch.add(&sender, (&report_id, happened_at_ms), events);
                for note in &names {
                    Arc::make_mut(&mut batch.log.names).keep(note);
                }
                batch.notes.extend(names);
                Ok(Answer::Recorded { report_id, seq, recorded_at_ms })
            }
            Err(refusal) => Ok(Answer::Refused {
                report_id,
                code: refusal.code.to_string(),
                what: refusal.what,
                remedy: refusal.remedy,
            }),
        }
    }

    /// Puts the newest state where everybody sees it.
    fn show(&self, disk: Option<String>) {
        self.board.send_modify(|picture| {
            picture.state = Arc::clone(&self.log.state);
            picture.names = Arc::clone(&self.log.names);
            picture.seq = self.log.state.seq;
            picture.head_code = chain::head_code(&self.log.state.head);
            picture.disk = disk;
        });
    }
}

impl Batch {
    /// Puts events at the end; gives when the first was recorded.
    fn add(&mut self, sender: &Sender, (report_id, happened_at_ms): (&str, i64), events: Vec<Event>) -> i64 {
        let mut first = None;
        for (part, event) in events.into_iter().enumerate() {
            // Strictly rising, also when the laptop's clock is set back.
            let recorded_at_ms = now_ms().max(self.log.state.recorded_at_ms + 1);
            let entry = Entry {
                seq: self.log.state.seq + 1,
                recorded_at_ms,
                happened_at_ms,
                device: sender.device.clone(),
                report_id: report_id.to_string(),
                role: sender.role,
                person: sender.person,
                event,
            };
            let line = chain::line(&entry, &self.log.state.head);
            let digest = chain::digest(&line);
            self.rows.push(Row {
                seq: entry.seq,
                recorded_at_ms,
                device: entry.device.clone(),
                report_id: entry.report_id.clone(),
                part: part as u32,
                line,
                digest: digest.hex(),
            });
            self.log.step(&entry, digest);
            first = first.or(Some(recorded_at_ms));
        }
        first.unwrap_or(self.log.state.recorded_at_ms)
    }
}

/// First entries of a log, as rows; used once, when a folder is new.
pub fn opening(store: &mut Store, events: Vec<Event>, names: &[NameNote]) -> Result<(), StoreError> {
    let mut batch = Batch { log: Log::default(), rows: Vec::new(), notes: Vec::new(), sessions: Vec::new() };
    batch.add(&desk_itself(), ("opening", now_ms()), events);
    store.append(&batch.rows, &name_rows(names), &[], now_ms())
}

/// The desk as a sender: it looks on and records.
fn desk_itself() -> Sender {
    Sender { device: DESK.into(), role: Role::Viewer, person: None }
}

enum Reply {
    Answers(Vec<Answer>),
    Done,
}

impl Job {
    /// Sends the answer; whoever asked may have gone, and asks again.
    fn answered(self, outcome: Result<Reply, Refused>) {
        match (self, outcome) {
            (Job::Reports { answer, .. }, Ok(Reply::Answers(answers))) => drop(answer.send(Ok(answers))),
            (Job::Reports { answer, .. }, Err(refused)) => drop(answer.send(Err(refused))),
            (Job::Admit { answer, .. }, outcome) => drop(answer.send(outcome.map(|_| ()))),
            (Job::Shown(_) | Job::Cards(_), _) | (Job::Reports { .. }, Ok(Reply::Done)) => {}
        }
    }
}

/// A store's error as every screen says it.
fn refused(error: &StoreError) -> Refused {
    let (code, remedy) = match error {
        StoreError::Full => ("D007", "free some space on the laptop's disk; until then keep the paper slate"),
        StoreError::ReadOnly => ("D008", "make the data folder writable; until then keep the paper slate"),
        _ => ("D009", "look at the laptop's disk; until then keep the paper slate"),
    };
    Refused { code: code.into(), what: format!("nothing can be recorded: {error}"), remedy: remedy.into() }
}

/// Key of each note: a later one about the same thing takes its place.
fn name_rows(notes: &[NameNote]) -> Vec<NameRow> {
    let key = |note: &NameNote| match note {
        NameNote::Person { person, .. } => format!("person {person}"),
        NameNote::Missing { incident, missing, .. } => format!("missing {incident}/{missing}"),
        NameNote::Command { incident, .. } => format!("command {incident}"),
    };
    notes
        .iter()
        .map(|note| NameRow {
            key: key(note),
            words: serde_json::to_string(note).expect("a note is plain data"),
        })
        .collect()
}

/// Names as they were kept; a row that a later program wrote is passed over.
pub fn names(rows: &[NameRow]) -> Names {
    let mut names = Names::default();
    rows.iter().filter_map(|row| serde_json::from_str(&row.words).ok()).for_each(|note| names.keep(&note));
    names
}
