//! What a route is worth, for comparing routes: the same samples and models as a forecast, and less said.

use ledger::{Limits, Parameters};
use terms::{Action, Bound, Instant, Observation, Route, Situation, Stamp};

use crate::contact;
use crate::course::{Course, Pours, Premises};
use crate::error::ChainError;
use crate::readings::as_read;
use crate::report::Conditioning;
use crate::samples::{self, Effort, RANDOMISATIONS};
use crate::space::Entry;
use crate::speech::{Facts, span};
use crate::statistics::{Probability, mean, probability};
use crate::windows::Origins;

/// What a route is worth in a situation.
#[derive(Clone, Debug, PartialEq)]
pub struct Outlook {
    /// Probability that the result is usable.
    pub chance: Probability,
    /// Probability that every margin is captured; none where there is no margin.
    pub captured: Option<f64>,
    /// Probability that the rest serves, given captured margins.
    pub fits: f64,
    /// The tray in place to its removal, s.
    pub in_mouth_s: f64,
    /// Start of mixing to removal, s.
    pub mix_to_removal_s: f64,
    /// Removal to pouring, s.
    pub kept_s: f64,
    /// What takes *likely* away although no figure counts it.
    pub in_the_way: Vec<String>,
    /// Probability of each sample; the samples of two routes share their random numbers.
    pub usable: Vec<f64>,
    /// Dimensions of the roots whose values are remembered or assumed; [`samples::coordinates`] has their places.
    pub weak: Vec<usize>,
    /// Dimensions of all roots that are sampled.
    pub sampled: Vec<usize>,
    /// Weights of the samples under the readings.
    pub weights: Vec<f64>,
}

/// The outlook of a route. Arguments and errors are those of [`crate::forecast`].
///
/// # Errors
/// An input outside its range, materials that do not go together, or a value missing from the ledger.
#[allow(clippy::too_many_arguments, reason = "the same eight as a forecast")]
pub fn outlook(
    situation: &Situation,
    route: &Route,
    stamps: &[Stamp],
    observations: &[Observation],
    parameters: &Parameters,
    limits: &Limits,
    effort: Effort,
    now: Instant,
) -> Result<Outlook, ChainError> {
    let read = as_read(situation, route, stamps, observations)?;
    let (situation, route): (&Situation, &Route) = (&read.situation, &read.route);
    let premises = Premises::of(situation, route, stamps, observations, parameters, limits, now)?;
    let setup = premises.setup();
    let course = Course::of(&premises, &setup, Effort::of_points(effort.points), Pours::Planned)?;
    of_course(&premises, &course, &captured_of(&course))
}

/// The outlooks of a route without stamps and of others that differ from it in displacement, order of the cords and medicament alone: the
/// samples are run once, and only the margins are asked again. Each is what [`outlook`] says of it, bit for bit.
///
/// # Errors
/// As for [`outlook`]; each of the others has its own.
pub fn outlooks(
    first: (&Situation, &Route),
    others: &[(&Situation, &Route)],
    parameters: &Parameters,
    limits: &Limits,
    effort: Effort,
    now: Instant,
) -> Result<(Outlook, Vec<Result<Outlook, ChainError>>), ChainError> {
    let of = |(situation, route)| Premises::of(situation, route, &[], &[], parameters, limits, now);
    let premises = of(first)?;
    let effort = Effort::of_points(effort.points);
    let course = Course::of(&premises, &premises.setup(), effort, Pours::Planned)?;
    let outlook = of_course(&premises, &course, &captured_of(&course))?;
    let mut list = Vec::with_capacity(others.len());
    for other in others {
        list.push(of(*other).and_then(|other| {
            let captured =
                samples::captured(&other.setup(), &premises.space, effort.points, &course.samples)?;
            of_course(&other, &course, &captured)
        }));
    }
    Ok((outlook, list))
}

/// Planned moments that break a printed limit, in words. No comparison may loosen one.
fn against_print(premises: &Premises, origins: Origins) -> Vec<String> {
    let sayings = premises.sayings(origins);
    let mut said: Vec<String> = Vec::new();
    for (action, planned_s) in [
        (Action::Seat, origins.seated_s),
        (Action::Remove, origins.removed_s),
        (Action::Pour, origins.poured_s),
    ] {
        for bound in [Bound::Minimum, Bound::Maximum] {
            for limit in sayings.instructed(action, bound) {
                let printed_s = origins.start_s(limit.origin) + limit.seconds;
                let off_s = match bound {
                    Bound::Minimum => printed_s - planned_s,
                    Bound::Maximum => planned_s - printed_s,
                };
                let side = if bound == Bound::Minimum { "before" } else { "after" };
                // Moments are planned in whole seconds.
                if off_s >= 1.0 {
                    said.push(format!(
                        "the plan to {action} lies {} {side} what {} prints",
                        span(off_s),
                        limit.product
                    ));
                }
            }
        }
    }
    said
}

fn captured_of(course: &Course) -> Vec<f64> {
    course.kept.iter().map(|kept| kept.margins.captured).collect()
}

/// What is said of samples whose margins are captured with these probabilities.
fn of_course(premises: &Premises, course: &Course, captured: &[f64]) -> Result<Outlook, ChainError> {
    let usable: Vec<f64> = course.fits.iter().zip(captured).map(|(fits, captured)| fits * captured).collect();
    let Premises { situation, route, observations, parameters, .. } = premises;
    let weights = &course.weights;
    let fits = mean(&course.fits, &weights.values);
    let contact = contact::contact(situation, route, parameters);
    let facts = Facts {
        quantities: &[],
        situation,
        route,
        observations,
        windows: &[],
        margins: None,
        fits,
        limits: &[],
        retentive_rad: premises.constants.retentive_rad,
        shares: course.shares(),
        contact: &contact,
        second_pour: Vec::new(),
        ratios: premises.unusual_ratios()?,
        furthest: weights.furthest,
        full: false,
        now_s: None,
        conditioning: Conditioning {
            readings_used: weights.used,
            effective_samples: weights.effective,
            too_few: weights.too_few,
        },
        start_stamped: premises.timeline.start_stamped || !premises.timeline.is_stamped(),
    };
    let origins = course.origins;
    let mut in_the_way = facts.in_the_way();
    in_the_way.extend(against_print(premises, origins));
    let dimensions = |holds: &dyn Fn(&Entry) -> bool| -> Vec<usize> {
        let entries = premises.space.entries().iter().enumerate();
        entries.filter(|(_, entry)| holds(entry)).map(|(dimension, _)| dimension).collect()
    };
    Ok(Outlook {
        chance: probability(&usable, &weights.values, RANDOMISATIONS as usize),
        captured: premises.setup().margins.map(|_| mean(captured, &weights.values)),
        fits,
        in_mouth_s: origins.removed_s - origins.seated_s,
        mix_to_removal_s: origins.removed_s,
        kept_s: origins.poured_s - origins.removed_s,
        in_the_way,
        usable,
        weak: dimensions(&|entry| entry.grade.is_weak() && !entry.distribution.is_exact()),
        sampled: dimensions(&|entry| !entry.distribution.is_exact()),
        weights: course.weights.values.clone(),
    })
}
