//! What the key of a template is for one draw: asked of the chain, the rulebook, the ledger, or worked out.

use chain::statistics::{Interval, Sorted, mean};
use chain::{ChainError, Effort, Sampled};
use counsel::View;
use counsel::cautions::{Level, Rulebook, adrenaline, look};
use ledger::{Limits, Parameters, ValueUnit};
use serde::{Deserialize, Serialize};
use terms::{Fact, Instant, Step};

use crate::template::{Arithmetic, Extreme, Key, Template, Written};
use case_file::Case;

/// Share of the samples in which a key must hold.
pub const STABLE: f64 = 0.95;

/// What questions are asked of.
#[derive(Clone, Copy)]
pub struct World<'a> {
    /// The ledger.
    pub parameters: &'a Parameters,
    /// Limits.
    pub limits: &'a Limits,
    /// The rulebook.
    pub rulebook: &'a Rulebook,
    /// Samples.
    pub effort: Effort,
}

impl World<'_> {
    /// Samples that keys are found with: 8 x 8.
    pub const EFFORT: Effort = Effort { points: 8 };
}

/// A number as the chain gave it for one option, for the picture that goes with the reason.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Shown {
    /// The option, or `case`.
    pub of: String,
    /// 5 %, middle and 95 %, SI.
    pub low: f64,
    /// See `low`.
    pub mid: f64,
    /// See `low`.
    pub high: f64,
}

/// What was found.
#[derive(Clone, Debug, Default)]
pub(crate) struct Found {
    /// Places of options: one that is right, or all in their order.
    pub right: Vec<usize>,
    /// A number: the key, the least and the greatest that are right, in its unit.
    pub number: Option<[f64; 3]>,
    /// Share of the samples in which the key holds; 1 where no sample has a part.
    pub holds_in: f64,
    /// Identifier, words and unit of the number that was compared.
    pub quantity: Option<(String, String, String)>,
    /// The number for each option.
    pub shown: Vec<Shown>,
    /// What it rests on.
    pub rests_on: Vec<String>,
    /// All that decided, bit by bit.
    pub bits: Vec<u64>,
    /// Texts of options that the template leaves to be found, by place.
    pub texts: Vec<Option<String>>,
    /// What the chain says beside a taught answer, where the two are apart.
    pub apart: Option<String>,
}

/// What a number is shown of that the chain has beside a taught key, so that nobody takes it for what is taught.
pub const FORECAST: &str = "forecast";

/// Plans begin at nought.
const START: Instant = Instant::from_millis(0);

/// The last moment after removal that a forecast looks at: two weeks, s.
const FOLLOWED_S: f64 = 14.0 * 86_400.0;

/// Most root causes that are named.
const MOST_CAUSES: usize = 6;

/// The case of a template with what an option sets; `filled` fills places.
pub(crate) type CaseOf<'a> = &'a dyn Fn(&[(String, String)]) -> Result<Case, String>;

/// Finds the key.
///
/// # Errors
/// Why there is none, in words: the draw is not used then.
pub(crate) fn find(
    world: &World,
    template: &Template,
    case_of: CaseOf,
    drawn: &dyn Fn(&str) -> Option<f64>,
) -> Result<Found, String> {
    match &template.key {
        Key::Extreme { quantity, extreme, by } => {
            let all = asked_all(world, template, case_of, quantity)?;
            extreme_of(world, &all, quantity, *extreme, *by, template)
        }
        Key::Sorted { quantity, by } => {
            let all = asked_all(world, template, case_of, quantity)?;
            sorted(world, &all, quantity, *by, template)
        }
        Key::Change { quantity, than, by } => {
            let case = case_of(&[])?;
            let before = asked(world, &case, quantity)?;
            let after = asked(world, &case_of(than)?, quantity)?;
            change(world, (&case, &before), &after, quantity, *by, template)
        }
        Key::Number { quantity, unit, digits, within } => {
            let case = case_of(&[])?;
            let sampled = asked(world, &case, quantity)?;
            number(world, (&case, &sampled), quantity, *unit, *digits, *within)
        }
        Key::Stop { stopped } => stop(world, template, case_of, *stopped),
        Key::Holds => holds(world, template, &case_of(&[])?),
        Key::Taught { taught, forecast } => {
            self::taught(world, template, taught, forecast.as_deref(), &case_of(&[])?)
        }
        Key::Arithmetic { of, digits, tolerance, .. } => {
            arithmetic(world, *of, *digits, *tolerance, &case_of(&[])?, drawn)
        }
        Key::Steps => steps(template),
        Key::Convention { right } => {
            let place = |id: &String| template.options.iter().position(|option| &option.id == id);
            let right: Vec<usize> = right.iter().filter_map(place).collect();
            let rests_on = template.source.clone().into_iter().collect();
            Ok(Found { right, holds_in: 1.0, rests_on, ..Found::default() })
        }
    }
}

