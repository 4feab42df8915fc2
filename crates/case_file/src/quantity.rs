//! A quantity as text: a plain decimal number and a unit, `8 mm`, `0.2 m/s`, `23 °C`.

use terms::{Range, Unit};

/// The most digits before or after the decimal point.
pub const MAX_DIGITS: usize = 30;

/// The SI value of `text`, in any unit of the dimension of `unit`.
///
/// # Errors
/// The text that was probably meant, when there is one: a decimal point for a comma, a unit for its name.
pub fn parse(text: &str, unit: Unit) -> Result<f64, Option<String>> {
    let text = text.trim();
    let split = text.find(|c: char| !matches!(c, '-' | '0'..='9' | '.' | ',')).unwrap_or(text.len());
    let (number_text, rest) = text.split_at(split);
    let unit_text = rest.trim_start();
    let number = plain_number(number_text);
    let given_unit = spellings(unit).find(|(spelling, _)| *spelling == unit_text);
    if let (Some(number), Some((_, given_unit))) = (number, given_unit) {
        return Ok(given_unit.to_si(number));
    }
    let meant_number = number_text.replacen(',', ".", 1);
    let meant_unit = given_unit.map(|(spelling, _)| spelling).or_else(|| meant_unit(unit_text, unit));
    Err(match (plain_number(&meant_number), meant_unit) {
        (Some(_), Some(meant_unit)) => Some(join(&meant_number, meant_unit)),
        _ => None,
    })
}

/// The shortest text that reads back to exactly this SI value; the unit of the range when two are equally short.
///
/// A value that no text of these units reaches is written to twelve decimals. Values that were read are always reached.
pub fn write(si: f64, range: &Range) -> String {
    let mut best: Option<(String, Unit)> = None;
    for unit in super::fields::units(range) {
        if let Some(number) = shortest_number(si, unit)
            && best.as_ref().is_none_or(|(shorter, _)| number.len() < shorter.len())
        {
            best = Some((number, unit));
        }
    }
    let (number, unit) = best.unwrap_or_else(|| (format!("{:.12}", range.unit.from_si(si)), range.unit));
    join(&number, unit.symbol())
}

/// Every way to write a unit of the dimension of `unit`.
pub fn spellings(unit: Unit) -> impl Iterator<Item = (&'static str, Unit)> {
    unit.same_dimension().iter().flat_map(|&unit| {
        let others: &[&str] = match unit {
            Unit::Celsius => &["C"],
            // The second is the Greek letter, which looks the same.
            Unit::Micrometre => &["um", "\u{3bc}m"],
            Unit::Degree => &["deg"],
            Unit::Coat => &["coat"],
            Unit::Month => &["month"],
            Unit::Millilitre => &["ml"],
            Unit::Cartridge => &["cartridge"],
            Unit::Cord => &["cord"],
            _ => &[],
        };
        std::iter::once(unit.symbol()).chain(others.iter().copied()).map(move |spelling| (spelling, unit))
    })
}

/// "mm, µm or um": the spellings that a reader can tell apart.
pub fn spellings_in_words(unit: Unit) -> String {
    let list: Vec<&str> =
        spellings(unit).map(|(spelling, _)| spelling).filter(|s| !s.contains('\u{3bc}')).collect();
    match list.split_last() {
        Some((last, rest)) if !rest.is_empty() => format!("{} or {last}", rest.join(", ")),
        _ => list.concat(),
    }
}

/// A unit that differs only in case, or that the given word begins with ("sec", "minutes", "grams").
///
/// Units are never guessed by likeness: "cm" is one letter away from "mm".
fn meant_unit(given: &str, unit: Unit) -> Option<&'static str> {
    let begins =
        |spelling: &str| given.strip_prefix(spelling).is_some_and(|rest| !rest.contains(char::is_whitespace));
    let lower = given.to_lowercase();
    spellings(unit).map(|(spelling, _)| spelling).find(|spelling| spelling.to_lowercase() == lower).or_else(
        || {
            spellings(unit)
                .map(|(spelling, _)| spelling)
                .filter(|spelling| begins(spelling))
                .max_by_key(|s| s.len())
        },
    )
}

fn join(number: &str, unit: &str) -> String {
    format!("{number} {unit}")
}

