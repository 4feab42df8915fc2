//! The one function of the chain.

use ledger::{Limits, Parameters};
use terms::{Action, Instant, Link, Observation, Route, Situation, Stamp};

use crate::access;
use crate::budget;
use crate::contact;
use crate::course::{Course, Pours, Premises};
use crate::error::ChainError;
use crate::judge;
use crate::pouring;
use crate::quantities;
use crate::readings::as_read;
use crate::report::{Conditioning, Contribution, Forecast, RootCause};
use crate::samples::{Effort, RANDOMISATIONS, Setup};
use crate::schedule::{self, Moments};
use crate::sensitivity::total_effect;
use crate::speech;
use crate::statistics::{Interval, mean, probability};
use crate::{heat, roots::Root, second_pour};

/// What the chain says about a route in a situation, given what has happened so far.
///
/// Pure: the same input gives the same bits, on any machine and any number of threads. Without stamps it is a plan that
/// starts at `now`; a stamp replaces the planned moment of its step; a reading of a fact replaces what was stated of it, and other readings reweight
/// the samples.
///
/// # Errors
/// An input outside its range, materials that do not go together, or a value missing from the ledger.
#[allow(
    clippy::too_many_arguments,
    reason = "these eight are the whole world of a forecast, and none may be hidden"
)]
pub fn forecast(
    situation: &Situation,
    route: &Route,
    stamps: &[Stamp],
    observations: &[Observation],
    parameters: &Parameters,
    limits: &Limits,
    effort: Effort,
    now: Instant,
) -> Result<Forecast, ChainError> {
    let read = as_read(situation, route, stamps, observations)?;
    let (situation, route): (&Situation, &Route) = (&read.situation, &read.route);
    let premises = Premises::of(situation, route, stamps, observations, parameters, limits, now)?;
    let Premises { scopes, space, constants, timeline, .. } = &premises;
    let setup = premises.setup();
    let effort = Effort::of_points(effort.points);
    let course = Course::of(&premises, &setup, effort, Pours::Curve)?;
    let Course {
        samples, origins, again_s, times_s, pour, kept, weights, sizes, margins, usable, fits, ..
    } = &course;
    let (origins, again_s, pour) = (*origins, *again_s, *pour);
    let chances = speech::Chances {
        usable: probability(usable, &weights.values, RANDOMISATIONS as usize),
        captured: setup.margins.map(|_| course.share(|kept| kept.margins.captured)),
        fits: mean(fits, &weights.values),
    };
    let weak_share = weak_share(&premises, &setup, &course, effort)?;

    let curve = pouring::curve(&setup, samples, kept, &weights.values, limits, times_s)?;
    let has_span = !space.entry(Root::Span).distribution.is_exact();
    let scope = quantities::Scope {
        pour,
        has_die: situation.purpose.has_die(),
        has_span,
        loading_s: constants.loading_s,
    };
    let mut raw = quantities::raw(samples, kept, sizes, &scope);
    let disinfected_s = contact::disinfected_after_s(route);
    let opens_s = samples.iter().map(|sample| sample.draw[Root::GasTime].max(disinfected_s)).collect();
    raw.extend(quantities::judged(situation.purpose.has_die(), opens_s, curve.left_s, margins.clone()));
    let values = |id: &str| raw.iter().find(|raw| raw.id == id).map_or(&[][..], |raw| &raw.values);
    let interval = |id: &str| Interval::of(values(id), &weights.values).unwrap_or(NO_INTERVAL);
    let mut contact = contact::contact(situation, route, parameters);
    let moments = Moments {
        pourable_s: Some(interval("window.pour.opens")).filter(|interval| interval.high > 0.0),
        servable: finite_share(values("window.pour.closes"), &weights.values),
        mixed_by_s: interval("window.mix.closes"),
        seated_by_s: interval("window.seat.closes"),
        ready_s: schedule::ready_s(samples, &weights.values).unwrap_or(NO_INTERVAL),
        poured_by_s: curve.closes_s,
        separable_s: interval("window.separate.opens"),
        holding_horizon_s: pouring::followed_s(route.material.class),
    };
    let separated_s = premises.separated_s(&origins, moments.separable_s.high);
    let second_pour = second_pour::second_pour(
        route,
        &setup,
        scopes,
        parameters,
        samples,
        kept,
        times_s.iter().position(|&time_s| time_s == again_s),
        again_s,
        &weights.values,
        limits,
    )?;
    let windows = schedule::windows(route, timeline, &premises.sayings(origins), &moments, separated_s);
    let latest_pour_s = windows
        .iter()
        .filter(|window| window.action == Action::Pour)
        .flat_map(|window| &window.closes.instructed)
        .map(|limit| limit.at_s - origins.removed_s)
        .reduce(f64::min);
    let budget::Budgets { budgets, gains } =
        budget::budgets(&setup, samples, kept, pour, sizes, &weights.values, limits)?;
    let said_of_margins = match setup.margins {
        Some(setting) => Some(access::margins(
            setting,
            &constants.access,
            samples,
            &weights.values,
            &access::could_be_done(situation, route, setting),
        )?),
        None => None,
    };
    let change_first = budget::change_first(&gains, chances.usable.value, said_of_margins.as_ref());
    let quantities: Vec<_> = raw
        .iter()
        .filter(|raw| raw.values.iter().any(|value| *value != 0.0) || raw.id != "mass.change")
        .filter_map(|raw| {
            quantities::quantity(raw, moments.holding_horizon_s, space, samples, &weights.values)
        })
        .collect();
    heat::say(route, parameters, &quantities, &mut contact)?;
    let on_margin = quantities::contributions(margins, space, samples, &weights.values);
    let on_usable = quantities::contributions(usable, space, samples, &weights.values);
    let on_margin = larger(on_margin, on_usable);
    let root_causes = root_causes(&premises, &setup, &course, effort, &on_margin)?;

    let conditioning = Conditioning {
        readings_used: weights.used,
        effective_samples: weights.effective,
        too_few: weights.too_few,
    };
    let against_limits = judge::against_limits(situation.purpose, sizes, &weights.values, limits);
    let facts = speech::Facts {
        quantities: &quantities,
        situation,
        route,
        observations,
        windows: &windows,
        shares: course.shares(),
        margins: said_of_margins.as_ref(),
        fits: chances.fits,
        limits: &against_limits,
        retentive_rad: constants.retentive_rad,
        contact: &contact,
        second_pour: second_pour::cautions(route, constants, again_s, latest_pour_s),
        ratios: premises.unusual_ratios()?,
        furthest: weights.furthest,
        full: effort.points >= Effort::FULL.points,
        now_s: timeline.start_stamped.then_some(timeline.now_s),
        conditioning,
        start_stamped: timeline.start_stamped || stamps.is_empty(),
    };
    Ok(Forecast {
        model_version: env!("CARGO_PKG_VERSION"),
        parameters_hash: parameters.hash().to_owned(),
        effort,
        start: timeline.start,
        start_stamped: timeline.start_stamped,
        now,
        verdict: facts.verdict(chances, weak_share),
        disinfection: contact.disinfected.clone(),
        second_pour,
        notes: contact.notes.clone(),
        asks: facts.asks(&on_margin),
        not_in_budget: facts.not_in_budget(),
        outside: facts.outside(),
        windows,
        quantities,
        budgets,
        gains,
        change_first,
        root_causes,
        pour_curve: curve.points,
        margins: said_of_margins,
        limits: against_limits,
        assumed: assumed(on_margin),
        conditioning,
    })
}

