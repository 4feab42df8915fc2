//! An impression between mouth and stone: drying, swelling, exudation and cooling.
//!
//! ```text
//! ∂c/∂t = D ∂²c/∂x²,   0 < x < L;   D ∂c/∂x(0) = J;   ∂c/∂x(L) = 0
//! J = h_m (M/R) [a_w(c_s) p_sat(T) - p_∞] / T_film
//! a_w(c_s) = c_s / (c_s + b),   b = c_0 (1/a_0 - 1)
//! C dT/dt = h (T_∞ - T) + ε σ (T_∞⁴ - T⁴) + h_tray (T_∞ - T) - J L_v(T)
//! S(t) = S_∞ [1 - exp(-√(t/τ))]
//! dV/V = ∫J dt / (ρ_w L) + S
//! ```
//!
//! A slab of thickness L with one face open towards the cavity, the other against a tray that no
//! water passes. At removal the water is uniform and slab and tray share one temperature. Each
//! segment sets the air; h and h_m are those of [`crate::surface`].
//!
//! The salts stay behind and concentrate. The activity is Raoult's with b fixed by that of the fresh
//! gel, a_0: while dilute it is 1 - (1 - a_0) c_0 / c_s, and it stays between 0 and 1 in a gel that
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
//! of the air at the face changes its sign), the temperature within 0.02 K until the gel dries out.
//!
//! Surface evaporation: Crank 1975, section 4.3.6. The square root of time in S is a choice of shape:
//! exudation is fast at first and goes on for days.
//!
//! ```
//! // A gel that lost 3 % of its volume and is free to shrink is a little over 1 % shorter.
//! let shorter = kernel::holding::free_linear_shrinkage(0.03);
//! assert!((shorter - 0.0101).abs() < 1e-4);
//! ```

mod sheet;

use crate::moist_air::{LIQUID_WATER_KG_M3, STANDARD_PRESSURE_PA, latent_heat_j_kg};
use crate::surface::{
    Face, RoomAir, film_vapour_kg_m3, forced_heat_w_m2k, radiation_w_m2, room_air, room_transfer,
    stagnant_mass_m_s,
};
use sheet::{Loss, Sheet, State};

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
    /// Heat capacity of the tray per area, J/(m² K), to 1e6.
    pub tray_j_m2k: f64,
    /// Heat-transfer coefficient behind the tray, W/(m² K), radiation included, to 1000.
    pub tray_h_w_m2k: f64,
}

/// How the open face meets the air.
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
}

/// A stretch of time under one condition.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Segment {
    /// Duration, s. The last segment goes on for as long as an output time asks.
    pub duration_s: f64,
    /// Temperature of the air, K, 273.15 to 333.15.
    pub air_t_k: f64,
    /// Relative humidity of the air at the face, 0 to 1.
    pub relative_humidity: f64,
    /// In the room or sealed.
    pub exposure: Exposure,
}

/// The state at one time.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct HoldPoint {
    /// Time since removal, s.
    pub t_s: f64,
    /// Water evaporated, kg/m² of open face; negative if water condensed.
    pub evaporated_kg_m2: f64,
    /// Exuded volume per volume of the fresh gel.
    pub exuded_volume_strain: f64,
    /// Temperature of slab and tray, K.
    pub temperature_k: f64,
    /// Loss of volume per volume of the fresh gel; positive shrinks.
    pub volume_strain: f64,
    /// Water at the surface of the gel, kg/m³.
    pub surface_water_kg_m3: f64,
    /// Change of mass per mass of the fresh gel; negative is a loss.
    pub mass_change_fraction: f64,
}

/// What was wrong with the input of [`hold`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum HoldError {
    /// A number outside its range.
    OutOfRange {
        /// The segment, counted from 0; none for the gel, the start or the factor.
        segment: Option<usize>,
        /// The field.
        field: &'static str,
        /// The number given.
        given: f64,
        /// The least allowed.
        low: f64,
        /// The greatest allowed.
        high: f64,
    },
    /// No segment was given.
    NoSegment,
    /// As many points as output times are needed.
    PointCount {
        /// Output times given.
        times: usize,
        /// Points given.
        points: usize,
    },
    /// Output times must lie between 0 and 1e8 s and ascend.
    OutputTime {
        /// The place of the first that is not.
        index: usize,
        /// Its value, s.
        given: f64,
    },
}

