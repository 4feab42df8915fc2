//! After pouring: what was found on die and margin, between two pours, on an index, on a film and at try-in, and what it does to the
//! chance of a usable result; back to the step and the lot.
//!
//! The chain is asked with and without the findings, and with each of them alone; the samples are the same, so the differences are those
//! of the findings. Nothing is measured against the tooth.

use chain::report::{Forecast, VerdictWord};
use chain::size::Measure;
use chain::statistics::Probability;
use chain::{ChainError, Effort, forecast};
use ledger::{Limits, Parameters};
use serde::Serialize;
use terms::{DieFault, Fact, Instant, Link, LotLabel, Observation, ProductId, Reading, TryInSign};

use crate::View;

/// A chance with its word.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Chance {
    /// Word.
    pub word: VerdictWord,
    /// Probability of a usable result.
    pub usable: Probability,
    /// Whether it rests mainly on assumed values.
    pub mainly_assumed: bool,
}

/// What a finding alone does.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Effect {
    /// The finding in words.
    pub words: String,
    /// Chance with it alone.
    pub usable: f64,
    /// Ledger keys of how far it is believed.
    pub keys: Vec<String>,
}

/// The step that findings speak of, and what was used in it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct GoesBack {
    /// Link.
    pub link: Link,
    /// Why.
    pub why: String,
    /// Product of that step, where there is one.
    pub product: Option<ProductId>,
    /// Its lot, where it is written down.
    pub lot: Option<LotLabel>,
}

/// What to do next.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Next {
    /// Nothing has been found or looked at yet.
    Look,
    /// The stone alone is at fault, and the material bears another pour.
    PourAgain,
    /// The impression did not have it.
    TakeAgain,
    /// Findings contradict each other or the models: read again.
    ReadAgain,
    /// Unlikely to serve: look for the cause first.
    FindTheCause,
    /// A plain sign was found, whatever the figures say.
    Sign,
    /// Nothing found speaks against going on. That is no clearance.
    GoOn,
}

/// The whole.
#[derive(Clone, Debug, Serialize)]
pub struct Outcome {
    /// Without what was found after pouring.
    pub before: Chance,
    /// With it.
    pub after: Chance,
    /// Each finding alone.
    pub each: Vec<Effect>,
    /// Back to the steps.
    pub goes_back: Vec<GoesBack>,
    /// What to do next.
    pub next: Next,
    /// Chance of a second die from the same impression; none where none is taught.
    pub second_die: Option<f64>,
    /// What has not been looked at.
    pub asks: Vec<String>,
    /// Effective number of samples left, and whether they are too few to conclude anything.
    pub effective_samples: (f64, bool),
}

/// What findings after pouring do to the chance of a usable result.
///
/// # Errors
/// When the chain refuses the case.
pub fn result(
    view: &View,
    parameters: &Parameters,
    limits: &Limits,
    effort: Effort,
    now: Instant,
) -> Result<Outcome, ChainError> {
    let ask = |observations: &[Observation]| {
        forecast(view.situation, view.route, view.stamps, observations, parameters, limits, effort, now)
    };
    let (found, earlier): (Vec<Observation>, Vec<Observation>) =
        view.observations.iter().partition(|seen| seen.reading.is_after_pouring());
    let before = ask(&earlier)?;
    let after = if found.is_empty() { before.clone() } else { ask(view.observations)? };
    let mut each = Vec::new();
    for finding in &found {
        let mut alone = earlier.clone();
        alone.push(*finding);
        each.push(Effect {
            words: in_words(&finding.reading),
            usable: ask(&alone)?.verdict.usable.value,
            keys: keys(&finding.reading),
        });
    }
    Ok(Outcome {
        goes_back: goes_back(view, &found, &before, &after),
        next: next(&found, &after),
        second_die: after.second_pour.usable,
        asks: asks(view),
        effective_samples: (after.conditioning.effective_samples, after.conditioning.too_few),
        before: chance(&before),
        after: chance(&after),
        each,
    })
}

fn chance(forecast: &Forecast) -> Chance {
    let verdict = &forecast.verdict;
    Chance { word: verdict.word, usable: verdict.usable, mainly_assumed: verdict.mainly_assumed }
}