/// A decimal number without exponent, sign only in front, at most [`MAX_DIGITS`] digits on each side of the point.
fn plain_number(text: &str) -> Option<f64> {
    let digits =
        |part: &str| (1..=MAX_DIGITS).contains(&part.len()) && part.bytes().all(|b| b.is_ascii_digit());
    let unsigned = text.strip_prefix('-').unwrap_or(text);
    let plain = match unsigned.split_once('.') {
        Some((whole, decimals)) => digits(whole) && digits(decimals),
        None => digits(unsigned),
    };
    if plain { text.parse().ok() } else { None }
}

/// The number with the fewest digits that this unit turns into exactly `si`.
fn shortest_number(si: f64, unit: Unit) -> Option<String> {
    let near = unit.from_si(si);
    // Seventeen significant digits are the number itself.
    (0..17)
        .filter_map(|digits| format!("{near:.digits$e}").parse::<f64>().ok())
        .find(|&number| unit.to_si(number) == si)
        .map(|number| format!("{number}"))
        .filter(|text| plain_number(text).is_some())
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;
    use terms::ranges;

    use super::*;

    #[test]
    fn units_of_one_dimension_are_converted_and_others_refused() {
        assert_eq!(parse("3 mm", Unit::Micrometre), Ok(0.003));
        assert_eq!(parse("40um", Unit::Millimetre), Ok(40.0 * 1e-6));
        assert_eq!(parse("40 \u{3bc}m", Unit::Micrometre), parse("40 \u{b5}m", Unit::Micrometre));
        assert_eq!(parse("2 h", Unit::Second), Ok(7200.0));
        assert_eq!(parse("23 C", Unit::Celsius), Ok(23.0 + 273.15));
        assert_eq!(parse("12 deg", Unit::Degree), parse("12°", Unit::Degree));
        for wrong in [
            "3 cm", "3", "mm", "", "3 mm mm", "+3 mm", "3e2 mm", ".5 mm", "5. mm", "NaN mm", "inf mm",
            "--3 mm",
        ] {
            assert_eq!(parse(wrong, Unit::Millimetre).ok(), None, "{wrong}");
        }
    }

    #[test]
    fn what_was_probably_meant_is_offered_and_never_another_size() {
        assert_eq!(parse("3,5 mm", Unit::Millimetre), Err(Some("3.5 mm".to_owned())));
        assert_eq!(parse("3 MM", Unit::Millimetre), Err(Some("3 mm".to_owned())));
        assert_eq!(parse("45 sec", Unit::Second), Err(Some("45 s".to_owned())));
        assert_eq!(parse("10 minutes", Unit::Second), Err(Some("10 min".to_owned())));
        for no_guess in ["3 cm", "3 m", "3 km", "18 mg", "290 K", "70 F"] {
            assert_eq!(parse(no_guess, Unit::Millimetre), Err(None), "{no_guess}");
        }
        assert_eq!(parse("18 mg", Unit::Gram), Err(None));
    }

    #[test]
    fn the_shortest_text_is_written() {
        assert_eq!(write(3600.0, &ranges::HOLD_DURATION), "1 h");
        assert_eq!(write(90.0, &ranges::REMOVE_AFTER), "90 s");
        assert_eq!(write(Unit::Micrometre.to_si(40.0), &ranges::SPACER), "40 µm");
        assert_eq!(write(Unit::Millimetre.to_si(3.0), &ranges::RELIEF), "3 mm");
        assert_eq!(write(Unit::Celsius.to_si(23.1), &ranges::ROOM_TEMPERATURE), "23.1 °C");
        assert_eq!(write(Unit::Percent.to_si(57.3), &ranges::HUMIDITY), "57.3 %");
    }

    proptest! {
        /// What is written reads back to the same bits, for any number in any unit.
        #[test]
        fn prop_a_written_quantity_reads_back(number in -400.0..90_000.0f64, which in 0..Unit::ALL.len(), decimals in 0..17usize) {
            let unit = Unit::ALL[which];
            let text = format!("{number:.decimals$} {}", unit.symbol());
            let si = parse(&text, unit).unwrap();
            for &other in unit.same_dimension() {
                let range = Range { min: -1e9, max: 1e9, unit: other };
                prop_assert_eq!(parse(&write(si, &range), other), Ok(si), "{} written {}", text, write(si, &range));
            }
        }

        #[test]
        fn prop_any_text_is_read_or_refused(text in ".{0,40}", which in 0..Unit::ALL.len()) {
            if let Ok(si) = parse(&text, Unit::ALL[which]) {
                prop_assert!(si.is_finite());
            }
        }
    }
}
