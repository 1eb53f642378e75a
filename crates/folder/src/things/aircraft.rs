//! The aircraft.

use airframe::{
    Arrangement, CheckRule, CheckTrigger, Connection, Handling, Item, Needs,
    SupportPoint, Zone,
};

use record::Outline;

use crate::fields::{
    ARRANGEMENT, CHECK, CONNECTION, ITEM, Kind, OUTLINE, Out, POINT, Record, ZONE,
};
use crate::notation::Team;
use crate::taker::{Giver, Taker};
use crate::things::Thing;

impl Thing for Zone {
    const KIND: &'static Kind = &ZONE;

    fn read(row: &mut Taker<'_>) -> Option<Self> {
        let (id, name, within) = (row.need("id"), row.need("name"), row.maybe("within"));
        Some(Self { id: id?, name: name?, within })
    }

    fn write(&self) -> Record {
        let Self { id, name, within } = self;
        Giver::new(&ZONE)
            .put("id", id)
            .put("name", name)
            .maybe("within", within.as_ref())
            .done()
    }
}

impl Thing for Outline {
    const KIND: &'static Kind = &OUTLINE;

    fn read(row: &mut Taker<'_>) -> Option<Self> {
        let (id, view, zone) = (row.need("id"), row.need("view"), row.maybe("zone"));
        let (path, order) = (row.need("path"), row.maybe("order"));
        Some(Self { id: id?, view: view?, zone, path: path?, order })
    }

    fn write(&self) -> Record {
        let Self { id, view, zone, path, order } = self;
        Giver::new(&OUTLINE)
            .put("id", id)
            .put("view", view)
            .maybe("zone", zone.as_ref())
            .put("path", path)
            .maybe("order", order.as_ref())
            .done()
    }
}

impl Thing for Arrangement {
    const KIND: &'static Kind = &ARRANGEMENT;

    fn read(row: &mut Taker<'_>) -> Option<Self> {
        let (id, name) = (row.need("id"), row.need("name"));
        let points = row.rows("point", read_point);
        Some(Self { id: id?, name: name?, points })
    }

    fn write(&self) -> Record {
        let Self { id, name, points } = self;
        Giver::new(&ARRANGEMENT)
            .put("id", id)
            .put("name", name)
            .out("point", Out::Rows(points.iter().map(write_point).collect()))
            .done()
    }
}

fn read_point(row: &mut Taker<'_>) -> Option<SupportPoint> {
    let (name, kind) = (row.need("name"), row.need("kind"));
    let (arm, side) = (row.need("arm"), row.need("side"));
    let (capacity, when_needed) = (row.maybe("capacity"), row.flag("when_needed"));
    Some(SupportPoint {
        name: name?,
        kind: kind?,
        arm: arm?,
        side: side?,
        capacity,
        when_needed,
    })
}

fn write_point(point: &SupportPoint) -> Record {
    let SupportPoint { name, kind, arm, side, capacity, when_needed } = point;
    Giver::new(&POINT)
        .put("name", name)
        .put("kind", kind)
        .put("arm", arm)
        .put("side", side)
        .maybe("capacity", capacity.as_ref())
        .flag("when_needed", *when_needed)
        .done()
}

impl Thing for Item {
    const KIND: &'static Kind = &ITEM;

    fn read(row: &mut Taker<'_>) -> Option<Self> {
        let (id, name) = (row.need("id"), row.need("name"));
        let (part_of, mounted_on) = (row.maybe("part_of"), row.maybe("mounted_on"));
        let (zone, chapter) = (row.maybe("zone"), row.maybe("chapter"));
        let (part_number, serial) = (row.maybe("part_number"), row.maybe("serial"));
        let (material, mass) = (row.maybe("material"), row.maybe("mass"));
        let (arm, side) = (row.maybe("arm"), row.maybe("side"));
        let behind = row.maybe("behind").unwrap_or(Needs::NONE);
        let held_by = row.maybe("held_by").unwrap_or(Needs::NONE);
        let fixed = row.maybe("fixed");
        let removal = handling(row, ["off_crew", "off_hours", "off_gear"]);
        let refit = handling(row, ["on_crew", "on_hours", "on_gear"]);
        both_ways(row);
        let (stand, refit_after) = (row.maybe("stand"), row.list("refit_after"));
        let (vital, off) = (row.flag("vital"), row.flag("off"));
        Some(Self {
            id: id?,
            name: name?,
            part_of,
            zone,
            chapter,
            part_number,
            serial,
            material,
            mass,
            arm,
            side,
            mounted_on,
            behind,
            held_by,
            fixed,
            removal,
            refit,
            stand,
            refit_after,
            vital,
            off,
        })
    }

