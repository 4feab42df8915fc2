//! Tridiagonal linear systems.
//!
//! ```text
//! lower[i] x[i-1] + diag[i] x[i] + upper[i] x[i+1] = rhs[i],   i = 0 .. N-1
//! ```
//!
//! `lower[0]` and `upper[N-1]` are not read. Thomas's elimination without pivoting, 8N operations. It is
//! stable for diagonally dominant rows, |diag| > |lower| + |upper|, which implicit conduction and diffusion
//! steps always give (Golub & Van Loan, Matrix Computations, section 4.3).
//!
//! ```
//! let mut x = [1.0, 0.0, 1.0];
//! kernel::tridiagonal::solve(&[0.0, -1.0, -1.0], &[2.0; 3], &[-1.0, -1.0, 0.0], &mut x);
//! assert!(x.iter().all(|v| (v - 1.0).abs() < 1e-15));
//! ```

/// A matrix after elimination, for several right-hand sides.
#[derive(Debug, Clone, Copy)]
pub struct Factored<const N: usize> {
    lower: [f64; N],
    inverse_pivot: [f64; N],
    ratio: [f64; N],
}

/// Solves one system in place: `rhs` becomes the solution. For diagonally dominant rows.
pub fn solve<const N: usize>(lower: &[f64; N], diag: &[f64; N], upper: &[f64; N], rhs: &mut [f64; N]) {
    factor(lower, diag, upper).solve(rhs);
}

/// Eliminates the lower diagonal. For diagonally dominant rows; a zero pivot gives infinities.
pub fn factor<const N: usize>(lower: &[f64; N], diag: &[f64; N], upper: &[f64; N]) -> Factored<N> {
    let mut inverse_pivot = [0.0; N];
    let mut ratio = [0.0; N];
    let mut carried = 0.0;
    for i in 0..N {
        inverse_pivot[i] = 1.0 / (diag[i] - lower[i] * carried);
        carried = upper[i] * inverse_pivot[i];
        ratio[i] = carried;
    }
    Factored { lower: *lower, inverse_pivot, ratio }
}

impl<const N: usize> Factored<N> {
    /// Substitutes forward and back: `rhs` becomes the solution.
    pub fn solve(&self, rhs: &mut [f64; N]) {
        let mut before = 0.0;
        for (i, x) in rhs.iter_mut().enumerate() {
            before = (*x - self.lower[i] * before) * self.inverse_pivot[i];
            *x = before;
        }
        for i in (1..N).rev() {
            rhs[i - 1] -= self.ratio[i - 1] * rhs[i];
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// The second-difference matrix (-1, 2, -1) with a unit load: x_i = (i + 1)(N - i)/2, exact in integers.
    /// The tolerance is the rounding of N eliminations.
    #[test]
    fn val_second_difference_has_the_parabola_as_solution() {
        let mut x = [1.0; 40];
        solve(&[-1.0; 40], &[2.0; 40], &[-1.0; 40], &mut x);
        for (i, &got) in x.iter().enumerate() {
            let exact = 0.5 * (i + 1) as f64 * (40 - i) as f64;
            assert!((got - exact).abs() < 1e-11 * exact, "{i}: {got} for {exact}");
        }
    }

    proptest! {
        #[test]
        fn prop_residual_is_rounding(
            lower in prop::array::uniform12(-1.0..1.0f64),
            upper in prop::array::uniform12(-1.0..1.0f64),
            extra in prop::array::uniform12(0.01..10.0f64),
            rhs in prop::array::uniform12(-1e3..1e3f64),
        ) {
            let diag: [f64; 12] = std::array::from_fn(|i| lower[i].abs() + upper[i].abs() + extra[i]);
            let mut x = rhs;
            solve(&lower, &diag, &upper, &mut x);
            for i in 0..12 {
                let left = if i > 0 { lower[i] * x[i - 1] } else { 0.0 };
                let right = if i < 11 { upper[i] * x[i + 1] } else { 0.0 };
                let size = left.abs() + right.abs() + (diag[i] * x[i]).abs() + rhs[i].abs();
                prop_assert!((left + diag[i] * x[i] + right - rhs[i]).abs() <= 1e-14 * size);
            }
        }
    }
}
