//! From the checked fields to a case, and the rules that hold between fields.

use terms::{
    Abutment, Agent, Alloy, Astringent, Baths, CordOrder, DieFault, DieFinding, Displacement, Exposure,
    Fabrication, FabricationKind, Fact, Fault, Finding, GypsumType, HoldingKind, HoldingSegment,
    ImpressionClass, IndexFit, LotLabel, Lots, Material, Mix, MixMethod, Mobility, Observation, Plan,
    ProductId, Purpose, Reading, Restoration, Route, Situation, Stamp, Step, Stone, SulcusState, Technique,
    Tray, TrayKind, TrayMaterial, TryInFinding, TryInSign, UndercutPlace, Withdrawal, check_order,
    check_round,
};

use super::asked;
use super::fields::Context;
use super::problem::Problem;
use super::sheet::Sheet;
use super::{Case, CaseCode, CaseLimits, MAX_BYTES};

/// Reads the text of a case file.
///
/// # Errors
/// Every problem, sorted by line.
pub fn read(text: &str) -> Result<Case, Vec<Problem>> {
    check_text(text)?;
    let mut sheet = Sheet::fill(text)?;
    sheet.settle(&Context {
        purpose: sheet.word("situation.purpose", Purpose::from_word),
        class: sheet.word("route.material.class", ImpressionClass::from_word),
        displacement: sheet.word("route.displacement", Displacement::from_word),
        holding: None,
    });
    let situation = read_situation(&sheet);
    let route = read_route(&sheet);
    let patient = asked::read(&mut sheet, "patient", terms::patient());
    let visit = asked::read(&mut sheet, "visit", terms::visit());
    let stamps = read_stamps(&sheet);
    let observations = read_observations(&sheet);
    check_situation(&mut sheet, &situation);
    check_route(&mut sheet, &route, &situation);
    if let Err(invalid) = check_round(&situation, &route) {
        sheet.report(&invalid.field, invalid.given, invalid.allowed);
    }
    check_stamps(&mut sheet, &stamps);
    check_observations(&mut sheet, &observations);

    let code = sheet.text("code").and_then(|text| CaseCode::new(&text).ok());
    match code {
        Some(code) if sheet.problems.is_empty() => Ok(Case {
            code,
            title: sheet.text("title"),
            demo: sheet.flag("demo").unwrap_or(false),
            note: sheet.text("note"),
            situation,
            patient,
            visit,
            route,
            stamps: stamps.into_iter().map(|(_, stamp)| stamp).collect(),
            observations: observations.into_iter().map(|(_, observation)| observation).collect(),
            limits: CaseLimits {
                opening_m: sheet.number("limits.opening"),
                wall_space_m: sheet.number("limits.wall_space"),
            },
        }),
        _ => {
            let mut problems = sheet.problems;
            problems.sort_by_key(|problem| problem.line);
            Err(problems)
        }
    }
}

fn check_text(text: &str) -> Result<(), Vec<Problem>> {
    let refuse = |line: usize, given: String, allowed: String| {
        Err(vec![Problem { line, field: "file".to_owned(), given, allowed, nearest: None }])
    };
    if text.len() > MAX_BYTES {
        return refuse(1, format!("{} bytes", text.len()), format!("at most {MAX_BYTES} bytes"));
    }
    if let Some(at) = text.find('\0') {
        let line = text[..at].matches('\n').count() + 1;
        return refuse(line, "a NUL character".to_owned(), "text".to_owned());
    }
    Ok(())
}

// The values after `unwrap_or` below stand for fields that are missing or wrong. They complete the record so that
// its other rules can be checked; with a problem noted there is no case to carry them.

fn read_situation(sheet: &Sheet) -> Situation {
    Situation {
        purpose: sheet.word("situation.purpose", Purpose::from_word).unwrap_or(Purpose::Crown),
        room_temperature_k: sheet.number_fact("situation.room_temperature"),
        room_humidity: sheet.number_fact("situation.room_humidity"),
        draught_m_s: sheet.number_fact("situation.draught"),
        water_temperature_k: sheet.number_fact("situation.water_temperature"),
        tooth_temperature_k: sheet.number_fact("situation.tooth_temperature"),
        die_diameter_m: sheet.number_fact("situation.die_diameter"),
        die_height_m: sheet.number_fact("situation.die_height"),
        convergence_rad: sheet.number_fact("situation.convergence"),
        span_m: sheet.number_fact("situation.span"),
        undercut_m: sheet.number_fact("situation.undercut"),
        undercut_at: sheet
            .fact("situation.undercut_at", sheet.word("situation.undercut_at", UndercutPlace::from_word)),
        mobility: sheet.fact("situation.mobility", sheet.word("situation.mobility", Mobility::from_word)),
        abutments: (0..sheet.length("situation.abutment")).map(|index| read_abutment(sheet, index)).collect(),
        latex: sheet.flag_fact("situation.latex"),
        bleeding: sheet.flag_fact("situation.bleeding"),
        fresh_resin: sheet.flag_fact("situation.fresh_resin"),
        cement_residue: sheet.flag_fact("situation.cement_residue"),
        astringent: sheet
            .fact("situation.astringent", sheet.word("situation.astringent", Astringent::from_word)),
        astringent_rinsed: sheet.flag_fact("situation.astringent_rinsed"),
    }
}

