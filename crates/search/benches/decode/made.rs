//! Made-up problems of any size. The same size gives the same problem on every machine.

use timetable::{
    Calendar, CalendarId, Clock, Demand, Due, Event, Link, Mode, Occupancy, Pace,
    Problem, Profile, Resource, ResourceId, Task, TaskId, Tick, Window,
};

/// A linear congruential generator (the multiplier is Knuth's, from MMIX; its high bits
/// are used) is random enough for made-up figures and needs no library that may change.
struct Dice(u64);

impl Dice {
    /// A whole number from `least` to `most`.
    fn throw(&mut self, least: u32, most: u32) -> u32 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
        least + ((self.0 >> 33) % u64::from(most - least + 1)) as u32
    }
}

/// How scarce resources are: 0 is the least with which every task can run, 1 as much as
/// the earliest starts would use at their peak (the resource strength of Kolisch,
/// Sprecher & Drexl 1995).
const STRENGTH: f64 = 0.2;
const KINDS: usize = 4;

/// A plain problem as published sets have them: one mode, order by finish to start, four
/// resources that every task uses, lengths and demands from 1 to 10, about two successors
/// to a task.
pub(crate) fn plain(count: usize) -> Problem {
    // A seed for which the smallest is not proven at once.
    let mut dice = Dice(count as u64 + 20);
    let mut tasks = Vec::with_capacity(count);
    let mut links: Vec<Link> = Vec::new();
    let mut earliest: Vec<Tick> = Vec::with_capacity(count);
    for number in 0..count {
        let demands = (0..KINDS)
            .map(|kind| Demand::throughout(ResourceId::new(kind), dice.throw(1, 10)));
        let demands = demands.collect();
        let work = dice.throw(1, 10) as Tick;
        let mode = Mode::elapsed(work, demands);
        tasks.push(Task::new(format!("task {number}"), mode));
        let mut start = 0;
        for before in chosen(&mut dice, number, count) {
            links.push(Link::after(TaskId::new(before), TaskId::new(number)));
            start = start.max(earliest[before] + tasks[before].modes[0].work);
        }
        earliest.push(start);
    }
    let horizon = tasks.iter().map(|task| task.modes[0].work).sum();
    let resources = (0..KINDS).map(|kind| resource(kind, &tasks, &earliest)).collect();
    Problem::new(horizon, tasks, resources, Vec::new(), links, Vec::new())
        .expect("the problem makes sense")
}

/// Up to three of the tasks before, not too far back, so that the net is about as deep as
/// those of the published sets; a tenth of the tasks comes first.
fn chosen(dice: &mut Dice, number: usize, all: usize) -> Vec<usize> {
    let reach = number.min(all / 3);
    if reach == 0 || dice.throw(1, 10) == 1 {
        return Vec::new();
    }
    let count = dice.throw(1, 3);
    let mut chosen: Vec<usize> =
        (0..count).map(|_| number - dice.throw(1, reach as u32) as usize).collect();
    chosen.sort_unstable();
    chosen.dedup();
    chosen
}

fn resource(kind: usize, tasks: &[Task], earliest: &[Tick]) -> Resource {
    let demand = |task: &Task| task.modes[0].demands[kind].amount;
    let most = tasks.iter().map(demand).max().unwrap_or(1);
    let used_at = |moment: Tick| -> u32 {
        let running = tasks.iter().zip(earliest).filter(|(task, start)| {
            **start <= moment && moment < **start + task.modes[0].work
        });
        running.map(|(task, _)| demand(task)).sum()
    };
    let peak = earliest.iter().map(|&start| used_at(start)).max().unwrap_or(most);
    let spare = f64::from(peak.saturating_sub(most)) * STRENGTH;
    let capacity = Profile::constant(most + spare.round() as u32);
    Resource { name: format!("resource {kind}"), capacity }
}

const DAY: Tick = 96;
const DAYS: Tick = 2 * 365;
/// Tasks to an item.
const EACH: usize = 5;
/// Items to a group, and families of stands.
const FAMILIES: usize = 4;
const SHIFT: Pace = Pace::Pausing(CalendarId(0));

