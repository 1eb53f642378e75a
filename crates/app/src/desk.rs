//! A desk at which many people read and sign at once, one process for all of them.
//!
//! The workshop lives on a thread of its own. Readers take a [`Snapshot`], which costs a
//! pointer, and never wait for whoever writes or plans; acts go through a queue and are done
//! one after the other. The ledger is held for writing only while something is signed, so
//! that other processes get at it too; what they enter is folded about once a second.

use std::fmt;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::mpsc::{Receiver, RecvTimeoutError, SyncSender, TrySendError};
use std::sync::mpsc::{channel, sync_channel};
use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

use ledger::{Change, Place, SettingKey};
use record::{Act, Programme};

use crate::named::Named;
use crate::workshop::patient;
use crate::{AppError, Kept, ListImport, ListLoaded, Settings, Signed, Workshop};

/// How often one looks whether others entered something.
const LOOK: Duration = Duration::from_secs(1);
/// How many acts may wait.
const QUEUE: usize = 64;

/// The programme as it stood after one entry.
#[derive(Clone)]
pub struct Snapshot {
    /// The programme.
    pub programme: Arc<Programme>,
    /// The number of that entry.
    pub number: u64,
}

/// Whoever waits for an answer.
type Answer<T> = std::sync::mpsc::Sender<Result<T, AppError>>;

/// Looks at a setting, and says what becomes of it.
type Decide = Box<dyn FnMut(Option<&str>) -> Change + Send>;

/// What is asked of the desk.
enum Asked {
    Entered(Entered),
    Setting(SettingKey, Decide, Answer<()>),
}

/// What is entered into the record.
struct Entered {
    what: What,
    signed: Signed,
    request: Option<String>,
}

/// What somebody wants done.
enum What {
    /// Acts, having seen the record up to an entry.
    Acts(Vec<Act>, Option<u64>, Answer<Vec<Kept>>),
    /// A list of the programme, from a file.
    List(Box<ListImport>, Answer<ListLoaded>),
}

impl What {
    /// Tells whoever waits that it came to nothing.
    fn fail(self, error: AppError) {
        // Whoever asked may have left.
        let _ = match self {
            Self::Acts(_, _, answer) => answer.send(Err(error)).is_ok(),
            Self::List(_, answer) => answer.send(Err(error)).is_ok(),
        };
    }
}

type Listener = Box<dyn Fn(u64) + Send + Sync>;

/// What the desk's thread and everybody else share.
struct Shared {
    now: Mutex<Now>,
    changed: Condvar,
}

struct Now {
    snapshot: Snapshot,
    settings: Arc<Settings>,
    trouble: Option<String>,
    listeners: Vec<Arc<Listener>>,
}

/// See the module.
pub struct Desk {
    shared: Arc<Shared>,
    place: Place,
    queue: Option<SyncSender<Asked>>,
    hand: Option<JoinHandle<()>>,
    named: Named,
}

impl fmt::Debug for Desk {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Desk({})", self.place)
    }
}

impl Desk {
    /// Opens a ledger that exists.
    pub fn open(place: &Place) -> Result<Self, AppError> {
        let workshop = Workshop::read(place)?;
        let snapshot = snapshot(&workshop);
        let settings = Arc::new(workshop.settings()?);
        let now = Now { snapshot, settings, trouble: None, listeners: Vec::new() };
        let shared = Arc::new(Shared { now: Mutex::new(now), changed: Condvar::new() });
        let (queue, asked) = sync_channel(QUEUE);
        let mut hand =
            Hand { workshop, place: place.clone(), shared: Arc::clone(&shared) };
        let hand = std::thread::Builder::new()
            .name("desk".to_owned())
            .spawn(move || hand.work(&asked))
            .map_err(|error| {
                AppError::Unknown(format!("the desk has no thread: {error}"))
            })?;
        let (queue, hand) = (Some(queue), Some(hand));
        Ok(Self { shared, place: place.clone(), queue, hand, named: Named::default() })
    }

    /// Which entries name what.
    pub(crate) fn named(&self) -> &Named {
        &self.named
    }

    /// Which ledger it is.
    pub fn place(&self) -> &Place {
        &self.place
    }

    /// The programme as it stands. It waits for nobody.
    pub fn snapshot(&self) -> Snapshot {
        self.shared.now().snapshot.clone()
    }

    /// Why the ledger can't be looked at now, if it can't; what is shown is as old as the
    /// snapshot then.
    pub fn trouble(&self) -> Option<String> {
        self.shared.now().trouble.clone()
    }

