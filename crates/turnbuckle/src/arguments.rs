//! What can be asked for on the command line.

use std::ffi::OsString;
use std::path::PathBuf;
use std::time::Duration;

use app::ProblemSize;
use clap::{Args, Parser, Subcommand};

use crate::numbers::{duration, seed, size, threads};
use crate::serve::{Pages, Serve};

/// Plans, runs and proves the return of a large historic aircraft to airworthy condition.
///
/// Turnbuckle supports approved data, licensed engineers and the authority. It never
/// replaces them.
#[derive(Debug, Parser)]
#[command(version, max_term_width = 100)]
pub(crate) struct Arguments {
    /// What to do.
    #[command(subcommand)]
    pub(crate) command: Command,
}

/// The commands.
#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    /// Write a commented programme folder to begin from
    New {
        /// The folder to make; it must not hold anything yet
        dir: PathBuf,
    },
    /// Read a programme folder and report every mistake in it at once
    Check {
        /// The folder
        dir: PathBuf,
    },
    /// Put a programme folder into the ledger, all or nothing; again, only what differs
    Load {
        /// The folder
        dir: PathBuf,
        #[command(flatten)]
        ledger: Ledger,
        /// Who enters it; once authorities are given, somebody who may plan or appoint
        #[arg(long, default_value = "command line")]
        by: String,
        #[command(flatten)]
        signer: Signer,
    },
    /// Write the programme in the ledger back as a folder
    Export {
        /// The folder to write
        dir: PathBuf,
        #[command(flatten)]
        ledger: Ledger,
    },
    /// Recompute the ledger's whole chain and name the first entry that does not fit; or check a
    /// bundle by itself
    Verify {
        /// A bundle to check instead of a ledger
        bundle: Option<PathBuf>,
        /// A key that is trusted: its 64 digits or its fingerprint; what others signed then
        /// does not count
        #[arg(long = "key", value_name = "PUBLIC")]
        keys: Vec<String>,
        /// A checkpoint that was kept elsewhere; a history that was written anew does not fit it
        #[arg(long = "checkpoint", value_name = "FILE")]
        checkpoints: Vec<PathBuf>,
        /// First throw away what was kept for a fast start; it is no part of the record
        #[arg(long, conflicts_with = "bundle")]
        forget: bool,
        #[command(flatten)]
        ledger: Ledger,
    },
    /// Say what must come off to free items, or to expose them where they are
    Open {
        /// Items to free
        items: Vec<String>,
        /// Items to expose where they are
        #[arg(long)]
        expose: Vec<String>,
        /// Draw what comes off before what, with crew, lift, stand, checks and support at each
        /// stage, to this file
        #[arg(long, value_name = "SVG")]
        graph: Option<PathBuf>,
        /// How the aircraft is supported in the drawing; as the season has it if not given
        #[arg(long, value_name = "ARRANGEMENT", requires = "graph")]
        on: Option<String>,
        #[command(flatten)]
        source: Source,
    },
    /// Draw the aircraft with the state of each zone, from the programme's outlines
    Draw {
        /// From where it is seen
        #[arg(long, value_enum)]
        view: ViewFrom,
        /// The file to write
        #[arg(long, value_name = "SVG")]
        out: PathBuf,
        /// As things stand on this day (2032-01-14); today if not given
        #[arg(long, value_name = "DATE")]
        on: Option<jiff::civil::Date>,
        #[command(flatten)]
        source: Source,
    },
    /// Plan a season and write its charts and lists
    Plan(Plan),
    /// Draft job cards from what the season's jobs are: a file of acts to go over, to complete
    /// and to issue with `act --file`
    Draft(Draft),
    /// Do what somebody signs for: the act's word and its fields, as docs/ACTS.md lists them
    ///
    /// Every rule that forbids it is named, and then nothing is entered.
    Act(Act),
    /// Say what the record holds, as computed from it
    Show(Show),
    /// Print every entry that names a thing, as it was written
    History {
        /// An item, a finding, a job, a person, a tool, a gate
        thing: String,
        #[command(flatten)]
        ledger: Ledger,
        /// Print one JSON object
        #[arg(long)]
        json: bool,
    },
    /// Attach a picture, a document or a text; acts name it by the digest that is printed
    Attach {
        /// The file: JPEG, PNG, WebP, PDF or plain text
        file: PathBuf,
        #[command(flatten)]
        ledger: Ledger,
    },
    /// Clear away files that were attached and that no entry names, once they are old
    ///
    /// A form that is refused keeps its files, so that nobody chooses them twice; if it is never
    /// sent again, they stay and are in every backup. What any entry names always stays.
    Clear {
        /// Only those that were last sent more than so many days ago
        #[arg(long, value_name = "DAYS", default_value = "30",
            value_parser = clap::value_parser!(u32).range(1..))]
        older: u32,
        /// Only say how much would go
        #[arg(long = "try")]
        only_try: bool,
        #[command(flatten)]
        ledger: Ledger,
    },
    /// Make the key with which checkpoints and bundles are signed
    Key {
        /// The file to make; keep it where only those who may sign for the programme can read it
        file: PathBuf,
    },
    /// Sign the ledger as it stands, in a file to be kept elsewhere
    Checkpoint {
        /// The key
        #[arg(long, value_name = "FILE")]
        key: PathBuf,
        /// The file to write
        #[arg(long, value_name = "FILE")]
        out: PathBuf,
        #[command(flatten)]
        ledger: Ledger,
    },
    /// Give a person a secret of their own, or another one: what they sign is sealed with it
    /// from then on
    Enrol {
        /// Whose secret it is
        person: String,
        /// Who enters it: the person, or somebody who may appoint
        #[arg(long, value_name = "PERSON")]
        by: String,
        /// Why
        #[arg(long, default_value = "first secret")]
        reason: String,
        /// Read the new secret from the first line of this file; asked for if not given
        #[arg(long, value_name = "FILE")]
        new_secret_file: Option<PathBuf>,
        #[command(flatten)]
        signer: Signer,
        #[command(flatten)]
        ledger: Ledger,
    },
    /// Write everything that proves a gate, an item, a finding or a card to a folder or a zip file
    Bundle {
        /// The gate
        #[arg(long, conflicts_with = "thing", required_unless_present = "thing")]
        gate: Option<String>,
        /// The item, finding or card
        #[arg(long)]
        thing: Option<String>,
        /// The key that signs it
        #[arg(long, value_name = "FILE")]
        key: PathBuf,
        /// The folder to make, or a file if the name ends in `.zip`
        #[arg(long, value_name = "PATH")]
        out: PathBuf,
        /// As things stand on this day (2032-01-14); today if not given
        #[arg(long, value_name = "DATE")]
        on: Option<jiff::civil::Date>,
        #[command(flatten)]
        ledger: Ledger,
    },
    /// Copy the ledger to a file and verify the copy, while others go on
    Backup {
        /// The file to make
        to: PathBuf,
        #[command(flatten)]
        ledger: Ledger,
    },
    /// Put a backup in the ledger's place, of either kind; what was there is kept beside it
    Restore {
        /// The backup
        from: PathBuf,
        #[command(flatten)]
        ledger: Ledger,
    },
    /// Solve a scheduling problem: a document of ours (.json) or a published instance (.sm,
    /// .mm, .rcp, .sch)
    ///
    /// Ctrl-C stops the search and prints the best schedule so far; again, it ends at once.
    Solve {
        /// The problem
        file: PathBuf,
        /// How long to try
        #[arg(long = "for", value_name = "TIME", default_value = "2s", value_parser = duration)]
        time: Duration,
        #[command(flatten)]
        effort: Effort,
        /// Print one JSON object
        #[arg(long)]
        json: bool,
    },
    /// Draw scheduling problems with every feature, print a season as one, judge schedules
    #[command(subcommand)]
    Problem(Problem),
    /// Serve the pages on which people read and sign
    Serve(Serve),
    /// Load the invented example, plan its first season, say where the files lie, and serve it
    Demo(Demo),
    /// Write the JSON Schemas and the reference of the folder's files
    Schema {
        /// Where to write them
        #[arg(long, value_name = "DIR")]
        write: PathBuf,
    },
}

