//! What one answer earns, and what is said to who gave it.
//!
//! ```text
//! choice    1 for the key, 0 for any other option
//! number    1 inside [least, most]; 1/2 where each side is HALF_CREDIT_BAND times as far from the key; else 0
//! order     max(0, 2 r - 1)    r  share of the pairs of steps that stand in the right order
//! blank     0, and counted as omitted
//! ```
//!
//! The credit of an order is Kendall's tau clipped at 0: steps in random order have half of their pairs right on average, and
//! earn nothing (Kendall 1938, Biometrika 30:81-93; the clipping is judged).

use serde::{Deserialize, Serialize};
use thiserror::Error;

use crate::item::{Body, Choice, Item, Response, Step};

/// How many times as far from the key a number may lie for half of the credit; judged.
pub const HALF_CREDIT_BAND: f64 = 2.0;

/// How far an answer that is not wholly right counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Rule {
    /// A number near the key and an order that is partly right earn a part.
    Partial,
    /// What is not right earns nothing.
    AllOrNothing,
}

/// What one answer earned.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Mark {
    /// Share of the credit, 0 to 1.
    pub earned: f64,
    /// Whether it is wholly right.
    pub right: bool,
    /// Whether nothing was answered.
    pub omitted: bool,
    /// What is said, in the order in which it is read.
    pub said: Vec<Said>,
}

/// One piece of what is said to an answer.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Said {
    /// What it is about.
    pub about: About,
    /// The text.
    pub text: String,
}

/// What a piece is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum About {
    /// The option that was chosen.
    Chosen,
    /// The misconception that makes it seem right.
    Misconception,
    /// The key: why an option is right, the right order, the right number.
    Key,
    /// Why the key is right.
    Reason,
    /// Where the conventional and the mechanistic answer differ.
    Disagreement,
}

/// An answer that cannot be marked.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum MarkError {
    /// An identifier that the item does not have.
    #[error("{item}: given \"{given}\"; allowed {}", .allowed.join(", "))]
    Unknown {
        /// Item.
        item: String,
        /// What was given.
        given: String,
        /// Identifiers of the item.
        allowed: Vec<String>,
    },
    /// A step that was put in twice.
    #[error("{item}: given step \"{given}\" more than once; allowed each of {} once", .allowed.join(", "))]
    Repeated {
        /// Item.
        item: String,
        /// The step.
        given: String,
        /// Steps of the item.
        allowed: Vec<String>,
    },
    /// Steps that were left out.
    #[error("{item}: given no step {}; allowed each of {} once", .missing.join(", "), .allowed.join(", "))]
    Missing {
        /// Item.
        item: String,
        /// The steps.
        missing: Vec<String>,
        /// Steps of the item.
        allowed: Vec<String>,
    },
    /// A number that is none.
    #[error("{item}: given {given}; allowed a finite number in {unit}")]
    NotFinite {
        /// Item.
        item: String,
        /// What was given.
        given: f64,
        /// Unit of the item.
        unit: String,
    },
    /// An answer of another kind.
    #[error("{item}: given {given}; allowed {allowed} or a blank")]
    Kind {
        /// Item.
        item: String,
        /// Kind of the answer.
        given: &'static str,
        /// Kind of the item.
        allowed: &'static str,
    },
    /// An item that has no answer which could be right.
    #[error("{item}: given a key that {problem}; allowed a key that can be answered")]
    Key {
        /// Item.
        item: String,
        /// What is wrong.
        problem: &'static str,
    },
}

/// Marks one answer to one item.
///
/// # Errors
/// When the answer is none to this item, or the item has no key that could be answered.
pub fn mark(item: &Item, response: &Response, rule: Rule) -> Result<Mark, MarkError> {
    let key = key_of(item)?;
    let (earned, mut said) = match (&item.body, response) {
        (_, Response::Blank) => (0.0, Vec::new()),
        (Body::Choice { options, key, .. }, Response::Choice(id)) => choice(item, options, *key, id)?,
        (Body::Order { steps, key }, Response::Order(given)) => (order(item, steps, key, given)?, Vec::new()),
        (Body::Numeric { key, least, most, unit, .. }, Response::Number(given)) => {
            if !given.is_finite() {
                return Err(MarkError::NotFinite {
                    item: item.id.clone(),
                    given: *given,
                    unit: unit.clone(),
                });
            }
            (number(*given, *key, *least, *most), Vec::new())
        }
        (body, response) => {
            return Err(MarkError::Kind {
                item: item.id.clone(),
                given: kind_given(response),
                allowed: kind_asked(body),
            });
        }
    };
    let right = earned == 1.0;
    let earned = if rule == Rule::AllOrNothing && !right { 0.0 } else { earned };
    if !said.iter().any(|piece| piece.about == About::Key) {
        said.push(key);
    }
    said.push(Said { about: About::Reason, text: item.reason.clone() });
    if let Some(text) = &item.disagreement {
        said.push(Said { about: About::Disagreement, text: text.clone() });
    }
    Ok(Mark { earned, right, omitted: *response == Response::Blank, said })
}

