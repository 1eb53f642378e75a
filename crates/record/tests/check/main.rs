//! One sound programme, and every way to spoil it: each spoils one thing and must give the
//! note that says so, and no other.

#![expect(clippy::unwrap_used, reason = "a helper of a test fails as the test does")]
#![expect(clippy::too_many_lines, reason = "a test holds a table of cases")]

mod assurance;
mod builders;

use crate::builders::*;
use airframe::{CheckRule, CheckScope, Zone};
use jiff::civil::{date, datetime, time};
use quantity::{Elapsed, Work};
use record::{
    Branch, Change, Command, Condition, Decision, Finding, Gate, Job, JobKey, Performer,
    Person, Programme, Reach, Register, Route, Season, Shift, Skill, Stand, Standing,
    State, StepKind, Weekday, Weekdays, decide, difference,
};

#[test]
fn a_sound_programme_gives_no_notes() {
    assert_eq!(sound().check(), []);
}

#[test]
fn names() {
    expect(&[
        ("error: programme: it does not say what it is about", |p| p.info = None),
        ("error: zone hull, id: it differs from the zone HULL in capitals alone", |p| {
            add(
                &mut p.zones,
                Zone { id: id("hull"), name: "Other".into(), within: None },
            );
        }),
        ("error: gate XRAY, order: it has the same place in the order as TAXI: 2", |p| {
            add(&mut p.gates, Gate { id: id("XRAY"), name: "X".into(), order: 2 });
        }),
        ("error: finding OFF, id: a finding cannot be called OFF", |p| {
            add(&mut p.findings, Finding { id: id("OFF"), ..finding() });
        }),
        ("error: skill inspector, name: it is blank", |p| {
            add(&mut p.skills, Skill { id: id("inspector"), name: String::new() });
        }),
        ("error: step FIX:look, name: it begins or ends with a blank", |p| {
            edit_step(p, 0, |step| step.name = " look".into());
        }),
        ("error: finding F1, what: it holds the control character \\u{7}", |p| {
            edit(&mut p.findings, |finding| finding.what = "a\u{7}b".into());
        }),
        ("error: person edith, authority: it is blank", |p| {
            edit(&mut p.people, |person| person.authority[0].scope = String::new());
        }),
    ]);
}

