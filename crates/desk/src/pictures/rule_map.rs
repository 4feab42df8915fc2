//! Where over two conditions a taught rule holds, fails, or cannot be told.

use counsel::rules::{Audit, Axis as Condition, Point, Rule, Scale, sentence};
use maud::{Markup, html};

use super::axis::Axis;
use super::{Figure, at};

const LEFT: f64 = 92.0;
const RIGHT: f64 = 560.0;
const TOP: f64 = 16.0;
const BOTTOM: f64 = 336.0;
const SIZE: [f64; 2] = [600.0, 392.0];

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
    let all = |of: fn(&counsel::rules::Square) -> &Vec<Vec<Point>>| -> String {
        audit.map.squares.iter().map(|square| path(of(square))).collect()
    };
    let why = &audit.why;
    let mark = [rule.x.place(why.at[0]), rule.y.place(why.at[1])];
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
                pattern id="dots" width="9" height="9" patternUnits="userSpaceOnUse" { circle.dot cx="4.5" cy="4.5" r="1.1" {} }
            }
            rect.open x=(at(LEFT)) y=(at(TOP)) width=(at(RIGHT - LEFT)) height=(at(BOTTOM - TOP)) fill="url(#dots)" {}
            path.holds d=(all(|square| &square.holds)) {}
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
            circle.here cx=(at(across.place(mark[0]))) cy=(at(up.place(mark[1]))) r="5" {}
        },
        legend: html! {
            span.key-holds {} " holds, in at least 80 % of the samples; " span.key-fails {} " fails, in at most 20 %; "
            span.key-open {} " cannot be told; the ring is where what decides was asked."
        },
        heads: vec![rule.y.words.clone(), format!("holds for {}", rule.x.words), "fails for".to_owned()],
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
    let [holds, fails] = audit.map.crossings(place);
    vec![rule.y.said(rule.y.at(place)), spans(&holds), spans(&fails)]
}
