//! Gates and their evidence, to read and to take away.

use std::pin::Pin;
use std::sync::{Arc, Mutex, PoisonError};
use std::task::{Context, Poll};
use std::time::Duration;

use app::{About, BundleAbout};
use axum::body::{Body, Bytes};
use axum::extract::{Form, Path, Query, State};
use axum::http::StatusCode;
use axum::http::header::{CONTENT_DISPOSITION, CONTENT_LENGTH, CONTENT_TYPE};
use axum::response::{IntoResponse, Response};
use maud::{Markup, html};
use tokio::sync::OwnedSemaphorePermit;
use tokio_stream::Stream;

use crate::fault;
use crate::layout::page;
use crate::links::encoded;
use crate::pages::show::{self, Shown};
use crate::sign_in::{Fields, field};
use crate::site::Site;
use crate::table;
use crate::view::View;
use crate::viewer::Viewer;

/// `GET /gates`.
pub(crate) async fn all(
    State(site): State<Site>,
    viewer: Viewer,
    Query(query): Query<Vec<(String, String)>>,
) -> Response {
    let (snapshot, on) = (site.snapshot(), site.today());
    let programme = snapshot.programme.clone();
    let made = site.aside(move || {
        let gates = app::sheet(&programme, &About::Gates(None), on)?;
        Ok((gates, app::sheet(&programme, &About::Conditions, on)?))
    });
    let (mut gates, matrix) = match made.await {
        Ok(made) => made,
        Err(error) => return fault::of_app(&error),
    };
    gates.lists.extend(matrix.lists);
    let shown = Shown { path: "/gates", about: None, view: View::of(&query) };
    if show::exports(&query) {
        return show::answer(&site, &viewer, &shown, gates, &query);
    }
    shown.view.apply(&mut gates);
    let index = site.index(&snapshot);
    let lacking =
        |list: &app::List, row: &[String]| show::to_sign(&viewer, None, list, row);
    let content = html! {
        h1 { "Gates" }
        p { "Each gate with what stands before it, and what every gate asks for with its evidence. Choose one \
             for its statement, and to take its evidence away." }
        @for (at, list) in gates.lists.iter().enumerate() {
            (table::table(list, at, &shown.view, &index, &lacking))
        }
        @for caution in &gates.cautions { p.caution { (caution) } }
        p.ways { a href="/show/gates" { "The gates as a list to narrow" } ", " a href="/show/conditions" { "all conditions" } ", "
            a href="/rules" { "the rules" } }
    };
    page(&site, &viewer, ("/gates", "Gates"), &content).into_response()
}

/// `GET /gates/{gate}`.
pub(crate) async fn one(
    State(site): State<Site>,
    viewer: Viewer,
    Path(gate): Path<String>,
    Query(query): Query<Vec<(String, String)>>,
) -> Response {
    let (programme, on, name) = (site.snapshot().programme, site.today(), gate.clone());
    let made =
        site.aside(move || app::sheet(&programme, &About::Gates(Some(name)), on)).await;
    let mut sheet = match made {
        Ok(sheet) => sheet,
        Err(error) => return fault::of_app(&error),
    };
    let path = format!("/gates/{}", encoded(&gate));
    let shown =
        Shown { path: &path, about: Some(("gates", &gate)), view: View::of(&query) };
    // Exports are those of the sheet, wherever they are asked for.
    if show::exports(&query) {
        return show::answer(&site, &viewer, &shown, sheet, &query);
    }
    shown.view.apply(&mut sheet);
    let content = html! {
        (show::content(&site, &viewer, &shown, &sheet))
        (take_away(&site, &viewer, &path))
    };
    page(&site, &viewer, ("/gates", &sheet.title), &content).into_response()
}

