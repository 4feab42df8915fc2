//! The ledger that comes with the program, compiled in.

use crate::snapshot::{LedgerError, Parameters};

/// Ledger files by name, as shipped.
pub const FILES: &[(&str, &str)] = &[
    ("addition-silicone.toml", include_str!("../../../data/addition-silicone.toml")),
    ("alginate.toml", include_str!("../../../data/alginate.toml")),
    ("discrepancy.toml", include_str!("../../../data/discrepancy.toml")),
    ("fit.toml", include_str!("../../../data/fit.toml")),
    ("gypsum.toml", include_str!("../../../data/gypsum.toml")),
    ("mouth.toml", include_str!("../../../data/mouth.toml")),
    ("taught.toml", include_str!("../../../data/taught.toml")),
    ("usual.toml", include_str!("../../../data/usual.toml")),
];

/// The shipped ledger as a snapshot.
///
/// # Errors
/// When a shipped row is wrong; a test reads them all.
pub fn shipped() -> Result<Parameters, LedgerError> {
    Parameters::read(FILES)
}
