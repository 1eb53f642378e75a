//! Every sheet as a page, as CSV and as JSON.

use app::{About, List, Sheet};
use axum::extract::{Path, Query, State};
use axum::http::StatusCode;
use axum::http::header::{CONTENT_DISPOSITION, CONTENT_TYPE};
use axum::response::{IntoResponse, Response};
use jiff::civil::Date;
use maud::{Markup, html};

use crate::layout::{page, page_with};
use crate::links::{Index, encoded};
use crate::pages::{act, aircraft, attachment, bench, beside, parts};
use crate::site::Site;
use crate::table::{csv, sentence};
use crate::view::View;
use crate::viewer::Viewer;
use crate::{fault, table};

/// A sheet by the word in its path, what it says, and how it is asked for.
pub(crate) struct Kind {
    pub(crate) word: &'static str,
    pub(crate) says: &'static str,
    pub(crate) all: Option<About>,
    pub(crate) one: Option<fn(String) -> About>,
}

const fn list(word: &'static str, says: &'static str, all: About) -> Kind {
    Kind { word, says, all: Some(all), one: None }
}

const fn both(
    word: &'static str,
    says: &'static str,
    all: About,
    one: fn(String) -> About,
) -> Kind {
    Kind { word, says, all: Some(all), one: Some(one) }
}

/// All sheets, in the order in which they are listed.
static KINDS: [Kind; 26] = [
    list("status", "How the aircraft stands, on one page", About::Status),
    both("gates", "Gates, and what stands before one", About::Gates(None), |name| {
        About::Gates(Some(name))
    }),
    list("conditions", "What every gate asks for, with its evidence", About::Conditions),
    both(
        "plan",
        "The plan that was adopted, and what happened",
        About::Plan(None),
        |name| About::Plan(Some(name)),
    ),
    both("cards", "Job cards", About::Cards(None), |name| About::Cards(Some(name))),
    both("findings", "Findings", About::Findings(None), |name| {
        About::Findings(Some(name))
    }),
    list("deferred", "What is carried forward", About::Deferred),
    list("repairs", "The register of repairs", About::Repairs),
    both("ndt", "Examinations", About::Examinations(None), |name| {
        About::Examinations(Some(name))
    }),
    both("parts", "Parts that are off, and where each is", About::Parts(None), |name| {
        About::Parts(Some(name))
    }),
    list("lives", "Limited lives", About::Lives),
    list("made", "Materials in place of others, parts made in-house", About::Made),
    both("tools", "Tools and instruments", About::Tools(None), |name| {
        About::Tools(Some(name))
    }),
    both("air", "The air, as it was read", About::Air(None), |name| {
        About::Air(Some(name))
    }),
    list("stores", "Materials, and what is due in store", About::Stores),
    both("people", "People and their authorities", About::People(None), |name| {
        About::People(Some(name))
    }),
    list("letters", "Letters", About::Letters),
    list("directives", "Directives and modifications", About::Directives),
    list("origins", "Where items come from", About::Origins),
    list("service", "What was flown and run, and what is due", About::Service),
    list("mass", "Mass and balance", About::Mass),
    list("ratios", "Hours booked against hours estimated", About::Ratios),
    list("money", "Money and hours", About::Money),
    list("retention", "How long records are kept", About::Retention),
    list("audit", "The record held against itself", About::Audit),
    list("rules", "The rules, and what each rests on", About::Rules),
];

/// A sheet that only one thing has.
static OCCURRENCE: Kind = Kind {
    word: "occurrence",
    says: "The draft of a report of an occurrence",
    all: None,
    one: Some(About::Occurrence),
};

/// All sheets that there are.
pub(crate) fn kinds() -> impl Iterator<Item = &'static Kind> {
    KINDS.iter().chain([&OCCURRENCE])
}

pub(crate) fn kind(word: &str) -> Option<&'static Kind> {
    kinds().find(|kind| kind.word == word)
}

