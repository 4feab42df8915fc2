//! The knobs: what is turned in front of a class, each a change to the facts of the base case and nothing else.

use case_file::Case;
use case_file::change::{facts, with};
use case_file::fields::Kind;
use terms::{ImpressionClass, Unit, ranges};

/// A knob.
pub struct Knob {
    /// Name in a link.
    pub name: &'static str,
    /// What stands beside it.
    pub words: &'static str,
    turns: Turns,
}

/// What a knob turns.
#[derive(Clone, Copy)]
enum Turns {
    /// One fact, in the unit of its field.
    Fact(&'static str),
    /// Water to powder, by the amount of water.
    Ratio,
    /// The space of the tray at the walls and over the top.
    Relief,
    /// How the impression is kept: one stretch, in plain water where it lies in a liquid.
    Wrap,
    /// For how long.
    Delay,
    /// Type of stone, with the demo product of that type.
    Stone,
}

/// In the order in which they act.
pub const KNOBS: &[Knob] = &[
    Knob { name: "water", words: "Water of the mix", turns: Turns::Fact("situation.water_temperature") },
    Knob { name: "bath", words: "Tempering bath", turns: Turns::Fact("route.baths.temper_temperature") },
    Knob { name: "ratio", words: "Water to powder", turns: Turns::Ratio },
    Knob { name: "room", words: "Room", turns: Turns::Fact("situation.room_temperature") },
    Knob { name: "humidity", words: "Humidity of the room", turns: Turns::Fact("situation.room_humidity") },
    Knob { name: "sulcus", words: "Tooth and sulcus", turns: Turns::Fact("situation.abutment[0].sulcus") },
    Knob {
        name: "seat",
        words: "Tray in place, from the start of mixing",
        turns: Turns::Fact("route.plan.seat_after"),
    },
    Knob {
        name: "remove",
        words: "Taken out, from the tray in place",
        turns: Turns::Fact("route.plan.remove_after"),
    },
    Knob { name: "pull", words: "Pull", turns: Turns::Fact("route.plan.withdrawal") },
    Knob { name: "undercut", words: "Deepest undercut", turns: Turns::Fact("situation.undercut") },
    Knob { name: "relief", words: "Space for the material in the tray", turns: Turns::Relief },
    Knob { name: "adhesive", words: "Adhesive", turns: Turns::Fact("route.tray.adhesive") },
    Knob { name: "wrap", words: "Kept", turns: Turns::Wrap },
    Knob { name: "delay", words: "Kept before pouring, for", turns: Turns::Delay },
    Knob { name: "stone", words: "Stone", turns: Turns::Stone },
];

/// A slider.
#[derive(Clone, Copy)]
pub struct Slide {
    /// Least.
    pub low: f64,
    /// Greatest.
    pub high: f64,
    /// Step.
    pub step: f64,
    /// Moves slowly at its small end.
    pub power: f64,
    /// Unit.
    pub unit: &'static str,
}

/// How a knob looks on a page.
pub enum Look {
    /// A number that moves under a finger.
    Slide(Slide),
    /// One of these: what is sent, and in words.
    Choice(Vec<(&'static str, &'static str)>),
}

const WRAPS: &[(&str, &str)] = &[
    ("open air", "open air"),
    ("sealed dry", "sealed, dry"),
    ("sealed humid", "sealed, humid"),
    ("wrapped wet", "wrapped in a wet cloth"),
    ("immersed", "immersed in plain water"),
];
const STONES: &[(&str, &str)] = &[("type 3", "type 3"), ("type 4", "type 4"), ("type 5", "type 5")];
const PULLS: &[(&str, &str)] =
    &[("snap", "snap"), ("steady pull", "steady pull"), ("slow pull", "slow pull")];
const SULCI: &[(&str, &str)] =
    &[("dry", "dry"), ("damp", "damp"), ("fluid", "fluid stands in it"), ("blood", "blood")];
const YES_NO: &[(&str, &str)] = &[("true", "yes"), ("false", "no")];

/// The knobs that a case of this class has.
pub fn of(class: ImpressionClass) -> impl Iterator<Item = &'static Knob> {
    KNOBS.iter().filter(move |knob| match knob.name {
        "water" | "ratio" => class.is_alginate(),
        "bath" => class == ImpressionClass::Agar,
        _ => true,
    })
}

