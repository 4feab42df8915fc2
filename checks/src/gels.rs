//! Alginate in every holding: water, salts, bags, humidors, liquids, and how it is disinfected.

use chain::Forecast;
use chain::statistics::Interval;
use kernel::ZERO_CELSIUS;
use kernel::holding::{self, Bath, Exposure, Gel, HoldPoint, Segment, free_linear_shrinkage};
use kernel::surface::Face;
use ledger::Parameters;
use ledger::disinfection::{Bearing, alternatives, bearing};
use terms::{
    Agent, DisinfectionMethod, Fact, GypsumType, HoldingKind, HoldingSegment, ImpressionClass, Material,
    Purpose, Technique, TrayKind, TrayMaterial,
};

use crate::cases::{self, Case};
use crate::published::{forecast, interval, place};
use crate::{CheckError, Input, unknown_word};

pub(crate) fn compute(id: &str, input: &Input) -> Result<f64, CheckError> {
    match id {
        "salt-release" => salt_release(input),
        "swelling-and-leaching" => swelling(input),
        "root-of-time" => root_of_time(input),
        "half-the-thickness" => half_the_thickness(),
        "stronger-liquid" => stronger_liquid(input),
        "strain-for-mass" => strain_for_mass(input),
        "gas-side-controls" => gas_side_controls(),
        "water-in-the-gel-expands" => thermal_change(input),
        "ten-kelvin-double" => ten_kelvin(input),
        "bag-of-either-product" => either_product(input),
        "ten-minutes-immersed" | "five-minutes-immersed" if input.word("of").is_err() => immersed_over(input),
        "ten-minutes-immersed" | "half-an-hour-reviewed" | "gels-by-guidance" => ways(input),
        "plaster-standard" => plaster(input),
        "plaster-and-water" => plaster_and_water(input),
        _ => told(input),
    }
}

/// What a forecast says in the unit of the row, or the difference from a second case named with `than_`.
pub(crate) fn told(input: &Input) -> Result<f64, CheckError> {
    let first = taken(input, &forecast(&case(input, "")?)?)?;
    if input.word("than").is_err() {
        return unit(input, first);
    }
    let second = taken(input, &forecast(&case(input, "than_")?)?)?;
    match input.word("than")? {
        "difference" => unit(input, first - second),
        "ratio" => Ok(first / second),
        other => Err(unknown_word("than", other)),
    }
}

fn taken(input: &Input, forecast: &Forecast) -> Result<f64, CheckError> {
    let found = interval(forecast, input.word("of")?)?;
    Ok(match input.word("take").unwrap_or("middle") {
        "middle" => found.mid,
        "size" => found.mid.abs(),
        "low" => found.low,
        "high" => found.high,
        "width" => found.high - found.low,
        "place" => place(input.number("measured")? / per_si(input)?, found),
        other => return Err(unknown_word("take", other)),
    })
}

/// A value in the unit of the row; a place has none.
fn unit(input: &Input, value: f64) -> Result<f64, CheckError> {
    Ok(if input.word("take") == Ok("place") { value } else { value * per_si(input)? })
}

fn per_si(input: &Input) -> Result<f64, CheckError> {
    match input.word("in")? {
        "1" | "s" | "K" => Ok(1.0),
        "%" => Ok(100.0),
        "µm" => Ok(1e6),
        "µm of radius" => Ok(0.5e6),
        "min" => Ok(1.0 / 60.0),
        other => Err(unknown_word("in", other)),
    }
}

