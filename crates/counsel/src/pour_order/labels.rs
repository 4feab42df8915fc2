//! Labels over what has been poured: the search behind the order.
//!
//! A label is a set of impressions that have been poured, when each pair of hands is free, what mix it holds, and what has come of it so far.
//! Outcomes add up and are compared in a fixed order of their parts, and hands that are free earlier or hold more can do whatever others
//! can: so of two labels with the same set, one whose hands can do all that the other's can and whose outcome is not worse makes the other needless. Labels
//! that cannot come to more than an order that is already known are dropped as well.

use std::collections::BTreeMap;

use super::{Hands, Outcome, Pour, SLACK_S, Waiting};
use terms::GypsumType;

/// A mix at hand.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Mix {
    stone: GypsumType,
    /// Casts left.
    left: usize,
    /// Pourable until, s.
    until_s: f64,
}

/// A pair of hands.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Pair {
    free_s: f64,
    mix: Option<Mix>,
}

#[derive(Clone, Copy)]
struct Label {
    pairs: [Pair; 2],
    outcome: Outcome,
    /// Its last pour in the list of all pours that were tried.
    last: Option<usize>,
}

/// A pour with the one before it.
struct Step {
    pour: Pour,
    before: Option<usize>,
}

/// The best order, and what it comes to. With `width` at most so many labels are followed for each number of pours, and the order may not
/// be the best.
pub fn best(waiting: &[Waiting], hands: &Hands, width: Option<usize>) -> (Vec<Pour>, Outcome) {
    // What a narrow search finds is what the full one must come to at least.
    let known = match width {
        None => Some(search(waiting, hands, Some(NARROW), None)),
        Some(_) => None,
    };
    let floor = known.as_ref().map(|(_, outcome)| *outcome);
    let found = search(waiting, hands, width, floor.as_ref());
    match known {
        Some(known) if !found.1.beats(&known.1) => known,
        _ => found,
    }
}

/// Labels that are followed to find an order before the full search.
const NARROW: usize = 400;

fn search(
    waiting: &[Waiting],
    hands: &Hands,
    width: Option<usize>,
    floor: Option<&Outcome>,
) -> (Vec<Pour>, Outcome) {
    let nothing = Outcome { worth: 0.0, late: 0, lateness_s: 0.0 };
    let pair = Pair { free_s: hands.from_s, mix: None };
    let mut steps: Vec<Step> = Vec::new();
    let mut layer: BTreeMap<u64, Vec<Label>> = BTreeMap::new();
    layer.insert(0, vec![Label { pairs: [pair; 2], outcome: nothing, last: None }]);
    for _ in 0..waiting.len() {
        let mut next: BTreeMap<u64, Vec<Label>> = BTreeMap::new();
        for (&done, labels) in &layer {
            for label in labels {
                if floor.is_some_and(|floor| is_hopeless(label, done, waiting, hands, floor)) {
                    continue;
                }
                for (place, one) in waiting.iter().enumerate().filter(|(place, _)| done >> place & 1 == 0) {
                    let list = next.entry(done | 1 << place).or_default();
                    for pair in 0..hands.pairs {
                        // Two pairs of hands that are alike do alike.
                        if pair == 1 && label.pairs[0] == label.pairs[1] {
                            continue;
                        }
                        for fresh in [false, true] {
                            if let Some((label, pour)) = extended(label, hands, place, one, pair, fresh) {
                                insert(list, label, hands, &mut steps, pour);
                            }
                        }
                    }
                }
            }
        }
        if let Some(width) = width {
            narrow(&mut next, width);
        }
        layer = next;
    }
    let mut best: Option<Label> = None;
    for label in layer.into_values().flatten() {
        if best.as_ref().is_none_or(|best| label.outcome.beats(&best.outcome)) {
            best = Some(label);
        }
    }
    let Some(best) = best else {
        // Nothing came to more than what was known.
        let least = Outcome { worth: f64::NEG_INFINITY, late: usize::MAX, lateness_s: f64::INFINITY };
        return (Vec::new(), if waiting.is_empty() { nothing } else { least });
    };
    let mut pours = Vec::new();
    let mut at = best.last;
    while let Some(step) = at.and_then(|place| steps.get(place)) {
        pours.push(step.pour.clone());
        at = step.before;
    }
    pours.sort_by(|a, b| a.begins_s.total_cmp(&b.begins_s).then(a.waiting.cmp(&b.waiting)));
    (pours, best.outcome)
}

