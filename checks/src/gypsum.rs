//! Stoichiometry, porosity, strength, hydration, expansion, and the heat of the stone.

use kernel::ZERO_CELSIUS;
use kernel::gypsum::{
    DELAYED_TAU_S, Expansion, Hydration, Mix, READING_S, WATER_BOUND, chemical_volume_change, wet_strength_1h,
};
use kernel::mould_heat::{Mould, Pour, Solid, solve};
use kernel::stone_growth::{Skeleton, Stay, grown, let_through};
use kernel::stone_strength::{drying_pa, wet_pa};

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
        "two-springs-lame" => {
            // Pressure on the wall of a plane annulus of 4 mm held at 7 mm, for each unit of u(a)/a; stone of ratio 1/4.
            let (a2, b2, e, nu) = (16.0, 49.0, 1e6, 0.499);
            let plane_pa = e / ((1.0 + nu) * (1.0 - 2.0 * nu));
            let ring_pa = plane_pa * (a2 + (1.0 - 2.0 * nu) * b2) / (b2 - a2);
            let stone_pa = 1e6 * input.number("stone_mpa")? / (1.25 * 0.5);
            Ok(5.0 * let_through(stone_pa, ring_pa))
        }
        "stone-against-mould" => stone_against_mould(input),
        "plaster-that-dries" => {
            Ok(1e-6 * drying_pa(wet_strength_1h(0.50).pa, 2.0, input.number("water_left")?, 0.1))
        }
        "strength-with-age" => {
            let hydration = typical();
            let [young, old] = ["young_min", "old_min"]
                .map(|name| Ok::<_, CheckError>(wet_pa(35e6, &hydration, 60.0 * input.number(name)?, 2.0)));
            let dried = drying_pa(old?, 2.0, input.number("water_left")?, 0.1);
            Ok(young? / dried)
        }
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

/// A die stone of the middle of the road.
fn typical() -> Hydration {
    Hydration {
        needle_set_s: 600.0,
        needle_share: 0.4,
        induction_s: 165.0,
        exponent: 1.5,
        final_conversion: 0.95,
    }
}

/// Share of the growth that comes out of a mould, for a stone that has hydrated to the end at the reading.
fn stone_against_mould(input: &Input) -> Result<f64, CheckError> {
    let expansion =
        Expansion { at_2h: 1e-3, plateau_ratio: 1.0, rigid_share: 0.5, delayed_tau_s: DELAYED_TAU_S };
    let hydration = Hydration { exponent: 3.0, ..typical() };
    let skeleton = Skeleton { modulus_pa: 1e10, exponent: input.number("exponent")? };
    let stay = Stay { stiffness_pa: 1e10 * input.number("stiffness")?, gain: 1.0, separated_s: READING_S };
    grown(&expansion, &hydration, &skeleton, &stay, READING_S)
        .map(|grown| grown.total() / 1e-3)
        .map_err(|error| CheckError::Model(error.to_string()))
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
