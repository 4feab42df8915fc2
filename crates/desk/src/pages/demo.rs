//! The demo scenario in a fresh store: an invented morning that goes on now.

use anyhow::Result;
use records::{Book, Entry, EntryId, Moment, Store, What};
use terms::{CaseCode, Instant, Reading, Step};

use super::House;
use crate::load;
use crate::running::here;
use case_file::{self, Case};

/// Demo cases that are planned, running and done when the program starts.
const CASES: &[&str] =
    &["crown-silicone", "bridge-silicone", "four-abutments", "study-alginate", "unknowns", "after-pour"];

/// Puts the scenario into an empty store. What is stamped in it happened before now by as much as it did before its own present.
///
/// # Errors
/// When the store cannot keep it.
pub async fn fill(house: &House) -> Result<()> {
    let at = here();
    let mut entries = Vec::new();
    for (name, text) in load::WAITING {
        let case = case_file::parse(name, text).map_err(load::Unreadable)?;
        entries.extend(moved(&case, load::WAITING_PRESENT, &at));
    }
    for name in CASES {
        let case = load::case(&format!("demo/{name}"))?;
        let present = load::present(&case, at.wall);
        entries.extend(moved(&case, present, &at));
    }
    let book = CaseCode::new(Book::CODE)?;
    let read = |reading| What::Observed { reading, earlier_ms: 40 * 60_000 };
    let lot = |product: &str, lot: &str, expires: &str| What::Received {
        product: product.to_owned(),
        lot: lot.to_owned(),
        expires: Some(expires.to_owned()),
    };
    for what in [
        read(Reading::RoomTemperature(296.15)),
        read(Reading::RoomHumidity(0.45)),
        read(Reading::WaterTemperature(291.15)),
        lot("demo-silicone-heavy", "L-2403", "2099-03"),
        lot("demo-silicone-light", "L-2417", "2099-03"),
        lot("demo-stone-4", "S-118", "2020-01"),
    ] {
        entries.push(Entry { id: EntryId::fresh(), case: book.clone(), at: at.clone(), what });
    }
    house.store.append(&entries).await?;
    Ok(())
}

/// What is longer ago than this is recorded as it would have been then, by the wall clock alone, ms.
const LONG_AGO_MS: i64 = 23 * 3_600_000;

/// A case with its stamps and readings as long ago as they are before `present`.
fn moved(case: &Case, present: Instant, at: &Moment) -> Vec<Entry> {
    let ago = |then: Instant| present.millis() - then.millis();
    let stamps = case.stamps.iter().map(|stamp| (ago(stamp.at), Happened::Step(stamp.step)));
    let readings = case.observations.iter().map(|seen| (ago(seen.at), Happened::Seen(seen.reading)));
    let mut happened: Vec<(i64, Happened)> = stamps.chain(readings).collect();
    happened.sort_by_key(|(ms, _)| std::cmp::Reverse(*ms));
    let oldest_ms = happened.first().map_or(0, |(ms, _)| *ms);
    let then = |ms: i64| match oldest_ms > LONG_AGO_MS {
        true => {
            (Moment { wall: Instant::from_millis(at.wall.millis() - ms), boot: None, since_boot_ms: None }, 0)
        }
        false => (at.clone(), ms),
    };
    let entry = |at, what| Entry { id: EntryId::fresh(), case: case.code.clone(), at, what };
    let stated = Case { stamps: Vec::new(), observations: Vec::new(), ..case.clone() };
    let mut list = vec![entry(then(oldest_ms).0, What::Stated { case_file: case_file::write(&stated) })];
    list.extend(happened.into_iter().map(|(ms, what)| {
        let (at, earlier_ms) = then(ms);
        entry(
            at,
            match what {
                Happened::Step(step) => What::Stamped { step, earlier_ms },
                Happened::Seen(reading) => What::Observed { reading, earlier_ms },
            },
        )
    }));
    list
}

enum Happened {
    Step(Step),
    Seen(Reading),
}
