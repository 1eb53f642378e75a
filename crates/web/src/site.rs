//! What all pages share.

use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;

use app::{AppError, HidingKey, Secret, Snapshot, Studio, Uploads};
use jiff::civil::Date;
use tokio::sync::{Semaphore, watch};

use crate::config::Config;
use crate::device::Devices;
use crate::limit::{Guesser, Limiter};
use crate::links::Index;
use crate::pages::record::Proofs;
use crate::rate::Buckets;
use crate::second::Halves;
use crate::session::Sessions;
use crate::thumbnails::Thumbnails;
use crate::viewer::Viewer;

/// So many keys are derived at once: each takes 64 MiB and a core for a while.
const DERIVATIONS: usize = 2;
/// How long one waits for a turn at that.
const PATIENCE: Duration = Duration::from_secs(15);
/// So many watch for changes at once.
const WATCHERS: usize = 500;

/// What is sent to those who watch for changes when the program stops.
pub(crate) const STOPPED: u64 = u64::MAX;

/// What all pages share; a clone is a pointer.
#[derive(Clone)]
pub struct Site(Arc<Inner>);

/// What a [`Site`] points to.
pub struct Inner {
    pub(crate) config: Config,
    pub(crate) studio: Studio,
    pub(crate) uploads: Uploads,
    pub(crate) sessions: Sessions,
    pub(crate) limiter: Limiter,
    pub(crate) devices: Devices,
    pub(crate) rate: Buckets,
    pub(crate) halves: Halves,
    pub(crate) bundles: Arc<Semaphore>,
    pub(crate) proofs: Proofs,
    pub(crate) small: Thumbnails,
    pub(crate) changes: watch::Sender<u64>,
    pub(crate) watchers: Arc<Semaphore>,
    derivations: Semaphore,
    first: Mutex<Option<String>>,
    index: Mutex<Option<(u64, Arc<Index>)>>,
}

impl std::ops::Deref for Site {
    type Target = Inner;

    fn deref(&self) -> &Inner {
        &self.0
    }
}

/// Why a secret was not even looked at, or not found right.
#[derive(Debug)]
pub(crate) enum Unproven {
    /// It is another's, or nobody's.
    Wrong,
    /// Too many wrong ones: how long to wait.
    Wait(Duration),
    /// Too many at once.
    Busy,
    /// Something else.
    Failed(AppError),
}

impl Site {
    /// What pages of a configuration share.
    ///
    /// # Errors
    /// If the system has no randomness.
    pub fn new(config: Config) -> Result<Self, AppError> {
        let number = config.desk.snapshot().number;
        let (changes, _) = watch::channel(number);
        let tell = changes.clone();
        config.desk.listen(move |number| {
            tell.send_if_modified(|last| {
                let more = *last != STOPPED && *last != number;
                if more {
                    *last = number;
                }
                more
            });
        });
        let sessions = Sessions::new(config.sessions);
        let keyless = !app::has_keys(&config.desk.snapshot().programme);
        let first = if keyless { Some(app::random_token()?) } else { None };
        Ok(Self(Arc::new(Inner {
            config,
            studio: Studio::default(),
            uploads: Uploads::default(),
            sessions,
            limiter: Limiter::default(),
            devices: Devices::default(),
            rate: Buckets::default(),
            halves: Halves::default(),
            bundles: Arc::new(Semaphore::new(1)),
            proofs: Proofs::default(),
            small: Thumbnails::default(),
            changes,
            watchers: Arc::new(Semaphore::new(WATCHERS)),
            derivations: Semaphore::new(DERIVATIONS),
            first: Mutex::new(first),
            index: Mutex::new(None),
        })))
    }

    /// The path at which the first person enrols, while nobody has a secret.
    pub fn first_path(&self) -> Option<String> {
        let first = self.first.lock().unwrap_or_else(PoisonError::into_inner).clone();
        first.filter(|_| !self.has_keys()).map(|token| format!("/first/{token}"))
    }

    /// Whether a token is the one of the link that was printed.
    pub(crate) fn is_first(&self, token: &str) -> bool {
        let path = self.first_path();
        path.is_some_and(|path| alike(&path, &format!("/first/{token}")))
    }

    pub(crate) fn has_keys(&self) -> bool {
        app::has_keys(&self.snapshot().programme)
    }

    pub(crate) fn snapshot(&self) -> Snapshot {
        self.config.desk.snapshot()
    }

