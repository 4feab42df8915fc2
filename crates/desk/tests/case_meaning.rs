//! What each field and each absence means: a text beside the record it must become.

#![allow(clippy::panic, reason = "a test stops where its premise fails")]

use case_file::{Case, CaseCode, CaseLimits, parse};
use terms::{
    Abutment, Answer, Answers, Astringent, Baths, CordOrder, Displacement, Exposure, Fabrication,
    FabricationKind, Fact, Fault, Finding, GypsumType, HoldingKind, HoldingSegment, ImpressionClass, Instant,
    Material, Mix, MixMethod, Mobility, Observation, Plan, ProductId, Purpose, Reading, Restoration, Route,
    Situation, Stamp, Step, Stone, SulcusState, Technique, Tooth, Tray, TrayKind, TrayMaterial,
    UndercutPlace, Unit, Withdrawal,
};

fn read(text: &str) -> Case {
    parse("test.toml", text).unwrap_or_else(|problems| panic!("{problems}"))
}

/// Every value differs from every other, so that two fields cannot change places unnoticed.
const FULL: &str = r#"
schema_version = 1
code = "TW-0007"
title = "A title"
demo = true
note = "A note"

[situation]
purpose = "bridge"
room_temperature = "21 °C"
room_humidity = "41 %"
draught = "strong"
water_temperature = "18 C"
tooth_temperature = "31.5 °C"
die_diameter = "7.25 mm"
die_height = "4500 µm"
convergence = "12 deg"
span = "32 mm"
undercut = "0.75 mm"
undercut_at = "other tooth"
mobility = "grade 1"
latex = true
bleeding = false
fresh_resin = true
cement_residue = "not applicable"
astringent = "ferric sulfate"
astringent_rinsed = true

[[situation.abutment]]
tooth = "37"
margin_depth = "650 µm"
sulcus = "fluid"

[[situation.abutment]]

[[situation.abutment]]
tooth = "34"
sulcus = "dry"

[patient]
device = "pacemaker"
since_infarction = "5 months"
since_bypass = "not applicable"
systolic = "142 mmHg"
inr = "2.4 INR"
mouth_opening = "38 mm"
latex_allergy = false

[visit]
cartridges = "2 cartridges"
cartridge_volume = "1.8 mL"
adrenaline = "1:100000"
cords_in = "4 cords"
medicament_dwell = "90 s"
piece_missing = "not applicable"

[route]
displacement = "single cord"
cords_leave = "one by one"
technique = "dual viscosity"
wash_thickness = "1.2 mm"

[route.material]
class = "alginate"
product = "in-the-tray"

[route.wash]
class = "agar"
product = "from-the-syringe"

[route.tray]
kind = "custom"
material = "acrylic"
relief = "3 mm"
ceiling = "4 mm"
wall = "2.5 mm"
adhesive = false
perforated = true

[route.mix]
method = "machine"
powder = "17 g"
water = "39 g"

[route.baths]
tube_diameter = "22 mm"
boil_temperature = "97 °C"
boil = "11 min"
boiled_before = false
store_temperature = "65 °C"
store = "2 h"
temper_temperature = "46 °C"
temper = "3 min"
coolant_temperature = "19 °C"
syringe_temperature = "62 °C"

[[route.holding]]
kind = "open air"
duration = "90 s"
temperature = "19 °C"
humidity = "35 %"
draught = "light"
exposure = "face down"

[route.stone]
gypsum = "type 3"
product = "the-stone"
powder = "150 g"
water = "45 g"

[route.restoration]
fabrication = "pressed"
spacer = "40 um"
film = "0.025 mm"

[route.plan]
mixing = "44 s"
seat_after = "1.5 min"
paste_after = "16 s"
per_tooth = "11 s"
tray_after = "0.15 min"
remove_after = "4 min"
withdrawal = "steady pull"
separate_after = "2 h"
second_pour_after = "30 min"

[[stamps]]
step = "seated"
at = 2026-03-02T09:15:00+01:00

[[observations]]
at = "2026-03-02T08:00:01.5Z"
room_temperature = "20 °C"

[[observations]]
at = 2026-03-02 08:00:02Z
room_humidity = "50 %"

[[observations]]
at = 2026-03-02T08:00:03Z
mix_temperature = "22 °C"

