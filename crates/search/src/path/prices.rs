//! Look prices: the k-th look at a piece may be used as often as anybody likes, at a price (PA-5).
//!
//! Each searcher then walks a longest path of its own, and a price rises where its look is used twice.
//! Start reading at [`Prices::best_look`], then [`Prices::adjust`].

use super::field::Field;

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
}

impl Prices {
    /// No look costs anything yet.
    pub fn none(field: &Field) -> Self {
        let looks = field.gains.items();
        Prices {
            price: vec![0.0; looks],
            active: Vec::new(),
            listed: vec![false; looks],
            lean: vec![0.0; looks],
            uses: vec![0; looks],
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

    /// Prices above zero, to be kept for later.
    pub fn kept(&self) -> Vec<(u32, f64)> {
        let mut kept: Vec<(u32, f64)> = Vec::new();
        kept.extend(self.active.iter().map(|&look| (look, self.price[look as usize])).filter(|k| k.1 > 0.0));
        kept.sort_unstable_by_key(|k| k.0);
        kept
    }

    /// Takes kept prices up again, without those of looks already made.
    pub fn take_up(&mut self, field: &Field, looked: &[u16], kept: &[(u32, f64)]) {
        for look in std::mem::take(&mut self.active) {
            let look = look as usize;
            (self.price[look], self.lean[look], self.listed[look]) = (0.0, 0.0, false);
        }
        for &(look, price) in kept {
            self.price[look as usize] = price;
            self.list(look as usize);
        }
        for (piece, &looked) in looked.iter().enumerate() {
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
    pub fn best_look(&self, field: &Field, first: usize, piece: usize, weight: f64) -> (f64, usize) {
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

    /// Counts one use of a look.
    pub fn used(&mut self, look: usize) {
        self.uses[look] += 1;
        self.list(look);
    }

    /// Moves every price a little: up where a look is used more than once, down where it is not used (PA-5).
    ///
    /// # Inputs
    /// - `gap`: what the change should take off the ceiling
    ///
    /// # Source
    /// Smoothed subgradient with Polyak's step; textbook.
    pub fn adjust(&mut self, gap: f64) {
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
}

/// Share of the newest direction in the smoothed one.
const SMOOTH: f64 = 0.7;
