//! After removal: what to look for, and whether to accept or to take another impression.
//!
//! Accepting costs a remake where the result does not serve; taking another costs its minutes now, and a remake where that one does not
//! serve either:
//!
//! ```text
//! accept   p R          p  chance that what is in hand does not serve
//! retake   m + q R      q  chance that another one does not serve
//! ```
//!
//! so that accepting is the cheaper where `p < q + m/R`. `m` and `R` are minutes of the chair, or the user's own money where the clinic says what
//! a minute and a remake cost. `p` and `q` are chances of the chain under the same random numbers: one with what was found, one without.

use chain::{ChainError, Effort};
use ledger::{Limits, Parameters};
use libm::sqrt;
use terms::{Answer, Fact, Fault, Instant, Reading, Step};

use crate::View;
use crate::cautions::facts::{Fact as Known, Read};
use crate::routes::{Clinic, Difference, Scale, times};

/// One line of the inspection.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Line {
    /// Identifier.
    pub id: &'static str,
    /// The fault of an inspection; none for what is counted or asked elsewhere.
    #[serde(skip)]
    pub fault: Option<Fault>,
    /// What to look for.
    pub words: &'static str,
    /// Whether the fault was found; unknown where nobody has looked.
    pub found: Fact<bool>,
    /// What it means when it is there.
    pub means: &'static str,
}

/// What to look for and what it would take to do it again.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Inspection {
    /// The list.
    pub lines: Vec<Line>,
    /// Chance that what is in hand does not serve, under what was found and not found.
    pub fails: Difference,
    /// Chance that another impression, made as planned, does not serve.
    pub fails_again: Difference,
    /// Time in the chair that another impression takes now, s: 5 %, middle, 95 %.
    pub again_s: [f64; 3],
    /// Chair time of a remake at another visit, s: 5 %, middle, 95 %.
    pub remake_s: [f64; 3],
    /// Where the remake time comes from: a ledger key, or `clinic`.
    pub remake_key: String,
    /// Whether money stands in for minutes.
    pub in_money: bool,
    /// What another impression costs now and what a remake costs, in minutes or money.
    pub costs: [f64; 2],
    /// The chance of failure above which another impression is the cheaper: 5 %, middle, 95 %.
    pub break_even: Difference,
    /// The chance of failure less the break-even: what lies above zero speaks for another impression.
    pub excess: Difference,
    /// What is to be said.
    pub says: Says,
}

/// What is to be said; the first that holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Says {
    /// A fault was found, and that outranks every figure.
    Fault,
    /// Nothing has been taken out yet.
    NotYet,
    /// Not everything has been looked at.
    Look,
    /// Another one made as planned is unlikely to serve as well: the route must change first.
    ChangeRoute,
    /// Another impression is the cheaper.
    Retake,
    /// Accepting is the cheaper.
    Accept,
    /// The two cannot be told apart.
    CannotTell,
}

/// The faults of the list with what each means.
const FAULTS: &[(&str, Fault, &str, &str)] = &[
    (
        "margin",
        Fault::MarginMissing,
        "the margin all round, and a little beyond it",
        "what is not copied cannot be guessed: displace again and retake",
    ),
    (
        "void",
        Fault::MarginVoid,
        "voids at the margin and on the preparation",
        "a void is a bead of stone on the die",
    ),
    (
        "drag",
        Fault::Drag,
        "drags and folds at the margin",
        "the material had begun to set, or moved, when it was seated",
    ),
    (
        "tear",
        Fault::Tear,
        "tears of the thin film at the margin",
        "look for the missing piece in the sulcus before anything else",
    ),
    (
        "blood",
        Fault::BloodOrFluid,
        "blood or fluid on or beside the margin",
        "it doubled the odds of a faulty margin in impressions sent to laboratories",
    ),
    (
        "show-through",
        Fault::ShowThrough,
        "tooth or tray showing through",
        "the layer is too thin there to come back",
    ),
    (
        "lifted",
        Fault::LiftedFromTray,
        "material lifted from the tray",
        "the die will be distorted, mostly without a sign",
    ),
    (
        "moved",
        Fault::Movement,
        "signs that it moved while setting: doubled edges",
        "the die will be distorted",
    ),
];

