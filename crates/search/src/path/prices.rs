//! Look prices: a ceiling no search can beat, and the value of what is still to be done.
//!
//! The k-th look at a piece may be used once. Here it may be used as often as anybody likes, at a price; each
//! searcher then walks a longest path of its own, and the prices rise where a look is used twice (PA-5).
//! Start reading at [`Prices::retune`].

use super::field::{Field, Rows, Standing};

/// Prices of looks and, for those prices, the best each place still promises at each step.
pub struct Prices {
    /// Price of each look, laid out as the field's gains.
    price: Vec<f64>,
    /// Looks that carry a price or are in use, the only ones that can change.
    active: Vec<u32>,
    listed: Vec<bool>,
    /// Smoothed direction of the price changes.
    lean: Vec<f64>,
    uses: Vec<u16>,
    /// Best still to be had after so many steps, by the way one came: `[step * ways + way]`.
    to_go: Vec<f64>,
    /// Worth of arriving at each place: at first, and straight after a look there.
    arriving: Vec<[f64; 2]>,
    entries: Entries,
    reach: Reach,
    /// Moves weighed on the tables so far.
    pub weighed: u64,
    /// Last moves of the longest paths, in the order of play; a candidate search for nothing.
    pub longest: Vec<u32>,
}

/// Ways into each place, and where they come from; `u32::MAX` for a start.
struct Entries {
    into: Rows<(u32, u32)>,
}

impl Entries {
    fn of(field: &Field) -> Self {
        let mut into = vec![Vec::new(); field.moves.count()];
        for from in 0..field.moves.count() {
            for (way, &to) in (field.moves.begin(from)..).zip(field.moves.row(from)) {
                into[to as usize].push((way as u32, from as u32));
            }
        }
        for (searcher, &start) in field.starts.iter().enumerate() {
            into[start as usize].push((field.start_way(searcher), u32::MAX));
        }
        Entries { into: Rows::pack(into) }
    }

    #[inline]
    fn ways(&self) -> usize {
        self.into.items()
    }
}

/// Whether a look is known to have been made, beside those already counted, at the place one stands on and at the
/// place one came from. Near the standing those looks are counted already, and at a start none was made.
#[derive(Clone, Copy)]
struct Known {
    stay: bool,
    back: bool,
}

impl Known {
    fn at(standing: &Standing, step: usize) -> Self {
        let (first, turn) = standing.turn();
        let made = step - first;
        let counted = usize::from(turn > 0);
        Known { stay: made > counted, back: made > counted + 1 }
    }
}

/// Places in the order in which anybody can be there.
#[derive(Default)]
struct Reach {
    order: Vec<u32>,
    /// How many of `order` can be reached within so many moves.
    within: Vec<usize>,
    seen: Vec<bool>,
}

impl Reach {
    fn from(&mut self, field: &Field, standing: &Standing) {
        let (step, turn) = standing.turn();
        self.order.clear();
        self.within.clear();
        self.seen.clear();
        self.seen.resize(field.moves.count(), false);
        self.add(&standing.at[turn..]);
        self.within.push(self.order.len());
        let mut from = 0;
        for round in 0..field.steps() - step {
            let upto = self.order.len();
            if round == 0 {
                // Whoever has moved already stands one move further on.
                self.add(&standing.at[..turn]);
            }
            for index in from..upto {
                let place = self.order[index] as usize;
                self.add(field.moves.row(place));
            }
            from = upto;
            self.within.push(self.order.len());
        }
    }

    fn add(&mut self, places: &[u32]) {
        for &place in places {
            if !std::mem::replace(&mut self.seen[place as usize], true) {
                self.order.push(place);
            }
        }
    }
}

impl Prices {
    /// No look costs anything yet.
    pub fn none(field: &Field) -> Self {
        let (places, looks) = (field.moves.count(), field.gains.items());
        Prices {
            price: vec![0.0; looks],
            active: Vec::new(),
            listed: vec![false; looks],
            lean: vec![0.0; looks],
            uses: vec![0; looks],
            to_go: vec![0.0; (field.steps() + 1) * (field.moves.items() + field.starts.len())],
            arriving: vec![[0.0; 2]; places],
            entries: Entries::of(field),
            reach: Reach::default(),
            weighed: 0,
            longest: Vec::new(),
        }
    }

    /// Price of look `number` (from zero) at `piece`.
    #[inline]
    pub fn of(&self, field: &Field, piece: u32, number: u16) -> f64 {
        let row = field.gains.row(piece as usize);
        if usize::from(number) < row.len() {
            self.price[field.gains.begin(piece as usize) + usize::from(number)]
        } else {
            0.0
        }
    }

    /// Best still to be had after `step` steps by one who came by `way`, prices paid.
    #[inline]
    pub fn to_go(&self, step: usize, way: u32) -> f64 {
        self.to_go[step * self.entries.ways() + way as usize]
    }

