//! Facts of the patient and of the visit, each asked as a question. The cautions stand on these; the chain does not read them.

use crate::Fact;
use crate::questions::{PATIENT, VISIT};
use crate::ranges::{Invalid, Range};

/// A question with the answers that it allows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Question {
    /// Name of the field.
    pub name: &'static str,
    /// What may be answered.
    pub kind: AnswerKind,
    /// The question.
    pub asks: &'static str,
    /// Whether it may not arise. "Not applicable" is refused elsewhere, so that nobody writes it for "no".
    pub may_not_arise: bool,
}

/// What may be answered.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum AnswerKind {
    /// Yes or no.
    YesNo,
    /// One of these words.
    Word(&'static [&'static str]),
    /// A quantity.
    Quantity(Range),
}

/// An answer.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
#[serde(untagged)]
pub enum Answer {
    /// Yes or no.
    Flag(bool),
    /// A word of the list of the question.
    Word(&'static str),
    /// SI value of a quantity.
    Number(f64),
}

/// What has been answered to a list of questions; everything else is unknown.
#[derive(Clone, Debug, PartialEq)]
pub struct Answers {
    questions: &'static [Question],
    said: Vec<Fact<Answer>>,
}

impl Answers {
    /// Nothing has been answered.
    pub fn unknown(questions: &'static [Question]) -> Answers {
        Answers { questions, said: vec![Fact::Unknown; questions.len()] }
    }

    /// The questions.
    pub fn questions(&self) -> &'static [Question] {
        self.questions
    }

    /// The answer to the question of this name; none when there is no such question.
    pub fn get(&self, name: &str) -> Option<Fact<Answer>> {
        let index = self.questions.iter().position(|question| question.name == name)?;
        self.said.get(index).copied()
    }

    /// Every question with its answer, in the order of the list.
    pub fn iter(&self) -> impl Iterator<Item = (&'static Question, Fact<Answer>)> {
        self.questions.iter().zip(self.said.iter().copied())
    }

    /// Answers a question.
    ///
    /// # Errors
    /// When there is no such question, or the answer is not one that it allows; `table` is the path to report.
    pub fn answer(&mut self, table: &str, name: &str, fact: Fact<Answer>) -> Result<(), Invalid> {
        let invalid =
            |given: String, allowed: String| Invalid { field: format!("{table}.{name}"), given, allowed };
        let index = self.questions.iter().position(|question| question.name == name);
        let Some((question, said)) =
            index.and_then(|index| Some((self.questions.get(index)?, self.said.get_mut(index)?)))
        else {
            return Err(invalid("no such question".to_owned(), "a question of the list".to_owned()));
        };
        let words = |words: &[&str]| format!("\"{}\"", words.join("\", \""));
        match (fact, question.kind) {
            (Fact::NotApplicable, _) if !question.may_not_arise => {
                return Err(invalid("\"not applicable\"".to_owned(), "an answer, or \"unknown\"".to_owned()));
            }
            (Fact::Known(Answer::Number(si)), AnswerKind::Quantity(range)) => {
                range.check(&format!("{table}.{name}"), si)?;
            }
            (Fact::Known(Answer::Word(word)), AnswerKind::Word(list)) if list.contains(&word) => {}
            (Fact::Known(Answer::Flag(_)), AnswerKind::YesNo) | (Fact::Unknown | Fact::NotApplicable, _) => {}
            (Fact::Known(_), AnswerKind::Word(list)) => {
                return Err(invalid("another answer".to_owned(), words(list)));
            }
            (Fact::Known(_), AnswerKind::YesNo) => {
                return Err(invalid("another answer".to_owned(), "true or false".to_owned()));
            }
            (Fact::Known(_), AnswerKind::Quantity(range)) => {
                return Err(invalid("another answer".to_owned(), range.allowed()));
            }
        }
        *said = fact;
        Ok(())
    }
}

/// Facts about the patient.
pub fn patient() -> Answers {
    Answers::unknown(PATIENT)
}

/// Facts about the visit: what is done and used beside the route.
pub fn visit() -> Answers {
    Answers::unknown(VISIT)
}
