//! Exact amounts and their inverses: water of two sources, timings taken at the bench, powder and water, cartridges, stone, waits.

mod bench;
mod blend;
mod measure;

pub use bench::{Bench, BenchTiming, Prediction, bench, student_quantile};
pub use blend::{Blend, blend};
pub use measure::{Amount, Consequence, Measure, measure};

/// An amount that cannot be worked out.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum AmountError {
    /// What was given is not allowed.
    #[error("{field}: given {given}; allowed {allowed}")]
    Given {
        /// Field.
        field: &'static str,
        /// What was given.
        given: String,
        /// What is allowed.
        allowed: String,
    },
    /// The chain or the ledger refuses.
    #[error(transparent)]
    Chain(#[from] chain::ChainError),
}

impl From<ledger::LedgerError> for AmountError {
    fn from(error: ledger::LedgerError) -> Self {
        AmountError::Chain(error.into())
    }
}
