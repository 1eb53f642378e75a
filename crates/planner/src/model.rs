//! A draft becomes a scheduling problem, and each of its parts keeps its meaning.

use std::collections::{BTreeMap, BTreeSet};

use airframe::{GearId, SkillId, StandId};
use jiff::civil::DateTime;
use record::{FirmId, Person, PlaceId, Programme};
use timetable::{
    Calendar, CalendarId, Demand, Due, During, Event, Fault, Mode, ModeId, Occupancy,
    Pace, Problem, Profile, Progress, Published, Resource, ResourceId, Task, TaskId,
    Tick, Window,
};

mod happened;
mod never;

use happened::lapse;

use crate::calendars;
use crate::draft::{Draft, Job, JobKind, Lasting, Way};
use crate::grid::{DAY, Grid, ticks};
use crate::pools::{Pool, crew_in, needs, pools};
use crate::spans::{Spans, both};

/// A season's scheduling problem, with what its parts stand for.
#[derive(Debug, Clone)]
pub struct Model<'a> {
    /// The programme.
    pub programme: &'a Programme,
    /// The jobs and links; tasks and links of the problem stand in the same order.
    pub draft: &'a Draft,
    /// Where ticks lie in time.
    pub grid: Grid,
    /// The problem.
    pub problem: Problem,
    /// What each resource stands for.
    pub resources: Vec<ResourceRole>,
    /// What each calendar stands for.
    pub calendars: Vec<CalendarRole>,
    /// The tick from which work that has not begun may begin.
    pub now: Tick,
    /// What somebody should look at, as sentences.
    pub warnings: Vec<String>,
    /// For each job, which of its ways each mode of its task is.
    ways: Vec<Vec<usize>>,
    /// Everybody, with the hours in which they are in.
    pub(crate) people: Vec<(&'a Person, Spans)>,
}

/// What a resource stands for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ResourceRole {
    /// People who have any of these skills.
    Skills(BTreeSet<SkillId>),
    /// Stands of a class.
    Stand(StandId),
    /// Room in a place.
    Place(PlaceId),
    /// Lifting gear.
    Gear(GearId),
    /// What a firm takes in at once.
    Firm(FirmId),
}

/// What a calendar stands for.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct CalendarRole {
    /// The skills whose people must be in, with how many.
    pub crew: Vec<(u32, SkillId)>,
    /// The firm whose day it must be.
    pub firm: Option<FirmId>,
    /// It must be warm.
    pub warm: bool,
    /// It must be dry.
    pub dry: bool,
}

/// Why a draft cannot become a problem.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum ModelError {
    /// The season is too long to be planned in quarter hours.
    #[error("a season of {days} days is too long to plan: {most} at most")]
    TooLong {
        /// How long it is.
        days: i64,
        /// How long it may be.
        most: i64,
    },
    /// Jobs that have no moment in the season, each with why.
    #[error("{}", .0.join("; "))]
    NeverIn(Vec<String>),
    /// A defect of ours: the problem does not hold together.
    #[error("the season's problem does not hold together: {}", .0.join("; "))]
    Faults(Vec<String>),
}

/// Seasons longer than this are refused.
const MOST_DAYS: i64 = 1_500;

/// Resources, calendars and modes while the problem is put together.
struct Parts<'a> {
    programme: &'a Programme,
    grid: Grid,
    shifts: Spans,
    warm: Spans,
    dry: Spans,
    pools: Vec<Pool>,
    resources: Vec<Resource>,
    roles: Vec<ResourceRole>,
    stands: BTreeMap<StandId, ResourceId>,
    places: BTreeMap<PlaceId, ResourceId>,
    gear: BTreeMap<GearId, ResourceId>,
    firms: BTreeMap<FirmId, ResourceId>,
    calendars: Vec<Calendar>,
    calendar_roles: Vec<CalendarRole>,
    known: BTreeMap<CalendarRole, Option<CalendarId>>,
    ways: Vec<Vec<usize>>,
}

