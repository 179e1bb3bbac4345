//! The desk: one program that takes reports, keeps the log, thinks, and shows every device its screen.
//!
//! A report goes one way: `routes` → `sequencer` (check, append, flush, acknowledge) → `picture` → `thinking` →
//! `live`. The desk decides nothing about water and nothing about an incident: the pure crates do. It writes no
//! names, no words of anybody and no secrets to its own messages. Start reading at [`Desk::open`].

mod address;
mod changes;
mod clock;
mod connections;
mod entrance;
mod explain;
mod files;
mod folder;
mod guard;
mod join;
mod listeners;
mod live;
pub mod openapi;
mod pace;
mod paper;
mod picture;
mod rehearsal;
mod routes;
mod secrets;
mod sequencer;
mod sessions;
mod still;
pub mod store;
mod thinking;
pub mod tls;
mod web;
mod wire;
mod zero;

pub use address::qr_text;
pub use picture::screen_of;

use crate::alarm;
use entrance::Entrance;
use incident::{Beginning, Chart, Effort, Names, State, Thinker, Water, chain};
use listeners::Listeners;
use pace::Pace;
use picture::{Board, Picture};
use sequencer::{Job, Log, Sequencer};
use sessions::Sessions;
use std::net::SocketAddr;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::mpsc::{Receiver, SyncSender, sync_channel};
use store::Store;
use thinking::Mind;
use tls::Certificate;
use tokio::net::TcpListener;
use water::{Day, Problem};
use zero::Zeros;

/// Most jobs that wait for the disk.
const JOBS_WAIT: usize = 1024;

/// Requests with reports that one device may send at once, and one more each so often \[s\]: an outbox that empties is
/// faster than any hand, and far below this.
const REPORTS_AT_ONCE: u32 = 300;
const REPORT_EACH_S: f64 = 0.02;

/// How a desk is opened.
pub struct Opening {
    /// Data folder.
    pub data: PathBuf,
    /// Site folder, needed once.
    pub site: Option<PathBuf>,
    /// Day file; without it the site folder's own.
    pub day: Option<PathBuf>,
    /// Where it listens.
    pub listen: SocketAddr,
    /// The day's crew word; without it the one kept, or a new one.
    pub word: Option<String>,
    /// TLS, if wanted.
    pub tls: Option<Certificate>,
    /// Everything is a drill.
    pub practice: bool,
    /// Cloud and effort, smaller in tests.
    pub effort: Effort,
    /// A practice search is already under way.
    pub half_way: bool,
    /// Most pages of the log, for tests of a full disk.
    pub pages_most: Option<u32>,
}

/// A desk at work.
pub struct Desk {
    data: PathBuf,
    water: Water,
    day: Day,
    chart: Chart,
    packed_chart: still::Packed,
    photo: Option<still::Picture>,
    board: Arc<Board>,
    jobs: SyncSender<Job>,
    sessions: Sessions,
    entrance: Entrance,
    listeners: Listeners,
    zero: Zeros,
    reporting: Pace<String>,
    practice: bool,
    tls: bool,
    address: String,
}

/// What whoever opened the desk is told.
pub struct Opened {
    /// Name of the site.
    pub site: String,
    /// Addresses, the likeliest first.
    pub addresses: Vec<String>,
    /// Address with the token, behind the QR code.
    pub join: String,
    /// The crew word if it is new; a kept one is known to the crew and to nobody else.
    pub word: Option<String>,
    /// What is odd with the site, the day, or the program.
    pub notes: Vec<String>,
    /// Entries in the log.
    pub seq: u64,
    /// Head code of the log.
    pub head_code: String,
}

impl Desk {
    /// Opens a desk and gives what it says at the start, and the work that goes on until the program ends.
    ///
    /// # Inputs
    /// - `opening`
    ///
    /// # Gives
    /// What to print, and a future that serves for ever; or what is wrong and the way out.
    pub async fn open(opening: Opening) -> Result<(Opened, impl Future<Output = ()>), String> {
        let waters = folder::waters(&opening.data, opening.site.as_deref(), opening.day.as_deref())?;
        let mut store = Store::open(&opening.data, opening.pages_most).map_err(|error| error.to_string())?;
        let log = open_log(&mut store, &waters)?;
        let (entrance, word) = open_entrance(&mut store, opening.word.as_deref())?;
        let sessions = Sessions::new(store.sessions().map_err(|error| error.to_string())?);
        let listener = TcpListener::bind(opening.listen)
            .await
            .map_err(|error| format!("{}: {error}; give another --listen ADDRESS:PORT", opening.listen))?;
        let listen = listener.local_addr().map_err(|error| error.to_string())?;
        let reached = address::reachable(listen);
        let acceptor = match &opening.tls {
            Some(certificate) => Some(tls::acceptor(certificate, &opening.data, &reached)?),
            None => None,
        };
        let addresses: Vec<String> =
            reached.iter().map(|ip| address::url(*ip, listen.port(), acceptor.is_some())).collect();

        let built = alarm::water(waters.site, &waters.day, waters.problems);
        let water = Water { site: Arc::new(built.site), ground: Arc::new(built.ground) };
        let notes = notes(&built.problems, &built.notes);
        let board = Arc::new(Board::new(Picture::of(&log)));
        let (jobs, waiting) = sync_channel(JOBS_WAIT);
        let chart = incident::chart(&water.site, &water.ground, &waters.day);
        let desk = Arc::new(Desk {
            packed_chart: still::packed(&chart),
            chart,
            photo: still::picture(&folder::copy(&opening.data), &water.site),
            data: opening.data,
            water,
            day: waters.day,
            board,
            jobs,
            sessions,
            entrance,
            listeners: Listeners::default(),
            zero: Zeros::default(),
            reporting: Pace::new(REPORTS_AT_ONCE, REPORT_EACH_S),
            practice: opening.practice,
            tls: acceptor.is_some(),
            address: addresses[0].clone(),
        });
        let opened = Opened {
            site: desk.water.site.name.clone(),
            join: desk.join_url(),
            addresses,
            word,
            notes,
            seq: log.state.seq,
            head_code: chain::head_code(&log.state.head),
        };
        desk.start_threads(Sequencer::new(store, log, Arc::clone(&desk.board)), waiting, opening.effort);
        if opening.half_way {
            rehearsal::begin(&desk);
        }
        Ok((opened, connections::take(listener, acceptor, routes::router(desk))))
    }

