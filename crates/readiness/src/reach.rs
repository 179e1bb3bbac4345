//! How soon the first guard is anywhere: by the ways of `watch::reach`, and straight as a plain check on it.

use measure::{Spot, parameters::value};
use search::Setting;
use watch::reach::{Gear, Paces, Post, Reach};
use water::{Cover, Kind};

/// Where guards on duty who may go in leave from, each place once.
fn posts(setting: &Setting, at_s: f64) -> Vec<Post> {
    let mut all: Vec<Post> = Vec::new();
    let guards = setting.day.crew.iter().filter(|m| m.on_duty(at_s) && !m.volunteer);
    for guard in guards.filter(|m| m.wade || m.dive_m.is_some()) {
        let spot = setting.site.named(&guard.post).map_or_else(|| hut(setting), |post| post.shape.middle());
        if all.iter().all(|post| post.spot != spot) {
            let name = if guard.post.is_empty() { "where the kit is".into() } else { guard.post.clone() };
            all.push(Post { name, spot });
        }
    }
    all
}

/// First arrival of any guard on duty over deck, sand and water, with fins, board or boat where they lie ready.
///
/// # Inputs
/// - `setting` · `at_s`: time of day, for who is on duty \[s after midnight\]
///
/// # Gives
/// Seconds from leaving the post, for any place; `None` where no way leads.
///
/// # Source
/// docs/models/reach.md
pub fn first_reach<'a>(setting: &'a Setting<'a>, at_s: f64) -> impl Fn(Spot) -> Option<f64> + Sync + 'a {
    let posts = posts(setting, at_s);
    let paces = Paces::at(setting.site.water_kind);
    let ways = watch::reach::Setting {
        site: setting.site,
        ground: setting.ground,
        flow: setting.flow,
        paces: &paces,
    };
    let reach = Reach::from_posts(&ways, &posts, &Gear::of(setting.site, setting.day));
    move |spot| reach.first_at(spot).map(|arrival| arrival.seconds).filter(|s| s.is_finite())
}

/// Straight over land and water: run to the shore, then swim; what is used where nothing better is known of the ways.
///
/// # Inputs
/// - `setting` · `at_s`: time of day, for who is on duty \[s after midnight\]
///
/// # Gives
/// The least time of all on duty who may go in \[s\].
///
/// # Source
/// paces of the register
pub fn straight_reach<'a>(setting: &'a Setting<'a>, at_s: f64) -> impl Fn(Spot) -> Option<f64> + Sync + 'a {
    let posts = posts(setting, at_s);
    move |spot| {
        let times = posts.iter().map(|post| run_and_swim_s(setting, post.spot, spot));
        times.min_by(f64::total_cmp).filter(|s| s.is_finite())
    }
}

/// Where people are who have no post.
fn hut(setting: &Setting) -> Spot {
    [Kind::KitPlace, Kind::Gate, Kind::Post, Kind::Landmark]
        .into_iter()
        .find_map(|kind| setting.site.of_kind(kind).next())
        .map_or(Spot::default(), |feature| feature.shape.middle())
}

/// Seconds along the straight line: `gather_mps` on land and to the knee, then the swimmer's transit pace.
fn run_and_swim_s(setting: &Setting, from: Spot, to: Spot) -> f64 {
    let ground = setting.ground;
    let length_m = from.distance(to);
    let steps = (length_m / ground.grid.cell_m).ceil().max(1.0);
    let (run, swim) = (value("gather_mps"), value("transit_swim_mps"));
    (0..steps as usize)
        .map(|k| {
            let spot = from.lerp(to, (k as f64 + 0.5) / steps);
            let cell = ground.grid.cell(spot);
            let wet = cell.is_some_and(|c| {
                ground.cover[c] == Cover::Open && (ground.depth_m[c].is_nan() || ground.depth_m[c] > 0.5)
            });
            length_m / steps / if wet { swim } else { run }
        })
        .sum()
}
