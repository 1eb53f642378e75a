//! What the pages of findings and items say of the aircraft: where it is, what is in the way,
//! which gates are, and what can be decided.

use maud::{Markup, html};

use crate::links::{link, query};
use crate::pages::aircraft::figure;
use crate::pages::{act, bench, findings, standing};
use crate::site::Site;
use crate::viewer::Viewer;

/// Where a finding is, on a drawing of its own with no other mark on it.
pub(crate) fn where_marked(site: &Site, finding: &str) -> Markup {
    let snapshot = site.snapshot();
    let Some(mark) = app::mark_of(&snapshot.programme, finding) else { return html! {} };
    let drawn = app::drawing(&snapshot.programme, mark.view, site.today());
    let Ok(mut drawing) = drawn else { return html! {} };
    drawing.marks.retain(|marked| marked.finding == finding);
    html! {
        section {
            h2 { "Where" }
            (figure(&drawing))
        }
    }
}

/// An item on the aircraft: how it stands, what is wrong with it, what is in its way.
pub(crate) fn of_item(site: &Site, viewer: &Viewer, item: &str) -> Markup {
    let snapshot = site.snapshot();
    let Ok(found) = app::about_item(&snapshot.programme, item, site.today()) else {
        return html! {};
    };
    let index = site.index(&snapshot);
    html! {
        section data-part="aircraft" {
            h2 { "On the aircraft" }
            dl.facts {
                div { dt { "state" } dd { (standing::of_item(&found.state)) " " span.why { (found.state.place) } } }
                @if let Some((zone, name)) = &found.zone {
                    div { dt { "zone" } dd { (link("zone", zone)) " " (name) } }
                }
                @if let Some((whole, name)) = &found.part_of {
                    div { dt { "part of" } dd { (link("item", whole)) " " (name) } }
                }
                @if let Some(why) = &found.fixed {
                    div { dt { "never comes off" } dd { (why) } }
                }
                @if !found.blocked_by.is_empty() {
                    div { dt { "may be in its way" } dd { (in_the_way(&found.blocked_by)) } }
                }
                @if !found.blocks.is_empty() {
                    div { dt { "in the way of" } dd { (index.linked("item", &found.blocks.join(", "))) } }
                }
                @for (card, title, state) in &found.cards {
                    div { dt { "open card" } dd { a href=(bench::path(card)) { (card) } ": " (title) ", " (state) } }
                }
            }
            nav.acts aria-label={ "Getting at " (item) } {
                @if found.fixed.is_none() {
                    a.act href={ "/aircraft/reach" (query([("free", item)])) } { "What must come off to free it" }
                }
                a.act href={ "/aircraft/reach" (query([("expose", item)])) } { "To work on it where it is" }
                @if viewer.may("raise") {
                    a.act href={ "/survey" (query([("item", item)])) } { "Enter a finding on it" }
                }
            }
        }
        @if !found.findings.is_empty() {
            section data-part="findings" {
                h2 { "Findings on it " span.count { (found.findings.len()) } }
                (findings::table(&found.findings, &index))
            }
        }
    }
}

fn in_the_way(items: &[(String, bool)]) -> Markup {
    html! {
        @for (at, (item, off)) in items.iter().enumerate() {
            @if at > 0 { ", " }
            (link("item", item)) @if *off { " " span.why { "off already" } }
        }
    }
}

/// What can be decided about a finding, with the gates that each decision would clear.
pub(crate) fn deciding(site: &Site, viewer: &Viewer, finding: &str) -> Markup {
    let programme = site.snapshot().programme;
    let Some(found) = app::deciding(&programme, finding, site.today()) else {
        return html! {};
    };
    let ways = found.ways.iter().filter(|way| viewer.may(way.act.0));
    html! {
        section data-part="gates" {
            h2 { "What it lets the aircraft do" }
            dl.facts {
                @for gate in &found.gates {
                    div {
                        dt { (link("gate", &gate.gate)) " " (gate.name) }
                        dd {
                            @match &gate.why {
                                Some(why) => { span.wrong { "stands before it" } ": " (why) }
                                None => "not in its way",
                            }
                        }
                    }
                }
            }
            details.deciding {
                summary { "What can be decided, and which gates it would clear" }
                p.why { "What stands before a gate for other reasons is not counted here. The record \
                         judges each decision when it is signed." }
                ul.lines {
                    @for way in ways {
                        li {
                            a href=(act::path(way.act.0, way.act.1.iter().map(|(n, v)| (*n, v.as_str())))) { (way.says) }
                            div.why {
                                @if way.passes.is_empty() { "clears no gate" }
                                @else { "clears " (way.passes.join(", ")) }
                                @if !way.before.is_empty() { "; stands before " (way.before.join(", ")) }
                            }
                        }
                    }
                }
            }
        }
    }
}
