//! How far a season's work is, job by job.
//!
//! What people signed counts first: a card that was begun or certified, a tag, a refit, a
//! despatch. Where nothing was signed, the list of actuals counts. Neither is ever
//! guessed: work on a card that lasts is taken to be done by the share of its steps that
//! are signed, unless somebody wrote down how much is left.
//!
//! One despatch stands for the first chain at that firm of each finding on the part that
//! went, or on what it carries, as far as no despatch before it stands for that chain. So a
//! part that comes back wrong and goes again stands for the next visit of the same chain.

use std::collections::{BTreeMap, BTreeSet};

use airframe::ItemId;
use jiff::civil::{Date, DateTime};
use record::shop::{Card, Custody, Part, Session};
use record::{FirmId, Programme, Season, State};

use crate::draft::{Draft, Job, JobKind, Lasting};

/// What has happened of a job.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Past {
    /// When it began.
    pub from: DateTime,
    /// How far it is.
    pub so_far: SoFar,
    /// Who was at it and when, as far as that was recorded.
    pub sessions: Vec<Session>,
}

/// How far a job is that has begun.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SoFar {
    /// It was finished then.
    Done(DateTime),
    /// So many minutes are left, of its work or of the time that it takes by itself.
    Left(i64),
    /// It is in a firm's hands, which promised it for this day.
    Due(Date),
}

/// Somebody has to sign off what is done, at least.
const LEAST_LEFT: i64 = 15;

impl Past {
    fn done(from: DateTime, until: DateTime) -> Self {
        Self { from, so_far: SoFar::Done(until.max(from)), sessions: Vec::new() }
    }

    fn running(from: DateTime, so_far: SoFar) -> Self {
        Self { from, so_far, sessions: Vec::new() }
    }

    /// Whether it is over.
    pub const fn is_done(&self) -> bool {
        matches!(self.so_far, SoFar::Done(_))
    }
}

/// What has happened of each job of a season, by the job's place.
pub(crate) fn past(
    programme: &Programme,
    season: &Season,
    jobs: &[Job],
) -> BTreeMap<usize, Past> {
    let mut all = away(programme, season, jobs);
    for (number, job) in jobs.iter().enumerate() {
        let found = match job.kind {
            JobKind::Begin => {
                let first = season.from.to_datetime(jiff::civil::Time::midnight());
                Some(Past::done(first, first))
            }
            _ => signed(programme, season, job).or_else(|| written(programme, job)),
        };
        if let Some(found) = found {
            all.entry(number).or_insert(found);
        }
    }
    all
}

/// When each job begins by the plan that was adopted for a season, by the job's place.
pub(crate) fn published(
    programme: &Programme,
    season: &Season,
    jobs: &[Job],
) -> BTreeMap<usize, DateTime> {
    let Some(adopted) = programme.shop.plans.adopted.get(&season.id) else {
        return BTreeMap::new();
    };
    let dated = adopted.jobs();
    let places = jobs.iter().enumerate();
    places.filter_map(|(at, job)| Some((at, dated.get(&job.key)?.from))).collect()
}

/// What was signed of a job: on its card, or about the part that it moves.
fn signed(programme: &Programme, season: &Season, job: &Job) -> Option<Past> {
    let card = programme.shop.cards.cards.get(&job.key);
    let part = job.item.as_ref().and_then(|item| programme.shop.parts.parts.get(item));
    let on_card = card.and_then(|card| by_card(programme, job, card));
    let moved = part.and_then(|part| by_part(season, job, part));
    match (on_card, moved) {
        // What came off is off, whatever is still to be written on the card.
        (Some(card), Some(moved)) if job.kind == JobKind::Remove && !card.is_done() => {
            let from = card.from.min(moved.from);
            Some(Past { from, so_far: moved.so_far, sessions: card.sessions })
        }
        (Some(card), _) => Some(card),
        (None, moved) => moved,
    }
}

fn by_card(programme: &Programme, job: &Job, card: &Card) -> Option<Past> {
    let begun = card.sessions.iter().map(|session| session.from).min();
    let (from, so_far) = match &card.finished {
        Some(mark) => {
            let from = begun.unwrap_or(mark.at).min(mark.at);
            (from, SoFar::Done(mark.at))
        }
        None => (begun?, SoFar::Left(left(programme, job, card))),
    };
    Some(Past { from, so_far, sessions: card.sessions.clone() })
}

/// Minutes of work that are left on a card that was begun.
fn left(programme: &Programme, job: &Job, card: &Card) -> i64 {
    if let Some(State::Started { left, .. }) =
        programme.actuals.get(&job.key).map(|actual| &actual.state)
    {
        return left.minutes().max(0);
    }
    let likely = job.ways.first().map_or(0, |way| way.minutes.1);
    let open = card.steps.iter().filter(|step| step.signed.is_none()).count() as i64;
    let all = (card.steps.len() as i64).max(1);
    (likely * open / all).max(LEAST_LEFT)
}

fn by_part(season: &Season, job: &Job, part: &Part) -> Option<Past> {
    let mark = match job.kind {
        JobKind::Remove => part.came_off.as_ref(),
        JobKind::Refit => part.fitted.as_ref().filter(|_| part.is_fitted()),
        _ => None,
    };
    let mark = mark.filter(|mark| mark.at.date() >= season.from)?;
    Some(Past::done(mark.at, mark.at))
}

