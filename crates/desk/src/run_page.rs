//! A running case for a terminal: the next step first, then what comes, what must be said, what is done.

use std::fmt::Write as _;

use chain::report::VerdictWord;
use chain::windows::DecidedBy;
use jiff::tz::TimeZone;
use terms::{Bound, Instant};

use crate::digits;
use crate::lines::{paragraph, title};
use crate::running::{End, Level, Next, Sight, Urgency, clock_span};

/// Columns.
const WIDTH: usize = 80;

/// The case as it is seen.
pub fn text(sight: &Sight, zone: &TimeZone) -> String {
    let mut out = String::new();
    let demo = if sight.demo { "  demo" } else { "" };
    let head = format!("{}{demo}  {}", sight.code, sight.title.as_deref().unwrap_or(""));
    let now = clock(sight.present, sight.present, zone);
    let room = WIDTH - now.chars().count() - 2;
    let _ = writeln!(out, "{:<room$}  {now}", shortened(&head, room));
    next(&mut out, sight, zone);
    if !sight.alerts.is_empty() {
        let _ = writeln!(out);
        for alert in &sight.alerts {
            let mark = match alert.level {
                Level::Late => "  !! ",
                Level::Warn => "  !  ",
                Level::Note => "  -  ",
            };
            paragraph(&mut out, mark, "     ", &alert.words);
        }
    }
    if !sight.later.is_empty() {
        title(&mut out, "Then");
        for later in &sight.later {
            let ends = ends(later, &Face::of(sight, zone));
            let ends = if ends.is_empty() { "no time said".to_owned() } else { ends };
            paragraph(&mut out, &format!("  {:<20}", later.words), &" ".repeat(22), &ends);
        }
    }
    done(&mut out, sight, zone);
    let assumed = if sight.mainly_assumed { ", mainly on assumed values" } else { "" };
    let words = format!(
        "{}{assumed}: trayward forecast {}. The instructions prevail.",
        usable(sight.word, sight.usable),
        sight.code
    );
    paragraph(&mut out, "\n  ", "  ", &words);
    out
}

/// Whether the result will be usable, in a sentence without its end.
pub fn usable(word: VerdictWord, chance: f64) -> String {
    let chance = digits::percent(chance);
    match word {
        VerdictWord::Likely => format!("A usable result is likely ({chance})"),
        VerdictWord::Unlikely => format!("A usable result is unlikely ({chance})"),
        VerdictWord::CannotTell => {
            format!("Whether the result will be usable cannot be told ({chance} by the figures alone)")
        }
    }
}

/// How moments are read: by the clock of the room, or from the start of mixing while nothing has begun.
pub struct Face<'a> {
    present: Instant,
    zone: &'a TimeZone,
    from: Option<Instant>,
}

