//! Who asks: their address, and whether they are signed in.

use std::net::{IpAddr, Ipv4Addr, SocketAddr};

use axum::extract::{ConnectInfo, FromRequestParts};
use axum::http::header::{COOKIE, HOST, ORIGIN};
use axum::http::request::Parts;
use axum::http::{HeaderMap, Method};
use axum::response::{IntoResponse, Redirect, Response};

use crate::config::Transport;
use crate::links::encoded;
use crate::site::{Site, alike};
use crate::{fault, sign_in};

/// Somebody who is signed in.
#[derive(Debug, Clone)]
pub(crate) struct Viewer {
    /// The id of the session.
    pub(crate) session: String,
    /// Their name in the programme.
    pub(crate) person: String,
    /// Their full name.
    pub(crate) name: String,
    /// What every form of theirs carries.
    pub(crate) csrf: String,
    /// What they may do today.
    pub(crate) powers: Vec<&'static str>,
    /// Whether they only read.
    pub(crate) observes: bool,
    /// How they want to see things.
    pub(crate) prefers: app::Preferences,
    /// Whether nobody has an authority yet.
    pub(crate) founds: bool,
    /// Whether a script asks by itself, and nobody sees all of the answer.
    pub(crate) live: bool,
}

impl Viewer {
    /// Whether they may open the form of an act: one for which they have a power, or that
    /// asks for none; an observer none. The record judges what they send. Everybody may
    /// change their own secret, and while nobody has an authority anybody gives the first.
    pub(crate) fn may(&self, word: &str) -> bool {
        match word {
            "enrol" => true,
            "grant" if self.founds => !self.observes,
            _ => !self.observes && app::may(&self.powers, word),
        }
    }

    /// Whether a form came from one of our pages.
    pub(crate) fn sent(&self, token: &str) -> bool {
        alike(&self.csrf, token)
    }
}

/// Whoever is signed in, or nobody.
pub(crate) fn find(site: &Site, headers: &HeaderMap) -> Option<Viewer> {
    let id = cookie(headers, session_cookie(site))?;
    // What a script looks at by itself keeps nobody signed in.
    let live = headers.contains_key("x-live");
    let session = site.sessions.find(&id, !live)?;
    let programme = site.snapshot().programme;
    // Somebody who was taken off the list, or who has another secret now, signs in again.
    let (person, name) = app::person(&programme, &session.person)?;
    if app::key_of(&programme, &person) != Some(session.key) {
        return None;
    }
    let powers = app::powers(&programme, &person, site.today());
    let observes = app::observes(&programme, &person);
    let founds = app::is_founding(&programme);
    let prefers = app::Preferences::of(&site.config.desk.settings(), &person);
    let csrf = session.csrf;
    let session = id;
    Some(Viewer { session, person, name, csrf, powers, observes, prefers, founds, live })
}

/// The name of the session's cookie; over an encrypted connection browsers hold it to that.
pub(crate) fn session_cookie(site: &Site) -> &'static str {
    if site.config.transport.is_secure() { "__Host-session" } else { "session" }
}

/// The value of a cookie.
pub(crate) fn cookie(headers: &HeaderMap, name: &str) -> Option<String> {
    let all = headers.get_all(COOKIE).iter().filter_map(|value| value.to_str().ok());
    let mut each = all.flat_map(|value| value.split(';'));
    each.find_map(|pair| {
        let (found, value) = pair.trim().split_once('=')?;
        (found == name).then(|| value.to_owned())
    })
}

/// A cookie as it is set; without a value it is taken away.
pub(crate) fn set_cookie(site: &Site, name: &str, value: Option<&str>) -> String {
    let secure = if site.config.transport.is_secure() { "; Secure" } else { "" };
    let age = if value.is_some() { "" } else { "; Max-Age=0" };
    let value = value.unwrap_or_default();
    format!("{name}={value}; Path=/; HttpOnly; SameSite=Strict{secure}{age}")
}

impl FromRequestParts<Site> for Viewer {
    type Rejection = Response;

    async fn from_request_parts(
        parts: &mut Parts,
        site: &Site,
    ) -> Result<Self, Response> {
        if let Some(viewer) = find(site, &parts.headers) {
            return Ok(viewer);
        }
        if parts.method != Method::GET {
            return Err(fault::signed_out());
        }
        let wanted = parts.uri.path_and_query().map_or("/", |wanted| wanted.as_str());
        let then = format!("{}?then={}", sign_in::PATH, encoded(wanted));
        Err(Redirect::to(&then).into_response())
    }
}

/// Where a request comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Address(pub(crate) IpAddr);

impl Address {
    pub(crate) fn of(site: &Site, parts: &Parts) -> Self {
        let direct = parts.extensions.get::<ConnectInfo<SocketAddr>>();
        let direct = direct.map_or(Ipv4Addr::UNSPECIFIED.into(), |info| info.0.ip());
        if site.config.transport != Transport::Proxy {
            return Self(direct);
        }
        // The last one is what our proxy saw; those before it anybody can write.
        let said = parts.headers.get_all("x-forwarded-for").iter().next_back();
        let said = said.and_then(|value| value.to_str().ok()?.rsplit(',').next());
        Self(said.and_then(|said| said.trim().parse().ok()).unwrap_or(direct))
    }
}

impl FromRequestParts<Site> for Address {
    type Rejection = std::convert::Infallible;

    async fn from_request_parts(
        parts: &mut Parts,
        site: &Site,
    ) -> Result<Self, Self::Rejection> {
        Ok(Self::of(site, parts))
    }
}

/// Whether a request that changes something comes from a page of ours, as far as the
/// browser tells. Beside this, every form carries a token.
pub(crate) fn is_ours(headers: &HeaderMap) -> bool {
    let text = |name| headers.get(name).and_then(|value| value.to_str().ok());
    if let Some(origin) = text(ORIGIN.as_str()) {
        let host = origin.split_once("://").map(|(_, host)| host);
        return host.is_some() && host == text(HOST.as_str());
    }
    text("sec-fetch-site").is_none_or(|site| matches!(site, "same-origin" | "none"))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn headers(pairs: &[(&'static str, &'static str)]) -> HeaderMap {
        let pair = |(name, value): &(&'static str, &'static str)| {
            let name = axum::http::HeaderName::from_static(name);
            (name, axum::http::HeaderValue::from_static(value))
        };
        pairs.iter().map(pair).collect()
    }

    #[test]
    fn a_form_of_another_site_is_told_apart() {
        for (pairs, ours) in [
            (&[("host", "a:1"), ("origin", "http://a:1")][..], true),
            (&[("host", "a:1"), ("origin", "http://a:2")], false),
            (&[("host", "a"), ("origin", "https://evil.example")], false),
            (&[("host", "a"), ("origin", "null")], false),
            (&[("host", "a"), ("sec-fetch-site", "cross-site")], false),
            (&[("host", "a"), ("sec-fetch-site", "same-origin")], true),
            (&[("host", "a")], true),
        ] {
            assert_eq!(is_ours(&headers(pairs)), ours, "{pairs:?}");
        }
    }

    #[test]
    fn cookies_are_found_by_their_whole_name() {
        let found = headers(&[("cookie", "xsession=1; session=ab; other=2")]);
        assert_eq!(cookie(&found, "session").as_deref(), Some("ab"));
        assert_eq!(cookie(&found, "sess"), None);
    }
}
