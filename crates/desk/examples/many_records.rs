//! A hundred thousand recorded events: how long it takes to open the program's store and to forecast a case. Reported, never a test.
//!
//! `cargo run --release -p desk --example many_records`
#![allow(clippy::unwrap_used, reason = "a report stops where its premise fails")]

use std::time::Instant;

use chain::Effort;
use desk::load::{self, Hand};
use desk::running::{Session, here};
use records::sqlite::SqliteStore;
use records::{Entry, EntryId, Moment, Store, What};
use terms::{CaseCode, Step};

/// Entries of a case: stated, five stamps, and remarks.
const PER_CASE: usize = 25;
const CASES: usize = 4000;

fn main() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("records.sqlite");
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().unwrap();
    let text = load::case_text("demo").unwrap();
    let begun = Instant::now();
    runtime.block_on(async {
        let store = SqliteStore::open(&path).await.unwrap();
        let at = here();
        for case in 0..CASES {
            let code = CaseCode::new(&format!("TW-{case:06}")).unwrap();
            let stated = text.replace("DEMO-01", code.as_str());
            let entries: Vec<Entry> = (0..PER_CASE)
                .map(|place| {
                    let what = match place {
                        0 => What::Stated { case_file: stated.clone() },
                        1..=5 => What::Stamped { step: Step::ALL[place - 1], earlier_ms: 0 },
                        _ => What::Noted { text: format!("remark {place}") },
                    };
                    let ms = 60_000 * place as i64;
                    let at = Moment {
                        wall: terms::Instant::from_millis(at.wall.millis() - 4_000_000 + ms),
                        boot: at.boot.clone(),
                        since_boot_ms: at.since_boot_ms.map(|since| since - 4_000_000 + ms),
                    };
                    Entry { id: EntryId::fresh(), case: code.clone(), at, what }
                })
                .collect();
            store.append(&entries).await.unwrap();
        }
        store.close().await;
    });
    let size = std::fs::metadata(&path).unwrap().len() / 1_000_000;
    println!(
        "{} entries in {CASES} cases, {size} MB, recorded in {:.1} s",
        PER_CASE * CASES,
        begun.elapsed().as_secs_f64()
    );
    runtime.block_on(async {
        let begun = Instant::now();
        let store = SqliteStore::open(&path).await.unwrap();
        println!("store opened      {:6.0} ms", 1e3 * begun.elapsed().as_secs_f64());
        let code = CaseCode::new(&format!("TW-{:06}", CASES / 2)).unwrap();
        let session = Session::open(&store, &code, &Hand::default()).await.unwrap();
        println!("case replayed     {:6.0} ms", 1e3 * begun.elapsed().as_secs_f64());
        let (now, _) = session.running().present(&here());
        let forecast = session.forecast(Effort::COARSE, now).unwrap();
        println!(
            "first forecast    {:6.0} ms  ({} windows)",
            1e3 * begun.elapsed().as_secs_f64(),
            forecast.windows.len()
        );
        let again = Instant::now();
        session.forecast(Effort::FULL, now).unwrap();
        println!("full forecast    +{:6.0} ms", 1e3 * again.elapsed().as_secs_f64());
        let again = Instant::now();
        let cases = store.cases().await.unwrap().len();
        println!("list of {cases} cases {:5.0} ms", 1e3 * again.elapsed().as_secs_f64());
        let again = Instant::now();
        let verified = store.verify().await.unwrap();
        println!("everything verified in {:.1} s, {} whole", again.elapsed().as_secs_f64(), verified.entries);
    });
}
