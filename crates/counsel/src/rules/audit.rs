//! One rule against the chain.

use chain::report::Contribution;
use chain::{ChainError, Effort};
use terms::Link;

use super::claim::{Ask, Shares, excess, levels, shares, shares_of};
use super::map::{Fineness, Map, Point, Square, Standing, map};
use super::rule::{Bound, Rule};

/// How much is asked.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pace {
    /// Samples of each point.
    pub effort: Effort,
    /// Points.
    pub fineness: Fineness,
}

impl Pace {
    /// A first answer.
    pub const FIRST: Pace = Pace { effort: Effort { points: 4 }, fineness: Fineness::FIRST };
    /// The usual map.
    pub const USUAL: Pace = Pace { effort: Effort { points: 8 }, fineness: Fineness::USUAL };
}

/// Samples from which root causes are read: sixteen slices of a coordinate need some dozens each, far more than a point of the map.
const CAUSES: Effort = Effort { points: 128 };

/// What the chain says of a rule.
#[derive(Clone, Debug, serde::Serialize)]
pub struct Audit {
    /// The map over the two conditions, each from 0 to 1 along its axis.
    pub map: Map,
    /// What is asked at its own numbers, each with the other condition as usual; at the usual conditions for a bound that states none.
    pub own: Vec<Own>,
    /// What decides, where the rule is weakest.
    pub why: Why,
}

/// A rule at one of its own numbers.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct Own {
    /// The point, in the units of the axes.
    pub at: [f64; 2],
    /// Shares of the samples.
    pub shares: Shares,
}

/// What decides whether a rule holds at one point.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Why {
    /// The point, in the units of the axes.
    pub at: [f64; 2],
    /// How the rule stands there.
    pub standing: Standing,
    /// Shares of the samples there.
    pub shares: Shares,
    /// Of two cases, the shares in which any difference at all is as taught and in which it is the opposite.
    pub direction: Option<[f64; 2]>,
    /// The link of the chain that decides.
    pub link: Link,
    /// What cannot be told there hangs on these root causes, the largest first.
    pub causes: Vec<Contribution>,
}

/// The map of a rule and what decides it.
///
/// # Errors
/// What the chain refuses.
pub fn audit(rule: &Rule, ask: &Ask, fineness: Fineness) -> Result<Audit, ChainError> {
    let map = map(fineness, |[x, y]| levels(rule, ask, rule.x.at(x), rule.y.at(y)))?;
    let at = telling(&map);
    let why = place(rule, ask, rule.x.at(at[0]), rule.y.at(at[1]))?;
    let mut own = Vec::new();
    for at in rule.own_points() {
        own.push(Own { at, shares: shares(rule, ask, at[0], at[1])? });
    }
    Ok(Audit { map, own, why })
}

/// The point that tells most: amid what cannot be told, what fails or what is too small to matter, whichever is largest; the middle of a map that
/// is none of them.
fn telling(map: &Map) -> Point {
    let bare = |square: &Square| square.holds.is_empty();
    let open = |square: &&Square| bare(square) && square.fails.is_empty() && square.slight.is_empty();
    let failing = |square: &&Square| bare(square) && !square.fails.is_empty();
    let slight = |square: &&Square| bare(square) && square.fails.is_empty() && !square.slight.is_empty();
    let mut parts = [
        (map.cannot_tell(), amid(map.squares.iter().filter(open))),
        (map.fails, amid(map.squares.iter().filter(failing))),
        (map.slight, amid(map.squares.iter().filter(slight))),
    ];
    parts.sort_by(|(a, _), (b, _)| b.total_cmp(a));
    parts.into_iter().find_map(|(_, at)| at).unwrap_or([0.5, 0.5])
}

/// The middle of the square nearest to the mean of all their middles; none where there is no square.
fn amid<'a>(squares: impl Iterator<Item = &'a Square>) -> Option<Point> {
    let middles: Vec<Point> =
        squares.map(|square| [0, 1].map(|axis| 0.5 * (square.low[axis] + square.high[axis]))).collect();
    let mean =
        [0, 1].map(|axis| middles.iter().map(|at| at[axis]).sum::<f64>() / middles.len().max(1) as f64);
    let off = |at: &Point| (at[0] - mean[0]) * (at[0] - mean[0]) + (at[1] - mean[1]) * (at[1] - mean[1]);
    middles.into_iter().min_by(|a, b| off(a).total_cmp(&off(b)))
}

