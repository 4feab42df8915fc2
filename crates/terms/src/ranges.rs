//! What is allowed for each quantity. One list for case files, schemas, pages and validation.

use crate::Fact;

/// A closed range in SI, with the unit in which it is shown.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Range {
    /// Smallest allowed value, SI.
    pub min: f64,
    /// Largest allowed value, SI.
    pub max: f64,
    /// Unit of the trade in which values are written.
    pub unit: Unit,
}

/// Units in which the trade writes quantities. `to_si` and `from_si` are affine.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unit {
    /// Degree Celsius.
    Celsius,
    /// Per cent.
    Percent,
    /// Metre per second.
    MetrePerSecond,
    /// Millimetre.
    Millimetre,
    /// Micrometre.
    Micrometre,
    /// Degree of arc.
    Degree,
    /// Gram.
    Gram,
    /// Second.
    Second,
    /// Minute.
    Minute,
    /// Hour.
    Hour,
    /// Day.
    Day,
    /// Coat of paint.
    Coat,
    /// Month of a twelfth of a year.
    Month,
    /// Millimetre of mercury.
    MmHg,
    /// International normalised ratio.
    Inr,
    /// Millilitre.
    Millilitre,
    /// Cartridge of anaesthetic.
    Cartridge,
    /// Cord, or piece of one.
    Cord,
    /// Microgram.
    Microgram,
}

impl Unit {
    /// Every unit.
    pub const ALL: &'static [Unit] = &[
        Unit::Celsius,
        Unit::Percent,
        Unit::MetrePerSecond,
        Unit::Millimetre,
        Unit::Micrometre,
        Unit::Degree,
        Unit::Gram,
        Unit::Second,
        Unit::Minute,
        Unit::Hour,
        Unit::Day,
        Unit::Coat,
        Unit::Month,
        Unit::MmHg,
        Unit::Inr,
        Unit::Millilitre,
        Unit::Cartridge,
        Unit::Cord,
        Unit::Microgram,
    ];

    /// The symbol written after the number.
    pub const fn symbol(self) -> &'static str {
        match self {
            Unit::Celsius => "°C",
            Unit::Percent => "%",
            Unit::MetrePerSecond => "m/s",
            Unit::Millimetre => "mm",
            Unit::Micrometre => "µm",
            Unit::Degree => "°",
            Unit::Gram => "g",
            Unit::Second => "s",
            Unit::Minute => "min",
            Unit::Hour => "h",
            Unit::Day => "d",
            Unit::Coat => "coats",
            Unit::Month => "months",
            Unit::MmHg => "mmHg",
            Unit::Inr => "INR",
            Unit::Millilitre => "mL",
            Unit::Cartridge => "cartridges",
            Unit::Cord => "cords",
            Unit::Microgram => "µg",
        }
    }

    /// Factor and offset of `si = value * factor + offset`.
    const fn affine(self) -> (f64, f64) {
        match self {
            Unit::Celsius => (1.0, 273.15),
            Unit::Percent => (0.01, 0.0),
            Unit::MetrePerSecond | Unit::Second | Unit::Coat => (1.0, 0.0),
            Unit::Inr | Unit::Cartridge | Unit::Cord => (1.0, 0.0),
            Unit::Month => (365.25 / 12.0 * 86_400.0, 0.0),
            Unit::MmHg => (133.322_387_415, 0.0),
            Unit::Millilitre => (1e-6, 0.0),
            Unit::Millimetre | Unit::Gram => (1e-3, 0.0),
            Unit::Micrometre => (1e-6, 0.0),
            Unit::Microgram => (1e-9, 0.0),
            Unit::Degree => (std::f64::consts::PI / 180.0, 0.0),
            Unit::Minute => (60.0, 0.0),
            Unit::Hour => (3600.0, 0.0),
            Unit::Day => (86_400.0, 0.0),
        }
    }

    /// The units that measure the same thing.
    pub fn same_dimension(self) -> &'static [Unit] {
        match self {
            Unit::Celsius => &[Unit::Celsius],
            Unit::Percent => &[Unit::Percent],
            Unit::MetrePerSecond => &[Unit::MetrePerSecond],
            Unit::Millimetre | Unit::Micrometre => &[Unit::Millimetre, Unit::Micrometre],
            Unit::Degree => &[Unit::Degree],
            Unit::Gram => &[Unit::Gram],
            Unit::Microgram => &[Unit::Microgram],
            Unit::Coat => &[Unit::Coat],
            Unit::Month => &[Unit::Month],
            Unit::MmHg => &[Unit::MmHg],
            Unit::Inr => &[Unit::Inr],
            Unit::Millilitre => &[Unit::Millilitre],
            Unit::Cartridge => &[Unit::Cartridge],
            Unit::Cord => &[Unit::Cord],
            Unit::Second | Unit::Minute | Unit::Hour | Unit::Day => {
                &[Unit::Second, Unit::Minute, Unit::Hour, Unit::Day]
            }
        }
    }

    /// SI value of a number written in this unit.
    pub fn to_si(self, value: f64) -> f64 {
        let (factor, offset) = self.affine();
        value * factor + offset
    }

    /// The number to write in this unit for an SI value.
    pub fn from_si(self, si: f64) -> f64 {
        let (factor, offset) = self.affine();
        (si - offset) / factor
    }
}

