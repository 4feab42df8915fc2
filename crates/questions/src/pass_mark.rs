//! Where to set a pass mark of a written exercise, by judges.
//!
//! ```text
//! Angoff    c_j = sum of p_ij over items    p_ij  chance that a learner who just passes has item i right, after judge j
//!           cut = mean of c_j;  SE = sd(c_j) / sqrt J,  sd with J - 1
//! Hofstee   line(c) = F_max - (F_max - F_min) (c - C_min) / (C_max - C_min)
//!           cut: where it meets F(c) = P(X < c), the share that would fail
//! ```
//!
//! Angoff 1971 in Educational Measurement (ed. Thorndike), 508-600, from memory; Hofstee 1983 in On Educational Testing (ed. Anderson & Helmick),
//! 109-127, from memory, with the four parameters as in F1000Research 10:450, read in extract.
//!
//! The failing curve is what was observed: a staircase, flat between scores, that steps up just above each score. Nothing is drawn
//! between the steps. Where the line passes through a step, the cut is the score of the step, and who has just that score passes. Where
//! the line runs along a flat part, the cut is the lowest of it. Both are the reading that fails fewer.

use counsel::amounts::student_quantile;
use libm::sqrt;
use serde::{Deserialize, Serialize};
use thiserror::Error;

use crate::figure::{Absent, Figure, Of, enough};

/// Learners needed before a failing curve is a curve; judged.
pub const LEARNERS_FOR_CURVE: usize = 10;

/// Input that is no judgement.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum PassMarkError {
    /// Nobody, or nothing, to judge.
    #[error("given no {of}; allowed at least one")]
    Empty {
        /// Of what.
        of: Of,
    },
    /// Too few learners.
    #[error("{0}")]
    TooFew(Absent),
    /// A judge who did not judge each item.
    #[error("judge {judge}: given {given} judgements; allowed {allowed}, one to each item")]
    Count {
        /// Judge, from 1.
        judge: usize,
        /// How many were given.
        given: usize,
        /// How many items there are.
        allowed: usize,
    },
    /// A number outside its range.
    #[error("{place}: given {what} {}; allowed {allowed}", percent(*.given))]
    OutOfRange {
        /// Judge and item, or learner, from 1.
        place: String,
        /// What it is.
        what: &'static str,
        /// What was given.
        given: f64,
        /// What is allowed.
        allowed: String,
    },
}

/// A pass mark after Angoff.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Angoff {
    /// Points of the pass mark.
    pub cut: f64,
    /// The same as a share of all points.
    pub share: f64,
    /// Sum of each judge.
    pub sums: Vec<f64>,
    /// Standard error of the cut over judges.
    pub standard_error: Figure,
    /// Its interval of 95 %, by Student's t.
    pub interval: Figure<[f64; 2]>,
    /// Item by item: mean of the judges.
    pub by_item: Vec<f64>,
    /// Item by item: standard deviation of the judges.
    pub spread: Vec<Figure>,
    /// Places of the items, those that the judges differ most on first.
    pub talk_about: Vec<usize>,
}

