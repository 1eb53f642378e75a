//! Programmes of every shape that files can hold, whether or not their parts fit together.

use std::sync::Arc;

use airframe::{
    Arrangement, Chapter, CheckRule, CheckScope, CheckTrigger, Connection,
    ConnectionKind, Crew, Gear, Group, Handling, Item, Needs, SupportKind, SupportPoint,
    Way, Weighed, Zone,
};
use jiff::civil::{Date, DateTime, Time, date, time};
use proptest::collection::vec;
use proptest::option::of;
use proptest::prelude::*;
use proptest::sample::select;
use quantity::{
    Currency, Elapsed, Estimate, Id, Kind, Length, Mass, Notation, Typed, Work,
};
use record::act::{EvidenceKind, RecordClass};
use record::{
    Actual, Authority, Basis, Branch, Condition, Conditions, DateSpan, Decision,
    Disposition, DrawnPath, Finding, Firm, Gate, HeatingPeriod, Hold, Info, Job, JobKey,
    Named, Outline, Pack, Performer, Person, Place, Programme, Reach, Register,
    Requirement, Retention, Route, Rule, RuleKey, Season, Shift, Skill, Stand, Standing,
    State, Step, StepKind, TakesOn, Tool, View, Weekday, Weekdays,
};

/// A text as somebody might type it: never blank, without blanks around it.
pub(crate) fn text() -> impl Strategy<Value = String> {
    let wild = "[-#=+@,;\"'|\\\\()\\[\\]{}<>.:/a-zA-Z0-9éßØ中🛩 \t\n]{1,24}";
    let tricky = select(vec![
        "# not a comment",
        "=1+1",
        "\"quoted\"",
        "a,b",
        "a;b",
        "two\nlines",
        "ends in \\",
        "\"\"\"",
        "x until 2031-01-01",
        "sep=;",
        "yes",
        "12",
        "1.0",
        "2031-02-03",
        "[[item]]",
    ]);
    let wild = wild.prop_filter_map("blank", |text| {
        let text = text.trim().to_owned();
        (!text.is_empty()).then_some(text)
    });
    prop_oneof![3 => wild, 1 => tricky.prop_map(str::to_owned)]
}

pub(super) fn id<K: Kind + 'static>() -> impl Strategy<Value = Id<K>> {
    "[A-Za-z0-9é]([A-Za-z0-9._/é-]{0,5}[A-Za-z0-9é])?"
        .prop_map(|name| Id::new(&name).unwrap())
}

fn ids<K: Kind + 'static>() -> impl Strategy<Value = Vec<Id<K>>> {
    vec(id(), 0..4)
}

fn one_of<T: Copy + std::fmt::Debug + 'static>(
    all: &[T],
) -> impl Strategy<Value = T> + use<T> {
    select(all.to_vec())
}

fn mass() -> impl Strategy<Value = Typed<Mass>> {
    select(vec!["12 kg", "3/4 lb", "12 lb 6 oz", "0.50 kg", "1 1/2 lb"])
        .prop_map(|text| Typed::parse(text).unwrap())
}

fn length() -> impl Strategy<Value = Typed<Length>> {
    select(vec!["3/16 in", "1.20 mm", "18 SWG", "-2.2 m", "1 3/8\"", "5'"])
        .prop_map(|text| Typed::parse(text).unwrap())
}

fn estimate<T: Notation + Ord + std::fmt::Debug>(
    of: fn(i64) -> T,
) -> impl Strategy<Value = Estimate<T>> {
    vec(0..20_000_i64, 3).prop_map(move |mut minutes| {
        minutes.sort_unstable();
        Estimate::new(of(minutes[0]), of(minutes[1]), of(minutes[2])).unwrap()
    })
}

fn work() -> impl Strategy<Value = Estimate<Work>> {
    estimate(Work::from_minutes)
}

fn elapsed() -> impl Strategy<Value = Estimate<Elapsed>> {
    estimate(Elapsed::from_minutes)
}

