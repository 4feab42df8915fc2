//! What was found after pouring, and what it does to the chance of a usable result, for a terminal.

use chain::report::VerdictWord;
use counsel::result::{Chance, Next, Outcome};
use ledger::Parameters;

use crate::digits;
use crate::lines::{Doc, paragraph, title};
use case_file::Case;

/// The page.
pub fn text(name: &str, case: &Case, outcome: &Outcome, parameters: &Parameters) -> String {
    doc(name, case, outcome, parameters).text()
}

/// The same as a document.
pub fn doc(name: &str, case: &Case, outcome: &Outcome, parameters: &Parameters) -> Doc {
    let mut out = Doc::default();
    let demo = if case.demo { "  demo" } else { "" };
    paragraph(&mut out, "", "  ", &format!("{}{demo}  {}", case.code, case.title.as_deref().unwrap_or("")));
    title(&mut out, "A usable result");
    line(&mut out, "before pouring", &chance(&outcome.before));
    if !outcome.each.is_empty() {
        let words = match outcome.next {
            // A figure beside a plain sign would be read as an answer.
            Next::Sign => "no figure: a plain sign was found, and it outweighs the figures".to_owned(),
            _ => chance(&outcome.after),
        };
        line(&mut out, "with what was found", &words);
    }
    let (effective, too_few) = outcome.effective_samples;
    if too_few {
        line(
            &mut out,
            "",
            &format!(
                "the findings contradict each other or the models (some {effective:.0} samples agree): they are left out"
            ),
        );
    }
    if !outcome.each.is_empty() {
        title(&mut out, "What each finding alone does");
        for effect in &outcome.each {
            let from = outcome.before.usable.value;
            let way = match effect.usable - from {
                change if change.abs() < 0.005 => "changes nothing to speak of".to_owned(),
                change => format!(
                    "{} to {}",
                    if change > 0.0 { "up" } else { "down" },
                    digits::percent(effect.usable)
                ),
            };
            paragraph(
                &mut out,
                "  - ",
                "    ",
                &format!("{}: {way}  {}", effect.words, effect.keys.join(", ")),
            );
        }
    }
    if !outcome.goes_back.is_empty() {
        title(&mut out, "Back to the step and the lot");
        for back in &outcome.goes_back {
            let product =
                back.product.as_ref().and_then(|id| parameters.product(id)).map(|record| record.name.clone());
            let lot = match (&product, &back.lot) {
                (Some(product), Some(lot)) => format!(" ({product}, lot {lot})"),
                (Some(product), None) => format!(" ({product}, lot not written down)"),
                _ => String::new(),
            };
            paragraph(&mut out, "  - ", "    ", &format!("{}{lot}: {}", back.link, back.why));
        }
    }
    title(&mut out, "Next");
    let words = match outcome.next {
        Next::Look => {
            "Look first: nothing has been found or looked at since the stone was poured.".to_owned()
        }
        Next::PourAgain => {
            let chance = outcome.second_die.map(digits::percent).unwrap_or_default();
            format!(
                "Pour again from the same impression, after its rest: the stone is at fault, and a second die would serve with a chance of {chance}."
            )
        }
        Next::TakeAgain => "Take another impression: what is missing was not in this one.".to_owned(),
        Next::ReadAgain => {
            "Measure and look again, by somebody else if possible: the findings do not go together."
                .to_owned()
        }
        Next::FindTheCause => {
            "Unlikely to serve: find the cause before anything is ground in or remade.".to_owned()
        }
        Next::Sign => {
            "A plain sign was found, and it outweighs the figures: find its cause before anything is cemented, ground in or remade."
                .to_owned()
        }
        Next::GoOn => "Nothing that was found speaks against going on. That is not a clearance.".to_owned(),
    };
    paragraph(&mut out, "  ", "  ", &words);
    if !outcome.asks.is_empty() {
        title(&mut out, "Not looked at yet, which is not \"no\"");
        for ask in &outcome.asks {
            paragraph(&mut out, "  ? ", "    ", ask);
        }
    }
    paragraph(
        &mut out,
        "\n  ",
        "  ",
        &format!(
            "The true size of the tooth is not known: findings change what is likely and prove nothing. What a finding is worth is judged \
             (trayward source after/open_margin). The whole case: trayward forecast {name}."
        ),
    );
    out
}

fn line(out: &mut Doc, name: &str, words: &str) {
    paragraph(out, &format!("  {name:<22}"), &" ".repeat(24), words);
}

fn chance(chance: &Chance) -> String {
    let word = match chance.word {
        VerdictWord::Likely => "likely",
        VerdictWord::Unlikely => "unlikely",
        VerdictWord::CannotTell => "cannot tell",
    };
    let assumed = if chance.mainly_assumed { ", mainly on assumed values" } else { "" };
    format!("{word}, {}{assumed}", digits::percent(chance.usable.value))
}
