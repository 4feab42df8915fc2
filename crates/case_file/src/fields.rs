//! The tables and fields of a case file, each declared once.
//!
//! What an absent field means is part of the list: [`Absent`], with the exceptions of [`Rule`] in one place.

use terms::ranges::{self, Range};
use terms::{
    Agent, Alloy, Astringent, CaseCode, CordOrder, Displacement, Exposure, FabricationKind, GypsumType,
    HoldingKind, ImpressionClass, LotLabel, MAX_ABUTMENTS, MixMethod, Mobility, Purpose, SulcusState,
    Technique, Tooth, TrayKind, TrayMaterial, UndercutPlace, Unit, Withdrawal,
};

use super::asked::{PATIENT_FIELDS, VISIT_FIELDS};
pub use super::rules::{Context, Rule};
use super::seen::{OBSERVATION, STAMP};
use super::{MAX_ENTRIES, quantity};

/// A table of the case file.
#[derive(Debug)]
pub struct Table {
    /// Path, such as `route.tray`; empty for the top of the file.
    pub path: &'static str,
    /// Whether it must, may or may repeatedly be given.
    pub presence: Presence,
    /// What the table holds.
    pub about: &'static str,
    /// Its fields, in the order in which they are written.
    pub fields: &'static [Field],
}

/// How often a table is given.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Presence {
    /// Once.
    Required,
    /// Once or not at all.
    Optional,
    /// Any number up to `most`, in the order of time.
    Repeated {
        /// The most that are read.
        most: usize,
    },
}

/// A field of a table.
#[derive(Clone, Copy, Debug)]
pub struct Field {
    /// Name within its table.
    pub name: &'static str,
    /// What may be written.
    pub kind: Kind,
    /// What it means when nothing is written.
    pub absent: Absent,
    /// What the field says.
    pub about: &'static str,
}

/// What may be written in a field.
#[derive(Clone, Copy, Debug)]
pub enum Kind {
    /// [`super::SCHEMA_VERSION`].
    Version,
    /// A [`CaseCode`].
    Code,
    /// Free text of at most this many characters; lines only where `lines` says so.
    Text {
        /// Most characters.
        max_chars: usize,
        /// Whether it may run over several lines.
        lines: bool,
    },
    /// Identifier of a product record.
    Product,
    /// A [`LotLabel`].
    Lot,
    /// `true` or `false`.
    Switch,
    /// `true` alone: a sign that was seen.
    Sign,
    /// A date and time with its offset from UTC.
    Moment,
    /// One of these words.
    Word(&'static [&'static str]),
    /// A fact that is true or false.
    YesNo,
    /// A [`Tooth`].
    Tooth,
    /// A quantity with a unit.
    Quantity {
        /// What is allowed, and the unit in which it is shown.
        range: Range,
        /// Words that stand for values, SI.
        words: &'static [(&'static str, f64)],
    },
}

/// What it means when a field is absent.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Absent {
    /// It must be given.
    Required,
    /// Nothing is said: no text, `false` for a switch, no limit of the case's own.
    Nothing,
    /// The fact is unknown.
    Unknown,
    /// The fact is unknown, and "not applicable" is no answer to it.
    Asked,
    /// The fact is not applicable where the rule says so, and unknown elsewhere.
    Unless(Rule),
    /// It must be given together with this field of the same table, and never without it.
    With(&'static str),
    /// Exactly one of the fields of the table marked so must be given.
    OneOfThese,
}

