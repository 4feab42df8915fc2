//! The pictures of a state, each beside that of the state to compare.

use chain::Way;
use chain::statistics::Interval;
use chain::windows::Edge;
use maud::{Markup, html};
use terms::{Action, Bound, ClockOrigin, HoldingKind};

use super::shown::Shown;
use super::view::{Sight, key, row_key};
use crate::digits::span;
use crate::pictures::lines::{Curve, Lines, Mark, Share, ends, lines, shares};
use crate::pictures::{section_as, thickness};

/// All that the view asks for.
pub fn pictures(sight: &Sight) -> Markup {
    let wants = |name: &str| matches!(sight.state.view, "all") || sight.state.view == name;
    let one = if sight.state.view == "all" { "charts" } else { "charts large" };
    html! {
        @if wants("set") { section.sheet { h2 { "How it sets" } div class=(one) { (set(sight)) } } }
        @if wants("keep") { section.sheet { h2 { "While it is kept, and when to pour" } div class=(one) { (keep(sight)) } } }
        @if wants("parts") { section.sheet { h2 { "What keeping is made of" } (parts(sight, one)) } }
        @if wants("wet") { section.sheet { h2 { "Wetting is one thing, water taken up another" } (wet(sight, one)) } }
        @if wants("tray") { section.sheet { h2 { "In the tray" } (tray(sight)) } }
    }
}

/// A curve for each state that is shown, the one of now first.
fn curves(sight: &Sight, points: impl Fn(&Shown) -> Vec<(f64, Interval)>) -> Vec<Curve> {
    let of =
        |shown: &Shown, name: &str, held: bool| Curve { name: name.to_owned(), held, points: points(shown) };
    let now = sight.now.map(|shown| of(shown, "now", false));
    now.into_iter().chain(sight.held.map(|shown| of(shown, sight.held_name(), true))).collect()
}

/// Until when the curves after removal are drawn: six times as long as the impression is kept, two hours, and past what is taught and printed of
/// pouring, the longest of these.
fn until_s(sight: &Sight) -> f64 {
    let of = |shown: &Shown| {
        let kept_s = shown.case.route.planned_holding_s();
        pour_marks(shown).iter().map(|mark| 1.3 * mark.to_s).fold(f64::max(7200.0, 6.0 * kept_s), f64::max)
    };
    [sight.now, sight.held].into_iter().flatten().map(of).fold(0.0, f64::max)
}

/// Points until then, and at least two.
fn within(points: Vec<(f64, Interval)>, until_s: f64) -> Vec<(f64, Interval)> {
    let past = points.iter().position(|(s, _)| *s > until_s).unwrap_or(points.len());
    points.into_iter().take(past.max(2)).collect()
}

/// What is taught and printed of an action, on an axis that begins at `zero_s` from the start of mixing.
fn marks(shown: &Shown, actions: &[(Action, Bound, &str)], zero_s: f64) -> Vec<Mark> {
    let start_s = |origin: ClockOrigin| shown.forecast.origin_s(origin) - zero_s;
    let mut list = Vec::new();
    for (action, bound, words) in actions {
        let Some(window) = shown.forecast.window(*action) else { continue };
        let edge: &Edge = match bound {
            Bound::Minimum => &window.opens,
            Bound::Maximum => &window.closes,
        };
        list.extend(edge.taught.iter().map(|rule| {
            let from_s = start_s(rule.origin);
            let [low, high] = rule.seconds;
            let spread = match (low < high, span(low), span(high)) {
                (false, low, _) => low,
                // A unit that both share is said once.
                (true, low, high) => match (low.split_once(' '), high.split_once(' ')) {
                    (Some((number, unit)), Some((_, other))) if unit == other => {
                        format!("{number} to {high}")
                    }
                    _ => format!("{low} to {high}"),
                },
            };
            Mark {
                words: format!("taught: {words} {spread}"),
                from_s: from_s + low,
                to_s: from_s + high,
                printed: false,
            }
        }));
        list.extend(edge.instructed.iter().map(|limit| Mark {
            words: format!("printed: {words} {}", span(limit.seconds)),
            from_s: limit.at_s - zero_s,
            to_s: limit.at_s - zero_s,
            printed: true,
        }));
    }
    list
}

