//! Drafts of job cards.
//!
//! What the program knows of a job becomes the steps of a card: which connections a removal
//! parts and a refit makes whole, what is lifted and onto which stand, what is tagged, which
//! check is demanded, who must look twice. How it is done stands in the data that the card
//! names, and nobody but the workshop can say which those are; a draft without them is
//! refused when it is issued.
//!
//! That hazards are dealt with before a connection is parted, that what is fitted is
//! photographed before it is touched, that ends are capped and that the place is looked over
//! at the end are common practice, with no source.

use airframe::disturbance::{breaks, makes};
use airframe::{Airframe, Connection, ConnectionId, ConnectionKind, Item, ItemId};
use record::act::{CardStep, IssueCard, StepWork};
use record::{FindingId, JobKey, Programme, StepKind};

use crate::draft::{Draft, Job, JobKind, Lasting};

/// The data that the steps of a card follow.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Data {
    /// The document.
    pub document: Option<String>,
    /// Its revision.
    pub revision: Option<String>,
}

/// Why there is no card for a job.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum CardError {
    /// The season's work has no such job.
    #[error("the season has no job {0}")]
    Unknown(JobKey),
    /// Nobody works on it by a card.
    #[error("{job} has no card: {why}")]
    NoCard {
        /// Which job.
        job: JobKey,
        /// What it is instead.
        why: &'static str,
    },
    /// The airframe does not hold together.
    #[error("the airframe does not fit together: {0}")]
    Airframe(String),
}

/// Drafts the card of a job of the season.
///
/// # Errors
/// [`CardError`] says why there is none.
pub fn card(
    programme: &Programme,
    draft: &Draft,
    job: &JobKey,
    data: &Data,
) -> Result<IssueCard, CardError> {
    let found = draft.jobs.iter().find(|known| known.key == *job);
    let job = found.ok_or_else(|| CardError::Unknown(job.clone()))?;
    let no_card = |why| CardError::NoCard { job: job.key.clone(), why };
    let airframe = programme.airframe_on(draft.season.from).map_err(|notes| {
        let notes: Vec<String> = notes.iter().map(ToString::to_string).collect();
        CardError::Airframe(notes.join("; "))
    })?;
    let draughtsman = Draughtsman { programme, draft, airframe: &airframe, job };
    let steps = match job.kind {
        JobKind::Remove => draughtsman.removal(),
        JobKind::Refit => draughtsman.refit(),
        JobKind::Check => draughtsman.check(),
        JobKind::Step(kind) => draughtsman.work(kind),
        JobKind::AtFirm if matches!(job.lasting, Lasting::FirmHere(_)) => {
            draughtsman.work(StepKind::Inspect)
        }
        JobKind::Wait => draughtsman.wait(),
        JobKind::Despatch | JobKind::AtFirm | JobKind::Return => {
            return Err(no_card("it is despatched, chased, received and accepted"));
        }
        JobKind::Begin | JobKind::Complete => return Err(no_card("it is a date")),
    };
    Ok(IssueCard {
        job: job.key.clone(),
        title: job.name.clone(),
        item: job.item.clone(),
        pack: job.pack.clone(),
        steps: numbered(steps, data),
    })
}

struct Draughtsman<'a> {
    programme: &'a Programme,
    draft: &'a Draft,
    airframe: &'a Airframe,
    job: &'a Job,
}

