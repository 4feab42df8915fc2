//! The pedigree of any number: a ledger row as it stands, or what a number of a card rests on.

use std::fmt::Write as _;

use chain::Forecast;
use chain::roots::ROOTS;
use chain::space::Standing;
use ledger::{Disinfectant, Inhibition, Parameters, Product, Spread, Taught, Value};

use crate::digits;
use crate::lines::{Doc, paragraph};
use crate::load::Known;

/// The pedigree of a name: a ledger row, what is taught, a disinfectant, an inhibition, a product, a caution, or a number of a forecast.
pub fn pedigree(key: &str, known: &Known, forecast: Option<&Forecast>) -> Option<Doc> {
    let parameters = &known.parameters;
    if let Some(value) = parameters.value(key) {
        return Some(row(value));
    }
    if let Some(rule) = parameters.taught().iter().find(|rule| rule.key == key) {
        return Some(taught(rule));
    }
    if let Some(row) = parameters.disinfectants().iter().find(|row| row.key == key) {
        return Some(disinfectant(row));
    }
    if let Some(row) = parameters.inhibitions().iter().find(|row| row.key == key) {
        return Some(inhibition(row));
    }
    if let Some(record) = parameters.product(&terms::ProductId(key.to_owned())) {
        return Some(product(record));
    }
    if let Some(rule) = known.rulebook().rule(key) {
        return Some(caution(rule));
    }
    quantity(forecast?, parameters, key)
}

/// Whether a name has a pedigree.
pub fn has_pedigree(key: &str, known: &Known, forecast: Option<&Forecast>) -> bool {
    let parameters = &known.parameters;
    parameters.value(key).is_some()
        || parameters.taught().iter().any(|rule| rule.key == key)
        || parameters.disinfectants().iter().any(|row| row.key == key)
        || parameters.inhibitions().iter().any(|row| row.key == key)
        || parameters.product(&terms::ProductId(key.to_owned())).is_some()
        || known.rulebook().rule(key).is_some()
        || forecast.is_some_and(|forecast| forecast.quantity(key).is_some())
}

/// The pedigree of a ledger key.
pub fn row(value: &Value) -> Doc {
    lines(
        &value.key,
        &[
            ("quantity", value.quantity.clone()),
            ("value", format!("{} {}{}", value.central, value.unit, spread(&value.spread))),
            ("conditions", value.conditions.clone()),
            ("source", value.source.clone()),
            ("how read", value.how_read.clone()),
            ("grade", value.grade.word().to_owned()),
        ],
    )
}

/// What a class bears of a disinfectant.
pub fn disinfectant(row: &Disinfectant) -> Doc {
    let [low, high] = row.concentration_percent;
    let bears = match row.is_refused() {
        true => "must not be used".to_owned(),
        false => digits::span(row.bears_max_s),
    };
    lines(
        &row.key,
        &[
            ("agent", format!("{}, {}, {low} to {high} %", row.agent, row.method)),
            ("usual label", format!("{} of contact", digits::span(row.contact_min_s))),
            ("bears", bears),
            ("note", row.note.clone()),
            ("source", row.source.clone()),
            ("how read", row.how_read.clone()),
            ("grade", row.grade.word().to_owned()),
        ],
    )
}

/// What is taught.
pub fn taught(rule: &Taught) -> Doc {
    lines(
        &rule.key,
        &[
            ("taught", rule.rule.clone()),
            ("source", rule.source.clone()),
            ("grade", rule.grade.word().to_owned()),
        ],
    )
}

/// What may keep a class from setting.
pub fn inhibition(row: &Inhibition) -> Doc {
    lines(
        &row.key,
        &[
            ("effect", row.effect.to_string()),
            ("found", row.said.clone()),
            ("doubt", row.doubt.clone()),
            ("remedy", row.remedy.clone()),
            ("source", row.source.clone()),
            ("how read", row.how_read.clone()),
            ("grade", row.grade.word().to_owned()),
        ],
    )
}

/// A caution.
pub fn caution(rule: &counsel::cautions::Rule) -> Doc {
    let reviews: Vec<String> =
        rule.reviewed.iter().map(|review| format!("{}, {}", review.who, review.on)).collect();
    let reviewed = match reviews.is_empty() {
        true => "not yet reviewed by a clinician".to_owned(),
        false => reviews.join("; "),
    };
    lines(
        &rule.id,
        &[
            ("level", rule.level.to_string()),
            ("says", rule.says.clone()),
            ("when", counsel::cautions::in_words(&rule.when)),
            ("consider", rule.instead.clone().unwrap_or_default()),
            ("doubt", rule.doubt.clone().unwrap_or_default()),
            ("source", rule.source.clone()),
            ("how read", rule.how_read.clone()),
            ("grade", rule.grade.word().to_owned()),
            ("reviewed", reviewed),
        ],
    )
}

fn lines(key: &str, lines: &[(&str, String)]) -> Doc {
    let mut out = Doc::default();
    let _ = writeln!(out, "{key}");
    for (name, text) in lines {
        paragraph(&mut out, &format!("  {name:<12}"), "              ", text);
    }
    out
}

