//! What the key of a question was found from: the number of the chain for each option, 5 %, middle and 95 %.

use chain::statistics::Interval;
use ledger::ValueUnit;
use maud::{Markup, html};
use questions::{Body, FORECAST, Frozen, Response, Shown};

use super::axis::{Axis, under};
use super::{Figure, at};
use crate::digits;
use crate::questions_page::letter;

const LEFT: f64 = 20.0;
const RIGHT: f64 = 620.0;
const WIDTH: f64 = 640.0;
const TOP: f64 = 8.0;
const ROW: f64 = 48.0;

/// Most letters of an option that are written in the drawing; its table has them all.
const MOST_LETTERS: usize = 72;

/// What is asked of the picture.
#[derive(Clone, Copy)]
pub struct Asked<'a> {
    /// Identifier within the page.
    pub id: &'a str,
    /// What was answered, where it is to be marked.
    pub answer: Option<&'a Response>,
}

/// A unit of the trade: `value = (si - offset) / factor`.
struct Trade {
    factor: f64,
    offset: f64,
    symbol: &'static str,
}

impl Trade {
    /// The unit for a quantity whose largest number is this.
    fn of(id: &str, si_unit: &str, largest: f64) -> Trade {
        let (factor, offset, symbol) = match si_unit {
            "m" if largest < 2e-3 => (1e-6, 0.0, "µm"),
            "m" => (1e-3, 0.0, "mm"),
            "s" if largest < 180.0 => (1.0, 0.0, "s"),
            "s" if largest < 3.0 * 3600.0 => (60.0, 0.0, "min"),
            "s" if largest < 2.0 * 86_400.0 => (3600.0, 0.0, "h"),
            "s" => (86_400.0, 0.0, "d"),
            // A warming is a difference, a temperature is not.
            "K" if id.ends_with("_rise") => (1.0, 0.0, "K"),
            "K" => (1.0, 273.15, "°C"),
            "N" => (1.0, 0.0, "N"),
            _ => (1e-2, 0.0, "%"),
        };
        Trade { factor, offset, symbol }
    }

    fn value(&self, si: f64) -> f64 {
        (si - self.offset) / self.factor
    }

    fn interval(&self, shown: &Shown) -> Interval {
        Interval { low: self.value(shown.low), mid: self.value(shown.mid), high: self.value(shown.high) }
    }
}

/// One line of the picture.
struct Line {
    label: String,
    note: String,
    key: bool,
    interval: Interval,
}

