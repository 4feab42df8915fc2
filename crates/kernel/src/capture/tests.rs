use super::*;
use proptest::prelude::*;

/// The central values of the rows.
const CENTRAL: Calibration = Calibration {
    line_angle_rate: 1.6,
    covered_width_m: 0.145e-3,
    width_spread: 0.33,
    rim_m: 0.25e-3,
    beyond_m: 0.2e-3,
    entry_spread: 0.35,
    bubble_hazard: 0.02,
    wet_hazard: [0.02, 0.05, 0.12, 0.45],
    seep_s: 60.0,
    fluid_pressure_pa: [0.0, 0.0, 500.0, 3e3],
    grip: 0.0775,
    flaw_m: 0.1e-3,
    tear_spread: 0.42,
};

const PRESSING: Pressing = Pressing {
    syringe: Push { pressure_pa: 20e3, duration_s: 2.0 },
    tray: Push { pressure_pa: 40e3, duration_s: 5.0 },
    tray_hazard: 1.0,
};

/// A light-bodied addition silicone.
const LIGHT: Material = Material {
    paste: Paste { viscosity_pa_s: 70.0, doubling_s: 25.0, tension_n_m: 0.03, contact_cosine: 0.5 },
    modulus_pa: 2e6,
    tear_energy_j_m2: 1000.0,
};

const USUAL: Abutment = Abutment {
    open_width_m: 0.385e-3,
    rest_width_m: 0.12e-3,
    closing_s: 38.0,
    depth_m: 0.5e-3,
    wetness: Wetness::Damp,
    uncovered_s: 15.0,
    paste_wait_s: 0.0,
    seat_after_s: 20.0,
};

fn of(abutment: &Abutment) -> Capture {
    capture(abutment, &LIGHT, &PRESSING, &CENTRAL).unwrap()
}

/// Defect rates of slots without fluid (Laufer, Baharav and others, abstracts): 0.08 and 0.13 mm 50 to 90 % of
/// abutments, 0.11 mm 75 %, 0.15 mm and more under 25 %, 0.2 mm good. Grip, flaw and spread were fitted to these, so the
/// test holds the fit; the tolerance is the scatter between the three studies.
#[test]
fn val_defects_of_laboratory_slots() {
    // A metal slot 1 mm deep does not close and has no gum to lie over it.
    let defective = |width_mm: f64| {
        let slot = Abutment {
            open_width_m: width_mm * 1e-3,
            rest_width_m: width_mm * 1e-3,
            depth_m: 0.8e-3,
            wetness: Wetness::Dry,
            uncovered_s: 0.0,
            seat_after_s: 0.0,
            ..USUAL
        };
        let c = of(&slot);
        100.0 * (1.0 - c.filled * c.clean * c.whole)
    };
    assert!((65.0..=97.0).contains(&defective(0.08)), "{}", defective(0.08));
    assert!((defective(0.11) - 75.0).abs() < 12.0, "{}", defective(0.11));
    assert!((30.0..=70.0).contains(&defective(0.13)), "{}", defective(0.13));
    assert!(defective(0.15) < 25.0, "{}", defective(0.15));
    assert!(defective(0.20) < 8.0, "{}", defective(0.20));
}

/// Means over a spread of conditions that stands for impressions sent to laboratories: `(closed, void, captured without
/// blood, captured with blood, captured)`, of impressions with one and a half abutments on average.
fn population(tray_hazard: f64) -> [f64; 5] {
    let pressing = Pressing { tray_hazard, ..PRESSING };
    let (mut closed, mut void) = (0.0, 0.0);
    let (mut bloody, mut clean) = (0.0, 0.0);
    let states = [(Wetness::Dry, 0.2), (Wetness::Damp, 0.25), (Wetness::Fluid, 0.15), (Wetness::Blood, 0.4)];
    for (wetness, of_all) in states {
        for decile in [0.1, 0.3, 0.5, 0.7, 0.9] {
            let scatter = exp(0.262 * crate::normal::quantile(decile));
            // Three in ten were hardly displaced.
            for (median_m, share) in [(0.37e-3, 0.7), (0.2e-3, 0.3)] {
                for uncovered_s in [15.0, 30.0, 45.0, 60.0, 90.0] {
                    for depth_m in [0.2e-3, 0.5e-3, 1e-3] {
                        let a = Abutment {
                            open_width_m: (median_m * scatter).max(0.12e-3),
                            depth_m,
                            wetness,
                            uncovered_s,
                            paste_wait_s: 0.5 * uncovered_s,
                            ..USUAL
                        };
                        let c = capture(&a, &LIGHT, &pressing, &CENTRAL).unwrap();
                        let weight = of_all * 0.2 * share * 0.2 / 3.0;
                        closed += weight * (1.0 - c.open);
                        // A void is noted where no tissue hides the line.
                        void += weight * c.open * (1.0 - c.filled * c.clean);
                        if wetness == Wetness::Blood {
                            bloody += weight / 0.4 * c.probability();
                        } else {
                            clean += weight / 0.6 * c.probability();
                        }
                    }
                }
            }
        }
    }
    let all_teeth = |survival: f64| pow(survival, 1.5);
    [
        1.0 - all_teeth(1.0 - closed),
        1.0 - all_teeth(1.0 - void),
        all_teeth(clean),
        all_teeth(bloody),
        all_teeth(0.6 * clean + 0.4 * bloody),
    ]
}

