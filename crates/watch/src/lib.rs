//! How fast a guard gets there, and what a guard can see from a post.
//!
//! Never: knows of searches or beliefs; reads files, clocks or unseeded chance.

pub mod glare;
pub mod places;
pub mod reach;
pub mod roster;
pub mod sun;
pub mod view;
