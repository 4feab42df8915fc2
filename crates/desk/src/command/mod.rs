//! The command line: which words there are and what each prints.

mod amounts;
mod keep;
mod questions;
mod queue;
mod result;
mod rules;
mod run;
mod serve;
mod sheet;

use std::io::Write;

use anyhow::{Context, Result, bail};
use chain::Effort;
use clap::{Parser, Subcommand};
use counsel::cautions::Rulebook;
use counsel::routes::Pace;
use jiff::tz::TimeZone;
use terms::Instant;

use crate::card::{self, Card};
use crate::shelf::Shelf;
use crate::{cautions_page, inputs_page, inspection_page, load, routes_page, sources};

/// Carries a prepared tooth into stone: windows, errors and their sources, from your own conditions.
#[derive(Parser)]
#[command(name = "trayward", version, about, long_about = None)]
pub struct Arguments {
    /// What to do; without it the card of the demo case is printed.
    #[command(subcommand)]
    command: Option<Command>,
    /// A clinic file: what is at hand, with its products and their instructions. `trayward example clinic` prints one.
    #[arg(long, global = true)]
    clinic: Option<String>,
    /// The file of the records; without it the one in this system's folder for data.
    #[arg(long, global = true)]
    store: Option<String>,
}

#[derive(Subcommand)]
enum Command {
    /// The card of a case: what to do, when, and how far the result can be trusted.
    Forecast {
        /// A case file, `demo`, or `demo/NAME`.
        case: String,
        /// The present, such as 2026-11-25T09:40:00+01:00; without it the clock of this machine.
        #[arg(long)]
        at: Option<String>,
        /// The whole forecast as JSON; `trayward schema forecast` describes it.
        #[arg(long)]
        json: bool,
        /// A first answer from fewer samples.
        #[arg(long)]
        coarse: bool,
        /// The sentence, the questions and the time strip alone.
        #[arg(long)]
        short: bool,
    },
    /// What is taught, what is printed and what is forecast for a case, in three columns wherever they differ.
    Instructions {
        /// A case file, `demo`, or `demo/NAME`.
        #[arg(default_value = "demo")]
        case: String,
        /// The present, as for `forecast`.
        #[arg(long)]
        at: Option<String>,
        /// The windows as JSON.
        #[arg(long)]
        json: bool,
    },
    /// The routes of a case: what to ask first, which are open, which is best and why, what would change that.
    Routes {
        /// A case file, `demo`, or `demo/NAME`.
        case: String,
        /// The present, as for `forecast`.
        #[arg(long)]
        at: Option<String>,
        /// The whole comparison as JSON.
        #[arg(long)]
        json: bool,
        /// A first answer from few samples, without changes.
        #[arg(long)]
        coarse: bool,
    },
    /// The cautions of a case: what to ask first, what holds and why, and the adrenaline of the visit. Never a clearance.
    Cautions {
        /// A case file, `demo`, or `demo/NAME`.
        #[arg(default_value = "demo")]
        case: String,
        /// As JSON.
        #[arg(long)]
        json: bool,
        /// The whole rulebook as a Markdown document, without a case.
        #[arg(long, conflicts_with = "json")]
        markdown: bool,
    },
    /// Water of two sources, the temperature for a wanted working time, and what your own timings say.
    Blend(amounts::BlendArguments),
    /// How much powder, water, paste and stone, what a wrong ratio does, and what must wait.
    Measure {
        /// A case file, `demo`, or `demo/NAME`.
        #[arg(default_value = "demo")]
        case: String,
        /// As JSON.
        #[arg(long)]
        json: bool,
    },
    /// The local pages over the records: Today, Case, Stock, Sources, prints. On this machine alone.
    Serve(serve::ServeArguments),
    /// A case while it runs: stamps by one key, what is to spare, warnings in time; everything is kept.
    Run(run::RunArguments),
    #[command(flatten)]
    Keep(keep::Keep),
    /// Which of several impressions to pour first, what is lost in every order, and what would save it.
    Queue(queue::QueueArguments),
    /// The laboratory sheet: what it is, of what, when, disinfected and kept how, until when to pour, what to look at on receipt.
    Sheet {
        /// A case file, the code of a recorded case, `demo`, or `demo/NAME`.
        #[arg(default_value = "demo")]
        case: String,
        /// The present, as for `forecast`.
        #[arg(long)]
        at: Option<String>,
        /// As JSON.
        #[arg(long)]
        json: bool,
    },
    /// After pouring: what was found on die and margin, between pours, on an index, a film, at try-in, and what it does to the chance.
    Result {
        /// A case file, the code of a recorded case, `demo`, or `demo/NAME`.
        #[arg(default_value = "demo/after-pour")]
        case: String,
        /// The present, as for `forecast`.
        #[arg(long)]
        at: Option<String>,
        /// As JSON.
        #[arg(long)]
        json: bool,
    },
    /// What each stated fact of a case moves, and which do not matter here and why.
    Inputs {
        /// A case file, `demo`, or `demo/NAME`.
        #[arg(default_value = "demo")]
        case: String,
        /// As JSON.
        #[arg(long)]
        json: bool,
    },
    /// What is taught, against the chain: where over two conditions each rule holds, fails, or cannot be told, and which link decides.
    Rules(rules::RulesArguments),
    /// Questions whose keys are computed: templates, sets, marking, item statistics, exchange.
    Questions(questions::QuestionsArguments),
    /// What to look for after removal, and whether to accept or to take another impression.
    Inspect {
        /// A case file, `demo`, or `demo/NAME`.
        case: String,
        /// The present, as for `forecast`.
        #[arg(long)]
        at: Option<String>,
        /// As JSON.
        #[arg(long)]
        json: bool,
    },
    /// Every comparison with something outside this project, computed now.
    Checks {
        /// As a Markdown document, without the computed values.
        #[arg(long)]
        markdown: bool,
    },
    /// How often published outcomes lie inside the forecast, and where they do not, computed now.
    Coverage {
        /// As a Markdown document.
        #[arg(long)]
        markdown: bool,
    },
    /// The pedigree of a number: a ledger key, or the name of a number on a card.
    Source {
        /// Such as `alginate/set.activation_energy` or `die.diameter`.
        key: String,
        /// The case whose card the number is on.
        #[arg(default_value = "demo")]
        case: String,
    },
    /// A demo case as a case file to start from; without a name, the list.
    Example {
        /// Name of a demo case, or `clinic` for a clinic file.
        name: Option<String>,
    },
    /// The JSON Schema of case files or of `forecast --json`.
    Schema {
        /// `case` or `forecast`.
        of: String,
    },
}

