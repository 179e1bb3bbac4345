//! Theory of search in closed form: coverage, negative search, optimal effort, order of looks, error radii.
//!
//! The planner's yardsticks and ceilings, and what `explain` computes by hand calculator. Nothing here
//! knows a site. Never: reads the register, a clock or a file. Start reading at [`coverage_of`], then
//! [`optimal_effort`].

mod calibration;
mod ceiling;
mod coverage;
mod effort;
mod fruitless;
mod koopman;
mod levels;
mod looks;
mod mixed;
mod order;
mod radii;

pub use calibration::{
    BrierParts, Rank, binomial_two_sided, brier_many, brier_parts, rank_of, region_share, uniform_gap,
};
pub use ceiling::{Ceiling, SteadyEffort, effort_ceiling};
pub use coverage::{Sweeping, coverage_of, definite, inverse_cube, inverse_cube_width, random_search};
pub use effort::{Allocation, Cell, optimal_effort};
pub use fruitless::{Contradiction, Fruitless, fruitless};
pub use koopman::{circular_normal_effort, mean_effort, timely_find};
pub use levels::{Level, effort_map, effort_maps, levels};
pub use looks::{Looks, any_look, looks, overlapped};
pub use mixed::{Mixed, mixed_effort};
pub use order::{LookCell, LookOrder, best_looks, order_looks};
pub use radii::{containment_radius, drifted_sigma, total_error};
