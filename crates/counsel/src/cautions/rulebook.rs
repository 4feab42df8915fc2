//! The rules as they are read from `data/cautions`.

use serde::{Deserialize, Serialize};
use terms::Grade;

use super::adrenaline::Quoted;
use super::condition::{Condition, Written};
use super::facts::Fact;
use super::text;

/// The rules that are compiled in.
const FILES: &[(&str, &str)] = &[
    ("current-and-light.toml", include_str!("../../../../data/cautions/current-and-light.toml")),
    ("adrenaline.toml", include_str!("../../../../data/cautions/adrenaline.toml")),
    ("medicaments.toml", include_str!("../../../../data/cautions/medicaments.toml")),
    ("gum-and-margin.toml", include_str!("../../../../data/cautions/gum-and-margin.toml")),
    ("gloves-and-allergy.toml", include_str!("../../../../data/cautions/gloves-and-allergy.toml")),
    ("material-and-removal.toml", include_str!("../../../../data/cautions/material-and-removal.toml")),
    ("airway-and-mouth.toml", include_str!("../../../../data/cautions/airway-and-mouth.toml")),
    ("disinfection.toml", include_str!("../../../../data/cautions/disinfection.toml")),
    ("leaving.toml", include_str!("../../../../data/cautions/leaving.toml")),
];

/// Most facts of one rule.
pub const MOST_FACTS: usize = 8;

/// A rulebook that cannot be used.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum RuleError {
    /// The text is not a file of rules.
    #[error("{file}: {message}")]
    Unreadable {
        /// File.
        file: String,
        /// What the reader said.
        message: String,
    },
    /// A rule contradicts itself or another.
    #[error("{file}: {id}: {message}")]
    Rule {
        /// File.
        file: String,
        /// Rule.
        id: String,
        /// What is wrong.
        message: String,
    },
}

/// How much a rule weighs, the heaviest first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Level {
    /// Not this way before a clinician has decided otherwise.
    Stop,
    /// Only with care, as said.
    Caution,
    /// Good to know.
    Note,
    /// A question that belongs to this case.
    Ask,
}

/// What a rule speaks of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Affects {
    /// How the gum is displaced.
    Displacement,
    /// What is on the cord or in the paste.
    Medicament,
    /// The impression material.
    Material,
    /// The tray.
    Tray,
    /// The technique.
    Technique,
    /// Any impression today.
    Impression,
    /// The anaesthetic.
    Anaesthetic,
    /// Drugs given before.
    Premedication,
    /// How the impression is disinfected.
    Disinfection,
    /// The cast.
    Cast,
    /// Those who work with it.
    Staff,
    /// What is handed to the laboratory.
    Laboratory,
    /// The patient's leaving.
    Leaving,
}

impl Affects {
    /// Whether a stop blocks the route that it holds for.
    pub fn hits_route(self) -> bool {
        matches!(
            self,
            Affects::Displacement
                | Affects::Medicament
                | Affects::Material
                | Affects::Tray
                | Affects::Technique
        )
    }

    /// Whether it speaks of a route, and not of the visit or of those who work with it.
    pub fn is_of_a_route(self) -> bool {
        self.hits_route() || matches!(self, Affects::Impression | Affects::Disinfection | Affects::Cast)
    }

    /// Whether a stop blocks every route of today.
    pub fn hits_visit(self) -> bool {
        self == Affects::Impression
    }
}

impl std::fmt::Display for Level {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.pad(match self {
            Level::Stop => "stop",
            Level::Caution => "caution",
            Level::Note => "note",
            Level::Ask => "ask",
        })
    }
}

/// Who has reviewed a rule.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Review {
    /// Who.
    pub who: String,
    /// When, as 2026-01-31.
    pub on: String,
}

