//! From "what will happen if I do this" to "what should I consider doing".
//!
//! Everything here is pure: it reads no clock, file, network or random state. What a caution says is a row of
//! `data/cautions`; what a route is worth is asked of the chain; nothing has a weight set by hand.

pub mod amounts;
pub mod cautions;
pub mod inspection;
pub mod pour_order;
pub mod result;
pub mod routes;
pub mod rules;
pub mod sheet;
mod view;
pub mod visit;

pub use view::View;