#[test]
fn names_that_do_not_exist() {
    expect(&[
        ("error: season W31, gate: there is no gate TAXY (is TAXI meant?)", |p| {
            edit(&mut p.seasons, |season| season.gate = id("TAXY"));
        }),
        (
            "error: season W31, arrangement: there is no arrangement WHEELS (define it, or take it out of arrangement)",
            |p| {
                edit(&mut p.seasons, |season| season.arrangement = Some(id("WHEELS")));
            },
        ),
        ("error: person edith, skills: there is no skill riger", |p| {
            edit(&mut p.people, |person| person.skills.push(id("riger")));
        }),
        ("error: pack WP1, season: there is no season W32 (is W31 meant?)", |p| {
            edit(&mut p.packs, |pack| pack.season = Some(id("W32")));
        }),
        ("error: pack WP1, gate: there is no gate FLY", |p| {
            edit(&mut p.packs, |pack| pack.gate = Some(id("FLY")));
        }),
        ("error: pack WP1, off: there is no item PANELS (is PANEL meant?)", |p| {
            edit(&mut p.packs, |pack| pack.off = vec![id("PANELS")]);
        }),
        ("error: pack WP1, exposed: there is no item X", |p| {
            edit(&mut p.packs, |pack| pack.exposed = vec![id("X")]);
        }),
        ("warning: pack WP1, exposed: BASE is named twice", |p| {
            edit(&mut p.packs, |pack| pack.exposed.push(id("BASE")));
        }),
        ("error: finding F1, item: there is no item PANLE (is PANEL meant?)", |p| {
            edit(&mut p.findings, |finding| finding.item = id("PANLE"));
        }),
        ("error: finding F1, zone: there is no zone HUL", |p| {
            edit(&mut p.findings, |finding| finding.zone = Some(id("HUL")));
        }),
        ("error: finding F1, by: there is no person edit", |p| {
            edit(&mut p.findings, |finding| finding.by = Some(id("edit")));
        }),
        ("error: finding F1, pack: there is no pack WP2", |p| {
            edit(&mut p.findings, |finding| finding.pack = Some(id("WP2")));
        }),
        ("error: finding F1, route: there is no route FIXX (is FIX meant?)", |p| {
            decided(p, |d| d.route = Some(id("FIXX")));
        }),
        ("error: finding F1, allows: there is no gate RUNN", |p| {
            decided(p, |d| d.allows = Some(id("RUNN")));
        }),
        ("error: finding F1, decided_by: there is no person bob", |p| {
            decided(p, |d| d.by = Some(id("bob")));
        }),
        ("error: step FIX:look, place: there is no place BOOTH", |p| {
            edit_step(p, 0, |step| step.place = Some(id("BOOTH")));
        }),
        ("error: step FIX:look, stand: there is no stand RAK", |p| {
            edit_step(p, 0, |step| step.stand = Some(id("RAK")));
        }),
        (
            "error: step FIX:plate, firm: there is no firm PLATTER (is PLATER meant?)",
            |p| {
                edit_step(p, 1, |step| {
                    step.by = Performer::Firm { firm: id("PLATTER"), turnaround: None }
                });
            },
        ),
        (
            "error: step FIX:cure, after: there is no step lok in this route (is look meant?)",
            |p| {
                edit_step(p, 2, |step| step.after = Some(vec![id("lok")]));
            },
        ),
        ("error: job J1, pack: there is no pack WP9", |p| {
            edit(&mut p.jobs, |job| job.pack = id("WP9"));
        }),
        ("error: job J1, place: there is no place B", |p| {
            edit(&mut p.jobs, |job| job.place = Some(id("B")));
        }),
        ("error: job J1, stand: there is no stand B", |p| {
            edit(&mut p.jobs, |job| job.stand = Some(id("B")));
        }),
        ("error: job J1, item: there is no item PAN", |p| {
            edit(&mut p.jobs, |job| job.item = Some(id("PAN")));
        }),
        // The airframe's own notes are among them.
        ("error: connection ROD, to: there is no item LEVR", |p| {
            edit(&mut p.connections, |connection| connection.to = Some(id("LEVR")));
        }),
    ]);
}

#[test]
fn a_crew_of_a_skill_that_does_not_exist() {
    let mut programme = sound();
    edit_step(&mut programme, 0, |step| step.by = by_crew(1, "fiter", "1 h"));
    let notes: Vec<String> = programme.check().iter().map(shown).collect();
    assert_eq!(
        notes,
        [
            "error: step FIX:look, crew: there is no skill fiter (is fitter meant?)",
            "warning: step FIX:look, crew: it takes 1 of the skill fiter, and nobody has it \
             (lessen the crew, give another way to crew it, or add people)",
        ]
    );
}

#[test]
fn a_branch_to_a_route_that_does_not_exist() {
    // The job's `F1:again` is a step of that route, and goes with it.
    let mut programme = sound();
    edit_step(&mut programme, 0, |step| {
        step.branch = Some(Branch { chance: 0.1, then: id("REWRK") });
    });
    let notes: Vec<String> = programme.check().iter().map(shown).collect();
    assert_eq!(
        notes,
        [
            "error: job J1, after: there is no step again in the route FIX \
             (define it, or take it out of after)",
            "error: step FIX:look, then: there is no route REWRK (is REWORK meant?)",
        ]
    );
}

fn after(programme: &mut Programme, key: &str) {
    edit(&mut programme.jobs, |job| job.after = vec![JobKey(key.into())]);
}

