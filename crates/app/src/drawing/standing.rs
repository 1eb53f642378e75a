//! How one item stands.

use airframe::ItemId;
use jiff::civil::Date;
use record::shop::{FindingState, Whereabouts};
use record::{Condition, Programme};

use crate::AppError;

/// How an item stands, in a word.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ItemWord {
    /// It is written off.
    Scrapped,
    /// It is in quarantine.
    Quarantine,
    /// Nobody has said how bad something on it is, or whether its history is accepted.
    Doubtful,
    /// It is away at a firm.
    Away,
    /// It is off.
    Off,
    /// It is on the aircraft.
    Fitted,
}

impl ItemWord {
    /// The word.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Scrapped => "scrapped",
            Self::Quarantine => "in quarantine",
            Self::Doubtful => "doubtful",
            Self::Away => "away",
            Self::Off => "off",
            Self::Fitted => "fitted",
        }
    }

    /// One character that stands for it.
    pub const fn mark(self) -> char {
        match self {
            Self::Scrapped => '×',
            Self::Quarantine => '!',
            Self::Doubtful => '?',
            Self::Away => '→',
            Self::Off => '○',
            Self::Fitted => '●',
        }
    }
}

/// How an item stands on a day.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ItemState {
    /// Its name in the programme.
    pub item: String,
    /// What people call it.
    pub name: String,
    /// The zone that it counts to: its own or that of what carries it.
    pub zone: Option<String>,
    /// The worst of how it stands.
    pub word: ItemWord,
    /// Where it is, in words.
    pub place: String,
    /// The firm that it is at, and when it is due.
    pub away: Option<(String, Option<Date>)>,
    /// By how many days it is late from there; 0 if it is not.
    pub late: i32,
    /// Its class, if the record gives it one.
    pub class: Option<String>,
    /// Why it is in quarantine.
    pub why: Option<String>,
    /// Findings on it that are open, with how bad each is.
    pub open: Vec<(String, Condition)>,
}

/// How an item stands on a day.
///
/// # Errors
/// [`AppError::Unknown`] if there is no such item.
pub fn item_state(
    programme: &Programme,
    item: &str,
    on: Date,
) -> Result<ItemState, AppError> {
    let found = ItemId::new(item).ok().and_then(|id| programme.items.get(&id));
    let Some(item) = found else {
        return Err(AppError::Unknown(format!("there is no item {item}")));
    };
    let part = programme.shop.parts.parts.get(&item.id);
    let whereabouts = match part {
        Some(part) => part.whereabouts.clone(),
        None if programme.is_off(&item.id) => Whereabouts::Untold,
        None => Whereabouts::Fitted,
    };
    let open = open_on(programme, &item.id);
    let custody = part.and_then(|part| part.custody.as_ref());
    let due = custody.map(|custody| custody.due);
    let away = match &whereabouts {
        Whereabouts::Away(firm) => Some((firm.to_string(), due)),
        _ => None,
    };
    let late =
        away.as_ref().and_then(|(_, due)| *due).map_or(0, |due| (on - due).get_days());
    let quarantine = part.and_then(|part| part.quarantine.as_ref());
    let unsure = part.is_some_and(|part| part.doubtful)
        || open.iter().any(|(_, condition)| *condition == Condition::Unknown);
    let word = match &whereabouts {
        Whereabouts::Gone => ItemWord::Scrapped,
        _ if quarantine.is_some() => ItemWord::Quarantine,
        _ if unsure => ItemWord::Doubtful,
        Whereabouts::Away(_) => ItemWord::Away,
        Whereabouts::Untold | Whereabouts::At(_) => ItemWord::Off,
        Whereabouts::Fitted => ItemWord::Fitted,
    };
    Ok(ItemState {
        item: item.id.to_string(),
        name: item.name.clone(),
        zone: super::facts::zone_of(programme, &item.id).map(ToString::to_string),
        word,
        place: place(programme, &whereabouts, due),
        away,
        late: late.max(0),
        class: part.map(|part| part.class.word().to_owned()),
        why: quarantine.map(|(why, _)| why.clone()),
        open,
    })
}

fn place(programme: &Programme, whereabouts: &Whereabouts, due: Option<Date>) -> String {
    match whereabouts {
        Whereabouts::Fitted => "on the aircraft".to_owned(),
        Whereabouts::Untold => "off, nobody has said where".to_owned(),
        Whereabouts::Gone => "written off".to_owned(),
        Whereabouts::At(place) => {
            let known = programme.places.get(place);
            known.map_or_else(|| place.to_string(), |place| place.name.clone())
        }
        Whereabouts::Away(firm) => {
            let known = programme.firms.get(firm);
            let name = known.map_or_else(|| firm.to_string(), |firm| firm.name.clone());
            let due = due.map(|due| format!(", due on {due}")).unwrap_or_default();
            format!("at {name}{due}")
        }
    }
}

fn open_on(programme: &Programme, item: &ItemId) -> Vec<(String, Condition)> {
    let states = &programme.shop.findings.states;
    let open = programme.open_findings().into_iter();
    let on = open.filter(|finding| programme.item_of_finding(finding) == Some(item));
    on.map(|finding| {
        let state = states.get(finding);
        let condition = state.map_or(Condition::Unknown, FindingState::condition);
        (finding.to_string(), condition)
    })
    .collect()
}
