//! Case files made from a seed, for the tests of the program.
//!
//! The texts are built from the list of fields alone and share no code with the writer. Numbers are drawn on a decimal
//! grid inside their range, in any unit of their dimension; words, defaults and the choice of readings come from the
//! list. About four cases in five are of alginate or addition silicone.

#![allow(clippy::panic, reason = "a test stops where its premise fails")]
#![allow(dead_code, reason = "each test program uses its own part")]

use case_file::fields::{Absent, Field, Kind, NOT_APPLICABLE, Presence, TABLES, Table, UNKNOWN, units};
use case_file::{Case, parse};
use terms::{ImpressionClass, MAX_ABUTMENTS, MixMethod, Purpose, Range, Step, Technique, Unit, ranges};

/// SplitMix64 (Steele, Lea & Flood 2014): one 64-bit word of state, the same sequence on every machine.
pub struct Draw(u64);

impl Draw {
    /// A sequence of its own for each seed.
    pub fn new(seed: u64) -> Self {
        Draw(seed)
    }

    /// The next 64 bits.
    pub fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// A number below `end`, which is not zero.
    pub fn below(&mut self, end: usize) -> usize {
        (self.bits() % end as u64) as usize
    }

    /// True in `percent` of a hundred draws.
    pub fn chance(&mut self, percent: usize) -> bool {
        self.below(100) < percent
    }

    /// One of the items.
    pub fn one<T: Copy>(&mut self, items: &[T]) -> T {
        items[self.below(items.len())]
    }
}

/// The case of this seed.
pub fn case(seed: u64) -> Case {
    let text = case_text(seed);
    parse("generated.toml", &text).unwrap_or_else(|problems| panic!("seed {seed}\n{problems}\n{text}"))
}

/// The case file of this seed; it is always a valid one.
pub fn case_text(seed: u64) -> String {
    let mut draw = Draw::new(seed);
    let choice = Choice::draw(&mut draw);
    let mut text = String::new();
    for table in TABLES {
        match table.presence {
            Presence::Required => push_table(&mut text, table, "[", 0, &choice, &mut draw),
            Presence::Optional if choice.has_table(table.path, &mut draw) => {
                push_table(&mut text, table, "[", 0, &choice, &mut draw);
            }
            Presence::Optional => {}
            Presence::Repeated { .. } => {
                for index in 0..choice.length(table.path, &mut draw) {
                    push_table(&mut text, table, "[[", index, &choice, &mut draw);
                }
            }
        }
    }
    text
}

/// The words that must suit each other.
struct Choice {
    purpose: Purpose,
    technique: Technique,
    class: ImpressionClass,
    wash_class: ImpressionClass,
    method: MixMethod,
    /// Prepared teeth of one jaw, each once, in no order.
    teeth: Vec<String>,
    /// The gum may be said not to bleed, and then no sulcus is said to.
    dry_gum: bool,
    /// Steps that are stamped, in order.
    steps: Vec<Step>,
}

impl Choice {
    fn draw(draw: &mut Draw) -> Choice {
        let purpose = if draw.chance(80) {
            draw.one(&[Purpose::Crown, Purpose::Bridge, Purpose::StudyCast])
        } else {
            draw.one(Purpose::ALL)
        };
        let class = draw.one(ImpressionClass::ALL);
        let powder = is_powder(class);
        let technique = loop {
            let technique = draw.one(Technique::ALL);
            if powder || technique != Technique::AgarOverAlginate {
                break technique;
            }
        };
        let wash_class = match technique {
            Technique::AgarOverAlginate => ImpressionClass::Agar,
            _ if draw.chance(90) => class,
            _ => draw.one(ImpressionClass::ALL),
        };
        let method =
            if powder { draw.one(&[MixMethod::Hand, MixMethod::Machine]) } else { draw.one(MixMethod::ALL) };
        let steps = Step::ALL.iter().copied().filter(|_| draw.chance(40)).collect();
        let teeth = draw_teeth(draw);
        let dry_gum = draw.chance(50);
        Choice { purpose, technique, class, wash_class, method, teeth, dry_gum, steps }
    }

    fn has_table(&self, path: &str, draw: &mut Draw) -> bool {
        match path {
            "route.wash" => self.technique.has_wash(),
            "route.restoration" => self.purpose.has_die(),
            "route.baths" => self.has_agar() && draw.chance(70),
            _ => draw.chance(50),
        }
    }

    fn has_agar(&self) -> bool {
        let wash = self.technique.has_wash() && self.wash_class == ImpressionClass::Agar;
        self.class == ImpressionClass::Agar || wash
    }

