//! The dictionary of facts that rules stand on: each with its kind, its question, and how it is read from a case.
//!
//! The answers to the questions of patient and visit are facts under their own names, `patient.device`. The others are read from situation,
//! route, stamps and findings; some are derived, and are unknown where what they are derived from is.

use std::sync::OnceLock;

use terms::{
    Answer, AnswerKind, Astringent, Dilution, Displacement, Fact as Known, Fault, GypsumType, HoldingKind,
    ImpressionClass, Mobility, PATIENT, Purpose, Range, Reading, Step, SulcusState, Technique, TrayKind,
    TrayMaterial, VISIT, ranges,
};

use crate::View;

type Reader = fn(&View) -> Known<Answer>;

/// How a fact is read.
enum From {
    Patient(&'static str),
    Visit(&'static str),
    Case(Reader),
}

struct Row {
    name: String,
    kind: AnswerKind,
    asks: &'static str,
    from: From,
}

/// A fact of the dictionary.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Fact(usize);

impl Fact {
    /// The fact of this name.
    pub fn named(name: &str) -> Option<Fact> {
        rows().iter().position(|row| row.name == name).map(Fact)
    }

    /// Every fact.
    pub fn all() -> impl Iterator<Item = Fact> {
        (0..rows().len()).map(Fact)
    }

    fn row(self) -> Option<&'static Row> {
        rows().get(self.0)
    }

    /// Its name.
    pub fn name(self) -> &'static str {
        self.row().map_or("", |row| &row.name)
    }

    /// What it can take.
    pub fn kind(self) -> AnswerKind {
        self.row().map_or(AnswerKind::YesNo, |row| row.kind)
    }

    /// The question that asks for it.
    pub fn asks(self) -> &'static str {
        self.row().map_or("", |row| row.asks)
    }
}

/// The values of all facts in one case.
pub struct Read(Vec<Known<Answer>>);

impl Read {
    /// Reads a case.
    pub fn of(view: &View) -> Read {
        let value = |row: &Row| match row.from {
            From::Patient(name) => view.patient.get(name).unwrap_or(Known::Unknown),
            From::Visit(name) => view.visit.get(name).unwrap_or(Known::Unknown),
            From::Case(read) => read(view),
        };
        Read(rows().iter().map(value).collect())
    }

    /// The value of a fact.
    pub fn get(&self, fact: Fact) -> Known<Answer> {
        self.0.get(fact.0).copied().unwrap_or(Known::Unknown)
    }
}

/// A known value in the words and units of the trade; none where it is not known.
pub fn value_in_words(fact: Fact, value: Known<Answer>) -> Option<String> {
    match (value.known()?, fact.kind()) {
        (Answer::Flag(flag), _) => Some(if flag { "yes" } else { "no" }.to_owned()),
        (Answer::Word(word), _) => Some(word.to_owned()),
        (Answer::Number(si), AnswerKind::Quantity(range)) => Some(in_unit(si, range)),
        (Answer::Number(si), _) => Some(format!("{si}")),
    }
}

fn in_unit(si: f64, range: Range) -> String {
    let value = range.unit.from_si(si);
    format!("{} {}", (value * 100.0).round() / 100.0, range.unit.symbol())
}

fn rows() -> &'static [Row] {
    static ROWS: OnceLock<Vec<Row>> = OnceLock::new();
    ROWS.get_or_init(|| {
        let patient = PATIENT.iter().map(|question| Row {
            name: format!("patient.{}", question.name),
            kind: question.kind,
            asks: question.asks,
            from: From::Patient(question.name),
        });
        let visit = VISIT.iter().map(|question| Row {
            name: format!("visit.{}", question.name),
            kind: question.kind,
            asks: question.asks,
            from: From::Visit(question.name),
        });
        let case = CASE.iter().map(|&(name, kind, asks, read)| Row {
            name: name.to_owned(),
            kind,
            asks,
            from: From::Case(read),
        });
        patient.chain(visit).chain(case).collect()
    })
}

const fn words(list: &'static [&'static str]) -> AnswerKind {
    AnswerKind::Word(list)
}

const fn size(range: Range) -> AnswerKind {
    AnswerKind::Quantity(range)
}

fn flag(holds: bool) -> Known<Answer> {
    Known::Known(Answer::Flag(holds))
}

