//! One sample from the start of mixing to the last moment at which the tray could leave the mouth.
//!
//! Mixing: heat balance of powder, water and bowl, then the mix drifts to the room. Seating: conduction across tooth,
//! material and tray coupled to the cure. Working time belongs to the mix in the room, readiness to the slowest place in
//! the mouth, so the two do not keep a constant ratio.

use kernel::cure::{self, CureLaw, CureState, Induction, Kamal, time_to_alpha_isothermal};
use kernel::mixing::{MixParts, OpenMix, Target, advance_open, mixed_temperature_k, time_to};
use kernel::set::{self, Layer, SetProblem, SetRun};
use libm::pow;

use crate::agar::{self, Film, Sol};
use crate::constants::Constants;
use crate::error::ChainError;
use crate::roots::Root;
use crate::space::Draw;

/// How long setting is followed, s from seating. A place that has not set by then counts as not set.
pub const HORIZON_S: f64 = 1200.0;

/// How long a mix in the room is followed, s.
pub const OPEN_HORIZON_S: f64 = 3600.0;

/// A mix of powder and water, or two pastes at room temperature.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum MixKind {
    /// Powder and water; the mass of powder only scales what the bowl takes.
    PowderAndWater {
        /// Powder, kg.
        powder_kg: f64,
    },
    /// Pastes kept in the room.
    Pastes,
    /// Agar from its last bath.
    Sol,
}

/// What meets the material of the tray in the mouth.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Second {
    /// Nothing.
    None,
    /// A second viscosity of the same class, mixed at the same time, thin over the tooth.
    Together,
    /// A putty that has already set stands behind the wash.
    OnPutty,
    /// Hot agar from the syringe under alginate.
    AgarFilm,
}

/// How the materials are brought to the teeth: the same for every sample.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Manner {
    /// Mixing of the material in the tray.
    pub mix: MixKind,
    /// The second material.
    pub second: Second,
    /// Seating when it is stamped or forced by the clock, s.
    pub seat_s: Option<f64>,
}

/// What one sample says about mixing and setting. Times are from the start of mixing unless the name says otherwise.
#[derive(Clone, Debug)]
pub struct Mouth {
    /// Mix at the end of mixing, K.
    pub mix_t_k: f64,
    /// Duration of mixing, s.
    pub mixing_s: f64,
    /// End of working in the room, s.
    pub working_end_s: f64,
    /// When the rest in the bowl loses its tack, s.
    pub bowl_set_s: f64,
    /// Tray in place, s.
    pub seat_s: f64,
    /// From seating until the slowest place may be removed, s; infinite when it does not set by the horizon.
    pub ready_after_seat_s: f64,
    /// Agar of the tray as it leaves its last bath.
    pub sol: Option<Sol>,
    /// Agar film under alginate.
    pub film: Option<Film>,
    /// Rate law of this sample.
    pub law: CureLaw,
    /// Conversion of the mix when it was seated.
    pub seated_conversion: f64,
    /// The run in the mouth, from seating.
    pub run: SetRun,
}

/// Runs one sample.
///
/// # Errors
/// When a kernel refuses a number; the validated ranges keep that from happening.
pub fn to_removal(draw: &Draw, constants: &Constants, manner: &Manner) -> Result<Mouth, ChainError> {
    let Seated { law, open, sol, start, seat_s, .. } = seated(draw, constants, manner)?;
    let mixing_s = draw[Root::MixingTime];
    let to = |law: &CureLaw, target| time_to(law, &open, target, OPEN_HORIZON_S).unwrap_or(OPEN_HORIZON_S);
    let working = Target::Alpha(draw[Root::WorkingConversion]);
    let mut working_end_s = to(&law, working);
    let bowl_set_s = to(&law, Target::Alpha(constants.reference_conversion));
    let run = set::run(&problem(draw, constants, manner, &law, start, open.temperature_k(seat_s)));
    let mut ready_after_seat_s = run.set_at_s.unwrap_or(f64::INFINITY);
    let mut film = None;
    match manner.second {
        Second::None | Second::OnPutty => {}
        Second::Together => {
            let wash = law_of(draw, constants, draw[Root::WashReferenceTime]);
            working_end_s = working_end_s.min(to(&wash, working));
            let start = advance_open(&wash, wash.fresh(), &open, 0.0, seat_s);
            ready_after_seat_s = ready_after_seat_s.max(film_set_s(draw, &wash, start, &run));
        }
        Second::AgarFilm => {
            let under = agar::film(draw, constants, open.temperature_k(seat_s))?;
            ready_after_seat_s = ready_after_seat_s.max(under.gelled_after_seat_s);
            film = Some(under);
        }
    }
    Ok(Mouth {
        mix_t_k: open.temperature_k(mixing_s),
        mixing_s,
        working_end_s,
        bowl_set_s,
        seat_s,
        ready_after_seat_s,
        sol,
        film,
        law,
        seated_conversion: start.alpha,
        run,
    })
}

