//! People.

use crate::check::notes::{At, Notes};
use crate::check::seasons::{day, hours, spans};
use crate::{Person, Programme, Standing};

pub(crate) fn check(programme: &Programme, notes: &mut Notes) {
    for person in programme.people.iter() {
        one(person, notes);
    }
}

fn one(person: &Person, notes: &mut Notes) {
    let Person {
        id,
        name: _,
        standing,
        skills,
        days,
        hours: own,
        away,
        from,
        until,
        authority,
    } = person;
    let at = At::new("person", id, "skills");
    let observes = *standing == Standing::Observer;
    if observes && !(skills.is_empty() && authority.is_empty()) {
        let field = if skills.is_empty() { "authority" } else { "skills" };
        notes
            .error_at(at.field(field), "they are an observer, who does and signs nothing")
            .hint("leave it empty, or give them another standing");
    }
    if skills.is_empty() && !observes {
        notes
            .warning_at(at, "they have no skill, so no job can ask for them")
            .hint("give a skill");
    }
    if days.is_empty() && !observes {
        notes
            .warning_at(at.field("days"), "they come on no day of the week")
            .hint("write `Mon-Fri`");
    }
    if let Some(own) = own {
        let at = at.field("hours");
        if days.is_empty() {
            notes
                .error_at(at, "they have hours and come on no day")
                .hint("give `days` too");
        } else {
            hours(at, own, notes);
        }
    }
    spans(at.field("away"), away, notes);
    for (field, date) in [("from", from), ("until", until)] {
        date.map(|date| day(at.field(field), date, notes));
    }
    for date in authority.iter().filter_map(|authority| authority.until) {
        day(at.field("authority"), date, notes);
    }
    if let (Some(from), Some(until)) = (from, until)
        && until < from
    {
        let what = format!("they leave on {until}, before they come on {from}");
        notes
            .error_at(at.field("until"), what)
            .hint("exchange the two, or mend the year");
    }
}
