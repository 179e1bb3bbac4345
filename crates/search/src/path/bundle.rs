//! Which prices to try next: a bundle method (PA-5).
//!
//! The ceiling is convex and piecewise linear in the prices: every choice of paths is a plane, and a sweep finds the plane
//! that is highest at its prices. The planes met so far are a model of the ceiling from below. The next prices are the
//! lowest point of the model, held near the best prices met; the shares that the planes have in it say which paths the
//! ceiling mixes.
//! Start reading at [`Bundle::aim`].

use super::prices::{Item, Kept, Prices};
use std::collections::BTreeMap;

/// Longest paths of all searchers at some prices.
#[derive(Clone, Debug, Default)]
pub struct Plane {
    /// What the paths find, no price being asked.
    pub worth: f64,
    /// Looks they use, with the step, in order.
    pub uses: Vec<(u32, u16)>,
    /// Their places in the order of play.
    pub places: Vec<u32>,
    /// Per searcher, the kind of each arrival.
    pub kinds: Vec<Vec<u32>>,
}

/// Planes met, and the point held on to.
#[derive(Default)]
pub struct Bundle {
    items: Vec<Item>,
    index: BTreeMap<Item, usize>,
    /// Per item, the best price met.
    center: Vec<f64>,
    /// Per item, the price to try next.
    next: Vec<f64>,
    /// Per item, the mixed slope of the planes.
    pull: Vec<f64>,
    /// Per item, the slope of every plane.
    slopes: Vec<[f64; MOST]>,
    planes: Vec<Plane>,
    /// Per plane, its share in the model's lowest point, and its height at the next prices.
    share: [f64; MOST],
    height: [f64; MOST],
    /// Ceiling at the center.
    lowest: f64,
    /// How far the next prices may go for a unit of slope.
    reach: f64,
    /// Below this the reach is not cut.
    least_reach: f64,
    /// Fall of the ceiling that the model promised; below zero where shares were not traded to the end.
    promised: f64,
    /// Tries in vain since the prices held on to were met, or the reach was cut.
    nulls: u32,
    /// Times in a row that the reach was stretched.
    stretched: u32,
    /// Multiplications so far.
    pub worked: u64,
}

impl Bundle {
    /// Holds on to prices at which the ceiling is `height`; no plane is known yet.
    pub fn begin(&mut self, kept: &Kept, height: f64) {
        let worked = self.worked;
        *self = Bundle { lowest: height, worked, ..Bundle::default() };
        for &(item, price) in kept {
            self.add(item, price);
        }
    }

    fn add(&mut self, item: Item, price: f64) -> usize {
        self.index.insert(item, self.items.len());
        self.items.push(item);
        self.center.push(price);
        self.next.push(price);
        self.pull.push(0.0);
        self.slopes.push([0.0; MOST]);
        self.items.len() - 1
    }

    /// Takes up a plane: the highest at the prices tried last, or one met before.
    ///
    /// # Inputs
    /// - `share`: to begin with; of a new plane nothing
    /// - `target`: what the ceiling should come down to
    pub fn meet(&mut self, prices: &Prices, (share, plane): (f64, Plane), target: f64) {
        let at = self.free();
        if at == self.planes.len() {
            self.planes.push(plane);
        } else {
            self.planes[at] = plane;
        }
        let uses = std::mem::take(&mut self.planes[at].uses);
        let mut fresh = Vec::new();
        prices.asked_of(&uses, |item| {
            if !self.index.contains_key(&item) {
                fresh.push(self.add(item, 0.0));
            }
        });
        self.planes[at].uses = uses;
        for &item in &fresh {
            for (slope, plane) in self.slopes[item].iter_mut().zip(&self.planes) {
                *slope = prices.slope(self.items[item], &plane.uses);
            }
        }
        let uses = &self.planes[at].uses;
        let known = self.items.len() - fresh.len();
        for (item, slopes) in self.items.iter().zip(&mut self.slopes).take(known) {
            slopes[at] = prices.slope(*item, uses);
        }
        self.share[at] = share;
        self.worked += MEETING * self.items.len() as u64;
        if self.reach == 0.0 {
            let can_move = |&item: &usize| self.center[item] > 0.0 || self.slopes[item][at] < 0.0;
            let square = |item: usize| self.slopes[item][at] * self.slopes[item][at];
            let norm: f64 = (0..self.items.len()).filter(can_move).map(square).sum();
            self.reach = if norm > 0.0 { (self.lowest - target) / norm } else { 1.0 };
            self.least_reach = LEAST * self.reach;
        }
    }

    /// Where the next plane goes: in the place of the one with the least share, once the bundle is full.
    fn free(&mut self) -> usize {
        let planes = self.planes.len();
        if planes < MOST {
            return planes;
        }
        let least = (0..planes).min_by(|&a, &b| self.share[a].total_cmp(&self.share[b])).expect("planes");
        self.share[least] = 0.0;
        least
    }

