//! Sets of questions and practicals, each a history of its own: what was set, what was answered, what markers saw. Learners have codes and markers
//! initials; no name is kept.

use std::collections::{BTreeMap, BTreeSet};

use terms::{CaseCode, Invalid};

use crate::entry::{EntryId, What};
use crate::replay::Kept;

/// Letters of the codes that no case has: the book of the clinic, sets and practicals.
const RESERVED: [&str; 3] = ["BOOK", "SET", "PRAC"];

/// Whether a code is kept for the book of the clinic, a set or a practical.
pub fn is_reserved(code: &CaseCode) -> bool {
    RESERVED.contains(&letters(code))
}

fn letters(code: &CaseCode) -> &str {
    code.as_str().split_once('-').map_or("", |(letters, _)| letters)
}

/// A learner's code.
///
/// # Errors
/// Anything else, so that no name is kept.
pub fn check_learner(text: &str) -> Result<(), Invalid> {
    if terms::is_learner(text) {
        return Ok(());
    }
    Err(Invalid {
        field: "learner".to_owned(),
        given: format!("{text:?}"),
        allowed: terms::LEARNER_ALLOWED.to_owned(),
    })
}

/// A set of questions as its history leaves it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct SetBook {
    /// The set as it was composed; the first counts, because answers were given to it.
    pub document: Option<String>,
    /// Answers as they were written, by learner and item; the last counts.
    pub answers: BTreeMap<(String, String), (EntryId, String)>,
    /// Items that are taken out of the marking, with the reason; the last word counts.
    pub voided: BTreeMap<String, String>,
    /// Learners who were shown their marks, after which they answer no more.
    pub shown: BTreeSet<String>,
    /// What judges expect of a learner who only just passes, by judge and item: a share; the last counts.
    pub expected: BTreeMap<(String, String), f64>,
    /// Entries.
    pub entries: u64,
}

impl SetBook {
    /// Letters of the code of a set.
    pub const LETTERS: &'static str = "SET";

    /// Whether a code is that of a set.
    pub fn is(code: &CaseCode) -> bool {
        letters(code) == SetBook::LETTERS
    }

    /// The set as a history leaves it. What does not belong here changes nothing.
    pub fn replay(history: &[Kept]) -> SetBook {
        let mut book = SetBook::default();
        for Kept { entry, number, .. } in history {
            book.entries = *number;
            if entry.what.check().is_err() {
                continue;
            }
            match &entry.what {
                What::Composed { document } if book.document.is_none() => {
                    book.document = Some(document.clone())
                }
                What::Answered { learner, item, response } => {
                    book.answers.insert((learner.clone(), item.clone()), (entry.id, response.clone()));
                }
                What::Voided { item, reason: Some(reason) } => {
                    book.voided.insert(item.clone(), reason.clone());
                }
                What::Voided { item, reason: None } => {
                    book.voided.remove(item);
                }
                What::MarksShown { learner } => {
                    book.shown.insert(learner.clone());
                }
                What::Expected { judge, item, share } => {
                    book.expected.insert((judge.clone(), item.clone()), *share);
                }
                What::TakenBack { entry } => book.answers.retain(|_, (id, _)| id != entry),
                _ => {}
            }
        }
        book
    }

    /// Learners who answered anything, in order.
    pub fn learners(&self) -> BTreeSet<&str> {
        self.answers.keys().map(|(learner, _)| learner.as_str()).collect()
    }
}

/// A practical as its history leaves it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct PracticalBook {
    /// Name of its rubric and what it is about; the first counts.
    pub opened: Option<(String, String)>,
    /// Levels by learner, marker and criterion; none where the marker could not see it. The last counts.
    pub ratings: BTreeMap<(String, String, String), Option<u32>>,
    /// Entries.
    pub entries: u64,
}

impl PracticalBook {
    /// Letters of the code of a practical.
    pub const LETTERS: &'static str = "PRAC";

    /// Whether a code is that of a practical.
    pub fn is(code: &CaseCode) -> bool {
        letters(code) == PracticalBook::LETTERS
    }

