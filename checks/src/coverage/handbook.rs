//! What a handbook would say: the plain range of the class, turned into the measured quantity in the obvious way.
//!
//! A size changes by the shrinkage of the class in a day and the setting expansion of the stone type, added and multiplied by
//! the size itself: no tray, no geometry, no room. The same ranges hold for every study.

use ledger::Parameters;
use terms::{Fact, Grade, GypsumType, ImpressionClass};

use super::spec::{Quantity, Row, Setting};
use crate::CheckError;

/// The ranges.
#[derive(Clone, Debug, PartialEq, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Handbook {
    class: Vec<OfClass>,
    stone: Vec<OfStone>,
    /// Openings that are called acceptable, µm.
    opening_um: Range,
    /// Temperature that set material is said to reach, °C.
    removal_c: Range,
}

#[derive(Clone, Debug, PartialEq, serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct OfClass {
    class: ImpressionClass,
    /// Linear shrinkage in a day, %.
    shrinkage_percent: Range,
    /// Working time, s.
    working_s: Option<Range>,
    /// Setting time, s.
    setting_s: Option<Range>,
}

#[derive(Clone, Debug, PartialEq, serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct OfStone {
    gypsum: GypsumType,
    /// Setting expansion in two hours, %.
    growth_percent: Range,
}

/// A range with its pedigree.
#[derive(Clone, Debug, PartialEq, serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct Range {
    low: f64,
    high: f64,
    source: String,
    grade: Grade,
}

impl Handbook {
    pub(super) fn shipped() -> Result<Handbook, CheckError> {
        toml::from_str(include_str!("../../cases/handbook.toml"))
            .map_err(|error| CheckError::Unreadable { topic: "handbook", message: error.to_string() })
    }

    /// Every range in words, with its unit, source and grade.
    pub(super) fn rows(&self) -> Vec<String> {
        let row = |words: String, unit: &str, range: &Range| {
            let Range { low, high, source, grade } = range;
            format!("| {words} | {low} to {high} {unit} | {source} | {grade} |")
        };
        let mut rows = Vec::new();
        for of in &self.class {
            rows.push(row(format!("{}, shrinkage in a day", of.class), "%", &of.shrinkage_percent));
            rows.extend(of.working_s.iter().map(|range| row(format!("{}, working", of.class), "s", range)));
            rows.extend(of.setting_s.iter().map(|range| row(format!("{}, setting", of.class), "s", range)));
        }
        for of in &self.stone {
            rows.push(row(format!("{}, setting expansion", of.gypsum), "%", &of.growth_percent));
        }
        rows.push(row("opening called acceptable".to_owned(), "µm", &self.opening_um));
        rows.push(row("temperature of set material".to_owned(), "°C", &self.removal_c));
        rows
    }

    /// The range for one value, in its unit.
    pub(super) fn range(
        &self,
        row: &Row,
        setting: &Setting,
        parameters: &Parameters,
    ) -> Result<[f64; 2], CheckError> {
        if let Some(range) = row.handbook {
            return Ok(range);
        }
        let class = self.class(setting.route.material.class)?;
        let [shrinks_least, shrinks_most] = class.shrinkage_percent.ends();
        let [grows_least, grows_most] = match row.quantity {
            Quantity::DieDiameter | Quantity::DieHeight | Quantity::Span => {
                self.stone(setting.route.stone.gypsum)?.growth_percent.ends()
            }
            _ => [0.0, 0.0],
        };
        let share = [grows_least - shrinks_most, grows_most - shrinks_least];
        let of_size = |size_m: f64| [1e4 * size_m * share[0], 1e4 * size_m * share[1]];
        let size_m = |fact: Fact<f64>, usual: &str| match fact.known() {
            Some(size_m) => Ok(size_m),
            None => parameters
                .find(&["usual"], usual)
                .map(|(_, distribution)| distribution.median())
                .map_err(|error| CheckError::Model(error.to_string())),
        };
        let situation = &setting.situation;
        match (row.quantity, row.unit.as_str()) {
            (Quantity::DieDiameter | Quantity::MouldDiameter, "µm") => {
                size_m(situation.die_diameter_m, "die_diameter").map(of_size)
            }
            (Quantity::DieHeight, "µm") => size_m(situation.die_height_m, "die_height").map(of_size),
            (Quantity::Span, "µm") => size_m(situation.span_m, "span_arch").map(of_size),
            // Three times a length is a volume, and a volume lost is taken as mass.
            (Quantity::MassChange, _) => Ok([3.0 * share[0], 3.0 * share[1]]),
            (Quantity::WorkingTime, _) => timed(&class.working_s, row),
            (Quantity::SettingTime, _) => timed(&class.setting_s, row),
            (Quantity::RemovalTemperature, _) => Ok(self.removal_c.ends()),
            (Quantity::MarginalOpening, _) => Ok(self.opening_um.ends()),
            _ => Ok(share),
        }
    }

    fn class(&self, class: ImpressionClass) -> Result<&OfClass, CheckError> {
        let missing = || CheckError::Unknown(format!("handbook range of {class}"));
        self.class.iter().find(|row| row.class == class).ok_or_else(missing)
    }

    fn stone(&self, gypsum: GypsumType) -> Result<&OfStone, CheckError> {
        let missing = || CheckError::Unknown(format!("handbook range of {gypsum}"));
        self.stone.iter().find(|row| row.gypsum == gypsum).ok_or_else(missing)
    }
}

fn timed(range: &Option<Range>, row: &Row) -> Result<[f64; 2], CheckError> {
    let missing = || CheckError::Unknown(format!("handbook range of the {}", row.quantity.words()));
    range.as_ref().map(Range::ends).ok_or_else(missing)
}

impl Range {
    fn ends(&self) -> [f64; 2] {
        [self.low, self.high]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_range_is_one_and_names_its_source() {
        let handbook = Handbook::shipped().unwrap();
        let mut ranges = vec![&handbook.opening_um, &handbook.removal_c];
        for class in &handbook.class {
            ranges.push(&class.shrinkage_percent);
            ranges.extend(class.working_s.iter().chain(&class.setting_s));
        }
        ranges.extend(handbook.stone.iter().map(|stone| &stone.growth_percent));
        for range in ranges {
            assert!(range.low < range.high, "{range:?}");
            assert!(range.source.len() > 4, "{range:?}");
        }
    }
}