/// The record of a product: what it is and what is printed on it.
pub fn product(product: &Product) -> Doc {
    let mut out = Doc::default();
    let _ = writeln!(
        out,
        "{}: {}{}",
        product.id.0,
        product.name,
        if product.demo { " (demo, invented)" } else { "" }
    );
    for limit in &product.instructions {
        let text = format!(
            "{} {} {} from {}; {} [{}]",
            limit.action,
            limit.bound,
            digits::span(limit.seconds),
            limit.origin,
            limit.conditions,
            limit.source
        );
        paragraph(&mut out, "  printed     ", "              ", &text);
    }
    out
}

fn spread(spread: &Spread) -> String {
    let within = |ends: &Option<[f64; 2]>| match ends {
        Some([low, high]) => format!(", cut to {low} to {high}"),
        None => String::new(),
    };
    match spread {
        Spread::Exact => ", taken as exact".to_owned(),
        Spread::Normal { sd, within: ends } => {
            format!(", normal with standard deviation {sd}{}", within(ends))
        }
        Spread::LogNormal { factor, within: ends } => {
            format!(", log-normal by a factor of {factor}{}", within(ends))
        }
        Spread::Uniform { low, high } => format!(", anywhere from {low} to {high}"),
        Spread::Triangular { low, high } => format!(", triangular from {low} to {high}"),
    }
}

/// Whether a number cannot be negative, so that it is written without a sign.
pub fn without_sign(id: &str) -> bool {
    let chance = matches!(id, "removal.strain" | "removal.web_tear" | "separation.break" | "sol.least");
    chance || id.starts_with("access.") || id.starts_with("fit.")
}

/// The pedigree of a number on a card.
pub fn quantity(forecast: &Forecast, parameters: &Parameters, id: &str) -> Option<Doc> {
    let quantity = forecast.quantity(id)?;
    let mut out = Doc::default();
    let _ = writeln!(out, "{}: {}", quantity.id, quantity.words);
    let signed = !without_sign(quantity.id);
    let interval = match quantity.si_unit {
        "m" if quantity.beyond_checked => digits::beyond(quantity.interval, 1e6, "µm", signed),
        "1" if quantity.beyond_checked => digits::beyond(quantity.interval, 100.0, "%", signed),
        "m" if signed => digits::interval(quantity.interval, 1e6, "µm"),
        "m" => digits::plain(quantity.interval.scaled(1e6), "µm"),
        "1" if signed => digits::interval(quantity.interval, 100.0, "%"),
        "1" => digits::plain(quantity.interval.scaled(100.0), "%"),
        "s" => {
            let chain::statistics::Interval { low, mid, high } = quantity.interval;
            format!("{} to {}, middle {}", digits::span(low), digits::span(high), digits::span(mid))
        }
        "K" if quantity.id == "heat.pulp_rise" => digits::plain(quantity.interval, "K"),
        "K" => {
            let mut celsius = quantity.interval;
            for value in [&mut celsius.low, &mut celsius.mid, &mut celsius.high] {
                *value -= 273.15;
            }
            digits::plain(celsius, "°C")
        }
        unit => digits::plain(quantity.interval, unit),
    };
    let _ = writeln!(out, "  90 % interval {interval}");
    if quantity.beyond_checked {
        let _ =
            writeln!(out, "  part of it lies beyond what was checked: the figure is where that range ends");
    }
    if quantity.defined_in < 0.999 {
        let _ = writeln!(out, "  exists in {:.0} % of the samples", 100.0 * quantity.defined_in);
    }
    let _ = writeln!(out, "  computed by the chain {} from parameters", forecast.model_version);
    let _ = writeln!(out, "  {}", forecast.parameters_hash);
    let _ = writeln!(out, "  rests most on (first-order share of its variance):");
    for contribution in &quantity.contributions {
        let standing = match contribution.standing {
            Standing::Stated => "stated in the case",
            _ => contribution.grade.word(),
        };
        let first = format!("   {:>3.0} %  ", 100.0 * contribution.share);
        paragraph(&mut out, &first, "          ", &format!("{}  ({standing})", contribution.words));
        paragraph(&mut out, "          ", "          ", &place(&contribution.key, parameters));
    }
    Some(out)
}

fn place(key: &str, parameters: &Parameters) -> String {
    match parameters.value(key) {
        Some(value) if key.starts_with("reading/") => {
            format!("stated in the case; reading error {}", value.key)
        }
        Some(value) => value.key.clone(),
        None => "the case file".to_owned(),
    }
}

/// Names near to one that is not known: ledger keys, quantities of a card, root causes.
pub fn near(name: &str, forecast: &Forecast, parameters: &Parameters) -> Vec<String> {
    let keys = parameters.values().map(|value| value.key.clone());
    let quantities = forecast.quantities.iter().map(|quantity| quantity.id.to_owned());
    let roots = ROOTS.iter().map(|row| row.name.to_owned());
    let taught = parameters.taught().iter().map(|rule| rule.key.clone());
    let agents = parameters.disinfectants().iter().map(|row| row.key.clone());
    let contaminants = parameters.inhibitions().iter().map(|row| row.key.clone());
    let products = parameters.products().map(|product| product.id.0.clone());
    let mut scored: Vec<(f64, String)> = keys
        .chain(quantities)
        .chain(roots)
        .chain(taught)
        .chain(products)
        .chain(agents)
        .chain(contaminants)
        .map(|known| (strsim::jaro_winkler(name, &known), known))
        .collect();
    scored.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
    scored.dedup_by(|a, b| a.1 == b.1);
    scored.into_iter().take(5).filter(|(score, _)| *score > 0.6).map(|(_, known)| known).collect()
}
