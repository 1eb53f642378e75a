//! What is proven of a problem before and beside the search, with one thread: `-- STEPS FILE.json..`,
//! or so many seconds.
//!
//! ```text
//! cargo run --release -p search --example bound -- 400 season.json
//! cargo run --release -p search --example bound -- 5s season.json
//! ```

#![expect(clippy::print_stdout, reason = "a program for the terminal")]

use std::time::Duration;

use search::{Options, Outcome, Silent, Stop, solve};

fn main() {
    let mut arguments = std::env::args().skip(1);
    let most = arguments.next().unwrap_or_else(|| "1".to_owned());
    let number = |text: &str| text.parse().expect("a number of steps, or of seconds");
    let stop = match most.strip_suffix('s') {
        Some(seconds) => Stop::after(Duration::from_secs(number(seconds))),
        None => Stop::after_steps(number(&most)),
    };
    for name in arguments {
        let text = std::fs::read_to_string(&name).expect("a file");
        let problem = problems::read(&name, &text).expect("a problem");
        let options = Options { stop, threads: 1, ..Options::default() };
        let outcome = solve(&problem, &options, &Silent);
        match &outcome {
            Outcome::Feasible { bound, measures, .. } => {
                println!("{name} {bound:?} {measures:?}");
            }
            Outcome::Unknown { bound, .. } => println!("{name} {bound:?}"),
            other => println!("{name} {:?}", other.measures()),
        }
    }
}
