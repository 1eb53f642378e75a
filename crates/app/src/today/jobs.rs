//! Today's jobs: what can start, and what stands in the way of the rest.

use jiff::civil::{Date, DateTime};
use planner::{Draft, Job, JobKind, Lasting, Link, LinkWhy, Past, SoFar};
use record::act::{DatedJob, Fit, Power, Start};
use record::shop::{Card, Part, Whereabouts};
use record::{Act, JobKey, PersonId, Stamp};

use super::obstacle::{Obstacle, first_free, its_end, obstacle, on_a_day};
use super::{Day, air, away, due, floor, people};

/// What clears what is away.
const BACK: &str = "the firm sends it back, and its receiving check is made";

/// How a job stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum JobNow {
    /// Nothing that is known stands in its way.
    Ready,
    /// Something does.
    Waits,
    /// It has begun.
    Running,
    /// It is done.
    Done,
}

/// A job of the plan, as it stands today.
#[derive(Debug, Clone, PartialEq)]
pub struct JobToday {
    /// Its name.
    pub job: String,
    /// What is done.
    pub name: String,
    /// The item on which it is done.
    pub item: Option<String>,
    /// Where it is done.
    pub place: Option<String>,
    /// When it begins by the plan.
    pub from: DateTime,
    /// When it is done by the plan.
    pub until: DateTime,
    /// By how many days it is late: not begun, or not done.
    pub late: i32,
    /// Who is meant to do it, by their full names.
    pub people: Vec<String>,
    /// How it stands.
    pub now: JobNow,
    /// What stands in its way.
    pub obstacles: Vec<Obstacle>,
    /// What is worth knowing besides.
    pub notes: Vec<String>,
    /// Whether it has a card.
    pub card: bool,
}

impl JobToday {
    /// What stands in its way, each once: two links may lead to the same job.
    pub fn reasons(&self) -> impl Iterator<Item = &Obstacle> {
        let all = &self.obstacles;
        all.iter()
            .enumerate()
            .filter(|(at, one)| !all[..*at].iter().any(|other| other.is_same(one)))
            .map(|(_, one)| one)
    }
}

pub(super) fn all(day: &Day<'_>) -> Vec<JobToday> {
    let mut jobs: Vec<JobToday> = match (day.draft, day.adopted) {
        (Some(draft), Some(_)) => {
            let dated = day.dated();
            dated.filter_map(|(dated, at)| planned(day, draft, at, dated)).collect()
        }
        _ => Vec::new(),
    };
    let known: std::collections::BTreeSet<String> =
        jobs.iter().map(|job| job.job.clone()).collect();
    jobs.extend(by_cards(day).into_iter().filter(|job| {
        !known.contains(&job.job) && !is_planned(day, &JobKey(job.job.clone()))
    }));
    jobs.sort_by(|a, b| (a.from, a.until, &a.job).cmp(&(b.from, b.until, &b.job)));
    jobs
}

fn is_planned(day: &Day<'_>, key: &JobKey) -> bool {
    let jobs = day.adopted.into_iter().flat_map(|adopted| &adopted.plan.jobs);
    jobs.into_iter().any(|dated| dated.job == *key)
}

/// A job of the plan, if it is today's or was to be done before.
fn planned(
    day: &Day<'_>,
    draft: &Draft,
    at: usize,
    dated: &DatedJob,
) -> Option<JobToday> {
    let (job, on) = (&draft.jobs[at], day.on());
    let past = draft.past.get(&at);
    let travels =
        matches!(job.kind, JobKind::Despatch | JobKind::AtFirm | JobKind::Return);
    if dated.from.date() > on || (travels && !matches!(job.lasting, Lasting::FirmHere(_)))
    {
        return None;
    }
    let done = match past.map(|past| past.so_far) {
        Some(SoFar::Done(at)) => Some(at.date()),
        _ => None,
    };
    // What is done is worth a line on the day on which it was done.
    if done.is_some_and(|done| done != on) {
        return None;
    }
    let mut obstacles = Vec::new();
    if past.is_none() {
        obstacles = in_the_way(day, draft, at, dated);
    } else if done.is_none() {
        obstacles = stopped(day, &job.key);
    }
    let now = match past {
        Some(past) if past.is_done() => JobNow::Done,
        Some(_) => JobNow::Running,
        None if obstacles.is_empty() => JobNow::Ready,
        None => JobNow::Waits,
    };
    let card = day.programme.shop.cards.cards.get(&job.key);
    Some(JobToday {
        job: job.key.to_string(),
        name: job.name.clone(),
        item: job.item.as_ref().map(ToString::to_string),
        place: place(day, job),
        from: dated.from,
        until: dated.until,
        late: late(on, dated, past),
        people: dated.people.iter().map(|person| day.called(person)).collect(),
        now,
        obstacles,
        notes: notes(day, job, card.map(|card| &**card), dated),
        card: card.is_some(),
    })
}

