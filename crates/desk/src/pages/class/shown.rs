//! What the chain says of a state: one forecast with its curves and named numbers of the same samples.

use std::collections::VecDeque;
use std::sync::{Arc, Mutex, PoisonError};

use case_file::Case;
use chain::statistics::Interval;
use chain::{ChainError, Components, Effort, Forecast, Profile, Series, Setting};
use terms::ClockOrigin;

use super::foresee::ASKED;
use crate::load::{self, Known};

/// A first answer while a knob moves.
pub const FIRST: Effort = Effort { points: 8 };
/// What a link shows, so that it shows the same everywhere: 512 samples.
pub const FIXED: Effort = Effort { points: 64 };

/// From the start of mixing, the moments of the curves of setting lie this far apart, s.
const APART_S: f64 = 20.0;
/// Nothing is followed longer than this, s.
const LONGEST_S: f64 = 1500.0;
/// Moments through the thickness, s after seating.
const MOMENTS: [f64; 5] = [5.0, 60.0, 120.0, 240.0, 480.0];
/// States that are kept at hand; each is a pure function of its key.
const KEPT: usize = 24;

/// A state as the chain sees it.
pub struct Shown {
    /// The case.
    pub case: Case,
    /// Its forecast.
    pub forecast: Forecast,
    /// Named numbers, a value a sample.
    pub series: Vec<Series>,
    /// What holding is made of.
    pub parts: Components,
    /// Cure and temperature from the start of mixing.
    pub setting: Setting,
    /// Through the thickness; not in a first answer.
    pub profile: Option<Profile>,
}

impl Shown {
    /// Values of a number in each sample; empty when the case has no such number.
    pub fn values(&self, id: &str) -> &[f64] {
        self.series.iter().find(|series| series.id == id).map_or(&[], |series| &series.values)
    }

    /// Removal, s from the start of mixing.
    pub fn removed_s(&self) -> f64 {
        self.forecast.origin_s(ClockOrigin::Removal)
    }

    /// The interval of a number.
    pub fn interval(&self, id: &str) -> Option<Interval> {
        let values = self.values(id);
        Interval::of(values, &vec![1.0; values.len()])
    }
}

/// The state of a case, from those at hand or made now.
///
/// # Errors
/// What the chain refuses.
pub fn shown(case: &Case, known: &Known, effort: Effort) -> Result<Arc<Shown>, ChainError> {
    static AT_HAND: Mutex<VecDeque<(String, Arc<Shown>)>> = Mutex::new(VecDeque::new());
    let key = format!("{} {}\n{}", known.parameters.hash(), effort.points, case_file::write(case));
    let locked = || AT_HAND.lock().unwrap_or_else(PoisonError::into_inner);
    if let Some((_, shown)) = locked().iter().find(|(made, _)| *made == key) {
        return Ok(Arc::clone(shown));
    }
    let shown = Arc::new(make(case, known, effort)?);
    let mut at_hand = locked();
    at_hand.push_back((key, Arc::clone(&shown)));
    if at_hand.len() > KEPT {
        at_hand.pop_front();
    }
    Ok(shown)
}

fn make(case: &Case, known: &Known, effort: Effort) -> Result<Shown, ChainError> {
    let Case { situation, route, .. } = case;
    let (parameters, limits) = (&known.parameters, known.limits(case));
    // A plan of a demo begins at one moment, on any day.
    let now = load::present(case, terms::Instant::from_millis(0));
    let forecast = known.forecast(case, effort, now)?;
    let ids: Vec<&str> = ASKED.iter().map(|asked| asked.id).collect();
    let series = chain::sampled(situation, route, parameters, &limits, effort, now, &ids)?.values;
    let parts = chain::components(situation, route, parameters, &limits, effort, now)?;
    let ready_s = forecast.quantity("window.remove.opens").map_or(0.0, |quantity| quantity.interval.high);
    let seated_s = forecast.origin_s(ClockOrigin::InTheMouth);
    let wanted_s = f64::max(forecast.origin_s(ClockOrigin::Removal), seated_s + 1.1 * ready_s) + 60.0;
    let last = (wanted_s.min(LONGEST_S) / APART_S).ceil() as usize;
    let moments: Vec<f64> = (0..=last).map(|place| place as f64 * APART_S).collect();
    let setting = chain::setting(situation, route, parameters, &limits, effort, now, &moments)?;
    let profile = match effort == FIXED {
        true => Some(chain::profile(situation, route, &[], &[], parameters, &limits, &MOMENTS, now)?),
        false => None,
    };
    Ok(Shown { case: case.clone(), forecast, series, parts, setting, profile })
}
