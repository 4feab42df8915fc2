//! Time in the mouth and in the chair: what the chain says of the material, and rows for what it does not follow.

use chain::{ChainError, Outlook};
use ledger::Parameters;
use libm::sqrt;
use terms::{Displacement, Route, Situation, Technique};

/// Times of a route, s.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct Times {
    /// With a loaded tray in the mouth.
    pub in_mouth_s: f64,
    /// In the chair: displacement, mixing, setting, inspection.
    pub chair_s: f64,
    /// Half the width of its 90 % interval.
    pub chair_half_s: f64,
}

/// The times of a route, from the rows `visit/...`; an unknown way to open the gum takes the time of a single cord.
///
/// # Errors
/// When a row is missing.
pub fn times(
    situation: &Situation,
    route: &Route,
    outlook: &Outlook,
    parameters: &Parameters,
) -> Result<Times, ChainError> {
    let mut sum = Sum { parameters, middle_s: 0.0, squares: 0.0 };
    let teeth = situation.abutments.len().max(1) as f64;
    if situation.purpose.has_die() {
        match route.displacement.known().unwrap_or(Displacement::SingleCord) {
            Displacement::None => {}
            Displacement::SingleCord => {
                sum.add("cord_placing", teeth)?;
                sum.add("cord_dwell", 1.0)?;
            }
            Displacement::DoubleCord => {
                sum.add("cord_placing", 2.0 * teeth)?;
                sum.add("cord_dwell", 1.0)?;
            }
            Displacement::Paste => sum.add("paste_time", 1.0)?,
            Displacement::Electrosurgery | Displacement::RotaryCurettage | Displacement::Laser => {
                sum.add("surgery_time", teeth)?;
            }
        }
    }
    let before_putty_s = sum.middle_s;
    if route.technique == Technique::PuttyWashTwoStep {
        sum.add("putty_first", 1.0)?;
    }
    let putty_s = sum.middle_s - before_putty_s;
    sum.add("inspection", 1.0)?;
    Ok(Times {
        in_mouth_s: outlook.in_mouth_s + putty_s,
        chair_s: sum.middle_s + outlook.mix_to_removal_s,
        chair_half_s: sqrt(sum.squares),
    })
}

/// Rows added up: middles, and half-widths in squares.
struct Sum<'a> {
    parameters: &'a Parameters,
    middle_s: f64,
    squares: f64,
}

impl Sum<'_> {
    fn add(&mut self, name: &str, count: f64) -> Result<(), ChainError> {
        let (_, row) = self.parameters.find(&["visit"], name)?;
        let half_s = 0.5 * count * (row.quantile(0.95) - row.quantile(0.05));
        self.middle_s += count * row.median();
        self.squares += half_s * half_s;
        Ok(())
    }
}
