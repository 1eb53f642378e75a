//! The plan that people work by: as it stands, with what happened, and what is left.

use app::{JobHeld, Moves, PackHeld, PlanHeld, Proposal, counted};
use axum::extract::{Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use maud::{Markup, html};

use super::{Wrong, chart, driving, may, moved, standing, tried};
use crate::fault;
use crate::layout::page_with;
use crate::links::link;
use crate::sign_in::{Fields, field};
use crate::site::Site;
use crate::viewer::Viewer;

/// So many jobs are listed that are late, and that are not.
const SHOWN: usize = 150;

/// `GET /season/adopted`.
pub(crate) async fn get(
    State(site): State<Site>,
    viewer: Viewer,
    Query(typed): Query<Fields>,
) -> Response {
    let season = Some(field(&typed, "season").to_owned()).filter(|name| !name.is_empty());
    let (programme, today, wanted) =
        (site.snapshot().programme, site.today(), season.clone());
    let held = site.aside(move || app::plan_held(&programme, wanted.as_deref(), today));
    let held = match held.await {
        Ok(Some(held)) => held,
        Ok(None) => return none(&site, &viewer),
        Err(error) => return fault::of_app(&error),
    };
    let standing = standing(&site, season).await;
    let (left, trouble) = match standing {
        Ok(standing) => (standing, None),
        Err(error) => (None, Some(error.to_string())),
    };
    let moves = left
        .as_ref()
        .and_then(|left| app::moves(&site.snapshot().programme, &left.planned));
    let title = format!("The adopted plan of season {}", held.season);
    let chart = if let Some(left) = &left {
        let (path, season) = ("/season/adopted".to_owned(), Some(held.season.clone()));
        let at = chart::At { path, season, ask: chart::asked(&typed) };
        chart::section(&site, left, &at, may(&viewer)).await
    } else {
        html! {}
    };
    let content = html! {
        h1 { (title) }
        (facts(&held))
        @if let Some(trouble) = trouble {
            div.reasons { h2 { "What is left can't be planned near it any more" }
                @for line in trouble.lines() { p { (line) } } }
        }
        @if let Some(moves) = &moves { (remaining(moves)) }
        @if let Some(left) = &left { (driving::section(&left.planned)) }
        (chart)
        @if let Some(left) = &left {
            @if may(&viewer) { (tried::form(&viewer, left.number, &Fields::new(), &Wrong::default())) }
            (tried::list(&site, left.number))
        }
        (slips(&held))
    };
    let page =
        page_with(&site, &viewer, ("/season/adopted", &title), &chart::STEMS, &content);
    page.into_response()
}

fn none(site: &Site, viewer: &Viewer) -> Response {
    let title = "No plan was adopted yet";
    let content = html! {
        h1 { (title) }
        p { "Plan " a href="/season" { "the season" } " and adopt a plan: people work by it from then on." }
    };
    (StatusCode::OK, page_with(site, viewer, ("/season/adopted", title), &[], &content))
        .into_response()
}

fn days(slip: Option<i32>) -> String {
    match slip {
        None => String::new(),
        Some(0) => "none".to_owned(),
        Some(days @ 1..) => format!("{days} late"),
        Some(days) => format!("{} early", -days),
    }
}

fn facts(held: &PlanHeld) -> Markup {
    let (by, at, reason) = &held.adopted;
    let all = &held.all;
    html! {
        dl.facts {
            div { dt { "planned to be complete" } dd { (chart::moment(held.complete)) } }
            div { dt { "gate date" } dd { (held.gate) } }
            div { dt { "jobs" } dd { (all.jobs) ", " (all.done) " done, " (all.behind) " behind" } }
            div { dt { "slip" } dd .wrong[all.behind > 0] { (slip_of(all)) } }
            div { dt { "adopted" } dd { "by " (link("person", by)) ", " (chart::moment(*at)) ": " (reason) } }
        }
    }
}

fn slip_of(pack: &PackHeld) -> String {
    let Some(most) = pack.most else { return "nothing was due yet".to_owned() };
    if most <= 0 && pack.average.is_none_or(|tenths| tenths == 0) {
        return "nothing that was due is late".to_owned();
    }
    let average = pack.average.map_or(0.0, |tenths| f64::from(tenths) / 10.0);
    let word = if average < 0.0 { "early" } else { "late" };
    format!("{} at most, {:.1} days {word} on average", days_at_most(most), average.abs())
}

fn days_at_most(days: i32) -> String {
    match days {
        1 => "1 day late".to_owned(),
        2.. => format!("{days} days late"),
        _ => "no day late".to_owned(),
    }
}

/// What the remaining plan says about the date.
fn remaining(moves: &Moves) -> Markup {
    let (was, is) = moves.complete;
    let later = (is.date() - was.date()).get_days();
    html! {
        section aria-labelledby="left" {
            h2 #left { "What is left says" }
            p.figure {
                "Complete on " strong { (is.date()) } ", "
                @let long = counted(later.unsigned_abs() as usize, "day", "days");
                @match later {
                    0 => { "on the day that was planned" }
                    1.. => { strong.wrong { (long) " later" } " than planned" }
                    _ => { (long) " earlier than planned" }
                }
                "; " (counted(moves.moved.len(), "job that is not done moves", "jobs that are not done move"))
                " to another day, " (moves.new.len()) " came up since."
            }
            (moved::other_days(&moves.moved))
            p.why { "What has happened is where it happened; what is left keeps to the plan where it can; \
                planned anew, it may be complete sooner. This is a view: the plan is as it was adopted until \
                another one is." }
        }
    }
}

fn slips(held: &PlanHeld) -> Markup {
    html! {
        section aria-labelledby="packs-head" {
            h2 #packs-head { "By pack" }
            div.wide { table {
                caption.unseen { "Slip by pack, the latest first" }
                thead { tr { th scope="col" { "pack" } th scope="col" { "jobs" } th scope="col" { "done" }
                    th scope="col" { "behind" } th scope="col" { "slip at most" } th scope="col" { "planned until" } } }
                tbody {
                    @for pack in &held.packs {
                        tr {
                            td data-column="pack" { span { @if pack.pack.is_empty() { "(none)" } @else { (link("pack", &pack.pack)) } } }
                            td.number data-column="jobs" { span { (pack.jobs) } }
                            td.number data-column="done" { span { (pack.done) } }
                            td.number data-column="behind" { span { (pack.behind) } }
                            td data-column="slip at most" .wrong[pack.behind > 0] { span { (days(pack.most)) } }
                            td data-column="planned until" { span { (pack.until.date()) } }
                        }
                    }
                }
            } }
        }
        section aria-labelledby="jobs-head" {
            h2 #jobs-head { "By job, the greatest slip first" }
            div.wide { table {
                caption.unseen { "Planned and happened, job by job" }
                thead { tr { th scope="col" { "job" } th scope="col" { "planned" } th scope="col" { "happened" }
                    th scope="col" { "state" } th scope="col" { "hours" } th scope="col" { "slip" } } }
                tbody { @for job in held.jobs.iter().take(SHOWN) { (row(job)) } }
            } }
            @if held.jobs.len() > SHOWN {
                p { "and " (held.jobs.len() - SHOWN) " more, in the " a href="/show/plan" { "list of the plan" } }
            }
        }
        @if !held.since.is_empty() {
            section {
                h2 { "Came up since " span.count { (held.since.len()) } }
                ul.lines { @for (job, what) in &held.since { li { (link("card", job)) " " (what) } } }
            }
        }
    }
}

fn row(job: &JobHeld) -> Markup {
    let day = |at: jiff::civil::DateTime| at.strftime("%Y-%m-%d %H:%M").to_string();
    html! {
        tr {
            td data-column="job" { span { (link("card", &job.job)) " " (job.name) } }
            td data-column="planned" { span { (day(job.planned.0)) " to " (day(job.planned.1)) } }
            td data-column="happened" .blank[job.began.is_none()] { span {
                @if let Some(began) = job.began { (day(began)) " to "
                    @match job.ended { Some(ended) => { (day(ended)) } None => "…" } }
            } }
            td data-column="state" { span { (job.stands.word())
                @if !job.at_it.is_empty() { ": " (job.at_it.join(", ")) }
                @if !job.expected.is_empty() { ", " (job.expected) } } }
            td data-column="hours" .blank[job.hours.is_empty()] { span { (job.hours) } }
            td data-column="slip" .wrong[job.is_behind()] .blank[job.slip.is_none()] { span { (days(job.slip)) } }
        }
    }
}

/// The adopted plan as a proposal, if there is one to be had.
pub(super) fn told(proposal: &Proposal) -> String {
    format!("the adopted plan, as it stood after entry {}", proposal.entry)
}
