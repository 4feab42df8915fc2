//! The questions about the patient and the visit.

use crate::answers::{AnswerKind, Question};
use crate::ranges::{self, Range};
use crate::vocabulary::{
    Anticoagulant, Astringent, CardiacDevice, Control, Dilution, Electrode, Gagging, GumHealth, GumType,
    InsulinPump,
};

/// Facts about the patient. Nobody is named: a case carries a code.
pub const PATIENT: &[Question] = &[
    word(
        "device",
        CardiacDevice::WORDS,
        "Does the patient carry a pacemaker or another device of the heart?",
    ),
    yes_no("neurostimulator", "Does the patient carry a nerve or brain stimulator?"),
    yes_no("cochlear_implant", "Does the patient carry a cochlear implant?"),
    word("insulin_pump", InsulinPump::WORDS, "Does the patient carry an insulin pump?"),
    yes_no("glucose_sensor", "Does the patient carry a glucose sensor?"),
    word("heart", Control::WORDS, "Has the patient any disease of the heart, and is it under control?"),
    perhaps("since_infarction", ranges::SINCE_EVENT, "How long ago was the last heart attack?"),
    perhaps("since_bypass", ranges::SINCE_EVENT, "How long ago was the last bypass operation?"),
    quantity("systolic", ranges::BLOOD_PRESSURE, "What is the systolic blood pressure?"),
    quantity("diastolic", ranges::BLOOD_PRESSURE, "What is the diastolic blood pressure?"),
    word("overactive_thyroid", Control::WORDS, "Is the thyroid overactive, and is it under control?"),
    yes_no("phaeochromocytoma", "Has the patient a phaeochromocytoma?"),
    word("diabetes", Control::WORDS, "Has the patient diabetes, and is it under control?"),
    yes_no("sulfite_asthma", "Has the patient an asthma that sulfites set off?"),
    yes_no("tricyclic", "Does the patient take a tricyclic antidepressant?"),
    yes_no("beta_blocker", "Does the patient take a non-selective beta blocker?"),
    yes_no("mao_inhibitor", "Does the patient take an inhibitor of monoamine oxidase?"),
    yes_no("cocaine", "Has the patient taken cocaine within a day?"),
    word("anticoagulant", Anticoagulant::WORDS, "Does the patient take anything that thins the blood?"),
    perhaps("inr", ranges::INR, "What is the last INR?"),
    yes_no("latex_allergy", "Is the patient allergic to latex?"),
    yes_no("polyether_allergy", "Is the patient allergic to polyether impression material?"),
    yes_no("iodine_allergy", "Does the patient react to iodine?"),
    yes_no("aldehyde_allergy", "Does the patient react to aldehydes?"),
    yes_no(
        "sore_after_impression",
        "Were lips or gum sore or swollen about a day after an earlier impression?",
    ),
    word("gagging", Gagging::WORDS, "How readily does the patient gag?"),
    yes_no("swallowing_impaired", "Is swallowing or the guard of the airway impaired?"),
    quantity(
        "mouth_opening",
        ranges::MOUTH_OPENING,
        "How far does the mouth open, between the incisal edges?",
    ),
    yes_no("dry_mouth", "Is the mouth dry?"),
    yes_no("jaw_irradiated", "Has this jaw been irradiated?"),
    yes_no("immunosuppressed", "Is the immune defence suppressed?"),
    yes_no(
        "drying_risk",
        "Has the patient narrow-angle glaucoma, an obstructed gut or urine flow, a large prostate, myasthenia, severe asthma, a \
         fast heart or a pregnancy?",
    ),
    word("gum_type", GumType::WORDS, "Is the gum at the margin thin or thick?"),
    word("gum_health", GumHealth::WORDS, "Is the gum healthy, and when does it bleed?"),
    quantity("keratinised", ranges::KERATINISED, "How wide is the keratinised gum at the margin?"),
    quantity("margin_to_bone", ranges::MARGIN_TO_BONE, "How far is the deepest margin from the bone?"),
    yes_no("metal_at_margin", "Is there metal at the margin or against the gum that is displaced?"),
    yes_no("implant_near", "Is there a dental implant at or beside the site?"),
    yes_no("brackets", "Are there brackets or wires in the arch that is copied?"),
    yes_no("open_spaces", "Are there open embrasures or a pontic in the arch that is copied?"),
];

/// Facts about the visit: what is done and used beside the route.
pub const VISIT: &[Question] = &[
    Question {
        name: "electrode",
        kind: AnswerKind::Word(Electrode::WORDS),
        asks: "Is the electrosurgery monopolar or bipolar?",
        may_not_arise: true,
    },
    yes_no("flammables", "Are spirit, ethyl chloride, added oxygen or nitrous oxide in use?"),
    word("second_medicament", Astringent::WORDS, "Which second medicament is used at the same margin?"),
    perhaps("medicament_dwell", ranges::DWELL, "How long does the medicament stay?"),
    quantity("cartridges", ranges::CARTRIDGES, "How many cartridges of anaesthetic are given at this visit?"),
    perhaps("cartridge_volume", ranges::CARTRIDGE_VOLUME, "What does a cartridge hold?"),
    word("adrenaline", Dilution::WORDS, "How much adrenaline is in the anaesthetic?"),
    quantity(
        "pour_not_before",
        ranges::HOLD_DURATION,
        "How soon after removal can the stone be mixed, here or at the laboratory?",
    ),
    yes_no("drying_drug", "Is a drug to be given that dries the mouth?"),
    may_not_arise("blocked_out", "Are brackets, open embrasures and spaces under pontics blocked out?"),
    perhaps("cords_in", ranges::CORDS, "How many cords and pieces went in?"),
    perhaps("cords_out", ranges::CORDS, "How many cords and pieces have come out?"),
    may_not_arise("piece_missing", "Is a piece of the impression missing?"),
    may_not_arise("coughed", "Did the patient cough or choke with the material in the mouth?"),
    may_not_arise("labelled", "Does the label for the laboratory state agent and contact time?"),
    may_not_arise("extraction", "Is dust drawn off where powder is poured and stone is trimmed?"),
];

const fn question(name: &'static str, kind: AnswerKind, asks: &'static str, may_not_arise: bool) -> Question {
    Question { name, kind, asks, may_not_arise }
}

const fn yes_no(name: &'static str, asks: &'static str) -> Question {
    question(name, AnswerKind::YesNo, asks, false)
}

const fn may_not_arise(name: &'static str, asks: &'static str) -> Question {
    question(name, AnswerKind::YesNo, asks, true)
}

const fn word(name: &'static str, words: &'static [&'static str], asks: &'static str) -> Question {
    question(name, AnswerKind::Word(words), asks, false)
}

const fn quantity(name: &'static str, range: Range, asks: &'static str) -> Question {
    question(name, AnswerKind::Quantity(range), asks, false)
}

const fn perhaps(name: &'static str, range: Range, asks: &'static str) -> Question {
    question(name, AnswerKind::Quantity(range), asks, true)
}