impl Draughtsman<'_> {
    fn item(&self) -> Option<&Item> {
        self.airframe.item(self.job.item.as_ref()?)
    }

    /// What the item is called, with its name in the programme.
    fn called(&self) -> String {
        let item = self.job.item.as_ref().map_or("", ItemId::as_str);
        self.item()
            .map_or_else(|| item.to_owned(), |found| format!("{} ({item})", found.name))
    }

    fn connections(&self, names: Option<&Vec<ConnectionId>>) -> Vec<&Connection> {
        let names = names.into_iter().flatten();
        names.filter_map(|name| self.airframe.connection(name)).collect()
    }

    fn removal(&self) -> Vec<Sketch> {
        let called = self.called();
        let all = breaks(self.airframe, &self.draft.opening);
        let broken = self.connections(self.job.item.as_ref().and_then(|id| all.get(id)));
        let mut steps = vec![step(
            StepWork::Task,
            format!(
                "Photograph {called} as it is fitted, with a scale: position, routing, locking, marks"
            ),
        )];
        let hazards: Vec<&str> = hazards(&broken);
        if !hazards.is_empty() {
            let what =
                format!("Make safe before anything is parted: {}", hazards.join("; "));
            steps.push(step(StepWork::Task, what));
        }
        steps.extend(self.support());
        for connection in broken {
            let what = format!("Part {}; {}", words(connection), ends(connection.kind));
            steps.push(step(StepWork::Disassemble, what));
        }
        steps.push(step(
            StepWork::Disassemble,
            format!("Take off {called}{}", self.crew()),
        ));
        let tag = "Tag it: location, orientation, shims with their places, what is known of its \
                   service, defects, preservation";
        steps.push(step(StepWork::Task, tag.to_owned()));
        steps.push(last("Cover the opening; count fasteners, tools and rags"));
        steps
    }

    fn refit(&self) -> Vec<Sketch> {
        let called = self.called();
        let all = makes(self.airframe, &self.draft.opening);
        let made = self.connections(self.job.item.as_ref().and_then(|id| all.get(id)));
        let vital = self.item().is_some_and(|item| item.vital);
        let mut steps = vec![step(
            StepWork::Task,
            format!(
                "Hold {called} against its tag and papers: class, life, orientation, shims; look over the place where it goes, caps and blanks off"
            ),
        )];
        steps.extend(self.support());
        let fit = step(StepWork::Reassemble, format!("Fit {called}{}", self.crew()));
        steps.push(twice(fit, vital));
        for connection in made {
            let what = format!("Join {}; lock it", words(connection));
            let joined = Sketch {
                makes: vec![connection.id.clone()],
                ..step(StepWork::Reassemble, what)
            };
            steps.push(twice(joined, vital || is_control(connection.kind)));
        }
        steps.push(last(
            "Look over the work: locking, clearance, routing, nothing left behind; count tools and rags",
        ));
        steps
    }

    fn check(&self) -> Vec<Sketch> {
        let mut parts = self.job.key.0.splitn(3, ':').skip(1);
        let rule = parts.next().unwrap_or_default();
        let rules = &self.airframe.parts().checks;
        let rule = rules.iter().find(|known| known.id.as_str() == rule);
        let independent = rule.is_some_and(|rule| rule.independent);
        let mut what = self.job.name.clone();
        if independent {
            let done: Vec<&str> = self
                .job
                .independent_of
                .iter()
                .map(|&work| self.draft.jobs[work].key.0.as_str())
                .collect();
            what = format!("{what}; by nobody who had a part in {}", done.join(", "));
        }
        let check = step(StepWork::Test, what);
        vec![Sketch { twice: independent, ..check }]
    }

    fn work(&self, kind: StepKind) -> Vec<Sketch> {
        let work = match kind {
            StepKind::Inspect => StepWork::Test,
            StepKind::Assemble => StepWork::Reassemble,
            _ => StepWork::Task,
        };
        let mut steps = Vec::new();
        if let Some(found) = self.found() {
            let what =
                format!("Hold what is there against the finding: {found}; photograph it");
            steps.push(step(StepWork::Task, what));
        }
        let vital =
            kind == StepKind::Assemble && self.item().is_some_and(|item| item.vital);
        steps.push(twice(step(work, self.job.name.clone()), vital));
        steps
    }

    /// What was found, for a job of a finding's chain.
    fn found(&self) -> Option<String> {
        let name: FindingId = self.job.key.0.split(':').next()?.parse().ok()?;
        if let Some(finding) = self.programme.findings.get(&name) {
            return Some(finding.what.clone());
        }
        let state = self.programme.shop.findings.states.get(&name)?;
        state.raised.as_ref().map(|(raise, _)| raise.what.clone())
    }

    fn wait(&self) -> Vec<Sketch> {
        let what = format!(
            "{}: note when it began and ended, temperature and humidity, batch",
            self.job.name
        );
        vec![step(StepWork::Task, what)]
    }

    /// Stand and lifting gear.
    fn support(&self) -> Option<Sketch> {
        let mut what = Vec::new();
        if let Some(stand) = self.item().and_then(|item| item.stand.as_ref()) {
            let stand = self.programme.stands.get(stand);
            what.extend(stand.map(|stand| format!("{} ready", stand.name)));
        }
        let gear = self.job.gear.iter().filter_map(|gear| self.programme.gear.get(gear));
        what.extend(
            gear.map(|gear| format!("{}: its examination is in date", gear.name)),
        );
        if what.is_empty() {
            return None;
        }
        let what = format!(
            "Stand and lifting gear: {}; the lift as the data say",
            what.join("; ")
        );
        Some(step(StepWork::Task, what))
    }

    fn crew(&self) -> String {
        let crew = self.job.ways.first().map_or(&[][..], |way| &way.crew);
        let heads: u32 = crew.iter().map(|crew| crew.count).sum();
        if heads > 1 { format!(", {heads} people") } else { String::new() }
    }
}