#[test]
fn names_of_jobs() {
    expect(&[
        ("error: job J1, after: there is no job J2 (is J1 meant?)", |p| after(p, "J2")),
        (
            "error: job J1, after: there is no job F1 (the jobs of a finding are called F1:step)",
            |p| {
                after(p, "F1");
            },
        ),
        ("error: job J1, after: there is no item PANL (is PANEL meant?)", |p| {
            after(p, "OFF:PANL");
        }),
        ("error: job J1, after: BASE never comes off: it is the structure", |p| {
            after(p, "ON:BASE");
        }),
        ("error: job J1, after: there is no check SENS (is SENSE meant?)", |p| {
            after(p, "CHECK:SENS:ROD");
        }),
        ("error: job J1, after: there is no connection PANEL", |p| {
            after(p, "CHECK:SENSE:PANEL");
        }),
        ("error: job J1, after: there is no item ROD", |p| after(p, "CHECK:UNIT:ROD")),
        (
            "error: job J1, after: the check SENSE is done for each connection, and none is named",
            |p| {
                after(p, "CHECK:SENSE");
            },
        ),
        ("error: job J1, after: there is no finding F2 (is F1 meant?)", |p| {
            after(p, "F2:look");
        }),
        ("error: job J1, after: there is no finding Off (is OFF meant?)", |p| {
            after(p, "Off:PANEL");
        }),
        (
            "error: job J1, after: there is no step lok in the route FIX (is look meant?)",
            |p| {
                after(p, "F1:lok");
            },
        ),
        ("error: job J1, after: A:B:C is not the name of a job", |p| after(p, "A:B:C")),
        ("error: job J1, after: there is no job  (define it", |p| after(p, "")),
        ("error: actual J7, job: there is no job J7", |p| {
            edit(&mut p.actuals, |actual| actual.job = JobKey("J7".into()));
        }),
        ("error: actual F2:x, job: the finding F2 has no route, and so no jobs", |p| {
            add(
                &mut p.findings,
                Finding { id: id("F2"), disposition: None, ..finding() },
            );
            edit(&mut p.actuals, |actual| actual.job = JobKey("F2:x".into()));
        }),
    ]);
}

#[test]
fn rings() {
    expect(&[
        (
            "error: step REWORK:again, then: a failure in it leads back to it: REWORK > REWORK",
            |p| {
                let mut route = p.routes.get(&id("REWORK")).unwrap().clone();
                route.steps[0].kind = StepKind::Inspect;
                route.steps[0].branch = Some(Branch { chance: 0.1, then: id("REWORK") });
                add(&mut p.routes, route);
            },
        ),
        (
            "error: job J1, after: each of these jobs comes after the next in a ring: J1 > J2 > J1",
            |p| {
                after(p, "J2");
                add(
                    &mut p.jobs,
                    Job { id: id("J2"), after: vec![JobKey("J1".into())], ..job() },
                );
            },
        ),
        (
            "error: job J1, after: each of these jobs comes after the next in a ring: J1 > J1",
            |p| {
                after(p, "J1");
            },
        ),
        // The second step follows the first although nobody says so.
        (
            "error: step FIX:look, after: each of these steps comes after the next in a ring: look > plate > look",
            |p| {
                edit_step(p, 0, |step| step.after = Some(vec![id("plate")]));
            },
        ),
    ]);
}

