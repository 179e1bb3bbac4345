//! Improves a draft by small changes: ends stretched, runs added, dropped, swapped, turned, moved to the next lane.
//!
//! Changes that lose a little are kept at first, none at the end; the best draft met is given.

use super::{
    blocks::{Spread, spreads},
    draft::Draft,
    fill::Field,
    lanes::Catalogue,
    price::of_draft,
    problem::Problem,
    trial::{Slot, Trial},
};
use measure::{Spot, Stream, chance::Draws};

/// How far changes stray.
#[derive(Clone, Copy, Debug)]
pub(super) struct Stir {
    /// Changes tried.
    pub trials: u64,
    /// Loss that is accepted at first, as a share of what the plan is worth.
    pub loss: f64,
}

impl Stir {
    /// While there is little time: what is close by and better.
    pub const CALM: Stir = Stir { trials: 2_500, loss: 2e-3 };
    /// Once that is found: far enough to come upon another way of going about it.
    pub const WIDE: Stir = Stir { trials: 5_000, loss: 6e-3 };
}

/// Where good lanes lie, for one line.
#[derive(Clone, Debug)]
struct Lookup {
    /// Lane of each leg.
    lane_of: Vec<u32>,
    /// Sum of first gains up to and with each leg.
    sums: Vec<f64>,
    /// Lanes side by side, and the place of each lane among them.
    order: Vec<u32>,
    rank: Vec<u32>,
}

impl Lookup {
    fn new(catalogue: &Catalogue, gains: &[f64]) -> Self {
        let mut lane_of = vec![0; catalogue.legs.len()];
        for (k, lane) in catalogue.lanes.iter().enumerate() {
            lane_of[lane.first..lane.past].fill(k as u32);
        }
        let mut sum = 0.0;
        // Squared per second: what is dense and quick comes first.
        let sums = gains
            .iter()
            .zip(&catalogue.legs)
            .map(|(gain, leg)| {
                sum += gain.max(0.0) * gain.max(0.0) / leg.seconds.max(1.0);
                sum
            })
            .collect();
        let main = catalogue.lanes.first().map_or(Spot::new(1.0, 0.0), |lane| lane.along);
        let mut order: Vec<u32> = (0..catalogue.lanes.len() as u32).collect();
        let place = |k: u32| {
            let lane = &catalogue.lanes[k as usize];
            (lane.along.dot(main).abs() < 0.7, lane.along.cross(lane.origin))
        };
        order.sort_by(|&a, &b| {
            let (p, q) = (place(a), place(b));
            p.0.cmp(&q.0).then(p.1.total_cmp(&q.1)).then(a.cmp(&b))
        });
        let mut rank = vec![0; order.len()];
        for (k, &lane) in order.iter().enumerate() {
            rank[lane as usize] = k as u32;
        }
        Lookup { lane_of, sums, order, rank }
    }

    fn leg(&self, draws: &mut Draws) -> Option<usize> {
        let total = *self.sums.last()?;
        (total > 0.0).then(|| {
            let pick = draws.u01() * total;
            self.sums.partition_point(|&s| s <= pick).min(self.sums.len() - 1)
        })
    }
}

/// Changes plans of one split at random.
pub(super) struct Improver<'a> {
    problem: &'a Problem<'a>,
    field: &'a Field<'a>,
    lookups: Vec<Lookup>,
    spreads: Vec<Spread>,
}

impl<'a> Improver<'a> {
    /// Prepares the lanes of a split.
    pub fn new(problem: &'a Problem<'a>, field: &'a Field<'a>) -> Self {
        let lookups = field.catalogues.iter().zip(&field.gains).map(|(c, g)| Lookup::new(c, g)).collect();
        Improver { problem, field, lookups, spreads: spreads(problem, field) }
    }

