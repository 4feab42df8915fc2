//! Windows: not before, not after; what is forecast, what is printed, what is taught, and which of them binds.
//!
//! The model may lengthen a printed minimum or shorten a printed maximum, never the reverse. A minimum above a maximum
//! means there is no window. Without a printed instruction the answer is to consult it, not to go.

use ledger::{Instruction, Parameters, Taught};
use terms::{Action, Bound, ClockOrigin, Grade, ImpressionClass, ProductId, Technique};

use crate::statistics::Interval;

/// Moments that clocks count from, s from the start of mixing.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Origins {
    /// Tray in place.
    pub seated_s: f64,
    /// Removal.
    pub removed_s: f64,
    /// Stone poured.
    pub poured_s: f64,
}

impl Origins {
    /// Seconds from the start of mixing at which this clock starts.
    pub fn start_s(&self, origin: ClockOrigin) -> f64 {
        match origin {
            ClockOrigin::StartOfMix => 0.0,
            ClockOrigin::InTheMouth => self.seated_s,
            ClockOrigin::Removal => self.removed_s,
            ClockOrigin::Pour => self.poured_s,
        }
    }
}

/// A printed limit as it bears on this case.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Instructed {
    /// Product it is printed on.
    pub product: String,
    /// Printed time, s.
    pub seconds: f64,
    /// From when it counts.
    pub origin: ClockOrigin,
    /// The moment it means in this case, s from the start of mixing.
    pub at_s: f64,
    /// Whether it is stated for the temperature of this room. It binds all the same.
    pub stated_for_this_room: bool,
    /// The print's words on conditions.
    pub conditions: String,
    /// Where it is printed.
    pub source: String,
}

/// A taught limit beside it.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct TaughtLimit {
    /// Ledger key.
    pub key: String,
    /// Taught range, s.
    pub seconds: [f64; 2],
    /// From when it counts.
    pub origin: ClockOrigin,
    /// The rule in one sentence.
    pub rule: String,
    /// Source.
    pub source: String,
    /// Grade.
    pub grade: Grade,
}

/// What decides an end of a window.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum DecidedBy {
    /// The forecast is the stricter.
    Forecast,
    /// The printed instruction is the stricter.
    Instruction,
    /// Neither says anything.
    Nothing,
}

/// One end of a window.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Edge {
    /// Not before, or not after.
    pub bound: Bound,
    /// From when the forecast counts.
    pub origin: ClockOrigin,
    /// Forecast with its 90 % interval, s from `origin`; none where the model sets no such limit.
    pub forecast_s: Option<Interval>,
    /// The forecast end lies beyond the time that was followed; the figure is only where following stopped.
    pub beyond_checked: bool,
    /// Why the model says so, or why it says nothing.
    pub reason: String,
    /// Printed limits.
    pub instructed: Vec<Instructed>,
    /// Taught limits.
    pub taught: Vec<TaughtLimit>,
    /// The binding end, s from the start of mixing; none when neither forecast nor instruction gives one.
    pub binding_s: Option<f64>,
    /// What decided it.
    pub decided_by: DecidedBy,
}

/// Whether a window can be used.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum WindowState {
    /// There is a window.
    Open,
    /// It opens only after it has closed.
    NoWindow,
    /// No instruction is entered for this step: the figures are a forecast alone.
    ConsultInstructions,
}

/// When something may be done.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Window {
    /// What.
    pub action: Action,
    /// Not before.
    pub opens: Edge,
    /// Not after.
    pub closes: Edge,
    /// Whether it can be used.
    pub state: WindowState,
    /// When it is planned, or was stamped, s from the start of mixing.
    pub planned_s: Option<f64>,
    /// Whether `planned_s` is a stamp.
    pub stamped: bool,
}

/// A forecast end before the instructions are heard.
#[derive(Clone, Debug)]
pub struct ForecastEnd {
    /// 90 % interval, s from `origin`.
    pub interval_s: Option<Interval>,
    /// From when it counts.
    pub origin: ClockOrigin,
    /// Lies beyond what was followed.
    pub beyond_checked: bool,
    /// In words.
    pub reason: String,
}

/// Who has a say: the room, the moments, the products, the class.
pub struct Sayings<'a> {
    /// Room temperature, K.
    pub room_k: f64,
    /// Moments that clocks count from.
    pub origins: Origins,
    /// Ledger.
    pub parameters: &'a Parameters,
    /// Products whose instructions count.
    pub products: Vec<&'a ProductId>,
    /// Class of the impression material.
    pub class: ImpressionClass,
    /// Technique.
    pub technique: Technique,
}

