//! Questions whose keys are computed from the chain and the rulebook; marking, item statistics, exchange.
//!
//! Everything here is pure: it reads no clock, file, network or random state. A template with a number gives the same item
//! always; a set is composed from its number and freezes the parameters that it was composed with.

pub mod agreement;
pub mod analysis;
pub mod answer_file;
pub mod answers;
mod draw;
#[cfg(test)]
mod examples;
pub mod figure;
mod generate;
pub mod item;
mod key;
pub mod marking;
pub mod pass_mark;
pub mod qti;
pub mod quantile;
pub mod rubric;
mod set;
mod template;
pub mod wording;

pub use draw::Draw;
pub use generate::{Evidence, Frozen, Made, Rejected, TRIES, generate};
pub use item::{Asks, Body, Choice, Item, Level, Response, Step};
pub use key::{FORECAST, STABLE, Shown, World, times};
pub use set::{Blueprint, Changed, QuestionSet, SetError, compose, recheck, take_over};
pub use template::{Arithmetic, Extreme, Key, Misconception, Template, TemplateError, Templates, Written};