/// The case of a row: a crown prepared in a custom tray, or a study cast over a span in a perforated metal tray. Names of the
/// second case of a comparison begin with `prefix`; what it does not name is as in the first.
pub(crate) fn case(input: &Input, prefix: &str) -> Result<Case, CheckError> {
    let word = |name: &str| input.word(&format!("{prefix}{name}")).or_else(|_| input.word(name));
    let number = |name: &str| input.number(&format!("{prefix}{name}")).or_else(|_| input.number(name));
    let kelvin = |name: &str| number(name).map(|celsius| celsius + ZERO_CELSIUS);
    let class = word("class")?;
    let over = class == "agar over alginate";
    let class = if over { ImpressionClass::Alginate } else { class_of(class)? };
    let mut case = cases::on(class, segment(&word, &number)?);
    if let Ok(span_mm) = number("span_mm") {
        case.situation.purpose = Purpose::StudyCast;
        case.situation.span_m = Fact::Known(1e-3 * span_mm);
        case.route.restoration = None;
        case.route.tray.kind = TrayKind::Stock;
        case.route.tray.material = TrayMaterial::Metal;
        case.route.tray.adhesive = Fact::Known(false);
        case.route.tray.perforated = Fact::Known(true);
        case.route.tray.relief_m = Fact::Known(5e-3);
        case.route.stone.gypsum = GypsumType::Type3;
        case.route.stone.water_kg = Fact::Known(0.030);
    }
    if number("adhesive").is_ok() {
        case.route.tray.adhesive = Fact::Known(true);
    }
    if over {
        case.route.technique = Technique::AgarOverAlginate;
        case.route.wash = Some(Material { class: ImpressionClass::Agar, product: None });
    }
    if let Ok(room_k) = kelvin("room_c") {
        case.situation.room_temperature_k = Fact::Known(room_k);
    }
    if let Ok(water_k) = kelvin("water_c") {
        case.situation.water_temperature_k = Fact::Known(water_k);
    }
    if let Ok(ratio) = number("ratio") {
        case.route.mix.water_kg = Fact::Known(0.02 * ratio);
    }
    if let Ok(hours) = number("separate_h") {
        case.route.plan.separate_after_s = Fact::Known(3600.0 * hours);
    }
    let baths = &mut case.route.baths;
    if let Ok(mm) = number("tube_mm") {
        baths.tube_diameter_m = Fact::Known(1e-3 * mm);
    }
    if let Ok(minutes) = number("boil_min") {
        baths.boil_s = Fact::Known(60.0 * minutes);
    }
    if let Ok(again) = number("boiled_before") {
        baths.boiled_before = Fact::Known(again > 0.0);
    }
    if let Ok(hours) = number("store_h") {
        baths.store_s = Fact::Known(3600.0 * hours);
    }
    if let Ok(minutes) = number("temper_min") {
        baths.temper_s = Fact::Known(60.0 * minutes);
    }
    for (name, fact) in [
        ("store_c", &mut baths.store_temperature_k),
        ("temper_c", &mut baths.temper_temperature_k),
        ("coolant_c", &mut baths.coolant_temperature_k),
        ("syringe_c", &mut baths.syringe_temperature_k),
    ] {
        if let Ok(k) = kelvin(name) {
            *fact = Fact::Known(k);
        }
    }
    Ok(case)
}

fn segment<'a>(
    word: &impl Fn(&str) -> Result<&'a str, CheckError>,
    number: &impl Fn(&str) -> Result<f64, CheckError>,
) -> Result<HoldingSegment, CheckError> {
    let kind = word("kept").unwrap_or("open air");
    let kind = HoldingKind::from_word(kind).ok_or_else(|| unknown_word("kept", kind))?;
    let mut segment = cases::held(kind, number("minutes").unwrap_or(10.0));
    if let Ok(humidity) = number("humidity") {
        segment.humidity = Fact::Known(humidity);
    }
    if kind.may_disinfect() {
        let liquid = word("liquid")?;
        segment.agent = match Agent::from_word(liquid) {
            Some(agent) => Fact::Known(agent),
            None if liquid == "water" => Fact::NotApplicable,
            None => return Err(unknown_word("liquid", liquid)),
        };
        if liquid == "water" {
            (segment.concentration, segment.labelled_contact_s) = (Fact::NotApplicable, Fact::NotApplicable);
        } else {
            segment.labelled_contact_s = number("label_s").map_or(Fact::Unknown, Fact::Known);
        }
    }
    Ok(segment)
}

pub(crate) fn class_of(word: &str) -> Result<ImpressionClass, CheckError> {
    ImpressionClass::from_word(word).ok_or_else(|| unknown_word("class", word))
}

