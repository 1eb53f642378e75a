//! The season: planned beside the record, watched and stopped, tried with jobs that slip,
//! and adopted by signature.

pub(crate) mod adopted;
pub(crate) mod beside;
pub(crate) mod chart;
pub(crate) mod tried;
pub(crate) mod watch;

use std::sync::Arc;
use std::time::Duration;

use app::{AppError, Moves, PlanRequest, Proposal, SearchState, Secret, Signed, Stop};
use axum::extract::{Form, Path, Query, State};
use axum::http::{HeaderName, HeaderValue, StatusCode};
use axum::response::{IntoResponse, Redirect, Response};
use jiff::civil::DateTime;
use maud::{Markup, PreEscaped, html};

use crate::fault;
use crate::layout::page_with;
use crate::links::link;
use crate::sign_in::{Fields, field, secret_field};
use crate::site::Site;
use crate::viewer::Viewer;

/// Whoever may adopt a plan may look for one.
const ACT: &str = "adopt";
/// What solves plans.
const ENGINE: &str = concat!("turnbuckle ", env!("CARGO_PKG_VERSION"));
/// For how many seconds one can let it search.
const SECONDS: [u64; 5] = [5, 10, 30, 60, 300];
/// How long a plan beside another one is made better.
const TRYING: Duration = Duration::from_millis(1_500);
/// How often a page without a script looks again while a search runs, in seconds.
const AGAIN: &str = "2";
/// So many jobs are named in a difference.
const SHOWN: usize = 20;

/// `GET /season`; with `watch=live` for a page whose script is told how a search goes.
pub(crate) async fn get(
    State(site): State<Site>,
    viewer: Viewer,
    Query(typed): Query<Fields>,
) -> Response {
    let mut response = overview(&site, &viewer, StatusCode::OK, "");
    if field(&typed, "watch") == "live" {
        response.headers_mut().remove("refresh");
    }
    response
}

fn overview(site: &Site, viewer: &Viewer, status: StatusCode, wrong: &str) -> Response {
    let running = site.studio.running();
    let proposals = site.studio.proposals();
    let content = html! {
        h1 { "The season" }
        @if !wrong.is_empty() {
            div.reasons role="alert" { h2 { "It came to nothing" }
                @for line in wrong.lines() { p { (line) } } }
        }
        p { "People work by the " a href="/season/adopted" { "adopted plan" }
            ", which is shown there beside what happened. What is made here stands beside it and \
            changes nothing until somebody adopts it." }
        @if let Some(number) = running { (watch::section(site, viewer, number, may(viewer))) }
        @else if may(viewer) { (wanted(site, viewer)) }
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
    let (studio, snapshot, today) = (site.studio.clone(), site.snapshot(), site.today());
    site.aside(move || {
        let programme = &snapshot.programme;
        let now = app::under_way(programme, season.as_deref(), today)?;
        studio.standing(programme, snapshot.number, season.as_deref(), now)
    })
    .await
}

fn may(viewer: &Viewer) -> bool {
    viewer.may(ACT)
}

/// The form that begins a search.
fn wanted(site: &Site, viewer: &Viewer) -> Markup {
    let seasons = app::season_names(&site.snapshot().programme);
    html! {
        form.plain method="post" action="/season" {
            input type="hidden" name="_csrf" value=(viewer.csrf);
            div.field {
                label for="season" { "Season" }
                select #season name="season" {
                    option value="" { "the first that has not ended" }
                    @for (id, name) in &seasons { option value=(id) { (id) " " (name) } }
                }
            }
            div.field {
                label for="seconds" { "How long to search" }
                select #seconds name="seconds" {
                    @for seconds in SECONDS {
                        option value=(seconds) selected[seconds == 10] { (seconds) " seconds" }
                    }
                }
            }
            div.check {
                input #anew type="checkbox" name="anew" value="yes";
                label for="anew" { "As if no plan had been adopted" }
            }
            div.check {
                input #measured type="checkbox" name="measured" value="yes";
                label for="measured" { "Estimates times what such work took so far" }
            }
            button { "Plan it" }
        }
    }
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
    viewer: Viewer,
    Form(typed): Form<Fields>,
) -> Response {
    if let Some(refused) = refuse(&viewer, &typed) {
        return refused;
    }
    let seconds = field(&typed, "seconds").parse().unwrap_or(10).clamp(1, 600);
    let season = Some(field(&typed, "season").to_owned()).filter(|name| !name.is_empty());
    let snapshot = site.snapshot();
    let now = app::under_way(&snapshot.programme, season.as_deref(), site.today());
    let now = match now {
        Ok(now) => now,
        Err(error) => {
            let status = StatusCode::UNPROCESSABLE_ENTITY;
            return overview(&site, &viewer, status, &error.to_string());
        }
    };
    let request = PlanRequest {
        season,
        stop: Stop::after(Duration::from_secs(seconds)),
        threads: std::thread::available_parallelism().map_or(1, std::num::NonZero::get),
        seed: 1,
        now,
        anew: !field(&typed, "anew").is_empty(),
        measured: !field(&typed, "measured").is_empty(),
    };
    match site.studio.plan(snapshot.programme, snapshot.number, request) {
        Ok(_) => Redirect::to("/season").into_response(),
        Err(error) => overview(&site, &viewer, StatusCode::CONFLICT, &error.to_string()),
    }
}

