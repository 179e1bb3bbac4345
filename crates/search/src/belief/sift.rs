//! On which side of the edge of a stretch the places of one cell lie, four at a time.
//!
//! A strip is asked in whole numbers, of which registers of four and single steps make the same; the compiler makes vectors
//! of what the caller does to the weights inside.

use super::four::Four;
use super::sort::{GROUP, Group, STEPS};
use measure::Spot;

/// Places of one group: all bits set where it is so, none where not. Places of another cell are neither.
#[derive(Clone, Copy, Debug, Default)]
pub struct Sides {
    /// Inside for certain.
    pub inside: [i32; GROUP],
    /// Too near the edge to tell.
    pub open: [i32; GROUP],
}

/// Groups of one cell.
pub(super) struct Own<'a> {
    groups: &'a mut [Group],
    /// Which places are the cell's own in the first group, in the last, and in one that is both.
    ends: [Four; 3],
}

/// What is done with every group.
struct Sift<V, S> {
    visit: V,
    side: S,
    open: Four,
}

/// Largest whole number that a slope of one becomes.
const SLOPE: f64 = 32_767.0;

/// Places between two lines of one direction, as one cell sees them.
///
/// How far off a place lies is `turn` times its steps from the middle of the cell, in units of a step over [`SLOPE`]; how far
/// that middle itself lies off is taken from the bounds.
#[derive(Clone, Copy)]
pub(super) struct Band {
    turn: [i16; 2],
    /// Between these a place is inside for certain.
    sure: [i32; 2],
    /// Beyond these it is outside for certain.
    out: [i32; 2],
}

impl<'a> Own<'a> {
    /// Groups whose first begins with `lead` places of other cells and whose last ends after `kept` places.
    #[inline(always)]
    pub(super) fn new(groups: &'a mut [Group], lead: usize, kept: usize) -> Self {
        let mut ends = [[0; GROUP]; 3];
        for k in 0..GROUP {
            let (first, last) = (-i32::from(k >= lead), -i32::from(k < kept));
            (ends[0][k], ends[1][k], ends[2][k]) = (first, last, first & last);
        }
        Own { groups, ends: ends.map(Four::of) }
    }

    /// Visits every group with its sides, of which `side` tells inside and outside for certain.
    ///
    /// # Gives
    /// Whether any place is open.
    #[inline(always)]
    pub(super) fn sift(
        self,
        visit: impl FnMut(usize, &mut Group, Sides),
        side: impl Fn(&Group) -> [Four; 2],
    ) -> bool {
        let [first, last, both] = self.ends;
        let end = self.groups.len();
        let mut sift = Sift { visit, side, open: Four::all(0) };
        match self.groups {
            [] => {}
            [only] => sift.group(0, only, both),
            [head, between @ .., tail] => {
                sift.group(0, head, first);
                for (line, group) in between.iter_mut().enumerate() {
                    sift.group(line + 1, group, Four::all(-1));
                }
                sift.group(end - 1, tail, last);
            }
        }
        sift.open.any()
    }

    /// The same for a strip: within both bands.
    #[inline(always)]
    pub(super) fn sift_strip(
        self,
        visit: impl FnMut(usize, &mut Group, Sides),
        [ends, sides]: [Band; 2],
    ) -> bool {
        let edge = match (ends.is_idle(), sides.is_idle()) {
            (true, _) => sides.edge(),
            (_, true) => ends.edge(),
            _ => None,
        };
        if let Some(edge) = edge {
            // Most cells meet one edge only.
            let [sure, out] = [edge.sure[1], edge.out[1]].map(Four::all);
            return self.sift(
                visit,
                #[inline(always)]
                |group| {
                    let at = Four::turned(group, edge.turn);
                    [sure.above(at), at.above(out)]
                },
            );
        }
        self.sift(
            visit,
            #[inline(always)]
            |group| {
                let [a, b] = [ends.sides(group), sides.sides(group)];
                [a[0].and(b[0]), a[1].or(b[1])]
            },
        )
    }
}

impl<V: FnMut(usize, &mut Group, Sides), S: Fn(&Group) -> [Four; 2]> Sift<V, S> {
    #[inline(always)]
    fn group(&mut self, line: usize, group: &mut Group, own: Four) {
        let [inside, outside] = (self.side)(group);
        let open = own.without(inside.or(outside));
        self.open = self.open.or(open);
        (self.visit)(line, group, Sides { inside: inside.and(own).array(), open: open.array() });
    }
}

