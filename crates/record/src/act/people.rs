//! Acts about people and what they may sign.

use airframe::Chapter;
use jiff::civil::Date;

use super::Power;
use crate::{AuthorityId, PersonId};

/// Gives a person an authority. The first authority of a programme founds its record: it
/// must be one to appoint, and whoever gives it answers for that.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct Grant {
    /// The authority's name in the programme.
    pub authority: AuthorityId,
    /// Who gets it.
    pub person: PersonId,
    /// What it allows.
    pub power: Power,
    /// Chapters to which it is limited; none means that it is not.
    pub chapters: Vec<Chapter>,
    /// The licence or approval on which it rests, with its number.
    pub reference: String,
    /// The first day on which it is valid.
    pub from: Date,
    /// The last day on which it is valid.
    pub until: Option<Date>,
    /// How the person signs on paper: initials or the number of a stamp.
    pub specimen: Option<String>,
}

/// Takes an authority away, at once. What was signed under it stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Withdraw {
    /// Which.
    pub authority: AuthorityId,
    /// Why.
    pub reason: String,
}
