//! A shrinkage that varies through the layer, as the nearest sum of the profiles that the table knows.
//!
//! ```text
//! int_0^1 [f(x) - sum_k c_k phi_k(x)]^2 dx -> least,   phi = 1, x, exp(-6 x)
//! ```
//!
//! Because 1 is among the profiles the mean is kept without being asked for, and with it, by the normal equations, the
//! integrals of `f x` and `f exp(-6 x)`. A displacement is an integral of `f` with a weight over the depth, so only the
//! part of that weight that the three profiles cannot follow is lost. The wall of a long held annulus answers to
//! `int f r dr` at any Poisson's ratio, and nothing is lost there. Under the occlusal face and at the gingival margin the weight is
//! rougher. As a function a step is blurred: what is left over is 0.15 of its height (root mean square) at a tenth of
//! the thickness and 0.26 at four tenths.
//!
//! A wash of 0.1, 0.2 or 0.4 of the layer that alone shrinks by 0.2 %, in a rigid tray, projected and taken through the
//! table: within 0.25 um of full solves for wall and lower wall, 0.5 um for the top, 0.6 um for the margin
//! (`crates/elements/tests/wash.rs`).
//!
//! In cells of which the averages are known, `f` is a straight line with the slope at its middle of the parabola through
//! the averages of three neighbours. The integrals are then of third order or better, and every coefficient is a dot product.

use core::cmp::Ordering;

use super::PROFILES;

/// Mean of `exp(-6 x)`, `(1 - exp(-6)) / 6`.
pub(crate) const FRONT_MEAN: f64 = 0.166_253_541_303_888_94;

/// Mean over the thickness of the strain with these coefficients.
pub fn mean(strain: &[f64; PROFILES]) -> f64 {
    strain[0] + 0.5 * strain[1] + FRONT_MEAN * strain[2]
}

/// The strain of this mean whose coefficients of `x` and `exp(-6 x)` are given.
pub fn with_mean(mean: f64, [linear, front]: [f64; 2]) -> [f64; PROFILES] {
    [mean - 0.5 * linear - FRONT_MEAN * front, linear, front]
}

/// Coefficients of the strain 1 from the die to the relative depth `share` and 0 beyond: a wash in front of a putty or a
/// heavy body that does not shrink. A share outside 0 to 1 counts as the nearer end.
pub fn step_profile(share: f64) -> [f64; PROFILES] {
    let share = share.clamp(0.0, 1.0);
    with_mean(share, shape_of(primitives(share).0))
}

/// Coefficients for the averages over equal cells from the die to the tray. One cell gives the first alone, two the first
/// two, none gives nothing.
#[cfg(test)]
pub(crate) fn project(cells: &[f64]) -> [f64; PROFILES] {
    let width = 1.0 / cells.len().max(1) as f64;
    let mut integrals = [0.0; 2];
    weigh(
        cells.len(),
        |_| width,
        |cell, weights| {
            for (integral, weight) in integrals.iter_mut().zip(weights) {
                *integral += weight * cells.get(cell).unwrap_or(&0.0);
            }
        },
    );
    with_mean(cells.iter().sum::<f64>() * width, shape_of(integrals))
}

/// The projection of one grid of cells, made once: each coefficient is a dot product over `N` places.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Projection<const N: usize> {
    /// Weights of the places in the coefficients of `x` and `exp(-6 x)`.
    weights: [[f64; N]; 2],
}

impl<const N: usize> Projection<N> {
    /// Of cells of these widths, above 0 and in any unit, from the die to the tray. They are the last places; what stands
    /// in the places before them has no say.
    pub fn new(widths: &[f64]) -> Self {
        let whole: f64 = widths.iter().sum();
        let before = N.saturating_sub(widths.len());
        let mut integrals = [[0.0; 2]; N];
        weigh(
            widths.len(),
            |cell| widths.get(cell).unwrap_or(&0.0) / whole,
            |cell, weights| {
                if let Some(place) = integrals.get_mut(before + cell) {
                    *place = [place[0] + weights[0], place[1] + weights[1]];
                }
            },
        );
        Self { weights: inverse().map(|row| integrals.map(|[a, b]| row[0] * a + row[1] * b)) }
    }

    /// Coefficients of `x` and `exp(-6 x)` for the averages over the cells; [`with_mean`] gives all three.
    pub fn shape(&self, places: &[f64; N]) -> [f64; 2] {
        self.weights.map(|weights| weights.iter().zip(places).map(|(w, v)| w * v).sum())
    }
}

/// Integrals from the die to `x` of the second and third profile less their means, and the integrals of those.
fn primitives(x: f64) -> ([f64; 2], [f64; 2]) {
    let front = -libm::expm1(-6.0 * x) / 6.0;
    let once = [0.5 * x * (x - 1.0), front - FRONT_MEAN * x];
    (once, [x * x * (x / 6.0 - 0.25), (x - front) / 6.0 - 0.5 * FRONT_MEAN * x * x])
}

