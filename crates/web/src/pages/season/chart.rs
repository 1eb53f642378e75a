//! The time chart of a plan: still for whoever has no script, and a list that says the same; a
//! script draws it anew from the plan as data.

use std::sync::Arc;

use app::{JobTold, Proposal, Timeline, TimelineAsk};
use axum::extract::{Path, Query, State};
use axum::http::header::{CACHE_CONTROL, CONTENT_TYPE};
use axum::response::{IntoResponse, Response};
use jiff::civil::{Date, DateTime};
use jiff::{Span, ToSpan};
use maud::{Markup, PreEscaped, html};

use crate::fault;
use crate::links::{link, query};
use crate::shown::shown;
use crate::sign_in::{Fields, field};
use crate::site::Site;
use crate::viewer::Viewer;

/// What pages with a chart load besides.
pub(super) const STEMS: [&str; 3] = ["chart", "timeline", "timeline-script"];

/// What the address asks for.
pub(super) fn asked(typed: &Fields) -> TimelineAsk {
    let said =
        |name: &str| Some(field(typed, name).to_owned()).filter(|said| !said.is_empty());
    TimelineAsk {
        lanes: said("lanes"),
        from: said("from").and_then(|day| day.parse().ok()),
        until: said("until").and_then(|day| day.parse().ok()),
        find: field(typed, "find").trim().to_owned(),
        page: field(typed, "page").parse::<usize>().unwrap_or(1).saturating_sub(1),
        job: said("job"),
    }
}

/// Where a chart stands, and what is asked of it.
#[derive(Debug, Clone)]
pub(super) struct At {
    /// The path of its page.
    pub(super) path: String,
    /// The season, where the path does not say which.
    pub(super) season: Option<String>,
    /// What is asked of it.
    pub(super) ask: TimelineAsk,
}

/// The query that asks for this, with one thing in place of another; a blank one is left out.
fn again(at: &At, other: &[(&str, &str)]) -> String {
    let ask = &at.ask;
    let day = |day: Option<Date>| day.map(|day| day.to_string()).unwrap_or_default();
    let mut pairs = vec![
        ("season", at.season.clone().unwrap_or_default()),
        ("lanes", ask.lanes.clone().unwrap_or_default()),
        ("from", day(ask.from)),
        ("until", day(ask.until)),
        ("find", ask.find.clone()),
    ];
    for (name, value) in other {
        pairs.retain(|(known, _)| known != name);
        pairs.push((name, (*value).to_owned()));
    }
    pairs.retain(|(_, value)| !value.is_empty());
    query(pairs.iter().map(|(name, value)| (*name, value.as_str())))
}

/// The chart of a plan, and whether whoever looks may try things upon it.
pub(super) async fn section(
    site: &Site,
    proposal: &Arc<Proposal>,
    at: &At,
    may_try: bool,
) -> Markup {
    let (of, now, today) =
        (Arc::clone(proposal), site.snapshot().programme, site.today());
    let here = at.clone();
    let made = site.aside(move || {
        let wanted = &here.ask;
        let at_job =
            |key: &str| format!("{}{}#job", here.path, again(&here, &[("job", key)]));
        let plan = (&*of.programme, &of.planned);
        let told = wanted.job.as_deref().map(|job| app::job_told(plan, &now, job));
        Ok((app::timeline(plan, &now, wanted, today, &at_job), told))
    });
    let Ok((Some(timeline), told)) = made.await else { return html! {} };
    let entry = site.snapshot().number;
    // A plan never changes, but its number is another's when the program starts again.
    let version = &timeline.version;
    let data =
        format!("/season/{}/chart.json?v={entry}-{today}-{version}", proposal.number);
    html! {
        section.timeline #chart aria-label="Time chart" data-chart=(data) data-path=(at.path)
            data-plan=(proposal.number) data-try=[may_try.then_some("yes")] {
            (controls(at, &timeline))
            @if let Some(told) = told { (looked_at(at, told.as_ref())) }
            (PreEscaped(&timeline.still))
            (listed(at, &timeline))
        }
    }
}

