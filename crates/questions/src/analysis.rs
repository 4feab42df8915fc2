//! What the answers of a class say of the items and of the test.
//!
//! ```text
//! difficulty        p = mean of what was earned                                 higher is easier
//! discrimination    D, upper less lower group: `groups`
//! item and total    Pearson's r with the total (point-biserial for right or wrong), n in every denominator
//! item and rest     Pearson's r with the total of the other items               the item does not stand on both sides
//! ```
//!
//! A figure that too few answers cannot carry is absent and says so, with the number given and the number needed. How many are
//! needed is judged: see the constants. A figure that is undefined is absent too, with the reason. The interval of the difficulty
//! of an item that is right or wrong is that of Wilson (1927, J Am Stat Assoc 22:209-212), which stays inside 0 to 1 and serves small classes.

mod distractors;
mod flags;
mod groups;
mod reliability;
mod sums;

use libm::sqrt;
use serde::{Deserialize, Serialize};
use thiserror::Error;

pub use distractors::{Distractors, MORE_IN_UPPER, OptionLine, WORKS_FROM, distractors};
pub use flags::{BANDS, Band, Flag, bands, of_item, of_reliability};
pub use groups::{Groups, SHARE, discrimination, groups};
pub use reliability::{
    COVERAGE, OutOfRange, alpha, alpha_if_deleted, interval, is_right_or_wrong, kr20, kr21, length_for,
    spearman_brown, standard_error,
};

use crate::answers::Column;
use crate::figure::{Absent, Figure, Of, enough};
use crate::quantile::Z_975;
use sums::{correlation, mean, total_of, variance};

/// Learners needed for a difficulty; judged: its interval says the rest.
pub const LEARNERS_FOR_DIFFICULTY: usize = 5;
/// Learners needed for discrimination, correlations and reliability; judged: 27 % of ten are not yet three.
pub const LEARNERS_FOR_FIGURES: usize = 10;
/// Learners needed before an item is said to be good or bad; judged: of 30, one hand is less than the 5 % of a distractor.
pub const LEARNERS_FOR_WORDS: usize = 30;
/// Items needed for reliability.
pub const ITEMS_FOR_RELIABILITY: usize = 2;

/// What the answers say of one item.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ItemReport {
    /// Item.
    pub item: String,
    /// Learners who left it blank.
    pub omitted: usize,
    /// Mean of what was earned.
    pub difficulty: Figure,
    /// Its interval of 95 %.
    pub difficulty_interval: Figure<[f64; 2]>,
    /// Upper less lower group.
    pub discrimination: Figure,
    /// Correlation with the total.
    pub with_total: Figure,
    /// Correlation with the total of the other items.
    pub with_rest: Figure,
    /// Alpha of the test without it.
    pub alpha_without: Figure,
    /// Who chose which option.
    pub distractors: Result<Distractors, Absent>,
    /// What is to be looked at; absent where too few answered.
    pub flags: Result<Vec<Flag>, Absent>,
}

/// What the answers say of the test.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct TestReport {
    /// Learners.
    pub learners: usize,
    /// Items.
    pub items: usize,
    /// Mean of the totals.
    pub mean: Figure,
    /// Standard deviation of the totals, n in the denominator.
    pub sd: Figure,
    /// Cronbach's alpha.
    pub alpha: Figure,
    /// Its interval of 95 %, which is that of KR-20 too.
    pub alpha_interval: Figure<[f64; 2]>,
    /// KR-20.
    pub kr20: Figure,
    /// KR-21.
    pub kr21: Figure,
    /// Standard error of measurement, points.
    pub standard_error: Figure,
    /// What is to be said of the reliability.
    pub flags: Result<Vec<Flag>, Absent>,
    /// Item by item.
    pub by_item: Vec<ItemReport>,
}

