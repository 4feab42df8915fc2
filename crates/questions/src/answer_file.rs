//! The answers of a class read from a table of comma- or semicolon-separated values.
//!
//! The header is `learner` and then identifiers of items, or their numbers on the sheet; the character after `learner` says which of the two separates the
//! cells. An answer to a choice is the letter of its place as shown, or the identifier of the option; an order is such letters
//! or identifiers with `>` between them. What is both an identifier and the letter of another place stands for neither. A number
//! has a decimal point or comma and no separators of thousands, and may have the unit of its item behind it. An empty cell is a blank. Every problem of the file is found in one pass; nothing is read from a file with a problem.

use std::collections::BTreeMap;
use std::fmt;

use serde::Serialize;

use crate::answers::{Answers, Learner};
use crate::item::{Body, Item, Response};

/// Largest file, bytes.
pub const MAX_BYTES: usize = 4 << 20;
/// Most learners.
pub const MAX_LEARNERS: usize = 2000;
/// Most items.
pub const MAX_ITEMS: usize = 500;
/// Longest cell, characters.
pub const MAX_CELL: usize = 500;
/// Most problems that are told one by one; the rest are counted.
pub const MAX_PROBLEMS: usize = 200;

/// One problem of a file.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Problem {
    /// Line, from 1; a line in quotes that runs on counts where it begins.
    pub line: u64,
    /// Cell of the line, from 1.
    pub column: usize,
    /// Header of the cell, where it has one.
    pub header: Option<String>,
    /// What was given.
    pub given: String,
    /// What is allowed.
    pub allowed: String,
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "line {}, column {}", self.line, self.column)?;
        if let Some(header) = &self.header {
            write!(f, " ({header})")?;
        }
        write!(f, ": given {}; allowed {}", self.given, self.allowed)
    }
}

/// All problems of a file.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Problems {
    /// The first of them, by line and column.
    pub told: Vec<Problem>,
    /// How many more there are.
    pub more: usize,
}

impl fmt::Display for Problems {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (index, problem) in self.told.iter().enumerate() {
            if index > 0 {
                writeln!(f)?;
            }
            write!(f, "{problem}")?;
        }
        if self.more > 0 {
            write!(f, "\nand {} more", self.more)?;
        }
        Ok(())
    }
}

impl std::error::Error for Problems {}

impl Problems {
    fn add(&mut self, line: u64, column: usize, header: Option<&str>, given: String, allowed: String) {
        if self.told.len() < MAX_PROBLEMS {
            self.told.push(Problem { line, column, header: header.map(shown), given, allowed });
        } else {
            self.more += 1;
        }
    }
}

/// Reads the answers of a class to items of a set.
///
/// # Errors
/// Every problem of the file.
pub fn read_csv(text: &str, items: &[Item]) -> Result<Answers, Problems> {
    let mut problems = Problems { told: Vec::new(), more: 0 };
    let answers = read(text, items, &mut problems);
    if problems.told.is_empty() { Ok(answers) } else { Err(problems) }
}

fn read(text: &str, items: &[Item], problems: &mut Problems) -> Answers {
    let mut answers = Answers { items: Vec::new(), learners: Vec::new() };
    if text.len() > MAX_BYTES {
        problems.add(1, 1, None, format!("{} bytes", text.len()), format!("{MAX_BYTES} bytes"));
        return answers;
    }
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let separator = match text.find([',', ';', '\n']).and_then(|at| text.as_bytes().get(at)) {
        Some(b';') => b';',
        _ => b',',
    };
    let mut reader = csv::ReaderBuilder::new()
        .delimiter(separator)
        .has_headers(false)
        .flexible(true)
        .trim(csv::Trim::All)
        .from_reader(text.as_bytes());
    let mut records = reader.records();
    let mut lines = Lines { text, at: 0, line: 1 };
    let Some(Ok(header)) = records.next() else {
        problems.add(1, 1, None, "no header".to_owned(), HEADER.to_owned());
        return answers;
    };
    let columns = columns(&header, lines.of(&header), items, problems);
    let of_column =
        |(item, written): (&Option<&Item>, &str)| item.map_or(written, |item| &item.id).to_owned();
    answers.items = columns.iter().zip(header.iter().skip(1)).map(of_column).collect();
    let mut first_line: BTreeMap<Learner, u64> = BTreeMap::new();
    let mut learners = 0;
    for record in records {
        // Text is valid already, and lines may have any length: nothing is left that the reader refuses.
        let Ok(record) = record else { continue };
        let line = lines.of(&record);
        if record.iter().all(str::is_empty) {
            continue;
        }
        learners += 1;
        if learners > MAX_LEARNERS {
            problems.add(
                line,
                1,
                None,
                format!("more than {MAX_LEARNERS} learners"),
                format!("{MAX_LEARNERS}"),
            );
            break;
        }
        if record.len() != header.len() {
            let given = format!("{} cells", record.len());
            let allowed = format!("{}, one to each cell of the header", header.len());
            problems.add(line, record.len().min(header.len()) + 1, None, given, allowed);
        }
        let learner = learner(&record, line, &mut first_line, problems);
        let mut responses = Vec::with_capacity(columns.len());
        for (index, column) in columns.iter().enumerate() {
            let Some(cell) = record.get(index + 1) else { break };
            let Some(item) = column else { continue };
            match response(cell, item) {
                Ok(response) => responses.push(response),
                Err((given, allowed)) => problems.add(line, index + 2, Some(&item.id), given, allowed),
            }
        }
        if let Some(learner) = learner {
            answers.learners.push((learner, responses));
        }
    }
    if learners == 0 {
        problems.add(2, 1, None, "no learners".to_owned(), format!("1 to {MAX_LEARNERS} lines of answers"));
    }
    answers
}

