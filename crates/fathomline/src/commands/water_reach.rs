//! `fathomline water reach DIR`: how soon a guard is anywhere, by which way, and how long the way back is.

use super::loaded::{Loaded, option_problem, write};
use crate::picture::{self, Look, ReachScene, Theme};
use measure::Spot;
use serde_json::{Value, json};
use std::fmt::Write as _;
use std::io::Write as _;
use std::path::PathBuf;
use std::process::ExitCode;
use watch::reach::{
    Crossover, Doing, Gear, Paces, Post, Reach, Route, Setting, Way, WayBack, Zone, ZoneReach, over_zone,
    ways_back, zones,
};
use water::{Kind, LonLat, Problem};

/// Show how soon guards are anywhere on the water: times by zone, routes, entries, the way back.
#[derive(clap::Args)]
pub struct ReachCommand {
    /// Site folder.
    pub dir: PathBuf,
    /// Day file; the folder's day.toml if not given.
    #[arg(long, value_name = "FILE")]
    pub day: Option<PathBuf>,
    /// Only from these posts: a name, or NAME=LON,LAT for a place that is not on the map.
    #[arg(long, value_name = "NAME", num_args = 1..)]
    pub post: Vec<String>,
    /// Who comes to this place, and how: longitude,latitude in degrees.
    #[arg(long, value_name = "LON,LAT", allow_hyphen_values = true)]
    pub at: Option<String>,
    /// All of it as one JSON object.
    #[arg(long)]
    pub json: bool,
    /// Write the picture: FILE.svg or FILE.png.
    #[arg(long, value_name = "FILE")]
    pub map: Option<PathBuf>,
    /// Light the picture is made for.
    #[arg(long, value_enum, default_value_t)]
    pub light: Theme,
}

/// Everything that is shown.
struct Told<'a> {
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

impl ReachCommand {
    /// Runs it.
    pub fn run(self) -> ExitCode {
        match self.shown() {
            Ok(text) => {
                // A reader that goes away early, such as `head`, is no failure.
                let _ = std::io::stdout().write_all(text.as_bytes());
                ExitCode::SUCCESS
            }
            Err(problems) => {
                problems.iter().for_each(|problem| eprintln!("{problem}"));
                ExitCode::from(super::BAD_INPUT)
            }
        }
    }

    fn shown(&self) -> Result<String, Vec<Problem>> {
        let loaded = Loaded::new(&self.dir, self.day.as_ref())?;
        let posts = posts(&loaded, &self.post)?;
        let at = self.at.as_deref().map(|text| spot(&loaded, "--at", text)).transpose()?;
        let told = Told::new(&loaded, &posts, at);
        if let Some(file) = &self.map {
            let look = Look { theme: self.light, date: loaded.day.date.clone(), ..Look::default() };
            let svg = picture::reach_map(&told.scene(), &look);
            let bytes = picture::for_file(file, &svg).map_err(|why| {
                vec![option_problem("--map", &file.display().to_string(), &why, "end it in .svg or .png")]
            })?;
            write("--map", file, &bytes)?;
        }
        Ok(if self.json {
            serde_json::to_string_pretty(&told.json()).expect("plain numbers and text") + "\n"
        } else {
            told.table()
        })
    }
}

/// The posts asked for, or all of the map.
pub fn posts(loaded: &Loaded, names: &[String]) -> Result<Vec<Post>, Vec<Problem>> {
    let on_map: Vec<Post> = loaded
        .site
        .of_kind(Kind::Post)
        .map(|f| Post { name: f.name.clone(), spot: f.shape.middle() })
        .collect();
    if names.is_empty() {
        return Ok(on_map);
    }
    let mut problems = Vec::new();
    let mut found = Vec::new();
    for name in names {
        if let Some((name, place)) = name.split_once('=') {
            match spot(loaded, "--post", place) {
                Ok(spot) => found.push(Post { name: name.trim().into(), spot }),
                Err(of_place) => problems.extend(of_place),
            }
            continue;
        }
        match on_map.iter().find(|p| p.name.eq_ignore_ascii_case(name.trim())) {
            Some(post) => found.push(post.clone()),
            None => {
                let all: Vec<&str> = on_map.iter().map(|p| p.name.as_str()).collect();
                let remedy = if all.is_empty() {
                    "no post is on the map: write NAME=LON,LAT".to_string()
                } else {
                    format!("choose among {}, or write NAME=LON,LAT", all.join(", "))
                };
                problems.push(option_problem("--post", name, "is no post on the map", &remedy));
            }
        }
    }
    if problems.is_empty() { Ok(found) } else { Err(problems) }
}

