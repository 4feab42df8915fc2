//! Counsel over whole cases: routes, amounts, inspection, inputs, clinic files.
#![allow(clippy::unwrap_used, clippy::indexing_slicing, reason = "a test stops where its premise fails")]

use std::collections::BTreeSet;

use case_file::{self, Case};
use chain::Effort;
use chain::timing::{Aim, Handle, Wanted, steered, timing};
use counsel::inspection::{Says, inspect};
use counsel::routes::{Pace, Routes};
use desk::clinic_file::{self, Stock};
use desk::load;
use proptest::prelude::*;
use terms::{Fact, Fault, Finding, Instant, Observation, Reading, Stamp, Step};

const NOW: Instant = Instant::from_millis(1_789_372_800_000);

fn demo(name: &str) -> Case {
    load::case(&format!("demo/{name}")).unwrap()
}

fn stock() -> Stock {
    load::stock(None, true).unwrap()
}

fn first(case: &Case) -> Routes {
    load::routes(case, &stock(), Pace::FIRST, NOW).unwrap()
}

fn words(routes: &Routes) -> BTreeSet<String> {
    routes
        .ranked
        .iter()
        .flatten()
        .map(|line| format!("{}; {}; {}", line.kit, line.tray, line.means))
        .collect()
}

#[test]
fn the_number_of_threads_changes_no_comparison() {
    let case = demo("crown-silicone");
    let with = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        pool.install(|| first(&case))
    };
    assert_eq!(with(1), with(3));
}

#[test]
fn the_planned_route_stands_among_the_others_once() {
    for name in ["crown-silicone", "four-abutments", "hot-humid-polyether", "warm-tap-water"] {
        let routes = first(&demo(name));
        let planned =
            routes.ranked.iter().flatten().chain(&routes.waiting).filter(|line| line.planned).count();
        assert_eq!(planned, 1, "{name}");
    }
}

/// What a stop blocks is neither in order nor waiting; what waits has no place.
#[test]
fn nothing_blocked_or_waiting_is_in_order() {
    let case = demo("heart-three-cartridges");
    let routes = first(&case);
    let ranked = words(&routes);
    assert!(!ranked.is_empty());
    assert!(!ranked.iter().any(|words| words.contains("adrenaline") || words.contains("monopolar")));
    assert!(routes.blocked.iter().any(|blocked| blocked.rule == "heart-adrenaline-cord"));
    let mut unasked = case;
    unasked.patient = terms::patient();
    let routes = load::routes(&unasked, &stock(), Pace::FIRST, NOW).unwrap();
    assert!(routes.ranked.is_empty() && !routes.waiting.is_empty());
    assert!(routes.waiting.iter().all(|line| !line.waits_for.is_empty()));
    // By the best chance that hangs on each question, then by the number of routes.
    let keys: Vec<(f64, usize)> = routes.questions.iter().map(|asked| (asked.best, asked.routes)).collect();
    assert!(keys.windows(2).all(|pair| pair[0] >= pair[1]), "{keys:?}");
    assert!(routes.questions.iter().all(|asked| !asked.stops.is_empty() && asked.words.ends_with('?')));
}

/// The order in which a clinic lists what it has decides nothing.
#[test]
fn the_order_of_the_shelf_changes_no_place() {
    let case = demo("crown-silicone");
    let forward = first(&case);
    let mut turned = stock();
    turned.clinic.kits.reverse();
    turned.clinic.trays.reverse();
    let backward = load::routes(&case, &turned, Pace::FIRST, NOW).unwrap();
    let places = |routes: &Routes| -> Vec<String> {
        routes
            .ranked
            .iter()
            .flatten()
            .map(|line| format!("{}; {}; {}", line.kit, line.tray, line.means))
            .collect()
    };
    assert_eq!(places(&forward), places(&backward));
}

