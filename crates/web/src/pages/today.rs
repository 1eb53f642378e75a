//! Today in the hangar: for a phone in the morning, and for a screen on the wall.

mod air;
mod held;

use app::{
    AtWork, JobNow, JobToday, Obstacle, PersonToday, ToInspect, Today, Travelling,
};
use axum::extract::{Query, State};
use axum::response::{IntoResponse, Response};
use maud::{Markup, html};

use crate::fault;
use crate::layout::{page, wall};
use crate::links::{Index, link, path_of};
use crate::pages::{act, bench};
use crate::sign_in::{Fields, field};
use crate::site::Site;
use crate::table::sentence;
use crate::viewer::Viewer;

/// So many lines of a kind a wall shows; beyond that it says how many more there are.
const ON_WALL: usize = 6;
/// So many jobs of a kind stand open; the rest is folded.
const OPEN: usize = 12;
/// So many reasons a line has before they are folded.
const REASONS: usize = 3;

/// `GET /today`.
pub(crate) async fn get(
    State(site): State<Site>,
    viewer: Viewer,
    Query(asked): Query<Fields>,
) -> Response {
    let (snapshot, now) = (site.snapshot(), site.now());
    let index = site.index(&snapshot);
    let programme = snapshot.programme;
    let made = site.aside(move || Ok(app::today(&programme, now))).await;
    let today = match made {
        Ok(today) => today,
        Err(error) => return fault::of_app(&error),
    };
    let title = format!("Today, {}", now.strftime("%A %Y-%m-%d"));
    if field(&asked, "wall") == "1" {
        // Whoever put this onto a wall wants it there all day, until the session is over.
        let _ = site.sessions.find(&viewer.session, true);
        return wall(&site, &title, &on_wall(&today)).into_response();
    }
    let shown = Shown { viewer: &viewer, index: &index };
    page(&site, &viewer, ("/today", &title), &shown.all(&title, &today)).into_response()
}

struct Shown<'a> {
    viewer: &'a Viewer,
    index: &'a Index,
}

