//! The bottom at today's stage: depth, what it is made of, what is above it, and how far the nearest sounding is.
//!
//! Start reading at [`Ground::build`].

mod build;
mod depth;
mod layout;
pub(crate) mod nearest;
pub(crate) mod paint;

pub use crate::site::Bed;
use crate::{Field, Grid};

/// What is over a cell.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Cover {
    /// Land, or a solid dock: nobody can be under it.
    Land,
    /// Open water.
    Open,
    /// Water under a piled or floating dock or raft.
    Under,
}

/// The bottom on a grid, at one stage.
#[derive(Clone, Debug)]
pub struct Ground {
    /// The cells all fields share.
    pub grid: Grid,
    /// Stage the depths belong to \[m\].
    pub stage_m: f64,
    /// Depth below today's level \[m\], positive down, at the middle of each cell; ≤ 0 on dry ground, NaN where nothing is known.
    pub depth_m: Vec<f64>,
    /// What is over each cell.
    pub cover: Vec<Cover>,
    /// Bottom type.
    pub bed: Vec<Bed>,
    /// Distance to the nearest sounding \[m\]; infinite without soundings.
    pub to_sounding_m: Vec<f32>,
    /// Whether the depth lies outside the soundings' hull and is the nearest value.
    pub beyond: Vec<bool>,
    /// Whether searchers must keep off: no-go ground, drop-off edge, with the site's distance.
    pub keep_off: Vec<bool>,
    /// Doubts to be shown.
    pub notes: Vec<String>,
}

impl Ground {
    /// Whether a cell holds water a person can be in (open or under something), deeper than nothing.
    #[inline]
    pub fn is_water(&self, cell: usize) -> bool {
        self.cover[cell] != Cover::Land && self.depth_m[cell] > 0.0
    }

    /// Depth as a field, for interpolation and pictures.
    pub fn depth_field(&self) -> Field<f64> {
        Field { grid: self.grid, values: self.depth_m.clone() }
    }
}

#[cfg(test)]
mod tests;
