//! Somebody's days as a calendar, by a link that is a secret.

use app::AppError;
use axum::extract::{Path, State};
use axum::http::header::{CACHE_CONTROL, CONTENT_DISPOSITION, CONTENT_TYPE, RETRY_AFTER};
use axum::http::{HeaderValue, StatusCode};
use axum::response::{IntoResponse, Response};
use jiff::Timestamp;

use crate::site::Site;
use crate::viewer::Address;

/// `GET /calendar/{secret}.ics`: no session is needed, and what is wrong with a link is not
/// told.
pub(crate) async fn get(
    State(site): State<Site>,
    Address(address): Address,
    Path(name): Path<String>,
) -> Response {
    let (settings, snapshot) = (site.config.desk.settings(), site.snapshot());
    let found = name.strip_suffix(".ics").and_then(|text| {
        app::find_pass(&settings, &snapshot.programme, (text, true), site.today())
    });
    let rates = site.config.rates;
    let taken = match &found {
        Some(pass) => site.rate.take(&format!("calendar {}", pass.name), rates.calendars),
        None => site.rate.take(&format!("no calendar, {address:?}"), rates.strangers),
    };
    if let Err(wait) = taken {
        let mut response = StatusCode::TOO_MANY_REQUESTS.into_response();
        let seconds = HeaderValue::from(wait.as_secs() + 1);
        response.headers_mut().insert(RETRY_AFTER, seconds);
        return response;
    }
    let Some(pass) = found else { return StatusCode::NOT_FOUND.into_response() };
    crate::api::note(&site, &pass);
    let made = site.stamp().parse().unwrap_or(Timestamp::UNIX_EPOCH);
    let write = move || app::calendar_of(&snapshot.programme, &pass.owner, made);
    match site.aside(write).await {
        Ok(text) => {
            let headers = [
                (CONTENT_TYPE, "text/calendar; charset=utf-8"),
                (CONTENT_DISPOSITION, "inline; filename=\"days.ics\""),
                (CACHE_CONTROL, "private, no-store"),
            ];
            (headers, text).into_response()
        }
        Err(AppError::Unknown(_)) => StatusCode::NOT_FOUND.into_response(),
        Err(_) => StatusCode::SERVICE_UNAVAILABLE.into_response(),
    }
}
