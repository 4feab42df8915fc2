//! The text of a case file, checked field by field against [`TABLES`].

use std::collections::{BTreeMap, BTreeSet};

use terms::{Fact, HoldingKind, Instant, Tooth};
use toml::de::{DeTable, DeValue};

use super::fields::{Absent, Context, Field, Kind, Presence, Rule, TABLES, Table};
use super::nearest::nearest;
use super::problem::{Problem, excerpt};
use super::value::{self, Datum};

type Spanned<T> = toml::Spanned<T>;

/// How the parser begins to say that one value is not TOML; the rest of the document is then as it was written.
/// When it says anything else, what follows cannot be trusted and is not judged.
const BAD_VALUE: &[&str] =
    &["string values must be quoted", "invalid float", "invalid boolean", "invalid date", "invalid time"];

const NOT_A_VALUE: &str = "a value that is not a number, true, false or a time is in quotes";

/// What a case file says, by path, with the lines where it says it and all that is wrong with it.
#[derive(Debug, Default)]
pub struct Sheet {
    entries: BTreeMap<String, Fact<Datum>>,
    lines: BTreeMap<String, usize>,
    lengths: BTreeMap<&'static str, usize>,
    /// Absent facts that are not applicable when their rule says so.
    ruled: Vec<(String, Rule)>,
    /// Problems so far, in no order.
    pub problems: Vec<Problem>,
}

impl Sheet {
    /// Checks the text.
    ///
    /// # Errors
    /// When the text is not TOML, or is of another version, and its other problems would mislead.
    pub fn fill(text: &str) -> Result<Sheet, Vec<Problem>> {
        let (document, errors) = DeTable::parse_recoverable(text);
        let mut walk = Walk::new(text);
        let mut broken = Vec::new();
        for error in &errors {
            let at = error.span().map_or(0, |span| span.start);
            match error.message() {
                "duplicate key" => walk.duplicate(error.span().unwrap_or(0..0)),
                message if BAD_VALUE.iter().any(|start| message.starts_with(start)) => {
                    walk.bad_values.insert(at);
                }
                message => broken.push(walk.syntax(at, message)),
            }
        }
        if !broken.is_empty() {
            broken.extend(walk.bad_values.iter().map(|&at| walk.syntax(at, NOT_A_VALUE)));
            broken.append(&mut walk.sheet.problems);
            broken.sort_by_key(|problem| problem.line);
            broken.dedup_by_key(|problem| problem.line);
            return Err(broken);
        }
        walk.table(&TABLES[0], "", document.get_ref(), 1);
        if let Some(problem) = walk.other_version {
            return Err(vec![problem]);
        }
        // A bad value where no field is would otherwise pass in silence.
        let reported: BTreeSet<usize> = walk.sheet.problems.iter().map(|problem| problem.line).collect();
        for at in std::mem::take(&mut walk.bad_values) {
            let problem = walk.syntax(at, NOT_A_VALUE);
            if !reported.contains(&problem.line) {
                walk.sheet.problems.push(problem);
            }
        }
        Ok(walk.sheet)
    }

    /// Sets the absent facts to which a rule applies.
    pub fn settle(&mut self, context: &Context) {
        for (path, rule) in std::mem::take(&mut self.ruled) {
            let neighbour = path.rsplit_once('.').map(|(table, _)| format!("{table}.kind"));
            let holding = neighbour.and_then(|path| self.word(&path, HoldingKind::from_word));
            let fact = if rule.applies(&Context { holding, ..*context }) {
                Fact::NotApplicable
            } else {
                Fact::Unknown
            };
            self.entries.insert(path, fact);
        }
    }

    /// Notes something that the fields cannot say one by one.
    pub fn report(&mut self, field: &str, given: String, allowed: String) {
        let line = self.line(field);
        self.problems.push(Problem { line, field: field.to_owned(), given, allowed, nearest: None });
    }

