//! People of the invented example who can sign in: one for each role, with invented secrets
//! that the terminal shows.

use std::fmt::Write;
use std::path::Path;

use anyhow::{Context, Result};
use app::{Act, Place, Secret, Signed, Workshop};

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

/// Gives people of the example authorities and secrets, unless they have them, and says how
/// to sign in.
pub(crate) fn found(ledger: &Place, dir: &Path) -> Result<String> {
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
    let told = table(&workshop, &secrets);
    std::fs::write(&file, &told)
        .with_context(|| format!("could not write {}", file.display()))?;
    Ok(told)
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
