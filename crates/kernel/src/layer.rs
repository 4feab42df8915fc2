//! A nearly incompressible layer between a die and a rigid tray: what shrinking does to the cavity.
//!
//! ```text
//! div(sigma) = 0,  sigma = lambda tr(e) I + 2 mu e,  e = strain of the displacement + eps I
//! ```
//!
//! `eps` > 0 is the isotropic linear shrinkage the layer would show if it were free. On the tray (radius `b`) the
//! displacement is zero when the layer is held; the wall of the cavity (radius `a`) is free of load. A result > 0 is a
//! larger cavity, hence a larger stone die. The layer is linear, so every result is proportional to the strains.
//!
//! Held annulus (plane strain) and sphere are Lame's solutions with an eigenstrain. With nu = 1/2 they reduce to the
//! bookkeeping of volume: the wall recedes by the volume lost over the area of the wall. A loose layer shrinks as a
//! free body and its cavity gets smaller. A tray that itself changes size by `tray_strain` adds a homogeneous
//! change of everything, which strains nothing if the layer follows it, so that
//!
//! ```text
//! u(a) = tray_strain a + [held form with eps + tray_strain]
//! ```
//!
//! holds exactly, on a finite die as well. The factors for a finite die are fits; their source and domain stand
//! beside them.

use core::fmt;

/// Layer thickness over preparation height for which the finite-die factors were fitted.
pub const OVER_HEIGHT: [f64; 2] = [0.125, 1.5];
/// Layer thickness over die radius for which the finite-die factors were fitted.
pub const OVER_RADIUS: [f64; 2] = [0.2, 2.4];

/// The space one die leaves in the impression.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cavity {
    /// Radius of the die at its gingival wall, m.
    pub die_radius_m: f64,
    /// Thickness of the layer beside the die, from wall to tray, m.
    pub relief_m: f64,
    /// Height of the preparation from the gingival opening to the ceiling, m.
    pub height_m: f64,
    /// Thickness of the layer above the die, from ceiling to tray, m.
    pub ceiling_m: f64,
    /// Poisson's ratio of the set layer, 0 to 1/2; rubbers lie above 0.499.
    pub poisson: f64,
    /// Share of the tray's grip, 0 (loose) to 1 (held everywhere).
    pub hold: f64,
    /// Factor on the held displacement for whatever stands beside the die; 1 for a die alone.
    pub neighbour: f64,
}

/// A measure of the cavity that no calculation can use.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CavityError {
    /// The field of [`Cavity`].
    pub field: &'static str,
    /// The value given.
    pub given: f64,
    /// The least value allowed.
    pub least: f64,
    /// The greatest value allowed.
    pub greatest: f64,
}

impl fmt::Display for CavityError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { field, given, least, greatest } = self;
        write!(f, "{field} of the cavity is {given}; it must lie between {least} and {greatest}")
    }
}

impl core::error::Error for CavityError {}

impl Cavity {
    /// Refuses lengths outside 0.1 mm to 0.1 m and shares outside their range; names the first field at fault.
    pub fn check(&self) -> Result<(), CavityError> {
        let rows = [
            ("die_radius_m", self.die_radius_m, 1e-4, 0.1),
            ("relief_m", self.relief_m, 1e-4, 0.1),
            ("height_m", self.height_m, 1e-4, 0.1),
            ("ceiling_m", self.ceiling_m, 1e-4, 0.1),
            ("poisson", self.poisson, 0.0, 0.5),
            ("hold", self.hold, 0.0, 1.0),
            ("neighbour", self.neighbour, 0.0, 2.0),
        ];
        for (field, given, least, greatest) in rows {
            if !(given >= least && given <= greatest) {
                return Err(CavityError { field, given, least, greatest });
            }
        }
        Ok(())
    }

