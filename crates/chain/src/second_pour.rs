//! A second cast from the same impression: after the first has left it and it has rested.
//!
//! The impression is that of the later moment; the first separation has distorted it by an amount of its class. What the stone of
//! the first pour does to it by heat and water is not in the figures.

use ledger::{Limits, Parameters};
use terms::Route;

use crate::constants::Constants;
use crate::error::ChainError;
use crate::judge;
use crate::keeping::Kept;
use crate::report::{Note, SecondPour};
use crate::samples::{Sample, Setup};
use crate::scopes::Scopes;
use crate::size::{self, How, Sizes};
use crate::speech::span;
use crate::statistics::{Interval, mean};

/// From this chance on, a slender stone tooth that breaks on separation is worth a sentence.
const WORTH_SAYING: f64 = 0.03;

/// The moment of a second pour, s from removal: after the rest that is planned, or the usual one.
pub fn at_s(route: &Route, constants: &Constants, pour_s: f64, separated_after_pour_s: f64) -> f64 {
    let rest_s = route.plan.second_pour_after_s.known().unwrap_or(constants.repour_rest_s);
    pour_s + separated_after_pour_s + rest_s
}

/// What must be said first: a second pour that is planned and cannot be, or that lies beyond the printed latest pour.
pub fn cautions(route: &Route, constants: &Constants, at_s: f64, latest_s: Option<f64>) -> Vec<String> {
    if route.plan.second_pour_after_s.known().is_none() {
        return Vec::new();
    }
    if constants.repour_casts < 2.0 {
        return vec![format!("a second pour is planned, and {} is poured once", route.material.class)];
    }
    match latest_s {
        Some(latest_s) if at_s > latest_s => vec![format!(
            "the second pour lies {} after removal, beyond the printed {}",
            span(at_s),
            span(latest_s)
        )],
        _ => Vec::new(),
    }
}

/// The second cast poured at place `place` of the holding times; no figures for a class that is poured once.
///
/// # Errors
/// The first sample that a kernel refuses.
#[allow(clippy::too_many_arguments, reason = "one view over everything that has been computed")]
pub fn second_pour(
    route: &Route,
    setup: &Setup,
    scopes: &Scopes,
    parameters: &Parameters,
    samples: &[Sample],
    kept: &[Kept],
    place: Option<usize>,
    at_s: f64,
    weights: &[f64],
    limits: &Limits,
) -> Result<SecondPour, ChainError> {
    let class = route.material.class;
    let constants = setup.constants;
    let key = |name: &str| parameters.find(&scopes.material(), name).map(|(value, _)| value.key.clone()).ok();
    let mut notes = Vec::new();
    let mut note = |words: String, name: &str| notes.push(Note { words, key: key(name) });
    let breaks = mean(&kept.iter().map(|kept| kept.break_chance).collect::<Vec<f64>>(), weights);
    if breaks >= WORTH_SAYING {
        note(
            format!(
                "a slender stone tooth breaks on each separation in some {:.0} of 100: let the stone harden longer, and draw \
                 along the teeth",
                100.0 * breaks
            ),
            "repour.stiffness",
        );
    }
    let planned = route.plan.second_pour_after_s.known();
    if constants.repour_casts < 2.0 {
        note(
            format!("{class} is poured once: the first separation dries, tears or distorts it"),
            "repour.casts",
        );
        return Ok(SecondPour { after_removal_s: None, usable: None, diameter_m: None, notes });
    }
    if let Some(rest_s) = planned
        && rest_s < constants.repour_rest_s
    {
        note(
            format!(
                "{} between the first separation and the second pour is short: {} are usual for {class}",
                span(rest_s),
                span(constants.repour_rest_s)
            ),
            "repour.rest",
        );
    }
    note(
        format!(
            "{class} is taught to give {:.0} casts; the first is the best, and a second is compared with it before either is trusted",
            constants.repour_casts
        ),
        "repour.casts",
    );
    let Some(place) = place else {
        return Ok(SecondPour { after_removal_s: None, usable: None, diameter_m: None, notes });
    };
    let dies = dies(setup, samples, kept, place)?;
    let diameters: Vec<f64> = dies.iter().map(|sizes| sizes.diameter_m).collect();
    let usable: Vec<f64> = dies
        .iter()
        .zip(kept)
        .map(|(sizes, kept)| judge::usable(kept, judge::margin(setup.purpose, sizes, limits), &[]))
        .collect();
    Ok(SecondPour {
        after_removal_s: Some(at_s),
        usable: Some(mean(&usable, weights)),
        diameter_m: Interval::of(&diameters, weights),
        notes,
    })
}

/// The sizes of a second die, poured at place `place` of the holding times.
///
/// # Errors
/// The first sample that a kernel refuses.
pub fn dies(
    setup: &Setup,
    samples: &[Sample],
    kept: &[Kept],
    place: usize,
) -> Result<Vec<Sizes>, ChainError> {
    let how = How { purpose: setup.purpose, second: setup.manner.second, first_cast: false };
    let one = |(sample, kept): (&Sample, &Kept)| {
        size::sizes(&sample.draw, &how, &kept.form, &kept.moulds[place], &kept.stone, &[])
    };
    samples.iter().zip(kept).map(one).collect()
}
