//! What each stated fact of a case moves: each is stated otherwise, and everything that is said is asked again.

use anyhow::Result;
use chain::{Effort, Forecast};
use counsel::cautions::{self, Rulebook};
use terms::Instant;

use crate::clinic_file::Stock;
use crate::load;
use case_file::{self, Case, Stated};

/// Samples with which it is asked: whether anything moves needs few, for the samples are shared.
const EFFORT: Effort = Effort { points: 4 };

/// A stated fact with what it moves.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Input {
    /// Path in the case file.
    pub path: String,
    /// Value.
    pub value: String,
    /// What moves, the weightiest first; nothing where it does not matter here.
    pub moves: Vec<&'static str>,
    /// How far the chance of a usable result moves, least and most, where it does.
    pub chance: Option<[f64; 2]>,
    /// Why it does not matter here; none where it does.
    pub why_not: Option<String>,
}

/// Everything that is said of a case, to be compared.
struct Said {
    forecast: Result<Forecast, String>,
    cautions: serde_json::Value,
    checks: Result<Vec<counsel::visit::Line>, String>,
    measure: Option<counsel::amounts::Measure>,
}

/// The facts that a case states, in the order of their paths.
///
/// # Errors
/// When the case itself cannot be forecast, or the ledger or rulebook is incomplete.
pub fn inputs(case: &Case, stock: &Stock, now: Instant) -> Result<Vec<Input>> {
    inputs_of(case, stock, now, |_| true, |_| Ok(()))
}

/// The same for those whose path is wanted; `each` hears of every one as soon as it is known.
///
/// # Errors
/// As for [`inputs`].
pub fn inputs_of(
    case: &Case,
    stock: &Stock,
    now: Instant,
    wanted: impl Fn(&str) -> bool,
    mut each: impl FnMut(&Input) -> Result<()>,
) -> Result<Vec<Input>> {
    let rulebook = Rulebook::shipped()?;
    let as_it_is = said(case, stock, &rulebook, now)?;
    let mut list = Vec::new();
    for stated in case_file::stated(case).into_iter().filter(|stated| wanted(&stated.path)) {
        let input = input(case, stock, &rulebook, now, &as_it_is, &stated)?;
        each(&input)?;
        list.push(input);
    }
    Ok(list)
}

/// One stated fact.
fn input(
    case: &Case,
    stock: &Stock,
    rulebook: &Rulebook,
    now: Instant,
    as_it_is: &Said,
    stated: &Stated,
) -> Result<Input> {
    let mut moves: Vec<&'static str> = Vec::new();
    let mut add = |word: &'static str, differs: bool| {
        if differs && !moves.contains(&word) {
            moves.push(word);
        }
    };
    let mut chance: Option<[f64; 2]> = None;
    for (_, other) in &stated.otherwise {
        let said = said(other, stock, rulebook, now)?;
        match (&as_it_is.forecast, &said.forecast) {
            (Ok(before), Ok(after)) => {
                let moved = after.verdict.usable.value - before.verdict.usable.value;
                if moved != 0.0 {
                    let [low, high] = chance.unwrap_or([0.0; 2]);
                    chance = Some([low.min(moved), high.max(moved)]);
                }
                add("the chance", moved != 0.0);
                add("the windows", before.windows != after.windows);
                add("sizes and other figures", before.quantities != after.quantities);
                add("what is asked and said", words(before) != words(after));
            }
            (Err(before), Err(after)) => add("what is refused", before != after),
            _ => add("what is refused", true),
        }
        add("the cautions", as_it_is.cautions != said.cautions);
        add("the check list", as_it_is.checks != said.checks);
        add("the amounts", as_it_is.measure != said.measure);
    }
    if moves.is_empty() {
        let before = load::ways(case, stock, now)?;
        for (_, other) in &stated.otherwise {
            if load::ways(other, stock, now)? != before {
                moves.push("other routes");
                break;
            }
        }
    }
    let why_not = moves.is_empty().then(|| why_not(rulebook, stated));
    Ok(Input { path: stated.path.clone(), value: stated.value.clone(), moves, chance, why_not })
}

fn said(case: &Case, stock: &Stock, rulebook: &Rulebook, now: Instant) -> Result<Said> {
    let view = load::view(case);
    let forecast = load::forecast(case, stock, EFFORT, now).map_err(|error| error.to_string());
    let (parameters, _) = load::parameters(case, stock)?;
    let measure =
        forecast.as_ref().ok().map(|forecast| counsel::amounts::measure(&view, &parameters, forecast));
    Ok(Said {
        cautions: serde_json::json!(
            [cautions::look(rulebook, &view), cautions::adrenaline(rulebook, &view),]
        ),
        checks: counsel::visit::checks(&view, &stock.clinic).map_err(|error| error.to_string()),
        measure: measure.transpose()?,
        forecast,
    })
}

/// What a forecast says in words.
fn words(forecast: &Forecast) -> serde_json::Value {
    serde_json::json!([
        forecast.asks,
        forecast.verdict.reasons,
        forecast.verdict.faults,
        forecast.notes,
        forecast.disinfection,
        forecast.second_pour,
        forecast.outside,
    ])
}

/// Why nothing moved: the rules that would stand on it, or what the field says.
fn why_not(rulebook: &Rulebook, stated: &Stated) -> String {
    if stated.otherwise.is_empty() {
        return "every other value would contradict the rest of the case".to_owned();
    }
    let rules: Vec<String> = rulebook
        .on(&stated.path)
        .map(|rule| format!("{} ({})", rule.id, cautions::in_words(&rule.when)))
        .collect();
    if !rules.is_empty() {
        return format!("it counts in {}", rules.join("; "));
    }
    let known = WHERE.iter().find(|(path, _)| stated.path.starts_with(path));
    known.map_or_else(
        || format!("nothing of this route stands on it ({})", stated.about.trim_end_matches('.')),
        |(_, why)| (*why).to_owned(),
    )
}

/// Where facts count that rules do not stand on.
const WHERE: &[(&str, &str)] = &[
    ("situation.water_temperature", "it counts where powder is mixed with water"),
    ("situation.draught", "it counts where a water gel lies in open air"),
    (
        "situation.room_humidity",
        "it counts where water is lost or taken up, and where moisture speeds the cure",
    ),
    ("situation.undercut_at", "it counts where an undercut strains what is near the prepared tooth"),
    ("situation.span", "it counts where a distance is judged: a bridge or a cast"),
    ("situation.convergence", "it counts where a crown is seated"),
    ("situation.die_", "it counts where a prepared tooth is copied"),
    ("route.cords_leave", "it counts where several teeth wait with open sulci"),
    ("route.baths", "it counts for agar"),
    ("route.wash", "it counts where a second material is used"),
    ("route.holding", "the material hardly changes in this time"),
    ("route.mix", "it counts where powder is mixed with water"),
    ("route.plan.mixing", "it counts where it delays seating, and seating is planned for itself"),
    ("route.restoration", "it counts where a crown is seated"),
    ("visit.cartridge_volume", "it counts towards the adrenaline of the anaesthetic, and there is none"),
];
