//! Templates as they are read from `data/questions`.

use std::collections::{BTreeMap, BTreeSet};

use case_file::Case;
use counsel::cautions::Rulebook;
use ledger::{Parameters, ValueUnit};
use serde::Deserialize;
use terms::{Grade, Step};

use crate::item::{Asks, Level};

/// The templates that are compiled in.
const FILES: &[(&str, &str)] = &[
    ("mix-and-set.toml", include_str!("../../../data/questions/mix-and-set.toml")),
    ("margin.toml", include_str!("../../../data/questions/margin.toml")),
    ("safety.toml", include_str!("../../../data/questions/safety.toml")),
    ("removal-and-tray.toml", include_str!("../../../data/questions/removal-and-tray.toml")),
    ("holding.toml", include_str!("../../../data/questions/holding.toml")),
    ("stone-and-fit.toml", include_str!("../../../data/questions/stone-and-fit.toml")),
];

/// Cases of templates beside those of the rules.
const CASES: &[(&str, &str)] = &[
    ("patient-crown", include_str!("../../../data/questions/cases/patient-crown.toml")),
    ("four-teeth", include_str!("../../../data/questions/cases/four-teeth.toml")),
];

/// Misconceptions by their names.
const MISCONCEPTIONS: &str = include_str!("../../../data/questions/misconceptions.toml");

/// Fewest and most options of a choice.
const OPTIONS: std::ops::RangeInclusive<usize> = 3..=5;

/// Templates that cannot be used.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum TemplateError {
    /// The text is not a file of templates, or not a case.
    #[error("{file}: {message}")]
    Unreadable {
        /// File.
        file: String,
        /// What the reader said.
        message: String,
    },
    /// A template contradicts itself or another.
    #[error("{file}: {id}: {field}: given {given}; allowed {allowed}")]
    Template {
        /// File.
        file: String,
        /// Template.
        id: String,
        /// Field.
        field: String,
        /// What was given.
        given: String,
        /// What is allowed.
        allowed: String,
    },
}

/// A mistake that learners make, with its name.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Misconception {
    /// Identifier.
    pub id: String,
    /// What is believed.
    pub believes: String,
}

/// Which way a number must stand out to be the key.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Extreme {
    /// The greatest.
    Most,
    /// The least.
    Least,
}

/// How the key is found.
#[derive(Clone, Debug, PartialEq)]
pub enum Key {
    /// The option whose case has the greatest or least of a number, by at least `by`.
    Extreme {
        /// The number.
        quantity: String,
        /// Which.
        extreme: Extreme,
        /// The least lead that matters, SI.
        by: f64,
    },
    /// What becomes of a number when the case is changed: options say less, more or the same.
    Change {
        /// The number.
        quantity: String,
        /// The change.
        than: Vec<(String, String)>,
        /// The least difference that matters, SI.
        by: f64,
    },
    /// The only option whose case the rulebook stops, or the only one that it does not.
    Stop {
        /// Whether the key is the one that is stopped.
        stopped: bool,
    },
    /// The only option whose rule of the rulebook holds for the case.
    Holds,
    /// The option of a row of what is taught.
    Taught {
        /// Key of the row.
        taught: String,
        /// The number that the chain has for it, if any.
        forecast: Option<String>,
    },
    /// A number of the case, within the interval that holds 95 % of the samples.
    Number {
        /// The number.
        quantity: String,
        /// Unit of the answer.
        unit: ValueUnit,
        /// Digits after the point.
        digits: u8,
        /// The greatest ratio of the ends of that interval: what is known less well makes no question.
        within: f64,
    },
    /// A number that follows by arithmetic.
    Arithmetic {
        /// Which.
        of: Arithmetic,
        /// Unit in words.
        unit: String,
        /// Digits after the point.
        digits: u8,
        /// What is still right, as a share of the key.
        tolerance: f64,
    },
    /// Steps by the size of a number in each one's case, the least first, each by at least `by`.
    Sorted {
        /// The number.
        quantity: String,
        /// The least lead that matters, SI.
        by: f64,
    },
    /// Steps in the order of the steps of an impression.
    Steps,
    /// As it is taught, by a source.
    Convention {
        /// Option that is right, or every step in its order.
        right: Vec<String>,
    },
}

