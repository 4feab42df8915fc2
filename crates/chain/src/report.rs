//! What a forecast says. Plain data: pages, prints and `--json` are views of it.

use terms::{Action, ClockOrigin, DieFault, Fault, Grade, Instant, Link};

use crate::access::Margins;
use crate::samples::Effort;
use crate::size::Measure;
use crate::space::Standing;
use crate::statistics::{Interval, Probability};
use crate::windows::Window;

/// The answer of the chain for one route in one situation, given what has happened.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Forecast {
    /// Version of kernel and chain.
    pub model_version: &'static str,
    /// Hash of the parameters.
    pub parameters_hash: String,
    /// Samples taken.
    pub effort: Effort,
    /// Start of mixing: the stamp, or the present for a plan.
    #[serde(rename = "start_utc_ms")]
    pub start: Instant,
    /// Whether `start` is a stamp.
    pub start_stamped: bool,
    /// The present.
    #[serde(rename = "now_utc_ms")]
    pub now: Instant,
    /// The verdict.
    pub verdict: Verdict,
    /// When each thing may be done.
    pub windows: Vec<Window>,
    /// Numbers, each with what it rests on.
    pub quantities: Vec<Quantity>,
    /// Share of the error by link.
    pub budgets: Vec<Budget>,
    /// What each link, made ideal alone, would do to the chance.
    pub gains: Vec<Gain>,
    /// What to change first; none when no single link would buy anything.
    pub change_first: Option<Change>,
    /// The prepared margins; none where there is none.
    pub margins: Option<Margins>,
    /// The root causes that the chance hangs on most.
    pub root_causes: Vec<RootCause>,
    /// Probability and size against the moment of pouring.
    pub pour_curve: Vec<PourPoint>,
    /// The limits used, and the probability against other limits in use.
    pub limits: Vec<LimitResult>,
    /// Disinfection by segment and class.
    pub disinfection: Vec<Disinfected>,
    /// A second cast from the same impression.
    pub second_pour: SecondPour,
    /// What is good to know beside the figures: cautions, doubts, practice, each with its row where it has one.
    pub notes: Vec<Note>,
    /// What to find out, the most useful first.
    pub asks: Vec<Ask>,
    /// Values of the last two grades that carry the result, the largest first.
    pub assumed: Vec<Contribution>,
    /// Parts of the chain that are not in the figures.
    pub not_in_budget: Vec<&'static str>,
    /// Where the case lies outside what was checked.
    pub outside: Vec<String>,
    /// What the readings did.
    pub conditioning: Conditioning,
}

/// Likely, unlikely, or cannot tell. Never pass or fail.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum VerdictWord {
    /// Probability of at least 0.80.
    Likely,
    /// Probability of at most 0.20.
    Unlikely,
    /// Between, or the question cannot be answered.
    CannotTell,
}

/// The verdict and what it rests on.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Verdict {
    /// The word.
    pub word: VerdictWord,
    /// Probability that the result is usable: every margin captured, and the sizes inside the limits.
    #[serde(rename = "usable_probability")]
    pub usable: Probability,
    /// Probability that every margin is captured without a visible fault; none where there is no margin.
    #[serde(rename = "captured_probability")]
    pub captured: Option<f64>,
    /// Probability that the sizes end inside the limits, given captured margins.
    #[serde(rename = "fits_probability")]
    pub fits: f64,
    /// Why the word is not that of the probability, or what else must be said; most important first.
    pub reasons: Vec<String>,
    /// Whether over half the variance of the margin comes from remembered or assumed values.
    pub mainly_assumed: bool,
    /// That share: the total-effect index of all such values together.
    pub weak_share: f64,
    /// Faults found on inspection.
    pub faults: Vec<Fault>,
    /// Faults found on the die.
    pub die_faults: Vec<DieFault>,
}

/// A number with its interval and what it rests on.
#[derive(Clone, Debug, PartialEq)]
pub struct Quantity {
    /// Identifier: `trayward source` explains it.
    pub id: &'static str,
    /// In words.
    pub words: &'static str,
    /// SI unit of the interval: `m`, `K`, `s`, `N`, or `1` for a share.
    pub si_unit: &'static str,
    /// 90 % interval.
    pub interval: Interval,
    /// Part of the interval lies beyond what the models were compared with; the figure is where that range ends.
    pub beyond_checked: bool,
    /// Share of the samples in which it exists.
    pub defined_in: f64,
    /// Root causes by their share of its variance, the largest first.
    pub contributions: Vec<Contribution>,
}

