//! The whole-pass ceiling: a value that no plan can beat, whatever its lines and lanes (models P4).
//!
//! Every cell may be looked over at the pace of its fastest corner, in any order, without transit, by
//! everybody at once; looks are taken by what they find a second. It is loose where ways between lanes
//! matter, so it is a bound and never shown as quality.

use super::{
    cover::{steer_m, stray_m},
    lone::under_cover,
    posts::Posts,
    problem::{DIVE_BY_M, Problem},
};
use crate::{
    Method,
    lines::{dive_depth, wade_depth, wade_line_mps},
};
use measure::parameters::value;
use std::ops::Range;

/// Looks at one cell that are priced one by one; what is left after them is given away at the price of one more.
const LOOKS: usize = 8;

/// One look at one cell.
#[derive(Clone, Copy, Debug)]
struct Look {
    gain: f64,
    /// Person-seconds.
    cost: f64,
}

/// Ceiling of the value of any plan for a problem.
pub(super) fn ceiling(problem: &Problem, posts: &Posts) -> f64 {
    let now_s = problem.request.now_s;
    let frozen = frozen_value(problem);
    if posts.lead.is_none() || problem.people.len() < 2 {
        return frozen;
    }
    let lines = water_fill(problem, line_looks(problem), &starts(problem));
    let looker = match super::lanes::look_shape(problem.setting().day.secchi_m) {
        Some((half_m, depth_m)) => {
            let rate = 2.0 * half_m * value("look_mps");
            let near = least_around(problem, |cell| problem.footing.dive_m(cell));
            let looks =
                looks(problem, Method::Look, |cell| (f64::from(near.at(cell)) <= depth_m).then_some(rate));
            water_fill(problem, looks, &[now_s])
        }
        None => 0.0,
    };
    let poles: f64 =
        under_cover(problem, now_s).iter().map(|(_, mass)| mass).sum::<f64>() * value("touch_pole");
    frozen + lines + looker + (lone_value(problem) + poles) * problem.weight.at(now_s)
}

/// When each person may begin to find: a line must form first, unless one is formed; the first dive needs no pause before it.
fn starts(problem: &Problem) -> Vec<f64> {
    let rules = &problem.rules;
    let formed = !problem.frozen().is_empty() || problem.people.iter().any(|p| p.spent.is_some());
    let begin_s = problem.request.now_s + if formed { 0.0 } else { rules.form_s };
    let mut starts: Vec<f64> = problem
        .people
        .iter()
        .map(|p| p.from_s.max(begin_s) - rules.pause_s.get(1).copied().unwrap_or(0.0))
        .collect();
    for (_, team) in problem.frozen() {
        let absent = team.members.iter().filter(|&&k| problem.person(k).is_none()).count();
        starts.extend(std::iter::repeat_n(begin_s - rules.pause_s.get(1).copied().unwrap_or(0.0), absent));
    }
    starts.sort_by(f64::total_cmp);
    starts
}

fn line_looks(problem: &Problem) -> Vec<Look> {
    let limits = &problem.setting().site.limits;
    let most = |depth: &dyn Fn(usize) -> Option<f64>| {
        let frozen = problem.frozen();
        let members = frozen.iter().flat_map(|(_, team)| team.members.iter().copied());
        problem.people.iter().map(|p| p.member).chain(members).filter_map(depth).fold(0.0, f64::max)
    };
    let wade_most = most(&|k| wade_depth(problem.member(k), limits));
    let dive_most = most(&|k| dive_depth(problem.member(k), limits));
    let wade = least_around(problem, |cell| problem.footing.wade_m(cell));
    let spacing_m = problem.grip.spacing_m();
    let paces: Vec<f64> = [0.3, 0.6, 0.9, 9.0].iter().map(|&d| wade_line_mps(d)).collect();
    let pace = |depth: f64| paces[[0.3, 0.6, 0.9].iter().filter(|&&edge| depth > edge).count()];
    let mut all = looks(problem, Method::Wade, |cell| {
        let depth = f64::from(wade.at(cell));
        (depth <= wade_most).then(|| spacing_m * pace(depth))
    });
    if problem.rules.dive_s.is_some() && dive_most > 0.0 {
        // One diver falls behind nobody, and fins are never slower: no line's bottom way is longer.
        let fins = problem.setting().day.kit.fins > 0 || problem.frozen().iter().any(|(_, team)| team.fins);
        let steps = problem.dive_steps(1, fins);
        let dive = least_around(problem, |cell| problem.footing.dive_m(cell));
        let dive_spacing_m = value("spacing_dive_m");
        all.extend(looks(problem, Method::Dive, |cell| {
            let depth = f64::from(dive.at(cell));
            let step =
                steps.get((depth.max(0.0) / DIVE_BY_M).floor().min(1e6) as usize).copied().flatten()?;
            (depth <= dive_most).then(|| {
                dive_spacing_m * step.cycle.bottom_m / (step.cycle.under_s + problem.rules.pause_s[1])
            })
        }));
    }
    all
}

