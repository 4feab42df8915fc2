//! Which single change of the situation would change the order.

use chain::ChainError;
use terms::{Fact, HoldingKind, HoldingSegment, Mobility, Route, Situation, SulcusState};

use super::candidates::Candidate;

/// One change, and what it would do.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Change {
    /// The change, as in "if the sulcus is dry".
    pub words: String,
    /// The route that would come first.
    pub first: String,
    /// Its chance then.
    pub chance: f64,
    /// The chance then of the route that comes first now.
    pub present_first: f64,
    /// Whether the two can then be told apart.
    pub separated: bool,
}

/// A change to try on a candidate.
pub type Turn = fn(&mut Situation, &mut Route);

/// The changes that are tried: one fact each, and each only where it changes anything.
pub const TURNS: &[(&str, Turn)] = &[
    ("if every sulcus is dry", |situation, _| {
        situation.bleeding = Fact::Known(false);
        for abutment in &mut situation.abutments {
            abutment.sulcus = Fact::Known(SulcusState::Dry);
        }
    }),
    ("if fluid stands in the sulcus", |situation, _| {
        for abutment in &mut situation.abutments {
            abutment.sulcus = Fact::Known(SulcusState::Fluid);
        }
    }),
    ("if the undercuts are blocked out", |situation, _| situation.undercut_m = Fact::Known(0.0)),
    ("if a tooth is loose (grade 2)", |situation, _| situation.mobility = Fact::Known(Mobility::Grade2)),
    ("if the room is at 30 °C", |situation, _| situation.room_temperature_k = Fact::Known(303.15)),
    ("if the room is humid (85 %)", |situation, _| situation.room_humidity = Fact::Known(0.85)),
    ("if it is poured a day later", |_, route| wait(route, 86_400.0)),
];

/// The last segment goes on for longer; what lies in a bath is taken out first.
fn wait(route: &mut Route, more_s: f64) {
    match route.holding.last_mut() {
        Some(last) if last.kind != HoldingKind::Immersed => last.duration_s += more_s,
        _ => route.holding.push(HoldingSegment::of(HoldingKind::OpenAir, more_s)),
    }
}

/// The candidate with the change; none where nothing changes.
pub fn turned(candidate: &Candidate, turn: Turn) -> Option<Candidate> {
    let mut changed = candidate.clone();
    turn(&mut changed.situation, &mut changed.route);
    (changed != *candidate).then_some(changed)
}

/// Whether a refusal is only of this combination.
pub fn skip_refused<T>(result: Result<T, ChainError>) -> Result<Option<T>, ChainError> {
    match result {
        Ok(value) => Ok(Some(value)),
        Err(ChainError::Kernel(message)) => Err(ChainError::Kernel(message)),
        Err(_) => Ok(None),
    }
}
