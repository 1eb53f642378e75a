//! Where every part is, with what is done next about it.

use app::{Board, BoardAsked, BoardPart, Whereabout};
use axum::extract::{Query, State};
use axum::response::{IntoResponse, Response};
use maud::{Markup, html};

use crate::fault;
use crate::layout::page;
use crate::links::{encoded, link, query};
use crate::pages::act;
use crate::sign_in::{Fields, field};
use crate::site::Site;
use crate::viewer::Viewer;

/// So many parts of a group are shown; the rest is narrowed for.
const SHOWN: usize = 200;

/// `GET /parts`.
pub(crate) async fn get(
    State(site): State<Site>,
    viewer: Viewer,
    Query(typed): Query<Fields>,
) -> Response {
    let asked = asked(&typed);
    let (programme, today) = (site.snapshot().programme, site.today());
    let board = {
        let asked = asked.clone();
        site.aside(move || Ok(app::whereabouts(&programme, today, &asked))).await
    };
    let board = match board {
        Ok(board) => board,
        Err(error) => return fault::of_app(&error),
    };
    let content = html! {
        h1 { "Where parts are" }
        p.ways { a href="/scan" { "Find by code" } " · " a href="/show/parts" { "As a list" } " · " a href="/show/lives" { "Limited lives" } }
        (narrow(&asked, &board))
        div data-part="board" {
            @if board.groups.is_empty() { p.none { "No part answers to this." } }
            @for (at, parts) in &board.groups { (group(&viewer, *at, parts)) }
            (shelf(&board))
            (due(&viewer, &board))
        }
    };
    page(&site, &viewer, ("/parts", "Where parts are"), &content).into_response()
}

fn asked(typed: &Fields) -> BoardAsked {
    let at = field(typed, "at");
    BoardAsked {
        at: Whereabout::ALL.into_iter().find(|one| one.word() == at),
        words: field(typed, "has").trim().to_owned(),
        late: field(typed, "late") == "1",
    }
}

fn narrow(asked: &BoardAsked, board: &Board) -> Markup {
    html! {
        form.narrow role="search" aria-label="Narrow the board" {
            div {
                label for="at" { "Where" }
                select #at name="at" {
                    option value="" { "Anywhere off the aircraft" }
                    @for (at, count) in &board.counts {
                        option value=(at.word()) selected[asked.at == Some(*at)] { (at.title()) " (" (count) ")" }
                    }
                }
            }
            div {
                label for="has" { "Holds these words" }
                input #has name="has" type="search" value=(asked.words);
            }
            label.box { input type="checkbox" name="late" value="1" checked[asked.late]; " Late only (" (board.late) ")" }
            button { "Show" }
            @if *asked != BoardAsked::default() { a href="/parts" { "Show all" } }
        }
        nav.tallies aria-label="How many there are" {
            @for (at, count) in board.counts.iter().filter(|(_, count)| *count > 0) {
                a href={ "/parts" (query([("at", at.word())])) } aria-current=[(asked.at == Some(*at)).then_some("true")] {
                    strong { (count) } " " (at.title())
                }
            }
        }
    }
}

/// The ways from a part's own page: the board where it stands, and its papers.
pub(crate) fn ways(site: &Site, item: &str) -> Markup {
    let programme = site.snapshot().programme;
    let Some(part) = app::board_part(&programme, item, site.today()) else {
        return html! {};
    };
    html! {
        a href={ "/parts" (query([("at", part.at.word())])) } { "On the board: " (part.at.title()) } " · "
        (papers(&part, None))
    }
}

/// What can be printed of a part.
fn papers(part: &BoardPart, class: Option<&str>) -> Markup {
    let between = class.is_none();
    html! {
        @if part.tagged {
            a class=[class] href={ "/tag/" (encoded(&part.item)) } { "Print tag" span.unseen { " of " (part.item) } }
            @if between { " · " }
        }
        @if let Some(entry) = part.sent {
            a class=[class] href={ "/despatch/" (encoded(&part.item)) (query([("entry", entry.to_string().as_str())])) } { "Print note" span.unseen { " of " (part.item) } }
            @if between { " · " }
        }
    }
}

fn group(viewer: &Viewer, at: Whereabout, parts: &[BoardPart]) -> Markup {
    let id = at.word();
    html! {
        section.whereabout aria-labelledby=(id) {
            h2 id=(id) { (at.title()) " " span.count { (parts.len()) } }
            ul.board { @for part in parts.iter().take(SHOWN) { (one(viewer, part)) } }
            @if parts.len() > SHOWN { p { "The first " (SHOWN) " are shown; narrow the board by words." } }
        }
    }
}

fn one(viewer: &Viewer, part: &BoardPart) -> Markup {
    html! {
        li {
            div.what { (link("item", &part.item)) " " (part.name) }
            div.where {
                (part.place)
                @if let Some(due) = part.due {
                    ", due " (due)
                    @if part.late > 0 { " " span.mark.wrong { (part.late) @if part.late == 1 { " day late" } @else { " days late" } } }
                }
            }
            div.class { (part.class) @for note in &part.notes { br; span.why { (note) } } }
            div.acts {
                @for word in part.acts.iter().filter(|word| viewer.may(word)) {
                    a.act href=(act::path(word, [("item", part.item.as_str()), ("_back", "parts")])) { (act::words(word)) span.unseen { " " (part.item) } }
                }
                (papers(part, Some("act")))
            }
        }
    }
}

fn shelf(board: &Board) -> Markup {
    html! {
        section aria-labelledby="shelf" {
            h2 #shelf { "Lives on the shelf that end " span.count { (board.shelf.len()) } }
            @if board.shelf.is_empty() { p.none { "No batch runs out in the next weeks." } }
            ul.lines {
                @for life in &board.shelf {
                    li {
                        (link("batch", &life.batch)) " " (life.material) ", " (life.left) " left, until " (life.until) " "
                        @if life.days < 0 { span.mark.wrong { "over: not to be used" } }
                        @else { span.mark { (life.days) @if life.days == 1 { " day" } @else { " days" } } }
                    }
                }
            }
        }
    }
}

fn due(viewer: &Viewer, board: &Board) -> Markup {
    html! {
        section aria-labelledby="due" {
            h2 #due { "Due in store " span.count { (board.due.len()) } }
            @if board.due.is_empty() { p.none { "Nothing is due in store." } }
            ul.lines.acts {
                @for due in &board.due {
                    li {
                        span { (link("item", &due.item)) " " (due.task) ", due " (due.due) @if due.late > 0 { " " span.mark.wrong { "late" } } }
                        @if viewer.may("store-done") {
                            a.act href=(act::path("store-done", [("item", due.item.as_str()), ("task", due.task.as_str())])) { "Done" span.unseen { " " (due.item) " " (due.task) } }
                        }
                    }
                }
            }
        }
    }
}
