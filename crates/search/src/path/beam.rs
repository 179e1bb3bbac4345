//! Beam search over standings, ranked by value in hand plus what the look prices say is still to be had (PA-6).

use super::field::{Field, Standing};
use super::nets::Ceiling;

/// One standing of a beam, without its look counts (they lie beside it).
#[derive(Clone, Copy)]
struct Held {
    value: f64,
    /// Prices of looks not yet made, and of the order of those made.
    unused: f64,
    /// What the searchers' places still promise.
    ahead: f64,
    /// Mark of the looks made; equal marks and places mean equal futures.
    mark: u64,
    trail: u32,
}

struct Child {
    rank: f64,
    held: Held,
    mark: u64,
    parent: u32,
    place: u32,
    node: u32,
}

/// How wide a beam is and how it ranks.
#[derive(Clone, Copy)]
pub struct Breadth {
    /// Standings kept after each move.
    pub width: usize,
    /// Standings kept of those whose last move went to one and the same place.
    pub each: usize,
    /// Share of the promise counted in the rank, 0 to 1.
    pub promise: f64,
    /// Standings that cannot exceed this are dropped.
    pub floor: f64,
}

/// A beam at work.
struct Beam<'a> {
    field: &'a Field,
    ceiling: &'a Ceiling,
    breadth: Breadth,
    held: Vec<Held>,
    at: Vec<u32>,
    /// Where each searcher is on its net.
    on: Vec<u32>,
    looked: Vec<u16>,
    trail: Vec<(u32, u32)>,
    children: Vec<Child>,
}

/// Best search a beam finds, from the start, the ceiling's tables being swept at the start.
///
/// # Inputs
/// - `ceiling`: of the start, swept; any prices do
/// - `breadth`: width and ranking
/// - `tried`: moves tried, added to
///
/// # Gives
/// Moves in the order they are made; nothing where no standing could exceed the floor.
pub fn beam(field: &Field, ceiling: &Ceiling, breadth: Breadth, tried: &mut u64) -> Option<Vec<u32>> {
    let mut beam = Beam {
        field,
        ceiling,
        breadth,
        held: vec![Held {
            value: 0.0,
            unused: ceiling.prices.unused(),
            ahead: (0..field.starts.len()).map(|s| ceiling.nets.of(s).to_go(0, 0)).sum(),
            mark: 0,
            trail: u32::MAX,
        }],
        at: field.starts.clone(),
        on: vec![0; field.starts.len()],
        looked: vec![0; field.gains.count()],
        trail: Vec::new(),
        children: Vec::new(),
    };
    let searchers = field.starts.len();
    let mut before = beam.at.clone();
    for played in 0..field.length() {
        if played % searchers == 0 {
            before.clone_from(&beam.at);
        }
        beam.spread(played, &before);
        *tried += beam.children.len() as u64;
        beam.merge();
        if beam.children.is_empty() {
            return None;
        }
        beam.settle(played % searchers, &mut before);
    }
    let best = (0..beam.held.len())
        .max_by(|&a, &b| beam.held[a].value.total_cmp(&beam.held[b].value).then(b.cmp(&a)))?;
    Some(beam.moves(beam.held[best].trail))
}

