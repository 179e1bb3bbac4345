//! One incident: a hidden truth, and what is told of it.

use crate::bathers::Zone;
use crate::forward::{fate, scattered, trouble};
use crate::likely::Likely;
use crate::luck::Body;
use measure::chance::Draws;
use measure::{Seed, Spot, parameters::value};
use search::belief::Belief;
use search::belief::basin::{Basin, Bottom};
use search::plan::Outlook;
use search::{Alarm, AlarmKind, Missing, Seen, Setting, Sighting, WitnessClass};
use water::FloatVelocity;
use water::{Flow, Kind, Site};

/// Who can say where they were.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Witnesses {
    /// Nobody.
    Nobody,
    /// One companion who points at a place.
    One,
    /// A companion and somebody farther off, who name the same place.
    Agree,
    /// A companion and somebody farther off, who name different places: one of them is wrong.
    Disagree,
    /// One guard who can only point.
    Bearing,
    /// Any of these, as often as the register says.
    Mixed,
}

/// Where hidden truths come from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Truths {
    /// From the belief of what was told, drawn anew: what the model promises must then come true.
    Model,
    /// From where bathers are, step by step, with witnesses as bad as witnesses are.
    Bathers,
}

/// How the world differs from what the plan takes for true.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct World {
    /// Where truths come from.
    pub truths: Truths,
    /// Spread about what was told, as a share of the modelled.
    pub spread: f64,
    /// Everything lies this much farther in one direction drawn anew for each incident \[m\].
    pub shift_m: f64,
    /// Chance of a pass, as a share of the register's.
    pub contact: f64,
    /// Current, as a share of the measured.
    pub current: f64,
    /// Spread of the crew's pace.
    pub pace_sd: f64,
}

impl World {
    /// The world as the plan takes it.
    pub fn as_modelled(truths: Truths) -> World {
        World {
            truths,
            spread: 1.0,
            shift_m: 0.0,
            contact: 1.0,
            current: 1.0,
            pace_sd: crate::luck::pace_sd(),
        }
    }

    /// What the chances of a pass really are.
    pub fn outlook(&self) -> Outlook {
        Outlook { contact: self.contact, ..Outlook::default() }
    }
}

/// A hidden truth with what is told of it.
#[derive(Clone, Debug)]
pub struct Incident {
    /// What was told.
    pub alarm: Alarm,
    /// Where they were when they were last seen.
    pub last_seen: Spot,
    /// Where they lie.
    pub body: Body,
    /// Seed of everything else about it.
    pub seed: Seed,
}

/// What incidents are drawn from.
#[derive(Clone, Copy, Debug)]
pub struct Source<'a> {
    /// Water as the plan takes it.
    pub setting: Setting<'a>,
    /// Where bathers are.
    pub zone: &'a Zone,
    /// Who can say where they were.
    pub witnesses: Witnesses,
    /// The world.
    pub world: World,
    /// Time of day \[s after midnight\].
    pub at_s: f64,
}

/// Particles of the belief a truth of the model is drawn from.
const TRUTH_PARTICLES: usize = 1000;

