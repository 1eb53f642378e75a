//! A whole scheduling problem, checked once when it is made.

use crate::{
    Calendar, CalendarId, Clock, Event, Link, LinkId, ModeId, Occupancy, OccupancyId,
    Pace, Progress, Resource, ResourceId, Stock, StockId, Task, TaskId, Tick,
};

/// A problem whose parts refer to each other correctly.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem {
    horizon: Tick,
    tasks: Vec<Task>,
    resources: Vec<Resource>,
    stocks: Vec<Stock>,
    calendars: Vec<Calendar>,
    links: Vec<Link>,
    occupancies: Vec<Occupancy>,
}

/// Something that a fault is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Subject {
    /// The problem as a whole.
    Problem,
    /// A task.
    Task(TaskId),
    /// A mode of a task.
    Mode(TaskId, ModeId),
    /// A stock.
    Stock(StockId),
    /// A link.
    Link(LinkId),
    /// An occupancy.
    Occupancy(OccupancyId),
}

/// A part of a problem that makes no sense.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{subject:?}: {what}")]
pub struct Fault {
    /// What it is about.
    pub subject: Subject,
    /// What is wrong with it.
    pub what: String,
}

/// The greatest horizon: sums of two times must stay far from overflow.
const GREATEST: Tick = Tick::MAX / 8;

impl Problem {
    /// Puts a problem without stocks together. Every task must finish at `horizon` or
    /// earlier. All faults are returned at once.
    pub fn new(
        horizon: Tick,
        tasks: Vec<Task>,
        resources: Vec<Resource>,
        calendars: Vec<Calendar>,
        links: Vec<Link>,
        occupancies: Vec<Occupancy>,
    ) -> Result<Self, Vec<Fault>> {
        let stocks = Vec::new();
        Self::stocked(horizon, tasks, resources, stocks, calendars, links, occupancies)
    }

    /// The same problem with other tasks.
    ///
    /// # Errors
    /// If these tasks do not hold together with the rest; all faults are returned at once.
    pub fn with_tasks(&self, tasks: Vec<Task>) -> Result<Self, Vec<Fault>> {
        let Self { horizon, resources, stocks, calendars, links, occupancies, tasks: _ } =
            self.clone();
        Self::stocked(horizon, tasks, resources, stocks, calendars, links, occupancies)
    }

    /// Puts a problem with stocks together. All faults are returned at once.
    pub fn stocked(
        horizon: Tick,
        tasks: Vec<Task>,
        resources: Vec<Resource>,
        stocks: Vec<Stock>,
        calendars: Vec<Calendar>,
        links: Vec<Link>,
        occupancies: Vec<Occupancy>,
    ) -> Result<Self, Vec<Fault>> {
        let problem =
            Self { horizon, tasks, resources, stocks, calendars, links, occupancies };
        let mut faults = Vec::new();
        problem.check_size(&mut faults);
        problem.check_sums(&mut faults);
        problem.check_stocks(&mut faults);
        problem.check_tasks(&mut faults);
        problem.check_links(&mut faults);
        problem.check_occupancies(&mut faults);
        if faults.is_empty() { Ok(problem) } else { Err(faults) }
    }

    /// The fault of a problem of which schedules could not be measured without overflow.
    pub const IMMENSE: &str =
        "weights and costs are so great that a schedule could not be measured";

    /// The fault of a stock of which what is taken could not be counted.
    pub const UNCOUNTABLE: &str =
        "so much can be taken of the stock that it could not be counted";

    /// Every task finishes at this tick or earlier.
    pub const fn horizon(&self) -> Tick {
        self.horizon
    }

    /// The tasks.
    pub fn tasks(&self) -> &[Task] {
        &self.tasks
    }

    /// The resources.
    pub fn resources(&self) -> &[Resource] {
        &self.resources
    }

    /// The stocks.
    pub fn stocks(&self) -> &[Stock] {
        &self.stocks
    }

