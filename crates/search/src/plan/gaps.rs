//! What of the probable region no order covers, and why (models P5).

use super::{
    Gap, Plan,
    lanes::Catalogue,
    lone::{flood, shares},
    problem::Problem,
};
use crate::lines::{dive_depth, wade_depth};
use measure::{Spot, parameters::value};
use std::collections::BTreeMap;
use water::{Cover, Kind};

/// Share of the mass on the bottom that the probable region holds.
const REGION: f64 = 0.8;
/// Passes below which a cell counts as not covered.
const COVERED: f64 = 0.3;
/// Share of a block in one leg from which on a lane goes over it, and does not only stray there.
const REACHED: f32 = 0.2;
/// Smallest piece told: share of the mass on the bottom.
const LEAST: f64 = 0.004;
/// Most pieces told.
const MOST: usize = 12;

/// Pieces of the 80 % region that no run covers, most mass first, each with its reason.
pub(super) fn gaps(problem: &Problem, plan: &Plan, catalogues: &[&Catalogue]) -> Vec<Gap> {
    let cells = &problem.cells;
    let mut order: Vec<usize> = (0..cells.len()).collect();
    order.sort_by(|&a, &b| cells.mass[b].total_cmp(&cells.mass[a]).then(a.cmp(&b)));
    let mut covered = vec![0.0; cells.len()];
    for leg in plan.runs.iter().flat_map(|run| &run.legs) {
        for (cell, share) in shares(problem, (&leg.sweep.stretch, 0.0)) {
            covered[cell as usize] += f64::from(share);
        }
    }
    let mut bare = vec![false; cells.grid.len()];
    let mut sum = 0.0;
    for cell in order {
        if sum >= REGION * cells.total {
            break;
        }
        sum += cells.mass[cell];
        bare[cells.index[cell] as usize] = covered[cell] < COVERED;
    }
    let reasons = Reasons::new(problem, plan, catalogues);
    let why: BTreeMap<usize, String> = cells
        .index
        .iter()
        .map(|&cell| cell as usize)
        .filter(|&cell| bare[cell])
        .map(|cell| (cell, reasons.of(cell)))
        .collect();
    let mut seen = bare;
    seen.fill(false);
    let mut gaps = Vec::new();
    for (&cell, reason) in &why {
        if seen[cell] {
            continue;
        }
        let group = flood(cells.grid.cols, cell, &mut seen, |next| why.get(&next) == Some(reason));
        gaps.push(gap(problem, &group, reason));
    }
    gaps.retain(|gap| gap.mass >= LEAST * cells.total);
    gaps.sort_by(|a, b| b.mass.total_cmp(&a.mass));
    gaps.truncate(MOST);
    gaps
}

fn gap(problem: &Problem, group: &[usize], why: &str) -> Gap {
    let grid = problem.cells.grid;
    let mass_of = |cell: usize| problem.cells.mass[problem.cells.slot(cell) as usize];
    let mass: f64 = group.iter().map(|&c| mass_of(c)).sum();
    let mean = group.iter().fold(Spot::default(), |sum, &c| sum + grid.centre(c) * (mass_of(c) / mass));
    // A bent piece may not hold its own mean: the nearest of its cells stands for it.
    let near = group.iter().copied().min_by(|&a, &b| {
        grid.centre(a).distance(mean).total_cmp(&grid.centre(b).distance(mean)).then(a.cmp(&b))
    });
    Gap {
        spot: near.map_or(mean, |cell| grid.centre(cell)),
        area_m2: group.len() as f64 * grid.cell_area_m2(),
        mass,
        why: why.to_string(),
    }
}

/// What is needed to tell why a cell is left out.
struct Reasons<'a> {
    problem: &'a Problem<'a>,
    wade_most_m: f64,
    dive_most_m: f64,
    /// Blocks that some lane of some line reaches.
    reached: Vec<bool>,
    covers: Vec<(&'a str, &'a water::Shape)>,
    /// Nobody can be sent in: no line and no first guard can be made of who is here.
    nobody: bool,
}

