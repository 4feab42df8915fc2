//! Water in a sheet with one open face, and the heat of the sheet as one lump.
//!
//! ```text
//! ∂c/∂t = D ∂²c/∂x²,  0 < x < L;   D ∂c/∂x(0, t) = J(T, c),   ∂c/∂x(L, t) = 0
//! C dT/dt = -q(T, c) - J L_v(T)
//! ```
//!
//! c(x, 0) and T(0) are uniform. J and q come from a law of the temperature and of the water in the
//! cell at the open face, which includes the resistance of half that cell.
//!
//! Finite volumes on cells that widen from the open face, second order. In time the two-stage
//! Rosenbrock method ROS2 with γ = 1 - 1/√2 (Verwer et al. 1999, SIAM J. Sci. Comput. 20:1456):
//! second order, L-stable, no iteration. It keeps every linear invariant, so that water and heat
//! balance to rounding when what left is carried along as a state.

use crate::response::Projection;
use crate::tridiagonal;

/// 1 - 1/√2: the smaller of the two values that make the method L-stable.
const GAMMA: f64 = 1.0 - core::f64::consts::FRAC_1_SQRT_2;

/// Step in temperature for the slope of the surface law, K.
const NUDGE_K: f64 = 1e-3;

/// The sheet: place 0 is the lump of heat, places 1 to M - 1 are the cells from the open face inwards.
pub(super) struct Sheet<const M: usize> {
    /// Heat capacity per area, J/(m² K), then the widths of the cells, m.
    pub capacity: [f64; M],
    /// Exchange between place i and i + 1, m/s; zero at both ends.
    exchange: [f64; M],
    /// Conductance of half the first cell, m/s.
    pub surface_m_s: f64,
    /// Shape of a quantity of the cells over the depth; the lump of heat has no say in it.
    pub projection: Projection<M>,
}

/// Temperature and water, and what has left since the start.
#[derive(Clone, Copy)]
pub(super) struct State<const M: usize> {
    /// Temperature in K, then the water of each cell in kg/m³.
    pub u: [f64; M],
    /// Water evaporated, kg/m².
    pub evaporated_kg_m2: f64,
    /// Heat it took along, J/m².
    pub latent_j_m2: f64,
    /// Heat lost otherwise, J/m².
    pub heat_j_m2: f64,
}

/// What leaves at a temperature and a water content of the first cell.
#[derive(Clone, Copy)]
pub(super) struct Loss {
    /// Vapour flux J, kg/(m² s).
    pub vapour_kg_m2s: f64,
    /// dJ/dc, m/s.
    pub vapour_by_water_m_s: f64,
    /// Latent heat, J/kg.
    pub latent_j_kg: f64,
    /// Other heat q, W/m².
    pub heat_w_m2: f64,
}

/// A sheet of `thickness_m` whose cells widen by the factor `widening` from one to the next.
pub(super) fn sheet<const M: usize>(
    thickness_m: f64,
    diffusivity_m2_s: f64,
    heat_capacity_j_m2k: f64,
    widening: f64,
) -> Sheet<M> {
    let mut capacity = [0.0; M];
    let mut total = 0.0;
    let mut width = 1.0;
    for cell in &mut capacity[1..] {
        *cell = width;
        total += width;
        width *= widening;
    }
    for cell in &mut capacity[1..] {
        *cell *= thickness_m / total;
    }
    let mut exchange = [0.0; M];
    for i in 1..M - 1 {
        exchange[i] = 2.0 * diffusivity_m2_s / (capacity[i] + capacity[i + 1]);
    }
    let surface_m_s = 2.0 * diffusivity_m2_s / capacity[1];
    let projection = Projection::new(&capacity[1..]);
    capacity[0] = heat_capacity_j_m2k;
    Sheet { capacity, exchange, surface_m_s, projection }
}

/// The state at the start.
pub(super) fn uniform<const M: usize>(t_k: f64, water_kg_m3: f64) -> State<M> {
    let mut u = [water_kg_m3; M];
    u[0] = t_k;
    State { u, evaporated_kg_m2: 0.0, latent_j_m2: 0.0, heat_j_m2: 0.0 }
}

