//! Disinfectants and inhibitions: the shipped rows are usable and honest, and wrong rows are refused by name.

use ledger::disinfection::{alternatives, bearing};
use ledger::{Bearing, Disinfectant, Effect, Parameters};
use terms::{Agent, Contaminant, DisinfectionMethod, Grade, ImpressionClass};

const DISINFECTION: (&str, &str) = ("disinfection.toml", include_str!("../../../data/disinfection.toml"));
const INHIBITION: (&str, &str) = ("inhibition.toml", include_str!("../../../data/inhibition.toml"));

const DISINFECTANT: &str = r#"
[[disinfectant]]
key = "disinfection/agar-quaternary-ammonium-with-alcohol-spray"
class = "agar"
agent = "quaternary ammonium with alcohol"
method = "spray"
concentration_percent = [0.1, 0.3]
contact_min_s = 600
bears_max_s = 900
note = "A note."
source = "a source"
how_read = "judged"
grade = "assumed"
"#;

const INHIBITOR: &str = r#"
[[inhibition]]
key = "inhibition/extended-storage-alginate-temporary-cement"
class = "extended-storage alginate"
contaminant = "temporary cement"
effect = "weakens it"
said = "A finding."
doubt = "A doubt."
remedy = "A remedy."
takes_likely_away = false
source = "a source"
how_read = "judged"
grade = "assumed"
"#;

fn shipped() -> Parameters {
    Parameters::read(&[DISINFECTION, INHIBITION]).expect("the shipped rows can be used")
}

fn usable(row: &&Disinfectant) -> bool {
    bearing(Some(row), None, row.contact_min_s) == Bearing::Borne
}

#[test]
fn every_class_can_be_disinfected_in_two_ways() {
    let parameters = shipped();
    for &class in ImpressionClass::ALL {
        let rows: Vec<&Disinfectant> =
            parameters.disinfectants().iter().filter(|row| row.class == class).filter(usable).collect();
        assert!(rows.len() >= 2, "{class}: {}", rows.len());
    }
}

#[test]
fn a_row_that_is_not_refused_bears_the_usual_contact() {
    for row in shipped().disinfectants() {
        assert!(row.is_refused() || usable(&row), "{}", row.key);
    }
}

#[test]
fn agar_is_never_put_into_glutaraldehyde() {
    let parameters = shipped();
    for &method in DisinfectionMethod::ALL {
        let row = parameters.disinfectant(ImpressionClass::Agar, Agent::Glutaraldehyde, method);
        assert_eq!(bearing(row, Some(600.0), 600.0), Bearing::Refused, "{method}");
    }
}

/// Glutaraldehyde is immersed in, never sprayed: whoever holds the bottle breathes it.
#[test]
fn glutaraldehyde_is_sprayed_on_nothing() {
    let parameters = shipped();
    for &class in ImpressionClass::ALL {
        let row = parameters.disinfectant(class, Agent::Glutaraldehyde, DisinfectionMethod::Spray);
        assert_eq!(bearing(row, None, 600.0), Bearing::Refused, "{class}");
    }
}

/// Oderinu et al. (2007): alginate kept its size after 10 minutes in 1 % hypochlorite, not after 20 and 30.
#[test]
fn alginate_bears_ten_minutes_of_hypochlorite_and_not_twenty() {
    let parameters = shipped();
    let (class, agent) = (ImpressionClass::Alginate, Agent::Hypochlorite);
    let row = parameters.disinfectant(class, agent, DisinfectionMethod::Immersion);
    assert_eq!(bearing(row, None, 600.0), Bearing::Borne);
    assert_eq!(bearing(row, None, 1200.0), Bearing::TooLong);
    assert_eq!(bearing(row, None, 1800.0), Bearing::TooLong);
    assert_eq!(bearing(row, None, 300.0), Bearing::TooShort);
    assert_eq!(bearing(row, Some(900.0), 600.0), Bearing::Conflict);
}

#[test]
fn a_conflict_is_answered_by_another_way_and_the_label_still_binds() {
    let parameters = shipped();
    let (class, agent) = (ImpressionClass::Alginate, Agent::Hypochlorite);
    let keys = |labelled_s| -> Vec<&str> {
        alternatives(&parameters, class, agent, DisinfectionMethod::Immersion, labelled_s)
            .iter()
            .map(|row| row.key.trim_start_matches("disinfection/alginate-"))
            .collect()
    };
    // Abstracts come before memory, and the longer margin before the shorter.
    assert_eq!(
        keys(Some(900.0)),
        ["sodium-hypochlorite-spray", "glutaraldehyde-immersion", "iodophor-immersion", "iodophor-spray"]
    );
    // The same liquid with a label of an hour cannot be sprayed either.
    assert_eq!(keys(Some(3600.0)), ["glutaraldehyde-immersion", "iodophor-immersion", "iodophor-spray"]);
}