impl core::fmt::Display for HoldError {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        match *self {
            Self::OutOfRange { segment, field, given, low, high } => {
                if let Some(index) = segment {
                    write!(f, "segment {index}: ")?;
                }
                write!(f, "{field} is {given}, allowed are {low} to {high}")
            }
            Self::NoSegment => write!(f, "no segment given, at least one is needed"),
            Self::PointCount { times, points } => {
                write!(f, "{points} points given for {times} output times, the counts must agree")
            }
            Self::OutputTime { index, given } => {
                write!(f, "output time {index} is {given} s, allowed are 0 to 1e8 s in ascending order")
            }
        }
    }
}

impl core::error::Error for HoldError {}

/// The impression at `out_times_s` since removal (ascending), held through `segments` in order.
///
/// `start_t_k` is its temperature at removal, 273.15 to 343.15. `coefficient_factor`, 0 to 20, multiplies the coefficients of heat
/// and vapour of the air at the open face (not radiation, not the tray): they are known to ±40 %.
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
    check(gel, start_t_k, coefficient_factor, segments, out_times_s, out)?;
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

/// What happens to which gel, and in which steps.
struct Course<'a> {
    gel: &'a Gel,
    start_t_k: f64,
    factor: f64,
    segments: &'a [Segment],
    steps: Steps,
}

/// The first step of a segment, and the growth of a step per time since the start of the segment.
struct Steps {
    first_s: f64,
    growth: f64,
}

fn sheet_of<const M: usize>(gel: &Gel, widening: f64) -> Sheet<M> {
    let heat_capacity = gel.rho_kg_m3 * gel.c_j_kgk * gel.thickness_m + gel.tray_j_m2k;
    sheet::sheet(gel.thickness_m, gel.diffusivity_m2_s, heat_capacity, widening)
}

/// Runs through the segments until the last output time; the state at the end of the last step.
fn march<const M: usize>(
    course: &Course,
    sheet: &Sheet<M>,
    out_times_s: &[f64],
    out: &mut [HoldPoint],
) -> State<M> {
    let Course { gel, segments, steps, .. } = course;
    let fresh_kg_m3 = gel.rho_kg_m3 * gel.water_fraction;
    let mut state = sheet::uniform::<M>(course.start_t_k, fresh_kg_m3);
    let mut next = 0;
    let mut start_s = 0.0;
    for (index, segment) in segments.iter().enumerate() {
        let end_s = if index + 1 == segments.len() { f64::INFINITY } else { segment.duration_s };
        let surroundings = Surroundings::new(gel, sheet.surface_m_s, course.factor, segment);
        let loss = |t_k: f64, water_kg_m3: f64| surroundings.loss(t_k, water_kg_m3);
        let mut t_s = 0.0;
        let mut longest_s = f64::INFINITY;
        while next < out.len() && t_s < end_s {
            let stop_s = (t_s + (steps.first_s + steps.growth * t_s).min(longest_s)).min(end_s);
            let dt_s = stop_s - t_s;
            let after = tried(sheet, &state, dt_s, fresh_kg_m3, &loss);
            if after.is_none() && dt_s > SHORTEST * (1.0 + t_s) {
                longest_s = 0.5 * dt_s;
                continue;
            }
            longest_s = 2.0 * dt_s;
            while next < out.len() && out_times_s[next] - start_s <= stop_s {
                // A step of its own from the last state, so that reading does not move the others. A time
                // on the border of two segments may be off by a rounding.
                let share_s = (out_times_s[next] - start_s - t_s).max(0.0);
                let seen = tried(sheet, &state, share_s, fresh_kg_m3, &loss).unwrap_or(state);
                let surface_kg_m3 = surroundings.surface_water_kg_m3(seen.u[0], seen.u[1]);
                out[next] = point(gel, out_times_s[next], seen.u[0], seen.evaporated_kg_m2, surface_kg_m3);
                next += 1;
            }
            state = after.unwrap_or(state);
            t_s = stop_s;
        }
        start_s += segment.duration_s;
    }
    state
}

/// The state after a step; none if the step was too long.
fn tried<const M: usize>(
    sheet: &Sheet<M>,
    state: &State<M>,
    dt_s: f64,
    fresh_kg_m3: f64,
    loss: &impl Fn(f64, f64) -> Loss,
) -> Option<State<M>> {
    let mut after = *state;
    let (error_k, error_kg_m3) = sheet::step(sheet, &mut after, dt_s, loss);
    (error_k <= ERROR_K && error_kg_m3 <= ERROR_WATER_SHARE * fresh_kg_m3).then_some(after)
}

