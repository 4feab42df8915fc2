//! What a layer that shrinks between a die and its tray does to the cavity, from a table of finite-element solutions.
//!
//! ```text
//! u = hold u_held + (1 - hold) u_loose,   u_held = L sum c_k T_i(X1) .. T_n(X6) for each profile of strain
//! ```
//!
//! The strain may vary through the thickness: it is a sum of the profiles `1`, `x` and `exp(-6 x)`, with `x` = 0 on
//! the die and 1 on the tray, measured along `r` beside the die and along `z` above it, whichever is more. The table
//! stands for axisymmetric Taylor-Hood solutions of the tapered die whose gingival end is open (crate `elements`,
//! which makes and checks it); variables, domain and errors met are at the head of the table. The tray keeps an even
//! horizontal distance from the wall of the die.
//!
//! A held layer is bonded to a rigid tray, or to one that yields like springs of even stiffness. A loose one is a
//! free body. A share `hold` between them is the mixture of both, as for a tray that grips some of its area and not
//! the rest. A tray that itself changes by `s` is exact superposition: the held layer follows it as a whole and
//! answers to the strain plus `s`.
//!
//! The polynomials are evaluated once per die ([`gains`]); each strain after that is a dot product. A strain that is
//! no sum of the profiles is projected on them: [`project`], [`step_profile`].

mod projection;

#[cfg(test)]
pub(crate) use projection::project;
pub(crate) use projection::{FRONT_MEAN, shape_of};
pub use projection::{Projection, mean, step_profile, with_mean};

/// The constants that `cargo xtask condense` writes.
#[allow(clippy::approx_constant, reason = "the logarithm of a ratio of lengths may be that of two")]
pub mod table {
    include!("../../../data/condensed/die.rs");
}

/// Count of strain profiles.
pub const PROFILES: usize = 3;

/// A tapered die in its tray.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Die {
    /// Radius at half the height, m.
    pub radius_m: f64,
    /// Height from the gingival opening to the occlusal face, m.
    pub height_m: f64,
    /// Half of the total convergence, rad.
    pub half_angle_rad: f64,
    /// Horizontal thickness of the layer beside the die, m.
    pub relief_m: f64,
    /// Thickness of the layer above the die, m.
    pub ceiling_m: f64,
    /// Poisson's ratio of the set layer.
    pub poisson: f64,
    /// Share that the tray holds, 0 (loose) to 1.
    pub hold: f64,
    /// Yield of the tray, see [`tray_yield`]; 0 is rigid.
    pub tray_yield: f64,
}

/// Mean displacements, m; positive is a larger radius, or a place further from the gingival opening.
///
/// Axial displacements of a held layer are relative to the tray. A loose layer has no place along the axis: its
/// margin stays and its top moves.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Displacement {
    /// Radial, over the height of the wall.
    pub wall_m: f64,
    /// Radial, over the lower third of the wall.
    pub lower_wall_m: f64,
    /// Axial, occlusal face.
    pub top_m: f64,
    /// Axial, the half millimetre of the gingival face next to the die.
    pub margin_m: f64,
}

/// Yield of a tray of stiffness `tray_pa_per_m` (pressure per displacement, Pa/m; infinite is rigid) under a layer of
/// shear modulus `shear_pa`.
pub fn tray_yield(shear_pa: f64, relief_m: f64, tray_pa_per_m: f64) -> f64 {
    shear_pa / (relief_m * tray_pa_per_m)
}

/// Values of the profiles at the relative depth `x`, 0 on the die and 1 on the tray.
pub fn profiles(x: f64) -> [f64; PROFILES] {
    [1.0, x, libm::exp(-6.0 * x)]
}

/// Whether the table was made for such a die. Outside, [`gains`] keep the ratio of displacement to thickness at
/// the edge.
pub fn in_domain(die: &Die) -> bool {
    let inside = measures(die)
        .iter()
        .zip(table::DOMAIN)
        .all(|(x, [least, greatest])| (least - SLACK..=greatest + SLACK).contains(x));
    inside && (0.0..=1.0).contains(&die.hold)
}

