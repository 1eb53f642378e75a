//! Routes, jobs, packs, and what has happened of jobs.

use std::collections::{BTreeMap, BTreeSet};

use airframe::{Crew, SkillId};
use quantity::{Elapsed, Estimate, Work};

use crate::check::notes::{At, Notes};
use crate::check::seasons::{day, whole_minutes};
use crate::{Actual, Hold, Performer, Programme, Reach, Route, State, Step, StepKind};

/// More working hours than these for one job are a slip of the unit.
const LONG_WORK: i64 = 2_000;
/// And more days than these of elapsed time.
const LONG_ELAPSED: i64 = 1_000;
/// And more people than these of one skill.
const CROWD: u32 = 1_000;

/// How many people have each skill.
type Heads<'a> = BTreeMap<&'a SkillId, usize>;

pub(crate) fn check(programme: &Programme, notes: &mut Notes) {
    let mut heads = Heads::new();
    for person in programme.people.iter() {
        for skill in person.skills.iter().collect::<BTreeSet<_>>() {
            *heads.entry(skill).or_default() += 1;
        }
    }
    for route in programme.routes.iter() {
        route_steps(route, &heads, notes);
    }
    for item in programme.items.iter() {
        let at = At::new("item", &item.id, "off_crew");
        for (field, handling) in [("off_crew", &item.removal), ("on_crew", &item.refit)] {
            if let Some(handling) = handling {
                enough(at.field(field), &[&handling.crew], &heads, notes);
            }
        }
    }
    for rule in programme.checks.iter() {
        enough(At::new("check", &rule.id, "crew"), &[&rule.crew], &heads, notes);
    }
    for job in programme.jobs.iter() {
        let at = At::new("job", &job.id, "reach");
        performer(at, &job.by, &heads, notes);
        held(at, job.hold.as_ref(), notes);
        let item = job.item.as_ref().and_then(|item| programme.items.get(item));
        match (&job.item, item.and_then(|item| item.fixed.as_ref())) {
            (None, _) if job.reach != Reach::AsItIs => notes
                .error_at(
                    at,
                    format!("it is to be {} and no item is named", job.reach.word()),
                )
                .hint("give the item, or leave `reach` out"),
            (Some(item), Some(why)) if job.reach == Reach::Off => notes
                .error_at(
                    at,
                    format!("it needs {item} off, which never comes off: {why}"),
                )
                .hint("write `exposed` or `as it is`"),
            _ => {}
        }
    }
    packs(programme, notes);
    for actual in programme.actuals.iter() {
        happened(actual, notes);
    }
}

fn packs(programme: &Programme, notes: &mut Notes) {
    for pack in programme.packs.iter() {
        for item in pack.off.iter().filter_map(|item| programme.items.get(item)) {
            if let Some(why) = &item.fixed {
                let what = format!("{} never comes off: {why}", item.id);
                notes
                    .error("pack", &pack.id, "off", what)
                    .hint("name it in `exposed` instead");
            }
        }
    }
}

fn route_steps(route: &Route, heads: &Heads<'_>, notes: &mut Notes) {
    if route.steps.is_empty() {
        notes
            .error("route", &route.id, "step", "it has no steps")
            .hint("give it at least one");
    }
    let mut seen = BTreeSet::new();
    for step in &route.steps {
        let id = format!("{}:{}", route.id, step.id);
        let at = At::new("step", &id, "id");
        if !seen.insert(&step.id) {
            notes
                .error_at(at, format!("two steps of the route are called {}", step.id))
                .hint("give each step a name of its own");
        }
        performer(at, &step.by, heads, notes);
        held(at, step.hold.as_ref(), notes);
        branched(at, step, notes);
    }
}

fn branched(at: At<'_>, step: &Step, notes: &mut Notes) {
    let Some(branch) = &step.branch else { return };
    if !(0.0..=1.0).contains(&branch.chance) {
        notes
            .error_at(
                at.field("fails"),
                format!("a chance of {} is not between 0 and 1", branch.chance),
            )
            .hint("write 0.1 for one time in ten");
    }
    if step.kind != StepKind::Inspect {
        let what = format!("it can fail, and its kind is {}", step.kind.word());
        notes
            .warning_at(at.field("fails"), what)
            .hint("only an inspection can: write kind `inspect`");
    }
}

fn performer(at: At<'_>, by: &Performer, heads: &Heads<'_>, notes: &mut Notes) {
    match by {
        Performer::Crew { crew, hours, or, unbroken: _ } => {
            manned(at.field("crew"), crew, notes);
            work(at.field("hours"), hours, notes);
            for (crew, hours) in or {
                manned(at.field("or"), crew, notes);
                work(at.field("or"), hours, notes);
            }
            let mut ways = vec![crew];
            ways.extend(or.iter().map(|(crew, _)| crew));
            enough(at.field("crew"), &ways, heads, notes);
        }
        Performer::Firm { firm: _, turnaround } => {
            if let Some(time) = turnaround {
                elapsed(at.field("turnaround"), time, notes);
            }
        }
        Performer::Nobody { takes } => elapsed(at.field("takes"), takes, notes),
    }
}

