//! Linear viscoelastic solid: a spring beside up to three spring-dashpot branches.
//!
//! ```text
//! sigma = E_0 e + sum E_i (e - q_i),   tau_i dq_i/dt + q_i = e,   q_i(0) = 0
//! ```
//!
//! While the strain moves at a constant rate r, exactly (the recursion of Prony series)
//!
//! ```text
//! sigma_i(t + h) = sigma_i(t) exp(-h / tau_i) + E_i tau_i r (1 - exp(-h / tau_i))
//! ```
//!
//! A specimen let go carries no stress. Its strain is then a sum of exponentials with the retardation times lambda_j, the
//! roots of
//!
//! ```text
//! E_0 = sum_i E_i tau_i / (lambda - tau_i),   tau_j < lambda_j < tau_(j+1)
//! ```
//!
//! and amplitudes `sum_i W_i q_i v_ij / sum_i W_i v_ij^2`, with `v_ij = lambda_j / (lambda_j - tau_i)` and
//! `W_i = E_i tau_i`, for which the modes are orthogonal. One branch gives `lambda = tau (E_0 + E_1) / E_0`. Nothing is
//! discretised. Relaxation and retardation spectra: Ferry, Viscoelastic Properties of Polymers (1980), chapter 3.

use libm::exp;

use super::{RemovalError, within};

/// Most branches of a spectrum.
pub const BRANCHES_MAX: usize = 3;

/// One spring with a dashpot.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Branch {
    /// Modulus over that of the relaxed solid, or Pa, as the spring beside it: 1e-9 to 1e3 times that spring.
    pub modulus: f64,
    /// Relaxation time, s: 1e-3 to 1e6; of two branches a factor of at least 1.01 apart.
    pub tau_s: f64,
}

/// A solid: the relaxed spring and its branches.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spectrum {
    relaxed: f64,
    branches: [Branch; BRANCHES_MAX],
    retardation_s: [f64; BRANCHES_MAX],
    count: usize,
}

/// A strain that rises evenly, is held, and falls evenly until the specimen is free of stress.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Loading {
    /// Greatest strain, 0 to 5.
    pub strain: f64,
    /// Rise, s: 0.001 to 3600.
    pub ramp_s: f64,
    /// Hold, s: 0 to 86 400.
    pub hold_s: f64,
    /// Time in which the strain would fall to nothing, s: 0 (let go) to 3600.
    pub release_s: f64,
}

/// What a loading does.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Response {
    /// Stress at the end of the rise, in the unit of the moduli.
    pub peak: f64,
    /// Stress at the end of the hold.
    pub held: f64,
    /// Strain at the moment the specimen is free.
    pub free_strain: f64,
    amplitudes: [f64; BRANCHES_MAX],
    retardation_s: [f64; BRANCHES_MAX],
}

impl Loading {
    /// Integral of the strain over time divided by its greatest value, s: how long it was under strain.
    pub fn contact_s(&self) -> f64 {
        0.5 * self.ramp_s + self.hold_s + 0.5 * self.release_s
    }

    /// Refuses a figure outside the ranges that the fields state.
    pub fn check(&self) -> Result<(), RemovalError> {
        within("strain", self.strain, 0.0, 5.0)?;
        within("ramp_s", self.ramp_s, 1e-3, 3600.0)?;
        within("hold_s", self.hold_s, 0.0, 86_400.0)?;
        within("release_s", self.release_s, 0.0, 3600.0)
    }
}

impl Response {
    /// Strain left `t_s` after the specimen came free.
    pub fn strain_at(&self, t_s: f64) -> f64 {
        (0..BRANCHES_MAX).fold(0.0, |sum, j| sum + self.amplitudes[j] * exp(-t_s / self.retardation_s[j]))
    }
}

impl Spectrum {
    /// A solid with these branches, in rising order of relaxation time; at most [`BRANCHES_MAX`].
    ///
    /// Refuses moduli and times outside the ranges that [`Branch`] states, or out of order.
    pub fn new(relaxed: f64, branches: &[Branch]) -> Result<Spectrum, RemovalError> {
        within("relaxed modulus", relaxed, 1e-9, 1e12)?;
        within("number of branches", branches.len() as f64, 0.0, BRANCHES_MAX as f64)?;
        let mut solid = Spectrum {
            relaxed,
            branches: [Branch::default(); BRANCHES_MAX],
            retardation_s: [1.0; BRANCHES_MAX],
            count: branches.len(),
        };
        let mut least_s = 1e-3;
        for (slot, branch) in solid.branches.iter_mut().zip(branches) {
            within("modulus of a branch", branch.modulus, 1e-9 * relaxed, 1e3 * relaxed)?;
            within("relaxation time", branch.tau_s, least_s, 1e6)?;
            least_s = 1.01 * branch.tau_s;
            *slot = *branch;
        }
        match solid.count {
            2 => (solid.retardation_s[0], solid.retardation_s[1]) = solid.two_retardations(),
            count => {
                for j in 0..count {
                    solid.retardation_s[j] = solid.retardation(j);
                }
            }
        }
        Ok(solid)
    }

