//! Layouts as a table, as JSON and as GeoJSON.

use super::{Layout, Layouts};
use crate::commands::loaded::Loaded;
use serde_json::{Value, json};
use std::fmt::Write as _;
use watch::places::Choice;
use watch::reach::Post;

impl Layouts {
    fn names(&self, places: &[usize]) -> String {
        places.iter().map(|&j| self.candidates[j].name.clone()).collect::<Vec<_>>().join(", ")
    }

    /// All of it as JSON.
    pub fn json(&self, loaded: &Loaded) -> Value {
        let place = |p: &Post| {
            let at = loaded.site.frame.to_lonlat(p.spot);
            json!({ "name": p.name, "at": [at.lon, at.lat] })
        };
        let candidates: Vec<Value> = (self.candidates.iter().zip(&self.eyes_m))
            .map(|(p, eye_m)| {
                let mut place = place(p);
                place["eye_m"] = json!(eye_m);
                place
            })
            .collect();
        let layout =
            |places: &[usize]| places.iter().map(|&j| place(&self.candidates[j])).collect::<Vec<_>>();
        let gear = |g: &Option<(Vec<Post>, Choice)>| {
            g.as_ref().map(|(at, choice)| {
                json!({ "at": at.iter().map(place).collect::<Vec<_>>(), "value": choice.value, "ceiling": choice.ceiling })
            })
        };
        json!({
            "site": loaded.site.name, "date": loaded.day.date, "limit_s": self.limit_s,
            "candidates": candidates,
            "best": { "places": layout(&self.best.places), "value": self.choice.value, "reach": self.best.reach,
                "view": self.best.view, "ceiling": self.choice.ceiling,
                "gap": self.choice.ceiling - self.choice.value, "rounds": self.choice.rounds },
            "today": { "places": layout(&self.today.places), "value": self.today.value, "reach": self.today.reach,
                "view": self.today.view },
            "best_move": self.step.as_ref().map(|(from, to, value)| json!({
                "from": from, "to": to, "value": value, "gain": value - self.today.value })),
            "boards": gear(&self.boards), "fins": gear(&self.fins), "notes": self.notes,
        })
    }

    /// The best places as GeoJSON.
    pub fn geojson(&self, loaded: &Loaded) -> Value {
        let features: Vec<Value> = self
            .choice
            .chosen
            .iter()
            .map(|&j| {
                let post = &self.candidates[j];
                let at = loaded.site.frame.to_lonlat(post.spot);
                json!({ "type": "Feature", "properties": { "kind": "post", "name": post.name },
                    "geometry": { "type": "Point", "coordinates": [at.lon, at.lat] } })
            })
            .collect();
        json!({ "type": "FeatureCollection", "features": features })
    }

    /// A table with what is to be said.
    pub fn table(&self, loaded: &Loaded) -> String {
        let score = |v: f64| format!("{:.1}", 100.0 * v);
        let mut text = format!(
            "{}, {}: best places of {} candidates\n",
            loaded.site.name,
            loaded.day.date,
            self.candidates.len()
        );
        let gap = self.choice.ceiling - self.choice.value;
        let proof = if gap < 1e-6 {
            "no choice of these candidates is better".into()
        } else {
            format!("no choice exceeds {}", score(self.choice.ceiling))
        };
        let line = |word: &str, layout: &Layout, after: &str| {
            let view = layout.view.map_or(String::new(), |v| format!(", view {}", score(v)));
            let value = if layout.view.is_some() {
                format!("reach {}{view}", score(layout.reach))
            } else {
                String::new()
            };
            let value = if value.is_empty() { value } else { format!(" [{value}]") };
            format!("  {word:<6} {:>6}  {}{value}{after}\n", score(layout.value), self.names(&layout.places))
        };
        text += &line("best", &self.best, &format!(" ({proof})"));
        if self.today.places.is_empty() {
            text += "  today  no post is on the map\n";
        } else {
            text += &line("today", &self.today, "");
        }
        match &self.step {
            Some((from, to, value)) => {
                let _ = writeln!(
                    text,
                    "  best single move: {from} to {to}, {} (gain {})",
                    score(*value),
                    score(value - self.today.value)
                );
            }
            None if self.today.places.is_empty() => {}
            None => text.push_str("  no single move makes today's layout better\n"),
        }
        for (word, gear) in [("boards", &self.boards), ("fins", &self.fins)] {
            if let Some((at, choice)) = gear {
                let names: Vec<&str> = at.iter().map(|p| p.name.as_str()).collect();
                let _ = writeln!(text, "  {word} at {}: {}", names.join(", "), score(choice.value));
            }
        }
        for &j in &self.choice.chosen {
            let at = loaded.site.frame.to_lonlat(self.candidates[j].spot);
            let (name, eye) = (&self.candidates[j].name, loaded.site.units.length(self.eyes_m[j]));
            let _ = writeln!(text, "  {name:<12} {:.6}, {:.6}, eye {eye}", at.lon, at.lat);
        }
        let _ = writeln!(
            text,
            "score: 100 where a guard stands, 50 at the site's limit of {:.0} s, 0 at twice that; mean over the bathing areas",
            self.limit_s
        );
        if self.best.view.is_some() {
            text += "  times the share of scans over the season that see a head there: less by glare and smallness, 0 behind things and too far\n";
        }
        for note in &self.notes {
            let _ = writeln!(text, "note: {note}");
        }
        text + "planning aid only: look at each place before anything is moved\n"
    }
}