/// The JSON Schema of `forecast --json`.
pub const FORECAST_SCHEMA: &str = include_str!("../../../../docs/forecast.schema.json");

/// Runs a command and writes what it prints. `machine` is the clock of this machine, `zone` its zone.
///
/// # Errors
/// When a name, a file or an argument cannot be used; the message says what was given and what is allowed.
pub fn run(arguments: &Arguments, machine: Instant, zone: &TimeZone, out: &mut impl Write) -> Result<()> {
    let shelf = Shelf { clinic: arguments.clinic.as_deref(), store: arguments.store.as_deref() };
    match &arguments.command {
        None => {
            forecast("demo", &Asked { shelf, ..Asked::default() }, machine, zone, out)?;
            serve::demo(shelf, zone, out)
        }
        Some(Command::Serve(arguments)) => serve::run(arguments, shelf, zone, out),
        Some(Command::Forecast { case, at, json, coarse, short }) => {
            let asked = Asked { shelf, at: at.as_deref(), json: *json, coarse: *coarse, short: *short };
            forecast(case, &asked, machine, zone, out)
        }
        Some(Command::Instructions { case, at, json }) => {
            let asked = Asked { shelf, at: at.as_deref(), json: *json, ..Asked::default() };
            instructions(case, &asked, machine, zone, out)
        }
        Some(Command::Routes { case, at, json, coarse }) => {
            let asked = Asked { shelf, at: at.as_deref(), json: *json, coarse: *coarse, short: false };
            routes(case, &asked, machine, out)
        }
        Some(Command::Cautions { markdown: true, .. }) => {
            Ok(write!(out, "{}", counsel::cautions::markdown(&Rulebook::shipped()?))?)
        }
        Some(Command::Cautions { case, json, .. }) => cautions(case, shelf, *json, out),
        Some(Command::Run(arguments)) => run::run(arguments, shelf, zone, out),
        Some(Command::Keep(keep)) => keep::run(keep, shelf.store, machine, zone, out),
        Some(Command::Blend(arguments)) => amounts::blend(arguments, shelf, machine, out),
        Some(Command::Measure { case, json }) => {
            amounts::measure(case, &Asked { shelf, json: *json, ..Asked::default() }, machine, out)
        }
        Some(Command::Queue(arguments)) => queue::run(arguments, shelf, machine, zone, out),
        Some(Command::Result { case, at, json }) => {
            let asked = Asked { shelf, at: at.as_deref(), json: *json, ..Asked::default() };
            result::run(case, &asked, machine, out)
        }
        Some(Command::Sheet { case, at, json }) => {
            let asked = Asked { shelf, at: at.as_deref(), json: *json, ..Asked::default() };
            sheet::run(case, &asked, machine, zone, out)
        }
        Some(Command::Inputs { case, json }) => inputs(case, shelf, *json, machine, out),
        Some(Command::Questions(arguments)) => questions::run(arguments, shelf, out),
        Some(Command::Rules(arguments)) => rules::run(arguments, shelf, out),
        Some(Command::Inspect { case, at, json }) => {
            let asked = Asked { shelf, at: at.as_deref(), json: *json, ..Asked::default() };
            inspect(case, &asked, machine, out)
        }
        Some(Command::Checks { markdown }) => checks(*markdown, out),
        Some(Command::Coverage { markdown }) => coverage(*markdown, out),
        Some(Command::Source { key, case }) => source(key, case, shelf, machine, out),
        Some(Command::Example { name }) => example(name.as_deref(), out),
        Some(Command::Schema { of }) => schema(of, out),
    }
}

