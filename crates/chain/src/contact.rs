//! What touches the impression: disinfectants that must have their time, and what may keep it from setting.
//!
//! Words and rows, no figures: a label is never shortened, an unknown contact is a question, and every sentence has its row.

use ledger::disinfection::{self, Bearing};
use ledger::{Disinfectant, Inhibition, Parameters};
use terms::{
    Contaminant, DisinfectionMethod, Fact, HoldingKind, HoldingSegment, ImpressionClass, Route, Situation,
};

use crate::report::{Ask, Disinfected, Note};
use crate::speech::span;

/// What is to be said of contacts.
#[derive(Clone, Debug, Default)]
pub struct Contact {
    /// Disinfection by segment.
    pub disinfected: Vec<Disinfected>,
    /// Why no probability can be given whatever the figures say.
    pub obstacles: Vec<String>,
    /// What is good to know beside the figures.
    pub notes: Vec<Note>,
    /// Questions.
    pub asks: Vec<Ask>,
}

/// Looks at every segment and every contaminant.
pub fn contact(situation: &Situation, route: &Route, parameters: &Parameters) -> Contact {
    let mut contact = Contact::default();
    disinfect(route, parameters, &mut contact);
    inhibit(situation, route, parameters, &mut contact);
    contact
}

/// From removal until the last disinfectant has had its time: the plan, or its label where that asks for more; s.
pub fn disinfected_after_s(route: &Route) -> f64 {
    let (mut now_s, mut done_s) = (0.0, 0.0);
    for segment in &route.holding {
        if segment.agent.known().is_some() {
            done_s = now_s + segment.duration_s.max(segment.labelled_contact_s.known().unwrap_or(0.0));
        }
        now_s += segment.duration_s;
    }
    done_s
}

fn disinfect(route: &Route, parameters: &Parameters, contact: &mut Contact) {
    let mut anything = false;
    for (index, segment) in route.holding.iter().enumerate() {
        if !segment.kind.may_disinfect() || segment.agent == Fact::NotApplicable {
            continue;
        }
        anything = true;
        if segment.agent.is_unknown() {
            contact.asks.push(ask(
                "which disinfectant, how strong, and what contact does its label ask for?",
                "how long it must stay, and whether the material bears that, hangs on it",
            ));
            let done = if segment.kind == HoldingKind::Immersed { "lies in" } else { "is sprayed with" };
            contact.obstacles.push(format!(
                "nobody has said what the impression {done}: whether the material bears the contact is open"
            ));
            continue;
        }
        // Agar over alginate must bear what both bear.
        for class in classes(route) {
            contact.disinfected.push(disinfected(index, segment, class, parameters));
        }
    }
    if !anything {
        contact.asks.push(ask(
            "how is the impression disinfected before stone or a messenger touches it?",
            "no disinfectant is in the plan; local rules ask for one, with agent and contact time on the label",
        ));
    }
    for said in &contact.disinfected {
        if said.stands_in_the_way && !contact.obstacles.contains(&said.words) {
            contact.obstacles.push(said.words.clone());
        }
        if said.labelled_contact_s.is_none()
            && !contact.asks.iter().any(|ask| ask.words.contains("its label"))
        {
            contact.asks.push(ask(
                "what contact does the label of the disinfectant ask for?",
                "the label counts, and a usual one only stands in for it",
            ));
        }
    }
}

fn disinfected(
    index: usize,
    segment: &HoldingSegment,
    class: ImpressionClass,
    parameters: &Parameters,
) -> Disinfected {
    let method = match segment.kind {
        HoldingKind::Immersed => DisinfectionMethod::Immersion,
        _ => DisinfectionMethod::Spray,
    };
    let agent = segment.agent.known();
    let row = agent.and_then(|agent| parameters.disinfectant(class, agent, method));
    let labelled_s = segment.labelled_contact_s.known();
    let bearing = disinfection::bearing(row, labelled_s, segment.duration_s);
    let alternatives: Vec<String> = match bearing {
        Bearing::Borne | Bearing::TooShort => Vec::new(),
        _ => agent
            .map(|agent| disinfection::alternatives(parameters, class, agent, method, labelled_s))
            .unwrap_or_default()
            .into_iter()
            .take(3)
            .map(|row| format!("{} by {}, borne for {}", row.agent, row.method, span(row.bears_max_s)))
            .collect(),
    };
    let mut words = words(segment, class, method, row, bearing, &alternatives);
    let mut stands_in_the_way = bearing != Bearing::Borne;
    let needed_s = row.map(|row| row.needed_s(labelled_s)).or(labelled_s);
    if bearing != Bearing::TooShort && needed_s.is_some_and(|needed_s| segment.duration_s < needed_s) {
        words.push_str(&format!("; the planned {} do not disinfect", span(segment.duration_s)));
    }
    if labelled_s.is_none() {
        stands_in_the_way = true;
        words.push_str("; its own label is not entered, so nothing shows that it is disinfected");
    }
    if let (Some(row), Some(share)) = (row, segment.concentration.known()) {
        let [low, high] = row.concentration_percent;
        let percent = 100.0 * share;
        if percent < 0.95 * low || percent > 1.05 * high {
            stands_in_the_way = true;
            words.push_str(&format!("; {percent} % is not the {low} to {high} % that the row speaks of"));
        }
    }
    Disinfected {
        segment: index,
        agent: agent.map(|agent| agent.word()),
        method: method.word(),
        concentration: segment.concentration.known(),
        labelled_contact_s: labelled_s,
        planned_contact_s: segment.duration_s,
        bears_s: row.map(|row| row.bears_max_s),
        stands_in_the_way,
        words,
        alternatives,
        key: row.map(|row| row.key.clone()),
    }
}

