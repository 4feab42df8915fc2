//! Items of the templates in a folder, for those who write them: `cargo run -p questions --example try_templates -- data/questions [ID] [NUMBERS]`.

#![allow(clippy::print_stdout, reason = "it prints for its reader")]

use std::path::Path;

use counsel::cautions::Rulebook;
use ledger::Limits;
use questions::{Body, Templates, World, generate};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let folder = Path::new(arguments.first().map_or("data/questions", String::as_str));
    let numbers: u64 = arguments.get(2).map_or(Ok(1), |text| text.parse())?;
    let read_all = |folder: &Path| -> std::io::Result<Vec<(String, String)>> {
        let mut files = Vec::new();
        for entry in std::fs::read_dir(folder)? {
            let path = entry?.path();
            let stem = |path: &Path| path.file_stem().map(|stem| stem.to_string_lossy().into_owned());
            if path.extension().is_some_and(|found| found == "toml") {
                files.push((stem(&path).unwrap_or_default(), std::fs::read_to_string(&path)?));
            }
        }
        files.sort();
        Ok(files)
    };
    let files = read_all(folder)?;
    let mut cases: Vec<(String, String)> = read_all(&folder.join("cases"))?;
    cases.extend(counsel::rules::CASES.iter().map(|(name, text)| ((*name).to_owned(), (*text).to_owned())));
    let misconceptions = std::fs::read_to_string(folder.join("misconceptions.toml"))?;
    let borrowed = |list: &[(String, String)]| -> Vec<(&'static str, &'static str)> {
        let leak = |text: &String| -> &'static str { Box::leak(text.clone().into_boxed_str()) };
        list.iter().filter(|(name, _)| name != "misconceptions").map(|(a, b)| (leak(a), leak(b))).collect()
    };
    let parameters = ledger::shipped()?;
    let limits = Limits::of(&parameters)?;
    let rulebook = Rulebook::shipped()?;
    let templates =
        Templates::read(&borrowed(&files), &borrowed(&cases), &misconceptions, &parameters, &rulebook)?;
    let world =
        World { parameters: &parameters, limits: &limits, rulebook: &rulebook, effort: World::EFFORT };
    for template in &templates.list {
        if arguments.get(1).is_some_and(|id| id != "-" && *id != template.id) {
            continue;
        }
        for number in 0..numbers {
            match generate(&world, template, &templates.misconceptions, number) {
                Err(rejected) => println!("\nREJECTED {rejected}"),
                Ok(frozen) => {
                    let item = &frozen.item;
                    println!(
                        "\n{} [{:?}, {:?}, {:.0} %]",
                        item.id,
                        item.level,
                        item.asks,
                        100.0 * frozen.made.as_ref().map_or(0.0, |made| made.evidence.holds_in)
                    );
                    println!("  {}\n  {}", item.stem, item.lead_in);
                    match &item.body {
                        Body::Choice { options, key, .. } => {
                            for (place, option) in options.iter().enumerate() {
                                let mark = if place == *key { "*" } else { " " };
                                println!(
                                    "   {mark} {}   ({})",
                                    option.text,
                                    option.misconception.as_deref().unwrap_or("-")
                                );
                            }
                        }
                        Body::Order { steps, key } => {
                            for id in key {
                                let text =
                                    steps.iter().find(|step| step.id == *id).map_or("", |step| &step.text);
                                println!("   > {text}");
                            }
                        }
                        Body::Numeric { key, least, most, unit, .. } => {
                            println!("   = {key} {unit} ({least} to {most})");
                        }
                    }
                    if let Some(words) = &item.disagreement {
                        println!("  ! {words}");
                    }
                }
            }
        }
    }
    println!("\n{} templates", templates.list.len());
    Ok(())
}
