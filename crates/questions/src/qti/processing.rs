//! Response processing carried out: an answer in, the values of the outcomes out.

use std::collections::BTreeMap;

use super::xml::Element;

/// A value of a variable.
#[derive(Clone, Debug, PartialEq)]
pub enum Value {
    /// None.
    Null,
    /// Yes or no.
    Truth(bool),
    /// A number.
    Number(f64),
    /// An identifier, or other text.
    Text(String),
    /// Several, in their order.
    Many(Vec<Value>),
}

impl Value {
    fn read(base: &str, text: &str) -> Result<Value, String> {
        Ok(match base {
            "float" | "integer" => Value::Number(number(text).ok_or_else(|| format!("the number {text:?}"))?),
            "boolean" => Value::Truth(matches!(text, "true" | "1")),
            _ => Value::Text(text.into()),
        })
    }
}

/// A finite number as the standard writes one.
pub fn number(text: &str) -> Option<f64> {
    let plain = text.chars().all(|c| c.is_ascii_digit() || matches!(c, '.' | '+' | '-' | 'e' | 'E'));
    text.parse().ok().filter(|value: &f64| plain && value.is_finite())
}

/// What is declared of one response.
#[derive(Clone, Debug)]
pub struct Declared {
    /// Its identifier.
    pub identifier: String,
    /// `single`, `multiple`, `ordered` or `record`.
    pub cardinality: String,
    /// `identifier`, `float`, `integer`, ...
    pub base: String,
    /// The right answer, as written, in its order.
    pub correct: Vec<String>,
    /// What each answer is worth.
    pub mapping: Option<Mapping>,
}

/// What each answer is worth.
#[derive(Clone, Debug)]
pub struct Mapping {
    default: f64,
    least: f64,
    most: f64,
    /// Answer, worth, whether capitals matter.
    pub entries: Vec<(String, f64, bool)>,
}

/// The declaration of a response.
///
/// # Errors
/// With what is not read, as the end of a sentence.
pub fn declared(item: &Element, identifier: &str) -> Result<Declared, String> {
    let element = item
        .all("response-declaration")
        .find(|element| element.get("identifier") == Some(identifier))
        .ok_or_else(|| format!("a response {identifier} that is not declared"))?;
    let attribute = |name| element.get(name).unwrap_or_default().to_owned();
    let values = |element: &Element| element.all("value").map(Element::value).collect();
    Ok(Declared {
        identifier: identifier.into(),
        cardinality: attribute("cardinality"),
        base: attribute("base-type"),
        correct: element.first("correct-response").map(values).unwrap_or_default(),
        mapping: element.first("mapping").map(mapping).transpose()?,
    })
}

fn mapping(element: &Element) -> Result<Mapping, String> {
    let bound = |element: &Element, name: &str| match element.get(name) {
        Some(text) => number(text).map(Some).ok_or_else(|| format!("the number {text:?}")),
        None => Ok(None),
    };
    let mut entries = Vec::new();
    for entry in element.all("map-entry") {
        let key = entry.get("map-key").ok_or("an entry of a mapping without a key")?;
        let worth = bound(entry, "mapped-value")?.ok_or("an entry of a mapping without a value")?;
        entries.push((key.to_owned(), worth, entry.get("case-sensitive") == Some("true")));
    }
    Ok(Mapping {
        default: bound(element, "default-value")?.unwrap_or(0.0),
        least: bound(element, "lower-bound")?.unwrap_or(f64::NEG_INFINITY),
        most: bound(element, "upper-bound")?.unwrap_or(f64::INFINITY),
        entries,
    })
}

/// Outcomes by identifier.
pub type Outcomes = BTreeMap<String, Value>;

/// Outcomes after this answer.
///
/// # Errors
/// With what is not read, as the end of a sentence.
pub fn carry_out(item: &Element, response: &Declared, answer: &Value) -> Result<Outcomes, String> {
    let mut outcomes = Outcomes::new();
    for element in item.all("outcome-declaration") {
        let identifier = element.get("identifier").ok_or("an outcome without an identifier")?;
        let base = element.get("base-type").unwrap_or_default();
        let mut values = Vec::new();
        for value in element.first("default-value").into_iter().flat_map(|element| element.all("value")) {
            values.push(Value::read(base, &value.value())?);
        }
        let single = element.get("cardinality") == Some("single");
        let value = match values.pop() {
            Some(value) if single => value,
            Some(last) => Value::Many(values.into_iter().chain([last]).collect()),
            // Without a default, numbers begin at nought and others at nothing.
            None if single && matches!(base, "float" | "integer") => Value::Number(0.0),
            None => Value::Null,
        };
        outcomes.insert(identifier.into(), value);
    }
    let mut run = Run { response, answer, outcomes };
    if let Some(rules) = item.first("response-processing") {
        match rules.get("template") {
            Some(template) if rules.elements().next().is_none() => run.template(template)?,
            _ => {
                run.rules(rules.elements())?;
            }
        }
    }
    Ok(run.outcomes)
}

