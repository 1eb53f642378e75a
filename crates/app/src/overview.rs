//! Where the programme stands, and what waits for one person.

use jiff::civil::Date;
use record::act::Power;
use record::shop::{Card, FindingState};
use record::{Condition, JobKey, PersonId, Programme};

use crate::season::choose_season;
use crate::sheets::{ordered, what};
use crate::{About, List, Sheet, sheet};

/// What everybody wants to know first.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Overview {
    /// The first gate that is not open; nothing if all are, or there is none.
    pub next: Option<NextGate>,
    /// The season under way or to come, and its adopted plan.
    pub plan: Option<PlanNow>,
    /// What is off, and where it is.
    pub off: Vec<Off>,
    /// What is late.
    pub late: Vec<Waiting>,
}

/// A gate that is not open.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NextGate {
    /// Its name in the programme.
    pub gate: String,
    /// What people call it.
    pub name: String,
    /// Everything that stands before it: what, by which rule, and what asks for it.
    pub blocks: Vec<(String, String, Option<String>)>,
}

/// A season and the plan that was adopted for it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PlanNow {
    /// The season.
    pub season: String,
    /// Its gate date.
    pub gate_date: Date,
    /// When the aircraft stands complete by the adopted plan; nothing if none was adopted.
    pub complete: Option<Date>,
    /// Days from then to the gate date; negative is late.
    pub margin: Option<i32>,
    /// How many of its jobs are behind.
    pub behind: usize,
}

/// An item that is off.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Off {
    /// Its name in the programme.
    pub item: String,
    /// What people call it.
    pub name: String,
    /// Where it is.
    pub place: String,
    /// Its class.
    pub class: String,
}

/// Something that waits for somebody.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Waiting {
    /// The noun of the thing.
    pub noun: &'static str,
    /// Its name.
    pub name: String,
    /// What waits.
    pub what: String,
    /// The act that it waits for, and the fields of it that are known; nothing if it is not
    /// one act.
    pub act: Option<(&'static str, Vec<(&'static str, String)>)>,
}

/// What waits for one person, kind by kind; kinds of which there is nothing are left out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mine {
    /// What kind it is.
    pub title: &'static str,
    /// What waits.
    pub waiting: Vec<Waiting>,
}

/// How the programme stands on a day.
pub fn overview(programme: &Programme, on: Date) -> Overview {
    let parts = sheet(programme, &About::Parts(None), on).unwrap_or_default();
    let off = rows(&parts, "off").map(|row| Off {
        item: row[0].clone(),
        name: row[1].clone(),
        place: row[2].clone(),
        class: row[3].clone(),
    });
    Overview {
        next: next(programme, on),
        plan: plan(programme, on),
        off: off.collect(),
        late: late(programme, &parts, on),
    }
}

fn rows<'a>(sheet: &'a Sheet, title: &str) -> impl Iterator<Item = &'a Vec<String>> {
    let list: Option<&List> = sheet.lists.iter().find(|list| list.title == title);
    list.into_iter().flat_map(|list| &list.rows)
}

fn next(programme: &Programme, on: Date) -> Option<NextGate> {
    let states = ordered(programme).into_iter();
    let mut states = states.map(|gate| (gate, programme.gate_state(gate, on)));
    let (gate, state) = states.find(|(_, state)| !state.open)?;
    let blocks = state.blocks.into_iter().map(|block| {
        let profile = programme.rules.get(&block.rule);
        let citation = block.citation.or_else(|| profile?.citation.clone());
        (block.what, block.rule.to_string(), citation)
    });
    let (name, blocks) = (gate.name.clone(), blocks.collect());
    Some(NextGate { gate: gate.id.to_string(), name, blocks })
}