fn read_abutment(sheet: &Sheet, index: usize) -> Abutment {
    let path = |name: &str| format!("situation.abutment[{index}].{name}");
    let (tooth, sulcus) = (path("tooth"), path("sulcus"));
    Abutment {
        tooth: sheet.fact(&tooth, sheet.tooth(&tooth)),
        margin_depth_m: sheet.number_fact(&path("margin_depth")),
        sulcus: sheet.fact(&sulcus, sheet.word(&sulcus, SulcusState::from_word)),
    }
}

fn read_route(sheet: &Sheet) -> Route {
    let displacement = "route.displacement";
    let (cords_leave, withdrawal) = ("route.cords_leave", "route.plan.withdrawal");
    Route {
        displacement: sheet.fact(displacement, sheet.word(displacement, Displacement::from_word)),
        cords_leave: sheet.fact(cords_leave, sheet.word(cords_leave, CordOrder::from_word)),
        technique: sheet.word("route.technique", Technique::from_word).unwrap_or(Technique::SingleViscosity),
        material: read_material(sheet, "route.material"),
        wash: sheet.has("route.wash").then(|| read_material(sheet, "route.wash")),
        wash_thickness_m: sheet.number_fact("route.wash_thickness"),
        tray: Tray {
            kind: sheet.word("route.tray.kind", TrayKind::from_word).unwrap_or(TrayKind::Stock),
            material: sheet
                .word("route.tray.material", TrayMaterial::from_word)
                .unwrap_or(TrayMaterial::Metal),
            relief_m: sheet.number_fact("route.tray.relief"),
            ceiling_m: sheet.number_fact("route.tray.ceiling"),
            wall_m: sheet.number_fact("route.tray.wall"),
            adhesive: sheet.flag_fact("route.tray.adhesive"),
            perforated: sheet.flag_fact("route.tray.perforated"),
        },
        mix: Mix {
            method: sheet.word("route.mix.method", MixMethod::from_word).unwrap_or(MixMethod::Hand),
            powder_kg: sheet.number_fact("route.mix.powder"),
            water_kg: sheet.number_fact("route.mix.water"),
        },
        baths: read_baths(sheet),
        holding: (0..sheet.length("route.holding")).map(|index| read_segment(sheet, index)).collect(),
        stone: Stone {
            gypsum: sheet.word("route.stone.gypsum", GypsumType::from_word).unwrap_or(GypsumType::Type4),
            product: sheet.text("route.stone.product").map(ProductId),
            powder_kg: sheet.number_fact("route.stone.powder"),
            water_kg: sheet.number_fact("route.stone.water"),
        },
        lots: Lots {
            material: read_lot(sheet, "material"),
            wash: read_lot(sheet, "wash"),
            stone: read_lot(sheet, "stone"),
        },
        restoration: sheet.has("route.restoration").then(|| read_restoration(sheet)),
        plan: Plan {
            mixing_s: sheet.number_fact("route.plan.mixing"),
            seat_after_s: sheet.number_fact("route.plan.seat_after"),
            paste_after_s: sheet.number_fact("route.plan.paste_after"),
            per_tooth_s: sheet.number_fact("route.plan.per_tooth"),
            tray_after_s: sheet.number_fact("route.plan.tray_after"),
            withdrawal: sheet.fact(withdrawal, sheet.word(withdrawal, Withdrawal::from_word)),
            remove_after_s: sheet.number_fact("route.plan.remove_after"),
            separate_after_s: sheet.number_fact("route.plan.separate_after"),
            second_pour_after_s: sheet.number_fact("route.plan.second_pour_after"),
        },
    }
}

fn read_lot(sheet: &Sheet, of: &str) -> Option<LotLabel> {
    sheet.text(&format!("route.lots.{of}")).and_then(|text| LotLabel::new(&text).ok())
}

