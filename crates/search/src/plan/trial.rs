//! Fast trial of a whole plan: timed by the rules of a fill, walked over blocks of cells once, some microseconds each.
//!
//! Never: decides anything; what a trial says is evaluated again exactly before it is kept.

use super::{
    blocks::Spread,
    cells::{MissTable, Stray},
    draft::Placed,
    fill::{Field, LEAST_GAIN, LEGS_MOST, leg_place, strips_meet},
    lanes::{Catalogue, Lane},
    problem::Problem,
    start::Start,
};
use crate::Method;
use measure::Spot;

/// A run as a trial knows it: a lane, its first and last leg in the order they are searched, and the way.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Slot {
    pub lane: usize,
    pub legs: (usize, usize),
    pub forth: bool,
}

impl Slot {
    /// The run of a draft.
    pub fn of(run: &Placed) -> Self {
        Slot { lane: run.lane, legs: run.legs, forth: run.forth }
    }

    /// Number of legs.
    pub fn count(&self) -> usize {
        self.legs.0.abs_diff(self.legs.1) + 1
    }

    /// The same stretch, gone the other way.
    pub fn turned(&self) -> Self {
        Slot { legs: (self.legs.1, self.legs.0), forth: !self.forth, ..*self }
    }

    /// Middle line of the strip.
    fn ends(&self, catalogue: &Catalogue) -> (Spot, Spot) {
        let lane = &catalogue.lanes[self.lane];
        let (low, high) = (self.legs.0.min(self.legs.1), self.legs.0.max(self.legs.1));
        (
            lane.origin + lane.along * catalogue.legs[low].from_m,
            lane.origin + lane.along * catalogue.legs[high].to_m,
        )
    }
}

/// A slot with its times.
#[derive(Clone, Copy, Debug)]
struct Timed {
    strip: (Spot, Spot, f64),
    from_s: f64,
    to_s: f64,
    after: Stand,
}

/// Where a line is between two of its slots.
#[derive(Clone, Copy, Debug)]
struct Stand {
    free_s: f64,
    rested_s: f64,
    dives: usize,
    entered_s: Option<f64>,
    here: Option<Spot>,
    /// The way it went last.
    way: Option<Spot>,
    /// Price of its orders so far.
    price: f64,
    /// Number of its legs so far.
    legs: usize,
}

/// The slots of one line as they were timed last: what a change leaves as it was is not timed again.
#[derive(Clone, Debug, Default)]
struct Course {
    slots: Vec<Slot>,
    runs: Vec<Timed>,
    events: Vec<Event>,
}

impl Stand {
    /// Before the first slot.
    fn of(start: &Start) -> Self {
        Stand {
            free_s: start.free_s,
            rested_s: start.rested_s,
            dives: start.dives,
            entered_s: start.entered_s,
            here: start.at,
            way: None,
            price: 0.0,
            legs: 0,
        }
    }
}

impl Course {
    /// Forgets all but the first slots that are those of `slots`.
    fn keep(&mut self, slots: &[Slot]) {
        let same = self.slots.iter().zip(slots).take_while(|(a, b)| a == b).count();
        self.slots.truncate(same);
        self.runs.truncate(same);
        self.events.truncate(self.runs.last().map_or(0, |run| run.after.legs));
    }
}

/// One block of cells, in half a line of the processor's memory.
#[derive(Clone, Copy, Debug)]
#[repr(C)]
struct Cell {
    /// Number of the trial that touched it last.
    trial: u32,
    /// What passed over it last, wading or diving.
    stray: Stray,
    /// Rough bottom.
    bed: u16,
    /// Mass in reach of contact over the misses of wading and diving, times the chance that everything else missed it.
    open: f32,
    miss: [f32; 2],
    /// What a whole strip more takes from the miss; the one that passes last, of its own way.
    drop: [f32; 2],
    /// Keeps the size a power of two.
    spare: u32,
}

/// What only lookers and poles need to know of a cell.
#[derive(Clone, Copy, Debug)]
struct Aside {
    trial: u32,
    /// Mass out of reach of contact.
    hidden: f32,
    /// Chance that every look and pole missed it.
    other: f32,
    /// What looked over it last.
    stray: Stray,
    /// Chance that every look missed, and what a whole look more takes from that.
    looked: f32,
    drop: f32,
}

impl Aside {
    /// One look over a share of it; gives the share of what it can find there that is missed again.
    fn look(&mut self, stray: Stray, share: f32, fall: &Fall) -> f32 {
        if self.stray != stray {
            (self.stray, self.drop) = (stray, fall.drop(self.looked));
        }
        let before = self.looked;
        self.looked -= share * self.drop;
        if before > 0.0 { self.looked / before } else { 1.0 }
    }
}