impl<'a> Model<'a> {
    /// Makes the problem. With `now`, nothing that has not begun begins before it.
    pub fn new(
        programme: &'a Programme,
        draft: &'a Draft,
        now: Option<DateTime>,
    ) -> Result<Self, ModelError> {
        let grid = grid(draft)?;
        let shifts = calendars::shifts(grid, &draft.season);
        let people: Vec<(&Person, Spans)> = programme
            .people
            .iter()
            .map(|person| (person, calendars::presence(grid, person, &shifts)))
            .collect();
        let mut parts = Parts::new(programme, draft, grid, shifts, &people);
        let now = now.map_or(0, |now| grid.tick(now).clamp(0, grid.horizon()));
        let tasks = parts.tasks(draft, now)?;
        let mut links: Vec<timetable::Link> = draft.links.iter().map(link).collect();
        let mut warnings = lapse(draft, grid, now, &mut links);
        warnings.extend(parts.overdue(draft, now));
        let occupancies = parts.occupancies(draft);
        let Parts { resources, roles, calendars, calendar_roles, ways, .. } = parts;
        let problem =
            Problem::new(grid.horizon(), tasks, resources, calendars, links, occupancies);
        let problem = problem.map_err(|faults| {
            ModelError::Faults(faults.iter().map(Fault::to_string).collect())
        })?;
        let (resources, calendars) = (roles, calendar_roles);
        Ok(Self {
            programme,
            draft,
            grid,
            problem,
            resources,
            calendars,
            now,
            warnings,
            ways,
            people,
        })
    }

    /// The way in which a schedule does a job.
    pub fn way(&self, job: usize, mode: ModeId) -> Option<&Way> {
        let way = self.ways.get(job)?.get(mode.at())?;
        self.draft.jobs.get(job)?.ways.get(*way)
    }

    /// The tick by which the aircraft should stand complete: the end of the gate date.
    pub fn gate(&self) -> Tick {
        self.grid.midnight(self.draft.season.until) + DAY
    }
}

/// The season and as long again, half a year at least: a late plan must be able to say how
/// late it is.
fn grid(draft: &Draft) -> Result<Grid, ModelError> {
    let season = &draft.season;
    let days = season.until.duration_since(season.from).as_hours() / 24 + 1;
    if days > MOST_DAYS {
        return Err(ModelError::TooLong { days, most: MOST_DAYS });
    }
    let days = days.max(1);
    Ok(Grid::new(season.from, (days + days.max(183)) as i32))
}

fn link(link: &crate::draft::Link) -> timetable::Link {
    let (from, to) = (TaskId::new(link.from), TaskId::new(link.to));
    timetable::Link {
        least: Some(ticks(link.at_least)),
        greatest: link.at_most.map(|minutes| ticks(minutes).max(ticks(link.at_least))),
        ..timetable::Link::after(from, to)
    }
}

impl<'a> Parts<'a> {
    fn new(
        programme: &'a Programme,
        draft: &Draft,
        grid: Grid,
        shifts: Spans,
        people: &[(&Person, Spans)],
    ) -> Self {
        let asked: BTreeSet<SkillId> = draft
            .jobs
            .iter()
            .flat_map(|job| &job.ways)
            .flat_map(|way| &way.crew)
            .map(|crew| crew.skill.clone())
            .collect();
        let mut parts = Self {
            programme,
            grid,
            warm: calendars::warm(grid, &draft.season),
            dry: calendars::dry(grid, &draft.season),
            shifts,
            pools: pools(people, &asked),
            resources: Vec::new(),
            roles: Vec::new(),
            stands: BTreeMap::new(),
            places: BTreeMap::new(),
            gear: BTreeMap::new(),
            firms: BTreeMap::new(),
            calendars: Vec::new(),
            calendar_roles: Vec::new(),
            known: BTreeMap::new(),
            ways: Vec::new(),
        };
        parts.resources();
        parts
    }