fn next(found: &[Observation], after: &Forecast) -> Next {
    let faults = &after.verdict.die_faults;
    if found.is_empty() {
        return Next::Look;
    }
    if !faults.is_empty() {
        let of_stone = faults.iter().all(|fault| fault.is_of_stone());
        return match (of_stone, after.second_pour.usable) {
            (true, Some(_)) => Next::PourAgain,
            _ => Next::TakeAgain,
        };
    }
    match (after.conditioning.too_few, after.verdict.word) {
        (true, _) => Next::ReadAgain,
        (false, VerdictWord::Unlikely) => Next::FindTheCause,
        (false, _) if !chain::signs(found).is_empty() => Next::Sign,
        (false, _) => Next::GoOn,
    }
}

/// A bar of a budget that moves less is not worth naming, m.
const WORTH_NAMING_M: f64 = 2e-6;

/// Faults go back to the step that makes them; readings to the link whose bar they move most.
fn goes_back(view: &View, found: &[Observation], before: &Forecast, after: &Forecast) -> Vec<GoesBack> {
    let mut list: Vec<GoesBack> = Vec::new();
    let mut add = |link: Link, why: String| {
        if !list.iter().any(|known| known.link == link) {
            let (product, lot) = used_in(view, link);
            list.push(GoesBack { link, why, product, lot });
        }
    };
    for fault in &after.verdict.die_faults {
        let (link, why) = match fault {
            DieFault::MarginNotReadable => (Link::Access, "the impression did not have the finish line"),
            DieFault::Bead => (Link::Access, "the impression had a void"),
            DieFault::Bubble => (Link::Stone, "air in the mix, or stone that was not led along the margin"),
            DieFault::Chip | DieFault::Broken => {
                (Link::Stone, "separated early, dry or askew, or a weak mix")
            }
            DieFault::Soft => {
                (Link::Stone, "too much water, an old powder, or a face that held water or disinfectant")
            }
        };
        add(link, format!("{fault}: {why}"));
    }
    for measure in measures(found) {
        let bars = |forecast: &Forecast| {
            let budget = forecast.budgets.iter().find(|budget| budget.measure == measure);
            budget.map(|budget| budget.bars.clone()).unwrap_or_default()
        };
        let (was, is) = (bars(before), bars(after));
        let moved = was.iter().filter_map(|old| {
            let new = is.iter().find(|bar| bar.link == old.link)?;
            Some((old.link, new.mean_m - old.mean_m))
        });
        let most = moved.max_by(|a, b| a.1.abs().total_cmp(&b.1.abs()));
        if let Some((link, moved_m)) = most.filter(|(_, moved_m)| moved_m.abs() >= WORTH_NAMING_M) {
            let way = if moved_m > 0.0 { "more" } else { "less" };
            add(
                link,
                format!(
                    "thought to add {:.0} µm {way} to the {} than before the findings, the most of all steps",
                    moved_m.abs() * 1e6,
                    measure_word(measure)
                ),
            );
        }
    }
    list
}

/// The measures that findings speak of.
fn measures(found: &[Observation]) -> Vec<Measure> {
    let any = |of: &dyn Fn(&Reading) -> bool| found.iter().any(|seen| of(&seen.reading));
    let mut list = Vec::new();
    if any(&|reading| matches!(reading, Reading::SpanIndex(_))) {
        list.push(Measure::Span);
    }
    if any(&|reading| matches!(reading, Reading::MarginFilm(_) | Reading::WallFilm(_) | Reading::TryIn(_))) {
        list.push(Measure::Opening);
    }
    if any(&|reading| matches!(reading, Reading::PourDifference(_))) {
        list.push(Measure::Diameter);
    }
    list
}

fn measure_word(measure: Measure) -> &'static str {
    match measure {
        Measure::Diameter => "diameter",
        Measure::Height => "height",
        Measure::Span => "span",
        Measure::Opening => "opening at the margin",
    }
}

fn used_in(view: &View, link: Link) -> (Option<ProductId>, Option<LotLabel>) {
    let route = view.route;
    match link {
        Link::Stone => (route.stone.product.clone(), route.lots.stone.clone()),
        Link::Access => match &route.wash {
            Some(wash) => (wash.product.clone(), route.lots.wash.clone()),
            None => (route.material.product.clone(), route.lots.material.clone()),
        },
        Link::Mix | Link::Set | Link::Removal | Link::Holding | Link::Tray => {
            (route.material.product.clone(), route.lots.material.clone())
        }
        _ => (None, None),
    }
}

