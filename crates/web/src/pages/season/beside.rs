//! Two plans beside each other.

use std::sync::Arc;

use app::{Proposal, Side};
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Response};
use maud::{Markup, html};

use super::{adopted, chart, driving, moved, standing, tried};
use crate::fault;
use crate::layout::page_with;
use crate::links::link;
use crate::site::Site;
use crate::viewer::Viewer;

/// Plans that an address names: by their numbers, or the adopted one of the season of the other.
async fn both(
    site: &Site,
    (first, second): (&str, &str),
) -> Option<(Arc<Proposal>, Arc<Proposal>)> {
    let numbered = |word: &str| site.studio.proposal(word.parse().ok()?);
    let of = [first, second].into_iter().find_map(numbered);
    let season = of.map(|made| made.planned.draft.season.id.to_string());
    let mut adopted = None;
    if [first, second].contains(&"adopted") {
        adopted = standing(site, season).await.ok().flatten();
    }
    let named = |word: &str| match word {
        "adopted" => adopted.clone(),
        number => numbered(number),
    };
    Some((named(first)?, named(second)?))
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
    let Some((one, other)) = both(&site, (&first, &second)).await else {
        return fault::not_found();
    };
    let seasons = [&one, &other].map(|made| made.planned.draft.season.id.to_string());
    let apart = seasons[0] != seasons[1];
    let held = app::beside(&one.planned, &other.planned);
    let names = (name(&site, &one), name(&site, &other));
    let title = format!("{} beside {}", crate::table::sentence(&names.0), names.1);
    let content = html! {
        h1 { (title) }
        @if apart {
            p.caution { "They are plans of two seasons, " (seasons.join(" and ")) "." }
        }
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
        h2 { "Jobs that move or that others do " span.count { (held.moved.len()) } }
        @if held.moved.is_empty() { p.none { "None." } }
        (moved::jobs(&held.moved))
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
            ul.lines { @for (job, what) in jobs { li { (link("card", job)) " " (what) } } }
        }
    }
}

fn chain(name: &str, own: &Side, other: &Side) -> Markup {
    html! {
        section {
            h2 { "What sets the date of " (name) }
            (driving::told(&own.driving, &other.driving, "only here"))
        }
    }
}
