//! Rules in three-valued logic over what is known of patient, visit, route and situation.
//!
//! What a caution says is a row of `data/cautions`. A rule holds, does not hold, or is open; an open rule hangs on the facts whose answer
//! could decide it, and these are asked. Nothing here is a clearance: a rule that does not hold says nothing.

mod adrenaline;
mod condition;
pub mod facts;
mod logic;
mod rulebook;
mod text;

pub use adrenaline::{Adrenaline, Quoted, adrenaline};
pub use condition::{Condition, Test, Written};
use logic::reasons;
pub use logic::{MOST_CASES, Truth, Verdict, judge, points, truth};
pub use rulebook::{Affects, Level, Review, Rule, RuleError, Rulebook};
pub use text::{in_words, markdown};

use crate::View;
use facts::{Read, value_in_words};

/// What the rulebook says of a case.
#[derive(Clone, Debug, serde::Serialize)]
pub struct Look<'r> {
    /// Rules that hold, stops first.
    pub fired: Vec<Fired<'r>>,
    /// Rules that answers could make hold, stops first.
    pub open: Vec<Open<'r>>,
}

/// A rule that holds.
#[derive(Clone, Debug, serde::Serialize)]
pub struct Fired<'r> {
    /// The rule.
    pub rule: &'r Rule,
    /// The facts that make it hold, with their values in the words and units of the trade.
    pub because: Vec<(&'static str, String)>,
}

/// A rule that is open.
#[derive(Clone, Debug, serde::Serialize)]
pub struct Open<'r> {
    /// The rule.
    pub rule: &'r Rule,
    /// The facts that it hangs on.
    pub hangs_on: Vec<&'static str>,
}

/// Judges every rule.
pub fn look<'r>(rulebook: &'r Rulebook, view: &View) -> Look<'r> {
    let read = Read::of(view);
    let mut look = Look { fired: Vec::new(), open: Vec::new() };
    for rule in rulebook.rules() {
        let values: Vec<_> = rule.facts.iter().map(|fact| read.get(*fact)).collect();
        match judge(rule, &values) {
            Verdict::Holds => {
                let mut places = Vec::new();
                reasons(&rule.when, &values, &mut places);
                let said = places.into_iter().filter_map(|place| {
                    let fact = *rule.facts.get(place)?;
                    Some((fact.name(), value_in_words(fact, *values.get(place)?)?))
                });
                look.fired.push(Fired { rule, because: said.collect() });
            }
            Verdict::Open(places) => {
                let names =
                    places.into_iter().filter_map(|place| rule.facts.get(place)).map(|fact| fact.name());
                look.open.push(Open { rule, hangs_on: names.collect() });
            }
            Verdict::DoesNotHold => {}
        }
    }
    look.fired.sort_by_key(|fired| fired.rule.level);
    look.open.sort_by_key(|open| open.rule.level);
    look
}

/// The question for a fact; none when there is no such fact.
pub fn question(fact: &str) -> Option<&'static str> {
    facts::Fact::named(fact).map(|fact| fact.asks())
}
