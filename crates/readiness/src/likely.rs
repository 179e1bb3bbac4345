//! Where somebody may have been last seen, given what was told: the telling of witnesses turned round.
//!
//! [`crate::incident`] draws a place and then what witnesses say of it. Here every cell of the zone is weighed by how likely it
//! makes what they said, so that many truths behind one alarm can be tried, each as likely as it is among bathers.

use crate::bathers::Zone;
use crate::forward::trouble;
use crate::incident::{Source, Witnesses, nearest, stand};
use measure::{Bearing, Spot, parameters::value};
use search::belief::basin::{Basin, Bottom};
use search::{Seen, Sighting};
use water::Kind;

/// Looks round a place for how much of a witness's error falls on water: rings at the middles of equal shares, and so many on each.
const RINGS: [f64; 4] = [0.517, 0.970, 1.401, 2.039];
const ROUND: u32 = 8;

/// A bearing told: from where, which way, and the spread it was drawn with \[degrees\].
struct Told {
    stood: Spot,
    bearing: Bearing,
    sigma_deg: f64,
}

/// The cells of a zone as whoever tells of them sees them.
pub(crate) struct Likely<'a> {
    source: &'a Source<'a>,
    /// Middle of each cell of the zone.
    places: Vec<Spot>,
    /// How often trouble begins there.
    prior: Vec<f64>,
    /// Spread of a witness who points there \[m\], and how often such pointing meets water.
    sigma_m: Vec<f64>,
    wet: Vec<f64>,
}

impl<'a> Likely<'a> {
    /// Cells of the source's zone.
    pub(crate) fn new(source: &'a Source, basin: &Basin, height_m: f64) -> Likely<'a> {
        let (floor_m, share) = (value("tap_sigma_floor_m"), value("tap_sigma_share"));
        let Zone { cells, .. } = source.zone;
        let grid = &source.setting.ground.grid;
        let places: Vec<Spot> = cells.iter().map(|&cell| grid.centre(cell as usize)).collect();
        let sigma = |place: &Spot| {
            let stood = stand(source.setting.site, *place);
            let away_m = stood.map_or_else(|| basin.to_shore_m(*place), |stood| stood.distance(*place));
            floor_m.max(share * away_m) * source.world.spread
        };
        let sigma_m: Vec<f64> = places.iter().map(sigma).collect();
        let wet = places.iter().zip(&sigma_m).map(|(&place, &sigma_m)| wet_share(basin, place, sigma_m));
        Likely {
            source,
            prior: places.iter().map(|&place| trouble(basin.depth(place), height_m)).collect(),
            wet: wet.collect(),
            sigma_m,
            places,
        }
    }

    /// Weight of each cell, given who told and what; they need not sum to one.
    pub(crate) fn weights(&self, kind: Witnesses, sightings: &[Sighting]) -> Vec<f64> {
        let (near, far) = (value("reliability_companion"), value("reliability_distant"));
        let point = |k: usize| match sightings.get(k).map(|s| &s.seen) {
            Some(Seen::Point { spot, .. }) => self.pointing(*spot),
            _ => vec![1.0; self.places.len()],
        };
        let told: Vec<f64> = match kind {
            Witnesses::Nobody => vec![1.0; self.places.len()],
            Witnesses::One | Witnesses::Mixed => self.or_elsewhere(&point(0), near),
            Witnesses::Agree => product(&point(0), &point(1)),
            Witnesses::Disagree => {
                // One of them is right and the other speaks of anywhere.
                let (first, second) = (point(0), point(1));
                let (right, wrong) = (near * (1.0 - far), far * (1.0 - near));
                let (a, b) = (right * mean(&second), wrong * mean(&first));
                first.iter().zip(&second).map(|(x, y)| a * x + b * y).collect()
            }
            Witnesses::Bearing => match sightings.first().map(|s| &s.seen) {
                Some(Seen::Bearing { stood, bearing, .. }) => {
                    let sigma_deg = value("bearing_sigma_stand_deg") * self.source.world.spread;
                    let told = Told { stood: *stood, bearing: *bearing, sigma_deg };
                    self.or_elsewhere(&self.bearing(&told), value("reliability_guard"))
                }
                _ => vec![1.0; self.places.len()],
            },
        };
        product(&told, &self.prior)
    }

    /// How likely each cell makes a place that somebody points to.
    fn pointing(&self, told: Spot) -> Vec<f64> {
        let one = |k: usize| {
            let (off, sigma) = (told.distance(self.places[k]), self.sigma_m[k]);
            libm::exp(-0.5 * off * off / (sigma * sigma)) / (sigma * sigma * self.wet[k])
        };
        (0..self.places.len()).map(one).collect()
    }

    /// How likely each cell makes a bearing told from the post nearest to it.
    fn bearing(&self, told: &Told) -> Vec<f64> {
        let site = self.source.setting.site;
        let posts: Vec<Spot> = site.of_kind(Kind::Post).map(|post| post.shape.middle()).collect();
        let one = |place: &Spot| {
            let stood =
                nearest(posts.iter().copied(), *place).or_else(|| stand(site, *place)).unwrap_or_default();
            if stood != told.stood {
                return 0.0;
            }
            let turn = told.bearing.degrees() - stood.bearing_to(*place).degrees();
            let off = (turn + 540.0).rem_euclid(360.0) - 180.0;
            libm::exp(-0.5 * (off / told.sigma_deg).powi(2))
        };
        self.places.iter().map(one).collect()
    }

    /// Told of the place itself with a chance, else of anywhere in the zone.
    fn or_elsewhere(&self, told: &[f64], right: f64) -> Vec<f64> {
        let elsewhere = (1.0 - right) * mean(told);
        told.iter().map(|likely| right * likely + elsewhere).collect()
    }

    /// A place in the cell at share `u` of the weights, somewhere in it; `None` in a zone without cells.
    pub(crate) fn place(&self, sums: &[f64], u: f64, within: [f64; 2]) -> Option<Spot> {
        let at = sums.partition_point(|&sum| sum <= u * sums.last().copied().unwrap_or(0.0));
        let middle = self.places.get(at.min(self.places.len().checked_sub(1)?))?;
        let cell_m = self.source.setting.ground.grid.cell_m;
        Some(*middle + Spot::new(within[0] - 0.5, within[1] - 0.5) * cell_m)
    }
}

fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len().max(1) as f64
}

fn product(a: &[f64], b: &[f64]) -> Vec<f64> {
    a.iter().zip(b).map(|(a, b)| a * b).collect()
}

/// How often an error of this spread about a place ends on water: the witness is asked again where it does not.
fn wet_share(basin: &Basin, place: Spot, sigma_m: f64) -> f64 {
    let looks = RINGS.iter().enumerate().flat_map(|(ring, far)| {
        (0..ROUND).map(move |k| {
            let turns = (f64::from(k) + 0.25 * ring as f64) / f64::from(ROUND);
            let (sin, cos) = measure::fastmath::sin_cos_turns(turns);
            place + Spot::new(sin, cos) * (far * sigma_m)
        })
    });
    let wet = looks.filter(|&spot| basin.is_water(spot)).count();
    wet.max(1) as f64 / (RINGS.len() as f64 * f64::from(ROUND))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rings_hold_equal_shares_of_a_normal_error() {
        // Chance to lie within r spreads: 1 − exp(−r²/2); the middles of four equal shares.
        for (k, ring) in RINGS.iter().enumerate() {
            let within = 1.0 - libm::exp(-0.5 * ring * ring);
            assert!((within - (k as f64 + 0.5) / 4.0).abs() < 0.001, "{ring}: {within}");
        }
    }
}
