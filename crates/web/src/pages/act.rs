//! Every act as a form: asked for, judged, kept once.

mod entering;
mod offered;
mod told;
mod why;

use std::sync::OnceLock;

use app::{ActForm, Problem};
use axum::extract::{Path, Query, Request, State};
use axum::response::{IntoResponse, Redirect, Response};
use maud::{Markup, html};

use crate::fault;
use crate::layout::page;
use crate::links::query;
use crate::pages::bench::{self, BACK};
use crate::pages::form::{self, Filled};
use crate::sign_in::{self, Fields, field, secret_field};
use crate::site::Site;
use crate::table::sentence;
use crate::upload::{self, Files};
use crate::viewer::{self, Viewer};

pub(crate) use entering::{Failed, as_new, enter};
pub(crate) use offered::of_thing;
use told::page_of;
pub(crate) use told::{Told, told};
pub(crate) use why::{Why, both, carried, reasons};

pub(crate) fn forms() -> &'static [ActForm] {
    static FORMS: OnceLock<Vec<ActForm>> = OnceLock::new();
    FORMS.get_or_init(app::act_forms)
}

pub(crate) fn form_of(word: &str) -> Option<&'static ActForm> {
    forms().iter().find(|form| form.word == word)
}

/// The path of an act's form with fields filled in.
pub(crate) fn path<'a>(
    word: &str,
    fields: impl IntoIterator<Item = (&'a str, &'a str)>,
) -> String {
    format!("/act/{word}{}", query(fields))
}

/// An act's word as people say it.
pub(crate) fn words(word: &str) -> String {
    sentence(&word.replace('-', " "))
}

/// `GET /act`: all acts, area by area.
pub(crate) async fn index(State(site): State<Site>, viewer: Viewer) -> Response {
    let mut areas: Vec<(&str, Vec<&ActForm>)> = Vec::new();
    for form in forms().iter().filter(|form| viewer.may(form.word)) {
        match areas.last_mut() {
            Some((area, forms)) if *area == form.area => forms.push(form),
            _ => areas.push((form.area, vec![form])),
        }
    }
    let content = html! {
        h1 { "Sign something" }
        p { "Most of these are quicker from the page of the card, finding, part, gate or tool \
             that they are about: the name is filled in there." }
        @for (area, forms) in &areas {
            section {
                h2 { (sentence(area)) }
                dl.found {
                    @for form in forms {
                        div {
                            dt { a href={ "/act/" (form.word) } { (words(form.word)) } }
                            dd { (form.doc) }
                        }
                    }
                }
            }
        }
    };
    page(&site, &viewer, ("/act", "Sign something"), &content).into_response()
}

/// `GET /act/{word}`: the form, with the fields that the address gives.
pub(crate) async fn get(
    State(site): State<Site>,
    viewer: Viewer,
    Path(word): Path<String>,
    Query(typed): Query<Fields>,
) -> Response {
    let Some(form) = form_of(&word) else { return fault::not_found() };
    if !viewer.may(form.word) {
        return not_yours(form);
    }
    // Only what the form asks for can be filled in by a link, and where it leads back to.
    let may = |name: &str| !name.starts_with('_') || name == BACK;
    let typed = typed.into_iter().filter(|(name, _)| may(name)).collect();
    asked(&site, &viewer, form, &typed, &Why::Asked)
}

/// The form of an act with fields that another page knows.
pub(crate) fn open(site: &Site, viewer: &Viewer, word: &str, typed: &Fields) -> Response {
    let Some(form) = form_of(word) else { return fault::not_found() };
    if !viewer.may(form.word) {
        return not_yours(form);
    }
    asked(site, viewer, form, typed, &Why::Asked)
}

/// The form of somebody who had to sign in again.
pub(crate) fn again(
    site: &Site,
    viewer: &Viewer,
    word: &str,
    typed: &Fields,
) -> Response {
    let Some(form) = form_of(word) else { return fault::not_found() };
    if !viewer.may(form.word) {
        return not_yours(form);
    }
    asked(site, viewer, form, typed, &Why::Again)
}

pub(crate) fn not_yours(form: &ActForm) -> Response {
    let powers = app::powers_for(form.word);
    let asked = if powers.is_empty() {
        "is done by those who have any".to_owned()
    } else {
        format!("asks for an authority to {}", powers.join(", or to "))
    };
    fault::may_not(&format!("`{}` {asked}.", form.word))
}

