//! From posts to arrival times: every post, every way, every cell.

use super::march::{Footing, Medium, Start};
use super::paces::{Paces, Way};
use super::terrain::Terrain;
use measure::Spot;
use rayon::prelude::*;
use water::{Day, Flow, Ground, Kind, Site, Units};

/// Place from which a guard leaves.
#[derive(Clone, Debug, PartialEq)]
pub struct Post {
    /// Name.
    pub name: String,
    /// Where.
    pub spot: Spot,
}

/// The water of today and how fast guards are on it.
#[derive(Clone, Copy)]
pub struct Setting<'a> {
    /// As surveyed.
    pub site: &'a Site,
    /// The bottom at today's stage.
    pub ground: &'a Ground,
    /// Today's current.
    pub flow: &'a Flow,
    /// Paces and overheads.
    pub paces: &'a Paces,
}

/// What lies ready beside the tubes that every guard has.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Gear {
    /// Whether guards have fins at their posts.
    pub fins: bool,
    /// Where boards lie.
    pub boards: Vec<Spot>,
    /// Where boats lie.
    pub boats: Vec<Spot>,
}

impl Gear {
    /// The gear of a day: fins where there is a pair for every post; boards and boats at the places where kit
    /// hangs, in turn, or at the posts where no such place is drawn.
    pub fn of(site: &Site, day: &Day) -> Gear {
        let places = |kind: Kind| site.of_kind(kind).map(|f| f.shape.middle()).collect::<Vec<Spot>>();
        let posts = places(Kind::Post);
        let mut racks = places(Kind::KitPlace);
        if racks.is_empty() {
            racks.clone_from(&posts);
        }
        let lay =
            |count: u32| racks.iter().cycle().take((count as usize).min(racks.len())).copied().collect();
        Gear {
            fins: day.kit.fins > 0 && day.kit.fins as usize >= posts.len(),
            boards: lay(day.kit.boards),
            boats: lay(day.kit.boats),
        }
    }
}

/// Arrival times of one way from one post.
#[derive(Clone, Debug)]
pub struct WayReach {
    /// The way.
    pub way: Way,
    /// Seconds from leaving the post to the middle of each cell of the terrain; infinite where there is no way.
    pub arrival_s: Vec<f32>,
    /// Arrival on foot where the gear is put to use, launch included; none for swimming, which mixes both freely.
    pub(super) launched_s: Option<Vec<f32>>,
    /// Where the gear lies, for boards and boats.
    pub gear: Option<Spot>,
}

/// Arrival times from one post.
#[derive(Clone, Debug)]
pub struct PostReach {
    /// The post.
    pub post: Post,
    /// On foot only: land, decks, water that may be waded \[s\].
    pub foot_s: Vec<f32>,
    /// Ways that today's gear allows, in the order of [`Way::ALL`].
    pub ways: Vec<WayReach>,
}

/// Who is there first.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Arrival {
    /// Seconds from leaving the post.
    pub seconds: f64,
    /// Index of the post.
    pub post: usize,
    /// The way.
    pub way: Way,
}

/// How soon guards are anywhere on the water.
#[derive(Clone, Debug)]
pub struct Reach {
    /// The ground crossed.
    pub terrain: Terrain,
    /// From each post.
    pub posts: Vec<PostReach>,
    /// Stage the times belong to \[m\].
    pub stage_m: f64,
    /// Doubts to be shown.
    pub notes: Vec<String>,
}

/// Media that all posts share.
struct Media {
    foot: Medium,
    swim: Medium,
    others: Vec<(Way, Medium)>,
}

