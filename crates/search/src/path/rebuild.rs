//! Window rebuilds: one searcher's moves over a few steps are taken out and found again, all else held still (PA-6).

use super::anneal::Annealing;
use super::beam::scramble;
use super::exact::Best;
use super::field::Field;
use super::prices::Prices;
use measure::chance::{Draws, Seed};

/// Steps `from..to` of one searcher.
#[derive(Clone, Copy)]
struct Window {
    searcher: usize,
    from: usize,
    to: usize,
}

/// Ways into each place: the moves turned round.
struct Entries(Vec<Vec<u32>>);

impl Entries {
    /// Turns the field's moves round.
    fn of(field: &Field) -> Self {
        let mut entries = vec![Vec::new(); field.moves.count()];
        for place in 0..field.moves.count() {
            for &next in field.moves.row(place) {
                entries[next as usize].push(place as u32);
            }
        }
        Entries(entries)
    }

    /// Fills in how many moves, up to `most`, each place is from the goal.
    fn away(&self, goal: u32, most: usize, away: &mut Vec<u16>) {
        away.clear();
        away.resize(self.0.len(), u16::MAX);
        away[goal as usize] = 0;
        let mut edge = vec![goal];
        for moves in 1..=most {
            let mut next = Vec::new();
            for &place in &edge {
                for &earlier in &self.0[place as usize] {
                    if away[earlier as usize] == u16::MAX {
                        away[earlier as usize] = moves as u16;
                        next.push(earlier);
                    }
                }
            }
            edge = next;
        }
    }
}

/// One place that a window may be at after one of its steps.
#[derive(Default)]
struct Spot {
    place: u32,
    /// What the looks on arriving add, none of them made in the window before.
    added: f64,
    /// Prices of those looks.
    price: f64,
    /// Most that can still be had above prices to the window's end: behind it, and with its own looks.
    to_go: f64,
    arriving: f64,
    /// One bit a piece looked at, in turns of 64.
    bits: u64,
    mark: u64,
    /// Where its moves begin in `onward`.
    begin: u32,
}

/// Moves through the first steps of a window.
#[derive(Clone, Copy)]
struct Way {
    rank: f64,
    value: f64,
    /// Prices of its looks.
    paid: f64,
    /// Bits of the pieces looked at.
    bits: u64,
    /// Mark of the looks made; equal marks and places mean equal futures.
    mark: u64,
    spot: u32,
    /// The way it goes on from; in `trail` once it is kept.
    parent: u32,
}

/// A search in hand, one window of it taken out, and the tables that finding the window again needs.
#[derive(Default)]
struct Frame {
    /// Steps at which each piece is looked at outside the window, rising.
    fixed: Vec<Vec<u16>>,
    /// Moves from each place to the place the window must end at; 0 everywhere where it may end anywhere.
    away: Vec<u16>,
    /// Spots of the window, layer by layer, and where each layer begins.
    spots: Vec<Spot>,
    layers: Vec<usize>,
    onward: Vec<u32>,
    /// Per place, its spot in the layer being made.
    spot_at: Vec<u32>,
    children: Vec<Way>,
    kept: Vec<Way>,
    /// Ways kept: parent, spot.
    trail: Vec<(u32, u32)>,
}

impl Frame {
    /// Takes up a search.
    fn hold(&mut self, field: &Field, moves: &[u32]) {
        self.fixed.iter_mut().for_each(Vec::clear);
        self.fixed.resize(field.gains.count(), Vec::new());
        for (index, &place) in moves.iter().enumerate() {
            for &piece in field.looks.row(place as usize) {
                self.fixed[piece as usize].push((index / field.starts.len()) as u16);
            }
        }
    }

    /// Takes the looks of a window out, or puts them back.
    fn change(&mut self, field: &Field, window: Window, moves: &[u32], put: bool) {
        for step in window.from..window.to {
            let place = moves[step * field.starts.len() + window.searcher];
            for &piece in field.looks.row(place as usize) {
                let fixed = &mut self.fixed[piece as usize];
                let at = fixed.partition_point(|&other| usize::from(other) < step);
                if put {
                    fixed.insert(at, step as u16);
                } else {
                    fixed.remove(at);
                }
            }
        }
    }

