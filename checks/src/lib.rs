//! Comparisons with things outside the project: closed forms, general-purpose libraries, handbooks, published measurements.
//!
//! Each check is a row of `data/*.toml`: what is compared, the source, how it was read, the expected values, the tolerance and
//! why it has that size, and the mutation of the code under which it was seen to fail. The topic modules compute; nothing of
//! what they compute is written down here. One check is one equation or data set and source, whatever its number of rows.

mod access;
mod agar;
mod assessment;
mod cases;
pub mod coverage;
mod elastomers;
mod fit;
mod gels;
mod gypsum;
mod heat;
mod published;
mod removal;
mod rules;
mod table;
mod tray;
mod uncertainty;
mod water;

pub use table::{markdown, table};

use rayon::prelude::*;
use terms::Grade;

/// A check that cannot be read or computed.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum CheckError {
    /// The text of a topic is not a list of checks.
    #[error("{topic}: {message}")]
    Unreadable {
        /// Topic.
        topic: &'static str,
        /// What the reader said.
        message: String,
    },
    /// A row lacks an input, or has one that no computation knows.
    #[error("input \"{name}\": {problem}")]
    Input {
        /// Name of the input.
        name: String,
        /// What is wrong.
        problem: String,
    },
    /// No computation has this identifier.
    #[error("no computation for \"{0}\"")]
    Unknown(String),
    /// A model refused the input.
    #[error("a model refused the input: {0}")]
    Model(String),
}

/// One comparison with one source.
#[derive(Clone, Debug, PartialEq, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Check {
    /// Identifier; the test is `val_` and this.
    pub id: String,
    /// In words.
    pub title: String,
    /// Authors, year, journal or standard and clause; or `common practice`.
    pub source: String,
    /// How the expected values were obtained.
    pub how_read: String,
    /// Grade.
    pub grade: Grade,
    /// Why the tolerance has its size.
    pub tolerance_why: String,
    /// The mutation under which the check was seen to fail.
    pub mutation: Mutation,
    /// Expected values.
    pub row: Vec<Row>,
}

/// A change of one line under which a check must fail.
#[derive(Clone, Debug, PartialEq, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Mutation {
    /// File, from the root of the tree.
    pub file: String,
    /// Text that occurs once in it.
    pub old: String,
    /// What replaces it.
    pub new: String,
}

/// One expected value.
#[derive(Clone, Debug, PartialEq, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Row {
    /// In words.
    pub case: String,
    /// Inputs of the computation.
    #[serde(default)]
    pub input: toml::Table,
    /// Expected value.
    pub expected: Option<f64>,
    /// Largest absolute difference.
    pub tolerance: Option<f64>,
    /// Largest relative difference.
    pub relative: Option<f64>,
    /// Smallest value that agrees.
    pub at_least: Option<f64>,
    /// Largest value that agrees.
    pub at_most: Option<f64>,
    /// Unit of all of these.
    pub unit: String,
}

/// A topic and its computation.
struct Topic {
    name: &'static str,
    text: &'static str,
    compute: fn(&str, &Input) -> Result<f64, CheckError>,
}

const TOPICS: &[Topic] = &[
    Topic { name: "heat and cure", text: include_str!("../data/heat.toml"), compute: heat::compute },
    Topic { name: "water", text: include_str!("../data/water.toml"), compute: water::compute },
    Topic { name: "tray", text: include_str!("../data/tray.toml"), compute: tray::compute },
    Topic { name: "gypsum", text: include_str!("../data/gypsum.toml"), compute: gypsum::compute },
    Topic { name: "fit", text: include_str!("../data/fit.toml"), compute: fit::compute },
    Topic {
        name: "uncertainty",
        text: include_str!("../data/uncertainty.toml"),
        compute: uncertainty::compute,
    },
    Topic { name: "elastomers", text: include_str!("../data/elastomers.toml"), compute: elastomers::compute },
    Topic { name: "gels", text: include_str!("../data/gels.toml"), compute: gels::compute },
    Topic { name: "agar", text: include_str!("../data/agar.toml"), compute: agar::compute },
    Topic { name: "access", text: include_str!("../data/access.toml"), compute: access::compute },
    Topic { name: "removal", text: include_str!("../data/removal.toml"), compute: removal::compute },
    Topic { name: "rules", text: include_str!("../data/rules.toml"), compute: rules::compute },
    Topic { name: "published", text: include_str!("../data/published.toml"), compute: published::compute },
    Topic { name: "assessment", text: include_str!("../data/assessment.toml"), compute: assessment::compute },
];

