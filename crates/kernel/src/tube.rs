//! A tube in a water bath: radial conduction in a long cylinder.
//!
//! ```text
//! rho c dT/dt = (1/r) d/dr (k r dT/dr),   0 < r < R
//! dT/dr = 0 at r = 0;   -k dT/dr = h (T - T_bath) at r = R;   T(r, 0) is given
//! ```
//!
//! Finite volumes on rings of equal width. The unknown is the mean over a ring, and the conductances are exact for
//! a parabola in r, towards which every profile goes: second order in the width. In time TR-BDF2 with
//! gamma = 2 - sqrt 2, where both stages share one matrix: second order and L-stable, so the jump at a change of
//! bath dies out at any step (Hosea & Shampine, Appl. Numer. Math. 20 (1996) 21). Steps grow from the change on,
//! in units of R^2/alpha. Carslaw & Jaeger (1959), section 7.7, give the series the tests compare with.
//!
//! A wall around the contents is part of h: 1/h = 1/h_water + wall/k_wall. The ends are left out.
//!
//! ```
//! use kernel::tube::{Tube, dwell_s};
//! // Held at the surface, the axis keeps 5 % of the difference after 0.5995 R^2/alpha.
//! let tube = Tube { radius_m: 1.0, k_w_mk: 1.0, rho_kg_m3: 1.0, c_j_kgk: 1.0, h_w_m2k: f64::INFINITY };
//! let dwell = dwell_s(&tube, 300.0, 400.0, 395.0).expect("lies between");
//! assert!((dwell - 0.5995).abs() < 2e-3);
//! ```

use core::f64::consts::{PI, SQRT_2};
use core::fmt;

use crate::tridiagonal::{self, Factored};

/// A filled tube, syringe or stick.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tube {
    /// Radius of the contents, m, above 0.
    pub radius_m: f64,
    /// Conductivity of the contents, W/(m K), above 0.
    pub k_w_mk: f64,
    /// Density of the contents, kg/m3, above 0.
    pub rho_kg_m3: f64,
    /// Specific heat of the contents, J/(kg K), above 0.
    pub c_j_kgk: f64,
    /// Heat transfer from the bath to the contents, W/(m2 K), 0 to infinity.
    pub h_w_m2k: f64,
}

/// A number outside the range a model is made for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OutOfRange {
    /// The field.
    pub field: &'static str,
    /// The value given.
    pub given: f64,
    /// The least value allowed.
    pub least: f64,
    /// The greatest value allowed.
    pub greatest: f64,
}

impl fmt::Display for OutOfRange {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { field, given, least, greatest } = self;
        write!(f, "{field} is {given}; it must lie between {least} and {greatest}")
    }
}

impl core::error::Error for OutOfRange {}

/// Rings of the production mesh.
pub const RINGS: usize = 12;