struct Run<'a> {
    response: &'a Declared,
    answer: &'a Value,
    outcomes: Outcomes,
}

impl Run<'_> {
    fn template(&mut self, address: &str) -> Result<(), String> {
        let name = address.rsplit('/').next().unwrap_or_default();
        let score = match name.strip_suffix(".xml").unwrap_or(name) {
            "match_correct" => Value::Number(f64::from(u8::from(*self.answer == self.correct()?))),
            "map_response" => Value::Number(self.mapped()?),
            _ => return Err(format!("the template of response processing {name:?}")),
        };
        self.outcomes.insert("SCORE".into(), score);
        Ok(())
    }

    /// Carries out rules in their order; says whether to go on after them.
    fn rules<'e>(&mut self, rules: impl Iterator<Item = &'e Element>) -> Result<bool, String> {
        for rule in rules {
            match rule.name.as_str() {
                "set-outcome-value" => {
                    let identifier = rule.get("identifier").ok_or("an outcome set without an identifier")?;
                    let value = self.value(only(rule)?)?;
                    self.outcomes.insert(identifier.into(), value);
                }
                "response-condition" => {
                    for branch in rule.elements() {
                        let mut inside = branch.elements();
                        let taken = match branch.name.as_str() {
                            "response-if" | "response-else-if" => {
                                let condition = inside.next().ok_or("a condition that is empty")?;
                                self.value(condition)? == Value::Truth(true)
                            }
                            "response-else" => true,
                            _ => return Err(format!("response processing with {}", branch.tag)),
                        };
                        if taken {
                            if !self.rules(inside)? {
                                return Ok(false);
                            }
                            break;
                        }
                    }
                }
                "response-processing-fragment" => {
                    if !self.rules(rule.elements())? {
                        return Ok(false);
                    }
                }
                "exit-response" => return Ok(false),
                _ => return Err(format!("response processing with {}", rule.tag)),
            }
        }
        Ok(true)
    }

    fn correct(&self) -> Result<Value, String> {
        let mut values = Vec::new();
        for text in &self.response.correct {
            values.push(Value::read(&self.response.base, text)?);
        }
        Ok(match self.response.cardinality.as_str() {
            "single" => values.pop().unwrap_or(Value::Null),
            _ if values.is_empty() => Value::Null,
            _ => Value::Many(values),
        })
    }

    fn mapped(&self) -> Result<f64, String> {
        let mapping = self.response.mapping.as_ref().ok_or("a mapping that is not declared")?;
        let worth = |value: &Value| {
            let entry = mapping.entries.iter().find(|(key, _, exact)| match value {
                Value::Number(value) => number(key) == Some(*value),
                Value::Text(value) if *exact || self.response.base == "identifier" => key == value,
                Value::Text(value) => key.to_lowercase() == value.to_lowercase(),
                _ => false,
            });
            entry.map_or(mapping.default, |(_, worth, _)| *worth)
        };
        let sum = match self.answer {
            Value::Null => 0.0,
            Value::Many(values) => values.iter().map(worth).sum(),
            value => worth(value),
        };
        Ok(sum.max(mapping.least).min(mapping.most))
    }

    fn named(&self, element: &Element) -> Result<(), String> {
        let given = element.get("identifier").unwrap_or_default();
        if given == self.response.identifier {
            return Ok(());
        }
        Err(format!("response processing that reads {given:?}"))
    }

    fn value(&self, element: &Element) -> Result<Value, String> {
        let all = || element.elements().map(|part| self.value(part)).collect::<Result<Vec<Value>, String>>();
        Ok(match element.name.as_str() {
            "base-value" => Value::read(element.get("base-type").unwrap_or_default(), &element.value())?,
            "null" => Value::Null,
            "variable" => {
                let identifier = element.get("identifier").unwrap_or_default();
                match self.outcomes.get(identifier) {
                    Some(value) => value.clone(),
                    None => {
                        self.named(element)?;
                        self.answer.clone()
                    }
                }
            }
            "correct" => {
                self.named(element)?;
                self.correct()?
            }
            "map-response" => {
                self.named(element)?;
                Value::Number(self.mapped()?)
            }
            "is-null" => Value::Truth(self.value(only(element)?)? == Value::Null),
            "not" => match self.value(only(element)?)? {
                Value::Truth(value) => Value::Truth(!value),
                _ => Value::Null,
            },
            "and" => Value::Truth(all()?.iter().all(|value| *value == Value::Truth(true))),
            "or" => Value::Truth(all()?.contains(&Value::Truth(true))),
            "multiple" | "ordered" => {
                let values = all()?.into_iter().filter(|value| *value != Value::Null);
                Value::Many(values.collect())
            }
            "match" => {
                let (one, other) = self.pair(element)?;
                if one == Value::Null || other == Value::Null {
                    Value::Null
                } else {
                    Value::Truth(one == other)
                }
            }
            "gte" => self.compare(element, |one, other| one >= other)?,
            "gt" => self.compare(element, |one, other| one > other)?,
            "lte" => self.compare(element, |one, other| one <= other)?,
            "lt" => self.compare(element, |one, other| one < other)?,
            "equal" => match self.pair(element)? {
                (Value::Number(one), Value::Number(other)) => {
                    let (least, most) = around(element, one, false)?;
                    Value::Truth(least <= other && other <= most)
                }
                _ => Value::Null,
            },
            "sum" => self.fold(all()?, |one, other| one + other),
            "product" => self.fold(all()?, |one, other| one * other),
            "subtract" => match self.pair(element)? {
                (Value::Number(one), Value::Number(other)) => Value::Number(one - other),
                _ => Value::Null,
            },
            _ => return Err(format!("response processing with {}", element.tag)),
        })
    }

    fn pair(&self, element: &Element) -> Result<(Value, Value), String> {
        let (one, other) = two(element)?;
        Ok((self.value(one)?, self.value(other)?))
    }

    fn compare(&self, element: &Element, holds: impl Fn(f64, f64) -> bool) -> Result<Value, String> {
        Ok(match self.pair(element)? {
            (Value::Number(one), Value::Number(other)) => Value::Truth(holds(one, other)),
            _ => Value::Null,
        })
    }

    fn fold(&self, values: Vec<Value>, of: impl Fn(f64, f64) -> f64) -> Value {
        let mut numbers = values.into_iter().map(|value| match value {
            Value::Number(value) => Some(value),
            _ => None,
        });
        let first = numbers.next().flatten();
        let whole = numbers.try_fold(first, |sum, next| Some(Some(of(sum?, next?))));
        whole.flatten().map_or(Value::Null, Value::Number)
    }
}