/// What takes the integrals of `f` times the second and third profile less their means to their coefficients.
fn inverse() -> [[f64; 2]; 2] {
    let [once, twice] = [libm::exp(-6.0), libm::exp(-12.0)];
    let linear = 1.0 / 12.0;
    let both = (1.0 - 7.0 * once) / 36.0 - 0.5 * FRONT_MEAN;
    let front = (1.0 - twice) / 12.0 - FRONT_MEAN * FRONT_MEAN;
    let determinant = linear * front - both * both;
    [[front / determinant, -both / determinant], [-both / determinant, linear / determinant]]
}

/// Coefficients of `x` and `exp(-6 x)` from those integrals.
pub(crate) fn shape_of(integrals: [f64; 2]) -> [f64; 2] {
    inverse().map(|row| row[0] * integrals[0] + row[1] * integrals[1])
}

/// Tells `give` what the average over each of `count` cells adds to the two integrals; a cell comes several times.
fn weigh(count: usize, share: impl Fn(usize) -> f64, mut give: impl FnMut(usize, [f64; 2])) {
    // Of a cell and the next, with the edge between them: one over the distance of their middles, and where a parabola
    // with their averages has the slope that their difference by it is.
    let pair = |cell: usize, edge: f64| {
        let (a, b) = (share(cell), share(cell + 1));
        (2.0 / (a + b), edge + (b - a) / 3.0)
    };
    let mut from = 0.0;
    let (mut once, mut twice) = primitives(from);
    for cell in 0..count {
        let width = share(cell);
        let to = from + width;
        let (once_to, twice_to) = primitives(to);
        give(cell, [once_to[0] - once[0], once_to[1] - once[1]]);
        // Integrals with the distance from the middle of the cell, by parts.
        let lever: [f64; 2] =
            core::array::from_fn(|k| 0.5 * width * (once[k] + once_to[k]) - (twice_to[k] - twice[k]));
        let mut slope = |cell: usize, factor: f64| {
            give(cell, lever.map(|l| -factor * l));
            give(cell + 1, lever.map(|l| factor * l));
        };
        if count > 2 {
            let middle = cell.clamp(1, count - 2);
            let edge = match middle.cmp(&cell) {
                Ordering::Less => from - share(middle),
                Ordering::Equal => from,
                Ordering::Greater => to,
            };
            let (near, far) = (pair(middle - 1, edge), pair(middle, edge + share(middle)));
            let part = (0.5 * (from + to) - near.1) / (far.1 - near.1);
            slope(middle - 1, (1.0 - part) * near.0);
            slope(middle, part * far.0);
        } else if count == 2 {
            slope(0, pair(0, 0.5).0);
        }
        (from, once, twice) = (to, once_to, twice_to);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use core::f64::consts::PI;
    use proptest::prelude::*;

    const LATE: [f64; PROFILES] = [0.6900292876445, -0.7827879320715, 0.3894347483724];
    const EARLY: [f64; PROFILES] = [-0.2627516569848, 0.3176853939598, 1.167970870573];

    fn close(got: [f64; PROFILES], want: [f64; PROFILES], tolerance: f64) -> bool {
        got.iter().zip(want).all(|(g, w)| (g - w).abs() <= tolerance)
    }

    /// Normal equations of the step, by quadrature and elimination in 40 digits (mpmath), printed to 16 figures. 1e-13
    /// is rounding: the coefficients are differences of numbers ten times as large.
    #[test]
    fn val_step_is_the_nearest_sum_of_profiles() {
        let rows = [
            (0.05, [-0.3275158328257253, 0.41006884802104914, 1.0374600592713273]),
            (0.1, [-0.4090724625093671, 0.5013317534944857, 1.5542922197957399]),
            (0.2, [-0.13183190354528444, 0.12511901054571387, 1.619649098362567]),
            (0.4, [0.9925758805266838, -1.2696810782642137, 0.25421809528958545]),
            (0.75, [1.9342682271398732, -1.956074167541812, -1.2404616572467748]),
            (1.0, [1.0, 0.0, 0.0]),
        ];
        for (share, want) in rows {
            let got = step_profile(share);
            assert!(close(got, want, 1e-13), "{share}: {got:?} for {want:?}");
        }
        assert_eq!(step_profile(0.0), [0.0; PROFILES]);
        assert_eq!(step_profile(7.0), step_profile(1.0));
    }

    /// Integral of a function from the die to a depth.
    type Integral<'a> = &'a dyn Fn(f64) -> f64;

    /// Eight cells of a sheet that widen by 1.4.
    fn widening() -> [f64; 8] {
        core::array::from_fn(|i| libm::pow(1.4, i as f64))
    }

    /// Averages over cells of a function with this integral from the die.
    fn averages(widths: &[f64], integral: impl Fn(f64) -> f64) -> Vec<f64> {
        let whole: f64 = widths.iter().sum();
        let mut from = 0.0;
        let average = |width: &f64| {
            let to = from + width / whole;
            let value = (integral(to) - integral(from)) / (to - from);
            from = to;
            value
        };
        widths.iter().map(average).collect()
    }

    fn of<const N: usize>(widths: &[f64; N], cells: &[f64]) -> [f64; PROFILES] {
        let whole: f64 = widths.iter().sum();
        let mean = widths.iter().zip(cells).map(|(w, c)| w * c).sum::<f64>() / whole;
        let mut places = [0.0; N];
        places.copy_from_slice(cells);
        with_mean(mean, Projection::new(widths).shape(&places))
    }

    /// Integral from the die of `1 - sin(pi x/2)`, a slab late in its drying.
    fn late(x: f64) -> f64 {
        x - 2.0 / PI * (1.0 - libm::cos(0.5 * PI * x))
    }

    /// Integral from the die of `erfc(x/0.16)`, one that has dried to a tenth of its depth.
    fn early(x: f64) -> f64 {
        let u = x / 0.16;
        0.16 * (u * libm::erfc(u) - libm::expm1(-u * u) / PI.sqrt())
    }

    /// Averages over eight cells of two functions against the nearest sums of profiles of the functions themselves
    /// (mpmath, 30 digits). Cells that widen from the die leave 0.003 and equal ones 0.015.
    #[test]
    fn val_cells_of_a_drying_slab() {
        let rows: [(Integral, _); 2] = [(&late, LATE), (&early, EARLY)];
        for (integral, want) in rows {
            let got = of(&widening(), &averages(&widening(), integral));
            assert!(close(got, want, 3e-3), "{got:?} for {want:?}");
            let got = project(&averages(&[1.0; 8], integral));
            assert!(close(got, want, 0.015), "{got:?} for {want:?}");
        }
    }

    /// Third order or better where the function is smooth, second across a step along an edge of the cells.
    #[test]
    fn conv_cells() {
        let step = |x: f64| x.min(0.3);
        let rows: [(Integral, _, f64, usize); 2] =
            [(&late, LATE, 3.0, 16), (&step, step_profile(0.3), 2.0, 20)];
        for (integral, want, order, count) in rows {
            let error = |count: usize| {
                let got = project(&averages(&vec![1.0; count], integral));
                (got[1] - want[1]).abs().max((got[2] - want[2]).abs())
            };
            let errors = [error(count), error(2 * count), error(4 * count)];
            for pair in errors.windows(2) {
                let met = libm::log2(pair[0] / pair[1]);
                assert!(met > order - 0.2, "{errors:?}, order {met}");
            }
        }
    }

    #[test]
    fn few_cells_give_few_profiles() {
        assert_eq!(project(&[]), [0.0; PROFILES]);
        assert!(close(project(&[3.0]), [3.0, 0.0, 0.0], 1e-14));
        assert!(close(project(&[3.0, 1.0]), [4.0, -4.0, 0.0], 1e-13));
        assert_eq!(Projection::new(&[]).shape(&[1.0; 3]), [0.0; 2]);
        // More widths than places: the last are left out.
        assert!(Projection::<1>::new(&[1.0, 1.0]).shape(&[1.0]).iter().all(|c| c.is_finite()));
    }

    /// Places before the cells have no say, and equal cells are those of [`project`].
    #[test]
    fn places_before_the_cells() {
        let cells = [4.0, 1.0, 0.5, 0.25, 0.5];
        let alone = Projection::new(&[1.0; 5]).shape(&cells);
        let behind = Projection::new(&[1.0; 5]).shape(&[300.0, f64::MAX, 4.0, 1.0, 0.5, 0.25, 0.5]);
        assert_eq!(alone, behind);
        assert!(close(project(&cells), with_mean(1.25, alone), 1e-13));
    }

    proptest! {
        /// The mean over the thickness is kept.
        #[test]
        fn prop_mean_is_kept(cells in prop::collection::vec(-1.0..1.0_f64, 1..12), share in 0.0..1.0_f64) {
            prop_assert!((mean(&step_profile(share)) - share).abs() < 1e-15);
            let even = cells.iter().sum::<f64>() / cells.len() as f64;
            prop_assert!((mean(&project(&cells)) - even).abs() < 1e-13);
        }

        /// A straight line comes back as itself on any grid, and an even strain as nothing else.
        #[test]
        fn prop_a_line_is_its_own_projection(
            a in -1.0..1.0_f64, b in -1.0..1.0_f64, widths in prop::array::uniform8(0.05..1.0_f64),
        ) {
            let got = of(&widths, &averages(&widths, |x| a * x + 0.5 * b * x * x));
            prop_assert!(close(got, [a, b, 0.0], 1e-11), "{got:?} for {a} + {b} x");
        }
    }
}
