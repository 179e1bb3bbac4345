//! What the people and the kit of a day can search of a bathing area, and what they are short of.

use crate::bathers::Zone;
use measure::parameters::value;
use search::Setting;
use search::lines::{dive_depth, dive_time, wade_depth};
use serde::Serialize;
use water::{Cover, Kind, Member, Site};

/// What can be searched of a zone, and what is missing.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Shortage {
    /// Share of its area that a line or a diver of today's crew may search.
    pub searchable: f64,
    /// What cannot be searched: (share of the area, why).
    pub not_searchable: Vec<(f64, String)>,
    /// People who are missing for what the water asks.
    pub people: Vec<String>,
    /// Kit that is missing.
    pub kit: Vec<String>,
}

/// What the people on duty may do together.
struct Hands {
    guards: usize,
    wade_m: f64,
    waders: usize,
    dive_m: f64,
    divers: usize,
    lookouts: usize,
    leads: usize,
}

impl Hands {
    fn of(setting: &Setting, at_s: f64) -> Hands {
        let limits = &setting.site.limits;
        let on_duty: Vec<&Member> = setting.day.crew.iter().filter(|m| m.on_duty(at_s)).collect();
        let guards: Vec<&&Member> = on_duty
            .iter()
            .filter(|m| !m.volunteer && (m.wade || m.dive_m.is_some() || m.lookout || m.lead || m.board))
            .collect();
        let depths = |limit: &dyn Fn(&Member) -> Option<f64>| -> Vec<f64> {
            let mut all: Vec<f64> = guards.iter().filter_map(|m| limit(m)).collect();
            all.sort_by(|a, b| b.total_cmp(a));
            all
        };
        let (wade, dive) = (depths(&|m| wade_depth(m, limits)), depths(&|m| dive_depth(m, limits)));
        // A line goes as deep as its second deepest; a single diver may go where a named watcher stands.
        let second = |all: &[f64]| all.get(1).or(all.first()).copied().unwrap_or(0.0);
        Hands {
            guards: guards.len(),
            wade_m: second(&wade),
            waders: wade.len(),
            dive_m: second(&dive),
            divers: dive.len(),
            lookouts: guards.iter().filter(|m| m.lookout).count(),
            leads: guards.iter().filter(|m| m.lead).count(),
        }
    }

    /// Why nobody dives today, if nobody does.
    fn no_dives(&self, water_c: f64) -> Option<String> {
        if dive_time(water_c).is_none() {
            return Some(format!("water of {water_c:.0} °C: no surface dives without a wetsuit"));
        }
        if self.divers == 0 {
            return Some("nobody on duty may dive".into());
        }
        if self.lookouts == 0 || self.guards < 3 {
            return Some("no lookout to spare for a diver".into());
        }
        None
    }

    /// Why nobody may search water of a depth \[m\] and a speed \[m/s\], if nobody may.
    fn bars(
        &self,
        (depth_m, speed_mps): (f64, f64),
        no_dives: &Option<String>,
        Site { limits, units, .. }: &Site,
    ) -> Option<String> {
        let waded = self.waders >= 2 && depth_m <= self.wade_m;
        let dived = no_dives.is_none() && depth_m <= self.dive_m && depth_m >= value("dive_least_depth_m");
        let calm_to_wade = depth_m * speed_mps < limits.wade_product_stop_m2ps;
        let calm_to_dive = speed_mps <= value("dive_current_mps");
        if self.guards >= 2 && (waded && calm_to_wade || dived && calm_to_dive) {
            return None;
        }
        Some(if self.guards == 0 {
            "nobody is on duty who may search".to_string()
        } else if self.guards < 2 {
            "one guard alone stays out of the water".to_string()
        } else if depth_m.is_nan() {
            "the depth is not known".to_string()
        } else if waded || dived {
            // The speed itself differs from cell to cell: one reason for all of them.
            format!(
                "the current is too fast: divers search up to {:.1} m/s, waders up to {:.1} {} of depth times speed a second",
                value("dive_current_mps"),
                units.area_of(limits.wade_product_stop_m2ps),
                units.area_unit()
            )
        } else if depth_m > self.wade_m.max(if no_dives.is_none() { self.dive_m } else { 0.0 }) {
            match no_dives {
                Some(why) if depth_m <= limits.dive_depth_m => why.clone(),
                _ => "deeper than anybody on duty may go".to_string(),
            }
        } else {
            "too few on duty who may wade".to_string()
        })
    }
}