    /// Whether the factors for a finite die are used inside the range they were fitted on; outside it they keep the
    /// value at its edge.
    pub fn in_fitted_range(&self) -> bool {
        [self.relief_m, self.ceiling_m].iter().all(|t_m| {
            let (x, y) = (t_m / self.height_m, t_m / self.die_radius_m);
            (OVER_HEIGHT[0]..=OVER_HEIGHT[1]).contains(&x) && (OVER_RADIUS[0]..=OVER_RADIUS[1]).contains(&y)
        })
    }
}

/// Change of the mean radius of the wall, m, for a layer of free shrinkage `strain` in a tray whose own change is
/// `tray_strain` (both linear; the tray's is negative when it contracts). The held and the loose result are mixed
/// in proportion to `hold`, an assumption about trays that grip in part. The cavity has passed [`Cavity::check`].
pub fn radius_change_m(cavity: &Cavity, strain: f64, tray_strain: f64) -> f64 {
    let a = cavity.die_radius_m;
    let wall = annulus_held_m(a, a + cavity.relief_m, cavity.poisson, strain + tray_strain);
    let factor = factor(&WALL, cavity.relief_m, cavity) * cavity.neighbour;
    let held = tray_strain * a + factor * wall;
    cavity.hold * held + (1.0 - cavity.hold) * loose_m(a, strain)
}

/// Change of the height of the cavity from margin to top, m; arguments as in [`radius_change_m`]. Held, the top draws up towards
/// the tray and so does the free margin; thin layers leave the die a little tall, thick ones a little short. Loose, the
/// cavity shortens.
///
/// A thin layer clamped sideways gives `t strain (1+nu)/(1-nu)`, which is 3 for nu = 1/2; both ends are factors on it.
pub fn height_change_m(cavity: &Cavity, strain: f64, tray_strain: f64) -> f64 {
    let nu = cavity.poisson;
    let thin = (strain + tray_strain) * (1.0 + nu) / (1.0 - nu);
    let top = factor(&TOP, cavity.ceiling_m, cavity) * cavity.ceiling_m;
    let margin = factor(&MARGIN, cavity.relief_m, cavity) * cavity.relief_m;
    let held = tray_strain * cavity.height_m + (top - margin) * thin * cavity.neighbour;
    cavity.hold * held + (1.0 - cavity.hold) * loose_m(cavity.height_m, strain)
}

/// Wall displacement, m, of a long annulus held at the tray radius `b_m`: plane strain, Poisson's ratio `nu`.
///
/// ```text
/// u(a) = (1 + nu) eps (b^2 - a^2) / (a [1 + (1 - 2 nu) b^2/a^2])
/// ```
pub fn annulus_held_m(a_m: f64, b_m: f64, nu: f64, strain: f64) -> f64 {
    let ratio = b_m * b_m / (a_m * a_m);
    (1.0 + nu) * strain * (b_m * b_m - a_m * a_m) / (a_m * (1.0 + (1.0 - 2.0 * nu) * ratio))
}

/// Wall displacement, m, of a spherical shell held at the tray radius `b_m`.
///
/// ```text
/// u(a) = eps (b^3 - a^3)/a^2 * 3K / (3K + 4 mu b^3/a^3),   3K/mu = 2 (1 + nu)/(1 - 2 nu)
/// ```
pub fn sphere_held_m(a_m: f64, b_m: f64, nu: f64, strain: f64) -> f64 {
    let ratio = b_m * b_m * b_m / (a_m * a_m * a_m);
    strain * a_m * (ratio - 1.0) * (1.0 + nu) / (1.0 + nu + 2.0 * (1.0 - 2.0 * nu) * ratio)
}

/// Change of any length of the cavity, m, in a layer that nothing holds: it shrinks as a free body.
pub fn loose_m(length_m: f64, strain: f64) -> f64 {
    -strain * length_m
}

