//! What is taught, printed and forecast, in three columns wherever they differ, and what other products of the class print.

use std::fmt::Write as _;

use chain::windows::{DecidedBy, Edge, Window};
use ledger::ProductKind;
use terms::{Action, Bound, ClockOrigin};

use super::when::{alike, binding, followed, from};
use super::{Card, Doc, head, paragraph, title};
use crate::digits::span;

/// Columns of the step, and of each of the three answers.
const STEP: usize = 13;
const CELL: usize = 21;

/// The page as text.
pub fn text(card: &Card) -> String {
    doc(card).text()
}

/// The same as a document.
pub fn doc(card: &Card) -> Doc {
    let mut out = Doc::default();
    head(&mut out, card);
    title(&mut out, "Taught, printed, forecast");
    paragraph(
        &mut out,
        "  ",
        "  ",
        "The forecast may shorten what is printed or make it longer to wait, never loosen it. Where nothing is printed, consult the \
         instructions of the product.",
    );
    row(&mut out, "", ["taught", "printed", "forecast, 90 %"].map(str::to_owned));
    let mut agreed = Vec::new();
    for window in &card.forecast.windows {
        for edge in [&window.opens, &window.closes] {
            if edge.binding_s.is_none() && edge.taught.is_empty() {
                continue;
            }
            match difference(edge) {
                Some(words) => three(&mut out, card, window, edge, &words),
                None => agreed.push(step(window, edge)),
            }
        }
    }
    if !agreed.is_empty() {
        paragraph(
            &mut out,
            "  ",
            "  ",
            &format!("Nothing speaks against what is printed: {}.", agreed.join(", ")),
        );
    }
    others(&mut out, card);
    paragraph(&mut out, "\n  ", "  ", &format!("Why, and on what it rests: trayward forecast {}", card.name));
    out
}

fn step(window: &Window, edge: &Edge) -> String {
    let action = if window.action == Action::Mix { "mixed" } else { window.action.word() };
    match edge.bound {
        Bound::Minimum => format!("{action} not before"),
        Bound::Maximum => format!("{action} not after"),
    }
}

/// In words, how the three differ; none where they do not.
fn difference(edge: &Edge) -> Option<String> {
    let print = edge.instructed.iter().filter(|limit| limit.stated_for_this_room);
    let strictest = print.map(|limit| limit.seconds).reduce(|a, b| match edge.bound {
        Bound::Minimum => a.max(b),
        Bound::Maximum => a.min(b),
    });
    let Some(printed_s) = strictest else {
        return Some(match (edge.decided_by, edge.instructed.is_empty()) {
            (DecidedBy::Nothing, _) => {
                "nothing is printed and the models set no limit: consult the instructions".to_owned()
            }
            (_, true) => {
                "nothing is printed: consult the instructions; a forecast alone is no permission".to_owned()
            }
            (_, false) => "what is printed is not stated for this room: consult the instructions".to_owned(),
        });
    };
    let mut said = Vec::new();
    match edge.decided_by {
        DecidedBy::Forecast => said.push("today the forecast is stricter than the print".to_owned()),
        // A pour time followed to the printed end and no further says nothing against it.
        DecidedBy::Instruction if edge.forecast_s.is_some_and(|interval| interval.low < interval.high) => {
            said.push("the print is stricter than the forecast".to_owned());
        }
        _ => {}
    }
    for rule in &edge.taught {
        let [low, high] = rule.seconds;
        if printed_s < low - 0.5 {
            said.push("the print is shorter than what is taught".to_owned());
        } else if printed_s > high + 0.5 {
            said.push("the print is longer than what is taught".to_owned());
        }
    }
    (!said.is_empty()).then(|| said.join("; "))
}

fn three(out: &mut Doc, card: &Card, window: &Window, edge: &Edge, words: &str) {
    let clock = |origin: ClockOrigin| from(card, origin);
    let taught = edge.taught.iter().map(|rule| {
        let [low, high] = rule.seconds;
        let range = if low == high { span(low) } else { format!("{} to {}", span(low), span(high)) };
        format!("{range} {}", clock(rule.origin))
    });
    let printed = alike(&edge.instructed).into_iter().map(|(limit, _)| {
        let elsewhere = if limit.stated_for_this_room { "" } else { " (not stated for this room)" };
        format!("{} {}{elsewhere}", span(limit.seconds), clock(limit.origin))
    });
    let forecast = match edge.forecast_s {
        Some(interval) if interval.low == interval.high => span(interval.mid),
        Some(interval) => format!("{} {}", followed(interval, edge), clock(edge.origin)),
        None => "none".to_owned(),
    };
    let or_nothing = |list: Vec<String>| if list.is_empty() { "—".to_owned() } else { list.join("; ") };
    row(out, &step(window, edge), [or_nothing(taught.collect()), or_nothing(printed.collect()), forecast]);
    let by = if edge.instructed.is_empty() { "Forecast alone" } else { "Goes by" };
    let goes = binding(card, edge).map(|when| format!(" {by}: {when}.")).unwrap_or_default();
    paragraph(out, "              ", "              ", &format!("{words}.{goes}"));
}

fn row(out: &mut Doc, first: &str, cells: [String; 3]) {
    let mut columns = vec![textwrap::wrap(first, STEP - 1)];
    columns.extend(cells.iter().map(|cell| textwrap::wrap(cell, CELL - 1)));
    let height = columns.iter().map(Vec::len).max().unwrap_or(0);
    for line in 0..height {
        let cell = |column: usize| columns[column].get(line).map_or("", |text| text.as_ref());
        let text = format!("  {:<STEP$}{:<CELL$}{:<CELL$}{}", cell(0), cell(1), cell(2), cell(3));
        let _ = writeln!(out, "{}", text.trim_end());
    }
}

/// What other products of the class print, step by step.
fn others(out: &mut Doc, card: &Card) {
    let class = card.case.route.material.class;
    let of_class: Vec<_> = card
        .parameters
        .products()
        .filter(|product| product.kind == ProductKind::Impression(class) && !product.instructions.is_empty())
        .collect();
    if of_class.len() < 2 {
        return;
    }
    title(out, &format!("Printed on products of {class}"));
    for action in Action::ALL {
        for bound in [Bound::Minimum, Bound::Maximum] {
            let mut said: Vec<(String, Vec<&str>)> = Vec::new();
            for product in &of_class {
                for limit in product
                    .instructions
                    .iter()
                    .filter(|limit| limit.action == *action && limit.bound == bound)
                {
                    let words = format!("{} {}", span(limit.seconds), from(card, limit.origin));
                    match said.iter_mut().find(|(known, _)| *known == words) {
                        Some((_, names)) => names.push(&product.name),
                        None => said.push((words, vec![&product.name])),
                    }
                }
            }
            if said.is_empty() {
                continue;
            }
            let list: Vec<String> =
                said.iter().map(|(words, names)| format!("{words} ({})", names.join(", "))).collect();
            let bound = if bound == Bound::Minimum { "not before" } else { "not after" };
            let action = if *action == Action::Mix { "mixed" } else { action.word() };
            paragraph(out, &format!("  {:<20}", format!("{action} {bound}")), "    ", &list.join("; "));
        }
    }
}
