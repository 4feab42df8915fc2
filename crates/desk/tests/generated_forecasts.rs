//! Random valid cases go all the way: a forecast with finite numbers, or an error that says why not.
#![allow(clippy::unwrap_used, reason = "a test stops where its premise fails")]

mod common;

use case_file::Case;
use chain::{ChainError, Effort};
use ledger::{Limits, Parameters, ProductKind};
use terms::{Action, Bound, ClockOrigin, Instant};

/// Forecasts wanted, at 64 samples each.
const WANTED: usize = 1_000;

#[test]
fn prop_a_thousand_generated_cases_are_forecast() {
    let now = Instant::from_millis(1_790_000_000_000);
    let parameters = ledger::shipped().unwrap();
    let limits = Limits::of(&parameters).unwrap();
    let (mut made, mut refused) = (0, 0);
    for seed in 0.. {
        if made == WANTED {
            break;
        }
        let mut case = common::case(seed);
        stock(&mut case, seed, &parameters);
        let limits = limits.clone().with_case(case.limits.opening_m, case.limits.wall_space_m);
        let forecast = chain::forecast(
            &case.situation,
            &case.route,
            &case.stamps,
            &case.observations,
            &parameters,
            &limits,
            Effort::of_points(8),
            now,
        );
        match forecast {
            Ok(forecast) => {
                made += 1;
                assert_eq!(forecast.effort.samples(), 64);
                check(seed, &forecast);
            }
            Err(ChainError::Invalid(_)) => refused += 1,
            Err(error) => assert_eq!(error.to_string(), "", "seed {seed}"),
        }
    }
    assert!(refused < 2 * made, "{refused} of the generated cases were refused");
}

/// Generated products exist in no ledger: every other case gets those of the demo that fit it, the rest go without.
fn stock(case: &mut Case, seed: u64, parameters: &Parameters) {
    let of_kind = |kind: ProductKind| {
        let product = parameters.products().find(|product| product.kind == kind);
        product.filter(|_| seed.is_multiple_of(2)).map(|product| product.id.clone())
    };
    case.route.material.product = of_kind(ProductKind::Impression(case.route.material.class));
    case.route.stone.product = of_kind(ProductKind::Gypsum(case.route.stone.gypsum));
    if let Some(wash) = &mut case.route.wash {
        wash.product = of_kind(ProductKind::Impression(wash.class));
    }
}

fn check(seed: u64, forecast: &chain::Forecast) {
    let p = forecast.verdict.usable.value;
    assert!(
        (0.0..=1.0).contains(&p) && (0.0..=1.0).contains(&forecast.verdict.weak_share),
        "seed {seed}: {p}"
    );
    for quantity in &forecast.quantities {
        let interval = quantity.interval;
        let ordered = interval.low <= interval.mid && interval.mid <= interval.high;
        assert!(
            ordered && interval.low.is_finite() && interval.high.is_finite(),
            "seed {seed}: {quantity:?}"
        );
    }
    for budget in &forecast.budgets {
        assert!(budget.total_m.is_finite() && budget.interaction_m.is_finite(), "seed {seed}: {budget:?}");
    }
    let planned = |action: Action| {
        let window = forecast.windows.iter().find(|window| window.action == action);
        window.and_then(|window| window.planned_s).unwrap_or(0.0)
    };
    for window in &forecast.windows {
        for edge in [&window.opens, &window.closes] {
            for limit in &edge.instructed {
                let start_s = match limit.origin {
                    ClockOrigin::StartOfMix => 0.0,
                    ClockOrigin::InTheMouth => planned(Action::Seat),
                    ClockOrigin::Removal => planned(Action::Remove),
                    ClockOrigin::Pour => planned(Action::Pour),
                };
                let binding_s = edge.binding_s.unwrap_or(f64::NAN);
                let kept = match edge.bound {
                    Bound::Maximum => binding_s <= start_s + limit.seconds + 1e-6,
                    Bound::Minimum => binding_s >= start_s + limit.seconds - 1e-6,
                };
                assert!(kept, "seed {seed}: {} {edge:?}", window.action);
            }
        }
    }
}
