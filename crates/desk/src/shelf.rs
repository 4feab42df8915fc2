//! Where a command finds what it is asked about: case files, demo cases, recorded cases, and what is at hand.

use std::path::Path;

use anyhow::Result;
use records::sqlite::SqliteStore;
use records::{Running, Store};
use terms::Instant;

use crate::clinic_file::Stock;
use crate::load;
use crate::running::{Place, here, recorded};
use case_file::{Case, CaseCode};

/// What was said on the command line of where things are.
#[derive(Clone, Copy, Debug, Default)]
pub struct Shelf<'a> {
    /// Clinic file.
    pub clinic: Option<&'a str>,
    /// File of the records.
    pub store: Option<&'a str>,
}

impl Shelf<'_> {
    /// The case of this name: `demo`, `demo/NAME`, a file, or the code of a recorded case.
    ///
    /// # Errors
    /// When there is no such case, or it cannot be read.
    pub fn case(&self, name: &str) -> Result<Case> {
        match code(name) {
            Some(code) => Ok(recorded(&code, &self.running(&code)?)?),
            None => load::case(name),
        }
    }

    /// What is at hand for a case.
    ///
    /// # Errors
    /// When the clinic file cannot be used.
    pub fn stock(&self, demo: bool) -> Result<Stock> {
        load::stock(self.clinic, demo)
    }

    /// The present of a case when nobody names it. A recorded case has the clock of this machine among its own moments.
    ///
    /// # Errors
    /// When the records cannot be read.
    pub fn now(&self, name: &str, case: &Case, machine: Instant) -> Result<Instant> {
        match code(name) {
            Some(code) => Ok(self.running(&code)?.present(&here()).0),
            None => Ok(load::present(case, machine)),
        }
    }

    /// Asks the records, without writing.
    ///
    /// # Errors
    /// When they cannot be opened, or what is asked fails.
    pub fn blocking<T>(&self, ask: impl AsyncFnOnce(&SqliteStore) -> Result<T>) -> Result<T> {
        let place = Place::of(self.store)?;
        let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build()?;
        runtime.block_on(async { ask(&place.open_to_read().await?).await })
    }

    /// Asks the records and adds to them.
    ///
    /// # Errors
    /// When they cannot be opened, or what is asked fails.
    pub fn writing<T>(&self, ask: impl AsyncFnOnce(&SqliteStore) -> Result<T>) -> Result<T> {
        let place = Place::of(self.store)?;
        let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build()?;
        runtime.block_on(async { ask(&place.open().await?).await })
    }

    fn running(&self, code: &CaseCode) -> Result<Running> {
        let place = Place::of(self.store)?;
        let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build()?;
        let history = runtime
            .block_on(async { Ok::<_, anyhow::Error>(place.open_to_read().await?.history(code).await?) })?;
        match history.is_empty() {
            true => anyhow::bail!(
                "{code}: there is no such case in {}; allowed a case of `trayward cases`, or a case file",
                place.path().display()
            ),
            false => Ok(Running::replay(&history)),
        }
    }
}

/// The code that a name is, unless a file has that name.
pub fn code(name: &str) -> Option<CaseCode> {
    CaseCode::new(name).ok().filter(|_| !Path::new(name).exists())
}