/// A place written as longitude,latitude.
fn spot(loaded: &Loaded, option: &str, text: &str) -> Result<Spot, Vec<Problem>> {
    let number = |t: &str, most: f64| t.trim().parse::<f64>().ok().filter(|v| v.abs() <= most);
    let place = text
        .split_once(',')
        .and_then(|(lon, lat)| Some(LonLat { lon: number(lon, 180.0)?, lat: number(lat, 90.0)? }));
    let most_m = measure::parameters::value("site_reach_m");
    let spot = place.map(|p| loaded.site.frame.to_site(p)).filter(|s| s.length() <= most_m);
    spot.ok_or_else(|| {
        let what = "is no place at this site";
        vec![option_problem(option, text, what, "write longitude,latitude in degrees, such as -3.10,54.52")]
    })
}

impl<'a> Told<'a> {
    fn new(loaded: &'a Loaded, posts: &[Post], at: Option<Spot>) -> Told<'a> {
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
        Told { loaded, paces, reach, zones, back, all, worst, asked, notes }
    }

    fn setting(&self) -> Setting<'_> {
        let loaded = self.loaded;
        Setting { site: &loaded.site, ground: &loaded.ground, flow: &loaded.flow, paces: &self.paces }
    }

    fn scene(&self) -> ReachScene<'_> {
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

    fn json(&self) -> Value {
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

    fn table(&self) -> String {
        let limit_s = self.loaded.site.limits.reach_s;
        let mut text = format!(
            "{}, {}, stage {:.2} m: seconds from leaving the post\n\n",
            self.loaded.site.name, self.loaded.day.date, self.reach.stage_m
        );
        let _ = writeln!(
            text,
            "  {:<26}{:>9}{:>9}{:>9}{:>12}{:>9}{:>11}",
            "", "m2", "median", "worst", "over limit", "denied", "way back"
        );
        for zone in &self.all {
            text += &row(&zone.zone, zone);
        }
        for (k, post) in self.reach.posts.iter().enumerate() {
            for zone in self.of_post(k) {
                text += &row(&format!("  {} alone, {}", post.post.name, zone.zone), &zone);
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
                    "From {}, by {} one is sooner than swimming from {:.0} m on (after {:.0} s), over {:.0} m2 of water.",
                    post.post.name,
                    way.word(),
                    over.from_m,
                    over.from_s,
                    over.area_m2
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
        let legs: Vec<String> = route
            .legs
            .iter()
            .filter(|leg| leg.metres >= 0.5)
            .map(|leg| format!("{} {:.0} m", doing(leg.doing, route.way), leg.metres))
            .collect();
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

/// Boards without anybody on duty who may paddle them.
fn unmanned(loaded: &Loaded, reach: &Reach) -> Option<String> {
    let there = reach.posts.iter().any(|p| p.ways.iter().any(|w| w.way == Way::Board));
    let nobody = !loaded.day.crew.iter().any(|m| m.board);
    (there && nobody).then(|| "a board is there, but nobody of today's crew may paddle it".to_string())
}

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

fn round(x: f64) -> f64 {
    (x * 100.0).round() / 100.0
}

fn row(name: &str, z: &ZoneReach) -> String {
    let seconds = |s: Option<f64>| s.map_or("none".into(), |s| format!("{s:.0} s"));
    let share = |s: f64| format!("{:.0} %", 100.0 * s);
    format!(
        "  {name:<26}{:>9.0}{:>9}{:>9}{:>12}{:>9}{:>11}\n",
        z.area_m2,
        seconds(z.median_s),
        seconds(z.worst_s),
        share(z.beyond_share),
        share(z.denied_share),
        z.back_worst_s.map_or(String::new(), |s| format!("{s:.0} s"))
    )
}
