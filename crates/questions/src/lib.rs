//! Questions whose keys are computed from the chain and the rulebook; marking, item statistics, exchange.
//!
//! Everything here is pure: it reads no clock, file, network or random state. A template with a number gives the same item
//! always; a set is composed from its number and freezes the parameters that it was composed with.

mod draw;
mod generate;
pub mod item;
mod key;
mod set;
mod template;
pub mod wording;

pub use draw::Draw;
pub use generate::{Evidence, Frozen, Rejected, TRIES, generate};
pub use item::{Asks, Body, Choice, Item, Level, Response, Step};
pub use key::{STABLE, Shown, World, times};
pub use set::{Blueprint, Changed, QuestionSet, SetError, compose, recheck};
pub use template::{Arithmetic, Extreme, Key, Misconception, Template, TemplateError, Templates, Written};
