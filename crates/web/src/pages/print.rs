//! Prints: a card, a tag, a despatch note.

use app::{Bench, BenchStep, Coded, Head, Paper, Signature};
use axum::extract::{Path, Query, State};
use axum::response::{IntoResponse, Response};
use maud::{Markup, html};

use crate::pages::{bench, code};
use crate::sign_in::{Fields, field};
use crate::site::Site;
use crate::viewer::Viewer;
use crate::{fault, layout, links};

/// `GET /card/{job}/print`.
pub(crate) async fn card(
    State(site): State<Site>,
    viewer: Viewer,
    Path(job): Path<String>,
) -> Response {
    let snapshot = site.snapshot();
    let made = app::bench(&snapshot.programme, &job, &viewer.person, site.now());
    let card = match made {
        Ok(card) => card,
        Err(error) => return fault::of_app(&error),
    };
    let head = app::head(&snapshot.programme);
    let cautions = app::cautions(&snapshot.programme, &job);
    let above = above(&bench::path(&job), "The card", None);
    let printed = Printed::now(&site, snapshot.number);
    let paper = html! {
        article.a4 tabindex="0" aria-label="The card as it is printed" {
            (card_head(&head, &card))
            (card_top(&site, &card, &cautions))
            table.sheet {
                colgroup { col.number; col.what; col.measured; col.signed; col.looked; }
                // Repeated on every page.
                thead {
                    tr { td colspan="5" { strong { "Job card " (card.job) } ", " (card.title) ". " (head.programme) " " (invented(&head)) " " span.small { (printed.words()) " The record is what counts." } } }
                    tr.names { th scope="col" { "Step" } th scope="col" { "What is done, by which data" } th scope="col" { "Measured" } th scope="col" { "Signed" } th scope="col" { "Inspected" } }
                }
                @for step in &card.steps { (card_step(step)) }
                tbody.last { tr { td colspan="5" { (card_end(&card, &printed)) } } }
            }
        }
    };
    layout::print(&viewer, &format!("Card {job}"), &[], &above, &paper).into_response()
}

fn above(back: &str, word: &str, other: Option<(&str, &str)>) -> Markup {
    html! {
        p {
            a href=(back) { (word) }
            @if let Some((path, word)) = other { " · " a href=(path) { (word) } }
            " · Print this page from the browser: nothing above the line is printed."
        }
    }
}

fn invented(head: &Head) -> Markup {
    html! { @if head.invented { span.stamp { "INVENTED" } } }
}

fn card_head(head: &Head, card: &Bench) -> Markup {
    html! {
        div.head {
            div { strong { (head.programme) } br; (head.aircraft) @if !head.keeper.is_empty() { br; (head.keeper) } }
            div.right { strong { "Job card " (card.job) } br; (card.title) " " (invented(head)) }
        }
    }
}

fn card_top(site: &Site, card: &Bench, cautions: &[&str]) -> Markup {
    html! {
        div.lead {
            div {
                h1 { (card.title) }
                dl.print {
                    dt { "Card" } dd { (card.job) }
                    @if let Some((item, name)) = &card.item { dt { "Item" } dd { (item) ", " (name) } }
                    @if !card.numbers.is_empty() { dt { "Numbers" } dd { (card.numbers) } }
                    @if let Some(pack) = &card.pack { dt { "Pack" } dd { (pack) } }
                    dt { "Issued" } dd { (stamped(&card.issued)) }
                    @if !card.tools.is_empty() { dt { "Tools out" } dd { (card.tools.join(", ")) } }
                }
            }
            (code::drawn(site, Coded::Card, &card.job))
        }
        div.cautions { strong { "Cautions" } ul { @for caution in cautions { li { (caution) } } } }
    }
}

fn stamped(mark: &Signature) -> String {
    let at = mark.at.strftime("%Y-%m-%d %H:%M");
    format!("{} ({}), {at}, entry {}", mark.who, mark.person, mark.entry)
}

/// A step, whole on one page, with room for ink where nothing is signed yet.
fn card_step(step: &BenchStep) -> Markup {
    html! {
        tbody.one {
            tr {
                td { strong { (step.step) } @if step.critical { br; span.stamp { "CRITICAL" } } }
                td {
                    p { (step.text) }
                    p.data { (step.data.as_deref().unwrap_or("No data named")) }
                    @if step.independent { p.data { "Inspected twice, the second time by somebody who had no part in the work." } }
                    @for query in &step.queries { p { strong { "Query " (query) " is open: not to be signed." } } }
                }
                td {
                    @if step.readings.is_empty() {
                        @for limit in &step.limits { p { (limit.name) ": " (limit.range) span.ink {} } }
                    } @else { @for reading in &step.readings { p { (reading) } } }
                }
                td {
                    (space(step.signed.as_ref(), ""))
                    @match &step.supervisor {
                        Some((_, Some(own))) => { p { "supervised: " (stamped(own)) } }
                        Some((who, None)) => { p { "supervised by " (who) span.ink {} } }
                        None => {}
                    }
                }
                td {
                    @if step.inspected { (space(step.first.as_ref(), "first")) }
                    @if step.independent { (space(step.second.as_ref(), "second")) }
                    @if !step.inspected { p.data { "none asked for" } }
                }
            }
        }
    }
}

