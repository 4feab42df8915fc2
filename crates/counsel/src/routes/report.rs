//! What a comparison of routes says.

use super::change::Change;
use super::rank::Difference;

/// How routes are put in order, as it is printed with them.
pub const ORDER: &str = "By the chance of a usable result; chances whose difference lies inside its own 90 % interval cannot be \
                         separated. Among those, by time with the tray in the mouth, then in the chair (in steps of 30 s), then \
                         by your own cost. Nothing else is weighed.";

/// The routes of a case, compared.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Routes {
    /// Whose stock it is.
    pub clinic: String,
    /// How routes are put in order.
    pub order: &'static str,
    /// Samples of each route.
    pub samples: usize,
    /// Routes that nothing known blocks and nothing unknown could, best first, in groups that cannot be separated.
    pub ranked: Vec<Vec<RouteLine>>,
    /// Routes that wait for answers: they have no place until then.
    pub waiting: Vec<RouteLine>,
    /// What to ask first.
    pub questions: Vec<Asked>,
    /// What stops block, rule by rule.
    pub blocked: Vec<Blocked>,
    /// What the chain refuses to follow.
    pub refused: Vec<Refused>,
    /// Single changes that would put another route first.
    pub changes: Vec<Change>,
    /// Single changes that were tried.
    pub tried: Vec<&'static str>,
    /// Treating the gum before anything is copied.
    pub not_today: NotToday,
    /// An optical scan.
    pub scan: Scan,
}

/// One route with what it is worth.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct RouteLine {
    /// Material and technique.
    pub kit: String,
    /// Tray.
    pub tray: String,
    /// Displacement and medicament.
    pub means: String,
    /// Whether the case plans it.
    pub planned: bool,
    /// Whether its tray must have been made before this visit.
    pub made_before: bool,
    /// Chance of a usable result.
    pub chance: f64,
    /// 5 % end of the chance: sampling, and remembered and assumed values.
    pub low: f64,
    /// 95 % end.
    pub high: f64,
    /// Chance that every margin is captured.
    pub captured: Option<f64>,
    /// Chance that the rest serves, given captured margins.
    pub fits: f64,
    /// Time with the tray in the mouth, s.
    pub in_mouth_s: f64,
    /// Time in the chair, s.
    pub chair_s: f64,
    /// The user's own cost.
    pub cost: Option<f64>,
    /// What takes *likely* away although no figure counts it.
    pub in_the_way: Vec<String>,
    /// Facts that it waits for.
    pub waits_for: Vec<&'static str>,
    /// Cautions that hold for it, by identifier; notes are left to the page of cautions.
    pub cautions: Vec<String>,
    /// Chance less that of the first route.
    pub against_first: Option<Difference>,
}

/// A question with what hangs on it.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Asked {
    /// Fact.
    pub fact: &'static str,
    /// The question.
    pub words: &'static str,
    /// Stops that the answer could bring, by identifier.
    pub stops: Vec<String>,
    /// Routes that wait for it.
    pub routes: usize,
    /// The best chance among them.
    pub best: f64,
}

/// A stop with what it blocks.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Blocked {
    /// Rule.
    pub rule: String,
    /// Its reason.
    pub says: String,
    /// What to consider instead.
    pub instead: Option<String>,
    /// What it blocks: means, materials or trays; nothing listed is every route of today.
    pub what: Vec<String>,
}

/// A route that cannot be followed.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Refused {
    /// Route.
    pub route: String,
    /// Reason.
    pub reason: String,
}

/// Treating the gum first.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct NotToday {
    /// What is known that speaks for it.
    pub reasons: Vec<String>,
    /// What is not known and could.
    pub unknown: Vec<&'static str>,
    /// Ledger key of the time that healing takes.
    pub key: String,
    /// That time, s: 5 %, middle, 95 %.
    pub healing_s: [f64; 3],
    /// The route that would come first then, with its chance; none when nothing could be followed.
    pub then: Option<Then>,
}

/// What a healed gum would make of it.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Then {
    /// Route.
    pub route: String,
    /// Its chance.
    pub chance: f64,
    /// 5 % end.
    pub low: f64,
    /// 95 % end.
    pub high: f64,
    /// The chance less that of the first route of today.
    pub against_today: Option<Difference>,
}

/// An optical scan: its published figures and nothing more. It is not ranked.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Scan {
    /// Whether a scanner is at hand.
    pub at_hand: terms::Fact<bool>,
    /// Figures.
    pub figures: Vec<ScanFigure>,
}

/// A published figure of scans.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct ScanFigure {
    /// Ledger key.
    pub key: String,
    /// What is meant.
    pub quantity: String,
    /// 5 %, middle, 95 %, m.
    pub interval: [f64; 3],
    /// Conditions.
    pub conditions: String,
}
