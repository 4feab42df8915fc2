//! Rows of the table of entries.

use sqlx::sqlite::{SqliteConnection, SqlitePool};
use terms::{CaseCode, Instant};

use super::SqliteStore;
use crate::entry::{BootId, Entry, EntryId, Moment, What};
use crate::replay::Kept;
use crate::seal::{Seal, sealed};
use crate::store::StoreError;

/// A row as it lies in the file.
#[derive(Debug, sqlx::FromRow)]
pub struct Row {
    id: String,
    case_code: String,
    number: i64,
    wall_ms: i64,
    boot: Option<String>,
    since_boot_ms: Option<i64>,
    body: String,
    seal: String,
}

impl Row {
    pub fn number(&self) -> u64 {
        self.number.unsigned_abs()
    }

    /// Its seal; the empty one where it is none, which no entry then follows.
    pub fn seal(&self) -> Seal {
        Seal::from_text(&self.seal).unwrap_or(Seal::EMPTY)
    }

    /// Whether it holds this entry. When it was recorded again later does not matter.
    pub fn is(&self, entry: &Entry, body: &str) -> bool {
        self.case_code == entry.case.as_str() && self.body == body
    }

    fn read(&self) -> Result<Entry, String> {
        let at = |what: &str| format!("entry {} of {}: {what}", self.number, self.case_code);
        let what: What = serde_json::from_str(&self.body).map_err(|error| at(&error.to_string()))?;
        Ok(Entry {
            id: EntryId::from_text(&self.id).ok_or_else(|| at("its identifier is none"))?,
            case: CaseCode::new(&self.case_code).map_err(|error| at(&error.to_string()))?,
            at: Moment {
                wall: Instant::from_millis(self.wall_ms),
                boot: self.boot.clone().map(BootId),
                since_boot_ms: self.since_boot_ms,
            },
            what,
        })
    }

    /// The entry, where it follows `number` and `before`.
    fn after(&self, number: u64, before: Seal) -> Result<Kept, String> {
        if self.number() != number + 1 {
            return Err(format!("{}: entry {} follows entry {number}", self.case_code, self.number));
        }
        let entry = self.read()?;
        let seal = sealed(before, &entry, self.number(), &self.body);
        if Seal::from_text(&self.seal) != Some(seal) {
            return Err(format!(
                "entry {} of {}: its content is not what was recorded",
                self.number, self.case_code
            ));
        }
        Ok(Kept { entry, number: self.number(), seal })
    }
}

pub async fn by_id(writing: &mut SqliteConnection, id: EntryId) -> Result<Option<Row>, sqlx::Error> {
    let row = sqlx::query_as(
        "select id, case_code, number, wall_ms, boot, since_boot_ms, body, seal from entry where id = $1",
    );
    row.bind(id.to_string()).fetch_optional(writing).await
}

pub async fn last_of(writing: &mut SqliteConnection, case: &CaseCode) -> Result<Option<Row>, sqlx::Error> {
    let row = sqlx::query_as(
        "select id, case_code, number, wall_ms, boot, since_boot_ms, body, seal from entry \
         where case_code = $1 order by number desc limit 1",
    );
    row.bind(case.as_str()).fetch_optional(writing).await
}

pub async fn insert(
    writing: &mut SqliteConnection,
    entry: &Entry,
    number: u64,
    body: &str,
    seal: Seal,
) -> Result<(), sqlx::Error> {
    sqlx::query(
        "insert into entry (id, case_code, number, wall_ms, boot, since_boot_ms, body, seal) \
         values ($1, $2, $3, $4, $5, $6, $7, $8)",
    )
    .bind(entry.id.to_string())
    .bind(entry.case.as_str())
    .bind(i64::try_from(number).unwrap_or(i64::MAX))
    .bind(entry.at.wall.millis())
    .bind(entry.at.boot.as_ref().map(|boot| boot.0.as_str()))
    .bind(entry.at.since_boot_ms)
    .bind(body)
    .bind(seal.text())
    .execute(writing)
    .await
    .map(|_| ())
}

