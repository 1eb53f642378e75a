//! Every route. The table test in `tests/` goes through all of them for every role.

use std::time::Duration;

use axum::Router;
use axum::extract::DefaultBodyLimit;
use axum::http::StatusCode;
use axum::middleware::from_fn_with_state;
use axum::routing::{get, post};
use tower_http::catch_panic::CatchPanicLayer;
use tower_http::compression::CompressionLayer;
use tower_http::timeout::TimeoutLayer;

use crate::site::Site;
use crate::viewer::Viewer;
use crate::{api, assets, fault, guard, kept, pages, second, sign_in, upload};

/// The largest form, in bytes.
pub(crate) const FORM_LIMIT: usize = 512 * 1024;
/// The longest that an answer may take.
const LONGEST: Duration = Duration::from_mins(1);

/// The pages of a site.
pub fn router(site: Site) -> Router {
    let watched = from_fn_with_state(site.clone(), guard::watch);
    Router::new()
        .route("/", get(pages::home::get))
        .route("/lists", get(pages::show::lists))
        .route("/show/{sheet}", get(pages::show::all))
        .route("/show/{sheet}/{name}", get(pages::show::one))
        .route("/history/{name}", get(pages::history::get))
        .route("/search", get(pages::search::get))
        .route("/act", get(pages::act::index))
        .route("/changes", get(pages::live::get))
        .merge(floor())
        .merge(aircraft())
        .merge(seasons())
        .merge(evidence())
        .merge(own())
        .merge(set_up())
        .merge(doors())
        .nest("/api", api::router())
        .fallback(unknown)
        .method_not_allowed_fallback(async || fault::no_such_way())
        .layer(DefaultBodyLimit::max(FORM_LIMIT))
        .layer(TimeoutLayer::with_status_code(StatusCode::SERVICE_UNAVAILABLE, LONGEST))
        .merge(with_files())
        .layer(CatchPanicLayer::custom(guard::panicked))
        .layer(watched)
        .layer(CompressionLayer::new())
        .with_state(site)
}

/// The hangar floor, its papers and codes, and what a device without a connection has.
fn floor() -> Router<Site> {
    Router::new()
        .route("/today", get(pages::today::get))
        .route("/parts", get(pages::parts::get))
        .route("/card/{job}", get(pages::bench::get))
        .route("/card/{job}/print", get(pages::print::card))
        .route("/card/{job}/{word}", get(pages::bench::act))
        .route("/tag/{item}", get(pages::print::tag))
        .route("/despatch/{item}", get(pages::print::despatch))
        .route("/code", get(pages::code::get))
        .route("/scan", get(pages::code::scan))
        .route(kept::WORKER, get(kept::worker))
        .route(kept::AWAY, get(kept::away))
}

/// The aircraft and what is wrong with it.
fn aircraft() -> Router<Site> {
    Router::new()
        .route("/aircraft", get(pages::aircraft::get))
        .route("/aircraft/parts", get(pages::aircraft::parts))
        .route("/aircraft/reach", get(pages::reach::get))
        .route("/aircraft/zone/{zone}", get(pages::aircraft::zone))
        .route("/findings", get(pages::findings::get))
        .route("/attachments/{digest}", get(pages::attachment::get))
        .route("/attachments/{digest}/small", get(pages::attachment::small))
}

/// Seasons: planned, tried, adopted, held against what happened.
fn seasons() -> Router<Site> {
    Router::new()
        .route("/season", get(pages::season::get).post(pages::season::plan))
        .route("/season/stop", post(pages::season::stop))
        .route("/season/progress", get(pages::season::watch::get))
        .route("/season/adopted", get(pages::season::adopted::get))
        .route("/season/{number}", get(pages::season::one))
        .route("/season/{number}/sheet", get(pages::season::sheet))
        .route("/season/{number}/chart.json", get(pages::season::chart::data))
        .route("/season/{number}/job", get(pages::season::chart::told))
        .route("/season/{one}/beside/{other}", get(pages::season::beside::get))
        .route("/season/{number}/try", post(pages::season::tried::post))
        .route("/season/{number}/adopt", post(pages::season::adopt::post))
}

/// What proves: gates, the record, who may do what, the rules.
fn evidence() -> Router<Site> {
    Router::new()
        .route("/gates", get(pages::gates::all))
        .route("/gates/{gate}", get(pages::gates::one))
        .route("/gates/{gate}/bundle", post(pages::gates::bundle))
        .route("/record", get(pages::record::get))
        .route("/record/{number}", get(pages::record::one))
        .route("/record/verify", get(pages::record::verify).post(pages::record::begin))
        .route("/people", get(pages::people::get))
        .route("/people/roles", get(pages::people::roles))
        .route("/rules", get(pages::people::rules))
}

/// What is somebody's own: how they see it, their sessions, tokens and links.
fn own() -> Router<Site> {
    Router::new()
        .route(pages::me::PATH, get(pages::me::get))
        .route("/me/view", post(pages::me::choose))
        .route("/me/session", post(pages::me::end_session))
        .route("/me/second", get(pages::me::show_second).post(pages::me::set_second))
        .route("/me/second/remove", post(pages::me::remove))
        .route("/me/token", post(pages::me::new_token))
        .route("/me/calendar", post(pages::me::new_calendar))
        .route("/me/revoke", post(pages::me::revoke))
        .route(
            "/second/{person}",
            get(pages::me::ask_of_other).post(pages::me::remove_of_other),
        )
        .route("/calendar/{name}", get(pages::calendar::get))
}

/// Lists from spreadsheets.
fn set_up() -> Router<Site> {
    // What is too large is passed over, so that its sender is told so.
    let uploads = DefaultBodyLimit::max(upload::BODY_LIMIT);
    Router::new()
        .route(
            "/import",
            get(pages::import::get).post(pages::import::give).layer(uploads),
        )
        .route(
            "/import/file/{token}",
            get(pages::import::look).post(pages::import::enter),
        )
        .route("/import/export/{file}", get(pages::import::export))
        .route("/import/template/{file}", get(pages::import::template))
}

/// Signing in and out, and what everybody is sent.
fn doors() -> Router<Site> {
    Router::new()
        .route(sign_in::PATH, get(sign_in::get).post(sign_in::post))
        .route(second::PATH, post(second::post))
        .route("/sign-out", post(sign_in::out))
        .route("/sign-out-everywhere", post(sign_in::out_everywhere))
        .route("/first/{token}", get(sign_in::first).post(sign_in::enrol_first))
        .route("/assets/{name}", get(assets::get))
}

/// Forms that may carry files: they are larger, and take longer to send.
fn with_files() -> Router<Site> {
    let late = StatusCode::SERVICE_UNAVAILABLE;
    Router::new()
        .route("/act/{word}", get(pages::act::get).post(pages::act::post))
        .route("/survey", get(pages::survey::get).post(pages::survey::post))
        .method_not_allowed_fallback(async || fault::no_such_way())
        .layer(DefaultBodyLimit::max(upload::BODY_LIMIT))
        .layer(TimeoutLayer::with_status_code(late, upload::LONGEST))
}

/// Whoever is not signed in is not told which pages there are.
async fn unknown(_viewer: Viewer) -> axum::response::Response {
    fault::not_found()
}