#[test]
fn seasons() {
    expect(&[
        (
            "error: season W31, until: it ends on 2031-04-30, before it starts on 2031-10-06",
            |p| {
                edit(&mut p.seasons, |season| {
                    season.until = date(2031, 4, 30);
                    season.closed.clear();
                });
            },
        ),
        ("error: season W31, from: 1031-10-06 is no day of this programme's time", |p| {
            edit(&mut p.seasons, |season| season.from = date(1031, 10, 6));
        }),
        (
            "error: season W32, from: it begins on 2032-04-30, before W31 ends on 2032-04-30",
            |p| {
                let (from, until) = (date(2032, 4, 30), date(2032, 10, 6));
                add(
                    &mut p.seasons,
                    Season { id: id("W32"), from, until, closed: vec![], ..season() },
                );
            },
        ),
        ("error: season W31, shifts: it has no shifts", |p| {
            edit(&mut p.seasons, |season| season.shifts.clear());
        }),
        (
            "error: season W31, shifts: it ends at 07:00, and that is not after its start at 08:00",
            |p| {
                edit(&mut p.seasons, |season| season.shifts[0].until = time(7, 0, 0, 0));
            },
        ),
        ("error: season W31, shifts: the time 16:00:30 has seconds", |p| {
            edit(&mut p.seasons, |season| season.shifts[0].until = time(16, 0, 30, 0));
        }),
        ("error: season W31, shifts: hours are given for no day of the week", |p| {
            edit(&mut p.seasons, |season| {
                season.shifts.push(Shift { days: Weekdays::NONE, ..season.shifts[0] });
            });
        }),
        (
            "error: season W31, shifts: the shift Fri 15:00-18:00 overlaps the shift Mon-Fri 08:00-16:00",
            |p| {
                edit(&mut p.seasons, |season| {
                    season.shifts.push(Shift {
                        days: Weekdays::NONE.with(Weekday::Friday),
                        from: time(15, 0, 0, 0),
                        until: time(18, 0, 0, 0),
                    });
                });
            },
        ),
        (
            "error: season W31, closed: 2032-01-04..2031-12-20 ends before it starts (write 2031-12-20..2032-01-04)",
            |p| {
                edit(&mut p.seasons, |season| {
                    season.closed = vec![span(date(2032, 1, 4), date(2031, 12, 20))];
                });
            },
        ),
        ("error: season W31, wet: 2031-11-11..2031-11-10 ends before it starts", |p| {
            edit(&mut p.seasons, |season| {
                season.wet = vec![span(date(2031, 11, 11), date(2031, 11, 10))];
            });
        }),
        (
            "error: season W31, heating: 2031-11-11..2031-11-10 ends before it starts",
            |p| {
                edit(&mut p.seasons, |season| {
                    season.heating[0].days = span(date(2031, 11, 11), date(2031, 11, 10));
                });
            },
        ),
        (
            "error: season W31, heating: it ends at 07:00, and that is not after its start at 07:00",
            |p| {
                edit(&mut p.seasons, |season| {
                    season.heating[0].hours = Some((time(7, 0, 0, 0), time(7, 0, 0, 0)));
                });
            },
        ),
        (
            "warning: season W31, closed: 2030-12-20..2031-01-04 lies outside the season",
            |p| {
                edit(&mut p.seasons, |season| {
                    season.closed = vec![span(date(2030, 12, 20), date(2031, 1, 4))];
                });
            },
        ),
        ("warning: season W31, until: the gate date 2032-04-30 lies in a closure", |p| {
            edit(&mut p.seasons, |season| {
                season.closed.push(span(date(2032, 4, 29), date(2032, 5, 1)));
            });
        }),
        (
            "warning: season W31, until: the season has 1303 days (is the year right?)",
            |p| {
                edit(&mut p.seasons, |season| season.until = date(2035, 5, 1));
            },
        ),
        ("error: season W31, closed: nobody works on any day of the season", |p| {
            edit(&mut p.seasons, |season| {
                season.closed = vec![span(date(2031, 10, 6), date(2032, 4, 29))];
                season.shifts[0].days = Weekdays::NONE.with(Weekday::Saturday);
            });
        }),
    ]);
}

#[test]
fn people() {
    expect(&[
        ("warning: person tim, skills: they have no skill", |p| {
            add(&mut p.people, Person { id: id("tim"), skills: vec![], ..person() });
        }),
        ("error: person edith, skills: they are an observer", |p| {
            edit(&mut p.people, |person| person.standing = Standing::Observer);
        }),
        ("error: person tim, authority: they are an observer", |p| {
            let standing = Standing::Observer;
            let skills = vec![];
            add(&mut p.people, Person { id: id("tim"), standing, skills, ..person() });
        }),
        ("warning: person edith, days: they come on no day of the week", |p| {
            edit(&mut p.people, |person| {
                person.days = Weekdays::NONE;
                person.hours = None;
            });
        }),
        (
            "error: person edith, hours: it ends at 09:00, and that is not after its start at 09:00",
            |p| {
                edit(&mut p.people, |person| {
                    person.hours.as_mut().unwrap().until = time(9, 0, 0, 0);
                });
            },
        ),
        ("error: person edith, hours: hours are given for no day of the week", |p| {
            edit(&mut p.people, |person| {
                person.hours.as_mut().unwrap().days = Weekdays::NONE;
            });
        }),
        (
            "error: person edith, away: 2031-12-02..2031-12-01 ends before it starts",
            |p| {
                edit(&mut p.people, |person| {
                    person.away = vec![span(date(2031, 12, 2), date(2031, 12, 1))];
                });
            },
        ),
        (
            "error: person edith, until: they leave on 2031-09-01, before they come on 2031-10-01",
            |p| {
                edit(&mut p.people, |person| person.until = Some(date(2031, 9, 1)));
            },
        ),
        ("error: person edith, from: 0031-10-01 is no day", |p| {
            edit(&mut p.people, |person| person.from = Some(date(31, 10, 1)));
        }),
        ("error: person edith, authority: 9031-10-01 is no day", |p| {
            edit(&mut p.people, |person| {
                person.authority[0].until = Some(date(9031, 10, 1));
            });
        }),
    ]);
}