/// One step of `dt_s` under the surface law `loss(t_k, water_kg_m3)`. Returns by how much the
/// first-order solution of the same stages differs, in temperature (K) and in the water of the worst
/// cell (kg/m³): it bounds the error of a step from above.
pub(super) fn step<const M: usize>(
    sheet: &Sheet<M>,
    state: &mut State<M>,
    dt_s: f64,
    loss: &impl Fn(f64, f64) -> Loss,
) -> (f64, f64) {
    let now = loss(state.u[0], state.u[1]);
    let warm = loss(state.u[0] + NUDGE_K, state.u[1]);
    let by_t = |f: fn(&Loss) -> f64| (f(&warm) - f(&now)) / NUDGE_K;
    let (vapour_t, latent_t, heat_t) = (by_t(|l| l.vapour_kg_m2s), by_t(latent_w_m2), by_t(|l| l.heat_w_m2));
    let (vapour_c, latent_c) = (now.vapour_by_water_m_s, now.vapour_by_water_m_s * now.latent_j_kg);

    let g = GAMMA * dt_s;
    let (mut lower, mut diag, mut upper) = ([0.0; M], sheet.capacity, [0.0; M]);
    for i in 1..M {
        lower[i] = -g * sheet.exchange[i - 1];
        diag[i] += g * (sheet.exchange[i - 1] + sheet.exchange[i]);
        upper[i] = -g * sheet.exchange[i];
    }
    diag[0] += g * (latent_t + heat_t);
    upper[0] = g * latent_c;
    lower[1] = g * vapour_t;
    diag[1] += g * vapour_c;

    // First stage: (M - γ dt A) k1 = F(u).
    let mut k1 = rates(sheet, &state.u, &now);
    let matrix = tridiagonal::factor(&lower, &diag, &upper);
    matrix.solve(&mut k1);
    let vapour_1 = now.vapour_kg_m2s + g * (vapour_t * k1[0] + vapour_c * k1[1]);
    let latent_1 = latent_w_m2(&now) + g * (latent_t * k1[0] + latent_c * k1[1]);
    let heat_1 = now.heat_w_m2 + g * heat_t * k1[0];

    // Second stage: (M - γ dt A) k2 = F(u + dt k1) - 2 M k1.
    let mut ahead = state.u;
    for i in 0..M {
        ahead[i] += dt_s * k1[i];
    }
    let then = loss(ahead[0], ahead[1]);
    let mut k2 = rates(sheet, &ahead, &then);
    for i in 0..M {
        k2[i] -= 2.0 * sheet.capacity[i] * k1[i];
    }
    matrix.solve(&mut k2);
    let vapour_2 = then.vapour_kg_m2s - 2.0 * vapour_1 + g * (vapour_t * k2[0] + vapour_c * k2[1]);
    let latent_2 = latent_w_m2(&then) - 2.0 * latent_1 + g * (latent_t * k2[0] + latent_c * k2[1]);
    let heat_2 = then.heat_w_m2 - 2.0 * heat_1 + g * heat_t * k2[0];

    for i in 0..M {
        state.u[i] += dt_s * (1.5 * k1[i] + 0.5 * k2[i]);
    }
    state.evaporated_kg_m2 += dt_s * (1.5 * vapour_1 + 0.5 * vapour_2);
    state.latent_j_m2 += dt_s * (1.5 * latent_1 + 0.5 * latent_2);
    state.heat_j_m2 += dt_s * (1.5 * heat_1 + 0.5 * heat_2);
    let differs = |i: usize| 0.5 * dt_s * (k1[i] + k2[i]).abs();
    (differs(0), (1..M).fold(0.0, |worst: f64, i| worst.max(differs(i))))
}

fn latent_w_m2(loss: &Loss) -> f64 {
    loss.vapour_kg_m2s * loss.latent_j_kg
}

/// Capacity times the rate of change of each place.
fn rates<const M: usize>(sheet: &Sheet<M>, u: &[f64; M], loss: &Loss) -> [f64; M] {
    let mut rate = [0.0; M];
    for i in 1..M - 1 {
        let inward = sheet.exchange[i] * (u[i + 1] - u[i]);
        rate[i] += inward;
        rate[i + 1] -= inward;
    }
    rate[0] = -loss.heat_w_m2 - latent_w_m2(loss);
    rate[1] -= loss.vapour_kg_m2s;
    rate
}

/// Share lost by the sheet of unit thickness and diffusivity with the linear law J = L c_surface.
pub(super) fn share_lost<const M: usize>(biot: f64, fourier: f64, steps: usize) -> f64 {
    linear_loss::<M>(biot, fourier, steps).1.evaporated_kg_m2
}

fn linear_loss<const M: usize>(biot: f64, fourier: f64, steps: usize) -> (Sheet<M>, State<M>) {
    let sheet = sheet::<M>(1.0, 1.0, 1.0, 1.0);
    let mut state = uniform::<M>(300.0, 1.0);
    let through = biot * sheet.surface_m_s / (biot + sheet.surface_m_s);
    let law = |_: f64, water: f64| Loss {
        vapour_kg_m2s: through * water,
        vapour_by_water_m_s: through,
        latent_j_kg: 0.0,
        heat_w_m2: 0.0,
    };
    // Steps grow with the square of the time, as the sudden start of the loss asks.
    let edge = |i: usize| fourier * (i as f64 / steps as f64) * (i as f64 / steps as f64);
    for i in 0..steps {
        step(&sheet, &mut state, edge(i + 1) - edge(i), &law);
    }
    (sheet, state)
}

#[cfg(test)]
mod tests {
    use super::*;
    use core::f64::consts::PI;

    /// The n-th root (from 0) of β tan β = L: bisection of β sin β - L cos β between nπ and nπ + π/2.
    fn root(biot: f64, n: usize) -> f64 {
        let (mut low, mut high) = (n as f64 * PI, (n as f64 + 0.5) * PI);
        let sign = if n.is_multiple_of(2) { 1.0 } else { -1.0 };
        for _ in 0..80 {
            let beta = 0.5 * (low + high);
            if sign * (beta * libm::sin(beta) - biot * libm::cos(beta)) < 0.0 {
                low = beta;
            } else {
                high = beta;
            }
        }
        0.5 * (low + high)
    }

