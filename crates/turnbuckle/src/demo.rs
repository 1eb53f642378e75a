//! The invented example, carried within the program so that it runs anywhere.

use std::path::Path;
use std::time::Duration;

use jiff::Timestamp;

use anyhow::{Result, bail};
use app::{AppError, Place, PlanRequest, Stop};

use crate::arguments::{Demo, Effort, Ledger};
use crate::{accounts, run, say, serve};

/// The files of the example.
const FILES: &[(&str, &str)] = &[
    ("arrangements.toml", include_str!("../../../examples/amphibian/arrangements.toml")),
    ("checks.toml", include_str!("../../../examples/amphibian/checks.toml")),
    ("connections.csv", include_str!("../../../examples/amphibian/connections.csv")),
    ("findings.csv", include_str!("../../../examples/amphibian/findings.csv")),
    ("firms.toml", include_str!("../../../examples/amphibian/firms.toml")),
    ("gates.toml", include_str!("../../../examples/amphibian/gates.toml")),
    ("gear.toml", include_str!("../../../examples/amphibian/gear.toml")),
    ("items.csv", include_str!("../../../examples/amphibian/items.csv")),
    ("jobs.csv", include_str!("../../../examples/amphibian/jobs.csv")),
    ("outlines.csv", include_str!("../../../examples/amphibian/outlines.csv")),
    ("packs.csv", include_str!("../../../examples/amphibian/packs.csv")),
    ("people.csv", include_str!("../../../examples/amphibian/people.csv")),
    ("places.toml", include_str!("../../../examples/amphibian/places.toml")),
    ("programme.toml", include_str!("../../../examples/amphibian/programme.toml")),
    ("requirements.csv", include_str!("../../../examples/amphibian/requirements.csv")),
    ("retention.csv", include_str!("../../../examples/amphibian/retention.csv")),
    ("routes.toml", include_str!("../../../examples/amphibian/routes.toml")),
    ("rules.csv", include_str!("../../../examples/amphibian/rules.csv")),
    ("seasons.toml", include_str!("../../../examples/amphibian/seasons.toml")),
    ("skills.toml", include_str!("../../../examples/amphibian/skills.toml")),
    ("stands.toml", include_str!("../../../examples/amphibian/stands.toml")),
    ("tools.csv", include_str!("../../../examples/amphibian/tools.csv")),
    ("zones.toml", include_str!("../../../examples/amphibian/zones.toml")),
];

/// The demo command: plans the example and, unless it is told not to, serves it.
pub(crate) fn demo(asked: Demo) -> Result<bool> {
    let Demo { dir, ledger, time, effort, no_serve, pages } = asked;
    let ledger = ledger.unwrap_or_else(|| dir.join("turnbuckle.ledger").into());
    let ledger = Ledger { ledger: Some(ledger) }.place()?;
    let planned = run(&dir, &ledger, time, effort)?;
    if no_serve {
        return Ok(planned);
    }
    let accounts = accounts::found(&ledger, &dir)?;
    serve::pages(&ledger, &pages, |_| println!("\n{accounts}"))
}

/// Writes the example's folder, loads it, plans its first season, and says where
/// everything lies.
fn run(dir: &Path, ledger: &Place, time: Duration, effort: Effort) -> Result<bool> {
    refuse_real(ledger)?;
    let folder = dir.join("programme");
    std::fs::create_dir_all(&folder)?;
    for (name, text) in FILES {
        std::fs::write(folder.join(name), text)?;
    }
    let loaded = app::load(&folder, ledger, &run::signed("demo".to_owned()))?;
    println!("INVENTED EXAMPLE: no such aircraft, people, firms or places.\n");
    say::differences(&loaded.differences, loaded.number);
    let workshop = app::Workshop::read(ledger)?;
    let request = PlanRequest {
        season: None,
        stop: Stop { time: Some(time), steps: effort.steps },
        threads: run::threads(effort),
        seed: effort.seed,
        now: None,
        anew: false,
        measured: false,
    };
    println!();
    let planned = run::search(workshop.programme(), &request)?;
    let (programme, out) = (workshop.programme(), dir.join("plan"));
    let published = app::publish(programme, &planned, &out, Timestamp::now())?;
    print!("{}", app::summary(programme, &planned));
    run::tell(published.as_ref().map(|published| (out.as_path(), published)));
    println!("the programme folder: {}", say::absolute(&folder).display());
    match ledger {
        Place::File(file) => println!("the ledger: {}", say::absolute(file).display()),
        Place::Server(server) => println!("the ledger: {server}"),
    }
    Ok(planned.plan.is_some())
}

/// Loading puts one programme in another's place; the example must never do that to a real
/// one.
fn refuse_real(ledger: &Place) -> Result<()> {
    let workshop = match app::Workshop::read(ledger) {
        Err(AppError::NoLedger(_)) => return Ok(()),
        other => other?,
    };
    match &workshop.programme().info {
        Some(info) if !info.invented => bail!(
            "{ledger} holds the programme {}, which is not invented: name another ledger \
             for the example",
            info.name
        ),
        _ => Ok(()),
    }
}
