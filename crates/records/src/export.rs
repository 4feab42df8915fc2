//! Histories as text: one JSON object to a line, or a table.
//!
//! JSON lines hold everything, and read back; the table is for a spreadsheet.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};
use terms::CaseCode;

use crate::entry::{Entry, What};
use crate::replay::Kept;
use crate::seal::{Seal, sealed};
use crate::store::StoreError;

/// A line of an export.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Line {
    /// Place in the history of its case, from 1.
    pub number: u64,
    /// The entry.
    #[serde(flatten)]
    pub entry: Entry,
    /// Hash of it and all before it in its case, 64 hexadecimal digits.
    pub seal: String,
}

/// JSON lines.
///
/// # Errors
/// When an entry cannot be written as JSON, which no checked one is.
pub fn json_lines(history: &[Kept]) -> Result<String, serde_json::Error> {
    let mut out = String::new();
    for kept in history {
        let line = Line { number: kept.number, entry: kept.entry.clone(), seal: kept.seal.text() };
        out.push_str(&serde_json::to_string(&line)?);
        out.push('\n');
    }
    Ok(out)
}

/// Reads JSON lines back; `name` is that of the file.
///
/// # Errors
/// The first line that is none, or whose seal is not that of its content.
pub fn read_json_lines(name: &str, text: &str) -> Result<Vec<Kept>, StoreError> {
    let mut list: Vec<Kept> = Vec::new();
    let mut last: BTreeMap<CaseCode, (u64, Seal)> = BTreeMap::new();
    for (index, line) in text.lines().enumerate().filter(|(_, line)| !line.trim().is_empty()) {
        let damaged = |why: String| StoreError::Damaged {
            path: name.to_owned(),
            why: format!("line {}: {why}", index + 1),
        };
        let line: Line = serde_json::from_str(line).map_err(|error| damaged(error.to_string()))?;
        let (number, seal) = last.get(&line.entry.case).copied().unwrap_or((0, Seal::EMPTY));
        let body = body(&line.entry.what).map_err(|error| damaged(error.to_string()))?;
        let expected = sealed(seal, &line.entry, line.number, &body);
        if line.number != number + 1 {
            return Err(damaged(format!("entry {} of {} after {number}", line.number, line.entry.case)));
        }
        if Seal::from_text(&line.seal) != Some(expected) {
            return Err(damaged("its seal is not that of its content".to_owned()));
        }
        last.insert(line.entry.case.clone(), (line.number, expected));
        list.push(Kept { entry: line.entry, number: line.number, seal: expected });
    }
    Ok(list)
}

/// An entry's content as it is kept.
pub(crate) fn body(what: &What) -> Result<String, serde_json::Error> {
    serde_json::to_string(what)
}

/// A table with a head, for a spreadsheet; content stands as JSON, so no field begins like a formula.
///
/// # Errors
/// When an entry cannot be written, which no checked one is.
pub fn table(history: &[Kept]) -> Result<Vec<u8>, csv::Error> {
    let mut out = csv::Writer::from_writer(Vec::new());
    out.write_record([
        "case",
        "number",
        "id",
        "wall_ms_utc",
        "boot",
        "since_boot_ms",
        "kind",
        "content",
        "seal",
    ])?;
    for kept in history {
        let Entry { id, case, at, what } = &kept.entry;
        let content = body(what).map_err(std::io::Error::other)?;
        out.write_record([
            case.as_str(),
            &kept.number.to_string(),
            &id.to_string(),
            &at.wall.millis().to_string(),
            at.boot.as_ref().map_or("", |boot| &boot.0),
            &at.since_boot_ms.map(|ms| ms.to_string()).unwrap_or_default(),
            what.kind(),
            &content,
            &kept.seal.text(),
        ])?;
    }
    out.into_inner().map_err(|error| csv::Error::from(error.into_error()))
}
