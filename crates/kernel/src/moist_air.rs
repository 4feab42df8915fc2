//! Water vapour in air: saturation, density, latent heat, transport properties.
//!
//! ```text
//! p_sat(T) = [2C / (-B + sqrt(B² - 4AC))]⁴ MPa,   θ = T + n9/(T - n10)
//! A = θ² + n1 θ + n2,  B = n3 θ² + n4 θ + n5,  C = n6 θ² + n7 θ + n8
//! ```
//!
//! The saturation line is region 4 of IAPWS-IF97 (Wagner et al. 2000, J. Eng. Gas Turbines Power
//! 122:150, equation 30), stated for 273.15 K to 647 K and continued smoothly a few kelvin below.
//!
//! Vapour and air are ideal gases. Between 10 and 40 °C the density of saturated vapour alone is
//! 0.09 to 0.28 % above that, and the presence of air raises the saturation pressure by another
//! 0.41 to 0.48 %; both are left out because the transfer coefficients they multiply are known to
//! tens of per cent.
//!
//! ```
//! // Saturated air at 23 °C holds 20.6 g of water per cubic metre.
//! let rho = kernel::moist_air::saturation_vapour_density_kg_m3(296.15);
//! assert!((rho - 0.0206).abs() < 1e-4);
//! ```

use crate::{GAS_CONSTANT, ZERO_CELSIUS};

/// Standard atmosphere, Pa.
pub const STANDARD_PRESSURE_PA: f64 = 101_325.0;

/// Molar mass of water, kg/mol.
pub const WATER_KG_MOL: f64 = 0.018_015_268;

/// Molar mass of dry air, kg/mol (Picard et al. 2008, Metrologia 45:149).
pub const DRY_AIR_KG_MOL: f64 = 0.028_965_46;

/// Density of liquid water at 23 °C and one atmosphere, kg/m³; it varies by 0.3 % from 20 to 35 °C.
pub const LIQUID_WATER_KG_M3: f64 = 997.541;

/// Coefficients n1 to n10 of IAPWS-IF97, table 34.
const REGION_4: [f64; 10] = [
    0.116_705_214_527_67e4,
    -0.724_213_167_032_06e6,
    -0.170_738_469_400_92e2,
    0.120_208_247_024_70e5,
    -0.323_255_503_223_33e7,
    0.149_151_086_135_30e2,
    -0.482_326_573_615_91e4,
    0.405_113_405_420_57e6,
    -0.238_555_575_678_49,
    0.650_175_348_447_98e3,
];

/// Saturation pressure of water, Pa. `t_k` from 273.15 K to 647 K (finite down to 250 K).
pub fn saturation_pressure_pa(t_k: f64) -> f64 {
    let n = &REGION_4;
    let theta = t_k + n[8] / (t_k - n[9]);
    let a = (theta + n[0]) * theta + n[1];
    let b = (n[2] * theta + n[3]) * theta + n[4];
    let c = (n[5] * theta + n[6]) * theta + n[7];
    let beta = 2.0 * c / (-b + (b * b - 4.0 * a * c).sqrt());
    1e6 * (beta * beta) * (beta * beta)
}

/// Density of water vapour of a pressure (Pa) and temperature (K) as an ideal gas, kg/m³.
pub fn vapour_density_kg_m3(pressure_pa: f64, t_k: f64) -> f64 {
    pressure_pa * (WATER_KG_MOL / GAS_CONSTANT) / t_k
}

/// Density of saturated water vapour as an ideal gas, kg/m³. `t_k` as for [`saturation_pressure_pa`].
pub fn saturation_vapour_density_kg_m3(t_k: f64) -> f64 {
    vapour_density_kg_m3(saturation_pressure_pa(t_k), t_k)
}

/// Density of moist air, kg/m³, from the pressure of the vapour in it (relative humidity times
/// saturation) and the total pressure, Pa. At equal temperature and pressure moist air is the lighter.
pub fn moist_air_density_kg_m3(t_k: f64, vapour_pa: f64, pressure_pa: f64) -> f64 {
    (pressure_pa * DRY_AIR_KG_MOL - vapour_pa * (DRY_AIR_KG_MOL - WATER_KG_MOL)) / (GAS_CONSTANT * t_k)
}

/// Latent heat of evaporation, J/kg: the straight line through 2 446 415.4 at 23 °C and 2 413 145.0
/// at 37 °C (IAPWS-95). Within 0.02 % from 0 to 50 °C.
pub fn latent_heat_j_kg(t_k: f64) -> f64 {
    2_446_415.4 - (2_446_415.4 - 2_413_145.0) / 14.0 * (t_k - 296.15)
}

/// Diffusivity of water vapour in air, m²/s: 2.178e-5 (T/273.15)^1.81 at one atmosphere
/// (Montgomery 1947; the form is that of Marrero & Mason 1972), inverse in the pressure. Handbook
/// values scatter by some 5 %.
pub fn vapour_diffusivity_m2_s(t_k: f64, pressure_pa: f64) -> f64 {
    2.178e-5 * libm::pow(t_k / ZERO_CELSIUS, 1.81) * (STANDARD_PRESSURE_PA / pressure_pa)
}

/// Viscosity of air, Pa s, by Sutherland's law (White 2006, Viscous Fluid Flow, table 1-2). The few
/// per cent of vapour in room air change it by less than 1 %.
pub fn air_viscosity_pa_s(t_k: f64) -> f64 {
    sutherland(t_k, 1.716e-5, 111.0)
}

