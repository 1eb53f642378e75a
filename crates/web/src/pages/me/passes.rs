//! Tokens for programs and links for calendars.

use app::{MadePass, NewPass, Pass, PassScope, Secret};
use axum::extract::{Form, State};
use axum::http::StatusCode;
use axum::response::Response;
use jiff::civil::Date;
use maud::{Markup, html};

use super::{Wrong, back, back_with, when, whole};
use crate::fault;
use crate::session::Note;
use crate::sign_in::{Fields, field, secret_field};
use crate::site::Site;
use crate::viewer::Viewer;

pub(super) fn section(
    site: &Site,
    viewer: &Viewer,
    typed: &Fields,
    wrong: Wrong<'_>,
) -> Markup {
    let all = app::passes(&site.config.desk.settings(), &viewer.person);
    let (calendars, tokens): (Vec<_>, Vec<_>) =
        all.into_iter().partition(|pass| pass.scope == PassScope::Calendar);
    let of = |part| {
        if wrong.part == part { (typed.clone(), wrong.what) } else { (Fields::new(), "") }
    };
    let (token, calendar) = (of("token"), of("calendar"));
    html! {
        section {
            h2 #tokens { "Tokens for programs " span.count { (tokens.len()) } }
            p { "With a token a program reads the record as you, by the JSON interface; "
                a href="/api/openapi.json" { "its description" } " says how. To enter acts it needs \
                your secret besides." }
            (list(viewer, &tokens))
            details open[!token.1.is_empty()] {
                summary { "Make a token" }
                form.own method="post" action="/me/token" {
                    (what_for(viewer, "token", &token.0))
                    div.field {
                        label for="scope" { "What it may do" }
                        select #scope name="scope" {
                            option value="read" { "read" }
                            option value="act" selected[field(&token.0, "scope") == "act"] { "read, and act with your secret" }
                        }
                    }
                    div.field {
                        label for="expires" { "The last day on which it counts" }
                        input #expires name="expires" type="date" required
                            min=(site.today()) value=(field(&token.0, "expires"));
                    }
                    (secret_field("_token_secret", "Your secret", token.1, "current-password"))
                    button { "Make the token" }
                }
            }
        }
        section {
            h2 #calendars { "Calendar links " span.count { (calendars.len()) } }
            p { "A link with your days by the adopted plan, to which a calendar subscribes. Whoever \
                 has the link sees your days, without signing in." }
            (list(viewer, &calendars))
            details open[!calendar.1.is_empty()] {
                summary { "Make a calendar link" }
                form.own method="post" action="/me/calendar" {
                    (what_for(viewer, "calendar", &calendar.0))
                    (secret_field("_calendar_secret", "Your secret", calendar.1, "current-password"))
                    button { "Make the link" }
                }
            }
        }
    }
}

fn what_for(viewer: &Viewer, part: &str, typed: &Fields) -> Markup {
    let id = format!("{part}-label");
    let kept = field(typed, "_request").to_owned();
    // Without randomness it counts as often as it is sent, and everybody sees what stands there.
    let request =
        if kept.is_empty() { app::random_token().unwrap_or_default() } else { kept };
    html! {
        input type="hidden" name="_csrf" value=(viewer.csrf);
        input type="hidden" name="_request" value=(request);
        div.field {
            label for=(id) { "What it is for" }
            input id=(id) name="label" required maxlength="80" autocomplete="off"
                value=(field(typed, "label"));
        }
    }
}

fn list(viewer: &Viewer, all: &[Pass]) -> Markup {
    html! {
        @if all.is_empty() { p.none { "None." } }
        ul.lines.own {
            @for pass in all {
                li {
                    span {
                        strong { (pass.label) } ": "
                        @if pass.scope == PassScope::Act { "reads and acts, " }
                        @if pass.scope == PassScope::Read { "reads, " }
                        "made " (when(&pass.made))
                        @if let Some(last) = pass.expires { ", counts until " (last) }
                        @match &pass.used {
                            Some(used) => { ", last used about " (when(used)) }
                            None => { ", never used" }
                        }
                    }
                    form method="post" action="/me/revoke" {
                        input type="hidden" name="_csrf" value=(viewer.csrf);
                        input type="hidden" name="pass" value=(pass.name);
                        button.quiet { "Revoke" span.unseen { " " (pass.label) } }
                    }
                }
            }
        }
    }
}