    /// Waits until there is something after an entry, at most so long; the programme as it
    /// then stands, changed or not.
    pub fn wait_after(&self, number: u64, most: Duration) -> Snapshot {
        let same = |now: &mut Now| now.snapshot.number <= number;
        let waited =
            self.shared.changed.wait_timeout_while(self.shared.now(), most, same);
        waited.unwrap_or_else(PoisonError::into_inner).0.snapshot.clone()
    }

    /// Calls somebody after each change, with the number of the last entry. It is called on
    /// the desk's thread and must soon be done.
    pub fn listen(&self, listener: impl Fn(u64) + Send + Sync + 'static) {
        let listener: Listener = Box::new(listener);
        self.shared.now().listeners.push(Arc::new(listener));
    }

    /// Does acts, after those that were asked for before; waits for the answer. See
    /// [`Workshop::act_having_seen`].
    ///
    /// # Errors
    /// Its errors, and one if too many wait.
    pub fn act(
        &self,
        acts: Vec<Act>,
        signed: Signed,
        request: Option<String>,
        seen: Option<u64>,
    ) -> Result<Vec<Kept>, AppError> {
        let (answer, answered) = channel();
        self.ask(Asked::Entered(Entered {
            what: What::Acts(acts, seen, answer),
            signed,
            request,
        }))?;
        answered.recv().map_err(|_| ended())?
    }

    /// The settings beside the record as they stand. It waits for nobody.
    pub fn settings(&self) -> Arc<Settings> {
        Arc::clone(&self.shared.now().settings)
    }

    /// Changes a setting of somebody, in one durable transaction in which nobody else changes
    /// it: `decide` sees what it holds and says what becomes of it, and what to answer.
    ///
    /// # Errors
    /// If the ledger can't be written, or too many wait.
    pub fn change_setting<T: Send + 'static>(
        &self,
        (owner, kind, name): (&str, &str, &str),
        decide: impl FnOnce(Option<&str>) -> (Change, T) + Send + 'static,
    ) -> Result<T, AppError> {
        let (answer, answered) = channel();
        let (tell, told) = channel();
        let mut decide = Some(decide);
        let decide = Box::new(move |found: Option<&str>| {
            let Some(decide) = decide.take() else { return Change::Keep };
            let (change, what) = decide(found);
            // Whoever asked may have left.
            let _ = tell.send(what);
            change
        });
        self.ask(Asked::Setting(SettingKey::new(owner, kind, name), decide, answer))?;
        answered.recv().map_err(|_| ended())??;
        told.recv().map_err(|_| ended())
    }

    /// Loads a list from a file, after what was asked for before: all of it or nothing, and
    /// only if it changes what whoever signs saw that it would.
    ///
    /// # Errors
    /// [`AppError::Overtaken`] if it would change something else by now; those of loading a
    /// folder; and one if too many wait.
    pub fn load_list(
        &self,
        import: ListImport,
        signed: Signed,
        request: Option<String>,
    ) -> Result<ListLoaded, AppError> {
        let (answer, answered) = channel();
        let what = What::List(Box::new(import), answer);
        self.ask(Asked::Entered(Entered { what, signed, request }))?;
        answered.recv().map_err(|_| ended())?
    }

    fn ask(&self, asked: Asked) -> Result<(), AppError> {
        let queue = self.queue.as_ref().ok_or_else(ended)?;
        queue.try_send(asked).map_err(|error| match error {
            TrySendError::Full(_) => AppError::Unknown(
                "too many sign at this moment, and nothing was entered: send it again"
                    .to_owned(),
            ),
            TrySendError::Disconnected(_) => ended(),
        })
    }
}

impl Drop for Desk {
    /// What waits is done before the desk ends.
    fn drop(&mut self) {
        drop(self.queue.take());
        if let Some(hand) = self.hand.take() {
            // A panic was told to whoever asked.
            let _ = hand.join();
        }
    }
}

fn ended() -> AppError {
    AppError::Unknown("the desk has ended, and nothing was entered".to_owned())
}

fn snapshot(workshop: &Workshop) -> Snapshot {
    let programme = Arc::new(workshop.programme().clone());
    Snapshot { programme, number: workshop.number() }
}

impl Shared {
    /// Nothing can panic while this is held, so that what is poisoned is whole.
    fn now(&self) -> MutexGuard<'_, Now> {
        self.now.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn publish(&self, snapshot: Snapshot) {
        let number = snapshot.number;
        let mut now = self.now();
        let changed = now.snapshot.number != number;
        now.snapshot = snapshot;
        now.trouble = None;
        let listeners = if changed { now.listeners.clone() } else { Vec::new() };
        drop(now);
        if changed {
            self.changed.notify_all();
        }
        for listener in listeners {
            listener(number);
        }
    }
}

