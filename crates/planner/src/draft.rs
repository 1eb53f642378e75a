//! A season's work before it has dates: jobs, what links them, and what they occupy.

use std::collections::{BTreeMap, BTreeSet};

use airframe::access::{Opening, Options, Target, open};
use airframe::disturbance::{DemandedCheck, checks};
use airframe::{Airframe, Crew, GearId, ItemId, StandId};
use jiff::civil::DateTime;
use quantity::{Elapsed, Estimate, Work};
use record::{
    Conditions, FirmId, JobKey, PackId, PlaceId, Programme, Season, SeasonId, StepKind,
};

use crate::expand::Expansion;
use crate::past::{Past, doubts, overtaken};

/// What one season's work comes to.
#[derive(Debug, Clone)]
pub struct Draft {
    /// The season.
    pub season: Season,
    /// The jobs; links and occupations name them by position.
    pub jobs: Vec<Job>,
    /// What must come before what.
    pub links: Vec<Link>,
    /// Stands that items occupy while they are off.
    pub occupations: Vec<Occupation>,
    /// What comes off and goes back.
    pub opening: Opening,
    /// Checks that are demanded.
    pub checks: Vec<DemandedCheck>,
    /// What has happened of jobs already, by their place.
    pub past: BTreeMap<usize, Past>,
    /// When jobs begin by the plan that people work by, by their place: a new plan keeps to that
    /// where it can. Empty it to plan as if there was none.
    pub published: BTreeMap<usize, DateTime>,
    /// When jobs begin at the earliest, by their place, because somebody tries that.
    pub not_before: BTreeMap<usize, DateTime>,
    /// Inspections that may fail, with what would follow.
    pub risks: Vec<Risk>,
    /// What somebody should look at, as sentences.
    pub warnings: Vec<String>,
}

/// A job of the season.
#[derive(Debug, Clone, PartialEq)]
pub struct Job {
    /// Its name in the plan.
    pub key: JobKey,
    /// What is done.
    pub name: String,
    /// The pack that it belongs to, or for whose sake it is done.
    pub pack: Option<PackId>,
    /// What kind of job it is.
    pub kind: JobKind,
    /// The item on which it is done.
    pub item: Option<ItemId>,
    /// The ways to do it; at least one.
    pub ways: Vec<Way>,
    /// How it lies in time.
    pub lasting: Lasting,
    /// Where it is done.
    pub place: Option<PlaceId>,
    /// A stand that it uses while it runs.
    pub stand: Option<StandId>,
    /// Lifting gear that it uses while it runs.
    pub gear: Vec<GearId>,
    /// What the air must be like.
    pub conditions: Conditions,
    /// Whoever does it must not have worked on these jobs.
    pub independent_of: Vec<usize>,
}

/// Kinds of jobs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum JobKind {
    /// An item comes off the aircraft.
    Remove,
    /// An item is put back.
    Refit,
    /// A check that a disturbance demands.
    Check,
    /// A step of a route or a written job.
    Step(StepKind),
    /// Something goes to a firm.
    Despatch,
    /// Something is at a firm, or a firm is here.
    AtFirm,
    /// Something comes back from a firm.
    Return,
    /// It takes its time by itself.
    Wait,
    /// The season begins: what was off before it has its stand from then on.
    Begin,
    /// The aircraft stands complete.
    Complete,
}

/// One way to do a job.
#[derive(Debug, Clone, PartialEq)]
pub struct Way {
    /// Who it takes.
    pub crew: Vec<Crew>,
    /// How long, in minutes of what [`Lasting`] says: low, likely, high.
    pub minutes: (i64, i64, i64),
}

/// How a job lies in time.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Lasting {
    /// Worked by people in their hours, pausing between shifts unless it is unbroken.
    Worked {
        /// It must not pause.
        unbroken: bool,
    },
    /// On a firm's collection day.
    Collection(FirmId),
    /// In a firm's hands.
    AtFirm(FirmId),
    /// A firm at work here, on its days.
    FirmHere(FirmId),
    /// Elapsed time.
    Elapsed,
    /// No time at all.
    Moment,
}

/// One job comes before another.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Link {
    /// The job that ends first.
    pub from: usize,
    /// The job that starts later.
    pub to: usize,
    /// At least so much elapsed time between, in minutes.
    pub at_least: i64,
    /// At most so much elapsed time between, in minutes.
    pub at_most: Option<i64>,
    /// Why.
    pub why: LinkWhy,
}

