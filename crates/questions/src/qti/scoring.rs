//! Which answer is the key, and how far a number may be from it.

use super::processing::{Declared, Outcomes, Value, around, carry_out, number, only, two};
use super::xml::Element;

/// What an answer scores.
///
/// # Errors
/// With what is not read, as the end of a sentence.
pub fn score(outcomes: &Outcomes) -> Result<f64, String> {
    match outcomes.get("SCORE") {
        Some(Value::Number(score)) => Ok(*score),
        Some(_) => Err("a SCORE that is no number".into()),
        None => Err("no outcome SCORE".into()),
    }
}

/// The place of the one option that scores most, and whether others score something.
///
/// # Errors
/// With why there is none, as the end of a sentence.
pub fn best(scores: &[f64]) -> Result<(usize, bool), String> {
    let most = scores.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let mut places = scores.iter().enumerate().filter(|(_, score)| **score == most);
    match (places.next(), places.next()) {
        (Some((place, _)), None) if most > 0.0 || scores.len() > 1 => {
            let partial = scores.iter().enumerate().any(|(other, score)| other != place && *score > 0.0);
            Ok((place, partial))
        }
        (Some(_), Some(_)) => Err("no answer that scores more than the others".into()),
        _ => Err("no answer that scores".into()),
    }
}

/// A number and what is as right: least and most.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Band {
    /// The key.
    pub key: f64,
    /// Least.
    pub least: f64,
    /// Most.
    pub most: f64,
    /// Other numbers score something, though less.
    pub partial: bool,
}

/// The band that scores most.
///
/// It is read from the first condition under which a score is set, and then tried: its key and what lies just inside its edges score alike, what lies
/// just beyond scores less.
///
/// # Errors
/// With what is not read, as the end of a sentence.
pub fn band(item: &Element, response: &Declared) -> Result<Band, String> {
    let stated = match response.correct.as_slice() {
        [] => None,
        [text] => Some(number(text).ok_or_else(|| format!("the number {text:?}"))?),
        _ => return Err("several right numbers".into()),
    };
    let Some(rules) = item.first("response-processing") else {
        let key = stated.ok_or("no right answer")?;
        return Ok(Band { key, least: key, most: key, partial: false });
    };
    let mapped = || {
        let entries = response.mapping.as_ref().map_or(&[][..], |mapping| &mapping.entries[..]);
        let scores: Vec<f64> = entries.iter().map(|(_, worth, _)| *worth).collect();
        let (place, _) = best(&scores)?;
        let text = entries.get(place).map_or("", |(key, _, _)| key);
        let key = number(text).ok_or_else(|| format!("the number {text:?}"))?;
        Ok::<_, String>((key, key))
    };
    let reading = Reading { response, stated };
    let (least, most) = match rules.get("template") {
        Some(template) if rules.elements().next().is_none() => {
            if template.contains("map_response") {
                mapped()?
            } else {
                reading.exactly()?
            }
        }
        _ => match first_scoring(rules) {
            Some(condition) => reading.interval(condition)?,
            None if rules.walk().iter().any(|element| element.name == "map-response") => mapped()?,
            None => return Err("no condition under which a number scores".into()),
        },
    };
    if !(least.is_finite() && most.is_finite() && least <= most) {
        return Err("a band that is open or empty".into());
    }
    let key = stated.unwrap_or(least + (most - least) / 2.0);
    if !(least <= key && key <= most) {
        return Err("a right number outside the band that scores".into());
    }
    let scored = |value: f64| score(&carry_out(item, response, &Value::Number(value))?);
    let full = scored(key)?;
    // A billionth of the numbers beside the edges, so that rounding at an edge decides nothing.
    let step = 1e-9 * key.abs().max(least.abs()).max(most.abs()).max(1e-3);
    let inside = step.min((most - least) / 4.0);
    let alike = scored(least + inside)? == full && scored(most - inside)? == full;
    let beyond = [scored(least - step)?, scored(most + step)?];
    if !(full > 0.0 && alike && beyond.iter().all(|score| *score < full)) {
        return Err("a band whose edges do not score as its condition says".into());
    }
    let others = response.mapping.iter().flat_map(|mapping| &mapping.entries);
    let worth = others.filter(|(_, worth, _)| *worth > 0.0 && *worth < full).count();
    Ok(Band { key, least, most, partial: worth > 0 || beyond.iter().any(|score| *score > 0.0) })
}

/// The condition of the first branch that sets SCORE to more than nought, in the order of the document.
fn first_scoring(rules: &Element) -> Option<&Element> {
    rules
        .walk()
        .into_iter()
        .filter(|element| matches!(element.name.as_str(), "response-if" | "response-else-if"))
        .find_map(|branch| {
            let sets = branch.all("set-outcome-value").any(|set| {
                let value = set.first("base-value").map(Element::value);
                let nothing = value.as_deref().and_then(number).is_some_and(|value| value <= 0.0);
                set.get("identifier") == Some("SCORE") && !nothing
            });
            branch.elements().next().filter(|_| sets)
        })
}

struct Reading<'a> {
    response: &'a Declared,
    stated: Option<f64>,
}

impl Reading<'_> {
    fn exactly(&self) -> Result<(f64, f64), String> {
        self.stated.map(|key| (key, key)).ok_or_else(|| "no right answer".into())
    }

    /// The numbers for which a condition holds, as least and most.
    fn interval(&self, condition: &Element) -> Result<(f64, f64), String> {
        const ALL: (f64, f64) = (f64::NEG_INFINITY, f64::INFINITY);
        Ok(match condition.name.as_str() {
            "and" => {
                let mut whole = ALL;
                for part in condition.elements() {
                    let (least, most) = self.interval(part)?;
                    whole = (whole.0.max(least), whole.1.min(most));
                }
                whole
            }
            "not" if only(condition)?.name == "is-null" => ALL,
            "match" => {
                let (value, _) = self.against(condition)?;
                (value, value)
            }
            "equal" => {
                let (value, answer_first) = self.against(condition)?;
                around(condition, value, answer_first)?
            }
            name @ ("gte" | "gt" | "lte" | "lt") => {
                let (value, answer_first) = self.against(condition)?;
                let above = name.starts_with('g') == answer_first;
                match (above, name.ends_with("te")) {
                    (true, true) => (value, f64::INFINITY),
                    (true, false) => (value.next_up(), f64::INFINITY),
                    (false, true) => (f64::NEG_INFINITY, value),
                    (false, false) => (f64::NEG_INFINITY, value.next_down()),
                }
            }
            _ => return Err(format!("a condition on a number with {}", condition.tag)),
        })
    }

    /// The number that an answer is compared with, and whether the answer stands first.
    fn against(&self, comparison: &Element) -> Result<(f64, bool), String> {
        let (one, other) = two(comparison)?;
        let is_answer = |element: &Element| {
            element.name == "variable" && element.get("identifier") == Some(&self.response.identifier)
        };
        let (constant, first) = match (is_answer(one), is_answer(other)) {
            (true, false) => (other, true),
            (false, true) => (one, false),
            _ => return Err(format!("{} that does not compare the answer with a number", comparison.tag)),
        };
        let value = match constant.name.as_str() {
            "base-value" => number(&constant.value()),
            "correct" if constant.get("identifier") == Some(&self.response.identifier) => self.stated,
            _ => None,
        };
        let value =
            value.ok_or_else(|| format!("{} with a number that is not written out", comparison.tag))?;
        Ok((value, first))
    }
}
