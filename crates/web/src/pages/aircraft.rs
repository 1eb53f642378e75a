//! The aircraft as it stands: its drawing, the zones in words, one zone, the breakdown.

use app::{Breakdown, BrokenBy, Drawing, Node, Setting, ZoneFacts, ZonePage};
use axum::extract::{Path, Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use jiff::civil::Date;
use maud::{Markup, PreEscaped, html};

use crate::fault;
use crate::layout::page_with;
use crate::links::{Index, encoded, link, path_of, query};
use crate::pages::{findings, standing};
use crate::sign_in::{Fields, field};
use crate::site::Site;
use crate::viewer::Viewer;

/// What these pages need beside the style of every page.
pub(crate) const STEMS: [&str; 2] = ["regions", "aircraft"];

/// The path of a zone's page.
pub(crate) fn zone_path(zone: &str) -> String {
    format!("/aircraft/zone/{}", encoded(zone))
}

/// The day that the address names, today if it names none; nothing if what it names is none.
pub(crate) fn day(site: &Site, typed: &Fields) -> Option<Date> {
    let on = field(typed, "on").trim();
    if on.is_empty() { Some(site.today()) } else { on.parse().ok() }
}

/// That what an address names is no day.
pub(crate) fn no_day(typed: &Fields) -> Response {
    let what = format!("`{}` is no day", field(typed, "on").trim());
    let hint = "Write it as 2032-01-14, or leave it out for today.";
    fault::page(StatusCode::BAD_REQUEST, &what, hint)
}

/// Pages about the aircraft, one beside the other.
pub(crate) fn ways(viewer: &Viewer, now: &str) -> Markup {
    const WAYS: [(&str, &str); 5] = [
        ("/aircraft", "Drawing"),
        ("/aircraft/parts", "Breakdown"),
        ("/aircraft/reach", "Get at something"),
        ("/survey", "Survey"),
        ("/findings", "Findings"),
    ];
    html! {
        nav.tabs aria-label="About the aircraft" {
            @for (path, words) in WAYS.into_iter().filter(|(path, _)| *path != "/survey" || viewer.may("raise")) {
                a href=(path) aria-current=[(path == now).then_some("page")] { (words) }
            }
        }
    }
}

/// `GET /aircraft`: the drawing, and every zone in words.
pub(crate) async fn get(
    State(site): State<Site>,
    viewer: Viewer,
    Query(typed): Query<Fields>,
) -> Response {
    let Some(on) = day(&site, &typed) else { return no_day(&typed) };
    let programme = site.snapshot().programme;
    let views = app::views(&programme);
    let wanted = field(&typed, "view").trim().to_owned();
    let view = views.iter().copied().find(|view| view.word() == wanted);
    if view.is_none() && !wanted.is_empty() {
        let known: Vec<&str> = views.iter().map(|view| view.word()).collect();
        let hint = match known.as_slice() {
            [] => "The programme has no drawing at all; look at the list of zones."
                .to_owned(),
            known => format!("There are: {}.", known.join(", ")),
        };
        let what = format!("There is no view `{wanted}`");
        return fault::page(StatusCode::NOT_FOUND, &what, &hint);
    }
    let view = view.or_else(|| views.first().copied());
    let made = site.aside(move || {
        let drawing = view.map(|view| app::drawing(&programme, view, on)).transpose()?;
        Ok((drawing, app::zone_list(&programme, on)))
    });
    let (drawing, zones) = match made.await {
        Ok(made) => made,
        Err(error) => return fault::of_app(&error),
    };
    let content = html! {
        h1 { "The aircraft" }
        (ways(&viewer, "/aircraft"))
        @match &drawing {
            Some(drawing) => {
                (choose(&views, drawing, field(&typed, "on")))
                (figure(drawing))
            }
            None => (no_drawing()),
        }
        (in_words(&zones, on))
    };
    page_with(&site, &viewer, ("/aircraft", "The aircraft"), &STEMS, &content)
        .into_response()
}

fn no_drawing() -> Markup {
    html! {
        section.notice {
            h2 { "No drawing yet" }
            p { "The programme has no outlines, so there is nothing to draw. Zones are listed \
                 below all the same, and everything can be reached from there." }
            p { "To have a drawing, add a list " code { "outlines.csv" } " to the programme's \
                 folder: for each zone a view (" code { "side" } " or " code { "plan" } "), the \
                 zone, and its outline as a path, traced from a drawing of your own; the \
                 description of the folder says how. Then load the folder once more." }
        }
    }
}

/// Which view, and on which day.
fn choose(views: &[app::View], drawing: &Drawing, on: &str) -> Markup {
    html! {
        div.choices {
            nav.tabs aria-label="Views" {
                @for view in views {
                    a href={ "/aircraft" (query(with_day(view.word(), on))) }
                        aria-current=[(*view == drawing.view).then_some("true")] {
                        "From " @if view.word() == "plan" { "above" } @else { "the side" }
                    }
                }
            }
            form.narrow role="search" aria-label="The day" {
                input type="hidden" name="view" value=(drawing.view.word());
                div {
                    label for="on" { "As of" }
                    input #on name="on" type="date" value=(on);
                }
                button { "Show" }
            }
        }
    }
}

fn with_day<'a>(view: &'a str, on: &'a str) -> Vec<(&'a str, &'a str)> {
    let day = Some(("on", on)).filter(|(_, on)| !on.is_empty());
    std::iter::once(("view", view)).chain(day).collect()
}