/// Factors for a straight die of finite height whose gingival end is open, held on wall and ceiling of the tray.
///
/// ```text
/// ln f = c0 + c1 X + c2 Y + c3 X^2 + c4 X Y + c5 Y^2 + c6 X^3 + c7 X^2 Y + c8 X Y^2 + c9 Y^3,  X = ln t/H,  Y = ln t/a
/// ```
///
/// Fitted to an axisymmetric finite-element solution (Taylor-Hood, nu 0.4999, a general-purpose library) of 45 dies:
/// radius 2.5, 4 and 5 mm, height 4, 6 and 8 mm, thickness 1 to 6 mm. Mean wall over the annulus, mean top over `3 eps t`, and the
/// half millimetre next to the margin over `3 eps t`: within 2.1, 2.1 and 6.8 % of every one of them.
const WALL: [f64; 10] =
    [-0.8024, -0.7365, -0.3942, -0.1682, -0.2788, -0.1747, 0.0011, -0.0378, -0.0609, -0.0346];
const TOP: [f64; 10] = [0.5242, -0.1757, 0.3041, 0.0109, -0.0896, -0.045, 0.0169, -0.0096, -0.0069, -0.0501];
const MARGIN: [f64; 10] =
    [0.7959, -0.1439, 0.3037, -0.3311, -0.1519, -0.0102, -0.0878, -0.008, -0.0936, 0.0122];

