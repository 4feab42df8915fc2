//! The states from which knobs are turned: one for every class, with the technique that is usual for it.

use case_file::Case;

/// A material with its usual technique.
pub struct Base {
    /// Name in a link.
    pub name: &'static str,
    /// In words.
    pub words: &'static str,
    text: &'static str,
}

/// A base with the file of its name.
macro_rules! base {
    ($name:literal, $words:literal) => {
        Base {
            name: $name,
            words: $words,
            text: include_str!(concat!("../../../../../data/class/", $name, ".toml")),
        }
    };
}

/// One for every class.
pub const BASES: &[Base] = &[
    base!("alginate", "alginate"),
    base!("extended-alginate", "extended-storage alginate"),
    base!("agar", "agar"),
    base!("polysulfide", "polysulfide"),
    base!("condensation-silicone", "condensation silicone"),
    base!("addition-silicone", "addition silicone"),
    base!("polyether", "polyether"),
    base!("hybrid", "vinyl polyether hybrid"),
];

impl Base {
    /// The base of this name, or the first.
    pub fn of(name: &str) -> &'static Base {
        BASES.iter().find(|base| base.name == name).unwrap_or(&BASES[0])
    }

    /// Its case.
    ///
    /// # Errors
    /// When the file has problems; a test reads them all.
    pub fn case(&self) -> anyhow::Result<Case> {
        Ok(case_file::parse(self.name, self.text).map_err(crate::load::Unreadable)?)
    }
}
