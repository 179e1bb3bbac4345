//! What an eye on a post can see of the water at all: how far, how flat, past what, and how deep.
//!
//! Before any glare. Never: decides who stands where; it says what can be seen from where one stands.
//! Start reading at [`Post`], then [`Spots`], then [`sights`].

mod benefit;
mod post;
mod sight;
mod spots;
mod tops;

pub use benefit::{SeasonSuns, view_benefit};
pub use post::{Post, posts};
pub use sight::{Clarity, Sight, Sights, head_angle, look_depth, notice, sights};
pub use spots::{Spots, Zone};
pub use tops::Tops;

#[cfg(test)]
mod tests;
