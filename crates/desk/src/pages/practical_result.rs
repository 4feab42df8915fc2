//! What a practical says: the profile of each learner, how far markers agree, and each marker against a reference.

use std::sync::Arc;

use axum::extract::{Path, Query, State};
use axum::response::Html;
use maud::{Markup, html};
use questions::agreement::{Bias, Calibration, TwoMarkers, Weights, calibrate, many_markers, two_markers};
use questions::figure::Figure;
use questions::rubric::Criterion;
use terms::Fact;

use super::House;
use super::ask::Wrong;
use super::frame::{Area, Page, chip};
use super::practical::{found, in_words, number_of, trail};
use crate::pictures;
use crate::practical::{Place, Practical, differences, places};

/// Differences that are worth the first talk.
const TALK: usize = 5;

/// Headings of the criteria in a table, and whether those below are plain faults.
const GROUPS: [(&str, bool); 2] = [("Plain faults", true), ("The rest", false)];

/// Whom to compare, and with what.
#[derive(Default, serde::Deserialize)]
#[serde(default)]
pub struct Asked {
    first: String,
    second: String,
    reference: String,
}

/// Two markers, and the marking that others are compared with.
struct Compared<'a> {
    pair: [&'a str; 2],
    reference: Option<&'a str>,
    /// Markers who count as independent of each other.
    independent: Vec<&'a str>,
}

/// `GET /practical/{code}/result`.
pub async fn page(
    State(house): State<Arc<House>>,
    Path(text): Path<String>,
    Query(asked): Query<Asked>,
) -> Result<Html<String>, Wrong> {
    let practical = found(&house, &text).await?;
    let code = &practical.code;
    let markers: Vec<&str> = practical.book.markers().into_iter().collect();
    let compared = compared(&markers, &asked).map_err(|words| Wrong::asked(&house, words))?;
    let body = html! {
        (trail(Some(code)))
        h1 { "Results of " (code) }
        p { (practical.rubric.title) " · " (practical.about) }
        p { "The result of a learner is a profile by criterion, plain faults first. Nothing on this page adds criteria up to a verdict." }
        @match &compared {
            None => p.say2 role="status" { "Two markers are needed, and there " (if markers.len() == 1 { "is one" } else { "is none" }) ". What one marker gave is shown to nobody else until another has rated the same work." },
            Some(compared) => {
                (choice(code.as_str(), &markers, compared))
                (learners(&practical, compared))
                (agreement(&practical, compared).map_err(|words| Wrong::asked(&house, words))?)
                (calibrations(&practical, compared, &markers).map_err(|words| Wrong::asked(&house, words))?)
            },
        }
    };
    let title = format!("Results of {code}");
    Ok(Page { house: &house, title: &title, area: Area::Questions, case: None, body }.html())
}

/// Whom to compare: who was asked for, otherwise the first two that are no reference.
fn compared<'a>(markers: &[&'a str], asked: &Asked) -> Result<Option<Compared<'a>>, String> {
    let known = |field: &str, text: &str| match markers.iter().find(|marker| **marker == text) {
        Some(marker) => Ok(Some(*marker)),
        None if text.is_empty() => Ok(None),
        None => Err(format!("{field}: given {text:?}; allowed {}", markers.join(", "))),
    };
    let reference = known("reference", &asked.reference)?;
    let (first, second) = (known("first", &asked.first)?, known("second", &asked.second)?);
    let mut independent: Vec<&str> =
        markers.iter().filter(|marker| Some(**marker) != reference).copied().collect();
    if independent.len() < 2 {
        independent = markers.to_vec();
    }
    let first = match (first, second) {
        (Some(first), _) => Some(first),
        (None, second) => independent.iter().find(|marker| Some(**marker) != second).copied(),
    };
    let second = second.or_else(|| independent.iter().find(|marker| Some(**marker) != first).copied());
    match (first, second) {
        (Some(first), Some(second)) if first == second => {
            Err(format!("second: given {second:?}, as the first; allowed another marker"))
        }
        (Some(first), Some(second)) => Ok(Some(Compared { pair: [first, second], reference, independent })),
        _ => Ok(None),
    }
}

