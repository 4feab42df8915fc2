//! Two rigidly joined retainers whose span is off.
//!
//! With `w_i` the clearance normal to the wall of retainer `i` at no lift and `t_i` its film, the bridge may slide along its span by
//!
//! ```text
//! p_i(h) = (w_i - t_i) / cos(theta_i) + h tan(theta_i)
//! ```
//!
//! to either side of retainer `i`. It goes down to `h` when `|dL| <= p_1(h) + p_2(h)`: the retainers shift against each other by
//! the error, and each takes what room it has. With `h_0` the lift without any error of the span,
//!
//! ```text
//! misfit  = max(0, |dL| - p_1(h_0) - p_2(h_0))
//! lift    = h_0 + misfit / (tan(theta_1) + tan(theta_2))
//! rocking = h_0 + misfit / tan(theta_i)
//! ```
//!
//! Two equal retainers give equation (2) of [`super`] with half of the error each. `misfit` is what spacer and taper do not take
//! when the bridge is pressed to its film all the same: it stays as stress, or moves the teeth. Pressed home on one retainer
//! alone, the other rises to `rocking`, for it then has to give all of the room. Rigid bodies; the lean of a rocking bridge is small and
//! takes no room itself.

use super::{Seating, SeatingError, check, finite, seat};

/// One retainer.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Retainer {
    /// The crown and its tooth; its own span error is not read.
    pub crown: Seating,
    /// Height of the wall, m: lifted by as much, the retainer is off its tooth.
    pub wall_height_m: f64,
}

/// A bridge on two teeth.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Joined {
    /// Both retainers.
    pub retainers: [Retainer; 2],
    /// Span of the bridge less that of the teeth, m.
    pub span_error_m: f64,
    /// Span, m, above 0.
    pub span_m: f64,
}

/// How the bridge goes down.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Descent {
    /// As far as without an error of the span, with room left to slide.
    Passive,
    /// Until the walls that face each other, or turn away from each other, wedge it.
    Binding,
    /// Not at all: it would have to stand higher than a wall of its teeth.
    NotDown,
}

/// The bridge at rest.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rest {
    /// How it went down.
    pub descent: Descent,
    /// Opening at both margins, along the common path, m.
    pub opening_m: f64,
    /// Room left to slide along the span, m; 0 when it binds.
    pub play_m: f64,
    /// Error of the span that neither spacer nor taper takes at the film, m: stress, or rocking.
    pub misfit_m: f64,
    /// Opening of the worse retainer when the other alone is pressed home, m.
    pub rocking_opening_m: f64,
    /// Lean of the bridge between the two, rad.
    pub rocking_rad: f64,
}

/// Seats a bridge.
///
/// # Errors
/// When a half angle lies outside its range, a length is not finite, or span or wall are not above 0.
pub fn seat_joined(bridge: &Joined) -> Result<Rest, SeatingError> {
    finite("span_error_m", bridge.span_error_m)?;
    above("span_m", bridge.span_m)?;
    let (mut home_m, mut room_m, mut tangents) = (0.0_f64, 0.0, 0.0);
    let (mut wall_m, mut gentlest) = (f64::INFINITY, f64::INFINITY);
    for Retainer { crown, wall_height_m } in &bridge.retainers {
        check(crown)?;
        above("wall_height_m", *wall_height_m)?;
        home_m = home_m.max(seat(&Seating { span_error_m: 0.0, ..*crown })?.opening_m);
        let (cos, tan) = (libm::cos(crown.half_angle_rad), libm::tan(crown.half_angle_rad));
        room_m += (crown.spacer_m - crown.wall_film_m) / cos + 0.5 * crown.diameter_error_m;
        tangents += tan;
        gentlest = gentlest.min(tan);
        wall_m = wall_m.min(*wall_height_m);
    }
    let spare_m = room_m + home_m * tangents - bridge.span_error_m.abs();
    // The walls of a crown that rests on them leave a rounding of room behind.
    let misfit_m = if spare_m > -1e-15 { 0.0 } else { -spare_m };
    let opening_m = home_m + misfit_m / tangents;
    let rocking_opening_m = home_m + misfit_m / gentlest;
    let descent = if opening_m >= wall_m {
        Descent::NotDown
    } else if misfit_m > 0.0 {
        Descent::Binding
    } else {
        Descent::Passive
    };
    Ok(Rest {
        descent,
        opening_m,
        play_m: spare_m.max(0.0),
        misfit_m,
        rocking_opening_m,
        rocking_rad: libm::atan((rocking_opening_m - home_m) / bridge.span_m),
    })
}

