//! Conduction through three layers: cell-centred finite volumes as heat capacities joined by conductances.
//!
//! ```text
//! C_i dT_i/dt = g_i (T_{i-1} - T_i) + g_{i+1} (T_{i+1} - T_i),   1/g = dx_i/2k_i + dx_j/2k_j
//! ```
//!
//! At either surface the neighbour is the surroundings, through 1/g = 1/h + dx/2k. Second order in the cell size.
//! Carslaw & Jaeger (1959), sections 3.3 and 3.11, give the series the tests compare with.

use super::Layer;
use crate::tridiagonal::{self, Factored};

/// The three layers cut into cells, as heat capacities joined by conductances.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stack<const N: usize> {
    /// Heat capacity of each cell per area, J/(m2 K).
    pub heat_j_m2k: [f64; N],
    /// From a cell's centre to either of its faces, W/(m2 K).
    half_w_m2k: [f64; N],
    /// From a cell's centre to the one before; the first joins the inner surroundings.
    before_w_m2k: [f64; N],
    /// From a cell's centre to the one after; the last joins the outer surroundings.
    after_w_m2k: [f64; N],
}

impl<const N: usize> Stack<N> {
    /// Cuts each layer into equal cells, `cells` of them, N in all. The heat transfer at either surface runs from
    /// 0 (insulated) to infinite (surface held at the temperature of its surroundings).
    pub fn new(layers: [Layer; 3], cells: [usize; 3], inner_h_w_m2k: f64, outer_h_w_m2k: f64) -> Self {
        let layer_of = |i: usize| match i {
            i if i < cells[0] => 0,
            i if i < cells[0] + cells[1] => 1,
            _ => 2,
        };
        let width_m: [f64; 3] = std::array::from_fn(|j| layers[j].thickness_m / cells[j] as f64);
        let heat_j_m2k = std::array::from_fn(|i| {
            let j = layer_of(i);
            layers[j].rho_kg_m3 * layers[j].c_j_kgk * width_m[j]
        });
        let half_w_m2k: [f64; N] = std::array::from_fn(|i| {
            let j = layer_of(i);
            2.0 * layers[j].k_w_mk / width_m[j]
        });
        let joined = |a: f64, b: f64| 1.0 / (1.0 / a + 1.0 / b);
        let before_w_m2k = std::array::from_fn(|i| {
            joined(if i == 0 { inner_h_w_m2k } else { half_w_m2k[i - 1] }, half_w_m2k[i])
        });
        let after_w_m2k = std::array::from_fn(|i| {
            joined(if i + 1 == N { outer_h_w_m2k } else { half_w_m2k[i + 1] }, half_w_m2k[i])
        });
        Stack { heat_j_m2k, half_w_m2k, before_w_m2k, after_w_m2k }
    }

    /// Temperature of the interface between cell `i` and the next, K: the value that carries one flux.
    pub fn interface_t_k(&self, t_k: &[f64; N], i: usize) -> f64 {
        let (left, right) = (self.half_w_m2k[i], self.half_w_m2k[i + 1]);
        (left * t_k[i] + right * t_k[i + 1]) / (left + right)
    }

    /// Temperature of the outer surface, K, from the flux that leaves the last cell.
    pub fn outer_surface_t_k(&self, t_k: &[f64; N], outer_t_k: f64) -> f64 {
        t_k[N - 1] + self.after_w_m2k[N - 1] * (outer_t_k - t_k[N - 1]) / self.half_w_m2k[N - 1]
    }

    /// Temperature of the inner surface, K, from the flux that enters the first cell.
    pub fn inner_surface_t_k(&self, t_k: &[f64; N], inner_t_k: f64) -> f64 {
        t_k[0] + self.before_w_m2k[0] * (inner_t_k - t_k[0]) / self.half_w_m2k[0]
    }

    /// C/dt + implicit K, to be solved for the rise of temperature over the step.
    pub(super) fn matrix(&self, dt_s: f64, implicit: f64) -> Factored<N> {
        let lower = self.before_w_m2k.map(|g| -implicit * g);
        let upper = self.after_w_m2k.map(|g| -implicit * g);
        let diag = std::array::from_fn(|i| self.heat_j_m2k[i] / dt_s - lower[i] - upper[i]);
        tridiagonal::factor(&lower, &diag, &upper)
    }

