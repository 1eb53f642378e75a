//! What goes on at the moment: who is at what, what travels, what waits to be looked at.

use jiff::civil::{Date, DateTime};
use planner::JobKind;
use record::act::Power;
use record::shop::{Card, StepState};
use record::{JobKey, PersonId};

use super::{Day, away, due, people};

/// Somebody at a card.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AtWork {
    /// The card.
    pub job: String,
    /// What is done.
    pub title: String,
    /// Who, by their full names, and since when.
    pub who: Vec<(String, DateTime)>,
    /// The step that comes next, with its text.
    pub next: Option<(String, String)>,
    /// How many steps are complete, of how many.
    pub steps: (usize, usize),
}

/// A part on its way.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Travelling {
    /// The part.
    pub item: String,
    /// What people call it.
    pub name: String,
    /// The firm.
    pub firm: String,
    /// It comes back, and does not go out.
    pub back: bool,
    /// What is expected, in words.
    pub what: String,
    /// By how many days it is late.
    pub late: i32,
}

/// A step that waits for an inspection.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ToInspect {
    /// The card.
    pub job: String,
    /// The step.
    pub step: String,
    /// What was done.
    pub text: String,
    /// `its inspection` or `its second inspection`.
    pub lacks: &'static str,
    /// Somebody who had no part in the work must make it.
    pub independent: bool,
    /// Who did it, and when.
    pub signed: Option<(String, DateTime)>,
    /// Who may make it and is in, by their full names.
    pub may: Vec<String>,
    /// Who may make it and is not in.
    pub may_later: Vec<String>,
}

fn open<'a>(day: &Day<'a>) -> impl Iterator<Item = (&'a JobKey, &'a Card)> {
    let cards = &day.programme.shop.cards;
    cards.open.iter().filter_map(|job| Some((job, &**cards.cards.get(job)?)))
}

pub(super) fn at_work(day: &Day<'_>) -> Vec<AtWork> {
    let lasting = open(day).map(|(job, card)| {
        let sessions = card.sessions.iter().filter(|session| session.until.is_none());
        let who = sessions.map(|session| (day.called(&session.person), session.from));
        let next = card.steps.iter().find(|step| !step.is_complete());
        let complete = card.steps.iter().filter(|step| step.is_complete()).count();
        AtWork {
            job: job.to_string(),
            title: card.title.clone(),
            who: who.collect(),
            next: next.map(|step| (step.spec.id.to_string(), step.spec.text.clone())),
            steps: (complete, card.steps.len()),
        }
    });
    lasting.filter(|work| !work.who.is_empty()).collect()
}

pub(super) fn inspections(day: &Day<'_>) -> Vec<ToInspect> {
    let mut waiting = Vec::new();
    for (job, card) in open(day) {
        for step in card.steps.iter().filter(|step| step.is_signed()) {
            waiting.extend(to_inspect(day, job, card, step));
        }
    }
    waiting
}

fn to_inspect(
    day: &Day<'_>,
    job: &JobKey,
    card: &Card,
    step: &StepState,
) -> Option<ToInspect> {
    let lacks = step.lacks()?;
    let may = day.programme.people.names().filter(|person| {
        may_look(card, step, person)
            && day.may(person, Power::Inspect, card.item.as_ref())
            && !is_volunteer(day, person)
    });
    let (present, later): (Vec<&PersonId>, Vec<&PersonId>) =
        may.partition(|person| people::is_in(day, person));
    let called =
        |all: Vec<&PersonId>| all.into_iter().map(|person| day.called(person)).collect();
    Some(ToInspect {
        job: job.to_string(),
        step: step.spec.id.to_string(),
        text: step.spec.text.clone(),
        lacks,
        independent: step.spec.independent && step.first.is_some(),
        signed: step.signed.as_ref().map(|s| (day.called(&s.mark.by), s.mark.at)),
        may: called(present),
        may_later: called(later),
    })
}

pub(super) fn is_volunteer(day: &Day<'_>, person: &PersonId) -> bool {
    let known = day.programme.people.get(person);
    known.is_none_or(|person| person.standing == record::Standing::Volunteer)
}

/// Whether somebody's part in the work leaves them free to look at a step: the first look is
/// another's than the work, the second one is somebody's who had no part in the card.
pub(crate) fn may_look(card: &Card, step: &StepState, person: &PersonId) -> bool {
    match &step.first {
        None => !step.signed.as_ref().is_some_and(|signed| {
            signed.mark.by == *person || signed.supervisor.as_ref() == Some(person)
        }),
        Some(first) => first.mark.by != *person && !card.involved().contains(person),
    }
}

pub(super) fn travelling(day: &Day<'_>) -> Vec<Travelling> {
    let mut all = promised(day);
    for (dated, at) in day.dated() {
        let Some(draft) = day.draft else { continue };
        let job = &draft.jobs[at];
        let begun = draft.past.contains_key(&at);
        let date = dated.from.date();
        let back = job.kind == JobKind::Return;
        if begun || date > day.on() || !(back || job.kind == JobKind::Despatch) {
            continue;
        }
        let Some(item) = &job.item else { continue };
        // What a firm has promised counts before what the plan had.
        if back && all.iter().any(|one| one.back && one.item == item.as_str()) {
            continue;
        }
        let (planner::Lasting::Collection(firm), name) =
            (&job.lasting, day.programme.items.get(item))
        else {
            continue;
        };
        all.push(Travelling {
            item: item.to_string(),
            name: name.map(|item| item.name.clone()).unwrap_or_default(),
            firm: firm_name(day, firm),
            back,
            what: format!("planned for {}", date.strftime("%Y-%m-%d")),
            late: late(date, day.on()),
        });
    }
    all.sort_by_key(|one| (std::cmp::Reverse(one.late), one.back, one.item.clone()));
    all
}

/// What firms have promised for today or before.
fn promised(day: &Day<'_>) -> Vec<Travelling> {
    let parts = day.programme.shop.parts.parts.iter();
    let away = parts.filter_map(|(item, part)| Some((item, away(part)?)));
    let now = away.filter(|(_, custody)| custody.due <= day.on());
    let told = now.map(|(item, custody)| {
        let name = day.programme.items.get(item).map(|item| item.name.clone());
        Travelling {
            item: item.to_string(),
            name: name.unwrap_or_default(),
            firm: firm_name(day, &custody.despatch.firm),
            back: true,
            what: due(custody.due, day.on()),
            late: late(custody.due, day.on()),
        }
    });
    told.collect()
}

fn late(planned: Date, on: Date) -> i32 {
    (on - planned).get_days().max(0)
}

fn firm_name(day: &Day<'_>, firm: &record::FirmId) -> String {
    let known = day.programme.firms.get(firm);
    known.map_or_else(|| firm.to_string(), |firm| firm.name.clone())
}
