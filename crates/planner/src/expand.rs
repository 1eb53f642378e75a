//! Findings, packs and written jobs become jobs and links.

mod opened;

use std::collections::{BTreeMap, BTreeSet};

use airframe::access::{Opening, Target};
use airframe::disturbance::DemandedCheck;
use airframe::{Airframe, ItemId};
use record::shop::FindingState;
use record::{
    Conditions, FindingId, GateId, Hold, JobKey, PackId, Performer, Programme, Reach,
    Route, Season, Step, StepId, TakesOn,
};

use crate::draft::{
    Draft, DraftError, Job, JobKind, Lasting, Link, LinkWhy, Occupation, Risk, Way,
};
use crate::past::{past, published};

/// Branches within branches are followed so far; the check of the programme refuses rings.
const DEEPEST: usize = 6;

/// A draft in the making.
pub(crate) struct Expansion<'a> {
    programme: &'a Programme,
    season: &'a Season,
    jobs: Vec<Job>,
    links: Vec<Link>,
    occupations: Vec<Occupation>,
    risks: Vec<Risk>,
    warnings: Vec<String>,
    /// Which pack wants which target, in order of wanting.
    wanted: Vec<(Target, PackId)>,
    /// Work that needs something opened: the target, its first and its last jobs.
    opened: Vec<(Target, Vec<usize>, Vec<usize>)>,
    by_key: BTreeMap<String, Ends>,
    removals: BTreeMap<ItemId, usize>,
    refits: BTreeMap<ItemId, usize>,
    /// Orders that written jobs ask for: the job, the key it follows, the hold.
    orders: Vec<(usize, JobKey, Option<Hold>)>,
}

/// The first and the last of the jobs that one key stands for: work at a firm is three.
#[derive(Debug, Clone, Copy)]
struct Ends {
    first: usize,
    last: usize,
}

/// What the jobs of one chain have in common.
struct Chain<'a> {
    prefix: String,
    item: Option<&'a ItemId>,
    pack: &'a PackId,
}

impl<'a> Expansion<'a> {
    pub(crate) fn new(programme: &'a Programme, season: &'a Season) -> Self {
        let mut expansion = Self {
            programme,
            season,
            jobs: Vec::new(),
            links: Vec::new(),
            occupations: Vec::new(),
            risks: Vec::new(),
            warnings: Vec::new(),
            wanted: Vec::new(),
            opened: Vec::new(),
            by_key: BTreeMap::new(),
            removals: BTreeMap::new(),
            refits: BTreeMap::new(),
            orders: Vec::new(),
        };
        expansion.packs();
        expansion.findings();
        expansion.written();
        expansion
    }

    /// Adds something that somebody should look at.
    pub(crate) fn warn(&mut self, warning: String) {
        self.warnings.push(warning);
    }

    /// Everything that must be opened, each once.
    pub(crate) fn targets(&self) -> Vec<Target> {
        let targets: BTreeSet<&Target> = self.wanted.iter().map(|(t, _)| t).collect();
        targets.into_iter().cloned().collect()
    }

    fn is_ours(&self, pack: &PackId) -> bool {
        let pack = self.programme.packs.get(pack);
        pack.is_some_and(|pack| pack.season.as_ref() == Some(&self.season.id))
    }

    fn packs(&mut self) {
        let (programme, season) = (self.programme, self.season);
        let ours =
            programme.packs.iter().filter(|p| p.season.as_ref() == Some(&season.id));
        for pack in ours {
            let off = pack.off.iter().map(|item| Target::Free(item.clone()));
            let exposed = pack.exposed.iter().map(|item| Target::Expose(item.clone()));
            self.wanted
                .extend(off.chain(exposed).map(|target| (target, pack.id.clone())));
        }
    }

    fn findings(&mut self) {
        let programme = self.programme;
        let since = programme.shop.findings.states.keys();
        let all: BTreeSet<&FindingId> = programme.findings.names().chain(since).collect();
        for finding in all {
            let (pack, route) = programme.work_of_finding(finding);
            let Some(pack) = pack.filter(|pack| self.is_ours(pack)) else { continue };
            if self.is_settled(finding) {
                continue;
            }
            match route.and_then(|route| programme.routes.get(route)) {
                Some(route) => self.finding(finding, pack, route),
                None => self.warnings.push(format!(
                    "finding {finding} is in pack {pack} but has no route, so nothing is planned for it"
                )),
            }
        }
    }

    /// Whether a finding was cleared without work on a card of its chain: what was worked on
    /// stays in the plan as its past.
    fn is_settled(&self, finding: &FindingId) -> bool {
        let shop = &self.programme.shop;
        let cleared =
            shop.findings.states.get(finding).is_some_and(FindingState::is_cleared);
        let prefix = format!("{finding}:");
        cleared && !shop.cards.cards.keys().any(|job| job.0.starts_with(&prefix))
    }

