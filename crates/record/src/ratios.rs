//! Hours that were booked against hours that were estimated.
//!
//! Nobody publishes how long work on an old aircraft takes, so a workshop measures itself:
//! each card that is complete and whose job has an estimate is a sample, and its ratio says
//! how many hours of people one estimated hour came to. What rests on few samples is said to
//! be unknown, not rounded to one.

use std::collections::{BTreeMap, BTreeSet};

use airframe::{Chapter, Crew, SkillId, ZoneId};
use quantity::{Estimate, Work};

use crate::shop::Card;
use crate::{JobKey, PersonId, Programme, Route, Standing, StepKind};

/// The fewest samples from which a ratio is told: a choice of this program, with no norm
/// behind it.
pub const FEWEST: usize = 5;

/// Kinds of jobs that are estimated.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    /// A step of a route.
    Step(StepKind),
    /// Taking an item off.
    Removal,
    /// Putting it back.
    Refit,
    /// A check after a disturbance.
    Check,
    /// A job that somebody wrote down.
    Written,
}

impl Kind {
    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Step(kind) => kind.word(),
            Self::Removal => "removal",
            Self::Refit => "refit",
            Self::Check => "check",
            Self::Written => "written job",
        }
    }
}

/// Who did the work of a card.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Hands {
    /// Nobody but volunteers.
    Volunteers,
    /// Nobody but others: staff and people under contract.
    Paid,
    /// Both.
    Mixed,
}

impl Hands {
    /// The words for it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Volunteers => "volunteers",
            Self::Paid => "staff and contract",
            Self::Mixed => "both",
        }
    }
}

/// What a job was estimated to take.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Planned {
    /// What kind of job it is.
    pub kind: Kind,
    /// Who it takes.
    pub crew: Vec<Crew>,
    /// How long it takes them.
    pub hours: Estimate<Work>,
}

impl Planned {
    /// How many people it takes.
    pub fn people(&self) -> u32 {
        self.crew.iter().map(|crew| crew.count).sum()
    }

    /// Minutes of people, by the likely duration.
    pub fn person_minutes(&self) -> i64 {
        i64::from(self.people()) * self.hours.likely().minutes()
    }
}

/// A card that is complete, beside its estimate as the programme has it now.
#[derive(Debug, Clone, PartialEq)]
pub struct Sample {
    /// The job.
    pub job: JobKey,
    /// What kind of job it is.
    pub kind: Kind,
    /// The skills that it takes.
    pub skills: BTreeSet<SkillId>,
    /// Where on the aircraft it was done.
    pub zone: Option<ZoneId>,
    /// On which system or structure, by its chapter.
    pub chapter: Option<Chapter>,
    /// How many people booked hours on it.
    pub people: usize,
    /// Who they were.
    pub hands: Hands,
    /// Minutes of people, as estimated.
    pub estimated: i64,
    /// Minutes of people, as booked.
    pub booked: i64,
}

impl Sample {
    /// Booked over estimated.
    #[expect(clippy::cast_precision_loss, reason = "minutes of a job are few")]
    pub fn ratio(&self) -> f64 {
        self.booked as f64 / self.estimated as f64
    }
}

/// How ratios lie.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spread {
    /// The least.
    pub least: f64,
    /// The one in the middle; of an even number, the mean of the two.
    pub middle: f64,
    /// The greatest.
    pub greatest: f64,
}

/// The ratios of some samples.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Measured {
    /// How many samples there are.
    pub samples: usize,
    /// How their ratios lie; nothing without samples.
    pub spread: Option<Spread>,
}

impl Measured {
    /// Of samples, in any order.
    pub fn of<'a>(samples: impl IntoIterator<Item = &'a Sample>) -> Self {
        let mut ratios: Vec<f64> = samples.into_iter().map(Sample::ratio).collect();
        ratios.sort_by(f64::total_cmp);
        let half = ratios.len() / 2;
        let spread = ratios.first().zip(ratios.last()).map(|(least, greatest)| {
            let middle = if ratios.len() % 2 == 1 {
                ratios[half]
            } else {
                f64::midpoint(ratios[half - 1], ratios[half])
            };
            Spread { least: *least, middle, greatest: *greatest }
        });
        Self { samples: ratios.len(), spread }
    }

    /// The ratio to plan by; nothing where fewer than [`FEWEST`] samples say so.
    pub fn ratio(&self) -> Option<f64> {
        self.spread.filter(|_| self.samples >= FEWEST).map(|spread| spread.middle)
    }
}

impl Programme {
    /// The measured ratio of a kind of job, and on how many samples it rests.
    pub fn measured(&self, kind: Kind) -> Measured {
        let samples = self.samples();
        Measured::of(samples.iter().filter(|sample| sample.kind == kind))
    }

