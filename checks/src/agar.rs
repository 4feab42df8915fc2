//! Agar: through its baths, on the tooth, from the tray inwards, and in the room.

use kernel::ZERO_CELSIUS;
use kernel::agar::{Bath, BathPoint, SolGel, gelation_law, through_baths};
use kernel::cure::{CureLaw, CureState, Induction, Kamal, time_to_alpha_isothermal};
use kernel::hot_film::{self, HotFilm};
use kernel::set::{self, Layer, SetProblem};
use kernel::tube::{Rings, Tube, dwell_s};

use crate::gels::{quantile, told};
use crate::{CheckError, Input, unknown_word};

pub(crate) fn compute(id: &str, input: &Input) -> Result<f64, CheckError> {
    match id {
        "tube-series" => tube_series(input),
        "tube-dwell" => tube_dwell(input),
        "tube-diameter" => tube_diameter(),
        "hot-film-wall" => hot_film_wall(input),
        "agar-gel-point" => half_gelled(input),
        "agar-hysteresis" => once_gelled(input),
        "setting-front" => slowest_place(input),
        _ => told(input),
    }
}

/// R = 1 m, k = rho c = 1, so that h is the Biot number and time the Fourier number.
fn unit_tube(radius_m: f64, biot: f64) -> Tube {
    Tube { radius_m, k_w_mk: 1.0, rho_kg_m3: 1.0, c_j_kgk: 1.0, h_w_m2k: biot / radius_m }
}

fn biot(input: &Input) -> f64 {
    input.number("biot").unwrap_or(f64::INFINITY)
}

/// Of a tube that starts at 1 in a bath at 0.
fn tube_series(input: &Input) -> Result<f64, CheckError> {
    let rings = Rings::<48>::new(&unit_tube(1.0, biot(input)));
    let steps = 500;
    let step = rings.chain.step(input.number("fourier")? / f64::from(steps));
    let mut theta = [1.0; 48];
    for _ in 0..steps {
        theta = rings.chain.advance(&step, &theta, &[0.0; 48]).end;
    }
    match input.word("place")? {
        "axis" => Ok(rings.axis(&theta)),
        "surface" => Ok(rings.surface_k(&theta, 0.0)),
        "mean" => Ok(rings.mean(&theta)),
        other => Err(unknown_word("place", other)),
    }
}

/// Fourier number at which the axis keeps a share of the first difference, on the production mesh.
fn tube_dwell(input: &Input) -> Result<f64, CheckError> {
    let until_k = 400.0 - 100.0 * input.number("share")?;
    dwell_s(&unit_tube(1.0, biot(input)), 300.0, 400.0, until_k)
        .ok_or(CheckError::Model("not on the way".to_owned()))
}

/// Dwell of a tube of twice the diameter over that of the single one, held at the surface.
fn tube_diameter() -> Result<f64, CheckError> {
    let dwell = |radius_m: f64| {
        dwell_s(&unit_tube(radius_m, f64::INFINITY), 296.0, 372.0, 363.0)
            .ok_or(CheckError::Model("not on the way".to_owned()))
    };
    Ok(dwell(2.0)? / dwell(1.0)?)
}

/// Rise of the wall of the pulp under a thick hot film, 2 mm of dentine that loses nothing, 30 K hotter.
fn hot_film_wall(input: &Input) -> Result<f64, CheckError> {
    let dentine = Layer { thickness_m: 2e-3, k_w_mk: 0.6, rho_kg_m3: 2200.0, c_j_kgk: 1300.0 };
    let film = Layer { thickness_m: 6e-3, k_w_mk: 0.55, rho_kg_m3: 1050.0, c_j_kgk: 3825.0 };
    let t_k = 305.15;
    let problem = HotFilm {
        dentine,
        film,
        cover: film,
        dentine_t0_k: t_k,
        film_t0_k: t_k + 30.0,
        cover_t0_k: t_k + 30.0,
        pulp_h_w_m2k: 0.0,
        pulp_t_k: t_k,
        air_h_w_m2k: 0.0,
        air_t_k: t_k,
        delay_s: 0.0,
        outer_h_w_m2k: 0.0,
        outer_t_k: t_k,
        law: gelation_law(310.15, 100.0, -300e3, 1.0, 0.0),
        alpha_set: 0.9,
        horizon_s: input.number("t_s")?,
    };
    match input.word("place")? {
        "wall" => Ok(hot_film::run_cells::<24, 20, 20, 64>(&problem, 8.0).0.pulp_peak_k - t_k),
        "surface" => Ok(hot_film::run(&problem).tooth_peak_k - t_k),
        other => Err(unknown_word("place", other)),
    }
}

fn median(name: &str) -> Result<f64, CheckError> {
    quantile("agar", name, 0.5)
}

fn sol_gel() -> Result<SolGel, CheckError> {
    Ok(SolGel {
        melt_half_s: median("melt.half_time")?,
        melt_ref_k: median("melt.temperature")?,
        melt_e_j_mol: median("melt.energy")?,
        melt_onset_k: median("melt.onset")?,
        gel_half_s: median("set.reference_time")?,
        gel_ref_k: median("set.reference_temperature")?,
        gel_e_j_mol: median("set.activation_energy")?,
        cycles: 1,
        stretch_per_cycle: 0.0,
    })
}

