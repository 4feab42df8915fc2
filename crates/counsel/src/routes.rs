//! Ways to make the copy, compared.
//!
//! What is at hand gives candidates ([`candidates`]); the rulebook gives each its standing ([`standing`]); the chain follows those that are
//! not blocked ([`follow`]); [`rank`] puts them in order. [`routes`] is the way through, top to bottom.

mod candidates;
mod change;
mod clinic;
mod elsewhere;
mod follow;
mod least_squares;
mod rank;
mod report;
mod standing;
mod stops;
mod times;

pub use change::Change;
pub use clinic::{Clinic, Keeping, Kit, Means, Remake, TrayAtHand};
pub use rank::{Difference, Scale};
pub use report::{Asked, Blocked, NotToday, ORDER, Refused, RouteLine, Routes, Scan, ScanFigure, Then};
pub use times::{Times, times};

use chain::{ChainError, Effort};
use ledger::{Limits, Parameters};
use terms::Instant;

use crate::View;
use crate::cautions::Rulebook;
use candidates::Candidate;
use change::TURNS;
use follow::{Entered, Followed, follow, order};
use standing::Standing;

/// What a comparison is asked of.
#[derive(Clone, Copy)]
pub struct Question<'a> {
    /// The case.
    pub view: View<'a>,
    /// What is at hand.
    pub clinic: &'a Clinic,
    /// The cautions.
    pub rulebook: &'a Rulebook,
    /// The ledger.
    pub parameters: &'a Parameters,
    /// Limits.
    pub limits: &'a Limits,
    /// The present.
    pub now: Instant,
}

/// How much is followed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Pace {
    /// Samples of a route.
    pub effort: Effort,
    /// Samples of a route under a single change.
    pub turned: Effort,
    /// How many of the best are turned; none is a first answer.
    pub contenders: usize,
}

impl Pace {
    /// A first answer.
    pub const FIRST: Pace =
        Pace { effort: Effort { points: 4 }, turned: Effort { points: 4 }, contenders: 0 };
    /// The whole answer.
    pub const WHOLE: Pace =
        Pace { effort: Effort { points: 64 }, turned: Effort { points: 8 }, contenders: 3 };
}

/// Compares the routes of a case.
///
/// # Errors
/// When the ledger lacks a row. A route that the chain refuses is told, and the others are compared.
pub fn routes(asked: &Question, pace: Pace) -> Result<Routes, ChainError> {
    let view = &asked.view;
    let means = candidates::means(view, asked.clinic);
    let planned = candidates::planned_means(view);
    let mut refused = Vec::new();

    // Every material in every tray with all means; what the stops block is counted and goes no further.
    let (mut entered, mut blocked) = (Vec::new(), stops::Tally::default());
    for first in candidates::with_means(view, asked.clinic, means.first().unwrap_or(&UNSAID)) {
        let changed = |means| candidates::change_means(&first, means, planned.as_ref());
        let mut together: Vec<Entered> = match means.as_slice() {
            [] => vec![enter(asked, first)],
            means => means.iter().map(changed).map(|candidate| enter(asked, candidate)).collect(),
        };
        for entered in &together {
            blocked.count(entered);
        }
        together.retain(|entered| entered.standing.stops.is_empty());
        entered.push(together);
    }
    let followed = follow(asked, entered, pace.effort, &mut refused)?;
    let scale = Scale::of(followed.iter().map(|followed| &followed.outlook), pace.effort.points);

    let (open, waiting) = apart(&followed);
    let groups: Vec<Vec<&Followed>> = order(&scale, &open)
        .into_iter()
        .map(|group| group.into_iter().filter_map(|place| open.get(place).copied()).collect())
        .collect();
    let ordered: Vec<&Followed> = groups.iter().flatten().copied().collect();
    let leaders: Vec<&Followed> = ordered.iter().copied().take(pace.contenders).collect();
    let first = groups.iter().flatten().next().map(|followed| &followed.outlook);
    let line = |followed: &&Followed| followed.line(&scale, first);
    Ok(Routes {
        clinic: asked.clinic.title.clone(),
        order: ORDER,
        samples: pace.effort.samples(),
        ranked: groups.iter().map(|group| group.iter().map(line).collect()).collect(),
        waiting: waiting.iter().map(|followed| followed.line(&scale, None)).collect(),
        questions: stops::questions(&waiting),
        blocked: blocked.report(),
        refused,
        changes: change::changes(asked, &leaders, pace.turned)?,
        tried: if leaders.is_empty() { Vec::new() } else { TURNS.iter().map(|(words, _)| *words).collect() },
        not_today: elsewhere::not_today(asked, &scale, &ordered, &waiting, &means, pace)?,
        scan: elsewhere::scan(asked)?,
    })
}

/// A way to make the copy before anything of it is computed.
#[derive(Clone, Debug, PartialEq)]
pub struct Way {
    /// Material and technique, as in its [`RouteLine`].
    pub kit: String,
    /// Tray.
    pub tray: String,
    /// Displacement and medicament.
    pub means: String,
    /// The visit, with its electrode.
    pub visit: terms::Answers,
    /// The mouth and the room, with its medicament.
    pub situation: terms::Situation,
    /// The route.
    pub route: terms::Route,
    /// Rules that block it.
    pub stops: Vec<String>,
    /// Facts that it waits for.
    pub waits_for: Vec<&'static str>,
    /// Other rules that hold for it.
    pub others: Vec<String>,
}

/// Every way that is compared, with its standing; the chain is not asked.
pub fn ways(asked: &Question) -> Vec<Way> {
    let view = &asked.view;
    let means = candidates::means(view, asked.clinic);
    let planned = candidates::planned_means(view);
    let ids = |rules: &[&crate::cautions::Rule]| rules.iter().map(|rule| rule.id.clone()).collect();
    candidates::with_means(view, asked.clinic, means.first().unwrap_or(&UNSAID))
        .iter()
        .flat_map(|first| means.iter().map(|means| candidates::change_means(first, means, planned.as_ref())))
        .map(|candidate| {
            let standing = Standing::of(asked.rulebook, &candidate, view);
            Way {
                stops: ids(&standing.stops),
                waits_for: standing.waits.keys().copied().collect(),
                others: ids(&standing.others),
                kit: candidate.kit,
                tray: candidate.tray,
                means: candidate.means.words(),
                visit: candidate.visit,
                situation: candidate.situation,
                route: candidate.route,
            }
        })
        .collect()
}

/// What stands in where neither the case nor the clinic says how the gum is displaced.
const UNSAID: Means = Means {
    displacement: terms::Displacement::None,
    cords_leave: terms::Fact::NotApplicable,
    medicament: terms::Fact::Unknown,
    electrode: terms::Fact::NotApplicable,
};

fn enter<'r>(asked: &Question<'r>, candidate: Candidate) -> Entered<'r> {
    let standing = Standing::of(asked.rulebook, &candidate, &asked.view);
    Entered { candidate, standing }
}

/// Those that are open, and those that wait for answers.
fn apart<'a, 'r>(followed: &'a [Followed<'r>]) -> (Vec<&'a Followed<'r>>, Vec<&'a Followed<'r>>) {
    followed.iter().partition(|followed| followed.standing.is_open())
}
