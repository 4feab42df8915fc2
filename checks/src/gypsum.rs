//! Stoichiometry, porosity, strength, hydration, expansion, and the heat of the stone.

use kernel::ZERO_CELSIUS;
use kernel::gypsum::{Hydration, Mix, WATER_BOUND, chemical_volume_change, wet_strength_1h};
use kernel::mould_heat::{Mould, Pour, Solid, solve};

use crate::{CheckError, Input, unknown_word};

pub(crate) fn compute(id: &str, input: &Input) -> Result<f64, CheckError> {
    match id {
        "stoichiometric-water" => Ok(100.0 * WATER_BOUND),
        "chemical-contraction" => Ok(100.0 * chemical_volume_change(input.number("density_kg_m3")?)),
        "porosity" => Ok(mix(input, 2757.0)?.porosity(input.number("expansion")?)),
        "dry-density" => Ok(mix(input, input.number("density_kg_m3")?)?.dry_density_kg_m3(0.0) / 1e3),
        "wet-strength" => Ok(wet_strength_1h(input.number("ratio")?).pa / 1e6),
        "avrami" => avrami(input),
        "needle-and-diffraction" => needle_and_diffraction(),
        "stone-expansion-range" => {
            // At 120 h the plateau is reached: the two-hour value times the ratio, whose spread is taken at its middle.
            let p = input.number("quantile")?;
            Ok(100.0
                * ledger(input, "expansion.two_hours", p)?
                * ledger(input, "expansion.plateau_ratio", 0.5)?)
        }
        "stone-expansion-standard" => {
            Ok(100.0 * ledger(input, "expansion.two_hours", input.number("quantile")?)?)
        }
        "hydration-heat" => Ok(1e-3 * ledger(input, "heat", input.number("quantile")?)?),
        "adiabatic-rise" => {
            let mix = mix(input, 2757.0)?;
            Ok(mix.powder_per_volume_kg_m3() * 118_130.0 / mix.heat_capacity_j_m3k())
        }
        "mould-heat" => mould_heat(input),
        _ => Err(CheckError::Unknown(id.to_owned())),
    }
}

fn mix(input: &Input, powder_kg_m3: f64) -> Result<Mix, CheckError> {
    Ok(Mix { water_powder: input.number("ratio")?, powder_kg_m3, conversion: 1.0 })
}

/// Avrami course with k = 0.0025/s and n = 3 from the start, as a share of the final conversion.
fn avrami(input: &Input) -> Result<f64, CheckError> {
    // k t = 1 at 400 s, where the share is 1 - 1/e.
    let hydration = Hydration {
        needle_set_s: 400.0,
        needle_share: 0.632_120_558_828_557_7,
        induction_s: 0.0,
        exponent: 3.0,
        final_conversion: 1.0,
    };
    Ok(hydration.share(input.number("t_s")?))
}

/// The share hydrated when diffraction sees no more change, for the middle of the ledger's die stone with its needle at 10 min.
fn needle_and_diffraction() -> Result<f64, CheckError> {
    let parameters = ledger::shipped().map_err(|error| CheckError::Model(error.to_string()))?;
    let median = |name: &str| {
        parameters
            .find(&["gypsum-4"], name)
            .map(|(_, distribution)| distribution.median())
            .map_err(|error| CheckError::Model(error.to_string()))
    };
    let hydration = Hydration {
        needle_set_s: 600.0,
        needle_share: median("set.needle_conversion")?,
        induction_s: median("set.start")?,
        exponent: median("set.avrami_exponent")?,
        final_conversion: median("set.final_conversion")?,
    };
    Ok(hydration.share(3600.0))
}

/// A quantile of what the ledger says of a gypsum type.
fn ledger(input: &Input, name: &str, p: f64) -> Result<f64, CheckError> {
    let parameters = ledger::shipped().map_err(|error| CheckError::Model(error.to_string()))?;
    let scope = format!("gypsum-{}", input.number("type")?);
    parameters
        .find(&[scope.as_str()], name)
        .map(|(_, distribution)| distribution.quantile(p))
        .map_err(|error| CheckError::Model(error.to_string()))
}

fn mould_heat(input: &Input) -> Result<f64, CheckError> {
    let solid = |conductivity_w_mk, heat_capacity_j_m3k| Solid { conductivity_w_mk, heat_capacity_j_m3k };
    let hydration = Hydration {
        needle_set_s: 600.0,
        needle_share: 0.4,
        induction_s: 180.0,
        exponent: 3.0,
        final_conversion: 0.95,
    };
    let powder_kg_m3 =
        Mix { water_powder: 0.23, powder_kg_m3: 2757.0, conversion: 1.0 }.powder_per_volume_kg_m3();
    let mould = Mould {
        core_radius_m: 1e-3 * input.number("core_mm")?,
        rubber_m: 3e-3,
        tray_m: 2e-3,
        stone: solid(0.8, powder_kg_m3 * (1090.0 + 0.23 * 4180.0)),
        rubber: solid(0.25, 1400.0 * 1300.0),
        tray: solid(0.2, 1180.0 * 1460.0),
        film_w_m2k: 8.0,
    };
    let room_k = ZERO_CELSIUS + 23.0;
    let pour = Pour { pour_s: 0.0, stone_k: room_k, room_k, heat_j_m3: powder_kg_m3 * 118_000.0 };
    let found = solve(&mould, &hydration, &pour, 60.0 * input.number("minutes")?);
    let split = match input.word("place")? {
        "wall" => found.wall,
        "rubber" => found.rubber,
        "tray" => found.tray,
        other => return Err(unknown_word("place", other)),
    };
    Ok(split.at(0.0) - ZERO_CELSIUS)
}
