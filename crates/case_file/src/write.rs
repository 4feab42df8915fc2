//! A case as a case file.

use std::collections::BTreeMap;

use terms::{Fact, Lots, Material, Observation, Reading};

use super::asked;
use super::fields::{Absent, Context, Field, Kind, NOT_APPLICABLE, Presence, TABLES, Table, UNKNOWN};
use super::value::Datum;
use super::{Case, SCHEMA_VERSION, moment, quantity};

/// The case file of a case; [`super::parse`] turns it back into the same case.
///
/// A fact that means the same when it is absent is left out. Moments are written in UTC. The case is taken to be one that
/// [`super::parse`] would accept; a quantity that no text reaches exactly is written to twelve decimals.
pub fn write(case: &Case) -> String {
    write_list(case, &list(case))
}

pub(super) fn write_list(case: &Case, list: &List) -> String {
    let mut text = String::new();
    for table in TABLES {
        match table.presence {
            Presence::Repeated { .. } => {
                let path = |index: usize| format!("{}[{index}]", table.path);
                let present = |index: &usize| {
                    let start = format!("{}.", path(*index));
                    list.range(start.clone()..).next().is_some_and(|(path, _)| path.starts_with(&start))
                };
                for index in (0..).take_while(present) {
                    write_table(&mut text, table, &format!("[[{}]]", table.path), &path(index), case, list);
                }
            }
            Presence::Required | Presence::Optional => {
                write_table(&mut text, table, &format!("[{}]", table.path), table.path, case, list);
            }
        }
    }
    text
}

pub(super) type List = BTreeMap<String, Fact<Datum>>;

/// A fact that a case states, and the cases in which it is stated otherwise.
pub struct Stated {
    /// Path, such as `route.tray.relief`.
    pub path: String,
    /// What the field says.
    pub about: &'static str,
    /// Its value as it is written.
    pub value: String,
    /// The case with another value there, each as it would be read; those that contradict the rest of the case are left out.
    pub otherwise: Vec<(String, Case)>,
}

/// Every known fact of a case with a few other values: all other words, the other answer, and figures on both sides.
pub fn stated(case: &Case) -> Vec<Stated> {
    let list = list(case);
    let mut all = Vec::new();
    for (path, fact) in &list {
        let Some((field, Fact::Known(datum))) = field_of(path).map(|field| (field, fact)) else { continue };
        let others: Vec<Datum> = match (field.kind, datum) {
            (Kind::YesNo, Datum::Flag(flag)) => vec![Datum::Flag(!flag)],
            (Kind::Word(words), Datum::Word(word)) => {
                words.iter().filter(|other| *other != word).map(|other| Datum::Word(other)).collect()
            }
            (Kind::Quantity { range, .. }, Datum::Number(si)) => {
                let wide = range.max - range.min;
                let ends = [range.min, range.min + 0.1 * wide, range.min + 0.7 * wide, range.max];
                [si - 0.04 * wide, si + 0.04 * wide]
                    .into_iter()
                    .chain(ends)
                    .filter(|other| range.contains(*other) && other != si)
                    .map(Datum::Number)
                    .collect()
            }
            _ => continue,
        };
        let mut otherwise = Vec::new();
        for other in others {
            let mut changed = list.clone();
            let written = value(field, &Fact::Known(other.clone()));
            changed.insert(path.clone(), Fact::Known(other));
            if let Ok(case) = super::parse(path, &write_list(case, &changed)) {
                otherwise.push((written, case));
            }
        }
        all.push(Stated { path: path.clone(), about: field.about, value: value(field, fact), otherwise });
    }
    all
}

/// The field at a path; none for what is not a fact of the case.
pub(super) fn field_of(path: &str) -> Option<&'static Field> {
    let (table, name) = path.rsplit_once('.')?;
    let table = table.split('[').next()?;
    TABLES.iter().find(|known| known.path == table)?.fields.iter().find(|field| field.name == name)
}

