//! From a document to a problem.

use timetable::{
    Calendar, CalendarId, Clock, Demand, Due, During, Event, Fault, Link, Mode, ModeId,
    Occupancy, Pace, Problem, Profile, Progress, Published, Resource, ResourceId, Stock,
    StockId, Subject, Take, Task, TaskId, Tick, Window,
};

use crate::errors::{Error, Findings};
use crate::fields::Fields;
use crate::names::Names;
use crate::node::Node;

/// The only form of documents so far.
pub(crate) const FORMAT: i64 = 1;

/// No tick lies further from the origin than this: sums of two stay far from overflow.
const FAR: i64 = Tick::MAX as i64 / 8;

/// No amount, capacity or weight is greater.
const MOST: i64 = 100_000_000;

/// The sum of all that a schedule can measure on one level must stay below this.
const SUM: i128 = 1 << 60;

const DOCUMENT: &[&str] = &[
    "format",
    "horizon",
    "calendars",
    "resources",
    "stocks",
    "tasks",
    "links",
    "occupancies",
];
const TASK: &[&str] =
    &["name", "modes", "release", "deadline", "due", "published", "started", "done"];

/// Reads a problem from the text of a document. All that is wrong is returned at once,
/// except what lies behind text that is not JSON at all; of very many mistakes the first
/// 200 are listed and the others counted. `name` is what the mistakes call the document.
pub fn read(name: &str, text: &str) -> Result<Problem, Vec<Error>> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let mut findings = Findings::new(name, text);
    let problem = Node::document(text, &mut findings)
        .and_then(|node| Fields::of(&node, DOCUMENT, &mut findings))
        .and_then(|fields| document(&fields, &mut findings));
    match problem {
        Some(problem) if findings.count() == 0 => Ok(problem),
        _ => Err(findings.into_errors()),
    }
}

/// Where a part of the problem stands, and whether it was read without a mistake.
struct Source<'a> {
    node: Node<'a>,
    whole: bool,
}

/// All that has been read so far, and what its parts refer to.
struct Reader<'f, 'n> {
    findings: &'f mut Findings<'n>,
    calendars: Names,
    resources: Names,
    stocks: Names,
    tasks: Names,
}

fn document(fields: &Fields<'_>, findings: &mut Findings<'_>) -> Option<Problem> {
    let meaning = format!("\"format\": {FORMAT}");
    fields.need_number("format", &meaning, (FORMAT, FORMAT), findings);
    let meaning = "the tick by which every task must have finished";
    let horizon = fields.need_number("horizon", meaning, (0, FAR), findings);
    fields.need("tasks", "the list of tasks", findings);
    let calendars: Vec<Calendar> = fields
        .list("calendars", findings)
        .iter()
        .map(|node| calendar(node, findings))
        .collect();
    let resources: Vec<Resource> = fields
        .list("resources", findings)
        .iter()
        .map(|node| resource(node, findings))
        .collect();
    let stock_nodes = fields.list("stocks", findings);
    let stocks: Vec<Stock> =
        stock_nodes.iter().map(|node| stock(node, findings)).collect();
    let nodes = fields.list("tasks", findings);
    let names = |noun, names: Vec<&str>| {
        Names::new(noun, names.into_iter().map(str::to_owned).collect())
    };
    let mut reader = Reader {
        calendars: names("calendar", calendars.iter().map(Calendar::name).collect()),
        resources: names("resource", resources.iter().map(|r| r.name.as_str()).collect()),
        stocks: names("stock", stocks.iter().map(|s| s.name.as_str()).collect()),
        tasks: Names::new("task", Vec::new()),
        findings,
    };
    let (tasks, sources) = reader.tasks(&nodes);
    let names = tasks.iter().map(|task| task.name.clone()).collect();
    reader.tasks = Names::new("task", names);
    let nodes = fields.list("links", reader.findings);
    let (links, link_sources) = reader.each(&nodes, Reader::link);
    let nodes = fields.list("occupancies", reader.findings);
    let (occupancies, occupancy_sources) = reader.each(&nodes, Reader::occupancy);
    let sources = Sources {
        tasks: sources,
        stocks: stock_nodes,
        links: link_sources,
        occupancies: occupancy_sources,
    };
    // Where the horizon can't be read, nothing is held against it.
    let limit = horizon.unwrap_or(FAR) as Tick;
    match Problem::stocked(limit, tasks, resources, stocks, calendars, links, occupancies)
    {
        Ok(problem) => horizon.map(|_| problem),
        Err(faults) => {
            sources.report(fields, &faults, findings);
            None
        }
    }
}

