//! The ledger that comes with the program, compiled in.

use crate::snapshot::{LedgerError, Parameters};

/// Ledger files by name, as shipped.
pub const FILES: &[(&str, &str)] = &[
    ("access-and-removal.toml", include_str!("../../../data/access-and-removal.toml")),
    ("addition-silicone.toml", include_str!("../../../data/addition-silicone.toml")),
    ("after.toml", include_str!("../../../data/after.toml")),
    ("agar.toml", include_str!("../../../data/agar.toml")),
    ("amounts.toml", include_str!("../../../data/amounts.toml")),
    ("alginate.toml", include_str!("../../../data/alginate.toml")),
    ("condensation-silicone.toml", include_str!("../../../data/condensation-silicone.toml")),
    ("discrepancy.toml", include_str!("../../../data/discrepancy.toml")),
    ("disinfection.toml", include_str!("../../../data/disinfection.toml")),
    ("extended-alginate.toml", include_str!("../../../data/extended-alginate.toml")),
    ("fit.toml", include_str!("../../../data/fit.toml")),
    ("gypsum.toml", include_str!("../../../data/gypsum.toml")),
    ("inhibition.toml", include_str!("../../../data/inhibition.toml")),
    ("mouth.toml", include_str!("../../../data/mouth.toml")),
    ("polyether.toml", include_str!("../../../data/polyether.toml")),
    ("polysulfide.toml", include_str!("../../../data/polysulfide.toml")),
    ("taught.toml", include_str!("../../../data/taught.toml")),
    ("technique.toml", include_str!("../../../data/technique.toml")),
    ("usual.toml", include_str!("../../../data/usual.toml")),
    ("visit.toml", include_str!("../../../data/visit.toml")),
    ("vinyl-polyether-hybrid.toml", include_str!("../../../data/vinyl-polyether-hybrid.toml")),
];

/// The shipped ledger as a snapshot.
///
/// # Errors
/// When a shipped row is wrong; a test reads them all.
pub fn shipped() -> Result<Parameters, LedgerError> {
    Parameters::read(FILES)
}
