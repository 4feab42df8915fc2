//! Stock: products with what is printed on them, lots with their expiry, and the room as it was last read.

use std::sync::Arc;

use axum::extract::State;
use axum::response::{Html, IntoResponse, Redirect, Response};
use jiff::tz::TimeZone;
use ledger::ProductKind;
use maud::html;
use records::{Book, Entry, EntryId, Store, What};
use terms::{Bound, CaseCode, Instant, Range, Reading, ranges};

use super::House;
use super::ask::{Form, OrWrong, Wrong};
use super::deeds::back;
use super::frame::{Area, Page, chip, hidden};
use super::today::by_calendar;
use crate::digits::span;
use crate::running::here;
use case_file::{quantity_text, with_point};

/// A room that was read longer ago than this is asked for again, s: a day's work changes it. Common practice.
pub const FRESH_S: f64 = 12.0 * 3600.0;

/// `GET /stock`.
pub async fn page(State(house): State<Arc<House>>) -> Result<Html<String>, Wrong> {
    let known = house.known().or_wrong(&house)?;
    let book = house.book().await.or_wrong(&house)?;
    let day = by_calendar(here().wall, &house.zone, "%F");
    let name = |id: &str| {
        known.parameters.products().find(|product| product.id.0 == id).map(|product| product.name.clone())
    };
    let products: Vec<_> = known.parameters.products().collect();
    let body = html! {
        h1 { "Stock" }
        p { "From " (known.stock.clinic.title) ". A clinic file says what is at hand, what it costs and what is printed on it: "
            code { "trayward example clinic" } ", then " code { "trayward serve --clinic FILE" } "." }
        section.sheet {
            h2 { "Lots on the shelf" }
            @if book.lots.is_empty() { p.muted { "No lot is written down." } }
            div.scroll { table {
                thead { tr { th { "product" } th { "lot" } th { "may be used until" } th { "came" } th { "shelf" } } }
                tbody { @for lot in &book.lots {
                    tr {
                        th scope="row" { (name(&lot.product).unwrap_or_else(|| lot.product.clone())) }
                        td { (lot.lot) }
                        td { @match &lot.expires {
                            Some(expires) if expired(Some(expires), &day) => { (expires) " " (chip("stop", "expired")) },
                            Some(expires) => (expires),
                            None => "nothing printed",
                        } }
                        td { (by_calendar(lot.at, &house.zone, "%F")) }
                        td { form.one method="post" action="/stock" { (hidden(&house, "/stock"))
                            input type="hidden" name="off" value=(lot.id.to_string()); button.plain { "Off the shelf" } } }
                    }
                } }
            } }
            form.readings method="post" action="/stock" {
                (hidden(&house, "/stock"))
                label { "Product" select name="product" { @for product in &products { option value=(product.id.0) { (product.name) } } } }
                label { "Lot" input name="lot" required maxlength="24" pattern="[A-Za-z0-9.\\/\\-]{1,24}" autocomplete="off"; }
                label { "Until, such as 2027-03" input name="expires" maxlength="10" pattern="20[0-9]{2}-[0-9]{2}(-[0-9]{2})?" autocomplete="off"; }
                button.plain { "Onto the shelf" }
            }
        }
        section.sheet {
            h2 { "Products and what is printed on them" }
            p.muted { "What is printed is never loosened. A product without instructions says: consult them." }
            @for product in &products {
                details {
                    summary { b { (product.name) } " " span.muted {
                        @match product.kind { ProductKind::Impression(class) => (class), ProductKind::Gypsum(gypsum) => { "stone " (gypsum) } }
                        @if product.demo { " · demo, invented" } } }
                    @if product.instructions.is_empty() { p { (chip("caution", "consult")) " No instruction is entered: consult what is printed." } }
                    div.scroll { table {
                        thead { tr { th { "step" } th { "limit" } th { "from" } th { "conditions" } th { "source" } } }
                        tbody { @for limit in &product.instructions {
                            tr { th scope="row" { (limit.action) }
                                td { (if limit.bound == Bound::Minimum { "not before " } else { "not after " }) (span(limit.seconds)) }
                                td { (limit.origin) } td { (limit.conditions) } td { (limit.source) } }
                        } }
                    } }
                    p { a.key href={ "/source/" (product.id.0) } { (product.id.0) } }
                }
            }
        }
        section.sheet {
            h2 { "Ways that are compared" }
            div.two {
                div { h3 { "Materials" } ul { @for kit in &known.stock.clinic.kits { li { (kit.name) } } } }
                div { h3 { "Trays" } ul { @for tray in &known.stock.clinic.trays { li { (tray.name) } } }
                    h3 { "To open the gum" } ul { @for means in &known.stock.clinic.means { li { (means.words()) } } } }
            }
        }
    };
    Ok(Page { house: &house, title: "Stock", area: Area::Stock, case: None, body }.html())
}

