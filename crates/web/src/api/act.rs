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
use crate::site::Site;

/// The most acts in one request.
pub(super) const MOST: usize = 200;

type Answer = Result<Response, Problem>;

/// What was sent, as far as it can be read.
struct Sent {
    acts: Vec<Act>,
    rest: Map<String, Value>,
}

fn sent(
    headers: &HeaderMap,
    body: Result<Bytes, BytesRejection>,
    known: &[&str],
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
    if let Some(other) = rest.keys().find(|name| !known.contains(&name.as_str())) {
        return Err(Problem::bad(format!("there is no member `{other}`")));
    }
    let acts = rest.remove("acts").unwrap_or_default();
    let count = acts.as_array().map_or(0, Vec::len);
    if count == 0 || count > MOST {
        return Err(Problem::bad(format!("`acts` is a list of 1 to {MOST} acts")));
    }
    let acts =
        app::acts_of_json(&acts.to_string()).map_err(|error| Problem::of_app(&error))?;
    Ok(Sent { acts, rest })
}

/// `POST /api/acts/try`.
pub(super) async fn attempt(
    State(site): State<Site>,
    caller: Caller,
    headers: HeaderMap,
    body: Result<Bytes, BytesRejection>,
) -> Answer {
    let Sent { acts, rest: _ } = sent(&headers, body, &["acts"])?;
    let (snapshot, at) = (site.snapshot(), site.stamp());
    let number = snapshot.number;
    let signed = Signed { by: caller.person, at, secret: None };
    let judged = site.aside(move || app::try_acts_on(&snapshot, &acts, &signed)).await;
    let refused = judged.map_err(|error| Problem::of_app(&error))?;
    Ok(read::answer(&json!({ "refused": app::refused_json(&refused), "entry": number })))
}

/// `POST /api/acts`.
pub(super) async fn keep(
    State(site): State<Site>,
    caller: Caller,
    headers: HeaderMap,
    body: Result<Bytes, BytesRejection>,
) -> Answer {
    caller.acts()?;
    let Sent { acts, rest } =
        sent(&headers, body, &["acts", "secret", "request", "seen"])?;
    let Some(secret) = rest.get("secret").and_then(Value::as_str) else {
        return Err(Problem::bad("`secret` is the secret of whoever signs, a text"));
    };
    let text = |name: &str| match rest.get(name) {
        None | Some(Value::Null) => Ok(None),
        Some(Value::String(text)) => Ok(Some(text.clone())),
        Some(_) => Err(Problem::bad(format!("`{name}` is a text"))),
    };
    let request = text("request")?;
    let seen = match rest.get("seen") {
        None | Some(Value::Null) => None,
        Some(seen) => Some(
            seen.as_u64()
                .ok_or_else(|| Problem::bad("`seen` is the number of an entry"))?,
        ),
    };
    if request.as_ref().is_some_and(|id| !app::is_request(id)) {
        return Err(Problem::bad("`request` is 1 to 64 bytes of text without controls"));
    }
    let secret = Secret::new(secret);
    let proven = site.prove(&caller.person, &secret, caller.address.0).await;
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
