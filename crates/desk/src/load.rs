//! From a name on the command line to a forecast: finds the case, reads it, asks the chain.

use std::path::Path;
use std::sync::{Arc, Mutex, OnceLock};

use anyhow::{Context, Result, bail};
use chain::{Effort, Forecast};
use counsel::View;
use counsel::cautions::Rulebook;
use counsel::routes::{Pace, Question, Routes, Way};
use counsel::rules::{Ask, Rules};
use ledger::{Limits, Parameters};
use questions::{Templates, World};
use terms::Instant;

use crate::clinic_file::{self, Stock};
use case_file::{self, Case};

/// The demo cases, compiled in: an invented teaching clinic.
pub const DEMO: &[(&str, &str)] = &[
    ("crown-silicone", include_str!("../../../data/demo/crown-silicone.toml")),
    ("study-alginate", include_str!("../../../data/demo/study-alginate.toml")),
    ("hot-day-alginate", include_str!("../../../data/demo/hot-day-alginate.toml")),
    ("bridge-silicone", include_str!("../../../data/demo/bridge-silicone.toml")),
    ("crown-alginate-hopeless", include_str!("../../../data/demo/crown-alginate-hopeless.toml")),
    ("unknowns", include_str!("../../../data/demo/unknowns.toml")),
    ("running", include_str!("../../../data/demo/running.toml")),
    ("checked", include_str!("../../../data/demo/checked.toml")),
    ("crown-polyether", include_str!("../../../data/demo/crown-polyether.toml")),
    ("bridge-polysulfide", include_str!("../../../data/demo/bridge-polysulfide.toml")),
    ("crown-condensation", include_str!("../../../data/demo/crown-condensation.toml")),
    ("crown-agar", include_str!("../../../data/demo/crown-agar.toml")),
    ("crown-agar-alginate", include_str!("../../../data/demo/crown-agar-alginate.toml")),
    ("study-extended", include_str!("../../../data/demo/study-extended.toml")),
    ("quadrant-hybrid", include_str!("../../../data/demo/quadrant-hybrid.toml")),
    ("heart-three-cartridges", include_str!("../../../data/demo/heart-three-cartridges.toml")),
    ("latex-putty", include_str!("../../../data/demo/latex-putty.toml")),
    ("four-abutments", include_str!("../../../data/demo/four-abutments.toml")),
    ("undercut-mobile", include_str!("../../../data/demo/undercut-mobile.toml")),
    ("hot-humid-polyether", include_str!("../../../data/demo/hot-humid-polyether.toml")),
    ("gagging", include_str!("../../../data/demo/gagging.toml")),
    ("warm-tap-water", include_str!("../../../data/demo/warm-tap-water.toml")),
    ("alginate-crown", include_str!("../../../data/demo/alginate-crown.toml")),
    ("two-pours", include_str!("../../../data/demo/two-pours.toml")),
    ("wet-stone", include_str!("../../../data/demo/wet-stone.toml")),
    ("after-pour", include_str!("../../../data/demo/after-pour.toml")),
    ("long-label", include_str!("../../../data/demo/long-label.toml")),
];

/// The impressions of an invented morning that wait for one pair of hands.
pub const WAITING: &[(&str, &str)] = &[
    ("waiting/alginate-upper", include_str!("../../../data/demo/waiting/alginate-upper.toml")),
    ("waiting/alginate-lower", include_str!("../../../data/demo/waiting/alginate-lower.toml")),
    ("waiting/alginate-opposing", include_str!("../../../data/demo/waiting/alginate-opposing.toml")),
    ("waiting/alginate-before", include_str!("../../../data/demo/waiting/alginate-before.toml")),
    ("waiting/bridge-polysulfide", include_str!("../../../data/demo/waiting/bridge-polysulfide.toml")),
    ("waiting/crown-silicone", include_str!("../../../data/demo/waiting/crown-silicone.toml")),
];

/// The present of that morning: 2026-03-02, 9:40 one hour ahead of UTC.
pub const WAITING_PRESENT: Instant = Instant::from_millis(1_772_440_800_000);

/// The demo case by name; `demo` alone is the first.
pub fn demo(name: &str) -> Option<&'static (&'static str, &'static str)> {
    let wanted = name.strip_prefix("demo/").unwrap_or(name);
    match wanted {
        "demo" | "" => DEMO.first(),
        _ => DEMO.iter().find(|(known, _)| *known == wanted),
    }
}