fn choice(code: &str, markers: &[&str], compared: &Compared) -> Markup {
    let select = |name: &str, words: &str, chosen: Option<&str>, none: Option<&str>| {
        html! {
            label { (words) select name=(name) {
                @if let Some(none) = none { option value="" selected[chosen.is_none()] { (none) } }
                @for marker in markers { option value=(marker) selected[chosen == Some(*marker)] { (marker) } }
            } }
        }
    };
    html! {
        form.readings method="get" action={ "/practical/" (code) "/result" } {
            (select("first", "First marker", Some(compared.pair[0]), None))
            (select("second", "Second marker", Some(compared.pair[1]), None))
            (select("reference", "Reference marking", compared.reference, Some("none")))
            button.plain { "Compare" }
        }
    }
}

/// Learners whose work all of these have rated, but those whom somebody is still rating blind.
fn shown<'a>(practical: &'a Practical, markers: &[&str]) -> Vec<&'a str> {
    let mut learners = practical.rated_by(markers);
    learners.retain(|learner| under_way(practical, learner).is_empty());
    learners
}

/// Markers who have begun with this work and not rated all of it, the reference too: nobody looks at others' ratings in the middle of their own.
fn under_way<'a>(practical: &'a Practical, learner: &str) -> Vec<&'a str> {
    let markers = practical.book.markers().into_iter();
    markers.filter(|marker| practical.is_under_way(learner, marker)).collect()
}

/// Markers for whom a learner waits.
fn waiting<'a>(practical: &'a Practical, compared: &Compared<'a>, learner: &str) -> Vec<&'a str> {
    let mut waiting = under_way(practical, learner);
    let open = |marker: &&&str| !practical.has_rated_all(learner, marker) && !waiting.contains(marker);
    let absent: Vec<&str> = compared.pair.iter().filter(open).copied().collect();
    waiting.extend(absent);
    waiting
}

/// The profiles, plain faults first.
fn learners(practical: &Practical, compared: &Compared) -> Markup {
    let [first, second] = compared.pair;
    let list = shown(practical, &compared.pair);
    let all = practical.rubric.criteria.len();
    let left_out = practical.book.learners().into_iter().filter(|learner| !list.contains(learner));
    html! {
        section.sheet {
            h2 { "Learners" }
            p { (number_of(list.len(), "learner")) " rated wholly by " (first) " and by " (second) "." }
            @for learner in &list { (profile(practical, compared, learner)) }
            @for learner in left_out {
                @let waiting = waiting(practical, compared, learner);
                p.muted { b { (learner) } " is left out, and nothing that was given is shown: "
                    @for (place, marker) in waiting.iter().enumerate() {
                        @if place > 0 { "; " }
                        @let open = practical.still_open(learner, marker).len();
                        (marker) @if open == all { " has not begun" } @else { " has " (open) " of " (all) " open" }
                    } "." }
            }
        }
    }
}

