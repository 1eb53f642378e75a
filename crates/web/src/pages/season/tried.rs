//! What becomes of a plan if jobs slip: tried beside it, several times, and held against it.

use app::{BesideEachOther, Proposal};
use axum::extract::{Form, Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use jiff::civil::{Date, DateTime, Time};
use maud::{Markup, html};

use super::{TRYING, Wrong, refuse, shown};
use crate::links::link;
use crate::sign_in::{Fields, field};
use crate::site::Site;
use crate::viewer::Viewer;

/// So many jobs are named in an answer.
const SHOWN: usize = 20;

/// The form that tries something upon a plan.
pub(super) fn form(
    viewer: &Viewer,
    number: u64,
    typed: &Fields,
    wrong: &Wrong,
) -> Markup {
    html! {
        form.plain #try method="post" action={ "/season/" (number) "/try" } {
            h2 { "Try what becomes of it" }
            p { "A plan beside this one, in which a job begins no earlier than then. This one stays as it \
                 is. In the chart a job is dragged to a later time." }
            @if !wrong.tried.is_empty() { p.wrong role="alert" { (wrong.tried) } }
            input type="hidden" name="_csrf" value=(viewer.csrf);
            div.taken {
                div.field {
                    label for="try-job" { "Job" }
                    input #try-job name="job" value=(field(typed, "job")) required autocomplete="off";
                }
                div.field {
                    label for="try-from" { "Not before" }
                    input #try-from name="from" type="date" value=(field(typed, "from")) required;
                }
                div.field {
                    label for="try-clock" { "At" span.may { ", if it matters" } }
                    input #try-clock name="clock" type="time" value=(field(typed, "clock"));
                }
                div.field { button { "Try it" } }
            }
        }
    }
}

/// From when on a job is tried, as a form says.
fn moment(typed: &Fields) -> Result<DateTime, String> {
    let day: Date = field(typed, "from")
        .parse()
        .map_err(|error: jiff::Error| format!("that is no day: {error}"))?;
    let clock = field(typed, "clock");
    let time: Time = if clock.is_empty() {
        Time::midnight()
    } else {
        clock.parse().map_err(|error: jiff::Error| format!("that is no time: {error}"))?
    };
    Ok(day.to_datetime(time))
}

/// `POST /season/{number}/try`.
pub(crate) async fn post(
    State(site): State<Site>,
    viewer: Viewer,
    Path(number): Path<u64>,
    Form(typed): Form<Fields>,
) -> Response {
    if let Some(refused) = refuse(&viewer, &typed) {
        return refused;
    }
    let status = StatusCode::UNPROCESSABLE_ENTITY;
    let delays = match moment(&typed) {
        Ok(from) => vec![(app::JobKey(field(&typed, "job").trim().to_owned()), from)],
        Err(tried) => {
            let wrong = Wrong { tried, ..Wrong::default() };
            return shown(&site, &viewer, number, (status, &typed, &wrong)).await;
        }
    };
    let studio = site.studio.clone();
    match site.aside(move || studio.what_if(number, delays, TRYING)).await {
        Ok(tried) => Redirect::to(&format!("/season/{tried}")).into_response(),
        Err(error) => {
            let wrong = Wrong { tried: error.to_string(), ..Wrong::default() };
            shown(&site, &viewer, number, (status, &typed, &wrong)).await
        }
    }
}

/// What was tried, in words; nothing for a plan that tries nothing.
pub(super) fn what(made: &Proposal) -> Option<String> {
    let (_, delays) = made.upon.as_ref()?;
    let said = delays.iter().map(|(job, from)| {
        let clock = from.strftime(if from.time() == Time::midnight() {
            "%F"
        } else {
            "%F %H:%M"
        });
        format!("{job} not before {clock}")
    });
    Some(said.collect::<Vec<_>>().join(", "))
}

/// The answer to what was tried: how the plan differs from the one upon which it was tried.
pub(super) fn answer(site: &Site, made: &Proposal) -> Markup {
    let Some((upon, _)) = &made.upon else { return html! {} };
    let name = if site.studio.is_standing(*upon) {
        "the adopted plan".to_owned()
    } else {
        format!("plan {upon}")
    };
    let before = site.studio.proposal(*upon);
    let held = before.as_ref().map(|before| app::beside(&before.planned, &made.planned));
    html! {
        section.answer data-answer=(made.number) aria-labelledby={ "answer-" (made.number) } {
            h2 id={ "answer-" (made.number) } { a href={ "/season/" (made.number) } { "Plan " (made.number) }
                ": " (what(made).unwrap_or_default()) }
            @match &held {
                None => p.none { "The plan upon which it was tried is kept no more." },
                Some(held) => {
                    (date(held, &name))
                    (moved(held, SHOWN))
                    (driving(held))
                    p { a href={ "/season/" (upon) "/beside/" (made.number) } { "Both beside each other" } }
                }
            }
        }
    }
}