/// How a forecast is asked for.
#[derive(Default)]
struct Asked<'a> {
    shelf: Shelf<'a>,
    at: Option<&'a str>,
    json: bool,
    coarse: bool,
    short: bool,
}

fn forecast(
    name: &str,
    asked: &Asked,
    machine: Instant,
    zone: &TimeZone,
    out: &mut impl Write,
) -> Result<()> {
    let effort = if asked.coarse { Effort::COARSE } else { Effort::FULL };
    with_card(name, asked, effort, machine, zone, |card| match asked.json {
        true => json(card.forecast, out),
        false => Ok(write!(out, "{}", card::text(card, asked.short))?),
    })
}

fn instructions(
    name: &str,
    asked: &Asked,
    machine: Instant,
    zone: &TimeZone,
    out: &mut impl Write,
) -> Result<()> {
    with_card(name, asked, Effort::COARSE, machine, zone, |card| match asked.json {
        true => json(&card.forecast.windows, out),
        false => Ok(write!(out, "{}", card::instructions::text(card))?),
    })
}

/// Reads a case, asks for its forecast and all that stands beside it on a card, and shows it.
fn with_card(
    name: &str,
    asked: &Asked,
    effort: Effort,
    machine: Instant,
    zone: &TimeZone,
    show: impl FnOnce(&Card) -> Result<()>,
) -> Result<()> {
    let case = asked.shelf.case(name)?;
    let stock = asked.shelf.stock(case.demo)?;
    let (now, present) = present(name, &case, asked, machine)?;
    let (parameters, _) = load::parameters(&case, &stock)?;
    let forecast = load::forecast(&case, &stock, effort, now).with_context(|| name.to_owned())?;
    let view = load::view(&case);
    let checks = counsel::visit::checks(&view, &stock.clinic)?;
    let rulebook = Rulebook::shipped()?;
    let look = counsel::cautions::look(&rulebook, &view);
    show(&Card {
        name,
        case: &case,
        forecast: &forecast,
        parameters: &parameters,
        look: &look,
        checks: &checks,
        zone: zone.clone(),
        present,
    })
}