fn asked(world: &World, case: &Case, quantity: &str) -> Result<Sampled, String> {
    let World { parameters, limits, effort, .. } = *world;
    let said = |error: ChainError| error.to_string();
    chain::sampled(&case.situation, &case.route, parameters, limits, effort, START, &[quantity]).map_err(said)
}

fn asked_all(world: &World, template: &Template, case_of: CaseOf, quantity: &str) -> Result<Vec<Of>, String> {
    let sets = |option: &Written| -> Vec<(String, String)> { option.sets.clone().into_iter().collect() };
    template
        .options
        .iter()
        .map(|option| {
            let case = case_of(&sets(option))?;
            let sampled = asked(world, &case, quantity)?;
            Ok((case, sampled))
        })
        .collect()
}

/// A case with what was asked of it.
type Of = (Case, Sampled);

/// What is shown of a number, and its bits.
fn shown(found: &mut Found, of: &str, sampled: &Sampled, quantity: &str) {
    let values = sampled.of(quantity);
    found.bits.extend(values.iter().map(|value| value.to_bits()));
    if let Some(series) = sampled.values.first() {
        found.quantity = Some((series.id.to_owned(), series.words.to_owned(), series.si_unit.to_owned()));
    }
    let weights: Vec<f64> = values.iter().map(|value| if value.is_finite() { 1.0 } else { 0.0 }).collect();
    if let Some(Interval { low, mid, high }) = Interval::of(values, &weights) {
        found.shown.push(Shown { of: of.to_owned(), low, mid, high });
    }
}

/// Samples with which it is asked whether a number depends on a row at all.
const DEPENDS: Effort = Effort { points: 2 };

/// Rows that the number rests on. Shares of variance from few samples name rows that have no part in it, so each is moved, and stays named only
/// where the number moves with it.
fn causes(
    found: &mut Found,
    world: &World,
    (case, sampled): (&Case, &Sampled),
    quantity: &str,
    values: &[f64],
) -> Result<(), String> {
    // A draw that is not used needs none.
    if found.holds_in < STABLE {
        return Ok(());
    }
    let few = World { effort: DEPENDS, ..*world };
    let still = asked(&few, case, quantity)?;
    let mut named = 0;
    for cause in sampled.causes(values) {
        if named == MOST_CAUSES {
            break;
        }
        let Some(nudged) = world.parameters.nudged(&cause.key) else { continue };
        let moved = asked(&World { parameters: &nudged, ..few }, case, quantity)?;
        if moved.of(quantity) != still.of(quantity) {
            found.rests_on.push(cause.key);
            named += 1;
        }
    }
    Ok(())
}

/// Sign for which a greater value is nearer to the wanted extreme; what does not exist is never the key.
fn towards(extreme: Extreme, value: f64) -> f64 {
    match (extreme, value.is_finite()) {
        (_, false) => f64::NEG_INFINITY,
        (Extreme::Most, true) => value,
        (Extreme::Least, true) => -value,
    }
}

