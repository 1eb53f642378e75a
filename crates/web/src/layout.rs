//! What surrounds every page.

use maud::{DOCTYPE, Markup, html};

use crate::assets;
use crate::shown::shown;
use crate::site::Site;
use crate::viewer::Viewer;

/// The ways that are used most, those of the floor first: on a phone the bar begins with them.
const WAYS: &[(&str, &str)] = &[
    ("/", "Where we are"),
    ("/today", "Today"),
    ("/show/cards", "Cards"),
    ("/findings", "Findings"),
    ("/parts", "Parts"),
    ("/survey", "Survey"),
    ("/aircraft", "Aircraft"),
    ("/season", "Season"),
    ("/gates", "Gates"),
];

/// All others, by what they are for; they open below the bar.
const MORE: &[(&str, &[(&str, &str)])] = &[
    ("Floor", &[("/scan", "Read a code"), ("/aircraft/reach", "Way to a place")]),
    (
        "Proof",
        &[
            ("/record", "Record"),
            ("/record/verify", "Verify the record"),
            ("/rules", "Rules"),
        ],
    ),
    ("People", &[("/people", "People and authority"), ("/people/roles", "Open to whom")]),
    (
        "Office",
        &[
            ("/show/money", "Money"),
            ("/show/letters", "Letters"),
            ("/import", "Set up from spreadsheets"),
            ("/lists", "All lists"),
        ],
    ),
];

/// A page for somebody who is signed in. `path` is its own, so that its way is marked.
pub(crate) fn page(
    site: &Site,
    viewer: &Viewer,
    (path, title): (&str, &str),
    content: &Markup,
) -> Markup {
    page_with(site, viewer, (path, title), &[], content)
}

/// The same with styles and scripts of its own, by their stems in `assets`.
pub(crate) fn page_with(
    site: &Site,
    viewer: &Viewer,
    (path, title): (&str, &str),
    stems: &[&str],
    content: &Markup,
) -> Markup {
    let snapshot = site.snapshot();
    // What is told once is told to somebody: not to a page that looks for changes by itself.
    let notes =
        if viewer.live { Vec::new() } else { site.sessions.take_notes(&viewer.session) };
    let info = snapshot.programme.info.as_deref();
    let trouble = site.config.desk.trouble();
    let body = html! {
        header {
            div.top {
                a.name href="/" { (info.map_or("Turnbuckle", |info| &info.name)) }
                @if info.is_some_and(|info| info.invented) {
                    span.invented { "invented" }
                }
                form.find action="/search" role="search" {
                    label.unseen for="find" { "Search" }
                    input #find type="search" name="q" placeholder="Find anything"
                        autocomplete="off" aria-keyshortcuts="/";
                    button { "Find" }
                }
                (oneself(viewer))
            }
            (ways(viewer, path))
        }
        p.changed data-after=(snapshot.number) hidden role="status" {
            "Something changed since this page was made. "
            a href="" { "Load it again" }
        }
        main #main tabindex="-1" {
            @if let Some(trouble) = trouble {
                p.wrong role="alert" {
                    "The ledger can't be read now, and what you see may be old: " (trouble)
                }
            }
            @if !notes.is_empty() {
                div.kept role="status" data-entered[notes.iter().any(|note| note.entered)] {
                    @for note in &notes { (note.told) }
                }
            }
            (content)
        }
        footer {
            p {
                "As it stands after entry " (snapshot.number) ". Turnbuckle supports approved "
                "data, licensed engineers and the authority, and replaces none of them."
            }
        }
    };
    let stems: Vec<&str> = ["kept"].iter().chain(stems).copied().collect();
    shell(title, &stems, Some(viewer), body)
}

/// The way to one's own page, and out.
fn oneself(viewer: &Viewer) -> Markup {
    html! {
        a.me href=(crate::pages::me::PATH) { (viewer.name) }
        form.out method="post" action="/sign-out" {
            input type="hidden" name="_csrf" value=(viewer.csrf);
            button.quiet { "Sign out" }
        }
    }
}

