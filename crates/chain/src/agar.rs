//! Agar on its way to the tooth: the baths of the tray material, and hot syringe agar under alginate.

use kernel::agar::{Bath, BathPoint, SolGel, gelation_law, through_baths};
use kernel::cure::{CureLaw, Induction};
use kernel::hot_film::{self, HotFilm};
use kernel::set::Layer;
use kernel::tube::{Tube, dwell_s};
use libm::log;

use crate::constants::{AgarConstants, Constants};
use crate::error::ChainError;

use crate::mouth::{self, THINNEST_M};
use crate::roots::Root;
use crate::space::Draw;

/// The tray material of one sample as it leaves its last bath.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sol {
    /// Least share of sol in the tube after storage: what has not melted by then leaves lumps.
    pub least_share: f64,
    /// Mean share of sol when it leaves the last bath.
    pub mean_share: f64,
    /// Mean temperature, K.
    pub mean_k: f64,
    /// Axis of the tube, K.
    pub core_k: f64,
    /// Time in the boiling bath that melts it to the axis, s.
    pub boil_needed_s: f64,
}

/// Agar from the syringe in one sample.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Film {
    /// Gelled throughout, s from seating; infinite when it does not gel by the horizon.
    pub gelled_after_seat_s: f64,
    /// Whether it still flows when the alginate reaches it, so that the two bond.
    pub flows_at_contact: bool,
    /// Hottest surface of the tooth, K.
    pub contact_k: f64,
    /// Warming of the wall of the pulp, K.
    pub pulp_rise_k: f64,
}

/// Share of the gel that may be left at the axis.
const LEFT: f64 = 0.05;

/// Takes a tube from the room through boiling, storage and tempering.
///
/// # Errors
/// When the kernel refuses a number; the validated ranges keep that from happening.
pub fn sol(draw: &Draw, constants: &Constants) -> Result<Sol, ChainError> {
    let agar = of(constants)?;
    let tube = Tube {
        radius_m: 0.5 * draw[Root::TubeDiameter],
        k_w_mk: draw[Root::Conductivity],
        rho_kg_m3: draw[Root::Density],
        c_j_kgk: draw[Root::Capacity],
        h_w_m2k: draw[Root::BathTransfer],
    };
    let cycles = draw[Root::BoilCycles].round().max(1.0);
    let sol_gel = SolGel {
        melt_half_s: draw[Root::MeltHalfTime],
        melt_ref_k: draw[Root::MeltTemperature],
        melt_e_j_mol: agar.melt_energy_j_mol,
        melt_onset_k: agar.melt_onset_k,
        gel_half_s: draw[Root::ReferenceTime] * draw[Root::SetTimeDiscrepancy],
        gel_ref_k: agar.reference_temperature_k,
        gel_e_j_mol: draw[Root::ActivationEnergy],
        cycles: cycles as u32,
        stretch_per_cycle: agar.melt_stretch,
    };
    let bath = |t_k: f64, duration_s: f64| Bath { t_k, duration_s };
    let boil_k = draw[Root::BoilTemperature];
    let baths = [
        bath(boil_k, draw[Root::BoilTime]),
        bath(draw[Root::StoreTemperature], draw[Root::StoreTime]),
        bath(draw[Root::TemperTemperature], draw[Root::TemperTime]),
    ];
    let mut points = [BathPoint::default(); 3];
    let room_k = draw[Root::RoomTemperature];
    through_baths(&tube, &sol_gel, room_k, 0.0, &baths, &mut points)?;
    let [_, stored, tempered] = points;
    let to_axis_s = dwell_s(&tube, room_k, boil_k, draw[Root::MeltTemperature]).unwrap_or(f64::INFINITY);
    Ok(Sol {
        least_share: stored.least_sol,
        mean_share: tempered.mean_sol,
        mean_k: tempered.mean_k,
        core_k: tempered.core_k,
        boil_needed_s: to_axis_s - log(LEFT) / sol_gel.rates_per_s(boil_k).melt,
    })
}

/// Hot agar between tooth and cool alginate at `alginate_k`, which arrives a little after it.
///
/// # Errors
/// When the kernel refuses a number; the validated ranges keep that from happening.
pub fn film(draw: &Draw, constants: &Constants, alginate_k: f64) -> Result<Film, ChainError> {
    let agar = of(constants)?;
    let delay_s = draw[Root::SyringeDelay];
    let problem = HotFilm {
        dentine: Layer {
            thickness_m: draw[Root::ToothThickness],
            k_w_mk: draw[Root::ToothConductivity],
            rho_kg_m3: constants.tooth_density_kg_m3,
            c_j_kgk: constants.tooth_capacity_j_kgk,
        },
        film: Layer {
            thickness_m: draw[Root::WashThickness].max(THINNEST_M),
            k_w_mk: agar.conductivity_w_mk,
            rho_kg_m3: agar.density_kg_m3,
            c_j_kgk: agar.capacity_j_kgk,
        },
        cover: Layer {
            thickness_m: draw[Root::Relief],
            k_w_mk: draw[Root::Conductivity],
            rho_kg_m3: draw[Root::Density],
            c_j_kgk: draw[Root::Capacity],
        },
        dentine_t0_k: draw[Root::ToothTemperature],
        film_t0_k: draw[Root::SyringeTemperature],
        cover_t0_k: alginate_k,
        pulp_h_w_m2k: constants.pulp_transfer_w_m2k,
        pulp_t_k: mouth::inside_k(draw),
        air_h_w_m2k: draw[Root::MouthTransfer],
        air_t_k: mouth::outside_k(draw),
        delay_s,
        outer_h_w_m2k: draw[Root::MouthTransfer],
        outer_t_k: mouth::outside_k(draw),
        law: film_law(draw, agar),
        alpha_set: agar.ready_conversion,
        horizon_s: delay_s + FILM_HORIZON_S,
    };
    hot_film::check(&problem)?;
    let run = hot_film::run(&problem);
    Ok(Film {
        gelled_after_seat_s: run.gelled_s.map_or(f64::INFINITY, |s| (s - delay_s).max(0.0)),
        flows_at_contact: run.gel_at_cover < agar.gel_conversion,
        contact_k: run.tooth_peak_k,
        pulp_rise_k: (run.pulp_peak_k - before_k(&problem)).max(0.0),
    })
}

/// Nucleation, faster the further the sol is undercooled, then growth at its own pace.
fn film_law(draw: &Draw, agar: &AgarConstants) -> CureLaw {
    let half_s = draw[Root::WashReferenceTime] * draw[Root::SetTimeDiscrepancy];
    let t_ref_k = agar.reference_temperature_k;
    let growth_s = (1.0 - agar.induction_share) * half_s;
    CureLaw {
        induction: Some(Induction {
            tau_ref_s: agar.induction_share * half_s,
            e_j_mol: agar.activation_energy_j_mol,
            t_ref_k,
        }),
        ..gelation_law(t_ref_k, growth_s, agar.growth_energy_j_mol, 1.0, agar.heat_j_kg)
    }
}

/// How long a film is followed under alginate, s.
const FILM_HORIZON_S: f64 = 600.0;

/// The wall of the pulp before anything hot touches the tooth, K: what it is taken to have been when the film arrives, or what
/// blood keeps it at, whichever is more.
fn before_k(problem: &HotFilm) -> f64 {
    problem.dentine_t0_k.max(problem.pulp_t_k)
}

fn of(constants: &Constants) -> Result<&AgarConstants, ChainError> {
    constants.agar.as_ref().ok_or_else(|| ChainError::Kernel("agar without its constants".to_owned()))
}
