//! The contract of what keeps histories.

use std::future::Future;

use terms::{CaseCode, Instant};

use crate::entry::{Entry, EntryId};
use crate::replay::Kept;

/// An entry is on the disk.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
pub struct Acknowledged {
    /// The entry.
    pub id: EntryId,
    /// Its place in the history of its case, from 1.
    pub number: u64,
    /// It had been recorded before.
    pub repeated: bool,
}

/// A case as a list shows it.
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize)]
pub struct CaseLine {
    /// Code.
    pub case: CaseCode,
    /// Entries.
    pub entries: u64,
    /// Wall clock of the last one.
    pub last: Instant,
}

/// What a look through everything found.
#[derive(Clone, Debug, Default, PartialEq, Eq, serde::Serialize)]
pub struct Verified {
    /// Cases.
    pub cases: u64,
    /// Entries that are whole.
    pub entries: u64,
    /// What is not, in words.
    pub damage: Vec<String>,
}

/// What a restore did.
#[derive(Clone, Debug, Default, PartialEq, Eq, serde::Serialize)]
pub struct Restored {
    /// Cases looked at.
    pub cases: u64,
    /// Entries that were missing and have been added.
    pub added: u64,
    /// Entries that were there.
    pub there: u64,
    /// Cases whose two histories part, and are left as they are.
    pub parted: Vec<String>,
}

/// What keeps histories. Nothing is ever changed or taken out.
pub trait Store: Sync {
    /// Records entries, all or none. When this returns they are on the disk; recording one again changes nothing.
    ///
    /// # Errors
    /// When they cannot be kept, or an identifier is already that of another entry.
    fn append(&self, entries: &[Entry])
    -> impl Future<Output = Result<Vec<Acknowledged>, StoreError>> + Send;

    /// The history of a case, oldest first; empty when there is none.
    ///
    /// # Errors
    /// When it cannot be read, or is damaged.
    fn history(&self, case: &CaseCode) -> impl Future<Output = Result<Vec<Kept>, StoreError>> + Send;

    /// All cases, in the order of their codes.
    ///
    /// # Errors
    /// When they cannot be read.
    fn cases(&self) -> impl Future<Output = Result<Vec<CaseLine>, StoreError>> + Send;

    /// Looks through everything.
    ///
    /// # Errors
    /// When the store cannot be asked at all.
    fn verify(&self) -> impl Future<Output = Result<Verified, StoreError>> + Send;
}

/// A store that cannot do what it was asked.
#[derive(Debug, thiserror::Error)]
pub enum StoreError {
    /// There is nothing.
    #[error("{path}: there is no store of records")]
    Absent {
        /// Where.
        path: String,
    },
    /// Something else is there.
    #[error(
        "{path}: given a file that is no store of records; allowed one that trayward made, or a new name"
    )]
    Foreign {
        /// Where.
        path: String,
    },
    /// A later version of the program made it.
    #[error(
        "{path}: given records of form {found}; allowed up to form {known}: a newer trayward made them, use that one; nothing has been changed"
    )]
    Newer {
        /// Where.
        path: String,
        /// Form that was found.
        found: i64,
        /// The last form that is known.
        known: i64,
    },
    /// No room.
    #[error(
        "{path}: the disk is full; what was acknowledged before is kept, this entry is not: make room and record it again"
    )]
    Full {
        /// Where.
        path: String,
    },
    /// Not writable.
    #[error(
        "{path}: cannot be written here ({why}); what is recorded is kept as it is, nothing new is: give a folder that can be written"
    )]
    ReadOnly {
        /// Where.
        path: String,
        /// In the words of the system.
        why: String,
    },
    /// Damaged.
    #[error(
        "{path}: damaged ({why}); nothing has been changed: `trayward verify` says what is whole, `trayward export` saves it, `trayward restore` adds what a backup has"
    )]
    Damaged {
        /// Where.
        path: String,
        /// What.
        why: String,
    },
    /// The identifier is taken.
    #[error(
        "entry {id}: given another content than the one recorded under this identifier; allowed the same, or a new identifier"
    )]
    Taken {
        /// Identifier.
        id: EntryId,
    },
    /// The entry itself.
    #[error(transparent)]
    Entry(#[from] terms::Invalid),
    /// Somebody else writes and does not stop.
    #[error("{path}: busy for more than {seconds} s; another program holds it")]
    Busy {
        /// Where.
        path: String,
        /// How long was waited.
        seconds: u64,
    },
    /// Anything else.
    #[error("{path}: {why}")]
    Other {
        /// Where.
        path: String,
        /// In the words of the back end.
        why: String,
    },
}
