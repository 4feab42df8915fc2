//! How far markers of a practical exercise agree, beyond what chance gives.
//!
//! Levels are places on the criterion's scale, from 0, the worst. What nobody has rated is left out and counted; it is never read
//! as a level. Agreement is told criterion by criterion: nothing here adds criteria to one verdict on a case.

mod calibration;
mod kappa;

use serde::{Deserialize, Serialize};
use terms::Fact;
use thiserror::Error;

pub use calibration::{Bias, Calibration, CalibrationError, Marking, calibrate};
pub use kappa::{Kappa, Weights, fleiss, kappa, weights};

use crate::figure::{Absent, Figure, Of, enough};
use crate::quantile::Z_975;

/// Cases rated by all that are needed for a kappa; judged.
pub const CASES_FOR_KAPPA: usize = 10;
/// Cases that are needed for its standard error, which is that of large samples; judged.
pub const CASES_FOR_INTERVAL: usize = 30;

/// Agreement from which a kappa below `PARADOX_KAPPA` is told to be the work of prevalence; both judged, after Feinstein & Cicchetti 1990, J
/// Clin Epidemiol 43:543-549, from memory.
pub const PARADOX_AGREEMENT: f64 = 0.80;
/// See `PARADOX_AGREEMENT`.
pub const PARADOX_KAPPA: f64 = 0.40;

/// Ratings that cannot be compared.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum RatingsError {
    /// A scale that is none.
    #[error("given {given} levels; allowed 2 to 6")]
    Levels {
        /// How many.
        given: usize,
    },
    /// A level that the scale does not have.
    #[error("marker {marker}, case {case}: given level {given}; allowed 0 to {most}")]
    Level {
        /// Marker, from 1.
        marker: usize,
        /// Case, from 1.
        case: usize,
        /// What was given.
        given: usize,
        /// The highest.
        most: usize,
    },
    /// Markers with different numbers of cases.
    #[error("marker {marker}: given {given} cases; allowed {allowed}, as of the first marker")]
    Cases {
        /// Marker, from 1.
        marker: usize,
        /// How many.
        given: usize,
        /// How many there must be.
        allowed: usize,
    },
    /// Fewer than two markers.
    #[error("given {given} markers; allowed 2 or more")]
    Markers {
        /// How many.
        given: usize,
    },
    /// A table that is none, or a weight outside 0 to 1.
    #[error(
        "given {problem}; allowed a square table of 2 to 6 levels, and weights of 0 to 1 with 1 where both agree"
    )]
    Table {
        /// What is wrong.
        problem: &'static str,
    },
}

/// How far two markers agree on one criterion.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct TwoMarkers {
    /// Cases by the level of the first and of the second marker.
    pub table: Vec<Vec<usize>>,
    /// Cases that both have rated.
    pub both: usize,
    /// Cases left out because one or both have not.
    pub left_out: usize,
    /// Share of the cases with the same level.
    pub agreement: Figure,
    /// Kappa by weights.
    pub kappas: Vec<WeightedKappa>,
    /// Whether the agreement is high and kappa low because nearly all cases have one level.
    pub paradox: Option<Paradox>,
}

/// A kappa with what it is weighted by.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct WeightedKappa {
    /// Weights.
    pub weights: Weights,
    /// Kappa.
    pub kappa: Figure,
    /// Standard error.
    pub standard_error: Figure,
    /// Interval of 95 %.
    pub interval: Figure<[f64; 2]>,
}

/// High agreement and a low kappa.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Paradox {
    /// Agreement.
    pub agreement: f64,
    /// Unweighted kappa.
    pub kappa: f64,
    /// The level that is nearly everywhere.
    pub level: usize,
    /// Its share over both markers.
    pub prevalence: f64,
}

impl std::fmt::Display for Paradox {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(
            f,
            "the markers agree in {:.0} % of the cases and kappa is only {:.2}: {:.0} % of all ratings are level {}, so chance agrees often too; \
             choose cases of all levels before judging the markers",
            100.0 * self.agreement,
            self.kappa,
            100.0 * self.prevalence,
            self.level
        )
    }
}

