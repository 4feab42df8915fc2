//! Wording that gives a key away or asks badly: the published rules that a program can check.
//!
//! The rules are those of item-writing guides: Haladyna, Downing and Rodriguez 2002, *Applied Measurement in Education* 15:309, and Case and
//! Swanson, *Constructing Written Test Questions*, read as quoted in reviews and from memory. What a program cannot see, such as whether a distractor
//! is plausible, is for a reader.

use std::collections::BTreeSet;

use crate::item::{Body, Item};

/// The longest option may have this many times the letters of the shortest.
pub const LONGEST: f64 = 1.5;

/// Words that make an option true or false by themselves.
const ABSOLUTE: &[&str] =
    &["always", "never", "all", "none", "every", "only", "must", "impossible", "completely"];

/// Words that mean something else to each reader.
const VAGUE: &[&str] =
    &["often", "usually", "sometimes", "frequently", "rarely", "may", "might", "generally"];

/// Words that turn a question round.
const NEGATIVE: &[&str] = &["not", "except", "never", "least likely", "incorrect", "false"];

/// Letters from which on a word is telling when it stands in the question and in one option alone.
const TELLING: usize = 6;

/// Everything that the rules find, in words; nothing when they find nothing.
pub fn faults(item: &Item) -> Vec<String> {
    let mut found = Vec::new();
    let lead_in = item.lead_in.trim();
    if !lead_in.ends_with('?') {
        found.push(format!("the question does not end with a question mark: \"{lead_in}\""));
    }
    if let Some(word) = NEGATIVE.iter().find(|word| has(lead_in, word)) {
        found.push(format!("the question is asked in the negative: \"{word}\""));
    }
    if item.reason.trim().is_empty() {
        found.push("no reason is given".to_owned());
    }
    if [&item.stem, &item.lead_in, &item.reason].iter().any(|text| text.contains(['{', '}'])) {
        found.push("a place is not filled".to_owned());
    }
    match &item.body {
        Body::Choice { options, key, .. } => {
            let texts: Vec<&str> = options.iter().map(|option| option.text.trim()).collect();
            options_apart(&texts, &mut found);
            for (place, option) in options.iter().enumerate() {
                if let Some(word) = ABSOLUTE.iter().chain(VAGUE).find(|word| has(&option.text, word)) {
                    found.push(format!("an option says \"{word}\": \"{}\"", option.text));
                }
                if has(&option.text, "of the above") {
                    found.push("an option speaks of the others".to_owned());
                }
                if option.why.trim().is_empty() {
                    found.push(format!("no reason is given for \"{}\"", option.text));
                }
                if place != *key && option.misconception.is_none() {
                    found.push(format!("no misconception is named for \"{}\"", option.text));
                }
            }
            if let Some(word) = clang(item, &texts, *key) {
                found.push(format!("the question and the key alone share the word \"{word}\""));
            }
            if *key >= options.len() {
                found.push("the key is not an option".to_owned());
            }
        }
        Body::Order { steps, key } => {
            let texts: Vec<&str> = steps.iter().map(|step| step.text.trim()).collect();
            options_apart(&texts, &mut found);
            let shown: Vec<&String> = steps.iter().map(|step| &step.id).collect();
            if shown.iter().copied().eq(key) {
                found.push("the steps are shown in their order".to_owned());
            }
        }
        Body::Numeric { key, least, most, .. } => {
            if !(least <= key && key <= most && least < most) {
                found.push(format!("the key {key} does not lie between {least} and {most}"));
            }
        }
    }
    found
}

fn options_apart(texts: &[&str], found: &mut Vec<String>) {
    let lower: BTreeSet<String> = texts.iter().map(|text| text.to_lowercase()).collect();
    if lower.len() < texts.len() {
        found.push("two options say the same".to_owned());
    }
    let lengths = texts.iter().map(|text| text.chars().count());
    let (longest, shortest) = (lengths.clone().max().unwrap_or(0), lengths.min().unwrap_or(0));
    if longest as f64 > LONGEST * shortest as f64 {
        found.push(format!("the longest option has {longest} letters, the shortest {shortest}"));
    }
    let stops: BTreeSet<bool> = texts.iter().map(|text| text.ends_with('.')).collect();
    if stops.len() > 1 {
        found.push("some options end with a full stop and some do not".to_owned());
    }
}

/// Whether a text has a word or words, whatever their case.
fn has(text: &str, words: &str) -> bool {
    let spaced = |text: &str| {
        let letters: String =
            text.chars().map(|c| if c.is_alphanumeric() { c.to_ascii_lowercase() } else { ' ' }).collect();
        format!(" {} ", letters.split_whitespace().collect::<Vec<_>>().join(" "))
    };
    spaced(text).contains(&spaced(words))
}

fn telling(text: &str) -> BTreeSet<String> {
    text.split(|c: char| !c.is_alphabetic())
        .filter(|word| word.chars().count() >= TELLING)
        .map(str::to_lowercase)
        .collect()
}

/// A telling word that the question shares with the key and with no other option.
fn clang(item: &Item, texts: &[&str], key: usize) -> Option<String> {
    let asked = telling(&format!("{} {}", item.stem, item.lead_in));
    let in_key = telling(texts.get(key)?);
    let elsewhere: BTreeSet<String> = texts
        .iter()
        .enumerate()
        .filter(|(place, _)| *place != key)
        .flat_map(|(_, text)| telling(text))
        .collect();
    let shared_elsewhere = elsewhere.intersection(&asked).count();
    // Where distractors share words of the question too, none of them tells.
    if shared_elsewhere > 0 {
        return None;
    }
    in_key.intersection(&asked).next().cloned()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::item::Choice;

    fn item(lead_in: &str, options: &[&str], key: usize) -> Item {
        let choice = |(place, text): (usize, &&str)| Choice {
            id: format!("o{place}"),
            text: (*text).to_owned(),
            why: "so".to_owned(),
            misconception: (place != key).then(|| "reversed".to_owned()),
        };
        Item {
            id: "t.1".to_owned(),
            title: String::new(),
            topic: None,
            level: None,
            asks: None,
            stem: "The impression lies in open air.".to_owned(),
            lead_in: lead_in.to_owned(),
            body: Body::Choice {
                options: options.iter().enumerate().map(choice).collect(),
                key,
                in_order: false,
            },
            reason: "so".to_owned(),
            disagreement: None,
            rests_on: Vec::new(),
        }
    }

    #[test]
    fn a_sound_item_has_no_fault() {
        assert_eq!(
            faults(&item("What comes next?", &["it swells", "it shrinks", "it stays"], 1)),
            Vec::<String>::new()
        );
    }

    #[test]
    fn every_rule_finds_its_fault() {
        let of = |lead_in: &str, options: &[&str]| faults(&item(lead_in, options, 0)).join("; ");
        assert!(of("What comes next", &["it swells", "it shrinks", "it stays"]).contains("question mark"));
        assert!(of("Which is not so?", &["it swells", "it shrinks", "it stays"]).contains("negative"));
        assert!(of("What?", &["it always swells", "it shrinks now", "it stays as is"]).contains("always"));
        assert!(of("What?", &["it swells", "It swells", "it stays"]).contains("say the same"));
        assert!(of("What?", &["it swells a good deal", "it shrinks", "it stays"]).contains("longest option"));
        assert!(
            of("What?", &["the impression dries", "the stone swells now", "the tray bends back"])
                .contains("\"impression\"")
        );
        assert!(of("What?", &["it swells.", "it shrinks", "it stays"]).contains("full stop"));
    }
}
