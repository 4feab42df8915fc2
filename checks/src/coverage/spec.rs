//! The published cases as they are written down, and what they say to the chain.

use terms::{
    Agent, Alloy, Baths, Fabrication, FabricationKind, Fact, Grade, GypsumType, HoldingKind, HoldingSegment,
    ImpressionClass, Material, Mix, MixMethod, Plan, Purpose, Restoration, Route, Situation, Stone,
    Technique, Tray, TrayKind, TrayMaterial, Unit,
};

use crate::CheckError;

/// A published case: one study under conditions of which its values may change a few.
#[derive(Clone, Debug, PartialEq, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Case {
    /// Identifier.
    pub id: String,
    /// Authors, year, journal; cases of one study carry the same text.
    pub study: String,
    /// Its digital object identifier, where it was read.
    pub doi: Option<String>,
    /// What was measured.
    pub measured: String,
    /// How the values were read.
    pub how_read: String,
    /// Grade.
    pub grade: Grade,
    /// What kind of values they are.
    pub values: Values,
    /// What had to be decided because the study does not say it and a route cannot leave it open.
    pub taken: String,
    /// Text by which the sources of the ledger would name this study.
    pub ledger_mark: Option<String>,
    /// Where the study's end point is another one than that of the forecast: the factor between them at the ends of 90 %.
    pub another_end_point: Option<f64>,
    /// Fields of [`SituationSpec`].
    situation: toml::Table,
    /// Fields of [`RouteSpec`].
    route: toml::Table,
    /// The values.
    pub row: Vec<Row>,
}

/// One published value.
#[derive(Clone, Debug, PartialEq, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Row {
    /// Which value.
    pub what: String,
    /// Of what.
    pub quantity: Quantity,
    /// Unit of the value: `µm`, `%`, `s` or `°C`.
    pub unit: String,
    /// The value. Sizes are positive when larger than the original, changes when the material grows.
    pub value: f64,
    /// Pour or reading after removal, h, where it is one of the times that every forecast looks at; the end of holding otherwise.
    pub after_h: Option<f64>,
    /// The range of the handbooks, where the one of the class does not apply.
    pub handbook: Option<[f64; 2]>,
    /// Why that one.
    pub handbook_why: Option<String>,
    /// What differs from the situation of the case.
    #[serde(default)]
    situation: toml::Table,
    /// What differs from the route of the case.
    #[serde(default)]
    route: toml::Table,
}

/// What kind of values a study gives. Means scatter less than single specimens; the interval is one of single cases of the class.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Deserialize)]
pub enum Values {
    /// The mean of a group.
    #[serde(rename = "study means")]
    Means,
    /// The lowest or highest of several group means.
    #[serde(rename = "ends of a range of means")]
    Ends,
    /// Single specimens.
    #[serde(rename = "single specimens")]
    Single,
}

impl Values {
    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Values::Means => "study means",
            Values::Ends => "ends of a range of means",
            Values::Single => "single specimens",
        }
    }
}

/// What a value is a value of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Deserialize)]
pub enum Quantity {
    /// Error of a die diameter, µm or % of it.
    #[serde(rename = "die diameter")]
    DieDiameter,
    /// Error of a die height, µm.
    #[serde(rename = "die height")]
    DieHeight,
    /// Error of the diameter read on the impression: that of the die without the growth of the stone, µm.
    #[serde(rename = "mould diameter")]
    MouldDiameter,
    /// Error of a span, µm or % of it.
    #[serde(rename = "span")]
    Span,
    /// Error of a span read on the impression, %.
    #[serde(rename = "mould span")]
    MouldSpan,
    /// Free linear change of a specimen against its mould: cure, cooling and holding, %.
    #[serde(rename = "free change")]
    FreeChange,
    /// Free linear change by holding alone, %.
    #[serde(rename = "holding change")]
    HoldingChange,
    /// Change of mass, %.
    #[serde(rename = "mass change")]
    MassChange,
    /// End of working from the start of mixing, s.
    #[serde(rename = "working time")]
    WorkingTime,
    /// Rest in the bowl has set, from the start of mixing, s.
    #[serde(rename = "setting time")]
    SettingTime,
    /// Temperature of the material at removal, °C.
    #[serde(rename = "temperature at removal")]
    RemovalTemperature,
    /// Opening at the seated margin, µm.
    #[serde(rename = "marginal opening")]
    MarginalOpening,
}