/// Displacements of one die per unit of each strain: all that the many strains of a sample need of the table.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Gains {
    profiles: [Displacement; PROFILES],
    tray: Displacement,
}

impl Gains {
    /// Displacements for the shrinkage `strain[0] + strain[1] x + strain[2] exp(-6 x)` in a tray whose own change is
    /// `tray_strain` (negative when it contracts). Linear in both.
    pub fn displacement(&self, strain: &[f64; PROFILES], tray_strain: f64) -> Displacement {
        let mut sum = Displacement::default();
        for (gain, strain) in self.profiles.iter().zip(strain) {
            add(&mut sum, *strain, gain);
        }
        add(&mut sum, tray_strain, &self.tray);
        sum
    }
}

/// The gains of a die, for any count of strains.
///
/// ```text
/// u = hold [neighbour u_held(strain + tray) + tray similar] + (1 - hold) u_loose(strain)
/// ```
///
/// `neighbour`, 0 to 2, is a factor on what the held layer does by itself for whatever stands beside the die; 1 for a
/// die alone. The lengths must be above zero; every other number is brought into the domain first. An ideal tray is the
/// same die with a hold of 1 and no yield.
pub fn gains(die: &Die, neighbour: f64) -> Gains {
    let (hold, neighbour) = (die.hold.clamp(0.0, 1.0), neighbour.clamp(0.0, 2.0));
    let pairs = pairs(&powers(die));
    let mut gains = Gains::default();
    if hold > 0.0 {
        let held = held(die, &pairs);
        for (gain, held) in gains.profiles.iter_mut().zip(&held) {
            add(gain, hold * neighbour, held);
        }
        add(&mut gains.tray, hold * neighbour, &held[0]);
        add(&mut gains.tray, hold, &similar(die));
    }
    if hold < 1.0 {
        for (gain, loose) in gains.profiles.iter_mut().zip(&loose(die, &pairs)) {
            add(gain, 1.0 - hold, loose);
        }
    }
    gains
}

/// [`Gains::displacement`] of a die alone, for a single strain.
pub fn response(die: &Die, strain: &[f64; PROFILES], tray_strain: f64) -> Displacement {
    gains(die, 1.0).displacement(strain, tray_strain)
}

/// Rounding of degrees and millimetres at the ends of the domain.
const SLACK: f64 = 1e-9;

fn add(sum: &mut Displacement, share: f64, part: &Displacement) {
    sum.wall_m += share * part.wall_m;
    sum.lower_wall_m += share * part.lower_wall_m;
    sum.top_m += share * part.top_m;
    sum.margin_m += share * part.margin_m;
}

/// The measures of a die in the units and order of the domain.
fn measures(die: &Die) -> [f64; 7] {
    [
        die.radius_m * 1e3,
        die.height_m * 1e3,
        die.half_angle_rad * (360.0 / core::f64::consts::PI),
        die.relief_m * 1e3,
        die.ceiling_m * 1e3,
        die.poisson,
        die.tray_yield,
    ]
}

/// Of a held layer, per unit of each profile.
fn held(die: &Die, pairs: &Pairs) -> [Displacement; PROFILES] {
    let mut basis = [0.0; table::HELD_TERMS.len()];
    for (b, places) in basis.iter_mut().zip(&HELD_PLACES) {
        *b = product(pairs, places);
    }
    let (t, c) = (die.relief_m, die.ceiling_m);
    let tables = [&table::EVEN, &table::LINEAR, &table::FRONT];
    core::array::from_fn(|k| {
        let [wall, lower_wall, top, edge, half] = sums(&basis, tables[k]);
        let part = margin_part(die, table::MARGIN_SHAPE[k]);
        Displacement {
            wall_m: t * wall,
            lower_wall_m: t * lower_wall,
            top_m: c * top,
            margin_m: t * (edge + part * (half - edge)),
        }
    })
}