/// `POST /season/stop`.
pub(crate) async fn stop(
    State(site): State<Site>,
    viewer: Viewer,
    Form(typed): Form<Fields>,
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
    shown(&site, &viewer, number, (StatusCode::OK, &typed, &Wrong::default())).await
}

/// What was wrong with a form of the page, beside which it is told.
#[derive(Default)]
struct Wrong {
    tried: String,
    adopted: String,
    secret: String,
}

/// What became of a plan that is not there.
fn missing(site: &Site, viewer: &Viewer, number: u64) -> Response {
    match site.studio.state_of(number) {
        SearchState::Failed(why) => {
            overview(site, viewer, StatusCode::OK, &format!("Plan {number}: {why}"))
        }
        SearchState::Running(_) => Redirect::to("/season").into_response(),
        SearchState::Ready | SearchState::Unknown => fault::not_found(),
    }
}

async fn shown(
    site: &Site,
    viewer: &Viewer,
    number: u64,
    (status, typed, wrong): (StatusCode, &Fields, &Wrong),
) -> Response {
    let Some(proposal) = site.studio.proposal(number) else {
        return missing(site, viewer, number);
    };
    let path = format!("/season/{number}");
    let mut ask = chart::asked(typed);
    if status != StatusCode::OK {
        // The fields are of a form that was refused, and not of the address.
        ask = app::TimelineAsk::default();
    }
    let (can, planned) = (may(viewer), proposal.planned.plan.is_some());
    let chart = chart::section(site, &proposal, (&path, ask), can).await;
    let moves = app::moves(&site.snapshot().programme, &proposal.planned);
    let is_standing = site.studio.is_standing(number);
    let title = if is_standing {
        "The adopted plan".to_owned()
    } else {
        format!("Plan {number}")
    };
    let content = html! {
        h1 { (title) ", season " (proposal.planned.draft.season.id) }
        (dates(&proposal))
        (conflict(&proposal))
        (tried::answer(site, &proposal))
        @if let Some(moves) = &moves { (difference(number, moves)) }
        (warnings(&proposal))
        (chart)
        @if planned {
            p { a href={ (path) "/sheet" } { "All of it on one page, with the hours by skill, for printing" } }
        }
        @if can && planned { (tried::form(viewer, number, typed, wrong)) }
        (tried::list(site, number))
        @if can && planned && !is_standing { (adopt_form(site, viewer, number, typed, wrong)) }
    };
    (status, page_with(site, viewer, (&path, &title), &chart::STEMS, &content))
        .into_response()
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

fn dates(proposal: &Proposal) -> Markup {
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
            div { dt { "made after entry" } dd { (proposal.entry) } }
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
                (moves.moved.len()) " jobs begin on another day, " (moves.new.len()) " are new, "
                (moves.gone.len()) " are no longer there." }
            @if !moves.moved.is_empty() {
                details { summary { "Jobs that move most" } div.wide { table {
                    caption.unseen { "Jobs that move most" }
                    thead { tr { th scope="col" { "job" } th scope="col" { "by the adopted plan" } th scope="col" { "here" } } }
                    tbody {
                        @for (job, was, is) in moves.moved.iter().take(SHOWN) {
                            tr {
                                td data-column="job" { span { (link("card", &job.0)) } }
                                td data-column="adopted" { span { (was.date()) } }
                                td data-column="here" { span { (is.date()) } }
                            }
                        }
                    }
                } } }
                @if moves.moved.len() > SHOWN { p { "and " (moves.moved.len() - SHOWN) " more" } }
            }
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

fn adopt_form(
    site: &Site,
    viewer: &Viewer,
    number: u64,
    typed: &Fields,
    wrong: &Wrong,
) -> Markup {
    let kept = field(typed, "_request").to_owned();
    let request =
        if kept.is_empty() { app::random_token().unwrap_or_default() } else { kept };
    html! {
        form.act #adopt method="post" action={ "/season/" (number) "/adopt" } {
            h2 { "Adopt it" }
            p { "From then on people work by it, and later plans keep to it where they can." }
            @if !wrong.adopted.is_empty() { p.wrong role="alert" { (wrong.adopted) } }
            input type="hidden" name="_csrf" value=(viewer.csrf);
            input type="hidden" name="_request" value=(request);
            div.field {
                label for="reason" { "Why this plan, and what of the one before it changes" }
                input #reason name="reason" value=(field(typed, "reason")) required;
            }
            div.sign {
                p { "Signed by " strong { (viewer.name) } " (" (viewer.person) "), now." }
                (secret_field("_secret", "Your secret", &wrong.secret, "current-password"))
                button { "Sign: adopt plan " (number) }
            }
            p.why { "The record stands at entry " (site.snapshot().number) "." }
        }
    }
}

