//! Where everybody of a run goes, which way and how fast: depth, current, no-go ground, paces, lines apart.

use super::{
    Referee, SLACK,
    outline::{edge_distance, gap_between, winds_round},
};
use crate::{
    Method, Stretch, Sweep,
    plan::{Run, Team},
};
use measure::{Bearing, Spot, parameters::value};
use water::{Cover, Kind, Member, Shape};

impl Referee<'_> {
    /// One run: where everybody goes, which way, how long, with what rests.
    pub(super) fn run(&mut self, run: &Run) {
        if run.under_way {
            return;
        }
        let team = &self.plan.teams[run.team];
        for leg in &run.legs {
            match leg.sweep.stretch {
                Stretch::Strip { from, to, width_m } if team.method != Method::Pole => {
                    if width_m > team.spacing_m * team.members.len() as f64 + SLACK {
                        let width = self.units().length(width_m);
                        self.object("figures", format!("a strip of {width} is wider than its line"));
                    }
                    self.tracks(run, team, (from, to));
                    self.against(team, (from, to));
                    self.pace(team, &leg.sweep, from.distance(to), leg.depth_m);
                }
                Stretch::Strip { .. } => {}
                Stretch::Disc { centre, radius_m } => {
                    let deepest = self.deepest_in(centre, radius_m);
                    let m = self.member(team.members[0]);
                    let dive_m = m.dive_m.unwrap_or(0.0).min(self.request.setting.site.limits.dive_depth_m);
                    if deepest > self.stand_m(m).max(dive_m) + SLACK {
                        let what = format!("{} alone in {} of water", m.name, self.units().length(deepest));
                        self.object("depth", what);
                    }
                }
            }
        }
    }

    pub(super) fn deepest_in(&self, centre: Spot, radius_m: f64) -> f64 {
        let ground = self.request.setting.ground;
        let grid = ground.grid;
        // Rows and columns that a disc can reach.
        let span = |middle: f64, corner: f64, most: usize| {
            let place = |at: f64| (((at - corner) / grid.cell_m).floor().max(0.0) as usize).min(most);
            place(middle - radius_m)..most.min(place(middle + radius_m).saturating_add(1))
        };
        let cols = span(centre.east, grid.corner.east, grid.cols);
        span(centre.north, grid.corner.north, grid.rows)
            .flat_map(|row| cols.clone().map(move |col| row * grid.cols + col))
            .filter(|&c| ground.cover[c] != Cover::Land && ground.grid.centre(c).distance(centre) <= radius_m)
            .map(|c| if ground.depth_m[c].is_nan() { f64::INFINITY } else { ground.depth_m[c] })
            .fold(0.0, f64::max)
    }

    /// Deepest water a member may stand in.
    pub(super) fn stand_m(&self, member: &Member) -> f64 {
        let share = value(if member.volunteer { "waist_share" } else { "chest_share" });
        let height = if member.height_m > 0.0 { member.height_m } else { value("height_guard_m") };
        (share * height).min(self.request.setting.site.limits.wade_depth_m)
    }

    /// Follows everybody of a line along a leg in steps of a quarter metre.
    fn tracks(&mut self, run: &Run, team: &Team, ends: (Spot, Spot)) {
        let (from, to) = ends;
        let Some(along) = (to - from).unit() else {
            return self.object("figures", "a leg has no length".into());
        };
        let count = team.members.len();
        let ground = self.request.setting.ground;
        let steps = (from.distance(to) / 0.25).ceil() as usize;
        for (k, &index) in team.members.iter().enumerate() {
            // The first stands at the left end of the line, or at the right one.
            let place = if run.shore_left { k } else { count - 1 - k };
            let aside = (0.5 * (count as f64 - 1.0) - place as f64) * team.spacing_m;
            let m = self.member(index);
            let limit_m = match team.method {
                Method::Wade => self.stand_m(m),
                Method::Dive => m.dive_m.unwrap_or(0.0).min(self.request.setting.site.limits.dive_depth_m),
                _ => f64::INFINITY,
            };
            for step in 0..=steps {
                let spot = from.lerp(to, step as f64 / steps.max(1) as f64) + along.left() * aside;
                let Some(cell) = ground.grid.cell(spot) else {
                    return self.object("ground", format!("{} leaves the map", self.member(index).name));
                };
                let depth = ground.depth_m[cell];
                let dry = ground.cover[cell] == Cover::Land && (depth.is_nan() || depth <= 0.0);
                let wades = team.method == Method::Wade;
                if ground.cover[cell] != Cover::Open && !(dry && wades) {
                    let what = format!("{} is led over land or under a dock", self.member(index).name);
                    return self.object("ground", what);
                }
                if depth.is_nan() && !dry || depth > limit_m + SLACK {
                    let water = match depth {
                        depth if depth.is_nan() => "water of unknown depth".into(),
                        depth => self.units().told(depth),
                    };
                    let limit = self.units().told(limit_m);
                    let what = format!("{} is sent into {water}, limit {limit}", self.member(index).name);
                    return self.object("depth", what);
                }
                if (wades && ground.keep_off[cell]) || self.near_no_go(spot) {
                    let what = format!("{} comes too near ground to keep off", self.member(index).name);
                    return self.object("ground", what);
                }
                let speed = self.request.setting.flow.at(spot).length();
                let stop = self.request.setting.site.limits.wade_product_stop_m2ps;
                if (wades && depth * speed >= stop) || (!wades && speed > value("dive_current_mps")) {
                    let (name, water) = (&self.member(index).name, self.units().length(depth));
                    let what = format!("{name} in a current of {speed:.2} m/s, {water} deep");
                    return self.object("current", what);
                }
            }
        }
    }

    pub(super) fn near_no_go(&self, spot: Spot) -> bool {
        let keep_m = self.request.setting.site.limits.keep_off_m;
        self.request.setting.site.of_kind(Kind::NoGo).any(|feature| match &feature.shape {
            Shape::Point(place) => place.distance(spot) < keep_m,
            Shape::Line(places) => edge_distance(places, spot) < keep_m,
            Shape::Area(polygons) => polygons.iter().any(|rings| {
                rings.iter().any(|ring| edge_distance(ring, spot) < keep_m)
                    || rings.iter().filter(|ring| winds_round(ring, spot)).count() % 2 == 1
            }),
        })
    }

    /// A line goes with the current where one runs.
    fn against(&mut self, team: &Team, ends: (Spot, Spot)) {
        for share in [0.0, 0.5, 1.0] {
            let current = self.request.setting.flow.at(ends.0.lerp(ends.1, share));
            if current.length() > value("line_current_mps") {
                let way: Bearing = ends.0.bearing_to(ends.1);
                let off = way.angle_to(current.bearing());
                if off > value("down_current_deg") + 0.01 {
                    self.object(
                        "current",
                        format!("a {:?} line goes {off:.0}° off the current", team.method),
                    );
                    return;
                }
            }
        }
    }

    /// Nobody is asked to be faster than the register says.
    fn pace(&mut self, team: &Team, sweep: &Sweep, length_m: f64, depth_m: f64) {
        let seconds = sweep.to_s - sweep.from_s;
        let most = match team.method {
            Method::Wade => value(match depth_m {
                d if d <= 0.3 => "wade_line_knee_mps",
                d if d <= 0.6 => "wade_line_thigh_mps",
                d if d <= 0.9 => "wade_line_waist_mps",
                _ => "wade_line_chest_mps",
            }),
            Method::Dive if team.fins => value("bottom_fins_mps"),
            Method::Dive => value("bottom_mps"),
            _ => value("look_mps"),
        };
        if length_m > most * seconds + 1e-3 {
            let (length, reach) = (self.units().told(length_m), self.units().told(most * seconds));
            self.object("time", format!("{length} in {seconds:.0} s, where the line comes {reach} at most"));
        }
    }

    /// No two teams at work in the same water at once.
    pub(super) fn apart(&mut self) {
        let legs: Vec<(usize, &Sweep)> =
            self.plan.runs.iter().flat_map(|run| run.legs.iter().map(|leg| (run.team, &leg.sweep))).collect();
        let apart_m = value("lines_apart_m");
        for (k, (team, a)) in legs.iter().enumerate() {
            for (other, b) in &legs[k + 1..] {
                if team == other || a.from_s >= b.to_s || b.from_s >= a.to_s {
                    continue;
                }
                let gap = gap_between(&a.stretch, &b.stretch);
                if gap < apart_m - 0.01 {
                    let (gap, at_s) = (self.units().length(gap), a.from_s.max(b.from_s));
                    let what = format!("teams {team} and {other} are {gap} apart at {at_s:.0} s");
                    return self.object("apart", what);
                }
            }
        }
    }
}