/// What decides at one point, in the units of the axes.
///
/// # Errors
/// What the chain refuses.
pub fn place(rule: &Rule, ask: &Ask, x: f64, y: f64) -> Result<Why, ChainError> {
    let here = excess(rule, ask, x, y, &[])?;
    let shares = shares_of(&here);
    let standing = shares.standing();
    let direction = here.matters.map(|_| {
        let [opposite, _, as_taught] = chain::turned(&here.values, 0.0);
        [as_taught, opposite]
    });
    let link = match own_link(&rule.claim.quantity) {
        Some(link) => link,
        None => deciding(rule, ask, x, y, &here.values)?,
    };
    let causes = if standing == Standing::CannotTell {
        // Shares of variance need more samples than a share of the samples does.
        let more = excess(rule, &Ask { effort: CAUSES, ..*ask }, x, y, &[])?;
        more.sampled.causes(&more.values)
    } else {
        Vec::new()
    };
    Ok(Why { at: [x, y], standing, shares, direction, link, causes })
}

/// The link that a number belongs to; none for what all links make together.
fn own_link(id: &str) -> Option<Link> {
    let starts: &[(&str, Link)] = &[
        ("mix.", Link::Mix),
        ("window.mix.", Link::Mix),
        ("window.seat.", Link::Mix),
        ("bowl.", Link::Mix),
        ("sol.", Link::Mix),
        ("window.remove.", Link::Set),
        ("ready.", Link::Set),
        ("film.", Link::Set),
        ("heat.", Link::Set),
        ("access.", Link::Access),
        ("removal.", Link::Removal),
        ("removed.", Link::Set),
        ("mass.", Link::Holding),
        ("strain.holding", Link::Holding),
        ("strain.cure", Link::Set),
        ("strain.thermal", Link::Set),
        ("strain.rewarming", Link::Stone),
        ("stone.", Link::Stone),
        ("separation.", Link::Stone),
        ("window.separate.", Link::Stone),
        // What closes the window of pouring is what happens to the impression while it waits.
        ("window.pour.", Link::Holding),
    ];
    starts.iter().find(|(start, _)| id.starts_with(start)).map(|(_, link)| *link)
}

/// Links that act on what is measured and judged, in the order of the chain.
const LINKS: [Link; 8] =
    [Link::Mix, Link::Set, Link::Access, Link::Removal, Link::Holding, Link::Tray, Link::Stone, Link::Fit];

/// The link that, made ideal, moves the claim most: by the mean over the samples where it is a number.
fn deciding(rule: &Rule, ask: &Ask, x: f64, y: f64, actual: &[f64]) -> Result<Link, ChainError> {
    let mut best = (Link::Holding, -1.0);
    for link in LINKS {
        let ideal = excess(rule, ask, x, y, &[link])?.values;
        let both: Vec<f64> = ideal
            .iter()
            .zip(actual)
            .filter(|(ideal, actual)| ideal.is_finite() && actual.is_finite())
            .map(|(ideal, actual)| ideal - actual)
            .collect();
        let moved = libm::fabs(both.iter().sum::<f64>()) / both.len().max(1) as f64;
        if moved > best.1 {
            best = (link, moved);
        }
    }
    Ok(best.0)
}

impl Rule {
    /// Where it is asked at its own numbers, in the units of the axes.
    fn own_points(&self) -> Vec<[f64; 2]> {
        let [x, y] = [&self.x, &self.y].map(|axis| axis.at(axis.usual_place()));
        let across = self.x.own.iter().map(|own| [*own, y]);
        let points: Vec<[f64; 2]> = across.chain(self.y.own.iter().map(|own| [x, *own])).collect();
        if points.is_empty() && !self.compares() { vec![[x, y]] } else { points }
    }

    /// Ledger keys that its claim quotes.
    pub fn quoted(&self) -> Option<&str> {
        match &self.claim.against {
            Bound::Taught(key, _) => Some(key),
            _ => None,
        }
    }
}
