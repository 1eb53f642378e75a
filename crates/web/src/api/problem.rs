//! Refusals of the JSON interface, in the form of RFC 9457.

use std::time::Duration;

use app::AppError;
use axum::body::Body;
use axum::http::header::{CONTENT_LENGTH, CONTENT_TYPE, RETRY_AFTER, WWW_AUTHENTICATE};
use axum::http::{HeaderValue, StatusCode};
use axum::response::{IntoResponse, Response};
use serde_json::{Value, json};

use crate::site::Unproven;
use crate::table::sentence;

const MEDIA: &str = "application/problem+json";

/// What is wrong with acts, one by one.
pub(super) fn faults(problems: &[app::Problem]) -> Vec<Value> {
    let each = app::act_faults(problems).into_iter().map(|fault| {
        let app::ActFault { act, field, what, hint } = fault;
        json!({ "act": act, "field": field, "what": what, "hint": hint })
    });
    each.collect()
}

/// Why a request came to nothing: what, and what to do.
#[derive(Debug, Clone)]
pub(crate) struct Problem {
    status: StatusCode,
    title: &'static str,
    detail: String,
    more: Vec<(&'static str, Value)>,
    wait: Option<Duration>,
}

impl Problem {
    pub(crate) fn new(
        status: StatusCode,
        title: &'static str,
        detail: impl Into<String>,
    ) -> Self {
        Self { status, title, detail: detail.into(), more: Vec::new(), wait: None }
    }

    pub(super) fn with(mut self, name: &'static str, value: Value) -> Self {
        self.more.push((name, value));
        self
    }

    pub(super) fn not_found() -> Self {
        let detail =
            "Look whether the address is right; /api/openapi.json has all of them.";
        Self::new(StatusCode::NOT_FOUND, "There is no such thing", detail)
    }

    pub(super) fn method() -> Self {
        let detail = "The header `Allow` says how this address is asked.";
        Self::new(StatusCode::METHOD_NOT_ALLOWED, "That can't be done here", detail)
    }

    pub(super) fn no_token() -> Self {
        let detail = "Send `Authorization: Bearer` with a token that you made at /me. Cookies \
                      count for nothing here.";
        Self::new(StatusCode::UNAUTHORIZED, "There is no token that counts", detail)
    }

    pub(super) fn only_reads() -> Self {
        let detail = "This token may read and not act; make another one at /me.";
        Self::new(StatusCode::FORBIDDEN, "This token may not act", detail)
    }

    pub(super) fn too_many(wait: Duration) -> Self {
        let detail = "Wait as long as the header `Retry-After` says.";
        let problem =
            Self::new(StatusCode::TOO_MANY_REQUESTS, "Too many requests", detail);
        Self { wait: Some(wait), ..problem }
    }

    /// What can't be read of a request: everything at once.
    pub(super) fn unread(problems: &[app::Problem]) -> Self {
        Self::all(faults(problems))
    }

    /// Everything that is wrong with acts and what stands beside them.
    pub(super) fn all(faults: Vec<Value>) -> Self {
        let detail = match faults.len() {
            1 => "One thing is wrong with what was sent.".to_owned(),
            many => format!("{many} things are wrong with what was sent."),
        };
        Self::new(StatusCode::UNPROCESSABLE_ENTITY, "The acts can't be read", detail)
            .with("problems", faults.into())
    }

    pub(super) fn bad(detail: impl Into<String>) -> Self {
        Self::new(StatusCode::BAD_REQUEST, "The request can't be read", detail)
    }

    pub(super) fn of_app(error: &AppError) -> Self {
        let hint = error.hint().unwrap_or_default();
        match error {
            AppError::Forbidden(refused) => {
                let detail = "Rules of the record forbid it; nothing was entered.";
                Self::new(StatusCode::CONFLICT, "Refused", detail)
                    .with("refused", app::refused_json(refused))
            }
            AppError::Changed(changed) => {
                let detail =
                    "Others touched the same since you looked; nothing was entered.";
                Self::new(StatusCode::CONFLICT, "Others were faster", detail)
                    .with("changed", app::changed_json(changed))
            }
            AppError::Spent { entry, .. } => {
                let detail = format!("{error}. {}", sentence(&hint));
                Self::new(StatusCode::CONFLICT, "The request id is spent", detail)
                    .with("entry", (*entry).into())
            }
            AppError::Act(problems) => Self::unread(problems),
            AppError::Unknown(what) => {
                Self::new(StatusCode::NOT_FOUND, "There is no such thing", what.as_str())
            }
            other => {
                let detail = format!("{other}. {hint}");
                Self::new(StatusCode::SERVICE_UNAVAILABLE, "It can't be done now", detail)
            }
        }
    }

    pub(super) fn of_secret(unproven: &Unproven, person: &str) -> Self {
        let told = unproven.told(person);
        match unproven {
            Unproven::Wrong => {
                Self::new(StatusCode::FORBIDDEN, "The secret is another one", told)
            }
            Unproven::Wait(wait) => Self { detail: told, ..Self::too_many(*wait) },
            Unproven::Busy | Unproven::Failed(_) => {
                Self::new(StatusCode::SERVICE_UNAVAILABLE, "It can't be done now", told)
            }
        }
    }

    pub(super) fn of_status(status: StatusCode) -> Self {
        let title = status.canonical_reason().unwrap_or("It came to nothing");
        let detail = "Look into /api/openapi.json for how this address is asked.";
        Self::new(status, title, detail)
    }

    /// In place of an answer that says the same in another form; its headers stay.
    pub(super) fn around(self, other: Response) -> Response {
        let (mut parts, _) = other.into_parts();
        parts.headers.remove(CONTENT_LENGTH);
        parts.headers.insert(CONTENT_TYPE, HeaderValue::from_static(MEDIA));
        Response::from_parts(parts, Body::from(self.json().to_string()))
    }

    fn json(&self) -> Value {
        let mut value = json!({
            "type": "about:blank",
            "title": self.title,
            "status": self.status.as_u16(),
            "detail": self.detail,
        });
        for (name, more) in &self.more {
            value[*name] = more.clone();
        }
        value
    }
}

impl IntoResponse for Problem {
    fn into_response(self) -> Response {
        let headers = [(CONTENT_TYPE, MEDIA)];
        let mut response =
            (self.status, headers, self.json().to_string()).into_response();
        let headers = response.headers_mut();
        if self.status == StatusCode::UNAUTHORIZED {
            headers.insert(WWW_AUTHENTICATE, HeaderValue::from_static("Bearer"));
        }
        if let Some(wait) = self.wait {
            headers.insert(RETRY_AFTER, HeaderValue::from(wait.as_secs() + 1));
        }
        response
    }
}
