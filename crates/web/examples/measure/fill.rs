//! A ledger as long as one of many years.

use std::fmt::Write;
use std::path::Path;

use app::{Act, Derivation, Place, Secret, Signed, Workshop};

const EXAMPLE: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../../examples/amphibian");
const STAMP: &str = "2026-01-05T09:30:00+00:00";
/// Jobs of the season beside those that the example has by itself.
const MORE_JOBS: usize = 2_240;
const CARDS: usize = 3_000;
const FINDINGS: usize = 2_000;
/// Acts of a card beside the signatures of its steps: its issue, start, hours and end.
const BESIDE: usize = 4;

/// What was made.
pub(crate) struct Made {
    pub(crate) entries: u64,
    pub(crate) jobs: usize,
    pub(crate) cards: usize,
}

/// The secret of whoever signs in.
pub(crate) const SECRET: &str = "words that are made up";

pub(crate) fn fill(dir: &Path, ledger: &Path, entries: usize) -> Made {
    let folder = dir.join("programme");
    std::fs::create_dir(&folder).unwrap();
    for file in std::fs::read_dir(EXAMPLE).unwrap() {
        let file = file.unwrap();
        std::fs::copy(file.path(), folder.join(file.file_name())).unwrap();
    }
    let jobs = more_jobs(&folder);
    let place = Place::from(ledger.to_owned());
    app::load(&folder, &place, &by("load")).unwrap();
    let mut workshop = Workshop::open(&place).unwrap();
    for (at, (person, power)) in
        [("OP", "appoint"), ("TR", "plan"), ("TR", "certify"), ("TR", "classify")]
            .into_iter()
            .enumerate()
    {
        let name = format!("M-{at}");
        let grant = [
            ("authority", name.as_str()),
            ("person", person),
            ("power", power),
            ("reference", "made up"),
            ("from", "2020-01-01"),
        ];
        workshop.act(&[act("grant", &grant)], &by("OP"), None).unwrap();
    }
    let mut acts = Vec::new();
    for number in 0..FINDINGS {
        acts.push(finding(number));
    }
    workshop.act(&acts, &by("HB"), None).unwrap();
    let left = entries.saturating_sub(workshop.number() as usize);
    let steps = (left / CARDS).saturating_sub(BESIDE).max(1);
    for first in (0..CARDS).step_by(50) {
        let acts: Vec<Act> =
            (first..first + 50).flat_map(|card| acts_of(card, steps)).collect();
        workshop.act(&acts, &by("TR"), None).unwrap();
    }
    for (person, signer) in [("OP", by("OP")), ("TR", sealed("OP"))] {
        let key = Secret::new(SECRET);
        let enrol =
            app::enrolment_by(person, &key, "made up", Derivation::LEAST).unwrap();
        workshop.act(&[enrol], &signer, None).unwrap();
    }
    Made { entries: workshop.number(), jobs, cards: CARDS }
}

/// Writes more jobs into the folder; how many there are as the file has them.
fn more_jobs(folder: &Path) -> usize {
    let file = folder.join("jobs.csv");
    let mut text = std::fs::read_to_string(&file).unwrap();
    let packs = std::fs::read_to_string(folder.join("packs.csv")).unwrap();
    let packs: Vec<&str> = packs
        .lines()
        .skip(1)
        .filter(|line| line.contains(",S1,"))
        .filter_map(|line| line.split(',').next())
        .collect();
    for number in 0..MORE_JOBS {
        let pack = packs[number % packs.len()];
        // Writing to a text cannot fail.
        let _ = writeln!(
            text,
            "M-{number},Made up {number},{pack},,as it is,1 fitter,10 min / 15 min / 20 min,,"
        );
    }
    std::fs::write(&file, &text).unwrap();
    text.lines().count() - 1
}

fn by(person: &str) -> Signed {
    Signed { by: person.to_owned(), at: STAMP.to_owned(), secret: None }
}

fn sealed(person: &str) -> Signed {
    Signed { secret: Some(Secret::new(SECRET)), ..by(person) }
}

fn act(word: &str, fields: &[(&str, &str)]) -> Act {
    let fields: Vec<(String, String)> =
        fields.iter().map(|(name, value)| ((*name).into(), (*value).into())).collect();
    app::act_of_fields(word, &fields).unwrap_or_else(|error| panic!("{word}: {error}"))
}

fn finding(number: usize) -> Act {
    const ITEMS: [&str; 8] = [
        "PROP-P", "SPIN-P", "SEAT-PP", "SEAT-PS", "FLOOR-1", "FLOOR-2", "KEEL-F", "PB-FP",
    ];
    let (name, what) = (format!("M-{number}"), format!("made up, number {number}"));
    let item = ITEMS[number % ITEMS.len()];
    act(
        "raise",
        &[("finding", &name), ("item", item), ("what", &what), ("found", "2026-01-02")],
    )
}

/// A card from its issue to its end; every tenth is still at work.
fn acts_of(card: usize, steps: usize) -> Vec<Act> {
    let job = format!("K-{card}");
    let mut fields = vec![
        ("job".to_owned(), job.clone()),
        ("title".to_owned(), format!("Made up {card}")),
        ("item".to_owned(), "PROP-P".to_owned()),
    ];
    for step in 1..=steps {
        for (name, value) in [
            ("id", step.to_string()),
            ("text", format!("Do what is made up, number {step}")),
            ("work", "task".to_owned()),
            ("data", "Manual 61".to_owned()),
            ("revision", "2".to_owned()),
            ("independent", "no".to_owned()),
        ] {
            fields.push((format!("steps.{step}.{name}"), value));
        }
    }
    let issue = app::act_of_fields("issue-card", &fields).unwrap();
    let mut acts = vec![issue, act("start", &[("job", &job)])];
    for step in 1..=steps {
        acts.push(act("sign-step", &[("job", &job), ("step", &step.to_string())]));
    }
    let hours = [
        ("job", job.as_str()),
        ("person", "TR"),
        ("on", "2026-01-05"),
        ("hours", "1 h"),
        ("reason", "made up"),
    ];
    acts.push(act("hours", &hours));
    if !card.is_multiple_of(10) {
        acts.push(act("finish", &[("job", &job), ("clear", "yes")]));
    }
    acts
}
