//! A card as the bench works by it: its steps in order, and the one thing that whoever holds
//! it can do next. Whether they can is asked of the record's own rules.

use jiff::civil::DateTime;
use planner::JobKind;
use record::act::{Countersign, Finish, Inspect, SignStep, Start, TakeOver, Verdict};
use record::shop::{Card, Mark, StepState};
use record::{Act, JobKey, PersonId, Programme, Refusal, RuleKey, Stamp};

use crate::today::range;
use crate::{AppError, Thing};

/// A card for whoever holds it.
#[derive(Debug, Clone, PartialEq)]
pub struct Bench {
    /// The job.
    pub job: String,
    /// What is done.
    pub title: String,
    /// The item on which it is done, and what people call it.
    pub item: Option<(String, String)>,
    /// The part and serial number of the item, as far as they are known.
    pub numbers: String,
    /// The pack.
    pub pack: Option<String>,
    /// By whom and when it was issued.
    pub issued: Signature,
    /// Who is at it, and since when.
    pub present: Vec<(String, DateTime)>,
    /// Whoever looks is at it.
    pub mine: bool,
    /// A handover that nobody has taken.
    pub offer: Option<Offered>,
    /// The steps, in order.
    pub steps: Vec<BenchStep>,
    /// What can be done about the card as a whole, in the order in which it is offered.
    pub acts: Vec<&'static str>,
    /// Why it can't be picked up, if it can't.
    pub why_not: Vec<String>,
    /// Tools that are out for it.
    pub tools: Vec<String>,
    /// Hours that whoever looks has spent on it.
    pub hours: String,
    /// By whom and when it was certified complete.
    pub finished: Option<Signature>,
}

/// A signature that stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Signature {
    /// Who, by their full name.
    pub who: String,
    /// Their name in the programme.
    pub person: String,
    /// When.
    pub at: DateTime,
    /// The entry.
    pub entry: u64,
}

/// What was written when a card was handed over.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Offered {
    /// By whom.
    pub from: String,
    /// To whom.
    pub to: String,
    /// To whoever looks.
    pub to_me: bool,
    /// What was written: what it is about, and the words.
    pub words: Vec<(&'static str, String)>,
}

/// A step.
#[derive(Debug, Clone, PartialEq)]
pub struct BenchStep {
    /// Its name on the card.
    pub step: String,
    /// What is to be done.
    pub text: String,
    /// The document that it follows, with its revision; nothing if none is named.
    pub data: Option<String>,
    /// A mistake in it could endanger the aircraft.
    pub critical: bool,
    /// It is inspected before the next step.
    pub inspected: bool,
    /// It is inspected twice.
    pub independent: bool,
    /// What is measured.
    pub limits: Vec<BenchLimit>,
    /// What was measured, as it was signed.
    pub readings: Vec<String>,
    /// Photographs of it, by the digest under which each was attached.
    pub photographs: Vec<String>,
    /// Who signed it.
    pub signed: Option<Signature>,
    /// Who supervises, and their own signature.
    pub supervisor: Option<(String, Option<Signature>)>,
    /// The first inspection.
    pub first: Option<Signature>,
    /// The second one.
    pub second: Option<Signature>,
    /// Queries that are open.
    pub queries: Vec<String>,
    /// What it lacks; nothing if it is complete.
    pub lacks: Option<&'static str>,
    /// What whoever looks can do about it now.
    pub act: Option<&'static str>,
    /// Why they can't, if they can't and it lacks something.
    pub waits: Vec<String>,
}

/// What is measured in a step.
#[derive(Debug, Clone, PartialEq)]
pub struct BenchLimit {
    /// What.
    pub name: String,
    /// Between what it must lie, with the unit.
    pub range: String,
    /// The unit; blank if it has none, and then it needs no instrument.
    pub unit: String,
}