/// A quantity outside its range.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("{field}: given {given}; allowed {allowed}")]
pub struct Invalid {
    /// Path of the field, as in a case file.
    pub field: String,
    /// What was given, in the trade's unit.
    pub given: String,
    /// What is allowed.
    pub allowed: String,
}

impl Range {
    const fn new(min: f64, max: f64, unit: Unit) -> Self {
        Range { min, max, unit }
    }

    /// "10 to 40 °C": the range in the unit of the trade.
    pub fn allowed(&self) -> String {
        format!(
            "{} to {} {}",
            short(self.unit.from_si(self.min)),
            short(self.unit.from_si(self.max)),
            self.unit.symbol()
        )
    }

    /// Whether an SI value lies inside, ends included up to rounding; never for NaN.
    pub fn contains(&self, si: f64) -> bool {
        let slack = 1e-9 * (self.max - self.min);
        si >= self.min - slack && si <= self.max + slack
    }

    /// # Errors
    /// When the value lies outside, or is not a number.
    pub fn check(&self, field: &str, si: f64) -> Result<(), Invalid> {
        if self.contains(si) {
            return Ok(());
        }
        Err(Invalid {
            field: field.to_owned(),
            given: format!("{} {}", short(self.unit.from_si(si)), self.unit.symbol()),
            allowed: self.allowed(),
        })
    }

    /// # Errors
    /// When the fact is known and its value lies outside.
    pub fn check_fact(&self, field: &str, fact: Fact<f64>) -> Result<(), Invalid> {
        fact.known().map_or(Ok(()), |si| self.check(field, si))
    }
}

/// A number without a tail of conversion digits.
pub(crate) fn short(value: f64) -> String {
    let rounded = (value * 1e6).round() / 1e6;
    format!("{rounded}")
}

const MM: f64 = 1e-3;
const K0: f64 = 273.15;

