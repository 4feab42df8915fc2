//! What is seen of a running case: the next step with the seconds to spare, what comes after it, and what must be said in time.

use chain::Forecast;
use chain::report::VerdictWord;
use chain::windows::{DecidedBy, Edge, Window, WindowState};
use records::{Balance, Closing, Doubt, Unheard};
use terms::{Action, Bound, ImpressionClass, Instant, Reading, Step};

use super::session::{Session, Stops};

/// How soon before its end a window is called, s: time to finish what hands are doing, or to mix stone. Common practice.
const fn lead_of(action: Action) -> f64 {
    match action {
        Action::Mix | Action::Seat => 20.0,
        Action::Remove => 30.0,
        Action::Pour => 600.0,
        Action::Separate => 600.0,
    }
}

/// How soon before the end of its window a step is called, s.
pub fn lead_s(step: Step) -> f64 {
    action(step).map_or(0.0, lead_of)
}

/// Where the present lies in a window.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Urgency {
    /// It has not opened.
    NotYet,
    /// It is open.
    Open,
    /// It closes soon.
    Soon,
    /// It has closed.
    Closed,
    /// Neither forecast nor instruction says when.
    NotSaid,
}

/// One end of a window on the clock of the room.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct End {
    /// The end that binds.
    pub at: Instant,
    /// What decided it.
    pub decided_by: DecidedBy,
    /// The strictest printed limit.
    pub printed: Option<Instant>,
    /// The forecast: early, middle and late.
    pub forecast: Option<[Instant; 3]>,
    /// The forecast lies beyond what was followed.
    pub beyond_checked: bool,
    /// Key of its pedigree.
    pub key: String,
}

/// A step that is to come.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Next {
    /// Step.
    pub step: Step,
    /// What it is, in an order of a few words.
    pub words: &'static str,
    /// Not before.
    pub opens: Option<End>,
    /// Not after.
    pub closes: Option<End>,
    /// Until it may be done, s; none when it may, or nothing says.
    pub wait_s: Option<f64>,
    /// Until it must have been done, s, negative when it is too late; none when nothing says.
    pub to_spare_s: Option<f64>,
    /// Where the present lies.
    pub urgency: Urgency,
    /// No product instruction is entered for it.
    pub consult_instructions: bool,
}

/// A step that is done.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Done {
    /// Step.
    pub step: Step,
    /// When.
    pub at: Instant,
    /// Whether its moment is to be doubted.
    pub doubtful: bool,
}

/// How loud.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Level {
    /// It is too late, or something is wrong.
    Late,
    /// It is time.
    Warn,
    /// To know.
    Note,
}

/// Something that must be said.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Alert {
    /// How loud.
    pub level: Level,
    /// What.
    pub words: String,
}

/// A running case as it is seen at a moment.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Sight {
    /// Code.
    pub code: String,
    /// A line that says what it is about.
    pub title: Option<String>,
    /// Invented.
    pub demo: bool,
    /// The moment.
    pub present: Instant,
    /// The start of mixing, once stamped.
    pub started: Option<Instant>,
    /// The start of mixing that moments are counted from while nothing is stamped: that of the forecast.
    pub planned_start: Instant,
    /// The next step; none when all is done.
    pub next: Option<Next>,
    /// The steps after it.
    pub later: Vec<Next>,
    /// What is done.
    pub done: Vec<Done>,
    /// What was left out, and why.
    pub skipped: Vec<(Step, String)>,
    /// Counts.
    pub counts: Vec<Balance>,
    /// The closing of the chair side.
    pub closed: Option<Closing>,
    /// What must be said, the loudest first.
    pub alerts: Vec<Alert>,
    /// The word of the verdict.
    pub word: VerdictWord,
    /// Probability of a usable result.
    pub usable: f64,
    /// Whether it rests mainly on assumed values.
    pub mainly_assumed: bool,
    /// Entries that do not count.
    pub unheard: Vec<Unheard>,
}

/// What is seen at `present`, with the forecast that was made last.
pub fn sight(
    session: &Session,
    forecast: &Forecast,
    present: Instant,
    doubt: Option<Doubt>,
    stops: &Stops,
) -> Sight {
    let running = session.running();
    let next_step = running.next_step();
    let to_come = |step: Step| coming(session, forecast, step, present);
    let next = next_step.map(to_come);
    let later: Vec<Next> = Step::ALL
        .iter()
        .copied()
        .filter(|step| next_step.is_some_and(|next| *step > next))
        .filter(|step| !running.skipped.iter().any(|(skipped, _)| skipped == step))
        .map(to_come)
        .collect();
    let mut sight = Sight {
        code: session.code().as_str().to_owned(),
        title: session.case().title.clone(),
        demo: session.case().demo,
        present,
        started: running.stamp_of(Step::MixStarted).map(|kept| kept.stamp.at),
        planned_start: forecast.start,
        next,
        later,
        done: running
            .stamps
            .iter()
            .map(|kept| Done { step: kept.stamp.step, at: kept.stamp.at, doubtful: kept.doubt.is_some() })
            .collect(),
        skipped: running.skipped.iter().map(|(step, reason)| (*step, reason.reason.clone())).collect(),
        counts: running.balances(),
        closed: running.closed.clone(),
        alerts: Vec::new(),
        word: forecast.verdict.word,
        usable: forecast.verdict.usable.value,
        mainly_assumed: forecast.verdict.mainly_assumed,
        unheard: running.unheard.clone(),
    };
    sight.alerts = alerts(session, forecast, &sight, doubt, stops);
    sight
}

