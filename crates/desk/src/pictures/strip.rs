//! The time strip: time runs to the right, a window is a band whose ends are as soft as the forecast is unsure, the printed limit a hard
//! tick, the plan a mark, the present a line. Rows with another scale say so under the row.

use chain::windows::{DecidedBy, Edge, Window, WindowState};
use maud::{Markup, html};
use terms::{Action, Bound, ClockOrigin};

use super::axis::{Axis, spans, under};
use super::{Figure, at};
use crate::card::Card;
use crate::card::when::{binding, followed, from, openness, start_of};
use crate::digits::span;

const LEFT: f64 = 106.0;
const RIGHT: f64 = 690.0;
const BAND: f64 = 20.0;
/// A row: room above for a label, the band, room below for another.
const ROW: f64 = 62.0;
/// The scale under a group of rows.
const SCALE: f64 = 44.0;
/// Steps of a soft end.
const STOPS: usize = 48;

/// The strip of a card.
pub fn strip(card: &Card, id: &str) -> Markup {
    let forecast = card.forecast;
    let removed_s = start_of(card, ClockOrigin::Removal);
    let poured_s = start_of(card, ClockOrigin::Pour);
    let now_s = forecast.start_stamped.then(|| forecast.now.seconds_since(forecast.start));
    let mouth_end_s = (((removed_s + 60.0) / 120.0).ceil() * 120.0).max(360.0);
    let last_s = forecast.pour_curve.last().map_or(86_400.0, |point| point.after_removal_s);
    // Steps, the ends of their axis, where it widens, and what its clock counts from.
    type Group<'a> = (&'a [Action], f64, f64, Option<f64>, &'a str);
    let groups: [Group; 3] = [
        (
            &[Action::Mix, Action::Seat, Action::Remove],
            0.0,
            mouth_end_s,
            None,
            from(card, ClockOrigin::StartOfMix),
        ),
        (&[Action::Pour], removed_s, removed_s + last_s, Some(60.0), "after removal, on a widening scale"),
        (&[Action::Separate], poured_s, poured_s + 7200.0, None, "after pouring"),
    ];
    let mut drawn = Vec::new();
    let mut rows = Vec::new();
    let mut y = 8.0;
    for (actions, from_s, to_s, widening, clock) in groups {
        let axis = Axis { widening, ..Axis::even(from_s, to_s, LEFT, RIGHT) };
        let mut any = false;
        for window in actions.iter().filter_map(|action| forecast.window(*action)) {
            drawn.push(row(card, window, &axis, y, now_s, id));
            rows.push(table_row(card, window));
            y += ROW;
            any = true;
        }
        if any {
            let marks: Vec<(f64, String)> = spans(&axis, 62.0)
                .into_iter()
                .map(|s| (from_s + s, if s == 0.0 { "0".to_owned() } else { span(s) }))
                .collect();
            drawn.push(html! {
                (under(&axis, y - 4.0, &marks))
                text.m x=(at(RIGHT)) y=(at(y + 33.0)) text-anchor="end" { (clock) }
            });
            y += SCALE;
        }
    }
    let said: Vec<String> = rows.iter().map(|row| format!("{}: {}, {}", row[0], row[1], row[2])).collect();
    Figure {
        id,
        title: "Today’s windows".to_owned(),
        says: format!("Time strip. {}.", said.join(". ")),
        size: [712.0, y + 4.0],
        drawing: html! { @for part in &drawn { (part) } },
        legend: html! {
            "band: inside the window, its ends as soft as the forecast is unsure · " b { "|" } " printed on the product, never loosened · "
            b { "▼" } " plan · " b { "●" } " done"
            @if now_s.is_some() { " · upright line: now" }
        },
        heads: ["step", "not before", "not after", "printed", "taught"].map(str::to_owned).to_vec(),
        rows,
    }
    .markup()
}