/// The present, and who said what time it is.
fn present(
    name: &str,
    case: &case_file::Case,
    asked: &Asked,
    machine: Instant,
) -> Result<(Instant, &'static str)> {
    let said = asked.at.map(moment).transpose()?;
    let now = match said {
        Some(said) => said,
        None => asked.shelf.now(name, case, machine)?,
    };
    if let Some(first) = case.stamps.iter().map(|stamp| stamp.at).min()
        && now < first
    {
        bail!(
            "{name}: given a present before the first stamp; allowed the first stamp or later (--at, or the clock of this machine)"
        );
    }
    let by = match (said, case.demo) {
        (Some(_), _) => "--at",
        (None, true) => "the demo",
        (None, false) => "the clock of this machine",
    };
    Ok((now, by))
}

fn json(value: &impl serde::Serialize, out: &mut impl Write) -> Result<()> {
    serde_json::to_writer_pretty(&mut *out, value)?;
    writeln!(out)?;
    Ok(())
}

fn routes(name: &str, asked: &Asked, machine: Instant, out: &mut impl Write) -> Result<()> {
    let case = asked.shelf.case(name)?;
    let stock = asked.shelf.stock(case.demo)?;
    let (now, _) = present(name, &case, asked, machine)?;
    let pace = if asked.coarse { Pace::FIRST } else { Pace::WHOLE };
    let compared = load::routes(&case, &stock, pace, now).with_context(|| name.to_owned())?;
    if asked.json {
        return json(&compared, out);
    }
    write!(out, "{}", routes_page::text(name, &case, &compared))?;
    Ok(())
}

fn cautions(name: &str, shelf: Shelf, as_json: bool, out: &mut impl Write) -> Result<()> {
    let case = shelf.case(name)?;
    let rulebook = Rulebook::shipped()?;
    let view = load::view(&case);
    let look = counsel::cautions::look(&rulebook, &view);
    let adrenaline = counsel::cautions::adrenaline(&rulebook, &view);
    if as_json {
        return json(&serde_json::json!({ "look": look, "adrenaline": adrenaline }), out);
    }
    let page =
        cautions_page::Page { name, case: &case, rulebook: &rulebook, look: &look, adrenaline: &adrenaline };
    write!(out, "{}", cautions_page::text(&page))?;
    Ok(())
}

fn inputs(name: &str, shelf: Shelf, as_json: bool, machine: Instant, out: &mut impl Write) -> Result<()> {
    let case = shelf.case(name)?;
    let stock = shelf.stock(case.demo)?;
    let now = load::present(&case, machine);
    if as_json {
        return json(&crate::inputs::inputs(&case, &stock, now)?, out);
    }
    write!(out, "{}", inputs_page::head(&case))?;
    let list = crate::inputs::inputs_of(
        &case,
        &stock,
        now,
        |_| true,
        |input| {
            write!(out, "{}", inputs_page::line(input))?;
            Ok(out.flush()?)
        },
    )?;
    write!(out, "{}", inputs_page::foot(name, &list))?;
    Ok(())
}

fn inspect(name: &str, asked: &Asked, machine: Instant, out: &mut impl Write) -> Result<()> {
    let case = asked.shelf.case(name)?;
    let stock = asked.shelf.stock(case.demo)?;
    let (now, _) = present(name, &case, asked, machine)?;
    let (parameters, limits) = load::parameters(&case, &stock)?;
    let view = load::view(&case);
    let effort = Effort { points: 64 };
    let inspection = counsel::inspection::inspect(&view, &stock.clinic, &parameters, &limits, effort, now)
        .with_context(|| name.to_owned())?;
    if asked.json {
        return json(&inspection, out);
    }
    write!(out, "{}", inspection_page::text(&case, &inspection))?;
    Ok(())
}

