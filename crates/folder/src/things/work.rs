//! What is wrong, and the work that puts it right.

use record::{
    Actual, Branch, Conditions, Disposition, Finding, Hold, Job, Pack, Performer, Reach,
    Route, State, Step,
};

use crate::fields::{ACTUAL, FINDING, JOB, Kind, Out, PACK, ROUTE, Record, STEP};
use crate::notation::{Chance, Team, Way};
use crate::taker::{Giver, Taker};
use crate::things::Thing;

const PERFORMER: &str = "a job is done by a crew (`crew` and `hours`), or by a firm (`firm`), or \
                         takes its time by itself (`takes`)";

impl Thing for Route {
    const KIND: &'static Kind = &ROUTE;

    fn read(row: &mut Taker<'_>) -> Option<Self> {
        let (id, name, reach) = (row.need("id"), row.need("name"), row.need("reach"));
        let steps = row.rows("step", read_step);
        Some(Self { id: id?, name: name?, reach: reach?, steps })
    }

    fn write(&self) -> Record {
        let Self { id, name, reach, steps } = self;
        Giver::new(&ROUTE)
            .put("id", id)
            .put("name", name)
            .put("reach", reach)
            .out("step", Out::Rows(steps.iter().map(write_step).collect()))
            .done()
    }
}

fn read_step(row: &mut Taker<'_>) -> Option<Step> {
    let (id, name, kind) = (row.need("id"), row.need("name"), row.need("kind"));
    let by = performer(row);
    let (place, stand, conditions) =
        (row.maybe("place"), row.maybe("stand"), conditions(row));
    let (after, hold) = (row.maybe_list("after"), hold(row));
    row.only_with("fails", "then");
    row.only_with("then", "fails");
    let branch = match (row.maybe("fails"), row.maybe("then")) {
        (Some(Chance(chance)), Some(then)) => Some(Branch { chance, then }),
        _ => None,
    };
    Some(Step {
        id: id?,
        name: name?,
        kind: kind?,
        by: by?,
        place,
        stand,
        conditions,
        after,
        hold,
        branch,
    })
}

fn write_step(step: &Step) -> Record {
    let Step { id, name, kind, by, place, stand, conditions, after, hold, branch } = step;
    let giver = Giver::new(&STEP).put("id", id).put("name", name).put("kind", kind);
    let giver = performed(giver, by)
        .maybe("place", place.as_ref())
        .maybe("stand", stand.as_ref())
        .flag("warm", conditions.warm)
        .flag("dry", conditions.dry);
    let giver = match after {
        Some(after) => giver.whole_list("after", after),
        None => giver,
    };
    held(giver, hold.as_ref())
        .maybe("fails", branch.as_ref().map(|branch| Chance(branch.chance)).as_ref())
        .maybe("then", branch.as_ref().map(|branch| &branch.then))
        .done()
}

/// Who does a job: exactly one of the three ways to say it.
fn performer(row: &mut Taker<'_>) -> Option<Performer> {
    let crewed = row.has("crew") || row.has("hours");
    let given =
        [("hours", crewed), ("firm", row.has("firm")), ("takes", row.has("takes"))];
    let ways: Vec<&str> =
        given.iter().filter(|(_, given)| *given).map(|(f, _)| *f).collect();
    match ways.as_slice() {
        [_one] => {}
        [] if ["crew", "firm", "takes"].iter().any(|f| row.gap_known(f)) => row.spoil(),
        [] => row.fault("", "it does not say who does it", PERFORMER),
        [_, second, ..] => {
            let what =
                format!("it says in two ways who does it: `{second}` is one too many");
            row.fault(second, what, PERFORMER);
        }
    }
    row.only_with("crew", "hours");
    row.only_with("hours", "crew");
    for extra in ["or", "unbroken"] {
        if !crewed {
            row.only_with(extra, "crew");
        }
    }
    row.only_with("turnaround", "firm");
    let (crew, hours) = (row.maybe::<Team>("crew"), row.maybe("hours"));
    let or =
        row.list::<Way>("or").into_iter().map(|Way(crew, hours)| (crew, hours)).collect();
    let unbroken = row.flag("unbroken");
    let (firm, turnaround) = (row.maybe("firm"), row.maybe("turnaround"));
    let takes = row.maybe("takes");
    match (crew, hours, firm, takes) {
        (Some(Team(crew)), Some(hours), ..) => {
            Some(Performer::Crew { crew, hours, or, unbroken })
        }
        (_, _, Some(firm), _) => Some(Performer::Firm { firm, turnaround }),
        (_, _, _, Some(takes)) => Some(Performer::Nobody { takes }),
        _ => None,
    }
}

