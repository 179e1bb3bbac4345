//! Everything that stays the same while plans are built and compared.

use super::{
    Crew, Outlook, Request, Spent, Team,
    blocks::Blocks,
    cells::{Cells, MissTable},
    draft::State,
    footing::Footing,
    price::Prices,
    weight::Weight,
};
use crate::{
    Method, Setting,
    lines::{Chances, DivePace, DiveStep, Grip, chances, dive_steps, dive_time, pause_after, water_turn},
    survival::Curve,
};
use measure::{Spot, parameters::value};
use std::sync::{Arc, OnceLock};
use water::Member;

/// Step of the table of dives \[m of depth\].
pub(super) const DIVE_BY_M: f64 = 0.05;
/// Depths in the table: down to twelve metres.
const DIVE_DEPTHS: usize = 241;
/// How far from the mass, and from the last seen point, anybody of a line may come to stand \[m\].
const STRAY_M: f64 = 40.0;
/// Longest dive line whose table is kept.
const LINE_MOST: usize = 12;

/// One advance of a dive line by depth.
pub(super) type Advances = Arc<[Option<DiveStep>]>;

/// Numbers of the register that planning reads over and over.
#[derive(Clone, Debug)]
pub(super) struct Rules {
    pub reaction_s: f64,
    pub form_s: f64,
    pub gather_mps: f64,
    pub order_s: f64,
    pub turn_s: f64,
    pub transit_wade_mps: f64,
    pub transit_swim_mps: f64,
    pub apart_m: f64,
    /// Longest turn in the water \[s\].
    pub turn_limit_s: f64,
    /// Rest out of the water after which dives count from nothing \[s\].
    pub relief_s: f64,
    /// Time out of the water after which a turn counts from nothing \[s\].
    pub warm_s: f64,
    /// Time under water of one dive \[s\]; `None` if nobody dives today.
    pub dive_s: Option<f64>,
    /// Paces of a dive without and with fins.
    pub paces: [DivePace; 2],
    /// Pause after the n-th dive of a turn, by n; entry 0 is not used.
    pub pause_s: Vec<f64>,
    pub dive_least_m: f64,
}

impl Rules {
    fn new(water_c: f64) -> Self {
        let paces = [false, true].map(DivePace::today);
        let dive_s = dive_time(water_c);
        let most = value("dives_before_rest").max(1.0) as usize;
        Rules {
            reaction_s: value("reaction_s"),
            form_s: value("form_s"),
            gather_mps: value("gather_mps"),
            order_s: value("order_price_s"),
            turn_s: value("turn_s"),
            transit_wade_mps: value("transit_wade_mps"),
            transit_swim_mps: value("transit_swim_mps"),
            apart_m: value("lines_apart_m"),
            turn_limit_s: water_turn(water_c),
            relief_s: value("relief_s"),
            warm_s: value("warm_s"),
            dive_s,
            // Fins change nothing between two dives.
            pause_s: (0..=most).map(|done| pause_after(dive_s.unwrap_or(0.0), done, &paces[0])).collect(),
            paces,
            dive_least_m: value("dive_least_depth_m"),
        }
    }

    /// Dives of one turn.
    pub fn dives_most(&self) -> usize {
        self.pause_s.len() - 1
    }
}

/// One person who can be sent, as the plan sees them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Person {
    /// Index into `Day::crew`.
    pub member: usize,
    /// When they can be sent, not before now \[s\].
    pub from_s: f64,
    /// Where they are then.
    pub at: Spot,
    /// What still counts then of what they have searched.
    pub spent: Option<Spent>,
}

/// The problem of one request.
#[derive(Clone, Debug)]
pub(super) struct Problem<'a> {
    pub request: &'a Request<'a>,
    pub cells: Cells,
    pub blocks: Blocks,
    pub weight: Weight,
    pub footing: Footing,
    pub grip: Grip,
    pub chances: [Chances; 5],
    /// Miss tables by method, firm then rough.
    pub tables: [[MissTable; 2]; 5],
    pub rules: Rules,
    /// Everybody who may be planned with, by crew index.
    pub people: Vec<Person>,
    /// What a whole pass of each method finds in each block before anything of this plan is searched, made when first
    /// asked for.
    slopes: [OnceLock<Vec<f64>>; 5],
    /// Advances of dive lines by number of divers, without and with fins, made when first asked for.
    dives: [[OnceLock<Advances>; LINE_MOST + 1]; 2],
    /// What orders and turns cost.
    pub prices: Prices,
    /// End of what is looked ahead \[s\].
    pub end_s: f64,
}

