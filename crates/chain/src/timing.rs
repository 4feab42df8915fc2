//! Working and setting time of a route at the temperature of its water or room, and the inverse: the temperature for a
//! wanted working time or a wanted temperature of the mix.
//!
//! The samples are those of a forecast, run to removal; nothing is fitted beside them. The temperature enters through the heat balance of
//! powder, water and bowl, or as that of the pastes, and the working time falls as it rises. The inverse brackets the wanted time between
//! the ends of the allowed range and halves, so that both directions agree to the tolerance of the halving.

use ledger::{Limits, Parameters};
use terms::{Fact, Instant, Route, Situation, ranges};

use crate::course::Premises;
use crate::error::ChainError;
use crate::mouth::HORIZON_S;
use crate::samples::{self, Effort, Sample};
use crate::statistics::Interval;

/// Which temperature is in the user's hand.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Handle {
    /// The water that powder is mixed with.
    Water,
    /// The room, and with it cartridges, tubes and tray.
    Room,
}

/// What a temperature gives.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct Timing {
    /// Which temperature.
    pub handle: Handle,
    /// That temperature, K.
    pub at_k: f64,
    /// The mix at the end of mixing, K.
    pub mix_k: Interval,
    /// From the start of mixing to the end of working, s.
    pub working_s: Interval,
    /// From the tray in place until the slowest place may be removed, s; what has not set by the end of what is followed counts there.
    pub in_mouth_s: Interval,
    /// Whether more than one in twenty has not set by then.
    pub some_never_set: bool,
}

/// What is wanted of a temperature.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Aim {
    /// This working time, s.
    Working(f64),
    /// This temperature of the mix, K.
    Mix(f64),
}

/// The temperature for an aim.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Wanted {
    /// It is reached.
    Reached(Timing),
    /// Even the coldest allowed is too warm for it.
    ColdestNotEnough(Timing),
    /// Even the warmest allowed is too cold for it.
    WarmestNotEnough(Timing),
}

/// Halvings of the bracket: the range of 44 K to far below a thousandth of a degree.
const HALVINGS: u32 = 26;

/// Which temperature a route is steered by; none for agar, whose baths decide.
pub fn handle(route: &Route) -> Option<Handle> {
    match route.material.class {
        class if class.is_alginate() => Some(Handle::Water),
        class if class.is_hydrocolloid() => None,
        _ => Some(Handle::Room),
    }
}

/// Working and setting time with the water, or for pastes the room, at this temperature.
///
/// # Errors
/// A temperature outside its range, or what a forecast refuses.
#[allow(clippy::too_many_arguments, reason = "a forecast's, and the temperature")]
pub fn timing(
    situation: &Situation,
    route: &Route,
    handle: Handle,
    at_k: f64,
    parameters: &Parameters,
    limits: &Limits,
    effort: Effort,
    now: Instant,
) -> Result<Timing, ChainError> {
    let mut situation = situation.clone();
    match handle {
        Handle::Water => situation.water_temperature_k = Fact::Known(at_k),
        Handle::Room => situation.room_temperature_k = Fact::Known(at_k),
    }
    let premises = Premises::of(&situation, route, &[], &[], parameters, limits, now)?;
    let samples = samples::to_removal(&premises.setup(), Effort::of_points(effort.points).points, |_| false)?;
    let interval = |value: &dyn Fn(&Sample) -> f64| {
        let values: Vec<f64> = samples.iter().map(value).collect();
        Interval::of(&values, &vec![1.0; values.len()])
            .ok_or_else(|| ChainError::Kernel("no sample".to_owned()))
    };
    let in_mouth_s = interval(&|sample| sample.mouth.ready_after_seat_s.min(HORIZON_S))?;
    Ok(Timing {
        handle,
        at_k,
        mix_k: interval(&|sample| sample.mouth.mix_t_k)?,
        working_s: interval(&|sample| sample.mouth.working_end_s)?,
        some_never_set: in_mouth_s.high >= HORIZON_S,
        in_mouth_s,
    })
}

/// The temperature at which half of the samples have at least this working time, or at most this temperature of the mix.
///
/// # Errors
/// As for [`timing`].
#[allow(clippy::too_many_arguments, reason = "a forecast's, and the aim")]
pub fn steered(
    situation: &Situation,
    route: &Route,
    handle: Handle,
    aim: Aim,
    parameters: &Parameters,
    limits: &Limits,
    effort: Effort,
    now: Instant,
) -> Result<Wanted, ChainError> {
    let range = match handle {
        Handle::Water => &ranges::WATER_TEMPERATURE,
        Handle::Room => &ranges::ROOM_TEMPERATURE,
    };
    let at = |at_k: f64| timing(situation, route, handle, at_k, parameters, limits, effort, now);
    let cold_enough = |timing: &Timing| match aim {
        Aim::Working(s) => timing.working_s.mid >= s,
        Aim::Mix(k) => timing.mix_k.mid <= k,
    };
    let (mut cold, mut warm) = (at(range.min)?, at(range.max)?);
    if !cold_enough(&cold) {
        return Ok(Wanted::ColdestNotEnough(cold));
    }
    if cold_enough(&warm) {
        return Ok(Wanted::WarmestNotEnough(warm));
    }
    for _ in 0..HALVINGS {
        let middle = at(0.5 * (cold.at_k + warm.at_k))?;
        if cold_enough(&middle) {
            cold = middle;
        } else {
            warm = middle;
        }
    }
    Ok(Wanted::Reached(cold))
}
