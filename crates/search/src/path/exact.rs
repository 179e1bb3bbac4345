//! Branch and bound: proves a search best, or says how far from best it can be at most (PA-7).
//!
//! Open standings wait in order of their ceilings. The one with the highest ceiling is taken, its prices are
//! repaired for what is still to be done, and a depth-first search with those prices held still (a move changes
//! its ceiling by a few additions) tries to close it; if that takes too long it is split into its moves.

use super::CLOSE;
use super::field::{Field, Standing};
use super::prices::Prices;
use std::cmp::Ordering;
use std::collections::BinaryHeap;
use std::rc::Rc;

/// Best search in hand.
#[derive(Clone, Debug)]
pub struct Best {
    /// Its weighted mass found.
    pub value: f64,
    /// Its moves, in the order they are made.
    pub moves: Vec<u32>,
}

impl Best {
    /// Takes `moves` if they are worth more.
    pub fn offer(&mut self, field: &Field, moves: &[u32]) -> bool {
        let value = field.value(moves);
        let better = value > self.value;
        if better {
            (self.value, self.moves) = (value, moves.to_vec());
        }
        better
    }
}

/// A standing still to be closed, with the prices of the standing it came from.
struct Open {
    ceiling: f64,
    number: u64,
    moves: Vec<u32>,
    kept: Rc<Vec<(u32, f64)>>,
}

impl PartialEq for Open {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}
impl Eq for Open {}
impl PartialOrd for Open {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}
impl Ord for Open {
    fn cmp(&self, other: &Self) -> Ordering {
        self.ceiling.total_cmp(&other.ceiling).then(other.number.cmp(&self.number))
    }
}

/// A proof under way: the standings still open.
pub struct Proof {
    open: BinaryHeap<Open>,
    number: u64,
    rounds: usize,
    root: Rc<Vec<(u32, f64)>>,
}

impl Proof {
    /// Nothing is closed yet.
    ///
    /// # Inputs
    /// - `prices`: tuned and swept at the start, with their `ceiling`
    /// - `rounds`: price changes at each standing taken
    pub fn begin(prices: &Prices, ceiling: f64, rounds: usize) -> Self {
        let kept = Rc::new(prices.kept());
        let root = Rc::clone(&kept);
        let open = BinaryHeap::from([Open { ceiling, number: 0, moves: Vec::new(), kept }]);
        Proof { open, number: 0, rounds, root }
    }

    /// The prices at the start.
    pub fn root(&self) -> Rc<Vec<(u32, f64)>> {
        Rc::clone(&self.root)
    }

    /// What no search can exceed, as far as the proof has come.
    pub fn ceiling(&self, best: &Best) -> f64 {
        let open = self.open.peek().map_or(f64::NEG_INFINITY, |top| top.ceiling);
        open.max(best.value + CLOSE)
    }

    /// Goes on until nothing is open or `effort` moves are tried in all.
    ///
    /// # Inputs
    /// - `prices`: any state; left at the standing looked at last
    /// - `best`: search in hand, improved
    /// - `tried`: moves tried, added to
    pub fn go_on(
        &mut self,
        field: &Field,
        prices: &mut Prices,
        best: &mut Best,
        (effort, tried): (u64, &mut u64),
    ) {
        while *tried < effort && self.ceiling(best) > best.value + CLOSE {
            let Some(taken) = self.open.pop() else { return };
            let standing = Standing::after(field, &taken.moves);
            prices.take_up(field, &standing, &taken.kept);
            let weighed = prices.weighed;
            let rounds = if taken.moves.is_empty() { 0 } else { self.rounds };
            let ceiling = prices.retune(field, &standing, best.value, rounds).min(taken.ceiling);
            let longest: Vec<u32> = taken.moves.iter().chain(&prices.longest).copied().collect();
            if longest.len() == field.length() {
                best.offer(field, &longest);
            }
            let cost = super::moves_for(prices.weighed - weighed);
            *tried += cost;
            if ceiling <= best.value + CLOSE {
                continue;
            }
            // The depth-first search may cost a third of what the repair did; at the start, a good part of all.
            let limit = if taken.moves.is_empty() { effort / 2 } else { cost / 3 + 200 };
            if !close(field, prices, &mut standing.clone(), best, (limit, tried)) {
                self.split(field, prices, &standing, ceiling, best.value + CLOSE);
            }
        }
    }

