//! A desk without wires: what a server does with the crate, in memory, for tests.
#![allow(dead_code)] // each test binary uses its own part

use incident::event::{Entry, Event};
use incident::names::Names;
use incident::report::{Ago, Report, Role, Sent, Where};
use incident::screen::Screen;
use incident::{Beginning, Effort, Refusal, State, Thinker, Thought, Water, chain, decide, opening, screen};
use measure::Spot;
use std::sync::Arc;
use water::door::{SiteFiles, read_day, read_site};
use water::{Day, Site};

/// The first touch of the tests: 8 July 2026, 14:32:07 by local time, one hour ahead of UTC.
pub const ALARM_MS: i64 = 1_783_517_527_000;

pub fn tarn() -> (Site, Day) {
    let file = |name: &str, bytes: &[u8]| (name.to_string(), bytes.to_vec());
    let files = SiteFiles {
        files: vec![
            file("site.toml", include_bytes!("../../../../data/sites/kestrel-tarn/site.toml")),
            file("map.geojson", include_bytes!("../../../../data/sites/kestrel-tarn/map.geojson")),
            file("soundings.csv", include_bytes!("../../../../data/sites/kestrel-tarn/soundings.csv")),
        ],
    };
    let site = read_site(&files).value.expect("the site comes through the door");
    let day = include_bytes!("../../../../data/sites/kestrel-tarn/day.toml");
    let day = read_day("day.toml", day, &site).value.expect("the day comes through the door");
    (site, day)
}

/// The tarn with the first so many of the crew.
pub fn tarn_with(crew: usize) -> (Site, Day) {
    let (site, mut day) = tarn();
    day.crew.truncate(crew);
    (site, day)
}

pub const SMALL: Effort = Effort { particles: 3000, plans: 300 };

pub struct Desk {
    pub state: State,
    pub names: Names,
    pub thinker: Thinker,
    pub thought: Arc<Thought>,
    pub lines: Vec<String>,
    pub entries: Vec<Entry>,
    pub now_ms: i64,
    head: chain::Digest,
    sent: u64,
}

impl Desk {
    pub fn new(crew: usize) -> Desk {
        let (site, day) = tarn_with(crew);
        let water = Water::new(site, day.stage_m);
        Desk::on(water, &day, SMALL)
    }

    pub fn on(water: Water, day: &Day, effort: Effort) -> Desk {
        let mut desk = Desk {
            state: State::default(),
            names: Names::default(),
            thinker: Thinker::new(water.clone(), effort),
            thought: Arc::default(),
            lines: Vec::new(),
            entries: Vec::new(),
            now_ms: ALARM_MS - 3_600_000,
            head: chain::Digest::default(),
            sent: 0,
        };
        let beginning =
            Beginning { site_digest: "test".into(), version: "test".into(), seed: 7, utc_offset_s: 3600 };
        let (event, notes) = opening((&desk.state, &desk.names), &water.site, day, &beginning);
        notes.iter().for_each(|note| desk.names.keep(note));
        let at_ms = desk.now_ms;
        desk.append("desk", "day", (at_ms, event));
        desk.now_ms = ALARM_MS;
        desk
    }

    pub fn append(&mut self, device: &str, report_id: &str, (happened_at_ms, event): (i64, Event)) {
        let sender = self.state.sender(device);
        let entry = Entry {
            seq: self.state.seq + 1,
            recorded_at_ms: self.now_ms,
            happened_at_ms,
            device: device.into(),
            report_id: report_id.into(),
            role: sender.role,
            person: sender.person,
            event,
        };
        let line = chain::line(&entry, &self.head);
        self.head = chain::digest(&line);
        self.lines.push(line);
        self.state.apply(&entry);
        self.entries.push(entry);
    }

    /// Sends a report that happened at `at_ms`, or now.
    pub fn try_send(&mut self, device: &str, report: Report, at_ms: Option<i64>) -> Result<(), Refusal> {
        self.sent += 1;
        let sent = Sent { report_id: format!("{device}-{}", self.sent), happened_at_ms: at_ms, report };
        let sender = self.state.sender(device);
        let decided = decide(&self.state, &sender, &sent, self.now_ms)?;
        decided.names.iter().for_each(|note| self.names.keep(note));
        for event in decided.events {
            self.append(device, &sent.report_id, (decided.happened_at_ms, event));
        }
        self.think();
        Ok(())
    }