impl Band {
    /// Places no farther than `reach_m` from a line, of which those within `blur_m` of that are left open.
    ///
    /// # Inputs
    /// - `off_m`: how far the middle of the cell lies from the line · `slope`: metres off for a metre east and north, a
    ///   unit step
    #[inline(always)]
    pub(super) fn new(off_m: f64, slope: Spot, (reach_m, blur_m): (f64, f64), step_m: f64) -> Self {
        // A place lies within 0.71 steps of the middle of its step, and rounded slopes are off by one step in a cell.
        let blur_m = blur_m + 2.0 * step_m;
        let start_m = off_m + 0.5 * step_m * (slope.east + slope.north);
        let bound = |at_m: f64| ((at_m - start_m) * (SLOPE / step_m)) as i32;
        let (sure, out) = (reach_m - blur_m, reach_m + blur_m);
        Band {
            turn: [slope.east, slope.north].map(|slope| (slope * SLOPE).round() as i16),
            sure: [bound(-sure), bound(sure)],
            out: [bound(-out), bound(out)],
        }
    }

    /// Which of four places are inside, and which are outside, for certain.
    #[inline(always)]
    fn sides(&self, group: &Group) -> [Four; 2] {
        let at = Four::turned(group, self.turn);
        let [low, high] = self.sure.map(Four::all);
        let [below, beyond] = self.out.map(Four::all);
        [at.above(low).and(high.above(at)), below.above(at).or(at.above(beyond))]
    }

    /// Farthest that a place of the cell can be from its middle.
    fn most(&self) -> i32 {
        let [east, north] = self.turn.map(|turn| i32::from(turn).abs());
        STEPS as i32 / 2 * (east + north)
    }

    /// Whether all of the cell is inside for certain.
    #[inline(always)]
    fn is_idle(&self) -> bool {
        self.sure[0] < -self.most() && self.sure[1] > self.most()
    }

    /// The one line that crosses the cell, turned so that it is the upper bound; `None` if both do.
    #[inline(always)]
    fn edge(&self) -> Option<Band> {
        let most = self.most();
        if self.sure[0] < -most {
            return Some(*self);
        }
        let turned = |bounds: [i32; 2]| [bounds[1], bounds[0]].map(i32::saturating_neg);
        let turn = self.turn.map(i16::saturating_neg);
        (self.sure[1] > most).then(|| Band { turn, sure: turned(self.sure), out: turned(self.out) })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::belief::cells::{CellOrder, Sorted};
    use water::Grid;

    #[test]
    fn no_place_is_called_inside_or_outside_that_is_not_and_few_are_left_open() {
        let mut draws = measure::Seed(5).stream("turned").draws();
        let cell_m = 4.0;
        let grid = Grid { corner: Spot::default(), cell_m, cols: 1, rows: 1 };
        for _ in 0..300 {
            let places: Vec<Spot> = (0..GROUP)
                .map(|k| match k {
                    0 => Spot::new(0.0, cell_m - 1e-12),
                    _ => Spot::new(draws.between(0.0, cell_m), draws.between(0.0, cell_m)),
                })
                .collect();
            let (east, north): (Vec<_>, Vec<_>) =
                places.iter().map(|place| (place.east, place.north)).unzip();
            let mut sorted = Sorted::default();
            CellOrder::new(grid, [&east, &north, &[1.0; GROUP]], &mut sorted);
            let heading = draws.between(-3.2, 3.2);
            let slope = Spot::new(heading.cos(), heading.sin());
            let band = Band::new(Spot::new(2.0, 2.0).dot(slope), slope, (1.0, 0.0), cell_m / STEPS);
            let group = &sorted.groups(&(0..GROUP))[0];
            let at = Four::turned(group, band.turn).array();
            let [inside, outside] = band.sides(group).map(Four::array);
            for k in 0..GROUP {
                let (at, place, is_in, is_out) = (at[k], places[k], inside[k] != 0, outside[k] != 0);
                let off = place.dot(slope);
                assert!(at <= band.most() && at >= -band.most());
                assert!(!is_in || off.abs() < 1.0, "{off}");
                assert!(!is_out || off.abs() > 1.0, "{off}");
                assert!(is_in || is_out || (off.abs() - 1.0).abs() < 4.0 * cell_m / STEPS);
            }
        }
    }
}
