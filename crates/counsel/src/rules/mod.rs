//! What is taught, against the chain: where over two conditions a rule holds, where the difference is too small to matter, where it fails, and
//! where nothing can be told.
//!
//! A rule is a row of `data/rules`: a sentence as it is taught, a case with everything else left as it usually is, two conditions that are turned
//! over a map, and a claim about numbers of the chain, sample by sample. Nothing is said of a rule that the chain was not asked.

mod audit;
mod claim;
mod map;
mod rule;
mod say;
mod text;

pub use audit::{Audit, Own, Pace, Why, audit, place};
pub use claim::{Ask, Shares, levels, shares};
pub use map::{Fineness, Levels, Map, Point, Square, Standing, map};
pub use rule::{Axis, Bound, CASES, Claim, Direction, Rule, Rules, RulesError, Scale};
pub use say::{asked_at, reason, sentence};
pub use text::{fill, stated};
