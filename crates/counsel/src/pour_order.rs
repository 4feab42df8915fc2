//! Several impressions and few hands: which to pour first.
//!
//! A pair of hands mixes stone of one class, which serves a few casts while it stays pourable, and pours them one after another. Every
//! impression has a moment from which it may be poured and a worth that falls with the moment its pour begins: its stake times the chance
//! that the cast serves, nothing after a hard end. The order is sought that keeps most worth in all; among those, the one with the fewest
//! begun after their end; among those, the least lateness in all ([`Outcome`]).
//!
//! [`order`] is exact up to [`MOST_EXACT`] impressions: labels over the sets of what has been poured, of which one is dropped only where
//! another is at least as good in everything that can still matter. Beyond that a beam of labels is followed, and the worth that any order
//! could keep bounds what is lost.

mod labels;

use terms::GypsumType;

/// Most impressions for which the order is exact.
pub const MOST_EXACT: usize = 14;

/// Most impressions at once.
pub const MOST: usize = 40;

/// An impression that waits.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Waiting {
    /// Code of its case.
    pub code: String,
    /// It may be poured from this moment on, s.
    pub ready_s: f64,
    /// Its pour is to begin by this moment, s; none where nothing sets an end.
    pub begin_by_s: Option<f64>,
    /// Worth of a pour that begins at a moment: (s, worth) in the order of time, never rising; before the first as the first, after the last
    /// as the last. After `begin_by_s` nothing is left of it.
    pub worth: Vec<(f64, f64)>,
    /// Its stone.
    pub stone: GypsumType,
}

/// The bench.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct Hands {
    /// Pairs of hands, one or two.
    pub pairs: usize,
    /// From when they are free, s.
    pub from_s: f64,
    /// Mixing, s.
    pub mix_s: f64,
    /// Pouring one cast, s.
    pub pour_s: f64,
    /// Casts of one mix.
    pub casts: usize,
    /// How long a mix stays pourable, from the end of mixing to the end of a pour, s.
    pub pot_s: f64,
}

/// What an order comes to; the first that differs decides.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct Outcome {
    /// Worth that is kept.
    pub worth: f64,
    /// Pours that begin after their end.
    pub late: usize,
    /// Sum of how late they are, s.
    pub lateness_s: f64,
}

/// One pour.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Pour {
    /// Place among the impressions.
    pub waiting: usize,
    /// Which pair of hands.
    pub pair: usize,
    /// When its mix is begun, s; none where it is poured from the mix before.
    pub mix_s: Option<f64>,
    /// When the pour begins, s.
    pub begins_s: f64,
    /// How late that is, s.
    pub late_s: f64,
}

/// An order with what it comes to.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Order {
    /// Pours in the order of time.
    pub pours: Vec<Pour>,
    /// What it comes to.
    pub outcome: Outcome,
    /// No order keeps more worth than this.
    pub bound: f64,
    /// Whether the order is the best there is.
    pub exact: bool,
}

/// What could be done where an order loses something, with what it would come to.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Rescue {
    /// What is done.
    pub what: Help,
    /// The best order then.
    pub order: Order,
}

/// A help.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Help {
    /// This one is kept so that it bears waiting.
    Seal(usize),
    /// This one is poured in that stone, from the mix of others.
    Stone(usize, GypsumType),
    /// A second pair of hands.
    SecondHands,
}

/// A queue that cannot be put in order.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("{field}: given {given}; allowed {allowed}")]
pub struct QueueError {
    /// Field.
    pub field: String,
    /// What was given.
    pub given: String,
    /// What is allowed.
    pub allowed: String,
}

impl Waiting {
    /// Worth of a pour that begins at a moment.
    pub fn worth_at(&self, begins_s: f64) -> f64 {
        if self.begin_by_s.is_some_and(|end_s| begins_s > end_s + SLACK_S) {
            return 0.0;
        }
        let after = self.worth.partition_point(|(at_s, _)| *at_s <= begins_s);
        match (after.checked_sub(1).and_then(|before| self.worth.get(before)), self.worth.get(after)) {
            (Some(&(a_s, a)), Some(&(b_s, b))) if b_s > a_s => {
                a + (b - a) * ((begins_s - a_s) / (b_s - a_s)).clamp(0.0, 1.0)
            }
            (Some(&(_, last)), _) => last,
            (None, Some(&(_, first))) => first,
            (None, None) => 0.0,
        }
    }

    /// How late a pour that begins at a moment is, s.
    pub fn late_s(&self, begins_s: f64) -> f64 {
        match self.begin_by_s {
            Some(end_s) if begins_s > end_s + SLACK_S => begins_s - end_s,
            _ => 0.0,
        }
    }
}

/// Sums of moments are off by a rounding; that is not late.
const SLACK_S: f64 = 1e-6;

impl Outcome {
    /// Whether this outcome is better than another one.
    pub fn beats(&self, other: &Outcome) -> bool {
        let worth = self.worth - other.worth;
        if worth.abs() > 1e-9 {
            return worth > 0.0;
        }
        if self.late != other.late {
            return self.late < other.late;
        }
        self.lateness_s < other.lateness_s - SLACK_S
    }
}