fn plan(programme: &Programme, on: Date) -> Option<PlanNow> {
    let id = choose_season(programme, None, Some(on)).ok()?;
    let season = programme.seasons.get(&id)?;
    let adopted = programme.shop.plans.adopted.get(&id);
    let complete = adopted.map(|adopted| adopted.plan.complete.date());
    let told = sheet(programme, &About::Plan(Some(id.to_string())), on);
    let told = told.unwrap_or_default();
    let behind = told.facts.iter().find(|(what, _)| what == "behind");
    Some(PlanNow {
        season: id.to_string(),
        gate_date: season.until,
        complete,
        margin: complete.map(|day| (season.until - day).get_days()),
        behind: behind.and_then(|(_, count)| count.parse().ok()).unwrap_or(0),
    })
}

fn late(programme: &Programme, parts: &Sheet, on: Date) -> Vec<Waiting> {
    let mut late = Vec::new();
    for row in rows(parts, "away").filter(|row| !row[4].is_empty()) {
        late.push(Waiting {
            noun: "item",
            name: row[0].clone(),
            what: format!("due from {} on {}, {}", row[1], row[3], row[4]),
            act: Some(("chase", vec![("item", row[0].clone())])),
        });
    }
    for ((item, task), state) in &programme.shop.stores.tasks {
        if state.due() < on {
            let what = format!("{task} was due in store on {}", state.due());
            let fields = vec![("item", item.to_string()), ("task", task.clone())];
            let act = Some(("store-done", fields));
            late.push(Waiting { noun: "item", name: item.to_string(), what, act });
        }
    }
    for (id, state) in &programme.shop.findings.states {
        if let Some(due) = state.due.filter(|due| *due < on && !state.is_cleared()) {
            let what = format!("was to be made good by {due}");
            late.push(Waiting { noun: "finding", name: id.to_string(), what, act: None });
        }
    }
    for (tool, seen) in programme.shop.tools.lost() {
        let what = format!("lost, last seen {seen}");
        let act = Some(("find-tool", vec![("tool", tool.to_string())]));
        late.push(Waiting { noun: "tool", name: tool.to_string(), what, act });
    }
    late
}

/// What waits for a person on a day, by what they may sign and what lies with them.
pub fn mine(programme: &Programme, person: &str, on: Date) -> Vec<Mine> {
    let Ok(person) = PersonId::new(person) else { return Vec::new() };
    let me = Me { programme, person, on };
    let all = [
        ("Handed over to me", me.handovers()),
        ("I am at work on", me.at_work()),
        ("Tools I have out", me.tools()),
        ("Steps done under my supervision", me.supervised()),
        ("Inspections that I may make", me.inspections()),
        ("Cards to certify complete", me.complete()),
        ("Parts that wait for their receiving check", me.parts()),
        ("Findings to class", me.findings()),
    ];
    let some = all.into_iter().filter(|(_, waiting)| !waiting.is_empty());
    some.map(|(title, waiting)| Mine { title, waiting }).collect()
}

struct Me<'a> {
    programme: &'a Programme,
    person: PersonId,
    on: Date,
}

