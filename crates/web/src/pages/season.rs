//! The season: planned beside the record, watched and stopped, tried with jobs that slip,
//! and adopted by signature.

pub(crate) mod adopt;
pub(crate) mod adopted;
pub(crate) mod beside;
pub(crate) mod chart;
mod driving;
mod moved;
pub(crate) mod tried;
pub(crate) mod watch;

use std::sync::Arc;
use std::time::Duration;

use app::{AppError, Moves, PlanRequest, Proposal, SearchState, Stop, counted};
use axum::extract::{Path, Query, State};
use axum::http::{HeaderName, HeaderValue, StatusCode};
use axum::response::{IntoResponse, Redirect, Response};
use jiff::civil::DateTime;
use maud::{Markup, PreEscaped, html};

use crate::fault;
use crate::layout::page_with;
use crate::links::link;
use crate::sign_in::{Fields, SIGNED_IN_AGAIN, Sent, field};
use crate::site::Site;
use crate::viewer::Viewer;

/// Whoever may adopt a plan may look for one.
const ACT: &str = "adopt";
/// For how many seconds one can let it search.
const SECONDS: [u64; 5] = [5, 10, 30, 60, 300];
/// How long a plan beside another one is made better.
const TRYING: Duration = Duration::from_millis(1_500);
/// How often a page without a script looks again while a search runs, in seconds.
const AGAIN: &str = "2";

/// `GET /season`; with `watch=live` for a page whose script is told how a search goes.
pub(crate) async fn get(
    State(site): State<Site>,
    viewer: Viewer,
    Query(typed): Query<Fields>,
) -> Response {
    let mut response = overview(&site, &viewer, StatusCode::OK, &Fields::new(), "");
    if field(&typed, "watch") == "live" {
        response.headers_mut().remove("refresh");
    }
    response
}

fn overview(
    site: &Site,
    viewer: &Viewer,
    status: StatusCode,
    typed: &Fields,
    wrong: &str,
) -> Response {
    let running = site.studio.running();
    let proposals = site.studio.proposals();
    let content = html! {
        h1 { "The season" }
        @if !wrong.is_empty() {
            div.reasons role="alert" tabindex="-1" data-wrong { h2 { "It came to nothing" }
                @for line in wrong.lines() { p { (line) } } }
        }
        p { "People work by the " a href="/season/adopted" { "adopted plan" }
            ", which is shown there beside what happened. What is made here stands beside it and \
            changes nothing until somebody adopts it." }
        @if let Some(number) = running { (watch::section(site, viewer, number, may(viewer))) }
        @else if may(viewer) { (wanted(site, viewer, typed)) }
        h2 { "Plans made " span.count { (proposals.len()) } }
        @if proposals.is_empty() { p.none { "None since the program was started." } }
        ul.lines {
            @for made in &proposals { li { (line(made)) } }
        }
        @if proposals.len() > 1 { (pair(&proposals)) }
    };
    let stems = ["timeline", "progress"];
    let page = page_with(site, viewer, ("/season", "The season"), &stems, &content);
    let mut response = (status, page).into_response();
    if running.is_some() {
        let again = HeaderValue::from_static(AGAIN);
        response.headers_mut().insert(HeaderName::from_static("refresh"), again);
    }
    response
}

/// Links that hold the newest plan against each other one.
fn pair(proposals: &[Arc<Proposal>]) -> Markup {
    let Some((newest, others)) = proposals.split_first() else { return html! {} };
    html! {
        p.ways { "Plan " (newest.number) " beside "
            @for (at, other) in others.iter().enumerate() {
                @if at > 0 { ", " }
                a href={ "/season/" (other.number) "/beside/" (newest.number) } { "plan " (other.number) }
            }
            ", " a href={ "/season/adopted/beside/" (newest.number) } { "the adopted plan" }
        }
    }
}

/// The adopted plan of a season as it stands today.
async fn standing(
    site: &Site,
    season: Option<String>,
) -> Result<Option<Arc<Proposal>>, AppError> {
    let (studio, snapshot, now) = (site.studio.clone(), site.snapshot(), site.now());
    site.aside(move || {
        let programme = &snapshot.programme;
        let now = app::under_way(programme, season.as_deref(), now)?;
        studio.standing(programme, snapshot.number, season.as_deref(), now)
    })
    .await
}

