//! Planning anew what has not begun.

use super::state::{Begun, Course, Told};
use crate::orders::orders_after;
use crate::plan::{Crew, Plan, Request, Role, Run, Spent, plan};
use crate::{Method, Seen, Setting, Sighting, WitnessClass, sighting::true_range};
use measure::{Spot, parameters::value};
use water::{Kind, Shape, Site};

impl Course {
    /// Plans what has not begun, keeping every order under way.
    pub(super) fn replan(&mut self, setting: &Setting, told: &Told) {
        let day = self.day.clone();
        let setting = Setting { day: &day, ..*setting };
        // What the plan before asked of people at their posts has been said by now.
        if !self.numbers.is_empty() || !self.plan.jobs.is_empty() {
            let said = orders_after(&self.plan, &setting, self.alarm.at_s, &self.given);
            self.given.extend(said.into_iter().filter(|order| order.post.is_some()));
        }
        let crew = self.crew(setting.site);
        let before = self.under_way();
        let broad = self.broad.take().unwrap_or_else(|| self.belief.broad(&setting, told.seed));
        let request = Request { before: Some(&before), ..self.request(&setting, told, (&broad, &crew)) };
        let plan = plan(&request);
        // Planned on the broad form, promised of the belief itself.
        self.take_plan(plan, (&setting, told), &crew);
        self.broad = Some(broad);
    }

    /// The orders under way and waiting as a plan: under way with the legs whose searching is not yet reported.
    fn under_way(&self) -> Plan {
        let mut before = Plan::default();
        for begun in self.begun.iter().filter(|b| b.ended_s.is_none()) {
            let mut run = begun.run.clone();
            run.team = before.teams.len();
            run.under_way = true;
            run.legs.drain(..begun.legs_reported.min(run.legs.len()));
            let team = Some(before.teams.len());
            for &who in &begun.team.members {
                let leads = who == begun.team.leader;
                before.jobs.push((who, if leads { Role::LineLeader } else { Role::Searcher }, team));
            }
            before.jobs.extend(begun.team.lookout.map(|who| (who, Role::Lookout, team)));
            before.teams.push(begun.team.clone());
            before.runs.push(run);
        }
        // Lead and gate stay as they are; the marker is dropped once.
        let stays = |role: Role| matches!(role, Role::Lead | Role::Gate | Role::First);
        let posts =
            self.given.iter().filter_map(|order| order.post.filter(|&role| stays(role)).zip(Some(order)));
        for (role, order) in posts {
            before.jobs.extend(order.people.iter().map(|&who| (who, role, None)));
        }
        self.add_waiting(&mut before);
        before
    }

    /// Adds the runs of the plan that wait to begin, and what else people were told, once anything has begun.
    fn add_waiting(&self, before: &mut Plan) {
        if self.begun.is_empty() {
            return;
        }
        let places: Vec<usize> = self
            .plan
            .teams
            .iter()
            .map(|team| {
                before.teams.iter().position(|other| other == team).unwrap_or_else(|| {
                    before.teams.push(team.clone());
                    before.teams.len() - 1
                })
            })
            .collect();
        let waiting = self.plan.runs.iter().filter(|run| !run.under_way);
        before.runs.extend(waiting.map(|run| Run { team: places[run.team], ..run.clone() }));
        for &(who, role, team) in &self.plan.jobs {
            let post = matches!(role, Role::Lead | Role::Gate | Role::First);
            let job = (who, role, team.map(|k| places[k]));
            if !post && !before.jobs.contains(&job) {
                before.jobs.push(job);
            }
        }
    }

    /// Where everybody is and from when they can be sent.
    ///
    /// # Inputs
    /// - `site`: where their posts are
    ///
    /// # Gives
    /// One entry a member of the day's crew.
    ///
    /// # Source
    /// the orders given so far
    pub fn crew(&self, site: &Site) -> Vec<Crew> {
        let hut = meeting_place(site);
        let mut crew = Vec::new();
        for (member, person) in self.day.crew.iter().enumerate() {
            let last = self.begun.iter().rev().find(|b| b.people().any(|p| p == member));
            let arrival = self.came.iter().find(|(who, ..)| *who == member).map_or(0.0, |(_, at_s, _)| *at_s);
            let post = site.named(&person.post).map_or(hut, |feature| feature.shape.middle());
            let (from_s, at) = match last {
                Some(begun) if begun.ended_s.is_none() => (begun.run.to_s.max(self.now_s), begun.run.to),
                Some(begun) => (self.now_s, begun.run.to),
                None => (arrival.max(self.now_s), post),
            };
            let spent = self.spent(member);
            crew.push(Crew { member, from_s, at, out: self.gone.contains(&member), spent });
        }
        crew
    }