    /// What a look at `piece` in `step` adds, given the fixed looks and `own` looks already put into the window.
    #[inline]
    fn added(&self, field: &Field, piece: u32, step: usize, own: usize) -> f64 {
        let (fixed, gains) = (&self.fixed[piece as usize], field.gains.row(piece as usize));
        let gain = |number: usize| gains.get(number).copied().unwrap_or(0.0);
        let earlier = fixed.partition_point(|&s| usize::from(s) <= step);
        let mut added = field.weight[step] * gain(earlier + own);
        for (later, &when) in fixed.iter().enumerate().skip(earlier) {
            added += field.weight[usize::from(when)] * (gain(later + own + 1) - gain(later + own));
        }
        added
    }

    /// Price of a look at `piece`, the fixed looks and `own` looks in the window being made.
    #[inline]
    fn price(&self, (field, prices): (&Field, &Prices), piece: u32, own: usize) -> f64 {
        prices.plain(field, piece, self.fixed[piece as usize].len() + own)
    }

    /// Most that a look at `piece` in `step` adds above its price, whichever of the window's looks there it is.
    fn worth(&self, (field, prices): (&Field, &Prices), piece: u32, step: usize) -> f64 {
        let (mut worth, mut own) = (f64::NEG_INFINITY, 0);
        loop {
            let price = self.price((field, prices), piece, own);
            worth = worth.max(self.added(field, piece, step, own) - price);
            if price == 0.0 {
                return worth;
            }
            own += 1;
        }
    }

    fn spot(&self, (field, prices): (&Field, &Prices), place: u32, step: usize) -> Spot {
        let mark = scramble(u64::from(place) + 1);
        let mut spot = Spot { place, mark, ..Spot::default() };
        for &piece in field.looks.row(place as usize) {
            spot.added += self.added(field, piece, step, 0);
            spot.price += self.price((field, prices), piece, 0);
            spot.bits |= 1 << (piece % 64);
        }
        spot
    }

    /// Lays out where the window may lead, and the longest paths above prices from its end backwards.
    fn lay_out(&mut self, (field, prices): (&Field, &Prices), start: u32, window: Window) {
        let span = window.to - window.from;
        self.spots.clear();
        self.onward.clear();
        self.layers.clear();
        self.spots.push(Spot { place: start, ..Spot::default() });
        self.layers.extend([0, 1]);
        self.spot_at.resize(field.moves.count(), 0);
        self.spot_at.fill(0);
        for moves in 1..=span {
            let (begin, end) = (self.layers[moves - 1], self.layers[moves]);
            for at in begin..end {
                self.spots[at].begin = self.onward.len() as u32;
                for &place in field.moves.row(self.spots[at].place as usize) {
                    if usize::from(self.away[place as usize]) > span - moves {
                        continue;
                    }
                    let mut spot = self.spot_at[place as usize] as usize;
                    if spot < end {
                        spot = self.spots.len();
                        self.spot_at[place as usize] = spot as u32;
                        self.spots.push(self.spot((field, prices), place, window.from + moves - 1));
                    }
                    self.onward.push(spot as u32);
                }
            }
            self.layers.push(self.spots.len());
        }
        let last = self.onward.len() as u32;
        self.spots[self.layers[span]..].iter_mut().for_each(|spot| spot.begin = last);
        let mut end = self.onward.len();
        for at in (0..self.spots.len()).rev() {
            let begin = self.spots[at].begin as usize;
            let ahead = |best: f64, &to: &u32| best.max(self.spots[to as usize].arriving);
            let to_go = match begin == end {
                true => 0.0,
                false => self.onward[begin..end].iter().fold(f64::NEG_INFINITY, ahead),
            };
            end = begin;
            let moves = self.layers.partition_point(|&begin| begin <= at) - 1;
            let looks = field.looks.row(self.spots[at].place as usize).iter();
            let worth = |&piece: &u32| self.worth((field, prices), piece, window.from + moves - 1);
            let worth: f64 = if moves > 0 { looks.map(worth).sum() } else { 0.0 };
            (self.spots[at].to_go, self.spots[at].arriving) = (to_go, to_go + worth.max(0.0));
        }
    }