    /// Works out the next prices: the lowest point of the model plus the squared way from the center over twice the reach.
    ///
    /// # Source
    /// Proximal bundle method, solved in the shares of the planes by changes of pairs; textbook.
    pub fn aim(&mut self) -> Kept {
        let planes = self.planes.len();
        let whole: f64 = self.share.iter().sum();
        if whole > 0.0 {
            self.share.iter_mut().for_each(|share| *share /= whole);
        } else {
            self.share[planes - 1] = 1.0;
        }
        for item in 0..self.items.len() {
            let slopes = &self.slopes[item][..planes];
            self.pull[item] = slopes.iter().zip(&self.share).map(|(slope, share)| slope * share).sum();
            self.next[item] = self.price(item);
        }
        for (plane, height) in self.height.iter_mut().enumerate().take(planes) {
            let paid = self.next.iter().zip(&self.slopes).map(|(price, slopes)| price * slopes[plane]);
            *height = self.planes[plane].worth + paid.sum::<f64>();
        }
        self.worked += 2 * (self.items.len() * planes) as u64;
        for _ in 0..PAIRS {
            let heights = &self.height[..planes];
            let by_height = |&a: &usize, &b: &usize| heights[a].total_cmp(&heights[b]);
            let up = (0..planes).max_by(by_height).expect("a plane was met");
            let down = (0..planes).filter(|&plane| self.share[plane] > 0.0).min_by(by_height);
            let down = down.expect("shares sum to one");
            let model: f64 = heights.iter().zip(&self.share).map(|(height, share)| height * share).sum();
            self.promised = self.lowest - heights[up];
            if heights[up] - model <= ACCURATE * (self.lowest - model).max(NOTHING) {
                break;
            }
            self.trade(up, down);
        }
        self.items.iter().copied().zip(self.next.iter().copied()).filter(|priced| priced.1 > 0.0).collect()
    }

    fn price(&self, item: usize) -> f64 {
        (self.center[item] - self.reach * self.pull[item]).max(0.0)
    }

    /// Shifts shares from plane `down` to plane `up`, as far as that raises the least of the model.
    fn trade(&mut self, up: usize, down: usize) {
        let planes = self.planes.len();
        let apart = |slopes: &[f64; MOST]| slopes[up] - slopes[down];
        let square: f64 = self.slopes.iter().map(apart).map(|apart| apart * apart).sum();
        let raise = self.height[up] - self.height[down];
        let step = if square > 0.0 { raise / (self.reach * square) } else { f64::INFINITY };
        let step = step.min(self.share[down]);
        self.share[up] += step;
        self.share[down] -= step;
        let mut moved = 0;
        for item in 0..self.items.len() {
            let apart = self.slopes[item][up] - self.slopes[item][down];
            if apart == 0.0 {
                continue;
            }
            self.pull[item] += step * apart;
            let next = self.price(item);
            let by = next - std::mem::replace(&mut self.next[item], next);
            if by != 0.0 {
                moved += 1;
                for (height, slope) in self.height[..planes].iter_mut().zip(&self.slopes[item]) {
                    *height += by * slope;
                }
            }
        }
        self.worked += (2 * self.items.len() + moved * planes + 4 * planes) as u64;
    }

    /// Whether the prices tried last, at which the ceiling is `height`, are held on to.
    pub fn judge(&mut self, height: f64) -> bool {
        let fall = self.lowest - height;
        if fall > ENOUGH * self.promised && fall > 0.0 {
            if fall > WELL * self.promised {
                self.reach *= 1.5;
            }
            self.lowest = height;
            self.center.clone_from(&self.next);
            self.nulls = 0;
            return true;
        }
        self.nulls += 1;
        if self.nulls >= NULLS && -fall > OVERSHOT * self.promised {
            self.reach = (0.7 * self.reach).max(self.least_reach);
            self.nulls = 0;
        }
        false
    }

    /// Whether nothing more is promised that is worth a sweep, however far the next prices may go.
    ///
    /// # Inputs
    /// - `target`: what the ceiling should come down to
    pub fn settled(&mut self, target: f64) -> bool {
        if self.promised > WORTHWHILE * (self.lowest - target) {
            self.stretched = 0;
            return false;
        }
        // On a plateau little is promised nearby: only farther off does the ceiling fall. Stretched far the shares can no longer be
        // traded to the end, the promise turns negative, and the rounds are better spent on a longer memory.
        self.stretched += 1;
        self.reach *= STRETCH;
        self.stretched > STRETCHES
    }

    /// The prices held on to.
    pub fn kept(&self) -> Kept {
        self.items.iter().copied().zip(self.center.iter().copied()).filter(|priced| priced.1 > 0.0).collect()
    }

    /// The planes that the lowest point of the model mixes, with their shares.
    pub fn mixed(&self) -> impl Iterator<Item = (f64, &Plane)> {
        let shares = self.share.iter().copied();
        shares.zip(&self.planes).filter(|mixed| mixed.0 > PART)
    }
}

/// Planes held.
const MOST: usize = 32;
/// Multiplications that working out one slope counts for.
const MEETING: u64 = 24;
/// Trades of shares for each aim.
const PAIRS: usize = 200;
/// Share of the promised fall by which the model's lowest point may be missed.
const ACCURATE: f64 = 0.1;
/// A fall that is none.
const NOTHING: f64 = 1e-13;
/// Share of the promised fall that makes prices worth holding on to; and that lets the next go further.
const ENOUGH: f64 = 0.1;
const WELL: f64 = 0.5;
/// Tries in vain after which the reach is cut, if the last went up by so many times the promised fall.
const NULLS: u32 = 10;
const OVERSHOT: f64 = 3.0;
/// Share of the first reach below which it is not cut.
const LEAST: f64 = 0.03;
/// Share of what is left to fall that is worth a sweep.
const WORTHWHILE: f64 = 1e-3;
/// How much farther the next prices may go when little is promised, and how often in a row.
const STRETCH: f64 = 10.0;
const STRETCHES: u32 = 2;
/// Share from which on a plane counts as mixed in.
const PART: f64 = 1e-6;
