//! Which link the error comes from.
//!
//! The contribution of a link is the expected measure minus the expected measure with that link ideal. What all links leave
//! when each is taken alone is the interaction, so that base, bars and interaction sum to the total.

use terms::{Link, Purpose};

use crate::access::Margins;
use crate::error::ChainError;
use crate::judge;
use crate::keeping::Kept;
use crate::report::{Bar, Budget, Change, Gain};
use crate::samples::{self, Sample, Setup};
use crate::size::{Measure, Sizes};
use crate::statistics::{Interval, mean};
use ledger::Limits;

/// Links that act on the sizes, in the order of the chain.
pub const LINKS: [Link; 6] = [Link::Set, Link::Removal, Link::Holding, Link::Tray, Link::Stone, Link::Fit];

/// Budgets of the measures that matter for the purpose, and the chance with each link ideal.
///
/// # Errors
/// The first sample that a kernel refuses.
pub fn budgets(
    setup: &Setup,
    samples: &[Sample],
    kept: &[Kept],
    pour: usize,
    actual: &[Sizes],
    weights: &[f64],
    limits: &Limits,
) -> Result<Budgets, ChainError> {
    let mut ideal = Vec::with_capacity(LINKS.len());
    for link in LINKS {
        ideal.push((link, samples::sizes(setup, samples, kept, pour, &[link])?));
    }
    let base = samples::sizes(setup, samples, kept, pour, &LINKS)?;
    let budgets = measures(setup.purpose, setup)
        .into_iter()
        .filter_map(|m| budget(m, actual, &base, &ideal, weights))
        .collect();
    Ok(Budgets { budgets, gains: gains(setup, kept, actual, &ideal, weights, limits) })
}

/// Budgets, and the chance with each link ideal.
pub struct Budgets {
    /// One a measure.
    pub budgets: Vec<Budget>,
    /// One a link, in the order of the chain.
    pub gains: Vec<Gain>,
}

/// Links in the order of the chain.
const CHAIN: [Link; 8] =
    [Link::Mix, Link::Set, Link::Access, Link::Removal, Link::Holding, Link::Tray, Link::Stone, Link::Fit];

fn gains(
    setup: &Setup,
    kept: &[Kept],
    actual: &[Sizes],
    ideal: &[(Link, Vec<Sizes>)],
    weights: &[f64],
    limits: &Limits,
) -> Vec<Gain> {
    let mut list = Vec::with_capacity(CHAIN.len());
    for link in CHAIN {
        let sizes = ideal.iter().find(|(of, _)| *of == link).map_or(actual, |(_, sizes)| sizes.as_slice());
        let each: Vec<f64> = sizes
            .iter()
            .zip(kept)
            .map(|(sizes, kept)| judge::usable(kept, judge::margin(setup.purpose, sizes, limits), &[link]))
            .collect();
        let has_part = match link {
            Link::Fit => setup.purpose.has_die(),
            Link::Access => setup.margins.is_some(),
            _ => true,
        };
        if has_part {
            list.push(Gain { link, usable_if_ideal: mean(&each, weights) });
        }
    }
    list
}

/// The link whose ideal raises the chance most, when that is worth a sentence.
pub fn change_first(gains: &[Gain], usable: f64, margins: Option<&Margins>) -> Option<Change> {
    let best = gains.iter().fold(None, |best: Option<&Gain>, next| match best {
        Some(kept) if kept.usable_if_ideal >= next.usable_if_ideal => Some(kept),
        _ => Some(next),
    })?;
    if best.usable_if_ideal - usable < LEAST_GAIN {
        return None;
    }
    let bought = match (best.link, margins.and_then(|margins| margins.buys.first())) {
        (Link::Access, Some(buy)) => {
            Some(format!("{} (every margin captured in {:.0} of 100)", buy.words, 100.0 * buy.captured))
        }
        _ => None,
    };
    Some(Change {
        link: best.link,
        usable_if_ideal: best.usable_if_ideal,
        advice: bought.unwrap_or_else(|| advice(best.link).to_owned()),
    })
}

/// A gain in probability below this is not worth a sentence.
const LEAST_GAIN: f64 = 0.03;

fn measures(purpose: Purpose, setup: &Setup) -> Vec<Measure> {
    let mut list = vec![Measure::Diameter, Measure::Height];
    if !setup.space.entry(crate::roots::Root::Span).distribution.is_exact() {
        list.push(Measure::Span);
    }
    if purpose.has_die() {
        list.push(Measure::Opening);
    }
    list
}

fn budget(
    measure: Measure,
    actual: &[Sizes],
    base: &[Sizes],
    ideal: &[(Link, Vec<Sizes>)],
    weights: &[f64],
) -> Option<Budget> {
    let values: Vec<f64> = actual.iter().map(|sizes| sizes.measure(measure)).collect();
    let total_m = mean(&values, weights);
    let mut bars = Vec::with_capacity(ideal.len());
    for (link, sizes) in ideal {
        if *link == Link::Fit && measure != Measure::Opening {
            continue;
        }
        let differences: Vec<f64> =
            values.iter().zip(sizes).map(|(value, sizes)| value - sizes.measure(measure)).collect();
        let interval_m = Interval::of(&differences, weights)?;
        bars.push(Bar { link: *link, mean_m: mean(&differences, weights), interval_m });
    }
    let base: Vec<f64> = base.iter().map(|sizes| sizes.measure(measure)).collect();
    let base_m = mean(&base, weights);
    let summed: f64 = bars.iter().map(|bar| bar.mean_m).sum();
    Some(Budget {
        measure,
        total_m,
        interval_m: Interval::of(&values, weights)?,
        base_m,
        bars,
        interaction_m: total_m - base_m - summed,
    })
}

fn advice(link: Link) -> &'static str {
    match link {
        Link::Set => {
            "a material that shrinks less after its gel point, or removal nearer to the temperature of pouring"
        }
        Link::Removal => {
            "more room between undercut and tray or a blocked undercut, a snap along the teeth, and a second impression compared \
             with the first: repeats scatter"
        }
        Link::Holding => {
            "sooner pouring, or sealing the impression with a damp cloth as soon as it is rinsed"
        }
        Link::Tray => "a rigid tray that holds the material everywhere, with adhesive given its drying time",
        Link::Stone => "the stone: its type, its water, and a cast that loses its heat slowly",
        Link::Fit => "the restoration: more relief under the crown, or a more exact way of making it",
        Link::Mix => "the timing of mixing and seating",
        Link::Access => "a wider, drier sulcus, and less time between cord and material",
    }
}
