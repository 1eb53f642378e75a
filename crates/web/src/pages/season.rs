//! The season: planned beside the record, watched and stopped, tried with jobs that slip,
//! and adopted by signature.

use std::sync::Arc;
use std::time::Duration;

use app::{Moves, PlanRequest, Proposal, SearchState, Secret, Signed, Stop};
use axum::extract::{Form, Path, State};
use axum::http::{HeaderName, HeaderValue, StatusCode};
use axum::response::{IntoResponse, Redirect, Response};
use jiff::civil::DateTime;
use maud::{Markup, PreEscaped, html};

use crate::fault;
use crate::layout::{page, page_with};
use crate::links::link;
use crate::sign_in::{Fields, field, secret_field};
use crate::site::Site;
use crate::viewer::{Address, Viewer};

/// What it takes to plan.
const POWER: &str = "plan";
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

/// `GET /season`.
pub(crate) async fn get(State(site): State<Site>, viewer: Viewer) -> Response {
    overview(&site, &viewer, StatusCode::OK, "")
}

fn overview(site: &Site, viewer: &Viewer, status: StatusCode, wrong: &str) -> Response {
    let running = site.studio.running();
    let proposals = site.studio.proposals();
    let content = html! {
        h1 { "The season" }
        @if !wrong.is_empty() { p.wrong role="alert" { (wrong) } }
        p { "The plan that people work by is the " a href="/show/plan" { "adopted plan" }
            ". What is made here stands beside it and changes nothing until somebody adopts it." }
        @if let Some(number) = running { (progress(site, viewer, number)) }
        @else if may(viewer) { (wanted(site, viewer)) }
        h2 { "Plans made " span.count { (proposals.len()) } }
        @if proposals.is_empty() { p.none { "None since the program was started." } }
        ul.lines {
            @for made in &proposals { li { (line(made)) } }
        }
    };
    let page = page(site, viewer, ("/season", "The season"), &content);
    let mut response = (status, page).into_response();
    if running.is_some() {
        let again = HeaderValue::from_static(AGAIN);
        response.headers_mut().insert(HeaderName::from_static("refresh"), again);
    }
    response
}

fn may(viewer: &Viewer) -> bool {
    viewer.powers.contains(&POWER)
}

