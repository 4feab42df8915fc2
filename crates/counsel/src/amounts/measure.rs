//! Powder and water, cartridges or strands, stone and water, and what must wait.
//!
//! Volumes of trays and losses are ledger rows; ratios are those of the product or class; what a wrong ratio of stone does is asked of the
//! models of the kernel. Independent spreads are added in squares, relative ones where figures are multiplied.

use chain::report::Forecast;
use kernel::gypsum::{self, WATER_BOUND, wet_strength_1h};
use ledger::Parameters;
use libm::{pow, sqrt};
use terms::{Action, Bound, GypsumType, ImpressionClass, Material, MixMethod, Technique, TrayKind};

use super::AmountError;
use crate::View;

/// An amount with its 90 % interval, in the unit of the trade.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Amount {
    /// What is measured.
    pub what: String,
    /// Unit.
    pub unit: &'static str,
    /// 5 % end, middle, 95 % end.
    pub interval: [f64; 3],
    /// Ledger keys that it rests on, or `case`.
    pub keys: Vec<String>,
    /// What else is to be said.
    pub note: Option<&'static str>,
}

/// What a ratio of stone does against the printed one.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Consequence {
    /// Water to powder as stated, and as printed or usual.
    pub ratios: [f64; 2],
    /// In words, with the figures.
    pub words: Vec<String>,
}

/// Amounts, consequences and waits of a route.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Measure {
    /// Amounts.
    pub amounts: Vec<Amount>,
    /// What the stated water/powder ratio of the stone does; none where none is stated or it is the printed one.
    pub stone: Option<Consequence>,
    /// Waits.
    pub waits: Vec<Amount>,
    /// What is to be said of it all.
    pub said: Vec<&'static str>,
}

/// A middle with a half-width, and the keys that it rests on.
#[derive(Clone, Debug)]
struct Spread {
    middle: f64,
    half: f64,
    keys: Vec<String>,
}

impl Spread {
    fn exact(middle: f64) -> Spread {
        Spread { middle, half: 0.0, keys: Vec::new() }
    }

    fn stated(middle: f64) -> Spread {
        Spread { keys: vec!["case".to_owned()], ..Spread::exact(middle) }
    }

    fn joined(&self, other: &Spread, middle: f64, half: f64) -> Spread {
        let mut keys = self.keys.clone();
        keys.extend(other.keys.iter().filter(|key| !self.keys.contains(key)).cloned());
        Spread { middle, half, keys }
    }

    fn plus(&self, other: &Spread) -> Spread {
        let half = sqrt(self.half * self.half + other.half * other.half);
        self.joined(other, self.middle + other.middle, half)
    }

    fn relative(&self) -> f64 {
        if self.middle == 0.0 { 0.0 } else { self.half / self.middle }
    }

    fn times(&self, other: &Spread) -> Spread {
        let middle = self.middle * other.middle;
        self.joined(other, middle, middle * sqrt(pow(self.relative(), 2.0) + pow(other.relative(), 2.0)))
    }

    fn over(&self, other: &Spread) -> Spread {
        let middle = self.middle / other.middle;
        self.joined(other, middle, middle * sqrt(pow(self.relative(), 2.0) + pow(other.relative(), 2.0)))
    }

    fn amount(&self, what: &str, unit: &'static str, per_unit: f64) -> Amount {
        let (middle, half) = (self.middle / per_unit, self.half / per_unit);
        Amount {
            what: what.to_owned(),
            unit,
            interval: [(middle - half).max(0.0), middle, middle + half],
            keys: self.keys.clone(),
            note: None,
        }
    }
}

/// The amounts of a case. `forecast` is its forecast, for the waits.
///
/// # Errors
/// When the ledger lacks a row.
pub fn measure(view: &View, parameters: &Parameters, forecast: &Forecast) -> Result<Measure, AmountError> {
    let rows = Rows { parameters };
    let mut measure = Measure { amounts: Vec::new(), stone: None, waits: Vec::new(), said: Vec::new() };
    impression(view, &rows, &mut measure)?;
    stone(view, &rows, &mut measure)?;
    waits(view, &rows, forecast, &mut measure)?;
    Ok(measure)
}

