//! The water around a search: what belief and plan read and never change.

use water::{Day, Flow, Ground, Site};

/// Site, day, bottom and current of one search.
#[derive(Clone, Copy, Debug)]
pub struct Setting<'a> {
    /// The site as surveyed.
    pub site: &'a Site,
    /// Today's conditions and crew.
    pub day: &'a Day,
    /// The bottom at today's stage.
    pub ground: &'a Ground,
    /// Today's surface current.
    pub flow: &'a Flow,
}
