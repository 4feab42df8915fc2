//! What happened: an append-only history of each case, and the state that its replay gives.
//!
//! An [`Entry`] is one thing that happened: a stamp, a reading, a count, a reason. It is made once, with an identifier of its own, so that
//! recording it a second time changes nothing. Nothing is changed or taken out of a history; what was wrong is taken back by another
//! entry. [`Running::replay`] is a pure function of a history: the same entries give the same state to the bit.
//!
//! [`Store`] is the contract of what keeps histories; [`sqlite::SqliteStore`] keeps them in one file. An entry is acknowledged when it is on
//! the disk and not before. Entries of a case carry a chain of hashes, so that a changed or lost one is noticed.

mod book;
mod class;
mod clocks;
mod entry;
mod export;
mod replay;
mod seal;
pub mod sqlite;
mod store;
mod write;

pub use book::{Book, OnShelf};
pub use class::{PracticalBook, SetBook, check_learner, is_reserved};
pub use clocks::{Clocks, Doubt};
pub use entry::{BootId, Entry, EntryId, Moment, Moved, What, check_text};
pub use export::{Line, json_lines, read_json_lines, table};
pub use replay::{Balance, Closing, Kept, KeptReading, KeptStamp, Reason, Refusal, Running, Stated, Unheard};
pub use seal::{Seal, sealed};
pub use store::{Acknowledged, CaseLine, Restored, Store, StoreError, Verified};
pub use write::restore;
