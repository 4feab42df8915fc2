//! The answers of a class, and what they earned.
//!
//! A learner is a code such as `S-01`, never a name: a name does not fit the pattern.

use std::collections::BTreeMap;
use std::fmt;

use serde::{Deserialize, Serialize};
use thiserror::Error;

use crate::item::{Body, Item, Response};
use crate::marking::{MarkError, Rule, mark};

/// The code of a learner.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Learner(String);

/// The text is not the code of a learner.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[error("given \"{given}\"; allowed {}", Learner::ALLOWED)]
pub struct NotALearner {
    /// What was given.
    pub given: String,
}

impl Learner {
    /// The pattern in words.
    pub const ALLOWED: &'static str = terms::LEARNER_ALLOWED;

    /// # Errors
    /// When the text does not fit the pattern.
    pub fn new(text: &str) -> Result<Self, NotALearner> {
        let fits = terms::is_learner(text);
        if fits { Ok(Learner(text.to_owned())) } else { Err(NotALearner { given: text.to_owned() }) }
    }

    /// The code as text.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl TryFrom<String> for Learner {
    type Error = NotALearner;
    fn try_from(text: String) -> Result<Self, NotALearner> {
        Learner::new(&text)
    }
}

impl From<Learner> for String {
    fn from(learner: Learner) -> String {
        learner.0
    }
}

impl fmt::Display for Learner {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.0)
    }
}

/// The answers of a class: learners by items.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Answers {
    /// Identifiers of the items that were asked.
    pub items: Vec<String>,
    /// What each learner answered, in the order of `items`.
    pub learners: Vec<(Learner, Vec<Response>)>,
}

impl Answers {
    /// The same answers without those to some items.
    #[must_use]
    pub fn without(&self, left_out: impl Fn(&str) -> bool) -> Answers {
        let stays: Vec<bool> = self.items.iter().map(|item| !left_out(item)).collect();
        fn kept<T: Clone>(list: &[T], stays: &[bool]) -> Vec<T> {
            list.iter().zip(stays).filter(|(_, stays)| **stays).map(|(one, _)| one.clone()).collect()
        }
        Answers {
            items: kept(&self.items, &stays),
            learners: self
                .learners
                .iter()
                .map(|(learner, list)| (learner.clone(), kept(list, &stays)))
                .collect(),
        }
    }
}

/// What one item earned each learner, and which option was chosen.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Column {
    /// Item.
    pub item: String,
    /// Share of the credit, 0 to 1, learner by learner.
    pub earned: Vec<f64>,
    /// Whether nothing was answered, learner by learner.
    pub omitted: Vec<bool>,
    /// Options and choices; none for an item that is no choice.
    pub chosen: Option<Chosen>,
}

/// Which option each learner chose.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Chosen {
    /// Options by identifier, in the order in which they are shown.
    pub options: Vec<String>,
    /// Place of the key.
    pub key: usize,
    /// Place of the option chosen, learner by learner; none for a blank.
    pub by: Vec<Option<usize>>,
}

/// What one learner earned.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Total {
    /// Learner.
    pub learner: Learner,
    /// Sum over the items.
    pub earned: f64,
    /// Items that are wholly right.
    pub right: usize,
    /// Items that were left blank.
    pub omitted: usize,
}

/// A class after it was marked.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Marked {
    /// Learner by learner, in the order of the answers.
    pub totals: Vec<Total>,
    /// Item by item, in the order of the answers.
    pub columns: Vec<Column>,
}

/// Answers that cannot be marked.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum AnswersError {
    /// An item that is not in the set.
    #[error("given answers to item \"{given}\"; allowed items of the set: {}", .allowed.join(", "))]
    Item {
        /// What was given.
        given: String,
        /// Items of the set.
        allowed: Vec<String>,
    },
    /// An item that was given twice.
    #[error("given item \"{given}\" more than once; allowed once")]
    ItemTwice {
        /// Item.
        given: String,
    },
    /// A learner who was given twice.
    #[error("given learner {given} more than once; allowed once")]
    LearnerTwice {
        /// Learner.
        given: Learner,
    },
    /// Answers that do not stand for the items.
    #[error("{learner}: given {given} answers; allowed {allowed}, one to each item")]
    Count {
        /// Learner.
        learner: Learner,
        /// How many were given.
        given: usize,
        /// How many items there are.
        allowed: usize,
    },
    /// An answer that is none to its item.
    #[error("{learner}: {error}")]
    Mark {
        /// Learner.
        learner: Learner,
        /// What is wrong.
        error: MarkError,
    },
}

