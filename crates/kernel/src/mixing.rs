//! Temperature of a fresh mix and its cure in the open, before it meets the mouth.
//!
//! ```text
//! C T(0) = sum of C_i T_i over powder, water and vessel;   T(t) = T_room + (T(0) - T_room) e^{-t/tau}
//! ```
//!
//! The heat of wetting is left out. Warming only the water moves the mix by less than the water: powder, vessel
//! and air pull it towards the room. Read as if the whole mix had the temperature of the water, such a study
//! gives a falsely low activation energy (15 instead of 41 to 53 kJ/mol for alginates).
//!
//! The cure is that of [`crate::cure`], second order in steps short enough for both the relaxation and the rate.

use crate::cure::{self, CureLaw, CureState};

/// Specific heat of water, J/(kg K), 10 to 40 °C (within 0.3 %).
pub const WATER_C_J_KGK: f64 = 4182.0;

/// What comes together in the vessel. Masses and heat capacities at least 0, temperatures in K.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MixParts {
    /// Mass of powder, kg.
    pub powder_kg: f64,
    /// Specific heat of powder, J/(kg K).
    pub powder_c_j_kgk: f64,
    /// Temperature of powder, K.
    pub powder_t_k: f64,
    /// Mass of water, kg.
    pub water_kg: f64,
    /// Temperature of water, K.
    pub water_t_k: f64,
    /// Heat capacity of that part of vessel and spatula which follows the mix, J/K.
    pub vessel_j_k: f64,
    /// Temperature of vessel and spatula, K.
    pub vessel_t_k: f64,
}

/// A mix that relaxes to the temperature of the room.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OpenMix {
    /// Temperature at time 0, K.
    pub t0_k: f64,
    /// Temperature of the room, K.
    pub room_k: f64,
    /// Time constant, s; infinite for an insulated mix, 0 for one already at the room's temperature.
    pub tau_s: f64,
}

/// What [`time_to`] waits for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Target {
    /// The retarder is used up.
    InductionEnd,
    /// This degree of cure is reached.
    Alpha(f64),
}

/// Heat capacity of the parts together, J/K.
pub fn heat_capacity_j_k(parts: &MixParts) -> f64 {
    parts.powder_kg * parts.powder_c_j_kgk + parts.water_kg * WATER_C_J_KGK + parts.vessel_j_k
}

/// Temperature when the parts have met, K; that of the water when they have no heat capacity.
pub fn mixed_temperature_k(parts: &MixParts) -> f64 {
    let total_j_k = heat_capacity_j_k(parts);
    if total_j_k <= 0.0 {
        return parts.water_t_k;
    }
    // Differences from the water keep the answer between the extremes to the last bit that matters.
    let excess_j = parts.powder_kg * parts.powder_c_j_kgk * (parts.powder_t_k - parts.water_t_k)
        + parts.vessel_j_k * (parts.vessel_t_k - parts.water_t_k);
    parts.water_t_k + excess_j / total_j_k
}

impl OpenMix {
    /// Temperature at `t_s` seconds, K.
    pub fn temperature_k(&self, t_s: f64) -> f64 {
        if self.tau_s <= 0.0 {
            return self.room_k;
        }
        self.room_k + (self.t0_k - self.room_k) * libm::exp(-t_s / self.tau_s)
    }
}

/// State at `to_s` of a mix that is in `state` at `from_s`, seconds on the clock of `mix`.
pub fn advance_open(law: &CureLaw, state: CureState, mix: &OpenMix, from_s: f64, to_s: f64) -> CureState {
    let mut step = Step { at_s: from_s, t_k: mix.temperature_k(from_s), state };
    while let Some((next, _)) = step.next(law, mix, to_s) {
        step = next;
    }
    step.state
}