pub(crate) fn shipped() -> Result<Parameters, CheckError> {
    ledger::shipped().map_err(|error| CheckError::Model(error.to_string()))
}

/// A quantile of a value of the ledger, SI.
pub(crate) fn quantile(scope: &str, name: &str, p: f64) -> Result<f64, CheckError> {
    shipped()?
        .find(&[scope], name)
        .map(|(_, distribution)| distribution.quantile(p))
        .map_err(|error| CheckError::Model(error.to_string()))
}

/// Alginate with every value at the middle of the ledger, without syneresis, in a tray that keeps its temperature.
fn alginate(thickness_m: f64) -> Result<Gel, CheckError> {
    let median = |name: &str| quantile("alginate", name, 0.5);
    let ratio = median("mix.ratio")?;
    let (osmotic, network) = (median("liquid.osmotic_strain")?, median("liquid.network_strain")?);
    Ok(Gel {
        thickness_m,
        plate_length_m: 12.5e-3,
        rho_kg_m3: median("thermal.density")?,
        c_j_kgk: median("thermal.capacity")?,
        water_fraction: ratio / (1.0 + ratio),
        diffusivity_m2_s: median("water.diffusivity")?,
        water_activity: median("water.activity")?,
        syneresis_volume_strain: 0.0,
        syneresis_tau_s: 3600.0,
        tray_j_m2k: 1e6,
        tray_h_w_m2k: 8.0,
        bath: Bath {
            salt_diffusivity_m2_s: median("liquid.salt_diffusivity")?,
            swelling_diffusivity_m2_s: median("liquid.swelling_diffusivity")?,
            osmotic_volume_strain: 3.0 * (osmotic - network),
            network_volume_strain: 3.0 * network,
            salt_fraction: median("liquid.salt_mass")?,
        },
    })
}

const ROOM_K: f64 = ZERO_CELSIUS + 23.0;

fn hold(gel: &Gel, factor: f64, exposure: Exposure, times_s: &[f64]) -> Result<Vec<HoldPoint>, CheckError> {
    let segment = Segment { duration_s: 1e6, air_t_k: ROOM_K, relative_humidity: 0.5, exposure };
    let mut points = vec![HoldPoint::default(); times_s.len()];
    holding::hold(gel, ROOM_K, factor, &[segment], times_s, &mut points)
        .map_err(|error| CheckError::Model(error.to_string()))?;
    Ok(points)
}

fn liquid(strength: f64) -> Exposure {
    Exposure::Wet { strength, supply_kg_m2: f64::INFINITY }
}

/// Share of the salts that has left 3 mm with a diffusivity of 1e-9 m²/s, through a film of 4e-6 m/s times the factor.
fn salt_release(input: &Input) -> Result<f64, CheckError> {
    let mut gel = alginate(3e-3)?;
    gel.bath.salt_diffusivity_m2_s = 1e-9;
    let t_s = input.number("fourier")? * 9e3;
    Ok(1.0 - hold(&gel, input.number("film")?, liquid(0.0), &[t_s])?[0].salt_share)
}

/// Water drawn in and given back by 5 mm, %, with the salts at water at once outside the face.
fn swelling(input: &Input) -> Result<f64, CheckError> {
    let mut gel = alginate(5e-3)?;
    gel.bath = Bath {
        salt_diffusivity_m2_s: 9e-10,
        swelling_diffusivity_m2_s: 1e-8,
        osmotic_volume_strain: 0.027,
        network_volume_strain: -0.009,
        salt_fraction: 0.03,
    };
    let point = hold(&gel, 20.0, liquid(0.0), &[60.0 * input.number("minutes")?])?[0];
    Ok(-100.0 * point.volume_strain)
}

/// Alginate whose network follows its salts at once.
fn quick(thickness_m: f64) -> Result<Gel, CheckError> {
    let gel = alginate(thickness_m)?;
    Ok(Gel { bath: Bath { swelling_diffusivity_m2_s: 1e-5, ..gel.bath }, ..gel })
}

