//! Single facts of a case, looked at and changed.

use terms::Fact;
use toml::de::DeValue;

use super::fields::{Absent, Field, Kind, NOT_APPLICABLE, TABLES, Table, UNKNOWN};
use super::value::{self, Datum};
use super::write::{field_of, list, write_list};
use super::{Case, Problem, Problems};

/// A field of a case with what it says.
pub struct Line {
    /// Path, such as `route.tray.relief`.
    pub path: String,
    /// Its table.
    pub table: &'static Table,
    /// The field.
    pub field: &'static Field,
    /// What it says, as it would be typed: "23 °C", "true", "unknown".
    pub said: String,
    /// Its SI value, where it is a known quantity.
    pub si: Option<f64>,
}

/// Every field of a case that is a fact or a word of a list, in the order of the file. Stamps and readings are not among them.
pub fn facts(case: &Case) -> Vec<Line> {
    let list = list(case);
    let mut lines = Vec::new();
    for table in TABLES.iter().filter(|table| !matches!(table.path, "" | "stamps" | "observations")) {
        for index in 0.. {
            let path = match table.presence {
                super::fields::Presence::Repeated { .. } => format!("{}[{index}]", table.path),
                _ => table.path.to_owned(),
            };
            let of = |field: &Field| format!("{path}.{}", field.name);
            // A table that is not there has no fields to change one by one.
            if !table.fields.iter().any(|field| list.contains_key(&of(field))) {
                break;
            }
            for field in table.fields.iter().filter(|field| is_changeable(field)) {
                let path = of(field);
                let fact = list.get(&path).cloned().unwrap_or(Fact::Unknown);
                let si = match &fact {
                    Fact::Known(Datum::Number(si)) => Some(*si),
                    _ => None,
                };
                lines.push(Line { said: typed(field, &fact), si, path, table, field });
            }
            if !matches!(table.presence, super::fields::Presence::Repeated { .. }) {
                break;
            }
        }
    }
    lines
}

fn is_changeable(field: &Field) -> bool {
    matches!(
        field.kind,
        Kind::Word(_) | Kind::YesNo | Kind::Quantity { .. } | Kind::Tooth | Kind::Lot | Kind::Product
    )
}

fn typed(field: &Field, fact: &Fact<Datum>) -> String {
    match fact {
        Fact::Unknown if !field.is_fact() => String::new(),
        _ => super::write::value(field, fact).trim_matches('"').to_owned(),
    }
}

/// The case with other facts, each as a path and what is typed. An empty text takes away what need not be said.
///
/// # Errors
/// Every change that is refused; when all are read, what contradicts the rest of the case.
pub fn with(case: &Case, changes: &[(&str, &str)]) -> Result<Case, Problems> {
    let mut list = list(case);
    let mut problems = Vec::new();
    for &(path, text) in changes {
        let text = text.trim();
        let Some(field) = field_of(path).filter(|field| is_changeable(field)) else {
            problems.push(Problem {
                line: 1,
                field: super::problem::excerpt(path),
                given: "a field that does not exist or cannot be changed".to_owned(),
                allowed: "a fact of the case".to_owned(),
                nearest: None,
            });
            continue;
        };
        if text.is_empty() && matches!(field.absent, Absent::Nothing) {
            list.remove(path);
            continue;
        }
        let text = spoken(field, text);
        let text = text.as_str();
        let given = match (field.kind, text) {
            (Kind::YesNo, "true" | "yes") => DeValue::Boolean(true),
            (Kind::YesNo, "false" | "no") => DeValue::Boolean(false),
            (_, "") => DeValue::String(UNKNOWN.into()),
            _ => DeValue::String(text.into()),
        };
        match value::read(field, &given) {
            Ok(fact) => {
                list.insert(path.to_owned(), fact);
            }
            Err(refusal) => problems.push(Problem {
                line: 1,
                field: path.to_owned(),
                given: super::problem::excerpt(text),
                allowed: field.allowed(),
                nearest: refusal.nearest,
            }),
        }
    }
    if !problems.is_empty() {
        return Err(Problems { file: case.code.to_string(), list: problems });
    }
    super::parse(case.code.as_str(), &write_list(case, &list))
}

/// What is said in other words than those of the file: a bare number is in the unit that is shown, a comma may stand before decimals, and
/// what never was does not apply.
fn spoken(field: &Field, text: &str) -> String {
    match (field.kind, text) {
        (_, "not known") => UNKNOWN.to_owned(),
        (_, "never" | "none" | "does not apply")
            if may_not_apply(field) && !field.words().contains(&text) =>
        {
            NOT_APPLICABLE.to_owned()
        }
        (Kind::Quantity { range, .. }, _) => {
            let text = super::with_point(text);
            match text.parse::<f64>() {
                Ok(_) => format!("{text} {}", range.unit.symbol()),
                Err(_) => text,
            }
        }
        _ => text.to_owned(),
    }
}

/// Whether "does not apply" may be answered to a field.
pub fn may_not_apply(field: &Field) -> bool {
    field.words().contains(&NOT_APPLICABLE)
}