fn words(
    segment: &HoldingSegment,
    class: ImpressionClass,
    method: DisinfectionMethod,
    row: Option<&Disinfectant>,
    bearing: Bearing,
    alternatives: &[String],
) -> String {
    let agent = segment.agent.known().map_or("a disinfectant", |agent| agent.word());
    let label_s = row.map_or(0.0, |row| row.needed_s(segment.labelled_contact_s.known()));
    let whose = if segment.labelled_contact_s.known().is_some() { "its label" } else { "a usual label" };
    let bears_s = row.map_or(0.0, |row| row.bears_max_s);
    let other = match alternatives {
        [] => "another agent or method".to_owned(),
        list => format!(
            "another agent or method whose label asks for no more than is borne ({})",
            list.join("; ")
        ),
    };
    match bearing {
        Bearing::Borne => format!(
            "{agent} by {method}: {} of contact, at least the {} of {whose}, and {class} is thought to bear {}",
            span(segment.duration_s),
            span(label_s),
            span(bears_s)
        ),
        Bearing::Conflict => format!(
            "{agent} by {method}: {whose} asks for {}, {class} is thought to bear {}; use {other}, never a shorter contact",
            span(label_s),
            span(bears_s)
        ),
        Bearing::TooShort => format!(
            "{agent} by {method}: {} of contact is shorter than the {} of {whose}: not disinfected",
            span(segment.duration_s),
            span(label_s)
        ),
        Bearing::TooLong => format!(
            "{agent} by {method}: {} of contact is longer than the {} that {class} is thought to bear; rinse it off in time or use \
             {other}",
            span(segment.duration_s),
            span(bears_s)
        ),
        Bearing::Refused => format!("{agent} by {method} is not for {class}; use {other}"),
        Bearing::Unknown => {
            format!(
                "what {agent} by {method} does to {class} is not in the ledger; follow both labels or use {other}"
            )
        }
    }
}

fn inhibit(situation: &Situation, route: &Route, parameters: &Parameters, contact: &mut Contact) {
    let astringent = match situation.astringent {
        Fact::Known(agent) => agent.contaminant(),
        _ => None,
    };
    let touches = |contaminant: Contaminant| match contaminant {
        Contaminant::Latex => situation.latex,
        Contaminant::ResinFilm => situation.fresh_resin,
        Contaminant::TemporaryCement => situation.cement_residue,
        medicament => match situation.astringent {
            Fact::Known(_) => Fact::Known(astringent == Some(medicament)),
            Fact::Unknown => Fact::Unknown,
            Fact::NotApplicable => Fact::NotApplicable,
        },
    };
    let mut open: Vec<&'static str> = Vec::new();
    for row in parameters.inhibitions() {
        if !classes(route).contains(&row.class) {
            continue;
        }
        let is_medicament = Some(row.contaminant) == astringent;
        let rinsed = is_medicament && situation.astringent_rinsed == Fact::Known(true);
        match touches(row.contaminant) {
            Fact::Known(true) if row.takes_likely_away && !rinsed => {
                contact.obstacles.push(format!(
                    "{}: {} {} {}",
                    touching(row),
                    row.said,
                    row.doubt,
                    row.remedy
                ));
            }
            Fact::Known(true) => contact.notes.push(Note {
                words: format!("{}: {} {} {}", touching(row), row.said, row.doubt, row.remedy),
                key: Some(row.key.clone()),
            }),
            Fact::Unknown if row.takes_likely_away => {
                let word = if is_of_cord(row.contaminant) { "an astringent" } else { row.contaminant.word() };
                if !open.contains(&word) {
                    open.push(word);
                }
            }
            _ => {}
        }
    }
    for word in &open {
        contact.asks.push(Ask {
            words: format!("does {word} touch the material or the teeth?"),
            why: "it can keep the material from setting where it touched".to_owned(),
            share: None,
        });
    }
    if !open.is_empty() {
        contact.obstacles.push(format!(
            "nobody has said whether {} touches the material: until then the figures may not hold",
            open.join(" or ")
        ));
    }
}

fn touching(row: &Inhibition) -> String {
    format!("{} touches {}", row.contaminant, row.class)
}

fn is_of_cord(contaminant: Contaminant) -> bool {
    !matches!(contaminant, Contaminant::Latex | Contaminant::ResinFilm | Contaminant::TemporaryCement)
}

/// Classes of the route, each once.
fn classes(route: &Route) -> Vec<ImpressionClass> {
    let mut classes = vec![route.material.class];
    if let Some(wash) = &route.wash
        && !classes.contains(&wash.class)
    {
        classes.push(wash.class);
    }
    classes
}

fn ask(words: &str, why: &str) -> Ask {
    Ask { words: words.to_owned(), why: why.to_owned(), share: None }
}
