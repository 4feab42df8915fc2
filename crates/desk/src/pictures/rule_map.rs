//! Where over two conditions a taught rule holds, makes no difference that matters, fails, or cannot be told.

use counsel::rules::{Audit, Axis as Condition, Point, Rule, Scale, Square, Standing, sentence};
use maud::{Markup, html};

use super::axis::Axis;
use super::{Figure, at};

const LEFT: f64 = 92.0;
const RIGHT: f64 = 560.0;
const TOP: f64 = 24.0;
const BOTTOM: f64 = 344.0;
const SIZE: [f64; 2] = [620.0, 400.0];

/// Lines of the table.
const LINES: usize = 7;

/// The map of a rule.
pub fn rule_map(rule: &Rule, audit: &Audit) -> Markup {
    let (across, up) = (Axis::even(0.0, 1.0, LEFT, RIGHT), Axis::even(0.0, 1.0, BOTTOM, TOP));
    let path = |polygons: &[Vec<Point>]| -> String {
        let mut path = String::new();
        for polygon in polygons {
            for (index, [x, y]) in polygon.iter().enumerate() {
                path.push_str(&format!(
                    "{}{} {}",
                    if index == 0 { 'M' } else { 'L' },
                    at(across.place(*x)),
                    at(up.place(*y))
                ));
            }
            path.push('Z');
        }
        path
    };
    let all = |of: fn(&Square) -> &Vec<Vec<Point>>| -> String {
        audit.map.squares.iter().map(|square| path(of(square))).collect()
    };
    let why = &audit.why;
    let mark = [rule.x.place(why.at[0]), rule.y.place(why.at[1])];
    let own_across: Vec<(f64, String)> =
        own(&rule.x).map(|(place, words)| (across.place(place), words)).collect();
    let own_up: Vec<(f64, String)> = own(&rule.y).map(|(place, words)| (up.place(place), words)).collect();
    let says_own = !own_across.is_empty() || !own_up.is_empty();
    let mut heads = vec![rule.y.words.clone()];
    heads.extend(rule.outcomes().iter().enumerate().map(|(place, outcome)| {
        let called = rule.called(*outcome);
        if place == 0 { format!("{called}: {}", rule.x.words) } else { called }
    }));
    let rows = (0..LINES).map(|line| row(rule, audit, 1.0 - (line as f64 + 0.5) / LINES as f64)).collect();
    Figure {
        id: "map",
        title: format!("Where the rule holds: {} across, {} up", named(&rule.x), named(&rule.y)),
        says: sentence(rule, audit),
        size: SIZE,
        drawing: html! {
            defs {
                pattern id="lines" width="7" height="7" patternUnits="userSpaceOnUse" patternTransform="rotate(45)" {
                    line.stroke x1="0" y1="0" x2="0" y2="7" {}
                }
                pattern id="bars" width="8" height="8" patternUnits="userSpaceOnUse" { line.level x1="0" y1="4" x2="8" y2="4" {} }
                pattern id="dots" width="9" height="9" patternUnits="userSpaceOnUse" { circle.dot cx="4.5" cy="4.5" r="1.1" {} }
            }
            rect.open x=(at(LEFT)) y=(at(TOP)) width=(at(RIGHT - LEFT)) height=(at(BOTTOM - TOP)) fill="url(#dots)" {}
            path.holds d=(all(|square| &square.holds)) {}
            path.slight d=(all(|square| &square.slight)) {}
            path.slight-lines d=(all(|square| &square.slight)) fill="url(#bars)" {}
            path.fails d=(all(|square| &square.fails)) {}
            path.fails-lines d=(all(|square| &square.fails)) fill="url(#lines)" {}
            rect.frame x=(at(LEFT)) y=(at(TOP)) width=(at(RIGHT - LEFT)) height=(at(BOTTOM - TOP)) {}
            @for place in [0.0, 0.25, 0.5, 0.75, 1.0] {
                line.rule x1=(at(across.place(place))) x2=(at(across.place(place))) y1=(at(BOTTOM)) y2=(at(BOTTOM + 5.0)) {}
                text.m x=(at(across.place(place))) y=(at(BOTTOM + 20.0)) text-anchor="middle" { (rule.x.said(rule.x.at(place))) }
                line.rule x1=(at(LEFT - 5.0)) x2=(at(LEFT)) y1=(at(up.place(place))) y2=(at(up.place(place))) {}
                text.m x=(at(LEFT - 9.0)) y=(at(up.place(place) + 4.5)) text-anchor="end" { (rule.y.said(rule.y.at(place))) }
            }
            text.m x=(at(0.5 * (LEFT + RIGHT))) y=(at(BOTTOM + 42.0)) text-anchor="middle" { (named(&rule.x)) }
            @for (x, words) in &own_across {
                line.own x1=(at(*x)) x2=(at(*x)) y1=(at(TOP - 4.0)) y2=(at(BOTTOM)) {}
                text.own x=(at(*x)) y=(at(TOP - 8.0)) text-anchor="middle" { (words) }
            }
            @for (y, words) in &own_up {
                line.own x1=(at(LEFT)) x2=(at(RIGHT + 4.0)) y1=(at(*y)) y2=(at(*y)) {}
                text.own x=(at(RIGHT + 8.0)) y=(at(*y + 4.5)) { (words) }
            }
            circle.here cx=(at(across.place(mark[0]))) cy=(at(up.place(mark[1]))) r="5" {}
        },
        legend: html! {
            @for outcome in rule.outcomes() {
                @match outcome {
                    Standing::Holds => span.key-holds {},
                    Standing::Slight => span.key-slight {},
                    _ => span.key-fails {},
                }
                " " (rule.called(*outcome)) ", "
            }
            "each in at least 80 % of the samples; " span.key-open {} " cannot be told: none of these in 80 %. "
            @if says_own { span.key-own {} " what the rule itself states. " }
            span.key-here {} " the place where it was asked what decides."
        },
        heads,
        rows,
    }
    .markup()
}

fn named(axis: &Condition) -> String {
    let scale = if axis.scale == Scale::Factors { ", by equal factors" } else { "" };
    if axis.unit.is_empty() {
        format!("{}{scale}", axis.words)
    } else {
        format!("{}, {}{scale}", axis.words, axis.unit)
    }
}

fn row(rule: &Rule, audit: &Audit, place: f64) -> Vec<String> {
    let spans = |ends: &[f64]| -> String {
        let said = |place: f64| rule.x.said(rule.x.at(place));
        let list: Vec<String> =
            ends.chunks_exact(2).map(|pair| format!("{} to {}", said(pair[0]), said(pair[1]))).collect();
        if list.is_empty() { "nowhere".to_owned() } else { list.join(", ") }
    };
    let [holds, slight, fails] = audit.map.crossings(place);
    let mut cells = vec![rule.y.said(rule.y.at(place))];
    cells.extend(rule.outcomes().iter().map(|outcome| match outcome {
        Standing::Holds => spans(&holds),
        Standing::Slight => spans(&slight),
        _ => spans(&fails),
    }));
    cells
}

/// The numbers of the rule itself along an axis: where, and in words.
fn own(axis: &Condition) -> impl Iterator<Item = (f64, String)> {
    axis.own.iter().map(|own| (axis.place(*own), axis.said_own(*own)))
}
