//! Cure of a setting material: a retarder is used up, then an autocatalytic reaction runs.
//!
//! ```text
//! dI/dt = 1/tau(T),  tau = tau_ref exp[(E/R)(1/T - 1/T_ref)],  I(0) = 0;   cure begins at I = 1
//! da/dt = (k1 + k2 a^m)(1 - a)^n,  k_i = k_i,ref exp[-(E_i/R)(1/T - 1/T_ref)],  a(0) = 0
//! ```
//!
//! Over one step the temperature is linear in time. The induction integral takes the rate as linear too
//! (trapezoid). The cure step freezes g = k1 + k2 a^m at the middle of the step and integrates
//! d(1-a)/dt = -g (1-a)^n in closed form, so a stays below 1 for any step. Both are of second order.
//!
//! Kamal & Sourour, Polym. Eng. Sci. 13 (1973) 59, for the rate; the induction of alginates follows one
//! activation energy for all products and mixing ratios (J. Dent. Res. 43 (1964) 107).

use crate::GAS_CONSTANT;

/// Autocatalytic rate law. Rate constants are those at `t_ref_k`; all are at least 0, `t_ref_k` and `n` above 0.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Kamal {
    /// Rate constant of the uncatalysed path at `t_ref_k`, 1/s. With 0 (and m > 0) nothing starts from a = 0.
    pub k1_ref_per_s: f64,
    /// Rate constant of the autocatalytic path at `t_ref_k`, 1/s.
    pub k2_ref_per_s: f64,
    /// Activation energy of k1, J/mol.
    pub e1_j_mol: f64,
    /// Activation energy of k2, J/mol.
    pub e2_j_mol: f64,
    /// Temperature at which the rate constants are stated, K.
    pub t_ref_k: f64,
    /// Autocatalytic order.
    pub m: f64,
    /// Order in what is left.
    pub n: f64,
}

/// Using up of the retarder.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Induction {
    /// Time to use up the retarder at `t_ref_k`, s, above 0.
    pub tau_ref_s: f64,
    /// Activation energy, J/mol.
    pub e_j_mol: f64,
    /// Temperature at which `tau_ref_s` is stated, K.
    pub t_ref_k: f64,
}

/// The cure of one material.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CureLaw {
    /// Retarder, when the material has one.
    pub induction: Option<Induction>,
    /// The reaction after it.
    pub kamal: Kamal,
    /// Heat of the whole reaction per mass of mix, J/kg.
    pub heat_j_kg: f64,
}

/// How far one material point is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CureState {
    /// Share of the retarder used up, 0 to 1; 1 for a material without one.
    pub induction: f64,
    /// Degree of cure, 0 to 1.
    pub alpha: f64,
}

impl Kamal {
    /// Rate da/dt in 1/s at degree of cure `alpha` and `t_k` kelvin. `alpha` is clipped to 0..1 here only.
    pub fn rate(&self, alpha: f64, t_k: f64) -> f64 {
        let (k1, k2) = self.constants_per_s(t_k);
        let alpha = alpha.clamp(0.0, 1.0);
        (k1 + k2 * power(alpha, self.m)) * power(1.0 - alpha, self.n)
    }

    /// Rate constants k1 and k2 at `t_k` kelvin, 1/s.
    pub fn constants_per_s(&self, t_k: f64) -> (f64, f64) {
        let first = arrhenius(self.e1_j_mol, self.t_ref_k, t_k);
        let second =
            if self.e1_j_mol == self.e2_j_mol { first } else { arrhenius(self.e2_j_mol, self.t_ref_k, t_k) };
        (self.k1_ref_per_s * first, self.k2_ref_per_s * second)
    }
}

impl Induction {
    /// Rate dI/dt in 1/s at `t_k` kelvin.
    pub fn rate(&self, t_k: f64) -> f64 {
        arrhenius(self.e_j_mol, self.t_ref_k, t_k) / self.tau_ref_s
    }

    /// Share used up after a step of `dt_s` from `used`, the temperature going linearly from `t0_k` to `t1_k`,
    /// and the part of the step that is left when it ends within (0 when it does not).
    pub fn advance(&self, used: f64, t0_k: f64, t1_k: f64, dt_s: f64) -> (f64, f64) {
        let (start, end) = (self.rate(t0_k), self.rate(t1_k));
        let after = used + 0.5 * dt_s * (start + end);
        if after < 1.0 {
            return (after, 0.0);
        }
        // I(s) = used + start s + (end - start) s^2/(2 dt), solved for I = 1 in the form without cancellation.
        let lacking = (1.0 - used).max(0.0);
        let root = (start * start + 2.0 * (end - start) * lacking / dt_s).max(0.0).sqrt();
        let ends_at = if lacking > 0.0 { 2.0 * lacking / (start + root) } else { 0.0 };
        (1.0, (dt_s - ends_at).max(0.0))
    }
}