/// Whoever works at the desk.
struct Hand {
    workshop: Workshop,
    place: Place,
    shared: Arc<Shared>,
}

impl Hand {
    fn work(&mut self, queue: &Receiver<Asked>) {
        let mut looked = Instant::now();
        loop {
            match queue.recv_timeout(LOOK.saturating_sub(looked.elapsed())) {
                Ok(Asked::Entered(entered)) => self.answer(entered),
                Ok(Asked::Setting(key, decide, answer)) => {
                    // Whoever asked may have left.
                    let _ = answer.send(self.set(&key, decide));
                }
                Err(RecvTimeoutError::Timeout) => {
                    self.look();
                    looked = Instant::now();
                }
                Err(RecvTimeoutError::Disconnected) => return,
            }
        }
    }

    /// Folds what others entered.
    fn look(&mut self) {
        self.look_at_settings();
        let looked = catch_unwind(AssertUnwindSafe(|| self.workshop.catch_up()));
        match looked {
            Ok(Ok(0)) => self.shared.now().trouble = None,
            Ok(Ok(_)) => self.shared.publish(snapshot(&self.workshop)),
            Ok(Err(error)) => self.begin_anew(&told(&error)),
            Err(_) => self.begin_anew("an entry could not be folded"),
        }
    }

    /// Takes in settings that others changed; if they can't be read, those before stay.
    fn look_at_settings(&self) {
        let known = self.shared.now().settings.changes;
        if self.workshop.setting_changes().is_ok_and(|now| now != known)
            && let Ok(settings) = self.workshop.settings()
        {
            self.shared.now().settings = Arc::new(settings);
        }
    }

    fn set(&mut self, key: &SettingKey, mut decide: Decide) -> Result<(), AppError> {
        let changed = catch_unwind(AssertUnwindSafe(|| {
            let mut store = patient(&self.place)?;
            store.change_setting(key, &mut *decide).map_err(AppError::Ledger)?;
            Settings::read(store.as_ref())
        }));
        let Ok(settings) = changed else {
            let what = "a defect of the program came up while a setting was changed";
            return Err(AppError::Unknown(what.to_owned()));
        };
        self.shared.now().settings = Arc::new(settings?);
        // A ledger of an older format was brought up to date by this: it is opened anew.
        self.workshop.reopen_if_older(&self.place)
    }

    fn answer(&mut self, asked: Entered) {
        let Entered { what, signed, request } = asked;
        let mut what = Some(what);
        let done = catch_unwind(AssertUnwindSafe(|| {
            self.workshop.writing(&self.place, |workshop| {
                // Whoever has an answer finds what they did in the next snapshot, and whoever
                // asked may have left.
                match &what {
                    Some(What::Acts(acts, seen, answer)) => {
                        let request = request.as_deref();
                        let kept =
                            workshop.act_having_seen(acts, &signed, request, *seen);
                        self.shared.publish(snapshot(workshop));
                        let _ = answer.send(kept);
                    }
                    Some(What::List(import, answer)) => {
                        let loaded =
                            workshop.load_list(import, &signed, request.as_deref());
                        self.shared.publish(snapshot(workshop));
                        let _ = answer.send(loaded);
                    }
                    None => {}
                }
                workshop.rest();
                Ok(())
            })
        }));
        match (done, what.take()) {
            (Ok(Ok(())), _) | (_, None) => {}
            (Ok(Err(error)), Some(what)) => what.fail(error),
            (Err(_), Some(wanted)) => {
                let what = "a defect of the program came up while this was entered: look \
                            in the history whether it was";
                wanted.fail(AppError::Unknown(what.to_owned()));
                self.begin_anew("a defect came up while something was entered");
            }
        }
    }

    /// What was folded may be half of it, or the connection is gone: opens the ledger again.
    fn begin_anew(&mut self, why: &str) {
        match Workshop::read(&self.place) {
            Ok(workshop) => {
                self.workshop = workshop;
                self.shared.publish(snapshot(&self.workshop));
            }
            Err(error) => {
                let why = format!("{why}; {}", told(&error));
                self.shared.now().trouble = Some(why);
            }
        }
    }
}

/// An error with what led to it.
fn told(error: &AppError) -> String {
    let mut text = error.to_string();
    let mut cause = std::error::Error::source(error);
    while let Some(because) = cause {
        text = format!("{text}: {because}");
        cause = because.source();
    }
    text
}
