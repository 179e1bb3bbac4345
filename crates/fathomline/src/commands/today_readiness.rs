//! `fathomline today readiness`: simulated incidents where bathers are, zone by zone, and what would help.

use super::simulated::{Loaded, Scene, option_problem, print};
use crate::progress::Progress;
use crate::today::{lines, read_out};
use measure::parameters::value;
use measure::{Seed, Spot};
use readiness::chain::Thinking;
use readiness::reach::first_reach;
use readiness::today::{Asked, Case, cases, readiness};
use readiness::what_if::{self, Effect, WhatIf, cases_on, effect, ranked};
use search::Setting;
use serde_json::json;
use std::process::ExitCode;
use water::{Kind, Problem, Site};

/// How long it would take to be there and to find somebody, zone by zone, by simulated incidents on today's water.
#[derive(clap::Args)]
pub struct ReadinessOf {
    #[command(flatten)]
    scene: Scene,
    /// How many incidents.
    #[arg(long, default_value_t = 10_000, value_parser = clap::value_parser!(u64).range(1..=1_000_000))]
    incidents: u64,
    /// A change to try, with the same incidents; may be given several times.
    ///
    /// guard+1, guard-1, fins+2, rope=1.2, post=NAME@MARK, post=NAME@LON,LAT, stage+0.3, current*1.5, secchi+1;
    /// `standard` stands for all that need no name.
    #[arg(long, value_name = "CHANGE", verbatim_doc_comment)]
    what_if: Vec<String>,
    /// Simulate the whole water, however large.
    #[arg(long)]
    whole: bool,
    /// Print JSON.
    #[arg(long)]
    json: bool,
}

/// Truths that are tried against one alarm.
const TRUTHS: u64 = 25;
/// One alarm in so many is planned anew at every report, but no fewer than so many in all.
const ANEW: (u64, u64) = (8, 16);
/// Fewest and most alarms.
const ALARMS: (u64, u64) = (8, 2_000);
/// Particles of each plan.
const PARTICLES: usize = 8_000;
/// Changes of `standard`.
const STANDARD: [&str; 7] =
    ["guard+1", "guard-1", "fins+2", "rope=1.2", "stage+0.3", "current*1.5", "secchi+1"];

impl ReadinessOf {
    /// Runs it.
    pub fn run(self) -> ExitCode {
        print(self.text())
    }

    fn text(&self) -> Result<String, Vec<Problem>> {
        let loaded = self.scene.load()?;
        let changes = self.changes(&loaded.water.site)?;
        let said = loaded.cut_words(self.whole);
        let scene = loaded.simulated(self.whole);
        let zones = scene.zones();
        loaded.need_bathers(&zones)?;
        let setting = scene.setting();
        let reach = first_reach(&setting, loaded.at_s);
        let wet = zones.iter().filter(|zone| !zone.cells.is_empty()).count().max(1) as u64;
        let alarms = (self.incidents / TRUTHS).clamp(ALARMS.0, ALARMS.1).div_ceil(wet);
        let asked = Asked {
            setting,
            zones: &zones,
            at_s: loaded.at_s,
            alarms,
            truths: self.incidents.div_ceil(alarms * wet),
            anew: (alarms / ANEW.0).max(ANEW.1.div_ceil(wet)).min(alarms),
            thinking: Thinking { particles: PARTICLES, ..Thinking::default() },
            reach: &reach,
            seed: Seed(self.scene.seed),
        };
        let total = alarms * zones.len() as u64;
        let progress = Progress::new("alarms", total);
        let today = cases(&asked, &|done| progress.tell(done));
        let whole = readiness(&asked, &today);
        let mut effects = Vec::new();
        let mut unfit = Vec::new();
        let areas: Vec<f64> = zones.iter().map(|zone| zone.area_m2(&setting.ground.grid)).collect();
        for change in &changes {
            if Progress::ended() {
                break;
            }
            match self.tried(&loaded, (&asked, &scene, &today), change, &areas) {
                Ok(effect) => effects.push(effect),
                Err(why) => unfit.push(format!("{}: {why}", change.words(&loaded.water.site))),
            }
        }
        let effects = ranked(effects);
        let unfinished = (today.len() as u64) < alarms * wet;
        if self.json {
            let all = json!({
                "site": loaded.water.site.name, "date": loaded.day.date, "at": self.scene.at, "seed": self.scene.seed,
                "asked_for": self.incidents, "unfinished": unfinished, "readiness": whole, "what_if": effects,
                "not_tried": unfit, "said": said,
                "read_out": read_out(&whole),
            });
            return Ok(format!("{all:#}\n"));
        }
        let head = format!(
            "{}, {}, {}: {} incidents on {} alarms, seed {}{}\n",
            loaded.water.site.name,
            loaded.day.date,
            self.scene.at,
            whole.incidents,
            today.len(),
            self.scene.seed,
            if unfinished { "; ended early, this is what was done" } else { "" }
        );
        Ok(lines((head, loaded.water.site.units), &whole, &effects, said.into_iter().chain(unfit).collect()))
    }

