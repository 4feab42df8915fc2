//! Means of a displacement along a boundary, and the volume that the boundary sweeps.

use std::f64::consts::TAU;

use crate::mesh::{Edge, Mesh};
use crate::shape::{GAUSS_POINTS, GAUSS_WEIGHTS, line};
use crate::solve::Field;

/// What a mean is weighted with.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Weight {
    /// The length of the line.
    Length,
    /// The area of the surface it turns out.
    Area,
}

/// Mean of one component over the sides, or over the part of them that lies between `from` and `to` of the straight
/// grid, in `z` for upright sides and in `r` for level ones.
pub fn mean(
    mesh: &Mesh,
    field: &Field,
    edges: &[Edge],
    component: usize,
    weight: Weight,
    from: f64,
    to: f64,
) -> f64 {
    let (mut sum, mut whole) = (0.0, 0.0);
    for edge in edges {
        let axis = usize::from(edge.upright);
        let (a, b) = (mesh.straight[edge.nodes[0]][axis], mesh.straight[edge.nodes[2]][axis]);
        let parameter = |x: f64| ((2.0 * x - a - b) / (b - a)).clamp(-1.0, 1.0);
        let (first, last) = (parameter(from), parameter(to));
        let (middle, half) = (0.5 * (first + last), 0.5 * (last - first).abs());
        for (x, w) in GAUSS_POINTS.iter().zip(GAUSS_WEIGHTS) {
            let (n, slope) = line(middle + half * x);
            let at = |c: usize, f: &[f64; 3]| -> f64 {
                f.iter().zip(edge.nodes).map(|(f, node)| f * mesh.nodes[node][c]).sum()
            };
            let (tr, tz) = (at(0, &slope), at(1, &slope));
            let r = if weight == Weight::Area { at(0, &n) } else { 1.0 };
            let w = half * w * (tr * tr + tz * tz).sqrt() * r;
            let u: f64 = n.iter().zip(edge.nodes).map(|(n, node)| n * field.u[node][component]).sum();
            sum += w * u;
            whole += w;
        }
    }
    sum / whole
}

/// Volume by which the body recedes from these sides: what the space beside them gains.
pub fn swept_volume(mesh: &Mesh, field: &Field, edges: &[Edge]) -> f64 {
    let mut sum = 0.0;
    for edge in edges {
        for (x, w) in GAUSS_POINTS.iter().zip(GAUSS_WEIGHTS) {
            let (n, slope) = line(*x);
            let (mut r, mut tangent, mut u) = (0.0, [0.0; 2], [0.0; 2]);
            for (k, &node) in edge.nodes.iter().enumerate() {
                r += n[k] * mesh.nodes[node][0];
                for c in 0..2 {
                    tangent[c] += slope[k] * mesh.nodes[node][c];
                    u[c] += n[k] * field.u[node][c];
                }
            }
            // With the material on the left the normal out of it is (dz, -dr).
            sum -= w * TAU * r * (u[0] * tangent[1] - u[1] * tangent[0]);
        }
    }
    sum
}

/// Volume of the body, from its boundary.
pub fn volume(mesh: &Mesh) -> f64 {
    let mut sum = 0.0;
    for edge in &mesh.edges {
        for (x, w) in GAUSS_POINTS.iter().zip(GAUSS_WEIGHTS) {
            let (n, slope) = line(*x);
            let (mut r, mut dz) = (0.0, 0.0);
            for (k, &node) in edge.nodes.iter().enumerate() {
                r += n[k] * mesh.nodes[node][0];
                dz += slope[k] * mesh.nodes[node][1];
            }
            sum += w * 0.5 * TAU * r * r * dz;
        }
    }
    sum
}
