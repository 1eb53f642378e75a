//! What goes with a part on paper: its tag, and the note with which it is sent away.

use record::Programme;
use record::shop::{Custody, Mark};

use crate::AppError;

/// A paper that goes with a part.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Paper {
    /// The part.
    pub item: String,
    /// What people call it.
    pub name: String,
    /// What it says: what, and how it is.
    pub facts: Vec<(&'static str, String)>,
    /// What somebody should heed who only has the paper.
    pub cautions: Vec<String>,
    /// Who signed it, when, and as which entry.
    pub signed: String,
    /// The entry of a despatch; nothing for a tag.
    pub entry: Option<u64>,
}

/// Whose paper it is: the programme, the aircraft, the keeper, and whether all of it is
/// invented.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Head {
    /// The programme.
    pub programme: String,
    /// The aircraft, with its registration.
    pub aircraft: String,
    /// Who keeps it.
    pub keeper: String,
    /// Nothing of it is real.
    pub invented: bool,
}

/// What heads every paper.
pub fn head(programme: &Programme) -> Head {
    let Some(info) = &programme.info else { return Head::default() };
    let registration = info.registration.as_deref().unwrap_or_default();
    let aircraft = if registration.is_empty() {
        info.aircraft.clone()
    } else {
        format!("{registration}, {}", info.aircraft)
    };
    Head {
        programme: info.name.clone(),
        aircraft,
        keeper: info.keeper.clone().unwrap_or_default(),
        invented: info.invented,
    }
}

fn mark(programme: &Programme, mark: &Mark) -> String {
    let person = programme.people.get(&mark.by);
    let name = person.map_or_else(|| mark.by.to_string(), |person| person.name.clone());
    let at = mark.at.strftime("%Y-%m-%d %H:%M");
    format!("{name} ({}), {at}, entry {}", mark.by, mark.entry)
}

fn unknown(what: String) -> AppError {
    AppError::Unknown(what)
}

/// Part and serial number of an item.
fn numbers(programme: &Programme, item: &str) -> (String, Vec<(&'static str, String)>) {
    let found = programme.items.iter().find(|known| known.id.as_str() == item);
    let Some(found) = found else { return (String::new(), Vec::new()) };
    let not_known = || "not known".to_owned();
    let facts = vec![
        ("part number", found.part_number.clone().unwrap_or_else(not_known)),
        ("serial number", found.serial.clone().unwrap_or_else(not_known)),
    ];
    (found.name.clone(), facts)
}

/// The tag of a part that is off.
///
/// # Errors
/// If it has none.
pub fn tag_paper(programme: &Programme, item: &str) -> Result<Paper, AppError> {
    let parts = programme.shop.parts.parts.iter();
    let mut parts = parts.filter(|(id, _)| id.as_str() == item);
    let found = parts.find_map(|(_, part)| Some((part, part.tag.as_ref()?)));
    let Some((part, (tag, by))) = found else {
        return Err(unknown(format!("there is no tag of {item}: tag it first")));
    };
    let (name, mut facts) = numbers(programme, item);
    facts.push(("class", part.class.word().to_owned()));
    facts.push(("came from", tag.location.clone()));
    let place = programme.places.get(&tag.place);
    let place = place.map_or_else(|| tag.place.to_string(), |place| place.name.clone());
    for (what, text) in [
        ("which way round", tag.orientation.as_ref()),
        ("shims and packing", tag.shims.as_ref()),
        ("service", Some(&tag.service)),
        ("preservation", Some(&tag.preservation)),
        ("defects", Some(&tag.defects)),
        ("exposure", tag.exposure.as_ref()),
        ("put", Some(&place)),
        ("card", tag.job.as_ref().map(|job| &job.0)),
        ("photograph", tag.photograph.as_ref()),
        ("kept from going back", tag.control.as_ref()),
    ] {
        facts.extend(text.map(|text| (what, text.clone())));
    }
    let mut cautions = Vec::new();
    if tag.accident || part.doubtful {
        cautions
            .push("Doubtful history: an engineer accepts it or nobody does.".to_owned());
    }
    if let Some((why, _)) = &part.quarantine {
        cautions.push(format!("In quarantine: {why}"));
    }
    cautions.push(
        "Class and place are as on the day of printing: the record says what holds."
            .to_owned(),
    );
    Ok(Paper {
        item: item.to_owned(),
        name,
        facts,
        cautions,
        signed: mark(programme, by),
        entry: None,
    })
}

/// The note of a despatch: of the entry that is named, or of the last one.
///
/// # Errors
/// If it was never sent, or not by that entry.
pub fn despatch_paper(
    programme: &Programme,
    item: &str,
    entry: Option<u64>,
) -> Result<Paper, AppError> {
    let parts = programme.shop.parts.parts.iter();
    let part = parts.filter(|(id, _)| id.as_str() == item).map(|(_, part)| part).next();
    let sent = part
        .into_iter()
        .flat_map(|part| part.custody.iter().chain(part.sent_before.iter().rev()));
    let is = |custody: &&Custody| entry.is_none_or(|entry| custody.sent.entry == entry);
    let Some(custody) = sent.into_iter().find(is) else {
        let by = entry.map_or_else(String::new, |entry| format!(" by entry {entry}"));
        return Err(unknown(format!("there is no despatch of {item}{by}")));
    };
    let sent = &custody.despatch;
    let (name, mut facts) = numbers(programme, item);
    let firm = programme.firms.get(&sent.firm);
    let firm = firm.map_or_else(|| sent.firm.to_string(), |firm| firm.name.clone());
    for (what, text) in [
        ("to", firm),
        ("order", sent.order.clone()),
        ("to be done", sent.scope.clone()),
        ("comes back with", sent.document.clone()),
        ("due back", custody.due.to_string()),
        ("preservation", sent.preservation.clone()),
        ("carrier", sent.carrier.clone()),
    ] {
        facts.push((what, text));
    }
    let mut cautions = Vec::new();
    if let Some(medium) = sent.dangerous {
        let declared = sent.declaration.as_deref().unwrap_or("none");
        cautions.push(format!(
            "Dangerous goods: {}. Declaration: {declared}. The law on carriage comes first.",
            medium.word()
        ));
    }
    if let Some(back) = &custody.back {
        cautions.push(format!("It came back: {}.", mark(programme, back)));
    }
    cautions.push(
        "Send it back with the document named, part and serial number as here. It waits for a \
         receiving check and is released by no paper of ours."
            .to_owned(),
    );
    Ok(Paper {
        item: item.to_owned(),
        name,
        facts,
        cautions,
        signed: mark(programme, &custody.sent),
        entry: Some(custody.sent.entry),
    })
}
