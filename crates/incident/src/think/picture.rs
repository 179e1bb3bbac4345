//! The belief as it is drawn: places, outlines, shares in words.

use crate::screen::Outline;
use measure::Spot;
use search::belief::Belief;
use water::{Bed, Cover, Grid, Ground, contours};

/// Places that are drawn.
const DOTS: usize = 600;
/// Shares inside the outlines.
pub(crate) const SHARES: [f64; 3] = [0.5, 0.8, 0.95];

/// A place nearer to the straight line between its neighbours is not sent \[m\].
const STRAIGHT_M: f64 = 0.35;

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
fn place(spot: Spot) -> [f32; 2] {
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
            rings: lines.iter().map(|line| thinned(line).into_iter().map(place).collect()).collect(),
        })
        .collect()
}

/// A line without the places that lie as good as straight between others: a phone draws the same, and is sent a fraction.
fn thinned(line: &[Spot]) -> Vec<Spot> {
    let mut keep = vec![false; line.len()];
    let Some(last) = line.len().checked_sub(1) else { return Vec::new() };
    (keep[0], keep[last]) = (true, true);
    let mut parts = vec![(0, last)];
    while let Some((a, b)) = parts.pop() {
        let off = |k: &usize| off_line(line[*k], line[a], line[b]);
        let farthest =
            (a + 1..b).map(|k| (k, off(&k))).max_by(|x, y| x.1.total_cmp(&y.1).then(y.0.cmp(&x.0)));
        if let Some((k, _)) = farthest.filter(|(_, off_m)| *off_m > STRAIGHT_M) {
            keep[k] = true;
            parts.extend([(a, k), (k, b)]);
        }
    }
    line.iter().zip(keep).filter(|(_, keep)| *keep).map(|(spot, _)| *spot).collect()
}

/// How far a place lies from the straight piece between two others \[m\].
fn off_line(spot: Spot, a: Spot, b: Spot) -> f64 {
    let along = b - a;
    let length2 = along.dot(along);
    let share = if length2 > 0.0 { ((spot - a).dot(along) / length2).clamp(0.0, 1.0) } else { 0.0 };
    spot.distance(a.lerp(b, share))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_thinned_outline_keeps_its_shape_with_a_fraction_of_its_places() {
        let round: Vec<Spot> =
            (0..=360).map(|deg| Spot::towards(measure::Bearing::new(f64::from(deg)), 20.0)).collect();
        let thin = thinned(&round);
        assert!(thin.len() < 60 && thin[0] == round[0] && thin.last() == round.last(), "{}", thin.len());
        for spot in &round {
            let nearest =
                thin.windows(2).map(|pair| off_line(*spot, pair[0], pair[1])).fold(f64::INFINITY, f64::min);
            assert!(nearest <= STRAIGHT_M + 1e-9, "{nearest}");
        }
        assert!(thinned(&[]).is_empty());
        let same = Spot::new(1.0, 2.0);
        assert_eq!(thinned(&[same; 5]), [same; 2]);
    }
}