    fn length(&self, path: &str, draw: &mut Draw) -> usize {
        match path {
            "stamps" => self.steps.len(),
            "situation.abutment" => self.teeth.len(),
            _ => draw.below(4),
        }
    }

    /// What stands in a field that must suit the others; `None` leaves it free.
    fn fixed(&self, path: &str, index: usize) -> Option<&'static str> {
        Some(match path {
            "situation.purpose" => self.purpose.word(),
            "route.technique" => self.technique.word(),
            "route.material.class" => self.class.word(),
            "route.wash.class" => self.wash_class.word(),
            "route.mix.method" => self.method.word(),
            "stamps.step" => self.steps[index].word(),
            _ => return None,
        })
    }
}

/// None to three teeth, now and then as many as may be listed.
fn draw_teeth(draw: &mut Draw) -> Vec<String> {
    let quadrants = draw.one(&[[1, 2], [3, 4]]);
    let mut jaw: Vec<String> = quadrants
        .iter()
        .flat_map(|quadrant| (1..=8).map(move |place| format!("{quadrant}{place}")))
        .collect();
    let count = if draw.chance(5) { MAX_ABUTMENTS } else { draw.below(4) };
    (0..count).map(|_| jaw.swap_remove(draw.below(jaw.len()))).collect()
}

fn is_powder(class: ImpressionClass) -> bool {
    class.is_alginate()
}

fn push_table(text: &mut String, table: &Table, open: &str, index: usize, choice: &Choice, draw: &mut Draw) {
    if !table.path.is_empty() {
        let close = open.replace('[', "]");
        text.push_str(&format!("\n{open}{}{close}\n", table.path));
    }
    let choices: Vec<&Field> = table.fields.iter().filter(|f| f.absent == Absent::OneOfThese).collect();
    let chosen = if choices.is_empty() { "" } else { choices[draw.below(choices.len())].name };
    let (mut may_disinfect, mut disinfected) = (false, false);
    let (mut no_cord_out, mut cast, mut thick) = (false, false, false);
    for field in table.fields {
        let path = format!("{}.{}", table.path, field.name);
        let given = match field.absent {
            // A disinfectant where there may be one, and its strength and label only with it.
            _ if path == "route.holding.agent" => may_disinfect && draw.chance(70),
            // Coats where no thickness is stated, and an alloy for a casting.
            _ if field.name == "spacer_coats" => !thick && draw.chance(70),
            _ if field.name == "alloy" => cast && draw.chance(70),
            _ if matches!(field.name, "concentration" | "labelled_contact") => disinfected && draw.chance(70),
            Absent::Required => true,
            Absent::OneOfThese => field.name == chosen,
            Absent::With(other) => other == chosen,
            Absent::Nothing | Absent::Unknown | Absent::Asked | Absent::Unless(_) => draw.chance(70),
        };
        if given {
            let value = match choice.fixed(&path, index) {
                Some(word) => format!("\"{word}\""),
                // An order of cords only where there may be cords.
                None if path == "route.cords_leave" && no_cord_out => {
                    format!("\"{}\"", draw.one(&[UNKNOWN, NOT_APPLICABLE]))
                }
                None => value(&path, field, index, choice, draw),
            };
            may_disinfect |= value.contains("sprayed") || value.contains("immersed");
            cast |= field.name == "fabrication" && value.contains("cast");
            thick |= field.name == "spacer";
            no_cord_out |= field.name == "displacement"
                && !["cord", UNKNOWN, NOT_APPLICABLE].into_iter().any(|word| value.contains(word));
            disinfected |= field.name == "agent" && !value.contains(NOT_APPLICABLE);
            text.push_str(&format!("{} = {value}\n", field.name));
        }
    }
}

