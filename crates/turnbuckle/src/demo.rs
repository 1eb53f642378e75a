//! The invented example, carried within the program so that it runs anywhere.
//!
//! Its dates are moved by whole weeks, so that its first season began on the Monday of the
//! week in which it is first tried: what waits today waits today.

mod dates;

use std::path::Path;
use std::time::Duration;

use jiff::Timestamp;

use anyhow::{Result, bail};
use app::{AppError, Place, PlanRequest, SeasonPlan, Stop};

use crate::arguments::{Demo, Effort, Ledger};
use crate::{accounts, acts, run, say, serve};

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
        return Ok(planned.plan.is_some());
    }
    let accounts = accounts::found(&ledger, &dir, &planned)?;
    serve::pages(&ledger, &pages, |_| println!("\n{accounts}"))
}

/// Writes the example's folder, loads it, plans its first season, and says where
/// everything lies.
fn run(dir: &Path, ledger: &Place, time: Duration, effort: Effort) -> Result<SeasonPlan> {
    refuse_real(ledger)?;
    let folder = dir.join("programme");
    std::fs::create_dir_all(&folder)?;
    let days = days_on(&folder);
    for (name, text) in FILES {
        std::fs::write(folder.join(name), dates::moved(text, days))?;
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
        now: app::under_way(workshop.programme(), None, acts::now().datetime())?,
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
    Ok(planned)
}

/// By how many days the example is moved: as it was before if it lies there already.
fn days_on(folder: &Path) -> i64 {
    const SEASONS: &str = "seasons.toml";
    let text = FILES.iter().find(|(name, _)| *name == SEASONS).map_or("", |file| file.1);
    let Some(written) = dates::first(text) else { return 0 };
    let before = std::fs::read_to_string(folder.join(SEASONS)).ok();
    let today = acts::now().date();
    let monday = i64::from(today.weekday().to_monday_zero_offset());
    let monday = today.checked_sub(jiff::Span::new().days(monday)).unwrap_or(today);
    let begins = before.as_deref().and_then(dates::first).unwrap_or(monday);
    i64::from((begins - written).get_days())
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
