//! The table of `kernel::response`: polynomials through many solves of the tapered die.
//!
//! ```text
//! u / (eps L) = sum over terms  c  T_i(X1) T_j(X2) T_k(X3) T_l(X4) T_m(X5) T_n(X6),   i + j + k + 2 l + m + n <= 6
//! X1 = ln t/a,  X2 = ln c/a,  X3 = ln H/a,  X4 = tan(half angle),  X5 = s/(s + HALF_WAY), s = 1 - 2 nu
//! X6 = 1/(1 + y B),  y = shear / (t k),  B = 4 (t/a)^0.8 (c/a)^0.2 (H/a)^0.3
//! ```
//!
//! each mapped to -1 to 1, with some more terms in X1, X2, X3 and X5 ([`HELD_DEGREES`]); `T` Chebyshev's polynomials,
//! `a` mean radius, `H` height, `t` relief, `c` ceiling, `k` stiffness of the tray per area. Lengths enter as ratios
//! because the solution scales. `L` is `c` for the top and `t` for the rest; `B` and `HALF_WAY` are those that leave
//! least to the polynomials, found by trial. A loose layer has polynomials of its own, without X6, for the profiles
//! that vary; under an even strain it is a free body.
//!
//! The coefficients minimise the squared error over dies drawn from the domain by a fixed generator, in units of what
//! the table promises; a few rounds with more weight on the dies that were missed take from the greatest error
//! (Lawson 1961). Other dies of the same domain, solved on a finer mesh, measure what it keeps.

use std::fmt::Write as _;

use faer::Mat;
use faer::linalg::solvers::SolveLstsq;
use sha2::{Digest, Sha256};

use crate::ElementsError;
use crate::die::{Fineness, Means, PROFILES, Tapered, tapered};

/// Least and greatest radius, height (mm), total convergence (degrees), relief, ceiling (mm), Poisson's ratio and
/// yield of the tray (shear modulus of the layer over relief and stiffness of the tray; 0 is rigid).
pub const DOMAIN: [[f64; 2]; 7] =
    [[2.0, 6.0], [3.0, 9.0], [0.0, 30.0], [1.0, 6.0], [1.0, 6.0], [0.4, 0.5], [0.0, 0.5]];
/// Names and units of [`DOMAIN`].
pub const NAMES: [&str; 7] = [
    "mean radius, mm",
    "height, mm",
    "total convergence, degrees",
    "relief, mm",
    "ceiling, mm",
    "Poisson's ratio",
    "yield of the tray",
];
/// Greatest total degrees of the terms of the held layer: of any term, of those in X1, X2, X3 and X5 alone, and of
/// those in X1, X2 and X3 alone. The degree in X4 counts double.
pub const HELD_DEGREES: [usize; 3] = [6, 7, 8];
/// The same of the loose layer.
pub const LOOSE_DEGREES: [usize; 3] = [5, 6, 6];
/// Compressibility at which the variable of Poisson's ratio is half way.
pub const HALF_WAY: f64 = 0.05;
/// Factor of `B` and its powers of `t/a`, `c/a` and `H/a`.
pub const YIELD: [f64; 4] = [4.0, 0.8, 0.2, 0.3];
/// Share of the linear part in the mean over a part of the gingival half face next to the die, per profile.
pub const MARGIN_SHAPE: [f64; PROFILES] = [1.9, 1.95, 2.7];
/// The same of the loose layer, per profile but the even one.
pub const LOOSE_MARGIN_SHAPE: [f64; PROFILES - 1] = [2.0, 2.65];
/// Held and loose dies that the coefficients are fitted to.
pub const FITTED: [usize; 2] = [10_000, 3000];
/// Dies that the error is measured on.
pub const CHECKED: usize = 200;
/// Times that the coefficients are fitted again with more weight on the dies that were missed by most.
pub const REFITS: usize = 2;
/// Mesh of the fitted dies.
pub const FITTED_MESH: Fineness = Fineness { layers: 4, even: 1 };
/// Mesh of the checked dies.
pub const CHECKED_MESH: Fineness = Fineness { layers: 5, even: 1 };
/// Seeds of the held, the loose and the checked dies.
pub const SEEDS: [u64; 3] = [0x7261_7977_6172_6401, 0x6c61_7965_7220_6202, 0x6c6f_6f73_6520_6303];
/// Width of the gingival face that counts as the margin, mm.
pub const MARGIN_MM: f64 = 0.5;
/// What the table promises: a share of the displacement, and micrometres at [`AT_STRAIN`], whichever is larger.
pub const PROMISE: [f64; 2] = [0.02, 0.3];
/// The strain at which the promise is stated.
pub const AT_STRAIN: f64 = 0.002;
/// Columns of the held layer per profile: wall, lower wall, top, edge and half of the gingival face.
pub const HELD: usize = 5;
/// Columns of the loose layer: wall, lower wall, top and half of the gingival face from the edge, for each profile
/// but the even one.
pub const LOOSE: usize = 4 * (PROFILES - 1);

