//! The second step of signing in, for whoever set up a second factor: a code.

use std::collections::BTreeMap;
use std::sync::{Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};

use app::{CodeVerdict, HidingKey};
use axum::extract::{Form, State};
use axum::http::header::RETRY_AFTER;
use axum::http::{HeaderMap, HeaderValue, StatusCode};
use axum::response::Response;
use jiff::Timestamp;
use maud::html;

use crate::limit::Guesser;
use crate::session::Note;
use crate::sign_in::{self, BEFORE, Fields, Proven, field, is_from_here};
use crate::site::{Site, Unproven};
use crate::viewer::Address;
use crate::{device, fault};

/// Where the code is sent.
pub(crate) const PATH: &str = "/sign-in/code";
/// How long one may take from the secret to the code.
const PATIENCE: Duration = Duration::from_mins(5);
/// So many codes are looked at; then the secret is asked again.
const TRIES: u32 = 5;
/// The most who are half way in at once.
const MOST: usize = 500;

/// Somebody whose secret was right, and who owes a code.
#[derive(Debug, Clone)]
pub(crate) struct Half {
    person: String,
    /// The key that the secret made.
    key: String,
    unlocked: HidingKey,
    /// What is carried through signing in.
    fields: Fields,
    since: Instant,
    tries: u32,
}

/// All of them, by an id that nobody can guess.
#[derive(Debug, Default)]
pub(crate) struct Halves(Mutex<BTreeMap<String, Half>>);

impl Halves {
    fn all(&self) -> MutexGuard<'_, BTreeMap<String, Half>> {
        let mut all = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        all.retain(|_, half| half.since.elapsed() < PATIENCE && half.tries < TRIES);
        all
    }

    fn add(&self, id: String, half: Half) -> bool {
        let mut all = self.all();
        let room = all.len() < MOST;
        if room {
            all.insert(id, half);
        }
        room
    }

    /// Counts a try.
    fn try_one(&self, id: &str) -> Option<Half> {
        let mut all = self.all();
        let half = all.get_mut(id)?;
        half.tries += 1;
        Some(half.clone())
    }
}

/// Now, in seconds since 1970 on the clock of the workshop.
pub(crate) fn seconds(site: &Site) -> i64 {
    site.stamp().parse::<Timestamp>().map_or(0, Timestamp::as_second)
}

/// Asks for the code of somebody whose secret was right.
pub(crate) fn ask(
    site: &Site,
    (person, key): (&str, String),
    unlocked: HidingKey,
    fields: &Fields,
) -> Response {
    let Ok(id) = app::random_token() else { return fault::panicked() };
    let (person, fields) = (person.to_owned(), fields.clone());
    let half = Half { person, key, unlocked, fields, since: Instant::now(), tries: 0 };
    if !site.halves.add(id.clone(), half) {
        let told = Unproven::Busy.told("");
        return sign_in::asked(
            site,
            StatusCode::SERVICE_UNAVAILABLE,
            &Fields::new(),
            &told,
        );
    }
    page(site, StatusCode::OK, &id, "")
}

fn page(site: &Site, status: StatusCode, id: &str, wrong: &str) -> Response {
    let Ok(token) = app::random_token() else { return fault::panicked() };
    let content = html! {
        h1 { "The code of your device" }
        form method="post" action=(PATH) {
            input type="hidden" name="_before" value=(token);
            input type="hidden" name="_half" value=(id);
            div.field {
                label for="code" { "Code" }
                p.meaning #code-means {
                    "The six digits that your device shows now, or one of your recovery codes."
                }
                @if !wrong.is_empty() { p.wrong #code-wrong role="alert" { (wrong) } }
                input #code name="code" required autofocus autocomplete="one-time-code"
                    autocapitalize="none" spellcheck="false"
                    aria-describedby=(if wrong.is_empty() { "code-means" } else { "code-means code-wrong" })
                    aria-invalid=[(!wrong.is_empty()).then_some("true")];
            }
            button { "Sign in" }
        }
        p { a href=(sign_in::PATH) { "Begin again" } }
        p.hint {
            "If the device is lost and no recovery code is left, somebody who appoints takes the \
             second step away."
        }
    };
    sign_in::bare_with(
        site,
        (status, "The code of your device"),
        &content,
        (BEFORE, &token),
    )
}

/// What whoever came in by a recovery code is told.
fn recovered(left: usize) -> String {
    let left = match left {
        0 => "None is left".to_owned(),
        1 => "One is left".to_owned(),
        left => format!("{left} are left"),
    };
    format!(
        "You came in by a recovery code, which counts no more. {left}; set the second step up \
         anew if your device is lost."
    )
}

/// `POST /sign-in/code`.
pub(crate) async fn post(
    State(site): State<Site>,
    Address(address): Address,
    headers: HeaderMap,
    Form(fields): Form<Fields>,
) -> Response {
    let id = field(&fields, "_half");
    let half = is_from_here(&headers, &fields).then(|| site.halves.try_one(id)).flatten();
    let Some(half) = half else {
        let wrong = "that took too long, or too many codes were wrong: begin again";
        return sign_in::asked(&site, StatusCode::FORBIDDEN, &Fields::new(), wrong);
    };
    let guessed = format!("the code of {}", half.person);
    let known = device::known(&site, &headers, &half.person);
    let guesser = known.as_deref().map_or(Guesser::Stranger(address), Guesser::Known);
    if let Err(wait) = site.limiter.begin(&guessed, guesser) {
        let told = Unproven::Wait(wait).told(&half.person);
        let mut response = page(&site, StatusCode::TOO_MANY_REQUESTS, id, &told);
        let seconds = HeaderValue::from(wait.as_secs() + 1);
        response.headers_mut().insert(RETRY_AFTER, seconds);
        return response;
    }
    let (desk, code, now) =
        (site.config.desk.clone(), field(&fields, "code").to_owned(), seconds(&site));
    let (person, key) = (half.person.clone(), half.unlocked.clone());
    let checked =
        site.aside(move || app::check_code(&desk, (&person, &key), &code, now)).await;
    let refuse = |why: &str| page(&site, StatusCode::UNAUTHORIZED, id, why);
    let note = match checked {
        Ok(CodeVerdict::Right) => Vec::new(),
        Ok(CodeVerdict::Recovered(left)) => vec![Note::aside(&recovered(left))],
        Ok(CodeVerdict::Wrong) => {
            return refuse(
                "that is not the code that your device shows now: type the next one, and look \
                 whether its clock is right",
            );
        }
        Ok(CodeVerdict::Used) => {
            return refuse(
                "that code was used before: wait for the next one, and type that",
            );
        }
        Ok(CodeVerdict::Locked) => {
            return refuse(
                "your secret was changed since the second step was set up, and only a recovery \
                 code counts: type one, or ask somebody who appoints",
            );
        }
        Err(error) => {
            return page(&site, StatusCode::SERVICE_UNAVAILABLE, id, &error.to_string());
        }
    };
    site.limiter.right(&guessed, guesser);
    site.halves.all().remove(id);
    let proven = Proven { person: &half.person, key: &half.key, address };
    sign_in::begin(&site, &headers, &proven, &half.fields, note).await
}
