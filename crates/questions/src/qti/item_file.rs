//! One item as the standard states it, as an [`Item`].

use std::collections::{BTreeMap, BTreeSet};

use serde::de::DeserializeOwned;

use super::processing::{Declared, Outcomes, Value, carry_out, declared, number};
use super::scoring::{Band, band, best, score};
use super::text::{Found, GAP, plain};
use super::xml::Element;
use crate::item::{Asks, Body, Choice, Item, Level, Step};

/// What was read of one item.
#[derive(Debug)]
pub struct Taken {
    /// The item.
    pub item: Item,
    /// What was not taken over, as ends of a sentence.
    pub notes: Vec<String>,
}

/// The item of a document whose root it is.
///
/// # Errors
/// With why it is not read, as the end of a sentence.
pub fn take(root: &Element, id: String) -> Result<Taken, String> {
    if root.get("adaptive") == Some("true") {
        return Err("it is adaptive".into());
    }
    for (name, why) in [
        ("template-declaration", "it is drawn anew each time that it is shown"),
        ("assessment-stimulus-ref", "it needs a text that stands in another file"),
        ("companion-materials-info", "it needs materials beside it"),
    ] {
        if root.first(name).is_some() {
            return Err(why.into());
        }
    }
    let body = root.first("item-body").ok_or("it has no body")?;
    let mut found = Found::default();
    let text = plain(body, &mut found).map_err(|what| format!("{what} cannot be read as plain text"))?;
    let [interaction] = found.interactions[..] else {
        return Err(match found.interactions.len() {
            0 => "it asks for no answer".into(),
            many => format!("it asks for {many} answers"),
        });
    };
    let mut notes = std::mem::take(&mut found.notes);
    if root.first("catalog-info").is_some() {
        notes.push("its catalogue of supports".into());
    }
    let response = declared(root, interaction.get("response-identifier").unwrap_or_default())
        .map_err(|what| format!("it has {what}"))?;
    let read = Reader { root, interaction, response, feedback: found.feedback, notes };
    let (stem, lead_in) = read.question(body, &text)?;
    let about = part(body, "stem");
    let own = |name: &str| about.and_then(|element| element.get(name)).map(str::to_owned);
    let (topic, level, asks, rests_on) = (
        own("data-trayward-topic"),
        own("data-trayward-level"),
        own("data-trayward-asks"),
        own("data-trayward-rests-on"),
    );
    let (body, reason, disagreement, mut notes) = match interaction.name.as_str() {
        "choice-interaction" => read.choice()?,
        "order-interaction" => read.order()?,
        "text-entry-interaction" => read.numeric(body)?,
        _ => return Err(format!("a {} is not read", interaction.tag)),
    };
    let level: Option<Level> = one_of("level", level, &mut notes);
    let asks: Option<Asks> = one_of("kind of answer", asks, &mut notes);
    let rests_on = match rests_on.map(|text| serde_json::from_str(&text)) {
        None => Vec::new(),
        Some(Ok(keys)) => keys,
        Some(Err(_)) => {
            notes.push("what its key rests on".into());
            Vec::new()
        }
    };
    let title = root.get("title").unwrap_or_default().to_owned();
    let item = Item { id, title, topic, level, asks, stem, lead_in, body, reason, disagreement, rests_on };
    Ok(Taken { item, notes })
}

/// One of the words of a list, or a note.
fn one_of<T: DeserializeOwned>(what: &str, word: Option<String>, notes: &mut Vec<String>) -> Option<T> {
    let word = word?;
    let known = serde_json::from_value(word.clone().into()).ok();
    if known.is_none() {
        notes.push(format!("its {what} {word:?}"));
    }
    known
}

/// The element of the body that holds this part of an item that was written here.
fn part<'a>(within: &'a Element, name: &str) -> Option<&'a Element> {
    within.walk().into_iter().find(|element| element.get("data-trayward-part") == Some(name))
}

