//! The record itself: entry by entry, and whether it is sound.

use std::sync::{Mutex, MutexGuard, PoisonError};
use std::time::Instant;

use app::{EntriesWanted, EntryShown, EntryWhole, Sheet, Witnesses};
use axum::extract::{Form, Path, Query, State};
use axum::http::header::REFRESH;
use axum::http::{HeaderValue, StatusCode};
use axum::response::{IntoResponse, Redirect, Response};
use maud::{Markup, html};
use serde_json::Value;

use crate::fault;
use crate::layout::{page, page_with};
use crate::links::{Index, query};
use crate::pages::act;
use crate::pages::show::{self, Shown};
use crate::sign_in::{Fields, field};
use crate::site::Site;
use crate::table;
use crate::view::View;
use crate::viewer::Viewer;

/// So many entries stand on a page.
const SHOWN: usize = 50;
const STYLES: [&str; 1] = ["trust"];

/// How a verification goes: one at a time, for everybody.
#[derive(Debug, Default)]
pub(crate) struct Proofs(Mutex<Proving>);

#[derive(Debug, Default)]
enum Proving {
    #[default]
    Never,
    Runs {
        since: Instant,
        by: String,
    },
    Done {
        at: String,
        by: String,
        sheet: Result<Sheet, String>,
    },
}

impl Proofs {
    fn now(&self) -> MutexGuard<'_, Proving> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// `GET /record`.
pub(crate) async fn get(
    State(site): State<Site>,
    viewer: Viewer,
    Query(typed): Query<Fields>,
) -> Response {
    let text = |name: &str| field(&typed, name).trim().to_owned();
    let wanted = EntriesWanted {
        by: text("by"),
        word: text("act"),
        thing: text("thing"),
        from: text("from"),
        until: text("until"),
        before: field(&typed, "before").parse().ok(),
        most: SHOWN,
    };
    if let Some(wrong) = wanted.wrong() {
        return fault::page(
            StatusCode::BAD_REQUEST,
            &wrong,
            "Leave it out for all days.",
        );
    }
    let (desk, snapshot, asked) =
        (site.config.desk.clone(), site.snapshot(), wanted.clone());
    let programme = snapshot.programme.clone();
    let read = move || app::entries(&programme, desk.place(), &asked);
    let found = match site.aside(read).await {
        Ok(found) => found,
        Err(error) => return fault::of_app(&error),
    };
    let index = site.index(&snapshot);
    let content = html! {
        h1 { "The record" }
        p { "All entries, newest first: " (found.last) ". Nothing is edited or deleted; a correction \
             is a new entry. " a href="/record/verify" { "Verify it" } }
        (narrow(&index.things, &wanted))
        @if found.entries.is_empty() { p.none { "No entry is so." } } @else {
            div.wide tabindex="0" role="region" aria-label="Entries" {
                table {
                    thead { tr {
                        @for column in ["entry", "when", "who", "what", "says"] { th scope="col" { (column) } }
                    } }
                    tbody { @for entry in &found.entries { (row(&index, entry)) } }
                }
            }
        }
        @if let Some(next) = found.next {
            p { a href=(older(&wanted, next)) { "Older entries" } }
        }
    };
    page_with(&site, &viewer, ("/record", "The record"), &STYLES, &content)
        .into_response()
}

fn older(wanted: &EntriesWanted, before: u64) -> String {
    let EntriesWanted { by, word, thing, from, until, before: _, most: _ } = wanted;
    let before = before.to_string();
    let pairs = [
        ("by", by.as_str()),
        ("act", word),
        ("thing", thing),
        ("from", from),
        ("until", until),
        ("before", &before),
    ];
    format!("/record{}", query(pairs.into_iter().filter(|(_, value)| !value.is_empty())))
}

fn narrow(things: &[app::Thing], wanted: &EntriesWanted) -> Markup {
    let people = things.iter().filter(|thing| thing.noun == "person");
    html! {
        form.narrow role="search" aria-label="Narrow the entries" {
            div {
                label for="by" { "Who" }
                select #by name="by" {
                    option value="" { "anybody" }
                    @for person in people {
                        option value=(person.name) selected[person.name == wanted.by] { (person.what) " (" (person.name) ")" }
                    }
                }
            }
            div {
                label for="act" { "Act" }
                select #act name="act" {
                    option value="" { "any" }
                    @for form in act::forms() {
                        option value=(form.word) selected[form.word == wanted.word] { (act::words(form.word)) }
                    }
                }
            }
            div {
                label for="thing" { "Names this" }
                input #thing name="thing" value=(wanted.thing);
            }
            div {
                label for="from" { "From" }
                input #from name="from" type="date" value=(wanted.from);
            }
            div {
                label for="until" { "Until" }
                input #until name="until" type="date" value=(wanted.until);
            }
            button { "Show" }
            a href="/record" { "Show all" }
        }
    }
}

