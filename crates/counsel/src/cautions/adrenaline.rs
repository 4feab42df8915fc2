//! Adrenaline of the anaesthetic beside the doses that are quoted. No remaining allowance exists: what a cord gives up cannot be foretold.

use serde::{Deserialize, Serialize};
use terms::{Answer, Control, Fact, Grade};

use super::facts::adrenaline_total;
use super::rulebook::Rulebook;
use crate::View;

/// A dose that is quoted for one visit.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Quoted {
    /// For whom.
    pub whom: String,
    /// Whether it is for a patient with a disease of the heart.
    pub cardiac: bool,
    /// The dose, µg.
    pub micrograms: f64,
    /// Source.
    pub source: String,
    /// How it was read.
    pub how_read: String,
    /// Grade.
    pub grade: Grade,
}

/// Adrenaline at this visit.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Adrenaline {
    /// From the anaesthetic, µg.
    pub anaesthetic_micrograms: Fact<f64>,
    /// Whether the heart is known to be diseased.
    pub cardiac: Fact<bool>,
    /// Doses that are quoted.
    pub quoted: Vec<Quoted>,
    /// In words.
    pub words: Vec<String>,
}

/// The total of the anaesthetic beside the quoted doses.
pub fn adrenaline(rulebook: &Rulebook, view: &View) -> Adrenaline {
    let total = match adrenaline_total(view) {
        Fact::Known(kg) => Fact::Known(kg * 1e9),
        Fact::Unknown => Fact::Unknown,
        Fact::NotApplicable => Fact::NotApplicable,
    };
    let cardiac = match view.patient.get("heart") {
        Some(Fact::Known(Answer::Word(word))) => Fact::Known(word != Control::None.word()),
        _ => Fact::Unknown,
    };
    let quoted = rulebook.quoted().to_vec();
    let mut words = Vec::new();
    let doses: Vec<String> =
        quoted.iter().map(|dose| format!("{:.0} µg {}", dose.micrograms, dose.whom)).collect();
    let doses = doses.join(", ");
    match total {
        Fact::Known(0.0) => {
            words.push(format!("No adrenaline from the anaesthetic. Quoted for a visit: {doses}."))
        }
        Fact::Known(given) => {
            words.push(format!("{given:.0} µg from the anaesthetic. Quoted for a visit: {doses}."));
            for dose in quoted.iter().filter(|dose| given > dose.micrograms) {
                words.push(format!("That is above the {:.0} µg quoted {}.", dose.micrograms, dose.whom));
            }
        }
        Fact::Unknown | Fact::NotApplicable => {
            words.push(format!(
                "How much comes from the anaesthetic is not known. Quoted for a visit: {doses}."
            ));
        }
    }
    words.push(
        "How much a cord gives up cannot be foretold (24 to 92 % is quoted), so nothing can be set off against any dose, and with a disease of \
         the heart adrenaline cord is refused whatever the total."
            .to_owned(),
    );
    Adrenaline { anaesthetic_micrograms: total, cardiac, quoted, words }
}