    fn finding(&mut self, finding: &FindingId, pack: &'a PackId, route: &'a Route) {
        let Some(item) = self.programme.item_of_finding(finding) else { return };
        let chain = Chain { prefix: finding.to_string(), item: Some(item), pack };
        let (first, last) = self.route(&chain, route, &[], 0);
        self.needs(route.reach, item, pack, first, last);
    }

    fn needs(
        &mut self,
        reach: Reach,
        item: &ItemId,
        pack: &PackId,
        first: Vec<usize>,
        last: Vec<usize>,
    ) {
        let target = match reach {
            Reach::Off => Target::Free(item.clone()),
            Reach::Exposed => Target::Expose(item.clone()),
            Reach::AsItIs => return,
        };
        self.wanted.push((target.clone(), pack.clone()));
        self.opened.push((target, first, last));
    }

    /// Lays down the steps of a route after the jobs given; answers its first and last
    /// jobs.
    fn route(
        &mut self,
        chain: &Chain<'a>,
        route: &'a Route,
        before: &[usize],
        depth: usize,
    ) -> (Vec<usize>, Vec<usize>) {
        let mut ends: BTreeMap<&StepId, Vec<usize>> = BTreeMap::new();
        let mut followed: BTreeSet<&StepId> = BTreeSet::new();
        let mut first = Vec::new();
        let mut previous: Option<&StepId> = None;
        for step in &route.steps {
            let names: Vec<&StepId> = match &step.after {
                Some(after) => after.iter().collect(),
                None => previous.into_iter().collect(),
            };
            let known: Vec<usize> = names
                .iter()
                .filter_map(|name| ends.get(name))
                .flatten()
                .copied()
                .collect();
            let follows = if known.is_empty() { before } else { &known };
            followed.extend(names);
            let Ends { first: start, last } = self.step(chain, step);
            self.follow(follows, start, step.hold);
            if known.is_empty() {
                first.push(start);
            }
            ends.insert(&step.id, self.branch(chain, step, last, depth));
            previous = Some(&step.id);
        }
        let last = route.steps.iter().filter(|step| !followed.contains(&step.id));
        let last =
            last.filter_map(|step| ends.get(&step.id)).flatten().copied().collect();
        (first, last)
    }

    fn step(&mut self, chain: &Chain<'a>, step: &'a Step) -> Ends {
        let key = format!("{}:{}", chain.prefix, step.id);
        let subject = chain.item.map_or_else(String::new, |item| format!(", {item}"));
        let job = Job {
            name: format!("{}{subject}", step.name),
            pack: Some(chain.pack.clone()),
            kind: JobKind::Step(step.kind),
            item: chain.item.cloned(),
            place: step.place.clone(),
            stand: step.stand.clone(),
            conditions: step.conditions,
            ..blank(&key)
        };
        self.perform(job, &step.by)
    }

    /// What follows an inspection: by plan its branch where it is more likely to fail than
    /// not, and a note of the risk in either case.
    fn branch(
        &mut self,
        chain: &Chain<'a>,
        step: &'a Step,
        last: usize,
        depth: usize,
    ) -> Vec<usize> {
        let Some(branch) = &step.branch else {
            return vec![last];
        };
        let planned = branch.chance >= 0.5 && depth < DEEPEST;
        let route = self.programme.routes.get(&branch.then);
        let rework = route.map_or(0, Self::rework);
        let job = JobKey(format!("{}:{}", chain.prefix, step.id));
        self.risks.push(Risk { job, chance: branch.chance, planned, rework });
        match route {
            Some(route) if planned => {
                let prefix = format!("{}:{}", chain.prefix, step.id);
                let inner = Chain { prefix, item: chain.item, pack: chain.pack };
                let (_, ends) = self.route(&inner, route, &[last], depth + 1);
                if ends.is_empty() { vec![last] } else { ends }
            }
            _ => vec![last],
        }
    }

    fn rework(route: &Route) -> i64 {
        let minutes = route.steps.iter().map(|step| match &step.by {
            Performer::Crew { crew, hours, .. } => {
                Way::worked(crew, hours).person_minutes()
            }
            Performer::Firm { .. } | Performer::Nobody { .. } => 0,
        });
        minutes.sum()
    }