/// The order that keeps most.
///
/// # Errors
/// More impressions than are followed, a worth that rises, or a bench that cannot pour.
pub fn order(waiting: &[Waiting], hands: &Hands) -> Result<Order, QueueError> {
    check(waiting, hands)?;
    let width = (waiting.len() > MOST_EXACT).then_some(BEAM);
    let (pours, outcome) = labels::best(waiting, hands, width);
    // No pour begins before its impression is ready or a first mix is made.
    let earliest = |one: &Waiting| one.ready_s.max(hands.from_s + hands.mix_s);
    let bound = waiting.iter().map(|one| one.worth_at(earliest(one))).sum();
    let exact = width.is_none();
    Ok(Order { pours, outcome, bound: if exact { outcome.worth } else { bound }, exact })
}

/// Labels that are followed for each number of pours where the order is not exact.
const BEAM: usize = 3000;

/// Where an order loses something: one help at a time, from the cheapest on. `may_seal` says whether an impression can be kept so that it bears
/// waiting, `stones` which other stones would do.
///
/// # Errors
/// As for [`order`].
pub fn rescues(
    waiting: &[Waiting],
    hands: &Hands,
    may_seal: impl Fn(usize) -> bool,
    stones: impl Fn(usize) -> Vec<GypsumType>,
) -> Result<Vec<Rescue>, QueueError> {
    let plain = order(waiting, hands)?;
    let mut list = Vec::new();
    let mut offer = |what: Help, waiting: &[Waiting], hands: &Hands| -> Result<(), QueueError> {
        let better = order(waiting, hands)?;
        if better.outcome.beats(&plain.outcome) {
            list.push(Rescue { what, order: better });
        }
        Ok(())
    };
    for (place, one) in waiting.iter().enumerate() {
        if may_seal(place) && one.begin_by_s.is_some() {
            let mut sealed = waiting.to_vec();
            if let Some(one) = sealed.get_mut(place) {
                let first = one.worth_at(one.ready_s);
                *one = Waiting { begin_by_s: None, worth: vec![(one.ready_s, first)], ..one.clone() };
            }
            offer(Help::Seal(place), &sealed, hands)?;
        }
    }
    for (place, one) in waiting.iter().enumerate() {
        for stone in stones(place).into_iter().filter(|stone| *stone != one.stone) {
            let mut changed = waiting.to_vec();
            if let Some(one) = changed.get_mut(place) {
                one.stone = stone;
            }
            offer(Help::Stone(place, stone), &changed, hands)?;
        }
    }
    if hands.pairs == 1 {
        offer(Help::SecondHands, waiting, &Hands { pairs: 2, ..*hands })?;
    }
    Ok(list)
}

/// A smallest set of impressions that cannot all be begun by their ends, found by leaving out one after another; nothing where all can.
///
/// # Errors
/// As for [`order`].
pub fn cannot_all(waiting: &[Waiting], hands: &Hands) -> Result<Vec<usize>, QueueError> {
    // Only the ends count here, so every worth is the same.
    let plain: Vec<Waiting> =
        waiting.iter().map(|one| Waiting { worth: vec![(one.ready_s, 1.0)], ..one.clone() }).collect();
    let late = |places: &[usize]| -> Result<usize, QueueError> {
        let some: Vec<Waiting> = places.iter().filter_map(|&place| plain.get(place).cloned()).collect();
        Ok(order(&some, hands)?.outcome.late)
    };
    let mut places: Vec<usize> = (0..waiting.len()).collect();
    if late(&places)? == 0 {
        return Ok(Vec::new());
    }
    for place in 0..waiting.len() {
        let fewer: Vec<usize> = places.iter().copied().filter(|other| *other != place).collect();
        if late(&fewer)? > 0 {
            places = fewer;
        }
    }
    Ok(places)
}

fn check(waiting: &[Waiting], hands: &Hands) -> Result<(), QueueError> {
    let refuse = |field: String, given: String, allowed: &str| {
        Err(QueueError { field, given, allowed: allowed.to_owned() })
    };
    if waiting.len() > MOST {
        return refuse("queue".to_owned(), waiting.len().to_string(), "up to 40 impressions");
    }
    if !(1..=2).contains(&hands.pairs) {
        return refuse("hands".to_owned(), hands.pairs.to_string(), "1 or 2");
    }
    if !(1..=6).contains(&hands.casts) {
        return refuse("casts of a mix".to_owned(), hands.casts.to_string(), "1 to 6");
    }
    for (name, s) in [("mixing", hands.mix_s), ("pouring", hands.pour_s), ("pot life", hands.pot_s)] {
        if !(0.0..=3600.0).contains(&s) {
            return refuse(name.to_owned(), format!("{s} s"), "0 to 60 min");
        }
    }
    if hands.pour_s > hands.pot_s {
        return refuse(
            "pouring".to_owned(),
            format!("{} s", hands.pour_s),
            "no longer than the pot life of a mix",
        );
    }
    for one in waiting {
        let finite = one.ready_s.is_finite() && one.worth.iter().all(|(s, w)| s.is_finite() && w.is_finite());
        let falls = one.worth.windows(2).all(|pair| match pair {
            [(a_s, a), (b_s, b)] => a_s <= b_s && a >= b,
            _ => true,
        });
        if !finite || !falls || one.worth.iter().any(|(_, worth)| *worth < 0.0) {
            return refuse(
                one.code.clone(),
                "a worth that rises or is no number".to_owned(),
                "one that never rises",
            );
        }
    }
    Ok(())
}