/// Lines of a text, counted as far as its records have been read.
///
/// The reader's own count stands before the second half of a line's end where that is two characters, and before empty lines.
struct Lines<'a> {
    text: &'a str,
    at: usize,
    line: u64,
}

impl Lines<'_> {
    /// The line on which a record begins.
    fn of(&mut self, record: &csv::StringRecord) -> u64 {
        let begins = record.position().map_or(0, |position| position.byte() as usize);
        let bytes = self.text.as_bytes();
        while let Some(&byte) = bytes.get(self.at) {
            if self.at >= begins && byte != b'\n' && byte != b'\r' {
                break;
            }
            self.at += 1;
            if byte == b'\n' || (byte == b'\r' && bytes.get(self.at) != Some(&b'\n')) {
                self.line += 1;
            }
        }
        self.line
    }
}

const HEADER: &str = "a header of \"learner\" and identifiers or numbers of items";

/// The item of each cell after the first; none where the header names none.
fn columns<'a>(
    header: &csv::StringRecord,
    line: u64,
    items: &'a [Item],
    problems: &mut Problems,
) -> Vec<Option<&'a Item>> {
    match header.get(0) {
        Some("learner") => {}
        first => problems.add(line, 1, None, quoted(first.unwrap_or("")), HEADER.to_owned()),
    }
    let asked = header.len() - 1;
    if asked == 0 || asked > MAX_ITEMS {
        problems.add(line, 2, None, format!("{asked} items"), format!("1 to {MAX_ITEMS}"));
    }
    let mut seen: BTreeMap<&str, usize> = BTreeMap::new();
    let mut columns = Vec::new();
    for (index, id) in header.iter().enumerate().skip(1).take(MAX_ITEMS) {
        // A sheet of paper numbers its questions from 1.
        let numbered = || items.get(id.parse::<usize>().ok()?.checked_sub(1)?);
        let item = items.iter().find(|item| item.id == id).or_else(numbered);
        if let Some(first) = seen.insert(item.map_or(id, |item| &item.id), index + 1) {
            let given = format!("{} again, as in column {first}", quoted(id));
            problems.add(line, index + 1, None, given, "each item once".to_owned());
        } else if item.is_none() {
            let allowed = list(items.iter().map(|item| item.id.as_str()));
            let allowed = format!("an item of the set: 1 to {}, or {allowed}", items.len());
            problems.add(line, index + 1, None, quoted(id), allowed);
        }
        columns.push(item);
    }
    columns
}

fn learner(
    record: &csv::StringRecord,
    line: u64,
    first_line: &mut BTreeMap<Learner, u64>,
    problems: &mut Problems,
) -> Option<Learner> {
    let given = record.get(0).unwrap_or("");
    let Ok(learner) = Learner::new(given) else {
        problems.add(line, 1, Some("learner"), quoted(given), Learner::ALLOWED.to_owned());
        return None;
    };
    if let Some(first) = first_line.get(&learner) {
        let given = format!("{learner} again, as in line {first}");
        problems.add(line, 1, Some("learner"), given, "each learner once".to_owned());
        return None;
    }
    first_line.insert(learner.clone(), line);
    Some(learner)
}

