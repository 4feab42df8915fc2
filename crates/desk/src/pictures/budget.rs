//! The signed budget: bars left and right of zero with their intervals, one bar for all together.

use chain::report::Budget;
use chain::size::Measure;
use maud::{Markup, html};

use super::axis::{Axis, under};
use super::{Figure, at};
use crate::digits::{signed, step};

/// The quantity that a budget is of.
pub fn key(measure: Measure) -> &'static str {
    match measure {
        Measure::Diameter => "die.diameter",
        Measure::Height => "die.height",
        Measure::Span => "span",
        Measure::Opening => "fit.opening",
    }
}

/// What a budget is of, in words.
pub fn words(measure: Measure) -> &'static str {
    match measure {
        Measure::Diameter => "width of the die",
        Measure::Height => "height of the die",
        Measure::Span => "span between abutments",
        Measure::Opening => "opening at the margin",
    }
}

/// One row: a name, its mean and its interval, µm.
struct Row {
    name: String,
    mean: f64,
    low: f64,
    high: f64,
    whole: bool,
}

/// The budget of one measure.
pub fn budget(budget: &Budget) -> Markup {
    let um = 1e6;
    let mut rows: Vec<Row> = budget
        .bars
        .iter()
        .map(|bar| Row {
            name: bar.link.word().to_owned(),
            mean: bar.mean_m * um,
            low: bar.interval_m.low * um,
            high: bar.interval_m.high * um,
            whole: false,
        })
        .collect();
    let alone = |name: &str, value: f64| Row {
        name: name.to_owned(),
        mean: value,
        low: value,
        high: value,
        whole: false,
    };
    rows.push(alone("by acting on each other", budget.interaction_m * um));
    if budget.base_m.abs() * um > 0.5 {
        rows.push(alone("with every link ideal", budget.base_m * um));
    }
    rows.push(Row {
        name: "all together".to_owned(),
        mean: budget.total_m * um,
        low: budget.interval_m.low * um,
        high: budget.interval_m.high * um,
        whole: true,
    });
    let low = rows.iter().map(|row| row.low.min(row.mean)).fold(0.0, f64::min);
    let high = rows.iter().map(|row| row.high.max(row.mean)).fold(0.0, f64::max);
    let slack = 0.04 * (high - low).max(1.0);
    const HIGH: f64 = 27.0;
    let axis = Axis::even(low - slack, high + slack, 190.0, 590.0);
    let digits = step(0.5 * (budget.interval_m.high - budget.interval_m.low) * um);
    let interval = |row: &Row| format!("{} to {}", signed(row.low, digits), signed(row.high, digits));
    let height = rows.len() as f64 * HIGH + 14.0;
    let marks: Vec<(f64, String)> = axis.ticks(5).into_iter().map(|v| (v, signed(v, 1.0))).collect();
    let table: Vec<Vec<String>> = rows
        .iter()
        .map(|row| {
            let spread = if row.low < row.high { interval(row) } else { "–".to_owned() };
            vec![row.name.clone(), spread, signed(row.mean, digits)]
        })
        .collect();
    let name = words(budget.measure);
    let (smaller, larger) = match budget.measure {
        Measure::Opening => ("closed", "open"),
        _ => ("stone smaller", "stone larger"),
    };
    let total = rows.last().map(interval).unwrap_or_default();
    Figure {
        id: &format!("budget-{}", key(budget.measure).replace('.', "-")),
        title: format!("{name}, µm: what each link adds"),
        says: format!("Signed budget of the {name}: all together {total} micrometres."),
        size: [712.0, height + 40.0],
        drawing: html! {
            @for (place, row) in rows.iter().enumerate() {
                @let y = 6.0 + place as f64 * HIGH + if row.whole { 8.0 } else { 0.0 };
                @let (zero, mean) = (axis.place(0.0), axis.place(row.mean));
                @if row.whole { line.faint x1="0" x2="712" y1=(at(y - 4.0)) y2=(at(y - 4.0)) {} }
                text.lab x="0" y=(at(y + 15.0)) { (row.name) }
                rect class=(if row.whole { "bar whole" } else { "bar" }) x=(at(zero.min(mean))) y=(at(y + 3.0)) width=(at((mean - zero).abs())) height="15" {}
                @if row.low < row.high {
                    line.whisker x1=(at(axis.place(row.low))) x2=(at(axis.place(row.high))) y1=(at(y + 10.5)) y2=(at(y + 10.5)) {}
                    text.m x="712" y=(at(y + 15.0)) text-anchor="end" { (interval(row)) }
                } @else {
                    text.m x="712" y=(at(y + 15.0)) text-anchor="end" { (signed(row.mean, digits)) }
                }
            }
            line.zero x1=(at(axis.place(0.0))) x2=(at(axis.place(0.0))) y1="2" y2=(at(height)) {}
            (under(&axis, height + 2.0, &marks))
            text.m x=(at(axis.place(0.0) - 8.0)) y=(at(height + 36.0)) text-anchor="end" { "← " (smaller) }
            text.m x=(at(axis.place(0.0) + 8.0)) y=(at(height + 36.0)) { (larger) " →" }
        },
        legend: html! { "bar: expected value less expected value with that link ideal · thin line: its 90 % interval" },
        heads: ["link", "90 % interval, µm", "expected, µm"].map(str::to_owned).to_vec(),
        rows: table,
    }
    .markup()
}
