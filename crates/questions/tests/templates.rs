//! Every shipped template, with its numbers: one key that can be defended, words that do not give it away, places of keys that tell nothing.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test stops where its premise fails")]

use std::collections::BTreeMap;

use counsel::cautions::Rulebook;
use ledger::{Limits, Parameters};
use questions::{Body, Frozen, STABLE, Templates, World, generate, wording};

/// Numbers of each template; `NUMBERS=200 cargo test -p questions --test templates` asks for more.
fn numbers() -> u64 {
    std::env::var("NUMBERS").ok().and_then(|text| text.parse().ok()).unwrap_or(20)
}

struct House {
    parameters: Parameters,
    limits: Limits,
    rulebook: Rulebook,
    templates: Templates,
}

impl House {
    fn shipped() -> House {
        let parameters = ledger::shipped().unwrap();
        let limits = Limits::of(&parameters).unwrap();
        let rulebook = Rulebook::shipped().unwrap();
        let templates = Templates::shipped(&parameters, &rulebook).unwrap();
        House { parameters, limits, rulebook, templates }
    }

    fn world(&self) -> World<'_> {
        World {
            parameters: &self.parameters,
            limits: &self.limits,
            rulebook: &self.rulebook,
            effort: World::EFFORT,
        }
    }
}

/// Upper 0.1 % point of chi-square for 2, 3 and 4 degrees of freedom: NIST/SEMATECH e-Handbook of Statistical Methods, table 1.3.6.7.4.
const CHI_SQUARE: [f64; 3] = [13.816, 16.266, 18.467];

#[test]
fn every_template_with_its_numbers_makes_sound_items() {
    let house = House::shipped();
    let world = house.world();
    let mut places: BTreeMap<usize, Vec<u32>> = BTreeMap::new();
    let mut failed = Vec::new();
    for template in &house.templates.list {
        for number in 0..numbers() {
            match generate(&world, template, &house.templates.misconceptions, number) {
                Ok(frozen) => sound(&frozen, &mut places),
                Err(rejected) => failed.push(rejected.to_string()),
            }
        }
    }
    assert!(failed.is_empty(), "{} numbers without an item:\n{}", failed.len(), failed.join("\n"));
    for (count, keys) in places {
        let total: u32 = keys.iter().sum();
        let expected = f64::from(total) / count as f64;
        let off = |keys: u32| f64::from(keys) - expected;
        let chi: f64 = keys.iter().map(|&keys| off(keys) * off(keys) / expected).sum();
        assert!(
            chi < CHI_SQUARE[count - 3],
            "keys of {count} options stand at {keys:?}: chi-square {chi:.1}"
        );
    }
}

fn sound(frozen: &Frozen, places: &mut BTreeMap<usize, Vec<u32>>) {
    let item = &frozen.item;
    let holds_in = frozen.made.as_ref().unwrap().evidence.holds_in;
    assert!(holds_in >= STABLE, "{}: {holds_in}", item.id);
    assert_eq!(wording::faults(item), Vec::<String>::new(), "{}", item.id);
    assert!(questions::item::is_identifier(&item.id), "{}", item.id);
    if let Body::Choice { options, key, in_order } = &item.body {
        assert!(options[*key].misconception.is_none(), "{}", item.id);
        if !in_order {
            places.entry(options.len()).or_insert_with(|| vec![0; options.len()])[*key] += 1;
        }
    }
}

#[test]
fn the_same_number_is_the_same_item_and_another_is_not() {
    let house = House::shipped();
    let world = house.world();
    for template in house.templates.list.iter().filter(|template| !template.vary.is_empty()).step_by(7) {
        let of = |number| generate(&world, template, &house.templates.misconceptions, number).unwrap();
        assert_eq!(of(3), of(3), "{}", template.id);
        // A draw may show in the options alone, whose order differs from number to number in any case.
        let options = |body: &Body| match body {
            Body::Choice { options, .. } => options.iter().map(|option| option.text.clone()).collect(),
            Body::Order { steps, .. } => steps.iter().map(|step| step.text.clone()).collect(),
            Body::Numeric { .. } => std::collections::BTreeSet::new(),
        };
        let others = (0..12).map(of).map(|frozen| {
            let item = frozen.item;
            (item.stem, item.lead_in, options(&item.body))
        });
        let apart: std::collections::BTreeSet<_> = others.collect();
        assert!(apart.len() > 1, "{}: every number asks the same", template.id);
    }
}
