//! What may never happen: loosened instructions, unknown taken as no, silent contradictions, other bits.
#![allow(clippy::unwrap_used, reason = "a test stops where its premise fails")]

mod common;

use chain::report::VerdictWord;
use chain::windows::{DecidedBy, WindowState};
use common::{START, alginate_cast, silicone_crown};
use terms::{Action, Bound, Fact, Fault, Finding, HoldingKind, Observation, Purpose, Reading, Stamp, Step};

const POINTS: u32 = 16;

/// The instruction rule on whole forecasts, both ways: a binding maximum is never later, a binding minimum never earlier than
/// any printed limit or than the careful end of the forecast.
#[test]
fn no_forecast_loosens_a_printed_limit() {
    for mut case in [silicone_crown(), alginate_cast()] {
        for room_celsius in [12.0, 23.0, 36.0] {
            case.situation.room_temperature_k = Fact::Known(273.15 + room_celsius);
            let forecast = case.forecast(POINTS);
            let at = |action: Action| {
                forecast.windows.iter().find(|w| w.action == action).and_then(|w| w.planned_s)
            };
            for window in &forecast.windows {
                for edge in [&window.opens, &window.closes] {
                    let Some(binding_s) = edge.binding_s else { continue };
                    for limit in &edge.instructed {
                        let start_s = match limit.origin {
                            terms::ClockOrigin::StartOfMix => 0.0,
                            terms::ClockOrigin::InTheMouth => at(Action::Seat).unwrap(),
                            terms::ClockOrigin::Removal => at(Action::Remove).unwrap(),
                            terms::ClockOrigin::Pour => at(Action::Pour).unwrap(),
                        };
                        let printed_s = start_s + limit.seconds;
                        match edge.bound {
                            Bound::Maximum => assert!(binding_s <= printed_s + 1e-9),
                            Bound::Minimum => assert!(binding_s >= printed_s - 1e-9),
                        }
                    }
                }
            }
        }
    }
}

/// In a hot room the forecast shortens a printed maximum; in a cold one it lengthens a printed minimum.
#[test]
fn the_forecast_may_tighten_a_printed_limit() {
    let edge = |room_celsius: f64, action: Action, bound: Bound| {
        let mut case = alginate_cast();
        case.situation.room_temperature_k = Fact::Known(273.15 + room_celsius);
        case.situation.water_temperature_k = Fact::Known(273.15 + room_celsius);
        let forecast = case.forecast(POINTS);
        let window = forecast.windows.into_iter().find(|window| window.action == action).unwrap();
        if bound == Bound::Maximum { window.closes } else { window.opens }
    };
    let hot = edge(34.0, Action::Seat, Bound::Maximum);
    assert_eq!(hot.decided_by, DecidedBy::Forecast);
    assert!(hot.instructed.iter().all(|limit| !limit.stated_for_this_room));
    let cold = edge(14.0, Action::Remove, Bound::Minimum);
    assert_eq!(cold.decided_by, DecidedBy::Forecast);
}

/// Without a product there is no instruction, and the answer is to consult it.
#[test]
fn without_an_instruction_the_answer_is_to_consult_it() {
    let mut case = silicone_crown();
    case.route.material.product = None;
    case.route.stone.product = None;
    let forecast = case.forecast(POINTS);
    assert!(forecast.windows.iter().all(|window| window.state == WindowState::ConsultInstructions));
    assert!(forecast.asks.iter().any(|ask| ask.why.contains("no instruction is entered")));
}

/// Unknown is asked for; known to be absent is not; known to be present cannot be answered with a probability.
#[test]
fn unknown_latex_is_a_question_and_not_a_no() {
    let forecast = |latex: Fact<bool>| {
        let mut case = silicone_crown();
        case.situation.latex = latex;
        case.forecast(POINTS)
    };
    let asks = |latex| forecast(latex).asks.iter().any(|ask| ask.words.contains("latex"));
    assert!(asks(Fact::Unknown) && !asks(Fact::Known(false)));
    let touched = forecast(Fact::Known(true));
    assert_eq!(touched.verdict.word, VerdictWord::CannotTell);
    assert!(touched.verdict.reasons[0].contains("latex"));
}

/// A visible fault outweighs every micrometre.
#[test]
fn a_fault_found_on_inspection_decides() {
    let mut case = silicone_crown();
    let finding = |present| Observation {
        at: START,
        reading: Reading::Inspection(Finding { fault: Fault::MarginVoid, present }),
    };
    let before = case.forecast(POINTS).verdict;
    case.observations = vec![finding(Fact::Known(false))];
    let clean = case.forecast(POINTS).verdict;
    assert!(clean.usable.value > before.usable.value && clean.word != VerdictWord::Unlikely);
    case.observations = vec![finding(Fact::Known(true))];
    let found = case.forecast(POINTS).verdict;
    assert_eq!((found.word, found.faults), (VerdictWord::Unlikely, vec![Fault::MarginVoid]));
}

/// Outside the purposes that were checked no probability is claimed.
#[test]
fn an_inlay_is_recorded_and_timed_only() {
    let mut case = silicone_crown();
    case.situation.purpose = Purpose::Inlay;
    let verdict = case.forecast(POINTS).verdict;
    assert_eq!(verdict.word, VerdictWord::CannotTell);
    assert!(verdict.reasons[0].contains("outside what this model was checked for"));
}

fn running() -> common::Case {
    let mut case = alginate_cast();
    case.stamps = vec![
        Stamp { step: Step::MixStarted, at: START },
        Stamp { step: Step::Seated, at: START.plus_seconds(75.0) },
    ];
    case
}

