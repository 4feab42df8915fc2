//! Heat and vapour transfer between a small wet plate and room air.
//!
//! ```text
//! natural   Sh = max(1, C Ra^(1/4)),   Ra = g |ρ_s - ρ_∞| / ρ_∞ · Lc³ / (ν D),   h_m = Sh D / Lc
//!           C = 0.54 where the air at the plate wants to leave it, 0.27 where it lies still
//! forced    Nu = 0.664 Re^(1/2) Pr^(1/3),   h = Nu k / L
//! together  h³ = h_natural³ + h_forced³
//! Lewis     h_m = h / (ρ c_p) · (D/κ)^(2/3)
//! vapour    J = h_m (M/R) (p_s - p_∞) / T_film,   T_film the mean of surface and room
//! ```
//!
//! The flux is driven by the vapour pressure. The difference of the two vapour densities, each at
//! its own temperature, would exceed it by 4 to 8 % for a plate that evaporation has cooled.
//!
//! ρ_s is the density of moist air at the temperature and vapour pressure of the surface, so that
//! cooling (heavier) and humidity (lighter) both count: a wet plate at room temperature lifts the air
//! above it, the same plate cooled by its own evaporation lets it lie. Lc is area over perimeter, L the
//! length along the draught. The properties are those of the room air; a film a few kelvin away
//! differs by 1 to 3 %.
//!
//! Correlations: Lloyd & Moran 1974 (horizontal plates), Pohlhausen (laminar plate), Churchill 1977
//! (cubic blend), Chilton & Colburn 1934 (Lewis), as collected in Incropera et al., Fundamentals of
//! Heat and Mass Transfer, chapters 6, 7 and 9. On a plate of one or two centimetres, below the range
//! they were fitted in, they are good to some 40 %.
//!
//! ```
//! // A black surface one kelvin above a room at 300 K radiates 4 σ T³ = 6.1 W/m².
//! let q = kernel::surface::radiation_w_m2(1.0, 300.5, 299.5);
//! assert!((q - 6.12).abs() < 0.01);
//! ```

use crate::moist_air::{
    air_conductivity_w_mk, air_viscosity_pa_s, moist_air_density_kg_m3, moist_air_heat_capacity_j_kgk,
    saturation_pressure_pa, vapour_density_kg_m3, vapour_diffusivity_m2_s,
};

/// Standard gravity, m/s².
const GRAVITY_M_S2: f64 = 9.806_65;

/// Stefan-Boltzmann constant, W/(m² K⁴).
const STEFAN_BOLTZMANN: f64 = 5.670_374_419e-8;

/// Which way the wet face looks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Face {
    /// Open upwards.
    Up,
    /// Open downwards.
    Down,
    /// Not recorded: the mean of the two coefficients.
    Unknown,
}

/// The air of a room and the properties the correlations need. Build it with [`room_air`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RoomAir {
    /// Temperature, K.
    pub t_k: f64,
    /// Pressure, Pa.
    pub pressure_pa: f64,
    /// Pressure of the water vapour, Pa.
    pub vapour_pa: f64,
    /// Density of the moist air, kg/m³.
    pub density_kg_m3: f64,
    /// Kinematic viscosity ν, m²/s.
    pub viscosity_m2_s: f64,
    /// Diffusivity of vapour D, m²/s.
    pub diffusivity_m2_s: f64,
    /// Thermal conductivity k, W/(m K).
    pub conductivity_w_mk: f64,
    /// Prandtl number ν/κ.
    pub prandtl: f64,
    /// h / h_m by the Lewis relation, ρ c_p (κ/D)^(2/3), J/(m³ K).
    pub lewis_j_m3k: f64,
}

/// Transfer coefficients of a face.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Transfer {
    /// Vapour, m/s: flux over difference of vapour density at the film temperature.
    pub mass_m_s: f64,
    /// Heat by convection, W/(m² K).
    pub heat_w_m2k: f64,
}

