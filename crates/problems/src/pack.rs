//! One pack of work: what is opened, done and closed again.

use rand::RngExt;
use rand_pcg::Pcg64Mcg;
use timetable::{
    CalendarId, Demand, End, Event, Link, Mode, Occupancy, Pace, ResourceId, Task,
    TaskId, Tick,
};

use crate::season::working;
use crate::workshop::{
    BAYS, BOOTH, COLLECTION, CRADLES, DAY, DAYSHIFT, ELECTRIC, ENGINE_STANDS, FITTERS,
    HOUR, INSPECT, MACHINISTS, OVERTIME, PAINT, PLATERS, RACKS, SHEET, TRESTLES,
    VOLUNTEER_HOURS, VOLUNTEERS, WARM,
};

/// A link in the making from an event outside the pack to an end of one of its tasks.
type Tie = (Event, usize, End, fn(Event, Event, Tick) -> Link, Tick);

/// Tasks in an order in which each comes after what it waits for. Identifiers count within
/// the pack.
#[derive(Default)]
pub(crate) struct Pack {
    pub(crate) tasks: Vec<Task>,
    pub(crate) links: Vec<Link>,
    pub(crate) occupancies: Vec<Occupancy>,
    pub(crate) ties: Vec<Tie>,
}

/// Draws a pack of at most so many tasks.
pub(crate) fn draw(rng: &mut Pcg64Mcg, number: usize, most: usize) -> Pack {
    let mut drawing = Drawing { pack: Pack::default(), number, most };
    if most < 8 || rng.random_ratio(1, 8) {
        drawing.odd_jobs(rng);
    } else {
        drawing.opened(rng);
    }
    drawing.pack
}

struct Drawing {
    pack: Pack,
    number: usize,
    most: usize,
}

impl Drawing {
    const fn room(&self) -> usize {
        self.most - self.pack.tasks.len()
    }

    fn add(&mut self, name: &str, modes: Vec<Mode>) -> TaskId {
        let id = TaskId::new(self.pack.tasks.len());
        let first = modes[0].clone();
        let name = format!("pack {}: {name}, {}", self.number, id.at() + 1);
        self.pack.tasks.push(Task { modes, ..Task::new(name, first) });
        id
    }

    fn after(&mut self, from: TaskId, to: TaskId) {
        self.pack.links.push(Link::after(from, to));
    }

    /// Work by hand after another task, if there is one.
    fn work(
        &mut self,
        rng: &mut Pcg64Mcg,
        name: &str,
        (pool, crew): (ResourceId, u32),
        (least, most): (Tick, Tick),
        after: Option<TaskId>,
    ) -> TaskId {
        let work = rng.random_range(least..=most);
        let task = self.add(name, by_hand(rng, pool, crew, work));
        if let Some(after) = after {
            self.after(after, task);
        }
        task
    }

    /// A few jobs in a row that open nothing.
    fn odd_jobs(&mut self, rng: &mut Pcg64Mcg) {
        let count = rng.random_range(1..=4_u32).min(self.room() as u32);
        let mut last = None;
        for _ in 0..count {
            let volunteers = rng.random_ratio(1, 3);
            let task = if volunteers {
                let work = rng.random_range(HOUR..=6 * HOUR);
                let demands = vec![Demand::working(VOLUNTEERS, 1)];
                let pace = Pace::Pausing(VOLUNTEER_HOURS);
                let mode = Mode { pace, ..Mode::elapsed(work, demands) };
                let task = self.add("clean and preserve", vec![mode]);
                if let Some(last) = last {
                    self.after(last, task);
                }
                task
            } else {
                let pool = [FITTERS, ELECTRIC][usize::from(rng.random_ratio(1, 2))];
                self.work(rng, "bench job", (pool, 1), (4, 10 * HOUR), last)
            };
            last = Some(task);
        }
    }

