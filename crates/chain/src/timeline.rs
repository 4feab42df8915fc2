//! Stamps and the present moment on one axis: seconds from the start of mixing.

use terms::{Instant, Route, Stamp, Step};

/// What is stamped, s from the start of mixing, and how far the present is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Timeline {
    /// Start of mixing.
    pub start: Instant,
    /// Whether the start is a stamp. Without one a plan starts now, and a record is counted back from its first stamp.
    pub start_stamped: bool,
    /// The present.
    pub now_s: f64,
    seated_s: Option<f64>,
    removed_s: Option<f64>,
    poured_s: Option<f64>,
    separated_s: Option<f64>,
}

/// Removal counted back from when neither its stamp nor a plan says how long the tray was in the mouth, s.
const USUAL_IN_MOUTH_S: f64 = 240.0;

impl Timeline {
    /// Whether anything has been stamped.
    pub fn is_stamped(&self) -> bool {
        self.start_stamped
            || [self.seated_s, self.removed_s, self.poured_s, self.separated_s].iter().any(Option::is_some)
    }

    /// Places stamps and present on the axis. `usual_seat_s` is used to count back from a record whose first stamp is later
    /// than the start of mixing.
    pub fn of(route: &Route, stamps: &[Stamp], now: Instant, usual_seat_s: f64) -> Timeline {
        let stamped = |step: Step| stamps.iter().find(|stamp| stamp.step == step).map(|stamp| stamp.at);
        let seat_s = route.plan.seat_after_s.known().unwrap_or(usual_seat_s);
        let remove_s = seat_s + route.plan.remove_after_s.known().unwrap_or(USUAL_IN_MOUTH_S);
        let counted_back = [
            (Step::MixStarted, 0.0),
            (Step::Seated, seat_s),
            (Step::Removed, remove_s),
            (Step::Poured, remove_s + route.planned_holding_s()),
            (Step::Separated, remove_s + route.planned_holding_s() + 3600.0),
        ]
        .into_iter()
        .find_map(|(step, offset_s)| stamped(step).map(|at| at.plus_seconds(-offset_s)));
        let start = counted_back.unwrap_or(now);
        let since = |step| stamped(step).map(|at| at.seconds_since(start));
        Timeline {
            start,
            start_stamped: stamped(Step::MixStarted).is_some(),
            now_s: now.seconds_since(start),
            seated_s: since(Step::Seated),
            removed_s: since(Step::Removed),
            poured_s: since(Step::Poured),
            separated_s: since(Step::Separated),
        }
    }

    /// The stamp of a step, s from the start of mixing.
    pub fn stamped_s(&self, step: Step) -> Option<f64> {
        match step {
            Step::MixStarted => self.start_stamped.then_some(0.0),
            Step::Seated => self.seated_s,
            Step::Removed => self.removed_s,
            Step::Poured => self.poured_s,
            Step::Separated => self.separated_s,
        }
    }

    /// When a step happens: its stamp; or its plan, not after a later step that is stamped, and not before the present once
    /// the clock runs.
    pub fn at_s(&self, step: Step, planned_s: f64) -> f64 {
        if let Some(at_s) = self.stamped_s(step) {
            return at_s;
        }
        let later = Step::ALL.iter().filter(|&&other| other > step).find_map(|&other| self.stamped_s(other));
        match later {
            Some(later_s) => planned_s.min(later_s),
            None if self.start_stamped => planned_s.max(self.now_s),
            None => planned_s,
        }
    }

    /// When stamps or the clock decide seating: its stamp, a later stamp that comes before the usual time, or the present
    /// when the usual time has passed; none when it is as planned.
    pub fn forced_seat_s(&self, usual_s: f64) -> Option<f64> {
        let at_s = self.at_s(Step::Seated, usual_s);
        (self.seated_s.is_some() || at_s != usual_s).then_some(at_s)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_clock_that_runs_pushes_what_has_not_happened() {
        let at = Instant::from_millis;
        let timeline = Timeline {
            start: at(0),
            start_stamped: true,
            now_s: 100.0,
            seated_s: None,
            removed_s: None,
            poured_s: None,
            separated_s: None,
        };
        assert_eq!(timeline.at_s(Step::Seated, 75.0), 100.0);
        assert_eq!(timeline.at_s(Step::Removed, 300.0), 300.0);
        assert_eq!(timeline.forced_seat_s(75.0), Some(100.0));
        let removed = Timeline { removed_s: Some(90.0), ..timeline };
        assert_eq!(removed.at_s(Step::Seated, 75.0), 75.0);
        assert_eq!(removed.at_s(Step::Seated, 120.0), 90.0);
        assert_eq!(removed.at_s(Step::Poured, 95.0), 100.0);
        let plan = Timeline { start_stamped: false, ..timeline };
        assert_eq!(plan.at_s(Step::Seated, 75.0), 75.0);
        assert_eq!(plan.forced_seat_s(75.0), None);
    }
}
