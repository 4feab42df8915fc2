//! Every class, every holding, every technique: the direction and the size of what each must do.
#![allow(clippy::unwrap_used, clippy::panic, reason = "a test stops where its premise fails")]

mod common;

use chain::Forecast;
use chain::report::VerdictWord;
use common::{Case, held, silicone_crown};
use terms::{
    Action, Agent, Astringent, Baths, Fact, HoldingKind, HoldingSegment, ImpressionClass, Material, Mix,
    MixMethod, Technique, TrayKind, TrayMaterial,
};

const POINTS: u32 = 64;

/// The crown of the common cases on another class, without a product.
fn of(class: ImpressionClass) -> Case {
    let mut case = silicone_crown();
    case.route.material = Material { class, product: None };
    case.situation.room_temperature_k = Fact::Known(296.15);
    case.route.plan.mixing_s = Fact::Unknown;
    case.route.plan.seat_after_s = Fact::Unknown;
    if class.is_alginate() {
        case.route.mix =
            Mix { method: MixMethod::Hand, powder_kg: Fact::Known(0.018), water_kg: Fact::Known(0.0396) };
    }
    if class == ImpressionClass::Agar {
        case.route.tray.material = TrayMaterial::Metal;
        case.route.tray.perforated = Fact::Known(true);
        case.route.baths = Baths {
            tube_diameter_m: Fact::Known(20e-3),
            boil_temperature_k: Fact::Known(372.15),
            boil_s: Fact::Known(720.0),
            boiled_before: Fact::Known(false),
            store_temperature_k: Fact::Known(338.15),
            store_s: Fact::Known(7200.0),
            temper_temperature_k: Fact::Known(319.15),
            temper_s: Fact::Known(300.0),
            coolant_temperature_k: Fact::Known(293.15),
            syringe_temperature_k: Fact::Unknown,
        };
    }
    case
}

fn middle(forecast: &Forecast, id: &str) -> f64 {
    forecast.quantity(id).unwrap_or_else(|| panic!("{id}")).interval.mid
}

fn kept(class: ImpressionClass, segment: HoldingSegment) -> Forecast {
    let mut case = of(class);
    case.route.holding = vec![segment];
    case.forecast(POINTS)
}

fn in_air(class: ImpressionClass, hours: f64, humidity: f64) -> f64 {
    let segment =
        HoldingSegment { humidity: Fact::Known(humidity), ..held(HoldingKind::OpenAir, 60.0 * hours) };
    middle(&kept(class, segment), "strain.holding")
}

#[test]
fn every_class_is_forecast_with_both_ends_of_every_window() {
    for &class in ImpressionClass::ALL {
        let forecast = of(class).forecast(POINTS);
        for window in &forecast.windows {
            for end in [&window.opens, &window.closes] {
                assert!(!end.reason.is_empty(), "{class} {}", window.action);
                if let Some(interval) = end.forecast_s {
                    assert!(
                        interval.low.is_finite() && interval.high.is_finite(),
                        "{class} {}",
                        window.action
                    );
                }
            }
        }
        let pour = forecast.windows.iter().find(|window| window.action == Action::Pour).unwrap();
        let closes = &pour.closes;
        let silent = closes.forecast_s.is_none() && closes.reason.contains("no pour time");
        assert!(silent || closes.forecast_s.is_some(), "{class} pours at any time: {}", closes.reason);
        if closes.beyond_checked {
            assert!(forecast.outside.iter().any(|said| said.contains("window to pour")), "{class}");
        }
    }
}

/// Over days, and with the humidity, polyether and addition silicone part ways.
#[test]
fn polyether_follows_the_humidity_and_addition_silicone_does_not() {
    let difference = |class| in_air(class, 24.0, 0.2) - in_air(class, 24.0, 0.95);
    let (polyether, silicone) =
        (difference(ImpressionClass::Polyether), difference(ImpressionClass::AdditionSilicone));
    assert!(polyether > 1e-3 && polyether < 6e-3, "{polyether}");
    assert!(silicone.abs() < 0.2 * polyether, "{silicone} {polyether}");
    assert!(in_air(ImpressionClass::Polyether, 24.0, 0.1) > 0.0, "dry polyether shrinks");
}

