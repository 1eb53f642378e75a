//! How quickly pages come when a workshop has been at work for years, and many look at once.
//!
//! ```text
//! cargo run --release -p web --example measure -- PROGRAM [--entries N] [--people N]
//!     [--seconds N] [--soak MINUTES]
//! ```
//!
//! `PROGRAM` is the built `turnbuckle`, which serves a ledger that is made here: the invented
//! example with 3,000 jobs in its first season, 3,000 cards with 28 steps each, and 2,000
//! findings more. Everything in it is made up. People are threads of this process, on the same
//! machine; what a phone sees is measured in Chromium with the network slowed down, if there
//! is a Chromium. `cargo xtask bench web` runs this and keeps what it prints.

#![expect(clippy::print_stdout, reason = "a program for the terminal")]
#![expect(
    clippy::unwrap_used,
    reason = "it measures what works, and stops at what does not"
)]

#[path = "../../tests/browser/driver.rs"]
#[expect(dead_code, reason = "the tests use more of it")]
mod driver;
mod fill;
mod people;
mod phone;
mod served;
mod watchers;

use std::path::PathBuf;
use std::time::Duration;

use tempfile::TempDir;

/// What is asked for on the command line.
struct Asked {
    program: PathBuf,
    entries: usize,
    people: usize,
    seconds: u64,
    soak: u64,
}

fn asked() -> Asked {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let number = |name: &str, default: u64| {
        let at = words.iter().position(|word| word == name);
        at.map_or(default, |at| words[at + 1].parse().unwrap())
    };
    Asked {
        program: words.first().expect("the program `turnbuckle`").into(),
        entries: number("--entries", 100_000) as usize,
        people: number("--people", 50) as usize,
        seconds: number("--seconds", 30),
        soak: number("--soak", 2),
    }
}

fn main() {
    let asked = asked();
    let dir = TempDir::new().unwrap();
    let ledger = dir.path().join("measured.ledger");
    let made = fill::fill(dir.path(), &ledger, asked.entries);
    let served = served::Served::start(&asked.program, &ledger, dir.path());
    println!(
        "{} entries, {} jobs, {} cards; served after {:.1} s with {} MB.\n",
        made.entries,
        made.jobs,
        made.cards,
        served.started.as_secs_f64(),
        served.memory() / 1_000_000
    );
    let cookie = people::signed_in(&served.base);
    people::first_views(&served.base, &cookie);
    people::one_by_one(&served, &cookie);
    let second = Duration::from_secs(asked.seconds);
    people::together(
        &served,
        &cookie,
        asked.people,
        Some(Duration::from_secs(1)),
        second,
    );
    people::together(&served, &cookie, asked.people, None, second / 2);
    watchers::watch(&served, &cookie, 200);
    phone::measure(&served, &cookie);
    people::soak(&served, &cookie, asked.people, asked.soak);
}