fn action(step: Step) -> Option<Action> {
    match step {
        Step::MixStarted => None,
        Step::Seated => Some(Action::Seat),
        Step::Removed => Some(Action::Remove),
        Step::Poured => Some(Action::Pour),
        Step::Separated => Some(Action::Separate),
    }
}

fn words(step: Step, class: ImpressionClass) -> &'static str {
    match step {
        Step::MixStarted if class == ImpressionClass::Agar => "take the agar out of its bath",
        Step::MixStarted => "begin to mix",
        Step::Seated => "seat the tray",
        Step::Removed => "take it out",
        Step::Poured => "pour the stone",
        Step::Separated => "separate the cast",
    }
}

fn coming(session: &Session, forecast: &Forecast, step: Step, present: Instant) -> Next {
    let window = action(step).and_then(|action| forecast.window(action));
    let opens = window.and_then(|window| end(forecast, window, &window.opens));
    let closes = window.and_then(|window| end(forecast, window, &window.closes));
    let wait_s = opens.as_ref().map(|end| end.at.seconds_since(present)).filter(|s| *s > 0.0);
    let to_spare_s = closes.as_ref().map(|end| end.at.seconds_since(present));
    let lead_s = action(step).map_or(0.0, lead_of);
    let urgency = match (wait_s, to_spare_s) {
        (_, Some(s)) if s < 0.0 => Urgency::Closed,
        (Some(_), _) => Urgency::NotYet,
        (None, Some(s)) if s <= lead_s => Urgency::Soon,
        (None, None) if opens.is_none() => Urgency::NotSaid,
        _ => Urgency::Open,
    };
    Next {
        step,
        words: words(step, session.case().route.material.class),
        opens,
        closes,
        wait_s,
        to_spare_s,
        urgency,
        consult_instructions: window.is_some_and(|window| window.state == WindowState::ConsultInstructions),
    }
}

fn end(forecast: &Forecast, window: &Window, edge: &Edge) -> Option<End> {
    let at = |s: f64| forecast.start.plus_seconds(s);
    let origin_s = forecast.origin_s(edge.origin);
    let strictest = match edge.bound {
        Bound::Minimum => f64::max,
        Bound::Maximum => f64::min,
    };
    let side = match edge.bound {
        Bound::Minimum => "opens",
        Bound::Maximum => "closes",
    };
    edge.binding_s.map(|binding_s| End {
        at: at(binding_s),
        decided_by: edge.decided_by,
        printed: edge.instructed.iter().map(|limit| limit.at_s).reduce(strictest).map(at),
        forecast: edge.forecast_s.map(|s| [s.low, s.mid, s.high].map(|s| at(origin_s + s))),
        beyond_checked: edge.beyond_checked,
        key: format!("window.{}.{side}", window.action.word()),
    })
}