fn crew() -> impl Strategy<Value = Vec<Crew>> {
    let part = (1..=1000_u32, id()).prop_map(|(count, skill)| Crew { count, skill });
    vec(part, 1..4)
}

pub(super) fn day() -> impl Strategy<Value = Date> {
    (1900..2200_i16, 1..=12_i8, 1..=28_i8)
        .prop_map(|(year, month, day)| date(year, month, day))
}

fn span() -> impl Strategy<Value = DateSpan> {
    (day(), day())
        .prop_map(|(one, other)| DateSpan { from: one.min(other), until: one.max(other) })
}

fn clock() -> impl Strategy<Value = Time> {
    (0..24_i8, 0..60_i8).prop_map(|(hour, minute)| time(hour, minute, 0, 0))
}

/// Two times of which the second comes later.
fn stretch() -> impl Strategy<Value = (Time, Time)> {
    (0..1439_i16).prop_flat_map(|from| {
        let at = |minute: i16| time((minute / 60) as i8, (minute % 60) as i8, 0, 0);
        (from + 1..1440).prop_map(move |until| (at(from), at(until)))
    })
}

pub(super) fn moment() -> impl Strategy<Value = DateTime> {
    (day(), clock()).prop_map(|(day, time)| day.to_datetime(time))
}

fn weekdays(least: usize) -> impl Strategy<Value = Weekdays> {
    let week: Vec<Weekday> = Weekday::Monday.cycle_forward().take(7).collect();
    proptest::sample::subsequence(week, least..=7)
        .prop_map(|days| days.into_iter().fold(Weekdays::NONE, Weekdays::with))
}

fn shift() -> impl Strategy<Value = Shift> {
    (weekdays(1), stretch()).prop_map(|(days, (from, until))| Shift { days, from, until })
}

fn needs() -> impl Strategy<Value = Needs> {
    let way = vec(id(), 1..3).prop_map(|items| Way { items });
    let group = vec(way, 1..3).prop_map(|ways| Group { ways });
    vec(group, 0..3).prop_map(|groups| Needs { groups })
}

pub(super) fn chapter() -> impl Strategy<Value = Chapter> {
    select(Chapter::all().collect::<Vec<_>>())
}

fn handling() -> impl Strategy<Value = Handling> {
    (crew(), work(), ids()).prop_map(|(crew, hours, gear)| Handling { crew, hours, gear })
}

fn item() -> impl Strategy<Value = Item> {
    let who = (id(), text(), of(id()), of(id()), of(id()), of(chapter()));
    let what =
        (of(text()), of(text()), of(text()), of(mass()), of(length()), of(length()));
    let ways =
        (needs(), needs(), of(text()), of((handling(), handling())), of(id()), ids());
    (who, what, ways, any::<(bool, bool)>()).prop_map(
        |(who, what, ways, (vital, off))| {
            let (id, name, part_of, mounted_on, zone, chapter) = who;
            let (part_number, serial, material, mass, arm, side) = what;
            let (behind, held_by, fixed, handling, stand, refit_after) = ways;
            let (removal, refit) = handling.unzip();
            Item {
                id,
                name,
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
            }
        },
    )
}

fn arrangement() -> impl Strategy<Value = Arrangement> {
    let point =
        (
            text(),
            one_of(&SupportKind::ALL),
            length(),
            length(),
            of(mass()),
            any::<bool>(),
        )
            .prop_map(|(name, kind, arm, side, capacity, when_needed)| {
                SupportPoint { name, kind, arm, side, capacity, when_needed }
            });
    (id(), text(), vec(point, 1..4)).prop_map(|(id, name, points)| Arrangement {
        id,
        name,
        points,
    })
}

fn rule() -> impl Strategy<Value = CheckRule> {
    let trigger = (
        vec(one_of(&ConnectionKind::ALL), 0..3),
        any::<bool>(),
        vec(chapter(), 0..3),
        ids(),
    )
        .prop_map(|(connections, vital, chapters, items)| CheckTrigger {
            connections,
            vital,
            chapters,
            items,
        });
    let rest =
        (one_of(&CheckScope::ALL), any::<bool>(), crew(), work(), ids(), of(text()));
    (id(), text(), trigger, rest).prop_map(|(id, name, trigger, rest)| {
        let (scope, independent, crew, hours, after, source) = rest;
        CheckRule { id, name, trigger, scope, independent, crew, hours, after, source }
    })
}

