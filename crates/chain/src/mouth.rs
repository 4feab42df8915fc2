//! One sample from the start of mixing to the last moment at which the tray could leave the mouth.
//!
//! Mixing: heat balance of powder, water and bowl, then the mix drifts to the room. Seating: conduction across tooth,
//! material and tray coupled to the cure. Working time belongs to the mix in the room, readiness to the slowest place in
//! the mouth, so the two do not keep a constant ratio.

use kernel::cure::{CureLaw, CureState, Induction, Kamal, time_to_alpha_isothermal};
use kernel::mixing::{MixParts, OpenMix, Target, advance_open, mixed_temperature_k, time_to};
use kernel::set::{self, Layer, SetProblem, SetRun};
use libm::pow;

use crate::constants::Constants;
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
    /// Rate law of this sample.
    pub law: CureLaw,
    /// Conversion of the mix when it was seated.
    pub seated_conversion: f64,
    /// The run in the mouth, from seating.
    pub run: SetRun,
}

/// Runs one sample. `seat_s` replaces the sampled moment of seating when it is stamped or forced by the clock.
pub fn to_removal(draw: &Draw, constants: &Constants, kind: MixKind, seat_s: Option<f64>) -> Mouth {
    let law = law(draw, constants);
    let mixing_s = draw[Root::MixingTime];
    let room_k = draw[Root::RoomTemperature];
    let open = OpenMix {
        t0_k: start_temperature_k(draw, constants, kind),
        room_k,
        tau_s: draw[Root::MixRelaxation],
    };
    let to = |target| time_to(&law, &open, target, OPEN_HORIZON_S).unwrap_or(OPEN_HORIZON_S);
    let working_end_s = to(Target::Alpha(draw[Root::WorkingConversion]));
    let bowl_set_s = to(Target::Alpha(constants.reference_conversion));
    let seat_s = seat_s.unwrap_or(draw[Root::SeatTime]).max(mixing_s);
    let start = advance_open(&law, law.fresh(), &open, 0.0, seat_s);
    let run = set::run(&problem(draw, constants, &law, start, open.temperature_k(seat_s)));
    Mouth {
        mix_t_k: open.temperature_k(mixing_s),
        mixing_s,
        working_end_s,
        bowl_set_s,
        seat_s,
        ready_after_seat_s: run.set_at_s.unwrap_or(f64::INFINITY),
        law,
        seated_conversion: start.alpha,
        run,
    }
}

/// The rate law whose isothermal time to the reference conversion is that of the product at the reference temperature.
///
/// More water dilutes and delays: the time goes as the ratio to a power. The discrepancy of the model acts on the time.
pub fn law(draw: &Draw, constants: &Constants) -> CureLaw {
    let dilution = pow(draw[Root::MixRatio] / constants.ratio_reference, draw[Root::RatioExponent]);
    let reference_s = draw[Root::ReferenceTime] * dilution * draw[Root::SetTimeDiscrepancy];
    let share = draw[Root::InductionShare];
    let energy = draw[Root::ActivationEnergy];
    let t_ref_k = constants.reference_temperature_k;
    let unit = CureLaw {
        induction: None,
        kamal: Kamal {
            k1_ref_per_s: draw[Root::SeedShare],
            k2_ref_per_s: 1.0,
            e1_j_mol: energy,
            e2_j_mol: energy,
            t_ref_k,
            m: constants.order_m,
            n: constants.order_n,
        },
        heat_j_kg: draw[Root::SettingHeat],
    };
    let unit_s = time_to_alpha_isothermal(&unit, t_ref_k, constants.reference_conversion);
    let mut law = unit.scaled(unit_s / ((1.0 - share) * reference_s), 1.0);
    if share > 0.0 {
        law.induction = Some(Induction { tau_ref_s: share * reference_s, e_j_mol: energy, t_ref_k });
    }
    law
}

fn start_temperature_k(draw: &Draw, constants: &Constants, kind: MixKind) -> f64 {
    let room_k = draw[Root::RoomTemperature];
    match kind {
        MixKind::Pastes => room_k,
        MixKind::PowderAndWater { powder_kg } => mixed_temperature_k(&MixParts {
            powder_kg,
            powder_c_j_kgk: constants.powder_capacity_j_kgk,
            powder_t_k: room_k,
            water_kg: powder_kg * draw[Root::MixRatio],
            water_t_k: draw[Root::WaterTemperature],
            vessel_j_k: draw[Root::VesselCapacity],
            vessel_t_k: room_k,
        }),
    }
}

fn problem(draw: &Draw, constants: &Constants, law: &CureLaw, start: CureState, mix_t0_k: f64) -> SetProblem {
    let gel = draw[Root::GelConversion];
    SetProblem {
        tooth: Layer {
            thickness_m: draw[Root::ToothThickness],
            k_w_mk: draw[Root::ToothConductivity],
            rho_kg_m3: constants.tooth_density_kg_m3,
            c_j_kgk: constants.tooth_capacity_j_kgk,
        },
        mix: Layer {
            thickness_m: draw[Root::Relief],
            k_w_mk: draw[Root::Conductivity],
            rho_kg_m3: draw[Root::Density],
            c_j_kgk: draw[Root::Capacity],
        },
        tray: Layer {
            thickness_m: draw[Root::TrayWall],
            k_w_mk: constants.tray_conductivity_w_mk,
            rho_kg_m3: constants.tray_density_kg_m3,
            c_j_kgk: constants.tray_capacity_j_kgk,
        },
        tooth_t0_k: draw[Root::ToothTemperature],
        mix_t0_k,
        tray_t0_k: draw[Root::RoomTemperature],
        inner_t_k: draw[Root::MouthTemperature],
        outer_h_w_m2k: draw[Root::MouthTransfer],
        outer_t_k: draw[Root::MouthAir],
        law: *law,
        start,
        alpha_gel: gel,
        alpha_set: draw[Root::ReadyConversion].max(gel),
        horizon_s: HORIZON_S,
    }
}