impl Knob {
    /// How it looks.
    pub fn look(&self) -> Look {
        let of_range = |range: &terms::Range, unit: Unit, step: f64, power: f64| {
            Look::Slide(Slide {
                low: unit.from_si(range.min),
                high: unit.from_si(range.max),
                step,
                power,
                unit: unit.symbol(),
            })
        };
        match self.turns {
            Turns::Fact("situation.abutment[0].sulcus") => Look::Choice(SULCI.to_vec()),
            Turns::Fact("route.plan.withdrawal") => Look::Choice(PULLS.to_vec()),
            Turns::Fact("route.tray.adhesive") => Look::Choice(YES_NO.to_vec()),
            Turns::Fact("situation.water_temperature") => {
                of_range(&ranges::WATER_TEMPERATURE, Unit::Celsius, 1.0, 1.0)
            }
            Turns::Fact("route.baths.temper_temperature") => {
                of_range(&ranges::BATH_TEMPERATURE, Unit::Celsius, 1.0, 1.0)
            }
            Turns::Fact("situation.room_temperature") => {
                of_range(&ranges::ROOM_TEMPERATURE, Unit::Celsius, 1.0, 1.0)
            }
            Turns::Fact("situation.undercut") => of_range(&ranges::UNDERCUT, Unit::Millimetre, 0.1, 1.0),
            Turns::Fact("route.plan.seat_after") => of_range(&ranges::SEAT_AFTER, Unit::Second, 5.0, 1.0),
            Turns::Fact("route.plan.remove_after") => {
                of_range(&ranges::REMOVE_AFTER, Unit::Second, 10.0, 1.0)
            }
            Turns::Fact(_) => of_range(&ranges::HUMIDITY, Unit::Percent, 5.0, 1.0),
            Turns::Relief => of_range(&ranges::RELIEF, Unit::Millimetre, 0.5, 1.0),
            Turns::Delay => of_range(&ranges::HOLD_DURATION, Unit::Minute, 1.0, 4.0),
            // The amounts bound it only far away; a bowl that can be mixed bounds it here.
            Turns::Ratio => Look::Slide(Slide {
                low: 1.5,
                high: 3.5,
                step: 0.05,
                power: 1.0,
                unit: "g of water to 1 g of powder",
            }),
            Turns::Wrap => Look::Choice(WRAPS.to_vec()),
            Turns::Stone => Look::Choice(STONES.to_vec()),
        }
    }

    /// What it says in a case, as it is typed: a number in its unit, or a word.
    pub fn said(&self, case: &Case) -> String {
        let lines = facts(case);
        let line = |path: &str| lines.iter().find(|line| line.path == path);
        let in_unit = |path: &str, unit: Unit| {
            line(path).and_then(|line| line.si).map_or_else(String::new, |si| short(unit.from_si(si)))
        };
        match self.turns {
            Turns::Fact(path) => match line(path) {
                Some(line) => match (line.field.kind, line.si) {
                    (Kind::Quantity { range, .. }, Some(si)) => short(range.unit.from_si(si)),
                    _ => line.said.clone(),
                },
                None => String::new(),
            },
            Turns::Relief => in_unit("route.tray.relief", Unit::Millimetre),
            Turns::Delay => in_unit("route.holding[0].duration", Unit::Minute),
            Turns::Wrap => line("route.holding[0].kind").map_or_else(String::new, |line| line.said.clone()),
            Turns::Stone => line("route.stone.gypsum").map_or_else(String::new, |line| line.said.clone()),
            Turns::Ratio => match (case.route.mix.water_kg.known(), case.route.mix.powder_kg.known()) {
                (Some(water), Some(powder)) => format!("{}", (100.0 * water / powder).round() / 100.0),
                _ => String::new(),
            },
        }
    }

