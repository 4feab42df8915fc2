//! `trayward blend` and `trayward measure`.

use std::io::Write;

use anyhow::{Context, Result, bail};
use chain::Effort;
use chain::timing::{Aim, Wanted, handle, steered, timing};
use counsel::amounts::{BenchTiming, bench, blend as blended, measure as measured};
use terms::{Instant, ranges};

use super::{Asked, json, present};
use crate::amounts_page::{self, BlendPage};
use crate::load;
use crate::shelf::Shelf;
use case_file::quantity_text;

/// What `trayward blend` is asked.
#[derive(clap::Args)]
pub struct BlendArguments {
    /// A case file, `demo`, or `demo/NAME`.
    #[arg(default_value = "demo/warm-tap-water")]
    case: String,
    /// The water at hand, such as "28 °C"; without it the water of the case.
    #[arg(long)]
    warm: Option<String>,
    /// The second source, such as "6 °C" from the refrigerator.
    #[arg(long)]
    cold: Option<String>,
    /// The temperature that the blend should have, such as "20 °C".
    #[arg(long, conflicts_with_all = ["working", "mix_at"])]
    to: Option<String>,
    /// The working time that is wanted, such as 2:30; the temperature for it is worked out.
    #[arg(long, conflicts_with = "mix_at")]
    working: Option<String>,
    /// The temperature that the mix should have, such as "21 °C"; powder, bowl and room have their say, and the water for it is worked out.
    #[arg(long)]
    mix_at: Option<String>,
    /// How much water, such as "39 mL"; without it that of the case.
    #[arg(long)]
    water: Option<String>,
    /// A timing of your own, mix temperature and time, such as "18 °C=3:10"; give it several times.
    #[arg(long)]
    bench: Vec<String>,
    /// The mix temperature at which your timings are to predict the time.
    #[arg(long)]
    predict: Option<String>,
    /// As JSON.
    #[arg(long)]
    json: bool,
}

/// Samples of a timing: the same as of a route in comparison.
const EFFORT: Effort = Effort { points: 16 };

/// Runs `trayward blend`.
///
/// # Errors
/// What cannot be read or reached, with what is allowed.
pub fn blend(arguments: &BlendArguments, shelf: Shelf, machine: Instant, out: &mut impl Write) -> Result<()> {
    let name = &arguments.case;
    let case = shelf.case(name)?;
    let stock = shelf.stock(case.demo)?;
    let (parameters, limits) = load::parameters(&case, &stock)?;
    let now = shelf.now(name, &case, machine)?;
    let temperature = |field: &str, text: &str| celsius(field, text);
    let warm_k = match &arguments.warm {
        Some(text) => Some(temperature("--warm", text)?),
        None => case.situation.water_temperature_k.known(),
    };
    let cold_k = arguments.cold.as_deref().map(|text| temperature("--cold", text)).transpose()?;
    let to_k = arguments.to.as_deref().map(|text| temperature("--to", text)).transpose()?;
    let working_s = arguments.working.as_deref().map(|text| minutes("--working", text)).transpose()?;
    let handle = handle(&case.route);
    let timed = |at_k: f64| -> Result<_> {
        let Some(handle) = handle else { return Ok(None) };
        let (situation, route) = (&case.situation, &case.route);
        Ok(Some(timing(situation, route, handle, at_k, &parameters, &limits, EFFORT, now)?))
    };
    let at_hand_k = match handle {
        Some(chain::timing::Handle::Water) => warm_k,
        Some(chain::timing::Handle::Room) => case.situation.room_temperature_k.known(),
        None => None,
    };
    let mix_k = arguments.mix_at.as_deref().map(|text| temperature("--mix-at", text)).transpose()?;
    let aim = working_s.map(Aim::Working).or(mix_k.map(Aim::Mix));
    let wanted = match (aim, handle) {
        (Some(_), None) => {
            bail!(
                "--working and --mix-at: given for agar, whose baths decide; allowed for alginate and rubber"
            )
        }
        (Some(aim), Some(handle)) => {
            let (situation, route) = (&case.situation, &case.route);
            let wanted = steered(situation, route, handle, aim, &parameters, &limits, EFFORT, now)
                .with_context(|| name.clone())?;
            Some((aim, wanted))
        }
        (None, _) => None,
    };
    let target_k = match &wanted {
        Some((_, Wanted::Reached(timing))) if handle == Some(chain::timing::Handle::Water) => {
            Some(timing.at_k)
        }
        _ => to_k,
    };
    let water_kg = match &arguments.water {
        Some(text) => volume("--water", text)?,
        None => case.route.mix.water_kg.known().unwrap_or(0.04),
    };
    let blend = match (warm_k, cold_k, target_k) {
        (Some(warm_k), Some(cold_k), Some(target_k)) => Some(blended([warm_k, cold_k], target_k, water_kg)?),
        _ => None,
    };
    let bench = match arguments.bench.is_empty() {
        true => None,
        false => Some(own_timings(arguments, working_s)?),
    };
    if blend.is_none() && wanted.is_none() && bench.is_none() && to_k.is_some() {
        bail!(
            "blend: given a temperature without two sources; allowed --warm and --cold with --to, --working or --mix-at"
        );
    }
    let (row, borne) = parameters.find(&["wait"], "in_mouth_most")?;
    let page = BlendPage {
        case: &case,
        name,
        now: at_hand_k.map(&timed).transpose()?.flatten(),
        then: to_k.filter(|_| blend.is_some()).map(&timed).transpose()?.flatten(),
        wanted,
        borne: (row.key.clone(), [borne.quantile(0.05), borne.median(), borne.quantile(0.95)]),
        blend,
        bench,
    };
    if arguments.json {
        let (bench, predicted, for_time) = match &page.bench {
            Some((bench, predicted, for_time)) => (Some(bench), predicted.as_ref(), for_time.as_ref()),
            None => (None, None, None),
        };
        let value = serde_json::json!({
            "as_it_is": page.now,
            "wanted": page.wanted.as_ref().map(|(_, wanted)| wanted),
            "with_the_blend": page.then,
            "blend": page.blend,
            "bench": bench,
            "predicted": predicted,
            "for_working_time": for_time,
        });
        return json(&value, out);
    }
    write!(out, "{}", amounts_page::blend(&page))?;
    Ok(())
}