fn any<'a>(sight: &Sight<'a>) -> Option<&'a Shown> {
    sight.now.or(sight.held)
}

fn set(sight: &Sight) -> Markup {
    let Some(shown) = any(sight) else { return html! {} };
    let gel = shown.case.route.material.class.is_hydrocolloid();
    let word = if gel { "gelled" } else { "cured" };
    let cure = curves(sight, |shown| {
        shown.setting.moments.iter().map(|m| (m.from_mix_s, m.cure_share.scaled(100.0))).collect()
    });
    let warm = curves(sight, |shown| {
        shown
            .setting
            .moments
            .iter()
            .map(|m| {
                let Interval { low, mid, high } = m.temperature_k;
                (m.from_mix_s, Interval { low: low - 273.15, mid: mid - 273.15, high: high - 273.15 })
            })
            .collect()
    });
    let steps =
        [(Action::Seat, Bound::Maximum, "seat by"), (Action::Remove, Bound::Minimum, "take out after")];
    let mut said = marks(shown, &steps, 0.0);
    said.truncate(4);
    let cured = lines(&Lines {
        id: "class-cure",
        title: format!("Share {word} where it is least, %"),
        unit: "%",
        since: "from the start of mixing",
        widening: false,
        curves: cure,
        marks: said,
        levels: vec![
            (100.0 * shown.setting.working_cure, "working ends".to_owned()),
            (100.0 * shown.setting.ready_cure, "may be taken out".to_owned()),
        ],
        ends: Some([0.0, 100.0]),
        chances: false,
    });
    let warmed = lines(&Lines {
        id: "class-warm",
        title: "Temperature of the material, °C".to_owned(),
        unit: "°C",
        since: "from the start of mixing",
        widening: false,
        curves: warm,
        marks: Vec::new(),
        levels: Vec::new(),
        ends: None,
        chances: false,
    });
    html! {
        div { @if let Some(picture) = cured { (picture) }
            p { "In the bowl until the tray is in place, then in the mouth. " (key(sight, "window.seat.closes")) " " (key(sight, "window.remove.opens")) } }
        div { @if let Some(picture) = warmed { (picture) }
            p { (key(sight, "mix.temperature")) @if shown.case.route.technique.has_wash() { " The material in the tray; of the second material there is no curve." } } }
    }
}

fn pour_marks(shown: &Shown) -> Vec<Mark> {
    let steps = [(Action::Pour, Bound::Minimum, "pour after"), (Action::Pour, Bound::Maximum, "pour within")];
    let mut list = marks(shown, &steps, shown.removed_s());
    list.truncate(4);
    list
}

fn keep(sight: &Sight) -> Markup {
    let Some(shown) = any(sight) else { return html! {} };
    let until_s = until_s(sight);
    let chance = curves(sight, |shown| {
        let even = |value: f64| Interval { low: 100.0 * value, mid: 100.0 * value, high: 100.0 * value };
        let points =
            shown.forecast.pour_curve.iter().map(|point| (point.after_removal_s, even(point.usable)));
        within(points.collect(), until_s)
    });
    let strain = curves(sight, |shown| {
        let scaled =
            |point: &chain::report::PourPoint| (point.after_removal_s, point.holding_strain.scaled(100.0));
        within(shown.forecast.pour_curve.iter().map(scaled).collect(), until_s)
    });
    let chance = lines(&Lines {
        id: "class-chance",
        title: "Chance of a usable result when poured then, %".to_owned(),
        unit: "%",
        since: "after removal",
        widening: true,
        curves: chance,
        marks: pour_marks(shown),
        levels: vec![
            (100.0 * chain::LIKELY, "likely above".to_owned()),
            (100.0 * chain::UNLIKELY, "unlikely below".to_owned()),
        ],
        ends: Some([0.0, 100.0]),
        chances: true,
    });
    let strain = lines(&Lines {
        id: "class-strain",
        title: "Shrinkage while it is kept, % of length (negative swells)".to_owned(),
        unit: "%",
        since: "after removal",
        widening: true,
        curves: strain,
        marks: pour_marks(shown),
        levels: Vec::new(),
        ends: None,
        chances: false,
    });
    html! {
        div { @if let Some(picture) = chance { (picture) } p { (key(sight, "verdict.margin")) } }
        div { @if let Some(picture) = strain { (picture) } p { (key(sight, "strain.holding")) } }
    }
}