fn read_material(sheet: &Sheet, table: &str) -> Material {
    let class = sheet.word(&format!("{table}.class"), ImpressionClass::from_word);
    Material {
        class: class.unwrap_or(ImpressionClass::AdditionSilicone),
        product: sheet.text(&format!("{table}.product")).map(ProductId),
    }
}

fn read_segment(sheet: &Sheet, index: usize) -> HoldingSegment {
    let path = |name: &str| format!("route.holding[{index}].{name}");
    let (exposure, agent) = (path("exposure"), path("agent"));
    HoldingSegment {
        kind: sheet.word(&path("kind"), HoldingKind::from_word).unwrap_or(HoldingKind::OpenAir),
        duration_s: sheet.number(&path("duration")).unwrap_or(0.0),
        temperature_k: sheet.number_fact(&path("temperature")),
        humidity: sheet.number_fact(&path("humidity")),
        draught_m_s: sheet.number_fact(&path("draught")),
        exposure: sheet.fact(&exposure, sheet.word(&exposure, Exposure::from_word)),
        agent: sheet.fact(&agent, sheet.word(&agent, Agent::from_word)),
        concentration: sheet.number_fact(&path("concentration")),
        labelled_contact_s: sheet.number_fact(&path("labelled_contact")),
    }
}

fn read_baths(sheet: &Sheet) -> Baths {
    Baths {
        tube_diameter_m: sheet.number_fact("route.baths.tube_diameter"),
        boil_temperature_k: sheet.number_fact("route.baths.boil_temperature"),
        boil_s: sheet.number_fact("route.baths.boil"),
        boiled_before: sheet.flag_fact("route.baths.boiled_before"),
        store_temperature_k: sheet.number_fact("route.baths.store_temperature"),
        store_s: sheet.number_fact("route.baths.store"),
        temper_temperature_k: sheet.number_fact("route.baths.temper_temperature"),
        temper_s: sheet.number_fact("route.baths.temper"),
        coolant_temperature_k: sheet.number_fact("route.baths.coolant_temperature"),
        syringe_temperature_k: sheet.number_fact("route.baths.syringe_temperature"),
    }
}

fn read_restoration(sheet: &Sheet) -> Restoration {
    let kind = sheet.word("route.restoration.fabrication", FabricationKind::from_word);
    Restoration {
        fabrication: Fabrication {
            kind: kind.unwrap_or(FabricationKind::Milled),
            spacer_m: sheet.number_fact("route.restoration.spacer"),
            spacer_coats: sheet.number_fact("route.restoration.spacer_coats"),
            alloy: sheet
                .fact("route.restoration.alloy", sheet.word("route.restoration.alloy", Alloy::from_word)),
        },
        film_m: sheet.number_fact("route.restoration.film"),
    }
}

/// The stamps that could be read, with their places in the file.
fn read_stamps(sheet: &Sheet) -> Vec<(usize, Stamp)> {
    (0..sheet.length("stamps"))
        .filter_map(|index| {
            let step = sheet.word(&format!("stamps[{index}].step"), Step::from_word)?;
            let at = sheet.moment(&format!("stamps[{index}].at"))?;
            Some((index, Stamp { step, at }))
        })
        .collect()
}

/// The observations that could be read, with their places in the file.
fn read_observations(sheet: &Sheet) -> Vec<(usize, Observation)> {
    (0..sheet.length("observations"))
        .filter_map(|index| {
            let at = sheet.moment(&format!("observations[{index}].at"))?;
            Some((index, Observation { at, reading: read_reading(sheet, index)? }))
        })
        .collect()
}

fn read_reading(sheet: &Sheet, index: usize) -> Option<Reading> {
    let path = |name: &str| format!("observations[{index}].{name}");
    let number = |name: &str| sheet.number(&path(name));
    let finding = || {
        let fault = sheet.word(&path("fault"), Fault::from_word)?;
        Some(Reading::Inspection(Finding { fault, present: sheet.flag_fact(&path("present")) }))
    };
    let on_die = || {
        let fault = sheet.word(&path("die_fault"), DieFault::from_word)?;
        Some(Reading::Die(DieFinding { fault, present: sheet.flag_fact(&path("on_die")) }))
    };
    let at_try_in = || {
        let sign = sheet.word(&path("try_in"), TryInSign::from_word)?;
        Some(Reading::TryIn(TryInFinding { sign, present: sheet.flag_fact(&path("felt")) }))
    };
    number("room_temperature")
        .map(Reading::RoomTemperature)
        .or_else(|| number("room_humidity").map(Reading::RoomHumidity))
        .or_else(|| number("water_temperature").map(Reading::WaterTemperature))
        .or_else(|| number("tooth_temperature").map(Reading::ToothTemperature))
        .or_else(|| number("mix_temperature").map(Reading::MixTemperature))
        .or_else(|| number("mass_loss").map(Reading::MassLoss))
        .or_else(|| sheet.flag(&path("bowl_set")).map(|_| Reading::BowlSet))
        .or_else(|| number("pour_difference").map(Reading::PourDifference))
        .or_else(|| number("margin_film").map(Reading::MarginFilm))
        .or_else(|| number("wall_film").map(Reading::WallFilm))
        .or_else(|| sheet.word(&path("span_index"), IndexFit::from_word).map(Reading::SpanIndex))
        .or_else(finding)
        .or_else(on_die)
        .or_else(at_try_in)
}