fn written(programme: &Programme, job: &Job) -> Option<Past> {
    Some(match programme.actuals.get(&job.key)?.state {
        State::Done { from, until } => Past::done(from, until),
        State::Started { at, left } => {
            Past::running(at, SoFar::Left(left.minutes().max(0)))
        }
    })
}

/// What despatches come to: the three jobs of each visit to a firm.
fn away(programme: &Programme, season: &Season, jobs: &[Job]) -> BTreeMap<usize, Past> {
    let mut sent: Vec<(&Custody, bool)> = Vec::new();
    for part in programme.shop.parts.parts.values() {
        sent.extend(part.sent_before.iter().map(|custody| (custody, false)));
        sent.extend(part.custody.iter().map(|custody| (custody, part.waits)));
    }
    sent.retain(|(custody, _)| custody.sent.at.date() >= season.from);
    sent.sort_by_key(|(custody, _)| custody.sent.entry);
    let visits: Vec<usize> =
        (0..jobs.len()).filter(|&at| jobs[at].kind == JobKind::Despatch).collect();
    let mut all = BTreeMap::new();
    for (custody, waits) in sent {
        for out in meant(programme, jobs, &visits, custody, &all) {
            visit(custody, waits, out, &mut all);
        }
    }
    all
}

/// The visits that a despatch stands for, by the place of their first job.
fn meant(
    programme: &Programme,
    jobs: &[Job],
    visits: &[usize],
    custody: &Custody,
    taken: &BTreeMap<usize, Past>,
) -> Vec<usize> {
    let mut chains = BTreeSet::new();
    let sent = &custody.despatch;
    let fits = |at: usize| {
        let item = jobs[at].item.as_ref();
        firm(&jobs[at]) == Some(&sent.firm)
            && item.is_some_and(|item| travels_on(programme, item, &sent.item))
    };
    let open = visits.iter().copied().filter(|at| !taken.contains_key(at) && fits(*at));
    open.filter(|&at| chains.insert(jobs[at].key.0.split(':').next())).collect()
}

fn firm(job: &Job) -> Option<&FirmId> {
    match &job.lasting {
        Lasting::Collection(firm) => Some(firm),
        _ => None,
    }
}

/// Whether an item is another one, or is carried by it.
fn travels_on(programme: &Programme, item: &ItemId, unit: &ItemId) -> bool {
    let mut seen = BTreeSet::new();
    let mut next = Some(item);
    while let Some(at) = next {
        if at == unit {
            return true;
        }
        if !seen.insert(at) {
            return false;
        }
        next = programme.items.get(at).and_then(airframe::Item::carrier);
    }
    false
}

fn visit(custody: &Custody, waits: bool, out: usize, all: &mut BTreeMap<usize, Past>) {
    let (sent, due) = (custody.sent.at, SoFar::Due(custody.due));
    all.insert(out, Past::done(sent, sent));
    let away = match &custody.back {
        None => Past::running(sent, due),
        Some(back) => Past::done(sent, back.at),
    };
    all.insert(out + 1, away);
    if let Some(back) = &custody.back {
        // It is back for the plan once its receiving check has passed.
        let so_far = if waits { SoFar::Left(LEAST_LEFT) } else { SoFar::Done(back.at) };
        all.insert(out + 2, Past::running(back.at, so_far));
    }
}

/// Leaves out the orders that what has happened has overtaken: something was begun although
/// what comes before it was not. A sentence for each of them.
pub(crate) fn overtaken(draft: &mut Draft) -> Vec<String> {
    let Draft { links, past, jobs, .. } = draft;
    let mut sentences = Vec::new();
    links.retain(|link| {
        let kept = !past.contains_key(&link.to) || past.contains_key(&link.from);
        if !kept {
            sentences.push(format!(
                "{} has begun although {}, which comes before it, has not: sign for that if it is done",
                jobs[link.to].key, jobs[link.from].key
            ));
        }
        kept
    });
    sentences
}

/// What in the record somebody should look at before the plan is trusted.
pub(crate) fn doubts(programme: &Programme, draft: &Draft) -> Vec<String> {
    let keys: BTreeSet<&str> = draft.jobs.iter().map(|job| job.key.0.as_str()).collect();
    let mut sentences = Vec::new();
    for (key, card) in &programme.shop.cards.cards {
        if card.is_finished() {
            continue;
        }
        if !keys.contains(key.0.as_str()) && card.is_begun() {
            sentences.push(format!(
                "card {key} ({}) is under way and has no job in this plan",
                card.title
            ));
        }
        let waiting = card.steps.iter().flat_map(|step| &step.queries);
        sentences.extend(waiting.map(|query| {
            format!(
                "{key} waits for the answer to {query}, for which the plan allows no time"
            )
        }));
    }
    let items: BTreeSet<&ItemId> =
        draft.jobs.iter().filter_map(|job| job.item.as_ref()).collect();
    for (item, part) in &programme.shop.parts.parts {
        if let Some((why, _)) = part.quarantine.as_ref().filter(|_| items.contains(item))
        {
            sentences.push(format!("{item} is in quarantine: {why}"));
        }
    }
    sentences
}
