//! Planning beside the record: one search at a time on a thread of its own, watched and
//! stopped from elsewhere, and what it found kept as proposals until somebody adopts one.
//!
//! The plan that was adopted is looked at here too: held against what has happened since, near to
//! where it was, it is one more proposal upon which things are tried.
//!
//! A proposal is made of the programme as it stood when the search began, and says after
//! which entry that was. It changes nothing; adopting it is an act.

use std::collections::{BTreeMap, VecDeque};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};
use std::time::Duration;

use jiff::civil::{Date, DateTime};
use record::{JobKey, Programme};
use search::{News, Silent, Stop, Watch};

use crate::progress::{Course, SearchProgress};
use crate::season::{adopted_plan, choose_season, plan_season, what_if};
use crate::{AppError, PlanRequest, SeasonPlan};

/// How many proposals are kept; the oldest goes first.
const KEPT: usize = 16;
/// How many views of adopted plans are kept.
const STANDING: usize = 4;
/// How long an adopted plan is made better after it was held against what happened.
const SETTLING: Duration = Duration::from_millis(300);

/// Where seasons are planned.
#[derive(Clone, Default)]
pub struct Studio {
    shared: Arc<Shared>,
}

#[derive(Default)]
struct Shared {
    state: Mutex<State>,
    changed: Condvar,
}

#[derive(Default)]
struct State {
    count: u64,
    running: Option<Running>,
    proposals: VecDeque<Arc<Proposal>>,
    /// Adopted plans as they stand.
    standing: VecDeque<Arc<Proposal>>,
    failed: BTreeMap<u64, String>,
    /// Raised at each change, for whoever waits for one.
    version: u64,
}

struct Running {
    number: u64,
    /// The first day of the season.
    begins: Option<Date>,
    stop: Arc<AtomicBool>,
    news: Option<News>,
    course: Course,
}

/// What a search came to.
pub struct Proposal {
    /// Its number; later ones are greater.
    pub number: u64,
    /// The entry after which the programme stood when the search began.
    pub entry: u64,
    /// The programme as it stood then.
    pub programme: Arc<Programme>,
    /// What was asked.
    pub request: PlanRequest,
    /// The proposal that it tries something upon, and what: jobs that begin no earlier.
    pub upon: Option<(u64, Vec<(JobKey, DateTime)>)>,
    /// The plan.
    pub planned: SeasonPlan,
}

/// How a search stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum SearchState {
    /// It runs; nothing is known at first.
    Running(Option<News>),
    /// It is over, and its proposal can be had.
    Ready,
    /// It came to nothing, for this reason.
    Failed(String),
    /// There was none of this number, or its proposal was let go for newer ones.
    Unknown,
}

impl Studio {
    /// Begins to plan a season; the number of the proposal that it will come to.
    ///
    /// # Errors
    /// If another search is running: it is to be stopped first.
    pub fn plan(
        &self,
        programme: Arc<Programme>,
        entry: u64,
        request: PlanRequest,
    ) -> Result<u64, AppError> {
        let today = request.now.map(DateTime::date);
        let season = choose_season(&programme, request.season.as_deref(), today).ok();
        let season = season.and_then(|season| programme.seasons.get(&season));
        let (number, stop) = self.begin(season.map(|season| season.from))?;
        let shared = Arc::clone(&self.shared);
        std::thread::spawn(move || {
            let watch = Watcher { shared: &shared, stop: &stop };
            let planned = guarded(|| plan_season(&programme, &request, &watch));
            let made = planned.map(|planned| Proposal {
                number,
                entry,
                programme,
                request,
                upon: None,
                planned,
            });
            shared.end(number, made);
        });
        Ok(number)
    }