/// What is entered from the page of a list, where nothing of it has a page to begin from.
const ENTERED: [(&str, &[&str]); 3] = [
    ("Money", &["spend"]),
    ("Letters", &["letter"]),
    ("Directives", &["directive", "modification"]),
];

/// Pages that are more than a list.
const BESIDE: [(&str, &str, &str); 6] = [
    (
        "/gates",
        "Gates and their evidence",
        "What each asks for, and its bundle to take away",
    ),
    ("/record", "The record", "Every entry, newest first, and what puts it right"),
    ("/record/verify", "Verify the record", "Whether every digest and every seal holds"),
    ("/people", "People and authority", "Who may do what until when, and what runs out"),
    ("/rules", "Rules", "What binds, what was adopted, what is off"),
    (
        "/me",
        "Your own page",
        "How you see things, sessions, second step, tokens, calendar links",
    ),
];

/// `GET /lists`.
pub(crate) async fn lists(State(site): State<Site>, viewer: Viewer) -> Response {
    let content = html! {
        h1 { "All lists" }
        p { a href="/import" { "Set up from spreadsheets" } ": give a list as CSV or as a workbook, \
            take one away, or a template." }
        dl.found {
            @for kind in &KINDS {
                div {
                    dt { a href={ "/show/" (kind.word) } { (sentence(kind.word)) } }
                    dd { (kind.says) }
                }
            }
        }
        h2 { "Beside the lists" }
        dl.found {
            @for (path, word, says) in BESIDE {
                div { dt { a href=(path) { (word) } } dd { (says) } }
            }
        }
        h2 { "Signed in" }
        form method="post" action="/sign-out-everywhere" {
            input type="hidden" name="_csrf" value=(viewer.csrf);
            p { "If a device was lost, or left signed in:" }
            button { "Sign out everywhere" }
        }
    };
    page(&site, &viewer, ("/lists", "All lists"), &content).into_response()
}

/// `GET /show/{sheet}`.
pub(crate) async fn all(
    State(site): State<Site>,
    viewer: Viewer,
    Path(word): Path<String>,
    Query(query): Query<Vec<(String, String)>>,
) -> Response {
    let about = kind(&word).and_then(|kind| kind.all.clone());
    let Some(about) = about else { return fault::not_found() };
    show(&site, &viewer, &format!("/show/{word}"), about, None, &query).await
}

/// `GET /show/{sheet}/{name}`.
pub(crate) async fn one(
    State(site): State<Site>,
    viewer: Viewer,
    Path((word, name)): Path<(String, String)>,
    Query(query): Query<Vec<(String, String)>>,
) -> Response {
    let about = kind(&word).and_then(|kind| kind.one);
    let Some(about) = about else { return fault::not_found() };
    let path = format!("/show/{word}/{}", encoded(&name));
    let thing = Some((word.as_str(), name.as_str()));
    show(&site, &viewer, &path, about(name.clone()), thing, &query).await
}

async fn show(
    site: &Site,
    viewer: &Viewer,
    path: &str,
    about: About,
    thing: Option<(&str, &str)>,
    query: &[(String, String)],
) -> Response {
    let view = View::of(query);
    let on = if view.on.is_empty() { Ok(site.today()) } else { view.on.parse::<Date>() };
    let Ok(on) = on else {
        let what = format!("`{}` is no day", view.on);
        let hint = "Write it as 2032-01-14, or leave it out for today.";
        return fault::page(StatusCode::BAD_REQUEST, &what, hint);
    };
    let programme = site.snapshot().programme;
    let made = site.aside(move || app::sheet(&programme, &about, on)).await;
    match made {
        Ok(sheet) => {
            answer(site, viewer, &Shown { path, about: thing, view }, sheet, query)
        }
        Err(error) => fault::of_app(&error),
    }
}

/// Whether the lists of a page are asked for otherwise than as a page.
pub(crate) fn exports(query: &[(String, String)]) -> bool {
    query.iter().any(|(name, _)| name == "as")
}

