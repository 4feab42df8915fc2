//! The JSON Schema (2020-12) of the case file.
//!
//! It says of each field alone what the reader allows, except for ranges, which are in the descriptions: a schema cannot
//! compare numbers inside text. Rules between fields other than the choice of one reading are left to the reader.
//! A TOML date-time counts as text in RFC 3339.

use serde_json::{Map, Value, json};
use terms::Tooth;

use super::fields::{Absent, Field, Kind, Presence, TABLES, Table};
use super::value::MAX_PRODUCT_CHARS;
use super::{SCHEMA_VERSION, quantity};
use terms::{CaseCode, LotLabel};

/// The schema of a case file as a JSON value.
pub fn schema() -> Value {
    let mut schema = Map::new();
    schema.insert("$schema".to_owned(), json!("https://json-schema.org/draft/2020-12/schema"));
    schema.insert("title".to_owned(), json!("Trayward case file"));
    schema.append(&mut table_schema(&TABLES[0]));
    Value::Object(schema)
}

fn table_schema(table: &Table) -> Map<String, Value> {
    let mut properties = Map::new();
    let mut required = Vec::new();
    let mut dependent = Map::new();
    let mut choices = Vec::new();
    for field in table.fields {
        properties.insert(field.name.to_owned(), field_schema(field));
        match field.absent {
            Absent::Required => required.push(field.name),
            Absent::With(other) => {
                dependent.insert(field.name.to_owned(), json!([other]));
                dependent.insert(other.to_owned(), json!([field.name]));
            }
            Absent::OneOfThese => choices.push(json!({ "required": [field.name] })),
            Absent::Nothing | Absent::Unknown | Absent::Asked | Absent::Unless(_) => {}
        }
    }
    for child in table.children() {
        let object = Value::Object(table_schema(child));
        let child_schema = match child.presence {
            Presence::Repeated { most } => json!({ "type": "array", "maxItems": most, "items": object }),
            Presence::Required | Presence::Optional => object,
        };
        properties.insert(child.name().to_owned(), child_schema);
        if child.presence == Presence::Required {
            required.push(child.name());
        }
    }
    let mut schema = Map::new();
    schema.insert("description".to_owned(), json!(table.about));
    schema.insert("type".to_owned(), json!("object"));
    schema.insert("properties".to_owned(), Value::Object(properties));
    schema.insert("required".to_owned(), json!(required));
    schema.insert("additionalProperties".to_owned(), json!(false));
    if !dependent.is_empty() {
        schema.insert("dependentRequired".to_owned(), Value::Object(dependent));
    }
    if !choices.is_empty() {
        schema.insert("oneOf".to_owned(), Value::Array(choices));
    }
    schema
}

fn field_schema(field: &Field) -> Value {
    let words = field.words();
    let mut schema = match field.kind {
        Kind::Version => json!({ "const": SCHEMA_VERSION }),
        Kind::Code => json!({ "type": "string", "pattern": CaseCode::PATTERN }),
        Kind::Text { max_chars, lines } => {
            let pattern = if lines { TEXT_PATTERN } else { LINE_PATTERN };
            json!({ "type": "string", "maxLength": max_chars, "pattern": pattern })
        }
        Kind::Lot => json!({ "type": "string", "pattern": LotLabel::PATTERN }),
        Kind::Product => {
            json!({ "type": "string", "pattern": format!("^[a-z0-9-]{{1,{MAX_PRODUCT_CHARS}}}$") })
        }
        Kind::Switch => json!({ "type": "boolean" }),
        Kind::Sign => json!({ "const": true }),
        Kind::Moment => json!({ "type": "string", "pattern": MOMENT_PATTERN }),
        Kind::Word(_) => json!({ "enum": words }),
        Kind::YesNo => json!({ "anyOf": [{ "type": "boolean" }, { "enum": words }] }),
        Kind::Tooth => {
            json!({ "anyOf": [{ "type": "string", "pattern": Tooth::PATTERN }, { "enum": words }] })
        }
        Kind::Quantity { range, .. } => {
            let units: Vec<&str> = quantity::spellings(range.unit).map(|(spelling, _)| spelling).collect();
            let digits = format!("[0-9]{{1,{}}}", quantity::MAX_DIGITS);
            let pattern = format!("^\\s*-?{digits}(\\.{digits})?\\s*({})\\s*$", units.join("|"));
            if words.is_empty() {
                json!({ "type": "string", "pattern": pattern })
            } else {
                json!({ "anyOf": [{ "type": "string", "pattern": pattern }, { "enum": words }] })
            }
        }
    };
    schema["description"] = json!(format!("{} {}", field.about, description(field)));
    schema
}

/// What is allowed and what absence means, in words.
fn description(field: &Field) -> String {
    let absent = match field.absent {
        Absent::Required => " Required.".to_owned(),
        Absent::Nothing => String::new(),
        Absent::Unknown | Absent::Asked => " Absent means unknown.".to_owned(),
        Absent::Unless(rule) => format!(" Absent means not applicable {}, else unknown.", rule.about()),
        Absent::With(other) => format!(" Required with {other}, and only then."),
        Absent::OneOfThese => " Exactly one reading is given.".to_owned(),
    };
    format!("Allowed: {}.{absent}", field.allowed())
}

/// Text without control characters.
const LINE_PATTERN: &str = "^[^\\u0000-\\u001f\\u007f-\\u009f]*$";

/// Text without control characters other than tabs and the ends of lines.
const TEXT_PATTERN: &str = "^[^\\u0000-\\u0008\\u000b\\u000c\\u000e-\\u001f\\u007f-\\u009f]*$";

/// A date and time of day with an offset; TOML allows a blank for the T and no seconds.
const MOMENT_PATTERN: &str = "^(20[0-9]{2}|2100|1999|2101)-[0-9]{2}-[0-9]{2}[Tt ][0-9]{2}:[0-9]{2}(:[0-9]{2}(\\.[0-9]+)?)?\
                              ([Zz]|[+-][0-9]{2}:[0-9]{2})$";
