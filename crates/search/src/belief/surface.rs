//! Who saw what, taken together: where trouble began, when they went under, how long they were carried (models B2, B3).
//!
//! Each particle first draws which sightings are right. The sharpest right one gives the place, the others
//! weigh it through a bounded random walk; wrong ones say nothing. A particle for which none is right lies
//! among the bathers as far as the sightings speak of a bather, else anywhere in the water.

use super::basin::{Basin, Bottom};
use super::witness::{CellTable, DRAW_COUNTERS, Testimony};
use crate::alarm::{Alarm, AlarmKind, WitnessClass};
use measure::chance::{Seed, Stream};
use measure::{Bearing, Spot, fastmath, parameters::value};
use rayon::prelude::*;

/// Particles computed together; blocks are merged in order, so threads do not matter.
pub const BLOCK: usize = 4096;

/// Sightings used at most; the sharpest are kept.
const MOST_SIGHTINGS: usize = 12;

/// Places of each sighting that are tried for how far it speaks of a bather.
const BATHED_DRAWS: u64 = 64;

/// Marks a particle that rests on no sighting.
pub const NO_SOURCE: u8 = u8::MAX;

/// Where and when trouble began, one entry a particle.
#[derive(Clone, Debug, Default)]
pub struct Starts {
    /// Place where they were last under their own power.
    pub spot: Vec<Spot>,
    /// Moment of going under \[s since the alarm\].
    pub under_s: Vec<f64>,
    /// How long the water carried them before that \[s\].
    pub carried_s: Vec<f64>,
    /// The sighting that placed them, or [`NO_SOURCE`].
    pub source: Vec<u8>,
    /// Weight.
    pub weight: Vec<f64>,
}

#[derive(Clone, Copy)]
struct Start {
    spot: Spot,
    under_s: f64,
    carried_s: f64,
    source: u8,
    weight: f64,
}

impl Starts {
    fn push(&mut self, start: Start) {
        self.spot.push(start.spot);
        self.under_s.push(start.under_s);
        self.carried_s.push(start.carried_s);
        self.source.push(start.source);
        self.weight.push(start.weight);
    }

    fn extend(&mut self, other: &Starts) {
        self.spot.extend_from_slice(&other.spot);
        self.under_s.extend_from_slice(&other.under_s);
        self.carried_s.extend_from_slice(&other.carried_s);
        self.source.extend_from_slice(&other.source);
        self.weight.extend_from_slice(&other.weight);
    }

    /// Effective number of particles: (Σw)² / Σw².
    pub fn effective(&self) -> f64 {
        let sum: f64 = self.weight.iter().sum();
        let square: f64 = self.weight.iter().map(|w| w * w).sum();
        if square > 0.0 { sum * sum / square } else { 0.0 }
    }

    /// `count` particles of equal weight in place of these: systematic resampling with one uniform.
    fn resampled(&self, count: usize, u: f64) -> Starts {
        let total: f64 = self.weight.iter().sum();
        let step = total / count as f64;
        let mut drawn = Starts::default();
        let (mut at, mut sum) = (0, self.weight[0]);
        for k in 0..count {
            let target = (k as f64 + u) * step;
            while sum <= target && at + 1 < self.weight.len() {
                at += 1;
                sum += self.weight[at];
            }
            let (spot, under_s, carried_s) = (self.spot[at], self.under_s[at], self.carried_s[at]);
            drawn.push(Start { spot, under_s, carried_s, source: self.source[at], weight: 1.0 });
        }
        drawn
    }
}

/// One sighting, ready to be used.
struct Witness {
    /// Index in the alarm.
    index: u8,
    testimony: Testimony,
    /// The same as it is drawn from when it places a particle.
    anchor: Testimony,
    spread_m2: f64,
    reliability: f64,
    exponent: f64,
    heading: Option<Bearing>,
    from_s: f64,
    to_s: f64,
    went_under: bool,
}

/// Everything drawn from.
struct Evidence<'a> {
    basin: &'a Basin,
    kind: AlarmKind,
    witnesses: Vec<Witness>,
    talked: bool,
    /// All the water.
    anywhere: CellTable,
    /// The bathing areas.
    bathing: CellTable,
    /// Chance that who is not where anybody says is in a bathing area.
    bathed: f64,
    /// Depth from which a non-swimmer is in trouble \[m\], and how much that counts.
    chin_m: f64,
    chin_share: f64,
    rules: Rules,
}

/// Register values, looked up once.
struct Rules {
    at_once: f64,
    struggle: f64,
    struggle_s: (f64, f64),
    late: f64,
    late_window_s: f64,
    unseen_window_s: f64,
    wander_mps: f64,
    wander_bound_m: f64,
    heading_mps: f64,
    heading_turns: f64,
    heading_lasts_s: f64,
    talked: f64,
    chin_spread_m: f64,
    shallow_floor: f64,
}

