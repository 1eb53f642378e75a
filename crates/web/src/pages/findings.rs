//! Findings as a list that the address narrows, so that a link shows the same to others.

use app::{FINDING_SORTS, FindingFilter, FindingRow, FindingWord, Findings};
use axum::extract::{Query, State};
use axum::http::header::CONTENT_TYPE;
use axum::response::{IntoResponse, Response};
use maud::{Markup, html};

use crate::fault;
use crate::layout::page_with;
use crate::links::{Index, link, path_of, query};
use crate::pages::{aircraft, show, standing};
use crate::sign_in::{Fields, field};
use crate::site::Site;
use crate::viewer::Viewer;

/// So many are shown; the rest are in the CSV.
const SHOWN: usize = 500;

/// `GET /findings`.
pub(crate) async fn get(
    State(site): State<Site>,
    viewer: Viewer,
    Query(typed): Query<Fields>,
) -> Response {
    let on = match aircraft::day(&site, &typed) {
        Ok(on) => on,
        Err(wrong) => return wrong,
    };
    let filter = filter(&typed);
    let snapshot = site.snapshot();
    let (programme, asked) = (snapshot.programme.clone(), filter.clone());
    let made = site.aside(move || Ok(app::findings(&programme, on, &asked))).await;
    let found = match made {
        Ok(found) => found,
        Err(error) => return fault::of_app(&error),
    };
    match field(&typed, "as") {
        "csv" => {
            let sheet = app::findings_sheet(&found, on);
            return sheet.lists.first().map_or_else(fault::not_found, show::as_csv);
        }
        "json" => {
            let mut json = app::findings_sheet(&found, on).json();
            json["entry"] = snapshot.number.into();
            return ([(CONTENT_TYPE, "application/json")], json.to_string())
                .into_response();
        }
        _ => {}
    }
    let index = site.index(&snapshot);
    let content = html! {
        h1 { "Findings" }
        (aircraft::ways("/findings"))
        @if viewer.may("raise") {
            nav.acts aria-label="To enter" { a.act href="/survey" { "Enter a finding" } }
        }
        (narrow(&filter, &found, field(&typed, "on")))
        section data-part="findings" {
            (counted(&found))
            @if found.rows.is_empty() {
                p.none { "None fits." @if found.all > 0 { " Ask for less above." } }
            } @else {
                (table(&found.rows[..found.rows.len().min(SHOWN)], &index))
            }
            @if found.rows.len() > SHOWN {
                p { "The first " (SHOWN) " are shown; ask for less, or take them as CSV." }
            }
        }
        p.take {
            a href={ "/findings" (address(&typed, &[("as", "csv")])) } { "These as CSV" } " · "
            a href={ "/findings" (address(&typed, &[("as", "json")])) } { "as JSON" }
        }
    };
    page_with(&site, &viewer, ("/findings", "Findings"), &aircraft::STEMS, &content)
        .into_response()
}

fn filter(typed: &Fields) -> FindingFilter {
    let value = |name: &str| field(typed, name).trim().to_owned();
    FindingFilter {
        state: value("state"),
        zone: value("zone"),
        item: value("item"),
        class: value("class"),
        who: value("who"),
        gate: value("gate"),
        text: value("text"),
        sort: value("sort"),
    }
}

/// The address of the same list, with something more to it; what is blank is left out.
fn address(typed: &Fields, more: &[(&str, &str)]) -> String {
    let own = typed.iter().map(|(name, value)| (name.as_str(), value.as_str())).filter(
        |(name, value)| !value.is_empty() && !more.iter().any(|(other, _)| other == name),
    );
    query(own.chain(more.iter().copied()))
}

fn counted(found: &Findings) -> Markup {
    html! {
        p.figure role="status" {
            strong { (found.rows.len()) } " of " (found.all)
            @for (at, (word, count)) in found.counts.iter().enumerate() {
                @if at == 0 { ": " } @else { ", " }
                (count) " " (word)
            }
        }
    }
}