/// Room air of a temperature (K, 273 to 350), relative humidity (0 to 1) and pressure (Pa).
pub fn room_air(t_k: f64, relative_humidity: f64, pressure_pa: f64) -> RoomAir {
    let vapour_pa = relative_humidity * saturation_pressure_pa(t_k);
    let density_kg_m3 = moist_air_density_kg_m3(t_k, vapour_pa, pressure_pa);
    let vapour_fraction = vapour_density_kg_m3(vapour_pa, t_k) / density_kg_m3;
    let conductivity_w_mk = air_conductivity_w_mk(t_k);
    let viscosity_m2_s = air_viscosity_pa_s(t_k) / density_kg_m3;
    let diffusivity_m2_s = vapour_diffusivity_m2_s(t_k, pressure_pa);
    let capacity_j_m3k = density_kg_m3 * moist_air_heat_capacity_j_kgk(vapour_fraction);
    let kappa_m2_s = conductivity_w_mk / capacity_j_m3k;
    let ratio = libm::cbrt(kappa_m2_s / diffusivity_m2_s);
    RoomAir {
        t_k,
        pressure_pa,
        vapour_pa,
        density_kg_m3,
        viscosity_m2_s,
        diffusivity_m2_s,
        conductivity_w_mk,
        prandtl: viscosity_m2_s / kappa_m2_s,
        lewis_j_m3k: capacity_j_m3k * ratio * ratio,
    }
}

/// Both coefficients of a face in a room: natural convection from the state of the surface, blended
/// with the coefficient of the draught (zero in still air; see [`forced_heat_w_m2k`]).
/// `length_m` is area over perimeter, above zero.
pub fn room_transfer(
    air: &RoomAir,
    length_m: f64,
    face: Face,
    forced_w_m2k: f64,
    surface_t_k: f64,
    surface_vapour_pa: f64,
) -> Transfer {
    let natural_m_s = natural_mass_m_s(air, length_m, face, surface_t_k, surface_vapour_pa);
    let natural_w_m2k = natural_m_s * air.lewis_j_m3k;
    if forced_w_m2k <= 0.0 {
        return Transfer { mass_m_s: natural_m_s, heat_w_m2k: natural_w_m2k };
    }
    let heat_w_m2k = libm::cbrt(
        natural_w_m2k * natural_w_m2k * natural_w_m2k + forced_w_m2k * forced_w_m2k * forced_w_m2k,
    );
    Transfer { mass_m_s: heat_w_m2k / air.lewis_j_m3k, heat_w_m2k }
}

/// Mass-transfer coefficient of a horizontal plate in still air, m/s.
pub fn natural_mass_m_s(
    air: &RoomAir,
    length_m: f64,
    face: Face,
    surface_t_k: f64,
    surface_vapour_pa: f64,
) -> f64 {
    let surface_kg_m3 = moist_air_density_kg_m3(surface_t_k, surface_vapour_pa, air.pressure_pa);
    let excess = (surface_kg_m3 - air.density_kg_m3) / air.density_kg_m3;
    let rayleigh = GRAVITY_M_S2 * excess.abs() * length_m * length_m * length_m
        / (air.viscosity_m2_s * air.diffusivity_m2_s);
    let root = rayleigh.sqrt().sqrt();
    let leaving = (0.54 * root).max(1.0);
    let lying = (0.27 * root).max(1.0);
    let heavy = excess > 0.0;
    let sherwood = match face {
        Face::Up => {
            if heavy {
                lying
            } else {
                leaving
            }
        }
        Face::Down => {
            if heavy {
                leaving
            } else {
                lying
            }
        }
        Face::Unknown => 0.5 * (leaving + lying),
    };
    sherwood * air.diffusivity_m2_s / length_m
}

/// Mass-transfer coefficient of a face in air that does not move (Sh = 1), m/s.
pub fn stagnant_mass_m_s(air: &RoomAir, length_m: f64) -> f64 {
    air.diffusivity_m2_s / length_m
}

/// Heat-transfer coefficient of a laminar draught along a plate, W/(m² K), mean over the length
/// `flow_length_m` (above zero). Zero for a speed of zero.
pub fn forced_heat_w_m2k(air: &RoomAir, speed_m_s: f64, flow_length_m: f64) -> f64 {
    let reynolds = speed_m_s * flow_length_m / air.viscosity_m2_s;
    0.664 * reynolds.sqrt() * libm::cbrt(air.prandtl) * air.conductivity_w_mk / flow_length_m
}

/// What drives the vapour flux of a surface at `surface_t_k`: the saturation pressure there (Pa), and
/// it and the vapour of the room as densities (kg/m³) at the mean of the two temperatures.
pub fn film_vapour_kg_m3(air: &RoomAir, surface_t_k: f64) -> (f64, f64, f64) {
    let saturation_pa = saturation_pressure_pa(surface_t_k);
    let kg_m3_pa = vapour_density_kg_m3(1.0, 0.5 * (surface_t_k + air.t_k));
    (saturation_pa, saturation_pa * kg_m3_pa, air.vapour_pa * kg_m3_pa)
}

