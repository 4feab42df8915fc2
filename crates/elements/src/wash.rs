//! The tapered die of [`crate::die`] under a shrinkage that is any function of the depth, jumps included.
//!
//! Depth is that of the profiles: 0 on the die and 1 on the tray, along `r` beside the die and along `z` above it,
//! whichever is more. Lines of the mesh run along every jump, graded from both sides: the pressure jumps with the
//! strain, and continuous elements need a thin row of cells to follow.

use crate::ElementsError;
use crate::die::{Fineness, Means, Tapered};
use crate::measure::{Weight, mean};
use crate::mesh::{Edge, Mesh, Toward, graded, joined};
use crate::solve::{Conditions, Field, Material, Profile, solve};

/// Shrinkage as a function of the depth.
pub type ByDepth<'a> = &'a dyn Fn(f64) -> f64;

/// Solves a die held by a rigid tray (whatever its grip) for each shrinkage. `jumps` are the depths, ascending and
/// between 0 and 1, at which one of them jumps; `margin` is the width of gingival face whose mean is wanted.
///
/// # Errors
/// When a jump is out of range or order, or as [`solve`].
pub fn tapered_by_depth(
    die: &Tapered,
    shrinkage: &[ByDepth],
    jumps: &[f64],
    margin: f64,
    fineness: Fineness,
) -> Result<Vec<Means>, ElementsError> {
    let mut least = 0.0;
    for &given in jumps {
        if !(given > least && given < 1.0) {
            return Err(ElementsError::Die { field: "depth of a jump", given, least, greatest: 1.0 });
        }
        least = given;
    }
    let Tapered { radius: a, height, half_angle_rad, relief, ceiling, poisson, .. } = *die;
    let Fineness { layers, even } = fineness;
    let stops = |from: f64, thickness: f64| {
        let inner = jumps.iter().map(move |x| from + x * thickness);
        std::iter::once(from).chain(inner).chain(std::iter::once(from + thickness)).collect::<Vec<f64>>()
    };
    let (beside, above) = (stops(a, relief), stops(height, ceiling));
    let mut r = vec![graded(0.0, a, Toward::End, layers, even)];
    r.extend(beside.windows(2).map(|run| graded(run[0], run[1], Toward::Both, layers, even)));
    let mut z = vec![graded(0.0, height, Toward::Both, layers, even)];
    for (k, run) in above.windows(2).enumerate() {
        let toward = if k + 2 == above.len() { Toward::Start } else { Toward::Both };
        z.push(graded(run[0], run[1], toward, layers, even));
    }
    let (b, lid) = (a + relief, height + ceiling);
    let lean = |[r, z]: [f64; 2]| {
        let shift = half_angle_rad.tan() * (0.5 * height - z.min(height));
        [if r < a { r * (a + shift) / a } else { r + shift }, z]
    };
    let mesh = Mesh::new(&joined(&r), &joined(&z), |m| m[0] > a || m[1] > height, lean);
    let mut conditions = Conditions::default();
    let tray = mesh.edges_where(|e| e.middle[0] == b || e.middle[1] == lid);
    conditions.hold(&tray, 0);
    conditions.hold(&tray, 1);
    conditions.hold(&mesh.edges_where(|e| e.middle[0] == 0.0), 0);
    let depth = |[r, z]: [f64; 2]| ((r - a) / relief).max((z - height) / ceiling).clamp(0.0, 1.0);
    let at_place: Vec<_> = shrinkage.iter().map(|by_depth| move |x: [f64; 2]| by_depth(depth(x))).collect();
    let profiles: Vec<Profile> = at_place.iter().map(|profile| profile as Profile).collect();
    let layer = Material { shear: 1.0, poisson, mixed: true };
    let fields = solve(&mesh, |_| layer, &conditions, &profiles)?;
    Ok(fields.iter().map(|field| means(&mesh, field, die, margin)).collect())
}

fn means(mesh: &Mesh, field: &Field, die: &Tapered, margin: f64) -> Means {
    let Tapered { radius: a, height, relief, .. } = *die;
    let wall = mesh.edges_where(|e| e.upright && e.middle[0] == a && e.middle[1] < height);
    let disc = mesh.edges_where(|e| !e.upright && e.middle[1] == height && e.middle[0] < a);
    let gingival = mesh.edges_where(|e| !e.upright && e.middle[1] == 0.0);
    let edge = mesh.straight.iter().position(|&x| x == [a, 0.0]);
    let over =
        |edges: &[Edge], component, weight, from, to| mean(mesh, field, edges, component, weight, from, to);
    Means {
        wall: over(&wall, 0, Weight::Length, 0.0, height),
        lower_wall: over(&wall, 0, Weight::Length, 0.0, height / 3.0),
        top: over(&disc, 1, Weight::Area, 0.0, a),
        edge: edge.map_or(0.0, |node| field.u[node][1]),
        half: over(&gingival, 1, Weight::Length, a, a + 0.5 * relief),
        margin: over(&gingival, 1, Weight::Length, a, a + margin),
    }
}