fn point(gel: &Gel, t_s: f64, temperature_k: f64, evaporated_kg_m2: f64, surface_kg_m3: f64) -> HoldPoint {
    let exuded_volume_strain = exuded(gel, t_s);
    let volume_strain = evaporated_kg_m2 / (LIQUID_WATER_KG_M3 * gel.thickness_m) + exuded_volume_strain;
    HoldPoint {
        t_s,
        evaporated_kg_m2,
        exuded_volume_strain,
        temperature_k,
        volume_strain,
        surface_water_kg_m3: surface_kg_m3,
        mass_change_fraction: -volume_strain * LIQUID_WATER_KG_M3 / gel.rho_kg_m3,
    }
}

/// What the open face and the tray meet during a segment.
struct Surroundings {
    air: RoomAir,
    plate_length_m: f64,
    factor: f64,
    contact: Contact,
    tray_w_m2k: f64,
    /// b of the activity, kg/m³; none for a material without water.
    solute_kg_m3: Option<f64>,
    /// Conductance of half the first cell, m/s.
    half_cell_m_s: f64,
}

enum Contact {
    Room { face: Face, forced_w_m2k: f64 },
    Bag { mass_m_s: f64 },
}

impl Surroundings {
    fn new(gel: &Gel, half_cell_m_s: f64, factor: f64, segment: &Segment) -> Self {
        let air = room_air(segment.air_t_k, segment.relative_humidity, STANDARD_PRESSURE_PA);
        let contact = match segment.exposure {
            Exposure::Open { air_speed_m_s, face } => {
                let forced_w_m2k = forced_heat_w_m2k(&air, air_speed_m_s, 4.0 * gel.plate_length_m);
                Contact::Room { face, forced_w_m2k }
            }
            Exposure::Sealed => Contact::Bag { mass_m_s: stagnant_mass_m_s(&air, gel.plate_length_m) },
        };
        let water_kg_m3 = gel.rho_kg_m3 * gel.water_fraction;
        Self {
            air,
            plate_length_m: gel.plate_length_m,
            factor,
            contact,
            tray_w_m2k: gel.tray_h_w_m2k,
            solute_kg_m3: (water_kg_m3 > 0.0).then_some((1.0 / gel.water_activity - 1.0) * water_kg_m3),
            half_cell_m_s,
        }
    }

    /// What leaves the face and the tray at a temperature and a water content of the first cell.
    fn loss(&self, t_k: f64, water_kg_m3: f64) -> Loss {
        // A stage of a step that will be halved may look far ahead; the saturation line has a pole there.
        let film_t_k = t_k.clamp(243.15, 373.15);
        let (saturation_pa, saturation_kg_m3, room_kg_m3) = film_vapour_kg_m3(&self.air, film_t_k);
        let vapour_pa = self.surface_vapour_pa(saturation_pa, water_kg_m3);
        let (mass_m_s, face_w_m2) = self.transfer(t_k, vapour_pa);
        let (vapour_kg_m2s, vapour_by_water_m_s) = match self.solute_kg_m3 {
            None => (0.0, 0.0),
            Some(solute) => {
                let (_, flux, slope) =
                    self.surface_root(solute, water_kg_m3, mass_m_s, saturation_kg_m3, room_kg_m3);
                (flux, slope)
            }
        };
        Loss {
            vapour_kg_m2s,
            vapour_by_water_m_s,
            latent_j_kg: latent_heat_j_kg(t_k),
            heat_w_m2: face_w_m2 + self.tray_w_m2k * (t_k - self.air.t_k),
        }
    }

    fn surface_water_kg_m3(&self, t_k: f64, water_kg_m3: f64) -> f64 {
        let Some(solute) = self.solute_kg_m3 else { return 0.0 };
        let (saturation_pa, saturation_kg_m3, room_kg_m3) = film_vapour_kg_m3(&self.air, t_k);
        let (mass_m_s, _) = self.transfer(t_k, self.surface_vapour_pa(saturation_pa, water_kg_m3));
        self.surface_root(solute, water_kg_m3, mass_m_s, saturation_kg_m3, room_kg_m3).0
    }

    /// Vapour pressure that sets the buoyancy of the air at the face: from the water of the first cell,
    /// as that of the surface follows only once the coefficient is known.
    fn surface_vapour_pa(&self, saturation_pa: f64, water_kg_m3: f64) -> f64 {
        match self.solute_kg_m3 {
            None => self.air.vapour_pa,
            Some(solute) if water_kg_m3 > 0.0 => saturation_pa * water_kg_m3 / (water_kg_m3 + solute),
            Some(_) => 0.0,
        }
    }