/// Every table, in the order in which a case file is written.
pub const TABLES: &[Table] = &[
    Table { path: "", presence: Presence::Required, about: "One case.", fields: CASE },
    Table {
        path: "situation",
        presence: Presence::Required,
        about: "The mouth and the room.",
        fields: SITUATION,
    },
    Table {
        path: "situation.abutment",
        presence: Presence::Repeated { most: MAX_ABUTMENTS },
        about: "A prepared tooth, in the order of syringing; with none listed nothing is known of the teeth.",
        fields: ABUTMENT,
    },
    Table {
        path: "patient",
        presence: Presence::Optional,
        about: "Facts about the patient that cautions hang on; never a name.",
        fields: PATIENT_FIELDS,
    },
    Table {
        path: "visit",
        presence: Presence::Optional,
        about: "What is done and used at this visit beside the route.",
        fields: VISIT_FIELDS,
    },
    Table { path: "route", presence: Presence::Required, about: "How the copy is made.", fields: ROUTE },
    Table {
        path: "route.material",
        presence: Presence::Required,
        about: "The material in the tray.",
        fields: MATERIAL,
    },
    Table {
        path: "route.wash",
        presence: Presence::Optional,
        about: "The second material; absent only with the technique \"single viscosity\".",
        fields: MATERIAL,
    },
    Table { path: "route.tray", presence: Presence::Required, about: "The tray.", fields: TRAY },
    Table {
        path: "route.mix",
        presence: Presence::Required,
        about: "How the impression material is mixed.",
        fields: MIX,
    },
    Table {
        path: "route.baths",
        presence: Presence::Optional,
        about: "The baths of agar, in the tray or from the syringe.",
        fields: BATHS,
    },
    Table {
        path: "route.holding",
        presence: Presence::Repeated { most: MAX_ENTRIES },
        about: "How the impression is kept between removal and pouring; absent means poured at once.",
        fields: HOLDING,
    },
    Table { path: "route.stone", presence: Presence::Required, about: "The stone mix.", fields: STONE },
    Table {
        path: "route.lots",
        presence: Presence::Optional,
        about: "The lots that are used, by the labels printed on them; they change no forecast.",
        fields: LOTS,
    },
    Table {
        path: "route.restoration",
        presence: Presence::Optional,
        about: "What is made on the die; absent for a study cast, elsewhere nothing is said about it.",
        fields: RESTORATION,
    },
    Table {
        path: "route.plan",
        presence: Presence::Optional,
        about: "Planned times; a stamp replaces the plan of its step.",
        fields: PLAN,
    },
    Table {
        path: "stamps",
        presence: Presence::Repeated { most: MAX_ENTRIES },
        about: "The recorded moment of a step, each step once.",
        fields: STAMP,
    },
    Table {
        path: "observations",
        presence: Presence::Repeated { most: MAX_ENTRIES },
        about: "A reading, a sign that was waited for, or a line of the inspection.",
        fields: OBSERVATION,
    },
    Table {
        path: "limits",
        presence: Presence::Optional,
        about: "Limits of the fit that the case sets for itself; absent ones come from the ledger.",
        fields: LIMITS,
    },
];

const CASE: &[Field] = &[
    field("schema_version", Kind::Version, Absent::Required, "Version of this format."),
    field("code", Kind::Code, Absent::Required, "Code under which the case is kept; never a name."),
    field(
        "title",
        Kind::Text { max_chars: 80, lines: false },
        Absent::Nothing,
        "What the case is about. It is printed: no name, date of birth or address belongs in it.",
    ),
    field("demo", Kind::Switch, Absent::Nothing, "Whether the case is invented; absent means it is not."),
    field(
        "note",
        Kind::Text { max_chars: 4000, lines: true },
        Absent::Nothing,
        "Remarks; no name, date of birth or address belongs in them.",
    ),
];

const SITUATION: &[Field] = &[
    word("purpose", Purpose::WORDS, Absent::Required, "What the copy is for."),
    quantity("room_temperature", ranges::ROOM_TEMPERATURE, Absent::Unknown, "Air of the room."),
    quantity("room_humidity", ranges::HUMIDITY, Absent::Unknown, "Relative humidity of the room."),
    draught("draught", Absent::Unknown, "Air speed over an impression lying in the room."),
    quantity(
        "water_temperature",
        ranges::WATER_TEMPERATURE,
        Absent::Unless(Rule::NotFromPowder),
        "Water that the powder is added to.",
    ),
    quantity(
        "tooth_temperature",
        ranges::TOOTH_TEMPERATURE,
        Absent::Unknown,
        "Surface of the tooth before seating.",
    ),
    quantity(
        "die_diameter",
        ranges::DIE_DIAMETER,
        Absent::Unknown,
        "Diameter of the prepared tooth at half its height.",
    ),
    quantity("die_height", ranges::DIE_HEIGHT, Absent::Unknown, "Height of the preparation."),
    quantity("convergence", ranges::CONVERGENCE, Absent::Unknown, "Total occlusal convergence."),
    quantity(
        "span",
        ranges::SPAN,
        Absent::Unless(Rule::OneTooth),
        "Distance between the outermost abutments.",
    ),
    quantity(
        "undercut",
        ranges::UNDERCUT,
        Absent::Unknown,
        "Deepest undercut that the impression must pass.",
    ),
    word("undercut_at", UndercutPlace::WORDS, Absent::Unknown, "Where that undercut lies."),
    word("mobility", Mobility::WORDS, Absent::Unknown, "Mobility of the loosest tooth in the impression."),
    yes_no("latex", "Whether latex touches the material or the teeth."),
    yes_no("bleeding", "Whether the gum bleeds."),
    yes_no("fresh_resin", "Whether the material meets a fresh core or provisional of resin."),
    yes_no("cement_residue", "Whether temporary cement is left on the preparation."),
    word("astringent", Astringent::WORDS, Absent::Unknown, "Medicament on cord or in paste."),
    yes_no(
        "astringent_rinsed",
        "Whether the medicament was rinsed off for half a minute and the tooth looked at.",
    ),
];

