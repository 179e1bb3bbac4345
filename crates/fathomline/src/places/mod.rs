//! Best places on a site: from the map, the day and the season to layouts with what they are worth.
//!
//! Start reading at [`Asked::compute`].

mod told;

use crate::commands::loaded::Loaded;
use crate::glare;
use jiff::ToSpan;
use jiff::civil::Date;
use measure::Spot;
use measure::parameters::value;
use watch::places::{Choice, Wanted, Worth, best_places, candidates, reach_benefit};
use watch::reach::{Gear, Paces, Post, Reach, Setting, Way, zones};
use watch::view::{self, SeasonSuns, Spots, Tops, sights, view_benefit};
use water::{Grid, Problem};

/// Days of the season before and after the day's own, where none is told.
const SEASON_DAYS: i32 = 45;
/// Most cells that are counted.
const CELLS_MOST: usize = 4000;

/// What is asked.
pub struct Asked<'a> {
    /// Site and day.
    pub loaded: &'a Loaded,
    /// How many of the given places are today's posts; they come first.
    pub today: usize,
    /// Places that must be among the candidates.
    pub given: Vec<Post>,
    /// How many posts.
    pub count: usize,
    /// Most candidates along the shore.
    pub most: usize,
    /// Boards to place.
    pub boards: usize,
    /// Pairs of fins to place.
    pub fins: usize,
    /// Season over which glare is counted.
    pub season: Option<(Date, Date)>,
    /// Eye over the water at places that are not posts of the map \[m\].
    pub eye_m: Option<f64>,
    /// Leave out what can be seen.
    pub reach_only: bool,
    /// Bathers by number of the bathing area; none: all water alike.
    pub bathers: Vec<(usize, f64)>,
}

/// A layout with what it is worth, and what by arrival and by view alone.
pub struct Layout {
    /// Candidates.
    pub places: Vec<usize>,
    /// Value, 0 to 1.
    pub value: f64,
    /// By arrival alone.
    pub reach: f64,
    /// By view alone, where it was asked for.
    pub view: Option<f64>,
}

/// Everything that is shown.
pub struct Layouts {
    /// Candidates.
    pub candidates: Vec<Post>,
    /// Eye over the water at each \[m\].
    pub eyes_m: Vec<f64>,
    /// The best choice.
    pub choice: Choice,
    /// The same as a layout.
    pub best: Layout,
    /// Today's layout.
    pub today: Layout,
    /// The best single move: from, to, value.
    pub step: Option<(String, String, f64)>,
    /// Where boards lie best.
    pub boards: Option<(Vec<Post>, Choice)>,
    /// Where fins lie best.
    pub fins: Option<(Vec<Post>, Choice)>,
    /// What is to be said.
    pub notes: Vec<String>,
    /// The site's limit \[s\].
    pub limit_s: f64,
}

/// What the water that counts is worth from each candidate.
struct Benefit {
    reach: Vec<Vec<f64>>,
    /// Share of scans over the season in which a head is seen; 1 everywhere where view is left out.
    view: Option<Vec<Vec<f64>>>,
    both: Vec<Vec<f64>>,
}

