//! What the record says at a moment: gates, cards, findings, parts, tools, people.

mod air;
mod audit;
mod card;
mod finding;
mod gate;
mod mass;
mod ndt;
mod occurrence;
mod office;
mod parts;
mod people;
mod plan;
mod ratios;
mod records;
mod repairs;
mod status;
mod stores;
#[cfg(test)]
mod tests;

use jiff::civil::Date;
use quantity::{Id, Kind};
use record::Programme;

use crate::{AppError, Sheet};

pub(crate) use card::state as card_state;
pub(crate) use finding::what;
pub(crate) use gate::ordered;

/// How a gate's sheet is laid out and worded. Raise it when that changes: a bundle that was
/// made with another layout is held against what the entries say by its state alone.
pub(crate) const GATE_LAYOUT: u64 = 1;

/// What a sheet is about.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum About {
    /// How the aircraft stands, on one page.
    Status,
    /// All gates, or one with everything that stands before it.
    Gates(Option<String>),
    /// All cards, or one.
    Cards(Option<String>),
    /// All findings, or one.
    Findings(Option<String>),
    /// All examinations, or one: the request and what was reported.
    Examinations(Option<String>),
    /// All parts that are off or were dealt with, or one.
    Parts(Option<String>),
    /// Findings that are carried forward, by zone and chapter.
    Deferred,
    /// The register of repairs, and findings that were put right or accepted.
    Repairs,
    /// Materials in place of others, and parts made in-house.
    Made,
    /// Requirements of all gates up to one, or of all, with their evidence.
    Conditions,
    /// Mass and balance.
    Mass,
    /// Hours booked against hours estimated.
    Ratios,
    /// How long records are kept.
    Retention,
    /// The record held against itself.
    Audit,
    /// The draft of a report of an occurrence, for a finding.
    Occurrence(String),
    /// Lives that are limited.
    Lives,
    /// Tools: out, lost, calibration; or one of them.
    Tools(Option<String>),
    /// Readings of the air: the last of each place, or all of one; `hangar` is what has no
    /// place.
    Air(Option<String>),
    /// Materials, and what is due in store.
    Stores,
    /// Letters.
    Letters,
    /// Directives and modifications.
    Directives,
    /// Where items come from.
    Origins,
    /// What was flown and run, what is due, samples of structure.
    Service,
    /// Money and hours.
    Money,
    /// People and their authorities, or one person.
    People(Option<String>),
    /// The rules, and where each comes from.
    Rules,
    /// The plan that was adopted for a season, beside what has happened.
    Plan(Option<String>),
}

/// A sheet of the programme as it stands on a day.
pub fn sheet(programme: &Programme, about: &About, on: Date) -> Result<Sheet, AppError> {
    match about {
        About::Status => Ok(status::status(programme, on)),
        About::Gates(None) => Ok(gate::all(programme, on)),
        About::Gates(Some(name)) => gate::one(programme, name, on),
        About::Cards(None) => Ok(card::all(programme)),
        About::Cards(Some(name)) => card::one(programme, name),
        About::Findings(None) => Ok(finding::all(programme, on)),
        About::Findings(Some(name)) => finding::one(programme, name),
        About::Examinations(None) => Ok(ndt::all(programme, on)),
        About::Examinations(Some(name)) => ndt::one(programme, name),
        About::Parts(None) => Ok(parts::all(programme, on)),
        About::Parts(Some(name)) => parts::one(programme, name, on),
        About::Deferred => Ok(finding::deferred(programme)),
        About::Repairs => Ok(repairs::repairs(programme)),
        About::Made => Ok(repairs::made(programme)),
        About::Conditions => Ok(gate::conditions(programme, on)),
        About::Mass => Ok(mass::mass(programme)),
        About::Ratios => Ok(ratios::ratios(programme)),
        About::Retention => Ok(records::retention(programme, on)),
        About::Audit => Ok(audit::audit(programme, on)),
        About::Occurrence(finding) => occurrence::draft(programme, finding, on),
        About::Lives => Ok(parts::lives(programme, on)),
        About::Tools(None) => Ok(stores::tools(programme, on)),
        About::Tools(Some(name)) => stores::one(programme, name, on),
        About::Air(None) => Ok(air::all(programme, on)),
        About::Air(Some(place)) => air::one(programme, place),
        About::Stores => Ok(stores::materials(programme, on)),
        About::Letters => Ok(office::letters(programme, on)),
        About::Directives => Ok(office::directives(programme, on)),
        About::Origins => Ok(office::origins(programme)),
        About::Service => Ok(office::service(programme, on)),
        About::Money => Ok(office::money(programme)),
        About::People(None) => Ok(people::people(programme, on)),
        About::People(Some(name)) => people::one(programme, name, on),
        About::Rules => Ok(people::rules(programme)),
        About::Plan(season) => plan::plan(programme, season.as_deref(), on),
    }
}

fn name<K: Kind>(text: &str) -> Result<Id<K>, AppError> {
    Id::new(text).map_err(|error| AppError::Unknown(format!("`{text}`: {error}")))
}

/// So many names are told of what there is instead.
const TOLD: usize = 12;

fn none(noun: &str, name: &str, known: impl Iterator<Item = String>) -> AppError {
    let mut known: Vec<String> = known.take(TOLD + 1).collect();
    if known.len() > TOLD {
        "...".clone_into(&mut known[TOLD]);
    }
    let known = known.join(", ");
    let others =
        if known.is_empty() { String::new() } else { format!("; there are {known}") };
    AppError::Unknown(format!("there is no {noun} {name}{others}"))
}

/// Something that may not be there.
fn or_dash(text: Option<impl ToString>) -> String {
    text.map_or_else(|| "-".to_owned(), |text| text.to_string())
}

/// Several, or that there are none.
fn joined(each: impl Iterator<Item = impl ToString>) -> String {
    let each: Vec<String> = each.map(|one| one.to_string()).collect();
    if each.is_empty() { "-".to_owned() } else { each.join("; ") }
}

/// A mark as sheets tell it, for what lies beside them.
pub(crate) fn marked(mark: &record::shop::Mark) -> String {
    self::mark(mark)
}

fn mark(mark: &record::shop::Mark) -> String {
    format!("{} {} (entry {})", mark.by, mark.at.strftime("%Y-%m-%d %H:%M"), mark.entry)
}