fn write_table(text: &mut String, table: &Table, header: &str, path: &str, case: &Case, list: &List) {
    let context = Context {
        purpose: Some(case.situation.purpose),
        class: Some(case.route.material.class),
        displacement: case.route.displacement.known(),
        holding: segment_index(path)
            .and_then(|index| case.route.holding.get(index))
            .map(|segment| segment.kind),
    };
    let mut lines = String::new();
    for field in table.fields {
        let field_path =
            if path.is_empty() { field.name.to_owned() } else { format!("{path}.{}", field.name) };
        match list.get(&field_path) {
            Some(fact) if !means_the_same_absent(field, fact, &context) => {
                lines.push_str(&format!("{} = {}\n", field.name, value(field, fact)));
            }
            _ => {}
        }
    }
    if path.is_empty() {
        text.push_str(&lines);
    } else if !lines.is_empty() || matches!(table.presence, Presence::Repeated { .. }) {
        // A repeated table counts even when it says nothing: a tooth of which nothing is known is still a tooth.
        text.push_str(&format!("\n{header}\n{lines}"));
    }
}

/// The index in "route.holding[3]".
fn segment_index(path: &str) -> Option<usize> {
    path.strip_prefix("route.holding[")?.strip_suffix(']')?.parse().ok()
}

fn means_the_same_absent(field: &Field, fact: &Fact<Datum>, context: &Context) -> bool {
    match field.absent {
        Absent::Unknown | Absent::Asked => *fact == Fact::Unknown,
        Absent::Unless(rule) if rule.applies(context) => *fact == Fact::NotApplicable,
        Absent::Unless(_) => *fact == Fact::Unknown,
        Absent::Nothing => *fact == Fact::Known(Datum::Flag(false)),
        Absent::Required | Absent::With(_) | Absent::OneOfThese => false,
    }
}

pub(super) fn value(field: &Field, fact: &Fact<Datum>) -> String {
    let quoted = |text: &str| toml::Value::String(text.to_owned()).to_string();
    match fact {
        Fact::Unknown => quoted(UNKNOWN),
        Fact::NotApplicable => quoted(NOT_APPLICABLE),
        Fact::Known(Datum::Number(si)) => match field.kind {
            Kind::Quantity { range, .. } => quoted(&quantity::write(*si, &range)),
            _ => format!("{si}"),
        },
        Fact::Known(Datum::Word(word)) => quoted(word),
        Fact::Known(Datum::Flag(flag)) => flag.to_string(),
        Fact::Known(Datum::Text(text)) => quoted(text),
        Fact::Known(Datum::Moment(at)) => moment::write(*at),
    }
}

/// Everything that the case says, by path.
pub(super) fn list(case: &Case) -> List {
    let mut list = List::new();
    let mut put = |path: &str, fact: Fact<Datum>| {
        list.insert(path.to_owned(), fact);
    };
    put("schema_version", Fact::Known(Datum::Number(f64::from(SCHEMA_VERSION))));
    put("code", text(case.code.as_str()));
    if let Some(title) = &case.title {
        put("title", text(title));
    }
    put("demo", Fact::Known(Datum::Flag(case.demo)));
    if let Some(note) = &case.note {
        put("note", text(note));
    }
    list_situation(case, &mut put);
    asked::list(&case.patient, "patient", &mut put);
    asked::list(&case.visit, "visit", &mut put);
    list_route(case, &mut put);
    for (index, stamp) in case.stamps.iter().enumerate() {
        put(&format!("stamps[{index}].step"), word(stamp.step.word()));
        put(&format!("stamps[{index}].at"), Fact::Known(Datum::Moment(stamp.at)));
    }
    for (index, observation) in case.observations.iter().enumerate() {
        list_observation(observation, &format!("observations[{index}]"), &mut put);
    }
    if let Some(opening_m) = case.limits.opening_m {
        put("limits.opening", Fact::Known(Datum::Number(opening_m)));
    }
    if let Some(wall_space_m) = case.limits.wall_space_m {
        put("limits.wall_space", Fact::Known(Datum::Number(wall_space_m)));
    }
    list
}

