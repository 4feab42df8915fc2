//! Hot agar: what it does to pulp and tissue, and the cautions for the people who handle it.
//!
//! Figures are compared with published limits and said as they are; nothing here is a clearance.

use ledger::{LedgerError, Parameters};
use terms::{ImpressionClass, Route};

use crate::report::{Note, Quantity};

/// Sentences on the heat of a route with agar; none without.
///
/// # Errors
/// When a limit is missing from the ledger.
pub fn notes(
    route: &Route,
    parameters: &Parameters,
    quantities: &[Quantity],
) -> Result<Vec<Note>, LedgerError> {
    if !route.has_agar() {
        return Ok(Vec::new());
    }
    let limit = |name: &str| {
        parameters.find(&["limit"], name).map(|(value, found)| (found.median(), value.key.clone()))
    };
    let interval =
        |id: &str| quantities.iter().find(|quantity| quantity.id == id).map(|quantity| quantity.interval);
    let mut notes = Vec::new();
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
        let against = if mix.high < tissue_k { "stays below" } else { "may pass" };
        notes.push(Note {
            words: format!(
                "the agar leaves its last bath at {:.0} to {:.0} °C, which {against} the {:.0} °C that tissue is thought to bear: \
                 temper it longer, or let the surface cool, before the tray goes in",
                celsius(mix.low),
                celsius(mix.high),
                celsius(tissue_k)
            ),
            key: Some(key),
        });
    }
    Ok(notes)
}

fn celsius(t_k: f64) -> f64 {
    t_k - 273.15
}
