//! Files that were attached, as bytes and as pictures on other pages.

use app::{AppError, Small};
use axum::extract::{Path, State};
use axum::http::header::{
    CACHE_CONTROL, CONTENT_DISPOSITION, CONTENT_SECURITY_POLICY, CONTENT_TYPE, ETAG,
    IF_NONE_MATCH,
};
use axum::http::{HeaderMap, HeaderName, StatusCode};
use axum::response::{IntoResponse, Response};
use maud::{Markup, html};

use crate::fault;
use crate::site::Site;
use crate::viewer::Viewer;

/// Whatever stands in a file, a browser runs none of it, and it belongs to no origin.
const SANDBOX: &str = "default-src 'none'; sandbox";
/// The same for a picture, which holds no style: with its own a browser fits it to the screen.
const PICTURE: &str = "default-src 'none'; style-src 'unsafe-inline'; sandbox";

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
        return Ok(Some(unchanged(digest)));
    }
    let (place, wanted) = (site.config.desk.place().clone(), digest.to_owned());
    let found = site.aside(move || app::attachment(&place, &wanted)).await?;
    Ok(found.map(|file| sent(digest, file)))
}

/// `GET /attachments/{digest}/small`, for the same: a photograph for a list. What can't be made
/// small is not there, and then the words of the link stand in its place.
pub(crate) async fn small(
    State(site): State<Site>,
    _viewer: Viewer,
    headers: HeaderMap,
    Path(digest): Path<String>,
) -> Response {
    if !app::is_digest(&digest) || site.snapshot().programme.is_discarded(&digest) {
        return fault::not_found();
    }
    let own = format!("{digest}-small");
    if is_there(&headers, &own) {
        return unchanged(&own);
    }
    let place = site.config.desk.place().clone();
    let made =
        site.small.get(&digest, move |digest| app::thumbnail(&place, digest)).await;
    match made.as_ref().map(Option::as_deref) {
        Ok(Some(Small::Made(small))) => {
            let name = digest.get(..12).unwrap_or(&digest);
            let shown = format!("inline; filename=\"{name}-small\"");
            (kept(small.media, shown, &own), small.content.clone()).into_response()
        }
        Ok(Some(Small::Not) | None) => fault::not_found(),
        Err(error) => fault::of_app(error),
    }
}

/// A browser may keep a file, and asks each time whether it may show it: whoever sits there may
/// have signed out, and a file may have been discarded.
const KEPT: &str = "private, no-cache";

/// Its name is the digest of its content, so that is what tells it apart (RFC 9110, 8.8.3).
fn tag(digest: &str) -> String {
    format!("\"{digest}\"")
}

fn unchanged(name: &str) -> Response {
    let kept = [(ETAG, tag(name)), (CACHE_CONTROL, KEPT.to_owned())];
    (StatusCode::NOT_MODIFIED, kept).into_response()
}

/// The headers of what a browser may keep.
fn kept(media: &str, shown: String, name: &str) -> [(HeaderName, String); 5] {
    let policy = if media.starts_with("image/") { PICTURE } else { SANDBOX };
    [
        (CONTENT_TYPE, media.to_owned()),
        (CONTENT_SECURITY_POLICY, policy.to_owned()),
        (CONTENT_DISPOSITION, shown),
        (CACHE_CONTROL, KEPT.to_owned()),
        (ETAG, tag(name)),
    ]
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
    let shown = format!("{shown}; filename=\"{name}.{ending}\"");
    let headers = kept(kind, shown, digest);
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
                li { (linked(&shown.digest, &format!("{}, photograph {}", shown.what, at + 1))) }
            }
        }
    }
}

/// One photograph, small, a link to the whole of it.
pub(crate) fn linked(digest: &str, alt: &str) -> Markup {
    html! { a href=(path(digest)) { (picture(digest, alt)) } }
}

/// One photograph, small.
pub(crate) fn picture(digest: &str, alt: &str) -> Markup {
    html! {
        img src={ (path(digest)) "/small" } alt=(alt) loading="lazy" decoding="async" width="160" height="120";
    }
}
