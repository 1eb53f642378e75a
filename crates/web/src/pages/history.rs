//! What the record says about one thing, entry by entry.

use axum::extract::{Path, Query, State};
use axum::response::Response;

use crate::fault;
use crate::pages::show;
use crate::site::Site;
use crate::view::View;
use crate::viewer::Viewer;

/// `GET /history/{name}`.
pub(crate) async fn get(
    State(site): State<Site>,
    viewer: Viewer,
    Path(name): Path<String>,
    Query(query): Query<Vec<(String, String)>>,
) -> Response {
    let (desk, thing) = (site.config.desk.clone(), name.clone());
    let read = move || desk.history(&thing);
    let sheet = match site.aside(read).await {
        Ok(sheet) => sheet,
        Err(error) => return fault::of_app(&error),
    };
    let path = format!("/history/{}", crate::links::encoded(&name));
    let shown = show::Shown { path: &path, about: None, view: View::of(&query) };
    show::answer(&site, &viewer, &shown, sheet, &query)
}
