//! The inspection after removal for a terminal.

use chain::statistics::Interval;
use counsel::inspection::{Inspection, Says};
use counsel::routes::Difference;
use terms::Fact;

use crate::digits;
use crate::lines::{Doc, paragraph, title};
use case_file::Case;

/// The page as text.
pub fn text(case: &Case, inspection: &Inspection) -> String {
    doc(case, inspection).text()
}

/// The same as a document.
pub fn doc(case: &Case, inspection: &Inspection) -> Doc {
    let mut out = Doc::default();
    let demo = if case.demo { "  demo" } else { "" };
    paragraph(&mut out, "", "  ", &format!("{}{demo}  {}", case.code, case.title.as_deref().unwrap_or("")));
    title(&mut out, "Inspect: under light and magnification, rinsed and dried");
    for line in &inspection.lines {
        let mark = match line.found {
            Fact::Known(true) => "  ! FOUND  ",
            Fact::Known(false) => "  · none   ",
            Fact::Unknown => "  ? look   ",
            Fact::NotApplicable => "  – n/a    ",
        };
        let means = match line.found {
            Fact::Known(true) => format!(": {}", line.means),
            _ => String::new(),
        };
        paragraph(&mut out, mark, "           ", &format!("{}{means}  [{}]", line.words, line.id));
    }
    arithmetic(&mut out, inspection);
    out
}

fn arithmetic(out: &mut Doc, inspection: &Inspection) {
    title(out, "Accept, or take another one now");
    let said = match inspection.says {
        Says::Fault => {
            "A fault was found, and no figure below counts it: unless it lies where nothing depends on it, take another one."
        }
        Says::NotYet => "Nothing has been taken out yet: the break-even is for later.",
        Says::Look => "Look first: lines above are open, and no eyes are in the chances below.",
        Says::ChangeRoute => {
            "Another one made as planned would be unlikely to serve as well: change the route first (trayward routes)."
        }
        Says::Retake => "By cost alone another impression now is the cheaper.",
        Says::Accept => "By cost alone going on is the cheaper. That is not a clearance: look first.",
        Says::CannotTell => "By cost alone the two cannot be told apart.",
    };
    paragraph(out, "  ", "  ", said);
    let unit = if inspection.in_money { "in your own money" } else { "minutes of the chair" };
    let minutes = |[low, mid, high]: [f64; 3]| match low == high {
        true => format!("{:.0} min", mid / 60.0),
        false => format!("{:.0} to {:.0} min", low / 60.0, high / 60.0),
    };
    let mut line = |name: &str, words: String| {
        paragraph(out, &format!("  {name:<22}"), "                        ", &words)
    };
    if inspection.says != Says::NotYet {
        line("does not serve", format!("{} of what is in hand", percent(&inspection.fails)));
    }
    line("another one", format!("{} does not serve, made as planned", percent(&inspection.fails_again)));
    line("takes now", format!("{} in the chair  visit/...", minutes(inspection.again_s)));
    line(
        "a remake takes",
        format!("{} in the chair  {}", minutes(inspection.remake_s), inspection.remake_key),
    );
    let [now, remake] = inspection.costs;
    let against = format!("{now:.0} now against {remake:.0}, {unit}");
    let words = match inspection.break_even.low >= 1.0 {
        true => format!("above 100 %: another one as planned never pays ({against})"),
        false => format!(
            "{}: above this chance of failure another one is the cheaper ({against})",
            percent(&inspection.break_even)
        ),
    };
    line("break-even", words);
    paragraph(
        out,
        "  ",
        "  ",
        "It knows cost alone: what is found at a margin outranks it, and so do the patient and the practitioner.",
    );
}

/// An interval of a chance that keeps to what a chance can be.
fn percent(difference: &Difference) -> String {
    let (low, high) = (difference.low.max(0.0), difference.high.min(1.0));
    match (low, high) {
        (_, high) if high < 0.01 => "below 1 %".to_owned(),
        (low, _) if low > 0.99 => "above 99 %".to_owned(),
        _ => digits::plain(Interval { low, mid: difference.mean.clamp(low, high), high }.scaled(100.0), "%"),
    }
}
