//! What a claim exceeds in each sample at one point of the map.

use chain::statistics::Sorted;
use chain::{ChainError, Effort, LIKELY, Sampled};
use ledger::{Limits, Parameters};
use terms::{Instant, Link};

use super::map::{Levels, Standing};
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

/// What a claim makes of each sample.
pub(super) struct Excess {
    /// Of a bound, by how much it is kept: not negative where the claim holds. Of two cases, what the first has more of in the direction of
    /// the claim.
    pub values: Vec<f64>,
    /// Of two cases, the least difference that matters.
    pub matters: Option<f64>,
    /// The samples of the case itself.
    pub sampled: Sampled,
}

/// Rules have no present: plans begin at nought.
const START: Instant = Instant::from_millis(0);

/// Shares of the samples by what a claim makes of them; they sum to one.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct Shares {
    /// As the claim says.
    pub holds: f64,
    /// The difference is too small to matter; nothing of a claim about a bound.
    pub slight: f64,
    /// The opposite, or a bound that is not kept.
    pub fails: f64,
}

impl Shares {
    /// How a claim with these shares stands.
    pub fn standing(self) -> Standing {
        match self {
            Shares { holds, .. } if holds >= LIKELY => Standing::Holds,
            Shares { fails, .. } if fails >= LIKELY => Standing::Fails,
            Shares { slight, .. } if slight >= LIKELY => Standing::Slight,
            _ => Standing::CannotTell,
        }
    }
}

/// What the claim of a rule makes of each sample at a point in the units of the axes, with these links ideal.
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
    let sign = match claim.direction {
        Direction::Less => -1.0,
        Direction::More => 1.0,
    };
    let size = |value: &f64| if claim.in_size { libm::fabs(*value) } else { *value };
    let values: Vec<f64> = values.iter().map(size).collect();
    // What does not exist keeps no bound.
    let kept = |value: f64, bound: f64| {
        if value.is_finite() && bound.is_finite() {
            sign * (value - bound) - claim.by
        } else {
            f64::NEG_INFINITY
        }
    };
    let (values, matters) = match &claim.against {
        Bound::Value(si) | Bound::Taught(_, si) => {
            let bound = size(si);
            (values.iter().map(|value| kept(*value, bound)).collect(), None)
        }
        Bound::Quantity(other) => {
            let pairs = values.iter().zip(this.of(other));
            (pairs.map(|(value, other)| kept(*value, size(other))).collect(), None)
        }
        Bound::Changed(changes) => {
            let other: Vec<f64> = sampled(changes)?.of(&claim.quantity).iter().map(size).collect();
            let gains = chain::gains(&other, &values);
            (gains.iter().map(|gain| sign * gain).collect(), Some(claim.by))
        }
    };
    Ok(Excess { values, matters, sampled: this })
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
    let Excess { values, matters, sampled } = excess;
    let exceeded = |margin: &dyn Fn(f64) -> f64, by: f64| {
        let margins: Vec<f64> = values.iter().map(|value| margin(*value)).collect();
        Sorted::new(&margins, &sampled.weights).map(|sorted| sorted.quantile(by))
    };
    let weakest = 1.0 - LIKELY;
    let levels = match *matters {
        None => exceeded(&|value| value, weakest)
            .zip(exceeded(&|value| value, LIKELY))
            .map(|(weakest, strongest)| Levels::of_bound(weakest, strongest)),
        Some(by) => {
            // Nothing at all never matters.
            let beyond =
                move |gain: f64| if gain == 0.0 && by == 0.0 { -f64::MIN_POSITIVE } else { gain - by };
            let (holds, fails) = (exceeded(&beyond, weakest), exceeded(&|gain| beyond(-gain), weakest));
            let slight = exceeded(&|gain| by - libm::fabs(gain), weakest);
            holds.zip(fails).zip(slight).map(|((holds, fails), slight)| Levels { holds, slight, fails })
        }
    };
    levels.unwrap_or(Levels::NONE)
}

/// The shares of a rule at a point in the units of its axes.
///
/// # Errors
/// What the chain refuses.
pub fn shares(rule: &Rule, ask: &Ask, x: f64, y: f64) -> Result<Shares, ChainError> {
    Ok(shares_of(&excess(rule, ask, x, y, &[])?))
}

pub(super) fn shares_of(excess: &Excess) -> Shares {
    match excess.matters {
        Some(by) => {
            let [fails, slight, holds] = chain::turned(&excess.values, by);
            Shares { holds, slight, fails }
        }
        None => {
            let kept: Vec<f64> =
                excess.values.iter().map(|value| if *value >= 0.0 { 1.0 } else { 0.0 }).collect();
            let holds = chain::statistics::mean(&kept, &excess.sampled.weights);
            Shares { holds, slight: 0.0, fails: 1.0 - holds }
        }
    }
}
