//! Moist air, evaporation, drying.

use kernel::ZERO_CELSIUS;
use kernel::holding::{self, Bath, Exposure, Gel, HoldPoint, Segment, surface_evaporation_share};
use kernel::moist_air::{
    STANDARD_PRESSURE_PA, latent_heat_j_kg, saturation_pressure_pa, saturation_vapour_density_kg_m3,
};
use kernel::surface::{Face, natural_mass_m_s, room_air};

use crate::{CheckError, Input, unknown_word};

pub(crate) fn compute(id: &str, input: &Input) -> Result<f64, CheckError> {
    let kelvin = |name: &str| input.number(name).map(|celsius| celsius + ZERO_CELSIUS);
    match id {
        "saturation-pressure" => Ok(saturation_pressure_pa(kelvin("celsius")?)),
        "saturation-density" => Ok(1e3 * saturation_vapour_density_kg_m3(kelvin("celsius")?)),
        "latent-heat" => Ok(latent_heat_j_kg(kelvin("celsius")?)),
        "sheet-surface-evaporation" => {
            Ok(surface_evaporation_share(input.number("biot")?, input.number("fourier")?))
        }
        "still-air-coefficient" => still_air(input),
        "still-air-evaporation" => isothermal_evaporation(input),
        "drying-of-alginate" => drying(input),
        "salt-humidor" => humidor(),
        "wet-bulb" => wet_bulb(input).map(|k| k - ZERO_CELSIUS),
        _ => Err(CheckError::Unknown(id.to_owned())),
    }
}

fn face(input: &Input) -> Result<Face, CheckError> {
    match input.word("face")? {
        "up" => Ok(Face::Up),
        "down" => Ok(Face::Down),
        "unknown" => Ok(Face::Unknown),
        other => Err(unknown_word("face", other)),
    }
}

fn still_air(input: &Input) -> Result<f64, CheckError> {
    let air = room_air(ZERO_CELSIUS + 23.0, 0.5, STANDARD_PRESSURE_PA);
    let surface_k = ZERO_CELSIUS + input.number("surface_c")?;
    Ok(1e3 * natural_mass_m_s(&air, 12.5e-3, face(input)?, surface_k, saturation_pressure_pa(surface_k)))
}

/// g/m2 in an hour from a wet surface at the temperature of the air.
fn isothermal_evaporation(input: &Input) -> Result<f64, CheckError> {
    let k = ZERO_CELSIUS + 23.0;
    let air = room_air(k, 0.5, STANDARD_PRESSURE_PA);
    let m_s = natural_mass_m_s(&air, 12.5e-3, face(input)?, k, saturation_pressure_pa(k));
    Ok(m_s * 0.5 * saturation_vapour_density_kg_m3(k) * 3600.0 * 1e3)
}

fn alginate() -> Gel {
    Gel {
        thickness_m: 5e-3,
        plate_length_m: 12.5e-3,
        rho_kg_m3: 1080.0,
        c_j_kgk: 3600.0,
        water_fraction: 0.83,
        diffusivity_m2_s: 1.3e-9,
        water_activity: 0.995,
        syneresis_volume_strain: 0.0,
        syneresis_tau_s: 3600.0,
        tray_j_m2k: 1180.0 * 1460.0 * 2e-3,
        tray_h_w_m2k: 8.0,
        bath: Bath::DRY,
    }
}

fn held(gel: &Gel, segment: Segment, t_s: f64) -> Result<HoldPoint, CheckError> {
    let mut point = [HoldPoint::default()];
    holding::hold(gel, ZERO_CELSIUS + 35.0, 1.0, &[segment], &[t_s], &mut point)
        .map_err(|error| CheckError::Model(error.to_string()))?;
    Ok(point[0])
}

/// g/m2 evaporated from 5 mm of alginate in a tray, from 35 °C into a room at 23 °C and 50 %.
fn drying(input: &Input) -> Result<f64, CheckError> {
    let segment = Segment {
        duration_s: 1e5,
        air_t_k: ZERO_CELSIUS + 23.0,
        relative_humidity: 0.5,
        exposure: Exposure::Open { air_speed_m_s: 0.0, face: face(input)? },
    };
    Ok(1e3 * held(&alginate(), segment, 60.0 * input.number("minutes")?)?.evaporated_kg_m2)
}

/// Steady temperature of a thin wet strip in a strong draught with nothing behind it: an aspirated psychrometer.
fn wet_bulb(input: &Input) -> Result<f64, CheckError> {
    let strip = Gel {
        plate_length_m: 1e-3,
        diffusivity_m2_s: 1e-7,
        water_activity: 0.9999,
        tray_j_m2k: 0.0,
        tray_h_w_m2k: 0.0,
        ..alginate()
    };
    let segment = Segment {
        duration_s: 1e5,
        air_t_k: ZERO_CELSIUS + input.number("celsius")?,
        relative_humidity: input.number("humidity")?,
        exposure: Exposure::Open { air_speed_m_s: 5.0, face: Face::Up },
    };
    Ok(held(&strip, segment, 600.0)?.temperature_k)
}

/// Loss in a still box at the humidity of a salt solution over that at 50 %, both at the temperature of the gel.
fn humidor() -> Result<f64, CheckError> {
    let gel = Gel { tray_j_m2k: 1e6, ..alginate() };
    let loss = |relative_humidity: f64| {
        let segment = Segment {
            duration_s: 1e5,
            air_t_k: ZERO_CELSIUS + 35.0,
            relative_humidity,
            exposure: Exposure::Sealed,
        };
        held(&gel, segment, 3600.0).map(|point| point.evaporated_kg_m2)
    };
    Ok(loss(0.973)? / loss(0.5)?)
}