    /// Lays down a job by who does it: one job, or three for work away at a firm.
    fn perform(&mut self, job: Job, by: &Performer) -> Ends {
        let key = job.key.0.clone();
        let ends = match by {
            Performer::Crew { crew, hours, or, unbroken } => {
                let mut ways = vec![Way::worked(crew, hours)];
                ways.extend(or.iter().map(|(crew, hours)| Way::worked(crew, hours)));
                let lasting = Lasting::Worked { unbroken: *unbroken };
                self.one(Job { ways, lasting, ..job })
            }
            Performer::Nobody { takes } => {
                let (ways, lasting) = (vec![Way::elapsed(takes)], Lasting::Elapsed);
                self.one(Job { ways, lasting, kind: JobKind::Wait, ..job })
            }
            Performer::Firm { firm: name, turnaround } => {
                let Some(firm) = self.programme.firms.get(name) else {
                    return self.one(Job { lasting: Lasting::Moment, ..job });
                };
                let ways =
                    vec![Way::elapsed(turnaround.as_ref().unwrap_or(&firm.turnaround))];
                match firm.takes_on {
                    TakesOn::Here => {
                        let lasting = Lasting::FirmHere(name.clone());
                        self.one(Job { ways, lasting, kind: JobKind::AtFirm, ..job })
                    }
                    TakesOn::Away => self.away(&Job { ways, ..job }, name, &firm.name),
                }
            }
        };
        self.by_key.insert(key, ends);
        ends
    }

    fn one(&mut self, job: Job) -> Ends {
        self.jobs.push(job);
        let only = self.jobs.len() - 1;
        Ends { first: only, last: only }
    }

    fn away(&mut self, job: &Job, firm: &record::FirmId, called: &str) -> Ends {
        let handover = |suffix: &str, kind: JobKind, name: String| Job {
            name,
            kind,
            ways: vec![Way::fixed(15)],
            lasting: Lasting::Collection(firm.clone()),
            pack: job.pack.clone(),
            item: job.item.clone(),
            ..blank(&format!("{}:{suffix}", job.key))
        };
        let out = format!("Despatch to {called}: {}", job.name);
        let back = format!("Back from {called}: {}", job.name);
        let first = self.one(handover("OUT", JobKind::Despatch, out)).first;
        let lasting = Lasting::AtFirm(firm.clone());
        let away = Job { lasting, kind: JobKind::AtFirm, place: None, ..job.clone() };
        let away = self.one(Job { stand: None, ..away }).first;
        let last = self.one(handover("BACK", JobKind::Return, back)).first;
        self.link(first, away, LinkWhy::Follows);
        self.link(away, last, LinkWhy::Follows);
        Ends { first, last }
    }

    fn link(&mut self, from: usize, to: usize, why: LinkWhy) {
        self.links.push(Link { from, to, at_least: 0, at_most: None, why });
    }

    fn follow(&mut self, before: &[usize], to: usize, hold: Option<Hold>) {
        let at_least =
            hold.and_then(|h| h.at_least).map_or(0, quantity::Elapsed::minutes);
        let at_most = hold.and_then(|h| h.at_most).map(quantity::Elapsed::minutes);
        for &from in before {
            self.links.push(Link { from, to, at_least, at_most, why: LinkWhy::Follows });
        }
    }

    fn written(&mut self) {
        let programme = self.programme;
        for job in programme.jobs.iter() {
            if !self.is_ours(&job.pack) {
                continue;
            }
            let planned = Job {
                name: job.name.clone(),
                pack: Some(job.pack.clone()),
                kind: JobKind::Step(record::StepKind::Other),
                item: job.item.clone(),
                place: job.place.clone(),
                stand: job.stand.clone(),
                conditions: job.conditions,
                ..blank(job.id.as_str())
            };
            let ends = self.perform(planned, &job.by);
            for key in &job.after {
                self.orders.push((ends.first, key.clone(), job.hold));
            }
            if let Some(item) = &job.item {
                let (first, last) = (vec![ends.first], vec![ends.last]);
                self.needs(job.reach, item, &job.pack, first, last);
            }
        }
    }

    /// Orders that people wrote down, the job that says all is done, and the whole.
    pub(crate) fn finish(
        mut self,
        opening: Opening,
        checks: Vec<DemandedCheck>,
    ) -> Result<Draft, DraftError> {
        for (to, key, hold) in std::mem::take(&mut self.orders) {
            match self.by_key.get(&key.0) {
                Some(ends) => {
                    let from = ends.last;
                    self.follow(&[from], to, hold);
                }
                None => self.warnings.push(format!(
                    "{} follows {key}, which is not part of this season's work",
                    self.jobs[to].key
                )),
            }
        }
        if self.jobs.is_empty() {
            return Err(DraftError::Nothing(self.season.id.clone()));
        }
        self.complete();
        self.number_again();
        self.blockers();
        self.warnings.extend(opening.warnings.iter().map(crate::words::opening_warning));
        let draft = Draft {
            season: self.season.clone(),
            links: self.links,
            occupations: self.occupations,
            past: past(self.programme, self.season, &self.jobs),
            published: published(self.programme, self.season, &self.jobs),
            not_before: BTreeMap::new(),
            jobs: self.jobs,
            opening,
            checks,
            risks: self.risks,
            warnings: self.warnings,
        };
        draft.ring().map_or(Ok(draft), |ring| Err(DraftError::Ring(ring)))
    }

