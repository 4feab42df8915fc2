//! Conduction, cure, induction and the heat balance of the mix.

use kernel::cure::{self, CureLaw, CureState, Induction, Kamal, time_to_alpha_isothermal};
use kernel::mixing::{MixParts, OpenMix, Target, mixed_temperature_k, time_to};
use kernel::set::Stack;
use kernel::set::{self, Layer, SetProblem, run_cells, run_stack};
use kernel::{GAS_CONSTANT, ZERO_CELSIUS};

use crate::{CheckError, Input, unknown_word};

pub(crate) fn compute(id: &str, input: &Input) -> Result<f64, CheckError> {
    match id {
        "slab-series" => slab_series(input),
        "slab-convection" => slab_convection(input),
        "three-layers" => three_layers(input),
        "contact-temperature" => contact_temperature(),
        "isothermal-cure" => isothermal_cure(input),
        "autocatalytic-closed-form" => Ok(closed_form(input.number("t_s")?)),
        "adiabatic-cure" => adiabatic_cure(input),
        "induction-integral" => induction_integral(input),
        "set-coupled" => set_coupled(input),
        "mix-temperature" => mix_temperature(input),
        _ => Err(CheckError::Unknown(id.to_owned())),
    }
}

fn no_cure() -> CureLaw {
    CureLaw {
        induction: None,
        kamal: Kamal {
            k1_ref_per_s: 0.0,
            k2_ref_per_s: 0.0,
            e1_j_mol: 0.0,
            e2_j_mol: 0.0,
            t_ref_k: 300.0,
            m: 1.0,
            n: 1.0,
        },
        heat_j_kg: 0.0,
    }
}

/// Three equal layers of a slab of unit width and diffusivity 1e-3 m2/s, from 301 K towards 300 K.
fn unit_slab(horizon_s: f64) -> SetProblem {
    let third = Layer { thickness_m: 1.0 / 3.0, k_w_mk: 1.0, rho_kg_m3: 1.0, c_j_kgk: 1e3 };
    SetProblem {
        tooth: third,
        mix: third,
        tray: third,
        tooth_t0_k: 301.0,
        mix_t0_k: 301.0,
        tray_t0_k: 301.0,
        inner_t_k: 300.0,
        outer_h_w_m2k: 0.0,
        outer_t_k: 300.0,
        law: no_cure(),
        start: CureState { induction: 1.0, alpha: 0.0 },
        alpha_gel: 0.5,
        alpha_set: 0.9,
        horizon_s,
    }
}

fn slab_series(input: &Input) -> Result<f64, CheckError> {
    let p = unit_slab(input.number("fo")? * 1e3);
    let stack = Stack::<120>::new([p.tooth, p.mix, p.tray], [40, 40, 40], f64::INFINITY, f64::INFINITY);
    let t_k = run_stack::<40, 40, 40, 120>(&stack, &p, 16.0).1;
    let cell = (input.number("x")? * 120.0).round() as usize - 1;
    Ok(stack.interface_t_k(&t_k, cell.min(118)) - 300.0)
}

fn slab_convection(input: &Input) -> Result<f64, CheckError> {
    let p = unit_slab(input.number("fo")? * 1e3);
    let stack = Stack::<60>::new([p.tooth, p.mix, p.tray], [20, 20, 20], 0.0, input.number("bi")?);
    let t_k = run_stack::<20, 20, 20, 60>(&stack, &p, 16.0).1;
    match input.word("place")? {
        "centre" => Ok(stack.inner_surface_t_k(&t_k, 300.0) - 300.0),
        "surface" => Ok(stack.outer_surface_t_k(&t_k, 300.0) - 300.0),
        other => Err(unknown_word("place", other)),
    }
}

fn composite(horizon_s: f64) -> SetProblem {
    let layer = |thickness_m, k_w_mk, rho_kg_m3, c_j_kgk| Layer { thickness_m, k_w_mk, rho_kg_m3, c_j_kgk };
    SetProblem {
        tooth: layer(3e-3, 0.9, 2100.0, 1200.0),
        mix: layer(4e-3, 0.5, 1150.0, 3400.0),
        tray: layer(2e-3, 0.2, 1180.0, 1460.0),
        tooth_t0_k: ZERO_CELSIUS + 35.0,
        mix_t0_k: ZERO_CELSIUS + 23.0,
        tray_t0_k: ZERO_CELSIUS + 23.0,
        inner_t_k: ZERO_CELSIUS + 37.0,
        outer_h_w_m2k: 8.0,
        outer_t_k: ZERO_CELSIUS + 30.0,
        ..unit_slab(horizon_s)
    }
}

