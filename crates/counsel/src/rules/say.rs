//! A map in one sentence.

use super::audit::Audit;
use super::map::Standing;
use super::rule::{Axis, Rule};

/// Shares of the map below this are not worth a clause.
const LEAST: f64 = 0.005;

/// Where a rule holds, fails, and cannot be told, in one sentence or two; the second looks along the first condition where the other is usual.
pub fn sentence(rule: &Rule, audit: &Audit) -> String {
    let map = &audit.map;
    let (x, y) = (&rule.x, &rule.y);
    let shares = [(map.holds, "The rule holds"), (map.fails, "The rule fails"), (map.cannot_tell(), "")];
    if let Some((_, words)) = shares.iter().find(|(share, _)| *share >= 1.0 - LEAST) {
        let words = if words.is_empty() { "Nothing can be told" } else { words };
        return format!("{words} anywhere on the map: with {} and {}.", range(x), range(y)).replacen(
            "holds anywhere",
            "holds everywhere",
            1,
        );
    }
    let parts: Vec<String> =
        [(map.holds, "holds in"), (map.fails, "fails in"), (map.cannot_tell(), "cannot be told in")]
            .into_iter()
            .filter(|(share, _)| *share >= LEAST)
            .enumerate()
            .map(|(place, (share, words))| {
                let of = if place == 0 { " of the map" } else { "" };
                format!("{words} {:.0} %{of}", (100.0 * share).clamp(1.0, 99.0))
            })
            .collect();
    let parts = listed(&parts);
    let second = y.usual_place().clamp(0.0, 1.0 - 1e-9);
    let [holds, fails] = map.crossings(second);
    let along: Vec<String> = [("holds", &holds), ("fails", &fails)]
        .into_iter()
        .filter(|(_, ends)| !ends.is_empty())
        .map(|(word, ends)| format!("{word} {}", spans(x, ends)))
        .collect();
    let along = if along.is_empty() {
        "nothing can be told".to_owned()
    } else {
        format!("it {}", along.join(" and "))
    };
    format!("The rule {parts}. With the {} at {}, {along}.", y.words, y.said(y.at(second)))
}

/// "the room temperature from 15 °C to 35 °C".
fn range(axis: &Axis) -> String {
    format!("the {} from {} to {}", axis.words, axis.said(axis.from), axis.said(axis.to))
}

/// "a", "a and b", "a, b and c".
fn listed(parts: &[String]) -> String {
    match parts {
        [] => String::new(),
        [one] => one.clone(),
        [before @ .., last] => format!("{} and {last}", before.join(", ")),
    }
}

/// Stretches of an axis in words.
fn spans(axis: &Axis, ends: &[f64]) -> String {
    let said = |place: f64| axis.said(axis.at(place));
    let words = &axis.words;
    let whole = |pair: &[f64]| pair[0] <= 1e-6 && pair[1] >= 1.0 - 1e-6;
    if ends.chunks_exact(2).any(whole) {
        return format!("whatever the {words}");
    }
    let list: Vec<String> = ends
        .chunks_exact(2)
        .map(|pair| match (pair[0] <= 1e-6, pair[1] >= 1.0 - 1e-6) {
            (true, _) => format!("up to {}", said(pair[1])),
            (_, true) => format!("from {} on", said(pair[0])),
            _ => format!("from {} to {}", said(pair[0]), said(pair[1])),
        })
        .collect();
    format!("with the {words} {}", list.join(" or "))
}

/// What decides, in one sentence.
pub fn reason(audit: &Audit) -> String {
    let why = &audit.why;
    let link = why.link.word();
    match (why.standing, why.causes.first()) {
        (Standing::CannotTell, Some(cause)) => {
            format!("What decides is the {link}; where nothing can be told, most hangs on {}.", cause.words)
        }
        _ => format!("What decides is the {link}."),
    }
}