    /// Beam through the window; gives the new moves of the searcher there.
    fn through(
        &mut self,
        priced: (&Field, &Prices),
        window: Window,
        (start, width): (u32, usize),
        tried: &mut u64,
    ) -> Option<Vec<u32>> {
        self.lay_out(priced, start, window);
        *tried += (self.onward.len() + 2 * self.spots.len()) as u64 / 4;
        let first = Way { rank: 0.0, value: 0.0, paid: 0.0, bits: 0, mark: 0, spot: 0, parent: 0 };
        self.kept.clear();
        self.kept.push(first);
        self.trail.clear();
        self.trail.push((0, 0));
        for step in window.from..window.to {
            self.children.clear();
            for at in 0..self.kept.len() {
                self.go_on(priced, at, step);
            }
            *tried += self.children.len() as u64 / CHILDREN;
            self.merge(width);
        }
        let best = self.kept.iter().reduce(|a, b| if b.value > a.value { b } else { a })?;
        let mut moves = vec![0; window.to - window.from];
        let mut at = best.parent;
        for place in moves.iter_mut().rev() {
            let (parent, spot) = self.trail[at as usize];
            *place = self.spots[spot as usize].place;
            at = parent;
        }
        Some(moves)
    }

    /// Every way on from a way kept, whose `parent` is its own place in the trail.
    fn go_on(&mut self, priced: (&Field, &Prices), at: usize, step: usize) {
        let way = self.kept[at];
        let spot = way.spot as usize;
        let row = self.spots[spot].begin as usize..self.spots[spot + 1].begin as usize;
        for index in row {
            let to = self.onward[index];
            let spot = &self.spots[to as usize];
            let (mut added, mut price) = (spot.added, spot.price);
            if way.bits & spot.bits != 0 {
                (added, price) = self.again(priced, way.parent, spot.place, step);
            }
            let (value, paid) = (way.value + added, way.paid + price);
            self.children.push(Way {
                rank: value - paid + spot.to_go,
                value,
                paid,
                bits: way.bits | spot.bits,
                mark: way.mark.wrapping_add(spot.mark),
                spot: to,
                parent: way.parent,
            });
        }
    }

    /// What looks at a place add, and their prices, where the way kept has looked there before.
    fn again(&self, (field, prices): (&Field, &Prices), way: u32, place: u32, step: usize) -> (f64, f64) {
        let (mut added, mut price) = (0.0, 0.0);
        for &piece in field.looks.row(place as usize) {
            let (mut own, mut at) = (0, way);
            while at > 0 {
                let (parent, spot) = self.trail[at as usize];
                let there = self.spots[spot as usize].place;
                own += usize::from(field.looks.row(there as usize).contains(&piece));
                at = parent;
            }
            added += self.added(field, piece, step, own);
            price += self.price((field, prices), piece, own);
        }
        (added, price)
    }

    /// Keeps the best by rank, one of each set of ways that made the same looks and stand together.
    fn merge(&mut self, width: usize) {
        let by_rank = |a: &Way, b: &Way| {
            b.rank.total_cmp(&a.rank).then_with(|| (a.parent, a.spot).cmp(&(b.parent, b.spot)))
        };
        // Of twice as many as are kept, hardly ever more than half stand like another.
        if self.children.len() > 2 * width {
            self.children.select_nth_unstable_by(2 * width - 1, by_rank);
            self.children.truncate(2 * width);
        }
        self.children.sort_unstable_by(by_rank);
        self.kept.clear();
        for child in &self.children {
            let same = |way: &Way| (way.mark, way.spot) == (child.mark, child.spot);
            if self.kept.len() < width && !self.kept.iter().any(same) {
                self.trail.push((child.parent, child.spot));
                self.kept.push(Way { parent: self.trail.len() as u32 - 1, ..*child });
            }
        }
    }
}

/// Ways gone on in a window that count for one move, by the time they take.
const CHILDREN: u64 = 1;

