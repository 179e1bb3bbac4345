//! Many positions of the sun, kept by where they stand, so that a spot looks only at those that can glint for it.
//!
//! A spot's path of light is a small patch of the sky. Positions are kept in small squares of the sky, these in larger
//! ones; from the corners of a square follow bounds of the facet's lean, so that whole squares are counted or left out
//! unseen, and only those on the edge of the path are looked at one by one. The counts are the same as one by one.

use measure::fastmath::{exp, exp_single, wide};
use rayon::prelude::*;

/// Small squares along one side of the sky.
const SIDE: usize = 64;
/// Small squares along one side of a large one.
const WITHIN: usize = 8;
/// Spots of one piece of work.
const SPOTS: usize = 32;
/// Bounds are widened by this share: they are rounded like the values they bound.
const SLACK: f64 = 1e-12;
/// Beyond this many mean squares a facet adds less than 1.4e-11 of a flat one to the sum of densities.
const NOTHING: f64 = 25.0;
/// Beyond this many it adds less than 1.3e-4, and single precision serves.
const FAR: f64 = 9.0;
/// Positions worked on at once.
const LANES: usize = 64;

/// Bounds of the positions in a square.
#[derive(Clone, Copy, Debug)]
struct Patch {
    low: [f64; 3],
    high: [f64; 3],
    /// First position, or first small square.
    from: u32,
    /// One past the last.
    to: u32,
}

/// Positions of the sun above the horizon.
#[derive(Clone, Debug, Default)]
pub struct Suns {
    x: Vec<f64>,
    y: Vec<f64>,
    z: Vec<f64>,
    /// The same in single precision.
    rough: [Vec<f32>; 3],
    /// Number of each position as it was given.
    number: Vec<u32>,
    small: Vec<Patch>,
    large: Vec<Patch>,
}

/// What a spot's path of light comes to.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Tally {
    /// Positions whose facet leans no more than asked.
    pub count: u64,
    /// Sum of the density of facets over that of flat ones, over all positions; zero where it was not asked for.
    pub dose: f64,
}

/// A spot to look from, and how far its path of light reaches.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reach {
    /// Unit step from the spot to the eye: east, north, up.
    pub step: [f64; 3],
    /// Largest squared tangent of a facet's lean that counts.
    pub most_tan2: f64,
}

impl Patch {
    fn empty(from: usize) -> Patch {
        Patch { low: [f64::INFINITY; 3], high: [f64::NEG_INFINITY; 3], from: from as u32, to: from as u32 }
    }

    fn hold(&mut self, other: &Patch) {
        for k in 0..3 {
            self.low[k] = self.low[k].min(other.low[k]);
            self.high[k] = self.high[k].max(other.high[k]);
        }
    }

    /// Least and greatest squared tangent of the facet between an eye's step and any position inside.
    #[inline(always)]
    fn tan2(&self, eye: [f64; 3]) -> (f64, f64) {
        let side = |k: usize| {
            let (low, high) = (self.low[k] + eye[k], self.high[k] + eye[k]);
            let (a, b) = (low * low, high * high);
            (if low <= 0.0 && high >= 0.0 { 0.0 } else { a.min(b) }, a.max(b))
        };
        let (east, north) = (side(0), side(1));
        let (low, high) = (self.low[2] + eye[2], self.high[2] + eye[2]);
        ((east.0 + north.0) / (high * high) * (1.0 - SLACK), (east.1 + north.1) / (low * low) * (1.0 + SLACK))
    }
}

