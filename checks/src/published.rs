//! Published measurements and facts of the trade against forecasts of the whole chain.

use std::collections::BTreeMap;
use std::sync::{Mutex, PoisonError};

use chain::statistics::Interval;
use chain::{Effort, Forecast};
use kernel::GAS_CONSTANT;
use ledger::Limits;
use terms::{Action, Fact, HoldingKind, Instant, Purpose, TrayKind, TrayMaterial};

use crate::cases::{Case, alginate, held, silicone};
use crate::{CheckError, Input, unknown_word};

pub(crate) fn compute(id: &str, input: &Input) -> Result<f64, CheckError> {
    match id {
        "alginate-time-ratio" => time_ratio("alginate", input),
        "water-only-activation" => water_only(),
        "alginate-in-air" => Ok(100.0 * middle(&forecast(&in_air(input)?)?, "strain.holding")?),
        "temperature-at-removal" => {
            let case = match input.word("material")? {
                "alginate" => alginate(None),
                "addition silicone" => silicone(input.number("relief_mm")?),
                other => return Err(unknown_word("material", other)),
            };
            Ok(middle(&forecast(&case)?, "removed.temperature")? - 273.15)
        }
        "silicone-die-width" => {
            position_of(&forecast(&silicone(input.number("relief_mm")?))?, "die.diameter", input)
        }
        "silicone-casts-over-days" => casts_over_days(input),
        "crown-trueness" => Ok(0.5e6 * middle(&forecast(&silicone(3.0))?, "die.diameter")?.abs()),
        "cross-arch-span" => cross_arch(input),
        "alginate-humidor" => humidor(input),
        "alginate-setting-taught" => setting(input),
        "alginate-directions" => directions(input),
        "silicone-waits-alginate-does-not" => waits(input),
        _ => Err(CheckError::Unknown(id.to_owned())),
    }
}

/// The forecast of a case from 8 x 128 samples. Rows of several checks ask for the same one, so each is made once.
pub(crate) fn forecast(case: &Case) -> Result<Forecast, CheckError> {
    static MADE: Mutex<BTreeMap<String, Forecast>> = Mutex::new(BTreeMap::new());
    let key = format!("{:?} {:?}", case.situation, case.route);
    if let Some(made) = MADE.lock().unwrap_or_else(PoisonError::into_inner).get(&key) {
        return Ok(made.clone());
    }
    let refused = |error: &dyn std::fmt::Display| CheckError::Model(error.to_string());
    let parameters = ledger::shipped().map_err(|error| refused(&error))?;
    let limits = Limits::of(&parameters).map_err(|error| refused(&error))?;
    let (effort, now) = (Effort::of_points(128), Instant::from_millis(1_790_000_000_000));
    let made = chain::forecast(&case.situation, &case.route, &[], &[], &parameters, &limits, effort, now)
        .map_err(|error| refused(&error))?;
    MADE.lock().unwrap_or_else(PoisonError::into_inner).insert(key, made.clone());
    Ok(made)
}

pub(crate) fn interval(forecast: &Forecast, id: &str) -> Result<Interval, CheckError> {
    let quantity = forecast.quantity(id).ok_or_else(|| CheckError::Model(format!("no {id}")))?;
    Ok(quantity.interval)
}

pub(crate) fn middle(forecast: &Forecast, id: &str) -> Result<f64, CheckError> {
    interval(forecast, id).map(|interval| interval.mid)
}

/// Where a measured value lies in a 90 % interval: -1 at its low end, 0 at its middle, +1 at its high end.
pub(crate) fn place(measured: f64, interval: Interval) -> f64 {
    if measured < interval.mid {
        (measured - interval.mid) / (interval.mid - interval.low)
    } else {
        (measured - interval.mid) / (interval.high - interval.mid)
    }
}

fn position_of(forecast: &Forecast, id: &str, input: &Input) -> Result<f64, CheckError> {
    Ok(place(1e-6 * input.number("measured_um")?, interval(forecast, id)?))
}

/// Where the measured ratio of times at two temperatures lies in the 90 % interval of the class.
fn time_ratio(class: &str, input: &Input) -> Result<f64, CheckError> {
    let parameters = ledger::shipped().map_err(|error| CheckError::Model(error.to_string()))?;
    let (_, energy) = parameters
        .find(&[class], "set.activation_energy")
        .map_err(|error| CheckError::Model(error.to_string()))?;
    let (cool_k, warm_k) = (input.number("cool_c")? + 273.15, input.number("warm_c")? + 273.15);
    let ratio = |p: f64| (energy.quantile(p) / GAS_CONSTANT * (1.0 / cool_k - 1.0 / warm_k)).exp();
    let class = Interval { low: ratio(0.05), mid: ratio(0.5), high: ratio(0.95) };
    Ok(place(input.number("cool_s")? / input.number("warm_s")?, class))
}

