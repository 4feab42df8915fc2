//! Routes side by side: their chances with their intervals.

use counsel::routes::RouteLine;
use maud::{Markup, html};

use super::axis::{Axis, under};
use super::{Figure, at};
use crate::digits::percent;

/// The most routes that are drawn.
pub const MOST: usize = 6;

/// The picture of these routes, in their order.
pub fn comparison(lines: &[&RouteLine], samples: usize) -> Markup {
    const HIGH: f64 = 40.0;
    let shown = &lines[..lines.len().min(MOST)];
    let axis = Axis::even(0.0, 1.0, 300.0, 690.0);
    let height = shown.len() as f64 * HIGH + 6.0;
    let marks: Vec<(f64, String)> =
        [0.0, 0.2, 0.5, 0.8, 1.0].map(|v| (v, format!("{:.0} %", 100.0 * v))).to_vec();
    let short = |words: &str, most: usize| match words.chars().count() <= most {
        true => words.to_owned(),
        false => words.chars().take(most - 1).chain(['…']).collect(),
    };
    let interval = |line: &RouteLine| crate::routes_page::short_chance(line.low, line.high);
    Figure {
        id: "comparison",
        title: "Chance of a usable result by route".to_owned(),
        says: format!("{} routes compared by their chance of a usable result.", shown.len()),
        size: [712.0, height + 26.0],
        drawing: html! {
            @for share in [0.2, 0.8] {
                line.limit x1=(at(axis.place(share))) x2=(at(axis.place(share))) y1="0" y2=(at(height)) {}
            }
            @for (place, route) in shown.iter().enumerate() {
                @let y = place as f64 * HIGH;
                text.lab x="0" y=(at(y + 16.0)) { (place + 1) ". " (short(&route.kit, 38)) }
                text.m x="18" y=(at(y + 32.0)) { (short(&format!("{}; {}", route.tray, route.means), 46)) }
                line.whisker x1=(at(axis.held(route.low))) x2=(at(axis.held(route.high))) y1=(at(y + 18.0)) y2=(at(y + 18.0)) {}
                circle.done cx=(at(axis.place(route.chance))) cy=(at(y + 18.0)) r="5.5" {}
            }
            (under(&axis, height, &marks))
        },
        legend: html! { "point: chance · line: its 90 % interval, remembered and assumed values included · " (samples) " samples of each" },
        heads: ["route", "tray", "displacement", "chance", "90 % interval"].map(str::to_owned).to_vec(),
        rows: shown
            .iter()
            .map(|line| vec![line.kit.clone(), line.tray.clone(), line.means.clone(), percent(line.chance), interval(line)])
            .collect(),
    }
    .markup()
}