fn take_away(site: &Site, viewer: &Viewer, path: &str) -> Markup {
    let signed = site.config.key.is_some();
    html! {
        section {
            h2 #bundle { "The evidence, to be checked elsewhere" }
            p {
                "One archive with the statement, every entry from the first with its digest, and what is attached. "
                @if signed { "The workshop's key signs it." }
                @else { strong { "No key signs it" } ": these pages are served without one (`turnbuckle serve \
                    --key FILE`). It then shows what is in it, and not who made it." }
            }
            form method="post" action={ (path) "/bundle" } {
                input type="hidden" name="_csrf" value=(viewer.csrf);
                button { "Make the bundle" }
            }
            p.hint {
                "Whoever gets it checks it without this ledger: `turnbuckle verify NAME.zip --key FINGERPRINT`, or with the \
                 independent checker `reference/bundle_check.py`, which was written from the description of the format."
            }
        }
    }
}

/// `POST /gates/{gate}/bundle`.
pub(crate) async fn bundle(
    State(site): State<Site>,
    viewer: Viewer,
    Path(gate): Path<String>,
    Form(typed): Form<Fields>,
) -> Response {
    if !viewer.sent(field(&typed, "_csrf")) {
        return fault::foreign();
    }
    // One at a time lies in memory, until whoever asked has all of it.
    let Ok(turn) = site.bundles.clone().try_acquire_owned() else {
        return fault::page(
            StatusCode::SERVICE_UNAVAILABLE,
            "Another bundle is made or fetched at this moment",
            "Nothing was made. Try again in a minute.",
        );
    };
    let (desk, key, at, on) =
        (site.config.desk.clone(), site.config.key.clone(), site.stamp(), site.today());
    let about = BundleAbout::Gate(gate.clone());
    let made = site
        .aside(move || app::packed_bundle(desk.place(), &about, key.as_deref(), &at, on));
    let made = match made.await {
        Ok(made) => made,
        Err(error) => return fault::of_app(&error),
    };
    let plain = |c: char| if c.is_ascii_alphanumeric() { c } else { '-' };
    let name: String = gate.chars().map(plain).collect();
    let signed = if made.fingerprint.is_some() { "" } else { "-unsigned" };
    let headers = [
        (CONTENT_TYPE, "application/zip".to_owned()),
        (CONTENT_LENGTH, made.bytes.len().to_string()),
        (
            CONTENT_DISPOSITION,
            format!("attachment; filename=\"gate-{name}-{on}{signed}.zip\""),
        ),
    ];
    (headers, Body::from_stream(Pieces::new(made.bytes.into(), turn))).into_response()
}

/// How long fetching may take; then the turn is another's.
const FETCHING: Duration = Duration::from_mins(10);

/// What is still to be sent, and the turn that holds it in memory.
type Rest = Arc<Mutex<Option<(Bytes, OwnedSemaphorePermit)>>>;

/// An archive that is sent piece by piece; the next is made when this one is sent.
struct Pieces {
    rest: Rest,
}

impl Pieces {
    /// Whoever does not fetch it holds neither the turn nor the memory for ever.
    fn new(bytes: Bytes, turn: OwnedSemaphorePermit) -> Self {
        let rest: Rest = Arc::new(Mutex::new(Some((bytes, turn))));
        let held = Arc::downgrade(&rest);
        tokio::spawn(async move {
            tokio::time::sleep(FETCHING).await;
            if let Some(rest) = held.upgrade() {
                rest.lock().unwrap_or_else(PoisonError::into_inner).take();
            }
        });
        Self { rest }
    }
}

impl Stream for Pieces {
    type Item = std::io::Result<Bytes>;

    fn poll_next(self: Pin<&mut Self>, _: &mut Context<'_>) -> Poll<Option<Self::Item>> {
        const PIECE: usize = 64 * 1024;
        let mut rest = self.rest.lock().unwrap_or_else(PoisonError::into_inner);
        let Some((bytes, _)) = rest.as_mut() else {
            // A part of an archive is not to be taken for the whole.
            let late = std::io::Error::from(std::io::ErrorKind::TimedOut);
            return Poll::Ready(Some(Err(late)));
        };
        let length = bytes.len().min(PIECE);
        let piece = bytes.split_to(length);
        Poll::Ready((length > 0).then_some(Ok(piece)))
    }
}