/// The picture of an item; none where no number was compared.
pub fn evidence(frozen: &Frozen, asked: Asked) -> Option<Markup> {
    let evidence = &frozen.made.as_ref()?.evidence;
    let (id, words, si_unit) = evidence.quantity.as_ref()?;
    let finite = |shown: &&Shown| [shown.low, shown.mid, shown.high].iter().all(|value| value.is_finite());
    let all: Vec<&Shown> = evidence.shown.iter().filter(finite).collect();
    if all.is_empty() {
        return None;
    }
    let largest = all.iter().flat_map(|shown| [shown.low.abs(), shown.high.abs()]).fold(0.0, f64::max);
    // A number that is asked for has its unit already.
    let own = match &frozen.item.body {
        Body::Numeric { unit, .. } => ValueUnit::from_symbol(unit),
        _ => None,
    };
    let trade = match own {
        Some(ValueUnit { symbol, factor, offset }) => Trade { factor, offset, symbol },
        None => Trade::of(id, si_unit, largest),
    };
    let lines: Vec<Line> = all.iter().map(|shown| line(frozen, asked.answer, shown, &trade)).collect();
    let (right, given) = match (&frozen.item.body, own) {
        (Body::Numeric { least, most, .. }, Some(_)) => {
            let given = if let Some(Response::Number(number)) = asked.answer { Some(*number) } else { None };
            (Some([*least, *most]), given)
        }
        _ => (None, None),
    };
    let ends = lines.iter().flat_map(|line| [line.interval.low, line.interval.high]);
    let ends: Vec<f64> = ends.chain(right.into_iter().flatten()).collect();
    let mut least = ends.iter().copied().fold(f64::INFINITY, f64::min);
    let mut most = ends.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let wide = most - least;
    // An answer far away would leave nothing to see of the rest.
    if let Some(value) = given.filter(|value| (least - wide..=most + wide).contains(value)) {
        (least, most) = (least.min(value), most.max(value));
    }
    let room = 0.06 * (most - least).max(1e-9 + 0.02 * most.abs());
    let axis = Axis::even(least - room, most + room, LEFT, RIGHT);
    let bottom = TOP + ROW * lines.len() as f64;
    let ticks = axis.ticks(6);
    let step = ticks.windows(2).next().map_or(0.0, |pair| pair[1] - pair[0]);
    let decimals = if step > 0.0 { (-step.log10().floor()).clamp(0.0, 6.0) as usize } else { 1 };
    let marks: Vec<(f64, String)> = ticks
        .into_iter()
        .map(|value| (value, format!("{:.decimals$}", digits::round(value, step))))
        .collect();
    let says = lines.iter().map(|line| said(line, trade.symbol)).collect::<Vec<_>>().join("; ");
    let figure = Figure {
        id: asked.id,
        title: format!("{words}, {}", trade.symbol),
        says: format!("{words}: {says}"),
        size: [WIDTH, bottom + 26.0],
        drawing: html! {
            @if let Some([from, to]) = right {
                rect.area x=(at(axis.place(from))) y=(at(TOP)) width=(at(axis.place(to) - axis.place(from))) height=(at(bottom - TOP)) {}
            }
            @for (value, _) in &marks { line.faint x1=(at(axis.place(*value))) x2=(at(axis.place(*value))) y1=(at(TOP)) y2=(at(bottom)) {} }
            @for (place, line) in lines.iter().enumerate() {
                @let y = TOP + ROW * place as f64;
                @let [low, mid, high] = [line.interval.low, line.interval.mid, line.interval.high].map(|value| axis.place(value));
                text x=(at(LEFT)) y=(at(y + 17.0)) { (short(&line.label)) @if !line.note.is_empty() { " · " (line.note) } }
                line.whisker x1=(at(low)) x2=(at(high)) y1=(at(y + 31.0)) y2=(at(y + 31.0)) {}
                line.rule x1=(at(low)) x2=(at(low)) y1=(at(y + 25.0)) y2=(at(y + 37.0)) {}
                line.rule x1=(at(high)) x2=(at(high)) y1=(at(y + 25.0)) y2=(at(y + 37.0)) {}
                @if line.key { rect.plan x=(at(mid - 6.0)) y=(at(y + 25.0)) width="12" height="12" {} }
                @else { circle.open-dot cx=(at(mid)) cy=(at(y + 31.0)) r="5.5" {} }
            }
            @if let Some(value) = given {
                line.limit x1=(at(axis.held(value))) x2=(at(axis.held(value))) y1=(at(TOP)) y2=(at(bottom)) {}
            }
            (under(&axis, bottom, &marks))
        },
        legend: html! {
            "Runs of the model with what is uncertain varied: from 5 % to 95 % of them, with the middle"
            @if lines.iter().all(|line| line.key) { " as a filled square." }
            @else if lines.iter().any(|line| line.key) { ": a filled square for the key, an open ring for the others." }
            @else { " as an open ring." }
            @if right.is_some() { " What is right is shaded." }
            @if given.is_some() { " The broken line is what was answered" @if given.is_some_and(|value| !axis.holds(value)) { ", beyond the drawing" } "." }
        },
        heads: vec!["option".to_owned(), "5 % to 95 %".to_owned(), "mark".to_owned()],
        rows: lines
            .iter()
            .map(|line| {
                vec![line.label.clone(), digits::plain(line.interval, trade.symbol), line.note.clone()]
            })
            .collect(),
    };
    Some(figure.markup())
}

fn said(line: &Line, unit: &str) -> String {
    let note = if line.note.is_empty() { String::new() } else { format!(" ({})", line.note) };
    format!("{}{note} {}", line.label, digits::plain(line.interval, unit))
}

fn line(frozen: &Frozen, answer: Option<&Response>, shown: &Shown, trade: &Trade) -> Line {
    let (label, key) = match &frozen.item.body {
        Body::Choice { options, key, .. } => match options.iter().position(|option| option.id == shown.of) {
            Some(place) => (format!("{}  {}", letter(place), options[place].text), place == *key),
            None => (named(&shown.of), false),
        },
        Body::Order { steps, .. } => match steps.iter().position(|step| step.id == shown.of) {
            Some(place) => (format!("{}  {}", letter(place), steps[place].text), false),
            None => (named(&shown.of), false),
        },
        Body::Numeric { .. } => (named(&shown.of), true),
    };
    let chosen = matches!(answer, Some(Response::Choice(id)) if *id == shown.of);
    let note = match (key, chosen) {
        (true, true) => "key, chosen",
        (true, false) => "key",
        (false, true) => "chosen",
        (false, false) => "",
    };
    Line { label, note: note.to_owned(), key, interval: trade.interval(shown) }
}

fn named(of: &str) -> String {
    match of {
        "case" => "this case",
        FORECAST => "forecast of the model, not what is taught",
        "before" => "as the case stands",
        "after" => "with what is changed",
        other => other,
    }
    .to_owned()
}

fn short(text: &str) -> String {
    let mut short: String = text.chars().take(MOST_LETTERS).collect();
    if text.chars().count() > MOST_LETTERS {
        short.push('…');
    }
    short
}