struct Rows<'a> {
    parameters: &'a Parameters,
}

impl Rows<'_> {
    fn find(&self, scopes: &[&str], name: &str) -> Result<Spread, AmountError> {
        let (row, distribution) = self.parameters.find(scopes, name)?;
        let half = 0.5 * (distribution.quantile(0.95) - distribution.quantile(0.05));
        Ok(Spread { middle: distribution.median(), half, keys: vec![row.key.clone()] })
    }

    fn amount(&self, name: &str) -> Result<Spread, AmountError> {
        self.find(&["amount"], name)
    }

    fn of_material(&self, material: &Material, name: &str) -> Result<Spread, AmountError> {
        let class = material.class.word().replace(' ', "-");
        let mut scopes: Vec<&str> = material.product.iter().map(|id| id.0.as_str()).collect();
        scopes.push(&class);
        self.find(&scopes, name)
    }
}

fn impression(view: &View, rows: &Rows, measure: &mut Measure) -> Result<(), AmountError> {
    let route = view.route;
    let tray = rows.amount(match route.tray.kind {
        TrayKind::Stock => "tray_arch_stock",
        TrayKind::Custom => "tray_arch_custom",
        TrayKind::DualArch => "tray_dual",
    })?;
    match route.material.class {
        ImpressionClass::Alginate | ImpressionClass::ExtendedAlginate => {
            powder_and_water(view, rows, &tray, measure)?;
        }
        ImpressionClass::Agar => {
            measure.amounts.push(tray.amount("agar for the tray", "mL", 1e-6));
            measure.said.push("Agar comes in its tubes: take the next larger.");
        }
        _ => pastes(view, rows, &tray, measure)?,
    }
    let teeth = view.situation.abutments.len().max(1) as f64;
    let by_syringe = route.technique.has_wash() && route.technique != Technique::PuttyWashTwoStep;
    if by_syringe && view.situation.purpose.has_die() {
        let syringe = rows.amount("syringe_tooth")?.times(&Spread::exact(teeth));
        let what = match route.wash.as_ref().map(|wash| wash.class) {
            Some(ImpressionClass::Agar) => "agar in the syringe",
            _ => "light body in the syringe",
        };
        measure.amounts.push(syringe.amount(what, "mL", 1e-6));
    }
    if route.technique == Technique::PuttyWashTwoStep {
        measure.amounts.push(rows.amount("wash_arch")?.amount("wash over the set putty", "mL", 1e-6));
    }
    Ok(())
}

fn powder_and_water(
    view: &View,
    rows: &Rows,
    tray: &Spread,
    measure: &mut Measure,
) -> Result<(), AmountError> {
    let mix = &view.route.mix;
    let ratio = rows.of_material(&view.route.material, "mix.ratio")?;
    let (powder, water) = match mix.powder_kg.known() {
        Some(kg) => (Spread::stated(kg), Spread::stated(kg).times(&ratio)),
        None => {
            let mass = tray.times(&rows.amount("alginate_mix_density")?);
            // Powder m / (1 + r) and water m r / (1 + r) share the ratio, so each takes its own derivative and not the other's spread.
            let whole = 1.0 + ratio.middle;
            let of_mass = |share: f64, by_ratio: f64| {
                let share = Spread { middle: share, half: by_ratio * ratio.half, keys: ratio.keys.clone() };
                mass.times(&share)
            };
            let slope = 1.0 / (whole * whole);
            (of_mass(1.0 / whole, slope), of_mass(ratio.middle / whole, slope))
        }
    };
    measure.amounts.push(powder.amount("powder, weighed", "g", 1e-3));
    let mut by_scoop =
        powder.over(&rows.amount("alginate_powder_density")?).amount("powder, by volume", "mL", 1e-6);
    by_scoop.note = Some("a scoop varies by a third with shaking: weigh it");
    measure.amounts.push(by_scoop);
    measure.amounts.push(water.amount("water", "mL", 1e-3));
    if let (Some(powder_kg), Some(water_kg)) = (mix.powder_kg.known(), mix.water_kg.known()) {
        let stated = water_kg / powder_kg;
        if (stated - ratio.middle).abs() > ratio.half {
            measure.said.push("The stated water lies outside what product or class asks for: it moves both working time and strength.");
        }
    }
    Ok(())
}

