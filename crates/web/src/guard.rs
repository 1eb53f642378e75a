//! What every answer goes through: headers, a log, a panic that nobody sees.

use std::any::Any;
use std::time::Instant;

use axum::extract::{Request, State};
use axum::http::header::{
    CACHE_CONTROL, CONTENT_SECURITY_POLICY, HeaderName, REFERRER_POLICY,
    STRICT_TRANSPORT_SECURITY, X_CONTENT_TYPE_OPTIONS, X_FRAME_OPTIONS,
};
use axum::http::{HeaderMap, HeaderValue, Method};
use axum::middleware::Next;
use axum::response::Response;

use crate::config::Transport;
use crate::site::Site;
use crate::{fault, viewer};

/// Scripts, styles and pictures are our own files; nothing is inline, nothing is framed.
const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; \
     img-src 'self'; connect-src 'self'; form-action 'self'; base-uri 'none'; \
     frame-ancestors 'none'";

const PERMISSIONS: &str =
    "camera=(), microphone=(), geolocation=(), payment=(), usb=(), interest-cohort=()";

/// The one page that may ask for the camera, and what it may.
const SCAN: &str = "/scan";
const WITH_CAMERA: &str = "camera=(self), microphone=(), geolocation=(), payment=(), usb=(), interest-cohort=()";

/// Refuses what other sites send, adds the headers, and tells the log.
pub(crate) async fn watch(
    State(site): State<Site>,
    request: Request,
    next: Next,
) -> Response {
    let begun = Instant::now();
    let method = request.method().clone();
    let path = shown(request.uri().path());
    let (parts, body) = request.into_parts();
    let address = viewer::Address::of(&site, &parts);
    let reads = matches!(method, Method::GET | Method::HEAD);
    // Below this nobody is known by a cookie, so that no other site can use one.
    let bare = parts.uri.path().starts_with(crate::api::PREFIX);
    let mut response = if reads || bare || viewer::is_ours(&parts.headers) {
        next.run(Request::from_parts(parts, body)).await
    } else {
        fault::foreign()
    };
    // Programs are told in their own way; a calendar is one.
    if !bare && !parts_of_programs(&path) {
        response = fault::worded(response);
    }
    add_headers(&site, response.headers_mut());
    if path == SCAN && response.status().is_success() {
        let camera = HeaderValue::from_static(WITH_CAMERA);
        response.headers_mut().insert("permissions-policy", camera);
    }
    let (status, took) = (response.status().as_u16(), begun.elapsed().as_millis());
    (site.config.log)(&format!("{} {method} {path} {status} {took} ms", address.0));
    response
}

/// Whether it is programs that ask here, and need no page.
fn parts_of_programs(path: &str) -> bool {
    path.starts_with("/calendar/") || path.starts_with("/assets/")
}

/// A path as the log may have it: without what follows `?`, and without the token of the
/// first link. What a person wrote into it can't begin a line of its own.
fn shown(path: &str) -> String {
    // What follows is a secret by itself.
    for begins in ["/first/", "/calendar/"] {
        if path.starts_with(begins) {
            return format!("{begins}...");
        }
    }
    // Nor anything that turns the direction of what stands beside it.
    let plain = |c: char| if c.is_ascii_graphic() { c } else { '?' };
    path.chars().take(200).map(plain).collect()
}

fn add_headers(site: &Site, headers: &mut HeaderMap) {
    const ALWAYS: [(HeaderName, &str); 6] = [
        (X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (X_FRAME_OPTIONS, "DENY"),
        // Not `no-referrer`: browsers would then not say where a form comes from.
        (REFERRER_POLICY, "same-origin"),
        (HeaderName::from_static("permissions-policy"), PERMISSIONS),
        (HeaderName::from_static("cross-origin-opener-policy"), "same-origin"),
        (HeaderName::from_static("cross-origin-resource-policy"), "same-origin"),
    ];
    for (name, value) in ALWAYS {
        headers.insert(name, HeaderValue::from_static(value));
    }
    // A file that was attached has a stricter one.
    let policy = headers.entry(CONTENT_SECURITY_POLICY);
    policy.or_insert(HeaderValue::from_static(POLICY));
    let kept = headers.entry(CACHE_CONTROL);
    kept.or_insert(HeaderValue::from_static("no-store"));
    if matches!(site.config.transport, Transport::Files { .. } | Transport::Proxy) {
        let year = HeaderValue::from_static("max-age=31536000");
        headers.insert(STRICT_TRANSPORT_SECURITY, year);
    }
}

/// The answer to a request in which we panicked.
pub(crate) fn panicked(_told: Box<dyn Any + Send + 'static>) -> Response {
    fault::panicked()
}

#[cfg(test)]
mod tests {
    use super::{panicked, shown};

    #[tokio::test]
    async fn nobody_sees_how_we_are_made() {
        let answer = panicked(Box::new("index 3 of 2 at src/site.rs"));
        assert_eq!(answer.status(), 500);
        let body = axum::body::to_bytes(answer.into_body(), usize::MAX).await.unwrap();
        let body = String::from_utf8_lossy(&body);
        assert!(body.contains("A defect of the program") && !body.contains("src/"));
    }

    #[test]
    fn the_log_holds_no_secret_and_no_second_line() {
        assert_eq!(shown("/first/abcdef"), "/first/...");
        assert_eq!(shown("/show/a\nb"), "/show/a?b");
        assert_eq!(shown("/show/a\u{202e}b"), "/show/a?b");
        assert_eq!(shown(&"x".repeat(300)).len(), 200);
    }
}
