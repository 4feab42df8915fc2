//! What goes with an impression to the laboratory: what it is, of what, when, how it was kept and disinfected, until when it may be poured,
//! what speaks against it, and what to look at when it arrives.
//!
//! What is stamped and what is planned are never mixed. That a disinfectant is planned does not say that it was used: the sheet has
//! room for whoever did it to sign.

use chain::report::{Disinfected, Forecast, LimitResult, SecondPour};
use chain::windows::Window;
use ledger::Parameters;
use serde::{Deserialize, Serialize};
use terms::{
    Action, GypsumType, HoldingKind, ImpressionClass, Instant, LotLabel, ProductId, Purpose, Step, Technique,
    TrayKind, TrayMaterial,
};

use crate::View;
use crate::cautions::facts::{Fact, Read};
use crate::cautions::{Affects, Condition, Level, Look, Rule, Truth, Written, truth};

const CHECKS: &str = include_str!("../../../data/counsel/receipt-checks.toml");

/// A material with its product and lot.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Used {
    /// Where: in the tray, from the syringe or over the putty, stone.
    pub part: &'static str,
    /// Class or type.
    pub class: String,
    /// Name of the product, where it is known.
    pub product: Option<String>,
    /// Lot, where it is written down.
    pub lot: Option<LotLabel>,
}

/// A moment of the case.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Moment {
    /// Step.
    pub step: Step,
    /// When; none where nobody knows.
    pub at: Option<Instant>,
    /// Whether it was stamped. What is not is a plan or unknown.
    pub stamped: bool,
}

/// A stretch of keeping.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Kept {
    /// How.
    pub kind: HoldingKind,
    /// Planned for this long, s.
    pub planned_s: f64,
}

/// A caution for the bench.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ForTheBench {
    /// Rule.
    pub id: String,
    /// Level.
    pub level: Level,
    /// What it says.
    pub says: String,
    /// What to consider instead.
    pub instead: Option<String>,
    /// Source.
    pub source: String,
    /// It may hold: a question that bears on it is open.
    pub open: bool,
}

/// Something to look at on receipt.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ReceiptCheck {
    /// Identifier.
    pub id: String,
    /// Of an impression or of a cast.
    pub of: Arrived,
    /// What should be seen.
    pub says: String,
    /// What to do where it is not.
    pub if_not: String,
    /// Source.
    pub source: String,
    #[serde(skip_serializing, default)]
    when: Option<Written>,
}

/// What arrives.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Arrived {
    /// An impression.
    Impression,
    /// A cast.
    Cast,
}

/// The sheet.
#[derive(Clone, Debug, Serialize)]
pub struct LabSheet {
    /// What it is for.
    pub purpose: Purpose,
    /// Prepared teeth, ISO 3950.
    pub teeth: Vec<String>,
    /// Technique.
    pub technique: Technique,
    /// Kind and material of the tray, and whether adhesive holds the material.
    pub tray: (TrayKind, TrayMaterial, terms::Fact<bool>),
    /// Materials with lots.
    pub materials: Vec<Used>,
    /// Type of the stone.
    pub stone: GypsumType,
    /// Water to powder as stated, and as printed or usual, with its key.
    pub stone_ratio: (Option<f64>, f64, String),
    /// Casts that are asked for.
    pub casts: u32,
    /// Moments.
    pub moments: Vec<Moment>,
    /// Whether a disinfectant is in the plan. Never that it was used.
    pub disinfectant_planned: terms::Fact<bool>,
    /// Disinfectants with concentration and contact.
    pub disinfection: Vec<Disinfected>,
    /// How it is kept.
    pub holding: Vec<Kept>,
    /// When it may be poured, and separated.
    pub windows: Vec<Window>,
    /// What the seconds of the windows count from.
    pub start: Instant,
    /// A second cast.
    pub second_pour: Option<SecondPour>,
    /// Limits of the fit in use.
    pub limits: Vec<LimitResult>,
    /// Cautions that bear on the bench, stops first.
    pub cautions: Vec<ForTheBench>,
    /// What to look at on receipt.
    pub checks: Vec<ReceiptCheck>,
}

/// A sheet that cannot be made.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum SheetError {
    /// The checks contradict themselves.
    #[error("receipt-checks.toml: {0}")]
    Checks(String),
    /// The ledger lacks a row.
    #[error(transparent)]
    Ledger(#[from] ledger::LedgerError),
}

/// The sheet of a case, from its forecast and what the rulebook says of it.
///
/// # Errors
/// When the checks contradict themselves or the ledger lacks a row.
pub fn sheet(
    view: &View,
    forecast: &Forecast,
    look: &Look,
    parameters: &Parameters,
) -> Result<LabSheet, SheetError> {
    let route = view.route;
    let windows: Vec<Window> = [Action::Pour, Action::Separate]
        .iter()
        .filter_map(|action| forecast.window(*action).cloned())
        .collect();
    let again = route.plan.second_pour_after_s.known().is_some();
    let planned = Fact::named("keeping.disinfected").map(|fact| Read::of(view).get(fact));
    let disinfectant_planned = match planned {
        Some(terms::Fact::Known(terms::Answer::Flag(said))) => terms::Fact::Known(said),
        _ => terms::Fact::Unknown,
    };
    Ok(LabSheet {
        purpose: view.situation.purpose,
        teeth: view
            .situation
            .abutments
            .iter()
            .map(|abutment| {
                abutment.tooth.known().map_or_else(|| "not said".to_owned(), |tooth| tooth.to_string())
            })
            .collect(),
        technique: route.technique,
        tray: (route.tray.kind, route.tray.material, route.tray.adhesive),
        materials: materials(view, parameters),
        stone: route.stone.gypsum,
        stone_ratio: stone_ratio(view, parameters)?,
        casts: if again { 2 } else { 1 },
        moments: moments(view, forecast),
        disinfectant_planned,
        disinfection: forecast.disinfection.clone(),
        holding: route
            .holding
            .iter()
            .map(|segment| Kept { kind: segment.kind, planned_s: segment.duration_s })
            .collect(),
        windows,
        start: forecast.start,
        second_pour: again.then(|| forecast.second_pour.clone()),
        limits: forecast.limits.clone(),
        cautions: cautions(look),
        checks: checks(view)?,
    })
}

