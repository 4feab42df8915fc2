//! Questions for a terminal: templates, items with their keys, marks and statistics.

use std::fmt::Write as _;

use questions::analysis::TestReport;
use questions::answers::Marked;
use questions::figure::Figure;
use questions::{Asks, Body, Changed, Frozen, Item, QuestionSet, Templates, qti};

use crate::lines::{Doc, paragraph, title};

/// The letter of a place: A, B, C.
pub fn letter(place: usize) -> char {
    u8::try_from(place).ok().filter(|place| *place < 26).map_or('?', |place| char::from(b'A' + place))
}

/// The key with the letters of what is shown.
pub fn key_in_words(item: &Item) -> String {
    match &item.body {
        Body::Choice { options, key, .. } => {
            options.get(*key).map_or(String::new(), |option| format!("{}: {}", letter(*key), option.text))
        }
        Body::Order { steps, key } => {
            let place = |id: &String| steps.iter().position(|step| &step.id == id);
            let letters: Vec<String> =
                key.iter().filter_map(place).map(|place| letter(place).to_string()).collect();
            letters.join(" > ")
        }
        Body::Numeric { key, least, most, unit, digits } => {
            let digits = usize::from(*digits);
            format!("{key:.digits$} {unit}; right from {least:.digits$} to {most:.digits$}")
        }
    }
}

/// The templates.
pub fn list(templates: &Templates) -> Doc {
    let mut out = Doc::default();
    for topic in templates.topics() {
        title(&mut out, topic);
        for template in templates.list.iter().filter(|template| template.topic == topic) {
            let kind = template.asks.words().split(':').next().unwrap_or_default();
            let words = format!("{} ({}, {kind}) [{}]", template.title, template.level.word(), template.id);
            paragraph(&mut out, "  ", "    ", &words);
        }
    }
    let _ = writeln!(
        out,
        "\n{} templates. `trayward questions try ID --number N` makes one item.",
        templates.list.len()
    );
    out
}

/// One item, with its key where that is wanted.
pub fn item(frozen: &Frozen, place: usize, with_key: bool) -> Doc {
    let mut out = Doc::default();
    one(&mut out, frozen, place, with_key);
    out
}

/// What is said of an item that was read from a package.
pub const FROM_ELSEWHERE: &str =
    "Read from elsewhere: the key is that of its author, and nothing was asked of the models here.";

fn one(out: &mut Doc, frozen: &Frozen, place: usize, with_key: bool) {
    let item = &frozen.item;
    let _ = writeln!(out);
    let first = format!("{place:>3}. ");
    if item.stem.is_empty() {
        paragraph(out, &first, "     ", &item.lead_in);
    } else {
        paragraph(out, &first, "     ", &item.stem);
        paragraph(out, "     ", "     ", &item.lead_in);
    }
    match &item.body {
        Body::Choice { options, key, .. } => {
            for (place, option) in options.iter().enumerate() {
                let mark = if with_key && place == *key { "*" } else { " " };
                paragraph(out, &format!("   {mark} {}  ", letter(place)), "        ", &option.text);
            }
        }
        Body::Order { steps, .. } => {
            for (place, step) in steps.iter().enumerate() {
                paragraph(out, &format!("     {}  ", letter(place)), "        ", &step.text);
            }
        }
        Body::Numeric { unit, .. } => paragraph(out, "     ", "     ", &format!("______ {unit}")),
    }
    if with_key {
        key(out, frozen);
    }
}

fn key(out: &mut Doc, frozen: &Frozen) {
    let item = &frozen.item;
    if let Body::Choice { options, key, .. } = &item.body {
        for (place, option) in options.iter().enumerate() {
            let believed = option.misconception.as_deref().filter(|_| place != *key);
            let believed = believed.map_or(String::new(), |name| format!(" [{name}]"));
            let why = format!("{}{believed}", option.why);
            paragraph(out, &format!("     {}: ", letter(place)), "        ", &why);
        }
    } else {
        paragraph(out, "     key ", "         ", &key_in_words(item));
    }
    paragraph(out, "     why ", "         ", &item.reason);
    if let Some(words) = &item.disagreement {
        paragraph(out, "     but ", "         ", words);
    }
    match &frozen.made {
        None => paragraph(out, "     ", "     ", FROM_ELSEWHERE),
        Some(made) => {
            let asked = item.asks.map_or("", Asks::words);
            let taught = item.asks == Some(Asks::Conventional);
            let from = match taught || made.evidence.shown.is_empty() {
                true => String::new(),
                false => format!(
                    "; the key holds in {:.0} of 100 runs of the model",
                    100.0 * made.evidence.holds_in
                ),
            };
            paragraph(out, "     asks ", "         ", &format!("{asked}{from}"));
        }
    }
    if !item.rests_on.is_empty() {
        paragraph(out, "     rests on ", "         ", &item.rests_on.join(", "));
    }
}

