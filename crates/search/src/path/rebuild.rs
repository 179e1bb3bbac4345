//! Window rebuilds: one searcher's moves over a few steps are taken out and found again, all else held still (PA-6).

use super::beam::scramble;
use super::exact::Best;
use super::field::Field;
use super::prices::Prices;
use measure::chance::Draws;

/// Steps `from..to` of one searcher.
#[derive(Clone, Copy)]
struct Window {
    searcher: usize,
    from: usize,
    to: usize,
}

/// What is held still while a window is rebuilt.
struct Frame<'a> {
    field: &'a Field,
    prices: &'a Prices,
    window: Window,
    /// Steps at which each piece is looked at outside the window, rising.
    fixed: Vec<Vec<u16>>,
    /// Moves from each place to the place the window must end at; 0 everywhere where it may end anywhere.
    away: Vec<u16>,
    /// Most that can still be had above prices from each place after each step of the window.
    to_go: Vec<f64>,
}

/// Moves through the first steps of a window.
struct Way {
    value: f64,
    /// Prices of its looks.
    paid: f64,
    /// Mark of the looks made; equal marks and places mean equal futures.
    mark: u64,
    moves: Vec<u32>,
}

/// A way that goes one move on.
struct Child {
    rank: f64,
    value: f64,
    paid: f64,
    mark: u64,
    parent: usize,
    place: u32,
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

    fn away(&self, goal: u32, most: usize) -> Vec<u16> {
        let mut away = vec![u16::MAX; self.0.len()];
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
        away
    }
}

impl Frame<'_> {
    /// What a look at `piece` in `step` adds, given the fixed looks and `own` looks already put into the window.
    fn added(&self, piece: u32, step: usize, own: usize) -> f64 {
        let (fixed, gains) = (&self.fixed[piece as usize], self.field.gains.row(piece as usize));
        let gain = |number: usize| gains.get(number).copied().unwrap_or(0.0);
        let earlier = fixed.partition_point(|&s| usize::from(s) <= step);
        let mut added = self.field.weight[step] * gain(earlier + own);
        for (later, &when) in fixed.iter().enumerate().skip(earlier) {
            added += self.field.weight[usize::from(when)] * (gain(later + own + 1) - gain(later + own));
        }
        added
    }

    /// Price of a look at `piece`, the fixed looks and `own` looks in the window being made.
    fn price(&self, piece: u32, own: usize) -> f64 {
        self.prices.plain(self.field, piece, self.fixed[piece as usize].len() + own)
    }

    /// Most that a look at `piece` in `step` adds above its price, whichever of the window's looks there it is.
    fn worth(&self, piece: u32, step: usize) -> f64 {
        let (mut worth, mut own) = (f64::NEG_INFINITY, 0);
        loop {
            let price = self.price(piece, own);
            worth = worth.max(self.added(piece, step, own) - price);
            if price == 0.0 {
                return worth;
            }
            own += 1;
        }
    }

    fn allowed(&self, place: u32, step: usize) -> bool {
        usize::from(self.away[place as usize]) <= self.window.to - 1 - step
    }

    /// Longest paths above prices from the window's end backwards.
    fn look_ahead(&mut self, tried: &mut u64) {
        let places = self.field.moves.count();
        let span = self.window.to - self.window.from;
        self.to_go = vec![0.0; (span + 1) * places];
        let mut arriving = vec![f64::NEG_INFINITY; places];
        for step in (self.window.from + 1..self.window.to).rev() {
            let row = (step - self.window.from) * places;
            for place in 0..places {
                let looks = self.field.looks.row(place);
                arriving[place] = if self.allowed(place as u32, step) {
                    let worth: f64 = looks.iter().map(|&piece| self.worth(piece, step)).sum();
                    worth.max(0.0) + self.to_go[row + places + place]
                } else {
                    f64::NEG_INFINITY
                };
            }
            for place in 0..places {
                let next = self.field.moves.row(place).iter();
                self.to_go[row + place] = next.fold(f64::NEG_INFINITY, |b, &n| b.max(arriving[n as usize]));
            }
            *tried += places as u64 / 2;
        }
    }

    /// Beam through the window; gives the new moves of the searcher there.
    fn through(&mut self, start: u32, width: usize, tried: &mut u64) -> Option<Vec<u32>> {
        self.look_ahead(tried);
        let mut beam = vec![Way { value: 0.0, paid: 0.0, mark: 0, moves: Vec::new() }];
        let mut looked = Vec::new();
        for step in self.window.from..self.window.to {
            let mut children = Vec::new();
            for (parent, way) in beam.iter().enumerate() {
                let from = way.moves.last().copied().unwrap_or(start);
                looked.clear();
                looked.extend(way.moves.iter().flat_map(|&place| self.field.looks.row(place as usize)));
                let next = self.field.moves.row(from as usize).iter();
                let allowed = next.filter(|&&place| self.allowed(place, step));
                children.extend(allowed.map(|&place| self.child((parent, way), &looked, step, place)));
            }
            *tried += CHILD * children.len() as u64;
            merge(&mut children, width);
            let next = children.iter().map(|child| {
                let mut moves = beam[child.parent].moves.clone();
                moves.push(child.place);
                Way { value: child.value, paid: child.paid, mark: child.mark, moves }
            });
            beam = next.collect();
        }
        let best = beam.into_iter().reduce(|a, b| if b.value > a.value { b } else { a });
        best.map(|way| way.moves)
    }

    /// The way on to `place`, the way so far having looked at `looked`.
    fn child(&self, (parent, way): (usize, &Way), looked: &[u32], step: usize, place: u32) -> Child {
        let (mut value, mut paid) = (way.value, way.paid);
        for &piece in self.field.looks.row(place as usize) {
            let own = looked.iter().filter(|&&other| other == piece).count();
            value += self.added(piece, step, own);
            paid += self.price(piece, own);
        }
        let row = (step + 1 - self.window.from) * self.field.moves.count();
        let mark = way.mark.wrapping_add(scramble(u64::from(place) + 1));
        let rank = value - paid + self.to_go[row + place as usize];
        Child { rank, value, paid, mark, parent, place }
    }
}

