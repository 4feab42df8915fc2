//! Which single change of the situation would change the order.

use chain::{ChainError, Effort};
use terms::{Fact, HoldingKind, HoldingSegment, Mobility, Route, Situation, SulcusState};

use super::Question;
use super::candidates::Candidate;
use super::follow::{Entered, Followed, follow, order};
use super::rank::Scale;
use super::standing::Standing;

/// One change, and what it would do.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Change {
    /// The change, as in "if the sulcus is dry".
    pub words: String,
    /// The route that would come first.
    pub first: String,
    /// Its chance then.
    pub chance: f64,
    /// The chance then of the route that comes first now; none when a stop would block it or it could not be followed.
    pub present_first: Option<f64>,
    /// Whether the two can then be told apart by their chances.
    pub separated: bool,
}

/// A change to try on a candidate.
pub type Turn = fn(&mut Situation, &mut Route);

/// Nothing bleeds and every sulcus is dry.
pub const DRY: Turn = |situation, _| {
    situation.bleeding = Fact::Known(false);
    for abutment in &mut situation.abutments {
        abutment.sulcus = Fact::Known(SulcusState::Dry);
    }
};

/// The changes that are tried: one fact each, and each only where it changes anything.
pub const TURNS: &[(&str, Turn)] = &[
    ("if every sulcus is dry", DRY),
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

/// The changes that put another of these routes first; `leaders` are in their present order.
///
/// # Errors
/// When the ledger lacks a row.
pub fn changes(asked: &Question, leaders: &[&Followed], effort: Effort) -> Result<Vec<Change>, ChainError> {
    let Some(present) = leaders.first() else { return Ok(Vec::new()) };
    let mut list = Vec::new();
    for (words, turn) in TURNS {
        let candidates: Vec<Option<Candidate>> =
            leaders.iter().map(|leader| turned(&leader.candidate, *turn)).collect();
        if candidates.iter().all(Option::is_none) {
            continue;
        }
        let mut entered = Vec::new();
        for (candidate, leader) in candidates.into_iter().zip(leaders) {
            let candidate = candidate.unwrap_or_else(|| leader.candidate.clone());
            let standing = Standing::of(asked.rulebook, &candidate, &asked.view);
            if standing.stops.is_empty() {
                entered.push(vec![Entered { candidate, standing }]);
            }
        }
        let followed = follow(asked, entered, effort, &mut Vec::new())?;
        let each: Vec<&Followed> = followed.iter().collect();
        let scale = Scale::of(each.iter().map(|followed| &followed.outlook), effort.points);
        let Some(first) = order(&scale, &each).into_iter().flatten().next().and_then(|place| each.get(place))
        else {
            continue;
        };
        if first.candidate.words() == present.candidate.words() {
            continue;
        }
        let before = each.iter().find(|one| one.candidate.words() == present.candidate.words());
        list.push(Change {
            words: (*words).to_owned(),
            first: first.candidate.words(),
            chance: first.outlook.chance.value,
            present_first: before.map(|before| before.outlook.chance.value),
            separated: before
                .is_none_or(|before| scale.difference(&first.outlook, &before.outlook).separates()),
        });
    }
    Ok(list)
}