    /// The line of a field or table; for one that is not in the file, that of the table around it.
    fn line(&self, path: &str) -> usize {
        let mut path = path.split(" (").next().unwrap_or(path);
        loop {
            if let Some(line) = self.lines.get(path) {
                return *line;
            }
            match path.rfind(['.', '[']) {
                Some(end) => path = &path[..end],
                None => return 1,
            }
        }
    }

    /// Whether a table was given.
    pub fn has(&self, path: &str) -> bool {
        self.lines.contains_key(path)
    }

    /// Whether a word was read.
    pub fn has_word(&self, path: &str) -> bool {
        matches!(self.entries.get(path), Some(Fact::Known(Datum::Word(_))))
    }

    /// How often a repeated table was given.
    pub fn length(&self, path: &str) -> usize {
        self.lengths.get(path).copied().unwrap_or(0)
    }

    /// A quantity, SI.
    pub fn number(&self, path: &str) -> Option<f64> {
        self.known(path, |datum| if let Datum::Number(si) = datum { Some(*si) } else { None })
    }

    /// A word.
    pub fn word<T>(&self, path: &str, from_word: fn(&str) -> Option<T>) -> Option<T> {
        self.known(path, |datum| if let Datum::Word(word) = datum { from_word(word) } else { None })
    }

    /// A truth value.
    pub fn flag(&self, path: &str) -> Option<bool> {
        self.known(path, |datum| if let Datum::Flag(flag) = datum { Some(*flag) } else { None })
    }

    /// A text.
    pub fn text(&self, path: &str) -> Option<String> {
        self.known(path, |datum| if let Datum::Text(text) = datum { Some(text.clone()) } else { None })
    }

    /// A tooth.
    pub fn tooth(&self, path: &str) -> Option<Tooth> {
        self.text(path).and_then(|digits| Tooth::from_digits(&digits))
    }

    /// A moment.
    pub fn moment(&self, path: &str) -> Option<Instant> {
        self.known(path, |datum| if let Datum::Moment(moment) = datum { Some(*moment) } else { None })
    }

    /// The fact whose value, when it is known, is `value`.
    pub fn fact<T>(&self, path: &str, value: Option<T>) -> Fact<T> {
        match (value, self.entries.get(path)) {
            (Some(value), _) => Fact::Known(value),
            (None, Some(Fact::NotApplicable)) => Fact::NotApplicable,
            (None, _) => Fact::Unknown,
        }
    }

    /// Whatever was read, where a fact may be of any kind.
    pub fn datum(&self, path: &str) -> Fact<Datum> {
        self.entries.get(path).cloned().unwrap_or(Fact::Unknown)
    }

    /// A quantity that may be unknown.
    pub fn number_fact(&self, path: &str) -> Fact<f64> {
        self.fact(path, self.number(path))
    }

    /// A truth value that may be unknown.
    pub fn flag_fact(&self, path: &str) -> Fact<bool> {
        self.fact(path, self.flag(path))
    }

    fn known<T>(&self, path: &str, value: impl Fn(&Datum) -> Option<T>) -> Option<T> {
        match self.entries.get(path) {
            Some(Fact::Known(datum)) => value(datum),
            _ => None,
        }
    }
}

/// A walk through the document along the list of tables.
struct Walk<'t> {
    text: &'t str,
    line_starts: Vec<usize>,
    /// Headers of tables, with their lines, in order.
    headers: Vec<(usize, &'t str)>,
    /// Where the values begin that are not TOML, most often text without quotes.
    bad_values: BTreeSet<usize>,
    other_version: Option<Problem>,
    sheet: Sheet,
}