    /// Times with which a free specimen recovers, s, in rising order.
    pub fn retardation_s(&self) -> &[f64] {
        &self.retardation_s[..self.count]
    }

    /// Runs a loading, which must be within its ranges ([`Loading::check`]).
    pub fn load(&self, loading: &Loading) -> Response {
        let mut stress = [0.0; BRANCHES_MAX];
        self.advance(&mut stress, loading.strain / loading.ramp_s, loading.ramp_s);
        let peak = self.total(loading.strain, &stress);
        self.advance(&mut stress, 0.0, loading.hold_s);
        let held = self.total(loading.strain, &stress);
        let strain = if loading.release_s > 0.0 {
            let rate_per_s = -loading.strain / loading.release_s;
            let free_s = self.time_to_free_s(loading, &stress, rate_per_s);
            self.advance(&mut stress, rate_per_s, free_s);
            loading.strain + rate_per_s * free_s
        } else {
            loading.strain
        };
        self.recover(strain, &stress, peak, held)
    }

    /// The two roots of the quadratic, the lesser one from their product so that it keeps its digits.
    fn two_retardations(&self) -> (f64, f64) {
        let [one, two, _] = self.branches;
        let sum = one.tau_s + two.tau_s + (one.modulus * one.tau_s + two.modulus * two.tau_s) / self.relaxed;
        let product = one.tau_s * two.tau_s * (1.0 + (one.modulus + two.modulus) / self.relaxed);
        let greater = 0.5 * (sum + (sum * sum - 4.0 * product).max(0.0).sqrt());
        (product / greater, greater)
    }

    fn retardation(&self, j: usize) -> f64 {
        let branches = &self.branches[..self.count];
        let tau_s = branches[j].tau_s;
        if self.count == 1 {
            return tau_s * (self.relaxed + branches[0].modulus) / self.relaxed;
        }
        // Measured from its own pole, the root keeps its digits when it lies close to it.
        let total = branches.iter().fold(0.0, |sum, b| sum + b.modulus * b.tau_s);
        let above = if j + 1 < self.count { branches[j + 1].tau_s - tau_s } else { total / self.relaxed };
        let (mut low, mut high) = (0.0, above);
        let mut x = 0.5 * above;
        for _ in 0..100 {
            let (mut value, mut slope) = (self.relaxed, 0.0);
            for b in branches {
                let away = x + (tau_s - b.tau_s);
                let term = b.modulus * b.tau_s / away;
                value -= term;
                slope += term / away;
            }
            if value < 0.0 {
                low = x;
            } else {
                high = x;
            }
            let newton = x - value / slope;
            let next = if newton > low && newton < high { newton } else { 0.5 * (low + high) };
            if (next - x).abs() <= 4.0 * f64::EPSILON * x {
                break;
            }
            x = next;
        }
        tau_s + x
    }

    fn advance(&self, stress: &mut [f64; BRANCHES_MAX], rate_per_s: f64, h_s: f64) {
        for (sigma, b) in stress.iter_mut().zip(&self.branches[..self.count]) {
            let kept = exp(-h_s / b.tau_s);
            *sigma = *sigma * kept - b.modulus * b.tau_s * rate_per_s * libm::expm1(-h_s / b.tau_s);
        }
    }

    fn total(&self, strain: f64, stress: &[f64; BRANCHES_MAX]) -> f64 {
        stress.iter().fold(self.relaxed * strain, |sum, sigma| sum + sigma)
    }

