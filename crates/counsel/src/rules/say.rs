//! A map in a few sentences.

use super::audit::{Audit, Own};
use super::claim::Shares;
use super::map::{Map, Standing};
use super::rule::{Axis, Rule};

/// Shares of the map below this are not worth a clause.
const LEAST: f64 = 0.005;

/// Quantities that are chances: a difference of theirs is said as so many in a hundred.
const CHANCES: &[&str] = &["access.captured", "removal.web_tear", "separation.break", "verdict.usable"];

impl Rule {
    /// The least difference that matters, in words, such as "2 in 100"; none where any does.
    pub fn least(&self) -> Option<String> {
        let claim = &self.claim;
        let chance = claim.by_words.strip_suffix(" %").filter(|_| CHANCES.contains(&claim.quantity.as_str()));
        match chance {
            Some(number) => Some(format!("{number} in 100")),
            None => (!claim.by_words.is_empty()).then(|| claim.by_words.clone()),
        }
    }

    /// What a standing of this rule is called, as in a legend.
    pub fn called(&self, standing: Standing) -> String {
        match (standing, self.compares()) {
            (Standing::Holds, false) => "holds".to_owned(),
            (Standing::Holds, true) => "as taught".to_owned(),
            (Standing::Slight, _) => match (self.least(), self.claim.by_taught) {
                (None, _) => "no difference".to_owned(),
                (Some(least), false) => format!("no difference that matters (under {least})"),
                (Some(least), true) => format!("less than taught (under {least})"),
            },
            (Standing::Fails, false) => "fails".to_owned(),
            (Standing::Fails, true) => "the opposite".to_owned(),
            (Standing::CannotTell, _) => "cannot be told".to_owned(),
        }
    }

    /// Outcomes that this rule has, in the order in which they are said.
    pub fn outcomes(&self) -> &'static [Standing] {
        if self.compares() {
            &[Standing::Holds, Standing::Slight, Standing::Fails]
        } else {
            &[Standing::Holds, Standing::Fails]
        }
    }

    /// As a clause: "the difference is too small to matter (under 2 in 100)".
    fn slight(&self) -> String {
        match (self.least(), self.claim.by_taught) {
            (None, _) => "there is no difference".to_owned(),
            (Some(least), false) => format!("the difference is too small to matter (under {least})"),
            (Some(least), true) => format!("the difference is smaller than taught (under {least})"),
        }
    }
}

/// How a rule comes out: at its own numbers, over the map, and along the first condition where the other is usual; a sentence each.
pub fn sentence(rule: &Rule, audit: &Audit) -> String {
    let mut said = at_own(rule, &audit.own);
    if !said.is_empty() {
        said.push(' ');
    }
    said.push_str(&over_the_map(rule, &audit.map));
    said
}

/// "At 10 min, with the relative humidity at 45 %, it holds in 98 of 100 cases, at 15 min in 80."
fn at_own(rule: &Rule, own: &[Own]) -> String {
    let (x, y) = (&rule.x, &rule.y);
    let usual = |axis: &Axis, value: f64| format!("the {} at {}", axis.words, axis.said(value));
    let holds = if rule.compares() { "holds as taught" } else { "holds" };
    let mut parts: Vec<String> = Vec::new();
    for (place, Own { at, shares }) in own.iter().enumerate() {
        let cases = match shares.holds {
            holds if holds >= 1.0 - LEAST => "in all cases".to_owned(),
            holds if holds < LEAST => "in no case".to_owned(),
            holds => format!("in {:.0} of 100 cases", (100.0 * holds).clamp(1.0, 99.0)),
        };
        let first = |axis: &Axis, value: f64, (other, at_other): (&Axis, f64)| {
            format!("at {}, with {}, it {holds} {cases}", axis.said_own(value), usual(other, at_other))
        };
        parts.push(match place {
            _ if x.own.is_empty() && y.own.is_empty() => {
                format!("with {} and {} it {holds} {cases}", usual(x, at[0]), usual(y, at[1]))
            }
            place if place > 0 && place < x.own.len() => format!("at {} {cases}", x.said_own(at[0])),
            place if place > x.own.len() => format!("at {} {cases}", y.said_own(at[1])),
            place if place < x.own.len() => first(x, at[0], (y, at[1])),
            _ => first(y, at[1], (x, at[0])),
        });
    }
    if parts.is_empty() {
        return String::new();
    }
    format!("{}.", capital(&parts.join("; ")))
}