    /// The changes that a text means.
    ///
    /// # Errors
    /// Why it means none.
    fn changes(&self, case: &Case, text: &str) -> Result<Vec<(&'static str, String)>, String> {
        let own = |path: &'static str| vec![(path, text.to_owned())];
        let number = case_file::with_point(text).parse::<f64>().ok();
        Ok(match self.turns {
            Turns::Fact(path) => own(path),
            Turns::Relief => {
                vec![("route.tray.relief", text.to_owned()), ("route.tray.ceiling", text.to_owned())]
            }
            Turns::Delay => match number {
                Some(minutes) => vec![("route.holding[0].duration", format!("{minutes} min"))],
                None => own("route.holding[0].duration"),
            },
            Turns::Ratio => {
                let powder_g = case.route.mix.powder_kg.known().map_or(0.0, |kg| kg * 1e3);
                let Some(ratio) = number else {
                    return Err(format!("given {text}; allowed a number such as 2.2"));
                };
                vec![("route.mix.water", format!("{} g", short(ratio * powder_g)))]
            }
            Turns::Wrap => {
                let mut list = own("route.holding[0].kind");
                let never = |path| (path, "not applicable".to_owned());
                if text != "open air" {
                    list.push(never("route.holding[0].exposure"));
                    list.push(never("route.holding[0].draught"));
                }
                if text == "immersed" {
                    list.push(never("route.holding[0].humidity"));
                }
                // In plain water there is nothing that disinfects, as there is nothing in air.
                for path in [
                    "route.holding[0].agent",
                    "route.holding[0].concentration",
                    "route.holding[0].labelled_contact",
                ] {
                    list.push(never(path));
                }
                list
            }
            Turns::Stone => {
                let product = match text {
                    "type 3" => "demo-stone-3",
                    "type 5" => "demo-stone-5",
                    _ => "demo-stone-4",
                };
                vec![("route.stone.gypsum", text.to_owned()), ("route.stone.product", product.to_owned())]
            }
        })
    }

    /// Whether this knob moves a field of a case.
    fn moves(&self, field: &str) -> bool {
        match self.turns {
            Turns::Fact(path) => field.starts_with(path),
            Turns::Relief => matches!(field, "route.tray.relief" | "route.tray.ceiling"),
            Turns::Delay => matches!(field, "route.holding[0].duration" | "route.holding (all together)"),
            Turns::Ratio => field == "route.mix.water",
            Turns::Wrap => field.starts_with("route.holding[0]"),
            Turns::Stone => field.starts_with("route.stone"),
        }
    }
}

/// Why a case cannot be turned so: by knob, and what belongs to none.
#[derive(Debug, Default)]
pub struct Refused {
    /// Name of a knob, and why.
    pub by_knob: Vec<(&'static str, String)>,
    /// The rest.
    pub other: Vec<String>,
}

impl Refused {
    /// What is said beside a knob.
    pub fn of(&self, name: &str) -> Option<&str> {
        self.by_knob.iter().find(|(knob, _)| *knob == name).map(|(_, why)| why.as_str())
    }

    /// A refusal of a field, said beside the first of the turned knobs that moves it.
    pub fn at<'a>(turned: impl Iterator<Item = &'a str>, field: &str, why: String) -> Refused {
        let mut refused = Refused::default();
        refused.say(turned, field, why);
        refused
    }

    fn say<'a>(&mut self, turned: impl Iterator<Item = &'a str>, field: &str, why: String) {
        let names: Vec<&str> = turned.collect();
        let knob = KNOBS.iter().find(|knob| names.contains(&knob.name) && knob.moves(field));
        // What contradicts itself is named by either of two fields; a lone turned knob is the one that was in the way.
        let lone = || match names.as_slice() {
            [one] => KNOBS.iter().find(|knob| knob.name == *one),
            _ => None,
        };
        match knob.or_else(lone) {
            Some(knob) => self.by_knob.push((knob.name, why)),
            None => self.other.push(why),
        }
    }
}

/// The base with its knobs turned.
///
/// # Errors
/// What is refused, each beside its knob.
pub fn turn(base: &Case, turned: &std::collections::BTreeMap<&'static str, String>) -> Result<Case, Refused> {
    let mut refused = Refused::default();
    let mut changes = Vec::new();
    // The order of the knobs, so that how it is kept is known before for how long.
    for knob in of(base.route.material.class) {
        let Some(text) = turned.get(knob.name) else { continue };
        match knob.changes(base, text) {
            Ok(list) => changes.extend(list),
            Err(why) => refused.by_knob.push((knob.name, why)),
        }
    }
    if !refused.by_knob.is_empty() {
        return Err(refused);
    }
    let given: Vec<(&str, &str)> = changes.iter().map(|(path, text)| (*path, text.as_str())).collect();
    with(base, &given).map_err(|problems| {
        for problem in &problems.list {
            let text = problem.to_string();
            // Lines of a file that nobody wrote say nothing.
            let why = text.split_once(": ").map_or(text.as_str(), |(_, rest)| rest).to_owned();
            refused.say(turned.keys().copied(), &problem.field, why);
        }
        refused
    })
}

/// A number without a tail of conversion digits.
pub fn short(value: f64) -> String {
    format!("{}", (value * 1e4).round() / 1e4)
}
