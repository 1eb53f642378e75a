//! What acts ask for, and what there is to choose from.

use record::{Act, PersonId, Power, Programme};

use jiff::civil::Date;

use crate::{AppError, Thing, steps, things};

pub use folder::Problem;
pub use folder::acts::{
    ActForm, FieldForm, FieldSort, Takes, files as files_of, forms as act_forms,
};

/// Acts of the bench, for which the record asks for no authority: whoever works here may do
/// them, those who work under supervision as the rules say.
pub const OF_THE_BENCH: [&str; 22] = [
    "start",
    "pause",
    "hand-over",
    "take-over",
    "sign-step",
    "query",
    "hours",
    "disturb",
    "raise",
    "also-checked",
    "tag",
    "quarantine",
    "move",
    "fit",
    "draw",
    "store-done",
    "air-reading",
    "tool-out",
    "tool-in",
    "lose-tool",
    "find-tool",
    "strike",
];

/// An act of its word and its fields, as somebody gave them.
///
/// # Errors
/// [`AppError::Act`] with everything that is wrong.
pub fn act_of_fields(word: &str, fields: &[(String, String)]) -> Result<Act, AppError> {
    folder::acts::from_fields(word, fields).map_err(AppError::Act)
}

/// Something that is wrong with what somebody gave, said by the pages themselves.
pub fn problem(what: String, hint: &str) -> Problem {
    let hint = Some(hint.to_owned()).filter(|hint| !hint.is_empty());
    Problem { place: None, severity: airframe::Severity::Error, what, hint }
}

/// Whether a text is the digest of a file.
pub fn is_digest(text: &str) -> bool {
    record::act::FileDigest::new(text).is_some_and(|digest| digest.as_str() == text)
}

/// What there is to name in a field that holds a noun. Steps are those of the card that is
/// given beside it.
pub fn choices(programme: &Programme, noun: &str, card: Option<&str>) -> Vec<Thing> {
    if noun == "step" {
        return card.map_or_else(Vec::new, |card| steps(programme, card));
    }
    let mut all = things(programme);
    all.retain(|thing| thing.noun == noun);
    all
}

/// The words of what a person may do on a day, by an authority that is not limited to
/// chapters or that is.
pub fn powers(programme: &Programme, person: &str, on: Date) -> Vec<&'static str> {
    let Ok(person) = PersonId::new(person) else { return Vec::new() };
    let given = &programme.shop.authorities;
    let has = |power: &Power| {
        let valid = |(_, given): (_, &record::shop::Given)| {
            given.grant.power == *power && given.is_valid(on)
        };
        given.of(&person).any(valid)
    };
    Power::ALL.into_iter().filter(has).map(Power::word).collect()
}

/// The words of all that an authority may be for.
pub fn all_powers() -> Vec<&'static str> {
    Power::ALL.into_iter().map(Power::word).collect()
}

/// Whether whoever holds these powers and no others may sign acts of a word; the record
/// judges each of them by itself. What asks for no power is for those who have any, and for
/// everybody if it is of the bench.
pub fn may(powers: &[&str], word: &str) -> bool {
    let asked = powers_for(word);
    if asked.is_empty() {
        return !powers.is_empty() || OF_THE_BENCH.contains(&word);
    }
    asked.iter().any(|power| powers.contains(power))
}

/// The powers of which an act of a word asks for one; none if it asks for none, or only in
/// some cases.
pub fn powers_for(word: &str) -> Vec<&'static str> {
    let asked = Act::powers(word).unwrap_or_default();
    asked.iter().map(|power| power.word()).collect()
}

/// Whether nobody was given an authority yet, so that anybody may give the first.
pub fn is_founding(programme: &Programme) -> bool {
    programme.shop.authorities.given.is_empty()
}

/// Whether somebody reads the record and signs nothing.
pub fn observes(programme: &Programme, person: &str) -> bool {
    let person = PersonId::new(person).ok();
    let person = person.and_then(|person| programme.people.get(&person));
    person.is_some_and(|person| person.standing == record::Standing::Observer)
}

/// Who a person is, by their name in the programme or their full name, however it is
/// written; their name in the programme and their full one.
pub fn person(programme: &Programme, typed: &str) -> Option<(String, String)> {
    let typed = typed.trim().to_lowercase();
    let is = |person: &&record::Person| {
        person.id.as_str().to_lowercase() == typed || person.name.to_lowercase() == typed
    };
    let found = programme.people.iter().find(is)?;
    Some((found.id.to_string(), found.name.clone()))
}
