//! The samples of a forecast: drawn, run to removal, then from removal to the stone, each in index order.
//!
//! Samples are independent and collected by index, so the number of threads changes nothing. The pool is the caller's.

use rayon::prelude::*;
use terms::{ImpressionClass, Link, Purpose, Route, Technique};

use crate::access::{self, Change, Summary};
use crate::constants::Constants;
use crate::error::ChainError;
use crate::keeping::{self, KeepingPlan, Kept};
use crate::mouth::{self, Manner, MixKind, Mouth, Second};
use crate::size::{self, Sizes};
use crate::sobol::Sobol;
use crate::space::{Coordinates, Draw, Entry, Space};

/// How many samples a forecast takes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
pub struct Effort {
    /// Points of each randomisation, a power of two between 2 and 4096.
    pub points: u32,
}

/// Independent randomisations of the sequence. Their spread is the standard error of a probability.
pub const RANDOMISATIONS: u32 = 8;

impl Effort {
    /// A first answer: 8 x 32 samples, which are the first of the full ones.
    pub const COARSE: Effort = Effort { points: 32 };
    /// The usual answer: 8 x 512 samples.
    pub const FULL: Effort = Effort { points: 512 };

    /// The effort with this many points each, moved into range and down to a power of two.
    pub fn of_points(points: u32) -> Effort {
        Effort { points: 1 << points.clamp(2, 4096).ilog2() }
    }

    /// Number of samples.
    pub fn samples(self) -> usize {
        (RANDOMISATIONS * self.points) as usize
    }
}

/// One sample that has reached removal.
pub struct Sample {
    /// Its place in the unit cube.
    pub coordinates: Coordinates,
    /// Its values.
    pub draw: Draw,
    /// Mixing and setting.
    pub mouth: Mouth,
}

/// What does not differ between samples.
pub struct Setup<'a> {
    /// Distributions.
    pub space: &'a Space,
    /// Constants.
    pub constants: &'a Constants,
    /// Purpose.
    pub purpose: Purpose,
    /// How the materials are brought to the teeth.
    pub manner: Manner,
    /// The prepared margins; none for a cast without them.
    pub margins: Option<&'a access::Setting>,
}

/// Powder that a mix is taken to have when its mass is not known, kg: two scoops.
const USUAL_POWDER_KG: f64 = 0.018;

/// How the impression material of a route is mixed.
pub fn mix_kind(route: &Route) -> MixKind {
    match route.material.class {
        ImpressionClass::Alginate | ImpressionClass::ExtendedAlginate => {
            MixKind::PowderAndWater { powder_kg: route.mix.powder_kg.known().unwrap_or(USUAL_POWDER_KG) }
        }
        ImpressionClass::Agar => MixKind::Sol,
        _ => MixKind::Pastes,
    }
}

/// What the second material of a route does.
pub fn second(route: &Route) -> Second {
    match route.technique {
        Technique::SingleViscosity => Second::None,
        Technique::PuttyWashTwoStep => Second::OnPutty,
        Technique::AgarOverAlginate => Second::AgarFilm,
        // Two grades of agar gel alike: what sets last is the cooler's matter, not the grade's.
        _ if route.material.class == ImpressionClass::Agar => Second::None,
        Technique::DualViscosity | Technique::PuttyWashOneStep => Second::Together,
    }
}

/// Draws and runs samples to removal: `points` of each randomisation. Coordinates of entries for which `swapped` holds come
/// from an independent set.
///
/// # Errors
/// The first in index order that a kernel refuses.
pub fn to_removal(
    setup: &Setup,
    points: u32,
    swapped: impl Fn(&Entry) -> bool + Sync,
) -> Result<Vec<Sample>, ChainError> {
    let sobol = Sobol::new();
    (0..RANDOMISATIONS * points)
        .into_par_iter()
        .with_min_len(8)
        .map(|number| {
            let (randomisation, index) = (number / points, number % points);
            let other = randomisation + RANDOMISATIONS;
            let coordinates = setup.space.coordinates(&sobol, randomisation, index, other, &swapped);
            let draw = setup.space.draw(&coordinates);
            let mouth = mouth::to_removal(&draw, setup.constants, &setup.manner)?;
            Ok(Sample { coordinates, draw, mouth })
        })
        .collect::<Vec<_>>()
        .into_iter()
        .collect()
}

/// Runs samples from removal on.
///
/// # Errors
/// The first in index order that a kernel refuses.
pub fn from_removal(setup: &Setup, plan: &KeepingPlan, samples: &[Sample]) -> Result<Vec<Kept>, ChainError> {
    samples
        .par_iter()
        .with_min_len(8)
        .map(|sample| {
            let margins = match setup.margins {
                Some(setting) => margins(setting, setup.constants, sample)?,
                None => Summary::NONE,
            };
            keeping::from_removal(&sample.draw, setup.constants, plan, &sample.mouth, margins)
        })
        .collect::<Vec<_>>()
        .into_iter()
        .collect()
}

fn margins(setting: &access::Setting, constants: &Constants, sample: &Sample) -> Result<Summary, ChainError> {
    let (at, draw) = (&sample.coordinates, &sample.draw);
    access::access(setting, &constants.access, at, draw, &sample.mouth, Change::None)
        .map(|access| access.summary())
}

/// The places of all samples in one dimension, as in [`to_removal`] without swapping.
pub fn coordinates(dimension: usize, points: u32) -> Vec<f64> {
    let sobol = Sobol::new();
    (0..RANDOMISATIONS * points)
        .map(|number| sobol.point(number / points, number % points, dimension))
        .collect()
}

/// Probability that every margin is captured, in samples that another setup brought to removal: nothing of the margins has a part in that.
///
/// # Errors
/// The first in index order that a kernel refuses.
pub fn captured(
    setup: &Setup,
    drawn_in: &Space,
    points: u32,
    samples: &[Sample],
) -> Result<Vec<f64>, ChainError> {
    let Some(setting) = setup.margins else { return Ok(vec![1.0; samples.len()]) };
    let sobol = Sobol::new();
    let unlike = setup.space.unlike(drawn_in);
    samples
        .par_iter()
        .enumerate()
        .with_min_len(8)
        .map(|(number, sample)| {
            let place = (number as u32 / points, number as u32 % points);
            let drawn = (&sample.coordinates, &sample.draw);
            let (at, draw) = setup.space.redrawn(&sobol, place, &unlike, drawn);
            access::access(setting, &setup.constants.access, &at, &draw, &sample.mouth, Change::None)
                .map(|access| access.summary().captured)
        })
        .collect::<Vec<_>>()
        .into_iter()
        .collect()
}

/// Sizes of every sample for one pour time, with these links ideal.
///
/// # Errors
/// The first in index order that a kernel refuses.
pub fn sizes(
    setup: &Setup,
    samples: &[Sample],
    kept: &[Kept],
    pour: usize,
    ideal: &[Link],
) -> Result<Vec<Sizes>, ChainError> {
    samples
        .iter()
        .zip(kept)
        .map(|(sample, kept)| {
            let how = size::How { purpose: setup.purpose, second: setup.manner.second, first_cast: true };
            size::sizes(&sample.draw, &how, &kept.form, &kept.moulds[pour], &kept.stone, ideal)
        })
        .collect()
}

/// Weighted share of the samples whose die lies outside what the elements of the layer were made for.
pub fn out_of_domain(kept: &[Kept], weights: &[f64]) -> f64 {
    let outside: Vec<f64> = kept.iter().map(|kept| if kept.form.in_domain { 0.0 } else { 1.0 }).collect();
    crate::statistics::mean(&outside, weights)
}
