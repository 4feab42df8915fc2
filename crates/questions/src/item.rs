//! One question as it is set, and what can be answered to it.

use serde::{Deserialize, Serialize};

/// One question with its key, its reasons and where its figures come from.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Item {
    /// Identifier: a letter, then letters, digits, `.`, `_` and `-`, at most 64 in all.
    pub id: String,
    /// A short name.
    pub title: String,
    /// Topic of the blueprint; none for an item read from elsewhere.
    pub topic: Option<String>,
    /// Level of the blueprint; none for an item read from elsewhere.
    pub level: Option<Level>,
    /// Which answer is asked for; none for an item read from elsewhere.
    pub asks: Option<Asks>,
    /// The case, as paragraphs.
    pub stem: String,
    /// The question, which can be answered with the options covered.
    pub lead_in: String,
    /// What can be answered, and the key.
    pub body: Body,
    /// Why the key is right.
    pub reason: String,
    /// What is to be said where the conventional and the mechanistic answer differ.
    pub disagreement: Option<String>,
    /// Ledger keys and other identifiers of what the key rests on, in order, each once.
    pub rests_on: Vec<String>,
}

/// What learners do with what they know.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Level {
    /// Say what is so.
    Recall,
    /// Use it in a case.
    Apply,
    /// Find the cause, or weigh one thing against another.
    Analyse,
}

impl Level {
    /// In a word.
    pub fn word(self) -> &'static str {
        match self {
            Level::Recall => "recall",
            Level::Apply => "apply",
            Level::Analyse => "analyse",
        }
    }
}

/// Which of two answers is asked for, where they may differ.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Asks {
    /// What is taught.
    Conventional,
    /// What follows from cause in this case.
    Mechanistic,
}

impl Asks {
    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Asks::Conventional => "conventional: asks for what is taught",
            Asks::Mechanistic => "mechanistic: asks for what follows from cause in this case",
        }
    }
}

/// What can be answered to an item, and the key.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", tag = "kind")]
pub enum Body {
    /// One best answer.
    Choice {
        /// Options in the order in which they are shown.
        options: Vec<Choice>,
        /// Place of the key.
        key: usize,
        /// Options are numbers in their order, so that the place of the key is not free.
        in_order: bool,
    },
    /// Steps to be put in order.
    Order {
        /// Steps as they are shown.
        steps: Vec<Step>,
        /// Identifiers in the right order.
        key: Vec<String>,
    },
    /// A number.
    Numeric {
        /// The key, in `unit`.
        key: f64,
        /// What is still right, below and above, in `unit`: `least <= key <= most`.
        least: f64,
        /// See `least`.
        most: f64,
        /// The unit in which the answer is given.
        unit: String,
        /// Digits after the point that the key is shown with.
        digits: u8,
    },
}

/// One option of a choice.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Choice {
    /// Identifier, the same wherever it is shown: a letter, then letters, digits and `_`.
    pub id: String,
    /// What it says.
    pub text: String,
    /// Why it is right, or what is wrong with it.
    pub why: String,
    /// The misconception that makes it seem right; none for the key, or where none is named.
    pub misconception: Option<String>,
}

/// One step of an order.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Step {
    /// Identifier: a letter, then letters, digits and `_`.
    pub id: String,
    /// What it says.
    pub text: String,
}

/// What was answered.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Response {
    /// Nothing.
    Blank,
    /// The option with this identifier.
    Choice(String),
    /// Steps by identifier.
    Order(Vec<String>),
    /// A number in the unit of the item.
    Number(f64),
}

/// A letter, then letters, digits, `.`, `_` and `-`, at most 64 in all.
pub fn is_identifier(text: &str) -> bool {
    let mut characters = text.chars();
    characters.next().is_some_and(|first| first.is_ascii_alphabetic())
        && characters.all(|c| c.is_ascii_alphanumeric() || matches!(c, '.' | '_' | '-'))
        && text.len() <= 64
}
