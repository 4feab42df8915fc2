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

/// One for every class.
pub const BASES: &[Base] = &[
    Base {
        name: "alginate",
        words: "alginate",
        text: include_str!("../../../../../data/class/alginate.toml"),
    },
    Base {
        name: "extended-alginate",
        words: "extended-storage alginate",
        text: include_str!("../../../../../data/class/extended-alginate.toml"),
    },
    Base { name: "agar", words: "agar", text: include_str!("../../../../../data/class/agar.toml") },
    Base {
        name: "polysulfide",
        words: "polysulfide",
        text: include_str!("../../../../../data/class/polysulfide.toml"),
    },
    Base {
        name: "condensation-silicone",
        words: "condensation silicone",
        text: include_str!("../../../../../data/class/condensation-silicone.toml"),
    },
    Base {
        name: "addition-silicone",
        words: "addition silicone",
        text: include_str!("../../../../../data/class/addition-silicone.toml"),
    },
    Base {
        name: "polyether",
        words: "polyether",
        text: include_str!("../../../../../data/class/polyether.toml"),
    },
    Base {
        name: "hybrid",
        words: "vinyl polyether hybrid",
        text: include_str!("../../../../../data/class/hybrid.toml"),
    },
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
