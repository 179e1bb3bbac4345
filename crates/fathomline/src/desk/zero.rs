//! Order zero: the first orders of an alarm at each place, made in the morning and kept on every phone.
//!
//! They are made anew when others come on duty or somebody else takes the lead. They are made in the background, one place at a time, and wait while somebody is missing.

use super::Desk;
use super::clock::now_ms;
use super::guard::{Joined, Posted, refuse};
use super::sequencer::Job;
use super::wire::{CellCards, Zero, ZoneCards};
use axum::Json;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use incident::MorningCards;
use incident::report::Role;
use incident::screen::Words;
use measure::parameters::value;
use search::Setting;
use search::zero::{Place, squares, zones};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::{Arc, Condvar, Mutex, PoisonError};
use std::time::Duration;
use water::Flow;

/// Time of day a card is made for while nobody is on duty yet \[s after midnight\].
const NOON_S: f64 = 12.0 * 3600.0;
/// Between looks at who is on duty.
const LOOK: Duration = Duration::from_secs(20);
/// Most orders on a card: what is said in the first three minutes.
const ORDERS_MOST: usize = 6;

/// The cards, and whether they are wanted anew.
#[derive(Default)]
pub struct Zeros {
    made: Mutex<Zero>,
    wanted: Mutex<bool>,
    sign: Condvar,
}

impl Zeros {
    /// When the cards were made.
    pub fn made_at_ms(&self) -> Option<i64> {
        self.made.lock().unwrap_or_else(PoisonError::into_inner).made_at_ms
    }
}

/// `GET /api/zero`.
pub async fn cards(State(desk): State<Arc<Desk>>, Joined(_): Joined) -> Json<Zero> {
    Json(desk.zero.made.lock().unwrap_or_else(PoisonError::into_inner).clone())
}

/// `POST /api/zero`: makes them anew; what is there meanwhile are those of before.
pub async fn anew(State(desk): State<Arc<Desk>>, Posted(guest): Posted) -> Response {
    let role = desk.board.borrow().state.sender(&guest.device).role;
    if !matches!(role, Role::Lead | Role::Deputy) {
        return refuse(StatusCode::FORBIDDEN, "D006", "the cards are the lead's to make", "ask the lead");
    }
    *desk.zero.wanted.lock().unwrap_or_else(PoisonError::into_inner) = true;
    desk.zero.sign.notify_all();
    cards(State(desk), Joined(guest)).await.into_response()
}

/// Makes them at the start, whenever they are wanted, when others come on duty, and when the lead is taken.
pub fn keep(desk: &Desk) {
    loop {
        let at_s = made_for(desk);
        let crew = (on_duty(desk, at_s), lead(desk));
        make(desk, at_s);
        let mut wanted = desk.zero.wanted.lock().unwrap_or_else(PoisonError::into_inner);
        while !*wanted && (on_duty(desk, made_for(desk)), lead(desk)) == crew {
            let waited = desk.zero.sign.wait_timeout_while(wanted, LOOK, |wanted| !*wanted);
            wanted = waited.unwrap_or_else(PoisonError::into_inner).0;
        }
        *wanted = false;
    }
}

/// Time of day that cards are made for: now, or noon while nobody is on duty \[s after midnight\]. As long as the same
/// people are on duty it is that of the cards in the log, which are then the same again.
fn made_for(desk: &Desk) -> f64 {
    let state = Arc::clone(&desk.board.borrow().state);
    let offset_s = state.day.as_ref().map_or(0, |day| day.utc_offset_s);
    let now_s = (now_ms().div_euclid(1000) + i64::from(offset_s)).rem_euclid(86_400) as f64;
    let anybody = desk.day.crew.iter().any(|member| member.on_duty(now_s));
    let at_s = if anybody { now_s } else { NOON_S };
    let same = |cards: &MorningCards| on_duty(desk, cards.at_s) == on_duty(desk, at_s);
    state.cards.filter(same).map_or(at_s, |cards| cards.at_s)
}

/// Who leads, by a place in the crew: on a card too nobody is in charge and in the water.
fn lead(desk: &Desk) -> Option<usize> {
    desk.board.borrow().state.lead_index()
}

fn on_duty(desk: &Desk, at_s: f64) -> Vec<bool> {
    desk.day.crew.iter().map(|member| member.on_duty(at_s)).collect()
}

/// All cards, for whoever is on duty at a time of day; none if a fault of ours stopped them, and then those of before stay.
fn make(desk: &Desk, at_s: f64) -> Option<()> {
    let flow = Flow::from_floats(&desk.day.floats).value;
    let day = lead(desk).map_or_else(|| desk.day.clone(), |lead| incident::led_by(&desk.day, lead));
    let setting = Setting { site: &desk.water.site, day: &day, ground: &desk.water.ground, flow: &flow };
    let mut figures = MorningCards { squares: 0, at_s, height_m: value("height_missing_m") };
    let card = |place: Place| {
        while desk.board.borrow().state.is_open() {
            std::thread::sleep(Duration::from_secs(2));
        }
        let made = catch_unwind(AssertUnwindSafe(|| first_orders(&figures.card(&desk.water, &day, &place))));
        // The laptop is an old one, and the morning has other uses for it.
        std::thread::sleep(Duration::from_millis(20));
        made.ok()
    };
    let mut zero = Zero::default();
    for (name, place) in zones(&setting) {
        zero.zones.push(ZoneCards { name, cards: card(place)? });
    }
    // The first phones of the morning need not wait for hundreds of places.
    if desk.board.borrow().state.cards.is_none() {
        let early = Zero { made_at_ms: Some(now_ms()), ..zero.clone() };
        *desk.zero.made.lock().unwrap_or_else(PoisonError::into_inner) = early;
        record(desk, figures);
    }
    for spot in squares(&desk.water.ground) {
        zero.cells.push(CellCards { spot, cards: card(Place::cell(spot))? });
    }
    zero.made_at_ms = Some(now_ms());
    figures.squares = zero.cells.len() as u32;
    *desk.zero.made.lock().unwrap_or_else(PoisonError::into_inner) = zero;
    record(desk, figures);
    Some(())
}

/// That the cards lie on the phones is in the log: an alarm is held against them, also when it is replayed.
fn record(desk: &Desk, figures: MorningCards) {
    // The desk ends when nobody takes jobs any more.
    let _ = desk.jobs.send(Job::Cards(figures));
}

/// What is said in the first minutes of an alarm at a place.
fn first_orders(card: &search::zero::Zero) -> Vec<Words> {
    card.orders.iter().take(ORDERS_MOST).map(incident::card_words).collect()
}
