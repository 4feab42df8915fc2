//! `trayward run`: the terminal of a running case.
//!
//! With a keyboard one key is a stamp; without one, lines are read, so that anything that writes lines can drive it. A forecast is made
//! after each deed and now and then, for time itself moves windows; between them the seconds count down.

use std::io::{BufRead, IsTerminal, Write};
use std::time::Duration;

use anyhow::Result;
use chain::{Effort, Forecast};
use crossterm::event::{Event, KeyCode, KeyEventKind, KeyModifiers};
use crossterm::{cursor, event, execute, queue, terminal};
use jiff::tz::TimeZone;
use records::Moment;
use records::sqlite::SqliteStore;
use tokio::runtime::Runtime;

use crate::lines::paragraph;
use crate::running::{Deed, GRAMMAR, Level, Place, Session, Sight, Typed, here, in_words, sight, typed};
use crate::shelf::{self, Shelf};
use crate::{load, run_page};

/// What `trayward run` is asked.
#[derive(clap::Args)]
pub struct RunArguments {
    /// A case file, a case code of the records, `demo`, or `demo/NAME`.
    #[arg(default_value = "demo")]
    case: String,
    /// Read lines, also from a keyboard; `help` lists them.
    #[arg(long)]
    lines: bool,
    /// The case as it stands, as JSON, and no more.
    #[arg(long)]
    json: bool,
}

/// A forecast is made again after this time without a deed.
const AGAIN: Duration = Duration::from_secs(15);

/// Keys are looked at this often.
const TICK: Duration = Duration::from_millis(200);

/// An open case with its store and what was last said of it.
struct Desk {
    runtime: Runtime,
    store: SqliteStore,
    session: Session,
    forecast: Forecast,
    made: std::time::Instant,
}

/// Runs `trayward run`.
///
/// # Errors
/// When the case or the store cannot be opened.
pub fn run(arguments: &RunArguments, shelf: Shelf, zone: &TimeZone, out: &mut impl Write) -> Result<()> {
    let name = arguments.case.as_str();
    let demo = name == "demo" || name.starts_with("demo/");
    // A demo does not get among the records of patients unless somebody says where it may lie.
    let scratch = (demo && shelf.store.is_none()).then(tempfile::tempdir).transpose()?;
    let place = match &scratch {
        Some(folder) => Place::of(folder.path().join("demo.sqlite").to_str())?,
        None => Place::of(shelf.store)?,
    };
    let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(1).enable_all().build()?;
    let at = here();
    let hand = load::Hand::of(shelf.clinic);
    let (store, session) = runtime.block_on(async {
        let store = place.open().await?;
        let session = match shelf::code(name) {
            Some(code) => Session::open(&store, &code, &hand).await?,
            None => {
                let text = load::case_text(name)?;
                Session::state(&store, name, &text, &hand, &at).await?
            }
        };
        anyhow::Ok((store, session))
    })?;
    let (now, _) = session.running().present(&at);
    let forecast = session.forecast(Effort::COARSE, now)?;
    let mut desk = Desk { runtime, store, session, forecast, made: std::time::Instant::now() };
    if arguments.json {
        super::json(&desk.sight(&at)?, out)?;
        return Ok(());
    }
    let by_keys = std::io::stdin().is_terminal() && std::io::stdout().is_terminal() && !arguments.lines;
    let done = match by_keys {
        true => keys(&mut desk, zone, out),
        false => lines(&mut desk, zone, out),
    };
    desk.give_up_unkept();
    if scratch.is_some() {
        writeln!(
            out,
            "\nThis was a demo in a store of its own, which is gone now. To keep one: --store FILE."
        )?;
    } else if done.is_ok() {
        writeln!(out, "\nKept in {}: trayward run {}", place.path().display(), desk.session.code())?;
    }
    done
}

impl Desk {
    fn sight(&self, at: &Moment) -> Result<Sight> {
        let (now, doubt) = self.session.running().present(at);
        Ok(sight(&self.session, &self.forecast, now, doubt, &self.session.stops()))
    }

    /// Does something, and says in one line what came of it.
    fn act(&mut self, deed: Deed, zone: &TimeZone) -> Result<String> {
        let at = here();
        self.catch_up();
        let entry = match self.session.entry(deed, &at) {
            Ok(entry) => entry,
            Err(refused) => return Ok(format!("not recorded: {refused}")),
        };
        let what = in_words(&entry.what);
        let kept = self.runtime.block_on(self.session.keep(&self.store, entry));
        let (now, _) = self.session.running().present(&at);
        let when = run_page::clock(now, now, zone);
        let said = match kept {
            Ok(_) => format!("{when}  kept: {what}"),
            Err(error) => format!(
                "{when}  NOT KEPT YET: {what}: {error}. It is tried again all the time; leave this open."
            ),
        };
        self.ask(Effort::COARSE)?;
        Ok(said)
    }