    /// Tries what becomes of a proposal if some jobs begin no earlier than so: a plan beside
    /// it, near to it, at once.
    ///
    /// # Errors
    /// If the proposal is gone, a search is running, or nothing is lawful that way.
    pub fn what_if(
        &self,
        upon: u64,
        delays: Vec<(JobKey, DateTime)>,
        within: Duration,
    ) -> Result<u64, AppError> {
        let Some(from) = self.proposal(upon) else {
            return Err(AppError::Unknown(format!(
                "there is no proposal {upon} any more"
            )));
        };
        let (number, stop) = self.begin(Some(from.planned.draft.season.from))?;
        let watch = Watcher { shared: &self.shared, stop: &stop };
        let planned = guarded(|| {
            let (programme, upon) = (&from.programme, &from.planned);
            what_if(programme, upon, &from.request, &delays, within, &watch)
        });
        let made = planned.map(|planned| Proposal {
            number,
            entry: from.entry,
            programme: Arc::clone(&from.programme),
            request: from.request.clone(),
            upon: Some((upon, delays)),
            planned,
        });
        let failed = self.shared.end(number, made);
        failed.map_or(Ok(number), Err)
    }

    /// The plan that was adopted for a season as it stands on a day: what has happened is where
    /// it happened, and what is left keeps to the plan where it can. Nothing if none was
    /// adopted. It is made once for each entry and day, and kept apart from the proposals.
    ///
    /// # Errors
    /// If there is no such season, or nothing lawful is near the plan any more.
    pub fn standing(
        &self,
        programme: &Arc<Programme>,
        entry: u64,
        season: Option<&str>,
        now: Option<DateTime>,
    ) -> Result<Option<Arc<Proposal>>, AppError> {
        let season = choose_season(programme, season, now.map(DateTime::date))?;
        let same = |made: &&Arc<Proposal>| {
            (made.entry, made.request.now) == (entry, now)
                && made.planned.draft.season.id == season
        };
        if let Some(found) = self.shared.lock().standing.iter().find(same) {
            return Ok(Some(Arc::clone(found)));
        }
        let request = PlanRequest {
            season: Some(season.to_string()),
            stop: Stop::after(SETTLING),
            threads: 1,
            seed: 1,
            now,
            anew: false,
            measured: false,
        };
        let Some(planned) = adopted_plan(programme, &season, &request, &Silent)? else {
            return Ok(None);
        };
        let mut state = self.shared.lock();
        state.count += 1;
        let (number, programme) = (state.count, Arc::clone(programme));
        let made = Proposal { number, entry, programme, request, upon: None, planned };
        let made = Arc::new(made);
        state.standing.push_back(Arc::clone(&made));
        while state.standing.len() > STANDING {
            state.standing.pop_front();
        }
        drop(state);
        Ok(Some(made))
    }

    /// Asks the search that is running, if there is one, to end with what it has.
    pub fn stop(&self) {
        if let Some(running) = &self.shared.lock().running {
            running.stop.store(true, Ordering::Relaxed);
        }
    }

    /// The number of the search that is running.
    pub fn running(&self) -> Option<u64> {
        self.shared.lock().running.as_ref().map(|running| running.number)
    }

    /// How a search stands.
    pub fn state_of(&self, number: u64) -> SearchState {
        let state = self.shared.lock();
        match &state.running {
            Some(running) if running.number == number => {
                SearchState::Running(running.news)
            }
            _ if state
                .proposals
                .iter()
                .chain(&state.standing)
                .any(|p| p.number == number) =>
            {
                SearchState::Ready
            }
            _ => state
                .failed
                .get(&number)
                .map_or(SearchState::Unknown, |why| SearchState::Failed(why.clone())),
        }
    }

    /// What a search came to.
    pub fn proposal(&self, number: u64) -> Option<Arc<Proposal>> {
        let state = self.shared.lock();
        let mut all = state.proposals.iter().chain(&state.standing);
        all.find(|made| made.number == number).cloned()
    }

    /// Whether a proposal is an adopted plan as it stands.
    pub fn is_standing(&self, number: u64) -> bool {
        let state = self.shared.lock();
        state.standing.iter().any(|made| made.number == number)
    }

    /// How far the search of a number is, with how it went so far.
    pub fn progress(&self, number: u64) -> Option<SearchProgress> {
        let state = self.shared.lock();
        let running =
            state.running.as_ref().filter(|running| running.number == number)?;
        Some(running.course.told(number, running.news.as_ref(), running.begins))
    }

