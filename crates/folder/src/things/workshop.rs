//! Who and what there is to work with.

use airframe::Gear;
use record::{Firm, Person, Place, Shift, Skill, Stand, Weekdays};

use crate::fields::{FIRM, GEAR, Kind, PERSON, PLACE, Record, SKILL, STAND};
use crate::notation::OwnHours;
use crate::taker::{Giver, Taker};
use crate::things::Thing;

impl Thing for Skill {
    const KIND: &'static Kind = &SKILL;

    fn read(row: &mut Taker<'_>) -> Option<Self> {
        let (id, name) = (row.need("id"), row.need("name"));
        Some(Self { id: id?, name: name? })
    }

    fn write(&self) -> Record {
        let Self { id, name } = self;
        Giver::new(&SKILL).put("id", id).put("name", name).done()
    }
}

impl Thing for Stand {
    const KIND: &'static Kind = &STAND;

    fn read(row: &mut Taker<'_>) -> Option<Self> {
        let (id, name, count) = (row.need("id"), row.need("name"), row.need("count"));
        Some(Self { id: id?, name: name?, count: count? })
    }

    fn write(&self) -> Record {
        let Self { id, name, count } = self;
        Giver::new(&STAND).put("id", id).put("name", name).put("count", count).done()
    }
}

impl Thing for Place {
    const KIND: &'static Kind = &PLACE;

    fn read(row: &mut Taker<'_>) -> Option<Self> {
        let (id, name, room) = (row.need("id"), row.need("name"), row.need("room"));
        let (heated, dry) = (row.flag("heated"), row.flag("dry"));
        Some(Self { id: id?, name: name?, room: room?, heated, dry })
    }

    fn write(&self) -> Record {
        let Self { id, name, room, heated, dry } = self;
        Giver::new(&PLACE)
            .put("id", id)
            .put("name", name)
            .put("room", room)
            .flag("heated", *heated)
            .flag("dry", *dry)
            .done()
    }
}

impl Thing for Gear {
    const KIND: &'static Kind = &GEAR;

    fn read(row: &mut Taker<'_>) -> Option<Self> {
        let (id, name, count) = (row.need("id"), row.need("name"), row.need("count"));
        let limit = row.maybe("limit");
        Some(Self { id: id?, name: name?, count: count?, limit })
    }

    fn write(&self) -> Record {
        let Self { id, name, count, limit } = self;
        Giver::new(&GEAR)
            .put("id", id)
            .put("name", name)
            .put("count", count)
            .maybe("limit", limit.as_ref())
            .done()
    }
}

impl Thing for Person {
    const KIND: &'static Kind = &PERSON;

    fn read(row: &mut Taker<'_>) -> Option<Self> {
        let (id, name, standing) =
            (row.need("id"), row.need("name"), row.need("standing"));
        let skills = row.list("skills");
        let days = row.maybe("days").unwrap_or(Weekdays::NONE);
        let hours = row.maybe::<OwnHours>("hours").map(|own| Shift {
            days: own.days.unwrap_or(days),
            from: own.from,
            until: own.until,
        });
        let away = row.list("away");
        let (from, until) = (row.maybe("from"), row.maybe("until"));
        let authority = row.list("authority");
        Some(Self {
            id: id?,
            name: name?,
            standing: standing?,
            skills,
            days,
            hours,
            away,
            from,
            until,
            authority,
        })
    }

    fn write(&self) -> Record {
        let Self {
            id,
            name,
            standing,
            skills,
            days,
            hours,
            away,
            from,
            until,
            authority,
        } = self;
        let own = hours.map(|shift| OwnHours {
            days: (shift.days != *days).then_some(shift.days),
            from: shift.from,
            until: shift.until,
        });
        Giver::new(&PERSON)
            .put("id", id)
            .put("name", name)
            .put("standing", standing)
            .list("skills", skills)
            .maybe("days", Some(days).filter(|days| !days.is_empty()))
            .maybe("hours", own.as_ref())
            .list("away", away)
            .maybe("from", from.as_ref())
            .maybe("until", until.as_ref())
            .list("authority", authority)
            .done()
    }
}

impl Thing for Firm {
    const KIND: &'static Kind = &FIRM;

    fn read(row: &mut Taker<'_>) -> Option<Self> {
        let (id, name, does) = (row.need("id"), row.need("name"), row.need("does"));
        let collects = row.maybe("collects").unwrap_or(Weekdays::NONE);
        let turnaround = row.need("turnaround");
        let (at_once, closed) = (row.maybe("at_once"), row.list("closed"));
        let takes_on = row.need("takes_on");
        Some(Self {
            id: id?,
            name: name?,
            does: does?,
            collects,
            turnaround: turnaround?,
            at_once,
            closed,
            takes_on: takes_on?,
        })
    }

    fn write(&self) -> Record {
        let Self { id, name, does, collects, turnaround, at_once, closed, takes_on } =
            self;
        Giver::new(&FIRM)
            .put("id", id)
            .put("name", name)
            .put("does", does)
            .maybe("collects", Some(collects).filter(|days| !days.is_empty()))
            .put("turnaround", turnaround)
            .maybe("at_once", at_once.as_ref())
            .list("closed", closed)
            .put("takes_on", takes_on)
            .done()
    }
}
