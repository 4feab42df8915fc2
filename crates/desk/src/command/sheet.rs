//! `trayward sheet`: what goes to the laboratory with an impression.

use std::io::Write;

use anyhow::{Context, Result};
use chain::Effort;
use counsel::cautions::Rulebook;
use jiff::tz::TimeZone;
use terms::Instant;

use super::{Asked, json, present};
use crate::load;
use crate::sheet_page::{SheetPage, text};

/// Runs `trayward sheet`.
///
/// # Errors
/// When the case cannot be read or the chain refuses it.
pub fn run(name: &str, asked: &Asked, machine: Instant, zone: &TimeZone, out: &mut impl Write) -> Result<()> {
    let case = asked.shelf.case(name)?;
    let stock = asked.shelf.stock(case.demo)?;
    let (now, _) = present(name, &case, asked, machine)?;
    let (parameters, _) = load::parameters(&case, &stock)?;
    let forecast = load::forecast(&case, &stock, Effort::COARSE, now).with_context(|| name.to_owned())?;
    let view = load::view(&case);
    let rulebook = Rulebook::shipped()?;
    let look = counsel::cautions::look(&rulebook, &view);
    let sheet = counsel::sheet::sheet(&view, &forecast, &look, &parameters)?;
    if asked.json {
        let value = serde_json::json!({ "code": case.code.as_str(), "demo": case.demo, "sheet": sheet });
        return json(&value, out);
    }
    write!(out, "{}", text(&SheetPage { name, case: &case, sheet: &sheet, zone }))?;
    Ok(())
}