fn space(mark: Option<&Signature>, word: &str) -> Markup {
    html! {
        p {
            @if !word.is_empty() { (word) ": " }
            @match mark { Some(mark) => { (stamped(mark)) } None => { span.ink {} span.small { "name, date, time" } } }
        }
    }
}

/// When something was printed, and of which state of the record.
struct Printed {
    at: String,
    entry: u64,
}

impl Printed {
    fn now(site: &Site, entry: u64) -> Self {
        Self { at: site.now().strftime("%Y-%m-%d %H:%M").to_string(), entry }
    }

    fn words(&self) -> String {
        format!("Printed {} as it stood after entry {}.", self.at, self.entry)
    }
}

fn card_end(card: &Bench, printed: &Printed) -> Markup {
    html! {
        div.end {
            @match &card.finished {
                Some(done) => { p { strong { "Certified complete: " } (stamped(done)) } }
                None => { p { strong { "Place clear of tools and loose parts; certified complete: " } span.ink {} } }
            }
            p.small {
                (printed.words()) " The record is what counts, not this print. What is written here by hand counts \
                 once it is entered in the record. This card supports approved data, licensed engineers and \
                 the authority, and replaces none of them; it releases nothing."
            }
        }
    }
}

/// `GET /tag/{item}`.
pub(crate) async fn tag(
    State(site): State<Site>,
    viewer: Viewer,
    Path(item): Path<String>,
) -> Response {
    let snapshot = site.snapshot();
    let programme = snapshot.programme;
    match app::tag_paper(&programme, &item) {
        Ok(paper) => {
            let codes = html! {
                (code::drawn(&site, Coded::Tag, &item))
            };
            let printed = Printed::now(&site, snapshot.number);
            let shown = Note {
                kind: "Tag",
                class: "a6",
                paper: &paper,
                codes: &codes,
                printed: &printed,
            };
            shown.answer(&viewer, &app::head(&programme))
        }
        Err(error) => fault::of_app(&error),
    }
}

/// `GET /despatch/{item}`, of the entry that `?entry=` names or the last one.
pub(crate) async fn despatch(
    State(site): State<Site>,
    viewer: Viewer,
    Path(item): Path<String>,
    Query(asked): Query<Fields>,
) -> Response {
    let snapshot = site.snapshot();
    let programme = snapshot.programme;
    let entry = field(&asked, "entry").parse().ok();
    match app::despatch_paper(&programme, &item, entry) {
        Ok(paper) => {
            let name = app::despatch_name(&item, paper.entry.unwrap_or_default());
            let codes = code::drawn(&site, Coded::Despatch, &name);
            let printed = Printed::now(&site, snapshot.number);
            let shown = Note {
                kind: "Despatch note",
                class: "a4",
                paper: &paper,
                codes: &codes,
                printed: &printed,
            };
            shown.answer(&viewer, &app::head(&programme))
        }
        Err(error) => fault::of_app(&error),
    }
}

struct Note<'a> {
    kind: &'static str,
    class: &'static str,
    paper: &'a Paper,
    codes: &'a Markup,
    printed: &'a Printed,
}

impl Note<'_> {
    fn answer(&self, viewer: &Viewer, head: &Head) -> Response {
        let Self { kind, class, paper, codes, printed } = self;
        let board = Some(("/parts", "Where parts are"));
        let above = above(&links::path_of("item", &paper.item), "The part", board);
        let content = html! {
            article class={ "note " (class) } {
                div.head {
                    div { strong { (head.programme) } br; (head.aircraft) @if !head.keeper.is_empty() { br; (head.keeper) } }
                    div.right { strong { (kind) } " " (invented(head)) }
                }
                div.lead {
                    div { h1 { (paper.item) } p.called { (paper.name) } }
                    (codes)
                }
                dl.print { @for (what, how) in &paper.facts { dt { (crate::table::sentence(what)) } dd { (how) } } }
                div.cautions { ul { @for caution in &paper.cautions { li { (caution) } } } }
                p.small { "Signed: " (paper.signed) }
                @if *class == "a4" {
                    p { "Handed over: " span.ink {} } p { "Received: " span.ink {} }
                }
                p.small { (printed.words()) " The record is what counts. No release document: it says what the record holds." }
            }
        };
        let title = format!("{kind} {}", paper.item);
        let stems: &[&str] = if *class == "a6" { &["label"] } else { &[] };
        layout::print(viewer, &title, stems, &above, &content).into_response()
    }
}