/// Looks by one method at every cell for which `rate` gives the area a person covers in a second.
fn looks(problem: &Problem, method: Method, rate: impl Fn(usize) -> Option<f64>) -> Vec<Look> {
    let cells = &problem.cells;
    let mut all = Vec::new();
    for at in 0..cells.len() {
        let Some(rate_m2ps) = rate(cells.index[at] as usize).filter(|r| *r > 0.0) else { continue };
        let table = &problem.tables[method.index()][usize::from(cells.rough[at])];
        let open = cells.mass[at] * if method.by_contact() { 1.0 - cells.hidden[at] } else { 1.0 };
        let cost = cells.grid.cell_area_m2() / rate_m2ps;
        let begin = cells.passes[at][method.index()];
        let base = table.at(begin);
        let mut from = begin;
        for _ in 0..LOOKS {
            let to = from.floor() + 1.0;
            all.push(Look { gain: open * (table.at(from) - table.at(to)) / base, cost: cost * (to - from) });
            from = to;
        }
        all.push(Look { gain: open * table.at(from) / base, cost });
    }
    all
}

/// Looks by what they find a second, most first: put in order a part at a time, since time is up long before the last.
struct Best {
    /// Rate and look; those from `past` on are still in any order, and none of them is better than those before.
    rest: Vec<(f64, Look)>,
    at: usize,
    past: usize,
}

impl Best {
    /// Looks put in order at once.
    const PART: usize = 4096;

    fn of(looks: Vec<Look>) -> Self {
        let rest = looks.into_iter().map(|look| (look.gain / look.cost, look)).collect();
        Best { rest, at: 0, past: 0 }
    }
}

impl Iterator for Best {
    type Item = Look;

    fn next(&mut self) -> Option<Look> {
        if self.at == self.past {
            let order = |a: &(f64, Look), b: &(f64, Look)| b.0.total_cmp(&a.0);
            let left = &mut self.rest[self.past..];
            let part = left.len().min(Self::PART);
            if part < left.len() {
                left.select_nth_unstable_by(part, order);
            }
            left[..part].sort_unstable_by(order);
            self.past += part;
        }
        self.at += 1;
        self.rest.get(self.at - 1).map(|&(_, look)| look)
    }
}

/// Takes looks by what they find a second, as fast as people in parallel can, each weighted at its start.
fn water_fill(problem: &Problem, mut looks: Vec<Look>, starts: &[f64]) -> f64 {
    looks.retain(|look| look.gain > 0.0);
    let Some(&first_s) = starts.first() else { return 0.0 };
    let (mut at_s, mut here, mut sum) = (first_s, 1, 0.0);
    for look in Best::of(looks) {
        let mut left = look.cost;
        while left > 0.0 && at_s < problem.end_s {
            while here < starts.len() && starts[here] <= at_s {
                here += 1;
            }
            let until_s =
                starts.get(here).copied().unwrap_or(problem.end_s).min(problem.end_s).min(at_s + 5.0);
            let spend = left.min((until_s - at_s) * here as f64);
            sum += look.gain * spend / look.cost * problem.weight.at(at_s);
            at_s += spend / here as f64;
            left -= spend;
            if spend <= 0.0 {
                at_s = until_s;
            }
        }
        if at_s >= problem.end_s {
            break;
        }
    }
    sum
}

/// The least of what lies around each cell that holds mass.
struct Near {
    /// Cells in a row of the grid.
    grid_cols: usize,
    /// First row and column known.
    corner: (usize, usize),
    cols: usize,
    values: Vec<f32>,
}

impl Near {
    /// About a cell of the grid that holds mass.
    fn at(&self, cell: usize) -> f32 {
        let (row, col) = (cell / self.grid_cols - self.corner.0, cell % self.grid_cols - self.corner.1);
        self.values[row * self.cols + col]
    }
}

