//! Belief: where the person is, as a cloud of possible places on the bottom and three shares that are not there (models B).
//!
//! Never: says that somebody is not in the water; loses the share *elsewhere*.
//! Start reading at [`Belief`].

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
    /// Passes that covered the place, by method (`Method::index`); empty where a method never passed.
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
}

/// Belief about one missing person.
#[derive(Clone, Debug)]
pub struct Belief {
    /// Places on the bottom.
    pub cloud: Cloud,
    /// Shares of the hypotheses now.
    pub masses: Masses,
}
