//! Histories in one SQLite file: write-ahead log, full synchronisation, so that a commit is on the disk when it returns.

mod file;
mod rows;

use std::path::{Path, PathBuf};
use std::time::Duration;

use sqlx::sqlite::{
    SqliteConnectOptions, SqliteJournalMode, SqlitePool, SqlitePoolOptions, SqliteSynchronous,
};
use terms::{CaseCode, Instant};

use crate::entry::Entry;
use crate::replay::Kept;
use crate::seal::{Seal, sealed};
use crate::store::{Acknowledged, CaseLine, Store, StoreError, Verified};
use rows::Row;

/// The form of the tables that this program writes: the number of the last migration.
pub const FORM: i64 = 1;

/// How long another writer is waited for, s.
const PATIENCE_S: u64 = 5;

/// Histories in one file.
pub struct SqliteStore {
    path: PathBuf,
    pool: SqlitePool,
}

impl SqliteStore {
    /// Opens the file, and makes it where there is none.
    ///
    /// # Errors
    /// When the file is something else, newer, damaged, or cannot be written.
    pub async fn open(path: &Path) -> Result<SqliteStore, StoreError> {
        file::look(path)?;
        let store = SqliteStore::connected(path, options(path).create_if_missing(true)).await?;
        let migrated = sqlx::migrate!("migrations/sqlite").run(&store.pool).await;
        if let Err(error) = migrated {
            return Err(match error {
                sqlx::migrate::MigrateError::VersionMissing(found) => {
                    StoreError::Newer { path: store.name(), found, known: FORM }
                }
                sqlx::migrate::MigrateError::Execute(error) => store.failed(error),
                other => StoreError::Other { path: store.name(), why: other.to_string() },
            });
        }
        Ok(store)
    }

    /// Opens the file to read it alone: nothing is written, made or migrated.
    ///
    /// # Errors
    /// When there is none, or it is something else, newer or damaged.
    pub async fn open_to_read(path: &Path) -> Result<SqliteStore, StoreError> {
        if !path.exists() {
            return Err(StoreError::Absent { path: path.display().to_string() });
        }
        file::look(path)?;
        let reading = || SqliteConnectOptions::new().filename(path).read_only(true);
        match SqliteStore::connected(path, reading().busy_timeout(Duration::from_secs(PATIENCE_S))).await {
            // In a folder that cannot be written a closed file is read as one that nobody changes.
            Err(StoreError::ReadOnly { .. }) if !has_log(path) => {
                SqliteStore::connected(path, reading().immutable(true)).await
            }
            opened => opened,
        }
    }

    async fn connected(path: &Path, options: SqliteConnectOptions) -> Result<SqliteStore, StoreError> {
        let pool = SqlitePoolOptions::new().max_connections(4).connect_lazy_with(options);
        let store = SqliteStore { path: path.to_owned(), pool };
        // The first statement opens the file, and says what is wrong with it.
        file::is_ours(&store).await?;
        Ok(store)
    }

    /// Where it is.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Ends all connections; what is in the write-ahead log goes into the file.
    pub async fn close(self) {
        self.pool.close().await;
    }

    /// All entries, case after case. What cannot be read is named and left out, and everything else is there.
    ///
    /// # Errors
    /// When nothing at all can be read.
    pub async fn salvage(&self) -> Result<(Vec<Kept>, Vec<String>), StoreError> {
        rows::salvage(self).await
    }

    fn name(&self) -> String {
        self.path.display().to_string()
    }

    fn failed(&self, error: sqlx::Error) -> StoreError {
        file::failed(self.name(), error)
    }
}

/// Whether a write-ahead log lies beside the file.
fn has_log(path: &Path) -> bool {
    let mut log = path.as_os_str().to_owned();
    log.push("-wal");
    Path::new(&log).exists()
}

fn options(path: &Path) -> SqliteConnectOptions {
    SqliteConnectOptions::new()
        .filename(path)
        .journal_mode(SqliteJournalMode::Wal)
        .synchronous(SqliteSynchronous::Full)
        .busy_timeout(Duration::from_secs(PATIENCE_S))
        .foreign_keys(true)
}

impl Store for SqliteStore {
    async fn append(&self, entries: &[Entry]) -> Result<Vec<Acknowledged>, StoreError> {
        for entry in entries {
            entry.what.check()?;
        }
        let failed = |error| self.failed(error);
        // Whoever writes locks first, so that the next number is the next number.
        let mut writing = self.pool.begin_with("begin immediate").await.map_err(failed)?;
        let mut acknowledged = Vec::with_capacity(entries.len());
        for entry in entries {
            let body = crate::export::body(&entry.what)
                .map_err(|error| StoreError::Other { path: self.name(), why: error.to_string() })?;
            if let Some(known) = rows::by_id(&mut writing, entry.id).await.map_err(failed)? {
                if !known.is(entry, &body) {
                    return Err(StoreError::Taken { id: entry.id });
                }
                acknowledged.push(Acknowledged { id: entry.id, number: known.number(), repeated: true });
                continue;
            }
            let last = rows::last_of(&mut writing, &entry.case).await.map_err(failed)?;
            let (number, before) = last.map_or((0, Seal::EMPTY), |row| (row.number(), row.seal()));
            let number = number + 1;
            let seal = sealed(before, entry, number, &body);
            rows::insert(&mut writing, entry, number, &body, seal).await.map_err(failed)?;
            acknowledged.push(Acknowledged { id: entry.id, number, repeated: false });
        }
        writing.commit().await.map_err(failed)?;
        Ok(acknowledged)
    }

    async fn history(&self, case: &CaseCode) -> Result<Vec<Kept>, StoreError> {
        let list: Vec<Row> = rows::of_case(&self.pool, case).await.map_err(|error| self.failed(error))?;
        rows::whole(list).map_err(|why| StoreError::Damaged { path: self.name(), why })
    }

    async fn cases(&self) -> Result<Vec<CaseLine>, StoreError> {
        let lines: Vec<(String, i64, i64)> = sqlx::query_as(
            "select case_code, max(number), max(wall_ms) from entry group by case_code order by case_code",
        )
        .fetch_all(&self.pool)
        .await
        .map_err(|error| self.failed(error))?;
        let line = |(code, entries, last_ms): (String, i64, i64)| {
            let case = CaseCode::new(&code)
                .map_err(|error| StoreError::Damaged { path: self.name(), why: error.to_string() })?;
            Ok(CaseLine { case, entries: entries.unsigned_abs(), last: Instant::from_millis(last_ms) })
        };
        lines.into_iter().map(line).collect()
    }

    async fn verify(&self) -> Result<Verified, StoreError> {
        let mut verified = Verified::default();
        let told: Result<Vec<String>, sqlx::Error> =
            sqlx::query_scalar("pragma integrity_check(20)").fetch_all(&self.pool).await;
        match told {
            Ok(lines) => verified.damage.extend(lines.into_iter().filter(|line| line != "ok")),
            Err(error) => verified.damage.push(self.failed(error).to_string()),
        }
        let (kept, lost) = self.salvage().await?;
        verified.entries = kept.len() as u64;
        let mut cases: Vec<&CaseCode> = kept.iter().map(Kept::case).collect();
        cases.sort();
        cases.dedup();
        verified.cases = cases.len() as u64;
        verified.damage.extend(lost);
        Ok(verified)
    }
}