fn tick(node: &Node<'_>, findings: &mut Findings<'_>) -> Option<Tick> {
    node.number((0, FAR), findings).map(|number| number as Tick)
}

/// A pair of numbers in a list, such as `[8, 12]`.
fn pair(
    node: &Node<'_>,
    wanted: &str,
    second: (i64, i64),
    findings: &mut Findings<'_>,
) -> Option<(Tick, i64)> {
    let list = node.list(wanted, findings)?;
    let [first, other] = list.as_slice() else {
        let what = format!("it has {} members, not 2", list.len());
        node.wrong(findings, what, format!("write {wanted} in square brackets"));
        return None;
    };
    let (first, other) = (tick(first, findings), other.number(second, findings));
    Some((first?, other?))
}

fn calendar(node: &Node<'_>, findings: &mut Findings<'_>) -> Calendar {
    let fields = Fields::of(node, &["name", "windows"], findings);
    let mut windows: Vec<Window> = Vec::new();
    let mut name = String::new();
    if let Some(fields) = fields {
        name = fields.text("name", findings);
        fields.need("windows", "the list of windows, each `[from, until]`", findings);
        for node in fields.list("windows", findings) {
            window(&node, &mut windows, findings);
        }
    }
    Calendar::new(name, windows).expect("windows in order make a calendar")
}

fn window(node: &Node<'_>, windows: &mut Vec<Window>, findings: &mut Findings<'_>) {
    let wanted = "the first tick and the tick after the last";
    let Some((from, until)) = pair(node, wanted, (0, FAR), findings) else { return };
    let window = Window { from, until: until as Tick };
    if window.until <= window.from {
        let what = format!("the window ends at {until}, not after {from}");
        node.wrong(findings, what, "let it end later, or leave it out");
    } else if windows.last().is_some_and(|last| from < last.until) {
        let what = "the window begins before the one before it ends";
        node.wrong(findings, what, "put the windows in order of time, apart");
    } else {
        windows.push(window);
    }
}

fn resource(node: &Node<'_>, findings: &mut Findings<'_>) -> Resource {
    let mut resource = Resource { name: String::new(), capacity: Profile::constant(0) };
    if let Some(fields) = Fields::of(node, &["name", "capacity"], findings) {
        resource.name = fields.text("name", findings);
        let meaning = "how much there is: a number, or a list of `[from, capacity]`";
        if let Some(node) = fields.need("capacity", meaning, findings) {
            resource.capacity = capacity(node, findings);
        }
    }
    resource
}

fn stock(node: &Node<'_>, findings: &mut Findings<'_>) -> Stock {
    let mut stock = Stock { name: String::new(), available: 0 };
    if let Some(fields) = Fields::of(node, &["name", "available"], findings) {
        stock.name = fields.text("name", findings);
        let meaning = "how much of it there is for the whole";
        let found = fields.need_number("available", meaning, (0, SUM as i64), findings);
        stock.available = found.unwrap_or(0);
    }
    stock
}

fn capacity(node: &Node<'_>, findings: &mut Findings<'_>) -> Profile {
    if node.is_number() {
        let level = node.number((0, MOST), findings);
        return Profile::constant(level.unwrap_or(0) as u32);
    }
    let mut steps: Vec<(Tick, u32)> = Vec::new();
    let wanted = "a step for each change, `[from, capacity]`,";
    for step in node.list(wanted, findings).unwrap_or_default() {
        let wanted = "the first tick and the capacity from then on";
        let Some((from, level)) = pair(&step, wanted, (0, MOST), findings) else {
            continue;
        };
        if steps.last().is_some_and(|last| from <= last.0) {
            let what = "the step does not come after the one before it";
            step.wrong(findings, what, "put the steps in order of time");
        } else {
            steps.push((from, level as u32));
        }
    }
    if steps.first().is_none_or(|step| step.0 != 0) {
        node.wrong(
            findings,
            "the capacity at tick 0 is missing",
            "begin with a step such as `[0, 2]`",
        );
        return Profile::constant(0);
    }
    Profile::new(steps).expect("steps in order from tick 0 make a profile")
}