    /// The best draft met in so many trials from `start`; `start` itself if none is worth more.
    pub fn improve(&self, start: &Draft, stir: Stir, stream: Stream) -> Draft {
        let mut trial = Trial::new(self.problem, self.field, &self.spreads);
        let Some(best) = self.anneal(start, stir, (&mut trial, stream)) else { return start.clone() };
        let Some(runs) = trial.placed(&best) else { return start.clone() };
        let price = of_draft(self.problem, self.field, &runs);
        let found = Draft { price, runs, value: 0.0 }.on_cells(self.problem, self.field);
        if found.worth() > start.worth() { found } else { start.clone() }
    }

    /// Plans that so many trials from `start` value whole; the others are refused by a rule before.
    pub fn valued(&self, start: &Draft, trials: u64, stream: Stream) -> u64 {
        let mut trial = Trial::new(self.problem, self.field, &self.spreads);
        self.anneal(start, Stir { trials, ..Stir::CALM }, (&mut trial, stream));
        trial.valued()
    }

    /// The best plan met in so many trials from `start`; `None` if a rule forbids `start`.
    fn anneal(&self, start: &Draft, stir: Stir, by: (&mut Trial, Stream)) -> Option<Vec<Vec<Slot>>> {
        let (trial, stream) = by;
        let mut now = vec![Vec::new(); self.field.lines.len()];
        for run in &start.runs {
            now[run.line].push(Slot::of(run));
        }
        let mut draws = stream.draws();
        let mut worth = trial.worth(&now)?;
        let (mut best, mut most, mut next) = (now.clone(), worth, now.clone());
        let loss = stir.loss * worth;
        for k in 0..stir.trials {
            next.clone_from(&now);
            if self.change(&mut next, trial, &mut draws).is_none() {
                continue;
            }
            let Some(found) = trial.worth(&next) else { continue };
            let heat = loss * (1.0 - k as f64 / stir.trials as f64);
            if found >= worth || found > worth + heat * libm::log(draws.u01().max(1e-300)) {
                std::mem::swap(&mut now, &mut next);
                worth = found;
                if worth > most {
                    most = worth;
                    best.clone_from(&now);
                }
            }
        }
        Some(best)
    }

    /// Makes one change; `None` if it comes to nothing.
    fn change(&self, slots: &mut [Vec<Slot>], trial: &Trial, draws: &mut Draws) -> Option<()> {
        let line = draws.index(slots.len().max(1));
        let count = slots.get(line)?.len();
        let kind = draws.index(100);
        if (30..45).contains(&kind) || count == 0 {
            let slot = self.fresh(line, trial, draws)?;
            slots[line].insert(draws.index(count + 1), slot);
            return Some(());
        }
        let at = draws.index(count);
        match kind {
            0..30 => slots[line][at] = self.stretched(line, slots[line][at], draws)?,
            45..55 => {
                slots[line].remove(at);
            }
            55..65 => slots[line][at] = self.fresh(line, trial, draws)?,
            65..75 => slots[line].swap(at, draws.index(count)),
            75..85 => slots[line][at] = self.beside(line, slots[line][at], draws)?,
            85..92 => {
                let slot = slots[line].remove(at);
                let to = draws.index(count);
                slots[line].insert(to, slot);
            }
            92..96 => slots[line][at] = self.turned(line, slots[line][at])?,
            96..98 => self.hand_over(slots, (line, at), draws)?,
            _ => self.split(slots, (line, at), draws)?,
        }
        Some(())
    }

    /// A run of a lane that holds a leg drawn by what it finds.
    fn fresh(&self, line: usize, trial: &Trial, draws: &mut Draws) -> Option<Slot> {
        let leg = self.lookups[line].leg(draws)?;
        let index = self.lookups[line].lane_of[leg] as usize;
        let lane = &self.field.catalogues[line].lanes[index];
        let most = trial.longest(line).min(lane.past - lane.first);
        let count = 1 + draws.index(most);
        let count = count.max(most.min(2));
        let low = leg.saturating_sub(draws.index(count)).clamp(lane.first, lane.past - count);
        let forth = lane.forth && (!lane.back || draws.u01() < 0.5);
        let high = low + count - 1;
        Some(Slot { lane: index, legs: if forth { (low, high) } else { (high, low) }, forth })
    }

