//! Polysulfide, condensation silicone, polyether, addition silicone and their hybrid against published measurements and rules of
//! the trade.

use chain::Forecast;
use chain::statistics::Interval;
use kernel::ZERO_CELSIUS;
use kernel::cure::{self, CureLaw, Induction, Kamal, time_to_alpha_isothermal};
use terms::{
    Action, Agent, Contaminant, DisinfectionMethod, Fact, HoldingKind, HoldingSegment, ImpressionClass,
    Material, Purpose, Technique, TrayKind, TrayMaterial,
};

use crate::cases::{Case, held, on};
use crate::published::{forecast, interval, middle, place};
use crate::{CheckError, Input, unknown_word};

pub(crate) fn compute(id: &str, input: &Input) -> Result<f64, CheckError> {
    match id {
        "condensation-root-of-time" => root_of_time(input),
        "one-day-change" => share_of_cooling(input),
        "condensation-shrinks-first" => times_as_much(input),
        "polyether-follows-humidity" => humidity_step(input),
        "polyether-in-air" | "polysulfide-mass" => mass(input),
        "watery-liquids" | "disinfected-an-hour" => in_liquid(input),
        "polysulfide-dies-grow"
        | "condensation-dies-grow"
        | "silicone-to-two-weeks"
        | "pours-one-and-six-hours" => growth(&forecast(&case(input)?)?, input),
        "classes-that-cannot-wait" => {
            let class = growth(&forecast(&case(input)?)?, input)?;
            let silicone = on(ImpressionClass::AdditionSilicone, held(HoldingKind::OpenAir, 60.0));
            Ok(class / growth(&forecast(&silicone)?, input)?)
        }
        "polyether-die-width" | "dual-arch-dies" => die(input),
        "hybrid-contraction" => hybrid_contraction(input),
        "hybrid-casts" => hybrid_casts(input),
        "textbook-times" | "condensation-times" | "degrees-away" => seconds(input),
        "warmer-is-quicker" => warmer(input),
        "polyether-waits" => conversion_at(input),
        "humid-is-quicker" => {
            let class = class(input)?;
            Ok(working(class, 23.0, 0.9)? - working(class, 23.0, 0.2)?)
        }
        "stiffness-order" => {
            let stiffness = |name| row(class_of(name, input)?, "repour.stiffness");
            Ok(stiffness("class")? / stiffness("than")?)
        }
        "repeat-pours" | "number-of-casts" => second_cast(input),
        "two-step-relief" => two_step(input),
        "two-step-span" => two_step_span(input),
        "gas-taught" | "gas-at-an-hour" => gas(input),
        "taught-pours" => taught(input),
        "dry-polyether" => week_against_hour_um(input),
        "polyether-after-disinfection" => after_disinfection(input),
        "condensation-contracts-on" | "shrinkage-goes-on" => {
            let free_at = |name: &str| free_after(&case(input)?, input.number(name)?);
            Ok(free_at("to_min")? - free_at("from_min")?)
        }
        "blocks-contract" => free_percent(&forecast(&case(input)?)?),
        // Two millimetres through 14 K.
        "silicone-thermal-length" => in_row(input, "thermal.expansion", 1e6 * 2e-3 * 14.0),
        "silicone-sheet-conductivity" => in_row(input, "thermal.conductivity", 1.0),
        "haemostatics-and-silicone" | "latex-and-silicone" => inhibits(input),
        "width-against-height" => width_against_height(input),
        _ => Err(CheckError::Unknown(id.to_owned())),
    }
}

fn class_of(name: &str, input: &Input) -> Result<ImpressionClass, CheckError> {
    let word = input.word(name)?;
    ImpressionClass::from_word(word).ok_or_else(|| unknown_word(name, word))
}

fn class(input: &Input) -> Result<ImpressionClass, CheckError> {
    class_of("class", input)
}

fn quantile(class: ImpressionClass, name: &str, p: f64) -> Result<f64, CheckError> {
    let slug = class.word().replace(' ', "-");
    let parameters = ledger::shipped().map_err(|error| CheckError::Model(error.to_string()))?;
    let found = parameters.find(&[slug.as_str()], name);
    found.map(|(_, found)| found.quantile(p)).map_err(|error| CheckError::Model(error.to_string()))
}

