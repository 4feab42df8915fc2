//! What is typed while a case runs, as deeds.

use records::{EntryId, Moved};
use terms::{
    Counted, DieFault, DieFinding, Fact, Fault, Finding, IndexFit, Range, Reading, Step, TryInFinding,
    TryInSign, ranges,
};

use super::deed::Deed;
use case_file::quantity_text;

/// What may be typed.
pub const GRAMMAR: &[(&str, &str)] = &[
    ("stamp [STEP] [1 min ago]", "the step happens now, or happened then; without a step the next one"),
    ("back", "the last stamp, skip, count or closing was a mistake"),
    ("skip [STEP] because REASON", "a step is left out"),
    (
        "water 26 °C",
        "a reading: water, room, tooth or mix with a temperature, humidity 45 %, mass lost 0.5 %, bowl set",
    ),
    (
        "found FAULT",
        "seen on inspection; not found FAULT when it was looked for and is not there; not looked for FAULT",
    ),
    ("die FAULT", "on the die under magnification; die no FAULT when it was looked for and is not there"),
    ("second die -12 µm", "width of the second die minus that of the first"),
    ("index seats", "a rigid index made in the mouth, on the cast: seats, rocks, does not seat"),
    ("film margin 60 µm", "a fit-check film, at the margin or at the walls"),
    ("felt SIGN", "at try-in; not felt SIGN when it was looked for and is not there"),
    ("cords in 2", "cords, deep cords or fragments, in or out"),
    ("overrule RULE because REASON", "a caution or an end of a window is overruled"),
    ("measured WHAT 7.12 mm", "something else is measured"),
    ("note TEXT", "a remark; no name, date of birth or address"),
    ("close", "the chair side is closed; with a difference: close signed AB because REASON recall WHEN"),
    ("show", "the case as it stands"),
    ("leave", "leave; the case goes on, and nothing is lost"),
];

/// What was typed.
#[derive(Clone, Debug, PartialEq)]
pub enum Typed {
    /// A deed.
    Deed(Deed),
    /// The case as it stands.
    Show,
    /// What may be typed.
    Help,
    /// Leave.
    Leave,
}

/// It was not understood.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("given \"{given}\"; allowed {allowed}")]
pub struct NotUnderstood {
    /// What was typed.
    pub given: String,
    /// What may be.
    pub allowed: String,
}

