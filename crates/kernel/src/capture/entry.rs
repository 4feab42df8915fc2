//! How far a thickening paste enters a narrow slot.
//!
//! ```text
//! dL/dt = w^2 P / (12 eta(t) L),   P = P_push + 2 gamma cos(theta) / w - P_fluid,   L(0) = 0
//! eta(t) = eta_0 2^(t / T)
//! L^2 = (w^2 / 6) int P / eta dt
//! ```
//!
//! Flow between parallel plates of width `w`, lubrication theory with the pressure falling evenly over the wetted
//! length `L` (Washburn, Phys Rev 17 (1921) 273, with a driving pressure). `P_fluid` is the pressure of what stands in the
//! slot or wells up in it; a push that does not exceed it moves nothing. A push of constant pressure and of duration `D`
//! that begins at the viscosity `eta_0` has the closed form
//!
//! ```text
//! int_0^D P / eta dt = (P / eta_0) T / ln 2 (1 - 2^(-D / T))
//! ```
//!
//! so nothing is discretised. Newtonian in each instant: `eta` is the viscosity at the rate of shear of the entry.

use libm::expm1;

/// A paste at one moment.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Paste {
    /// Viscosity at that moment, Pa s.
    pub viscosity_pa_s: f64,
    /// Time in which it doubles, s; infinite for a paste that does not thicken.
    pub doubling_s: f64,
    /// Surface tension, N/m.
    pub tension_n_m: f64,
    /// Cosine of the contact angle on the wet tooth; negative when the paste shuns it.
    pub contact_cosine: f64,
}

impl Paste {
    /// Viscosity after `wait_s`, Pa s.
    pub fn viscosity_after_pa_s(&self, wait_s: f64) -> f64 {
        self.viscosity_pa_s * libm::exp2(wait_s / self.doubling_s)
    }
}

/// A pressure held for a while.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Push {
    /// Pressure at the mouth of the slot, Pa.
    pub pressure_pa: f64,
    /// For how long, s.
    pub duration_s: f64,
}

/// Pressure of the meniscus in a slot, Pa: `2 gamma cos(theta) / w`.
pub fn capillary_pa(paste: &Paste, width_m: f64) -> f64 {
    2.0 * paste.tension_n_m * paste.contact_cosine / width_m
}

/// Square of the depth that one push adds, m2: `(w^2 / 6) int P / eta dt`. Squares of successive pushes add.
///
/// The push begins `wait_s` after the moment of `paste`; `against_pa` is the pressure of the fluid in the slot.
pub fn depth_squared_m2(paste: &Paste, width_m: f64, push: &Push, against_pa: f64, wait_s: f64) -> f64 {
    let net_pa = (push.pressure_pa + capillary_pa(paste, width_m) - against_pa).max(0.0);
    let rate_per_s = core::f64::consts::LN_2 / paste.doubling_s;
    let effective_s = if rate_per_s * push.duration_s > 1e-12 {
        -expm1(-rate_per_s * push.duration_s) / rate_per_s
    } else {
        push.duration_s
    };
    width_m * width_m / 6.0 * net_pa * effective_s / paste.viscosity_after_pa_s(wait_s)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn paste() -> Paste {
        Paste { viscosity_pa_s: 70.0, doubling_s: 18.0, tension_n_m: 0.03, contact_cosine: 0.5 }
    }

    /// Washburn's law for plates, no push: L^2 = w gamma cos(theta) t / (3 eta). Water at 20 degC (72.8 mN/m, 1.002 mPa s,
    /// handbook), 0.1 mm, perfect wetting, 1 s, gives 49.212 mm by hand. Exact but for rounding.
    #[test]
    fn val_capillary_rise_between_plates() {
        let water = Paste {
            viscosity_pa_s: 1.002e-3,
            doubling_s: f64::INFINITY,
            tension_n_m: 72.8e-3,
            contact_cosine: 1.0,
        };
        let none = Push { pressure_pa: 0.0, duration_s: 1.0 };
        let depth_mm = depth_squared_m2(&water, 1e-4, &none, 0.0, 0.0).sqrt() * 1e3;
        assert!((depth_mm - 49.212).abs() < 1e-3, "{depth_mm}");
    }

    /// The closed form against the differential equation, stepped by the midpoint rule in L^2: order two, and at the
    /// finest step within 1e-6.
    #[test]
    fn conv_thickening_entry_against_stepping() {
        let (w, push) = (0.2e-3, Push { pressure_pa: 30e3, duration_s: 25.0 });
        let exact = depth_squared_m2(&paste(), w, &push, 2e3, 7.0);
        let stepped = |steps: u32| {
            let h = push.duration_s / f64::from(steps);
            let net_pa = push.pressure_pa + capillary_pa(&paste(), w) - 2e3;
            (0..steps).fold(0.0, |square, k| {
                let eta = paste().viscosity_after_pa_s(7.0 + (f64::from(k) + 0.5) * h);
                square + 2.0 * h * w * w * net_pa / (12.0 * eta)
            })
        };
        let errors = [64, 128, 256, 512].map(|n| (stepped(n) / exact - 1.0).abs());
        for pair in errors.windows(2) {
            let order = libm::log2(pair[0] / pair[1]);
            assert!((order - 2.0).abs() < 0.05, "{order}");
        }
        assert!(errors[3] < 1e-6, "{errors:?}");
    }

    #[test]
    fn a_push_below_the_fluid_moves_nothing() {
        let weak = Push { pressure_pa: 500.0, duration_s: 5.0 };
        assert_eq!(depth_squared_m2(&paste(), 0.2e-3, &weak, 3e3, 0.0), 0.0);
    }
}
