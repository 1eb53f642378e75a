//! Who does what, by name.
//!
//! The schedule keeps to the pools, so that at each moment everybody who is wanted can be
//! found (see [`crate::pools`]). Between two moments at which anything changes, people are
//! matched to places on jobs by augmenting paths (Kuhn's method for bipartite matching):
//! first whoever was on the job before, then, where work must be judged by somebody else,
//! only those who did not do it. Where the second wish cannot be met the plan says so.
//! Where people signed for what they did, they did it, and nobody is placed there.

use std::collections::{BTreeMap, BTreeSet};

use airframe::{Crew, SkillId};
use timetable::{Schedule, Tick, Window};

use crate::draft::Lasting;
use crate::model::Model;
use crate::spans::Spans;

/// Who is on which job, and when.
#[derive(Debug, Clone, Default)]
pub(crate) struct Staffing {
    /// For each job: the stretches of each person, by the person's number.
    pub(crate) jobs: Vec<BTreeMap<usize, Spans>>,
    /// What could not be met, as sentences.
    pub(crate) warnings: Vec<String>,
}

/// A place on a job: one person of one skill.
#[derive(Debug, Clone)]
struct Seat {
    job: usize,
    skill: SkillId,
}

/// Staffs a schedule.
pub(crate) fn staff(model: &Model<'_>, schedule: &Schedule) -> Staffing {
    let worked: Vec<Spans> =
        (0..model.draft.jobs.len()).map(|job| stretches(model, schedule, job)).collect();
    let mut staffing =
        Staffing { jobs: vec![BTreeMap::new(); worked.len()], warnings: Vec::new() };
    let mut short: BTreeSet<usize> = BTreeSet::new();
    let mut shared: BTreeSet<usize> = BTreeSet::new();
    let mut events = events(model, &worked).into_iter().peekable();
    let mut active: BTreeSet<usize> = BTreeSet::new();
    for window in slices(model, &worked) {
        while let Some((_, job, begins)) = events.next_if(|event| event.0 <= window.from)
        {
            if begins {
                active.insert(job);
            } else {
                active.remove(&job);
            }
        }
        let seats = seats(model, schedule, &active, window.from);
        let placed = place(model, &seats, window.from, &staffing);
        for (seat, person) in seats.iter().zip(placed) {
            let Some(person) = person else {
                short.insert(seat.job);
                continue;
            };
            if did_work(model, &staffing, seat.job, person) {
                shared.insert(seat.job);
            }
            let spans = staffing.jobs[seat.job].entry(person).or_default();
            match spans.last_mut() {
                Some(last) if last.until == window.from => last.until = window.until,
                _ => spans.push(window),
            }
        }
    }
    let key = |job: &usize| model.draft.jobs[*job].key.to_string();
    staffing.warnings.extend(
        short
            .iter()
            .map(|job| format!("{} lacks a person for part of its time", key(job))),
    );
    staffing.warnings.extend(shared.iter().map(|job| {
        format!("{} must be done by somebody who did not do the work, and nobody else is free: arrange a second person", key(job))
    }));
    staffing
}

/// The ticks in which a job is worked by people or by its firm.
pub(crate) fn stretches(model: &Model<'_>, schedule: &Schedule, job: usize) -> Spans {
    let task = &model.problem.tasks()[job];
    let at = schedule.assignments[job];
    let whole = Window { from: at.start, until: at.finish };
    match task.modes[at.mode.at()].pace {
        timetable::Pace::Pausing(calendar) => {
            crate::spans::both(model.problem.calendar(calendar).windows(), &[whole])
        }
        _ if whole.from < whole.until => vec![whole],
        _ => Vec::new(),
    }
}

fn holds(spans: &Spans, tick: Tick) -> bool {
    let next = spans.partition_point(|window| window.until <= tick);
    spans.get(next).is_some_and(|window| window.from <= tick)
}

/// The windows between two moments at which the work or the people change.
fn slices(model: &Model<'_>, worked: &[Spans]) -> Vec<Window> {
    let crewed = model
        .draft
        .jobs
        .iter()
        .zip(worked)
        .filter(|(job, _)| matches!(job.lasting, Lasting::Worked { .. }));
    let spans = crewed.flat_map(|(_, spans)| spans);
    let people = model.people.iter().flat_map(|(_, there)| there);
    let edges: BTreeSet<Tick> =
        spans.chain(people).flat_map(|window| [window.from, window.until]).collect();
    let edges: Vec<Tick> = edges.into_iter().collect();
    edges.windows(2).map(|pair| Window { from: pair[0], until: pair[1] }).collect()
}

/// When the work of each job that people do begins and ends, in order of time; an end
/// comes before a beginning at the same tick, so that a job that goes on stays active.
fn events(model: &Model<'_>, worked: &[Spans]) -> Vec<(Tick, usize, bool)> {
    let mut events: Vec<(Tick, usize, bool)> = model
        .draft
        .jobs
        .iter()
        .zip(worked)
        .enumerate()
        .filter(|(_, (job, _))| matches!(job.lasting, Lasting::Worked { .. }))
        .flat_map(|(number, (_, spans))| {
            let ends = move |window: &Window| {
                [(window.from, number, true), (window.until, number, false)]
            };
            spans.iter().flat_map(ends)
        })
        .collect();
    events.sort_by_key(|&(tick, job, begins)| (tick, begins, job));
    events
}

