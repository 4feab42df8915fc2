use kernel::normal::quantile;
use terms::{Instant, TryInFinding};

use super::*;

/// Samples whose opening is normal, at the middles of equal shares of probability; everything else is nought.
fn normal_openings(mean_m: f64, sd_m: f64) -> Vec<Sizes> {
    let n = 20_000;
    let opening = |i: i32| mean_m + sd_m * quantile((f64::from(i) + 0.5) / f64::from(n));
    (0..n)
        .map(|i| Sizes {
            diameter_m: 0.0,
            margin_diameter_m: 0.0,
            height_m: 0.0,
            span_m: 0.0,
            diameter_share: 0.0,
            span_share: 0.0,
            opening_m: opening(i),
            wall_space_m: 0.0,
            loose_m: 0.0,
            step_m: 0.0,
            misfit_m: 0.0,
        })
        .collect()
}

fn weights(sizes: &[Sizes], readings: &[Reading]) -> Vec<f64> {
    let parameters = ledger::shipped().unwrap();
    let observations: Vec<Observation> = readings
        .iter()
        .map(|reading| Observation { at: Instant::from_millis(0), reading: *reading })
        .collect();
    let seen: Vec<Seen> = sizes.iter().map(|sizes| Seen { sizes, second_minus_first_m: None }).collect();
    let after = after(&observations, &seen, &parameters).unwrap();
    assert_eq!(after.used, readings.len());
    after.log_likelihood.iter().map(|log| libm::exp(*log)).collect()
}

fn moments(sizes: &[Sizes], weights: &[f64]) -> (f64, f64) {
    let total: f64 = weights.iter().sum();
    let mean = sizes.iter().zip(weights).map(|(s, w)| s.opening_m * w).sum::<f64>() / total;
    let square =
        sizes.iter().zip(weights).map(|(s, w)| (s.opening_m - mean) * (s.opening_m - mean) * w).sum::<f64>()
            / total;
    (mean, square.sqrt())
}

/// A normal prior and a normal reading give the textbook posterior, precisions added (Gelman et al., Bayesian Data Analysis, 2.5, from
/// memory; the algebra is a line). The grid of 20,000 shares is good to a thousandth.
#[test]
fn val_a_film_updates_a_normal_opening_as_the_textbook_says() {
    let (prior, sd, film_sd) = (60e-6, 40e-6, 20e-6);
    let sizes = normal_openings(prior, sd);
    for read_m in [10e-6, 60e-6, 140e-6] {
        let (mean, spread) = moments(&sizes, &weights(&sizes, &[Reading::MarginFilm(read_m)]));
        let (a, b) = (1.0 / (sd * sd), 1.0 / (film_sd * film_sd));
        let expected = (a * prior + b * read_m) / (a + b);
        assert!((mean - expected).abs() < 1e-3 * sd, "{mean} {expected}");
        assert!((spread - (1.0 / (a + b)).sqrt()).abs() < 1e-3 * sd, "{spread}");
    }
}

/// Over a normal opening a sign is reported with the chance that one more integration of the normal gives:
/// e + (1 - 2 e) Phi((mu - m) / sqrt(s^2 + sigma^2)).
#[test]
fn val_a_sign_is_reported_as_often_as_the_closed_form_says() {
    let (m, s, e) = (80e-6, 35e-6, 0.04);
    for (mu, sigma) in [(20e-6, 10e-6), (80e-6, 40e-6), (150e-6, 60e-6)] {
        let sizes = normal_openings(mu, sigma);
        let sign = |present: bool| {
            let finding = TryInFinding { sign: TryInSign::OpenMargin, present: Fact::Known(present) };
            let weights = weights(&sizes, &[Reading::TryIn(finding)]);
            weights.iter().sum::<f64>() / weights.len() as f64
        };
        let expected = e + (1.0 - 2.0 * e) * cdf((mu - m) / (s * s + sigma * sigma).sqrt());
        assert!((sign(true) - expected).abs() < 1e-4, "{} {expected}", sign(true));
        assert!((sign(true) + sign(false) - 1.0).abs() < 1e-12);
    }
}

/// What can be said of an index sums to one whatever the error, and a larger error never speaks for a better fit.
#[test]
fn an_index_says_one_of_three_things() {
    let mut sizes = normal_openings(0.0, 1e-9);
    sizes.truncate(300);
    for (index, sizes) in sizes.iter_mut().enumerate() {
        sizes.span_m = 2e-6 * index as f64 * if index % 2 == 0 { 1.0 } else { -1.0 };
    }
    let of = |fit| weights(&sizes, &[Reading::SpanIndex(fit)]);
    let (seats, rocks, off) = (of(IndexFit::Seats), of(IndexFit::Rocks), of(IndexFit::DoesNotSeat));
    for index in 0..sizes.len() {
        assert!((seats[index] + rocks[index] + off[index] - 1.0).abs() < 1e-12);
    }
    assert!(seats.windows(2).all(|pair| pair[1] <= pair[0] + 1e-15));
    assert!(off.windows(2).all(|pair| pair[1] >= pair[0] - 1e-15));
}