fn three_layers(input: &Input) -> Result<f64, CheckError> {
    let p = composite(input.number("t_s")?);
    let layers = [p.tooth, p.mix, p.tray];
    let place = input.word("place")?;
    let stack = Stack::<192>::new(layers, [48, 96, 48], f64::INFINITY, p.outer_h_w_m2k);
    let t_k = run_stack::<48, 96, 48, 192>(&stack, &p, 16.0).1;
    face(&stack, &t_k, [47, 95, 143], place, p.outer_t_k)
}

fn face<const N: usize>(
    stack: &Stack<N>,
    t_k: &[f64; N],
    cells: [usize; 3],
    place: &str,
    outer_t_k: f64,
) -> Result<f64, CheckError> {
    let k = match place {
        "tooth/mix" => stack.interface_t_k(t_k, cells[0]),
        "mix centre" => stack.interface_t_k(t_k, cells[1]),
        "mix/tray" => stack.interface_t_k(t_k, cells[2]),
        "outer face" => stack.outer_surface_t_k(t_k, outer_t_k),
        other => return Err(unknown_word("place", other)),
    };
    Ok(k - ZERO_CELSIUS)
}

/// The interface two hundredths of a second after contact, on a mesh that is fine against the depth reached.
fn contact_temperature() -> Result<f64, CheckError> {
    let mut p = composite(0.02);
    for layer in [&mut p.tooth, &mut p.mix, &mut p.tray] {
        layer.thickness_m = 1e-3;
    }
    let stack = Stack::<192>::new([p.tooth, p.mix, p.tray], [64, 64, 64], 0.0, 0.0);
    let t_k = run_stack::<64, 64, 64, 192>(&stack, &p, 16.0).1;
    Ok(stack.interface_t_k(&t_k, 63) - ZERO_CELSIUS)
}

fn isothermal_cure(input: &Input) -> Result<f64, CheckError> {
    let mut law = no_cure();
    law.kamal.k1_ref_per_s = 1e-3;
    law.kamal.k2_ref_per_s = 3e-2;
    law.kamal.m = input.number("m")?;
    law.kamal.n = input.number("n")?;
    Ok(time_to_alpha_isothermal(&law, 300.0, input.number("alpha")?))
}

fn closed_form(t_s: f64) -> f64 {
    let mut law = no_cure();
    law.kamal.k1_ref_per_s = 1e-3;
    law.kamal.k2_ref_per_s = 3e-2;
    let mut state = CureState { induction: 1.0, alpha: 0.0 };
    let steps = 400;
    for _ in 0..steps {
        state = cure::advance(&law, state, 300.0, 300.0, t_s / f64::from(steps));
    }
    state.alpha
}

/// A 0-dimensional mix that keeps its heat, stepped with the cure fed back into its temperature.
fn adiabatic_cure(input: &Input) -> Result<f64, CheckError> {
    let kamal = Kamal {
        k1_ref_per_s: 4.0e5 * (-52_000.0 / (GAS_CONSTANT * 296.15)).exp(),
        k2_ref_per_s: 2.0e7 * (-52_000.0 / (GAS_CONSTANT * 296.15)).exp(),
        e1_j_mol: 52_000.0,
        e2_j_mol: 52_000.0,
        t_ref_k: 296.15,
        m: 0.8,
        n: 1.4,
    };
    let law = CureLaw { induction: None, kamal, heat_j_kg: 25_000.0 };
    let start_k = input.number("start_c")? + ZERO_CELSIUS;
    let rise_k = match input.word("walls")? {
        "adiabatic" => law.heat_j_kg / 1400.0,
        "isothermal" => 0.0,
        other => return Err(unknown_word("walls", other)),
    };
    let target = input.number("alpha")?;
    let mut state = CureState { induction: 1.0, alpha: 0.0 };
    let (mut t_s, step_s) = (0.0, 0.02);
    while state.alpha < target && t_s < 2000.0 {
        let t0_k = start_k + rise_k * state.alpha;
        let guess = cure::advance(&law, state, t0_k, t0_k, step_s);
        let next = cure::advance(&law, state, t0_k, start_k + rise_k * guess.alpha, step_s);
        let share = ((target - state.alpha) / (next.alpha - state.alpha)).min(1.0);
        t_s += share * step_s;
        state = next;
    }
    Ok(t_s)
}