    /// The practical as a history leaves it.
    pub fn replay(history: &[Kept]) -> PracticalBook {
        let mut book = PracticalBook::default();
        for Kept { entry, number, .. } in history {
            book.entries = *number;
            if entry.what.check().is_err() {
                continue;
            }
            match &entry.what {
                What::PracticalOpened { rubric, about } if book.opened.is_none() => {
                    book.opened = Some((rubric.clone(), about.clone()));
                }
                What::Rated { learner, marker, criterion, level } => {
                    book.ratings.insert((learner.clone(), marker.clone(), criterion.clone()), *level);
                }
                _ => {}
            }
        }
        book
    }

    /// Markers who rated anything, in order.
    pub fn markers(&self) -> BTreeSet<&str> {
        self.ratings.keys().map(|(_, marker, _)| marker.as_str()).collect()
    }

    /// Learners whose work was rated, in order.
    pub fn learners(&self) -> BTreeSet<&str> {
        self.ratings.keys().map(|(learner, _, _)| learner.as_str()).collect()
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test stops where its premise fails")]

    use super::*;
    use crate::{Entry, Moment, Seal};
    use terms::Instant;

    fn kept(number: u64, what: What) -> Kept {
        let moment =
            Moment { wall: Instant::from_millis(1_800_000_000_000), boot: None, since_boot_ms: None };
        let entry = Entry {
            id: EntryId::from_bits(number.into()),
            case: CaseCode::new("SET-0007").unwrap(),
            at: moment,
            what,
        };
        Kept { entry, number, seal: Seal::EMPTY }
    }

    fn answered(learner: &str, response: &str) -> What {
        What::Answered { learner: learner.to_owned(), item: "t.1".to_owned(), response: response.to_owned() }
    }

    #[test]
    fn the_first_set_and_the_last_answer_count() {
        let history = [
            kept(1, What::Composed { document: "one".to_owned() }),
            kept(2, answered("S-01", "a")),
            kept(3, What::Composed { document: "two".to_owned() }),
            kept(4, answered("S-01", "b")),
            kept(5, answered("S-02", "a")),
            kept(6, What::TakenBack { entry: EntryId::from_bits(5) }),
            kept(7, answered("Anna", "a")),
            kept(8, What::MarksShown { learner: "S-01".to_owned() }),
            kept(9, What::MarksShown { learner: "Anna".to_owned() }),
            kept(10, What::Voided { item: "t.1".to_owned(), reason: Some("two keys".to_owned()) }),
            kept(11, What::Voided { item: "t.2".to_owned(), reason: Some("not taught".to_owned()) }),
            kept(12, What::Voided { item: "t.2".to_owned(), reason: None }),
            kept(13, What::Voided { item: "t.3".to_owned(), reason: Some(String::new()) }),
        ];
        let book = SetBook::replay(&history);
        assert_eq!(book.document.as_deref(), Some("one"));
        assert_eq!(book.learners().into_iter().collect::<Vec<_>>(), ["S-01"]);
        assert_eq!(book.answers.values().next().unwrap().1, "b");
        assert_eq!(book.shown.iter().collect::<Vec<_>>(), ["S-01"]);
        assert_eq!(book.voided.iter().collect::<Vec<_>>(), [(&"t.1".to_owned(), &"two keys".to_owned())]);
    }

    #[test]
    fn what_a_marker_could_not_see_is_kept_as_that() {
        let rated = |marker: &str, level| What::Rated {
            learner: "S-01".to_owned(),
            marker: marker.to_owned(),
            criterion: "void".to_owned(),
            level,
        };
        let opened = What::PracticalOpened { rubric: "impression".to_owned(), about: "demo".to_owned() };
        let history = [kept(1, opened), kept(2, rated("AB", Some(2))), kept(3, rated("CD", None))];
        let book = PracticalBook::replay(&history);
        assert_eq!(book.markers().into_iter().collect::<Vec<_>>(), ["AB", "CD"]);
        assert_eq!(book.ratings.values().copied().collect::<Vec<_>>(), [Some(2), None]);
        assert!(rated("Anna", None).check().is_err());
    }

    #[test]
    fn no_case_has_a_code_of_a_set() {
        let of = |text: &str| is_reserved(&CaseCode::new(text).unwrap());
        assert!(of("SET-0001") && of("PRAC-01") && of("BOOK-00"));
        assert!(!of("TW-0007") && !of("SE-01"));
    }
}
