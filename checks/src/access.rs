//! Capture of the margin: the sulcus, the entry of the material, and how often impressions sent to laboratories miss it.

use chain::{Margins, ToothMargin};
use kernel::capture::entry::{Paste, Push, depth_squared_m2};
use kernel::capture::sulcus::{time_to_width_s, width_m};
use kernel::capture::{Abutment, Calibration, Material, Pressing, Wetness, capture};
use ledger::Parameters;
use terms::{Fact, MixMethod, Purpose, TrayKind};

use crate::cases::{Case, silicone};
use crate::published::forecast;
use crate::{CheckError, Input, unknown_word};

pub(crate) fn compute(id: &str, input: &Input) -> Result<f64, CheckError> {
    match id {
        "sulcus-at-forty-seconds" => sulcus(input),
        "capillary-rise" => Ok(1e3 * capillary_m(input)?),
        "narrow-slots" => slot(input),
        "laboratory-impressions" => laboratory(input),
        "blood-odds" => Ok(odds(|case| case.situation.bleeding = Fact::Known(true))?
            / odds(|case| case.situation.bleeding = Fact::Known(false))?),
        "dual-arch-odds" => Ok(odds(|case| case.route.tray.kind = TrayKind::DualArch)?
            / odds(|case| case.route.tray.kind = TrayKind::Stock)?),
        "hand-mix-bubbles" => Ok(odds(|case| case.route.mix.method = MixMethod::Hand)?
            / odds(|case| case.route.mix.method = MixMethod::Automix)?),
        _ => Err(CheckError::Unknown(id.to_owned())),
    }
}

/// The middle of a row, SI.
fn middle(name: &str) -> Result<f64, CheckError> {
    row("access", name)
}

fn row(scope: &str, name: &str) -> Result<f64, CheckError> {
    let model = |error: ledger::LedgerError| CheckError::Model(error.to_string());
    let parameters: Parameters = ledger::shipped().map_err(model)?;
    parameters.find(&[scope], name).map(|(_, found)| found.median()).map_err(model)
}

fn sulcus(input: &Input) -> Result<f64, CheckError> {
    let (open_m, rest_m) = (1e-3 * input.number("open_mm")?, middle("rest_width_single_cord")?);
    let closing_s = middle("closing_time")?;
    match input.word("what")? {
        "width" => Ok(1e3 * width_m(open_m, rest_m, closing_s, 1.0, input.number("after_s")?)),
        "time at a line angle" => {
            let rate = middle("line_angle_rate")?;
            let target_m = 1e-3 * input.number("to_mm")?;
            time_to_width_s(open_m, rest_m, closing_s, rate, target_m)
                .ok_or_else(|| CheckError::Model("never so narrow".to_owned()))
        }
        other => Err(unknown_word("what", other)),
    }
}

fn capillary_m(input: &Input) -> Result<f64, CheckError> {
    let liquid = Paste {
        viscosity_pa_s: 1e-3 * input.number("viscosity_mpa_s")?,
        doubling_s: f64::INFINITY,
        tension_n_m: 1e-3 * input.number("tension_mn_m")?,
        contact_cosine: 1.0,
    };
    let none = Push { pressure_pa: 0.0, duration_s: input.number("seconds")? };
    Ok(depth_squared_m2(&liquid, 1e-3 * input.number("width_mm")?, &none, 0.0, 0.0).sqrt())
}

/// Share of the fins drawn out of a slot without fluid, 1 mm deep, that are defective, %: the tear alone.
fn slot(input: &Input) -> Result<f64, CheckError> {
    let width_m = 1e-3 * input.number("width_mm")?;
    let push = Push { pressure_pa: 1e5, duration_s: 10.0 };
    let abutment = Abutment {
        open_width_m: width_m,
        rest_width_m: width_m,
        closing_s: 1e5,
        depth_m: 0.8e-3,
        wetness: Wetness::Dry,
        uncovered_s: 0.0,
        paste_wait_s: 0.0,
        seat_after_s: 0.0,
    };
    let material = Material {
        paste: Paste { viscosity_pa_s: 70.0, doubling_s: 60.0, tension_n_m: 0.03, contact_cosine: 0.0 },
        modulus_pa: row("addition-silicone", "tear.fin_modulus")?,
        tear_energy_j_m2: 1000.0,
    };
    let pressing = Pressing { syringe: push, tray: push, tray_hazard: 1.0 };
    let calibration = Calibration {
        line_angle_rate: 1.0,
        covered_width_m: middle("covered_width")?,
        width_spread: middle("width_spread")?,
        rim_m: 1e-4,
        beyond_m: middle("beyond")?,
        entry_spread: middle("entry_spread")?,
        bubble_hazard: 0.0,
        wet_hazard: [0.0; 4],
        seep_s: middle("seep_time")?,
        fluid_pressure_pa: [0.0; 4],
        grip: middle("grip")?,
        flaw_m: middle("flaw")?,
        tear_spread: middle("tear_spread")?,
    };
    let found = capture(&abutment, &material, &pressing, &calibration);
    Ok(100.0 * (1.0 - found.map_err(|error| CheckError::Model(error.to_string()))?.whole))
}

/// An impression sent to a laboratory: two prepared teeth, and nothing known of how it was taken.
fn sent_in() -> Case {
    let mut case = silicone(3.0);
    case.situation.purpose = Purpose::Bridge;
    case.situation.bleeding = Fact::Unknown;
    case.situation.span_m = Fact::Unknown;
    case
}

fn margins(case: &Case) -> Result<Margins, CheckError> {
    forecast(case)?.margins.ok_or_else(|| CheckError::Model("no margins".to_owned()))
}

fn laboratory(input: &Input) -> Result<f64, CheckError> {
    let margins = margins(&sent_in())?;
    // Teeth of one impression share hand, gum and material, so the worse of the two is the least that shows.
    let most = |value: fn(&ToothMargin) -> f64| margins.teeth.iter().map(value).fold(0.0, f64::max);
    match input.word("what")? {
        "tissue over it" => Ok(100.0 * most(|tooth| tooth.covered)),
        "void" => Ok(100.0 * most(|tooth| tooth.void)),
        "any fault" => Ok(100.0 * (1.0 - margins.captured)),
        other => Err(unknown_word("what", other)),
    }
}

fn odds(change: impl Fn(&mut Case)) -> Result<f64, CheckError> {
    let mut case = sent_in();
    change(&mut case);
    let captured = margins(&case)?.captured;
    Ok((1.0 - captured) / captured)
}