fn person() -> impl Strategy<Value = Person> {
    let authority = (text(), of(text()), of(day()))
        .prop_map(|(scope, reference, until)| Authority { scope, reference, until });
    let who = (id(), text(), one_of(&Standing::ALL), ids(), weekdays(0));
    let when = (of((shift(), any::<bool>())), vec(span(), 0..3), of(day()), of(day()));
    (who, when, vec(authority, 0..3)).prop_map(|(who, when, authority)| {
        let (id, name, standing, skills, days) = who;
        let (hours, away, from, until) = when;
        let hours =
            hours.map(|(own, same)| if same { Shift { days, ..own } } else { own });
        Person { id, name, standing, skills, days, hours, away, from, until, authority }
    })
}

fn firm() -> impl Strategy<Value = Firm> {
    let what = (id(), text(), text(), weekdays(0));
    let how = (
        elapsed(),
        of(any::<u32>()),
        vec(span(), 0..3),
        one_of(&[TakesOn::Away, TakesOn::Here]),
    );
    (what, how).prop_map(
        |((id, name, does, collects), (turnaround, at_once, closed, takes_on))| Firm {
            id,
            name,
            does,
            collects,
            turnaround,
            at_once,
            closed,
            takes_on,
        },
    )
}

fn performer() -> impl Strategy<Value = Performer> {
    let crewed = (crew(), work(), vec((crew(), work()), 0..3), any::<bool>()).prop_map(
        |(crew, hours, or, unbroken)| Performer::Crew { crew, hours, or, unbroken },
    );
    let firm = (id(), of(elapsed()))
        .prop_map(|(firm, turnaround)| Performer::Firm { firm, turnaround });
    let nobody = elapsed().prop_map(|takes| Performer::Nobody { takes });
    prop_oneof![crewed, firm, nobody]
}

fn conditions() -> impl Strategy<Value = Conditions> {
    any::<(bool, bool)>().prop_map(|(warm, dry)| Conditions { warm, dry })
}

fn hold() -> impl Strategy<Value = Option<Hold>> {
    let time = || of((0..100_000_i64).prop_map(Elapsed::from_minutes));
    (time(), time()).prop_map(|(at_least, at_most)| {
        (at_least.is_some() || at_most.is_some()).then_some(Hold { at_least, at_most })
    })
}

fn step() -> impl Strategy<Value = Step> {
    let branch = (0.0..=1.0_f64, id()).prop_map(|(chance, then)| Branch { chance, then });
    let what = (id(), text(), one_of(&StepKind::ALL), performer(), of(id()), of(id()));
    (what, conditions(), of(ids()), hold(), of(branch)).prop_map(
        |(what, conditions, after, hold, branch)| {
            let (id, name, kind, by, place, stand) = what;
            Step { id, name, kind, by, place, stand, conditions, after, hold, branch }
        },
    )
}

fn route() -> impl Strategy<Value = Route> {
    (id(), text(), one_of(&Reach::ALL), vec(step(), 1..4))
        .prop_map(|(id, name, reach, steps)| Route { id, name, reach, steps })
}

fn season() -> impl Strategy<Value = Season> {
    let heating =
        (span(), of(stretch())).prop_map(|(days, hours)| HeatingPeriod { days, hours });
    let what = (id(), text(), day(), day(), id(), vec(shift(), 0..3));
    let when = (vec(span(), 0..3), vec(heating, 0..3), vec(span(), 0..3), of(id()));
    (what, when).prop_map(|(what, (closed, heating, wet, arrangement))| {
        let (id, name, from, until, gate, shifts) = what;
        Season { id, name, from, until, gate, shifts, closed, heating, wet, arrangement }
    })
}

