//! The share of learners below each pass mark, and what judges would bear: where the two meet.

use maud::{Markup, html};
use questions::pass_mark::{Hofstee, HofsteeJudge};

use super::axis::{Axis, beside, line, under};
use super::{Figure, at};

const LEFT: f64 = 64.0;
const RIGHT: f64 = 500.0;
const TOP: f64 = 12.0;
const BOTTOM: f64 = 232.0;
const SIZE: [f64; 2] = [520.0, 280.0];

/// The picture of scores, as shares of all points, and of what the judges said together.
pub fn failing(scores: &[f64], outcome: &Hofstee) -> Markup {
    let (across, up) = (Axis::even(0.0, 100.0, LEFT, RIGHT), Axis::even(0.0, 100.0, BOTTOM, TOP));
    let (judges, met) = match outcome {
        Hofstee::Meets { judges, cut, failing, .. } => (judges, Some((*cut, *failing))),
        Hofstee::AskAgain { judges, .. } => (judges, None),
    };
    let HofsteeJudge { cut_least, cut_most, fail_least, fail_most } = *judges;
    let place = |cut: f64, share: f64| (across.place(100.0 * cut), up.place(100.0 * share));
    let mut sorted = scores.to_vec();
    sorted.sort_by(f64::total_cmp);
    sorted.dedup();
    let below =
        |cut: f64| scores.iter().filter(|score| **score < cut).count() as f64 / scores.len().max(1) as f64;
    let upto =
        |cut: f64| scores.iter().filter(|score| **score <= cut).count() as f64 / scores.len().max(1) as f64;
    let mut curve = vec![place(0.0, 0.0)];
    for score in &sorted {
        curve.push(place(*score, below(*score)));
        curve.push(place(*score, upto(*score)));
    }
    curve.push(place(1.0, upto(1.0)));
    let marks: Vec<(f64, String)> =
        [0.0, 20.0, 40.0, 60.0, 80.0, 100.0].map(|value| (value, format!("{value:.0}"))).to_vec();
    let (near, far) = (place(cut_least, fail_most), place(cut_most, fail_least));
    let says = match met {
        Some((cut, share)) => {
            format!(
                "The line of the judges meets the staircase at a pass mark of {:.0} %, where {:.0} % are below it",
                100.0 * cut,
                100.0 * share
            )
        }
        None => "The line of the judges does not meet the staircase".to_owned(),
    };
    Figure {
        id: "failing",
        title: "Learners below each pass mark, %, against the pass mark, % of all points".to_owned(),
        says,
        size: SIZE,
        drawing: html! {
            rect.area x=(at(near.0)) y=(at(near.1)) width=(at(far.0 - near.0)) height=(at(far.1 - near.1)) {}
            (beside(&up, &across, &marks))
            path.curve d=(line(&curve)) {}
            line.limit x1=(at(near.0)) y1=(at(near.1)) x2=(at(far.0)) y2=(at(far.1)) {}
            @if let Some((cut, share)) = met { @let (x, y) = place(cut, share); circle.here cx=(at(x)) cy=(at(y)) r="6" {} }
            (under(&across, BOTTOM, &marks))
            text.m x=(at(0.5 * (LEFT + RIGHT))) y=(at(BOTTOM + 40.0)) text-anchor="middle" { "pass mark, % of all points" }
        },
        legend: html! { "The staircase is the class; the broken line and the shaded field are what the judges would bear" @if met.is_some() { "; the ring is where they meet" } "." },
        heads: ["pass mark, %", "below it, %", "below one just above, %"].map(str::to_owned).to_vec(),
        rows: sorted
            .iter()
            .map(|score| [*score, below(*score), upto(*score)].map(|share| format!("{:.1}", 100.0 * share)).to_vec())
            .collect(),
    }
    .markup()
}
