//! Codes: where they lead, and a page that reads them.

use app::{CodeFound, Coded};
use axum::extract::{Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use maud::{Markup, html};

use crate::layout::{page, page_with};
use crate::links::{encoded, path_of, query};
use crate::qr;
use crate::sign_in::{Fields, field};
use crate::site::Site;
use crate::viewer::Viewer;

/// The page of what a code leads to.
fn path(found: &CodeFound) -> String {
    let name = encoded(&found.name);
    match found.kind {
        Coded::Card => format!("/card/{name}"),
        Coded::Tag => format!("/tag/{name}"),
        Coded::Part => path_of("item", &found.name),
        Coded::Despatch => {
            let (item, entry) = found.name.rsplit_once('#').unwrap_or((&found.name, ""));
            format!("/despatch/{}{}", encoded(item), query([("entry", entry)]))
        }
    }
}

/// What a code on a print holds: the address under which this server is known, or the code
/// alone if nobody said it.
pub(crate) fn address(site: &Site, kind: Coded, name: &str) -> String {
    let code = app::plain_code(kind, name);
    match &site.config.public {
        Some(public) => format!("{public}/code?c={code}"),
        None => code,
    }
}

/// A code as a picture with its signs beneath.
pub(crate) fn drawn(site: &Site, kind: Coded, name: &str) -> Markup {
    let code = app::code_of(kind, name);
    let label = format!("Code of the {} {name}: {code}", kind.word());
    html! {
        figure.code {
            (qr::svg(&address(site, kind, name), &label))
            figcaption { (code) }
        }
    }
}

/// `GET /code?c=...`: leads to what has the code.
pub(crate) async fn get(
    State(site): State<Site>,
    viewer: Viewer,
    Query(typed): Query<Fields>,
) -> Response {
    let typed = field(&typed, "c").trim();
    if typed.is_empty() {
        return Redirect::to("/scan").into_response();
    }
    let found = app::find_code(&site.snapshot().programme, typed);
    if let [one] = found.as_slice() {
        return Redirect::to(&path(one)).into_response();
    }
    let (status, content) = if found.is_empty() {
        let content = html! {
            h1 { "Nothing has this code" }
            p { "Nothing here has the code or the name " code { (typed) } ". Look whether it is \
                 a code of this workshop, or type it again." }
            (typing(typed))
        };
        (StatusCode::NOT_FOUND, content)
    } else {
        let content = html! {
            h1 { "More than one thing has this code" }
            ul.lines {
                @for one in &found {
                    li { a href=(path(one)) { (one.kind.word()) " " (one.name) } }
                }
            }
        };
        (StatusCode::OK, content)
    };
    (status, page(&site, &viewer, ("/code", "Code"), &content)).into_response()
}

/// `GET /scan`.
pub(crate) async fn scan(State(site): State<Site>, viewer: Viewer) -> Response {
    let content = html! {
        h1 { "Find by code" }
        p { "Cards, tags, despatch notes and labels of parts bear a code. The phone's own camera \
             app opens it by itself: point it at the code and follow the link." }
        section #camera hidden {
            p data-say role="status" {}
            button type="button" hidden { "Read a code with the camera here" }
            video hidden playsinline muted aria-label="What the camera sees" {}
        }
        (typing(""))
    };
    page_with(&site, &viewer, ("/scan", "Find by code"), &["scan"], &content)
        .into_response()
}

fn typing(typed: &str) -> Markup {
    html! {
        form.narrow action="/code" {
            div {
                label for="c" { "Short code, such as C-7K4-Q2M, or the name of a card or part" }
                input #c name="c" value=(typed) required autocomplete="off"
                    autocapitalize="characters" spellcheck="false";
            }
            button { "Go there" }
        }
    }
}
