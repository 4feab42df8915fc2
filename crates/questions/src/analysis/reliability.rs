//! How far the totals would come out the same with other items like these.
//!
//! ```text
//! alpha   k/(k-1) (1 - sum of s_i^2 / s_X^2)        Cronbach 1951, Psychometrika 16:297-334
//! KR-20   k/(k-1) (1 - sum of p q / s_X^2)          Kuder & Richardson 1937, Psychometrika 2:151-160
//! KR-21   k/(k-1) (1 - M (k - M) / (k s_X^2))       there; takes the items as equally difficult
//! SEM     s_X sqrt(1 - r)                           in points of the total
//! longer  m r / (1 + (m - 1) r)                     Spearman 1910, Brown 1910; m times as long
//! length  w (1 - r) / (r (1 - w))                   how many times as long for a reliability of w
//! ```
//!
//! Every variance has n in its denominator, so that alpha of items that are right or wrong is KR-20; the variance of the totals
//! with n - 1 beside `p q` with n is a mistake often made. Formulas from memory, and checked in `checks`.
//!
//! The interval is that of Feldt (1965, Psychometrika 30:357-370): `(1 - r) F` with F of n - 1 and (n - 1)(k - 1) degrees of freedom. It
//! takes learners as drawn at random and what one item alone adds as equally spread over the items; it was made for KR-20, and needs no
//! random numbers, which a bootstrap would. Where items differ much in spread it is somewhat too narrow.

use libm::sqrt;

use super::sums::{mean, total_of, variance};
use crate::answers::Column;
use crate::figure::{Absent, Of, enough};
use crate::quantile;

/// Coverage of intervals.
pub const COVERAGE: f64 = 0.95;

/// Cronbach's alpha.
///
/// # Errors
/// When there are fewer than two items, no learners, or all totals are the same.
pub fn alpha(columns: &[&Column]) -> Result<f64, Absent> {
    enough(Of::Items, columns.len(), 2)?;
    let totals = total_of(columns);
    enough(Of::Learners, totals.len(), 2)?;
    let spread = variance(&totals);
    if spread <= super::sums::NO_SPREAD {
        return Err(Absent::NoSpread { of: Of::Totals });
    }
    let of_items: f64 = columns.iter().map(|column| variance(&column.earned)).sum();
    let k = columns.len() as f64;
    Ok(k / (k - 1.0) * (1.0 - of_items / spread))
}

/// KR-20, for items that are right or wrong.
///
/// # Errors
/// As for `alpha`, and where some answers earned a part.
pub fn kr20(columns: &[&Column]) -> Result<f64, Absent> {
    let spread = spread_of_right_or_wrong(columns)?;
    let pq: f64 = columns.iter().map(|column| mean(&column.earned)).map(|p| p * (1.0 - p)).sum();
    let k = columns.len() as f64;
    Ok(k / (k - 1.0) * (1.0 - pq / spread))
}

/// KR-21, for items that are right or wrong.
///
/// # Errors
/// As for `kr20`.
pub fn kr21(columns: &[&Column]) -> Result<f64, Absent> {
    let spread = spread_of_right_or_wrong(columns)?;
    let middle = mean(&total_of(columns));
    let k = columns.len() as f64;
    Ok(k / (k - 1.0) * (1.0 - middle * (k - middle) / (k * spread)))
}

fn spread_of_right_or_wrong(columns: &[&Column]) -> Result<f64, Absent> {
    enough(Of::Items, columns.len(), 2)?;
    if !columns.iter().all(|column| is_right_or_wrong(column)) {
        return Err(Absent::PartialCredit);
    }
    let totals = total_of(columns);
    enough(Of::Learners, totals.len(), 2)?;
    let spread = variance(&totals);
    if spread <= super::sums::NO_SPREAD { Err(Absent::NoSpread { of: Of::Totals }) } else { Ok(spread) }
}

/// Whether every answer earned all or nothing.
pub fn is_right_or_wrong(column: &Column) -> bool {
    column.earned.iter().all(|&earned| earned == 0.0 || earned == 1.0)
}

/// Standard error of measurement, in points of the total.
///
/// # Errors
/// As for `alpha`.
pub fn standard_error(columns: &[&Column]) -> Result<f64, Absent> {
    let r = alpha(columns)?;
    Ok(sqrt(variance(&total_of(columns)) * (1.0 - r)))
}

/// Alpha of the test without one of its items, item by item.
pub fn alpha_if_deleted(columns: &[&Column]) -> Vec<Result<f64, Absent>> {
    let without = |place: usize| {
        let kept = columns.iter().enumerate().filter(|(index, _)| *index != place);
        alpha(&kept.map(|(_, column)| *column).collect::<Vec<_>>())
    };
    (0..columns.len()).map(without).collect()
}

/// The interval of alpha or KR-20 `r` of `learners` and `items`: low and high end.
///
/// # Errors
/// When there are fewer than two of either.
pub fn interval(r: f64, learners: usize, items: usize) -> Result<[f64; 2], Absent> {
    enough(Of::Learners, learners, 2)?;
    enough(Of::Items, items, 2)?;
    let first = learners as f64 - 1.0;
    let second = first * (items as f64 - 1.0);
    // Beyond 10^6 degrees of freedom the quantile moves no more that could be seen.
    let [first, second] = [first, second].map(|degrees| degrees.min(1e6));
    let end = |p: f64| quantile::of_f(p, first, second).map(|f| 1.0 - (1.0 - r) * f);
    let tail = 0.5 * (1.0 - COVERAGE);
    let few = Absent::TooFew { of: Of::Learners, given: learners, needed: 2 };
    end(1.0 - tail).zip(end(tail)).map(|(low, high)| [low, high]).ok_or(few)
}

/// Reliability of a test `factor` times as long.
///
/// # Errors
/// When the factor is not above zero, or the longer test has no reliability.
pub fn spearman_brown(r: f64, factor: f64) -> Result<f64, OutOfRange> {
    within("reliability", r, "at most 1", r <= 1.0)?;
    within("factor of length", factor, "above 0 and finite", factor > 0.0)?;
    let divisor = 1.0 + (factor - 1.0) * r;
    within("reliability", r, "such that 1 + (factor - 1) r is above 0", divisor > 0.0)?;
    Ok(factor * r / divisor)
}

/// How many times as long a test must be for a wanted reliability.
///
/// # Errors
/// When the wanted one is not between 0 and 1, or the given one not above 0.
pub fn length_for(r: f64, wanted: f64) -> Result<f64, OutOfRange> {
    within("reliability", r, "above 0 and below 1", r > 0.0 && r < 1.0)?;
    within("wanted reliability", wanted, "above 0 and below 1", wanted > 0.0 && wanted < 1.0)?;
    Ok(wanted * (1.0 - r) / (r * (1.0 - wanted)))
}

/// A number outside its range.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("{name}: given {given}; allowed {allowed}")]
pub struct OutOfRange {
    /// Name.
    pub name: &'static str,
    /// What was given.
    pub given: f64,
    /// What is allowed.
    pub allowed: &'static str,
}

fn within(name: &'static str, given: f64, allowed: &'static str, holds: bool) -> Result<(), OutOfRange> {
    if holds && given.is_finite() { Ok(()) } else { Err(OutOfRange { name, given, allowed }) }
}