fn row(card: &Card, window: &Window, axis: &Axis, y: f64, now_s: Option<f64>, id: &str) -> Markup {
    let start = |origin: ClockOrigin| start_of(card, origin);
    let top = y + 17.0;
    let gradient = format!("{id}-{}", window.action.word().replace(' ', "-"));
    let none = window.state == WindowState::NoWindow;
    let open = |t_s: f64| match none {
        true => 0.0,
        false => openness(&window.opens, t_s, &start).min(openness(&window.closes, t_s, &start)),
    };
    let ticks: Vec<f64> = [&window.opens, &window.closes]
        .into_iter()
        .flat_map(|edge| &edge.instructed)
        .map(|limit| limit.at_s)
        .filter(|at_s| axis.holds(*at_s))
        .collect();
    let label = |edge: &Edge| {
        let when = binding(card, edge)?;
        let word = if edge.bound == Bound::Minimum { "from" } else { "until" };
        let beyond =
            if edge.beyond_checked && edge.decided_by == DecidedBy::Forecast { " or longer" } else { "" };
        let by = match edge.decided_by {
            DecidedBy::Instruction => ", printed",
            DecidedBy::Forecast => ", forecast",
            DecidedBy::Nothing => "",
        };
        // The clock stands under the row already.
        let when = when.split(" from ").next().unwrap_or(&when).to_owned();
        let when = when.trim_end_matches(" after removal").trim_end_matches(" after pouring").to_owned();
        Some(format!("{word} {when}{beyond}{by}"))
    };
    let (opens, closes) = (label(&window.opens), label(&window.closes));
    html! {
        defs {
            linearGradient id=(gradient) x1=(at(axis.start)) x2=(at(axis.end)) y1="0" y2="0" gradientUnits="userSpaceOnUse" {
                @for stop in 0..=STOPS {
                    @let share = stop as f64 / STOPS as f64;
                    stop.band offset=(format!("{share:.4}")) stop-opacity=(format!("{:.2}", open(axis.value(share)))) {}
                }
            }
        }
        text.lab x="0" y=(at(top + 15.0)) { (verb(window.action)) }
        rect.lane x=(at(axis.start)) y=(at(top)) width=(at(axis.end - axis.start)) height=(at(BAND)) {}
        rect x=(at(axis.start)) y=(at(top)) width=(at(axis.end - axis.start)) height=(at(BAND)) fill={ "url(#" (gradient) ")" } {}
        @for tick in ticks {
            line.tick x1=(at(axis.place(tick))) x2=(at(axis.place(tick))) y1=(at(top - 5.0)) y2=(at(top + BAND + 5.0)) {}
        }
        @if let Some(planned_s) = window.planned_s.filter(|s| axis.holds(*s)) {
            @let x = axis.place(planned_s);
            @if window.stamped {
                circle.done cx=(at(x)) cy=(at(top + 0.5 * BAND)) r="5.5" {}
            } @else {
                path.plan d=(format!("M{} {}l-6 -9h12z", at(x), at(top + 3.0))) {}
            }
        }
        @if let Some(now_s) = now_s.filter(|s| axis.holds(*s)) {
            line.now x1=(at(axis.place(now_s))) x2=(at(axis.place(now_s))) y1=(at(top - 9.0)) y2=(at(top + BAND + 9.0)) {}
        }
        @if window.state == WindowState::NoWindow {
            text.alarm x=(at(axis.start)) y=(at(top - 4.0)) { "no window: it opens after it has closed" }
        } @else if let Some(words) = opens {
            text.m x=(at(axis.start)) y=(at(top - 4.0)) { (words) }
        }
        @if let Some(words) = closes {
            text.m x=(at(axis.end)) y=(at(top + BAND + 14.0)) text-anchor="end" { (words) }
        }
    }
}

fn verb(action: Action) -> &'static str {
    match action {
        Action::Mix => "be mixed",
        Action::Seat => "seat",
        Action::Remove => "take out",
        Action::Pour => "pour",
        Action::Separate => "separate",
    }
}

