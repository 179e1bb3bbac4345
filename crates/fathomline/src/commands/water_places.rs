//! `fathomline water places DIR --posts K`: where posts, boards and fins serve the water best.

use super::loaded::{Loaded, option_problem, write};
use super::water_reach::{posts, spot};
use measure::Spot;
use serde_json::{Value, json};
use std::fmt::Write as _;
use std::io::Write as _;
use std::path::PathBuf;
use std::process::ExitCode;
use watch::places::{Choice, Wanted, Worth, best_places, candidates, reach_benefit};
use watch::reach::{Gear, Paces, Post, Reach, Setting, Way, zones};
use water::Problem;

/// Show where to put posts, boards and fins: the best places, today's layout beside them, the best single move.
#[derive(clap::Args)]
pub struct Places {
    /// Site folder.
    pub dir: PathBuf,
    /// Day file; the folder's day.toml if not given.
    #[arg(long, value_name = "FILE")]
    pub day: Option<PathBuf>,
    /// How many posts; as many as the map has if not given.
    #[arg(long, value_name = "K")]
    pub posts: Option<usize>,
    /// Boards to place; those of the day if not given.
    #[arg(long, value_name = "K")]
    pub boards: Option<usize>,
    /// Pairs of fins to place at posts; those of the day if not given.
    #[arg(long, value_name = "K")]
    pub fins: Option<usize>,
    /// Candidates: `shore`, or NAME=LON,LAT and names of posts. Today's posts are always among them.
    #[arg(long, num_args = 1.., default_values_t = vec!["shore".to_string()])]
    pub candidates: Vec<String>,
    /// Most candidates along the shore.
    #[arg(long, default_value_t = 24, value_parser = clap::value_parser!(u16).range(1..=60))]
    pub most: u16,
    /// Share of the season in which a person can be seen: CSV with a header `candidate,lon,lat,share`, one line a place seen.
    #[arg(long, value_name = "FILE")]
    pub view: Option<PathBuf>,
    /// All of it as one JSON object.
    #[arg(long)]
    pub json: bool,
    /// Write the best places as GeoJSON.
    #[arg(long, value_name = "FILE")]
    pub geojson: Option<PathBuf>,
}

/// A layout with what it is worth.
struct Layout {
    places: Vec<usize>,
    value: f64,
}

/// Everything that is shown.
struct Told {
    candidates: Vec<Post>,
    choice: Choice,
    today: Layout,
    step: Option<(String, String, f64)>,
    boards: Option<(Vec<Post>, Choice)>,
    fins: Option<(Vec<Post>, Choice)>,
    notes: Vec<String>,
    limit_s: f64,
}