pub async fn of_case(pool: &SqlitePool, case: &CaseCode) -> Result<Vec<Row>, sqlx::Error> {
    let rows = sqlx::query_as(
        "select id, case_code, number, wall_ms, boot, since_boot_ms, body, seal from entry \
         where case_code = $1 order by number",
    );
    rows.bind(case.as_str()).fetch_all(pool).await
}

/// The history that rows of one case in order make, every one of them whole.
pub fn whole(rows: Vec<Row>) -> Result<Vec<Kept>, String> {
    let mut history: Vec<Kept> = Vec::with_capacity(rows.len());
    for row in rows {
        let (number, before) = history.last().map_or((0, Seal::EMPTY), |kept| (kept.number, kept.seal));
        history.push(row.after(number, before)?);
    }
    Ok(history)
}

/// Everything that can be read, and in words what cannot. An entry whose neighbour is lost counts when its own content still reads.
pub async fn salvage(store: &SqliteStore) -> Result<(Vec<Kept>, Vec<String>), StoreError> {
    let all: Result<Vec<Row>, sqlx::Error> = sqlx::query_as(
        "select id, case_code, number, wall_ms, boot, since_boot_ms, body, seal from entry \
         order by case_code, number",
    )
    .fetch_all(&store.pool)
    .await;
    let mut lost = Vec::new();
    let rows = match all {
        Ok(rows) => rows,
        Err(_) => one_by_one(store, &mut lost).await?,
    };
    let mut kept: Vec<Kept> = Vec::with_capacity(rows.len());
    for row in rows {
        let before = kept.last().filter(|last| last.entry.case.as_str() == row.case_code);
        let (number, seal) = before.map_or((0, Seal::EMPTY), |last| (last.number, last.seal));
        match row.after(number, seal) {
            Ok(whole) => kept.push(whole),
            Err(why) => {
                lost.push(why);
                if let Ok(entry) = row.read() {
                    kept.push(Kept { entry, number: row.number(), seal: row.seal() });
                }
            }
        }
    }
    Ok((kept, lost))
}

/// Row by row, where a scan breaks off at a damaged page.
async fn one_by_one(store: &SqliteStore, lost: &mut Vec<String>) -> Result<Vec<Row>, StoreError> {
    let last: Result<i64, sqlx::Error> =
        sqlx::query_scalar("select seq from sqlite_sequence where name = 'entry'")
            .fetch_one(&store.pool)
            .await;
    let last = last.map_err(|error| store.failed(error))?;
    let mut rows: Vec<Row> = Vec::new();
    let mut gap: Option<(i64, i64)> = None;
    for sequence in 1..=last {
        let row: Result<Option<Row>, sqlx::Error> = sqlx::query_as(
            "select id, case_code, number, wall_ms, boot, since_boot_ms, body, seal from entry not indexed \
             where sequence = $1",
        )
        .bind(sequence)
        .fetch_optional(&store.pool)
        .await;
        match row {
            Ok(Some(row)) => rows.push(row),
            // An identity that was given to a transaction that did not commit has no row.
            Ok(None) => {}
            Err(_) => {
                gap = Some(match gap {
                    Some((from, to)) if to + 1 == sequence => (from, sequence),
                    Some((from, to)) => {
                        lost.push(unread(from, to));
                        (sequence, sequence)
                    }
                    None => (sequence, sequence),
                });
            }
        }
    }
    lost.extend(gap.map(|(from, to)| unread(from, to)));
    rows.sort_by(|a, b| (&a.case_code, a.number).cmp(&(&b.case_code, b.number)));
    Ok(rows)
}

fn unread(from: i64, to: i64) -> String {
    format!("what was recorded as number {from} to {to} of all cannot be read")
}