const ABUTMENT: &[Field] = &[
    field("tooth", Kind::Tooth, Absent::Unknown, "Which tooth; each once, all of one jaw."),
    quantity(
        "margin_depth",
        ranges::MARGIN_DEPTH,
        Absent::Unknown,
        "Depth of the finish line below the gum; zero for one at the gum or above it.",
    ),
    word("sulcus", SulcusState::WORDS, Absent::Unknown, "What stands in its sulcus when the material comes."),
];

const ROUTE: &[Field] = &[
    word("displacement", Displacement::WORDS, Absent::Unknown, "How the gum is displaced."),
    word(
        "cords_leave",
        CordOrder::WORDS,
        Absent::Unless(Rule::NoCordOut),
        "When the cords leave, where several teeth are syringed.",
    ),
    word("technique", Technique::WORDS, Absent::Required, "How the materials are brought to the teeth."),
    quantity(
        "wash_thickness",
        ranges::WASH,
        Absent::Unknown,
        "What the second material is thick over the prepared tooth.",
    ),
];

const MATERIAL: &[Field] = &[
    word("class", ImpressionClass::WORDS, Absent::Required, "Class of impression material."),
    field("product", Kind::Product, Absent::Nothing, "Product record; without one the class stands for it."),
];

const TRAY: &[Field] = &[
    word("kind", TrayKind::WORDS, Absent::Required, "Kind of tray."),
    word("material", TrayMaterial::WORDS, Absent::Required, "What the tray is made of."),
    quantity("relief", ranges::RELIEF, Absent::Unknown, "Space for the material at the walls."),
    quantity("ceiling", ranges::RELIEF, Absent::Unknown, "Space for the material over the top."),
    quantity("wall", ranges::TRAY_WALL, Absent::Unknown, "Thickness of the tray wall."),
    yes_no("adhesive", "Whether adhesive covers the tray."),
    yes_no("perforated", "Whether the tray is perforated or has retentive rims."),
];

const MIX: &[Field] = &[
    word("method", MixMethod::WORDS, Absent::Required, "How the material is mixed."),
    quantity("powder", ranges::POWDER, Absent::Unless(Rule::NotFromPowder), "Powder of the mix."),
    quantity("water", ranges::WATER, Absent::Unless(Rule::NotFromPowder), "Water of the mix."),
];

const BATHS: &[Field] = &[
    quantity("tube_diameter", ranges::TUBE, Absent::Unknown, "Diameter of the tube."),
    quantity(
        "boil_temperature",
        ranges::BOIL_TEMPERATURE,
        Absent::Unknown,
        "Boiling bath; water boils lower on a mountain.",
    ),
    quantity("boil", ranges::BATH_TIME, Absent::Unknown, "Time in the boiling bath."),
    yes_no("boiled_before", "Whether this tube has been boiled before."),
    quantity("store_temperature", ranges::BATH_TEMPERATURE, Absent::Unknown, "Storage bath."),
    quantity("store", ranges::STORE_TIME, Absent::Unknown, "Time in the storage bath."),
    quantity("temper_temperature", ranges::BATH_TEMPERATURE, Absent::Unknown, "Tempering bath."),
    quantity("temper", ranges::BATH_TIME, Absent::Unknown, "Time in the tempering bath."),
    quantity("coolant_temperature", ranges::COOLANT_TEMPERATURE, Absent::Unknown, "Water through the tray."),
    quantity(
        "syringe_temperature",
        ranges::BATH_TEMPERATURE,
        Absent::Unknown,
        "Agar from the syringe when it reaches the tooth.",
    ),
];

