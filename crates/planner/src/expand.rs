//! Findings, packs and written jobs become jobs and links.

use std::collections::{BTreeMap, BTreeSet};

use airframe::access::{Opening, Target, Why};
use airframe::disturbance::DemandedCheck;
use airframe::{Airframe, Handling, ItemId};
use record::{
    Conditions, Finding, Hold, JobKey, PackId, Performer, Programme, Reach, Route,
    Season, Step, StepId, TakesOn,
};

use crate::draft::{
    Draft, DraftError, Job, JobKind, Lasting, Link, LinkWhy, Occupation, Risk, Way,
};

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
        for finding in self.programme.findings.iter() {
            let Some(pack) = finding.pack.as_ref().filter(|pack| self.is_ours(pack))
            else {
                continue;
            };
            let route = finding.disposition.as_ref().and_then(|d| d.route.as_ref());
            match route.and_then(|route| self.programme.routes.get(route)) {
                Some(route) => self.finding(finding, pack, route),
                None => self.warnings.push(format!(
                    "finding {} is in pack {pack} but has no route, so nothing is planned for it",
                    finding.id
                )),
            }
        }
    }

    fn finding(&mut self, finding: &'a Finding, pack: &'a PackId, route: &'a Route) {
        let prefix = finding.id.to_string();
        let chain = Chain { prefix, item: Some(&finding.item), pack };
        let (first, last) = self.route(&chain, route, &[], 0);
        self.needs(route.reach, &finding.item, pack, first, last);
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

    /// Removals and refits, with their order and what they occupy.
    pub(crate) fn open(&mut self, airframe: &Airframe, opening: &Opening) {
        let packs = self.packs_of(opening);
        for removal in &opening.removals {
            let item = item_of(airframe, &removal.item);
            let handling = item.and_then(|item| item.removal.as_ref());
            let verb = if removal.on_unit.is_some() { "Strip off" } else { "Remove" };
            let name = item.map_or("", |item| &item.name);
            let job =
                Self::handle("OFF", &removal.item, handling, format!("{verb} {name}"));
            let job = Job {
                kind: JobKind::Remove,
                pack: packs.get(&removal.item).cloned(),
                ..job
            };
            let at = self.derived(job);
            self.removals.insert(removal.item.clone(), at);
        }
        for refit in &opening.refits {
            let item = item_of(airframe, &refit.item);
            let handling = item.and_then(|item| item.refit.as_ref());
            let name = item.map_or("", |item| &item.name);
            let job = Self::handle("ON", &refit.item, handling, format!("Refit {name}"));
            let job = Job {
                kind: JobKind::Refit,
                pack: packs.get(&refit.item).cloned(),
                ..job
            };
            let at = self.derived(job);
            self.refits.insert(refit.item.clone(), at);
        }
        self.order(opening);
        self.occupy(airframe, opening);
        self.reach(opening);
    }

    fn handle(
        verb: &str,
        item: &ItemId,
        handling: Option<&Handling>,
        name: String,
    ) -> Job {
        let ways = handling.map_or_else(
            || vec![Way::fixed(0)],
            |handling| vec![Way::worked(&handling.crew, &handling.hours)],
        );
        Job {
            name,
            item: Some(item.clone()),
            ways,
            lasting: Lasting::Worked { unbroken: false },
            gear: handling.map_or_else(Vec::new, |handling| handling.gear.clone()),
            ..blank(&format!("{verb}:{item}"))
        }
    }

    fn derived(&mut self, job: Job) -> usize {
        let key = job.key.0.clone();
        let ends = self.one(job);
        self.by_key.insert(key, ends);
        ends.first
    }

    /// The pack for whose sake each item comes off.
    fn packs_of(&self, opening: &Opening) -> BTreeMap<ItemId, PackId> {
        let mut packs: BTreeMap<ItemId, PackId> = BTreeMap::new();
        for (target, pack) in self.wanted.iter().rev() {
            packs.insert(target.item().clone(), pack.clone());
        }
        // Later removals are wanted by targets; earlier ones by later ones.
        for removal in opening.removals.iter().rev() {
            let wanting = removal.why.iter().map(|why| match why {
                Why::Target(target) => target.item(),
                Why::Item(item) | Why::Lightens(item) => item,
            });
            let mut wanting = wanting.filter_map(|item| packs.get(item)).cloned();
            if let (false, Some(pack)) =
                (packs.contains_key(&removal.item), wanting.next())
            {
                packs.insert(removal.item.clone(), pack);
            }
        }
        packs
    }

    fn order(&mut self, opening: &Opening) {
        for removal in &opening.removals {
            let to = self.removals[&removal.item];
            let before: Vec<usize> = removal
                .after
                .iter()
                .filter_map(|i| self.removals.get(i))
                .copied()
                .collect();
            for from in before {
                self.link(from, to, LinkWhy::InTheWay);
            }
            // What is stripped on the bench comes off when its unit is there.
            let unit = removal.on_unit.as_ref().and_then(|unit| self.removals.get(unit));
            if let Some(&from) = unit {
                self.link(from, to, LinkWhy::Opens);
            }
        }
        self.bench(opening);
        for refit in &opening.refits {
            let to = self.refits[&refit.item];
            if let Some(&from) = self.removals.get(&refit.item) {
                self.link(from, to, LinkWhy::WorkDone);
            }
            let before: Vec<usize> =
                refit.after.iter().filter_map(|i| self.refits.get(i)).copied().collect();
            for from in before {
                self.link(from, to, LinkWhy::RefitOrder);
            }
        }
    }

    /// What was stripped on the bench is put back on it there, before its unit goes back,
    /// unless the order of refits says otherwise.
    fn bench(&mut self, opening: &Opening) {
        let place: BTreeMap<&ItemId, usize> = opening
            .refits
            .iter()
            .enumerate()
            .map(|(at, refit)| (&refit.item, at))
            .collect();
        for removal in &opening.removals {
            let Some(unit) = &removal.on_unit else { continue };
            let ends = (self.refits.get(&removal.item), self.refits.get(unit));
            if let (Some(&from), Some(&to)) = ends
                && place.get(&removal.item) < place.get(unit)
            {
                self.link(from, to, LinkWhy::RefitOrder);
            }
        }
    }

    fn occupy(&mut self, airframe: &Airframe, opening: &Opening) {
        let ours =
            opening.stands.iter().map(|used| (used.stand.clone(), used.item.clone()));
        let already = airframe.parts().items.iter().filter(|item| item.off);
        let already =
            already.filter_map(|item| Some((item.stand.clone()?, item.id.clone())));
        let all: BTreeSet<_> = ours.chain(already).collect();
        for (stand, item) in all {
            let from = self.removals.get(&item).copied();
            let to = self.refits.get(&item).copied();
            self.occupations.push(Occupation { stand, item, from, to });
        }
    }

    /// Work starts when its target is reached, and what was opened for it goes back when
    /// the work is done.
    fn reach(&mut self, opening: &Opening) {
        let reached: BTreeMap<&Target, &Vec<ItemId>> =
            opening.reached.iter().map(|r| (&r.target, &r.after)).collect();
        let opened = std::mem::take(&mut self.opened);
        for (target, first, last) in &opened {
            let mut items: BTreeSet<&ItemId> =
                reached.get(target).into_iter().copied().flatten().collect();
            if let Target::Free(item) = target {
                items.insert(item);
            }
            for item in items {
                if let Some(&from) = self.removals.get(item) {
                    for &to in first {
                        self.link(from, to, LinkWhy::Opens);
                    }
                }
                if let Some(&to) = self.refits.get(item) {
                    for &from in last {
                        self.link(from, to, LinkWhy::WorkDone);
                    }
                }
            }
        }
        self.opened = opened;
    }

    /// Checks, after the refits that they check.
    pub(crate) fn check(&mut self, airframe: &Airframe, demanded: &[DemandedCheck]) {
        let mut at: BTreeMap<(String, String), usize> = BTreeMap::new();
        for check in demanded {
            let Some(rule) = airframe.parts().checks.iter().find(|r| r.id == check.rule)
            else {
                continue;
            };
            let refits: Vec<usize> = check
                .after_refit_of
                .iter()
                .filter_map(|i| self.refits.get(i))
                .copied()
                .collect();
            let work = check.after_refit_of.iter().filter_map(|i| self.removals.get(i));
            let independent_of = if rule.independent {
                refits.iter().copied().chain(work.copied()).collect()
            } else {
                Vec::new()
            };
            let job = Job {
                name: format!("{}: {}", rule.name, check.thing),
                pack: refits.first().and_then(|&refit| self.jobs[refit].pack.clone()),
                kind: JobKind::Check,
                item: check.after_refit_of.first().cloned(),
                ways: vec![Way::worked(&rule.crew, &rule.hours)],
                lasting: Lasting::Worked { unbroken: false },
                independent_of,
                ..blank(&format!("CHECK:{}:{}", check.rule, check.thing))
            };
            let to = self.derived(job);
            for &from in &refits {
                self.link(from, to, LinkWhy::Checks);
            }
            at.insert((check.rule.to_string(), check.thing.clone()), to);
        }
        self.check_order(demanded, &at);
    }

    fn check_order(
        &mut self,
        demanded: &[DemandedCheck],
        at: &BTreeMap<(String, String), usize>,
    ) {
        for check in demanded {
            let own = at.get(&(check.rule.to_string(), check.thing.clone()));
            for (rule, thing) in &check.after_checks {
                let before = at.get(&(rule.to_string(), thing.clone()));
                if let (Some(&to), Some(&from)) = (own, before) {
                    self.link(from, to, LinkWhy::Checks);
                }
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
        self.blockers();
        self.warnings.extend(opening.warnings.iter().map(crate::words::warning));
        let draft = Draft {
            season: self.season.clone(),
            jobs: self.jobs,
            links: self.links,
            occupations: self.occupations,
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

    /// Findings that keep the season's gate shut and that the season does nothing about.
    fn blockers(&mut self) {
        let order =
            |gate: &record::GateId| self.programme.gates.get(gate).map(|g| g.order);
        let Some(wanted) = order(&self.season.gate) else {
            return;
        };
        let planned: BTreeSet<&str> =
            self.by_key.keys().filter_map(|key| key.split(':').next()).collect();
        let shut = self.programme.findings.iter().filter(|finding| {
            let allowed = finding.disposition.as_ref().and_then(|d| d.allows.as_ref());
            let passes = allowed.and_then(order).is_some_and(|order| order >= wanted);
            !passes && !planned.contains(finding.id.as_str())
        });
        let shut: Vec<String> = shut.map(|finding| finding.id.to_string()).collect();
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