fn pastes(view: &View, rows: &Rows, tray: &Spread, measure: &mut Measure) -> Result<(), AmountError> {
    let route = view.route;
    let putty = matches!(route.technique, Technique::PuttyWashOneStep | Technique::PuttyWashTwoStep);
    let what = if putty { "putty in the tray" } else { "material in the tray" };
    measure.amounts.push(tray.amount(what, "mL", 1e-6));
    match route.mix.method {
        MixMethod::Automix if !putty => {
            let out = tray.plus(&rows.amount("tip_waste")?);
            let mut cartridges =
                out.amount("cartridges of 50 mL, with what the tip keeps", "cartridges", 50e-6);
            cartridges.note = Some("have one more at hand");
            measure.amounts.push(cartridges);
        }
        MixMethod::Hand if putty => {
            let each = tray.times(&Spread::exact(0.5));
            measure.amounts.push(each.amount("of each putty, equal volumes", "mL", 1e-6));
        }
        MixMethod::Hand => {
            let diameter = rows.amount("strand_diameter")?;
            let area = diameter.times(&diameter).times(&Spread::exact(std::f64::consts::FRAC_PI_4));
            let each = tray.times(&rows.amount("base_share")?).over(&area);
            let mut strands = each.amount("strand of base, and the same length of catalyst", "cm", 1e-2);
            strands.note = Some("equal lengths make the printed ratio, whatever the openings");
            measure.amounts.push(strands);
        }
        MixMethod::Machine | MixMethod::Automix => {}
    }
    Ok(())
}

fn stone(view: &View, rows: &Rows, measure: &mut Measure) -> Result<(), AmountError> {
    let stone = &view.route.stone;
    let class = format!("gypsum-{}", stone.gypsum.word().trim_start_matches("type "));
    let mut scopes: Vec<&str> = stone.product.iter().map(|id| id.0.as_str()).collect();
    scopes.push(&class);
    let ratio = rows.find(&scopes, "mix.ratio")?;
    let powder = match stone.powder_kg.known() {
        Some(kg) => Spread::stated(kg),
        None if view.situation.purpose.has_die() => rows.amount("stone_dies")?,
        None => rows.amount("stone_arch")?,
    };
    measure.amounts.push(powder.amount("stone powder", "g", 1e-3));
    measure.amounts.push(powder.times(&ratio).amount("water for the stone", "mL", 1e-3));
    if let (Some(powder_kg), Some(water_kg)) = (stone.powder_kg.known(), stone.water_kg.known()) {
        let stated = water_kg / powder_kg;
        if (stated - ratio.middle).abs() > 0.02 * ratio.middle {
            measure.stone = Some(consequence(rows, &scopes, stated, ratio.middle)?);
        }
    }
    if matches!(stone.gypsum, GypsumType::Type1 | GypsumType::Type2) && view.situation.purpose.has_die() {
        measure.said.push("Plaster is no stone for dies: type 4 or 5.");
    }
    Ok(())
}

