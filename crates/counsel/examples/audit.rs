//! Audits the taught rules of a folder and prints what comes out: `cargo run -p counsel --example audit -- data/rules [word] [usual]`.
//!
//! For authors of rules. The folder holds files of rules and a folder `cases`; with a word, only rules whose identifier or file has it.

use std::error::Error;
use std::path::{Path, PathBuf};

use counsel::rules::{Ask, Levels, Pace, Rules, audit, levels, reason, sentence};
use ledger::Limits;

fn main() -> Result<(), Box<dyn Error>> {
    let mut words = std::env::args().skip(1);
    let folder = PathBuf::from(words.next().ok_or("the folder of the rules is missing")?);
    let words: Vec<String> = words.collect();
    let pace = if words.iter().any(|word| word == "usual") { Pace::USUAL } else { Pace::FIRST };
    let word = words.iter().find(|word| *word != "usual").cloned().unwrap_or_default();

    let parameters = ledger::shipped()?;
    let limits = Limits::of(&parameters)?;
    let cases = texts(&folder.join("cases"))?;
    let cases: Vec<(&str, &str)> =
        cases.iter().map(|(name, text)| (name.trim_end_matches(".toml"), text.as_str())).collect();
    let ask = Ask { parameters: &parameters, limits: &limits, effort: pace.effort };
    for (file, text) in texts(&folder)? {
        let rules = match Rules::read(&[(&file, &text)], &cases, &parameters) {
            Ok(rules) => rules,
            Err(refused) => {
                println!("{refused}");
                continue;
            }
        };
        for rule in rules.list.iter().filter(|rule| file.contains(&word) || rule.id.contains(&word)) {
            let audit = audit(rule, &ask, pace.fineness)?;
            let map = &audit.map;
            let [holds, slight, fails, open] =
                [map.holds, map.slight, map.fails, map.cannot_tell()].map(|share| (100.0 * share).round());
            println!(
                "{file} {}: holds {holds} %, slight {slight} %, fails {fails} %, open {open} %",
                rule.id
            );
            println!("  {}\n  {}", rule.says, rule.means);
            let middle = levels(rule, &ask, rule.x.at(0.5), rule.y.at(0.5))?;
            let Levels { holds, slight, fails } = middle;
            println!("  levels in the middle: holds {holds:.3e}, slight {slight:.3e}, fails {fails:.3e}, SI");
            println!("  {} {}", sentence(rule, &audit), reason(&audit));
            for cause in audit.why.causes.iter().take(3) {
                println!("    {:.0} % {}", 100.0 * cause.share, cause.words);
            }
        }
    }
    Ok(())
}

/// The files of a folder in the order of their names, with what they say.
fn texts(folder: &Path) -> Result<Vec<(String, String)>, Box<dyn Error>> {
    let mut list = Vec::new();
    for entry in std::fs::read_dir(folder)? {
        let path = entry?.path();
        if path.extension().is_some_and(|extension| extension == "toml") {
            let name = path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
            list.push((name, std::fs::read_to_string(&path)?));
        }
    }
    list.sort();
    Ok(list)
}