/// When a fresh mix reaches `target`, s on the clock of `mix`, or `None` if not by `limit_s`. Good to 0.02 s.
pub fn time_to(law: &CureLaw, mix: &OpenMix, target: Target, limit_s: f64) -> Option<f64> {
    let mut step = Step { at_s: 0.0, t_k: mix.temperature_k(0.0), state: law.fresh() };
    let reached = |s: CureState| match target {
        Target::InductionEnd => s.induction >= 1.0,
        Target::Alpha(alpha) => s.alpha >= alpha,
    };
    if reached(step.state) {
        return Some(0.0);
    }
    while let Some((next, dt_s)) = step.next(law, mix, limit_s) {
        if reached(next.state) {
            let within_s = match (target, law.induction) {
                (Target::Alpha(alpha), _) => {
                    cure::crossing_s(law, step.state, step.t_k, next.t_k, dt_s, alpha)
                }
                (Target::InductionEnd, Some(retarder)) => {
                    dt_s - retarder.advance(step.state.induction, step.t_k, next.t_k, dt_s).1
                }
                (Target::InductionEnd, None) => 0.0,
            };
            return Some(step.at_s + within_s);
        }
        step = next;
    }
    None
}

/// Longest step, s.
const LONGEST_S: f64 = 5.0;
/// Shortest step, s; with [`LATEST_S`] it bounds the number of steps for any input.
const SHORTEST_S: f64 = 0.01;
/// A mix is followed for a day at most, s.
const LATEST_S: f64 = 86_400.0;

#[derive(Debug, Clone, Copy)]
struct Step {
    at_s: f64,
    t_k: f64,
    state: CureState,
}