/// What the crew on duty can search of a zone, and what is short.
///
/// # Inputs
/// - `setting` · `zone` · `at_s`: time of day \[s after midnight\]
///
/// # Gives
/// Shares of the zone's area; shortages in words.
///
/// # Source
/// limits of persons and site (docs/models/lines.md); roles by common practice
pub fn shortage(setting: &Setting, zone: &Zone, at_s: f64) -> Shortage {
    let hands = Hands::of(setting, at_s);
    let mut short = Shortage::default();
    if zone.cells.is_empty() {
        short.not_searchable.push((1.0, "it holds no water at today's stage".into()));
        return short;
    }
    let mut reasons: Vec<(usize, String)> = Vec::new();
    let mut searched = 0;
    let mut deep = 0;
    let no_dives = hands.no_dives(setting.day.water_c);
    for &cell in &zone.cells {
        let spot = setting.ground.grid.centre(cell as usize);
        let water = (setting.ground.depth_m[cell as usize], setting.flow.at(spot).length());
        deep += usize::from(water.0 > hands.wade_m);
        let Some(why) = hands.bars(water, &no_dives, setting.site) else {
            searched += 1;
            continue;
        };
        match reasons.iter_mut().find(|(_, known)| *known == why) {
            Some((count, _)) => *count += 1,
            None => reasons.push((1, why)),
        }
    }
    let n = zone.cells.len() as f64;
    short.searchable = searched as f64 / n;
    reasons.sort_by(|a, b| b.0.cmp(&a.0).then(a.1.cmp(&b.1)));
    short.not_searchable = reasons.into_iter().map(|(count, why)| (count as f64 / n, why)).collect();
    short.people = people(&hands, deep as f64 / n, setting);
    short.kit = kit(&hands, setting, zone);
    short
}

/// Who is missing: somebody in charge, a lookout, two divers where it is deep, two waders where it is not.
fn people(hands: &Hands, deep: f64, setting: &Setting) -> Vec<String> {
    let mut all = Vec::new();
    let mut lacks = |have: usize, want: usize, who: &str| {
        if have < want {
            all.push(format!("{} more {who}", want - have));
        }
    };
    lacks(hands.leads, 1, "who may lead");
    lacks(hands.lookouts, 1, "who may be lookout");
    if deep > 0.02 && dive_time(setting.day.water_c).is_some() {
        lacks(hands.divers, 2, "who may dive");
    }
    if deep < 0.98 {
        lacks(hands.waders, 2, "who may wade");
    }
    // One in charge, one lookout, two in a line.
    lacks(hands.guards, 4, "on duty: in charge, lookout and a line of two");
    all
}

fn kit(hands: &Hands, setting: &Setting, zone: &Zone) -> Vec<String> {
    let kit = &setting.day.kit;
    let mut all = Vec::new();
    if kit.markers == 0 {
        all.push("a marker for the last seen point".to_string());
    }
    if kit.tubes < 2 && hands.guards > 0 {
        all.push(format!("{} rescue tubes: one for the first guard, one for the lookout", 2 - kit.tubes));
    }
    if hands.divers > 0 && (kit.masks as usize) < hands.divers {
        all.push(format!(
            "{} masks: {} divers share {}",
            hands.divers - kit.masks as usize,
            hands.divers,
            kit.masks
        ));
    }
    if hands.divers > 0 && (kit.fins as usize) < hands.divers {
        let count = hands.divers - kit.fins as usize;
        all.push(format!(
            "{count} pairs of fins: a dive line wears them only when everybody in it has a pair"
        ));
    }
    let covered = |kind: Kind| matches!(kind, Kind::Raft(_) | Kind::Dock(_));
    let near = setting.site.features.iter().any(|f| covered(f.kind))
        && zone.cells.iter().any(|&cell| {
            // Beside something with water under it.
            let (cols, at) = (setting.ground.grid.cols, cell as usize);
            [at.checked_sub(1), Some(at + 1), at.checked_sub(cols), Some(at + cols)]
                .into_iter()
                .flatten()
                .any(|next| setting.ground.cover.get(next) == Some(&Cover::Under))
        });
    if near && kit.poles + kit.masks == 0 {
        all.push("a pole or a mask to look under docks and rafts".to_string());
    }
    all
}
