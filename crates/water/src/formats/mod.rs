//! Files' text and bytes in, plain values out; nothing here opens a file or decides what is sensible at a site.
//!
//! Start reading at [`soundings`]; [`raster`] for depth rasters. What the values must be is the door's business.

pub(crate) mod features;
pub(crate) mod picture;
pub mod raster;
pub(crate) mod section;
pub mod soundings;
pub(crate) mod text;
pub(crate) mod words;