fn profile(practical: &Practical, compared: &Compared, learner: &str) -> Markup {
    let mut columns = compared.pair.to_vec();
    let reference = compared.reference.filter(|reference| practical.has_rated_all(learner, reference));
    columns.extend(reference.filter(|reference| !compared.pair.contains(reference)));
    let known = |marker: &str, criterion: &Criterion| {
        practical.given(learner, marker, criterion).and_then(|level| level.known())
    };
    let plain: Vec<&Criterion> =
        practical.rubric.criteria.iter().filter(|criterion| criterion.plain_fault).collect();
    let is_seen = |criterion: &&&Criterion| {
        columns
            .iter()
            .any(|marker| known(marker, criterion).is_some_and(|level| level + 1 < criterion.levels.len()))
    };
    let unseen = |criterion: &&&Criterion| columns.iter().any(|marker| known(marker, criterion).is_none());
    let mut seen: Vec<&Criterion> = plain.iter().filter(is_seen).copied().collect();
    let worst = |criterion: &Criterion| columns.iter().filter_map(|marker| known(marker, criterion)).min();
    seen.sort_by_key(|criterion| worst(criterion));
    let (named, lesser): (Vec<&Criterion>, Vec<&Criterion>) =
        seen.iter().copied().partition(|criterion| worst(criterion) == Some(0));
    // A fault that only one of them saw is to be talked about, and is no fault yet.
    let (named, disputed): (Vec<&Criterion>, Vec<&Criterion>) = named.into_iter().partition(|criterion| {
        columns.iter().all(|marker| known(marker, criterion).is_none_or(|level| level == 0))
    });
    let rest: Vec<&Criterion> = practical
        .rubric
        .criteria
        .iter()
        .filter(|criterion| !criterion.plain_fault && worst(criterion) == Some(0))
        .collect();
    let unseen: Vec<&Criterion> = plain.iter().filter(unseen).copied().collect();
    let apart = differences(practical, learner, compared.pair);
    let is_late = |marker: &str, criterion: &Criterion| {
        let key = (learner.to_owned(), marker.to_owned(), criterion.id.clone());
        practical.changed_late.contains(&key)
    };
    let names = |list: &[&Criterion]| {
        list.iter().map(|criterion| criterion.words.as_str()).collect::<Vec<_>>().join(", ")
    };
    let said = |criterion: &Criterion| {
        html! { @for (place, marker) in columns.iter().enumerate() { @if place > 0 { "; " } (marker) " " i { (in_words(practical, learner, marker, criterion)) } } }
    };
    html! {
        details.profile {
            summary { b { (learner) } " "
                @if !named.is_empty() { (chip("stop", "plain fault")) " " (names(&named)) " " }
                @if !disputed.is_empty() { (chip("caution", "disputed")) " " (names(&disputed)) " " }
                @if !rest.is_empty() { (chip("caution", "at its worst")) " " (names(&rest)) " " }
                @if !lesser.is_empty() { @if named.is_empty() && disputed.is_empty() { "no plain fault at its worst level; " } "less than the best: " (names(&lesser)) }
                @else if named.is_empty() && disputed.is_empty() { "no plain fault was seen" }
                @if !unseen.is_empty() { "; could not be seen by all: " (names(&unseen)) }
                span.muted { " · " @if apart.is_empty() { "no difference" } @else { (number_of(apart.len(), "difference")) } } }
            @if !seen.is_empty() { h3 { "Plain faults first" } ul { @for criterion in &seen { li { b { (criterion.words) } ": " (said(criterion)) } } } }
            @if !apart.is_empty() {
                h3 { "Look at it together, in this order" }
                ol { @for difference in &apart {
                    li { b { (difference.criterion.words) } ": " (said(difference.criterion)) span.muted { ", " (difference.apart()) " of " (difference.criterion.levels.len() - 1) " steps apart" } }
                } }
                p { "Take the work under light and magnification and settle each. Enter what you settle on under initials of its own, such as CO, and choose it as the reference: "
                    "what each of you gave stays as it was given." }
            }
            h3 { "Profile" }
            div.scroll { table {
                thead { tr { th scope="col" { "criterion" } @for marker in &columns { th scope="col" { (marker) } } } }
                @for (heading, is_plain) in GROUPS {
                    tbody {
                        tr { th.group scope="rowgroup" colspan=(columns.len() + 1) { (heading) } }
                        @for criterion in practical.rubric.criteria.iter().filter(|criterion| criterion.plain_fault == is_plain) {
                            tr { th scope="row" { (criterion.words) } @for marker in &columns { td { (in_words(practical, learner, marker, criterion))
                                @if is_late(marker, criterion) { span.muted { " (changed after the other could be seen)" } } } } }
                        }
                    }
                }
            } }
        }
    }
}

