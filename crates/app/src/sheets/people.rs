//! People, their authorities, and the rules.

use jiff::civil::Date;
use record::{Programme, RuleKey};

use super::or_dash;
use crate::Sheet;

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
