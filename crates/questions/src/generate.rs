//! From a template and a number to an item, or to why there is none.

use counsel::rules::{fill, stated};
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

use crate::draw::Draw;
use crate::item::{Asks, Body, Choice, Item, Step};
use crate::key::{Found, STABLE, Shown, World, find};
use crate::template::{Key, Misconception, Template};
use crate::wording;

/// Draws that are tried before a number is given up.
pub const TRIES: u32 = 24;

/// An item with what it was made from.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Frozen {
    /// The item.
    pub item: Item,
    /// What it was made from; none for an item read from elsewhere, whose key is that of its author.
    pub made: Option<Made>,
}

/// What an item was made from.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Made {
    /// Its template.
    pub template: String,
    /// Its number.
    pub number: u64,
    /// What the key was found from.
    pub evidence: Evidence,
}

/// What a key was found from.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Evidence {
    /// SHA-256 of every number that decided, bit by bit, in hexadecimal: it changes exactly when one of them does.
    pub hash: String,
    /// Share of the samples in which the key holds; 1 where no sample has a part.
    pub holds_in: f64,
    /// Identifier, words and SI unit of the number that was compared.
    pub quantity: Option<(String, String, String)>,
    /// The number for each option, for the picture.
    pub shown: Vec<Shown>,
}

/// A number for which no draw makes a sound item.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("{template}, number {number}: no draw makes an item: {}", .why.join("; "))]
pub struct Rejected {
    /// Template.
    pub template: String,
    /// Number.
    pub number: u64,
    /// Why, each reason once.
    pub why: Vec<String>,
}

/// The item of a number. The same template, number and ledger give the same item always.
///
/// # Errors
/// When none of [`TRIES`] draws has one key that holds in 95 % of the samples, and words that do not give it away.
pub fn generate(
    world: &World,
    template: &Template,
    misconceptions: &[Misconception],
    number: u64,
) -> Result<Frozen, Rejected> {
    let mut why: Vec<String> = Vec::new();
    for attempt in 0..TRIES {
        let draw = Draw { of: &template.id, number, attempt };
        match drawn(world, template, misconceptions, &draw) {
            Ok(frozen) => return Ok(frozen),
            Err(reason) if why.contains(&reason) => {}
            Err(reason) => why.push(reason),
        }
        // Without anything to draw, the next try is the same.
        if template.vary.is_empty() {
            break;
        }
    }
    Err(Rejected { template: template.id.clone(), number, why })
}

fn drawn(
    world: &World,
    template: &Template,
    misconceptions: &[Misconception],
    draw: &Draw,
) -> Result<Frozen, String> {
    let values: Vec<(&str, &str)> = template
        .vary
        .iter()
        .filter_map(|(name, values)| {
            Some((name.as_str(), values.get(draw.below(name, values.len()))?.as_str()))
        })
        .collect();
    let filled = |written: &str| {
        fill(written, &values).ok_or_else(|| format!("a place of \"{written}\" is not drawn"))
    };
    let case_of =
        |changes: &[(String, String)]| stated(&template.case, template.sets.iter().chain(changes), &values);
    let number_of =
        |name: &str| values.iter().find(|(known, _)| *known == name).and_then(|(_, text)| text.parse().ok());
    let found = find(world, template, &case_of, &number_of)?;
    if found.holds_in < STABLE {
        return Err(format!("the key holds in {:.0} % of the samples", 100.0 * found.holds_in));
    }
    let item = Item {
        id: format!("{}.{}", template.id, draw.number),
        title: template.title.clone(),
        topic: Some(template.topic.clone()),
        level: Some(template.level),
        asks: Some(template.asks),
        stem: filled(&template.stem)?,
        lead_in: filled(&template.lead_in)?,
        body: body(template, &found, draw, misconceptions, &filled)?,
        reason: filled(&template.reason)?,
        disagreement: disagreement(template, &found, &filled)?,
        rests_on: once(&found.rests_on),
    };
    let faults = wording::faults(&item);
    if !faults.is_empty() {
        return Err(faults.join("; "));
    }
    let Found { holds_in, quantity, shown, bits, .. } = found;
    let mut hash = Sha256::new();
    for bits in bits {
        hash.update(bits.to_le_bytes());
    }
    let hash = hash.finalize().iter().map(|byte| format!("{byte:02x}")).collect();
    let evidence = Evidence { hash, holds_in, quantity, shown };
    let made = Some(Made { template: template.id.clone(), number: draw.number, evidence });
    Ok(Frozen { item, made })
}