/// What can be worked out with the numbers of the template, without a case.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Arithmetic {
    /// Adrenaline of the anaesthetic in the case, µg.
    Adrenaline,
    /// Water that `powder` grams of hemihydrate need to react, g.
    WaterToReact,
    /// Hot part of `total` mL of water at `wanted` °C blended from `hot` °C and `cold` °C, mL.
    HotWater,
    /// Water to a part of bleach of `strong` % for one of `wanted` %, parts.
    Dilution,
}

/// One option, or one step.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Written {
    /// Identifier.
    pub id: String,
    /// What it says; for `taught` the time when absent.
    #[serde(default)]
    pub text: String,
    /// What it sets in the case.
    #[serde(default)]
    pub sets: BTreeMap<String, String>,
    /// The misconception that it stands for.
    pub wrong: Option<String>,
    /// Why it is right, or what is wrong with it.
    #[serde(default)]
    pub why: String,
    /// For `change`: less, more or same.
    pub is: Option<String>,
    /// For `holds`: a rule of the rulebook.
    pub rule: Option<String>,
    /// For `taught`: a row.
    pub taught: Option<String>,
    /// For `steps`: a step of an impression.
    pub step: Option<String>,
}

/// One template.
#[derive(Clone, Debug, PartialEq)]
pub struct Template {
    /// Identifier.
    pub id: String,
    /// Short name.
    pub title: String,
    /// Topic of the blueprint.
    pub topic: String,
    /// Level.
    pub level: Level,
    /// Which answer.
    pub asks: Asks,
    /// The case.
    pub case: Case,
    /// What each number draws: a name and its values.
    pub vary: BTreeMap<String, Vec<String>>,
    /// What is set in the case.
    pub sets: Vec<(String, String)>,
    /// The case in words.
    pub stem: String,
    /// The question.
    pub lead_in: String,
    /// Why the key is right.
    pub reason: String,
    /// How the key is found.
    pub key: Key,
    /// Options or steps.
    pub options: Vec<Written>,
    /// Options stay in their order.
    pub in_order: bool,
    /// The option that is taught, where the mechanistic answer may differ.
    pub taught_says: Option<String>,
    /// Where that, or a convention, is taught.
    pub source: Option<String>,
    /// How that was read.
    pub grade: Option<Grade>,
}

