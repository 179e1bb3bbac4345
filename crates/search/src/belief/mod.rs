//! Belief: where the person is, as a cloud of possible places on the bottom and three shares that are not there (models B).
//!
//! Never: says that somebody is not in the water; loses the share *elsewhere*.
//! Start reading at [`Belief`].

pub mod basin;
pub mod cells;
mod currents;
mod fate;
mod four;
mod merge;
mod outline;
mod regions;
mod sift;
pub mod sink;
mod sort;
mod start;
mod surface;
mod update;
mod widen;
mod witness;

pub use currents::Currents;
pub use fate::Drifter;
pub use regions::Region;
pub use surface::NO_SOURCE;
pub use witness::inside;

use cells::{CellOrder, Sorted};
use measure::Spot;
use update::Pool;
use water::Bed;

/// Shares of the hypotheses; they sum to one.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct Masses {
    /// On the bottom within the mapped water: the cloud.
    pub bottom: f64,
    /// Afloat.
    pub afloat: f64,
    /// Ashore.
    pub ashore: f64,
    /// The model is wrong.
    pub elsewhere: f64,
}

/// Possible places on the bottom. All arrays have one entry a particle.
#[derive(Clone, Debug, Default)]
pub struct Cloud {
    /// Metres east.
    pub east: Vec<f64>,
    /// Metres north.
    pub north: Vec<f64>,
    /// Moment of coming to rest \[s since the alarm\]; negative when before it.
    pub rest_s: Vec<f32>,
    /// Bottom type there.
    pub bed: Vec<Bed>,
    /// Mass before any search; sums to the prior bottom share.
    pub prior: Vec<f64>,
    /// Passes for certain that miss the place as often as all sweeps over it did, by method (`Method::index`); empty where a method never
    /// passed.
    pub passes: [Vec<f32>; 5],
    /// Mass now, after every search so far: `prior` × chance that all of them missed, normalised over all hypotheses.
    pub mass: Vec<f64>,
}

impl Cloud {
    /// Number of particles.
    pub fn len(&self) -> usize {
        self.east.len()
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.east.is_empty()
    }

    /// Place of a particle.
    pub fn spot(&self, index: usize) -> Spot {
        Spot::new(self.east[index], self.north[index])
    }
}

/// Belief about one missing person.
#[derive(Clone, Debug)]
pub struct Belief {
    /// Places on the bottom, in the order of the cells of an index grid.
    pub cloud: Cloud,
    /// Shares of the hypotheses now.
    pub masses: Masses,
    /// Doubts that arose after the start.
    pub notes: Vec<String>,
    /// Shares before any search.
    first: Masses,
    /// Chance that the looks so far missed somebody ashore, and somebody afloat.
    missed_ashore: f64,
    missed_afloat: f64,
    order: CellOrder,
    /// Mass before normalising, with where each particle lies in its cell.
    raw: Sorted,
    pools: Vec<Pool>,
    /// Sweeps so far, for drawing the cloud anew.
    sweeps: Vec<crate::Sweep>,
    /// Which sighting placed a particle ([`NO_SOURCE`] if none), and the current that carried it.
    source: Vec<u8>,
    current: Vec<Spot>,
    drifters: Vec<Drifter>,
}