/// Weighted share of the samples in which a number exists.
fn finite_share(values: &[f64], weights: &[f64]) -> f64 {
    let holds: Vec<f64> = values.iter().map(|value| one_if(value.is_finite())).collect();
    mean(&holds, weights)
}

/// Stands in where no sample has weight; the forecast then says that nothing can be concluded.
const NO_INTERVAL: Interval = Interval { low: 0.0, mid: 0.0, high: 0.0 };

/// Assumed and remembered values that carry the margin.
fn assumed(on_margin: Vec<Contribution>) -> Vec<Contribution> {
    on_margin.into_iter().filter(|contribution| contribution.grade.is_weak()).take(6).collect()
}

/// Total-effect index of all values of the last two grades together (Jansen 1999), from a part of the samples: on the margin of
/// the sizes or on whether the result is usable, whichever is larger.
///
/// Readings do not enter: the question is what the figures rest on, not what they say.
fn weak_share(
    premises: &Premises,
    setup: &Setup,
    course: &Course,
    effort: Effort,
) -> Result<f64, ChainError> {
    let points = (effort.points / 8).max(effort.points.min(16));
    let again = course.again(premises, setup, points, |entry| entry.grade.is_weak())?;
    let on_margin = total_effect(&prefix(&course.margins, effort.points, points), &again.margins);
    let on_usable = total_effect(&prefix(&course.usable, effort.points, points), &again.usable);
    Ok(on_margin.max(on_usable).clamp(0.0, 1.0))
}

/// Root causes that are followed to their total effect.
const MOST_CAUSES: usize = 6;

/// The largest root causes of whether the result is usable, each with its total-effect index (Jansen 1999) from a part of the
/// samples.
fn root_causes(
    premises: &Premises,
    setup: &Setup,
    course: &Course,
    effort: Effort,
    candidates: &[Contribution],
) -> Result<Vec<RootCause>, ChainError> {
    let points = (effort.points / 16).max(effort.points.min(8));
    let before = prefix(&course.usable, effort.points, points);
    let mut list = Vec::new();
    for cause in candidates.iter().take(MOST_CAUSES) {
        let after = course.again(premises, setup, points, |entry| entry.row.words == cause.words)?;
        let link = setup.space.entries().iter().find(|entry| entry.row.words == cause.words);
        list.push(RootCause {
            words: cause.words,
            key: cause.key.clone(),
            grade: cause.grade,
            standing: cause.standing,
            link: link.map_or(Link::Mix, |entry| entry.row.link),
            alone: cause.share,
            total: total_effect(&before, &after.usable).clamp(0.0, 1.0),
        });
    }
    list.sort_by(|a, b| b.total.total_cmp(&a.total).then(a.words.cmp(b.words)));
    Ok(list)
}

/// The first `points` of every randomisation.
fn prefix(values: &[f64], of: u32, points: u32) -> Vec<f64> {
    let (of, points) = (of as usize, points as usize);
    (0..RANDOMISATIONS as usize).flat_map(|block| values[block * of..block * of + points].to_vec()).collect()
}

fn one_if(holds: bool) -> f64 {
    if holds { 1.0 } else { 0.0 }
}

/// For each root the larger of its shares in the margin and in whether the result is usable.
fn larger(a: Vec<Contribution>, b: Vec<Contribution>) -> Vec<Contribution> {
    let mut merged = a;
    for contribution in b {
        match merged.iter_mut().find(|known| known.words == contribution.words) {
            Some(known) => known.share = known.share.max(contribution.share),
            None => merged.push(contribution),
        }
    }
    merged.sort_by(|a, b| b.share.total_cmp(&a.share).then(a.words.cmp(b.words)));
    merged
}