/// Temperatures, K, of tooth, material and tray from the pulp outward, and degrees of cure of the material, at moments after seating.
pub type Field = ([f64; set::TOOTH_CELLS + set::MIX_CELLS + set::TRAY_CELLS], [f64; set::MIX_CELLS]);

/// One sample through the thickness at each of these moments, s after seating.
///
/// # Errors
/// When a kernel refuses a number.
pub fn fields(
    draw: &Draw,
    constants: &Constants,
    manner: &Manner,
    after_s: &[f64],
) -> Result<Vec<Field>, ChainError> {
    let Seated { law, open, start, seat_s, .. } = seated(draw, constants, manner)?;
    let at_s = |horizon_s: f64| SetProblem {
        horizon_s,
        ..problem(draw, constants, manner, &law, start, open.temperature_k(seat_s))
    };
    Ok(after_s.iter().map(|&s| set::at_the_horizon(&at_s(s))).collect())
}

/// Least degree of cure and mean temperature, K, at moments from the start of mixing, s, and when the tray is in place: in the room until
/// then, in the mouth from then on.
///
/// # Errors
/// When a kernel refuses a number.
pub fn from_mix(
    draw: &Draw,
    constants: &Constants,
    manner: &Manner,
    from_mix_s: &[f64],
) -> Result<(Vec<[f64; 2]>, f64), ChainError> {
    let Seated { law, open, fresh, start, seat_s, .. } = seated(draw, constants, manner)?;
    let run = set::run(&problem(draw, constants, manner, &law, start, open.temperature_k(seat_s)));
    let at = |&from_mix_s: &f64| {
        if from_mix_s <= seat_s {
            let state = advance_open(&law, fresh, &open, 0.0, from_mix_s);
            return [state.alpha, open.temperature_k(from_mix_s)];
        }
        let there = run.at(from_mix_s - seat_s);
        [there.min_alpha, there.mix_t_k]
    };
    Ok((from_mix_s.iter().map(at).collect(), seat_s))
}

/// A sample at the moment at which its tray is seated.
struct Seated {
    law: CureLaw,
    open: OpenMix,
    sol: Option<Sol>,
    fresh: CureState,
    start: CureState,
    seat_s: f64,
}

fn seated(draw: &Draw, constants: &Constants, manner: &Manner) -> Result<Seated, ChainError> {
    let law = law(draw, constants);
    let sol = match manner.mix {
        MixKind::Sol => Some(agar::sol(draw, constants)?),
        _ => None,
    };
    let open = OpenMix {
        t0_k: sol.map_or_else(|| start_temperature_k(draw, constants, manner.mix), |sol| sol.mean_k),
        room_k: draw[Root::RoomTemperature],
        tau_s: draw[Root::MixRelaxation],
    };
    let fresh = match sol {
        Some(sol) => CureState { alpha: 1.0 - sol.mean_share, ..law.fresh() },
        None => law.fresh(),
    };
    let seat_s = manner.seat_s.unwrap_or(draw[Root::SeatTime]).max(draw[Root::MixingTime]);
    let start = advance_open(&law, fresh, &open, 0.0, seat_s);
    Ok(Seated { law, open, sol, fresh, start, seat_s })
}

