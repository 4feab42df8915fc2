//! A new case in six taps: from Today here, purpose, tooth, margin, gum, and the card.

use std::sync::Arc;

use axum::extract::State;
use axum::response::{Html, IntoResponse, Redirect, Response};
use ledger::ProductKind;
use maud::{Markup, html};
use records::Book;
use terms::{Action, CaseCode, ClockOrigin, Fact, GypsumType, Instant, Purpose};

use super::House;
use super::ask::{Form, OrWrong, Wrong};
use super::frame::{Area, Page, hidden};
use super::house::QUICK;
use super::stock::{FRESH_S, room_of};
use crate::load::Known;
use crate::running::{Session, here};
use case_file::{self, Case};

/// Depths of a margin to choose from, mm, with their words.
const DEPTHS: &[(&str, &str)] = &[
    ("0", "at the gum or above"),
    ("0.5", "0.5 mm below"),
    ("1", "1 mm below"),
    ("1.5", "1.5 mm below"),
    ("2", "2 mm or more"),
    ("", "not known"),
];

/// What stands in the sulcus.
const GUM: &[(&str, &str)] = &[
    ("dry", "dry, does not bleed"),
    ("damp", "damp, does not bleed"),
    ("fluid", "fluid stands in it"),
    ("blood", "bleeds"),
    ("", "not known"),
];

/// `GET /new`.
pub async fn page(State(house): State<Arc<House>>) -> Result<Html<String>, Wrong> {
    let book = house.book().await.or_wrong(&house)?;
    let now = here().wall;
    let known = house.known().or_wrong(&house)?;
    let room = room_of(&book, now, &house.zone);
    let tile = |name: &str, kind: &str, value: &str, words: Markup, checked: bool| {
        let id = format!("{name}-{}", if value.is_empty() { "unknown" } else { value }).replace(' ', "-");
        html! {
            span.tile { input type=(kind) name=(name) value=(value) id=(id) checked[checked]; label for=(id) { (words) } }
        }
    };
    let jaw = |first: [u8; 2]| {
        html! {
            @for quadrant in first {
                span.quadrant {
                    @let numbers: Vec<u8> = if quadrant % 3 == 1 { (1..=8).rev().collect() } else { (1..=8).collect() };
                    @for number in numbers { @let tooth = format!("{quadrant}{number}"); (tile("tooth", "checkbox", &tooth, html! { (tooth) }, false)) }
                }
            }
        }
    };
    let body = html! {
        h1 { "New case" }
        p.muted { "No name of a patient: the case gets a code. What is not said stays unknown and can be said later." }
        form.begin method="post" action="/new" {
            (hidden(&house, "/"))
            fieldset { legend { "What for" }
                div.tiles { @for purpose in [Purpose::Crown, Purpose::Bridge, Purpose::StudyCast] { (tile("purpose", "radio", purpose.word(), html! { (purpose) }, false)) } }
                details { summary { "timed only, no error is forecast" }
                    div.tiles { @for purpose in Purpose::ALL.iter().filter(|purpose| !purpose.in_checked_scope()) { (tile("purpose", "radio", purpose.word(), html! { (purpose) }, false)) } } }
            }
            fieldset { legend { "Which tooth (ISO 3950); several in the order of syringing can be sorted later" }
                div.jaw { (jaw([1, 2])) } div.jaw { (jaw([4, 3])) }
            }
            fieldset { legend { "The margin, against the gum" }
                div.tiles { @for (value, words) in DEPTHS { (tile("depth", "radio", value, html! { (words) }, value.is_empty())) } } }
            fieldset { legend { "The sulcus when the material comes" }
                div.tiles { @for (value, words) in GUM { (tile("gum", "radio", value, html! { (words) }, value.is_empty())) } } }
            details { summary { "Material, if it is decided; otherwise the first that serves, and the card compares all" }
                label.fact { span { "Material and technique" }
                    select name="kit" { option value="" { "the first that serves" } @for kit in &known.stock.clinic.kits { option value=(kit.name) { (kit.name) } } } }
            }
            section.quiet { h2 { "The room" } @for line in &room { p { (line) } }
                p.muted { "Read again on " a href="/" { "Today" } "." } }
            p.stickly { button.go { "Make the card" } }
        }
    };
    Ok(Page { house: &house, title: "New case", area: Area::Begin, case: None, body }.html())
}