#[test]
fn hours_without_days_are_told_beside_the_days() {
    let mut programme = sound();
    edit(&mut programme.people, |person| person.days = Weekdays::NONE);
    let notes: Vec<String> = programme.check().iter().map(ToString::to_string).collect();
    assert_eq!(
        notes,
        [
            "person edith, hours: they have hours and come on no day",
            "person edith, days: they come on no day of the week",
        ]
    );
}

#[test]
fn findings() {
    expect(&[
        (
            "error: finding F1, allows: its condition is unknown, and unknown is never clear",
            |p| {
                edit(&mut p.findings, |finding| finding.condition = Condition::Unknown);
            },
        ),
        (
            "error: finding F1, decision: it is accepted, and nobody can tell yet how bad it is",
            |p| {
                edit(&mut p.findings, |finding| finding.condition = Condition::Unknown);
                edit(&mut p.jobs, |job| job.after.clear());
                decided(p, |d| {
                    (d.decision, d.allows, d.route) = (Decision::Accept, None, None);
                });
            },
        ),
        (
            "warning: finding F1, decision: it is accepted although it endangers the aircraft",
            |p| {
                edit(&mut p.findings, |finding| finding.condition = Condition::Hazard);
                edit(&mut p.jobs, |job| job.after.clear());
                decided(p, |d| (d.decision, d.route) = (Decision::Accept, None));
            },
        ),
        (
            "error: finding F1, route: it is accepted as it is, and yet FIX is to be done",
            |p| {
                decided(p, |d| d.decision = Decision::Accept);
            },
        ),
        (
            "warning: finding F1, decision: to repair it takes work, and no route says which",
            |p| {
                edit(&mut p.jobs, |job| job.after.clear());
                decided(p, |d| d.route = None);
            },
        ),
        (
            "error: finding F1, route: FIX needs BASE off, and it never comes off: it is the structure",
            |p| {
                edit(&mut p.findings, |finding| finding.item = id("BASE"));
            },
        ),
        ("error: finding F1, found: 0203-01-01 is no day", |p| {
            edit(&mut p.findings, |finding| finding.found = Some(date(203, 1, 1)));
        }),
    ]);
}

fn step_by(p: &mut Programme, by: Performer) {
    edit_step(p, 0, |step| step.by = by);
}

