//! Drift, sinking and scatter of many bodies at once, in rows of sixty-four (models B3, B4).
//!
//! The same code runs in the product and in the yardsticks; only the [`Bottom`] differs.

use super::basin::Bottom;
use measure::{Spot, fastmath};

/// Bodies that are stepped together, so that slow operations of one hide behind those of the others.
pub const LANES: usize = 64;

/// One number for each of them.
pub type Row = [f64; LANES];

/// Sixty-four bodies.
#[derive(Clone, Debug)]
pub struct Lanes {
    /// Place, metres east.
    pub east: Row,
    /// Place, metres north.
    pub north: Row,
    /// Surface current where each one is, east \[m/s\].
    pub current_east: Row,
    /// The same, north \[m/s\].
    pub current_north: Row,
    /// Seconds a metre of sinking takes \[s/m\].
    pub slowness: Row,
}

impl Default for Lanes {
    fn default() -> Self {
        let zero = [0.0; LANES];
        Lanes { east: zero, north: zero, current_east: zero, current_north: zero, slowness: zero }
    }
}

impl Lanes {
    /// Moves every body to a new place; where that is no water it slides along one axis, or stays.
    #[inline(always)]
    pub fn step_to<B: Bottom>(&mut self, bottom: &B, east: &Row, north: &Row) {
        // Mostly nobody is near a shore, and one look at the whole row settles it.
        if !B::SHORED || bottom.all_water(east, north) {
            self.east = *east;
            self.north = *north;
            return;
        }
        for j in 0..LANES {
            let (from, to) = (Spot::new(self.east[j], self.north[j]), Spot::new(east[j], north[j]));
            let reached = [to, Spot::new(to.east, from.north), Spot::new(from.east, to.north)]
                .into_iter()
                .find(|&spot| bottom.is_water(spot))
                .unwrap_or(from);
            self.east[j] = reached.east;
            self.north[j] = reached.north;
        }
    }

    /// Carries every body along its own way \[m east, north\] in `parts` equal steps.
    #[inline(always)]
    pub fn carry<B: Bottom>(&mut self, bottom: &B, way_east: &Row, way_north: &Row, parts: u32) {
        let share = 1.0 / f64::from(parts);
        let (mut east, mut north) = ([0.0; LANES], [0.0; LANES]);
        for _ in 0..parts {
            for j in 0..LANES {
                east[j] = self.east[j] + way_east[j] * share;
                north[j] = self.north[j] + way_north[j] * share;
            }
            self.step_to(bottom, &east, &north);
        }
    }

    /// Sinks every body to the bottom in `steps` steps through the real depth, with the one-seventh profile.
    ///
    /// Step k of n sinks 1/(n−k) of what is left, so that it ends on the bottom of the last look-up whatever
    /// the slope; the current of a step is that at its middle height.
    ///
    /// # Inputs
    /// - `bottom` · `steps`: at least 1
    ///
    /// # Gives
    /// Depth sunk \[m\]; places are moved.
    ///
    /// # Source
    /// midpoint rule on U_s (z/h)^(1/7); for constant depth the closed form of `physics::sink_offset`
    #[inline(always)]
    pub fn sink<B: Bottom>(&mut self, bottom: &B, steps: u32) -> Row {
        let (mut depth_m, mut sunk) = ([0.0; LANES], [0.0; LANES]);
        let (mut east, mut north) = ([0.0; LANES], [0.0; LANES]);
        for k in 0..steps {
            bottom.depths(&self.east, &self.north, &mut depth_m);
            let share = 1.0 / f64::from(steps - k);
            for j in 0..LANES {
                let depth = depth_m[j];
                let left = depth - sunk[j];
                let left = if left > 0.0 { left } else { 0.0 };
                let step = left * share;
                let height = (left - 0.5 * step) / depth;
                let height = if depth > 1e-9 { height } else { 0.0 };
                let seconds = fastmath::seventh_root(height) * step * self.slowness[j];
                east[j] = self.east[j] + self.current_east[j] * seconds;
                north[j] = self.north[j] + self.current_north[j] * seconds;
                sunk[j] += step;
            }
            self.step_to(bottom, &east, &north);
        }
        sunk
    }

