//! Rules as they are read from `data/rules`.

use case_file::Case;
use ledger::{Parameters, ValueUnit};
use libm::{exp, log};
use serde::{Deserialize, Serialize};
use terms::Grade;

use super::text;

/// The rules that are compiled in.
const FILES: &[(&str, &str)] = &[
    ("alginate.toml", include_str!("../../../../data/rules/alginate.toml")),
    ("agar.toml", include_str!("../../../../data/rules/agar.toml")),
    ("elastomers.toml", include_str!("../../../../data/rules/elastomers.toml")),
    ("margin.toml", include_str!("../../../../data/rules/margin.toml")),
    ("tray-and-removal.toml", include_str!("../../../../data/rules/tray-and-removal.toml")),
    ("stone.toml", include_str!("../../../../data/rules/stone.toml")),
];

/// The cases that rules are stated for: each leaves open whatever its rules do not turn on.
pub const CASES: &[(&str, &str)] = &[
    ("alginate-cast", include_str!("../../../../data/rules/cases/alginate-cast.toml")),
    ("alginate-crown", include_str!("../../../../data/rules/cases/alginate-crown.toml")),
    ("extended-cast", include_str!("../../../../data/rules/cases/extended-cast.toml")),
    ("agar-crown", include_str!("../../../../data/rules/cases/agar-crown.toml")),
    ("agar-alginate-crown", include_str!("../../../../data/rules/cases/agar-alginate-crown.toml")),
    ("silicone-crown", include_str!("../../../../data/rules/cases/silicone-crown.toml")),
    ("silicone-putty-crown", include_str!("../../../../data/rules/cases/silicone-putty-crown.toml")),
    ("condensation-crown", include_str!("../../../../data/rules/cases/condensation-crown.toml")),
    ("polyether-crown", include_str!("../../../../data/rules/cases/polyether-crown.toml")),
    ("polysulfide-crown", include_str!("../../../../data/rules/cases/polysulfide-crown.toml")),
    ("silicone-bridge", include_str!("../../../../data/rules/cases/silicone-bridge.toml")),
    ("silicone-four-crowns", include_str!("../../../../data/rules/cases/silicone-four-crowns.toml")),
];

/// Rules that cannot be used.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum RulesError {
    /// The text is not a file of rules, or not a case.
    #[error("{file}: {message}")]
    Unreadable {
        /// File.
        file: String,
        /// What the reader said.
        message: String,
    },
    /// A rule contradicts itself or another.
    #[error("{file}: {id}: {field}: given {given}; allowed {allowed}")]
    Rule {
        /// File.
        file: String,
        /// Rule.
        id: String,
        /// Field of the rule.
        field: String,
        /// What was given.
        given: String,
        /// What is allowed.
        allowed: String,
    },
}

/// How an axis is divided.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Scale {
    /// Evenly.
    #[default]
    Even,
    /// By equal factors.
    Factors,
}

/// One condition that is turned.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Axis {
    /// What it is, such as "water".
    pub words: String,
    /// Unit as it is shown.
    #[serde(default)]
    pub unit: String,
    /// From, in that unit.
    pub from: f64,
    /// To.
    pub to: f64,
    /// Where a sentence looks along the other axis; the middle when absent.
    pub usual: Option<f64>,
    /// Numbers of this condition that the rule itself states, such as ten minutes.
    #[serde(default)]
    pub own: Vec<f64>,
    /// How it is divided.
    #[serde(default)]
    pub scale: Scale,
}

impl Axis {
    /// The value at a place between 0 and 1.
    pub fn at(&self, place: f64) -> f64 {
        match self.scale {
            Scale::Even => self.from + place * (self.to - self.from),
            Scale::Factors => self.from * exp(place * log(self.to / self.from)),
        }
    }

    /// The place of a value.
    pub fn place(&self, value: f64) -> f64 {
        match self.scale {
            Scale::Even => (value - self.from) / (self.to - self.from),
            Scale::Factors => log(value / self.from) / log(self.to / self.from),
        }
    }

