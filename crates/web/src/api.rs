//! The JSON interface: what the pages show, for programs.
//!
//! Whoever asks carries a token that somebody made for themselves (`Authorization: Bearer`);
//! a cookie counts for nothing here, so that no page of another site can ask in somebody's
//! name. Every refusal is a problem (RFC 9457). What is described in `/api/openapi.json` is
//! made of the same table as the routes, and the acts' shapes of their table of fields.

mod act;
mod attach;
mod auth;
mod describe;
mod problem;
mod read;

use axum::Router;
use axum::extract::{DefaultBodyLimit, Request, State};
use axum::http::header::CONTENT_TYPE;
use axum::middleware::{Next, from_fn};
use axum::response::Response;
use axum::routing::{get, post};

use crate::site::Site;
use crate::upload;

pub(crate) use auth::note;
pub(crate) use problem::Problem;

/// Where everything of it lies.
pub(crate) const PREFIX: &str = "/api/";

/// The routes below `/api`.
pub(crate) fn router() -> Router<Site> {
    Router::new()
        .route("/openapi.json", get(describe::get))
        .route("/me", get(read::me))
        .route("/overview", get(read::overview))
        .route("/sheets", get(read::sheets))
        .route("/sheets/{sheet}", get(read::sheet))
        .route("/sheets/{sheet}/{name}", get(read::sheet_of))
        .route("/things", get(read::things))
        .route("/history/{name}", get(read::history))
        .route("/entries", get(read::entries))
        .route("/entries/{number}", get(read::entry))
        .route("/acts", post(act::keep))
        .route("/acts/try", post(act::attempt))
        .route("/attachments/{digest}", get(attach::get))
        .route(
            "/attachments",
            post(attach::post).layer(DefaultBodyLimit::max(upload::FILE_LIMIT)),
        )
        .fallback(unknown)
        .method_not_allowed_fallback(async || Problem::method())
        .layer(from_fn(problems))
}

/// Whoever has no token is not told which paths there are.
async fn unknown(
    State(_): State<Site>,
    caller: Result<auth::Caller, Problem>,
) -> Problem {
    caller.err().unwrap_or_else(Problem::not_found)
}

/// What goes wrong before a handler is reached is a problem too.
async fn problems(request: Request, next: Next) -> Response {
    let response = next.run(request).await;
    let status = response.status();
    let kind = response.headers().get(CONTENT_TYPE);
    let told = kind.is_some_and(|kind| kind.as_bytes().starts_with(b"application/"));
    if !status.is_client_error() && !status.is_server_error() || told {
        return response;
    }
    Problem::of_status(status).around(response)
}