fn pack() -> impl Strategy<Value = Pack> {
    (id(), text(), of(id()), of(id()), ids(), ids()).prop_map(
        |(id, name, season, gate, off, exposed)| Pack {
            id,
            name,
            season,
            gate,
            off,
            exposed,
        },
    )
}

fn finding() -> impl Strategy<Value = Finding> {
    let disposition = (one_of(&Decision::ALL), of(id()), of(id()), of(id()), of(text()))
        .prop_map(|(decision, route, allows, by, basis)| Disposition {
            decision,
            route,
            allows,
            by,
            basis,
        });
    let what = (id(), id(), of(id()), text(), of(text()), one_of(&Condition::ALL));
    let rest = (of(day()), of(id()), of(text()), of(disposition), of(id()));
    (what, rest).prop_map(|(what, (found, by, photograph, disposition, pack))| {
        let (id, item, zone, what, measured, condition) = what;
        Finding {
            id,
            item,
            zone,
            what,
            measured,
            condition,
            found,
            by,
            photograph,
            disposition,
            pack,
        }
    })
}

fn key() -> impl Strategy<Value = JobKey> {
    "(OFF:|ON:|CHECK:A:|F-1:)?[A-Z0-9]{1,5}".prop_map(JobKey)
}

fn job() -> impl Strategy<Value = Job> {
    let what = (id(), text(), id(), of(id()), one_of(&Reach::ALL), performer());
    let rest = (of(id()), of(id()), conditions(), vec(key(), 0..3), hold());
    (what, rest).prop_map(|(what, (place, stand, conditions, after, hold))| {
        let (id, name, pack, item, reach, by) = what;
        Job { id, name, pack, item, reach, by, place, stand, conditions, after, hold }
    })
}

fn actual() -> impl Strategy<Value = Actual> {
    let started = (moment(), 0..10_000_i64)
        .prop_map(|(at, left)| State::Started { at, left: Work::from_minutes(left) });
    let done = (moment(), moment()).prop_map(|(from, until)| State::Done { from, until });
    (key(), prop_oneof![started, done]).prop_map(|(job, state)| Actual { job, state })
}

fn tool() -> impl Strategy<Value = Tool> {
    (id(), text(), any::<bool>(), of(text()))
        .prop_map(|(id, name, measures, range)| Tool { id, name, measures, range })
}

fn requirement() -> impl Strategy<Value = Requirement> {
    let kind = of(one_of(&EvidenceKind::ALL));
    (id(), id(), text(), kind, of(key()), of(id()), of(text())).prop_map(
        |(id, gate, what, kind, job, fitted, citation)| Requirement {
            id,
            gate,
            what,
            kind,
            job,
            fitted,
            citation,
        },
    )
}

fn profile() -> impl Strategy<Value = Rule> {
    (one_of(&RuleKey::ALL), one_of(&Basis::ALL), of(text()), of(text()))
        .prop_map(|(id, basis, citation, note)| Rule { id, basis, citation, note })
}

fn retention() -> impl Strategy<Value = Retention> {
    (one_of(&RecordClass::ALL), of(any::<u32>()), of(text()), of(text()))
        .prop_map(|(id, years, citation, note)| Retention { id, years, citation, note })
}

/// Any text that stands for a path: letters with as many numbers as they take.
fn path() -> impl Strategy<Value = DrawnPath> {
    let number = select(vec!["0", "1", "-2.5", "+3", ".25", "1200"]);
    let stroke =
        (select(vec!["M", "l", "H", "v", "C", "s", "Q", "t", "A", "z"]), vec(number, 7));
    let written = |(letter, numbers): (&str, Vec<&str>)| {
        let numbers = match letter {
            "z" => String::new(),
            "A" => format!("3 2.5 {} 0 1 4 {}", numbers[0], numbers[1]),
            "C" => numbers[..6].join(","),
            "s" | "Q" => numbers[..4].join(" "),
            "H" | "v" => numbers[0].to_owned(),
            _ => numbers[..2].join(" "),
        };
        format!("{letter}{numbers}")
    };
    vec(stroke.prop_map(written), 0..6).prop_map(|strokes| {
        DrawnPath::parse(&format!("m0-1 {}", strokes.join(" "))).unwrap()
    })
}