    /// A place that is opened, worked on and closed again.
    fn opened(&mut self, rng: &mut Pcg64Mcg) {
        let cover_off =
            self.work(rng, "take the cover off", (FITTERS, 1), (2, 3 * HOUR), None);
        let nested = rng.random_ratio(3, 5);
        let unit_off = nested.then(|| {
            let time = (HOUR, 7 * HOUR);
            self.work(rng, "take the unit off", (FITTERS, 2), time, Some(cover_off))
        });
        let opened = unit_off.unwrap_or(cover_off);
        let look = self.work(rng, "inspect", (INSPECT, 1), (2, 3 * HOUR), Some(opened));
        // Two tasks close a pack, or four where a unit is off.
        let close = if nested { 4 } else { 2 };
        let wanted = rng.random_range(1..=3_u32);
        let mut done = Vec::new();
        for _ in 0..wanted {
            if self.room() > close + 4 {
                done.push(self.repair(rng, look));
            }
        }
        if done.is_empty() {
            let time = (HOUR, 8 * HOUR);
            done.push(self.work(rng, "repair", (SHEET, 1), time, Some(look)));
        }
        let mut last = None;
        if let Some(unit_off) = unit_off {
            let back =
                self.work(rng, "refit the unit", (FITTERS, 2), (HOUR, 9 * HOUR), None);
            for &step in &done {
                self.after(step, back);
            }
            let stands = [CRADLES, TRESTLES, ENGINE_STANDS];
            let stand = stands[rng.random_range(0..3_u32) as usize];
            self.hold(stand, Event::finish(unit_off), Event::start(back));
            let check =
                self.work(rng, "check the unit", (INSPECT, 1), (1, 2 * HOUR), Some(back));
            // It is looked at within two working days of the refit.
            self.pack.links.push(Link {
                from: Event::finish(back),
                to: Event::start(check),
                least: Some(0),
                greatest: Some(16 * HOUR),
                clock: working(),
            });
            last = Some(check);
        }
        let cover_on =
            self.work(rng, "put the cover on", (FITTERS, 1), (2, 3 * HOUR), last);
        if last.is_none() {
            for &step in &done {
                self.after(step, cover_on);
            }
        }
        self.hold(RACKS, Event::start(cover_off), Event::finish(cover_on));
        let check =
            self.work(rng, "final check", (INSPECT, 1), (1, 2 * HOUR), Some(cover_on));
        if rng.random_ratio(1, 3) {
            let bay = (Event::start(cover_off), Event::finish(check));
            self.hold(BAYS, bay.0, bay.1);
        }
    }

    fn hold(&mut self, resource: ResourceId, from: Event, to: Event) {
        self.pack.occupancies.push(Occupancy { resource, amount: 1, from, to });
    }

    /// A repair by hand, by a firm or with paint, after an inspection; its last task.
    fn repair(&mut self, rng: &mut Pcg64Mcg, look: TaskId) -> TaskId {
        match rng.random_range(0..6_u32) {
            0 | 1 => self.by_firm(rng, look),
            2 | 3 => self.painted(rng, look),
            4 => self.side_by_side(rng, look),
            _ => self.work(rng, "repair", (SHEET, 2), (HOUR, 20 * HOUR), Some(look)),
        }
    }

    /// Out on a collection day, so long at the firm, and a look at what comes back.
    fn by_firm(&mut self, rng: &mut Pcg64Mcg, look: TaskId) -> TaskId {
        let (firm, days) =
            if rng.random_ratio(1, 2) { (PLATERS, 4..12) } else { (MACHINISTS, 5..18) };
        let pace = Pace::Whole(COLLECTION);
        let send = Mode { pace, ..Mode::elapsed(2, vec![Demand::working(FITTERS, 1)]) };
        let send = self.add("send out", vec![send]);
        self.after(look, send);
        let turnaround = rng.random_range(days) * DAY;
        let mut modes =
            vec![Mode::elapsed(turnaround, vec![Demand::throughout(firm, 1)])];
        if rng.random_ratio(1, 3) {
            let quick = Mode::elapsed(turnaround / 2, modes[0].demands.clone());
            let cost = rng.random_range(100..600);
            modes.push(Mode { name: "at a premium".to_owned(), cost, ..quick });
            "as usual".clone_into(&mut modes[0].name);
        }
        let away = self.add("at the firm", modes);
        self.after(send, away);
        let time = (1, HOUR);
        self.work(rng, "inspect what came back", (INSPECT, 1), time, Some(away))
    }