fn induction_integral(input: &Input) -> Result<f64, CheckError> {
    let induction = Induction { tau_ref_s: 120.0, e_j_mol: 50_000.0, t_ref_k: 296.15 };
    let law = CureLaw { induction: Some(induction), ..no_cure() };
    match input.word("course")? {
        "held" => Ok(1.0 / induction.rate(308.15)),
        "warming to the room" => {
            let mix = OpenMix { t0_k: 296.15, room_k: 308.15, tau_s: 60.0 };
            time_to(&law, &mix, Target::InductionEnd, 600.0)
                .ok_or(CheckError::Model("not by 600 s".to_owned()))
        }
        "ramp" => {
            let (mut state, mut t_s, step_s) = (law.fresh(), 0.0, 0.05);
            let at = |t_s: f64| 296.15 + 0.05 * t_s;
            while state.induction < 1.0 && t_s < 600.0 {
                let (used, left_s) = induction.advance(state.induction, at(t_s), at(t_s + step_s), step_s);
                state.induction = used;
                t_s += step_s - left_s;
            }
            Ok(t_s)
        }
        other => Err(unknown_word("course", other)),
    }
}

/// The two coupled cases of `peers/set_coupled.py` on the production mesh.
fn set_coupled(input: &Input) -> Result<f64, CheckError> {
    let layer = |thickness_m, k_w_mk, rho_kg_m3, c_j_kgk| Layer { thickness_m, k_w_mk, rho_kg_m3, c_j_kgk };
    let kamal = |k1_ref_per_s, k2_ref_per_s, e_j_mol, t_ref_k, m, n| Kamal {
        k1_ref_per_s,
        k2_ref_per_s,
        e1_j_mol: e_j_mol,
        e2_j_mol: e_j_mol,
        t_ref_k,
        m,
        n,
    };
    let base = SetProblem {
        tooth: layer(3e-3, 0.9, 2100.0, 1200.0),
        tray: layer(2e-3, 0.2, 1180.0, 1460.0),
        tooth_t0_k: ZERO_CELSIUS + 34.0,
        tray_t0_k: ZERO_CELSIUS + 23.0,
        outer_h_w_m2k: 10.0,
        outer_t_k: ZERO_CELSIUS + 32.0,
        ..composite(600.0)
    };
    let p = match input.word("case")? {
        "silicone" => SetProblem {
            mix: layer(3e-3, 0.30, 1450.0, 1300.0),
            mix_t0_k: ZERO_CELSIUS + 23.0,
            law: CureLaw {
                induction: None,
                kamal: kamal(1.0e-3, 1.8e-2, 50e3, 298.15, 0.9, 1.4),
                heat_j_kg: 15e3,
            },
            start: CureState { induction: 1.0, alpha: 0.05 },
            alpha_set: 0.90,
            ..base
        },
        "alginate" => SetProblem {
            mix: layer(4e-3, 0.67, 1180.0, 3200.0),
            mix_t0_k: ZERO_CELSIUS + 21.0,
            law: CureLaw {
                induction: Some(Induction { tau_ref_s: 100.0, e_j_mol: 47e3, t_ref_k: 296.15 }),
                kamal: kamal(3.1e-3, 9.3e-2, 47e3, 296.15, 1.0, 2.0),
                heat_j_kg: 2e3,
            },
            start: CureState { induction: 0.45, alpha: 0.0 },
            alpha_set: 0.92,
            ..base
        },
        other => return Err(unknown_word("case", other)),
    };
    let run = run_cells::<{ set::TOOTH_CELLS }, { set::MIX_CELLS }, { set::TRAY_CELLS }, 16>(&p, 1.0);
    run.set_at_s.ok_or(CheckError::Model("not set by the horizon".to_owned()))
}

fn mix_temperature(input: &Input) -> Result<f64, CheckError> {
    let ratio = input.number("ratio")?;
    let parts = MixParts {
        powder_kg: 0.02,
        powder_c_j_kgk: 950.0,
        powder_t_k: ZERO_CELSIUS + 23.0,
        water_kg: 0.02 * ratio,
        water_t_k: ZERO_CELSIUS + 10.0,
        vessel_j_k: 0.0,
        vessel_t_k: ZERO_CELSIUS + 23.0,
    };
    Ok(mixed_temperature_k(&parts) - ZERO_CELSIUS)
}
