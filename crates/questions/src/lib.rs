//! Questions whose keys are computed from the chain and the rulebook; marking, item statistics, exchange.
//!
//! Everything here is pure: it reads no clock, file, network or random state. A template with a number gives the same item
//! always; a set is composed from its number and freezes the parameters that it was composed with.

pub mod item;
pub mod qti;

pub use item::{Asks, Body, Choice, Item, Level, Response, Step};
