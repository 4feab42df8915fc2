//! What a practical exercise is marked by: criteria with levels in words.
//!
//! A level is told criterion by criterion. There is no total and no verdict on a case: one plain fault at the margin is not made
//! good by a smooth base.

use std::collections::BTreeSet;

use serde::{Deserialize, Serialize};
use terms::{DieFault, Fault};
use thiserror::Error;

/// Fewest and most levels of a criterion.
pub const LEVELS: std::ops::RangeInclusive<usize> = 2..=6;
/// Most criteria of a rubric.
pub const MAX_CRITERIA: usize = 40;

/// The rubrics of this program.
const SHIPPED: [(&str, &str); 2] = [
    ("impression", include_str!("../../../data/rubric/impression.toml")),
    ("die", include_str!("../../../data/rubric/die.toml")),
];

/// Criteria of one exercise.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Rubric {
    /// Identifier.
    pub id: String,
    /// A short name.
    pub title: String,
    /// Criteria in the order in which they are looked at.
    #[serde(rename = "criterion")]
    pub criteria: Vec<Criterion>,
}

/// One criterion.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Criterion {
    /// Identifier: small letters and hyphens.
    pub id: String,
    /// In words.
    pub words: String,
    /// What to look for, and how.
    pub look: String,
    /// Levels in words, the worst first.
    pub levels: Vec<String>,
    /// Whether it weighs before anything that is measured.
    pub plain_fault: bool,
    /// The fault of an inspection that it is about.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fault: Option<Fault>,
    /// The fault of a die that it is about.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub die_fault: Option<DieFault>,
    /// Where it comes from; `common practice` where there is no source.
    pub source: String,
}

/// A rubric that cannot be used.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum RubricError {
    /// The text is no rubric.
    #[error(
        "given a text that is no rubric: {message}; allowed id, title and [[criterion]] with id, words, look, levels, plain_fault, source"
    )]
    Unreadable {
        /// What the reader said, with its place.
        message: String,
    },
    /// A rubric with a name that is not shipped.
    #[error("given rubric \"{given}\"; allowed {}", .allowed.join(", "))]
    Unknown {
        /// What was given.
        given: String,
        /// Names.
        allowed: Vec<String>,
    },
    /// A part that is not as it must be.
    #[error("{place}: given {given}; allowed {allowed}")]
    Part {
        /// Criterion and field.
        place: String,
        /// What was given.
        given: String,
        /// What is allowed.
        allowed: String,
    },
}

/// Reads a rubric.
///
/// # Errors
/// When it is none, or a part is not as it must be.
pub fn read(text: &str) -> Result<Rubric, RubricError> {
    let rubric: Rubric =
        toml::from_str(text).map_err(|error| RubricError::Unreadable { message: error.to_string() })?;
    check(&rubric)?;
    Ok(rubric)
}

/// Names of the rubrics of this program.
pub fn names() -> impl Iterator<Item = &'static str> {
    SHIPPED.iter().map(|(name, _)| *name)
}

/// A rubric of this program.
///
/// # Errors
/// When there is none of this name.
pub fn shipped(name: &str) -> Result<Rubric, RubricError> {
    let known = SHIPPED.iter().find(|(known, _)| *known == name);
    let (_, text) = known.ok_or_else(|| RubricError::Unknown {
        given: name.to_owned(),
        allowed: names().map(str::to_owned).collect(),
    })?;
    read(text)
}

