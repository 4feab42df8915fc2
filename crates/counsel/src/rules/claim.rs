//! What a claim exceeds in each sample at one point of the map.

use chain::statistics::Sorted;
use chain::{ChainError, Effort, LIKELY, Sampled};
use ledger::{Limits, Parameters};
use terms::{Instant, Link};

use super::map::Levels;
use super::rule::{Bound, Direction, Rule};

/// What the chain is asked with.
#[derive(Clone, Copy)]
pub struct Ask<'a> {
    /// The ledger.
    pub parameters: &'a Parameters,
    /// Limits.
    pub limits: &'a Limits,
    /// Samples.
    pub effort: Effort,
}

/// What a claim exceeds, one value a sample: not negative where the claim holds.
pub(super) struct Excess {
    /// Values.
    pub values: Vec<f64>,
    /// The samples of the case itself.
    pub sampled: Sampled,
}

/// Rules have no present: plans begin at nought.
const START: Instant = Instant::from_millis(0);

/// What the claim of a rule exceeds in each sample at a point in the units of the axes, with these links ideal.
pub(super) fn excess(rule: &Rule, ask: &Ask, x: f64, y: f64, ideal: &[Link]) -> Result<Excess, ChainError> {
    let ids = rule.ids();
    let sampled = |changes: &[(String, String)]| {
        let case = rule.at(x, y, changes).map_err(|problems| {
            ChainError::Invalid(terms::Invalid {
                field: format!("rule {}", rule.id),
                given: problems,
                allowed: "a case that reads".to_owned(),
            })
        })?;
        let Ask { parameters, limits, effort } = *ask;
        let (situation, route) = (&case.situation, &case.route);
        chain::sampled_ideal(situation, route, parameters, limits, effort, START, &ids, ideal)
    };
    let this = sampled(&[])?;
    let claim = &rule.claim;
    let values = this.of(&claim.quantity);
    let others: Vec<f64> = match &claim.against {
        Bound::Value(si) | Bound::Taught(_, si) => vec![*si; values.len()],
        Bound::Quantity(other) => this.of(other).to_vec(),
        Bound::Changed(changes) => sampled(changes)?.of(&claim.quantity).to_vec(),
    };
    let sign = match claim.direction {
        Direction::Less => -1.0,
        Direction::More => 1.0,
    };
    let size = |value: f64| if claim.in_size { libm::fabs(value) } else { value };
    let values = values
        .iter()
        .zip(&others)
        .map(|(&value, &other)| {
            // What does not exist bears no claim out.
            if value.is_finite() && other.is_finite() {
                sign * (size(value) - size(other)) - claim.by
            } else {
                f64::NEG_INFINITY
            }
        })
        .collect();
    Ok(Excess { values, sampled: this })
}

/// The levels of a rule at a point in the units of its axes.
///
/// # Errors
/// What the chain refuses.
pub fn levels(rule: &Rule, ask: &Ask, x: f64, y: f64) -> Result<Levels, ChainError> {
    let excess = excess(rule, ask, x, y, &[])?;
    Ok(levels_of(&excess))
}

pub(super) fn levels_of(excess: &Excess) -> Levels {
    match Sorted::new(&excess.values, &excess.sampled.weights) {
        Some(sorted) => Levels { weakest: sorted.quantile(1.0 - LIKELY), strongest: sorted.quantile(LIKELY) },
        None => Levels { weakest: f64::NEG_INFINITY, strongest: f64::INFINITY },
    }
}

/// Share of the samples in which the claim holds.
pub(super) fn share(excess: &Excess) -> f64 {
    let holds: Vec<f64> = excess.values.iter().map(|value| if *value >= 0.0 { 1.0 } else { 0.0 }).collect();
    chain::statistics::mean(&holds, &excess.sampled.weights)
}