impl Shown<'_> {
    fn all(&self, title: &str, today: &Today) -> Markup {
        html! {
            h1 { (title) }
            p.ways { a href="/today?wall=1" { "For the wall" } " · " a href="/scan" { "Find by code" } " · " a href="/show/plan" { "The whole plan" } }
            div data-part="today" {
                (state(today))
                (here(today))
                div.today {
                    div {
                        section aria-labelledby="ready" {
                            (heading("ready", "Can start", today.jobs_that(JobNow::Ready).count()))
                            (self.jobs(today, JobNow::Ready, "Nothing of the plan is ready to start."))
                        }
                    }
                    div {
                        section aria-labelledby="waits" {
                            (heading("waits", "Can't start yet", today.jobs_that(JobNow::Waits).count()))
                            (self.held(today))
                        }
                        @if today.jobs_that(JobNow::Done).count() > 0 {
                            section aria-labelledby="done" {
                                (heading("done", "Done today", today.jobs_that(JobNow::Done).count()))
                                (self.jobs(today, JobNow::Done, ""))
                            }
                        }
                    }
                    div { (self.floor(today)) }
                }
            }
        }
    }

    /// What goes on, and who is there.
    fn floor(&self, today: &Today) -> Markup {
        let running = today.jobs_that(JobNow::Running);
        let stuck: Vec<&JobToday> =
            running.filter(|job| !job.obstacles.is_empty()).collect();
        html! {
            section aria-labelledby="work" {
                (heading("work", "At work", today.at_work.len()))
                (Self::at_work(&today.at_work))
                @if !stuck.is_empty() {
                    h3 { "Begun, and stopped" }
                    ul.lines { @for job in stuck { (self.job(job)) } }
                }
            }
            section aria-labelledby="inspect" {
                (heading("inspect", "To be inspected", today.inspections.len()))
                (Self::inspections(&today.inspections))
            }
            section aria-labelledby="travel" {
                (heading("travel", "Goes out, comes back", today.travelling.len()))
                (self.travelling(&today.travelling))
            }
            section aria-labelledby="in" {
                (heading("in", "Who is in", today.present().count()))
                (people(&today.people))
            }
            section aria-labelledby="air" { h2 #air { "Air" } (self.air(today)) }
        }
    }

    fn air(&self, today: &Today) -> Markup {
        let shown = air::Shown { viewer: self.viewer, index: self.index, now: today.now };
        air::section(&shown, &today.air)
    }

    /// Those of whoever looks first.
    fn jobs(&self, today: &Today, state: JobNow, none: &str) -> Markup {
        let (mine, others): (Vec<&JobToday>, Vec<&JobToday>) =
            today.jobs_that(state).partition(|job| self.is_mine(job));
        let jobs: Vec<&JobToday> = mine.into_iter().chain(others).collect();
        let (open, folded) = jobs.split_at(jobs.len().min(OPEN));
        html! {
            @if jobs.is_empty() { p.none { (none) } }
            ul.lines { @for job in open { (self.job(job)) } }
            @if !folded.is_empty() {
                details {
                    summary { "and " (folded.len()) " more" }
                    ul.lines { @for job in folded { (self.job(job)) } }
                }
            }
        }
    }

    fn job(&self, job: &JobToday) -> Markup {
        let reasons: Vec<&Obstacle> = job.reasons().collect();
        html! {
            li.job {
                div {
                    @if job.card { a.key href=(bench::path(&job.job)) { (job.job) } }
                    @else { a.key href=(path_of("job", &job.job)) { (job.job) } }
                    " " (job.name)
                    @if job.late > 0 { " " span.mark.wrong { (days_late(job.late)) } }
                    @if self.is_mine(job) { " " span.mark { "mine" } }
                    @if !job.card { " " span.mark { "no card yet" } }
                }
                @if !job.people.is_empty() || job.place.is_some() {
                    p.why {
                        (job.people.join(", "))
                        @if let Some(place) = &job.place { " · " (place) }
                    }
                }
                @if !reasons.is_empty() { (self.obstacles(&reasons)) }
                @for note in &job.notes { p.why { (sentence(note)) "." } }
                @if job.now == JobNow::Ready && job.card && self.viewer.may("start") {
                    a.act href=(bench::path(&job.job)) { "Open the card" span.unseen { " " (job.job) } }
                }
            }
        }
    }

    fn obstacles(&self, all: &[&Obstacle]) -> Markup {
        let line = |one: &Obstacle| {
            html! {
                li {
                    span.mark { (one.kind) } " " (self.index.linked("", &one.what)) "."
                    p.why { "Cleared when " (self.index.linked("", &one.clears)) "." }
                }
            }
        };
        let (open, folded) = all.split_at(all.len().min(REASONS));
        html! {
            ul.because { @for one in open { (line(one)) } }
            @if !folded.is_empty() {
                details {
                    summary { "and " (folded.len()) " more" }
                    ul.because { @for one in folded { (line(one)) } }
                }
            }
        }
    }

    fn at_work(all: &[AtWork]) -> Markup {
        html! {
            @if all.is_empty() { p.none { "Nobody is at a card." } }
            ul.lines {
                @for work in all {
                    li {
                        a.key href=(bench::path(&work.job)) { (work.job) } " " (work.title)
                        p.why { (who(work)) ". " (work.steps.0) " of " (work.steps.1) " steps complete." }
                        @if let Some((step, text)) = &work.next { p { "Next, step " (step) ": " (text) } }
                    }
                }
            }
        }
    }

    fn inspections(all: &[ToInspect]) -> Markup {
        html! {
            @if all.is_empty() { p.none { "No step waits for an inspection." } }
            ul.lines {
                @for one in all {
                    li {
                        a.key href=(bench::path(&one.job)) { (one.job) } ", step " (one.step) ": " (one.text)
                        p.why {
                            "Lacks " (one.lacks)
                            @if one.independent { " by somebody who had no part in the work" }
                            @if let Some((who, at)) = &one.signed { "; signed by " (who) ", " (at.strftime("%Y-%m-%d %H:%M").to_string()) }
                            "."
                        }
                        (may(one))
                    }
                }
            }
        }
    }

    fn travelling(&self, all: &[Travelling]) -> Markup {
        html! {
            @if all.is_empty() { p.none { "Nothing goes out or comes back today, and nothing is late." } }
            ul.lines {
                @for one in all {
                    li {
                        span.mark { @if one.back { "back" } @else { "out" } } " "
                        (link("item", &one.item)) " " (one.name) ", "
                        @if one.back { "from " } @else { "to " } (one.firm) ": " (one.what)
                        @if one.late > 0 && !one.what.contains("late") { ", " span.mark.wrong { (days_late(one.late)) } }
                        @let word = if one.back { "receive" } else { "despatch" };
                        @if self.viewer.may(word) {
                            " " a.act href=(act::path(word, [("item", one.item.as_str())])) { (act::words(word)) span.unseen { " " (one.item) } }
                        }
                    }
                }
            }
            p.ways { a href="/parts" { "Where every part is" } }
        }
    }
}

/// How many there are of each, and the way down to them: a phone shows one list at a time.
fn here(today: &Today) -> Markup {
    let counts = [
        ("ready", "can start", today.jobs_that(JobNow::Ready).count()),
        ("waits", "can't yet", today.jobs_that(JobNow::Waits).count()),
        ("work", "at work", today.at_work.len()),
        ("inspect", "to inspect", today.inspections.len()),
        ("travel", "out and back", today.travelling.len()),
        ("in", "in", today.present().count()),
    ];
    html! {
        nav.tallies aria-label="On this page" {
            @for (id, word, count) in counts.into_iter().filter(|(_, _, count)| *count > 0) { a href={ "#" (id) } { strong { (count) } " " (word) } }
            a href="#air" { "Air" }
        }
    }
}