    /// The measured ratio of each kind of job that was ever measured.
    pub fn measured_kinds(&self) -> BTreeMap<Kind, Measured> {
        let samples = self.samples();
        let kinds: BTreeSet<Kind> = samples.iter().map(|sample| sample.kind).collect();
        let of = |kind| {
            Measured::of(samples.iter().filter(|sample: &&Sample| sample.kind == kind))
        };
        kinds.into_iter().map(|kind| (kind, of(kind))).collect()
    }

    /// Every card that is complete, has hours booked, and whose job has an estimate.
    pub fn samples(&self) -> Vec<Sample> {
        let cards = self.shop.cards.cards.iter();
        cards.filter_map(|(job, card)| self.sample(job, card)).collect()
    }

    fn sample(&self, job: &JobKey, card: &Card) -> Option<Sample> {
        if !card.is_finished() {
            return None;
        }
        let planned = self.planned(job)?;
        let stated = card.stated.iter().map(|stated| &stated.person);
        let people: BTreeSet<&PersonId> =
            card.sessions.iter().map(|session| &session.person).chain(stated).collect();
        let worked: Vec<(&PersonId, i64)> = people
            .into_iter()
            .map(|person| (person, card.hours_of(person).minutes()))
            .filter(|(_, minutes)| *minutes > 0)
            .collect();
        let booked: i64 = worked.iter().map(|(_, minutes)| minutes).sum();
        let estimated = planned.person_minutes();
        if booked == 0 || estimated <= 0 {
            return None;
        }
        let item = card.item.as_ref().and_then(|item| self.items.get(item));
        Some(Sample {
            job: job.clone(),
            kind: planned.kind,
            skills: planned.crew.into_iter().map(|crew| crew.skill).collect(),
            zone: item.and_then(|item| item.zone.clone()),
            chapter: item.and_then(|item| item.chapter).map(Chapter::chapter),
            people: worked.len(),
            hands: self.hands(worked.iter().map(|(person, _)| *person)),
            estimated,
            booked,
        })
    }

    fn hands<'a>(&self, people: impl Iterator<Item = &'a PersonId>) -> Hands {
        let unpaid = |person: &PersonId| {
            let person = self.people.get(person);
            person.is_some_and(|person| person.standing == Standing::Volunteer)
        };
        let (volunteers, others): (Vec<_>, Vec<_>) = people.partition(|p| unpaid(p));
        match (volunteers.is_empty(), others.is_empty()) {
            (false, true) => Hands::Volunteers,
            (false, false) => Hands::Mixed,
            (true, _) => Hands::Paid,
        }
    }

    /// What a job was estimated to take, if it is one of those that the programme knows and
    /// people of ours do it.
    pub fn planned(&self, job: &JobKey) -> Option<Planned> {
        // Behind the sign stands how often it is done.
        let name = job.0.split_once('#').map_or(job.0.as_str(), |(name, _)| name);
        let mut parts = name.split(':');
        let (head, tail) = (parts.next()?, parts.collect::<Vec<_>>());
        match (head, tail.as_slice()) {
            ("OFF" | "ON", [item]) => {
                let item = self.items.get(&item.parse().ok()?)?;
                let (handling, kind) = match head {
                    "OFF" => (item.removal.as_ref()?, Kind::Removal),
                    _ => (item.refit.as_ref()?, Kind::Refit),
                };
                let (crew, hours) = (handling.crew.clone(), handling.hours);
                Some(Planned { kind, crew, hours })
            }
            ("CHECK", [rule, ..]) => {
                let rule = self.checks.get(&rule.parse().ok()?)?;
                let (crew, hours) = (rule.crew.clone(), rule.hours);
                Some(Planned { kind: Kind::Check, crew, hours })
            }
            (job, []) => {
                let job = self.jobs.get(&job.parse().ok()?)?;
                worked(Kind::Written, &job.by)
            }
            (finding, steps) => {
                let (_, route) = self.work_of_finding(&finding.parse().ok()?);
                self.step_of(self.routes.get(route?)?, steps)
            }
        }
    }

    /// The step of a route, or of the route that one of its branches leads to.
    fn step_of(&self, route: &Route, steps: &[&str]) -> Option<Planned> {
        let (first, rest) = steps.split_first()?;
        let step = route.steps.iter().find(|step| step.id.as_str() == *first)?;
        if rest.is_empty() {
            return worked(Kind::Step(step.kind), &step.by);
        }
        self.step_of(self.routes.get(&step.branch.as_ref()?.then)?, rest)
    }
}

fn worked(kind: Kind, by: &crate::Performer) -> Option<Planned> {
    match by {
        crate::Performer::Crew { crew, hours, .. } => {
            Some(Planned { kind, crew: crew.clone(), hours: *hours })
        }
        crate::Performer::Firm { .. } | crate::Performer::Nobody { .. } => None,
    }
}