    fn complete(&mut self) {
        let count = self.jobs.len();
        let gate = self.programme.gates.get(&self.season.gate);
        let gate =
            gate.map_or_else(|| self.season.gate.to_string(), |gate| gate.name.clone());
        let job = Job {
            name: format!("Complete for {gate}"),
            kind: JobKind::Complete,
            ways: vec![Way::fixed(0)],
            lasting: Lasting::Moment,
            ..blank("COMPLETE")
        };
        let to = self.one(job).first;
        let followed: BTreeSet<usize> = self.links.iter().map(|link| link.from).collect();
        for from in (0..count).filter(|from| !followed.contains(from)) {
            self.link(from, to, LinkWhy::Completes);
        }
    }

    /// A job that was done in an earlier season, and is done again, has a card of its own: its
    /// name gets a number.
    fn number_again(&mut self) {
        let mut names: BTreeMap<JobKey, JobKey> = BTreeMap::new();
        for job in &mut self.jobs {
            let again = again(self.programme, self.season, &job.key);
            if again != job.key {
                names.insert(std::mem::replace(&mut job.key, again.clone()), again);
            }
        }
        for risk in &mut self.risks {
            if let Some(name) = names.get(&risk.job) {
                risk.job = name.clone();
            }
        }
    }

    /// Findings that keep the season's gate shut and that the season does nothing about.
    fn blockers(&mut self) {
        let order = |gate: &GateId| self.programme.gates.get(gate).map(|g| g.order);
        let Some(wanted) = order(&self.season.gate) else {
            return;
        };
        let planned: BTreeSet<&str> =
            self.by_key.keys().filter_map(|key| key.split(':').next()).collect();
        let open = self.programme.open_findings().into_iter();
        let shut = open.filter(|finding| {
            let allowed = allowed(self.programme, finding);
            let passes = allowed.and_then(order).is_some_and(|order| order >= wanted);
            !passes && !planned.contains(finding.as_str())
        });
        let shut: Vec<String> = shut.map(ToString::to_string).collect();
        if !shut.is_empty() {
            let some = shut.iter().take(8).cloned().collect::<Vec<_>>().join(", ");
            let more = if shut.len() > 8 { ", ..." } else { "" };
            self.warnings.push(format!(
                "{} findings do not allow the gate {} and are not worked on this season: {some}{more}",
                shut.len(),
                self.season.gate
            ));
        }
    }
}

/// The name of a job in a season: with a number from 2 on if cards of that name were closed
/// before the season began.
fn again(programme: &Programme, season: &Season, key: &JobKey) -> JobKey {
    let closed = |key: &JobKey| {
        let card = programme.shop.cards.cards.get(key);
        let finished = card.and_then(|card| card.finished.as_ref());
        finished.is_some_and(|mark| mark.at.date() < season.from)
    };
    let mut name = key.clone();
    let mut number = 2;
    while closed(&name) {
        name = JobKey(format!("{key}#{number}"));
        number += 1;
    }
    name
}

/// The highest gate that a finding allows as it stands: as it was classed or carried
/// forward, or else as the survey's list means it to be.
fn allowed<'a>(programme: &'a Programme, finding: &FindingId) -> Option<&'a GateId> {
    let state = programme.shop.findings.states.get(finding);
    if let Some(deferred) = state.and_then(|state| state.deferred.as_ref()) {
        return Some(&deferred.allows);
    }
    if let Some(class) = state.and_then(|state| state.class.as_ref()) {
        return class.allows.as_ref();
    }
    let listed = programme.findings.get(finding)?.disposition.as_ref()?;
    listed.allows.as_ref()
}

fn item_of<'a>(airframe: &'a Airframe, id: &ItemId) -> Option<&'a airframe::Item> {
    airframe.parts().items.iter().find(|item| item.id == *id)
}

fn blank(key: &str) -> Job {
    Job {
        key: JobKey(key.to_owned()),
        name: String::new(),
        pack: None,
        kind: JobKind::Step(record::StepKind::Other),
        item: None,
        ways: vec![Way::fixed(0)],
        lasting: Lasting::Moment,
        place: None,
        stand: None,
        gear: Vec::new(),
        conditions: Conditions::default(),
        independent_of: Vec::new(),
    }
}