    /// One thread for the log, one for thinking, one for the morning's cards.
    fn start_threads(self: &Arc<Desk>, sequencer: Sequencer, waiting: Receiver<Job>, effort: Effort) {
        let board = Arc::clone(&self.board);
        std::thread::spawn(move || {
            if catch_unwind(AssertUnwindSafe(|| sequencer.run(&waiting))).is_err() {
                let words = "nothing can be recorded: a fault of the desk itself; end it and start it again, the phones keep their reports";
                board.send_modify(|picture| picture.disk = Some(words.into()));
            }
        });
        let water = self.water.clone();
        let make = Box::new(move || Thinker::new(water.clone(), effort));
        let mind = Mind::new(make, Arc::clone(&self.board), self.jobs.clone());
        let mut changes = self.board.subscribe();
        let (wake, woken) = sync_channel(1);
        std::thread::spawn(move || mind.run(&woken));
        tokio::spawn(async move {
            // A sign that waits already stands for this one too.
            while changes.changed().await.is_ok() {
                let _ = wake.try_send(());
            }
        });
        let desk = Arc::clone(self);
        std::thread::spawn(move || zero::keep(&desk));
    }

    /// Where the QR code leads.
    fn join_url(&self) -> String {
        format!("{}/join?t={}", self.address, self.entrance.token())
    }
}

/// The log followed to its end; a new one gets its first entries.
fn open_log(store: &mut Store, waters: &folder::Waters) -> Result<Log, String> {
    let said = |error: store::StoreError| error.to_string();
    if store.last_seq().map_err(said)? == 0 {
        let beginning = Beginning {
            site_digest: waters.digest.clone(),
            version: format!("fathomline {}", env!("CARGO_PKG_VERSION")),
            seed: secrets::seed(),
            utc_offset_s: clock::utc_offset_s(&waters.site.time_zone),
        };
        let nothing = (&State::default(), &Names::default());
        let (event, names) = incident::opening(nothing, &waters.site, &waters.day, &beginning);
        sequencer::opening(store, vec![event], &names).map_err(said)?;
    }
    let lines = store.lines_after(0).map_err(said)?;
    chain::verify(lines.iter().map(String::as_str))
        .map_err(|broken| format!("{broken}; keep this folder as it is and give another with --data"))?;
    let mut log = Log::default();
    log.follow(&lines)?;
    log.names = Arc::new(sequencer::names(&store.names().map_err(said)?));
    Ok(log)
}

/// The entrance with today's word and token, and the word if it is new.
fn open_entrance(store: &mut Store, given: Option<&str>) -> Result<(Entrance, Option<String>), String> {
    let said = |error: store::StoreError| error.to_string();
    let kept = store.setting("word_hash").map_err(said)?;
    let (hash, word) = match (given, kept) {
        (None, Some(kept)) => (kept, None),
        (given, _) => {
            let word = given.map_or_else(secrets::crew_word, str::to_string);
            let hash = entrance::word_hash(&word);
            store.set("word_hash", &hash).map_err(said)?;
            (hash, Some(word))
        }
    };
    let token = match store.setting("token").map_err(said)? {
        Some(token) => token,
        None => {
            let token = secrets::random()[..32].to_string();
            store.set("token", &token).map_err(said)?;
            token
        }
    };
    Ok((Entrance::new(hash, token), word))
}

/// What is odd with site, day or program, each a line.
fn notes(problems: &[Problem], doubts: &[String]) -> Vec<String> {
    let mut all: Vec<String> =
        problems.iter().map(ToString::to_string).chain(doubts.iter().cloned()).collect();
    if !web::is_built() {
        all.push("the screens were not built into this program; the page of the desk says how".into());
    }
    all
}