/// Text of one element, with what is found in it thrown away but noted.
fn text_of(element: &Element, notes: &mut Vec<String>) -> Result<String, String> {
    let mut found = Found::default();
    // A part in a wrapper of its own keeps its spaces; the reducer looks at the attributes of what is inside.
    let text = plain(element, &mut found).map_err(|what| format!("{what} cannot be read as plain text"))?;
    notes.append(&mut found.notes);
    Ok(text)
}

/// An identifier in our form: letters, digits and `_` (and what else is allowed), a letter first, each once.
pub fn own_identifier(
    given: &str,
    also: &[char],
    longest: usize,
    first: char,
    taken: &BTreeSet<String>,
) -> String {
    let allowed = |c: char| c.is_ascii_alphanumeric() || c == '_' || also.contains(&c);
    let mut id: String = given.chars().map(|c| if allowed(c) { c } else { '_' }).collect();
    if !id.starts_with(|c: char| c.is_ascii_alphabetic()) {
        id.insert(0, first);
    }
    id.truncate(longest);
    let mut number = 2;
    let mut free = id.clone();
    while taken.contains(&free) {
        let end = format!("_{number}");
        free = format!("{}{end}", &id[..id.len().min(longest - end.len())]);
        number += 1;
    }
    free
}

type Answered = (Body, String, Option<String>, Vec<String>);

struct Reader<'a> {
    root: &'a Element,
    interaction: &'a Element,
    response: Declared,
    feedback: Vec<&'a Element>,
    notes: Vec<String>,
}

/// An option or a step as it stands.
struct Shown<'a> {
    element: &'a Element,
    given: &'a str,
    id: String,
    text: String,
    feedback: Vec<&'a Element>,
}

impl<'a> Reader<'a> {
    /// Stem and lead-in: what was written here as such, or a prompt, or the last block.
    fn question(&self, body: &Element, text: &str) -> Result<(String, String), String> {
        let mut notes = Vec::new();
        let prompt =
            self.interaction.first("prompt").map(|prompt| text_of(prompt, &mut notes)).transpose()?;
        if let Some(stem) = part(body, "stem") {
            let lead_in = match part(body, "lead-in") {
                Some(element) => text_of(element, &mut notes)?,
                None => prompt.unwrap_or_default(),
            };
            return Ok((text_of(stem, &mut notes)?, lead_in));
        }
        if let Some(prompt) = prompt.filter(|prompt| !prompt.is_empty()) {
            return Ok((text.into(), prompt));
        }
        // The gap's own block asks; when it holds nothing else, the block before it.
        let mut blocks: Vec<&str> = text.split("\n\n").filter(|block| *block != GAP).collect();
        let place =
            blocks.iter().position(|block| block.contains(GAP)).unwrap_or(blocks.len().saturating_sub(1));
        let lead_in = if blocks.is_empty() { "" } else { blocks.remove(place) };
        Ok((blocks.join("\n\n"), lead_in.into()))
    }

