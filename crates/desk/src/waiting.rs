//! Impressions that wait to be poured, and the order that keeps most of them.

use anyhow::{Context, Result, bail};
use chain::windows::WindowState;
use chain::{Effort, Forecast};
use counsel::pour_order::{self, Hands, Order, Rescue, Waiting};
use counsel::routes::times;
use terms::{Action, GypsumType, ImpressionClass, Instant, Step};

use crate::clinic_file::Stock;
use crate::load::Known;
use case_file::Case;

/// An impression that waits, with what is to be said of it.
pub struct Queued {
    /// When it may and must be poured, and what is at stake.
    pub waiting: Waiting,
    /// Class.
    pub class: ImpressionClass,
    /// Stone.
    pub stone: GypsumType,
    /// It has a die.
    pub has_die: bool,
    /// Its window opens only after it has closed.
    pub no_window: bool,
    /// A line that says what it is.
    pub title: Option<String>,
}

/// Impressions in the order in which they are to be poured.
#[derive(Clone, Debug, serde::Serialize)]
pub struct LineUp {
    /// The order, with what it keeps.
    pub order: Order,
    /// Impressions that cannot all be begun in time, in whatever order.
    pub cannot_all: Vec<usize>,
    /// What would save what is late, the cheapest first.
    pub rescues: Vec<Rescue>,
}

/// Whether a case waits to be poured: taken out, and the stone neither poured nor left out.
pub fn waits(case: &Case) -> bool {
    let stamped = |step: Step| case.stamps.iter().any(|stamp| stamp.step == step);
    stamped(Step::Removed) && !stamped(Step::Poured)
}

/// The order for these hands.
///
/// # Errors
/// When the hands cannot pour.
pub fn line_up(queue: &[Queued], hands: &Hands) -> Result<LineUp> {
    let waiting: Vec<Waiting> = queue.iter().map(|queued| queued.waiting.clone()).collect();
    let order = pour_order::order(&waiting, hands)?;
    let seals = |place: usize| queue.get(place).is_some_and(|queued| queued.class.is_hydrocolloid());
    // Any die stone would do for a die; a study cast may be poured in any stone of the queue.
    let stones = |place: usize| -> Vec<GypsumType> {
        let Some(one) = queue.get(place) else { return Vec::new() };
        let mut list: Vec<GypsumType> = queue
            .iter()
            .map(|other| other.stone)
            .filter(|stone| !one.has_die || matches!(stone, GypsumType::Type4 | GypsumType::Type5))
            .collect();
        list.sort();
        list.dedup();
        list
    };
    let cannot_all = pour_order::cannot_all(&waiting, hands)?;
    let rescues = match order.outcome.late {
        0 => Vec::new(),
        _ => pour_order::rescues(&waiting, hands, seals, stones)?,
    };
    Ok(LineUp { order, cannot_all, rescues })
}

/// Hands as they are taken to be where nobody says: three minutes to mix, two to pour, two casts of a mix, four minutes that it stays
/// pourable. Common practice.
pub fn usual_hands(pairs: usize, from: Instant) -> Hands {
    Hands {
        pairs: pairs.clamp(1, 2),
        from_s: seconds(from),
        mix_s: 180.0,
        pour_s: 120.0,
        casts: 2,
        pot_s: 240.0,
    }
}

/// Seconds UTC.
pub fn seconds(at: Instant) -> f64 {
    at.millis() as f64 / 1e3
}

/// An impression that waits.
///
/// # Errors
/// When it does not wait, or the chain refuses it.
pub fn queued(name: &str, case: &Case, stock: &Stock, now: Instant) -> Result<Queued> {
    let stamped = |step: Step| case.stamps.iter().find(|stamp| stamp.step == step).map(|stamp| stamp.at);
    let Some(removed) = stamped(Step::Removed) else {
        bail!("{name}: given no stamp \"removed\"; allowed impressions that have been taken out");
    };
    if stamped(Step::Poured).is_some() {
        bail!("{name}: given a stamp \"poured\"; allowed impressions that wait to be poured");
    }
    if now < removed {
        bail!("{name}: given a present before it was taken out; allowed a later one (--at)");
    }
    let known = Known::of(stock.clone())?;
    let forecast = known.forecast(case, Effort::COARSE, now).with_context(|| name.to_owned())?;
    queued_of(name, case, &known, &forecast, now)
}

/// An impression that waits, with the forecast that was made of it.
///
/// # Errors
/// When it does not wait, or the ledger lacks a row.
pub fn queued_of(
    name: &str,
    case: &Case,
    known: &Known,
    forecast: &Forecast,
    now: Instant,
) -> Result<Queued> {
    let Some(removed) = case.stamps.iter().find(|stamp| stamp.step == Step::Removed).map(|stamp| stamp.at)
    else {
        bail!("{name}: given no stamp \"removed\"; allowed impressions that have been taken out");
    };
    let (parameters, limits, stock) = (&known.parameters, known.limits(case), &known.stock);
    let window = forecast.windows.iter().find(|window| window.action == Action::Pour);
    let start_s = seconds(forecast.start);
    let removed_s = seconds(removed);
    let opens_s = window.and_then(|window| window.opens.binding_s).map_or(removed_s, |s| start_s + s);
    let closes_s = window.and_then(|window| window.closes.binding_s).map(|s| start_s + s);
    // What is at stake is what it takes to do it again: a remake at another visit, or for a cast the minutes of another impression.
    let stake_s = match case.situation.purpose.has_die() {
        true => match stock.clinic.remake.chair_s.known() {
            Some(s) => s,
            None => parameters.find(&["visit"], "remake")?.1.median(),
        },
        false => {
            let (situation, route) = (&case.situation, &case.route);
            let effort = Effort { points: 4 };
            let plan = chain::outlook(situation, route, &[], &[], parameters, &limits, effort, now)?;
            times(situation, route, &plan, parameters)?.chair_s
        }
    };
    let mut best = f64::INFINITY;
    let worth: Vec<(f64, f64)> = forecast
        .pour_curve
        .iter()
        .map(|point| (removed_s + point.after_removal_s, point.usable))
        .map(|(at_s, chance)| {
            // What a gel gains by recovering lies before its window opens; after that, waiting is never a gain.
            best = f64::min(best, chance.max(0.0));
            (at_s, best * stake_s / 60.0)
        })
        .collect();
    Ok(Queued {
        waiting: Waiting {
            code: case.code.as_str().to_owned(),
            ready_s: opens_s.max(removed_s),
            begin_by_s: closes_s,
            worth,
            stone: case.route.stone.gypsum,
        },
        class: case.route.material.class,
        stone: case.route.stone.gypsum,
        has_die: case.situation.purpose.has_die(),
        title: case.title.clone(),
        no_window: window.is_some_and(|window| window.state == WindowState::NoWindow),
    })
}
