//! Where a crown comes to rest on its preparation, and what space is left inside.
//!
//! A tapered preparation of half angle theta (half the convergence), the crown coaxial with it, lifted by h along the
//! axis. The lift opens the clearance normal to the wall by h sin(theta), so with designed wall spacer s, wall film
//! t_w, occlusal spacer s_o and film t_o, margin film t_m, inner diameter of the crown minus diameter of the tooth dD,
//! and height error dH (a taller die makes a deeper crown):
//!
//! ```text
//! g(h)   = s + cos(theta) dD/2 + h sin(theta)                                (1)
//! h_wall = max(0, (t_w - s - cos(theta) dD/2) / sin(theta))                  (2)
//! h_occl = max(0, t_o - s_o - dH)                                            (3)
//! h      = max(h_wall, h_occl, t_m)                                          (4)
//! ```
//!
//! Two rigidly joined retainers whose span is off by dL share the error: each loses |dL|/2 cos(theta) of s on one side
//! and gains it on the other; the side that loses decides. A uniform scale error e of the crown about its apex is
//! dD = e D, which with no spacer gives h = -e (D/2)/tan(theta) (5).
//!
//! Plane geometry of rigid bodies; contact does not deform. The relation is that of Grajower, Lewinstein & Zeltser,
//! J Oral Rehabil 12 (1985) 235.
//!
//! A crown that is too wide seats as well as one that fits, and is loose: the space at its walls less the film that fills it. The
//! step at the margin is [`margin`], two retainers with their own spacers and tapers are [`joined`].

pub mod joined;
pub mod margin;

use core::fmt;

/// Least half angle of a preparation that is accepted, rad: 0.1 degree.
pub const HALF_ANGLE_MIN_RAD: f64 = 0.1 * core::f64::consts::PI / 180.0;
/// Greatest half angle of a preparation that is accepted, rad: 45 degrees.
pub const HALF_ANGLE_MAX_RAD: f64 = core::f64::consts::FRAC_PI_4;

/// A crown and the tooth it is to go on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Seating {
    /// Half of the total occlusal convergence, rad.
    pub half_angle_rad: f64,
    /// Designed space normal to the wall, m.
    pub spacer_m: f64,
    /// Designed space under the occlusal surface, along the axis, m.
    pub occlusal_spacer_m: f64,
    /// Film (or, dry, height of the roughness) that must fit between the walls, m.
    pub wall_film_m: f64,
    /// Film that must fit under the occlusal surface, m.
    pub occlusal_film_m: f64,
    /// Film that must fit at the margin, along the axis, m.
    pub margin_film_m: f64,
    /// Inner diameter of the crown, spacer aside, minus diameter of the tooth, m; negative for a tight crown.
    pub diameter_error_m: f64,
    /// Depth of the crown, spacer aside, minus height of the tooth, m; positive for a deep crown.
    pub height_error_m: f64,
    /// Error of the span between two joined retainers, either sign, m; 0 for a single crown.
    pub span_error_m: f64,
}

/// What stops the crown.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stop {
    /// The wall binds.
    Wall,
    /// The occlusal surface touches its film.
    Occlusal,
    /// Nothing before the film at the margin: the crown is down.
    Film,
}

/// The crown at rest.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Seated {
    /// Opening at the margin along the axis, m.
    pub opening_m: f64,
    /// Clearance normal to the wall, m, on the tighter side when a span is off.
    pub wall_space_m: f64,
    /// Clearance at the wall beyond the film, m: what the cement fills more thickly than it should, and the play of the crown.
    pub loose_m: f64,
    /// Clearance under the occlusal surface along the axis, m.
    pub occlusal_space_m: f64,
    /// What stopped it.
    pub limited_by: Stop,
}

/// A figure that no seat can be computed from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum SeatingError {
    /// The half angle lies outside [`HALF_ANGLE_MIN_RAD`] to [`HALF_ANGLE_MAX_RAD`].
    HalfAngle {
        /// The half angle given, rad.
        given_rad: f64,
    },
    /// A length is not a finite number.
    NotFinite {
        /// The field.
        field: &'static str,
        /// The value given.
        given: f64,
    },
    /// A length is nought or less.
    NotAbove {
        /// The field.
        field: &'static str,
        /// The value given.
        given: f64,
    },
    /// A share lies outside 0 to 1.
    Share {
        /// The field.
        field: &'static str,
        /// The value given.
        given: f64,
    },
}