/// The one element in this one.
///
/// # Errors
/// When there is none or more.
pub fn only(element: &Element) -> Result<&Element, String> {
    let mut inside = element.elements();
    match (inside.next(), inside.next()) {
        (Some(one), None) => Ok(one),
        _ => Err(format!("{} with other than one expression in it", element.tag)),
    }
}

/// The two elements in this one.
///
/// # Errors
/// When there are fewer or more.
pub fn two(element: &Element) -> Result<(&Element, &Element), String> {
    let mut inside = element.elements();
    match (inside.next(), inside.next(), inside.next()) {
        (Some(one), Some(other), None) => Ok((one, other)),
        _ => Err(format!("{} with other than two expressions in it", element.tag)),
    }
}

/// From what least to what most a number is equal to this one, as the attributes of an `equal` say: the band lies around the first of its
/// two expressions; `turned` when that is the answer.
///
/// # Errors
/// When they do not say it.
pub fn around(equal: &Element, value: f64, turned: bool) -> Result<(f64, f64), String> {
    let tolerance = || {
        let text = equal.get("tolerance").unwrap_or_default();
        let numbers: Option<Vec<f64>> = text.split_whitespace().map(number).collect();
        match numbers.as_deref() {
            Some([both]) if *both >= 0.0 => Ok((*both, *both)),
            Some([below, above]) if *below >= 0.0 && *above >= 0.0 => Ok((*below, *above)),
            _ => Err(format!("the tolerance {text:?}")),
        }
    };
    let mut least_stays = equal.get("include-lower-bound") != Some("false");
    let mut most_stays = equal.get("include-upper-bound") != Some("false");
    let (one, other) = match equal.get("tolerance-mode").unwrap_or("exact") {
        "exact" => return Ok((value, value)),
        "absolute" => {
            let (mut below, mut above) = tolerance()?;
            if turned {
                (below, above) = (above, below);
                (least_stays, most_stays) = (most_stays, least_stays);
            }
            (value - below, value + above)
        }
        "relative" if turned => return Err("a relative tolerance of the answer instead of the key".into()),
        "relative" => {
            let (below, above) = tolerance()?;
            (value * (1.0 - below / 100.0), value * (1.0 + above / 100.0))
        }
        mode => return Err(format!("the tolerance mode {mode:?}")),
    };
    // What the bounds leave out ends at the next number that can be written.
    let least = one.min(other);
    let most = one.max(other);
    Ok((if least_stays { least } else { least.next_up() }, if most_stays { most } else { most.next_down() }))
}
