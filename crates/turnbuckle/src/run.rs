//! One function for each command. They answer whether what was asked for came about.

use std::path::Path;

use anyhow::Result;
use app::{Ending, Place, PlanRequest, Programme, SeasonPlan, Signed, Stop, Witnesses};
use jiff::Timestamp;

use crate::acts;
use crate::arguments::{Command, Draft, Effort, Plan, Problem, Signer, Source, ViewFrom};
use crate::keeping;
use crate::progress::{Bar, season};
use crate::{demo, say, secrets, serve, solve};

pub(crate) fn run(command: Command) -> Result<bool> {
    match command {
        Command::New { dir } => new(&dir),
        Command::Check { dir } => check(&dir),
        Command::Load { dir, ledger, by, signer } => {
            load(&dir, &ledger.place()?, &by, &signer)
        }
        Command::Export { dir, ledger } => export(&dir, &ledger.place()?),
        Command::Verify { bundle, keys, checkpoints, forget, ledger } => {
            let witnesses = Witnesses { keys, checkpoints };
            if let Some(bundle) = bundle {
                return keeping::check_bundle(&bundle, &witnesses);
            }
            keeping::verify(&ledger.place()?, &witnesses, forget)
        }
        Command::Attach { file, ledger } => keeping::attach(&ledger.place()?, &file),
        Command::Clear { older, only_try, ledger } => {
            keeping::clear(&ledger.place()?, older, only_try)
        }
        Command::Key { file } => keeping::key(&file),
        Command::Checkpoint { key, out, ledger } => {
            keeping::checkpoint(&ledger.place()?, &key, &out)
        }
        Command::Enrol { person, by, reason, new_secret_file, signer, ledger } => {
            let file = new_secret_file.as_deref();
            acts::enrol((&person, &by), &reason, file, &signer, &ledger.place()?)
        }
        Command::Bundle { gate, thing, key, out, on, ledger } => {
            keeping::bundle(&ledger.place()?, (gate, thing), &key, &out, on)
        }
        Command::Backup { to, ledger } => keeping::backup(&ledger.place()?, &to),
        Command::Restore { from, ledger } => keeping::restore(&from, &ledger.place()?),
        Command::Open { items, expose, graph, on, source } => {
            let graph = graph.as_deref().map(|file| (file, on.as_deref()));
            open(&items, &expose, graph, &source)
        }
        Command::Draw { view, out, on, source } => draw(view, &out, on, &source),
        Command::Plan(plan) => self::plan(&plan),
        Command::Draft(asked) => draft(asked),
        Command::Act(act) => acts::act(&act),
        Command::Show(show) => acts::show(&show),
        Command::History { thing, ledger, json } => {
            acts::history(&thing, &ledger.place()?, json)
        }
        Command::Solve { file, time, effort, json } => {
            let stop = Stop { time: Some(time), steps: effort.steps };
            solve::solve(&file, stop, effort, json)
        }
        Command::Problem(Problem::Draw { size, seed }) => {
            print!("{}", app::draw_problem(size, seed));
            Ok(true)
        }
        Command::Problem(Problem::Season { source, season, today }) => {
            let now = today.map(|day| day.to_datetime(jiff::civil::Time::midnight()));
            let programme = programme(&source)?;
            print!("{}", app::season_problem(&programme, season.as_deref(), now)?);
            Ok(true)
        }
        Command::Problem(Problem::Judge { file, schedule, json }) => {
            solve::judge(&file, &schedule, json)
        }
        Command::Serve(asked) => serve::serve(&asked),
        Command::Demo(asked) => demo::demo(asked),
        Command::Schema { write } => {
            let files = app::schemas(&write, ("ROLES.md", web::roles_reference()))?;
            say::files("wrote", &files);
            Ok(true)
        }
    }
}

fn export(dir: &Path, ledger: &app::Place) -> Result<bool> {
    say::files("wrote", &app::export(ledger, dir)?);
    Ok(true)
}

fn new(dir: &Path) -> Result<bool> {
    let files = app::new_folder(dir)?;
    say::files("wrote", &files);
    let dir = dir.display();
    println!(
        "\nedit these, then: turnbuckle check {dir}\nand then:         turnbuckle load {dir}"
    );
    Ok(true)
}

fn check(dir: &Path) -> Result<bool> {
    let checked = app::check(dir)?;
    for warning in &checked.warnings {
        println!("{warning}");
    }
    let counts: Vec<String> =
        checked.counts.iter().map(|(noun, count)| format!("{count} {noun}")).collect();
    println!("in order: {}", counts.join(", "));
    Ok(true)
}

/// By whom and when something is entered. The clock is read here and nowhere below.
pub(crate) fn signed(by: String) -> Signed {
    Signed { by, at: Timestamp::now().to_string(), secret: None }
}

fn load(dir: &Path, ledger: &Place, by: &str, signer: &Signer) -> Result<bool> {
    let secret = secrets::of(signer, by, ledger)?;
    let signed = Signed { secret, ..signed(by.to_owned()) };
    let loaded = match app::load(dir, ledger, &signed) {
        Err(app::AppError::Forbidden(refused)) => {
            return Ok(acts::tell_refused(&refused, false));
        }
        other => other?,
    };
    for warning in &loaded.warnings {
        println!("{warning}");
    }
    say::differences(&loaded.differences, loaded.number);
    Ok(true)
}

