//! Curves over the time from removal: strain while it is kept, and the chance of a usable result.

use chain::Forecast;
use chain::statistics::Interval;
use maud::{Markup, html};
use terms::{Action, Bound};

use super::axis::{Axis, band, beside, line, spans, under};
use super::{Figure, at};
use crate::digits::{percent, plain, span, step, write};

const LEFT: f64 = 58.0;
const RIGHT: f64 = 690.0;
const TOP: f64 = 20.0;
const BOTTOM: f64 = 220.0;
const SIZE: [f64; 2] = [712.0, 262.0];

/// The axis of time from removal, as far as the forecast went.
fn time(forecast: &Forecast) -> Axis {
    let last_s = forecast.pour_curve.last().map_or(3600.0, |point| point.after_removal_s);
    Axis { widening: Some(300.0), ..Axis::even(0.0, last_s, LEFT, RIGHT) }
}

fn marks(axis: &Axis) -> Vec<(f64, String)> {
    spans(axis, 58.0).into_iter().map(|s| (s, if s == 0.0 { "0".to_owned() } else { span(s) })).collect()
}

/// Printed limits of pouring and the planned moment, upright across the picture.
fn limits(forecast: &Forecast, axis: &Axis) -> Markup {
    let removed_s = forecast.origin_s(terms::ClockOrigin::Removal);
    let window = forecast.window(Action::Pour);
    let printed: Vec<(f64, Bound)> = window
        .into_iter()
        .flat_map(|window| [&window.opens, &window.closes])
        .flat_map(|edge| edge.instructed.iter().map(|limit| (limit.at_s - removed_s, edge.bound)))
        .filter(|(s, _)| axis.holds(*s))
        .collect();
    let planned =
        window.and_then(|window| window.planned_s).map(|s| s - removed_s).filter(|s| axis.holds(*s));
    html! {
        @for (s, bound) in printed {
            line.tick x1=(at(axis.place(s))) x2=(at(axis.place(s))) y1=(at(TOP - 4.0)) y2=(at(BOTTOM)) {}
            text.m x=(at(axis.place(s) + if bound == Bound::Minimum { 4.0 } else { -4.0 })) y=(at(TOP - 7.0))
                text-anchor=(if bound == Bound::Minimum { "start" } else { "end" }) {
                (if bound == Bound::Minimum { "printed, not before" } else { "printed, not after" })
            }
        }
        @if let Some(s) = planned {
            path.plan d=(format!("M{} {}l-6 -9h12z", at(axis.place(s)), at(BOTTOM - 1.0))) {}
        }
    }
}