fn map<T: Copy>(fact: Known<T>, answer: impl Fn(T) -> Answer) -> Known<Answer> {
    match fact {
        Known::Known(value) => Known::Known(answer(value)),
        Known::Unknown => Known::Unknown,
        Known::NotApplicable => Known::NotApplicable,
    }
}

fn yes(fact: Known<bool>) -> Known<Answer> {
    map(fact, Answer::Flag)
}

fn number(fact: Known<f64>) -> Known<Answer> {
    map(fact, Answer::Number)
}

/// Facts that are read from situation, route, stamps and findings.
const CASE: &[(&str, AnswerKind, &str, Reader)] = &[
    ("case.purpose", words(Purpose::WORDS), "What is the copy for?", |view| {
        Known::Known(Answer::Word(view.situation.purpose.word()))
    }),
    ("case.has_die", AnswerKind::YesNo, "Is a prepared tooth copied?", |view| {
        flag(view.situation.purpose.has_die())
    }),
    ("room.temperature", size(ranges::ROOM_TEMPERATURE), "How warm is the room?", |view| {
        number(view.situation.room_temperature_k)
    }),
    ("room.humidity", size(ranges::HUMIDITY), "How humid is the room?", |view| {
        number(view.situation.room_humidity)
    }),
    ("water.temperature", size(ranges::WATER_TEMPERATURE), "How warm is the water for the powder?", |view| {
        number(view.situation.water_temperature_k)
    }),
    (
        "touch.latex",
        AnswerKind::YesNo,
        "Do gloves, dam or anything else of latex touch material or teeth?",
        |view| yes(view.situation.latex),
    ),
    (
        "touch.fresh_resin",
        AnswerKind::YesNo,
        "Does the material meet a fresh core or provisional of resin?",
        |view| yes(view.situation.fresh_resin),
    ),
    ("touch.cement", AnswerKind::YesNo, "Is temporary cement left on the preparation?", |view| {
        yes(view.situation.cement_residue)
    }),
    ("gum.bleeding", AnswerKind::YesNo, "Does the gum bleed at the margin?", |view| {
        yes(view.situation.bleeding)
    }),
    ("medicament", words(Astringent::WORDS), "Which medicament is on the cord or in the paste?", |view| {
        map(view.situation.astringent, |medicament| Answer::Word(medicament.word()))
    }),
    (
        "medicament.adrenaline",
        AnswerKind::YesNo,
        "Is adrenaline on the cord, or used as a second medicament?",
        |view| adrenaline_on_cord(view),
    ),
    (
        "medicament.rinsed",
        AnswerKind::YesNo,
        "Is the medicament rinsed off for half a minute, and the tooth looked at?",
        |view| yes(view.situation.astringent_rinsed),
    ),
    ("teeth.mobility", words(Mobility::WORDS), "How loose is the loosest tooth in the impression?", |view| {
        map(view.situation.mobility, |mobility| Answer::Word(mobility.word()))
    }),
    ("teeth.undercut", size(ranges::UNDERCUT), "How deep is the deepest undercut?", |view| {
        number(view.situation.undercut_m)
    }),
    (
        "tray.undercut_share",
        size(ranges::UNDERCUT_SHARE),
        "How deep is the undercut, and how wide the space in the tray?",
        |view| match (view.situation.undercut_m, view.route.tray.relief_m) {
            (Known::Known(undercut_m), Known::Known(relief_m)) if relief_m > 0.0 => {
                Known::Known(Answer::Number(undercut_m / relief_m))
            }
            (Known::NotApplicable, _) => Known::NotApplicable,
            _ => Known::Unknown,
        },
    ),
    ("teeth.several", AnswerKind::YesNo, "Are more than two teeth prepared?", |view| {
        match (view.situation.purpose, view.situation.abutments.len()) {
            (Purpose::Bridge, 0) => Known::Unknown,
            (_, count) => flag(count > 2),
        }
    }),
    ("margin.depth", size(ranges::MARGIN_DEPTH), "How far below the gum is the deepest margin?", deepest),
    ("sulcus", words(SulcusState::WORDS), "What stands in the sulcus: nothing, damp, fluid, blood?", wettest),
    ("route.displacement", words(Displacement::WORDS), "How is the gum displaced?", |view| {
        map(view.route.displacement, |displacement| Answer::Word(displacement.word()))
    }),
    (
        "route.cords_leave",
        words(terms::CordOrder::WORDS),
        "Do the cords leave all first, or one by one?",
        |view| map(view.route.cords_leave, |order| Answer::Word(order.word())),
    ),
    ("route.technique", words(Technique::WORDS), "Which technique?", |view| {
        Known::Known(Answer::Word(view.route.technique.word()))
    }),
    ("route.putty", AnswerKind::YesNo, "Is a putty used?", |view| {
        flag(matches!(view.route.technique, Technique::PuttyWashOneStep | Technique::PuttyWashTwoStep))
    }),
    ("route.hand_mixed", AnswerKind::YesNo, "Is it mixed by hand?", |view| {
        flag(view.route.mix.method == terms::MixMethod::Hand)
    }),
    ("route.material", words(ImpressionClass::WORDS), "Which material is in the tray?", |view| {
        Known::Known(Answer::Word(view.route.material.class.word()))
    }),
    ("route.alginate_alone", AnswerKind::YesNo, "Is it alginate without agar?", |view| {
        flag(view.route.material.class.is_alginate() && view.route.wash.is_none())
    }),
    ("uses.addition_silicone", AnswerKind::YesNo, "Is an addition silicone used?", |view| {
        flag(uses(view, ImpressionClass::AdditionSilicone))
    }),
    ("uses.condensation_silicone", AnswerKind::YesNo, "Is a condensation silicone used?", |view| {
        flag(uses(view, ImpressionClass::CondensationSilicone))
    }),
    ("uses.polyether", AnswerKind::YesNo, "Is a polyether used?", |view| {
        flag(uses(view, ImpressionClass::Polyether))
    }),
    ("uses.hybrid", AnswerKind::YesNo, "Is a hybrid with polyether used?", |view| {
        flag(uses(view, ImpressionClass::VinylPolyetherHybrid))
    }),
    ("uses.polysulfide", AnswerKind::YesNo, "Is a polysulfide used?", |view| {
        flag(uses(view, ImpressionClass::Polysulfide))
    }),
    ("uses.alginate", AnswerKind::YesNo, "Is alginate used?", |view| {
        flag(uses(view, ImpressionClass::Alginate) || uses(view, ImpressionClass::ExtendedAlginate))
    }),
    ("uses.agar", AnswerKind::YesNo, "Is agar used?", |view| flag(uses(view, ImpressionClass::Agar))),
    ("uses.elastomer", AnswerKind::YesNo, "Is a rubber used?", |view| {
        flag(!view.route.material.class.is_hydrocolloid())
    }),
    ("tray.kind", words(TrayKind::WORDS), "Which tray?", |view| {
        Known::Known(Answer::Word(view.route.tray.kind.word()))
    }),
    ("tray.material", words(TrayMaterial::WORDS), "What is the tray made of?", |view| {
        Known::Known(Answer::Word(view.route.tray.material.word()))
    }),
    ("tray.adhesive", AnswerKind::YesNo, "Is the tray painted with adhesive?", |view| {
        yes(view.route.tray.adhesive)
    }),
    (
        "agar.temper_bath",
        size(ranges::BATH_TEMPERATURE),
        "How warm is the bath that agar is tempered in?",
        |view| match uses(view, ImpressionClass::Agar) {
            true => number(view.route.baths.temper_temperature_k),
            false => Known::NotApplicable,
        },
    ),
    (
        "keeping.disinfected",
        AnswerKind::YesNo,
        "Is the impression disinfected before it leaves the room?",
        |view| disinfected(view),
    ),
    (
        "keeping.short_contact",
        AnswerKind::YesNo,
        "Is the disinfectant left for as long as its label says?",
        |view| short_contact(view),
    ),
    (
        "keeping.immersed",
        size(ranges::HOLD_DURATION),
        "How long does the impression lie in a liquid?",
        |view| {
            let kept = view.route.holding.iter().filter(|segment| segment.kind == HoldingKind::Immersed);
            Known::Known(Answer::Number(kept.map(|segment| segment.duration_s).fold(0.0, f64::max)))
        },
    ),
    ("keeping.agent_strength", size(ranges::CONCENTRATION), "How strong is the hypochlorite?", |view| {
        hypochlorite(view)
    }),
    ("keeping.glutaraldehyde", AnswerKind::YesNo, "Is glutaraldehyde used?", |view| {
        uses_agent(view, terms::Agent::Glutaraldehyde)
    }),
    ("keeping.iodophor", AnswerKind::YesNo, "Is an iodophor used?", |view| {
        uses_agent(view, terms::Agent::Iodophor)
    }),
    ("keeping.wait", size(ranges::HOLD_DURATION), "How long from removal to pouring?", |view| {
        match view.route.holding.is_empty() {
            true => Known::Unknown,
            false => Known::Known(Answer::Number(view.route.planned_holding_s())),
        }
    }),
    ("stone.type", words(GypsumType::WORDS), "Which stone?", |view| {
        Known::Known(Answer::Word(view.route.stone.gypsum.word()))
    }),
    ("stone.second_pour", AnswerKind::YesNo, "Is a second cast poured from the same impression?", |view| {
        match view.route.plan.second_pour_after_s {
            Known::Known(_) => flag(true),
            Known::Unknown => Known::Unknown,
            Known::NotApplicable => flag(false),
        }
    }),
    (
        "visit.adrenaline_total",
        size(ranges::ADRENALINE),
        "How many cartridges, what does each hold, and how much adrenaline is in it?",
        |view| number(adrenaline_total(view)),
    ),
    (
        "visit.cords_missing",
        AnswerKind::YesNo,
        "Have as many cords and pieces come out as went in?",
        |view| cords_missing(view),
    ),
    ("done.removed", AnswerKind::YesNo, "Has the impression been taken out?", |view| {
        flag(view.stamps.iter().any(|stamp| stamp.step == Step::Removed))
    }),
    ("found.tear", AnswerKind::YesNo, "Is the film torn at the margin?", |view| found(view, Fault::Tear)),
    ("found.blood", AnswerKind::YesNo, "Is there blood or fluid at the margin of the impression?", |view| {
        found(view, Fault::BloodOrFluid)
    }),
    ("found.lifted", AnswerKind::YesNo, "Has the material lifted from the tray?", |view| {
        found(view, Fault::LiftedFromTray)
    }),
    (
        "found.margin_missing",
        AnswerKind::YesNo,
        "Is a part of the margin missing from the impression?",
        |view| found(view, Fault::MarginMissing),
    ),
];

