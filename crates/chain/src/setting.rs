//! Cure and temperature from the start of mixing: in the bowl until the tray is in place, then in the mouth.
//!
//! The material of the tray. A wash that sets beside it, or agar under alginate, has no curve here; when the whole may be removed is said by the
//! windows.

use ledger::{Limits, Parameters};
use rayon::prelude::*;
use terms::{Instant, Route, Situation};

use crate::course::Premises;
use crate::error::ChainError;
use crate::mouth;
use crate::roots::Root;
use crate::samples::{Effort, RANDOMISATIONS};
use crate::sobol::Sobol;
use crate::statistics::Interval;

/// How a material sets.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Setting {
    /// The moments.
    pub moments: Vec<SetMoment>,
    /// The tray in place, s from the start of mixing.
    pub seated_s: Interval,
    /// Cure at which working ends: middle.
    pub working_cure: f64,
    /// Cure at which it may be taken out: middle.
    pub ready_cure: f64,
    /// Samples.
    pub samples: usize,
}

/// One moment of it.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct SetMoment {
    /// From the start of mixing, s.
    pub from_mix_s: f64,
    /// Share cured, or gelled, where it is least.
    pub cure_share: Interval,
    /// Mean temperature of the material, K.
    pub temperature_k: Interval,
}

/// Cure and temperature at moments from the start of mixing, s. The other arguments and the errors are those of [`crate::sampled`].
///
/// # Errors
/// An input outside its range, materials that do not go together, or a value missing from the ledger.
pub fn setting(
    situation: &Situation,
    route: &Route,
    parameters: &Parameters,
    limits: &Limits,
    effort: Effort,
    now: Instant,
    from_mix_s: &[f64],
) -> Result<Setting, ChainError> {
    let premises = Premises::of(situation, route, &[], &[], parameters, limits, now)?;
    let setup = premises.setup();
    let sobol = Sobol::new();
    let points = Effort::of_points(effort.points).points;
    let drawn: Vec<(Vec<[f64; 2]>, [f64; 3])> = (0..RANDOMISATIONS * points)
        .into_par_iter()
        .map(|number| {
            let (randomisation, index) = (number / points, number % points);
            let other = randomisation + RANDOMISATIONS;
            let at = setup.space.coordinates(&sobol, randomisation, index, other, |_| false);
            let draw = setup.space.draw(&at);
            let (moments, seat_s) = mouth::from_mix(&draw, setup.constants, &setup.manner, from_mix_s)?;
            Ok((moments, [seat_s, draw[Root::WorkingConversion], draw[Root::ReadyConversion]]))
        })
        .collect::<Vec<Result<_, ChainError>>>()
        .into_iter()
        .collect::<Result<_, _>>()?;
    let even = vec![1.0; drawn.len()];
    let of =
        |values: Vec<f64>| Interval::of(&values, &even).unwrap_or(Interval { low: 0.0, mid: 0.0, high: 0.0 });
    let once = |place: usize| of(drawn.iter().map(|sample| sample.1[place]).collect());
    let moments = from_mix_s
        .iter()
        .enumerate()
        .map(|(moment, &from_mix_s)| SetMoment {
            from_mix_s,
            cure_share: of(drawn.iter().map(|sample| sample.0[moment][0]).collect()),
            temperature_k: of(drawn.iter().map(|sample| sample.0[moment][1]).collect()),
        })
        .collect();
    Ok(Setting {
        moments,
        seated_s: once(0),
        working_cure: once(1).mid,
        ready_cure: once(2).mid,
        samples: drawn.len(),
    })
}