fn extreme_of(
    world: &World,
    all: &[Of],
    quantity: &str,
    extreme: Extreme,
    by: f64,
    template: &Template,
) -> Result<Found, String> {
    let mut found = Found::default();
    let values: Vec<&[f64]> = all.iter().map(|(_, sampled)| sampled.of(quantity)).collect();
    let count = values.first().map_or(0, |values| values.len());
    let leads = |option: usize| -> Vec<f64> {
        (0..count)
            .map(|sample| {
                let others = (0..values.len()).filter(|other| *other != option);
                let best = others
                    .map(|other| towards(extreme, values[other][sample]))
                    .fold(f64::NEG_INFINITY, f64::max);
                let own = towards(extreme, values[option][sample]);
                if own.is_finite() { own - best } else { f64::NEG_INFINITY }
            })
            .collect()
    };
    let mut best = (0, -1.0, Vec::new());
    for option in 0..values.len() {
        let leads = leads(option);
        let share = leads.iter().filter(|lead| **lead >= by).count() as f64 / count.max(1) as f64;
        if share > best.1 {
            best = (option, share, leads);
        }
    }
    for (option, (_, sampled)) in template.options.iter().zip(all) {
        shown(&mut found, &option.id, sampled, quantity);
    }
    let (right, share, leads) = best;
    found.right = vec![right];
    found.holds_in = share;
    let (case, sampled) = &all[right];
    causes(&mut found, world, (case, sampled), quantity, &leads)?;
    Ok(found)
}

fn sorted(world: &World, all: &[Of], quantity: &str, by: f64, template: &Template) -> Result<Found, String> {
    let mut found = Found::default();
    let middle = |sampled: &Sampled| {
        Sorted::new(sampled.of(quantity), &sampled.weights)
            .map_or(f64::INFINITY, |sorted| sorted.quantile(0.5))
    };
    let mut order: Vec<usize> = (0..all.len()).collect();
    order.sort_by(|&a, &b| middle(&all[a].1).total_cmp(&middle(&all[b].1)).then(a.cmp(&b)));
    let count = all.first().map_or(0, |(_, sampled)| sampled.weights.len());
    let holds: Vec<f64> = (0..count)
        .map(|sample| {
            let value = |place: usize| all[order[place]].1.of(quantity)[sample];
            let rises = (1..order.len()).all(|place| value(place) - value(place - 1) >= by);
            if rises { 1.0 } else { 0.0 }
        })
        .collect();
    found.holds_in = mean(&holds, &vec![1.0; count]);
    for (option, (_, sampled)) in template.options.iter().zip(all) {
        shown(&mut found, &option.id, sampled, quantity);
    }
    if let Some((case, sampled)) = all.first() {
        causes(&mut found, world, (case, sampled), quantity, sampled.of(quantity))?;
    }
    found.right = order;
    Ok(found)
}

fn change(
    world: &World,
    (case, before): (&Case, &Sampled),
    after: &Sampled,
    quantity: &str,
    by: f64,
    template: &Template,
) -> Result<Found, String> {
    let mut found = Found::default();
    let gains = chain::gains(before.of(quantity), after.of(quantity));
    let [less, same, more] = chain::turned(&gains, by);
    let ways = [("same", same), ("less", less), ("more", more)];
    let (word, holds_in) =
        ways.into_iter().fold(("same", -1.0), |best, next| if next.1 > best.1 { next } else { best });
    let right = template.options.iter().position(|option| option.is.as_deref() == Some(word));
    found.right = right.into_iter().collect();
    found.holds_in = holds_in;
    shown(&mut found, "before", before, quantity);
    shown(&mut found, "after", after, quantity);
    let finite: Vec<f64> = gains.iter().map(|gain| if gain.is_finite() { *gain } else { 0.0 }).collect();
    causes(&mut found, world, (case, before), quantity, &finite)?;
    Ok(found)
}