fn uses(view: &View, class: ImpressionClass) -> bool {
    view.route.material.class == class || view.route.wash.as_ref().is_some_and(|wash| wash.class == class)
}

/// Depth of the deepest margin; unknown while one tooth is not described.
fn deepest(view: &View) -> Known<Answer> {
    let situation = view.situation;
    if !situation.purpose.has_die() {
        return Known::NotApplicable;
    }
    if situation.abutments.is_empty() {
        return Known::Unknown;
    }
    let mut most_m: f64 = 0.0;
    for abutment in &situation.abutments {
        match abutment.margin_depth_m {
            Known::Known(depth_m) => most_m = most_m.max(depth_m),
            Known::Unknown => return Known::Unknown,
            Known::NotApplicable => {}
        }
    }
    Known::Known(Answer::Number(most_m))
}

/// The wettest sulcus; blood in one is enough, and less is unknown while one tooth is not described.
fn wettest(view: &View) -> Known<Answer> {
    let situation = view.situation;
    if !situation.purpose.has_die() {
        return Known::NotApplicable;
    }
    let worst = situation.abutments.iter().filter_map(|abutment| abutment.sulcus.known()).max();
    match worst {
        Some(SulcusState::Blood) => Known::Known(Answer::Word(SulcusState::Blood.word())),
        Some(state) if !situation.abutments.iter().any(|abutment| abutment.sulcus.is_unknown()) => {
            Known::Known(Answer::Word(state.word()))
        }
        _ => Known::Unknown,
    }
}