impl Source<'_> {
    /// Incident number `number` of a seed; `None` if the zone holds no water.
    ///
    /// # Inputs
    /// - `seed` of the whole trial · `number`
    ///
    /// # Gives
    /// The same incident whoever asks; its alarm does not depend on the world's perturbations of a model truth.
    ///
    /// # Source
    /// models B2, B3 drawn forwards (bathers), or the belief itself (model)
    pub fn draw(&self, seed: Seed, number: u64) -> Option<Incident> {
        let own = Seed(seed.stream("incidents").bits(number));
        let basin = Basin::new(self.setting.ground, self.setting.site.units);
        let told = self.told((&basin, own))?;
        let place = match self.world.truths {
            Truths::Bathers => self.drawn_forwards(&basin, &told, own),
            Truths::Model => self.drawn_from_belief(&basin, &told.alarm, own),
        };
        let (spot, rest_s) = self.shifted(&basin, place, own);
        let body = Body::at(&self.setting, (spot, rest_s), own.stream("hidden").u01(0));
        Some(Incident { alarm: told.alarm, last_seen: told.seen, body, seed: own })
    }

    /// The same incident with more truths behind what was told, each as likely as it is among bathers: last seen where witnesses
    /// who said this may have seen them, with a fate and luck of their own.
    ///
    /// # Inputs
    /// - `(seed, number)`: as [`Source::draw`], in a world of bathers · `count`: how many truths
    ///
    /// # Gives
    /// The incident and its truths, evenly through what is likely; each with its seed.
    ///
    /// # Source
    /// models B2, B3 turned round (Bayes, textbook) and drawn forwards
    pub fn draw_with_truths(
        &self,
        (seed, number): (Seed, u64),
        count: u64,
    ) -> Option<(Incident, Vec<(Body, Seed)>)> {
        let incident = self.draw(seed, number)?;
        let basin = Basin::new(self.setting.ground, self.setting.site.units);
        let told = self.told((&basin, incident.seed))?;
        let likely = Likely::new(self, &basin, told.alarm.missing.height_m);
        let mut sum = 0.0;
        let weights = likely.weights(told.kind, &told.alarm.sightings).into_iter();
        let sums: Vec<f64> = weights
            .map(|weight| {
                sum += weight;
                sum
            })
            .collect();
        let (which, truths) = (incident.seed.stream("which"), incident.seed.stream("truths"));
        let one = |k: u64| {
            let own = Seed(truths.bits(k));
            let within = own.stream("within");
            // One truth in every part of what is likely: the same spread with less chance in it.
            let u = (k as f64 + which.u01(k)) / count as f64;
            let seen = likely.place(&sums, u, [within.u01(0), within.u01(1)])?;
            let told = Told { seen, alarm: told.alarm.clone(), ..told };
            let place = self.drawn_forwards(&basin, &told, own);
            Some((Body::at(&self.setting, place, own.stream("hidden").u01(0)), own))
        };
        Some((incident, (0..count).filter_map(one).collect()))
    }

    /// Of an incident drawn by [`Source::draw`]: the share of what is likely after what was told that lies in cells likelier than the
    /// one in which they really were, half of the cells just as likely counted. Over many incidents evenly from 0 to 1.
    ///
    /// # Inputs
    /// - `seed` · `number`
    ///
    /// # Source
    /// probability integral transform (textbook)
    pub fn rank_of_truth(&self, seed: Seed, number: u64) -> Option<f64> {
        let incident = self.draw(seed, number)?;
        let basin = Basin::new(self.setting.ground, self.setting.site.units);
        let told = self.told((&basin, incident.seed))?;
        let likely = Likely::new(self, &basin, told.alarm.missing.height_m);
        let weights = likely.weights(told.kind, &told.alarm.sightings);
        let cell = self.setting.ground.grid.cell(told.seen)?;
        let own = weights[self.zone.cells.iter().position(|&c| c as usize == cell)?];
        let sum = |pick: &dyn Fn(f64) -> bool| weights.iter().copied().filter(|&w| pick(w)).sum::<f64>();
        Some((sum(&|w| w > own) + 0.5 * sum(&|w| w == own)) / sum(&|_| true))
    }

    /// The world's current where it is not the measured one.
    fn flow(&self) -> Flow {
        scaled(self.setting.flow, self.world.current)
    }

    fn drawn_forwards(&self, basin: &Basin, told: &Told, seed: Seed) -> (Spot, f64) {
        let flow = self.flow();
        let setting = Setting { flow: &flow, ..self.setting };
        let mut draws = seed.stream("fate").draws();
        fate((&setting, basin), (told.seen, told.last_s), told.went_under, &mut draws)
    }

    /// One particle of a belief of its own seed, moved as the world's spread says.
    fn drawn_from_belief(&self, basin: &Basin, alarm: &Alarm, seed: Seed) -> (Spot, f64) {
        let flow = self.flow();
        let setting = Setting { flow: &flow, ..self.setting };
        let other = Seed(seed.stream("truth").bits(0));
        let belief = Belief::start(&setting, alarm, other, TRUTH_PARTICLES).value;
        let (spot, rest_s, middle) = one_of(&belief, seed.stream("which").u01(0));
        let off = spot - middle;
        let wider = [1.0, 0.5, 0.25, 0.0].map(|share| spot + off * ((self.world.spread - 1.0) * share));
        (wider.into_iter().find(|&place| basin.is_water(place)).unwrap_or(spot), rest_s)
    }

    /// Moved in a direction drawn for this incident; where that is land, in another.
    fn shifted(&self, basin: &Basin, (spot, rest_s): (Spot, f64), seed: Seed) -> (Spot, f64) {
        if self.world.shift_m == 0.0 {
            return (spot, rest_s);
        }
        let stream = seed.stream("shift");
        let moved = (0..12).map(|k| {
            let (sin, cos) = measure::fastmath::sin_cos_turns(stream.u01(k));
            spot + Spot::new(sin, cos) * self.world.shift_m
        });
        (moved.into_iter().find(|&place| basin.is_water(place)).unwrap_or(spot), rest_s)
    }

    fn told(&self, (basin, seed): (&Basin, Seed)) -> Option<Told> {
        let mut draws = seed.stream("told").draws();
        let grid = &self.setting.ground.grid;
        let height_m = value("height_missing_m");
        let anywhere = |draws: &mut Draws| self.zone.place(grid, [draws.u01(), draws.u01(), draws.u01()]);
        // Trouble begins in deep water more often: some places are drawn again.
        let mut seen = anywhere(&mut draws)?;
        for _ in 0..50 {
            if basin.is_water(seen) && draws.u01() < trouble(basin.depth(seen), height_m) {
                break;
            }
            seen = anywhere(&mut draws)?;
        }
        let kind = self.kind(&mut draws);
        let under = kind != Witnesses::Nobody && draws.u01() < value("incident_seen_under_share");
        let delay_s = if under {
            -value("incident_under_delay_s") * libm::log(1.0 - draws.u01())
        } else {
            let spread = value("incident_delay_log_sd") * draws.normal();
            value("incident_delay_median_s") * libm::exp(spread)
        };
        let last_s = -delay_s.clamp(2.0, 1800.0);
        let mut scribe = Scribe { source: self, basin, draws, last_s, under };
        let sightings = scribe.sightings(kind, seen, &anywhere)?;
        let alarm = Alarm {
            kind: if under { AlarmKind::SeenGoingUnder } else { AlarmKind::CountShort },
            at_s: self.at_s,
            missing: Missing { height_m, swimmer: None },
            sightings,
        };
        Some(Told { alarm, seen, last_s, went_under: under, kind })
    }

    fn kind(&self, draws: &mut Draws) -> Witnesses {
        let mut u = draws.u01();
        if self.witnesses != Witnesses::Mixed {
            return self.witnesses;
        }
        for (kind, share) in [
            (Witnesses::Nobody, value("incident_no_witness_share")),
            (Witnesses::Agree, value("incident_agree_share")),
            (Witnesses::Disagree, value("incident_disagree_share")),
            (Witnesses::Bearing, value("incident_bearing_share")),
        ] {
            if u < share {
                return kind;
            }
            u -= share;
        }
        Witnesses::One
    }
}

