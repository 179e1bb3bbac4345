//! Look prices: the k-th look at a piece may be used as often as anybody likes, at a price (PA-5).
//!
//! Each searcher then walks a longest path of its own, and prices rise where looks are used twice ([`super::bundle`]).
//! Start reading at [`Prices::best_look`].

use super::field::Field;
use super::order::{self, Order};

/// What a price is asked for: a look, or the order of a look and the next at its piece up to a step.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Item {
    /// The look, or the first of the two.
    pub look: u32,
    /// Up to which step; [`ALWAYS`] for the look itself.
    pub step: u16,
}

/// The step of a look's own price.
pub const ALWAYS: u16 = u16::MAX;

/// Prices above zero.
pub type Kept = Vec<(Item, f64)>;

/// Prices of looks.
pub struct Prices {
    /// Price of each look, laid out as the field's gains.
    price: Vec<f64>,
    /// Looks that carry a price.
    priced: Vec<u32>,
    order: Order,
}

impl Prices {
    /// No look costs anything yet.
    ///
    /// # Inputs
    /// - `looked`: looks already made at each piece
    pub fn none(field: &Field, looked: &[u16]) -> Self {
        let price = vec![0.0; field.gains.items()];
        Prices { price, priced: Vec::new(), order: Order::none(field, looked) }
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
        let look = |&look: &u32| (Item { look, step: ALWAYS }, self.price[look as usize]);
        self.priced.iter().map(look).chain(self.order.kept()).collect()
    }

    /// Takes kept prices up again.
    pub fn take_up(&mut self, kept: &Kept) {
        for look in self.priced.drain(..) {
            self.price[look as usize] = 0.0;
        }
        self.order.clear();
        for &(Item { look, step }, price) in kept {
            if step == ALWAYS {
                self.price[look as usize] = price;
                self.priced.push(look);
            } else {
                self.order.ask((look, step), price);
            }
        }
        self.order.sum_up();
    }

    /// Names every price that could curb these uses of looks.
    pub fn asked_of(&self, uses: &[(u32, u16)], mut name: impl FnMut(Item)) {
        for &(look, _) in uses {
            name(Item { look, step: ALWAYS });
        }
        self.order.early(uses, |look, step| name(Item { look, step }));
    }

    /// What the ceiling gains by a unit of a price, these looks being used.
    pub fn slope(&self, Item { look, step }: Item, uses: &[(u32, u16)]) -> f64 {
        if step == ALWAYS {
            1.0 - order::uses_before(uses, look, u16::MAX)
        } else {
            self.order.slope((look, step), uses)
        }
    }

    /// Sum of the prices of looks not yet made.
    pub fn unused(&self) -> f64 {
        self.priced.iter().map(|&look| self.price[look as usize]).sum()
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
}
