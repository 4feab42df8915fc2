//! One value of one field.

use terms::{Fact, Instant, Tooth};
use toml::de::DeValue;

use super::fields::{Field, Kind, NOT_APPLICABLE, UNKNOWN};
use super::moment::{self, Refused};
use super::nearest::nearest;
use super::quantity;
use terms::{CaseCode, LotLabel};

/// Longest product identifier, characters.
pub const MAX_PRODUCT_CHARS: usize = 64;

/// A value as the reader and the writer exchange it, SI.
#[derive(Clone, Debug, PartialEq)]
pub enum Datum {
    /// A quantity.
    Number(f64),
    /// A word of a list.
    Word(&'static str),
    /// True or false.
    Flag(bool),
    /// Text, a code, an identifier or a tooth.
    Text(String),
    /// A moment.
    Moment(Instant),
}

/// Why a value is refused.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Refusal {
    /// What to add to the excerpt of the file.
    pub remark: Option<&'static str>,
    /// What was probably meant.
    pub nearest: Option<String>,
}

/// The value of a field.
///
/// # Errors
/// When it is not one of the values that the field allows.
pub fn read(field: &Field, value: &DeValue<'_>) -> Result<Fact<Datum>, Refusal> {
    let text = value.as_str();
    match text {
        Some(UNKNOWN) if field.is_fact() => return Ok(Fact::Unknown),
        Some(NOT_APPLICABLE) if field.may_not_arise() => return Ok(Fact::NotApplicable),
        _ => {}
    }
    let datum = match field.kind {
        Kind::Version => value
            .as_integer()
            .filter(|version| version.to_string() == super::SCHEMA_VERSION.to_string())
            .map(|_| Datum::Number(f64::from(super::SCHEMA_VERSION))),
        Kind::Code => {
            text.filter(|code| CaseCode::new(code).is_ok()).map(|code| Datum::Text(code.to_owned()))
        }
        Kind::Text { max_chars, lines } => {
            text.filter(|text| fits(text, max_chars, lines)).map(|text| Datum::Text(text.to_owned()))
        }
        Kind::Lot => text.filter(|lot| LotLabel::new(lot).is_ok()).map(|lot| Datum::Text(lot.to_owned())),
        Kind::Product => text.filter(|id| is_product_id(id)).map(|id| Datum::Text(id.to_owned())),
        Kind::Switch | Kind::YesNo => value.as_bool().map(Datum::Flag),
        Kind::Sign => value.as_bool().filter(|seen| *seen).map(Datum::Flag),
        Kind::Moment => return read_moment(value).map(Fact::Known),
        Kind::Tooth => text
            .filter(|digits| Tooth::from_digits(digits).is_some())
            .map(|digits| Datum::Text(digits.to_owned())),
        Kind::Word(words) => words.iter().find(|word| Some(**word) == text).map(|word| Datum::Word(word)),
        Kind::Quantity { .. } => return read_quantity(field, text.unwrap_or("")).map(Fact::Known),
    };
    datum.map(Fact::Known).ok_or_else(|| {
        let nearest = match value.as_integer().map(ToString::to_string) {
            Some(digits) if matches!(field.kind, Kind::Tooth) => {
                Tooth::from_digits(&digits).map(|tooth| tooth.to_string())
            }
            _ => text.and_then(|text| nearest(text, field.words())).map(str::to_owned),
        };
        Refusal { remark: None, nearest }
    })
}

fn read_quantity(field: &Field, text: &str) -> Result<Datum, Refusal> {
    let Kind::Quantity { range, words } = field.kind else { return Err(Refusal::default()) };
    if let Some((_, si)) = words.iter().find(|(word, _)| *word == text) {
        return Ok(Datum::Number(*si));
    }
    match quantity::parse(text, range.unit) {
        Ok(si) if range.contains(si) => Ok(Datum::Number(si)),
        Ok(_) => Err(Refusal::default()),
        Err(meant) => {
            let nearest = meant.or_else(|| nearest(text, field.words()).map(str::to_owned));
            Err(Refusal { remark: None, nearest })
        }
    }
}

/// A moment is a TOML date-time or the same in quotes.
fn read_moment(value: &DeValue<'_>) -> Result<Datum, Refusal> {
    let from_text = value.as_str().and_then(|text| text.parse().ok());
    let written = value.as_datetime().or(from_text.as_ref()).ok_or_else(Refusal::default)?;
    moment::parse(written).map(Datum::Moment).map_err(|refused| {
        let remark = (refused == Refused::NoOffset).then_some("without an offset from UTC");
        Refusal { remark, nearest: None }
    })
}

fn fits(text: &str, max_chars: usize, lines: bool) -> bool {
    let allowed = |c: char| !c.is_control() || (lines && matches!(c, '\n' | '\r' | '\t'));
    text.chars().count() <= max_chars && text.chars().all(allowed)
}

fn is_product_id(id: &str) -> bool {
    (1..=MAX_PRODUCT_CHARS).contains(&id.len())
        && id.bytes().all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'-')
}
