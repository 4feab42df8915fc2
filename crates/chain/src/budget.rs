//! Which link the error comes from.
//!
//! The contribution of a link is the expected measure minus the expected measure with that link ideal. What all links leave
//! when each is taken alone is the interaction, so that base, bars and interaction sum to the total.

use terms::{Link, Purpose};

use crate::error::ChainError;
use crate::judge;
use crate::keeping::Kept;
use crate::report::{Bar, Budget, Change};
use crate::samples::{self, Sample, Setup};
use crate::size::{Measure, Sizes};
use crate::statistics::{Interval, mean};
use ledger::Limits;

/// Links that act on the sizes, in the order of the chain.
pub const LINKS: [Link; 6] = [Link::Set, Link::Removal, Link::Holding, Link::Tray, Link::Stone, Link::Fit];

/// Budgets of the measures that matter for the purpose, and the link to change first.
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
) -> Result<(Vec<Budget>, Option<Change>), ChainError> {
    let mut ideal = Vec::with_capacity(LINKS.len());
    for link in LINKS {
        ideal.push((link, samples::sizes(setup, samples, kept, pour, &[link])?));
    }
    let base = samples::sizes(setup, samples, kept, pour, &LINKS)?;
    let budgets = measures(setup.purpose, setup)
        .into_iter()
        .filter_map(|m| budget(m, actual, &base, &ideal, weights))
        .collect();
    let share = |sizes: &[Sizes]| {
        let holds: Vec<f64> = sizes
            .iter()
            .zip(kept)
            .map(|(sizes, kept)| {
                let usable = judge::usable(kept, judge::margin(setup.purpose, sizes, limits));
                if usable { 1.0 } else { 0.0 }
            })
            .collect();
        mean(&holds, weights)
    };
    let now = share(actual);
    let best = ideal.iter().map(|(link, sizes)| (*link, share(sizes))).fold(
        None,
        |best: Option<(Link, f64)>, next| match best {
            Some(kept) if kept.1 >= next.1 => Some(kept),
            _ => Some(next),
        },
    );
    let change = best.filter(|(_, value)| value - now >= LEAST_GAIN).map(|(link, value)| Change {
        link,
        within_limits_if_ideal: value,
        advice: advice(link),
    });
    Ok((budgets, change))
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
        Link::Removal => "a second impression or a second pour, compared with the first: repeats scatter",
        Link::Holding => {
            "sooner pouring, or sealing the impression with a damp cloth as soon as it is rinsed"
        }
        Link::Tray => "a rigid tray that holds the material everywhere, with adhesive given its drying time",
        Link::Stone => "the stone: its type, its water, and a cast that loses its heat slowly",
        Link::Fit => "the restoration: more relief under the crown, or a more exact way of making it",
        Link::Mix | Link::Access => "the timing of mixing and seating",
    }
}