    /// Does something; what goes wrong is said, for a clock must go on.
    fn done(&mut self, deed: Deed, zone: &TimeZone) -> String {
        self.act(deed, zone).unwrap_or_else(|error| format!("{error:#}"))
    }

    /// Records what waits, in its order, as far as the store takes it.
    fn catch_up(&mut self) {
        for entry in self.session.unkept().to_vec() {
            if self.runtime.block_on(self.session.keep(&self.store, entry)).is_err() {
                return;
            }
        }
    }

    /// What waits and cannot be kept is printed in a form that a person and a program can read.
    fn give_up_unkept(&mut self) {
        self.catch_up();
        if self.session.unkept().is_empty() {
            return;
        }
        eprintln!("NOT KEPT, write it down:");
        for entry in self.session.unkept() {
            eprintln!("{}", serde_json::to_string(entry).unwrap_or_else(|_| format!("{entry:?}")));
        }
    }

    fn ask(&mut self, effort: Effort) -> Result<()> {
        let (now, _) = self.session.running().present(&here());
        self.forecast = self.session.forecast(effort, now)?;
        self.made = std::time::Instant::now();
        Ok(())
    }

    /// Takes over what others did, and asks again when it is time.
    fn refresh(&mut self) -> Result<()> {
        let followed = self.runtime.block_on(self.session.follow(&self.store));
        if matches!(followed, Ok(true)) || self.made.elapsed() >= AGAIN {
            self.ask(Effort::COARSE)?;
        }
        Ok(())
    }
}

/// Lines in, a line of what came of each out; `show` prints the case. What is loud is said once, when it comes.
fn lines(desk: &mut Desk, zone: &TimeZone, out: &mut impl Write) -> Result<()> {
    let first = desk.sight(&here())?;
    write!(out, "{}", run_page::text(&first, zone))?;
    out.flush()?;
    let mut known = first.alerts;
    for line in std::io::stdin().lock().lines() {
        let mut text = String::new();
        match typed(&line?) {
            Ok(Typed::Leave) => break,
            Ok(Typed::Help) => help(out)?,
            Ok(Typed::Show) => {
                desk.refresh()?;
                text = run_page::text(&desk.sight(&here())?, zone);
            }
            Ok(Typed::Deed(deed)) => {
                paragraph(&mut text, "", "  ", &desk.done(deed, zone));
                let alerts = desk.sight(&here())?.alerts;
                for alert in
                    alerts.iter().filter(|alert| alert.level <= Level::Warn && !known.contains(alert))
                {
                    paragraph(&mut text, "  !! ", "     ", &alert.words);
                }
                known = alerts;
            }
            Err(not) => paragraph(&mut text, "", "  ", &format!("not understood: {not}")),
        }
        write!(out, "{text}")?;
        out.flush()?;
    }
    Ok(())
}

fn help(out: &mut impl Write) -> Result<()> {
    for (form, says) in GRAMMAR {
        writeln!(out, "  {form:<28}  {says}")?;
    }
    Ok(())
}

/// A terminal that is put back as it was, whatever happens.
struct Raw;

impl Raw {
    fn on(out: &mut impl Write) -> Result<Raw> {
        terminal::enable_raw_mode()?;
        execute!(out, terminal::EnterAlternateScreen, cursor::Hide)?;
        Ok(Raw)
    }
}

impl Drop for Raw {
    fn drop(&mut self) {
        let _ = execute!(std::io::stdout(), cursor::Show, terminal::LeaveAlternateScreen);
        let _ = terminal::disable_raw_mode();
    }
}

/// The foot of the screen.
const KEYS: &str = "space stamp · b back · c cords · o observe · s skip · : line · ? help · q leave";

