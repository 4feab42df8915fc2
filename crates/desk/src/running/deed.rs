//! What somebody does to a running case.

use records::{EntryId, Moved, Refusal, Running, What};
use terms::{Counted, Reading, Step};

/// What somebody does.
#[derive(Clone, Debug, PartialEq)]
pub enum Deed {
    /// A step happens, or happened some time ago; without a step the next one.
    Stamp {
        /// Step.
        step: Option<Step>,
        /// How long ago, ms.
        earlier_ms: i64,
    },
    /// The last stamp, skip or count was a mistake.
    TakeBack,
    /// This entry was a mistake.
    TakeBackOne(EntryId),
    /// A step is left out; without a step the next one.
    Skip {
        /// Step.
        step: Option<Step>,
        /// Why.
        reason: String,
    },
    /// Something is read or seen.
    Observe {
        /// What.
        reading: Reading,
        /// How long ago, ms.
        earlier_ms: i64,
    },
    /// Cords or fragments go in or come out.
    Count {
        /// What is counted.
        item: Counted,
        /// Which way.
        moved: Moved,
        /// How many.
        number: u32,
    },
    /// A caution or an end of a window is overruled.
    Overrule {
        /// Which.
        what: String,
        /// Why.
        reason: String,
    },
    /// Something is measured.
    Measure {
        /// What.
        what: String,
        /// In `unit`.
        value: f64,
        /// Unit.
        unit: String,
    },
    /// A remark.
    Note(String),
    /// The chair side is closed.
    Close {
        /// Initials of who signs for a difference in a count.
        signed: Option<String>,
        /// Why there is one.
        reason: Option<String>,
        /// When and how the patient is called back.
        recall: Option<String>,
    },
}

/// Why there is nothing to do.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum NoDeed {
    /// Every step has its stamp or its reason.
    #[error("every step is stamped or left out")]
    NoStepLeft,
    /// Nothing to take back.
    #[error("there is no stamp, skip or count to take back")]
    NothingLeft,
    /// The chain does not take it in this case.
    #[error("{0}")]
    NotForThisCase(String),
    /// The history refuses it.
    #[error(transparent)]
    Refused(#[from] Refusal),
}

impl Deed {
    /// What is recorded of it. `last` is the entry that a plain "take back" means.
    ///
    /// # Errors
    /// When no step is left, or nothing is there to take back.
    pub fn what(self, running: &Running, last: Option<EntryId>) -> Result<What, NoDeed> {
        let next = |step: Option<Step>| step.or_else(|| running.next_step()).ok_or(NoDeed::NoStepLeft);
        Ok(match self {
            Deed::Stamp { step, earlier_ms } => What::Stamped { step: next(step)?, earlier_ms },
            Deed::TakeBack => What::TakenBack { entry: last.ok_or(NoDeed::NothingLeft)? },
            Deed::TakeBackOne(entry) => What::TakenBack { entry },
            Deed::Skip { step, reason } => What::Skipped { step: next(step)?, reason },
            Deed::Observe { reading, earlier_ms } => What::Observed { reading, earlier_ms },
            Deed::Count { item, moved, number } => What::Counted { item, moved, number },
            Deed::Overrule { what, reason } => What::Overruled { what, reason },
            Deed::Measure { what, value, unit } => What::Measured { what, value, unit },
            Deed::Note(text) => What::Noted { text },
            Deed::Close { signed, reason, recall } => What::Closed { signed, reason, recall },
        })
    }
}