/// `POST /new`.
pub async fn make(State(house): State<Arc<House>>, body: String) -> Result<Response, Wrong> {
    let form = Form::read(&house, &body)?;
    let known = house.known().or_wrong(&house)?;
    let book = house.book().await.or_wrong(&house)?;
    let at = here();
    let Some(purpose) = form.get("purpose").and_then(Purpose::from_word) else {
        return Err(Wrong::asked(
            &house,
            "What is the copy for? Go back and choose crown, bridge or study cast.",
        ));
    };
    let code = next_code(&house).await.or_wrong(&house)?;
    let text = stated(&form, purpose, &code, &book, &known, at.wall, house.demo);
    let case = case_file::parse(code.as_str(), &text).map_err(|problems| {
        let list =
            problems.list.iter().map(|p| format!("{}: given {}; allowed {}", p.field, p.given, p.allowed));
        Wrong::asked(&house, list.collect::<Vec<_>>().join("\n"))
    })?;
    let case = planned(case, form.get("kit"), &known, at.wall);
    let text = case_file::write(&case);
    Session::state(&house.store, code.as_str(), &text, &house.hand, &at).await.or_wrong(&house)?;
    Ok(Redirect::to(&format!("/case/{code}")).into_response())
}

/// The next code that no case has.
async fn next_code(house: &House) -> anyhow::Result<CaseCode> {
    let letters = if house.demo { "DEMO" } else { "TW" };
    let used = house.cases().await?;
    let number = |code: &CaseCode| {
        let (before, digits) = code.as_str().split_once('-')?;
        (before == letters).then(|| digits.parse::<u32>().ok()).flatten()
    };
    let last = used.iter().filter_map(|line| number(&line.case)).max().unwrap_or(0);
    let first = if house.demo { 100 } else { 0 };
    Ok(CaseCode::new(&format!("{letters}-{:04}", last.max(first) + 1))?)
}

/// The case file that the answers make.
fn stated(
    form: &Form,
    purpose: Purpose,
    code: &CaseCode,
    book: &Book,
    known: &Known,
    now: Instant,
    demo: bool,
) -> String {
    let fresh = |read: Option<(f64, Instant)>| {
        read.filter(|(_, at)| now.seconds_since(*at) < FRESH_S).map(|(si, _)| si)
    };
    let mut text = format!(
        "schema_version = 1\ncode = \"{code}\"\ndemo = {demo}\n\n[situation]\npurpose = \"{purpose}\"\n"
    );
    let mut say = |name: &str, value: Option<String>| {
        if let Some(value) = value {
            text.push_str(&format!("{name} = {value}\n"));
        }
    };
    let celsius = |k: f64| format!("\"{:.1} °C\"", k - 273.15);
    say("room_temperature", fresh(book.room_temperature_k).map(celsius));
    say("room_humidity", fresh(book.room_humidity).map(|share| format!("\"{:.0} %\"", 100.0 * share)));
    let gum = form.get("gum").filter(|word| GUM.iter().any(|(known, _)| known == word));
    let bleeding = match gum {
        Some("blood") => Some("true"),
        Some("dry" | "damp") => Some("false"),
        _ => None,
    };
    if purpose.has_die() {
        say("bleeding", bleeding.map(str::to_owned));
    }
    let quoted = |text: &str| toml::Value::String(text.to_owned()).to_string();
    let teeth: Vec<&str> = form.all("tooth").collect();
    if purpose.has_die() || !purpose.in_checked_scope() {
        for tooth in &teeth {
            text.push_str(&format!("\n[[situation.abutment]]\ntooth = {}\n", quoted(tooth)));
            if let Some(depth) =
                form.get("depth").filter(|depth| DEPTHS.iter().any(|(known, _)| known == depth))
            {
                text.push_str(&format!("margin_depth = \"{depth} mm\"\n"));
            }
            if let Some(gum) = gum {
                text.push_str(&format!("sulcus = \"{gum}\"\n"));
            }
        }
    }
    // A way to begin with; what is planned is chosen from stock below.
    let (class, method, gypsum) = match purpose {
        Purpose::StudyCast => ("alginate", "hand", GypsumType::Type3),
        _ => ("addition silicone", "automix", GypsumType::Type4),
    };
    text.push_str("\n[route]\ntechnique = \"single viscosity\"\n");
    if purpose == Purpose::StudyCast {
        text.push_str("displacement = \"none\"\n");
    }
    text.push_str(&format!(
        "\n[route.material]\nclass = \"{class}\"\n\n[route.tray]\nkind = \"stock\"\nmaterial = \"metal\"\n"
    ));
    text.push_str(&format!("\n[route.mix]\nmethod = \"{method}\"\n\n[route.stone]\ngypsum = \"{gypsum}\"\n"));
    let mut stones =
        known.parameters.products().filter(|product| product.kind == ProductKind::Gypsum(gypsum));
    if let (Some(stone), None) = (stones.next(), stones.next()) {
        text.push_str(&format!("product = {}\n", quoted(&stone.id.0)));
    }
    if purpose == Purpose::StudyCast
        && let Some(k) = fresh(book.water_temperature_k)
    {
        text = text.replacen("\n[route]\n", &format!("\n[route]\n# tap {}\n", celsius(k)), 1);
        text = text.replacen("purpose =", &format!("water_temperature = {}\npurpose =", celsius(k)), 1);
    }
    text
}