/// The middle of a row of a class.
fn row(class: ImpressionClass, name: &str) -> Result<f64, CheckError> {
    quantile(class, name, 0.5)
}

/// The place of a measured value among what a row of a class gives, times a factor.
fn in_row(input: &Input, name: &str, factor: f64) -> Result<f64, CheckError> {
    let at = |p: f64| quantile(class(input)?, name, p).map(|value| factor * value);
    Ok(place(input.number("measured")?, Interval { low: at(0.05)?, mid: at(0.5)?, high: at(0.95)? }))
}

/// Lying in the room for so long, or immersed in water; a stated humidity is that of the place where it lies.
fn lying(input: &Input) -> Result<HoldingSegment, CheckError> {
    let minutes = input.number("minutes").unwrap_or(60.0);
    Ok(match input.word("kind") {
        Err(_) => HoldingSegment {
            humidity: input.number("humidity").map_or(Fact::Unknown, Fact::Known),
            ..held(HoldingKind::OpenAir, minutes)
        },
        Ok("in water") => in_water(minutes),
        Ok(other) => return Err(unknown_word("kind", other)),
    })
}

fn in_water(minutes: f64) -> HoldingSegment {
    HoldingSegment {
        agent: Fact::NotApplicable,
        concentration: Fact::NotApplicable,
        labelled_contact_s: Fact::NotApplicable,
        ..held(HoldingKind::Immersed, minutes)
    }
}

fn case(input: &Input) -> Result<Case, CheckError> {
    let mut case = on(class(input)?, lying(input)?);
    if let Ok(relief_mm) = input.number("relief_mm") {
        case.route.tray.relief_m = Fact::Known(1e-3 * relief_mm);
    }
    Ok(case)
}

/// Middle of the free shrinkage since the gel point without any cooling, %.
fn free_percent(forecast: &Forecast) -> Result<f64, CheckError> {
    Ok(100.0 * (middle(forecast, "strain.cure")? + middle(forecast, "strain.holding")?))
}

fn free_after(case: &Case, minutes: f64) -> Result<f64, CheckError> {
    let mut case = Case { situation: case.situation.clone(), route: case.route.clone() };
    case.route.holding[0].duration_s = 60.0 * minutes;
    free_percent(&forecast(&case)?)
}

/// Ratio of the mass lost after some time and after a quarter of it, or shrinkage per mass lost in air as dry as the rubber.
fn root_of_time(input: &Input) -> Result<f64, CheckError> {
    let after = |minutes: f64| {
        let segment = HoldingSegment { humidity: Fact::Known(0.2), ..held(HoldingKind::OpenAir, minutes) };
        forecast(&on(ImpressionClass::CondensationSilicone, segment))
    };
    let late = after(input.number("minutes")?)?;
    let lost = middle(&late, "mass.change")?;
    match input.word("what")? {
        "loss" => Ok(lost / middle(&after(input.number("minutes")? / 4.0)?, "mass.change")?),
        "strain" => Ok(-middle(&late, "strain.holding")? / lost),
        other => Err(unknown_word("what", other)),
    }
}

/// Share of the cooling from mouth to room that a printed shrinkage holds besides cure and what left.
fn share_of_cooling(input: &Input) -> Result<f64, CheckError> {
    let forecast = forecast(&case(input)?)?;
    let cooling = 100.0 * cooling(&forecast)?;
    Ok((input.number("printed_percent")? - free_percent(&forecast)?) / cooling)
}

/// Middle of the free thermal shrinkage to room temperature; the heat of the stone is left out.
fn cooling(forecast: &Forecast) -> Result<f64, CheckError> {
    Ok(middle(forecast, "strain.thermal")? - middle(forecast, "strain.rewarming")?)
}

fn times_as_much(input: &Input) -> Result<f64, CheckError> {
    let free = |name| {
        let segment = held(HoldingKind::OpenAir, input.number("minutes")?);
        free_percent(&forecast(&on(class_of(name, input)?, segment))?)
    };
    Ok(free("class")? / free("than")?)
}

