//! Pictures of every demo case: whole, finite, titled, and with the same facts as a table.
#![allow(clippy::unwrap_used, reason = "a test stops where its premise fails")]

use chain::{Effort, Forecast};
use desk::load::{self, DEMO, Known};
use desk::pictures;
use jiff::tz::TimeZone;

fn known() -> Known {
    Known::of(load::stock(None, true).unwrap()).unwrap()
}

/// Every attribute that holds a place is a number, every picture says what it is, and its table has a row.
fn is_whole(name: &str, markup: &str) {
    for bad in ["NaN", "inf", "\"-\"", "=\"\""] {
        assert!(!markup.contains(bad), "{name}: {bad}");
    }
    assert_eq!(markup.matches("<figcaption").count(), markup.matches("<svg").count(), "{name}");
    assert_eq!(markup.matches("role=\"img\"").count(), markup.matches("<svg").count(), "{name}");
    assert!(markup.contains("<title>") && markup.contains("<tbody><tr>"), "{name}");
    // No place is far outside its drawing.
    for piece in markup.split(" x=\"").skip(1) {
        let x: f64 = piece.split('"').next().unwrap().parse().unwrap();
        assert!((-1.0..=720.0).contains(&x), "{name}: x {x}");
    }
}

fn strip(case: &case_file::Case, known: &Known, forecast: &Forecast) -> String {
    let view = load::view(case);
    let look = counsel::cautions::look(known.rulebook(), &view);
    let checks = counsel::visit::checks(&view, &known.stock.clinic).unwrap();
    let card = desk::card::Card {
        name: "demo",
        case,
        forecast,
        parameters: &known.parameters,
        look: &look,
        checks: &checks,
        zone: TimeZone::UTC,
        present: "the demo",
    };
    pictures::strip(&card, "strip").into_string()
}

#[test]
fn every_picture_of_every_demo_case_is_whole() {
    let known = known();
    for (name, _) in DEMO {
        let case = load::case(&format!("demo/{name}")).unwrap();
        let now = load::present(&case, terms::Instant::from_millis(0));
        let forecast = known.forecast(&case, Effort { points: 4 }, now).unwrap();
        is_whole(name, &strip(&case, &known, &forecast));
        for budget in &forecast.budgets {
            is_whole(name, &pictures::budget(budget).into_string());
        }
        let others = [
            pictures::chance(&forecast),
            pictures::strain(&forecast),
            pictures::section(&case.situation, &case.route, &forecast),
        ];
        for picture in others.into_iter().flatten() {
            is_whole(name, &picture.into_string());
        }
        let limits = known.limits(&case);
        let (situation, route) = (&case.situation, &case.route);
        let moments = [5.0, 60.0, 240.0];
        let profile = chain::profile(
            situation,
            route,
            &case.stamps,
            &case.observations,
            &known.parameters,
            &limits,
            &moments,
            now,
        );
        let profile = profile.unwrap();
        is_whole(name, &pictures::thickness(&profile).into_string());
        // What cures does not uncure, and the last cell of the tooth side is inside the material.
        for pair in profile.moments.windows(2) {
            for (before, after) in pair[0].cure_share.iter().zip(&pair[1].cure_share) {
                assert!(after.mid >= before.mid - 1e-9, "{name}");
            }
        }
        assert!(profile.depth_m.windows(2).all(|pair| pair[0] < pair[1]), "{name}");
    }
}

/// A printed limit stands in the strip where its time lies, and no band reaches past it.
#[test]
fn no_band_reaches_past_a_printed_limit() {
    let known = known();
    let case = load::case("demo/study-alginate").unwrap();
    let now = load::present(&case, terms::Instant::from_millis(0));
    let forecast = known.forecast(&case, Effort::COARSE, now).unwrap();
    let markup = strip(&case, &known, &forecast);
    let mut seen = 0;
    for window in &forecast.windows {
        let word = window.action.word();
        let Some((_, row)) = markup.split_once(&format!("<linearGradient id=\"strip-{word}\"")) else {
            continue;
        };
        let stops: Vec<(f64, f64)> = row
            .split("</linearGradient>")
            .next()
            .unwrap()
            .split("offset=\"")
            .skip(1)
            .map(|stop| {
                let offset: f64 = stop.split('"').next().unwrap().parse().unwrap();
                let opacity = stop.split("stop-opacity=\"").nth(1).unwrap().split('"').next().unwrap();
                (offset, opacity.parse().unwrap())
            })
            .collect();
        let ticks = row.split("</text><text class=\"lab\"").next().unwrap();
        let printed = window.closes.instructed.iter().map(|limit| limit.at_s).reduce(f64::min);
        let Some(printed_s) = printed else { continue };
        // The tick says where the moment lies; what is to its right is closed.
        let places: Vec<f64> = ticks
            .split("class=\"tick\" x1=\"")
            .skip(1)
            .map(|tick| tick.split('"').next().unwrap().parse().unwrap())
            .collect();
        let right = places.iter().copied().fold(f64::NAN, f64::max);
        if right.is_nan() {
            continue;
        }
        seen += 1;
        let share = (right - 106.0) / (690.0 - 106.0);
        for (offset, opacity) in stops {
            assert!(
                offset <= share + 0.022 || opacity == 0.0,
                "{word}: printed {printed_s} s at {share:.3}, open at {offset}"
            );
        }
    }
    assert!(seen >= 2, "{seen}");
}