fn controls(at: &At, timeline: &Timeline) -> Markup {
    let At { path, season, ask } = at;
    let shown = timeline.lanes.iter().find(|lanes| lanes.shown);
    html! {
        h2 { "Chart" }
        form.chart-form method="get" action=(path) {
            @if let Some(season) = season { input type="hidden" name="season" value=(season); }
            div.field {
                label for="lanes" { "Lanes" }
                select #lanes name="lanes" {
                    @for lanes in &timeline.lanes {
                        option value=(lanes.word) selected[lanes.shown] { (lanes.name) }
                    }
                }
            }
            div.field {
                label for="chart-from" { "From" }
                input #chart-from name="from" type="date" value=(timeline.window.0);
            }
            div.field {
                label for="chart-until" { "Until" }
                input #chart-until name="until" type="date" value=(timeline.window.1);
            }
            div.field {
                label for="find-in-chart" { "Find" }
                input #find-in-chart name="find" type="search" value=(ask.find) autocomplete="off"
                    placeholder="job, person, stand, firm";
            }
            button.quiet { "Show" }
        }
        p.zooms.ways data-still {
            @for (word, from, until) in windows(timeline) {
                a href={ (path) (again(at, &[("from", &from.to_string()), ("until", &until.to_string())])) "#chart" } { (word) }
                " "
            }
            @if let Some(shown) = shown {
                span.unseen { "Lanes " (shown.name) ", from " (timeline.window.0) " until " (timeline.window.1) }
            }
        }
    }
}

/// Other days to look at: all of them, as many before and behind, half as many, one month, week
/// and day from the first that is shown.
fn windows(timeline: &Timeline) -> Vec<(&'static str, Date, Date)> {
    let ((from, until), (first, last)) = (timeline.window, timeline.whole);
    let days = (until - from).get_days() + 1;
    let moved =
        |day: Date, by: i32| day.saturating_add(i64::from(by).days()).clamp(first, last);
    let mut all = Vec::new();
    if (from, until) != (first, last) {
        all.push(("Whole season", first, last));
        all.push(("Earlier", moved(from, -days), moved(until, -days)));
        all.push(("Later", moved(from, days), moved(until, days)));
    }
    for (word, span) in [("Month", 31), ("Week", 7), ("Day", 1)] {
        if days > span {
            let span: Span = i64::from(span - 1).days();
            all.push((word, from, from.saturating_add(span).min(last)));
        }
    }
    all
}

fn looked_at(at: &At, told: Option<&JobTold>) -> Markup {
    html! {
        section.why-job #job tabindex="-1" aria-labelledby="job-head" {
            @match told {
                None => { h3 #job-head { "There is no such job in this plan" } }
                Some(told) => (job(at, told)),
            }
            p { a href={ (at.path) (again(at, &[])) "#chart" } { "Close" } }
        }
    }
}

/// What is said of a job.
fn job(at: &At, told: &JobTold) -> Markup {
    let line = &told.line;
    let near = |key: &str| format!("{}{}#job", at.path, again(at, &[("job", key)]));
    html! {
        h3 #job-head { (line.name) " " span.count { (line.key) } }
        p.figure { strong { "Why then: " } (sentence_of(&told.why)) }
        dl.facts {
            div { dt { "when" } dd { (moment(line.start)) " to " (moment(line.finish)) } }
            @if let Some(was) = line.was {
                div { dt { "by the adopted plan" } dd { "from " (moment(was)) } }
            }
            div { dt { "work" } dd { (line.kind)
                @if !line.pack.is_empty() { ", " (line.pack) }
                @if line.driving { ", sets the date" }
                @if line.done { ", done" } } }
            @if !line.who.is_empty() { div { dt { "who" } dd { (line.who) } } }
            @for (name, value) in &told.facts { div { dt { (name) } dd { (value) } } }
            @if !line.slack.is_empty() { div { dt { "could slip alone by" } dd { (line.slack) } } }
            @for (name, jobs, word) in
                [("after", &told.after, "ends"), ("before", &told.before, "begins")] {
                @if !jobs.is_empty() {
                    div { dt { (name) } dd {
                        @for (at, (key, what, when)) in jobs.iter().enumerate() {
                            @if at > 0 { "; " }
                            a href=(near(key)) data-job=(key) { (what) } " (" (word) " " (when.date()) ")"
                        }
                    } }
                }
            }
            div { dt { "card" } dd { (link("card", &line.key)) } }
        }
    }
}