/// The demo command.
#[derive(Debug, Args)]
pub(crate) struct Demo {
    /// Where to put it all
    #[arg(long, default_value = "turnbuckle-demo")]
    pub(crate) dir: PathBuf,
    /// The ledger to load it into: a file or an address; turnbuckle.ledger in the folder
    /// if not given, whatever the environment says
    #[arg(long, value_name = "LEDGER")]
    pub(crate) ledger: Option<OsString>,
    /// How long to try
    #[arg(long = "for", value_name = "TIME", default_value = "6s", value_parser = duration)]
    pub(crate) time: Duration,
    #[command(flatten)]
    pub(crate) effort: Effort,
    /// Do not serve pages afterwards
    #[arg(long)]
    pub(crate) no_serve: bool,
    #[command(flatten)]
    pub(crate) pages: Pages,
}

/// What to do with scheduling problems.
#[derive(Debug, Subcommand)]
pub(crate) enum Problem {
    /// Print a problem that is drawn at random, an invented one, as a JSON document
    Draw {
        /// `small` (8 to 14 tasks), `large` (150 to 1,000 tasks) or a number of tasks
        #[arg(long, default_value = "small", value_parser = size)]
        size: ProblemSize,
        /// Which of all problems of this size: the same seed, the same problem
        #[arg(long, default_value = "1", value_parser = seed)]
        seed: u64,
    },
    /// Print a season of a programme as a JSON document, as the search sees it
    Season {
        #[command(flatten)]
        source: Source,
        /// The season; the first that has not ended if not given
        #[arg(long)]
        season: Option<String>,
        /// From this day on: what has not begun begins no earlier (2031-11-24)
        #[arg(long, value_name = "DATE")]
        today: Option<jiff::civil::Date>,
    },
    /// Hold a schedule from elsewhere against every rule of its problem
    Judge {
        /// The problem
        file: PathBuf,
        /// The schedule: a JSON file with `assignments`, each with mode, start and finish
        schedule: PathBuf,
        /// Print one JSON object
        #[arg(long)]
        json: bool,
    },
}