/// Net thermal radiation from a grey surface to a room at the temperature of its air, W/m².
pub fn radiation_w_m2(emissivity: f64, surface_t_k: f64, room_t_k: f64) -> f64 {
    // Factored: the difference of fourth powers loses digits when the temperatures are close.
    emissivity
        * STEFAN_BOLTZMANN
        * (surface_t_k * surface_t_k + room_t_k * room_t_k)
        * (surface_t_k + room_t_k)
        * (surface_t_k - room_t_k)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ZERO_CELSIUS;
    use crate::moist_air::{STANDARD_PRESSURE_PA, latent_heat_j_kg};
    use proptest::prelude::*;

    const LENGTH_M: f64 = 0.0125;

    fn room(t_c: f64, humidity: f64) -> RoomAir {
        room_air(t_c + ZERO_CELSIUS, humidity, STANDARD_PRESSURE_PA)
    }

    /// Temperature (°C) at which a saturated surface neither gains nor loses heat.
    fn steady_t_c(air: &RoomAir, balance: impl Fn(f64, Transfer) -> f64, face: Face) -> f64 {
        let (mut low, mut high) = (air.t_k - 25.0, air.t_k);
        for _ in 0..60 {
            let t_k = 0.5 * (low + high);
            let vapour = saturation_pressure_pa(t_k);
            if balance(t_k, room_transfer(air, LENGTH_M, face, 0.0, t_k, vapour)) > 0.0 {
                low = t_k;
            } else {
                high = t_k;
            }
        }
        0.5 * (low + high) - ZERO_CELSIUS
    }

    fn evaporation_w_m2(air: &RoomAir, t_k: f64, mass_m_s: f64) -> f64 {
        let (_, saturated, vapour) = film_vapour_kg_m3(air, t_k);
        mass_m_s * (saturated - vapour) * latent_heat_j_kg(t_k)
    }

    fn with_radiation(air: &RoomAir, t_k: f64, transfer: Transfer) -> f64 {
        transfer.heat_w_m2k * (air.t_k - t_k)
            - radiation_w_m2(0.95, t_k, air.t_k)
            - evaporation_w_m2(air, t_k, transfer.mass_m_s)
    }

    /// Still air at 23 °C and 50 %, Lc = 12.5 mm, computed with the humid-air properties of CoolProp
    /// 8.0.0: h_m in m/s for a surface at room temperature and at the temperature evaporation cools it
    /// to, and that temperature. Their flux was driven by the difference of the two vapour densities,
    /// 4 % more than ours: 0.15 K and 1 % of h_m once cooled; 0.3 % at equal temperatures.
    #[test]
    fn val_still_air_coefficients() {
        let air = room(23.0, 0.5);
        for (face, isothermal_m_s, steady_m_s, t_c) in
            [(Face::Up, 4.3682e-3, 2.6791e-3, 18.58), (Face::Down, 2.1841e-3, 5.7809e-3, 17.44)]
        {
            let vapour = saturation_pressure_pa(air.t_k);
            let warm = natural_mass_m_s(&air, LENGTH_M, face, air.t_k, vapour);
            assert!((warm / isothermal_m_s - 1.0).abs() < 0.003, "{face:?} {warm}");
            let steady_c = steady_t_c(&air, |t_k, transfer| with_radiation(&air, t_k, transfer), face);
            assert!((steady_c - t_c).abs() < 0.15, "{face:?} {steady_c}");
            let t_k = steady_c + ZERO_CELSIUS;
            let cooled = natural_mass_m_s(&air, LENGTH_M, face, t_k, saturation_pressure_pa(t_k));
            assert!((cooled / steady_m_s - 1.0).abs() < 0.01, "{face:?} {cooled}");
        }
    }

    /// Thermodynamic wet bulbs of CoolProp 8.0.0. With the heat and vapour films alike (D = κ) and
    /// neither radiation nor conduction the surface comes to the wet bulb; the difference between the
    /// heat capacity per dry and per moist air and the ideal gas leave 0.06 K.
    #[test]
    fn val_wet_bulb() {
        for (t_c, humidity, wet_bulb_c) in WET_BULBS {
            let air = room(t_c, humidity);
            let capacity = air.density_kg_m3
                * moist_air_heat_capacity_j_kgk(
                    vapour_density_kg_m3(air.vapour_pa, air.t_k) / air.density_kg_m3,
                );
            let alike = |t_k: f64, transfer: Transfer| {
                transfer.mass_m_s * capacity * (air.t_k - t_k)
                    - evaporation_w_m2(&air, t_k, transfer.mass_m_s)
            };
            let got = steady_t_c(&air, alike, Face::Down);
            assert!((got - wet_bulb_c).abs() < 0.06, "{t_c} °C {humidity}: {got}");
        }
    }

    const WET_BULBS: [(f64, f64, f64); 5] = [
        (23.0, 0.5, 16.2402),
        (20.0, 0.5, 13.77647),
        (23.0, 0.3, 12.9856),
        (25.0, 0.5, 17.88349),
        (37.0, 0.5, 27.80257),
    ];

    /// Vapour diffuses 1.17 times faster than heat, so that by the Lewis relation the surface settles
    /// a little below the wet bulb: the depression grows by 1.5 to 4.5 %.
    #[test]
    fn val_lewis_surface_lies_just_below_the_wet_bulb() {
        for (t_c, humidity, wet_bulb_c) in WET_BULBS {
            let air = room(t_c, humidity);
            let bare = |t_k: f64, transfer: Transfer| {
                transfer.heat_w_m2k * (air.t_k - t_k) - evaporation_w_m2(&air, t_k, transfer.mass_m_s)
            };
            let got = steady_t_c(&air, bare, Face::Down);
            let depression = (t_c - got) / (t_c - wet_bulb_c);
            assert!((1.015..1.045).contains(&depression), "{t_c} °C {humidity}: {depression}");
        }
    }

    /// A plate 50 mm long in a draught of 1 m/s of air at 300 K and one atmosphere: Re 3150, Nu
    /// 33.2 and h = 17.4 W/(m² K) by hand with handbook properties (ν 1.589e-5, Pr 0.707, k 0.0263),
    /// which differ from ours by up to 1 %.
    #[test]
    fn val_laminar_draught_by_hand() {
        let h = forced_heat_w_m2k(&room_air(300.0, 0.0, STANDARD_PRESSURE_PA), 1.0, 0.05);
        assert!((h / 17.45 - 1.0).abs() < 0.01, "{h}");
    }

    proptest! {
        /// A draught adds to still air and a faster one adds more; the vapour coefficient follows the
        /// heat coefficient; an unrecorded face lies between the two.
        #[test]
        fn prop_draught_and_face(
            t_c in 5.0..40.0f64, humidity in 0.0..1.0f64, cooler_k in -15.0..15.0f64,
            slow in 0.0..2.0f64, more in 0.01..2.0f64,
        ) {
            let air = room(t_c, humidity);
            let t_k = air.t_k - cooler_k;
            let vapour = saturation_pressure_pa(t_k);
            let at = |face, speed| {
                let forced = forced_heat_w_m2k(&air, speed, 4.0 * LENGTH_M);
                room_transfer(&air, LENGTH_M, face, forced, t_k, vapour)
            };
            let (up, down) = (at(Face::Up, slow), at(Face::Down, slow));
            let still = at(Face::Up, 0.0);
            prop_assert!(at(Face::Up, slow + more).heat_w_m2k > up.heat_w_m2k);
            prop_assert!(up.heat_w_m2k >= still.heat_w_m2k * (1.0 - 1e-12));
            prop_assert!((up.heat_w_m2k / up.mass_m_s / air.lewis_j_m3k - 1.0).abs() < 1e-12);
            let either = at(Face::Unknown, slow).mass_m_s;
            let (low, high) = (up.mass_m_s.min(down.mass_m_s), up.mass_m_s.max(down.mass_m_s));
            prop_assert!(either >= low * (1.0 - 1e-12) && either <= high * (1.0 + 1e-12));
            prop_assert!(still.mass_m_s >= stagnant_mass_m_s(&air, LENGTH_M));
        }

        /// Radiation changes sign with the temperature difference.
        #[test]
        fn prop_radiation_is_antisymmetric(a in 260.0..340.0f64, b in 260.0..340.0f64) {
            let there = radiation_w_m2(0.95, a, b);
            let back = radiation_w_m2(0.95, b, a);
            prop_assert!((there + back).abs() <= 1e-12 * there.abs());
            prop_assert!(there * (a - b) >= 0.0);
        }
    }
}