fn once(list: &[String]) -> Vec<String> {
    let mut once: Vec<String> = Vec::new();
    for one in list {
        if !once.contains(one) {
            once.push(one.clone());
        }
    }
    once
}

type Filled<'a> = &'a dyn Fn(&str) -> Result<String, String>;

fn text_of(template: &Template, found: &Found, place: usize, filled: Filled) -> Result<String, String> {
    match found.texts.get(place) {
        Some(Some(text)) => Ok(text.clone()),
        _ => filled(&template.options[place].text),
    }
}

fn body(
    template: &Template,
    found: &Found,
    draw: &Draw,
    misconceptions: &[Misconception],
    filled: Filled,
) -> Result<Body, String> {
    match &template.key {
        Key::Number { unit, digits, .. } => numeric(found, unit.symbol, *digits),
        Key::Arithmetic { unit, digits, .. } => numeric(found, unit, *digits),
        _ if found.right.len() > 1 => {
            let count = template.options.len();
            let mut order = draw.order("steps", count);
            if order == found.right {
                order.rotate_left(1);
            }
            let step = |&place: &usize| {
                Ok(Step {
                    id: template.options[place].id.clone(),
                    text: text_of(template, found, place, filled)?,
                })
            };
            Ok(Body::Order {
                steps: order.iter().map(step).collect::<Result<_, String>>()?,
                key: found.right.iter().map(|&place| template.options[place].id.clone()).collect(),
            })
        }
        _ => {
            let Some(&right) = found.right.first() else { return Err("no option is right".to_owned()) };
            let count = template.options.len();
            let order: Vec<usize> =
                if template.in_order { (0..count).collect() } else { draw.order("options", count) };
            let choice = |&place: &usize| {
                let option = &template.options[place];
                let believed = option.wrong.as_ref().filter(|_| place != right);
                let known = believed.and_then(|wrong| misconceptions.iter().find(|known| &known.id == wrong));
                Ok(Choice {
                    id: option.id.clone(),
                    text: text_of(template, found, place, filled)?,
                    why: filled(&option.why)?,
                    misconception: known.map(|known| known.id.clone()),
                })
            };
            Ok(Body::Choice {
                options: order.iter().map(choice).collect::<Result<_, String>>()?,
                key: order.iter().position(|&place| place == right).unwrap_or(0),
                in_order: template.in_order,
            })
        }
    }
}

fn numeric(found: &Found, unit: &str, digits: u8) -> Result<Body, String> {
    let [key, least, most] = found.number.ok_or("there is no number")?;
    Ok(Body::Numeric { key, least, most, unit: unit.to_owned(), digits })
}

/// What is said where convention and cause part.
fn disagreement(template: &Template, found: &Found, filled: Filled) -> Result<Option<String>, String> {
    if let Some(apart) = &found.apart {
        return Ok(Some(apart.clone()));
    }
    let (Some(says), Some(source), Asks::Mechanistic) =
        (&template.taught_says, &template.source, template.asks)
    else {
        return Ok(None);
    };
    let Some(place) = template.options.iter().position(|option| &option.id == says) else { return Ok(None) };
    if found.right.first() == Some(&place) {
        return Ok(None);
    }
    let (taught, right) = (
        text_of(template, found, place, filled)?,
        text_of(template, found, found.right.first().copied().unwrap_or(0), filled)?,
    );
    let grade = template.grade.map_or(String::new(), |grade| format!(", {}", grade.word()));
    Ok(Some(format!(
        "What is taught would be \"{taught}\" ({source}{grade}). In the model of this case it is \"{right}\", in {:.0} of 100 runs with what is uncertain varied, and the question asks for that.",
        100.0 * found.holds_in,
    )))
}
