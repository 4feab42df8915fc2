//! Readings of facts: what an instrument showed replaces what was stated.
//!
//! A reading of room, humidity, water or tooth is that fact from then on, with the spread of its instrument, and does not reweight samples
//! besides. Room and humidity read after removal are those of the holding alone: what was mixed was mixed in the room as it was. Of several
//! readings of a fact the latest counts.

use std::borrow::Cow;

use terms::{
    Fact, HoldingKind, HoldingSegment, Instant, Invalid, Observation, Reading, Route, Situation, Stamp, Step,
};

/// Situation and route as they were read.
pub struct AsRead<'a> {
    /// The situation.
    pub situation: Cow<'a, Situation>,
    /// The route.
    pub route: Cow<'a, Route>,
}

/// Whether a reading is one of a fact.
pub fn is_of_a_fact(reading: &Reading) -> bool {
    matches!(
        reading,
        Reading::RoomTemperature(_)
            | Reading::RoomHumidity(_)
            | Reading::WaterTemperature(_)
            | Reading::ToothTemperature(_)
    )
}

/// Puts readings in the place of what was stated.
///
/// # Errors
/// A reading of a fact that the case does not have.
pub fn as_read<'a>(
    situation: &'a Situation,
    route: &'a Route,
    stamps: &[Stamp],
    observations: &[Observation],
) -> Result<AsRead<'a>, Invalid> {
    let mut read = AsRead { situation: Cow::Borrowed(situation), route: Cow::Borrowed(route) };
    let removed: Option<Instant> =
        stamps.iter().find(|stamp| stamp.step == Step::Removed).map(|stamp| stamp.at);
    let mut order: Vec<(usize, &Observation)> =
        observations.iter().enumerate().filter(|(_, seen)| is_of_a_fact(&seen.reading)).collect();
    order.sort_by_key(|(index, seen)| (seen.at, *index));
    for (index, seen) in order {
        let held = removed.is_some_and(|removed| seen.at > removed);
        match seen.reading {
            Reading::RoomTemperature(k) if held => {
                each(&mut read.route, route, |held, stated| {
                    if stated.temperature_k.known().is_none() {
                        held.temperature_k = Fact::Known(k);
                    }
                });
            }
            Reading::RoomHumidity(share) if held => {
                each(&mut read.route, route, |held, stated| {
                    if stated.humidity.known().is_none() && stated.kind == HoldingKind::OpenAir {
                        held.humidity = Fact::Known(share);
                    }
                });
            }
            Reading::RoomTemperature(k) => read.situation.to_mut().room_temperature_k = Fact::Known(k),
            Reading::RoomHumidity(share) => read.situation.to_mut().room_humidity = Fact::Known(share),
            Reading::WaterTemperature(k) if route.material.class.is_alginate() => {
                read.situation.to_mut().water_temperature_k = Fact::Known(k);
            }
            Reading::WaterTemperature(_) => {
                return Err(Invalid {
                    field: format!("observations[{index}].water_temperature"),
                    given: format!("the water of a mix of {}", route.material.class),
                    allowed: "a reading of water for alginate alone".to_owned(),
                });
            }
            Reading::ToothTemperature(k) => read.situation.to_mut().tooth_temperature_k = Fact::Known(k),
            _ => {}
        }
    }
    Ok(read)
}

/// Each segment with what was stated of it; without any, the impression lies in the room.
fn each(
    read: &mut Cow<'_, Route>,
    stated: &Route,
    mut change: impl FnMut(&mut HoldingSegment, &HoldingSegment),
) {
    let holding = &mut read.to_mut().holding;
    let in_the_room = HoldingSegment::of(HoldingKind::OpenAir, 0.0);
    if holding.is_empty() {
        holding.push(in_the_room);
    }
    for (index, held) in holding.iter_mut().enumerate() {
        change(held, stated.holding.get(index).unwrap_or(&in_the_room));
    }
}
