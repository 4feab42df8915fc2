//! Blends, timings and amounts for a terminal.

use std::fmt::Write as _;

use chain::statistics::Interval;
use chain::timing::{Aim, Handle, Timing, Wanted};
use counsel::amounts::{Amount, Bench, Blend, Measure, Prediction};

use crate::digits;
use crate::lines::{Doc, paragraph, title};
use case_file::Case;

/// Kelvin at 0 °C.
const ZERO_C_K: f64 = 273.15;

fn head(out: &mut Doc, case: &Case) {
    let demo = if case.demo { "  demo" } else { "" };
    paragraph(out, "", "  ", &format!("{}{demo}  {}", case.code, case.title.as_deref().unwrap_or("")));
}

fn line(out: &mut Doc, name: &str, words: &str) {
    paragraph(out, &format!("  {name:<22}"), "                        ", words);
}

/// What the page of a blend shows.
pub struct BlendPage<'a> {
    /// The case.
    pub case: &'a Case,
    /// The name by which it was asked for.
    pub name: &'a str,
    /// The temperature for what is wanted.
    pub wanted: Option<(Aim, Wanted)>,
    /// What the water as it is gives.
    pub now: Option<Timing>,
    /// What the blended water gives.
    pub then: Option<Timing>,
    /// The longest that a tray is borne in the mouth, s: 5 %, middle, 95 %, with its key.
    pub borne: (String, [f64; 3]),
    /// The blend.
    pub blend: Option<Blend>,
    /// Timings of the bench with a prediction.
    pub bench: Option<(Bench, Option<Prediction>, Option<Prediction>)>,
}

/// The page of a blend.
pub fn blend(page: &BlendPage) -> String {
    blend_doc(page).text()
}

/// The same as a document.
pub fn blend_doc(page: &BlendPage) -> Doc {
    let mut out = Doc::default();
    head(&mut out, page.case);
    if let Some(timing) = &page.now {
        title(&mut out, "As it is");
        timed(&mut out, timing, &page.borne);
    }
    if let Some((aim, wanted)) = &page.wanted {
        let (head, colder, warmer) = match aim {
            Aim::Working(s) => {
                (format!("For a working time of {}", digits::span(*s)), "works shorter", "works longer")
            }
            Aim::Mix(k) => {
                (format!("For a mix at {:.1} °C", k - ZERO_C_K), "the mix is warmer", "the mix is colder")
            }
        };
        title(&mut out, &head);
        match wanted {
            Wanted::Reached(timing) => timed(&mut out, timing, &page.borne),
            Wanted::ColdestNotEnough(timing) => {
                line(
                    &mut out,
                    "cannot be reached",
                    &format!("even at the coldest that is allowed {colder}:"),
                );
                timed(&mut out, timing, &page.borne);
            }
            Wanted::WarmestNotEnough(timing) => {
                line(
                    &mut out,
                    "cannot be reached",
                    &format!("even at the warmest that is allowed {warmer}:"),
                );
                timed(&mut out, timing, &page.borne);
            }
        }
    } else if let Some(timing) = &page.then {
        title(&mut out, "With the blend");
        timed(&mut out, timing, &page.borne);
    }
    if let Some(blend) = &page.blend {
        title(&mut out, "Blend");
        for (kg, k) in blend.water_kg.iter().zip(blend.sources_k) {
            line(&mut out, "water", &format!("{:.0} mL of {:.1} °C", kg * 1e3, k - ZERO_C_K));
        }
        line(
            &mut out,
            "comes to",
            &format!(
                "{} (each measured to a millilitre and read to half a degree; the vessel left out)",
                celsius(blend.temperature_k)
            ),
        );
    }
    if let Some((bench, at, for_time)) = &page.bench {
        timings(&mut out, bench, at.as_ref(), for_time.as_ref());
    }
    let last = match chain::timing::handle(&page.case.route) {
        Some(Handle::Water) => {
            "Never change the powder for the sake of time: the ratio is part of the instructions. The instructions prevail."
        }
        Some(Handle::Room) => {
            "Pastes take the temperature of the room they lie in. The instructions prevail."
        }
        None => {
            "Agar is steered by its baths, not by water or room: trayward forecast. The instructions prevail."
        }
    };
    paragraph(&mut out, "\n  ", "  ", last);
    let _ = writeln!(out, "the whole case: trayward forecast {}", page.name);
    out
}