/// Inputs of one row.
pub(crate) struct Input<'a>(&'a toml::Table);

impl Input<'_> {
    /// A number by name.
    pub(crate) fn number(&self, name: &str) -> Result<f64, CheckError> {
        let problem =
            |problem: &str| CheckError::Input { name: name.to_owned(), problem: problem.to_owned() };
        match self.0.get(name) {
            Some(toml::Value::Float(value)) => Ok(*value),
            Some(toml::Value::Integer(value)) => Ok(*value as f64),
            Some(_) => Err(problem("is not a number")),
            None => Err(problem("is missing")),
        }
    }

    /// A word by name.
    pub(crate) fn word(&self, name: &str) -> Result<&str, CheckError> {
        self.0
            .get(name)
            .and_then(toml::Value::as_str)
            .ok_or_else(|| CheckError::Input { name: name.to_owned(), problem: "is not a word".to_owned() })
    }
}

/// What a word of a row was not.
pub(crate) fn unknown_word(name: &str, given: &str) -> CheckError {
    CheckError::Input { name: name.to_owned(), problem: format!("\"{given}\" is not known") }
}

/// One row after it was computed.
#[derive(Clone, Debug, PartialEq)]
pub struct RowOutcome {
    /// The row.
    pub row: Row,
    /// What was computed, or why not.
    pub computed: Result<f64, CheckError>,
    /// Whether it agrees.
    pub agrees: bool,
}

/// One check after it was computed.
#[derive(Clone, Debug, PartialEq)]
pub struct Outcome {
    /// Topic.
    pub topic: &'static str,
    /// The check.
    pub check: Check,
    /// Its rows.
    pub rows: Vec<RowOutcome>,
}

impl Outcome {
    /// Whether every row agrees.
    pub fn agrees(&self) -> bool {
        !self.rows.is_empty() && self.rows.iter().all(|row| row.agrees)
    }
}

/// Every check with its topic.
///
/// # Errors
/// When a shipped text cannot be read.
pub fn all() -> Result<Vec<(&'static str, Check)>, CheckError> {
    #[derive(serde::Deserialize)]
    #[serde(deny_unknown_fields)]
    struct File {
        #[serde(default)]
        check: Vec<Check>,
    }
    let mut list = Vec::new();
    for topic in TOPICS {
        let file: File = toml::from_str(topic.text)
            .map_err(|error| CheckError::Unreadable { topic: topic.name, message: error.to_string() })?;
        list.extend(file.check.into_iter().map(|check| (topic.name, check)));
    }
    Ok(list)
}

/// Computes a check.
pub fn run(topic: &'static str, check: &Check) -> Outcome {
    let compute = TOPICS.iter().find(|known| known.name == topic).map(|known| known.compute);
    let rows = check.row.iter().map(|row| {
        let computed = match compute {
            Some(compute) => compute(&check.id, &Input(&row.input)),
            None => Err(CheckError::Unknown(check.id.clone())),
        };
        let agrees = computed.as_ref().is_ok_and(|&value| row.accepts(value));
        RowOutcome { row: row.clone(), computed, agrees }
    });
    Outcome { topic, check: check.clone(), rows: rows.collect() }
}

/// Computes every check.
///
/// # Errors
/// When a shipped text cannot be read.
pub fn run_all() -> Result<Vec<Outcome>, CheckError> {
    Ok(all()?.par_iter().map(|(topic, check)| run(topic, check)).collect())
}

impl Row {
    /// Whether a computed value agrees. A row that expects nothing accepts nothing.
    fn accepts(&self, value: f64) -> bool {
        let near = match (self.expected, self.tolerance, self.relative) {
            (Some(expected), Some(tolerance), None) => Some((value - expected).abs() <= tolerance),
            (Some(expected), None, Some(relative)) => {
                Some((value - expected).abs() <= relative * expected.abs())
            }
            (None, None, None) => None,
            _ => Some(false),
        };
        let least = self.at_least.map(|least| value >= least);
        let most = self.at_most.map(|most| value <= most);
        let conditions: Vec<bool> = [near, least, most].into_iter().flatten().collect();
        value.is_finite() && !conditions.is_empty() && conditions.iter().all(|&holds| holds)
    }
}
