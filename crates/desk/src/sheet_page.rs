//! The laboratory sheet for a terminal.

use std::fmt::Write as _;

use chain::windows::{DecidedBy, Edge, Window};
use counsel::cautions::Level;
use counsel::sheet::{Arrived, LabSheet};
use jiff::tz::TimeZone;
use terms::{Action, Bound, Fact, Instant, Step};

use crate::digits;
use crate::lines::{Doc, paragraph, title};
use case_file::Case;

/// What a page is made of.
pub struct SheetPage<'a> {
    /// The name by which the case was asked for.
    pub name: &'a str,
    /// The case.
    pub case: &'a Case,
    /// The sheet.
    pub sheet: &'a LabSheet,
    /// Zone of the clocks.
    pub zone: &'a TimeZone,
}

/// The sheet as text.
pub fn text(page: &SheetPage) -> String {
    doc(page).text()
}

/// The same as a document.
pub fn doc(page: &SheetPage) -> Doc {
    let SheetPage { case, sheet, .. } = page;
    let mut out = Doc::default();
    let demo = if case.demo { "  demo" } else { "" };
    paragraph(&mut out, "", "  ", &format!("{}{demo}  for the laboratory: {}", case.code, sheet.purpose));
    let teeth = match sheet.teeth.is_empty() {
        true => "prepared teeth: not said".to_owned(),
        false => format!("prepared teeth (ISO 3950): {}", sheet.teeth.join(", ")),
    };
    paragraph(&mut out, "  ", "  ", &teeth);
    pour(&mut out, page);
    materials(&mut out, page);
    disinfection(&mut out, page);
    moments(&mut out, page);
    limits(&mut out, sheet);
    cautions(&mut out, sheet);
    checks(&mut out, sheet);
    paragraph(
        &mut out,
        "\n  ",
        "  ",
        "What is printed on the products prevails, and local rules on infection control and custom-made devices. No name of a patient \
         belongs on this sheet.",
    );
    let _ = writeln!(out, "\n  sent __________  signed __________   received __________  signed __________");
    out
}

fn line(out: &mut Doc, name: &str, words: &str) {
    paragraph(out, &format!("  {name:<19}"), &" ".repeat(21), words);
}

fn pour(out: &mut Doc, page: &SheetPage) {
    title(out, "Pour");
    let sheet = page.sheet;
    for window in &sheet.windows {
        match window.action {
            Action::Pour => {
                edge(out, page, "not before", window, &window.opens);
                edge(out, page, "NOT AFTER", window, &window.closes);
                if let (Some(opens_s), Some(closes_s)) = (window.opens.binding_s, window.closes.binding_s)
                    && opens_s > closes_s
                {
                    line(
                        out,
                        "",
                        "THERE IS NO TIME TO POUR: it opens only after it has closed. Ask the clinic.",
                    );
                }
            }
            _ => edge(out, page, "separate from", window, &window.opens),
        }
    }
    let plural = if sheet.casts == 1 { "cast" } else { "casts" };
    line(out, "asked for", &format!("{} {plural}", sheet.casts));
    if let Some(second) = &sheet.second_pour {
        for note in &second.notes {
            line(out, "second pour", &note.words);
        }
    }
}

