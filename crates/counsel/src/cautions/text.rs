//! Conditions in words, and the rulebook as a document.

use std::fmt::Write as _;

use terms::Answer;

use super::condition::{Condition, Test};
use super::rulebook::{Level, Rule, Rulebook};

/// A condition in words.
pub fn in_words(condition: &Condition) -> String {
    let inner = |part: &Condition| match part {
        Condition::All(_) | Condition::Any(_) => format!("({})", in_words(part)),
        _ => in_words(part),
    };
    let joined = |list: &[Condition], by: &str| list.iter().map(inner).collect::<Vec<_>>().join(by);
    match condition {
        Condition::All(list) => joined(list, " and "),
        Condition::Any(list) => joined(list, " or "),
        Condition::Not(part) => format!("not {}", inner(part)),
        Condition::Fact { fact, test, unit, .. } => {
            let figure = |si: f64| match unit {
                Some(unit) => format!("{} {}", (unit.from_si(si) * 1e4).round() / 1e4, unit.symbol()),
                None => format!("{si}"),
            };
            let name = fact.name();
            match test {
                Test::Is(list) => {
                    let words: Vec<&str> = list.iter().map(word).collect();
                    format!("{name} is {}", words.join(" or "))
                }
                Test::Below(si) => format!("{name} below {}", figure(*si)),
                Test::AtMost(si) => format!("{name} at most {}", figure(*si)),
                Test::Above(si) => format!("{name} above {}", figure(*si)),
                Test::AtLeast(si) => format!("{name} at least {}", figure(*si)),
            }
        }
    }
}

fn word(answer: &Answer) -> &'static str {
    match answer {
        Answer::Flag(true) => "yes",
        Answer::Flag(false) => "no",
        Answer::Word(word) => word,
        Answer::Number(_) => "a quantity",
    }
}

/// The rulebook as a Markdown document.
pub fn markdown(rulebook: &Rulebook) -> String {
    let mut out = String::from(HEAD);
    let reviewed = rulebook.rules().iter().filter(|rule| !rule.reviewed.is_empty()).count();
    let count = rulebook.rules().len();
    let _ = writeln!(out, "\n{count} rules; {reviewed} of them reviewed by a clinician.");
    let mut area = "";
    for rule in rulebook.rules() {
        if rule.area != area {
            area = &rule.area;
            let _ = writeln!(out, "\n## {}", capital(area));
        }
        one(&mut out, rule);
    }
    out
}

const HEAD: &str = "# Cautions\n\n\
    This is not a clinical protocol. Each rule is a question to the clinician, with its reason and its source; none is a clearance, and a \
    rule that does not hold says nothing. Instructions, local codes and the licensed practitioner prevail.\n\n\
    A *stop* takes a route out of the comparison, or asks first where a fact is unknown. *Unknown* is never *no*. The facts are named as in \
    case files; `trayward cautions CASE` says which rules hold for a case, which are open, and what they hang on.\n";

fn one(out: &mut String, rule: &Rule) {
    let _ = writeln!(out, "\n### {}\n", rule.id);
    let level = match rule.level {
        Level::Stop => "**Stop**",
        Level::Caution => "Caution",
        Level::Note => "Note",
        Level::Ask => "Ask",
    };
    let _ = writeln!(out, "{level} ({:?}). {}", rule.affects, rule.says);
    let _ = writeln!(out, "\n- When: {}.", in_words(&rule.when));
    if let Some(instead) = &rule.instead {
        let _ = writeln!(out, "- Consider: {instead}");
    }
    if let Some(doubt) = &rule.doubt {
        let _ = writeln!(out, "- Doubt: {doubt}");
    }
    let _ = writeln!(out, "- Source: {}; {} ({}).", rule.source, rule.how_read, rule.grade);
    let reviews: Vec<String> =
        rule.reviewed.iter().map(|review| format!("{}, {}", review.who, review.on)).collect();
    let said =
        if reviews.is_empty() { "not yet reviewed by a clinician".to_owned() } else { reviews.join("; ") };
    let _ = writeln!(out, "- Reviewed: {said}.");
}

fn capital(words: &str) -> String {
    let mut letters = words.chars();
    match letters.next() {
        Some(first) => first.to_uppercase().chain(letters).collect(),
        None => String::new(),
    }
}