/// What is shown, and how.
pub(crate) struct Shown<'a> {
    /// Its own path.
    pub(crate) path: &'a str,
    /// The word of the sheet and the name of the thing, if it is about one.
    pub(crate) about: Option<(&'a str, &'a str)>,
    /// How it is looked at.
    pub(crate) view: View,
}

/// A sheet as it was asked for: a page, CSV or JSON.
pub(crate) fn answer(
    site: &Site,
    viewer: &Viewer,
    shown: &Shown<'_>,
    mut sheet: Sheet,
    query: &[(String, String)],
) -> Response {
    shown.view.apply(&mut sheet);
    let value = |name: &str| {
        let found = query.iter().find(|(found, _)| found == name);
        found.map_or("", |(_, value)| value.as_str())
    };
    match value("as") {
        "csv" => {
            let list = value("list").parse().unwrap_or(0);
            match sheet.lists.get(list) {
                Some(list) => as_csv(list),
                None => fault::not_found(),
            }
        }
        "xlsx" => match sheet.workbook() {
            Ok(bytes) => as_workbook(&sheet.title, bytes),
            Err(error) => fault::of_app(&error),
        },
        "json" => {
            let mut json = sheet.json();
            json["entry"] = site.snapshot().number.into();
            ([(CONTENT_TYPE, "application/json")], json.to_string()).into_response()
        }
        _ => {
            let content = content(site, viewer, shown, &sheet);
            let drawn = matches!(shown.about, Some(("findings" | "parts", _)));
            let stems: &[&str] = if drawn { &aircraft::STEMS } else { &[] };
            page_with(site, viewer, (shown.path, &sheet.title), stems, &content)
                .into_response()
        }
    }
}

fn as_workbook(title: &str, bytes: Vec<u8>) -> Response {
    // As IANA has it registered for ECMA-376.
    const MEDIA: &str =
        "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet";
    let headers = [
        (CONTENT_TYPE, MEDIA.to_owned()),
        (CONTENT_DISPOSITION, format!("attachment; filename=\"{}.xlsx\"", plain(title))),
    ];
    (headers, bytes).into_response()
}

/// A name of a file on any system.
fn plain(title: &str) -> String {
    let plain = |c: char| if c.is_ascii_alphanumeric() { c } else { '-' };
    title.chars().map(plain).take(80).collect()
}

pub(crate) fn as_csv(list: &List) -> Response {
    let name = plain(&list.title);
    let headers = [
        (CONTENT_TYPE, "text/csv; charset=utf-8".to_owned()),
        (CONTENT_DISPOSITION, format!("attachment; filename=\"{name}.csv\"")),
    ];
    (headers, csv(list)).into_response()
}

/// What a sheet's page holds.
pub(crate) fn content(
    site: &Site,
    viewer: &Viewer,
    shown: &Shown<'_>,
    sheet: &Sheet,
) -> Markup {
    let index = site.index(&site.snapshot());
    let extra = |list: &List, row: &[String]| to_sign(viewer, shown.about, list, row);
    html! {
        h1 { (sheet.title) }
        @if let Some((word, name)) = shown.about {
            p.ways {
                @if word == "parts" { (parts::ways(site, name)) }
                @if word == "cards" { a href=(bench::path(name)) { "Work by this card" } " · " }
                a href={ "/history/" (encoded(name)) } { "History of " (name) }
            }
            (act::of_thing(viewer, word, name, &sheet.facts))
        }
        (entered(viewer, shown, sheet))
        (facts(&index, sheet))
        (on_the_aircraft(site, viewer, shown.about))
        (photographs(site, shown.about))
        @if sheet.lists.iter().any(|list| list.rows.len() > 3) || !shown.view.words.is_empty()
            || !shown.view.on.is_empty() {
            (narrow(shown))
        }
        @for (at, list) in sheet.lists.iter().enumerate() {
            (table::table(list, at, &shown.view, &index, &extra))
        }
        @for caution in &sheet.cautions { p.caution { (caution) } }
        p.take {
            a href=(shown.view.query(&[("as", "xlsx")])) { "All of it as a workbook" } ", "
            a href=(shown.view.query(&[("as", "json")])) { "as JSON" }
        }
    }
}