fn performed(giver: Giver, by: &Performer) -> Giver {
    match by {
        Performer::Crew { crew, hours, or, unbroken } => {
            let ways: Vec<Way> =
                or.iter().map(|(crew, hours)| Way(crew.clone(), *hours)).collect();
            giver
                .put("crew", &Team(crew.clone()))
                .put("hours", hours)
                .list("or", &ways)
                .flag("unbroken", *unbroken)
        }
        Performer::Firm { firm, turnaround } => {
            giver.put("firm", firm).maybe("turnaround", turnaround.as_ref())
        }
        Performer::Nobody { takes } => giver.put("takes", takes),
    }
}

fn conditions(row: &mut Taker<'_>) -> Conditions {
    Conditions { warm: row.flag("warm"), dry: row.flag("dry") }
}

fn hold(row: &mut Taker<'_>) -> Option<Hold> {
    let (at_least, at_most) = (row.maybe("hold_at_least"), row.maybe("hold_at_most"));
    (at_least.is_some() || at_most.is_some()).then_some(Hold { at_least, at_most })
}

fn held(giver: Giver, hold: Option<&Hold>) -> Giver {
    giver
        .maybe("hold_at_least", hold.and_then(|hold| hold.at_least.as_ref()))
        .maybe("hold_at_most", hold.and_then(|hold| hold.at_most.as_ref()))
}

impl Thing for Pack {
    const KIND: &'static Kind = &PACK;

    fn read(row: &mut Taker<'_>) -> Option<Self> {
        let (id, name) = (row.need("id"), row.need("name"));
        let (season, gate) = (row.maybe("season"), row.maybe("gate"));
        let (off, exposed) = (row.list("off"), row.list("exposed"));
        Some(Self { id: id?, name: name?, season, gate, off, exposed })
    }

    fn write(&self) -> Record {
        let Self { id, name, season, gate, off, exposed } = self;
        Giver::new(&PACK)
            .put("id", id)
            .put("name", name)
            .maybe("season", season.as_ref())
            .maybe("gate", gate.as_ref())
            .list("off", off)
            .list("exposed", exposed)
            .done()
    }
}

impl Thing for Finding {
    const KIND: &'static Kind = &FINDING;

    fn read(row: &mut Taker<'_>) -> Option<Self> {
        let (id, item, zone) = (row.need("id"), row.need("item"), row.maybe("zone"));
        let (what, measured) = (row.need("what"), row.maybe("measured"));
        let condition = row.need("condition");
        let (found, by) = (row.maybe("found"), row.maybe("by"));
        let photograph = row.maybe("photograph");
        for field in ["route", "allows", "decided_by", "basis"] {
            row.only_with(field, "decision");
        }
        let (route, allows) = (row.maybe("route"), row.maybe("allows"));
        let (decided_by, basis) = (row.maybe("decided_by"), row.maybe("basis"));
        let disposition = row.maybe("decision").map(|decision| Disposition {
            decision,
            route,
            allows,
            by: decided_by,
            basis,
        });
        let pack = row.maybe("pack");
        Some(Self {
            id: id?,
            item: item?,
            zone,
            what: what?,
            measured,
            condition: condition?,
            found,
            by,
            photograph,
            disposition,
            pack,
        })
    }