/// Whether no order from here comes to more than what is known: every impression that is left poured as soon as it could be.
fn is_hopeless(label: &Label, done: u64, waiting: &[Waiting], hands: &Hands, floor: &Outcome) -> bool {
    let [first, second] = label.pairs;
    let free_s = if hands.pairs == 1 { first.free_s } else { first.free_s.min(second.free_s) };
    let mut hoped = label.outcome;
    for (_, one) in waiting.iter().enumerate().filter(|(place, _)| done >> place & 1 == 0) {
        let in_hand = label
            .pairs
            .iter()
            .take(hands.pairs)
            .any(|pair| pair.mix.is_some_and(|mix| mix.stone == one.stone));
        // Another one of its stone may be mixed first, so only a stone that nobody holds and nobody else needs waits for its mix.
        let shared = waiting
            .iter()
            .enumerate()
            .filter(|(place, other)| done >> place & 1 == 0 && other.stone == one.stone)
            .count();
        let begins_s = match in_hand || shared > 1 {
            true => one.ready_s.max(free_s),
            false => one.ready_s.max(free_s + hands.mix_s),
        };
        hoped.worth += one.worth_at(begins_s);
        let late_s = one.late_s(begins_s);
        hoped.lateness_s += late_s;
        hoped.late += usize::from(late_s > 0.0);
    }
    !hoped.beats(floor)
}

/// Of all sets together the labels that have kept most, and then the earliest, go on.
fn narrow(layer: &mut BTreeMap<u64, Vec<Label>>, width: usize) {
    let mut all: Vec<(u64, Label)> =
        layer.iter().flat_map(|(&done, labels)| labels.iter().map(move |label| (done, *label))).collect();
    if all.len() <= width {
        return;
    }
    all.sort_by(|(a_done, a), (b_done, b)| {
        b.outcome
            .worth
            .total_cmp(&a.outcome.worth)
            .then(a.outcome.late.cmp(&b.outcome.late))
            .then(busy(a).total_cmp(&busy(b)))
            .then(a_done.cmp(b_done))
    });
    all.truncate(width);
    layer.clear();
    for (done, label) in all {
        layer.entry(done).or_default().push(label);
    }
}

fn busy(label: &Label) -> f64 {
    label.pairs.iter().map(|pair| pair.free_s).sum()
}

/// The label with one more pour: from the mix at hand, or from a fresh one.
fn extended(
    label: &Label,
    hands: &Hands,
    place: usize,
    one: &Waiting,
    which: usize,
    fresh: bool,
) -> Option<(Label, Pour)> {
    let pair = label.pairs.get(which)?;
    let (mix_s, begins_s, mix) = if fresh {
        // Mixed so that it is ready with the impression.
        let mix_s = pair.free_s.max(one.ready_s - hands.mix_s);
        let mixed_s = mix_s + hands.mix_s;
        let mix = Mix { stone: one.stone, left: hands.casts, until_s: mixed_s + hands.pot_s };
        (Some(mix_s), mixed_s, mix)
    } else {
        let mix = pair.mix.filter(|mix| mix.stone == one.stone && mix.left > 0)?;
        (None, pair.free_s.max(one.ready_s), mix)
    };
    let ends_s = begins_s + hands.pour_s;
    if ends_s > mix.until_s + SLACK_S {
        return None;
    }
    let late_s = one.late_s(begins_s);
    let mut next = *label;
    // A mix too old for one more pour is none.
    let left = Some(Mix { left: mix.left - 1, ..mix })
        .filter(|mix| mix.left > 0 && ends_s + hands.pour_s <= mix.until_s + SLACK_S);
    *next.pairs.get_mut(which)? = Pair { free_s: ends_s, mix: left };
    next.outcome.worth += one.worth_at(begins_s);
    next.outcome.lateness_s += late_s;
    next.outcome.late += usize::from(late_s > 0.0);
    Some((next, Pour { waiting: place, pair: which, mix_s, begins_s, late_s }))
}

/// Takes a label in unless another one makes it needless, and puts out those that it makes needless.
fn insert(list: &mut Vec<Label>, mut label: Label, hands: &Hands, steps: &mut Vec<Step>, pour: Pour) {
    if list.iter().any(|other| serves(other, &label, hands)) {
        return;
    }
    list.retain(|other| !serves(&label, other, hands));
    steps.push(Step { pour, before: label.last });
    label.last = Some(steps.len() - 1);
    list.push(label);
}

/// Whether a label does whatever another one can still do, and has not come to less.
fn serves(a: &Label, b: &Label, hands: &Hands) -> bool {
    if b.outcome.beats(&a.outcome) {
        return false;
    }
    let [a0, a1] = a.pairs;
    let [b0, b1] = b.pairs;
    if hands.pairs == 1 {
        return covers(&a0, &b0);
    }
    (covers(&a0, &b0) && covers(&a1, &b1)) || (covers(&a0, &b1) && covers(&a1, &b0))
}

/// Whether a pair of hands can do all that another one can.
fn covers(a: &Pair, b: &Pair) -> bool {
    if a.free_s > b.free_s + 1e-9 {
        return false;
    }
    match (a.mix, b.mix) {
        (_, None) => true,
        (None, Some(_)) => false,
        (Some(a), Some(b)) => a.stone == b.stone && a.left >= b.left && a.until_s >= b.until_s - 1e-9,
    }
}
