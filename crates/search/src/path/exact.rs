//! Branch and bound: proves a search best, or says how far from best it can be at most (PA-7).
//!
//! All searches are held in parts, each with its nets and prices, in order of their ceilings. The part with the highest
//! ceiling is taken; its prices are repaired and its memory lengthened while that helps; a depth-first search with the
//! prices held still tries to close it; if that takes too long it is split by where a searcher is at some step.

use super::CLOSE;
use super::beam::{Breadth, beam};
use super::field::{Field, Standing};
use super::memory::Relation;
use super::nets::{Ceiling, Mixed, Nets};
use super::prices::Kept;
use super::rebuild::Rebuilding;
use super::split::Splits;
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

/// What a part takes over from the one it was split from.
struct Carried {
    prices: Kept,
    relation: Rc<Relation>,
    mixed: Mixed,
}

impl Carried {
    fn from(ceiling: &Ceiling, relation: &Rc<Relation>) -> Rc<Self> {
        let (prices, relation) = (ceiling.prices.kept(), Rc::clone(relation));
        Rc::new(Carried { prices, relation, mixed: ceiling.mixed.clone() })
    }
}

/// A part still to be closed.
struct Open {
    ceiling: f64,
    number: u64,
    nets: Nets,
    carried: Rc<Carried>,
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

/// A proof under way: the parts still open.
pub struct Proof {
    open: BinaryHeap<Open>,
    number: u64,
    splits: Splits,
    /// Parts split so far.
    split_up: u64,
    /// Moves held by the nets of all open parts.
    held: usize,
}

impl Proof {
    /// Nothing is closed yet.
    ///
    /// # Inputs
    /// - `ceiling`: tuned and swept at the start, where it is `height`; its nets are taken
    pub fn begin(ceiling: &mut Ceiling, height: f64) -> Self {
        let mut proof =
            Proof { open: BinaryHeap::new(), number: 0, splits: Splits::default(), split_up: 0, held: 0 };
        let carried = Carried::from(ceiling, &Rc::new(ceiling.memory.relation().clone()));
        proof.add(height, std::mem::replace(&mut ceiling.nets, Nets::none()), &carried);
        proof
    }

    fn add(&mut self, ceiling: f64, nets: Nets, carried: &Rc<Carried>) {
        self.held += nets.size();
        self.number += 1;
        self.open.push(Open { ceiling, number: self.number, nets, carried: Rc::clone(carried) });
    }

    /// What no search can exceed, as far as the proof has come.
    pub fn ceiling(&self, best: &Best) -> f64 {
        let open = self.open.peek().map_or(f64::NEG_INFINITY, |top| top.ceiling);
        open.max(best.value + CLOSE)
    }

    /// Goes on until nothing is open or `effort` moves are tried in all.
    ///
    /// # Inputs
    /// - `ceiling`: any state; left at the part looked at last
    /// - `best`: search in hand, improved
    /// - `rebuilding`: betters what a part suggests
    /// - `tried`: moves tried, added to
    pub fn go_on(
        &mut self,
        field: &Field,
        ceiling: &mut Ceiling,
        best: &mut Best,
        rebuilding: &mut Rebuilding,
        (effort, tried): (u64, &mut u64),
    ) {
        while *tried < effort && self.ceiling(best) > best.value + CLOSE && self.held < MOST_HELD {
            let Some(taken) = self.open.pop() else { return };
            self.held -= taken.nets.size();
            let begun = *tried;
            let (rounds, patience) = if self.number == 1 { (WISHING, PATIENT) } else { (REPAIRS, PATIENCE) };
            ceiling.nets = taken.nets;
            ceiling.prices.take_up(&taken.carried.prices);
            ceiling.mixed.clone_from(&taken.carried.mixed);
            let mut part = (
                ceiling.lower(field, best, rounds, (effort, tried)).min(taken.ceiling),
                Rc::clone(&taken.carried.relation),
            );
            lengthen(field, ceiling, best, &mut part, patience, (effort, tried));
            // The depth-first search may cost as much as the repair did, at the end of the effort a third of it.
            let repair = *tried - begun;
            let limit = repair.min(effort.saturating_sub(*tried)).max(repair / 3) + 200;
            if part.0 <= best.value + CLOSE || close(field, ceiling, best, (limit, tried)) {
                continue;
            }
            self.split_up += 1;
            // The first parts lie furthest apart: each gets a search of its own, so that a good one is met soon.
            let first = self.split_up <= FIRST && effort / AT_FIRST > BETTERING;
            if *tried < effort && (first || self.split_up % BEAMS == 0) {
                let bettering = if first { effort / AT_FIRST } else { BETTERING.min(effort - *tried) };
                suggest(field, ceiling, best, rebuilding, (bettering, tried));
            }
            self.split(field, ceiling, best, &part, tried);
        }
    }

