//! The belief at the alarm: shares by kind of alarm, and the cloud from everything told (models B1 to B5).

use super::basin::Basin;
use super::fate::{drifters, fates};
use super::surface::{BLOCK, starts};
use super::update::block_sum;
use super::witness::inside;
use super::{Belief, Cloud, Currents, Masses};
use crate::alarm::{Alarm, AlarmKind};
use crate::{Setting, Sweep};
use measure::{Noted, Seed, Spot, parameters::value};
use water::{Grid, Kind, Salinity, Shape};

/// Fewest particles a cloud is made of.
const FEWEST: usize = 256;

impl Belief {
    /// Where the missing person may be, from all that was told and before anything was searched.
    ///
    /// # Inputs
    /// - `setting`: site, day, bottom, current · `alarm`: what was told · `seed` of the incident
    /// - `particles`: size of the cloud (`particles` of the register)
    ///
    /// # Gives
    /// The belief, with what was moved, left out or assumed. The same on any number of threads.
    ///
    /// # Source
    /// models B1 to B5; shares and spreads of the register
    pub fn start(setting: &Setting, alarm: &Alarm, seed: Seed, particles: usize) -> Noted<Belief> {
        Belief::start_in((setting, &Currents::steady(setting.flow.clone())), alarm, (seed, particles))
    }

    /// The same where the current was timed again since the alarm.
    ///
    /// # Inputs
    /// - `water`: the setting, and the currents by time in the place of its own · the rest as for [`Belief::start`]
    ///
    /// # Gives
    /// As [`Belief::start`].
    ///
    /// # Source
    /// models B1 to B5, CU-6
    pub fn start_in(
        water: (&Setting, &Currents),
        alarm: &Alarm,
        (seed, particles): (Seed, usize),
    ) -> Noted<Belief> {
        let (setting, _) = water;
        let basin = Basin::new(setting.ground, setting.site.units);
        let mut notes = basin.notes.clone();
        let mut masses = first_masses(alarm.kind, setting.site.salinity);
        if basin.cells.is_empty() {
            notes.push("the map holds no water today; the whole share in the water is put elsewhere".into());
            masses.elsewhere += masses.bottom + masses.afloat;
            (masses.bottom, masses.afloat) = (0.0, 0.0);
            return Noted { value: Belief::from_cloud(Cloud::default(), masses), notes };
        }
        let bathing = bathing_cells(setting, &basin);
        let count = particles.max(FEWEST);
        let starts = starts((&basin, &bathing), alarm, seed, count, &mut notes);
        let fates = fates(&basin, water, &starts, seed);
        let scale = masses.bottom / block_sum(starts.weight.iter().copied());
        let cloud = Cloud {
            east: fates.spot.iter().map(|spot| spot.east).collect(),
            north: fates.spot.iter().map(|spot| spot.north).collect(),
            rest_s: fates.rest_s,
            bed: fates.spot.iter().map(|&spot| basin.bed(spot)).collect(),
            prior: starts.weight.iter().map(|weight| weight * scale).collect(),
            ..Cloud::default()
        };
        let edge = edge_share(&basin.grid, &cloud) / masses.bottom.max(1e-12);
        if edge > 0.05 {
            notes.push(format!(
                "{:.0} % of the probable places lie at the edge of the map: the water goes on beyond it",
                100.0 * edge
            ));
        }
        let drifters = drifters(&basin, water, &starts, seed);
        Noted { value: Belief::assembled(cloud, masses, (starts.source, fates.current), drifters), notes }
    }

    /// The belief drawn anew after a late witness or a corrected time, with all sweeps so far taken in.
    ///
    /// # Inputs
    /// as [`Belief::start`]; `sweeps`: every sweep that found nobody, in any order
    ///
    /// # Gives
    /// As [`Belief::start`]. Looks over shore and surface are not among the sweeps: say them again.
    ///
    /// # Source
    /// models B1 to B7
    pub fn rebuild(
        setting: &Setting,
        alarm: &Alarm,
        (seed, particles): (Seed, usize),
        sweeps: &[Sweep],
    ) -> Noted<Belief> {
        let steady = Currents::steady(setting.flow.clone());
        Belief::rebuild_in((setting, &steady), alarm, (seed, particles), sweeps)
    }

    /// The same where the current was timed again since the alarm.
    ///
    /// # Inputs
    /// - `water`: as for [`Belief::start_in`] · the rest as for [`Belief::rebuild`]
    ///
    /// # Gives
    /// As [`Belief::rebuild`].
    ///
    /// # Source
    /// models B1 to B7, CU-6
    pub fn rebuild_in(
        water: (&Setting, &Currents),
        alarm: &Alarm,
        chance: (Seed, usize),
        sweeps: &[Sweep],
    ) -> Noted<Belief> {
        let mut noted = Belief::start_in(water, alarm, chance);
        sweeps.iter().for_each(|sweep| noted.value.apply(sweep));
        noted.notes.append(&mut noted.value.notes.clone());
        noted
    }
}

/// Shares before any search (models B1).
///
/// The share elsewhere is one of those not ashore, so that orders in the water do not depend on the
/// share ashore; of the whole it is never below its floor.
fn first_masses(kind: AlarmKind, salinity: Salinity) -> Masses {
    let ashore = value(match kind {
        AlarmKind::SeenGoingUnder => "ashore_seen_going_under",
        AlarmKind::CountShort => "ashore_count_short",
        AlarmKind::CannotBeFound => "ashore_cannot_be_found",
    });
    let (fresh, salt) = (value("afloat_fresh_share"), value("afloat_salt_share"));
    let floats = match salinity {
        Salinity::Fresh => fresh,
        Salinity::Brackish => 0.5 * (fresh + salt),
        Salinity::Salt => salt,
    };
    let elsewhere = (value("elsewhere_share") * (1.0 - ashore)).max(value("elsewhere_floor"));
    let here = 1.0 - ashore - elsewhere;
    Masses { bottom: here * (1.0 - floats), afloat: here * floats, ashore, elsewhere }
}

/// Cells of the bathing areas that hold water.
fn bathing_cells(setting: &Setting, basin: &Basin) -> Vec<u32> {
    let areas: Vec<&Vec<Vec<Vec<Spot>>>> = setting
        .site
        .of_kind(Kind::BathingArea)
        .filter_map(|feature| match &feature.shape {
            Shape::Area(rings) => Some(rings),
            Shape::Point(_) | Shape::Line(_) => None,
        })
        .collect();
    let bathed = |cell: &&u32| areas.iter().any(|rings| inside(rings, basin.grid.centre(**cell as usize)));
    basin.cells.iter().filter(bathed).copied().collect()
}

/// Mass in the outermost cells of the map.
fn edge_share(grid: &Grid, cloud: &Cloud) -> f64 {
    let sums: Vec<f64> = (0..cloud.len().div_ceil(BLOCK))
        .map(|block| {
            (block * BLOCK..((block + 1) * BLOCK).min(cloud.len()))
                .filter(|&i| {
                    grid.cell(cloud.spot(i)).is_none_or(|cell| {
                        let (col, row) = (cell % grid.cols, cell / grid.cols);
                        col == 0 || row == 0 || col + 1 == grid.cols || row + 1 == grid.rows
                    })
                })
                .map(|i| cloud.prior[i])
                .sum::<f64>()
        })
        .collect();
    sums.iter().sum()
}
