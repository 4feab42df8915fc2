//! The layer between die and tray: the elements, and the table of their solutions that the forecast reads.

use elements::die::{Fineness, stepped};
use elements::mesh::{Mesh, Toward, graded};
use elements::solve::{Conditions, Material, solve};
use kernel::response::{Die, gains};

use crate::{CheckError, Input, unknown_word};

const STRAIN: f64 = 0.002;

pub(crate) fn compute(id: &str, input: &Input) -> Result<f64, CheckError> {
    match id {
        "annulus" => annulus_um(input.number("poisson")?, 7.0),
        "sphere" => sphere_um(input.number("poisson")?),
        "relief-sweep" => annulus_um(0.5, 4.0 + input.number("relief_mm")?),
        "stepped-die" => stepped_die(input),
        "swept-volume" => {
            let fineness = Fineness { layers: 2, even: 1 };
            let (relief, ceiling) = (input.number("relief_mm")?, input.number("ceiling_mm")?);
            stepped(relief, ceiling, 0.5, STRAIN, fineness).map(|s| s.swept).map_err(refused)
        }
        "cooling-with-the-tray" => {
            let layer = 1e-6 * input.number("layer_ppm_k")?;
            displaced(&die(input, 1.0)?, 12.0 * layer, 12.0 * -80e-6, input)
        }
        "loose" => {
            displaced(&Die { half_angle_rad: 0.1, ..die(input, 0.0)? }, STRAIN, input.number("tray")?, input)
        }
        "open-die" => displaced(&die(input, 1.0)?, STRAIN, 0.0, input),
        _ => Err(CheckError::Unknown(id.to_owned())),
    }
}

fn refused(error: impl std::fmt::Display) -> CheckError {
    CheckError::Model(error.to_string())
}

/// A straight die under a layer of even thickness.
fn die(input: &Input, hold: f64) -> Result<Die, CheckError> {
    let mm = |name: &str| input.number(name).map(|mm| 1e-3 * mm);
    Ok(Die {
        radius_m: mm("radius_mm")?,
        height_m: mm("height_mm")?,
        half_angle_rad: 0.0,
        relief_m: mm("layer_mm")?,
        ceiling_m: mm("layer_mm")?,
        poisson: 0.4999,
        hold,
        tray_yield: 0.0,
    })
}

/// A measure of the die, um, by the table.
fn displaced(die: &Die, strain: f64, tray: f64, input: &Input) -> Result<f64, CheckError> {
    let u = gains(die, 1.0).displacement(&[strain, 0.0, 0.0], tray);
    let metres = match input.word("what")? {
        "wall" => u.wall_m,
        "top" => u.top_m,
        "margin" => u.margin_m,
        "height" => u.top_m - u.margin_m,
        other => return Err(unknown_word("what", other)),
    };
    Ok(1e6 * metres)
}

fn stepped_die(input: &Input) -> Result<f64, CheckError> {
    let mm = |name: &str| input.number(name);
    let fineness = Fineness { layers: 5, even: 1 };
    let s =
        stepped(mm("relief_mm")?, mm("ceiling_mm")?, mm("poisson")?, STRAIN, fineness).map_err(refused)?;
    let mm = match input.word("what")? {
        "lower" => s.lower,
        "upper" => s.upper,
        "top" => s.disc,
        other => return Err(unknown_word("what", other)),
    };
    Ok(1e3 * mm)
}

/// Wall of an annulus of 4 mm held at the radius `b`, um; nothing moves along its axis.
pub(crate) fn annulus_um(poisson: f64, b: f64) -> Result<f64, CheckError> {
    let mesh = Mesh::new(&graded(4.0, b, Toward::Neither, 1, 64), &[0.0, 0.5], |_| true, |x| x);
    let mut conditions = Conditions::default();
    conditions.hold(&mesh.edges_where(|e| !e.upright), 1);
    conditions.hold(&mesh.edges_where(|e| e.middle[0] == b), 0);
    wall_um(&mesh, &conditions, poisson)
}

/// Wall of a spherical shell of 4 mm held at 7 mm, um, on a grid bent to polar coordinates.
fn sphere_um(poisson: f64) -> Result<f64, CheckError> {
    let quarter = std::f64::consts::FRAC_PI_2;
    // The axis is where the cosine is zero, and no rounding may put a node beyond it.
    let bend = |[radius, angle]: [f64; 2]| {
        [radius * angle.cos() * f64::from(u8::from(angle < quarter)), radius * angle.sin()]
    };
    let [radii, angles] =
        [(4.0, 7.0), (0.0, quarter)].map(|(from, to)| graded(from, to, Toward::Neither, 1, 20));
    let mesh = Mesh::new(&radii, &angles, |_| true, bend);
    let mut conditions = Conditions::default();
    let tray = mesh.edges_where(|e| e.middle[0] == 7.0);
    conditions.hold(&tray, 0);
    conditions.hold(&tray, 1);
    conditions.hold(&mesh.edges_where(|e| e.middle[1] == 0.0), 1);
    conditions.hold(&mesh.edges_where(|e| e.middle[1] == quarter), 0);
    wall_um(&mesh, &conditions, poisson)
}

/// Radial displacement at the radius of 4 mm on the plane of the opening, um.
fn wall_um(mesh: &Mesh, conditions: &Conditions, poisson: f64) -> Result<f64, CheckError> {
    let layer = Material { shear: 1.0, poisson, mixed: true };
    let fields = solve(mesh, |_| layer, conditions, &[&|_| STRAIN]).map_err(refused)?;
    let node = mesh.straight.iter().position(|&x| x == [4.0, 0.0]);
    node.and_then(|node| fields.first()?.u.get(node))
        .map(|u| 1e3 * u[0])
        .ok_or_else(|| CheckError::Model("no node on the wall".to_owned()))
}
