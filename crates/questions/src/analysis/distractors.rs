//! Who chose which option.
//!
//! An option that is not the key works when at least 5 % of the learners choose it (Tarrant, Ware & Mohammed 2009, BMC Med Educ 9:40, from memory; BMC Med Educ
//! 2024;24:445, read in extract). One that the upper group chooses more than the lower is looked at: it may be right, or the key wrong.

use serde::{Deserialize, Serialize};

use super::groups::Groups;
use crate::answers::Chosen;

/// Share of the learners from which a distractor works.
pub const WORKS_FROM: f64 = 0.05;

/// By how many learners the upper group must exceed the lower before a distractor is flagged; judged: less is one hand.
pub const MORE_IN_UPPER: f64 = 1.0;

/// One option, and who chose it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct OptionLine {
    /// Option.
    pub id: String,
    /// Whether it is the key.
    pub key: bool,
    /// Learners who chose it.
    pub count: usize,
    /// Share of all learners.
    pub share: f64,
    /// Learners of the upper group who chose it; parts where learners are tied.
    pub upper: f64,
    /// Learners between the groups.
    pub middle: f64,
    /// Learners of the lower group.
    pub lower: f64,
    /// For a distractor: whether at least 5 % chose it.
    pub works: Option<bool>,
    /// For a distractor: whether the upper group chose it more.
    pub more_in_upper: Option<bool>,
}

/// The options of an item, and who chose them.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Distractors {
    /// Options in the order in which they are shown.
    pub options: Vec<OptionLine>,
    /// Learners who chose nothing.
    pub blank: usize,
    /// Distractors that work, of all.
    pub working: [usize; 2],
}

/// Who chose which option.
pub fn distractors(chosen: &Chosen, groups: &Groups) -> Distractors {
    let learners = chosen.by.len();
    let line = |(place, id): (usize, &String)| {
        let mut line = OptionLine {
            id: id.clone(),
            key: place == chosen.key,
            count: 0,
            share: 0.0,
            upper: 0.0,
            middle: 0.0,
            lower: 0.0,
            works: None,
            more_in_upper: None,
        };
        for ((by, upper), lower) in chosen.by.iter().zip(&groups.upper).zip(&groups.lower) {
            if *by == Some(place) {
                line.count += 1;
                line.upper += upper;
                line.lower += lower;
                line.middle += 1.0 - upper - lower;
            }
        }
        line.share = line.count as f64 / learners.max(1) as f64;
        if !line.key {
            line.works = Some(line.share >= WORKS_FROM);
            // A whole learner in parts is a little less.
            line.more_in_upper = Some(line.upper - line.lower >= MORE_IN_UPPER - 1e-9);
        }
        line
    };
    let options: Vec<OptionLine> = chosen.options.iter().enumerate().map(line).collect();
    let working = options.iter().filter(|line| line.works == Some(true)).count();
    let all = options.iter().filter(|line| !line.key).count();
    let blank = chosen.by.iter().filter(|by| by.is_none()).count();
    Distractors { options, blank, working: [working, all] }
}