/// Change of the die width, µm, when a day is spent at another humidity; 4 mm in a metal tray.
fn humidity_step(input: &Input) -> Result<f64, CheckError> {
    let at = |name: &str| {
        let segment = HoldingSegment {
            humidity: Fact::Known(input.number(name)?),
            ..held(HoldingKind::OpenAir, 1440.0)
        };
        let mut case = on(class(input)?, segment);
        case.route.tray.material = TrayMaterial::Metal;
        case.route.tray.relief_m = Fact::Known(4e-3);
        middle(&forecast(&case)?, "die.diameter")
    };
    Ok(1e6 * (at("to")? - at("from")?))
}

/// Change of mass, %, or the place of a published one.
fn mass(input: &Input) -> Result<f64, CheckError> {
    let forecast = forecast(&case(input)?)?;
    match input.number("measured_percent") {
        Ok(measured) => Ok(place(0.01 * measured, interval(&forecast, "mass.change")?)),
        Err(_) => Ok(100.0 * middle(&forecast, "mass.change")?),
    }
}

/// Linear swelling, %, or the place of a published one.
fn in_liquid(input: &Input) -> Result<f64, CheckError> {
    let minutes = input.number("minutes")?;
    let forecast = forecast(&on(class(input)?, in_water(minutes)))?;
    let strain = forecast
        .pour_curve
        .iter()
        .find(|point| (point.after_removal_s - 60.0 * minutes).abs() < 1.0)
        .ok_or(CheckError::Model("no such pour time".to_owned()))?
        .holding_strain;
    match input.number("measured_percent") {
        Ok(measured) => {
            let swelling = Interval { low: -strain.high, mid: -strain.mid, high: -strain.low };
            Ok(place(0.01 * measured, swelling))
        }
        Err(_) => Ok(-100.0 * strain.mid),
    }
}

/// Middle of the die width for a pour at one time, less that at another where one is given, µm.
fn growth(forecast: &Forecast, input: &Input) -> Result<f64, CheckError> {
    let at = |minutes: f64| {
        let found =
            forecast.pour_curve.iter().find(|point| (point.after_removal_s - 60.0 * minutes).abs() < 1.0);
        found
            .map(|point| 1e6 * point.diameter_m.mid)
            .ok_or(CheckError::Model(format!("no pour after {minutes} min")))
    };
    let from = match input.number("from_min") {
        Ok(minutes) => at(minutes)?,
        Err(_) => 0.0,
    };
    Ok(at(input.number("to_min")?)? - from)
}

/// The place of a published error of a die, µm.
fn die(input: &Input) -> Result<f64, CheckError> {
    let mut case = case(input)?;
    if let Ok(word) = input.word("dual_arch") {
        let material = TrayMaterial::from_word(word).ok_or_else(|| unknown_word("dual_arch", word))?;
        case.route.tray.kind = TrayKind::DualArch;
        case.route.tray.material = material;
        case.situation.die_diameter_m = Fact::Known(3.507e-3);
        case.situation.die_height_m = Fact::Known(3.584e-3);
    }
    let id = match input.word("of")? {
        "width" => "die.diameter",
        "height" => "die.height",
        other => return Err(unknown_word("of", other)),
    };
    Ok(place(1e-6 * input.number("measured_um")?, interval(&forecast(&case)?, id)?))
}

/// The place of a published contraction of a cooled disc, or how much more it is after a time, %.
///
/// The three strains are taken as independent, so that the sides of their intervals add as squares.
fn hybrid_contraction(input: &Input) -> Result<f64, CheckError> {
    let case = case(input)?;
    let Ok(measured) = input.number("measured_percent") else {
        return Ok(free_percent(&forecast(&case)?)? - free_after(&case, 1.0)?);
    };
    let forecast = forecast(&case)?;
    let (cure, holding, thermal) = (
        interval(&forecast, "strain.cure")?,
        interval(&forecast, "strain.holding")?,
        interval(&forecast, "strain.thermal")?,
    );
    let mid = cure.mid + holding.mid + cooling(&forecast)?;
    let side = |of: fn(Interval) -> f64| {
        [cure, holding, thermal].into_iter().map(|strain| of(strain) * of(strain)).sum::<f64>().sqrt()
    };
    let low = mid - side(|strain| strain.mid - strain.low);
    let high = mid + side(|strain| strain.high - strain.mid);
    Ok(place(0.01 * measured, Interval { low, mid, high }))
}

