//! An impression between mouth and stone: drying, swelling, leaching, exudation and cooling.
//!
//! ```text
//! ∂c/∂t = D ∂²c/∂x²,   0 < x < L;   D ∂c/∂x(0) = J;   ∂c/∂x(L) = 0
//! J = h_m (M/R) [a_w(c_s) p_sat(T) - p_∞] / T_film
//! a_w(c_s) = c_s / (c_s + b),   b = s c_0 (1/a_0 - 1)
//! C dT/dt = h (T_∞ - T) + ε σ (T_∞⁴ - T⁴) + h_tray (T_∞ - T) - J L_v(T)
//! S(t) = S_∞ [1 - exp(-√(t/τ))]
//! dV/V = ∫J dt / (ρ_w L) + S
//! ```
//!
//! A slab of thickness L with one face open towards the cavity, the other against a tray that no
//! water passes. At removal the water is uniform and slab and tray share one temperature. Each
//! segment sets the air; h and h_m are those of [`crate::surface`].
//!
//! In a liquid, salts leave and water is drawn in and given back: `holding/bath.rs` has the equations. Water that a
//! liquid gave or took is the same c, and s is the share of the salts left at the face: 1 in a gel that has met
//! no bath. Between baths the salts level out; a gel that no bath has touched does not pay for that.
//!
//! In air the salts stay behind and concentrate. The activity is Raoult's with b fixed by that of the fresh
//! gel, a_0, and by s: while dilute it is 1 - (1 - a_0) c_0 / c_s, and it stays between 0 and 1 in a gel that
//! dries out. The surface water c_s is the root of the quadratic that joins J to diffusion through half
//! the first cell.
//!
//! The surface has the temperature of the lump of slab and tray. That holds while the coefficient of
//! the open face, evaporation included, is small against k/L: at 5 mm it is an eighth of it in still air,
//! a quarter in a weak draught and three quarters before a fan, where the surface runs cooler than
//! the lump and the loss is overstated by some per cent. Water is not carried by the shrinking of
//! the gel, and C stays that of the fresh gel: good to about a tenth of the water lost.
//!
//! Exuded water is independent of the humidity and leaves the concentration of what stays as it is
//! (syneresis squeezes out the fluid of the gel). It drains: it counts as lost mass and volume.
//!
//! Eight cells that widen from the open face, ROS2 in time: second order in both. Steps start at 2 s in
//! each segment and grow by a tenth of the time since its start; a surface that dries out within a step
//! shortens it. Against fine meshes and steps the water lost is within 0.03 % (0.2 % where the buoyancy
//! of the air at the face changes its sign), the temperature within 0.02 K until the gel dries out. In a bath the eight
//! cells keep the salts within 0.006 and the water within a hundredth of what the salts draw in.
//!
//! Where in the slab the volume is lost is told by three numbers, the projection of (c_0 - c)/ρ_w on the profiles of
//! [`crate::response`]; exuded water is lost evenly. In the wall of a held die the eight cells leave 2 % of what the same loss
//! would do evenly; being uneven takes half of that and more within the first minutes.
//!
//! Surface evaporation: Crank 1975, section 4.3.6. The square root of time in S is a choice of shape:
//! exudation is fast at first and goes on for days.
//!
//! ```
//! // A gel that lost 3 % of its volume and is free to shrink is a little over 1 % shorter.
//! let shorter = kernel::holding::free_linear_shrinkage(0.03);
//! assert!((shorter - 0.0101).abs() < 1e-4);
//! ```

mod bath;
mod check;
mod sheet;
mod surroundings;
mod walk;

pub use check::HoldError;

use crate::moist_air::LIQUID_WATER_KG_M3;
use crate::response::PROFILES;
use crate::surface::Face;
use sheet::Sheet;
use walk::{Course, Steps, march};

/// Emissivity of a wet gel or an elastomer in the thermal infrared.
const EMISSIVITY: f64 = 0.95;

/// Overall coefficient through a closed bag, W/(m² K): the air gap and radiation inside (2 + 5.5) in
/// series with natural convection and radiation outside (4 + 5.5) give 4.2.
const BAG_W_M2K: f64 = 4.2;

/// Places of the sheet: the temperature and eight cells.
const PLACES: usize = 9;

/// Ratio of the widths of neighbouring cells: the first is 3 % of the thickness.
const WIDENING: f64 = 1.4;

/// The steps of `hold`.
const STEPS: Steps = Steps { first_s: 2.0, growth: 0.1 };