fn disinfected(view: &View) -> Known<Answer> {
    let mut asked = view.route.holding.is_empty();
    for segment in view.route.holding.iter().filter(|segment| segment.kind.may_disinfect()) {
        match segment.agent {
            Known::Known(_) => return flag(true),
            Known::Unknown => asked = true,
            Known::NotApplicable => {}
        }
    }
    if asked { Known::Unknown } else { flag(false) }
}

fn short_contact(view: &View) -> Known<Answer> {
    let mut unknown = false;
    for segment in view.route.holding.iter().filter(|segment| segment.agent.known().is_some()) {
        match segment.labelled_contact_s {
            Known::Known(label_s) if segment.duration_s < label_s - 0.5 => return flag(true),
            Known::Unknown => unknown = true,
            _ => {}
        }
    }
    if unknown { Known::Unknown } else { flag(false) }
}

fn hypochlorite(view: &View) -> Known<Answer> {
    let used = |agent: Known<terms::Agent>| agent == Known::Known(terms::Agent::Hypochlorite);
    let strengths = view.route.holding.iter().filter(|segment| used(segment.agent));
    let mut most = Known::NotApplicable;
    for segment in strengths {
        match (segment.concentration, most) {
            (Known::Known(share), Known::Known(Answer::Number(known))) if share <= known => {}
            (Known::Known(share), _) => most = Known::Known(Answer::Number(share)),
            (Known::Unknown, _) => return Known::Unknown,
            (Known::NotApplicable, _) => {}
        }
    }
    most
}