fn factor(c: &[f64; 10], thickness_m: f64, cavity: &Cavity) -> f64 {
    let x = libm::log((thickness_m / cavity.height_m).clamp(OVER_HEIGHT[0], OVER_HEIGHT[1]));
    let y = libm::log((thickness_m / cavity.die_radius_m).clamp(OVER_RADIUS[0], OVER_RADIUS[1]));
    let square = c[3] * x * x + c[4] * x * y + c[5] * y * y;
    let cube = c[6] * x * x * x + c[7] * x * x * y + c[8] * x * y * y + c[9] * y * y * y;
    libm::exp(c[0] + c[1] * x + c[2] * y + square + cube)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const STRAIN: f64 = 0.002;

    fn die(relief_m: f64, hold: f64) -> Cavity {
        Cavity {
            die_radius_m: 5e-3,
            relief_m,
            height_m: 8e-3,
            ceiling_m: relief_m,
            poisson: 0.4999,
            hold,
            neighbour: 1.0,
        }
    }

    /// Displacements computed in 30-digit arithmetic from Lame's constants, a 4 mm, b 7 mm, 0.2 %; printed to 1e-10 um.
    #[test]
    fn val_annulus_and_sphere_over_poisson() {
        let rows = [
            (0.3, 9.640_449_438_2, 8.114_093_959_7),
            (0.45, 18.315_789_473_7, 20.052_044_609_7),
            (0.49, 23.166_077_738_5, 30.488_448_844_9),
            (0.499, 24.582_929_556_5, 34.383_277_839_4),
            (0.4999, 24.733_200_914_4, 34.825_225_630_1),
            (0.5, 24.75, 34.875),
        ];
        for (nu, annulus_um, sphere_um) in rows {
            assert!(
                (annulus_held_m(4e-3, 7e-3, nu, STRAIN) * 1e6 - annulus_um).abs() < 1e-9,
                "annulus, nu {nu}"
            );
            assert!(
                (sphere_held_m(4e-3, 7e-3, nu, STRAIN) * 1e6 - sphere_um).abs() < 1e-9,
                "sphere, nu {nu}"
            );
        }
    }

    /// The same arithmetic, a 4 mm, nu 1/2, reliefs of 1 to 6 mm; exact decimals.
    #[test]
    fn val_relief_sweep() {
        for (relief_mm, um) in
            [(1.0, 6.75), (2.0, 15.0), (3.0, 24.75), (4.0, 36.0), (5.0, 48.75), (6.0, 63.0)]
        {
            let u = annulus_held_m(4e-3, (4.0 + relief_mm) * 1e-3, 0.5, STRAIN);
            assert!((u * 1e6 - um).abs() < 1e-9, "relief {relief_mm} mm: {} um", u * 1e6);
        }
    }

    /// Superposition worked in 30-digit arithmetic: a 5, b 8 mm, nu 0.4999, 200e-6 and 80e-6 per kelvin, 12 K colder.
    #[test]
    fn val_cooling_with_a_contracting_tray() {
        let held = annulus_held_m(5e-3, 8e-3, 0.4999, 200e-6 * 12.0 + 80e-6 * -12.0);
        assert!(((held + 80e-6 * -12.0 * 5e-3) * 1e6 - 12.038_255_613_1).abs() < 1e-6, "{} um", held * 1e6);
        // The same superposition on a finite die: the tray's own part is not reduced by the open end.
        let whole = radius_change_m(&die(3e-3, 1.0), 200e-6 * 12.0, 80e-6 * -12.0);
        let open = factor(&WALL, 3e-3, &die(3e-3, 1.0));
        assert!((whole - (open * held - 4.8e-6)).abs() < 1e-15, "{whole}");
    }

    /// Straight open dies (radius, height, thickness of the layer at wall and top in mm; mean wall, mean top, margin in um at
    /// 0.2 %): Taylor-Hood elements of a general-purpose library (scikit-fem 12), nu 0.4999, converged to 0.001 um.
    /// The tolerances are those of the fit: 2.5, 2.5 and 7 %.
    #[test]
    fn val_open_dies_of_finite_height() {
        let rows = [
            (2.5, 4.0, 1.0, 6.612, 8.703, 7.052),
            (2.5, 4.0, 3.0, 14.765, 33.814, 42.392),
            (2.5, 4.0, 6.0, 13.771, 68.231, 87.629),
            (2.5, 8.0, 1.0, 6.953, 8.795, 6.438),
            (2.5, 8.0, 3.0, 21.931, 39.03, 39.819),
            (2.5, 8.0, 6.0, 28.213, 78.882, 111.012),
            (4.0, 6.0, 1.0, 6.479, 7.675, 5.999),
            (4.0, 6.0, 3.0, 18.013, 30.942, 34.916),
            (4.0, 6.0, 6.0, 23.134, 67.605, 89.046),
            (5.0, 4.0, 1.0, 6.162, 7.284, 6.274),
            (5.0, 4.0, 3.0, 14.415, 27.025, 34.131),
            (5.0, 4.0, 6.0, 16.97, 59.259, 74.518),
            (5.0, 8.0, 1.0, 6.422, 7.323, 5.71),
            (5.0, 8.0, 3.0, 19.388, 29.445, 30.031),
            (5.0, 8.0, 6.0, 29.531, 67.628, 87.168),
        ];
        for (a, h, t, wall_um, top_um, margin_um) in rows {
            let c = Cavity { die_radius_m: a * 1e-3, height_m: h * 1e-3, ..die(t * 1e-3, 1.0) };
            let wall = radius_change_m(&c, STRAIN, 0.0) * 1e6;
            assert!((wall / wall_um - 1.0).abs() < 0.025, "wall, a {a} H {h} t {t}: {wall}");
            let thin_um = t * 1e3 * STRAIN * (1.4999 / 0.5001);
            assert!(
                (factor(&TOP, t * 1e-3, &c) * thin_um / top_um - 1.0).abs() < 0.025,
                "top, a {a} H {h} t {t}"
            );
            let margin = factor(&MARGIN, t * 1e-3, &c) * thin_um;
            assert!((margin / margin_um - 1.0).abs() < 0.07, "margin, a {a} H {h} t {t}");
            let height = height_change_m(&c, STRAIN, 0.0) * 1e6;
            assert!(
                (height - (top_um - margin_um)).abs() < 0.07 * margin_um + 0.025 * top_um,
                "height {height}"
            );
        }
    }

    /// A loose layer: -eps a, 4 mm and 0.2 % give -8 um.
    #[test]
    fn val_loose_is_a_free_body() {
        let loose = Cavity { die_radius_m: 4e-3, ..die(3e-3, 0.0) };
        assert!((radius_change_m(&loose, STRAIN, 0.0) * 1e6 + 8.0).abs() < 1e-12);
        assert!((height_change_m(&loose, STRAIN, 0.0) * 1e6 + 16.0).abs() < 1e-12);
    }

    #[test]
    fn refusal_names_the_field() {
        let bad = Cavity { poisson: 0.51, ..die(3e-3, 1.0) };
        let text = bad.check().unwrap_err().to_string();
        assert!(text.contains("poisson") && text.contains("0.51") && text.contains("0.5"), "{text}");
        assert!(Cavity { relief_m: f64::NAN, ..bad }.check().is_err());
        assert!(die(3e-3, 1.0).check().is_ok() && die(3e-3, 1.0).in_fitted_range());
        assert!(!die(13e-3, 1.0).in_fitted_range());
    }

    proptest! {
        /// With nu = 1/2 the volume the layer loses is the volume the cavity gains.
        #[test]
        fn prop_incompressible_layer_keeps_the_books(a in 1e-3..8e-3, t in 2e-4..8e-3, eps in 1e-5..0.01) {
            let b = a + t;
            let ring = 2.0 * a * annulus_held_m(a, b, 0.5, eps);
            let shell = 3.0 * a * a * sphere_held_m(a, b, 0.5, eps);
            prop_assert!((ring / (3.0 * eps * (b * b - a * a)) - 1.0).abs() < 1e-12);
            prop_assert!((shell / (3.0 * eps * (b * b * b - a * a * a)) - 1.0).abs() < 1e-11);
        }

        /// Grip decides the sign, relief the size, and heat undoes cooling.
        #[test]
        fn prop_directions(a in 2e-3..8e-3, t in 3e-4..6e-3, eps in 1e-4..0.01) {
            let held = Cavity { die_radius_m: a, height_m: 8e-3, ..die(t, 1.0) };
            let loose = Cavity { hold: 0.0, ..held };
            prop_assert!(radius_change_m(&held, eps, 0.0) > 0.0);
            prop_assert!(radius_change_m(&loose, eps, 0.0) < 0.0 && height_change_m(&loose, eps, 0.0) < 0.0);
            let wider = annulus_held_m(a, a + 1.1 * t, 0.4999, eps);
            prop_assert!(wider > annulus_held_m(a, a + t, 0.4999, eps));
            // 200e-6 of thermal strain per kelvin: the warmer the layer when the stone fixes it, the smaller the mould.
            let warmer = radius_change_m(&held, eps - 200e-6, 0.0);
            prop_assert!(warmer < radius_change_m(&held, eps, 0.0));
        }

        /// Linear in both strains, and in the share of hold.
        #[test]
        fn prop_linear(t in 3e-4..6e-3, hold in 0.0..1.0, e in -0.01..0.01_f64, s in -0.003..0.003_f64, k in -3.0..3.0_f64) {
            let c = die(t, hold);
            for change in [radius_change_m, height_change_m] {
                let sum = change(&c, e, 0.0) + change(&c, 0.0, s);
                prop_assert!((change(&c, e, s) - sum).abs() < 1e-17);
                prop_assert!((change(&c, k * e, k * s) - k * change(&c, e, s)).abs() < 1e-17);
                let (full, none) = (Cavity { hold: 1.0, ..c }, Cavity { hold: 0.0, ..c });
                let mixed = hold * change(&full, e, s) + (1.0 - hold) * change(&none, e, s);
                prop_assert!((change(&c, e, s) - mixed).abs() < 1e-17);
            }
        }

        /// A layer that follows its tray is strained by nothing: all lengths scale with the tray.
        #[test]
        fn prop_following_the_tray_is_pure_scale(t in 3e-4..6e-3, s in -0.003..0.003_f64) {
            let c = die(t, 1.0);
            prop_assert!((radius_change_m(&c, -s, s) - s * c.die_radius_m).abs() < 1e-18);
            prop_assert!((height_change_m(&c, -s, s) - s * c.height_m).abs() < 1e-18);
        }
    }
}