    /// Conducted into each cell, W/m2.
    pub(super) fn inflow_w_m2(&self, t_k: &[f64; N], inner_t_k: f64, outer_t_k: f64) -> [f64; N] {
        std::array::from_fn(|i| {
            let before_k = if i == 0 { inner_t_k } else { t_k[i - 1] };
            let after_k = if i + 1 == N { outer_t_k } else { t_k[i + 1] };
            self.before_w_m2k[i] * (before_k - t_k[i]) + self.after_w_m2k[i] * (after_k - t_k[i])
        })
    }

    /// Mean flux in through the inner and the outer surface over a step, W/m2, weighted as in the step.
    pub(super) fn surfaces_w_m2(
        &self,
        t_k: &[f64; N],
        rise_k: &[f64; N],
        implicit: f64,
        inner_t_k: f64,
        outer_t_k: f64,
    ) -> (f64, f64) {
        let flux = |g: f64, i: usize, around_k: f64| g * (around_k - (t_k[i] + implicit * rise_k[i]));
        (flux(self.before_w_m2k[0], 0, inner_t_k), flux(self.after_w_m2k[N - 1], N - 1, outer_t_k))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ZERO_CELSIUS;
    use crate::set::tests::{composite, layer};
    use crate::set::{SetProblem, run_stack};

    /// One slab of three equal layers, width 1 m, diffusivity 1e-3 m2/s.
    fn slab(horizon_s: f64) -> SetProblem {
        let third = layer(1.0 / 3.0, 1.0, 1.0, 1e3);
        let (hot, cold) = (301.0, 300.0);
        SetProblem {
            tooth: third,
            mix: third,
            tray: third,
            tooth_t0_k: hot,
            mix_t0_k: hot,
            tray_t0_k: hot,
            inner_t_k: cold,
            outer_t_k: cold,
            ..composite(horizon_s)
        }
    }

    /// Slab from 1 with both faces held at 0 (Carslaw & Jaeger series, 30 digits): Fourier number, then
    /// x/L = 0.5, 0.25, 0.1. 120 cells leave 2e-4, most of it at the first time.
    #[test]
    fn val_slab_with_held_faces_follows_the_series() {
        let table = [
            (0.005, [0.99999885339371, 0.98758066934838, 0.68268949213709]),
            (0.02, [0.97516133869702, 0.78852361850634, 0.3829181651809]),
            (0.05, [0.77231160685859, 0.55317589185009, 0.24424806016895]),
            (0.1, [0.47448746037975, 0.3355965961363, 0.14669053961152]),
            (0.2, [0.17686713974762, 0.12506396544406, 0.054654961067053]),
            (0.5, [0.0091569902897608, 0.0064749699291492, 0.0028296656168624]),
        ];
        for (fourier, exact) in table {
            let p = slab(fourier * 1e3);
            let held = f64::INFINITY;
            let stack = Stack::<120>::new([p.tooth, p.mix, p.tray], [40, 40, 40], held, held);
            let t_k = run_stack::<40, 40, 40, 120>(&stack, &p, 16.0).1;
            for (cell, exact) in [59, 29, 11].into_iter().zip(exact) {
                let got = stack.interface_t_k(&t_k, cell) - 300.0;
                assert!((got - exact).abs() < 3e-4, "Fo {fourier} after cell {cell}: {got} for {exact}");
            }
        }
    }

    /// Half slab, insulated at the centre, convection outside (Carslaw & Jaeger series, 30 digits): Biot and
    /// Fourier number, centre, surface. Sixty cells leave 2e-4.
    #[test]
    fn val_slab_with_convection_follows_the_series() {
        let table = [
            (0.1, 0.1, 0.9992225906629, 0.9652940802155),
            (0.1, 1.0, 0.9223885716001, 0.8781264876091),
            (1.0, 0.1, 0.993108254805, 0.7235772386688),
            (1.0, 0.5, 0.7725263834238, 0.5045219278959),
            (1.0, 1.0, 0.5338594014086, 0.3481768516617),
            (1.0, 2.0, 0.2546680423811, 0.1660905814577),
            (10.0, 0.5, 0.4546405556127, 0.06432895527131),
            (10.0, 2.0, 0.02126546468631, 0.003008006850023),
        ];
        for (biot, fourier, centre, surface) in table {
            let p = slab(fourier * 1e3);
            let stack = Stack::<60>::new([p.tooth, p.mix, p.tray], [20, 20, 20], 0.0, biot);
            let t_k = run_stack::<20, 20, 20, 60>(&stack, &p, 16.0).1;
            let got =
                (stack.inner_surface_t_k(&t_k, 300.0) - 300.0, stack.outer_surface_t_k(&t_k, 300.0) - 300.0);
            assert!((got.0 - centre).abs() < 3e-4, "Bi {biot} Fo {fourier}: centre {} for {centre}", got.0);
            assert!(
                (got.1 - surface).abs() < 3e-4,
                "Bi {biot} Fo {fourier}: surface {} for {surface}",
                got.1
            );
        }
    }

    /// Time, tooth/mix, mix centre, mix/tray, outer face of `composite`, °C.
    const COMPOSITE: [(f64, [f64; 4]); 5] = [
        (5.0, [29.46480498417, 23.48054132542, 23.00789476244, 23.23434517513]),
        (30.0, [31.47049191296, 26.64984995268, 24.58362518405, 24.0202093226]),
        (60.0, [32.8340557725, 28.91959649248, 26.93909463978, 26.0207434865]),
        (120.0, [34.38871142219, 31.86354090876, 30.49617906957, 29.66776227125]),
        (300.0, [36.24733902309, 35.49040368587, 35.01315565981, 34.44872906829]),
    ];

    /// The four temperatures of `COMPOSITE`, °C.
    fn faces<const NT: usize, const NM: usize, const NR: usize, const N: usize>(
        horizon_s: f64,
        finer: f64,
    ) -> [f64; 4] {
        let p = composite(horizon_s);
        let layers = [p.tooth, p.mix, p.tray];
        let stack = Stack::<N>::new(layers, [NT, NM, NR], f64::INFINITY, p.outer_h_w_m2k);
        let t_k = run_stack::<NT, NM, NR, N>(&stack, &p, finer).1;
        let at = |cell| stack.interface_t_k(&t_k, cell) - ZERO_CELSIUS;
        let outer = stack.outer_surface_t_k(&t_k, p.outer_t_k) - ZERO_CELSIUS;
        [at(NT - 1), at(NT + NM / 2 - 1), at(NT + NM - 1), outer]
    }

    fn worst(got: [f64; 4], exact: [f64; 4]) -> f64 {
        got.iter().zip(exact).fold(0.0, |worst: f64, (a, b)| worst.max((a - b).abs()))
    }

    /// Three layers, no reaction: Laplace transform of the layered system inverted by Talbot's contour with 40
    /// digits. The fine mesh is held to 1e-3 K; the production mesh to 0.05 K at 5 s, when the warmth has passed
    /// few cells, and to 0.02 K from 30 s on.
    #[test]
    fn val_three_layers_follow_the_laplace_solution() {
        for (time, exact) in COMPOSITE {
            let fine = worst(faces::<48, 96, 48, 192>(time, 16.0), exact);
            assert!(fine < 1e-3, "{time} s: off by {fine} K on the fine mesh");
            let production = worst(faces::<4, 8, 4, 16>(time, 1.0), exact);
            let bound = if time < 30.0 { 0.05 } else { 0.02 };
            assert!(production < bound, "{time} s: off by {production} K on the production mesh");
        }
    }

    /// Steady state in closed form: 7 K over 3/900 + 4/500 + 2/200 + 1/8 m2 K/W. The volumes are exact for it,
    /// 1e-6 K is what is left of the transient after 6000 s.
    #[test]
    fn val_three_layers_end_in_the_closed_form() {
        let got = faces::<4, 8, 4, 16>(6000.0, 1.0);
        let exact = [36.8405466970, 0.5 * (36.8405466970 + 36.4578587699), 36.4578587699, 35.9794988610];
        assert!(worst(got, exact) < 1e-6, "{got:?}");
    }

    /// Two half spaces in contact: (e1 T1 + e2 T2)/(e1 + e2) = 29.2226599919 °C for as long as neither far side
    /// is felt. At 0.5 s that holds to 1e-6 K; 192 cells leave less than 1e-4 K.
    #[test]
    fn val_contact_temperature_is_that_of_the_effusivities() {
        let got = faces::<48, 96, 48, 192>(0.5, 16.0)[0];
        assert!((got - 29.2226599919).abs() < 1e-4, "{got}");
    }

    /// Composite at 120 s against the Laplace solution: the error falls fourfold per halving of the cells.
    #[test]
    fn conv_space_is_of_second_order() {
        let exact = COMPOSITE[3].1;
        let errors = [
            worst(faces::<4, 8, 4, 16>(120.0, 32.0), exact),
            worst(faces::<8, 16, 8, 32>(120.0, 32.0), exact),
            worst(faces::<16, 32, 16, 64>(120.0, 32.0), exact),
        ];
        let orders = [libm::log2(errors[0] / errors[1]), libm::log2(errors[1] / errors[2])];
        assert!(orders.iter().all(|&o| o > 1.8) && errors[2] < 1e-3, "{errors:?} {orders:?}");
    }
}
