//! The belief as it is drawn: places, outlines, shares in words.

use crate::screen::Outline;
use search::belief::Belief;
use water::{Bed, Cover, Grid, Ground, contours};

/// Places that are drawn.
const DOTS: usize = 600;
/// Shares inside the outlines.
pub(crate) const SHARES: [f64; 3] = [0.5, 0.8, 0.95];

/// What is drawn of a belief.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Picture {
    /// Possible places, each of equal weight.
    pub dots: Vec<[f32; 2]>,
    /// Outlines of the 50, 80 and 95 % regions.
    pub outlines: Vec<Outline>,
}

impl Picture {
    /// Draws a belief on the grid of the ground.
    pub(super) fn of(belief: &Belief, grid: &Grid) -> Picture {
        Picture { dots: dots(belief), outlines: outlines(belief, grid) }
    }
}

/// Every so much mass one place: the same cloud gives the same dots.
fn dots(belief: &Belief) -> Vec<[f32; 2]> {
    let cloud = &belief.cloud;
    let total: f64 = cloud.mass.iter().sum();
    if total.is_nan() || total <= 0.0 {
        return Vec::new();
    }
    let step = total / DOTS as f64;
    let (mut sum, mut next) = (0.0, 0.5 * step);
    let mut dots = Vec::with_capacity(DOTS);
    for k in 0..cloud.len() {
        sum += cloud.mass[k];
        while sum > next && dots.len() < DOTS {
            dots.push(place(cloud.spot(k)));
            next += step;
        }
    }
    dots
}

/// A place to the decimetre.
fn place(spot: measure::Spot) -> [f32; 2] {
    [spot.east, spot.north].map(|m| ((m * 10.0).round() / 10.0) as f32)
}

/// Lines of equal density that hold the stated shares of what is on the bottom.
fn outlines(belief: &Belief, grid: &Grid) -> Vec<Outline> {
    let field = belief.smoothed(grid);
    let mut ranked: Vec<f64> = field.values.iter().copied().filter(|mass| *mass > 0.0).collect();
    ranked.sort_by(|a, b| b.total_cmp(a));
    let total: f64 = ranked.iter().sum();
    if total.is_nan() || total <= 0.0 {
        return Vec::new();
    }
    let levels: Vec<f64> = SHARES
        .iter()
        .map(|share| {
            let mut sum = 0.0;
            let last = ranked.iter().find(|mass| {
                sum += **mass;
                sum >= share * total
            });
            // Between the last cell inside and the first outside: just below the last one inside.
            last.or(ranked.last()).map_or(0.0, |mass| mass * (1.0 - 1e-9))
        })
        .collect();
    // Lines of equal depth are lines of equal anything: the density takes the place of the depth.
    let sheet = Ground {
        grid: *grid,
        stage_m: 0.0,
        cover: vec![Cover::Open; grid.len()],
        bed: vec![Bed::Sand; grid.len()],
        to_sounding_m: vec![0.0; grid.len()],
        beyond: vec![false; grid.len()],
        keep_off: vec![false; grid.len()],
        notes: Vec::new(),
        depth_m: field.values,
    };
    contours(&sheet, &levels)
        .into_iter()
        .zip(SHARES)
        .map(|((_, lines), share)| Outline {
            share,
            rings: lines.iter().map(|line| line.iter().map(|&spot| place(spot)).collect()).collect(),
        })
        .collect()
}