/// The rest in the bowl is a sign: set early, it moves the removal forward and narrows it.
#[test]
fn an_early_bowl_moves_the_removal_forward() {
    let plain = running().forecast(64);
    let bowl_s = plain.quantity("bowl.set").unwrap().interval;
    let mut case = running();
    case.observations =
        vec![Observation { at: START.plus_seconds(bowl_s.low + 5.0), reading: Reading::BowlSet }];
    let seen = case.forecast(64);
    let ready = |forecast: &chain::Forecast| forecast.quantity("window.remove.opens").unwrap().interval;
    assert!(!seen.conditioning.too_few, "{:?}", seen.conditioning);
    assert!(ready(&seen).mid < ready(&plain).mid - 5.0);
    assert!(ready(&seen).high - ready(&seen).low < ready(&plain).high - ready(&plain).low);
}

/// A reading that the model cannot explain is said to be so, and does not leave figures of one lone sample behind.
#[test]
fn a_reading_that_contradicts_the_model_is_left_out_and_said() {
    let plain = running().forecast(POINTS);
    let mut case = running();
    case.observations = vec![Observation { at: START.plus_seconds(2000.0), reading: Reading::BowlSet }];
    let seen = case.forecast(POINTS);
    assert_eq!(seen.verdict.word, VerdictWord::CannotTell);
    assert!(seen.verdict.reasons[0].contains("too few samples"));
    assert!(case.forecast(512).verdict.reasons[0].contains("setting of the rest in the bowl does not fit"));
    assert_eq!(seen.quantity("die.diameter"), plain.quantity("die.diameter"));
}

/// Once the clock runs, what has not happened cannot lie in the past.
#[test]
fn the_running_clock_pushes_the_plan() {
    let case = running();
    let later = case.forecast_at(POINTS, START.plus_seconds(900.0));
    let remove = later.windows.iter().find(|window| window.action == Action::Remove).unwrap();
    assert!(!remove.stamped && remove.planned_s.unwrap() >= 900.0);
}

/// Same input, same bits: on one thread and on many.
#[test]
fn the_number_of_threads_changes_nothing() {
    let run = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        pool.install(|| alginate_cast().forecast(POINTS))
    };
    let one = run(1);
    assert_eq!(one, run(2));
    assert_eq!(one, run(7));
    assert_eq!(format!("{one:?}"), format!("{:?}", run(3)));
}

/// The coarse answer is made of the first samples of the fine one, so a what-if sharpens and does not jump.
#[test]
fn the_coarse_answer_is_near_the_fine_one() {
    let (coarse, fine) = (silicone_crown().forecast(32), silicone_crown().forecast(256));
    let (a, b) = (coarse.verdict.usable.value, fine.verdict.usable.value);
    assert!((a - b).abs() < 0.06, "{a} {b}");
    let (a, b) =
        (coarse.quantity("die.diameter").unwrap().interval, fine.quantity("die.diameter").unwrap().interval);
    assert!((a.mid - b.mid).abs() < 2e-6 && (a.low - b.low).abs() < 4e-6 && (a.high - b.high).abs() < 4e-6);
}

/// Base, bars and interaction sum to the total.
#[test]
fn budgets_sum() {
    for budget in silicone_crown().forecast(POINTS).budgets {
        let sum: f64 = budget.bars.iter().map(|bar| bar.mean_m).sum();
        assert!((budget.base_m + sum + budget.interaction_m - budget.total_m).abs() < 1e-15);
    }
}

/// A known fault of the plan takes the word *likely* away, whatever the sizes say.
#[test]
fn plain_obstacles_outrank_figures() {
    let word = |change: fn(&mut common::Case)| {
        let mut case = silicone_crown();
        change(&mut case);
        let verdict = case.forecast(POINTS).verdict;
        assert!(!verdict.reasons.is_empty());
        verdict.word
    };
    assert_ne!(word(|case| case.situation.bleeding = Fact::Known(true)), VerdictWord::Likely);
    assert_ne!(word(|case| case.route.plan.seat_after_s = Fact::Known(400.0)), VerdictWord::Likely);
    assert_ne!(word(|case| case.route.stone.water_kg = Fact::Known(0.15)), VerdictWord::Likely);
    assert_ne!(
        word(|case| case.route.holding = vec![common::held(HoldingKind::Immersed, 60.0)]),
        VerdictWord::Likely
    );
    let mut final_alginate = alginate_cast();
    final_alginate.situation.purpose = Purpose::Crown;
    final_alginate.route.restoration = silicone_crown().route.restoration;
    assert_ne!(final_alginate.forecast(POINTS).verdict.word, VerdictWord::Likely);
}

/// Past a printed latest moment the answer is that it is too late, not that it is likely.
#[test]
fn a_passed_window_is_too_late() {
    let mut case = alginate_cast();
    case.stamps = vec![
        Stamp { step: Step::MixStarted, at: START },
        Stamp { step: Step::Seated, at: START.plus_seconds(75.0) },
        Stamp { step: Step::Removed, at: START.plus_seconds(330.0) },
    ];
    let late = case.forecast_at(POINTS, START.plus_seconds(330.0 + 7500.0)).verdict;
    assert_ne!(late.word, VerdictWord::Likely);
    assert!(late.reasons.iter().any(|reason| reason.starts_with("too late to pour")), "{:?}", late.reasons);
}

/// A finding that was not looked for is a question.
#[test]
fn an_unknown_finding_is_asked_for() {
    let mut case = silicone_crown();
    let finding = Finding { fault: Fault::Tear, present: Fact::Unknown };
    case.observations = vec![Observation { at: START, reading: Reading::Inspection(finding) }];
    assert!(case.forecast(POINTS).asks[0].words.contains("tear"));
}