    /// Where a sentence about the other axis looks.
    pub fn usual_place(&self) -> f64 {
        self.usual.map_or(0.5, |value| self.place(value))
    }

    /// A value with its unit, as finely as a map is worth reading: to a twentieth of the axis.
    pub fn said(&self, value: f64) -> String {
        let step = match self.scale {
            Scale::Even => (self.to - self.from) / 20.0,
            Scale::Factors => value * 0.1,
        };
        let digits = (-libm::floor(libm::log10(step.max(1e-9)) + 1e-9)).max(0.0) as usize;
        let number = format!("{value:.digits$}");
        let number =
            if number.contains('.') { number.trim_end_matches('0').trim_end_matches('.') } else { &number };
        self.with_unit(number)
    }

    /// A number of the rule itself with its unit, as it is stated.
    pub fn said_own(&self, value: f64) -> String {
        self.with_unit(&value.to_string())
    }

    fn with_unit(&self, number: &str) -> String {
        match self.unit.as_str() {
            "" => number.to_owned(),
            // The sign of an angle follows its number closely.
            "°" => format!("{number}°"),
            unit => format!("{number} {unit}"),
        }
    }
}

/// Which way a number is claimed to go.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Direction {
    /// Less, or sooner.
    Less,
    /// More, or later.
    More,
}

/// What a number is compared with.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Bound {
    /// The same number with these changes to the case, under the same random numbers.
    Changed(Vec<(String, String)>),
    /// A fixed value, SI.
    Value(f64),
    /// What is taught: a ledger key, and its time, s.
    Taught(String, f64),
    /// Another number of the same sample.
    Quantity(String),
}

/// A claim about the samples of a case.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Claim {
    /// The number.
    pub quantity: String,
    /// Which way.
    pub direction: Direction,
    /// Sizes are compared, whatever their sign.
    pub in_size: bool,
    /// The least difference that matters, SI.
    pub by: f64,
    /// The same as it is written; empty where any difference matters.
    pub by_words: String,
    /// The rule itself says how large the difference is: a smaller one may matter, but is not what is taught.
    pub by_taught: bool,
    /// With what.
    pub against: Bound,
}

/// One rule.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Rule {
    /// Identifier.
    pub id: String,
    /// Topic.
    pub topic: String,
    /// The rule as it is taught.
    pub says: String,
    /// Where it is taught: a source, or `common practice`.
    pub source: String,
    /// How that was read.
    pub grade: Grade,
    /// What the claim makes of the sentence, in words.
    pub means: String,
    /// First condition.
    pub x: Axis,
    /// Second condition.
    pub y: Axis,
    /// What the two conditions set: a field of the case, and a value in which `{x}` and `{y}` stand for them.
    pub sets: Vec<(String, String)>,
    /// The claim.
    pub claim: Claim,
    /// The case, with everything else as it usually is.
    #[serde(skip)]
    pub case: Case,
}

impl Rule {
    /// The case at a point of the map, in the units of the axes; `changes` come last.
    ///
    /// # Errors
    /// A place that nothing fills; what the case file refuses, with its field.
    pub fn at(&self, x: f64, y: f64, changes: &[(String, String)]) -> Result<Case, String> {
        let (x, y) = (text::number(x), text::number(y));
        text::stated(&self.case, self.sets.iter().chain(changes), &[("x", &x), ("y", &y)])
    }

    /// Whether two cases are compared, so that there is an opposite and a difference too small to matter.
    pub fn compares(&self) -> bool {
        matches!(self.claim.against, Bound::Changed(_))
    }

    /// Numbers that the claim needs.
    pub fn ids(&self) -> Vec<&str> {
        let mut ids = vec![self.claim.quantity.as_str()];
        if let Bound::Quantity(other) = &self.claim.against {
            ids.push(other);
        }
        ids
    }
}