/// A card for a person at a moment.
///
/// # Errors
/// If there is no such card.
pub fn bench(
    programme: &Programme,
    job: &str,
    person: &str,
    now: DateTime,
) -> Result<Bench, AppError> {
    let key = JobKey(job.to_owned());
    let Some(card) = programme.shop.cards.cards.get(&key) else {
        return Err(AppError::Unknown(format!("there is no card {job}")));
    };
    let by = PersonId::new(person)
        .map_err(|error| AppError::Unknown(format!("`{person}`: {error}")))?;
    let look = Look { programme, key, card, by, now };
    Ok(look.bench())
}

struct Look<'a> {
    programme: &'a Programme,
    key: JobKey,
    card: &'a Card,
    by: PersonId,
    now: DateTime,
}

impl Look<'_> {
    fn bench(&self) -> Bench {
        let card = self.card;
        let item = card.item.as_ref().and_then(|item| self.programme.items.get(item));
        let numbers = item.map_or_else(String::new, |item| {
            let number = |word: &str, text: &Option<String>| {
                text.as_ref().map(|text| format!("{word} {text}"))
            };
            let both = [
                number("part number", &item.part_number),
                number("serial number", &item.serial),
            ];
            both.into_iter().flatten().collect::<Vec<_>>().join(", ")
        });
        let (acts, why_not) = self.acts();
        let sessions = card.sessions.iter().filter(|session| session.until.is_none());
        let tools = self.programme.shop.tools.out_for(&self.key);
        Bench {
            job: self.key.to_string(),
            title: card.title.clone(),
            item: item.map(|item| (item.id.to_string(), item.name.clone())),
            numbers,
            pack: card.pack.as_ref().map(ToString::to_string),
            issued: self.signature(&card.issued),
            present: sessions.map(|s| (self.called(&s.person), s.from)).collect(),
            mine: card.is_at(&self.by),
            offer: self.offer(),
            steps: card.steps.iter().map(|step| self.step(step)).collect(),
            acts,
            why_not,
            tools: tools.iter().map(ToString::to_string).collect(),
            hours: quantity::Notation::print(card.hours_of(&self.by)),
            finished: card.finished.as_ref().map(|mark| self.signature(mark)),
        }
    }

    fn called(&self, person: &PersonId) -> String {
        let found = self.programme.people.get(person);
        found.map_or_else(|| person.to_string(), |person| person.name.clone())
    }

    fn signature(&self, mark: &Mark) -> Signature {
        Signature {
            who: self.called(&mark.by),
            person: mark.by.to_string(),
            at: mark.at,
            entry: mark.entry,
        }
    }

    /// What the record would say. A clock of this machine that is behind is told when
    /// somebody signs.
    fn judged(&self, act: impl Into<Act>) -> Vec<Refusal> {
        let last = self.programme.shop.last;
        let at = last.map_or(self.now, |last| last.max(self.now));
        let stamp = Stamp { number: 0, at, by: self.by.clone() };
        self.programme.judge(&act.into(), &stamp).err().unwrap_or_default()
    }

    fn may(&self, act: impl Into<Act>) -> bool {
        self.judged(act).is_empty()
    }

    /// What can be done about the card as a whole, and why it can't be picked up.
    fn acts(&self) -> (Vec<&'static str>, Vec<String>) {
        let (card, job) = (self.card, &self.key);
        if card.is_finished() {
            return (Vec::new(), Vec::new());
        }
        let mut acts = Vec::new();
        let mut why_not = Vec::new();
        let mine = card.is_at(&self.by);
        if self.may(TakeOver { job: job.clone(), spoken: true }) {
            acts.push("take-over");
        } else if !mine {
            let refused = self.judged(Start { job: job.clone() });
            if refused.is_empty() {
                acts.push("start");
            }
            why_not.extend(refused.into_iter().map(|refusal| refusal.what));
        }
        if self.may(Finish { job: job.clone(), clear: true }) {
            acts.push("finish");
        }
        if mine {
            acts.extend(["pause", "hand-over"]);
        } else if card.left_by.as_ref() == Some(&self.by) {
            acts.push("hand-over");
        }
        if card.steps.iter().any(|step| step.signed.is_none()) {
            acts.push("query");
        }
        if card.steps.iter().any(|step| step.signed.is_some()) {
            acts.push("disturb");
        }
        acts.push("hours");
        (acts, why_not)
    }

    fn offer(&self) -> Option<Offered> {
        let offer = self.card.offer.as_ref()?;
        let words = &offer.words;
        let tools: Vec<String> = words.tools.iter().map(ToString::to_string).collect();
        let mut told = vec![
            ("done", words.done.clone()),
            ("next", words.next.clone()),
            ("loose", words.loose.clone()),
            ("off", words.off.clone()),
            ("hazards", words.hazards.clone()),
        ];
        if !tools.is_empty() {
            told.push(("tools that stay", tools.join(", ")));
        }
        Some(Offered {
            from: self.called(&offer.from),
            to: self.called(&words.to),
            to_me: words.to == self.by,
            words: told,
        })
    }

    fn step(&self, step: &StepState) -> BenchStep {
        let spec = &step.spec;
        let data = spec.data.as_ref().map(|data| match &spec.revision {
            Some(revision) => format!("{data}, revision {revision}"),
            None => format!("{data}, revision not named"),
        });
        let limits = spec.limits.iter().map(|limit| BenchLimit {
            name: limit.name.clone(),
            range: range(limit),
            unit: limit.unit.clone(),
        });
        let supervisor = step.signed.as_ref().and_then(|signed| {
            let own = signed.countersigned.as_ref().map(|mark| self.signature(mark));
            Some((self.called(signed.supervisor.as_ref()?), own))
        });
        let (act, waits) = self.next(step);
        BenchStep {
            step: spec.id.to_string(),
            text: spec.text.clone(),
            data,
            critical: spec.critical,
            inspected: spec.inspected || spec.independent,
            independent: spec.independent,
            limits: limits.collect(),
            readings: readings(step),
            photographs: self.photographs(step),
            signed: step.signed.as_ref().map(|signed| self.signature(&signed.mark)),
            supervisor,
            first: step.first.as_ref().map(|look| self.signature(&look.mark)),
            second: step.second.as_ref().map(|look| self.signature(&look.mark)),
            queries: step.queries.iter().map(ToString::to_string).collect(),
            lacks: step.lacks(),
            act,
            waits,
        }
    }

    /// Those that were not discarded.
    fn photographs(&self, step: &StepState) -> Vec<String> {
        let all = step.signed.iter().flat_map(|signed| &signed.photographs);
        let all = all.map(ToString::to_string);
        all.filter(|digest| !self.programme.is_discarded(digest)).collect()
    }

    /// What whoever looks can do about a step, or why not. What they are still to type
    /// (values, a supervisor) is not held against them.
    fn next(&self, step: &StepState) -> (Option<&'static str>, Vec<String>) {
        if step.lacks().is_none() || self.card.is_finished() {
            return (None, Vec::new());
        }
        let (job, id) = (self.key.clone(), step.spec.id.clone());
        let (word, refused) = if step.signed.is_none() {
            let (readings, supervisor, note) = (Vec::new(), None, None);
            let photographs = Vec::new();
            let act = SignStep { job, step: id, readings, supervisor, note, photographs };
            let mut refused = self.judged(act);
            refused.retain(|refusal| {
                use RuleKey as R;
                !matches!(refusal.rule, R::Limits | R::Calibration | R::Supervision)
            });
            ("sign-step", refused)
        } else if !step.is_signed() {
            ("countersign", self.judged(Countersign { job, step: id }))
        } else {
            let act = Inspect {
                job,
                step: id,
                checked: vec!["asked in advance".to_owned()],
                verdict: Verdict::Pass,
                finding: None,
                alone: None,
                allowed_by: None,
            };
            ("inspect", self.judged(act))
        };
        if refused.is_empty() {
            return (Some(word), Vec::new());
        }
        (None, refused.into_iter().map(|refusal| refusal.what).collect())
    }
}