struct Told {
    alarm: Alarm,
    seen: Spot,
    last_s: f64,
    went_under: bool,
    /// Who told.
    kind: Witnesses,
}

/// Writes down what witnesses say.
struct Scribe<'a> {
    source: &'a Source<'a>,
    basin: &'a Basin,
    draws: Draws,
    last_s: f64,
    under: bool,
}

impl Scribe<'_> {
    fn sightings(
        &mut self,
        kind: Witnesses,
        seen: Spot,
        anywhere: &impl Fn(&mut Draws) -> Option<Spot>,
    ) -> Option<Vec<Sighting>> {
        let reliable = (value("reliability_companion"), value("reliability_distant"));
        let u = self.draws.u01();
        // In a world of the model the truth is drawn from what was told: who is right is the belief's to say.
        let trusted = self.source.world.truths == Truths::Model;
        let elsewhere = anywhere(&mut self.draws)?;
        let companion = ("a friend", WitnessClass::Companion);
        let distant = ("a bather", WitnessClass::Distant);
        Some(match kind {
            Witnesses::Nobody => Vec::new(),
            Witnesses::One | Witnesses::Mixed => {
                let right = trusted || u < reliable.0;
                vec![self.point(companion, if right { seen } else { elsewhere })]
            }
            Witnesses::Agree => {
                // Two who agree by chance, both wrong, are left out: it is rare.
                vec![self.point(companion, seen), self.point(distant, seen)]
            }
            Witnesses::Disagree => {
                let (first, second) = (reliable.0 * (1.0 - reliable.1), reliable.1 * (1.0 - reliable.0));
                let (a, b) = if u * (first + second) < first { (seen, elsewhere) } else { (elsewhere, seen) };
                vec![self.point(companion, a), self.point(distant, b)]
            }
            Witnesses::Bearing => {
                let right = trusted || u < value("reliability_guard");
                vec![self.bearing(if right { seen } else { elsewhere })]
            }
        })
    }

    fn error(&self, sigma: f64) -> f64 {
        // A wider spread of a model truth is laid about what was told; of a bather's, it is the witness who errs more.
        if self.source.world.truths == Truths::Bathers { sigma * self.source.world.spread } else { sigma }
    }

    fn point(&mut self, (by, class): (&str, WitnessClass), place: Spot) -> Sighting {
        let stood = stand(self.source.setting.site, place);
        let away_m = stood.map_or_else(|| self.basin.to_shore_m(place), |stand| stand.distance(place));
        let sigma_m = value("tap_sigma_floor_m").max(value("tap_sigma_share") * away_m);
        let error_m = self.error(sigma_m);
        // A witness points at water: a tap on land is corrected at once.
        let spot = (0..8)
            .map(|_| place + scattered(&mut self.draws, error_m))
            .find(|&spot| self.basin.is_water(spot))
            .unwrap_or(place);
        self.sighting((by, class), Seen::Point { spot, error_m: Some(sigma_m), stood })
    }

    fn bearing(&mut self, place: Spot) -> Sighting {
        let site = self.source.setting.site;
        let posts = site.of_kind(Kind::Post).map(|post| post.shape.middle());
        let stood = nearest(posts, place).or_else(|| stand(site, place)).unwrap_or_default();
        let error_deg = value("bearing_sigma_stand_deg");
        let turn_deg = self.error(error_deg) * self.draws.normal();
        let bearing = measure::Bearing::new(stood.bearing_to(place).degrees() + turn_deg);
        let seen =
            Seen::Bearing { stood, bearing, error_deg: Some(error_deg), range_m: None, by_mark: false };
        self.sighting(("a guard", WitnessClass::Guard), seen)
    }

    fn sighting(&mut self, (by, class): (&str, WitnessClass), seen: Seen) -> Sighting {
        let span_s = value("incident_told_span_s");
        let from_s = self.last_s - span_s * self.draws.u01();
        let (from_s, to_s) =
            if self.under { (self.last_s, self.last_s) } else { (from_s, (from_s + span_s).min(0.0)) };
        Sighting {
            by: by.into(),
            class,
            seen,
            heading: None,
            from_s,
            to_s,
            went_under: self.under,
            talked_with: Vec::new(),
        }
    }
}