/// Thermal conductivity of air, W/(m K), by Sutherland's law (White 2006, table 1-3).
pub fn air_conductivity_w_mk(t_k: f64) -> f64 {
    sutherland(t_k, 0.0241, 194.0)
}

/// Specific heat of moist air at constant pressure, J/(kg K), from the mass of vapour per mass of
/// moist air: 1006 for the air and 1860 for the vapour.
pub fn moist_air_heat_capacity_j_kgk(vapour_mass_fraction: f64) -> f64 {
    1006.0 + (1860.0 - 1006.0) * vapour_mass_fraction
}

fn sutherland(t_k: f64, at_273_k: f64, s_k: f64) -> f64 {
    let r = t_k / 273.0;
    at_273_k * r * r.sqrt() * (273.0 + s_k) / (t_k + s_k)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// °C, saturation pressure (IAPWS-IF97) in Pa, saturated vapour density in g/m³ as a real gas
    /// and as an ideal gas (CoolProp 8.0.0, IAPWS-95).
    const SATURATION: [[f64; 4]; 9] = [
        [10.0, 1228.18387, 9.407052, 9.398503],
        [15.0, 1705.74487, 12.841015, 12.826679],
        [20.0, 2339.21477, 17.314008, 17.290436],
        [23.0, 2810.92382, 20.598287, 20.566802],
        [25.0, 3169.74685, 23.074804, 23.036755],
        [30.0, 4246.68834, 30.415212, 30.354861],
        [35.0, 5628.62014, 39.674251, 39.580098],
        [37.0, 6281.84940, 44.000702, 43.888715],
        [40.0, 7384.42749, 51.242256, 51.097657],
    ];

    /// IAPWS-IF97 (2007 revision), table 35: 300, 500 and 600 K, printed to nine figures.
    #[test]
    fn val_saturation_pressure_of_the_standard() {
        for (t_k, p_mpa) in [(300.0, 0.353658941e-2), (500.0, 0.263889776e1), (600.0, 0.123443146e2)] {
            let p = saturation_pressure_pa(t_k) * 1e-6;
            assert!((p / p_mpa - 1.0).abs() < 5e-9, "{t_k} K: {p} MPa");
        }
    }

    /// Values computed with the Python library iapws 1.5.5, printed to 1e-5 Pa.
    #[test]
    fn val_saturation_pressure_from_10_to_40_c() {
        for [t_c, p, _, _] in SATURATION {
            let got = saturation_pressure_pa(t_c + ZERO_CELSIUS);
            assert!((got - p).abs() < 6e-6, "{t_c} °C: {got} Pa");
        }
    }

    /// The ideal-gas column was computed from the IAPWS-95 pressure, 1.2e-5 to 7e-5 above IF97, and
    /// is printed to seven figures: 8e-5. The real gas is denser by 0.09 to 0.28 %: within 0.3 %, from below.
    #[test]
    fn val_saturated_vapour_density_from_10_to_40_c() {
        for [t_c, _, real, ideal] in SATURATION {
            let got = 1e3 * saturation_vapour_density_kg_m3(t_c + ZERO_CELSIUS);
            assert!((got / ideal - 1.0).abs() < 8e-5, "{t_c} °C: {got} g/m³, ideal {ideal}");
            assert!(got < real && got > 0.997 * real, "{t_c} °C: {got} g/m³, real {real}");
        }
    }

    /// Latent heat at the triple point, 2500.9 kJ/kg, and at 50 °C, 2381.9 kJ/kg (IAPWS-95 steam
    /// tables, printed to five figures): neither is one of the two values the line passes through.
    #[test]
    fn val_latent_heat_away_from_the_fitted_values() {
        assert!((latent_heat_j_kg(273.16) / 2500.9e3 - 1.0).abs() < 2e-4);
        assert!((latent_heat_j_kg(323.15) / 2381.9e3 - 1.0).abs() < 2e-4);
    }

    /// Dry air at 0 °C and one atmosphere is 1.2930 kg/m³ (real gas; ideal 0.06 % below). At 23 °C
    /// and 50 % CoolProp 8.0.0 gives 8.785815 g of water per kg of dry air; it includes the
    /// 0.42 % by which air raises the saturation pressure, hence 0.5 %.
    #[test]
    fn val_moist_air_density_and_humidity_ratio() {
        let dry = moist_air_density_kg_m3(273.15, 0.0, STANDARD_PRESSURE_PA);
        assert!((dry / 1.2930 - 1.0).abs() < 1e-3, "{dry}");
        let vapour_pa = 0.5 * saturation_pressure_pa(296.15);
        let moist = moist_air_density_kg_m3(296.15, vapour_pa, STANDARD_PRESSURE_PA);
        let vapour = vapour_density_kg_m3(vapour_pa, 296.15);
        let ratio = vapour / (moist - vapour);
        assert!((ratio / 8.785815e-3 - 1.0).abs() < 5e-3, "{ratio}");
    }

    /// Handbook values at 300 K and one atmosphere: viscosity 1.846e-5 Pa s, conductivity
    /// 0.0263 W/(m K) (Incropera, table A.4), within the 1 % by which handbooks differ. Diffusivity at
    /// 23 °C 2.521e-5 m²/s is the stated law itself to four figures.
    #[test]
    fn val_transport_properties_near_room_temperature() {
        assert!((air_viscosity_pa_s(300.0) / 1.846e-5 - 1.0).abs() < 1e-2);
        assert!((air_conductivity_w_mk(300.0) / 0.0263 - 1.0).abs() < 1e-2);
        assert!((vapour_diffusivity_m2_s(296.15, STANDARD_PRESSURE_PA) / 2.521e-5 - 1.0).abs() < 2e-4);
    }
}