impl Asked<'_> {
    /// Computes it, or says everything that keeps it from being computed.
    pub fn compute(&self) -> Result<Layouts, Vec<Problem>> {
        let (site, paces) = (&self.loaded.site, Paces::at(self.loaded.site.water_kind));
        let setting = Setting { site, ground: &self.loaded.ground, flow: &self.loaded.flow, paces: &paces };
        let mut notes = self.loaded.notes.clone();
        // One reach from a given place tells the terrain and the water that counts.
        let none = Gear::default();
        let first = Reach::from_posts(&setting, &self.given[..self.given.len().min(1)], &none);
        let areas: Vec<Vec<usize>> = zones(&first, site).into_iter().map(|zone| zone.cells).collect();
        let cells: Vec<usize> = areas.iter().flatten().copied().collect();
        let (spots, weight) = self.counted(&first.terrain.grid, &areas);
        if spots.is_empty() {
            notes.push("no water of a bathing area counts: every layout is worth nothing".into());
        }
        let wanted = Wanted { cells: &cells, most: self.most, within_m: 4.0 };
        let all = candidates(&first.terrain, &self.given, &wanted);
        if all.len() < self.count {
            notes.push(format!(
                "{} posts were asked for, but there are only {} candidates",
                self.count,
                all.len()
            ));
        }
        let eyes = self.eyes(&all, &mut notes);
        let limit_s = site.limits.reach_s;
        let reach = reach_benefit(&setting, (&all, &none, &[Way::Swim]), &spots, limit_s);
        let view = if self.reach_only { None } else { Some(self.view(&eyes, &spots, &mut notes)?) };
        let benefit = Benefit { both: product(&reach, view.as_deref()), reach, view };
        let worth = Worth { benefit: &benefit.both, weight: &weight, base: None };
        let choice = best_places(&worth, self.count);
        let now: Vec<usize> = (0..self.today).collect();
        let step = worth.best_move(&now).map(|m| (all[m.from].name.clone(), all[m.to].name.clone(), m.value));
        let chosen: Vec<Post> = choice.chosen.iter().map(|&j| all[j].clone()).collect();
        let base: Vec<f64> = (0..spots.len())
            .map(|c| choice.chosen.iter().map(|&j| benefit.both[j][c]).fold(0.0, f64::max))
            .collect();
        let seen =
            benefit.view.as_ref().map(|v| choice.chosen.iter().map(|&j| v[j].clone()).collect::<Vec<_>>());
        let gear =
            Placing { setting: &setting, spots: &spots, weight: &weight, limit_s, seen: seen.as_deref() };
        let (boards, fins) = (self.boards, self.fins);
        Ok(Layouts {
            best: layout(&benefit, &weight, &choice.chosen),
            today: layout(&benefit, &weight, &now),
            step,
            boards: (boards > 0 && !chosen.is_empty()).then(|| gear.boards(&chosen, &base, boards)),
            fins: (fins > 0 && fins < chosen.len()).then(|| gear.fins(&chosen, &base, fins)),
            eyes_m: eyes.iter().map(|post| post.eye_m).collect(),
            candidates: all,
            choice,
            notes,
            limit_s,
        })
    }

    /// Middles of the cells that count, no more than a few thousand of them, evenly; with their weights.
    fn counted(&self, grid: &Grid, areas: &[Vec<usize>]) -> (Vec<Spot>, Vec<f64>) {
        let all: usize = areas.iter().map(Vec::len).sum();
        let step = ((all as f64 / CELLS_MOST as f64).sqrt().ceil() as usize).max(1);
        let kept = |c: &&usize| (**c % grid.cols) % step == 0 && (**c / grid.cols) % step == 0;
        let (mut spots, mut weight) = (Vec::new(), Vec::new());
        for (number, cells) in areas.iter().enumerate() {
            let own: Vec<Spot> = cells.iter().filter(kept).map(|&c| grid.centre(c)).collect();
            let told: f64 = self.bathers.iter().filter(|(area, _)| *area == number).map(|(_, n)| n).sum();
            let each = if self.bathers.is_empty() { 1.0 } else { told / own.len().max(1) as f64 };
            weight.extend(std::iter::repeat_n(each, own.len()));
            spots.extend(own);
        }
        (spots, weight)
    }

    /// The candidates as eyes: posts of the map with their own height, others as told or as high as today's posts stand.
    fn eyes(&self, all: &[Post], notes: &mut Vec<String>) -> Vec<view::Post> {
        let (site, stage_m) = (&self.loaded.site, self.loaded.ground.stage_m);
        let posts = view::posts(site, stage_m);
        let mean_m = posts.iter().map(|post| post.eye_m).sum::<f64>() / posts.len().max(1) as f64;
        let usual_m = if posts.is_empty() { value("eye_deck_m") } else { mean_m };
        let eye_m = self.eye_m.unwrap_or(usual_m);
        if self.eye_m.is_none() && !self.reach_only && all.len() > posts.len() {
            notes.push(format!(
                "at places that are no posts of the map an eye {} over the water is taken{}; --eye M gives another",
                site.units.length(eye_m),
                if posts.is_empty() { "" } else { ", the mean of today's posts" }
            ));
        }
        let one = |post: &Post| {
            let known = posts.iter().find(|p| p.name == post.name && p.spot == post.spot);
            let other = || view::Post { name: post.name.clone(), spot: post.spot, eye_m, measured: false };
            known.cloned().unwrap_or_else(other)
        };
        all.iter().map(one).collect()
    }

    /// For each eye and spot the share of scans over the season in which a head there is seen, one at best.
    fn view(
        &self,
        eyes: &[view::Post],
        spots: &[Spot],
        notes: &mut Vec<String>,
    ) -> Result<Vec<Vec<f64>>, Vec<Problem>> {
        let (site, day, ground) = (&self.loaded.site, &self.loaded.day, &self.loaded.ground);
        let about = |date: Date| {
            let (first, last) = (date.checked_sub(SEASON_DAYS.days()), date.checked_add(SEASON_DAYS.days()));
            Some((first.ok()?, last.ok()?))
        };
        let span = self.season.or_else(|| about(day.date.parse::<Date>().ok()?));
        let asked = glare::Asked {
            site,
            day: Some(day),
            span,
            wind: None,
            posts: Vec::new(),
            open: None,
            crowd_m: None,
        };
        let light = asked.light(notes)?;
        let (first, last) = (light.dates[0], light.dates[light.dates.len() - 1]);
        notes.push(format!(
            "view over {first} to {last}, {} to {}, clear sky, wind {:.1} m/s, taken the same all round",
            glare::clock(light.open.0.0),
            glare::clock(light.open.0.1),
            light.wind.0.speed_mps
        ));
        let watched = Spots {
            grid: ground.grid,
            square: Vec::new(),
            places: spots.to_vec(),
            depth_m: Vec::new(),
            zones: Vec::new(),
        };
        let seen = sights(eyes, &watched, &Tops::of(site, ground, None));
        let suns = SeasonSuns::of(&light.moments, &light.course);
        // One at best: what a scan misses of the nearest head is the same everywhere.
        let most = value("notice_chance");
        let limit_m = value("watch_limit_m");
        let benefit = view_benefit((eyes, &seen), &watched, (&suns, &light.surface), limit_m);
        Ok(benefit.into_iter().map(|row| row.into_iter().map(|b| b / most).collect()).collect())
    }
}

