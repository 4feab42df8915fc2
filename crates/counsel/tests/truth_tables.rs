//! Truth tables of every rule, over all its facts with unknown among the answers.
#![allow(clippy::unwrap_used, clippy::indexing_slicing, reason = "a test stops where its premise fails")]

mod closures;

use std::fmt::Write as _;

use closures::Said;
use counsel::cautions::{Level, Rule, Rulebook, Verdict, judge, markdown, points};
use terms::{Answer, AnswerKind, Fact};

/// Answers of one fact that stand for all others, and unknown.
fn answers(rule: &Rule, place: usize) -> Vec<Fact<Answer>> {
    let fact = rule.facts[place];
    let mut list: Vec<Fact<Answer>> = points(&rule.when, fact).into_iter().map(Fact::Known).collect();
    assert!(list.len() > 1, "{}: {} has {} answers", rule.id, fact.name(), list.len());
    list.push(Fact::Unknown);
    list
}

/// Every assignment of the facts of a rule.
fn assignments(rule: &Rule) -> Vec<Vec<Fact<Answer>>> {
    let mut rows: Vec<Vec<Fact<Answer>>> = vec![Vec::new()];
    for place in 0..rule.facts.len() {
        let choices = answers(rule, place);
        rows = rows
            .iter()
            .flat_map(|row| {
                choices.iter().map(|choice| {
                    let mut row = row.clone();
                    row.push(*choice);
                    row
                })
            })
            .collect();
    }
    rows
}

/// Whether the rule holds in all completions of an assignment, and in none, tried one after another.
fn completed(rule: &Rule, row: &[Fact<Answer>]) -> (bool, bool) {
    let Some(place) = row.iter().position(|value| value.is_unknown()) else {
        let holds = judge(rule, row) == Verdict::Holds;
        return (holds, !holds);
    };
    let (mut all, mut none) = (true, true);
    for point in points(&rule.when, rule.facts[place]) {
        let mut row = row.to_vec();
        row[place] = Fact::Known(point);
        let (holds, fails) = completed(rule, &row);
        all &= holds;
        none &= fails;
    }
    (all, none)
}

/// A rule is what all completions agree on, and open where they do not.
#[test]
fn every_rule_is_what_all_completions_agree_on() {
    for rule in Rulebook::shipped().unwrap().rules() {
        for row in assignments(rule) {
            let (all, none) = completed(rule, &row);
            match judge(rule, &row) {
                Verdict::Holds => assert!(all, "{}: {row:?}", rule.id),
                Verdict::DoesNotHold => assert!(none, "{}: {row:?}", rule.id),
                Verdict::Open(places) => {
                    assert!(!all && !none, "{}: {row:?}", rule.id);
                    assert!(!places.is_empty(), "{}: {row:?} hangs on nothing", rule.id);
                    assert!(places.iter().all(|place| row[*place].is_unknown()), "{}: {row:?}", rule.id);
                }
            }
        }
    }
}

/// Leaving a fact out of a case for which a rule holds may open the rule and never makes it fall silent.
#[test]
fn no_rule_is_silenced_by_leaving_a_fact_out() {
    for rule in Rulebook::shipped().unwrap().rules() {
        for row in assignments(rule) {
            if judge(rule, &row) != Verdict::Holds {
                continue;
            }
            for place in 0..row.len() {
                let mut less = row.clone();
                less[place] = Fact::Unknown;
                assert_ne!(judge(rule, &less), Verdict::DoesNotHold, "{}: {row:?} without {place}", rule.id);
            }
        }
    }
}

/// With nothing known every rule is open, and each of its facts can decide it: none is asked for nothing.
#[test]
fn every_fact_of_a_rule_can_decide_it() {
    for rule in Rulebook::shipped().unwrap().rules() {
        let nothing = vec![Fact::Unknown; rule.facts.len()];
        let Verdict::Open(places) = judge(rule, &nothing) else {
            panic!("{} does not hang on anything", rule.id);
        };
        assert_eq!(places.len(), rule.facts.len(), "{}: {places:?} of {:?}", rule.id, rule.facts);
    }
}