/// Templates and misconceptions.
#[derive(Clone, Debug)]
pub struct Templates {
    /// In the order of the files.
    pub list: Vec<Template>,
    /// Misconceptions.
    pub misconceptions: Vec<Misconception>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    #[serde(default)]
    template: Vec<Row>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct MisconceptionFile {
    misconception: Vec<Misconception>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    id: String,
    title: String,
    topic: String,
    level: Level,
    asks: Asks,
    case: String,
    #[serde(default)]
    vary: BTreeMap<String, Vec<String>>,
    #[serde(default)]
    sets: BTreeMap<String, String>,
    #[serde(default)]
    stem: String,
    lead_in: String,
    reason: String,
    key: KeyRow,
    #[serde(default)]
    option: Vec<Written>,
    #[serde(default)]
    in_order: bool,
    taught_says: Option<String>,
    source: Option<String>,
    grade: Option<Grade>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct KeyRow {
    by: String,
    quantity: Option<String>,
    lead: Option<String>,
    #[serde(default)]
    than: BTreeMap<String, String>,
    taught: Option<String>,
    forecast: Option<String>,
    unit: Option<String>,
    digits: Option<u8>,
    within: Option<f64>,
    of: Option<Arithmetic>,
    tolerance: Option<f64>,
    #[serde(default)]
    right: Vec<String>,
}

impl Templates {
    /// The shipped templates.
    ///
    /// # Errors
    /// When a file does not read, which the tests keep from being shipped.
    pub fn shipped(parameters: &Parameters, rulebook: &Rulebook) -> Result<Templates, TemplateError> {
        let cases: Vec<(&str, &str)> = counsel::rules::CASES.iter().chain(CASES).copied().collect();
        Templates::read(FILES, &cases, MISCONCEPTIONS, parameters, rulebook)
    }

    /// The template with this identifier.
    pub fn find(&self, id: &str) -> Option<&Template> {
        self.list.iter().find(|template| template.id == id)
    }

    /// Topics in the order in which they first come.
    pub fn topics(&self) -> Vec<&str> {
        let mut topics: Vec<&str> = Vec::new();
        for template in &self.list {
            if !topics.contains(&template.topic.as_str()) {
                topics.push(&template.topic);
            }
        }
        topics
    }

    /// Reads templates, the cases that they are stated for, and the misconceptions.
    ///
    /// # Errors
    /// The first text that does not read, and the first template with a field that is not allowed.
    pub fn read(
        files: &[(&str, &str)],
        cases: &[(&str, &str)],
        misconceptions: &str,
        parameters: &Parameters,
        rulebook: &Rulebook,
    ) -> Result<Templates, TemplateError> {
        let unreadable =
            |file: &str, message: String| TemplateError::Unreadable { file: file.to_owned(), message };
        let MisconceptionFile { misconception: misconceptions } = toml::from_str(misconceptions)
            .map_err(|error| unreadable("misconceptions.toml", error.to_string()))?;
        let mut known = BTreeMap::new();
        for &(name, text) in cases {
            let case =
                case_file::parse(name, text).map_err(|problems| unreadable(name, problems.to_string()))?;
            known.insert(name, case);
        }
        let mut list: Vec<Template> = Vec::new();
        for &(file, text) in files {
            let rows: File = toml::from_str(text).map_err(|error| unreadable(file, error.to_string()))?;
            for row in rows.template {
                let id = row.id.clone();
                let refuse = |(field, given, allowed): Refused| TemplateError::Template {
                    file: file.to_owned(),
                    id: id.clone(),
                    field: field.to_owned(),
                    given,
                    allowed: allowed.to_owned(),
                };
                if list.iter().any(|template| template.id == id) {
                    return Err(refuse(("id", id.clone(), "an identifier that no other template has")));
                }
                let case = known
                    .get(row.case.as_str())
                    .ok_or_else(|| refuse(("case", row.case.clone(), "a case of rules or questions")))?;
                let template = template(row, case, parameters, rulebook, &misconceptions).map_err(refuse)?;
                list.push(template);
            }
        }
        Ok(Templates { list, misconceptions })
    }
}

/// Field, what was given, what is allowed.
type Refused = (&'static str, String, &'static str);

fn template(
    row: Row,
    case: &Case,
    parameters: &Parameters,
    rulebook: &Rulebook,
    misconceptions: &[Misconception],
) -> Result<Template, Refused> {
    if !crate::item::is_identifier(&row.id) || row.id.len() > 48 {
        return Err(("id", row.id, "a letter, then letters, digits, '.', '_' and '-', at most 48"));
    }
    let key = key(&row.key)?;
    let is_number = matches!(key, Key::Number { .. } | Key::Arithmetic { .. });
    if is_number != row.option.is_empty() || (!is_number && !OPTIONS.contains(&row.option.len())) {
        let given = row.option.len().to_string();
        return Err(("option", given, "three to five, and none where a number is asked for"));
    }
    let mut ids = BTreeSet::new();
    for option in &row.option {
        if !crate::item::is_identifier(&option.id) || !ids.insert(option.id.as_str()) {
            return Err((
                "option.id",
                option.id.clone(),
                "a letter, then letters, digits and '_', each once",
            ));
        }
        if let Some(wrong) = &option.wrong
            && !misconceptions.iter().any(|known| &known.id == wrong)
        {
            return Err(("option.wrong", wrong.clone(), "a misconception of misconceptions.toml"));
        }
        if let Some(rule) = &option.rule
            && rulebook.rule(rule).is_none()
        {
            return Err(("option.rule", rule.clone(), "a rule of the rulebook"));
        }
        if let Some(taught) = &option.taught
            && !parameters.taught().iter().any(|row| &row.key == taught)
        {
            return Err(("option.taught", taught.clone(), "a row of what is taught"));
        }
    }
    let needs = |has: fn(&Written) -> bool, allowed: &'static str| match row.option.iter().find(|o| !has(o)) {
        Some(option) => Err(("option", option.id.clone(), allowed)),
        None => Ok(()),
    };
    match &key {
        Key::Change { .. } => {
            needs(
                |o| matches!(o.is.as_deref(), Some("less" | "more" | "same")),
                "is = less, more or same, each once",
            )?;
            let all: BTreeSet<_> = row.option.iter().map(|option| &option.is).collect();
            if all.len() != 3 || row.option.len() != 3 {
                return Err((
                    "option",
                    format!("{} of them", all.len()),
                    "is = less, more and same, each once",
                ));
            }
        }
        Key::Holds => needs(|o| o.rule.is_some(), "a rule for every option")?,
        Key::Taught { taught, .. } => {
            needs(|o| o.taught.is_some() || !o.text.is_empty(), "a row of what is taught, or a text")?;
            if !row.option.iter().any(|option| option.taught.as_ref() == Some(taught)) {
                return Err(("key.taught", taught.clone(), "a row that one of the options names"));
            }
        }
        Key::Steps => {
            needs(|o| o.step.as_deref().and_then(Step::from_word).is_some(), "a step for every option")?
        }
        Key::Convention { right } => {
            if row.source.is_none() || row.asks != Asks::Conventional {
                return Err((
                    "key",
                    "a convention".to_owned(),
                    "asks = conventional, with a source and a grade",
                ));
            }
            if let Some(wrong) = right.iter().find(|id| !ids.contains(id.as_str())) {
                return Err(("key.right", wrong.clone(), "identifiers of options"));
            }
            if right.len() != 1 && right.len() != row.option.len() {
                return Err(("key.right", right.join(", "), "one option, or every step in its order"));
            }
        }
        _ => {}
    }
    if let Some(says) = &row.taught_says
        && (!ids.contains(says.as_str()) || row.source.is_none())
    {
        return Err(("taught_says", says.clone(), "an option, with a source"));
    }
    Ok(Template {
        case: case.clone(),
        id: row.id,
        title: row.title,
        topic: row.topic,
        level: row.level,
        asks: row.asks,
        vary: row.vary,
        sets: row.sets.into_iter().collect(),
        stem: row.stem,
        lead_in: row.lead_in,
        reason: row.reason,
        key,
        options: row.option,
        in_order: row.in_order,
        taught_says: row.taught_says,
        source: row.source,
        grade: row.grade,
    })
}

fn key(row: &KeyRow) -> Result<Key, Refused> {
    let quantity = || match &row.quantity {
        Some(id) if chain::IDS.contains(&id.as_str()) => Ok(id.clone()),
        other => Err(("key.quantity", other.clone().unwrap_or_default(), "a number of the chain")),
    };
    let lead = || match row.lead.as_deref() {
        None => Ok(0.0),
        Some(text) => {
            let (number, symbol) = text.split_once(' ').unwrap_or((text, "1"));
            let si = ValueUnit::from_symbol(symbol).zip(number.parse::<f64>().ok());
            let si = si.map(|(unit, number)| unit.difference_to_si(number)).filter(|si| *si >= 0.0);
            si.ok_or_else(|| ("key.lead", text.to_owned(), "a number and a unit of the ledger"))
        }
    };
    let digits = row.digits.unwrap_or(0).min(6);
    Ok(match row.by.as_str() {
        "most" => Key::Extreme { quantity: quantity()?, extreme: Extreme::Most, by: lead()? },
        "least" => Key::Extreme { quantity: quantity()?, extreme: Extreme::Least, by: lead()? },
        "change" => {
            Key::Change { quantity: quantity()?, than: row.than.clone().into_iter().collect(), by: lead()? }
        }
        "stopped" => Key::Stop { stopped: true },
        "not stopped" => Key::Stop { stopped: false },
        "holds" => Key::Holds,
        "taught" => match &row.taught {
            Some(taught) => Key::Taught { taught: taught.clone(), forecast: row.forecast.clone() },
            None => return Err(("key.taught", String::new(), "a row of what is taught")),
        },
        "number" => {
            let symbol = row.unit.clone().unwrap_or_default();
            let Some(unit) = ValueUnit::from_symbol(&symbol) else {
                return Err(("key.unit", symbol, "a unit of the ledger"));
            };
            Key::Number { quantity: quantity()?, unit, digits, within: row.within.unwrap_or(2.5) }
        }
        "arithmetic" => {
            let (Some(of), Some(unit)) = (row.of, row.unit.clone()) else {
                return Err(("key.of", String::new(), "what is worked out, and its unit"));
            };
            Key::Arithmetic { of, unit, digits, tolerance: row.tolerance.unwrap_or(0.02) }
        }
        "sorted" => Key::Sorted { quantity: quantity()?, by: lead()? },
        "steps" => Key::Steps,
        "convention" => Key::Convention { right: row.right.clone() },
        other => {
            return Err((
                "key.by",
                other.to_owned(),
                "most, least, change, stopped, not stopped, holds, taught, number, arithmetic, sorted, steps, convention",
            ));
        }
    })
}