fn sentence_of(why: &str) -> String {
    if why.is_empty() {
        "nothing holds it: it is there already.".to_owned()
    } else {
        format!("{why}.")
    }
}

pub(super) fn moment(at: DateTime) -> String {
    at.strftime("%a %-d %b %Y %H:%M").to_string()
}

/// The jobs as a list, which says what the chart says.
fn listed(at: &At, timeline: &Timeline) -> Markup {
    let At { path, ask, .. } = at;
    let (page, pages) = timeline.page;
    // Whoever looks for something finds it open.
    let open = !ask.find.is_empty() || page > 0;
    let leaf =
        |page: usize| format!("{path}{}#list", again(at, &[("page", &page.to_string())]));
    html! {
        details #list open[open] {
            summary { "The jobs as a list " span.count { (timeline.found)
                @if timeline.found != timeline.all { " of " (timeline.all) } } }
            @if timeline.rows.is_empty() { p.none { "None on these days with these words." } }
            @else { div.wide { table.jobs-list {
                caption.unseen { "Jobs by when they begin" }
                thead { tr {
                    th scope="col" { "job" } th scope="col" { "begins" } th scope="col" { "ends" }
                    th scope="col" { "who" } th scope="col" { "pack" } th scope="col" { "slack" }
                } }
                tbody {
                    @for row in &timeline.rows {
                        tr {
                            td data-column="job" { span {
                                a href={ (path) (again(at, &[("job", &row.key)])) "#job" } data-job=(row.key) { (row.name) }
                                " " span.count { (row.key) }
                                @if row.driving { " " strong.flag { "◆ sets the date" } }
                                @if row.done { " " span.flag { "✓ done" } }
                            } }
                            td data-column="begins" { span { (moment(row.start))
                                @if let Some(was) = row.was { " " span.why { "adopted: " (was.date()) } } } }
                            td data-column="ends" { span { (moment(row.finish)) } }
                            td data-column="who" .blank[row.who.is_empty()] { span { (row.who) } }
                            td data-column="pack" { span { (row.pack) } }
                            td data-column="slack" { span { (row.slack) } }
                        }
                    }
                }
            } } }
            @if pages > 1 {
                p.ways {
                    @if page > 0 { a href=(leaf(page)) { "The hundred before" } " " }
                    "Hundred " (page + 1) " of " (pages) " "
                    @if page + 1 < pages { a href=(leaf(page + 2)) { "The next hundred" } }
                }
            }
        }
    }
}

/// `GET /season/{number}/chart.json`: the plan as data. A plan never changes, and its address
/// has in it what it is shown beside.
pub(crate) async fn data(
    State(site): State<Site>,
    _viewer: Viewer,
    Path(number): Path<u64>,
) -> Response {
    let Some(proposal) = site.studio.proposal(number) else { return fault::not_found() };
    let (now, today) = (site.snapshot().programme, site.today());
    let made = site.aside(move || {
        Ok(app::timeline_data((&proposal.programme, &proposal.planned), &now, today))
    });
    match made.await {
        Ok(Some(data)) => {
            let headers = [
                (CONTENT_TYPE, "application/json"),
                (CACHE_CONTROL, "private, max-age=3600, immutable"),
            ];
            (headers, data).into_response()
        }
        Ok(None) => fault::not_found(),
        Err(error) => fault::of_app(&error),
    }
}

/// `GET /season/{number}/job?job=KEY`: what is said of a job, for a page that has the chart.
pub(crate) async fn told(
    State(site): State<Site>,
    viewer: Viewer,
    Path(number): Path<u64>,
    Query(typed): Query<Fields>,
) -> Response {
    let Some(proposal) = site.studio.proposal(number) else { return fault::not_found() };
    let (now, key) = (site.snapshot().programme, field(&typed, "job").to_owned());
    let told = site.aside(move || {
        Ok(app::job_told((&proposal.programme, &proposal.planned), &now, &key))
    });
    match told.await {
        Ok(Some(told)) => {
            let path = format!("/season/{number}");
            let at = At { path, season: None, ask: TimelineAsk::default() };
            let told = job(&at, &told);
            shown(told, &viewer.prefers).into_response()
        }
        Ok(None) => fault::not_found(),
        Err(error) => fault::of_app(&error),
    }
}