impl CureLaw {
    /// The same material with rate constants times `rate_factor` and induction time times `induction_factor`.
    pub fn scaled(&self, rate_factor: f64, induction_factor: f64) -> CureLaw {
        CureLaw {
            induction: self.induction.map(|i| Induction { tau_ref_s: i.tau_ref_s * induction_factor, ..i }),
            kamal: Kamal {
                k1_ref_per_s: self.kamal.k1_ref_per_s * rate_factor,
                k2_ref_per_s: self.kamal.k2_ref_per_s * rate_factor,
                ..self.kamal
            },
            heat_j_kg: self.heat_j_kg,
        }
    }

    /// State at the start of mixing.
    pub fn fresh(&self) -> CureState {
        CureState { induction: if self.induction.is_some() { 0.0 } else { 1.0 }, alpha: 0.0 }
    }
}

/// State after a step of `dt_s` over which the temperature goes linearly from `t0_k` to `t1_k`. Second order in
/// `dt_s`; when the induction ends within the step, the rest of it cures. The degree of cure never falls and
/// never passes 1.
pub fn advance(law: &CureLaw, state: CureState, t0_k: f64, t1_k: f64, dt_s: f64) -> CureState {
    let (induction, left_s) = match law.induction {
        Some(retarder) if state.induction < 1.0 => retarder.advance(state.induction, t0_k, t1_k, dt_s),
        _ => (1.0, dt_s),
    };
    if left_s <= 0.0 {
        return CureState { induction, alpha: state.alpha };
    }
    let t_mid_k = t1_k + (t0_k - t1_k) * (0.5 * left_s / dt_s);
    CureState { induction, alpha: cured(&law.kamal, state.alpha, t_mid_k, left_s) }
}

/// Time from the start of a step at which the degree of cure passes `alpha`, s; the step is that of `advance`
/// and must end at or above `alpha`. Found to 1e-9 in the degree of cure.
pub fn crossing_s(law: &CureLaw, state: CureState, t0_k: f64, t1_k: f64, dt_s: f64, alpha: f64) -> f64 {
    if state.alpha >= alpha {
        return 0.0;
    }
    let excess = |s: f64| advance(law, state, t0_k, t0_k + (t1_k - t0_k) * (s / dt_s), s).alpha - alpha;
    let (mut low, mut below) = (0.0, state.alpha - alpha);
    let (mut high, mut above) = (dt_s, excess(dt_s).max(0.0));
    let mut at = dt_s;
    // Regula falsi with the Illinois halving, so that both ends of the bracket move.
    for _ in 0..40 {
        if above - below <= 0.0 {
            break;
        }
        at = (low * above - high * below) / (above - below);
        let here = excess(at);
        if here.abs() < 1e-9 {
            break;
        }
        if here < 0.0 {
            (low, below) = (at, here);
            above *= 0.5;
        } else {
            (high, above) = (at, here);
            below *= 0.5;
        }
    }
    at
}

/// Longest step, s, over which the cure stays well resolved: the degree of cure, counted from a floor of 0.02,
/// grows by about `share`, and what is left, with a floor of 0.05, falls by at most three times that.
pub fn resolved_step_s(alpha: f64, rate_per_s: f64, share: f64) -> f64 {
    let room = (alpha.max(0.0) + 0.02).min(3.0 * ((1.0 - alpha).max(0.0) + 0.05));
    share * room / rate_per_s.max(1e-30)
}

/// Time at constant `t_k` from fresh to degree of cure `alpha`, s: induction time + integral of da/rate.
///
/// Eight-point Gauss-Legendre in u = -ln(1 - a) on panels that shrink threefold towards u = 0, where a^m is
/// not smooth. Relative error below 1e-9 for k1/k2 of 1e-5 and above. Infinite for `alpha` of 1 or more, and
/// when the reaction cannot start (k1 = 0 with m of 1 or more).
pub fn time_to_alpha_isothermal(law: &CureLaw, t_k: f64, alpha: f64) -> f64 {
    let induction_s = law.induction.map_or(0.0, |i| 1.0 / i.rate(t_k));
    if alpha <= 0.0 {
        return induction_s;
    }
    let kamal = &law.kamal;
    let (k1, k2) = kamal.constants_per_s(t_k);
    if alpha >= 1.0 || (k1 <= 0.0 && kamal.m >= 1.0) {
        return f64::INFINITY;
    }
    // With u = -ln(1 - a), dt = (1 - a)^(1 - n)/(k1 + k2 a^m) du.
    let slowness = |u: f64| libm::exp(u * (kamal.n - 1.0)) / (k1 + k2 * power(-libm::expm1(-u), kamal.m));
    let mut total_s = 0.0;
    let mut right = -libm::log1p(-alpha);
    for panel in 0..=PANELS {
        let left = if panel == PANELS { 0.0 } else { right / 3.0 };
        let (middle, half) = (0.5 * (left + right), 0.5 * (right - left));
        for (node, weight) in GAUSS_8 {
            total_s += half * weight * (slowness(middle - half * node) + slowness(middle + half * node));
        }
        right = left;
    }
    induction_s + total_s
}