[[observations]]
at = 2026-03-02T08:00:04Z
bowl_set = true

[[observations]]
at = 2026-03-02T08:00:05Z
mass_loss = "-1.5 %"

[[observations]]
at = 2026-03-02T08:00:06Z
fault = "drag"
present = false

[limits]
opening = "100 µm"
wall_space = "0.15 mm"
"#;

#[test]
fn every_field_becomes_its_member_in_si() {
    let c = |celsius: f64| Fact::Known(celsius + 273.15);
    let material = |class, product: &str| Material { class, product: Some(ProductId(product.to_owned())) };
    // 2026-03-02T08:00:00Z is day 20514 after 1970-01-01.
    let at = |seconds: f64| Instant::from_millis((20_514 * 24 + 8) * 3_600_000).plus_seconds(seconds);
    let tooth = |quadrant, place| Fact::Known(Tooth::new(quadrant, place).unwrap());
    let observation = |seconds, reading| Observation { at: at(seconds), reading };
    let answers = |table: &str, mut answers: Answers, said: &[(&str, Fact<Answer>)]| {
        for (name, fact) in said {
            answers.answer(table, name, *fact).unwrap();
        }
        answers
    };
    let number = |si| Fact::Known(Answer::Number(si));
    let patient = answers(
        "patient",
        terms::patient(),
        &[
            ("device", Fact::Known(Answer::Word("pacemaker"))),
            ("since_infarction", number(5.0 * 30.4375 * 86_400.0)),
            ("since_bypass", Fact::NotApplicable),
            ("systolic", number(Unit::MmHg.to_si(142.0))),
            ("inr", number(2.4)),
            ("mouth_opening", number(Unit::Millimetre.to_si(38.0))),
            ("latex_allergy", Fact::Known(Answer::Flag(false))),
        ],
    );
    let visit = answers(
        "visit",
        terms::visit(),
        &[
            ("cartridges", number(2.0)),
            ("cartridge_volume", number(Unit::Millilitre.to_si(1.8))),
            ("adrenaline", Fact::Known(Answer::Word("1:100000"))),
            ("cords_in", number(4.0)),
            ("medicament_dwell", number(90.0)),
            ("piece_missing", Fact::NotApplicable),
        ],
    );
    let expected = Case {
        code: CaseCode::new("TW-0007").unwrap(),
        title: Some("A title".to_owned()),
        demo: true,
        note: Some("A note".to_owned()),
        situation: Situation {
            purpose: Purpose::Bridge,
            room_temperature_k: c(21.0),
            room_humidity: Fact::Known(Unit::Percent.to_si(41.0)),
            draught_m_s: Fact::Known(0.8),
            water_temperature_k: c(18.0),
            tooth_temperature_k: c(31.5),
            die_diameter_m: Fact::Known(Unit::Millimetre.to_si(7.25)),
            die_height_m: Fact::Known(Unit::Micrometre.to_si(4500.0)),
            convergence_rad: Fact::Known(Unit::Degree.to_si(12.0)),
            span_m: Fact::Known(0.032),
            undercut_m: Fact::Known(0.00075),
            undercut_at: Fact::Known(UndercutPlace::OtherTooth),
            mobility: Fact::Known(Mobility::Grade1),
            abutments: vec![
                Abutment {
                    tooth: tooth(3, 7),
                    margin_depth_m: Fact::Known(Unit::Micrometre.to_si(650.0)),
                    sulcus: Fact::Known(SulcusState::Fluid),
                },
                Abutment::UNKNOWN,
                Abutment {
                    tooth: tooth(3, 4),
                    margin_depth_m: Fact::Unknown,
                    sulcus: Fact::Known(SulcusState::Dry),
                },
            ],
            latex: Fact::Known(true),
            bleeding: Fact::Known(false),
            fresh_resin: Fact::Known(true),
            cement_residue: Fact::NotApplicable,
            astringent: Fact::Known(Astringent::FerricSulfate),
            astringent_rinsed: Fact::Known(true),
        },
        patient,
        visit,
        route: Route {
            displacement: Fact::Known(Displacement::SingleCord),
            cords_leave: Fact::Known(CordOrder::OneByOne),
            technique: Technique::DualViscosity,
            material: material(ImpressionClass::Alginate, "in-the-tray"),
            wash: Some(material(ImpressionClass::Agar, "from-the-syringe")),
            wash_thickness_m: Fact::Known(0.0012),
            tray: Tray {
                kind: TrayKind::Custom,
                material: TrayMaterial::Acrylic,
                relief_m: Fact::Known(0.003),
                ceiling_m: Fact::Known(0.004),
                wall_m: Fact::Known(0.0025),
                adhesive: Fact::Known(false),
                perforated: Fact::Known(true),
            },
            mix: Mix {
                method: MixMethod::Machine,
                powder_kg: Fact::Known(0.017),
                water_kg: Fact::Known(0.039),
            },
            baths: Baths {
                tube_diameter_m: Fact::Known(0.022),
                boil_temperature_k: c(97.0),
                boil_s: Fact::Known(660.0),
                boiled_before: Fact::Known(false),
                store_temperature_k: c(65.0),
                store_s: Fact::Known(7200.0),
                temper_temperature_k: c(46.0),
                temper_s: Fact::Known(180.0),
                coolant_temperature_k: c(19.0),
                syringe_temperature_k: c(62.0),
            },
            holding: vec![HoldingSegment {
                kind: HoldingKind::OpenAir,
                duration_s: 90.0,
                temperature_k: c(19.0),
                humidity: Fact::Known(Unit::Percent.to_si(35.0)),
                draught_m_s: Fact::Known(0.2),
                exposure: Fact::Known(Exposure::FaceDown),
                agent: Fact::NotApplicable,
                concentration: Fact::NotApplicable,
                labelled_contact_s: Fact::NotApplicable,
            }],
            stone: Stone {
                gypsum: GypsumType::Type3,
                product: Some(ProductId("the-stone".to_owned())),
                powder_kg: Fact::Known(0.15),
                water_kg: Fact::Known(0.045),
            },
            lots: terms::Lots::default(),
            restoration: Some(Restoration {
                fabrication: Fabrication {
                    kind: FabricationKind::Pressed,
                    spacer_m: Fact::Known(Unit::Micrometre.to_si(40.0)),
                    spacer_coats: Fact::Unknown,
                    alloy: Fact::Unknown,
                },
                film_m: Fact::Known(Unit::Millimetre.to_si(0.025)),
            }),
            plan: Plan {
                mixing_s: Fact::Known(44.0),
                seat_after_s: Fact::Known(90.0),
                paste_after_s: Fact::Known(16.0),
                per_tooth_s: Fact::Known(11.0),
                tray_after_s: Fact::Known(9.0),
                withdrawal: Fact::Known(Withdrawal::Steady),
                remove_after_s: Fact::Known(240.0),
                separate_after_s: Fact::Known(7200.0),
                second_pour_after_s: Fact::Known(1800.0),
            },
        },
        stamps: vec![Stamp { step: Step::Seated, at: at(900.0) }],
        observations: vec![
            observation(1.5, Reading::RoomTemperature(20.0 + 273.15)),
            observation(2.0, Reading::RoomHumidity(0.5)),
            observation(3.0, Reading::MixTemperature(22.0 + 273.15)),
            observation(4.0, Reading::BowlSet),
            observation(5.0, Reading::MassLoss(Unit::Percent.to_si(-1.5))),
            observation(
                6.0,
                Reading::Inspection(Finding { fault: Fault::Drag, present: Fact::Known(false) }),
            ),
        ],
        limits: CaseLimits {
            opening_m: Some(Unit::Micrometre.to_si(100.0)),
            wall_space_m: Some(Unit::Millimetre.to_si(0.15)),
        },
    };
    assert_eq!(read(FULL), expected);
    assert_eq!(read(&case_file::write(&expected)), expected);
}