/// Place of looking among the ways.
const LOOK: usize = 2;
/// Whole passes told apart: the most of a table of misses.
const KNOTS: usize = 24;

/// What a whole pass more takes from a miss: between the misses of whole passes a straight line of the miss.
#[derive(Clone, Debug)]
struct Fall {
    /// Miss after each whole number of passes.
    miss: [f32; KNOTS],
    /// Height at no miss, and slope, from each to the next.
    lines: [(f32, f32); KNOTS],
}

impl Fall {
    fn new(table: &MissTable) -> Self {
        let miss = |k: usize| table.at(k as f64);
        let lines = std::array::from_fn(|k| {
            let step = miss(k) - miss(k + 1);
            let slope = if step > 0.0 { 1.0 - (miss(k + 1) - miss(k + 2)) / step } else { 0.0 };
            ((step - slope * miss(k)) as f32, slope as f32)
        });
        Fall { miss: std::array::from_fn(|k| miss(k) as f32), lines }
    }

    #[inline]
    fn drop(&self, miss: f32) -> f32 {
        // Few places are passed over more than four times: those without a branch.
        let mut whole: usize = (1..5).map(|k| usize::from(miss < self.miss[k])).sum();
        if whole == 4 {
            while whole + 1 < KNOTS && miss < self.miss[whole + 1] {
                whole += 1;
            }
        }
        let (height, slope) = self.lines[whole];
        (height + slope * miss).max(0.0)
    }
}

/// A leg at the moment it ends.
#[derive(Clone, Copy, Debug)]
struct Event {
    at_s: f64,
    run: usize,
    leg: usize,
}

/// Everything a trial needs, kept between trials.
#[derive(Clone, Debug)]
pub(super) struct Trial<'a> {
    problem: &'a Problem<'a>,
    field: &'a Field<'a>,
    spreads: &'a [Spread],
    base: Vec<Cell>,
    base_aside: Vec<Aside>,
    cells: Vec<Cell>,
    aside: Vec<Aside>,
    /// Of wading, diving and looking, on firm and on rough bottom.
    falls: [[Fall; 2]; 3],
    number: u32,
    valued: u64,
    courses: Vec<Course>,
    gains: Vec<(f64, f64)>,
}

impl<'a> Trial<'a> {
    /// Lays out the blocks of a problem for one split.
    pub fn new(problem: &'a Problem<'a>, field: &'a Field<'a>, spreads: &'a [Spread]) -> Self {
        let blocks = &problem.blocks.all;
        let table = |m: Method, rough: bool| &problem.tables[m.index()][usize::from(rough)];
        let falls = |m: Method| [false, true].map(|rough| Fall::new(table(m, rough)));
        let falls = [Method::Wade, Method::Dive, Method::Look].map(falls);
        let base = (0..blocks.len())
            .map(|block| {
                let rough = blocks.rough[block];
                let missed = |m: Method| table(m, rough).at(blocks.passes[block][m.index()]) as f32;
                let miss = [Method::Wade, Method::Dive].map(missed);
                let drop = [0, 1].map(|way: usize| falls[way][usize::from(rough)].drop(miss[way]));
                let both = f64::from(miss[0]) * f64::from(miss[1]);
                let reach = blocks.mass[block] * (1.0 - blocks.hidden[block]);
                let open = if both > 1e-9 { reach / both } else { 0.0 };
                Cell {
                    trial: 0,
                    stray: Stray::NONE,
                    bed: u16::from(rough),
                    open: open as f32,
                    miss,
                    drop,
                    spare: 0,
                }
            })
            .collect::<Vec<Cell>>();
        let base_aside = (0..blocks.len())
            .map(|block| {
                let way = Method::Look;
                let looked = table(way, blocks.rough[block]).at(blocks.passes[block][way.index()]) as f32;
                let hidden = (blocks.mass[block] * blocks.hidden[block]) as f32;
                Aside { trial: 0, hidden, other: 1.0, stray: Stray::NONE, looked, drop: 0.0 }
            })
            .collect::<Vec<Aside>>();
        Trial {
            problem,
            field,
            spreads,
            cells: base.clone(),
            aside: base_aside.clone(),
            base,
            base_aside,
            falls,
            number: 0,
            valued: 0,
            courses: vec![Course::default(); field.lines.len()],
            gains: Vec::new(),
        }
    }