/// Reads a line; an empty one shows the case, so that no stamp comes from a key that was pressed by mistake.
///
/// # Errors
/// What was typed, and what may be.
pub fn typed(line: &str) -> Result<Typed, NotUnderstood> {
    let line = line.trim();
    let not = |allowed: String| Err(NotUnderstood { given: line.to_owned(), allowed });
    let (word, rest) = line.split_once(char::is_whitespace).unwrap_or((line, ""));
    let rest = rest.trim();
    let deed = match word {
        "" | "show" => return Ok(Typed::Show),
        "help" | "?" => return Ok(Typed::Help),
        "leave" | "quit" | "exit" => return Ok(Typed::Leave),
        "stamp" => stamp(line, rest)?,
        "back" if rest.is_empty() => Deed::TakeBack,
        "back" => match EntryId::from_text(rest) {
            Some(entry) => Deed::TakeBackOne(entry),
            None => return not("back, or back and the identifier of an entry".to_owned()),
        },
        "skip" => {
            let Some((step, reason)) = because(rest) else {
                return not("skip [STEP] because REASON".to_owned());
            };
            Deed::Skip { step: step_of(line, step)?, reason: reason.to_owned() }
        }
        "water" => read(line, rest, &ranges::WATER_TEMPERATURE, Reading::WaterTemperature)?,
        "room" => read(line, rest, &ranges::ROOM_TEMPERATURE, Reading::RoomTemperature)?,
        "tooth" => read(line, rest, &ranges::TOOTH_TEMPERATURE, Reading::ToothTemperature)?,
        "mix" => read(line, rest, &ranges::WATER_TEMPERATURE, Reading::MixTemperature)?,
        "humidity" => read(line, rest, &ranges::HUMIDITY, Reading::RoomHumidity)?,
        "mass" => read(line, rest.trim_start_matches("lost").trim(), &ranges::MASS_LOSS, Reading::MassLoss)?,
        "bowl" if rest == "set" => Deed::Observe { reading: Reading::BowlSet, earlier_ms: 0 },
        "found" => found(line, rest, true)?,
        "die" => on_die(line, rest)?,
        "index" => match IndexFit::from_word(rest) {
            Some(fit) => Deed::Observe { reading: Reading::SpanIndex(fit), earlier_ms: 0 },
            None => return not(format!("index, and one of: {}", IndexFit::WORDS.join(", "))),
        },
        "film" => match rest.split_once(' ') {
            Some(("margin", read_m)) => read(line, read_m, &ranges::FIT_FILM, Reading::MarginFilm)?,
            Some(("wall" | "walls", read_m)) => read(line, read_m, &ranges::FIT_FILM, Reading::WallFilm)?,
            _ => return not("film margin 60 µm, or film walls 80 µm".to_owned()),
        },
        "second" => {
            let read_m = rest.trim_start_matches("die").trim();
            read(line, read_m, &ranges::POUR_DIFFERENCE, Reading::PourDifference)?
        }
        "felt" => felt(line, rest, true)?,
        "not" if rest.starts_with("felt") => felt(line, rest.trim_start_matches("felt").trim(), false)?,
        "not" if rest.starts_with("found") => found(line, rest.trim_start_matches("found").trim(), false)?,
        "not" if rest.starts_with("looked") => not_looked(line, rest.trim_start_matches("looked").trim())?,
        "cord" | "cords" => count(line, Counted::Cord, rest)?,
        "fragment" | "fragments" => count(line, Counted::Fragment, rest)?,
        "deep" => {
            let rest = rest.trim_start_matches("cords").trim_start_matches("cord").trim();
            count(line, Counted::DeepCord, rest)?
        }
        "overrule" => match because(rest) {
            Some((what, reason)) if !what.is_empty() => {
                Deed::Overrule { what: what.to_owned(), reason: reason.to_owned() }
            }
            _ => return not("overrule RULE because REASON".to_owned()),
        },
        "measured" => measured(line, rest)?,
        "note" if !rest.is_empty() => Deed::Note(rest.to_owned()),
        "close" => closing(line, rest)?,
        _ => {
            let words: Vec<&str> =
                GRAMMAR.iter().filter_map(|(form, _)| form.split_whitespace().next()).collect();
            return not(format!("a line that begins with {}, or help", words.join(", ")));
        }
    };
    Ok(Typed::Deed(deed))
}

fn stamp(line: &str, rest: &str) -> Result<Deed, NotUnderstood> {
    let (step, earlier_ms) = match rest.strip_suffix("ago") {
        None => (rest, 0),
        Some(then) => {
            // "seated 90 s" or "90 s": the quantity is the last two words.
            let then = then.trim();
            let unit = then.rfind(char::is_whitespace).unwrap_or(0);
            let number = then[..unit].trim_end().rfind(char::is_whitespace).map_or(0, |at| at + 1);
            match quantity_text(then[number..].trim(), &ranges::DWELL) {
                Some(s) => (then[..number].trim(), (s * 1000.0).round() as i64),
                None => {
                    return Err(NotUnderstood {
                        given: line.to_owned(),
                        allowed: format!("stamp [STEP] TIME ago, with a time of {}", ranges::DWELL.allowed()),
                    });
                }
            }
        }
    };
    Ok(Deed::Stamp { step: step_of(line, step)?, earlier_ms })
}

fn step_of(line: &str, text: &str) -> Result<Option<Step>, NotUnderstood> {
    match (text.trim(), Step::from_word(text.trim())) {
        ("", _) => Ok(None),
        (_, Some(step)) => Ok(Some(step)),
        (_, None) => Err(NotUnderstood {
            given: line.to_owned(),
            allowed: format!("a step: {}", Step::WORDS.join(", ")),
        }),
    }
}

/// "WHAT because REASON".
fn because(text: &str) -> Option<(&str, &str)> {
    let (what, reason) = match text.strip_prefix("because ") {
        Some(reason) => ("", reason),
        None => text.split_once(" because ")?,
    };
    let reason = reason.trim();
    (!reason.is_empty()).then_some((what.trim(), reason))
}

fn read(line: &str, text: &str, range: &Range, reading: fn(f64) -> Reading) -> Result<Deed, NotUnderstood> {
    // A bare number is in the unit of the trade.
    let unit = range.unit.symbol();
    let text = &case_file::with_point(text);
    let with_unit = if text.parse::<f64>().is_ok() { format!("{text} {unit}") } else { text.to_owned() };
    match quantity_text(&with_unit, range) {
        Some(si) => Ok(Deed::Observe { reading: reading(si), earlier_ms: 0 }),
        None => Err(NotUnderstood { given: line.to_owned(), allowed: range.allowed() }),
    }
}