fn check(rubric: &Rubric) -> Result<(), RubricError> {
    let part = |place: &str, given: String, allowed: &str| {
        Err(RubricError::Part { place: place.to_owned(), given, allowed: allowed.to_owned() })
    };
    const ID: &str = "small letters, digits and hyphens, a letter first, at most 40 in all";
    if !is_id(&rubric.id) {
        return part("id", format!("{:?}", rubric.id), ID);
    }
    let count = rubric.criteria.len();
    if count == 0 || count > MAX_CRITERIA {
        return part("criterion", format!("{count} criteria"), &format!("1 to {MAX_CRITERIA}"));
    }
    let mut seen = BTreeSet::new();
    for criterion in &rubric.criteria {
        let id = &criterion.id;
        if !is_id(id) {
            return part("criterion, id", format!("{id:?}"), ID);
        }
        if !seen.insert(id) {
            return part(&format!("criterion {id}"), "its id again".to_owned(), "each id once");
        }
        for (name, text) in
            [("words", &criterion.words), ("look", &criterion.look), ("source", &criterion.source)]
        {
            if text.trim().is_empty() {
                return part(&format!("criterion {id}, {name}"), "nothing".to_owned(), "words");
            }
        }
        let levels = &criterion.levels;
        if !LEVELS.contains(&levels.len()) {
            let allowed = format!("{} to {}, the worst first", LEVELS.start(), LEVELS.end());
            return part(&format!("criterion {id}, levels"), format!("{} levels", levels.len()), &allowed);
        }
        let different: BTreeSet<&str> = levels.iter().map(|level| level.trim()).collect();
        if different.len() < levels.len() || different.contains("") {
            let given = "levels that are empty or the same".to_owned();
            return part(&format!("criterion {id}, levels"), given, "different words for each");
        }
        let names_a_fault = criterion.fault.is_some() || criterion.die_fault.is_some();
        if names_a_fault && !criterion.plain_fault {
            let given = "plain_fault = false with a fault of the inspection".to_owned();
            return part(&format!("criterion {id}"), given, "plain_fault = true");
        }
    }
    Ok(())
}

fn is_id(text: &str) -> bool {
    text.len() <= 40
        && text.starts_with(|first: char| first.is_ascii_lowercase())
        && text.bytes().all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'-')
}

#[cfg(test)]
mod tests {
    use super::{Rubric, read, shipped};
    use terms::{DieFault, Fault};

    #[test]
    fn the_rubrics_ask_for_every_fault_of_the_inspection() {
        let impression = shipped("impression").unwrap();
        for fault in Fault::ALL {
            assert!(impression.criteria.iter().any(|criterion| criterion.fault == Some(*fault)), "{fault}");
        }
        let die = shipped("die").unwrap();
        for fault in DieFault::ALL {
            assert!(die.criteria.iter().any(|criterion| criterion.die_fault == Some(*fault)), "{fault}");
        }
        for rubric in [impression, die] {
            let first_other = rubric.criteria.iter().position(|criterion| !criterion.plain_fault).unwrap();
            // Plain faults are looked at first.
            assert!(rubric.criteria[first_other..].iter().all(|criterion| !criterion.plain_fault));
        }
    }

    #[test]
    fn a_rubric_that_is_written_is_read() {
        for name in super::names() {
            let rubric = shipped(name).unwrap();
            let text = toml::to_string(&rubric).unwrap();
            assert_eq!(read(&text).unwrap(), rubric);
        }
        assert_eq!(
            shipped("crown").unwrap_err().to_string(),
            "given rubric \"crown\"; allowed impression, die"
        );
    }

    #[test]
    fn what_is_no_rubric_is_said_with_its_place() {
        let with = |change: fn(&mut Rubric)| {
            let mut rubric = shipped("impression").unwrap();
            change(&mut rubric);
            read(&toml::to_string(&rubric).unwrap()).unwrap_err().to_string()
        };
        assert!(with(|rubric| rubric.criteria.clear()).contains("given 0 criteria; allowed 1 to 40"));
        assert!(
            with(|rubric| rubric.criteria[1].id = rubric.criteria[0].id.clone()).contains("its id again")
        );
        assert!(with(|rubric| rubric.criteria[0].id = "Margin".to_owned()).contains("\"Margin\""));
        assert!(
            with(|rubric| rubric.criteria[0].levels.truncate(1)).contains("given 1 levels; allowed 2 to 6")
        );
        assert!(
            with(|rubric| rubric.criteria[0].levels[0] = rubric.criteria[0].levels[1].clone())
                .contains("the same")
        );
        assert!(with(|rubric| rubric.criteria[0].source = " ".to_owned()).contains("source: given nothing"));
        assert!(with(|rubric| rubric.criteria[0].plain_fault = false).contains("plain_fault = true"));
        assert!(read("id = \"x\"").unwrap_err().to_string().contains("no rubric"));
        let more = "id = \"x\"\ntitle = \"x\"\nweight = 2\ncriterion = []\n";
        assert!(read(more).unwrap_err().to_string().contains("weight"));
    }
}
