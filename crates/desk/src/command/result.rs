//! `trayward result`: what was found after pouring, and what it does to the chance.

use std::io::Write;

use anyhow::{Context, Result};
use chain::Effort;
use terms::Instant;

use super::{Asked, json, present};
use crate::{load, result_page};

/// Runs `trayward result`.
///
/// # Errors
/// When the case cannot be read or the chain refuses it.
pub fn run(name: &str, asked: &Asked, machine: Instant, out: &mut impl Write) -> Result<()> {
    let case = asked.shelf.case(name)?;
    let stock = asked.shelf.stock(case.demo)?;
    let (now, _) = present(name, &case, asked, machine)?;
    let (parameters, limits) = load::parameters(&case, &stock)?;
    let outcome = counsel::result::result(&load::view(&case), &parameters, &limits, Effort::COARSE, now)
        .with_context(|| name.to_owned())?;
    if asked.json {
        return json(&outcome, out);
    }
    write!(out, "{}", result_page::text(name, &case, &outcome, &parameters))?;
    Ok(())
}