impl<'a> Face<'a> {
    /// The face for a case as it is seen.
    pub fn of(sight: &Sight, zone: &'a TimeZone) -> Face<'a> {
        let from = sight.started.is_none().then_some(sight.planned_start);
        Face { present: sight.present, zone, from }
    }

    /// "09:21:40", or "5 min 10 s from the start of mixing".
    pub fn read(&self, at: Instant) -> String {
        match self.from {
            Some(from) => format!("{} from the start of mixing", digits::span(at.seconds_since(from))),
            None => clock(at, self.present, self.zone),
        }
    }
}

fn next(out: &mut String, sight: &Sight, zone: &TimeZone) {
    let Some(next) = &sight.next else {
        let _ = writeln!(out, "\n  Every step is stamped or left out.");
        return;
    };
    let spare = match (next.urgency, next.wait_s, next.to_spare_s) {
        _ if sight.started.is_none() => "when everything is laid out".to_owned(),
        (Urgency::Closed, _, Some(s)) => format!("TOO LATE by {}", clock_span(s)),
        (Urgency::NotYet, Some(s), _) => format!("not yet: wait {}", clock_span(s.ceil())),
        (Urgency::Soon, _, Some(s)) => format!("{} LEFT", clock_span(s)),
        (_, _, Some(s)) => format!("{} to spare", clock_span(s)),
        (Urgency::Open, None, None) => "now or later".to_owned(),
        _ => "no time said".to_owned(),
    };
    let words = format!("  NEXT  {}", next.words.to_uppercase());
    let room = WIDTH.saturating_sub(words.chars().count() + 2);
    let _ = writeln!(out, "\n{words}{spare:>room$}");
    for (name, end, bound) in
        [("not before", &next.opens, Bound::Minimum), ("not after", &next.closes, Bound::Maximum)]
    {
        let Some(end) = end else { continue };
        paragraph(
            out,
            &format!("        {name:<11}"),
            &" ".repeat(19),
            &one(end, bound, &Face::of(sight, zone)),
        );
    }
}

/// "09:21:40, printed; the forecast says 09:20:50 to 09:22:10".
pub fn one(end: &End, bound: Bound, face: &Face) -> String {
    let at = |moment: Instant| face.read(moment);
    let mut words = at(end.at);
    words.push_str(match end.decided_by {
        DecidedBy::Instruction => ", printed",
        DecidedBy::Forecast => ", forecast",
        DecidedBy::Nothing => "",
    });
    if let Some([low, _, high]) = end.forecast
        && end.decided_by == DecidedBy::Instruction
    {
        let (low, high) = (at(low), at(high));
        let _ = match (end.beyond_checked, low == high) {
            (true, true) => write!(words, "; the forecast goes on beyond {high}"),
            (true, false) => write!(words, "; the forecast says {low} to {high} or later"),
            (false, _) => write!(words, "; the forecast says {low} to {high}"),
        };
    }
    if let Some(printed) = end.printed
        && end.decided_by == DecidedBy::Forecast
    {
        let side = if bound == Bound::Maximum { "by" } else { "from" };
        let _ = write!(words, "; printed {side} {}", at(printed));
    }
    if end.beyond_checked && end.decided_by == DecidedBy::Forecast {
        words.push_str(" or later");
    }
    words
}

/// When a step that comes later may be done.
pub fn ends(next: &Next, face: &Face) -> String {
    let mut parts = Vec::new();
    if let Some(end) = &next.opens {
        parts.push(format!("from {}", face.read(end.at)));
    }
    if let Some(end) = &next.closes {
        let beyond =
            if end.beyond_checked && end.decided_by == DecidedBy::Forecast { " or later" } else { "" };
        parts.push(format!("by {}{beyond}", face.read(end.at)));
    }
    if next.consult_instructions && !parts.is_empty() {
        parts.push("a forecast alone: consult the instructions".to_owned());
    }
    let window = match (&next.opens, &next.closes) {
        (Some(opens), Some(closes)) if opens.at > closes.at => {
            return format!(
                "NO MOMENT: not before {}, and it must have been by {}",
                face.read(opens.at),
                face.read(closes.at)
            );
        }
        _ => "",
    };
    format!("{window}{}", parts.join(", "))
}

fn done(out: &mut String, sight: &Sight, zone: &TimeZone) {
    if sight.done.is_empty() && sight.skipped.is_empty() && sight.counts.is_empty() {
        return;
    }
    title(out, "Done");
    for done in &sight.done {
        let since = match sight.started {
            Some(started) if done.at > started => {
                format!("  +{}", clock_span(done.at.seconds_since(started)))
            }
            _ => String::new(),
        };
        let doubt = if done.doubtful { "  by the wall clock alone" } else { "" };
        let _ =
            writeln!(out, "  {:<20}{}{since}{doubt}", done.step.word(), clock(done.at, sight.present, zone));
    }
    for (step, reason) in &sight.skipped {
        paragraph(out, &format!("  {:<20}", step.word()), &" ".repeat(22), &format!("left out: {reason}"));
    }
    for balance in &sight.counts {
        let _ = writeln!(out, "  {:<20}{} in, {} out", balance.item.word(), balance.into, balance.out);
    }
    if let Some(closing) = &sight.closed {
        let signed = closing.signed.as_ref().map(|signed| format!(", signed {signed}")).unwrap_or_default();
        let _ =
            writeln!(out, "  {:<20}{}{signed}", "chair side closed", clock(closing.at, sight.present, zone));
    }
}

/// "09:21:40", with the date where that is another day.
pub fn clock(at: Instant, beside: Instant, zone: &TimeZone) -> String {
    let zoned = |at: Instant| {
        jiff::Timestamp::from_millisecond(at.millis())
            .map(|timestamp| timestamp.to_zoned_datetime(zone.clone()))
    };
    match (zoned(at), zoned(beside)) {
        (Ok(at), Ok(beside)) if at.date() == beside.date() => at.strftime("%H:%M:%S").to_string(),
        (Ok(at), _) => at.strftime("%Y-%m-%d %H:%M").to_string(),
        (Err(_), _) => "no time that a calendar has".to_owned(),
    }
}

fn shortened(text: &str, room: usize) -> String {
    match text.chars().count() <= room {
        true => text.to_owned(),
        false => text.chars().take(room.saturating_sub(1)).chain(['…']).collect(),
    }
}