fn words(connection: &Connection) -> String {
    let Connection { id, name, kind, from, to } = connection;
    let to = to.as_ref().map_or("the airframe", ItemId::as_str);
    format!("{name} ({id}, {}: {from} to {to})", kind.word())
}

/// What becomes of the ends of a connection that is parted.
const fn ends(kind: ConnectionKind) -> &'static str {
    match kind {
        ConnectionKind::Fuel
        | ConnectionKind::Oil
        | ConnectionKind::Coolant
        | ConnectionKind::Hydraulic
        | ConnectionKind::Pneumatic => "cap both ends and tag them",
        ConnectionKind::FlightControl | ConnectionKind::EngineControl => {
            "mark its adjustment, secure both ends and tag them"
        }
        ConnectionKind::Electrical => "cover both plugs and tag them",
        ConnectionKind::Structural => {
            "bag and tag its fasteners, washers and shims with their places"
        }
        ConnectionKind::Firewall => "tag what passes through and cover the hole",
    }
}

/// A mistake in it changes flight path, attitude or the force of propulsion.
const fn is_control(kind: ConnectionKind) -> bool {
    matches!(kind, ConnectionKind::FlightControl | ConnectionKind::EngineControl)
}

/// What has to be dealt with before connections are parted, each once.
fn hazards(connections: &[&Connection]) -> Vec<&'static str> {
    let mut all: Vec<&str> = connections.iter().filter_map(|c| hazard(c.kind)).collect();
    all.sort_unstable();
    all.dedup();
    all
}

const fn hazard(kind: ConnectionKind) -> Option<&'static str> {
    match kind {
        ConnectionKind::Fuel => {
            Some("fuel shut off and drained, earthed, no source of ignition")
        }
        ConnectionKind::Oil => Some("oil drained and not hot"),
        ConnectionKind::Coolant => Some("coolant drained and not hot"),
        ConnectionKind::Hydraulic => Some("hydraulic pressure let off, accumulators too"),
        ConnectionKind::Pneumatic => Some("air pressure let off, bottles shut"),
        ConnectionKind::FlightControl => Some("controls locked, cables slack and marked"),
        ConnectionKind::EngineControl => Some("magnetos earthed, propeller clear"),
        ConnectionKind::Electrical => Some("battery off and disconnected, placard on"),
        ConnectionKind::Structural => {
            Some("load taken off the joint, airframe supported")
        }
        ConnectionKind::Firewall => None,
    }
}

/// A step before it has its number and its data.
struct Sketch {
    work: StepWork,
    text: String,
    /// A mistake in it endangers the aircraft.
    critical: bool,
    /// It is looked at by two.
    twice: bool,
    makes: Vec<ConnectionId>,
}

fn step(work: StepWork, text: String) -> Sketch {
    Sketch { work, text, critical: false, twice: false, makes: Vec::new() }
}

fn last(text: &str) -> Sketch {
    step(StepWork::Capture, text.to_owned())
}

/// A step at which a mistake endangers the aircraft is inspected twice.
fn twice(step: Sketch, critical: bool) -> Sketch {
    Sketch { critical, twice: critical, ..step }
}

/// Numbers steps by tens, so that one can be added between two.
fn numbered(steps: Vec<Sketch>, data: &Data) -> Vec<CardStep> {
    let named = (1_usize..).zip(steps).filter_map(|(number, step)| {
        let Sketch { work, text, critical, twice, makes } = step;
        Some(CardStep {
            id: (number * 10).to_string().parse().ok()?,
            text,
            work,
            data: data.document.clone(),
            revision: data.revision.clone(),
            critical,
            inspected: twice,
            independent: twice,
            limits: Vec::new(),
            makes,
        })
    });
    named.collect()
}
