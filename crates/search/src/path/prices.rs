//! Look prices: the k-th look at a piece may be used as often as anybody likes, at a price (PA-5).
//!
//! Each searcher then walks a longest path of its own, and a price rises where its look is used twice.
//! Start reading at [`Prices::best_look`], then [`Prices::adjust`].

use super::field::Field;
use super::order::{self, Order};

/// Prices to be kept for later: of looks, and of their order.
#[derive(Default)]
pub struct Kept {
    looks: Vec<(u32, f64)>,
    order: Vec<order::Kept>,
}

/// Prices of looks.
pub struct Prices {
    /// Price of each look, laid out as the field's gains.
    price: Vec<f64>,
    /// Looks that carry a price or are in use, the only ones that can change.
    active: Vec<u32>,
    listed: Vec<bool>,
    /// Smoothed direction of the price changes.
    lean: Vec<f64>,
    uses: Vec<u16>,
    order: Order,
}

impl Prices {
    /// No look costs anything yet.
    ///
    /// # Inputs
    /// - `looked`: looks already made at each piece
    pub fn none(field: &Field, looked: &[u16]) -> Self {
        let looks = field.gains.items();
        Prices {
            price: vec![0.0; looks],
            active: Vec::new(),
            listed: vec![false; looks],
            lean: vec![0.0; looks],
            uses: vec![0; looks],
            order: Order::none(field, looked),
        }
    }

    /// Price of look `number` (from zero) at `piece`, whenever it is made.
    #[inline]
    pub fn plain(&self, field: &Field, piece: u32, number: usize) -> f64 {
        let row = field.gains.row(piece as usize);
        if number < row.len() { self.price[field.gains.begin(piece as usize) + number] } else { 0.0 }
    }

    /// Price of look `number` at `piece` made in `step`, less what its order is paid for.
    #[inline]
    pub fn of(&self, field: &Field, (piece, number): (u32, usize), step: usize) -> f64 {
        if number < field.gains.row(piece as usize).len() {
            let look = field.gains.begin(piece as usize) + number;
            self.price[look] - self.order.of(look, step)
        } else {
            0.0
        }
    }

    /// Prices above zero, to be kept for later.
    pub fn kept(&self) -> Kept {
        let priced = self.active.iter().map(|&look| (look, self.price[look as usize]));
        let mut looks: Vec<(u32, f64)> = priced.filter(|look| look.1 > 0.0).collect();
        looks.sort_unstable_by_key(|look| look.0);
        Kept { looks, order: self.order.kept() }
    }

    /// Takes kept prices up again.
    pub fn take_up(&mut self, kept: &Kept) {
        for look in std::mem::take(&mut self.active) {
            let look = look as usize;
            (self.price[look], self.lean[look], self.listed[look]) = (0.0, 0.0, false);
        }
        for &(look, price) in &kept.looks {
            self.price[look as usize] = price;
            self.list(look as usize);
        }
        self.order.take_up(&kept.order);
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

    /// Best use of one look at `piece` in `step`, look `first` being the earliest that can be left:
    /// its worth above the price, and which look that is.
    #[inline]
    pub fn best_look(&self, field: &Field, (piece, first): (u32, usize), step: usize) -> (f64, usize) {
        let (piece, weight) = (piece as usize, field.weight[step]);
        let (begin, gains) = (field.gains.begin(piece), field.gains.row(piece));
        let reach = self.order.reach(piece);
        let (mut best, mut which) = (0.0, usize::MAX);
        for number in first..gains.len() {
            let price = self.price[begin + number];
            let worth = weight * gains[number] - price + self.order.of(begin + number, step);
            if worth > best {
                (best, which) = (worth, begin + number);
            }
            if price == 0.0 && number >= reach {
                break; // later looks gain less and cannot be cheaper
            }
        }
        (best, which)
    }

    /// Counts one use of a look.
    pub fn used(&mut self, look: usize, step: usize) {
        self.uses[look] += 1;
        self.list(look);
        self.order.used(look, step);
    }

    /// Moves every price a little: up where a look is used more than once, down where it is not used (PA-5).
    ///
    /// # Inputs
    /// - `gap`: what the change should take off the ceiling
    ///
    /// # Source
    /// Smoothed subgradient with Polyak's step; textbook.
    pub fn adjust(&mut self, gap: f64) {
        let mut norm = self.order.push();
        for &look in &self.active {
            let look = look as usize;
            let push = f64::from(self.uses[look]) - 1.0;
            self.lean[look] = smoothed(self.lean[look], push);
            if self.price[look] > 0.0 || self.lean[look] > 0.0 {
                norm += self.lean[look] * self.lean[look];
            }
        }
        let pace = if norm > 0.0 { gap / norm } else { 0.0 };
        self.order.pay(pace);
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
}

/// The direction after `push`, `lean` being the one before.
///
/// # Source
/// exponential smoothing of subgradients (textbook)
pub fn smoothed(lean: f64, push: f64) -> f64 {
    SMOOTH * push + (1.0 - SMOOTH) * lean
}

/// Share of the newest direction in the smoothed one.
const SMOOTH: f64 = 0.7;
