//! Time in the mouth and in the chair: what the chain says of the material, and rows for what it does not follow.

use chain::{ChainError, Outlook};
use ledger::Parameters;
use terms::{Displacement, Technique};

use super::candidates::Candidate;

/// Times of a route, s.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct Times {
    /// With a loaded tray in the mouth.
    pub in_mouth_s: f64,
    /// In the chair: displacement, mixing, setting, inspection.
    pub chair_s: f64,
}

/// The times of a candidate, from the middles of the rows `visit/...`.
///
/// # Errors
/// When a row is missing.
pub fn times(
    candidate: &Candidate,
    outlook: &Outlook,
    parameters: &Parameters,
) -> Result<Times, ChainError> {
    let row = |name: &str| -> Result<f64, ChainError> {
        let (_, distribution) = parameters.find(&["visit"], name)?;
        Ok(distribution.median())
    };
    let teeth = match candidate.situation.abutments.len() {
        0 if candidate.situation.purpose.has_die() => 1.0,
        count => count as f64,
    };
    let displacing_s = match candidate.means.displacement {
        Displacement::None => 0.0,
        Displacement::SingleCord => teeth * row("cord_placing")? + row("cord_dwell")?,
        Displacement::DoubleCord => 2.0 * teeth * row("cord_placing")? + row("cord_dwell")?,
        Displacement::Paste => row("paste_time")?,
        Displacement::Electrosurgery | Displacement::RotaryCurettage | Displacement::Laser => {
            teeth * row("surgery_time")?
        }
    };
    let putty_s = match candidate.route.technique {
        Technique::PuttyWashTwoStep => row("putty_first")?,
        _ => 0.0,
    };
    Ok(Times {
        in_mouth_s: outlook.in_mouth_s + putty_s,
        chair_s: displacing_s + putty_s + outlook.mix_to_removal_s + row("inspection")?,
    })
}
