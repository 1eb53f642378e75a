//! People, their skills, and what they are entitled to sign.

use airframe::SkillId;
use jiff::civil::Date;

use crate::{DateSpan, PersonId, Shift, Weekdays};

/// Something that a person is able to do.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Skill {
    /// Its name in the programme.
    pub id: SkillId,
    /// What people call it.
    pub name: String,
}

/// Somebody who works on the aircraft, or who may look on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Person {
    /// Their name in the programme.
    pub id: PersonId,
    /// Their full name.
    pub name: String,
    /// On what footing they work.
    pub standing: Standing,
    /// What they are able to do.
    pub skills: Vec<SkillId>,
    /// The days of the week on which they come, in shift hours.
    pub days: Weekdays,
    /// Their own hours, where these are shorter than the shift.
    pub hours: Option<Shift>,
    /// When they are away, both days included.
    pub away: Vec<DateSpan>,
    /// The first day on which they are there at all.
    pub from: Option<Date>,
    /// The last day on which they are there at all.
    pub until: Option<Date>,
    /// What they are entitled to sign.
    pub authority: Vec<Authority>,
}

/// On what footing somebody works.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Standing {
    /// Employed.
    Staff,
    /// A volunteer, who works under supervision.
    Volunteer,
    /// Comes in under contract.
    Contract,
    /// Reads the record and signs nothing: a trustee, an auditor, somebody of the authority.
    Observer,
}

impl Standing {
    /// All of them.
    pub const ALL: [Self; 4] =
        [Self::Staff, Self::Volunteer, Self::Contract, Self::Observer];

    /// The word for it, as files write it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Staff => "staff",
            Self::Volunteer => "volunteer",
            Self::Contract => "contract",
            Self::Observer => "observer",
        }
    }
}

/// A licence or authorisation, with its scope.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Authority {
    /// What it covers, in the programme's words.
    pub scope: String,
    /// Its number or reference.
    pub reference: Option<String>,
    /// The last day on which it is valid; nothing if it does not run out.
    pub until: Option<Date>,
}

impl crate::Named for Skill {
    type Name = SkillId;
    const NOUN: &'static str = "skill";

    fn name(&self) -> &SkillId {
        &self.id
    }
}

impl crate::Named for Person {
    type Name = PersonId;
    const NOUN: &'static str = "person";

    fn name(&self) -> &PersonId {
        &self.id
    }
}
