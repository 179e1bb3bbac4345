//! The cloud as a map: mass a cell, regions that hold a given share, rank of a place, spread (models B8).

use super::Belief;
use measure::{Spot, parameters::value};
use serde::Serialize;
use water::{Field, Grid};

/// The smallest water that holds a share of the bottom mass.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Region {
    /// Share of the bottom mass asked for.
    pub share: f64,
    /// Smoothed mass a square metre at its edge \[1/m²\].
    pub density: f64,
    /// Its cells, densest first.
    pub cells: Vec<u32>,
    /// Its area \[m²\].
    pub area_m2: f64,
}

impl Belief {
    /// Bottom mass in every cell of a grid; what lies outside the grid is left out.
    pub fn map(&self, grid: &Grid) -> Field<f64> {
        self.map_at(grid, f64::INFINITY)
    }

    /// Bottom mass in every cell of those at rest by `at_s` \[s since the alarm\].
    pub fn map_at(&self, grid: &Grid, at_s: f64) -> Field<f64> {
        let mut field = Field::filled(*grid, 0.0);
        for i in 0..self.cloud.len() {
            if f64::from(self.cloud.rest_s[i]) <= at_s
                && let Some(cell) = grid.cell(self.cloud.spot(i))
            {
                field.values[cell] += self.cloud.mass[i];
            }
        }
        field
    }

    /// The map smoothed for regions and pictures, never beyond cells that hold no mass within reach.
    ///
    /// A normal kernel per axis with σ = `map_smoothing_share` × 1.06 × spread × n^(−1/6), n the effective
    /// number of particles, held between half a cell and 10 m; the total is kept.
    ///
    /// # Source
    /// normal-reference rule of kernel density estimates, from memory, unverified; share assumed
    pub fn smoothed(&self, grid: &Grid) -> Field<f64> {
        let mut field = self.map(grid);
        let sigma_m = self.smoothing_m(grid.cell_m);
        blur(&mut field, sigma_m / grid.cell_m);
        field
    }

    /// Width of the smoothing \[m\], standard deviation per axis.
    pub fn smoothing_m(&self, cell_m: f64) -> f64 {
        let mass = &self.cloud.mass;
        let sum: f64 = mass.iter().sum();
        let square: f64 = mass.iter().map(|m| m * m).sum();
        if sum <= 0.0 || square <= 0.0 {
            return 0.5 * cell_m;
        }
        let (_, [ee, _, nn]) = self.spread();
        let sd_m = (0.5 * (ee + nn)).max(0.0).sqrt();
        let effective = sum * sum / square;
        let rule = 1.06 * sd_m * libm::pow(effective, -1.0 / 6.0);
        (value("map_smoothing_share") * rule).min(10.0).max(0.5 * cell_m)
    }

    /// Highest-density regions of the smoothed map.
    ///
    /// # Inputs
    /// - `grid` · `shares`: of the bottom mass on the grid, each 0 to 1
    ///
    /// # Gives
    /// One region a share, in the order asked; ties go to the lower cell. Regions of an empty map are empty.
    ///
    /// # Source
    /// definition of a highest-density region
    pub fn regions(&self, grid: &Grid, shares: &[f64]) -> Vec<Region> {
        let field = self.smoothed(grid);
        let (ranked, total) = ranked(&field);
        shares
            .iter()
            .map(|&share| {
                let wanted = share.clamp(0.0, 1.0) * total;
                let (mut sum, mut count) = (0.0, 0);
                while count < ranked.len() && sum < wanted * (1.0 - 1e-12) {
                    sum += field.values[ranked[count] as usize];
                    count += 1;
                }
                let cells = ranked[..count].to_vec();
                let density =
                    cells.last().map_or(0.0, |&cell| field.values[cell as usize]) / grid.cell_area_m2();
                Region { share, density, area_m2: count as f64 * grid.cell_area_m2(), cells }
            })
            .collect()
    }

    /// Share of the bottom mass that lies in denser water than a place: the truth's rank in calibration tests.
    ///
    /// # Inputs
    /// - `grid` · `spot` · `within`: which part of the place's own cell to count, 0 to 1 (drawn evenly in tests)
    ///
    /// # Gives
    /// 0 at the densest cell, 1 off the map or where no mass is.
    ///
    /// # Source
    /// probability integral transform of the density rank
    pub fn rank_of(&self, grid: &Grid, spot: Spot, within: f64) -> f64 {
        let field = self.smoothed(grid);
        let Some(own) = field.at(spot).filter(|&own| own > 0.0) else { return 1.0 };
        let (mut denser, mut total, mut level) = (0.0, 0.0, 0.0);
        for &mass in &field.values {
            total += mass;
            if mass > own {
                denser += mass;
            } else if mass == own {
                level += mass;
            }
        }
        (denser + within.clamp(0.0, 1.0) * level) / total
    }

