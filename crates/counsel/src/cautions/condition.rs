//! The condition of a rule: read from its row, checked against the facts.

use serde::Deserialize;
use terms::{Answer, AnswerKind, Unit};

use super::facts::Fact;

/// A condition over the facts of a rule.
#[derive(Clone, Debug, PartialEq)]
pub enum Condition {
    /// All hold.
    All(Vec<Condition>),
    /// At least one holds.
    Any(Vec<Condition>),
    /// It does not hold.
    Not(Box<Condition>),
    /// A fact passes a test.
    Fact {
        /// The fact.
        fact: Fact,
        /// Its place among the facts of the rule.
        place: usize,
        /// The test.
        test: Test,
        /// The unit in which the test is written.
        unit: Option<Unit>,
    },
}

/// A test of one fact; quantities are SI.
#[derive(Clone, Debug, PartialEq)]
pub enum Test {
    /// One of these answers.
    Is(Vec<Answer>),
    /// Less than.
    Below(f64),
    /// Not more than.
    AtMost(f64),
    /// More than.
    Above(f64),
    /// Not less than.
    AtLeast(f64),
}

/// A condition as it is written.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Written {
    all: Option<Vec<Written>>,
    any: Option<Vec<Written>>,
    not: Option<Box<Written>>,
    fact: Option<String>,
    is: Option<toml::Value>,
    below: Option<f64>,
    at_most: Option<f64>,
    above: Option<f64>,
    at_least: Option<f64>,
    unit: Option<String>,
}

impl Condition {
    /// Reads a condition; facts that it names are added to `facts`.
    ///
    /// # Errors
    /// What was given and what is allowed.
    pub fn read(written: Written, facts: &mut Vec<Fact>) -> Result<Condition, String> {
        let Written { all, any, not, fact, is, below, at_most, above, at_least, unit } = written;
        let list = |list: Vec<Written>, facts: &mut Vec<Fact>| {
            if list.is_empty() {
                return Err("given an empty list; allowed at least one condition".to_owned());
            }
            list.into_iter().map(|part| Condition::read(part, facts)).collect::<Result<Vec<_>, _>>()
        };
        let compared = [below, at_most, above, at_least];
        match (all, any, not, fact) {
            (Some(all), None, None, None) => Ok(Condition::All(list(all, facts)?)),
            (None, Some(any), None, None) => Ok(Condition::Any(list(any, facts)?)),
            (None, None, Some(not), None) => Ok(Condition::Not(Box::new(Condition::read(*not, facts)?))),
            (None, None, None, Some(name)) => {
                let fact = Fact::named(&name)
                    .ok_or_else(|| format!("given the fact \"{name}\"; allowed one of the dictionary"))?;
                let (test, unit) = match (is, compared.iter().flatten().count()) {
                    (Some(is), 0) if unit.is_none() => (words(fact, &is)?, None),
                    (None, 1) => {
                        let unit = unit_of(fact, unit.as_deref())?;
                        let si = |value: f64| within(fact, unit, value);
                        let test = match (below, at_most, above, at_least) {
                            (Some(value), ..) => Test::Below(si(value)?),
                            (_, Some(value), ..) => Test::AtMost(si(value)?),
                            (_, _, Some(value), _) => Test::Above(si(value)?),
                            (.., at_least) => Test::AtLeast(si(at_least.unwrap_or_default())?),
                        };
                        (test, Some(unit))
                    }
                    _ => {
                        return Err(format!(
                            "{name}: given several tests or none; allowed one of is, below, at_most, above, at_least"
                        ));
                    }
                };
                let place = facts.iter().position(|known| *known == fact).unwrap_or_else(|| {
                    facts.push(fact);
                    facts.len() - 1
                });
                Ok(Condition::Fact { fact, place, test, unit })
            }
            _ => Err("given several forms or none; allowed one of all, any, not, fact".to_owned()),
        }
    }

    /// The tests of one fact.
    pub fn tests_of<'a>(&'a self, wanted: Fact, tests: &mut Vec<&'a Test>) {
        match self {
            Condition::All(list) | Condition::Any(list) => {
                list.iter().for_each(|part| part.tests_of(wanted, tests));
            }
            Condition::Not(part) => part.tests_of(wanted, tests),
            Condition::Fact { fact, test, .. } if *fact == wanted => tests.push(test),
            Condition::Fact { .. } => {}
        }
    }
}

/// The answers that are listed, each one that the fact can take.
fn words(fact: Fact, is: &toml::Value) -> Result<Test, String> {
    let list = match is {
        toml::Value::Array(list) => list.as_slice(),
        one => std::slice::from_ref(one),
    };
    let refused = |given: &toml::Value, allowed: String| {
        Err(format!("{}: given {given}; allowed {allowed}", fact.name()))
    };
    let mut answers = Vec::new();
    for given in list {
        match (fact.kind(), given) {
            (AnswerKind::YesNo, toml::Value::Boolean(flag)) => answers.push(Answer::Flag(*flag)),
            (AnswerKind::YesNo, _) => return refused(given, "true or false".to_owned()),
            (AnswerKind::Word(words), given) => {
                match words.iter().find(|word| given.as_str() == Some(word)) {
                    Some(word) => answers.push(Answer::Word(word)),
                    None => return refused(given, format!("\"{}\"", words.join("\", \""))),
                }
            }
            (AnswerKind::Quantity(_), _) => {
                return refused(given, "below, at_most, above or at_least".to_owned());
            }
        }
    }
    match answers.is_empty() {
        true => Err(format!("{}: given no answer; allowed at least one", fact.name())),
        false => Ok(Test::Is(answers)),
    }
}

fn unit_of(fact: Fact, given: Option<&str>) -> Result<Unit, String> {
    let AnswerKind::Quantity(range) = fact.kind() else {
        return Err(format!("{}: given a comparison; allowed is = ...", fact.name()));
    };
    match Unit::ALL.iter().find(|unit| Some(unit.symbol()) == given) {
        Some(unit) if range.unit.same_dimension().contains(unit) => Ok(*unit),
        _ => Err(format!(
            "{}: given the unit \"{}\"; allowed \"{}\" or another of its dimension",
            fact.name(),
            given.unwrap_or(""),
            range.unit.symbol()
        )),
    }
}

fn within(fact: Fact, unit: Unit, value: f64) -> Result<f64, String> {
    let si = unit.to_si(value);
    match fact.kind() {
        AnswerKind::Quantity(range) if !range.contains(si) => {
            Err(format!("{}: given {value} {}; allowed {}", fact.name(), unit.symbol(), range.allowed()))
        }
        _ => Ok(si),
    }
}