fn row(index: &Index, entry: &EntryShown) -> Markup {
    html! {
        tr {
            td data-column="entry" { span { a href={ "/record/" (entry.number) } { (entry.number) } } }
            td data-column="when" { span { (super::me::when(&entry.at)) } }
            td data-column="who" { span { (index.linked("who", &entry.by)) } }
            td data-column="what" { span {
                @if entry.is_act { (act::words(&entry.word)) } @else { (entry.word) " (programme)" }
                @if let Some(struck) = &entry.struck { " " strong { "struck " (struck) } }
            } }
            td data-column="says" { span { (index.linked("", &brief(&entry.body))) } }
        }
    }
}

/// The beginning of what a body says, name by name.
fn brief(body: &Value) -> String {
    const LONGEST: usize = 140;
    let members = body.as_object().into_iter().flatten();
    // Nobody reads a key, a salt or a digest in a list.
    let opaque = |text: &str| {
        text.len() >= 32 && text.bytes().all(|digit| digit.is_ascii_hexdigit())
    };
    let plain = members.filter_map(|(name, value)| match value {
        Value::String(text) if opaque(text) => None,
        Value::String(text) if !text.is_empty() => Some(format!("{name} {text}")),
        Value::Number(number) => Some(format!("{name} {number}")),
        _ => None,
    });
    let text = plain.collect::<Vec<_>>().join("; ");
    match text.char_indices().nth(LONGEST) {
        Some((at, _)) => format!("{}…", &text[..at]),
        None => text,
    }
}

/// `GET /record/{number}`.
pub(crate) async fn one(
    State(site): State<Site>,
    viewer: Viewer,
    Path(number): Path<String>,
) -> Response {
    let Ok(number) = number.parse::<u64>() else { return fault::not_found() };
    let (desk, snapshot) = (site.config.desk.clone(), site.snapshot());
    let programme = snapshot.programme.clone();
    let read = move || app::entry(&programme, desk.place(), number);
    let whole = match site.aside(read).await {
        Ok(whole) => whole,
        Err(error) => return fault::of_app(&error),
    };
    let index = site.index(&snapshot);
    let title = format!("Entry {number}");
    let content = html! {
        h1 { (title) ": " @if whole.entry.is_act { (act::words(&whole.entry.word)) } @else { (whole.entry.word) } }
        p.ways {
            a href="/record" { "The record" }
            @if number > 1 { ", " a href={ "/record/" (number - 1) } { "the one before" } }
            @if number < whole.last { ", " a href={ "/record/" (number + 1) } { "the one after" } }
        }
        (about(&index, &whole))
        h2 { "As it was written" }
        (said(&index, &whole.entry.body))
        @if !whole.cautions.is_empty() {
            h2 { "What whoever signed was told" }
            @for caution in &whole.cautions { p.caution { (caution) } }
        }
        (put_right(&viewer, &whole))
    };
    page_with(&site, &viewer, ("/record", &title), &STYLES, &content).into_response()
}

fn about(index: &Index, whole: &EntryWhole) -> Markup {
    let entry = &whole.entry;
    let (seal, wrong) = (&whole.seal.0, whole.seal.1);
    html! {
        dl.facts data-part="entry" {
            div { dt { "when" } dd { (super::me::when(&entry.at)) " (" (entry.at) ")" } }
            div { dt { "who" } dd { (index.linked("who", &entry.by)) } }
            div { dt { "seal" } dd .wrong[wrong] { (seal) } }
            @if let Some(struck) = &entry.struck { div { dt { "struck through" } dd { (struck) } } }
            div { dt { "form" } dd { (entry.word) ", version " (whole.version) } }
            @if whole.batch != entry.number { div { dt { "entered together with" } dd { a href={ "/record/" (whole.batch) } { (whole.batch) } } } }
            div { dt { "digest" } dd { code { (whole.digests.0) } } }
            div { dt { "digest before it" } dd { code { (whole.digests.1) } } }
        }
    }
}

/// A body, member by member.
fn said(index: &Index, body: &Value) -> Markup {
    let plain =
        |value: &Value| value.as_str().map_or_else(|| value.to_string(), str::to_owned);
    match body {
        Value::Object(members) => html! {
            dl.facts {
                @for (name, value) in members {
                    div { dt { (name) } dd {
                        @match value {
                            Value::Object(_) => (said(index, value)),
                            Value::Array(items) if items.iter().any(Value::is_object) => {
                                @for item in items { (said(index, item)) }
                            },
                            Value::Array(items) => (index.linked(name, &items.iter().map(plain).collect::<Vec<_>>().join("; "))),
                            _ => (index.linked(name, &plain(value))),
                        }
                    } }
                }
            }
        },
        other => html! { p { (plain(other)) } },
    }
}