    /// One end, or both, moved along the lane by a leg or two.
    fn stretched(&self, line: usize, slot: Slot, draws: &mut Draws) -> Option<Slot> {
        let lane = &self.field.catalogues[line].lanes[slot.lane];
        let (mut low, mut high) = (slot.legs.0.min(slot.legs.1) as i64, slot.legs.0.max(slot.legs.1) as i64);
        let step = [-2, -1, 1, 2][draws.index(4)];
        match draws.index(3) {
            0 => low += step,
            1 => high += step,
            _ => (low, high) = (low + step, high + step),
        }
        let whole = (lane.past - lane.first).min(2) as i64;
        let fits = low >= lane.first as i64 && high < lane.past as i64 && high - low + 1 >= whole;
        fits.then(|| {
            let (low, high) = (low as usize, high as usize);
            Slot { legs: if slot.forth { (low, high) } else { (high, low) }, ..slot }
        })
    }

    /// The same stretch on a lane up to four places aside.
    fn beside(&self, line: usize, slot: Slot, draws: &mut Draws) -> Option<Slot> {
        let (lookup, catalogue) = (&self.lookups[line], self.field.catalogues[line]);
        let step = [-4_i64, -3, -2, -1, 1, 2, 3, 4][draws.index(8)];
        let place = i64::from(lookup.rank[slot.lane]) + step;
        let index = *lookup.order.get(usize::try_from(place).ok()?)? as usize;
        let (old, lane) = (&catalogue.lanes[slot.lane], &catalogue.lanes[index]);
        let forth = slot.forth == (old.along.dot(lane.along) >= 0.0);
        if old.along.dot(lane.along).abs() < 0.7 || !(if forth { lane.forth } else { lane.back }) {
            return None;
        }
        let (low, high) = (slot.legs.0.min(slot.legs.1), slot.legs.0.max(slot.legs.1));
        let near = |leg: usize| {
            let leg = &catalogue.legs[leg];
            let u = (old.origin + old.along * (0.5 * (leg.from_m + leg.to_m)) - lane.origin).dot(lane.along);
            let at = catalogue.legs[lane.first..lane.past].partition_point(|l| l.to_m < u);
            lane.first + at.min(lane.past - lane.first - 1)
        };
        let (a, b) = (near(low), near(high));
        let (low, high) = (a.min(b), a.max(b));
        let short = high - low + 1 < (lane.past - lane.first).min(2);
        (!short).then_some(Slot { lane: index, legs: if forth { (low, high) } else { (high, low) }, forth })
    }

    fn turned(&self, line: usize, slot: Slot) -> Option<Slot> {
        let lane = &self.field.catalogues[line].lanes[slot.lane];
        (if slot.forth { lane.back } else { lane.forth }).then(|| slot.turned())
    }

    /// Gives a run to another line of the same shape.
    fn hand_over(&self, slots: &mut [Vec<Slot>], from: (usize, usize), draws: &mut Draws) -> Option<()> {
        let to = draws.index(slots.len());
        let same = self.field.catalogues[to].shape == self.field.catalogues[from.0].shape;
        if to == from.0 || !same {
            return None;
        }
        let slot = slots[from.0].remove(from.1);
        let at = draws.index(slots[to].len() + 1);
        slots[to].insert(at, slot);
        Some(())
    }

    /// Cuts a run in two, the second half to be searched at once or later.
    fn split(&self, slots: &mut [Vec<Slot>], at: (usize, usize), draws: &mut Draws) -> Option<()> {
        let slot = slots[at.0][at.1];
        let count = slot.count();
        if count < 4 {
            return None;
        }
        let head = 2 + draws.index(count - 3);
        let (a, b) = slot.legs;
        let leg = |k: usize| if b >= a { a + k } else { a - k };
        slots[at.0][at.1] = Slot { legs: (a, leg(head - 1)), ..slot };
        let later = at.1 + 1 + draws.index(slots[at.0].len() - at.1);
        slots[at.0].insert(later, Slot { legs: (leg(head), b), ..slot });
        Some(())
    }
}
