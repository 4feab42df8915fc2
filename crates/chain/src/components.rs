//! What the strain of holding is made of, each part by itself, against the time since removal.
//!
//! ```text
//! holding = evaporation + exudation + liquid + by-product + water      in each sample
//! ```
//!
//! The parts are those of the samples of a forecast with the same effort, nothing is run a second time with a link left out: evaporation and
//! exudation act on the same gel, and what the liquid gave the air may take again. Each water counts for the way by which it passed
//! the face. Medians do not sum; the values of a sample do.

use ledger::{Limits, Parameters};
use terms::{Instant, Route, Situation};

use crate::course::{Course, Pours, Premises};
use crate::error::ChainError;
use crate::keeping::Parts;
use crate::roots::Root;
use crate::samples::Effort;
use crate::statistics::Interval;

/// A way by which an impression shrinks or swells while it is kept.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Way {
    /// Water that goes to the air.
    Evaporation,
    /// Fluid that the gel squeezes out.
    Exudation,
    /// Water that a liquid gives or takes.
    Liquid,
    /// By-product that leaves.
    Byproduct,
    /// Water that a rubber takes up or gives off.
    Water,
}

impl Way {
    /// Those of a water gel.
    const OF_GEL: &'static [Way] = &[Way::Evaporation, Way::Exudation, Way::Liquid];
    /// Those of a rubber.
    const OF_RUBBER: &'static [Way] = &[Way::Byproduct, Way::Water];

    fn of(self, parts: &Parts) -> f64 {
        match self {
            Way::Evaporation => parts.evaporation,
            Way::Exudation => parts.exudation,
            Way::Liquid => parts.liquid,
            Way::Byproduct => parts.byproduct,
            Way::Water => parts.water,
        }
    }

    /// The ledger row that it hangs on most, without the name of the material.
    pub fn row(self) -> &'static str {
        match self {
            Way::Evaporation => "water.activity",
            Way::Exudation => "syneresis.strain",
            Way::Liquid => "liquid.osmotic_strain",
            Way::Byproduct => "volatile.mass",
            Way::Water => "water.sorption",
        }
    }
}

/// One part of the strain.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Component {
    /// Which.
    pub way: Way,
    /// Key of the ledger row it hangs on most; none where the case has no such row.
    pub key: Option<String>,
    /// Linear strain at each time, positive when the free material shrinks.
    #[serde(rename = "strain_share")]
    pub strain: Vec<Interval>,
}

/// The parts, and all together.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Components {
    /// Times since removal, s.
    pub after_removal_s: Vec<f64>,
    /// The parts that this class has.
    pub parts: Vec<Component>,
    /// The strain of holding, of the same samples.
    #[serde(rename = "whole_share")]
    pub whole: Vec<Interval>,
    /// Change of mass per mass, salts and by-product included.
    #[serde(rename = "mass_change_share")]
    pub mass_change: Vec<Interval>,
    /// Contact angle of the material on the wet tooth, rad; none where nothing is syringed on a prepared tooth.
    pub contact_rad: Option<Interval>,
    /// The row of that angle.
    pub contact_key: Option<String>,
    /// The largest difference between the parts of a sample and its strain: rounding.
    pub largest_gap: f64,
    /// Samples.
    pub samples: usize,
}

/// The parts of the strain of holding of a plan, at the times of a pour curve. Arguments and errors are those of [`crate::sampled`].
///
/// # Errors
/// An input outside its range, materials that do not go together, or a value missing from the ledger.
pub fn components(
    situation: &Situation,
    route: &Route,
    parameters: &Parameters,
    limits: &Limits,
    effort: Effort,
    now: Instant,
) -> Result<Components, ChainError> {
    let premises = Premises::of(situation, route, &[], &[], parameters, limits, now)?;
    let setup = premises.setup();
    let effort = Effort::of_points(effort.points);
    let course = Course::of(&premises, &setup, effort, Pours::Curve)?;
    let even = vec![1.0; course.kept.len()];
    let of = |values: Vec<f64>| Interval::of(&values, &even).unwrap_or(NONE);
    let at = |place: usize, value: &dyn Fn(&crate::keeping::MouldState) -> f64| {
        of(course.kept.iter().map(|kept| value(&kept.moulds[place])).collect())
    };
    let places = 0..course.times_s.len();
    let ways = if route.material.class.is_hydrocolloid() { Way::OF_GEL } else { Way::OF_RUBBER };
    let key_of = |row: &str| {
        let found = premises
            .space
            .entries()
            .iter()
            .find(|entry| entry.key.split_once('/').is_some_and(|(_, end)| end == row));
        found.map(|entry| entry.key.clone())
    };
    let parts = ways
        .iter()
        .map(|&way| Component {
            way,
            key: key_of(way.row()),
            strain: places.clone().map(|place| at(place, &|mould| way.of(&mould.parts))).collect(),
        })
        .collect();
    let moulds = course.kept.iter().flat_map(|kept| &kept.moulds);
    let largest_gap = moulds.map(|mould| (mould.parts.sum() - mould.holding).abs()).fold(0.0, f64::max);
    let has_contact = setup.margins.is_some();
    Ok(Components {
        parts,
        whole: places.clone().map(|place| at(place, &|mould| mould.holding)).collect(),
        mass_change: places.map(|place| at(place, &|mould| mould.mass_change)).collect(),
        contact_rad: has_contact
            .then(|| of(course.samples.iter().map(|sample| sample.draw[Root::ContactAngle]).collect())),
        contact_key: if has_contact { key_of("flow.contact_angle") } else { None },
        largest_gap,
        samples: course.kept.len(),
        after_removal_s: course.times_s,
    })
}

const NONE: Interval = Interval { low: 0.0, mid: 0.0, high: 0.0 };