fn edge(out: &mut Doc, page: &SheetPage, name: &str, window: &Window, edge: &Edge) {
    let sheet = page.sheet;
    let key = format!(
        "window.{}.{}",
        window.action.word(),
        if std::ptr::eq(edge, &window.opens) { "opens" } else { "closes" }
    );
    let Some(binding_s) = edge.binding_s else {
        line(out, name, &format!("nothing says: consult the instructions ({})", edge.reason));
        return;
    };
    let since = if window.action == Action::Pour { Step::Removed } else { Step::Poured };
    let mut words = match sheet.moments.iter().find(|moment| moment.step == since) {
        // Without a stamp there is no clock to read it on.
        Some(moment) if !stamped(sheet) => {
            let from = moment.at.map_or(0.0, |at| at.seconds_since(sheet.start));
            let seconds = (binding_s - from).max(0.0);
            // A forecast is rounded to the careful side, a print stands as it is printed.
            let span = match (edge.decided_by, edge.forecast_s) {
                (DecidedBy::Forecast, Some(interval)) => {
                    let half = 0.5 * (interval.high - interval.low);
                    digits::careful_span(seconds, half, edge.bound == Bound::Minimum)
                }
                _ => digits::span(seconds),
            };
            format!("{span} from {}", word(since))
        }
        _ => clock(sheet.start.plus_seconds(binding_s), page.zone),
    };
    // Without a print the forecast is no permission: what is taught stands before it.
    if edge.instructed.is_empty() && !edge.taught.is_empty() {
        let taught: Vec<&str> = edge.taught.iter().map(|rule| rule.rule.trim_end_matches('.')).collect();
        line(out, name, &format!("NO INSTRUCTION IS ENTERED: consult it. Taught: {}", taught.join("; ")));
        line(out, "", &format!("{words} by the forecast alone, which is no permission  {key}"));
        return;
    }
    words.push_str(match edge.decided_by {
        DecidedBy::Instruction => "  as printed",
        DecidedBy::Forecast if edge.instructed.is_empty() => {
            "  forecast; no instruction is entered, consult it"
        }
        DecidedBy::Forecast => "  forecast, stricter than printed",
        DecidedBy::Nothing => "",
    });
    for limit in &edge.instructed {
        let _ = write!(
            words,
            "; printed: {} from {} ({})",
            digits::span(limit.seconds),
            limit.origin.word(),
            limit.product
        );
    }
    if window.stamped {
        words.push_str("; done");
    }
    let _ = write!(words, "  {key}");
    line(out, name, &words);
}

fn stamped(sheet: &LabSheet) -> bool {
    sheet.moments.iter().any(|moment| moment.stamped)
}

fn word(since: Step) -> &'static str {
    if since == Step::Removed { "removal" } else { "pouring" }
}

fn materials(out: &mut Doc, page: &SheetPage) {
    let sheet = page.sheet;
    title(out, "Of what");
    line(out, "technique", sheet.technique.word());
    let (kind, material, adhesive) = sheet.tray;
    let adhesive = match adhesive {
        Fact::Known(true) => "adhesive",
        Fact::Known(false) => "no adhesive",
        Fact::Unknown => "adhesive not known",
        Fact::NotApplicable => "",
    };
    line(out, "tray", &format!("{kind}, {material}, {adhesive}"));
    for used in &sheet.materials {
        let product = used.product.as_deref().unwrap_or("product not said");
        let lot = used.lot.as_ref().map_or("lot not written down".to_owned(), |lot| format!("lot {lot}"));
        line(out, used.part, &format!("{}: {product}, {lot}", used.class));
    }
    let (stated, printed, key) = &sheet.stone_ratio;
    let stated = match stated {
        Some(ratio) => format!("{:.1} g of water to 100 g asked for; ", 100.0 * ratio),
        None => String::new(),
    };
    line(
        out,
        "water of the stone",
        &format!("{stated}printed or usual {:.1} g to 100 g  {key}", 100.0 * printed),
    );
}

