//! Means, variances and correlations with n in the denominator.

use libm::sqrt;

use crate::answers::Column;

/// A variance of credits at or below this is rounding.
pub(super) const NO_SPREAD: f64 = 1e-18;

pub(super) fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}

pub(super) fn variance(values: &[f64]) -> f64 {
    let centre = mean(values);
    values.iter().map(|value| (value - centre) * (value - centre)).sum::<f64>() / values.len() as f64
}

/// Pearson's correlation; none where one of the two does not vary.
pub(super) fn correlation(a: &[f64], b: &[f64]) -> Option<f64> {
    let (of_a, of_b) = (variance(a), variance(b));
    if of_a <= NO_SPREAD || of_b <= NO_SPREAD {
        return None;
    }
    let (centre_a, centre_b) = (mean(a), mean(b));
    let both: f64 = a.iter().zip(b).map(|(a, b)| (a - centre_a) * (b - centre_b)).sum();
    Some((both / a.len() as f64 / sqrt(of_a * of_b)).clamp(-1.0, 1.0))
}

/// The total of each learner over some items.
pub(super) fn total_of(columns: &[&Column]) -> Vec<f64> {
    let learners = columns.first().map_or(0, |column| column.earned.len());
    (0..learners)
        .map(|learner| columns.iter().filter_map(|column| column.earned.get(learner)).sum())
        .collect()
}