/// Later in order is never certainly better.
#[test]
fn no_later_place_is_certainly_better_than_the_first() {
    for name in ["crown-silicone", "bridge-silicone", "study-alginate"] {
        let mut case = demo(name);
        case.patient = demo("crown-silicone").patient;
        case.visit = demo("crown-silicone").visit;
        let routes = first(&case);
        let free = routes.ranked.iter().flatten().filter(|line| line.in_the_way.is_empty());
        for line in free {
            assert!(line.low <= line.chance && line.chance <= line.high);
            assert!(line.against_first.unwrap().low <= 0.0, "{name}: {}", line.kit);
        }
    }
}

#[test]
fn the_whole_answer_follows_what_the_first_one_does() {
    let case = demo("crown-silicone");
    let whole = load::routes(&case, &stock(), Pace::WHOLE, NOW).unwrap();
    assert_eq!(words(&first(&case)), words(&whole));
    assert!(!whole.tried.is_empty());
}

/// Blending and timing inverses agree with the forward model to 0.1 s and 0.1 °C.
#[test]
fn prop_the_temperature_for_a_working_time_gives_that_time() {
    let case = demo("warm-tap-water");
    let (parameters, limits) = load::parameters(&case, &stock()).unwrap();
    let effort = Effort { points: 4 };
    let forward = |at_k: f64| {
        let (situation, route) = (&case.situation, &case.route);
        timing(situation, route, Handle::Water, at_k, &parameters, &limits, effort, NOW).unwrap()
    };
    let inverse = |aim: Aim| {
        let (situation, route) = (&case.situation, &case.route);
        steered(situation, route, Handle::Water, aim, &parameters, &limits, effort, NOW).unwrap()
    };
    for celsius in [4.0, 11.3, 18.0, 23.7, 31.0, 42.0] {
        let timed = forward(273.15 + celsius);
        let Wanted::Reached(found) = inverse(Aim::Working(timed.working_s.mid)) else { panic!("{celsius}") };
        assert!((found.at_k - timed.at_k).abs() < 0.1, "{celsius}: {found:?}");
        assert!((found.working_s.mid - timed.working_s.mid).abs() < 0.1, "{celsius}: {found:?}");
        assert!((forward(found.at_k).working_s.mid - timed.working_s.mid).abs() < 0.1);
        let Wanted::Reached(found) = inverse(Aim::Mix(timed.mix_k.mid)) else { panic!("{celsius}") };
        assert!((found.at_k - timed.at_k).abs() < 0.1, "{celsius}: {found:?}");
    }
    assert!(matches!(inverse(Aim::Working(1800.0)), Wanted::ColdestNotEnough(_)));
    assert!(matches!(inverse(Aim::Working(5.0)), Wanted::WarmestNotEnough(_)));
    // A room of 31 °C warms the mix of the coldest water beyond 3 °C.
    assert!(matches!(inverse(Aim::Mix(276.15)), Wanted::ColdestNotEnough(_)));
}

/// Powder and water of an unstated mix share the ratio: their sum is as uncertain as the tray and the density alone, and no more water
/// than the spread of each would give is asked for.
#[test]
fn powder_and_water_of_a_mix_add_up_to_it() {
    let mut case = demo("study-alginate");
    case.route.mix.powder_kg = terms::Fact::Unknown;
    case.route.mix.water_kg = terms::Fact::Unknown;
    let (parameters, _) = load::parameters(&case, &stock()).unwrap();
    let forecast = load::forecast(&case, &stock(), Effort::COARSE, NOW).unwrap();
    let measure = counsel::amounts::measure(&load::view(&case), &parameters, &forecast).unwrap();
    let find = |what: &str| measure.amounts.iter().find(|amount| amount.what == what).unwrap().interval;
    let (powder, water) = (find("powder, weighed"), find("water"));
    let mass_g = 35.0 * 1.09;
    assert!((powder[1] + water[1] - mass_g).abs() < 1e-6, "{powder:?} {water:?}");
    // 90 % of 25 to 45 mL is 26 to 44 mL: relative half-width 0.26, and the share of water of a usual ratio adds little in squares.
    let relative = (water[2] - water[0]) / 2.0 / water[1];
    assert!((0.25..0.28).contains(&relative), "{relative}");
}

