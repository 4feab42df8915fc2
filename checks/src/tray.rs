//! The layer between die and tray.

use kernel::layer::{Cavity, annulus_held_m, height_change_m, loose_m, radius_change_m, sphere_held_m};

use crate::{CheckError, Input, unknown_word};

pub(crate) fn compute(id: &str, input: &Input) -> Result<f64, CheckError> {
    let um = |metres: f64| 1e6 * metres;
    match id {
        "annulus" => Ok(um(annulus_held_m(4e-3, 7e-3, input.number("poisson")?, 0.002))),
        "sphere" => Ok(um(sphere_held_m(4e-3, 7e-3, input.number("poisson")?, 0.002))),
        "relief-sweep" => Ok(um(annulus_held_m(4e-3, 4e-3 + 1e-3 * input.number("relief_mm")?, 0.5, 0.002))),
        "cooling-with-the-tray" => {
            let (layer, tray) = (200e-6 * 12.0, -80e-6 * 12.0);
            Ok(um(tray * 5e-3 + annulus_held_m(5e-3, 8e-3, 0.4999, layer + tray)))
        }
        "loose" => Ok(um(loose_m(4e-3, 0.002))),
        "open-die" => open_die(input).map(um),
        _ => Err(CheckError::Unknown(id.to_owned())),
    }
}

fn open_die(input: &Input) -> Result<f64, CheckError> {
    let mm = |name: &str| input.number(name).map(|mm| 1e-3 * mm);
    let cavity = Cavity {
        die_radius_m: mm("radius_mm")?,
        relief_m: mm("layer_mm")?,
        height_m: mm("height_mm")?,
        ceiling_m: mm("layer_mm")?,
        poisson: 0.4999,
        hold: 1.0,
        neighbour: 1.0,
    };
    match input.word("what")? {
        "wall" => Ok(radius_change_m(&cavity, 0.002, 0.0)),
        "height" => Ok(height_change_m(&cavity, 0.002, 0.0)),
        other => Err(unknown_word("what", other)),
    }
}