/// What was measured, with unit and instrument.
fn readings(step: &StepState) -> Vec<String> {
    let signed = step.signed.iter().flat_map(|signed| &signed.readings);
    let told = signed.map(|reading| {
        let limit = step.spec.limits.iter().find(|limit| limit.name == reading.name);
        let unit = limit.map_or("", |limit| limit.unit.as_str());
        let space = if unit.is_empty() { "" } else { " " };
        let tool = reading.instrument.as_ref();
        let tool = tool.map_or_else(String::new, |tool| format!(" ({tool})"));
        format!("{} {}{space}{unit}{tool}", reading.name, reading.value)
    });
    told.collect()
}

/// Whether somebody works under supervision.
pub fn is_supervised(programme: &Programme, person: &str) -> bool {
    let known = programme.people.iter().find(|known| known.id.as_str() == person);
    known.is_none_or(|person| person.standing == record::Standing::Volunteer)
}

/// Instruments, each with what it is called and measures.
pub fn instruments(programme: &Programme) -> Vec<Thing> {
    let measure = programme.tools.iter().filter(|tool| tool.measures);
    let told = measure.map(|tool| {
        let range = tool.range.as_ref().map(|range| format!(", {range}"));
        let what = format!("{}{}", tool.name, range.unwrap_or_default());
        Thing { noun: "tool", name: tool.id.to_string(), what }
    });
    told.collect()
}