    fn split(
        &mut self,
        field: &Field,
        ceiling: &mut Ceiling,
        best: &mut Best,
        (height, relation): &(f64, Rc<Relation>),
        tried: &mut u64,
    ) {
        let Some(split) = self.splits.choose(field, ceiling, tried) else {
            best.offer(field, &ceiling.nets.only(field));
            return;
        };
        let carried = Carried::from(ceiling, relation);
        let base = ceiling.top() - ceiling.nets.ahead();
        let whole = std::mem::replace(&mut ceiling.nets, Nets::none());
        *tried += super::moves_for(SPLITTING * whole.size() as u64);
        let (who, near) = ((split.searcher, split.step), |place: u32| split.near[place as usize]);
        for nets in [whole.with(who, near), whole.without(who, near)] {
            ceiling.nets = nets;
            let top = base + ceiling.nets.ahead();
            if top > best.value + CLOSE {
                ceiling.cut(top, best.value);
                let nets = std::mem::replace(&mut ceiling.nets, Nets::none());
                self.add(top.min(*height), nets, &carried);
            }
        }
    }
}

/// Offers what a beam through a part finds, bettered.
fn suggest(
    field: &Field,
    ceiling: &Ceiling,
    best: &mut Best,
    rebuilding: &mut Rebuilding,
    (bettering, tried): (u64, &mut u64),
) {
    let breadth = Breadth { width: WIDTH, each: WIDTH, promise: 1.0, floor: 0.0 };
    if let Some(moves) = beam(field, ceiling, breadth, tried) {
        rebuilding.offer((field, &ceiling.prices), best, moves, (bettering, tried));
    }
}

/// Lengthens the memory of a part while that lowers its ceiling well.
fn lengthen(
    field: &Field,
    ceiling: &mut Ceiling,
    best: &mut Best,
    (height, relation): &mut (f64, Rc<Relation>),
    most_patience: u32,
    (effort, tried): (u64, &mut u64),
) {
    let mut patience = most_patience;
    while *height > best.value + CLOSE && patience > 0 && *tried < effort {
        let before = *height;
        ceiling.memory.back_to(relation);
        let weighed = ceiling.weighed;
        let size = ceiling.nets.size();
        // A move built costs about a move tried.
        let most = MOST.min(3 * size + 20_000).min(((effort - *tried) as usize).max(20_000));
        if 3 * size > 2 * most {
            break;
        }
        let longer = ceiling.deepen(field, (ceiling.top(), best.value), most);
        *tried += super::moves_for(ceiling.weighed - weighed);
        if !longer {
            break;
        }
        *relation = Rc::new(ceiling.memory.relation().clone());
        *height = ceiling.lower(field, best, WISHING, (effort, tried)).min(*height);
        patience = if before - *height < WELL * (before - best.value) { patience - 1 } else { most_patience };
    }
}

/// Moves weighed that one move of a part being split counts for.
const SPLITTING: u64 = 7;
/// Moves that the nets of one part may hold.
const MOST: usize = 150_000;
/// Moves that the nets of all open parts may hold.
const MOST_HELD: usize = 12_000_000;
/// Price changes after each lengthening.
const WISHING: usize = 80;
/// Price changes for each part taken.
const REPAIRS: usize = 40;
/// Lengthenings in a row that may do little.
const PATIENCE: u32 = 1;
/// The same for the first part, whose memory all others begin with.
const PATIENT: u32 = 8;
/// Share of the gap that a lengthening should close.
const WELL: f64 = 0.1;
/// Parts that each get a beam and much bettering, where the effort is large.
const FIRST: u64 = 16;
/// One part in so many of the effort goes into each of these betterings.
const AT_FIRST: u64 = 150;
/// Later parts taken for each beam through one.
const BEAMS: u64 = 4;
/// Standings kept in those beams.
const WIDTH: usize = 60;
/// Moves tried to better what such a beam finds.
const BETTERING: u64 = 150_000;

/// A move waiting on the depth-first stack.
#[derive(Clone, Copy)]
struct Step {
    bound: f64,
    value: f64,
    place: u32,
    node: u32,
    depth: u32,
}

/// Adds the next searcher's moves that may exceed `floor` to `stack`, the most promising last; `trail` are the nodes
/// that the moves made so far led to.
fn spread(
    (field, ceiling): (&Field, &Ceiling),
    standing: &Standing,
    trail: &[u32],
    bound: f64,
    floor: f64,
    stack: &mut Vec<Step>,
) -> u64 {
    let (step, searcher) = standing.turn();
    // Only searchers of whom the same is asked may swap their futures: parts tell others apart.
    let alike = searcher > 0 && ceiling.nets.alike(searcher - 1, searcher);
    let lowest = if alike { standing.lowest(field) } else { 0 };
    let weight = field.weight[step];
    let net = ceiling.nets.of(searcher);
    let node = standing.moves.len().checked_sub(standing.at.len()).map_or(0, |at| trail[at]);
    let base = bound - net.to_go(step, node);
    let begin = stack.len();
    let mut weighed = 0;
    for (place, node) in net.onward(step, node) {
        weighed += 1;
        if place < lowest {
            continue;
        }
        let (mut gain, mut paid) = (0.0, 0.0);
        for &piece in field.looks.row(place as usize) {
            let number = standing.looked[piece as usize];
            gain += weight * field.gains.row(piece as usize).get(usize::from(number)).copied().unwrap_or(0.0);
            paid += ceiling.prices.of(field, (piece, usize::from(number)), step);
        }
        let bound = base + gain - paid + net.to_go(step + 1, node);
        if bound > floor {
            let depth = standing.moves.len() as u32;
            stack.push(Step { bound, value: standing.value + gain, place, node, depth });
        }
    }
    stack[begin..].sort_by(|a, b| a.bound.total_cmp(&b.bound).then(b.place.cmp(&a.place)));
    weighed + 1
}

/// Depth-first search through the ceiling's nets with the prices held still.
///
/// # Gives
/// Whether every continuation was tried or ruled out within `limit` moves.
fn close(field: &Field, ceiling: &Ceiling, best: &mut Best, (limit, tried): (u64, &mut u64)) -> bool {
    let standing = &mut Standing::at_start(field);
    let length = field.length();
    let mut stack = Vec::new();
    let mut values = vec![0.0; length + 1];
    let mut trail: Vec<u32> = Vec::new();
    let bound = ceiling.top();
    let mut spent = spread((field, ceiling), standing, &trail, bound, best.value + CLOSE, &mut stack);
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
        trail.truncate(step.depth as usize);
        trail.push(step.node);
        if standing.moves.len() == length {
            if step.value > best.value {
                best.offer(field, &standing.moves);
            }
        } else {
            let floor = best.value + CLOSE;
            spent += spread((field, ceiling), standing, &trail, step.bound, floor, &mut stack);
        }
    }
    *tried += spent;
    true
}