/// How far the markers agree, by scales of the same number of levels.
fn agreement(practical: &Practical, compared: &Compared) -> Result<Markup, String> {
    let [first, second] = compared.pair;
    let learners = shown(practical, &compared.pair);
    let mut parts = Vec::new();
    for (levels, criteria) in practical.scales() {
        let of_pair = places(&learners, &criteria);
        let (a, b) = (practical.levels(first, &of_pair), practical.levels(second, &of_pair));
        let found = two_markers(&a, &b, levels).map_err(|error| error.to_string())?;
        let unseen: Vec<Place> = of_pair
            .iter()
            .zip(a.iter().zip(&b))
            .filter(|(_, (a, b))| a.known().is_none() || b.known().is_none())
            .map(|(place, _)| *place)
            .collect();
        parts.push(html! {
            h3 { "Criteria with " (levels) " levels" }
            p.muted { (criteria.iter().map(|criterion| criterion.words.as_str()).collect::<Vec<_>>().join(", ")) }
            (figures(&found, levels))
            @if let Some(paradox) = &found.paradox { p.stopline { "High agreement, low kappa: " (paradox.to_string()) "." } }
            @if found.left_out > 0 { p { (number_of(found.left_out, "case")) " left out, because one or both could not see it: "
                (unseen.iter().map(|place| format!("{} {}", place.learner, place.criterion.words)).collect::<Vec<_>>().join("; ")) "." } }
            @if found.both > 0 { (pictures::agreement(&format!("agreement-{levels}"), compared.pair, &found.table)) }
        });
    }
    let late: Vec<String> = practical
        .changed_late
        .iter()
        .filter(|(learner, marker, _)| {
            learners.contains(&learner.as_str()) && compared.pair.contains(&marker.as_str())
        })
        .map(|(learner, marker, criterion)| format!("{learner} {criterion} by {marker}"))
        .collect();
    Ok(html! {
        section.sheet {
            h2 { "Agreement of " (first) " and " (second) }
            p { "A case is one criterion on the work of one learner that both have rated wholly. Scales of different lengths are not put together. "
                "Kappa is agreement beyond what chance gives; weighted, a near miss counts in part, by its distance (linear) or the square of it (quadratic), every step of a scale as long as the others." }
            @if !late.is_empty() { p { "Told of what was given blind. Changed after the other could be seen, and not counted: " (late.join("; ")) "." } }
            @for part in &parts { (part) }
            p.muted { "Cases of one learner hang together, so that the intervals are narrower than they should be. Level words differ from criterion to criterion: look at the criteria too." }
            @if compared.independent.len() > 2 { (of_all(practical, compared)?) }
        }
    })
}

fn figures(found: &TwoMarkers, levels: usize) -> Markup {
    let same: usize = (0..levels).filter_map(|level| found.table.get(level)?.get(level)).sum();
    // With two levels every miss is as far as any other, and weights change nothing.
    let kappas = found.kappas.iter().filter(|kappa| levels > 2 || kappa.weights == Weights::None);
    html! {
        div.scroll { table.agreement {
            thead { tr { th scope="col" { "figure" } th scope="col" { "value" } th scope="col" { "interval of 95 %" } } }
            tbody {
                tr { th scope="row" { "same level" } td { (told(found.agreement, |share| format!("{same} of {} cases, {:.0} %", found.both, 100.0 * share))) } td {} }
                @for kappa in kappas {
                    tr { th scope="row" { (match kappa.weights { Weights::None => "Cohen's kappa", Weights::Linear => "kappa, linear weights", Weights::Quadratic => "kappa, quadratic weights" }) }
                        @match kappa.kappa {
                            Figure::Known(value) => { td { (two_places(value)) } td { (told(kappa.interval, span)) } },
                            absent => td colspan="2" { (told(absent, two_places)) },
                        } }
                }
            }
        } }
    }
}

/// All independent markers at once.
fn of_all(practical: &Practical, compared: &Compared) -> Result<Markup, String> {
    let learners = shown(practical, &compared.independent);
    let mut rows = Vec::new();
    for (levels, criteria) in practical.scales() {
        let of_all = places(&learners, &criteria);
        let given: Vec<Vec<Fact<usize>>> =
            compared.independent.iter().map(|marker| practical.levels(marker, &of_all)).collect();
        let given: Vec<&[Fact<usize>]> = given.iter().map(Vec::as_slice).collect();
        rows.push((levels, many_markers(&given, levels).map_err(|error| error.to_string())?));
    }
    Ok(html! {
        h3 { "All of " (compared.independent.join(", ")) }
        p { (number_of(learners.len(), "learner")) " rated wholly by all of them. A marking that was settled together is not independent of those who settled it: choose it as the reference, and it is not counted here." }
        div.scroll { table.agreement {
            thead { tr { th scope="col" { "criteria with" } th scope="col" { "cases" } th scope="col" { "left out, not seen by all" } th scope="col" { "pairs that agree" } th scope="col" { "Fleiss' kappa" } } }
            tbody { @for (levels, many) in &rows {
                tr { th scope="row" { (levels) " levels" } td { (many.all) } td { (many.left_out) }
                    td { (told(many.agreement, |share| format!("{:.0} %", 100.0 * share))) } td { (told(many.kappa, two_places)) } }
            } }
        } }
    })
}