fn manned(at: At<'_>, crew: &[Crew], notes: &mut Notes) {
    if crew.is_empty() {
        notes
            .error_at(at, "nobody is given to do it")
            .hint("write `2 fitter + 1 inspector`");
    }
    for part in crew {
        if part.count == 0 || part.count > CROWD {
            let what = format!("{} of {} cannot be", part.count, part.skill);
            notes.error_at(at, what).hint(format!("count from 1 to {CROWD}"));
        }
    }
}

/// Warns where more of a skill are asked for than there are, by every way to crew a job.
fn enough(at: At<'_>, ways: &[&Vec<Crew>], heads: &Heads<'_>, notes: &mut Notes) {
    let lacking = |crew: &&Vec<Crew>| {
        let mut asked: BTreeMap<&SkillId, usize> = BTreeMap::new();
        for part in *crew {
            *asked.entry(&part.skill).or_default() += part.count as usize;
        }
        asked.into_iter().find_map(|(skill, asked)| {
            let there = heads.get(skill).copied().unwrap_or_default();
            (asked > there).then_some((skill.clone(), asked, there))
        })
    };
    let lacks: Option<Vec<_>> = ways.iter().map(lacking).collect();
    if let Some((skill, asked, there)) = lacks.iter().flatten().next() {
        let have = match there {
            0 => "nobody has it".to_owned(),
            1 => "one person has it".to_owned(),
            more => format!("{more} people have it"),
        };
        notes
            .warning_at(at, format!("it takes {asked} of the skill {skill}, and {have}"))
            .hint("lessen the crew, give another way to crew it, or add people");
    }
}

fn work(at: At<'_>, time: &Estimate<Work>, notes: &mut Notes) {
    if time.low() < Work::ZERO {
        notes
            .error_at(at, format!("{} is less than nothing", time.low()))
            .hint("write it without a sign");
    } else if time.high() == Work::ZERO {
        notes.warning_at(at, "it takes no time at all").hint("write how long it takes");
    } else if time.high().minutes() > LONG_WORK * 60 {
        let what = format!("{} is more than {LONG_WORK} h for one job", time.high());
        notes.warning_at(at, what).hint("is the unit right?");
    }
}

/// Notes elapsed time that cannot be.
pub(crate) fn elapsed(at: At<'_>, time: &Estimate<Elapsed>, notes: &mut Notes) {
    if time.low() < Elapsed::ZERO {
        notes
            .error_at(at, format!("{} is less than nothing", time.low()))
            .hint("write it without a sign");
    } else if time.high() == Elapsed::ZERO {
        notes.warning_at(at, "it takes no time at all").hint("write how long it takes");
    } else if time.high().minutes() > LONG_ELAPSED * 24 * 60 {
        let what = format!("{} is more than {LONG_ELAPSED} days", time.high());
        notes.warning_at(at, what).hint("is the unit right?");
    }
}

fn held(at: At<'_>, hold: Option<&Hold>, notes: &mut Notes) {
    let Some(Hold { at_least, at_most }) = hold else { return };
    for (field, time) in [("hold_at_least", at_least), ("hold_at_most", at_most)] {
        if let Some(time) = time.filter(|time| *time < Elapsed::ZERO) {
            notes
                .error_at(at.field(field), format!("{time} is less than nothing"))
                .hint("write it without a sign");
        }
    }
    if let (Some(least), Some(most)) = (at_least, at_most)
        && most < least
    {
        let what = format!("at most {most} is less than at least {least}");
        notes
            .error_at(at.field("hold_at_most"), what)
            .hint("exchange the two, or mend one of them");
    }
}

fn happened(actual: &Actual, notes: &mut Notes) {
    let at = At::new("actual", &actual.job, "started");
    let times = match &actual.state {
        State::Started { at: started, left } => {
            if *left < Work::ZERO {
                let what = format!("{left} is less than nothing");
                notes
                    .error_at(at.field("left"), what)
                    .hint("say when it was finished instead");
            }
            [("started", *started), ("started", *started)]
        }
        State::Done { from, until } => {
            if until < from {
                let what = format!(
                    "it was finished at {until}, before it was started at {from}"
                );
                notes
                    .error_at(at.field("finished"), what)
                    .hint("exchange the two, or mend one of them");
            }
            [("started", *from), ("finished", *until)]
        }
    };
    for (field, time) in times {
        day(at.field(field), time.date(), notes);
        whole_minutes(at.field(field), time.time(), notes);
    }
}
