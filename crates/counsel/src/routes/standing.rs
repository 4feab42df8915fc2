//! Whether a route may be ranked: open, waiting for an answer, or blocked.

use std::collections::BTreeMap;

use super::candidates::Candidate;
use crate::View;
use crate::cautions::{Level, Look, Rule, Rulebook, look};

/// What the stops of the rulebook say of a candidate.
pub struct Standing<'r> {
    /// Stops that block it.
    pub stops: Vec<&'r Rule>,
    /// Facts whose answer could block it, each with the stops that hang on it.
    pub waits: BTreeMap<&'static str, Vec<&'r Rule>>,
    /// Cautions and notes that hold.
    pub others: Vec<&'r Rule>,
}

impl<'r> Standing<'r> {
    /// The standing of a candidate.
    pub fn of(rulebook: &'r Rulebook, candidate: &Candidate, view: &View) -> Standing<'r> {
        Standing::from_look(look(rulebook, &candidate.view(view)))
    }

    fn from_look(look: Look<'r>) -> Standing<'r> {
        let blocks = |rule: &Rule| {
            rule.level == Level::Stop && (rule.affects.hits_route() || rule.affects.hits_visit())
        };
        let mut standing = Standing { stops: Vec::new(), waits: BTreeMap::new(), others: Vec::new() };
        for fired in look.fired {
            if blocks(fired.rule) {
                standing.stops.push(fired.rule);
            } else {
                standing.others.push(fired.rule);
            }
        }
        for open in look.open.iter().filter(|open| blocks(open.rule)) {
            for fact in &open.hangs_on {
                standing.waits.entry(fact).or_default().push(open.rule);
            }
        }
        standing
    }

    /// Nothing known blocks it and nothing unknown could.
    pub fn is_open(&self) -> bool {
        self.stops.is_empty() && self.waits.is_empty()
    }
}
