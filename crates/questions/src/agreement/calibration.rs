//! A marker of a practical exercise against a reference marking of the same cases, criterion by criterion.
//!
//! ```text
//! bias   mean of (marker's level - reference level), in levels; above 0 is kinder; interval by Student's t over cases
//! ```
//!
//! What to talk about first: plain faults that the marker passed over, then other differences on plain faults, then the rest, each by
//! the share of cases. A finely measured criterion never stands before a void, a drag, blood or a missed margin.

use counsel::amounts::student_quantile;
use std::collections::BTreeMap;

use libm::sqrt;
use serde::{Deserialize, Serialize};
use terms::Fact;
use thiserror::Error;

use crate::figure::{Absent, Figure, Of, enough};
use crate::rubric::Rubric;

/// Cases needed for the interval of a bias; judged: t of fewer is wider than a scale.
pub const CASES_FOR_BIAS: usize = 5;

/// Levels by case and criterion; what is not there is unknown.
pub type Marking = BTreeMap<String, BTreeMap<String, Fact<usize>>>;

/// A marking that is none of the rubric.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum CalibrationError {
    /// A criterion that the rubric does not have.
    #[error("{whose}, case {case}: given criterion \"{given}\"; allowed {}", .allowed.join(", "))]
    Criterion {
        /// Whose marking.
        whose: &'static str,
        /// Case.
        case: String,
        /// What was given.
        given: String,
        /// Criteria of the rubric.
        allowed: Vec<String>,
    },
    /// A level that the criterion does not have.
    #[error("{whose}, case {case}, {criterion}: given level {given}; allowed 0 to {most}")]
    Level {
        /// Whose marking.
        whose: &'static str,
        /// Case.
        case: String,
        /// Criterion.
        criterion: String,
        /// What was given.
        given: usize,
        /// The highest.
        most: usize,
    },
    /// A case that the reference does not have.
    #[error("given case \"{given}\"; allowed cases of the reference: {}", .allowed.join(", "))]
    Case {
        /// What was given.
        given: String,
        /// Cases of the reference.
        allowed: Vec<String>,
    },
}

/// A marker against the reference on one criterion.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Bias {
    /// Criterion.
    pub criterion: String,
    /// Whether it is a plain fault.
    pub plain_fault: bool,
    /// Cases that both have rated.
    pub both: usize,
    /// Cases of the reference that one or both have not.
    pub left_out: usize,
    /// Mean difference in levels; above 0 the marker is kinder.
    pub mean: Figure,
    /// Its interval of 95 %.
    pub interval: Figure<[f64; 2]>,
    /// Cases that the marker rated higher.
    pub over: usize,
    /// Cases that the marker rated lower.
    pub under: usize,
}

/// A marker against the reference.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Calibration {
    /// Criterion by criterion, in the order of the rubric.
    pub by_criterion: Vec<Bias>,
    /// Criteria with differences, what to talk about first in front.
    pub talk_about: Vec<String>,
}

/// Compares a marker with a reference marking.
///
/// # Errors
/// When a marking names what the rubric, or the reference, does not have.
pub fn calibrate(
    rubric: &Rubric,
    marker: &Marking,
    reference: &Marking,
) -> Result<Calibration, CalibrationError> {
    check(rubric, "reference", reference)?;
    check(rubric, "marker", marker)?;
    if let Some(case) = marker.keys().find(|case| !reference.contains_key(*case)) {
        return Err(CalibrationError::Case {
            given: case.clone(),
            allowed: reference.keys().cloned().collect(),
        });
    }
    let level = |marking: &Marking, case: &str, criterion: &str| {
        marking.get(case).and_then(|of| of.get(criterion)).and_then(|level| level.known())
    };
    let by_criterion: Vec<Bias> = rubric
        .criteria
        .iter()
        .map(|criterion| {
            let apart: Vec<f64> = reference
                .keys()
                .filter_map(|case| {
                    let given = level(marker, case, &criterion.id)?;
                    Some(given as f64 - level(reference, case, &criterion.id)? as f64)
                })
                .collect();
            Bias {
                criterion: criterion.id.clone(),
                plain_fault: criterion.plain_fault,
                both: apart.len(),
                left_out: reference.len() - apart.len(),
                mean: enough(Of::Cases, apart.len(), 1).map(|()| mean(&apart)).into(),
                interval: interval(&apart).into(),
                over: apart.iter().filter(|apart| **apart > 0.0).count(),
                under: apart.iter().filter(|apart| **apart < 0.0).count(),
            }
        })
        .collect();
    let mut differing: Vec<&Bias> = by_criterion.iter().filter(|bias| bias.over + bias.under > 0).collect();
    differing.sort_by(|a, b| rank(b).partial_cmp(&rank(a)).unwrap_or(std::cmp::Ordering::Equal));
    let talk_about = differing.into_iter().map(|bias| bias.criterion.clone()).collect();
    Ok(Calibration { by_criterion, talk_about })
}

/// What stands in front: plain fault passed over, plain fault, anything; then by share of cases.
fn rank(bias: &Bias) -> (u8, f64, f64) {
    let share = |count: usize| count as f64 / bias.both.max(1) as f64;
    let class = match (bias.plain_fault, bias.over) {
        (true, 1..) => 2,
        (true, 0) => 1,
        (false, _) => 0,
    };
    let first = if class == 2 { share(bias.over) } else { share(bias.over + bias.under) };
    (class, first, share(bias.over + bias.under))
}

fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}

fn interval(apart: &[f64]) -> Result<[f64; 2], Absent> {
    enough(Of::Cases, apart.len(), CASES_FOR_BIAS)?;
    let n = apart.len() as f64;
    let centre = mean(apart);
    let squares: f64 = apart.iter().map(|apart| (apart - centre) * (apart - centre)).sum();
    // Differences that are all the same say nothing of how the next one would differ.
    if squares <= 1e-12 {
        return Err(Absent::NoSpread { of: Of::Differences });
    }
    let t = student_quantile(apart.len() - 1, 0.975);
    let half = t * sqrt(squares / (n - 1.0) / n);
    Ok([centre - half, centre + half])
}

fn check(rubric: &Rubric, whose: &'static str, marking: &Marking) -> Result<(), CalibrationError> {
    for (case, of) in marking {
        for (id, level) in of {
            let Some(criterion) = rubric.criteria.iter().find(|criterion| criterion.id == *id) else {
                return Err(CalibrationError::Criterion {
                    whose,
                    case: case.clone(),
                    given: id.clone(),
                    allowed: rubric.criteria.iter().map(|criterion| criterion.id.clone()).collect(),
                });
            };
            if let Some(given) = level.known().filter(|level| *level >= criterion.levels.len()) {
                return Err(CalibrationError::Level {
                    whose,
                    case: case.clone(),
                    criterion: id.clone(),
                    given,
                    most: criterion.levels.len() - 1,
                });
            }
        }
    }
    Ok(())
}