impl Quantity {
    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Quantity::DieDiameter => "die diameter",
            Quantity::DieHeight => "die height",
            Quantity::MouldDiameter => "mould diameter",
            Quantity::Span => "span",
            Quantity::MouldSpan => "mould span",
            Quantity::FreeChange => "free change",
            Quantity::HoldingChange => "holding change",
            Quantity::MassChange => "mass change",
            Quantity::WorkingTime => "working time",
            Quantity::SettingTime => "setting time",
            Quantity::RemovalTemperature => "temperature at removal",
            Quantity::MarginalOpening => "marginal opening",
        }
    }

    /// The kind that it is counted under.
    pub fn kind(self) -> Kind {
        match self {
            Quantity::DieDiameter | Quantity::DieHeight | Quantity::MouldDiameter => Kind::Dies,
            Quantity::Span | Quantity::MouldSpan => Kind::Spans,
            Quantity::FreeChange | Quantity::HoldingChange | Quantity::MassChange => Kind::FreeMaterial,
            Quantity::WorkingTime | Quantity::SettingTime => Kind::Times,
            Quantity::RemovalTemperature => Kind::Temperatures,
            Quantity::MarginalOpening => Kind::Openings,
        }
    }
}

/// Quantities that are counted together.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Diameters and heights of dies.
    Dies,
    /// Distances between dies.
    Spans,
    /// Length and mass of free material.
    FreeMaterial,
    /// Working and setting.
    Times,
    /// Temperatures.
    Temperatures,
    /// Openings of seated restorations.
    Openings,
}

impl Kind {
    /// Every kind, in the order in which it is reported.
    pub const ALL: [Kind; 6] =
        [Kind::Dies, Kind::Spans, Kind::FreeMaterial, Kind::Times, Kind::Temperatures, Kind::Openings];

    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Kind::Dies => "dies",
            Kind::Spans => "spans",
            Kind::FreeMaterial => "free material",
            Kind::Times => "times",
            Kind::Temperatures => "temperatures",
            Kind::Openings => "openings",
        }
    }
}

/// A published figure that was found and not run.
#[derive(Clone, Debug, PartialEq, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LeftOut {
    /// Authors, year, journal.
    pub study: String,
    /// The figure.
    pub figure: String,
    /// Why it was not run.
    pub why: String,
}

const TOPICS: [(&str, &str); 5] = [
    ("dies", include_str!("../../cases/dies.toml")),
    ("spans", include_str!("../../cases/spans.toml")),
    ("free material", include_str!("../../cases/free_material.toml")),
    ("times and temperatures", include_str!("../../cases/times.toml")),
    ("openings", include_str!("../../cases/openings.toml")),
];

/// Every case.
///
/// # Errors
/// When a shipped text cannot be read.
pub fn all() -> Result<Vec<Case>, CheckError> {
    #[derive(serde::Deserialize)]
    #[serde(deny_unknown_fields)]
    struct File {
        case: Vec<Case>,
    }
    let mut list = Vec::new();
    for (topic, text) in TOPICS {
        let file: File = toml::from_str(text)
            .map_err(|error| CheckError::Unreadable { topic, message: error.to_string() })?;
        list.extend(file.case);
    }
    Ok(list)
}

/// What was found and not run.
///
/// # Errors
/// When the shipped text cannot be read.
pub fn left_out() -> Result<Vec<LeftOut>, CheckError> {
    #[derive(serde::Deserialize)]
    #[serde(deny_unknown_fields)]
    struct File {
        left_out: Vec<LeftOut>,
    }
    toml::from_str(include_str!("../../cases/left_out.toml"))
        .map(|file: File| file.left_out)
        .map_err(|error| CheckError::Unreadable { topic: "left out", message: error.to_string() })
}

/// A situation and a route.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Setting {
    pub(super) situation: Situation,
    pub(super) route: Route,
}

impl Case {
    /// The situation and the route of one value.
    pub(super) fn setting(&self, row: &Row) -> Result<Setting, CheckError> {
        let unreadable = |error: toml::de::Error| CheckError::Model(error.to_string());
        let situation: SituationSpec = merged(&self.situation, &row.situation).map_err(unreadable)?;
        let route: RouteSpec = merged(&self.route, &row.route).map_err(unreadable)?;
        Ok(Setting { situation: situation.situation(route.class), route: route.route() })
    }
}

