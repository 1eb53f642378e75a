//! Where we are: what everybody wants to know first, and what waits for whoever looks.

use app::{Mine, NextGate, Off, PlanNow, Waiting};
use axum::extract::State;
use axum::response::{IntoResponse, Response};
use maud::{Markup, html};

use crate::fault;
use crate::layout::page;
use crate::links::{Index, link, path_of, sheet_of};
use crate::pages::{act, bench};
use crate::site::Site;
use crate::viewer::Viewer;

/// So many of a kind are shown; the lists have all.
const SHOWN: usize = 12;
const OF_RULE: usize = 4;

/// `GET /`.
pub(crate) async fn get(State(site): State<Site>, viewer: Viewer) -> Response {
    let (snapshot, today) = (site.snapshot(), site.today());
    let index = site.index(&snapshot);
    let (programme, person) = (snapshot.programme, viewer.person.clone());
    let looked = site.aside(move || {
        let overview = app::overview(&programme, today);
        Ok((overview, app::mine(&programme, &person, today)))
    });
    let (overview, mine) = match looked.await {
        Ok(looked) => looked,
        Err(error) => return fault::of_app(&error),
    };
    let content = html! {
        h1 { "Where we are" }
        div.two data-part="home" {
            // First where all is one column: it is what they came for.
            section.mine aria-labelledby="mine" {
                h2 #mine { "What waits for me" }
                @if viewer.founds && viewer.may("grant") { (found(&viewer)) }
                @if mine.is_empty() { p.none { "Nothing waits for you." } }
                @for kind in &mine { (waits(&viewer, kind)) }
            }
            div.state {
                (next(overview.next.as_ref(), &index))
                (plan(overview.plan.as_ref()))
                (late(&viewer, &overview.late))
                (off(&overview.off))
            }
        }
    };
    page(&site, &viewer, ("/", "Where we are"), &content).into_response()
}

/// While nobody has an authority, nothing else can begin.
fn found(viewer: &Viewer) -> Markup {
    let person = [("person", viewer.person.as_str()), ("power", "appoint")];
    html! {
        div.kept {
            p { "Nobody has an authority yet. The first is one to appoint; whoever holds it gives \
                 the others." }
            p { a.act href=(act::path("grant", person)) { "Grant: the first authority" } }
        }
    }
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
                @for (rule, blocks) in by_rule(next) {
                    h3 { (crate::table::sentence(rule)) " " span.count { (blocks.len()) } }
                    ul.lines {
                        @for (what, _, citation) in blocks.iter().take(OF_RULE) {
                            li {
                                (index.linked("", what))
                                @if let Some(citation) = citation { " " span.why { (citation) } }
                            }
                        }
                    }
                    @if blocks.len() > OF_RULE {
                        p { "and " (blocks.len() - OF_RULE) " more" }
                    }
                }
                p { a href=(path_of("gate", &next.gate)) { "All " (count) " of them" } }
            }
        }
    }
}

type Block = (String, String, Option<String>);

/// What stands before a gate, rule by rule: a hundred of one kind are one thing to do.
fn by_rule(next: &NextGate) -> Vec<(&str, Vec<&Block>)> {
    let mut rules: Vec<(&str, Vec<&Block>)> = Vec::new();
    for block in &next.blocks {
        let rule = block.1.as_str();
        match rules.iter_mut().find(|(of, _)| *of == rule) {
            Some((_, blocks)) => blocks.push(block),
            None => rules.push((rule, vec![block])),
        }
    }
    rules
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

fn late(viewer: &Viewer, late: &[Waiting]) -> Markup {
    html! {
        section {
            h2 { "Late " span.count { (late.len()) } }
            @if late.is_empty() { p.none { "Nothing is late." } }
            (lines(viewer, late))
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

fn waits(viewer: &Viewer, kind: &Mine) -> Markup {
    let count = kind.waiting.len();
    html! {
        h3 { (kind.title) " " span.count { (count) } }
        (lines(viewer, &kind.waiting[..count.min(SHOWN)]))
        @if count > SHOWN {
            p {
                "and " (count - SHOWN) " more"
                @if let Some(list) = kind.waiting.first().and_then(|one| sheet_of(one.noun)) {
                    ": " a href={ "/show/" (list) } { (list) }
                }
            }
        }
    }
}

/// What waits, and the act that it waits for.
fn lines(viewer: &Viewer, waiting: &[Waiting]) -> Markup {
    html! {
        ul.lines.acts {
            @for one in waiting {
                li {
                    span {
                        // What is to be signed on a card is signed with the card in hand.
                        @if one.noun == "card" { a.key href=(bench::path(&one.name)) { (one.name) } }
                        @else { (link(one.noun, &one.name)) }
                        " " (one.what)
                    }
                    @if let Some((word, fields)) = one.act.as_ref().filter(|(word, _)| viewer.may(word)) {
                        a.act href=(bench::way(word, fields)) {
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