fn may(viewer: &Viewer) -> bool {
    viewer.may(ACT)
}

/// The form that begins a search.
fn wanted(site: &Site, viewer: &Viewer, typed: &Fields) -> Markup {
    let seasons = app::season_names(&site.snapshot().programme);
    let chosen = seconds(typed);
    html! {
        form.plain method="post" action="/season" {
            input type="hidden" name="_csrf" value=(viewer.csrf);
            div.field {
                label for="season" { "Season" }
                select #season name="season" {
                    option value="" { "the first that has not ended" }
                    @for (id, name) in &seasons { option value=(id) selected[id == field(typed, "season")] { (id) " " (name) } }
                }
            }
            div.field {
                label for="seconds" { "How long to search" }
                select #seconds name="seconds" {
                    @for seconds in SECONDS {
                        option value=(seconds) selected[seconds == chosen] { (seconds) " seconds" }
                    }
                }
            }
            div.check {
                input #anew type="checkbox" name="anew" value="yes" checked[!field(typed, "anew").is_empty()];
                label for="anew" { "As if no plan had been adopted" }
            }
            div.check {
                input #measured type="checkbox" name="measured" value="yes"
                    checked[!field(typed, "measured").is_empty()];
                label for="measured" { "Estimates times what such work took so far" }
            }
            button { "Plan it" }
        }
    }
}

/// How long to search, as a form says.
fn seconds(typed: &Fields) -> u64 {
    field(typed, "seconds").parse().unwrap_or(10).clamp(1, 600)
}

fn line(made: &Proposal) -> Markup {
    let path = format!("/season/{}", made.number);
    let complete = made.planned.plan.as_ref().map(|plan| plan.complete.date());
    html! {
        a href=(path) { "Plan " (made.number) }
        " of season " (link("season", made.planned.draft.season.id.as_str()))
        @match complete {
            Some(day) => { ": complete " (day) }
            None => { ": nothing lawful was found" }
        }
        " " span.why {
            "after entry " (made.entry)
            @if let (Some((upon, _)), Some(what)) = (&made.upon, tried::what(made)) {
                ", tried upon plan " (upon) ": " (what)
            }
        }
    }
}

/// Refuses a form that is not ours, or of somebody who may not plan.
fn refuse(viewer: &Viewer, typed: &Fields) -> Option<Response> {
    if !viewer.sent(field(typed, "_csrf")) {
        return Some(fault::foreign());
    }
    let told = "A season is planned by those who have an authority to plan.";
    (!may(viewer)).then(|| fault::may_not(told))
}

/// `POST /season`: begins a search.
pub(crate) async fn plan(
    State(site): State<Site>,
    Sent { viewer, typed }: Sent,
) -> Response {
    if let Some(refused) = refuse(&viewer, &typed) {
        return refused;
    }
    let season = Some(field(&typed, "season").to_owned()).filter(|name| !name.is_empty());
    let snapshot = site.snapshot();
    let now = app::under_way(&snapshot.programme, season.as_deref(), site.now());
    let now = match now {
        Ok(now) => now,
        Err(error) => {
            let status = StatusCode::UNPROCESSABLE_ENTITY;
            return overview(&site, &viewer, status, &typed, &error.to_string());
        }
    };
    let request = PlanRequest {
        season,
        stop: Stop::after(Duration::from_secs(seconds(&typed))),
        threads: std::thread::available_parallelism().map_or(1, std::num::NonZero::get),
        seed: 1,
        now,
        anew: !field(&typed, "anew").is_empty(),
        measured: !field(&typed, "measured").is_empty(),
    };
    match site.studio.plan(snapshot.programme, snapshot.number, request) {
        Ok(_) => Redirect::to("/season").into_response(),
        Err(error) => {
            overview(&site, &viewer, StatusCode::CONFLICT, &typed, &error.to_string())
        }
    }
}

