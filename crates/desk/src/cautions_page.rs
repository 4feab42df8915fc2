//! The cautions of a case for a terminal: what to ask first, what holds, and what it stands on.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use counsel::cautions::{self, Adrenaline, Affects, Fired, Level, Look, Rule, Rulebook};

use crate::lines::{Doc, paragraph, title};
use case_file::Case;

/// What a page of cautions shows.
pub struct Page<'a> {
    /// The name by which the case was asked for.
    pub name: &'a str,
    /// The case.
    pub case: &'a Case,
    /// Every rule.
    pub rulebook: &'a Rulebook,
    /// What holds and what is open.
    pub look: &'a Look<'a>,
    /// Adrenaline of the anaesthetic.
    pub adrenaline: &'a Adrenaline,
}

/// The page as text.
pub fn text(page: &Page) -> String {
    doc(page).text()
}

/// The same as a document.
pub fn doc(page: &Page) -> Doc {
    let mut out = Doc::default();
    let case = page.case;
    let demo = if case.demo { "  demo" } else { "" };
    paragraph(&mut out, "", "  ", &format!("{}{demo}  {}", case.code, case.title.as_deref().unwrap_or("")));
    level(&mut out, page, Level::Stop, "Stop: not this way before a clinician has decided otherwise");
    asks(&mut out, page, false);
    level(&mut out, page, Level::Caution, "Caution");
    asks(&mut out, page, true);
    level(&mut out, page, Level::Ask, "To ask and to count");
    level(&mut out, page, Level::Note, "Good to know");
    dose(&mut out, page);
    foot(&mut out, page);
    out
}

fn level(out: &mut Doc, page: &Page, level: Level, words: &str) {
    let fired: Vec<&Fired> = page.look.fired.iter().filter(|fired| fired.rule.level == level).collect();
    if !fired.is_empty() {
        title(out, words);
        fired.iter().for_each(|fired| one(out, fired));
    }
}

/// Facts on which stops hang, those with most stops first: before anything is done, or before the patient and the impression leave.
fn asks(out: &mut Doc, page: &Page, later: bool) {
    let mut facts: BTreeMap<&'static str, Vec<&Rule>> = BTreeMap::new();
    for open in page.look.open.iter().filter(|open| open.rule.level == Level::Stop) {
        if matches!(open.rule.affects, Affects::Leaving | Affects::Laboratory) == later {
            for fact in &open.hangs_on {
                facts.entry(fact).or_default().push(open.rule);
            }
        }
    }
    if facts.is_empty() {
        return;
    }
    let mut facts: Vec<(&str, Vec<&Rule>)> = facts.into_iter().collect();
    facts.sort_by_key(|(_, rules)| std::cmp::Reverse(rules.len()));
    title(
        out,
        if later { "Answer before anything leaves the chair" } else { "Ask first: a stop hangs on each" },
    );
    for (fact, rules) in facts {
        let words = cautions::question(fact).unwrap_or(fact);
        let ids: Vec<&str> = rules.iter().map(|rule| rule.id.as_str()).collect();
        paragraph(out, "  ? ", "    ", &format!("{words}  {fact} [{}]", ids.join(", ")));
    }
}

fn one(out: &mut Doc, fired: &Fired) {
    let rule = fired.rule;
    let mark = match rule.level {
        Level::Stop => "  × ",
        Level::Caution => "  ! ",
        Level::Note => "  - ",
        Level::Ask => "  ? ",
    };
    paragraph(out, mark, "    ", &rule.says);
    if let Some(instead) = &rule.instead {
        paragraph(out, "    ", "    ", &format!("Consider: {instead}"));
    }
    let weak = if rule.grade.is_weak() { format!(" ({})", rule.grade) } else { String::new() };
    let doubt = if rule.doubt.is_some() { "; not undisputed" } else { "" };
    let because: Vec<String> = fired.because.iter().map(|(fact, value)| format!("{fact} {value}")).collect();
    paragraph(out, "    ", "    ", &format!("[{}] {}{weak}{doubt}", rule.id, because.join(", ")));
}

fn dose(out: &mut Doc, page: &Page) {
    title(out, "Adrenaline at this visit");
    for words in &page.adrenaline.words {
        paragraph(out, "  ", "  ", words);
    }
}

fn foot(out: &mut Doc, page: &Page) {
    title(out, "What this is not");
    let count = page.rulebook.rules().len();
    let reviewed = page.rulebook.rules().iter().filter(|rule| !rule.reviewed.is_empty()).count();
    let unreviewed = match count - reviewed {
        0 => "Each has been reviewed by a clinician.".to_owned(),
        left if left == count => "They are not yet reviewed by a clinician.".to_owned(),
        left => format!("{left} of them are not yet reviewed by a clinician."),
    };
    paragraph(
        out,
        "  ",
        "  ",
        &format!(
            "No clearance: what is not listed has not been found safe. {count} rules were asked. {unreviewed} The licensed practitioner decides."
        ),
    );
    let _ = writeln!(out, "\nsource, reason and doubt of a rule: trayward source ID   all: docs/cautions.md");
    let _ = writeln!(out, "routes for this case: trayward routes {}", page.name);
}