    /// Pools first, so that a pool's number is its resource's.
    fn resources(&mut self) {
        for pool in self.pools.clone() {
            let names: Vec<&str> = pool.skills.iter().map(quantity::Id::as_str).collect();
            let capacity = Profile::new(pool.steps).unwrap_or(Profile::constant(0));
            self.resources.push(Resource { name: names.join(" or "), capacity });
            self.roles.push(ResourceRole::Skills(pool.skills));
        }
        let programme = self.programme;
        for stand in programme.stands.iter() {
            let role = ResourceRole::Stand(stand.id.clone());
            let id = self.resource(&stand.name, stand.count, role);
            self.stands.insert(stand.id.clone(), id);
        }
        for place in programme.places.iter() {
            let role = ResourceRole::Place(place.id.clone());
            let id = self.resource(&place.name, place.room, role);
            self.places.insert(place.id.clone(), id);
        }
        for gear in programme.gear.iter() {
            let role = ResourceRole::Gear(gear.id.clone());
            let id = self.resource(&gear.name, gear.count, role);
            self.gear.insert(gear.id.clone(), id);
        }
        for firm in programme.firms.iter() {
            if let Some(room) = firm.at_once {
                let role = ResourceRole::Firm(firm.id.clone());
                let id = self.resource(&firm.name, room, role);
                self.firms.insert(firm.id.clone(), id);
            }
        }
    }

    fn resource(&mut self, name: &str, count: u32, role: ResourceRole) -> ResourceId {
        self.resources
            .push(Resource { name: name.to_owned(), capacity: Profile::constant(count) });
        self.roles.push(role);
        ResourceId::new(self.resources.len() - 1)
    }

    fn tasks(&mut self, draft: &Draft, now: Tick) -> Result<Vec<Task>, ModelError> {
        let mut never = Vec::new();
        let gate = self.grid.midnight(draft.season.until) + DAY;
        let mut tasks = Vec::with_capacity(draft.jobs.len());
        for (number, job) in draft.jobs.iter().enumerate() {
            let ways = job.ways.iter().enumerate();
            let (ways, modes): (Vec<usize>, Vec<Mode>) = ways
                .filter_map(|(at, way)| Some((at, self.mode(draft, job, way, at)?)))
                .unzip();
            self.ways.push(ways);
            if modes.is_empty() {
                never.push(never::never(self, job));
                continue;
            }
            let due = (job.lasting == Lasting::Moment && job.key.0 == "COMPLETE")
                .then_some(Due { at: gate, weight: 1 });
            let past = draft.past.get(&number);
            let progress =
                past.map_or(Progress::Todo, |past| self.progress(job, past, &modes, now));
            let mut task = Task::new(job.key.to_string(), Mode::elapsed(0, Vec::new()));
            task.modes = modes;
            let tried =
                draft.not_before.get(&number).map_or(0, |from| self.within(*from));
            task.release = if progress == Progress::Todo { now.max(tried) } else { 0 };
            task.due = due;
            task.progress = progress;
            task.published = self.published(draft, number, job);
            tasks.push(task);
        }
        if never.is_empty() { Ok(tasks) } else { Err(ModelError::NeverIn(never)) }
    }

    /// One way to do a job; nothing if its crew is never in together, or its firm never.
    fn mode(
        &mut self,
        draft: &Draft,
        job: &Job,
        way: &Way,
        number: usize,
    ) -> Option<Mode> {
        let needs = needs(&self.pools, &way.crew);
        let pace = self.pace(job, way, &needs)?;
        let mut demands: Vec<Demand> = needs
            .iter()
            .map(|&(pool, amount)| Demand::working(ResourceId::new(pool), amount))
            .collect();
        demands.extend(self.fixtures(draft, job));
        let name =
            if number == 0 { String::new() } else { format!("way {}", number + 1) };
        let work = ticks(way.minutes.1);
        Some(Mode { name, pace, ..Mode::elapsed(work, demands) })
    }