/// `POST /me/token`.
pub(crate) async fn new_token(
    State(site): State<Site>,
    viewer: Viewer,
    Form(typed): Form<Fields>,
) -> Response {
    if !viewer.sent(field(&typed, "_csrf")) {
        return fault::foreign();
    }
    let scope =
        if field(&typed, "scope") == "act" { PassScope::Act } else { PassScope::Read };
    let expires = field(&typed, "expires").parse::<Date>().ok();
    let expires = expires.filter(|last| *last >= site.today());
    if expires.is_none() {
        let what = "say the last day on which it counts, today or later";
        return refused(
            &site,
            &viewer,
            &typed,
            ("token", what),
            StatusCode::UNPROCESSABLE_ENTITY,
        );
    }
    make(&site, &viewer, &typed, ("token", scope, expires)).await
}

/// `POST /me/calendar`.
pub(crate) async fn new_calendar(
    State(site): State<Site>,
    viewer: Viewer,
    Form(typed): Form<Fields>,
) -> Response {
    make(&site, &viewer, &typed, ("calendar", PassScope::Calendar, None)).await
}

fn refused(
    site: &Site,
    viewer: &Viewer,
    typed: &Fields,
    (part, what): (&str, &str),
    status: StatusCode,
) -> Response {
    whole(site, viewer, status, typed, Wrong { part, what })
}

async fn make(
    site: &Site,
    viewer: &Viewer,
    typed: &Fields,
    (part, scope, expires): (&str, PassScope, Option<Date>),
) -> Response {
    if !viewer.sent(field(typed, "_csrf")) {
        return fault::foreign();
    }
    let label = field(typed, "label").trim().to_owned();
    let unfit = StatusCode::UNPROCESSABLE_ENTITY;
    if label.is_empty() {
        return refused(site, viewer, typed, (part, "say what it is for"), unfit);
    }
    let secret = Secret::new(field(typed, &format!("_{part}_secret")));
    if let Err(unproven) = site.prove_again(viewer, &secret).await {
        let told = unproven.told(&viewer.person);
        return refused(site, viewer, typed, (part, &told), StatusCode::UNAUTHORIZED);
    }
    let (desk, at) = (site.config.desk.clone(), site.stamp());
    let request = Some(field(typed, "_request").to_owned()).filter(|id| !id.is_empty());
    let new = NewPass { owner: viewer.person.clone(), scope, label, expires, request };
    match site.aside(move || app::make_pass(&desk, new, &at)).await {
        Ok(MadePass::There) => back(
            site,
            viewer,
            "That form was sent before, and counts once: what it made stands below. If you did \
             not see its text, revoke it and make another.",
        ),
        Ok(MadePass::Revoked) => back(
            site,
            viewer,
            "That form was sent before, and what it made was revoked since: nothing was made \
             now. Open the form anew to make another.",
        ),
        Ok(MadePass::New(text)) if scope == PassScope::Calendar => {
            back_with(site, viewer, link_told(site, &text))
        }
        Ok(MadePass::New(text)) => back(
            site,
            viewer,
            &format!("The token is {text} and is shown this once: copy it now."),
        ),
        Err(error) => refused(site, viewer, typed, (part, &error.to_string()), unfit),
    }
}

/// A link to copy: where nobody said under which address others reach us, the browser knows.
fn link_told(site: &Site, text: &str) -> Note {
    let path = format!("/calendar/{text}.ics");
    let public = site.config.public.as_deref().unwrap_or_default();
    let told = html! {
        p {
            "The link is " a href=(path) { (public) (path) } " and is shown this once: copy the \
             address of this link into your calendar now."
        }
    };
    Note { told, entered: false }
}

/// `POST /me/revoke`.
pub(crate) async fn revoke(
    State(site): State<Site>,
    viewer: Viewer,
    Form(typed): Form<Fields>,
) -> Response {
    if !viewer.sent(field(&typed, "_csrf")) {
        return fault::foreign();
    }
    let (desk, at) = (site.config.desk.clone(), site.stamp());
    let (person, name) = (viewer.person.clone(), field(&typed, "pass").to_owned());
    match site.aside(move || app::revoke_pass(&desk, &person, &name, &at)).await {
        Ok(true) => back(&site, &viewer, "It is revoked, and counts no more."),
        Ok(false) => back(&site, &viewer, "It was revoked before."),
        Err(error) => fault::of_app(&error),
    }
}