const HOLDING: &[Field] = &[
    word("kind", HoldingKind::WORDS, Absent::Required, "How the impression is kept."),
    quantity("duration", ranges::HOLD_DURATION, Absent::Required, "For how long; all segments together too."),
    quantity(
        "temperature",
        ranges::HOLDING_TEMPERATURE,
        Absent::Unknown,
        "Temperature there; unknown means that of the room.",
    ),
    quantity(
        "humidity",
        ranges::HUMIDITY,
        Absent::Unless(Rule::InLiquid),
        "Relative humidity there; unknown means that of the room, or what is usual in a sealed bag.",
    ),
    draught("draught", Absent::Unless(Rule::NotInAir), "Air speed there; unknown means that of the room."),
    word("exposure", Exposure::WORDS, Absent::Unless(Rule::NotInAir), "Which way the open face looks."),
    word(
        "agent",
        Agent::WORDS,
        Absent::Unless(Rule::NotDisinfected),
        "Disinfectant sprayed on or lain in; \"not applicable\" for plain water.",
    ),
    quantity(
        "concentration",
        ranges::CONCENTRATION,
        Absent::Unless(Rule::NotDisinfected),
        "Active substance of the disinfectant by mass.",
    ),
    quantity(
        "labelled_contact",
        ranges::CONTACT,
        Absent::Unless(Rule::NotDisinfected),
        "Least contact that the label of the disinfectant asks for.",
    ),
];

const LOTS: &[Field] = &[
    field("material", Kind::Lot, Absent::Nothing, "Of the material in the tray."),
    field("wash", Kind::Lot, Absent::Nothing, "Of the second material."),
    field("stone", Kind::Lot, Absent::Nothing, "Of the stone."),
];

const STONE: &[Field] = &[
    word("gypsum", GypsumType::WORDS, Absent::Required, "Type of ISO 6873."),
    field("product", Kind::Product, Absent::Nothing, "Product record; without one the type stands for it."),
    quantity("powder", ranges::STONE_POWDER, Absent::Unknown, "Powder of the stone mix."),
    quantity("water", ranges::STONE_WATER, Absent::Unknown, "Water of the stone mix."),
];

const RESTORATION: &[Field] = &[
    word("fabrication", FabricationKind::WORDS, Absent::Required, "How the restoration is made."),
    quantity("spacer", ranges::SPACER, Absent::Unknown, "Designed space at the walls, normal to them."),
    quantity(
        "spacer_coats",
        ranges::COATS,
        Absent::Unknown,
        "Coats of painted spacer, where its thickness is not known.",
    ),
    word("alloy", Alloy::WORDS, Absent::Unknown, "Alloy of a casting."),
    quantity("film", ranges::FILM, Absent::Unknown, "Thickness of the luting film."),
];

const PLAN: &[Field] = &[
    quantity("mixing", ranges::MIXING, Absent::Unknown, "Duration of mixing."),
    quantity("seat_after", ranges::SEAT_AFTER, Absent::Unknown, "Tray in place, from the start of mixing."),
    quantity(
        "paste_after",
        ranges::ROUND,
        Absent::Unknown,
        "From the cord, or the rinsed paste, leaving to the material reaching the first tooth.",
    ),
    quantity("per_tooth", ranges::ROUND, Absent::Unknown, "From one prepared tooth to the next."),
    quantity(
        "tray_after",
        ranges::ROUND,
        Absent::Unknown,
        "From the last prepared tooth to the tray in place; the round begins after mixing has ended.",
    ),
    quantity(
        "remove_after",
        ranges::REMOVE_AFTER,
        Absent::Unknown,
        "Removal, from the tray being in place; unknown means as early as forecast and instruction allow.",
    ),
    word("withdrawal", Withdrawal::WORDS, Absent::Unknown, "How the tray is taken out."),
    quantity(
        "separate_after",
        ranges::SEPARATE_AFTER,
        Absent::Unknown,
        "Separation, from pouring; unknown means as early as forecast and instruction allow.",
    ),
    quantity(
        "second_pour_after",
        ranges::SECOND_POUR_AFTER,
        Absent::Unknown,
        "A second pour, from separation; unknown means after the usual rest.",
    ),
];

const LIMITS: &[Field] = &[
    quantity("opening", ranges::FIT_LIMIT, Absent::Nothing, "Largest opening at the margin."),
    quantity("wall_space", ranges::FIT_LIMIT, Absent::Nothing, "Largest space at the walls."),
];

/// Words for the air speed over an impression. The speeds are conventions of this format.
const DRAUGHTS: &[(&str, f64)] = &[("still", 0.0), ("light", 0.2), ("strong", 0.8)];

