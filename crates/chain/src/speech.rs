//! What must be said beside the numbers: the verdict and its reasons, questions, what is missing, what is outside.

use terms::{
    Action, Fact, Fault, GypsumType, HoldingKind, ImpressionClass, Observation, Purpose, Reading, Route,
    Situation, Technique,
};

use crate::access::Margins;
use crate::after::{die_faults, signs};
use crate::contact::Contact;
use crate::report::{Ask, Conditioning, Contribution, LimitResult, Quantity, Verdict, VerdictWord};
use crate::space::{Standing, is_on_a_bench};
use crate::statistics::Probability;
use crate::windows::{DecidedBy, Window, WindowState};

/// At least this probability is *likely*.
pub const LIKELY: f64 = 0.80;
/// At most this probability is *unlikely*.
pub const UNLIKELY: f64 = 0.20;
/// More than this share of the variance from weak values makes a result *mainly assumed*.
pub const MAINLY: f64 = 0.5;

/// An unknown fact is asked for when at least this share of the variance hangs on it.
const LEAST_ASK: f64 = 0.02;

/// Shares and chances over the samples that words are made from.
#[derive(Clone, Copy, Debug)]
pub struct Shares {
    /// Chance that a slender stone tooth breaks on separation.
    pub break_chance: f64,
    /// Share of the samples whose undercut is as deep as the layer.
    pub locked: f64,
    /// Share of the samples in which a web between teeth tears.
    pub web_tear: f64,
    /// Share of the samples whose tray was in place before the mix stopped flowing.
    pub seated_in_time: f64,
    /// Share of the samples that had set at removal.
    pub set_at_removal: f64,
    /// Share of the samples whose agar was molten where it had to be.
    pub melted: f64,
    /// Share of the samples whose stone has water for every grain.
    pub water_suffices: f64,
    /// Share of the samples outside what the elements of the layer were made for.
    pub out_of_domain: f64,
}

/// What the words are made from.
pub struct Facts<'a> {
    /// Shares and chances over the samples.
    pub shares: Shares,
    /// Situation.
    pub situation: &'a Situation,
    /// Route.
    pub route: &'a Route,
    /// Readings and findings.
    pub observations: &'a [Observation],
    /// Windows.
    pub windows: &'a [Window],
    /// Numbers.
    pub quantities: &'a [Quantity],
    /// What is said of the margins.
    pub margins: Option<&'a Margins>,
    /// Chance that the rest serves once the margins are captured.
    pub fits: f64,
    /// Convergence beyond which retention is taught to be doubtful, rad.
    pub retentive_rad: f64,
    /// Each limit alone.
    pub limits: &'a [LimitResult],
    /// What must be said first of a second pour.
    pub second_pour: Vec<String>,
    /// Disinfectants and what may keep the material from setting.
    pub contact: &'a Contact,
    /// Water/powder ratios far from the usual, in words.
    pub ratios: Vec<String>,
    /// The reading furthest from what was expected.
    pub furthest: Option<&'static str>,
    /// Whether the samples are as many as a full answer takes.
    pub full: bool,
    /// The present, s from the start of mixing, once the clock runs.
    pub now_s: Option<f64>,
    /// What the readings did.
    pub conditioning: Conditioning,
    /// False when a record lacks its first stamp.
    pub start_stamped: bool,
}

/// The chances that the verdict rests on.
#[derive(Clone, Copy, Debug)]
pub struct Chances {
    /// Captured and inside the limits.
    pub usable: Probability,
    /// Every margin captured.
    pub captured: Option<f64>,
    /// Inside the limits, given captured margins.
    pub fits: f64,
}

