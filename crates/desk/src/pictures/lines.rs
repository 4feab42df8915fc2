//! One curve against another: what is now in a heavy line with its band, what was frozen dashed, and both in one table.
//!
//! Made for the back of a room: a narrow drawing with large letters. Marks that do not hang on the curves, such as what is taught, stand in
//! rows of their own above it.

use chain::statistics::Interval;
use maud::{Markup, html};

use super::axis::{Axis, band, beside, line, spans, under};
use super::{Figure, at};
use crate::digits::{percent, plain, span, write};

const LEFT: f64 = 56.0;
const RIGHT: f64 = 392.0;
const WIDTH: f64 = 470.0;
const HEIGHT: f64 = 200.0;
/// Height of a row of marks.
const ROW: f64 = 20.0;
/// About the width of a letter of a mark.
const LETTER: f64 = 8.2;

/// A curve.
pub struct Curve {
    /// What stands at its end, such as "now".
    pub name: String,
    /// Whether it is the one that was frozen.
    pub held: bool,
    /// Time, s, and value in the unit that is drawn.
    pub points: Vec<(f64, Interval)>,
}

/// Something at a time that is no part of a curve.
pub struct Mark {
    /// In words, with who says it.
    pub words: String,
    /// From, s.
    pub from_s: f64,
    /// To, s; the same for a moment.
    pub to_s: f64,
    /// Whether it is printed on a product; otherwise it is taught.
    pub printed: bool,
}

/// What is drawn.
pub struct Lines<'a> {
    /// Identifier within the page.
    pub id: &'a str,
    /// What it shows, with its unit.
    pub title: String,
    /// Unit of the values.
    pub unit: &'a str,
    /// What time counts from.
    pub since: &'a str,
    /// Time widens, for what goes on for days.
    pub widening: bool,
    /// The curves; the first is drawn last.
    pub curves: Vec<Curve>,
    /// Marks above.
    pub marks: Vec<Mark>,
    /// Levels across, with their words.
    pub levels: Vec<(f64, String)>,
    /// The ends of the upright axis, where they are the same for several drawings or given by the unit.
    pub ends: Option<[f64; 2]>,
    /// Values are chances, said as about so many per cent.
    pub chances: bool,
}

/// The least and the greatest of the curves, and of zero.
pub fn ends<'a>(curves: impl Iterator<Item = &'a Curve>) -> [f64; 2] {
    let all = curves.flat_map(|curve| &curve.points).flat_map(|(_, value)| [value.low, value.high]);
    all.fold([0.0, 0.0], |[low, high], value| [f64::min(low, value), f64::max(high, value)])
}