/// A rule.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Rule {
    /// Identifier.
    pub id: String,
    /// Area: the file that it stands in.
    pub area: String,
    /// Level.
    pub level: Level,
    /// What it speaks of.
    pub affects: Affects,
    /// When it holds.
    #[serde(serialize_with = "in_words")]
    pub when: Condition,
    /// The facts of its condition, in the order in which they are first named.
    #[serde(skip)]
    pub facts: Vec<Fact>,
    /// What it says, with the reason.
    pub says: String,
    /// What to consider instead.
    pub instead: Option<String>,
    /// Source, or `common practice`.
    pub source: String,
    /// How the source was read.
    pub how_read: String,
    /// Grade.
    pub grade: Grade,
    /// What speaks against it.
    pub doubt: Option<String>,
    /// Who has reviewed it; nobody means that no clinician has.
    pub reviewed: Vec<Review>,
}

fn in_words<S: serde::Serializer>(when: &Condition, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_str(&text::in_words(when))
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    #[serde(default)]
    caution: Vec<Row>,
    #[serde(default)]
    quoted: Vec<Quoted>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    id: String,
    level: Level,
    affects: Affects,
    when: Written,
    says: String,
    instead: Option<String>,
    source: String,
    how_read: String,
    grade: Grade,
    doubt: Option<String>,
    reviewed: Vec<Review>,
}

/// Every rule.
#[derive(Clone, Debug, PartialEq)]
pub struct Rulebook {
    rules: Vec<Rule>,
    quoted: Vec<Quoted>,
}

impl Rulebook {
    /// The rules that are compiled in.
    ///
    /// # Errors
    /// When they contradict themselves.
    pub fn shipped() -> Result<Rulebook, RuleError> {
        Rulebook::parse(FILES)
    }

    /// Reads files of rules given as (name, text).
    ///
    /// # Errors
    /// The first file or rule that cannot be used, with what was given and what is allowed.
    pub fn parse(files: &[(&str, &str)]) -> Result<Rulebook, RuleError> {
        let mut book = Rulebook { rules: Vec::new(), quoted: Vec::new() };
        for &(name, text) in files {
            let file: File = toml::from_str(text).map_err(|error| RuleError::Unreadable {
                file: name.to_owned(),
                message: error.to_string(),
            })?;
            let area = name.trim_end_matches(".toml").replace('-', " ");
            for row in file.caution {
                let id = row.id.clone();
                let rule = rule(row, &area)
                    .and_then(|rule| match book.rules.iter().any(|known| known.id == rule.id) {
                        true => Err("given twice".to_owned()),
                        false => Ok(rule),
                    })
                    .map_err(|message| RuleError::Rule { file: name.to_owned(), id, message })?;
                book.rules.push(rule);
            }
            book.quoted.extend(file.quoted);
        }
        Ok(book)
    }

    /// The rules, in the order of their files.
    pub fn rules(&self) -> &[Rule] {
        &self.rules
    }

    /// The rule of this identifier.
    pub fn rule(&self, id: &str) -> Option<&Rule> {
        self.rules.iter().find(|rule| rule.id == id)
    }

    /// The rules that stand on a fact of this name.
    pub fn on<'a>(&'a self, fact: &'a str) -> impl Iterator<Item = &'a Rule> {
        self.rules.iter().filter(move |rule| rule.facts.iter().any(|known| known.name() == fact))
    }

    /// Doses of adrenaline that are quoted.
    pub fn quoted(&self) -> &[Quoted] {
        &self.quoted
    }
}

fn rule(row: Row, area: &str) -> Result<Rule, String> {
    let mut facts = Vec::new();
    let when = Condition::read(row.when, &mut facts)?;
    if facts.len() > MOST_FACTS {
        return Err(format!("given {} facts; allowed up to {MOST_FACTS}", facts.len()));
    }
    for (field, text) in [("says", &row.says), ("source", &row.source), ("how_read", &row.how_read)] {
        if text.trim().is_empty() {
            return Err(format!("{field}: given nothing; allowed a sentence"));
        }
    }
    if row.level == Level::Stop && row.instead.is_none() {
        return Err("instead: given nothing; allowed a sentence, for a stop names another way".to_owned());
    }
    Ok(Rule {
        id: row.id,
        area: area.to_owned(),
        level: row.level,
        affects: row.affects,
        when,
        facts,
        says: row.says,
        instead: row.instead,
        source: row.source,
        how_read: row.how_read,
        grade: row.grade,
        doubt: row.doubt,
        reviewed: row.reviewed,
    })
}
