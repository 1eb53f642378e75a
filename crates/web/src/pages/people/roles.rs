//! Which ways and acts are open to whom: all roles side by side, or one at a time.

use axum::extract::{Query, State};
use axum::response::{IntoResponse, Response};
use maud::{Markup, html};

use crate::fault;
use crate::layout::page_with;
use crate::pages::me::STYLES;
use crate::site::Site;
use crate::table::sentence;
use crate::viewer::Viewer;
use crate::ways::{self, FIRST, NO};

const ROLES: &str = "Which ways and acts are open to whom";

/// `GET /people/roles`: all of it, or one role by `role=`.
pub(crate) async fn roles(
    State(site): State<Site>,
    viewer: Viewer,
    Query(query): Query<Vec<(String, String)>>,
) -> Response {
    let value = |name: &str| query.iter().find(|(found, _)| found == name);
    let role = value("role").map(|(_, role)| role.as_str());
    let all = ways::roles();
    if let Some(role) = role.filter(|role| !all.contains(role)) {
        let what = format!("there is no role `{role}`");
        let hint = format!("there are {}", all.join(", "));
        return fault::missing(&what, &hint);
    }
    let content = html! {
        h1 { (ROLES) }
        p { (ways::LEGEND.replace('`', "")) }
        p.ways { "What you may do yourself stands on "
            a href=(crate::links::path_of("person", &viewer.person)) { "your page of the record" } "." }
        nav.one-role aria-label="One role at a time" {
            "One role at a time: "
            @for one in &all {
                a href={ "/people/roles?role=" (one) } aria-current=[(role == Some(*one)).then_some("page")] { (one) } " "
            }
            @if role.is_some() { a href="/people/roles" { "all of them" } }
        }
        @match role {
            Some(role) => (of_role(role)),
            None => (whole(value("all").is_some())),
        }
    };
    page_with(&site, &viewer, ("/people/roles", ROLES), &STYLES, &content).into_response()
}

/// What one role meets: what is open to it, and folded away what is not.
fn of_role(role: &str) -> Markup {
    let row = |row: &[String], word: &str| {
        html! {
            li {
                (sentence(&row[1].replace('`', ""))) " " code.why { (row[0]) }
                @if word != "yes" && word != NO { " " strong { "(" (word) ")" } }
            }
        }
    };
    html! {
        @for (number, list) in ways::tables().into_iter().enumerate() {
            @let at = list.columns.iter().position(|column| *column == role).unwrap_or(FIRST);
            @let (open, shut): (Vec<_>, Vec<_>) = list.rows.iter().partition(|row| row[at] != NO);
            section {
                h2 #{ "list-" (number) } { (list.title) " open to " (role) " " span.count { (open.len()) } }
                ul.lines { @for one in &open { (row(one, &one[at])) } }
                @if !shut.is_empty() {
                    details {
                        summary { "Not open to " (role) " " span.count { (shut.len()) } }
                        ul.lines { @for one in &shut { (row(one, NO)) } }
                    }
                }
            }
        }
    }
}

/// All roles side by side. On a narrow screen that is very long, and is shown if one asks.
fn whole(asked: bool) -> Markup {
    html! {
        @if !asked {
            p.where-narrow {
                "On a screen as narrow as this all roles side by side are very long: choose one above, or "
                a href="/people/roles?all=yes" { "see all of them" } "."
            }
        }
        @for (at, list) in ways::tables().into_iter().enumerate() {
            section.where-wide[!asked] {
                h2 #{ "list-" (at) } { (list.title) " " span.count { (list.rows.len()) } }
                div.wide.roles tabindex="0" role="region" aria-labelledby={ "list-" (at) } {
                    table {
                        // What it is stands with where it is: there are many columns.
                        thead { tr {
                            @for (at, name) in list.columns.iter().enumerate().filter(|(at, _)| *at != 1) {
                                th scope="col" { (name) @if at == 0 { ", and what it does" } }
                            }
                        } }
                        tbody { @for row in &list.rows { tr { (role_cells(&list.columns, row)) } } }
                    }
                }
            }
        }
    }
}

fn role_cells(columns: &[&str], row: &[String]) -> Markup {
    let (told, roles) = row.split_at(FIRST);
    let same = roles.iter().all(|cell| *cell == roles[0]);
    let cell = |column: &str, cell: &str| {
        html! { td data-column=(column) .blank[cell == "-"] { span { (cell.replace('`', "")) } } }
    };
    html! {
        th scope="row" data-column=(columns[0]) {
            (sentence(&told[1].replace('`', ""))) " " code.why { (told[0]) }
        }
        @for (column, text) in columns[2..].iter().zip(&told[2..]) { (cell(column, text)) }
        // Where all meet the same, those rows stand out in which they don't.
        @if same {
            td.why colspan=(roles.len()) data-column="open to" {
                span { @if roles[0] == "yes" { "all of them" } @else { (roles[0]) } }
            }
        } @else {
            @for (column, text) in columns[FIRST..].iter().zip(roles) { (cell(column, text)) }
        }
    }
}
