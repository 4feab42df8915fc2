//! `trayward queue`: which impression to pour first.

use std::fmt::Write as _;
use std::io::Write;

use anyhow::{Context, Result, bail};
use chain::Effort;
use chain::windows::WindowState;
use counsel::pour_order::{self, Hands, Help, Order, Rescue, Waiting};
use counsel::routes::times;
use jiff::tz::TimeZone;
use terms::{Action, GypsumType, Instant, Step};

use super::{json, moment};
use crate::case_file::quantity_text;
use crate::lines::{paragraph, title};
use crate::load;

/// What `trayward queue` is asked.
#[derive(clap::Args)]
pub struct QueueArguments {
    /// Case files of impressions that have been taken out and not poured.
    #[arg(required = true)]
    cases: Vec<String>,
    /// From when hands are free, such as 2026-03-02T09:40:00+01:00; without it now.
    #[arg(long)]
    at: Option<String>,
    /// Pairs of hands.
    #[arg(long, default_value_t = 1)]
    hands: usize,
    /// Mixing stone.
    #[arg(long, default_value = "3 min")]
    mix: String,
    /// Pouring one cast.
    #[arg(long, default_value = "2 min")]
    pour: String,
    /// Casts of one mix.
    #[arg(long, default_value_t = 2)]
    casts: usize,
    /// How long a mix stays pourable.
    #[arg(long, default_value = "4 min")]
    pot: String,
    /// As JSON.
    #[arg(long)]
    json: bool,
}

/// An impression that waits, with what is to be said of it.
struct Queued {
    waiting: Waiting,
    class: terms::ImpressionClass,
    stone: GypsumType,
    has_die: bool,
    no_window: bool,
}

/// Runs `trayward queue`.
///
/// # Errors
/// A case that cannot be read or does not wait, or a bench that cannot pour.
pub fn run(
    arguments: &QueueArguments,
    clinic: Option<&str>,
    machine: Instant,
    zone: &TimeZone,
    out: &mut impl Write,
) -> Result<()> {
    let mut said = arguments.at.as_deref().map(moment).transpose()?;
    let mut queue = Vec::new();
    for name in &arguments.cases {
        let case = load::case(name)?;
        // A demo stands still: its present is that of its last entry.
        let now = *said.get_or_insert_with(|| load::present(&case, machine));
        queue.push(queued(name, clinic, now)?);
    }
    let now = said.unwrap_or(machine);
    let hands = Hands {
        pairs: arguments.hands,
        from_s: seconds(now),
        mix_s: span("--mix", &arguments.mix)?,
        pour_s: span("--pour", &arguments.pour)?,
        casts: arguments.casts,
        pot_s: span("--pot", &arguments.pot)?,
    };
    let waiting: Vec<Waiting> = queue.iter().map(|queued| queued.waiting.clone()).collect();
    let order = pour_order::order(&waiting, &hands)?;
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
    let tight = pour_order::cannot_all(&waiting, &hands)?;
    let rescues = match order.outcome.late {
        0 => Vec::new(),
        _ => pour_order::rescues(&waiting, &hands, seals, stones)?,
    };
    if arguments.json {
        let value = serde_json::json!({
            "waiting": waiting, "hands": hands, "order": order, "cannot_all": tight, "rescues": rescues,
        });
        return json(&value, out);
    }
    write!(out, "{}", page(&queue, &order, &tight, &rescues, zone))?;
    Ok(())
}

fn seconds(at: Instant) -> f64 {
    at.millis() as f64 / 1e3
}

fn queued(name: &str, clinic: Option<&str>, now: Instant) -> Result<Queued> {
    let case = load::case(name)?;
    let stock = load::stock(clinic, case.demo)?;
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
    let (parameters, limits) = load::parameters(&case, &stock)?;
    let forecast = load::forecast(&case, &stock, Effort::COARSE, now).with_context(|| name.to_owned())?;
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
            let plan = chain::outlook(situation, route, &[], &[], &parameters, &limits, effort, now)?;
            times(situation, route, &plan, &parameters)?.chair_s
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
        no_window: window.is_some_and(|window| window.state == WindowState::NoWindow),
    })
}

fn span(field: &str, text: &str) -> Result<f64> {
    match quantity_text(text, &terms::ranges::DWELL) {
        Some(s) => Ok(s),
        None => bail!("{field}: given \"{text}\"; allowed {}", terms::ranges::DWELL.allowed()),
    }
}

fn clock(s: f64, zone: &TimeZone) -> String {
    by_calendar(s, zone, "%H:%M")
}

