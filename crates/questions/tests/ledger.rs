//! An edit of the ledger changes exactly the items that depend on it, and names them in the sets that are already frozen.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test stops where its premise fails")]

use counsel::cautions::Rulebook;
use ledger::{Limits, Parameters};
use questions::{Blueprint, Frozen, Templates, World, compose, generate, recheck};

/// The ledger with the central value of one row multiplied.
fn edited(key: &str, factor: f64) -> Parameters {
    let mut files = Vec::new();
    let mut found = 0;
    for &(name, text) in ledger::FILES {
        let mut rows = Vec::new();
        let mut inside = false;
        for line in text.lines() {
            if line.trim_start().starts_with("[[") {
                inside = false;
            }
            if line.trim() == format!("key = \"{key}\"") {
                inside = true;
            }
            let central = line.strip_prefix("central = ").filter(|_| inside);
            rows.push(match central.and_then(|text| text.split('#').next()?.trim().parse::<f64>().ok()) {
                Some(value) => {
                    found += 1;
                    format!("central = {}", value * factor)
                }
                None => line.to_owned(),
            });
        }
        files.push((name, rows.join("\n")));
    }
    assert_eq!(found, 1, "{key} has one central value");
    let files: Vec<(&str, &str)> = files.iter().map(|(name, text)| (*name, text.as_str())).collect();
    Parameters::read(&files).unwrap()
}

fn all(parameters: &Parameters, rulebook: &Rulebook, templates: &Templates) -> Vec<Option<Frozen>> {
    let limits = Limits::of(parameters).unwrap();
    let world = World { parameters, limits: &limits, rulebook, effort: World::EFFORT };
    templates.list.iter().map(|t| generate(&world, t, &templates.misconceptions, 0).ok()).collect()
}

fn hash_of(frozen: &questions::Frozen) -> &str {
    &frozen.made.as_ref().unwrap().evidence.hash
}

#[test]
fn an_edit_changes_what_depends_on_it_and_nothing_else() {
    let shipped = ledger::shipped().unwrap();
    let rulebook = Rulebook::shipped().unwrap();
    let templates = Templates::shipped(&shipped, &rulebook).unwrap();
    let before = all(&shipped, &rulebook, &templates);
    // What is found from the row, and a template that nothing of it can reach.
    for (key, reached, out_of_reach) in [
        ("alginate/syneresis.strain", "alginate", "polyether"),
        ("polyether/set.activation_energy", "polyether", "alginate"),
    ] {
        let now = edited(key, 1.02);
        let after = all(&now, &rulebook, &templates);
        let mut changed = Vec::new();
        for (template, (before, after)) in templates.list.iter().zip(before.iter().zip(&after)) {
            let text =
                case_file::write(&template.case) + &format!("{:?}{:?}", template.sets, template.options);
            let (Some(before), Some(after)) = (before, after) else { continue };
            let differs = hash_of(before) != hash_of(after);
            if before.item.rests_on.iter().any(|on| on == key) {
                assert!(differs, "{key}: {} rests on it and has not changed", template.id);
            }
            if !differs {
                assert_eq!(before, after, "{key}: {} differs without evidence", template.id);
            } else {
                changed.push(template.id.as_str());
                let uses = |class: &str| text.contains(&format!("\"{class}\""));
                assert!(
                    uses(reached) || !uses(out_of_reach),
                    "{key}: {} has changed, and its case has no {reached}",
                    template.id
                );
            }
        }
        assert!(!changed.is_empty(), "{key}: nothing has changed");
        assert!(changed.len() < templates.list.len(), "{key}: everything has changed");
    }
}

#[test]
fn a_frozen_set_names_the_items_that_would_come_out_otherwise() {
    let shipped = ledger::shipped().unwrap();
    let rulebook = Rulebook::shipped().unwrap();
    let templates = Templates::shipped(&shipped, &rulebook).unwrap();
    let limits = Limits::of(&shipped).unwrap();
    let world = World { parameters: &shipped, limits: &limits, rulebook: &rulebook, effort: World::EFFORT };
    let set = compose(&world, &templates, 7, &Blueprint::of_items(12)).unwrap();
    assert_eq!(set.items.len(), 12, "{:?}", set.wanting);
    assert_eq!(set, compose(&world, &templates, 7, &Blueprint::of_items(12)).unwrap());
    assert_eq!(recheck(&world, &templates, &set), []);
    let text = serde_json::to_string(&set).unwrap();
    assert_eq!(serde_json::from_str::<questions::QuestionSet>(&text).unwrap(), set);

    let now = edited("alginate/syneresis.strain", 1.02);
    let limits = Limits::of(&now).unwrap();
    let world = World { parameters: &now, limits: &limits, rulebook: &rulebook, effort: World::EFFORT };
    let named: Vec<String> =
        recheck(&world, &templates, &set).into_iter().map(|changed| changed.item).collect();
    let differ: Vec<String> = set
        .items
        .iter()
        .filter(|frozen| {
            let made = frozen.made.as_ref().unwrap();
            let template = templates.find(&made.template).unwrap();
            generate(&world, template, &templates.misconceptions, made.number).ok().as_ref() != Some(*frozen)
        })
        .map(|frozen| frozen.item.id.clone())
        .collect();
    assert_eq!(named, differ);
}