    /// Prices above zero, to be kept for later.
    pub fn kept(&self) -> Vec<(u32, f64)> {
        let mut kept: Vec<(u32, f64)> = Vec::new();
        kept.extend(self.active.iter().map(|&look| (look, self.price[look as usize])).filter(|k| k.1 > 0.0));
        kept.sort_unstable_by_key(|k| k.0);
        kept
    }

    /// Takes kept prices up again, without those of looks already made.
    pub fn take_up(&mut self, field: &Field, standing: &Standing, kept: &[(u32, f64)]) {
        for look in std::mem::take(&mut self.active) {
            let look = look as usize;
            (self.price[look], self.lean[look], self.listed[look]) = (0.0, 0.0, false);
        }
        for &(look, price) in kept {
            self.price[look as usize] = price;
            self.list(look as usize);
        }
        for (piece, &looked) in standing.looked.iter().enumerate() {
            let (begin, row) = (field.gains.begin(piece), field.gains.row(piece).len());
            self.price[begin..begin + row.min(usize::from(looked))].fill(0.0);
        }
    }

    fn list(&mut self, look: usize) {
        if !std::mem::replace(&mut self.listed[look], true) {
            self.active.push(look as u32);
        }
    }

    /// Sum of the prices of looks not yet made.
    pub fn unused(&self) -> f64 {
        self.active.iter().map(|&look| self.price[look as usize]).sum()
    }

    /// Best use of one look at `piece` at weight `weight`, look `first` being the earliest that can be left:
    /// its worth above the price, and which look that is.
    #[inline]
    fn best_look(&self, field: &Field, first: usize, piece: usize, weight: f64) -> (f64, usize) {
        let (begin, gains) = (field.gains.begin(piece), field.gains.row(piece));
        let (mut best, mut which) = (0.0, usize::MAX);
        for number in first..gains.len() {
            let price = self.price[begin + number];
            let worth = weight * gains[number] - price;
            if worth > best {
                (best, which) = (worth, begin + number);
            }
            if price == 0.0 {
                break; // later looks gain less and cannot be cheaper
            }
        }
        (best, which)
    }

    fn worth(&self, field: &Field, looked: &[u16], (place, known): (u32, usize), weight: f64) -> f64 {
        let looks = field.looks.row(place as usize).iter();
        looks
            .map(|&p| self.best_look(field, usize::from(looked[p as usize]) + known, p as usize, weight).0)
            .sum()
    }

    /// Fills the tables from the last step back to where `standing` is, for the places in reach.
    ///
    /// # Gives
    /// A ceiling on what any continuation of `standing` can be worth in all (PA-5), true for every set of prices.
    pub fn sweep(&mut self, field: &Field, standing: &Standing) -> f64 {
        self.reach.from(field, standing);
        self.fill(field, standing)
    }

    fn fill(&mut self, field: &Field, standing: &Standing) -> f64 {
        let (first, turn) = standing.turn();
        let (ways, steps) = (self.entries.ways(), field.steps());
        self.to_go[steps * ways..].fill(0.0);
        for step in (first..steps).rev() {
            let weight = field.weight[step];
            for index in 0..self.reach.within[step - first + 1] {
                let place = self.reach.order[index];
                let worth = |known: usize| self.worth(field, &standing.looked, (place, known), weight);
                self.arriving[place as usize] = [worth(0), worth(1)];
            }
            let known = Known::at(standing, step);
            for index in 0..self.reach.within[step - first] {
                self.fill_place(field, self.reach.order[index], step, known);
            }
        }
        let ahead = |(searcher, &by): (usize, &u32)| self.to_go(first + usize::from(searcher < turn), by);
        standing.value + self.unused() + standing.by.iter().enumerate().map(ahead).sum::<f64>()
    }

    /// Best continuation from `place` for every way into it: the best move, unless that goes straight back to
    /// where the searcher came from, whose first look is then known to be gone.
    fn fill_place(&mut self, field: &Field, place: u32, step: usize, known: Known) {
        let ways = self.entries.ways();
        let (now, later) = (step * ways, (step + 1) * ways);
        let begin = field.moves.begin(place as usize);
        let row = field.moves.row(place as usize);
        self.weighed += row.len() as u64;
        let (mut best, mut second, mut best_place) = (0.0, 0.0, u32::MAX);
        for (index, &next) in row.iter().enumerate() {
            let repeat = usize::from(known.stay && next == place);
            let worth = self.arriving[next as usize][repeat] + self.to_go[later + begin + index];
            if worth > best {
                (second, best, best_place) = (best, worth, next);
            } else if worth > second {
                second = worth;
            }
        }
        for &(way, from) in self.entries.into.row(place as usize) {
            let back = known.back && from != u32::MAX && from == best_place && from != place;
            self.to_go[now + way as usize] = if back {
                let home = row.iter().position(|&next| next == from).expect("the best move is in the row");
                second.max(self.arriving[from as usize][1] + self.to_go[later + begin + home])
            } else {
                best
            };
        }
    }

