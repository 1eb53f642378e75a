//! The calendars and resources of an invented workshop, in quarter hours.

use rand::RngExt;
use rand_pcg::Pcg64Mcg;
use timetable::{Calendar, CalendarId, Profile, Resource, ResourceId, Tick, Window};

pub(crate) const HOUR: Tick = 4;
pub(crate) const DAY: Tick = 24 * HOUR;

pub(crate) const DAYSHIFT: CalendarId = CalendarId(0);
/// The day shift with evenings and Saturday mornings, at a price.
pub(crate) const OVERTIME: CalendarId = CalendarId(1);
pub(crate) const VOLUNTEER_HOURS: CalendarId = CalendarId(2);
pub(crate) const COLLECTION: CalendarId = CalendarId(3);
pub(crate) const WARM: CalendarId = CalendarId(4);

pub(crate) const FITTERS: ResourceId = ResourceId(0);
pub(crate) const SHEET: ResourceId = ResourceId(1);
pub(crate) const ELECTRIC: ResourceId = ResourceId(2);
pub(crate) const PAINT: ResourceId = ResourceId(3);
pub(crate) const INSPECT: ResourceId = ResourceId(4);
pub(crate) const VOLUNTEERS: ResourceId = ResourceId(5);
pub(crate) const BAYS: ResourceId = ResourceId(6);
pub(crate) const BOOTH: ResourceId = ResourceId(7);
pub(crate) const RACKS: ResourceId = ResourceId(8);
pub(crate) const CRADLES: ResourceId = ResourceId(9);
pub(crate) const TRESTLES: ResourceId = ResourceId(10);
pub(crate) const ENGINE_STANDS: ResourceId = ResourceId(11);
pub(crate) const PLATERS: ResourceId = ResourceId(12);
pub(crate) const MACHINISTS: ResourceId = ResourceId(13);

pub(crate) struct Workshop {
    pub(crate) calendars: Vec<Calendar>,
    pub(crate) resources: Vec<Resource>,
}

/// A workshop for so many tasks, for so long.
pub(crate) fn workshop(rng: &mut Pcg64Mcg, count: usize, length: Tick) -> Workshop {
    let days = length / DAY;
    let first = rng.random_range(0..7);
    let shut = holidays(rng, days);
    let open = |name: &str, hours: &[(Tick, Tick, &[Tick])], closes: bool| {
        let mut windows = Vec::new();
        for day in (0..days).filter(|day| !closes || !shut.contains(day)) {
            for (from, until, on) in hours {
                if on.contains(&((first + day) % 7)) {
                    let (from, until) = (day * DAY + from, day * DAY + until);
                    windows.push(Window { from, until });
                }
            }
        }
        Calendar::new(name, windows).expect("hours come in order")
    };
    let (week, all): (&[Tick], &[Tick]) = (&[0, 1, 2, 3, 4], &[0, 1, 2, 3, 4, 5, 6]);
    let (h, half) = (HOUR, HOUR / 2);
    let calendars = vec![
        open(
            "day shift",
            &[(8 * h, 12 * h, week), (12 * h + half, 16 * h + half, week)],
            true,
        ),
        open(
            "overtime",
            &[(8 * h, 12 * h, &[0, 1, 2, 3, 4, 5]), (12 * h + half, 19 * h, week)],
            true,
        ),
        open("volunteers", &[(9 * h, 16 * h, &[5]), (18 * h, 21 * h, &[2])], true),
        open("collection", &[(9 * h, 11 * h, &[1, 3])], true),
        open("warm hours", &[(10 * h, 18 * h, all)], false),
    ];
    Workshop { calendars, resources: resources(rng, count, days) }
}

/// Single days and one week in which the workshop is shut.
fn holidays(rng: &mut Pcg64Mcg, days: Tick) -> Vec<Tick> {
    let week = rng.random_range(20..60);
    let mut shut: Vec<Tick> = (week..week + 5).collect();
    shut.extend((0..days / 40).map(|_| rng.random_range(0..days)));
    shut
}

fn resources(rng: &mut Pcg64Mcg, count: usize, days: Tick) -> Vec<Resource> {
    let scale = count as u32;
    let mut resources = Vec::new();
    let mut add = |name: &str, least: u32, per: u32, changes: bool| {
        let level = least + scale / per;
        let capacity = if changes {
            attendance(rng, (least, level), days)
        } else {
            Profile::constant(level)
        };
        resources.push(Resource { name: name.to_owned(), capacity });
    };
    add("fitters", 3, 130, true);
    add("sheet-metal workers", 2, 170, true);
    add("electricians", 2, 400, true);
    add("painters", 1, 500, true);
    add("inspectors", 1, 400, true);
    add("volunteers", 2, 250, true);
    add("bays", 3, 120, false);
    add("booth", 1, 700, false);
    add("racks", 4, 100, false);
    add("cradles", 1, 350, false);
    add("trestles", 2, 250, false);
    add("engine stands", 1, 300, false);
    add("plating shop", 1, 400, false);
    add("machine shop", 1, 400, false);
    resources
}

/// A pool of people, of whom some come and go; never fewer than the least.
fn attendance(rng: &mut Pcg64Mcg, (least, usual): (u32, u32), days: Tick) -> Profile {
    let mut steps = vec![(0, usual)];
    let mut day = rng.random_range(3..15);
    while day < days {
        let away = rng.random_range(0..=usual / 3 + 1);
        steps.push((day * DAY, usual.saturating_sub(away).max(least)));
        day += rng.random_range(3..12);
        steps.push((day * DAY, usual + rng.random_range(0..=1)));
        day += rng.random_range(5..20);
    }
    Profile::new(steps).expect("days come in order")
}