impl<'t> Walk<'t> {
    fn new(text: &'t str) -> Self {
        let header = |line: &'t str| {
            let inner = line.trim_start().strip_prefix('[')?;
            inner.trim_start_matches('[').split(']').next().map(str::trim)
        };
        Walk {
            text,
            line_starts: std::iter::once(0).chain(text.match_indices('\n').map(|(at, _)| at + 1)).collect(),
            headers: (1..).zip(text.split('\n')).filter_map(|(at, line)| Some((at, header(line)?))).collect(),
            bad_values: BTreeSet::new(),
            other_version: None,
            sheet: Sheet::default(),
        }
    }

    fn table(&mut self, table: &'static Table, path: &str, given: &DeTable<'_>, line: usize) {
        for (key, value) in given {
            let name: &str = key.get_ref();
            let key_line = self.line_at(key.span().start);
            let field_path = join(path, &excerpt(name));
            if let Some(field) = table.fields.iter().find(|field| field.name == name) {
                self.field(field, field_path, value, key_line);
            } else if let Some(child) = table.children().find(|child| child.name() == name) {
                self.child(child, field_path, value);
            } else {
                self.unknown_field(table, field_path, name, key_line, value.get_ref().is_table());
            }
        }
        self.absent_fields(table, path, given, line);
        for child in table.children() {
            if child.presence == Presence::Required && !given.contains_key(child.name()) {
                self.problem(line, join(path, child.name()), "nothing", format!("a table [{}]", child.path));
            }
        }
    }

    fn field(&mut self, field: &Field, path: String, value: &Spanned<DeValue<'_>>, line: usize) {
        self.sheet.lines.insert(path.clone(), line);
        let given = self.given(value);
        let refusal = if self.bad_values.contains(&value.span().start) {
            match value::read(field, &DeValue::String(given.as_str().into())) {
                Ok(_) => value::Refusal { remark: Some("without quotes"), nearest: Some(given.clone()) },
                Err(refusal) => refusal,
            }
        } else {
            match value::read(field, value.get_ref()) {
                Ok(entry) => {
                    self.sheet.entries.insert(path, entry);
                    return;
                }
                Err(refusal) => refusal,
            }
        };
        let given = match refusal.remark {
            Some(remark) => format!("{given} {remark}"),
            None => given,
        };
        let problem =
            Problem { line, field: path, given, allowed: field.allowed(), nearest: refusal.nearest };
        if matches!(field.kind, Kind::Version) && value.get_ref().is_integer() {
            self.other_version = Some(problem.clone());
        }
        self.sheet.problems.push(problem);
    }

    fn child(&mut self, child: &'static Table, path: String, value: &Spanned<DeValue<'_>>) {
        let line = self.line_at(value.span().start);
        match (child.presence, value.get_ref()) {
            (Presence::Repeated { most }, DeValue::Array(items)) => {
                self.sheet.lines.insert(path.clone(), line);
                self.sheet.lengths.insert(child.path, items.len().min(most));
                for (index, item) in items.iter().enumerate().take(most) {
                    let item_path = format!("{path}[{index}]");
                    let item_line = self.line_at(item.span().start);
                    self.sheet.lines.insert(item_path.clone(), item_line);
                    match item.get_ref() {
                        DeValue::Table(given) => self.table(child, &item_path, given, item_line),
                        _ => {
                            let given = self.given(item);
                            self.problem(item_line, item_path, &given, format!("a table [[{}]]", child.path));
                        }
                    }
                }
                if let Some(item) = items.get(most) {
                    let line = self.line_at(item.span().start);
                    self.problem(line, path, &items.len().to_string(), format!("at most {most}"));
                }
            }
            (Presence::Repeated { .. }, _) => {
                let given = self.given(value);
                self.problem(line, path, &given, format!("a table [[{}]] for each", child.path));
            }
            (_, DeValue::Table(given)) => {
                self.sheet.lines.insert(path.clone(), line);
                self.table(child, &path, given, line);
            }
            (_, _) => {
                let given = self.given(value);
                self.problem(line, path, &given, format!("one table [{}]", child.path));
            }
        }
    }

    fn unknown_field(
        &mut self,
        table: &'static Table,
        path: String,
        name: &str,
        line: usize,
        is_table: bool,
    ) {
        let names: Vec<&str> =
            table.fields.iter().map(|field| field.name).chain(table.children().map(Table::name)).collect();
        let nearest = nearest(name, names.iter().copied()).map(str::to_owned);
        let nearest = if is_table { nearest } else { nearest.or_else(|| elsewhere(name)) };
        self.sheet.problems.push(Problem {
            line,
            field: path,
            given: "a field that does not exist".to_owned(),
            allowed: names.join(", "),
            nearest,
        });
    }

    fn absent_fields(&mut self, table: &'static Table, path: &str, given: &DeTable<'_>, line: usize) {
        for field in table.fields {
            let present = given.contains_key(field.name);
            match field.absent {
                Absent::Required if !present => {
                    self.problem(line, join(path, field.name), "nothing", field.allowed());
                }
                Absent::Unless(rule) if !present => self.sheet.ruled.push((join(path, field.name), rule)),
                Absent::With(other) if present != given.contains_key(other) => {
                    let field_path = join(path, field.name);
                    let line = self.sheet.lines.get(&field_path).copied().unwrap_or(line);
                    if present {
                        let given = format!("without {other}");
                        self.problem(line, field_path, &given, format!("only together with {other}"));
                    } else {
                        self.problem(line, field_path, "nothing", field.allowed());
                    }
                }
                _ => {}
            }
        }
        let choices: Vec<&str> =
            table.fields.iter().filter(|f| f.absent == Absent::OneOfThese).map(|f| f.name).collect();
        let chosen: Vec<&str> = choices.iter().copied().filter(|name| given.contains_key(*name)).collect();
        if !choices.is_empty() && chosen.len() != 1 {
            let given = if chosen.is_empty() { "no reading".to_owned() } else { chosen.join(" and ") };
            self.problem(line, path.to_owned(), &given, format!("exactly one of {}", choices.join(", ")));
        }
    }

    /// A key given a second time. The table it stands in is that of the last header above it.
    fn duplicate(&mut self, span: std::ops::Range<usize>) {
        let line = self.line_at(span.start);
        let key = excerpt(self.text.get(span).unwrap_or(""));
        let above = self.headers.partition_point(|(header_line, _)| *header_line <= line);
        let path = match above.checked_sub(1).and_then(|last| self.headers.get(last)) {
            Some((header_line, header)) if *header_line == line => excerpt(header),
            Some((_, header)) => join(&excerpt(header), &key),
            None => key,
        };
        self.problem(line, path, "it a second time", "each field and each single table once".to_owned());
    }

    fn syntax(&self, at: usize, message: &str) -> Problem {
        let line = self.line_at(at);
        let given = excerpt(&self.text[self.line_starts[line - 1]..self.end_of_line(line)]);
        let given = if given.is_empty() { "the end of the text".to_owned() } else { given };
        Problem {
            line,
            field: "syntax".to_owned(),
            given,
            allowed: format!("TOML ({message})"),
            nearest: None,
        }
    }

    fn problem(&mut self, line: usize, field: String, given: &str, allowed: String) {
        self.sheet.problems.push(Problem { line, field, given: given.to_owned(), allowed, nearest: None });
    }

    /// The value as it stands in the file.
    fn given(&self, value: &Spanned<DeValue<'_>>) -> String {
        match value.get_ref() {
            DeValue::Table(_) => "a table".to_owned(),
            DeValue::Array(_) => "a list".to_owned(),
            _ => excerpt(self.text.get(value.span()).unwrap_or("")),
        }
    }

    /// Line of a byte of the text, from 1.
    fn line_at(&self, at: usize) -> usize {
        self.line_starts.partition_point(|&start| start <= at).max(1)
    }

    fn end_of_line(&self, line: usize) -> usize {
        self.line_starts.get(line).map_or(self.text.len(), |&next| next - 1)
    }
}

/// The path of the field of this name in the one other table that has it.
fn elsewhere(name: &str) -> Option<String> {
    let mut places = TABLES.iter().filter(|table| table.fields.iter().any(|field| field.name == name));
    match (places.next(), places.next()) {
        (Some(table), None) => Some(join(table.path, name)),
        _ => None,
    }
}

fn join(table: &str, name: &str) -> String {
    if table.is_empty() { name.to_owned() } else { format!("{table}.{name}") }
}