/// Error of the die width of a cast poured after two weeks, %.
fn hybrid_casts(input: &Input) -> Result<f64, CheckError> {
    let width = interval(&forecast(&case(input)?)?, "die.diameter")?;
    let error_m = match input.word("end")? {
        "low" => width.low,
        "middle" => width.mid,
        "high" => width.high,
        other => return Err(unknown_word("end", other)),
    };
    Ok(100.0 * error_m / 8e-3)
}

fn in_room(class: ImpressionClass, celsius: f64, humidity: f64) -> Result<Forecast, CheckError> {
    let mut case = on(class, held(HoldingKind::OpenAir, 60.0));
    case.situation.room_temperature_k = Fact::Known(ZERO_CELSIUS + celsius);
    case.situation.room_humidity = Fact::Known(humidity);
    forecast(&case)
}

/// Middle of the end of working, s from the start of mixing.
fn working(class: ImpressionClass, celsius: f64, humidity: f64) -> Result<f64, CheckError> {
    middle(&in_room(class, celsius, humidity)?, "window.seat.closes")
}

/// Middle of the readiness for removal, s from the start of mixing.
fn setting(class: ImpressionClass, celsius: f64) -> Result<f64, CheckError> {
    let forecast = in_room(class, celsius, 0.5)?;
    let seat = forecast.windows.iter().find(|window| window.action == Action::Seat);
    let seat_s = seat
        .and_then(|window| window.planned_s)
        .ok_or(CheckError::Model("no plan for seating".to_owned()))?;
    Ok(seat_s + middle(&forecast, "window.remove.opens")?)
}

/// Working or setting at 23 °C, min; or how many seconds shorter a kelvin makes it.
fn seconds(input: &Input) -> Result<f64, CheckError> {
    let class = class(input)?;
    let per_kelvin = |at: &dyn Fn(f64) -> Result<f64, CheckError>| Ok((at(20.0)? - at(24.0)?) / 4.0);
    match input.word("what")? {
        "working" => Ok(working(class, 23.0, 0.5)? / 60.0),
        "setting" => Ok(setting(class, 23.0)? / 60.0),
        "working per kelvin" => per_kelvin(&|celsius| working(class, celsius, 0.5)),
        "setting per kelvin" => per_kelvin(&|celsius| setting(class, celsius)),
        other => Err(unknown_word("what", other)),
    }
}

/// Working at 15 °C over working at 35 °C, or by how much a class sets before the first of the others at 35 °C, s.
fn warmer(input: &Input) -> Result<f64, CheckError> {
    let class = class(input)?;
    match input.word("what")? {
        "working" => Ok(working(class, 15.0, 0.5)? / working(class, 35.0, 0.5)?),
        "lead" => {
            let set_s = |class| middle(&in_room(class, 35.0, 0.5)?, "bowl.set");
            let others = [
                ImpressionClass::Polyether,
                ImpressionClass::Polysulfide,
                ImpressionClass::CondensationSilicone,
            ];
            let mut first_s = f64::INFINITY;
            for other in others {
                first_s = first_s.min(set_s(other)?);
            }
            Ok(first_s - set_s(class)?)
        }
        other => Err(unknown_word("what", other)),
    }
}

