//! What becomes of a plan if jobs slip: tried beside it, several times, and held against it.

use app::{BesideEachOther, Proposal, counted};
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use jiff::civil::{Date, DateTime, Time};
use maud::{Markup, html};

use super::{TRYING, Wrong, driving, moved, refuse, returned};
use crate::sign_in::{Fields, Sent, field};
use crate::site::Site;
use crate::viewer::Viewer;

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
            @if !wrong.tried.is_empty() {
                p.wrong role="alert" tabindex="-1" data-wrong { (wrong.tried) }
            }
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

/// From when on a job is tried, as a form says; everything that is wrong with it.
fn moment(typed: &Fields) -> Result<DateTime, String> {
    let (from, clock) = (field(typed, "from").trim(), field(typed, "clock").trim());
    let day = from.parse::<Date>().map_err(|_| match from {
        "" => "No day is given before which it must not begin.".to_owned(),
        _ => format!("`{from}` is no day: write it as 2032-01-31."),
    });
    let time = match clock {
        "" => Ok(Time::midnight()),
        _ => clock
            .parse::<Time>()
            .map_err(|_| format!("`{clock}` is no time of day: write it as 13:30.")),
    };
    match (day, time) {
        (Ok(day), Ok(time)) => Ok(day.to_datetime(time)),
        (day, time) => {
            let wrong = [day.err(), time.err()].into_iter().flatten();
            Err(wrong.collect::<Vec<_>>().join(" "))
        }
    }
}

/// `POST /season/{number}/try`.
pub(crate) async fn post(
    State(site): State<Site>,
    Path(number): Path<u64>,
    Sent { viewer, typed }: Sent,
) -> Response {
    if let Some(refused) = refuse(&viewer, &typed) {
        return refused;
    }
    let status = StatusCode::UNPROCESSABLE_ENTITY;
    let job = field(&typed, "job").trim();
    let delays = match (moment(&typed), job) {
        (Ok(_), "") => Err("No job is named.".to_owned()),
        (Err(wrong), "") => Err(format!("No job is named. {wrong}")),
        (Err(wrong), _) => Err(wrong),
        (Ok(from), job) => Ok(vec![(app::JobKey(job.to_owned()), from)]),
    };
    let studio = site.studio.clone();
    let tried = match delays {
        Ok(delays) => {
            let tried = site.aside(move || studio.what_if(number, delays, TRYING)).await;
            tried.map_err(|error| error.to_string())
        }
        Err(wrong) => Err(wrong),
    };
    match tried {
        Ok(tried) => Redirect::to(&format!("/season/{tried}")).into_response(),
        Err(tried) => {
            let wrong = Wrong { status, tried, ..Wrong::default() };
            returned(&site, &viewer, number, &typed, &wrong).await
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
                    (moved::jobs(&held.moved))
                    (then(held))
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
                    @let long = counted(days.unsigned_abs() as usize, "day", "days");
                    @match days {
                        0 => { "on the same day as by " (name) }
                        1.. => { strong.wrong { (long) " later" } " than by " (name) }
                        _ => { (long) " earlier than by " (name) }
                    }
                    @if let Some(margin) = held.other.margin { ". " (to_gate(margin)) }
                    "."
                }
                _ => {
                    @let (which, side) =
                        if held.other.complete.is_none() { ("the second", &held.other) } else { ("the first", &held.one) };
                    strong.wrong { "There is no plan" } " in " (which) ": " (side.sure) "."
                }
            }
        }
        @if held.days.is_some() {
            @let (moves, others) = held.moves();
            p { (counted(moves, "job moves", "jobs move")) ", "
                @if others > 0 { (counted(others, "is done by others at the same time", "are done by others at the same time")) ", " }
                (counted(held.alike, "lies alike", "lie alike"))
                @if !held.only_one.is_empty() || !held.only_other.is_empty() {
                    ", " (counted(held.only_one.len(), "is only in the first", "are only in the first"))
                    ", " (held.only_other.len()) " only in the second"
                } "." }
        }
    }
}

/// How far from the gate date a plan ends; at the end of a sentence.
fn to_gate(margin: i64) -> Markup {
    let long = counted(margin.unsigned_abs() as usize, "day", "days");
    html! {
        @if margin < 0 { strong.wrong { "Late for the gate by " (long) } }
        @else { (long) " before the gate date" }
    }
}

/// What sets the date of the second of two plans.
fn then(held: &BesideEachOther) -> Markup {
    let chain = &held.other.driving;
    html! {
        @if !chain.is_empty() {
            details {
                summary { "What sets the date then " span.count { (chain.len()) } }
                (driving::told(chain, &held.one.driving, "new in the chain"))
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
                                    Some(days) => (moved::signed(days)), None => "" } } }
                                td.number data-column="jobs that move" { span { (held.moves().0) } }
                                td data-column="beside" { span { a href={ "/season/" (number) "/beside/" (made.number) } { "differences" } } }
                            }
                        }
                    }
                }
            } } }
        }
    }
}
