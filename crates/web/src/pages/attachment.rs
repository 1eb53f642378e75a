//! Files that were attached, as bytes and as pictures on other pages.

use app::AppError;
use axum::extract::{Path, State};
use axum::http::header::{
    CACHE_CONTROL, CONTENT_DISPOSITION, CONTENT_SECURITY_POLICY, CONTENT_TYPE, ETAG,
    IF_NONE_MATCH,
};
use axum::http::{HeaderMap, StatusCode};
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
    headers: HeaderMap,
    Path(digest): Path<String>,
) -> Response {
    if site.snapshot().programme.is_discarded(&digest) {
        return fault::page(
            StatusCode::GONE,
            "This file was discarded",
            "Its time was over; its history says by whom and why.",
        );
    }
    match found(&site, &headers, &digest).await {
        Ok(Some(file)) => file,
        Ok(None) => fault::not_found(),
        Err(error) => fault::of_app(&error),
    }
}

/// A file by its digest, if there is one and it was not discarded.
pub(crate) async fn found(
    site: &Site,
    headers: &HeaderMap,
    digest: &str,
) -> Result<Option<Response>, AppError> {
    if !app::is_digest(digest) || site.snapshot().programme.is_discarded(digest) {
        return Ok(None);
    }
    if is_there(headers, digest) {
        let kept = [(ETAG, tag(digest)), (CACHE_CONTROL, KEPT.to_owned())];
        return Ok(Some((StatusCode::NOT_MODIFIED, kept).into_response()));
    }
    let (place, wanted) = (site.config.desk.place().clone(), digest.to_owned());
    let found = site.aside(move || app::attachment(&place, &wanted)).await?;
    Ok(found.map(|file| sent(digest, file)))
}

/// A browser may keep a file, and asks each time whether it may show it: whoever sits there may
/// have signed out, and a file may have been discarded.
const KEPT: &str = "private, no-cache";

/// Its name is the digest of its content, so that is what tells it apart (RFC 9110, 8.8.3).
fn tag(digest: &str) -> String {
    format!("\"{digest}\"")
}

/// Whether the browser has it, by what it sent (RFC 9110, 13.1.2).
fn is_there(headers: &HeaderMap, digest: &str) -> bool {
    let tag = tag(digest);
    let sent = headers.get_all(IF_NONE_MATCH).iter();
    let mut each =
        sent.filter_map(|sent| sent.to_str().ok()).flat_map(|sent| sent.split(','));
    each.any(|sent| sent.trim().trim_start_matches("W/") == tag)
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
        (CACHE_CONTROL, KEPT.to_owned()),
        (ETAG, tag(digest)),
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