/// Positive nodes and weights of the eight-point Gauss-Legendre rule (Abramowitz & Stegun, table 25.4).
const GAUSS_8: [(f64, f64); 4] = [
    (0.183_434_642_495_649_8, 0.362_683_783_378_362),
    (0.525_532_409_916_329, 0.313_706_645_877_887_3),
    (0.796_666_477_413_626_7, 0.222_381_034_453_374_48),
    (0.960_289_856_497_536_3, 0.101_228_536_290_376_26),
];

/// Panels above the one that touches zero: the last is 3^-16 = 2e-8 of the range.
const PANELS: usize = 16;

/// Degree of cure after `dt_s` at the temperature of the middle of the step.
fn cured(kamal: &Kamal, alpha: f64, t_mid_k: f64, dt_s: f64) -> f64 {
    let from = alpha.clamp(0.0, 1.0);
    let left = 1.0 - from;
    if left <= 0.0 {
        return alpha;
    }
    let (k1, k2) = kamal.constants_per_s(t_mid_k);
    let slowing = dt_s * power(left, kamal.n - 1.0);
    let catalysed = k2 * power(from, kamal.m);
    let g = k1 + catalysed;
    // The half step takes g a quarter into the step, so that the only error of second order is that of the
    // midpoint rule itself.
    let quarter_rise = 0.25 * slowing * left * g;
    let g_rise = if kamal.m == 1.0 {
        k2 * quarter_rise
    } else if from > 0.0 {
        kamal.m * catalysed * quarter_rise / (from + (0.5 * (1.0 - kamal.m)).max(0.0) * quarter_rise)
    } else {
        0.0
    };
    let middle = from + left * consumed(0.5 * slowing * (g + g_rise), kamal.n);
    let x = slowing * (k1 + k2 * power(middle, kamal.m));
    alpha + left * consumed(x, kamal.n)
}

/// Share of what was left that reacts: 1 - [1 + (n - 1) x]^(-1/(n - 1)). For n up to 2 the power with a positive
/// exponent is replaced by the start of its binomial series, exact at n = 2 and 1.5, and positive for any x.
fn consumed(x: f64, n: f64) -> f64 {
    if n <= 2.0 {
        let third = ((2.0 - n) * (3.0 - 2.0 * n)).max(0.0) / 6.0;
        let y = x * (1.0 + x * (0.5 * (2.0 - n) + x * third));
        y / (1.0 + y)
    } else {
        -libm::expm1(-libm::log1p((n - 1.0) * x) / (n - 1.0))
    }
}

/// Factor on a rate constant stated at `t_ref_k`, with an activation energy in J/mol and temperatures in K.
pub fn arrhenius(e_j_mol: f64, t_ref_k: f64, t_k: f64) -> f64 {
    libm::exp(e_j_mol * (t_k - t_ref_k) / (GAS_CONSTANT * t_k * t_ref_k))
}

