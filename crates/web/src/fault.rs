//! Pages for what did not come about: what, and what to do. Never how we are made.

use axum::body::Body;
use axum::http::header::{CONTENT_LENGTH, CONTENT_TYPE};
use axum::http::{HeaderValue, StatusCode};
use axum::response::{IntoResponse, Response};
use maud::{Markup, html};

use crate::layout::bare;
use crate::sign_in;
use crate::table::sentence;

/// A page of a status.
pub(crate) fn page(status: StatusCode, title: &str, what_to_do: &str) -> Response {
    let home = html! { p { a href="/" { "Where we are" } } };
    (status, told(title, what_to_do, &home)).into_response()
}

fn told(title: &str, what_to_do: &str, ways: &Markup) -> Markup {
    let title = sentence(title);
    let content = html! {
        h1 { (title) }
        p { (sentence(what_to_do)) }
        (ways)
    };
    bare(&title, &content)
}

/// Whoever looks for something finds it from here.
fn search() -> Markup {
    html! {
        form.find action="/search" role="search" {
            label.unseen for="find" { "Search" }
            input #find type="search" name="q" placeholder="Find a name or a word"
                autocomplete="off";
            button { "Find" }
        }
        p { a href="/" { "Where we are" } ", " a href="/lists" { "all lists" } }
    }
}

/// A page about something that is not there.
pub(crate) fn missing(title: &str, what_to_do: &str) -> Response {
    (StatusCode::NOT_FOUND, told(title, what_to_do, &search())).into_response()
}

pub(crate) fn not_found() -> Response {
    missing(
        "There is no such page",
        "Look whether the address is right, or find the thing by its name.",
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
    let ways = html! { p { a href=(sign_in::PATH) { "Sign in" } } };
    let page = told(
        "You are not signed in any more",
        "Nothing was entered. Sign in again, and do it once more.",
        &ways,
    );
    (StatusCode::UNAUTHORIZED, page).into_response()
}

pub(crate) fn foreign() -> Response {
    page(
        StatusCode::FORBIDDEN,
        "This did not come from a page of ours",
        "Nothing was entered. If you signed in anew in another window, go back, load the page \
         again and send it from there.",
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

fn too_slow() -> Response {
    page(
        StatusCode::SERVICE_UNAVAILABLE,
        "That took too long",
        "The answer was not waited for. If you sent something, look in the record whether it \
         was entered before you send it again; sent again from the same form it counts once.",
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
    let hint = error.hint();
    if let app::AppError::Unknown(what) = error {
        let hint = hint.unwrap_or_else(|| {
            "Look whether the name is right, or find it with the search.".to_owned()
        });
        return missing(what, &hint);
    }
    let hint = hint.unwrap_or_else(|| {
        "Try again in a minute. If it comes up again, tell whoever looks after the program."
            .to_owned()
    });
    page(StatusCode::SERVICE_UNAVAILABLE, &error.to_string(), &hint)
}

/// What went wrong before one of our handlers was reached is told by a page too. The headers
/// stay; what there was of words is not for people.
pub(crate) fn worded(response: Response) -> Response {
    let status = response.status();
    if !status.is_client_error() && !status.is_server_error() {
        return response;
    }
    let kind = response.headers().get(CONTENT_TYPE);
    let told = kind.is_some_and(|kind| !kind.as_bytes().starts_with(b"text/plain"));
    if told {
        return response;
    }
    let page = match status {
        StatusCode::PAYLOAD_TOO_LARGE => too_large(),
        StatusCode::NOT_FOUND => not_found(),
        StatusCode::METHOD_NOT_ALLOWED => no_such_way(),
        StatusCode::SERVICE_UNAVAILABLE => too_slow(),
        StatusCode::TOO_MANY_REQUESTS => {
            self::page(status, "Too many requests", "Wait a minute, and try again.")
        }
        status if status.is_server_error() => panicked(),
        // Words of the address or of a form that are none.
        _ => unread_address(status),
    };
    let (mut parts, _) = response.into_parts();
    let (made, body) = page.into_parts();
    parts.headers.remove(CONTENT_LENGTH);
    let html = made.headers.get(CONTENT_TYPE).cloned();
    let html = html.unwrap_or(HeaderValue::from_static("text/html; charset=utf-8"));
    parts.headers.insert(CONTENT_TYPE, html);
    Response::from_parts(parts, Body::new(body))
}

fn unread_address(status: StatusCode) -> Response {
    page(
        status,
        "The request can't be read",
        "Nothing was entered. Look whether the address is right; if you sent a form, open it \
         anew and send it again.",
    )
}
