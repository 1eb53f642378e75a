//! People and what they may do: until when, by what, and which ways are open to whom.

mod roles;

pub(crate) use roles::roles;

use app::About;
use axum::extract::{Query, State};
use axum::response::{IntoResponse, Response};
use maud::{Markup, html};

use crate::fault;
use crate::layout::page;
use crate::links::{encoded, link};
use crate::pages::act;
use crate::pages::show::{self, Shown};
use crate::site::Site;
use crate::table;
use crate::view::View;
use crate::viewer::Viewer;

/// What runs out within so many days is told.
const SOON: i64 = 60;

/// `GET /people`.
pub(crate) async fn get(
    State(site): State<Site>,
    viewer: Viewer,
    Query(query): Query<Vec<(String, String)>>,
) -> Response {
    let (snapshot, on) = (site.snapshot(), site.today());
    let programme = snapshot.programme.clone();
    let made = site.aside(move || {
        let sheet = app::sheet(&programme, &About::People(None), on)?;
        Ok((sheet, app::running_out(&programme, on, SOON)))
    });
    let (mut sheet, soon) = match made.await {
        Ok(made) => made,
        Err(error) => return fault::of_app(&error),
    };
    let shown = Shown { path: "/people", about: None, view: View::of(&query) };
    if show::exports(&query) {
        return show::answer(&site, &viewer, &shown, sheet, &query);
    }
    shown.view.apply(&mut sheet);
    let index = site.index(&snapshot);
    let appoints = viewer.powers.contains(&"appoint");
    let extra = |list: &app::List, row: &[String]| withdraw(appoints, list, row);
    let content = html! {
        h1 { "People and authority" }
        p.ways { a href="/people/roles" { "Which ways and acts are open to whom" } ", " a href="/rules" { "the rules" } }
        @if appoints {
            nav.acts aria-label="To sign about people" {
                @for word in ["grant", "withdraw", "enrol"] { a.act href=(act::path(word, [])) { (act::words(word)) } }
            }
        }
        section data-part="soon" {
            h2 { "Runs out within " (SOON) " days " span.count { (soon.len()) } }
            @if soon.is_empty() { p.none { "Nothing does." } }
            ul.lines {
                @for one in &soon {
                    li {
                        (link("person", &one.person)) " " (one.power) ", "
                        (one.until) " (" (days(one.days)) "): "
                        (one.authority) ", " (one.reference)
                    }
                }
            }
        }
        (enrolled(&site, &viewer, appoints))
        @for (at, list) in sheet.lists.iter().enumerate() {
            (table::table(list, at, &shown.view, &index, &extra))
        }
        @for caution in &sheet.cautions { p.caution { (caution) } }
    };
    page(&site, &viewer, ("/people", "People and authority"), &content).into_response()
}

fn days(left: i32) -> String {
    match left {
        0 => "today is its last day".to_owned(),
        1 => "one day is left".to_owned(),
        left => format!("{left} days are left"),
    }
}

/// Who has a secret, and a second step.
fn enrolled(site: &Site, viewer: &Viewer, appoints: bool) -> Markup {
    let (programme, settings) = (site.snapshot().programme, site.config.desk.settings());
    let people = app::choices(&programme, "person", None);
    html! {
        section {
            h2 { "People " span.count { (people.len()) } }
            ul.lines.acts {
                @for person in &people {
                    @let secret = app::has_secret(&programme, &person.name);
                    @let second = app::has_second(&settings, &person.name);
                    li {
                        span {
                            (link("person", &person.name)) " " (person.what) ": "
                            @if secret { "has a secret" } @else { "has no secret, and signs in nowhere" }
                            @if second { " and a second step" }
                        }
                        @if appoints {
                            @if second {
                                a.act href={ "/second/" (encoded(&person.name)) } { "Second step" span.unseen { " of " (person.name) } }
                            }
                            @if viewer.may("enrol") {
                                a.act href=(act::path("enrol", [("person", person.name.as_str())])) {
                                    @if secret { "New secret" } @else { "Enrol" } span.unseen { " " (person.name) }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

fn withdraw(appoints: bool, list: &app::List, row: &[String]) -> Option<Markup> {
    let cell = |name: &str| {
        let at = list.columns.iter().position(|column| *column == name)?;
        row.get(at).map(String::as_str)
    };
    let valid = cell("state").is_some_and(|state| state == "valid" || state == "to come");
    let name = cell("authority").filter(|_| appoints && valid)?;
    Some(html! {
        a.act href=(act::path("withdraw", [("authority", name)])) { "Withdraw" span.unseen { " " (name) } }
    })
}

/// `GET /rules`.
pub(crate) async fn rules(
    State(site): State<Site>,
    viewer: Viewer,
    Query(query): Query<Vec<(String, String)>>,
) -> Response {
    let (snapshot, on) = (site.snapshot(), site.today());
    let programme = snapshot.programme.clone();
    let made = site.aside(move || app::sheet(&programme, &About::Rules, on)).await;
    let mut sheet = match made {
        Ok(sheet) => sheet,
        Err(error) => return fault::of_app(&error),
    };
    let shown = Shown { path: "/rules", about: None, view: View::of(&query) };
    if show::exports(&query) {
        return show::answer(&site, &viewer, &shown, sheet, &query);
    }
    shown.view.apply(&mut sheet);
    let index = site.index(&snapshot);
    let content = html! {
        h1 { "Rules" }
        p { "Binding: somebody or something binds this aircraft to it. Adopted: the workshop keeps it of its own \
             accord. Off: it was switched off, and judges nothing. Kept: nobody said, and the program keeps it." }
        p { (count(&sheet)) }
        @for (at, list) in sheet.lists.iter().enumerate() {
            (table::table(list, at, &shown.view, &index, &|_, _| None))
        }
        @for caution in &sheet.cautions { p.caution { (caution) } }
        p.ways { a href="/show/rules" { "The same as a list to narrow and export" } }
    };
    page(&site, &viewer, ("/rules", "Rules"), &content).into_response()
}

/// How many rules there are of each basis.
fn count(sheet: &app::Sheet) -> String {
    let mut counts = std::collections::BTreeMap::new();
    for row in sheet.lists.iter().flat_map(|list| &list.rows) {
        *counts.entry(row[1].as_str()).or_insert(0) += 1;
    }
    let told: Vec<String> =
        counts.iter().map(|(basis, many)| format!("{many} {basis}")).collect();
    told.join(", ")
}