/// The bar: what is used most, and a menu of all else that opens without a script.
fn ways(viewer: &Viewer, path: &str) -> Markup {
    let way = |(way, word): (&str, &str)| {
        html! { a href=(way) aria-current=[(way == path).then_some("page")] { (word) } }
    };
    let mut others = MORE.iter().flat_map(|(_, ways)| ways.iter());
    let other = others.find(|(way, _)| *way == path);
    html! {
        nav aria-label="Ways" {
            div.most {
                // Whoever reads and signs nothing has nothing to enter.
                @for &one in WAYS.iter().filter(|(way, _)| *way != "/survey" || viewer.may("raise")) {
                    (way(one))
                }
                @if !viewer.observes { (way(("/act", "Sign something"))) }
            }
            details.more {
                summary .here[other.is_some()] {
                    "More" @if let Some((_, word)) = other { span.unseen { ", of which you see " (word) } }
                }
                div.all {
                    @for (group, ways) in MORE {
                        div {
                            p { (group) }
                            @for &one in *ways { (way(one)) }
                        }
                    }
                    // On a phone it stands here, so that two rows are enough above the content.
                    div.oneself { p { "Signed in" } (oneself(viewer)) }
                }
            }
        }
    }
}

/// A page for a screen on a wall: no ways, no forms, nothing to touch.
pub(crate) fn wall(site: &Site, title: &str, content: &Markup) -> Markup {
    let snapshot = site.snapshot();
    let trouble = site.config.desk.trouble();
    let body = html! {
        p.changed data-after=(snapshot.number) hidden role="status" {
            "This page may be old. " a href="" { "Load it again" }
        }
        main.wall #main tabindex="-1" {
            @if let Some(trouble) = trouble {
                p.wrong role="alert" { "The ledger can't be read now: " (trouble) }
            }
            (content)
        }
    };
    shell(title, &["wall"], None, body)
}

/// A page that is made to be printed, with styles of its own besides: what stands above it
/// is not printed.
pub(crate) fn print(
    viewer: &Viewer,
    title: &str,
    stems: &[&str],
    above: &Markup,
    paper: &Markup,
) -> Markup {
    let body = html! {
        nav.above aria-label="About this print" { (above) }
        main.paper #main tabindex="-1" { (paper) }
    };
    let stems: Vec<&str> = ["kept", "print"].iter().chain(stems).copied().collect();
    shell(title, &stems, Some(viewer), body)
}

/// A page for somebody who is not signed in.
pub(crate) fn bare(title: &str, content: &Markup) -> Markup {
    bare_with(title, &[], content)
}

/// The same with styles and scripts of its own.
pub(crate) fn bare_with(title: &str, stems: &[&str], content: &Markup) -> Markup {
    shell(title, stems, None, html! { main.bare #main tabindex="-1" { (content) } })
}

/// All of a page. Scripts that keep things on the device keep them for whom it is made.
fn shell(title: &str, stems: &[&str], viewer: Option<&Viewer>, body: Markup) -> Markup {
    let who = viewer.map(|viewer| viewer.person.as_str());
    let word = |name| viewer.map(|viewer| viewer.prefers.word(name));
    let theme = word("theme").filter(|theme| *theme != "system");
    let text = word("text").filter(|text| *text != "usual");
    let body = match viewer {
        Some(viewer) => shown(body, &viewer.prefers),
        None => body,
    };
    html! {
        (DOCTYPE)
        html lang="en-GB" data-theme=[theme] data-text=[text] {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content=(theme.unwrap_or("light dark"));
                title { (title) " – Turnbuckle" }
                link rel="icon" href=(assets::path("mark")) type="image/svg+xml";
                link rel="stylesheet" href=(assets::path("page"));
                script src=(assets::path("live")) defer {}
                @for stem in stems { (assets::element(stem)) }
            }
            body data-who=[who] {
                a.skip href="#main" { "Skip to the content" }
                (body)
            }
        }
    }
}
