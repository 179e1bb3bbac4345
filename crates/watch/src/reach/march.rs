//! First arrival over still footing: second-order fast marching, exact close to where it begins.
//!
//! Upwind differences of second order where two settled places lie behind each other in one medium, of first order
//! at walls; where the pace jumps from one cell to the next, the two halves of the step are taken each at its own
//! pace with one slowness along the edge, as the law of refraction has it.
//! Start reading at [`Medium`], then [`Medium::march`].

use super::front::Front;
use measure::Spot;
use water::Grid;

/// What a cell is to whoever crosses it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Footing {
    /// Nobody goes there.
    Wall,
    /// Land or anything else that is crossed freely.
    Land,
    /// Water.
    Water,
    /// A deck above the water: from it one jumps, onto it one must climb.
    Deck,
}

/// A pace in every cell of a grid, prepared for marching.
pub struct Medium {
    grid: Grid,
    /// Cells from one row of the padded grid to the next.
    stride: usize,
    /// Time to cross a cell \[s\]; infinite in walls and in the two rows of padding.
    cross_s: Vec<f64>,
    footing: Vec<Footing>,
    /// Whether a wall, another kind of ground or a jump of pace lies within two cells.
    uneven: Vec<bool>,
    climb_s: f64,
    /// Velocity of the water \[m/s\], padded; none where it is still.
    drift: Option<Vec<Spot>>,
}

/// Where a march begins.
#[derive(Clone, Debug)]
pub enum Start {
    /// One place, left at a time \[s\].
    Spot(Spot, f64),
    /// Cells, each with the time \[s\] at which it may be left.
    Cells(Vec<(usize, f64)>),
}

/// Rows and columns of padding.
const PAD: usize = 2;
/// Two paces whose ratio is within this and its inverse count as one medium.
const SMOOTH: f64 = 1.25;

impl Medium {
    /// A medium from paces and kinds of ground.
    ///
    /// # Inputs
    /// - `grid`: the cells
    /// - `pace_mps`: pace in each cell \[m/s\]; not above 0, or not a number: a wall
    /// - `footing`: kind of each cell; a wall stays one whatever its pace
    /// - `climb_s`: time to climb from water onto a deck \[s\]; infinite where nobody can
    ///
    /// # Panics
    /// If the lists are not as long as the grid has cells, or it has 2³² of them.
    pub fn new(grid: Grid, pace_mps: &[f64], footing: &[Footing], climb_s: f64) -> Medium {
        assert_eq!((pace_mps.len(), footing.len()), (grid.len(), grid.len()));
        let stride = grid.cols + 2 * PAD;
        let size = stride * (grid.rows + 2 * PAD);
        assert!(u32::try_from(size).is_ok(), "{size} cells are too many to march over");
        let mut medium = Medium {
            grid,
            stride,
            cross_s: vec![f64::INFINITY; size],
            footing: vec![Footing::Wall; size],
            uneven: vec![true; size],
            climb_s,
            drift: None,
        };
        for cell in 0..grid.len() {
            let at = medium.padded(cell);
            if pace_mps[cell] > 0.0 && footing[cell] != Footing::Wall {
                medium.cross_s[at] = grid.cell_m / pace_mps[cell];
                medium.footing[at] = footing[cell];
            }
        }
        for cell in 0..grid.len() {
            let at = medium.padded(cell);
            medium.uneven[at] = medium.is_uneven(at);
        }
        medium
    }

    /// The same medium, carried by a current; none: still.
    ///
    /// # Panics
    /// If the current does not have a velocity for every cell.
    pub fn moved_by(mut self, current: Option<Vec<Spot>>) -> Medium {
        self.drift = current.map(|current| {
            assert_eq!(current.len(), self.grid.len());
            let mut drift = vec![Spot::default(); self.cross_s.len()];
            current.into_iter().enumerate().for_each(|(cell, u)| drift[self.padded(cell)] = u);
            drift
        });
        self
    }