    /// The calendars.
    pub fn calendars(&self) -> &[Calendar] {
        &self.calendars
    }

    /// The links.
    pub fn links(&self) -> &[Link] {
        &self.links
    }

    /// The occupancies.
    pub fn occupancies(&self) -> &[Occupancy] {
        &self.occupancies
    }

    /// A task.
    pub fn task(&self, id: TaskId) -> &Task {
        &self.tasks[id.at()]
    }

    /// A resource.
    pub fn resource(&self, id: ResourceId) -> &Resource {
        &self.resources[id.at()]
    }

    /// A stock.
    pub fn stock(&self, id: StockId) -> &Stock {
        &self.stocks[id.at()]
    }

    /// A calendar.
    pub fn calendar(&self, id: CalendarId) -> &Calendar {
        &self.calendars[id.at()]
    }

    /// The tick of the finish of a task that starts at `start` in a mode with nothing done
    /// yet, or nothing if the mode cannot start there or the calendar ends too soon.
    pub fn finish_of(&self, task: TaskId, mode: ModeId, start: Tick) -> Option<Tick> {
        let mode = &self.task(task).modes[mode.at()];
        match mode.pace {
            Pace::Elapsed => start.checked_add(mode.work),
            Pace::Whole(calendar) => {
                let finish = start.checked_add(mode.work)?;
                let open = self.calendar(calendar).open_between(start, finish);
                (open == mode.work).then_some(finish)
            }
            Pace::Pausing(calendar) => {
                let calendar = self.calendar(calendar);
                let fits = mode.work == 0 || calendar.is_open(start);
                if fits { calendar.finish_of(start, mode.work) } else { None }
            }
        }
    }

    fn check_size(&self, faults: &mut Vec<Fault>) {
        if !(0..=GREATEST).contains(&self.horizon) {
            let what = format!("the horizon must lie between 0 and {GREATEST}");
            faults.push(Fault { subject: Subject::Problem, what });
        }
    }

    /// Whatever a schedule within twice the greatest horizon measures must stay far from
    /// overflow.
    fn check_sums(&self, faults: &mut Vec<Fault>) {
        const MOST: i128 = 1 << 60;
        let far = 2 * i128::from(GREATEST);
        let weights = |of: fn(&Task) -> u32| {
            self.tasks.iter().map(|task| i128::from(of(task)) * far).sum::<i128>()
        };
        let late = weights(|task| task.due.map_or(0, |due| due.weight));
        let drift =
            weights(|task| task.published.map_or(0, |published| published.weight));
        let dearest =
            |task: &Task| task.modes.iter().map(|m| m.cost.unsigned_abs()).max();
        let cost: i128 = self.tasks.iter().filter_map(dearest).map(i128::from).sum();
        if late > MOST || drift + cost > MOST {
            let what = Self::IMMENSE.to_owned();
            faults.push(Fault { subject: Subject::Problem, what });
        }
    }

    /// What can be taken of a stock in all must stay far from overflow.
    fn check_stocks(&self, faults: &mut Vec<Fault>) {
        const MOST: i128 = 1 << 60;
        for (position, stock) in self.stocks.iter().enumerate() {
            let id = StockId::new(position);
            let mut fault = |what: &str| {
                faults.push(Fault { subject: Subject::Stock(id), what: what.to_owned() });
            };
            if stock.available < 0 {
                fault("what there is of a stock must not be negative");
            }
            let taken = |mode: &crate::Mode| {
                let takes = mode.takes.iter().filter(|take| take.stock == id);
                takes.map(|take| i128::from(take.amount).abs()).sum::<i128>()
            };
            let most = |task: &Task| task.modes.iter().map(taken).max().unwrap_or(0);
            let all: i128 = self.tasks.iter().map(most).sum();
            if all > MOST || i128::from(stock.available) > MOST {
                fault(Self::UNCOUNTABLE);
            }
        }
    }

