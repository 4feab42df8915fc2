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
    let shares = [
        (map.holds, "The rule holds everywhere"),
        (map.fails, "The rule fails everywhere"),
        (map.cannot_tell(), "Nothing can be told anywhere"),
    ];
    if let Some((_, words)) = shares.iter().find(|(share, _)| *share >= 1.0 - LEAST) {
        return format!("{words} on the map: with {} and {}.", range(x), range(y));
    }
    let share_of = |(share, words): (f64, &str), of: &str| {
        (share >= LEAST).then(|| format!("{words} in {:.0} %{of}", (100.0 * share).clamp(1.0, 99.0)))
    };
    let holds = share_of((map.holds, "holds"), " of the map");
    let fails = share_of((map.fails, "fails"), if holds.is_none() { " of the map" } else { "" });
    let parts: Vec<String> = holds.into_iter().chain(fails).collect();
    let parts = parts.join(" and ");
    let open = share_of((map.cannot_tell(), "; nothing can be told"), "").unwrap_or_default();
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
    format!("The rule {parts}{open}. With the {} at {}, {along}.", y.words, y.said(y.at(second)))
}

/// "the room temperature from 15 °C to 35 °C".
fn range(axis: &Axis) -> String {
    format!("the {} from {} to {}", axis.words, axis.said(axis.from), axis.said(axis.to))
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
        .map(|pair| match (said(pair[0]), said(pair[1])) {
            // Narrower than what the axis is read to.
            (from, to) if from == to => format!("at {from}"),
            (_, to) if pair[0] <= 1e-6 => format!("up to {to}"),
            (from, _) if pair[1] >= 1.0 - 1e-6 => format!("from {from} on"),
            (from, to) => format!("from {from} to {to}"),
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