/// Time in which half of the sol gels at one temperature, min.
fn half_gelled(input: &Input) -> Result<f64, CheckError> {
    let rate_per_s = sol_gel()?.rates_per_s(input.number("celsius")? + ZERO_CELSIUS).gel;
    Ok(core::f64::consts::LN_2 / rate_per_s / 60.0)
}

/// Least share of sol in a 16 mm tube of gel, or of sol, that went from the room or from the boil into a bath for an hour.
fn once_gelled(input: &Input) -> Result<f64, CheckError> {
    let tube = Tube {
        radius_m: 8e-3,
        k_w_mk: median("thermal.conductivity")?,
        rho_kg_m3: median("thermal.density")?,
        c_j_kgk: median("thermal.capacity")?,
        h_w_m2k: median("bath.transfer")?,
    };
    let (start_c, start_sol) = match input.word("from")? {
        "gel" => (23.0, 0.0),
        "sol" => (99.0, 1.0),
        other => return Err(unknown_word("from", other)),
    };
    let bath = Bath { t_k: input.number("celsius")? + ZERO_CELSIUS, duration_s: 3600.0 };
    let mut point = [BathPoint::default()];
    through_baths(&tube, &sol_gel()?, start_c + ZERO_CELSIUS, start_sol, &[bath], &mut point)
        .map_err(|error| CheckError::Model(error.to_string()))?;
    Ok(point[0].least_sol)
}

/// Where the cell that sets last lies between tooth, 0, and tray, 1, at the middle of the ledger.
fn slowest_place(input: &Input) -> Result<f64, CheckError> {
    let class = input.word("class")?;
    let value = |name: &str| quantile(class, name, 0.5);
    let tooth = Layer {
        thickness_m: quantile("tooth", "thickness", 0.5)?,
        k_w_mk: quantile("tooth", "conductivity", 0.5)?,
        rho_kg_m3: quantile("tooth", "density", 0.5)?,
        c_j_kgk: quantile("tooth", "capacity", 0.5)?,
    };
    let mix = Layer {
        thickness_m: 5e-3,
        k_w_mk: value("thermal.conductivity")?,
        rho_kg_m3: value("thermal.density")?,
        c_j_kgk: value("thermal.capacity")?,
    };
    let tray = Layer { thickness_m: 1e-3, k_w_mk: 36.5, rho_kg_m3: 8150.0, c_j_kgk: 485.0 };
    let agar = class == "agar";
    let (mix_c, outer_h_w_m2k, outer_t_k) = if agar {
        (45.0, quantile("mouth", "coolant_transfer", 0.5)?, quantile("usual", "coolant_temperature", 0.5)?)
    } else {
        (22.0, quantile("mouth", "transfer", 0.5)?, quantile("mouth", "air_temperature", 0.5)?)
    };
    let run = set::run(&SetProblem {
        tooth,
        mix,
        tray,
        tooth_t0_k: quantile("usual", "tooth_temperature", 0.5)?,
        mix_t0_k: mix_c + ZERO_CELSIUS,
        tray_t0_k: 23.0 + ZERO_CELSIUS,
        inner_t_k: quantile("mouth", "core_temperature", 0.5)?,
        outer_h_w_m2k,
        outer_t_k,
        law: law(class)?,
        start: CureState { induction: 0.0, alpha: 0.0 },
        alpha_gel: value("set.gel_conversion")?,
        alpha_set: value("set.ready_conversion")?,
        horizon_s: 1200.0,
    });
    Ok((run.slowest_cell as f64 + 0.5) / set::MIX_CELLS as f64)
}

/// The law of a class with every value at the middle of the ledger.
fn law(class: &str) -> Result<CureLaw, CheckError> {
    let value = |name: &str| quantile(class, name, 0.5);
    let energy = value("set.activation_energy")?;
    let growth = if class == "agar" { value("set.growth_energy")? } else { energy };
    let (t_ref_k, share) = (value("set.reference_temperature")?, value("set.induction_share")?);
    let reference_s = value("set.reference_time")?;
    let unit = CureLaw {
        induction: None,
        kamal: Kamal {
            k1_ref_per_s: value("set.seed_share")?,
            k2_ref_per_s: 1.0,
            e1_j_mol: growth,
            e2_j_mol: growth,
            t_ref_k,
            m: value("set.order_m")?,
            n: value("set.order_n")?,
        },
        heat_j_kg: value("set.heat")?,
    };
    let unit_s = time_to_alpha_isothermal(&unit, t_ref_k, value("set.reference_conversion")?);
    let mut law = unit.scaled(unit_s / ((1.0 - share) * reference_s), 1.0);
    law.induction = Some(Induction { tau_ref_s: share * reference_s, e_j_mol: energy, t_ref_k });
    Ok(law)
}