    /// What a plan is worth; `None` if a rule of the fill forbids it. Runs too poor for an order count nothing.
    pub fn worth(&mut self, slots: &[Vec<Slot>]) -> Option<f64> {
        for (line, own) in slots.iter().enumerate() {
            self.schedule(line, own)?;
        }
        if self.clash() {
            return None;
        }
        let prices = self.courses.iter().filter_map(|course| course.runs.last()).map(|run| run.after.price);
        let price: f64 = prices.sum();
        Some(self.walk() - price)
    }

    /// Times one line's slots; `None` past a limit.
    fn schedule(&mut self, line: usize, slots: &[Slot]) -> Option<()> {
        let mut course = std::mem::take(&mut self.courses[line]);
        course.keep(slots);
        let timed =
            slots[course.slots.len()..].iter().try_for_each(|slot| self.time(line, &mut course, *slot));
        self.courses[line] = course;
        timed
    }

    /// Times one more slot of a line.
    fn time(&self, line: usize, course: &mut Course, slot: Slot) -> Option<()> {
        let (problem, field) = (self.problem, self.field);
        let (rules, catalogue) = (&problem.rules, field.catalogues[line]);
        let (method, width_m) = (catalogue.shape.method, catalogue.shape.width_m());
        let start = &field.starts[line];
        let mut stand = course.runs.last().map_or_else(|| Stand::of(start), |run| run.after);
        let lane = &catalogue.lanes[slot.lane];
        let begin = leg_place(lane, &catalogue.legs[slot.legs.0], slot.forth);
        let (from_s, open) = match stand.here {
            Some(here) => {
                let moved = here.distance(begin) / problem.transit_mps(method);
                let from_s = stand.free_s + rules.order_s + problem.pivot_s(width_m) + moved;
                (from_s, problem.may_pass(here, begin))
            }
            None => self.formed(line, begin),
        };
        let from_s = from_s.max(stand.rested_s);
        let entered_s = stand.entered_s.unwrap_or(from_s);
        let limit_s = (entered_s + rules.turn_limit_s).min(problem.end_s);
        let (dive, most) = (method == Method::Dive, rules.dives_most());
        if !open || from_s >= limit_s || (dive && stand.dives + slot.count() > most) {
            return None;
        }
        let said = stand.way.is_some() || field.lines[line].busy.is_some();
        let way = if slot.forth { lane.along } else { lane.along * -1.0 };
        if said {
            stand.price += problem.prices.of((stand.way, way)) * problem.weight.at(stand.free_s);
        }
        let mut end_s = from_s;
        let (a, b) = slot.legs;
        for k in 0..slot.count() {
            let leg = if b >= a { a + k } else { a - k };
            if dive {
                if k > 0 {
                    end_s += rules.pause_s[stand.dives];
                }
                stand.dives += 1;
            }
            end_s += catalogue.legs[leg].seconds;
            course.events.push(Event { at_s: end_s, run: course.runs.len(), leg });
        }
        if end_s > limit_s {
            return None;
        }
        (stand.free_s, stand.rested_s) = (end_s, end_s);
        if dive {
            stand.rested_s += rules.pause_s[stand.dives];
            stand.dives %= most;
        }
        stand.here = Some(leg_place(lane, &catalogue.legs[b], !slot.forth));
        (stand.entered_s, stand.way) = (Some(entered_s), Some(way));
        stand.legs = course.events.len();
        let (from, to) = slot.ends(catalogue);
        course.runs.push(Timed { strip: (from, to, width_m), from_s, to_s: end_s, after: stand });
        course.slots.push(slot);
        Some(())
    }

    /// When a line that has not been in the water can begin at `begin`, and whether everybody can get there.
    fn formed(&self, line: usize, begin: Spot) -> (f64, bool) {
        let (problem, ready) = (self.problem, &self.field.ready[line]);
        let (rules, now_s) = (&problem.rules, problem.request.now_s);
        let gathered = ready
            .iter()
            .map(|p| p.from_s + rules.reaction_s + p.at.distance(begin) / rules.gather_mps)
            .fold(now_s, f64::max);
        let open = ready.iter().all(|p| problem.may_pass(p.at, begin));
        ((now_s + rules.form_s).max(gathered + rules.order_s), open)
    }

    /// Whether two lines, or a line and a piece, would work too close at one time.
    fn clash(&self) -> bool {
        let apart = self.problem.rules.apart_m;
        let meanwhile = |a: &Timed, from_s: f64, to_s: f64| from_s < a.to_s + 1.0 && a.from_s < to_s + 1.0;
        let meet =
            |a: &Timed, b: &Timed| meanwhile(a, b.from_s, b.to_s) && strips_meet(a.strip, b.strip, apart);
        self.courses.iter().enumerate().any(|(line, course)| {
            course.runs.iter().any(|a| {
                self.courses[..line].iter().flat_map(|other| &other.runs).any(|b| meet(a, b))
                    || (self.field.pieces.iter())
                        .any(|p| meanwhile(a, p.from_s, p.to_s) && strips_meet(a.strip, p.outline(), apart))
            })
        })
    }

