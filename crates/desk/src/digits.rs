//! Digits follow the spread: an interval is written with no more of them than its width supports.

use chain::statistics::Interval;

/// The smallest step worth writing for a 90 % interval of this half-width: one digit of it, two when it begins with 1 or 2.
///
/// The usual rule for stating an uncertainty (JCGM 100:2008, 7.2.6 asks for two digits at most).
pub fn step(half_width: f64) -> f64 {
    if !(half_width.is_finite() && half_width > 0.0) {
        return 0.0;
    }
    let decade = 10f64.powf(half_width.log10().floor());
    if half_width / decade < 3.0 { decade / 10.0 } else { decade }
}

/// A number rounded to a step, without a minus sign before zero.
pub fn round(value: f64, step: f64) -> f64 {
    if step <= 0.0 {
        return value;
    }
    let rounded = (value / step).round() * step;
    if rounded == 0.0 { 0.0 } else { rounded }
}

/// A number written to the digits of a step.
pub fn write(value: f64, step: f64) -> String {
    let decimals = if step > 0.0 && step < 1.0 { (-step.log10().floor()) as usize } else { 0 };
    let decimals = if step == 0.0 { 1 } else { decimals };
    format!("{:.decimals$}", round(value, step))
}

/// A signed number written to the digits of a step.
pub fn signed(value: f64, step: f64) -> String {
    let text = write(value, step);
    if round(value, step) > 0.0 { format!("+{text}") } else { text }
}

/// "-4 to +22 µm, middle +9": interval first, then the middle. `factor` turns SI into the unit.
pub fn interval(interval: Interval, factor: f64, unit: &str) -> String {
    let scaled = interval.scaled(factor);
    let step = step(0.5 * (scaled.high - scaled.low));
    format!(
        "{} to {} {unit}, middle {}",
        signed(scaled.low, step),
        signed(scaled.high, step),
        signed(scaled.mid, step)
    )
}

/// An interval of which a part lies beyond the checked range `[least, greatest]` at whose ends its figures stand.
pub fn beyond(interval: Interval, factor: f64, unit: &str, with_sign: bool) -> String {
    let number = if with_sign { signed } else { write };
    let scaled = interval.scaled(factor);
    if scaled.high - scaled.low <= 1e-6 * scaled.high.abs() {
        return format!("beyond {} {unit}, as far as it was checked", number(scaled.low, 1.0));
    }
    let step = step(0.5 * (scaled.high - scaled.low));
    format!("{} to {} {unit} or beyond", number(scaled.low, step), number(scaled.high, step))
}

/// An interval without signs, for quantities that have none.
pub fn plain(interval: Interval, unit: &str) -> String {
    let step = step(0.5 * (interval.high - interval.low));
    format!(
        "{} to {} {unit}, middle {}",
        write(interval.low, step),
        write(interval.high, step),
        write(interval.mid, step)
    )
}

/// A probability in words that do not claim more than sampling and models can.
pub fn percent(probability: f64) -> String {
    match probability {
        p if p < 0.01 => "below 1 %".to_owned(),
        p if p > 0.99 => "above 99 %".to_owned(),
        p => format!("about {:.0} %", 100.0 * p),
    }
}

/// A span of time as the trade says it: `45 s`, `5 min 40 s`, `50 min`, `18 h`, `3 d`. Never with a colon, which is for the wall.
pub fn span(seconds: f64) -> String {
    let seconds = seconds.max(0.0);
    match seconds {
        s if s < 59.5 => format!("{s:.0} s"),
        s if s < 1195.0 => {
            let whole = s.round() as i64;
            match whole % 60 {
                0 => format!("{} min", whole / 60),
                rest => format!("{} min {rest} s", whole / 60),
            }
        }
        s if s < 5370.0 => format!("{:.0} min", s / 60.0),
        s if s < 35_700.0 => trimmed(s / 3600.0, "h"),
        s if s < 129_600.0 => format!("{:.0} h", s / 3600.0),
        s => trimmed(s / 86_400.0, "d"),
    }
}

/// A span of time rounded to the digits that its spread supports, and never by more than a tenth of itself, in the careful
/// direction: down for a latest moment, up for an earliest one.
pub fn careful_span(seconds: f64, half_width_s: f64, earliest: bool) -> String {
    let by_spread = match half_width_s {
        h if h < 5.0 => 1.0,
        h if h < 60.0 => 5.0,
        h if h < 600.0 => 10.0,
        h if h < 3600.0 => 60.0,
        h if h < 36_000.0 => 600.0,
        _ => 3600.0,
    };
    let by_size = match seconds {
        s if s < 50.0 => 1.0,
        s if s < 300.0 => 5.0,
        s if s < 600.0 => 10.0,
        s if s < 6000.0 => 60.0,
        s if s < 36_000.0 => 600.0,
        _ => 3600.0,
    };
    let step = f64::min(by_spread, by_size);
    // A sum of moments is off by a rounding; that is not a second more.
    let steps = seconds / step;
    let steps = if earliest { (steps - 1e-6).ceil() } else { (steps + 1e-6).floor() };
    span(steps * step)
}

fn trimmed(value: f64, unit: &str) -> String {
    let text = format!("{value:.1}");
    format!("{} {unit}", text.strip_suffix(".0").unwrap_or(&text))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn digits_follow_the_spread() {
        let of = |low, mid, high| interval(Interval { low, mid, high }, 1e6, "µm");
        assert_eq!(of(-4.3e-6, 9.04e-6, 22.35e-6), "-4 to +22 µm, middle +9");
        assert_eq!(of(-138e-6, -8.1e-6, 97e-6), "-140 to +100 µm, middle -10");
        assert_eq!(of(-0.4e-6, 0.02e-6, 0.3e-6), "-0.4 to +0.3 µm, middle 0.0");
    }

    #[test]
    fn spans_read_like_the_trade_writes_them() {
        assert_eq!(
            [45.0, 65.0, 466.0, 3000.0, 6250.0, 86_400.0, 1_209_600.0].map(span),
            ["45 s", "1 min 5 s", "7 min 46 s", "50 min", "1.7 h", "24 h", "14 d"]
        );
        assert_eq!(careful_span(391.0, 80.0, true), "6 min 40 s");
        assert_eq!(careful_span(75.4, 50.0, false), "1 min 15 s");
        assert_eq!(careful_span(776.0, 9000.0, false), "12 min");
        assert_eq!(percent(0.947), "about 95 %");
    }
}