fn outline() -> impl Strategy<Value = Outline> {
    (id(), one_of(&View::ALL), of(id()), path(), of(any::<u32>()))
        .prop_map(|(id, view, zone, path, order)| Outline { id, view, zone, path, order })
}

fn info() -> impl Strategy<Value = Info> {
    let weighed = (mass(), length()).prop_map(|(mass, arm)| Weighed { mass, arm });
    let currency = select(vec![Currency::GBP, Currency::EUR, Currency::USD]);
    let names = (text(), text(), of(text()), of(text()), of(text()));
    (names, currency, any::<bool>(), of(weighed)).prop_map(
        |(names, currency, invented, weighed)| {
            let (name, aircraft, registration, keeper, datum) = names;
            Info {
                name,
                aircraft,
                registration,
                keeper,
                datum,
                currency,
                invented,
                weighed,
            }
        },
    )
}

fn register<T: Named + std::fmt::Debug>(
    thing: impl Strategy<Value = T>,
) -> impl Strategy<Value = Register<T>> {
    vec(thing, 0..4).prop_map(|things| things.into_iter().collect())
}

fn workshop() -> impl Strategy<Value = Programme> {
    let gate = (id(), text(), any::<u32>()).prop_map(|(id, name, order)| Gate {
        id,
        name,
        order,
    });
    let skill = (id(), text()).prop_map(|(id, name)| Skill { id, name });
    let stand = (id(), text(), any::<u32>()).prop_map(|(id, name, count)| Stand {
        id,
        name,
        count,
    });
    let place = (id(), text(), any::<u32>(), any::<(bool, bool)>()).prop_map(
        |(id, name, room, (heated, dry))| Place { id, name, room, heated, dry },
    );
    let gear = (id(), text(), any::<u32>(), of(mass()))
        .prop_map(|(id, name, count, limit)| Gear { id, name, count, limit });
    let lists = (
        register(gate),
        register(skill),
        register(stand),
        register(place),
        register(gear),
    );
    (lists, register(person()), register(firm())).prop_map(|(lists, people, firms)| {
        let (gates, skills, stands, places, gear) = lists;
        Programme {
            gates,
            skills,
            stands,
            places,
            gear,
            people,
            firms,
            ..Programme::default()
        }
    })
}

/// A programme in which nothing needs to fit.
pub(crate) fn programme() -> impl Strategy<Value = Programme> {
    let zone =
        (id(), text(), of(id())).prop_map(|(id, name, within)| Zone { id, name, within });
    let connection = (id(), text(), one_of(&ConnectionKind::ALL), id(), of(id()))
        .prop_map(|(id, name, kind, from, to)| Connection { id, name, kind, from, to });
    let aircraft = (
        register(zone),
        register(arrangement()),
        register(item()),
        register(connection),
        register(rule()),
    );
    let plans = (register(route()), register(season()), register(pack()));
    let done = (register(finding()), register(job()), register(actual()));
    let assured = (
        register(tool()),
        register(requirement()),
        register(profile()),
        register(retention()),
        register(outline()),
    );
    (info(), workshop(), aircraft, plans, done, assured).prop_map(
        |(info, workshop, aircraft, plans, done, assured)| {
            let (zones, arrangements, items, connections, checks) = aircraft;
            let (routes, seasons, packs) = plans;
            let (findings, jobs, actuals) = done;
            let (tools, requirements, rules, retention, outlines) = assured;
            Programme {
                info: Some(Arc::new(info)),
                zones,
                arrangements,
                items,
                connections,
                checks,
                routes,
                seasons,
                packs,
                findings,
                jobs,
                actuals,
                tools,
                requirements,
                rules,
                retention,
                outlines,
                ..workshop
            }
        },
    )
}
