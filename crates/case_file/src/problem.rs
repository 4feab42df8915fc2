//! What is wrong with a case file, one line for each problem.

use std::fmt;

/// Longest excerpt of the file in a message, characters.
const MAX_EXCERPT: usize = 60;

/// One problem of a case file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Problem {
    /// Line of the file, from 1.
    pub line: usize,
    /// Path of the field, such as `route.holding[0].duration`; `syntax` or `file` when it has none.
    pub field: String,
    /// What was given.
    pub given: String,
    /// What is allowed.
    pub allowed: String,
    /// The right word or text nearest to what was given.
    pub nearest: Option<String>,
}

/// Every problem of a case file, by line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Problems {
    /// Name of the file.
    pub file: String,
    /// The problems, at least one.
    pub list: Vec<Problem>,
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}: given {}; allowed {}", self.line, self.field, self.given, self.allowed)?;
        match &self.nearest {
            Some(nearest) => write!(f, "; did you mean \"{nearest}\"?"),
            None => Ok(()),
        }
    }
}

impl fmt::Display for Problems {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (index, problem) in self.list.iter().enumerate() {
            if index > 0 {
                writeln!(f)?;
            }
            write!(f, "{}:{problem}", self.file)?;
        }
        Ok(())
    }
}

impl std::error::Error for Problems {}

/// A piece of the file on one line, shortened, without control characters.
pub fn excerpt(text: &str) -> String {
    let mut lines = text.trim().lines();
    let first_line = lines.next().unwrap_or("");
    let mut short: String =
        first_line.chars().take(MAX_EXCERPT).map(|c| if c.is_control() { '\u{fffd}' } else { c }).collect();
    if lines.next().is_some() || first_line.chars().nth(MAX_EXCERPT).is_some() {
        short.push('…');
    }
    short
}
