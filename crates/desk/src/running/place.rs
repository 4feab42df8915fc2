//! Where records lie.

use std::path::{Path, PathBuf};

use anyhow::{Context, Result, bail};
use records::sqlite::SqliteStore;

/// Where records lie: where somebody said, or the folder that this system keeps for a program's data.
#[derive(Clone, Debug)]
pub struct Place {
    path: PathBuf,
    said: bool,
}

impl Place {
    /// The place that was said, or the usual one.
    ///
    /// # Errors
    /// When nobody said and the system has no such folder.
    pub fn of(said: Option<&str>) -> Result<Place> {
        if let Some(path) = said {
            return Ok(Place { path: PathBuf::from(path), said: true });
        }
        match etcetera::choose_base_strategy() {
            Ok(folders) => {
                let folder = etcetera::BaseStrategy::data_dir(&folders).join("trayward");
                Ok(Place { path: folder.join("records.sqlite"), said: false })
            }
            Err(_) => bail!("this system has no folder for data; allowed --store PATH"),
        }
    }

    /// The file.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Nobody said where, and nothing has been recorded yet: there is nothing, and that is no mistake.
    pub fn is_empty_yet(&self) -> bool {
        !self.said && !self.path.exists()
    }

    /// Opens the store, and makes it where there is none.
    ///
    /// # Errors
    /// When it cannot be used.
    pub async fn open(&self) -> Result<SqliteStore> {
        if let (false, Some(folder)) = (self.said, self.path.parent()) {
            std::fs::create_dir_all(folder).with_context(|| folder.display().to_string())?;
        }
        Ok(SqliteStore::open(&self.path).await?)
    }

    /// Opens the store to read it.
    ///
    /// # Errors
    /// When there is none, or it cannot be used.
    pub async fn open_to_read(&self) -> Result<SqliteStore> {
        Ok(SqliteStore::open_to_read(&self.path).await?)
    }
}