fn list_situation(case: &Case, put: &mut impl FnMut(&str, Fact<Datum>)) {
    let situation = &case.situation;
    put("situation.purpose", word(situation.purpose.word()));
    put("situation.room_temperature", number(situation.room_temperature_k));
    put("situation.room_humidity", number(situation.room_humidity));
    put("situation.draught", number(situation.draught_m_s));
    put("situation.water_temperature", number(situation.water_temperature_k));
    put("situation.tooth_temperature", number(situation.tooth_temperature_k));
    put("situation.die_diameter", number(situation.die_diameter_m));
    put("situation.die_height", number(situation.die_height_m));
    put("situation.convergence", number(situation.convergence_rad));
    put("situation.span", number(situation.span_m));
    put("situation.undercut", number(situation.undercut_m));
    put("situation.undercut_at", fact(situation.undercut_at, |place| Datum::Word(place.word())));
    put("situation.mobility", fact(situation.mobility, |grade| Datum::Word(grade.word())));
    for (index, abutment) in situation.abutments.iter().enumerate() {
        let path = |name: &str| format!("situation.abutment[{index}].{name}");
        put(&path("tooth"), fact(abutment.tooth, |tooth| Datum::Text(tooth.to_string())));
        put(&path("margin_depth"), number(abutment.margin_depth_m));
        put(&path("sulcus"), fact(abutment.sulcus, |state| Datum::Word(state.word())));
    }
    put("situation.latex", fact(situation.latex, Datum::Flag));
    put("situation.bleeding", fact(situation.bleeding, Datum::Flag));
    put("situation.fresh_resin", fact(situation.fresh_resin, Datum::Flag));
    put("situation.cement_residue", fact(situation.cement_residue, Datum::Flag));
    put("situation.astringent", fact(situation.astringent, |agent| Datum::Word(agent.word())));
    put("situation.astringent_rinsed", fact(situation.astringent_rinsed, Datum::Flag));
}

fn list_route(case: &Case, put: &mut impl FnMut(&str, Fact<Datum>)) {
    let route = &case.route;
    put("route.displacement", fact(route.displacement, |displacement| Datum::Word(displacement.word())));
    put("route.cords_leave", fact(route.cords_leave, |order| Datum::Word(order.word())));
    put("route.technique", word(route.technique.word()));
    list_material(&route.material, "route.material", put);
    if let Some(wash) = &route.wash {
        list_material(wash, "route.wash", put);
    }
    put("route.tray.kind", word(route.tray.kind.word()));
    put("route.tray.material", word(route.tray.material.word()));
    put("route.tray.relief", number(route.tray.relief_m));
    put("route.tray.ceiling", number(route.tray.ceiling_m));
    put("route.tray.wall", number(route.tray.wall_m));
    put("route.tray.adhesive", fact(route.tray.adhesive, Datum::Flag));
    put("route.tray.perforated", fact(route.tray.perforated, Datum::Flag));
    put("route.mix.method", word(route.mix.method.word()));
    put("route.mix.powder", number(route.mix.powder_kg));
    put("route.mix.water", number(route.mix.water_kg));
    put("route.wash_thickness", number(route.wash_thickness_m));
    let baths = &route.baths;
    put("route.baths.tube_diameter", number(baths.tube_diameter_m));
    put("route.baths.boil_temperature", number(baths.boil_temperature_k));
    put("route.baths.boil", number(baths.boil_s));
    put("route.baths.boiled_before", fact(baths.boiled_before, Datum::Flag));
    put("route.baths.store_temperature", number(baths.store_temperature_k));
    put("route.baths.store", number(baths.store_s));
    put("route.baths.temper_temperature", number(baths.temper_temperature_k));
    put("route.baths.temper", number(baths.temper_s));
    put("route.baths.coolant_temperature", number(baths.coolant_temperature_k));
    put("route.baths.syringe_temperature", number(baths.syringe_temperature_k));
    for (index, segment) in route.holding.iter().enumerate() {
        let path = |name: &str| format!("route.holding[{index}].{name}");
        put(&path("kind"), word(segment.kind.word()));
        put(&path("duration"), Fact::Known(Datum::Number(segment.duration_s)));
        put(&path("temperature"), number(segment.temperature_k));
        put(&path("humidity"), number(segment.humidity));
        put(&path("draught"), number(segment.draught_m_s));
        put(&path("exposure"), fact(segment.exposure, |exposure| Datum::Word(exposure.word())));
        put(&path("agent"), fact(segment.agent, |agent| Datum::Word(agent.word())));
        put(&path("concentration"), number(segment.concentration));
        put(&path("labelled_contact"), number(segment.labelled_contact_s));
    }
    put("route.stone.gypsum", word(route.stone.gypsum.word()));
    if let Some(product) = &route.stone.product {
        put("route.stone.product", text(&product.0));
    }
    put("route.stone.powder", number(route.stone.powder_kg));
    put("route.stone.water", number(route.stone.water_kg));
    let Lots { material, wash, stone } = &route.lots;
    for (of, lot) in [("material", material), ("wash", wash), ("stone", stone)] {
        if let Some(lot) = lot {
            put(&format!("route.lots.{of}"), text(lot.as_str()));
        }
    }
    if let Some(restoration) = &route.restoration {
        put("route.restoration.fabrication", word(restoration.fabrication.kind.word()));
        put("route.restoration.spacer", number(restoration.fabrication.spacer_m));
        put("route.restoration.spacer_coats", number(restoration.fabrication.spacer_coats));
        put(
            "route.restoration.alloy",
            fact(restoration.fabrication.alloy, |alloy| Datum::Word(alloy.word())),
        );
        put("route.restoration.film", number(restoration.film_m));
    }
    put("route.plan.mixing", number(route.plan.mixing_s));
    put("route.plan.seat_after", number(route.plan.seat_after_s));
    put("route.plan.paste_after", number(route.plan.paste_after_s));
    put("route.plan.per_tooth", number(route.plan.per_tooth_s));
    put("route.plan.tray_after", number(route.plan.tray_after_s));
    put("route.plan.remove_after", number(route.plan.remove_after_s));
    put("route.plan.withdrawal", fact(route.plan.withdrawal, |how| Datum::Word(how.word())));
    put("route.plan.separate_after", number(route.plan.separate_after_s));
    put("route.plan.second_pour_after", number(route.plan.second_pour_after_s));
}

