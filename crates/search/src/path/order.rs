//! Order prices: look number k + 1 at a piece cannot come before look number k (PA-5).
//!
//! Where weights never rise this needs no saying: the early look is worth more as the lower number. Where they rise, longest
//! paths would save the first look at a piece for a late step and take its second look before, so every step at which more
//! looks have been made as number k + 1 than as number k asks a price.
//! Start reading at [`Order::of`], then [`Order::push`].

use super::field::Field;

/// Order price kept: the look that must come first, the step, the price.
pub type Kept = (u32, u16, f64);

/// Prices on looks that come too early, pair by pair of successive looks at a piece.
pub struct Order {
    /// Per look, its pair with the next look at the piece; [`NONE`] where that pair has no prices. Empty where weights never rise.
    pair: Vec<u32>,
    looks: Vec<Look>,
    /// Per piece, from which number on no look is in a pair with prices.
    reach: Vec<u32>,
    pairs: Vec<Pair>,
    used: Vec<(u32, u16)>,
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
    lean: Vec<f64>,
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
            used: Vec::new(),
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

    /// Counts one use of a look.
    pub fn used(&mut self, look: usize, step: usize) {
        if !self.pair.is_empty() {
            self.used.push((look as u32, step as u16));
        }
    }

    /// Works out which way the order prices should go: up where number k + 1 was used more often so far than number k.
    ///
    /// # Gives
    /// The part of the squared length of the direction that is due to them.
    pub fn push(&mut self) -> f64 {
        self.used.sort_unstable();
        let used = std::mem::take(&mut self.used);
        for &(look, _) in &used {
            if self.looks[look as usize].follows {
                self.open(look - 1);
            }
        }
        let mut norm = 0.0;
        for pair in &mut self.pairs {
            let of = |look: u32| {
                let begin = used.partition_point(|&(other, _)| other < look);
                used[begin..].iter().take_while(move |&&(other, _)| other == look).map(|&(_, step)| step)
            };
            let (mut firsts, mut nexts) = (of(pair.first).peekable(), of(pair.first + 1).peekable());
            let mut ahead_of_time = 0.0;
            for step in 0..self.steps {
                while nexts.next_if(|&next| usize::from(next) <= step).is_some() {
                    ahead_of_time += 1.0;
                }
                while firsts.next_if(|&first| usize::from(first) + self.apart <= step).is_some() {
                    ahead_of_time -= 1.0;
                }
                let lean = super::prices::smoothed(pair.lean[step], ahead_of_time);
                pair.lean[step] = if pair.price[step] > 0.0 { lean } else { lean.max(0.0) };
                norm += pair.lean[step] * pair.lean[step];
            }
        }
        EASE * norm
    }

    /// Moves the order prices that way.
    pub fn pay(&mut self, pace: f64) {
        for pair in &mut self.pairs {
            for (price, lean) in pair.price.iter_mut().zip(&pair.lean) {
                *price = (*price + EASE * pace * lean).max(0.0);
            }
            pair.sum_up();
        }
    }

    fn open(&mut self, first: u32) -> &mut Pair {
        if self.pair[first as usize] == NONE {
            self.pair[first as usize] = self.pairs.len() as u32;
            let look = &self.looks[first as usize];
            let reach = &mut self.reach[look.piece as usize];
            *reach = (*reach).max(look.number + 2);
            let (price, lean) = (vec![0.0; self.steps], vec![0.0; self.steps]);
            self.pairs.push(Pair { first, price, lean, ahead: vec![0.0; self.steps + 1] });
        }
        &mut self.pairs[self.pair[first as usize] as usize]
    }

    /// Prices above zero, to be kept for later.
    pub fn kept(&self) -> Vec<Kept> {
        let of = |pair: &Pair| {
            let first = pair.first;
            let prices = pair.price.iter().enumerate().filter(|price| *price.1 > 0.0);
            prices.map(|(step, &price)| (first, step as u16, price)).collect::<Vec<_>>()
        };
        self.pairs.iter().flat_map(of).collect()
    }

    /// Takes kept prices up again.
    pub fn take_up(&mut self, kept: &[Kept]) {
        for pair in std::mem::take(&mut self.pairs) {
            self.pair[pair.first as usize] = NONE;
            self.reach[self.looks[pair.first as usize].piece as usize] = 0;
        }
        for &(first, step, price) in kept {
            self.open(first).price[usize::from(step)] = price;
        }
        self.pairs.iter_mut().for_each(Pair::sum_up);
    }
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
/// How fast order prices move beside look prices: one look too early leans on the prices of many steps at once.
const EASE: f64 = 0.1;
