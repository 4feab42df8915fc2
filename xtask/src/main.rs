//! Chores of the project: `cargo xtask condense`, `licences`, `links`, `mutate [NAME...]`.

mod condense;
mod licences;
mod links;
mod mutate;

use std::path::Path;
use std::process::ExitCode;

fn main() -> ExitCode {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("..");
    let done = match arguments.first().map(String::as_str) {
        Some("condense") => condense::run(&root),
        Some("licences") => licences::check(),
        Some("links") => links::check(&root),
        Some("mutate") => mutate::run(&root, &arguments[1..]),
        other => Err(format!("given \"{}\"; allowed condense, licences, links, mutate", other.unwrap_or(""))),
    };
    match done {
        Ok(said) => {
            println!("{said}");
            ExitCode::SUCCESS
        }
        Err(said) => {
            eprintln!("{said}");
            ExitCode::FAILURE
        }
    }
}