/// Conversion some time after the start of mixing at 23 °C, from the middles of the rows of a class.
fn conversion_at(input: &Input) -> Result<f64, CheckError> {
    let class = class(input)?;
    let row = |name| row(class, name);
    let t_ref_k = row("set.reference_temperature")?;
    let (energy, share) = (row("set.activation_energy")?, row("set.induction_share")?);
    let kamal = Kamal {
        k1_ref_per_s: row("set.seed_share")?,
        k2_ref_per_s: 1.0,
        e1_j_mol: energy,
        e2_j_mol: energy,
        t_ref_k,
        m: row("set.order_m")?,
        n: row("set.order_n")?,
    };
    let unit = CureLaw { induction: None, kamal, heat_j_kg: 0.0 };
    let reference_s = row("set.reference_time")?;
    let unit_s = time_to_alpha_isothermal(&unit, t_ref_k, row("set.reference_conversion")?);
    let mut law = unit.scaled(unit_s / ((1.0 - share) * reference_s), 1.0);
    if share > 0.0 {
        law.induction = Some(Induction { tau_ref_s: share * reference_s, e_j_mol: energy, t_ref_k });
    }
    let mut state = law.fresh();
    let (steps, room_k) = (100, ZERO_CELSIUS + 23.0);
    for _ in 0..steps {
        state = cure::advance(&law, state, room_k, room_k, input.number("after_s")? / f64::from(steps));
    }
    Ok(state.alpha)
}

/// By how much the middle of a second cast differs from the first, µm; or whether one is offered at all.
fn second_cast(input: &Input) -> Result<f64, CheckError> {
    let mut case = on(class(input)?, held(HoldingKind::OpenAir, 30.0));
    let Ok(rest_min) = input.number("rest_min") else {
        return Ok(if forecast(&case)?.second_pour.after_removal_s.is_some() { 1.0 } else { 0.0 });
    };
    case.route.plan.second_pour_after_s = Fact::Known(60.0 * rest_min);
    let forecast = forecast(&case)?;
    let again = forecast.second_pour.diameter_m.ok_or(CheckError::Model("no second cast".to_owned()))?;
    Ok(1e6 * (again.mid - middle(&forecast, "die.diameter")?))
}

fn with_putty(relief_mm: f64, wash_mm: f64) -> Case {
    let class = ImpressionClass::AdditionSilicone;
    let mut case = on(class, held(HoldingKind::OpenAir, 60.0));
    case.route.tray.relief_m = Fact::Known(1e-3 * relief_mm);
    case.route.technique = Technique::PuttyWashTwoStep;
    case.route.wash = Some(Material { class, product: None });
    case.route.wash_thickness_m = Fact::Known(1e-3 * wash_mm);
    case
}

/// Middle of the die width from a wash against set putty, µm, or how another wash changes it or its size.
fn two_step(input: &Input) -> Result<f64, CheckError> {
    let width_um =
        |name: &str| Ok(1e6 * middle(&forecast(&with_putty(5.0, input.number(name)?))?, "die.diameter")?);
    match input.word("what")? {
        "width" => width_um("wash_mm"),
        "change" => Ok(width_um("wash_mm")? - width_um("than_mm")?),
        other => Err(unknown_word("what", other)),
    }
}

/// An end of the 90 % interval of the span error from a two-step impression poured after six days, %.
fn two_step_span(input: &Input) -> Result<f64, CheckError> {
    let mut case = with_putty(4.0, 1.25);
    case.route.wash_thickness_m = Fact::Unknown;
    case.route.holding = vec![held(HoldingKind::OpenAir, 144.0 * 60.0)];
    case.situation.purpose = Purpose::Bridge;
    case.situation.span_m = Fact::Known(1e-3 * input.number("span_mm")?);
    let share = interval(&forecast(&case)?, "span.share")?;
    match input.word("end")? {
        "low" => Ok(100.0 * share.low),
        "high" => Ok(100.0 * share.high),
        other => Err(unknown_word("end", other)),
    }
}

/// The place of a time, min from removal or from the start of mixing, in the forecast of the earliest pour.
fn gas(input: &Input) -> Result<f64, CheckError> {
    let forecast = forecast(&case(input)?)?;
    let planned = |action| forecast.windows.iter().find(|window| window.action == action);
    let opens = planned(Action::Pour)
        .and_then(|window| window.opens.forecast_s)
        .ok_or(CheckError::Model("no earliest pour".to_owned()))?;
    let removed_s = planned(Action::Remove)
        .and_then(|window| window.planned_s)
        .ok_or(CheckError::Model("no plan for removal".to_owned()))?;
    match input.number("after_removal_min") {
        Ok(minutes) => Ok(place(60.0 * minutes, opens)),
        Err(_) => Ok(place(60.0 * input.number("after_mixing_min")? - removed_s, opens)),
    }
}