fn late(on: Date, dated: &DatedJob, past: Option<&Past>) -> i32 {
    let behind = |planned: DateTime| (on - planned.date()).get_days().max(0);
    match past {
        Some(past) if past.is_done() => 0,
        Some(_) => behind(dated.until),
        None => behind(dated.from),
    }
}

fn place(day: &Day<'_>, job: &Job) -> Option<String> {
    let place = job.place.as_ref()?;
    let known = day.programme.places.get(place);
    Some(known.map_or_else(|| place.to_string(), |place| place.name.clone()))
}

/// Cards that no plan knows: they stand by themselves.
fn by_cards(day: &Day<'_>) -> Vec<JobToday> {
    let cards = day.programme.shop.cards.cards.iter();
    let open = cards.filter(|(_, card)| !card.is_finished());
    let told = open.map(|(key, card)| {
        let begun = card.sessions.first().map(|session| session.from);
        let from = begun.unwrap_or(card.issued.at);
        let mut obstacles = of_card(day, key, card, &[]);
        if let Some(item) = &card.item {
            obstacles.extend(of_part(day, item));
        }
        let now = match (card.is_begun(), obstacles.is_empty()) {
            (true, _) => JobNow::Running,
            (false, true) => JobNow::Ready,
            (false, false) => JobNow::Waits,
        };
        JobToday {
            job: key.to_string(),
            name: card.title.clone(),
            item: card.item.as_ref().map(ToString::to_string),
            place: None,
            from,
            until: from,
            late: 0,
            people: Vec::new(),
            now,
            obstacles,
            notes: vec!["no adopted plan says when".to_owned()],
            card: true,
        }
    });
    told.collect()
}

/// All that stands in the way of a job that has not begun.
fn in_the_way(
    day: &Day<'_>,
    draft: &Draft,
    at: usize,
    dated: &DatedJob,
) -> Vec<Obstacle> {
    let job = &draft.jobs[at];
    let mut found = before(day, draft, at);
    if let Some(item) = &job.item {
        found.extend(of_part(day, item));
    }
    found.extend(refit(day, job, dated));
    found.extend(room(day, draft, at));
    found.extend(air::against(day, job).into_iter().map(|what| obstacle("air", what)));
    found.extend(of_people(day, job, dated));
    if let Some(card) = day.programme.shop.cards.cards.get(&job.key) {
        found.extend(of_card(day, &job.key, card, &dated.people));
    }
    found
}

/// What comes before it and is not done, and times between that are not over.
fn before(day: &Day<'_>, draft: &Draft, at: usize) -> Vec<Obstacle> {
    let links = draft.links.iter().filter(|link| link.to == at);
    links.filter_map(|link| waits_for(day, draft, link)).collect()
}

fn waits_for(day: &Day<'_>, draft: &Draft, link: &Link) -> Option<Obstacle> {
    let first = &draft.jobs[link.from];
    if first.kind == JobKind::Begin {
        return None;
    }
    let what = format!("{} ({})", first.name, first.key);
    let so_far = match draft.past.get(&link.from).map(|past| past.so_far) {
        None => "has not begun".to_owned(),
        Some(SoFar::Left(minutes)) => {
            format!("is under way, {} left", hours(minutes))
        }
        Some(SoFar::Due(promised)) => {
            format!("is at the firm, {}", due(promised, day.on()))
        }
        Some(SoFar::Done(done)) => return between(day, link, &what, done),
    };
    let kind = if link.why == LinkWhy::InTheWay { "in the way" } else { "before it" };
    let found = obstacle(kind, format!("{what} {so_far}")).after(&first.key);
    let at_firm = draft.past.get(&link.from).map(|past| past.so_far);
    Some(match at_firm {
        // It is promised for a day, which is said already.
        Some(SoFar::Due(_)) => found.by(BACK.to_owned()),
        _ => found.by(its_end(day, &first.key)),
    })
}