impl Places {
    /// Runs it.
    pub fn run(self) -> ExitCode {
        match self.shown() {
            Ok(text) => {
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
        let told = self.told(&loaded)?;
        if let Some(file) = &self.geojson {
            write("--geojson", file, format!("{:#}\n", told.geojson(&loaded)).as_bytes())?;
        }
        Ok(if self.json { format!("{:#}\n", told.json(&loaded)) } else { told.table(&loaded) })
    }

    fn told(&self, loaded: &Loaded) -> Result<Told, Vec<Problem>> {
        let (site, paces) = (&loaded.site, Paces::at(loaded.site.water_kind));
        let setting = Setting { site, ground: &loaded.ground, flow: &loaded.flow, paces: &paces };
        let today = posts(loaded, &[])?;
        let count = self.posts.unwrap_or(today.len());
        if count == 0 {
            return Err(vec![option_problem(
                "--posts",
                "",
                "no post is to be placed",
                "give --posts K, at least 1",
            )]);
        }
        let own: Vec<String> = self.candidates.iter().filter(|c| *c != "shore").cloned().collect();
        let mut given = today.clone();
        if !own.is_empty() {
            let named = posts(loaded, &own)?;
            given.extend(
                named.into_iter().filter(|p| !today.iter().any(|t| t.name.eq_ignore_ascii_case(&p.name))),
            );
        }
        // One reach from the given places tells the terrain and the water that counts.
        let none = Gear::default();
        let first = Reach::from_posts(&setting, &given[..given.len().min(1)], &none);
        let cells: Vec<usize> = zones(&first, site).into_iter().flat_map(|z| z.cells).collect();
        let spots = thinned(&first, &cells);
        let most = if own.is_empty() { usize::from(self.most) } else { 0 };
        let wanted = Wanted { cells: &cells, most, within_m: 4.0 };
        let all = candidates(&first.terrain, &given, &wanted);
        let limit_s = site.limits.reach_s;
        let mut benefit = reach_benefit(&setting, (&all, &none, &[Way::Swim]), &spots, limit_s);
        if let Some(file) = &self.view {
            let seen = self.seen(loaded, file, (&all, &spots))?;
            for (row, seen) in benefit.iter_mut().zip(&seen) {
                row.iter_mut().zip(seen).for_each(|(b, s)| *b *= s);
            }
        }
        let weight = vec![1.0; spots.len()];
        let worth = Worth { benefit: &benefit, weight: &weight, base: None };
        let choice = best_places(&worth, count);
        let now: Vec<usize> = (0..today.len()).collect();
        let step = worth.best_move(&now).map(|m| (all[m.from].name.clone(), all[m.to].name.clone(), m.value));
        let gear = Placing { setting: &setting, spots: &spots, weight: &weight, limit_s };
        let chosen: Vec<Post> = choice.chosen.iter().map(|&j| all[j].clone()).collect();
        let base: Vec<f64> = (0..spots.len())
            .map(|c| choice.chosen.iter().map(|&j| benefit[j][c]).fold(0.0, f64::max))
            .collect();
        let boards = self.boards.unwrap_or(loaded.day.kit.boards as usize);
        let fins = self.fins.unwrap_or(loaded.day.kit.fins as usize);
        Ok(Told {
            today: Layout { value: worth.of(&now), places: now },
            step,
            boards: (boards > 0).then(|| gear.boards(&chosen, &base, boards)),
            fins: (fins > 0 && fins < chosen.len()).then(|| gear.fins(&chosen, &base, fins)),
            candidates: all,
            choice,
            notes: loaded.notes.clone(),
            limit_s,
        })
    }

    /// The table of view: for each candidate and place the share nearest to it; 1 where the table says nothing of a candidate.
    fn seen(
        &self,
        loaded: &Loaded,
        file: &std::path::Path,
        (all, spots): (&[Post], &[Spot]),
    ) -> Result<Vec<Vec<f64>>, Vec<Problem>> {
        let name = file.display().to_string();
        let wrong = |what: &str| {
            vec![option_problem(
                "--view",
                &name,
                what,
                "a header candidate,lon,lat,share, then one line a place, shares 0 to 1",
            )]
        };
        let text = std::fs::read_to_string(file).map_err(|e| wrong(&format!("cannot be read: {e}")))?;
        let mut table: Vec<Vec<(Spot, f64)>> = vec![Vec::new(); all.len()];
        for (number, line) in text.lines().enumerate().skip(1).filter(|(_, l)| !l.trim().is_empty()) {
            let part: Vec<&str> = line.split(',').map(str::trim).collect();
            let [who, lon, lat, share] = part[..] else {
                return Err(wrong(&format!("line {} has {} fields, not 4", number + 1, part.len())));
            };
            let place = spot(loaded, "--view", &format!("{lon},{lat}"))?;
            let share = share.parse::<f64>().ok().filter(|s| (0.0..=1.0).contains(s));
            let (Some(share), Some(j)) = (share, all.iter().position(|p| p.name.eq_ignore_ascii_case(who)))
            else {
                return Err(wrong(&format!(
                    "line {} names no candidate, or no share from 0 to 1",
                    number + 1
                )));
            };
            table[j].push((place, share));
        }
        let nearest = |row: &[(Spot, f64)], at: Spot| {
            let near = row.iter().min_by(|a, b| a.0.distance(at).total_cmp(&b.0.distance(at)));
            near.map_or(1.0, |(_, share)| *share)
        };
        Ok(table.iter().map(|row| spots.iter().map(|&s| nearest(row, s)).collect()).collect())
    }
}

/// Cells that count, no more than a few thousand of them, evenly.
fn thinned(reach: &Reach, cells: &[usize]) -> Vec<Spot> {
    const MOST: usize = 4000;
    let grid = &reach.terrain.grid;
    let step = ((cells.len() as f64 / MOST as f64).sqrt().ceil() as usize).max(1);
    let kept = cells.iter().filter(|&&c| (c % grid.cols) % step == 0 && (c / grid.cols) % step == 0);
    kept.map(|&c| grid.centre(c)).collect()
}

/// Boards and fins beside posts that are fixed.
struct Placing<'a> {
    setting: &'a Setting<'a>,
    spots: &'a [Spot],
    weight: &'a [f64],
    limit_s: f64,
}

impl Placing<'_> {
    /// Where boards lie best: at one of the posts, each for whoever is soonest there.
    fn boards(&self, chosen: &[Post], base: &[f64], count: usize) -> (Vec<Post>, Choice) {
        let benefit: Vec<Vec<f64>> = chosen
            .iter()
            .map(|place| {
                let gear = Gear { boards: vec![place.spot], ..Gear::default() };
                let rows =
                    reach_benefit(self.setting, (chosen, &gear, &[Way::Board]), self.spots, self.limit_s);
                (0..self.spots.len()).map(|c| rows.iter().map(|r| r[c]).fold(0.0, f64::max)).collect()
            })
            .collect();
        self.choose(chosen, &benefit, base, count)
    }

