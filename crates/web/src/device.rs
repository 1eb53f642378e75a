//! Browsers in which somebody signed in before: whose guesses are counted apart from those of
//! strangers, so that nobody is kept out by others who guess at their name.
//!
//! It opens nothing: whoever signs in gives the secret, and the code if one is asked, as ever.
//! It is kept in memory alone; after a new start everybody is a stranger once.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::{Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};

use app::AppError;
use axum::http::HeaderMap;

use crate::site::Site;
use crate::viewer::cookie;

/// How long a browser is known after the last sign-in there.
const LASTS: Duration = Duration::from_hours(24 * 90);
/// The most that are known; beyond that the one that was used longest ago is forgotten.
const MOST: usize = 2_000;

#[derive(Debug)]
struct Device {
    people: BTreeSet<String>,
    last: Instant,
}

/// All of them, by an id that nobody can guess.
#[derive(Debug, Default)]
pub(crate) struct Devices(Mutex<BTreeMap<String, Device>>);

/// The name of the cookie; over an encrypted connection browsers hold it to that.
fn name(site: &Site) -> &'static str {
    if site.config.transport.is_secure() { "__Host-device" } else { "device" }
}

impl Devices {
    fn all(&self) -> MutexGuard<'_, BTreeMap<String, Device>> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn knows(&self, id: &str, person: &str) -> bool {
        let all = self.all();
        let found = all.get(id).filter(|device| device.last.elapsed() < LASTS);
        found.is_some_and(|device| device.people.contains(person))
    }

    /// Somebody signed in there: the id by which it is known from now on.
    fn note(&self, id: Option<&str>, person: &str) -> Result<String, AppError> {
        let mut all = self.all();
        let now = Instant::now();
        all.retain(|_, device| now.duration_since(device.last) < LASTS);
        if let Some((id, device)) = id.and_then(|id| Some((id, all.get_mut(id)?))) {
            device.people.insert(person.to_owned());
            device.last = now;
            return Ok(id.to_owned());
        }
        if all.len() >= MOST {
            let oldest = all.iter().min_by_key(|(_, device)| device.last);
            let oldest = oldest.map(|(id, _)| id.clone());
            oldest.and_then(|id| all.remove(&id));
        }
        let new = app::random_token()?;
        let people = BTreeSet::from([person.to_owned()]);
        all.insert(new.clone(), Device { people, last: now });
        Ok(new)
    }
}

/// The browser's id, if the person signed in there before.
pub(crate) fn known(site: &Site, headers: &HeaderMap, person: &str) -> Option<String> {
    cookie(headers, name(site)).filter(|id| site.devices.knows(id, person))
}

/// The cookie for a browser in which somebody signed in now.
///
/// # Errors
/// If the system has no randomness.
pub(crate) fn noted(
    site: &Site,
    headers: &HeaderMap,
    person: &str,
) -> Result<String, AppError> {
    let id = site.devices.note(cookie(headers, name(site)).as_deref(), person)?;
    let secure = if site.config.transport.is_secure() { "; Secure" } else { "" };
    let age = LASTS.as_secs();
    let name = name(site);
    Ok(format!("{name}={id}; Path=/; HttpOnly; SameSite=Strict; Max-Age={age}{secure}"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_browser_is_known_for_those_who_signed_in_there() {
        let devices = Devices::default();
        let id = devices.note(None, "OP").unwrap();
        assert_eq!(id.len(), 64);
        assert!(devices.knows(&id, "OP") && !devices.knows(&id, "TR"));
        assert_eq!(devices.note(Some(&id), "TR").unwrap(), id);
        assert!(devices.knows(&id, "OP") && devices.knows(&id, "TR"));
        // An id that we did not give is none of ours.
        let other = devices.note(Some("forged"), "OP").unwrap();
        assert!(other != "forged" && !devices.knows("forged", "OP"));
    }

    #[test]
    fn so_many_are_known_and_no_more() {
        let devices = Devices::default();
        let first = devices.note(None, "OP").unwrap();
        for _ in 0..MOST {
            devices.note(None, "OP").unwrap();
        }
        assert_eq!(devices.all().len(), MOST);
        assert!(!devices.knows(&first, "OP"));
    }
}
