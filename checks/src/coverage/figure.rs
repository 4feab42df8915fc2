//! The interval of a forecast for what a study measured.

use chain::Forecast;
use chain::report::{Budget, PourPoint};
use chain::size::Measure;
use chain::statistics::Interval;
use terms::Fact;

use super::spec::{Quantity, Row, Setting};
use crate::CheckError;
use crate::published::interval;

/// Low end, middle and high end in the unit of the row.
pub(super) fn of(row: &Row, setting: &Setting, forecast: &Forecast) -> Result<[f64; 3], CheckError> {
    let at = |point: fn(&PourPoint) -> Interval| at_pour(row, setting, forecast).map(point);
    let (interval, factor) = match (row.quantity, row.unit.as_str()) {
        (Quantity::DieDiameter, "µm") => (at(|point| point.diameter_m)?, 1e6),
        (Quantity::DieDiameter, "%") => {
            (at(|point| point.diameter_m)?, 100.0 / stated(setting.situation.die_diameter_m, "a diameter")?)
        }
        (Quantity::DieHeight, "µm") => (interval(forecast, "die.height")?, 1e6),
        (Quantity::MouldDiameter, "µm") => {
            let size_m = stated(setting.situation.die_diameter_m, "a diameter")?;
            let growth = interval(forecast, "stone.growth")?.mid * size_m;
            (moved(at(|point| point.diameter_m)?, -growth), 1e6)
        }
        (Quantity::Span, "µm") => (interval(forecast, "span")?, 1e6),
        (Quantity::Span, "%") => (interval(forecast, "span.share")?, 100.0),
        (Quantity::MouldSpan, "%") => {
            let growth = interval(forecast, "stone.growth")?.mid;
            (moved(interval(forecast, "span.share")?, -growth), 100.0)
        }
        (Quantity::FreeChange, "%") => {
            // The heat of the stone is part of the thermal strain of a mould and not of a specimen.
            let rewarming = interval(forecast, "strain.rewarming")?.mid;
            let parts = [
                interval(forecast, "strain.cure")?,
                moved(interval(forecast, "strain.thermal")?, -rewarming),
                at(|point| point.holding_strain)?,
            ];
            (negative(together(&parts)), 100.0)
        }
        (Quantity::HoldingChange, "%") => (negative(at(|point| point.holding_strain)?), 100.0),
        (Quantity::MassChange, "%") => (interval(forecast, "mass.change")?, 100.0),
        (Quantity::WorkingTime, "s") => (interval(forecast, "window.seat.closes")?, 1.0),
        (Quantity::SettingTime, "s") => (interval(forecast, "bowl.set")?, 1.0),
        (Quantity::RemovalTemperature, "°C") => {
            (moved(interval(forecast, "removed.temperature")?, -273.15), 1.0)
        }
        (Quantity::MarginalOpening, "µm") => (opening(forecast)?, 1e6),
        (quantity, unit) => {
            return Err(CheckError::Input {
                name: quantity.words().to_owned(),
                problem: format!("\"{unit}\" is not a unit of it"),
            });
        }
    };
    Ok([factor * interval.low, factor * interval.mid, factor * interval.high])
}

/// The interval when the study ended at another point than the forecast: on the logarithm, half widths and that of the factor add
/// in quadrature.
pub(super) fn widened([low, mid, high]: [f64; 3], factor: f64) -> [f64; 3] {
    let more = factor.ln();
    let by = |ratio: f64| ratio.ln().hypot(more).exp();
    if low > 0.0 { [mid / by(mid / low), mid, mid * by(high / mid)] } else { [low, mid, high] }
}

/// The opening as its budget has it: a card says only that it is beyond what was checked.
fn opening(forecast: &Forecast) -> Result<Interval, CheckError> {
    let missing = || CheckError::Model("no budget of the opening".to_owned());
    let of_opening = |budget: &&Budget| budget.measure == Measure::Opening;
    forecast.budgets.iter().find(of_opening).map(|budget| budget.interval_m).ok_or_else(missing)
}

/// The point of the pour curve at the time of the row, or at the end of holding.
fn at_pour<'a>(row: &Row, setting: &Setting, forecast: &'a Forecast) -> Result<&'a PourPoint, CheckError> {
    let after_s = row.after_h.map_or(setting.route.planned_holding_s(), |hours| 3600.0 * hours);
    let near = |point: &&PourPoint| (point.after_removal_s - after_s).abs() < 1.0;
    forecast.pour_curve.iter().find(near).ok_or_else(|| CheckError::Input {
        name: row.what.clone(),
        problem: format!("no point of the pour curve at {after_s} s"),
    })
}

fn stated(fact: Fact<f64>, what: &str) -> Result<f64, CheckError> {
    let missing = || CheckError::Input { name: what.to_owned(), problem: "is not stated".to_owned() };
    fact.known().ok_or_else(missing)
}

fn moved(interval: Interval, by: f64) -> Interval {
    Interval { low: interval.low + by, mid: interval.mid + by, high: interval.high + by }
}

fn negative(interval: Interval) -> Interval {
    Interval { low: -interval.high, mid: -interval.mid, high: -interval.low }
}

/// The interval of a sum of parts taken as independent: middles add, half widths add in quadrature on either side.
fn together(parts: &[Interval]) -> Interval {
    let mid: f64 = parts.iter().map(|part| part.mid).sum();
    let below: f64 = parts.iter().map(|part| (part.mid - part.low) * (part.mid - part.low)).sum();
    let above: f64 = parts.iter().map(|part| (part.high - part.mid) * (part.high - part.mid)).sum();
    Interval { low: mid - below.sqrt(), mid, high: mid + above.sqrt() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn another_end_point_widens_on_the_logarithm() {
        let [low, mid, high] = widened([50.0, 100.0, 200.0], 2.0);
        let both = (2.0_f64.ln() * 2.0_f64.sqrt()).exp();
        assert!(
            (mid - 100.0).abs() < 1e-12
                && (high / mid - both).abs() < 1e-12
                && (mid / low - both).abs() < 1e-12
        );
        assert_eq!(widened([50.0, 100.0, 200.0], 1.0)[0].round(), 50.0);
    }

    #[test]
    fn half_widths_add_in_quadrature_on_either_side() {
        let a = Interval { low: -3.0, mid: 0.0, high: 6.0 };
        let b = Interval { low: 6.0, mid: 10.0, high: 18.0 };
        assert_eq!(together(&[a, b]), Interval { low: 5.0, mid: 10.0, high: 20.0 });
        assert_eq!(negative(b), Interval { low: -18.0, mid: -10.0, high: -6.0 });
    }
}