/// x^p for x of at least 0, without logarithm for the orders met most. Relative error about |p ln x| roundings,
/// at half the time of the power function.
fn power(x: f64, p: f64) -> f64 {
    if p == 1.0 {
        x
    } else if p == 2.0 {
        x * x
    } else if p == 0.0 {
        1.0
    } else {
        libm::exp(p * libm::log(x))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn law(m: f64, n: f64) -> CureLaw {
        let kamal = Kamal {
            k1_ref_per_s: 1e-3,
            k2_ref_per_s: 3e-2,
            e1_j_mol: 50e3,
            e2_j_mol: 50e3,
            t_ref_k: 296.15,
            m,
            n,
        };
        CureLaw { induction: None, kamal, heat_j_kg: 0.0 }
    }

    fn retarded() -> CureLaw {
        let induction = Some(Induction { tau_ref_s: 120.0, e_j_mol: 50e3, t_ref_k: 296.15 });
        CureLaw { induction, ..law(1.0, 1.0) }
    }

    /// Advances over `steps` equal steps along a given temperature.
    fn march(law: &CureLaw, to_s: f64, steps: usize, t_k: impl Fn(f64) -> f64) -> CureState {
        let dt = to_s / steps as f64;
        (0..steps).fold(law.fresh(), |s, i| advance(law, s, t_k(i as f64 * dt), t_k((i + 1) as f64 * dt), dt))
    }

    /// (m, n) and the isothermal times to a = 0.1, 0.5, 0.9, 0.95.
    const ISOTHERMAL: [(f64, f64, [f64; 4]); 4] = [
        (1.0, 1.0, [48.117899250894, 111.79793234838, 181.76740655385, 205.81040441612]),
        (0.7, 1.3, [27.936764023568, 77.200492507933, 176.783731325, 228.92655006403]),
        (0.5, 1.5, [16.849563967523, 58.595576083224, 187.00352184274, 274.56849924187]),
        (1.0, 2.0, [50.149938343159, 140.44961195004, 466.22652247146, 812.07458491883]),
    ];

    /// Integrals of da/[(k1 + k2 a^m)(1 - a)^n], k1 = 1e-3, k2 = 3e-2, by 40-digit quadrature. The last printed
    /// digit allows 1e-12; the rule is good to 1e-9.
    #[test]
    fn val_isothermal_times_match_the_integral() {
        for (m, n, times) in ISOTHERMAL {
            for (alpha, exact) in [0.1, 0.5, 0.9, 0.95].into_iter().zip(times) {
                let got = time_to_alpha_isothermal(&law(m, n), 296.15, alpha);
                assert!((got / exact - 1.0).abs() < 1e-9, "m {m} n {n} a {alpha}: {got} for {exact}");
            }
        }
    }

    /// The same integrals through `advance`, so that quadrature and stepping check each other. 4000 steps leave
    /// 1e-6; m = 0.5 is held to 2e-5, because a^m has no derivative at the start.
    #[test]
    fn val_steps_reach_the_isothermal_degrees_of_cure() {
        for (m, n, times) in ISOTHERMAL {
            for (alpha, time) in [0.1, 0.5, 0.9, 0.95].into_iter().zip(times) {
                let got = march(&law(m, n), time, 4000, |_| 296.15).alpha;
                let bound = if m < 1.0 { 2e-5 } else { 1e-6 };
                assert!((got - alpha).abs() < bound, "m {m} n {n}: {got} for {alpha}");
            }
        }
    }

    /// Closed form for m = n = 1: a = (e^{Kt} - 1)/(e^{Kt} + k2/k1), K = k1 + k2; a(100 s) = 0.40610695939284.
    #[test]
    fn conv_closed_form_is_reached_at_second_order() {
        let error = |steps| (march(&law(1.0, 1.0), 100.0, steps, |_| 296.15).alpha - 0.40610695939284).abs();
        let (coarse, middle, fine) = (error(50), error(100), error(200));
        assert!(coarse / middle > 3.5 && middle / fine > 3.5, "{coarse:e} {middle:e} {fine:e}");
        assert!(fine < 1e-5, "{fine:e}");
    }

    /// Adiabatic: dT = (H/c) da; t(0.5) = 182.8600403062 s and t(0.9) = 291.1324289553 s by 30-digit quadrature.
    /// The heat of a step is fed back with one correction; at 0.125 s the error is 1e-3 s.
    #[test]
    fn val_adiabatic_cure_heats_itself_in_time() {
        let mut law = law(0.8, 1.4);
        law.kamal.k1_ref_per_s = 2.69482903435e-4;
        law.kamal.k2_ref_per_s = 1.34741451718e-2;
        (law.kamal.e1_j_mol, law.kamal.e2_j_mol) = (52e3, 52e3);
        let t_k = |alpha: f64| 296.15 + 25.0 / 1.4 * alpha;
        let reach = |alpha: f64, dt: f64| {
            let (mut s, mut time) = (law.fresh(), 0.0);
            loop {
                let guess = advance(&law, s, t_k(s.alpha), t_k(s.alpha), dt);
                let next = advance(&law, s, t_k(s.alpha), t_k(guess.alpha), dt);
                if next.alpha >= alpha {
                    return time + crossing_s(&law, s, t_k(s.alpha), t_k(next.alpha), dt, alpha);
                }
                (s, time) = (next, time + dt);
            }
        };
        for (alpha, exact) in [(0.5, 182.8600403062), (0.9, 291.1324289553)] {
            let got = reach(alpha, 0.125);
            assert!((got - exact).abs() < 2e-3, "{got} for {exact}");
            let order = (reach(alpha, 2.0) - exact) / (reach(alpha, 1.0) - exact);
            assert!(order > 3.4, "errors fall by {order} per halving");
        }
    }

    /// Integral of dt/tau = 1 along two temperature histories, by 30-digit root finding: the ramp 296.15 + 0.05 t
    /// ends at 100.68860828979 s, the warm-up 308.15 - 12 e^{-t/60} at 82.059745425014 s.
    #[test]
    fn val_induction_ends_on_time_under_changing_temperature() {
        let law = retarded();
        let retarder = law.induction.expect("retarded() has one");
        assert!((1.0 / retarder.rate(308.15) - 54.420152757).abs() < 1e-8);
        let end = |dt: f64, t_k: &dyn Fn(f64) -> f64| {
            let (mut used, mut time) = (0.0, 0.0);
            loop {
                let (after, left) = retarder.advance(used, t_k(time), t_k(time + dt), dt);
                if after >= 1.0 {
                    return time + dt - left;
                }
                (used, time) = (after, time + dt);
            }
        };
        let ramp = |t: f64| 296.15 + 0.05 * t;
        let warming = |t: f64| 308.15 - 12.0 * libm::exp(-t / 60.0);
        for (t_k, exact) in [(&ramp as &dyn Fn(f64) -> f64, 100.68860828979), (&warming, 82.059745425014)] {
            assert!((end(0.05, t_k) - exact).abs() < 2e-6, "{} for {exact}", end(0.05, t_k));
            assert!((end(4.0, t_k) - exact).abs() < 1e-2, "{} for {exact}", end(4.0, t_k));
        }
    }

    /// The rest of a step after the end of induction cures: one step over the end equals two that meet there.
    #[test]
    fn cure_starts_where_the_induction_ends() {
        let law = retarded();
        let start = CureState { induction: 0.99, alpha: 0.0 };
        let whole = advance(&law, start, 296.15, 296.15, 3.0);
        let first = advance(&law, start, 296.15, 296.15, 1.2);
        let split = advance(&law, first, 296.15, 296.15, 1.8);
        assert_eq!(whole.induction, 1.0);
        assert!((whole.alpha - split.alpha).abs() < 1e-12 && whole.alpha > 1e-3, "{whole:?} {split:?}");
    }

    proptest! {
        #[test]
        fn prop_cure_only_rises_and_never_passes_one(
            m in 0.2..3.0f64, n in 0.5..4.0f64, alpha in 0.0..1.0f64, dt in 1e-3..1e5f64,
            t0 in 270.0..350.0f64, t1 in 270.0..350.0f64, used in 0.0..1.0f64,
        ) {
            let law = CureLaw { induction: retarded().induction, ..law(m, n) };
            let from = CureState { induction: used, alpha };
            let to = advance(&law, from, t0, t1, dt);
            prop_assert!(to.alpha >= alpha && to.alpha <= 1.0 && to.induction >= used && to.induction <= 1.0);
        }

        #[test]
        fn prop_scaling_scales_the_times(rate in 0.1..10.0f64, wait in 0.1..10.0f64, alpha in 0.01..0.99f64) {
            let law = CureLaw { kamal: law(0.8, 1.4).kamal, ..retarded() };
            let time = |law: &CureLaw, a| time_to_alpha_isothermal(law, 303.0, a);
            let (wait_1, cure_1) = (time(&law, 0.0), time(&law, alpha) - time(&law, 0.0));
            let scaled = law.scaled(rate, wait);
            let expected = wait * wait_1 + cure_1 / rate;
            prop_assert!((time(&scaled, alpha) / expected - 1.0).abs() < 1e-12);
        }

        #[test]
        fn prop_crossing_is_where_the_step_passes(
            dt in 0.1..20.0f64, share in 0.01..0.99f64, t1 in 290.0..312.0f64, used in 0.9..1.0f64,
        ) {
            let law = CureLaw { kamal: law(0.8, 1.4).kamal, ..retarded() };
            let from = CureState { induction: used, alpha: 0.1 };
            let reached = advance(&law, from, 300.0, t1, dt).alpha;
            let alpha = from.alpha + share * (reached - from.alpha);
            let s = crossing_s(&law, from, 300.0, t1, dt, alpha);
            let there = advance(&law, from, 300.0, 300.0 + (t1 - 300.0) * s / dt, s).alpha;
            prop_assert!(s >= 0.0 && s <= dt && (there - alpha).abs() < 1e-8);
        }
    }
}
