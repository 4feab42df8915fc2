//! An elastomer between mouth and stone: a volatile by-product leaves, water comes or goes with the air or the liquid.
//!
//! Both diffuse through the layer from its open face; the loss goes with the square root of time at first and ends when all
//! has left. Strains of what leaves and of what comes add.

use kernel::moist_air::LIQUID_WATER_KG_M3;
use kernel::response::{self, PROFILES};
use kernel::sorption::{self, Isotherm, Stretch, Substance};
use terms::HoldingKind;

use crate::constants::Constants;
use crate::error::ChainError;
use crate::keeping::KeepingPlan;
use crate::roots::Root;
use crate::space::Draw;

/// What has left and come at one time.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Exchange {
    /// Linear strain through the layer, positive when the free material shrinks, as the coefficients of its profiles.
    pub profile: [f64; PROFILES],
    /// Mean of it that the by-product leaves behind.
    pub byproduct: f64,
    /// Mean of it that water makes, from the air and from a liquid alike; negative when water is taken up.
    pub water: f64,
    /// Change of mass per mass.
    pub mass_change: f64,
}

/// Exchange at every time of the plan.
///
/// # Errors
/// When the kernel refuses a number; the validated ranges keep that from happening.
pub fn exchange(
    draw: &Draw,
    constants: &Constants,
    plan: &KeepingPlan,
    segments: &[kernel::holding::Segment],
) -> Result<Vec<Exchange>, ChainError> {
    let volatile = draw[Root::VolatileMass];
    let isotherm = Isotherm { saturated: draw[Root::Sorption], exponent: constants.sorption_exponent };
    let fresh = isotherm.content(draw[Root::WaterActivity]);
    let substance = |diffusivity_m2_s: f64| Substance {
        thickness_m: draw[Root::Relief],
        diffusivity_m2_s,
        activation_j_mol: constants.diffusion_energy_j_mol,
    };
    let stretches = |face: &dyn Fn(usize) -> f64| -> Vec<Stretch> {
        let stretch = |(index, segment): (usize, &kernel::holding::Segment)| Stretch {
            duration_s: segment.duration_s,
            t_k: segment.air_t_k,
            face: face(index),
        };
        segments.iter().enumerate().map(stretch).collect()
    };
    let content = |substance: &Substance,
                   start: f64,
                   stretches: &[Stretch]|
     -> Result<Vec<[f64; PROFILES]>, ChainError> {
        let mut out = vec![[start, 0.0, 0.0]; plan.times_s.len()];
        sorption::content_profile(substance, start, stretches, plan.times_s, &mut out)?;
        Ok(out)
    };
    let left = if volatile > 0.0 {
        content(&substance(draw[Root::VolatileDiffusivity]), 1.0, &stretches(&|_| 0.0))?
    } else {
        vec![[1.0, 0.0, 0.0]; plan.times_s.len()]
    };
    let at_face = |index: usize| match plan.segments[index].kind {
        HoldingKind::Immersed | HoldingKind::WrappedWet => draw[Root::LiquidUptake].max(isotherm.saturated),
        // A sprayed film keeps the face as wet as a liquid does for as long as it is there; it is soon gone.
        _ => isotherm.content(segments[index].relative_humidity),
    };
    let water = content(&substance(draw[Root::Diffusivity]), fresh, &stretches(&at_face))?;
    let density = draw[Root::Density];
    let water_strain = |gained: f64| sorption::linear_strain(gained, density, LIQUID_WATER_KG_M3);
    Ok(left
        .iter()
        .zip(&water)
        .map(|(left, water)| {
            let even = |k: usize, value: f64| if k == 0 { value } else { 0.0 };
            let lost: [f64; PROFILES] = std::array::from_fn(|k| volatile * (even(k, 1.0) - left[k]));
            let gained: [f64; PROFILES] = std::array::from_fn(|k| water[k] - even(k, fresh));
            Exchange {
                profile: std::array::from_fn(|k| {
                    lost[k] * constants.volatile_strain_ratio - water_strain(gained[k])
                }),
                byproduct: response::mean(&lost) * constants.volatile_strain_ratio,
                water: -water_strain(response::mean(&gained)),
                mass_change: response::mean(&gained) - response::mean(&lost),
            }
        })
        .collect())
}