/// Columns that are no matrix.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum MatrixError {
    /// No items, or no learners.
    #[error("given {items} items and {learners} learners; allowed at least one of each")]
    Empty {
        /// Items.
        items: usize,
        /// Learners.
        learners: usize,
    },
    /// An item with another number of learners.
    #[error("{item}: given {given} {what}; allowed {allowed}, one to each learner")]
    Count {
        /// Item.
        item: String,
        /// Of what.
        what: &'static str,
        /// How many.
        given: usize,
        /// How many there must be.
        allowed: usize,
    },
    /// Credit outside its range.
    #[error("{item}: given credit {given}; allowed 0 to 1")]
    Credit {
        /// Item.
        item: String,
        /// What was given.
        given: f64,
    },
    /// An option that the item does not have.
    #[error("{item}: given option number {given}; allowed below {allowed}")]
    Option {
        /// Item.
        item: String,
        /// Place.
        given: usize,
        /// Options.
        allowed: usize,
    },
    /// An item that was given twice.
    #[error("given item {item} more than once; allowed once")]
    Twice {
        /// Item.
        item: String,
    },
}

/// What the answers of a class say.
///
/// # Errors
/// When the columns are no matrix of credits.
pub fn analyse(columns: &[Column]) -> Result<TestReport, MatrixError> {
    let learners = checked(columns)?;
    let all: Vec<&Column> = columns.iter().collect();
    let totals = total_of(&all);
    let groups = groups(&totals, SHARE);
    let carried = |needed: usize| enough(Of::Learners, learners, needed);
    let alpha_all = carried(LEARNERS_FOR_FIGURES).and_then(|()| alpha(&all));
    let without = alpha_if_deleted(&all);
    let by_item = columns
        .iter()
        .zip(without)
        .map(|(column, without)| {
            let without = carried(LEARNERS_FOR_FIGURES).and(without);
            item_report(column, &totals, &groups, alpha_all, without)
        })
        .collect();
    let interval_of = |r: f64| interval(r, learners, columns.len());
    Ok(TestReport {
        learners,
        items: columns.len(),
        mean: carried(LEARNERS_FOR_DIFFICULTY).map(|()| mean(&totals)).into(),
        sd: carried(LEARNERS_FOR_DIFFICULTY).map(|()| sqrt(variance(&totals))).into(),
        alpha: alpha_all.into(),
        alpha_interval: alpha_all.and_then(interval_of).into(),
        kr20: carried(LEARNERS_FOR_FIGURES).and_then(|()| kr20(&all)).into(),
        kr21: carried(LEARNERS_FOR_FIGURES).and_then(|()| kr21(&all)).into(),
        standard_error: carried(LEARNERS_FOR_FIGURES).and_then(|()| standard_error(&all)).into(),
        flags: carried(LEARNERS_FOR_WORDS)
            .and(alpha_all)
            .and_then(|r| Ok(of_reliability(r, interval_of(r)?))),
        by_item,
    })
}

fn item_report(
    column: &Column,
    totals: &[f64],
    groups: &Groups,
    alpha_all: Result<f64, Absent>,
    without: Result<f64, Absent>,
) -> ItemReport {
    let learners = totals.len();
    let carried = |needed: usize| enough(Of::Learners, learners, needed);
    let difficulty = carried(LEARNERS_FOR_DIFFICULTY).map(|()| mean(&column.earned));
    let difficulty_interval = difficulty.and_then(|p| match is_right_or_wrong(column) {
        true => Ok(wilson(p, learners)),
        false => Err(Absent::PartialCredit),
    });
    let varies = || match variance(&column.earned) > sums::NO_SPREAD {
        true => Ok(()),
        false => Err(Absent::NoSpread { of: Of::ItemCredits }),
    };
    let figures = carried(LEARNERS_FOR_FIGURES);
    let spread = figures.and_then(|()| match variance(totals) > sums::NO_SPREAD {
        true => Ok(()),
        false => Err(Absent::NoSpread { of: Of::Totals }),
    });
    let told_apart = spread.and_then(|()| {
        discrimination(column, groups).ok_or(Absent::TooFew { of: Of::Learners, given: learners, needed: 1 })
    });
    let with_total = figures.and_then(|()| varies()).and_then(|()| item_total(column, totals));
    let with_rest = figures.and_then(|()| varies()).and_then(|()| item_rest(column, totals));
    let who = match &column.chosen {
        None => Err(Absent::NoOptions),
        Some(chosen) => carried(LEARNERS_FOR_FIGURES).map(|()| distractors(chosen, groups)),
    };
    let flags = carried(LEARNERS_FOR_WORDS).map(|()| {
        of_item(
            difficulty.ok(),
            difficulty_interval.ok(),
            told_apart.ok(),
            with_rest.ok(),
            without.ok().zip(alpha_all.ok()),
            who.as_ref().ok(),
        )
    });
    ItemReport {
        item: column.item.clone(),
        omitted: column.omitted.iter().filter(|omitted| **omitted).count(),
        difficulty: difficulty.into(),
        difficulty_interval: difficulty_interval.into(),
        discrimination: told_apart.into(),
        with_total: with_total.into(),
        with_rest: with_rest.into(),
        alpha_without: without.into(),
        distractors: who,
        flags,
    }
}

