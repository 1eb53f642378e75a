//! What can't start, by what holds it up.

use app::{Held, JobNow, JobToday, Today, counted};
use maud::{Markup, html};

use super::{ON_WALL, OPEN, Shown, count, days_late};
use crate::links::path_of;
use crate::pages::bench;
use crate::table::sentence;

/// So many jobs of a reason stand open; more are folded.
const FEW: usize = 3;

impl Shown<'_> {
    /// The jobs of whoever looks, each with all its reasons; then the reasons of the others, each
    /// with all its jobs.
    pub(super) fn held(&self, today: &Today) -> Markup {
        let waits = today.jobs_that(JobNow::Waits);
        let (mine, others): (Vec<&JobToday>, Vec<&JobToday>) =
            waits.partition(|job| self.is_mine(job));
        let mut held = today.held();
        // What holds up nothing else than one's own is told there.
        held.retain(|one| one.jobs.iter().any(|job| !self.is_mine(job)));
        let (open, folded) = held.split_at(held.len().min(OPEN));
        html! {
            @if mine.is_empty() && others.is_empty() { p.none { "Nothing of today's plan waits." } }
            @if !mine.is_empty() {
                h3 { "Yours" }
                ul.lines { @for job in &mine { (self.job(job)) } }
            }
            @if !mine.is_empty() && !held.is_empty() { h3 { "Others, by what holds them up" } }
            ul.lines { @for one in open { (self.one(one)) } }
            @if !folded.is_empty() {
                details {
                    summary { "and " (counted(folded.len(), "more reason", "more reasons")) }
                    ul.lines { @for one in folded { (self.one(one)) } }
                }
            }
        }
    }

    fn one(&self, held: &Held<'_>) -> Markup {
        let jobs =
            html! { ul.held { @for job in &held.jobs { li { (self.held_job(job)) } } } };
        html! {
            li.reason {
                div { span.mark { (held.kind) } " " (self.index.linked("", &sentence(held.what))) "." }
                p.why { "Cleared when " (self.index.linked("", held.clears)) "." }
                @if let Some(first) = held.first { p { (stands(first)) } }
                @if let [job] = held.jobs[..] {
                    p { span.why { "Holds up " } (self.held_job(job)) span.why { (behind(held)) "." } }
                } @else if held.jobs.len() <= FEW {
                    p.why { (weight(held)) ":" }
                    (jobs)
                } @else {
                    details { summary { (weight(held)) } (jobs) }
                }
            }
        }
    }

    fn held_job(&self, job: &JobToday) -> Markup {
        let others = job.reasons().count().saturating_sub(1);
        html! {
            @if job.card { a.key href=(bench::path(&job.job)) { (job.job) } }
            @else { a.key href=(path_of("job", &job.job)) { (job.job) } }
            " " (job.name)
            @if job.late > 0 { " " span.mark.wrong { (days_late(job.late)) } }
            @if self.is_mine(job) { " " span.mark { "mine" } }
            @if others > 0 {
                span.why { ", which waits for " (counted(others, "other reason", "other reasons")) " too" }
            }
        }
    }

    pub(super) fn is_mine(&self, job: &JobToday) -> bool {
        job.people.contains(&self.viewer.name)
    }
}

/// How much a reason holds up: `Holds up 4 jobs, 2 of them for nothing else; 7 more wait behind`.
fn weight(held: &Held<'_>) -> String {
    let jobs = held.jobs.len();
    let alone = match held.alone {
        all if all == jobs => String::new(),
        0 => ", each of which waits for more".to_owned(),
        some => format!(", {some} of them for nothing else"),
    };
    format!("Holds up {}{alone}{}", counted(jobs, "job", "jobs"), behind(held))
}

fn behind(held: &Held<'_>) -> String {
    match held.behind {
        0 => String::new(),
        1 => "; 1 more waits behind".to_owned(),
        more => format!("; {more} more wait behind"),
    }
}

/// How the job stands that must be done first.
fn stands(first: &JobToday) -> Markup {
    html! {
        @match first.now {
            JobNow::Ready => { strong { "It can start now" } @if !first.people.is_empty() { ": " (first.people.join(", ")) } "." }
            JobNow::Running => { "It is under way" @if !first.people.is_empty() { ": " (first.people.join(", ")) } "." }
            JobNow::Waits => { span.why { "It waits itself, for " (counted(first.reasons().count(), "reason", "reasons")) "." } }
            JobNow::Done => {}
        }
    }
}

/// The same on a wall: the reasons that hold up most.
pub(super) fn on_wall(today: &Today) -> Markup {
    let held = today.held();
    html! {
        (count("Can't start yet", today.jobs_that(JobNow::Waits).count()))
        ul {
            @for one in held.iter().take(ON_WALL) {
                li {
                    strong { (one.what) }
                    p.because { "Holds up " (counted(one.jobs.len(), "job", "jobs")) ": " (names(one)) }
                }
            }
        }
        @if held.len() > ON_WALL { p.more { "and " (counted(held.len() - ON_WALL, "more reason", "more reasons")) } }
    }
}

/// The first of its jobs, for a list that is read from afar.
fn names(one: &Held<'_>) -> String {
    let names = one.jobs.iter().take(FEW).map(|job| job.name.as_str());
    let told = names.collect::<Vec<_>>().join(", ");
    let more = one.jobs.len().saturating_sub(FEW);
    if more > 0 { format!("{told} and {more} more") } else { told }
}
