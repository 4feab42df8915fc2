//! Removal: recovery, set, force, tearing, the flange of the tray, and slender stone.

use kernel::removal::memory::{ELASTOMER_TEST, GEL_TEST, Habit, Memory};
use kernel::removal::separation::breaking_force_n;
use kernel::removal::spectrum::{Branch, Loading, Spectrum};
use kernel::removal::tear::trousers_energy_j_m2;
use kernel::removal::{confined_modulus_pa, flange_deflection_m, strain_over_undercut};
use ledger::Parameters;
use terms::{Fact, ImpressionClass, UndercutPlace, Withdrawal};

use crate::cases::{Case, held, on};
use crate::published::{forecast, middle};
use crate::{CheckError, Input, unknown_word};

pub(crate) fn compute(id: &str, input: &Input) -> Result<f64, CheckError> {
    match id {
        "standard-linear-solid" => linear_solid(input),
        "set-by-load-time" => by_load_time(input),
        "set-of-alginate" => of_alginate(input),
        "strain-over-undercut" => {
            Ok(100.0 * strain_over_undercut(input.number("undercut_mm")?, input.number("clearance_mm")?))
        }
        "confined-modulus" => Ok(1e-6
            * confined_modulus_pa(
                1e6 * input.number("modulus_mpa")?,
                input.number("poisson")?,
                1e-3 * input.number("height_mm")?,
                1e-3 * input.number("clearance_mm")?,
            )),
        "trousers" => Ok(trousers_energy_j_m2(1e3 * input.number("force_n_mm")?)),
        "flange" => Ok(1e6
            * flange_deflection_m(
                1e3 * input.number("pressure_kpa")?,
                1e-3 * input.number("height_mm")?,
                1e-3 * input.number("wall_mm")?,
                1e9 * input.number("modulus_gpa")?,
            )),
        "slender-stone" => Ok(breaking_force_n(
            1e-3 * input.number("diameter_mm")?,
            1e-3 * input.number("length_mm")?,
            1e6 * input.number("strength_mpa")?,
        )),
        "force-of-an-arch" => Ok(ARCH_SIDES * SLOPE_AND_FRICTION * force_n(class(input, "class")?)?),
        "order-of-forces" => Ok(force_n(class(input, "class")?)? / force_n(class(input, "over")?)?),
        "snap-and-slow-pull" => ways(input),
        "order-of-sets" => Ok(left_um(class(input, "class")?, Withdrawal::Steady)?
            / left_um(class(input, "over")?, Withdrawal::Steady)?),
        _ => Err(CheckError::Unknown(id.to_owned())),
    }
}

/// Both sides of fourteen teeth.
const ARCH_SIDES: f64 = 28.0;
/// Slope above the undercut plus friction, as supposed.
const SLOPE_AND_FRICTION: f64 = 0.8;

fn class(input: &Input, name: &str) -> Result<ImpressionClass, CheckError> {
    let word = input.word(name)?;
    ImpressionClass::from_word(word).ok_or_else(|| unknown_word("class", word))
}

/// A solid of one branch: stress in MPa, or strain left a while after the load is let go.
fn linear_solid(input: &Input) -> Result<f64, CheckError> {
    let model = |error: kernel::removal::RemovalError| CheckError::Model(error.to_string());
    let branch = Branch { modulus: 0.4, tau_s: 20.0 };
    let solid = Spectrum::new(0.8, &[branch]).map_err(model)?;
    let response = solid.load(&Loading { strain: 0.2, ramp_s: 1.0, hold_s: 5.0, release_s: 0.0 });
    match input.word("what")? {
        "peak" => Ok(response.peak),
        "held" => Ok(response.held),
        "retardation" => Ok(solid.retardation_s().first().copied().unwrap_or(f64::NAN)),
        "strain" => Ok(response.strain_at(input.number("after_s")?)),
        other => Err(unknown_word("what", other)),
    }
}

/// The class calibrated on its own rows, at their middles.
fn memory(class: ImpressionClass) -> Result<Memory, CheckError> {
    let model = |error: ledger::LedgerError| CheckError::Model(error.to_string());
    let parameters: Parameters = ledger::shipped().map_err(model)?;
    let scope = class.word().replace(' ', "-");
    let of = |scope: &str, name: &str| {
        parameters.find(&[scope], name).map(|(_, found)| found.median()).map_err(model)
    };
    let habit = Habit {
        recovery: of(&scope, "removal.recovery")?,
        slow_share: of(&scope, "removal.slow_share")?,
        fast_s: of("removal", "fast_time")?,
        slow_s: of(&scope, "removal.slow_time")?,
        strain_exponent: of("removal", "strain_exponent")?,
        contact_exponent: of(&scope, "removal.contact_exponent")?,
        network_exponent: of("removal", "network_exponent")?,
    };
    let test = if class.is_hydrocolloid() { GEL_TEST } else { ELASTOMER_TEST };
    Memory::calibrate(&habit, &test).map_err(|error| CheckError::Model(error.to_string()))
}

/// Strain left two minutes after the standard strain held for ten seconds, less that after one, in per cent of height.
fn by_load_time(input: &Input) -> Result<f64, CheckError> {
    let memory = memory(class(input, "class")?)?;
    let set = |hold_s: f64, strain: f64| {
        let loading = Loading { strain, hold_s, ..ELASTOMER_TEST.loading };
        100.0 * memory.left(&loading, 1.0, 120.0).total()
    };
    match input.word("what")? {
        "ten seconds over one" => Ok(set(10.0, 0.3) - set(1.0, 0.3)),
        "60 over 16 % of strain" => Ok(set(1.0, 0.6) - set(1.0, 0.164)),
        other => Err(unknown_word("what", other)),
    }
}

fn of_alginate(input: &Input) -> Result<f64, CheckError> {
    let loading =
        Loading { strain: input.number("strain")?, hold_s: input.number("hold_s")?, ..GEL_TEST.loading };
    Ok(100.0 * memory(ImpressionClass::Alginate)?.left(&loading, 1.0, 35.0).total())
}

/// An undercut of half a millimetre on the prepared tooth under 3 mm of the class, poured after an hour.
fn pulled(class: ImpressionClass, way: Withdrawal, undercut_mm: f64) -> Case {
    let mut case = on(class, held(terms::HoldingKind::OpenAir, 10.0));
    case.situation.undercut_m = Fact::Known(1e-3 * undercut_mm);
    case.situation.undercut_at = Fact::Known(UndercutPlace::Abutment);
    case.route.plan.withdrawal = Fact::Known(way);
    case.route.plan.remove_after_s = Fact::Known(600.0);
    case
}

fn left_um(class: ImpressionClass, way: Withdrawal) -> Result<f64, CheckError> {
    Ok(1e6 * middle(&forecast(&pulled(class, way, 0.5))?, "removal.at_die")?)
}

fn ways(input: &Input) -> Result<f64, CheckError> {
    let class = class(input, "class")?;
    let way = |name: &str| -> Result<Withdrawal, CheckError> {
        let word = input.word(name)?;
        Withdrawal::from_word(word).ok_or_else(|| unknown_word(name, word))
    };
    Ok(left_um(class, way("way")?)? / left_um(class, way("over")?)?)
}

/// Force across on one side of a rigid tooth over 0.3 mm of undercut, N.
fn force_n(class: ImpressionClass) -> Result<f64, CheckError> {
    let mut case = pulled(class, Withdrawal::Steady, 0.3);
    case.situation.mobility = Fact::Known(terms::Mobility::Sound);
    middle(&forecast(&case)?, "removal.force")
}