impl<'a> Problem<'a> {
    /// Reads a request.
    pub fn new(request: &'a Request<'a>, outlook: &Outlook) -> Self {
        let setting = &request.setting;
        let footing = Footing::new(setting);
        let grip = if footing.still() { Grip::Hands } else { Grip::Elbows };
        let chances = chances(grip, request.missing_height_m).map(|c| outlook.chances(c));
        let cells = Cells::new(&request.belief.cloud, setting.ground, &chances, request.now_s);
        let rules = Rules::new(setting.day.water_c);
        let people = people(request, &rules);
        let footing = footing.over(setting, cells.rows_about(request.last_seen, STRAY_M));
        Problem {
            request,
            prices: Prices::new(cells.total * outlook.price.max(0.0)),
            blocks: Blocks::new(&cells),
            cells,
            weight: Weight::new(
                &request.belief.cloud,
                Curve { v_8: outlook.v_8, water_c: setting.day.water_c },
                request.now_s,
                Request::AHEAD_S + 600.0,
            ),
            footing,
            grip,
            tables: chances.map(|c| [MissTable::new(c.firm), MissTable::new(c.rough)]),
            chances,
            rules,
            people,
            slopes: Default::default(),
            dives: Default::default(),
            end_s: request.now_s + Request::AHEAD_S,
        }
    }

    /// What a whole pass of a method finds in each block before anything of this plan is searched.
    pub fn slopes(&self, method: Method) -> &[f64] {
        self.slopes[method.index()].get_or_init(|| {
            let state = State::new(&self.blocks.all);
            (0..self.blocks.all.len()).map(|c| state.slope(self, method, c)).collect()
        })
    }

    /// One advance of a dive line of so many at every depth, [`DIVE_BY_M`] apart; `None` where the line cannot advance.
    pub fn dive_steps(&self, divers: usize, fins: bool) -> Advances {
        let Some(dive_s) = self.rules.dive_s else { return Arc::new([]) };
        let make = || {
            dive_steps(divers, dive_s, &self.rules.paces[usize::from(fins)], 0..DIVE_DEPTHS, DIVE_BY_M).into()
        };
        match self.dives[usize::from(fins)].get(divers) {
            Some(cell) => cell.get_or_init(make).clone(),
            None => make(),
        }
    }

    /// The setting.
    pub fn setting(&self) -> &Setting<'a> {
        &self.request.setting
    }

    /// The crew member of a person.
    pub fn member(&self, index: usize) -> &'a Member {
        &self.request.setting.day.crew[index]
    }

    /// A person by crew index.
    pub fn person(&self, index: usize) -> Option<&Person> {
        self.people.iter().find(|p| p.member == index)
    }

    /// What somebody has behind them, as the request has it.
    pub fn spent(&self, index: usize) -> Option<Spent> {
        self.request.crew.iter().find(|c| c.member == index).and_then(|c| c.spent)
    }

    /// The moment up to which people count as here: whoever comes later is not waited for without being worth it.
    pub fn prompt_s(&self) -> f64 {
        self.request.now_s + 0.5 * self.rules.form_s
    }

    /// Whether somebody comes, or is rested, only a while from now; never of those who are at work.
    pub fn is_late(&self, index: usize) -> bool {
        let busy = self
            .frozen()
            .iter()
            .any(|(_, team)| team.members.contains(&index) || team.lookout == Some(index));
        !busy && self.person(index).is_some_and(|p| p.from_s > self.prompt_s())
    }

    /// Pace between lanes \[m/s\].
    pub fn transit_mps(&self, method: Method) -> f64 {
        if method == Method::Wade { self.rules.transit_wade_mps } else { self.rules.transit_swim_mps }
    }

    /// Seconds of a turn or pivot of a line of this width.
    pub fn pivot_s(&self, width_m: f64) -> f64 {
        // The register's time is that of a line of six at 1.3 m.
        (self.rules.turn_s * width_m / 7.8).max(0.5 * self.rules.turn_s)
    }

    /// Whether the straight way between two places keeps off no-go ground.
    pub fn may_pass(&self, from: Spot, to: Spot) -> bool {
        if self.footing.no_go.is_empty() {
            return true;
        }
        let (grid, length_m) = (self.cells.grid, from.distance(to));
        let steps = (length_m / (0.5 * grid.cell_m)).ceil().max(1.0);
        let step_m = length_m / steps;
        let mut k = 0.0;
        while k <= steps {
            let cell = grid.cell(from.lerp(to, k / steps));
            let off = cell.map_or(1, |cell| self.footing.off[cell]);
            if off == 0 {
                return false;
            }
            // Within so many cells less one, a hair left for rounding, none of that ground can lie.
            let free_m = f64::from(off - 1) * grid.cell_m * (1.0 - 1e-6);
            k += if step_m > 0.0 { (free_m / step_m).floor().max(1.0) } else { 1.0 };
        }
        true
    }

    /// The team of the plan before, and its runs, that are under way.
    pub fn frozen(&self) -> Vec<(usize, &'a Team)> {
        let Some(before) = self.request.before else { return Vec::new() };
        let busy = |team: usize| before.runs.iter().any(|run| run.under_way && run.team == team);
        before.teams.iter().enumerate().filter(|(k, _)| busy(*k)).collect()
    }
}