/// A root cause and its share of a variance.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Contribution {
    /// In words.
    pub words: &'static str,
    /// Ledger key of its distribution.
    pub key: String,
    /// Grade.
    pub grade: Grade,
    /// What is known of it.
    pub standing: Standing,
    /// First-order share of the variance, 0 to 1.
    pub share: f64,
}

/// Signed contributions of the links to one measure.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Budget {
    /// The measure.
    pub measure: Measure,
    /// Expected value, m.
    pub total_m: f64,
    /// 90 % interval, m.
    pub interval_m: Interval,
    /// Expected value with every link in `bars` ideal at once, m: what the geometry alone gives.
    pub base_m: f64,
    /// One bar a link.
    pub bars: Vec<Bar>,
    /// What is left so that base, bars and this sum to the total, m.
    pub interaction_m: f64,
}

/// One bar of a budget.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct Bar {
    /// The link.
    pub link: Link,
    /// Expected value minus expected value with this link ideal, m.
    pub mean_m: f64,
    /// 90 % interval of that difference over the samples, m.
    pub interval_m: Interval,
}

/// The link to change first.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Change {
    /// The link.
    pub link: Link,
    /// Probability that the result is usable with this link ideal.
    #[serde(rename = "usable_probability_if_ideal")]
    pub usable_if_ideal: f64,
    /// What changing it can mean.
    pub advice: String,
}

/// The chance with one link ideal.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct Gain {
    /// The link.
    pub link: Link,
    /// Probability that the result is usable with this link ideal.
    #[serde(rename = "usable_probability_if_ideal")]
    pub usable_if_ideal: f64,
}

/// A root cause of what is unsure about being usable.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct RootCause {
    /// In words.
    pub words: &'static str,
    /// Ledger key of its distribution.
    pub key: String,
    /// Grade.
    pub grade: Grade,
    /// What is known of it.
    pub standing: Standing,
    /// The link it acts through first.
    pub link: Link,
    /// First-order index on the margin of the sizes or on being usable, whichever is larger: what it carries alone.
    #[serde(rename = "alone_share")]
    pub alone: f64,
    /// Total-effect index on being usable: what it carries alone and together with others.
    #[serde(rename = "total_share")]
    pub total: f64,
}

/// The forecast for one pour time.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct PourPoint {
    /// Time from removal, s.
    pub after_removal_s: f64,
    /// Probability that the result is usable when poured then.
    #[serde(rename = "usable_probability")]
    pub usable: f64,
    /// Error of the die diameter, m.
    pub diameter_m: Interval,
    /// Free linear strain from holding alone, a share; positive shrinks.
    #[serde(rename = "holding_strain_share")]
    pub holding_strain: Interval,
}

/// The result against one limit.
#[derive(Clone, Debug, PartialEq)]
pub struct LimitResult {
    /// Ledger key, or `case`.
    pub key: String,
    /// What it limits.
    pub words: &'static str,
    /// SI unit: `m`, or `1` for a share.
    pub si_unit: &'static str,
    /// The limit, SI.
    pub value: f64,
    /// Probability that this quantity alone stays inside it.
    pub within: f64,
    /// Other limits in use and the probability against each.
    pub others: Vec<(f64, f64)>,
    /// Grade.
    pub grade: Grade,
}

/// Something worth finding out.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Ask {
    /// What, in words.
    pub words: String,
    /// Why.
    pub why: String,
    /// Share of the variance of the margin that hangs on it; none for questions of safety and of plain faults.
    pub share: Option<f64>,
}

/// A sentence beside the figures.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Note {
    /// The sentence.
    pub words: String,
    /// Ledger key of the row it comes from.
    pub key: Option<String>,
}