    /// The same medium with the water running the other way: times from it are times to the start.
    pub fn reversed(mut self) -> Medium {
        self.drift.iter_mut().flatten().for_each(|u| *u = -*u);
        self
    }

    /// The cells.
    pub fn grid(&self) -> &Grid {
        &self.grid
    }

    /// Whether a cell is a wall.
    pub fn is_wall(&self, cell: usize) -> bool {
        self.cross_s[self.padded(cell)].is_infinite()
    }

    /// Pace in a cell \[m/s\]; 0 in a wall.
    pub fn pace_mps(&self, cell: usize) -> f64 {
        self.grid.cell_m / self.cross_s[self.padded(cell)]
    }

    /// Whether two cells are of one kind, and neither is a wall.
    pub(super) fn same_ground(&self, a: usize, b: usize) -> bool {
        let (a, b) = (self.footing[self.padded(a)], self.footing[self.padded(b)]);
        a == b && a != Footing::Wall
    }

    /// Whether one steps from cell `a` straight to its neighbour `b`: no wall, and no climb.
    pub(super) fn beside(&self, a: usize, b: usize) -> bool {
        let (a, b) = (self.footing[self.padded(a)], self.footing[self.padded(b)]);
        b != Footing::Wall && !(a == Footing::Water && b == Footing::Deck)
    }

    #[inline]
    pub(super) fn padded(&self, cell: usize) -> usize {
        (cell / self.grid.cols + PAD) * self.stride + cell % self.grid.cols + PAD
    }

    pub(super) fn padded_len(&self) -> usize {
        self.cross_s.len()
    }

    pub(super) fn stride(&self) -> usize {
        self.stride
    }

    pub(super) fn unpadded_cell(&self, at: usize) -> usize {
        (at / self.stride - PAD) * self.grid.cols + at % self.stride - PAD
    }

    pub(super) fn is_closed(&self, at: usize) -> bool {
        self.cross_s[at].is_infinite()
    }

    #[inline]
    pub(super) fn pace_at(&self, at: usize) -> f64 {
        self.grid.cell_m / self.cross_s[at]
    }

    pub(super) fn cross_at(&self, at: usize) -> f64 {
        self.cross_s[at]
    }

    pub(super) fn footing_at(&self, at: usize) -> Footing {
        self.footing[at]
    }

    pub(super) fn climb_s(&self) -> f64 {
        self.climb_s
    }

    /// Velocity of the water \[m/s\] at a padded place.
    #[inline]
    pub(super) fn drift_at(&self, at: usize) -> Spot {
        self.drift.as_ref().map_or(Spot::default(), |all| all[at])
    }

    /// Whether one steps from a padded place onto the one beside it: no wall, and no climb.
    #[inline]
    pub(super) fn steps_onto(&self, from: usize, to: usize) -> bool {
        let (a, b) = (self.footing[from], self.footing[to]);
        a != Footing::Wall && b != Footing::Wall && !(a == Footing::Water && b == Footing::Deck)
    }

    /// The values of the grid without its padding.
    pub(super) fn unpadded(&self, values: &[f64]) -> Vec<f64> {
        let mut all = Vec::with_capacity(self.grid.len());
        for row in 0..self.grid.rows {
            let from = (row + PAD) * self.stride + PAD;
            all.extend_from_slice(&values[from..from + self.grid.cols]);
        }
        all
    }

    fn is_uneven(&self, at: usize) -> bool {
        let own = self.cross_s[at];
        [1, self.stride].iter().flat_map(|s| [at - s, at + s, at - 2 * s, at + 2 * s]).any(|other| {
            let there = self.cross_s[other];
            there.is_finite() && (self.footing[other] != self.footing[at] || !alike(own, there))
        })
    }

    /// First arrival in every cell.
    ///
    /// # Inputs
    /// - `start`: one place or many cells; those in walls or outside the grid begin nothing
    ///
    /// # Gives
    /// Time of first arrival in the middle of each cell \[s\]; infinite where there is no way.
    ///
    /// # Source
    /// marching by upwind differences: textbook; the disc at the start and refraction at jumps: derived
    pub fn march(&self, start: &Start) -> Vec<f64> {
        if self.drift.is_some() {
            return self.march_drift(start);
        }
        let mut time_s = vec![f64::INFINITY; self.cross_s.len()];
        self.march_padded(start, &mut time_s, &mut self.front());
        self.unpadded(&time_s)
    }