/// Marks the answers of a class.
///
/// # Errors
/// When the answers do not fit the items.
pub fn mark_all(answers: &Answers, items: &[Item], rule: Rule) -> Result<Marked, AnswersError> {
    let by_id: BTreeMap<&str, &Item> = items.iter().map(|item| (item.id.as_str(), item)).collect();
    let mut asked: BTreeMap<&str, &Item> = BTreeMap::new();
    let mut columns = Vec::with_capacity(answers.items.len());
    let mut in_order = Vec::with_capacity(answers.items.len());
    for id in &answers.items {
        let item = by_id.get(id.as_str()).ok_or_else(|| AnswersError::Item {
            given: id.clone(),
            allowed: items.iter().map(|item| item.id.clone()).collect(),
        })?;
        if asked.insert(id, item).is_some() {
            return Err(AnswersError::ItemTwice { given: id.clone() });
        }
        in_order.push(*item);
        let chosen = match &item.body {
            Body::Choice { options, key, .. } => Some(Chosen {
                options: options.iter().map(|option| option.id.clone()).collect(),
                key: *key,
                by: Vec::with_capacity(answers.learners.len()),
            }),
            Body::Order { .. } | Body::Numeric { .. } => None,
        };
        columns.push(Column { item: id.clone(), earned: Vec::new(), omitted: Vec::new(), chosen });
    }
    let mut seen = std::collections::BTreeSet::new();
    let mut totals = Vec::with_capacity(answers.learners.len());
    for (learner, responses) in &answers.learners {
        if !seen.insert(learner) {
            return Err(AnswersError::LearnerTwice { given: learner.clone() });
        }
        if responses.len() != in_order.len() {
            return Err(AnswersError::Count {
                learner: learner.clone(),
                given: responses.len(),
                allowed: in_order.len(),
            });
        }
        let mut total = Total { learner: learner.clone(), earned: 0.0, right: 0, omitted: 0 };
        for ((item, response), column) in in_order.iter().zip(responses).zip(&mut columns) {
            let mark = mark(item, response, rule)
                .map_err(|error| AnswersError::Mark { learner: learner.clone(), error })?;
            total.earned += mark.earned;
            total.right += usize::from(mark.right);
            total.omitted += usize::from(mark.omitted);
            column.earned.push(mark.earned);
            column.omitted.push(mark.omitted);
            if let Some(chosen) = &mut column.chosen {
                let place = match response {
                    Response::Choice(id) => chosen.options.iter().position(|option| option == id),
                    _ => None,
                };
                chosen.by.push(place);
            }
        }
        totals.push(total);
    }
    Ok(Marked { totals, columns })
}

#[cfg(test)]
mod tests {
    use super::{Answers, AnswersError, Learner, mark_all};
    use crate::examples::{choice, number, order};
    use crate::item::Response;
    use crate::marking::{MarkError, Rule};

    fn learner(code: &str) -> Learner {
        Learner::new(code).unwrap()
    }

    fn pick(id: &str) -> Response {
        Response::Choice(id.to_owned())
    }

    #[test]
    fn codes_fit_and_names_do_not() {
        for good in ["S-01", "ABC-1234"] {
            assert_eq!(learner(good).as_str(), good);
        }
        for bad in
            ["", "s-01", "S01", "S-1", "S-00001", "ABCD-01", "Anna", "Anna-01", "S-01 ", "Ü-01", "S-０１"]
        {
            assert!(Learner::new(bad).is_err(), "{bad}");
        }
        assert!(serde_json::from_str::<Learner>("\"Anna Smith\"").is_err());
    }

    #[test]
    fn a_class_is_marked_learner_by_learner_and_item_by_item() {
        let items = [choice("q1"), order("q2"), number("q3")];
        let steps = Response::Order(["b", "a", "d", "c"].map(str::to_owned).to_vec());
        let answers = Answers {
            items: ["q3", "q1", "q2"].map(str::to_owned).to_vec(),
            learners: vec![
                (learner("S-01"), vec![Response::Number(1.5), pick("warm"), steps]),
                (learner("S-02"), vec![Response::Number(3.0), pick("no"), Response::Blank]),
            ],
        };
        let marked = mark_all(&answers, &items, Rule::Partial).unwrap();
        assert!((marked.totals[0].earned - (0.5 + 1.0 + 1.0 / 3.0)).abs() < 1e-15);
        assert_eq!((marked.totals[0].right, marked.totals[0].omitted), (1, 0));
        assert_eq!((marked.totals[1].earned, marked.totals[1].right, marked.totals[1].omitted), (1.0, 1, 1));
        assert_eq!(marked.columns[0].earned, [0.5, 1.0]);
        assert_eq!(marked.columns[2].omitted, [false, true]);
        let chosen = marked.columns[1].chosen.as_ref().unwrap();
        assert_eq!((chosen.key, &chosen.by[..]), (1, &[Some(1), Some(2)][..]));
        assert!(marked.columns[0].chosen.is_none());
    }

    #[test]
    fn answers_that_do_not_fit_are_refused_by_name() {
        let items = [choice("q1")];
        let with = |ids: &[&str], learners: Vec<(Learner, Vec<Response>)>| {
            let answers = Answers { items: ids.iter().map(|id| (*id).to_owned()).collect(), learners };
            mark_all(&answers, &items, Rule::Partial).unwrap_err()
        };
        assert!(matches!(with(&["q9"], vec![]), AnswersError::Item { .. }));
        assert!(matches!(with(&["q1", "q1"], vec![]), AnswersError::ItemTwice { .. }));
        let one = (learner("S-01"), vec![pick("warm")]);
        assert!(matches!(with(&["q1"], vec![one.clone(), one]), AnswersError::LearnerTwice { .. }));
        let none = (learner("S-01"), vec![]);
        assert_eq!(
            with(&["q1"], vec![none]).to_string(),
            "S-01: given 0 answers; allowed 1, one to each item"
        );
        let wrong = (learner("S-01"), vec![pick("hot")]);
        let error = with(&["q1"], vec![wrong]);
        assert!(matches!(error, AnswersError::Mark { error: MarkError::Unknown { .. }, .. }));
    }
}