/// The loss of a by-product goes with the root of time and then ends.
#[test]
fn by_products_leave_with_the_root_of_time_and_then_no_more() {
    for class in [ImpressionClass::CondensationSilicone, ImpressionClass::Polysulfide] {
        let strain = |hours: f64| in_air(class, hours, 0.3);
        let (early, later, day, week) = (strain(0.25), strain(1.0), strain(48.0), strain(14.0 * 24.0));
        assert!((later / early - 2.0).abs() < 0.25, "{class}: {early} {later}");
        assert!(day > 2.0 * later && week < 1.9 * day, "{class}: {later} {day} {week}");
        assert!(week > 5e-4 && week < 1.2e-2, "{class}: {week}");
    }
}

/// Moisture speeds the two classes that take part in it, and no other.
#[test]
fn humid_rooms_shorten_the_working_of_polysulfide_and_condensation_silicone() {
    let working = |class, humidity| {
        let mut case = of(class);
        case.situation.room_humidity = Fact::Known(humidity);
        middle(&case.forecast(POINTS), "window.seat.closes")
    };
    for &class in ImpressionClass::ALL {
        let (dry, damp) = (working(class, 0.2), working(class, 0.9));
        let moves = matches!(class, ImpressionClass::Polysulfide | ImpressionClass::CondensationSilicone);
        assert_eq!(damp < 0.97 * dry, moves, "{class}: {dry} {damp}");
    }
}

/// The order of the classes in the mouth: polysulfide is the slowest, agar and alginate need least.
#[test]
fn polysulfide_needs_the_longest_time_in_the_mouth() {
    let ready = |class| middle(&of(class).forecast(POINTS), "window.remove.opens");
    let slowest = ready(ImpressionClass::Polysulfide);
    for &class in ImpressionClass::ALL {
        assert!(class == ImpressionClass::Polysulfide || ready(class) < slowest, "{class}");
    }
}

/// Hydrogen sets an earliest pour for addition silicone; polyether, alginate and agar have none.
#[test]
fn gas_sets_an_earliest_pour_for_silicones_that_add() {
    let opens = |class| {
        let forecast = of(class).forecast(POINTS);
        let pour = forecast.windows.into_iter().find(|window| window.action == Action::Pour).unwrap();
        pour.opens.forecast_s.map_or(0.0, |interval| interval.high)
    };
    assert!(opens(ImpressionClass::AdditionSilicone) > 1200.0);
    for class in [ImpressionClass::Polyether, ImpressionClass::Polysulfide, ImpressionClass::Agar] {
        assert_eq!(opens(class), 0.0, "{class}");
    }
}

/// A disinfectant that has not had its time yet keeps the window shut.
#[test]
fn the_contact_of_a_disinfectant_is_an_earliest_pour() {
    let segment = HoldingSegment {
        agent: Fact::Known(Agent::Hypochlorite),
        labelled_contact_s: Fact::Known(600.0),
        ..held(HoldingKind::SprayedSealed, 10.0)
    };
    let forecast = kept(ImpressionClass::Polyether, segment);
    let pour = forecast.windows.iter().find(|window| window.action == Action::Pour).unwrap();
    assert!((pour.opens.forecast_s.unwrap().low - 600.0).abs() < 1e-9);
    assert!(!forecast.disinfection[0].stands_in_the_way, "{:?}", forecast.disinfection);
}

/// A label longer than the material bears: another agent or method, and never a shorter contact.
#[test]
fn a_conflict_of_label_and_material_names_another_agent() {
    let immersed = |label_s: f64, minutes: f64, agent| {
        let segment = HoldingSegment {
            agent: Fact::Known(agent),
            labelled_contact_s: Fact::Known(label_s),
            ..held(HoldingKind::Immersed, minutes)
        };
        kept(ImpressionClass::Polyether, segment)
    };
    let conflict = immersed(1800.0, 30.0, Agent::Glutaraldehyde);
    assert_ne!(conflict.verdict.word, VerdictWord::Likely);
    let said = &conflict.disinfection[0];
    assert!(said.stands_in_the_way && said.words.contains("never a shorter contact"), "{said:?}");
    assert!(!said.alternatives.is_empty(), "{said:?}");
    let short = immersed(600.0, 5.0, Agent::Hypochlorite);
    assert!(short.disinfection[0].words.contains("not disinfected"), "{:?}", short.disinfection);
    assert!(
        immersed(600.0, 10.0, Agent::Hypochlorite).disinfection.iter().all(|said| !said.stands_in_the_way)
    );
    let refused = kept(
        ImpressionClass::Agar,
        HoldingSegment { agent: Fact::Known(Agent::Glutaraldehyde), ..held(HoldingKind::Immersed, 10.0) },
    );
    assert!(refused.disinfection[0].stands_in_the_way);
}