/// Keeps the best by rank, one of each set of ways that made the same looks and stand together.
fn merge(children: &mut Vec<Child>, width: usize) {
    let order = |a: &Child, b: &Child| (a.parent, a.place).cmp(&(b.parent, b.place));
    children.sort_unstable_by(|a, b| b.rank.total_cmp(&a.rank).then_with(|| order(a, b)));
    let mut kept: Vec<(u64, u32)> = Vec::with_capacity(width);
    children.retain(|child| {
        let new = kept.len() < width && !kept.contains(&(child.mark, child.place));
        if new {
            kept.push((child.mark, child.place));
        }
        new
    });
}

/// Moves that one way gone on in a window counts for, by the time it takes.
const CHILD: u64 = 2;

/// Rebuilds windows of searches.
pub struct Rebuilding {
    entries: Entries,
    draws: Draws,
}

impl Rebuilding {
    /// # Inputs
    /// - `draws`: where windows fall
    pub fn of(field: &Field, draws: Draws) -> Self {
        Rebuilding { entries: Entries::of(field), draws }
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
        while *tried < effort {
            let draws = &mut self.draws;
            // Now and then one of several searchers finds its whole path again around the others.
            let whole = searchers > 1 && draws.index(4) == 0;
            let most = if draws.index(6) == 0 { steps } else { 14.min(steps) };
            let span = if whole { steps } else { 3 + draws.index(most) };
            let from = if whole { 0 } else { draws.index(steps) };
            let window = Window { searcher: draws.index(searchers), from, to: (from + span).min(steps) };
            let spent = (*tried - begun) as f64 / (effort - begun) as f64;
            let found = rebuilt((field, prices), &current.moves, window, &self.entries, (draws, tried));
            let Some(moves) = found else { continue };
            let value = field.value(&moves);
            let loss = 0.01 * (1.0 - spent) * self.draws.u01() * current.value;
            if value > current.value || value > current.value - loss {
                current = Best { value, moves };
            }
            if current.value > best.value {
                *best = current.clone();
            } else if current.value < best.value * 0.97 {
                current = best.clone();
            }
        }
    }
}

fn rebuilt(
    (field, prices): (&Field, &Prices),
    moves: &[u32],
    window: Window,
    entries: &Entries,
    (draws, tried): (&mut Draws, &mut u64),
) -> Option<Vec<u32>> {
    let searchers = field.starts.len();
    let mut fixed = vec![Vec::new(); field.gains.count()];
    *tried += (field.gains.count() + field.moves.count()) as u64 / 4;
    for (index, &place) in moves.iter().enumerate() {
        let (step, searcher) = (index / searchers, index % searchers);
        if searcher != window.searcher || step < window.from || step >= window.to {
            for &piece in field.looks.row(place as usize) {
                fixed[piece as usize].push(step as u16);
            }
        }
    }
    let at = |step: usize| moves[step * searchers + window.searcher];
    let start = if window.from == 0 { field.starts[window.searcher] } else { at(window.from - 1) };
    let away = if window.to == field.steps() {
        vec![0; field.moves.count()]
    } else {
        entries.away(at(window.to - 1), window.to - window.from)
    };
    let mut frame = Frame { field, prices, window, fixed, away, to_go: Vec::new() };
    let width = [8, 24, 64][draws.index(3)];
    let found = frame.through(start, width, tried)?;
    let mut moves = moves.to_vec();
    for (offset, place) in found.into_iter().enumerate() {
        moves[(window.from + offset) * searchers + window.searcher] = place;
    }
    Some(moves)
}
