//! Timings of the bench against a worked example, and Student's distribution against its table.
#![allow(clippy::unwrap_used, reason = "a test stops where its premise fails")]

use counsel::amounts::{BenchTiming, bench, student_quantile};

fn timings(list: &[(f64, f64)]) -> Vec<BenchTiming> {
    list.iter().map(|&(celsius, seconds)| BenchTiming { mix_k: 273.15 + celsius, seconds }).collect()
}

/// 3:10, 2:40 and 2:05 at 18, 21 and 25 °C. The line through ln t over 1/T was worked out apart from this code with the usual sums
/// of a textbook of regression (Draper and Smith, Applied Regression Analysis, 1.4): slope 5208 K, 43.3 kJ/mol; at 28 °C 1:45, and 1:36 to
/// 1:55 for nine of ten single timings.
#[test]
fn val_three_timings_give_the_worked_energy_and_prediction() {
    let fitted = bench(&timings(&[(18.0, 190.0), (21.0, 160.0), (25.0, 125.0)])).unwrap();
    assert!((fitted.activation_j_mol / 1e3 - 43.3).abs() < 0.05, "{}", fitted.activation_j_mol);
    let at = fitted.at(273.15 + 28.0).unwrap();
    assert!((at.seconds - 105.0).abs() < 0.7, "{at:?}");
    let [low, high] = at.interval_s.unwrap();
    assert!((low - 96.0).abs() < 1.0 && (high - 115.0).abs() < 1.0, "{at:?}");
    assert!(at.extrapolated);
    assert!(!fitted.at(273.15 + 20.0).unwrap().extrapolated);
    let back = fitted.for_time(at.seconds).unwrap();
    assert!((back.mix_k - at.mix_k).abs() < 1e-6);
}

/// Table of Student's distribution, upper 5 % and 2.5 % points (Abramowitz and Stegun, table 26.10).
#[test]
fn val_student_quantiles_are_those_of_the_table() {
    for (degrees, p, expected) in [
        (1, 0.95, 6.314),
        (2, 0.95, 2.920),
        (3, 0.95, 2.353),
        (4, 0.95, 2.132),
        (5, 0.95, 2.015),
        (10, 0.95, 1.812),
        (30, 0.95, 1.697),
        (1, 0.975, 12.706),
        (7, 0.975, 2.365),
    ] {
        assert!((student_quantile(degrees, p) - expected).abs() < 6e-4, "{degrees} {p}");
    }
}

#[test]
fn a_time_that_no_mix_takes_is_refused_with_the_times_that_are() {
    let fitted = bench(&timings(&[(18.0, 190.0), (21.0, 160.0), (25.0, 125.0)])).unwrap();
    for seconds in [1.0, 7000.0] {
        let error = fitted.for_time(seconds).unwrap_err().to_string();
        assert!(
            error.starts_with(&format!("wanted time: given {seconds} s; allowed 42 to 578 s")),
            "{error}"
        );
    }
    // Timings without any trend have no temperature for another time, and that is said in times.
    let flat = bench(&timings(&[(18.0, 160.0), (25.0, 160.0)])).unwrap();
    let error = flat.for_time(100.0).unwrap_err().to_string();
    assert!(error.starts_with("wanted time: given 100 s; allowed 160 to 160 s"), "{error}");
}

#[test]
fn too_little_is_said_and_refused() {
    let two = bench(&timings(&[(18.0, 190.0), (25.0, 125.0)])).unwrap();
    assert!(two.activation_half_j_mol.is_none() && two.at(300.0).unwrap().interval_s.is_none());
    let error = |list: &[(f64, f64)]| bench(&timings(list)).unwrap_err().to_string();
    assert_eq!(error(&[(18.0, 190.0)]), "timings: given 1; allowed at least two, at different temperatures");
    assert_eq!(
        error(&[(18.0, 190.0), (18.0, 188.0)]),
        "mix temperatures: given all alike; allowed at least two that differ by some degrees"
    );
    assert_eq!(error(&[(80.0, 190.0), (18.0, 188.0)]), "mix temperature: given 80.0 °C; allowed 1 to 45 °C");
    assert_eq!(error(&[(20.0, 0.0), (18.0, 188.0)]), "timing: given 0 s; allowed 1 s to 2 h");
}