/// The strain of the impression while it is kept.
pub fn strain(forecast: &Forecast) -> Option<Markup> {
    let points = &forecast.pour_curve;
    let quantity = forecast.quantity("strain.holding");
    let beyond = quantity.is_some_and(|quantity| quantity.beyond_checked);
    if points.len() < 2 {
        return None;
    }
    let share = |interval: Interval| interval.scaled(100.0);
    let all: Vec<Interval> = points.iter().map(|point| share(point.holding_strain)).collect();
    let low = all.iter().map(|interval| interval.low).fold(0.0, f64::min);
    let high = all.iter().map(|interval| interval.high).fold(0.0, f64::max);
    if high - low < 1e-6 {
        return None;
    }
    // A standard limit on the change of length, where the purpose has one, is drawn across.
    let limit = forecast.limits.iter().find(|limit| limit.si_unit == "1").map(|limit| limit.value * 100.0);
    let slack = 0.06 * (high - low);
    let across = time(forecast);
    let axis = Axis::even(low - slack, high + slack, BOTTOM, TOP);
    let at_x = |index: usize| across.place(points[index].after_removal_s);
    let edge = |of: fn(&Interval) -> f64| -> Vec<(f64, f64)> {
        all.iter().enumerate().map(|(index, interval)| (at_x(index), axis.place(of(interval)))).collect()
    };
    let (lower, middle, upper) = (edge(|i| i.low), edge(|i| i.mid), edge(|i| i.high));
    let digits = step(0.5 * (high - low));
    let side: Vec<(f64, String)> =
        axis.ticks(4).into_iter().map(|v| (v, write(v, digits.clamp(0.01, 0.1)))).collect();
    let rows = points
        .iter()
        .zip(&all)
        .map(|(point, interval)| vec![span(point.after_removal_s), plain(*interval, "%")])
        .collect();
    Some(
        Figure {
            id: "strain",
            title: format!(
                "Strain while it is kept, % (positive shrinks), after removal, as planned{}",
                if beyond { "; part of it lies beyond what was checked" } else { "" }
            ),
            says: format!(
                "Free linear strain from holding over time: {} at the end of what was followed.",
                all.last().map_or_else(String::new, |interval| plain(*interval, "%"))
            ),
            size: SIZE,
            drawing: html! {
                (beside(&axis, &across, &side))
                @if let Some(limit) = limit {
                    @for side in [limit, -limit] {
                        @if axis.holds(side) {
                            line.limit x1=(at(across.start)) x2=(at(across.end)) y1=(at(axis.place(side))) y2=(at(axis.place(side))) {}
                            text.m x=(at(across.end)) y=(at(axis.place(side) - 4.0)) text-anchor="end" { "limit " (write(side, 0.01)) " %" }
                        }
                    }
                }
                line.zero x1=(at(across.start)) x2=(at(across.end)) y1=(at(axis.place(0.0))) y2=(at(axis.place(0.0))) {}
                path.area d=(band(&upper, &lower)) {}
                path.curve d=(line(&middle)) {}
                (limits(forecast, &across))
                (under(&across, BOTTOM, &marks(&across)))
            },
            legend: html! { "line: middle · band: 90 % interval · " b { "▼" } " planned pour · time on a widening scale" },
            heads: ["after removal", "strain, 90 % interval"].map(str::to_owned).to_vec(),
            rows,
        }
        .markup(),
    )
}

/// The chance of a usable result against the moment of pouring.
pub fn chance(forecast: &Forecast) -> Option<Markup> {
    let points = &forecast.pour_curve;
    if points.len() < 2 {
        return None;
    }
    let across = time(forecast);
    let axis = Axis::even(0.0, 1.0, BOTTOM, TOP);
    let curve: Vec<(f64, f64)> =
        points.iter().map(|point| (across.place(point.after_removal_s), axis.place(point.usable))).collect();
    let side: Vec<(f64, String)> =
        [0.0, 0.2, 0.5, 0.8, 1.0].into_iter().map(|share| (share, format!("{:.0}", 100.0 * share))).collect();
    let (likely, unlikely) = (axis.place(chain::LIKELY), axis.place(chain::UNLIKELY));
    let best = points.iter().map(|point| point.usable).fold(0.0, f64::max);
    Some(
        Figure {
            id: "chance",
            title: "Chance of a usable result against the moment of pouring, %, after removal".to_owned(),
            says: format!("Chance of a usable result by the moment of pouring: at best {}.", percent(best)),
            size: SIZE,
            drawing: html! {
                (beside(&axis, &across, &side))
                line.limit x1=(at(across.start)) x2=(at(across.end)) y1=(at(likely)) y2=(at(likely)) {}
                text.m x=(at(across.end)) y=(at(likely + 14.0)) text-anchor="end" { "likely above this line" }
                line.limit x1=(at(across.start)) x2=(at(across.end)) y1=(at(unlikely)) y2=(at(unlikely)) {}
                text.m x=(at(across.end)) y=(at(unlikely + 14.0)) text-anchor="end" { "unlikely below this line" }
                path.curve d=(line(&curve)) {}
                (limits(forecast, &across))
                (under(&across, BOTTOM, &marks(&across)))
            },
            legend: html! { "before a gel has recovered, or gas has gone, it may be lower · " b { "▼" } " planned pour · time on a widening scale" },
            heads: ["poured after removal", "chance", "width of the die, 90 % interval"].map(str::to_owned).to_vec(),
            rows: points
                .iter()
                .map(|point| {
                    vec![
                        span(point.after_removal_s),
                        percent(point.usable),
                        crate::digits::interval(point.diameter_m, 1e6, "µm"),
                    ]
                })
                .collect(),
        }
        .markup(),
    )
}