/// How far the search is.
fn progress(site: &Site, viewer: &Viewer, number: u64) -> Markup {
    let told = match site.studio.state_of(number) {
        SearchState::Running(Some(news)) => app::news_told(&news),
        SearchState::Running(None) => "it has begun".to_owned(),
        SearchState::Ready | SearchState::Failed(_) | SearchState::Unknown => {
            "it is over".to_owned()
        }
    };
    html! {
        section.running aria-labelledby="running" {
            h2 #running { "A search is running" }
            p.figure role="status" { (told) }
            @if may(viewer) {
                form method="post" action="/season/stop" {
                    input type="hidden" name="_csrf" value=(viewer.csrf);
                    button { "Stop, and keep the best" }
                }
            }
        }
    }
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
            @if let Some((upon, delays)) = &made.upon {
                ", tried upon plan " (upon) ": "
                (delays.iter().map(|(job, from)| format!("{job} not before {}", from.date()))
                    .collect::<Vec<_>>().join(", "))
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
) -> Response {
    shown(&site, &viewer, number, (StatusCode::OK, &Vec::new(), &Wrong::default())).await
}

/// What was wrong with a form of the page, beside which it is told.
#[derive(Default)]
struct Wrong {
    tried: String,
    adopted: String,
    secret: String,
}

async fn shown(
    site: &Site,
    viewer: &Viewer,
    number: u64,
    (status, typed, wrong): (StatusCode, &Fields, &Wrong),
) -> Response {
    let proposal = match (site.studio.proposal(number), site.studio.state_of(number)) {
        (Some(proposal), _) => proposal,
        (None, SearchState::Failed(why)) => {
            return overview(
                site,
                viewer,
                StatusCode::OK,
                &format!("Plan {number}: {why}"),
            );
        }
        (None, SearchState::Running(_)) => {
            return Redirect::to("/season").into_response();
        }
        (None, _) => return fault::not_found(),
    };
    let drawn = Arc::clone(&proposal);
    let chart = site.aside(move || {
        let made = format!("Plan {}, after entry {}", drawn.number, drawn.entry);
        Ok(app::chart(&drawn.programme, &drawn.planned, &made))
    });
    let chart = chart.await.ok().flatten();
    let moves = app::moves(&site.snapshot().programme, &proposal.planned);
    let title = format!("Plan {number}");
    let content = html! {
        h1 { (title) ", season " (proposal.planned.draft.season.id) }
        (dates(&proposal))
        @if let Some(moves) = &moves { (difference(moves)) }
        (warnings(&proposal))
        @if let Some(chart) = chart { (PreEscaped(chart)) }
        @if may(viewer) && proposal.planned.plan.is_some() {
            (try_form(viewer, number, typed, wrong))
            (adopt_form(site, viewer, number, typed, wrong))
        }
    };
    let path = format!("/season/{number}");
    let stems = ["chart", "chart-script"];
    (status, page_with(site, viewer, (&path, &title), &stems, &content)).into_response()
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

fn difference(moves: &Moves) -> Markup {
    let (was, is) = moves.complete;
    html! {
        section {
            h2 { "Beside the adopted plan" }
            p { "Complete on " (is.date()) ", by the adopted plan on " (was.date()) "; "
                (moves.moved.len()) " jobs begin on another day, " (moves.new.len()) " are new, "
                (moves.gone.len()) " are no longer there." }
            @if !moves.moved.is_empty() {
                table {
                    caption.unseen { "Jobs that move most" }
                    thead { tr { th scope="col" { "job" } th scope="col" { "by the adopted plan" } th scope="col" { "here" } } }
                    tbody {
                        @for (job, was, is) in moves.moved.iter().take(SHOWN) {
                            tr { td { (link("card", &job.0)) } td { (was.date()) } td { (is.date()) } }
                        }
                    }
                }
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

fn try_form(viewer: &Viewer, number: u64, typed: &Fields, wrong: &Wrong) -> Markup {
    html! {
        form.plain #try method="post" action={ "/season/" (number) "/try" } {
            h2 { "Try what becomes of it" }
            p { "A plan beside this one, in which a job begins no earlier than on a day. This one \
                 stays as it is." }
            @if !wrong.tried.is_empty() { p.wrong role="alert" { (wrong.tried) } }
            input type="hidden" name="_csrf" value=(viewer.csrf);
            div.field {
                label for="job" { "Job" }
                input #job name="job" value=(field(typed, "job")) required;
            }
            div.field {
                label for="from" { "Not before" }
                input #from name="from" type="date" value=(field(typed, "from")) required;
            }
            button { "Try it" }
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

/// `POST /season/{number}/try`.
pub(crate) async fn attempt(
    State(site): State<Site>,
    viewer: Viewer,
    Path(number): Path<u64>,
    Form(typed): Form<Fields>,
) -> Response {
    if let Some(refused) = refuse(&viewer, &typed) {
        return refused;
    }
    let day = field(&typed, "from").parse::<jiff::civil::Date>();
    let delays = match day {
        Ok(day) => {
            let job = app::JobKey(field(&typed, "job").trim().to_owned());
            vec![(job, day.to_datetime(jiff::civil::Time::midnight()))]
        }
        Err(error) => {
            let tried = format!("that is no day: {error}");
            let wrong = Wrong { tried, ..Wrong::default() };
            let status = StatusCode::UNPROCESSABLE_ENTITY;
            return shown(&site, &viewer, number, (status, &typed, &wrong)).await;
        }
    };
    let studio = site.studio.clone();
    match site.aside(move || studio.what_if(number, delays, TRYING)).await {
        Ok(tried) => Redirect::to(&format!("/season/{tried}")).into_response(),
        Err(error) => {
            let wrong = Wrong { tried: error.to_string(), ..Wrong::default() };
            let status = StatusCode::UNPROCESSABLE_ENTITY;
            shown(&site, &viewer, number, (status, &typed, &wrong)).await
        }
    }
}

/// `POST /season/{number}/adopt`.
pub(crate) async fn adopt(
    State(site): State<Site>,
    viewer: Viewer,
    Address(address): Address,
    Path(number): Path<u64>,
    Form(typed): Form<Fields>,
) -> Response {
    if let Some(refused) = refuse(&viewer, &typed) {
        return refused;
    }
    let Some(proposal) = site.studio.proposal(number) else { return fault::not_found() };
    let secret = Secret::new(field(&typed, "_secret"));
    if let Err(unproven) = site.prove(&viewer.person, &secret, address).await {
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