    fn split(&mut self, field: &Field, prices: &Prices, standing: &Standing, ceiling: f64, floor: f64) {
        let kept = Rc::new(prices.kept());
        for (bound, place) in children(field, prices, standing) {
            self.number += 1;
            let ceiling = bound.min(ceiling);
            if ceiling > floor {
                let moves = standing.moves.iter().copied().chain([place]).collect();
                self.open.push(Open { ceiling, number: self.number, moves, kept: Rc::clone(&kept) });
            }
        }
    }
}

/// Ceilings of the next searcher's moves at the tables' prices, lowest first.
fn children(field: &Field, prices: &Prices, standing: &Standing) -> Vec<(f64, u32)> {
    let (step, turn) = standing.turn();
    let ahead: f64 =
        standing.by.iter().enumerate().map(|(w, &by)| prices.to_go(step + usize::from(w < turn), by)).sum();
    let mut unused = 0.0;
    for piece in 0..field.gains.count() {
        for number in usize::from(standing.looked[piece])..field.gains.row(piece).len() {
            unused += prices.of(field, piece as u32, number as u16);
        }
    }
    let mut found = Vec::new();
    spread(field, prices, standing, standing.value + unused + ahead, f64::NEG_INFINITY, &mut found);
    found.iter().map(|step| (step.bound, step.place)).collect()
}

/// A move waiting on the depth-first stack.
#[derive(Clone, Copy)]
struct Step {
    bound: f64,
    value: f64,
    place: u32,
    depth: u32,
}

/// Adds the next searcher's moves that may exceed `floor` to `stack`, the most promising last.
fn spread(
    field: &Field,
    prices: &Prices,
    standing: &Standing,
    bound: f64,
    floor: f64,
    stack: &mut Vec<Step>,
) -> u64 {
    let (step, searcher) = standing.turn();
    let from = standing.at[searcher];
    let lowest = standing.lowest(field);
    let weight = field.weight[step];
    let base = bound - prices.to_go(step, standing.by[searcher]);
    let begin = stack.len();
    let row = field.moves.row(from as usize);
    for (way, &place) in (field.moves.begin(from as usize)..).zip(row) {
        if place < lowest {
            continue;
        }
        let (mut gain, mut paid) = (0.0, 0.0);
        for &piece in field.looks.row(place as usize) {
            let number = standing.looked[piece as usize];
            gain += weight * field.gains.row(piece as usize).get(usize::from(number)).copied().unwrap_or(0.0);
            paid += prices.of(field, piece, number);
        }
        let bound = base + gain - paid + prices.to_go(step + 1, way as u32);
        if bound > floor {
            let depth = standing.moves.len() as u32;
            stack.push(Step { bound, value: standing.value + gain, place, depth });
        }
    }
    stack[begin..].sort_by(|a, b| a.bound.total_cmp(&b.bound).then(b.place.cmp(&a.place)));
    row.len() as u64
}

/// Depth-first search from `standing` with the prices held still.
///
/// # Gives
/// Whether every continuation was tried or ruled out within `limit` moves.
fn close(
    field: &Field,
    prices: &Prices,
    standing: &mut Standing,
    best: &mut Best,
    (limit, tried): (u64, &mut u64),
) -> bool {
    let root = standing.moves.len();
    let length = field.length();
    let mut stack = Vec::new();
    let mut values = vec![0.0; length + 1];
    for (bound, place) in children(field, prices, standing) {
        let mut next = standing.clone();
        next.arrive(field, place);
        stack.push(Step { bound, value: next.value, place, depth: root as u32 });
    }
    let mut spent = 0;
    while let Some(step) = stack.pop() {
        if step.bound <= best.value + CLOSE {
            continue;
        }
        if spent >= limit {
            *tried += spent;
            return false;
        }
        while standing.moves.len() > step.depth as usize {
            let depth = standing.moves.len() - 1;
            standing.retreat(field, values[depth]);
        }
        values[standing.moves.len()] = standing.value;
        standing.arrive(field, step.place);
        standing.value = step.value;
        if standing.moves.len() == length {
            if step.value > best.value {
                best.offer(field, &standing.moves);
            }
        } else {
            spent += spread(field, prices, standing, step.bound, best.value + CLOSE, &mut stack);
        }
    }
    *tried += spent;
    true
}