impl Facts<'_> {
    /// The verdict. Plain faults and questions that the models cannot answer come before the probability.
    pub fn verdict(&self, chances: Chances, weak_share: f64) -> Verdict {
        let faults = self.faults();
        let mainly_assumed = weak_share > MAINLY;
        let mut reasons = Vec::new();
        let mut word = match chances.usable.value {
            p if p >= LIKELY => VerdictWord::Likely,
            p if p <= UNLIKELY => VerdictWord::Unlikely,
            _ => VerdictWord::CannotTell,
        };
        let unanswerable = self.in_the_way();
        if !unanswerable.is_empty() {
            // An obstacle takes "likely" away; it does not make an unlikely result open again.
            if word == VerdictWord::Likely || !self.situation.purpose.in_checked_scope() {
                word = VerdictWord::CannotTell;
            }
            reasons.extend(unanswerable);
        }
        if !faults.is_empty() {
            word = VerdictWord::Unlikely;
            let list: Vec<&str> = faults.iter().map(|fault| fault.word()).collect();
            reasons.insert(
                0,
                format!(
                    "found on inspection: {}. A visible fault outweighs every micrometre below.",
                    list.join(", ")
                ),
            );
        }
        let signs = signs(self.observations);
        if !signs.is_empty() {
            if word == VerdictWord::Likely {
                word = VerdictWord::CannotTell;
            }
            reasons.insert(
                0,
                format!("found after pouring: {}. A plain sign outweighs the figures", signs.join(", ")),
            );
        }
        let die_faults = die_faults(self.observations);
        if !die_faults.is_empty() {
            let list: Vec<&str> = die_faults.iter().map(|fault| fault.word()).collect();
            let then = match die_faults.iter().all(|fault| fault.is_of_stone()) {
                true => {
                    "The stone is at fault: where the material bears a second pour the impression may still serve"
                }
                false => "The impression did not have it: another pour brings the same",
            };
            reasons.insert(0, format!("found on the die: {}. {then}.", list.join(", ")));
        }
        word = if die_faults.is_empty() { word } else { VerdictWord::Unlikely };
        if self.shares.water_suffices < 0.5 {
            reasons.push(
                "the stone has less water than its powder needs to hydrate (18.6 g per 100 g): it will stay weak and \
                 cannot copy a margin"
                    .to_owned(),
            );
        }
        if self.shares.melted < 0.9 {
            let (what, remedy) = if self.route.technique == Technique::AgarOverAlginate {
                (
                    "the agar on the tooth has gelled before the alginate reaches it, and does not bond",
                    "bring the tray sooner, or syringe it warmer",
                )
            } else {
                ("the agar has not melted to the axis of its tube", "boil it longer, or in a thinner tube")
            };
            let chance = 100.0 * (1.0 - self.shares.melted);
            reasons.push(format!("{what} (a chance of {chance:.0} %): {remedy}"));
        }
        if self.shares.seated_in_time < 0.9 {
            let agar = self.route.material.class == ImpressionClass::Agar;
            let (what, remedy) = if agar {
                ("the agar", "temper it warmer or shorter, or seat sooner")
            } else {
                ("the mix", "cool it, or seat sooner")
            };
            reasons.push(match self.shares.seated_in_time {
                share if share < 0.05 => {
                    format!("{what} has almost certainly stopped flowing when the tray is seated: {remedy}")
                }
                share => format!(
                    "the chance that {what} still flows when the tray is seated is only {:.0} %: {remedy}",
                    100.0 * share
                ),
            });
        }
        reasons.extend(self.missed_margins());
        reasons.extend(self.tight_limit());
        if self.shares.break_chance > 0.1 {
            reasons.push(format!(
                "a slender stone tooth breaks on separation in some {:.0} of 100: block out the undercut, let the stone harden \
                 longer, draw along the teeth",
                100.0 * self.shares.break_chance
            ));
        }
        if self.shares.web_tear > 0.1 {
            reasons.push(format!(
                "webs between teeth tear with a chance of {:.0} %: block out open embrasures",
                100.0 * self.shares.web_tear
            ));
        }
        if (LIKELY..0.9).contains(&self.shares.set_at_removal) {
            reasons.push(format!(
                "the chance that it has set throughout at the moment of removal is only {:.0} %",
                100.0 * self.shares.set_at_removal
            ));
        }
        for window in self.windows.iter().filter(|window| window.state == WindowState::NoWindow) {
            reasons.push(format!("to {} there is no window: it opens after it has closed", window.action));
        }
        reasons.extend(self.disagreement());
        reasons.extend(self.second_pour.iter().cloned());
        for window in self.windows {
            if let Some((said, against_print)) = self.missed(window) {
                if against_print && word == VerdictWord::Likely {
                    word = VerdictWord::CannotTell;
                }
                reasons.push(said);
            }
        }
        if mainly_assumed {
            reasons.push(format!(
                "mainly assumed: {:.0} % of what is unsure comes from remembered or assumed values",
                100.0 * weak_share
            ));
        }
        let Chances { usable, captured, fits } = chances;
        Verdict { word, usable, captured, fits, reasons, mainly_assumed, weak_share, faults, die_faults }
    }

    /// Everything that takes *likely* away.
    pub fn in_the_way(&self) -> Vec<String> {
        let mut list = self.unanswerable();
        list.extend(self.obstacles());
        list
    }

    /// What takes *likely* away although no figure counts it.
    fn obstacles(&self) -> Vec<String> {
        let mut list = Vec::new();
        if self.shares.locked > 0.05 {
            list.push(format!(
                "the undercut is as deep as the material before it (a chance of {:.0} %): a rigid tray does not come off; block it \
                 out, or make more room",
                100.0 * self.shares.locked
            ));
        }
        if self.shares.set_at_removal < LIKELY {
            let chance = match self.shares.set_at_removal {
                share if share < 0.05 => {
                    "it has almost certainly not set throughout at the moment of removal".to_owned()
                }
                share => format!(
                    "the chance that it has set throughout at the moment of removal is only {:.0} %",
                    100.0 * share
                ),
            };
            list.push(format!("{chance}; what half-set material tears and drags is not counted"));
        }
        let tray = &self.route.tray;
        if tray.adhesive == Fact::Known(false) && tray.perforated == Fact::Known(false) {
            list.push(
                "nothing holds the material in the tray, neither adhesive nor holes: it lifts off on removal, and no figure counts \
                 that"
                    .to_owned(),
            );
        }
        let taper = self.situation.convergence_rad.known().filter(|&taper| taper > self.retentive_rad);
        if let Some(taper) = taper.filter(|_| self.situation.purpose.has_die()) {
            list.push(format!(
                "a convergence of {:.0}° leaves little hold for a restoration; retention is not judged here",
                taper.to_degrees()
            ));
        }
        list
    }

    /// The limit that is broken most often, where the sizes rarely serve.
    fn tight_limit(&self) -> Option<String> {
        let limit = self.limits.iter().min_by(|a, b| a.within.total_cmp(&b.within))?;
        let rarely = self.situation.purpose.has_die() && self.fits < 0.5 && limit.within < 0.7;
        rarely.then(|| {
            format!(
                "the {} stays inside its limit in only {:.0} of 100: look at relief and film of the restoration, and at the \
                 convergence",
                limit.words,
                100.0 * limit.within
            )
        })
    }

    /// How often a margin is missed, by what, and what would buy most; nothing when every margin is likely captured.
    fn missed_margins(&self) -> Option<String> {
        if !self.faults().is_empty() {
            return None;
        }
        let margins = self.margins.filter(|margins| margins.captured < LIKELY)?;
        let worst = margins.teeth.iter().min_by(|a, b| a.captured.total_cmp(&b.captured))?;
        let faults = [
            (worst.covered, "tissue over it"),
            (worst.unfilled, "material that stops short"),
            (worst.void, "a void by fluid, blood or a bubble"),
            (worst.torn, "a torn edge"),
        ];
        let (_, most) = faults.iter().max_by(|a, b| a.0.total_cmp(&b.0))?;
        let remedy = match margins.buys.first() {
            Some(buy) => format!("; {}: {:.0} of 100 captured", buy.words, 100.0 * buy.captured),
            None => String::new(),
        };
        let missed = match 1.0 - margins.captured {
            missed if missed > 0.97 => "a margin is missed almost certainly".to_owned(),
            missed => format!("a margin is missed in some {:.0} of 100", 100.0 * missed),
        };
        Some(format!("{missed}, most by {most}{remedy}"))
    }

    /// What to say of a plan or a stamp outside its window, and whether a printed limit is broken or a latest moment passed.
    fn missed(&self, window: &Window) -> Option<(String, bool)> {
        let at_s = window.planned_s?;
        let action = window.action;
        let what = if window.stamped { "the stamp of" } else { "the plan to" };
        if let Some(open_s) = window.opens.binding_s
            && at_s < open_s - WORTH_SAYING_S
        {
            let printed = window.opens.decided_by == DecidedBy::Instruction;
            return Some((
                format!("{what} {action} lies {} before its window opens", span(open_s - at_s)),
                printed,
            ));
        }
        let close_s = window.closes.binding_s?;
        if at_s <= close_s + WORTH_SAYING_S {
            return None;
        }
        let passed = self.now_s.filter(|&now_s| !window.stamped && now_s > close_s);
        let said = match passed {
            Some(now_s) => format!("too late to {action}: its window closed {} ago", span(now_s - close_s)),
            None => format!("{what} {action} lies {} after its window closes", span(at_s - close_s)),
        };
        Some((said, true))
    }

    /// Where what is taught on the latest pour lies far from what binds, in one sentence.
    fn disagreement(&self) -> Option<String> {
        let pour = self.windows.iter().find(|window| window.action == Action::Pour)?;
        let taught_s = pour.closes.taught.iter().map(|rule| rule.seconds[1]).reduce(f64::min)?;
        let forecast = pour.closes.forecast_s?;
        let removed = self.windows.iter().find(|window| window.action == Action::Remove)?.planned_s?;
        let printed_s = pour.closes.instructed.iter().map(|limit| limit.at_s - removed).reduce(f64::min);
        let binds_s = printed_s.map_or(forecast.low, |printed_s| printed_s.min(forecast.low));
        if binds_s < FAR * taught_s {
            return None;
        }
        let beyond = if pour.closes.beyond_checked { "or longer" } else { "at the careful end" };
        let printed = match printed_s {
            Some(printed_s) => format!("printed {}", span(printed_s.max(0.0))),
            None => "no instruction is entered, consult it".to_owned(),
        };
        Some(format!(
            "on the latest pour sources disagree: taught {}, forecast {} {beyond}, {printed}; a forecast is no permission",
            span(taught_s),
            span(forecast.low)
        ))
    }

    fn faults(&self) -> Vec<Fault> {
        let mut faults: Vec<Fault> = self
            .observations
            .iter()
            .filter_map(|observation| match observation.reading {
                Reading::Inspection(finding) if finding.present == Fact::Known(true) => Some(finding.fault),
                _ => None,
            })
            .collect();
        faults.sort();
        faults.dedup();
        faults
    }

    /// Reasons for which no probability can be given whatever the figures say.
    fn unanswerable(&self) -> Vec<String> {
        let mut list = Vec::new();
        if !self.situation.purpose.in_checked_scope() {
            list.push(format!(
                "{}: outside what this model was checked for, recorded and timed only",
                self.situation.purpose
            ));
        }
        list.extend(self.contact.obstacles.iter().cloned());
        if self.situation.bleeding == Fact::Known(true) {
            list.push(
                "the gum bleeds: no figure here holds for a margin under blood; stop it first".to_owned(),
            );
        }
        let alginate_alone = self.route.material.class.is_alginate() && self.route.wash.is_none();
        if alginate_alone && self.situation.purpose.has_die() {
            list.push(
                "alginate is the least accurate class and taught for study casts only: figures of size do not make it serve \
                 for a final restoration"
                    .to_owned(),
            );
        }
        let soft = matches!(self.route.stone.gypsum, GypsumType::Type1 | GypsumType::Type2);
        if soft && self.situation.purpose.has_die() {
            list.push(format!(
                "gypsum {} is too soft for a die: it abrades while a restoration is made on it",
                self.route.stone.gypsum
            ));
        }
        if let Some(quantity) = self.quantities.iter().find(|quantity| {
            matches!(quantity.id, "strain.holding" | "die.diameter" | "span.share" | "span")
                && quantity.beyond_checked
                && (quantity.interval.mid == quantity.interval.high
                    || quantity.interval.mid == quantity.interval.low)
        }) {
            list.push(format!(
                "{}: most of it lies beyond what was checked, and the chance with it",
                quantity.words
            ));
        }
        for ratio in &self.ratios {
            list.push(format!("{ratio}: strength, setting and printed times are not checked there"));
        }
        if self.shares.out_of_domain > 0.2 && self.situation.purpose.has_die() {
            list.push(
                "the preparation, or the space around it in the tray, lies outside what the model of the tray was made for"
                    .to_owned(),
            );
        }
        if self.conditioning.too_few {
            list.push(match (self.full, self.furthest) {
                (true, Some(reading)) => format!(
                    "the reading of the {reading} does not fit this room and material: check the instrument or the entry; no \
                     reading is used"
                ),
                _ => "too few samples for a first answer to use the readings: ask for the full one".to_owned(),
            });
        }
        list
    }

    /// Questions: those of safety and plain faults first, then unknown facts by what hangs on them, then instructions.
    pub fn asks(&self, on_margin: &[Contribution]) -> Vec<Ask> {
        let mut asks = Vec::new();
        if !self.faults().is_empty() {
            return asks;
        }
        for observation in self.observations {
            if let Reading::Inspection(finding) = observation.reading
                && finding.present.is_unknown()
            {
                asks.push(Ask {
                    words: format!("is there any of this: {}?", finding.fault),
                    why: "the inspection has it as unknown, which is not no".to_owned(),
                    share: None,
                });
            }
        }
        asks.extend(self.contact.asks.iter().cloned());
        let mut ask = |words: &str, why: &str| {
            asks.push(Ask { words: words.to_owned(), why: why.to_owned(), share: None });
        };
        if self.situation.bleeding.is_unknown() {
            ask("does the gum bleed?", "blood at the margin spoils more impressions than shrinkage");
        }
        if self.route.tray.adhesive.is_unknown() && self.route.tray.perforated.known() != Some(true) {
            ask(
                "does adhesive hold the material on the tray?",
                "held or loose decides the sign of the error",
            );
        }
        if self.situation.purpose.has_die() {
            let teeth = &self.situation.abutments;
            if teeth.is_empty() || teeth.iter().any(|tooth| tooth.margin_depth_m.is_unknown()) {
                ask(
                    "how deep below the gum is the finish line?",
                    "a margin that is not captured is the commonest fault",
                );
            }
            if teeth.is_empty() || teeth.iter().any(|tooth| tooth.sulcus.is_unknown()) {
                ask(
                    "is the sulcus dry, damp, or does fluid stand in it?",
                    "fluid keeps the material from the margin",
                );
            }
            if self.route.displacement.is_unknown() {
                ask("how is the gum displaced?", "the width of the sulcus decides what is captured");
            }
        }
        if self.situation.undercut_m.is_unknown() {
            ask(
                "how deep is the deepest undercut?",
                "it decides strain, tearing and whether a rigid tray comes off",
            );
        }
        let silent: Vec<&str> = self
            .windows
            .iter()
            .filter(|window| window.state == WindowState::ConsultInstructions && window.action != Action::Mix)
            .map(|window| window.action.word())
            .collect();
        if !silent.is_empty() {
            ask(
                &format!("what do the products say about when to {}?", silent.join(", ")),
                "no instruction is entered; consult it before going by a forecast",
            );
        }
        for contribution in on_margin {
            let of_a_die = matches!(contribution.key.as_str(), "usual/die_diameter" | "usual/die_height");
            if of_a_die && !self.situation.purpose.has_die() {
                continue;
            }
            // Asked above, in words of its own.
            if matches!(contribution.key.as_str(), "access/margin_depth" | "access/state")
                || contribution.key.starts_with("access/open_width")
                || contribution.key.starts_with("access/rest_width")
            {
                continue;
            }
            if contribution.standing == Standing::Unknown && contribution.share >= LEAST_ASK {
                asks.push(Ask {
                    words: format!("{}?", contribution.words),
                    why: format!("{:.0} % of what is unsure hangs on it", 100.0 * contribution.share),
                    share: Some(contribution.share),
                });
            }
        }
        asks
    }

    /// Parts of the chain that are not in the figures.
    pub fn not_in_budget(&self) -> Vec<&'static str> {
        let mut list = vec!["voids and drags away from the margins, and material that lifts off the tray"];
        if self.situation.purpose.has_die() {
            list.push("tearing of a margin that is taken out half set");
        }
        if self.route.technique == Technique::AgarOverAlginate {
            list.push("the bond of agar to alginate, and alginate that pushes the agar away");
        }
        if self.route.holding.iter().any(|segment| segment.agent.known().is_some()) {
            list.push("what a disinfectant does to surface and detail");
        }
        list
    }

    /// Where the case lies outside what was checked.
    pub fn outside(&self) -> Vec<String> {
        let mut list = Vec::new();
        if self.shares.out_of_domain > 0.05 {
            list.push(format!(
                "relief, height or ceiling lie outside what the elements of the tray were made for, with a chance of {:.0} %",
                100.0 * self.shares.out_of_domain
            ));
        }
        if is_on_a_bench(self.situation) {
            list.push("teeth at 28 °C or colder are taken as those of a model on a bench: no body behind them, the room outside the tray".to_owned());
        }
        for quantity in self.quantities.iter().filter(|quantity| quantity.beyond_checked) {
            list.push(format!(
                "{}: part of its interval; the figure is where the checked range ends",
                quantity.words
            ));
        }
        for window in self.windows {
            if window.opens.beyond_checked || window.closes.beyond_checked {
                list.push(format!(
                    "the window to {} reaches beyond the time that was followed",
                    window.action
                ));
            }
            for limit in window.opens.instructed.iter().chain(&window.closes.instructed) {
                if !limit.stated_for_this_room {
                    list.push(format!(
                        "{}: the limit to {} is not stated for the temperature of this room",
                        limit.product, window.action
                    ));
                }
            }
        }
        let in_liquid_s: f64 = self
            .route
            .holding
            .iter()
            .filter(|segment| segment.kind == HoldingKind::Immersed)
            .map(|segment| segment.duration_s)
            .sum();
        if in_liquid_s > LIQUID_CHECKED_S {
            list.push(format!(
                "lying in a liquid was compared with published figures up to {}",
                span(LIQUID_CHECKED_S)
            ));
        }
        if self.situation.purpose == Purpose::StudyCast && self.route.restoration.is_some() {
            list.push("a restoration on a study cast is not forecast".to_owned());
        }
        if !self.start_stamped {
            list.push(
                "the start of mixing is not stamped: it is counted back from the first stamp".to_owned(),
            );
        }
        list
    }
}

/// A latest pour this many times what is taught is said.
const FAR: f64 = 3.0;

/// A plan this close to the end of its window is inside what a hand and a clock can keep.
const WORTH_SAYING_S: f64 = 3.0;

/// Longest time in a liquid that was compared with published figures, s.
const LIQUID_CHECKED_S: f64 = 3600.0;

/// A duration in words.
pub fn span(seconds: f64) -> String {
    match seconds {
        s if s < 120.0 => format!("{s:.0} s"),
        s if s < 7200.0 => format!("{:.0} min", s / 60.0),
        s if s < 172_800.0 => format!("{:.0} h", s / 3600.0),
        s => format!("{:.0} d", s / 86_400.0),
    }
}