/// The picture; none without a curve.
pub fn lines(drawn: &Lines) -> Option<Markup> {
    let last_s =
        drawn.curves.iter().filter_map(|curve| curve.points.last()).map(|(s, _)| *s).fold(0.0, f64::max);
    if last_s <= 0.0 {
        return None;
    }
    let across = Axis { widening: drawn.widening.then_some(300.0), ..Axis::even(0.0, last_s, LEFT, RIGHT) };
    let marks: Vec<&Mark> = drawn.marks.iter().filter(|mark| across.holds(mark.from_s)).collect();
    let top = 12.0 + ROW * marks.len() as f64;
    let bottom = top + HEIGHT;
    let [low, high] = drawn.ends.unwrap_or_else(|| {
        let [low, high] = drawn
            .curves
            .iter()
            .flat_map(|curve| &curve.points)
            .fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], (_, value)| {
                [low.min(value.low), high.max(value.high)]
            });
        [low, high]
    });
    let slack = if drawn.chances { 0.0 } else { 0.05 * (high - low).max(1e-6) };
    let axis = Axis::even(low - slack, high + slack, bottom, top);
    let ticks = axis.ticks(4);
    let apart = ticks.windows(2).map(|pair| pair[1] - pair[0]).fold(f64::INFINITY, f64::min);
    let side: Vec<(f64, String)> =
        ticks.iter().map(|v| (*v, write(*v, if apart.is_finite() { apart.min(1.0) } else { 1.0 }))).collect();
    let times: Vec<(f64, String)> = match drawn.widening {
        true => spans(&across, 52.0),
        false => minutes(last_s),
    }
    .into_iter()
    .map(|s| (s, if s == 0.0 { "0".to_owned() } else { span(s) }))
    .collect();
    let edge = |curve: &Curve, of: fn(&Interval) -> f64| -> Vec<(f64, f64)> {
        curve.points.iter().map(|(s, value)| (across.place(*s), axis.place(of(value)))).collect()
    };
    // Names stand at the ends of their curves, and move apart where the ends meet.
    let mut names: Vec<(f64, &Curve)> = drawn
        .curves
        .iter()
        .filter_map(|curve| Some((axis.place(curve.points.last()?.1.mid).clamp(top + 8.0, bottom), curve)))
        .collect();
    names.sort_by(|a, b| a.0.total_cmp(&b.0));
    for place in 1..names.len() {
        names[place].0 = names[place].0.max(names[place - 1].0 + 19.0);
    }
    let said = |value: &Interval| match drawn.chances {
        true => percent(value.mid / 100.0),
        false => plain(*value, drawn.unit),
    };
    let mut moments: Vec<f64> =
        drawn.curves.iter().flat_map(|curve| curve.points.iter().map(|(s, _)| *s)).collect();
    moments.sort_by(f64::total_cmp);
    moments.dedup();
    let rows = moments
        .iter()
        .map(|s| {
            let cells = drawn.curves.iter().map(|curve| {
                let found = curve.points.iter().find(|(at, _)| at == s);
                found.map_or_else(|| "–".to_owned(), |(_, value)| said(value))
            });
            std::iter::once(span(*s)).chain(cells).collect()
        })
        .collect();
    let ended = drawn.curves.iter().filter_map(|curve| {
        curve.points.last().map(|(_, value)| format!("{} ends at {}", curve.name, said(value)))
    });
    Some(
        Figure {
            id: drawn.id,
            title: drawn.title.clone(),
            says: format!("{}: {}.", drawn.title, ended.collect::<Vec<_>>().join("; ")),
            size: [WIDTH, bottom + 28.0],
            drawing: html! {
                (beside(&axis, &across, &side))
                @if low < 0.0 && high > 0.0 { line.zero x1=(at(LEFT)) x2=(at(RIGHT)) y1=(at(axis.place(0.0))) y2=(at(axis.place(0.0))) {} }
                @for (value, words) in drawn.levels.iter().filter(|(value, _)| axis.holds(*value)) {
                    line.limit x1=(at(LEFT)) x2=(at(RIGHT)) y1=(at(axis.place(*value))) y2=(at(axis.place(*value))) {}
                    text.m.over x=(at(LEFT + 5.0)) y=(at(axis.place(*value) - 5.0)) { (words) }
                }
                @for (place, mark) in marks.iter().enumerate() {
                    @let y = 16.0 + ROW * place as f64;
                    @let (from, to) = (across.place(mark.from_s), across.held(mark.to_s));
                    @let class = if mark.printed { "tick" } else { "taught" };
                    @for x in [from, to] { line class=(class) x1=(at(x)) x2=(at(x)) y1=(at(y - 8.0)) y2=(at(bottom)) {} }
                    line class=(class) x1=(at(from)) x2=(at(to)) y1=(at(y - 4.0)) y2=(at(y - 4.0)) {}
                    @let room = WIDTH - to - 6.0;
                    @if room < LETTER * mark.words.chars().count() as f64 { text.m.over x=(at(WIDTH - 3.0)) y=(at(y)) text-anchor="end" { (mark.words) } }
                    @else { text.m.over x=(at(to + 6.0)) y=(at(y)) { (mark.words) } }
                }
                @for curve in drawn.curves.iter().rev() {
                    @if !drawn.chances {
                        @if curve.held {
                            path.edge d=(line(&edge(curve, |i| i.low))) {}
                            path.edge d=(line(&edge(curve, |i| i.high))) {}
                        } @else { path.area d=(band(&edge(curve, |i| i.high), &edge(curve, |i| i.low))) {} }
                    }
                    path class=(if curve.held { "curve held" } else { "curve" }) d=(line(&edge(curve, |i| i.mid))) {}
                }
                @for (y, curve) in &names { text.lab x=(at(RIGHT + 6.0)) y=(at(*y + 5.0)) { (curve.name) } }
                (under(&across, bottom, &times))
            },
            legend: html! {
                @for curve in &drawn.curves { @if curve.held { "dashed: " } @else { "heavy line: " } (curve.name) " · " }
                @if !drawn.chances { "band and thin lines: 90 % intervals · " }
                @if marks.iter().any(|mark| !mark.printed) { "dotted upright: taught · " }
                @if marks.iter().any(|mark| mark.printed) { "hard upright: printed · " }
                "time " (drawn.since) @if drawn.widening { ", widening" }
            },
            heads: std::iter::once(format!("time {}", drawn.since))
                .chain(drawn.curves.iter().map(|curve| match drawn.chances {
                    true => format!("{}, chance", curve.name),
                    false => format!("{}, 90 % interval", curve.name),
                }))
                .collect(),
            rows,
        }
        .markup(),
    )
}

