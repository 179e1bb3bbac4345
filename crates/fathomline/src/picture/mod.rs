//! Pictures: the water as surveyed, and a search on it, as SVG and PNG.
//!
//! Flat, and legible in black and white: colour never carries a meaning alone. The shore lies at the bottom, as one
//! faces the water, where posts tell which way that is; a north arrow is always there. Yellow is what to say next.
//! Never: decides anything about the search; it draws what it is given.
//! Start reading at [`water_map`] and [`search_map`].

mod bottom;
mod cloud;
mod file;
mod furniture;
mod glare_chart;
mod glare_ink;
mod glare_map;
mod label;
mod lanes;
mod marks;
pub mod outline;
mod page;
mod palette;
mod people;
mod photo;
mod png;
mod reach_map;
mod scene;
mod search_map;
mod signs;
mod things;
mod units;
mod view;
mod water_map;

#[cfg(test)]
pub mod tests;

pub use file::for_file;
pub use glare_chart::glare_chart;
pub use glare_map::glare_map;
pub use lanes::ring as stretch_ring;
pub use marks::last_seen_at;
pub use page::escape;
pub use photo::Under;
pub use png::png;
pub use reach_map::{ReachScene, reach_map};
pub use scene::{Header, Look, SearchScene, Searched, Theme};
pub use search_map::search_map;
pub use water_map::water_map;