    /// One change tried on the same incidents.
    fn tried(
        &self,
        loaded: &Loaded,
        (asked, scene, today): (&Asked, &what_if::Scene, &[Case]),
        change: &WhatIf,
        areas: &[f64],
    ) -> Result<Effect, &'static str> {
        let cut = |site: &Site, ground| loaded.cut(site, ground, self.whole);
        let other = scene.changed(change, loaded.at_s, &cut).ok_or("there is nothing to change")?;
        if other.zones().iter().all(|zone| zone.cells.is_empty()) {
            return Err("nobody would be left to bathe anywhere: there is nothing to compare");
        }
        let setting: Setting = other.setting();
        let reach = first_reach(&setting, loaded.at_s);
        let progress =
            Progress::new(change.words(&loaded.water.site), asked.alarms * asked.zones.len() as u64);
        let changed = cases_on(asked, &other, &reach, &|done| progress.tell(done));
        Ok(effect(change.words(&loaded.water.site), (today, &changed), areas))
    }

    fn changes(&self, site: &Site) -> Result<Vec<WhatIf>, Vec<Problem>> {
        let mut all = Vec::new();
        let mut problems = Vec::new();
        for word in &self.what_if {
            let words = if word == "standard" { STANDARD.to_vec() } else { vec![word.as_str()] };
            for word in words {
                match change(word, site) {
                    Ok(change) => all.push(change),
                    Err(what) => {
                        let remedy = "use guard+1, guard-1, fins+2, rope=1.2, post=NAME@MARK, stage+0.3, current*1.5 or secchi+1";
                        problems.push(option_problem("--what-if", what, remedy));
                    }
                }
            }
        }
        if problems.is_empty() { Ok(all) } else { Err(problems) }
    }
}

/// Reads one change.
fn change(word: &str, site: &Site) -> Result<WhatIf, String> {
    let word = word.trim();
    let unknown = || format!("{word:?} is no change that is known");
    let number = |text: &str, low: f64, high: f64| {
        let value = text.parse::<f64>().ok().filter(|n| n.is_finite()).ok_or_else(unknown)?;
        let fits = (low..=high).contains(&value);
        if fits { Ok(value) } else { Err(format!("{word:?}: {value} lies outside {low} to {high}")) }
    };
    if let Some(rest) = word.strip_prefix("post=") {
        let (name, place) = rest.split_once('@').ok_or_else(unknown)?;
        let posts = || site.of_kind(Kind::Post).map(|post| post.name.as_str());
        let post = posts().find(|post| post.eq_ignore_ascii_case(name.trim())).ok_or_else(|| {
            format!("{name:?} is no post on the map; it has {}", posts().collect::<Vec<_>>().join(", "))
        })?;
        return Ok(WhatIf::Post(post.to_string(), spot(place, site)?));
    }
    match word {
        "guard+1" => return Ok(WhatIf::GuardMore),
        "guard-1" => return Ok(WhatIf::GuardFewer),
        _ => {}
    }
    if let Some(rest) = word.strip_prefix("fins+") {
        return Ok(WhatIf::Fins(number(rest, 1.0, 100.0)? as u32));
    }
    if let Some(rest) = word.strip_prefix("rope=") {
        return Ok(WhatIf::Rope(number(rest, 0.1, 20.0)?));
    }
    if let Some(rest) = word.strip_prefix("stage") {
        return Ok(WhatIf::Stage(number(rest, -10.0, 10.0)?));
    }
    if let Some(rest) = word.strip_prefix("current*") {
        return Ok(WhatIf::Current(number(rest, 0.0, 20.0)?));
    }
    if let Some(rest) = word.strip_prefix("secchi") {
        return Ok(WhatIf::Clarity(number(rest, -20.0, 20.0)?));
    }
    Err(unknown())
}

/// A place: a mark of the map, or degrees.
fn spot(text: &str, site: &Site) -> Result<Spot, String> {
    if let Some(mark) = site.named(text) {
        return Ok(mark.shape.middle());
    }
    let at = super::options::lonlat(text)
        .map_err(|_| format!("{text:?} is neither a mark of the map nor longitude,latitude"))?;
    let spot = site.frame.to_site(at);
    if spot.length() > value("site_reach_m") {
        return Err(format!("{text:?} is no place at this site"));
    }
    Ok(spot)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn changes_are_read_and_nonsense_is_refused() {
        let dir = concat!(env!("CARGO_MANIFEST_DIR"), "/../../data/sites/kestrel-tarn");
        let site = crate::site_folder::load_site(std::path::Path::new(dir)).unwrap().0;
        for (word, expect) in [
            ("guard+1", WhatIf::GuardMore),
            ("fins+2", WhatIf::Fins(2)),
            ("rope=1.2", WhatIf::Rope(1.2)),
            ("stage-0.2", WhatIf::Stage(-0.2)),
            ("stage+0.3", WhatIf::Stage(0.3)),
            ("current*1.5", WhatIf::Current(1.5)),
            ("secchi+1", WhatIf::Clarity(1.0)),
        ] {
            assert_eq!(change(word, &site), Ok(expect), "{word}");
        }
        let moved = change("post=tower@Slab", &site).unwrap();
        assert_eq!(moved, WhatIf::Post("Tower".into(), site.named("Slab").unwrap().shape.middle()));
        assert!(
            matches!(change("post=Tower@-3.1,54.5", &site).unwrap(), WhatIf::Post(_, at) if at.length() < 20.0)
        );
        for word in [
            "",
            "guard+2",
            "fins+-1",
            "rope=0",
            "post=Tower",
            "post=Nix@Slab",
            "post=Tower@200,1",
            "post=Tower@100,80",
            "post=Swim area@Slab",
            "stage",
            "secchi+NaN",
            "current*-1",
        ] {
            assert!(change(word, &site).is_err(), "{word}");
        }
    }
}