#[test]
fn work() {
    expect(&[
        ("error: route EMPTY, step: it has no steps", |p| {
            add(
                &mut p.routes,
                Route {
                    id: id("EMPTY"),
                    name: "E".into(),
                    reach: Reach::Off,
                    steps: vec![],
                },
            );
        }),
        ("error: step FIX:plate, id: two steps of the route are called plate", |p| {
            edit_step(p, 2, |step| step.id = id("plate"));
            edit_step(p, 2, |step| step.after = Some(vec![id("look")]));
        }),
        ("error: step FIX:look, fails: a chance of 1.5 is not between 0 and 1", |p| {
            edit_step(p, 0, |step| step.branch.as_mut().unwrap().chance = 1.5);
        }),
        ("error: step FIX:look, fails: a chance of NaN is not between 0 and 1", |p| {
            edit_step(p, 0, |step| step.branch.as_mut().unwrap().chance = f64::NAN);
        }),
        ("warning: step FIX:look, fails: it can fail, and its kind is repair", |p| {
            edit_step(p, 0, |step| step.kind = StepKind::Repair);
        }),
        ("error: step FIX:look, crew: nobody is given to do it", |p| {
            step_by(
                p,
                Performer::Crew {
                    crew: vec![],
                    hours: hours("1 h"),
                    or: vec![],
                    unbroken: false,
                },
            );
        }),
        ("error: step FIX:look, crew: 0 of fitter cannot be", |p| {
            step_by(p, by_crew(0, "fitter", "1 h"));
        }),
        (
            "warning: step FIX:look, crew: it takes 2 of the skill fitter, and one person has it",
            |p| {
                step_by(p, by_crew(2, "fitter", "1 h"));
            },
        ),
        ("warning: step FIX:look, hours: it takes no time at all", |p| {
            step_by(p, by_crew(1, "fitter", "0 h"));
        }),
        ("warning: step FIX:look, hours: 2001 h is more than 2000 h for one job", |p| {
            step_by(p, by_crew(1, "fitter", "2001 h"));
        }),
        ("error: step FIX:look, hours: -1 h is less than nothing", |p| {
            step_by(p, by_crew(1, "fitter", "-1 h / 1 h / 2 h"));
        }),
        ("error: step FIX:look, takes: -1 h is less than nothing", |p| {
            step_by(p, Performer::Nobody { takes: elapsed("-1 h / 1 h / 2 h") });
        }),
        ("warning: step FIX:look, turnaround: 1001 days is more than 1000 days", |p| {
            step_by(
                p,
                Performer::Firm {
                    firm: id("PLATER"),
                    turnaround: Some(elapsed("1001 days")),
                },
            );
        }),
        (
            "warning: item LEVER, off_crew: it takes 3 of the skill fitter, and one person has it",
            |p| {
                let mut lever = p.items.get(&id("LEVER")).unwrap().clone();
                lever.removal.as_mut().unwrap().crew = crew(3, "fitter");
                add(&mut p.items, lever);
            },
        ),
        (
            "warning: check SENSE, crew: it takes 3 of the skill inspector, and one person has it",
            |p| {
                add(
                    &mut p.checks,
                    CheckRule {
                        crew: crew(3, "inspector"),
                        ..rule("SENSE", CheckScope::Connection)
                    },
                );
            },
        ),
        (
            "error: step FIX:cure, hold_at_most: at most 30 min is less than at least 1 h",
            |p| {
                edit_step(p, 2, |step| {
                    step.hold.as_mut().unwrap().at_most = Some(Elapsed::from_minutes(30));
                });
            },
        ),
        ("error: step FIX:cure, hold_at_least: -1 h is less than nothing", |p| {
            edit_step(p, 2, |step| {
                step.hold.as_mut().unwrap().at_least = Some(Elapsed::from_minutes(-60));
            });
        }),
        ("error: job J1, reach: it is to be exposed and no item is named", |p| {
            edit(&mut p.jobs, |job| job.item = None);
        }),
        (
            "error: job J1, reach: it needs BASE off, which never comes off: it is the structure",
            |p| {
                edit(&mut p.jobs, |job| {
                    (job.item, job.reach) = (Some(id("BASE")), Reach::Off);
                });
            },
        ),
        ("error: pack WP1, off: BASE never comes off: it is the structure", |p| {
            edit(&mut p.packs, |pack| pack.off = vec![id("BASE")]);
        }),
        (
            "error: actual ON:PANEL, finished: it was finished at 2031-10-05T10:00:00, before it was started at 2031-10-06T08:00:00",
            |p| {
                let (from, until) = (
                    datetime(2031, 10, 6, 8, 0, 0, 0),
                    datetime(2031, 10, 5, 10, 0, 0, 0),
                );
                edit(&mut p.actuals, |actual| actual.state = State::Done { from, until });
            },
        ),
        ("error: actual ON:PANEL, left: -1 h is less than nothing", |p| {
            let (at, left) = (datetime(2031, 10, 6, 8, 0, 0, 0), Work::from_minutes(-60));
            edit(&mut p.actuals, |actual| actual.state = State::Started { at, left });
        }),
    ]);
}

#[test]
fn another_way_to_crew_a_job_is_enough() {
    let mut programme = sound();
    let or = vec![(crew(1, "fitter"), hours("9 h"))];
    step_by(
        &mut programme,
        Performer::Crew {
            crew: crew(5, "fitter"),
            hours: hours("2 h"),
            or,
            unbroken: true,
        },
    );
    assert_eq!(programme.check(), []);
}

