//! Seating of a crown.

use kernel::seating::{Seating, seat};

use crate::{CheckError, Input};

pub(crate) fn compute(id: &str, input: &Input) -> Result<f64, CheckError> {
    let half_angle_rad = 0.5 * input.number("convergence_deg")?.to_radians();
    let crown = Seating {
        half_angle_rad,
        spacer_m: 0.0,
        occlusal_spacer_m: 1.0,
        wall_film_m: 0.0,
        occlusal_film_m: 0.0,
        margin_film_m: 0.0,
        diameter_error_m: 0.0,
        height_error_m: 0.0,
        span_error_m: 0.0,
    };
    let opening = |crown: &Seating| {
        seat(crown).map(|seated| seated.opening_m).map_err(|error| CheckError::Model(error.to_string()))
    };
    match id {
        // One micrometre of film lifts the crown by the multiplier.
        "lift-multiplier" => Ok(opening(&Seating { wall_film_m: 1e-6, ..crown })? * 1e6),
        "scale-error" => Ok(opening(&Seating { diameter_error_m: -0.001 * 8e-3, ..crown })? * 1e6),
        "effective-film" => {
            Ok(opening(&Seating { wall_film_m: input.number("film_um")? * 1e-6, ..crown })? * 1e6)
        }
        _ => Err(CheckError::Unknown(id.to_owned())),
    }
}
