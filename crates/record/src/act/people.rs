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

/// Gives a person a key of their own, which only their secret makes: from then on whatever
/// they sign is sealed with it, and nothing else counts as signed by them.
///
/// The first key of a programme founds this, as the first authority does. After that,
/// somebody who may appoint enrols others, and everybody changes their own secret.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct Enrol {
    /// Whose key it is.
    pub person: PersonId,
    /// The public half of an Ed25519 key, in hexadecimal digits.
    pub key: String,
    /// What was mixed into the secret, in hexadecimal digits.
    pub salt: String,
    /// How the key is made of the secret, with its costs.
    pub derivation: String,
    /// Why: a first secret, a new one, one that was lost.
    pub reason: String,
}

/// Takes an authority away, at once. What was signed under it stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Withdraw {
    /// Which.
    pub authority: AuthorityId,
    /// Why.
    pub reason: String,
}
