//! Temperature and cure through tooth, material and tray, at moments after seating.

use chain::Profile;
use chain::statistics::Interval;
use maud::{Markup, html};

use super::axis::{Axis, band, beside, line};
use super::{Figure, at};
use crate::digits::{plain, span, write};

const LEFT: f64 = 52.0;
const RIGHT: f64 = 600.0;
const TOP: f64 = 26.0;
const MIDDLE: f64 = 190.0;
const LOWER: f64 = 216.0;
const BOTTOM: f64 = 350.0;
/// A layer is drawn at least this wide, as a share.
const NARROWEST: f64 = 0.14;

/// The picture.
pub fn thickness(profile: &Profile) -> Markup {
    // Layers of very different thickness are drawn with widths that can be read; their thickness is written on them.
    let whole: f64 = profile.thickness_m.iter().sum::<f64>().max(1e-9);
    let widths = profile.thickness_m.map(|thickness| (thickness / whole).max(NARROWEST));
    let sum: f64 = widths.iter().sum();
    let starts = [0.0, widths[0] / sum, (widths[0] + widths[1]) / sum, 1.0];
    let ends_m = [0.0, profile.thickness_m[0], profile.thickness_m[0] + profile.thickness_m[1], whole];
    let place = |depth_m: f64| {
        let layer = (1..3).rev().find(|layer| depth_m >= ends_m[*layer]).unwrap_or(0);
        let share = (depth_m - ends_m[layer]) / (ends_m[layer + 1] - ends_m[layer]).max(1e-12);
        LEFT + (RIGHT - LEFT) * (starts[layer] + share * (starts[layer + 1] - starts[layer]))
    };
    let celsius = |interval: &Interval| Interval {
        low: interval.low - 273.15,
        mid: interval.mid - 273.15,
        high: interval.high - 273.15,
    };
    let all: Vec<Interval> =
        profile.moments.iter().flat_map(|m| m.temperature_k.iter().map(celsius)).collect();
    let low = all.iter().map(|i| i.low).fold(f64::INFINITY, f64::min);
    let high = all.iter().map(|i| i.high).fold(f64::NEG_INFINITY, f64::max);
    let warm = Axis::even((low - 0.5).floor(), (high + 0.5).ceil(), MIDDLE, TOP);
    let cured = Axis::even(0.0, 1.0, BOTTOM, LOWER);
    let across = Axis::even(0.0, 1.0, LEFT, RIGHT);
    let degrees: Vec<(f64, String)> = warm.ticks(4).into_iter().map(|v| (v, write(v, 1.0))).collect();
    let shares: Vec<(f64, String)> = [0.0, 0.5, 1.0].map(|v| (v, format!("{:.0}", 100.0 * v))).to_vec();
    let names = ["tooth", "material", "tray"];
    let last = profile.moments.len().saturating_sub(1);
    let edge = |values: &[Interval], cells: std::ops::Range<usize>, axis: &Axis, of: fn(&Interval) -> f64| {
        values
            .iter()
            .zip(&profile.depth_m[cells])
            .map(|(value, depth_m)| (place(*depth_m), axis.place(of(value))))
            .collect::<Vec<(f64, f64)>>()
    };
    let cells = 0..profile.depth_m.len();
    let said = profile.moments.get(last).map(|moment| {
        let slowest = moment.cure_share.iter().map(|share| share.mid).fold(1.0, f64::min);
        format!(
            "{} after seating the slowest place has cured to {:.0} %",
            span(moment.after_seat_s),
            100.0 * slowest
        )
    });
    Figure {
        id: "thickness",
        title: "Temperature, °C, and cure, %, from the tooth to the tray after seating".to_owned(),
        says: format!("Temperature and cure through the thickness; {}.", said.unwrap_or_default()),
        size: [712.0, BOTTOM + 30.0],
        drawing: html! {
            @for layer in 0..3 {
                @let x = LEFT + (RIGHT - LEFT) * starts[layer];
                @let width = (RIGHT - LEFT) * (starts[layer + 1] - starts[layer]);
                rect class=(if layer == 1 { "layer material" } else { "layer" }) x=(at(x)) y=(at(TOP)) width=(at(width)) height=(at(BOTTOM - TOP)) {}
                text.m x=(at(x + 0.5 * width)) y=(at(TOP - 8.0)) text-anchor="middle" {
                    (names[layer]) " " (write(profile.thickness_m[layer] * 1e3, 0.1)) " mm"
                }
            }
            (beside(&warm, &across, &degrees))
            (beside(&cured, &across, &shares))
            text.m x="0" y=(at(TOP - 8.0)) { "°C" }
            text.m x="0" y=(at(LOWER - 6.0)) { "cure, %" }
            line.limit x1=(at(LEFT)) x2=(at(RIGHT)) y1=(at(cured.place(profile.ready_cure))) y2=(at(cured.place(profile.ready_cure))) {}
            text.m x=(at(LEFT + 4.0)) y=(at(cured.place(profile.ready_cure) - 4.0)) { "ready" }
            @for (index, moment) in profile.moments.iter().enumerate() {
                @let class = format!("curve shade{index}");
                @let temperature: Vec<Interval> = moment.temperature_k.iter().map(celsius).collect();
                @if index == last {
                    path.area d=(band(&edge(&temperature, cells.clone(), &warm, |i| i.high), &edge(&temperature, cells.clone(), &warm, |i| i.low))) {}
                    path.area d=(band(&edge(&moment.cure_share, profile.material.clone(), &cured, |i| i.high), &edge(&moment.cure_share, profile.material.clone(), &cured, |i| i.low))) {}
                }
                path class=(class) d=(line(&edge(&temperature, cells.clone(), &warm, |i| i.mid))) {}
                path class=(class) d=(line(&edge(&moment.cure_share, profile.material.clone(), &cured, |i| i.mid))) {}
                line class=(class) x1="612" x2="634" y1=(at(TOP + 12.0 + 20.0 * index as f64)) y2=(at(TOP + 12.0 + 20.0 * index as f64)) {}
                text.m x="640" y=(at(TOP + 16.0 + 20.0 * index as f64)) { (span(moment.after_seat_s)) }
            }
        },
        legend: html! {
            "lines: middle at the moments listed, later ones heavier · band: 90 % interval at the last · layers are not drawn to scale, their "
            "thickness is written on them · " (profile.samples) " samples"
        },
        heads: ["after seating", "tooth side, °C", "tray side, °C", "least cured, %", "most cured, %"].map(str::to_owned).to_vec(),
        rows: profile
            .moments
            .iter()
            .map(|moment| {
                let side = |cell: usize| moment.temperature_k.get(cell).map_or_else(String::new, |t| plain(celsius(t), "°C"));
                let by_middle = |a: &&Interval, b: &&Interval| a.mid.total_cmp(&b.mid);
                let cure = |share: Option<&Interval>| share.map_or_else(String::new, |s| plain(s.scaled(100.0), "%"));
                vec![
                    span(moment.after_seat_s),
                    side(profile.material.start),
                    side(profile.material.end - 1),
                    cure(moment.cure_share.iter().min_by(by_middle)),
                    cure(moment.cure_share.iter().max_by(by_middle)),
                ]
            })
            .collect(),
    }
    .markup()
}