    /// Share lost at the Fourier number τ: 1 - Σ 2L² e^(-β²τ) / [β² (β² + L² + L)].
    fn series(biot: f64, fourier: f64) -> f64 {
        let mut left = 0.0;
        for n in 0..200 {
            let square = root(biot, n) * root(biot, n);
            left +=
                2.0 * biot * biot * libm::exp(-square * fourier) / (square * (square + biot * biot + biot));
        }
        1.0 - left
    }

    /// First six roots computed with mpmath to 30 digits, printed to twelve figures.
    #[test]
    fn val_roots_of_beta_tan_beta() {
        let table = [
            (0.1, [0.3110528482, 3.17309717669, 6.2990593599, 9.43537597576, 12.574323161, 15.7143268018]),
            (
                1.0,
                [0.860333589019, 3.42561845948, 6.43729817917, 9.52933440536, 12.6452872239, 15.7712848748],
            ),
            (
                10.0,
                [1.42887001121, 4.30580141312, 7.22810977163, 10.2002625883, 13.2141856838, 16.2593612255],
            ),
        ];
        for (biot, roots) in table {
            for (n, beta) in roots.into_iter().enumerate() {
                assert!((root(biot, n) - beta).abs() < 6e-11 * beta, "L {biot} n {n}: {}", root(biot, n));
            }
        }
    }

    /// Crank 1975, The Mathematics of Diffusion, section 4.3.6 (surface evaporation), evaluated with
    /// mpmath. The sheet has 128 cells and takes 512 steps: 3e-5 covers its error at the smallest time
    /// and the largest L, where the front is six cells deep; elsewhere the error is below 1e-5.
    #[test]
    fn val_plane_sheet_with_surface_evaporation() {
        let table = [
            (0.01, [0.000992527172976, 0.00929489667868, 0.0555962743251]),
            (0.1, [0.00976702316481, 0.0804032525006, 0.273882278841]),
            (0.5, [0.0474260147618, 0.318895434553, 0.684983732852]),
            (1.0, [0.0924129205911, 0.529602751135, 0.88650435888]),
            (2.0, [0.176111147294, 0.775605996171, 0.985266925735]),
        ];
        for (fourier, row) in table {
            for (biot, share) in [0.1, 1.0, 10.0].into_iter().zip(row) {
                assert!((series(biot, fourier) - share).abs() < 1e-7, "series {biot} {fourier}");
                let got = share_lost::<129>(biot, fourier, 512);
                assert!((got - share).abs() < 3e-5, "L {biot} τ {fourier}: {got}, {share}");
            }
        }
    }

    /// The same section: coefficients of x and exp(-6 x) in the projection of what is lost, term by term of the series
    /// (mpmath, 30 digits). 128 cells leave 5e-4 of the greater one where the front is six cells deep.
    #[test]
    fn val_profile_of_a_plane_sheet() {
        let table: [(f64, [[f64; 2]; 3]); 3] = [
            (
                0.01,
                [
                    [0.0032712854533, 0.0124329275799],
                    [0.0301955696422, 0.11568207042],
                    [0.162454227897, 0.660844962777],
                ],
            ),
            (
                0.1,
                [
                    [-0.0137163394505, 0.0255330854789],
                    [-0.117437620746, 0.196157785927],
                    [-0.446920105923, 0.496858101898],
                ],
            ),
            (
                0.5,
                [
                    [-0.0308284211062, 0.0229737364181],
                    [-0.186772986314, 0.125942404221],
                    [-0.297030916928, 0.160029404736],
                ],
            ),
        ];
        for (fourier, row) in table {
            for (biot, want) in [0.1, 1.0, 10.0].into_iter().zip(row) {
                let (sheet, state) = linear_loss::<129>(biot, fourier, 512);
                let got = sheet.projection.shape(&state.u.map(|water| 1.0 - water));
                for (got, exact) in got.iter().zip(want) {
                    let close = 5e-4 * want[0].abs().max(want[1].abs());
                    assert!((got - exact).abs() < close, "L {biot} τ {fourier}: {got}, {exact}");
                }
            }
        }
    }

    /// Cells and steps halved together: the error falls fourfold, to below 3e-5 on the finest.
    #[test]
    fn conv_plane_sheet_second_order() {
        for (biot, share) in [(0.1, 0.0474260147618), (1.0, 0.318895434553), (10.0, 0.684983732852)] {
            let errors = [
                share_lost::<17>(biot, 0.5, 32) - share,
                share_lost::<33>(biot, 0.5, 64) - share,
                share_lost::<65>(biot, 0.5, 128) - share,
            ];
            for pair in errors.windows(2) {
                let order = libm::log2(pair[0] / pair[1]);
                assert!((1.9..2.1).contains(&order), "L {biot}: {order}");
            }
            assert!(errors[2].abs() < 3e-5, "L {biot}: {errors:?}");
        }
    }
}
