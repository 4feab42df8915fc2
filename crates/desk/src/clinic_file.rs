//! A clinic file: what is at hand for routes. Text with units as in case files; every field that is not known is refused.

use anyhow::{Context, Result, bail};
use counsel::routes::{Clinic, Keeping, Kit, Means, Remake, TrayAtHand};
use serde::Deserialize;
use terms::{
    Agent, Astringent, Baths, CordOrder, Displacement, Electrode, Exposure, Fact, HoldingKind,
    HoldingSegment, ImpressionClass, Material, MixMethod, ProductId, Range, Technique, Tray, TrayKind,
    TrayMaterial, ranges,
};

use case_file::quantity_text;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    title: String,
    #[serde(default)]
    demo: bool,
    scanner: Option<toml::Value>,
    #[serde(default)]
    check: Vec<String>,
    #[serde(default)]
    drop: Vec<String>,
    remake: Option<RemakeRow>,
    kit: Vec<KitRow>,
    tray: Vec<TrayRow>,
    means: Vec<MeansRow>,
    #[serde(default)]
    keeping: Vec<KeepingRow>,
    // Rows of the ledger, which read themselves.
    #[serde(default)]
    product: Vec<toml::Value>,
    #[serde(default)]
    value: Vec<toml::Value>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RemakeRow {
    chair: Option<String>,
    cost: Option<f64>,
    per_minute: Option<f64>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct KitRow {
    name: String,
    technique: Technique,
    class: ImpressionClass,
    product: Option<String>,
    wash_class: Option<ImpressionClass>,
    wash_product: Option<String>,
    mix: MixMethod,
    temper_bath: Option<String>,
    trays: Vec<TrayKind>,
    cost: Option<f64>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct TrayRow {
    name: String,
    kind: TrayKind,
    material: TrayMaterial,
    relief: Option<String>,
    ceiling: Option<String>,
    wall: Option<String>,
    adhesive: Option<bool>,
    perforated: Option<bool>,
    cost: Option<f64>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct MeansRow {
    displacement: Displacement,
    cords_leave: Option<CordOrder>,
    medicament: Option<Astringent>,
    electrode: Option<Electrode>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct KeepingRow {
    classes: Vec<ImpressionClass>,
    segment: Vec<SegmentRow>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct SegmentRow {
    kind: HoldingKind,
    duration: String,
    exposure: Option<Exposure>,
    agent: Option<Agent>,
    concentration: Option<String>,
    labelled_contact: Option<String>,
}

/// What a clinic file holds.
#[derive(Clone, Debug)]
pub struct Stock {
    /// What is at hand.
    pub clinic: Clinic,
    /// Products with their instructions, and values of theirs, as a ledger file: its name and text.
    pub rows: (String, String),
}

/// Reads a clinic file; `name` appears in the messages.
///
/// # Errors
/// What is wrong, with what was given and what is allowed.
pub fn parse(name: &str, text: &str) -> Result<Stock> {
    let mut file: File = toml::from_str(text).with_context(|| format!("{name}: not a clinic file"))?;
    let mut rows = toml::Table::new();
    for (key, list) in [("product", &mut file.product), ("value", &mut file.value)] {
        if !list.is_empty() {
            rows.insert(key.to_owned(), toml::Value::Array(std::mem::take(list)));
        }
    }
    let rows =
        (name.to_owned(), toml::to_string(&rows).with_context(|| format!("{name}: rows of the ledger"))?);
    Ok(Stock { clinic: clinic(name, file)?, rows })
}

fn clinic(name: &str, file: File) -> Result<Clinic> {
    if file.kit.is_empty() || file.tray.is_empty() || file.means.is_empty() {
        bail!("{name}: given no kit, no tray or no means; allowed at least one of each");
    }
    let scanner = match &file.scanner {
        None => Fact::Unknown,
        Some(toml::Value::Boolean(has)) => Fact::Known(*has),
        Some(toml::Value::String(word)) if word == "unknown" => Fact::Unknown,
        Some(other) => bail!("{name}: scanner: given {other}; allowed true, false, \"unknown\""),
    };
    let remake = file.remake.unwrap_or(RemakeRow { chair: None, cost: None, per_minute: None });
    for (field, value) in [("remake.cost", remake.cost), ("remake.per_minute", remake.per_minute)] {
        cost(name, field, value)?;
    }
    let mut kits = Vec::new();
    for (index, row) in file.kit.into_iter().enumerate() {
        let field = format!("kit[{index}]");
        cost(name, &format!("{field}.cost"), row.cost)?;
        if row.technique.has_wash() != row.wash_class.is_some() {
            bail!(
                "{name}: {field}.wash_class: given {} with the technique \"{}\"; allowed a second material for every technique \
                 but \"single viscosity\"",
                if row.wash_class.is_some() { "a second material" } else { "none" },
                row.technique
            );
        }
        kits.push(Kit {
            name: row.name,
            technique: row.technique,
            material: Material { class: row.class, product: row.product.map(ProductId) },
            wash: row.wash_class.map(|class| Material { class, product: row.wash_product.map(ProductId) }),
            method: row.mix,
            baths: Baths {
                temper_temperature_k: fact(
                    name,
                    &format!("{field}.temper_bath"),
                    row.temper_bath.as_deref(),
                    ranges::BATH_TEMPERATURE,
                )?,
                ..Baths::UNKNOWN
            },
            trays: row.trays,
            cost: row.cost,
        });
    }
    let mut trays = Vec::new();
    for (index, row) in file.tray.into_iter().enumerate() {
        let field = format!("tray[{index}]");
        cost(name, &format!("{field}.cost"), row.cost)?;
        let length = |what: &str, text: &Option<String>, range: Range| {
            fact(name, &format!("{field}.{what}"), text.as_deref(), range)
        };
        trays.push(TrayAtHand {
            tray: Tray {
                kind: row.kind,
                material: row.material,
                relief_m: length("relief", &row.relief, ranges::RELIEF)?,
                ceiling_m: length("ceiling", &row.ceiling, ranges::RELIEF)?,
                wall_m: length("wall", &row.wall, ranges::TRAY_WALL)?,
                adhesive: row.adhesive.map_or(Fact::Unknown, Fact::Known),
                perforated: row.perforated.map_or(Fact::Unknown, Fact::Known),
            },
            name: row.name,
            cost: row.cost,
        });
    }
    let means = file
        .means
        .into_iter()
        .map(|row| Means {
            displacement: row.displacement,
            cords_leave: match row.cords_leave {
                Some(order) => Fact::Known(order),
                None if row.displacement.has_cord_out() => Fact::Unknown,
                None => Fact::NotApplicable,
            },
            medicament: row.medicament.map_or(Fact::Unknown, Fact::Known),
            electrode: match row.electrode {
                Some(electrode) => Fact::Known(electrode),
                None if row.displacement == Displacement::Electrosurgery => Fact::Unknown,
                None => Fact::NotApplicable,
            },
        })
        .collect();
    let mut keeping = Vec::new();
    for (index, row) in file.keeping.into_iter().enumerate() {
        let mut segments = Vec::new();
        for (place, segment) in row.segment.into_iter().enumerate() {
            segments.push(self::segment(name, &format!("keeping[{index}].segment[{place}]"), segment)?);
        }
        keeping.push(Keeping { classes: row.classes, segments });
    }
    Ok(Clinic {
        title: file.title,
        demo: file.demo,
        kits,
        trays,
        means,
        keeping,
        scanner,
        remake: Remake {
            chair_s: fact(name, "remake.chair", remake.chair.as_deref(), ranges::CHAIR)?,
            cost: remake.cost,
            per_minute: remake.per_minute,
        },
        added_checks: file.check,
        dropped_checks: file.drop,
    })
}

fn segment(name: &str, field: &str, row: SegmentRow) -> Result<HoldingSegment> {
    let duration =
        fact(name, &format!("{field}.duration"), Some(row.duration.as_str()), ranges::HOLD_DURATION)?;
    let mut segment = HoldingSegment::of(row.kind, duration.known().unwrap_or(0.0));
    if let Some(exposure) = row.exposure {
        segment.exposure = Fact::Known(exposure);
    }
    if let Some(agent) = row.agent {
        segment.agent = Fact::Known(agent);
    }
    let known = |what: &str, text: &Option<String>, range: Range, absent: Fact<f64>| match text {
        Some(text) => fact(name, &format!("{field}.{what}"), Some(text.as_str()), range),
        None => Ok(absent),
    };
    segment.concentration =
        known("concentration", &row.concentration, ranges::CONCENTRATION, segment.concentration)?;
    segment.labelled_contact_s =
        known("labelled_contact", &row.labelled_contact, ranges::CONTACT, segment.labelled_contact_s)?;
    Ok(segment)
}

fn fact(name: &str, field: &str, text: Option<&str>, range: Range) -> Result<Fact<f64>> {
    let Some(text) = text else { return Ok(Fact::Unknown) };
    match quantity_text(text, &range) {
        Some(si) => Ok(Fact::Known(si)),
        None => bail!("{name}: {field}: given \"{text}\"; allowed {}", range.allowed()),
    }
}

fn cost(name: &str, field: &str, value: Option<f64>) -> Result<()> {
    match value {
        Some(value) if !(0.0..=1e6).contains(&value) => {
            bail!("{name}: {field}: given {value}; allowed 0 to 1000000, in the user's own unit")
        }
        _ => Ok(()),
    }
}
