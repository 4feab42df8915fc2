//! Batches of products, by the label that is printed on them.

/// The label of a lot: 1 to 24 letters, digits, hyphens, dots and strokes, such as `L-2403`.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct LotLabel(String);

/// The text is no label of a lot.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("given {given:?}; allowed {}", LotLabel::ALLOWED)]
pub struct NotALot {
    /// What was given.
    pub given: String,
}

impl LotLabel {
    /// The pattern in words.
    pub const ALLOWED: &'static str =
        "1 to 24 letters, digits, hyphens, dots and strokes, such as \"L-2403\"";

    /// The same pattern as a regular expression, for the schema.
    pub const PATTERN: &'static str = "^[A-Za-z0-9./-]{1,24}$";

    /// # Errors
    /// When the text does not fit the pattern.
    pub fn new(text: &str) -> Result<LotLabel, NotALot> {
        let fits = (1..=24).contains(&text.len())
            && text.bytes().all(|b| b.is_ascii_alphanumeric() || matches!(b, b'-' | b'.' | b'/'));
        if fits { Ok(LotLabel(text.to_owned())) } else { Err(NotALot { given: text.to_owned() }) }
    }

    /// The label as text.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl std::fmt::Display for LotLabel {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.pad(&self.0)
    }
}

impl serde::Serialize for LotLabel {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(&self.0)
    }
}

/// The lots that a route uses, where they are written down. They change no forecast; results of a lot of its own will.
#[derive(Clone, Debug, Default, PartialEq, serde::Serialize)]
pub struct Lots {
    /// Of the material in the tray.
    pub material: Option<LotLabel>,
    /// Of the second material.
    pub wash: Option<LotLabel>,
    /// Of the stone.
    pub stone: Option<LotLabel>,
}

#[cfg(test)]
mod tests {
    use super::LotLabel;

    #[test]
    fn labels_fit_and_sentences_do_not() {
        for good in ["L-2403", "24.03/7", "A", "123456789012345678901234"] {
            assert_eq!(LotLabel::new(good).unwrap().as_str(), good);
        }
        for bad in ["", "L 2403", "1234567890123456789012345", "Lö", "a_b"] {
            assert!(LotLabel::new(bad).is_err(), "{bad}");
        }
    }
}