fn above(field: &'static str, given: f64) -> Result<(), SeatingError> {
    finite(field, given)?;
    if given > 0.0 { Ok(()) } else { Err(SeatingError::NotAbove { field, given }) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn retainer(convergence_deg: f64, spacer_m: f64, diameter_error_m: f64) -> Retainer {
        let crown = Seating {
            half_angle_rad: (0.5 * convergence_deg).to_radians(),
            spacer_m,
            occlusal_spacer_m: 60e-6,
            wall_film_m: 20e-6,
            occlusal_film_m: 25e-6,
            margin_film_m: 20e-6,
            diameter_error_m,
            height_error_m: 0.0,
            span_error_m: 0.0,
        };
        Retainer { crown, wall_height_m: 5e-3 }
    }

    fn equal(span_error_m: f64) -> Joined {
        Joined { retainers: [retainer(12.0, 40e-6, 0.0); 2], span_error_m, span_m: 20e-3 }
    }

    #[test]
    fn passive_binding_and_not_down() {
        let passive = seat_joined(&equal(20e-6)).unwrap();
        assert_eq!(passive.descent, Descent::Passive);
        assert!(passive.play_m > 20e-6 && passive.misfit_m == 0.0 && passive.opening_m == 20e-6);
        assert_eq!((passive.rocking_opening_m, passive.rocking_rad), (20e-6, 0.0));
        let binding = seat_joined(&equal(-120e-6)).unwrap();
        assert_eq!(binding.descent, Descent::Binding);
        assert!(binding.play_m == 0.0 && binding.misfit_m > 60e-6 && binding.opening_m > 300e-6);
        // Two equal retainers: one alone rises twice as far.
        let (rise, rocked) = (binding.opening_m - 20e-6, binding.rocking_opening_m - 20e-6);
        assert!((rocked - 2.0 * rise).abs() < 1e-15 && (binding.rocking_rad - rocked / 20e-3).abs() < 1e-4);
        assert_eq!(seat_joined(&equal(2e-3)).unwrap().descent, Descent::NotDown);
    }

    /// A wide retainer lends its room to a tight one.
    #[test]
    fn a_roomy_retainer_takes_the_error_of_both() {
        let of = |first: f64, second: f64| {
            let retainers = [retainer(12.0, first, 0.0), retainer(12.0, second, 0.0)];
            seat_joined(&Joined { retainers, ..equal(60e-6) }).unwrap()
        };
        assert_eq!(of(22e-6, 80e-6).descent, Descent::Passive);
        assert_eq!(of(22e-6, 30e-6).descent, Descent::Binding);
        assert!((of(22e-6, 80e-6).play_m - of(51e-6, 51e-6).play_m).abs() < 1e-15);
    }

    #[test]
    fn refusals_name_field_and_value() {
        let flat = seat_joined(&Joined { span_m: 0.0, ..equal(0.0) }).unwrap_err().to_string();
        assert!(flat.contains("span_m") && flat.contains("is 0;"), "{flat}");
        let lost = seat_joined(&equal(f64::NAN)).unwrap_err().to_string();
        assert!(lost.contains("span_error_m") && lost.contains("NaN"), "{lost}");
    }

    proptest! {
        /// Equal retainers share the error: the lift of one crown that loses half of it.
        #[test]
        fn prop_equal_retainers_agree_with_one_crown(
            convergence in 2.0..40.0, s in 0.0..100e-6, dd in -60e-6..60e-6, span in -200e-6..200e-6,
        ) {
            let one = retainer(convergence, s, dd);
            let rest = seat_joined(&Joined { retainers: [one; 2], ..equal(span) }).unwrap();
            let alone = seat(&Seating { span_error_m: span, ..one.crown }).unwrap();
            prop_assert!((rest.opening_m - alone.opening_m).abs() < 1e-12);
        }

        /// Found without the formula: the lowest lift at which some place along the span leaves every wall its film.
        #[test]
        fn prop_lift_is_the_lowest_that_some_place_allows(
            first in 4.0..30.0, second in 4.0..30.0, s1 in 10e-6..80e-6, s2 in 10e-6..80e-6, span in -250e-6..250e-6,
        ) {
            let retainers = [retainer(first, s1, 0.0), retainer(second, s2, 0.0)];
            let rest = seat_joined(&Joined { retainers, ..equal(span) }).unwrap();
            let fits = |h: f64| {
                // Interval of the shift that each retainer allows; they must meet, once the span has moved one of them.
                let room = |r: &Retainer| {
                    let (sin, cos) = (libm::sin(r.crown.half_angle_rad), libm::cos(r.crown.half_angle_rad));
                    (r.crown.spacer_m + h * sin - r.crown.wall_film_m) / cos
                };
                let (a, b) = (room(&retainers[0]), room(&retainers[1]));
                let (low, high) = ((-a).max(span - b), a.min(span + b));
                a >= -1e-12 && b >= -1e-12 && low <= high + 1e-12
            };
            prop_assert!(fits(rest.opening_m + 1e-10));
            if rest.descent != Descent::Passive {
                prop_assert!(!fits(rest.opening_m - 1e-9 - 1e-4 * rest.opening_m));
            }
        }

        /// More error never seats lower, and what rocks stands higher than what is pressed on both sides.
        #[test]
        fn prop_more_error_is_no_better(span in 0.0..300e-6, more in 0.0..300e-6) {
            let (less, worse) = (seat_joined(&equal(span)).unwrap(), seat_joined(&equal(-span - more)).unwrap());
            prop_assert!(worse.opening_m >= less.opening_m && worse.misfit_m >= less.misfit_m);
            prop_assert!(worse.rocking_opening_m >= worse.opening_m && worse.play_m <= less.play_m);
        }
    }
}
