//! Pages for what did not come about: what, and what to do. Never how we are made.

use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use maud::html;

use crate::layout::bare;

/// A page of a status.
pub(crate) fn page(status: StatusCode, title: &str, what_to_do: &str) -> Response {
    let content = html! {
        h1 { (title) }
        p { (what_to_do) }
        p { a href="/" { "Where we are" } }
    };
    (status, bare(title, &content)).into_response()
}

pub(crate) fn not_found() -> Response {
    page(
        StatusCode::NOT_FOUND,
        "There is no such page",
        "Look whether the address is right, or find the thing by its name with the search.",
    )
}

pub(crate) fn no_such_way() -> Response {
    page(
        StatusCode::METHOD_NOT_ALLOWED,
        "That can't be done here",
        "This page is read or sent in another way: open it again from the page before.",
    )
}

pub(crate) fn signed_out() -> Response {
    page(
        StatusCode::UNAUTHORIZED,
        "You are not signed in any more",
        "Nothing was entered. Sign in again, and do it once more.",
    )
}

pub(crate) fn foreign() -> Response {
    page(
        StatusCode::FORBIDDEN,
        "This did not come from a page of ours",
        "Nothing was entered. Open the form here and send it again.",
    )
}

pub(crate) fn too_large() -> Response {
    page(
        StatusCode::PAYLOAD_TOO_LARGE,
        "That is more than one form may hold",
        "Nothing was entered. Go back in the browser, where what you typed still stands, and \
         send less at once.",
    )
}

pub(crate) fn unread() -> Response {
    page(
        StatusCode::BAD_REQUEST,
        "The form did not arrive whole",
        "Nothing was entered. Go back in the browser, where what you typed still stands, and \
         send it again.",
    )
}

pub(crate) fn may_not(what: &str) -> Response {
    page(
        StatusCode::FORBIDDEN,
        "You have no authority for this",
        &format!(
            "Nothing was entered. {what} Somebody who may appoint grants an authority."
        ),
    )
}

pub(crate) fn panicked() -> Response {
    page(
        StatusCode::INTERNAL_SERVER_ERROR,
        "A defect of the program came up",
        "Look in the history of the thing whether what you sent was entered. If it comes up \
         again, tell whoever looks after the program what you did.",
    )
}

pub(crate) fn of_app(error: &app::AppError) -> Response {
    let hint = error.hint().unwrap_or_else(|| {
        "Look whether the name is right, or find it with the search.".to_owned()
    });
    let status = match error {
        app::AppError::Unknown(_) => StatusCode::NOT_FOUND,
        _ => StatusCode::SERVICE_UNAVAILABLE,
    };
    page(status, &error.to_string(), &hint)
}