/// Room air. Outside it nobody takes impressions, and no model here was checked.
pub const ROOM_TEMPERATURE: Range = Range::new(K0 + 10.0, K0 + 40.0, Unit::Celsius);
/// Place where an impression is kept (a cold room, a warm van).
pub const HOLDING_TEMPERATURE: Range = Range::new(K0 + 1.0, K0 + 60.0, Unit::Celsius);
/// Relative humidity.
pub const HUMIDITY: Range = Range::new(0.0, 1.0, Unit::Percent);
/// Air speed over the impression.
pub const AIR_SPEED: Range = Range::new(0.0, 5.0, Unit::MetrePerSecond);
/// Water for the powder.
pub const WATER_TEMPERATURE: Range = Range::new(K0 + 1.0, K0 + 45.0, Unit::Celsius);
/// Tooth surface before seating.
pub const TOOTH_TEMPERATURE: Range = Range::new(K0 + 20.0, K0 + 40.0, Unit::Celsius);
/// Prepared tooth across.
pub const DIE_DIAMETER: Range = Range::new(2.0 * MM, 14.0 * MM, Unit::Millimetre);
/// Prepared tooth from margin to top.
pub const DIE_HEIGHT: Range = Range::new(1.5 * MM, 12.0 * MM, Unit::Millimetre);
/// Total occlusal convergence.
pub const CONVERGENCE: Range =
    Range::new(2.0 * std::f64::consts::PI / 180.0, 60.0 * std::f64::consts::PI / 180.0, Unit::Degree);
