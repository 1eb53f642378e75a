//! A plan on a screen: some days of it, its jobs as a list, what is said of one job, and all of
//! it as data for a page that draws by itself.

use charts::{Beside, JobView, PlanView, Window};
use jiff::civil::{Date, DateTime, Weekday};
use record::Programme;

use crate::SeasonPlan;
use crate::view::plan_view;

/// So many jobs are listed at once.
const PAGE: usize = 100;

/// What somebody wants to see of a plan.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct TimelineAsk {
    /// The word of a lane set; nothing for the first.
    pub lanes: Option<String>,
    /// The first day; nothing for the season's first.
    pub from: Option<Date>,
    /// The last day; nothing for the season's last.
    pub until: Option<Date>,
    /// Words that a job must have: in its name, its key, its pack, its people, stand or firm.
    pub find: String,
    /// Which hundred of the list, from 0.
    pub page: usize,
    /// The job that is looked at.
    pub job: Option<String>,
}

/// A lane set that can be chosen.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LaneWord {
    /// Its word: `pack`, `stand`, `person`, `firm`.
    pub word: String,
    /// What it is called.
    pub name: String,
    /// Whether it is shown.
    pub shown: bool,
}

/// A job in the list.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct JobLine {
    /// Its name in the plan.
    pub key: String,
    /// What is done.
    pub name: String,
    /// The pack that it belongs to.
    pub pack: String,
    /// What sort of work it is.
    pub kind: &'static str,
    /// When it begins.
    pub start: DateTime,
    /// When it ends.
    pub finish: DateTime,
    /// When it began by the adopted plan, where that is another time.
    pub was: Option<DateTime>,
    /// Who does it: people, a firm.
    pub who: String,
    /// How far it could slip.
    pub slack: String,
    /// Whether it is one of those that set the date.
    pub driving: bool,
    /// Whether it is done.
    pub done: bool,
}

/// Some days of a plan.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Timeline {
    /// The chart, as HTML.
    pub still: String,
    /// The lane sets.
    pub lanes: Vec<LaneWord>,
    /// The days that are shown.
    pub window: (Date, Date),
    /// All days of the plan.
    pub whole: (Date, Date),
    /// The jobs of these days with these words, by when they begin; a hundred of them.
    pub rows: Vec<JobLine>,
    /// How many there are.
    pub found: usize,
    /// How many jobs the plan has.
    pub all: usize,
    /// Which hundred is listed, and how many there are.
    pub page: (usize, usize),
    /// What tells this plan from any other: data of it may be kept under this.
    pub version: String,
}

/// What is said of one job.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct JobTold {
    /// The job as it is listed.
    pub line: JobLine,
    /// Why it begins when it does.
    pub why: String,
    /// Name and value of what else is known: item, place, stand.
    pub facts: Vec<(&'static str, String)>,
    /// The jobs that it follows: name in the plan, what is done, when that ends.
    pub after: Vec<(String, String, DateTime)>,
    /// The jobs that follow it: name in the plan, what is done, when that begins.
    pub before: Vec<(String, String, DateTime)>,
    /// Whether it has begun, and so can't be put off.
    pub begun: bool,
}

/// The view of a plan as it is read on a day; nothing where there is no plan.
fn view(programme: &Programme, planned: &SeasonPlan, today: Date) -> Option<PlanView> {
    let plan = planned.plan.as_ref()?;
    let mut view = plan_view(programme, planned, plan, "");
    view.today = Some(today);
    Some(view)
}

/// Some days of a plan; nothing where there is no plan. `now` is the programme as it stands,
/// whose adopted plan is shown beside; `link` makes the address at which a job is looked at.
pub fn timeline(
    (programme, planned): (&Programme, &SeasonPlan),
    now: &Programme,
    ask: &TimelineAsk,
    today: Date,
    link: &dyn Fn(&str) -> String,
) -> Option<Timeline> {
    let view = view(programme, planned, today)?;
    let whole = Window::whole(&view);
    let clamp = |day: Date| day.clamp(whole.from, whole.until);
    let from = clamp(ask.from.unwrap_or(whole.from));
    let window =
        Window { from, until: clamp(ask.until.unwrap_or(whole.until)).max(from) };
    let word = |name: &str| name.split(' ').next_back().unwrap_or(name).to_lowercase();
    let wanted = ask.lanes.as_deref();
    let set = view.lanes.iter().position(|set| Some(word(&set.name).as_str()) == wanted);
    let set = set.unwrap_or(0);
    let lanes = view.lanes.iter().enumerate().map(|(at, lanes)| LaneWord {
        word: word(&lanes.name),
        name: lanes.name.clone(),
        shown: at == set,
    });
    let beside = beside(planned, now);
    let words: Vec<String> = ask.find.split_whitespace().map(str::to_lowercase).collect();
    let mut jobs: Vec<&JobView> =
        view.jobs.iter().filter(|job| window.holds(job) && has(job, &words)).collect();
    jobs.sort_by(|a, b| (a.start, a.finish, &a.key).cmp(&(b.start, b.finish, &b.key)));
    let pages = jobs.len().div_ceil(PAGE).max(1);
    let page = ask.page.min(pages - 1);
    let rows = jobs.iter().skip(page * PAGE).take(PAGE).map(|job| line(job, &beside));
    Some(Timeline {
        still: charts::still(&view, set, window, ask.job.as_deref(), link),
        lanes: lanes.collect(),
        window: (window.from, window.until),
        whole: (whole.from, whole.until),
        rows: rows.collect(),
        found: jobs.len(),
        all: view.jobs.len(),
        page: (page, pages),
        version: version(&view),
    })
}

