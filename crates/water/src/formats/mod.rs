//! Files' text and bytes in and out; the only room besides the door that sees longitude and latitude.

pub mod raster;
