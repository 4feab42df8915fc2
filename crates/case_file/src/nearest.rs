//! The right word nearest to a wrong one.

/// Longer text is no misspelt word.
const MAX_CHARS: usize = 40;

/// The candidate that was probably meant: about one letter in three may differ, and case does not count.
/// A whole word that belongs to exactly one candidate will do too: "humid" is "sealed humid".
pub fn nearest<'a>(given: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let length = given.chars().count();
    // Figures are never guessed.
    if length > MAX_CHARS || !given.contains(char::is_alphabetic) {
        return None;
    }
    let given = given.to_lowercase();
    let candidates: Vec<&str> = candidates.into_iter().collect();
    let by_spelling = candidates
        .iter()
        .map(|candidate| (strsim::damerau_levenshtein(&given, &candidate.to_lowercase()), *candidate))
        .filter(|(distance, candidate)| *distance <= (length.max(candidate.chars().count()) + 1) / 3)
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, candidate)| candidate);
    by_spelling.or_else(|| {
        let mut holding =
            candidates.iter().filter(|candidate| candidate.split([' ', '_']).any(|word| word == given));
        match (holding.next(), holding.next()) {
            (Some(only), None) => Some(*only),
            _ => None,
        }
    })
}

#[cfg(test)]
mod tests {
    use super::nearest;

    #[test]
    fn near_words_are_found_and_far_ones_are_not() {
        let words = ["addition silicone", "condensation silicone", "polyether", "alginate"];
        assert_eq!(nearest("adition silicone", words), Some("addition silicone"));
        assert_eq!(nearest("Alginat", words), Some("alginate"));
        assert_eq!(nearest("silicone", words), None);
        assert_eq!(nearest("addition", words), Some("addition silicone"));
        assert_eq!(nearest("wax", words), None);
        assert_eq!(nearest("", words), None);
        assert_eq!(nearest("1:1000", ["1:50000", "1:100000"]), None);
        assert_eq!(nearest(&"a".repeat(100_000), words), None);
    }
}