/// Why one job comes before another.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum LinkWhy {
    /// The next step of a chain, or an order that somebody wrote down.
    Follows,
    /// It is in the way.
    InTheWay,
    /// The item must be off, or exposed, for the work.
    Opens,
    /// The work must be done before the item goes back.
    WorkDone,
    /// The other item goes back first.
    RefitOrder,
    /// A check follows what it checks.
    Checks,
    /// All of it must be done before the aircraft stands complete.
    Completes,
}

/// A stand that an item occupies from its removal to its refit.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Occupation {
    /// The class of stand.
    pub stand: StandId,
    /// The item.
    pub item: ItemId,
    /// The removal, or the beginning of the season if it was off before.
    pub from: usize,
    /// The refit; nothing if it does not go back in the season.
    pub to: Option<usize>,
}

/// An inspection that may fail.
#[derive(Debug, Clone, PartialEq)]
pub struct Risk {
    /// The inspection.
    pub job: JobKey,
    /// How likely it fails, 0 to 1.
    pub chance: f64,
    /// Whether what would follow is in the plan already.
    pub planned: bool,
    /// What would follow, in person-minutes of work by the likely hours.
    pub rework: i64,
}

/// Why a season cannot be drafted.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum DraftError {
    /// There is no such season.
    #[error("there is no season {wanted}; the programme has {}", list(.known))]
    NoSeason {
        /// What was asked for.
        wanted: String,
        /// What there is.
        known: Vec<String>,
    },
    /// The parts of the airframe do not fit together.
    #[error("the airframe does not fit together: {}", .0.join("; "))]
    Airframe(Vec<String>),
    /// Something that the season's work needs cannot be reached.
    #[error("{0}")]
    Refused(#[from] airframe::access::Refusal),
    /// The season's packs hold no work.
    #[error(
        "season {0} has no work: no pack of it has a finding with a route, a job or an item"
    )]
    Nothing(SeasonId),
    /// Jobs wait for each other in a ring.
    #[error("these jobs wait for each other in a ring: {}", .0.join(", "))]
    Ring(Vec<String>),
}

fn list(names: &[String]) -> String {
    if names.is_empty() { "none".to_owned() } else { names.join(", ") }
}

/// Expands one season of a programme: what comes off, what is done, what goes back and
/// what must be checked.
pub fn draft(programme: &Programme, season: &SeasonId) -> Result<Draft, DraftError> {
    let Some(season) = programme.seasons.get(season) else {
        return Err(DraftError::NoSeason {
            wanted: season.to_string(),
            known: programme.seasons.names().map(ToString::to_string).collect(),
        });
    };
    let airframe = programme.airframe_on(season.from).map_err(|notes| {
        DraftError::Airframe(notes.iter().map(ToString::to_string).collect())
    })?;
    let mut expansion = Expansion::new(programme, season);
    let opening = opening(programme, &airframe, season, &mut expansion)?;
    let demanded = checks(&airframe, &opening);
    expansion.open(&airframe, &opening);
    expansion.check(&airframe, &demanded);
    let mut draft = expansion.finish(opening, demanded)?;
    let sentences = overtaken(&mut draft);
    draft.warnings.extend(sentences);
    draft.warnings.extend(doubts(programme, &draft));
    Ok(draft)
}

/// What comes off: for the season's work, and whatever came off besides. Where that could
/// not have come off by what is recorded of it, the plan goes without it and says so.
fn opening(
    programme: &Programme,
    airframe: &Airframe,
    season: &Season,
    expansion: &mut Expansion<'_>,
) -> Result<Opening, DraftError> {
    let targets = expansion.targets();
    let besides = came_off(programme, season, &targets);
    if !besides.is_empty() {
        let all: Vec<Target> = targets.iter().chain(&besides).cloned().collect();
        match opened(programme, airframe, season, &all) {
            Ok(opening) => return Ok(opening),
            Err(refusal) => expansion.warn(format!(
                "what came off besides the plan is left out of it, refit and checks too: {refusal}"
            )),
        }
    }
    Ok(opened(programme, airframe, season, &targets)?)
}