    /// Two coats with a least and a greatest time between them, and a cure.
    fn painted(&mut self, rng: &mut Pcg64Mcg, look: TaskId) -> TaskId {
        let coat = |hours: Tick| {
            let demands = vec![Demand::working(PAINT, 1), Demand::throughout(BOOTH, 1)];
            let pace = Pace::Whole(WARM);
            Mode { pace, ..Mode::elapsed(hours * HOUR, demands) }
        };
        let time = (HOUR, 6 * HOUR);
        let ready = self.work(rng, "prepare", (SHEET, 1), time, Some(look));
        let first = self.add("first coat", vec![coat(rng.random_range(1..=3))]);
        self.pack.links.push(Link {
            from: Event::finish(ready),
            to: Event::start(first),
            least: Some(0),
            greatest: Some(5 * DAY),
            clock: timetable::Clock::Elapsed,
        });
        let second = self.add("second coat", vec![coat(rng.random_range(1..=2))]);
        let cure = rng.random_range(2..=16) * HOUR;
        self.pack.links.push(Link {
            from: Event::finish(first),
            to: Event::start(second),
            least: Some(cure),
            greatest: Some(cure + rng.random_range(2..=5) * DAY),
            clock: timetable::Clock::Elapsed,
        });
        let looked = self.work(rng, "inspect the coat", (INSPECT, 1), (1, HOUR), None);
        let dry = rng.random_range(12..=72) * HOUR;
        let (from, to) = (Event::finish(second), Event::start(looked));
        self.pack.links.push(Link::least(from, to, dry));
        looked
    }

    /// Two jobs of which the second begins a while after the first and ends no earlier.
    fn side_by_side(&mut self, rng: &mut Pcg64Mcg, look: TaskId) -> TaskId {
        let time = (4 * HOUR, 16 * HOUR);
        let main = self.work(rng, "drill out and repair", (SHEET, 1), time, Some(look));
        let help = self.work(rng, "wiring", (ELECTRIC, 1), (HOUR, 8 * HOUR), None);
        let lag = rng.random_range(2..=3 * HOUR);
        self.pack.links.push(Link {
            from: Event::start(main),
            to: Event::start(help),
            least: Some(lag),
            greatest: None,
            clock: working(),
        });
        self.pack.links.push(Link::least(Event::finish(main), Event::finish(help), 0));
        help
    }
}

/// The ways to do a piece of work by hand: in the day shift; at times also in overtime, or
/// with one more pair of hands; at times in a bay that is kept through pauses.
fn by_hand(rng: &mut Pcg64Mcg, pool: ResourceId, crew: u32, work: Tick) -> Vec<Mode> {
    let mut demands = vec![Demand::working(pool, crew)];
    if rng.random_ratio(1, 6) {
        demands.push(Demand::throughout(BAYS, 1));
    }
    let way = |name: &str, calendar: CalendarId, work, demands, cost| Mode {
        name: name.to_owned(),
        work,
        pace: Pace::Pausing(calendar),
        demands,
        takes: Vec::new(),
        cost,
    };
    let mut modes = vec![way("day shift", DAYSHIFT, work, demands.clone(), 0)];
    if rng.random_ratio(1, 4) {
        let cost = i64::from(work) * i64::from(crew) * 2;
        modes.push(way("overtime", OVERTIME, work, demands.clone(), cost));
    }
    if pool == FITTERS && crew == 1 && rng.random_ratio(1, 3) {
        demands[0].amount += 1;
        let shorter = (work * 3 / 5).max(1);
        modes.push(way("two together", DAYSHIFT, shorter, demands, 0));
    }
    if modes.len() == 1 {
        modes[0].name.clear();
    }
    modes
}