/// Names the first of `rows` (field, given, least, greatest) that lies outside its range or is not a number.
pub fn check_ranges(rows: &[(&'static str, f64, f64, f64)]) -> Result<(), OutOfRange> {
    for &(field, given, least, greatest) in rows {
        if !(given >= least && given <= greatest) {
            return Err(OutOfRange { field, given, least, greatest });
        }
    }
    Ok(())
}

/// Refuses a tube no bath holds; names the first field at fault.
pub fn check(tube: &Tube) -> Result<(), OutOfRange> {
    check_ranges(&[
        ("radius_m", tube.radius_m, 1e-4, 0.1),
        ("k_w_mk", tube.k_w_mk, 0.01, 500.0),
        ("rho_kg_m3", tube.rho_kg_m3, 100.0, 2e4),
        ("c_j_kgk", tube.c_j_kgk, 100.0, 1e4),
        ("h_w_m2k", tube.h_w_m2k, 0.0, f64::INFINITY),
    ])
}

/// Time in a bath at `bath_k` until the axis of a tube at `from_k` throughout reaches `until_k`, s. `None` when
/// `until_k` is not on the way from `from_k` to `bath_k`, or equals `bath_k`, or nothing passes the surface.
pub fn dwell_s(tube: &Tube, from_k: f64, bath_k: f64, until_k: f64) -> Option<f64> {
    dwell_cells::<RINGS>(tube, from_k, bath_k, until_k, 1.0)
}

/// [`dwell_s`] on `N` rings (at least 2) with steps `finer` (above 0) times shorter.
pub fn dwell_cells<const N: usize>(
    tube: &Tube,
    from_k: f64,
    bath_k: f64,
    until_k: f64,
    finer: f64,
) -> Option<f64> {
    // As a share of the first difference the problem has one initial and one bath temperature.
    let share = (until_k - bath_k) / (from_k - bath_k);
    if !(share > 0.0 && share <= 1.0 && tube.h_w_m2k > 0.0) {
        return None;
    }
    if share == 1.0 {
        return Some(0.0);
    }
    let rings = Rings::<N>::new(tube);
    let pace = Pace::new(tube, finer);
    let mut theta = [1.0; N];
    let mut axis = 1.0;
    // The slowest mode falls by e within R^2/alpha (1/(2 Bi) + 1/4) at most.
    let biot = tube.h_w_m2k * tube.radius_m / tube.k_w_mk;
    let latest_s = pace.unit_s * (1.0 - libm::log(share)) * (2.0 + 2.0 / biot);
    let (mut time_s, mut dt_s) = (0.0, 0.0);
    while time_s < latest_s {
        dt_s = pace.next_s(time_s, dt_s, f64::INFINITY);
        theta = rings.chain.advance(&rings.chain.step(dt_s), &theta, &[0.0; N]).end;
        let after = rings.axis(&theta).max(1e-300);
        if after <= share {
            // The axis falls exponentially: its logarithm is what is nearly linear within a step.
            return Some(time_s + dt_s * libm::log(share / axis) / libm::log(after / axis));
        }
        (axis, time_s) = (after, time_s + dt_s);
    }
    None
}

/// A tube cut into rings, per metre of length.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rings<const N: usize = RINGS> {
    /// Heat capacities in J/(m K), conductances in W/(m K).
    pub chain: Chain<N>,
    /// From the mean of the outermost ring to the surface, W/(m K).
    skin: f64,
}

impl<const N: usize> Rings<N> {
    /// Cuts the tube into `N` rings, at least 2.
    pub fn new(tube: &Tube) -> Self {
        const { assert!(N > 1) };
        let width_m = tube.radius_m / N as f64;
        let capacity = std::array::from_fn(|i| {
            tube.rho_kg_m3 * tube.c_j_kgk * PI * width_m * width_m * (2 * i + 1) as f64
        });
        let next =
            std::array::from_fn(|i| if i + 1 < N { 2.0 * PI * tube.k_w_mk * (i + 1) as f64 } else { 0.0 });
        // On a parabola the mean of the last ring is that of a point a little outside its middle.
        let to_skin_m = 0.5 * width_m * (1.0 - 0.5 / N as f64);
        let skin = 2.0 * PI * tube.radius_m * tube.k_w_mk / to_skin_m;
        let mut around = [0.0; N];
        around[N - 1] = in_series(skin, 2.0 * PI * tube.radius_m * tube.h_w_m2k);
        Rings { chain: Chain { capacity, next, around }, skin }
    }

    /// Value on the axis: the parabola through the means of the two innermost rings.
    pub fn axis(&self, rings: &[f64; N]) -> f64 {
        rings[0] - 0.25 * (rings[1] - rings[0])
    }

    /// Temperature of the surface in a bath at `bath_k`, K, from the flux through it.
    pub fn surface_k(&self, t_k: &[f64; N], bath_k: f64) -> f64 {
        t_k[N - 1] + self.chain.around[N - 1] / self.skin * (bath_k - t_k[N - 1])
    }

    /// Mean over the cross-section.
    pub fn mean(&self, rings: &[f64; N]) -> f64 {
        let weighted = rings.iter().enumerate().map(|(i, v)| (2 * i + 1) as f64 * v).sum::<f64>();
        weighted / (N * N) as f64
    }
}

/// Heat capacities in a row, each joined to the next and to surroundings of its own. Units are those of heat and
/// conductance per whatever the section is: per area of a wall, per length of a tube.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Chain<const N: usize> {
    /// Heat capacity of each cell, above 0.
    pub capacity: [f64; N],
    /// Conductance from each cell to the next, at least 0; that of the last is not read.
    pub next: [f64; N],
    /// Conductance from each cell to its surroundings, at least 0.
    pub around: [f64; N],
}