/// What came off in the season, by its tag, and is no target.
fn came_off(programme: &Programme, season: &Season, targets: &[Target]) -> Vec<Target> {
    let parts = programme.shop.parts.parts.iter();
    let since = parts.filter(|(item, part)| {
        let since = |mark: &record::shop::Mark| mark.at.date() >= season.from;
        part.came_off.as_ref().is_some_and(since) && programme.items.has(item)
    });
    let besides = since.map(|(item, _)| Target::Free(item.clone()));
    besides.filter(|target| !targets.contains(target)).collect()
}

fn opened(
    programme: &Programme,
    airframe: &Airframe,
    season: &Season,
    targets: &[Target],
) -> Result<Opening, airframe::access::Refusal> {
    let wanted: BTreeSet<&ItemId> = targets.iter().map(Target::item).collect();
    // What was off before the season goes back in it when the season works on it.
    let items = airframe.parts().items.iter();
    let put_back = items
        .filter(|item| item.off && item.refit.is_some() && wanted.contains(&item.id))
        .map(|item| item.id.clone())
        .chain(refitted(programme, season))
        .collect();
    let options = Options {
        arrangement: season.arrangement.clone(),
        put_back,
        ..Options::default()
    };
    open(airframe, &BTreeSet::new(), targets, &options)
}

/// What was off before the season and was fitted in it.
fn refitted(programme: &Programme, season: &Season) -> Vec<ItemId> {
    let fitted = programme.shop.parts.parts.iter().filter(|(item, part)| {
        let known = programme.items.get(item);
        part.is_fitted()
            && programme.was_off(item, season.from)
            && known.is_some_and(|item| item.refit.is_some())
    });
    fitted.map(|(item, _)| item.clone()).collect()
}

impl Way {
    /// A way by people.
    pub(crate) fn worked(crew: &[Crew], hours: &Estimate<Work>) -> Self {
        let minutes =
            (hours.low().minutes(), hours.likely().minutes(), hours.high().minutes());
        Self { crew: crew.to_vec(), minutes }
    }

    /// A way that takes elapsed time.
    pub(crate) fn elapsed(takes: &Estimate<Elapsed>) -> Self {
        let minutes =
            (takes.low().minutes(), takes.likely().minutes(), takes.high().minutes());
        Self { crew: Vec::new(), minutes }
    }

    /// A way that takes a fixed number of minutes and nobody.
    pub(crate) const fn fixed(minutes: i64) -> Self {
        Self { crew: Vec::new(), minutes: (minutes, minutes, minutes) }
    }

    /// Person-minutes by the likely duration.
    pub(crate) fn person_minutes(&self) -> i64 {
        let heads: i64 = self.crew.iter().map(|crew| i64::from(crew.count)).sum();
        heads * self.minutes.1
    }
}

impl Draft {
    /// The keys of jobs that wait for each other in a ring, if there are any.
    pub(crate) fn ring(&self) -> Option<Vec<String>> {
        let mut waiting = vec![0_usize; self.jobs.len()];
        let mut next: Vec<Vec<usize>> = vec![Vec::new(); self.jobs.len()];
        for link in &self.links {
            waiting[link.to] += 1;
            next[link.from].push(link.to);
        }
        let mut free: Vec<usize> =
            (0..self.jobs.len()).filter(|&job| waiting[job] == 0).collect();
        let mut done = 0;
        while let Some(job) = free.pop() {
            done += 1;
            for &to in &next[job] {
                waiting[to] -= 1;
                if waiting[to] == 0 {
                    free.push(to);
                }
            }
        }
        if done == self.jobs.len() {
            return None;
        }
        let start = (0..self.jobs.len()).find(|&job| waiting[job] > 0)?;
        Some(self.walk_ring(start, &waiting))
    }

    /// Follows unmet links backwards until a job comes again.
    fn walk_ring(&self, start: usize, waiting: &[usize]) -> Vec<String> {
        let mut path = vec![start];
        loop {
            let at = path[path.len() - 1];
            let back = self
                .links
                .iter()
                .find(|link| link.to == at && waiting[link.from] > 0)
                .map(|link| link.from);
            let Some(back) = back else { break };
            if let Some(first) = path.iter().position(|&job| job == back) {
                path.drain(..first);
                break;
            }
            path.push(back);
        }
        path.reverse();
        path.into_iter().map(|job| self.jobs[job].key.to_string()).collect()
    }
}