/// Distance between abutments.
pub const SPAN: Range = Range::new(5.0 * MM, 70.0 * MM, Unit::Millimetre);
/// Undercut.
pub const UNDERCUT: Range = Range::new(0.0, 5.0 * MM, Unit::Millimetre);
/// Finish line below the gum.
pub const MARGIN_DEPTH: Range = Range::new(0.0, 4.0 * MM, Unit::Millimetre);
/// One leg of the round of the syringe.
pub const ROUND: Range = Range::new(0.0, 600.0, Unit::Second);
/// Space between tooth and tray.
pub const RELIEF: Range = Range::new(0.5 * MM, 12.0 * MM, Unit::Millimetre);
/// Thickness of the tray wall.
pub const TRAY_WALL: Range = Range::new(0.3 * MM, 6.0 * MM, Unit::Millimetre);
/// Powder of an alginate mix.
pub const POWDER: Range = Range::new(1e-3, 0.2, Unit::Gram);
/// Water of an alginate mix.
pub const WATER: Range = Range::new(1e-3, 0.5, Unit::Gram);
/// Second material over the prepared tooth.
pub const WASH: Range = Range::new(0.0, 8.0 * MM, Unit::Millimetre);
/// Tube of agar.
pub const TUBE: Range = Range::new(3.0 * MM, 40.0 * MM, Unit::Millimetre);
/// Boiling bath.
pub const BOIL_TEMPERATURE: Range = Range::new(K0 + 80.0, K0 + 105.0, Unit::Celsius);
/// Storing and tempering baths, and agar in the syringe.
pub const BATH_TEMPERATURE: Range = Range::new(K0 + 30.0, K0 + 90.0, Unit::Celsius);
/// Time in a boiling or tempering bath.
pub const BATH_TIME: Range = Range::new(0.0, 7200.0, Unit::Minute);
/// Time in the storage bath.
pub const STORE_TIME: Range = Range::new(0.0, 14.0 * 86_400.0, Unit::Hour);
/// Water through a cooled tray.
pub const COOLANT_TEMPERATURE: Range = Range::new(K0 + 5.0, K0 + 35.0, Unit::Celsius);
/// Active substance of a disinfectant.
pub const CONCENTRATION: Range = Range::new(0.0, 1.0, Unit::Percent);
/// Contact that a label asks for.
pub const CONTACT: Range = Range::new(30.0, 86_400.0, Unit::Minute);
/// From the first separation to a second pour.
pub const SECOND_POUR_AFTER: Range = Range::new(0.0, 14.0 * 86_400.0, Unit::Minute);
/// Powder of a stone mix.
pub const STONE_POWDER: Range = Range::new(5e-3, 2.0, Unit::Gram);
/// Water of a stone mix.
pub const STONE_WATER: Range = Range::new(0.5e-3, 2.0, Unit::Gram);
/// Designed space between crown and die.
pub const SPACER: Range = Range::new(0.0, 200e-6, Unit::Micrometre);
/// Coats of painted spacer.
pub const COATS: Range = Range::new(0.0, 12.0, Unit::Coat);
/// Luting film.
pub const FILM: Range = Range::new(0.0, 200e-6, Unit::Micrometre);
/// Mixing.
pub const MIXING: Range = Range::new(5.0, 120.0, Unit::Second);
/// From the start of mixing to the tray in place.
pub const SEAT_AFTER: Range = Range::new(10.0, 600.0, Unit::Second);
/// From the tray in place to removal.
pub const REMOVE_AFTER: Range = Range::new(10.0, 1800.0, Unit::Second);
/// One holding segment.
pub const HOLD_DURATION: Range = Range::new(0.0, 14.0 * 86_400.0, Unit::Day);
/// Thickness of a fit-check film.
pub const FIT_FILM: Range = Range::new(0.0, 2e-3, Unit::Micrometre);
/// Width of a second die minus that of the first.
pub const POUR_DIFFERENCE: Range = Range::new(-0.5e-3, 0.5e-3, Unit::Micrometre);
/// From pouring to separation.
pub const SEPARATE_AFTER: Range = Range::new(600.0, 172_800.0, Unit::Minute);
/// Limits of the fit that a case may set for itself.
pub const FIT_LIMIT: Range = Range::new(5e-6, 500e-6, Unit::Micrometre);
/// Mass lost by an impression, as a share of its mass.
pub const MASS_LOSS: Range = Range::new(-0.05, 0.6, Unit::Percent);
/// Since an event in the life of a patient.
pub const SINCE_EVENT: Range = Range::new(0.0, 600.0 * MONTH_S, Unit::Month);
/// Blood pressure.
pub const BLOOD_PRESSURE: Range = Range::new(20.0 * MMHG_PA, 300.0 * MMHG_PA, Unit::MmHg);
/// International normalised ratio.
pub const INR: Range = Range::new(0.5, 20.0, Unit::Inr);
/// Between the incisal edges.
pub const MOUTH_OPENING: Range = Range::new(1.0 * MM, 80.0 * MM, Unit::Millimetre);
/// Width of keratinised gum.
pub const KERATINISED: Range = Range::new(0.0, 15.0 * MM, Unit::Millimetre);
/// From a margin to the bone.
pub const MARGIN_TO_BONE: Range = Range::new(0.0, 20.0 * MM, Unit::Millimetre);
/// How long a medicament stays.
pub const DWELL: Range = Range::new(0.0, 3600.0, Unit::Minute);
/// Cartridges of anaesthetic.
pub const CARTRIDGES: Range = Range::new(0.0, 20.0, Unit::Cartridge);
/// What a cartridge holds.
pub const CARTRIDGE_VOLUME: Range = Range::new(0.5e-6, 5e-6, Unit::Millilitre);
/// Chair time of a visit.
pub const CHAIR: Range = Range::new(0.0, 8.0 * 3600.0, Unit::Minute);
/// Adrenaline given with an anaesthetic.
pub const ADRENALINE: Range = Range::new(0.0, 5e-6, Unit::Microgram);
/// Undercut over the space between tooth and tray.
pub const UNDERCUT_SHARE: Range = Range::new(0.0, 10.0, Unit::Percent);
/// Cords and pieces of cord.
pub const CORDS: Range = Range::new(0.0, 60.0, Unit::Cord);

const MONTH_S: f64 = 365.25 / 12.0 * 86_400.0;
const MMHG_PA: f64 = 133.322_387_415;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_message_names_field_given_and_allowed_in_trade_units() {
        let error = ROOM_TEMPERATURE.check("situation.room_temperature", 320.15).unwrap_err();
        assert_eq!(error.to_string(), "situation.room_temperature: given 47 °C; allowed 10 to 40 °C");
        assert!(DIE_DIAMETER.check("d", f64::NAN).is_err());
        assert!(HUMIDITY.check("h", 1.0).is_ok());
    }

    #[test]
    fn units_convert_both_ways() {
        for &unit in Unit::ALL {
            assert!((unit.from_si(unit.to_si(12.5)) - 12.5).abs() < 1e-12);
        }
    }
}
