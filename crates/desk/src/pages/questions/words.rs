//! What is said of items on every page of a set.

use maud::{Markup, html};
use questions::figure::{Absent, Figure};
use questions::{Asks, Body, Frozen, Item, Misconception, Response};

use terms::CaseCode;

use super::super::House;
use super::super::frame::{address, hidden};
use crate::load::Known;
use crate::questions_page::{self, letter};
use crate::sources::has_pedigree;

/// "1 item", "3 items".
pub fn counted(count: usize, of: &str) -> String {
    if count == 1 { format!("1 {of}") } else { format!("{count} {of}s") }
}

/// The case of an item, as paragraphs.
pub fn stem(item: &Item) -> Markup {
    html! { @for line in item.stem.lines().filter(|line| !line.trim().is_empty()) { p.stem { (line) } } }
}

/// The button that shows the marks of a learner, after which nothing can be answered any more.
pub fn marks_asked(house: &House, set: &CaseCode, learner: &str) -> Markup {
    html! {
        form method="post" action={ "/questions/" (set) "/marks" } {
            (hidden(house, "")) input type="hidden" name="learner" value=(learner);
            button { "Show my marks" }
        }
    }
}

/// An answer with the letters of what is shown.
pub fn answer(item: &Item, response: &Response) -> String {
    match (response, &item.body) {
        (Response::Blank, _) => "no answer".to_owned(),
        (Response::Choice(id), Body::Choice { options, .. }) => {
            let place = options.iter().position(|option| &option.id == id);
            place.map_or_else(|| id.clone(), |place| format!("{}: {}", letter(place), options[place].text))
        }
        (Response::Order(ids), Body::Order { steps, .. }) => {
            let named = |id: &String| {
                steps
                    .iter()
                    .position(|step| &step.id == id)
                    .map_or_else(|| id.clone(), |place| letter(place).to_string())
            };
            ids.iter().map(named).collect::<Vec<_>>().join(" > ")
        }
        (Response::Number(number), Body::Numeric { unit, .. }) => format!("{number} {unit}"),
        (Response::Choice(id), _) => id.clone(),
        (Response::Order(ids), _) => ids.join(" > "),
        (Response::Number(number), _) => number.to_string(),
    }
}

/// In which share of the samples the key holds, in words for those who do not know of samples.
pub fn holds(frozen: &Frozen) -> String {
    let Some(made) = &frozen.made else { return "as its author says".to_owned() };
    match made.evidence.quantity {
        _ if by_convention(frozen) => "as it is taught".to_owned(),
        Some(_) if made.evidence.holds_in > 0.995 => "in every run of the model, or nearly".to_owned(),
        Some(_) => format!("in {:.0} of 100 runs of the model", 100.0 * made.evidence.holds_in),
        None => "not by the model".to_owned(),
    }
}

/// Whether the key is what is taught: a forecast that stands beside it has no part in it.
fn by_convention(frozen: &Frozen) -> bool {
    frozen.item.asks == Some(Asks::Conventional)
}

/// The same as a sentence.
pub fn held(frozen: &Frozen) -> String {
    let Some(made) = &frozen.made else { return questions_page::FROM_ELSEWHERE.to_owned() };
    match made.evidence.quantity {
        _ if by_convention(frozen) => "The key is what is taught.".to_owned(),
        Some(_) => format!("The key holds {}.", holds(frozen)),
        None => "The key does not come from the model.".to_owned(),
    }
}

/// What is believed by those who choose an option.
pub fn believed(list: &[Misconception], id: &str) -> String {
    list.iter().find(|known| known.id == id).map_or_else(|| id.to_owned(), |known| known.believes.clone())
}

/// What an item rests on, each as a way to its pedigree.
pub fn rests_on(item: &Item, known: &Known) -> Markup {
    html! {
        @if !item.rests_on.is_empty() {
            p.small { "Rests on "
                @for (place, key) in item.rests_on.iter().enumerate() {
                    @if place > 0 { ", " }
                    // A source in words has no page of its own.
                    @if !has_pedigree(key, known, None) { (key) } @else { a.key href={ "/source/" (address(key)) } { (key) } }
                }
            }
        }
    }
}

/// A figure, or a word for why there is none; the sentences come below the table.
pub fn figure(figure: Figure, decimals: usize, notes: &mut Vec<Absent>) -> String {
    match figure {
        Figure::Known(value) => write(value, decimals),
        Figure::Absent(absent) => note(absent, notes),
    }
}

/// An interval, or a word for why there is none.
pub fn interval(figure: Figure<[f64; 2]>, decimals: usize, notes: &mut Vec<Absent>) -> String {
    match figure {
        Figure::Known([low, high]) => format!("{} to {}", write(low, decimals), write(high, decimals)),
        Figure::Absent(absent) => note(absent, notes),
    }
}

/// The word for why there is no figure; its sentence is noted once.
pub fn note(absent: Absent, notes: &mut Vec<Absent>) -> String {
    if !notes.contains(&absent) {
        notes.push(absent);
    }
    match absent {
        Absent::TooFew { .. } => "too few",
        Absent::NoSpread { .. } | Absent::ChanceIsCertain => "undefined",
        Absent::PartialCredit => "parts earned",
        Absent::NoOptions => "no options",
    }
    .to_owned()
}

/// A number without a minus sign before zero.
fn write(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    match text.strip_prefix('-') {
        Some(rest) if rest.bytes().all(|b| matches!(b, b'0' | b'.')) => rest.to_owned(),
        _ => text,
    }
}

/// The sentences of what has no figure.
pub fn notes(notes: &[Absent]) -> Markup {
    html! { @if !notes.is_empty() { ul.notes { @for absent in notes { li { (absent.to_string()) "." } } } } }
}