/// Round minutes, about five of them.
fn minutes(last_s: f64) -> Vec<f64> {
    let step_s =
        [60.0, 120.0, 180.0, 300.0, 600.0].into_iter().find(|step| last_s / step <= 5.5).unwrap_or(1200.0);
    (0..).map(|k| f64::from(k) * step_s).take_while(|s| *s <= last_s).collect()
}

/// A share, such as a chance: what it is, now, and to compare.
pub struct Share {
    /// In words.
    pub words: String,
    /// Now; none before it is revealed.
    pub now: Option<f64>,
    /// To compare.
    pub held: Option<f64>,
}

/// Shares as bars, those to compare as dashed outlines.
pub fn shares(id: &str, title: &str, list: &[Share], held_name: &str) -> Markup {
    const HIGH: f64 = 62.0;
    let axis = Axis::even(0.0, 1.0, 22.0, RIGHT - 24.0);
    let bottom = HIGH * list.len() as f64 + 4.0;
    let marks: Vec<(f64, String)> = [0.0, 0.5, 1.0].map(|v| (v, format!("{:.0} %", 100.0 * v))).to_vec();
    let said = |share: Option<f64>| share.map_or_else(|| "–".to_owned(), percent);
    let with_now = list.iter().any(|share| share.now.is_some());
    let with_held = list.iter().any(|share| share.held.is_some());
    Figure {
        id,
        title: title.to_owned(),
        says: format!("{title}: {}.", list.iter().map(|share| format!("{} {}", share.words, said(share.now.or(share.held)))).collect::<Vec<_>>().join("; ")),
        size: [WIDTH, bottom + 26.0],
        drawing: html! {
            @for (place, share) in list.iter().enumerate() {
                @let y = 4.0 + HIGH * place as f64;
                text.lab x="22" y=(at(y + 15.0)) { (share.words) }
                @if let Some(now) = share.now {
                    rect.bar x=(at(axis.place(0.0))) y=(at(y + 22.0)) width=(at((axis.place(now) - axis.start).max(1.0))) height="14" {}
                    text.m x=(at(RIGHT - 18.0)) y=(at(y + 34.0)) { (short(now)) }
                }
                @if let Some(held) = share.held {
                    rect.outline x=(at(axis.place(0.0))) y=(at(y + 40.0)) width=(at((axis.place(held) - axis.start).max(1.0))) height="12" {}
                    text.m x=(at(RIGHT - 18.0)) y=(at(y + 51.0)) { (short(held)) }
                }
            }
            (under(&axis, bottom, &marks))
        },
        legend: html! { @if with_now { "full bar: now" } @if with_now && with_held { " · " } @if with_held { "dashed outline: " (held_name) } },
        heads: std::iter::once("of all such impressions".to_owned())
            .chain(with_now.then(|| "now".to_owned()))
            .chain(with_held.then(|| held_name.to_owned()))
            .collect(),
        rows: list
            .iter()
            .map(|share| {
                std::iter::once(share.words.clone())
                    .chain(with_now.then(|| said(share.now)))
                    .chain(with_held.then(|| said(share.held)))
                    .collect()
            })
            .collect(),
    }
    .markup()
}

fn short(share: f64) -> String {
    percent(share).trim_start_matches("about ").to_owned()
}