    /// When the falling strain leaves no stress, s from the start of the fall. The stress falls all the way: no branch
    /// pushes the other way while the strain rises or is held.
    fn time_to_free_s(&self, loading: &Loading, stress: &[f64; BRANCHES_MAX], rate_per_s: f64) -> f64 {
        let (mut low, mut high) = (0.0, loading.release_s);
        let mut t_s = loading.release_s;
        for _ in 0..60 {
            let (mut value, mut slope) =
                (self.relaxed * (loading.strain + rate_per_s * t_s), self.relaxed * rate_per_s);
            for (sigma, b) in stress.iter().zip(&self.branches[..self.count]) {
                let kept = exp(-t_s / b.tau_s);
                value += sigma * kept + b.modulus * b.tau_s * rate_per_s * (1.0 - kept);
                slope += (b.modulus * rate_per_s - sigma / b.tau_s) * kept;
            }
            if value > 0.0 {
                low = t_s;
            } else {
                high = t_s;
            }
            let newton = t_s - value / slope;
            let next = if newton > low && newton < high { newton } else { 0.5 * (low + high) };
            if (next - t_s).abs() <= 1e-13 * loading.release_s {
                return next;
            }
            t_s = next;
        }
        t_s
    }

    fn recover(&self, strain: f64, stress: &[f64; BRANCHES_MAX], peak: f64, held: f64) -> Response {
        let mut amplitudes = [0.0; BRANCHES_MAX];
        let mut free_strain = 0.0;
        for (amplitude, &lambda) in amplitudes.iter_mut().zip(&self.retardation_s[..self.count]) {
            let (mut along, mut length) = (0.0, 0.0);
            for (sigma, b) in stress.iter().zip(&self.branches[..self.count]) {
                let weight = b.modulus * b.tau_s;
                let mode = lambda / (lambda - b.tau_s);
                along += weight * (strain - sigma / b.modulus) * mode;
                length += weight * mode * mode;
            }
            *amplitude = along / length;
            free_strain += *amplitude;
        }
        Response { peak, held, free_strain, amplitudes, retardation_s: self.retardation_s }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn solid(branches: &[(f64, f64)]) -> Spectrum {
        let mut list = [Branch::default(); BRANCHES_MAX];
        for (slot, &(modulus, tau_s)) in list.iter_mut().zip(branches) {
            *slot = Branch { modulus, tau_s };
        }
        Spectrum::new(0.8, &list[..branches.len()]).unwrap()
    }

    const PULL: Loading = Loading { strain: 0.2, ramp_s: 1.0, hold_s: 5.0, release_s: 0.0 };

    /// Standard linear solid, E_0 0.8 and E_1 0.4 MPa, tau 20 s, closed form: the values were computed outside with
    /// closed forms and agree with a general integrator to 1e-13. The law is exact, so only rounding is allowed.
    #[test]
    fn val_standard_linear_solid() {
        let s = solid(&[(0.4, 20.0)]);
        let r = s.load(&PULL);
        let left = |t: f64| r.strain_at(t);
        assert!((r.peak - 0.238_032_920_798_86).abs() < 1e-13, "{}", r.peak);
        assert!((r.held - 0.220_772_099_823_5).abs() < 1e-13, "{}", r.held);
        assert!((r.free_strain - 0.016_023_250_147_084).abs() < 1e-14, "{}", r.free_strain);
        assert!((s.retardation_s()[0] - 30.0).abs() < 1e-12);
        assert!((left(40.0) - 0.004_223_682_882_083_7).abs() < 1e-14, "{}", left(40.0));
        assert!((left(120.0) - 0.000_293_476_063_517_85).abs() < 1e-15, "{}", left(120.0));
        assert!((100.0 * (1.0 - left(120.0) / 0.2) - 99.853_261_968_2).abs() < 1e-9);
    }

    /// A branch split in halves one per cent to either side behaves as one; the split counts in the second order, half of
    /// (0.01 t / tau)^2.
    #[test]
    fn split_branch_is_one_branch() {
        let (one, split) =
            (solid(&[(0.4, 20.0)]).load(&PULL), solid(&[(0.2, 19.8), (0.2, 20.2)]).load(&PULL));
        for t in [0.0, 10.0, 60.0] {
            assert!((split.strain_at(t) / one.strain_at(t) - 1.0).abs() < 5e-4, "{t}");
        }
    }

    /// The whole history against fourth-order Runge-Kutta steps of the branch equations, with the strain imposed up to the
    /// moment at which the specimen came free and with no stress after it: order four, and 1e-9 of strain at the finest.
    #[test]
    fn conv_history_against_stepping() {
        let branches = [(0.3, 0.8), (0.2, 12.0), (0.1, 90.0)];
        let whole = branches.iter().fold(0.8, |sum, b| sum + b.0);
        let loading = Loading { release_s: 3.0, ..PULL };
        let r = solid(&branches).load(&loading);
        let free_s = 3.0 * (1.0 - r.free_strain / 0.2);
        let free = |q: &[f64; 3]| (0..3).fold(0.0, |sum, i| sum + branches[i].0 * q[i]) / whole;
        // Strain at a time after the start of a part: rise, hold, fall, free.
        let parts: [(f64, [f64; 2]); 4] =
            [(1.0, [0.0, 0.2]), (5.0, [0.2, 0.0]), (free_s, [0.2, -0.2 / 3.0]), (20.0, [f64::NAN, 0.0])];
        let stepped = |steps: u32| {
            let mut q = [0.0; 3];
            let mut freed = 0.0;
            for (length_s, [start, rate]) in parts {
                if start.is_nan() {
                    freed = free(&q);
                }
                let h = length_s / f64::from(steps);
                let slope = |q: &[f64; 3], t_s: f64| {
                    let e = if start.is_nan() { free(q) } else { start + rate * t_s };
                    core::array::from_fn::<f64, 3, _>(|i| (e - q[i]) / branches[i].1)
                };
                for step in 0..steps {
                    let t_s = f64::from(step) * h;
                    let shift = |k: &[f64; 3], by: f64| core::array::from_fn(|i| q[i] + by * k[i]);
                    let k1 = slope(&q, t_s);
                    let k2 = slope(&shift(&k1, 0.5 * h), t_s + 0.5 * h);
                    let k3 = slope(&shift(&k2, 0.5 * h), t_s + 0.5 * h);
                    let k4 = slope(&shift(&k3, h), t_s + h);
                    q = core::array::from_fn(|i| q[i] + h / 6.0 * (k1[i] + 2.0 * (k2[i] + k3[i]) + k4[i]));
                }
            }
            [freed, free(&q)]
        };
        let errors = [80, 160, 320].map(|n| {
            let [freed, left] = stepped(n);
            // The stress is zero where the imposed strain is the one of a free specimen.
            assert!((freed - r.free_strain).abs() < 1e-6, "{freed} {}", r.free_strain);
            (left - r.strain_at(20.0)).abs()
        });
        for pair in errors.windows(2) {
            let order = libm::log2(pair[0] / pair[1]);
            assert!((order - 4.0).abs() < 0.4, "{order} {errors:?}");
        }
        assert!(errors[2] < 1e-9, "{errors:?}");
    }

    /// The quadratic and the bracketed search are two ways to the same roots.
    #[test]
    fn both_ways_to_the_retardation_times_agree() {
        for pair in [[(0.4, 2.0), (0.3, 60.0)], [(0.01, 5.0), (0.02, 5.5)], [(3.0, 0.1), (0.5, 900.0)]] {
            let s = solid(&pair);
            for j in 0..2 {
                assert!((s.retardation(j) / s.retardation_s()[j] - 1.0).abs() < 1e-12, "{pair:?}");
            }
        }
    }

    #[test]
    fn refusals_name_the_order() {
        let twice = [Branch { modulus: 0.1, tau_s: 5.0 }, Branch { modulus: 0.1, tau_s: 5.0 }];
        let error = Spectrum::new(1.0, &twice).unwrap_err().to_string();
        assert!(error.contains("relaxation time") && error.contains("is 5;"), "{error}");
    }

    proptest! {
        /// Strain left is between nothing and all, falls with time, is linear in the strain; modes add up to the strain at
        /// which the specimen came free; a longer hold never leaves less.
        #[test]
        fn prop_recovery_is_a_decay(
            m in proptest::array::uniform3(0.001..0.5), t1 in 0.05..3.0, by in proptest::array::uniform2(1.2..50.0),
            hold in 0.0..30.0, release in 0.0..10.0, t in 0.0..500.0, more in 0.1..100.0,
        ) {
            let s = solid(&[(m[0], t1), (m[1], t1 * by[0]), (m[2], t1 * by[0] * by[1])]);
            let loading = Loading { hold_s: hold, release_s: release, ..PULL };
            let r = s.load(&loading);
            prop_assert!(r.peak >= r.held - 1e-15);
            prop_assert!(r.free_strain >= 0.0 && r.free_strain <= 0.2);
            let (now, later) = (r.strain_at(t), r.strain_at(t + more));
            prop_assert!(later >= 0.0 && later <= now + 1e-15 && now <= r.free_strain + 1e-15);
            let double = s.load(&Loading { strain: 0.4, ..loading }).strain_at(t);
            prop_assert!((double - 2.0 * now).abs() < 1e-11);
            let longer = s.load(&Loading { hold_s: hold + more, ..loading }).strain_at(t);
            prop_assert!(longer >= now - 1e-12);
        }
    }
}
