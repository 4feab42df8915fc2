//! A section through the die in its tray: the tooth as it is, and the stone that comes out, its differences enlarged by a stated factor.

use chain::Forecast;
use chain::statistics::Interval;
use maud::{Markup, html};
use terms::{Fact, Route, Situation};

use super::axis::{band, line};
use super::{Figure, at};
use crate::digits::interval;

const MIDDLE: f64 = 260.0;
const BASE: f64 = 286.0;
/// What is drawn where the case does not say, m; the figure says so.
const USUAL: [f64; 3] = [8e-3, 5e-3, 3e-3];

/// The picture; none without a die, or where its size lies beyond what was checked.
pub fn section(situation: &Situation, route: &Route, forecast: &Forecast) -> Option<Markup> {
    section_as("section", "", situation, route, forecast)
}

/// The same under an identifier of its own, its title begun with `whose`, where a page shows two.
pub fn section_as(
    id: &str,
    whose: &str,
    situation: &Situation,
    route: &Route,
    forecast: &Forecast,
) -> Option<Markup> {
    let of = |id: &str| {
        forecast.quantity(id).filter(|quantity| !quantity.beyond_checked).map(|quantity| quantity.interval)
    };
    let (width, height) = (of("die.diameter")?, of("die.height")?);
    let or = |fact: Fact<f64>, usual: f64| fact.known().unwrap_or(usual);
    let diameter_m = or(situation.die_diameter_m, USUAL[0]);
    let height_m = or(situation.die_height_m, USUAL[1]);
    let relief_m = or(route.tray.relief_m, USUAL[2]).min(8e-3);
    let ceiling_m = or(route.tray.ceiling_m, USUAL[2]).min(8e-3);
    let half_angle = 0.5 * or(situation.convergence_rad, 0.2);
    let drawn_as_usual = [situation.die_diameter_m, situation.die_height_m, route.tray.relief_m]
        .iter()
        .any(|fact| fact.known().is_none());
    // One scale for both ways.
    let scale = (220.0 / (height_m + ceiling_m)).min(420.0 / (diameter_m + 2.0 * relief_m + 4e-3));
    let largest = [width, height].iter().flat_map(|i| [i.low.abs(), i.high.abs()]).fold(1e-9, f64::max);
    let enlarged = [500.0, 200.0, 100.0, 50.0, 20.0, 10.0, 5.0, 2.0, 1.0]
        .into_iter()
        .find(|by| by * largest <= 0.35 * relief_m)
        .unwrap_or(1.0);
    let outline = |wider_m: f64, taller_m: f64| -> Vec<(f64, f64)> {
        let spread = half_angle.tan() * 0.5 * height_m;
        let half = 0.5 * (diameter_m + enlarged * wider_m);
        let (foot, head) = ((half + spread) * scale, (half - spread) * scale);
        let top = BASE - (height_m + enlarged * taller_m) * scale;
        vec![(MIDDLE - foot, BASE), (MIDDLE - head, top), (MIDDLE + head, top), (MIDDLE + foot, BASE)]
    };
    let tooth = outline(0.0, 0.0);
    let tray_half = (0.5 * diameter_m + half_angle.tan() * 0.5 * height_m + relief_m) * scale;
    let tray_top = BASE - (height_m + ceiling_m) * scale;
    let tray = [
        (MIDDLE - tray_half, BASE),
        (MIDDLE - tray_half, tray_top),
        (MIDDLE + tray_half, tray_top),
        (MIDDLE + tray_half, BASE),
    ];
    let words = |name: &str, interval_m: Interval| format!("{name} {}", interval(interval_m, 1e6, "µm"));
    let held = match route.tray.adhesive {
        Fact::Known(true) => "held by adhesive",
        Fact::Known(false) => "no adhesive",
        _ => "adhesive not known",
    };
    Some(
        Figure {
            id,
            title: format!("{whose}Tooth and stone in section; differences drawn {enlarged:.0} times as large as they are"),
            says: format!("Section: {}, {}.", words("width of the stone against the tooth", width), words("its height", height)),
            size: [712.0, 320.0],
            drawing: html! {
                path.layer.material d=(format!("{}Z", line(&tray))) {}
                path.tray d=(line(&tray)) {}
                path.area.strong d=(band(&outline(width.high, height.high), &outline(width.low, height.low))) {}
                path.tooth d=(line(&tooth)) {}
                path.curve d=(line(&outline(width.mid, height.mid))) {}
                line.rule x1="20" x2="500" y1=(at(BASE)) y2=(at(BASE)) {}
                text.m x="20" y=(at(BASE + 18.0)) { "margin" }
                text.lab x="520" y="52" { "tray, " (held) }
                text.lab x="520" y="82" { "stone against tooth" }
                text.m x="520" y="102" { "width " (interval(width, 1e6, "µm").split(", middle").next().unwrap_or("").to_owned()) }
                text.m x="520" y="122" { "height " (interval(height, 1e6, "µm").split(", middle").next().unwrap_or("").to_owned()) }
                line.rule x1="520" x2=(at(520.0 + 2e-3 * scale)) y1="160" y2="160" {}
                text.m x="520" y="178" { "2 mm of tooth" }
                line.curve x1="520" x2=(at(520.0 + 20e-6 * enlarged * scale)) y1="204" y2="204" {}
                text.m x="520" y="222" { "20 µm of difference" }
            },
            legend: html! {
                "dashed: the tooth · heavy line: middle of the stone · band: its 90 % interval"
                @if drawn_as_usual { " · what the case does not say of the tooth or tray is drawn in a usual size" }
            },
            heads: ["of the stone against the tooth", "90 % interval"].map(str::to_owned).to_vec(),
            rows: vec![
                vec!["width at half height".to_owned(), interval(width, 1e6, "µm")],
                vec!["height".to_owned(), interval(height, 1e6, "µm")],
            ],
        }
        .markup(),
    )
}
