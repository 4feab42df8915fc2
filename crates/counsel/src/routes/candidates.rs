//! Every sensible way to make this copy from what is at hand.

use terms::{
    Answer, Answers, Fact, HoldingKind, HoldingSegment, Lots, Material, Mix, Plan, Route, Situation, TrayKind,
};

use super::clinic::{Clinic, Kit, Means, TrayAtHand};
use crate::View;

/// One way, as a case of its own.
#[derive(Clone, Debug, PartialEq)]
pub struct Candidate {
    /// Material and technique.
    pub kit: String,
    /// Tray.
    pub tray: String,
    /// Displacement.
    pub means: Means,
    /// Whether it is what the case plans.
    pub planned: bool,
    /// Whether the tray must have been made before this visit.
    pub made_before: bool,
    /// What it costs, in the user's own unit.
    pub cost: Option<f64>,
    /// The mouth and the room, with this medicament.
    pub situation: Situation,
    /// The route.
    pub route: Route,
    /// The visit, with this electrode.
    pub visit: Answers,
}

impl Candidate {
    /// In words: material and technique, tray, displacement.
    pub fn words(&self) -> String {
        format!("{}; {}; {}", self.kit, self.tray, self.means.words())
    }

    /// As counsel looks at it.
    pub fn view<'a>(&'a self, view: &View<'a>) -> View<'a> {
        View { situation: &self.situation, route: &self.route, visit: &self.visit, ..*view }
    }
}

/// The means that a case plans.
pub fn planned_means(view: &View) -> Option<Means> {
    let electrode = match view.visit.get("electrode") {
        Some(Fact::Known(Answer::Word(word))) => {
            terms::Electrode::from_word(word).map_or(Fact::Unknown, Fact::Known)
        }
        _ => Fact::Unknown,
    };
    Some(Means {
        displacement: view.route.displacement.known()?,
        cords_leave: view.route.cords_leave,
        medicament: view.situation.astringent,
        electrode,
    })
}

/// The ways to displace that are compared: the planned one first, then those at hand.
pub fn means(view: &View, clinic: &Clinic) -> Vec<Means> {
    let mut list: Vec<Means> = planned_means(view).into_iter().collect();
    // Without a prepared margin there is nothing to open.
    if !view.situation.purpose.has_die() {
        return list;
    }
    for means in &clinic.means {
        let same = |other: &Means| {
            other.displacement == means.displacement
                && other.medicament == means.medicament
                && (other.electrode == means.electrode || other.electrode.known().is_none())
        };
        if !list.iter().any(same) {
            list.push(*means);
        }
    }
    list
}

/// What the case plans, then every kit in every tray that it goes into, all with these means.
pub fn with_means(view: &View, clinic: &Clinic, means: &Means) -> Vec<Candidate> {
    let mut list = Vec::new();
    let mut planned_listed = false;
    for kit in clinic.kits.iter().filter(|kit| serves(kit, view)) {
        for tray in clinic.trays.iter().filter(|tray| goes_into(kit, tray, view)) {
            let planned = kit.is_of(view.route) && tray.tray.kind == view.route.tray.kind;
            if planned && planned_listed {
                continue;
            }
            planned_listed |= planned;
            let route = if planned { view.route.clone() } else { route(view, clinic, kit, tray) };
            list.push(candidate(
                view,
                kit.name.clone(),
                tray.name.clone(),
                route,
                means,
                planned,
                cost(kit, tray),
            ));
        }
    }
    if !planned_listed {
        let route = view.route.clone();
        let (kit, tray) = (kit_words(&route), tray_words(&route));
        list.insert(0, candidate(view, kit, tray, route, means, true, None));
    }
    list
}

/// The same way with other means.
pub fn change_means(candidate: &Candidate, means: &Means, planned: Option<&Means>) -> Candidate {
    let mut changed = candidate.clone();
    set_means(&mut changed, means);
    changed.planned = candidate.planned && planned == Some(means);
    changed
}

fn candidate(
    view: &View,
    kit: String,
    tray: String,
    route: Route,
    means: &Means,
    planned: bool,
    cost: Option<f64>,
) -> Candidate {
    let mut candidate = Candidate {
        kit,
        tray,
        means: *means,
        planned: planned && planned_means(view).as_ref() == Some(means),
        made_before: route.tray.kind == TrayKind::Custom,
        cost,
        situation: view.situation.clone(),
        route,
        visit: view.visit.clone(),
    };
    set_means(&mut candidate, means);
    candidate
}