/// `POST /act/{word}`.
pub(crate) async fn post(
    State(site): State<Site>,
    Path(word): Path<String>,
    request: Request,
) -> Response {
    let viewer = viewer::find(&site, request.headers());
    let files = if viewer.is_some() { Files::Keep } else { Files::Drop };
    let carried = match upload::read(request, files).await {
        Ok(carried) => carried,
        Err(unread) => return unread,
    };
    let Some(viewer) = viewer else {
        return sign_in::interrupted(&site, &word, &carried.fields);
    };
    let Some(form) = form_of(&word) else { return fault::not_found() };
    if !viewer.sent(field(&carried.fields, "_csrf")) {
        let typed = carried.fields;
        let why = Why::Other("this form was made before you signed in: sign it again");
        return asked(&site, &viewer, form, &typed, &why);
    }
    if !viewer.may(form.word) {
        return not_yours(form);
    }
    let (typed, unfit) = upload::attach(&site, &form.fields, carried).await;
    if !field(&typed, "_more").is_empty() && unfit.is_empty() {
        return asked(&site, &viewer, form, &typed, &Why::Asked);
    }
    sign(&site, &viewer, form, &typed, unfit).await
}

async fn sign(
    site: &Site,
    viewer: &Viewer,
    form: &ActForm,
    typed: &Fields,
    unfit: Vec<Problem>,
) -> Response {
    let before = site.snapshot();
    match enter(site, viewer, form, (typed, unfit)).await {
        Ok(kept) => {
            told(site, viewer, &kept, &Told { form, typed, before, says: None }).await;
            Redirect::to(&page_of(form, typed)).into_response()
        }
        Err(failed) => asked(site, viewer, form, &as_new(typed, &failed), &failed.why()),
    }
}

fn asked(
    site: &Site,
    viewer: &Viewer,
    form: &ActForm,
    typed: &Fields,
    why: &Why<'_>,
) -> Response {
    let snapshot = site.snapshot();
    let problems = if let Why::Unread(problems) = why { problems } else { &[][..] };
    let index = site.index(&snapshot);
    let filled =
        Filled { programme: &snapshot.programme, things: &index.things, typed, problems };
    let Some(unseen) = carried(viewer, typed, why, snapshot.number) else {
        return fault::panicked();
    };
    let secret = if let Why::Secret(wrong) = why { wrong } else { "" };
    let short = bench::short(site, viewer, form, &filled);
    let (title, doc) = match &short {
        Some((title, _)) => (title.clone(), ""),
        None => (words(form.word), form.doc),
    };
    let content = html! {
        h1 { (title) }
        @if !doc.is_empty() { p.doc { (doc) } }
        (reasons(form, why))
        form.act.short[short.is_some()] method="post" action={ "/act/" (form.word) }
            enctype=[upload::enctype(&form.fields)] {
            // Enter signs, and does not ask for more rows.
            button.unseen tabindex="-1" aria-hidden="true" { "Sign" }
            (unseen)
            @if let Some((_, fields)) = &short {
                (fields)
            } @else if form.word == "enrol" {
                (new_secret(form, &filled))
            } @else {
                @if !field(typed, BACK).is_empty() {
                    input type="hidden" name=(BACK) value=(field(typed, BACK));
                }
                (form::fields(form, &filled))
            }
            div.sign {
                p { "Signed by " strong { (viewer.name) } " (" (viewer.person) "), now." }
                (secret_field("_secret", "Your secret", secret, "current-password"))
                button {
                    @if !title.starts_with("Sign") { "Sign: " }
                    (if title.starts_with("Sign") { title.clone() } else { title.to_lowercase() })
                }
            }
        }
    };
    let path = format!("/act/{}", form.word);
    let page = page(site, viewer, (&path, &title), &content);
    (why.status(), page).into_response()
}

fn new_secret(form: &ActForm, filled: &Filled<'_>) -> Markup {
    let own = |name: &&app::FieldForm| matches!(name.name, "person" | "reason");
    let fields = form.fields.iter().filter(own).cloned().collect();
    let form = ActForm { fields, ..form.clone() };
    html! {
        (form::fields(&form, filled))
        p { "Whose secret it is types it here, twice; nobody else needs to know it." }
        (secret_field("_new", "The new secret: ten characters or more, some words", "",
            "new-password"))
        (secret_field("_again", "The same once more", "", "new-password"))
    }
}