/// What a way of shrinking is called, and what it is.
fn words(way: Way) -> (&'static str, &'static str) {
    match way {
        Way::Evaporation => ("Evaporation: water lost to the air", "evaporation"),
        Way::Exudation => ("Syneresis: fluid squeezed out", "exudation"),
        Way::Liquid => ("Imbibition: water from a liquid (negative swells)", "liquid"),
        Way::Byproduct => ("By-product of the cure that leaves", "byproduct"),
        Way::Water => ("Water taken up (negative) or given off", "water"),
    }
}

/// Why there is none of it.
fn nothing(way: Way) -> &'static str {
    match way {
        Way::Evaporation => "it gives no water to the air",
        Way::Exudation => "it squeezes nothing out",
        Way::Liquid => "it meets no liquid",
        Way::Byproduct => "its cure leaves nothing that would go",
        Way::Water => "it takes up no water",
    }
}

fn part_points(shown: &Shown, way: Way, until_s: f64) -> Vec<(f64, Interval)> {
    let found = shown.parts.parts.iter().find(|part| part.way == way);
    let strain = found.map_or(&[][..], |part| &part.strain);
    let points = shown.parts.after_removal_s.iter().zip(strain).map(|(s, value)| (*s, value.scaled(100.0)));
    within(points.collect(), until_s)
}

/// Strains below this are nothing, % of length.
const NOTHING: f64 = 1e-6;

fn part(sight: &Sight, id: &str, way: Way, same: Option<[f64; 2]>) -> Markup {
    let until_s = until_s(sight);
    let [low, high] = ends(curves(sight, |shown| part_points(shown, way, until_s)).iter());
    if high - low < NOTHING {
        return html! { div { h3 { (words(way).0) } p { "None here: " (nothing(way)) "." } } };
    }
    let drawn = lines(&Lines {
        id,
        title: format!("{}, % of length", words(way).0),
        unit: "%",
        since: "after removal",
        widening: true,
        curves: curves(sight, |shown| part_points(shown, way, until_s)),
        marks: Vec::new(),
        levels: Vec::new(),
        ends: same,
        chances: false,
    });
    let row = any(sight)
        .and_then(|shown| shown.parts.parts.iter().find(|part| part.way == way))
        .and_then(|part| part.key.clone());
    html! { div { @if let Some(picture) = drawn { (picture) } p { (key(sight, "strain.holding")) @if let Some(row) = row { " " (row_key(&row)) } } } }
}

fn parts(sight: &Sight, class: &str) -> Markup {
    let Some(shown) = any(sight) else { return html! {} };
    let ways: Vec<Way> = shown.parts.parts.iter().map(|part| part.way).collect();
    let until_s = until_s(sight);
    // One scale for all, so that their heights can be compared.
    let all: Vec<Curve> =
        ways.iter().flat_map(|way| curves(sight, |shown| part_points(shown, *way, until_s))).collect();
    let same = ends(all.iter());
    let gel = shown.case.route.material.class.is_hydrocolloid();
    html! {
        p { "Each part by itself, all on one scale; in every sample they sum to the shrinkage while it is kept. Shrinkage is positive." }
        div class=(class) { @for way in &ways { (part(sight, &format!("class-part-{}", words(*way).1), *way, Some(same))) } }
        @if shown.case.route.holding.iter().any(|stretch| stretch.kind == HoldingKind::Immersed) {
            p { "Nothing stays in a bath beyond its plan: after " (span(shown.case.route.planned_holding_s())) " it is taken out and lies in the room." }
        }
        @if gel {
            p.muted { "Not told apart: in a liquid, the salts that leave and the network that gives way are one curve. A water gel has no by-product that leaves." }
        } @else {
            p.muted { "Not told apart: water that comes from the air and water that comes from a liquid are one content of the rubber in the model, and one curve. A rubber has no fluid to squeeze out and no water of its own to evaporate: there is no such curve." }
        }
    }
}

