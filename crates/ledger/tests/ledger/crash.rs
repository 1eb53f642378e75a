//! A writer killed at any instant loses nothing that it acknowledged, and leaves no part
//! of a batch.
//!
//! How often it is killed, `TURNBUCKLE_KILLS` says (100 times by default, 30
//! times with a server, which takes longer to start anew).
//!
//! Killing a process shows that nothing depends on its memory. It doesn't show what a power
//! cut does to the disk's own cache; for that the second test cuts the log at any byte.

use std::fs;
use std::io::{BufRead, BufReader, Write};
use std::process::{Child, Command, Stdio};
use std::thread;
use std::time::Duration;

use ledger::{
    Accepted, Access, Head, LedgerError, NewEntry, PostgresStore, SqliteStore, Store,
    Unnamed,
};
use tempfile::tempdir;

use crate::stores::Place;
use crate::{create, entry, raw, read_all};

/// Says how often a writer is killed.
pub(crate) const KILLS: &str = "TURNBUCKLE_KILLS";

const ACKNOWLEDGED: &str = "acknowledged ";

/// Sizes of batches, in turn: most small, some larger than a page, one larger than many.
const SIZES: [u64; 7] = [1, 3, 2, 40, 1, 7, 300];

/// A small generator (Knuth's MMIX multiplier), so that each run has the same waits.
struct Waits(u64);

impl Waits {
    fn next(&mut self, below: u64) -> u64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % below
    }
}

/// Not a test: the process that the tests below start and kill. It reads where the ledger
/// is from its standard input (a path, or a connection string, a tab and a schema), and
/// does nothing if there is none.
#[test]
#[ignore = "started by the other tests"]
fn writer_that_is_killed() {
    let mut address = String::new();
    std::io::stdin().read_line(&mut address).unwrap();
    let address = address.trim_end_matches('\n');
    match address.split_once('\t') {
        None if address.is_empty() => {}
        None => write_on(SqliteStore::create_with_id(address, crate::ID), || {
            SqliteStore::open(address, Access::ReadWrite)
        }),
        Some((server, schema)) => {
            write_on(PostgresStore::create_with_id(server, schema, crate::ID), || {
                PostgresStore::open(server, schema, Access::ReadWrite)
            });
        }
    }
}

fn write_on<S: Store>(
    created: Result<S, LedgerError>,
    open: impl Fn() -> Result<S, LedgerError>,
) {
    let mut store = match created {
        Err(LedgerError::Exists { .. }) => open().unwrap(),
        other => other.unwrap(),
    };
    let mut number = store.head().unwrap().number;
    for &size in SIZES.iter().cycle() {
        let part = |part| NewEntry {
            body: format!("{part} of {size}").into_bytes(),
            ..entry(part)
        };
        let batch: Vec<NewEntry> = (1..=size).map(part).collect();
        let head = store.append(number, &batch).unwrap();
        number = head.number;
        let mut stdout = std::io::stdout().lock();
        writeln!(stdout, "\n{ACKNOWLEDGED}{} {}", head.number, head.digest).unwrap();
    }
}

/// The same, of a process that clears attachments away: it says of each that it goes, and waits
/// at the one whose place it reads after the address.
#[test]
#[ignore = "started by the other tests"]
fn clearer_that_is_killed() {
    let mut lines = std::io::stdin().lines().map_while(Result::ok);
    let Some(address) = lines.next() else { return };
    let waits_at = lines.next().and_then(|line| line.parse().ok());
    match address.split_once('\t') {
        None if address.is_empty() => {}
        None => {
            let mut store = SqliteStore::open(&address, Access::ReadWrite).unwrap();
            clear_on(&mut store, waits_at);
        }
        Some((server, schema)) => {
            let mut store =
                PostgresStore::open(server, schema, Access::ReadWrite).unwrap();
            clear_on(&mut store, waits_at);
        }
    }
}

const GOES: &str = "goes";

fn clear_on(store: &mut impl Store, waits_at: Option<usize>) {
    let mut place = 0;
    let mut goes = |_: &Unnamed| {
        // On a line of its own, whatever the test harness writes.
        writeln!(std::io::stdout().lock(), "\n{GOES}").unwrap();
        if waits_at == Some(place) {
            thread::sleep(Duration::from_mins(10));
        }
        place += 1;
        true
    };
    store.clear_unnamed("2031-03-14T09:30:00Z", &mut goes).unwrap();
    thread::sleep(Duration::from_mins(10));
}