fn list_material(material: &Material, table: &str, put: &mut impl FnMut(&str, Fact<Datum>)) {
    put(&format!("{table}.class"), word(material.class.word()));
    if let Some(product) = &material.product {
        put(&format!("{table}.product"), text(&product.0));
    }
}

fn list_observation(observation: &Observation, table: &str, put: &mut impl FnMut(&str, Fact<Datum>)) {
    put(&format!("{table}.at"), Fact::Known(Datum::Moment(observation.at)));
    let mut reading = |name: &str, datum: Datum| put(&format!("{table}.{name}"), Fact::Known(datum));
    match observation.reading {
        Reading::RoomTemperature(k) => reading("room_temperature", Datum::Number(k)),
        Reading::RoomHumidity(share) => reading("room_humidity", Datum::Number(share)),
        Reading::WaterTemperature(k) => reading("water_temperature", Datum::Number(k)),
        Reading::ToothTemperature(k) => reading("tooth_temperature", Datum::Number(k)),
        Reading::MixTemperature(k) => reading("mix_temperature", Datum::Number(k)),
        Reading::BowlSet => reading("bowl_set", Datum::Flag(true)),
        Reading::MassLoss(share) => reading("mass_loss", Datum::Number(share)),
        Reading::PourDifference(m) => reading("pour_difference", Datum::Number(m)),
        Reading::MarginFilm(m) => reading("margin_film", Datum::Number(m)),
        Reading::WallFilm(m) => reading("wall_film", Datum::Number(m)),
        Reading::SpanIndex(fit) => reading("span_index", Datum::Word(fit.word())),
        Reading::Die(finding) => {
            reading("die_fault", Datum::Word(finding.fault.word()));
            put(&format!("{table}.on_die"), fact(finding.present, Datum::Flag));
        }
        Reading::TryIn(finding) => {
            reading("try_in", Datum::Word(finding.sign.word()));
            put(&format!("{table}.felt"), fact(finding.present, Datum::Flag));
        }
        Reading::Inspection(finding) => {
            reading("fault", Datum::Word(finding.fault.word()));
            put(&format!("{table}.present"), fact(finding.present, Datum::Flag));
        }
    }
}

fn fact<T>(fact: Fact<T>, datum: impl Fn(T) -> Datum) -> Fact<Datum> {
    match fact {
        Fact::Known(value) => Fact::Known(datum(value)),
        Fact::Unknown => Fact::Unknown,
        Fact::NotApplicable => Fact::NotApplicable,
    }
}

fn number(value: Fact<f64>) -> Fact<Datum> {
    fact(value, Datum::Number)
}

fn word(word: &'static str) -> Fact<Datum> {
    Fact::Known(Datum::Word(word))
}

fn text(text: &str) -> Fact<Datum> {
    Fact::Known(Datum::Text(text.to_owned()))
}