/// The answer in a cell, or what was given and what is allowed.
fn response(cell: &str, item: &Item) -> Result<Response, (String, String)> {
    if cell.is_empty() {
        return Ok(Response::Blank);
    }
    if cell.chars().count() > MAX_CELL {
        let given = format!("{} characters", cell.chars().count());
        return Err((given, format!("{MAX_CELL} characters")));
    }
    match &item.body {
        Body::Choice { options, .. } => {
            let ids: Vec<&str> = options.iter().map(|option| option.id.as_str()).collect();
            let allowed = || (quoted(cell), format!("{}, or empty", letters_and(&ids)));
            named(cell, &ids).map(|id| Response::Choice(id.to_owned())).ok_or_else(allowed)
        }
        Body::Order { steps, .. } => {
            let ids: Vec<&str> = steps.iter().map(|step| step.id.as_str()).collect();
            let allowed = || format!("each of {} once, with \">\" between them, or empty", letters_and(&ids));
            let mut order: Vec<String> = Vec::new();
            for part in cell.split('>').map(str::trim) {
                let id = named(part, &ids).ok_or_else(|| (quoted(part), allowed()))?;
                if order.iter().any(|earlier| earlier == id) {
                    return Err((format!("{} more than once", quoted(part)), allowed()));
                }
                order.push(id.to_owned());
            }
            if order.len() < ids.len() {
                return Err((format!("{} of {} steps", order.len(), ids.len()), allowed()));
            }
            Ok(Response::Order(order))
        }
        Body::Numeric { unit, .. } => number(cell.strip_suffix(unit.as_str()).unwrap_or(cell).trim_end())
            .map(Response::Number)
            .ok_or_else(|| {
                let allowed =
                    format!("a number in {unit} with a decimal point or comma, such as 2.5 or 2,5, or empty");
                (quoted(cell), allowed)
            }),
    }
}

/// The identifier that a word stands for; none where it stands for none, or for two.
fn named<'a>(word: &str, ids: &[&'a str]) -> Option<&'a str> {
    let by_id = ids.iter().position(|id| *id == word);
    let mut characters = word.chars();
    let by_letter = match (characters.next(), characters.next()) {
        (Some(letter), None) if letter.is_ascii_alphabetic() => {
            let place = usize::from(letter.to_ascii_uppercase() as u8 - b'A');
            (place < ids.len()).then_some(place)
        }
        _ => None,
    };
    let place = match (by_id, by_letter) {
        // An option with the identifier "a" that is not shown first: the letter could mean either.
        (Some(id), Some(letter)) if id != letter => None,
        (Some(id), _) => Some(id),
        (None, letter) => letter,
    };
    place.and_then(|place| ids.get(place)).copied()
}

/// An optional sign, digits, and at most one point or comma.
fn number(cell: &str) -> Option<f64> {
    let unsigned = cell.strip_prefix(['-', '+', '\u{2212}']).unwrap_or(cell);
    let parts: Vec<&str> = unsigned.split(['.', ',']).collect();
    let digits = |part: &&str| part.bytes().all(|b| b.is_ascii_digit());
    if parts.len() > 2 || !parts.iter().all(digits) || parts.iter().all(|part| part.is_empty()) {
        return None;
    }
    let value: f64 = unsigned.replace(',', ".").parse().ok()?;
    let signed = if cell.starts_with(['-', '\u{2212}']) { -value } else { value };
    signed.is_finite().then_some(signed)
}

fn letters_and(ids: &[&str]) -> String {
    let letters = (b'A'..=b'Z').take(ids.len()).map(|letter| char::from(letter).to_string());
    let pairs: Vec<String> = letters.zip(ids).map(|(letter, id)| format!("{letter} ({id})")).collect();
    pairs.join(", ")
}

/// The first of the names; a list of hundreds helps nobody.
fn list<'a>(names: impl Iterator<Item = &'a str>) -> String {
    const SHOWN: usize = 12;
    let names: Vec<&str> = names.collect();
    let mut text = names.iter().take(SHOWN).copied().collect::<Vec<_>>().join(", ");
    if names.len() > SHOWN {
        text.push_str(&format!(" and {} more", names.len() - SHOWN));
    }
    text
}

fn shown(text: &str) -> String {
    const LONGEST: usize = 40;
    let mut short: String = text.chars().take(LONGEST).collect();
    if text.chars().count() > LONGEST {
        short.push('…');
    }
    short
}

fn quoted(text: &str) -> String {
    format!("{:?}", shown(text))
}

#[cfg(test)]
#[path = "answer_file_tests.rs"]
mod tests;
