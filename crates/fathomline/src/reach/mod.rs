//! Reach on a site: everything that is shown of it, in words and as JSON.
//!
//! Start reading at [`Told::new`].

mod json;
mod text;

use crate::commands::loaded::Loaded;
use crate::picture::ReachScene;
use measure::Spot;
use watch::reach::{
    Crossover, Doing, Gear, Paces, Post, Reach, Route, Setting, Way, WayBack, Zone, ZoneReach, over_zone,
    ways_back, zones,
};

/// Everything that is shown.
pub struct Told<'a> {
    loaded: &'a Loaded,
    paces: Paces,
    reach: Reach,
    zones: Vec<Zone>,
    back: Vec<WayBack>,
    all: Vec<ZoneReach>,
    worst: Vec<Option<Route>>,
    asked: Option<(Spot, Option<Route>)>,
    notes: Vec<String>,
}

impl<'a> Told<'a> {
    /// Computes it, from posts and with a place asked for.
    pub fn new(loaded: &'a Loaded, posts: &[Post], at: Option<Spot>) -> Told<'a> {
        let site = &loaded.site;
        let paces = Paces::at(site.water_kind);
        let setting = Setting { site, ground: &loaded.ground, flow: &loaded.flow, paces: &paces };
        let gear = Gear::of(site, &loaded.day);
        let reach = Reach::from_posts(&setting, posts, &gear);
        let ways: Vec<Way> = Way::ALL
            .into_iter()
            .filter(|w| reach.posts.iter().any(|p| p.ways.iter().any(|f| f.way == *w)))
            .collect();
        let (back, landing) =
            ways_back(&reach.terrain, &paces, if ways.is_empty() { &[Way::Swim] } else { &ways });
        let zones = zones(&reach, site);
        let first = reach.first_s();
        let all: Vec<ZoneReach> =
            zones.iter().map(|z| over_zone(&reach, z, (&first, back.first()), site.limits.reach_s)).collect();
        let fastest = |spot: Spot| {
            let arrival = reach.first_at(spot)?;
            reach.route((arrival.post, arrival.way), spot, site, &paces)
        };
        let worst = all.iter().map(|z| fastest(z.worst_at?)).collect();
        let asked = at.map(|spot| (spot, fastest(spot)));
        let mut notes = loaded.notes.clone();
        notes.extend(reach.notes.iter().cloned());
        notes.extend(landing);
        notes.extend(unmanned(loaded, &reach));
        notes.extend(too_few(loaded, &reach));
        let dry = all.iter().filter(|zone| zone.area_m2 == 0.0);
        notes.extend(
            dry.map(|zone| format!("{} holds no water at this stage: nothing is told of it", zone.zone)),
        );
        Told { loaded, paces, reach, zones, back, all, worst, asked, notes }
    }

    fn setting(&self) -> Setting<'_> {
        let loaded = self.loaded;
        Setting { site: &loaded.site, ground: &loaded.ground, flow: &loaded.flow, paces: &self.paces }
    }

    /// What its picture is made from.
    pub fn scene(&self) -> ReachScene<'_> {
        let mut routes: Vec<&Route> = self.worst.iter().flatten().collect();
        routes.extend(self.asked.iter().filter_map(|(_, route)| route.as_ref()));
        ReachScene {
            site: &self.loaded.site,
            ground: &self.loaded.ground,
            reach: &self.reach,
            zones: &self.all,
            routes,
            notes: &self.notes,
        }
    }

    fn crossovers(&self, post: usize) -> Vec<(Way, Crossover)> {
        let ways = [Way::Fins, Way::Board, Way::Boat];
        ways.into_iter().filter_map(|w| Some((w, self.reach.crossover(post, w, &self.setting())?))).collect()
    }

    fn of_post(&self, post: usize) -> Vec<ZoneReach> {
        let alone = Reach { posts: vec![self.reach.posts[post].clone()], ..self.reach.clone() };
        let times = alone.first_s();
        let limit_s = self.loaded.site.limits.reach_s;
        self.zones.iter().map(|z| over_zone(&self.reach, z, (&times, None), limit_s)).collect()
    }
}

/// Boards without anybody on duty who may paddle them.
fn unmanned(loaded: &Loaded, reach: &Reach) -> Option<String> {
    let there = reach.posts.iter().any(|p| p.ways.iter().any(|w| w.way == Way::Board));
    let nobody = !loaded.day.crew.iter().any(|m| m.board);
    (there && nobody).then(|| "a board is there, but nobody of today's crew may paddle it".to_string())
}

/// More posts than guards who may go in: the times of all posts together are those of a day with somebody at each.
fn too_few(loaded: &Loaded, reach: &Reach) -> Option<String> {
    let guards = loaded.day.crew.iter().filter(|m| !m.volunteer && (m.wade || m.dive_m.is_some())).count();
    let posts = reach.posts.len();
    (guards < posts).then(|| {
        format!("{posts} posts, but of today's crew {guards} may go in: the times hold where somebody stands; name those posts with --post")
    })
}

/// What one does on a leg.
fn doing(doing: Doing, way: Way) -> &'static str {
    match (doing, way) {
        (Doing::Run, _) => "run",
        (Doing::WalkDeck, _) => "walk the deck",
        (Doing::Wade, _) => "wade",
        (Doing::Water, Way::Swim) => "swim",
        (Doing::Water, Way::Fins) => "swim with fins",
        (Doing::Water, Way::Board) => "paddle",
        (Doing::Water, Way::Boat) => "row",
    }
}