/// A step of one length, ready to be taken any number of times.
#[derive(Debug, Clone, Copy)]
pub struct ChainStep<const N: usize> {
    matrix: Factored<N>,
    capacity_per_s: [f64; N],
}

/// Temperatures at the two stages of a step.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stages<const N: usize> {
    /// At the share [`GAMMA`] of the step.
    pub middle: [f64; N],
    /// At its end.
    pub end: [f64; N],
}

/// Where the first stage of a step ends, as a share of it: 2 - sqrt 2.
pub const GAMMA: f64 = 2.0 - SQRT_2;

impl<const N: usize> Chain<N> {
    /// Prepares steps of `dt_s`, s, above 0.
    pub fn step(&self, dt_s: f64) -> ChainStep<N> {
        let weight = 0.5 * GAMMA;
        let capacity_per_s = self.capacity.map(|c| c / dt_s);
        let upper: [f64; N] = std::array::from_fn(|i| if i + 1 < N { -weight * self.next[i] } else { 0.0 });
        let lower: [f64; N] = std::array::from_fn(|i| if i > 0 { upper[i - 1] } else { 0.0 });
        let diag = std::array::from_fn(|i| capacity_per_s[i] - lower[i] - upper[i] + weight * self.around[i]);
        ChainStep { matrix: tridiagonal::factor(&lower, &diag, &upper), capacity_per_s }
    }

    /// Takes one step from `t_k`, each cell's surroundings being at `around_k`.
    pub fn advance(&self, step: &ChainStep<N>, t_k: &[f64; N], around_k: &[f64; N]) -> Stages<N> {
        let flow = self.inflow(t_k, around_k);
        let mut middle_rise = flow.map(|q| GAMMA * q);
        step.matrix.solve(&mut middle_rise);
        // BDF2 on the points 0, gamma and 1, written for the rise: the share of the first is 1/(gamma (2 - gamma)).
        let share = 1.0 / (GAMMA * (2.0 - GAMMA));
        let mut rise: [f64; N] =
            std::array::from_fn(|i| step.capacity_per_s[i] * share * middle_rise[i] + 0.5 * GAMMA * flow[i]);
        step.matrix.solve(&mut rise);
        Stages {
            middle: std::array::from_fn(|i| t_k[i] + middle_rise[i]),
            end: std::array::from_fn(|i| t_k[i] + rise[i]),
        }
    }

    /// Conducted into each cell.
    fn inflow(&self, t_k: &[f64; N], around_k: &[f64; N]) -> [f64; N] {
        let mut flow: [f64; N] = std::array::from_fn(|i| self.around[i] * (around_k[i] - t_k[i]));
        for i in 0..N - 1 {
            let q = self.next[i] * (t_k[i + 1] - t_k[i]);
            flow[i] += q;
            flow[i + 1] -= q;
        }
        flow
    }
}

/// Two conductances one behind the other; either may be 0 or infinite, not both infinite.
pub fn in_series(a: f64, b: f64) -> f64 {
    1.0 / (1.0 / a + 1.0 / b)
}

/// How the steps grow after a change of bath.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Pace {
    /// R^2/alpha.
    unit_s: f64,
    first_s: f64,
    growth: f64,
    longest_s: f64,
    late: f64,
}

impl Pace {
    pub(crate) fn new(tube: &Tube, finer: f64) -> Pace {
        let unit_s = tube.rho_kg_m3 * tube.c_j_kgk * tube.radius_m * tube.radius_m / tube.k_w_mk;
        Pace {
            unit_s,
            first_s: 2e-3 * unit_s / finer,
            growth: libm::pow(1.25, 1.0 / finer),
            longest_s: 0.03 * unit_s / finer,
            late: 0.1 / finer,
        }
    }

