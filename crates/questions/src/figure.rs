//! A figure, or why there is none. Nothing here is ever "not a number".

use serde::{Deserialize, Serialize};
use thiserror::Error;

/// A figure, or why there is none.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Figure<T = f64> {
    /// The figure.
    Known(T),
    /// There is none.
    Absent(Absent),
}

/// Why there is no figure.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Error, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Absent {
    /// Too few to say anything.
    #[error("too few {of}: given {given}; at least {needed} are needed")]
    TooFew {
        /// Of what.
        of: Of,
        /// How many there are.
        given: usize,
        /// How many are needed.
        needed: usize,
    },
    /// Everything is the same, so that nothing can vary with it.
    #[error("undefined: {of} are all the same")]
    NoSpread {
        /// Of what.
        of: Of,
    },
    /// Agreement by chance alone is already complete.
    #[error("undefined: chance alone would agree always, because only one level was given")]
    ChanceIsCertain,
    /// The figure is for items that are right or wrong.
    #[error("not for partial credit: some answers earned a part")]
    PartialCredit,
    /// The figure is for items with options.
    #[error("not for an item without options")]
    NoOptions,
}

/// What there are too few of, or what does not vary.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Of {
    /// Learners.
    Learners,
    /// Items.
    Items,
    /// What was earned on the item.
    ItemCredits,
    /// The totals.
    Totals,
    /// Totals without the item.
    Rest,
    /// Judges.
    Judges,
    /// Cases that both or all have rated.
    Cases,
    /// Markers.
    Markers,
    /// Differences from the reference.
    Differences,
}

impl std::fmt::Display for Of {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Of::Learners => "learners",
            Of::Items => "items",
            Of::ItemCredits => "the credits of the item",
            Of::Totals => "the totals",
            Of::Rest => "the totals without the item",
            Of::Judges => "judges",
            Of::Cases => "cases rated by all",
            Of::Markers => "markers",
            Of::Differences => "the differences",
        })
    }
}

impl<T: Copy> Figure<T> {
    /// The figure, if there is one.
    pub fn known(self) -> Option<T> {
        match self {
            Figure::Known(value) => Some(value),
            Figure::Absent(_) => None,
        }
    }
}

impl<T> From<Result<T, Absent>> for Figure<T> {
    fn from(result: Result<T, Absent>) -> Self {
        match result {
            Ok(value) => Figure::Known(value),
            Err(absent) => Figure::Absent(absent),
        }
    }
}

/// Refuses less than what is needed.
pub(crate) fn enough(of: Of, given: usize, needed: usize) -> Result<(), Absent> {
    if given < needed { Err(Absent::TooFew { of, given, needed }) } else { Ok(()) }
}