fn keys(desk: &mut Desk, zone: &TimeZone, out: &mut impl Write) -> Result<()> {
    // The screen is drawn on the terminal itself, past the buffer of the program.
    out.flush()?;
    let mut screen = std::io::stdout();
    let raw = Raw::on(&mut screen)?;
    let (mut said, mut typing, mut loudest) = (String::new(), None::<String>, usize::MAX);
    loop {
        desk.catch_up();
        if let Err(error) = desk.refresh() {
            said = format!("{error:#}");
        }
        let sight = desk.sight(&here())?;
        // A warning rings once, when it comes.
        let loud = sight.alerts.iter().filter(|alert| alert.level <= Level::Warn).count();
        let bell = if loud > loudest { "\x07" } else { "" };
        loudest = loud;
        draw(&mut screen, &run_page::text(&sight, zone), &said, typing.as_deref(), bell)?;
        if !event::poll(TICK)? {
            continue;
        }
        let Event::Key(key) = event::read()? else { continue };
        if key.kind != KeyEventKind::Press {
            continue;
        }
        let code = match (key.modifiers.contains(KeyModifiers::CONTROL), key.code) {
            (true, KeyCode::Char('c')) => break,
            // A line feed is what some terminals send for the end of a line.
            (true, KeyCode::Char('j')) => KeyCode::Enter,
            (true, KeyCode::Char(_)) => continue,
            (_, code) => code,
        };
        if let Some(line) = &mut typing {
            match code {
                KeyCode::Esc => typing = None,
                KeyCode::Backspace => {
                    line.pop();
                }
                KeyCode::Char(character) => line.push(character),
                KeyCode::Enter => {
                    let line = typing.take().unwrap_or_default();
                    match typed(&line) {
                        Ok(Typed::Leave) => break,
                        Ok(Typed::Help) => said = forms(),
                        Ok(Typed::Show) => said.clear(),
                        Ok(Typed::Deed(deed)) => said = desk.done(deed, zone),
                        Err(not) => said = not.to_string(),
                    }
                }
                _ => {}
            }
            continue;
        }
        match code {
            KeyCode::Char(' ') | KeyCode::Enter | KeyCode::PageDown => {
                said = desk.done(Deed::Stamp { step: None, earlier_ms: 0 }, zone);
            }
            KeyCode::Char('b') => said = desk.done(Deed::TakeBack, zone),
            KeyCode::Char('c') => typing = Some("cords ".to_owned()),
            KeyCode::Char('o') => typing = Some(String::new()),
            KeyCode::Char('s') => typing = Some("skip because ".to_owned()),
            KeyCode::Char(':') => typing = Some(String::new()),
            KeyCode::Char('?') => said = forms(),
            KeyCode::Char('q') => break,
            _ => {}
        }
    }
    drop(raw);
    write!(out, "{}", run_page::text(&desk.sight(&here())?, zone))?;
    Ok(())
}

fn forms() -> String {
    let forms: Vec<&str> = GRAMMAR.iter().map(|(form, _)| *form).collect();
    format!("lines: {}", forms.join(" · "))
}

fn draw(screen: &mut impl Write, text: &str, said: &str, typing: Option<&str>, bell: &str) -> Result<()> {
    let (columns, rows) = terminal::size().unwrap_or((80, 24));
    let (columns, rows) = (usize::from(columns.max(20)), usize::from(rows.max(6)));
    let mut foot: Vec<String> =
        textwrap::wrap(said, columns).into_iter().map(|line| line.into_owned()).collect();
    foot.push(match typing {
        Some(line) => format!("> {line}_"),
        None => KEYS.chars().take(columns).collect(),
    });
    let room = rows.saturating_sub(foot.len());
    queue!(screen, cursor::MoveTo(0, 0))?;
    // Each line is written over the one before it, so that nothing flickers.
    let blank = String::new();
    let lines: Vec<&str> = text.lines().collect();
    let more = format!(
        "  … {} more lines: make the window taller, or leave and `run` again with --lines",
        lines.len() + 1 - room.min(lines.len())
    );
    for row in 0..room {
        let line = match row + 1 == room && lines.len() > room {
            true => more.as_str(),
            false => lines.get(row).copied().unwrap_or(blank.as_str()),
        };
        let cut: String = line.chars().take(columns).collect();
        queue!(screen, cursor::MoveTo(0, row as u16), terminal::Clear(terminal::ClearType::CurrentLine))?;
        write!(screen, "{cut}")?;
    }
    for (index, line) in foot.iter().enumerate() {
        let row = (room + index) as u16;
        queue!(screen, cursor::MoveTo(0, row), terminal::Clear(terminal::ClearType::CurrentLine))?;
        write!(screen, "{line}")?;
    }
    write!(screen, "{bell}")?;
    screen.flush()?;
    Ok(())
}
