//! A case while it runs: what is recorded, what the chain says of it now, and what must be said in time.
//!
//! ```text
//! Deed -> Entry (checked against the history) -> Store -> history -> Running -> Case -> forecast -> Sight
//! ```
//!
//! The terminal and the pages do the same deeds and show the same [`Sight`].

mod deed;
mod here;
mod place;
mod session;
mod sight;
mod told;
mod typed;

pub use deed::{Deed, NoDeed};
pub use here::here;
pub use place::Place;
pub use session::{NotDone, Session, Stops, recorded};
pub use sight::{Alert, Done, End, Level, Next, Sight, Urgency, clock_span, lead_s, sight};
pub use told::{in_words, read_in_words};
pub use typed::{GRAMMAR, NotUnderstood, Typed, typed};