/// Sums of the rows weighted with the basis.
fn sums<const N: usize>(basis: &[f64; N], rows: &[[f64; 5]; N]) -> [f64; 5] {
    // Two sums, of the even and the odd rows, because each addition waits for the one before.
    let (mut even, mut odd) = ([0.0; 5], [0.0; 5]);
    let (b_pairs, b_rest) = basis.as_chunks::<2>();
    let (row_pairs, row_rest) = rows.as_chunks::<2>();
    for (b, row) in b_pairs.iter().zip(row_pairs) {
        for c in 0..5 {
            even[c] += b[0] * row[0][c];
            odd[c] += b[1] * row[1][c];
        }
    }
    for (b, row) in b_rest.iter().zip(row_rest) {
        for c in 0..5 {
            even[c] += b * row[c];
        }
    }
    core::array::from_fn(|c| even[c] + odd[c])
}

/// Of a free body, per unit of each profile: similar to itself under even shrinkage, bent by the others.
fn loose(die: &Die, pairs: &Pairs) -> [Displacement; PROFILES] {
    let (a, h) = (die.radius_m, die.height_m);
    let mut sum = [0.0; 4 * (PROFILES - 1)];
    for (term, row) in LOOSE_PLACES.iter().zip(&table::LOOSE) {
        let b = product(pairs, term);
        for (sum, c) in sum.iter_mut().zip(row) {
            *sum += b * c;
        }
    }
    let bent = |k: usize| {
        let u = &sum[4 * k..4 * k + 4];
        let margin = margin_part(die, table::LOOSE_MARGIN_SHAPE[k]) * u[3];
        Displacement { wall_m: a * u[0], lower_wall_m: a * u[1], top_m: h * (u[2] - margin), margin_m: 0.0 }
    };
    let mut even = Displacement::default();
    add(&mut even, -1.0, &similar(die));
    [even, bent(0), bent(1)]
}

/// What growth of everything by one does to a cavity whose margin stays.
fn similar(die: &Die) -> Displacement {
    let (a, h) = (die.radius_m, die.height_m);
    // The lower third is a third of the height below the middle, on average.
    let low = a + h / 3.0 * libm::tan(die.half_angle_rad);
    Displacement { wall_m: a, lower_wall_m: low, top_m: h, margin_m: 0.0 }
}

/// How far the mean over the margin lies from the edge of the gingival face to the mean over its half next to the
/// die.
fn margin_part(die: &Die, shape: f64) -> f64 {
    let x = (table::MARGIN_MM * 1e-3 / die.relief_m).min(0.5);
    shape * x + (4.0 - 2.0 * shape) * x * x
}

/// Chebyshev polynomials of each variable.
type Powers = [[f64; DEGREES]; 6];

/// One more than the greatest degree of a term.
const DEGREES: usize = 9;

fn powers(die: &Die) -> Powers {
    let mut m = measures(die);
    for (x, [least, greatest]) in m.iter_mut().zip(table::DOMAIN) {
        *x = x.clamp(least, greatest);
    }
    let [a, h, convergence, t, c, poisson, tray] = m;
    let [x1, x2, x3] = [libm::log(t / a), libm::log(c / a), libm::log(h / a)];
    let (by, ends) = (table::YIELD, table::ENDS);
    let yielding = tray * by[0] * libm::exp(by[1] * x1 + by[2] * x2 + by[3] * x3);
    let s = 1.0 - 2.0 * poisson;
    let slope = libm::tan(convergence * (core::f64::consts::PI / 360.0));
    let raw = [x1, x2, x3, slope, s / (s + table::HALF_WAY), 1.0 / (1.0 + yielding)];
    core::array::from_fn(|k| {
        let x = (2.0 * raw[k] - ends[k][0] - ends[k][1]) / (ends[k][1] - ends[k][0]);
        let mut t = [1.0; DEGREES];
        t[1] = x;
        for n in 2..DEGREES {
            t[n] = 2.0 * x * t[n - 1] - t[n - 2];
        }
        t
    })
}