/// In water alginate drinks first and gives back later, and a stronger liquid takes more from it.
#[test]
fn alginate_swells_in_water_first_and_shrinks_later() {
    let strain = |minutes: f64| {
        let segment = HoldingSegment { agent: Fact::NotApplicable, ..held(HoldingKind::Immersed, minutes) };
        middle(&kept(ImpressionClass::Alginate, segment), "strain.holding")
    };
    let (ten, hour, hours) = (strain(10.0), strain(60.0), strain(240.0));
    assert!(ten < 0.0, "no swelling at ten minutes: {ten}");
    assert!(hour > ten && hours > hour, "{ten} {hour} {hours}");
}

/// The same stretches in another order end elsewhere.
#[test]
fn the_order_of_air_and_liquid_matters() {
    let strain = |first: HoldingSegment, second: HoldingSegment| {
        let mut case = of(ImpressionClass::Alginate);
        case.route.holding = vec![first, second];
        middle(&case.forecast(POINTS), "strain.holding")
    };
    let air = held(HoldingKind::OpenAir, 30.0);
    let water = HoldingSegment { agent: Fact::NotApplicable, ..held(HoldingKind::Immersed, 10.0) };
    let (dried_last, drank_last) = (strain(water, air), strain(air, water));
    assert!(dried_last - drank_last > 5e-4, "{dried_last} {drank_last}");
}

/// Too short a boil leaves lumps; a tube twice as thick needs several times as long.
#[test]
fn agar_must_be_boiled_to_the_axis() {
    let boiled = |diameter_m: f64, boil_s: f64| {
        let mut case = of(ImpressionClass::Agar);
        case.route.baths.tube_diameter_m = Fact::Known(diameter_m);
        case.route.baths.boil_s = Fact::Known(boil_s);
        case.forecast(POINTS)
    };
    let (short, long) = (boiled(20e-3, 120.0), boiled(20e-3, 900.0));
    assert!(middle(&short, "sol.least") < 0.5 && middle(&long, "sol.least") > 0.95);
    assert_ne!(short.verdict.word, VerdictWord::Likely);
    assert!(short.verdict.reasons.iter().any(|reason| reason.contains("axis of its tube")));
    let needed = |diameter_m| middle(&boiled(diameter_m, 900.0), "sol.boil");
    let ratio = needed(30e-3) / needed(15e-3);
    assert!(ratio > 2.0 && ratio < 4.0, "{ratio}");
}

/// The tray cools agar: colder water is quicker, and the tooth side is the last.
#[test]
fn colder_water_in_the_tray_gels_agar_sooner() {
    let ready = |celsius: f64| {
        let mut case = of(ImpressionClass::Agar);
        case.route.baths.coolant_temperature_k = Fact::Known(273.15 + celsius);
        middle(&case.forecast(POINTS), "window.remove.opens")
    };
    let (cold, usual, warm) = (ready(13.0), ready(20.0), ready(30.0));
    assert!(cold < usual && usual < warm, "{cold} {usual} {warm}");
    assert!(usual > 90.0 && usual < 420.0, "{usual}");
}

/// Hot agar under alginate: it gels on the tooth within the time of the alginate, and warms the pulp for a moment.
#[test]
fn agar_over_alginate_says_what_the_heat_does() {
    let mut case = of(ImpressionClass::Alginate);
    case.route.technique = Technique::AgarOverAlginate;
    case.route.wash = Some(Material { class: ImpressionClass::Agar, product: None });
    case.route.baths.syringe_temperature_k = Fact::Known(335.15);
    let hot = case.forecast(POINTS);
    assert!(middle(&hot, "heat.contact") > 273.15 + 40.0);
    let rise = hot.quantity("heat.pulp_rise").unwrap().interval;
    assert!(rise.low >= 0.0 && rise.high < 15.0, "{rise:?}");
    assert!(hot.notes.iter().any(|note| note.key.as_deref() == Some("limit/pulp_rise")));
    assert!(hot.notes.iter().any(|note| note.key.as_deref() == Some("limit/scald_temperature")));
    assert!(!hot.verdict.reasons.iter().any(|reason| reason.contains("least accurate class")));
    case.route.baths.syringe_temperature_k = Fact::Known(323.15);
    let cooler = case.forecast(POINTS);
    assert!(middle(&cooler, "heat.pulp_rise") < middle(&hot, "heat.pulp_rise"));
}

