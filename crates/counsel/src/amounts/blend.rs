//! Water of a wanted temperature from two sources.
//!
//! ```text
//! m1 / m = (T - T2) / (T1 - T2)
//! ```
//!
//! with one specific heat for both (within 0.3 % from 10 to 40 °C). The measuring vessel is left out: rinse it with the blend, or trust the
//! thermometer over the arithmetic.

use chain::statistics::Interval;
use libm::sqrt;

use super::AmountError;

/// Water of two sources.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct Blend {
    /// The sources, K.
    pub sources_k: [f64; 2],
    /// How much of each, kg; a millilitre is a gram within half a percent.
    pub water_kg: [f64; 2],
    /// Wanted temperature, K.
    pub wanted_k: f64,
    /// What comes out when each is measured to a millilitre and read to half a degree, K.
    pub temperature_k: Interval,
}

/// Half-width of reading a measuring cylinder, kg.
const READ_KG: f64 = 1e-3;

/// Half-width of reading a thermometer, K.
const READ_K: f64 = 0.5;

/// How much of each source makes `total_kg` of water at `wanted_k`.
///
/// # Errors
/// When the wanted temperature lies outside the sources, or a figure is not one of water.
pub fn blend(sources_k: [f64; 2], wanted_k: f64, total_kg: f64) -> Result<Blend, AmountError> {
    let celsius = |k: f64| format!("{:.1} °C", k - 273.15);
    for k in sources_k {
        if !(273.15..=373.15).contains(&k) {
            return Err(AmountError::Given {
                field: "source",
                given: celsius(k),
                allowed: "0 to 100 °C".to_owned(),
            });
        }
    }
    if !(1e-3..=10.0).contains(&total_kg) {
        return Err(AmountError::Given {
            field: "water",
            given: format!("{:.1} mL", total_kg * 1e3),
            allowed: "1 mL to 10 L".to_owned(),
        });
    }
    let [first_k, second_k] = sources_k;
    let (low_k, high_k) = (first_k.min(second_k), first_k.max(second_k));
    if !(low_k..=high_k).contains(&wanted_k) {
        return Err(AmountError::Given {
            field: "wanted temperature",
            given: celsius(wanted_k),
            allowed: format!(
                "{} to {}, the temperatures of the two sources",
                celsius(low_k),
                celsius(high_k)
            ),
        });
    }
    let apart_k = first_k - second_k;
    let share = if apart_k == 0.0 { 0.5 } else { (wanted_k - second_k) / apart_k };
    let water_kg = [share * total_kg, (1.0 - share) * total_kg];
    // Errors of both thermometers and both measures, in squares.
    let by_heat = READ_K * sqrt(share * share + (1.0 - share) * (1.0 - share));
    let by_measure = apart_k.abs() * READ_KG / total_kg * sqrt(share * share + (1.0 - share) * (1.0 - share));
    let half_k = sqrt(by_heat * by_heat + by_measure * by_measure);
    let temperature_k = Interval { low: wanted_k - half_k, mid: wanted_k, high: wanted_k + half_k };
    Ok(Blend { sources_k, water_kg, wanted_k, temperature_k })
}
