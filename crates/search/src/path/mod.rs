//! Best searcher paths on small grids: the search machinery of the planner against cases whose answer is known.
//!
//! One way of searching serves grids and lanes: a [`Field`] of places, moves, looks and weights; look prices
//! and nets of what is left to do ([`Ceiling`]) for a ceiling and for the value of what is left; beams, small changes and
//! window rebuilds for a good search soon; branch and bound for a proof. Model `PA`, docs/models/path.md.
//! Never: reads a clock (work is counted in moves) or a file.
//! Start reading at [`solve`], then [`field`].

mod anneal;
mod beam;
mod bundle;
mod door;
mod exact;
pub mod field;
mod instance;
mod memory;
mod net;
mod nets;
mod order;
mod prices;
mod rebuild;
mod split;
mod wandering;

pub use beam::{Breadth, beam, greedy};
pub use door::from_json;
pub use exact::Best;
pub use field::{Field, Rows, Standing};
pub use instance::{Instance, Telling, Wandering};
pub use nets::Ceiling;

use exact::Proof;
use measure::chance::Seed;
use rebuild::Rebuilding;

/// Two values this close count as equal: the proof leaves no more than this open.
pub const CLOSE: f64 = 1e-12;

/// How hard to search, and for what.
#[derive(Clone, Copy, Debug)]
pub struct Options {
    /// Moves that may be tried. The same effort gives the same answer on every machine.
    pub effort: u64,
    /// Where chance starts from (window rebuilds).
    pub seed: Seed,
    /// Whether to spend most of the effort on a proof; otherwise on a better search.
    pub prove: bool,
}

impl Default for Options {
    fn default() -> Self {
        Options { effort: 100_000_000, seed: Seed(1), prove: true }
    }
}

/// Answer to an instance.
#[derive(Clone, Debug, PartialEq)]
pub struct Solved {
    /// Weighted mass found by the paths.
    pub value: f64,
    /// Per searcher, the cell of each look.
    pub paths: Vec<Vec<usize>>,
    /// Whether no path can be worth more (by more than 1e-12).
    pub proven: bool,
    /// What no path can exceed.
    pub ceiling: f64,
    /// Moves tried; 20 moves weighed on a price table count as one.
    pub moves: u64,
}

/// Best paths for an instance, with a ceiling.
///
/// Beams, small changes, window rebuilds, then branch and bound until the effort is spent. Model `PA`, docs/models/path.md.
///
/// # Inputs
/// - `instance`: as [`from_json`] gives it
/// - `options`: effort in moves, seed, proof wanted or not
///
/// # Gives
/// The best paths met; never worth more than the true best. `proven` says that they are the best.
///
/// # Source
/// PA-1 to PA-8; the moving target's bound PA-9.
pub fn solve(instance: &Instance, options: Options) -> Solved {
    if let Some(wandering) = instance.wandering {
        return wandering::solve(instance, wandering, options);
    }
    let field = instance.field();
    let found = search(&field, options);
    let searchers = instance.starts.len();
    let path = |searcher: usize| found.best.moves.iter().skip(searcher).step_by(searchers);
    let paths: Vec<Vec<usize>> =
        (0..searchers).map(|s| path(s).map(|&cell| cell as usize).collect()).collect();
    let value = instance.value(&paths).expect("a search that keeps to the rules of its own instance");
    Solved {
        value,
        paths,
        proven: found.ceiling <= found.best.value + CLOSE,
        ceiling: found.ceiling.max(value),
        moves: found.moves,
    }
}

/// What a search of a field found.
#[derive(Clone, Debug)]
pub struct Found {
    /// The best search met.
    pub best: Best,
    /// What no search can exceed.
    pub ceiling: f64,
    /// Moves tried.
    pub moves: u64,
}