/// The form that narrows; what it makes is an address.
fn narrow(filter: &FindingFilter, found: &Findings, on: &str) -> Markup {
    let words = |words: &[&str]| -> Vec<(String, String)> {
        words.iter().map(|word| ((*word).to_owned(), String::new())).collect()
    };
    let mut states = words(&FindingWord::ALL.map(FindingWord::word));
    states.insert(0, ("all".to_owned(), String::new()));
    let classes = words(&app::Condition::ALL.map(app::Condition::word));
    let choices = &found.choices;
    let sorts: Vec<(String, String)> = FINDING_SORTS
        .iter()
        .map(|(word, says)| ((*word).to_owned(), (*says).to_owned()))
        .collect();
    let choose = |name: &'static str,
                  label: &str,
                  blank: &str,
                  list: &[(String, String)],
                  now: &str| {
        let wrong = found.strange.iter().find(|(field, _)| *field == name);
        select((name, label, blank), list, now, wrong.map(|(_, what)| what.as_str()))
    };
    html! {
        form.narrow.many role="search" aria-label="Narrow the list" {
            div {
                label for="text" { "Words" }
                input #text name="text" type="search" value=(filter.text);
            }
            (choose("state", "State", "open", &states, if filter.state == "open" { "" } else { &filter.state }))
            (choose("class", "How bad", "all", &classes, &filter.class))
            (choose("zone", "Zone", "all", &choices.zones, &filter.zone))
            (choose("item", "Item", "all", &choices.items, &filter.item))
            (choose("who", "Raised by", "all", &choices.people, &filter.who))
            (choose("gate", "Stands before", "any gate or none", &choices.gates, &filter.gate))
            (choose("sort", "Sorted", "the gravest first", &sorts[1..], &filter.sort))
            div {
                label for="on" { "As of" }
                input #on name="on" type="date" value=(on);
            }
            button { "Show" }
            a href="/findings" { "Show all that are open" }
        }
    }
}

/// A choice; what was given and is none of the list stays there, with what is wrong.
fn select(
    (name, label, blank): (&str, &str, &str),
    list: &[(String, String)],
    now: &str,
    wrong: Option<&str>,
) -> Markup {
    let known = now.is_empty() || list.iter().any(|(value, _)| value == now);
    html! {
        div {
            label for=(name) { (label) }
            select id=(name) name=(name) aria-invalid=[wrong.map(|_| "true")]
                aria-describedby=[wrong.map(|_| format!("{name}-wrong"))] {
                option value="" { (blank) }
                @if !known { option value=(now) selected { (now) } }
                @for (value, called) in list {
                    option value=(value) selected[value == now] {
                        (value) @if !called.is_empty() && called != value { " " (called) }
                    }
                }
            }
            @if let Some(wrong) = wrong { p.wrong id={ (name) "-wrong" } { (wrong) } }
        }
    }
}

/// Findings as a table.
pub(crate) fn table(rows: &[FindingRow], index: &Index) -> Markup {
    html! {
        div.wide {
            table {
                thead { tr {
                    @for head in ["finding", "how bad", "item", "zone", "what", "stands before", "found", "by"] {
                        th scope="col" { (head) }
                    }
                } }
                tbody { @for row in rows { (line(row, index)) } }
            }
        }
    }
}

fn line(row: &FindingRow, index: &Index) -> Markup {
    let before = row.before.join(", ");
    html! {
        tr {
            td data-column="finding" { span { (link("finding", &row.finding)) (beside(row)) } }
            td data-column="how bad" { span { (standing::of_finding(row)) } }
            td data-column="item" { span { (link("item", &row.item)) } }
            td data-column="zone" .blank[row.zone.is_none()] {
                span {
                    @match &row.zone {
                        Some(zone) => a href=(path_of("zone", zone)) { (zone) },
                        None => "-",
                    }
                }
            }
            td data-column="what" { span { (index.linked("", &row.what)) } }
            td data-column="stands before" .blank[before.is_empty()] {
                span { @if before.is_empty() { "-" } @else { (index.linked("gate", &before)) } }
            }
            td data-column="found" {
                span {
                    @match (row.found, row.days) {
                        (Some(day), Some(days)) => { (day) " " span.why { (days) " days" } }
                        _ => "-",
                    }
                }
            }
            td data-column="by" .blank[row.by.is_none()] {
                span { @match &row.by { Some(by) => (link("person", by)), None => "-" } }
            }
        }
    }
}

/// What there is besides words.
fn beside(row: &FindingRow) -> Markup {
    html! {
        @match row.photographs {
            0 => {}
            1 => { " " span.why { "1 photograph" } }
            many => { " " span.why { (many) " photographs" } }
        }
        @if row.mark.is_some() { " " span.why { "marked" } }
    }
}
