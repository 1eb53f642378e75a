//! A plan is adopted: people work by it from then on.

use std::sync::Arc;

use app::{AppError, Secret, Signed};
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use maud::{Markup, html};

use super::{Wrong, missing, refuse, returned};
use crate::pages::act;
use crate::sign_in::{Fields, Sent, field, secret_field};
use crate::site::Site;
use crate::viewer::Viewer;

/// What solves plans.
const ENGINE: &str = concat!("turnbuckle ", env!("CARGO_PKG_VERSION"));

/// The form that adopts a plan.
pub(super) fn form(
    site: &Site,
    viewer: &Viewer,
    number: u64,
    typed: &Fields,
    wrong: &Wrong,
) -> Markup {
    let kept = field(typed, "_request").to_owned();
    let request =
        if kept.is_empty() { app::random_token().unwrap_or_default() } else { kept };
    let now = site.snapshot().number;
    // Whoever was shown what others entered has seen it.
    let seen = match &wrong.changed {
        Some(changed) => changed.now,
        None => field(typed, "_seen").parse().unwrap_or(now),
    };
    html! {
        form.act #adopt method="post" action={ "/season/" (number) "/adopt" } {
            h2 { "Adopt it" }
            p { "From then on people work by it, and later plans keep to it where they can." }
            @if let Some(changed) = &wrong.changed {
                section.reasons role="alert" tabindex="-1" data-wrong {
                    h3 { "Not entered" }
                    (act::both(changed))
                }
            }
            @if !wrong.adopted.is_empty() {
                p.wrong role="alert" tabindex="-1" data-wrong { (wrong.adopted) }
            }
            input type="hidden" name="_csrf" value=(viewer.csrf);
            input type="hidden" name="_request" value=(request);
            input type="hidden" name="_seen" value=(seen);
            div.field {
                label for="reason" { "Why this plan, and what of the one before it changes" }
                input #reason name="reason" value=(field(typed, "reason")) required;
            }
            div.sign {
                p { "Signed by " strong { (viewer.name) } " (" (viewer.person) "), now." }
                (secret_field("_secret", "Your secret", &wrong.secret, "current-password"))
                button { "Sign: adopt plan " (number) }
            }
            p.why { "The record stands at entry " (now) "." }
        }
    }
}

/// `POST /season/{number}/adopt`.
pub(crate) async fn post(
    State(site): State<Site>,
    Path(number): Path<u64>,
    Sent { viewer, mut typed }: Sent,
) -> Response {
    if let Some(refused) = refuse(&viewer, &typed) {
        return refused;
    }
    let Some(proposal) = site.studio.proposal(number) else {
        return missing(&site, &viewer, number, &typed);
    };
    let secret = Secret::new(field(&typed, "_secret"));
    if let Err(unproven) = site.prove_again(&viewer, &secret).await {
        let (status, secret) = (StatusCode::UNAUTHORIZED, unproven.told(&viewer.person));
        let wrong = Wrong { status, secret, ..Wrong::default() };
        return returned(&site, &viewer, number, &typed, &wrong).await;
    }
    let act = app::adoption(&proposal.planned, field(&typed, "reason"), ENGINE);
    let signed =
        Signed { by: viewer.person.clone(), at: site.stamp(), secret: Some(secret) };
    let request = Some(field(&typed, "_request").to_owned()).filter(|id| !id.is_empty());
    let seen = field(&typed, "_seen").parse().ok();
    let desk = Arc::clone(&site.config.desk);
    let kept = match act {
        Ok(act) => site.aside(move || desk.act(vec![act], signed, request, seen)).await,
        Err(error) => Err(error),
    };
    let wrong = match kept {
        Ok(_) => {
            let told =
                vec![format!("Plan {number} is adopted: people work by it from now on.")];
            site.sessions.note(&viewer.session, told);
            return Redirect::to("/show/plan").into_response();
        }
        Err(AppError::Changed(changed)) => Wrong {
            status: StatusCode::CONFLICT,
            changed: Some(changed),
            ..Wrong::default()
        },
        Err(error) => {
            // What says something else than what was entered from this form is a new one.
            if matches!(error, AppError::Spent { .. }) {
                typed.retain(|(name, _)| name != "_request");
            }
            Wrong {
                status: StatusCode::UNPROCESSABLE_ENTITY,
                adopted: error.to_string(),
                ..Wrong::default()
            }
        }
    };
    returned(&site, &viewer, number, &typed, &wrong).await
}
