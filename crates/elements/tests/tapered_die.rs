//! The tapered die: another program's straight dies, free bodies, volume, and the fineness of the meshes of the
//! table.

use elements::condense::{CHECKED_MESH, FITTED_MESH, MARGIN_MM, allowed};
use elements::die::{Fineness, Tapered, tapered, tapered_field};
use elements::measure::{swept_volume, volume};

const DIE: Tapered = Tapered {
    radius: 4.0,
    height: 6.0,
    half_angle_rad: 0.0,
    relief: 3.0,
    ceiling: 3.0,
    poisson: 0.4999,
    grip: 1.0,
};

/// Straight open dies (radius, height, thickness in mm; mean wall, mean top, margin in um at 0.2 %) from scikit-fem
/// 12, Taylor-Hood, nu 0.4999, converged to 0.001 um. Three parts in a thousand is what the mesh of the fitted dies
/// is asked for.
#[test]
fn val_straight_dies() {
    let rows = [
        (2.5, 4.0, 1.0, 6.612, 8.703, 7.052),
        (2.5, 8.0, 6.0, 28.213, 78.882, 111.012),
        (4.0, 6.0, 3.0, 18.013, 30.942, 34.916),
        (5.0, 4.0, 6.0, 16.97, 59.259, 74.518),
        (5.0, 8.0, 1.0, 6.422, 7.323, 5.71),
    ];
    for (a, h, t, wall, top, margin) in rows {
        let die = Tapered { radius: a, height: h, relief: t, ceiling: t, ..DIE };
        let means = tapered(&die, MARGIN_MM, FITTED_MESH).unwrap()[0];
        for (name, got, want) in
            [("wall", means.wall, wall), ("top", means.top, top), ("margin", means.margin, margin)]
        {
            let share = 2.0 * got / want - 1.0;
            assert!(share.abs() < 3e-3, "{name}, a {a} H {h} t {t}: {} um for {want}", 2.0 * got);
        }
    }
}

/// Held by nothing, even shrinkage is `-eps x` whatever the taper: -a, -(a + H/3 tan) and -H per unit strain.
#[test]
fn val_loose_is_a_free_body() {
    let die = Tapered { half_angle_rad: 0.15, grip: 0.0, ceiling: 1.5, ..DIE };
    for poisson in [0.4, 0.5] {
        let means = tapered(&Tapered { poisson, ..die }, MARGIN_MM, FITTED_MESH).unwrap()[0];
        let low = -(4.0 + 2.0 * 0.15_f64.tan());
        for (got, want) in [(means.wall, -4.0), (means.lower_wall, low), (means.top - means.edge, -6.0)] {
            assert!((got / want - 1.0).abs() < 1e-4, "{got} for {want}");
        }
    }
}

/// At nu = 1/2 a tapered die in a rigid tray sweeps `3 eps V`.
#[test]
fn val_swept_volume_is_the_volume_lost() {
    for half_angle_rad in [0.0, 0.1, 0.26] {
        let die = Tapered { half_angle_rad, poisson: 0.5, relief: 2.0, ..DIE };
        let (mesh, fields) = tapered_field(&die, Fineness { layers: 2, even: 1 }).unwrap();
        let share = swept_volume(&mesh, &fields[0], &mesh.edges) / (3.0 * volume(&mesh));
        assert!((share - 1.0).abs() < 1e-10, "{half_angle_rad}: {share}");
    }
}

/// The mesh of the fitted dies is within a fifth of the promise of the table from a far finer one, that of the
/// checked dies within a tenth.
#[test]
fn conv_meshes_of_the_table() {
    let rows =
        [(2.2, 8.0, 0.19, 4.8, 5.3, 0.5), (5.5, 3.5, 0.05, 1.2, 1.0, 0.49), (3.0, 5.0, 0.1, 5.9, 1.6, 0.4)];
    for (radius, height, half_angle_rad, relief, ceiling, poisson) in rows {
        let die = Tapered { radius, height, half_angle_rad, relief, ceiling, poisson, grip: 0.8 };
        let fine = tapered(&die, MARGIN_MM, Fineness { layers: 6, even: 2 }).unwrap();
        for (mesh, share) in [(FITTED_MESH, 0.2), (CHECKED_MESH, 0.1)] {
            let means = tapered(&die, MARGIN_MM, mesh).unwrap();
            for (got, want) in means.iter().zip(&fine) {
                for (g, w) in [(got.wall, want.wall), (got.top, want.top), (got.margin, want.margin)] {
                    assert!((g - w).abs() < share * allowed(w), "{mesh:?}: {g} for {w}");
                }
            }
        }
    }
}
