//! Case files: one case per TOML file, read with every problem found in one pass and written back unchanged.
//!
//! ```toml
//! schema_version = 1
//! code = "TW-0007"          # never a name
//!
//! [situation]
//! purpose = "crown"
//! room_temperature = "23 °C"
//! die_diameter = "8 mm"
//! latex = "unknown"
//!
//! [[situation.abutment]]    # in the order of syringing
//! tooth = "16"
//! margin_depth = "0.5 mm"
//! ```
//!
//! [`fields::TABLES`] is the one list of tables and fields. The reader, the check for unknown fields, the JSON Schema
//! and the writer all follow it. A quantity is text with a unit; a unit of the same dimension is converted and any
//! other is refused. A fact that is not given is unknown, never "no", except where [`fields::Rule`] says that the
//! question does not arise.

mod asked;
pub mod change;
pub mod fields;
mod moment;
mod nearest;
mod problem;
mod quantity;
mod reader;
mod rules;
mod schema;
mod seen;
mod sheet;
mod value;
mod write;

pub use nearest::nearest;
pub use problem::{Problem, Problems};
pub use schema::schema;
pub use terms::{CaseCode, NotACode};
pub use write::{Stated, stated, write};

/// The largest case file that is read, bytes.
pub const MAX_BYTES: usize = 1024 * 1024;

/// The most holding segments, stamps or observations of one case.
pub const MAX_ENTRIES: usize = 64;

/// The version of the case file that is read and written.
pub const SCHEMA_VERSION: u32 = 1;

/// One case: what is known, what is planned and what happened.
#[derive(Clone, Debug, PartialEq)]
pub struct Case {
    /// The code under which the case is kept.
    pub code: CaseCode,
    /// A line that says what the case is about. It is printed: no name, date of birth or address belongs in it.
    pub title: Option<String>,
    /// Whether the case is invented for demonstration or teaching.
    pub demo: bool,
    /// Remarks. The same holds as for the title.
    pub note: Option<String>,
    /// The mouth and the room.
    pub situation: terms::Situation,
    /// Facts about the patient.
    pub patient: terms::Answers,
    /// Facts about the visit.
    pub visit: terms::Answers,
    /// The way the copy is made.
    pub route: terms::Route,
    /// Recorded moments of steps, in the order of the file.
    pub stamps: Vec<terms::Stamp>,
    /// Readings and findings, in the order of the file.
    pub observations: Vec<terms::Observation>,
    /// Limits that the case sets for itself.
    pub limits: CaseLimits,
}

/// Limits of the fit that a case sets for itself; what is absent comes from the ledger.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct CaseLimits {
    /// Largest opening at the margin, m.
    pub opening_m: Option<f64>,
    /// Largest space at the walls, m.
    pub wall_space_m: Option<f64>,
}

/// The SI value of a text such as "3 mm" in the range, as in a case file; none when it is not one.
pub fn quantity_text(text: &str, range: &terms::Range) -> Option<f64> {
    quantity::parse(text, range.unit).ok().filter(|si| range.contains(*si))
}

/// A number as it is written where a comma stands before the decimals, with a point. Only one between two digits is one.
pub fn with_point(text: &str) -> String {
    let commas = text.matches(',').count();
    let between = text.split_once(',').is_some_and(|(before, after)| {
        before.ends_with(|c: char| c.is_ascii_digit()) && after.starts_with(|c: char| c.is_ascii_digit())
    });
    if commas == 1 && between { text.replace(',', ".") } else { text.to_owned() }
}

/// Reads a case file; `file_name` appears in the messages and is not opened.
///
/// # Errors
/// Every problem of the text, sorted by line. When the text is not TOML, only that is reported, because what follows
/// a broken line cannot be trusted; a value without quotes and a field given twice do not hide the other problems.
/// A `schema_version` other than [`SCHEMA_VERSION`] is reported alone.
pub fn parse(file_name: &str, text: &str) -> Result<Case, Problems> {
    reader::read(text).map_err(|list| Problems { file: file_name.to_owned(), list })
}