    /// Length of the step after one of `last_s` (0 at the start) that ended `time_s` after the change, with
    /// `left_s` to go. After R^2/alpha little is left to follow, and steps grow with time.
    pub(crate) fn next_s(&self, time_s: f64, last_s: f64, left_s: f64) -> f64 {
        let grown_s = if last_s > 0.0 { self.growth * last_s } else { self.first_s };
        let next_s = grown_s.min(self.longest_s.max(self.late * (time_s - self.unit_s)));
        // The rest is divided so that no sliver of a step remains.
        if next_s >= left_s { left_s } else { next_s.min(0.5 * left_s) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// R = 1 m, k = rho c = 1, so that h is the Biot number and time the Fourier number.
    fn unit(biot: f64) -> Tube {
        Tube { radius_m: 1.0, k_w_mk: 1.0, rho_kg_m3: 1.0, c_j_kgk: 1.0, h_w_m2k: biot }
    }

    /// Fall from 1 in a bath at 0: axis, surface and mean after `fourier`.
    fn fall<const N: usize>(biot: f64, fourier: f64, finer: f64) -> [f64; 3] {
        let rings = Rings::<N>::new(&unit(biot));
        let pace = Pace::new(&unit(biot), finer);
        let mut theta = [1.0; N];
        let (mut time, mut dt) = (0.0, 0.0);
        while fourier - time > 1e-12 {
            dt = pace.next_s(time, dt, fourier - time);
            theta = rings.chain.advance(&rings.chain.step(dt), &theta, &[0.0; N]).end;
            time += dt;
        }
        [rings.axis(&theta), rings.surface_k(&theta, 0.0), rings.mean(&theta)]
    }

    /// Biot and Fourier number, then axis, surface and mean of a cylinder that starts at 1 in a bath at 0: sixty
    /// terms of the series, 40 digits. Bi = inf has the roots of J0.
    const SERIES: [(f64, f64, [f64; 3]); 20] = [
        (0.1, 0.02, [0.99999997184688, 0.98317509941203, 0.9960442594566]),
        (0.1, 0.1, [0.99735009627099, 0.95943667081112, 0.98052246368386]),
        (0.1, 0.3, [0.96595304038088, 0.91993412369142, 0.94296533233895]),
        (0.1, 0.8, [0.8765300000719, 0.83429973259656, 0.85532876762067]),
        (1.0, 0.02, [0.99999972760982, 0.84964568732562, 0.964067868055]),
        (1.0, 0.1, [0.97681651338585, 0.68456454998519, 0.84326550956397]),
        (1.0, 0.3, [0.75013236367724, 0.48433245944781, 0.61336475381622]),
        (1.0, 0.8, [0.34185063505815, 0.21979296079049, 0.27874927638625]),
        (5.0, 0.02, [0.99999881048297, 0.50142413457058, 0.87412587139431]),
        (5.0, 0.1, [0.92648589158324, 0.25574842512813, 0.5973970101623]),
        (5.0, 0.3, [0.45719040113888, 0.1055517736604, 0.26602691245272]),
        (5.0, 0.8, [0.063284534262525, 0.014540778523114, 0.036725040525549]),
        (20.0, 0.02, [0.99999678474507, 0.17184914662698, 0.77209878840681]),
        (20.0, 0.1, [0.8789589064939, 0.064472328820223, 0.45540470132025]),
        (20.0, 0.3, [0.33075546334967, 0.020547936143304, 0.15685393422553]),
        (20.0, 0.8, [0.024157099564196, 0.0014978556771054, 0.01144457088256]),
        (f64::INFINITY, 0.02, [0.99999268543649, 0.0, 0.70143609117831]),
        (f64::INFINITY, 0.1, [0.84835511332531, 0.0, 0.39417580603331]),
        (f64::INFINITY, 0.3, [0.28248706930174, 0.0, 0.12202846985675]),
        (f64::INFINITY, 0.8, [0.015680902343933, 0.0, 0.0067703049807029]),
    ];

    fn worst(got: [f64; 3], exact: [f64; 3]) -> f64 {
        got.iter().zip(exact).fold(0.0, |worst: f64, (a, b)| worst.max((a - b).abs()))
    }

    /// Carslaw & Jaeger (1959), section 7.7: theta = sum of 2 Bi J0(b r/R)/[(b^2 + Bi^2) J0(b)] exp(-b^2 Fo), with
    /// b J1(b) = Bi J0(b), summed with 40 digits outside this program. The fine mesh is held to 5e-5; the
    /// production mesh to 4e-3 while the change has passed two rings (Fo = 0.02) and to 8e-4 later.
    #[test]
    fn val_cylinder_follows_the_series() {
        for (biot, fourier, exact) in SERIES {
            let fine = worst(fall::<96>(biot, fourier, 8.0), exact);
            assert!(fine < 5e-5, "Bi {biot} Fo {fourier}: off by {fine} on the fine mesh");
            let production = worst(fall::<RINGS>(biot, fourier, 1.0), exact);
            let bound = if fourier < 0.1 { 4e-3 } else { 8e-4 };
            assert!(production < bound, "Bi {biot} Fo {fourier}: off by {production}");
        }
    }

    /// Biot number, then the Fourier numbers at which the axis keeps 0.5 and 0.05 of the difference: the same
    /// series, solved by bisection with 40 digits.
    const DWELL: [(f64, f64, f64); 5] = [
        (0.1, 3.6775632560045, 15.480680314941),
        (1.0, 0.55885379094535, 2.0189988330156),
        (5.0, 0.27710151972878, 0.85950910617194),
        (20.0, 0.22032465107347, 0.66104644146998),
        (f64::INFINITY, 0.20052408141003, 0.59949119764407),
    ];

    /// The production mesh keeps the dwell to 0.15 %, which is far below what is known of h.
    #[test]
    fn val_dwell_follows_the_series() {
        for (biot, half, twentieth) in DWELL {
            for (until, exact) in [(0.5, half), (0.05, twentieth)] {
                let dwell = |n: &dyn Fn() -> Option<f64>| n().expect("the axis gets there") / exact - 1.0;
                let production = dwell(&|| dwell_s(&unit(biot), 301.0, 300.0, 300.0 + until));
                assert!(production.abs() < 1.5e-3, "Bi {biot} until {until}: off by {production}");
                let fine = dwell(&|| dwell_cells::<96>(&unit(biot), 301.0, 300.0, 300.0 + until, 8.0));
                assert!(fine.abs() < 3e-5, "Bi {biot} until {until}: off by {fine} on the fine mesh");
            }
        }
    }

    /// A surface held at the bath makes the dwell go with the square of the diameter, to rounding, since the steps
    /// scale too. With a finite h a fourfold diameter takes Bi from 5 to 20, and the ratio of the series is
    /// 16 x 0.66104644146998/0.85950910617194 = 12.3056 instead of 16; 0.2 % is the error of two dwells.
    #[test]
    fn val_dwell_goes_with_the_square_of_the_diameter() {
        let agar =
            |radius_m, h_w_m2k| Tube { radius_m, k_w_mk: 0.58, rho_kg_m3: 1060.0, c_j_kgk: 3760.0, h_w_m2k };
        let ratio = |h_w_m2k| {
            let dwell =
                |radius_m| dwell_s(&agar(radius_m, h_w_m2k), 293.0, 373.0, 369.0).expect("on the way");
            dwell(16e-3) / dwell(4e-3)
        };
        assert!((ratio(f64::INFINITY) / 16.0 - 1.0).abs() < 1e-9, "{}", ratio(f64::INFINITY));
        let finite = ratio(5.0 * 0.58 / 4e-3);
        assert!((finite / 12.305588 - 1.0).abs() < 2e-3, "{finite}");
    }

    /// Rings alone, steps fine enough to leave 1e-7.
    #[test]
    fn conv_rings_are_of_second_order() {
        for (biot, fourier, exact) in [SERIES[5], SERIES[10], SERIES[18]] {
            let error = [
                worst(fall::<12>(biot, fourier, 64.0), exact),
                worst(fall::<24>(biot, fourier, 64.0), exact),
                worst(fall::<48>(biot, fourier, 64.0), exact),
            ];
            let orders = [libm::log2(error[0] / error[1]), libm::log2(error[1] / error[2])];
            assert!(orders.iter().all(|&o| o > 1.8) && error[2] < 1e-4, "Bi {biot}: {error:?} {orders:?}");
        }
    }

    /// Steps alone, against steps 64 times finer on the same rings.
    #[test]
    fn conv_steps_are_of_second_order() {
        for (biot, fourier, _) in [SERIES[5], SERIES[10], SERIES[18]] {
            let exact = fall::<RINGS>(biot, fourier, 64.0);
            let error = [2.0, 4.0, 8.0].map(|finer| worst(fall::<RINGS>(biot, fourier, finer), exact));
            let orders = [libm::log2(error[0] / error[1]), libm::log2(error[1] / error[2])];
            assert!(orders.iter().all(|&o| o > 1.8) && error[2] < 1e-4, "Bi {biot}: {error:?} {orders:?}");
        }
    }

    #[test]
    fn what_is_not_on_the_way_is_never_reached() {
        let tube = unit(2.0);
        for (from, bath, until) in [
            (300.0, 350.0, 299.0),
            (300.0, 350.0, 350.0),
            (300.0, 350.0, 351.0),
            (300.0, 300.0, 300.0),
            (300.0, f64::NAN, 310.0),
        ] {
            assert_eq!(dwell_s(&tube, from, bath, until), None, "{from} {bath} {until}");
        }
        assert_eq!(dwell_s(&unit(0.0), 300.0, 350.0, 320.0), None);
        assert_eq!(dwell_s(&tube, 300.0, 350.0, 300.0), Some(0.0));
        assert!(dwell_s(&tube, 300.0, 350.0, 349.999_999_999).is_some_and(f64::is_finite));
        let wrong = check(&Tube { radius_m: f64::NAN, ..tube }).expect_err("no radius");
        assert_eq!(wrong.field, "radius_m");
        assert_eq!(
            check(&Tube { radius_m: 9e-3, k_w_mk: 0.58, ..tube }).map_err(|e| e.field),
            Err("rho_kg_m3")
        );
    }

    proptest! {
        /// What the rings gain is what passed the surface, weighted as in the step.
        #[test]
        fn prop_energy_is_conserved(
            biot in 0.0..50.0f64, dt in 1e-4..10.0f64,
            start in prop::array::uniform12(280.0..380.0f64), bath in 280.0..380.0f64,
        ) {
            let rings = Rings::<RINGS>::new(&unit(biot));
            let stages = rings.chain.advance(&rings.chain.step(dt), &start, &[bath; RINGS]);
            let gained: f64 =
                (0..RINGS).map(|i| rings.chain.capacity[i] * (stages.end[i] - start[i])).sum();
            let flux = |t: &[f64; RINGS]| 2.0 * std::f64::consts::PI * biot * (bath - rings.surface_k(t, bath));
            let weight = 0.25 * std::f64::consts::SQRT_2;
            let entered =
                dt * (weight * (flux(&start) + flux(&stages.middle)) + 0.5 * GAMMA * flux(&stages.end));
            prop_assert!((gained - entered).abs() < 1e-9 * (1.0 + entered.abs()), "{gained} {entered}");
        }

        /// From one temperature the contents stay between it and the bath, and nearer the bath outwards.
        #[test]
        fn prop_contents_stay_between(biot in 0.05..200.0f64, fourier in 1e-3..30.0f64) {
            let [axis, surface, mean] = fall::<RINGS>(biot, fourier, 1.0);
            prop_assert!(surface > -1e-6 && axis < 1.0 + 1e-3, "{axis} {surface}");
            prop_assert!(surface <= mean + 1e-6 && mean <= axis + 1e-6, "{axis} {mean} {surface}");
        }

        #[test]
        fn prop_a_thicker_tube_or_a_weaker_film_takes_longer(
            radius_m in 2e-3..15e-3f64, h in 50.0..5000.0f64, until in 305.0..372.0f64, more in 1.01..3.0f64,
        ) {
            let tube = Tube { radius_m, k_w_mk: 0.58, rho_kg_m3: 1060.0, c_j_kgk: 3760.0, h_w_m2k: h };
            let dwell = |tube: &Tube| dwell_s(tube, 293.0, 373.0, until).expect("on the way");
            let (thicker, weaker) = (Tube { radius_m: radius_m * more, ..tube }, Tube { h_w_m2k: h / more, ..tube });
            prop_assert!(dwell(&thicker) > dwell(&tube) && dwell(&weaker) > dwell(&tube));
        }
    }
}