/// 1157 impressions in laboratories (abstract): tissue over the finish line 49 %, void there 24 %, odds ratio of an error
/// 2.31 with blood, 1.68 for dual-arch trays. The constants were fitted to these over a supposed spread of conditions;
/// that spread is unknown, hence a tolerance of 8 points and of a quarter in the odds.
#[test]
fn val_errors_of_laboratory_impressions() {
    let [closed, void, without, with, all] = population(1.0);
    assert!((closed - 0.49).abs() < 0.08, "{closed}");
    assert!((void - 0.24).abs() < 0.08, "{void}");
    let odds = |captured: f64| (1.0 - captured) / captured;
    let blood = odds(with) / odds(without);
    assert!((blood / 2.31 - 1.0).abs() < 0.25, "{blood}");
    let dual = odds(population(1.4)[4]) / odds(all);
    assert!((dual / 1.68 - 1.0).abs() < 0.25, "{dual}");
}

#[test]
fn twenty_seconds_change_the_number() {
    let late = Abutment { uncovered_s: 35.0, paste_wait_s: 20.0, ..USUAL };
    let (now, then) = (of(&USUAL).probability(), of(&late).probability());
    assert!(now - then > 0.1, "{now} {then}");
}

#[test]
fn spare_time_lands_on_the_level() {
    let spare_s = seconds_to_spare(&USUAL, &LIGHT, &PRESSING, &CENTRAL, 0.7).unwrap().unwrap();
    let late = Abutment { uncovered_s: 15.0 + spare_s, paste_wait_s: spare_s, ..USUAL };
    let probability = of(&late).probability();
    assert!((probability - 0.7).abs() < 1e-3 && probability >= 0.7, "{probability}");
    assert_eq!(seconds_to_spare(&USUAL, &LIGHT, &PRESSING, &CENTRAL, 0.999).unwrap(), None);
    // Above the gum, and with a paste that does not thicken, there is nothing to be late for.
    let above = Abutment { depth_m: 0.0, ..USUAL };
    assert_eq!(seconds_to_spare(&above, &LIGHT, &PRESSING, &CENTRAL, 0.9).unwrap(), Some(SPARE_MAX_S));
}

#[test]
fn one_by_one_beats_all_first() {
    let mut teeth = [USUAL; 4];
    let all_first = Round { cords: Cords::AllFirst, first_s: 15.0, per_tooth_s: 10.0, seat_s: 10.0 };
    in_turn(&mut teeth, &all_first);
    assert_eq!((teeth[3].uncovered_s, teeth[3].paste_wait_s, teeth[0].seat_after_s), (45.0, 30.0, 40.0));
    let all = joint(&teeth, &LIGHT, &PRESSING, &CENTRAL).unwrap();
    let spare = joint_seconds_to_spare(&teeth, &LIGHT, &PRESSING, &CENTRAL, 0.3).unwrap();
    in_turn(&mut teeth, &Round { cords: Cords::OneByOne, ..all_first });
    let singly = joint(&teeth, &LIGHT, &PRESSING, &CENTRAL).unwrap();
    assert!(singly > all + 0.1, "{singly} {all}");
    assert!(joint_seconds_to_spare(&teeth, &LIGHT, &PRESSING, &CENTRAL, 0.3).unwrap() > spare);
    assert_eq!(joint(&[], &LIGHT, &PRESSING, &CENTRAL), Ok(1.0));
}

#[test]
fn refusals_name_field_and_range() {
    let bad = Abutment { rest_width_m: 0.5e-3, ..USUAL };
    let error = capture(&bad, &LIGHT, &PRESSING, &CENTRAL).unwrap_err();
    assert_eq!(error.field, "rest_width_m");
    assert!(error.to_string().contains("0.0005") && error.to_string().contains("0.000385"), "{error}");
    let lost = Abutment { depth_m: f64::NAN, ..USUAL };
    assert_eq!(capture(&lost, &LIGHT, &PRESSING, &CENTRAL).unwrap_err().field, "depth_m");
}