/// The acts that put an entry right.
fn put_right(viewer: &Viewer, whole: &EntryWhole) -> Markup {
    let may = |one: &&app::Correction| viewer.may(one.word);
    let acts: Vec<_> = whole.corrections.iter().filter(may).collect();
    html! {
        @if !acts.is_empty() {
            h2 { "To put it right" }
            p { "The entry stays as it is. What puts it right is an entry of its own, signed like any other; \
                 the record judges whether it may be." }
            ul.lines.acts {
                @for one in acts {
                    li {
                        span { (one.what) }
                        a.act href=(act::path(one.word, one.fields.iter().map(|(name, value)| (name.as_str(), value.as_str())))) {
                            (act::words(one.word))
                        }
                    }
                }
            }
        }
    }
}

/// `GET /record/verify`.
pub(crate) async fn verify(
    State(site): State<Site>,
    viewer: Viewer,
    Query(query): Query<Vec<(String, String)>>,
) -> Response {
    let snapshot = site.snapshot();
    let index = site.index(&snapshot);
    let shown = Shown { path: "/record/verify", about: None, view: View::of(&query) };
    let (told, runs) = match &*site.proofs.now() {
        Proving::Never => {
            (html! { p { "It was not verified since the pages are served." } }, false)
        }
        Proving::Runs { since, by } => {
            let seconds = since.elapsed().as_secs();
            let told = html! {
                p role="status" {
                    (by) " began it " (seconds) @if seconds == 1 { " second" } @else { " seconds" } " ago; " (snapshot.number) " entries are walked. \
                     This page looks again by itself."
                }
            };
            (told, true)
        }
        Proving::Done { at, by, sheet: Err(error) } => (
            html! { p.wrong role="alert" { "Begun by " (by) " at " (super::me::when(at)) ", and it could not be done: " (error) } },
            false,
        ),
        Proving::Done { sheet: Ok(sheet), .. } if show::exports(&query) => {
            return show::answer(&site, &viewer, &shown, sheet.clone(), &query);
        }
        Proving::Done { at, by, sheet: Ok(sheet) } => {
            (result(&index, (at, by), sheet, &shown.view), false)
        }
    };
    let content = html! {
        h1 { "Verify the record" }
        p { "Every digest is computed again from the first entry on, every seal is held against the key that \
             its signer had, and what all entries come to against what pages show. Nothing waits for it." }
        @if !runs {
            form method="post" action="/record/verify" {
                input type="hidden" name="_csrf" value=(viewer.csrf);
                button { "Verify it now" }
            }
        }
        (told)
        p.hint { "Whoever serves these pages could serve a false answer too. What convinces somebody else is \
                  a copy that they verify themselves, with " code { "turnbuckle verify" } ", against checkpoints \
                  that they kept." }
    };
    let mut response =
        page(&site, &viewer, ("/record", "Verify the record"), &content).into_response();
    if runs {
        response.headers_mut().insert(REFRESH, HeaderValue::from_static("2"));
    }
    response
}

fn result(index: &Index, (at, by): (&str, &str), sheet: &Sheet, view: &View) -> Markup {
    let mut sheet = sheet.clone();
    view.apply(&mut sheet);
    html! {
        h2 #result { (sheet.title) }
        p { "Begun by " (by) ", done at " (super::me::when(at)) "." }
        dl.facts { @for (what, how) in &sheet.facts { div { dt { (what) } dd { (index.linked(what, how)) } } } }
        @for (number, list) in sheet.lists.iter().enumerate() {
            (table::table(list, number, view, index, &|_, _| None))
        }
        @for caution in &sheet.cautions { p.caution { (caution) } }
    }
}

/// `POST /record/verify`.
pub(crate) async fn begin(
    State(site): State<Site>,
    viewer: Viewer,
    Form(typed): Form<Fields>,
) -> Response {
    if !viewer.sent(field(&typed, "_csrf")) {
        return fault::foreign();
    }
    let mut now = site.proofs.now();
    if !matches!(*now, Proving::Runs { .. }) {
        *now = Proving::Runs { since: Instant::now(), by: viewer.name.clone() };
        let (aside, by) = (site.clone(), viewer.name.clone());
        tokio::spawn(async move {
            let desk = aside.config.desk.clone();
            // If a defect comes up in it, that is what is told, and it can be begun again.
            let proof = aside.aside(move || {
                let proof = app::verify(desk.place(), &Witnesses::default())?;
                Ok(app::proof_sheet(&desk.snapshot().programme, &proof))
            });
            let sheet = proof.await.map_err(|error| error.to_string());
            *aside.proofs.now() = Proving::Done { at: aside.stamp(), by, sheet };
        });
    }
    drop(now);
    Redirect::to("/record/verify").into_response()
}