/// When a thin film on the tooth has set along the temperatures of the tooth side, s from seating.
fn film_set_s(draw: &Draw, law: &CureLaw, start: CureState, run: &SetRun) -> f64 {
    let needed = draw[Root::ReadyConversion];
    let step_s = run.horizon_s / (run.trace.len() - 1) as f64;
    let mut state = start;
    for (index, pair) in run.trace.windows(2).enumerate() {
        let after = cure::advance(law, state, pair[0].tooth_side_t_k, pair[1].tooth_side_t_k, step_s);
        if after.alpha >= needed {
            let share = ((needed - state.alpha) / (after.alpha - state.alpha)).clamp(0.0, 1.0);
            return (index as f64 + share) * step_s;
        }
        state = after;
    }
    f64::INFINITY
}

/// The rate law whose isothermal time to the reference conversion is that of the product at the reference temperature.
///
/// More water dilutes and delays: the time goes as the ratio to a power. The discrepancy of the model acts on the time.
pub fn law(draw: &Draw, constants: &Constants) -> CureLaw {
    law_of(draw, constants, draw[Root::ReferenceTime])
}

/// Moisture speeds polysulfide and condensation silicone: the time goes as the humidity over one half to a negative power.
fn law_of(draw: &Draw, constants: &Constants, reference_s: f64) -> CureLaw {
    let dilution = pow(draw[Root::MixRatio] / constants.ratio_reference, draw[Root::RatioExponent]);
    let moisture = pow(draw[Root::RoomHumidity].clamp(0.05, 1.0) / 0.5, -draw[Root::HumidityExponent]);
    let reference_s = reference_s * dilution * moisture * draw[Root::SetTimeDiscrepancy];
    let energy = draw[Root::ActivationEnergy];
    product_law(&Setting {
        reference_s,
        reference_t_k: constants.reference_temperature_k,
        reference_conversion: constants.reference_conversion,
        induction_share: draw[Root::InductionShare],
        seed_share: draw[Root::SeedShare],
        activation_j_mol: energy,
        // Growth of agar has an energy of its own; elsewhere induction and cure share one.
        growth_j_mol: constants.growth_energy_j_mol.unwrap_or(energy),
        m: constants.order_m,
        n: constants.order_n,
        heat_j_kg: draw[Root::SettingHeat],
    })
}

/// How a material sets.
pub struct Setting {
    /// Time to the reference conversion at the reference temperature, s.
    pub reference_s: f64,
    /// Reference temperature, K.
    pub reference_t_k: f64,
    /// Reference conversion.
    pub reference_conversion: f64,
    /// Share of that time in which the retarder is used up.
    pub induction_share: f64,
    /// Uncatalysed rate over the catalysed one.
    pub seed_share: f64,
    /// Activation energy of the induction, J/mol.
    pub activation_j_mol: f64,
    /// Activation energy of the cure, J/mol.
    pub growth_j_mol: f64,
    /// Order of autocatalysis.
    pub m: f64,
    /// Order in what is left.
    pub n: f64,
    /// Heat of the cure, J/kg.
    pub heat_j_kg: f64,
}

/// The rate law with this time to the reference conversion.
pub fn product_law(setting: &Setting) -> CureLaw {
    let (share, t_ref_k) = (setting.induction_share, setting.reference_t_k);
    let unit = CureLaw {
        induction: None,
        kamal: Kamal {
            k1_ref_per_s: setting.seed_share,
            k2_ref_per_s: 1.0,
            e1_j_mol: setting.growth_j_mol,
            e2_j_mol: setting.growth_j_mol,
            t_ref_k,
            m: setting.m,
            n: setting.n,
        },
        heat_j_kg: setting.heat_j_kg,
    };
    let unit_s = time_to_alpha_isothermal(&unit, t_ref_k, setting.reference_conversion);
    let mut law = unit.scaled(unit_s / ((1.0 - share) * setting.reference_s), 1.0);
    if share > 0.0 {
        law.induction = Some(Induction {
            tau_ref_s: share * setting.reference_s,
            e_j_mol: setting.activation_j_mol,
            t_ref_k,
        });
    }
    law
}