fn state(today: &Today) -> Markup {
    html! {
        @if let Some(shut) = &today.shut { p.notice { (sentence(shut)) "." } }
        @if let Some(trouble) = &today.trouble {
            p.wrong role="alert" { "The plan can't be held against the work: " (trouble) }
        }
        @match &today.plan {
            Some(plan) => { p.why { "By the plan of " (plan) "; as it is at " (today.now.strftime("%H:%M").to_string()) "." } }
            None => { p.notice { "No plan is adopted for the season: only cards are told here. " a href="/season" { "Plan the season" } } }
        }
    }
}

fn heading(id: &str, word: &str, count: usize) -> Markup {
    html! { h2 id=(id) { (word) " " span.count { (count) } } }
}

fn days_late(days: i32) -> String {
    if days == 1 { "1 day late".to_owned() } else { format!("{days} days late") }
}

fn who(work: &AtWork) -> String {
    let who = work.who.iter();
    let told =
        who.map(|(name, since)| format!("{name} since {}", since.strftime("%H:%M")));
    told.collect::<Vec<_>>().join(", ")
}

fn may(one: &ToInspect) -> Markup {
    html! {
        p {
            @if one.may.is_empty() {
                strong { "Nobody who may make it is in." }
                @if one.may_later.is_empty() { " Nobody at all has the authority without a part in it." }
                @else { " Not in: " (one.may_later.join(", ")) "." }
            } @else { "May make it and is in: " (one.may.join(", ")) "." }
        }
    }
}

fn people(all: &[PersonToday]) -> Markup {
    let (present, absent): (Vec<_>, Vec<_>) = all.iter().partition(|person| person.is_in);
    html! {
        @if present.is_empty() { p.none { "Nobody is expected." } }
        ul.lines {
            @for person in &present {
                li {
                    (link("person", &person.person)) " " (person.name) " "
                    span.why { (person.standing) ", " (person.why) }
                    @if !person.at.is_empty() { p { "At " (person.at.join(", ")) } }
                    @if person.at.is_empty() && !person.planned.is_empty() {
                        p.why { "Planned: " (person.planned.join(", ")) }
                    }
                }
            }
        }
        @if !absent.is_empty() {
            details {
                summary { "Not in: " (absent.len()) }
                ul.lines {
                    @for person in &absent { li { (link("person", &person.person)) " " (person.name) " " span.why { (person.why) } } }
                }
            }
        }
    }
}

/// The same for a wall: few lines, large, nothing to touch.
fn on_wall(today: &Today) -> Markup {
    let present: Vec<&PersonToday> = today.present().collect();
    html! {
        div.screen data-part="wall" {
            header.day {
                h1 { (today.now.strftime("%A %-d %B").to_string()) }
                p.clock { (today.now.strftime("%H:%M").to_string()) }
            }
            @if let Some(shut) = &today.shut { p.notice { (sentence(shut)) } }
            div.columns {
                section {
                    (count("At work", today.at_work.len()))
                    ul { @for work in today.at_work.iter().take(ON_WALL) {
                        li { strong { (names(&work.who)) } " " (work.title) }
                    } }
                    (more(today.at_work.len()))
                    (count("To be inspected", today.inspections.len()))
                    ul { @for one in today.inspections.iter().take(ON_WALL) {
                        li { strong { (one.job) " " (one.step) } " "
                            @if one.may.is_empty() { span.mark.wrong { "nobody in may" } } @else { (one.may.join(", ")) } }
                    } }
                    (more(today.inspections.len()))
                }
                section { (ready_on_wall(today)) }
                section { (held::on_wall(today)) }
                section {
                    (count("Out and back", today.travelling.len()))
                    ul { @for one in today.travelling.iter().take(ON_WALL) {
                        li {
                            span.mark { @if one.back { "back" } @else { "out" } } " " strong { (one.item) } " " (one.firm)
                            @if one.late > 0 { " " span.mark.wrong { (days_late(one.late)) } }
                        }
                    } }
                    (more(today.travelling.len()))
                    (count("In today", present.len()))
                    p.names { (present.iter().map(|person| person.name.as_str()).collect::<Vec<_>>().join(", ")) }
                    (air::on_wall(&today.air, today.now))
                }
            }
        }
    }
}

fn count(word: &str, count: usize) -> Markup {
    html! { h2 { (word) " " span.count { (count) } } }
}

fn more(count: usize) -> Markup {
    html! { @if count > ON_WALL { p.more { "and " (count - ON_WALL) " more" } } }
}

fn names<T>(who: &[(String, T)]) -> String {
    who.iter().map(|(name, _)| name.as_str()).collect::<Vec<_>>().join(", ")
}

fn ready_on_wall(today: &Today) -> Markup {
    let jobs: Vec<&JobToday> = today.jobs_that(JobNow::Ready).collect();
    html! {
        (count("Can start", jobs.len()))
        ul {
            @for job in jobs.iter().take(ON_WALL) {
                li {
                    strong { (job.name) }
                    @if !job.people.is_empty() { p.because { (job.people.join(", ")) } }
                }
            }
        }
        (more(jobs.len()))
    }
}
