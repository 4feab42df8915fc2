//! A set: from a number and a blueprint to frozen items, and what has changed since.

use std::collections::{BTreeMap, BTreeSet};

use serde::{Deserialize, Serialize};

use crate::draw::Draw;
use crate::generate::{Frozen, Rejected, generate};
use crate::item::{Item, Level};
use crate::key::World;
use crate::template::{Template, Templates};

/// The form in which sets are kept.
pub const FORM: u32 = 1;

/// Fewest and most items of a set.
pub const ITEMS: std::ops::RangeInclusive<usize> = 1..=60;

/// How many items of each topic and level a set has.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Blueprint {
    /// Items in all.
    pub items: usize,
    /// Weight of each topic; topics that are not named have none. Empty means every topic, by its number of templates.
    #[serde(default)]
    pub topics: BTreeMap<String, f64>,
    /// Weight of each level; empty means that levels fall as they come.
    #[serde(default)]
    pub levels: BTreeMap<Level, f64>,
}

impl Blueprint {
    /// A blueprint over all topics, half of its items applied to a case.
    pub fn of_items(items: usize) -> Blueprint {
        let levels = [(Level::Recall, 1.0), (Level::Apply, 2.0), (Level::Analyse, 1.0)];
        Blueprint { items, topics: BTreeMap::new(), levels: levels.into_iter().collect() }
    }
}

/// A set as it was composed, with all that it needs to be set, marked and looked at again.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct QuestionSet {
    /// Form of this document.
    pub form: u32,
    /// Number of the set.
    pub number: u64,
    /// Blueprint; none for a set taken over from elsewhere.
    pub blueprint: Option<Blueprint>,
    /// Version of the models.
    pub model_version: String,
    /// Hash of the ledger.
    pub parameters_hash: String,
    /// Items in their order.
    pub items: Vec<Frozen>,
    /// What the blueprint asked for and could not be had, in words.
    pub wanting: Vec<String>,
}

/// A set that cannot be composed.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum SetError {
    /// The number of items.
    #[error("items: given {given}; allowed {} to {}", ITEMS.start(), ITEMS.end())]
    Items {
        /// Given.
        given: usize,
    },
    /// Two items of one identifier, which answers could not tell apart.
    #[error("items: given two of the identifier \"{given}\"; allowed one")]
    Twice {
        /// Identifier.
        given: String,
    },
    /// A topic that no template has, or a weight that is none.
    #[error("topic: given \"{given}\"; allowed {allowed}")]
    Topic {
        /// Given.
        given: String,
        /// Allowed.
        allowed: String,
    },
    /// A weight that is not a number above zero.
    #[error("weight of {of}: given {given}; allowed a number above zero")]
    Weight {
        /// Of what.
        of: String,
        /// Given.
        given: f64,
    },
}

/// Composes a set. The same number, blueprint, templates and ledger give the same set.
///
/// # Errors
/// A blueprint that cannot be read; what it asks for beyond the templates is said in the set.
pub fn compose(
    world: &World,
    templates: &Templates,
    number: u64,
    blueprint: &Blueprint,
) -> Result<QuestionSet, SetError> {
    let topics = checked(blueprint, templates)?;
    let quota = shares(blueprint.items, &topics.iter().map(|(_, weight)| *weight).collect::<Vec<_>>());
    let levels: Vec<(Level, f64)> =
        blueprint.levels.iter().map(|(level, weight)| (*level, *weight)).collect();
    let wanted = shares(blueprint.items, &levels.iter().map(|(_, weight)| *weight).collect::<Vec<_>>());
    let mut open: BTreeMap<Level, usize> =
        levels.iter().zip(wanted).map(|((level, _), count)| (*level, count)).collect();
    let seed = format!("set.{number}");
    let draw = Draw { of: &seed, number, attempt: 0 };
    let mut items: Vec<Frozen> = Vec::new();
    let mut wanting = Vec::new();
    for ((topic, _), count) in topics.iter().zip(quota) {
        let of_topic: Vec<&Template> = templates.list.iter().filter(|t| &t.topic == topic).collect();
        let mut order: Vec<&Template> =
            draw.order(topic, of_topic.len()).into_iter().map(|place| of_topic[place]).collect();
        let mut taken = 0;
        while taken < count && !order.is_empty() {
            // A level that is still wanted comes first; the drawn order decides between equals.
            let next =
                order.iter().position(|t| open.get(&t.level).is_some_and(|left| *left > 0)).unwrap_or(0);
            let template = order.remove(next);
            let own = draw.below(&template.id, 1_000_000) as u64;
            match generate(world, template, &templates.misconceptions, own) {
                Ok(frozen) => {
                    items.push(frozen);
                    taken += 1;
                    if let Some(left) = open.get_mut(&template.level) {
                        *left = left.saturating_sub(1);
                    }
                }
                Err(Rejected { template, number, .. }) => {
                    wanting.push(format!("{template}, number {number}, has no sound draw and was left out"));
                }
            }
        }
        if taken < count {
            wanting.push(format!("{topic}: {count} asked for, {taken} to be had"));
        }
    }
    for (level, left) in open.iter().filter(|(_, left)| **left > 0) {
        wanting.push(format!("level {}: {left} fewer than asked for", level.word()));
    }
    let order = draw.order("items", items.len());
    let mut placed: Vec<Option<Frozen>> = items.into_iter().map(Some).collect();
    let items = order.into_iter().filter_map(|place| placed[place].take()).collect();
    Ok(QuestionSet {
        form: FORM,
        number,
        blueprint: Some(blueprint.clone()),
        model_version: env!("CARGO_PKG_VERSION").to_owned(),
        parameters_hash: world.parameters.hash().to_owned(),
        items,
        wanting,
    })
}