impl fmt::Display for SeatingError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::HalfAngle { given_rad } => write!(
                f,
                "half_angle_rad of the preparation is {given_rad}; it must lie between {HALF_ANGLE_MIN_RAD:.5} and {HALF_ANGLE_MAX_RAD:.5} (0.1 to 45 degrees)"
            ),
            Self::NotFinite { field, given } => {
                write!(f, "{field} is {given}; it must be a finite length in metres")
            }
            Self::NotAbove { field, given } => {
                write!(f, "{field} is {given}; it must be a length above 0 m")
            }
            Self::Share { field, given } => {
                write!(f, "{field} is {given}; it must lie between 0 and 1")
            }
        }
    }
}

impl core::error::Error for SeatingError {}

/// Seats the crown: equations (1) to (4). Refuses a half angle outside its range or a length that is not finite.
pub fn seat(s: &Seating) -> Result<Seated, SeatingError> {
    check(s)?;
    let (sin, cos) = (libm::sin(s.half_angle_rad), libm::cos(s.half_angle_rad));
    let lost_to_span = 0.5 * s.span_error_m.abs() * cos;
    let wall_at_zero = s.spacer_m - lost_to_span + 0.5 * cos * s.diameter_error_m;
    let occlusal_at_zero = s.occlusal_spacer_m + s.height_error_m;

    let by_wall = ((s.wall_film_m - wall_at_zero) / sin).max(0.0);
    let by_occlusal = (s.occlusal_film_m - occlusal_at_zero).max(0.0);
    let opening_m = by_wall.max(by_occlusal).max(s.margin_film_m);
    let limited_by = if s.margin_film_m >= opening_m {
        Stop::Film
    } else if by_wall >= by_occlusal {
        Stop::Wall
    } else {
        Stop::Occlusal
    };
    let wall_space_m = wall_at_zero + opening_m * sin;
    Ok(Seated {
        opening_m,
        wall_space_m,
        loose_m: wall_space_m - s.wall_film_m,
        occlusal_space_m: occlusal_at_zero + opening_m,
        limited_by,
    })
}

fn check(s: &Seating) -> Result<(), SeatingError> {
    if !(HALF_ANGLE_MIN_RAD..=HALF_ANGLE_MAX_RAD).contains(&s.half_angle_rad) {
        return Err(SeatingError::HalfAngle { given_rad: s.half_angle_rad });
    }
    let lengths = [
        ("spacer_m", s.spacer_m),
        ("occlusal_spacer_m", s.occlusal_spacer_m),
        ("wall_film_m", s.wall_film_m),
        ("occlusal_film_m", s.occlusal_film_m),
        ("margin_film_m", s.margin_film_m),
        ("diameter_error_m", s.diameter_error_m),
        ("height_error_m", s.height_error_m),
        ("span_error_m", s.span_error_m),
    ];
    for (field, given) in lengths {
        finite(field, given)?;
    }
    Ok(())
}

