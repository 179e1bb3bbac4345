//! Order prices: look number k + 1 at a piece cannot come before look number k (PA-5).
//!
//! Where weights never rise this needs no saying: the early look is worth more as the lower number. Where they rise, longest
//! paths would save the first look at a piece for a late step and take its second look before, so every step at which more
//! looks have been made as number k + 1 than as number k asks a price.
//! Start reading at [`Order::of`], then [`Order::early`].

use super::field::Field;
use super::prices::Item;

/// Prices on looks that come too early, pair by pair of successive looks at a piece.
pub struct Order {
    /// Per look, its pair with the next look at the piece; [`NONE`] where that pair has no prices. Empty where weights never rise.
    pair: Vec<u32>,
    looks: Vec<Look>,
    /// Per piece, from which number on no look is in a pair with prices.
    reach: Vec<u32>,
    pairs: Vec<Pair>,
    steps: usize,
    /// One where looks at a piece cannot be made in the same step: then number k must come in a step before.
    apart: usize,
}

/// Which look at which piece.
struct Look {
    piece: u32,
    number: u32,
    /// Whether the look before it is still to be made too.
    follows: bool,
}

/// Look `first` and the next look at its piece.
struct Pair {
    first: u32,
    /// Per step up to which looks are counted.
    price: Vec<f64>,
    /// Sum of the prices from each step on.
    ahead: Vec<f64>,
}

impl Order {
    /// No order price yet.
    ///
    /// # Inputs
    /// - `looked`: looks already made at each piece
    pub fn none(field: &Field, looked: &[u16]) -> Self {
        let rising = field.weight.windows(2).any(|pair| pair[1] > pair[0]);
        let (looks, pieces) = if rising { (field.gains.items(), field.gains.count()) } else { (0, 0) };
        let numbers = |piece: usize| {
            let made = u32::from(looked[piece]);
            (0..field.gains.row(piece).len() as u32).map(move |number| Look {
                piece: piece as u32,
                number,
                follows: number > made,
            })
        };
        Order {
            pair: vec![NONE; looks],
            looks: (0..pieces).flat_map(numbers).collect(),
            reach: vec![0; pieces],
            pairs: Vec::new(),
            steps: field.steps(),
            apart: usize::from(field.starts.len() == 1),
        }
    }

    /// From which number on no look at `piece` has an order price.
    #[inline]
    pub fn reach(&self, piece: usize) -> usize {
        self.reach.get(piece).map_or(0, |&reach| reach as usize)
    }

    /// What a look made in `step` is paid for coming before the next look, less what it pays for coming before the last.
    #[inline]
    pub fn of(&self, look: usize, step: usize) -> f64 {
        if self.pair.is_empty() {
            return 0.0;
        }
        let before = if self.looks[look].follows { self.ahead(look - 1, step) } else { 0.0 };
        self.ahead(look, step + self.apart) - before
    }

    #[inline]
    fn ahead(&self, look: usize, step: usize) -> f64 {
        self.pairs.get(self.pair[look] as usize).map_or(0.0, |pair| pair.ahead[step])
    }

    /// Names the pairs of which these uses make the later look too early, each with the last step up to which that is so.
    ///
    /// # Inputs
    /// - `uses`: looks used, with the step, in order
    pub fn early(&self, uses: &[(u32, u16)], mut name: impl FnMut(u32, u16)) {
        if self.pair.is_empty() {
            return;
        }
        let row = |look: u32| {
            let begin = uses.partition_point(|&(other, _)| other < look);
            uses[begin..]
                .iter()
                .take_while(move |&&(other, _)| other == look)
                .map(|&(_, step)| usize::from(step))
        };
        let mut latest = NONE;
        for &(look, _) in uses {
            if !self.looks[look as usize].follows || std::mem::replace(&mut latest, look) == look {
                continue;
            }
            let (mut firsts, mut nexts) = (row(look - 1).peekable(), row(look).peekable());
            let mut too_early = 0;
            while let Some(step) = nexts.next() {
                too_early += 1;
                while firsts.next_if(|&first| first + self.apart <= step).is_some() {
                    too_early -= 1;
                }
                if too_early > 0 {
                    let until = firsts.peek().map_or(self.steps, |&first| first + self.apart);
                    let until = nexts.peek().map_or(until, |&next| until.min(next));
                    name(look - 1, until.max(step + 1) as u16 - 1);
                }
            }
        }
    }

    /// What the ceiling gains by a unit of the price for look `first` and the next up to `step`, these looks being used.
    pub fn slope(&self, (first, step): (u32, u16), uses: &[(u32, u16)]) -> f64 {
        let firsts = uses_before(uses, first, step + 1 - self.apart as u16);
        firsts - uses_before(uses, first + 1, step + 1)
    }

    /// Prices above zero.
    pub fn kept(&self) -> impl Iterator<Item = (Item, f64)> + '_ {
        self.pairs.iter().flat_map(|pair| {
            let prices = pair.price.iter().enumerate().filter(|price| *price.1 > 0.0);
            prices.map(|(step, &price)| (Item { look: pair.first, step: step as u16 }, price))
        })
    }

    /// Nothing is asked any more.
    pub fn clear(&mut self) {
        for pair in self.pairs.drain(..) {
            self.pair[pair.first as usize] = NONE;
            self.reach[self.looks[pair.first as usize].piece as usize] = 0;
        }
    }

    /// Asks a price; to be followed by [`Order::sum_up`].
    pub fn ask(&mut self, (first, step): (u32, u16), price: f64) {
        if self.pair[first as usize] == NONE {
            self.pair[first as usize] = self.pairs.len() as u32;
            let look = &self.looks[first as usize];
            let reach = &mut self.reach[look.piece as usize];
            *reach = (*reach).max(look.number + 2);
            self.pairs.push(Pair { first, price: vec![0.0; self.steps], ahead: vec![0.0; self.steps + 1] });
        }
        self.pairs[self.pair[first as usize] as usize].price[usize::from(step)] = price;
    }

    /// Makes prices asked count.
    pub fn sum_up(&mut self) {
        self.pairs.iter_mut().for_each(Pair::sum_up);
    }
}

/// How often a look is used before a step.
///
/// # Inputs
/// - `uses`: looks used, with the step, in order
pub fn uses_before(uses: &[(u32, u16)], look: u32, step: u16) -> f64 {
    let begin = uses.partition_point(|&(other, _)| other < look);
    uses[begin..].iter().take_while(|&&(other, when)| other == look && when < step).count() as f64
}

impl Pair {
    fn sum_up(&mut self) {
        for step in (0..self.price.len()).rev() {
            self.ahead[step] = self.ahead[step + 1] + self.price[step];
        }
    }
}

/// No pair.
const NONE: u32 = u32::MAX;