/// The first table with the fields of the second put over it.
fn merged<T: serde::de::DeserializeOwned>(
    under: &toml::Table,
    over: &toml::Table,
) -> Result<T, toml::de::Error> {
    let mut table = under.clone();
    table.extend(over.iter().map(|(name, value)| (name.clone(), value.clone())));
    table.try_into()
}

/// What the study says of mouth and room; the rest is unknown. Faults and contaminants are unknown: no size hangs on them.
#[derive(Clone, Debug, PartialEq, serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct SituationSpec {
    purpose: Purpose,
    room_c: Option<f64>,
    humidity_percent: Option<f64>,
    water_c: Option<f64>,
    tooth_c: Option<f64>,
    die_diameter_mm: Option<f64>,
    die_height_mm: Option<f64>,
    convergence_deg: Option<f64>,
    span_mm: Option<f64>,
}

/// What the study says of the way; the rest is unknown.
#[derive(Clone, Debug, PartialEq, serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct RouteSpec {
    class: ImpressionClass,
    technique: Option<Technique>,
    wash_thickness_mm: Option<f64>,
    tray_kind: TrayKind,
    tray_material: TrayMaterial,
    relief_mm: Option<f64>,
    ceiling_mm: Option<f64>,
    adhesive: Option<bool>,
    perforated: Option<bool>,
    mix: Option<MixMethod>,
    mix_ratio: Option<f64>,
    #[serde(default)]
    holding: Vec<HoldingSpec>,
    stone: Option<GypsumType>,
    fabrication: Option<FabricationKind>,
    spacer_um: Option<f64>,
    spacer_coats: Option<f64>,
    alloy: Option<Alloy>,
}

#[derive(Clone, Debug, PartialEq, serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct HoldingSpec {
    kind: HoldingKind,
    hours: f64,
    temperature_c: Option<f64>,
    humidity_percent: Option<f64>,
    /// Nothing is dissolved in the liquid.
    #[serde(default)]
    plain_water: bool,
    agent: Option<Agent>,
    concentration_percent: Option<f64>,
}

/// A number that may not have been said, in the unit of the trade.
fn fact(value: Option<f64>, unit: Unit) -> Fact<f64> {
    value.map_or(Fact::Unknown, |value| Fact::Known(unit.to_si(value)))
}

fn said<T>(value: Option<T>) -> Fact<T> {
    value.map_or(Fact::Unknown, Fact::Known)
}

impl SituationSpec {
    fn situation(&self, class: ImpressionClass) -> Situation {
        let none_for_a_crown = self.span_mm.is_none() && self.purpose == Purpose::Crown;
        Situation {
            room_temperature_k: fact(self.room_c, Unit::Celsius),
            room_humidity: fact(self.humidity_percent, Unit::Percent),
            water_temperature_k: if class.is_alginate() {
                fact(self.water_c, Unit::Celsius)
            } else {
                Fact::NotApplicable
            },
            tooth_temperature_k: fact(self.tooth_c, Unit::Celsius),
            die_diameter_m: fact(self.die_diameter_mm, Unit::Millimetre),
            die_height_m: fact(self.die_height_mm, Unit::Millimetre),
            convergence_rad: fact(self.convergence_deg, Unit::Degree),
            span_m: if none_for_a_crown { Fact::NotApplicable } else { fact(self.span_mm, Unit::Millimetre) },
            ..Situation::unknown(self.purpose)
        }
    }
}

/// Powder of a mix whose ratio is stated, g.
const POWDER_G: f64 = 20.0;

