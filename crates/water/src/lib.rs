//! The water before anyone is missing: site, soundings, depth and bottom, a day's conditions and crew, current.
//!
//! Text in, checked values out: [`formats`] and [`door`] are the only rooms that see files' text and
//! longitude/latitude; past them everything is in site metres and compute cannot fail.
//! Never: reads files or a clock itself, knows nothing of searching.
//! Start reading at [`Site`], then [`Ground`], then [`Day`].

mod clarity;
mod day;
mod float_current;
mod flow;
mod frame;
mod grid;
mod ground;
mod problem;
mod site;

pub use clarity::{beam_from_secchi, sight_range};
pub use day::{Day, FloatRun, Hours, Kit, Member};
pub use float_current::float_current;
pub use flow::{FloatVelocity, Flow};
pub use frame::{Frame, LonLat};
pub use grid::{Field, Grid};
pub use ground::{Bed, Cover, Ground};
pub use problem::{Place, Problem};
pub use site::{Feature, Kind, Limits, Salinity, Shape, Site, Sounding, Support, Units, WaterKind};