fn table_row(card: &Card, window: &Window) -> Vec<String> {
    let end = |edge: &Edge| {
        let Some(when) = binding(card, edge) else { return "nothing says".to_owned() };
        let forecast = edge
            .forecast_s
            .map(|interval| format!("; forecast {} {}", followed(interval, edge), from(card, edge.origin)));
        format!("{when}{}", forecast.unwrap_or_default())
    };
    let edges = [&window.opens, &window.closes];
    let printed: Vec<String> = edges
        .iter()
        .flat_map(|edge| &edge.instructed)
        .map(|limit| format!("{} {} ({})", span(limit.seconds), from(card, limit.origin), limit.product))
        .collect();
    let taught: Vec<String> = edges
        .iter()
        .flat_map(|edge| &edge.taught)
        .map(|limit| match limit.seconds {
            [low, high] if low == high => format!("{} {}", span(low), from(card, limit.origin)),
            [low, high] => format!("{} to {} {}", span(low), span(high), from(card, limit.origin)),
        })
        .collect();
    let or = |list: Vec<String>, none: &str| if list.is_empty() { none.to_owned() } else { list.join("; ") };
    let opens = match window.state {
        WindowState::NoWindow => format!("NO WINDOW: {}", end(&window.opens)),
        _ => end(&window.opens),
    };
    vec![
        verb(window.action).to_owned(),
        opens,
        end(&window.closes),
        or(printed, "nothing entered: consult the instructions"),
        or(taught, "–"),
    ]
}

/// A row of the strip of what waits.
pub struct Waits {
    /// Code.
    pub code: String,
    /// From when it may be poured, min from the left end.
    pub ready_min: f64,
    /// Until when, min; none without an end.
    pub until_min: Option<f64>,
    /// When its mix is begun, min; none where it shares one.
    pub mix_min: Option<f64>,
    /// When it is poured, from and to, min.
    pub pour_min: [f64; 2],
    /// Too late.
    pub late: bool,
    /// Which pair of hands, from 1.
    pub hands: usize,
    /// In words, for the table.
    pub says: Vec<String>,
}

/// What waits to be poured on one strip, in its order.
pub fn queue_strip(rows: &[&Waits], clock: impl Fn(f64) -> String) -> Markup {
    const HIGH: f64 = 38.0;
    let last = rows.iter().map(|row| row.pour_min[1]).fold(10.0, f64::max);
    let axis = Axis::even(0.0, (last * 1.25 / 5.0).ceil() * 5.0, LEFT, RIGHT);
    let height = rows.len() as f64 * HIGH + 10.0;
    let marks: Vec<(f64, String)> = axis.ticks(6).into_iter().map(|minute| (minute, clock(minute))).collect();
    Figure {
        id: "queue",
        title: "What to pour, in this order".to_owned(),
        says: format!("{} impressions on one time strip, in the order in which to pour them.", rows.len()),
        size: [712.0, height + 34.0],
        drawing: html! {
            @for (place, row) in rows.iter().enumerate() {
                @let y = 8.0 + place as f64 * HIGH;
                @let from = axis.held(row.ready_min);
                @let to = axis.held(row.until_min.unwrap_or(axis.to));
                text.lab x="0" y=(at(y + 17.0)) { (row.code) }
                rect.lane x=(at(axis.start)) y=(at(y + 3.0)) width=(at(axis.end - axis.start)) height="20" {}
                rect.band x=(at(from)) y=(at(y + 3.0)) width=(at((to - from).max(0.0))) height="20" {}
                @if let Some(until) = row.until_min.filter(|until| axis.holds(*until)) {
                    line.tick x1=(at(axis.place(until))) x2=(at(axis.place(until))) y1=(at(y - 2.0)) y2=(at(y + 28.0)) {}
                }
                @if let Some(mix) = row.mix_min {
                    @let (x, end) = (axis.held(mix), axis.held(row.pour_min[0]));
                    rect.mix x=(at(x)) y=(at(y + 9.0)) width=(at((end - x).max(1.0))) height="8" {}
                }
                @let (x, end) = (axis.held(row.pour_min[0]), axis.held(row.pour_min[1]));
                rect.pour x=(at(x)) y=(at(y + 5.0)) width=(at((end - x).max(3.0))) height="16" {}
                @if row.late { text.alarm x=(at(end + 6.0)) y=(at(y + 17.0)) { "late" } }
                @else if row.hands == 2 { text.m x=(at(end + 6.0)) y=(at(y + 17.0)) { "second hands" } }
            }
            (under(&axis, height - 2.0, &marks))
        },
        legend: html! {
            "pale band: may be poured · " b { "|" } " must have been begun · thin bar: mixing the stone · solid bar: pouring"
        },
        heads: ["impression", "mix", "pour", "ready from", "begin by"].map(str::to_owned).to_vec(),
        rows: rows.iter().map(|row| row.says.clone()).collect(),
    }
    .markup()
}
