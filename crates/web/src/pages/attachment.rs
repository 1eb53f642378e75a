//! Files that were attached, as bytes and as pictures on other pages.

use app::AppError;
use axum::extract::{Path, State};
use axum::http::header::{
    CACHE_CONTROL, CONTENT_DISPOSITION, CONTENT_SECURITY_POLICY, CONTENT_TYPE,
};
use axum::http::{HeaderName, StatusCode};
use axum::response::{IntoResponse, Response};
use maud::{Markup, html};

use crate::fault;
use crate::site::Site;
use crate::viewer::Viewer;

/// Whatever stands in a file, a browser runs none of it, and it belongs to no origin.
const SANDBOX: &str = "default-src 'none'; sandbox";

/// `GET /attachments/{digest}`, for whoever is signed in.
pub(crate) async fn get(
    State(site): State<Site>,
    _viewer: Viewer,
    Path(digest): Path<String>,
) -> Response {
    if !app::is_digest(&digest) {
        return fault::not_found();
    }
    if site.snapshot().programme.is_discarded(&digest) {
        return fault::page(
            StatusCode::GONE,
            "This file was discarded",
            "Its time was over; its history says by whom and why.",
        );
    }
    let (place, wanted) = (site.config.desk.place().clone(), digest.clone());
    let found = site.aside(move || app::attachment(&place, &wanted)).await;
    match found {
        Ok(Some(file)) => sent(&digest, file),
        Ok(None) => fault::not_found(),
        Err(AppError::Unknown(_)) => fault::not_found(),
        Err(error) => fault::of_app(&error),
    }
}

fn sent(digest: &str, file: app::Attachment) -> Response {
    let app::Attachment { media, ending, picture, content } = file;
    let text = media == "text/plain";
    let kind = if text { "text/plain; charset=utf-8" } else { media };
    let shown = if picture || text { "inline" } else { "attachment" };
    let name = digest.get(..12).unwrap_or(digest);
    let headers = [
        (CONTENT_TYPE, kind.to_owned()),
        (CONTENT_SECURITY_POLICY, SANDBOX.to_owned()),
        (CONTENT_DISPOSITION, format!("{shown}; filename=\"{name}.{ending}\"")),
        // Its name is the digest of its content, so it never changes; no proxy may keep it.
        (CACHE_CONTROL, "private, max-age=31536000, immutable".to_owned()),
        (
            HeaderName::from_static("cross-origin-resource-policy"),
            "same-origin".to_owned(),
        ),
    ];
    (headers, content).into_response()
}

/// The path of a file.
pub(crate) fn path(digest: &str) -> String {
    format!("/attachments/{digest}")
}

/// Photographs, small, each a link to the whole of it.
pub(crate) fn thumbnails(pictures: &[app::Picture]) -> Markup {
    html! {
        ul.photographs {
            @for (at, shown) in pictures.iter().enumerate() {
                li {
                    a href=(path(&shown.digest)) {
                        (picture(&shown.digest, &format!("{}, photograph {}", shown.what, at + 1)))
                    }
                }
            }
        }
    }
}

/// One photograph, small.
pub(crate) fn picture(digest: &str, alt: &str) -> Markup {
    html! {
        img src=(path(digest)) alt=(alt) loading="lazy" decoding="async" width="160" height="120";
    }
}
