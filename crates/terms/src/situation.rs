//! What is known about the mouth and the room.

use crate::abutment::MAX_ABUTMENTS;
use crate::ranges::{self, Invalid};
use crate::{Abutment, Astringent, Fact, Mobility, Purpose, SulcusState, UndercutPlace};

/// The mouth and the room. Every fact but the purpose may be unknown.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Situation {
    /// What the copy is for.
    pub purpose: Purpose,
    /// Air of the room, K. Powder, bowl, tray and stone are taken to be at this temperature.
    pub room_temperature_k: Fact<f64>,
    /// Relative humidity of the room, 0 to 1.
    pub room_humidity: Fact<f64>,
    /// Air speed over an impression lying in the room, m/s.
    pub draught_m_s: Fact<f64>,
    /// Water that the powder is added to, K; not applicable to pastes.
    pub water_temperature_k: Fact<f64>,
    /// Tooth surface before seating, K.
    pub tooth_temperature_k: Fact<f64>,
    /// Diameter of the prepared tooth at half its height, m.
    pub die_diameter_m: Fact<f64>,
    /// Height of the preparation, m.
    pub die_height_m: Fact<f64>,
    /// Total occlusal convergence, rad.
    pub convergence_rad: Fact<f64>,
    /// Distance between the outermost abutments, m; not applicable to a single crown.
    pub span_m: Fact<f64>,
    /// Deepest undercut that the impression must pass, m.
    pub undercut_m: Fact<f64>,
    /// Where that undercut lies.
    pub undercut_at: Fact<UndercutPlace>,
    /// The loosest tooth in the impression.
    pub mobility: Fact<Mobility>,
    /// Prepared teeth in the order in which they are syringed; none listed means that nothing is known of them.
    pub abutments: Vec<Abutment>,
    /// Whether gloves, dam or anything else of latex touches the material or the teeth.
    pub latex: Fact<bool>,
    /// Whether the gum bleeds.
    pub bleeding: Fact<bool>,
    /// Whether the material meets a fresh core or provisional of resin.
    pub fresh_resin: Fact<bool>,
    /// Whether temporary cement is left on the preparation.
    pub cement_residue: Fact<bool>,
    /// Medicament on cord or in paste.
    pub astringent: Fact<Astringent>,
    /// Whether it was rinsed off for half a minute and the tooth looked at.
    pub astringent_rinsed: Fact<bool>,
}

impl Situation {
    /// A situation in which only the purpose is known.
    pub fn unknown(purpose: Purpose) -> Self {
        Situation {
            purpose,
            room_temperature_k: Fact::Unknown,
            room_humidity: Fact::Unknown,
            draught_m_s: Fact::Unknown,
            water_temperature_k: Fact::Unknown,
            tooth_temperature_k: Fact::Unknown,
            die_diameter_m: Fact::Unknown,
            die_height_m: Fact::Unknown,
            convergence_rad: Fact::Unknown,
            span_m: Fact::Unknown,
            undercut_m: Fact::Unknown,
            undercut_at: Fact::Unknown,
            mobility: Fact::Unknown,
            abutments: Vec::new(),
            latex: Fact::Unknown,
            bleeding: Fact::Unknown,
            fresh_resin: Fact::Unknown,
            cement_residue: Fact::Unknown,
            astringent: Fact::Unknown,
            astringent_rinsed: Fact::Unknown,
        }
    }

    /// Every known quantity lies in its range.
    ///
    /// # Errors
    /// The first field that does not, with what was given and what is allowed.
    pub fn validate(&self) -> Result<(), Invalid> {
        ranges::ROOM_TEMPERATURE.check_fact("situation.room_temperature", self.room_temperature_k)?;
        ranges::HUMIDITY.check_fact("situation.room_humidity", self.room_humidity)?;
        ranges::AIR_SPEED.check_fact("situation.draught", self.draught_m_s)?;
        ranges::WATER_TEMPERATURE.check_fact("situation.water_temperature", self.water_temperature_k)?;
        ranges::TOOTH_TEMPERATURE.check_fact("situation.tooth_temperature", self.tooth_temperature_k)?;
        ranges::DIE_DIAMETER.check_fact("situation.die_diameter", self.die_diameter_m)?;
        ranges::DIE_HEIGHT.check_fact("situation.die_height", self.die_height_m)?;
        ranges::CONVERGENCE.check_fact("situation.convergence", self.convergence_rad)?;
        ranges::SPAN.check_fact("situation.span", self.span_m)?;
        ranges::UNDERCUT.check_fact("situation.undercut", self.undercut_m)?;
        self.check_abutments()
    }

    fn check_abutments(&self) -> Result<(), Invalid> {
        let invalid = |field: String, given: String, allowed: String| Err(Invalid { field, given, allowed });
        if self.abutments.len() > MAX_ABUTMENTS {
            let given = format!("{} prepared teeth", self.abutments.len());
            return invalid("situation.abutment".to_owned(), given, format!("at most {MAX_ABUTMENTS}"));
        }
        for (index, abutment) in self.abutments.iter().enumerate() {
            let field = format!("situation.abutment[{index}]");
            abutment.validate(&field)?;
            if abutment.sulcus == Fact::Known(SulcusState::Blood) && self.bleeding == Fact::Known(false) {
                let given = "\"blood\" beside situation.bleeding = false".to_owned();
                return invalid(
                    format!("{field}.sulcus"),
                    given,
                    "what agrees with situation.bleeding".to_owned(),
                );
            }
            let Some(tooth) = abutment.tooth.known() else { continue };
            let before = self.abutments[..index].iter().filter_map(|other| other.tooth.known());
            for other in before {
                if other == tooth {
                    let given = format!("{tooth} a second time");
                    return invalid(format!("{field}.tooth"), given, "each tooth once".to_owned());
                }
                if other.is_upper() != tooth.is_upper() {
                    let given = format!("{tooth} beside {other}");
                    return invalid(format!("{field}.tooth"), given, "teeth of one jaw".to_owned());
                }
            }
        }
        Ok(())
    }
}
