//! What a search that found nobody says: fewer chances where it looked, more everywhere else (models B6, B7).

use super::cells::{CellOrder, GROUP, Outline, Piece, Sorted};
use super::fate::Drifter;
use super::{Belief, Cloud, Masses, NO_SOURCE};
use crate::sweep::{Detection, Method, Sweep};
use measure::{
    Spot,
    special::{BETA_POINTS, beta_points},
};
use water::{Bed, Grid};

/// Sweeps by one method with one chance of detection.
///
/// The chance is one unknown number shared by all of them, so they miss together more often than
/// independent ones would; sweeps of different pools are independent. Where a strip strays it meets a place or does not,
/// each strip by itself.
#[derive(Clone, Debug)]
pub struct Pool {
    method: Method,
    firm: Detection,
    rough: Detection,
    /// Chances of detection on firm and on rough bottom, at which the mean over what is known of them is read off.
    points: [[(f64, f64); BETA_POINTS]; 2],
    /// Sweeps that met a place for certain.
    sure: Vec<u16>,
    /// What the others left at each point: −ln of the chance to be missed, in steps; empty where all are sure.
    strayed: Vec<[u32; BETA_POINTS]>,
    /// Passes for certain that miss as often as all of them.
    passes: Vec<f32>,
}

/// Covers are counted in steps of 1/65,536.
const COVER_STEP: f64 = 65_536.0;

/// Logarithms are counted in whole steps, so that their sums are exact in any order.
const LOG_STEP: f64 = 1_048_576.0;

/// Log of a miss that is as good as none.
const LOG_MOST: f64 = 40.0;

/// Passes that are told apart; after so many hardly anybody who can be found is still missed.
const PASSES_MOST: u16 = 256;

/// Beyond this many standard errors from an edge a place is inside or outside for certain, to less than half a step.
const EDGE_SIGMAS: f64 = 4.5;

/// Particles summed at a time; block sums are added in order.
const SUM_BLOCK: usize = 4096;

impl Pool {
    fn new(sweep: &Sweep, count: usize) -> Self {
        let points = [sweep.firm, sweep.rough].map(|detection| match detection {
            Detection { a, .. } if a <= 0.0 => [(0.0, 1.0 / BETA_POINTS as f64); BETA_POINTS],
            Detection { b, .. } if b <= 0.0 => [(1.0, 1.0 / BETA_POINTS as f64); BETA_POINTS],
            Detection { a, b } => beta_points(a, b),
        });
        let (method, firm, rough) = (sweep.method, sweep.firm, sweep.rough);
        Pool {
            method,
            firm,
            rough,
            points,
            sure: vec![0; count],
            strayed: Vec::new(),
            passes: vec![0.0; count],
        }
    }

    fn detection(&self, bed: Bed) -> (Detection, &[(f64, f64); BETA_POINTS]) {
        match bed {
            Bed::Sand | Bed::Mud => (self.firm, &self.points[0]),
            Bed::Weed | Bed::Rock => (self.rough, &self.points[1]),
        }
    }

    /// Adds a sweep that meets a place with chance `cover`, above 0.
    fn add(&mut self, particle: usize, bed: Bed, cover: f64) {
        if cover >= 1.0 {
            self.sure[particle] = (self.sure[particle] + 1).min(PASSES_MOST);
        } else {
            if self.strayed.is_empty() {
                self.strayed.resize(self.sure.len(), [0; BETA_POINTS]);
            }
            let points = *self.detection(bed).1;
            for (log, (p, _)) in self.strayed[particle].iter_mut().zip(points) {
                let missed = (-libm::log(1.0 - cover * p)).min(LOG_MOST);
                *log = log.saturating_add((missed * LOG_STEP).round() as u32);
            }
        }
        self.passes[particle] = self.as_passes(particle, bed);
    }