/// A step that differs by more from its first-order solution, in temperature or in water (as a share of
/// that of the fresh gel), is halved. Only a gel that dries out asks for it: the usual steps differ by
/// half of this or less.
const ERROR_K: f64 = 0.25;
const ERROR_WATER_SHARE: f64 = 0.005;

/// A step of this share of 1 s plus the time since the start of the segment is not halved again: the
/// gel then stays as it is. Only one that has lost all its water long ago comes to that, and no
/// input asks for more than some ten thousand steps.
const SHORTEST: f64 = 2e-3;

/// An impression and its tray.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gel {
    /// Thickness of the slab L, m, 2e-4 to 0.1.
    pub thickness_m: f64,
    /// Area over perimeter of the open face, m, 1e-3 to 0.2. A draught is taken to run along the side of
    /// the square with that ratio, four times as long.
    pub plate_length_m: f64,
    /// Density, kg/m³, 500 to 5000.
    pub rho_kg_m3: f64,
    /// Specific heat, J/(kg K), 500 to 10 000.
    pub c_j_kgk: f64,
    /// Water per mass of gel; 0 for elastomers, which only cool.
    pub water_fraction: f64,
    /// Diffusivity of water in the gel, m²/s, 1e-12 to 1e-7.
    pub diffusivity_m2_s: f64,
    /// Water activity a_0 of the fresh gel, 0.5 to 0.9999.
    pub water_activity: f64,
    /// Final exuded volume per volume S_∞; positive exudes, negative takes up;
    /// -0.5 to 0.5.
    pub syneresis_volume_strain: f64,
    /// Time constant of syneresis τ, s, 1 to 1e9.
    pub syneresis_tau_s: f64,
    /// What a liquid does to it.
    pub bath: Bath,
    /// Heat capacity of the tray per area, J/(m² K), to 1e6.
    pub tray_j_m2k: f64,
    /// Heat-transfer coefficient behind the tray, W/(m² K), radiation included, to 1000.
    pub tray_h_w_m2k: f64,
}

/// A gel in a liquid.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bath {
    /// Diffusivity of the salts D_s, m²/s, 1e-12 to 1e-7; some 1e-9 in a water gel.
    pub salt_diffusivity_m2_s: f64,
    /// Cooperative diffusivity D_c, m²/s, 1e-12 to 1e-5: of the network that swells. 1e-8 to 3e-8 in an ionic
    /// gel of alginate.
    pub swelling_diffusivity_m2_s: f64,
    /// Volume that the salts of the fresh gel draw in from pure water, per volume of the gel, S; -0.5 to 0.5.
    pub osmotic_volume_strain: f64,
    /// Volume that the gel gains in the end, once the salts are in balance with the liquid, per volume; -0.5
    /// to 0.5, negative for a network that contracts.
    pub network_volume_strain: f64,
    /// Mass of the salts that can leave per mass of the fresh gel, 0 to 0.5.
    pub salt_fraction: f64,
}

impl Bath {
    /// For a material that no liquid enters.
    pub const DRY: Self = Self {
        salt_diffusivity_m2_s: 1e-9,
        swelling_diffusivity_m2_s: 1e-8,
        osmotic_volume_strain: 0.0,
        network_volume_strain: 0.0,
        salt_fraction: 0.0,
    };
}

/// What the open face meets.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Exposure {
    /// In the room.
    Open {
        /// Speed of the draught, m/s; 0 for still air, to 20.
        air_speed_m_s: f64,
        /// Which way the open face looks.
        face: Face,
    },
    /// In a closed bag or box: the air does not move (Sh = 1) and has the humidity of the segment, as
    /// wet tissue or a salt solution keeps it. Heat leaves through the bag.
    Sealed,
    /// Wet with a liquid at rest.
    Wet {
        /// Osmotic strength of the liquid over that of the salts of the fresh gel, s_bath; 0 for water, to 20. For a
        /// finite film, that at which the gel drinks it.
        strength: f64,
        /// Liquid there is, kg/m² of open face; infinite for a bath. A finite film, of a spray or a wet cloth, lies in a
        /// bag: heat leaves through the bag, and the salts stay in the gel, as the film fills up at
        /// once. When it is drunk the segment goes on as `Sealed`.
        supply_kg_m2: f64,
    },
}