    /// What somebody has searched so far, and will have when what is under way ends.
    fn spent(&self, member: usize) -> Option<Spent> {
        let (relief_s, warm_s) = (value("relief_s"), value("warm_s"));
        let in_water = |b: &&Begun| b.team.members.contains(&member) && b.team.method != Method::Pole;
        let mut mine: Vec<&Begun> = self.begun.iter().filter(in_water).collect();
        mine.sort_by(|a, b| a.run.from_s.total_cmp(&b.run.from_s));
        let mut spent: Option<Spent> = None;
        for begun in mine {
            let ended_s = begun.ended_s.unwrap_or(begun.run.to_s.max(self.now_s));
            let from_s = begun.run.from_s;
            if ended_s <= from_s {
                continue;
            }
            let made = begun.run.legs.iter().filter(|leg| leg.sweep.from_s < ended_s).count();
            let dives = match begun.team.method {
                Method::Dive => made.max(begun.legs_reported),
                _ => 0,
            };
            let gap_s = spent.map_or(f64::INFINITY, |s| from_s - s.ended_s);
            let (before, since_s) = spent.map_or((0, from_s), |s| (s.dives, s.since_s));
            spent = Some(Spent {
                method: begun.team.method,
                ended_s,
                dives: dives + if gap_s >= relief_s { 0 } else { before },
                since_s: if gap_s >= warm_s { from_s } else { since_s },
            });
        }
        spent
    }

    /// The last seen point: where the marker of a card lies; else where the best witness says, most recent first; without
    /// one, the densest water.
    ///
    /// # Gives
    /// A place \[m\]; the nearest of the site's water where the witness pointed at land.
    ///
    /// # Source
    /// common practice, no published source
    pub fn last_seen(&self, site: &Site) -> Spot {
        self.marker.unwrap_or_else(|| self.told_place(site))
    }

    /// The last seen point by what was told alone; where nobody told a place, the densest water.
    pub(super) fn told_place(&self, site: &Site) -> Spot {
        self.told_spot(site).or_else(|| self.densest()).unwrap_or_else(|| meeting_place(site))
    }

    /// Where the best witness puts them, if any tells a place that can be used.
    pub(super) fn told_spot(&self, site: &Site) -> Option<Spot> {
        let rank = |s: &Sighting| {
            let class = match s.class {
                WitnessClass::Guard => 2,
                WitnessClass::Companion => 1,
                WitnessClass::Distant => 0,
            };
            (s.went_under, class)
        };
        let mut best: Option<(&Sighting, Spot)> = None;
        for sighting in &self.alarm.sightings {
            let Some(spot) = place_of(sighting).and_then(|spot| to_water(site, spot)) else { continue };
            if best.is_none_or(|(other, _)| (rank(sighting), sighting.to_s) >= (rank(other), other.to_s)) {
                best = Some((sighting, spot));
            }
        }
        best.map(|(_, spot)| spot)
    }

    /// Middle of the densest five-metre square of the cloud.
    fn densest(&self) -> Option<Spot> {
        const SQUARE_M: f64 = 5.0;
        let cloud = &self.belief.cloud;
        let mut squares = std::collections::BTreeMap::new();
        for k in 0..cloud.len() {
            let key = ((cloud.east[k] / SQUARE_M).floor() as i64, (cloud.north[k] / SQUARE_M).floor() as i64);
            *squares.entry(key).or_insert(0.0) += cloud.mass[k];
        }
        let heaviest =
            squares.into_iter().fold(None, |best: Option<((i64, i64), f64)>, (key, mass)| match best {
                Some((_, most)) if most >= mass => best,
                _ => Some((key, mass)),
            });
        heaviest
            .map(|((col, row), _)| Spot::new((col as f64 + 0.5) * SQUARE_M, (row as f64 + 0.5) * SQUARE_M))
    }
}

/// The one place a sighting names, if it does.
fn place_of(sighting: &Sighting) -> Option<Spot> {
    match &sighting.seen {
        Seen::Point { spot, .. } => Some(*spot),
        Seen::Bearing { stood, bearing, range_m: Some(range_m), by_mark, .. } => {
            Some(*stood + Spot::towards(*bearing, true_range(*range_m, *by_mark).0))
        }
        _ => None,
    }
}

/// A told place, or the nearest of the site's water to it, as the belief takes it; `None` too far from any to be used.
fn to_water(site: &Site, spot: Spot) -> Option<Spot> {
    let mut nearest: Option<Spot> = None;
    for feature in site.of_kind(Kind::Water) {
        let Shape::Area(polygons) = &feature.shape else { continue };
        if crate::belief::inside(polygons, spot) {
            return Some(spot);
        }
        for pair in polygons.iter().flatten().flat_map(|ring| ring.windows(2)) {
            let along = pair[1] - pair[0];
            let share = (spot - pair[0]).dot(along) / along.dot(along).max(1e-12);
            let foot = pair[0] + along * share.clamp(0.0, 1.0);
            if nearest.is_none_or(|other| foot.distance(spot) < other.distance(spot)) {
                nearest = Some(foot);
            }
        }
    }
    nearest.filter(|foot| foot.distance(spot) <= value("sighting_far_m"))
}

/// Where people gather who have no post: the kit, else a gate, a post, the origin.
pub(crate) fn meeting_place(site: &Site) -> Spot {
    [Kind::KitPlace, Kind::Gate, Kind::Post, Kind::Landmark]
        .into_iter()
        .find_map(|kind| site.of_kind(kind).next())
        .map_or(Spot::default(), |feature| feature.shape.middle())
}