/// The least that a case must say, with the words that the defaults depend on.
fn least(purpose: &str, class: &str, holding: &str) -> Case {
    read(&format!(
        "schema_version = 1\ncode = \"TW-01\"\n[situation]\npurpose = \"{purpose}\"\n\
         [route]\ntechnique = \"single viscosity\"\n[route.material]\nclass = \"{class}\"\n\
         [route.tray]\nkind = \"stock\"\nmaterial = \"metal\"\n[route.mix]\nmethod = \"hand\"\n\
         [[route.holding]]\nkind = \"{holding}\"\nduration = \"10 min\"\n[route.stone]\ngypsum = \"type 4\"\n"
    ))
}

#[test]
fn an_absent_fact_is_unknown_and_never_no() {
    let case = least("bridge", "alginate", "open air");
    assert_eq!(case.situation, Situation::unknown(Purpose::Bridge));
    assert_eq!(case.route.displacement, Fact::Unknown);
    assert_eq!(case.route.tray.adhesive, Fact::Unknown);
    assert_eq!(case.route.tray.perforated, Fact::Unknown);
    assert_eq!(case.route.tray.relief_m, Fact::Unknown);
    assert_eq!((case.route.mix.powder_kg, case.route.mix.water_kg), (Fact::Unknown, Fact::Unknown));
    let segment = case.route.holding[0];
    assert_eq!((segment.temperature_k, segment.humidity), (Fact::Unknown, Fact::Unknown));
    assert_eq!((segment.draught_m_s, segment.exposure), (Fact::Unknown, Fact::Unknown));
    let plan = case.route.plan;
    assert_eq!((plan.mixing_s, plan.separate_after_s), (Fact::Unknown, Fact::Unknown));
    assert_eq!((plan.paste_after_s, plan.per_tooth_s), (Fact::Unknown, Fact::Unknown));
    assert_eq!((plan.tray_after_s, plan.withdrawal), (Fact::Unknown, Fact::Unknown));
    assert_eq!((case.route.cords_leave, case.situation.abutments), (Fact::Unknown, Vec::new()));
    assert_eq!((case.title, case.demo, case.note), (None, false, None));
    assert_eq!((case.route.restoration, case.route.wash, case.route.stone.product), (None, None, None));
    assert_eq!(case.limits, CaseLimits::default());
}

