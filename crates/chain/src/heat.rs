//! Hot agar: what it does to pulp and tissue, and the cautions for the people who handle it.
//!
//! Figures are compared with published limits and said as they are; nothing here is a clearance.

use ledger::{LedgerError, Parameters};
use terms::{ImpressionClass, Route};

use crate::contact::Contact;
use crate::report::{Ask, Note, Quantity};

/// Adds what is to be said of the heat of a route with agar; nothing without.
///
/// # Errors
/// When a limit is missing from the ledger.
pub fn say(
    route: &Route,
    parameters: &Parameters,
    quantities: &[Quantity],
    contact: &mut Contact,
) -> Result<(), LedgerError> {
    if !route.has_agar() {
        return Ok(());
    }
    let baths = &route.baths;
    let last_bath_unknown = baths.temper_temperature_k.is_unknown() || baths.temper_s.is_unknown();
    if route.material.class == ImpressionClass::Agar && last_bath_unknown {
        contact.asks.push(Ask {
            words: "how hot is the last bath, and how long was the agar in it?".to_owned(),
            why: "it can burn the mouth".to_owned(),
            share: None,
        });
    }
    let limit = |name: &str| {
        parameters.find(&["limit"], name).map(|(value, found)| (found.median(), value.key.clone()))
    };
    let interval =
        |id: &str| quantities.iter().find(|quantity| quantity.id == id).map(|quantity| quantity.interval);
    let Contact { notes, obstacles, .. } = contact;
    let (scald_k, key) = limit("scald_temperature")?;
    notes.push(Note {
        words: format!(
            "staff: baths and tubes above {:.0} °C scald skin within seconds; lift tubes with tongs, cover the hands, keep the bath \
             away from the patient",
            celsius(scald_k)
        ),
        key: Some(key),
    });
    let (rise_k, key) = limit("pulp_rise")?;
    if let Some(rise) = interval("heat.pulp_rise") {
        if rise.mid > rise_k {
            obstacles.insert(
                0,
                format!(
                    "TOO HOT for the pulp: its wall warms by {:.0} to {:.0} K where {rise_k:.1} K did damage in animals; cool the syringe",
                    rise.low, rise.high
                ),
            );
        }
        let against = if rise.high < rise_k { "stays below" } else { "may reach" };
        notes.push(Note {
            words: format!(
                "the wall of the pulp warms by {:.1} to {:.1} K for a moment, which {against} the {rise_k:.1} K at which damage was \
                 seen in animals; thin dentine and a fresh cut bear less",
                rise.low, rise.high
            ),
            key: Some(key),
        });
    }
    let (tissue_k, key) = limit("tissue_temperature")?;
    if let Some(contact) = interval("heat.contact") {
        let against = if contact.high < tissue_k { "stays below" } else { "may pass" };
        notes.push(Note {
            words: format!(
                "at the tooth the agar is {:.0} to {:.0} °C for a moment, which {against} the {:.0} °C that tissue is thought to \
                 bear; test a drop on the back of a gloved hand, and keep it off lip and cheek",
                celsius(contact.low),
                celsius(contact.high),
                celsius(tissue_k)
            ),
            key: Some(key),
        });
    }
    if route.material.class == ImpressionClass::Agar
        && let Some(mix) = interval("mix.temperature")
    {
        let (_, key) = limit("tissue_temperature")?;
        let bath_is_cool = baths.temper_temperature_k.known().is_some_and(|temper_k| temper_k <= tissue_k);
        let remedy = if bath_is_cool { "temper it longer" } else { "a cooler last bath" };
        let degrees = format!("{:.0} to {:.0} °C", celsius(mix.low), celsius(mix.high));
        let bears = format!("the {:.0} °C that tissue is thought to bear", celsius(tissue_k));
        if mix.low > tissue_k {
            obstacles.insert(
                0,
                format!("TOO HOT for the mouth: the agar leaves its last bath at {degrees}, above {bears}; {remedy}, and do not seat it"),
            );
        }
        let against = match mix {
            mix if mix.high < tissue_k => "stays below",
            mix if mix.low > tissue_k => "passes",
            _ => "may pass",
        };
        notes.push(Note {
            words: format!("the agar leaves its last bath at {degrees}, which {against} {bears}: {remedy}, before the tray goes in"),
            key: Some(key),
        });
    }
    Ok(())
}

fn celsius(t_k: f64) -> f64 {
    t_k - 273.15
}