fn number(
    world: &World,
    (case, sampled): (&Case, &Sampled),
    quantity: &str,
    unit: ValueUnit,
    digits: u8,
    within: f64,
) -> Result<Found, String> {
    let values = sampled.of(quantity);
    if values.iter().any(|value| !value.is_finite()) {
        return Err("the number does not exist in every sample".to_owned());
    }
    let sorted = Sorted::new(values, &sampled.weights).ok_or("there is no sample")?;
    let to_unit = |si: f64| (si - unit.offset) / unit.factor;
    let scale = (0..digits).fold(1.0, |scale, _| scale * 10.0);
    let key = libm::round(to_unit(sorted.quantile(0.5)) * scale) / scale;
    let least = libm::floor(to_unit(sorted.quantile(0.025)) * scale) / scale;
    let most = libm::ceil(to_unit(sorted.quantile(0.975)) * scale) / scale;
    if !(least > 0.0 && most / least <= within) {
        return Err(format!(
            "95 % of the samples lie between {least} and {most}, too far apart to ask for a number"
        ));
    }
    let right = |si: &f64| (least..=most).contains(&to_unit(*si));
    let mut found = Found { number: Some([key, least, most]), ..Found::default() };
    found.holds_in = values.iter().filter(|si| right(si)).count() as f64 / values.len().max(1) as f64;
    shown(&mut found, "case", sampled, quantity);
    causes(&mut found, world, (case, sampled), quantity, values)?;
    Ok(found)
}

fn view(case: &Case) -> View<'_> {
    View {
        situation: &case.situation,
        route: &case.route,
        patient: &case.patient,
        visit: &case.visit,
        stamps: &case.stamps,
        observations: &case.observations,
    }
}

fn stop(world: &World, template: &Template, case_of: CaseOf, stopped: bool) -> Result<Found, String> {
    let mut found = Found { holds_in: 1.0, ..Found::default() };
    let mut places = Vec::new();
    for (place, option) in template.options.iter().enumerate() {
        let sets: Vec<(String, String)> = option.sets.clone().into_iter().collect();
        let case = case_of(&sets)?;
        let look = look(world.rulebook, &view(&case));
        let stops: Vec<&str> = look
            .fired
            .iter()
            .filter(|fired| fired.rule.level == Level::Stop)
            .map(|fired| fired.rule.id.as_str())
            .collect();
        // What is not known is not "no": an open stop would let two options be defended.
        let open = look.open.iter().find(|open| open.rule.level == Level::Stop);
        if let (true, Some(open)) = (stops.is_empty(), open) {
            return Err(format!("{}: {} is open on {}", option.id, open.rule.id, open.hangs_on.join(", ")));
        }
        found.bits.push(stops.len() as u64);
        found.rests_on.extend(stops.iter().map(|id| (*id).to_owned()));
        if stops.is_empty() != stopped {
            places.push(place);
        }
    }
    match places.as_slice() {
        [one] => found.right = vec![*one],
        _ => return Err(format!("{} options could be defended", places.len())),
    }
    Ok(found)
}

fn holds(world: &World, template: &Template, case: &Case) -> Result<Found, String> {
    let view = view(case);
    let look = look(world.rulebook, &view);
    let mut found = Found { holds_in: 1.0, ..Found::default() };
    for (place, option) in template.options.iter().enumerate() {
        let Some(id) = option.rule.as_deref() else { continue };
        if look.open.iter().any(|open| open.rule.id == id) {
            return Err(format!("{}: {id} is open in this case", option.id));
        }
        if look.fired.iter().any(|fired| fired.rule.id == id) {
            found.right.push(place);
            found.bits.push(place as u64);
        }
        found.rests_on.push(id.to_owned());
    }
    match found.right.len() {
        1 => Ok(found),
        count => Err(format!("{count} options could be defended")),
    }
}

fn taught(
    world: &World,
    template: &Template,
    taught: &str,
    forecast: Option<&str>,
    case: &Case,
) -> Result<Found, String> {
    let row = |key: &str| world.parameters.taught().iter().find(|row| row.key == key);
    let mut found = Found { holds_in: 1.0, ..Found::default() };
    let mut spans: Vec<[f64; 2]> = Vec::new();
    for (place, option) in template.options.iter().enumerate() {
        let text = option.taught.as_deref().and_then(row).map(|row| {
            found.bits.extend(row.seconds.map(f64::to_bits));
            spans.push(row.seconds);
            times(row.seconds)
        });
        found.texts.push(text.filter(|_| option.text.is_empty()));
        if option.taught.as_deref() == Some(taught) {
            found.right = vec![place];
        }
    }
    for (place, span) in spans.iter().enumerate() {
        if spans[..place].iter().any(|other| other[0] <= span[1] && span[0] <= other[1]) {
            return Err("two options could be defended: their times overlap".to_owned());
        }
    }
    let row = row(taught).ok_or("there is no such row")?;
    found.rests_on.push(row.key.clone());
    if let Some(quantity) = forecast {
        let sampled = asked(world, case, quantity)?;
        shown(&mut found, FORECAST, &sampled, quantity);
        if let Some(Shown { low, high, .. }) = found.shown.last()
            && (row.seconds[1] < *low || row.seconds[0] > *high)
        {
            // Nothing is followed beyond the last moment that a forecast looks at.
            let forecast = match *high >= FOLLOWED_S - 1.0 {
                true => format!("more than {}", times([*low, *low])),
                false => times([*low, *high]),
            };
            found.apart = Some(format!(
                "What is taught is {}. For this case the model forecasts {forecast}: the two differ, and the question asks for what is taught.",
                times(row.seconds),
            ));
        }
    }
    Ok(found)
}