#[cfg(test)]
mod tests {
    use super::super::field::Rows;
    use super::*;
    use measure::chance::Seed;

    /// Best value found in the ceiling's nets, everything being tried.
    fn exhausted(field: &Field, ceiling: &mut Ceiling, nets: Nets) -> f64 {
        ceiling.nets = nets;
        let mut best = Best { value: -1.0, moves: Vec::new() };
        assert!(close(field, ceiling, &mut best, (u64::MAX, &mut 0)));
        best.value
    }

    #[test]
    // shows: PA-7, PA-8
    fn one_of_two_parts_holds_a_best_search_however_often_parts_are_split() {
        let mut draws = Seed(9).stream("parts").draws();
        for number in 0..40 {
            let (rows, cols, steps) = (3, 3, 3);
            let cells = rows * cols;
            let mut starts = vec![draws.index(cells) as u32; 3];
            if number % 4 == 0 {
                starts[1] = draws.index(cells) as u32;
            }
            let near = |a: usize, b: usize| a.abs_diff(b) <= 1;
            let beside = |from: usize| {
                let beside = |to: &usize| near(from / cols, to / cols) && near(from % cols, to % cols);
                (0..cells).filter(beside).map(|to| to as u32).collect()
            };
            let gains = |_| {
                let (mass, contact) = (draws.u01(), draws.u01());
                (0..9).map(|looks| mass * contact * libm::pow(1.0 - contact, f64::from(looks))).collect()
            };
            let field = Field {
                weight: (0..steps).map(|step| [1.0, 0.9, 1.1][number % 3] + 0.1 * f64::from(step)).collect(),
                starts,
                moves: Rows::pack((0..cells).map(beside).collect()),
                looks: Rows::pack((0..cells as u32).map(|cell| vec![cell]).collect()),
                gains: Rows::pack((0..cells).map(gains).collect()),
            };
            let mut ceiling = Ceiling::begin(&field, &Standing::at_start(&field));
            ceiling.sweep(&field);
            let whole = ceiling.nets.clone();
            let exact = exhausted(&field, &mut ceiling, whole.clone());
            let mut parts = vec![whole];
            for _ in 0..3 {
                let who = (draws.index(3), 1 + draws.index(steps as usize));
                let near: Vec<bool> = (0..cells).map(|_| draws.index(2) == 0).collect();
                let near = |place: u32| near[place as usize];
                parts =
                    parts.iter().flat_map(|part| [part.with(who, near), part.without(who, near)]).collect();
            }
            let values = parts.into_iter().map(|part| exhausted(&field, &mut ceiling, part));
            let best = values.fold(f64::NEG_INFINITY, f64::max);
            // 1e-12: the same few doubles summed in another order.
            assert!((best - exact).abs() < 1e-12, "{number}: {best} for {exact}");
        }
    }
}