proptest! {
    /// The heat of both waters is that of the blend, and the masses add up.
    #[test]
    fn prop_a_blend_keeps_heat_and_mass(
        first in 1.0..60.0f64, second in 1.0..60.0f64, share in 0.0..=1.0f64, total_ml in 1.0..2000.0f64
    ) {
        let wanted = first + share * (second - first);
        let k = |celsius: f64| 273.15 + celsius;
        let blend = counsel::amounts::blend([k(first), k(second)], k(wanted), total_ml * 1e-3).unwrap();
        let [one, two] = blend.water_kg;
        prop_assert!((one + two - total_ml * 1e-3).abs() < 1e-12 * total_ml);
        let mixed = (one * first + two * second) / (one + two);
        prop_assert!((mixed - wanted).abs() < 1e-6 || (first - second).abs() < 1e-6);
        prop_assert!(one >= -1e-12 && two >= -1e-12);
    }
}

#[test]
fn a_blend_outside_its_sources_is_refused_with_what_is_allowed() {
    let error = counsel::amounts::blend([279.15, 301.15], 303.15, 0.04).unwrap_err().to_string();
    assert_eq!(
        error,
        "wanted temperature: given 30.0 °C; allowed 6.0 °C to 28.0 °C, the temperatures of the two sources"
    );
}

#[test]
fn a_found_fault_outranks_the_arithmetic_and_eyes_come_before_it() {
    let mut case = demo("crown-silicone");
    let stock = stock();
    let (parameters, limits) = load::parameters(&case, &stock).unwrap();
    let at = |minutes: i64| Instant::from_millis(NOW.millis() + 60_000 * minutes);
    let ask = |case: &Case| {
        let view = load::view(case);
        inspect(&view, &stock.clinic, &parameters, &limits, Effort { points: 8 }, at(10)).unwrap()
    };
    assert_eq!(ask(&case).says, Says::NotYet);
    case.stamps = vec![Stamp { step: Step::MixStarted, at: NOW }, Stamp { step: Step::Removed, at: at(8) }];
    assert_eq!(ask(&case).says, Says::Look);
    let finding = |fault: Fault, present: bool| Observation {
        at: at(9),
        reading: Reading::Inspection(Finding { fault, present: Fact::Known(present) }),
    };
    case.observations = Fault::ALL.iter().map(|fault| finding(*fault, false)).collect();
    for (name, answer) in [
        ("piece_missing", terms::Answer::Flag(false)),
        ("cords_in", terms::Answer::Number(2.0)),
        ("cords_out", terms::Answer::Number(2.0)),
    ] {
        case.visit.answer("visit", name, Fact::Known(answer)).unwrap();
    }
    let clean = ask(&case);
    assert_eq!(clean.says, Says::Accept);
    // p R against m + q R, with the middles of the rows.
    let [now, remake] = clean.costs;
    let break_even = clean.fails_again.mean + now / remake;
    assert!((clean.break_even.mean - break_even).abs() < 1e-12);
    assert!(clean.fails.mean < clean.fails_again.mean, "an inspection that finds nothing counts for it");
    case.observations.push(finding(Fault::MarginVoid, true));
    assert_eq!(ask(&case).says, Says::Fault);
}

#[test]
fn clinic_files_are_refused_with_what_is_allowed() {
    let whole = include_str!("../../../data/counsel/clinic-demo.toml");
    clinic_file::parse("demo/clinic", whole).unwrap();
    let refused = |from: &str, to: &str| {
        assert!(whole.contains(from), "{from}");
        let changed = whole.replacen(from, to, 1);
        format!("{:#}", clinic_file::parse("mine.toml", &changed).unwrap_err())
    };
    assert!(refused("relief = \"3 mm\"", "relief = \"3 km\"").contains("allowed 0.5 to 12 mm"));
    assert!(refused("cost = 90.0", "cost = -1.0").contains("allowed 0 to 1000000"));
    assert!(refused("scanner = true", "scanner = \"maybe\"").contains("allowed true, false"));
    assert!(refused("wash_class = \"addition silicone\"\n", "").contains("allowed a second material"));
    assert!(refused("demo = true", "demon = true").contains("demon"));
}