/// `POST /season/stop`.
pub(crate) async fn stop(
    State(site): State<Site>,
    Sent { viewer, typed }: Sent,
) -> Response {
    if let Some(refused) = refuse(&viewer, &typed) {
        return refused;
    }
    site.studio.stop();
    Redirect::to("/season").into_response()
}

/// `GET /season/{number}`.
pub(crate) async fn one(
    State(site): State<Site>,
    viewer: Viewer,
    Path(number): Path<u64>,
    Query(typed): Query<Fields>,
) -> Response {
    let none = Fields::new();
    shown(&site, &viewer, number, (chart::asked(&typed), &none, &Wrong::default())).await
}

/// The form that was sent to a path below `/season`, for somebody who had to sign in again.
pub(crate) async fn again(
    site: &Site,
    viewer: &Viewer,
    path: &[&str],
    typed: &Fields,
) -> Option<Response> {
    match path {
        [] => Some(overview(site, viewer, StatusCode::OK, typed, SIGNED_IN_AGAIN)),
        ["stop"] => Some(Redirect::to("/season").into_response()),
        [number, form @ ("try" | "adopt")] => {
            let number = number.parse().ok()?;
            let wrong = match *form {
                "try" => Wrong { tried: SIGNED_IN_AGAIN.to_owned(), ..Wrong::default() },
                _ => Wrong { adopted: SIGNED_IN_AGAIN.to_owned(), ..Wrong::default() },
            };
            Some(returned(site, viewer, number, typed, &wrong).await)
        }
        _ => None,
    }
}

/// What was wrong with a form of the page, beside which it is told.
#[derive(Default)]
struct Wrong {
    status: StatusCode,
    tried: String,
    adopted: String,
    secret: String,
    /// What others entered meanwhile.
    changed: Option<Box<app::Changed>>,
}

/// A form of a plan comes back, with what was typed in it.
async fn returned(
    site: &Site,
    viewer: &Viewer,
    number: u64,
    typed: &Fields,
    wrong: &Wrong,
) -> Response {
    shown(site, viewer, number, (app::TimelineAsk::default(), typed, wrong)).await
}

/// What became of a plan that is not there, and what was typed upon it.
fn missing(site: &Site, viewer: &Viewer, number: u64, typed: &Fields) -> Response {
    match site.studio.state_of(number) {
        SearchState::Failed(why) => {
            let why = format!("Plan {number}: {why}");
            overview(site, viewer, StatusCode::OK, typed, &why)
        }
        SearchState::Running(_) => Redirect::to("/season").into_response(),
        SearchState::Ready | SearchState::Unknown if typed.is_empty() => {
            fault::not_found()
        }
        SearchState::Ready | SearchState::Unknown => {
            let said = ["reason", "job", "from", "clock"].map(|name| field(typed, name));
            let said: Vec<&str> =
                said.into_iter().filter(|said| !said.is_empty()).collect();
            let why = format!(
                "Plan {number} is not kept any more, and nothing was entered: only the newest \
                 plans are, until the program is started again. Plan anew.\n\
                 What you typed: {}",
                said.join(", ")
            );
            overview(site, viewer, StatusCode::GONE, &Fields::new(), &why)
        }
    }
}

async fn shown(
    site: &Site,
    viewer: &Viewer,
    number: u64,
    (ask, typed, wrong): (app::TimelineAsk, &Fields, &Wrong),
) -> Response {
    let Some(proposal) = site.studio.proposal(number) else {
        return missing(site, viewer, number, typed);
    };
    let path = format!("/season/{number}");
    let (can, planned) = (may(viewer), proposal.planned.plan.is_some());
    let at = chart::At { path: path.clone(), season: None, ask };
    let chart = chart::section(site, &proposal, &at, can).await;
    let moves = app::moves(&site.snapshot().programme, &proposal.planned);
    let is_standing = site.studio.is_standing(number);
    let title = if is_standing {
        "The adopted plan".to_owned()
    } else {
        format!("Plan {number}")
    };
    let content = html! {
        h1 { (title) ", season " (proposal.planned.draft.season.id) }
        (dates(site, &proposal))
        (conflict(&proposal))
        (tried::answer(site, &proposal))
        @if let Some(moves) = &moves { (difference(number, moves)) }
        (driving::section(&proposal.planned))
        (warnings(&proposal))
        (chart)
        @if planned {
            p { a href={ (path) "/sheet" } { "All of it on one page, with the hours by skill, for printing" } }
        }
        @if can && planned { (tried::form(viewer, number, typed, wrong)) }
        (tried::list(site, number))
        @if can && planned && !is_standing { (adopt::form(site, viewer, number, typed, wrong)) }
    };
    let page = page_with(site, viewer, (&path, &title), &chart::STEMS, &content);
    (wrong.status, page).into_response()
}

