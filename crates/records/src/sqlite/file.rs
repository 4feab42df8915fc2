//! The file itself: whether it is one of ours, what its errors mean, and copies of it.

use std::fs::File;
use std::io::Read;
use std::path::Path;

use super::{FORM, PATIENCE_S, SqliteStore};
use crate::Store;
use crate::replay::Kept;
use crate::store::{StoreError, Verified};

/// The mark of our files in the head of an SQLite file: "TrWd".
const APPLICATION: i32 = 0x5472_5764;

/// Looks at the head of a file before anything opens it for writing.
pub fn look(path: &Path) -> Result<(), StoreError> {
    let name = || path.display().to_string();
    if let Some(folder) = path.parent().filter(|folder| !folder.as_os_str().is_empty())
        && !folder.is_dir()
    {
        let why = format!("there is no folder {}", folder.display());
        return Err(StoreError::ReadOnly { path: name(), why });
    }
    let mut head = Vec::new();
    match File::open(path) {
        Ok(file) => {
            file.take(100)
                .read_to_end(&mut head)
                .map_err(|error| StoreError::Other { path: name(), why: error.to_string() })?;
        }
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => return Ok(()),
        Err(error) => return Err(StoreError::ReadOnly { path: name(), why: error.to_string() }),
    }
    // An empty file is what a machine leaves that lost its power while it made one.
    if head.is_empty() {
        return Ok(());
    }
    match head.starts_with(b"SQLite format 3\0") && head.len() == 100 {
        true => Ok(()),
        false => Err(StoreError::Foreign { path: name() }),
    }
}

/// Whether the tables are ours, or only begun.
///
/// # Errors
/// When they are somebody else's or newer, or the file cannot be asked.
pub async fn is_ours(store: &SqliteStore) -> Result<(), StoreError> {
    let ask = |error| store.failed(error);
    let number = |pragma: &'static str| sqlx::query_scalar::<_, i64>(pragma).fetch_one(&store.pool);
    let found = number("pragma user_version").await.map_err(ask)?;
    let application = number("pragma application_id").await.map_err(ask)?;
    // The list of migrations is made before the first of them, which sets the mark.
    let others = number(
        "select count(*) from sqlite_schema where type = 'table' and name not like 'sqlite_%' \
         and name <> '_sqlx_migrations'",
    );
    let path = store.name();
    if application != i64::from(APPLICATION) && (application != 0 || others.await.map_err(ask)? > 0) {
        return Err(StoreError::Foreign { path });
    }
    match found > FORM {
        true => Err(StoreError::Newer { path, found, known: FORM }),
        false => Ok(()),
    }
}

/// What an error of the back end means to whoever records.
pub fn failed(path: String, error: sqlx::Error) -> StoreError {
    let code = match &error {
        sqlx::Error::Database(database) => database.code().and_then(|code| code.parse::<i32>().ok()),
        _ => None,
    };
    let why = match &error {
        sqlx::Error::Database(database) => database.message().to_owned(),
        other => other.to_string(),
    };
    // Result codes of SQLite; the extended ones carry the primary one in their low byte.
    match code.map(|code| (code & 0xff, code)) {
        Some((13, _)) => StoreError::Full { path },
        Some((8 | 14 | 3 | 23, _)) => StoreError::ReadOnly { path, why },
        Some((11 | 26, _)) => StoreError::Damaged { path, why },
        Some((5 | 6, _)) => StoreError::Busy { path, seconds: PATIENCE_S },
        // A disk that cannot take a page any more often says only that writing failed.
        Some((10, 778 | 1034 | 4874)) => StoreError::Full { path },
        _ => StoreError::Other { path, why },
    }
}

impl SqliteStore {
    /// Writes a copy of everything to a new file and looks through it.
    ///
    /// # Errors
    /// When there is a file of that name already, or the copy cannot be written or is not whole.
    pub async fn backup(&self, to: &Path) -> Result<Verified, StoreError> {
        let name = to.display().to_string();
        if to.exists() {
            return Err(StoreError::ReadOnly {
                path: name,
                why: "there is a file of that name already".to_owned(),
            });
        }
        let unfinished = to.with_extension("unfinished");
        let part = unfinished.display().to_string();
        let io = |error: std::io::Error| match error.kind() {
            std::io::ErrorKind::StorageFull => StoreError::Full { path: name.clone() },
            _ => StoreError::ReadOnly { path: name.clone(), why: error.to_string() },
        };
        match std::fs::remove_file(&unfinished) {
            Err(error) if error.kind() != std::io::ErrorKind::NotFound => return Err(io(error)),
            _ => {}
        }
        let copied = sqlx::query("vacuum into $1").bind(&part).execute(&self.pool).await;
        copied.map_err(|error| failed(name.clone(), error))?;
        let finished = async {
            File::open(&unfinished).and_then(|file| file.sync_all()).map_err(io)?;
            let copy = SqliteStore::open_to_read(&unfinished).await?;
            let verified = copy.verify().await?;
            copy.close().await;
            std::fs::rename(&unfinished, to).map_err(io)?;
            if let Some(folder) = to.parent() {
                let folder = if folder.as_os_str().is_empty() { Path::new(".") } else { folder };
                File::open(folder).and_then(|folder| folder.sync_all()).map_err(io)?;
            }
            Ok(verified)
        }
        .await;
        if finished.is_err() {
            // Half a backup must not be taken for one.
            let _ = std::fs::remove_file(&unfinished);
        }
        finished
    }

    /// Every entry of a backup or an export in JSON lines.
    ///
    /// # Errors
    /// When the file cannot be read, or is neither.
    pub async fn read_backup(path: &Path) -> Result<(Vec<Kept>, Vec<String>), StoreError> {
        let name = path.display().to_string();
        let io = |error: std::io::Error| StoreError::ReadOnly { path: name.clone(), why: error.to_string() };
        let mut head = Vec::new();
        File::open(path).map_err(io)?.take(16).read_to_end(&mut head).map_err(io)?;
        if head.starts_with(b"SQLite format 3\0") {
            let store = SqliteStore::open_to_read(path).await?;
            let found = store.salvage().await;
            store.close().await;
            return found;
        }
        let Ok(text) = String::from_utf8(std::fs::read(path).map_err(io)?) else {
            return Err(StoreError::Foreign { path: name });
        };
        if !text.trim_start().starts_with('{') {
            return Err(StoreError::Foreign { path: name });
        }
        Ok((crate::export::read_json_lines(&name, &text)?, Vec::new()))
    }
}
