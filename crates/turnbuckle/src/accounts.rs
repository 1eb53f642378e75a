//! People of the invented example who can sign in: one for each role, with invented secrets
//! that the terminal shows.

use std::fmt::Write;
use std::path::Path;

use anyhow::{Context, Result};
use app::{Act, AppError, CardRequest, Place, SeasonPlan, Secret, Signed, Workshop};
use jiff::civil::Date;

use crate::acts;

/// Who may do what; the first founds the record and appoints the others.
const ROLES: [(&str, &str, &[&str]); 8] = [
    ("OP", "leads: appoints the others", &["appoint"]),
    ("TR", "plans, certifies", &["plan", "certify", "supervise"]),
    ("MS", "decides on findings", &["classify", "engineer"]),
    ("AC", "inspects, releases, from outside", &["inspect", "release"]),
    ("BK", "inspects, certifies", &["inspect", "certify"]),
    ("JC", "stores", &["stores", "certify"]),
    ("HB", "volunteer, works under supervision", &[]),
    ("CP", "trustee, reads and signs nothing", &[]),
];

/// Words of the shop, of which secrets of the example are made.
const WORDS: [&str; 64] = [
    "anvil", "batten", "bobbin", "bolt", "brace", "bracket", "brush", "bucket", "cable",
    "caliper", "canvas", "chisel", "clamp", "cleat", "copper", "cotter", "cowl",
    "cradle", "dolly", "dope", "drift", "drill", "feeler", "ferrule", "file", "flange",
    "float", "frame", "funnel", "gasket", "gauge", "grommet", "hammer", "hangar",
    "hinge", "hoist", "jig", "keel", "ladder", "lathe", "lever", "magnet", "mallet",
    "needle", "nozzle", "paddle", "pinion", "plumb", "pulley", "ratchet", "rivet",
    "rope", "rudder", "sander", "screw", "shackle", "shim", "sling", "spanner", "spline",
    "tackle", "thimble", "trestle", "washer",
];

/// Where the secrets are kept, so that the example can be served again.
const FILE: &str = "accounts.txt";

/// Who plans, and who takes up the first cards.
const PLANS: &str = "TR";
const TAKE_UP: [&str; 3] = ["BK", "JC", "MS"];
/// Cards are issued for what begins within so many days.
const AHEAD: i64 = 8;

/// Gives people of the example authorities and secrets, unless they have them, lets them
/// adopt the plan and begin the first jobs, and says how to sign in.
pub(crate) fn found(ledger: &Place, dir: &Path, planned: &SeasonPlan) -> Result<String> {
    let file = dir.join(FILE);
    let mut workshop = Workshop::open(ledger)?;
    if app::has_keys(workshop.programme()) {
        return Ok(std::fs::read_to_string(&file).unwrap_or_else(|_| {
            "The people of the example have secrets already, which were printed when they were \
             made.\n"
                .to_owned()
        }));
    }
    let secrets: Vec<String> = ROLES.iter().map(|_| secret()).collect::<Result<_>>()?;
    let first = &secrets[0];
    for grant in grants()? {
        workshop.act(&[grant], &signed(None), None)?;
    }
    for ((person, _, _), secret) in ROLES.iter().zip(&secrets) {
        let act = app::enrolment(person, &Secret::new(secret), "Invented example")?;
        let founded = app::has_keys(workshop.programme());
        workshop.act(&[act], &signed(founded.then_some(first)), None)?;
    }
    begin(&mut workshop, &secrets, planned)?;
    let told = table(&workshop, &secrets);
    std::fs::write(&file, &told)
        .with_context(|| format!("could not write {}", file.display()))?;
    Ok(told)
}

/// The season begins: the plan is adopted, cards are issued for the days to come, and the
/// first of them are taken up.
fn begin(
    workshop: &mut Workshop,
    secrets: &[String],
    planned: &SeasonPlan,
) -> Result<()> {
    let today = acts::now().date();
    let Some(plan) = &planned.plan else { return Ok(()) };
    let adopt = app::adoption(planned, "Agreed on the first day; invented", "example")?;
    workshop.act(&[adopt], &by(PLANS, secrets), None)?;
    let last = today.checked_add(jiff::Span::new().days(AHEAD))?;
    let mut jobs: Vec<(&str, Date)> =
        plan.jobs.iter().map(|job| (job.key.0.as_str(), job.start.date())).collect();
    jobs.retain(|(_, start)| *start <= last);
    jobs.sort_by_key(|(_, start)| *start);
    for (job, _) in &jobs {
        let request = CardRequest {
            jobs: vec![(*job).to_owned()],
            document: Some("Invented manual".to_owned()),
            revision: Some("1".to_owned()),
            ..CardRequest::default()
        };
        let (cards, _) = app::draft_cards(workshop.programme(), &request, today)?;
        let cards = app::acts_of_json(&cards)?;
        if !cards.is_empty() {
            allowed(workshop.act(&cards, &by(PLANS, secrets), None))?;
        }
    }
    let mut people = TAKE_UP.iter();
    let mut person = people.next();
    for (job, _) in &jobs {
        let Some(who) = person else { break };
        let start = app::typed_act("start", &[format!("job={job}")])?;
        if allowed(workshop.act(&start, &by(who, secrets), None))? {
            person = people.next();
        }
    }
    Ok(())
}

/// What rules forbid is not done in the example either: somebody else does it later.
fn allowed<T>(done: Result<T, AppError>) -> Result<bool> {
    match done {
        Ok(_) => Ok(true),
        Err(AppError::Forbidden(_)) => Ok(false),
        Err(error) => Err(error.into()),
    }
}

/// Signed by somebody of the example.
fn by(person: &str, secrets: &[String]) -> Signed {
    let place = ROLES.iter().position(|(of, _, _)| *of == person);
    let secret = place.and_then(|place| secrets.get(place));
    let secret = secret.map(|secret| Secret::new(secret));
    Signed { by: person.to_owned(), at: acts::stamp(), secret }
}

fn signed(secret: Option<&String>) -> Signed {
    let secret = secret.map(|secret| Secret::new(secret));
    Signed { by: ROLES[0].0.to_owned(), at: acts::stamp(), secret }
}

fn grants() -> Result<Vec<Act>> {
    let mut grants = Vec::new();
    let from = acts::now().date().to_string();
    for (person, _, powers) in ROLES {
        for power in powers {
            let fields = [
                format!("authority=A-{person}-{power}"),
                format!("person={person}"),
                format!("power={power}"),
                "reference=invented approval".to_owned(),
                format!("from={from}"),
            ];
            grants.extend(app::typed_act("grant", &fields)?);
        }
    }
    Ok(grants)
}

/// Six words, drawn by the system's randomness.
fn secret() -> Result<String> {
    let token = app::random_token()?;
    let words: Vec<&str> = (0..6)
        .map(|at| {
            let digits = token.get(at * 2..at * 2 + 2).unwrap_or("00");
            WORDS[usize::from_str_radix(digits, 16).unwrap_or(0) % WORDS.len()]
        })
        .collect();
    Ok(words.join(" "))
}

fn table(workshop: &Workshop, secrets: &[String]) -> String {
    let mut text =
        "INVENTED PEOPLE with invented secrets, to try out who may do what:\n".to_owned();
    for ((person, role, _), secret) in ROLES.iter().zip(secrets) {
        let name = app::person(workshop.programme(), person);
        let name = name.map_or_else(String::new, |(_, name)| name);
        // Writing to a text cannot fail.
        let _ = writeln!(text, "  {person}  {name:<18} {role:<36} {secret}");
    }
    text
}