fn value(path: &str, field: &Field, index: usize, choice: &Choice, draw: &mut Draw) -> String {
    let mixed = matches!(path, "route.mix.powder" | "route.mix.water");
    let open_words: &[&str] = match (mixed, is_powder(choice.class)) {
        // An alginate has powder and water; nothing else has.
        (true, true) => &[UNKNOWN],
        (true, false) => return format!("\"{}\"", draw.one(&[UNKNOWN, NOT_APPLICABLE])),
        (false, _) => &[UNKNOWN, NOT_APPLICABLE],
    };
    if field.is_fact() && draw.chance(15) {
        return format!("\"{}\"", if field.may_not_arise() { draw.one(open_words) } else { UNKNOWN });
    }
    match field.kind {
        Kind::Version => "1".to_owned(),
        Kind::Code => format!("\"GEN-{:04}\"", draw.below(10_000)),
        Kind::Text { lines: false, .. } => "\"Generated \\\"case\\\" – 'nothing' \\\\ real\"".to_owned(),
        Kind::Text { lines: true, .. } => "\"\"\"first line\nsecond \\u00b5 line\"\"\"".to_owned(),
        Kind::Product => {
            let ids = ["demo-alginate-normal", "demo-silicone-light", "demo-stone-4", "x-1"];
            format!("\"{}\"", draw.one(&ids))
        }
        Kind::Lot => draw.one(&["\"L-2403\"", "\"24.03/7\""]).to_owned(),
        Kind::YesNo if path == "situation.bleeding" && !choice.dry_gum => "true".to_owned(),
        Kind::Switch | Kind::YesNo => draw.one(&["true", "false"]).to_owned(),
        Kind::Sign => "true".to_owned(),
        Kind::Moment => moment(index, draw),
        Kind::Tooth => format!("\"{}\"", choice.teeth[index]),
        // A gum may be said not to bleed, so no sulcus here is said to.
        Kind::Word(words) if path == "situation.abutment.sulcus" && choice.dry_gum => {
            let dry: Vec<&str> = words.iter().copied().filter(|word| *word != "blood").collect();
            format!("\"{}\"", draw.one(&dry))
        }
        Kind::Word(words) => format!("\"{}\"", draw.one(words)),
        Kind::Quantity { words, .. } if !words.is_empty() && draw.chance(30) => {
            format!("\"{}\"", words[draw.below(words.len())].0)
        }
        Kind::Quantity { mut range, .. } => {
            let legs = choice.teeth.len().saturating_sub(1);
            match path {
                // With prepared teeth: 20 s of mixing, 30 s from tooth to tooth and 10 s to the tray fit before 60 s.
                "route.plan.seat_after" if !choice.teeth.is_empty() => range.min = 60.0,
                "route.plan.mixing" if !choice.teeth.is_empty() => range.max = 20.0,
                "route.plan.per_tooth" if legs > 0 => range.max = 30.0 / legs as f64,
                "route.plan.tray_after" if !choice.teeth.is_empty() => range.max = 10.0,
                // Three segments stay together below the longest time.
                "route.holding.duration" => range.max /= 3.0,
                // What must not be larger or later than another field stays below the least of that field.
                "route.wash_thickness" => range.max = ranges::RELIEF.min,
                "route.plan.mixing" => range.max = ranges::SEAT_AFTER.min,
                "route.baths.temper_temperature" => range.max = 273.15 + 45.0,
                "route.baths.store_temperature" => {
                    (range.min, range.max) = (273.15 + 45.0, ranges::BOIL_TEMPERATURE.min);
                }
                _ => {}
            }
            format!("\"{}\"", quantity(&range, draw))
        }
    }
}

/// A quantity inside its range on a grid of up to six decimals, in one of its units and spellings.
fn quantity(range: &Range, draw: &mut Draw) -> String {
    let unit = draw.one(&units(range));
    let (low, high) = (unit.from_si(range.min), unit.from_si(range.max));
    let mut decimals = draw.below(4);
    loop {
        let scale = 10f64.powi(decimals as i32);
        let (first, last) = ((low * scale).ceil() as i64, (high * scale).floor() as i64);
        if last > first {
            let step = first + (draw.bits() % (last - first) as u64) as i64;
            let sign = if step < 0 { "-" } else { "" };
            let (whole, part) = (step.unsigned_abs() / scale as u64, step.unsigned_abs() % scale as u64);
            let number = if decimals == 0 {
                format!("{sign}{whole}")
            } else {
                format!("{sign}{whole}.{part:0decimals$}")
            };
            let space = draw.one(&[" ", " ", "", "\u{a0}"]);
            return format!("{number}{space}{}", spelling(unit, draw));
        }
        decimals += 1;
    }
}

fn spelling(unit: Unit, draw: &mut Draw) -> &'static str {
    match unit {
        Unit::Celsius => draw.one(&["°C", "C"]),
        Unit::Micrometre => draw.one(&["µm", "um"]),
        Unit::Degree => draw.one(&["°", "deg"]),
        other => other.symbol(),
    }
}

/// A moment in the index-th hour of one day, so that stamps keep their order.
fn moment(index: usize, draw: &mut Draw) -> String {
    let (minute, second, ms) = (draw.below(60), draw.below(60), draw.below(1000));
    let fraction = if draw.chance(50) { String::new() } else { format!(".{ms:03}") };
    // The offset moves the wall time with it, so the moment stays in its hour.
    let (shift, offset) = draw.one(&[(0, "Z"), (2, "+02:00"), (-5, "-05:00")]);
    let hour = 8 + index as i32 + shift;
    let time = format!("2026-03-02T{hour:02}:{minute:02}:{second:02}{fraction}{offset}");
    if draw.chance(50) { format!("\"{time}\"") } else { time }
}
