//! One box for everything that has a name.

use app::Thing;
use axum::extract::{Query, State};
use axum::response::{IntoResponse, Redirect, Response};
use maud::html;

use crate::layout::page;
use crate::links::{link, path_of};
use crate::site::Site;
use crate::viewer::Viewer;

/// So many of a kind are shown.
const SHOWN: usize = 40;

/// `GET /search?q=`.
pub(crate) async fn get(
    State(site): State<Site>,
    viewer: Viewer,
    Query(query): Query<Vec<(String, String)>>,
) -> Response {
    let typed = query.iter().find(|(name, _)| name == "q");
    let typed = typed.map_or("", |(_, typed)| typed.trim());
    let index = site.index(&site.snapshot());
    if let Some(thing) = exact(&index.things, typed) {
        return Redirect::to(&path_of(thing.noun, &thing.name)).into_response();
    }
    let found = found(&index.things, typed);
    let content = html! {
        h1 { "Found for " q { (typed) } }
        @if found.is_empty() {
            p { "Nothing holds these words. Try fewer of them, or a part of a name; every list \
                 is under " a href="/lists" { "All lists" } "." }
        }
        @for (noun, things) in &found {
            section {
                h2 { (crate::table::sentence(noun)) " " span.count { (things.len()) } }
                dl.found {
                    @for thing in things.iter().take(SHOWN) {
                        div {
                            dt { (link(thing.noun, &thing.name)) }
                            dd { (thing.what) }
                        }
                    }
                }
                @if things.len() > SHOWN {
                    p { "and " (things.len() - SHOWN) " more: type another word" }
                }
            }
        }
    };
    page(&site, &viewer, ("/search", "Found"), &content).into_response()
}

/// The one thing whose name was typed, however it is written.
fn exact<'a>(things: &'a [Thing], typed: &str) -> Option<&'a Thing> {
    let mut named = things.iter().filter(|thing| {
        !typed.is_empty() && thing.name.to_lowercase() == typed.to_lowercase()
    });
    named.next().filter(|_| named.next().is_none())
}

/// What holds all the words, kind by kind.
fn found<'a>(things: &'a [Thing], typed: &str) -> Vec<(&'static str, Vec<&'a Thing>)> {
    let words: Vec<String> = typed.split_whitespace().map(str::to_lowercase).collect();
    let holds = |thing: &&Thing| {
        let text = format!("{} {} {}", thing.noun, thing.name, thing.what).to_lowercase();
        !words.is_empty() && words.iter().all(|word| text.contains(word))
    };
    let mut found: Vec<(&'static str, Vec<&Thing>)> = Vec::new();
    for thing in things.iter().filter(holds) {
        match found.last_mut() {
            Some((noun, things)) if *noun == thing.noun => things.push(thing),
            _ => found.push((thing.noun, vec![thing])),
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    fn thing(noun: &'static str, name: &str, what: &str) -> Thing {
        Thing { noun, name: name.to_owned(), what: what.to_owned() }
    }

    #[test]
    fn names_and_words_are_found_whatever_their_case() {
        let things = [
            thing("card", "OFF:MAG", "Take the magneto off"),
            thing("item", "MAG", "Left magneto"),
        ];
        assert_eq!(exact(&things, "mag").unwrap().noun, "item");
        assert!(exact(&things, "").is_none());
        assert_eq!(found(&things, "MAGNETO").len(), 2);
        assert_eq!(found(&things, "left magneto")[0].1[0].name, "MAG");
        assert!(found(&things, " ").is_empty());
    }
}