/// A clinic adds products with their instructions; it may not write over a row that is shipped.
#[test]
fn a_clinic_adds_instructions_and_writes_over_nothing() {
    let case = demo("crown-silicone");
    let product = "\n[[product]]\nid = \"own-silicone\"\nname = \"Our silicone\"\nclass = \"addition silicone\"\n\
         \n[[product.instruction]]\naction = \"remove\"\nbound = \"minimum\"\nseconds = 300\norigin = \"in the mouth\"\n\
         conditions = \"23 °C\"\nsource = \"its leaflet\"\n";
    let whole = format!("{}{product}", include_str!("../../../data/counsel/clinic-demo.toml"));
    let own = clinic_file::parse("mine.toml", &whole).unwrap();
    let (parameters, _) = load::parameters(&case, &own).unwrap();
    let known = parameters.product(&terms::ProductId("own-silicone".to_owned())).unwrap();
    assert_eq!(known.instructions[0].seconds, 300.0);
    let twice =
        clinic_file::parse("mine.toml", &whole.replace("own-silicone", "demo-silicone-heavy")).unwrap();
    let error = load::parameters(&case, &twice).unwrap_err().to_string();
    assert_eq!(error, "mine.toml: demo-silicone-heavy: given twice");
}

/// Every question of patient and visit counts in a rule or in what rules are derived from.
#[test]
fn every_question_counts_in_a_rule() {
    let derived = [
        // visit.adrenaline_total
        "visit.cartridges",
        "visit.cartridge_volume",
        "visit.adrenaline",
        // visit.cords_missing
        "visit.cords_in",
        "visit.cords_out",
        // How long other materials than the planned one wait.
        "visit.pour_not_before",
    ];
    let book = counsel::cautions::Rulebook::shipped().unwrap();
    let of = |table: &'static str, questions: &'static [terms::Question]| {
        questions.iter().map(move |question| format!("{table}.{}", question.name))
    };
    for name in of("patient", terms::PATIENT).chain(of("visit", terms::VISIT)) {
        let counts = book.on(&name).next().is_some() || derived.contains(&name.as_str());
        assert!(counts, "{name} is asked and counts nowhere");
    }
    for fact in ["visit.adrenaline_total", "visit.cords_missing"] {
        assert!(book.on(fact).next().is_some(), "{fact}");
    }
}

/// Every fact of situation and route moves something in some demo case; where it does not, a reason is given.
#[test]
fn every_input_moves_something_or_a_reason_is_given() {
    let stock = stock();
    let mut waiting: BTreeSet<String> = case_file::fields::TABLES
        .iter()
        .filter(|table| table.path.starts_with("situation") || table.path.starts_with("route"))
        .flat_map(|table| table.fields.iter().map(move |field| format!("{}.{}", table.path, field.name)))
        // Names alone: of a tooth, of lots, and of products, whose instructions have tests of their own.
        .filter(|path| !path.ends_with(".product") && !path.starts_with("route.lots."))
        .filter(|path| path != "situation.abutment.tooth")
        .collect();
    let general = |path: &str| {
        let (before, after) = path.split_once('[').map_or((path, ""), |(before, after)| (before, after));
        format!("{before}{}", after.split_once(']').map_or("", |(_, rest)| rest))
    };
    for (name, _) in load::DEMO {
        let case = demo(name);
        let wanted = |path: &str| waiting.contains(&general(path));
        if !case_file::stated(&case).iter().any(|stated| wanted(&stated.path)) {
            continue;
        }
        for input in desk::inputs::inputs_of(&case, &stock, NOW, wanted, |_| Ok(())).unwrap() {
            if input.moves.is_empty() {
                assert!(input.why_not.is_some_and(|why| !why.is_empty()), "{name}: {}", input.path);
            } else {
                waiting.remove(&general(&input.path));
            }
        }
    }
    assert!(waiting.is_empty(), "nothing moves with {waiting:?}");
}