/// A die of a set, with its responses in mm per unit strain.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Solved {
    /// The die, mm.
    pub die: Tapered,
    /// Its responses.
    pub means: [Means; PROFILES],
}

/// Coefficients of the table, one row per term.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Table {
    /// Of the held layer, per profile.
    pub held: [Vec<[f64; HELD]>; PROFILES],
    /// Of the loose layer.
    pub loose: Vec<[f64; LOOSE]>,
}

/// Solves all, fits, and writes the table as Rust constants; `say` hears of the progress.
///
/// # Errors
/// As [`tapered`].
pub fn table(say: &mut dyn FnMut(&str)) -> Result<String, ElementsError> {
    say("held dies");
    let held = solved(SEEDS[0], FITTED[0], Draw::Ends, FITTED_MESH)?;
    say("loose dies");
    let loose = solved(SEEDS[1], FITTED[1], Draw::Loose, FITTED_MESH)?;
    say("coefficients");
    let table = fit(&held, &loose);
    say("dies to check");
    let checked = solved(SEEDS[2], CHECKED, Draw::Even, CHECKED_MESH)?;
    let errors = errors(&checked, &table);
    Ok(text(&table, &errors))
}

/// How a set of dies is drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Draw {
    /// Evenly over every range of the domain.
    Even,
    /// Denser towards the ends of every range, where polynomials err most.
    Ends,
    /// As `Ends`, held by nothing.
    Loose,
}

/// Solves the first `count` dies of a seed. Of the even ones every fourth has a rigid tray and every fifth is
/// incompressible, because most impressions are near both; of the others every second and every third, because the
/// polynomials err most there.
///
/// # Errors
/// As [`tapered`].
pub fn solved(seed: u64, count: usize, draw: Draw, mesh: Fineness) -> Result<Vec<Solved>, ElementsError> {
    let mut state = seed;
    (0..count)
        .map(|k| {
            let mut die = drawn(&mut state, draw);
            let [rigid, incompressible] = if draw == Draw::Even { [4, 5] } else { [2, 3] };
            if k % rigid == rigid - 1 && draw != Draw::Loose {
                die.grip = 1.0;
            }
            if k % incompressible == incompressible - 1 {
                die.poisson = 0.5;
            }
            Ok(Solved { die, means: tapered(&die, MARGIN_MM, mesh)? })
        })
        .collect()
}

