//! Damages texts at random and has the readers of problems read them.
//!
//! ```text
//! cargo run --release -p problems --example fuzz -- [--for 10m] [--seed N] [--only json] [--keep DIR] [--solve]
//! ```
//!
//! `--only` takes the ending of a format: `sm`, `mm`, `rcp`, `sch`, `json`. A text that makes a
//! reader panic, take longer than a second, or lose what it read is kept as a file in
//! `DIR` (`fuzz-found` if not given). With `--solve` what is read is also solved for a moment. The same seed gives the same texts. Ends with exit
//! code 1 if anything was found.

#![expect(clippy::print_stdout, reason = "a program for the terminal")]

#[path = "../fuzz/damage.rs"]
mod damage;

use std::path::PathBuf;
use std::process::ExitCode;
use std::time::{Duration, Instant};

use damage::{Damage, harm};

struct Asked {
    time: Duration,
    seed: u64,
    only: Option<String>,
    keep: PathBuf,
    solved: bool,
}

fn main() -> Result<ExitCode, Box<dyn std::error::Error>> {
    let asked = asked()?;
    // A panic is kept as a file; a thousand traces would only hide it.
    std::panic::set_hook(Box::new(|_| {}));
    let begun = Instant::now();
    let mut damage = Damage::new(asked.seed, asked.only.as_deref());
    let (mut texts, mut found) = (0_u64, 0_u64);
    while begun.elapsed() < asked.time && found < 100 {
        let (name, text) = damage.next();
        texts += 1;
        if let Some(harm) = harm(name, &text, asked.solved) {
            found += 1;
            std::fs::create_dir_all(&asked.keep)?;
            let file = asked.keep.join(format!("{}-{texts}-{name}", asked.seed));
            std::fs::write(&file, &text)?;
            println!("{harm}: {}", file.display());
        }
    }
    let seconds = begun.elapsed().as_secs_f64();
    println!("{texts} texts in {seconds:.0} s, {found} found");
    Ok(ExitCode::from(u8::from(found > 0)))
}

fn asked() -> Result<Asked, String> {
    let mut asked = Asked {
        time: Duration::from_mins(1),
        seed: 1,
        only: None,
        keep: PathBuf::from("fuzz-found"),
        solved: false,
    };
    let mut words = std::env::args().skip(1);
    while let Some(word) = words.next() {
        if word == "--solve" {
            asked.solved = true;
            continue;
        }
        let value = words.next().ok_or_else(|| format!("`{word}` wants a value"))?;
        match word.as_str() {
            "--for" => asked.time = time(&value)?,
            "--seed" => asked.seed = value.parse().map_err(|_| "a seed is a number")?,
            "--only" => asked.only = Some(format!(".{value}")),
            "--keep" => asked.keep = PathBuf::from(value),
            _ => return Err(format!("`{word}` is not known")),
        }
    }
    Ok(asked)
}

fn time(text: &str) -> Result<Duration, String> {
    let (number, unit) =
        text.split_at(text.len() - usize::from(text.ends_with(['s', 'm'])));
    let number: u64 = number.parse().map_err(|_| "write a time such as 30s or 10m")?;
    Ok(Duration::from_secs(if unit == "m" { number * 60 } else { number }))
}