/// Apparent activation energy when only the water is warmed from 13 to 28 °C in a room at 25 °C, kJ/mol.
fn water_only() -> Result<f64, CheckError> {
    let set_s = |celsius: f64| {
        let mut case = alginate(None);
        case.situation.room_temperature_k = Fact::Known(298.15);
        case.situation.water_temperature_k = Fact::Known(273.15 + celsius);
        middle(&forecast(&case)?, "bowl.set")
    };
    let ratio = set_s(13.0)? / set_s(28.0)?;
    Ok(1e-3 * GAS_CONSTANT * ratio.ln() / (1.0 / 286.15 - 1.0 / 301.15))
}

/// Alginate of the class left in the room.
fn in_air(input: &Input) -> Result<Case, CheckError> {
    let mut case = alginate(None);
    case.route.holding = vec![held(HoldingKind::OpenAir, input.number("minutes")?)];
    Ok(case)
}

/// Where a published growth of casts, %, lies in the forecast for a pour after so many hours.
fn casts_over_days(input: &Input) -> Result<f64, CheckError> {
    let mut case = silicone(3.0);
    case.situation.room_humidity = Fact::Known(0.59);
    let forecast = forecast(&case)?;
    let after_s = 3600.0 * input.number("hours")?;
    let point = forecast
        .pour_curve
        .iter()
        .find(|point| (point.after_removal_s - after_s).abs() < 1.0)
        .ok_or(CheckError::Model("no such pour time".to_owned()))?;
    Ok(place(0.01 * input.number("measured_percent")? * 8e-3, point.diameter_m))
}

fn cross_arch(input: &Input) -> Result<f64, CheckError> {
    let mut case = silicone(4.0);
    case.situation.purpose = Purpose::Bridge;
    case.situation.span_m = Fact::Known(45e-3);
    case.route.tray.kind = TrayKind::Stock;
    case.route.tray.material = TrayMaterial::Metal;
    position_of(&forecast(&case)?, "span", input)
}

/// Where a published linear change in a humidor, %, shrinkage positive, lies in the forecast for a week.
fn humidor(input: &Input) -> Result<f64, CheckError> {
    let mut case = alginate(None);
    case.route.holding = vec![held(HoldingKind::SealedHumid, 7.0 * 1440.0)];
    Ok(place(0.01 * input.number("shrinkage_percent")?, interval(&forecast(&case)?, "strain.holding")?))
}

/// Middle of the readiness for removal, min from the start of mixing.
fn setting(input: &Input) -> Result<f64, CheckError> {
    let product = match input.word("type")? {
        "normal" => "demo-alginate-normal",
        "fast" => "demo-alginate-fast",
        other => return Err(unknown_word("type", other)),
    };
    let forecast = forecast(&alginate(Some(product)))?;
    let seat_s = forecast
        .windows
        .iter()
        .find(|window| window.action == Action::Seat)
        .and_then(|window| window.planned_s)
        .ok_or(CheckError::Model("no plan for seating".to_owned()))?;
    Ok((seat_s + middle(&forecast, "window.remove.opens")?) / 60.0)
}

/// Change of the middle setting time in the bowl, s, when water temperature or ratio changes.
fn directions(input: &Input) -> Result<f64, CheckError> {
    let set_s = |celsius: f64, ratio: f64| {
        let mut case = alginate(None);
        case.situation.water_temperature_k = Fact::Known(273.15 + celsius);
        case.route.mix.water_kg = Fact::Known(0.02 * ratio);
        middle(&forecast(&case)?, "bowl.set")
    };
    Ok(set_s(input.number("water_c")?, input.number("ratio")?)? - set_s(20.0, 2.17)?)
}

/// Hours after removal by which 5 % of the samples have left the limits of a crown, lying in the room.
fn waits(input: &Input) -> Result<f64, CheckError> {
    let case = match input.word("material")? {
        "addition silicone" => silicone(3.0),
        "alginate" => {
            let mut case = alginate(None);
            case.situation.purpose = Purpose::Crown;
            case.route.restoration = silicone(3.0).route.restoration;
            case
        }
        other => return Err(unknown_word("material", other)),
    };
    let forecast = forecast(&case)?;
    let pour = forecast.windows.iter().find(|window| window.action == Action::Pour);
    let closes = pour.and_then(|window| window.closes.forecast_s).map_or(0.0, |interval| interval.low);
    Ok(closes / 3600.0)
}