fn alerts(
    session: &Session,
    forecast: &Forecast,
    sight: &Sight,
    doubt: Option<Doubt>,
    stops: &Stops,
) -> Vec<Alert> {
    let mut alerts = Vec::new();
    let mut say = |level, words: String| alerts.push(Alert { level, words });
    let running = session.running();
    let unkept = session.unkept().len();
    if unkept > 0 {
        say(
            Level::Late,
            format!(
                "NOT KEPT YET: {unkept} of what was done; it is tried again all the time, leave this open"
            ),
        );
    }
    if let Some(next) = &sight.next
        && sight.started.is_some()
    {
        let minutes = |s: f64| clock_span(s.abs());
        match (next.urgency, next.to_spare_s) {
            (Urgency::Closed, Some(s)) => {
                let end = action(next.step).map(|action| format!("window.{}.closes", action.word()));
                let overruled = running.overruled.iter().find(|reason| Some(&reason.what) == end.as_ref());
                if let Some(reason) = overruled {
                    say(Level::Warn, format!("overruled: {}, because {}", reason.what, reason.reason));
                }
                say(Level::Late, format!("too late to {}: its window closed {} ago", next.words, minutes(s)));
            }
            (Urgency::Soon, Some(s)) => {
                say(Level::Warn, format!("{}: {} left", next.words, minutes(s)));
            }
            _ => {}
        }
        if action(next.step)
            .and_then(|action| forecast.window(action))
            .is_some_and(|window| window.state == WindowState::NoWindow)
        {
            say(
                Level::Late,
                format!("there is no moment to {}: it may be begun only after it must have been", next.words),
            );
        }
        if next.consult_instructions {
            let window = action(next.step).and_then(|action| forecast.window(action));
            let taught: Vec<String> = window
                .into_iter()
                .flat_map(|window| [&window.opens, &window.closes])
                .flat_map(|edge| &edge.taught)
                .map(|rule| rule.rule.trim_end_matches('.').to_owned())
                .collect();
            let taught = match taught.is_empty() {
                true => String::new(),
                false => format!(". Taught: {}", taught.join("; ")),
            };
            say(
                Level::Warn,
                format!(
                    "no instruction is entered for this step ({}): consult it; what is shown is a forecast alone{taught}",
                    next.words
                ),
            );
        }
    }
    for window in forecast.windows.iter().filter(|window| window.stamped) {
        let (Some(at_s), Some(opens_s)) = (window.planned_s, window.opens.binding_s) else { continue };
        if at_s < opens_s - 0.5 && matches!(window.action, Action::Remove | Action::Pour) {
            let (done, then) = match window.action {
                Action::Remove => ("taken out", "take another impression unless it has set throughout"),
                _ => ("poured", "look at the die before anything is made on it"),
            };
            let early = clock_span(opens_s - at_s);
            say(Level::Late, format!("{done} {early} before its window opened: {then}"));
        }
    }
    for (rule, says) in &stops.holding {
        match running.overruled.iter().find(|reason| reason.what == *rule) {
            Some(reason) => say(Level::Warn, format!("overruled: {rule}, because {}", reason.reason)),
            None => say(Level::Late, format!("stop, {rule}: {says}")),
        }
    }
    if stops.open > 0 {
        let question = if stops.open == 1 { "question" } else { "questions" };
        say(
            Level::Warn,
            format!("{} unanswered {question} could stop this: trayward cautions {}", stops.open, sight.code),
        );
    }
    let open = running.differences();
    let out_of_the_mouth = running.stamp_of(Step::Removed).is_some();
    for balance in &open {
        let more_out = balance.out > balance.into;
        let level = if out_of_the_mouth || more_out { Level::Warn } else { Level::Note };
        say(level, format!("{}: {} in, {} out", balance.item, balance.into, balance.out));
    }
    if let Some(closing) = &sight.closed
        && let Some(recall) = &closing.recall
    {
        say(Level::Warn, format!("closed with a difference in the counts; recall: {recall}"));
    }
    let stamped = |step: Step| running.stamp_of(step).is_some();
    let read = |of: fn(&Reading) -> bool| running.readings.iter().any(|kept| of(&kept.observation.reading));
    if stamped(Step::Removed)
        && !stamped(Step::Poured)
        && !read(|reading| matches!(reading, Reading::Inspection(_)))
    {
        say(Level::Warn, format!("look at it before anything else: trayward inspect {}", sight.code));
    }
    if stamped(Step::Separated) && !read(Reading::is_after_pouring) {
        say(Level::Note, format!("look at the die under magnification: trayward result {}", sight.code));
    }
    for reason in &forecast.verdict.reasons {
        say(Level::Note, reason.clone());
    }
    let of_entries = running.doubts.iter().map(|(number, doubt)| (format!("entry {number}"), doubt));
    for (place, doubt) in of_entries.chain(doubt.iter().map(|doubt| ("now".to_owned(), doubt))) {
        let (level, words) = in_words(doubt);
        say(level, format!("{words} ({place})"));
    }
    for unheard in &sight.unheard {
        say(
            Level::Note,
            format!("entry {} ({}) does not count: {}", unheard.number, unheard.kind, unheard.why),
        );
    }
    alerts.sort_by_key(|alert| alert.level);
    alerts.dedup();
    alerts
}

fn in_words(doubt: &Doubt) -> (Level, String) {
    match doubt {
        Doubt::WallClockMoved(ms) => (
            Level::Note,
            format!(
                "the wall clock was moved by {}{}; times go on by the machine's own clock",
                if *ms < 0 { "-" } else { "+" },
                clock_span(*ms as f64 / 1000.0)
            ),
        ),
        Doubt::OnlyWallClock => (
            Level::Warn,
            "the machine was started anew or is another one: only the wall clock joins the times; check it"
                .to_owned(),
        ),
        Doubt::WentBack(ms) => (
            Level::Warn,
            format!(
                "the wall clock stood {} before what was already recorded, and no other clock is left: the time in between is not known",
                clock_span(*ms as f64 / 1000.0)
            ),
        ),
    }
}

/// "0:48", "12:05", "1:02:00".
pub fn clock_span(seconds: f64) -> String {
    let whole = seconds.abs().floor().min(1e9) as i64;
    let (hours, minutes, rest) = (whole / 3600, whole / 60 % 60, whole % 60);
    match hours {
        0 => format!("{minutes}:{rest:02}"),
        _ => format!("{hours}:{minutes:02}:{rest:02}"),
    }
}