/// A disinfectant in one segment, and what one class of the route bears.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Disinfected {
    /// Segment of the route, from 0.
    pub segment: usize,
    /// Agent.
    pub agent: Option<&'static str>,
    /// Method.
    pub method: &'static str,
    /// Active substance by mass.
    #[serde(rename = "concentration_share")]
    pub concentration: Option<f64>,
    /// Least contact on its label.
    pub labelled_contact_s: Option<f64>,
    /// Planned contact.
    pub planned_contact_s: f64,
    /// Longest contact that the material is thought to bear.
    pub bears_s: Option<f64>,
    /// Whether the plan cannot stay as it is.
    pub stands_in_the_way: bool,
    /// In one sentence.
    pub words: String,
    /// Agents and methods whose usual contact the material is thought to bear.
    pub alternatives: Vec<String>,
    /// Ledger key.
    pub key: Option<String>,
}

/// A second cast from the same impression.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct SecondPour {
    /// Moment of the second pour, s from removal; none for a class that is poured once.
    pub after_removal_s: Option<f64>,
    /// Probability that it is usable.
    #[serde(rename = "usable_probability")]
    pub usable: Option<f64>,
    /// Error of its die diameter.
    pub diameter_m: Option<Interval>,
    /// What to know.
    pub notes: Vec<Note>,
}

/// What the readings did to the samples.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct Conditioning {
    /// Readings used.
    pub readings_used: usize,
    /// Effective number of samples.
    pub effective_samples: f64,
    /// Too few are left to conclude anything.
    pub too_few: bool,
}

impl Forecast {
    /// The quantity with this identifier.
    pub fn quantity(&self, id: &str) -> Option<&Quantity> {
        self.quantities.iter().find(|quantity| quantity.id == id)
    }
}

/// The ending of a field name for an SI unit.
fn suffix(si_unit: &str) -> &'static str {
    match si_unit {
        "m" => "m",
        "s" => "s",
        "K" => "k",
        "N" => "n",
        _ => "share",
    }
}

impl serde::Serialize for Quantity {
    /// The field of the interval carries its unit: `interval_m`, `interval_s`, `interval_k`, `interval_n` or `interval_share`.
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        use serde::ser::SerializeMap;
        let mut map = serializer.serialize_map(Some(6))?;
        map.serialize_entry("id", self.id)?;
        map.serialize_entry("words", self.words)?;
        map.serialize_entry(&format!("interval_{}", suffix(self.si_unit)), &self.interval)?;
        map.serialize_entry("beyond_checked", &self.beyond_checked)?;
        map.serialize_entry("defined_in_share", &self.defined_in)?;
        map.serialize_entry("contributions", &self.contributions)?;
        map.end()
    }
}

impl serde::Serialize for LimitResult {
    /// The fields of the limits carry their unit: `limit_m` or `limit_share`.
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        use serde::ser::SerializeMap;
        let limit = format!("limit_{}", suffix(self.si_unit));
        let other = |&(value, within): &(f64, f64)| {
            std::collections::BTreeMap::from([
                (limit.clone(), value),
                ("within_probability".to_owned(), within),
            ])
        };
        let mut map = serializer.serialize_map(Some(6))?;
        map.serialize_entry("key", &self.key)?;
        map.serialize_entry("words", self.words)?;
        map.serialize_entry(&limit, &self.value)?;
        map.serialize_entry("within_probability", &self.within)?;
        map.serialize_entry("others", &self.others.iter().map(other).collect::<Vec<_>>())?;
        map.serialize_entry("grade", &self.grade)?;
        map.end()
    }
}

impl Forecast {
    /// The window of an action; none where the route has no such step.
    pub fn window(&self, action: Action) -> Option<&Window> {
        self.windows.iter().find(|window| window.action == action)
    }

    /// Where a clock starts in this forecast, s from the start of mixing: at its stamp, or where it is planned.
    pub fn origin_s(&self, origin: ClockOrigin) -> f64 {
        let action = match origin {
            ClockOrigin::StartOfMix => return 0.0,
            ClockOrigin::InTheMouth => Action::Seat,
            ClockOrigin::Removal => Action::Remove,
            ClockOrigin::Pour => Action::Pour,
        };
        self.window(action).and_then(|window| window.planned_s).unwrap_or(0.0)
    }
}