/// Where a witness on the shore stands: the mark nearest to what they saw.
pub(crate) fn stand(site: &Site, place: Spot) -> Option<Spot> {
    nearest(site.marks().into_iter().map(|(_, spot)| spot), place)
}

pub(crate) fn nearest(spots: impl Iterator<Item = Spot>, place: Spot) -> Option<Spot> {
    spots.filter(|spot| spot.is_finite()).min_by(|a, b| a.distance(place).total_cmp(&b.distance(place)))
}

/// Place, moment of rest and the mean place of its sighting, of the particle at share `u` of the mass.
fn one_of(belief: &Belief, u: f64) -> (Spot, f64, Spot) {
    let cloud = &belief.cloud;
    let total: f64 = cloud.prior.iter().sum();
    let mut left = u * total;
    let at = cloud.prior.iter().position(|mass| {
        left -= mass;
        left < 0.0
    });
    let Some(at) = at.or(cloud.len().checked_sub(1)) else { return Default::default() };
    (cloud.spot(at), f64::from(cloud.rest_s[at]), belief.middles()[at])
}

/// The current made stronger or weaker, its doubt with it.
///
/// # Inputs
/// - `flow` · `by`: factor
///
/// # Source
/// assumed
pub fn scaled(flow: &Flow, by: f64) -> Flow {
    let variance = |[a, b, c]: [f64; 3]| [a, b, c].map(|v| v * by * by);
    match flow {
        _ if by == 1.0 => flow.clone(),
        Flow::Still => Flow::Still,
        Flow::Uniform { velocity, covariance } => {
            Flow::Uniform { velocity: *velocity * by, covariance: variance(*covariance) }
        }
        Flow::Field { runs } => {
            let run = |run: &FloatVelocity| FloatVelocity {
                velocity: run.velocity * by,
                variance: run.variance * by * by,
                ..*run
            };
            Flow::Field { runs: runs.iter().map(run).collect() }
        }
    }
}