    pub(crate) fn today(&self) -> Date {
        (self.config.clock)().day
    }

    /// Now, on the clock of the workshop.
    pub(crate) fn now(&self) -> jiff::civil::DateTime {
        let now = (self.config.clock)();
        let midnight = now.day.to_datetime(jiff::civil::Time::midnight());
        app::moment_of(&now.stamp).unwrap_or(midnight)
    }

    /// Now, as a ledger keeps times.
    pub(crate) fn stamp(&self) -> String {
        (self.config.clock)().stamp
    }

    /// Where names lead, for the programme as it stands after one entry.
    pub(crate) fn index(&self, snapshot: &Snapshot) -> Arc<Index> {
        let mut kept = self.index.lock().unwrap_or_else(PoisonError::into_inner);
        match &*kept {
            Some((number, index)) if *number == snapshot.number => Arc::clone(index),
            _ => {
                let index = Arc::new(Index::new(&snapshot.programme));
                *kept = Some((snapshot.number, Arc::clone(&index)));
                index
            }
        }
    }

    /// Proves that a secret is a person's; whoever guesses waits. What it gives shows what is
    /// hidden beside the record for this person.
    pub(crate) async fn prove(
        &self,
        person: &str,
        secret: &Secret,
        guesser: Guesser<'_>,
    ) -> Result<HidingKey, Unproven> {
        self.limiter.begin(person, guesser).map_err(Unproven::Wait)?;
        let (programme, name) = (self.snapshot().programme, person.to_owned());
        let secret = secret.clone();
        let proven = self.derive(move || app::unlock(&programme, &name, &secret)).await;
        match proven {
            Ok(Some(unlocked)) => {
                self.limiter.right(person, guesser);
                Ok(unlocked)
            }
            Ok(None) => Err(Unproven::Wrong),
            Err(other) => Err(other),
        }
    }

    /// The same of somebody who is signed in: what strangers guess does not hold them up.
    pub(crate) async fn prove_again(
        &self,
        viewer: &Viewer,
        secret: &Secret,
    ) -> Result<HidingKey, Unproven> {
        self.prove(&viewer.person, secret, Guesser::Known(&viewer.session)).await
    }

    /// Does what takes much memory and time off the threads that answer, a few at once.
    pub(crate) async fn derive<T: Send + 'static>(
        &self,
        work: impl FnOnce() -> Result<T, AppError> + Send + 'static,
    ) -> Result<T, Unproven> {
        let turn = tokio::time::timeout(PATIENCE, self.derivations.acquire()).await;
        let Ok(Ok(_turn)) = turn else { return Err(Unproven::Busy) };
        self.aside(work).await.map_err(Unproven::Failed)
    }

    /// Does what waits for a disk or another thread off the threads that answer.
    pub(crate) async fn aside<T: Send + 'static>(
        &self,
        work: impl FnOnce() -> Result<T, AppError> + Send + 'static,
    ) -> Result<T, AppError> {
        let done = tokio::task::spawn_blocking(work).await;
        done.unwrap_or_else(|_| {
            Err(AppError::Unknown("a defect of the program came up".to_owned()))
        })
    }
}

/// Whether two texts are the same, in a time that does not tell where they differ.
pub(crate) fn alike(one: &str, other: &str) -> bool {
    let same = one.len() == other.len();
    let bits = one.bytes().zip(other.bytes()).fold(0, |bits, (a, b)| bits | (a ^ b));
    same && bits == 0
}

impl Unproven {
    /// What to tell, beside the field.
    pub(crate) fn told(&self, name: &str) -> String {
        match self {
            Self::Wrong => format!("that is not the secret of {name}: type it again"),
            Self::Wait(wait) => {
                let (seconds, minutes) = (wait.as_secs() + 1, wait.as_secs() / 60 + 1);
                let wait = match seconds {
                    1 => "a second".to_owned(),
                    2..=120 => format!("{seconds} seconds"),
                    _ => format!("{minutes} minutes"),
                };
                format!("too many wrong ones: try again in {wait}")
            }
            Self::Busy => {
                "many sign in at this moment: try again in a few seconds".to_owned()
            }
            Self::Failed(error) => error.to_string(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::alike;

    #[test]
    fn texts_are_compared_whole() {
        for (one, other, same) in
            [("", "", true), ("ab", "ab", true), ("ab", "ac", false), ("ab", "a", false)]
        {
            assert_eq!(alike(one, other), same);
        }
    }
}
