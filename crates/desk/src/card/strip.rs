//! The time strip in text: time runs to the right, a window is a band whose ends are soft where the forecast is unsure, the
//! printed limit is a hard tick, the plan a mark, the present a line.

use chain::statistics::Interval;
use chain::windows::{Edge, Window};
use terms::{Bound, ClockOrigin};

use crate::digits::span;

/// Columns of the band.
const WIDTH: usize = 58;

/// One strip: what it is, and where the clock of its axis starts.
pub struct Axis {
    /// Left end, s from the start of mixing.
    pub from_s: f64,
    /// Right end, s from the start of mixing.
    pub to_s: f64,
    /// Logarithmic beyond the first minute.
    pub logarithmic: bool,
}

impl Axis {
    fn column(&self, t_s: f64) -> Option<usize> {
        let (t, end) = (t_s - self.from_s, self.to_s - self.from_s);
        let share = if self.logarithmic { scaled(t) / scaled(end) } else { t / end };
        (0.0..=1.0).contains(&share).then(|| ((share * WIDTH as f64) as usize).min(WIDTH - 1))
    }

    fn time_s(&self, column: usize) -> f64 {
        let share = (column as f64 + 0.5) / WIDTH as f64;
        let end = self.to_s - self.from_s;
        self.from_s + if self.logarithmic { unscaled(share * scaled(end)) } else { share * end }
    }

    /// A line of marks under the band: three labels, each under its place.
    pub fn scale(&self) -> String {
        let mut line = vec![' '; WIDTH];
        let end = self.to_s - self.from_s;
        for share in [0.0, 0.5, 1.0] {
            let label = span(if self.logarithmic { unscaled(share * scaled(end)) } else { share * end });
            let width = label.chars().count();
            let at = ((share * WIDTH as f64) as usize)
                .saturating_sub((share * width as f64) as usize)
                .min(WIDTH - width);
            for (offset, character) in label.chars().enumerate() {
                line[at + offset] = character;
            }
        }
        line.into_iter().collect::<String>().trim_end().to_owned()
    }
}

fn scaled(t_s: f64) -> f64 {
    (1.0 + t_s.max(0.0) / 60.0).ln()
}

fn unscaled(value: f64) -> f64 {
    60.0 * (value.exp() - 1.0)
}

/// The band of a window. `start_of` gives the moment from which a clock counts, s from the start of mixing.
pub fn band(
    window: &Window,
    axis: &Axis,
    now_s: Option<f64>,
    start_of: impl Fn(ClockOrigin) -> f64,
) -> String {
    let mut line: Vec<char> = (0..WIDTH)
        .map(|column| {
            let t_s = axis.time_s(column);
            let open = openness(&window.opens, t_s, &start_of).min(openness(&window.closes, t_s, &start_of));
            shade(open)
        })
        .collect();
    for edge in [&window.opens, &window.closes] {
        for limit in &edge.instructed {
            if let Some(column) = axis.column(start_of(limit.origin) + limit.seconds) {
                line[column] = '|';
            }
        }
    }
    if let Some(column) = window.planned_s.and_then(|t_s| axis.column(t_s)) {
        line[column] = if window.stamped { '●' } else { '▼' };
    }
    if let Some(column) = now_s.and_then(|t_s| axis.column(t_s)) {
        line[column] = '¦';
    }
    line.into_iter().collect::<String>().trim_end().to_owned()
}

/// How open an end is at a moment, 0 to 1: the share of the forecast for which the moment lies inside, nothing beyond a
/// printed limit.
pub fn openness(edge: &Edge, t_s: f64, start_of: &impl Fn(ClockOrigin) -> f64) -> f64 {
    let inside = |limit_s: f64| match edge.bound {
        Bound::Minimum => t_s >= limit_s,
        Bound::Maximum => t_s <= limit_s,
    };
    if edge.instructed.iter().any(|limit| !inside(start_of(limit.origin) + limit.seconds)) {
        return 0.0;
    }
    let Some(interval) = edge.forecast_s else { return 1.0 };
    let passed = passed(interval, t_s - start_of(edge.origin));
    match edge.bound {
        Bound::Minimum => passed,
        Bound::Maximum => 1.0 - passed,
    }
}

/// Roughly the probability that a moment known by its interval has passed: linear between its three figures.
fn passed(interval: Interval, t_s: f64) -> f64 {
    let Interval { low, mid, high } = interval;
    match t_s {
        t if t < low => 0.0,
        t if t < mid => 0.05 + 0.45 * (t - low) / (mid - low).max(1e-9),
        t if t < high => 0.5 + 0.45 * (t - mid) / (high - mid).max(1e-9),
        _ => 1.0,
    }
}

fn shade(open: f64) -> char {
    match open {
        o if o >= 0.95 => '█',
        o if o >= 0.5 => '▓',
        o if o >= 0.2 => '▒',
        o if o > 0.04 => '░',
        _ => '·',
    }
}