/// A stretch of time in the unit that suits it.
pub fn times([from, to]: [f64; 2]) -> String {
    let (factor, unit, several) = match to {
        to if to < 120.0 => (1.0, "second", "seconds"),
        to if to < 2.0 * 3600.0 => (60.0, "minute", "minutes"),
        to if to < 2.0 * 86_400.0 => (3600.0, "hour", "hours"),
        to if to < 14.0 * 86_400.0 => (86_400.0, "day", "days"),
        _ => (7.0 * 86_400.0, "week", "weeks"),
    };
    let said = |s: f64| {
        let text = format!("{:.1}", s / factor);
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    };
    let (a, b) = (said(from), said(to));
    match a == b {
        true => format!("{b} {}", if b == "1" { unit } else { several }),
        false => format!("{a} to {b} {several}"),
    }
}

fn steps(template: &Template) -> Result<Found, String> {
    let steps: Vec<Option<Step>> =
        template.options.iter().map(|option| option.step.as_deref().and_then(Step::from_word)).collect();
    let mut right: Vec<usize> = (0..steps.len()).collect();
    right.sort_by_key(|&place| steps[place]);
    if right.windows(2).any(|pair| steps[pair[0]] == steps[pair[1]]) {
        return Err("two steps are the same".to_owned());
    }
    Ok(Found { right, holds_in: 1.0, ..Found::default() })
}

fn arithmetic(
    world: &World,
    of: Arithmetic,
    digits: u8,
    tolerance: f64,
    case: &Case,
    drawn: &dyn Fn(&str) -> Option<f64>,
) -> Result<Found, String> {
    let need = |name: &str| drawn(name).ok_or_else(|| format!("the template draws no number \"{name}\""));
    let mut rests_on = Vec::new();
    let value = match of {
        Arithmetic::Adrenaline => match adrenaline(world.rulebook, &view(case)).anaesthetic_micrograms {
            Fact::Known(micrograms) => micrograms,
            _ => return Err("the adrenaline of the case is not known".to_owned()),
        },
        Arithmetic::WaterToReact => {
            rests_on.push("CaSO4·½H2O + 1½ H2O → CaSO4·2H2O".to_owned());
            kernel::gypsum::WATER_BOUND * need("powder")?
        }
        Arithmetic::HotWater => {
            let k = |name: &str| need(name).map(|celsius| celsius + 273.15);
            let total_kg = need("total")? * 1e-3;
            let blend = counsel::amounts::blend([k("hot")?, k("cold")?], k("wanted")?, total_kg)
                .map_err(|error| error.to_string())?;
            blend.water_kg[0] * 1e3
        }
        Arithmetic::Dilution => need("strong")? / need("wanted")? - 1.0,
    };
    let scale = (0..digits).fold(1.0, |scale, _| scale * 10.0);
    let key = libm::round(value * scale) / scale;
    let (least, most) = (
        (libm::floor(value * (1.0 - tolerance) * scale) / scale).min(key),
        (libm::ceil(value * (1.0 + tolerance) * scale) / scale).max(key),
    );
    Ok(Found {
        number: Some([key, least, most]),
        holds_in: 1.0,
        rests_on,
        bits: vec![value.to_bits()],
        ..Found::default()
    })
}
