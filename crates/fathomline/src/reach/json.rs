//! Reach as JSON.

use super::{Told, doing};
use measure::Spot;
use serde_json::{Value, json};
use watch::reach::{Route, Way, ZoneReach};

impl Told<'_> {
    /// All of it as one object.
    pub fn json(&self) -> Value {
        let posts: Vec<Value> = (0..self.reach.posts.len())
            .map(|k| {
                let post = &self.reach.posts[k];
                let ways: Vec<&str> = post.ways.iter().map(|w| w.way.word()).collect();
                let over: serde_json::Map<String, Value> =
                    self.crossovers(k).into_iter().map(|(w, c)| (w.word().into(), json!(c))).collect();
                json!({
                    "name": post.post.name, "at": self.lonlat(post.post.spot), "ways": ways,
                    "zones": self.of_post(k).iter().map(|z| self.zone_json(z)).collect::<Vec<_>>(),
                    "beats_swimming": over,
                })
            })
            .collect();
        let worst: Vec<Value> =
            self.worst.iter().map(|r| r.as_ref().map_or(Value::Null, |r| self.route_json(r))).collect();
        let mut zones: Vec<Value> = self.all.iter().map(|z| self.zone_json(z)).collect();
        for (zone, route) in zones.iter_mut().zip(worst) {
            zone["worst_route"] = route;
        }
        let asked = self.asked.as_ref().map(|(spot, route)| {
            json!({
                "at": self.lonlat(*spot), "denied": route.is_none(),
                "route": route.as_ref().map(|r| self.route_json(r)),
                "by_post": self.by_post(*spot),
            })
        });
        json!({
            "site": self.loaded.site.name, "date": self.loaded.day.date, "stage_m": self.reach.stage_m,
            "limit_s": self.loaded.site.limits.reach_s, "counted_from": "leaving the post",
            "cell_m": self.reach.terrain.grid.cell_m,
            "zones": zones, "posts": posts, "place": asked, "notes": self.notes,
        })
    }

    /// Every post and way to a place.
    fn by_post(&self, spot: Spot) -> Value {
        let all = self.reach.posts.iter().enumerate().map(|(k, post)| {
            let ways: serde_json::Map<String, Value> = post
                .ways
                .iter()
                .map(|w| (w.way.word().into(), json!(self.reach.arrival_s(k, w.way, spot).map(round))))
                .collect();
            json!({ "post": post.post.name, "seconds": ways })
        });
        all.collect()
    }

    fn lonlat(&self, spot: Spot) -> [f64; 2] {
        let place = self.loaded.site.frame.to_lonlat(spot);
        [place.lon, place.lat].map(|d| (d * 1e7).round() / 1e7)
    }

    fn zone_json(&self, z: &ZoneReach) -> Value {
        json!({
            "zone": z.zone, "area_m2": z.area_m2, "median_s": z.median_s.map(round), "worst_s": z.worst_s.map(round),
            "worst_at": z.worst_at.map(|s| self.lonlat(s)), "beyond_share": z.beyond_share,
            "denied_share": z.denied_share, "back_worst_s": z.back_worst_s.map(round),
            "no_landing_share": z.no_landing_share,
        })
    }

    fn route_json(&self, route: &Route) -> Value {
        let legs: Vec<Value> = route
            .legs
            .iter()
            .map(|leg| {
                let line: Vec<[f64; 2]> = leg.places.iter().map(|s| self.lonlat(*s)).collect();
                json!({ "doing": doing(leg.doing, route.way), "metres": round(leg.metres), "seconds": round(leg.seconds), "line": line })
            })
            .collect();
        let end = route.legs.last().and_then(|l| l.places.last()).copied();
        let back = end.and_then(|spot| self.back_json(route.way, spot));
        json!({
            "post": self.reach.posts[route.post].post.name, "way": route.way.word(), "seconds": round(route.seconds),
            "overhead_s": round(route.overhead_s), "legs": legs, "entry_at": route.entry_at.map(|s| self.lonlat(s)),
            "entries": route.entries.as_ref().map(|e| json!({
                "allowed": e.allowed.iter().map(|a| a.words()).collect::<Vec<_>>(), "why": e.why })),
            "back": back,
        })
    }

    fn back_json(&self, way: Way, spot: Spot) -> Option<Value> {
        let back = self.back.iter().find(|b| b.way == way)?;
        let line = back.line(&self.reach.terrain, &self.paces, spot);
        let cell = self.reach.terrain.grid.cell(spot)?;
        let seconds = Some(f64::from(back.landing_s[cell])).filter(|s| s.is_finite())?;
        let landing = line.last().map(|s| self.lonlat(*s));
        let line: Vec<[f64; 2]> = line.iter().map(|s| self.lonlat(*s)).collect();
        Some(json!({ "seconds": round(seconds), "landing": landing, "line": line }))
    }
}

fn round(x: f64) -> f64 {
    (x * 100.0).round() / 100.0
}