    fn write(&self) -> Record {
        let Self { id, item, zone, what, measured, condition, .. } = self;
        let Self { found, by, photograph, disposition, pack, .. } = self;
        let decided = disposition.as_ref();
        Giver::new(&FINDING)
            .put("id", id)
            .put("item", item)
            .maybe("zone", zone.as_ref())
            .put("what", what)
            .maybe("measured", measured.as_ref())
            .put("condition", condition)
            .maybe("found", found.as_ref())
            .maybe("by", by.as_ref())
            .maybe("photograph", photograph.as_ref())
            .maybe("decision", decided.map(|decided| &decided.decision))
            .maybe("route", decided.and_then(|decided| decided.route.as_ref()))
            .maybe("allows", decided.and_then(|decided| decided.allows.as_ref()))
            .maybe("decided_by", decided.and_then(|decided| decided.by.as_ref()))
            .maybe("basis", decided.and_then(|decided| decided.basis.as_ref()))
            .maybe("pack", pack.as_ref())
            .done()
    }
}

impl Thing for Job {
    const KIND: &'static Kind = &JOB;

    fn read(row: &mut Taker<'_>) -> Option<Self> {
        let (id, name, pack) = (row.need("id"), row.need("name"), row.need("pack"));
        let (item, reach) =
            (row.maybe("item"), row.maybe("reach").unwrap_or(Reach::AsItIs));
        let by = performer(row);
        let (place, stand, conditions) =
            (row.maybe("place"), row.maybe("stand"), conditions(row));
        let (after, hold) = (row.list("after"), hold(row));
        Some(Self {
            id: id?,
            name: name?,
            pack: pack?,
            item,
            reach,
            by: by?,
            place,
            stand,
            conditions,
            after,
            hold,
        })
    }

    fn write(&self) -> Record {
        let Self { id, name, pack, item, reach, by, .. } = self;
        let Self { place, stand, conditions, after, hold, .. } = self;
        let giver = Giver::new(&JOB)
            .put("id", id)
            .put("name", name)
            .put("pack", pack)
            .maybe("item", item.as_ref())
            .maybe("reach", Some(reach).filter(|reach| **reach != Reach::AsItIs));
        let giver = performed(giver, by)
            .maybe("place", place.as_ref())
            .maybe("stand", stand.as_ref())
            .flag("warm", conditions.warm)
            .flag("dry", conditions.dry)
            .list("after", after);
        held(giver, hold.as_ref()).done()
    }
}

impl Thing for Actual {
    const KIND: &'static Kind = &ACTUAL;

    fn read(row: &mut Taker<'_>) -> Option<Self> {
        const HINT: &str = "give `finished` when it is done, or `left` while it is not";
        let (job, started) = (row.need("job"), row.need("started"));
        let known = row.gap_known("finished") && row.gap_known("left");
        match (row.has("finished"), row.has("left")) {
            (true, true) => {
                row.fault("left", "it is finished and yet something is left", HINT);
            }
            (false, false) if known => row.spoil(),
            (false, false) => row.fault(
                "",
                "it says neither when it was finished nor what is left",
                HINT,
            ),
            _ => {}
        }
        let state = match (row.maybe("finished"), row.maybe("left")) {
            (Some(until), _) => started.map(|from| State::Done { from, until }),
            (None, Some(left)) => started.map(|at| State::Started { at, left }),
            (None, None) => None,
        };
        Some(Self { job: job?, state: state? })
    }

    fn write(&self) -> Record {
        let giver = Giver::new(&ACTUAL).put("job", &self.job);
        match &self.state {
            State::Started { at, left } => {
                giver.put("started", at).put("left", left).done()
            }
            State::Done { from, until } => {
                giver.put("started", from).put("finished", until).done()
            }
        }
    }
}