impl Reader<'_, '_> {
    /// Reads each value, and says which were read without a mistake. What could not be
    /// read at all is left out; there is a mistake for it.
    fn each<'a, T>(
        &mut self,
        nodes: &[Node<'a>],
        read: fn(&mut Self, &Node<'a>) -> Option<T>,
    ) -> (Vec<T>, Vec<Source<'a>>) {
        let mut things = Vec::with_capacity(nodes.len());
        let mut sources = Vec::with_capacity(nodes.len());
        for node in nodes {
            let before = self.findings.count();
            if let Some(thing) = read(self, node) {
                things.push(thing);
                let whole = self.findings.count() == before;
                sources.push(Source { node: node.clone(), whole });
            }
        }
        (things, sources)
    }

    /// The tasks; one that can't be read leaves an empty one, so that positions stay.
    fn tasks<'a>(&mut self, nodes: &[Node<'a>]) -> (Vec<Task>, Vec<TaskSource<'a>>) {
        let mut tasks = Vec::with_capacity(nodes.len());
        let mut sources = Vec::with_capacity(nodes.len());
        for node in nodes {
            let before = self.findings.count();
            let (task, modes) = self.task(node);
            tasks.push(task);
            let whole = self.findings.count() == before;
            sources.push(TaskSource { own: Source { node: node.clone(), whole }, modes });
        }
        (tasks, sources)
    }

    fn task<'a>(&mut self, node: &Node<'a>) -> (Task, Vec<Source<'a>>) {
        let mut task = Task::new("", Mode::elapsed(0, Vec::new()));
        task.modes.clear();
        let Some(fields) = Fields::of(node, TASK, self.findings) else {
            return (task, Vec::new());
        };
        task.name = fields.text("name", self.findings);
        let bounds = (0, FAR);
        if let Some(release) = fields.number("release", bounds, self.findings) {
            task.release = release as Tick;
        }
        let deadline = fields.number("deadline", (-FAR, FAR), self.findings);
        task.deadline = deadline.map(|tick| tick as Tick);
        task.due = fields.get("due").and_then(|node| self.due(node));
        task.published = fields.get("published").and_then(|node| self.published(node));
        fields.need("modes", "the list of ways to do it, at least one", self.findings);
        let nodes = fields.list("modes", self.findings);
        let (modes, sources) = self.each(&nodes, Self::mode);
        task.modes = modes;
        let names = task.modes.iter().map(|mode| mode.name.clone()).collect();
        if let Some(progress) = self.progress(&fields, &Names::new("mode", names)) {
            task.progress = progress;
        }
        (task, sources)
    }

    fn due(&mut self, node: &Node<'_>) -> Option<Due> {
        let fields = Fields::of(node, &["at", "weight"], self.findings)?;
        let meaning = "the tick by which it should have finished";
        let at = fields.need_number("at", meaning, (-FAR, FAR), self.findings);
        let weight = fields.number("weight", (1, MOST), self.findings).unwrap_or(1);
        Some(Due { at: at? as Tick, weight: weight as u32 })
    }

    fn published(&mut self, node: &Node<'_>) -> Option<Published> {
        let fields = Fields::of(node, &["start", "weight"], self.findings)?;
        let meaning = "the published start";
        let start = fields.need_number("start", meaning, (-FAR, FAR), self.findings);
        let weight = fields.number("weight", (0, MOST), self.findings).unwrap_or(1);
        Some(Published { start: start? as Tick, weight: weight as u32 })
    }

    fn progress(&mut self, fields: &Fields<'_>, modes: &Names) -> Option<Progress> {
        let (started, done) = (fields.get("started"), fields.get("done"));
        if let (Some(_), Some(done)) = (started, done) {
            let what = "the task is said to be under way and to be done";
            done.wrong(self.findings, what, "leave `started` or `done` out");
        }
        if let Some(node) = done {
            let fields = Fields::of(node, &["mode", "start", "finish"], self.findings)?;
            let mode = self.past_mode(&fields, modes);
            let start = self.past(&fields, "start", "the tick at which it started");
            let finish = self.past(&fields, "finish", "the tick at which it finished");
            return Some(Progress::Done { mode: mode?, start: start?, finish: finish? });
        }
        let known = ["mode", "start", "resume", "left"];
        let fields = Fields::of(started?, &known, self.findings)?;
        let mode = self.past_mode(&fields, modes);
        let start = self.past(&fields, "start", "the tick at which it started");
        let resume =
            self.past(&fields, "resume", "the tick from which the rest is counted");
        let left = self.past(&fields, "left", "how many ticks of its work are left");
        Some(Progress::Started {
            mode: mode?,
            start: start?,
            resume: resume?,
            left: left?,
        })
    }

    fn past(&mut self, fields: &Fields<'_>, name: &str, meaning: &str) -> Option<Tick> {
        let number = fields.need_number(name, meaning, (0, FAR), self.findings);
        number.map(|number| number as Tick)
    }

    /// The mode of a task that has begun; the first if none is named.
    fn past_mode(&mut self, fields: &Fields<'_>, modes: &Names) -> Option<ModeId> {
        let Some(node) = fields.get("mode") else { return Some(ModeId(0)) };
        modes.resolve(node, self.findings).map(ModeId::new)
    }

    fn mode(&mut self, node: &Node<'_>) -> Option<Mode> {
        let known = ["name", "work", "pace", "calendar", "uses", "takes", "cost"];
        let fields = Fields::of(node, &known, self.findings)?;
        let name = fields.text("name", self.findings);
        let meaning = "how many ticks it takes";
        let work = fields.need_number("work", meaning, (0, FAR), self.findings);
        let cost = fields.number("cost", (0, SUM as i64), self.findings).unwrap_or(0);
        let pace = self.pace(&fields);
        let nodes = fields.list("uses", self.findings);
        let (demands, _) = self.each(&nodes, Self::demand);
        let nodes = fields.list("takes", self.findings);
        let (takes, _) = self.each(&nodes, Self::take);
        let (work, pace) = (work.unwrap_or(0) as Tick, pace.unwrap_or(Pace::Elapsed));
        Some(Mode { name, work, pace, demands, takes, cost })
    }

    fn pace(&mut self, fields: &Fields<'_>) -> Option<Pace> {
        #[derive(Clone, Copy, PartialEq)]
        enum Word {
            Elapsed,
            Whole,
            Pausing,
        }
        let words = [
            ("elapsed", Word::Elapsed),
            ("whole", Word::Whole),
            ("pausing", Word::Pausing),
        ];
        let word = fields.word("pace", &words, self.findings);
        let named = fields.get("pace").is_some();
        let calendar = fields.get("calendar");
        match (word, calendar) {
            (Some(Word::Elapsed), None) => Some(Pace::Elapsed),
            (None, None) => (!named).then_some(Pace::Elapsed),
            (Some(Word::Whole | Word::Pausing), None) => {
                let meaning = "the calendar in whose windows it is worked on";
                fields.need("calendar", meaning, self.findings);
                None
            }
            (Some(Word::Elapsed), Some(node)) => {
                let what = "elapsed time follows no calendar";
                let remedy = "leave it out, or make the pace `whole` or `pausing`";
                node.wrong(self.findings, what, remedy);
                None
            }
            (None, Some(node)) => {
                if !named {
                    let what = "how the work lies in the calendar is not said";
                    let remedy = "write a `pace`, `whole` or `pausing`";
                    node.wrong(self.findings, what, remedy);
                }
                self.calendar(node).map(|_| Pace::Elapsed)
            }
            (Some(word), Some(node)) => {
                let calendar = self.calendar(node)?;
                let whole = word == Word::Whole;
                Some(if whole { Pace::Whole(calendar) } else { Pace::Pausing(calendar) })
            }
        }
    }

    fn calendar(&mut self, node: &Node<'_>) -> Option<CalendarId> {
        self.calendars.resolve(node, self.findings).map(CalendarId::new)
    }

    fn resource(&mut self, fields: &Fields<'_>) -> Option<ResourceId> {
        let node = fields.need("resource", "the resource that is used", self.findings)?;
        self.resources.resolve(node, self.findings).map(ResourceId::new)
    }

    fn amount(&mut self, fields: &Fields<'_>) -> u32 {
        fields.number("amount", (1, MOST), self.findings).unwrap_or(1) as u32
    }

    fn demand(&mut self, node: &Node<'_>) -> Option<Demand> {
        let fields = Fields::of(node, &["resource", "amount", "during"], self.findings)?;
        let words = [("throughout", During::Throughout), ("working", During::Working)];
        let during = fields.word("during", &words, self.findings);
        let amount = self.amount(&fields);
        let resource = self.resource(&fields)?;
        Some(Demand { resource, amount, during: during.unwrap_or(During::Throughout) })
    }

    fn take(&mut self, node: &Node<'_>) -> Option<Take> {
        let fields = Fields::of(node, &["stock", "amount"], self.findings)?;
        let amount = fields.number("amount", (1, SUM as i64), self.findings).unwrap_or(1);
        let node = fields.need("stock", "the stock that is taken of", self.findings)?;
        let stock = self.stocks.resolve(node, self.findings).map(StockId::new)?;
        Some(Take { stock, amount })
    }

    fn event(&mut self, fields: &Fields<'_>, name: &str) -> Option<Event> {
        let meaning = "an event such as `{\"finish\": \"the task\"}`";
        let node = fields.need(name, meaning, self.findings)?;
        let fields = Fields::of(node, &["start", "finish"], self.findings)?;
        let task = match (fields.get("start"), fields.get("finish")) {
            (Some(task), None) => return self.end_of(task, Event::start),
            (None, Some(task)) => return self.end_of(task, Event::finish),
            (None, None) => "it names neither a start nor a finish",
            (Some(_), Some(_)) => "it names a start and a finish",
        };
        node.wrong(self.findings, task, format!("write {meaning}"));
        None
    }

    fn end_of(&mut self, node: &Node<'_>, event: fn(TaskId) -> Event) -> Option<Event> {
        self.tasks
            .resolve(node, self.findings)
            .map(|position| event(TaskId::new(position)))
    }

    fn link(&mut self, node: &Node<'_>) -> Option<Link> {
        let known = ["from", "to", "least", "greatest", "clock"];
        let fields = Fields::of(node, &known, self.findings)?;
        let (from, to) = (self.event(&fields, "from"), self.event(&fields, "to"));
        let least = fields.number("least", (-FAR, FAR), self.findings);
        let greatest = fields.number("greatest", (-FAR, FAR), self.findings);
        let clock = match fields.get("clock") {
            None => Some(Clock::Elapsed),
            Some(node) => self.calendar(node).map(Clock::Working),
        };
        let ticks = |lag: Option<i64>| lag.map(|lag| lag as Tick);
        Some(Link {
            from: from?,
            to: to?,
            least: ticks(least),
            greatest: ticks(greatest),
            clock: clock?,
        })
    }

    fn occupancy(&mut self, node: &Node<'_>) -> Option<Occupancy> {
        let fields =
            Fields::of(node, &["resource", "amount", "from", "to"], self.findings)?;
        let (resource, amount) = (self.resource(&fields), self.amount(&fields));
        let (from, to) = (self.event(&fields, "from"), self.event(&fields, "to"));
        Some(Occupancy { resource: resource?, amount, from: from?, to: to? })
    }
}