impl Step {
    /// The next step and its length, `None` at `to_s`. The temperature moves by at most about 0.5 K in it.
    fn next(&self, law: &CureLaw, mix: &OpenMix, to_s: f64) -> Option<(Step, f64)> {
        let left_s = to_s.min(LATEST_S) - self.at_s;
        if left_s.is_nan() || left_s <= 0.0 {
            return None;
        }
        let drift_k_s = (mix.room_k - self.t_k).abs() / mix.tau_s.max(SHORTEST_S);
        // The rate without induction, so that cure is resolved from the first moment after it.
        let rate = law.kamal.rate(self.state.alpha, self.t_k);
        let dt_s = cure::resolved_step_s(self.state.alpha, rate, 0.1)
            .min(0.5 / drift_k_s)
            .clamp(SHORTEST_S, LONGEST_S)
            .min(left_s);
        let at_s = if dt_s < left_s { self.at_s + dt_s } else { to_s.min(LATEST_S) };
        let t_k = mix.temperature_k(at_s);
        let state = cure::advance(law, self.state, self.t_k, t_k, dt_s);
        Some((Step { at_s, t_k, state }, dt_s))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ZERO_CELSIUS;
    use crate::cure::{Induction, Kamal, time_to_alpha_isothermal};
    use proptest::prelude::*;

    fn alginate() -> CureLaw {
        CureLaw {
            induction: Some(Induction { tau_ref_s: 120.0, e_j_mol: 50e3, t_ref_k: 296.15 }),
            kamal: Kamal {
                k1_ref_per_s: 4e-3,
                k2_ref_per_s: 5e-2,
                e1_j_mol: 50e3,
                e2_j_mol: 50e3,
                t_ref_k: 296.15,
                m: 1.0,
                n: 1.5,
            },
            heat_j_kg: 0.0,
        }
    }

    fn parts(ratio: f64) -> MixParts {
        MixParts {
            powder_kg: 0.015,
            powder_c_j_kgk: 950.0,
            powder_t_k: 296.15,
            water_kg: 0.015 * ratio,
            water_t_k: 283.15,
            vessel_j_k: 0.0,
            vessel_t_k: 296.15,
        }
    }

    /// Hand balance [4.18 r 10 + 0.95 23]/[4.18 r + 0.95] with c of water 4.18 and of powder 0.95 kJ/(kg K):
    /// 11.3265 °C at water/powder 2.0 and 11.0197 °C at 2.67. Here c of water is 4.182, which moves it by 6e-4 K.
    #[test]
    fn val_cold_water_and_room_powder_give_eleven_degrees() {
        for (ratio, celsius) in [(2.0, 11.3265), (2.67, 11.0197)] {
            let got = mixed_temperature_k(&parts(ratio)) - ZERO_CELSIUS;
            assert!((got - celsius).abs() < 1e-3, "{got} for {celsius}");
        }
    }

    /// Warm-up 308.15 - 12 e^{-t/60} K uses up the retarder (120 s at 296.15 K, 50 kJ/mol) at 82.059745425014 s,
    /// by 30-digit root finding. The claim is 0.02 s.
    #[test]
    fn val_induction_ends_on_time_while_warming() {
        let mix = OpenMix { t0_k: 296.15, room_k: 308.15, tau_s: 60.0 };
        let got = time_to(&alginate(), &mix, Target::InductionEnd, 600.0).expect("it ends at 82 s");
        assert!((got - 82.059745425014).abs() < 0.02, "{got}");
    }

    /// A mix already at the temperature of the room follows the isothermal integral.
    #[test]
    fn constant_temperature_agrees_with_the_quadrature() {
        let law = alginate();
        for (alpha, t_k) in [(0.1, 296.15), (0.5, 296.15), (0.9, 303.15)] {
            let mix = OpenMix { t0_k: t_k, room_k: t_k, tau_s: f64::INFINITY };
            let got = time_to(&law, &mix, Target::Alpha(alpha), 1e4).expect("it cures");
            let exact = time_to_alpha_isothermal(&law, t_k, alpha);
            assert!((got - exact).abs() < 0.02, "{alpha}: {got} for {exact}");
        }
    }

    /// Steps cut in half by stopping at every quarter second change the answer by less than what is claimed.
    #[test]
    fn own_steps_are_short_enough() {
        let (law, mix) = (alginate(), OpenMix { t0_k: 284.2, room_k: 297.0, tau_s: 90.0 });
        let whole = advance_open(&law, law.fresh(), &mix, 0.0, 200.0);
        let pieces = (0..800)
            .fold(law.fresh(), |s, i| advance_open(&law, s, &mix, 0.25 * i as f64, 0.25 * (i + 1) as f64));
        let rate = law.kamal.rate(pieces.alpha, mix.temperature_k(200.0));
        assert!((whole.alpha - pieces.alpha).abs() < 0.02 * rate, "{whole:?} {pieces:?}");
    }

    #[test]
    fn what_never_comes_is_none() {
        let mix = OpenMix { t0_k: 284.0, room_k: 284.0, tau_s: 100.0 };
        assert_eq!(time_to(&alginate(), &mix, Target::Alpha(0.5), 30.0), None);
        assert_eq!(time_to(&alginate(), &mix, Target::Alpha(1.0), f64::INFINITY), None);
        let quick = CureLaw { induction: None, ..alginate() };
        assert_eq!(time_to(&quick, &mix, Target::InductionEnd, 30.0), Some(0.0));
    }

    proptest! {
        #[test]
        fn prop_mix_lies_between_its_parts(
            powder_kg in 0.0..0.1f64, water_kg in 0.0..0.2f64, vessel_j_k in 0.0..100.0f64,
            powder_t_k in 273.0..320.0f64, water_t_k in 273.0..320.0f64, vessel_t_k in 273.0..320.0f64,
        ) {
            let parts = MixParts {
                powder_kg, powder_c_j_kgk: 950.0, powder_t_k, water_kg, water_t_k, vessel_j_k, vessel_t_k,
            };
            let t_k = mixed_temperature_k(&parts);
            prop_assert!(t_k >= powder_t_k.min(water_t_k).min(vessel_t_k) - 1e-9);
            prop_assert!(t_k <= powder_t_k.max(water_t_k).max(vessel_t_k) + 1e-9);
        }

        #[test]
        fn prop_a_warmer_mix_or_room_is_sooner(
            t0_k in 280.0..300.0f64, room_k in 288.0..305.0f64, tau_s in 20.0..1000.0f64, more in 0.5..5.0f64,
        ) {
            let law = alginate();
            let time = |t0_k, room_k| {
                time_to(&law, &OpenMix { t0_k, room_k, tau_s }, Target::Alpha(0.5), 1e4).expect("it cures")
            };
            prop_assert!(time(t0_k + more, room_k) < time(t0_k, room_k));
            prop_assert!(time(t0_k, room_k + more) < time(t0_k, room_k));
        }
    }
}
