//! Fields of stamps and of what was read and found.

use terms::{DieFault, Fault, IndexFit, Step, TryInSign, ranges};

use super::fields::{Absent, Field, Kind, field, quantity, word};

/// A stamp.
pub const STAMP: &[Field] = &[
    word("step", Step::WORDS, Absent::Required, "The step."),
    field("at", Kind::Moment, Absent::Required, "When it happened."),
];

/// A reading or a finding.
pub const OBSERVATION: &[Field] = &[
    field("at", Kind::Moment, Absent::Required, "When."),
    quantity("room_temperature", ranges::ROOM_TEMPERATURE, Absent::OneOfThese, "Air of the room."),
    quantity("room_humidity", ranges::HUMIDITY, Absent::OneOfThese, "Relative humidity of the room."),
    quantity(
        "water_temperature",
        ranges::WATER_TEMPERATURE,
        Absent::OneOfThese,
        "The water that the powder is added to; it replaces what was stated.",
    ),
    quantity(
        "tooth_temperature",
        ranges::TOOTH_TEMPERATURE,
        Absent::OneOfThese,
        "Surface of the prepared tooth before seating; it replaces what was stated.",
    ),
    quantity(
        "mix_temperature",
        ranges::WATER_TEMPERATURE,
        Absent::OneOfThese,
        "The mix at the end of mixing.",
    ),
    field(
        "bowl_set",
        Kind::Sign,
        Absent::OneOfThese,
        "The rest in the bowl, or a smear kept at room temperature, has just lost its tack.",
    ),
    quantity(
        "mass_loss",
        ranges::MASS_LOSS,
        Absent::OneOfThese,
        "Mass lost since removal, as a share of the mass at removal.",
    ),
    word("fault", Fault::WORDS, Absent::OneOfThese, "What the inspection looked for."),
    field("present", Kind::YesNo, Absent::With("fault"), "Whether that fault is there."),
    word("die_fault", DieFault::WORDS, Absent::OneOfThese, "What was looked for on the die."),
    field("on_die", Kind::YesNo, Absent::With("die_fault"), "Whether that fault is on the die."),
    quantity(
        "pour_difference",
        ranges::POUR_DIFFERENCE,
        Absent::OneOfThese,
        "Width of the second die minus that of the first at the same place.",
    ),
    word(
        "span_index",
        IndexFit::WORDS,
        Absent::OneOfThese,
        "How a rigid index made in the mouth goes onto the cast.",
    ),
    quantity(
        "margin_film",
        ranges::FIT_FILM,
        Absent::OneOfThese,
        "Thickness of a fit-check film at the margin.",
    ),
    quantity(
        "wall_film",
        ranges::FIT_FILM,
        Absent::OneOfThese,
        "Thickness of a fit-check film at the walls.",
    ),
    word("try_in", TryInSign::WORDS, Absent::OneOfThese, "A sign that was looked for at try-in."),
    field("felt", Kind::YesNo, Absent::With("try_in"), "Whether that sign is there."),
];
