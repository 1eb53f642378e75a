//! Routes: the usual chain of jobs for a kind of item.

use airframe::{Crew, StandId};
use quantity::{Elapsed, Estimate, Work};

use crate::{Conditions, FirmId, PlaceId, RouteId, StepId};

/// A chain of jobs, in order, with branches at its inspections.
#[derive(Debug, Clone, PartialEq)]
pub struct Route {
    /// Its name in the programme.
    pub id: RouteId,
    /// What people call it.
    pub name: String,
    /// Whether the item must come off for it, or only be reached.
    pub reach: crate::Reach,
    /// The steps. Each follows the one before it unless it says otherwise.
    pub steps: Vec<Step>,
}

/// One job of a route.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// Its name within the route.
    pub id: StepId,
    /// What is done, as a job card would head it.
    pub name: String,
    /// What kind of step it is.
    pub kind: StepKind,
    /// Who does it.
    pub by: Performer,
    /// Where it is done, if it needs a place.
    pub place: Option<PlaceId>,
    /// A stand that it needs while it runs.
    pub stand: Option<StandId>,
    /// What the air must be like.
    pub conditions: Conditions,
    /// The steps that it follows; nothing means the one before it, if there is one.
    pub after: Option<Vec<StepId>>,
    /// The time between those steps and this one.
    pub hold: Option<Hold>,
    /// What follows if it is an inspection and fails.
    pub branch: Option<Branch>,
}

/// Kinds of steps.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum StepKind {
    /// Cleaning, stripping.
    Clean,
    /// Looking, measuring, testing.
    Inspect,
    /// Repair, replacement, making.
    Repair,
    /// Paint, plating, treatment.
    Finish,
    /// Putting together, adjusting.
    Assemble,
    /// Anything else.
    Other,
}

impl StepKind {
    /// All of them.
    pub const ALL: [Self; 6] = [
        Self::Clean,
        Self::Inspect,
        Self::Repair,
        Self::Finish,
        Self::Assemble,
        Self::Other,
    ];

    /// The word for it, as files write it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Clean => "clean",
            Self::Inspect => "inspect",
            Self::Repair => "repair",
            Self::Finish => "finish",
            Self::Assemble => "assemble",
            Self::Other => "other",
        }
    }
}

/// Who does a job.
#[derive(Debug, Clone, PartialEq)]
pub enum Performer {
    /// People of ours, working, pausing at the end of a shift.
    Crew {
        /// Who it takes, all of them for the whole of it.
        crew: Vec<Crew>,
        /// How long it takes them.
        hours: Estimate<Work>,
        /// Other ways to crew it, each with its own hours.
        or: Vec<(Vec<Crew>, Estimate<Work>)>,
        /// It must not pause: a wing lift, a coat of paint.
        unbroken: bool,
    },
    /// An outside firm.
    Firm {
        /// Which.
        firm: FirmId,
        /// How long it keeps it, where that is not the firm's usual turnaround.
        turnaround: Option<Estimate<Elapsed>>,
    },
    /// Nobody: it takes its time by itself, such as curing, soaking, drying.
    Nobody {
        /// How long it takes, in elapsed time.
        takes: Estimate<Elapsed>,
    },
}

/// A time between jobs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Hold {
    /// At least so long after the end of what it follows (a cure).
    pub at_least: Option<Elapsed>,
    /// It starts at most so long after that (an overcoat window).
    pub at_most: Option<Elapsed>,
}

/// What follows a failed inspection.
#[derive(Debug, Clone, PartialEq)]
pub struct Branch {
    /// How likely it is to fail, from 0 to 1.
    pub chance: f64,
    /// Another route whose steps are then done before going on.
    pub then: RouteId,
}

impl crate::Named for Route {
    type Name = RouteId;
    const NOUN: &'static str = "route";

    fn name(&self) -> &RouteId {
        &self.id
    }
}
