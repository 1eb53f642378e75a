//! From a problem to a document.

use std::fmt::Write as _;

use timetable::{
    Calendar, CalendarId, Clock, Demand, During, End, Event, Link, Mode, ModeId,
    Occupancy, Pace, Problem, Progress, Resource, ResourceId, Stock, Take, Task,
};

use crate::names::Names;
use crate::read::FORMAT;

/// Writes a problem as a document: one line for each calendar, resource, stock, task, link
/// and occupancy. [`read`](crate::read()) gives an equal problem back.
///
/// A thing is referred to by its name where the name is its alone, else by its position.
/// What has its usual value is left out.
pub fn write(problem: &Problem) -> String {
    let names = |noun, names: Vec<&str>| {
        Names::new(noun, names.into_iter().map(str::to_owned).collect())
    };
    let calendars = problem.calendars().iter().map(Calendar::name).collect();
    let resources = problem.resources().iter().map(|r| r.name.as_str()).collect();
    let tasks = problem.tasks().iter().map(|task| task.name.as_str()).collect();
    let writer = Writer {
        calendars: names("calendar", calendars),
        resources: names("resource", resources),
        stocks: names(
            "stock",
            problem.stocks().iter().map(|s| s.name.as_str()).collect(),
        ),
        tasks: names("task", tasks),
    };
    let lists = [
        ("calendars", problem.calendars().iter().map(calendar).collect()),
        ("resources", problem.resources().iter().map(resource).collect()),
        ("stocks", problem.stocks().iter().map(stock).collect()),
        ("tasks", problem.tasks().iter().map(|task| writer.task(task)).collect()),
        ("links", problem.links().iter().map(|link| writer.link(link)).collect()),
        (
            "occupancies",
            problem.occupancies().iter().map(|held| writer.occupancy(held)).collect(),
        ),
    ];
    let mut text =
        format!("{{\n  \"format\": {FORMAT},\n  \"horizon\": {}", problem.horizon());
    for (name, elements) in lists {
        let elements: Vec<String> = elements;
        // Documents of problems without stocks are as they always were.
        if name == "stocks" && elements.is_empty() {
            continue;
        }
        // Writing to a string can't fail.
        let _ = write!(text, ",\n  \"{name}\": [");
        for (number, element) in elements.iter().enumerate() {
            let comma = if number == 0 { "" } else { "," };
            let _ = write!(text, "{comma}\n    {element}");
        }
        text.push_str(if elements.is_empty() { "]" } else { "\n  ]" });
    }
    text.push_str("\n}\n");
    text
}

/// An object on one line; its fields keep the order in which they are put in.
#[derive(Default)]
struct Object(String);

impl Object {
    fn put(mut self, name: &str, value: impl std::fmt::Display) -> Self {
        let comma = if self.0.is_empty() { "" } else { ", " };
        let _ = write!(self.0, "{comma}\"{name}\": {value}");
        self
    }

    /// Puts a field in unless it has its usual value.
    fn put_unless<T: std::fmt::Display>(self, usual: bool, name: &str, value: T) -> Self {
        if usual { self } else { self.put(name, value) }
    }

    fn put_some<T: std::fmt::Display>(self, name: &str, value: Option<T>) -> Self {
        match value {
            Some(value) => self.put(name, value),
            None => self,
        }
    }

    fn done(self) -> String {
        format!("{{{}}}", self.0)
    }
}

fn quoted(text: &str) -> String {
    serde_json::Value::from(text).to_string()
}

fn named(name: &str) -> Object {
    Object::default().put_unless(name.is_empty(), "name", quoted(name))
}

fn list(elements: impl Iterator<Item = String>) -> String {
    format!("[{}]", elements.collect::<Vec<_>>().join(", "))
}

/// A reference to the thing at a position.
fn reference(names: &Names, position: usize) -> String {
    names.reference(position).map_or_else(|| position.to_string(), quoted)
}

fn calendar(calendar: &Calendar) -> String {
    let windows = calendar.windows().iter();
    let windows =
        list(windows.map(|window| format!("[{}, {}]", window.from, window.until)));
    named(calendar.name()).put("windows", windows).done()
}