fn wet(sight: &Sight, class: &str) -> Markup {
    let Some(shown) = any(sight) else { return html! {} };
    let tooth = |shown: Option<&Shown>| {
        shown.and_then(|shown| shown.forecast.margins.as_ref()?.teeth.first().cloned())
    };
    let (now, held) = (tooth(sight.now), tooth(sight.held));
    let share = |words: &str, of: fn(&chain::ToothMargin) -> f64| Share {
        words: words.to_owned(),
        now: now.as_ref().map(of),
        held: held.as_ref().map(of),
    };
    let met = [
        share("stops short of the margin", |tooth| tooth.unfilled),
        share("void by bubble, fluid or blood", |tooth| tooth.void),
        share("margin captured", |tooth| tooth.captured),
    ];
    let way = if shown.case.route.material.class.is_hydrocolloid() { Way::Liquid } else { Way::Water };
    let until_s = until_s(sight);
    let mass = curves(sight, |shown| {
        let mass = shown.parts.mass_change.iter().map(|value| value.scaled(100.0));
        within(shown.parts.after_removal_s.iter().copied().zip(mass).collect(), until_s)
    });
    let mass = lines(&Lines {
        id: "class-mass",
        title: "Mass of the impression, % more or less than at removal".to_owned(),
        unit: "%",
        since: "after removal",
        widening: true,
        curves: mass,
        marks: Vec::new(),
        levels: Vec::new(),
        ends: None,
        chances: false,
    });
    let angle = shown.parts.contact_rad.map(|angle| angle.scaled(180.0 / std::f64::consts::PI));
    html! {
        p { b { "Wetting" } ": how the fluid material meets the tooth, within seconds, before it sets. "
            @if let Some(angle) = angle { "Contact angle on a wet tooth: " (crate::digits::plain(angle, "°")) ", a property of the class that no knob here turns. " }
            @if let Some(row) = &shown.parts.contact_key { (row_key(row)) }
            " What stands in the sulcus is turned with " i { "Tooth and sulcus" } "." }
        p { b { "Absorption" } ": water that the set material takes up in a liquid or from damp air, over minutes to days." }
        div class=(class) {
            div { (shares("class-met", "Wetting: how the material meets this margin, % of such impressions", &met, sight.held_name())) p { (key(sight, "access.captured")) } }
            (part(sight, "class-taken-up", way, None))
            div { @if let Some(picture) = mass { (picture) } p { (key(sight, "mass.change")) } }
        }
        p.muted { "Not in the model: water taken up does not change how the set surface meets the stone." }
    }
}

fn tray(sight: &Sight) -> Markup {
    let drawn = |shown: Option<&Shown>, id: &str, name: &str| {
        shown.map(|shown| {
            let Shown { case, forecast, .. } = shown;
            match section_as(id, &format!("{name}: "), &case.situation, &case.route, forecast) {
                Some(picture) => picture,
                None => html! { p { (name) ": the size of the die lies beyond what was checked; nothing is drawn." } },
            }
        })
    };
    let name = match sight.state.frozen {
        Some(_) => "Frozen",
        None => "Usual",
    };
    html! {
        div.charts.large {
            @if let Some(picture) = drawn(sight.now, "class-section-now", "Now") { div { (picture) } }
            @if let Some(picture) = drawn(sight.held, "class-section-held", name) { div { (picture) } }
        }
        p { (key(sight, "die.diameter")) " " (key(sight, "die.height")) }
        @if let Some(shown) = any(sight) {
            details { summary { "Temperature and cure from the tooth to the tray, " (if sight.now.is_some() { "now" } else { sight.held_name() }) }
                @match &shown.profile { Some(profile) => (thickness(profile)), None => p { "It follows with all samples." } } }
        }
    }
}
