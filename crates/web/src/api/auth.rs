//! Who asks, by their token.

use app::{Pass, PassScope};
use axum::extract::FromRequestParts;
use axum::http::header::AUTHORIZATION;
use axum::http::request::Parts;
use jiff::civil::Date;

use super::Problem;
use crate::site::Site;
use crate::viewer::Address;

/// Somebody who asks with a token that counts.
#[derive(Debug, Clone)]
pub(crate) struct Caller {
    /// Their name in the programme.
    pub(crate) person: String,
    /// What the token lets them do.
    pub(crate) scope: PassScope,
    /// What tells the token apart from all others; it is no secret.
    pub(crate) token: String,
    /// The last day on which it counts.
    pub(crate) expires: Option<Date>,
}

impl Caller {
    /// Whether the token may act.
    pub(crate) fn acts(&self) -> Result<(), Problem> {
        if self.scope == PassScope::Act { Ok(()) } else { Err(Problem::only_reads()) }
    }
}

impl FromRequestParts<Site> for Caller {
    type Rejection = Problem;

    async fn from_request_parts(parts: &mut Parts, site: &Site) -> Result<Self, Problem> {
        let Some(pass) = find(site, parts) else {
            // Guessing is hopeless, and need not be quick either.
            let rate = site.config.rates.strangers;
            let from = format!("no token, {}", Address::of(site, parts).0);
            site.rate.take(&from, rate).map_err(Problem::too_many)?;
            return Err(Problem::no_token());
        };
        let from = format!("token {}", pass.name);
        site.rate.take(&from, site.config.rates.tokens).map_err(Problem::too_many)?;
        note(site, &pass);
        let Pass { owner, scope, expires, .. } = pass;
        Ok(Self { person: owner, scope, token: from, expires })
    }
}

fn find(site: &Site, parts: &Parts) -> Option<Pass> {
    let header = parts.headers.get(AUTHORIZATION)?.to_str().ok()?;
    let (scheme, token) = header.split_once(' ')?;
    let bearer = scheme.eq_ignore_ascii_case("bearer");
    let (settings, programme) = (site.config.desk.settings(), site.snapshot().programme);
    let token = bearer.then(|| token.trim())?;
    app::find_pass(&settings, &programme, (token, false), site.today())
}

/// That it was used is noted aside; nobody waits for it, and it may fail.
pub(crate) fn note(site: &Site, pass: &Pass) {
    let (site, pass) = (site.clone(), pass.clone());
    tokio::task::spawn_blocking(move || {
        let _ = app::pass_used(&site.config.desk, &pass, &site.stamp());
    });
}
