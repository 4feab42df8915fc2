//! Axes: from values to places, and the round values to write beside them.

use maud::{Markup, html};

use super::at;

/// A straight or widening axis.
#[derive(Clone, Copy, Debug)]
pub struct Axis {
    /// Value at the near end.
    pub from: f64,
    /// Value at the far end.
    pub to: f64,
    /// Place of the near end.
    pub start: f64,
    /// Place of the far end.
    pub end: f64,
    /// For times that run from minutes to days: logarithmic beyond this many of its unit.
    pub widening: Option<f64>,
}

impl Axis {
    /// An even axis.
    pub fn even(from: f64, to: f64, start: f64, end: f64) -> Axis {
        let to = if to > from { to } else { from + 1.0 };
        Axis { from, to, start, end, widening: None }
    }

    /// The place of a value, also beyond the ends.
    pub fn place(&self, value: f64) -> f64 {
        let share = match self.widening {
            None => (value - self.from) / (self.to - self.from),
            Some(knee) => {
                let scaled = |value: f64| (1.0 + (value - self.from).max(0.0) / knee).ln();
                scaled(value) / scaled(self.to)
            }
        };
        self.start + share * (self.end - self.start)
    }

    /// The value at a share of the axis.
    pub fn value(&self, share: f64) -> f64 {
        match self.widening {
            None => self.from + share * (self.to - self.from),
            Some(knee) => {
                let whole = (1.0 + (self.to - self.from) / knee).ln();
                self.from + knee * ((share * whole).exp() - 1.0)
            }
        }
    }

    /// Whether a value lies on it.
    pub fn holds(&self, value: f64) -> bool {
        (self.from..=self.to).contains(&value)
    }

    /// The place of a value, held at the ends.
    pub fn held(&self, value: f64) -> f64 {
        self.place(value.clamp(self.from, self.to))
    }

    /// Round values on an even axis, `about` of them.
    pub fn ticks(&self, about: usize) -> Vec<f64> {
        let raw = (self.to - self.from) / about.max(1) as f64;
        let decade = 10f64.powf(raw.log10().floor());
        let step = [1.0, 2.0, 5.0, 10.0].map(|m| m * decade).into_iter().find(|step| *step >= raw * 0.999);
        let step = step.unwrap_or(raw);
        let first = (self.from / step).ceil() as i64;
        (first..)
            .map(|k| k as f64 * step)
            .take_while(|value| *value <= self.to + 1e-9 * step)
            .take(40)
            .collect()
    }
}

/// Spans of time that a clock axis is marked with, s.
const SPANS: &[f64] = &[
    0.0,
    60.0,
    120.0,
    240.0,
    360.0,
    480.0,
    600.0,
    900.0,
    1800.0,
    3600.0,
    7200.0,
    14_400.0,
    28_800.0,
    43_200.0,
    86_400.0,
    172_800.0,
    345_600.0,
    604_800.0,
    1_209_600.0,
];

/// Spans to mark on an axis of seconds, so far apart that their labels do not meet.
pub fn spans(axis: &Axis, room: f64) -> Vec<f64> {
    let mut last = f64::NEG_INFINITY;
    let mut kept = Vec::new();
    for &s in SPANS.iter().filter(|s| axis.holds(axis.from + **s)) {
        let place = axis.place(axis.from + s);
        if place - last >= room && place + 0.5 * room <= axis.end + 0.6 * room {
            kept.push(s);
            last = place;
        }
    }
    kept
}

/// A path along points.
pub fn line(points: &[(f64, f64)]) -> String {
    let mut path = String::new();
    for (index, (x, y)) in points.iter().enumerate() {
        let verb = if index == 0 { 'M' } else { 'L' };
        path.push_str(&format!("{verb}{} {}", at(*x), at(*y)));
    }
    path
}

/// A closed path along an upper edge and back along a lower one.
pub fn band(upper: &[(f64, f64)], lower: &[(f64, f64)]) -> String {
    let around: Vec<(f64, f64)> = upper.iter().copied().chain(lower.iter().rev().copied()).collect();
    if around.is_empty() { String::new() } else { format!("{}Z", line(&around)) }
}

/// A horizontal axis of marks with labels under it.
pub fn under(axis: &Axis, y: f64, marks: &[(f64, String)]) -> Markup {
    html! {
        line.rule x1=(at(axis.start)) x2=(at(axis.end)) y1=(at(y)) y2=(at(y)) {}
        @for (value, label) in marks {
            line.rule x1=(at(axis.place(*value))) x2=(at(axis.place(*value))) y1=(at(y)) y2=(at(y + 5.0)) {}
            text.m x=(at(axis.place(*value))) y=(at(y + 19.0)) text-anchor="middle" { (label) }
        }
    }
}

/// An upright axis of marks with labels on its left and faint rules across.
pub fn beside(axis: &Axis, across: &Axis, marks: &[(f64, String)]) -> Markup {
    html! {
        @for (value, label) in marks {
            line.faint x1=(at(across.start)) x2=(at(across.end)) y1=(at(axis.place(*value))) y2=(at(axis.place(*value))) {}
            text.m x=(at(across.start - 7.0)) y=(at(axis.place(*value) + 4.5)) text-anchor="end" { (label) }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_and_values_are_each_others_inverse() {
        for widening in [None, Some(60.0)] {
            let axis = Axis { widening, ..Axis::even(0.0, 86_400.0, 100.0, 700.0) };
            for share in [0.0, 0.1, 0.5, 0.9, 1.0] {
                let place = axis.place(axis.value(share));
                assert!((place - (100.0 + 600.0 * share)).abs() < 1e-6, "{share} {place}");
            }
        }
    }

    #[test]
    fn ticks_are_round_and_lie_on_the_axis() {
        assert_eq!(Axis::even(-13.0, 27.0, 0.0, 1.0).ticks(5), [-10.0, 0.0, 10.0, 20.0]);
        assert_eq!(Axis::even(0.0, 1.0, 0.0, 1.0).ticks(5), [0.0, 0.2, 0.4, 0.6000000000000001, 0.8, 1.0]);
    }

    #[test]
    fn labels_of_time_do_not_meet() {
        let axis = Axis { widening: Some(60.0), ..Axis::even(0.0, 604_800.0, 0.0, 600.0) };
        let places: Vec<f64> = spans(&axis, 60.0).iter().map(|s| axis.place(*s)).collect();
        assert!(places.len() > 4 && places.windows(2).all(|pair| pair[1] - pair[0] >= 60.0), "{places:?}");
    }
}
