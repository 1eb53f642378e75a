//! Who does what, by name.
//!
//! The schedule keeps to the pools, so that at each moment everybody who is wanted can be
//! found (see [`crate::pools`]). Between two moments at which anything changes, people are
//! matched to places on jobs by augmenting paths (Kuhn's method for bipartite matching):
//! first whoever was on the job before, then, where work must be judged by somebody else,
//! only those who did not do it. Where the second wish cannot be met the plan says so.

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
    for window in slices(model, &worked) {
        let active: Vec<usize> =
            (0..worked.len()).filter(|&job| holds(&worked[job], window.from)).collect();
        let seats = seats(model, schedule, &active);
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

fn seats(model: &Model<'_>, schedule: &Schedule, active: &[usize]) -> Vec<Seat> {
    let mut seats = Vec::new();
    for &job in active {
        let mode = schedule.assignments[job].mode.at();
        let crew: &[Crew] =
            model.draft.jobs[job].ways.get(mode).map_or(&[], |way| &way.crew);
        for member in crew {
            let seat = Seat { job, skill: member.skill.clone() };
            seats.extend(std::iter::repeat_n(seat, member.count as usize));
        }
    }
    seats
}

/// Finds a person for each seat: with the wish for an independent person first, without it
/// for the seats that stay empty.
fn place(
    model: &Model<'_>,
    seats: &[Seat],
    at: Tick,
    so_far: &Staffing,
) -> Vec<Option<usize>> {
    let able = |seat: &Seat, person: usize| {
        let (who, there) = &model.people[person];
        who.skills.contains(&seat.skill) && holds(there, at)
    };
    let mut order: Vec<Vec<usize>> = Vec::with_capacity(seats.len());
    for seat in seats {
        let mut people: Vec<usize> =
            (0..model.people.len()).filter(|&person| able(seat, person)).collect();
        people.sort_by_key(|&person| {
            let known = so_far.jobs[seat.job].get(&person);
            let just = known.and_then(|spans| spans.last()).map(|window| window.until);
            let did = did_work(model, so_far, seat.job, person);
            // Fewer skills first: keep the many-sided for what only they can do.
            let skills = model.people[person].0.skills.len();
            (did, std::cmp::Reverse(just), skills, person)
        });
        order.push(people);
    }
    let mut taken: BTreeMap<usize, usize> = BTreeMap::new();
    for strict in [true, false] {
        for seat in 0..seats.len() {
            if taken.values().any(|&holder| holder == seat) {
                continue;
            }
            let fits = |seat: usize, person: usize| {
                !strict || !did_work(model, so_far, seats[seat].job, person)
            };
            augment(seat, &order, &fits, &mut taken, &mut BTreeSet::new());
        }
    }
    let mut placed = vec![None; seats.len()];
    for (person, seat) in taken {
        placed[seat] = Some(person);
    }
    placed
}

fn augment(
    seat: usize,
    order: &[Vec<usize>],
    fits: &dyn Fn(usize, usize) -> bool,
    taken: &mut BTreeMap<usize, usize>,
    seen: &mut BTreeSet<usize>,
) -> bool {
    for &person in &order[seat] {
        if !fits(seat, person) || !seen.insert(person) {
            continue;
        }
        let holder = taken.get(&person).copied();
        if holder.is_none_or(|other| augment(other, order, fits, taken, seen)) {
            taken.insert(person, seat);
            return true;
        }
    }
    false
}

/// Whether a person worked on what a job must judge independently.
fn did_work(model: &Model<'_>, so_far: &Staffing, job: usize, person: usize) -> bool {
    let judged = &model.draft.jobs[job].independent_of;
    judged.iter().any(|&work| so_far.jobs[work].contains_key(&person))
}
