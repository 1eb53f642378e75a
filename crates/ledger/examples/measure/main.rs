//! How fast the ledger is, beside plain SQLite with the same promise of durability.
//!
//! Run by `cargo xtask bench ledger`, which says on which machine. Prints a Markdown table.
//!
//! ```text
//! measure FOLDER ENTRIES SECONDS [CONNECTION]
//! ```
//!
//! `FOLDER` must exist and lie on the disk that is meant; `SECONDS` is how long the writers
//! that wait together go on; `CONNECTION` names a PostgreSQL server to measure too.

#![expect(clippy::print_stdout, reason = "a tool of developers talks to the terminal")]

mod plain;
mod together;

use std::error::Error;
use std::ops::ControlFlow;
use std::path::Path;
use std::time::{Duration, Instant};

use ledger::{LedgerId, NewEntry, PostgresStore, SqliteStore, Store};

/// Entries in a batch when many are appended.
const BATCH: u64 = 1000;

/// How many changes are made and waited for one by one.
const SINGLES: u64 = 400;

/// How many writers wait together.
const WRITERS: usize = 64;

type Outcome<T> = Result<T, Box<dyn Error + Send + Sync>>;

/// Times of changes that were waited for one by one, sorted.
pub(crate) struct Waits(Vec<Duration>);

/// What was measured of one store.
struct Measured {
    appended: Duration,
    singles: Waits,
    together: f64,
    group: f64,
    read: Duration,
    verified: Duration,
    peak: Option<u64>,
}

impl Waits {
    pub(crate) fn new(mut waits: Vec<Duration>) -> Self {
        waits.sort();
        Self(waits)
    }

    /// In milliseconds, below which `part` of all lie.
    fn below(&self, part: f64) -> f64 {
        let at = (self.0.len() as f64 * part) as usize;
        self.0.get(at).map_or(f64::NAN, |wait| wait.as_secs_f64() * 1000.0)
    }
}

fn main() -> Outcome<()> {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let (folder, entries, seconds, server) = match words.as_slice() {
        [folder, entries, seconds] => (folder, entries, seconds, None),
        [folder, entries, seconds, server] => (folder, entries, seconds, Some(server)),
        _ => return Err("usage: measure FOLDER ENTRIES SECONDS [CONNECTION]".into()),
    };
    let (folder, entries) = (Path::new(folder), entries.parse()?);
    let span = Duration::from_secs(seconds.parse()?);
    println!(
        "| | entries | appended, s | entries/s | one change, median ms | 99 % ms | {WRITERS} writers, changes/s | changes a commit | read, s | verified, s | peak MB | file MB |"
    );
    println!("|---|--:|--:|--:|--:|--:|--:|--:|--:|--:|--:|--:|");
    let path = folder.join("measured.ledger");
    let sqlite = measure(SqliteStore::create(&path)?, entries, span)?;
    let size = std::fs::metadata(&path)?.len();
    show("ledger in SQLite", entries, &sqlite, Some(size));
    let plain_path = folder.join("plain.db");
    let (appended, singles) = plain::measure(&plain_path, entries)?;
    let size = std::fs::metadata(&plain_path)?.len();
    show_plain(entries, appended, &singles, size);
    if let Some(server) = server {
        let id = LedgerId::from_bytes([7; 16]);
        let schema = format!("measured_{}", std::process::id());
        let store = PostgresStore::create_with_id(server, &schema, id)?;
        show("ledger in PostgreSQL", entries, &measure(store, entries, span)?, None);
    }
    let times = |ledger: f64, plain: f64| ledger / plain;
    println!(
        "\nBeside plain SQLite the ledger takes {:.2} times as long for many entries, and \
         {:.2} times for one change.",
        times(sqlite.appended.as_secs_f64(), appended.as_secs_f64()),
        times(sqlite.singles.below(0.5), singles.below(0.5)),
    );
    Ok(())
}

/// The length of what a workshop enters: a few facts as JSON.
fn entry(n: u64) -> NewEntry {
    NewEntry {
        kind: "task-progress".into(),
        version: 1,
        body: format!(
            "{{\"task\":\"T-{n:06}\",\"state\":\"under way\",\"hours\":\"{}:15\",\"note\":\
             \"drilled out, edges cleaned, primed; the next rivet line waits for the \
             inspection of the doubler\"}}",
            n % 9
        )
        .into_bytes(),
        at: format!("2031-01-{:02}T{:02}:30:00Z", n % 28 + 1, n % 24),
        by: format!("Fitter {}", n % 17),
    }
}

fn measure(
    mut store: impl Store + 'static,
    entries: u64,
    span: Duration,
) -> Outcome<Measured> {
    let begun = Instant::now();
    let mut last = 0;
    while last < entries {
        let batch: Vec<NewEntry> =
            (last + 1..=(last + BATCH).min(entries)).map(entry).collect();
        last = store.append(last, &batch)?.number;
    }
    let appended = begun.elapsed();

    let begun = Instant::now();
    let mut bytes = 0;
    store.read(0, &mut |entry| {
        bytes += entry.body.len();
        ControlFlow::Continue(())
    })?;
    let read = begun.elapsed();
    std::hint::black_box(bytes);

    let begun = Instant::now();
    let verdict = store.verify(None)?;
    let verified = begun.elapsed();
    if !verdict.is_sound() || verdict.entries != entries {
        return Err(format!("the ledger doesn't verify: {verdict:?}").into());
    }
    // Before the writers' threads, which have memory of their own.
    let peak = peak();

    let mut waits = Vec::new();
    for n in 0..SINGLES {
        let batch = [entry(n)];
        let begun = Instant::now();
        last = store.append(last, &batch)?.number;
        waits.push(begun.elapsed());
    }
    let (together, group) = together::measure(store, WRITERS, span)?;
    let singles = Waits::new(waits);
    Ok(Measured { appended, singles, together, group, read, verified, peak })
}

/// The most memory that this process has held, in bytes, where the system tells.
fn peak() -> Option<u64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"))?;
    let kilobytes: u64 = line.trim().strip_suffix("kB")?.trim().parse().ok()?;
    Some(kilobytes * 1024)
}

fn megabytes(bytes: Option<u64>) -> String {
    bytes.map_or(String::new(), |bytes| format!("{:.0}", bytes as f64 / 1e6))
}

fn show(name: &str, entries: u64, measured: &Measured, size: Option<u64>) {
    let seconds = measured.appended.as_secs_f64();
    println!(
        "| {name} | {entries} | {seconds:.1} | {:.0} | {:.2} | {:.2} | {:.0} | {:.1} | \
         {:.2} | {:.2} | {} | {} |",
        entries as f64 / seconds,
        measured.singles.below(0.5),
        measured.singles.below(0.99),
        measured.together,
        measured.group,
        measured.read.as_secs_f64(),
        measured.verified.as_secs_f64(),
        megabytes(measured.peak),
        megabytes(size),
    );
}

fn show_plain(entries: u64, appended: Duration, singles: &Waits, size: u64) {
    let seconds = appended.as_secs_f64();
    println!(
        "| plain SQLite | {entries} | {seconds:.1} | {:.0} | {:.2} | {:.2} | | | | | | {} |",
        entries as f64 / seconds,
        singles.below(0.5),
        singles.below(0.99),
        megabytes(Some(size)),
    );
}