fn materials(view: &View, parameters: &Parameters) -> Vec<Used> {
    let route = view.route;
    let name = |product: &Option<ProductId>| {
        let record = product.as_ref().and_then(|id| parameters.product(id));
        record.map(|record| record.name.clone())
    };
    let of_class = |part, class: ImpressionClass, product: &Option<ProductId>, lot: &Option<LotLabel>| Used {
        part,
        class: class.word().to_owned(),
        product: name(product),
        lot: lot.clone(),
    };
    let mut list =
        vec![of_class("in the tray", route.material.class, &route.material.product, &route.lots.material)];
    if let Some(wash) = &route.wash {
        list.push(of_class("over the teeth", wash.class, &wash.product, &route.lots.wash));
    }
    list.push(Used {
        part: "stone",
        class: route.stone.gypsum.word().to_owned(),
        product: name(&route.stone.product),
        lot: route.lots.stone.clone(),
    });
    list
}

fn stone_ratio(view: &View, parameters: &Parameters) -> Result<(Option<f64>, f64, String), SheetError> {
    let stone = &view.route.stone;
    let class = format!("gypsum-{}", stone.gypsum.word().trim_start_matches("type "));
    let mut scopes: Vec<&str> = stone.product.iter().map(|id| id.0.as_str()).collect();
    scopes.push(&class);
    let (row, ratio) = parameters.find(&scopes, "mix.ratio")?;
    let stated = match (stone.powder_kg.known(), stone.water_kg.known()) {
        (Some(powder_kg), Some(water_kg)) if powder_kg > 0.0 => Some(water_kg / powder_kg),
        _ => None,
    };
    Ok((stated, ratio.median(), row.key.clone()))
}

/// Stamps where there are some; plans after them; what lies before the first stamp and was not stamped is not known.
fn moments(view: &View, forecast: &Forecast) -> Vec<Moment> {
    let stamp = |step: Step| view.stamps.iter().find(|stamp| stamp.step == step).map(|stamp| stamp.at);
    let last = view.stamps.iter().map(|stamp| stamp.step).max();
    let planned = |step: Step| {
        let action = match step {
            Step::MixStarted => return Some(forecast.start),
            Step::Seated => Action::Seat,
            Step::Removed => Action::Remove,
            Step::Poured => Action::Pour,
            Step::Separated => Action::Separate,
        };
        let planned_s = forecast.window(action).and_then(|window| window.planned_s);
        planned_s.map(|s| forecast.start.plus_seconds(s))
    };
    let moment = |step: &Step| match stamp(*step) {
        Some(at) => Moment { step: *step, at: Some(at), stamped: true },
        None if last.is_some_and(|last| *step < last) => Moment { step: *step, at: None, stamped: false },
        None => Moment { step: *step, at: planned(*step), stamped: false },
    };
    Step::ALL.iter().map(moment).collect()
}

fn cautions(look: &Look) -> Vec<ForTheBench> {
    // What only the chair can heed is not for the bench, unless it says that nothing should have been taken this way.
    let bears = |rule: &Rule| match rule.affects {
        Affects::Laboratory | Affects::Disinfection | Affects::Cast => true,
        Affects::Impression | Affects::Material => rule.level == Level::Stop,
        _ => false,
    };
    let one = |rule: &Rule, open: bool| ForTheBench {
        id: rule.id.clone(),
        level: rule.level,
        says: rule.says.clone(),
        instead: rule.instead.clone(),
        source: rule.source.clone(),
        open,
    };
    let fired = look.fired.iter().filter(|fired| bears(fired.rule)).map(|fired| one(fired.rule, false));
    // A question that only the chair can answer is none for the bench, unless it could stop the bench.
    let open = look.open.iter().filter(|open| {
        matches!(open.rule.affects, Affects::Laboratory | Affects::Disinfection)
            && open.rule.level == Level::Stop
    });
    let mut list: Vec<ForTheBench> = fired.chain(open.map(|open| one(open.rule, true))).collect();
    list.sort_by_key(|caution| (caution.level, caution.open));
    list
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    check: Vec<ReceiptCheck>,
}

fn checks(view: &View) -> Result<Vec<ReceiptCheck>, SheetError> {
    let file: File = toml::from_str(CHECKS).map_err(|error| SheetError::Checks(error.to_string()))?;
    let read = Read::of(view);
    let mut list = Vec::new();
    for mut check in file.check {
        let mut facts: Vec<Fact> = Vec::new();
        let condition = check.when.take().map(|when| Condition::read(when, &mut facts)).transpose();
        let condition =
            condition.map_err(|message| SheetError::Checks(format!("{}: {message}", check.id)))?;
        let values: Vec<_> = facts.iter().map(|fact| read.get(*fact)).collect();
        if condition.is_none_or(|condition| truth(&condition, &values) != Truth::False) {
            list.push(check);
        }
    }
    Ok(list)
}