/// A set.
pub fn set(set: &QuestionSet, with_key: bool) -> Doc {
    let mut out = Doc::default();
    title(&mut out, &format!("Set {}", set.number));
    let hash = set.parameters_hash.get(..12).unwrap_or(&set.parameters_hash);
    let words = format!("{} items; model {}, ledger {hash}", set.items.len(), set.model_version);
    paragraph(&mut out, "  ", "  ", &words);
    for (place, frozen) in set.items.iter().enumerate() {
        one(&mut out, frozen, place + 1, with_key);
    }
    if !set.wanting.is_empty() {
        title(&mut out, "Asked for and not to be had");
        for words in &set.wanting {
            paragraph(&mut out, "  ", "    ", words);
        }
    }
    out
}

/// A figure with two decimals, or why there is none.
pub fn figure(figure: &Figure) -> String {
    match figure {
        Figure::Known(value) => format!("{value:.2}"),
        Figure::Absent(why) => why.to_string(),
    }
}

fn between(interval: &Figure<[f64; 2]>) -> String {
    match interval {
        Figure::Known([low, high]) => format!(" ({low:.2} to {high:.2})"),
        Figure::Absent(_) => String::new(),
    }
}

/// What a class answered, and what that says of the items.
pub fn analysis(marked: &Marked, report: &TestReport) -> Doc {
    let mut out = Doc::default();
    title(&mut out, "Marks");
    for total in &marked.totals {
        let words = format!(
            "{:<8}{:>7.2} of {}; {} right, {} left blank",
            total.learner.as_str(),
            total.earned,
            marked.columns.len(),
            total.right,
            total.omitted
        );
        paragraph(&mut out, "  ", "    ", &words);
    }
    title(&mut out, "The test");
    let lines = [
        ("mean", figure(&report.mean)),
        ("spread", figure(&report.sd)),
        ("alpha, for right and wrong KR-20", figure(&report.alpha) + &between(&report.alpha_interval)),
        ("standard error of a total", figure(&report.standard_error)),
    ];
    for (name, words) in lines {
        paragraph(&mut out, "  ", "    ", &format!("{name}: {words}"));
    }
    title(&mut out, "Items");
    for item in &report.by_item {
        paragraph(
            &mut out,
            "  ",
            "    ",
            &format!(
                "{}: difficulty {}{}, upper less lower {}, with the rest {}",
                item.item,
                figure(&item.difficulty),
                between(&item.difficulty_interval),
                figure(&item.discrimination),
                figure(&item.with_rest)
            ),
        );
        for flag in item.flags.iter().flatten() {
            paragraph(&mut out, "      ", "      ", &format!("{}: {}", flag.figure, flag.words));
        }
    }
    out
}

/// What of a frozen set has changed.
pub fn changed(name: &str, set: &QuestionSet, changed: &[Changed], hash: &str) -> Doc {
    let mut out = Doc::default();
    title(&mut out, name);
    let elsewhere = set.items.iter().filter(|frozen| frozen.made.is_none()).count();
    if elsewhere > 0 {
        let words = format!("{elsewhere} items were read from elsewhere; their keys were not made here");
        paragraph(&mut out, "  ", "  ", &words);
    }
    if changed.is_empty() && elsewhere < set.items.len() {
        let ledger = if set.parameters_hash == hash {
            "the ledger is the same"
        } else {
            "the ledger has changed elsewhere"
        };
        let words = format!("none of {} items would come out otherwise; {ledger}", set.items.len());
        paragraph(&mut out, "  ", "  ", &words);
    }
    for one in changed {
        let first = format!("  {:>3}. ", one.place);
        paragraph(&mut out, &first, "       ", &format!("{}: {}", one.item, one.what));
    }
    out
}

/// What was read of a package.
pub fn imported(read: &qti::Read) -> Doc {
    let mut out = Doc::default();
    title(&mut out, &read.title);
    for (place, item) in read.items.iter().enumerate() {
        paragraph(
            &mut out,
            &format!("  {:>3}. ", place + 1),
            "       ",
            &format!("{} [{}]", item.lead_in, item.id),
        );
    }
    if !read.left_out.is_empty() {
        title(&mut out, "Left out");
        for words in &read.left_out {
            paragraph(&mut out, "  ", "    ", words);
        }
    }
    out
}
