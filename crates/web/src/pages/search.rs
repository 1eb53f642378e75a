//! One box for everything that has a name.

use app::{Hit, Thing};
use axum::extract::{Query, State};
use axum::response::{IntoResponse, Redirect, Response};
use maud::{Markup, html};

use crate::layout::page;
use crate::links::{link, path_of, query, sheet_of};
use crate::site::Site;
use crate::table::sentence;
use crate::viewer::Viewer;

/// So many of a kind are shown among others, and by itself.
const SHOWN: usize = 40;
const TURNED: usize = 200;

/// `GET /search?q=`, of one kind with `kind=`, behind so many with `from=`.
pub(crate) async fn get(
    State(site): State<Site>,
    viewer: Viewer,
    Query(pairs): Query<Vec<(String, String)>>,
) -> Response {
    let value = |name: &str| {
        let found = pairs.iter().find(|(found, _)| found == name);
        found.map_or("", |(_, value)| value.trim())
    };
    let (typed, kind) = (value("q"), Some(value("kind")).filter(|kind| !kind.is_empty()));
    let index = site.index(&site.snapshot());
    let exact = exact(&index.things, typed).filter(|_| kind.is_none());
    if let Some(thing) = exact {
        return Redirect::to(&path_of(thing.noun, &thing.name)).into_response();
    }
    let found = index.searchable.find(&index.things, typed, kind);
    let from = value("from").parse().unwrap_or(0).min(found.len());
    let content = html! {
        h1 { @if typed.is_empty() { "Search" } @else { "Found for " q { (typed) } } }
        (asked(typed))
        @if found.is_empty() { (nothing(typed)) }
        @match kind {
            Some(kind) => (turned(typed, kind, &found, from)),
            None => @for (noun, hits) in by_kind(&found) { (some(typed, noun, &hits)) },
        }
    };
    page(&site, &viewer, ("/search", "Found"), &content).into_response()
}

/// What was typed, to be changed.
fn asked(typed: &str) -> Markup {
    html! {
        form.narrow action="/search" role="search" aria-label="Search again" {
            div {
                label for="words" { "All of these words, or parts of them" }
                input #words name="q" type="search" value=(typed);
            }
            button { "Find" }
        }
    }
}

fn nothing(typed: &str) -> Markup {
    html! {
        @if typed.is_empty() {
            p { "Type a name or a part of one, a number, a person, or words of what was found, \
                 of a step of a card or of a letter." }
        } @else {
            p { "Nothing holds these words. Try fewer of them, or a part of a name; every list \
                 is under " a href="/lists" { "All lists" } ", and what stands in an entry under "
                a href="/record" { "The record" } "." }
        }
    }
}

/// Kinds in the order of their best.
fn by_kind(found: &[Hit]) -> Vec<(&'static str, Vec<&Hit>)> {
    let mut kinds: Vec<(&'static str, Vec<&Hit>)> = Vec::new();
    for hit in found {
        match kinds.iter_mut().find(|(noun, _)| *noun == hit.thing.noun) {
            Some((_, hits)) => hits.push(hit),
            None => kinds.push((hit.thing.noun, vec![hit])),
        }
    }
    kinds
}

fn some(typed: &str, noun: &str, hits: &[&Hit]) -> Markup {
    let many = hits.len();
    html! {
        section {
            h2 { (sentence(noun)) " " span.count { (many) } }
            (lines(hits.iter().take(SHOWN).copied()))
            @if many > SHOWN {
                p { a href={ "/search" (query([("q", typed), ("kind", noun)])) } { "All " (many) " of them" } }
            }
        }
    }
}

/// One kind by itself.
fn turned(typed: &str, noun: &str, found: &[Hit], from: usize) -> Markup {
    let until = found.len().min(from + TURNED);
    let way = |from: usize, word: &str| {
        let from = from.to_string();
        let pairs = [("q", typed), ("kind", noun), ("from", from.as_str())];
        html! { a href={ "/search" (query(pairs)) } { (word) } " " }
    };
    html! {
        p { a href={ "/search" (query([("q", typed)])) } { "All kinds" } }
        section {
            h2 { (sentence(noun)) " " span.count { (found.len()) } }
            (lines(found[from..until].iter()))
            @if until - from < found.len() {
                p.turns {
                    (from + 1) " to " (until) " of " (found.len()) ". "
                    @if from > 0 { (way(from.saturating_sub(TURNED), "Those before")) }
                    @if until < found.len() { (way(until, "Those after")) }
                }
            }
        }
    }
}

fn lines<'a>(hits: impl Iterator<Item = &'a Hit>) -> Markup {
    html! {
        dl.found {
            @for hit in hits {
                div {
                    dt { (link(hit.thing.noun, &hit.thing.name)) }
                    dd {
                        (hit.thing.what)
                        @if let Some(says) = &hit.says { " " span.why { (says) } }
                    }
                }
            }
        }
    }
}

/// The one thing whose name was typed, however it is written, if it has a page of its own.
fn exact<'a>(things: &'a [Thing], typed: &str) -> Option<&'a Thing> {
    let mut named = things.iter().filter(|thing| {
        !typed.is_empty() && thing.name.to_lowercase() == typed.to_lowercase()
    });
    let one = named.next().filter(|_| named.next().is_none());
    one.filter(|one| sheet_of(one.noun).is_some() || one.noun == "zone")
}

#[cfg(test)]
mod tests {
    use super::exact;
    use app::Thing;

    #[test]
    fn the_name_of_one_thing_leads_to_it() {
        let thing =
            |noun, name: &str| Thing { noun, name: name.to_owned(), what: String::new() };
        let things =
            [thing("card", "OFF:MAG"), thing("item", "MAG"), thing("zone", "MAG")];
        assert_eq!(exact(&things, "off:mag").unwrap().noun, "card");
        assert!(exact(&things, "mag").is_none(), "two of that name");
        let things = [thing("route", "PROP"), thing("item", "PROP-P")];
        assert!(exact(&things, "prop").is_none(), "a history is not what one looked for");
        assert!(exact(&things, "").is_none());
    }
}
