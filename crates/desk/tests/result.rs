//! The page after pouring.
#![allow(clippy::unwrap_used, clippy::panic, reason = "a test stops where its premise fails")]

use std::process::Command;

use case_file::{self, Case};
use chain::Effort;
use counsel::result::{Next, Outcome, result};
use desk::load;
use terms::{DieFault, DieFinding, Fact, Instant, Link, Observation, Reading};

const NOW: Instant = Instant::from_millis(1_790_000_000_000);

fn outcome(case: &Case) -> Outcome {
    let stock = load::stock(None, true).unwrap();
    let (parameters, limits) = load::parameters(case, &stock).unwrap();
    let effort = Effort { points: 16 };
    result(&load::view(case), &parameters, &limits, effort, load::present(case, NOW)).unwrap()
}

fn demo() -> Case {
    load::case("demo/after-pour").unwrap()
}

fn printed(arguments: &[&str]) -> String {
    let output = Command::new(env!("CARGO_BIN_EXE_trayward")).arg("result").args(arguments).output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap()
}

#[test]
fn the_page_says_what_each_finding_does_and_clears_nothing() {
    let text = printed(&[]);
    for line in text.lines() {
        assert!(line.chars().count() <= 80, "{line}");
    }
    for part in [
        "span index on the cast: rocks: down to",
        "margin readable all round: up to",
        "after/margin_film",
        "Back to the step and the lot",
        "A plain sign was found",
        "Not looked at yet, which is not \"no\"",
        "at try-in: is it loose?",
    ] {
        assert!(text.contains(part), "no {part} in {text}");
    }
    let lower = text.to_lowercase();
    for word in ["passed", "failed", " safe", "cleared"] {
        assert!(!lower.contains(word), "{word}");
    }
    let json: serde_json::Value = serde_json::from_str(&printed(&["--json"])).unwrap();
    assert_eq!(json["next"], "sign");
    assert_eq!(json["each"].as_array().unwrap().len(), 6);
    assert!(printed(&["demo/crown-silicone"]).contains("Look first"));
}

#[test]
fn faults_go_back_to_the_step_and_the_lot() {
    let with = |fault: DieFault| {
        let mut case = demo();
        let at = case.observations.last().unwrap().at;
        let finding = DieFinding { fault, present: Fact::Known(true) };
        case.observations.retain(|seen| !matches!(seen.reading, Reading::Die(_)));
        case.observations.push(Observation { at, reading: Reading::Die(finding) });
        outcome(&case)
    };
    let bubble = with(DieFault::Bubble);
    assert_eq!(bubble.next, Next::PourAgain);
    let back = bubble.goes_back.iter().find(|back| back.link == Link::Stone).unwrap();
    assert_eq!(back.lot.as_ref().unwrap().as_str(), "S-118");
    assert!(bubble.second_die.unwrap() > 0.0);
    let missing = with(DieFault::MarginNotReadable);
    assert_eq!(missing.next, Next::TakeAgain);
    assert_eq!(missing.goes_back.first().unwrap().link, Link::Access);
    assert_eq!(missing.after.usable.value, 0.0);
}

/// With nothing found, before and after are the same, to the bit, and everything is still to be looked at.
#[test]
fn without_findings_nothing_changes() {
    let mut case = demo();
    case.observations.retain(|seen| !seen.reading.is_after_pouring());
    let outcome = outcome(&case);
    assert_eq!(outcome.before, outcome.after);
    assert_eq!(outcome.next, Next::Look);
    assert!(outcome.asks.len() > 10, "{:?}", outcome.asks);
}

#[test]
fn findings_are_written_and_read_back() {
    let case = demo();
    let again = case_file::parse("again", &case_file::write(&case)).unwrap();
    assert_eq!(again.observations, case.observations);
    assert_eq!(again.route.lots, case.route.lots);
}
