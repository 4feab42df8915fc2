//! The air of a room or a bag, and the tray: what they take from the gel.
//!
//! ```text
//! q = h (T - T_∞) + ε σ (T⁴ - T_∞⁴) + h_tray (T - T_∞)
//! J = h_m [c_s / (c_s + b) ρ_sat(T) - ρ_∞] = k (c - c_s)
//! ```
//!
//! k is the conductance of half the first cell, c its water.

use super::sheet::Loss;
use super::{BAG_W_M2K, EMISSIVITY, Exposure, Gel, Segment, fresh_solute_kg_m3};
use crate::moist_air::{STANDARD_PRESSURE_PA, latent_heat_j_kg};
use crate::surface::{
    Face, RoomAir, film_vapour_kg_m3, forced_heat_w_m2k, radiation_w_m2, room_air, room_transfer,
    stagnant_mass_m_s,
};

/// What the open face and the tray meet during a segment.
pub(super) struct Surroundings {
    air: RoomAir,
    relative_humidity: f64,
    plate_length_m: f64,
    factor: f64,
    contact: Contact,
    tray_w_m2k: f64,
    /// b of the fresh gel, kg/m³; none for a material without water.
    fresh_solute_kg_m3: Option<f64>,
    /// Conductance of half the first cell, m/s.
    half_cell_m_s: f64,
}

enum Contact {
    Room { face: Face, forced_w_m2k: f64 },
    Bag { mass_m_s: f64 },
}

impl Surroundings {
    pub(super) fn new(gel: &Gel, half_cell_m_s: f64, factor: f64, segment: &Segment) -> Self {
        let air = room_air(segment.air_t_k, segment.relative_humidity, STANDARD_PRESSURE_PA);
        let contact = match segment.exposure {
            Exposure::Open { air_speed_m_s, face } => {
                let forced_w_m2k = forced_heat_w_m2k(&air, air_speed_m_s, 4.0 * gel.plate_length_m);
                Contact::Room { face, forced_w_m2k }
            }
            Exposure::Sealed | Exposure::Wet { .. } => {
                Contact::Bag { mass_m_s: stagnant_mass_m_s(&air, gel.plate_length_m) }
            }
        };
        Self {
            air,
            relative_humidity: segment.relative_humidity,
            plate_length_m: gel.plate_length_m,
            factor,
            contact,
            tray_w_m2k: gel.tray_h_w_m2k,
            fresh_solute_kg_m3: fresh_solute_kg_m3(gel),
            half_cell_m_s,
        }
    }

    /// What leaves the face and the tray at a temperature, a share of the salts and a water content of the
    /// first cell.
    pub(super) fn loss(&self, t_k: f64, salt_share: f64, water_kg_m3: f64) -> Loss {
        // A stage of a step that will be halved may look far ahead; the saturation line has a pole there.
        let film_t_k = t_k.clamp(243.15, 373.15);
        let (saturation_pa, saturation_kg_m3, room_kg_m3) = film_vapour_kg_m3(&self.air, film_t_k);
        let room_kg_m3 = self.vapour_kg_m3(room_kg_m3, saturation_kg_m3);
        let solute_kg_m3 = self.solute_kg_m3(salt_share);
        let vapour_pa = self.surface_vapour_pa(saturation_pa, solute_kg_m3, water_kg_m3);
        let (mass_m_s, face_w_m2) = self.transfer(t_k, vapour_pa);
        let (vapour_kg_m2s, vapour_by_water_m_s) = match solute_kg_m3 {
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

    /// Water at the surface of the gel, kg/m³.
    pub(super) fn surface_water_kg_m3(&self, t_k: f64, salt_share: f64, water_kg_m3: f64) -> f64 {
        let Some(solute) = self.solute_kg_m3(salt_share) else { return 0.0 };
        let (saturation_pa, saturation_kg_m3, room_kg_m3) = film_vapour_kg_m3(&self.air, t_k);
        let room_kg_m3 = self.vapour_kg_m3(room_kg_m3, saturation_kg_m3);
        let (mass_m_s, _) =
            self.transfer(t_k, self.surface_vapour_pa(saturation_pa, Some(solute), water_kg_m3));
        self.surface_root(solute, water_kg_m3, mass_m_s, saturation_kg_m3, room_kg_m3).0
    }

    /// Vapour of the air, kg/m³. A bag has no vapour but what the impression and its cloth give: while they are colder
    /// than a warm place around the bag, its air holds no more than its humidity at their temperature.
    fn vapour_kg_m3(&self, room_kg_m3: f64, saturation_kg_m3: f64) -> f64 {
        match self.contact {
            Contact::Room { .. } => room_kg_m3,
            Contact::Bag { .. } => room_kg_m3.min(self.relative_humidity * saturation_kg_m3),
        }
    }

    /// b with the salts that a liquid has left. A step may overshoot an end of the range by little.
    fn solute_kg_m3(&self, salt_share: f64) -> Option<f64> {
        self.fresh_solute_kg_m3.map(|solute| solute * salt_share.max(0.0))
    }

    /// Vapour pressure that sets the buoyancy of the air at the face: from the water of the first cell,
    /// as that of the surface follows only once the coefficient is known.
    fn surface_vapour_pa(&self, saturation_pa: f64, solute_kg_m3: Option<f64>, water_kg_m3: f64) -> f64 {
        match solute_kg_m3 {
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