fn two_step(wash_mm: f64) -> Forecast {
    let mut case = of(ImpressionClass::AdditionSilicone);
    case.route.technique = Technique::PuttyWashTwoStep;
    case.route.wash = Some(Material { class: ImpressionClass::AdditionSilicone, product: None });
    case.route.wash_thickness_m = Fact::Known(1e-3 * wash_mm);
    case.route.tray.relief_m = Fact::Known(5e-3);
    case.forecast(POINTS)
}

/// Against a set putty only the wash shrinks by its cure, and a thin wash leaves the putty to spring back.
#[test]
fn a_thin_wash_leaves_the_die_smaller() {
    let diameter = |mm| middle(&two_step(mm), "die.diameter");
    let (thin, usual, thick) = (diameter(0.4), diameter(1.0), diameter(3.0));
    assert!(thin < usual && usual < thick, "{thin} {usual} {thick}");
}

/// A second viscosity mixed with the first must still flow when the tray comes, and must have set when it leaves.
#[test]
fn a_quick_second_viscosity_shortens_the_working() {
    let seat = |light: bool| {
        let mut case = silicone_crown();
        case.route.material.product = Some(terms::ProductId("demo-silicone-heavy".into()));
        if light {
            case.route.technique = Technique::DualViscosity;
            case.route.wash = Some(Material { class: ImpressionClass::AdditionSilicone, product: None });
        }
        case.forecast(POINTS)
    };
    let (one, two) = (seat(false), seat(true));
    assert!(middle(&two, "window.seat.closes") < middle(&one, "window.seat.closes"));
    assert!(middle(&two, "window.remove.opens") >= middle(&one, "window.remove.opens"));
}

/// A tray that both jaws flex widens the interval of the die.
#[test]
fn a_dual_arch_tray_flexes() {
    let width = |kind| {
        let mut case = of(ImpressionClass::AdditionSilicone);
        case.route.tray.kind = kind;
        case.route.tray.material = TrayMaterial::Plastic;
        let interval = case.forecast(POINTS).quantity("die.height").unwrap().interval;
        interval.high - interval.low
    };
    assert!(width(TrayKind::DualArch) > 1.2 * width(TrayKind::Stock));
}

/// What may keep it from setting: known takes *likely* away, unknown asks, and the doubt is said.
#[test]
fn contaminants_ask_and_take_likely_away() {
    let with = |change: fn(&mut Case)| {
        let mut case = of(ImpressionClass::AdditionSilicone);
        change(&mut case);
        case.forecast(POINTS)
    };
    let resin = with(|case| case.situation.fresh_resin = Fact::Known(true));
    assert_ne!(resin.verdict.word, VerdictWord::Likely);
    assert!(resin.verdict.reasons.iter().any(|reason| reason.starts_with("resin film touches")));
    let unknown = with(|case| case.situation.fresh_resin = Fact::Unknown);
    assert_ne!(unknown.verdict.word, VerdictWord::Likely);
    assert!(unknown.asks.iter().any(|ask| ask.words.contains("resin film")));
    let latex = with(|case| case.situation.latex = Fact::Known(true));
    assert!(latex.verdict.reasons.iter().any(|reason| reason.starts_with("latex touches")));
    let rinsed = with(|case| {
        case.situation.astringent = Fact::Known(Astringent::AluminiumChloride);
        case.situation.astringent_rinsed = Fact::Known(true);
    });
    let note = rinsed.notes.iter().find(|note| note.words.starts_with("aluminium chloride")).unwrap();
    assert!(note.key.as_deref().unwrap().starts_with("inhibition/"));
}