fn programme(source: &Source) -> Result<Programme> {
    if let Some(dir) = &source.folder {
        let reading = app::read_folder(dir)?;
        return Ok(reading.programme);
    }
    let workshop = app::Workshop::read(&source.ledger.place()?)?;
    Ok(workshop.programme().clone())
}

fn open(
    items: &[String],
    expose: &[String],
    graph: Option<(&Path, Option<&str>)>,
    source: &Source,
) -> Result<bool> {
    if items.is_empty() && expose.is_empty() {
        anyhow::bail!("name an item to free, or one to expose with --expose ITEM");
    }
    let programme = programme(source)?;
    let answer = app::opening(&programme, items, expose)?;
    print!("{}", answer.text);
    let hours = answer.cost as f64 / 60.0;
    let proven = if answer.optimal { ": no cheaper way exists" } else { "" };
    println!("\n{hours:.1} person-hours to open and to close{proven}");
    if let Some((file, stands_on)) = graph {
        let today = acts::now().date();
        let found = app::reaching(&programme, (items, expose), stands_on, today)?;
        let svg = app::reaching_svg(&found, app::Setting::Alone, &|_| None);
        app::write_file(file, svg.as_bytes())?;
        println!("drawn in {}", say::absolute(file).display());
    }
    Ok(true)
}

fn draw(
    view: ViewFrom,
    out: &Path,
    on: Option<jiff::civil::Date>,
    source: &Source,
) -> Result<bool> {
    let view = match view {
        ViewFrom::Side => app::View::Side,
        ViewFrom::Plan => app::View::Plan,
    };
    let on = on.unwrap_or_else(|| acts::now().date());
    let drawing = app::drawing(&programme(source)?, view, on)?;
    let svg = app::drawing_svg(&drawing, app::Setting::Alone, &|_| None, &|_| None);
    app::write_file(out, svg.as_bytes())?;
    for zone in &drawing.zones {
        let seen = if zone.shown { "" } else { " (not in this view)" };
        let word = zone.state.word();
        println!("{:<12} {word:<15} {}{seen}", zone.zone, zone.sentences().join(", "));
    }
    for notice in &drawing.notices {
        println!("{notice}");
    }
    println!("drawn in {}", say::absolute(out).display());
    Ok(true)
}

fn draft(asked: Draft) -> Result<bool> {
    let programme = programme(&asked.source)?;
    let request = app::CardRequest {
        season: asked.season,
        jobs: asked.jobs,
        pack: asked.pack,
        document: asked.data,
        revision: asked.revision,
    };
    let (acts, without) = app::draft_cards(&programme, &request, acts::now().date())?;
    if !without.is_empty() {
        anyhow::bail!("{}", without.join("\n"));
    }
    print!("{acts}");
    Ok(true)
}

/// Threads to use.
pub(crate) fn threads(effort: Effort) -> usize {
    let cores = || std::thread::available_parallelism().map_or(1, std::num::NonZero::get);
    effort.threads.unwrap_or_else(cores)
}

/// What solves plans.
const ENGINE: &str = concat!("turnbuckle ", env!("CARGO_PKG_VERSION"));

fn plan(asked: &Plan) -> Result<bool> {
    let programme = programme(&asked.source)?;
    let season = asked.season.as_deref();
    let now = match asked.today {
        Some(day) => Some(day.to_datetime(jiff::civil::Time::midnight())),
        None => app::under_way(&programme, season, acts::now().datetime())?,
    };
    let request = PlanRequest {
        season: asked.season.clone(),
        stop: Stop { time: Some(asked.time), steps: asked.effort.steps },
        threads: threads(asked.effort),
        seed: asked.effort.seed,
        now,
        anew: asked.anew,
        measured: asked.measured,
    };
    let planned = search(&programme, &request)?;
    let default = format!("plan-{}", planned.draft.season.id).replace('/', "_");
    let out = match &asked.out {
        Some(out) => Some(out.clone()),
        None if asked.json => None,
        None => Some(default.into()),
    };
    let published = match &out {
        Some(out) => app::publish(&programme, &planned, out, Timestamp::now())?,
        None => None,
    };
    if asked.json {
        println!("{}", app::json(&planned));
    } else {
        print!("{}", app::summary(&programme, &planned));
        tell(out.as_deref().zip(published.as_ref()));
    }
    if let (Some(reason), Some(by)) = (&asked.adopt, &asked.by) {
        let act = app::adoption(&planned, reason, ENGINE)?;
        let place = asked.source.ledger.place()?;
        let signed = acts::signed(by, &asked.signer, &place)?;
        return acts::sign(&place, &[act], &signed, (None, None), asked.json);
    }
    Ok(!matches!(planned.ending, Ending::Infeasible(_) | Ending::Nothing { .. }))
}

/// Plans with a progress bar.
pub(crate) fn search(programme: &Programme, request: &PlanRequest) -> Result<SeasonPlan> {
    let bar = Bar::new(request.stop.time.unwrap_or_default(), season)?;
    let planned = app::plan_season(programme, request, &bar);
    bar.clear();
    Ok(planned?)
}

/// Says where a plan's files lie.
pub(crate) fn tell(published: Option<(&Path, &app::Published)>) {
    let Some((out, published)) = published else {
        return;
    };
    println!("\n{} files in {}", published.files.len(), say::absolute(out).display());
    println!("open this in a browser: {}", say::absolute(&published.page).display());
}
