//! The binary: arguments, exit codes, and what the terminal shows.
//!
//! **Knows** the use cases. **Never knows** how anything is computed or stored.

#![expect(
    clippy::print_stdout,
    clippy::print_stderr,
    reason = "the terminal is what this crate is for"
)]

mod accounts;
mod acts;
mod arguments;
mod demo;
mod keeping;
mod numbers;
mod place;
mod progress;
mod run;
mod say;
mod secrets;
mod serve;
mod signals;
mod solve;

use std::process::ExitCode;

use clap::Parser;

use crate::arguments::Arguments;

/// What was asked for was done.
const DONE: u8 = 0;
/// The input has mistakes, or what was asked for cannot be.
const REFUSED: u8 = 1;

fn main() -> ExitCode {
    let arguments = Arguments::parse();
    match signals::end_with_the_reader().and_then(|()| run::run(arguments.command)) {
        Ok(true) => ExitCode::from(DONE),
        Ok(false) => ExitCode::from(REFUSED),
        Err(error) => {
            say::error(&error);
            ExitCode::from(REFUSED)
        }
    }
}