/// A set of items read from elsewhere, to be set and marked like any other; `left_out` is what of them could not be read.
///
/// # Errors
/// Too few or too many items, or two of one identifier.
pub fn take_over(
    world: &World,
    number: u64,
    items: Vec<Item>,
    left_out: Vec<String>,
) -> Result<QuestionSet, SetError> {
    if !ITEMS.contains(&items.len()) {
        return Err(SetError::Items { given: items.len() });
    }
    let mut known = BTreeSet::new();
    if let Some(twice) = items.iter().find(|item| !known.insert(item.id.as_str())) {
        return Err(SetError::Twice { given: twice.id.clone() });
    }
    Ok(QuestionSet {
        form: FORM,
        number,
        blueprint: None,
        model_version: env!("CARGO_PKG_VERSION").to_owned(),
        parameters_hash: world.parameters.hash().to_owned(),
        items: items.into_iter().map(|item| Frozen { item, made: None }).collect(),
        wanting: left_out,
    })
}

fn checked(blueprint: &Blueprint, templates: &Templates) -> Result<Vec<(String, f64)>, SetError> {
    if !ITEMS.contains(&blueprint.items) {
        return Err(SetError::Items { given: blueprint.items });
    }
    let known = templates.topics();
    let weight = |of: &str, given: f64| match given.is_finite() && given > 0.0 {
        true => Ok(given),
        false => Err(SetError::Weight { of: of.to_owned(), given }),
    };
    for (level, given) in &blueprint.levels {
        weight(level.word(), *given)?;
    }
    if blueprint.topics.is_empty() {
        let count = |topic: &str| templates.list.iter().filter(|template| template.topic == topic).count();
        return Ok(known.iter().map(|topic| ((*topic).to_owned(), count(topic) as f64)).collect());
    }
    for (topic, given) in &blueprint.topics {
        weight(topic, *given)?;
        if !known.contains(&topic.as_str()) {
            return Err(SetError::Topic { given: topic.clone(), allowed: known.join(", ") });
        }
    }
    // In the order of the templates, whatever the order of the blueprint.
    Ok(known.iter().filter_map(|topic| Some(((*topic).to_owned(), *blueprint.topics.get(*topic)?))).collect())
}

/// Whole numbers in the proportion of the weights that sum to `count`: the largest remainders (Hamilton) are rounded up, the first of equals first.
fn shares(count: usize, weights: &[f64]) -> Vec<usize> {
    let total: f64 = weights.iter().sum();
    if total <= 0.0 {
        return vec![0; weights.len()];
    }
    let exact: Vec<f64> = weights.iter().map(|weight| count as f64 * weight / total).collect();
    let mut whole: Vec<usize> = exact.iter().map(|exact| libm::floor(*exact) as usize).collect();
    let mut order: Vec<usize> = (0..weights.len()).collect();
    let rest = |place: &usize| exact[*place] - libm::floor(exact[*place]);
    order.sort_by(|a, b| rest(b).total_cmp(&rest(a)).then(a.cmp(b)));
    let left = count.saturating_sub(whole.iter().sum());
    for place in order.into_iter().take(left) {
        whole[place] += 1;
    }
    whole
}

/// An item of a frozen set that would come out otherwise today.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Changed {
    /// Place in the set, from 1.
    pub place: usize,
    /// Identifier.
    pub item: String,
    /// What has changed, in words.
    pub what: String,
    /// Whether the key itself is another.
    pub key: bool,
}

/// Which of the items that were made here would come out otherwise with this ledger, rulebook and these templates.
pub fn recheck(world: &World, templates: &Templates, set: &QuestionSet) -> Vec<Changed> {
    let mut changed = Vec::new();
    for (place, frozen) in set.items.iter().enumerate() {
        let mut say = |what: String, key: bool| {
            changed.push(Changed { place: place + 1, item: frozen.item.id.clone(), what, key });
        };
        // What was read from elsewhere has the key of its author, and nothing here to ask.
        let Some(made) = &frozen.made else { continue };
        let Some(template) = templates.find(&made.template) else {
            say("its template is not there any more".to_owned(), false);
            continue;
        };
        match generate(world, template, &templates.misconceptions, made.number) {
            Ok(now) if now == *frozen => {}
            Ok(now) if now.item.body != frozen.item.body => {
                say("its key or its options are others today".to_owned(), true);
            }
            Ok(now) if now.made.as_ref().is_none_or(|now| now.evidence.hash != made.evidence.hash) => {
                say(
                    "the numbers that its key was found from have changed; the key has not".to_owned(),
                    false,
                );
            }
            Ok(_) => say("its words have changed".to_owned(), false),
            Err(rejected) => say(format!("today it would be left out: {}", rejected.why.join("; ")), true),
        }
    }
    changed
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shares_sum_and_follow_the_weights() {
        assert_eq!(shares(10, &[1.0, 1.0, 1.0]), [4, 3, 3]);
        assert_eq!(shares(7, &[3.0, 1.0, 1.0, 1.0, 1.0]), [3, 1, 1, 1, 1]);
        assert_eq!(shares(2, &[0.6, 0.6, 0.8]), [1, 0, 1]);
        assert_eq!(shares(5, &[]), Vec::<usize>::new());
    }
}