/// What can be looked at and has not been; unknown is not no.
fn asks(view: &View) -> Vec<String> {
    let purpose = view.situation.purpose;
    let known = |of: &dyn Fn(&Reading) -> bool| view.observations.iter().any(|seen| of(&seen.reading));
    let mut asks = Vec::new();
    for &fault in DieFault::ALL {
        let belongs = purpose.has_die() || matches!(fault, DieFault::Soft | DieFault::Broken);
        let looked = known(&|reading| match reading {
            Reading::Die(finding) => finding.fault == fault && finding.present != Fact::Unknown,
            _ => false,
        });
        if belongs && !looked {
            asks.push(match fault {
                DieFault::MarginNotReadable => {
                    "on the die, under magnification: is the margin readable all round?".to_owned()
                }
                fault => format!("on the die, under magnification: {fault}?"),
            });
        }
    }
    let joined = purpose.has_die() && view.situation.span_m.known().is_some();
    if joined && !known(&|reading| matches!(reading, Reading::SpanIndex(_))) {
        asks.push("a rigid index made in the mouth: does it seat on the cast?".to_owned());
    }
    if view.route.plan.second_pour_after_s.known().is_some()
        && !known(&|reading| matches!(reading, Reading::PourDifference(_)))
    {
        asks.push("first and second die, measured at the same place: how much apart?".to_owned());
    }
    if view.route.restoration.is_some() {
        if !known(&|reading| matches!(reading, Reading::MarginFilm(_))) {
            asks.push("a fit-check film: how thick at the margin, and at the walls?".to_owned());
        }
        for &sign in TryInSign::ALL {
            let looked = known(&|reading| match reading {
                Reading::TryIn(finding) => finding.sign == sign && finding.present != Fact::Unknown,
                _ => false,
            });
            if !looked && (joined || sign != TryInSign::Rocks) {
                asks.push(match sign {
                    TryInSign::NotSeated => "at try-in, contacts adjusted: does it seat fully?".to_owned(),
                    TryInSign::Loose => "at try-in: is it loose?".to_owned(),
                    TryInSign::Rocks => "at try-in: does it rock?".to_owned(),
                    TryInSign::OpenMargin | TryInSign::Overhang => format!("at try-in: {sign}?"),
                });
            }
        }
    }
    asks
}

fn keys(reading: &Reading) -> Vec<String> {
    let names: &[&str] = match reading {
        Reading::SpanIndex(_) => &["index_rocks", "index_off", "false_report"],
        Reading::MarginFilm(_) => &["margin_film"],
        Reading::WallFilm(_) => &["wall_film"],
        Reading::PourDifference(_) => &["die_width"],
        Reading::TryIn(finding) => match finding.sign {
            TryInSign::NotSeated => &["not_seated", "false_report"],
            TryInSign::OpenMargin => &["open_margin", "false_report"],
            TryInSign::Overhang => &["overhang", "false_report"],
            TryInSign::Loose => &["loose", "false_report"],
            TryInSign::Rocks => &["rocks", "false_report"],
        },
        Reading::Die(_) => return vec!["access/inspection_miss".to_owned()],
        _ => &[],
    };
    names.iter().map(|name| format!("after/{name}")).collect()
}

/// A finding in words.
pub fn in_words(reading: &Reading) -> String {
    let said = |there: &str, not_there: &str, present: Fact<bool>| match present {
        Fact::Known(true) => there.to_owned(),
        Fact::Known(false) => not_there.to_owned(),
        Fact::Unknown | Fact::NotApplicable => format!("{there}: not known"),
    };
    match reading {
        Reading::Die(finding) => {
            let there = finding.fault.word();
            let not_there = match finding.fault {
                DieFault::MarginNotReadable => "margin readable all round".to_owned(),
                DieFault::Soft => "surface hard and smooth".to_owned(),
                _ => format!("no {there}"),
            };
            format!("on the die: {}", said(there, &not_there, finding.present))
        }
        Reading::PourDifference(m) => format!("second die {:+.0} µm against the first", m * 1e6),
        Reading::SpanIndex(fit) => format!("span index on the cast: {fit}"),
        Reading::MarginFilm(m) => format!("fit-check film at the margin: {:.0} µm", m * 1e6),
        Reading::WallFilm(m) => format!("fit-check film at the walls: {:.0} µm", m * 1e6),
        Reading::TryIn(finding) => {
            let there = finding.sign.word();
            let not_there = match finding.sign {
                TryInSign::NotSeated => "seats fully".to_owned(),
                TryInSign::Rocks => "does not rock".to_owned(),
                TryInSign::Loose => "not loose".to_owned(),
                TryInSign::OpenMargin | TryInSign::Overhang => format!("no {there}"),
            };
            format!("at try-in: {}", said(there, &not_there, finding.present))
        }
        _ => "read before pouring".to_owned(),
    }
}
