//! Named numbers of a route, one value a sample.
//!
//! A forecast says what is known of one case. A rule or a question asks whether something holds *in each sample*: two routes asked with the same
//! effort share their random numbers, so that the n-th value of one stands beside the n-th value of the other.

use ledger::{Limits, Parameters};
use terms::{Instant, Invalid, Link, Route, Situation};

use crate::contact;
use crate::course::{Course, Pours, Premises};
use crate::error::ChainError;
use crate::judge;
use crate::mouth::HORIZON_S;
use crate::pouring;
use crate::quantities::{self, Raw};
use crate::report::Contribution;
use crate::roots::Root;
use crate::samples::{self, Effort, Sample};
use crate::space::Space;

/// One number, a value a sample in index order; infinite where it does not exist.
#[derive(Clone, Debug, PartialEq)]
pub struct Series {
    /// Identifier.
    pub id: &'static str,
    /// In words.
    pub words: &'static str,
    /// SI unit.
    pub si_unit: &'static str,
    /// Values.
    pub values: Vec<f64>,
}

/// What was asked of a route.
pub struct Sampled {
    /// Weight of each sample; without readings all weigh the same.
    pub weights: Vec<f64>,
    /// The numbers in the order in which they were asked for.
    pub values: Vec<Series>,
    space: Space,
    samples: Vec<Sample>,
}

impl Sampled {
    /// The values of a number; empty when it was not asked for.
    pub fn of(&self, id: &str) -> &[f64] {
        self.values.iter().find(|series| series.id == id).map_or(&[], |series| &series.values)
    }

    /// Root causes by their first-order share of the variance of `values`, one a sample; the largest first.
    pub fn causes(&self, values: &[f64]) -> Vec<Contribution> {
        quantities::contributions(values, &self.space, &self.samples, &self.weights)
    }

    /// Keys of the ledger rows that any sample was drawn from, in order, each once.
    pub fn keys(&self) -> Vec<String> {
        let mut keys: Vec<String> = self.space.entries().iter().map(|entry| entry.key.clone()).collect();
        keys.sort();
        keys.dedup();
        keys
    }
}

/// What a number gains from one case to another, sample by sample; what is infinite in both has not changed.
pub fn gains(before: &[f64], after: &[f64]) -> Vec<f64> {
    before
        .iter()
        .zip(after)
        .map(|(&before, &after)| if before == after { 0.0 } else { after - before })
        .collect()
}

/// The shares in which gains are less, nothing that matters, and more: what is at least `by` either way matters, and nothing at all never does.
pub fn turned(gains: &[f64], by: f64) -> [f64; 3] {
    let total = gains.len().max(1) as f64;
    let share =
        |side: f64| gains.iter().filter(|gain| **gain * side >= by && **gain != 0.0).count() as f64 / total;
    let (less, more) = (share(-1.0), share(1.0));
    [less, (1.0 - less - more).max(0.0), more]
}

/// Whether a number can be known before the impression is removed.
fn is_early(id: &str) -> bool {
    ["mix.", "window.mix.", "window.seat.", "bowl.", "window.remove.", "ready.", "sol.", "film.", "heat."]
        .iter()
        .any(|start| id.starts_with(start))
}

/// Numbers that can be asked for. Those of spans, margins and dies exist where the case has one, those of baths and films where the route does.
pub const IDS: &[&str] = &[
    "die.diameter",
    "die.height",
    "span",
    "span.share",
    "fit.opening",
    "fit.wall_space",
    "fit.loose",
    "fit.step",
    "fit.misfit",
    "mix.temperature",
    "window.mix.closes",
    "window.seat.closes",
    "bowl.set",
    "window.remove.opens",
    "sol.least",
    "sol.core",
    "sol.boil",
    "film.gelled",
    "heat.contact",
    "heat.pulp_rise",
    "access.captured",
    "access.width",
    "access.uncovered",
    "removed.temperature",
    "mass.change",
    "strain.holding",
    "strain.cure",
    "strain.thermal",
    "strain.rewarming",
    "removal.strain",
    "removal.force",
    "removal.at_die",
    "removal.web_tear",
    "separation.break",
    "stone.growth",
    "window.separate.opens",
    "window.pour.opens",
    "window.pour.closes",
    "verdict.margin",
    "verdict.usable",
    "ready.from_mix",
];

/// The numbers `ids` of a route without stamps, a value a sample.
///
/// # Errors
/// Those of [`crate::forecast`]; an identifier that the case does not have.
pub fn sampled(
    situation: &Situation,
    route: &Route,
    parameters: &Parameters,
    limits: &Limits,
    effort: Effort,
    now: Instant,
    ids: &[&str],
) -> Result<Sampled, ChainError> {
    sampled_ideal(situation, route, parameters, limits, effort, now, ids, &[])
}

