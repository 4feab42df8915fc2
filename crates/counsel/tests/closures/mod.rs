//! A sentence in Rust for every stop, written apart from its row.

#![allow(
    clippy::panic,
    clippy::unwrap_used,
    clippy::indexing_slicing,
    reason = "a test stops where its premise fails"
)]

use counsel::cautions::Rule;
use terms::{Answer, AnswerKind, Fact};

/// The values of the facts of a rule.
pub struct Said<'a> {
    pub rule: &'a Rule,
    pub row: &'a [Fact<Answer>],
}

impl Said<'_> {
    fn value(&self, name: &str) -> Answer {
        let place = self.rule.facts.iter().position(|fact| fact.name() == name);
        let place = place.unwrap_or_else(|| panic!("{} does not look at {name}", self.rule.id));
        self.row[place].known().unwrap()
    }

    fn yes(&self, name: &str) -> bool {
        self.value(name) == Answer::Flag(true)
    }

    fn is(&self, name: &str, word: &str) -> bool {
        self.value(name) == Answer::Word(word_of(word))
    }

    fn one_of(&self, name: &str, words: &[&str]) -> bool {
        words.iter().any(|word| self.is(name, word))
    }

    /// In the unit of the trade.
    fn number(&self, name: &str) -> f64 {
        let place = self.rule.facts.iter().position(|fact| fact.name() == name).unwrap();
        match (self.value(name), self.rule.facts[place].kind()) {
            (Answer::Number(si), AnswerKind::Quantity(range)) => range.unit.from_si(si),
            other => panic!("{name}: {other:?}"),
        }
    }
}

fn word_of(word: &str) -> &'static str {
    String::from(word).leak()
}

type Sentence = fn(&Said) -> bool;

const DEVICES: &[&str] = &["pacemaker", "defibrillator", "resynchroniser", "loop recorder"];
const STIFF: &[&str] = &["polyether", "addition silicone", "vinyl polyether hybrid", "condensation silicone"];

fn adrenaline(said: &Said) -> bool {
    said.yes("medicament.adrenaline")
}

fn monopolar(said: &Said) -> bool {
    said.is("route.displacement", "electrosurgery") && said.is("visit.electrode", "monopolar")
}