    pub fn think(&mut self) {
        self.thought = self.thinker.follow(&self.state, self.now_ms);
        if let Some(event) = self.thought.shown(&self.state) {
            let now_ms = self.now_ms;
            self.append("desk", &format!("shown-{}", self.state.seq), (now_ms, event));
            self.thought = self.thinker.follow(&self.state, self.now_ms);
        }
    }

    pub fn send(&mut self, device: &str, report: Report) {
        let words = format!("{report:?}");
        if let Err(refusal) = self.try_send(device, report, None) {
            panic!("{words} was refused: {refusal}");
        }
    }

    pub fn wait(&mut self, seconds: i64) {
        self.now_ms += 1000 * seconds;
    }

    pub fn screen(&self, device: &str) -> Screen {
        screen(&self.state, &self.thought, &self.state.sender(device), &self.names, self.now_ms)
    }

    pub fn role(&mut self, device: &str, role: Role) {
        self.send(device, Report::RoleTaken { role, person: None });
    }

    /// The three touches: missing, where, when.
    pub fn three_touches(&mut self, device: &str) {
        self.send(device, Report::SwimmerMissing { practice: false });
        self.wait(4);
        self.send(device, place(1, Spot::new(-24.0, 24.0)));
        self.wait(3);
        self.send(device, ago(1, 60.0, 120.0));
    }
}

pub fn sighting(number: u32) -> Report {
    Report::Sighting {
        number,
        place: None,
        ago: None,
        class: None,
        stood: None,
        went_under: None,
        talked_with: None,
        missing: None,
    }
}

pub fn place(number: u32, spot: Spot) -> Report {
    let Report::Sighting { class, stood, went_under, talked_with, missing, ago, .. } = sighting(number)
    else {
        unreachable!()
    };
    let place = Some(Where::Point { spot, error_m: None });
    Report::Sighting { number, place, ago, class, stood, went_under, talked_with, missing }
}

pub fn ago(number: u32, from_s: f64, to_s: f64) -> Report {
    let Report::Sighting { class, stood, went_under, talked_with, missing, place, .. } = sighting(number)
    else {
        unreachable!()
    };
    Report::Sighting {
        number,
        place,
        ago: Some(Ago { from_s, to_s }),
        class,
        stood,
        went_under,
        talked_with,
        missing,
    }
}

impl Desk {
    /// Says every order that is due, in order, a few seconds each.
    pub fn say_all(&mut self, device: &str) {
        for _ in 0..40 {
            let say = self.screen(device).say;
            let Some(next) = say.iter().find(|say| say.due_ms <= self.now_ms + 15_000) else { return };
            self.wait(3);
            let order = next.order;
            // A plan made anew in these seconds may have put another order in its place.
            let _ = self.try_send(device, Report::SaidIt { order }, None);
        }
    }

    /// A line of the method that is bound, as shown.
    pub fn line(&self, method: search::Method) -> incident::event::ShownOrder {
        let orders = &self.state.incident.as_ref().expect("an incident runs").orders;
        let mut open = orders.values().filter(|k| k.ended_ms.is_none() && !k.withdrawn);
        open.find(|k| k.said_ms.is_some() && k.shown.method == Some(method))
            .expect("such a line")
            .shown
            .clone()
    }

    /// A search with every order said, and the dive line at its place.
    pub fn at_work(crew: usize) -> (Desk, incident::event::ShownOrder) {
        let mut desk = Desk::new(crew);
        desk.three_touches("a");
        desk.say_all("a");
        let dive = desk.line(search::Method::Dive);
        desk.now_ms = desk.now_ms.max(dive.leaves_ms + 40_000);
        (desk, dive)
    }

    pub fn refused(&mut self, device: &str, report: Report) -> &'static str {
        let words = format!("{report:?}");
        match self.try_send(device, report, None) {
            Ok(()) => panic!("{words} was taken"),
            Err(refusal) => {
                assert!(!refusal.what.is_empty() && !refusal.remedy.is_empty());
                refusal.code
            }
        }
    }
}
