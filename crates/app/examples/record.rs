//! How long a record of a given length takes: to fill, to open from nothing and from what was
//! kept, to judge one more act, and to compute a gate of thousands of requirements.
//!
//! ```text
//! cargo run --release -p app --example record -- ENTRIES [LEDGER | --sealed]
//! ```
//!
//! With a ledger's file, it is kept there; if there is one already, it is only opened, so that
//! the memory that takes can be seen from outside. With `--sealed`, whoever signs has a secret.
//!
//! Everything in it is made up: one person works on cards of four steps, one after the
//! other, and gives evidence for each.

#![expect(clippy::print_stdout, reason = "a program for the terminal")]

use std::error::Error;
use std::ops::ControlFlow;
use std::path::PathBuf;
use std::time::{Duration, Instant};

use app::{Act, Derivation, Place, Secret, Signed, Witnesses, Workshop};
use ledger::Access;
use quantity::{Currency, Id, IdError, Kind};
use record::act::{
    CardStep, Evidence, EvidenceKind, Finish, Grant, IssueCard, SignStep, Start, StepWork,
};
use record::{
    Change, Command, Entry, Gate, Info, JobKey, Person, Power, Programme, Requirement,
    Standing, Weekdays,
};

/// Requirements of the gate.
const REQUIREMENTS: usize = 5_000;
/// Cards that are entered in one batch.
const TOGETHER: usize = 200;
/// Acts of one card.
const ACTS: usize = 8;

fn main() -> Result<(), Box<dyn Error>> {
    let entries = std::env::args().nth(1).map_or(Ok(50_000), |text| text.parse())?;
    let folder = tempfile::tempdir()?;
    let sealed = std::env::args().any(|argument| argument == "--sealed");
    let file = std::env::args_os().nth(2).map(PathBuf::from).filter(|_| !sealed);
    if let Some(file) = file.as_ref().filter(|file| file.exists()) {
        return open(&file.into());
    }
    let file = file.unwrap_or_else(|| folder.path().join("measure.ledger"));
    let begun = Instant::now();
    fill(&file.clone().into(), entries, sealed)?;
    println!("filled: {:.2} s", begun.elapsed().as_secs_f64());
    let place = Place::from(file);
    if !sealed {
        parts(&place)?;
    }
    let begun = Instant::now();
    let mut workshop = Workshop::open(&place)?;
    let opened = begun.elapsed().as_secs_f64();
    println!("opened from nothing ({} entries): {opened:.2} s", workshop.number());
    let begun = Instant::now();
    let kept = workshop.keep_snapshot(1)?;
    println!("kept for the next start ({kept}): {:.2} s", begun.elapsed().as_secs_f64());
    let begun = Instant::now();
    let again = Workshop::read(&place)?;
    let opened = begun.elapsed().as_secs_f64();
    println!("opened with that ({} entries): {opened:.2} s", again.number());
    drop(again);
    let begun = Instant::now();
    let proof = app::verify(&place, &Witnesses::default())?;
    let took = begun.elapsed().as_secs_f64();
    println!(
        "verified ({} seals, sound: {}): {took:.2} s",
        proof.sealed,
        proof.is_sound()
    );
    let gate = workshop.programme().gates.iter().next().ok_or("no gate")?.clone();
    let mut took: Vec<f64> = Vec::new();
    let mut asked = 0;
    for _ in 0..5 {
        let begun = Instant::now();
        let on = jiff::civil::date(2032, 1, 14);
        asked = workshop.programme().gate_state(&gate, on).requirements;
        took.push(begun.elapsed().as_secs_f64() * 1000.0);
    }
    println!("gate of {asked} requirements, five times: {took:.2?} ms");
    let mut times: Vec<Duration> = Vec::new();
    for number in 0..200 {
        let acts = card(1_000_000 + number)?;
        let begun = Instant::now();
        workshop.act(&acts[..1], &signer(sealed), None)?;
        times.push(begun.elapsed());
    }
    times.sort_unstable();
    let middle = times[times.len() / 2].as_secs_f64() * 1000.0;
    println!("one act, judged and on disk: {middle:.2} ms at the median of 200");
    Ok(())
}

fn signed() -> Signed {
    Signed {
        by: "edith".to_owned(),
        at: "2032-01-14T09:30:00+00:00".to_owned(),
        secret: None,
    }
}

fn signer(sealed: bool) -> Signed {
    Signed { secret: sealed.then(secret), ..signed() }
}

fn secret() -> Secret {
    Secret::new("words that are made up")
}

fn id<K: Kind>(text: &str) -> Result<Id<K>, IdError> {
    Id::new(text)
}

fn open(place: &Place) -> Result<(), Box<dyn Error>> {
    let begun = Instant::now();
    let workshop = Workshop::read(place)?;
    let opened = begun.elapsed().as_secs_f64();
    println!("opened ({} entries): {opened:.2} s", workshop.number());
    Ok(())
}