impl Suns {
    /// Keeps the positions above the horizon.
    ///
    /// # Inputs
    /// - `steps`: unit steps towards the sun (east, north, up); those not above the horizon, and those that are no numbers, are left out
    pub fn new(steps: &[[f64; 3]]) -> Suns {
        let square = |step: &[f64; 3]| {
            let along = |x: f64| (((x + 1.0) * (0.5 * SIDE as f64)) as usize).min(SIDE - 1);
            let (col, row) = (along(step[0]), along(step[1]));
            let large = row / WITHIN * (SIDE / WITHIN) + col / WITHIN;
            large * WITHIN * WITHIN + row % WITHIN * WITHIN + col % WITHIN
        };
        let up = |step: &[f64; 3]| step[2] > 0.0 && step[0].is_finite() && step[1].is_finite();
        let mut begin = vec![0u32; SIDE * SIDE + 1];
        let squares: Vec<u16> =
            steps.iter().map(|s| if up(s) { square(s) as u16 } else { u16::MAX }).collect();
        squares.iter().filter(|s| **s != u16::MAX).for_each(|s| begin[usize::from(*s) + 1] += 1);
        for k in 0..SIDE * SIDE {
            begin[k + 1] += begin[k];
        }
        let count = begin[SIDE * SIDE] as usize;
        let mut suns = Suns {
            x: vec![0.0; count],
            y: vec![0.0; count],
            z: vec![0.0; count],
            rough: Default::default(),
            number: vec![0; count],
            small: Vec::new(),
            large: Vec::new(),
        };
        let mut next = begin.clone();
        for (k, (step, s)) in steps.iter().zip(&squares).enumerate().filter(|(_, (_, s))| **s != u16::MAX) {
            let at = next[usize::from(*s)] as usize;
            next[usize::from(*s)] += 1;
            (suns.x[at], suns.y[at], suns.z[at], suns.number[at]) = (step[0], step[1], step[2], k as u32);
        }
        suns.rough = [&suns.x, &suns.y, &suns.z].map(|of| of.iter().map(|x| *x as f32).collect());
        suns.bound(&begin);
        suns
    }

    /// Bounds of every square that holds something.
    fn bound(&mut self, begin: &[u32]) {
        for block in begin[..SIDE * SIDE].chunks(WITHIN * WITHIN).enumerate() {
            let mut large = Patch::empty(self.small.len());
            for s in block.0 * WITHIN * WITHIN..(block.0 + 1) * WITHIN * WITHIN {
                let (from, to) = (begin[s] as usize, begin[s + 1] as usize);
                if from == to {
                    continue;
                }
                let mut patch = Patch::empty(from);
                patch.to = to as u32;
                for (k, of) in [&self.x, &self.y, &self.z].into_iter().enumerate() {
                    patch.low[k] = of[from..to].iter().copied().fold(f64::INFINITY, f64::min);
                    patch.high[k] = of[from..to].iter().copied().fold(f64::NEG_INFINITY, f64::max);
                }
                large.hold(&patch);
                self.small.push(patch);
            }
            large.to = self.small.len() as u32;
            if large.to > large.from {
                self.large.push(large);
            }
        }
    }

    /// Number of positions kept.
    pub fn len(&self) -> usize {
        self.x.len()
    }

    /// Whether the sun is never up.
    pub fn is_empty(&self) -> bool {
        self.x.is_empty()
    }

    /// Calls `meet` with every position, by its number as given, that may glint within a spot's reach, and possibly some more.
    pub fn near(&self, reach: &Reach, mut meet: impl FnMut(usize)) {
        for large in self.large.iter().filter(|p| p.tan2(reach.step).0 <= reach.most_tan2) {
            for small in &self.small[large.from as usize..large.to as usize] {
                if small.tan2(reach.step).0 <= reach.most_tan2 {
                    self.number[small.from as usize..small.to as usize]
                        .iter()
                        .for_each(|k| meet(*k as usize));
                }
            }
        }
    }

    /// For each spot how many positions glint within its reach.
    ///
    /// # Inputs
    /// - `reaches`: spots with their reach
    ///
    /// # Gives
    /// The counts one would get by looking at every pair; every spot by itself, so the same on any number of threads.
    pub fn counts(&self, reaches: &[Reach]) -> Vec<u64> {
        let of_block =
            |block: &[Reach]| -> Vec<u64> { wide(|| block.iter().map(|reach| self.count(reach)).collect()) };
        reaches.par_chunks(SPOTS).flat_map_iter(of_block).collect()
    }

    /// For each spot how many positions glint within its reach, and the sum of their densities over that of flat facets.
    ///
    /// # Inputs
    /// - `reaches`: spots with their reach · `mean_square`: total variance of slope, the same all round
    ///
    /// # Gives
    /// Counts as [`Suns::counts`]; the dose within a millionth of itself: what is below 1.4e-11 of a flat facet's density
    /// is left out, what is below 1.3e-4 is summed in single precision.
    pub fn tallies(&self, reaches: &[Reach], mean_square: f64) -> Vec<Tally> {
        let of_block = |block: &[Reach]| -> Vec<Tally> {
            let sum =
                |reach: &Reach| Tally { count: self.count(reach), dose: self.dose(reach.step, mean_square) };
            wide(|| block.iter().map(sum).collect())
        };
        reaches.par_chunks(SPOTS).flat_map_iter(of_block).collect()
    }