    fn check_tasks(&self, faults: &mut Vec<Fault>) {
        for (position, task) in self.tasks.iter().enumerate() {
            let id = TaskId::new(position);
            let mut fault = |what: &str| {
                faults.push(Fault { subject: Subject::Task(id), what: what.to_owned() });
            };
            if task.modes.is_empty() {
                fault("a task needs at least one mode");
            }
            if !(0..=self.horizon.max(0)).contains(&task.release) {
                fault("the release must lie between 0 and the horizon");
            }
            if task.due.is_some_and(|due| due.weight == 0) {
                fault("a due date needs a weight of at least 1");
            }
            if let Some(what) = self.progress_fault(task) {
                fault(what);
            }
            for (number, mode) in task.modes.iter().enumerate() {
                let subject = Subject::Mode(id, ModeId::new(number));
                let what = self.mode_faults(mode);
                faults.extend(what.map(|what| Fault { subject, what: what.to_owned() }));
            }
        }
    }

    fn progress_fault(&self, task: &Task) -> Option<&'static str> {
        let (mode, ordered) = match task.progress {
            Progress::Todo => return None,
            Progress::Started { mode, start, resume, left } => {
                (mode, 0 <= start && start <= resume && left >= 0)
            }
            Progress::Done { mode, start, finish } => {
                (mode, 0 <= start && start <= finish)
            }
        };
        if mode.at() >= task.modes.len() {
            return Some("what has happened names a mode that the task does not have");
        }
        let inside = match task.progress {
            Progress::Done { finish, .. } => finish <= self.horizon,
            Progress::Started { resume, left, .. } => {
                resume <= self.horizon && left <= self.horizon
            }
            Progress::Todo => true,
        };
        (!ordered || !inside).then_some(
            "what has happened lies out of order, before tick 0 or after the horizon",
        )
    }

    fn mode_faults(&self, mode: &crate::Mode) -> impl Iterator<Item = &'static str> {
        let calendar = match mode.pace {
            Pace::Elapsed => None,
            Pace::Whole(calendar) | Pace::Pausing(calendar) => Some(calendar),
        };
        let demands = &mode.demands;
        let twice = demands.iter().enumerate().any(|(position, demand)| {
            demands[..position]
                .iter()
                .any(|d| d.resource == demand.resource && d.during == demand.during)
        });
        let unknown = demands.iter().any(|d| d.resource.at() >= self.resources.len());
        let takes = &mode.takes;
        let taken_twice = takes.iter().enumerate().any(|(position, take)| {
            takes[..position].iter().any(|other| other.stock == take.stock)
        });
        let no_stock = takes.iter().any(|take| take.stock.at() >= self.stocks.len());
        [
            (!(0..=self.horizon.max(0)).contains(&mode.work))
                .then_some("the work must lie between 0 and the horizon"),
            (mode.cost < 0).then_some("a cost must not be negative"),
            calendar
                .is_some_and(|c| c.at() >= self.calendars.len())
                .then_some("the mode names a calendar that does not exist"),
            unknown.then_some("a demand names a resource that does not exist"),
            twice.then_some("a resource is demanded twice"),
            demands
                .iter()
                .any(|d| d.amount == 0)
                .then_some("a demand must be at least 1"),
            no_stock.then_some("the mode takes of a stock that does not exist"),
            taken_twice.then_some("the mode takes of a stock twice"),
            takes
                .iter()
                .any(|take| take.amount < 1)
                .then_some("what a mode takes of a stock must be at least 1"),
        ]
        .into_iter()
        .flatten()
    }

    fn check_links(&self, faults: &mut Vec<Fault>) {
        for (position, link) in self.links.iter().enumerate() {
            let subject = Subject::Link(LinkId::new(position));
            let mut fault =
                |what: &str| faults.push(Fault { subject, what: what.to_owned() });
            if !self.knows(link.from) || !self.knows(link.to) {
                fault("the link names a task that does not exist");
            }
            if link.least.is_none() && link.greatest.is_none() {
                fault("a link needs a least lag or a greatest lag");
            }
            let lags = [link.least, link.greatest];
            let far = self.horizon.saturating_add(1);
            if lags.iter().flatten().any(|lag| lag.saturating_abs() > far) {
                fault("a lag must not be greater than the horizon");
            }
            if let (Some(least), Some(greatest)) = (link.least, link.greatest)
                && least > greatest
            {
                fault("the least lag is greater than the greatest lag");
            }
            if let Clock::Working(calendar) = link.clock {
                if calendar.at() >= self.calendars.len() {
                    fault("the link names a calendar that does not exist");
                }
                if lags.iter().flatten().any(|&lag| lag < 0) {
                    fault("a lag in working time must not be negative");
                }
            }
        }
    }

    fn check_occupancies(&self, faults: &mut Vec<Fault>) {
        for (position, occupancy) in self.occupancies.iter().enumerate() {
            let subject = Subject::Occupancy(OccupancyId::new(position));
            let mut fault =
                |what: &str| faults.push(Fault { subject, what: what.to_owned() });
            if !self.knows(occupancy.from) || !self.knows(occupancy.to) {
                fault("the occupancy names a task that does not exist");
            }
            if occupancy.resource.at() >= self.resources.len() {
                fault("the occupancy names a resource that does not exist");
            }
            if occupancy.amount == 0 {
                fault("an occupancy must be of at least 1");
            }
        }
    }

    fn knows(&self, event: Event) -> bool {
        event.task.at() < self.tasks.len()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Due, Mode, Take};

    #[test]
    fn what_is_wrong_with_stocks_is_told_at_once() {
        let take = |stock, amount| Take { stock: StockId(stock), amount };
        let problem = |available: &[i64], takes: Vec<Take>| {
            let mode = Mode { takes, ..Mode::elapsed(1, vec![]) };
            let tasks = vec![Task::new("t", mode.clone()), Task::new("u", mode)];
            let stocks = available
                .iter()
                .map(|&available| Stock { name: "sheet".to_owned(), available });
            Problem::stocked(9, tasks, vec![], stocks.collect(), vec![], vec![], vec![])
        };
        assert!(problem(&[0, 5], vec![take(0, 3), take(1, 1 << 59)]).is_ok());
        let faults = problem(&[-1], vec![take(0, 0), take(0, 2), take(1, 1)]);
        let faults = faults.unwrap_err();
        let said: Vec<&str> = faults.iter().map(|fault| fault.what.as_str()).collect();
        let of_a_mode = [
            "the mode takes of a stock that does not exist",
            "the mode takes of a stock twice",
            "what a mode takes of a stock must be at least 1",
        ];
        assert_eq!(said[0], "what there is of a stock must not be negative");
        assert_eq!((&said[1..4], &said[4..]), (&of_a_mode[..], &of_a_mode[..]));
        for amount in [i64::MAX, i64::MIN, 1 << 60] {
            let faults = problem(&[1], vec![take(0, amount)]).unwrap_err();
            assert_eq!(faults[0].what, Problem::UNCOUNTABLE);
        }
        let faults = problem(&[i64::MAX], vec![]).unwrap_err();
        assert_eq!(faults[0].what, Problem::UNCOUNTABLE);
    }

    #[test]
    fn weights_and_costs_that_could_overflow_are_refused() {
        let problem = |weight: u32, cost: i64| {
            let mut task = Task::new("t", Mode { cost, ..Mode::elapsed(1, vec![]) });
            task.due = Some(Due { at: 0, weight });
            let tasks = vec![task.clone(), task];
            Problem::new(GREATEST, tasks, vec![], vec![], vec![], vec![])
        };
        assert_eq!(problem(1 << 29, 1 << 58).err(), None);
        for (weight, cost) in [(1 << 31, 0), (1, 1 << 60)] {
            let faults = problem(weight, cost).unwrap_err();
            assert_eq!(faults.len(), 1);
            assert_eq!(faults[0].what, Problem::IMMENSE);
        }
    }
}
