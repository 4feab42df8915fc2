//! The step between crown and tooth at the margin.
//!
//! ```text
//! even  = dD_m / 2
//! play  = max(0, wall space - film) / cos(theta)
//! most  = even + c play,   least = even - c play
//! ```
//!
//! `dD_m` is the diameter of the crown less that of the tooth at the margin, where no spacer is painted. A crown is shaped flush
//! with the die: where the die is too wide the crown stands out (an overhang, positive), where it is too narrow the tooth does (a ledge,
//! negative), all around. The film does not push a rigid crown out on every side at once; it decides how far the crown can sit off
//! its axis, `c` of the play, and then one side stands out as much further as the other falls short.

use super::{Seated, Seating, SeatingError, check, finite};

/// Steps at the margin, m, across the path of insertion; positive where the crown is wider than the tooth.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Step {
    /// All around a crown that sits on its axis.
    pub even_m: f64,
    /// On the side towards which the crown sits.
    pub most_m: f64,
    /// On the side away from which it sits.
    pub least_m: f64,
}

impl Step {
    /// The larger of overhang and ledge, without its sign.
    pub fn worst_m(&self) -> f64 {
        self.most_m.abs().max(self.least_m.abs())
    }
}

/// Step of a seated crown whose margin is off by `margin_diameter_error_m`, when it sits `off_centre` of its play (0 to 1) off its axis.
///
/// # Errors
/// When a figure is not finite or the share lies outside its range.
pub fn step(
    crown: &Seating,
    seated: &Seated,
    margin_diameter_error_m: f64,
    off_centre: f64,
) -> Result<Step, SeatingError> {
    check(crown)?;
    finite("margin_diameter_error_m", margin_diameter_error_m)?;
    if !(0.0..=1.0).contains(&off_centre) {
        return Err(SeatingError::Share { field: "off_centre", given: off_centre });
    }
    let even_m = 0.5 * margin_diameter_error_m;
    let shift_m = off_centre * seated.loose_m.max(0.0) / libm::cos(crown.half_angle_rad);
    Ok(Step { even_m, most_m: even_m + shift_m, least_m: even_m - shift_m })
}

#[cfg(test)]
mod tests {
    use super::super::seat;
    use super::*;

    fn crown() -> Seating {
        Seating {
            half_angle_rad: 6f64.to_radians(),
            spacer_m: 40e-6,
            occlusal_spacer_m: 40e-6,
            wall_film_m: 25e-6,
            occlusal_film_m: 25e-6,
            margin_film_m: 25e-6,
            diameter_error_m: 0.0,
            height_error_m: 0.0,
            span_error_m: 0.0,
        }
    }

    fn of(crown: &Seating, margin_m: f64, off_centre: f64) -> Step {
        step(crown, &seat(crown).unwrap(), margin_m, off_centre).unwrap()
    }

    /// Half of the error all around; a centred crown has the same step on both sides.
    #[test]
    fn a_wide_die_makes_an_overhang_and_a_narrow_one_a_ledge() {
        let (wide, narrow) = (of(&crown(), 60e-6, 0.0), of(&crown(), -60e-6, 0.0));
        assert_eq!((wide.even_m, wide.most_m, wide.least_m), (30e-6, 30e-6, 30e-6));
        assert_eq!((narrow.even_m, narrow.worst_m()), (-30e-6, 30e-6));
    }

    /// Off its axis by all of its play: 40 um and the lift of 25 um sin(6 deg), less the film, over cos(6 deg).
    #[test]
    fn play_makes_one_side_worse() {
        let theta = 6f64.to_radians();
        let play_m = (15e-6 + 25e-6 * libm::sin(theta)) / libm::cos(theta);
        let off = of(&crown(), 20e-6, 1.0);
        assert!((off.most_m - 10e-6 - play_m).abs() < 1e-18 && (off.least_m - 10e-6 + play_m).abs() < 1e-18);
        // A crown that binds on its walls has no play.
        let tight = Seating { diameter_error_m: -80e-6, ..crown() };
        let bound = of(&tight, -80e-6, 1.0);
        assert!((bound.most_m - bound.least_m).abs() < 1e-15);
    }

    #[test]
    fn refusals_name_field_and_value() {
        let seated = seat(&crown()).unwrap();
        let share = step(&crown(), &seated, 0.0, 1.5).unwrap_err().to_string();
        assert!(share.contains("off_centre") && share.contains("1.5"), "{share}");
        let lost = step(&crown(), &seated, f64::NAN, 0.5).unwrap_err().to_string();
        assert!(lost.contains("margin_diameter_error_m") && lost.contains("NaN"), "{lost}");
    }
}
