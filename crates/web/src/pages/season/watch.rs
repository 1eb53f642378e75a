//! A search while it runs: the best, the bound, the gap, live for everybody who watches.

use std::convert::Infallible;
use std::time::Duration;

use app::SearchState;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::sse::{Event, KeepAlive, Sse};
use axum::response::{IntoResponse, Response};
use maud::{Markup, PreEscaped, html};
use tokio::sync::mpsc;
use tokio_stream::wrappers::ReceiverStream;

use crate::site::{STOPPED, Site};
use crate::viewer::Viewer;

/// How often it is told, at most.
const OFTEN: Duration = Duration::from_millis(400);
/// How often a connection shows that it lives.
const ALIVE: Duration = Duration::from_secs(20);

/// How far the search is.
pub(super) fn section(site: &Site, viewer: &Viewer, number: u64, may: bool) -> Markup {
    html! {
        section.running aria-labelledby="running" data-search=(number) {
            h2 #running { "A search is running" }
            div data-progress { (told(site, number)) }
            @if may {
                form method="post" action="/season/stop" {
                    input type="hidden" name="_csrf" value=(viewer.csrf);
                    button { "Stop, and keep the best" }
                }
            }
        }
    }
}

fn told(site: &Site, number: u64) -> Markup {
    let Some(progress) = site.studio.progress(number) else {
        return html! { p.figure role="status" { "It is over." } };
    };
    html! {
        p.figure role="status" { (progress.told) }
        dl.facts {
            div { dt { "best" } dd {
                @match progress.best { Some(days) => { (format!("{days:.1} days")) } None => "none yet" }
            } }
            div { dt { "bound" } dd { (format!("{:.1} days", progress.bound)) } }
            @if !progress.gap.is_empty() { div { dt { "gap" } dd { (progress.gap) } } }
            div { dt { "plans tried" } dd { (progress.tried) } }
        }
        figure.course {
            (PreEscaped(&progress.drawing))
            figcaption.why { "Days until complete: the best so far, and the bound below which none is." }
        }
    }
}

/// Where the end of a search is told.
fn ended(site: &Site, number: u64) -> String {
    match site.studio.state_of(number) {
        SearchState::Running(_) | SearchState::Unknown => "/season".to_owned(),
        SearchState::Ready | SearchState::Failed(_) => format!("/season/{number}"),
    }
}

/// `GET /season/progress`: an event `progress` with the section of a page each time that
/// something is new, and an event `over` with where to look.
pub(crate) async fn get(State(site): State<Site>, _viewer: Viewer) -> Response {
    let Ok(place) = site.watchers.clone().try_acquire_owned() else {
        return StatusCode::SERVICE_UNAVAILABLE.into_response();
    };
    let (tell, told_by) = mpsc::channel::<Result<Event, Infallible>>(1);
    let stopping = site.changes.subscribe();
    tokio::spawn(async move {
        // Held as long as somebody watches.
        let _place = place;
        let number = site.studio.running();
        let mut last = String::new();
        loop {
            let Some(number) = number.filter(|n| site.studio.running() == Some(*n))
            else {
                let to = number.map_or_else(|| "/season".to_owned(), |n| ended(&site, n));
                // Whoever watched may have left.
                let _ = tell.send(Ok(Event::default().event("over").data(to))).await;
                return;
            };
            let now = told(&site, number).into_string();
            if now != last {
                let event = Event::default().event("progress").data(&now);
                if tell.send(Ok(event)).await.is_err() {
                    return;
                }
                last = now;
            }
            let gone = tokio::time::timeout(OFTEN, tell.closed()).await.is_ok();
            if gone || *stopping.borrow() == STOPPED {
                return;
            }
        }
    });
    let events = ReceiverStream::new(told_by);
    Sse::new(events).keep_alive(KeepAlive::new().interval(ALIVE)).into_response()
}