/// Free linear growth of 5 mm in water between 10 min and 2 h against the root of time.
fn root_of_time(input: &Input) -> Result<f64, CheckError> {
    let gel = quick(5e-3)?;
    let times_s: Vec<f64> = (0..12).map(|i| (24.5 + 5.485 * f64::from(i)).powi(2)).collect();
    let points = hold(&gel, 1.0, liquid(0.0), &times_s)?;
    let line: Vec<(f64, f64)> =
        points.iter().map(|point| (point.t_s.sqrt(), -point.volume_strain / 3.0)).collect();
    let count = line.len() as f64;
    let (x, y) = line.iter().fold((0.0, 0.0), |sum, at| (sum.0 + at.0 / count, sum.1 + at.1 / count));
    let (xx, xy) =
        line.iter().fold((0.0, 0.0), |sum, at| (sum.0 + (at.0 - x).powi(2), sum.1 + (at.0 - x) * (at.1 - y)));
    let slope = xy / xx;
    match input.word("of")? {
        "slope" => {
            let drawn_in = gel.bath.osmotic_volume_strain / 3.0;
            let half_space = (gel.bath.salt_diffusivity_m2_s / core::f64::consts::PI).sqrt();
            Ok(-slope * gel.thickness_m / (2.0 * drawn_in * half_space))
        }
        "start" => Ok(100.0 * (y - slope * x)),
        "departure" => {
            let off = line.iter().map(|at| (at.1 - y - slope * (at.0 - x)).abs()).fold(0.0, f64::max);
            Ok(off / (line[0].1 - line[line.len() - 1].1).abs())
        }
        other => Err(unknown_word("of", other)),
    }
}

/// Change between 10 min and 2 h in water at 2.5 mm over that at 5 mm.
fn half_the_thickness() -> Result<f64, CheckError> {
    let change = |thickness_m: f64| {
        let points = hold(&quick(thickness_m)?, 1.0, liquid(0.0), &[600.0, 7200.0])?;
        Ok(points[1].volume_strain - points[0].volume_strain)
    };
    Ok(change(2.5e-3)? / change(5e-3)?)
}

/// Change of mass, %, in a liquid of some strength beyond that in one half as strong.
fn stronger_liquid(input: &Input) -> Result<f64, CheckError> {
    let gel = alginate(3e-3)?;
    let t_s = 60.0 * input.number("minutes")?;
    let change = |strength: f64| {
        hold(&gel, 1.0, liquid(strength), &[t_s]).map(|points| 100.0 * points[0].mass_change_fraction)
    };
    let strength = input.number("strength")?;
    Ok(change(strength)? - change(0.5 * strength)?)
}

fn open(face: Face) -> Exposure {
    Exposure::Open { air_speed_m_s: 0.0, face }
}

/// Free linear shrinkage, %, for each per cent of mass lost in the room.
fn strain_for_mass(input: &Input) -> Result<f64, CheckError> {
    let point = hold(&alginate(3e-3)?, 1.0, open(Face::Up), &[60.0 * input.number("minutes")?])?[0];
    Ok(-free_linear_shrinkage(point.volume_strain) / point.mass_change_fraction)
}

/// Loss in an hour over that in half an hour, at one temperature.
fn gas_side_controls() -> Result<f64, CheckError> {
    let points = hold(&alginate(3e-3)?, 1.0, open(Face::Down), &[1800.0, 3600.0])?;
    Ok(points[1].evaporated_kg_m2 / points[0].evaporated_kg_m2)
}

/// Linear change of a gel from 35 to 23 °C, %, at the middle of the ledger.
fn thermal_change(input: &Input) -> Result<f64, CheckError> {
    Ok(-100.0 * 12.0 * quantile(input.word("class")?, "thermal.expansion", 0.5)?)
}

/// How many times faster alginate sets at 30 °C than at 20 °C, at a quantile of the activation energy.
fn ten_kelvin(input: &Input) -> Result<f64, CheckError> {
    let energy = quantile("alginate", "set.activation_energy", input.number("quantile")?)?;
    Ok((energy / kernel::GAS_CONSTANT * (1.0 / 293.15 - 1.0 / 303.15)).exp())
}

