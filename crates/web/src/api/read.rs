//! What can be read.

use app::{About, AppError, Sheet};
use axum::extract::rejection::PathRejection;
use axum::extract::{Path, Query, State};
use axum::http::header::CONTENT_TYPE;
use axum::response::{IntoResponse, Response};
use jiff::civil::Date;
use serde_json::{Value, json};

use super::Problem;
use super::auth::Caller;
use crate::pages::show;
use crate::site::Site;

type Pairs = Vec<(String, String)>;
type Answer = Result<Response, Problem>;

/// The most entries in one answer, and how many there are where nobody says.
pub(super) const ENTRIES: (u64, u64) = (500, 100);
/// The same of things.
pub(super) const THINGS: (u64, u64) = (5_000, 1_000);

pub(super) fn answer(value: &Value) -> Response {
    ([(CONTENT_TYPE, "application/json")], value.to_string()).into_response()
}

/// A parameter of the query, once.
fn value<'a>(
    query: &'a Pairs,
    known: &[&str],
    name: &str,
) -> Result<Option<&'a str>, Problem> {
    if let Some((other, _)) =
        query.iter().find(|(found, _)| !known.contains(&found.as_str()))
    {
        let known = if known.is_empty() { "none".to_owned() } else { known.join(", ") };
        return Err(Problem::bad(format!(
            "there is no parameter `{other}`; there are {known}"
        )));
    }
    let mut found = query.iter().filter(|(found, _)| found == name);
    let first = found.next().map(|(_, value)| value.as_str());
    if found.next().is_some() {
        return Err(Problem::bad(format!("the parameter `{name}` stands twice")));
    }
    Ok(first)
}

fn day(site: &Site, query: &Pairs) -> Result<Date, Problem> {
    let Some(on) = value(query, &["on"], "on")? else { return Ok(site.today()) };
    let plain = on.len() == 10;
    let day = plain.then(|| on.parse::<Date>().ok()).flatten();
    day.ok_or_else(|| Problem::bad(format!("`{on}` is no day; write it as 2032-01-14")))
}

/// `GET /api/me`: whose token it is, and what it lets them do.
pub(super) async fn me(
    State(site): State<Site>,
    caller: Caller,
    Query(query): Query<Pairs>,
) -> Answer {
    value(&query, &[], "")?;
    let snapshot = site.snapshot();
    let programme = &snapshot.programme;
    let name = app::person(programme, &caller.person).map(|(_, name)| name);
    Ok(answer(&json!({
        "person": caller.person,
        "name": name,
        "scope": caller.scope.word(),
        "expires": caller.expires.map(|day| day.to_string()),
        "observes": app::observes(programme, &caller.person),
        "powers": app::powers(programme, &caller.person, site.today()),
        "entry": snapshot.number,
    })))
}

/// `GET /api/overview`.
pub(super) async fn overview(
    State(site): State<Site>,
    caller: Caller,
    Query(query): Query<Pairs>,
) -> Answer {
    let on = day(&site, &query)?;
    let (snapshot, person) = (site.snapshot(), caller.person.clone());
    let number = snapshot.number;
    let made = site.aside(move || {
        let programme = &snapshot.programme;
        let overview = app::overview(programme, on);
        Ok(app::overview_json(&overview, &app::mine(programme, &person, on)))
    });
    let mut value = made.await.map_err(|error| Problem::of_app(&error))?;
    value["entry"] = number.into();
    value["on"] = on.to_string().into();
    Ok(answer(&value))
}

/// `GET /api/sheets`.
pub(super) async fn sheets(_caller: Caller, Query(query): Query<Pairs>) -> Answer {
    value(&query, &[], "")?;
    let each = show::kinds().map(|kind| {
        json!({
            "sheet": kind.word,
            "says": kind.says,
            "whole": kind.all.is_some(),
            "of_one_thing": kind.one.is_some(),
        })
    });
    Ok(answer(&json!({ "sheets": each.collect::<Vec<_>>() })))
}

/// `GET /api/sheets/{sheet}`.
pub(super) async fn sheet(
    State(site): State<Site>,
    _caller: Caller,
    path: Result<Path<String>, PathRejection>,
    Query(query): Query<Pairs>,
) -> Answer {
    let Path(word) = path.map_err(|_| Problem::not_found())?;
    let about = show::kind(&word).and_then(|kind| kind.all.clone());
    of(&site, about.ok_or_else(Problem::not_found)?, &query).await
}

/// `GET /api/sheets/{sheet}/{name}`.
pub(super) async fn sheet_of(
    State(site): State<Site>,
    _caller: Caller,
    path: Result<Path<(String, String)>, PathRejection>,
    Query(query): Query<Pairs>,
) -> Answer {
    let Path((word, name)) = path.map_err(|_| Problem::not_found())?;
    let about = show::kind(&word).and_then(|kind| kind.one);
    of(&site, about.ok_or_else(Problem::not_found)?(name), &query).await
}

async fn of(site: &Site, about: About, query: &Pairs) -> Answer {
    let on = day(site, query)?;
    let snapshot = site.snapshot();
    let number = snapshot.number;
    let made = site.aside(move || app::sheet(&snapshot.programme, &about, on)).await;
    told(made, number)
}