/// A case that does not read; every problem stands on its own line.
#[derive(Debug, thiserror::Error)]
#[error(transparent)]
pub struct Unreadable(#[from] pub case_file::Problems);

/// The case of this name: `demo`, `demo/NAME`, or a file.
///
/// # Errors
/// When there is no such case or file, or the file has problems.
pub fn case(name: &str) -> Result<Case> {
    let text = case_text(name)?;
    Ok(case_file::parse(name, &text).map_err(Unreadable)?)
}

/// The text of the case of this name.
///
/// # Errors
/// When there is no such case or file.
pub fn case_text(name: &str) -> Result<String> {
    if name == "demo" || name.starts_with("demo/") {
        let Some((_, text)) = demo(name) else {
            let names: Vec<&str> = DEMO.iter().map(|(known, _)| *known).collect();
            bail!("there is no demo case \"{name}\"; there are demo/{}", names.join(", demo/"));
        };
        return Ok((*text).to_owned());
    }
    read(name)
}

/// The text of a file that is not larger than a case may be.
fn read(name: &str) -> Result<String> {
    text_of(Path::new(name), case_file::MAX_BYTES as u64)
}

/// A file of at most this many bytes.
///
/// # Errors
/// When it cannot be read, or is larger.
pub fn bytes_of(path: &Path, most: u64) -> Result<Vec<u8>> {
    let name = path.display();
    let size = std::fs::metadata(path).with_context(|| format!("{name}: cannot be opened"))?.len();
    if size > most {
        bail!("{name}: given {size} bytes; allowed up to {most} bytes");
    }
    std::fs::read(path).with_context(|| format!("{name}: cannot be read"))
}

/// The text of a file of at most this many bytes.
///
/// # Errors
/// When it cannot be read, is larger, or is no text.
pub fn text_of(path: &Path, most: u64) -> Result<String> {
    String::from_utf8(bytes_of(path, most)?).map_err(|error| {
        anyhow::anyhow!(
            "{}: given bytes that are not UTF-8 text, from byte {}; allowed UTF-8 text",
            path.display(),
            error.utf8_error().valid_up_to()
        )
    })
}

/// What routes are compared over when nobody says what is at hand.
const BY_CLASS: (&str, &str) =
    ("clinic-by-class.toml", include_str!("../../../data/counsel/clinic-by-class.toml"));

/// The invented clinic of the demo cases.
pub const DEMO_CLINIC: (&str, &str) = ("demo/clinic", include_str!("../../../data/counsel/clinic-demo.toml"));

/// What is at hand: the clinic file that was named, the demo clinic for a demo case, or the classes of the trade.
///
/// # Errors
/// When the file cannot be used.
pub fn stock(file: Option<&str>, demo: bool) -> Result<Stock> {
    let (name, text) = match file {
        Some("demo" | "demo/clinic") => DEMO_CLINIC,
        Some(path) => return clinic_file::parse(path, &read(path)?),
        None if demo => DEMO_CLINIC,
        None => BY_CLASS,
    };
    clinic_file::parse(name, text)
}

/// What is at hand, and what the ledger says of it.
#[derive(Clone, Debug)]
pub struct Known {
    /// What is at hand.
    pub stock: Stock,
    /// The ledger, with the products of the clinic.
    pub parameters: Parameters,
    limits: Limits,
    rulebook: Rulebook,
    rules: OnceLock<Rules>,
    templates: OnceLock<Templates>,
}

impl Known {
    /// Reads the ledger and the rulebook beside a stock.
    ///
    /// # Errors
    /// When the ledger is incomplete, or a row of the clinic cannot be used.
    pub fn of(stock: Stock) -> Result<Known> {
        let (name, text) = &stock.rows;
        let mut files = ledger::FILES.to_vec();
        files.push((name, text));
        let parameters = Parameters::read(&files)?;
        let limits = Limits::of(&parameters)?;
        Ok(Known {
            limits,
            parameters,
            rulebook: Rulebook::shipped()?,
            stock,
            rules: OnceLock::new(),
            templates: OnceLock::new(),
        })
    }

    /// Limits, with those that the case sets for itself.
    pub fn limits(&self, case: &Case) -> Limits {
        self.limits.clone().with_case(case.limits.opening_m, case.limits.wall_space_m)
    }

    /// Taught rules, read when they are first asked for.
    ///
    /// # Errors
    /// When a file of them does not read.
    pub fn rules(&self) -> Result<&Rules> {
        read_once(&self.rules, || Ok(Rules::shipped(&self.parameters)?))
    }

    /// Templates of questions, read when they are first asked for.
    ///
    /// # Errors
    /// When a file of them does not read.
    pub fn templates(&self) -> Result<&Templates> {
        read_once(&self.templates, || Ok(Templates::shipped(&self.parameters, &self.rulebook)?))
    }

    /// What a rule is asked with.
    pub fn ask_rule(&self, effort: Effort) -> Ask<'_> {
        Ask { parameters: &self.parameters, limits: &self.limits, effort }
    }

    /// What questions are asked of.
    pub fn world(&self) -> World<'_> {
        World {
            parameters: &self.parameters,
            limits: &self.limits,
            rulebook: &self.rulebook,
            effort: World::EFFORT,
        }
    }

    /// The rulebook.
    pub fn rulebook(&self) -> &Rulebook {
        &self.rulebook
    }

    /// The forecast of a case.
    ///
    /// # Errors
    /// When the chain refuses the case.
    pub fn forecast(&self, case: &Case, effort: Effort, now: Instant) -> Result<Forecast, chain::ChainError> {
        let Case { situation, route, stamps, observations, .. } = case;
        let limits = self.limits(case);
        chain::forecast(situation, route, stamps, observations, &self.parameters, &limits, effort, now)
    }

    /// Whether the chain takes a case.
    ///
    /// # Errors
    /// What it refuses.
    pub fn bears(&self, case: &Case) -> Result<(), chain::ChainError> {
        let Case { situation, route, stamps, observations, .. } = case;
        let limits = self.limits(case);
        let last = stamps.iter().map(|stamp| stamp.at).chain(observations.iter().map(|seen| seen.at)).max();
        let now = last.unwrap_or(Instant::from_millis(0));
        chain::bears(situation, route, stamps, observations, &self.parameters, &limits, now)
    }

    /// Asks about the routes of a case.
    pub fn ask<T>(&self, case: &Case, now: Instant, ask: impl FnOnce(&Question) -> T) -> T {
        ask(&Question {
            view: view(case),
            clinic: &self.stock.clinic,
            rulebook: &self.rulebook,
            parameters: &self.parameters,
            limits: &self.limits(case),
            now,
        })
    }
}