/// Where the time of an opening from nothing goes.
fn parts(place: &Place) -> Result<(), Box<dyn Error>> {
    let store = place.open(Access::ReadOnly)?;
    let begun = Instant::now();
    let mut bytes = 0;
    store.read(0, &mut |entry| {
        bytes += entry.body.len();
        ControlFlow::Continue(())
    })?;
    let read = begun.elapsed().as_secs_f64();
    let begun = Instant::now();
    let mut facts = 0;
    store.read(0, &mut |entry| {
        let body = std::str::from_utf8(&entry.body).unwrap_or_default();
        let fact = folder::stored::decode_any(&entry.kind, entry.version, body);
        facts += usize::from(fact.is_ok());
        ControlFlow::Continue(())
    })?;
    let decoded = begun.elapsed().as_secs_f64() - read;
    println!(
        "of an opening from nothing: {read:.2} s to read {bytes} bytes and check the chain, \
         {decoded:.2} s to decode {facts} bodies, the rest to fold"
    );
    Ok(())
}

fn fill(place: &Place, entries: usize, sealed: bool) -> Result<(), Box<dyn Error>> {
    let mut workshop = Workshop::write(place)?;
    workshop.enter(&Command::Restate(Box::new(programme()?)), &signed())?;
    let by = Signed { by: "anna".to_owned(), ..signed() };
    for (number, power) in (1..).zip([Power::Appoint, Power::Plan, Power::Certify]) {
        let grant = Grant {
            authority: id(&format!("A-{number}"))?,
            person: id(if number == 1 { "anna" } else { "edith" })?,
            power,
            chapters: Vec::new(),
            reference: "made up".to_owned(),
            from: jiff::civil::date(2031, 1, 1),
            until: None,
            specimen: None,
        };
        workshop.act(&[grant.into()], &by, None)?;
    }
    if sealed {
        let enrol = |who| app::enrolment_by(who, &secret(), "made up", Derivation::LEAST);
        workshop.act(&[enrol("anna")?], &by, None)?;
        let by = Signed { secret: Some(secret()), ..by };
        workshop.act(&[enrol("edith")?], &by, None)?;
    }
    let cards = entries.saturating_sub(REQUIREMENTS) / ACTS;
    for first in (0..cards).step_by(TOGETHER) {
        let mut acts: Vec<Act> = Vec::new();
        for number in first..cards.min(first + TOGETHER) {
            acts.extend(card(number)?);
        }
        workshop.act(&acts, &signer(sealed), None)?;
    }
    Ok(())
}

fn programme() -> Result<Programme, Box<dyn Error>> {
    let mut programme = Programme::default();
    let info = Info {
        name: "made up".to_owned(),
        aircraft: "none".to_owned(),
        registration: None,
        keeper: None,
        datum: None,
        currency: Currency::new("EUR")?,
        invented: true,
        weighed: None,
    };
    programme.apply(&Entry::Info(info.into()));
    for name in ["anna", "edith"] {
        let person = Person {
            id: id(name)?,
            name: name.to_owned(),
            standing: Standing::Staff,
            skills: Vec::new(),
            days: Weekdays::NONE,
            hours: None,
            away: Vec::new(),
            from: None,
            until: None,
            authority: Vec::new(),
        };
        programme.apply(&Entry::Person(Change::Define(person.into())));
    }
    let gate = Gate { id: id("fly")?, name: "Fly".to_owned(), order: 1 };
    programme.apply(&Entry::Gate(Change::Define(gate.into())));
    for number in 0..REQUIREMENTS {
        let requirement = Requirement {
            id: id(&format!("R-{number}"))?,
            gate: id("fly")?,
            what: "it is in order".to_owned(),
            kind: Some(EvidenceKind::Report),
            job: None,
            fitted: None,
            citation: None,
        };
        programme.apply(&Entry::Requirement(Change::Define(requirement.into())));
    }
    Ok(programme)
}

/// A card from its issue to the evidence that it gives.
fn card(number: usize) -> Result<Vec<Act>, IdError> {
    let job = JobKey(format!("J-{number}"));
    let mut steps = Vec::new();
    for name in ["1", "2", "3", "4"] {
        steps.push(CardStep {
            id: id(name)?,
            text: "do it".to_owned(),
            work: StepWork::Task,
            data: Some("WI-7".to_owned()),
            revision: Some("2".to_owned()),
            critical: false,
            inspected: false,
            independent: false,
            limits: Vec::new(),
            makes: Vec::new(),
        });
    }
    let signs = steps.iter().map(|step| SignStep {
        job: job.clone(),
        step: step.id.clone(),
        readings: Vec::new(),
        supervisor: None,
        note: None,
        photographs: Vec::new(),
    });
    let signs: Vec<Act> = signs.map(Act::from).collect();
    let (title, item, pack) = ("Do it".to_owned(), None, None);
    let issue = IssueCard { job: job.clone(), title, item, pack, steps };
    let mut acts: Vec<Act> = vec![issue.into(), Start { job: job.clone() }.into()];
    acts.extend(signs);
    acts.push(Finish { job: job.clone(), clear: true }.into());
    let requirement = id(&format!("R-{}", number % REQUIREMENTS))?;
    let (kind, reference) = (EvidenceKind::Report, job.0);
    let shows = "all in order".to_owned();
    acts.push(Evidence { requirement, kind, reference, shows, until: None }.into());
    Ok(acts)
}