impl Sayings<'_> {
    /// The window of one action from its two forecast ends.
    pub fn window(
        &self,
        action: Action,
        opens: ForecastEnd,
        closes: ForecastEnd,
        planned: (Option<f64>, bool),
    ) -> Window {
        let opens = self.edge(action, Bound::Minimum, opens);
        let closes = self.edge(action, Bound::Maximum, closes);
        let printed = !opens.instructed.is_empty() || !closes.instructed.is_empty();
        let state = match (opens.binding_s, closes.binding_s) {
            (Some(open), Some(close)) if open > close => WindowState::NoWindow,
            _ if printed => WindowState::Open,
            _ => WindowState::ConsultInstructions,
        };
        Window { action, opens, closes, state, planned_s: planned.0, stamped: planned.1 }
    }

    /// Printed limits of one end.
    pub fn instructed(&self, action: Action, bound: Bound) -> Vec<Instructed> {
        let mut found = Vec::new();
        for id in &self.products {
            let Some(product) = self.parameters.product(id) else { continue };
            for instruction in product.instructions.iter().filter(|i| i.action == action && i.bound == bound)
            {
                found.push(self.heard(&product.name, instruction));
            }
        }
        found
    }

    fn heard(&self, product: &str, instruction: &Instruction) -> Instructed {
        Instructed {
            product: product.to_owned(),
            seconds: instruction.seconds,
            origin: instruction.origin,
            at_s: self.origins.start_s(instruction.origin) + instruction.seconds,
            stated_for_this_room: instruction.states_room(self.room_k),
            conditions: instruction.conditions.clone(),
            source: instruction.source.clone(),
        }
    }

    fn edge(&self, action: Action, bound: Bound, end: ForecastEnd) -> Edge {
        let instructed = self.instructed(action, bound);
        let start_s = self.origins.start_s(end.origin);
        // The careful end of the forecast: the early end of a maximum, the late end of a minimum.
        let forecast_s = end.interval_s.map(|interval| match bound {
            Bound::Maximum => start_s + interval.low,
            Bound::Minimum => start_s + interval.high,
        });
        let printed_s: Vec<f64> = instructed.iter().map(|limit| limit.at_s).collect();
        let (binding_s, decided_by) = bind(bound, forecast_s, &printed_s);
        Edge {
            bound,
            origin: end.origin,
            forecast_s: end.interval_s,
            beyond_checked: end.beyond_checked,
            reason: end.reason,
            instructed,
            taught: self.taught(action, bound),
            binding_s,
            decided_by,
        }
    }

    fn taught(&self, action: Action, bound: Bound) -> Vec<TaughtLimit> {
        let concerns = |rule: &&Taught| {
            rule.action == action
                && rule.bound == bound
                && rule.class.is_none_or(|class| class == self.class)
                && rule.technique.is_none_or(|technique| technique == self.technique)
        };
        let limit = |rule: &Taught| TaughtLimit {
            key: rule.key.clone(),
            seconds: rule.seconds,
            origin: rule.origin,
            rule: rule.rule.clone(),
            source: rule.source.clone(),
            grade: rule.grade,
        };
        self.parameters.taught().iter().filter(concerns).map(limit).collect()
    }
}

/// The binding end: the strictest of the forecast and every printed limit.
///
/// For a maximum the earliest, for a minimum the latest; so no printed limit is ever loosened.
pub fn bind(bound: Bound, forecast_s: Option<f64>, printed_s: &[f64]) -> (Option<f64>, DecidedBy) {
    let stricter = |a: f64, b: f64| match bound {
        Bound::Maximum => a.min(b),
        Bound::Minimum => a.max(b),
    };
    let printed = printed_s.iter().copied().reduce(stricter);
    match (forecast_s, printed) {
        (None, None) => (None, DecidedBy::Nothing),
        (Some(forecast), None) => (Some(forecast), DecidedBy::Forecast),
        (None, Some(printed)) => (Some(printed), DecidedBy::Instruction),
        (Some(forecast), Some(printed)) => {
            let binding = stricter(forecast, printed);
            let by = if binding == printed { DecidedBy::Instruction } else { DecidedBy::Forecast };
            (Some(binding), by)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        /// The instruction rule, both ways: whatever the forecast, a printed maximum is never passed and a printed minimum
        /// never undercut; and the forecast itself is never overruled towards the loose side.
        #[test]
        fn prop_no_printed_limit_is_ever_loosened(
            forecast in proptest::option::of(-1e4..1e6f64),
            printed in proptest::collection::vec(0.0..1e6f64, 0..4),
        ) {
            let (maximum, _) = bind(Bound::Maximum, forecast, &printed);
            let (minimum, _) = bind(Bound::Minimum, forecast, &printed);
            for limit in printed.iter().chain(forecast.iter()) {
                prop_assert!(maximum.unwrap() <= *limit);
                prop_assert!(minimum.unwrap() >= *limit);
            }
            let silent = printed.is_empty() && forecast.is_none();
            prop_assert_eq!(maximum.is_none(), silent);
        }
    }
}
