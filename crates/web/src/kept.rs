//! What a device keeps for when there is no connection: the worker that does it, and the
//! page that it shows where it has nothing.
//!
//! A worker keeps our files and, for as long as a session may last, the pages of today that
//! were looked at; all of them go when somebody signs out or has to sign in. It signs
//! nothing: what was typed is kept by the page itself, without secrets (`assets/kept.js`).

use axum::extract::State;
use axum::http::header::{CACHE_CONTROL, CONTENT_TYPE};
use axum::response::{IntoResponse, Response};
use maud::html;

use crate::site::Site;
use crate::{assets, layout};

/// Where the worker is; it can only keep what lies beneath its own place.
pub(crate) const WORKER: &str = "/worker.js";
/// The page that stands for all that is not on the device.
pub(crate) const AWAY: &str = "/no-connection";

/// `GET /worker.js`: the worker, with the files that it keeps and how long pages last.
pub(crate) async fn worker(State(site): State<Site>) -> Response {
    let files: Vec<String> =
        assets::paths().into_iter().map(|path| format!("\"{path}\"")).collect();
    let lasts = site.config.sessions.most.as_millis();
    let head = format!(
        "const SHELL = [\"{AWAY}\", {}];\nconst LASTS = {lasts};\n",
        files.join(", ")
    );
    let script = head + include_str!("../assets/worker.js");
    let headers =
        [(CONTENT_TYPE, "text/javascript; charset=utf-8"), (CACHE_CONTROL, "no-cache")];
    (headers, script).into_response()
}

/// `GET /no-connection`: it says nothing that depends on who looks.
pub(crate) async fn away() -> Response {
    let content = html! {
        h1 { "No connection" }
        p { "This page is not on the device, and there is no connection to the workshop's \
             server." }
        p { "If you were signing something: as far as this device knows it was not entered. \
             What you typed is kept on the device, without your secret. Once there is a \
             connection, any page here shows it, and you sign it again; it counts once, even if \
             it did arrive." }
        p { "Pages of today that you looked at before can be read without a connection:" }
        ul {
            li { a href="/today" { "Today" } }
            li { a href="/parts" { "Parts" } }
            li { a href="/" { "Where we are" } }
        }
    };
    layout::bare("No connection", &content).into_response()
}