    fn shown(&mut self) -> Result<Vec<Shown<'a>>, String> {
        let mut shown: Vec<Shown> = Vec::new();
        let mut taken = BTreeSet::new();
        for element in self.interaction.all("simple-choice") {
            let given = element.get("identifier").ok_or("an option has no identifier")?;
            if shown.iter().any(|before| before.given == given) {
                return Err(format!("two options have the identifier {given:?}"));
            }
            let mut found = Found::default();
            let text =
                plain(element, &mut found).map_err(|what| format!("{what} cannot be read as plain text"))?;
            if !found.interactions.is_empty() {
                return Err("an option asks for an answer of its own".into());
            }
            self.notes.append(&mut found.notes);
            let id = own_identifier(given, &[], 64, 'c', &taken);
            taken.insert(id.clone());
            shown.push(Shown { element, given, id, text, feedback: found.feedback });
        }
        if shown.is_empty() {
            return Err("it has no options".into());
        }
        Ok(shown)
    }

    fn declared_as(&self, cardinality: &str, bases: &[&str]) -> Result<(), String> {
        if self.response.cardinality == cardinality && bases.contains(&self.response.base.as_str()) {
            return Ok(());
        }
        let (given, base) = (&self.response.cardinality, &self.response.base);
        Err(format!(
            "its answer is declared as {given} {base}; read are {cardinality} {}",
            bases.join(" or ")
        ))
    }

    fn outcomes(&self, answer: &Value) -> Result<Outcomes, String> {
        carry_out(self.root, &self.response, answer).map_err(|what| format!("{what} is not read"))
    }

    fn has_processing(&self) -> bool {
        self.root.first("response-processing").is_some()
    }

    fn choice(mut self) -> Result<Answered, String> {
        self.declared_as("single", &["identifier"])?;
        let shown = self.shown()?;
        let stated = match self.response.correct.as_slice() {
            [] => None,
            [one] => Some(
                shown
                    .iter()
                    .position(|option| option.given == one)
                    .ok_or_else(|| format!("its right answer {one:?} is none of its options"))?,
            ),
            _ => return Err("it has several right answers".into()),
        };
        let mut answers = Vec::new();
        for option in &shown {
            answers.push(self.outcomes(&Value::Text(option.given.into()))?);
        }
        let key = if self.has_processing() {
            let scores = answers.iter().map(score).collect::<Result<Vec<f64>, String>>();
            let (key, partial) =
                scores.and_then(|scores| best(&scores)).map_err(|what| format!("it has {what}"))?;
            if partial {
                self.notes.push("marks for other options than the key".into());
            }
            if stated.is_some_and(|stated| stated != key) {
                return Err("its right answer is not the one that scores most".into());
            }
            key
        } else {
            stated.ok_or("it has no right answer")?
        };
        let mut whys = vec![Vec::new(); shown.len()];
        let mut reason = Vec::new();
        let mut disagreement = None;
        let all: Vec<(Option<usize>, &Element)> = shown
            .iter()
            .enumerate()
            .flat_map(|(place, option)| option.feedback.iter().map(move |element| (Some(place), *element)))
            .chain(self.feedback.iter().map(|element| (None, *element)))
            .chain(self.root.all("modal-feedback").map(|element| (None, element)))
            .collect();
        for (inside, element) in all {
            let text = self.feedback_text(element, &mut disagreement)?;
            let places: Vec<usize> =
                (0..shown.len()).filter(|place| is_shown(element, &answers[*place])).collect();
            let named = shown.iter().position(|option| element.get("identifier") == Some(option.given));
            let own = inside.or(named);
            match (own, places.as_slice()) {
                (Some(own), [] | [_]) if places.first().is_none_or(|place| *place == own) => {
                    whys[own].push(text)
                }
                (_, places) if places.len() == shown.len() || places == [key] => reason.push(text),
                (_, [place]) => whys[*place].push(text),
                _ => self.unplaced(element),
            }
        }
        // Options that must stay where they are stand for all.
        let fixed = shown.iter().any(|option| option.element.get("fixed") == Some("true"));
        let in_order = fixed || self.interaction.get("shuffle") != Some("true");
        let options = shown
            .into_iter()
            .zip(whys)
            .map(|(option, why)| Choice {
                misconception: option.element.get("data-trayward-misconception").map(str::to_owned),
                id: option.id,
                text: option.text,
                why: why.join("\n\n"),
            })
            .collect();
        Ok((Body::Choice { options, key, in_order }, reason.join("\n\n"), disagreement, self.notes))
    }

    fn order(mut self) -> Result<Answered, String> {
        self.declared_as("ordered", &["identifier"])?;
        let shown = self.shown()?;
        let correct = self.response.correct.clone();
        let ids: BTreeMap<&str, &str> = shown.iter().map(|step| (step.given, step.id.as_str())).collect();
        let key: Option<Vec<String>> =
            correct.iter().map(|given| ids.get(given.as_str()).map(|id| (*id).to_owned())).collect();
        let distinct: BTreeSet<&String> = correct.iter().collect();
        let key = key
            .filter(|key| key.len() == shown.len() && distinct.len() == shown.len())
            .ok_or("its right answer is not an order of all its steps")?;
        let answer = |order: Vec<String>| Value::Many(order.into_iter().map(Value::Text).collect());
        let right = self.outcomes(&answer(correct.clone()))?;
        let wrong = self.outcomes(&answer(correct.into_iter().rev().collect()))?;
        if self.has_processing() {
            let scores =
                [&right, &wrong].map(score).map(|score| score.map_err(|what| format!("it has {what}")));
            let [right, wrong] = scores;
            let (right, wrong) = (right?, wrong?);
            if right <= 0.0 || (shown.len() > 1 && wrong >= right) {
                return Err("its right order does not score more than the opposite one".into());
            }
        }
        let (reason, disagreement) = self.explained(&shown, &right, &wrong)?;
        let steps = shown.into_iter().map(|step| Step { id: step.id, text: step.text }).collect();
        Ok((Body::Order { steps, key }, reason, disagreement, self.notes))
    }

    fn numeric(mut self, body: &Element) -> Result<Answered, String> {
        self.declared_as("single", &["float", "integer"])?;
        let Band { key, least, most, partial } =
            band(self.root, &self.response).map_err(|what| format!("it has {what}"))?;
        if partial {
            self.notes.push("marks for numbers outside the band that scores most".into());
        }
        let right = self.outcomes(&Value::Number(key))?;
        let wrong = self.outcomes(&Value::Number(most + (most - least).abs().max(most.abs()).max(1.0)))?;
        let (reason, disagreement) = self.explained(&[], &right, &wrong)?;
        let unit = part(body, "unit").map(|element| text_of(element, &mut self.notes)).transpose()?;
        // Digits as the key is written, where nothing says them.
        let written = self.response.correct.first().filter(|text| !text.contains(['e', 'E']));
        let shown = written.and_then(|text| text.split_once('.')).map_or(0, |(_, digits)| digits.len());
        let stated = self.interaction.get("data-trayward-digits").and_then(number);
        let digits = stated.map_or(shown.min(9) as u8, |digits| digits.clamp(0.0, 255.0) as u8);
        let body = Body::Numeric { key, least, most, unit: unit.unwrap_or_default(), digits };
        Ok((body, reason, disagreement, self.notes))
    }

    /// Reason and disagreement, from feedback that right answers show.
    fn explained(
        &mut self,
        shown: &[Shown],
        right: &Outcomes,
        wrong: &Outcomes,
    ) -> Result<(String, Option<String>), String> {
        let mut reason = Vec::new();
        let mut disagreement = None;
        let inside = shown.iter().flat_map(|step| step.feedback.iter().copied());
        let outside = self.feedback.iter().copied().chain(self.root.all("modal-feedback"));
        for element in inside.chain(outside).collect::<Vec<&Element>>() {
            if is_shown(element, right) {
                reason.push(self.feedback_text(element, &mut disagreement)?);
            } else if is_shown(element, wrong) {
                self.notes.push("feedback to wrong answers".into());
            } else {
                self.unplaced(element);
            }
        }
        Ok((reason.join("\n\n"), disagreement))
    }

    fn unplaced(&mut self, element: &Element) {
        let name = element.get("identifier").unwrap_or_default();
        self.notes.push(format!("the feedback {name:?}, which belongs to no one answer"));
    }

    /// Text of feedback; what is to be said of two answers apart from it.
    fn feedback_text(
        &mut self,
        element: &Element,
        disagreement: &mut Option<String>,
    ) -> Result<String, String> {
        if let Some(reason) = part(element, "reason") {
            if let Some(other) = part(element, "disagreement") {
                *disagreement = Some(text_of(other, &mut self.notes)?);
            }
            return text_of(reason, &mut self.notes);
        }
        text_of(element, &mut self.notes)
    }
}

/// Whether feedback is shown after these outcomes.
fn is_shown(element: &Element, outcomes: &Outcomes) -> bool {
    let outcome = element.get("outcome-identifier").and_then(|name| outcomes.get(name));
    let identifier = Value::Text(element.get("identifier").unwrap_or_default().into());
    let holds = match outcome {
        Some(Value::Many(values)) => values.contains(&identifier),
        Some(value) => *value == identifier,
        None => false,
    };
    holds != (element.get("show-hide") == Some("hide"))
}