/// A second cast: offered for the classes that are taught to give one, later than the first, and not for gels.
#[test]
fn a_second_cast_comes_later_and_only_from_some_classes() {
    for &class in ImpressionClass::ALL {
        let forecast = of(class).forecast(POINTS);
        let second = &forecast.second_pour;
        assert!(!second.notes.is_empty(), "{class}");
        let gives = matches!(
            class,
            ImpressionClass::AdditionSilicone
                | ImpressionClass::Polyether
                | ImpressionClass::VinylPolyetherHybrid
        );
        assert_eq!(second.after_removal_s.is_some(), gives, "{class}");
        if let Some(at_s) = second.after_removal_s {
            assert!(at_s > 3600.0, "{class} {at_s}");
            let (first, again) =
                (forecast.quantity("die.diameter").unwrap().interval, second.diameter_m.unwrap());
            assert!(again.high - again.low > first.high - first.low, "{class}");
        }
    }
}

/// Stiff materials warn that a slender stone tooth breaks; soft ones do not.
#[test]
fn stiff_classes_warn_of_broken_stone() {
    let warns = |class| {
        let notes = of(class).forecast(POINTS).second_pour.notes;
        notes.iter().any(|note| note.words.contains("stone tooth breaks"))
    };
    assert!(warns(ImpressionClass::Polyether));
    for class in [ImpressionClass::Polysulfide, ImpressionClass::Alginate, ImpressionClass::Agar] {
        assert!(!warns(class), "{class}");
    }
}

/// The later in the working time the tray is seated, the more of a movement stays.
#[test]
fn late_seating_widens_the_interval() {
    let width = |seat_s: f64| {
        let mut case = silicone_crown();
        case.route.plan.seat_after_s = Fact::Known(seat_s);
        let interval = case.forecast(256).quantity("die.diameter").unwrap().interval;
        interval.high - interval.low
    };
    assert!(width(120.0) > width(40.0), "{} {}", width(120.0), width(40.0));
}

/// A tray of agar hotter than tissue bears, or syringe agar that warms the pulp too far, comes before every figure.
#[test]
fn hot_agar_stands_in_the_way() {
    let mut case = of(ImpressionClass::Agar);
    case.route.baths.store_temperature_k = Fact::Known(345.15);
    case.route.baths.temper_temperature_k = Fact::Known(340.15);
    let hot = case.forecast(POINTS).verdict;
    assert_ne!(hot.word, VerdictWord::Likely);
    assert!(hot.reasons[0].starts_with("TOO HOT for the mouth"), "{:?}", hot.reasons);
    assert!(hot.reasons[0].contains("a cooler last bath"), "{:?}", hot.reasons);
}

/// A label that is not entered is a question, and nothing shows that the impression is disinfected.
#[test]
fn an_unknown_label_is_not_a_kept_one() {
    let with = |label, share| {
        let segment = HoldingSegment {
            agent: Fact::Known(Agent::Hypochlorite),
            concentration: share,
            labelled_contact_s: label,
            ..held(HoldingKind::SprayedSealed, 10.0)
        };
        kept(ImpressionClass::Polyether, segment)
    };
    let (kept_label, half) = (Fact::Known(600.0), Fact::Known(0.005));
    assert!(!with(kept_label, half).disinfection[0].stands_in_the_way);
    let unknown = with(Fact::Unknown, half);
    assert!(unknown.disinfection[0].stands_in_the_way);
    assert!(unknown.asks.iter().any(|ask| ask.words.contains("label of the disinfectant")));
    assert!(with(kept_label, Fact::Known(0.0)).disinfection[0].stands_in_the_way, "water is no disinfectant");
    let longer = with(Fact::Known(900.0), half);
    let pour = longer.windows.iter().find(|window| window.action == Action::Pour).unwrap();
    assert_eq!(pour.opens.forecast_s.unwrap().low, 900.0, "the label counts before the plan");
    assert!(longer.disinfection[0].words.contains("do not disinfect"));
}

/// Without an instruction, a forecast far beyond what is taught says so.
#[test]
fn a_forecast_is_no_permission() {
    let reasons = of(ImpressionClass::CondensationSilicone).forecast(POINTS).verdict.reasons;
    assert!(reasons.iter().any(|reason| reason.contains("no permission")), "{reasons:?}");
}

/// A sealed gel in a warm van gains no water from nowhere.
#[test]
fn a_warm_bag_gives_no_water() {
    let segment =
        HoldingSegment { temperature_k: Fact::Known(273.15 + 45.0), ..held(HoldingKind::SealedDry, 120.0) };
    let mass = middle(&kept(ImpressionClass::Agar, segment), "mass.change");
    assert!(mass <= 0.0 && mass > -0.05, "{mass}");
}