/// Shortest turn in the water that anybody is sent in for \[s\].
const TURN_LEAST_S: f64 = 120.0;

/// Who can be sent: on duty, not out, of the day's crew; each once, by crew index.
fn people(request: &Request, rules: &Rules) -> Vec<Person> {
    let mut people: Vec<Person> = Vec::new();
    for crew in request.crew {
        if people.iter().all(|p| p.member != crew.member) {
            people.extend(person(request, rules, crew));
        }
    }
    people.sort_by_key(|p| p.member);
    people
}

/// From when and where one of the crew can be sent; `None` if not while this plan looks ahead.
fn person(request: &Request, rules: &Rules, crew: &Crew) -> Option<Person> {
    let member = request.setting.day.crew.get(crew.member)?;
    let there_s = crew.from_s.max(request.now_s);
    if crew.out || crew.from_s.is_nan() || !there_s.is_finite() || !crew.at.is_finite() {
        return None;
    }
    let on_s = on_duty_from(member, request.alarm_at_s, there_s)?;
    let (from_s, spent) = rested(rules, crew.spent, on_s);
    let soon = from_s <= request.now_s + Request::AHEAD_S;
    soon.then_some(Person { member: crew.member, from_s, at: crew.at, spent })
}

/// The first moment from `from_s` on at which somebody is on duty.
fn on_duty_from(member: &Member, alarm_at_s: f64, from_s: f64) -> Option<f64> {
    if member.on_duty(alarm_at_s + from_s) {
        return Some(from_s);
    }
    let begins = member.hours.iter().flat_map(|h| [h.from_s, h.from_s + 86_400.0, h.from_s - 86_400.0]);
    let later = begins.map(|at_s| at_s - alarm_at_s).filter(|&at_s| at_s > from_s);
    later.min_by(f64::total_cmp).filter(|&at_s| member.on_duty(alarm_at_s + at_s))
}

/// When somebody who is there from `from_s` has rested, and what counts then of what they did.
fn rested(rules: &Rules, spent: Option<Spent>, from_s: f64) -> (f64, Option<Spent>) {
    let Some(mut spent) = spent.filter(|s| s.ended_s.is_finite() && s.since_s.is_finite()) else {
        return (from_s, None);
    };
    let mut ready_s = from_s;
    if spent.dives >= rules.dives_most() {
        ready_s = ready_s.max(spent.ended_s + rules.relief_s);
    }
    if ready_s - spent.since_s > rules.turn_limit_s - TURN_LEAST_S {
        ready_s = ready_s.max(spent.ended_s + rules.warm_s);
    }
    if ready_s >= spent.ended_s + rules.relief_s {
        spent.dives = 0;
    }
    (ready_s, Some(spent).filter(|s| ready_s < s.ended_s + rules.warm_s))
}