    /// An empty front for this medium.
    pub(super) fn front(&self) -> Front {
        Front::new(self.cross_s.iter().copied().fold(f64::INFINITY, f64::min))
    }

    fn march_padded(&self, start: &Start, time_s: &mut [f64], front: &mut Front) {
        for (cell, at_s) in self.settled(start) {
            let at = self.padded(cell);
            if at_s < time_s[at] && self.cross_s[at].is_finite() {
                time_s[at] = at_s;
                front.push(at_s, at as u32);
            }
        }
        // What the closed form has settled, differences must not change.
        let (mut exact, mut until_s) = (Vec::new(), f64::NEG_INFINITY);
        if matches!(start, Start::Spot(..)) {
            exact = (0..time_s.len()).filter(|&at| time_s[at].is_finite()).collect();
            until_s = exact.iter().map(|&at| time_s[at]).fold(until_s, f64::max);
        }
        let stride = self.stride;
        while let Some((bits, at)) = front.pop() {
            let at = at as usize;
            let now_s = time_s[at];
            if !Front::is_of(bits, now_s) {
                continue;
            }
            for next in [at - 1, at + 1, at - stride, at + stride] {
                if time_s[next] <= now_s || (now_s <= until_s && exact.binary_search(&next).is_ok()) {
                    continue;
                }
                let new_s = if self.uneven[next] {
                    self.step_uneven(time_s, next, now_s)
                } else {
                    self.step(time_s, next, now_s)
                };
                if new_s < time_s[next] {
                    time_s[next] = new_s;
                    front.push(new_s, next as u32);
                }
            }
        }
    }

    /// What is known of one axis through `at`: weight and value of the difference, first or second order.
    #[inline]
    fn axis(&self, time_s: &[f64], at: usize, step: usize, now_s: f64) -> (f64, f64) {
        let (low, high) = (time_s[at - step], time_s[at + step]);
        let (near, far) =
            if low <= high { (low, time_s[at - 2 * step]) } else { (high, time_s[at + 2 * step]) };
        if near > now_s {
            (0.0, 0.0)
        } else if far <= near {
            (2.25, (4.0 * near - far) * (1.0 / 3.0))
        } else {
            (1.0, near)
        }
    }

    /// Time of `at` in one smooth medium.
    #[inline]
    fn step(&self, time_s: &[f64], at: usize, now_s: f64) -> f64 {
        let x = self.axis(time_s, at, 1, now_s);
        let y = self.axis(time_s, at, self.stride, now_s);
        solve(x, y, self.cross_s[at])
    }

    /// Time of `at` where walls, decks or jumps of pace are near.
    #[inline(never)]
    fn step_uneven(&self, time_s: &[f64], at: usize, now_s: f64) -> f64 {
        let x = self.side(time_s, at, 1, now_s);
        let y = self.side(time_s, at, self.stride, now_s);
        let own_s = self.cross_s[at];
        let met_s = match (x, y) {
            (Side::Jump { value, cross_s }, other) | (other, Side::Jump { value, cross_s }) => {
                refracted((value, cross_s), other, own_s)
            }
            (Side::Smooth(x), Side::Smooth(y)) => solve(x, y, own_s),
        };
        met_s.min(self.climbed(time_s, at, now_s))
    }

    /// Time of a deck cell reached by climbing out of the water beside it.
    fn climbed(&self, time_s: &[f64], at: usize, now_s: f64) -> f64 {
        if self.footing[at] != Footing::Deck {
            return f64::INFINITY;
        }
        let beside = [at - 1, at + 1, at - self.stride, at + self.stride];
        let wet = beside.into_iter().filter(|&b| self.footing[b] == Footing::Water && time_s[b] <= now_s);
        wet.map(|b| time_s[b] + 0.5 * (self.cross_s[b] + self.cross_s[at]) + self.climb_s)
            .fold(f64::INFINITY, f64::min)
    }

