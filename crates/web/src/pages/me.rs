//! What is somebody's own: how they see things, where they are signed in, their second
//! step, tokens and calendar links. None of it is a part of the record.

mod passes;
mod second;

pub(crate) use passes::{new_calendar, new_token, revoke};
pub(crate) use second::{
    ask_of_other, remove, remove_of_other, set as set_second, show as show_second,
};

use app::{PREFERENCES, Preferences};
use axum::extract::{Form, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use maud::{Markup, html};

use crate::fault;
use crate::layout::page_with;
use crate::session::Note;
use crate::sign_in::{Fields, field};
use crate::site::Site;
use crate::viewer::Viewer;

pub(crate) const PATH: &str = "/me";
/// The styles that these pages need besides.
pub(crate) const STYLES: [&str; 1] = ["trust"];

/// What was wrong with a part that was sent: which part, and what.
#[derive(Debug, Clone, Copy, Default)]
struct Wrong<'a> {
    part: &'a str,
    what: &'a str,
}

/// `GET /me`.
pub(crate) async fn get(State(site): State<Site>, viewer: Viewer) -> Response {
    whole(&site, &viewer, StatusCode::OK, &Fields::new(), Wrong::default())
}

fn whole(
    site: &Site,
    viewer: &Viewer,
    status: StatusCode,
    typed: &Fields,
    wrong: Wrong<'_>,
) -> Response {
    let content = html! {
        h1 { (viewer.name) }
        p.ways { a href=(crate::links::path_of("person", &viewer.person)) { "What you may sign, and what lies with you" } }
        p { "What stands here is yours and is no part of the record: it is kept beside it, and \
             may be changed at any time." }
        (view(viewer))
        (sessions(site, viewer))
        (second::summary(site, viewer))
        (passes::section(site, viewer, typed, wrong))
    };
    let page = page_with(site, viewer, (PATH, &viewer.name), &STYLES, &content);
    (status, page).into_response()
}

/// How they see things.
fn view(viewer: &Viewer) -> Markup {
    html! {
        section {
            h2 #view { "How you see things" }
            form.own method="post" action="/me/view" {
                input type="hidden" name="_csrf" value=(viewer.csrf);
                @for (name, label, words) in &PREFERENCES {
                    div.field {
                        label for=(name) { (label) }
                        select id=(name) name=(name) {
                            @for (word, says) in *words {
                                option value=(word) selected[viewer.prefers.word(name) == *word] { (says) }
                            }
                        }
                    }
                }
                button { "Show it so" }
            }
            p.hint data-as-is { "It changes what pages show. What is signed, exported or sent to programs \
                      stays as it was typed, with days such as 2026-11-27." }
        }
    }
}

/// `POST /me/view`.
pub(crate) async fn choose(
    State(site): State<Site>,
    viewer: Viewer,
    Form(typed): Form<Fields>,
) -> Response {
    if !viewer.sent(field(&typed, "_csrf")) {
        return fault::foreign();
    }
    let chosen = Preferences::from_words(|name| Some(field(&typed, name)));
    let (desk, person) = (site.config.desk.clone(), viewer.person.clone());
    match site.aside(move || chosen.keep(&desk, &person)).await {
        Ok(()) => back(&site, &viewer, "Shown so from now on."),
        Err(error) => fault::of_app(&error),
    }
}

/// To the page again, which tells what was done.
fn back(site: &Site, viewer: &Viewer, told: &str) -> Response {
    back_with(site, viewer, Note::aside(told))
}

fn back_with(site: &Site, viewer: &Viewer, told: Note) -> Response {
    site.sessions.note(&viewer.session, vec![told]);
    Redirect::to(PATH).into_response()
}

fn sessions(site: &Site, viewer: &Viewer) -> Markup {
    let own = site.sessions.of(&viewer.person);
    html! {
        section {
            h2 #sessions { "Where you are signed in " span.count { (own.len()) } }
            ul.lines.own {
                @for (id, session) in &own {
                    @let here = *id == viewer.session;
                    li {
                        span {
                            (session.about) ", since " (when(&session.begun))
                            @if here { " " strong { "(this one)" } }
                        }
                        form method="post" action="/me/session" {
                            input type="hidden" name="_csrf" value=(viewer.csrf);
                            input type="hidden" name="session" value=(session.name);
                            button.quiet { @if here { "Sign out" } @else { "End it" } span.unseen { " " (session.about) } }
                        }
                    }
                }
            }
            form method="post" action="/sign-out-everywhere" {
                input type="hidden" name="_csrf" value=(viewer.csrf);
                button.quiet { "End all of them" }
            }
        }
    }
}

/// A moment as people read it: the day and the minute.
pub(super) fn when(stamp: &str) -> String {
    stamp.get(..16).map_or_else(|| stamp.to_owned(), |at| at.replace('T', " "))
}

/// `POST /me/session`.
pub(crate) async fn end_session(
    State(site): State<Site>,
    viewer: Viewer,
    Form(typed): Form<Fields>,
) -> Response {
    if !viewer.sent(field(&typed, "_csrf")) {
        return fault::foreign();
    }
    let own = site.sessions.of(&viewer.person);
    let found = own.iter().find(|(_, session)| session.name == field(&typed, "session"));
    if let Some((id, _)) = found {
        site.sessions.end(id);
    }
    back(&site, &viewer, "That session has ended.")
}