fn start_temperature_k(draw: &Draw, constants: &Constants, kind: MixKind) -> f64 {
    let room_k = draw[Root::RoomTemperature];
    match kind {
        MixKind::Pastes | MixKind::Sol => room_k,
        MixKind::PowderAndWater { powder_kg } => mixed_temperature_k(&MixParts {
            powder_kg,
            powder_c_j_kgk: constants.powder_capacity_j_kgk,
            powder_t_k: room_k,
            water_kg: powder_kg * draw[Root::MixRatio],
            water_t_k: draw[Root::WaterTemperature],
            // A larger mix wets more of its bowl: a face goes as the mass to two thirds.
            vessel_j_k: draw[Root::VesselCapacity]
                * pow(powder_kg * (1.0 + draw[Root::MixRatio]) / USUAL_MIX_KG, 2.0 / 3.0),
            vessel_t_k: room_k,
        }),
    }
}

/// The mix for which the part of the bowl that follows it is stated, kg.
const USUAL_MIX_KG: f64 = 0.06;

/// Temperature held behind the prepared surface, K: that of the body, or of a model on a bench, which is the same throughout.
pub fn inside_k(draw: &Draw) -> f64 {
    match draw[Root::MouthTemperature] {
        core_k if core_k > 0.0 => core_k,
        _ => draw[Root::ToothTemperature],
    }
}

/// Temperature outside the tray while it is on the teeth, K: air of the mouth, or of the room around a model.
pub fn outside_k(draw: &Draw) -> f64 {
    match draw[Root::MouthAir] {
        air_k if air_k > 0.0 => air_k,
        _ => draw[Root::RoomTemperature],
    }
}

/// Thinner layers than this are a smear that the mesh cannot carry, m.
pub const THINNEST_M: f64 = 1e-4;

fn problem(
    draw: &Draw,
    constants: &Constants,
    manner: &Manner,
    law: &CureLaw,
    start: CureState,
    mix_t0_k: f64,
) -> SetProblem {
    let gel = draw[Root::GelConversion];
    let tray = Layer {
        thickness_m: draw[Root::TrayWall],
        k_w_mk: constants.tray_conductivity_w_mk,
        rho_kg_m3: constants.tray_density_kg_m3,
        c_j_kgk: constants.tray_capacity_j_kgk,
    };
    let of_material = |thickness_m: f64| Layer {
        thickness_m,
        k_w_mk: draw[Root::Conductivity],
        rho_kg_m3: draw[Root::Density],
        c_j_kgk: draw[Root::Capacity],
    };
    // Before a set putty, that putty is what lies behind the layer that sets.
    let (mix, tray) = match manner.second {
        Second::OnPutty => {
            (of_material(draw[Root::WashThickness].max(THINNEST_M)), of_material(draw[Root::Relief]))
        }
        _ => (of_material(draw[Root::Relief]), tray),
    };
    let (outer_h_w_m2k, outer_t_k) = match manner.mix {
        MixKind::Sol => (draw[Root::CoolantTransfer], draw[Root::CoolantTemperature]),
        _ => (draw[Root::MouthTransfer], outside_k(draw)),
    };
    SetProblem {
        tooth: Layer {
            thickness_m: draw[Root::ToothThickness],
            k_w_mk: draw[Root::ToothConductivity],
            rho_kg_m3: constants.tooth_density_kg_m3,
            c_j_kgk: constants.tooth_capacity_j_kgk,
        },
        mix,
        tray,
        tooth_t0_k: draw[Root::ToothTemperature],
        mix_t0_k,
        tray_t0_k: draw[Root::RoomTemperature],
        inner_t_k: inside_k(draw),
        outer_h_w_m2k,
        outer_t_k,
        law: *law,
        start,
        alpha_gel: gel,
        alpha_set: draw[Root::ReadyConversion].max(gel),
        horizon_s: HORIZON_S,
    }
}