    /// Walks pieces and legs in the order they end; gives the weighted mass found.
    fn walk(&mut self) -> f64 {
        self.valued += 1;
        self.number = self.number.wrapping_add(1);
        if self.number == 0 {
            // Marks of four thousand million trials ago must not be taken for ours.
            self.cells.clone_from(&self.base);
            self.aside.clone_from(&self.base_aside);
            self.number = 1;
        }
        let (mut next, mut base, mut runs) = ([0_usize; 16], [0_usize; 16], 0);
        let lines = self.courses.len().min(16);
        for line in 0..lines {
            base[line] = runs;
            runs += self.courses[line].runs.len();
        }
        self.gains.clear();
        self.gains.resize(runs, (0.0, 0.0));
        let (mut piece, mut worth) = (0, 0.0);
        loop {
            let mut first: Option<(f64, usize)> = None;
            for (line, &at) in next[..lines].iter().enumerate() {
                if let Some(event) = self.courses[line].events.get(at)
                    && first.is_none_or(|(at_s, _)| event.at_s < at_s)
                {
                    first = Some((event.at_s, line));
                }
            }
            if piece < self.spreads.len() && first.is_none_or(|(at_s, _)| self.spreads[piece].0 <= at_s) {
                worth += self.problem.weight.at(self.spreads[piece].0) * self.piece(piece);
                piece += 1;
                continue;
            }
            let Some((at_s, line)) = first else { break };
            let event = self.courses[line].events[next[line]];
            next[line] += 1;
            let run = base[line] + event.run;
            let gain = self.leg(line, event.leg, run);
            let row = &mut self.gains[run];
            row.0 += gain;
            row.1 += gain * self.problem.weight.at(at_s);
        }
        let least = LEAST_GAIN * self.problem.cells.total;
        worth + self.gains.iter().filter(|g| g.0 >= least).map(|g| g.1).sum::<f64>()
    }

    fn leg(&mut self, line: usize, leg: usize, run: usize) -> f64 {
        let catalogue = self.field.catalogues[line];
        let (rows, method) = (catalogue.blocks_of(leg), catalogue.shape.method);
        let stray = Stray::of(Stray::DRAFT + run, leg, method);
        f64::from(match method {
            Method::Wade => self.touch_all::<0>(stray, rows),
            Method::Dive => self.touch_all::<1>(stray, rows),
            _ => {
                let mut found = 0.0_f32;
                for &(cell, share) in rows {
                    self.refresh(cell);
                    let fall = &self.falls[LOOK][usize::from(self.cells[cell as usize].bed)];
                    let kept = self.aside[cell as usize].look(stray, share, fall);
                    found += self.other(true, cell, kept);
                }
                found
            }
        })
    }

    fn piece(&mut self, piece: usize) -> f64 {
        let mut found = 0.0_f32;
        let (_, stray, ref rows) = self.spreads[piece];
        for &(cell, share, kept) in rows {
            found += match stray.method() {
                Method::Wade => self.touch::<0>(stray, cell, share),
                Method::Dive => self.touch::<1>(stray, cell, share),
                _ => {
                    self.refresh(cell);
                    self.other(!stray.method().by_contact(), cell, kept)
                }
            };
        }
        f64::from(found)
    }

    /// One pass of a strip over a share of a cell, wading (0) or diving (1). No strip covers more than all of it.
    #[inline(always)]
    fn touch<const WAY: usize>(&mut self, stray: Stray, cell: u32, share: f32) -> f32 {
        let spot = &mut self.cells[cell as usize];
        if spot.trial != self.number {
            *spot = Cell { trial: self.number, stray, ..self.base[cell as usize] };
        } else if spot.stray != stray {
            spot.stray = stray;
            spot.drop[WAY] = self.falls[WAY][usize::from(spot.bed)].drop(spot.miss[WAY]);
        }
        let take = share * spot.drop[WAY];
        spot.miss[WAY] -= take;
        spot.open * spot.miss[1 - WAY] * take
    }

