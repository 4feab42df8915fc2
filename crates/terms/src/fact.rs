//! A fact that may be missing, without "missing" ever meaning "no".

/// What is known of one fact.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Fact<T> {
    /// The value is known.
    Known(T),
    /// Nobody has said. It is sampled from what the ledger says is usual, and asked for.
    #[default]
    Unknown,
    /// The question does not arise for this case.
    NotApplicable,
}

impl<T: Copy> Fact<T> {
    /// The value, if it is known.
    pub fn known(self) -> Option<T> {
        match self {
            Fact::Known(value) => Some(value),
            Fact::Unknown | Fact::NotApplicable => None,
        }
    }

    /// True when the fact is missing and the question does arise.
    pub fn is_unknown(self) -> bool {
        matches!(self, Fact::Unknown)
    }
}