    fn pace(&mut self, job: &Job, way: &Way, needs: &[(usize, u32)]) -> Option<Pace> {
        let place = job.place.as_ref().and_then(|place| self.programme.places.get(place));
        let mut role = CalendarRole {
            crew: way.crew.iter().map(|crew| (crew.count, crew.skill.clone())).collect(),
            firm: None,
            warm: job.conditions.warm && !place.is_some_and(|place| place.heated),
            dry: job.conditions.dry && !place.is_some_and(|place| place.dry),
        };
        role.crew.sort();
        let anywhen = !role.warm && !role.dry;
        match &job.lasting {
            Lasting::Moment => Some(Pace::Elapsed),
            Lasting::Elapsed if anywhen => Some(Pace::Elapsed),
            Lasting::Elapsed => {
                let all = vec![Window { from: 0, until: self.grid.horizon() }];
                self.calendar(role, &all).map(Pace::Whole)
            }
            Lasting::Worked { unbroken } => {
                let there = crew_in(&self.pools, needs, self.grid.horizon());
                let there = both(&there, &self.shifts);
                let pace = if *unbroken { Pace::Whole } else { Pace::Pausing };
                self.calendar(role, &there).map(pace)
            }
            Lasting::Collection(firm) | Lasting::FirmHere(firm) => {
                let of = self.programme.firms.get(firm)?;
                let there = calendars::collection(self.grid, of, &self.shifts);
                role.firm = Some(firm.clone());
                let whole = matches!(job.lasting, Lasting::Collection(_));
                let pace = if whole { Pace::Whole } else { Pace::Pausing };
                self.calendar(role, &there).map(pace)
            }
            Lasting::AtFirm(firm) => {
                let of = self.programme.firms.get(firm)?;
                if of.closed.is_empty() {
                    return Some(Pace::Elapsed);
                }
                let there = calendars::open_for_work(self.grid, of);
                let role = CalendarRole { firm: Some(firm.clone()), ..role };
                // Its own calendar: the collection days of the same firm are another.
                let key = CalendarRole { dry: true, warm: true, ..role };
                self.keyed(key, &there).map(Pace::Pausing)
            }
        }
    }

    fn calendar(&mut self, role: CalendarRole, there: &Spans) -> Option<CalendarId> {
        let mut open = there.clone();
        if role.warm {
            open = both(&open, &self.warm);
        }
        if role.dry {
            open = both(&open, &self.dry);
        }
        self.keyed(role, &open)
    }

    fn keyed(&mut self, role: CalendarRole, open: &Spans) -> Option<CalendarId> {
        if let Some(known) = self.known.get(&role) {
            return *known;
        }
        let made = if open.is_empty() { None } else { self.make(&role, open) };
        self.known.insert(role, made);
        made
    }

    fn make(&mut self, role: &CalendarRole, open: &Spans) -> Option<CalendarId> {
        let calendar = Calendar::new(crate::words::calendar(role), open.clone()).ok()?;
        self.calendars.push(calendar);
        self.calendar_roles.push(role.clone());
        Some(CalendarId::new(self.calendars.len() - 1))
    }

    /// Place, stand, gear and firm that a job uses for the whole of it.
    fn fixtures(&self, draft: &Draft, job: &Job) -> Vec<Demand> {
        let place = job.place.as_ref().and_then(|place| self.places.get(place));
        let own = draft.occupations.iter().any(|held| {
            Some(&held.item) == job.item.as_ref()
                && Some(&held.stand) == job.stand.as_ref()
        });
        // An item that sits on such a stand already needs no second one.
        let stand = job.stand.as_ref().filter(|_| !own).and_then(|s| self.stands.get(s));
        let gear: BTreeSet<&ResourceId> =
            job.gear.iter().filter_map(|gear| self.gear.get(gear)).collect();
        let firm = match &job.lasting {
            Lasting::AtFirm(firm) | Lasting::FirmHere(firm) => self.firms.get(firm),
            _ => None,
        };
        let all = place.into_iter().chain(stand).chain(gear).chain(firm);
        all.map(|&resource| Demand { resource, amount: 1, during: During::Throughout })
            .collect()
    }

    /// Where the adopted plan has a job. When the aircraft stands complete may move freely:
    /// that is what a better plan is for.
    fn published(&self, draft: &Draft, number: usize, job: &Job) -> Option<Published> {
        let from = draft.published.get(&number)?;
        let moves = job.kind == JobKind::Complete || draft.past.contains_key(&number);
        (!moves).then(|| Published { start: self.within(*from), weight: 1 })
    }

    fn occupancies(&self, draft: &Draft) -> Vec<Occupancy> {
        let complete = draft.jobs.len() - 1;
        let held = draft.occupations.iter().filter_map(|held| {
            let resource = *self.stands.get(&held.stand)?;
            // What does not go back holds its stand to the end, for which the last task stands.
            let to = Event::finish(TaskId::new(held.to.unwrap_or(complete)));
            let from = Event::start(TaskId::new(held.from));
            Some(Occupancy { resource, amount: 1, from, to })
        });
        held.collect()
    }
}