/// `POST /season/{number}/adopt`.
pub(crate) async fn adopt(
    State(site): State<Site>,
    viewer: Viewer,
    Path(number): Path<u64>,
    Form(typed): Form<Fields>,
) -> Response {
    if let Some(refused) = refuse(&viewer, &typed) {
        return refused;
    }
    let Some(proposal) = site.studio.proposal(number) else { return fault::not_found() };
    let secret = Secret::new(field(&typed, "_secret"));
    if let Err(unproven) = site.prove_again(&viewer, &secret).await {
        let wrong = Wrong { secret: unproven.told(&viewer.person), ..Wrong::default() };
        let status = StatusCode::UNAUTHORIZED;
        return shown(&site, &viewer, number, (status, &typed, &wrong)).await;
    }
    let act = app::adoption(&proposal.planned, field(&typed, "reason"), ENGINE);
    let signed =
        Signed { by: viewer.person.clone(), at: site.stamp(), secret: Some(secret) };
    let request = Some(field(&typed, "_request").to_owned()).filter(|id| !id.is_empty());
    let desk = Arc::clone(&site.config.desk);
    let kept = match act {
        Ok(act) => site.aside(move || desk.act(vec![act], signed, request, None)).await,
        Err(error) => Err(error),
    };
    match kept {
        Ok(_) => {
            let told =
                vec![format!("Plan {number} is adopted: people work by it from now on.")];
            site.sessions.note(&viewer.session, told);
            Redirect::to("/show/plan").into_response()
        }
        Err(error) => {
            let wrong = Wrong { adopted: error.to_string(), ..Wrong::default() };
            let status = StatusCode::UNPROCESSABLE_ENTITY;
            shown(&site, &viewer, number, (status, &typed, &wrong)).await
        }
    }
}