impl RouteSpec {
    fn route(&self) -> Route {
        let material = Material { class: self.class, product: None };
        let technique = self.technique.unwrap_or(Technique::SingleViscosity);
        let wash = technique.has_wash().then(|| material.clone());
        let (method, powder_kg, water_kg) = if self.class.is_alginate() {
            let water_g = self.mix_ratio.map(|ratio| POWDER_G * ratio);
            let powder_g = self.mix_ratio.map(|_| POWDER_G);
            (MixMethod::Hand, fact(powder_g, Unit::Gram), fact(water_g, Unit::Gram))
        } else {
            (MixMethod::Automix, Fact::NotApplicable, Fact::NotApplicable)
        };
        let restoration = self.fabrication.map(|kind| Restoration {
            fabrication: Fabrication {
                kind,
                spacer_m: fact(self.spacer_um, Unit::Micrometre),
                spacer_coats: fact(self.spacer_coats, Unit::Coat),
                alloy: self.alloy.map_or(Fact::Unknown, Fact::Known),
            },
            film_m: Fact::Unknown,
        });
        Route {
            displacement: Fact::Unknown,
            cords_leave: Fact::Unknown,
            technique,
            material,
            wash_thickness_m: if wash.is_some() {
                fact(self.wash_thickness_mm, Unit::Millimetre)
            } else {
                Fact::NotApplicable
            },
            wash,
            tray: Tray {
                kind: self.tray_kind,
                material: self.tray_material,
                relief_m: fact(self.relief_mm, Unit::Millimetre),
                ceiling_m: fact(self.ceiling_mm, Unit::Millimetre),
                wall_m: Fact::Unknown,
                adhesive: said(self.adhesive),
                perforated: said(self.perforated),
            },
            mix: Mix { method: self.mix.unwrap_or(method), powder_kg, water_kg },
            baths: Baths::UNKNOWN,
            holding: self.holding.iter().map(HoldingSpec::segment).collect(),
            stone: Stone {
                gypsum: self.stone.unwrap_or(GypsumType::Type4),
                product: None,
                powder_kg: Fact::Unknown,
                water_kg: Fact::Unknown,
            },
            lots: terms::Lots::default(),
            restoration,
            plan: Plan {
                mixing_s: Fact::Unknown,
                seat_after_s: Fact::Unknown,
                paste_after_s: Fact::Unknown,
                per_tooth_s: Fact::Unknown,
                tray_after_s: Fact::Unknown,
                withdrawal: Fact::Unknown,
                remove_after_s: Fact::Unknown,
                separate_after_s: Fact::Unknown,
                second_pour_after_s: Fact::Unknown,
            },
        }
    }
}

impl HoldingSpec {
    fn segment(&self) -> HoldingSegment {
        let plain = HoldingSegment::of(self.kind, Unit::Hour.to_si(self.hours));
        let liquid = self.kind.may_disinfect() && !self.plain_water;
        HoldingSegment {
            temperature_k: fact(self.temperature_c, Unit::Celsius),
            humidity: fact(self.humidity_percent, Unit::Percent),
            agent: if liquid { said(self.agent) } else { Fact::NotApplicable },
            concentration: if liquid {
                fact(self.concentration_percent, Unit::Percent)
            } else {
                Fact::NotApplicable
            },
            labelled_contact_s: if liquid { Fact::Unknown } else { Fact::NotApplicable },
            ..plain
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_case_says_all_of_itself() {
        let cases = all().unwrap();
        let mut ids: Vec<&str> = cases.iter().map(|case| case.id.as_str()).collect();
        ids.sort_unstable();
        ids.dedup();
        assert_eq!(ids.len(), cases.len(), "an identifier is used twice");
        for case in &cases {
            for text in [&case.study, &case.measured, &case.how_read, &case.taken] {
                assert!(text.trim().len() > 4, "{}: {text}", case.id);
            }
            assert!(!case.row.is_empty(), "{}", case.id);
            for row in &case.row {
                assert!(row.what.len() > 2 && row.value.is_finite(), "{}", case.id);
                assert!(["µm", "%", "s", "°C"].contains(&row.unit.as_str()), "{}", case.id);
            }
        }
    }

    #[test]
    fn there_are_enough_values_from_enough_studies() {
        let cases = all().unwrap();
        let values: usize = cases.iter().map(|case| case.row.len()).sum();
        let mut studies: Vec<&str> = cases.iter().map(|case| case.study.as_str()).collect();
        studies.sort_unstable();
        studies.dedup();
        assert!(values >= 40 && studies.len() >= 20, "{values} values, {} studies", studies.len());
    }

    #[test]
    fn what_was_not_run_has_a_reason() {
        for row in left_out().unwrap() {
            assert!(row.study.len() > 4 && row.figure.len() > 2 && row.why.len() > 4, "{row:?}");
        }
    }

    #[test]
    fn a_value_changes_what_it_names_and_nothing_else() {
        let under: toml::Table = toml::from_str("purpose = \"crown\"\nroom_c = 23").unwrap();
        let over: toml::Table = toml::from_str("room_c = 31").unwrap();
        let spec: SituationSpec = merged(&under, &over).unwrap();
        assert_eq!((spec.purpose, spec.room_c, spec.span_mm), (Purpose::Crown, Some(31.0), None));
        let stray: toml::Table = toml::from_str("room = 31").unwrap();
        assert!(merged::<SituationSpec>(&under, &stray).is_err());
    }
}