#[test]
fn figures() {
    expect(&[
        ("warning: stand RACK, count: there is none of it", |p| {
            edit(&mut p.stands, |stand| stand.count = 0);
        }),
        ("error: stand RACK, count: 10001 is more than 10000", |p| {
            edit(&mut p.stands, |stand| stand.count = 10_001);
        }),
        ("error: place BENCH, room: it has no room for any job", |p| {
            edit(&mut p.places, |place| place.room = 0);
        }),
        ("error: place BENCH, room: 20000 is more than 10000", |p| {
            edit(&mut p.places, |place| place.room = 20_000);
        }),
        ("error: firm PLATER, at_once: it takes nothing in at once", |p| {
            edit(&mut p.firms, |firm| firm.at_once = Some(0));
        }),
        ("error: firm PLATER, turnaround: -1 h is less than nothing", |p| {
            edit(&mut p.firms, |firm| firm.turnaround = elapsed("-1 h / 0 h / 1 h"));
        }),
        (
            "error: firm PLATER, closed: 2032-01-03..2031-12-22 ends before it starts",
            |p| {
                edit(&mut p.firms, |firm| {
                    firm.closed = vec![span(date(2032, 1, 3), date(2031, 12, 22))];
                });
            },
        ),
    ]);
}

#[test]
fn a_command_is_all_or_nothing() {
    let before = sound();
    let mut wanted = sound();
    add(&mut wanted.zones, Zone { id: id("WING"), name: "Wing".into(), within: None });
    edit(&mut wanted.stands, |stand| stand.count = 5);
    wanted.jobs.apply(&Change::Retire(id("J1")));
    let entries = decide(&before, &Command::Restate(Box::new(wanted.clone()))).unwrap();
    let seen: Vec<_> = difference(&before, &entries)
        .into_iter()
        .map(|d| (d.noun, d.added, d.changed, d.retired))
        .collect();
    let names = |name: &str| vec![name.to_owned()];
    assert_eq!(
        seen,
        [
            ("zone", names("WING"), vec![], vec![]),
            ("stand", vec![], names("RACK"), vec![]),
            ("job", vec![], vec![], names("J1")),
        ]
    );

    wanted.seasons.apply(&Change::Retire(id("W31")));
    let notes = decide(&before, &Command::Restate(Box::new(wanted))).unwrap_err();
    assert_eq!(notes.len(), 1);
    assert_eq!(notes[0].to_string(), "pack WP1, season: there is no season W31");
    assert_eq!(decide(&before, &Command::Restate(Box::new(before.clone()))), Ok(vec![]));
}

mod changes {
    use proptest::prelude::*;
    use record::Entry;

    use super::*;

    fn zones() -> impl Strategy<Value = Register<Zone>> {
        let zone = ("[A-F]", "[a-c]").prop_map(|(name, text)| Zone {
            id: id(&name),
            name: text,
            within: None,
        });
        prop::collection::vec(zone, 0..8).prop_map(|zones| zones.into_iter().collect())
    }

    fn stands() -> impl Strategy<Value = Register<Stand>> {
        let stand = ("[A-F]", 0..3_u32).prop_map(|(name, count)| Stand {
            id: id(&name),
            name,
            count,
        });
        prop::collection::vec(stand, 0..8).prop_map(|stands| stands.into_iter().collect())
    }

    fn programme() -> impl Strategy<Value = Programme> {
        (zones(), stands(), prop::bool::ANY).prop_map(|(zones, stands, jobs)| {
            let mut programme = Programme { zones, stands, ..sound() };
            if jobs {
                programme.jobs = Register::default();
            }
            programme
        })
    }

    proptest! {
        /// The changes from one programme to another, folded into the first, give the second;
        /// each is needed, and each is told once.
        #[test]
        fn lead_from_one_programme_to_another(one in programme(), other in programme()) {
            let entries = one.changes_to(&other);
            let mut after = one.clone();
            for entry in &entries {
                after.apply(entry);
            }
            prop_assert_eq!(&after, &other);
            prop_assert_eq!(after.changes_to(&other), vec![]);
            for skipped in 0..entries.len() {
                let mut without = one.clone();
                for (_, entry) in entries.iter().enumerate().filter(|(at, _)| *at != skipped) {
                    without.apply(entry);
                }
                prop_assert_ne!(&without, &other);
            }
            let told: usize = difference(&one, &entries)
                .iter()
                .map(|d| d.added.len() + d.changed.len() + d.retired.len())
                .sum();
            prop_assert_eq!(told, entries.len());
            let retired = entries.iter().filter(|entry| entry.about().2).count();
            let gone = |entry: &&Entry| one.has(entry) && !other.has(entry);
            prop_assert_eq!(retired, entries.iter().filter(gone).count());
        }
    }
}
