//! Orders for lanes: where a line starts, which way it goes and how far, what it does at the end.

use super::{Caller, Order};
use crate::{
    Method,
    plan::{Run, Team},
};
use measure::{Spot, parameters::value};

impl Caller<'_> {
    /// The order for a run of a line, a looker or a pole.
    pub(super) fn search(&self, index: usize, run: &Run, team: &Team) -> Order {
        // A line that is formed has been told what it is: it is called by its leader.
        let first = (team.formed_s > self.plan.now_s || team.members.len() == 1)
            && self.plan.runs.iter().filter(|r| r.team == run.team).all(|r| r.from_s >= run.from_s);
        let (kind, form) = match team.method {
            Method::Dive if team.members.len() == 1 && team.fins => ("surface dives, fins on", "Start"),
            Method::Dive if team.members.len() == 1 => ("surface dives", "Start"),
            Method::Dive if team.fins => ("dive line, fins on", "Form"),
            Method::Dive => ("dive line", "Form"),
            Method::Wade => ("wading line", if team.spacing_m < 1.0 { "Link elbows" } else { "Link hands" }),
            Method::Look => ("look down, mask or board", "Start"),
            _ => ("pole from the edge", "Start"),
        };
        let watched = match team.lookout {
            Some(k) if team.members.len() == 1 && first => format!("; {} watches you", self.name(k)),
            _ => String::new(),
        };
        let head = match first {
            true => format!("{kind}{watched}. {form}"),
            false if self.is_again(run) => "the same lane again. Start".into(),
            false => "next lane. Start".into(),
        };
        let start = format!("{head} {}.", self.places.at(run.from));
        let (spoken, written) = self.go(run, team);
        let mut order = self.order(
            if first { self.plan.now_s.max(run.leaves_s) } else { run.leaves_s },
            team.members.clone(),
            [start, spoken, self.end(run, team)],
        );
        order.run = Some(index);
        if !first && team.members.len() > 1 {
            order.to = format!("{}'s line", self.name(team.leader));
            order.words = format!("{}: {}", order.to, order.lines[1..].join(" "));
        }
        order.lines[2] = written;
        order.lines[1] = format!("from {} to {}", self.places.name(run.from), self.places.name(run.to));
        if matches!(team.method, Method::Wade | Method::Dive) && team.members.len() > 1 {
            let hold = match team.method {
                Method::Dive => "arm's length apart",
                _ if team.spacing_m < 1.0 => "elbows linked",
                _ => "hands linked",
            };
            let hand = if run.shore_left { "left" } else { "right" };
            let (one, last) = (team.members[0], team.members[team.members.len() - 1]);
            let stand = format!(
                "{kind}, {hold}; {} leads; {} on the {hand}, {} at the other end",
                self.name(team.leader),
                self.name(one),
                self.name(last)
            );
            order.lines.insert(1, stand);
        }
        order
    }

    /// Which way and how far, as spoken and as written.
    ///
    /// Spoken: the mark or the bearing, and paces or seconds rather than metres where they are counted. Written: all of it.
    fn go(&self, run: &Run, team: &Team) -> (String, String) {
        let (way, length_m) = (run.from.bearing_to(run.to), run.from.distance(run.to));
        if team.method == Method::Pole {
            let feel = format!(
                "Feel under {} to {}, nobody goes under.",
                self.places.name(run.from.lerp(run.to, 0.5)),
                self.places.length(team.depth_to_m)
            );
            return (feel.clone(), feel);
        }
        let amount = match team.method {
            Method::Dive if run.legs.len() == 1 => "1 dive".into(),
            Method::Dive => format!("{} dives", run.legs.len()),
            Method::Wade => format!("{:.0} paces", (length_m / value("pace_length_m")).ceil()),
            _ => format!("{:.0} seconds", run.to_s - run.from_s),
        };
        let mark = self.places.ahead(run.from, way);
        let toward = mark.map_or(String::new(), |mark| format!(" toward {mark}"));
        let far = self.places.length(length_m);
        let bearing = if mark.is_some() { String::new() } else { format!(", bearing {way}") };
        // Waders count paces and lookers seconds; divers have nothing to count on the way.
        let metres = if team.method == Method::Dive { format!(" {far},") } else { String::new() };
        (
            format!("Go {}{toward}{bearing},{metres} {amount}.", way.word()),
            format!("Go {}{toward}, bearing {way}, {far}, {amount}.", way.word()),
        )
    }

    /// Whether the same line has had this very lane before.
    fn is_again(&self, run: &Run) -> bool {
        let same = |r: &Run| (r.from, r.to) == (run.from, run.to) || (r.to, r.from) == (run.from, run.to);
        self.plan.runs.iter().any(|r| r.team == run.team && r.from_s < run.from_s && same(r))
    }

    /// What to do at the end of a run.
    fn end(&self, run: &Run, team: &Team) -> String {
        let next = self.plan.runs.iter().find(|r| r.team == run.team && r.from_s >= run.to_s);
        let count =
            if team.members.len() > 1 || team.method == Method::Dive { "Count, report" } else { "Report" };
        match next {
            Some(next) if turns_beside(run, next) => {
                let way = next.from.bearing_to(next.to);
                let turned_deg = run.from.bearing_to(run.to).angle_to(way);
                let mark = self.places.ahead(next.from, way);
                let turn = match mark {
                    // The next lane lies beside this one and goes the same way: it is ordered from its own start.
                    _ if turned_deg < 45.0 => "hold".into(),
                    Some(mark) if turned_deg > 135.0 => format!("turn, back toward {mark}"),
                    Some(mark) => format!("quarter turn toward {mark}"),
                    None if turned_deg > 135.0 => "turn".into(),
                    None => format!("quarter turn {}", way.word()),
                };
                format!("At the end {}, {turn}.", count.to_lowercase())
            }
            Some(_) => format!("At the end {}, hold.", count.to_lowercase()),
            None => format!("At the end {}, hold.", count.to_lowercase()),
        }
    }
}

/// Whether the next run begins beside the end of this one, so that the line only turns.
fn turns_beside(run: &Run, next: &Run) -> bool {
    let aside: Spot = next.from - run.to;
    aside.length() <= 1.6 * run.width_m.max(next.width_m)
}
