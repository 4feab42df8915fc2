//! `trayward rules`.

use std::io::Write;

use anyhow::{Result, bail};
use counsel::rules::{Ask, Pace, Rules, audit};

use super::json;
use crate::load::Known;
use crate::rules_page;
use crate::shelf::Shelf;

/// What `trayward rules` is asked.
#[derive(clap::Args)]
pub struct RulesArguments {
    /// A rule by its identifier; without one, every rule with a first map.
    id: Option<String>,
    /// Only rules of this topic.
    #[arg(long)]
    topic: Option<String>,
    /// A first map from few samples.
    #[arg(long)]
    coarse: bool,
    /// As JSON.
    #[arg(long)]
    json: bool,
}

/// Runs `trayward rules`.
///
/// # Errors
/// When there is no such rule, or the chain refuses a case.
pub fn run(arguments: &RulesArguments, shelf: Shelf, out: &mut impl Write) -> Result<()> {
    let known = Known::of(shelf.stock(false)?)?;
    let rules = known.rules()?;
    let Some(id) = &arguments.id else {
        let topics = rules.topics();
        if let Some(topic) = arguments.topic.as_deref().filter(|topic| !topics.contains(topic)) {
            bail!("--topic: given \"{topic}\"; allowed {}", topics.join(", "));
        }
        return list(arguments, rules, &known.ask_rule(Pace::FIRST.effort), out);
    };
    let Some(rule) = rules.find(id) else {
        let near = case_file::nearest(id, rules.list.iter().map(|rule| rule.id.as_str()));
        let near = near.map_or(String::new(), |near| format!("; did you mean \"{near}\"?"));
        bail!("there is no rule \"{id}\"{near}; `trayward rules` lists them");
    };
    let pace = if arguments.coarse { Pace::FIRST } else { Pace::USUAL };
    let audit = audit(rule, &known.ask_rule(pace.effort), pace.fineness)?;
    if arguments.json {
        let said = [counsel::rules::sentence(rule, &audit), counsel::rules::reason(&audit)];
        return json(&serde_json::json!({ "rule": rule, "says": said, "audit": audit }), out);
    }
    write!(out, "{}", rules_page::doc(rule, &audit, pace.effort.samples()).text())?;
    Ok(())
}

fn list(arguments: &RulesArguments, rules: &Rules, ask: &Ask, out: &mut impl Write) -> Result<()> {
    let mut all = Vec::new();
    if !arguments.json {
        write!(out, "{}", rules_page::HEAD)?;
    }
    for topic in rules.topics() {
        if arguments.topic.as_deref().is_some_and(|asked| asked != topic) {
            continue;
        }
        if !arguments.json {
            writeln!(out, "\n{topic}")?;
        }
        for rule in rules.list.iter().filter(|rule| rule.topic == topic) {
            let audit = audit(rule, ask, Pace::FIRST.fineness)?;
            if arguments.json {
                let map = &audit.map;
                all.push(serde_json::json!({
                    "id": rule.id, "topic": rule.topic, "says": rule.says,
                    "holds": map.holds, "slight": map.slight, "fails": map.fails, "cannot_tell": map.cannot_tell(), "link": audit.why.link,
                }));
            } else {
                // Each as soon as it is there.
                write!(out, "{}", rules_page::line(rule, &audit).text())?;
                out.flush()?;
            }
        }
    }
    if arguments.json {
        return json(&all, out);
    }
    writeln!(out, "\nFirst maps of 25 points. `trayward rules ID` draws one in full and says what decides.")?;
    Ok(())
}