fn seats(
    model: &Model<'_>,
    schedule: &Schedule,
    active: &BTreeSet<usize>,
    at: Tick,
) -> Vec<Seat> {
    let mut seats = Vec::new();
    for &job in active.iter().filter(|&&job| !was_signed(model, job, at)) {
        let way = model.way(job, schedule.assignments[job].mode);
        let crew: &[Crew] = way.map_or(&[], |way| &way.crew);
        for member in crew {
            let seat = Seat { job, skill: member.skill.clone() };
            seats.extend(std::iter::repeat_n(seat, member.count as usize));
        }
    }
    seats
}

/// Finds a person for each seat: whoever was on it until now stays; for the others with the
/// wish for an independent person first, and without it where that leaves a seat empty.
fn place(
    model: &Model<'_>,
    seats: &[Seat],
    at: Tick,
    so_far: &Staffing,
) -> Vec<Option<usize>> {
    let mut matching = Matching {
        model,
        seats,
        at,
        so_far,
        order: vec![None; seats.len()],
        taken: BTreeMap::new(),
    };
    let mut filled: Vec<bool> =
        (0..seats.len()).map(|seat| matching.keep(seat)).collect();
    for strict in [true, false] {
        for (seat, filled) in filled.iter_mut().enumerate() {
            // A seat that is filled stays so: augmenting only moves people between seats.
            if !*filled {
                *filled = matching.augment(seat, strict, &mut BTreeSet::new());
            }
        }
    }
    let mut placed = vec![None; seats.len()];
    for (person, seat) in matching.taken {
        placed[seat] = Some(person);
    }
    placed
}

/// People and the seats that they take, at one moment.
struct Matching<'a> {
    model: &'a Model<'a>,
    seats: &'a [Seat],
    at: Tick,
    so_far: &'a Staffing,
    /// Who could take each seat, best first; made when it is first asked for.
    order: Vec<Option<Vec<usize>>>,
    /// The seat of each person who has one.
    taken: BTreeMap<usize, usize>,
}

impl Matching<'_> {
    fn able(&self, seat: usize, person: usize) -> bool {
        let (who, there) = &self.model.people[person];
        who.skills.contains(&self.seats[seat].skill) && holds(there, self.at)
    }

    /// Leaves somebody on a seat who was on its job until this moment.
    fn keep(&mut self, seat: usize) -> bool {
        let job = self.seats[seat].job;
        let stays = self.so_far.jobs[job].iter().find(|(person, spans)| {
            spans.last().is_some_and(|window| window.until == self.at)
                && !self.taken.contains_key(*person)
                && self.able(seat, **person)
        });
        let Some((&person, _)) = stays else {
            return false;
        };
        self.taken.insert(person, seat);
        true
    }

    fn best_first(&self, seat: usize) -> Vec<usize> {
        let job = self.seats[seat].job;
        let mut people: Vec<usize> =
            (0..self.model.people.len()).filter(|&p| self.able(seat, p)).collect();
        people.sort_by_cached_key(|&person| {
            let known = self.so_far.jobs[job].get(&person);
            let last = known.and_then(|spans| spans.last()).map(|window| window.until);
            let did = did_work(self.model, self.so_far, job, person);
            // Fewer skills first: keep the many-sided for what only they can do.
            let skills = self.model.people[person].0.skills.len();
            (did, std::cmp::Reverse(last), skills, person)
        });
        people
    }

    fn augment(&mut self, seat: usize, strict: bool, seen: &mut BTreeSet<usize>) -> bool {
        let order = match self.order[seat].take() {
            Some(order) => order,
            None => self.best_first(seat),
        };
        let job = self.seats[seat].job;
        let found = order.iter().copied().find(|&person| {
            let fits = !strict || !did_work(self.model, self.so_far, job, person);
            fits && seen.insert(person) && self.free(person, strict, seen)
        });
        self.order[seat] = Some(order);
        if let Some(person) = found {
            self.taken.insert(person, seat);
        }
        found.is_some()
    }

    /// Whether a person has no seat, or can leave it to somebody else.
    fn free(&mut self, person: usize, strict: bool, seen: &mut BTreeSet<usize>) -> bool {
        match self.taken.get(&person).copied() {
            None => true,
            Some(other) => self.augment(other, strict, seen),
        }
    }
}

/// Whether it is recorded who was on a job at a moment.
fn was_signed(model: &Model<'_>, job: usize, at: Tick) -> bool {
    let past = model.draft.past.get(&job);
    past.is_some_and(|past| {
        !past.sessions.is_empty() && (past.is_done() || at < model.now)
    })
}

/// Whether a person worked on what a job must judge independently.
fn did_work(model: &Model<'_>, so_far: &Staffing, job: usize, person: usize) -> bool {
    let judged = &model.draft.jobs[job].independent_of;
    let was = |work: &usize| {
        let past = model.draft.past.get(work);
        let mut sessions = past.into_iter().flat_map(|past| &past.sessions);
        sessions.any(|session| session.person == model.people[person].0.id)
    };
    judged.iter().any(|work| so_far.jobs[*work].contains_key(&person) || was(work))
}