fn start(address: &str) -> Child {
    run("crash::writer_that_is_killed", address)
}

/// Starts one of the tests above as a process, and tells it lines.
fn run(name: &str, lines: &str) -> Child {
    let mut child = Command::new(std::env::current_exe().unwrap())
        .args([name, "--exact", "--ignored", "--nocapture"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let mut stdin = child.stdin.take().unwrap();
    writeln!(stdin, "{lines}").unwrap();
    child
}

/// Kills the child some time after its `wanted`th acknowledgement, and returns all heads
/// that it acknowledged.
fn kill(mut child: Child, wanted: u64, wait: Duration) -> Vec<Head> {
    let stdout = BufReader::new(child.stdout.take().unwrap());
    let mut heads = Vec::new();
    let mut lines = stdout.lines();
    while (heads.len() as u64) < wanted {
        let Some(line) = lines.next() else {
            let told = child.wait_with_output().unwrap();
            panic!(
                "the writer ended by itself: {}",
                String::from_utf8_lossy(&told.stderr)
            );
        };
        heads.extend(acknowledged(&line.unwrap()));
    }
    thread::sleep(wait);
    child.kill().unwrap();
    child.wait().unwrap();
    // A last line may be cut; then it was not told.
    heads.extend(lines.map_while(Result::ok).filter_map(|line| acknowledged(&line)));
    heads
}

fn acknowledged(line: &str) -> Option<Head> {
    let (number, digest) = line.strip_prefix(ACKNOWLEDGED)?.split_once(' ')?;
    Some(Head { number: number.parse().ok()?, digest: digest.parse().ok()? })
}

/// Every batch is whole, and the chain sound and with each of the heads.
fn check(store: &impl Store, heads: &[Head]) {
    let verdict = store.verify(heads.last()).unwrap();
    assert!(verdict.is_sound(), "{verdict:#?}");
    let entries = read_all(store, 0).unwrap();
    for head in heads {
        assert_eq!(entries[head.number as usize - 1].digest, head.digest);
    }
    for batch in entries.chunk_by(|one, next| one.batch == next.batch) {
        let size = batch.len();
        for (entry, part) in batch.iter().zip(1..) {
            let body = String::from_utf8(entry.body.clone()).unwrap();
            assert_eq!(body, format!("{part} of {size}"), "entry {}", entry.number);
        }
    }
}

fn kills(usual: u64) -> u64 {
    let told = std::env::var_os(KILLS);
    told.map_or(usual, |told| told.into_string().unwrap().parse().unwrap())
}

pub(crate) fn a_killed_writer_loses_nothing_that_it_acknowledged<P: Place>() {
    let mut waits = Waits(1);
    let (mut place, mut last) = (P::vacant(), 0);
    for round in 0..kills(if P::SQLITE { 100 } else { 30 }) {
        // Now and then a new one, so that what is checked doesn't grow for ever.
        if round % 10 == 0 {
            (place, last) = (P::vacant(), 0);
        }
        let wanted = 1 + waits.next(7);
        let wait = Duration::from_micros(waits.next(9000));
        let heads = kill(start(&place.address()), wanted, wait);
        assert!(heads.iter().is_sorted_by(|one, next| one.number < next.number));
        // Every third time a reader comes first, and finds the log as it was left.
        if round % 3 == 0 {
            check(&place.open(Access::ReadOnly).unwrap(), &heads);
        }
        let store = place.open(Access::ReadWrite).unwrap();
        check(&store, &heads);
        let head = store.head().unwrap();
        assert!(head.number >= heads.last().unwrap().number && head.number > last);
        last = head.number;
    }
}

/// So many attachments no entry names, and so many bytes each has, so that it takes a while.
const LEFT: usize = 8;
const BYTES: usize = 1_500_000;

pub(crate) fn whoever_is_killed_while_clearing_leaves_all_or_nothing<P: Place>() {
    let mut waits = Waits(4);
    for round in 0..if P::SQLITE { 12 } else { 6 } {
        let place = P::vacant();
        let mut store = place.create().unwrap();
        let at = "2031-01-14T09:30:00Z";
        for number in 0..LEFT {
            let text = format!("{number} ").repeat(BYTES / 2);
            let text = Accepted::new(text.as_bytes(), BYTES).unwrap();
            store.put_attachment(&text, at).unwrap();
        }
        let kept = Accepted::new(b"rib 4", BYTES).unwrap();
        let kept = store.put_attachment(&kept, at).unwrap().digest;
        let body = kept.to_string().into_bytes();
        store.append(0, &[NewEntry { body, ..entry(1) }]).unwrap();
        drop(store);
        // Every other time it is surely killed in the middle, and else at some moment.
        let stops = round % 2 == 0;
        let waits_at = waits.next(LEFT as u64);
        let told = if stops { waits_at.to_string() } else { "never".to_owned() };
        let lines = format!("{}\n{told}", place.address());
        let mut child = run("crash::clearer_that_is_killed", &lines);
        let stdout = BufReader::new(child.stdout.take().unwrap());
        let goes = stdout.lines().map_while(Result::ok).filter(|line| line == GOES);
        let seen = if stops { waits_at as usize + 1 } else { LEFT };
        assert_eq!(goes.take(seen).count(), seen);
        if !stops {
            thread::sleep(Duration::from_micros(waits.next(30_000)));
        }
        child.kill().unwrap();
        child.wait().unwrap();
        let store = place.open(Access::ReadWrite).unwrap();
        let verdict = store.verify(None).unwrap();
        assert!(verdict.is_sound(), "{verdict:#?}");
        let left = store.unnamed().unwrap();
        assert!(left.len() == LEFT || (left.is_empty() && !stops), "{left:#?}");
        assert!(left.iter().all(|one| one.arrived.as_deref() == Some(at)));
        assert!(store.attachment(&kept).unwrap().is_some());
    }
}

#[test]
fn a_writer_killed_while_it_creates_leaves_a_ledger_or_none() {
    let folder = tempdir().unwrap();
    let mut waits = Waits(2);
    let mut found = 0;
    for round in 0..40 {
        let path = folder.path().join(format!("{round}.ledger"));
        // Now and then it may get as far as a first batch, so that both sides are seen.
        let wanted = u64::from(round % 8 == 0);
        let heads = kill(
            start(&path.display().to_string()),
            wanted,
            Duration::from_micros(waits.next(12_000)),
        );
        match SqliteStore::open(&path, Access::ReadWrite) {
            Ok(store) => {
                found += 1;
                check(&store, &heads);
            }
            Err(LedgerError::NotFound { .. }) => {
                assert!(heads.is_empty());
                // Whatever else was left, a ledger can be made there.
                create(&path, &[1]);
            }
            Err(error) => panic!("{error}"),
        }
    }
    assert!(found >= 5);
}

#[test]
fn a_log_cut_at_any_byte_gives_whole_batches() {
    let folder = tempdir().unwrap();
    let path = folder.path().join("a.ledger");
    let sizes = [2, 5, 1, 30, 3, 1, 8];
    create(&path, &[]);
    // A reader that stays keeps the log from being cleared when the writer closes.
    let reader = raw(&path);
    reader.query_row("SELECT count(*) FROM entries", [], |_| Ok(())).unwrap();
    let mut store = SqliteStore::open(&path, Access::ReadWrite).unwrap();
    let mut ends = vec![0];
    for size in sizes {
        let last = *ends.last().unwrap();
        let batch: Vec<NewEntry> = (1..=size)
            .map(|part| NewEntry {
                body: format!("{part} of {size}").into_bytes(),
                ..entry(part)
            })
            .collect();
        ends.push(store.append(last, &batch).unwrap().number);
    }
    let main = fs::read(&path).unwrap();
    let log = fs::read(folder.path().join("a.ledger-wal")).unwrap();
    drop(store);

    let cut = folder.path().join("cut.ledger");
    let mut waits = Waits(3);
    let mut seen = std::collections::BTreeSet::new();
    let lengths = (0..60).map(|_| waits.next(log.len() as u64) as usize);
    for length in lengths.chain([0, 31, 32, log.len()]) {
        fs::write(&cut, &main).unwrap();
        fs::write(folder.path().join("cut.ledger-wal"), &log[..length]).unwrap();
        fs::remove_file(folder.path().join("cut.ledger-shm")).ok();
        let store = SqliteStore::open(&cut, Access::ReadWrite).unwrap();
        check(&store, &[]);
        let head = store.head().unwrap().number;
        assert!(ends.contains(&head), "{head}");
        seen.insert(head);
    }
    assert!(seen.contains(&0) && seen.contains(ends.last().unwrap()) && seen.len() > 4);
}
