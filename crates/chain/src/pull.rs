//! Taking the impression out of the mouth, and the cast out of the impression.
//!
//! The strain over the undercut leaves a displacement of the wall that is lost for good and one that still comes back when the
//! stone is poured. How much is lost hangs on how far the slowest place has cured beyond its gel point: there is no step from
//! "not set" to "set". A share of the displacement is found in the diameter of the die; the rest lies elsewhere.

use kernel::gypsum::{Hydration, wet_strength_1h};
use kernel::removal::memory::{ELASTOMER_TEST, GEL_TEST, Habit, Memory, network_share};
use kernel::removal::separation::{break_probability, breaking_force_n};
use kernel::removal::tear::{Toughness, Web, tear};
use kernel::removal::{Pull, Rubber, Withdrawn, flange_deflection_m, pull_n, withdraw};
use kernel::stone_strength;

use crate::constants::Constants;
use crate::error::ChainError;
use crate::roots::Root;
use crate::space::Draw;

/// One sample pulled out of the mouth.
#[derive(Clone, Copy, Debug)]
pub struct Pulled {
    /// Greatest strain over the undercut.
    pub strain: f64,
    /// Greatest force across on the tooth with the undercut, N.
    pub side_force_n: f64,
    /// Whether the undercut is as deep as the layer: a rigid tray does not come off.
    pub locked: bool,
    /// Chance that a web between teeth tears, away from the margin.
    pub web_tear: f64,
    withdrawn: Withdrawn,
    rubber: Rubber,
    at_die: f64,
}

impl Pulled {
    /// What the strain adds to the diameter of a die poured `recover_s` after removal, m.
    pub fn at_die_m(&self, recover_s: f64) -> f64 {
        self.at_die * self.withdrawn.wall_m(recover_s)
    }

    /// Chance that a slender stone tooth breaks when the cast leaves the impression `age_s` after its stone was mixed.
    ///
    /// The tooth is a slender front tooth, or the prepared one where that breaks more easily. It passes the same undercut as in the
    /// mouth, with no ligament to give way, in rubber that has cured on.
    ///
    /// # Errors
    /// As [`out_of_mouth`].
    pub fn break_chance(
        &self,
        draw: &Draw,
        constants: &Constants,
        hydration: &Hydration,
        age_s: f64,
    ) -> Result<f64, ChainError> {
        let cured = Rubber { network: 1.0, ..self.rubber };
        let withdrawn = withdraw(&pull(draw, f64::INFINITY), &cured)?;
        let pull_n = pull_n(withdrawn.side_force_n, constants.slope, constants.friction);
        let side_n = draw[Root::SideShare] * draw[Root::SeparationShare] * pull_n;
        let one_hour_pa = wet_strength_1h(draw[Root::StoneRatio]).pa;
        let strength_pa = draw[Root::StoneBending]
            * stone_strength::wet_pa(one_hour_pa, hydration, age_s, draw[Root::StoneAgeExponent]);
        let breaking_n =
            |diameter: Root, length: Root| breaking_force_n(draw[diameter], draw[length], strength_pa);
        let front_n = breaking_n(Root::SlenderDiameter, Root::SlenderLength);
        let weakest_n = front_n.min(breaking_n(Root::DieDiameter, Root::DieHeight));
        Ok(break_probability(side_n, weakest_n, draw[Root::StoneSpread]))
    }
}

/// Pulls one sample out of the mouth with its slowest place at conversion `least`.
///
/// # Errors
/// When the kernel refuses a number; the validated ranges keep that from happening.
pub fn out_of_mouth(
    draw: &Draw,
    constants: &Constants,
    is_gel: bool,
    least: f64,
) -> Result<Pulled, ChainError> {
    let rubber = rubber(draw, constants, is_gel, least)?;
    let withdrawn = withdraw(&pull(draw, draw[Root::ToothStiffness]), &rubber)?;
    let web =
        Web { thickness_m: draw[Root::WebThickness], strain: withdrawn.strain, ramp_s: draw[Root::Ramp] };
    let toughness = Toughness {
        tear_energy_j_m2: constants.tear_energy_j_m2,
        reference_per_s: draw[Root::TearReferenceRate],
        rate_exponent: draw[Root::TearRateExponent],
        spread: draw[Root::WebSpread],
    };
    Ok(Pulled {
        strain: withdrawn.strain,
        side_force_n: withdrawn.side_force_n,
        locked: withdrawn.locked,
        web_tear: tear(&web, constants.stiffness_pa, &toughness).probability,
        withdrawn,
        rubber,
        at_die: draw[Root::UndercutShare] * draw[Root::RemovalDiscrepancy],
    })
}

/// How much narrower a die comes out because the flange springs back, m: what still presses when the material gels has bent both
/// flanges.
pub fn spring_back_m(draw: &Draw) -> f64 {
    2.0 * draw[Root::FlangePressure] / flange_pa_per_m(draw)
}

/// Stiffness of the flange at the middle of the die, Pa of even pressure per metre.
///
/// A plate clamped at the floor of the tray bends at the relative distance `x` from there by `x^2 (x^2 - 4 x + 6) / 3` of what
/// its edge does; the curve of the arch stiffens it.
pub fn flange_pa_per_m(draw: &Draw) -> f64 {
    let height_m = draw[Root::FlangeHeight];
    let edge_m = flange_deflection_m(1.0, height_m, draw[Root::TrayWall], draw[Root::TrayModulus]);
    let x = ((draw[Root::Ceiling] + 0.5 * draw[Root::DieHeight]) / height_m).min(1.0);
    draw[Root::FlangeStiffening] / (edge_m * x * x * (x * x - 4.0 * x + 6.0) / 3.0)
}

fn rubber(draw: &Draw, constants: &Constants, is_gel: bool, least: f64) -> Result<Rubber, ChainError> {
    let test = if is_gel { GEL_TEST } else { ELASTOMER_TEST };
    let fast_s = draw[Root::FastTime];
    let habit = Habit {
        recovery: draw[Root::Recovery],
        slow_share: draw[Root::SlowShare],
        fast_s,
        slow_s: draw[Root::SlowTime].max(1.05 * fast_s),
        strain_exponent: draw[Root::StrainExponent],
        contact_exponent: draw[Root::ContactExponent],
        network_exponent: draw[Root::NetworkExponent],
    };
    let (gel, ready) = (draw[Root::GelConversion], draw[Root::ReadyConversion]);
    let network = if ready > gel { network_share(least, gel, ready).min(10.0) } else { 1.0 };
    Ok(Rubber {
        modulus_pa: constants.stiffness_pa,
        poisson: draw[Root::Poisson].min(0.4999),
        memory: Memory::calibrate(&habit, &test)?,
        network,
    })
}

fn pull(draw: &Draw, tooth_stiffness_n_m: f64) -> Pull {
    let ramp_s = draw[Root::Ramp];
    Pull {
        undercut_m: draw[Root::Undercut].max(0.0),
        clearance_m: draw[Root::Relief],
        height_m: draw[Root::BulgeHeight],
        length_m: draw[Root::BulgeLength],
        tooth_stiffness_n_m,
        ramp_s,
        hold_s: draw[Root::HoldShare] * ramp_s,
        release_s: ramp_s,
        passes: draw[Root::RockingPasses].max(1.0),
        rocking: draw[Root::Rocking].max(1.0),
    }
}