fn told(made: Result<Sheet, AppError>, number: u64) -> Answer {
    let mut value = made.map_err(|error| Problem::of_app(&error))?.json();
    value["entry"] = number.into();
    Ok(answer(&value))
}

/// `GET /api/things`.
pub(super) async fn things(
    State(site): State<Site>,
    _caller: Caller,
    Query(query): Query<Pairs>,
) -> Answer {
    let known = ["noun", "has", "after", "limit"];
    let (noun, has) = (value(&query, &known, "noun")?, value(&query, &known, "has")?);
    let after = value(&query, &known, "after")?.map(cursor).transpose()?;
    let most = limit(value(&query, &known, "limit")?, THINGS)?;
    let words: Vec<String> =
        has.unwrap_or_default().split_whitespace().map(str::to_lowercase).collect();
    let snapshot = site.snapshot();
    let index = site.index(&snapshot);
    let fits = |thing: &&app::Thing| {
        let text = format!("{} {}", thing.name, thing.what).to_lowercase();
        noun.is_none_or(|noun| noun == thing.noun)
            && words.iter().all(|word| text.contains(word))
    };
    // They stand in the order of kinds and names.
    let behind = |thing: &&app::Thing| {
        after
            .as_ref()
            .is_none_or(|(noun, name)| (thing.noun, &*thing.name) > (*noun, *name))
    };
    let mut found = index.things.iter().filter(fits).filter(behind).peekable();
    let mut each = Vec::new();
    let mut next = Value::Null;
    while let Some(thing) = found.next() {
        each.push(json!({ "noun": thing.noun, "name": thing.name, "what": thing.what }));
        if each.len() == most {
            if found.peek().is_some() {
                next = format!("{} {}", thing.noun, thing.name).into();
            }
            break;
        }
    }
    Ok(answer(&json!({ "entry": snapshot.number, "things": each, "next": next })))
}

/// Where a list goes on: the kind and the name behind which.
fn cursor(text: &str) -> Result<(&str, &str), Problem> {
    let what = "`after` is what `next` of the answer before said";
    text.split_once(' ').ok_or_else(|| Problem::bad(what))
}

/// How many at most.
fn limit(text: Option<&str>, (most, usual): (u64, u64)) -> Result<usize, Problem> {
    let Some(text) = text else { return Ok(usual as usize) };
    let number = text.parse::<u64>().ok().filter(|number| (1..=most).contains(number));
    let number = number.ok_or_else(|| Problem::bad(format!("`limit` is 1 to {most}")))?;
    Ok(number as usize)
}

/// `GET /api/history/{name}`.
pub(super) async fn history(
    State(site): State<Site>,
    _caller: Caller,
    path: Result<Path<String>, PathRejection>,
    Query(query): Query<Pairs>,
) -> Answer {
    let Path(name) = path.map_err(|_| Problem::not_found())?;
    value(&query, &[], "")?;
    let (desk, number) = (site.config.desk.clone(), site.snapshot().number);
    let read = move || desk.history(&name);
    told(site.aside(read).await, number)
}

/// `GET /api/entries`.
pub(super) async fn entries(
    State(site): State<Site>,
    _caller: Caller,
    Query(query): Query<Pairs>,
) -> Answer {
    let known = ["by", "act", "thing", "from", "until", "before", "limit"];
    let text =
        |name: &str| Ok(value(&query, &known, name)?.unwrap_or_default().to_owned());
    let number = |name: &str| match value(&query, &known, name)? {
        None => Ok(None),
        Some(found) => found.parse::<u64>().map(Some).map_err(|_| {
            Problem::bad(format!("`{name}` is a whole number, and `{found}` is none"))
        }),
    };
    let wanted = app::EntriesWanted {
        by: text("by")?,
        word: text("act")?,
        thing: text("thing")?,
        from: text("from")?,
        until: text("until")?,
        before: number("before")?,
        most: limit(value(&query, &known, "limit")?, ENTRIES)?,
    };
    for name in ["from", "until"] {
        if value(&query, &known, name)?.is_some_and(str::is_empty) {
            return Err(Problem::bad(format!(
                "`{name}` is blank: leave it out for all days"
            )));
        }
    }
    if let Some(wrong) = wanted.wrong() {
        return Err(Problem::bad(wrong));
    }
    let (desk, snapshot) = (site.config.desk.clone(), site.snapshot());
    let read = move || app::entries(&snapshot.programme, desk.place(), &wanted);
    let found = site.aside(read).await.map_err(|error| Problem::of_app(&error))?;
    Ok(answer(&app::entries_json(&found)))
}

/// `GET /api/entries/{number}`.
pub(super) async fn entry(
    State(site): State<Site>,
    _caller: Caller,
    path: Result<Path<u64>, PathRejection>,
    Query(query): Query<Pairs>,
) -> Answer {
    let Path(number) = path.map_err(|_| Problem::not_found())?;
    value(&query, &[], "")?;
    let (desk, snapshot) = (site.config.desk.clone(), site.snapshot());
    let read = move || app::entry(&snapshot.programme, desk.place(), number);
    let found = site.aside(read).await.map_err(|error| Problem::of_app(&error))?;
    Ok(answer(&app::entry_json(&found)))
}