fn disinfection(out: &mut Doc, page: &SheetPage) {
    let sheet = page.sheet;
    title(out, "Disinfected and kept");
    if sheet.disinfection.is_empty() {
        let words = match sheet.disinfectant_planned {
            Fact::Known(false) => {
                "NOT DISINFECTED: treat as infectious. Rinse, disinfect, rinse, write it down."
            }
            _ => "NOT KNOWN: treat as not disinfected, and ask.",
        };
        line(out, "disinfection", words);
    }
    for done in &sheet.disinfection {
        let agent = done.agent.unwrap_or("agent NOT KNOWN: treat as not disinfected");
        let strength = done.concentration.map_or(", concentration not said".to_owned(), |share| {
            format!(" {} %", digits::write(100.0 * share, 0.01).trim_end_matches('0').trim_end_matches('.'))
        });
        let label = match done.labelled_contact_s {
            Some(s) => format!("label: at least {}", digits::span(s)),
            None => "label not entered: consult it".to_owned(),
        };
        let key = done.key.as_deref().unwrap_or("");
        line(
            out,
            "planned",
            &format!(
                "{agent}{strength}, {}, for {}; {label}  {key}",
                done.method,
                digits::span(done.planned_contact_s)
            ),
        );
        if done.stands_in_the_way {
            line(out, "", &format!("CANNOT STAY SO: {}", done.words));
        }
        line(out, "", "[ ] done for the whole time, rinsed   at ________  by ________");
    }
    for kept in &sheet.holding {
        line(out, "kept", &format!("{}, {}", kept.kind, digits::span(kept.planned_s)));
    }
    if sheet.holding.is_empty() {
        line(out, "kept", "not said");
    }
}

fn moments(out: &mut Doc, page: &SheetPage) {
    title(out, "When");
    let stamped = stamped(page.sheet);
    if !stamped {
        line(out, "", "Planned: nothing has been stamped.");
    }
    for moment in &page.sheet.moments {
        let words = match (moment.at, moment.stamped) {
            (Some(at), true) => clock(at, page.zone),
            (Some(at), false) if stamped => format!("planned {}", clock(at, page.zone)),
            (Some(at), false) => {
                format!(
                    "planned, {} after the start of mixing",
                    digits::span(at.seconds_since(page.sheet.start))
                )
            }
            (None, _) => "not known".to_owned(),
        };
        let opens_s = page.sheet.windows.iter().find(|window| window.action == Action::Pour);
        let opens_s = opens_s.and_then(|window| window.opens.binding_s);
        let early = match (moment.at, opens_s) {
            (Some(at), Some(opens_s)) if moment.step == Step::Poured => {
                at.seconds_since(page.sheet.start) < opens_s - 0.5
            }
            _ => false,
        };
        let words = if early { format!("{words}; TOO EARLY, see above") } else { words };
        line(out, moment.step.word(), &words);
    }
}

fn limits(out: &mut Doc, sheet: &LabSheet) {
    title(out, "Limits in use");
    for limit in &sheet.limits {
        let value = match limit.si_unit {
            "m" => format!("{:.0} µm", limit.value * 1e6),
            _ => format!("{:.2} %", limit.value * 100.0),
        };
        line(out, "at most", &format!("{}: {value}  {}", limit.words, limit.key));
    }
}

fn cautions(out: &mut Doc, sheet: &LabSheet) {
    if sheet.cautions.is_empty() {
        return;
    }
    title(out, "Cautions for the bench");
    for caution in &sheet.cautions {
        let mark = match (caution.level, caution.open) {
            (Level::Stop, false) => "  STOP ",
            (Level::Stop, true) => "  ASK  ",
            _ => "  -    ",
        };
        let instead = caution.instead.as_ref().map(|instead| format!(" {instead}")).unwrap_or_default();
        let open = if caution.open { "Not answered; if so: " } else { "" };
        paragraph(out, mark, "       ", &format!("{open}{}{instead}  [{}]", caution.says, caution.id));
    }
}

fn checks(out: &mut Doc, sheet: &LabSheet) {
    for (of, words) in [(Arrived::Impression, "On receipt, in this order"), (Arrived::Cast, "On the cast")] {
        title(out, words);
        for check in sheet.checks.iter().filter(|check| check.of == of) {
            paragraph(out, "  [ ] ", "      ", &check.says);
            paragraph(out, "      else: ", "      ", &check.if_not);
        }
    }
}

fn clock(at: Instant, zone: &TimeZone) -> String {
    match jiff::Timestamp::from_millisecond(at.millis()) {
        Ok(timestamp) => timestamp.to_zoned_datetime(zone.clone()).strftime("%F %H:%M UTC%:z").to_string(),
        Err(_) => "no time that a calendar has".to_owned(),
    }
}