/// The inspection of a case.
///
/// # Errors
/// What the chain refuses, or a ledger row that is missing.
pub fn inspect(
    view: &View,
    clinic: &Clinic,
    parameters: &Parameters,
    limits: &Limits,
    effort: Effort,
    now: Instant,
) -> Result<Inspection, ChainError> {
    let View { situation, route, stamps, observations, .. } = *view;
    let in_hand = chain::outlook(situation, route, stamps, observations, parameters, limits, effort, now)?;
    let again = chain::outlook(situation, route, &[], &[], parameters, limits, effort, now)?;
    let scale = Scale::of([&in_hand, &again].into_iter(), effort.points);
    let times = times(situation, route, &again, parameters)?;
    let again_s = [-1.0, 0.0, 1.0].map(|side| times.chair_s + side * times.chair_half_s);
    let (remake_key, remake_s) = match clinic.remake.chair_s {
        Fact::Known(s) => ("clinic".to_owned(), [s; 3]),
        Fact::Unknown | Fact::NotApplicable => {
            let (row, remake) = parameters.find(&["visit"], "remake")?;
            (row.key.clone(), [remake.quantile(0.05), remake.median(), remake.quantile(0.95)])
        }
    };
    let money = clinic.remake.per_minute.zip(clinic.remake.cost);
    let kit_cost = clinic.kits.iter().find(|kit| kit.is_of(route)).and_then(|kit| kit.cost).unwrap_or(0.0);
    let cost = |seconds: f64, other: f64| match money {
        Some((per_minute, _)) => seconds / 60.0 * per_minute + other,
        None => seconds / 60.0,
    };
    let now_costs = again_s.map(|s| cost(s, kit_cost));
    let remake_costs = remake_s.map(|s| cost(s, money.map_or(0.0, |(_, remake)| remake)));
    let ratio = ratio(now_costs, remake_costs);
    let fails_again = turned_over(scale.chance(&again));
    let gain = scale.difference(&again, &in_hand);
    let excess = joined(gain, Difference { mean: -ratio.mean, low: -ratio.high, high: -ratio.low });
    let lines = lines(view);
    let says = match excess {
        _ if lines.iter().any(|line| line.found == Fact::Known(true)) => Says::Fault,
        _ if !stamps.iter().any(|stamp| stamp.step == Step::Removed) => Says::NotYet,
        _ if lines.iter().any(|line| line.found.is_unknown()) => Says::Look,
        _ if fails_again.mean >= chain::LIKELY => Says::ChangeRoute,
        Difference { low, .. } if low > 0.0 => Says::Retake,
        Difference { high, .. } if high < 0.0 => Says::Accept,
        _ => Says::CannotTell,
    };
    Ok(Inspection {
        lines,
        fails: turned_over(scale.chance(&in_hand)),
        fails_again,
        again_s,
        remake_s,
        remake_key,
        in_money: money.is_some(),
        costs: [now_costs[1], remake_costs[1]],
        break_even: joined(fails_again, ratio),
        excess,
        says,
    })
}

/// `m/R`; relative half-widths add in squares.
fn ratio(now: [f64; 3], remake: [f64; 3]) -> Difference {
    let mean = now[1] / remake[1].max(f64::MIN_POSITIVE);
    let relative = |of: [f64; 3]| 0.5 * (of[2] - of[0]) / of[1].max(f64::MIN_POSITIVE);
    let half = mean * sqrt(relative(now) * relative(now) + relative(remake) * relative(remake));
    Difference { mean, low: (mean - half).max(0.0), high: mean + half }
}

/// The chance that it does not serve.
fn turned_over(chance: Difference) -> Difference {
    Difference { mean: 1.0 - chance.mean, low: 1.0 - chance.high, high: 1.0 - chance.low }
}

/// The sum of two independent ones: half-widths add in squares, each on its side.
fn joined(a: Difference, b: Difference) -> Difference {
    let mean = a.mean + b.mean;
    let below = sqrt((a.mean - a.low) * (a.mean - a.low) + (b.mean - b.low) * (b.mean - b.low));
    let above = sqrt((a.high - a.mean) * (a.high - a.mean) + (b.high - b.mean) * (b.high - b.mean));
    Difference { mean, low: mean - below, high: mean + above }
}

fn lines(view: &View) -> Vec<Line> {
    let found = |fault: Fault| {
        let says = view.observations.iter().rev().find_map(|observation| match observation.reading {
            Reading::Inspection(finding) if finding.fault == fault => Some(finding.present),
            _ => None,
        });
        says.unwrap_or(Fact::Unknown)
    };
    let mut lines: Vec<Line> = FAULTS
        .iter()
        .map(|&(id, fault, words, means)| Line { id, fault: Some(fault), words, found: found(fault), means })
        .collect();
    // The same facts as the cautions stand on.
    let read = Read::of(view);
    let flag = |name: &str| match Known::named(name).map(|fact| read.get(fact)) {
        Some(Fact::Known(Answer::Flag(flag))) => Fact::Known(flag),
        Some(Fact::NotApplicable) => Fact::NotApplicable,
        _ => Fact::Unknown,
    };
    lines.push(Line {
        id: "piece",
        fault: None,
        words: "a piece missing from the impression, left behind in sulcus, socket or airway",
        found: flag("visit.piece_missing"),
        means: "find it before the patient leaves; after a cough, refer at once",
    });
    lines.push(Line {
        id: "cords",
        fault: None,
        words: "cords and pieces of cord: as many out as in",
        found: flag("visit.cords_missing"),
        means: "find what is missing before the patient leaves",
    });
    lines
}