type OwnTimings =
    (counsel::amounts::Bench, Option<counsel::amounts::Prediction>, Option<counsel::amounts::Prediction>);

fn own_timings(arguments: &BlendArguments, working_s: Option<f64>) -> Result<OwnTimings> {
    let mut timings = Vec::new();
    for text in &arguments.bench {
        let Some((mix, time)) = text.split_once('=') else {
            bail!("--bench: given \"{text}\"; allowed a mix temperature and a time, such as \"18 °C=3:10\"");
        };
        timings.push(BenchTiming { mix_k: celsius("--bench", mix)?, seconds: minutes("--bench", time)? });
    }
    let fitted = bench(&timings)?;
    let at = arguments.predict.as_deref().map(|text| celsius("--predict", text)).transpose()?;
    let at = at.map(|mix_k| fitted.at(mix_k)).transpose()?;
    let for_time = working_s.map(|wanted_s| fitted.for_time(wanted_s)).transpose()?;
    Ok((fitted, at, for_time))
}

/// Runs `trayward measure`.
///
/// # Errors
/// When the case cannot be read or the chain refuses it.
pub fn measure(name: &str, asked: &Asked, machine: Instant, out: &mut impl Write) -> Result<()> {
    let case = asked.shelf.case(name)?;
    let stock = asked.shelf.stock(case.demo)?;
    let (now, _) = present(name, &case, asked, machine)?;
    let (parameters, _) = load::parameters(&case, &stock)?;
    let forecast = load::forecast(&case, &stock, Effort::COARSE, now).with_context(|| name.to_owned())?;
    let amounts = measured(&load::view(&case), &parameters, &forecast)?;
    if asked.json {
        return json(&amounts, out);
    }
    write!(out, "{}", amounts_page::measure(&case, &amounts))?;
    Ok(())
}

/// A temperature of water or a mix; a bare number is in degrees Celsius.
fn celsius(field: &str, text: &str) -> Result<f64> {
    let range = &ranges::WATER_TEMPERATURE;
    let written = text.trim();
    let bare = written.parse::<f64>().is_ok();
    let with_unit = if bare { format!("{written} °C") } else { written.to_owned() };
    match quantity_text(&with_unit, range) {
        Some(k) => Ok(k),
        None => bail!("{field}: given \"{text}\"; allowed {}", range.allowed()),
    }
}

/// A time such as 2:30, "150 s" or "2.5 min".
fn minutes(field: &str, text: &str) -> Result<f64> {
    let written = text.trim();
    let clock = written.split_once(':').and_then(|(minutes, seconds)| {
        let (minutes, seconds) = (minutes.parse::<u32>().ok()?, seconds.parse::<u32>().ok()?);
        (minutes <= 60 && seconds < 60).then(|| f64::from(60 * minutes + seconds))
    });
    match clock.or_else(|| quantity_text(written, &ranges::DWELL)).filter(|s| *s >= 1.0) {
        Some(s) => Ok(s),
        None => {
            bail!("{field}: given \"{text}\"; allowed 1 s to 1 h, such as 2:30, \"150 s\" or \"2.5 min\"")
        }
    }
}

/// A volume of water; a gram is a millilitre.
fn volume(field: &str, text: &str) -> Result<f64> {
    let as_grams = text.trim().trim_end_matches("mL").trim_end_matches("ml").trim_end_matches('g').trim();
    match as_grams.parse::<f64>().ok().filter(|ml| (1.0..=10_000.0).contains(ml)) {
        Some(ml) => Ok(ml * 1e-3),
        None => bail!("{field}: given \"{text}\"; allowed 1 to 10000 mL"),
    }
}
