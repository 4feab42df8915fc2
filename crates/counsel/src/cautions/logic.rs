//! Three-valued logic, and what an open rule hangs on.
//!
//! A rule is first read by Kleene's strong logic. Where that leaves it unknown, every way of completing the unknown facts is tried: the rule
//! is what all of them agree on (supervaluation), so that no question is asked whose answer changes nothing. A fact is asked for where two
//! completions that differ in it alone decide the rule differently. Of a quantity, the values at each threshold of the rule and on
//! either side stand for all others; of words, those that the rule mentions and one that it does not.

use terms::{Answer, AnswerKind, Fact as Known};

use super::condition::{Condition, Test};
use super::facts::Fact;
use super::rulebook::Rule;

/// Most completions that are tried; beyond it a rule stays as Kleene's logic reads it.
pub const MOST_CASES: usize = 20_000;

/// A truth value of Kleene's strong logic.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Truth {
    /// False.
    False,
    /// Neither is known.
    Unknown,
    /// True.
    True,
}

impl Truth {
    fn of(holds: bool) -> Truth {
        if holds { Truth::True } else { Truth::False }
    }

    fn not(self) -> Truth {
        match self {
            Truth::False => Truth::True,
            Truth::Unknown => Truth::Unknown,
            Truth::True => Truth::False,
        }
    }
}

/// What is known of a rule.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// It holds.
    Holds,
    /// It does not hold.
    DoesNotHold,
    /// It hangs on the facts at these places of the rule.
    Open(Vec<usize>),
}

/// Judges a rule on the values of its facts, in their order.
pub fn judge(rule: &Rule, values: &[Known<Answer>]) -> Verdict {
    match truth(&rule.when, values) {
        Truth::True => return Verdict::Holds,
        Truth::False => return Verdict::DoesNotHold,
        Truth::Unknown => {}
    }
    let unknown: Vec<usize> = (0..values.len()).filter(|&place| is_unknown(values, place)).collect();
    let choices: Vec<Vec<Answer>> = unknown
        .iter()
        .filter_map(|&place| rule.facts.get(place))
        .map(|fact| points(&rule.when, *fact))
        .collect();
    let count: usize = choices.iter().map(Vec::len).fold(1, usize::saturating_mul);
    if choices.len() != unknown.len() || count > MOST_CASES {
        return Verdict::Open(unknown);
    }
    let mut filled = values.to_vec();
    let results: Vec<bool> = (0..count)
        .map(|number| {
            let mut rest = number;
            for (place, points) in unknown.iter().zip(&choices) {
                if let (Some(slot), Some(point)) = (filled.get_mut(*place), points.get(rest % points.len())) {
                    *slot = Known::Known(*point);
                }
                rest /= points.len();
            }
            truth(&rule.when, &filled) == Truth::True
        })
        .collect();
    if results.iter().all(|holds| *holds) {
        return Verdict::Holds;
    }
    if !results.iter().any(|holds| *holds) {
        return Verdict::DoesNotHold;
    }
    let mut stride = 1;
    let mut pivotal = Vec::new();
    for (place, points) in unknown.iter().zip(&choices) {
        let decides = (0..count).any(|number| {
            let first = number - (number / stride % points.len()) * stride;
            results.get(number) != results.get(first)
        });
        if decides {
            pivotal.push(*place);
        }
        stride *= points.len();
    }
    Verdict::Open(pivotal)
}

fn is_unknown(values: &[Known<Answer>], place: usize) -> bool {
    values.get(place).is_some_and(|value| value.is_unknown())
}

/// A condition read by Kleene's strong logic. What does not arise makes a test false.
pub fn truth(condition: &Condition, values: &[Known<Answer>]) -> Truth {
    match condition {
        Condition::All(list) => list.iter().map(|part| truth(part, values)).min().unwrap_or(Truth::True),
        Condition::Any(list) => list.iter().map(|part| truth(part, values)).max().unwrap_or(Truth::False),
        Condition::Not(part) => truth(part, values).not(),
        Condition::Fact { place, test, .. } => match values.get(*place) {
            Some(Known::Known(answer)) => Truth::of(test.holds(*answer)),
            Some(Known::NotApplicable) => Truth::False,
            Some(Known::Unknown) | None => Truth::Unknown,
        },
    }
}

/// The places of the facts that make a condition as it is: what is true in it where it holds, what is false where it does not.
pub fn reasons(condition: &Condition, values: &[Known<Answer>], places: &mut Vec<usize>) {
    let whole = truth(condition, values);
    match condition {
        Condition::All(list) | Condition::Any(list) => {
            for part in list.iter().filter(|part| truth(part, values) == whole) {
                reasons(part, values, places);
            }
        }
        Condition::Not(part) => reasons(part, values, places),
        Condition::Fact { place, .. } if !places.contains(place) => places.push(*place),
        Condition::Fact { .. } => {}
    }
}

/// Values that stand for all that a fact can take, as far as this condition can tell them apart.
pub fn points(condition: &Condition, fact: Fact) -> Vec<Answer> {
    let mut tests = Vec::new();
    condition.tests_of(fact, &mut tests);
    match fact.kind() {
        AnswerKind::YesNo => vec![Answer::Flag(true), Answer::Flag(false)],
        AnswerKind::Word(words) => {
            let mentioned = |word: &&&str| tests.iter().any(|test| test.mentions(word));
            let mut list: Vec<Answer> =
                words.iter().filter(mentioned).map(|word| Answer::Word(word)).collect();
            list.extend(words.iter().find(|word| !mentioned(word)).map(|word| Answer::Word(word)));
            list
        }
        AnswerKind::Quantity(range) => {
            let mut list: Vec<f64> = tests.iter().filter_map(|test| test.threshold()).collect();
            list.sort_by(f64::total_cmp);
            list.dedup();
            let step = 1e-6 * (range.max - range.min);
            let around: Vec<f64> = list.iter().flat_map(|at| [at - step, *at, at + step]).collect();
            around.into_iter().filter(|si| range.contains(*si)).map(Answer::Number).collect()
        }
    }
}

impl Test {
    /// Whether a known answer passes.
    pub fn holds(&self, answer: Answer) -> bool {
        match (self, answer) {
            (Test::Is(list), answer) => list.contains(&answer),
            (Test::Below(limit), Answer::Number(si)) => si < *limit,
            (Test::AtMost(limit), Answer::Number(si)) => si <= *limit,
            (Test::Above(limit), Answer::Number(si)) => si > *limit,
            (Test::AtLeast(limit), Answer::Number(si)) => si >= *limit,
            _ => false,
        }
    }

    fn mentions(&self, word: &str) -> bool {
        matches!(self, Test::Is(list) if list.iter().any(|answer| matches!(answer, Answer::Word(known) if *known == word)))
    }

    fn threshold(&self) -> Option<f64> {
        match self {
            Test::Is(_) => None,
            Test::Below(si) | Test::AtMost(si) | Test::Above(si) | Test::AtLeast(si) => Some(*si),
        }
    }
}
