//! Why a form comes back, and what it carries unseen.

use app::{ActForm, Changed, Problem, Refused};
use axum::http::StatusCode;
use maud::{Markup, html};

use crate::pages::form;
use crate::sign_in::{Fields, field};
use crate::table::sentence;
use crate::upload;
use crate::viewer::Viewer;

/// Why a form comes back.
#[derive(Clone, Copy)]
pub(crate) enum Why<'a> {
    /// It is asked for the first time, or for more rows.
    Asked,
    /// Its session had ended.
    Again,
    /// The secret.
    Secret(&'a str),
    /// It can't be read so.
    Unread(&'a [Problem]),
    /// Rules forbid it.
    Refused(&'a [Refused]),
    /// Others were at the same thing.
    Changed(&'a Changed),
    /// Something else.
    Other(&'a str),
}

impl Why<'_> {
    pub(crate) fn status(self) -> StatusCode {
        match self {
            Self::Asked | Self::Again => StatusCode::OK,
            Self::Changed(_) => StatusCode::CONFLICT,
            Self::Secret(_) => StatusCode::UNAUTHORIZED,
            Self::Unread(_) | Self::Refused(_) | Self::Other(_) => {
                StatusCode::UNPROCESSABLE_ENTITY
            }
        }
    }

    /// The entry up to which whoever signs had looked: that of the page when it was first made.
    fn seen(self, typed: &Fields, now: u64) -> u64 {
        match self {
            Self::Changed(changed) => changed.now,
            _ => field(typed, "_seen").parse().unwrap_or(now),
        }
    }
}

/// What the form of an act carries unseen: its token, an id that makes it count once, and up
/// to which entry whoever signs had looked. Nothing if the system has no randomness.
pub(crate) fn carried(
    viewer: &Viewer,
    typed: &Fields,
    why: &Why<'_>,
    now: u64,
) -> Option<Markup> {
    let kept = field(typed, "_request").to_owned();
    let request = if kept.is_empty() { app::random_token() } else { Ok(kept) };
    let request = request.ok()?;
    Some(html! {
        input type="hidden" name="_csrf" value=(viewer.csrf);
        input type="hidden" name="_request" value=(request);
        input type="hidden" name="_seen" value=(why.seen(typed, now));
    })
}

/// Above the form: why it was not entered.
pub(crate) fn reasons(form: &ActForm, why: &Why<'_>) -> Markup {
    let told = match why {
        Why::Asked | Why::Secret("") => return html! {},
        Why::Again => {
            html! {
                p {
                    "You had to sign in again; what you typed is there: sign it now."
                    @if upload::takes_files(&form.fields) {
                        " Files that you chose are to be chosen again."
                    }
                }
            }
        }
        Why::Secret(wrong) | Why::Other(wrong) => html! { p { (wrong) } },
        Why::Unread(problems) => unread(form, problems),
        Why::Refused(refused) => html! { ul { @for one in *refused { (refusal(one)) } } },
        Why::Changed(changed) => both(changed),
    };
    html! {
        section.reasons role="alert" tabindex="-1" data-wrong {
            h2 { "Not entered" }
            (told)
        }
    }
}

fn unread(form: &ActForm, problems: &[Problem]) -> Markup {
    let general = form::of_none(form, problems);
    html! {
        p { "What is wrong stands beside the fields (" (problems.len()) "); all that you typed \
             is there." }
        @if !general.is_empty() {
            ul {
                @for problem in general {
                    li { (problem.what) @if let Some(hint) = &problem.hint { p.hint { (hint) } } }
                }
            }
        }
    }
}

fn refusal(one: &Refused) -> Markup {
    let Refused { act: _, refusal, citation, follows: _ } = one;
    html! {
        li {
            p { strong { (refusal.what) } }
            p.hint { (sentence(&refusal.hint)) "." }
            p.why {
                "Rule " (refusal.rule) ": " (refusal.rule.says())
                @if let Some(citation) = citation { " (" (citation) ")" }
            }
        }
    }
}

/// What others entered beside what was typed.
pub(crate) fn both(changed: &Changed) -> Markup {
    html! {
        p { "Since you looked (entry " (changed.seen) ") others touched the same. What they \
             entered stands here, what you typed below: look whether it still holds, and sign \
             it again." }
        ul {
            @for since in &changed.since {
                li {
                    p {
                        "Entry " (since.number) ", " (since.at) ", " strong { (since.by) } ": "
                        (since.word) " (" (since.things.join(", ")) ")"
                    }
                    @if let Some(said) = since.body.as_object() {
                        dl.facts {
                            @for (name, value) in said {
                                div {
                                    dt { (name) }
                                    dd { (value.as_str().map_or_else(|| value.to_string(), str::to_owned)) }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}