/// `GET /season/{number}/sheet`: charts of every lane set, the hours by skill and all jobs.
pub(crate) async fn sheet(
    State(site): State<Site>,
    viewer: Viewer,
    Path(number): Path<u64>,
) -> Response {
    let Some(proposal) = site.studio.proposal(number) else { return fault::not_found() };
    let chart = site.aside(move || {
        let made = format!("Plan {}, after entry {}", proposal.number, proposal.entry);
        Ok(app::chart(&proposal.programme, &proposal.planned, &made))
    });
    let Ok(Some(chart)) = chart.await else { return fault::not_found() };
    let (path, title) =
        (format!("/season/{number}"), format!("Plan {number} on one page"));
    let content = html! {
        h1 { (title) }
        p { a href=(path) { "Back to the plan" } }
        (PreEscaped(chart))
    };
    let stems = ["chart", "chart-script"];
    page_with(&site, &viewer, (&path, &title), &stems, &content).into_response()
}

/// The rules that cannot hold together, each in full.
fn conflict(proposal: &Proposal) -> Markup {
    let reasons = app::conflict_told(&proposal.planned);
    html! {
        @if !reasons.is_empty() {
            div.reasons role="alert" {
                h2 { "There is no plan: these can't all hold" }
                ul { @for reason in &reasons { li { (reason) } } }
                p { "Change one of them in the lists of the programme, or the season, and plan again." }
            }
        }
    }
}

fn dates(site: &Site, proposal: &Proposal) -> Markup {
    let since = site.snapshot().number.saturating_sub(proposal.entry);
    let planned = &proposal.planned;
    let (ending, earliest) = app::ending_told(planned);
    html! {
        dl.facts {
            @if let Some(plan) = &planned.plan {
                div { dt { "complete" } dd { (moment(plan.complete)) } }
                div { dt { "days to the gate date" } dd .wrong[plan.margin_days < 0] { (plan.margin_days) } }
            }
            @if let Some(earliest) = earliest {
                div { dt { "proven: not before" } dd { (moment(earliest)) } }
            }
            div { dt { "how sure" } dd { (ending) } }
            div { dt { "made after entry" } dd { (proposal.entry)
                @if since > 0 { ", " (counted(since as usize, "entry", "entries"))
                    " came since and are not looked at" } } }
        }
    }
}

fn moment(at: DateTime) -> String {
    at.strftime("%Y-%m-%d %H:%M").to_string()
}

fn difference(number: u64, moves: &Moves) -> Markup {
    let (was, is) = moves.complete;
    html! {
        section {
            h2 { a href={ "/season/adopted/beside/" (number) } { "Beside the adopted plan" } }
            p { "Complete on " (is.date()) ", by the adopted plan on " (was.date()) "; "
                (counted(moves.moved.len(), "job begins", "jobs begin")) " on another day, "
                (counted(moves.new.len(), "is new", "are new")) ", "
                (counted(moves.gone.len(), "is no longer there", "are no longer there")) "." }
            (moved::other_days(&moves.moved))
        }
    }
}

fn warnings(proposal: &Proposal) -> Markup {
    let plan = proposal.planned.plan.as_ref();
    let warnings = plan.map_or(&proposal.planned.draft.warnings, |plan| &plan.warnings);
    html! {
        @if !warnings.is_empty() {
            details {
                summary { "Look at these " span.count { (warnings.len()) } }
                ul { @for warning in warnings { li { (warning) } } }
            }
        }
    }
}