#[test]
fn an_absent_fact_is_not_applicable_only_where_the_rules_say_so() {
    for (purpose, span) in [
        ("crown", Fact::NotApplicable),
        ("study cast", Fact::Unknown),
        ("bridge", Fact::Unknown),
        ("implant", Fact::Unknown),
    ] {
        assert_eq!(least(purpose, "alginate", "open air").situation.span_m, span, "{purpose}");
    }
    for (class, fact) in [
        ("alginate", Fact::Unknown),
        ("extended-storage alginate", Fact::Unknown),
        ("agar", Fact::NotApplicable),
        ("addition silicone", Fact::NotApplicable),
    ] {
        let case = least("crown", class, "open air");
        assert_eq!(case.situation.water_temperature_k, fact, "{class}");
        assert_eq!((case.route.mix.powder_kg, case.route.mix.water_kg), (fact, fact), "{class}");
    }
    for (displacement, cords_leave) in [
        ("none", Fact::NotApplicable),
        ("single cord", Fact::Unknown),
        ("double cord", Fact::Unknown),
        ("paste", Fact::NotApplicable),
        ("electrosurgery", Fact::NotApplicable),
        ("rotary curettage", Fact::NotApplicable),
        ("laser", Fact::NotApplicable),
        ("unknown", Fact::Unknown),
        ("not applicable", Fact::Unknown),
    ] {
        let text = FULL
            .replace("cords_leave = \"one by one\"\n", "")
            .replace("\"single cord\"", &format!("\"{displacement}\""));
        assert_eq!(read(&text).route.cords_leave, cords_leave, "{displacement}");
    }
    for (kind, humidity, draught) in [
        ("open air", Fact::Unknown, Fact::Unknown),
        ("sealed humid", Fact::Unknown, Fact::NotApplicable),
        ("sprayed and sealed", Fact::Unknown, Fact::NotApplicable),
        ("immersed", Fact::NotApplicable, Fact::NotApplicable),
    ] {
        let segment = least("crown", "alginate", kind).route.holding[0];
        assert_eq!((segment.humidity, segment.draught_m_s), (humidity, draught), "{kind}");
        assert_eq!(segment.exposure.is_unknown(), kind == "open air", "{kind}");
    }
}

#[test]
fn unknown_can_be_written_where_absence_would_mean_not_applicable() {
    let text = FULL.replace("span = \"32 mm\"", "span = \"unknown\"").replace("\"bridge\"", "\"crown\"");
    let case = read(&text);
    assert_eq!(case.situation.span_m, Fact::Unknown);
    assert_eq!(read(&case_file::write(&case)), case);
}
