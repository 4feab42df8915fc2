//! Why a forecast could not be made.

use ledger::LedgerError;
use terms::Invalid;

/// A forecast that could not be made.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum ChainError {
    /// A quantity or a combination is not allowed.
    #[error(transparent)]
    Invalid(#[from] Invalid),
    /// A value is missing from the ledger.
    #[error(transparent)]
    Ledger(#[from] LedgerError),
    /// A product of the route is not in the ledger, or is something else.
    #[error("{field}: product \"{given}\" is {problem}")]
    Product {
        /// Field of the route.
        field: &'static str,
        /// Identifier given.
        given: String,
        /// What is wrong with it.
        problem: String,
    },
    /// A model refused a number that the ranges let through.
    #[error("outside what a model can compute: {0}")]
    Kernel(String),
}

/// A kernel refused a number. Validation keeps inputs inside the kernels' ranges, so this names a defect rather than an input.
macro_rules! from_kernel {
    ($($error:ty),+) => {
        $(impl From<$error> for ChainError {
            fn from(error: $error) -> Self {
                ChainError::Kernel(error.to_string())
            }
        })+
    };
}
from_kernel!(
    kernel::holding::HoldError,
    kernel::sorption::SorptionError,
    kernel::agar::AgarError,
    kernel::tube::OutOfRange,
    kernel::gypsum::GypsumError,
    kernel::mould_heat::MouldError,
    kernel::seating::SeatingError,
    kernel::casting::CastingError,
    kernel::capture::CaptureError,
    kernel::removal::RemovalError
);