/// A stretch of time under one condition.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Segment {
    /// Duration, s. The last segment goes on for as long as an output time asks.
    pub duration_s: f64,
    /// Temperature of the air or the liquid, K, 273.15 to 333.15.
    pub air_t_k: f64,
    /// Relative humidity of the air at the face, 0 to 1; after a film of liquid that of the bag.
    pub relative_humidity: f64,
    /// In the room, sealed or wet.
    pub exposure: Exposure,
}

/// The state at one time.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct HoldPoint {
    /// Time since removal, s.
    pub t_s: f64,
    /// Net water that left through the open face, kg/m²; negative if more condensed or was drunk.
    pub evaporated_kg_m2: f64,
    /// The part of it that a liquid took, kg/m²; negative if the gel drank. The rest went to the air of a room or a bag.
    pub to_liquid_kg_m2: f64,
    /// Exuded volume per volume of the fresh gel.
    pub exuded_volume_strain: f64,
    /// Temperature of slab and tray, K.
    pub temperature_k: f64,
    /// Loss of volume per volume of the fresh gel; positive shrinks.
    pub volume_strain: f64,
    /// The same through the thickness, from the open face (0) to the tray (1): coefficients of
    /// [`crate::response::profiles`] with `volume_strain` as their mean.
    pub profile: [f64; PROFILES],
    /// Water at the surface of the gel, kg/m³.
    pub surface_water_kg_m3: f64,
    /// Change of mass per mass of the fresh gel, salts included; negative is a loss.
    pub mass_change_fraction: f64,
    /// Mean share of the salts of the fresh gel that it holds; 1 if no bath has touched it.
    pub salt_share: f64,
}

/// The impression at `out_times_s` since removal (ascending), held through `segments` in order.
///
/// `start_t_k` is its temperature at removal, 273.15 to 343.15. `coefficient_factor`, 0 to 20, multiplies the coefficients of heat,
/// vapour and salts of the air or the liquid at the open face (not radiation, not the tray): they are known to ±40 %.
///
/// # Errors
/// [`HoldError`] for a number outside its range, no segment, output times out of order or another
/// count of points. `out` is then untouched.
pub fn hold(
    gel: &Gel,
    start_t_k: f64,
    coefficient_factor: f64,
    segments: &[Segment],
    out_times_s: &[f64],
    out: &mut [HoldPoint],
) -> Result<(), HoldError> {
    check::check(gel, start_t_k, coefficient_factor, segments, out_times_s, out)?;
    let course = Course { gel, start_t_k, factor: coefficient_factor, segments, steps: STEPS };
    march::<PLACES>(&course, &sheet_of(gel, WIDENING), out_times_s, out);
    Ok(())
}

/// Share of its water that a plane sheet has lost at Fourier number `fourier` (D t/L^2) when the flux at its face is
/// proportional to the water there, `biot` = L h/D: the diffusion and the time stepping of [`hold`] on a fine mesh (129
/// places, 512 steps) with the one law that has a closed form, Crank 1975, equation 4.53.
pub fn surface_evaporation_share(biot: f64, fourier: f64) -> f64 {
    sheet::share_lost::<129>(biot, fourier, 512)
}

/// Linear shrinkage of a gel free to shrink alike in all directions: 1 - (1 - dV/V)^(1/3).
pub fn free_linear_shrinkage(volume_strain: f64) -> f64 {
    1.0 - libm::cbrt(1.0 - volume_strain)
}

/// Exuded volume strain at a time since removal.
fn exuded(gel: &Gel, t_s: f64) -> f64 {
    -gel.syneresis_volume_strain * libm::expm1(-(t_s / gel.syneresis_tau_s).sqrt())
}

impl Gel {
    /// Volume of its water per volume of fresh gel, at most 1: no more can be lost.
    pub fn water_volume_share(&self) -> f64 {
        (self.rho_kg_m3 * self.water_fraction / LIQUID_WATER_KG_M3).min(1.0)
    }
}

/// b of the activity of the fresh gel, kg/m³; none for a material without water.
fn fresh_solute_kg_m3(gel: &Gel) -> Option<f64> {
    let water_kg_m3 = gel.rho_kg_m3 * gel.water_fraction;
    (water_kg_m3 > 0.0).then_some((1.0 / gel.water_activity - 1.0) * water_kg_m3)
}

fn sheet_of<const M: usize>(gel: &Gel, widening: f64) -> Sheet<M> {
    let heat_capacity = gel.rho_kg_m3 * gel.c_j_kgk * gel.thickness_m + gel.tray_j_m2k;
    sheet::sheet(gel.thickness_m, gel.diffusivity_m2_s, heat_capacity, widening)
}

#[cfg(test)]
mod tests;