/// The drawing, with what must be said beside it.
pub(crate) fn figure(drawing: &Drawing) -> Markup {
    let svg = app::drawing_svg(
        drawing,
        Setting::InPage,
        &|zone| Some(zone_path(zone)),
        &|finding| Some(path_of("finding", finding)),
    );
    html! {
        figure.drawing data-part="drawing" {
            div.pan role="region" aria-label={ "Drawing: " (drawing.title) } tabindex="0" {
                // Written by us from numbers and escaped words.
                (PreEscaped(svg))
            }
            figcaption {
                p { (drawing.title) ", as the record has it on " (drawing.on) ". Each zone leads \
                     to what is known of it; the list below says the same in words." }
                @for notice in &drawing.notices { p.caution { (notice) "." } }
            }
        }
    }
}

fn in_words(zones: &[(usize, ZoneFacts)], on: Date) -> Markup {
    html! {
        section data-part="zones" {
            h2 { "Zones " span.count { (zones.len()) } }
            p.why { "As the record has it on " (on) ". Each zone by itself, without those within it." }
            @if zones.is_empty() {
                p.none { "The programme has no zones: name them in its list of zones." }
            }
            ul.zones {
                @for (depth, zone) in zones {
                    li data-depth=((*depth).min(4)) { (zone_line(zone)) }
                }
            }
        }
    }
}

/// A zone in a line.
fn zone_line(zone: &ZoneFacts) -> Markup {
    html! {
        a.zone href=(zone_path(&zone.zone)) { strong { (zone.zone) } " " (zone.name) }
        " " (standing::of_zone(zone.state))
        span.why { " " (zone.sentences().join(", ")) }
    }
}

/// `GET /aircraft/zone/{zone}`.
pub(crate) async fn zone(
    State(site): State<Site>,
    viewer: Viewer,
    Path(zone): Path<String>,
    Query(typed): Query<Fields>,
) -> Response {
    let Some(on) = day(&site, &typed) else { return no_day(&typed) };
    let snapshot = site.snapshot();
    let (programme, name) = (snapshot.programme.clone(), zone.clone());
    let made = site.aside(move || app::zone_page(&programme, &name, on)).await;
    let found = match made {
        Ok(found) => found,
        Err(error) => return fault::of_app(&error),
    };
    let index = site.index(&snapshot);
    let title = format!("{}: {}", found.facts.zone, found.facts.name);
    let content = html! {
        (crumbs(&found))
        h1 { (title) }
        (ways(&viewer, "/aircraft/zone"))
        p.figure { (standing::of_zone(found.facts.state)) ": " (found.facts.sentences().join(", ")) "." }
        (to_do(&viewer, &found))
        @for (tool, seen) in &found.lost {
            p.caution { "The tool " (link("tool", tool)) " is lost, last seen " (seen)
                ". No zone is free of it until it is found or cleared." }
        }
        (inside(&found, &index))
    };
    let path = zone_path(&zone);
    page_with(&site, &viewer, (&path, &title), &STEMS, &content).into_response()
}

fn crumbs(found: &ZonePage) -> Markup {
    html! {
        nav.crumbs aria-label="Where it lies" {
            a href="/aircraft" { "The aircraft" }
            @for (zone, name) in &found.around {
                " › " a href=(zone_path(zone)) { (name) }
            }
        }
    }
}

fn to_do(viewer: &Viewer, found: &ZonePage) -> Markup {
    let zone = found.facts.zone.as_str();
    html! {
        p.ways {
            a href={ "/findings" (query([("zone", zone)])) } { "Findings here as a list" } " · "
            a href={ "/history/" (encoded(zone)) } { "History" }
            @for view in &found.views {
                " · " a href={ "/aircraft" (query([("view", view.word())])) } {
                    "Drawing from " @if view.word() == "plan" { "above" } @else { "the side" }
                }
            }
        }
        @if viewer.may("raise") {
            nav.acts aria-label={ "To sign about " (zone) } {
                a.act href={ "/survey" (query([("zone", zone)])) } { "Enter a finding here" }
            }
        }
    }
}

