//! What was read replaces what was stated, and moves the next window.
#![allow(clippy::unwrap_used, reason = "a test stops where its premise fails")]

mod common;

use chain::Forecast;
use common::{Case, START, alginate_cast, held, silicone_crown};
use terms::{Action, Fact, HoldingKind, Instant, Observation, Reading, Stamp, Step};

const POINTS: u32 = 64;

fn at(s: f64) -> Instant {
    START.plus_seconds(s)
}

fn saw(s: f64, reading: Reading) -> Observation {
    Observation { at: at(s), reading }
}

fn closes_s(forecast: &Forecast, action: Action) -> f64 {
    forecast.window(action).unwrap().closes.forecast_s.unwrap().mid
}

/// An alginate that has just been mixed with water stated as 20 °C.
fn mixed(observations: Vec<Observation>) -> Case {
    let mut case = alginate_cast();
    case.situation.water_temperature_k = Fact::Known(293.15);
    case.stamps = vec![Stamp { step: Step::MixStarted, at: START }];
    case.observations = observations;
    case
}

#[test]
fn warmer_water_brings_the_end_of_working_nearer() {
    let of = |celsius: f64| {
        mixed(vec![saw(1.0, Reading::WaterTemperature(273.15 + celsius))]).forecast_at(POINTS, at(5.0))
    };
    let plan = mixed(Vec::new()).forecast_at(POINTS, at(5.0));
    let (same, warm, cold) = (of(20.0), of(27.0), of(13.0));
    assert_eq!(closes_s(&plan, Action::Seat), closes_s(&same, Action::Seat), "a reading of what was stated");
    assert!(closes_s(&warm, Action::Seat) < 0.9 * closes_s(&plan, Action::Seat));
    assert!(closes_s(&cold, Action::Seat) > 1.1 * closes_s(&plan, Action::Seat));
    // It is the fact, not evidence against it: no sample loses weight.
    assert!(!warm.conditioning.too_few && warm.conditioning.readings_used == 1);
    assert_eq!(warm.conditioning.effective_samples, same.conditioning.effective_samples);
    // The same as if it had been stated so, to the bit.
    let mut stated = mixed(Vec::new());
    stated.situation.water_temperature_k = Fact::Known(273.15 + 27.0);
    assert!(stated.forecast_at(POINTS, at(5.0)).quantities == warm.quantities);
}

#[test]
fn the_latest_reading_counts_whatever_the_order_of_the_list() {
    let (early, late) = (
        saw(1.0, Reading::WaterTemperature(273.15 + 28.0)),
        saw(2.0, Reading::WaterTemperature(273.15 + 18.0)),
    );
    let one = mixed(vec![early, late]).forecast_at(POINTS, at(5.0));
    let other = mixed(vec![late, early]).forecast_at(POINTS, at(5.0));
    assert!(one.quantities == other.quantities);
    assert!(
        closes_s(&one, Action::Seat)
            > closes_s(&mixed(Vec::new()).forecast_at(POINTS, at(5.0)), Action::Seat)
    );
}

/// An alginate lies in the open after removal: dry air read then shortens the time to pour, and changes nothing of how it set.
#[test]
fn the_air_of_the_room_read_after_removal_is_that_of_the_holding() {
    let with = |observations: Vec<Observation>| {
        let mut case = mixed(observations);
        case.stamps.push(Stamp { step: Step::Seated, at: at(60.0) });
        case.stamps.push(Stamp { step: Step::Removed, at: at(300.0) });
        case.route.holding = vec![held(HoldingKind::OpenAir, 20.0)];
        case.forecast_at(POINTS, at(330.0))
    };
    let plain = with(Vec::new());
    let dry = with(vec![saw(320.0, Reading::RoomHumidity(0.15))]);
    let damp = with(vec![saw(320.0, Reading::RoomHumidity(0.9))]);
    assert!(closes_s(&dry, Action::Pour) < closes_s(&plain, Action::Pour));
    assert!(closes_s(&damp, Action::Pour) > closes_s(&plain, Action::Pour));
    assert_eq!(closes_s(&dry, Action::Seat), closes_s(&plain, Action::Seat));
    // A segment that says its own air keeps it.
    let sealed = |observations: Vec<Observation>| {
        let mut case = mixed(observations);
        case.stamps.push(Stamp { step: Step::Removed, at: at(300.0) });
        case.route.holding = vec![held(HoldingKind::SealedHumid, 60.0)];
        case.forecast_at(POINTS, at(330.0))
    };
    let dry = sealed(vec![saw(320.0, Reading::RoomHumidity(0.15))]);
    assert!(sealed(Vec::new()).quantities == dry.quantities);
}

/// A longer wait than planned moves the time that is left: the later the present, the fewer minutes; and what is late says so.
#[test]
fn a_longer_delay_leaves_less_and_then_nothing() {
    let mut case = mixed(Vec::new());
    case.stamps.push(Stamp { step: Step::Removed, at: at(300.0) });
    case.route.holding = vec![held(HoldingKind::OpenAir, 10.0)];
    let left = |s: f64| {
        let forecast = case.forecast_at(POINTS, at(s));
        forecast.window(Action::Pour).unwrap().closes.binding_s.unwrap() - s
    };
    assert!(left(400.0) > left(600.0) && left(600.0) > left(900.0));
    let usable = |s: f64| case.forecast_at(POINTS, at(s)).verdict.usable.value;
    assert!(usable(7200.0) < usable(600.0));
}

#[test]
fn water_for_pastes_is_refused() {
    let mut case = silicone_crown();
    case.observations = vec![saw(1.0, Reading::WaterTemperature(295.0))];
    let parameters = common::parameters();
    let limits = ledger::Limits::of(&parameters).unwrap();
    let (situation, route) = (&case.situation, &case.route);
    let effort = chain::Effort::of_points(8);
    let error =
        chain::forecast(situation, route, &[], &case.observations, &parameters, &limits, effort, START);
    assert_eq!(
        error.unwrap_err().to_string(),
        "observations[0].water_temperature: given the water of a mix of addition silicone; allowed a reading of water for alginate alone"
    );
}