fn uses_agent(view: &View, agent: terms::Agent) -> Known<Answer> {
    let mut unknown = view.route.holding.is_empty();
    for segment in view.route.holding.iter().filter(|segment| segment.kind.may_disinfect()) {
        match segment.agent {
            Known::Known(known) if known == agent => return flag(true),
            Known::Unknown => unknown = true,
            _ => {}
        }
    }
    if unknown { Known::Unknown } else { flag(false) }
}

/// Whether one of the two medicaments is adrenaline.
fn adrenaline_on_cord(view: &View) -> Known<Answer> {
    let second = match view.visit.get("second_medicament") {
        Some(Known::Known(Answer::Word(word))) => Known::Known(word == Astringent::Adrenaline.word()),
        Some(Known::NotApplicable) => Known::Known(false),
        _ => Known::Unknown,
    };
    let first = match view.situation.astringent {
        Known::Known(medicament) => Known::Known(medicament == Astringent::Adrenaline),
        Known::NotApplicable => Known::Known(false),
        Known::Unknown => Known::Unknown,
    };
    match (first, second) {
        (Known::Known(true), _) | (_, Known::Known(true)) => flag(true),
        (Known::Known(false), Known::Known(false)) => flag(false),
        _ => Known::Unknown,
    }
}

/// Adrenaline of the anaesthetic, kg. Nothing of it is assumed: what a cartridge holds is asked.
pub fn adrenaline_total(view: &View) -> Known<f64> {
    let asked = |name: &str| view.visit.get(name).unwrap_or(Known::Unknown);
    let dilution = match asked("adrenaline") {
        Known::Known(Answer::Word(word)) => Dilution::from_word(word),
        _ => None,
    };
    match (asked("cartridges"), dilution, asked("cartridge_volume")) {
        (Known::Known(Answer::Number(0.0)), ..) | (_, Some(Dilution::None), _) => Known::Known(0.0),
        (Known::Known(Answer::Number(count)), Some(dilution), Known::Known(Answer::Number(volume_m3))) => {
            Known::Known(count * volume_m3 * dilution.kg_m3())
        }
        _ => Known::Unknown,
    }
}

fn cords_missing(view: &View) -> Known<Answer> {
    let asked = |name: &str| view.visit.get(name).unwrap_or(Known::Unknown);
    match (asked("cords_in"), asked("cords_out")) {
        (Known::NotApplicable, _) => Known::NotApplicable,
        (Known::Known(Answer::Number(went_in)), Known::Known(Answer::Number(out))) => flag(out < went_in),
        _ if view.route.displacement.known().is_some_and(|means| !means.has_cord_out()) => {
            Known::NotApplicable
        }
        _ => Known::Unknown,
    }
}

fn found(view: &View, fault: Fault) -> Known<Answer> {
    let last = view.observations.iter().rev().find_map(|observation| match observation.reading {
        Reading::Inspection(finding) if finding.fault == fault => Some(finding.present),
        _ => None,
    });
    let removed = view.stamps.iter().any(|stamp| stamp.step == Step::Removed);
    match last {
        Some(present) => yes(present),
        None if removed => Known::Unknown,
        None => Known::NotApplicable,
    }
}