/// An alternative is never the given way, never refused and never a contact below its label.
#[test]
fn alternatives_are_borne_and_in_order() {
    let parameters = shipped();
    for &class in ImpressionClass::ALL {
        for &agent in Agent::ALL {
            for &method in DisinfectionMethod::ALL {
                for labelled_s in [None, Some(300.0), Some(900.0), Some(1800.0), Some(1e9)] {
                    let rows = alternatives(&parameters, class, agent, method, labelled_s);
                    assert!(rows.is_sorted_by_key(|row| row.grade), "{class}");
                    for row in rows {
                        assert_eq!(row.class, class);
                        assert_ne!((row.agent, row.method), (agent, method), "{class}");
                        let label = if row.agent == agent { labelled_s } else { None };
                        assert_eq!(bearing(Some(row), label, row.needed_s(label)), Bearing::Borne);
                    }
                }
            }
        }
    }
}

#[test]
fn what_is_known_to_inhibit_is_found_by_class_and_contaminant() {
    let parameters = shipped();
    let effect = |class, contaminant| parameters.inhibition(class, contaminant).map(|row| row.effect);
    use ImpressionClass::{AdditionSilicone, Agar, CondensationSilicone, Polyether, Polysulfide};
    assert_eq!(effect(AdditionSilicone, Contaminant::ResinFilm), Some(Effect::Stops));
    assert_eq!(effect(AdditionSilicone, Contaminant::Latex), Some(Effect::MayStop));
    assert_eq!(effect(AdditionSilicone, Contaminant::AluminiumChloride), Some(Effect::Weakens));
    assert_eq!(effect(AdditionSilicone, Contaminant::FerricSulfate), Some(Effect::NoneSeen));
    assert_eq!(effect(CondensationSilicone, Contaminant::AluminiumChloride), Some(Effect::MayStop));
    assert_eq!(effect(Polyether, Contaminant::AluminiumChloride), Some(Effect::MayStop));
    assert_eq!(effect(Polyether, Contaminant::Imidazoline), Some(Effect::Weakens));
    assert_eq!(effect(Polyether, Contaminant::TemporaryCement), Some(Effect::NotKnown));
    assert_eq!(effect(Polysulfide, Contaminant::AluminiumChloride), Some(Effect::Weakens));
    assert_eq!(effect(Agar, Contaminant::Latex), None);
}

/// A judgement says that it is one; memory and reading say so too, and nothing claims more than an abstract.
#[test]
fn the_way_of_reading_fits_the_grade() {
    let parameters = shipped();
    let disinfectants = parameters.disinfectants().iter().map(|row| (&row.key, &row.how_read, row.grade));
    let inhibitions = parameters.inhibitions().iter().map(|row| (&row.key, &row.how_read, row.grade));
    for (key, how_read, grade) in disinfectants.chain(inhibitions) {
        let fits = match grade {
            Grade::Assumed => how_read.contains("judged"),
            Grade::FromMemory => how_read.contains("recalled"),
            Grade::PublishedAbstract => how_read.contains("read in"),
            Grade::Published | Grade::Standard | Grade::MeasuredHere => false,
        };
        assert!(fits, "{key} of grade \"{grade}\": {how_read}");
    }
}

#[test]
fn every_note_is_one_sentence() {
    let parameters = shipped();
    let notes = parameters.disinfectants().iter().map(|row| (&row.key, &row.note));
    let words = parameters
        .inhibitions()
        .iter()
        .flat_map(|row| [(&row.key, &row.said), (&row.key, &row.doubt), (&row.key, &row.remedy)]);
    for (key, text) in notes.chain(words) {
        let one = text.ends_with('.') && !text.trim_end_matches('.').contains(". ");
        assert!(one && text.starts_with(char::is_uppercase), "{key}: {text}");
    }
    for row in parameters.disinfectants().iter().filter(|row| row.agent == Agent::Iodophor) {
        assert!(row.note.contains("in 213 of water"), "{} does not give its dilution", row.key);
    }
}

#[test]
fn the_hash_covers_every_field() {
    let hash = |disinfectant: &str, inhibitor: &str| {
        let files = [("a.toml", disinfectant), ("b.toml", inhibitor)];
        Parameters::read(&files).expect("the rows can be used").hash().to_owned()
    };
    let none = hash("", "");
    let both = hash(DISINFECTANT, INHIBITOR);
    let mut hashes = vec![none, hash(DISINFECTANT, ""), hash("", INHIBITOR), both.clone()];
    for (from, to) in [
        ("0.3]", "0.4]"),
        ("contact_min_s = 600", "contact_min_s = 601"),
        ("bears_max_s = 900", "bears_max_s = 901"),
        ("A note.", "A nota."),
        ("a source", "b source"),
        ("judged", "recalled"),
        ("\"assumed\"", "\"published, abstract only\""),
    ] {
        hashes.push(hash(&DISINFECTANT.replace(from, to), INHIBITOR));
    }
    for (from, to) in [
        ("weakens it", "not known"),
        ("A finding.", "No finding."),
        ("A doubt.", "No doubt."),
        ("A remedy.", "No remedy."),
        ("away = false", "away = true"),
        ("a source", "b source"),
        ("judged", "recalled"),
        ("\"assumed\"", "\"published, abstract only\""),
    ] {
        hashes.push(hash(DISINFECTANT, &INHIBITOR.replace(from, to)));
    }
    let count = hashes.len();
    hashes.sort();
    hashes.dedup();
    assert_eq!(hashes.len(), count, "two of the ledgers have the same hash");
    assert_eq!(both, hash(&format!("# A comment.\n{DISINFECTANT}"), INHIBITOR));
    assert_eq!(both, hash(INHIBITOR, DISINFECTANT));
}