/// Two that read at once read the same.
fn read_once<T>(place: &OnceLock<T>, read: impl FnOnce() -> Result<T>) -> Result<&T> {
    if place.get().is_none() {
        let _ = place.set(read()?);
    }
    place.get().context("it was read just now")
}

/// What is at hand for demo cases and for others, read once.
#[derive(Debug, Default)]
pub struct Hand {
    clinic: Option<String>,
    demo: Mutex<Option<Arc<Known>>>,
    own: Mutex<Option<Arc<Known>>>,
}

impl Hand {
    /// Reads from this clinic file, or as [`stock`] finds it.
    pub fn of(clinic: Option<&str>) -> Hand {
        Hand { clinic: clinic.map(str::to_owned), ..Hand::default() }
    }

    /// What is known for a case.
    ///
    /// # Errors
    /// When the clinic file or the ledger cannot be used.
    pub fn known(&self, demo: bool) -> Result<Arc<Known>> {
        let place = if demo { &self.demo } else { &self.own };
        let mut place = place.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
        if let Some(known) = &*place {
            return Ok(Arc::clone(known));
        }
        let known = Arc::new(Known::of(stock(self.clinic.as_deref(), demo)?)?);
        *place = Some(Arc::clone(&known));
        Ok(known)
    }
}

/// Parameters and limits of a case, with the products of a clinic.
///
/// # Errors
/// When the ledger is incomplete, or a row of the clinic cannot be used.
pub fn parameters(case: &Case, stock: &Stock) -> Result<(Parameters, Limits)> {
    let known = Known::of(stock.clone())?;
    let limits = known.limits(case);
    Ok((known.parameters, limits))
}

/// The forecast of a case.
///
/// # Errors
/// When the chain refuses the case.
pub fn forecast(case: &Case, stock: &Stock, effort: Effort, now: Instant) -> Result<Forecast> {
    Ok(Known::of(stock.clone())?.forecast(case, effort, now)?)
}

/// The routes of a case, compared.
///
/// # Errors
/// When the ledger or the rulebook is incomplete.
pub fn routes(case: &Case, stock: &Stock, pace: Pace, now: Instant) -> Result<Routes> {
    Ok(Known::of(stock.clone())?.ask(case, now, |question| counsel::routes::routes(question, pace))?)
}

/// The ways that would be compared, with their standing.
///
/// # Errors
/// When the ledger or the rulebook is incomplete.
pub fn ways(case: &Case, stock: &Stock, now: Instant) -> Result<Vec<Way>> {
    Ok(Known::of(stock.clone())?.ask(case, now, counsel::routes::ways))
}

/// A case as counsel looks at it.
pub fn view(case: &Case) -> View<'_> {
    View {
        situation: &case.situation,
        route: &case.route,
        patient: &case.patient,
        visit: &case.visit,
        stamps: &case.stamps,
        observations: &case.observations,
    }
}

/// The present for a case when nobody names it: for a demo or a record with stamps the moment of its last entry, so that the
/// same card is printed every day; otherwise the clock of the machine.
pub fn present(case: &Case, machine: Instant) -> Instant {
    let entries = case.stamps.iter().map(|stamp| stamp.at).chain(case.observations.iter().map(|o| o.at));
    match entries.max() {
        Some(last) if case.demo => last,
        None if case.demo => DEMO_PRESENT,
        _ => machine,
    }
}

/// The moment at which demo plans start: an arbitrary Monday morning.
const DEMO_PRESENT: Instant = Instant::from_millis(1_789_372_800_000);