impl Reach {
    /// First arrival from posts over land, decks and water, by every way. Model `reach`, docs/models/reach.md.
    ///
    /// Swimming goes on foot or through the water, whichever is faster in each cell. With fins, board or boat a
    /// guard first goes on foot to where they are put to use, pays for that once, and then goes through the water.
    /// In moving water the current is added to the own pace; where it wins there is no arrival.
    ///
    /// # Inputs
    /// - `setting`: water, current, paces · `posts`: where guards leave from · `gear`: what lies ready where
    ///
    /// # Gives
    /// Seconds from leaving the post, so without recognising and deciding (`reaction_s`); doubts with it.
    ///
    /// # Source
    /// first arrival by marching: docs/models/reach.md
    pub fn from_posts(setting: &Setting, posts: &[Post], gear: &Gear) -> Reach {
        let mut places: Vec<Spot> = posts.iter().map(|p| p.spot).collect();
        places.extend(gear.boards.iter().chain(&gear.boats));
        let terrain = Terrain::of(setting.site, setting.ground, setting.flow, &places);
        let mut notes = terrain.notes.clone();
        if posts.is_empty() {
            notes.push(
                "no post is given: nobody can be sent; draw posts in map.geojson or name a place".into(),
            );
        }
        for post in posts {
            notes.extend(doubt(&terrain, post, setting.site.units));
        }
        let paces = setting.paces;
        let mut ways: Vec<Way> = Vec::new();
        for (way, there) in [
            (Way::Fins, gear.fins),
            (Way::Board, !gear.boards.is_empty()),
            (Way::Boat, !gear.boats.is_empty()),
        ] {
            if there {
                ways.push(way);
            }
        }
        let media = Media {
            foot: terrain.on_foot(paces),
            swim: terrain.on_foot_and_swimming(paces),
            others: ways.into_iter().map(|way| (way, terrain.by_water(paces, way))).collect(),
        };
        let all = posts.par_iter().map(|post| from_post(&media, &terrain, (post, gear), paces)).collect();
        Reach { terrain, posts: all, stage_m: setting.ground.stage_m, notes }
    }

    /// Who is first in a cell of the terrain; ties go to the earlier post, then to the simpler way.
    pub fn first(&self, cell: usize) -> Option<Arrival> {
        let all = self.posts.iter().enumerate().flat_map(|(post, reach)| {
            reach.ways.iter().map(move |w| (f64::from(w.arrival_s[cell]), post, w.way))
        });
        let best = all.min_by(|a, b| a.0.total_cmp(&b.0))?;
        best.0.is_finite().then_some(Arrival { seconds: best.0, post: best.1, way: best.2 })
    }

    /// Who is first at a place; `None` outside the terrain or where nobody comes.
    pub fn first_at(&self, spot: Spot) -> Option<Arrival> {
        self.first(self.terrain.grid.cell(spot)?)
    }

    /// Seconds from one post by one way to a place; `None` where that way is not there or does not lead there.
    pub fn arrival_s(&self, post: usize, way: Way, spot: Spot) -> Option<f64> {
        let cell = self.terrain.grid.cell(spot)?;
        let found = self.posts.get(post)?.ways.iter().find(|w| w.way == way)?;
        Some(f64::from(found.arrival_s[cell])).filter(|s| s.is_finite())
    }

    /// Seconds of the first arrival in every cell, of all posts and ways together; infinite where nobody comes.
    pub fn first_s(&self) -> Vec<f32> {
        let mut least = vec![f32::INFINITY; self.terrain.grid.len()];
        for way in self.posts.iter().flat_map(|p| &p.ways) {
            least.iter_mut().zip(&way.arrival_s).for_each(|(l, s)| *l = l.min(*s));
        }
        least
    }
}

/// What is doubtful about where a post stands.
fn doubt(terrain: &Terrain, post: &Post, units: Units) -> Option<String> {
    let name = &post.name;
    let Some(cell) = terrain.grid.cell(post.spot) else {
        return Some(format!("{name} lies far from the water: guards run to it in a straight line"));
    };
    match terrain.footing[cell] {
        Footing::Wall => Some(format!("{name} stands on no-go ground: nobody is taken to leave from there")),
        Footing::Water => Some(format!(
            "{name} stands in {} of water and on no dock: guards are taken to start in it; draw the dock",
            if terrain.depth_m[cell].is_nan() {
                "an unknown depth".to_string()
            } else {
                units.length(terrain.depth_m[cell])
            }
        )),
        _ => None,
    }
}

