//! Order zero: the first orders of an alarm at each place, made in the morning and kept on every phone.
//!
//! They are made in the background, one place at a time, and wait while somebody is missing.

use super::Desk;
use super::clock::now_ms;
use super::guard::{Joined, Posted, refuse};
use super::wire::{CellCards, Zero, ZoneCards};
use axum::Json;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use incident::report::Role;
use incident::screen::Words;
use measure::{Seed, Spot, parameters::value};
use search::Setting;
use search::zero::{Morning, Place, cells, order_zero};
use std::sync::{Arc, Condvar, Mutex, PoisonError};
use std::time::Duration;
use water::{Flow, Kind, Shape};

/// Side of a place \[m\].
const CELL_M: f64 = 10.0;
/// Most places: beyond that they are made wider.
const CELLS_MOST: usize = 400;
/// Time of day a card is made for: everybody of the day who is on duty at noon \[s after midnight\].
const CARD_AT_S: f64 = 12.0 * 3600.0;
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

/// Makes them at the start, and whenever they are wanted.
pub fn keep(desk: &Desk) {
    loop {
        if let Some(made) = make(desk) {
            *desk.zero.made.lock().unwrap_or_else(PoisonError::into_inner) = made;
        }
        let wanted = desk.zero.wanted.lock().unwrap_or_else(PoisonError::into_inner);
        let waited = desk.zero.sign.wait_while(wanted, |wanted| !*wanted);
        *waited.unwrap_or_else(PoisonError::into_inner) = false;
    }
}

/// All cards; none if a fault of ours stopped them, and then those of before stay.
fn make(desk: &Desk) -> Option<Zero> {
    let flow = Flow::from_floats(&desk.day.floats).value;
    let setting = Setting { site: &desk.water.site, day: &desk.day, ground: &desk.water.ground, flow: &flow };
    let card = |place: Place| {
        while desk.board.borrow().state.is_open() {
            std::thread::sleep(Duration::from_secs(2));
        }
        let made = std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| first_orders(&setting, &place)));
        // The laptop is an old one, and the morning has other uses for it.
        std::thread::sleep(Duration::from_millis(20));
        made.ok()
    };
    let mut zero = Zero::default();
    for area in desk.water.site.of_kind(Kind::BathingArea).filter(|area| !area.name.is_empty()) {
        let Shape::Area(rings) = &area.shape else { continue };
        let middle = area.shape.middle();
        // The middle of a bent zone may be land: the wet square nearest to it stands for it.
        let near = |a: &Spot, b: &Spot| a.distance(middle).total_cmp(&b.distance(middle));
        let marker = cells(&setting, rings).into_iter().min_by(near).unwrap_or(middle);
        let place = Place::zone(&area.name, marker, rings.clone());
        zero.zones.push(ZoneCards { name: area.name.clone(), cards: card(place)? });
    }
    // The first phones of the morning need not wait for hundreds of places.
    {
        let mut made = desk.zero.made.lock().unwrap_or_else(PoisonError::into_inner);
        if made.made_at_ms.is_none() {
            *made = Zero { made_at_ms: Some(now_ms()), ..zero.clone() };
        }
    }
    for spot in places(desk) {
        zero.cells.push(CellCards { spot, cards: card(Place::cell(spot))? });
    }
    zero.made_at_ms = Some(now_ms());
    Some(zero)
}

/// Middles of squares that hold water, in rows from the south-west.
fn places(desk: &Desk) -> Vec<Spot> {
    let ground = &desk.water.ground;
    let wet: Vec<Spot> = (0..ground.grid.len())
        .filter(|&cell| ground.is_water(cell))
        .map(|cell| ground.grid.centre(cell))
        .collect();
    let mut side = CELL_M;
    loop {
        let mut squares: Vec<(i64, i64)> =
            wet.iter().map(|s| ((s.north / side).floor() as i64, (s.east / side).floor() as i64)).collect();
        squares.sort_unstable();
        squares.dedup();
        if squares.len() <= CELLS_MOST {
            let middle =
                |(row, col): (i64, i64)| Spot::new((col as f64 + 0.5) * side, (row as f64 + 0.5) * side);
            return squares.into_iter().map(middle).collect();
        }
        side *= 1.5;
    }
}

/// What is said in the first minutes of an alarm at a place.
fn first_orders(setting: &Setting, place: &Place) -> Vec<Words> {
    let morning =
        Morning { alarm_at_s: CARD_AT_S, missing_height_m: value("height_missing_m"), seed: Seed(0) };
    let words = |order: search::orders::Order| {
        let mut lines = order.lines;
        lines.truncate(3);
        Words { over: order.to, lines, under: String::new() }
    };
    order_zero(setting, place, morning).orders.into_iter().take(ORDERS_MOST).map(words).collect()
}
