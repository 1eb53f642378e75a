//! What can go wrong in a use case.

use std::path::PathBuf;

/// Why a use case did not do what it was asked.
#[derive(Debug, thiserror::Error)]
pub enum AppError {
    /// The folder has mistakes; every one of them is in the report.
    #[error("{0}")]
    Folder(folder::Report),
    /// The programme refuses the change.
    #[error("the programme refuses this: {}", .0.iter().map(ToString::to_string).collect::<Vec<_>>().join("; "))]
    Refused(Vec<airframe::Note>),
    /// Acts that rules forbid: every reason.
    #[error("refused\n{}", .0.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n"))]
    Forbidden(Vec<crate::Refused>),
    /// Others touched the same things since whoever signs had looked; nothing was entered.
    #[error("{0}")]
    Changed(Box<crate::Changed>),
    /// The id of a request stands for something else that was entered; nothing was now.
    #[error(
        "this was sent before with other content, and {by} entered that as entry {entry}: \
         what it says now was not entered"
    )]
    Spent {
        /// The first entry of what was sent before.
        entry: u64,
        /// Who signed it.
        by: String,
    },
    /// What a list would change is no longer what somebody saw; nothing was entered.
    #[error("others changed the record since this was shown, and nothing was entered")]
    Overtaken,
    /// Acts that cannot be read; everything that is wrong with them.
    #[error("{}", .0.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n"))]
    Act(Vec<folder::Problem>),
    /// The ledger.
    #[error("the ledger could not be used")]
    Ledger(#[source] ledger::LedgerError),
    /// An entry of the ledger cannot be read.
    #[error("entry {number} of the ledger cannot be read")]
    Stored {
        /// The entry.
        number: u64,
        /// Why.
        source: folder::stored::StoredError,
    },
    /// There is no ledger.
    #[error("there is no ledger at {0}")]
    NoLedger(ledger::Place),
    /// The ledger has entries but the wrong ones, or none.
    #[error("the programme is empty")]
    Empty,
    /// The season cannot be drafted.
    #[error("the season cannot be planned")]
    Draft(#[source] planner::DraftError),
    /// The season cannot be modelled.
    #[error("the season cannot be planned")]
    Model(#[source] planner::ModelError),
    /// A file.
    #[error("could not {doing} {}", file.display())]
    File {
        /// What was tried.
        doing: &'static str,
        /// On which file.
        file: PathBuf,
        /// Why not.
        source: std::io::Error,
    },
    /// A programme folder could not be written.
    #[error("the programme folder could not be written")]
    Write(#[source] folder::WriteError),
    /// A scheduling instance cannot be read.
    #[error("{}", .0.join("\n"))]
    Instance(Vec<String>),
    /// A defect of ours: a plan that the checker rejects is never shown.
    #[error("the plan breaks its own rules and is not shown: {}", .0.join("; "))]
    Unlawful(Vec<String>),
    /// Something that was asked for does not exist.
    #[error("{0}")]
    Unknown(String),
    /// A chart or workbook.
    #[error("a chart could not be made")]
    Chart(#[source] charts::ChartError),
}

impl AppError {
    /// What to do about it, where there is more to say than the error does.
    pub fn hint(&self) -> Option<String> {
        match self {
            Self::Folder(_) => {
                Some("put these right and check again; nothing was loaded".to_owned())
            }
            Self::NoLedger(ledger::Place::File(file)) => Some(format!(
                "load a programme folder first: turnbuckle load DIR --ledger {}",
                file.display()
            )),
            Self::NoLedger(ledger::Place::Server(_)) => Some(
                "check the address and its schema, or load a programme folder first, \
                 which makes the schema: turnbuckle load DIR"
                    .to_owned(),
            ),
            Self::Forbidden(_) => Some("nothing was entered".to_owned()),
            Self::Changed(changed) => Some(format!(
                "nothing was entered: look again whether it still holds, and send it once \
                 more with `--seen {}`",
                changed.now
            )),
            Self::Spent { entry, .. } => Some(format!(
                "look at entry {entry}; if this is to be entered besides, send it once more with \
                 another request id"
            )),
            Self::Empty => {
                Some("load a programme folder: turnbuckle load DIR".to_owned())
            }
            Self::Ledger(error) => error.hint().map(ToOwned::to_owned),
            Self::Unlawful(_) => Some(
                "this is a defect of the program: please report it with the folder"
                    .to_owned(),
            ),
            _ => None,
        }
    }
}
