//! The round of the syringe against the clock of the mix.

use crate::ranges::{Invalid, Unit, short};
use crate::{ImpressionClass, Route, Situation};

/// Rounding of times that were written in minutes or hours, s.
const SLACK_S: f64 = 1e-6;

/// The paste cannot reach the first prepared tooth before mixing has ended: counted back from the tray in place,
/// `seat_after − tray_after − (n − 1) per_tooth ≥ mixing`, times in s for `n` prepared teeth.
///
/// Nothing is said while one of the times is unknown or no tooth is listed; a single tooth needs no time from tooth to tooth.
/// Agar from the syringe comes out of its bath, so it waits for no mixing.
///
/// # Errors
/// With the planned time of seating and the least that the round leaves.
pub fn check_round(situation: &Situation, route: &Route) -> Result<(), Invalid> {
    let plan = &route.plan;
    let syringed = route.wash.as_ref().unwrap_or(&route.material);
    let Some(legs) = situation.abutments.len().checked_sub(1) else { return Ok(()) };
    let per_tooth_s = if legs == 0 { Some(0.0) } else { plan.per_tooth_s.known() };
    let (Some(seat_s), Some(mixing_s), Some(tray_s), Some(per_tooth_s)) =
        (plan.seat_after_s.known(), plan.mixing_s.known(), plan.tray_after_s.known(), per_tooth_s)
    else {
        return Ok(());
    };
    let least_s = mixing_s + legs as f64 * per_tooth_s + tray_s;
    if syringed.class == ImpressionClass::Agar || least_s <= seat_s + SLACK_S {
        return Ok(());
    }
    let s = |seconds: f64| format!("{} {}", short(seconds), Unit::Second.symbol());
    let way = match legs {
        0 => String::new(),
        _ => format!(", {legs} × {} from tooth to tooth", s(per_tooth_s)),
    };
    Err(Invalid {
        field: "route.plan.seat_after".to_owned(),
        given: format!("{}, with the paste at the first tooth before mixing has ended", s(seat_s)),
        allowed: format!(
            "at least {}: mixing {}{way} and {} to the tray",
            s(least_s),
            s(mixing_s),
            s(tray_s)
        ),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        Abutment, Baths, Fact, GypsumType, Material, Mix, MixMethod, Plan, Purpose, Stone, Technique, Tray,
        TrayKind, TrayMaterial,
    };

    fn route(times: [Fact<f64>; 4]) -> Route {
        let [mixing_s, seat_after_s, per_tooth_s, tray_after_s] = times;
        Route {
            displacement: Fact::Unknown,
            cords_leave: Fact::Unknown,
            technique: Technique::SingleViscosity,
            material: Material { class: ImpressionClass::Polyether, product: None },
            wash: None,
            wash_thickness_m: Fact::Unknown,
            tray: Tray {
                kind: TrayKind::Custom,
                material: TrayMaterial::Acrylic,
                relief_m: Fact::Unknown,
                ceiling_m: Fact::Unknown,
                wall_m: Fact::Unknown,
                adhesive: Fact::Unknown,
                perforated: Fact::Unknown,
            },
            mix: Mix { method: MixMethod::Machine, powder_kg: Fact::Unknown, water_kg: Fact::Unknown },
            baths: Baths::UNKNOWN,
            holding: Vec::new(),
            stone: Stone {
                gypsum: GypsumType::Type4,
                product: None,
                powder_kg: Fact::Unknown,
                water_kg: Fact::Unknown,
            },
            lots: crate::Lots::default(),
            restoration: None,
            plan: Plan {
                mixing_s,
                seat_after_s,
                paste_after_s: Fact::Unknown,
                per_tooth_s,
                tray_after_s,
                withdrawal: Fact::Unknown,
                remove_after_s: Fact::Unknown,
                separate_after_s: Fact::Unknown,
                second_pour_after_s: Fact::Unknown,
            },
        }
    }

    fn teeth(n: usize) -> Situation {
        Situation { abutments: vec![Abutment::UNKNOWN; n], ..Situation::unknown(Purpose::Bridge) }
    }

    /// Counted back from 75 s the paste is at the first of one, two, three, four teeth at 55, 43, 31, 19 s; mixing ends at 30 s.
    const TIMES: [Fact<f64>; 4] =
        [Fact::Known(30.0), Fact::Known(75.0), Fact::Known(12.0), Fact::Known(20.0)];

    #[test]
    fn a_round_that_would_begin_before_mixing_has_ended_is_refused() {
        let route = route(TIMES);
        for (n, fits) in [(0, true), (1, true), (2, true), (3, true), (4, false), (14, false)] {
            assert_eq!(check_round(&teeth(n), &route).is_ok(), fits, "{n}");
        }
        assert_eq!(
            check_round(&teeth(4), &route).unwrap_err().to_string(),
            "route.plan.seat_after: given 75 s, with the paste at the first tooth before mixing has ended; \
             allowed at least 86 s: mixing 30 s, 3 × 12 s from tooth to tooth and 20 s to the tray"
        );
    }

    #[test]
    fn the_round_may_begin_just_when_mixing_ends() {
        let exact = [Fact::Known(31.0), Fact::Known(75.0), Fact::Known(12.0), Fact::Known(20.0)];
        assert!(check_round(&teeth(3), &route(exact)).is_ok());
        let late = [Fact::Known(31.001), Fact::Known(75.0), Fact::Known(12.0), Fact::Known(20.0)];
        assert!(check_round(&teeth(3), &route(late)).is_err());
    }

    #[test]
    fn an_unknown_time_refuses_nothing() {
        for which in 0..4 {
            let mut times = TIMES;
            times[which] = Fact::Unknown;
            assert!(check_round(&teeth(14), &route(times)).is_ok(), "{which}");
        }
        let mut times = TIMES;
        times[0] = Fact::Known(60.0);
        times[2] = Fact::NotApplicable;
        assert!(check_round(&teeth(1), &route(times)).is_err(), "one tooth has no way from tooth to tooth");
    }

    #[test]
    fn agar_from_the_syringe_waits_for_no_mixing() {
        let mut route = route(TIMES);
        route.wash = Some(Material { class: ImpressionClass::Agar, product: None });
        assert!(check_round(&teeth(14), &route).is_ok());
    }
}