/// The same, with these links ideal in all that is measured on the die, the span and the restoration, and in what is judged.
///
/// # Errors
/// As for [`sampled`].
#[allow(clippy::too_many_arguments, reason = "a plan's, and what is asked of it")]
pub fn sampled_ideal(
    situation: &Situation,
    route: &Route,
    parameters: &Parameters,
    limits: &Limits,
    effort: Effort,
    now: Instant,
    ids: &[&str],
    ideal: &[Link],
) -> Result<Sampled, ChainError> {
    let premises = Premises::of(situation, route, &[], &[], parameters, limits, now)?;
    let effort = Effort::of_points(effort.points);
    let (samples, raw) = if ids.iter().all(|id| is_early(id)) {
        let samples = samples::to_removal(&premises.setup(), effort.points, |_| false)?;
        let mut raw = quantities::before_removal(&samples, premises.constants.loading_s);
        raw.push(ready(&samples));
        (samples, raw)
    } else {
        to_the_end(&premises, effort, ids.contains(&"window.pour.closes"), ideal)?
    };
    let weights = vec![1.0; samples.len()];
    let mut values = Vec::with_capacity(ids.len());
    for &id in ids {
        let Some(found) = raw.iter().find(|raw| raw.id == id) else {
            let has: Vec<&str> = raw.iter().map(|raw| raw.id).collect();
            return Err(ChainError::Invalid(Invalid {
                field: "quantity".to_owned(),
                given: id.to_owned(),
                allowed: format!("one of {}", has.join(", ")),
            }));
        };
        let Raw { id, words, si_unit, values: ref of_samples } = *found;
        values.push(Series { id, words, si_unit, values: of_samples.clone() });
    }
    Ok(Sampled { weights, values, space: premises.space, samples })
}

/// Every number of a plan that is followed to the judged sizes.
fn to_the_end(
    premises: &Premises,
    effort: Effort,
    needs_curve: bool,
    ideal: &[Link],
) -> Result<(Vec<Sample>, Vec<Raw>), ChainError> {
    let Premises { situation, route, limits, constants, space, .. } = premises;
    let setup = premises.setup();
    let pours = if needs_curve { Pours::Curve } else { Pours::Planned };
    let course = Course::of(premises, &setup, effort, pours)?;
    let Course { samples, kept, pour, times_s, weights, .. } = &course;
    let left_s = if needs_curve {
        pouring::curve(&setup, samples, kept, &weights.values, limits, times_s)?.left_s
    } else {
        Vec::new()
    };
    let sizes = match ideal {
        [] => course.sizes.clone(),
        _ => samples::sizes(&setup, samples, kept, *pour, ideal)?,
    };
    let scope = quantities::Scope {
        pour: *pour,
        has_die: situation.purpose.has_die(),
        has_span: !space.entry(Root::Span).distribution.is_exact(),
        loading_s: constants.loading_s,
    };
    let mut raw = quantities::raw(samples, kept, &sizes, &scope);
    let disinfected_s = contact::disinfected_after_s(route);
    let opens_s = samples.iter().map(|sample| sample.draw[Root::GasTime].max(disinfected_s)).collect();
    let margins: Vec<f64> = sizes.iter().map(|sizes| judge::margin(setup.purpose, sizes, limits)).collect();
    let usable =
        kept.iter().zip(&margins).map(|(kept, margin)| judge::usable(kept, *margin, ideal)).collect();
    raw.extend(quantities::judged(scope.has_die, opens_s, left_s, margins));
    if !needs_curve {
        raw.retain(|raw| raw.id != "window.pour.closes");
    }
    raw.push(ready(samples));
    raw.push(Raw {
        id: "verdict.usable",
        words: "chance that the result is usable",
        si_unit: "1",
        values: usable,
    });
    Ok((course.samples, raw))
}

/// Ready for removal on the clock that starts with mixing, as most of what is taught counts.
fn ready(samples: &[Sample]) -> Raw {
    Raw {
        id: "ready.from_mix",
        words: "ready for removal, from the start of mixing",
        si_unit: "s",
        values: samples
            .iter()
            .map(|sample| sample.mouth.seat_s + sample.mouth.ready_after_seat_s.min(HORIZON_S))
            .collect(),
    }
}

#[cfg(test)]
mod tests {
    use super::{gains, turned};

    #[test]
    fn what_matters_is_counted_on_its_side() {
        assert_eq!(turned(&[-10.0, -9.9, 0.0, 10.0], 10.0), [0.25, 0.5, 0.25]);
        assert_eq!(turned(&[-1e-9, 0.0, 1e-9, f64::INFINITY], 0.0), [0.25, 0.25, 0.5]);
        assert_eq!(
            gains(&[f64::INFINITY, 1.0, 1.0], &[f64::INFINITY, 3.0, f64::INFINITY]),
            [0.0, 2.0, f64::INFINITY]
        );
        assert_eq!(turned(&[], 1.0), [0.0, 1.0, 0.0]);
    }
}