/// A pass mark after Angoff; `judges` by items, each a chance.
///
/// # Errors
/// When a judge did not judge each item, or a chance is none.
pub fn angoff(judges: &[Vec<f64>]) -> Result<Angoff, PassMarkError> {
    let items = judges.first().ok_or(PassMarkError::Empty { of: Of::Judges })?.len();
    if items == 0 {
        return Err(PassMarkError::Empty { of: Of::Items });
    }
    for (judge, chances) in judges.iter().enumerate() {
        if chances.len() != items {
            return Err(PassMarkError::Count { judge: judge + 1, given: chances.len(), allowed: items });
        }
        for (item, &chance) in chances.iter().enumerate() {
            let place = || format!("judge {}, item {}", judge + 1, item + 1);
            in_range(place, "chance", chance, 0.0, 1.0)?;
        }
    }
    let sums: Vec<f64> = judges.iter().map(|chances| chances.iter().sum()).collect();
    let cut = mean(&sums);
    let of_item =
        |item: usize| -> Vec<f64> { judges.iter().filter_map(|judge| judge.get(item)).copied().collect() };
    let by_item = (0..items).map(|item| mean(&of_item(item))).collect();
    let spread: Vec<Figure> = (0..items).map(|item| sd(&of_item(item)).into()).collect();
    let mut talk_about: Vec<usize> = (0..items).collect();
    // Stable: items that the judges differ equally on stay in their order.
    let of = |item: usize| spread.get(item).and_then(|figure| figure.known()).unwrap_or(0.0);
    talk_about.sort_by(|&a, &b| of(b).total_cmp(&of(a)));
    let standard_error = sd(&sums).map(|sd| sd / sqrt(judges.len() as f64));
    // Where there is an error there are two judges at the least.
    let interval = standard_error.map(|error| {
        let half = student_quantile(judges.len().saturating_sub(1).max(1), 0.975) * error;
        [(cut - half).max(0.0), (cut + half).min(items as f64)]
    });
    Ok(Angoff {
        cut,
        share: cut / items as f64,
        sums,
        standard_error: standard_error.into(),
        interval: interval.into(),
        by_item,
        spread,
        talk_about,
    })
}

/// What one judge says after Hofstee; shares of all points, and of the learners.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct HofsteeJudge {
    /// Lowest pass mark that would do, even if everybody passed.
    pub cut_least: f64,
    /// Highest pass mark that would do, even if many failed.
    pub cut_most: f64,
    /// Smallest share of failures that would do.
    pub fail_least: f64,
    /// Largest share of failures that would do.
    pub fail_most: f64,
}

/// How the judges are put together.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Centre {
    /// Their mean.
    Mean,
    /// Their median.
    Median,
}

/// A pass mark after Hofstee, or that the judges must be asked again.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", tag = "kind")]
pub enum Hofstee {
    /// The line meets the curve.
    Meets {
        /// The judges together.
        judges: HofsteeJudge,
        /// Pass mark, as a share of all points.
        cut: f64,
        /// Share of these learners that is below it.
        failing: f64,
        /// For a cut at a step of the curve: the share that would be below a pass mark just above it.
        failing_above: Option<f64>,
    },
    /// The line does not meet the curve.
    AskAgain {
        /// The judges together.
        judges: HofsteeJudge,
        /// What stands against what.
        why: NoCrossing,
    },
}

/// Why the line does not meet the curve.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, Error)]
#[serde(rename_all = "snake_case", tag = "why")]
pub enum NoCrossing {
    /// Even the lowest pass mark fails too many.
    #[error("ask again: even the lowest pass mark fails {}; at most {} would do", percent(*.failing), percent(*.allowed))]
    TooManyFail {
        /// Share below the lowest pass mark.
        failing: f64,
        /// Largest share that would do.
        allowed: f64,
    },
    /// Even the highest pass mark fails too few.
    #[error("ask again: even the highest pass mark fails {}; at least {} would do", percent(*.failing), percent(*.allowed))]
    TooFewFail {
        /// Share below the highest pass mark.
        failing: f64,
        /// Smallest share that would do.
        allowed: f64,
    },
}

/// A pass mark after Hofstee, for learners with these scores, as shares of all points.
///
/// # Errors
/// When there are too few learners, or a number is outside its range.
pub fn hofstee(scores: &[f64], judges: &[HofsteeJudge], centre: Centre) -> Result<Hofstee, PassMarkError> {
    enough(Of::Learners, scores.len(), LEARNERS_FOR_CURVE).map_err(PassMarkError::TooFew)?;
    if judges.is_empty() {
        return Err(PassMarkError::Empty { of: Of::Judges });
    }
    for (learner, &score) in scores.iter().enumerate() {
        in_range(|| format!("learner {}", learner + 1), "score", score, 0.0, 1.0)?;
    }
    for (index, judge) in judges.iter().enumerate() {
        let place = || format!("judge {}", index + 1);
        in_range(place, "lowest pass mark", judge.cut_least, 0.0, 1.0)?;
        in_range(place, "highest pass mark", judge.cut_most, judge.cut_least, 1.0)?;
        in_range(place, "smallest share of failures", judge.fail_least, 0.0, 1.0)?;
        in_range(place, "largest share of failures", judge.fail_most, judge.fail_least, 1.0)?;
    }
    let together = |of: fn(&HofsteeJudge) -> f64| {
        let values: Vec<f64> = judges.iter().map(of).collect();
        match centre {
            Centre::Mean => mean(&values),
            Centre::Median => median(values),
        }
    };
    let judges = HofsteeJudge {
        cut_least: together(|judge| judge.cut_least),
        cut_most: together(|judge| judge.cut_most),
        fail_least: together(|judge| judge.fail_least),
        fail_most: together(|judge| judge.fail_most),
    };
    if judges.cut_least >= judges.cut_most {
        return Err(PassMarkError::OutOfRange {
            place: "the judges together".to_owned(),
            what: "highest pass mark",
            given: judges.cut_most,
            allowed: format!("above the lowest, {}", percent(judges.cut_least)),
        });
    }
    Ok(crossing(scores, judges))
}