/// The draft command.
#[derive(Debug, Args)]
pub(crate) struct Draft {
    /// The jobs, as the plan names them; all that have no card yet if none is given
    pub(crate) jobs: Vec<String>,
    /// Only jobs of this pack
    #[arg(long, conflicts_with = "jobs")]
    pub(crate) pack: Option<String>,
    /// The document that the steps follow
    #[arg(long, value_name = "DOCUMENT")]
    pub(crate) data: Option<String>,
    /// Its revision
    #[arg(long)]
    pub(crate) revision: Option<String>,
    /// The season; the first that has not ended if not given
    #[arg(long)]
    pub(crate) season: Option<String>,
    #[command(flatten)]
    pub(crate) source: Source,
}

/// The act command.
#[derive(Debug, Args)]
pub(crate) struct Act {
    /// The act's word, such as `sign-step`
    #[arg(required_unless_present = "file", conflicts_with = "file")]
    pub(crate) word: Option<String>,
    /// Its fields; lists are parted by `;`
    #[arg(value_name = "FIELD=VALUE")]
    pub(crate) fields: Vec<String>,
    /// Acts from a JSON file instead: one object or an array, kept all or none
    #[arg(long, value_name = "FILE")]
    pub(crate) file: Option<PathBuf>,
    /// Who signs: a name of the list of people
    #[arg(long, value_name = "PERSON")]
    pub(crate) by: String,
    /// An id of this request: sent again with the same id, it counts once
    #[arg(long, value_name = "ID")]
    pub(crate) request: Option<String>,
    /// The entry up to which the record was looked at, as `show` prints it: if others touched
    /// the same things since, both are shown and nothing is entered
    #[arg(long, value_name = "ENTRY")]
    pub(crate) seen: Option<u64>,
    #[command(flatten)]
    pub(crate) signer: Signer,
    /// Only say what would be refused
    #[arg(long = "try")]
    pub(crate) only_try: bool,
    #[command(flatten)]
    pub(crate) ledger: Ledger,
    /// Print one JSON object
    #[arg(long)]
    pub(crate) json: bool,
}

/// The show command.
#[derive(Debug, Args)]
pub(crate) struct Show {
    /// What
    #[arg(value_enum)]
    pub(crate) what: What,
    /// One of them by its name; all if not given
    pub(crate) name: Option<String>,
    #[command(flatten)]
    pub(crate) ledger: Ledger,
    /// On this day (2032-01-14); today if not given
    #[arg(long, value_name = "DATE")]
    pub(crate) on: Option<jiff::civil::Date>,
    /// Print one JSON object
    #[arg(long)]
    pub(crate) json: bool,
}