/// Exuded linear shrinkage, %, of a product that contracts much after 1 h beyond that of one that contracts little after 3 h.
fn either_product(input: &Input) -> Result<f64, CheckError> {
    let exuded = |name: &str, hours: f64| {
        let gel = Gel {
            syneresis_volume_strain: 3.0 * quantile("alginate", "syneresis.strain", input.number(name)?)?,
            syneresis_tau_s: quantile("alginate", "syneresis.time", 0.5)?,
            ..alginate(3e-3)?
        };
        let after = hold(&gel, 1.0, Exposure::Sealed, &[3600.0 * hours])?;
        Ok(100.0 * after[0].exuded_volume_strain / 3.0)
    };
    Ok(exuded("much", 1.0)? - exuded("little", 3.0)?)
}

/// Change of alginate in hypochlorite beyond a closed bag of the same time: immersed over sprayed, or over immersed for another
/// time.
fn immersed_over(input: &Input) -> Result<f64, CheckError> {
    let minutes = input.number("minutes")?;
    let beyond_the_bag = |kind: HoldingKind, minutes: f64| {
        let strain = |kind: HoldingKind| {
            let mut segment = cases::held(kind, minutes);
            if kind.may_disinfect() {
                segment.agent = Fact::Known(Agent::Hypochlorite);
            }
            let case = cases::on(ImpressionClass::Alginate, segment);
            interval(&forecast(&case)?, "strain.holding").map(|found| found.mid)
        };
        Ok((strain(kind)? - strain(HoldingKind::SealedHumid)?).abs())
    };
    let other = match input.number("over_minutes") {
        Ok(over_minutes) => beyond_the_bag(HoldingKind::Immersed, over_minutes)?,
        Err(_) => beyond_the_bag(HoldingKind::SprayedSealed, minutes)?,
    };
    Ok(beyond_the_bag(HoldingKind::Immersed, minutes)? / other)
}

/// Of the ways of disinfecting: how many are borne for a contact, for how long one is, or how many others there are.
fn ways(input: &Input) -> Result<f64, CheckError> {
    let parameters = shipped()?;
    let class = class_of(input.word("class")?)?;
    let of = input.word("of")?;
    if of == "ways" {
        let seconds = input.number("seconds")?;
        let borne = parameters
            .disinfectants()
            .iter()
            .filter(|row| row.class == class && bearing(Some(*row), None, seconds) == Bearing::Borne);
        return Ok(borne.count() as f64);
    }
    let word = input.word("agent")?;
    let agent = Agent::from_word(word).ok_or_else(|| unknown_word("agent", word))?;
    let word = input.word("method")?;
    let method = DisinfectionMethod::from_word(word).ok_or_else(|| unknown_word("method", word))?;
    let row = parameters.disinfectant(class, agent, method);
    match of {
        "borne" => Ok(row.map_or(0.0, |row| row.bears_max_s)),
        "others" => Ok(alternatives(&parameters, class, agent, method, None).len() as f64),
        other => Err(unknown_word("of", other)),
    }
}

/// A quantile of a value of the ledger for a type of gypsum, in the unit of the row.
fn plaster(input: &Input) -> Result<f64, CheckError> {
    let scope = format!("gypsum-{}", input.number("type")?);
    unit(input, quantile(&scope, input.word("value")?, input.number("quantile")?)?)
}

/// Where a needle set at some ratio lies in the 90 % interval of model plaster.
fn plaster_and_water(input: &Input) -> Result<f64, CheckError> {
    let usual = quantile("gypsum-2", "mix.ratio", 0.5)?;
    let wetter = input.number("ratio")? / usual;
    let at = |p: f64| {
        let exponent = quantile("gypsum-2", "set.ratio_exponent", 0.5)?;
        Ok(quantile("gypsum-2", "set.needle_time", p)? * wetter.powf(exponent) / 60.0)
    };
    let found = Interval { low: at(0.05)?, mid: at(0.5)?, high: at(0.95)? };
    Ok(place(input.number("measured_min")?, found))
}