/// Products of the polynomials of neighbouring variables; the degrees `i` and `j` have the place `9 i + j`.
type Pairs = [[f64; 128]; 3];

fn pairs(powers: &Powers) -> Pairs {
    let mut pairs = [[0.0; 128]; 3];
    for (k, pair) in pairs.iter_mut().enumerate() {
        for i in 0..DEGREES {
            for j in 0..DEGREES {
                pair[DEGREES * i + j] = powers[2 * k][i] * powers[2 * k + 1][j];
            }
        }
    }
    pairs
}

/// Places of the factors of every term among the [`Pairs`].
const HELD_PLACES: [[u8; 3]; table::HELD_TERMS.len()] = places(&table::HELD_TERMS);
const LOOSE_PLACES: [[u8; 3]; table::LOOSE_TERMS.len()] = places(&table::LOOSE_TERMS);

const fn places<const N: usize>(terms: &[[u8; 6]; N]) -> [[u8; 3]; N] {
    let mut places = [[0; 3]; N];
    let mut n = 0;
    while n < N {
        let t = terms[n];
        places[n] = [9 * t[0] + t[1], 9 * t[2] + t[3], 9 * t[4] + t[5]];
        n += 1;
    }
    places
}

fn product(pairs: &Pairs, places: &[u8; 3]) -> f64 {
    // The mask spares a check of the range; every place is below 81.
    let pair = |k: usize| pairs[k][usize::from(places[k] & 127)];
    pair(0) * pair(1) * pair(2)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const STRAIN: f64 = 0.002;

    fn straight(radius_mm: f64, height_mm: f64, thickness_mm: f64) -> Die {
        Die {
            radius_m: radius_mm * 1e-3,
            height_m: height_mm * 1e-3,
            half_angle_rad: 0.0,
            relief_m: thickness_mm * 1e-3,
            ceiling_m: thickness_mm * 1e-3,
            poisson: 0.4999,
            hold: 1.0,
            tray_yield: 0.0,
        }
    }

    /// Straight open dies (radius, height, thickness in mm; mean wall, mean top, margin in um at 0.2 %): Taylor-Hood
    /// elements of a general-purpose library (scikit-fem 12), nu 0.4999, converged to 0.001 um. Two percent or 0.3 um
    /// is what the table promises.
    #[test]
    fn val_straight_dies() {
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
            let die = straight(a, h, t);
            assert!(in_domain(&die));
            let u = response(&die, &[STRAIN, 0.0, 0.0], 0.0);
            for (name, got_m, want_um) in
                [("wall", u.wall_m, wall_um), ("top", u.top_m, top_um), ("margin", u.margin_m, margin_um)]
            {
                let error_um: f64 = got_m * 1e6 - want_um;
                assert!(
                    error_um.abs() < (0.02 * want_um).max(0.3),
                    "{name}, a {a} H {h} t {t}: {} for {want_um}",
                    got_m * 1e6
                );
            }
        }
    }

    /// A loose layer under even shrinkage is a free body: -eps a and -eps H.
    #[test]
    fn val_loose_is_a_free_body() {
        let die = Die { hold: 0.0, half_angle_rad: 0.1, ..straight(4.0, 6.0, 3.0) };
        let u = response(&die, &[STRAIN, 0.0, 0.0], 0.0);
        assert!((u.wall_m * 1e6 + 8.0).abs() < 1e-12);
        assert!(((u.top_m - u.margin_m) * 1e6 + 12.0).abs() < 1e-12);
    }

    fn any_die() -> impl Strategy<Value = Die> {
        let lengths = (2e-3..6e-3, 3e-3..9e-3, 0.0..0.26, 1e-3..6e-3, 1e-3..6e-3);
        (lengths, 0.4..0.5, 0.0..1.0, 0.0..0.5).prop_map(|((a, h, angle, t, c), poisson, hold, tray)| Die {
            radius_m: a,
            height_m: h,
            half_angle_rad: angle,
            relief_m: t,
            ceiling_m: c,
            poisson,
            hold,
            tray_yield: tray,
        })
    }

    proptest! {
        /// Linear in the strain and in the share of hold.
        #[test]
        fn prop_linear(die in any_die(), e in -0.01..0.01_f64, k in -3.0..3.0_f64) {
            prop_assert!(in_domain(&die));
            let one = response(&die, &[e, -e, 0.5 * e], 0.0);
            let many = response(&die, &[k * e, -k * e, 0.5 * k * e], 0.0);
            prop_assert!((many.wall_m - k * one.wall_m).abs() < 1e-15);
            prop_assert!((many.margin_m - k * one.margin_m).abs() < 1e-15);
            let [full, none] = [1.0, 0.0].map(|hold| response(&Die { hold, ..die }, &[e, -e, 0.5 * e], 0.0));
            let mixed = die.hold * full.top_m + (1.0 - die.hold) * none.top_m;
            prop_assert!((one.top_m - mixed).abs() < 1e-16);
        }

        /// A neighbour takes from what the held layer does by itself, not from what follows the tray or is loose.
        #[test]
        fn prop_neighbour_is_a_factor_on_the_held_part(die in any_die(), n in 0.0..2.0_f64, s in -0.01..0.01_f64) {
            let strain = [s, 0.5 * s, -s];
            let [alone, none, some] = [1.0, 0.0, n].map(|n| gains(&die, n).displacement(&strain, 0.3 * s));
            let mixed = n * alone.wall_m + (1.0 - n) * none.wall_m;
            prop_assert!((some.wall_m - mixed).abs() < 1e-17);
            let free = response(&Die { hold: 0.0, ..die }, &strain, 0.0);
            let follows = die.hold * 0.3 * s * die.radius_m + (1.0 - die.hold) * free.wall_m;
            prop_assert!((none.wall_m - follows).abs() < 1e-17);
            prop_assert_eq!(response(&die, &strain, 0.3 * s), alone);
        }

        /// Held, even shrinkage draws wall, top and margin to the tray; a tray that yields draws the wall less.
        #[test]
        fn prop_directions(die in any_die()) {
            let held = Die { hold: 1.0, tray_yield: 0.0, ..die };
            let u = response(&held, &[STRAIN, 0.0, 0.0], 0.0);
            prop_assert!(u.wall_m > 0.0 && u.top_m > 0.0 && u.margin_m > 0.0, "{u:?}");
            let soft = response(&Die { tray_yield: 0.5, ..held }, &[STRAIN, 0.0, 0.0], 0.0);
            prop_assert!(soft.wall_m < u.wall_m);
        }

        /// A held layer that follows its tray is strained by nothing, and a loose one does not know of the tray.
        #[test]
        fn prop_following_the_tray_is_pure_scale(die in any_die(), s in -0.003..0.003_f64) {
            let u = response(&Die { hold: 1.0, ..die }, &[-s, 0.0, 0.0], s);
            prop_assert!((u.wall_m - s * die.radius_m).abs() < 1e-18);
            prop_assert!((u.top_m - u.margin_m - s * die.height_m).abs() < 1e-18);
            let loose = Die { hold: 0.0, ..die };
            prop_assert_eq!(response(&loose, &[s, s, s], s), response(&loose, &[s, s, s], 0.0));
        }

        /// Any numbers give finite displacements.
        #[test]
        fn prop_finite(die in any_die(), far in 0.01..100.0_f64) {
            let odd = Die {
                radius_m: die.radius_m * far,
                relief_m: die.relief_m / far,
                poisson: far,
                tray_yield: f64::INFINITY,
                ..die
            };
            let u = response(&odd, &[STRAIN, STRAIN, -STRAIN], 0.0);
            prop_assert!([u.wall_m, u.lower_wall_m, u.top_m, u.margin_m].iter().all(|u| u.is_finite()));
            prop_assert!(!in_domain(&odd));
        }
    }
}
