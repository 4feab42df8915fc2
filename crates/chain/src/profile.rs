//! Temperature and cure through the thickness while the tray is in the mouth.

use ledger::{Limits, Parameters};
use rayon::prelude::*;
use terms::{Instant, Observation, Route, Situation, Stamp};

use crate::course::Premises;
use crate::error::ChainError;
use crate::mouth::{self, Field};
use crate::readings::as_read;
use crate::roots::Root;
use crate::samples::{Effort, RANDOMISATIONS};
use crate::sobol::Sobol;
use crate::statistics::Interval;
use kernel::set::{MIX_CELLS, TOOTH_CELLS, TRAY_CELLS};

/// What the picture through the thickness shows.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Profile {
    /// Middle thickness of tooth, material and tray, m.
    pub thickness_m: [f64; 3],
    /// Middles of the cells from the pulp outward, m from the pulp, at those thicknesses.
    pub depth_m: Vec<f64>,
    /// Cells of the material.
    pub material: std::ops::Range<usize>,
    /// The moments.
    pub moments: Vec<ProfileMoment>,
    /// Degree of cure at which the material may be taken out: middle.
    pub ready_cure: f64,
    /// Samples.
    pub samples: usize,
}

/// One moment of it.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct ProfileMoment {
    /// After seating, s.
    pub after_seat_s: f64,
    /// Temperature of each cell, K.
    pub temperature_k: Vec<Interval>,
    /// Degree of cure of each cell of the material.
    pub cure_share: Vec<Interval>,
}

/// One sample: its fields at the moments, and the thickness of tooth, material and tray, m, with the degree of cure at which it is ready.
type Drawn = (Vec<Field>, [f64; 4]);

/// Samples of each randomisation: a picture needs no more.
const POINTS: u32 = 8;

/// Temperature and cure through tooth, material and tray at moments after seating, s. The other arguments and the errors are those of
/// [`crate::forecast`]; readings of facts count, other readings do not reweight this picture.
///
/// # Errors
/// An input outside its range, materials that do not go together, or a value missing from the ledger.
#[allow(clippy::too_many_arguments, reason = "the eight of a forecast, with moments for the effort")]
pub fn profile(
    situation: &Situation,
    route: &Route,
    stamps: &[Stamp],
    observations: &[Observation],
    parameters: &Parameters,
    limits: &Limits,
    after_s: &[f64],
    now: Instant,
) -> Result<Profile, ChainError> {
    let read = as_read(situation, route, stamps, observations)?;
    let premises = Premises::of(&read.situation, &read.route, stamps, observations, parameters, limits, now)?;
    let setup = premises.setup();
    let sobol = Sobol::new();
    let points = Effort::of_points(POINTS).points;
    let drawn: Vec<Drawn> = (0..RANDOMISATIONS * points)
        .into_par_iter()
        .map(|number| {
            let (randomisation, index) = (number / points, number % points);
            let other = randomisation + RANDOMISATIONS;
            let at = setup.space.coordinates(&sobol, randomisation, index, other, |_| false);
            let draw = setup.space.draw(&at);
            let fields = mouth::fields(&draw, setup.constants, &setup.manner, after_s)?;
            let layer = match setup.manner.second {
                // Before a set putty, that putty is what lies behind the layer that sets.
                mouth::Second::OnPutty => {
                    (draw[Root::WashThickness].max(mouth::THINNEST_M), draw[Root::Relief])
                }
                _ => (draw[Root::Relief], draw[Root::TrayWall]),
            };
            Ok((fields, [draw[Root::ToothThickness], layer.0, layer.1, draw[Root::ReadyConversion]]))
        })
        .collect::<Vec<Result<_, ChainError>>>()
        .into_iter()
        .collect::<Result<_, _>>()?;
    let even = vec![1.0; drawn.len()];
    let of = |value: &dyn Fn(&Drawn) -> f64| {
        let values: Vec<f64> = drawn.iter().map(value).collect();
        Interval::of(&values, &even).unwrap_or(Interval { low: 0.0, mid: 0.0, high: 0.0 })
    };
    let thickness_m = [0, 1, 2].map(|layer| of(&|sample| sample.1[layer]).mid);
    let cells = [TOOTH_CELLS, MIX_CELLS, TRAY_CELLS];
    let mut depth_m = Vec::new();
    let mut start_m = 0.0;
    for (thickness_m, count) in thickness_m.iter().zip(cells) {
        depth_m.extend((0..count).map(|cell| start_m + thickness_m * (cell as f64 + 0.5) / count as f64));
        start_m += thickness_m;
    }
    let moments = after_s
        .iter()
        .enumerate()
        .map(|(moment, &after_seat_s)| ProfileMoment {
            after_seat_s,
            temperature_k: (0..depth_m.len()).map(|cell| of(&|sample| sample.0[moment].0[cell])).collect(),
            cure_share: (0..MIX_CELLS).map(|cell| of(&|sample| sample.0[moment].1[cell])).collect(),
        })
        .collect();
    Ok(Profile {
        thickness_m,
        depth_m,
        material: TOOTH_CELLS..TOOTH_CELLS + MIX_CELLS,
        moments,
        ready_cure: of(&|sample| sample.1[3]).mid,
        samples: drawn.len(),
    })
}

/// Whether the chain takes a case, without following it.
///
/// # Errors
/// As for [`crate::forecast`], but for what a kernel refuses on the way, which the ranges keep from happening.
pub fn bears(
    situation: &Situation,
    route: &Route,
    stamps: &[Stamp],
    observations: &[Observation],
    parameters: &Parameters,
    limits: &Limits,
    now: Instant,
) -> Result<(), ChainError> {
    let read = as_read(situation, route, stamps, observations)?;
    Premises::of(&read.situation, &read.route, stamps, observations, parameters, limits, now).map(|_| ())
}
