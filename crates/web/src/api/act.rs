//! Acts: judged only, or kept with the signer's secret.

use app::{Act, AppError, Kept, Secret, Signed};
use axum::body::Bytes;
use axum::extract::State;
use axum::extract::rejection::BytesRejection;
use axum::http::header::CONTENT_TYPE;
use axum::http::{HeaderMap, StatusCode};
use axum::response::{IntoResponse, Response};
use serde_json::{Map, Value, json};

use super::auth::Caller;
use super::{Problem, read};
use crate::limit::Guesser;
use crate::site::Site;

/// The most acts in one request.
pub(super) const MOST: usize = 200;

type Answer = Result<Response, Problem>;

/// What was sent, as far as it can be read.
struct Sent {
    acts: Vec<Act>,
    rest: Map<String, Value>,
}

/// Something that is wrong beside the acts.
fn fault(field: &str, what: impl Into<String>) -> Value {
    let what: String = what.into();
    json!({ "act": null, "field": field, "what": what, "hint": null })
}

/// Reads a body; `beside` tells what is wrong with what stands beside the acts. Everything that
/// is wrong is told at once.
fn sent(
    headers: &HeaderMap,
    body: Result<Bytes, BytesRejection>,
    known: &[&str],
    beside: impl FnOnce(&Map<String, Value>) -> Vec<Value>,
) -> Result<Sent, Problem> {
    let media =
        headers.get(CONTENT_TYPE).and_then(|kind| kind.to_str().ok()).unwrap_or("");
    let media = media.split(';').next().unwrap_or_default().trim();
    if !media.eq_ignore_ascii_case("application/json") {
        let status = StatusCode::UNSUPPORTED_MEDIA_TYPE;
        return Err(Problem::new(
            status,
            "It is no JSON",
            "Send it as application/json.",
        ));
    }
    let body = body.map_err(|_| Problem::of_status(StatusCode::PAYLOAD_TOO_LARGE))?;
    let value: Value = serde_json::from_slice(&body)
        .map_err(|error| Problem::bad(format!("it is no JSON: {error}")))?;
    let Value::Object(mut rest) = value else {
        return Err(Problem::bad("it is no JSON object with `acts`"));
    };
    let acts = match rest.remove("acts") {
        Some(Value::Array(acts)) if (1..=MOST).contains(&acts.len()) => acts,
        _ => return Err(Problem::bad(format!("`acts` is a list of 1 to {MOST} acts"))),
    };
    let unknown = rest.keys().filter(|name| !known.contains(&name.as_str()));
    let unknown = unknown.map(|name| fault(name, format!("there is no member `{name}`")));
    let mut wrong: Vec<Value> = unknown.chain(beside(&rest)).collect();
    match app::acts_of_values(&acts) {
        Ok(acts) if wrong.is_empty() => return Ok(Sent { acts, rest }),
        Ok(_) => {}
        Err(AppError::Act(problems)) => wrong.extend(super::problem::faults(&problems)),
        Err(other) => return Err(Problem::of_app(&other)),
    }
    Err(Problem::all(wrong))
}

/// `POST /api/acts/try`.
pub(super) async fn attempt(
    State(site): State<Site>,
    caller: Caller,
    headers: HeaderMap,
    body: Result<Bytes, BytesRejection>,
) -> Answer {
    let Sent { acts, rest: _ } = sent(&headers, body, &[], |_| Vec::new())?;
    let (snapshot, at) = (site.snapshot(), site.stamp());
    let number = snapshot.number;
    let signed = Signed { by: caller.person, at, secret: None };
    let judged = site.aside(move || app::try_acts_on(&snapshot, &acts, &signed)).await;
    let refused = judged.map_err(|error| Problem::of_app(&error))?;
    Ok(read::answer(&json!({ "refused": app::refused_json(&refused), "entry": number })))
}

/// The members beside the acts that are kept.
const BESIDE: [&str; 3] = ["secret", "request", "seen"];

/// What is wrong with them.
fn beside(rest: &Map<String, Value>) -> Vec<Value> {
    let mut wrong = Vec::new();
    if !rest.get("secret").is_some_and(Value::is_string) {
        wrong.push(fault("secret", "`secret` is the secret of whoever signs, a text"));
    }
    match rest.get("request") {
        None | Some(Value::Null) => {}
        Some(Value::String(id)) if app::is_request(id) => {}
        Some(_) => {
            let what = "`request` is 1 to 64 bytes of text without controls";
            wrong.push(fault("request", what));
        }
    }
    let seen = rest.get("seen");
    if seen.is_some_and(|seen| !seen.is_null() && seen.as_u64().is_none()) {
        wrong.push(fault("seen", "`seen` is the number of an entry"));
    }
    wrong
}

/// `POST /api/acts`.
pub(super) async fn keep(
    State(site): State<Site>,
    caller: Caller,
    headers: HeaderMap,
    body: Result<Bytes, BytesRejection>,
) -> Answer {
    caller.acts()?;
    let Sent { acts, rest } = sent(&headers, body, &BESIDE, beside)?;
    let text = |name: &str| rest.get(name).and_then(Value::as_str);
    let secret = Secret::new(text("secret").unwrap_or_default());
    let request = text("request").map(str::to_owned);
    let seen = rest.get("seen").and_then(Value::as_u64);
    let guesser = Guesser::Known(&caller.token);
    let proven = site.prove(&caller.person, &secret, guesser).await;
    proven.map_err(|unproven| Problem::of_secret(&unproven, &caller.person))?;
    let (desk, at) = (site.config.desk.clone(), site.stamp());
    let signed = Signed { by: caller.person, at, secret: Some(secret) };
    let kept = site.aside(move || desk.act(acts, signed, request, seen)).await;
    let kept = kept.map_err(|error| unentered(&error))?;
    let body = json!({ "kept": kept.iter().map(told).collect::<Vec<_>>() });
    Ok((StatusCode::CREATED, read::answer(&body)).into_response())
}

/// What nobody asked for by an address is no thing that is not there.
fn unentered(error: &AppError) -> Problem {
    match error {
        AppError::Unknown(what) => {
            Problem::new(StatusCode::CONFLICT, "Not entered", what.as_str())
        }
        other => Problem::of_app(other),
    }
}

fn told(kept: &Kept) -> Value {
    let cautions = kept.cautions.iter().map(|caution| {
        json!({ "rule": caution.rule.word(), "what": caution.what, "hint": caution.hint })
    });
    json!({
        "entry": kept.number,
        "act": kept.word,
        "repeated": kept.repeated,
        "cautions": cautions.collect::<Vec<_>>(),
    })
}