/// A time that must pass, or must not have passed, since what came before.
fn between(day: &Day<'_>, link: &Link, what: &str, done: DateTime) -> Option<Obstacle> {
    let after = |minutes: i64| {
        done.checked_add(jiff::Span::new().minutes(minutes)).unwrap_or(DateTime::MAX)
    };
    let told = |at: DateTime| at.strftime("%Y-%m-%d %H:%M").to_string();
    let earliest = after(link.at_least);
    if link.at_least > 0 && day.now < earliest {
        let what =
            format!("the time after {what} is not over: not before {}", told(earliest));
        return Some(obstacle("time", what));
    }
    let latest = after(link.at_most?);
    (day.now > latest).then(|| {
        let what = format!(
            "the time in which it could follow {what} ended {}: ask whoever holds the data",
            told(latest)
        );
        let clears = "whoever holds the data says what is to be done first".to_owned();
        obstacle("time", what).by(clears)
    })
}

fn hours(minutes: i64) -> String {
    quantity::Notation::print(quantity::Work::from_minutes(minutes.max(0)))
}

/// Where the part is, if it is not here and free.
fn of_part(day: &Day<'_>, item: &airframe::ItemId) -> Vec<Obstacle> {
    let mut found = Vec::new();
    // What is mounted on something travels with it.
    let mut seen = std::collections::BTreeSet::new();
    let mut next = Some(item);
    while let Some(at) = next.filter(|at| seen.insert((*at).clone())) {
        let part = day.part(at);
        found.extend(part.map(|part| of_one(day, at, part)).unwrap_or_default());
        if part.is_some_and(|part| !part.is_fitted()) {
            break;
        }
        next = day.programme.items.get(at).and_then(airframe::Item::carrier);
    }
    found
}

fn of_one(day: &Day<'_>, item: &airframe::ItemId, part: &Part) -> Vec<Obstacle> {
    let mut found = Vec::new();
    if let Some(custody) = away(part) {
        let firm = &custody.despatch.firm;
        let known = day.programme.firms.get(firm);
        let firm = known.map_or_else(|| firm.to_string(), |firm| firm.name.clone());
        let when = due(custody.due, day.on());
        let what = format!("{item} is away at {firm}, {when}");
        found.push(obstacle("part", what).by(BACK.to_owned()));
    }
    if part.whereabouts == Whereabouts::Gone {
        let clears = "another part takes its place, or the season is planned again";
        let gone = obstacle("part", format!("{item} was written off"));
        found.push(gone.by(clears.to_owned()));
    }
    if let Some((why, _)) = &part.quarantine {
        let what = format!("{item} is in quarantine: {why}");
        let clears = "somebody entitled takes it out of quarantine".to_owned();
        found.push(obstacle("part", what).by(clears));
    }
    if part.waits {
        let what = format!("{item} came back and waits for its receiving check");
        found.push(obstacle("part", what).by("its receiving check is made".to_owned()));
    }
    found
}

/// What the rules say against fitting the part, whoever does it. The part's place and the
/// open card are told elsewhere.
fn refit(day: &Day<'_>, job: &Job, dated: &DatedJob) -> Vec<Obstacle> {
    let (JobKind::Refit, Some(item)) = (job.kind, &job.item) else { return Vec::new() };
    if !day.programme.shop.cards.cards.contains_key(&job.key) {
        return Vec::new();
    }
    let Some(by) = dated.people.first() else { return Vec::new() };
    let act = Fit { item: item.clone(), job: job.key.clone(), checked: true };
    let told = |rule: record::RuleKey| {
        use record::RuleKey as R;
        !matches!(
            rule,
            R::Clock
                | R::Authority
                | R::Known
                | R::Segregation
                | R::Presence
                | R::Custody
        )
    };
    let refused = judged(day, by, &act.into());
    let refused = refused.into_iter().filter(|refusal| told(refusal.rule));
    let told =
        |refusal: record::Refusal| obstacle("part", refusal.what).by_hint(&refusal.hint);
    refused.map(told).collect()
}

/// What the record would say if somebody did something now.
fn judged(day: &Day<'_>, by: &PersonId, act: &Act) -> Vec<record::Refusal> {
    let last = day.programme.shop.last;
    let at = last.map_or(day.now, |last| last.max(day.now));
    let stamp = Stamp { number: 0, at, by: by.clone() };
    day.programme.judge(act, &stamp).err().unwrap_or_default()
}