    /// Passes for certain that miss a place as often as all sweeps so far.
    fn as_passes(&self, particle: usize, bed: Bed) -> f32 {
        let sure = self.sure[particle];
        let Some(logs) = self.strayed.get(particle).filter(|logs| logs.iter().any(|log| *log > 0)) else {
            return f32::from(sure);
        };
        let (detection, points) = self.detection(bed);
        let (mut all, mut kept) = (0.0, 0.0);
        for (&(p, weight), &log) in points.iter().zip(logs) {
            let share = (0..sure).fold(weight, |share, _| share * (1.0 - p));
            all += share;
            kept += share * libm::exp(-f64::from(log) / LOG_STEP);
        }
        let mut before = detection.miss(f64::from(sure));
        if all <= 0.0 || before <= 0.0 {
            return f32::from(sure);
        }
        let miss = before * (kept / all);
        for whole in sure..PASSES_MOST {
            let after = detection.miss(f64::from(whole) + 1.0);
            if after <= miss {
                let part = if before > after { (before - miss) / (before - after) } else { 0.0 };
                return (f64::from(whole) + part) as f32;
            }
            before = after;
        }
        f32::from(PASSES_MOST)
    }

    fn miss(&self, particle: usize, bed: Bed) -> f64 {
        let passes = self.passes[particle];
        if passes <= 0.0 { 1.0 } else { self.detection(bed).0.miss(f64::from(passes)) }
    }

    fn is_of(&self, sweep: &Sweep) -> bool {
        self.method == sweep.method && self.firm == sweep.firm && self.rough == sweep.rough
    }

    /// Pools are kept in this order, so that products do not depend on who searched first.
    fn key(&self) -> (Method, [u64; 4]) {
        (self.method, [self.firm.a, self.firm.b, self.rough.a, self.rough.b].map(f64::to_bits))
    }
}

impl Belief {
    /// A belief from a cloud and the shares before any search; particles are put in the order of their cells.
    ///
    /// # Inputs
    /// - `cloud`: `east`, `north`, `rest_s`, `bed` and `prior` of one length; passes and mass are ignored
    /// - `masses`: shares before any search; `bottom` should be the sum of `prior`
    ///
    /// # Gives
    /// The belief, normalised. It knows no sightings, currents or drifters.
    ///
    /// # Source
    /// assumed (a way in for tests and other crates)
    pub fn from_cloud(cloud: Cloud, masses: Masses) -> Self {
        let count = cloud.len();
        Belief::assembled(cloud, masses, (vec![NO_SOURCE; count], vec![Spot::default(); count]), Vec::new())
    }

    pub(super) fn assembled(
        cloud: Cloud,
        masses: Masses,
        (source, current): (Vec<u8>, Vec<Spot>),
        drifters: Vec<Drifter>,
    ) -> Self {
        let grid = index_grid(&cloud.east, &cloud.north);
        let mut sorted = Sorted::default();
        let order = CellOrder::new(grid, [&cloud.east, &cloud.north, &cloud.prior], &mut sorted);
        let (rest_s, bed) = (sorted.arranged(&cloud.rest_s), sorted.arranged(&cloud.bed));
        let (source, current) = (sorted.arranged(&source), sorted.arranged(&current));
        let (east, north) = (sorted.arranged(&cloud.east), sorted.arranged(&cloud.north));
        let prior = sorted.weights().collect();
        let cloud = Cloud { east, north, rest_s, bed, prior, passes: Default::default(), mass: Vec::new() };
        let mut belief = Belief {
            raw: sorted.settled(),
            cloud,
            masses,
            notes: Vec::new(),
            first: masses,
            missed_ashore: 1.0,
            missed_afloat: 1.0,
            order,
            pools: Vec::new(),
            sweeps: Vec::new(),
            source,
            current,
            drifters,
        };
        belief.normalise();
        belief
    }