impl<'a> Reasons<'a> {
    fn new(problem: &'a Problem<'a>, plan: &Plan, catalogues: &[&Catalogue]) -> Self {
        let site = problem.setting().site;
        let most = |depth: &dyn Fn(usize) -> Option<f64>| {
            problem.people.iter().filter_map(|p| depth(p.member)).fold(0.0, f64::max)
        };
        let mut reached = vec![false; problem.blocks.all.len()];
        for catalogue in catalogues {
            for (block, mark) in reached.iter_mut().enumerate() {
                *mark |= catalogue.legs_of(block).iter().any(|&(_, share)| share >= REACHED);
            }
        }
        Reasons {
            problem,
            wade_most_m: most(&|k| wade_depth(problem.member(k), &site.limits)),
            dive_most_m: most(&|k| {
                dive_depth(problem.member(k), &site.limits).filter(|_| problem.rules.dive_s.is_some())
            }),
            reached,
            covers: site
                .features
                .iter()
                .filter(|f| matches!(f.kind, Kind::Dock(_) | Kind::Raft(_)))
                .map(|f| (f.name.as_str(), &f.shape))
                .collect(),
            nobody: catalogues.is_empty() && plan.teams.is_empty(),
        }
    }

    fn of(&self, cell: usize) -> String {
        let (ground, footing) = (self.problem.setting().ground, &self.problem.footing);
        let depth = ground.depth_m[cell];
        let speed = footing.current_at(cell).length();
        if !depth.is_finite() {
            return "the depth is not known here".into();
        }
        if ground.cover[cell] == Cover::Under {
            let spot = ground.grid.centre(cell);
            let over = self
                .covers
                .iter()
                .filter(|(name, _)| !name.is_empty())
                .min_by(|a, b| {
                    super::footing::distance(a.1, spot).total_cmp(&super::footing::distance(b.1, spot))
                })
                .map_or("a dock or raft".to_string(), |(name, _)| format!("the {name}"));
            return format!(
                "under {over}: no line goes there, it needs a pole or a tethered mask look from the edge"
            );
        }
        if footing.no_go.get(cell) == Some(&true) {
            let site = self.problem.setting().site;
            let keep_off = site.units.distance(site.limits.keep_off_m);
            return format!("within {keep_off} of ground no searcher may enter");
        }
        if self.nobody {
            return "nobody who is here can be sent in".into();
        }
        let dives = self.dive_most_m > 0.0 && speed <= value("dive_current_mps");
        if depth > self.wade_most_m.max(self.dive_most_m) {
            return if self.dive_most_m > 0.0 {
                "deeper than anybody here may dive".into()
            } else {
                "deeper than anybody here may wade, and nobody here may dive".into()
            };
        }
        if speed > value("dive_current_mps") && depth > self.wade_most_m {
            return format!("the current of {speed:.1} m/s is too fast for a dive line");
        }
        if depth * speed >= self.problem.setting().site.limits.wade_product_stop_m2ps && !dives {
            return format!("the current of {speed:.1} m/s is too fast at this depth");
        }
        if ground.keep_off[cell] && !dives {
            return "too near the drop-off for a wading line".into();
        }
        let slot = self.problem.cells.slot(cell) as usize;
        let known = slot < self.problem.cells.len();
        if known && (self.reached[self.problem.blocks.of(slot)] || !self.problem.cells.in_window(slot)) {
            "not reached in this plan: next when more is found out or more people come".into()
        } else if depth > self.wade_most_m && depth < value("dive_least_depth_m") {
            "between wading depth and where a dive line begins".into()
        } else if depth > self.wade_most_m {
            "a dive line cannot advance here, or has no room".into()
        } else {
            "too small or too cut up for a line".into()
        }
    }
}
