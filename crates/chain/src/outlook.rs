//! What a route is worth, for comparing routes: the same samples and models as a forecast, and less said.

use ledger::{Limits, Parameters};
use terms::{Instant, Observation, Route, Situation, Stamp};

use crate::contact;
use crate::course::{Course, Pours, Premises};
use crate::error::ChainError;
use crate::report::Conditioning;
use crate::samples::{Effort, RANDOMISATIONS};
use crate::speech::Facts;
use crate::statistics::{Probability, mean, probability};

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
    /// The same with every value but the remembered and assumed ones drawn anew: what both agree on hangs on those alone.
    pub usable_again: Vec<f64>,
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
    let premises = Premises::of(situation, route, stamps, observations, parameters, limits, now)?;
    let setup = premises.setup();
    let effort = Effort::of_points(effort.points);
    let course = Course::of(&premises, &setup, effort, Pours::Planned)?;
    let again = course.again(&premises, &setup, effort.points, |entry| !entry.grade.is_weak())?;
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
        start_stamped: premises.timeline.start_stamped || stamps.is_empty(),
    };
    let origins = course.origins;
    Ok(Outlook {
        chance: probability(&course.usable, &weights.values, RANDOMISATIONS as usize),
        captured: setup.margins.map(|_| course.share(|kept| kept.margins.captured)),
        fits,
        in_mouth_s: origins.removed_s - origins.seated_s,
        mix_to_removal_s: origins.removed_s,
        kept_s: origins.poured_s - origins.removed_s,
        in_the_way: facts.in_the_way(),
        usable: course.usable,
        usable_again: again.usable,
        weights: course.weights.values,
    })
}