    fn write(&self) -> Record {
        let Self {
            id, name, part_of, zone, chapter, part_number, serial, material, ..
        } = self;
        let Self { mass, arm, side, mounted_on, behind, held_by, fixed, removal, .. } =
            self;
        let Self { refit, stand, refit_after, vital, off, .. } = self;
        let giver = Giver::new(&ITEM)
            .put("id", id)
            .put("name", name)
            .maybe("part_of", part_of.as_ref())
            .maybe("mounted_on", mounted_on.as_ref())
            .maybe("zone", zone.as_ref())
            .maybe("chapter", chapter.as_ref())
            .maybe("part_number", part_number.as_ref())
            .maybe("serial", serial.as_ref())
            .maybe("material", material.as_ref())
            .maybe("mass", mass.as_ref())
            .maybe("arm", arm.as_ref())
            .maybe("side", side.as_ref())
            .maybe("behind", Some(behind).filter(|needs| !needs.is_none()))
            .maybe("held_by", Some(held_by).filter(|needs| !needs.is_none()))
            .maybe("fixed", fixed.as_ref());
        let giver =
            handled(giver, removal.as_ref(), ["off_crew", "off_hours", "off_gear"]);
        handled(giver, refit.as_ref(), ["on_crew", "on_hours", "on_gear"])
            .maybe("stand", stand.as_ref())
            .list("refit_after", refit_after)
            .flag("vital", *vital)
            .flag("off", *off)
            .done()
    }
}

/// Crew and hours are both given or neither is; gear only with them.
fn handling(row: &mut Taker<'_>, fields: [&'static str; 3]) -> Option<Handling> {
    let [crew, hours, gear] = fields;
    row.only_with(crew, hours);
    row.only_with(hours, crew);
    if !row.has(hours) {
        row.only_with(gear, crew);
    }
    let (team, time, tackle) =
        (row.maybe::<Team>(crew), row.maybe(hours), row.list(gear));
    Some(Handling { crew: team?.0, hours: time?, gear: tackle })
}

/// What can come off must be put back.
fn both_ways(row: &mut Taker<'_>) {
    let (off, on) = (row.has("off_crew"), row.has("on_crew"));
    let known = row.gap_known("off_crew") || row.gap_known("on_crew");
    if known || row.has("off_hours") != off || row.has("on_hours") != on {
        return;
    }
    match (off, on) {
        (true, false) => row.fault(
            "off_crew",
            "it says what it takes to take the item off, and not what it takes to put it back",
            "give `on_crew` and `on_hours` too",
        ),
        (false, true) => row.fault(
            "on_crew",
            "it says what it takes to put the item back, and not what it takes to take it off",
            "give `off_crew` and `off_hours` too",
        ),
        _ => {}
    }
}

fn handled(
    giver: Giver,
    handling: Option<&Handling>,
    fields: [&'static str; 3],
) -> Giver {
    let Some(Handling { crew, hours, gear }) = handling else { return giver };
    giver.put(fields[0], &Team(crew.clone())).put(fields[1], hours).list(fields[2], gear)
}

impl Thing for Connection {
    const KIND: &'static Kind = &CONNECTION;

    fn read(row: &mut Taker<'_>) -> Option<Self> {
        let (id, name, kind) = (row.need("id"), row.need("name"), row.need("kind"));
        let (from, to) = (row.need("from"), row.maybe("to"));
        Some(Self { id: id?, name: name?, kind: kind?, from: from?, to })
    }

    fn write(&self) -> Record {
        let Self { id, name, kind, from, to } = self;
        Giver::new(&CONNECTION)
            .put("id", id)
            .put("name", name)
            .put("kind", kind)
            .put("from", from)
            .maybe("to", to.as_ref())
            .done()
    }
}

impl Thing for CheckRule {
    const KIND: &'static Kind = &CHECK;

    fn read(row: &mut Taker<'_>) -> Option<Self> {
        let (id, name) = (row.need("id"), row.need("name"));
        let trigger = CheckTrigger {
            connections: row.list("connections"),
            vital: row.flag("vital"),
            chapters: row.list("chapters"),
            items: row.list("items"),
        };
        let (scope, independent) = (row.need("scope"), row.flag("independent"));
        let (crew, hours) = (row.need::<Team>("crew"), row.need("hours"));
        let (after, source) = (row.list("after"), row.maybe("source"));
        Some(Self {
            id: id?,
            name: name?,
            trigger,
            scope: scope?,
            independent,
            crew: crew?.0,
            hours: hours?,
            after,
            source,
        })
    }

    fn write(&self) -> Record {
        let Self { id, name, trigger, scope, independent, crew, hours, after, source } =
            self;
        let CheckTrigger { connections, vital, chapters, items } = trigger;
        Giver::new(&CHECK)
            .put("id", id)
            .put("name", name)
            .list("connections", connections)
            .flag("vital", *vital)
            .list("chapters", chapters)
            .list("items", items)
            .put("scope", scope)
            .flag("independent", *independent)
            .put("crew", &Team(crew.clone()))
            .put("hours", hours)
            .list("after", after)
            .maybe("source", source.as_ref())
            .done()
    }
}