fn set_means(candidate: &mut Candidate, means: &Means) {
    candidate.means = *means;
    candidate.route.displacement = Fact::Known(means.displacement);
    candidate.route.cords_leave =
        if means.displacement.has_cord_out() { means.cords_leave } else { Fact::NotApplicable };
    candidate.situation.astringent = means.medicament;
    let electrode = match means.electrode {
        Fact::Known(electrode) => Fact::Known(Answer::Word(electrode.word())),
        Fact::Unknown if means.displacement == terms::Displacement::Electrosurgery => Fact::Unknown,
        _ => Fact::NotApplicable,
    };
    // The list of questions has this one, with these words: nothing can be refused.
    let _ = candidate.visit.answer("visit", "electrode", electrode);
}

/// Alginate alone is for study casts; a case that plans it keeps it as planned. Agar wants its baths, and a kit says so by being there.
fn serves(kit: &Kit, view: &View) -> bool {
    let alginate_alone = kit.material.class.is_alginate() && kit.wash.is_none();
    !(alginate_alone && view.situation.purpose.has_die()) || kit.is_of(view.route)
}

/// A tray that copies both arches in the bite is for one or two crowns; a case that plans it for more keeps it as planned.
fn goes_into(kit: &Kit, tray: &TrayAtHand, view: &View) -> bool {
    let few = view.situation.purpose == terms::Purpose::Crown && view.situation.abutments.len() <= 2;
    let both_arches = tray.tray.kind == TrayKind::DualArch;
    kit.trays.contains(&tray.tray.kind) && (few || !both_arches || view.route.tray.kind == TrayKind::DualArch)
}

fn cost(kit: &Kit, tray: &TrayAtHand) -> Option<f64> {
    match (kit.cost, tray.cost) {
        (None, None) => None,
        (kit, tray) => Some(kit.unwrap_or(0.0) + tray.unwrap_or(0.0)),
    }
}

/// A route of this kit in this tray. What belongs to another material is forgotten, what belongs to the mouth, the hands and the
/// die is kept, and the impression waits until stone can be mixed, kept as its class is kept here.
fn route(view: &View, clinic: &Clinic, kit: &Kit, tray: &TrayAtHand) -> Route {
    let planned = view.route;
    let of_powder = if kit.material.class.is_alginate() { Fact::Unknown } else { Fact::NotApplicable };
    let same_material = planned.material.class == kit.material.class;
    Route {
        technique: kit.technique,
        material: kit.material.clone(),
        wash: kit.wash.clone(),
        wash_thickness_m: Fact::Unknown,
        tray: tray.tray,
        mix: Mix { method: kit.method, powder_kg: of_powder, water_kg: of_powder },
        baths: if kit.is_of(planned) { planned.baths } else { kit.baths },
        holding: if same_material { planned.holding.clone() } else { holding(view, clinic, &kit.material) },
        plan: Plan {
            mixing_s: Fact::Unknown,
            seat_after_s: Fact::Unknown,
            tray_after_s: Fact::Unknown,
            remove_after_s: Fact::Unknown,
            ..planned.plan
        },
        lots: match kit.is_of(planned) {
            true => planned.lots.clone(),
            false => Lots { stone: planned.lots.stone.clone(), ..Lots::default() },
        },
        ..planned.clone()
    }
}

/// Kept as its class is kept here until stone can be mixed; while nobody says when that is, for as long as the case plans. Never shorter
/// than what must be done first.
fn holding(view: &View, clinic: &Clinic, material: &Material) -> Vec<HoldingSegment> {
    let keeping = clinic.keeping.iter().find(|keeping| keeping.classes.contains(&material.class));
    let wanted_s = match view.visit.get("pour_not_before") {
        Some(Fact::Known(Answer::Number(soonest_s))) => soonest_s,
        _ => view.route.planned_holding_s(),
    };
    let Some(keeping) = keeping else {
        return vec![HoldingSegment::of(HoldingKind::OpenAir, wanted_s)];
    };
    let mut segments = keeping.segments.clone();
    let done_s: f64 = segments.iter().map(|segment| segment.duration_s).sum();
    if let Some(last) = segments.last_mut() {
        last.duration_s += (wanted_s - done_s).max(0.0);
    }
    segments
}

fn kit_words(route: &Route) -> String {
    match &route.wash {
        Some(wash) if wash.class != route.material.class => {
            format!("{} and {}, {}", route.material.class, wash.class, route.technique)
        }
        _ => format!("{}, {}", route.material.class, route.technique),
    }
}

fn tray_words(route: &Route) -> String {
    format!("{} {} tray", route.tray.kind, route.tray.material)
}