    /// The better neighbour along one axis, and whether the pace jumps between it and `at`.
    fn side(&self, time_s: &[f64], at: usize, step: usize, now_s: f64) -> Side {
        let open =
            |other: usize| !(self.footing[at] == Footing::Deck && self.footing[other] == Footing::Water);
        let time = |other: usize| if open(other) { time_s[other] } else { f64::INFINITY };
        let (low, high) = (time(at - step), time(at + step));
        let (near, next, far) = if low <= high {
            (low, at - step, at.wrapping_sub(2 * step))
        } else {
            (high, at + step, at + 2 * step)
        };
        if near > now_s {
            return Side::Smooth((0.0, 0.0));
        }
        if !alike(self.cross_s[at], self.cross_s[next]) {
            return Side::Jump { value: near, cross_s: self.cross_s[next] };
        }
        let same = alike(self.cross_s[next], self.cross_s[far]) && self.footing[next] == self.footing[far];
        if same && time_s[far] <= near {
            Side::Smooth((2.25, (4.0 * near - time_s[far]) * (1.0 / 3.0)))
        } else {
            Side::Smooth((1.0, near))
        }
    }
}

/// What one axis says of a cell.
#[derive(Clone, Copy, Debug)]
enum Side {
    /// Weight and value of the difference; weight 0: nothing is known.
    Smooth((f64, f64)),
    /// The neighbour lies in another medium: its time, and its time to cross a cell.
    Jump { value: f64, cross_s: f64 },
}

/// Whether two times to cross a cell belong to one medium.
#[inline]
fn alike(a: f64, b: f64) -> bool {
    a <= SMOOTH * b && b <= SMOOTH * a
}

/// The time `t` that solves `Σ w (t − v)² = c²` over the known axes, upwind.
#[inline]
fn solve((wx, vx): (f64, f64), (wy, vy): (f64, f64), cross_s: f64) -> f64 {
    let apart = vx - vy;
    let sum = wx + wy;
    let root = sum * cross_s * cross_s - wx * wy * apart * apart;
    if wx > 0.0 && wy > 0.0 && root >= 0.0 {
        let both = (wx * vx + wy * vy + root.sqrt()) / sum;
        if both >= vx.max(vy) {
            return both;
        }
    }
    let alone = |w: f64, v: f64| if w > 0.0 { v + cross_s / w.sqrt() } else { f64::INFINITY };
    alone(wx, vx).min(alone(wy, vy))
}

/// Time across a jump of pace: half a cell in each medium, with the slowness along the edge in common.
fn refracted((value, there_s): (f64, f64), along: Side, own_s: f64) -> f64 {
    let straight = value + 0.5 * (there_s + own_s);
    let (w, v) = match along {
        Side::Smooth((w, v)) if w > 0.0 => (w, v),
        Side::Smooth(_) => return straight,
        // A corner: another medium on both axes.
        Side::Jump { value: other, cross_s } => {
            return straight.min(other + 0.5 * (cross_s + own_s));
        }
    };
    let across = |t: f64| {
        let tangent = (w.sqrt() * (t - v)).max(0.0);
        let half = |cross_s: f64| 0.5 * (cross_s * cross_s - tangent * tangent).max(0.0).sqrt();
        value + half(there_s) + half(own_s)
    };
    // `t − across(t)` grows with t, so that halving finds its one zero.
    let (mut low, mut high) = (value.max(v), straight.max(v));
    if across(low) <= low {
        // The neighbour along the edge came so much later that the step across is straight or less than nothing.
        return straight.min(solve((w, v), (0.0, 0.0), own_s));
    }
    for _ in 0..48 {
        let middle = 0.5 * (low + high);
        if across(middle) > middle { low = middle } else { high = middle }
    }
    (0.5 * (low + high)).min(solve((w, v), (0.0, 0.0), own_s))
}