pub(super) fn date(held: &BesideEachOther, name: &str) -> Markup {
    html! {
        p.figure role="status" {
            @match (held.other.complete, held.days) {
                (Some(complete), Some(days)) => {
                    "Complete on " strong { (complete.date()) } ", "
                    @match days {
                        0 => { "on the same day as by " (name) }
                        1.. => { strong.wrong { (days) @if days == 1 { " day" } @else { " days" } " later" } " than by " (name) }
                        _ => { (-days) " days earlier than by " (name) }
                    }
                    @if let Some(margin) = held.other.margin {
                        ". To the gate date: " (margin) " days"
                        @if margin < 0 { ", " strong.wrong { "late for the gate" } }
                    }
                    "."
                }
                _ => "One of the two found no plan.",
            }
        }
        p { (held.moved.len()) " jobs move, " (held.alike) " lie alike"
            @if !held.only_one.is_empty() || !held.only_other.is_empty() {
                ", " (held.only_one.len()) " are only in the first, " (held.only_other.len()) " only in the second"
            } "." }
    }
}

pub(super) fn moved(held: &BesideEachOther, most: usize) -> Markup {
    let clock = |at: DateTime| at.strftime("%F %H:%M").to_string();
    html! {
        @if !held.moved.is_empty() {
            div.wide { table {
                caption.unseen { "Jobs that move, the furthest first" }
                thead { tr { th scope="col" { "job" } th scope="col" { "begins" } th scope="col" { "begins then" }
                    th scope="col" { "days" } th scope="col" { "who" } } }
                tbody {
                    @for job in held.moved.iter().take(most) {
                        tr {
                            td data-column="job" { span { (link("card", &job.job)) " " (job.name) } }
                            td data-column="begins" { span { (clock(job.begins.0)) } }
                            td data-column="begins then" { span { (clock(job.begins.1)) } }
                            td.number data-column="days" { span { (format!("{:+}", job.days)) } }
                            td data-column="who" .blank[job.people.is_none()] { span {
                                @if let Some((was, is)) = &job.people { (was) " → " (is) } } }
                        }
                    }
                }
            } }
            @if held.moved.len() > most { p { "and " (held.moved.len() - most) " more" } }
        }
    }
}

fn driving(held: &BesideEachOther) -> Markup {
    let chain = &held.other.driving;
    let before: Vec<&str> =
        held.one.driving.iter().map(|(key, _, _)| key.as_str()).collect();
    html! {
        @if !chain.is_empty() {
            details {
                summary { "What sets the date then " span.count { (chain.len()) } }
                ol { @for (key, name, at) in chain {
                    li { (link("card", key)) " " (name) ", " (at.date())
                        @if !before.contains(&key.as_str()) { " " strong { "(new in the chain)" } } }
                } }
            }
        }
    }
}

/// What was tried upon a plan so far, side by side.
pub(super) fn list(site: &Site, number: u64) -> Markup {
    let all = site.studio.proposals();
    let tries: Vec<_> = all
        .iter()
        .filter(|made| made.upon.as_ref().is_some_and(|(upon, _)| *upon == number))
        .collect();
    let upon = site.studio.proposal(number);
    html! {
        section #tries aria-labelledby="tries-head" data-tries {
            h2 #tries-head { "Tried upon it " span.count { (tries.len()) } }
            @if tries.is_empty() { p.none { "Nothing yet." } }
            @else { div.wide { table {
                caption.unseen { "Plans that were tried, side by side" }
                thead { tr { th scope="col" { "plan" } th scope="col" { "what is tried" } th scope="col" { "complete" }
                    th scope="col" { "days later" } th scope="col" { "jobs that move" } th scope="col" { "beside" } } }
                tbody {
                    @for made in tries {
                        @let held = upon.as_ref().map(|upon| app::beside(&upon.planned, &made.planned));
                        tr {
                            td data-column="plan" { span { a href={ "/season/" (made.number) } { "Plan " (made.number) } } }
                            td data-column="what is tried" { span { (what(made).unwrap_or_default()) } }
                            @if let Some(held) = held {
                                td data-column="complete" { span { @match held.other.complete {
                                    Some(at) => (at.date()), None => "no plan" } } }
                                td.number data-column="days later" { span { @match held.days {
                                    Some(days) => (format!("{days:+}")), None => "" } } }
                                td.number data-column="jobs that move" { span { (held.moved.len()) } }
                                td data-column="beside" { span { a href={ "/season/" (number) "/beside/" (made.number) } { "differences" } } }
                            }
                        }
                    }
                }
            } } }
        }
    }
}