/// The word that leaves a fact open.
pub const UNKNOWN: &str = "unknown";
/// The words that say that the question does not arise.
pub const NOT_APPLICABLE: &str = "not applicable";

pub(super) const fn field(name: &'static str, kind: Kind, absent: Absent, about: &'static str) -> Field {
    Field { name, kind, absent, about }
}

pub(super) const fn word(
    name: &'static str,
    words: &'static [&'static str],
    absent: Absent,
    about: &'static str,
) -> Field {
    field(name, Kind::Word(words), absent, about)
}

pub(super) const fn quantity(name: &'static str, range: Range, absent: Absent, about: &'static str) -> Field {
    field(name, Kind::Quantity { range, words: &[] }, absent, about)
}

const fn draught(name: &'static str, absent: Absent, about: &'static str) -> Field {
    field(name, Kind::Quantity { range: ranges::AIR_SPEED, words: DRAUGHTS }, absent, about)
}

const fn yes_no(name: &'static str, about: &'static str) -> Field {
    field(name, Kind::YesNo, Absent::Unknown, about)
}

impl Table {
    /// Name within the table above it.
    pub fn name(&self) -> &'static str {
        self.path.rsplit('.').next().unwrap_or(self.path)
    }

    /// The tables directly below this one.
    pub fn children(&self) -> impl Iterator<Item = &'static Table> {
        let path = self.path;
        TABLES.iter().filter(move |table| !table.path.is_empty() && parent(table.path) == path)
    }
}

impl Field {
    /// Whether "unknown" may be written.
    pub fn is_fact(&self) -> bool {
        matches!(self.absent, Absent::Unknown | Absent::Asked | Absent::Unless(_) | Absent::With(_))
    }

    /// Whether "not applicable" may be written.
    pub fn may_not_arise(&self) -> bool {
        self.is_fact() && self.absent != Absent::Asked
    }

    /// The words that may be written in quotes beside a quantity or a truth value.
    pub fn words(&self) -> Vec<&'static str> {
        let mut words = match self.kind {
            Kind::Word(words) => words.to_vec(),
            Kind::Quantity { words, .. } => words.iter().map(|(word, _)| *word).collect(),
            _ => Vec::new(),
        };
        if self.is_fact() {
            words.push(UNKNOWN);
        }
        if self.may_not_arise() {
            words.push(NOT_APPLICABLE);
        }
        words
    }

    /// What is allowed, as it appears in a message.
    pub fn allowed(&self) -> String {
        let first = match self.kind {
            Kind::Version => super::SCHEMA_VERSION.to_string(),
            Kind::Code => CaseCode::ALLOWED.to_owned(),
            Kind::Text { max_chars, lines: false } => {
                format!("text of at most {max_chars} characters on one line")
            }
            Kind::Text { max_chars, lines: true } => format!("text of at most {max_chars} characters"),
            Kind::Lot => LotLabel::ALLOWED.to_owned(),
            Kind::Product => "lower-case letters, digits and hyphens, such as \"demo-stone-4\"".to_owned(),
            Kind::Switch => "true or false".to_owned(),
            Kind::Sign => "true".to_owned(),
            Kind::Moment => "a date and time with its offset from UTC in the years 2000 to 2100, such as \
                             2026-03-02T09:15:00+01:00"
                .to_owned(),
            Kind::Tooth => Tooth::ALLOWED.to_owned(),
            Kind::Word(_) => String::new(),
            Kind::YesNo => "true, false".to_owned(),
            Kind::Quantity { range, .. } => {
                format!("{} with the unit {}", range.allowed(), quantity::spellings_in_words(range.unit))
            }
        };
        let words = self.words().iter().map(|word| format!("\"{word}\"")).collect::<Vec<_>>().join(", ");
        match (first.is_empty(), words.is_empty()) {
            (true, _) => words,
            (false, true) => first,
            (false, false) if matches!(self.kind, Kind::Quantity { .. } | Kind::Tooth) => {
                format!("{first}, or {words}")
            }
            (false, false) => format!("{first}, {words}"),
        }
    }
}

/// Units in which a quantity may be written, that of its range first.
pub fn units(range: &Range) -> Vec<Unit> {
    let mut units = range.unit.same_dimension().to_vec();
    units.sort_by_key(|unit| *unit != range.unit);
    units
}

/// Path of the table that holds this path; empty for the top.
fn parent(path: &str) -> &str {
    path.rsplit_once('.').map_or("", |(above, _)| above)
}