#[test]
fn malformed_disinfectants_are_refused_by_name() {
    let key = "disinfection/agar-quaternary-ammonium-with-alcohol-spray";
    for (from, to, expected) in [
        ("[0.1, 0.3]", "[0.0, 0.3]", "concentration_percent [0, 0.3] is not a range above 0 and up to 100"),
        ("[0.1, 0.3]", "[0.3, 0.1]", "concentration_percent [0.3, 0.1] is not a range above 0 and up to 100"),
        ("[0.1, 0.3]", "[0.1, 101]", "concentration_percent [0.1, 101] is not a range above 0 and up to 100"),
        ("[0.1, 0.3]", "[nan, 0.3]", "concentration_percent [NaN, 0.3] is not a range above 0 and up to 100"),
        ("s = 600", "s = 0", "contact_min_s of 0 s is not above 0 and up to 86400 s"),
        ("s = 600", "s = 86401", "contact_min_s of 86401 s is not above 0 and up to 86400 s"),
        ("s = 900", "s = -1", "bears_max_s of -1 s is not from 0 and up to 86400 s"),
        ("s = 900", "s = nan", "bears_max_s of NaN s is not from 0 and up to 86400 s"),
        ("s = 900", "s = inf", "bears_max_s of inf s is not from 0 and up to 86400 s"),
        ("A note.", " ", "note is empty"),
        ("a source", "", "source is empty"),
        ("\"judged\"", "\"\"", "how_read is empty"),
        (
            "\"spray\"",
            "\"immersion\"",
            "its content makes the key \"disinfection/agar-quaternary-ammonium-with-alcohol-immersion\"",
        ),
    ] {
        let error = Parameters::read(&[("a.toml", &DISINFECTANT.replace(from, to))]).unwrap_err();
        assert_eq!(error.to_string(), format!("a.toml: {key}: {expected}"));
    }
    let twice = Parameters::read(&[("a.toml", DISINFECTANT), ("b.toml", DISINFECTANT)]).unwrap_err();
    assert_eq!(twice.to_string(), format!("b.toml: {key}: given twice"));
}

#[test]
fn malformed_inhibitions_are_refused_by_name() {
    let key = "inhibition/extended-storage-alginate-temporary-cement";
    for (from, to, expected) in [
        ("A finding.", "", "said is empty"),
        ("A doubt.", " ", "doubt is empty"),
        ("A remedy.", "", "remedy is empty"),
        ("a source", "", "source is empty"),
        ("\"judged\"", "\"\"", "how_read is empty"),
        (
            "weakens it",
            "keeps it from setting",
            "takes_likely_away = false does not fit \"keeps it from setting\"",
        ),
        (
            "\"temporary cement\"",
            "\"latex\"",
            "its content makes the key \"inhibition/extended-storage-alginate-latex\"",
        ),
    ] {
        let error = Parameters::read(&[("a.toml", &INHIBITOR.replace(from, to))]).unwrap_err();
        assert_eq!(error.to_string(), format!("a.toml: {key}: {expected}"));
    }
    let harmless = INHIBITOR.replace("weakens it", "no effect seen").replace("away = false", "away = true");
    let error = Parameters::read(&[("a.toml", &harmless)]).unwrap_err();
    assert_eq!(
        error.to_string(),
        format!("a.toml: {key}: takes_likely_away = true does not fit \"no effect seen\"")
    );
    let twice = Parameters::read(&[("a.toml", INHIBITOR), ("b.toml", INHIBITOR)]).unwrap_err();
    assert_eq!(twice.to_string(), format!("b.toml: {key}: given twice"));
}

#[test]
fn a_word_that_is_not_in_the_list_is_named_with_the_list() {
    for (text, from, to, expected) in [
        (DISINFECTANT, "\"spray\"", "\"wipe\"", "unknown variant `wipe`, expected `spray` or `immersion`"),
        (
            INHIBITOR,
            "weakens it",
            "harmless",
            "unknown variant `harmless`, expected one of `keeps it from setting`, `may keep it from setting`, \
             `weakens it`, `no effect seen`, `not known`",
        ),
        (INHIBITOR, "remedy =", "cure =", "unknown field `cure`"),
    ] {
        let error = Parameters::read(&[("a.toml", &text.replace(from, to))]).unwrap_err().to_string();
        assert!(error.starts_with("a.toml: ") && error.contains(expected), "{error}");
    }
}