/// Correlation of an item with the totals.
///
/// # Errors
/// When the totals or the credits are all the same.
pub fn item_total(column: &Column, totals: &[f64]) -> Result<f64, Absent> {
    correlation(&column.earned, totals).ok_or(Absent::NoSpread { of: Of::Totals })
}

/// Correlation of an item with the totals of the other items.
///
/// # Errors
/// When these totals or the credits are all the same.
pub fn item_rest(column: &Column, totals: &[f64]) -> Result<f64, Absent> {
    let rest: Vec<f64> = totals.iter().zip(&column.earned).map(|(total, earned)| total - earned).collect();
    correlation(&column.earned, &rest).ok_or(Absent::NoSpread { of: Of::Rest })
}

/// Totals of learners over the items.
pub fn totals(columns: &[Column]) -> Vec<f64> {
    total_of(&columns.iter().collect::<Vec<_>>())
}

/// Wilson's interval of 95 % of a share `p` of `n`.
pub fn wilson(p: f64, n: usize) -> [f64; 2] {
    let n = n as f64;
    let z2 = Z_975 * Z_975;
    let centre = (p + z2 / (2.0 * n)) / (1.0 + z2 / n);
    let half = Z_975 * sqrt(p * (1.0 - p) / n + z2 / (4.0 * n * n)) / (1.0 + z2 / n);
    [(centre - half).max(0.0), (centre + half).min(1.0)]
}

/// Number of learners of a matrix.
fn checked(columns: &[Column]) -> Result<usize, MatrixError> {
    let learners = columns.first().map_or(0, |column| column.earned.len());
    if learners == 0 {
        return Err(MatrixError::Empty { items: columns.len(), learners });
    }
    let mut seen = std::collections::BTreeSet::new();
    for column in columns {
        let item = || column.item.clone();
        if !seen.insert(&column.item) {
            return Err(MatrixError::Twice { item: item() });
        }
        let counts = [
            ("credits", Some(column.earned.len())),
            ("marks of omission", Some(column.omitted.len())),
            ("choices", column.chosen.as_ref().map(|chosen| chosen.by.len())),
        ];
        for (what, given) in counts {
            match given {
                Some(given) if given != learners => {
                    return Err(MatrixError::Count { item: item(), what, given, allowed: learners });
                }
                _ => {}
            }
        }
        if let Some(given) = column.earned.iter().find(|earned| !(0.0..=1.0).contains(*earned)) {
            return Err(MatrixError::Credit { item: item(), given: *given });
        }
        if let Some(chosen) = &column.chosen {
            let allowed = chosen.options.len();
            let places = chosen.by.iter().flatten().chain(std::iter::once(&chosen.key));
            if let Some(given) = places.copied().find(|place| *place >= allowed) {
                return Err(MatrixError::Option { item: item(), given, allowed });
            }
        }
    }
    Ok(learners)
}

#[cfg(test)]
#[path = "analysis/tests.rs"]
mod tests;