/// Where a task and its modes stand.
struct TaskSource<'a> {
    own: Source<'a>,
    modes: Vec<Source<'a>>,
}

/// Where the parts of a problem stand.
struct Sources<'a> {
    tasks: Vec<TaskSource<'a>>,
    stocks: Vec<Node<'a>>,
    links: Vec<Source<'a>>,
    occupancies: Vec<Source<'a>>,
}

impl Sources<'_> {
    /// Reports what the vocabulary finds wrong, except with what was not read whole: there
    /// it may follow from a mistake that is reported already.
    fn report(&self, fields: &Fields<'_>, faults: &[Fault], findings: &mut Findings<'_>) {
        for fault in faults {
            let stock = match fault.subject {
                // A stock that is read is whole, or there is a mistake already.
                Subject::Stock(stock) => self.stocks.get(stock.at()),
                _ => None,
            };
            let source = match fault.subject {
                Subject::Problem | Subject::Stock(_) => None,
                Subject::Task(task) => Some(&self.tasks[task.at()].own),
                Subject::Mode(task, mode) => {
                    Some(&self.tasks[task.at()].modes[mode.at()])
                }
                Subject::Link(link) => Some(&self.links[link.at()]),
                Subject::Occupancy(occupancy) => Some(&self.occupancies[occupancy.at()]),
            };
            let whole = stock.unwrap_or_else(|| fields.node());
            let node = source.map_or(whole, |source| &source.node);
            let immense = [Problem::IMMENSE, Problem::UNCOUNTABLE];
            let remedy = if immense.contains(&fault.what.as_str()) {
                "count them in a larger unit"
            } else {
                "change it so that this holds"
            };
            if source.is_none_or(|source| source.whole) {
                node.wrong(findings, fault.what.as_str(), remedy);
            }
        }
    }
}

#[cfg(test)]
mod tests;