/// The shortest or the longest of the latest pour times that are taught, min from removal.
fn taught(input: &Input) -> Result<f64, CheckError> {
    let forecast = forecast(&case(input)?)?;
    let pour = forecast.windows.iter().find(|window| window.action == Action::Pour);
    let taught = pour.map(|window| window.closes.taught.as_slice()).unwrap_or_default();
    let soonest = taught
        .iter()
        .min_by(|a, b| a.seconds[1].total_cmp(&b.seconds[1]))
        .ok_or(CheckError::Model("nothing is taught".to_owned()))?;
    match input.word("end")? {
        "from" => Ok(soonest.seconds[0] / 60.0),
        "to" => Ok(soonest.seconds[1] / 60.0),
        other => Err(unknown_word("end", other)),
    }
}

/// The middle die of a week of lying less that of an hour, µm.
fn week_against_hour_um(input: &Input) -> Result<f64, CheckError> {
    let after = |minutes: f64| {
        let segment = HoldingSegment {
            humidity: Fact::Known(input.number("humidity")?),
            ..held(HoldingKind::OpenAir, minutes)
        };
        middle(&forecast(&on(class(input)?, segment))?, "die.diameter")
    };
    Ok(1e6 * (after(7.0 * 24.0 * 60.0)? - after(60.0)?))
}

/// Swelling in ten minutes of liquid, what the two weeks after it shrink, %, or how long hypochlorite is borne, min.
fn after_disinfection(input: &Input) -> Result<f64, CheckError> {
    let class = class(input)?;
    let then_in_air = |minutes: f64| {
        let mut case = on(class, in_water(10.0));
        case.route.holding.push(held(HoldingKind::OpenAir, minutes));
        free_percent(&forecast(&case)?)
    };
    match input.word("what")? {
        "swelling" => Ok(-100.0 * middle(&forecast(&on(class, in_water(10.0)))?, "strain.holding")?),
        "shrinkage afterwards" => Ok(then_in_air(20_150.0)? - then_in_air(50.0)?),
        "borne" => {
            let parameters = ledger::shipped().map_err(|error| CheckError::Model(error.to_string()))?;
            parameters
                .disinfectant(class, Agent::Hypochlorite, DisinfectionMethod::Immersion)
                .map(|row| row.bears_max_s / 60.0)
                .ok_or(CheckError::Model("no such disinfectant".to_owned()))
        }
        other => Err(unknown_word("what", other)),
    }
}

/// One when a contaminant that was not removed takes the word *likely* away, nought when not.
fn inhibits(input: &Input) -> Result<f64, CheckError> {
    let word = input.word("contaminant")?;
    let contaminant = Contaminant::from_word(word).ok_or_else(|| unknown_word("contaminant", word))?;
    let parameters = ledger::shipped().map_err(|error| CheckError::Model(error.to_string()))?;
    parameters
        .inhibition(class(input)?, contaminant)
        .map(|row| if row.takes_likely_away { 1.0 } else { 0.0 })
        .ok_or(CheckError::Model("no such contaminant".to_owned()))
}

/// Middle of the change of the mould, µm, in width or height: of the die without the growth of its stone.
fn width_against_height(input: &Input) -> Result<f64, CheckError> {
    let mut case = case(input)?;
    case.route.tray.kind = TrayKind::Stock;
    case.route.tray.material = TrayMaterial::Metal;
    case.route.tray.relief_m = Fact::Unknown;
    case.route.tray.ceiling_m = Fact::Unknown;
    let forecast = forecast(&case)?;
    let growth = middle(&forecast, "stone.growth")?;
    match input.word("of")? {
        "width" => Ok(1e6 * (middle(&forecast, "die.diameter")? - growth * 8e-3)),
        "height" => Ok(1e6 * (middle(&forecast, "die.height")? - growth * 6e-3)),
        other => Err(unknown_word("of", other)),
    }
}