/// Where a march from a place begins: the place, or for one off the grid its edge, later by the run there.
pub(super) fn start_at(medium: &Medium, spot: Spot, at_s: f64, land_mps: f64) -> Start {
    let grid = medium.grid();
    if grid.cell(spot).is_some() || !spot.is_finite() {
        return Start::Spot(spot, at_s);
    }
    let low = grid.centre(0);
    let high = grid.centre(grid.len() - 1);
    let edge = Spot::new(spot.east.clamp(low.east, high.east), spot.north.clamp(low.north, high.north));
    Start::Spot(edge, at_s + spot.distance(edge) / land_mps)
}

fn from_post(media: &Media, terrain: &Terrain, (post, gear): (&Post, &Gear), paces: &Paces) -> PostReach {
    let start = start_at(&media.foot, post.spot, paces.entry_s, paces.land_mps);
    let foot = media.foot.march(&start);
    let swim = WayReach {
        way: Way::Swim,
        arrival_s: narrow(&media.swim.march(&start)),
        launched_s: None,
        gear: None,
    };
    let mut ways = vec![swim];
    for (way, medium) in &media.others {
        let launch_s = paces.launch_s(*way);
        let places = match way {
            Way::Board => gear.boards.as_slice(),
            Way::Boat => gear.boats.as_slice(),
            _ => &[],
        };
        let (launched, place) = if places.is_empty() {
            (foot.iter().map(|s| s + launch_s).collect(), None)
        } else {
            let Some((place, there_s)) = nearest(terrain, &foot, places) else { continue };
            let start = start_at(&media.foot, place, there_s + launch_s, paces.land_mps);
            (media.foot.march(&start), Some(place))
        };
        let arrival = medium.march(&Start::Cells(seeds(terrain, medium, &launched, &media.foot)));
        ways.push(WayReach {
            way: *way,
            arrival_s: narrow(&arrival),
            launched_s: Some(narrow(&launched)),
            gear: place,
        });
    }
    PostReach { post: post.clone(), foot_s: narrow(&foot), ways }
}

/// The place of gear that is first reached on foot, with the time.
fn nearest(terrain: &Terrain, foot_s: &[f64], places: &[Spot]) -> Option<(Spot, f64)> {
    let there = |place: &Spot| terrain.grid.cell(*place).map(|cell| foot_s[cell]);
    let all = places.iter().filter_map(|place| Some((*place, there(place)?)));
    all.filter(|(_, s)| s.is_finite()).min_by(|a, b| a.1.total_cmp(&b.1))
}

/// Cells of water where somebody on foot goes over to the water, with the time of doing so.
fn seeds(terrain: &Terrain, medium: &Medium, foot_s: &[f64], foot: &Medium) -> Vec<(usize, f64)> {
    let mut found = Vec::new();
    for cell in 0..foot_s.len() {
        if medium.is_wall(cell) {
            continue;
        }
        if foot_s[cell].is_finite() {
            found.push((cell, foot_s[cell]));
            continue;
        }
        let half = |cell: usize, medium: &Medium| 0.5 * terrain.grid.cell_m / medium.pace_mps(cell);
        let beside = neighbours(&terrain.grid, cell).filter(|&b| foot_s[b].is_finite());
        let least =
            beside.map(|b| foot_s[b] + half(b, foot) + half(cell, medium)).fold(f64::INFINITY, f64::min);
        if least.is_finite() {
            found.push((cell, least));
        }
    }
    found
}

/// The cells beside a cell: west, east, south, north.
pub(super) fn neighbours(grid: &water::Grid, cell: usize) -> impl Iterator<Item = usize> + use<> {
    let (col, row, cols, rows) = (cell % grid.cols, cell / grid.cols, grid.cols, grid.rows);
    [
        (col > 0).then(|| cell - 1),
        (col + 1 < cols).then(|| cell + 1),
        (row > 0).then(|| cell - cols),
        (row + 1 < rows).then(|| cell + cols),
    ]
    .into_iter()
    .flatten()
}

fn narrow(times_s: &[f64]) -> Vec<f32> {
    times_s.iter().map(|&s| s as f32).collect()
}
