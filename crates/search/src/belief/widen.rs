//! Wider beliefs: a broad mixture for planning, and widening when the probable ground is spent (models P9, B8).

use super::basin::{Basin, Bottom};
use super::surface::NO_SOURCE;
use super::{Belief, Cloud, Masses};
use crate::Setting;
use measure::{Noted, Seed, Spot, parameters::value};

impl Belief {
    /// The belief used for planning: mixed with a share (`broad_share`) of itself at doubled spread.
    ///
    /// The spread is doubled about the mean place of each sighting's particles; a place that would fall on land
    /// comes back half way, and again. Sweeps and looks so far are taken in at the new places.
    ///
    /// # Inputs
    /// - `setting`: the same as at the start · `seed`: of the incident
    ///
    /// # Gives
    /// A belief of the same size with the same shares before any search.
    ///
    /// # Source
    /// assumed (`broad_share`, from trials on an invented water)
    pub fn broad(&self, setting: &Setting, seed: Seed) -> Belief {
        let basin = Basin::new(setting.ground, setting.site.units);
        let means = self.means_by_source();
        let (stream, share) = (seed.stream("broad"), value("broad_share"));
        let mut cloud = self.bare_cloud();
        for i in 0..cloud.len() {
            if stream.u01(i as u64) >= share {
                continue;
            }
            let spot = cloud.spot(i);
            let off = spot - means[usize::from(self.source[i])];
            let wider = [1.0, 0.5, 0.25].into_iter().map(|f| spot + off * f);
            if let Some(place) = wider.into_iter().find(|&place| basin.is_water(place)) {
                self.put(&mut cloud, i, place, &basin);
            }
        }
        let mut broad = self.redrawn(cloud, self.first);
        broad.search_like(self);
        broad
    }

    /// The belief spread wider when the probable ground is spent: down-current, another depth band, all the water.
    ///
    /// Half of the particles move: a third of them further down the current that carried them, a third to
    /// shallower or deeper water beside their place, a third to anywhere in the water. `elsewhere` gives what it
    /// has above its floor, at most half, to the moved ones.
    ///
    /// # Inputs
    /// - `setting` · `seed`
    ///
    /// # Gives
    /// The wider belief, with what was done to it said in words.
    ///
    /// # Source
    /// assumed
    pub fn widen(&self, setting: &Setting, seed: Seed) -> Noted<Belief> {
        let basin = Basin::new(setting.ground, setting.site.units);
        let mut cloud = self.bare_cloud();
        if cloud.is_empty() {
            return Noted {
                value: self.clone(),
                notes: vec!["there is no mapped water to widen over".into()],
            };
        }
        let stream = seed.stream("widen");
        let (mean, [ee, _, nn]) = self.spread();
        let reach_m = (ee + nn).max(0.0).sqrt().max(10.0);
        let mut moved = vec![false; cloud.len()];
        for i in 0..cloud.len() {
            let u = |k: u64| stream.u01(8 * i as u64 + k);
            if u(0) >= 0.5 {
                continue;
            }
            let spot = cloud.spot(i);
            let place = match (u(1) * 3.0) as u32 {
                0 => spot + self.current[i] * (2.0 * value("unseen_window_s") * u(2)),
                1 => other_band(&basin, spot, reach_m, [u(2), u(3)]),
                _ => {
                    let at = ((basin.cells.len() as f64 * u(4)) as usize).min(basin.cells.len() - 1);
                    let cell_m = basin.grid.cell_m;
                    basin.grid.centre(basin.cells[at] as usize)
                        + Spot::new((u(5) - 0.5) * cell_m, (u(6) - 0.5) * cell_m)
                }
            };
            // Down-current beyond the map or on land: as far as the water goes.
            let place = [1.0, 0.5, 0.25, 0.125].into_iter().map(|f| spot.lerp(place, f));
            if let Some(place) = place.into_iter().find(|&place| basin.is_water(place)) {
                self.put(&mut cloud, i, place, &basin);
                moved[i] = true;
            }
        }
        let spare = (self.first.elsewhere - value("elsewhere_floor")).clamp(0.0, 0.5 * self.first.elsewhere);
        let moved_mass: f64 = (0..cloud.len()).filter(|&i| moved[i]).map(|i| cloud.prior[i]).sum();
        let given = if moved_mass > 0.0 { spare } else { 0.0 };
        for i in (0..cloud.len()).filter(|&i| moved[i]) {
            cloud.prior[i] *= 1.0 + given / moved_mass;
        }
        let first = Masses {
            bottom: self.first.bottom + given,
            elsewhere: self.first.elsewhere - given,
            ..self.first
        };
        let mut wide = self.redrawn(cloud, first);
        wide.search_like(self);
        let (new_mean, _) = wide.spread();
        let step = new_mean - mean;
        let notes = vec![format!(
            "widened down-current, to the other depth band and over all the water; the middle moved {} {}",
            setting.site.units.distance(step.length()),
            step.bearing().word()
        )];
        Noted { value: wide, notes }
    }

    /// Mean place, before any search, of the particles that rest on the same sighting: one entry a particle.
    ///
    /// # Gives
    /// Places \[m\], which may lie on land.
    ///
    /// # Source
    /// weighted mean
    pub fn middles(&self) -> Vec<Spot> {
        let means = self.means_by_source();
        self.source.iter().map(|&source| means[usize::from(source)]).collect()
    }

    /// The cloud before any search.
    fn bare_cloud(&self) -> Cloud {
        Cloud { passes: Default::default(), mass: Vec::new(), ..self.cloud.clone() }
    }

    fn redrawn(&self, cloud: Cloud, first: Masses) -> Belief {
        let origin = (self.source.clone(), self.current.clone());
        Belief::assembled(cloud, first, origin, self.drifters.clone())
    }

    fn put(&self, cloud: &mut Cloud, i: usize, place: Spot, basin: &Basin) {
        (cloud.east[i], cloud.north[i]) = (place.east, place.north);
        cloud.bed[i] = basin.bed(place);
    }

    /// Mean place of the particles of each sighting before any search.
    fn means_by_source(&self) -> Vec<Spot> {
        let mut sums = vec![(Spot::default(), 0.0); usize::from(NO_SOURCE) + 1];
        for i in 0..self.cloud.len() {
            let (sum, weight) = &mut sums[usize::from(self.source[i])];
            *sum = *sum + self.cloud.spot(i) * self.cloud.prior[i];
            *weight += self.cloud.prior[i];
        }
        sums.iter().map(|&(sum, weight)| if weight > 0.0 { sum * (1.0 / weight) } else { sum }).collect()
    }
}

/// A place within reach where the depth differs most from that at `spot`, of two directions tried.
fn other_band(basin: &Basin, spot: Spot, reach_m: f64, u: [f64; 2]) -> Spot {
    let (sin, cos) = measure::fastmath::sin_cos_turns(u[0]);
    let way = Spot::new(sin, cos) * (reach_m * u[1]);
    let here = basin.depth(spot);
    let differs = |place: Spot| {
        if basin.is_water(place) { (basin.depth(place) - here).abs() } else { f64::NEG_INFINITY }
    };
    let [a, b] = [spot + way, spot - way];
    if differs(b) > differs(a) { b } else { a }
}
