//! Findings after pouring move the chance of a usable result, each the way it must.
#![allow(clippy::unwrap_used, clippy::panic, reason = "a test stops where its premise fails")]

mod common;

use chain::Forecast;
use chain::report::VerdictWord;
use common::{Case, START, alginate_cast, silicone_crown};
use terms::{
    DieFault, DieFinding, Fact, IndexFit, Observation, Reading, Stamp, Step, TryInFinding, TryInSign,
};

const POINTS: u32 = 64;

/// A crown that has been poured.
fn poured(readings: &[Reading]) -> Case {
    let mut case = silicone_crown();
    let at = |s: f64| START.plus_seconds(s);
    case.stamps =
        [(Step::MixStarted, 0.0), (Step::Seated, 75.0), (Step::Removed, 420.0), (Step::Poured, 4200.0)]
            .into_iter()
            .map(|(step, s)| Stamp { step, at: at(s) })
            .collect();
    case.observations =
        readings.iter().map(|reading| Observation { at: at(9000.0), reading: *reading }).collect();
    case
}

fn asked(case: &Case) -> Forecast {
    case.forecast_at(POINTS, START.plus_seconds(9000.0))
}

fn usable(readings: &[Reading]) -> f64 {
    asked(&poured(readings)).verdict.usable.value
}

fn felt(sign: TryInSign, present: Fact<bool>) -> Reading {
    Reading::TryIn(TryInFinding { sign, present })
}

fn on_die(fault: DieFault, present: Fact<bool>) -> Reading {
    Reading::Die(DieFinding { fault, present })
}

/// An open margin or a crown that does not go down never raises the chance, its absence never lowers it, and what nobody looked for
/// changes nothing, to the bit.
#[test]
fn prop_each_sign_speaks_its_own_way() {
    let before = usable(&[]);
    for &sign in TryInSign::ALL {
        let there = usable(&[felt(sign, Fact::Known(true))]);
        let not = usable(&[felt(sign, Fact::Known(false))]);
        // A step or a loose fit goes with a larger die, and that with a smaller opening, which fails more often: the little that is won
        // there is no more than this, and no sign is ever called likely to serve.
        let won = if matches!(sign, TryInSign::Overhang | TryInSign::Loose) { 0.02 } else { 1e-12 };
        assert!(there <= before + won && not >= before - won, "{sign}: {there} {before} {not}");
        let word = asked(&poured(&[felt(sign, Fact::Known(true))])).verdict.word;
        assert_ne!(word, VerdictWord::Likely, "{sign}");
        assert_eq!(usable(&[felt(sign, Fact::Unknown)]), before, "{sign}");
    }
    for sign in [TryInSign::OpenMargin, TryInSign::NotSeated] {
        assert!(usable(&[felt(sign, Fact::Known(true))]) < before, "{sign} says nothing");
    }
    for &fault in DieFault::ALL {
        assert_eq!(usable(&[on_die(fault, Fact::Known(true))]), 0.0, "{fault}");
        assert!(usable(&[on_die(fault, Fact::Known(false))]) >= before - 1e-12, "{fault}");
        assert_eq!(usable(&[on_die(fault, Fact::Unknown)]), before, "{fault}");
    }
    // A finish line that is followed all round on the die was in the impression.
    assert!(usable(&[on_die(DieFault::MarginNotReadable, Fact::Known(false))]) > before + 0.02);
}

#[test]
fn films_move_openings_towards_what_was_read() {
    let opening = |readings: &[Reading]| {
        let forecast = asked(&poured(readings));
        let found = forecast.quantities.iter().find(|quantity| quantity.id == "fit.opening");
        found
            .unwrap_or_else(|| panic!("{:?}", forecast.quantities.iter().map(|q| q.id).collect::<Vec<_>>()))
            .interval
    };
    let before = opening(&[]);
    let (thin, wide) =
        (opening(&[Reading::MarginFilm(before.low)]), opening(&[Reading::MarginFilm(before.high)]));
    assert!(thin.mid < before.mid && before.mid < wide.mid, "{thin:?} {before:?} {wide:?}");
    assert!(thin.high - thin.low < before.high - before.low, "a reading that agrees narrows");
    assert!(usable(&[Reading::MarginFilm(170e-6)]) < usable(&[Reading::MarginFilm(40e-6)]));
}

