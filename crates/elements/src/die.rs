//! The two dies: the stepped one of the benchmark, and the tapered one that the table is made of.
//!
//! Both stand on `z` = 0, the gingival opening, which is free like the wall, the step and the occlusal face. The
//! layer is held at the tray: the outermost wall and the ceiling. On the axis the radial displacement is zero.

use crate::ElementsError;
use crate::measure::{Weight, mean, swept_volume, volume};
use crate::mesh::{Edge, Mesh, Toward, graded, joined};
use crate::solve::{Conditions, Field, Material, Profile, solve};

/// How finely a die is meshed: graded cells towards each corner, and the parts each is cut into.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Fineness {
    /// Graded cells towards a corner; the last is 0.35 to the power `layers - 1` of the block, or of half of it.
    pub layers: usize,
    /// Parts of each graded cell.
    pub even: usize,
}

/// Mean displacements of the stepped die, in the unit of its lengths; positive means a larger or deeper cavity.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stepped {
    /// Radial, lower wall.
    pub lower: f64,
    /// Radial, upper wall.
    pub upper: f64,
    /// Axial, occlusal face, over its area.
    pub disc: f64,
    /// Volume swept by the free faces over `3 eps V`; one at nu = 1/2.
    pub swept: f64,
    /// Unknowns.
    pub unknowns: usize,
}

/// The stepped die of the benchmark with a relief `t_mm` beside its lower wall (radius 5 up to `z` = 4 mm) and above
/// its occlusal face (radius 3.5, `z` = 8 mm), held in a rigid tray. The benchmark itself has 4 mm beside and 2 mm
/// above.
///
/// # Errors
/// As [`solve`].
pub fn stepped(
    relief_mm: f64,
    ceiling_mm: f64,
    poisson: f64,
    strain: f64,
    fineness: Fineness,
) -> Result<Stepped, ElementsError> {
    let Fineness { layers, even } = fineness;
    let (b, top) = (5.0 + relief_mm, 8.0 + ceiling_mm);
    let r = joined(&[
        graded(0.0, 3.5, Toward::End, layers, even),
        graded(3.5, 5.0, Toward::Both, layers, even),
        graded(5.0, b, Toward::Both, layers, even),
    ]);
    let z = joined(&[
        graded(0.0, 4.0, Toward::Both, layers, even),
        graded(4.0, 8.0, Toward::Both, layers, even),
        graded(8.0, top, Toward::Start, layers, even),
    ]);
    let material_at = |m: [f64; 2]| m[0] > 5.0 || m[1] > 8.0 || (m[0] > 3.5 && m[1] > 4.0);
    let mesh = Mesh::new(&r, &z, material_at, |x| x);
    let mut conditions = Conditions::default();
    let tray = mesh.edges_where(|e| e.middle[0] == b || e.middle[1] == top);
    conditions.hold(&tray, 0);
    conditions.hold(&tray, 1);
    conditions.hold(&mesh.edges_where(|e| e.middle[0] == 0.0), 0);
    let layer = Material { shear: 1.0, poisson, mixed: true };
    let fields = solve(&mesh, |_| layer, &conditions, &[&|_| strain])?;
    let field = &fields[0];
    let over =
        |edges: &[Edge], component, weight| mean(&mesh, field, edges, component, weight, f64::MIN, f64::MAX);
    let free = mesh.edges_where(|e| e.middle[0] != b && e.middle[1] != top && e.middle[0] != 0.0);
    Ok(Stepped {
        lower: over(&mesh.edges_where(|e| e.upright && e.middle[0] == 5.0), 0, Weight::Length),
        upper: over(&mesh.edges_where(|e| e.upright && e.middle[0] == 3.5), 0, Weight::Length),
        disc: over(&mesh.edges_where(|e| !e.upright && e.middle[1] == 8.0), 1, Weight::Area),
        swept: swept_volume(&mesh, field, &free) / (3.0 * strain * volume(&mesh)),
        unknowns: field.unknowns,
    })
}

/// Profiles of shrinkage through the thickness that the table knows: `1`, `x` and `exp(-6 x)`, with `x` = 0 on the
/// die and 1 on the tray.
pub const PROFILES: usize = 3;

/// Value of each profile at the relative depth `x`.
pub fn profiles(x: f64) -> [f64; PROFILES] {
    [1.0, x, (-6.0 * x).exp()]
}

/// A tapered die in its tray; lengths in any one unit.
///
/// The tray stands at an even horizontal distance from the tapered wall, as over a spacer of even thickness, and
/// rises straight from the level of the occlusal face to the ceiling. A straight die has its tray at `radius +
/// relief`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tapered {
    /// Radius of the die at half its height.
    pub radius: f64,
    /// Height from the gingival opening to the occlusal face.
    pub height: f64,
    /// Half of the total convergence, rad.
    pub half_angle_rad: f64,
    /// Horizontal thickness of the layer beside the die.
    pub relief: f64,
    /// Thickness of the layer above the die.
    pub ceiling: f64,
    /// Poisson's ratio of the layer.
    pub poisson: f64,
    /// Grip of the tray, 0 (loose) to 1 (bonded to a rigid tray). The layer sits on springs of stiffness
    /// `shear / relief * grip / (1 - grip)` in every direction.
    pub grip: f64,
}

