//! What is proven of a problem before and beside the search: `-- STEPS FILE.json..`, with
//! the processor time.
//!
//! ```text
//! cargo run --release -p search --example bound -- 400 season.json
//! ```

#![expect(clippy::print_stdout, reason = "a program for the terminal")]

use search::{Options, Outcome, Silent, Stop, solve};

fn main() {
    let mut arguments = std::env::args().skip(1);
    let steps = arguments.next().and_then(|text| text.parse().ok()).unwrap_or(1);
    for name in arguments {
        let text = std::fs::read_to_string(&name).expect("a file");
        let problem = problems::read(&name, &text).expect("a problem");
        let options = Options { stop: Stop::after_steps(steps), ..Options::default() };
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