impl Me<'_> {
    fn may(&self, power: Power, item: Option<&airframe::ItemId>) -> bool {
        let chapter = item.and_then(|item| self.programme.items.get(item)?.chapter);
        let given = &self.programme.shop.authorities;
        given.covers(&self.person, power, chapter, self.on)
    }

    fn cards(&self) -> impl Iterator<Item = (&JobKey, &Card)> {
        let cards = self.programme.shop.cards.cards.iter();
        cards.map(|(job, card)| (job, &**card)).filter(|(_, card)| !card.is_finished())
    }

    fn handovers(&self) -> Vec<Waiting> {
        let to_me = self.cards().filter_map(|(job, card)| {
            let offer = card.offer.as_ref()?;
            let what = format!("from {}: next {}", offer.from, offer.words.next);
            (offer.words.to == self.person).then(|| of_card(job, what, "take-over"))
        });
        to_me.collect()
    }

    fn at_work(&self) -> Vec<Waiting> {
        let at = self.cards().filter(|(_, card)| card.is_at(&self.person));
        let waiting = at.map(|(job, card)| {
            let next = card.steps.iter().find(|step| step.signed.is_none());
            let Some(next) = next else {
                return of_card(job, card.title.clone(), "pause");
            };
            let (id, text) = (&next.spec.id, &next.spec.text);
            let what = format!("{}; next step {id}: {text}", card.title);
            with_step(of_card(job, what, "sign-step"), id)
        });
        waiting.collect()
    }

    fn tools(&self) -> Vec<Waiting> {
        let out = self.programme.shop.tools.out();
        let mine = out.filter(|(_, who, _)| **who == self.person);
        let waiting = mine.map(|(tool, _, job)| Waiting {
            noun: "tool",
            name: tool.to_string(),
            what: format!("out for {job}"),
            act: Some(("tool-in", vec![("tool", tool.to_string())])),
        });
        waiting.collect()
    }

    fn supervised(&self) -> Vec<Waiting> {
        let mut waiting = Vec::new();
        for (job, card) in self.cards() {
            for step in &card.steps {
                let Some(signed) = step.signed.as_ref() else { continue };
                let mine = signed.supervisor.as_ref() == Some(&self.person);
                if mine && signed.countersigned.is_none() {
                    let by = &signed.mark.by;
                    let what = format!("step {}, signed by {by}", step.spec.id);
                    let one = of_card(job, what, "countersign");
                    waiting.push(with_step(one, &step.spec.id));
                }
            }
        }
        waiting
    }

    /// Where the second look must be another's, it is not shown to whoever had a part.
    fn inspections(&self) -> Vec<Waiting> {
        let mut waiting = Vec::new();
        for (job, card) in self.cards() {
            if !self.may(Power::Inspect, card.item.as_ref()) {
                continue;
            }
            let had_part = card.involved().contains(&self.person);
            for step in card.steps.iter().filter(|step| step.is_signed()) {
                let Some(lacks) = step.lacks() else { continue };
                let first = step.first.as_ref();
                let looked = first.is_some_and(|look| look.mark.by == self.person);
                if looked || (step.spec.independent && had_part) {
                    continue;
                }
                let what =
                    format!("step {} lacks {lacks}: {}", step.spec.id, step.spec.text);
                waiting.push(with_step(of_card(job, what, "inspect"), &step.spec.id));
            }
        }
        waiting
    }

    fn complete(&self) -> Vec<Waiting> {
        let done = self.cards().filter(|(_, card)| {
            !card.steps.is_empty()
                && card.steps.iter().all(record::shop::StepState::is_complete)
                && self.may(Power::Certify, card.item.as_ref())
        });
        done.map(|(job, card)| of_card(job, card.title.clone(), "finish")).collect()
    }

    fn parts(&self) -> Vec<Waiting> {
        let parts = self.programme.shop.parts.parts.iter();
        let wait = parts
            .filter(|(item, part)| part.waits && self.may(Power::Stores, Some(item)));
        let waiting = wait.map(|(item, _)| Waiting {
            noun: "item",
            name: item.to_string(),
            what: "came back".to_owned(),
            act: Some(("accept", vec![("item", item.to_string())])),
        });
        waiting.collect()
    }

    fn findings(&self) -> Vec<Waiting> {
        let states = &self.programme.shop.findings.states;
        let open = self.programme.open_findings().into_iter().filter(|id| {
            let state = states.get(*id);
            let known = state.map_or(Condition::Unknown, FindingState::condition);
            let item = self.programme.item_of_finding(id);
            known == Condition::Unknown && self.may(Power::Classify, item)
        });
        let waiting = open.map(|id| Waiting {
            noun: "finding",
            name: id.to_string(),
            what: what(self.programme, id),
            act: Some(("classify", vec![("finding", id.to_string())])),
        });
        waiting.collect()
    }
}

fn of_card(job: &JobKey, what: String, act: &'static str) -> Waiting {
    let act = Some((act, vec![("job", job.to_string())]));
    Waiting { noun: "card", name: job.to_string(), what, act }
}

fn with_step(mut waiting: Waiting, step: &record::StepId) -> Waiting {
    if let Some((_, fields)) = &mut waiting.act {
        fields.push(("step", step.to_string()));
    }
    waiting
}