pub const STOPS: &[(&str, Sentence)] = &[
    ("heart-adrenaline-cord", |said| {
        adrenaline(said) && (!said.is("patient.heart", "none") || !said.is("patient.device", "none"))
    }),
    ("infarction-adrenaline-cord", |said| {
        adrenaline(said)
            && (said.number("patient.since_infarction") < 6.0
                || said.number("patient.since_bypass") < 3.0
                || said.number("patient.systolic") > 179.999_9
                || said.number("patient.diastolic") > 109.999_9)
    }),
    ("thyroid-adrenaline-cord", |said| {
        adrenaline(said) && said.is("patient.overactive_thyroid", "uncontrolled")
    }),
    ("phaeochromocytoma-adrenaline", |said| adrenaline(said) && said.yes("patient.phaeochromocytoma")),
    ("sulfite-adrenaline", |said| adrenaline(said) && said.yes("patient.sulfite_asthma")),
    ("drugs-adrenaline-cord", |said| {
        adrenaline(said) && (said.yes("patient.tricyclic") || said.yes("patient.beta_blocker"))
    }),
    ("cocaine-adrenaline", |said| adrenaline(said) && said.yes("patient.cocaine")),
    ("total-adrenaline-cord", |said| adrenaline(said) && said.number("visit.adrenaline_total") > 200.0),
    ("gagging-severe", |said| {
        said.one_of("patient.gagging", &["grade 4", "grade 5"]) && !said.is("tray.kind", "dual-arch")
    }),
    ("swallowing-impaired", |said| said.yes("patient.swallowing_impaired")),
    ("mouth-too-narrow", |said| said.number("patient.mouth_opening") < 25.0 && said.is("tray.kind", "stock")),
    ("drying-drug", |said| said.yes("visit.drying_drug") && said.yes("patient.drying_risk")),
    ("agar-too-hot", |said| said.number("agar.temper_bath") > 50.0),
    ("heart-device-monopolar", |said| said.one_of("patient.device", DEVICES) && monopolar(said)),
    ("cochlear-monopolar", |said| said.yes("patient.cochlear_implant") && monopolar(said)),
    ("neurostimulator-current", |said| {
        said.yes("patient.neurostimulator") && said.is("route.displacement", "electrosurgery")
    }),
    ("flammables-heat", |said| {
        said.yes("visit.flammables") && said.one_of("route.displacement", &["electrosurgery", "laser"])
    }),
    ("implant-monopolar", |said| said.yes("patient.implant_near") && monopolar(said)),
    ("irradiated-current", |said| {
        said.yes("patient.jaw_irradiated") && said.is("route.displacement", "electrosurgery")
    }),
    ("rotary-on-poor-gum", |said| {
        said.is("route.displacement", "rotary curettage")
            && (said.is("patient.gum_type", "thin")
                || said.number("patient.keratinised") < 2.0
                || !said.is("patient.gum_health", "healthy"))
    }),
    ("not-disinfected", |said| !said.yes("keeping.disinfected")),
    ("not-labelled", |said| !said.yes("visit.labelled")),
    ("contact-cut-short", |said| said.yes("keeping.short_contact")),
    ("latex-allergy", |said| said.yes("patient.latex_allergy") && said.yes("touch.latex")),
    ("latex-putty", |said| {
        said.yes("touch.latex") && said.yes("uses.addition_silicone") && said.yes("route.hand_mixed")
    }),
    ("polyether-allergy", |said| {
        (said.yes("patient.polyether_allergy") || said.yes("patient.sore_after_impression"))
            && (said.yes("uses.polyether") || said.yes("uses.hybrid"))
    }),
    ("gum-bleeds-by-itself", |said| said.is("patient.gum_health", "bleeds by itself")),
    ("blood-at-margin", |said| said.yes("case.has_die") && said.is("sulcus", "blood")),
    ("margin-covered", |said| {
        said.yes("case.has_die") && said.number("margin.depth") > 0.0 && said.is("route.displacement", "none")
    }),
    ("margin-into-attachment", |said| {
        said.number("margin.depth") > 2.0 || said.number("patient.margin_to_bone") < 2.0
    }),
    ("bleeding-warfarin", |said| {
        said.is("patient.anticoagulant", "warfarin")
            && said.number("patient.inr") >= 4.0
            && !said.is("route.displacement", "none")
    }),
    ("cord-left", |said| said.yes("visit.cords_missing")),
    ("torn-piece", |said| said.yes("visit.piece_missing") || said.yes("found.tear")),
    ("breathed-in", |said| said.yes("visit.piece_missing") && said.yes("visit.coughed")),
    ("alginate-for-crown", |said| said.yes("case.has_die") && said.yes("route.alginate_alone")),
    ("loose-tooth-rigid", |said| {
        said.is("teeth.mobility", "grade 3") && said.one_of("route.material", STIFF)
    }),
    ("locked-tray", |said| {
        (said.yes("patient.brackets") || said.yes("patient.open_spaces"))
            && !said.yes("visit.blocked_out")
            && said.one_of("route.material", STIFF)
    }),
    ("undercut-mobile", |said| {
        said.number("tray.undercut_share") > 50.0
            && said.one_of("teeth.mobility", &["grade 2", "grade 3"])
            && said.one_of("route.material", STIFF)
    }),
    ("zinc-chloride", |said| {
        said.is("medicament", "zinc chloride") || said.is("visit.second_medicament", "zinc chloride")
    }),
    ("ferric-with-adrenaline", |said| {
        let pair = |a: &str, b: &str| said.is("medicament", a) && said.is("visit.second_medicament", b);
        pair("ferric sulfate", "adrenaline") || pair("adrenaline", "ferric sulfate")
    }),
];