/// Least value within reach of a strip from where somebody stands: two metres, what a strip may be off, and a cell; told where mass lies.
fn least_around(problem: &Problem, value_of: impl Fn(usize) -> f32) -> Near {
    let grid = problem.cells.grid;
    let reach = ((2.0 + stray_m(steer_m(false))) / grid.cell_m).ceil() as usize;
    let (rows, cols) = window(problem, reach).unwrap_or_default();
    let wide = cols.len();
    let mut values = Vec::with_capacity(rows.len() * wide);
    let mut line = Vec::new();
    for row in rows.clone() {
        line.clear();
        line.extend(cols.clone().map(|col| value_of(row * grid.cols + col)));
        least_within(&mut line, reach);
        values.append(&mut line);
    }
    for col in 0..wide {
        line.clear();
        line.extend(values.iter().skip(col).step_by(wide));
        least_within(&mut line, reach);
        for (row, &value) in line.iter().enumerate() {
            values[row * wide + col] = value;
        }
    }
    Near { grid_cols: grid.cols, corner: (rows.start, cols.start), cols: wide, values }
}

/// Rows and columns of the grid that hold mass, and so many more on every side; `None` if none does.
fn window(problem: &Problem, reach: usize) -> Option<(Range<usize>, Range<usize>)> {
    let (grid, index) = (problem.cells.grid, &problem.cells.index);
    // Cells come row by row.
    let (top, bottom) = (*index.first()? as usize / grid.cols, *index.last()? as usize / grid.cols);
    let cols = index.iter().map(|&cell| cell as usize % grid.cols);
    let (left, right) = cols.fold((usize::MAX, 0), |(low, high), col| (low.min(col), high.max(col)));
    let wide = |low: usize, high: usize, most: usize| low.saturating_sub(reach)..(high + reach + 1).min(most);
    Some((wide(top, bottom, grid.rows), wide(left, right, grid.cols)))
}

/// Least of each value and of up to `reach` on either side.
fn least_within(line: &mut Vec<f32>, reach: usize) {
    let (count, window) = (line.len(), 2 * reach + 1);
    // Windows that begin at each place, longer by a power of two every time.
    let mut ahead = vec![f32::INFINITY; reach];
    ahead.append(line);
    ahead.resize(count + 2 * reach, f32::INFINITY);
    let mut long = 1;
    while 2 * long <= window {
        for k in 0..ahead.len() - long {
            ahead[k] = ahead[k].min(ahead[k + long]);
        }
        long *= 2;
    }
    line.extend((0..count).map(|k| ahead[k].min(ahead[k + window - long])));
}

/// Most that the first guard can find: the densest ground near the last seen point at their rate.
fn lone_value(problem: &Problem) -> f64 {
    let cells = &problem.cells;
    let reach = value("lone_radius_m") + cells.grid.cell_m;
    let (mut densest, mut mass) = (0.0_f64, 0.0);
    for at in 0..cells.len() {
        if cells.grid.centre(cells.index[at] as usize).distance(problem.request.last_seen) <= reach {
            densest = densest.max(cells.mass[at] / cells.grid.cell_area_m2());
            mass += cells.mass[at];
        }
    }
    (densest * value("lone_rate_m2ps") * value("lone_longest_s")).min(mass) * value("contact_cap")
}

/// Most that runs under way can find.
fn frozen_value(problem: &Problem) -> f64 {
    let Some(before) = problem.request.before else { return 0.0 };
    let runs: Vec<_> =
        before.runs.iter().filter(|r| r.under_way).map(|run| (run, &before.teams[run.team])).collect();
    super::lone::under_way(problem, &runs)
        .iter()
        .map(|piece| {
            let mass: f64 =
                piece.cells.iter().map(|&(c, share)| problem.cells.mass[c as usize] * f64::from(share)).sum();
            mass * piece.detection[0].mean().max(piece.detection[1].mean()) * problem.weight.at(piece.to_s)
        })
        .sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_least_of_a_window_is_that_of_a_plain_search() {
        let line: Vec<f32> = (0..40_u32).map(|k| ((k * 37) % 41) as f32).collect();
        for reach in [0, 1, 2, 3, 7, 60] {
            let mut found = line.clone();
            least_within(&mut found, reach);
            for k in 0..line.len() {
                let near = &line[k.saturating_sub(reach)..(k + reach + 1).min(line.len())];
                assert_eq!(found[k], near.iter().copied().fold(f32::INFINITY, f32::min), "{reach} {k}");
            }
        }
    }
}
