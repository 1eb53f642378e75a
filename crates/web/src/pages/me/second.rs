//! The second step of signing in: set up, taken away, and taken away for somebody whose
//! device is lost.

use app::Secret;
use axum::extract::{Form, Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use fast_qr::QRBuilder;
use maud::{Markup, html};

use super::{PATH, STYLES, back, when};
use crate::fault;
use crate::layout::page_with;
use crate::links::{encoded, path_of};
use crate::second::seconds;
use crate::session::Note;
use crate::sign_in::{Fields, field, secret_field};
use crate::site::Site;
use crate::viewer::Viewer;
use crate::ways::APPOINTS;

const TITLE: &str = "A second step when you sign in";

pub(super) fn summary(site: &Site, viewer: &Viewer) -> Markup {
    let programme = site.snapshot().programme;
    let found = app::second_of(&site.config.desk.settings(), &programme, &viewer.person);
    html! {
        section {
            h2 #second { "A second step when you sign in" }
            @match found {
                None => p {
                    "None is set up. With one, your secret alone lets nobody in: a code of your \
                     device is asked too. " a href="/me/second" { "Set it up" }
                },
                Some((since, current, left)) => {
                    p {
                        "A code of your device is asked since " (when(&since))
                        "; " (left) " recovery codes are left."
                    }
                    @if !current {
                        p.wrong { "Your secret was changed since: only recovery codes count. Set it up anew." }
                    }
                    p.ways { a href="/me/second" { "Set it up anew, or take it away" } }
                }
            }
        }
    }
}

/// `GET /me/second`.
pub(crate) async fn show(State(site): State<Site>, viewer: Viewer) -> Response {
    match app::new_code_key() {
        Ok(key) => asked(&site, &viewer, StatusCode::OK, &key, ("", "")),
        Err(error) => fault::of_app(&error),
    }
}

/// The form to set it up, with what was wrong with the code and with the secret.
fn asked(
    site: &Site,
    viewer: &Viewer,
    status: StatusCode,
    key: &str,
    (code_wrong, secret_wrong): (&str, &str),
) -> Response {
    let has = app::has_second(&site.config.desk.settings(), &viewer.person);
    let groups: Vec<&str> =
        (0..key.len()).step_by(4).filter_map(|at| key.get(at..at + 4)).collect();
    let content = html! {
        h1 { (TITLE) }
        p { "Any program for time-based codes will do (RFC 6238: six digits, thirty seconds). Let it \
             read the picture, or type the key." }
        (picture(&app::code_link(&viewer.person, key)))
        p { "The key: " code.key { (groups.join(" ")) } }
        form.own method="post" action="/me/second" {
            input type="hidden" name="_csrf" value=(viewer.csrf);
            input type="hidden" name="_key" value=(key);
            div.field {
                label for="code" { "The code that the device shows now" }
                @if !code_wrong.is_empty() { p.wrong #code-wrong role="alert" { (code_wrong) } }
                input #code name="code" required inputmode="numeric" autocomplete="one-time-code"
                    aria-describedby=[(!code_wrong.is_empty()).then_some("code-wrong")]
                    aria-invalid=[(!code_wrong.is_empty()).then_some("true")];
            }
            (secret_field("_secret", "Your secret", secret_wrong, "current-password"))
            button { @if has { "Set it up anew" } @else { "Set it up" } }
        }
        p.hint { "The key is kept beside the record, encrypted with a key that only your secret makes. If \
                  you change your secret yourself it stays; if somebody else gives you one, only recovery \
                  codes count until it is set up anew." }
        @if has {
            h2 { "Take it away" }
            form.own method="post" action="/me/second/remove" {
                input type="hidden" name="_csrf" value=(viewer.csrf);
                (secret_field("_remove_secret", "Your secret", "", "current-password"))
                button.quiet { "Take it away" }
            }
        }
    };
    let page = page_with(site, viewer, ("/me/second", TITLE), &STYLES, &content);
    (status, page).into_response()
}

/// A text as a picture that a device reads (ISO/IEC 18004), dark on light whatever the theme.
fn picture(text: &str) -> Markup {
    use std::fmt::Write;
    const EDGE: usize = 4;
    let Ok(code) = QRBuilder::new(text).build() else { return html! {} };
    let mut path = String::new();
    for row in 0..code.size {
        for (column, module) in code[row].iter().enumerate().take(code.size) {
            if module.value() {
                let (x, y) = (column + EDGE, row + EDGE);
                let _ = write!(path, "M{x} {y}h1v1h-1z");
            }
        }
    }
    let side = code.size + 2 * EDGE;
    html! {
        svg.code viewBox=(format!("0 0 {side} {side}")) role="img"
            aria-label="The key as a picture for a device" {
            rect width=(side) height=(side) fill="#fff" {}
            path d=(path) fill="#000" {}
        }
    }
}

/// `POST /me/second`.
pub(crate) async fn set(
    State(site): State<Site>,
    viewer: Viewer,
    Form(typed): Form<Fields>,
) -> Response {
    if !viewer.sent(field(&typed, "_csrf")) {
        return fault::foreign();
    }
    let key = field(&typed, "_key").to_owned();
    let secret = Secret::new(field(&typed, "_secret"));
    let unlocked = match site.prove_again(&viewer, &secret).await {
        Ok(unlocked) => unlocked,
        Err(unproven) => {
            let told = unproven.told(&viewer.person);
            return asked(&site, &viewer, StatusCode::UNAUTHORIZED, &key, ("", &told));
        }
    };
    let (desk, person, code) = (
        site.config.desk.clone(),
        viewer.person.clone(),
        field(&typed, "code").to_owned(),
    );
    let (typed_key, now, at) = (key.clone(), seconds(&site), site.stamp());
    let set = site.aside(move || {
        app::set_second(&desk, (&person, &unlocked), (&typed_key, &code), (&at, now))
    });
    match set.await {
        Ok(Some(codes)) => told(&site, &viewer, &codes),
        Ok(None) => {
            let wrong = "that is not the code of this key now: look whether the device's clock is right";
            asked(&site, &viewer, StatusCode::UNPROCESSABLE_ENTITY, &key, (wrong, ""))
        }
        Err(error) => fault::of_app(&error),
    }
}

fn told(site: &Site, viewer: &Viewer, codes: &[String]) -> Response {
    let content = html! {
        h1 { "Your recovery codes" }
        p { "A code of your device is asked from now on. If the device is lost, each of these lets you \
             in once. They are shown this once: print them, or write them down, and keep them apart \
             from the device." }
        ul.codes { @for code in codes { li { code.key { (code) } } } }
        p { a href=(PATH) { "They are kept" } }
    };
    page_with(site, viewer, ("/me/second", "Your recovery codes"), &STYLES, &content)
        .into_response()
}

/// `POST /me/second/remove`.
pub(crate) async fn remove(
    State(site): State<Site>,
    viewer: Viewer,
    Form(typed): Form<Fields>,
) -> Response {
    if !viewer.sent(field(&typed, "_csrf")) {
        return fault::foreign();
    }
    let secret = Secret::new(field(&typed, "_remove_secret"));
    if let Err(unproven) = site.prove_again(&viewer, &secret).await {
        let told = unproven.told(&viewer.person);
        return match app::new_code_key() {
            Ok(key) => asked(&site, &viewer, StatusCode::UNAUTHORIZED, &key, ("", &told)),
            Err(error) => fault::of_app(&error),
        };
    }
    let (desk, person) = (site.config.desk.clone(), viewer.person.clone());
    match site.aside(move || app::remove_second(&desk, &person)).await {
        Ok(_) => back(&site, &viewer, "Your secret alone lets you in from now on."),
        Err(error) => fault::of_app(&error),
    }
}

/// `GET /second/{person}`.
pub(crate) async fn ask_of_other(
    State(site): State<Site>,
    viewer: Viewer,
    Path(person): Path<String>,
) -> Response {
    of_other(&site, &viewer, &person, StatusCode::OK, "")
}

fn of_other(
    site: &Site,
    viewer: &Viewer,
    person: &str,
    status: StatusCode,
    wrong: &str,
) -> Response {
    if !APPOINTS.iter().any(|power| viewer.powers.contains(power)) {
        return fault::may_not(
            "The second step of others is taken away by those who appoint.",
        );
    }
    if !app::has_second(&site.config.desk.settings(), person) {
        return fault::not_found();
    }
    let path = format!("/second/{}", encoded(person));
    let title = format!("The second step of {person}");
    let content = html! {
        h1 { (title) }
        p { "Their secret alone lets them in once it is taken away. Be sure that it is they who \
             ask, not somebody who has their secret." }
        form.own method="post" action=(path) {
            input type="hidden" name="_csrf" value=(viewer.csrf);
            (secret_field("_secret", "Your secret", wrong, "current-password"))
            button { "Take the second step of " (person) " away" }
        }
    };
    (status, page_with(site, viewer, (&path, &title), &STYLES, &content)).into_response()
}

/// `POST /second/{person}`.
pub(crate) async fn remove_of_other(
    State(site): State<Site>,
    viewer: Viewer,
    Path(person): Path<String>,
    Form(typed): Form<Fields>,
) -> Response {
    if !viewer.sent(field(&typed, "_csrf")) {
        return fault::foreign();
    }
    if !APPOINTS.iter().any(|power| viewer.powers.contains(power)) {
        return fault::may_not(
            "The second step of others is taken away by those who appoint.",
        );
    }
    let secret = Secret::new(field(&typed, "_secret"));
    if let Err(unproven) = site.prove_again(&viewer, &secret).await {
        let told = unproven.told(&viewer.person);
        return of_other(&site, &viewer, &person, StatusCode::UNAUTHORIZED, &told);
    }
    let (desk, whose) = (site.config.desk.clone(), person.clone());
    let notice = format!(
        "{} ({}) took your second step away on {}. If you did not ask for that, tell somebody \
         who appoints, and change your secret.",
        viewer.name,
        viewer.person,
        when(&site.stamp())
    );
    let removed = site.aside(move || {
        let there = app::remove_second(&desk, &whose)?;
        // Whoever it was taken from hears of it, for whoever asked may have been another.
        app::leave_notice(&desk, (&whose, "second step"), notice)?;
        Ok(there)
    });
    match removed.await {
        Ok(_) => {
            let note = format!(
                "{person} signs in with their secret alone from now on, and is told so."
            );
            site.sessions.note(&viewer.session, vec![Note::aside(&note)]);
            Redirect::to(&path_of("person", &person)).into_response()
        }
        Err(error) => fault::of_app(&error),
    }
}
