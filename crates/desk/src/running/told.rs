//! What was recorded, in words.

use records::{Moved, What};
use terms::{DieFinding, Fact, Finding, Reading, TryInFinding};

use super::sight::clock_span;

/// What was recorded, in a few words.
pub fn in_words(what: &What) -> String {
    match what {
        What::Stamped { step, earlier_ms: 0 } => format!("\"{step}\""),
        What::Stamped { step, earlier_ms } => {
            format!("\"{step}\", {} earlier", clock_span(*earlier_ms as f64 / 1000.0))
        }
        What::Skipped { step, .. } => format!("\"{step}\" is left out"),
        What::TakenBack { .. } => "the last is taken back".to_owned(),
        What::Counted { item, moved, number } => {
            let way = if *moved == Moved::In { "in" } else { "out" };
            format!("{item}: {number} {way}")
        }
        What::Observed { reading, .. } => read_in_words(reading),
        other => other.kind().replace('_', " "),
    }
}

/// A reading or a finding in a few words.
pub fn read_in_words(reading: &Reading) -> String {
    let celsius = |what: &str, k: f64| format!("{what} {:.1} °C", k - 273.15);
    match *reading {
        Reading::RoomTemperature(k) => celsius("room", k),
        Reading::WaterTemperature(k) => celsius("water", k),
        Reading::ToothTemperature(k) => celsius("tooth", k),
        Reading::MixTemperature(k) => celsius("mix", k),
        Reading::RoomHumidity(share) => format!("humidity {:.0} %", 100.0 * share),
        Reading::MassLoss(share) => format!("mass lost {:.1} %", 100.0 * share),
        Reading::MarginFilm(m) => format!("film at the margin {:.0} µm", m * 1e6),
        Reading::WallFilm(m) => format!("film at the walls {:.0} µm", m * 1e6),
        Reading::PourDifference(m) => format!("second die {:+.0} µm", m * 1e6),
        Reading::SpanIndex(fit) => format!("span index: {fit}"),
        Reading::Die(DieFinding { fault, present }) => seen("on the die", fault.word(), present),
        Reading::TryIn(TryInFinding { sign, present }) => seen("at try-in", sign.word(), present),
        Reading::BowlSet => "the rest in the bowl has set".to_owned(),
        Reading::Inspection(Finding { fault, present }) => seen("on inspection", fault.word(), present),
    }
}

fn seen(place: &str, what: &str, present: Fact<bool>) -> String {
    match present {
        Fact::Known(true) => format!("{place}: {what}"),
        Fact::Known(false) => format!("{place}: looked for and not there: {what}"),
        _ => format!("{place}: not known: {what}"),
    }
}