/// `Situation::validate` stops at the first problem, so the tooth it names is forgotten in a copy and the copy asked again.
fn check_situation(sheet: &mut Sheet, situation: &Situation) {
    let mut copy = situation.clone();
    while let Err(invalid) = copy.validate() {
        sheet.report(&invalid.field, invalid.given, invalid.allowed);
        let index = invalid.field.strip_prefix("situation.abutment[").and_then(|rest| rest.split_once(']'));
        let index = index.and_then(|(index, _)| index.parse::<usize>().ok());
        let Some(abutment) = index.and_then(|index| copy.abutments.get_mut(index)) else { return };
        *abutment = Abutment::UNKNOWN;
    }
}

/// `Route::validate` stops at the first problem, so the part it names is put right in a copy and the copy asked again.
fn check_route(sheet: &mut Sheet, route: &Route, situation: &Situation) {
    if situation.purpose == Purpose::StudyCast && sheet.has("route.restoration") {
        let given = format!("a restoration with the purpose \"{}\"", situation.purpose);
        sheet.report("route.restoration", given, "none on a study cast".to_owned());
    }
    let decisive = ["route.technique", "route.material.class", "route.mix.method"];
    let wash_is_read = !sheet.has("route.wash") || sheet.has_word("route.wash.class");
    if !wash_is_read || !decisive.into_iter().all(|path| sheet.has_word(path)) {
        return;
    }
    let mut copy = route.clone();
    while let Err(invalid) = copy.validate() {
        sheet.report(&invalid.field, invalid.given, invalid.allowed);
        match invalid.field.as_str() {
            "route.wash" if copy.technique.has_wash() => {
                let class = match copy.technique {
                    Technique::AgarOverAlginate => ImpressionClass::Agar,
                    _ => copy.material.class,
                };
                copy.wash = Some(Material { class, product: None });
            }
            "route.wash" => copy.wash = None,
            "route.technique" => {
                copy.technique = Technique::SingleViscosity;
                copy.wash = None;
            }
            "route.holding (all together)" => copy.holding.clear(),
            "route.baths" => copy.baths = Baths::UNKNOWN,
            field if field.starts_with("route.baths.") => copy.baths = Baths::UNKNOWN,
            "route.cords_leave" => copy.cords_leave = Fact::Unknown,
            "route.wash_thickness" => copy.wash_thickness_m = Fact::Unknown,
            "route.plan.mixing" => copy.plan.mixing_s = Fact::Unknown,
            field if field.ends_with("].agent") => {
                for segment in &mut copy.holding {
                    let HoldingSegment { kind, duration_s, .. } = *segment;
                    *segment = HoldingSegment::of(kind, duration_s);
                }
            }
            _ => return,
        }
    }
}

/// `check_order` stops at the first problem, so the stamp it names is taken out and the rest asked again.
fn check_stamps(sheet: &mut Sheet, stamps: &[(usize, Stamp)]) {
    let (mut places, mut left): (Vec<usize>, Vec<Stamp>) = stamps.iter().copied().unzip();
    while let Err(invalid) = check_order(&left) {
        let index = invalid.field.trim_start_matches("stamps[").trim_end_matches(']').parse().unwrap_or(0);
        if index >= left.len() {
            return;
        }
        sheet.report(&format!("stamps[{}]", places.remove(index)), invalid.given, invalid.allowed);
        left.remove(index);
    }
}

fn check_observations(sheet: &mut Sheet, observations: &[(usize, Observation)]) {
    for (index, observation) in observations {
        if let Err(invalid) = observation.validate(&format!("observations[{index}]")) {
            sheet.report(&invalid.field, invalid.given, invalid.allowed);
        }
    }
}