/// Nobody has looked after all: what was said of it counts no more.
fn not_looked(line: &str, text: &str) -> Result<Deed, NotUnderstood> {
    let present = Fact::Unknown;
    let reading = if let Some(word) = text.strip_prefix("on the die for ") {
        DieFault::from_word(word).map(|fault| Reading::Die(DieFinding { fault, present }))
    } else if let Some(word) = text.strip_prefix("at try-in for ") {
        TryInSign::from_word(word).map(|sign| Reading::TryIn(TryInFinding { sign, present }))
    } else {
        let word = text.strip_prefix("for ").unwrap_or(text);
        Fault::from_word(word).map(|fault| Reading::Inspection(Finding { fault, present }))
    };
    match reading {
        Some(reading) => Ok(Deed::Observe { reading, earlier_ms: 0 }),
        None => Err(NotUnderstood {
            given: line.to_owned(),
            allowed: "not looked for FAULT, not looked on the die for FAULT, not looked at try-in for SIGN"
                .to_owned(),
        }),
    }
}

fn found(line: &str, text: &str, present: bool) -> Result<Deed, NotUnderstood> {
    match Fault::from_word(text) {
        Some(fault) => {
            let finding = Finding { fault, present: Fact::Known(present) };
            Ok(Deed::Observe { reading: Reading::Inspection(finding), earlier_ms: 0 })
        }
        None => Err(NotUnderstood {
            given: line.to_owned(),
            allowed: format!("a fault: {}", Fault::WORDS.join(", ")),
        }),
    }
}

fn on_die(line: &str, text: &str) -> Result<Deed, NotUnderstood> {
    let (present, word) = match text.strip_prefix("no ") {
        Some(word) => (false, word.trim()),
        None => (true, text),
    };
    match DieFault::from_word(word) {
        Some(fault) => {
            let finding = DieFinding { fault, present: Fact::Known(present) };
            Ok(Deed::Observe { reading: Reading::Die(finding), earlier_ms: 0 })
        }
        None => Err(NotUnderstood {
            given: line.to_owned(),
            allowed: format!("die, or die no, and one of: {}", DieFault::WORDS.join(", ")),
        }),
    }
}

fn felt(line: &str, text: &str, present: bool) -> Result<Deed, NotUnderstood> {
    match TryInSign::from_word(text) {
        Some(sign) => {
            let finding = TryInFinding { sign, present: Fact::Known(present) };
            Ok(Deed::Observe { reading: Reading::TryIn(finding), earlier_ms: 0 })
        }
        None => Err(NotUnderstood {
            given: line.to_owned(),
            allowed: format!("felt, or not felt, and one of: {}", TryInSign::WORDS.join(", ")),
        }),
    }
}

fn count(line: &str, item: Counted, text: &str) -> Result<Deed, NotUnderstood> {
    let allowed =
        || NotUnderstood { given: line.to_owned(), allowed: format!("{item}s in 2, or {item}s out 2") };
    let (way, number) = text.split_once(char::is_whitespace).unwrap_or((text, "1"));
    let moved = match way {
        "in" => Moved::In,
        "out" => Moved::Out,
        _ => return Err(allowed()),
    };
    let number =
        number.trim().parse::<u32>().ok().filter(|number| (1..=30).contains(number)).ok_or_else(allowed)?;
    Ok(Deed::Count { item, moved, number })
}

fn measured(line: &str, text: &str) -> Result<Deed, NotUnderstood> {
    let mut words: Vec<&str> = text.split_whitespace().collect();
    let (unit, value) = (words.pop(), words.pop().and_then(|value| value.parse::<f64>().ok()));
    match (unit, value) {
        (Some(unit), Some(value)) if !words.is_empty() && value.is_finite() => {
            Ok(Deed::Measure { what: words.join(" "), value, unit: unit.to_owned() })
        }
        _ => Err(NotUnderstood { given: line.to_owned(), allowed: "measured WHAT NUMBER UNIT".to_owned() }),
    }
}