/// Each stop against a sentence written apart from it, on every full assignment.
#[test]
fn every_stop_says_what_its_sentence_says() {
    let book = Rulebook::shipped().unwrap();
    let stops: Vec<&Rule> = book.rules().iter().filter(|rule| rule.level == Level::Stop).collect();
    assert_eq!(stops.len(), closures::STOPS.len());
    for rule in stops {
        let (_, holds) = closures::STOPS
            .iter()
            .find(|(id, _)| *id == rule.id)
            .unwrap_or_else(|| panic!("no sentence for {}", rule.id));
        let mut seen = [false; 2];
        for row in assignments(rule) {
            if row.iter().any(|value| value.is_unknown()) {
                continue;
            }
            let expected = holds(&Said { rule, row: &row });
            seen[usize::from(expected)] = true;
            assert_eq!(judge(rule, &row) == Verdict::Holds, expected, "{}: {row:?}", rule.id);
        }
        assert_eq!(seen, [true, true], "{} never changes", rule.id);
    }
}

#[test]
fn every_rule_has_a_source_and_few_facts() {
    let book = Rulebook::shipped().unwrap();
    assert!(book.rules().len() >= 55);
    for rule in book.rules() {
        assert!(rule.facts.len() <= 8 && !rule.facts.is_empty(), "{}", rule.id);
        assert!(!rule.source.is_empty() && !rule.how_read.is_empty(), "{}", rule.id);
        assert!(rule.says.ends_with('.'), "{}", rule.id);
        assert!(rule.level != Level::Stop || rule.instead.is_some(), "{}", rule.id);
        for fact in &rule.facts {
            assert!(fact.asks().ends_with('?'), "{}", fact.name());
        }
    }
}

/// Facts, their answers and how often each rule holds, is open and does not hold, with a sum over the whole table in order.
#[test]
fn regress_truth_tables() {
    let book = Rulebook::shipped().unwrap();
    let mut out = String::from(
        "Truth tables of the cautions: facts with the answers tried (? unknown), then how many rows hold, are open, do not hold,\n\
         and a sum (FNV-1a, 64 bits) over the verdicts in order.\n",
    );
    for rule in book.rules() {
        let _ = writeln!(out, "\n{} {}", rule.level, rule.id);
        for (place, fact) in rule.facts.iter().enumerate() {
            let list: Vec<String> =
                answers(rule, place).iter().map(|answer| word(*answer, fact.kind())).collect();
            let _ = writeln!(out, "  {}: {}", fact.name(), list.join(", "));
        }
        let (mut counts, mut sum) = ([0usize; 3], 0xcbf2_9ce4_8422_2325u64);
        for row in assignments(rule) {
            let kind = match judge(rule, &row) {
                Verdict::Holds => 0,
                Verdict::Open(_) => 1,
                Verdict::DoesNotHold => 2,
            };
            counts[kind] += 1;
            sum = (sum ^ kind as u64).wrapping_mul(0x0100_0000_01b3);
        }
        let [holds, open, not] = counts;
        let _ = writeln!(out, "  holds {holds}, open {open}, does not hold {not}, sum {sum:016x}");
    }
    compare("tests/truth_tables.txt", &out);
}

fn word(answer: Fact<Answer>, kind: AnswerKind) -> String {
    match (answer, kind) {
        (Fact::Known(Answer::Flag(flag)), _) => if flag { "yes" } else { "no" }.to_owned(),
        (Fact::Known(Answer::Word(word)), _) => word.to_owned(),
        (Fact::Known(Answer::Number(si)), AnswerKind::Quantity(range)) => {
            format!("{:.4} {}", range.unit.from_si(si), range.unit.symbol())
        }
        (Fact::Known(Answer::Number(si)), _) => format!("{si}"),
        (Fact::Unknown | Fact::NotApplicable, _) => "?".to_owned(),
    }
}

/// The document of the rulebook is the rulebook.
#[test]
fn regress_the_document_of_the_cautions() {
    compare("../../docs/cautions.md", &markdown(&Rulebook::shipped().unwrap()));
}

fn compare(file: &str, text: &str) {
    let path = format!("{}/{file}", env!("CARGO_MANIFEST_DIR"));
    if std::env::var_os("WRITE_TABLES").is_some() {
        std::fs::write(&path, text).unwrap();
    }
    let kept = std::fs::read_to_string(&path).unwrap_or_default();
    assert!(kept == text, "{file} is not what the rules say; WRITE_TABLES=1 writes it");
}