/// Best search of a field within an effort, with a ceiling.
///
/// # Inputs
/// - `field`: every place that can be reached has at least one move
/// - `options`: as for [`solve`]
///
/// # Gives
/// Moves in the order they are made (step by step, searcher by searcher), their value, a ceiling (PA-5).
pub fn search(field: &Field, options: Options) -> Found {
    let moves = greedy(field);
    let mut tried = moves.len() as u64;
    let mut best = Best { value: field.value(&moves), moves };
    let mut ceiling = Ceiling::begin(field, &Standing::at_start(field));
    tried += moves_for(ceiling.weighed);
    let height = set_out(field, &mut ceiling, &mut best, (options.effort, &mut tried));
    let afar = from_afar(&ceiling.mixed);
    let mut proof = Proof::begin(&mut ceiling, height);
    let mut rebuilding = Rebuilding::of(field, options.seed);
    // A short proof settles most cases; the others need better searches first, so that more can be cut out.
    if options.prove {
        let early = (tried + options.effort / EARLY).min(options.effort);
        proof.go_on(field, &mut ceiling, &mut best, &mut rebuilding, (early, &mut tried));
    }
    if tried < options.effort && proof.ceiling(&best) > best.value + CLOSE {
        let left = options.effort - tried;
        let share = if options.prove { (options.effort / SHARE).min(left) } else { left / 4 * 3 };
        let (begun, each) = (tried, share / (STARTS + 1));
        for moves in std::iter::once(best.moves.clone()).chain(afar) {
            rebuilding.offer((field, &ceiling.prices), &mut best, moves, (each, &mut tried));
        }
        rebuilding.better((field, &ceiling.prices), &mut best, (begun + share, &mut tried));
        proof.go_on(field, &mut ceiling, &mut best, &mut rebuilding, (options.effort, &mut tried));
        if proof.ceiling(&best) > best.value + CLOSE {
            // More open parts than fit: what is left may still better the search.
            rebuilding.better((field, &ceiling.prices), &mut best, (options.effort, &mut tried));
        }
    }
    Found { ceiling: proof.ceiling(&best), best, moves: tried }
}

/// Searches to begin at: the longest paths that the ceiling mixes most, which lie where it sees worth, each somewhere else.
fn from_afar(mixed: &nets::Mixed) -> Vec<Vec<u32>> {
    let mut mixed: Vec<&(f64, Vec<u32>)> = mixed.iter().collect();
    mixed.sort_by(|a, b| b.0.total_cmp(&a.0));
    mixed.into_iter().take(STARTS as usize - 1).map(|(_, moves)| moves.clone()).collect()
}

/// Tunes the prices at the start, and takes up what beams find by them.
///
/// # Gives
/// The ceiling there.
fn set_out(field: &Field, ceiling: &mut Ceiling, best: &mut Best, (effort, tried): (u64, &mut u64)) -> f64 {
    let mut height = f64::INFINITY;
    for (rounds, width) in [(FIRST_ROUNDS, 100), (ROUNDS, 300), (ROUNDS, 1000)] {
        // On a large grid the rounds could cost more than the whole effort: they get a fifth of it at most.
        height = ceiling.lower(field, best, rounds, (*tried + effort / 5, tried)).min(height);
        if height <= best.value + CLOSE || *tried > effort / 3 {
            break;
        }
        for (each, promise) in [(width, 1.0), (EACH, 1.0), (width, WARY)] {
            if *tried > effort / 3 {
                break;
            }
            let breadth = Breadth { width, each, promise, floor: best.value };
            if let Some(moves) = beam(field, ceiling, breadth, tried) {
                best.offer(field, &moves);
            }
        }
    }
    height
}

/// Moves weighed on a price table that count as one move tried: about as long as that takes.
const WEIGHED: u64 = 20;
/// Share of the effort that the first short proof may take.
const EARLY: u64 = 10;
/// One part in so many of the effort goes to better searches before the proof.
const SHARE: u64 = 8;
/// Searches bettered before the proof, all but one of them begun at longest paths.
const STARTS: u64 = 7;
/// Standings with the last move to one place kept in every other beam at the start, so that it does not end in one hump.
const EACH: usize = 3;
/// Share of the promise that beams count which trust the prices less.
const WARY: f64 = 0.7;
/// Price changes at the start: the first time, and each time more.
const FIRST_ROUNDS: usize = 80;
const ROUNDS: usize = 300;

/// Moves that `weighed` moves on a price table count for.
fn moves_for(weighed: u64) -> u64 {
    weighed / WEIGHED
}