fn drawn(state: &mut u64, draw: Draw) -> Tapered {
    let mut next = |k: usize| {
        // SplitMix64 (Steele, Lea & Flood 2014).
        *state = state.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut x = *state;
        x = (x ^ (x >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        x = (x ^ (x >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        x ^= x >> 31;
        let even = (x >> 11) as f64 / (1_u64 << 53) as f64;
        let place = if draw == Draw::Even { even } else { 0.5 - 0.5 * (std::f64::consts::PI * even).cos() };
        DOMAIN[k][0] + (DOMAIN[k][1] - DOMAIN[k][0]) * place
    };
    let (radius, height) = (next(0), next(1));
    let half_angle_rad = 0.5 * next(2).to_radians();
    let (relief, ceiling, poisson, tray) = (next(3), next(4), next(5), next(6));
    let grip = if draw == Draw::Loose { 0.0 } else { 1.0 / (1.0 + tray) };
    Tapered { radius, height, half_angle_rad, relief, ceiling, poisson, grip }
}

/// The variables of the polynomials, each from -1 to 1 inside the domain or little beyond.
fn variables(die: &Tapered) -> [f64; 6] {
    let Tapered { radius: a, height, half_angle_rad, relief, ceiling, poisson, grip } = *die;
    let s = 1.0 - 2.0 * poisson;
    let [x1, x2, x3] = [(relief / a).ln(), (ceiling / a).ln(), (height / a).ln()];
    let b = YIELD[0] * (YIELD[1] * x1 + YIELD[2] * x2 + YIELD[3] * x3).exp();
    // A loose layer has no sixth variable.
    let tray = if grip > 0.0 { 1.0 / (1.0 + b * (1.0 - grip) / grip) } else { 1.0 };
    let raw = [x1, x2, x3, half_angle_rad.tan(), s / (s + HALF_WAY), tray];
    let ends = variable_ends();
    std::array::from_fn(|k| (2.0 * raw[k] - ends[k][0] - ends[k][1]) / (ends[k][1] - ends[k][0]))
}

/// The values of the raw variables that -1 and 1 stand for.
fn variable_ends() -> [[f64; 2]; 6] {
    let ratio = |k: usize| [(DOMAIN[k][0] / DOMAIN[0][1]).ln(), (DOMAIN[k][1] / DOMAIN[0][0]).ln()];
    let tan = |degrees: f64| (0.5 * degrees.to_radians()).tan();
    let s = 1.0 - 2.0 * DOMAIN[5][0];
    // The softest tray at ratios of one.
    let tray = 1.0 / (1.0 + YIELD[0] * DOMAIN[6][1]);
    [ratio(3), ratio(4), ratio(1), DOMAIN[2].map(tan), [0.0, s / (s + HALF_WAY)], [tray, 1.0]]
}

/// Degrees of every term in the first `count` variables, in lexical order.
fn terms(greatest: [usize; 3], count: usize) -> Vec<[u8; 6]> {
    let allowed = |term: &[u8; 6]| {
        let kind = match (term[3] == 0 && term[5] == 0, term[4] == 0) {
            (false, _) => 0,
            (true, false) => 1,
            (true, true) => 2,
        };
        total(term) + usize::from(term[3]) <= greatest[kind]
    };
    let most = greatest[2] as u8;
    let mut terms = vec![[0_u8; 6]];
    for variable in 0..count {
        let next = |term: &[u8; 6]| {
            let term = *term;
            (0..=most).map(move |degree| {
                let mut term = term;
                term[variable] = degree;
                term
            })
        };
        terms = terms.iter().flat_map(next).filter(|term| total(term) <= usize::from(most)).collect();
    }
    terms.retain(allowed);
    terms
}

/// Sum of the degrees.
fn total(term: &[u8; 6]) -> usize {
    term.iter().map(|&t| usize::from(t)).sum()
}

fn basis(die: &Tapered, terms: &[[u8; 6]]) -> Vec<f64> {
    let chebyshev = variables(die).map(|x| {
        let mut t = [1.0; 9];
        t[1] = x;
        for n in 2..9 {
            t[n] = 2.0 * x * t[n - 1] - t[n - 2];
        }
        t
    });
    terms.iter().map(|term| (0..6).map(|k| chebyshev[k][usize::from(term[k])]).product()).collect()
}

/// Values of the columns of one profile, and the length each is divided by.
fn held_columns(s: &Solved, profile: usize) -> [[f64; 2]; HELD] {
    let (m, t, c) = (&s.means[profile], s.die.relief, s.die.ceiling);
    [[m.wall, t], [m.lower_wall, t], [m.top, c], [m.edge, t], [m.half, t]]
}

fn loose_columns(s: &Solved) -> [[f64; 2]; LOOSE] {
    std::array::from_fn(|k| {
        let m = &s.means[1 + k / 4];
        let (a, h) = (s.die.radius, s.die.height);
        [[m.wall, a], [m.lower_wall, a], [m.top - m.edge, h], [m.half - m.edge, h]][k % 4]
    })
}

/// Error that the promise allows for a response of `mm` per unit strain.
pub fn allowed(mm: f64) -> f64 {
    (PROMISE[0] * mm.abs()).max(PROMISE[1] * 1e-3 / AT_STRAIN)
}

fn fit(held: &[Solved], loose: &[Solved]) -> Table {
    let (held_terms, loose_terms) = (terms(HELD_DEGREES, 6), terms(LOOSE_DEGREES, 5));
    Table {
        held: std::array::from_fn(|k| least_squares(held, &held_terms, |s| held_columns(s, k))),
        loose: least_squares(loose, &loose_terms, loose_columns),
    }
}

fn least_squares<const N: usize>(
    set: &[Solved],
    terms: &[[u8; 6]],
    columns: impl Fn(&Solved) -> [[f64; 2]; N],
) -> Vec<[f64; N]> {
    let rows: Vec<Vec<f64>> = set.iter().map(|s| basis(&s.die, terms)).collect();
    let targets: Vec<[[f64; 2]; N]> = set.iter().map(columns).collect();
    let mut coefficients = vec![[0.0; N]; terms.len()];
    for column in 0..N {
        let mut stress = vec![1.0_f64; set.len()];
        for _ in 0..=REFITS {
            let weight = |i: usize| stress[i] / allowed(targets[i][column][0]);
            let matrix =
                Mat::from_fn(set.len(), terms.len(), |i, j| weight(i) * targets[i][column][1] * rows[i][j]);
            let right = Mat::from_fn(set.len(), 1, |i, _| weight(i) * targets[i][column][0]);
            let x = matrix.qr().solve_lstsq(&right);
            let missed = &matrix * &x - &right;
            for (i, stress) in stress.iter_mut().enumerate() {
                let error = missed[(i, 0)] / *stress;
                *stress *= (1.0 + error * error).sqrt();
            }
            for (j, row) in coefficients.iter_mut().enumerate() {
                row[column] = x[(j, 0)];
            }
        }
    }
    coefficients
}

/// Error of the held responses of the table, in units of what it allows: root mean square and greatest, for the wall,
/// the lower wall, the top and the margin, per profile.
fn errors(set: &[Solved], table: &Table) -> [[[f64; 2]; 4]; PROFILES] {
    let terms = terms(HELD_DEGREES, 6);
    let mut errors = [[[0.0_f64; 2]; 4]; PROFILES];
    for s in set {
        let basis = basis(&s.die, &terms);
        let t = s.die.relief;
        for (k, m) in s.means.iter().enumerate() {
            let sum = |c: usize| -> f64 { basis.iter().zip(&table.held[k]).map(|(b, row)| b * row[c]).sum() };
            let x = (MARGIN_MM / t).min(0.5);
            let part = MARGIN_SHAPE[k] * x + (4.0 - 2.0 * MARGIN_SHAPE[k]) * x * x;
            let (edge, half) = (t * sum(3), t * sum(4));
            let pairs = [
                (t * sum(0), m.wall),
                (t * sum(1), m.lower_wall),
                (s.die.ceiling * sum(2), m.top),
                (edge + part * (half - edge), m.margin),
            ];
            for (error, (got, want)) in errors[k].iter_mut().zip(pairs) {
                let e = (got - want).abs() / allowed(want);
                error[0] += e * e / set.len() as f64;
                error[1] = error[1].max(e);
            }
        }
    }
    errors.map(|profile| profile.map(|[square, worst]| [square.sqrt(), worst]))
}

/// SHA-256 of the sources that decide the table, without their tests, comments and spaces.
pub fn generator_hash() -> String {
    let sources = [
        include_str!("condense.rs"),
        include_str!("die.rs"),
        include_str!("measure.rs"),
        include_str!("mesh.rs"),
        include_str!("shape.rs"),
        include_str!("solve.rs"),
    ];
    let mut hash = Sha256::new();
    for source in sources {
        let code = source.split("#[cfg(test)]").next().unwrap_or(source);
        for line in code.lines().map(str::trim).filter(|line| !line.starts_with("//")) {
            hash.update(line.replace(' ', "").as_bytes());
        }
    }
    hash.finalize().iter().fold(String::new(), |mut text, byte| {
        let _ = write!(text, "{byte:02x}");
        text
    })
}

fn text(table: &Table, errors: &[[[f64; 2]; 4]; PROFILES]) -> String {
    let mut out = String::from("// Made by `cargo xtask condense`; not to be edited.\n//\n// Domain:\n");
    for (name, [least, greatest]) in NAMES.iter().zip(DOMAIN) {
        let _ = writeln!(out, "//   {name}: {least} to {greatest}");
    }
    let _ = writeln!(
        out,
        "// Promise: {} % or {} um at {} % strain, whichever is larger. Errors in units of it over {CHECKED} other dies solved in \
         full,\n// root mean square and greatest:",
        PROMISE[0] * 100.0,
        PROMISE[1],
        AT_STRAIN * 100.0
    );
    for (profile, errors) in ["1", "x", "exp(-6 x)"].iter().zip(errors) {
        for (measure, [rms, worst]) in ["wall", "lower wall", "top", "margin"].iter().zip(errors) {
            let _ = writeln!(out, "//   strain {profile}, {measure}: {rms:.2}, {worst:.2}");
        }
    }
    let worst = errors.iter().flatten().fold(0.0_f64, |w, e| w.max(e[1]));
    let mut constant = |doc: &str, name: &str, kind: &str, value: &str| {
        // A long array has one place in the program and is not copied to where it is used.
        let word = if value.len() > 20_000 { "static" } else { "const" };
        let _ = writeln!(out, "\n/// {doc}\npub {word} {name}: {kind} = {value};");
    };
    constant("SHA-256 of the generator.", "GENERATOR", "&str", &format!("\"{}\"", generator_hash()));
    constant("Greatest error met, in units of the promise.", "WORST", "f64", &format!("{worst:.3}"));
    constant(
        "Radius and height (mm), convergence (degrees), relief, ceiling (mm), Poisson's ratio, yield of the tray.",
        "DOMAIN",
        "[[f64; 2]; 7]",
        &format!("{DOMAIN:?}"),
    );
    constant("Compressibility half way along its variable.", "HALF_WAY", "f64", &format!("{HALF_WAY:?}"));
    constant("Factor and powers of the yield of the tray.", "YIELD", "[f64; 4]", &format!("{YIELD:?}"));
    let ends = format!("{:?}", variable_ends());
    constant("Raw variables that -1 and 1 stand for.", "ENDS", "[[f64; 2]; 6]", &ends);
    let shape = format!("{MARGIN_SHAPE:?}");
    constant("Linear part of the margin, per profile.", "MARGIN_SHAPE", "[f64; 3]", &shape);
    let shape = format!("{LOOSE_MARGIN_SHAPE:?}");
    constant(
        "The same of the loose layer, after the first profile.",
        "LOOSE_MARGIN_SHAPE",
        "[f64; 2]",
        &shape,
    );
    constant("Width of the margin, mm.", "MARGIN_MM", "f64", &format!("{MARGIN_MM:?}"));
    for (doc, name, terms) in [
        ("Degrees of the terms of the held layer.", "HELD_TERMS", terms(HELD_DEGREES, 6)),
        ("Degrees of the terms of the loose layer.", "LOOSE_TERMS", terms(LOOSE_DEGREES, 5)),
    ] {
        let rows: String = terms.iter().map(|t| format!("    {t:?},\n")).collect();
        constant(doc, name, &format!("[[u8; 6]; {}]", terms.len()), &format!("[\n{rows}]"));
    }
    for (name, held) in ["EVEN", "LINEAR", "FRONT"].iter().zip(&table.held) {
        constant(
            "Wall, lower wall, top, edge and half of the gingival face of the held layer.",
            name,
            &format!("[[f64; {HELD}]; {}]", held.len()),
            &rows(held),
        );
    }
    constant(
        "Wall, lower wall, top and half of the gingival face from the edge of the loose layer, per profile after the first.",
        "LOOSE",
        &format!("[[f64; {LOOSE}]; {}]", table.loose.len()),
        &rows(&table.loose),
    );
    out
}

fn rows<const N: usize>(table: &[[f64; N]]) -> String {
    let mut text = String::from("[\n");
    for row in table {
        let _ = writeln!(text, "    {:.6?},", row);
    }
    text.push(']');
    text
}