/// Each marker against the reference that was chosen.
fn calibrations(practical: &Practical, compared: &Compared, markers: &[&str]) -> Result<Markup, String> {
    let Some(reference) = compared.reference else {
        return Ok(html! {
            section.sheet { h2 { "Against a reference" }
                p { "Choose a reference marking above: that of an experienced marker, or what was settled together under initials of its own. Then each marker is compared with it, criterion by criterion." } }
        });
    };
    let mut parts = Vec::new();
    for marker in markers.iter().filter(|marker| **marker != reference) {
        let learners = shown(practical, &[marker, reference]);
        let (given, wanted) =
            (practical.marking(marker, &learners), practical.reference(reference, &learners));
        let found = calibrate(&practical.rubric, &given, &wanted).map_err(|error| error.to_string())?;
        parts.push(calibration(practical, marker, reference, learners.len(), &found));
    }
    Ok(html! {
        section.sheet {
            h2 { "Against " (reference) ", the reference" }
            p { "A difference above 0 is kinder than the reference. What is named to talk about first: plain faults passed over, then other differences on plain faults, then the rest." }
            @for part in &parts { (part) }
        }
    })
}

fn calibration(
    practical: &Practical,
    marker: &str,
    reference: &str,
    learners: usize,
    found: &Calibration,
) -> Markup {
    let criterion = |id: &str| practical.rubric.criteria.iter().find(|criterion| criterion.id == id);
    let words = |id: &str| criterion(id).map_or(id.to_owned(), |criterion| criterion.words.clone());
    let of = |id: &String| found.by_criterion.iter().find(|bias| bias.criterion == *id);
    html! {
        h3 { (marker) " against " (reference) }
        @if learners == 0 { p.muted { "No learner was rated wholly by both." } }
        @else {
            p { (number_of(learners, "learner")) " rated wholly by both." }
            @if found.talk_about.is_empty() { p { "No difference." } }
            @else {
                p { b { "Talk about first" } }
                ol { @for bias in found.talk_about.iter().take(TALK).filter_map(of) { li { b { (words(&bias.criterion)) } ": " (difference(bias)) } } }
            }
            div.scroll tabindex="0" role="region" aria-label={ (marker) " against " (reference) ", by criterion" } { table.calibration {
                thead { tr { th scope="col" { "criterion" } th scope="col" { "cases" } th scope="col" { "mean difference, levels" } th scope="col" { "interval of 95 %" } th scope="col" { "kinder" } th scope="col" { "stricter" } } }
                @for (heading, is_plain) in GROUPS {
                    tbody {
                        tr { th.group scope="rowgroup" colspan="6" { (heading) } }
                        @for bias in found.by_criterion.iter().filter(|bias| bias.plain_fault == is_plain) {
                            tr { th scope="row" { (words(&bias.criterion)) }
                                td { (bias.both) } td { (told(bias.mean, signed)) } td { (told(bias.interval, span)) }
                                td { (bias.over) } td { (bias.under) } }
                        }
                    }
                }
            } }
        }
    }
}

/// How a marker differs on a criterion.
fn difference(bias: &Bias) -> String {
    let over = if bias.plain_fault { "passed over or taken lightly" } else { "kinder" };
    let parts = [(bias.over, over), (bias.under, "stricter")];
    let parts: Vec<String> = parts
        .iter()
        .filter(|(count, _)| *count > 0)
        .map(|(count, words)| format!("{words} in {count} of {}", number_of(bias.both, "case")))
        .collect();
    parts.join(", ")
}

/// A figure, or in words why there is none.
fn told<T: Copy>(figure: Figure<T>, write: impl Fn(T) -> String) -> Markup {
    match figure {
        Figure::Known(value) => html! { (write(value)) },
        Figure::Absent(absent) => html! { span.muted { (absent.to_string()) } },
    }
}

fn two_places(value: f64) -> String {
    let text = format!("{value:.2}").replace('-', "−");
    // Zero has no sign.
    if text == "−0.00" { "0.00".to_owned() } else { text }
}

fn signed(value: f64) -> String {
    let text = two_places(value);
    if text.starts_with('−') || text == "0.00" { text } else { format!("+{text}") }
}

fn span([low, high]: [f64; 2]) -> String {
    format!("{} to {}", two_places(low), two_places(high))
}
