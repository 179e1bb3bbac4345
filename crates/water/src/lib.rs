//! The water before anyone is missing: site, soundings, depth and bottom, a day's conditions and crew, current.
//!
//! Text in, checked values out: [`formats`] and [`door`] are the only rooms that see files' text and
//! longitude/latitude; past them everything is in site metres and compute cannot fail.
//! Never: reads files or a clock itself, knows nothing of searching.
//! Start reading at [`Site`], then [`Ground`], then [`Day`].

mod clarity;
mod day;
pub mod door;
mod flow;
pub mod formats;
mod frame;
mod grid;
mod ground;
mod hypsography;
mod isobath;
mod problem;
mod site;
mod summary;
mod surface;
mod units;

pub use clarity::{beam_from_secchi, sight_range};
pub use day::{Day, FloatRun, Hours, Kit, Member};
pub use flow::{FloatVelocity, Flow, float_current, run_velocity, tracks};
pub use frame::{Frame, LonLat};
pub use grid::{Field, Grid};
pub use ground::{Bed, Cover, Ground};
pub use hypsography::Hypsography;
pub use isobath::{BandArea, band_areas, contours};
pub use problem::{Place, Problem};
pub use site::{Feature, Kind, Limits, Salinity, Shape, Site, Sounding, Support, Units, WaterKind};
pub use summary::{Bands, WaterSummary, depth_at};
pub use surface::Surface;
pub use units::FOOT_M;
