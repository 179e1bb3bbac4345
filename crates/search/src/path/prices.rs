//! Look prices: a ceiling no search can beat, and the value of what is still to be done.
//!
//! The k-th look at a piece may be used once. Here it may be used as often as anybody likes, at a price; each
//! searcher then walks a longest path of its own, and the prices rise where a look is used twice (PA-5).
//! Start reading at [`Prices::retune`].

use super::field::{Field, Standing};

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
    /// Best still to be had from a place after so many steps: `[step * places + place]`.
    to_go: Vec<f64>,
    arriving: Vec<f64>,
    reach: Reach,
    /// Moves weighed on the tables so far.
    pub weighed: u64,
    /// Last moves of the longest paths, in the order of play; a candidate search for nothing.
    pub longest: Vec<u32>,
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
            to_go: vec![0.0; (field.steps() + 1) * places],
            arriving: vec![0.0; places],
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

    /// Best still to be had from `place` after `step` steps, prices paid.
    #[inline]
    pub fn to_go(&self, step: usize, place: u32) -> f64 {
        self.to_go[step * self.arriving.len() + place as usize]
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

    /// Best use of one look at `piece` at weight `weight`: its worth above the price, and which look that is.
    #[inline]
    fn best_look(&self, field: &Field, looked: &[u16], piece: usize, weight: f64) -> (f64, usize) {
        let (begin, gains) = (field.gains.begin(piece), field.gains.row(piece));
        let (mut best, mut which) = (0.0, usize::MAX);
        for number in usize::from(looked[piece])..gains.len() {
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

    fn worth(&self, field: &Field, looked: &[u16], place: u32, weight: f64) -> f64 {
        field.looks.row(place as usize).iter().map(|&p| self.best_look(field, looked, p as usize, weight).0).sum()
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
        let (places, steps) = (self.arriving.len(), field.steps());
        let last = steps * places;
        self.to_go[last..last + places].fill(0.0);
        for step in (first..steps).rev() {
            let weight = field.weight[step];
            for index in 0..self.reach.within[step - first + 1] {
                let place = self.reach.order[index];
                let worth = self.worth(field, &standing.looked, place, weight);
                self.arriving[place as usize] = worth + self.to_go[(step + 1) * places + place as usize];
            }
            for index in 0..self.reach.within[step - first] {
                let place = self.reach.order[index] as usize;
                let row = field.moves.row(place);
                self.weighed += row.len() as u64;
                let best = row.iter().fold(0.0, |best: f64, &next| best.max(self.arriving[next as usize]));
                self.to_go[step * places + place] = best;
            }
        }
        let ahead: f64 = standing
            .at
            .iter()
            .enumerate()
            .map(|(searcher, &place)| self.to_go(first + usize::from(searcher < turn), place))
            .sum();
        standing.value + self.unused() + ahead
    }

    /// Walks the longest paths and counts which looks they use.
    fn trace(&mut self, field: &Field, standing: &Standing) {
        let (first, turn) = standing.turn();
        let searchers = standing.at.len();
        self.longest.clear();
        self.longest.resize(field.length() - standing.moves.len(), 0);
        for searcher in 0..searchers {
            let mut place = standing.at[searcher];
            for step in first + usize::from(searcher < turn)..field.steps() {
                let weight = field.weight[step];
                let promise = |next: u32| {
                    self.worth(field, &standing.looked, next, weight) + self.to_go(step + 1, next)
                };
                let row = field.moves.row(place as usize);
                let (mut best, mut next) = (f64::NEG_INFINITY, place);
                for &candidate in row {
                    let worth = promise(candidate);
                    if worth > best {
                        (best, next) = (worth, candidate);
                    }
                }
                place = next;
                self.longest[step * searchers + searcher - standing.moves.len()] = place;
                for &piece in field.looks.row(place as usize) {
                    let (_, which) = self.best_look(field, &standing.looked, piece as usize, weight);
                    if which != usize::MAX {
                        self.uses[which] += 1;
                        self.list(which);
                    }
                }
            }
        }
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