    /// One leg over all its cells.
    fn touch_all<const WAY: usize>(&mut self, stray: Stray, rows: &[(u32, f32)]) -> f32 {
        // Two sums side by side: no block is met twice in one leg, and neither sum waits for the other.
        let mut sums = [0.0_f32; 2];
        let mut pairs = rows.chunks_exact(2);
        for pair in &mut pairs {
            sums[0] += self.touch::<WAY>(stray, pair[0].0, pair[0].1);
            sums[1] += self.touch::<WAY>(stray, pair[1].0, pair[1].1);
        }
        let rest = pairs.remainder().iter().map(|&(cell, share)| self.touch::<WAY>(stray, cell, share));
        sums[0] + sums[1] + rest.sum::<f32>()
    }

    fn refresh(&mut self, cell: u32) {
        let at = cell as usize;
        if self.cells[at].trial != self.number {
            self.cells[at] = Cell { trial: self.number, ..self.base[at] };
        }
        if self.aside[at].trial != self.number {
            self.aside[at] = Aside { trial: self.number, ..self.base_aside[at] };
        }
    }

    /// Anything else that misses a share `kept`; `through` finds what contact cannot.
    fn other(&mut self, through: bool, cell: u32, kept: f32) -> f32 {
        let (spot, aside) = (&mut self.cells[cell as usize], &mut self.aside[cell as usize]);
        let mut within = spot.open * spot.miss[0] * spot.miss[1];
        spot.open *= kept;
        if through {
            within += aside.hidden * aside.other;
            aside.other *= kept;
        }
        within * (1.0 - kept)
    }

    /// The runs of slots that a trial allows, in the order they begin.
    pub fn placed(&mut self, slots: &[Vec<Slot>]) -> Option<Vec<Placed>> {
        let mut runs = Vec::new();
        for (line, own) in slots.iter().enumerate() {
            self.schedule(line, own)?;
            let course = &self.courses[line];
            let catalogue = self.field.catalogues[line];
            let mut leaves_s = self.field.starts[line].free_s;
            for (k, slot) in own.iter().enumerate() {
                let timed = course.runs[k];
                let lane: &Lane = &catalogue.lanes[slot.lane];
                let ends = course.events.iter().filter(|e| e.run == k);
                runs.push(Placed {
                    line,
                    lane: slot.lane,
                    legs: slot.legs,
                    forth: slot.forth,
                    leaves_s,
                    from_s: timed.from_s,
                    to_s: timed.to_s,
                    times: ends.map(|e| (e.at_s - catalogue.legs[e.leg].seconds, e.at_s)).collect(),
                    from: leg_place(lane, &catalogue.legs[slot.legs.0], slot.forth),
                    to: leg_place(lane, &catalogue.legs[slot.legs.1], !slot.forth),
                });
                leaves_s = timed.to_s;
            }
        }
        let poor = self.poor(slots);
        let mut kept = Vec::new();
        for (run, poor) in runs.into_iter().zip(poor) {
            if !poor {
                kept.push(run);
            }
        }
        kept.sort_by(|a, b| a.from_s.total_cmp(&b.from_s).then(a.line.cmp(&b.line)));
        Some(kept)
    }

    /// Which trailing runs of each line find too little for an order: a line holds instead.
    fn poor(&mut self, slots: &[Vec<Slot>]) -> Vec<bool> {
        self.walk();
        let least = LEAST_GAIN * self.problem.cells.total;
        let mut poor: Vec<bool> = self.gains.iter().map(|g| g.0 < least).collect();
        let mut past = 0;
        for own in slots {
            let first = past;
            past += own.len();
            // One that others follow stays: their times hang on it.
            let last = (first..past).rev().find(|&k| !poor[k]).map_or(first, |k| k + 1);
            poor[first..last].fill(false);
        }
        poor
    }

    /// Plans valued whole so far.
    pub fn valued(&self) -> u64 {
        self.valued
    }

    /// Longest run of a lane that starts fresh \[legs\].
    pub fn longest(&self, line: usize) -> usize {
        if self.field.catalogues[line].shape.method == Method::Dive {
            self.problem.rules.dives_most().min(LEGS_MOST)
        } else {
            LEGS_MOST
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Detection;

    #[test]
    fn what_a_pass_more_takes_is_told_by_what_is_missed() {
        for chance in [0.0, 0.3, 0.7, 0.9] {
            let table = MissTable::new(Detection::undrilled(chance));
            let fall = Fall::new(&table);
            for k in 0..2_200_u16 {
                let passes = f64::from(k) * 0.01;
                let (ours, exact) =
                    (fall.drop(table.at(passes) as f32), table.at(passes) - table.at(passes + 1.0));
                assert!((f64::from(ours) - exact).abs() < 1e-6, "{chance}, {passes}: {ours} {exact}");
                let back = table.passes(table.at(passes), 0.0);
                assert!(chance == 0.0 || (back - passes).abs() < 1e-6, "{passes} {back}");
            }
        }
    }
}