impl Rules {
    fn of_register() -> Self {
        Rules {
            at_once: value("struggle_at_once_share"),
            struggle: value("struggle_share"),
            struggle_s: (value("struggle_low_s"), value("struggle_high_s")),
            late: value("late_share"),
            late_window_s: value("late_window_s"),
            unseen_window_s: value("unseen_window_s"),
            wander_mps: value("wander_mps"),
            wander_bound_m: value("wander_bound_m"),
            heading_mps: value("heading_mps"),
            heading_turns: value("heading_sigma_deg") / 360.0,
            heading_lasts_s: value("heading_lasts_s"),
            talked: value("talked_exponent"),
            chin_spread_m: value("chin_spread_m"),
            shallow_floor: value("shallow_floor"),
        }
    }
}

/// Where and when trouble began, drawn from everything told.
///
/// # Inputs
/// - `basin`: today's water, not empty · `bathing`: cells of the bathing areas · `alarm` · `seed` · `count`
///
/// # Gives
/// `count` starts with weights; drawn anew in up to four batches while the effective number is below
/// `effective_floor` (or a tenth of `count`, if that is less), then resampled to equal weights.
///
/// # Source
/// Bayes' rule by importance sampling; mixture and walk assumed (register)
pub fn starts(
    (basin, bathing): (&Basin, &[u32]),
    alarm: &Alarm,
    seed: Seed,
    count: usize,
    notes: &mut Vec<String>,
) -> Starts {
    let evidence = Evidence::new(basin, bathing, alarm, notes);
    let floor = value("effective_floor").min(0.1 * count as f64);
    let mut all = Starts::default();
    for batch in 0..4 {
        all.extend(&evidence.batch(seed, batch * count, count));
        if all.effective() >= floor {
            break;
        }
    }
    let total: f64 = all.weight.iter().sum();
    if total <= 0.0 || !total.is_finite() {
        notes.push("what was told contradicts itself everywhere; every place told is kept".into());
        all.weight.fill(1.0);
    }
    let effective = all.effective();
    if effective < floor {
        notes.push(format!(
            "the sightings hardly agree: the picture rests on about {effective:.0} independent draws"
        ));
    }
    if all.weight.len() > count || effective < 0.5 * count as f64 {
        let u = seed.stream("resample").u01(0);
        return all.resampled(count, u);
    }
    all
}

impl<'a> Evidence<'a> {
    fn new(basin: &'a Basin, bathing: &[u32], alarm: &Alarm, notes: &mut Vec<String>) -> Self {
        let mut witnesses = witnesses(basin, alarm, notes);
        witnesses.sort_by(|a, b| a.spread_m2.total_cmp(&b.spread_m2).then(a.index.cmp(&b.index)));
        if witnesses.len() > MOST_SIGHTINGS {
            notes.push(format!(
                "{} sightings were told; the {MOST_SIGHTINGS} sharpest are used",
                witnesses.len()
            ));
            witnesses.truncate(MOST_SIGHTINGS);
        }
        if witnesses.is_empty() {
            notes.push(format!(
                "{}: spread over {}",
                if alarm.sightings.is_empty() { "nobody saw them" } else { "no sighting can be used" },
                if bathing.is_empty() { "all the water" } else { "the bathing areas" }
            ));
        }
        let height_m = alarm.missing.height_m;
        let height_m =
            if height_m.is_finite() && height_m > 0.3 { height_m } else { value("height_missing_m") };
        Evidence {
            basin,
            kind: alarm.kind,
            talked: witnesses.iter().any(|w| w.exponent < 1.0),
            bathed: bathed(basin, bathing, &witnesses),
            witnesses,
            anywhere: CellTable::new(&basin.cells, |_| 1.0),
            bathing: CellTable::new(bathing, |_| 1.0),
            chin_m: value("chin_share") * height_m,
            chin_share: match alarm.missing.swimmer {
                Some(true) => 0.0,
                Some(false) => 1.0,
                None => 0.5,
            },
            rules: Rules::of_register(),
        }
    }

    fn batch(&self, seed: Seed, first: usize, count: usize) -> Starts {
        let stream = seed.stream("sightings");
        let per_particle = 128 + DRAW_COUNTERS;
        let blocks: Vec<Starts> = (0..count.div_ceil(BLOCK))
            .into_par_iter()
            .map(|block| {
                let mut starts = Starts::default();
                for i in block * BLOCK..((block + 1) * BLOCK).min(count) {
                    starts.push(self.draw(stream, (first + i) as u64 * per_particle));
                }
                starts
            })
            .collect();
        let mut all = Starts::default();
        blocks.iter().for_each(|block| all.extend(block));
        all
    }