/// What there is to enter into a list.
fn entered(viewer: &Viewer, shown: &Shown<'_>, sheet: &Sheet) -> Markup {
    let found = ENTERED.into_iter().find(|(title, _)| sheet.title.starts_with(title));
    let found = found.filter(|_| shown.about.is_none());
    let words = found.map_or(&[][..], |(_, words)| words);
    let words: Vec<&str> =
        words.iter().copied().filter(|word| viewer.may(word)).collect();
    html! {
        @if !words.is_empty() {
            nav.acts aria-label="To enter" {
                @for word in words { a.act href=(act::path(word, [])) { (act::words(word)) } }
            }
        }
    }
}

/// What the thing has to do with the drawing, the ways to it, and the gates.
fn on_the_aircraft(site: &Site, viewer: &Viewer, about: Option<(&str, &str)>) -> Markup {
    match about {
        Some(("findings", name)) => html! {
            (beside::deciding(site, viewer, name))
            (beside::where_marked(site, name))
        },
        Some(("parts", name)) => beside::of_item(site, viewer, name),
        _ => html! {},
    }
}

/// What was photographed of the thing.
fn photographs(site: &Site, about: Option<(&str, &str)>) -> Markup {
    let noun = match about {
        Some(("findings", _)) => "finding",
        Some(("parts", _)) => "item",
        Some(("cards", _)) => "card",
        _ => return html! {},
    };
    let name = about.map_or("", |(_, name)| name);
    let pictures = app::pictures(&site.snapshot().programme, noun, name);
    html! {
        @if !pictures.is_empty() {
            section data-part="photographs" {
                h2 { "Photographs " span.count { (pictures.len()) } }
                (attachment::thumbnails(&pictures))
            }
        }
    }
}

fn facts(index: &Index, sheet: &Sheet) -> Markup {
    html! {
        @if !sheet.facts.is_empty() {
            dl.facts data-part="facts" {
                @for (what, how) in &sheet.facts {
                    div { dt { (what) } dd { (index.linked(what, how)) } }
                }
            }
        }
    }
}

/// The form that narrows the lists; what it makes is an address.
fn narrow(shown: &Shown<'_>) -> Markup {
    let View { words, on, .. } = &shown.view;
    let sort = shown.view.sort();
    html! {
        form.narrow role="search" aria-label="Narrow the lists" {
            @if let Some(sort) = &sort { input type="hidden" name="sort" value=(sort); }
            div {
                label for="has" { "Rows that hold" }
                input #has name="has" type="search" value=(words);
            }
            @if !shown.path.starts_with("/history/") {
                div {
                    label for="on" { "As of" }
                    input #on name="on" type="date" value=(on);
                }
            }
            button { "Show" }
            @if !words.is_empty() || !on.is_empty() { a href=(shown.path) { "Show all, today" } }
        }
    }
}

/// What a row waits for, as far as it says so.
pub(crate) fn to_sign(
    viewer: &Viewer,
    about: Option<(&str, &str)>,
    list: &List,
    row: &[String],
) -> Option<Markup> {
    let cell = |name: &str| {
        let at = list.columns.iter().position(|column| *column == name)?;
        row.get(at).map(String::as_str)
    };
    let (word, fields) = if let Some(("cards", card)) = about {
        let word = match cell("lacks")? {
            "its signature" => "sign-step",
            "its supervisor's signature" => "countersign",
            "its inspection" | "its second inspection" => "inspect",
            _ => return None,
        };
        (word, vec![("job", card), ("step", cell("step")?)])
    } else if list.title.starts_with("conditions") {
        cell("state").filter(|state| *state != "met")?;
        ("evidence", vec![("requirement", cell("condition")?)])
    } else {
        return None;
    };
    let label = fields.last().map_or("", |(_, value)| value);
    viewer.may(word).then(|| {
        html! {
            a.act href=(act::path(word, fields.iter().copied())) {
                (act::words(word)) span.unseen { " " (label) }
            }
        }
    })
}