fn layout(benefit: &Benefit, weight: &[f64], places: &[usize]) -> Layout {
    let of = |benefit: &[Vec<f64>]| Worth { benefit, weight, base: None }.of(places);
    Layout {
        places: places.to_vec(),
        value: of(&benefit.both),
        reach: of(&benefit.reach),
        view: benefit.view.as_deref().map(of),
    }
}

/// Rows times rows; `rows` alone where there is nothing to see by.
fn product(rows: &[Vec<f64>], seen: Option<&[Vec<f64>]>) -> Vec<Vec<f64>> {
    let Some(seen) = seen else { return rows.to_vec() };
    rows.iter().zip(seen).map(|(row, seen)| row.iter().zip(seen).map(|(a, b)| a * b).collect()).collect()
}

/// Boards and fins beside posts that are fixed.
struct Placing<'a> {
    setting: &'a Setting<'a>,
    spots: &'a [Spot],
    weight: &'a [f64],
    limit_s: f64,
    /// What each chosen post sees, if that counts.
    seen: Option<&'a [Vec<f64>]>,
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
                let rows = product(&rows, self.seen);
                (0..self.spots.len()).map(|c| rows.iter().map(|r| r[c]).fold(0.0, f64::max)).collect()
            })
            .collect();
        self.choose(chosen, &benefit, base, count)
    }

    fn fins(&self, chosen: &[Post], base: &[f64], count: usize) -> (Vec<Post>, Choice) {
        let gear = Gear { fins: true, ..Gear::default() };
        let benefit = reach_benefit(self.setting, (chosen, &gear, &[Way::Fins]), self.spots, self.limit_s);
        self.choose(chosen, &product(&benefit, self.seen), base, count)
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
