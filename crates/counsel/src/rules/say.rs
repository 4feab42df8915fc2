//! A map in one sentence.

use super::audit::Audit;
use super::map::Standing;
use super::rule::{Axis, Rule};

/// Shares of the map below this are not worth a clause.
const LEAST: f64 = 0.005;

/// Where a rule holds, fails, and cannot be told, in one sentence; the second says what decides.
pub fn sentence(rule: &Rule, audit: &Audit) -> String {
    let map = &audit.map;
    let shares = [(map.holds, "holds"), (map.fails, "fails"), (map.cannot_tell(), "cannot be told")];
    if let Some((_, word)) = shares.iter().find(|(share, _)| *share >= 1.0 - LEAST) {
        let everywhere = format!(
            "between {} and {} of {} and between {} and {} of {}",
            rule.x.said(rule.x.from),
            rule.x.said(rule.x.to),
            rule.x.words,
            rule.y.said(rule.y.from),
            rule.y.said(rule.y.to),
            rule.y.words,
        );
        return match *word {
            "holds" => format!("The rule holds everywhere {everywhere}."),
            "fails" => format!("The rule holds nowhere {everywhere}."),
            _ => format!("Nothing can be told anywhere {everywhere}."),
        };
    }
    let clauses: Vec<String> = shares
        .iter()
        .filter(|(share, _)| *share >= LEAST)
        .map(|(share, word)| format!("{word} in {:.0} %", (100.0 * share).clamp(1.0, 99.0)))
        .collect();
    let second = rule.y.usual_place();
    let [holds, fails] = map.crossings(second.clamp(0.0, 1.0 - 1e-9));
    let along: Vec<String> = [("holds", &holds), ("fails", &fails)]
        .into_iter()
        .filter(|(_, ends)| !ends.is_empty())
        .map(|(word, ends)| format!("it {word} {}", spans(&rule.x, ends)))
        .collect();
    let along = if along.is_empty() { "nothing can be told".to_owned() } else { along.join(" and ") };
    format!(
        "Of the map the rule {}; with {} at {}, {along}.",
        clauses.join(", "),
        rule.y.words,
        rule.y.said(rule.y.at(second)),
    )
}

/// Stretches of an axis in words.
fn spans(axis: &Axis, ends: &[f64]) -> String {
    let said = |place: f64| axis.said(axis.at(place));
    let list: Vec<String> = ends
        .chunks_exact(2)
        .map(|pair| match (pair[0] <= 1e-6, pair[1] >= 1.0 - 1e-6) {
            (true, true) => format!("for any {}", axis.words),
            (true, false) => format!("up to {} of {}", said(pair[1]), axis.words),
            (false, true) => format!("from {} of {}", said(pair[0]), axis.words),
            (false, false) => format!("from {} to {} of {}", said(pair[0]), said(pair[1]), axis.words),
        })
        .collect();
    list.join(" and ")
}

/// What decides, in one sentence.
pub fn reason(audit: &Audit) -> String {
    let why = &audit.why;
    let link = why.link.word();
    match (why.standing, why.causes.first()) {
        (Standing::CannotTell, Some(cause)) => {
            format!("What decides is {link}; where nothing can be told, most hangs on {}.", cause.words)
        }
        _ => format!("What decides is {link}."),
    }
}