    fn fins(&self, chosen: &[Post], base: &[f64], count: usize) -> (Vec<Post>, Choice) {
        let gear = Gear { fins: true, ..Gear::default() };
        let benefit = reach_benefit(self.setting, (chosen, &gear, &[Way::Fins]), self.spots, self.limit_s);
        self.choose(chosen, &benefit, base, count)
    }

    fn choose(
        &self,
        chosen: &[Post],
        benefit: &[Vec<f64>],
        base: &[f64],
        count: usize,
    ) -> (Vec<Post>, Choice) {
        let worth = Worth { benefit, weight: self.weight, base: Some(base) };
        let choice = best_places(&worth, count.min(chosen.len()));
        (choice.chosen.iter().map(|&j| chosen[j].clone()).collect(), choice)
    }
}

impl Told {
    fn names(&self, places: &[usize]) -> String {
        places.iter().map(|&j| self.candidates[j].name.clone()).collect::<Vec<_>>().join(", ")
    }

    fn json(&self, loaded: &Loaded) -> Value {
        let place = |p: &Post| {
            let at = loaded.site.frame.to_lonlat(p.spot);
            json!({ "name": p.name, "at": [at.lon, at.lat] })
        };
        let layout =
            |places: &[usize]| places.iter().map(|&j| place(&self.candidates[j])).collect::<Vec<_>>();
        let gear = |g: &Option<(Vec<Post>, Choice)>| {
            g.as_ref().map(|(at, choice)| {
                json!({ "at": at.iter().map(place).collect::<Vec<_>>(), "value": choice.value, "ceiling": choice.ceiling })
            })
        };
        json!({
            "site": loaded.site.name, "date": loaded.day.date, "limit_s": self.limit_s,
            "candidates": self.candidates.iter().map(place).collect::<Vec<_>>(),
            "best": { "places": layout(&self.choice.chosen), "value": self.choice.value, "ceiling": self.choice.ceiling,
                "gap": self.choice.ceiling - self.choice.value, "rounds": self.choice.rounds },
            "today": { "places": layout(&self.today.places), "value": self.today.value },
            "best_move": self.step.as_ref().map(|(from, to, value)| json!({
                "from": from, "to": to, "value": value, "gain": value - self.today.value })),
            "boards": gear(&self.boards), "fins": gear(&self.fins), "notes": self.notes,
        })
    }

    fn geojson(&self, loaded: &Loaded) -> Value {
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

    fn table(&self, loaded: &Loaded) -> String {
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
        let _ = writeln!(
            text,
            "  best   {:>6}  {} ({proof})",
            score(self.choice.value),
            self.names(&self.choice.chosen)
        );
        let _ = writeln!(text, "  today  {:>6}  {}", score(self.today.value), self.names(&self.today.places));
        match &self.step {
            Some((from, to, value)) => {
                let _ = writeln!(
                    text,
                    "  best single move: {from} to {to}, {} (gain {})",
                    score(*value),
                    score(value - self.today.value)
                );
            }
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
            let _ = writeln!(text, "  {:<12} {:.6}, {:.6}", self.candidates[j].name, at.lon, at.lat);
        }
        let _ = writeln!(
            text,
            "score: 100 where a guard stands, 50 at the site's limit of {:.0} s, 0 at twice that; mean over the bathing areas",
            self.limit_s
        );
        for note in &self.notes {
            let _ = writeln!(text, "note: {note}");
        }
        text + "planning aid only: look at each place before anything is moved\n"
    }
}