impl Beam<'_> {
    /// Every move of the next searcher from every standing.
    fn spread(&mut self, played: usize, before: &[u32]) {
        let (searchers, pieces) = (self.field.starts.len(), self.field.gains.count());
        let (step, searcher) = (played / searchers, played % searchers);
        let weight = self.field.weight[step];
        self.children.clear();
        for parent in 0..self.held.len() {
            let held = self.held[parent];
            let at = &self.at[parent * searchers..(parent + 1) * searchers];
            let was = &before[parent * searchers..(parent + 1) * searchers];
            let looked = &self.looked[parent * pieces..(parent + 1) * pieces];
            let from = at[searcher];
            // Two who stood together may swap their futures: one order is enough.
            let lowest = if searcher > 0 && was[searcher - 1] == from { at[searcher - 1] } else { 0 };
            let net = self.ceiling.nets.of(searcher);
            let node = self.on[parent * searchers + searcher];
            let base = held.ahead - net.to_go(step, node);
            for (place, node) in net.onward(step, node) {
                if place < lowest {
                    continue;
                }
                let mut next = Held { ahead: base + net.to_go(step + 1, node), ..held };
                for &piece in self.field.looks.row(place as usize) {
                    let number = looked[piece as usize];
                    let gain = self.field.gains.row(piece as usize).get(usize::from(number));
                    next.value += weight * gain.copied().unwrap_or(0.0);
                    next.unused -= self.ceiling.prices.of(self.field, (piece, usize::from(number)), step);
                    next.mark = next.mark.wrapping_add(scramble(u64::from(piece) + 1));
                }
                if next.value + next.unused + next.ahead <= self.breadth.floor {
                    continue;
                }
                let mut mark = next.mark;
                for (who, &stands) in at.iter().enumerate() {
                    let stands = if who == searcher { place } else { stands };
                    mark = scramble(mark ^ (u64::from(stands) + ((who as u64) << 40)));
                }
                let rank = next.value + self.breadth.promise * (next.unused + next.ahead);
                self.children.push(Child { rank, held: next, mark, parent: parent as u32, place, node });
            }
        }
    }

    /// Keeps one of each set of equal standings, then the best by rank.
    fn merge(&mut self) {
        let order = |a: &Child, b: &Child| (a.parent, a.place).cmp(&(b.parent, b.place));
        self.children.sort_unstable_by(|a, b| {
            a.mark.cmp(&b.mark).then(b.held.value.total_cmp(&a.held.value)).then_with(|| order(a, b))
        });
        self.children.dedup_by_key(|child| child.mark);
        let by_rank = |a: &Child, b: &Child| b.rank.total_cmp(&a.rank).then_with(|| order(a, b));
        let Breadth { width, each, .. } = self.breadth;
        if each >= width && self.children.len() > width {
            self.children.select_nth_unstable_by(width - 1, by_rank);
            self.children.truncate(width);
        }
        self.children.sort_unstable_by(by_rank);
        if each < width {
            let mut there = vec![0; self.field.moves.count()];
            self.children.retain(|child| {
                let count = &mut there[child.place as usize];
                *count += 1;
                *count <= each
            });
            self.children.truncate(width);
        }
    }

    /// Makes the kept moves.
    fn settle(&mut self, searcher: usize, before: &mut Vec<u32>) {
        let (searchers, pieces) = (self.field.starts.len(), self.field.gains.count());
        let (mut at, mut on, mut was) = (Vec::new(), Vec::new(), Vec::new());
        let mut looked = Vec::with_capacity(self.children.len() * pieces);
        self.held.clear();
        for child in &self.children {
            let parent = child.parent as usize;
            was.extend_from_slice(&before[parent * searchers..(parent + 1) * searchers]);
            at.extend_from_slice(&self.at[parent * searchers..(parent + 1) * searchers]);
            let mine = at.len() - searchers + searcher;
            on.extend_from_slice(&self.on[parent * searchers..(parent + 1) * searchers]);
            (at[mine], on[mine]) = (child.place, child.node);
            let begin = looked.len();
            looked.extend_from_slice(&self.looked[parent * pieces..(parent + 1) * pieces]);
            for &piece in self.field.looks.row(child.place as usize) {
                looked[begin + piece as usize] += 1;
            }
            self.trail.push((child.held.trail, child.place));
            self.held.push(Held { trail: self.trail.len() as u32 - 1, ..child.held });
        }
        (self.at, self.on, self.looked, *before) = (at, on, looked, was);
    }

    fn moves(&self, mut trail: u32) -> Vec<u32> {
        let mut moves = Vec::new();
        while trail != u32::MAX {
            let (earlier, place) = self.trail[trail as usize];
            moves.push(place);
            trail = earlier;
        }
        moves.reverse();
        moves
    }
}

/// A well-mixed mark (the finaliser of SplitMix64).
pub fn scramble(x: u64) -> u64 {
    let x = x.wrapping_add(0x9e37_79b9_7f4a_7c15);
    let x = (x ^ (x >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    let x = (x ^ (x >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    x ^ (x >> 31)
}

/// Best next look, step by step: what a crew does without a plan, and the first value in hand.
///
/// # Gives
/// Moves in the order they are made; ties go to the first move listed.
pub fn greedy(field: &Field) -> Vec<u32> {
    let mut standing = Standing::at_start(field);
    for _ in 0..field.length() {
        let (_, searcher) = standing.turn();
        let row = field.moves.row(standing.at[searcher] as usize);
        let gain = |place: u32| -> f64 {
            let looks = field.looks.row(place as usize).iter();
            looks
                .map(|&piece| {
                    let seen = usize::from(standing.looked[piece as usize]);
                    field.gains.row(piece as usize).get(seen).copied().unwrap_or(0.0)
                })
                .sum()
        };
        let (mut best, mut next) = (f64::NEG_INFINITY, standing.at[searcher]);
        for &place in row {
            if gain(place) > best {
                (best, next) = (gain(place), place);
            }
        }
        standing.arrive(field, next);
    }
    standing.moves
}