    /// Mean place of the bottom mass and its covariance \[m²\] (east-east, east-north, north-north).
    ///
    /// # Source
    /// weighted moments
    pub fn spread(&self) -> (Spot, [f64; 3]) {
        let (cloud, mut sum, mut weight) = (&self.cloud, Spot::default(), 0.0);
        for i in 0..cloud.len() {
            sum = sum + cloud.spot(i) * cloud.mass[i];
            weight += cloud.mass[i];
        }
        if weight <= 0.0 {
            return (Spot::default(), [0.0; 3]);
        }
        let mean = sum * (1.0 / weight);
        let mut moments = [0.0; 3];
        for i in 0..cloud.len() {
            let off = cloud.spot(i) - mean;
            let share = cloud.mass[i] / weight;
            moments[0] += share * off.east * off.east;
            moments[1] += share * off.east * off.north;
            moments[2] += share * off.north * off.north;
        }
        (mean, moments)
    }

    /// Where they would be if they float, at a time: a small cloud of equally likely places.
    ///
    /// # Inputs
    /// - `at_s` \[s since the alarm\]
    ///
    /// # Gives
    /// At most 4,096 places, from the same draws as the cloud; they may lie beyond the shore, where wind and
    /// current would strand them. Those who still swim are where they were seen.
    ///
    /// # Source
    /// surface drift of models B3
    pub fn afloat_places(&self, at_s: f64) -> Vec<Spot> {
        self.drifters.iter().map(|d| d.spot + d.velocity * (at_s - d.from_s).max(0.0)).collect()
    }
}

/// Cells with mass, densest first, and the total.
fn ranked(field: &Field<f64>) -> (Vec<u32>, f64) {
    let mut cells: Vec<u32> =
        (0..field.values.len() as u32).filter(|&cell| field.values[cell as usize] > 0.0).collect();
    cells.sort_by(|&a, &b| field.values[b as usize].total_cmp(&field.values[a as usize]).then(a.cmp(&b)));
    let total = cells.iter().map(|&cell| field.values[cell as usize]).sum();
    (cells, total)
}

/// Blurs by a normal kernel of `sigma` cells per axis, inside the box that holds the mass and its reach.
fn blur(field: &mut Field<f64>, sigma: f64) {
    let reach = (3.0 * sigma).ceil() as usize;
    let weights: Vec<f64> = (0..=reach)
        .map(|k| {
            // Mass of the kernel over a cell, so that a narrow one does not fade between centres.
            let edge = |x: f64| measure::special::normal_cdf(x / sigma.max(1e-9));
            edge(k as f64 + 0.5) - edge(k as f64 - 0.5)
        })
        .collect();
    let (cols, rows) = (field.grid.cols, field.grid.rows);
    let Some((low, high)) = mass_box(field) else { return };
    let (west, east) = (low.0.saturating_sub(reach), (high.0 + reach + 1).min(cols));
    let (south, north) = (low.1.saturating_sub(reach), (high.1 + reach + 1).min(rows));
    for row in south..north {
        let line = &mut field.values[row * cols + west..row * cols + east];
        let spread = spread_line(line, &weights);
        line.copy_from_slice(&spread);
    }
    for col in west..east {
        let line: Vec<f64> = (south..north).map(|row| field.values[row * cols + col]).collect();
        for (row, mass) in (south..north).zip(spread_line(&line, &weights)) {
            field.values[row * cols + col] = mass;
        }
    }
}

/// Every value shared out to its neighbours; what would leave the line stays at its place.
fn spread_line(line: &[f64], weights: &[f64]) -> Vec<f64> {
    let mut out = vec![0.0; line.len()];
    for (at, &mass) in line.iter().enumerate().filter(|(_, mass)| **mass > 0.0) {
        let mut given = 0.0;
        for (k, &weight) in weights.iter().enumerate().skip(1) {
            let part = mass * weight;
            if at >= k {
                out[at - k] += part;
                given += part;
            }
            if at + k < line.len() {
                out[at + k] += part;
                given += part;
            }
        }
        out[at] += mass - given;
    }
    out
}

type Corner = (usize, usize);

/// South-west and north-east cell of the mass.
fn mass_box(field: &Field<f64>) -> Option<(Corner, Corner)> {
    let cols = field.grid.cols;
    let (mut low, mut high) = ((usize::MAX, usize::MAX), (0, 0));
    for (cell, _) in field.values.iter().enumerate().filter(|(_, mass)| **mass > 0.0) {
        let (col, row) = (cell % cols, cell / cols);
        low = (low.0.min(col), low.1.min(row));
        high = (high.0.max(col), high.1.max(row));
    }
    (low.0 != usize::MAX).then_some((low, high))
}