/// A workshop's programme of about so many tasks over two years of quarter hours: items are
/// removed onto a stand that they occupy until they are refitted, some go away, all are
/// repaired and painted with two coats that follow each other within a day. People work
/// on weekdays from 8 to 17 and pause between. From 1,000 tasks on there are 24 crews and
/// 36 kinds of stand, fewer below, so that they are scarce in every size and due dates bite.
pub(crate) fn season(count: usize) -> Problem {
    let items = count.div_ceil(EACH);
    let mut season = Season {
        dice: Dice(count as u64 + 42),
        crews: (items / 8).clamp(2, 24),
        stands: (items / 20).clamp(1, 9) * FAMILIES,
        tasks: Vec::new(),
        links: Vec::new(),
        holds: Vec::new(),
    };
    let mut outer: Option<(TaskId, TaskId)> = None;
    for number in 0..items {
        let item = season.item(number);
        // Items come in groups; the first of each sits over the others.
        match outer {
            Some((off, on)) if number % FAMILIES != 0 => {
                season.links.push(Link::after(off, item.0));
                season.links.push(Link::after(item.1, on));
            }
            _ => outer = Some(item),
        }
    }
    let resources = resources(&season, items);
    let Season { tasks, links, holds, .. } = season;
    let windows = (0..DAYS).filter(|day| day % 7 < 5);
    let windows =
        windows.map(|day| Window { from: day * DAY + 32, until: day * DAY + 68 });
    let shift = Calendar::new("weekdays", windows.collect()).expect("windows in order");
    Problem::new(DAYS * DAY, tasks, resources, vec![shift], links, holds)
        .expect("the season makes sense")
}

fn resources(season: &Season, items: usize) -> Vec<Resource> {
    let people = 2 + items as u32 / 500;
    let crews = (0..season.crews).map(|crew| {
        // A week's leave, at another time for each crew.
        let leave = DAY * (20 + 7 * crew as Tick);
        let steps = vec![(0, people + 1), (leave, people), (leave + 7 * DAY, people + 1)];
        let capacity = Profile::new(steps).expect("steps are in order");
        Resource { name: format!("crew {crew}"), capacity }
    });
    let places = 1 + items as u32 / 150;
    let stands = (0..season.stands).map(|stand| Resource {
        name: format!("stand {stand}"),
        capacity: Profile::constant(places),
    });
    crews.chain(stands).collect()
}

struct Season {
    dice: Dice,
    crews: usize,
    stands: usize,
    tasks: Vec<Task>,
    links: Vec<Link>,
    holds: Vec<Occupancy>,
}

impl Season {
    fn task(&mut self, name: &str, work: (u32, u32), pace: Pace, people: u32) -> TaskId {
        let work = self.dice.throw(work.0, work.1) as Tick;
        let demands = (0..people.min(1)).map(|_| {
            let crew = self.dice.throw(0, self.crews as u32 - 1) as usize;
            Demand::working(ResourceId::new(crew), self.dice.throw(1, people))
        });
        let demands = demands.collect();
        let mode = Mode { pace, ..Mode::elapsed(work, demands) };
        self.tasks.push(Task::new(name, mode));
        TaskId::new(self.tasks.len() - 1)
    }

    /// The tasks of one item; returns its removal and its refit.
    fn item(&mut self, number: usize) -> (TaskId, TaskId) {
        let remove = self.task("remove", (4, 24), SHIFT, 2);
        // Every third goes away for some weeks, the rest is repaired here.
        let repair = if self.dice.throw(1, 3) == 1 {
            self.task("away", (14 * DAY as u32, 28 * DAY as u32), Pace::Elapsed, 0)
        } else {
            self.task("repair", (8, 68), SHIFT, 2)
        };
        let coat = Pace::Whole(CalendarId(0));
        let first = self.task("first coat", (8, 8), coat, 1);
        let second = self.task("second coat", (8, 8), coat, 1);
        let refit = self.task("refit", (6, 36), SHIFT, 2);
        self.links.push(Link::after(remove, repair));
        self.links.push(Link::after(repair, first));
        self.links.push(Link {
            from: Event::finish(first),
            to: Event::start(second),
            least: Some(8 * 4),
            greatest: Some(24 * 4),
            clock: Clock::Elapsed,
        });
        self.links.push(Link::least(Event::finish(second), Event::start(refit), DAY));
        // Families of stands, so that no item waits for the stand of the one over it.
        let each = self.stands / FAMILIES;
        let stand =
            number % FAMILIES * each + self.dice.throw(1, each as u32) as usize - 1;
        let (from, to) = (Event::finish(remove), Event::finish(refit));
        let resource = ResourceId::new(self.crews + stand);
        self.holds.push(Occupancy { resource, amount: 1, from, to });
        let at = DAY * self.dice.throw(30, 90) as Tick;
        self.tasks[refit.at()].due = Some(Due { at, weight: 1 });
        (remove, refit)
    }
}
