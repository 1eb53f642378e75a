//! Files: attached, so that acts can name them, and fetched.

use axum::body::Bytes;
use axum::extract::rejection::{BytesRejection, PathRejection};
use axum::extract::{Path, State};
use axum::http::header::LOCATION;
use axum::http::{HeaderMap, StatusCode};
use axum::response::{IntoResponse, Response};
use serde_json::json;

use super::auth::Caller;
use super::{Problem, read};
use crate::pages::attachment;
use crate::site::Site;
use crate::upload;

/// `GET /api/attachments/{digest}`.
pub(super) async fn get(
    State(site): State<Site>,
    _caller: Caller,
    headers: HeaderMap,
    path: Result<Path<String>, PathRejection>,
) -> Response {
    let Ok(Path(digest)) = path else { return Problem::not_found().into_response() };
    match attachment::found(&site, &headers, &digest).await {
        Ok(Some(file)) => file,
        Ok(None) => Problem::not_found().into_response(),
        Err(error) => Problem::of_app(&error).into_response(),
    }
}

/// `POST /api/attachments`: the file as it is. What it is is looked at, not believed; a picture
/// loses what says where and with what it was taken. A file that no act names belongs to no
/// record.
pub(super) async fn post(
    State(site): State<Site>,
    caller: Caller,
    body: Result<Bytes, BytesRejection>,
) -> Response {
    if let Err(problem) = may(&site, &caller) {
        return problem.into_response();
    }
    let Ok(body) = body else {
        let (status, limit) =
            (StatusCode::PAYLOAD_TOO_LARGE, upload::FILE_LIMIT / 1_000_000);
        let detail = format!("A file is {limit} MB at most.");
        return Problem::new(status, "It is too large", detail).into_response();
    };
    let (place, at) = (site.config.desk.place().clone(), site.stamp());
    let attached = site.aside(move || match app::fit(&body, upload::FILE_LIMIT) {
        Ok(fit) => app::attach_all(&place, &[fit], &at).map(Ok),
        Err(unfit) => Ok(Err(unfit)),
    });
    match attached.await {
        Ok(Ok(attached)) => {
            let app::Attached { digest, media: _, kind, size, removed } = &attached[0];
            let value = json!({
                "digest": digest, "media": kind, "size": size, "removed": removed,
            });
            let path = [(LOCATION, format!("/api/attachments/{digest}"))];
            (StatusCode::CREATED, path, read::answer(&value)).into_response()
        }
        Ok(Err(unfit)) => {
            let status = StatusCode::UNPROCESSABLE_ENTITY;
            Problem::new(status, "It can't be attached", unfit).into_response()
        }
        Err(error) => Problem::of_app(&error).into_response(),
    }
}

/// Whoever signs nothing attaches nothing.
fn may(site: &Site, caller: &Caller) -> Result<(), Problem> {
    caller.acts()?;
    if app::observes(&site.snapshot().programme, &caller.person) {
        let detail = "Whoever observes signs nothing, so that no act would name it.";
        return Err(Problem::new(StatusCode::FORBIDDEN, "You may not attach", detail));
    }
    Ok(())
}
