//! One prepared tooth with its finish line.

use core::fmt;

use crate::ranges::{self, Invalid};
use crate::{Fact, SulcusState};

/// Most prepared teeth of one impression.
pub const MAX_ABUTMENTS: usize = 14;

/// A tooth of the permanent dentition in the two digits of ISO 3950: quadrant, then place from the midline.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Tooth(u8);

impl Tooth {
    /// What may be written, for messages.
    pub const ALLOWED: &'static str =
        "two digits of ISO 3950, quadrant 1 to 4 and place 1 to 8, such as \"14\"";

    /// The tooth of a quadrant (1 to 4) and a place (1 to 8).
    pub fn new(quadrant: u8, place: u8) -> Option<Tooth> {
        ((1..=4).contains(&quadrant) && (1..=8).contains(&place)).then_some(Tooth(10 * quadrant + place))
    }

    /// Reads the two digits.
    pub fn from_digits(text: &str) -> Option<Tooth> {
        match text.as_bytes() {
            [quadrant @ b'1'..=b'4', place @ b'1'..=b'8'] => Tooth::new(quadrant - b'0', place - b'0'),
            _ => None,
        }
    }

    /// Whether it stands in the upper jaw.
    pub fn is_upper(self) -> bool {
        self.0 < 30
    }
}

impl fmt::Display for Tooth {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.0)
    }
}

impl serde::Serialize for Tooth {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

/// A prepared tooth. Every fact may be unknown.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct Abutment {
    /// Which tooth.
    pub tooth: Fact<Tooth>,
    /// Depth of the finish line below the gum, m; zero for one at the gum or above it.
    pub margin_depth_m: Fact<f64>,
    /// What stands in its sulcus when the material comes.
    pub sulcus: Fact<SulcusState>,
}

impl Abutment {
    /// A prepared tooth of which nothing is known.
    pub const UNKNOWN: Abutment =
        Abutment { tooth: Fact::Unknown, margin_depth_m: Fact::Unknown, sulcus: Fact::Unknown };

    /// The known depth lies in its range; `field` is the path to report.
    ///
    /// # Errors
    /// With what was given and what is allowed.
    pub fn validate(&self, field: &str) -> Result<(), Invalid> {
        ranges::MARGIN_DEPTH.check_fact(&format!("{field}.margin_depth"), self.margin_depth_m)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_digits_of_the_permanent_dentition_and_nothing_else() {
        assert_eq!(Tooth::from_digits("36").map(|tooth| tooth.to_string()).as_deref(), Some("36"));
        assert!(Tooth::from_digits("11").is_some_and(Tooth::is_upper));
        for text in ["", "1", "19", "51", "00", "148", "1a", "-1"] {
            assert_eq!(Tooth::from_digits(text), None, "{text}");
        }
    }
}
