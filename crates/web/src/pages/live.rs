//! That something changed, and nothing of what: the reader looks again.

use std::convert::Infallible;
use std::time::Duration;

use axum::extract::{Query, State};
use axum::http::StatusCode;
use axum::response::sse::{Event, KeepAlive, Sse};
use axum::response::{IntoResponse, Response};
use tokio_stream::StreamExt;
use tokio_stream::wrappers::WatchStream;

use crate::site::{STOPPED, Site};
use crate::viewer::Viewer;

/// How often a connection shows that it lives.
const ALIVE: Duration = Duration::from_secs(20);

/// `GET /changes?after=N`: an event for each last entry after that one.
pub(crate) async fn get(
    State(site): State<Site>,
    _viewer: Viewer,
    Query(query): Query<Vec<(String, String)>>,
) -> Response {
    let after = query.iter().find(|(name, _)| name == "after");
    let after: u64 = after.and_then(|(_, number)| number.parse().ok()).unwrap_or(0);
    let Ok(place) = site.watchers.clone().try_acquire_owned() else {
        return StatusCode::SERVICE_UNAVAILABLE.into_response();
    };
    let changes = WatchStream::new(site.changes.subscribe());
    let events = changes
        .take_while(|number| *number != STOPPED)
        .filter(move |number| *number > after)
        .map(move |number| {
            // Held as long as somebody watches.
            let _place = &place;
            let event = Event::default().event("changed").data(number.to_string());
            Ok::<_, Infallible>(event)
        });
    Sse::new(events).keep_alive(KeepAlive::new().interval(ALIVE)).into_response()
}
