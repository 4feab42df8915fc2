//! What a request brings, and what goes wrong with it.

use std::sync::Arc;

use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use records::Running;
use terms::{CaseCode, Instant};

use super::House;
use super::frame;
use super::house::Open;
use crate::load::Known;
use crate::running::here;
use case_file::Case;

/// Something went wrong with a request; it is answered with a page that says what.
pub struct Wrong {
    status: StatusCode,
    house: Arc<House>,
    words: String,
}

impl Wrong {
    /// Somebody asked for what cannot be.
    pub fn asked(house: &Arc<House>, words: impl ToString) -> Wrong {
        Wrong { status: StatusCode::UNPROCESSABLE_ENTITY, house: Arc::clone(house), words: words.to_string() }
    }

    /// There is no such thing.
    pub fn absent(house: &Arc<House>, words: impl ToString) -> Wrong {
        Wrong { status: StatusCode::NOT_FOUND, house: Arc::clone(house), words: words.to_string() }
    }

    /// A form of another start of the program.
    pub fn stale(house: &Arc<House>) -> Wrong {
        Wrong {
            status: StatusCode::CONFLICT,
            house: Arc::clone(house),
            words: "This page is from before the program was started anew. Nothing was recorded: reload the page and do it again."
                .to_owned(),
        }
    }

    /// In words.
    pub fn words(&self) -> &str {
        &self.words
    }

    /// Its status.
    pub fn status(&self) -> StatusCode {
        self.status
    }
}

impl IntoResponse for Wrong {
    fn into_response(self) -> Response {
        frame::refused(self.status, &self.house, &self.words).into_response()
    }
}

/// What goes wrong on the way to a page.
pub trait OrWrong<T> {
    /// As a page that says so.
    ///
    /// # Errors
    /// The page.
    fn or_wrong(self, house: &Arc<House>) -> Result<T, Wrong>;
}

impl<T> OrWrong<T> for anyhow::Result<T> {
    fn or_wrong(self, house: &Arc<House>) -> Result<T, Wrong> {
        self.map_err(|error| Wrong::asked(house, format!("{error:#}")))
    }
}

/// A case that somebody asks about, as it stands now.
pub struct Told {
    /// Code.
    pub code: CaseCode,
    /// The open case.
    pub open: Arc<Open>,
    /// The case, with what counts of its history.
    pub case: Case,
    /// What its history leaves.
    pub running: Running,
    /// The ledger, the rulebook and what is at hand.
    pub known: Arc<Known>,
    /// The present among its moments.
    pub now: Instant,
}

/// Opens the case in an address and takes over what others have recorded of it.
///
/// # Errors
/// When there is no such case, or it cannot be read.
pub async fn told(house: &Arc<House>, text: &str) -> Result<Told, Wrong> {
    let code = code(house, text)?;
    let open = house.open(&code).await.map_err(|error| Wrong::absent(house, format!("{error:#}")))?;
    let mut session = open.session.lock().await;
    let _ = session.follow(&house.store).await;
    let (now, _) = session.running().present(&here());
    let (case, running, known) =
        (session.case().clone(), session.running().clone(), Arc::clone(session.known()));
    drop(session);
    Ok(Told { code, open, case, running, known, now })
}

/// The code in an address.
///
/// # Errors
/// When it is none.
pub fn code(house: &Arc<House>, text: &str) -> Result<CaseCode, Wrong> {
    CaseCode::new(text).map_err(|error| Wrong::absent(house, error))
}

/// Fields of a form in their order; a field may come more than once.
#[derive(Default)]
pub struct Form(Vec<(String, String)>);

impl Form {
    /// Reads a form.
    ///
    /// # Errors
    /// When it was not made by this start of the program.
    pub fn read(house: &Arc<House>, body: &str) -> Result<Form, Wrong> {
        let form = Form::read_openly(body);
        match form.get("token") == Some(house.token.as_str()) {
            true => Ok(form),
            false => Err(Wrong::stale(house)),
        }
    }

    /// Reads what changes nothing, and so needs no token.
    pub fn read_openly(body: &str) -> Form {
        Form(form_urlencoded::parse(body.as_bytes()).into_owned().collect())
    }

    /// The first field of this name that says something.
    pub fn get(&self, name: &str) -> Option<&str> {
        self.fields().find(|(known, text)| *known == name && !text.is_empty()).map(|(_, text)| text)
    }

    /// Every field of this name that says something.
    pub fn all<'a>(&'a self, name: &'a str) -> impl Iterator<Item = &'a str> {
        self.0
            .iter()
            .filter(move |(known, _)| known == name)
            .map(|(_, text)| text.trim())
            .filter(|text| !text.is_empty())
    }

    /// Everything to do: fields named `line`, or `line-` and anything, where each of several choices needs a name of its own.
    pub fn lines(&self) -> impl Iterator<Item = &str> {
        let is_line = |name: &str| name == "line" || name.starts_with("line-");
        self.fields().filter(move |(name, text)| is_line(name) && !text.is_empty()).map(|(_, text)| text)
    }

    /// Every field, also an empty one.
    pub fn fields(&self) -> impl Iterator<Item = (&str, &str)> {
        self.0.iter().map(|(name, text)| (name.as_str(), text.trim()))
    }
}