/// A moment with its date where that is another day than `beside_s`.
fn dated(s: f64, beside_s: f64, zone: &TimeZone) -> String {
    let same = by_calendar(s, zone, "%F") == by_calendar(beside_s, zone, "%F");
    if same { clock(s, zone) } else { by_calendar(s, zone, "%F %H:%M") }
}

fn by_calendar(s: f64, zone: &TimeZone, format: &str) -> String {
    match jiff::Timestamp::from_millisecond((s * 1e3).round() as i64) {
        Ok(timestamp) => timestamp.to_zoned_datetime(zone.clone()).strftime(format).to_string(),
        Err(_) => "no time that a calendar has".to_owned(),
    }
}

fn page(queue: &[Queued], order: &Order, tight: &[usize], rescues: &[Rescue], zone: &TimeZone) -> String {
    let mut out = String::new();
    let code = |place: usize| queue.get(place).map_or("", |queued| queued.waiting.code.as_str());
    let first_s = order.pours.first().map_or(0.0, |pour| pour.begins_s);
    let zone_now = by_calendar(first_s, zone, "%F, clocks at UTC%:z");
    title(&mut out, "Pour in this order");
    let _ = writeln!(out, "  {zone_now}");
    for (number, pour) in order.pours.iter().enumerate() {
        let Some(queued) = queue.get(pour.waiting) else { continue };
        let mix = match pour.mix_s {
            Some(s) => format!("mix {} {}", queued.stone, clock(s, zone)),
            None => "same mix".to_owned(),
        };
        let end = match queued.waiting.begin_by_s {
            Some(end_s) if pour.late_s > 0.0 => {
                format!(
                    "LATE by {:.0} min, was due {}",
                    (pour.late_s / 60.0).ceil(),
                    dated(end_s, pour.begins_s, zone)
                )
            }
            Some(end_s) => format!("due {}", dated(end_s, pour.begins_s, zone)),
            None => "no end".to_owned(),
        };
        let hands = if pour.pair == 1 { "  second hands" } else { "" };
        let _ = writeln!(
            out,
            "{:>3}  {:<10}{:<18}pour {}  {end}{hands}",
            number + 1,
            code(pour.waiting),
            mix,
            clock(pour.begins_s, zone)
        );
        if queued.no_window {
            let _ = writeln!(out, "     there is no window: it opened after it closed");
        }
    }
    let _ = writeln!(out);
    let late: Vec<&str> =
        order.pours.iter().filter(|pour| pour.late_s > 0.0).map(|pour| code(pour.waiting)).collect();
    if late.is_empty() {
        paragraph(&mut out, "  ", "  ", "Nothing is late in this order.");
    } else {
        let words = match order.exact {
            true => {
                format!("{} cannot be kept in any order that keeps as much of the rest.", late.join(", "))
            }
            false => format!("{} late in the best order that was found.", late.join(", ")),
        };
        paragraph(&mut out, "  ", "  ", &words);
        if !tight.is_empty() {
            let list: Vec<&str> = tight.iter().map(|place| code(*place)).collect();
            paragraph(
                &mut out,
                "  ",
                "  ",
                &format!("These cannot all be begun in time, in whatever order: {}.", list.join(", ")),
            );
        }
    }
    if !order.exact {
        let words = format!(
            "More than {} wait: {:.0} of at most {:.0} minutes at stake are kept, and whether an order keeps more is not known.",
            pour_order::MOST_EXACT,
            order.outcome.worth,
            order.bound
        );
        paragraph(&mut out, "  ", "  ", &words);
    }
    if !late.is_empty() {
        title(&mut out, "What would save it, the cheapest first");
        for rescue in rescues {
            let what = match &rescue.what {
                Help::Seal(place) => format!("seal {} humid now, or take it again later", code(*place)),
                Help::Stone(place, stone) => {
                    format!("pour {} in stone {stone} with the others", code(*place))
                }
                Help::SecondHands => "a second pair of hands".to_owned(),
            };
            let then = match rescue.order.outcome.late {
                0 => "nothing is late then".to_owned(),
                late => format!("{late} late then"),
            };
            paragraph(&mut out, "  - ", "    ", &format!("{what}: {then}"));
        }
        if rescues.is_empty() {
            paragraph(&mut out, "  ", "  ", "Nothing that was tried: take the late ones again.");
        }
    }
    paragraph(
        &mut out,
        "\n  ",
        "  ",
        "Kept is what is at stake (minutes to do it again) times the chance that the cast serves; then the fewest late; then the least \
         lateness. A printed end is never moved.",
    );
    out
}