    /// Walks the longest paths and counts which looks they use.
    fn trace(&mut self, field: &Field, standing: &Standing) {
        let (first, turn) = standing.turn();
        let searchers = standing.at.len();
        self.longest.clear();
        self.longest.resize(field.length() - standing.moves.len(), 0);
        for searcher in 0..searchers {
            let (mut place, mut from) = (standing.at[searcher], u32::MAX);
            for step in first + usize::from(searcher < turn)..field.steps() {
                let (next, repeat) = self.onward(field, standing, (place, from), step);
                (from, place) = (place, next);
                self.longest[step * searchers + searcher - standing.moves.len()] = place;
                for &piece in field.looks.row(place as usize) {
                    let number = usize::from(standing.looked[piece as usize]) + repeat;
                    let (_, which) = self.best_look(field, number, piece as usize, field.weight[step]);
                    if which != usize::MAX {
                        self.uses[which] += 1;
                        self.list(which);
                    }
                }
            }
        }
    }

    /// Next place of a longest path, and how many looks are known to be gone there.
    fn onward(
        &self,
        field: &Field,
        standing: &Standing,
        (place, from): (u32, u32),
        step: usize,
    ) -> (u32, usize) {
        let known = Known::at(standing, step);
        let begin = field.moves.begin(place as usize);
        let (mut best, mut chosen) = (f64::NEG_INFINITY, (place, 0));
        for (index, &next) in field.moves.row(place as usize).iter().enumerate() {
            let repeat = (known.stay && next == place) || (known.back && next == from && next != place);
            let repeat = usize::from(repeat);
            let worth = self.worth(field, &standing.looked, (next, repeat), field.weight[step])
                + self.to_go(step + 1, (begin + index) as u32);
            if worth > best {
                (best, chosen) = (worth, (next, repeat));
            }
        }
        chosen
    }

    /// Moves every price a little: up where a look is used more than once, down where it is not used (PA-5).
    fn adjust(&mut self, gap: f64) {
        let mut norm = 0.0;
        for &look in &self.active {
            let look = look as usize;
            let push = f64::from(self.uses[look]) - 1.0;
            self.lean[look] = SMOOTH * push + (1.0 - SMOOTH) * self.lean[look];
            if self.price[look] > 0.0 || self.lean[look] > 0.0 {
                norm += self.lean[look] * self.lean[look];
            }
        }
        let pace = if norm > 0.0 { gap / norm } else { 0.0 };
        let mut kept = 0;
        for index in 0..self.active.len() {
            let look = self.active[index] as usize;
            self.price[look] = (self.price[look] + pace * self.lean[look]).max(0.0);
            self.uses[look] = 0;
            if self.price[look] > 0.0 || self.lean[look] > 0.0 {
                self.active[kept] = look as u32;
                kept += 1;
            } else {
                (self.lean[look], self.listed[look]) = (0.0, false);
            }
        }
        self.active.truncate(kept);
    }

    /// Lowers the ceiling by changing the prices, and leaves the tables at the best prices met.
    ///
    /// # Inputs
    /// - `target`: value already in hand; stops once the ceiling is at or below it
    /// - `rounds`: price changes to try
    ///
    /// # Gives
    /// The lowest ceiling met.
    ///
    /// # Source
    /// Lagrangian relaxation solved by a smoothed subgradient with Polyak's step; textbook.
    pub fn retune(&mut self, field: &Field, standing: &Standing, target: f64, rounds: usize) -> f64 {
        self.longest.clear();
        let mut ceiling = self.sweep(field, standing);
        let mut kept = self.kept();
        let (mut pace, mut stalls, mut latest) = (1.0, 0, ceiling);
        for _ in 0..rounds {
            if ceiling <= target + super::CLOSE {
                break;
            }
            self.trace(field, standing);
            self.adjust(pace * (latest - target).max(0.0));
            latest = self.fill(field, standing);
            if latest < ceiling - 1e-12 {
                stalls = 0;
                ceiling = latest;
                kept = self.kept();
            } else {
                stalls += 1;
                if stalls == STALLS {
                    pace *= 0.7;
                    stalls = 0;
                }
            }
        }
        if latest > ceiling {
            self.take_up(field, standing, &kept);
            ceiling = self.fill(field, standing);
        }
        ceiling
    }
}

/// Share of the newest direction in the smoothed one.
const SMOOTH: f64 = 0.7;
/// Rounds without a lower ceiling before the pace is cut.
const STALLS: usize = 8;