fn closing(line: &str, text: &str) -> Result<Deed, NotUnderstood> {
    if text.is_empty() {
        return Ok(Deed::Close { signed: None, reason: None, recall: None });
    }
    let parts = text.strip_prefix("signed ").and_then(|rest| {
        let (signed, rest) = rest.split_once(" because ")?;
        let (reason, recall) = rest.split_once(" recall ")?;
        Some((signed.trim(), reason.trim(), recall.trim()))
    });
    match parts {
        Some((signed, reason, recall)) if !reason.is_empty() && !recall.is_empty() => Ok(Deed::Close {
            signed: Some(signed.to_owned()),
            reason: Some(reason.to_owned()),
            recall: Some(recall.to_owned()),
        }),
        _ => Err(NotUnderstood {
            given: line.to_owned(),
            allowed: "close, or close signed AB because REASON recall WHEN".to_owned(),
        }),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn deed(line: &str) -> Deed {
        match typed(line) {
            Ok(Typed::Deed(deed)) => deed,
            other => panic!("{line}: {other:?}"),
        }
    }

    #[test]
    fn lines_are_deeds() {
        assert_eq!(deed("stamp"), Deed::Stamp { step: None, earlier_ms: 0 });
        assert_eq!(deed("stamp removed"), Deed::Stamp { step: Some(Step::Removed), earlier_ms: 0 });
        assert_eq!(
            deed("stamp mix started 90 s ago"),
            Deed::Stamp { step: Some(Step::MixStarted), earlier_ms: 90_000 }
        );
        assert_eq!(deed("stamp 2 min ago"), Deed::Stamp { step: None, earlier_ms: 120_000 });
        assert_eq!(
            deed("water 26"),
            Deed::Observe { reading: Reading::WaterTemperature(273.15 + 26.0), earlier_ms: 0 }
        );
        assert_eq!(
            deed("humidity 45 %"),
            Deed::Observe { reading: Reading::RoomHumidity(0.45), earlier_ms: 0 }
        );
        assert_eq!(
            deed("skip separated because it broke"),
            Deed::Skip { step: Some(Step::Separated), reason: "it broke".to_owned() }
        );
        assert_eq!(
            deed("deep cords in 2"),
            Deed::Count { item: Counted::DeepCord, moved: Moved::In, number: 2 }
        );
        assert_eq!(deed("cord out"), Deed::Count { item: Counted::Cord, moved: Moved::Out, number: 1 });
        let Deed::Observe { reading: Reading::Inspection(finding), .. } =
            deed("not found void at the margin")
        else {
            panic!()
        };
        assert_eq!(finding.present, Fact::Known(false));
        assert_eq!(
            deed("close signed AB because one not found recall Monday 9:00"),
            Deed::Close {
                signed: Some("AB".to_owned()),
                reason: Some("one not found".to_owned()),
                recall: Some("Monday 9:00".to_owned())
            }
        );
        assert_eq!(
            deed("film margin 60"),
            Deed::Observe { reading: Reading::MarginFilm(60.0 * 1e-6), earlier_ms: 0 }
        );
        let Deed::Observe { reading: Reading::Die(finding), .. } = deed("die no chipped margin") else {
            panic!()
        };
        assert_eq!((finding.fault, finding.present), (DieFault::Chip, Fact::Known(false)));
        let Deed::Observe { reading: Reading::TryIn(finding), .. } = deed("felt open margin") else {
            panic!()
        };
        assert_eq!((finding.sign, finding.present), (TryInSign::OpenMargin, Fact::Known(true)));
        assert_eq!(typed("").unwrap(), Typed::Show);
    }

    #[test]
    fn what_is_not_understood_says_what_is() {
        let refused = |line: &str| typed(line).unwrap_err().to_string();
        assert_eq!(refused("water 90"), "given \"water 90\"; allowed 1 to 45 °C");
        assert_eq!(refused("water hot"), "given \"water hot\"; allowed 1 to 45 °C");
        assert!(refused("stamp sat").contains("a step: mix started, seated"));
        assert!(refused("cords up 2").contains("cords in 2"));
        assert!(refused("cords in 0").contains("cords in 2"));
        assert!(refused("skip").contains("skip [STEP] because REASON"));
        assert!(refused("found nothing").contains("a fault: "));
        assert!(refused("close signed AB").contains("recall WHEN"));
        assert!(refused("stam").contains("begins with stamp, back"));
        assert!(refused("stamp nonsense ago").contains("TIME ago"));
        assert!(refused("measured width").contains("NUMBER UNIT"));
    }
}