fn inside(found: &ZonePage, index: &Index) -> Markup {
    let ZonePage { within, items, findings, cards, tools, .. } = found;
    html! {
        @if !within.is_empty() {
            section {
                h2 { "Zones within it " span.count { (within.len()) } }
                ul.zones { @for zone in within { li { (zone_line(zone)) } } }
            }
        }
        section data-part="findings" {
            h2 { "Findings " span.count { (findings.iter().filter(|row| !row.cleared).count()) " open" } }
            @if findings.is_empty() {
                p.none { "None is entered, which does not mean that nothing is wrong." }
            } @else { (findings::table(findings, index)) }
        }
        section data-part="cards" {
            h2 { "Open cards " span.count { (cards.len()) } }
            @if cards.is_empty() { p.none { "None." } }
            ul.lines {
                @for (card, title, state) in cards {
                    li { (link("card", card)) ": " (title) " " span.why { (state) } }
                }
            }
        }
        section data-part="tools" {
            h2 { "Tools out here " span.count { (tools.len()) } }
            @if tools.is_empty() { p.none { "None is out for a card of this zone." } }
            ul.lines {
                @for (tool, who, card) in tools {
                    li { (link("tool", tool)) ", with " (link("person", who)) " for " (link("card", card)) }
                }
            }
        }
        section data-part="items" {
            h2 { "Items " span.count { (items.len()) } }
            @if items.is_empty() { p.none { "No item is said to be here." } }
            @else { (standing::items(items, index)) }
        }
    }
}

/// `GET /aircraft/parts`: the breakdown, a place at a time.
pub(crate) async fn parts(
    State(site): State<Site>,
    viewer: Viewer,
    Query(typed): Query<Fields>,
) -> Response {
    let Some(on) = day(&site, &typed) else { return no_day(&typed) };
    let wanted = field(&typed, "by").trim();
    let by = BrokenBy::ALL.into_iter().find(|by| by.word() == wanted);
    let by = by.unwrap_or(BrokenBy::Assembly);
    let at = Some(field(&typed, "at").trim().to_owned()).filter(|at| !at.is_empty());
    let snapshot = site.snapshot();
    let programme = snapshot.programme.clone();
    let made =
        site.aside(move || app::breakdown(&programme, by, at.as_deref(), on)).await;
    let found = match made {
        Ok(found) => found,
        Err(error) => return fault::of_app(&error),
    };
    let content = taken_apart(&viewer, by, &found, &site.index(&snapshot));
    page_with(&site, &viewer, ("/aircraft/parts", "Breakdown"), &STEMS, &content)
        .into_response()
}

fn taken_apart(
    viewer: &Viewer,
    by: BrokenBy,
    found: &Breakdown,
    index: &Index,
) -> Markup {
    let path = |at: Option<&str>| {
        let at = at.map(|at| ("at", at));
        format!("/aircraft/parts{}", query(std::iter::once(("by", by.word())).chain(at)))
    };
    let title = found.at.as_ref().map_or("Breakdown".to_owned(), |node| {
        if node.title.is_empty() || node.title == node.name {
            node.name.clone()
        } else {
            format!("{}: {}", node.name, node.title)
        }
    });
    html! {
        nav.crumbs aria-label="Where it lies" {
            @if found.at.is_some() { a href=(path(None)) { "The aircraft" } }
            @for node in &found.above { " › " a href=(path(Some(&node.name))) { (node.title) } }
        }
        h1 { (title) }
        (ways(viewer, "/aircraft/parts"))
        nav.tabs aria-label="Broken down" {
            @for other in BrokenBy::ALL {
                a href={ "/aircraft/parts" (query([("by", other.word())])) }
                    aria-current=[(other == by).then_some("true")] { "By " (other.word()) }
            }
        }
        @if let Some(node) = &found.at { (own_page(by, node)) }
        @if !found.inner.is_empty() {
            ul.tree {
                @for node in &found.inner {
                    li {
                        a href=(path(Some(&node.name))) { strong { (node.name) } " " (node.title) }
                        " " span.why { (counted(node)) }
                    }
                }
            }
        }
        @if !found.items.is_empty() {
            h2 { "Items directly here " span.count { (found.items.len()) } }
            (standing::items(&found.items, index))
        }
        @if found.inner.is_empty() && found.items.is_empty() {
            p.none { "Nothing lies under it." }
        }
    }
}

/// Where to read all of a place that is a thing with a page.
fn own_page(by: BrokenBy, node: &Node) -> Markup {
    html! {
        p.figure { (counted(node)) }
        @match by {
            BrokenBy::Assembly => p.ways { a href=(path_of("item", &node.name)) { "All about " (node.name) } },
            BrokenBy::Zone => p.ways { a href=(zone_path(&node.name)) { "All about this zone" } },
            BrokenBy::Chapter => {}
        }
    }
}

fn counted(node: &Node) -> String {
    let many = |count: usize, one: &str, several: &str| match count {
        1 => format!("1 {one}"),
        count => format!("{count} {several}"),
    };
    let mut told = vec![many(node.items, "item", "items")];
    if node.off > 0 {
        told.push(format!("{} off", node.off));
    }
    if node.open > 0 {
        told.push(many(node.open, "open finding", "open findings"));
    }
    told.join(", ")
}