/// All rules, in order.
#[derive(Clone, Debug)]
pub struct Rules {
    /// In the order of the files.
    pub list: Vec<Rule>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    rule: Vec<Row>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    id: String,
    topic: String,
    says: String,
    source: String,
    grade: Grade,
    means: String,
    case: String,
    x: Axis,
    y: Axis,
    sets: std::collections::BTreeMap<String, String>,
    claim: ClaimRow,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct ClaimRow {
    quantity: String,
    is: String,
    #[serde(default)]
    in_size: bool,
    by: Option<String>,
    #[serde(default)]
    by_taught: bool,
    than: Option<std::collections::BTreeMap<String, String>>,
    value: Option<String>,
    taught: Option<String>,
    end: Option<String>,
    other: Option<String>,
}

impl Rules {
    /// The shipped rules.
    ///
    /// # Errors
    /// When a file does not read, which the tests keep from being shipped.
    pub fn shipped(parameters: &Parameters) -> Result<Rules, RulesError> {
        Rules::read(FILES, CASES, parameters)
    }

    /// Topics in the order in which they first come.
    pub fn topics(&self) -> Vec<&str> {
        let mut topics: Vec<&str> = Vec::new();
        for rule in &self.list {
            if !topics.contains(&rule.topic.as_str()) {
                topics.push(&rule.topic);
            }
        }
        topics
    }

    /// The rule with this identifier.
    pub fn find(&self, id: &str) -> Option<&Rule> {
        self.list.iter().find(|rule| rule.id == id)
    }

