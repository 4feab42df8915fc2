//! What may touch an impression material and keep it from setting.

use std::borrow::Cow;
use std::fmt;

use serde::de::Error;
use terms::{Contaminant, Grade, ImpressionClass};

use crate::snapshot::{check_filled, slug};

/// What is known of one contaminant under one class of material.
#[derive(Clone, Debug, PartialEq, serde::Serialize, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Inhibition {
    /// `inhibition/class-contaminant`, each word with hyphens for spaces.
    pub key: String,
    /// Class of impression material.
    pub class: ImpressionClass,
    /// What touches it.
    pub contaminant: Contaminant,
    /// What it does, where sources disagree the word that fits most of them.
    pub effect: Effect,
    /// What was found, in one sentence.
    pub said: String,
    /// What speaks against it, in one sentence.
    pub doubt: String,
    /// What to do, in one sentence.
    pub remedy: String,
    /// Whether a result can no longer be called likely when the contaminant is known to be there and was not removed.
    pub takes_likely_away: bool,
    /// Author, year, journal; `common practice` for a judgement without one.
    pub source: String,
    /// How it was obtained from the source.
    pub how_read: String,
    /// Grade.
    pub grade: Grade,
}

impl Inhibition {
    /// What is wrong with the row, in words.
    pub(crate) fn check(&self) -> Result<(), String> {
        let words = [self.class.word(), self.contaminant.word()].map(slug).join("-");
        if self.key != format!("inhibition/{words}") {
            return Err(format!("its content makes the key \"inhibition/{words}\""));
        }
        check_filled(&[
            ("said", &self.said),
            ("doubt", &self.doubt),
            ("remedy", &self.remedy),
            ("source", &self.source),
            ("how_read", &self.how_read),
        ])?;
        let fits = match self.effect {
            Effect::Stops => self.takes_likely_away,
            Effect::NoneSeen => !self.takes_likely_away,
            Effect::MayStop | Effect::Weakens | Effect::NotKnown => true,
        };
        if !fits {
            return Err(format!(
                "takes_likely_away = {} does not fit \"{}\"",
                self.takes_likely_away, self.effect
            ));
        }
        Ok(())
    }
}

/// What a contaminant does to an impression material, worst first and the unknown last.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Effect {
    /// The surface that touches it stays unset.
    Stops,
    /// Some products stay unset, or some studies found it.
    MayStop,
    /// It sets, and is weaker.
    Weakens,
    /// It was looked for and not found.
    NoneSeen,
    /// Nothing that was read settles it.
    NotKnown,
}

impl Effect {
    /// Every effect, in the order in which it is listed to a reader.
    pub const ALL: [Effect; 5] =
        [Effect::Stops, Effect::MayStop, Effect::Weakens, Effect::NoneSeen, Effect::NotKnown];

    /// Every word, in the same order.
    pub const WORDS: [&str; 5] =
        ["keeps it from setting", "may keep it from setting", "weakens it", "no effect seen", "not known"];

    /// The words in which it is written in the ledger and on cards.
    pub const fn word(self) -> &'static str {
        Effect::WORDS[self as usize]
    }

    /// The effect that is written in these words.
    pub fn from_word(word: &str) -> Option<Effect> {
        Effect::ALL.into_iter().find(|effect| effect.word() == word)
    }
}

impl fmt::Display for Effect {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.word())
    }
}

impl serde::Serialize for Effect {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.word())
    }
}

impl<'de> serde::Deserialize<'de> for Effect {
    fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let word = <Cow<'de, str>>::deserialize(deserializer)?;
        Effect::from_word(&word).ok_or_else(|| D::Error::unknown_variant(&word, &Effect::WORDS))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_effect_reads_back() {
        for effect in Effect::ALL {
            assert_eq!(Effect::from_word(effect.word()), Some(effect));
        }
        assert_eq!(Effect::Stops.word(), "keeps it from setting");
        assert_eq!(Effect::NotKnown.word(), "not known");
        assert_eq!(Effect::from_word("harmless"), None);
    }
}