/// What can be shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
pub(crate) enum What {
    /// How the aircraft stands, on one page
    Status,
    /// Gates, and what stands before one
    Gates,
    /// Job cards
    Cards,
    /// Findings
    Findings,
    /// Examinations that were asked for, late, reported; what was not examined
    Ndt,
    /// Parts that are off, and where each is
    Parts,
    /// What is carried forward
    Deferred,
    /// The register of repairs, and what was put right or accepted
    Repairs,
    /// Materials in place of others, and parts made in-house
    Made,
    /// What every gate asks for, with its evidence
    Conditions,
    /// Mass and balance: what is known and what is not
    Mass,
    /// Hours booked against hours estimated, with counts and spread
    Ratios,
    /// How long records are kept, and which copies were discarded
    Retention,
    /// The record held against the questions of a review
    Audit,
    /// The draft of a report of an occurrence, for a finding that is a hazard
    Occurrence,
    /// Limited lives
    Lives,
    /// Tools and instruments
    Tools,
    /// Readings of the air: the last of each place, or all of one; `hangar` for no place
    Air,
    /// Materials, and what is due in store
    Stores,
    /// Letters
    Letters,
    /// Directives and modifications
    Directives,
    /// Where items come from
    Origins,
    /// What was flown and run, what is due, samples of structure
    Service,
    /// Money and hours
    Money,
    /// Authorities
    People,
    /// The rules and what each rests on
    Rules,
    /// The plan that was adopted for a season, beside what has happened
    Plan,
}

/// From where the aircraft is seen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
pub(crate) enum ViewFrom {
    /// From one side
    Side,
    /// From above
    Plan,
}

/// Which ledger.
#[derive(Debug, Args)]
pub(crate) struct Ledger {
    /// The ledger: a file, or `postgresql://USER@HOST/DATABASE?schema=SCHEMA`; if not given, what
    /// the environment variable `TURNBUCKLE_LEDGER` says, or else turnbuckle.ledger
    #[arg(long, value_name = "LEDGER")]
    pub(crate) ledger: Option<OsString>,
}

/// How whoever signs shows who they are.
#[derive(Debug, Clone, Default, Args)]
pub(crate) struct Signer {
    /// Read the secret of whoever signs from the first line of this file, or from the environment
    /// variable `TURNBUCKLE_SECRET`; asked for on a terminal if it is needed
    #[arg(long, value_name = "FILE")]
    pub(crate) secret_file: Option<PathBuf>,
}

/// Where a programme comes from.
#[derive(Debug, Args)]
pub(crate) struct Source {
    #[command(flatten)]
    pub(crate) ledger: Ledger,
    /// Take the programme from this folder instead of the ledger
    #[arg(long, value_name = "DIR", conflicts_with = "ledger")]
    pub(crate) folder: Option<PathBuf>,
}

/// How hard to try.
#[derive(Debug, Clone, Copy, Args)]
pub(crate) struct Effort {
    /// Threads to use; all cores if not given
    #[arg(long, value_parser = threads)]
    pub(crate) threads: Option<usize>,
    /// Where the random streams begin
    #[arg(long, default_value = "1", value_parser = seed)]
    pub(crate) seed: u64,
    /// Stop after so many schedules: with this and no other limit reached, the same answer
    /// every time
    #[arg(long)]
    pub(crate) steps: Option<u64>,
}

/// The plan command.
#[derive(Debug, Args)]
pub(crate) struct Plan {
    #[command(flatten)]
    pub(crate) source: Source,
    /// The season; the first that has not ended if not given
    #[arg(long)]
    pub(crate) season: Option<String>,
    /// How long to try
    #[arg(long = "for", value_name = "TIME", default_value = "10s", value_parser = duration)]
    pub(crate) time: Duration,
    #[command(flatten)]
    pub(crate) effort: Effort,
    /// Plan from this day on: what has not begun begins no earlier (2031-11-24); from now on if
    /// the season is under way
    #[arg(long, value_name = "DATE")]
    pub(crate) today: Option<jiff::civil::Date>,
    /// Plan as if no plan had been adopted: without this, what is planned keeps to it where it can
    #[arg(long)]
    pub(crate) anew: bool,
    /// Multiply estimates by what work of the same kind took so far (`show ratios`)
    #[arg(long)]
    pub(crate) measured: bool,
    /// Adopt the plan, for this reason: it is the one that people then work by
    #[arg(long, value_name = "REASON", requires = "by", conflicts_with = "folder")]
    pub(crate) adopt: Option<String>,
    /// Who adopts it
    #[arg(long, value_name = "PERSON", requires = "adopt")]
    pub(crate) by: Option<String>,
    #[command(flatten)]
    pub(crate) signer: Signer,
    /// Where to write charts and lists; `plan-SEASON` if not given
    #[arg(long, value_name = "DIR")]
    pub(crate) out: Option<PathBuf>,
    /// Print one JSON object instead of the summary, and write no files unless --out says
    /// where
    #[arg(long)]
    pub(crate) json: bool,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_definition_holds_together() {
        use clap::CommandFactory;
        Arguments::command().debug_assert();
    }
}
