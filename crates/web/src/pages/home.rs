//! Where we are: what everybody wants to know first, and what waits for whoever looks.

use app::{Mine, NextGate, Off, PlanNow, Waiting};
use axum::extract::State;
use axum::response::{IntoResponse, Response};
use maud::{Markup, html};

use crate::layout::page;
use crate::links::{Index, link, path_of};
use crate::pages::act;
use crate::site::Site;
use crate::viewer::Viewer;

/// So many of a kind are shown; the lists have all.
const SHOWN: usize = 12;

/// `GET /`.
pub(crate) async fn get(State(site): State<Site>, viewer: Viewer) -> Response {
    let (snapshot, today) = (site.snapshot(), site.today());
    let index = site.index(&snapshot);
    let standing = app::standing(&snapshot.programme, today);
    let mine = app::mine(&snapshot.programme, &viewer.person, today);
    let content = html! {
        h1 { "Where we are" }
        div.two data-part="home" {
            div {
                (next(standing.next.as_ref(), &index))
                (plan(standing.plan.as_ref()))
                (late(&standing.late))
                (off(&standing.off))
            }
            section.mine aria-labelledby="mine" {
                h2 #mine { "What waits for me" }
                @if mine.is_empty() { p.none { "Nothing waits for you." } }
                @for kind in &mine { (waits(kind)) }
            }
        }
    };
    page(&site, &viewer, ("/", "Where we are"), &content).into_response()
}

fn next(next: Option<&NextGate>, index: &Index) -> Markup {
    let Some(next) = next else {
        return html! {
            section { h2 { "Next gate" } p { "No gate is before us: all are open, or there is none." } }
        };
    };
    let count = next.blocks.len();
    html! {
        section.gate {
            h2 { "Next gate: " a href=(path_of("gate", &next.gate)) { (next.name) } }
            @if count == 0 {
                p.figure { "Clear: nothing stands before it, and nobody opened it." }
            } @else {
                p.figure { strong { (count) } " in the way" }
                ul.lines {
                    @for (what, rule, citation) in next.blocks.iter().take(SHOWN) {
                        li {
                            (index.linked("", what))
                            " " span.why { (rule) @if let Some(citation) = citation { ", " (citation) } }
                        }
                    }
                }
                @if count > SHOWN {
                    p { a href=(path_of("gate", &next.gate)) { "All " (count) " of them" } }
                }
            }
        }
    }
}

fn plan(plan: Option<&PlanNow>) -> Markup {
    let Some(plan) = plan else {
        return html! { section { h2 { "Plan" } p { "No season is under way or to come." } } };
    };
    html! {
        section {
            h2 { "Season " (link("season", &plan.season)) }
            dl.facts {
                div { dt { "gate date" } dd { (plan.gate_date) } }
                @match (plan.complete, plan.margin) {
                    (Some(day), Some(margin)) => {
                        div { dt { "complete by the plan" } dd { (day) } }
                        div { dt { "margin" } dd .wrong[margin < 0] { (days(margin)) } }
                        div { dt { "jobs behind" } dd { (plan.behind) } }
                    }
                    _ => { div { dt { "plan" } dd { "none was adopted yet" } } }
                }
            }
        }
    }
}

fn days(margin: i32) -> String {
    let word = if margin.abs() == 1 { "day" } else { "days" };
    if margin < 0 {
        format!("{} {word} late", -margin)
    } else {
        format!("{margin} {word}")
    }
}

fn late(late: &[Waiting]) -> Markup {
    html! {
        section {
            h2 { "Late " span.count { (late.len()) } }
            @if late.is_empty() { p.none { "Nothing is late." } }
            (lines(late))
        }
    }
}

fn off(off: &[Off]) -> Markup {
    html! {
        section {
            h2 { "Off the aircraft " span.count { (off.len()) } }
            @if off.is_empty() { p.none { "Nothing is off." } }
            ul.lines {
                @for one in off.iter().take(SHOWN) {
                    li { (link("item", &one.item)) " " (one.name) " " span.why { (one.place) ", " (one.class) } }
                }
            }
            @if off.len() > SHOWN { p { a href="/show/parts" { "All " (off.len()) " of them" } } }
        }
    }
}

fn waits(kind: &Mine) -> Markup {
    let count = kind.waiting.len();
    html! {
        h3 { (kind.title) " " span.count { (count) } }
        (lines(&kind.waiting[..count.min(SHOWN)]))
        @if count > SHOWN { p { "and " (count - SHOWN) " more" } }
    }
}

/// What waits, and the act that it waits for.
fn lines(waiting: &[Waiting]) -> Markup {
    html! {
        ul.lines.acts {
            @for one in waiting {
                li {
                    span { (link(one.noun, &one.name)) " " (one.what) }
                    @if let Some((word, fields)) = &one.act {
                        a.act href=(act::path(word, fields.iter().map(|(f, v)| (*f, v.as_str())))) {
                            (act::words(word)) span.unseen { " " (one.name) }
                        }
                    }
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::days;

    #[test]
    fn a_margin_is_told_in_words() {
        assert_eq!(
            [days(0), days(1), days(-1), days(-12)],
            ["0 days", "1 day", "1 day late", "12 days late"]
        );
    }
}
