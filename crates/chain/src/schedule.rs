//! The windows of a forecast: mix, seat, remove, pour, separate.

use terms::{Action, ClockOrigin, ImpressionClass, Route, Step};

use crate::contact::disinfected_after_s;
use crate::mouth::HORIZON_S;
use crate::samples::Sample;
use crate::statistics::Interval;
use crate::timeline::Timeline;
use crate::windows::{ForecastEnd, Origins, Sayings, Window};

/// What the samples say of the moments that decide the windows, s.
pub struct Moments {
    /// From removal: gas has gone and the disinfectant has had its time; none when there is neither.
    pub pourable_s: Option<Interval>,
    /// Share of the samples that would serve if poured at once.
    pub servable: f64,
    /// From the start of mixing: mixing must have ended.
    pub mixed_by_s: Interval,
    /// From the start of mixing: end of working.
    pub seated_by_s: Interval,
    /// From seating: ready for removal.
    pub ready_s: Interval,
    /// From removal: poured later, an impression that would have served no longer does; none when none would have.
    pub poured_by_s: Option<Interval>,
    /// From pouring: ready for separation.
    pub separable_s: Interval,
    /// Longest holding that was followed, s.
    pub holding_horizon_s: f64,
}

/// The moments of readiness of the samples; a place that has not set by the horizon counts at the horizon.
pub fn ready_s(samples: &[Sample], weights: &[f64]) -> Option<Interval> {
    let values: Vec<f64> =
        samples.iter().map(|sample| sample.mouth.ready_after_seat_s.min(HORIZON_S)).collect();
    Interval::of(&values, weights)
}

/// Builds the windows.
pub fn windows(
    route: &Route,
    timeline: &Timeline,
    sayings: &Sayings,
    moments: &Moments,
    separated_s: f64,
) -> Vec<Window> {
    let Origins { seated_s, removed_s, poured_s } = sayings.origins;
    let planned = |step: Step, at_s: f64| {
        let stamped = timeline.stamped_s(step);
        (Some(stamped.unwrap_or(at_s)), stamped.is_some())
    };
    let mix = sayings.window(
        Action::Mix,
        silent(ClockOrigin::StartOfMix, "mixing begins when everything is laid out"),
        end(
            moments.mixed_by_s,
            ClockOrigin::StartOfMix,
            false,
            "the end of working, less the time to load and seat",
        ),
        (None, false),
    );
    let seat = sayings.window(
        Action::Seat,
        silent(ClockOrigin::StartOfMix, "nothing is gained by waiting"),
        end(moments.seated_by_s, ClockOrigin::StartOfMix, false, "the mix in the room stops flowing"),
        planned(Step::Seated, seated_s),
    );
    let remove = sayings.window(
        Action::Remove,
        end(
            moments.ready_s,
            ClockOrigin::InTheMouth,
            moments.ready_s.high >= HORIZON_S,
            "the slowest place between tooth and tray has set",
        ),
        silent(ClockOrigin::InTheMouth, "how long a set impression may stay is not in this model yet"),
        planned(Step::Removed, removed_s),
    );
    let opens = match moments.pourable_s {
        Some(interval) => end(interval, ClockOrigin::Removal, false, opens_reason(route)),
        None => silent(ClockOrigin::Removal, "poured as soon as it is rinsed, disinfected and rinsed again"),
    };
    let closes_reason = match route.material.class {
        ImpressionClass::Alginate | ImpressionClass::ExtendedAlginate | ImpressionClass::Agar => {
            "held as planned, water lost, taken up or squeezed out brings sizes out of the limits"
        }
        ImpressionClass::Polyether => {
            "held as planned, cure, by-product and water from the air bring sizes out of the limits"
        }
        ImpressionClass::Polysulfide | ImpressionClass::CondensationSilicone => {
            "held as planned, cure and the loss of its by-product bring sizes out of the limits"
        }
        ImpressionClass::AdditionSilicone | ImpressionClass::VinylPolyetherHybrid => {
            "held as planned, cure and cooling bring sizes out of the limits"
        }
    };
    let closes_reason = match moments.servable {
        share if share < 0.95 => {
            format!("{closes_reason}; in {:.0} of 100 cases no pour time serves", 100.0 * (1.0 - share))
        }
        _ => closes_reason.to_owned(),
    };
    let closes = match moments.poured_by_s {
        Some(interval) => end(
            interval,
            ClockOrigin::Removal,
            interval.high >= 0.999 * moments.holding_horizon_s,
            &closes_reason,
        ),
        None => silent(ClockOrigin::Removal, "no pour time brings this route inside the limits"),
    };
    let pour = sayings.window(Action::Pour, opens, closes, planned(Step::Poured, poured_s));
    let separate = sayings.window(
        Action::Separate,
        end(
            moments.separable_s,
            ClockOrigin::Pour,
            false,
            "the stone has hydrated far enough to bear separation",
        ),
        silent(ClockOrigin::Pour, "damage by long contact is not in this model yet"),
        planned(Step::Separated, separated_s),
    );
    let mut windows = vec![mix, seat, remove, pour, separate];
    // Agar is not mixed: its clock starts when it leaves the tempering bath.
    windows.retain(|window| window.action != Action::Mix || route.material.class != ImpressionClass::Agar);
    windows
}

fn opens_reason(route: &Route) -> &'static str {
    let gas = matches!(
        route.material.class,
        ImpressionClass::AdditionSilicone | ImpressionClass::VinylPolyetherHybrid
    );
    match (gas, disinfected_after_s(route) > 0.0) {
        (true, true) => "hydrogen has gone and the disinfectant has had its time",
        (true, false) => "hydrogen from the cure no longer marks the stone",
        (false, _) => "the disinfectant has had its time",
    }
}

fn end(interval: Interval, origin: ClockOrigin, beyond_checked: bool, reason: &str) -> ForecastEnd {
    ForecastEnd { interval_s: Some(interval), origin, beyond_checked, reason: reason.to_owned() }
}

fn silent(origin: ClockOrigin, reason: &str) -> ForecastEnd {
    ForecastEnd { interval_s: None, origin, beyond_checked: false, reason: reason.to_owned() }
}
