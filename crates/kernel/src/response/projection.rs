//! A shrinkage that varies through the layer, as the nearest sum of the profiles that the table knows.
//!
//! ```text
//! int_0^1 [f(x) - sum_k c_k phi_k(x)]^2 dx -> least,   phi = 1, x, exp(-6 x)
//! ```
//!
//! Because 1 is among the profiles the mean is kept without being asked for, and with it, by the normal equations, the
//! integrals of `f x` and `f exp(-6 x)`. A displacement is some integral of `f` with a weight over the depth, so only
//! the part of that weight that the three profiles cannot follow is lost. In a long incompressible die the wall
//! answers to `int f r dr`, which is a sum of the first two: nothing is lost. Near corners and the gingival face the
//! weight is rougher. A step is blurred: what is left over
//! is 0.15 of its height (root mean square) at a tenth of the thickness, 0.26 at four tenths.
//!
//! Cells are fitted by the averages of the profiles over them, weighted with their widths, so that a sum of the
//! profiles comes back with its own coefficients on any grid.

use super::PROFILES;

/// Mean of `exp(-6 x)`, `(1 - exp(-6)) / 6`.
const FRONT_MEAN: f64 = 0.166_253_541_303_888_94;

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
    let [once, twice] = [libm::exp(-6.0), libm::exp(-12.0)];
    let gram = [
        1.0 / 12.0,
        (1.0 - 7.0 * once) / 36.0 - 0.5 * FRONT_MEAN,
        (1.0 - twice) / 12.0 - FRONT_MEAN * FRONT_MEAN,
    ];
    let inverse = inverse(gram);
    let from_die = primitives(share);
    with_mean(share, inverse.map(|row| row[0] * from_die[0] + row[1] * from_die[1]))
}

/// Coefficients for the averages over equal cells from the die to the tray. Two cells give no third profile, one gives
/// the first alone, none gives nothing.
pub fn project(cells: &[f64]) -> [f64; PROFILES] {
    let width = 1.0 / cells.len().max(1) as f64;
    let (mut gram, mut right, mut sum) = ([0.0; 3], [0.0; 2], 0.0);
    let mut before = primitives(0.0);
    for (i, value) in cells.iter().enumerate() {
        let here = primitives((i + 1) as f64 * width);
        let part = [here[0] - before[0], here[1] - before[1]];
        add_products(&mut gram, part, width);
        right = [right[0] + value * part[0], right[1] + value * part[1]];
        sum += value;
        before = here;
    }
    with_mean(sum * width, inverse(gram).map(|row| row[0] * right[0] + row[1] * right[1]))
}

/// The projection of one grid of cells, made once: each coefficient is a dot product.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Projection<const N: usize> {
    /// Share of the thickness of each cell.
    shares: [f64; N],
    /// Weights of the cells in the coefficients of `x` and `exp(-6 x)`.
    weights: [[f64; N]; 2],
}

impl<const N: usize> Projection<N> {
    /// Of cells of these widths, at least 0, in any unit, from the die to the tray. A cell without width has no say.
    pub fn new(widths: &[f64; N]) -> Self {
        let whole: f64 = widths.iter().sum();
        let shares = widths.map(|width| if whole > 0.0 { width / whole } else { 0.0 });
        let mut parts = [[0.0; 2]; N];
        let (mut gram, mut depth, mut before) = ([0.0; 3], 0.0, primitives(0.0));
        for (part, share) in parts.iter_mut().zip(shares) {
            if share > 0.0 {
                depth += share;
                let here = primitives(depth);
                *part = [here[0] - before[0], here[1] - before[1]];
                add_products(&mut gram, *part, share);
                before = here;
            }
        }
        let weights = inverse(gram).map(|row| parts.map(|part| row[0] * part[0] + row[1] * part[1]));
        Self { shares, weights }
    }

    /// Coefficients of `x` and `exp(-6 x)` for the averages over the cells; [`with_mean`] completes them.
    pub fn shape(&self, cells: &[f64; N]) -> [f64; 2] {
        self.weights.map(|weights| dot(&weights, cells))
    }

    /// All coefficients for the averages over the cells.
    pub fn of(&self, cells: &[f64; N]) -> [f64; PROFILES] {
        with_mean(dot(&self.shares, cells), self.shape(cells))
    }
}

