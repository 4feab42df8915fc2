//! Products, the instructions printed on them, and what is taught about a class.

use terms::{Action, Bound, ClockOrigin, Grade, GypsumType, ImpressionClass, ProductId, Technique};

/// What a product is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum ProductKind {
    /// An impression material of this class.
    Impression(ImpressionClass),
    /// A gypsum product of this type.
    Gypsum(GypsumType),
}

/// A product and its printed limits.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Product {
    /// Identifier used in routes and in the scope of value keys.
    pub id: ProductId,
    /// Name on a card.
    pub name: String,
    /// Invented for the demo.
    pub demo: bool,
    /// Kind.
    pub kind: ProductKind,
    /// Printed limits.
    pub instructions: Vec<Instruction>,
}

/// One printed limit.
#[derive(Clone, Debug, PartialEq, serde::Serialize, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Instruction {
    /// What must be done.
    pub action: Action,
    /// Not before, or not after.
    pub bound: Bound,
    /// The printed time, s.
    pub seconds: f64,
    /// From when the printed time counts.
    pub origin: ClockOrigin,
    /// Room temperatures for which it is stated, °C; none when the print does not say.
    pub stated_for_room_celsius: Option<[f64; 2]>,
    /// The print's own words on conditions.
    pub conditions: String,
    /// Where it is printed.
    pub source: String,
}

impl Instruction {
    /// Whether the print speaks of a room at this temperature.
    pub fn states_room(&self, room_k: f64) -> bool {
        self.stated_for_room_celsius.is_none_or(|[low, high]| {
            let celsius = room_k - 273.15;
            celsius >= low - 1e-9 && celsius <= high + 1e-9
        })
    }
}

/// What is taught about an end of a window.
#[derive(Clone, Debug, PartialEq, serde::Serialize, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Taught {
    /// `taught/name`.
    pub key: String,
    /// About which class of impression material; none for all.
    pub class: Option<ImpressionClass>,
    /// With which technique; none for all.
    pub technique: Option<Technique>,
    /// What is done.
    pub action: Action,
    /// Which end.
    pub bound: Bound,
    /// The taught time as a range, s.
    pub seconds: [f64; 2],
    /// From when it counts.
    pub origin: ClockOrigin,
    /// The rule in one sentence.
    pub rule: String,
    /// Source, or `common practice`.
    pub source: String,
    /// Grade.
    pub grade: Grade,
}