/// A second die much wider than the first, where little was expected, says that the impression has changed in between.
#[test]
fn a_difference_of_two_dies_moves_the_first() {
    let diameter = |readings: &[Reading]| {
        let forecast = asked(&poured(readings));
        forecast.quantities.iter().find(|quantity| quantity.id == "die.diameter").unwrap().interval.mid
    };
    let (smaller, same, larger) = (
        diameter(&[Reading::PourDifference(-15e-6)]),
        diameter(&[Reading::PourDifference(0.0)]),
        diameter(&[Reading::PourDifference(15e-6)]),
    );
    assert!(smaller != larger && same.is_finite());
    // Both ends of what is likely leave samples enough to say something.
    let forecast = asked(&poured(&[Reading::PourDifference(5e-6)]));
    assert!(!forecast.conditioning.too_few, "{:?}", forecast.conditioning);
}

#[test]
fn an_index_that_rocks_lowers_the_chance_of_a_bridge() {
    let bridge = |readings: &[Reading]| {
        let mut case = poured(readings);
        case.situation.purpose = terms::Purpose::Bridge;
        case.situation.span_m = Fact::Known(25e-3);
        asked(&case).verdict.usable.value
    };
    let before = bridge(&[]);
    let (seats, rocks) =
        (bridge(&[Reading::SpanIndex(IndexFit::Seats)]), bridge(&[Reading::SpanIndex(IndexFit::Rocks)]));
    assert!(seats >= before && rocks < before, "{seats} {before} {rocks}");
    assert!(bridge(&[Reading::SpanIndex(IndexFit::DoesNotSeat)]) <= rocks + 0.05);
}

/// A film that reads small does not make a rocking bridge likely to serve.
#[test]
fn a_plain_sign_takes_likely_away() {
    let good = [
        Reading::MarginFilm(30e-6),
        on_die(DieFault::MarginNotReadable, Fact::Known(false)),
        felt(TryInSign::OpenMargin, Fact::Known(false)),
    ];
    assert_eq!(asked(&poured(&good)).verdict.word, VerdictWord::Likely);
    let mut with_sign = good.to_vec();
    with_sign.push(felt(TryInSign::Overhang, Fact::Known(true)));
    let verdict = asked(&poured(&with_sign)).verdict;
    assert!(verdict.usable.value > 0.8);
    assert_eq!(verdict.word, VerdictWord::CannotTell);
    assert!(
        verdict.reasons[0].contains("overhang") && verdict.reasons[0].contains("outweighs"),
        "{:?}",
        verdict.reasons
    );
}

#[test]
fn a_fault_of_the_stone_leaves_the_impression_its_chance() {
    let forecast = asked(&poured(&[on_die(DieFault::Bubble, Fact::Known(true))]));
    assert_eq!(forecast.verdict.word, VerdictWord::Unlikely);
    assert_eq!(forecast.verdict.die_faults, [DieFault::Bubble]);
    assert!(forecast.verdict.reasons[0].contains("The stone is at fault"), "{:?}", forecast.verdict.reasons);
    assert!(forecast.second_pour.usable.unwrap() > 0.2);
    let missing = asked(&poured(&[on_die(DieFault::MarginNotReadable, Fact::Known(true))]));
    assert_eq!(missing.second_pour.usable, Some(0.0));
    assert!(missing.verdict.reasons[0].contains("another pour brings the same"));
}

#[test]
fn findings_that_a_case_cannot_have_are_refused() {
    let parameters = common::parameters();
    let limits = ledger::Limits::of(&parameters).unwrap();
    let refused = |case: &Case| {
        let effort = chain::Effort::of_points(8);
        let (situation, route) = (&case.situation, &case.route);
        chain::forecast(
            situation,
            route,
            &case.stamps,
            &case.observations,
            &parameters,
            &limits,
            effort,
            START,
        )
        .unwrap_err()
        .to_string()
    };
    let error = refused(&poured(&[Reading::SpanIndex(IndexFit::Seats)]));
    assert!(error.starts_with("observations[0].span_index: given a case without a span"), "{error}");
    let mut cast = alginate_cast();
    cast.observations = poured(&[Reading::MarginFilm(50e-6)]).observations;
    assert!(refused(&cast).contains("given a cast without a die"));
    let mut gel = poured(&[Reading::PourDifference(0.0)]);
    gel.route.material = alginate_cast().route.material;
    gel.route.mix = alginate_cast().route.mix;
    gel.situation.water_temperature_k = Fact::Known(293.15);
    assert!(refused(&gel).contains("given a material that is poured once"));
    let endless = refused(&poured(&[Reading::MarginFilm(1.0)]));
    assert!(endless.contains("allowed 0 to 2000 µm"), "{endless}");
}
