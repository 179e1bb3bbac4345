//! Reach as a table, with routes and crossovers in sentences.

use super::{Told, doing};
use std::fmt::Write as _;
use watch::reach::{Route, ZoneReach};
use water::Units;

impl Told<'_> {
    /// The table, with everything that is to be said.
    pub fn table(&self) -> String {
        let (limit_s, units) = (self.loaded.site.limits.reach_s, self.loaded.site.units);
        let mut text = format!(
            "{}, {}, {}: seconds from leaving the post\n\n",
            self.loaded.site.name,
            self.loaded.day.date,
            units.stage(self.reach.stage_m)
        );
        let _ = writeln!(
            text,
            "  {:<26}{:>9}{:>9}{:>9}{:>12}{:>9}{:>11}",
            "",
            units.area_unit(),
            "median",
            "worst",
            "over limit",
            "denied",
            "way back"
        );
        for zone in &self.all {
            text += &row(&zone.zone, zone, units);
        }
        for (k, post) in self.reach.posts.iter().enumerate() {
            for zone in self.of_post(k) {
                text += &row(&format!("  {} alone, {}", post.post.name, zone.zone), &zone, units);
            }
        }
        let _ = writeln!(text, "\nLimit of the site: {limit_s:.0} s (planning value).");
        for (zone, route) in self.all.iter().zip(&self.worst) {
            if let Some(route) = route {
                let _ = writeln!(text, "Worst place of {}: {}", zone.zone, self.words(route));
            }
        }
        if let Some((_, route)) = &self.asked {
            let words = route
                .as_ref()
                .map_or("nobody comes there: the current denies it, or no way leads there".into(), |r| {
                    self.words(r)
                });
            let _ = writeln!(text, "To the place asked for: {words}");
        }
        for (k, post) in self.reach.posts.iter().enumerate() {
            for (way, over) in self.crossovers(k) {
                let _ = writeln!(
                    text,
                    "From {}, by {} one is sooner than swimming from {} on (after {:.0} s), over {} of water.",
                    post.post.name,
                    way.word(),
                    units.distance(over.from_m),
                    over.from_s,
                    units.area(over.area_m2)
                );
            }
        }
        for note in &self.notes {
            let _ = writeln!(text, "note: {note}");
        }
        text + "planning aid only: paces are the register's until your crew has measured its own\n"
    }

    /// A route in a sentence.
    fn words(&self, route: &Route) -> String {
        let units = self.loaded.site.units;
        let mut parts: Vec<(&str, f64)> = Vec::new();
        for leg in route.legs.iter().filter(|leg| leg.metres >= 0.5) {
            let word = doing(leg.doing, route.way);
            match parts.last_mut() {
                Some((same, metres)) if *same == word => *metres += leg.metres,
                _ => parts.push((word, leg.metres)),
            }
        }
        let legs: Vec<String> =
            parts.iter().map(|(word, metres)| format!("{word} {}", units.distance(*metres))).collect();
        let entry = route.entries.as_ref().map_or(String::new(), |e| {
            format!("; {}: {}", e.allowed.first().map_or("", |a| a.words()), e.why)
        });
        let end = route.legs.last().and_then(|l| l.places.last()).copied();
        let back = self.back.iter().find(|b| b.way == route.way);
        let back_s = end.and_then(|s| Some(f64::from(back?.landing_s[self.reach.terrain.grid.cell(s)?])));
        let back = match back_s {
            Some(s) if s.is_finite() => format!("; back to the nearest landing {s:.0} s"),
            _ => String::new(),
        };
        format!(
            "{:.0} s from {} by {} ({}{entry}{back})",
            route.seconds,
            self.reach.posts[route.post].post.name,
            route.way.word(),
            legs.join(", ")
        )
    }
}

fn row(name: &str, z: &ZoneReach, units: Units) -> String {
    let seconds = |s: Option<f64>| s.map_or("none".into(), |s| format!("{s:.0} s"));
    let share = |s: f64| format!("{:.0} %", 100.0 * s);
    format!(
        "  {name:<26}{:>9.0}{:>9}{:>9}{:>12}{:>9}{:>11}\n",
        units.area_of(z.area_m2),
        seconds(z.median_s),
        seconds(z.worst_s),
        share(z.beyond_share),
        share(z.denied_share),
        z.back_worst_s.map_or(String::new(), |s| format!("{s:.0} s"))
    )
}