    /// One particle; counters 0 to 63 choose, 64 to 127 move, the rest place it.
    fn draw(&self, stream: Stream, base: u64) -> Start {
        let u = |k: u64| stream.u01(base + k);
        let mut right = [0_usize; MOST_SIGHTINGS];
        let mut rights = 0;
        // Witnesses who talked may be wrong together: with the rest of the exponent they share one draw.
        let together = self.talked && u(0) >= self.rules.talked;
        for (i, witness) in self.witnesses.iter().enumerate() {
            let shared = together && witness.exponent < 1.0;
            if (if shared { u(1) } else { u(2 + i as u64) }) < witness.reliability {
                right[rights] = i;
                rights += 1;
            }
        }
        if rights == 0 {
            return self.unseen(stream, base);
        }
        // Witnesses are sorted by sharpness: the first right one places the particle.
        let anchor = right[0];
        let mut path = [(0.0, Spot::default(), 0_usize); MOST_SIGHTINGS];
        for (slot, &i) in right[..rights].iter().enumerate() {
            let w = &self.witnesses[i];
            path[slot] = (w.from_s + (w.to_s - w.from_s) * u(20 + i as u64), Spot::default(), i);
        }
        path[0].1 = self.witnesses[anchor].anchor.draw(self.basin, stream, base + 128);
        let path = &mut path[..rights];
        path.sort_unstable_by(|a, b| a.0.total_cmp(&b.0).then(a.2.cmp(&b.2)));
        let at = path.iter().position(|step| step.2 == anchor).unwrap_or(0);
        for k in at + 1..rights {
            path[k].1 = path[k - 1].1 + self.own_way(stream, base, path[k - 1].2, path[k].0 - path[k - 1].0);
        }
        for k in (0..at).rev() {
            path[k].1 = path[k + 1].1 - self.own_way(stream, base, path[k].2, path[k + 1].0 - path[k].0);
        }
        let mut weight = 1.0;
        for &(_, spot, i) in path.iter().filter(|step| step.2 != anchor) {
            let w = &self.witnesses[i];
            let agreement = w.testimony.density(self.basin, spot) * self.basin.area_m2();
            weight *= if w.exponent < 1.0 { agreement.powf(w.exponent) } else { agreement };
        }
        let (last_s, last_spot, last) = path[rights - 1];
        // Nobody who has gone under is seen swimming later: then one of the two is wrong.
        if path[..rights - 1].iter().any(|step| self.witnesses[step.2].went_under && step.0 < last_s - 5.0) {
            weight = 0.0;
        }
        let source = self.witnesses[anchor].index;
        let (under_s, carried_s) = if self.witnesses[last].went_under {
            (last_s, 0.0)
        } else {
            self.moment(last_s, [u(40), u(41), u(42), u(43)])
        };
        let own_s = (under_s - carried_s - last_s).max(0.0);
        let moved = last_spot + self.own_way(stream, base, last, own_s);
        let spot = if self.basin.is_water(moved) { moved } else { last_spot };
        if !self.basin.is_water(spot) {
            weight = 0.0;
        }
        Start { spot, under_s, carried_s, source, weight: weight * self.trouble(spot) }
    }

    /// A particle that no sighting places.
    fn unseen(&self, stream: Stream, base: u64) -> Start {
        let u = |k: u64| stream.u01(base + k);
        let water = if u(131) < self.bathed { &self.bathing } else { &self.anywhere };
        let spot = water.draw(self.basin, u(128), u(129), u(130));
        let window = match self.kind {
            AlarmKind::SeenGoingUnder => self.rules.struggle_s.1,
            AlarmKind::CountShort | AlarmKind::CannotBeFound => self.rules.unseen_window_s,
        };
        let window = if u(44) < self.rules.late { self.rules.late_window_s.min(window) } else { window };
        let (low, high) = self.rules.struggle_s;
        let carried_s = if u(45) < self.rules.at_once { 0.0 } else { low + (high - low) * u(46) };
        Start { spot, under_s: -window * u(47), carried_s, source: NO_SOURCE, weight: self.trouble(spot) }
    }

    /// Moment of going under and how long they were carried before, after being seen at `last_s` (models B3).
    fn moment(&self, last_s: f64, u: [f64; 4]) -> (f64, f64) {
        let latest_s = last_s.max(0.0);
        let rules = &self.rules;
        // Who had long been in the water before going under swam for a part of it and was carried for the rest.
        let part = |under_s: f64| (under_s, u[3] * (under_s - last_s));
        if u[0] < rules.late {
            return part((latest_s - rules.late_window_s * u[2]).max(last_s));
        }
        if u[1] < rules.at_once {
            return (last_s, 0.0);
        }
        if u[1] < rules.at_once + rules.struggle {
            let struggle_s = rules.struggle_s.0 + (rules.struggle_s.1 - rules.struggle_s.0) * u[2];
            return (last_s + struggle_s, struggle_s);
        }
        part(last_s + (latest_s - last_s) * u[2])
    }