/// A value as the acts take it: `torque = 42.5 (TW-3)`.
pub fn reading_text(name: &str, value: &str, tool: &str) -> String {
    let tool = tool.trim();
    let tool = if tool.is_empty() { String::new() } else { format!(" ({tool})") };
    format!("{} = {}{tool}", name.trim(), value.trim())
}

/// A name that no query has yet: a number after the highest.
pub fn next_query(programme: &Programme) -> String {
    let queries = programme.shop.cards.queries.keys();
    let numbers =
        queries.filter_map(|name| name.as_str().strip_prefix("Q-")?.parse().ok());
    let highest: u64 = numbers.max().unwrap_or(0);
    format!("Q-{:03}", highest.saturating_add(1))
}

/// The general cautions that go with the work of a card, as common practice has them; the
/// approved data come first. They are chosen by what the record knows of the job.
pub fn cautions(programme: &Programme, job: &str) -> Vec<&'static str> {
    let mut all = vec![
        "Follow the approved data named at each step; this card does not replace them.",
    ];
    let item = programme.shop.cards.cards.get(&JobKey(job.to_owned()));
    let item = item.and_then(|card| programme.items.get(card.item.as_ref()?));
    let kind = kind_of(job);
    if matches!(kind, Some(JobKind::Remove | JobKind::Refit)) {
        all.push(
            "Make safe first: power off, pressure released, fluids drained, controls locked; \
             the aircraft supported as planned.",
        );
    }
    if item.is_some_and(|item| item.stand.is_some() || has_gear(item)) {
        all.push(
            "Lifting: only gear whose examination is in date, nobody beneath the load, one \
             person gives the signals.",
        );
    }
    if item.is_some_and(|item| item.vital) {
        all.push(
            "A mistake here could lose the aircraft: independent inspection, nothing from \
             memory.",
        );
    }
    all.push("Count tools, rags and loose parts before you leave it.");
    all
}

fn kind_of(job: &str) -> Option<JobKind> {
    match job.split_once(':')?.0 {
        "OFF" => Some(JobKind::Remove),
        "ON" => Some(JobKind::Refit),
        _ => None,
    }
}

fn has_gear(item: &airframe::Item) -> bool {
    let both = item.removal.iter().chain(&item.refit);
    both.into_iter().any(|handling| !handling.gear.is_empty())
}