fn abutments() -> impl Strategy<Value = Abutment> {
    (0.05e-3..0.8e-3, 0.02..1.0, 5.0..500.0, 0.0..2e-3, 0usize..4, 0.0..200.0, 0.0..200.0, 0.0..200.0)
        .prop_map(|(open_width_m, rest, closing_s, depth_m, wet, uncovered_s, paste_wait_s, seat_after_s)| {
            Abutment {
                open_width_m,
                rest_width_m: rest * open_width_m,
                closing_s,
                depth_m,
                wetness: [Wetness::Dry, Wetness::Damp, Wetness::Fluid, Wetness::Blood][wet],
                uncovered_s,
                paste_wait_s,
                seat_after_s,
            }
        })
}

fn materials() -> impl Strategy<Value = Material> {
    (1.0..1e4, 5.0..500.0, -0.4..1.0, 3e5..6e6, 50.0..5e3).prop_map(
        |(viscosity_pa_s, doubling_s, contact_cosine, modulus_pa, tear_energy_j_m2)| Material {
            paste: Paste { viscosity_pa_s, doubling_s, tension_n_m: 0.03, contact_cosine },
            modulus_pa,
            tear_energy_j_m2,
        },
    )
}

proptest! {
    /// Later, narrower, deeper, wetter, more viscous or weaker never raises the probability.
    #[test]
    fn prop_nothing_worse_helps(a in abutments(), m in materials(), by in 0.01..1.0) {
        let p = |a: &Abutment, m: &Material, t: f64| {
            capture(a, m, &Pressing { tray_hazard: t, ..PRESSING }, &CENTRAL).unwrap().probability()
        };
        let best = p(&a, &m, 1.0);
        prop_assert!((0.0..=1.0).contains(&best));
        let wetter = match a.wetness {
            Wetness::Dry => Wetness::Damp,
            Wetness::Damp => Wetness::Fluid,
            _ => Wetness::Blood,
        };
        // The meniscus pushes a paste back out of a slot that it shuns, and the more so the narrower it is.
        let open_width_m: f64 = a.rest_width_m + (a.open_width_m - a.rest_width_m) * (1.0 - by);
        let narrower = Abutment { open_width_m: open_width_m.max(1e-5), ..a };
        let worse = [
            Abutment { uncovered_s: a.uncovered_s + 100.0 * by, ..a },
            Abutment { paste_wait_s: a.paste_wait_s + 100.0 * by, ..a },
            Abutment { seat_after_s: a.seat_after_s + 100.0 * by, ..a },
            Abutment { rest_width_m: a.rest_width_m * (1.0 - 0.5 * by), ..a },
            Abutment { closing_s: a.closing_s * (1.0 - 0.8 * by), ..a },
            Abutment { depth_m: a.depth_m + 1e-3 * by, ..a },
            Abutment { wetness: wetter, ..a },
            narrower,
        ];
        for other in worse {
            prop_assert!(p(&other, &m, 1.0) <= best + 1e-12, "{other:?}");
        }
        let paste = m.paste;
        let materials = [
            Material { paste: Paste { viscosity_pa_s: paste.viscosity_pa_s * (1.0 + 9.0 * by), ..paste }, ..m },
            Material { paste: Paste { doubling_s: paste.doubling_s * (1.0 - 0.5 * by), ..paste }, ..m },
            Material { tear_energy_j_m2: m.tear_energy_j_m2 * (1.0 - 0.9 * by), ..m },
        ];
        for other in materials {
            prop_assert!(p(&a, &other, 1.0) <= best + 1e-12, "{other:?}");
        }
        prop_assert!(p(&a, &m, 1.0 + by) <= best + 1e-12);
    }

    /// A higher level never leaves more time, and what is left keeps the level.
    #[test]
    fn prop_spare_time_falls_with_the_level(a in abutments(), m in materials(), level in 0.01..0.9, more in 0.0..0.1) {
        let spare = |level: f64| seconds_to_spare(&a, &m, &PRESSING, &CENTRAL, level).unwrap();
        prop_assert!(spare(level + more) <= spare(level));
        if let Some(spare_s) = spare(level) {
            let late = Abutment { uncovered_s: a.uncovered_s + spare_s, paste_wait_s: a.paste_wait_s + spare_s, ..a };
            prop_assert!(capture(&late, &m, &PRESSING, &CENTRAL).unwrap().probability() >= level - 1e-9);
        }
    }
}