    /// Step made under their own power in `seconds` after the sighting `witness`: wandering, and the heading if one was seen.
    fn own_way(&self, stream: Stream, base: u64, witness: usize, seconds: f64) -> Spot {
        let counter = base + 64 + 5 * witness as u64;
        let u = |k: u64| stream.u01(counter + k);
        let rules = &self.rules;
        if seconds <= 0.0 {
            return Spot::default();
        }
        let (a, b) = fastmath::normal_pair(u(0), u(1));
        let mut step = Spot::new(a, b) * (rules.wander_mps * seconds.sqrt());
        let length = step.length();
        if length > rules.wander_bound_m {
            step = step * (rules.wander_bound_m / length);
        }
        if let Some(heading) = self.witnesses[witness].heading {
            let (turn, _) = fastmath::normal_pair(u(2), u(3));
            let (sin, cos) = fastmath::sin_cos_turns(heading.degrees() / 360.0 + turn * rules.heading_turns);
            let way_m = 2.0 * rules.heading_mps * u(4) * seconds.min(rules.heading_lasts_s);
            step = step + Spot::new(sin, cos) * way_m;
        }
        step
    }

    /// How likely trouble begins at a place, by depth and ability, relative to deep water.
    fn trouble(&self, spot: Spot) -> f64 {
        if self.chin_share <= 0.0 {
            return 1.0;
        }
        let deep = (self.basin.depth(spot) - self.chin_m) / self.rules.chin_spread_m;
        // Logistic with the slope of a normal step.
        let step = 1.0 / (1.0 + fastmath::exp(-1.702 * deep));
        let shallow = self.rules.shallow_floor;
        1.0 - self.chin_share * (1.0 - (shallow + (1.0 - shallow) * step))
    }
}

/// How far the witnesses speak of a bather: the mean share of the places they leave open that lie no farther from a bathing area than a
/// bather strays. All of it where nobody saw anything, nothing where nobody bathes.
///
/// Whoever was seen bathing and is not where the witness says is far likelier elsewhere among the bathers than in the middle of a lake.
fn bathed(basin: &Basin, bathing: &[u32], witnesses: &[Witness]) -> f64 {
    if bathing.is_empty() || witnesses.is_empty() {
        return if bathing.is_empty() { 0.0 } else { 1.0 };
    }
    let near_m = value("wander_bound_m");
    let among =
        |spot: Spot| bathing.iter().any(|&cell| basin.grid.centre(cell as usize).distance(spot) <= near_m);
    let stream = Seed(0).stream("among bathers");
    let hits = witnesses
        .iter()
        .enumerate()
        .flat_map(|(i, witness)| (0..BATHED_DRAWS).map(move |k| (i, k, witness)))
        .filter(|&(i, k, witness)| {
            let counter = (i as u64 * BATHED_DRAWS + k) * DRAW_COUNTERS;
            among(witness.anchor.draw(basin, stream, counter))
        })
        .count();
    hits as f64 / (witnesses.len() as u64 * BATHED_DRAWS) as f64
}

/// The sightings that can be used, with what is known of each witness.
fn witnesses(basin: &Basin, alarm: &Alarm, notes: &mut Vec<String>) -> Vec<Witness> {
    let mut list = Vec::new();
    for (index, sighting) in alarm.sightings.iter().enumerate().take(usize::from(NO_SOURCE)) {
        let Some(testimony) = Testimony::new(sighting, basin, notes) else { continue };
        let talked = alarm.sightings.iter().enumerate().any(|(other, theirs)| {
            other != index
                && (sighting.talked_with.contains(&theirs.by) || theirs.talked_with.contains(&sighting.by))
        });
        let exponent = if talked { value("talked_exponent") } else { 1.0 };
        let (mut from_s, mut to_s) = (sighting.from_s, sighting.to_s);
        if !from_s.is_finite() || !to_s.is_finite() {
            notes.push(format!("{}: no usable time; taken as the moment of the alarm", sighting.by));
            (from_s, to_s) = (0.0, 0.0);
        }
        list.push(Witness {
            index: index as u8,
            anchor: if talked { testimony.tempered(exponent) } else { testimony.clone() },
            spread_m2: testimony.spread_m2(basin),
            testimony,
            reliability: value(match sighting.class {
                WitnessClass::Companion => "reliability_companion",
                WitnessClass::Guard => "reliability_guard",
                WitnessClass::Distant => "reliability_distant",
            }),
            exponent,
            heading: sighting.heading.filter(|h| h.degrees().is_finite()),
            from_s: from_s.min(to_s),
            to_s: from_s.max(to_s),
            went_under: sighting.went_under,
        });
    }
    list
}