    /// Takes in a sweep that found nobody.
    ///
    /// Only particles at rest when it began can have been met. A person hidden from touch stays hidden from
    /// every later touch; looking and poling are not hindered by that. The order of sweeps does not matter.
    ///
    /// # Inputs
    /// - `sweep`: what was done; one with nonsense in it covers nothing and is noted
    ///
    /// # Gives
    /// Changed masses that sum to one.
    ///
    /// # Source
    /// Bayes' rule; hidden share and shared detection chance assumed (register, `Detection`)
    pub fn apply(&mut self, sweep: &Sweep) {
        let sound = |d: Detection| d.a.is_finite() && d.b.is_finite() && d.a >= 0.0 && d.b >= 0.0;
        if !sound(sweep.firm) || !sound(sweep.rough) || !sweep.steer_m.is_finite() || sweep.from_s.is_nan() {
            self.notes.push("a sweep with numbers that make no sense was left out".into());
            return;
        }
        self.sweeps.push(*sweep);
        let count = self.cloud.len();
        let at = self.pools.iter().position(|pool| pool.is_of(sweep)).unwrap_or_else(|| {
            let pool = Pool::new(sweep, count);
            let at = self.pools.partition_point(|other| other.key() < pool.key());
            self.pools.insert(at, pool);
            at
        });
        let by_method = &mut self.cloud.passes[sweep.method.index()];
        if by_method.is_empty() {
            by_method.resize(count, 0.0);
        }
        self.walk(sweep, at);
        self.normalise();
    }

    /// Adds the passes of a sweep to the pool `at` and lowers what it covered.
    fn walk(&mut self, sweep: &Sweep, at: usize) {
        let Some(shape) = Outline::new(&sweep.stretch, EDGE_SIGMAS * sweep.steer_m.max(0.0)) else { return };
        let (order, pools) = (&self.order, &mut self.pools);
        let (cloud, raw) = (&mut self.cloud, &mut self.raw);
        let hidden = [Bed::Sand, Bed::Mud, Bed::Weed, Bed::Rock].map(Bed::hidden_share);
        let mut cover_particle = |i: usize, cover: f64| {
            if f64::from(cloud.rest_s[i]) > sweep.from_s {
                return None;
            }
            let cover = (cover * COVER_STEP).round() / COVER_STEP;
            (cover > 0.0).then(|| {
                let bed = cloud.bed[i];
                pools[at].add(i, bed, cover);
                let own = pools.iter().filter(|pool| pool.method == sweep.method);
                cloud.passes[sweep.method.index()][i] = own.map(|pool| pool.passes[i]).sum();
                cloud.prior[i] * miss(pools, i, bed, hidden[bed as usize])
            })
        };
        // Where particles lie is read while the rest of the cloud changes.
        let (east, north) = (&cloud.east, &cloud.north);
        order.walk(&shape, |piece| match piece {
            Piece::Whole(cells) => {
                for i in order.particles(&cells) {
                    if let Some(weight) = cover_particle(i, 1.0) {
                        raw.set_weight(i, weight)
                    }
                }
            }
            Piece::Edge(cells) => {
                for cell in cells {
                    order.sift(&shape, cell, raw, |first, group, sides| {
                        for k in 0..GROUP {
                            let i = first + k;
                            let cover = match (sides.inside[k], sides.open[k]) {
                                (0, 0) => continue,
                                (0, _) => sweep.cover(Spot::new(east[i], north[i])),
                                _ => 1.0,
                            };
                            if let Some(weight) = cover_particle(i, cover) {
                                group.weight[k] = weight
                            }
                        }
                    });
                }
            }
        });
    }

    /// Takes in a check of the shore, gate and changing rooms that found nobody.
    ///
    /// # Inputs
    /// - `detection`: chance that it would have found a person who is there (`shore_check_detection`)
    ///
    /// # Source
    /// Bayes' rule
    pub fn shore_checked(&mut self, detection: f64) {
        self.missed_ashore *= 1.0 - held_share(detection);
        self.normalise();
    }