    #[inline(always)]
    fn count(&self, reach: &Reach) -> u64 {
        let (eye, most) = (reach.step, reach.most_tan2);
        let mut count = 0;
        for large in &self.large {
            let (least, greatest) = large.tan2(eye);
            if least > most {
                continue;
            }
            let inside = &self.small[large.from as usize..large.to as usize];
            if greatest <= most {
                count += u64::from(inside[inside.len() - 1].to - inside[0].from);
                continue;
            }
            for small in inside {
                let (least, greatest) = small.tan2(eye);
                if greatest <= most {
                    count += u64::from(small.to - small.from);
                } else if least <= most {
                    count += self.one_by_one(small, reach);
                }
            }
        }
        count
    }

    #[inline(always)]
    fn one_by_one(&self, patch: &Patch, reach: &Reach) -> u64 {
        let range = patch.from as usize..patch.to as usize;
        let (x, y, z) = (&self.x[range.clone()], &self.y[range.clone()], &self.z[range]);
        let ([vx, vy, vz], most) = (reach.step, reach.most_tan2);
        let mut count = 0u64;
        for k in 0..x.len() {
            let (a, b, c) = (x[k] + vx, y[k] + vy, z[k] + vz);
            count += u64::from(a * a + b * b <= most * (c * c));
        }
        count
    }

    #[inline(always)]
    fn dose(&self, eye: [f64; 3], mean_square: f64) -> f64 {
        let most = NOTHING * mean_square;
        let rate = -1.0 / mean_square;
        let mut dose = 0.0;
        for large in self.large.iter().filter(|p| p.tan2(eye).0 <= most) {
            for small in &self.small[large.from as usize..large.to as usize] {
                let least = small.tan2(eye).0;
                if least > most {
                    continue;
                }
                dose += if least > FAR * mean_square {
                    self.far_dose(small, eye.map(|v| v as f32), rate as f32)
                } else {
                    self.near_dose(small, eye, rate)
                };
            }
        }
        dose
    }

    #[inline(always)]
    fn near_dose(&self, patch: &Patch, [vx, vy, vz]: [f64; 3], rate: f64) -> f64 {
        let mut dose = 0.0;
        for from in (patch.from as usize..patch.to as usize).step_by(LANES) {
            let to = (from + LANES).min(patch.to as usize);
            let (x, y, z) = (&self.x[from..to], &self.y[from..to], &self.z[from..to]);
            let mut each = [0.0; LANES];
            for (((q, x), y), z) in each.iter_mut().zip(x).zip(y).zip(z) {
                let (a, b, c) = (x + vx, y + vy, z + vz);
                *q = exp((a * a + b * b) / (c * c) * rate);
            }
            dose += halved(&mut each);
        }
        dose
    }

    #[inline(always)]
    fn far_dose(&self, patch: &Patch, [vx, vy, vz]: [f32; 3], rate: f32) -> f64 {
        let [xs, ys, zs] = &self.rough;
        let mut dose = 0.0;
        for from in (patch.from as usize..patch.to as usize).step_by(LANES) {
            let to = (from + LANES).min(patch.to as usize);
            let (x, y, z) = (&xs[from..to], &ys[from..to], &zs[from..to]);
            let mut each = [0.0f32; LANES];
            for (((q, x), y), z) in each.iter_mut().zip(x).zip(y).zip(z) {
                let (a, b, c) = (x + vx, y + vy, z + vz);
                *q = exp_single((a * a + b * b) / (c * c) * rate);
            }
            dose += f64::from(halved(&mut each));
        }
        dose
    }
}

/// Sum of all by adding one half to the other: the same order in every vector width.
#[inline(always)]
fn halved<T: Copy + std::ops::AddAssign>(each: &mut [T; LANES]) -> T {
    let mut half = LANES / 2;
    while half > 0 {
        let (low, high) = each.split_at_mut(half);
        for (a, b) in low.iter_mut().zip(high.iter().take(half)) {
            *a += *b;
        }
        half /= 2;
    }
    each[0]
}