/// `POST /stock`: a lot comes onto the shelf or off it.
pub async fn keep(State(house): State<Arc<House>>, body: String) -> Result<Response, Wrong> {
    let form = Form::read(&house, &body)?;
    let what = match form.get("off") {
        Some(id) => match EntryId::from_text(id) {
            Some(entry) => What::TakenBack { entry },
            None => return Err(Wrong::asked(&house, format!("off: given {id:?}"))),
        },
        None => {
            let said = |name: &str| form.get(name).unwrap_or("").to_owned();
            What::Received {
                product: said("product"),
                lot: said("lot"),
                expires: form.get("expires").map(str::to_owned),
            }
        }
    };
    write_down(&house, vec![what]).await?;
    Ok(Redirect::to(back(&form, "/stock")).into_response())
}

/// `POST /room`: the room as it is now.
pub async fn room(State(house): State<Arc<House>>, body: String) -> Result<Response, Wrong> {
    let form = Form::read(&house, &body)?;
    let mut list = Vec::new();
    type Reads = (&'static str, Range, fn(f64) -> Reading);
    let readings: [Reads; 3] = [
        ("room", ranges::ROOM_TEMPERATURE, Reading::RoomTemperature),
        ("humidity", ranges::HUMIDITY, Reading::RoomHumidity),
        ("water", ranges::WATER_TEMPERATURE, Reading::WaterTemperature),
    ];
    for (name, range, reading) in readings {
        let Some(text) = form.get(name) else { continue };
        match quantity_text(&format!("{} {}", with_point(text), range.unit.symbol()), &range) {
            Some(si) => list.push(What::Observed { reading: reading(si), earlier_ms: 0 }),
            None => {
                return Err(Wrong::asked(
                    &house,
                    format!("{name}: given {text:?}; allowed {}", range.allowed()),
                ));
            }
        }
    }
    write_down(&house, list).await?;
    Ok(Redirect::to(back(&form, "/")).into_response())
}

/// Writes into the book of the clinic.
async fn write_down(house: &Arc<House>, list: Vec<What>) -> Result<(), Wrong> {
    let code = CaseCode::new(Book::CODE).map_err(|error| Wrong::asked(house, error))?;
    let at = here();
    let mut entries = Vec::new();
    for what in list {
        what.check().map_err(|invalid| Wrong::asked(house, invalid))?;
        entries.push(Entry { id: EntryId::fresh(), case: code.clone(), at: at.clone(), what });
    }
    house.store.append(&entries).await.map_err(|error| Wrong::asked(house, error))?;
    Ok(())
}

/// The room in sentences, with when it was read.
pub fn room_of(book: &Book, now: Instant, zone: &TimeZone) -> Vec<String> {
    let said = |name: &str, read: Option<(f64, Instant)>, write: fn(f64) -> String| match read {
        None => format!("{name}: not known."),
        Some((si, at)) => {
            let old = now.seconds_since(at) >= FRESH_S;
            let when = by_calendar(at, zone, if old { "%F %H:%M" } else { "%H:%M" });
            match old {
                true => format!("{name}: was {} on {when}, too long ago to go by: read it again.", write(si)),
                false => format!("{name}: {}, read at {when}.", write(si)),
            }
        }
    };
    let celsius: fn(f64) -> String = |k| format!("{:.1} °C", k - 273.15);
    vec![
        said("Room", book.room_temperature_k, celsius),
        said("Humidity", book.room_humidity, |share| format!("{:.0} %", 100.0 * share)),
        said("Tap water", book.water_temperature_k, celsius),
    ]
}

/// Whether a lot may no longer be used on this day: after the last day, or after the last month, that is printed on it.
pub fn expired(expires: Option<&str>, day: &str) -> bool {
    expires.is_some_and(|expires| day.get(..expires.len()).is_some_and(|today| today > expires))
}

#[cfg(test)]
mod tests {
    use super::expired;

    #[test]
    fn a_lot_lasts_to_the_end_of_what_is_printed() {
        assert!(!expired(Some("2027-03"), "2027-03-31") && expired(Some("2027-03"), "2027-04-01"));
        assert!(!expired(Some("2027-03-15"), "2027-03-15") && expired(Some("2027-03-15"), "2027-03-16"));
        assert!(!expired(None, "2027-03-16"));
    }
}