/// Stands, places and lifting gear that others have.
fn room(day: &Day<'_>, draft: &Draft, at: usize) -> Vec<Obstacle> {
    let job = &draft.jobs[at];
    let mut found = Vec::new();
    let own = draft.occupations.iter().find(|occupied| occupied.from == at);
    for stand in job.stand.iter().chain(own.map(|own| &own.stand)) {
        let known = day.programme.stands.get(stand);
        let count = known.map_or(1, |stand| stand.count as usize);
        let held = on_stand(draft, stand, at);
        if held.len() >= count {
            let name = known.map_or_else(|| stand.to_string(), |s| s.name.clone());
            let by = names(&held);
            let what = if count == 1 {
                format!("{name} is taken by {by}")
            } else {
                format!("all {count} of {name} are taken, by {by}")
            };
            found.push(obstacle("stand", what).by(first_free(day, &held)));
        }
    }
    found.extend(place_full(day, draft, at));
    for gear in &job.gear {
        let known = day.programme.gear.get(gear);
        let count = known.map_or(1, |gear| gear.count as usize);
        let users = running(draft, at).filter(|other| other.gear.contains(gear));
        let users: Vec<_> = users.map(user).collect();
        if users.len() >= count {
            let name = known.map_or_else(|| gear.to_string(), |g| g.name.clone());
            let what = format!("{name} is in use for {}", names(&users));
            found.push(obstacle("gear", what).by(first_free(day, &users)));
        }
    }
    found
}

fn place_full(day: &Day<'_>, draft: &Draft, at: usize) -> Option<Obstacle> {
    let place = draft.jobs[at].place.as_ref()?;
    let known = day.programme.places.get(place)?;
    let users = running(draft, at).filter(|other| other.place.as_ref() == Some(place));
    let users: Vec<_> = users.map(user).collect();
    (users.len() >= known.room as usize).then(|| {
        let what = format!("{} is full: {}", known.name, names(&users));
        obstacle("place", what).by(first_free(day, &users))
    })
}

/// A job that uses something, and frees it by its own end.
fn user(job: &Job) -> (String, Option<JobKey>) {
    (job.key.to_string(), Some(job.key.clone()))
}

fn names(users: &[(String, Option<JobKey>)]) -> String {
    let names: Vec<&str> = users.iter().map(|(name, _)| name.as_str()).collect();
    names.join(", ")
}

/// Other jobs that have begun and are not done.
fn running(draft: &Draft, at: usize) -> impl Iterator<Item = &Job> {
    let begun = draft.past.iter().filter(move |(other, past)| {
        **other != at && matches!(past.so_far, SoFar::Left(_))
    });
    begun.map(|(other, _)| &draft.jobs[*other])
}

/// What is on stands of a class now, by name, and the job that takes it off.
fn on_stand(
    draft: &Draft,
    stand: &airframe::StandId,
    at: usize,
) -> Vec<(String, Option<JobKey>)> {
    let is_done = |job: usize| draft.past.get(&job).is_some_and(Past::is_done);
    let lie = draft.occupations.iter().filter(|occupied| {
        occupied.stand == *stand
            && occupied.from != at
            && draft.past.contains_key(&occupied.from)
            && !occupied.to.is_some_and(is_done)
    });
    let key = |job: usize| draft.jobs[job].key.clone();
    let lie = lie.map(|occupied| (occupied.item.to_string(), occupied.to.map(key)));
    let used = running(draft, at).filter(|other| other.stand.as_ref() == Some(stand));
    lie.chain(used.map(user)).collect()
}

/// Who is meant to do it and is not in, or may not do it alone.
fn of_people(day: &Day<'_>, job: &Job, dated: &DatedJob) -> Vec<Obstacle> {
    let mut found: Vec<Obstacle> = Vec::new();
    if let Some(shut) = people::shut(day).filter(|_| !dated.people.is_empty()) {
        let opens = people::next(day, |day| people::shut(day).is_none());
        return vec![
            obstacle("people", shut).by(on_a_day("the workshop works again,", opens)),
        ];
    }
    for person in &dated.people {
        let Some(why) = people::absent(day, person) else { continue };
        let back = people::next(day, |day| people::is_in(day, person));
        let back =
            on_a_day("somebody else who may do it takes it, or they are in again", back);
        found.push(obstacle("people", why).by(back));
    }
    let alone = !dated.people.is_empty()
        && dated.people.iter().all(|person| floor::is_volunteer(day, person));
    let item = job.item.as_ref();
    let supervised = || {
        let present = people::present(day);
        present.into_iter().any(|person| day.may(person, Power::Supervise, item))
    };
    if alone && !supervised() {
        let who: Vec<String> = dated.people.iter().map(|p| day.called(p)).collect();
        let what = format!(
            "{} work under supervision, and nobody who may supervise it is in",
            who.join(", ")
        );
        let may = day.programme.people.iter();
        let may = may.filter(|person| day.may(&person.id, Power::Supervise, item));
        let may: Vec<&str> = may.map(|person| person.name.as_str()).collect();
        let clears = if may.is_empty() {
            "somebody has the authority to supervise it, which nobody has".to_owned()
        } else {
            format!("one of those is in who may supervise it: {}", may.join(", "))
        };
        found.push(obstacle("authority", what).by(clears));
    }
    found
}