fn finite(field: &'static str, given: f64) -> Result<(), SeatingError> {
    if given.is_finite() { Ok(()) } else { Err(SeatingError::NotFinite { field, given }) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const DEGREE: f64 = core::f64::consts::PI / 180.0;

    fn bare(convergence_deg: f64) -> Seating {
        Seating {
            half_angle_rad: 0.5 * convergence_deg * DEGREE,
            spacer_m: 0.0,
            occlusal_spacer_m: 0.0,
            wall_film_m: 0.0,
            occlusal_film_m: 0.0,
            margin_film_m: 0.0,
            diameter_error_m: 0.0,
            height_error_m: 0.0,
            span_error_m: 0.0,
        }
    }

    /// Lift per micrometre of wall film, 1/sin(theta), by total convergence; tabulated to one decimal.
    #[test]
    fn val_lift_per_film_over_convergence() {
        let table = [
            (4.0, 28.7),
            (6.0, 19.1),
            (8.0, 14.3),
            (10.0, 11.5),
            (12.0, 9.6),
            (16.0, 7.2),
            (20.0, 5.8),
            (24.0, 4.8),
            (30.0, 3.9),
        ];
        for (convergence_deg, multiplier) in table {
            let lift = seat(&Seating { wall_film_m: 1e-6, ..bare(convergence_deg) }).unwrap();
            assert!(
                (lift.opening_m * 1e6 - multiplier).abs() <= 0.051,
                "{convergence_deg}: {}",
                lift.opening_m * 1e6
            );
            assert_eq!(lift.limited_by, Stop::Wall);
        }
    }

    /// Uniform scale error of -0.1 % on 8 mm, equation (5): h = 4 um / tan(theta), to the printed micrometre.
    #[test]
    fn val_scale_error_over_convergence() {
        for (convergence_deg, um) in [(6.0, 76.0), (10.0, 46.0), (16.0, 28.0), (20.0, 23.0)] {
            let crown = Seating { diameter_error_m: -1e-3 * 8e-3, ..bare(convergence_deg) };
            let opening = seat(&crown).unwrap().opening_m * 1e6;
            assert!((opening - um).abs() <= 0.5, "{convergence_deg}: {opening} um");
            let spaced = Seating { spacer_m: 30e-6, ..crown };
            assert_eq!(seat(&spaced).unwrap().opening_m, 0.0);
        }
    }

    /// Grajower, Lewinstein & Zeltser 1985 (abstract): a lift of 54 um at 5 degrees is an effective film of 4.7 um. They
    /// used this relation, so it checks the reading of the angle, not the physics.
    #[test]
    fn val_grajower_effective_film() {
        let cemented = Seating { wall_film_m: 4.71e-6, ..bare(10.0) };
        assert!((seat(&cemented).unwrap().opening_m * 1e6 - 54.0).abs() < 0.06);
    }

    #[test]
    fn deep_span_and_film_stop_in_turn() {
        let base = Seating {
            spacer_m: 40e-6,
            occlusal_spacer_m: 40e-6,
            wall_film_m: 20e-6,
            occlusal_film_m: 25e-6,
            margin_film_m: 20e-6,
            ..bare(12.0)
        };
        assert_eq!(seat(&base).unwrap().limited_by, Stop::Film);
        let shallow = seat(&Seating { height_error_m: -60e-6, ..base }).unwrap();
        assert_eq!(shallow.limited_by, Stop::Occlusal);
        assert!((shallow.opening_m - 45e-6).abs() < 1e-15);
        // 60 um of span cost 30 um cos(6 deg) of the wall: 10 um short of the film, times 9.57.
        let apart = seat(&Seating { span_error_m: -60e-6, ..base }).unwrap();
        assert_eq!(apart.limited_by, Stop::Wall);
        let lift_m = (20e-6 - 40e-6 + 30e-6 * libm::cos(6.0 * DEGREE)) / libm::sin(6.0 * DEGREE);
        assert!((apart.opening_m - lift_m).abs() < 1e-15);
    }

    #[test]
    fn refusals_name_field_and_value() {
        let flat = seat(&bare(0.0)).unwrap_err().to_string();
        assert!(flat.contains("half_angle_rad") && flat.contains("is 0;"), "{flat}");
        let lost = seat(&Seating { spacer_m: f64::NAN, ..bare(10.0) }).unwrap_err().to_string();
        assert!(lost.contains("spacer_m") && lost.contains("NaN"), "{lost}");
    }

    proptest! {
        /// A seated crown leaves room for every film, and something is used up completely.
        #[test]
        fn prop_films_fit_and_one_is_exact(
            convergence in 2.0..40.0, s in 0.0..100e-6, so in 0.0..100e-6, dd in -60e-6..60e-6, dh in -60e-6..60e-6,
            span in -100e-6..100e-6,
        ) {
            let c = Seating {
                spacer_m: s, occlusal_spacer_m: so, diameter_error_m: dd, height_error_m: dh, span_error_m: span,
                wall_film_m: 15e-6, occlusal_film_m: 25e-6, margin_film_m: 20e-6, ..bare(convergence)
            };
            let r = seat(&c).unwrap();
            let spare = [r.wall_space_m - 15e-6, r.occlusal_space_m - 25e-6, r.opening_m - 20e-6];
            prop_assert!(spare.iter().all(|&x| x >= -1e-15));
            prop_assert!(spare.iter().any(|&x| x.abs() < 1e-15));
            let exact = match r.limited_by { Stop::Wall => 0, Stop::Occlusal => 1, Stop::Film => 2 };
            prop_assert!(spare[exact].abs() < 1e-15);
        }

        /// A smaller crown never seats lower, a larger one never leaves less space in the end.
        #[test]
        fn prop_two_sided(convergence in 2.0..40.0, dd in -60e-6..60e-6, more in 1e-7..50e-6) {
            let c = Seating { diameter_error_m: dd, spacer_m: 30e-6, wall_film_m: 15e-6, margin_film_m: 20e-6, ..bare(convergence) };
            let (tight, wide) = (seat(&c).unwrap(), seat(&Seating { diameter_error_m: dd + more, ..c }).unwrap());
            prop_assert!(wide.opening_m <= tight.opening_m);
            prop_assert!(wide.wall_space_m >= tight.wall_space_m - 1e-15);
            prop_assert!(wide.loose_m >= tight.loose_m - 1e-15 && tight.loose_m >= -1e-15);
        }
    }
}