fn over_the_map(rule: &Rule, map: &Map) -> String {
    let (x, y) = (&rule.x, &rule.y);
    let everywhere = format!("everywhere on the map, with {} and {}", range(x), range(y));
    let all = |share: f64| share >= 1.0 - LEAST;
    let compares = rule.compares();
    if all(map.holds) {
        let as_taught = if compares { " as taught" } else { "" };
        return format!("The rule holds{as_taught} {everywhere}.");
    }
    if all(map.fails) {
        let opposite = if compares { ": it is the opposite" } else { "" };
        return format!("The rule fails {everywhere}{opposite}.");
    }
    if all(map.slight) {
        return format!("{} {everywhere}.", capital(&rule.slight()));
    }
    if all(map.cannot_tell()) {
        return format!("Nothing can be told {}.", everywhere.replacen("every", "any", 1));
    }
    let percent = |share: f64| format!("{:.0} %", (100.0 * share).clamp(1.0, 99.0));
    let worth = |share: f64| share >= LEAST;
    let mut parts = Vec::new();
    if compares {
        parts.push(match map.holds {
            holds if worth(holds) => format!("The rule holds as taught over {} of the map", percent(holds)),
            holds if holds > 0.0 => "The rule holds as taught hardly anywhere on the map".to_owned(),
            _ => "The rule holds as taught nowhere on the map".to_owned(),
        });
        if worth(map.slight) {
            parts.push(format!("over {} {}", percent(map.slight), rule.slight()));
        }
        parts.push(match map.fails {
            fails if worth(fails) => format!("over {} it fails, for it is the opposite", percent(fails)),
            fails if fails > 0.0 => "hardly anywhere the opposite".to_owned(),
            _ => "nowhere the opposite".to_owned(),
        });
        if worth(map.cannot_tell()) {
            parts.push(format!("over {} it cannot be told which", percent(map.cannot_tell())));
        }
    } else {
        let share = |share: f64, word: &str| worth(share).then(|| format!("{word} over {}", percent(share)));
        let told: Vec<String> =
            share(map.holds, "holds").into_iter().chain(share(map.fails, "fails")).collect();
        parts.push(format!("The rule {} of the map", told.join(" and ")));
        parts.extend(share(map.cannot_tell(), "nothing can be told"));
    }
    let second = y.usual_place().clamp(0.0, 1.0 - 1e-9);
    let [holds, slight, fails] = map.crossings(second);
    let mut along = Vec::new();
    for (ends, words) in [
        (&holds, if compares { "it holds as taught".to_owned() } else { "it holds".to_owned() }),
        (&slight, rule.slight()),
        (&fails, if compares { "it is the opposite".to_owned() } else { "it fails".to_owned() }),
    ] {
        if !ends.is_empty() {
            // The least difference was said in the sentence before.
            let words = words.split(" (").next().unwrap_or_default();
            along.push(format!("{words} {}", spans(x, ends)));
        }
    }
    let along = if along.is_empty() { "nothing can be told".to_owned() } else { along.join(", and ") };
    format!("{}. With the {} at {}, {along}.", parts.join("; "), y.words, y.said(y.at(second)))
}

fn capital(words: &str) -> String {
    let mut words = words.to_owned();
    if let Some(letter) = words.get_mut(..1) {
        letter.make_ascii_uppercase();
    }
    words
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

/// Where what decides was asked, and what came out there, in one sentence.
pub fn asked_at(rule: &Rule, audit: &Audit) -> String {
    let why = &audit.why;
    // A figure stays on the line of its sign.
    let percent = |share: f64| format!("{:.0}\u{a0}%", 100.0 * share);
    let Shares { holds, slight, fails } = why.shares;
    let shares: Vec<String> = rule
        .outcomes()
        .iter()
        .map(|outcome| {
            let share = match outcome {
                Standing::Holds => holds,
                Standing::Slight => slight,
                _ => fails,
            };
            let called = rule.called(*outcome);
            format!("{} {}", called.split(" (").next().unwrap_or_default(), percent(share))
        })
        .collect();
    let at = |axis: &Axis, value: f64| format!("the {} at {}", axis.words, axis.said(value));
    let direction =
        why.direction.filter(|_| rule.claim.by > 0.0).map_or(String::new(), |[as_taught, opposite]| {
            format!(
                "; whatever its size, the difference is as taught in {} and the opposite in {}",
                percent(as_taught),
                percent(opposite)
            )
        });
    let (x, y) = (at(&rule.x, why.at[0]), at(&rule.y, why.at[1]));
    format!("With {x} and {y}, of the samples: {}{direction}.", shares.join(", "))
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