/// Displacements per unit of the profile's coefficient, in the unit of the die's lengths; positive means a larger or
/// deeper cavity. Axial ones are relative to the tray.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Means {
    /// Radial, mean over the height of the wall.
    pub wall: f64,
    /// Radial, mean over the lower third of the wall.
    pub lower_wall: f64,
    /// Axial, occlusal face, mean over its area.
    pub top: f64,
    /// Axial, the gingival face at the edge of the die.
    pub edge: f64,
    /// Axial, mean over the half of the gingival face next to the die.
    pub half: f64,
    /// Axial, mean over the part of the gingival face within the `margin` asked for.
    pub margin: f64,
}

/// Solves a tapered die for every profile; `margin` is the width of gingival face whose mean is wanted.
///
/// # Errors
/// When a measure of the die is out of range, or as [`solve`].
pub fn tapered(die: &Tapered, margin: f64, fineness: Fineness) -> Result<[Means; PROFILES], ElementsError> {
    let (mesh, fields) = tapered_field(die, fineness)?;
    let Tapered { radius: a, height, relief, .. } = *die;
    let wall = mesh.edges_where(|e| e.upright && e.middle[0] == a && e.middle[1] < height);
    let disc = mesh.edges_where(|e| !e.upright && e.middle[1] == height && e.middle[0] < a);
    let gingival = mesh.edges_where(|e| !e.upright && e.middle[1] == 0.0);
    let edge = mesh.straight.iter().position(|&x| x == [a, 0.0]);
    let mut means = [Means::default(); PROFILES];
    for (means, field) in means.iter_mut().zip(&fields) {
        let over = |edges: &[Edge], component, weight, from, to| {
            mean(&mesh, field, edges, component, weight, from, to)
        };
        *means = Means {
            wall: over(&wall, 0, Weight::Length, 0.0, height),
            lower_wall: over(&wall, 0, Weight::Length, 0.0, height / 3.0),
            top: over(&disc, 1, Weight::Area, 0.0, a),
            edge: edge.map_or(0.0, |node| field.u[node][1]),
            half: over(&gingival, 1, Weight::Length, a, a + 0.5 * relief),
            margin: over(&gingival, 1, Weight::Length, a, a + margin),
        };
    }
    Ok(means)
}

/// The mesh of a tapered die and its field under every profile.
///
/// # Errors
/// As [`tapered`].
pub fn tapered_field(die: &Tapered, fineness: Fineness) -> Result<(Mesh, Vec<Field>), ElementsError> {
    let Tapered { radius: a, height, half_angle_rad, relief, ceiling, poisson, grip } = *die;
    let tan = half_angle_rad.tan();
    let rows = [
        ("radius", a, f64::MIN_POSITIVE, f64::MAX),
        ("height", height, f64::MIN_POSITIVE, f64::MAX),
        ("tangent of the half angle", tan, 0.0, 1.9 * a / height),
        ("relief", relief, f64::MIN_POSITIVE, f64::MAX),
        ("ceiling", ceiling, f64::MIN_POSITIVE, f64::MAX),
        ("grip", grip, 0.0, 1.0),
    ];
    for (field, given, least, greatest) in rows {
        if !(given >= least && given <= greatest) {
            return Err(ElementsError::Die { field, given, least, greatest });
        }
    }
    let Fineness { layers, even } = fineness;
    let (b, lid) = (a + relief, height + ceiling);
    let r = joined(&[graded(0.0, a, Toward::End, layers, even), graded(a, b, Toward::Both, layers, even)]);
    let z = joined(&[
        graded(0.0, height, Toward::Both, layers, even),
        graded(height, lid, Toward::Start, layers, even),
    ]);
    let lean = |[r, z]: [f64; 2]| {
        let shift = tan * (0.5 * height - z.min(height));
        [if r < a { r * (a + shift) / a } else { r + shift }, z]
    };
    let mesh = Mesh::new(&r, &z, |m| m[0] > a || m[1] > height, lean);
    let mut conditions = Conditions::default();
    let tray = mesh.edges_where(|e| e.middle[0] == b || e.middle[1] == lid);
    if grip < 1.0 {
        // A layer that nothing touches has no place along the axis; a millionth of grip leaves its shape alone.
        let grip = grip.max(1e-6);
        conditions.springs = tray.iter().map(|edge| (*edge, grip / ((1.0 - grip) * relief))).collect();
    } else {
        conditions.hold(&tray, 0);
        conditions.hold(&tray, 1);
    }
    conditions.hold(&mesh.edges_where(|e| e.middle[0] == 0.0), 0);
    let depth = |[r, z]: [f64; 2]| ((r - a) / relief).max((z - height) / ceiling).clamp(0.0, 1.0);
    let each: Vec<Box<dyn Fn([f64; 2]) -> f64>> = (0..PROFILES)
        .map(|k| -> Box<dyn Fn([f64; 2]) -> f64> { Box::new(move |x| profiles(depth(x))[k]) })
        .collect();
    let borrowed: Vec<Profile> = each.iter().map(|profile| profile.as_ref()).collect();
    let layer = Material { shear: 1.0, poisson, mixed: true };
    let fields = solve(&mesh, |_| layer, &conditions, &borrowed)?;
    Ok((mesh, fields))
}
