//! What [`super::hold`] accepts, and what it says otherwise.

use super::{Exposure, Gel, HoldPoint, Segment};
use crate::moist_air::LIQUID_WATER_KG_M3;

/// What was wrong with the input of [`super::hold`].
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

pub(super) fn check(
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
    whole("salt_diffusivity_m2_s", gel.bath.salt_diffusivity_m2_s, 1e-12, 1e-7)?;
    whole("swelling_diffusivity_m2_s", gel.bath.swelling_diffusivity_m2_s, 1e-12, 1e-5)?;
    whole("osmotic_volume_strain", gel.bath.osmotic_volume_strain, -0.5, 0.5)?;
    whole("network_volume_strain", gel.bath.network_volume_strain, -0.5, 0.5)?;
    whole("salt_fraction", gel.bath.salt_fraction, 0.0, 0.5)?;
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
        match segment.exposure {
            Exposure::Open { air_speed_m_s, .. } => here("air_speed_m_s", air_speed_m_s, 0.0, 20.0)?,
            Exposure::Sealed => (),
            Exposure::Wet { strength, supply_kg_m2 } => {
                here("strength", strength, 0.0, 20.0)?;
                here("supply_kg_m2", supply_kg_m2, 0.0, f64::INFINITY)?;
            }
        }
    }
    check_strains(gel, segments)?;
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

/// No liquid may take half the water of the fresh gel or double its volume, whatever share of the salts the
/// liquids so far have left.
fn check_strains(gel: &Gel, segments: &[Segment]) -> Result<(), HoldError> {
    let water_volume = gel.rho_kg_m3 * gel.water_fraction / LIQUID_WATER_KG_M3;
    let (mut least, mut most) = (1.0_f64, 1.0_f64);
    for (index, segment) in segments.iter().enumerate() {
        let Exposure::Wet { strength, supply_kg_m2 } = segment.exposure else { continue };
        if supply_kg_m2 == f64::INFINITY {
            (least, most) = (least.min(strength), most.max(strength));
        }
        for share in [least, most] {
            let strain = gel.bath.network_volume_strain + gel.bath.osmotic_volume_strain * (share - strength);
            if water_volume > 0.0 {
                in_range(Some(index), "volume strain in the liquid", strain, -0.5 * water_volume, 1.0)?;
            }
        }
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
