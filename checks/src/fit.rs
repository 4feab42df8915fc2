//! Seating of a crown and of a bridge, and the width of a casting.

use kernel::casting::{Chain, diameter_error_m};
use kernel::seating::joined::{Joined, Rest, Retainer, seat_joined};
use kernel::seating::margin::step;
use kernel::seating::{Seating, seat};

use crate::{CheckError, Input};

pub(crate) fn compute(id: &str, input: &Input) -> Result<f64, CheckError> {
    match id {
        "joined-retainers" => joined(input, |rest| rest.opening_m),
        "rocking-bridge" => joined(input, |rest| rest.rocking_opening_m),
        "gold-casting" => gold_um(input),
        _ => crown(id, input),
    }
}

fn refused(error: impl std::fmt::Display) -> CheckError {
    CheckError::Model(error.to_string())
}

fn crown(id: &str, input: &Input) -> Result<f64, CheckError> {
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
    let opening = |crown: &Seating| seat(crown).map(|seated| seated.opening_m).map_err(refused);
    match id {
        // One micrometre of film lifts the crown by the multiplier.
        "lift-multiplier" => Ok(opening(&Seating { wall_film_m: 1e-6, ..crown })? * 1e6),
        "scale-error" => Ok(opening(&Seating { diameter_error_m: -0.001 * 8e-3, ..crown })? * 1e6),
        "effective-film" => {
            Ok(opening(&Seating { wall_film_m: input.number("film_um")? * 1e-6, ..crown })? * 1e6)
        }
        // Off its axis by all of its play, one side stands out as far as the other falls short.
        "play-at-the-margin" => {
            let film_m = input.number("film_um")? * 1e-6;
            let spacer_m = input.number("spacer_um")? * 1e-6;
            let crown = Seating { spacer_m, wall_film_m: film_m, margin_film_m: film_m, ..crown };
            let seated = seat(&crown).map_err(refused)?;
            let step = step(&crown, &seated, 0.0, 1.0).map_err(refused)?;
            Ok(0.5e6 * (step.most_m - step.least_m))
        }
        "spacer-coats" => {
            let film_m = input.number("film_um")? * 1e-6;
            let spacer_m = input.number("coats")? * input.number("coat_um")? * 1e-6;
            let crown = Seating { spacer_m, wall_film_m: film_m, margin_film_m: film_m, ..crown };
            Ok(opening(&crown)? * 1e6)
        }
        _ => Err(CheckError::Unknown(id.to_owned())),
    }
}

/// A bridge whose margins and occlusal faces stop nothing, um.
fn joined(input: &Input, of: impl Fn(&Rest) -> f64) -> Result<f64, CheckError> {
    let film_m = input.number("film_um")? * 1e-6;
    let retainer = |convergence: &str, spacer: &str| {
        let crown = Seating {
            half_angle_rad: 0.5 * input.number(convergence)?.to_radians(),
            spacer_m: input.number(spacer)? * 1e-6,
            occlusal_spacer_m: 1.0,
            wall_film_m: film_m,
            occlusal_film_m: 0.0,
            margin_film_m: 0.0,
            diameter_error_m: 0.0,
            height_error_m: 0.0,
            span_error_m: 0.0,
        };
        Ok::<_, CheckError>(Retainer { crown, wall_height_m: 5e-3 })
    };
    let bridge = Joined {
        retainers: [retainer("first_deg", "first_spacer_um")?, retainer("second_deg", "second_spacer_um")?],
        span_error_m: input.number("span_error_um")? * 1e-6,
        span_m: 20e-3,
    };
    seat_joined(&bridge).map(|rest| 1e6 * of(&rest)).map_err(refused)
}

/// Diameter error of a crown of 8 mm in gold, um, for an investment that expands by a share in all.
fn gold_um(input: &Input) -> Result<f64, CheckError> {
    let expansion = 0.01 * input.number("expansion_percent")?;
    let alloy = 0.01 * input.number("alloy_percent")?;
    let chain = Chain { setting: 0.3 * expansion, thermal: 0.7 * expansion, wax: 0.0, alloy };
    diameter_error_m(8e-3, &chain, 0.0).map(|m| 1e6 * m).map_err(refused)
}