/// Rebuilds windows of searches.
pub struct Rebuilding {
    entries: Entries,
    draws: Draws,
    frame: Frame,
    annealing: Annealing,
}

impl Rebuilding {
    /// # Inputs
    /// - `chance`: says where windows fall, and which small changes are tried
    pub fn of(field: &Field, chance: Seed) -> Self {
        let annealing = Annealing::of(field, chance.stream("anneal").draws());
        let draws = chance.stream("path").draws();
        Rebuilding { entries: Entries::of(field), draws, frame: Frame::default(), annealing }
    }

    /// Betters a search far from the one in hand: small changes first, then windows.
    ///
    /// # Inputs
    /// - `effort`: moves to try
    /// - the rest as for [`Rebuilding::better`]
    pub fn offer(
        &mut self,
        (field, prices): (&Field, &Prices),
        best: &mut Best,
        moves: Vec<u32>,
        (effort, tried): (u64, &mut u64),
    ) {
        let mut there = Best { value: field.value(&moves), moves };
        self.annealing.better(field, &mut there, (*tried + effort / 2, tried));
        self.better((field, prices), &mut there, (*tried + effort / 2, tried));
        best.offer(field, &there.moves);
    }

    /// Rebuilds windows of the search in hand until `effort` moves are tried in all.
    ///
    /// A rebuilt search that is a little worse than the current one may take its place (by up to 1 % at first, by
    /// nothing at the end), so that the search can leave a hollow; the best is kept apart.
    ///
    /// # Inputs
    /// - `prices`: what a look in the window should be worth at least; any do
    /// - `tried`: moves tried, added to
    pub fn better(
        &mut self,
        (field, prices): (&Field, &Prices),
        best: &mut Best,
        (effort, tried): (u64, &mut u64),
    ) {
        let (steps, searchers) = (field.steps(), field.starts.len());
        let begun = *tried;
        let mut current = best.clone();
        self.frame.hold(field, &current.moves);
        while *tried < effort {
            let draws = &mut self.draws;
            // Now and then one of several searchers finds its whole path again around the others.
            let whole = searchers > 1 && draws.index(4) == 0;
            let most = if draws.index(6) == 0 { steps } else { 14.min(steps) };
            let span = if whole { steps } else { 3 + draws.index(most) };
            let from = if whole { 0 } else { draws.index(steps) };
            let window = Window { searcher: draws.index(searchers), from, to: (from + span).min(steps) };
            let spent = (*tried - begun) as f64 / (effort - begun) as f64;
            let Some(moves) = self.rebuilt((field, prices), &current.moves, window, tried) else { continue };
            let value = field.value(&moves);
            let loss = 0.01 * (1.0 - spent) * self.draws.u01() * current.value;
            if value > current.value || value > current.value - loss {
                self.frame.change(field, window, &current.moves, false);
                self.frame.change(field, window, &moves, true);
                current = Best { value, moves };
            }
            if current.value > best.value {
                *best = current.clone();
            } else if current.value < best.value * 0.97 {
                current = best.clone();
                self.frame.hold(field, &current.moves);
            }
        }
    }

    fn rebuilt(
        &mut self,
        (field, prices): (&Field, &Prices),
        moves: &[u32],
        window: Window,
        tried: &mut u64,
    ) -> Option<Vec<u32>> {
        let Self { entries, draws, frame, .. } = self;
        let searchers = field.starts.len();
        let at = |step: usize| moves[step * searchers + window.searcher];
        let start = if window.from == 0 { field.starts[window.searcher] } else { at(window.from - 1) };
        if window.to == field.steps() {
            frame.away.clear();
            frame.away.resize(field.moves.count(), 0);
        } else {
            entries.away(at(window.to - 1), window.to - window.from, &mut frame.away);
        }
        let width = [8, 24, 64][draws.index(3)];
        frame.change(field, window, moves, false);
        let found = frame.through((field, prices), window, (start, width), tried);
        frame.change(field, window, moves, true);
        let mut moves = moves.to_vec();
        for (offset, place) in found?.into_iter().enumerate() {
            moves[(window.from + offset) * searchers + window.searcher] = place;
        }
        Some(moves)
    }
}
