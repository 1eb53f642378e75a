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
use crate::{api, assets, fault, guard, pages, second, sign_in};

/// The largest form, in bytes.
const FORM_LIMIT: usize = 512 * 1024;
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
        .route("/act/{word}", get(pages::act::get).post(pages::act::post))
        .route("/season", get(pages::season::get).post(pages::season::plan))
        .route("/season/stop", post(pages::season::stop))
        .route("/season/{number}", get(pages::season::one))
        .route("/season/{number}/try", post(pages::season::attempt))
        .route("/season/{number}/adopt", post(pages::season::adopt))
        .route("/gates", get(pages::gates::all))
        .route("/gates/{gate}", get(pages::gates::one))
        .route("/gates/{gate}/bundle", post(pages::gates::bundle))
        .route("/record", get(pages::record::get))
        .route("/record/{number}", get(pages::record::one))
        .route("/record/verify", get(pages::record::verify).post(pages::record::begin))
        .route("/people", get(pages::people::get))
        .route("/people/roles", get(pages::people::roles))
        .route("/rules", get(pages::people::rules))
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
        .route("/changes", get(pages::live::get))
        .route(sign_in::PATH, get(sign_in::get).post(sign_in::post))
        .route(second::PATH, post(second::post))
        .route("/sign-out", post(sign_in::out))
        .route("/sign-out-everywhere", post(sign_in::out_everywhere))
        .route("/first/{token}", get(sign_in::first).post(sign_in::enrol_first))
        .route("/assets/{name}", get(assets::get))
        .nest("/api", api::router())
        .fallback(unknown)
        .method_not_allowed_fallback(async || fault::no_such_way())
        .layer(DefaultBodyLimit::max(FORM_LIMIT))
        .layer(TimeoutLayer::with_status_code(StatusCode::SERVICE_UNAVAILABLE, LONGEST))
        .layer(CatchPanicLayer::custom(guard::panicked))
        .layer(watched)
        .layer(CompressionLayer::new())
        .with_state(site)
}

/// Whoever is not signed in is not told which pages there are.
async fn unknown(_viewer: Viewer) -> axum::response::Response {
    fault::not_found()
}