fn dot<const N: usize>(a: &[f64; N], b: &[f64; N]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

/// Integrals from the die to `x` of the second and third profile less their means.
fn primitives(x: f64) -> [f64; 2] {
    [0.5 * x * (x - 1.0), -libm::expm1(-6.0 * x) / 6.0 - FRONT_MEAN * x]
}

fn add_products(gram: &mut [f64; 3], part: [f64; 2], share: f64) {
    gram[0] += part[0] * part[0] / share;
    gram[1] += part[0] * part[1] / share;
    gram[2] += part[1] * part[1] / share;
}

/// Inverse of the symmetric matrix `[g0, g1; g1, g2]`. Cells too few to tell the profiles apart are given to the first
/// that they know.
fn inverse([g0, g1, g2]: [f64; 3]) -> [[f64; 2]; 2] {
    let determinant = g0 * g2 - g1 * g1;
    if determinant > 1e-9 * g0 * g2 {
        [[g2 / determinant, -g1 / determinant], [-g1 / determinant, g0 / determinant]]
    } else if g0 > 0.0 {
        [[1.0 / g0, 0.0], [0.0, 0.0]]
    } else {
        [[0.0; 2]; 2]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn close(got: [f64; PROFILES], want: [f64; PROFILES], tolerance: f64) -> bool {
        got.iter().zip(want).all(|(g, w)| (g - w).abs() <= tolerance)
    }

    /// Averages of the profiles over a cell.
    fn averages(from: f64, width: f64) -> [f64; PROFILES] {
        let front = (libm::exp(-6.0 * from) - libm::exp(-6.0 * (from + width))) / (6.0 * width);
        [1.0, from + 0.5 * width, front]
    }

    /// Normal equations of the step, by quadrature and elimination in 40 digits (mpmath), printed to 17 figures. 1e-13
    /// is rounding: the coefficients are differences of numbers ten times as large.
    #[test]
    fn val_step_is_the_nearest_sum_of_profiles() {
        let rows = [
            (0.05, [-0.32751583282572525, 0.41006884802104914, 1.0374600592713273]),
            (0.1, [-0.4090724625093671, 0.50133175349448565, 1.5542922197957399]),
            (0.2, [-0.13183190354528444, 0.12511901054571387, 1.619649098362567]),
            (0.4, [0.99257588052668376, -1.2696810782642137, 0.25421809528958545]),
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

    /// Least squares over the averages of cells, the same program, printed to 15 figures: five equal cells, and four that
    /// widen.
    #[test]
    fn val_cells_are_fitted_by_averages() {
        let got = project(&[4.0, 1.0, 0.5, 0.25, 0.5]);
        assert!(close(got, [-0.645152588154325, 1.215259504976, 7.74433329701475], 1e-13), "{got:?}");
        let got = Projection::new(&[1.0, 3.0, 4.0, 8.0]).of(&[4.0, 1.0, 0.5, 0.25]);
        assert!(close(got, [-1.00806923510009, 1.6174192548819, 5.33438025261716], 1e-13), "{got:?}");
    }

    /// Ever finer cells of a step come to the step, at second order where an edge of the cells lies at it.
    #[test]
    fn conv_cells_of_a_step() {
        let error = |count: usize| {
            let cells: Vec<f64> = (0..count).map(|i| f64::from(u8::from(10 * i < 3 * count))).collect();
            (project(&cells)[2] - step_profile(0.3)[2]).abs()
        };
        let errors = [error(20), error(40), error(80)];
        for pair in errors.windows(2) {
            assert!((1.8..2.2).contains(&libm::log2(pair[0] / pair[1])), "{errors:?}");
        }
        assert!(errors[2] < 2e-3, "{errors:?}");
    }

    #[test]
    fn few_cells_give_few_profiles() {
        assert_eq!(project(&[]), [0.0; PROFILES]);
        assert!(close(project(&[3.0]), [3.0, 0.0, 0.0], 1e-15));
        assert!(close(project(&[3.0, 1.0]), [4.0, -4.0, 0.0], 1e-14));
        let same = Projection::new(&[0.0, 1.0, 0.0, 1.0]).of(&[9.0, 3.0, 9.0, 1.0]);
        assert!(close(same, [4.0, -4.0, 0.0], 1e-14), "{same:?}");
        assert_eq!(Projection::new(&[0.0; 3]).of(&[1.0; 3]), [0.0; PROFILES]);
    }

    proptest! {
        /// The mean over the thickness is kept, and what is left over is orthogonal to every profile.
        #[test]
        fn prop_mean_and_integrals_are_kept(
            cells in prop::array::uniform8(-1.0..1.0_f64), widths in prop::array::uniform8(0.05..1.0_f64),
            share in 0.0..1.0_f64,
        ) {
            let whole: f64 = widths.iter().sum();
            let fit = Projection::new(&widths).of(&cells);
            let (mut depth, mut left) = (0.0, [0.0; PROFILES]);
            for (value, width) in cells.iter().zip(widths.map(|w| w / whole)) {
                let averages = averages(depth, width);
                let missed = value - averages.iter().zip(fit).map(|(a, c)| a * c).sum::<f64>();
                left = std::array::from_fn(|k| left[k] + width * averages[k] * missed);
                depth += width;
            }
            prop_assert!(left.iter().all(|l| l.abs() < 1e-13), "{left:?}");
            prop_assert!((mean(&step_profile(share)) - share).abs() < 1e-15);
            let even: f64 = cells.iter().sum::<f64>() / 8.0;
            prop_assert!((mean(&project(&cells)) - even).abs() < 1e-14);
        }

        /// A sum of the profiles comes back as itself, on any grid.
        #[test]
        fn prop_a_sum_of_profiles_is_its_own_projection(
            strain in prop::array::uniform3(-1.0..1.0_f64), widths in prop::array::uniform8(0.05..1.0_f64),
        ) {
            let whole: f64 = widths.iter().sum();
            let mut depth = 0.0;
            let cells = widths.map(|width| {
                let share = width / whole;
                depth += share;
                averages(depth - share, share).iter().zip(strain).map(|(a, c)| a * c).sum::<f64>()
            });
            let got = Projection::new(&widths).of(&cells);
            prop_assert!(close(got, strain, 1e-11), "{got:?} for {strain:?}");
        }
    }
}