fn timed(out: &mut Doc, timing: &Timing, borne: &(String, [f64; 3])) {
    let what = match timing.handle {
        Handle::Water => "water at",
        Handle::Room => "room and pastes at",
    };
    line(out, what, &format!("{:.1} °C", timing.at_k - ZERO_C_K));
    line(out, "mix", &celsius(timing.mix_k));
    line(out, "works for", &format!("{} from the start of mixing", seconds(timing.working_s)));
    let ready = match timing.some_never_set {
        true => format!("{} or longer; some never set", digits::span(timing.in_mouth_s.low)),
        false => seconds(timing.in_mouth_s),
    };
    line(out, "ready", &format!("{ready} in the mouth"));
    let (key, [least_s, middle_s, most_s]) = borne;
    let words = match timing.in_mouth_s {
        interval if interval.high <= *least_s => "borne by nearly all",
        interval if interval.mid <= *middle_s => "borne by most, not by all",
        interval if interval.mid <= *most_s => "too long for many",
        _ => "too long for most",
    };
    line(
        out,
        "that is",
        &format!(
            "{words} (the longest borne: {} to {})  {key}",
            digits::span(*least_s),
            digits::span(*most_s)
        ),
    );
}

fn seconds(interval: Interval) -> String {
    let half = 0.5 * (interval.high - interval.low);
    format!(
        "{} to {}, middle {}",
        digits::careful_span(interval.low, half, false),
        digits::careful_span(interval.high, half, true),
        digits::careful_span(interval.mid, half, false)
    )
}

fn celsius(interval: Interval) -> String {
    let shifted = Interval {
        low: interval.low - ZERO_C_K,
        mid: interval.mid - ZERO_C_K,
        high: interval.high - ZERO_C_K,
    };
    digits::plain(shifted, "°C")
}

/// "3:10".
fn clock(seconds: f64) -> String {
    let whole = seconds.round() as i64;
    format!("{} min {:02} s", whole / 60, whole % 60)
}

fn timings(out: &mut Doc, bench: &Bench, at: Option<&Prediction>, for_time: Option<&Prediction>) {
    title(out, "Your own timings");
    for timing in &bench.timings {
        line(
            out,
            "timed",
            &format!("{} at a mix of {:.1} °C", clock(timing.seconds), timing.mix_k - ZERO_C_K),
        );
    }
    let half = match bench.activation_half_j_mol {
        Some(half) => format!(" ± {:.1} (90 %)", half / 1e3),
        None => "; two timings give no interval".to_owned(),
    };
    line(out, "activation energy", &format!("{:.1} kJ/mol{half}", bench.activation_j_mol / 1e3));
    for (name, prediction) in [("expected", at), ("for that time", for_time)] {
        let Some(prediction) = prediction else { continue };
        let interval = match prediction.interval_s {
            Some([low, high]) => format!(", 90 % of single timings {} to {}", clock(low), clock(high)),
            None => String::new(),
        };
        let beyond = match prediction.extrapolated {
            true => "; EXTRAPOLATED beyond the temperatures that were timed",
            false => "",
        };
        let words = format!(
            "{} at a mix of {:.1} °C{interval}{beyond}",
            clock(prediction.seconds),
            prediction.mix_k - ZERO_C_K
        );
        line(out, name, &words);
    }
}

/// The page of amounts.
pub fn measure(case: &Case, measure: &Measure) -> String {
    measure_doc(case, measure).text()
}

/// The same as a document.
pub fn measure_doc(case: &Case, measure: &Measure) -> Doc {
    let mut out = Doc::default();
    head(&mut out, case);
    title(&mut out, "Measure");
    for amount in &measure.amounts {
        one(&mut out, amount);
    }
    if let Some(consequence) = &measure.stone {
        title(&mut out, "The stone is not mixed as its card says");
        let [stated, printed] = consequence.ratios.map(|ratio| 100.0 * ratio);
        line(
            &mut out,
            "water",
            &format!("{stated:.1} g to 100 g of powder, and {printed:.1} g is printed or usual"),
        );
        for words in &consequence.words {
            paragraph(&mut out, "  - ", "    ", &format!("{words}."));
        }
    }
    if !measure.waits.is_empty() {
        title(&mut out, "Wait");
        for wait in &measure.waits {
            one(&mut out, wait);
        }
    }
    for said in &measure.said {
        paragraph(&mut out, "  - ", "    ", said);
    }
    paragraph(
        &mut out,
        "\n  ",
        "  ",
        "90 % intervals; the keys lead to what they rest on: trayward source KEY. What is printed on the product prevails.",
    );
    out
}

fn one(out: &mut Doc, amount: &Amount) {
    let [low, mid, high] = amount.interval;
    let text = match high - low < 1e-9 * mid.abs().max(1e-9) {
        true => format!("{} {}", (mid * 10.0).round() / 10.0, amount.unit),
        false => digits::plain(Interval { low, mid, high }, amount.unit),
    };
    let note = amount.note.map(|note| format!("; {note}")).unwrap_or_default();
    paragraph(out, "  - ", "    ", &format!("{}: {text}{note}  {}", amount.what, amount.keys.join(", ")));
}
