//! `trayward queue`: which impression to pour first.

use std::io::Write;

use anyhow::{Result, bail};
use counsel::pour_order::Hands;
use jiff::tz::TimeZone;
use records::{Running, Store};
use terms::Instant;

use super::{json, moment};
use crate::running::{Place, here, recorded};
use crate::shelf::Shelf;
use crate::waiting::{Queued, line_up, queued, seconds, waits};
use crate::{load, queue_page};
use case_file::{self, Case, quantity_text};

/// What `trayward queue` is asked.
#[derive(clap::Args)]
pub struct QueueArguments {
    /// Cases that have been taken out and not poured: codes of the records or files; `demo` for those of an invented morning. Without any,
    /// all that wait in the records.
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

/// Runs `trayward queue`.
///
/// # Errors
/// A case that cannot be read or does not wait, or a bench that cannot pour.
pub fn run(
    arguments: &QueueArguments,
    shelf: Shelf,
    machine: Instant,
    zone: &TimeZone,
    out: &mut impl Write,
) -> Result<()> {
    let mut said = arguments.at.as_deref().map(moment).transpose()?;
    let demo = arguments.cases == ["demo"];
    let mut queue: Vec<Queued> = Vec::new();
    if arguments.cases.is_empty() {
        let of_records = all_that_wait(shelf)?;
        for (case, present) in &of_records {
            let now = said.unwrap_or(*present);
            let waiting = queued(case.code.as_str(), case, &shelf.stock(case.demo)?, now);
            queue.push(waiting?);
        }
        if queue.is_empty() {
            writeln!(out, "Nothing waits to be poured. An invented morning: trayward queue demo")?;
            return Ok(());
        }
    } else if demo {
        let now = *said.get_or_insert(load::WAITING_PRESENT);
        for (name, text) in load::WAITING {
            let case = case_file::parse(name, text).map_err(load::Unreadable)?;
            queue.push(queued(name, &case, &shelf.stock(true)?, now)?);
        }
    } else {
        for name in &arguments.cases {
            let case = shelf.case(name)?;
            // A demo stands still: its present is that of its last entry.
            let present = shelf.now(name, &case, machine)?;
            let now = *said.get_or_insert(present);
            queue.push(queued(name, &case, &shelf.stock(case.demo)?, now)?);
        }
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
    let line_up = line_up(&queue, &hands)?;
    if arguments.json {
        let waiting: Vec<_> = queue.iter().map(|queued| &queued.waiting).collect();
        let value = serde_json::json!({
            "waiting": waiting,
            "hands": hands,
            "order": line_up.order,
            "cannot_all": line_up.cannot_all,
            "rescues": line_up.rescues,
        });
        return json(&value, out);
    }
    if demo {
        writeln!(out, "demo: an invented morning, at {}", queue_page::clock(seconds(now), zone))?;
    }
    write!(out, "{}", queue_page::text(&queue, &line_up, zone))?;
    Ok(())
}

/// Every recorded case that waits, each with the present among its own moments.
fn all_that_wait(shelf: Shelf) -> Result<Vec<(Case, Instant)>> {
    let place = Place::of(shelf.store)?;
    if place.is_empty_yet() {
        return Ok(Vec::new());
    }
    let at = here();
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build()?;
    runtime.block_on(async {
        let store = place.open_to_read().await?;
        let mut list = Vec::new();
        for line in store.cases().await?.iter().filter(|line| !records::is_reserved(&line.case)) {
            let running = Running::replay(&store.history(&line.case).await?);
            let case = recorded(&line.case, &running)?;
            let left_out = running.skipped.iter().any(|(step, _)| *step == terms::Step::Poured);
            if waits(&case) && !left_out {
                list.push((case, running.present(&at).0));
            }
        }
        Ok(list)
    })
}

fn span(field: &str, text: &str) -> Result<f64> {
    match quantity_text(text, &terms::ranges::DWELL) {
        Some(s) => Ok(s),
        None => bail!("{field}: given \"{text}\"; allowed {}", terms::ranges::DWELL.allowed()),
    }
}