    /// All that are kept, the newest first.
    pub fn proposals(&self) -> Vec<Arc<Proposal>> {
        self.shared.lock().proposals.iter().rev().cloned().collect()
    }

    /// Waits until something is not as it was at a version, or some time is over; the version
    /// as it is then.
    pub fn changed(&self, since: u64, within: Duration) -> u64 {
        let state = self.shared.lock();
        let waited = self
            .shared
            .changed
            .wait_timeout_while(state, within, |state| state.version == since);
        waited.unwrap_or_else(PoisonError::into_inner).0.version
    }

    fn begin(&self, begins: Option<Date>) -> Result<(u64, Arc<AtomicBool>), AppError> {
        let mut state = self.shared.lock();
        if let Some(running) = &state.running {
            return Err(AppError::Unknown(format!(
                "search {} is running: stop it first, or wait for it",
                running.number
            )));
        }
        state.count += 1;
        let (number, stop) = (state.count, Arc::new(AtomicBool::new(false)));
        let running = Running {
            number,
            begins,
            stop: Arc::clone(&stop),
            news: None,
            course: Course::default(),
        };
        state.running = Some(running);
        drop(state);
        self.shared.tell(|_| {});
        Ok((number, stop))
    }
}

impl Shared {
    fn lock(&self) -> MutexGuard<'_, State> {
        // Nothing is half done when the lock is held: a panic elsewhere changes nothing here.
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn tell(&self, change: impl FnOnce(&mut State)) {
        let mut state = self.lock();
        change(&mut state);
        state.version += 1;
        self.changed.notify_all();
    }

    /// Keeps what a search came to; why it came to nothing.
    fn end(&self, number: u64, made: Result<Proposal, AppError>) -> Option<AppError> {
        let (made, failed) = match made {
            Ok(made) => (Some(Arc::new(made)), None),
            Err(error) => (None, Some(error)),
        };
        let why = failed.as_ref().map(|error| chain(error));
        self.tell(|state| {
            state.running = None;
            state.proposals.extend(made);
            while state.proposals.len() > KEPT {
                state.proposals.pop_front();
            }
            state.failed.extend(why.map(|why| (number, why)));
            while state.failed.len() > KEPT {
                state.failed.pop_first();
            }
        });
        failed
    }
}

/// What a search comes to; a defect in it ends that search, and not the planning of all that
/// come after it.
fn guarded(
    search: impl FnOnce() -> Result<SeasonPlan, AppError>,
) -> Result<SeasonPlan, AppError> {
    let caught = std::panic::catch_unwind(std::panic::AssertUnwindSafe(search));
    caught.unwrap_or_else(|_| {
        let what = "a defect of the program came up while this was planned: tell whoever looks \
                    after the program which season it was, and what was tried";
        Err(AppError::Unknown(what.to_owned()))
    })
}

/// An error with all that led to it.
fn chain(error: &dyn std::error::Error) -> String {
    let mut text = error.to_string();
    let mut next = error.source();
    while let Some(source) = next {
        text.push_str(": ");
        text.push_str(&source.to_string());
        next = source.source();
    }
    text
}

struct Watcher<'a> {
    shared: &'a Shared,
    stop: &'a AtomicBool,
}

impl Watch for Watcher<'_> {
    fn progress(&self, news: &News) {
        self.shared.tell(|state| {
            if let Some(running) = &mut state.running {
                running.news = Some(*news);
                running.course.hear(news);
            }
        });
    }

    fn cancelled(&self) -> bool {
        self.stop.load(Ordering::Relaxed)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_defect_ends_its_own_search_and_no_other() {
        let studio = Studio::default();
        let (number, _stop) = studio.begin(None).unwrap();
        let failed = guarded(|| panic!("a defect"));
        let failed = failed.expect_err("it came to nothing");
        assert!(studio.shared.end(number, Err(failed)).is_some());
        let SearchState::Failed(why) = studio.state_of(number) else {
            panic!("it failed")
        };
        assert!(why.contains("a defect of the program"), "{why}");
        assert!(studio.begin(None).is_ok(), "the next one can begin");
    }
}