/// A digest of where every job lies.
fn version(view: &PlanView) -> String {
    let lie =
        view.jobs.iter().map(|job| format!("{} {} {}\n", job.key, job.start, job.finish));
    let digest = ledger::Digest::of(lie.collect::<String>().as_bytes()).to_string();
    digest.chars().take(16).collect()
}

/// All of a plan as data; see [`charts::timeline_json`].
pub fn timeline_data(
    (programme, planned): (&Programme, &SeasonPlan),
    now: &Programme,
    today: Date,
) -> Option<String> {
    let view = view(programme, planned, today)?;
    Some(charts::timeline_json(&view, &beside(planned, now)))
}

/// What is said of a job; nothing if the plan has none of that name.
pub fn job_told(
    (programme, planned): (&Programme, &SeasonPlan),
    now: &Programme,
    key: &str,
) -> Option<JobTold> {
    let view = view(programme, planned, planned.draft.season.from)?;
    let job = view.jobs.iter().find(|job| job.key == key)?;
    let beside = beside(planned, now);
    let after = view.jobs.iter().filter(|other| job.after.contains(&other.key));
    let before = view.jobs.iter().filter(|other| other.after.iter().any(|k| k == key));
    let facts = [
        ("item", job.item.clone()),
        ("place", job.place.clone()),
        ("stand", job.stand.clone()),
    ];
    let known = facts.into_iter().filter_map(|(name, value)| Some((name, value?)));
    let named = |job: &JobView, at| (job.key.clone(), job.name.clone(), at);
    Some(JobTold {
        line: line(job, &beside),
        why: job.why.clone(),
        facts: known.collect(),
        after: after.map(|job| named(job, job.finish)).collect(),
        before: before.map(|job| named(job, job.start)).collect(),
        begun: beside.begun.contains(key),
    })
}

fn line(job: &JobView, beside: &Beside) -> JobLine {
    let was = beside.was.get(&job.key).map(|(from, _)| *from);
    let who: Vec<&str> = job.people.iter().chain(&job.firm).map(String::as_str).collect();
    JobLine {
        key: job.key.clone(),
        name: job.name.clone(),
        pack: job.pack.clone(),
        kind: job.kind.word(),
        start: job.start,
        finish: job.finish,
        was: was.filter(|was| *was != job.start),
        who: who.join(", "),
        slack: job.slack.clone().unwrap_or_default(),
        driving: job.driving,
        done: job.done,
    }
}

fn has(job: &JobView, words: &[String]) -> bool {
    let texts = [&job.key, &job.name, &job.pack].into_iter().chain(&job.people);
    let texts = texts.chain(&job.stand).chain(&job.firm).chain(&job.place);
    let text = texts.map(|text| text.to_lowercase()).collect::<Vec<_>>().join("\n");
    words.iter().all(|word| text.contains(word))
}

/// The adopted plan, the hours of work, and what has begun.
fn beside(planned: &SeasonPlan, now: &Programme) -> Beside {
    let draft = &planned.draft;
    let adopted = now.shop.plans.adopted.get(&draft.season.id);
    let was = adopted.into_iter().flat_map(|adopted| &adopted.plan.jobs);
    let was = was.map(|job| (job.job.to_string(), (job.from, job.until)));
    let mut hours: [Vec<(u16, u16)>; 7] = Default::default();
    for shift in &draft.season.shifts {
        for (at, day) in WEEK.into_iter().enumerate() {
            if shift.days.holds(day) {
                let minute = |time: jiff::civil::Time| {
                    let parts = [time.hour(), time.minute()];
                    let [hour, minute] = parts.map(|part| u16::from(part.unsigned_abs()));
                    hour * 60 + minute
                };
                hours[at].push((minute(shift.from), minute(shift.until)));
            }
        }
    }
    for day in &mut hours {
        day.sort_unstable();
    }
    let begun = draft.past.keys().map(|&at| draft.jobs[at].key.to_string());
    Beside {
        of: if adopted.is_some() { "the adopted plan".to_owned() } else { String::new() },
        was: was.collect(),
        hours,
        begun: begun.collect(),
    }
}

const WEEK: [Weekday; 7] = [
    Weekday::Monday,
    Weekday::Tuesday,
    Weekday::Wednesday,
    Weekday::Thursday,
    Weekday::Friday,
    Weekday::Saturday,
    Weekday::Sunday,
];
