//! Ways to make the copy, compared.

mod candidates;
mod change;
mod clinic;
mod rank;
mod times;

pub use clinic::{Clinic, Keeping, Kit, Means, Remake, TrayAtHand};
