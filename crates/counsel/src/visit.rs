//! The whole visit as a check list: lines of `data/counsel/visit-checks.toml` that belong to a case, with what a clinic adds and drops.

use serde::{Deserialize, Serialize};

use crate::View;
use crate::cautions::facts::{Fact, Read};
use crate::cautions::{Condition, Truth, Written, truth};
use crate::routes::Clinic;

const LINES: &str = include_str!("../../../data/counsel/visit-checks.toml");

/// When a line is due.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Phase {
    /// Before anything is mixed.
    Before,
    /// Around the impression.
    Impression,
    /// Before the patient leaves.
    After,
    /// Between clinic and laboratory.
    Laboratory,
    /// Added by the clinic.
    Own,
}

/// Who does it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Who {
    /// Dentist.
    Dentist,
    /// Assistant.
    Assistant,
    /// Laboratory.
    Laboratory,
    /// All who are there.
    Together,
}

/// A line of the check list.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Line {
    /// Identifier, by which a clinic drops it.
    pub id: String,
    /// When.
    pub phase: Phase,
    /// Who.
    pub who: Who,
    /// What.
    pub says: String,
}

/// A check list that cannot be read.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("visit-checks.toml: {0}")]
pub struct ChecksError(String);

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    check: Vec<Row>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    id: String,
    phase: Phase,
    who: Who,
    says: String,
    when: Option<Written>,
}

/// The lines of a case, in order; a line whose condition is not known is there.
///
/// # Errors
/// When the lines contradict themselves, or a clinic drops one that does not exist.
pub fn checks(view: &View, clinic: &Clinic) -> Result<Vec<Line>, ChecksError> {
    let file: File = toml::from_str(LINES).map_err(|error| ChecksError(error.to_string()))?;
    for dropped in &clinic.dropped_checks {
        if !file.check.iter().any(|row| row.id == *dropped) {
            let ids: Vec<&str> = file.check.iter().map(|row| row.id.as_str()).collect();
            return Err(ChecksError(format!("drop: given \"{dropped}\"; allowed {}", ids.join(", "))));
        }
    }
    let read = Read::of(view);
    let mut lines = Vec::new();
    for row in file.check {
        let mut facts: Vec<Fact> = Vec::new();
        let condition = row.when.map(|when| Condition::read(when, &mut facts));
        let condition =
            condition.transpose().map_err(|message| ChecksError(format!("{}: {message}", row.id)))?;
        let values: Vec<_> = facts.iter().map(|fact| read.get(*fact)).collect();
        let belongs = condition.is_none_or(|condition| truth(&condition, &values) != Truth::False);
        if belongs && !clinic.dropped_checks.contains(&row.id) {
            lines.push(Line { id: row.id, phase: row.phase, who: row.who, says: row.says });
        }
    }
    for (number, says) in clinic.added_checks.iter().enumerate() {
        lines.push(Line {
            id: format!("own-{}", number + 1),
            phase: Phase::Own,
            who: Who::Together,
            says: says.clone(),
        });
    }
    Ok(lines)
}
