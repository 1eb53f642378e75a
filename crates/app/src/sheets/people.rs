//! People, their authorities, and the rules.

use jiff::civil::Date;
use record::{PersonId, Programme, RuleKey};

use super::{joined, mark, name, none, or_dash};
use crate::{AppError, Sheet};

pub(super) fn people(programme: &Programme, on: Date) -> Sheet {
    let mut sheet = Sheet::new(format!("Authorities on {on}"));
    let rows = programme.shop.authorities.given.iter().map(|(name, given)| {
        let grant = &given.grant;
        let chapters: Vec<String> =
            grant.chapters.iter().map(ToString::to_string).collect();
        let state = match &given.withdrawn {
            Some(taken) => format!("withdrawn {}", taken.at.date()),
            None if given.is_valid(on) => "valid".to_owned(),
            None if grant.from > on => "to come".to_owned(),
            None => "ran out".to_owned(),
        };
        vec![
            grant.person.to_string(),
            grant.power.word().to_owned(),
            if chapters.is_empty() { "all".to_owned() } else { chapters.join(" ") },
            name.to_string(),
            grant.reference.clone(),
            or_dash(grant.until),
            state,
        ]
    });
    let columns =
        ["person", "may", "chapters", "authority", "rests on", "until", "state"];
    let mut rows: Vec<Vec<String>> = rows.collect();
    rows.sort();
    sheet.list("authorities", &columns, rows);
    sheet
}

/// One person: what they may sign, and what lies with them.
pub(super) fn one(
    programme: &Programme,
    person: &str,
    on: Date,
) -> Result<Sheet, AppError> {
    let id: PersonId = name(person)?;
    let known = || programme.people.names().map(ToString::to_string);
    let found =
        programme.people.get(&id).ok_or_else(|| none("person", person, known()))?;
    let mut sheet = Sheet::new(format!("{} ({id}) on {on}", found.name));
    let key = programme.shop.authorities.keys.get(&id);
    let skills = joined(found.skills.iter());
    sheet
        .fact("footing", found.standing.word())
        .fact("skills", skills)
        .fact("secret", key.map_or_else(|| "none".to_owned(), |key| mark(&key.by)));
    let mut given: Vec<Vec<String>> = people(programme, on)
        .lists
        .into_iter()
        .flat_map(|list| list.rows)
        .filter(|row| row[0] == id.as_str())
        .collect();
    for row in &mut given {
        row.remove(0);
    }
    let columns = ["may", "chapters", "authority", "rests on", "until", "state"];
    sheet.list("authorities", &columns, given);
    let cards = programme.shop.cards.cards.iter();
    let at = cards.filter(|(_, card)| card.is_at(&id) && !card.is_finished());
    let at = at.map(|(job, card)| vec![job.to_string(), card.title.clone()]);
    sheet.list("at work on", &["card", "what"], at.collect());
    let out = programme.shop.tools.out().filter(|(_, who, _)| **who == id);
    let out = out.map(|(tool, _, job)| vec![tool.to_string(), job.to_string()]);
    sheet.list("tools out", &["tool", "card"], out.collect());
    Ok(sheet)
}

pub(super) fn rules(programme: &Programme) -> Sheet {
    let mut sheet = Sheet::new("Rules");
    let rows = RuleKey::ALL.iter().map(|key| {
        let rule = programme.rules.get(key);
        vec![
            key.to_string(),
            rule.map_or("kept", |rule| rule.basis.word()).to_owned(),
            or_dash(rule.and_then(|rule| rule.citation.as_ref())),
            key.says().to_owned(),
        ]
    });
    sheet.list("rules", &["rule", "basis", "citation", "says"], rows.collect());
    sheet.caution(
        "A rule is the program's own. What it rests on for this aircraft is what the \
         programme says; nothing else is cited.",
    );
    sheet
}