    /// Takes in a look over the water that saw nobody afloat.
    ///
    /// # Inputs
    /// - `detection`: chance that it would have seen a person afloat (`surface_look_detection`)
    ///
    /// # Source
    /// Bayes' rule
    pub fn surface_looked(&mut self, detection: f64) {
        self.missed_afloat *= 1.0 - held_share(detection);
        self.normalise();
    }

    /// Sweeps taken in so far.
    pub fn sweeps(&self) -> &[Sweep] {
        &self.sweeps
    }

    /// Chance that a particle has been missed by every sweep so far.
    ///
    /// # Source
    /// as [`Belief::apply`]
    pub fn missed(&self, particle: usize) -> f64 {
        let bed = self.cloud.bed[particle];
        miss(&self.pools, particle, bed, bed.hidden_share())
    }

    /// Brings all hypotheses to a sum of one. Elsewhere never falls, since nothing searches there.
    pub(super) fn normalise(&mut self) {
        let bottom = block_sum(self.raw.weights());
        let afloat = self.first.afloat * self.missed_afloat;
        let ashore = self.first.ashore * self.missed_ashore;
        let total = bottom + afloat + ashore + self.first.elsewhere;
        if !total.is_finite() || total <= 0.0 {
            self.notes.push(
                "everything told and searched contradicts itself; the shares are kept as they were".into(),
            );
            return;
        }
        let scale = 1.0 / total;
        self.masses = Masses {
            bottom: bottom * scale,
            afloat: afloat * scale,
            ashore: ashore * scale,
            elsewhere: self.first.elsewhere * scale,
        };
        self.cloud.mass.clear();
        self.cloud.mass.extend(self.raw.weights().map(|raw| raw * scale));
    }

    /// Carries looks and sweeps of another belief over to this one, whose cloud was drawn anew.
    pub(super) fn search_like(&mut self, other: &Belief) {
        self.missed_ashore = other.missed_ashore;
        self.missed_afloat = other.missed_afloat;
        self.notes.extend(other.notes.iter().cloned());
        other.sweeps.iter().for_each(|sweep| self.apply(sweep));
        self.normalise();
    }
}

/// Chance that all pools missed a particle on this bed.
fn miss(pools: &[Pool], particle: usize, bed: Bed, hidden: f64) -> f64 {
    let (mut touch, mut sight) = (1.0, 1.0);
    for pool in pools {
        let miss = pool.miss(particle, bed);
        if pool.method.by_contact() { touch *= miss } else { sight *= miss }
    }
    (hidden + (1.0 - hidden) * touch) * sight
}

fn held_share(share: f64) -> f64 {
    if share.is_nan() { 0.0 } else { share.clamp(0.0, 1.0) }
}

/// Sum by blocks: the same whoever adds, and with less rounding than one long sum.
pub(super) fn block_sum(values: impl Iterator<Item = f64>) -> f64 {
    let mut values = values.peekable();
    let mut sum = 0.0;
    while values.peek().is_some() {
        sum += values.by_ref().take(SUM_BLOCK).sum::<f64>();
    }
    sum
}

/// A grid round the cloud with cells of a power of two and at most four cells a particle.
fn index_grid(east: &[f64], north: &[f64]) -> Grid {
    let ends = |values: &[f64]| {
        let finite = values.iter().copied().filter(|v| v.is_finite());
        finite.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| (low.min(v), high.max(v)))
    };
    let ((west, right), (south, top)) = (ends(east), ends(north));
    if west > right || south > top {
        return Grid { corner: Spot::default(), cell_m: 1.0, cols: 1, rows: 1 };
    }
    let mut cell_m = 1.0;
    let cells = |cell_m: f64| ((right - west) / cell_m + 1.0) * ((top - south) / cell_m + 1.0);
    while cells(cell_m) > 4.0 * east.len().max(256) as f64 {
        cell_m *= 2.0;
    }
    let count = |extent: f64| (extent / cell_m) as usize + 1;
    Grid { corner: Spot::new(west, south), cell_m, cols: count(right - west), rows: count(top - south) }
}