fn resource(resource: &Resource) -> String {
    let object = named(&resource.name);
    match resource.capacity.steps() {
        [(_, level)] => object.put("capacity", level),
        steps => {
            let steps = steps.iter().map(|(from, level)| format!("[{from}, {level}]"));
            object.put("capacity", list(steps))
        }
    }
    .done()
}

fn stock(stock: &Stock) -> String {
    named(&stock.name).put("available", stock.available).done()
}

/// What is referred to.
struct Writer {
    calendars: Names,
    resources: Names,
    stocks: Names,
    tasks: Names,
}

impl Writer {
    fn task(&self, task: &Task) -> String {
        let due = task.due.map(|due| {
            Object::default().put("at", due.at).put("weight", due.weight).done()
        });
        let published = task.published.map(|published| {
            let object = Object::default().put("start", published.start);
            object.put("weight", published.weight).done()
        });
        let names = task.modes.iter().map(|mode| mode.name.clone()).collect();
        let object = named(&task.name)
            .put_unless(task.release == 0, "release", task.release)
            .put_some("deadline", task.deadline)
            .put_some("due", due)
            .put_some("published", published);
        progress(object, task.progress, &Names::new("mode", names))
            .put("modes", list(task.modes.iter().map(|mode| self.mode(mode))))
            .done()
    }

    fn mode(&self, mode: &Mode) -> String {
        let object = named(&mode.name).put("work", mode.work);
        let object = match mode.pace {
            Pace::Elapsed => object,
            Pace::Whole(calendar) => {
                object.put("pace", "\"whole\"").put("calendar", self.calendar(calendar))
            }
            Pace::Pausing(calendar) => {
                object.put("pace", "\"pausing\"").put("calendar", self.calendar(calendar))
            }
        };
        let uses = list(mode.demands.iter().map(|demand| self.demand(demand)));
        let takes = list(mode.takes.iter().map(|take| self.take(take)));
        object
            .put_unless(mode.demands.is_empty(), "uses", uses)
            .put_unless(mode.takes.is_empty(), "takes", takes)
            .put_unless(mode.cost == 0, "cost", mode.cost)
            .done()
    }

    fn demand(&self, demand: &Demand) -> String {
        let working = demand.during == During::Working;
        Object::default()
            .put("resource", self.resource(demand.resource))
            .put_unless(demand.amount == 1, "amount", demand.amount)
            .put_unless(!working, "during", "\"working\"")
            .done()
    }

    fn take(&self, take: &Take) -> String {
        Object::default()
            .put("stock", reference(&self.stocks, take.stock.at()))
            .put_unless(take.amount == 1, "amount", take.amount)
            .done()
    }

    fn link(&self, link: &Link) -> String {
        let object = Object::default()
            .put("from", self.event(link.from))
            .put("to", self.event(link.to))
            .put_some("least", link.least)
            .put_some("greatest", link.greatest);
        match link.clock {
            Clock::Elapsed => object,
            Clock::Working(calendar) => object.put("clock", self.calendar(calendar)),
        }
        .done()
    }

    fn occupancy(&self, held: &Occupancy) -> String {
        Object::default()
            .put("resource", self.resource(held.resource))
            .put_unless(held.amount == 1, "amount", held.amount)
            .put("from", self.event(held.from))
            .put("to", self.event(held.to))
            .done()
    }

    fn event(&self, event: Event) -> String {
        let end = match event.end {
            End::Start => "start",
            End::Finish => "finish",
        };
        Object::default().put(end, reference(&self.tasks, event.task.at())).done()
    }

    fn calendar(&self, calendar: CalendarId) -> String {
        reference(&self.calendars, calendar.at())
    }

    fn resource(&self, resource: ResourceId) -> String {
        reference(&self.resources, resource.at())
    }
}

fn progress(object: Object, progress: Progress, modes: &Names) -> Object {
    let begun = |mode: ModeId, start| {
        let mode = reference(modes, mode.at());
        Object::default().put("mode", mode).put("start", start)
    };
    match progress {
        Progress::Todo => object,
        Progress::Started { mode, start, resume, left } => {
            let facts = begun(mode, start).put("resume", resume).put("left", left);
            object.put("started", facts.done())
        }
        Progress::Done { mode, start, finish } => {
            object.put("done", begun(mode, start).put("finish", finish).done())
        }
    }
}