fn crossing(scores: &[f64], judges: HofsteeJudge) -> Hofstee {
    let HofsteeJudge { cut_least, cut_most, fail_least, fail_most } = judges;
    let failing = |cut: f64| scores.iter().filter(|score| **score < cut).count() as f64 / scores.len() as f64;
    let above =
        |score: f64| scores.iter().filter(|other| **other <= score).count() as f64 / scores.len() as f64;
    let line = |cut: f64| fail_most - (fail_most - fail_least) * (cut - cut_least) / (cut_most - cut_least);
    if failing(cut_least) > fail_most {
        let why = NoCrossing::TooManyFail { failing: failing(cut_least), allowed: fail_most };
        return Hofstee::AskAgain { judges, why };
    }
    // Flat parts of the curve, from the left: each ends at a score, or at the highest pass mark.
    let mut ends: Vec<f64> =
        scores.iter().copied().filter(|score| (cut_least..cut_most).contains(score)).collect();
    ends.sort_by(f64::total_cmp);
    ends.dedup();
    ends.push(cut_most);
    let mut begin = cut_least;
    for end in ends {
        // The curve on the part is what it is at its end: who is below the end is below all of it.
        let share = failing(end);
        if share >= line(end) {
            let slope = (fail_most - fail_least) / (cut_most - cut_least);
            let cut = if slope > 0.0 { cut_least + (fail_most - share) / slope } else { begin };
            return Hofstee::Meets {
                judges,
                cut: cut.clamp(begin, end),
                failing: share,
                failing_above: None,
            };
        }
        if end < cut_most && above(end) > line(end) {
            return Hofstee::Meets { judges, cut: end, failing: share, failing_above: Some(above(end)) };
        }
        begin = end;
    }
    let why = NoCrossing::TooFewFail { failing: failing(cut_most), allowed: fail_least };
    Hofstee::AskAgain { judges, why }
}

/// A share as judges state it.
fn percent(share: f64) -> String {
    let text = format!("{:.2}", 100.0 * share);
    format!("{} %", text.trim_end_matches('0').trim_end_matches('.'))
}

fn in_range(
    place: impl FnOnce() -> String,
    what: &'static str,
    given: f64,
    least: f64,
    most: f64,
) -> Result<(), PassMarkError> {
    if (least..=most).contains(&given) {
        return Ok(());
    }
    Err(PassMarkError::OutOfRange {
        place: place(),
        what,
        given,
        allowed: format!("{} to {}", percent(least), percent(most)),
    })
}

fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}

fn median(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    let half = values.len() / 2;
    if values.len() % 2 == 1 { values[half] } else { 0.5 * (values[half - 1] + values[half]) }
}

/// Standard deviation with one less than their number in the denominator.
fn sd(values: &[f64]) -> Result<f64, Absent> {
    enough(Of::Judges, values.len(), 2)?;
    let centre = mean(values);
    let squares: f64 = values.iter().map(|value| (value - centre) * (value - centre)).sum();
    Ok(sqrt(squares / (values.len() as f64 - 1.0)))
}

#[cfg(test)]
#[path = "pass_mark_tests.rs"]
mod tests;