    /// Reads rules and the cases that they are stated for, each with its name.
    ///
    /// # Errors
    /// The first text that does not read; the first rule with a field that is not allowed, or whose case is refused at a corner of its map.
    pub fn read(
        files: &[(&str, &str)],
        cases: &[(&str, &str)],
        parameters: &Parameters,
    ) -> Result<Rules, RulesError> {
        let mut known = std::collections::BTreeMap::new();
        for &(name, text) in cases {
            let case =
                case_file::parse(name, text).map_err(|problems| unreadable(name, problems.to_string()))?;
            known.insert(name, case);
        }
        let mut list: Vec<Rule> = Vec::new();
        for &(file, text) in files {
            let rows: File = toml::from_str(text).map_err(|error| unreadable(file, error.to_string()))?;
            for row in rows.rule {
                let refuse = |field: &str, given: &str, allowed: &str| RulesError::Rule {
                    file: file.to_owned(),
                    id: row.id.clone(),
                    field: field.to_owned(),
                    given: given.to_owned(),
                    allowed: allowed.to_owned(),
                };
                if list.iter().any(|rule| rule.id == row.id) {
                    return Err(refuse("id", &row.id, "an identifier that no other rule has"));
                }
                let case = known.get(row.case.as_str()).ok_or_else(|| {
                    let names: Vec<&str> = known.keys().copied().collect();
                    refuse("case", &row.case, &format!("one of {}", names.join(", ")))
                })?;
                for (name, axis) in [("x", &row.x), ("y", &row.y)] {
                    if let Some(own) = axis.own.iter().find(|own| !(axis.from..=axis.to).contains(own)) {
                        let allowed = format!("{} to {}", axis.from, axis.to);
                        return Err(refuse(&format!("{name}.own"), &own.to_string(), &allowed));
                    }
                    let positive = axis.scale == Scale::Even || axis.from > 0.0;
                    if !(axis.from < axis.to && axis.to.is_finite() && positive) {
                        let given = format!("{} to {}", axis.from, axis.to);
                        return Err(refuse(
                            name,
                            &given,
                            "from below to; above zero where divided by factors",
                        ));
                    }
                    // An axis that turns nothing would draw bands that say something of it.
                    let mut written =
                        row.sets.values().chain(row.claim.than.iter().flat_map(|than| than.values()));
                    if !written.any(|value| text::has(value, name)) {
                        return Err(refuse(
                            name,
                            &axis.words,
                            &format!("a condition that is turned, as {{{name}}} in sets or than"),
                        ));
                    }
                }
                let claim = claim(&row.claim, parameters)
                    .map_err(|(field, given, allowed)| refuse(&format!("claim.{field}"), &given, &allowed))?;
                let rule = Rule {
                    case: case.clone(),
                    sets: row.sets.clone().into_iter().collect(),
                    topic: row.topic.clone(),
                    says: row.says.clone(),
                    source: row.source.clone(),
                    grade: row.grade,
                    means: row.means.clone(),
                    x: row.x.clone(),
                    y: row.y.clone(),
                    claim,
                    id: row.id.clone(),
                };
                for (x, y) in [(0.0, 0.0), (1.0, 0.0), (0.0, 1.0), (1.0, 1.0)] {
                    let changes = match &rule.claim.against {
                        Bound::Changed(changes) => changes.as_slice(),
                        _ => &[],
                    };
                    for changes in [&[], changes] {
                        rule.at(rule.x.at(x), rule.y.at(y), changes)
                            .map_err(|problems| refuse("sets", &problems, "what a case may say"))?;
                    }
                }
                list.push(rule);
            }
        }
        Ok(Rules { list })
    }
}

fn unreadable(file: &str, message: String) -> RulesError {
    RulesError::Unreadable { file: file.to_owned(), message }
}

fn claim(row: &ClaimRow, parameters: &Parameters) -> Result<Claim, (&'static str, String, String)> {
    let direction = match row.is.as_str() {
        "less" | "at most" => Direction::Less,
        "more" | "at least" => Direction::More,
        other => return Err(("is", other.to_owned(), "less, more, at most, at least".to_owned())),
    };
    for (field, id) in [("quantity", Some(&row.quantity)), ("other", row.other.as_ref())] {
        if let Some(id) = id.filter(|id| !chain::IDS.contains(&id.as_str())) {
            return Err((field, id.clone(), format!("one of {}", chain::IDS.join(", "))));
        }
    }
    let read = |field: &'static str, text: &str, to_si: fn(ValueUnit, f64) -> f64| {
        si(text, to_si).ok_or((
            field,
            text.to_owned(),
            "a number, a space and a unit of the ledger".to_owned(),
        ))
    };
    let by = row.by.as_deref().map_or(Ok(0.0), |by| read("by", by, ValueUnit::difference_to_si))?;
    let against = match (&row.than, &row.value, &row.taught, &row.other) {
        (Some(changes), None, None, None) => Bound::Changed(changes.clone().into_iter().collect()),
        (None, Some(value), None, None) => Bound::Value(read("value", value, ValueUnit::to_si)?),
        (None, None, Some(key), None) => {
            let Some(taught) = parameters.taught().iter().find(|taught| &taught.key == key) else {
                return Err(("taught", key.clone(), "a key of what is taught".to_owned()));
            };
            let place = match row.end.as_deref() {
                Some("earliest") => 0,
                Some("latest") => 1,
                other => return Err(("end", other.unwrap_or("").to_owned(), "earliest, latest".to_owned())),
            };
            Bound::Taught(key.clone(), taught.seconds[place])
        }
        (None, None, None, Some(other)) => Bound::Quantity(other.clone()),
        _ => {
            return Err((
                "than",
                "not one of them".to_owned(),
                "one of than, value, taught, other".to_owned(),
            ));
        }
    };
    let by_words = row.by.clone().unwrap_or_default();
    if by < 0.0 {
        return Err(("by", by_words, "zero or more".to_owned()));
    }
    let (quantity, in_size, by_taught) = (row.quantity.clone(), row.in_size, row.by_taught);
    Ok(Claim { quantity, direction, in_size, by, by_words, by_taught, against })
}

/// The SI value of a number with a unit of the ledger. A pure number is a share in `%` or has the unit `1`: what is written without a unit
/// could be either.
fn si(text: &str, to_si: fn(ValueUnit, f64) -> f64) -> Option<f64> {
    let (number, symbol) = text.trim().split_once(' ')?;
    let number: f64 = number.parse().ok().filter(|number: &f64| number.is_finite())?;
    Some(to_si(ValueUnit::from_symbol(symbol)?, number))
}