/// What another ratio than the printed one does, by the models of the kernel.
fn consequence(rows: &Rows, scopes: &[&str], stated: f64, printed: f64) -> Result<Consequence, AmountError> {
    let mut words = Vec::new();
    if stated < WATER_BOUND {
        words.push(format!(
            "{:.1} g of water to 100 g is less than the {:.1} g that the powder binds: some of it stays powder, and no such mix flows",
            100.0 * stated,
            100.0 * WATER_BOUND
        ));
        return Ok(Consequence { ratios: [stated, printed], words });
    }
    let (now, meant) = (wet_strength_1h(stated), wet_strength_1h(printed));
    // The fit is good to a tenth; in a ratio of two much of that is shared, and half is left. Outside it nobody knows: a fifth.
    let share = now.pa / meant.pa;
    let (range, off) = match now.in_fitted_range && meant.in_fitted_range {
        true => ("", 0.05),
        false => (", one of the two outside what the fit was checked for", 0.2),
    };
    words.push(format!(
        "wet strength after an hour {:.0} to {:.0} % of that at the printed ratio{range}",
        100.0 * (1.0 - off) * share,
        100.0 * (1.0 + off) * share
    ));
    let exponent = rows.find(scopes, "set.ratio_exponent")?;
    let wetter = (stated / printed).clamp(0.75, 1.4);
    let factor = |side: f64| pow(wetter, exponent.middle + side * exponent.half);
    let (low, high) = (factor(-1.0).min(factor(1.0)), factor(-1.0).max(factor(1.0)));
    words.push(format!("setting time times {low:.2} to {high:.2}"));
    let slope = rows.find(scopes, "expansion.ratio_slope")?;
    let change = |side: f64| (slope.middle + side * slope.half) * (stated - printed);
    let (low, high) = (change(-1.0).min(change(1.0)), change(-1.0).max(change(1.0)));
    words.push(format!("setting expansion {:+.3} to {:+.3} %", 100.0 * low, 100.0 * high));
    let free = |ratio: f64| 100.0 * (ratio - WATER_BOUND);
    words.push(format!(
        "water that is not bound {:.1} g to 100 g instead of {:.1} g: it leaves pores",
        free(stated),
        free(printed)
    ));
    let density = rows.find(&["stone"], "powder_density")?;
    let porosity = |ratio: f64| {
        let mix = gypsum::Mix { water_powder: ratio, powder_kg_m3: density.middle, conversion: 1.0 };
        100.0 * mix.porosity(0.0)
    };
    words.push(format!(
        "pores when dry about {:.0} % instead of {:.0} %",
        porosity(stated),
        porosity(printed)
    ));
    Ok(Consequence { ratios: [stated, printed], words })
}

fn waits(view: &View, rows: &Rows, forecast: &Forecast, measure: &mut Measure) -> Result<(), AmountError> {
    let minutes = 60.0;
    let planned = |action: Action| {
        let window = forecast.windows.iter().find(|window| window.action == action);
        window.and_then(|window| window.planned_s)
    };
    let route = view.route;
    if !route.material.class.is_hydrocolloid() && route.tray.adhesive.known() != Some(false) {
        let mut wait =
            rows.find(&["wait"], "adhesive")?.amount("adhesive dries before loading", "min", minutes);
        wait.note = Some("its own instructions prevail");
        measure.waits.push(wait);
    }
    for (action, since, what) in [
        (Action::Pour, Action::Remove, "from removal before stone is poured (recovery, gas)"),
        (Action::Separate, Action::Pour, "from pouring before the stone is separated"),
    ] {
        let window = forecast.windows.iter().find(|window| window.action == action);
        if let Some(edge) = window.map(|window| &window.opens).filter(|edge| edge.bound == Bound::Minimum)
            && let Some(interval) = edge.forecast_s
            && let Some(since_s) = planned(since)
        {
            let mut keys = vec![format!("window.{}.opens", action.word())];
            // A printed minimum may count from the start of mixing or from seating.
            let printed = edge.instructed.iter().map(|limit| limit.at_s - since_s).fold(0.0, f64::max);
            if printed > 0.0 {
                keys.push("printed".to_owned());
            }
            let at_least = |s: f64| s.max(printed) / minutes;
            measure.waits.push(Amount {
                what: what.to_owned(),
                unit: "min",
                interval: [at_least(interval.low), at_least(interval.mid), at_least(interval.high)],
                keys,
                note: Some("the longer end counts, and never less than is printed"),
            });
        }
    }
    if route.plan.second_pour_after_s.known().is_some() {
        measure.waits.push(rows.find(&["wait"], "between_pours")?.amount(
            "rest between two casts",
            "min",
            minutes,
        ));
    }
    Ok(())
}