fn moment(text: &str) -> Result<Instant> {
    let timestamp: jiff::Timestamp = text.parse().with_context(|| {
        format!("--at: given \"{text}\"; allowed a moment with its offset, such as 2026-11-25T09:40:00+01:00")
    })?;
    let ms = timestamp.as_millisecond();
    if !(FIRST_MS..LAST_MS).contains(&ms) {
        bail!("--at: given \"{text}\"; allowed a moment in the years 2000 to 2099");
    }
    Ok(Instant::from_millis(ms))
}

const FIRST_MS: i64 = 946_684_800_000;
const LAST_MS: i64 = 4_102_444_800_000;

fn checks(markdown: bool, out: &mut impl Write) -> Result<()> {
    let outcomes = checks::run_all()?;
    let text = if markdown { checks::markdown(&outcomes) } else { checks::table(&outcomes) };
    write!(out, "{text}")?;
    Ok(())
}

fn coverage(markdown: bool, out: &mut impl Write) -> Result<()> {
    let outcomes = checks::coverage::run_all()?;
    let text =
        if markdown { checks::coverage::markdown(&outcomes)? } else { checks::coverage::table(&outcomes)? };
    write!(out, "{text}")?;
    Ok(())
}

fn source(key: &str, case_name: &str, shelf: Shelf, machine: Instant, out: &mut impl Write) -> Result<()> {
    let case = shelf.case(case_name)?;
    let stock = shelf.stock(case.demo)?;
    let known = load::Known::of(stock)?;
    let key = match key {
        "chance" => "verdict.margin",
        "mix" | "mixed" => "window.mix.closes",
        "seat" => "window.seat.closes",
        "remove" => "window.remove.opens",
        "pour" => "window.pour.closes",
        "separate" => "window.separate.opens",
        key => key,
    };
    if let Some(doc) = sources::pedigree(key, &known, None) {
        write!(out, "{}", doc.text())?;
        return Ok(());
    }
    let now = load::present(&case, machine);
    let forecast = known.forecast(&case, Effort::FULL, now).with_context(|| case_name.to_owned())?;
    if let Some(doc) = sources::pedigree(key, &known, Some(&forecast)) {
        write!(out, "{}", doc.text())?;
        return Ok(());
    }
    let near = sources::near(key, &forecast, &known.parameters);
    if near.is_empty() {
        bail!("source: given \"{key}\"; allowed a ledger key or the name of a number on a card");
    }
    bail!(
        "source: given \"{key}\"; allowed a ledger key or the name of a number on a card; near to it: {}",
        near.join(", ")
    );
}

fn example(name: Option<&str>, out: &mut impl Write) -> Result<()> {
    let Some(name) = name else {
        for (known, text) in load::DEMO {
            let case = case_file::parse(&format!("demo/{known}"), text).map_err(load::Unreadable)?;
            writeln!(out, "{known:<26}{}", case.title.as_deref().unwrap_or(""))?;
        }
        return Ok(());
    };
    if name == "clinic" {
        return Ok(write!(out, "{}", load::DEMO_CLINIC.1.replace("\ndemo = true\n", "\ndemo = false\n"))?);
    }
    match load::demo(name) {
        // What is written out becomes somebody's own case, which runs by the clock of the machine.
        Some((_, text)) => Ok(write!(out, "{}", text.replace("\ndemo = true\n", "\ndemo = false\n"))?),
        None => {
            let names: Vec<&str> = load::DEMO.iter().map(|(known, _)| *known).collect();
            bail!("example: given \"{name}\"; allowed {}", names.join(", "))
        }
    }
}

fn schema(of: &str, out: &mut impl Write) -> Result<()> {
    match of {
        "case" => {
            serde_json::to_writer_pretty(&mut *out, &case_file::schema())?;
            writeln!(out)?;
            Ok(())
        }
        "forecast" => Ok(write!(out, "{FORECAST_SCHEMA}")?),
        _ => bail!("schema: given \"{of}\"; allowed case, forecast"),
    }
}
