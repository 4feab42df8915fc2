//! Values in which letters stand for the conditions of a map: `{x} °C`, `{x-5} °C`, `{y*18} g`.

use case_file::{Case, change};

/// A case with fields set to values in which letters stand for what `of` says of them. What is set twice is set as the last says.
///
/// # Errors
/// A place that nothing fills; what the case file refuses, with its field.
pub fn stated<'a>(
    case: &Case,
    sets: impl IntoIterator<Item = &'a (String, String)>,
    of: &[(&str, &str)],
) -> Result<Case, String> {
    let mut all: Vec<(&str, String)> = Vec::new();
    for (path, written) in sets {
        all.retain(|(set, _)| set != path);
        let value = fill(written, of)
            .ok_or_else(|| format!("{path}: \"{written}\" has a place that nothing fills"))?;
        all.push((path, value));
    }
    let all: Vec<(&str, &str)> = all.iter().map(|(path, value)| (*path, value.as_str())).collect();
    change::with(case, &all).map_err(|problems| problems.to_string())
}

/// The text with its places filled; none when a place is not a letter, or a letter with one of `+`, `-`, `*`, `/` and a number.
pub fn fill(written: &str, of: &[(&str, &str)]) -> Option<String> {
    let mut filled = String::new();
    let mut rest = written;
    while let Some((before, after)) = rest.split_once('{') {
        let (place, after) = after.split_once('}')?;
        filled.push_str(before);
        filled.push_str(&value(place, of)?);
        rest = after;
    }
    filled.push_str(rest);
    Some(filled)
}

/// Whether a place of the text is this letter, alone or with a sign and a number.
pub fn has(written: &str, letter: &str) -> bool {
    let places = written.split('{').skip(1).filter_map(|rest| rest.split_once('}'));
    places
        .into_iter()
        .any(|(place, _)| place.split(['+', '-', '*', '/']).next().map(str::trim) == Some(letter))
}

fn value(place: &str, of: &[(&str, &str)]) -> Option<String> {
    let at = place.find(['+', '-', '*', '/']).unwrap_or(place.len());
    let (name, rest) = place.split_at(at);
    let (_, value) = of.iter().find(|(known, _)| *known == name.trim())?;
    let mut rest = rest.chars();
    let Some(sign) = rest.next() else { return Some((*value).to_owned()) };
    let value: f64 = value.parse().ok()?;
    let by: f64 = rest.as_str().trim().parse().ok()?;
    Some(number(match sign {
        '+' => value + by,
        '-' => value - by,
        '*' => value * by,
        _ => value / by,
    }))
}

/// Nine digits: more than any field is given with, fewer than a sum shows of its rounding.
pub fn number(value: f64) -> String {
    let text = format!("{value:.9}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_are_filled() {
        let of = [("x", "21"), ("y", "0.1"), ("z1", "heavy body")];
        assert_eq!(fill("{z1}", &of).as_deref(), Some("heavy body"));
        assert_eq!(fill("{z1+2}", &of), None);
        assert_eq!(fill("{x} °C", &of).as_deref(), Some("21 °C"));
        assert_eq!(fill("{x-5} °C", &of).as_deref(), Some("16 °C"));
        assert_eq!(fill("{y*18} g", &of).as_deref(), Some("1.8 g"));
        assert_eq!(fill("still", &of).as_deref(), Some("still"));
        assert_eq!(fill("{z} g", &of), None);
        assert_eq!(fill("{x^2} g", &of), None);
    }
}
