//! Who is signed in. It is kept in memory alone: a new start ends all sessions.

use std::collections::BTreeMap;
use std::sync::{Mutex, MutexGuard, PoisonError};
use std::time::Instant;

use app::AppError;
use maud::{Markup, html};

use crate::config::Sessions as Limits;

/// The most sessions at once; beyond that the one that was idle longest ends.
const MOST: usize = 2_000;

/// Somebody who is signed in.
#[derive(Debug, Clone)]
pub(crate) struct Session {
    /// Their name in the programme.
    pub(crate) person: String,
    /// The key that their secret made when they signed in.
    pub(crate) key: String,
    /// What every form of theirs carries.
    pub(crate) csrf: String,
    /// By which it is ended from another one: no secret.
    pub(crate) name: String,
    /// By which device, and when, as people know it again.
    pub(crate) about: String,
    /// When it began, on the clock of the workshop.
    pub(crate) begun: String,
    since: Instant,
    last: Instant,
    /// What the next page tells.
    notes: Vec<Note>,
}

/// What a page tells once.
#[derive(Debug, Clone)]
pub(crate) struct Note {
    pub(crate) told: Markup,
    /// Whether it tells that a form was entered: then the device need not keep it any more.
    pub(crate) entered: bool,
}

impl Note {
    /// What tells of no form.
    pub(crate) fn aside(text: &str) -> Self {
        Self { told: html! { p { (text) } }, entered: false }
    }
}

impl From<Markup> for Note {
    fn from(markup: Markup) -> Self {
        Self { told: markup, entered: true }
    }
}

impl From<String> for Note {
    fn from(text: String) -> Self {
        Self { entered: true, ..Self::aside(&text) }
    }
}

/// All of them, by their id.
#[derive(Debug)]
pub(crate) struct Sessions {
    limits: Limits,
    open: Mutex<BTreeMap<String, Session>>,
}

impl Sessions {
    pub(crate) fn new(limits: Limits) -> Self {
        Self { limits, open: Mutex::default() }
    }

    fn open(&self) -> MutexGuard<'_, BTreeMap<String, Session>> {
        self.open.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Signs somebody in; the id, which nobody can guess.
    pub(crate) fn begin(&self, person: &str, key: &str) -> Result<String, AppError> {
        let (id, csrf, now) =
            (app::random_token()?, app::random_token()?, Instant::now());
        let session = Session {
            person: person.to_owned(),
            key: key.to_owned(),
            csrf,
            name: app::random_token()?[..16].to_owned(),
            about: String::new(),
            begun: String::new(),
            since: now,
            last: now,
            notes: Vec::new(),
        };
        let mut open = self.open();
        open.retain(|_, session| self.limits.hold(session, now));
        if open.len() >= MOST {
            let oldest = open.iter().min_by_key(|(_, session)| session.last);
            let oldest = oldest.map(|(id, _)| id.clone());
            oldest.and_then(|id| open.remove(&id));
        }
        open.insert(id.clone(), session);
        Ok(id)
    }

    /// The session of an id, if it has not ended; to `touch` it is to be there still.
    pub(crate) fn find(&self, id: &str, touch: bool) -> Option<Session> {
        let (mut open, now) = (self.open(), Instant::now());
        let session = open.get_mut(id)?;
        if !self.limits.hold(session, now) {
            open.remove(id);
            return None;
        }
        if touch {
            session.last = now;
        }
        Some(session.clone())
    }

    /// Ends one.
    pub(crate) fn end(&self, id: &str) {
        self.open().remove(id);
    }

    /// Ends all of a person.
    pub(crate) fn end_all(&self, person: &str) {
        self.open().retain(|_, session| session.person != person);
    }

    /// Says by which device it was begun, and when.
    pub(crate) fn describe(&self, id: &str, about: String, begun: String) {
        if let Some(session) = self.open().get_mut(id) {
            session.about = about;
            session.begun = begun;
        }
    }

    /// Those of a person, each with its id; the newest first.
    pub(crate) fn of(&self, person: &str) -> Vec<(String, Session)> {
        let now = Instant::now();
        let mut open = self.open();
        open.retain(|_, session| self.limits.hold(session, now));
        let own = open.iter().filter(|(_, session)| session.person == person);
        let mut own: Vec<_> =
            own.map(|(id, session)| (id.clone(), session.clone())).collect();
        own.sort_by_key(|(_, session)| std::cmp::Reverse(session.since));
        own
    }

    /// Leaves something for the next page.
    pub(crate) fn note<N: Into<Note>>(&self, id: &str, notes: Vec<N>) {
        if let Some(session) = self.open().get_mut(id) {
            session.notes = notes.into_iter().map(Into::into).collect();
        }
    }

    /// What was left, once.
    pub(crate) fn take_notes(&self, id: &str) -> Vec<Note> {
        let mut open = self.open();
        open.get_mut(id)
            .map(|session| std::mem::take(&mut session.notes))
            .unwrap_or_default()
    }
}

impl Limits {
    fn hold(&self, session: &Session, now: Instant) -> bool {
        now.duration_since(session.last) < self.idle
            && now.duration_since(session.since) < self.most
    }
}

#[cfg(test)]
mod tests {
    use std::time::Duration;

    use super::*;

    fn limits(idle: u64, most: u64) -> Sessions {
        let ms = Duration::from_millis;
        Sessions::new(Limits { idle: ms(idle), most: ms(most) })
    }

    #[test]
    fn a_session_ends_when_idle_when_old_and_when_told() {
        let sessions = limits(60_000, 60_000);
        let (one, two) =
            (sessions.begin("OP", "key").unwrap(), sessions.begin("OP", "key").unwrap());
        let other = sessions.begin("TR", "key").unwrap();
        assert_ne!(one, two);
        assert_eq!(one.len(), 64);
        sessions.end(&one);
        assert!(sessions.find(&one, true).is_none());
        assert_eq!(sessions.find(&two, true).unwrap().person, "OP");
        sessions.end_all("OP");
        assert!(sessions.find(&two, true).is_none());
        assert!(sessions.find(&other, true).is_some());
        let idle = limits(20, 60_000);
        let id = idle.begin("OP", "key").unwrap();
        std::thread::sleep(Duration::from_millis(30));
        assert!(idle.find(&id, true).is_none());
        let old = limits(60_000, 40);
        let id = old.begin("OP", "key").unwrap();
        while old.find(&id, true).is_some() {
            std::thread::sleep(Duration::from_millis(5));
        }
    }

    #[test]
    fn what_looks_without_a_person_keeps_no_session_alive() {
        let sessions = limits(200, 60_000);
        let id = sessions.begin("OP", "key").unwrap();
        let begun = Instant::now();
        while sessions.find(&id, false).is_some() {
            assert!(begun.elapsed() < Duration::from_secs(20));
            std::thread::sleep(Duration::from_millis(10));
        }
    }

    #[test]
    fn a_note_is_told_once() {
        let sessions = limits(60_000, 60_000);
        let id = sessions.begin("OP", "key").unwrap();
        sessions.note(&id, vec!["kept".to_owned()]);
        let notes = sessions.take_notes(&id);
        assert_eq!(notes.len(), 1);
        assert_eq!(notes[0].told.0, "<p>kept</p>");
        assert!(sessions.take_notes(&id).is_empty());
    }
}