    /// Sinks every body by the closed form, as if the bottom were level where it starts.
    ///
    /// # Source
    /// integral of the one-seventh profile: U_s · 7/8 · h / v
    #[inline(always)]
    pub fn sink_level<B: Bottom>(&mut self, bottom: &B) {
        let (mut depth_m, mut east, mut north) = ([0.0; LANES], [0.0; LANES], [0.0; LANES]);
        bottom.depths(&self.east, &self.north, &mut depth_m);
        for j in 0..LANES {
            let seconds = 0.875 * depth_m[j] * self.slowness[j];
            east[j] = self.east[j] + self.current_east[j] * seconds;
            north[j] = self.north[j] + self.current_north[j] * seconds;
        }
        self.step_to(bottom, &east, &north);
    }

    /// Scatters every body sideways by `share` of the depth where it landed times two normals.
    #[inline(always)]
    pub fn scatter<B: Bottom>(&mut self, bottom: &B, share: f64, first: &Row, second: &Row) {
        let (mut depth_m, mut east, mut north) = ([0.0; LANES], [0.0; LANES], [0.0; LANES]);
        bottom.depths(&self.east, &self.north, &mut depth_m);
        for j in 0..LANES {
            east[j] = share * depth_m[j] * first[j];
            north[j] = share * depth_m[j] * second[j];
        }
        // With a shore the way is made in four steps, so that a dock or a spit is not jumped.
        self.carry(bottom, &east, &north, if B::SHORED { 4 } else { 1 });
    }
}

#[cfg(test)]
mod tests {
    use super::super::basin::DepthGrid;
    use super::*;
    use crate::physics;
    use water::Grid;

    struct Level(DepthGrid);

    impl Bottom for Level {
        const SHORED: bool = false;
        fn depths(&self, east: &Row, north: &Row, depth_m: &mut Row) {
            self.0.read(east, north, depth_m);
        }
        fn is_water(&self, _: Spot) -> bool {
            true
        }
    }

    fn level(depth_m: f64) -> Level {
        let grid = Grid { corner: Spot::default(), cell_m: 2.0, cols: 5, rows: 4 };
        Level(DepthGrid::new(&grid, &[depth_m; 20]))
    }

    // shows: BE-19
    #[test]
    fn stepped_sinking_agrees_with_the_closed_form_on_a_level_bottom() {
        for (surface, depth, speed) in [(0.2, 3.0, 0.5), (0.5, 10.0, 0.25), (0.05, 0.4, 0.9)] {
            let mut lanes =
                Lanes { current_east: [surface; LANES], slowness: [1.0 / speed; LANES], ..Lanes::default() };
            let sunk = lanes.sink(&level(depth), 20);
            let (expect, _) = physics::sink_offset(surface, depth, speed);
            // midpoint rule on z^(1/7) with 20 steps: 0.2 % of the offset, from the step at the bottom
            assert!((lanes.east[7] - expect).abs() < 2e-3 * expect, "{} {expect}", lanes.east[7]);
            assert!((sunk[0] - depth).abs() < 1e-12 && lanes.north[3] == 0.0);
            let mut at_once = Lanes { current_north: [surface; LANES], ..lanes.clone() };
            at_once.north = [0.0; LANES];
            at_once.sink_level(&level(depth));
            assert!((at_once.north[0] - expect).abs() < 1e-12);
        }
    }

    #[test]
    fn depth_is_bilinear_and_held_at_the_edge() {
        let grid = Grid { corner: Spot::default(), cell_m: 1.0, cols: 3, rows: 2 };
        let depth = DepthGrid::new(&grid, &[0.0, 1.0, 2.0, 10.0, 11.0, 12.0]);
        let mut east = [1.0; LANES];
        let mut north = [1.0; LANES];
        (east[1], north[1]) = (-50.0, 0.5);
        (east[2], north[2]) = (99.0, 99.0);
        (east[3], north[3]) = (f64::NAN, 0.5);
        let mut read = [0.0; LANES];
        depth.read(&east, &north, &mut read);
        assert!((read[0] - 5.5).abs() < 1e-12 && read[1] == 0.0 && read[3] == 0.0);
        assert!((read[2] - 12.0).abs() < 2e-5);
    }

    #[test]
    fn a_single_cell_has_one_depth() {
        let grid = Grid { corner: Spot::default(), cell_m: 1.0, cols: 1, rows: 1 };
        let depth = DepthGrid::new(&grid, &[1.5]);
        let mut read = [0.0; LANES];
        depth.read(&[0.3; LANES], &[0.9; LANES], &mut read);
        assert!((read[0] - 1.5).abs() < 1e-12);
    }
}
