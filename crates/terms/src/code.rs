//! The code of a case.

/// Two to four capital letters, a hyphen and two to six digits: `TW-0007`. A name does not fit.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct CaseCode(String);

/// The text is not a case code.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("given {given:?}; allowed {}", CaseCode::ALLOWED)]
pub struct NotACode {
    /// What was given.
    pub given: String,
}

impl CaseCode {
    /// The pattern in words.
    pub const ALLOWED: &'static str =
        "two to four capital letters, a hyphen and two to six digits, such as \"TW-0007\"";

    /// The same pattern as a regular expression, for the schema.
    pub const PATTERN: &'static str = "^[A-Z]{2,4}-[0-9]{2,6}$";

    /// # Errors
    /// When the text does not fit the pattern.
    pub fn new(text: &str) -> Result<Self, NotACode> {
        let fits = text.split_once('-').is_some_and(|(letters, digits)| {
            (2..=4).contains(&letters.len())
                && letters.bytes().all(|b| b.is_ascii_uppercase())
                && (2..=6).contains(&digits.len())
                && digits.bytes().all(|b| b.is_ascii_digit())
        });
        if fits { Ok(CaseCode(text.to_owned())) } else { Err(NotACode { given: text.to_owned() }) }
    }

    /// The code as text.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

/// What the code of a learner looks like, in words.
pub const LEARNER_ALLOWED: &str =
    "a code of one to three capital letters, a hyphen and two to four digits, such as \"S-01\"; never a name";

/// Whether a text is the code of a learner. A name does not fit.
pub fn is_learner(text: &str) -> bool {
    text.split_once('-').is_some_and(|(letters, digits)| {
        (1..=3).contains(&letters.len())
            && letters.bytes().all(|b| b.is_ascii_uppercase())
            && (2..=4).contains(&digits.len())
            && digits.bytes().all(|b| b.is_ascii_digit())
    })
}

impl serde::Serialize for CaseCode {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(&self.0)
    }
}

impl<'de> serde::Deserialize<'de> for CaseCode {
    fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let text = <std::borrow::Cow<'de, str>>::deserialize(deserializer)?;
        CaseCode::new(&text).map_err(serde::de::Error::custom)
    }
}

impl std::fmt::Display for CaseCode {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.pad(&self.0)
    }
}

#[cfg(test)]
mod tests {
    use super::CaseCode;

    #[test]
    fn codes_fit_and_names_do_not() {
        for good in ["TW-0007", "DEMO-03", "AB-12", "ABCD-123456"] {
            assert_eq!(CaseCode::new(good).unwrap().as_str(), good);
        }
        for bad in [
            "",
            "A-12",
            "ABCDE-12",
            "AB-1",
            "AB-1234567",
            "ab-12",
            "Smith-John",
            "AB 12",
            "AB-1-2",
            "ÄB-12",
            "AB-１２",
        ] {
            assert!(CaseCode::new(bad).is_err(), "{bad}");
        }
    }
}
