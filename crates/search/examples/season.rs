//! A made-up season of any size: how soon is there a first schedule, and how good a late one?
//!
//! ```text
//! cargo run --release -p search --example season -- ITEMS SECONDS [THREADS [STANDS]]
//! ```
//!
//! Every item is removed by people onto a stand, some go away to a firm, all are repaired,
//! painted with two coats that must follow each other within a day, and refitted. Items
//! sit on each other: the outer ones come off first and go back last. A quarter of an hour
//! is a tick; people work on weekdays from 8 to 17. About six tasks to an item.

#![expect(clippy::print_stdout, reason = "a program for the terminal")]

use std::time::{Duration, Instant};

use search::{News, Options, Stop, Watch, solve};
use timetable::{
    Calendar, CalendarId, Clock, Demand, Due, Event, Link, Mode, Occupancy, Pace,
    Problem, Profile, Resource, ResourceId, Task, TaskId, Tick, Window,
};

const DAY: Tick = 96;
const DAYS: Tick = 7 * 26;
const CREWS: u32 = 6;

struct Print(Instant);

impl Watch for Print {
    fn progress(&self, news: &News) {
        if let Some(best) = news.best {
            println!(
                "{:8.3} s {:8} steps key {:?} bound {:?}",
                self.0.elapsed().as_secs_f64(),
                news.steps,
                best.key(),
                news.bound
            );
        }
    }
}

#[derive(Default)]
struct Season {
    tasks: Vec<Task>,
    links: Vec<Link>,
    holds: Vec<Occupancy>,
    state: u64,
}

impl Season {
    /// A small linear congruential generator is random enough for made-up figures.
    fn draw(&mut self, most: u32) -> u32 {
        self.state = self.state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
        ((self.state >> 33) % u64::from(most)) as u32
    }

    fn task(&mut self, name: &str, work: Tick, pace: Pace, crew: Option<u32>) -> TaskId {
        let demands =
            crew.map(|crew| Demand::working(ResourceId(crew), 1 + self.draw(2)));
        let demands = demands.into_iter().collect();
        let mode = Mode { name: String::new(), work, pace, demands, cost: 0 };
        self.tasks.push(Task::new(name, mode));
        TaskId::new(self.tasks.len() - 1)
    }

    fn item(&mut self, level: u32, stands: u32) -> (TaskId, TaskId) {
        let shift = Pace::Pausing(CalendarId(0));
        let crew = self.draw(CREWS);
        let remove = 4 + self.draw(20) as Tick;
        let remove = self.task("remove", remove, shift, Some(crew));
        let mut last = remove;
        if self.draw(3) == 0 {
            let weeks = 2 + self.draw(3) as Tick;
            let away = self.task("away", weeks * 7 * DAY, Pace::Elapsed, None);
            self.links.push(Link::after(last, away));
            last = away;
        }
        let crew = self.draw(CREWS);
        let work = 8 + self.draw(60) as Tick;
        let repair = self.task("repair", work, shift, Some(crew));
        let first = self.task("first coat", 8, Pace::Whole(CalendarId(0)), Some(0));
        let second = self.task("second coat", 8, Pace::Whole(CalendarId(0)), Some(0));
        self.links.push(Link::after(last, repair));
        self.links.push(Link::after(repair, first));
        self.links.push(Link {
            from: Event::finish(first),
            to: Event::start(second),
            least: Some(8 * 4),
            greatest: Some(24 * 4),
            clock: Clock::Elapsed,
        });
        let work = 6 + self.draw(30) as Tick;
        let crew = self.draw(CREWS);
        let refit = self.task("refit", work, shift, Some(crew));
        self.links.push(Link::least(Event::finish(second), Event::start(refit), DAY));
        // Never the stand of the item that it sits under.
        let stand = ResourceId(CREWS + 4 * self.draw((stands / 4).max(1)) + level);
        let (from, to) = (Event::finish(remove), Event::finish(refit));
        self.holds.push(Occupancy { resource: stand, amount: 1, from, to });
        (remove, refit)
    }
}

fn problem(items: usize, stands: u32) -> Problem {
    let mut season = Season { state: 42, ..Season::default() };
    let mut made: Vec<(TaskId, TaskId)> = Vec::new();
    for number in 0..items {
        let (remove, refit) = season.item(number as u32 % 4, stands);
        // Now and then an item sits under another one of its group.
        if number % 4 != 0 {
            let (outer, back) =
                made[number - 1 - season.draw(number as u32 % 4) as usize];
            season.links.push(Link::after(outer, remove));
            season.links.push(Link::after(refit, back));
        }
        let at = DAY * (60 + season.draw(120) as Tick);
        season.tasks[refit.at()].due = Some(Due { at, weight: 1 });
        made.push((remove, refit));
    }
    let windows = (0..DAYS * 3).filter(|day| day % 7 < 5);
    let windows = windows
        .map(|day| Window { from: day * DAY + 32, until: day * DAY + 68 })
        .collect();
    let shift = Calendar::new("weekdays", windows).expect("windows are in order");
    let people = (items as u32 / 20).max(2);
    let mut resources: Vec<Resource> = (0..CREWS)
        .map(|crew| {
            // A week's leave in the middle.
            let day = DAY * (70 + 7 * crew as Tick);
            let steps = vec![(0, people), (day, people - 1), (day + 7 * DAY, people)];
            let capacity = Profile::new(steps).expect("steps are in order");
            Resource { name: format!("crew {crew}"), capacity }
        })
        .collect();
    resources.extend((0..stands.max(4)).map(|stand| Resource {
        name: format!("stand {stand}"),
        capacity: Profile::constant(1 + (items as u32 / stands / 4)),
    }));
    let Season { tasks, links, holds, .. } = season;
    Problem::new(DAYS * 3 * DAY, tasks, resources, vec![shift], links, holds)
        .expect("the season makes sense")
}

fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let number = |at: usize, or: u64| {
        arguments.get(at).and_then(|text| text.parse().ok()).unwrap_or(or)
    };
    let problem = problem(number(0, 100) as usize, number(3, 40) as u32);
    println!("{} tasks", problem.tasks().len());
    let stop = Stop::after(Duration::from_secs(number(1, 5)));
    let options =
        Options { stop, threads: number(2, 1) as usize, seed: 1, start_from: None };
    let outcome = solve(&problem, &options, &Print(Instant::now()));
    let schedule = outcome.schedule();
    println!("{:?}", outcome.measures());
    match schedule {
        Some(schedule) => {
            let start = Instant::now();
            let reasons = search::explain(&problem, schedule);
            let chain = search::driving_chain(&problem, schedule, &reasons);
            let notes = verify::check(&problem, schedule);
            println!("lawful: {}", notes.is_empty());
            println!("{} in the chain, {:?}", chain.len(), start.elapsed());
        }
        None => println!("{outcome:?}"),
    }
}
