//! The server of the pages: addresses, assets, and the one address of this machine that it listens on.

use std::net::SocketAddr;
use std::sync::{Arc, OnceLock};

use axum::Router;
use axum::extract::{DefaultBodyLimit, Path, State};
use axum::http::{StatusCode, header};
use axum::middleware;
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use tokio::net::TcpListener;

use super::{
    House, begin, card, class, clock, deeds, facts, findings, frame, guard, known, practical,
    practical_result, prints, questions, routes, stock, taught, today,
};

/// The largest form, bytes.
const MOST_FORM: usize = 256 * 1024;

const STYLE: &str = include_str!("../../../../web/trayward.css");
const SCRIPT: &str = include_str!("../../../../web/trayward.js");

/// Why the pages are not served.
#[derive(Debug, thiserror::Error)]
pub enum ServeError {
    /// Not an address of this machine alone.
    #[error(
        "--listen: given {given}; allowed an address of this machine alone, such as 127.0.0.1:8413: there are no accounts and no encryption yet"
    )]
    NotLoopback {
        /// What was given.
        given: String,
    },
    /// It cannot be listened on.
    #[error("--listen: {address} cannot be listened on: {source}")]
    Taken {
        /// The address.
        address: SocketAddr,
        /// Why.
        source: std::io::Error,
    },
}

/// A listening server.
pub struct Listening {
    listener: TcpListener,
    /// Where it listens.
    pub address: SocketAddr,
}

/// Listens on an address of this machine; port 0 takes any that is free.
///
/// # Errors
/// Any other address is refused, and one that is taken is said.
pub async fn listen(text: &str) -> Result<Listening, ServeError> {
    let refused = || ServeError::NotLoopback { given: text.to_owned() };
    let address: SocketAddr = text.parse().map_err(|_| refused())?;
    if !guard::is_loopback(&address) {
        return Err(refused());
    }
    let listener =
        TcpListener::bind(address).await.map_err(|source| ServeError::Taken { address, source })?;
    let address = listener.local_addr().map_err(|source| ServeError::Taken { address, source })?;
    Ok(Listening { listener, address })
}

impl Listening {
    /// Serves until `until` is over; what is under way is finished.
    ///
    /// # Errors
    /// When the system stops listening.
    pub async fn serve(
        self,
        house: Arc<House>,
        until: impl Future<Output = ()> + Send + 'static,
    ) -> std::io::Result<()> {
        axum::serve(self.listener, router(house)).with_graceful_shutdown(until).await
    }
}

/// Every address.
pub fn router(house: Arc<House>) -> Router {
    Router::new()
        .route("/", get(today::page))
        .route("/today.json", get(today::json))
        .route("/new", get(begin::page).post(begin::make))
        .route("/room", post(stock::room))
        .route("/stock", get(stock::page).post(stock::keep))
        .route("/sources", get(known::page))
        .route("/sources/{document}", get(known::document))
        .route("/source/{*key}", get(known::source))
        .route("/rules", get(taught::page))
        .route("/rules/{id}", get(taught::rule))
        .route("/rules/{id}/map.part", get(taught::map))
        .route("/rules/{id}/shares.part", get(taught::share))
        .route("/practical", get(practical::list).post(practical::open))
        .route("/practical/{code}", get(practical::grid))
        .route("/practical/{code}/rate", get(practical::form).post(practical::rate))
        .route("/practical/{code}/sheet", get(practical::sheet))
        .route("/practical/{code}/result", get(practical_result::page))
        .route("/print/pour", get(prints::pour))
        .route("/class", get(class::page))
        .route("/class/parts", get(class::parts))
        .route("/class/source/{*key}", get(class::source))
        .route("/case/{code}", get(card::page))
        .route("/case/{code}/card.json", get(card::sharp))
        .route("/case/{code}/routes.part", get(routes::routes))
        .route("/case/{code}/thickness.part", get(card::thickness))
        .route("/case/{code}/route", post(routes::choose))
        .route("/case/{code}/facts", get(facts::page).post(facts::state))
        .route("/case/{code}/what-if", post(facts::what_if))
        .route("/case/{code}/clock", get(clock::page))
        .route("/case/{code}/clock.json", get(clock::json))
        .route("/case/{code}/do", post(deeds::act))
        .route("/case/{code}/inspect", get(findings::inspect))
        .route("/case/{code}/check", get(findings::check))
        .route("/case/{code}/result.part", get(findings::result))
        .route("/case/{code}/prints", get(prints::page))
        .route("/case/{code}/print/card", get(prints::card))
        .route("/case/{code}/print/sheet", get(prints::sheet))
        .route("/case/{code}/source/{*key}", get(known::of_case))
        .merge(questions::routes())
        .route("/web/{mark}/{name}", get(asset))
        .fallback(nowhere)
        .layer(DefaultBodyLimit::max(MOST_FORM))
        .layer(middleware::from_fn_with_state(Arc::clone(&house), guard::guard))
        .with_state(house)
}

async fn nowhere(State(house): State<Arc<House>>) -> impl IntoResponse {
    frame::refused(StatusCode::NOT_FOUND, &house, "There is no such page.")
}

/// Styles and scripts, under a name that changes with them.
async fn asset(State(house): State<Arc<House>>, Path((_, name)): Path<(String, String)>) -> Response {
    let (kind, text) = match name.as_str() {
        "trayward.css" => ("text/css; charset=utf-8", STYLE),
        "trayward.js" => ("text/javascript; charset=utf-8", SCRIPT),
        _ => return nowhere(State(house)).await.into_response(),
    };
    ([(header::CONTENT_TYPE, kind), (header::CACHE_CONTROL, "public, max-age=31536000, immutable")], text)
        .into_response()
}

/// What the address of styles and scripts changes by.
pub fn mark() -> &'static str {
    static MARK: OnceLock<String> = OnceLock::new();
    MARK.get_or_init(|| {
        use std::hash::{DefaultHasher, Hash, Hasher};
        let mut hasher = DefaultHasher::new();
        (STYLE, SCRIPT).hash(&mut hasher);
        format!("{:016x}", hasher.finish())
    })
}