    /// Coefficient of vapour, m/s, and heat from the open face, W/m².
    fn transfer(&self, t_k: f64, vapour_pa: f64) -> (f64, f64) {
        match self.contact {
            Contact::Room { face, forced_w_m2k } => {
                let still = room_transfer(&self.air, self.plate_length_m, face, forced_w_m2k, t_k, vapour_pa);
                let heat_w_m2 = self.factor * still.heat_w_m2k * (t_k - self.air.t_k)
                    + radiation_w_m2(EMISSIVITY, t_k, self.air.t_k);
                (self.factor * still.mass_m_s, heat_w_m2)
            }
            Contact::Bag { mass_m_s } => {
                (self.factor * mass_m_s, self.factor * BAG_W_M2K * (t_k - self.air.t_k))
            }
        }
    }

    /// The root c_s >= 0 of k (c - c_s) = h_m [c_s / (c_s + b) ρ_sat - ρ_∞], the flux, and its slope in c.
    fn surface_root(
        &self,
        solute_kg_m3: f64,
        water_kg_m3: f64,
        mass_m_s: f64,
        saturation_kg_m3: f64,
        room_kg_m3: f64,
    ) -> (f64, f64, f64) {
        let k = self.half_cell_m_s;
        let inflow = k * water_kg_m3 + mass_m_s * room_kg_m3;
        if inflow <= 0.0 {
            // Only a step that went too far asks for this; the surface is dry.
            return (0.0, -mass_m_s * room_kg_m3, 0.0);
        }
        let p = inflow - mass_m_s * saturation_kg_m3 - k * solute_kg_m3;
        let q = solute_kg_m3 * inflow;
        let root = (p * p + 4.0 * k * q).sqrt();
        // Two forms of the same root: neither subtracts nearly equal numbers.
        let surface = if p > 0.0 {
            0.5 * (p + root) / k
        } else if root > p {
            2.0 * q / (root - p)
        } else {
            0.0
        };
        let slope = if root > 0.0 { k * (surface + solute_kg_m3) / root } else { 0.0 };
        (surface, k * (water_kg_m3 - surface), k * (1.0 - slope))
    }
}

fn check(
    gel: &Gel,
    start_t_k: f64,
    coefficient_factor: f64,
    segments: &[Segment],
    out_times_s: &[f64],
    out: &[HoldPoint],
) -> Result<(), HoldError> {
    let whole = |field, given, low, high| in_range(None, field, given, low, high);
    whole("thickness_m", gel.thickness_m, 2e-4, 0.1)?;
    whole("plate_length_m", gel.plate_length_m, 1e-3, 0.2)?;
    whole("rho_kg_m3", gel.rho_kg_m3, 500.0, 5000.0)?;
    whole("c_j_kgk", gel.c_j_kgk, 500.0, 1e4)?;
    whole("water_fraction", gel.water_fraction, 0.0, 1.0)?;
    whole("diffusivity_m2_s", gel.diffusivity_m2_s, 1e-12, 1e-7)?;
    whole("water_activity", gel.water_activity, 0.5, 0.9999)?;
    whole("syneresis_volume_strain", gel.syneresis_volume_strain, -0.5, 0.5)?;
    whole("syneresis_tau_s", gel.syneresis_tau_s, 1.0, 1e9)?;
    whole("tray_j_m2k", gel.tray_j_m2k, 0.0, 1e6)?;
    whole("tray_h_w_m2k", gel.tray_h_w_m2k, 0.0, 1000.0)?;
    whole("start_t_k", start_t_k, 273.15, 343.15)?;
    whole("coefficient_factor", coefficient_factor, 0.0, 20.0)?;
    for (index, segment) in segments.iter().enumerate() {
        let here = |field, given, low, high| in_range(Some(index), field, given, low, high);
        here("duration_s", segment.duration_s, 0.0, 1e8)?;
        here("air_t_k", segment.air_t_k, 273.15, 333.15)?;
        here("relative_humidity", segment.relative_humidity, 0.0, 1.0)?;
        if let Exposure::Open { air_speed_m_s, .. } = segment.exposure {
            here("air_speed_m_s", air_speed_m_s, 0.0, 20.0)?;
        }
    }
    if segments.is_empty() {
        return Err(HoldError::NoSegment);
    }
    if out.len() != out_times_s.len() {
        return Err(HoldError::PointCount { times: out_times_s.len(), points: out.len() });
    }
    let mut least = 0.0;
    for (index, &given) in out_times_s.iter().enumerate() {
        if !(least..=1e8).contains(&given) {
            return Err(HoldError::OutputTime { index, given });
        }
        least = given;
    }
    Ok(())
}

fn in_range(
    segment: Option<usize>,
    field: &'static str,
    given: f64,
    low: f64,
    high: f64,
) -> Result<(), HoldError> {
    if (low..=high).contains(&given) {
        Ok(())
    } else {
        Err(HoldError::OutOfRange { segment, field, given, low, high })
    }
}

#[cfg(test)]
mod tests;
