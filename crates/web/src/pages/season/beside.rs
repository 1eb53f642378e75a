//! Two plans beside each other.

use std::sync::Arc;

use app::{Proposal, Side};
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Response};
use maud::{Markup, html};

use super::{adopted, chart, standing, tried};
use crate::fault;
use crate::layout::page_with;
use crate::links::link;
use crate::site::Site;
use crate::viewer::Viewer;

/// So many jobs are named.
const SHOWN: usize = 300;

/// A plan that an address names: by its number, or the adopted one.
async fn named(site: &Site, word: &str) -> Option<Arc<Proposal>> {
    if word == "adopted" {
        return standing(site, None).await.ok().flatten();
    }
    site.studio.proposal(word.parse().ok()?)
}

fn name(site: &Site, made: &Proposal) -> String {
    if site.studio.is_standing(made.number) {
        adopted::told(made)
    } else {
        format!("plan {}", made.number)
    }
}

/// `GET /season/{one}/beside/{other}`.
pub(crate) async fn get(
    State(site): State<Site>,
    viewer: Viewer,
    Path((first, second)): Path<(String, String)>,
) -> Response {
    let (one, other) = (named(&site, &first).await, named(&site, &second).await);
    let (Some(one), Some(other)) = (one, other) else { return fault::not_found() };
    let held = app::beside(&one.planned, &other.planned);
    let names = (name(&site, &one), name(&site, &other));
    let title = format!("{} beside {}", crate::table::sentence(&names.0), names.1);
    let content = html! {
        h1 { (title) }
        (tried::date(&held, &names.0))
        div.wide { table {
            caption.unseen { "Both plans" }
            thead { tr { th scope="col" { "" span.unseen { "what" } } th scope="col" { (names.0) } th scope="col" { (names.1) } } }
            tbody {
                (row("complete", (&held.one, &held.other), |side| side.complete.map_or("no plan".to_owned(), chart::moment)))
                (row("days to the gate date", (&held.one, &held.other), |side| side.margin.map(|days| days.to_string()).unwrap_or_default()))
                (row("jobs", (&held.one, &held.other), |side| side.jobs.to_string()))
                (row("how sure", (&held.one, &held.other), |side| side.sure.clone()))
            }
        } }
        h2 { "Jobs that move " span.count { (held.moved.len()) } }
        @if held.moved.is_empty() { p.none { "None." } }
        (tried::moved(&held, SHOWN))
        (only(&format!("Only in {}", names.0), &held.only_one))
        (only(&format!("Only in {}", names.1), &held.only_other))
        div.two {
            (chain(&names.0, &held.one, &held.other))
            (chain(&names.1, &held.other, &held.one))
        }
        p {
            a href={ "/season/" (one.number) } { "Open " (names.0) } " "
            a href={ "/season/" (other.number) } { "Open " (names.1) } " "
            a href={ "/season/" (second) "/beside/" (first) } { "The other way round" }
        }
    };
    let path = format!("/season/{first}/beside/{second}");
    page_with(&site, &viewer, (&path, &title), &["timeline"], &content).into_response()
}

fn row(
    what: &str,
    (one, other): (&Side, &Side),
    value: impl Fn(&Side) -> String,
) -> Markup {
    html! {
        tr {
            th scope="row" data-column="" { (what) }
            td data-column="first" { span { (value(one)) } }
            td data-column="second" { span { (value(other)) } }
        }
    }
}

fn only(title: &str, jobs: &[(String, String)]) -> Markup {
    html! {
        @if !jobs.is_empty() {
            h2 { (title) " " span.count { (jobs.len()) } }
            ul.lines { @for (job, what) in jobs.iter().take(SHOWN) { li { (link("card", job)) " " (what) } } }
        }
    }
}

fn chain(name: &str, own: &Side, other: &Side) -> Markup {
    html! {
        section {
            h2 { "What sets the date of " (name) }
            ol { @for (key, what, at) in &own.driving {
                li { (link("card", key)) " " (what) ", " (at.date())
                    @if !other.driving.iter().any(|(known, _, _)| known == key) { " " strong { "(only here)" } } }
            } }
        }
    }
}