/// What its card says against beginning it.
fn of_card(
    day: &Day<'_>,
    key: &JobKey,
    card: &Card,
    people: &[PersonId],
) -> Vec<Obstacle> {
    let mut found = stopped(day, key);
    let who = people.iter().find(|person| people::is_in(day, person));
    if let Some(who) = who.filter(|_| card.offer.is_none()) {
        let refused = judged(day, who, &Start { job: key.clone() }.into());
        let refused = refused.into_iter().filter(|refusal| {
            !matches!(refusal.rule, record::RuleKey::Clock | record::RuleKey::Known)
        });
        found
            .extend(refused.map(|refusal| {
                obstacle("handover", refusal.what).by_hint(&refusal.hint)
            }));
    }
    if let Some(step) = card.steps.iter().find(|step| step.signed.is_none()) {
        let asks = step.spec.limits.iter().find(|limit| !limit.unit.is_empty());
        if let Some(limit) = asks.filter(|_| !has_instrument(day)) {
            let what = format!(
                "step {} measures {}, and no instrument may be used today",
                step.spec.id, limit.name
            );
            let clears = "the calibration of one is entered".to_owned();
            found.push(obstacle("tool", what).by(clears));
        }
    }
    found
}

/// What stops work on a card, begun or not.
fn stopped(day: &Day<'_>, key: &JobKey) -> Vec<Obstacle> {
    let Some(card) = day.programme.shop.cards.cards.get(key) else { return Vec::new() };
    let mut found = Vec::new();
    if let Some(offer) = &card.offer {
        let to = day.called(&offer.words.to);
        let what = format!("{} handed it over to {to}, who has not taken it", offer.from);
        let clears = format!("{to} takes it over at the card");
        found.push(obstacle("handover", what).by(clears));
    }
    let next = card.steps.iter().find(|step| !step.is_complete());
    if let Some(query) = next.and_then(|step| step.queries.first()) {
        let step = next.map_or_else(String::new, |step| step.spec.id.to_string());
        let what = format!("query {query} about the data of step {step} is open");
        found.push(obstacle("query", what));
    }
    for (batch, state) in &day.programme.shop.stores.batches {
        let over = state.batch.expires.filter(|expires| *expires < day.on());
        let drawn = state.drawn.iter().any(|(job, _, _)| job == key);
        if let Some(over) = over.filter(|_| drawn) {
            let what = format!(
                "{} of batch {batch}, drawn for it, was good until {over}",
                state.batch.material
            );
            found.push(obstacle("batch", what));
        }
    }
    for (tool, seen) in day.programme.shop.tools.lost() {
        let states = &day.programme.shop.tools.states;
        let for_it = states.get(tool).and_then(|state| state.out.as_ref());
        if for_it.is_some_and(|(_, job, _)| job == key) {
            let what = format!("{tool}, out for it, is lost, last seen {seen}");
            let clears = "it is found, or accounted for".to_owned();
            found.push(obstacle("tool", what).by(clears));
        }
    }
    found
}

/// Whether any instrument may be used today: in calibration, here or out, not lost.
fn has_instrument(day: &Day<'_>) -> bool {
    let states = &day.programme.shop.tools.states;
    day.programme.tools.iter().filter(|tool| tool.measures).any(|tool| {
        states.get(&tool.id).is_some_and(|state| {
            state.lost.is_none()
                && state.calibrated.is_some_and(|until| day.on() <= until)
        })
    })
}

/// What does not stand in its way and is worth knowing.
fn notes(day: &Day<'_>, job: &Job, card: Option<&Card>, dated: &DatedJob) -> Vec<String> {
    let mut notes = Vec::new();
    let has_crew = job.ways.iter().any(|way| !way.crew.is_empty());
    if has_crew && dated.people.is_empty() {
        notes.push("the plan names nobody for it".to_owned());
    }
    let Some(card) = card else { return notes };
    let looked = card.steps.iter().any(|step| {
        !step.is_complete() && (step.spec.inspected || step.spec.independent)
    });
    let item = card.item.as_ref();
    let may = || {
        let present = people::present(day);
        present.into_iter().any(|person| {
            day.may(person, Power::Inspect, item) && !dated.people.contains(person)
        })
    };
    if looked && !may() {
        notes.push("nobody who may inspect it and has no part in it is in".to_owned());
    }
    notes
}
