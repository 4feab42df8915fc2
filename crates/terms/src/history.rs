//! What really happened, and what was seen.

use crate::ranges::{self, Invalid};
use crate::{DieFault, Fact, Fault, IndexFit, Instant, Step, TryInSign};

/// The recorded moment of a step.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Stamp {
    /// Step.
    pub step: Step,
    /// When it happened.
    pub at: Instant,
}

/// Something read or seen at a moment.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Observation {
    /// When.
    pub at: Instant,
    /// What.
    pub reading: Reading,
}

/// A reading of an instrument, a sign that was waited for, or a finding on inspection.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Reading {
    /// Air of the room, K.
    RoomTemperature(f64),
    /// Relative humidity of the room, 0 to 1.
    RoomHumidity(f64),
    /// The water that the powder is added to, K.
    WaterTemperature(f64),
    /// Surface of the prepared tooth before seating, K.
    ToothTemperature(f64),
    /// The mix at the end of mixing, K.
    MixTemperature(f64),
    /// The rest in the bowl, or a smear kept at room temperature, has just lost its tack.
    BowlSet,
    /// Mass lost since removal, as a share of the mass at removal.
    MassLoss(f64),
    /// One line of the inspection after removal.
    Inspection(Finding),
    /// One line of the inspection of the die.
    Die(DieFinding),
    /// Width of the second die minus that of the first at the same place, m.
    PourDifference(f64),
    /// A rigid index made in the mouth, tried on the cast.
    SpanIndex(IndexFit),
    /// Thickness of a fit-check film at the margin, m.
    MarginFilm(f64),
    /// Thickness of a fit-check film at the walls, m.
    WallFilm(f64),
    /// One sign at try-in.
    TryIn(TryInFinding),
}

/// One line of the inspection of a die.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct DieFinding {
    /// What was looked for.
    pub fault: DieFault,
    /// Whether it is there.
    pub present: Fact<bool>,
}

/// One sign at try-in.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct TryInFinding {
    /// The sign.
    pub sign: TryInSign,
    /// Whether it is there.
    pub present: Fact<bool>,
}

impl Reading {
    /// Whether both are findings of the same thing, so that the later one stands in the place of the earlier.
    pub fn is_of_the_same(&self, other: &Reading) -> bool {
        match (self, other) {
            (Reading::Inspection(a), Reading::Inspection(b)) => a.fault == b.fault,
            (Reading::Die(a), Reading::Die(b)) => a.fault == b.fault,
            (Reading::TryIn(a), Reading::TryIn(b)) => a.sign == b.sign,
            (Reading::SpanIndex(_), Reading::SpanIndex(_)) => true,
            _ => false,
        }
    }

    /// Whether it says that nobody has looked.
    pub fn is_not_looked(&self) -> bool {
        match self {
            Reading::Inspection(finding) => finding.present.is_unknown(),
            Reading::Die(finding) => finding.present.is_unknown(),
            Reading::TryIn(finding) => finding.present.is_unknown(),
            _ => false,
        }
    }

    /// Whether it is found after the stone was poured.
    pub fn is_after_pouring(&self) -> bool {
        matches!(
            self,
            Reading::Die(_)
                | Reading::PourDifference(_)
                | Reading::SpanIndex(_)
                | Reading::MarginFilm(_)
                | Reading::WallFilm(_)
                | Reading::TryIn(_)
        )
    }
}

/// One line of an inspection.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Finding {
    /// What was looked for.
    pub fault: Fault,
    /// Whether it is there.
    pub present: Fact<bool>,
}

impl Observation {
    /// The reading lies in its range.
    ///
    /// # Errors
    /// With what was given and what is allowed; `field` is the path to report.
    pub fn validate(&self, field: &str) -> Result<(), Invalid> {
        match self.reading {
            Reading::RoomTemperature(k) => ranges::ROOM_TEMPERATURE.check(field, k),
            Reading::RoomHumidity(rh) => ranges::HUMIDITY.check(field, rh),
            Reading::WaterTemperature(k) => ranges::WATER_TEMPERATURE.check(field, k),
            Reading::ToothTemperature(k) => ranges::TOOTH_TEMPERATURE.check(field, k),
            Reading::MixTemperature(k) => ranges::WATER_TEMPERATURE.check(field, k),
            Reading::MassLoss(share) => ranges::MASS_LOSS.check(field, share),
            Reading::MarginFilm(m) | Reading::WallFilm(m) => ranges::FIT_FILM.check(field, m),
            Reading::PourDifference(m) => ranges::POUR_DIFFERENCE.check(field, m),
            Reading::BowlSet
            | Reading::Inspection(_)
            | Reading::Die(_)
            | Reading::SpanIndex(_)
            | Reading::TryIn(_) => Ok(()),
        }
    }
}

/// Stamps in the order of their steps, each step once, none before the step it follows.
///
/// # Errors
/// The first stamp that is repeated or out of order.
pub fn check_order(stamps: &[Stamp]) -> Result<(), Invalid> {
    for (index, stamp) in stamps.iter().enumerate() {
        for (other_index, other) in stamps.iter().enumerate() {
            if index == other_index {
                continue;
            }
            let field = format!("stamps[{index}]");
            if stamp.step == other.step && index > other_index {
                return Err(Invalid {
                    field,
                    given: format!("\"{}\" a second time", stamp.step),
                    allowed: "each step once".to_owned(),
                });
            }
            if stamp.step > other.step && stamp.at < other.at {
                return Err(Invalid {
                    field,
                    given: format!("\"{}\" before \"{}\"", stamp.step, other.step),
                    allowed: format!("\"{}\" at the same moment or later", stamp.step),
                });
            }
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn stamps_keep_the_order_of_the_steps() {
        let at = |step, s: i64| Stamp { step, at: Instant::from_millis(s * 1000) };
        assert!(check_order(&[at(Step::MixStarted, 0), at(Step::Removed, 240)]).is_ok());
        let reversed = check_order(&[at(Step::Seated, 50), at(Step::MixStarted, 60)]).unwrap_err();
        assert!(reversed.to_string().contains("\"seated\" before \"mix started\""), "{reversed}");
        assert!(check_order(&[at(Step::Seated, 50), at(Step::Seated, 60)]).is_err());
    }
}
