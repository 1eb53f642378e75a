//! What the record says at a moment: gates, cards, findings, parts, tools, people.

mod card;
mod finding;
mod gate;
mod office;
mod parts;
mod people;
mod plan;
mod stores;

use jiff::civil::Date;
use quantity::{Id, Kind};
use record::Programme;

use crate::{AppError, Sheet};

/// What a sheet is about.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum About {
    /// All gates, or one with everything that stands before it.
    Gates(Option<String>),
    /// All cards, or one.
    Cards(Option<String>),
    /// All findings, or one.
    Findings(Option<String>),
    /// All parts that are off or were dealt with, or one.
    Parts(Option<String>),
    /// Findings that are carried forward, by zone and chapter.
    Deferred,
    /// Repairs: findings that were put right, where and on which card.
    Repairs,
    /// Lives that are limited.
    Lives,
    /// Tools: out, lost, calibration.
    Tools,
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
    /// People and their authorities.
    People,
    /// The rules, and where each comes from.
    Rules,
    /// The plan that was adopted for a season, beside what has happened.
    Plan(Option<String>),
}

/// A sheet of the programme as it stands on a day.
pub fn sheet(programme: &Programme, about: &About, on: Date) -> Result<Sheet, AppError> {
    match about {
        About::Gates(None) => Ok(gate::all(programme, on)),
        About::Gates(Some(name)) => gate::one(programme, name, on),
        About::Cards(None) => Ok(card::all(programme)),
        About::Cards(Some(name)) => card::one(programme, name),
        About::Findings(None) => Ok(finding::all(programme, on)),
        About::Findings(Some(name)) => finding::one(programme, name),
        About::Parts(None) => Ok(parts::all(programme, on)),
        About::Parts(Some(name)) => parts::one(programme, name, on),
        About::Deferred => Ok(finding::deferred(programme)),
        About::Repairs => Ok(finding::repairs(programme)),
        About::Lives => Ok(parts::lives(programme, on)),
        About::Tools => Ok(stores::tools(programme, on)),
        About::Stores => Ok(stores::materials(programme, on)),
        About::Letters => Ok(office::letters(programme, on)),
        About::Directives => Ok(office::directives(programme, on)),
        About::Origins => Ok(office::origins(programme)),
        About::Service => Ok(office::service(programme, on)),
        About::Money => Ok(office::money(programme)),
        About::People => Ok(people::people(programme, on)),
        About::Rules => Ok(people::rules(programme)),
        About::Plan(season) => plan::plan(programme, season.as_deref(), on),
    }
}

fn name<K: Kind>(text: &str) -> Result<Id<K>, AppError> {
    Id::new(text).map_err(|error| AppError::Unknown(format!("`{text}`: {error}")))
}

fn none(noun: &str, name: &str, known: impl Iterator<Item = String>) -> AppError {
    let known: Vec<String> = known.take(12).collect();
    let known = if known.is_empty() { "none".to_owned() } else { known.join(", ") };
    AppError::Unknown(format!("there is no {noun} {name}; there are {known}"))
}

/// Something that may not be there.
fn or_dash(text: Option<impl ToString>) -> String {
    text.map_or_else(|| "-".to_owned(), |text| text.to_string())
}

fn mark(mark: &record::shop::Mark) -> String {
    format!("{} {} (entry {})", mark.by, mark.at.strftime("%Y-%m-%d %H:%M"), mark.entry)
}