fn kind_asked(body: &Body) -> &'static str {
    match body {
        Body::Choice { .. } => "an option",
        Body::Order { .. } => "an order",
        Body::Numeric { .. } => "a number",
    }
}

fn kind_given(response: &Response) -> &'static str {
    match response {
        Response::Blank => "a blank",
        Response::Choice(_) => "an option",
        Response::Order(_) => "an order",
        Response::Number(_) => "a number",
    }
}

/// The key as it is said; refuses one that nobody could answer.
fn key_of(item: &Item) -> Result<Said, MarkError> {
    let broken = |problem| MarkError::Key { item: item.id.clone(), problem };
    let text = match &item.body {
        Body::Choice { options, key, .. } => {
            options.get(*key).ok_or_else(|| broken("is none of the options"))?.why.clone()
        }
        Body::Order { steps, key } => {
            let mut named: Vec<&str> = key.iter().map(String::as_str).collect();
            let mut shown: Vec<&str> = steps.iter().map(|step| step.id.as_str()).collect();
            named.sort_unstable();
            shown.sort_unstable();
            if named != shown || named.windows(2).any(|pair| pair[0] == pair[1]) {
                return Err(broken("does not name each step once"));
            }
            let texts = key.iter().filter_map(|id| steps.iter().find(|step| step.id == *id));
            texts.map(|step| step.text.as_str()).collect::<Vec<_>>().join("; ")
        }
        Body::Numeric { key, least, most, unit, digits } => {
            let finite = [key, least, most].iter().all(|value| value.is_finite());
            if !(finite && least <= key && key <= most) {
                return Err(broken("does not lie between its least and its most"));
            }
            let digits = usize::from(*digits);
            format!("{key:.digits$} {unit}")
        }
    };
    Ok(Said { about: About::Key, text })
}

fn choice(item: &Item, options: &[Choice], key: usize, id: &str) -> Result<(f64, Vec<Said>), MarkError> {
    let place = options.iter().position(|option| option.id == id);
    let Some((place, option)) = place.and_then(|place| Some((place, options.get(place)?))) else {
        let allowed = options.iter().map(|option| option.id.clone()).collect();
        return Err(MarkError::Unknown { item: item.id.clone(), given: id.to_owned(), allowed });
    };
    if place == key {
        return Ok((1.0, vec![Said { about: About::Key, text: option.why.clone() }]));
    }
    let mut said = vec![Said { about: About::Chosen, text: option.why.clone() }];
    if let Some(text) = &option.misconception {
        said.push(Said { about: About::Misconception, text: text.clone() });
    }
    Ok((0.0, said))
}

fn number(given: f64, key: f64, least: f64, most: f64) -> f64 {
    let within = |times: f64| given >= key - times * (key - least) && given <= key + times * (most - key);
    // The ends as they stand, not as the key less a difference, which rounding may move.
    if given >= least && given <= most {
        1.0
    } else if within(HALF_CREDIT_BAND) {
        0.5
    } else {
        0.0
    }
}

/// Kendall's tau against the key, clipped at 0.
fn order(item: &Item, steps: &[Step], key: &[String], given: &[String]) -> Result<f64, MarkError> {
    let allowed = || steps.iter().map(|step| step.id.clone()).collect::<Vec<_>>();
    let mut places = Vec::with_capacity(given.len());
    for id in given {
        let place = key.iter().position(|step| step == id).ok_or_else(|| MarkError::Unknown {
            item: item.id.clone(),
            given: id.clone(),
            allowed: allowed(),
        })?;
        if places.contains(&place) {
            return Err(MarkError::Repeated { item: item.id.clone(), given: id.clone(), allowed: allowed() });
        }
        places.push(place);
    }
    if places.len() < key.len() {
        let missing = key.iter().filter(|id| !given.contains(id)).cloned().collect();
        return Err(MarkError::Missing { item: item.id.clone(), missing, allowed: allowed() });
    }
    let (mut right, mut pairs) = (0i32, 0i32);
    for (index, first) in places.iter().enumerate() {
        for second in places.iter().skip(index + 1) {
            pairs += 1;
            right += i32::from(first < second);
        }
    }
    if right == pairs {
        return Ok(1.0);
    }
    Ok(f64::from((2 * right - pairs).max(0)) / f64::from(pairs))
}

#[cfg(test)]
#[path = "marking_tests.rs"]
mod tests;
