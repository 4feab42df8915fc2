//! `trayward cases`, `backup`, `restore`, `export` and `verify`.

use std::io::Write;
use std::path::Path;

use anyhow::{Result, bail};
use jiff::tz::TimeZone;
use records::sqlite::SqliteStore;
use records::{Running, Store, json_lines, restore as restored, table};
use terms::Instant;

use super::json;
use crate::running::{Place, recorded};
use crate::{lines, run_page};

/// What is done to the store as a whole.
#[derive(clap::Subcommand)]
pub enum Keep {
    /// The cases of the records: what runs, what waits to be poured, what is done.
    Cases {
        /// As JSON.
        #[arg(long)]
        json: bool,
    },
    /// A copy of all records in a new file, looked through.
    Backup {
        /// The new file.
        to: String,
    },
    /// Adds what a backup or an export has and the records lack. Nothing is ever taken away.
    Restore {
        /// A backup, or an export in JSON lines.
        from: String,
    },
    /// All records as text: JSON lines, which can be restored, or a table.
    Export {
        /// A table for a spreadsheet.
        #[arg(long)]
        csv: bool,
    },
    /// Looks through all records and says what is not whole.
    Verify,
}

/// Runs it.
///
/// # Errors
/// When the store cannot be read or written, or is not whole.
pub fn run(
    keep: &Keep,
    store: Option<&str>,
    machine: Instant,
    zone: &TimeZone,
    out: &mut impl Write,
) -> Result<()> {
    let place = Place::of(store)?;
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build()?;
    runtime.block_on(async {
        match keep {
            Keep::Cases { json } => cases(&place, *json, machine, zone, out).await,
            Keep::Backup { to } => {
                let verified = place.open_to_read().await?.backup(Path::new(to)).await?;
                writeln!(out, "{to}: {} cases, {} entries", verified.cases, verified.entries)?;
                told(&verified.damage)
            }
            Keep::Restore { from } => {
                let (entries, lost) = SqliteStore::read_backup(Path::new(from)).await?;
                let restored = restored(&place.open().await?, &entries).await?;
                writeln!(
                    out,
                    "{}: {} entries added, {} were there, {} cases",
                    place.path().display(),
                    restored.added,
                    restored.there,
                    restored.cases
                )?;
                let parted = restored.parted.iter().map(|case| {
                    format!("{case}: the two histories part; this one is left as it is, and the other is in {from}")
                });
                told(&lost.into_iter().chain(parted).collect::<Vec<_>>())
            }
            Keep::Export { csv } => {
                let (entries, lost) = place.open_to_read().await?.salvage().await?;
                match csv {
                    true => out.write_all(&table(&entries)?)?,
                    false => out.write_all(json_lines(&entries)?.as_bytes())?,
                }
                told(&lost)
            }
            Keep::Verify => {
                let verified = place.open_to_read().await?.verify().await?;
                writeln!(
                    out,
                    "{}: {} cases, {} entries are whole",
                    place.path().display(),
                    verified.cases,
                    verified.entries
                )?;
                told(&verified.damage)
            }
        }
    })
}

/// What is not whole is an error, after everything that is.
fn told(damage: &[String]) -> Result<()> {
    match damage.is_empty() {
        true => Ok(()),
        false => bail!("not everything is whole:\n  {}", damage.join("\n  ")),
    }
}

/// Where a case stands.
#[derive(serde::Serialize)]
struct Standing {
    case: String,
    entries: u64,
    last_utc_ms: i64,
    stands: String,
    title: Option<String>,
}

async fn cases(
    place: &Place,
    as_json: bool,
    machine: Instant,
    zone: &TimeZone,
    out: &mut impl Write,
) -> Result<()> {
    if place.is_empty_yet() {
        writeln!(out, "no cases yet: trayward run FILE begins one")?;
        return Ok(());
    }
    let store = place.open_to_read().await?;
    let mut list = Vec::new();
    for line in store.cases().await?.iter().filter(|line| !records::is_reserved(&line.case)) {
        let (stands, title) = match store.history(&line.case).await {
            Ok(history) => {
                let running = Running::replay(&history);
                let title = recorded(&line.case, &running).ok().and_then(|case| case.title);
                (stands(&running), title)
            }
            Err(error) => (error.to_string(), None),
        };
        list.push(Standing {
            case: line.case.as_str().to_owned(),
            entries: line.entries,
            last_utc_ms: line.last.millis(),
            stands,
            title,
        });
    }
    if as_json {
        return json(&list, out);
    }
    let mut text = String::new();
    for case in &list {
        let last = run_page::clock(Instant::from_millis(case.last_utc_ms), machine, zone);
        lines::paragraph(
            &mut text,
            &format!("{:<12}", case.case),
            &" ".repeat(12),
            &format!("{last}  {}  {}", case.stands, case.title.as_deref().unwrap_or("")),
        );
    }
    if list.is_empty() {
        text.push_str("no cases yet: trayward run FILE begins one\n");
    }
    write!(out, "{text}")?;
    Ok(())
}

fn stands(running: &Running) -> String {
    match running.stamps.last().map(|kept| kept.stamp.step) {
        None => "stated".to_owned(),
        Some(step) if running.next_step().is_none() => format!("{step}, done"),
        Some(step) => format!("{step}, under way"),
    }
}