/// The case with a way from stock: that of the kit that was chosen, or the first that no stop blocks.
fn planned(case: Case, kit: Option<&str>, known: &Known, now: Instant) -> Case {
    let clinic = &known.stock.clinic;
    let serves = |name: &str| match kit {
        Some(kit) => name == kit,
        None => clinic.kits.iter().any(|kit| kit.name == name),
    };
    // A study cast in stock material that is meant for one comes before others.
    let plain = case.situation.purpose == Purpose::StudyCast;
    let ways = known.ask(&case, now, counsel::routes::ways);
    let of_stock = |way: &&counsel::routes::Way| serves(&way.kit) && way.stops.is_empty();
    let fits = |way: &&counsel::routes::Way| !plain || way.route.material.class.is_alginate();
    let way = ways.iter().filter(of_stock).find(fits).or_else(|| ways.iter().find(of_stock));
    match way {
        Some(way) => {
            let case = Case {
                situation: way.situation.clone(),
                route: way.route.clone(),
                visit: way.visit.clone(),
                ..case
            };
            match plain {
                // Nothing is displaced for a cast without a prepared margin.
                true => {
                    let mut case = case;
                    case.route.displacement = Fact::Known(terms::Displacement::None);
                    kept_until_it_opens(case, known, now)
                }
                false => kept_until_it_opens(case, known, now),
            }
        }
        None => case,
    }
}

/// The case kept as its class is kept in this clinic, and no shorter than until it may be poured.
fn kept_until_it_opens(mut case: Case, known: &Known, now: Instant) -> Case {
    let class = case.route.material.class;
    let keeping = known.stock.clinic.keeping.iter().find(|keeping| keeping.classes.contains(&class));
    if let (true, Some(keeping)) = (case.route.holding.is_empty(), keeping) {
        case.route.holding = keeping.segments.clone();
    }
    let Ok(forecast) = known.forecast(&case, QUICK, now) else { return case };
    let removed_s = forecast.origin_s(ClockOrigin::Removal);
    let opens_s = forecast.window(Action::Pour).and_then(|window| window.opens.binding_s);
    let short_s = opens_s.map_or(0.0, |opens_s| opens_s - removed_s - case.route.planned_holding_s());
    if let Some(last) = case.route.holding.last_mut().filter(|_| short_s > 0.0) {
        // Up to whole five minutes: a first answer supports no more.
        last.duration_s += (short_s / 300.0).ceil() * 300.0;
    }
    case
}