/// How far two markers agree on one criterion with `levels` levels.
///
/// # Errors
/// When the ratings do not stand for each other, or a level is none of the scale.
pub fn two_markers(
    first: &[Fact<usize>],
    second: &[Fact<usize>],
    levels: usize,
) -> Result<TwoMarkers, RatingsError> {
    let markers = [first, second];
    checked(&markers, levels)?;
    let mut table = vec![vec![0; levels]; levels];
    let mut both = 0;
    for (a, b) in first.iter().zip(second) {
        if let (Some(a), Some(b)) = (a.known(), b.known()) {
            table[a][b] += 1;
            both += 1;
        }
    }
    let carried = enough(Of::Cases, both, CASES_FOR_KAPPA);
    let same: usize = (0..levels).map(|level| table[level][level]).sum();
    let agreement = enough(Of::Cases, both, 1).map(|()| same as f64 / both as f64);
    let of = |kind: Weights| -> Result<Result<Kappa, Absent>, RatingsError> {
        match carried {
            Ok(()) => kappa(&table, &weights(kind, levels)),
            Err(absent) => Ok(Err(absent)),
        }
    };
    let mut kappas = Vec::new();
    for kind in [Weights::None, Weights::Linear, Weights::Quadratic] {
        let found = of(kind)?;
        let error = enough(Of::Cases, both, CASES_FOR_INTERVAL).and(found).map(|kappa| kappa.standard_error);
        kappas.push(WeightedKappa {
            weights: kind,
            kappa: found.map(|kappa| kappa.value).into(),
            standard_error: error.into(),
            interval: found.and_then(|kappa| error.map(|error| interval(kappa.value, error))).into(),
        });
    }
    let paradox = agreement.ok().zip(of(Weights::None)?.ok()).and_then(|(agreement, kappa)| {
        let share = |level: usize| {
            let across: usize = (0..levels).map(|other| table[level][other] + table[other][level]).sum();
            across as f64 / (2 * both) as f64
        };
        let level = (0..levels).max_by(|&a, &b| share(a).total_cmp(&share(b)))?;
        let low = agreement >= PARADOX_AGREEMENT && kappa.value < PARADOX_KAPPA;
        low.then(|| Paradox { agreement, kappa: kappa.value, level, prevalence: share(level) })
    });
    Ok(TwoMarkers { table, both, left_out: first.len() - both, agreement: agreement.into(), kappas, paradox })
}

/// Kappa, less and more 1.96 standard errors, inside what a kappa can be.
fn interval(kappa: f64, error: f64) -> [f64; 2] {
    [(kappa - Z_975 * error).max(-1.0), (kappa + Z_975 * error).min(1.0)]
}

/// How far more than two markers agree on one criterion.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct ManyMarkers {
    /// Cases that all have rated.
    pub all: usize,
    /// Cases left out because somebody has not.
    pub left_out: usize,
    /// Share of the pairs of markers with the same level.
    pub agreement: Figure,
    /// Fleiss' kappa.
    pub kappa: Figure,
}

/// How far two or more markers agree on one criterion; each marker has one entry for each case.
///
/// # Errors
/// When the ratings do not stand for each other, or a level is none of the scale.
pub fn many_markers(markers: &[&[Fact<usize>]], levels: usize) -> Result<ManyMarkers, RatingsError> {
    checked(markers, levels)?;
    let cases = markers.first().map_or(0, |first| first.len());
    let mut counts: Vec<Vec<usize>> = Vec::new();
    for case in 0..cases {
        let rated: Vec<usize> = markers.iter().filter_map(|marker| marker.get(case)?.known()).collect();
        if rated.len() == markers.len() {
            let mut of = vec![0; levels];
            for level in rated {
                of[level] += 1;
            }
            counts.push(of);
        }
    }
    let found = enough(Of::Cases, counts.len(), CASES_FOR_KAPPA).and_then(|()| fleiss(&counts));
    Ok(ManyMarkers {
        all: counts.len(),
        left_out: cases - counts.len(),
        agreement: enough(Of::Cases, counts.len(), 1).map(|()| kappa::pairs_alike(&counts)).into(),
        kappa: found.into(),
    })
}

fn checked(markers: &[&[Fact<usize>]], levels: usize) -> Result<(), RatingsError> {
    if !(2..=6).contains(&levels) {
        return Err(RatingsError::Levels { given: levels });
    }
    if markers.len() < 2 {
        return Err(RatingsError::Markers { given: markers.len() });
    }
    let allowed = markers.first().map_or(0, |first| first.len());
    for (index, marker) in markers.iter().enumerate() {
        if marker.len() != allowed {
            return Err(RatingsError::Cases { marker: index + 1, given: marker.len(), allowed });
        }
        for (case, rating) in marker.iter().enumerate() {
            if let Some(given) = rating.known().filter(|level| *level >= levels) {
                return Err(RatingsError::Level {
                    marker: index + 1,
                    case: case + 1,
                    given,
                    most: levels - 1,
                });
            }
        }
    }
    Ok(())
}

#[cfg(test)]
#[path = "agreement/tests.rs"]
mod tests;
