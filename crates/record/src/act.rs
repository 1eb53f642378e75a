//! What people do and sign for: the acts of the record.
//!
//! An act is one thing that one person did at one moment. It is checked against the
//! programme and the [shop](crate::shop) as they stand and, if no rule is broken, kept for
//! ever. Acts are values without behaviour; what they ask for and what they change stands
//! with each area of the shop.

mod air;
mod attached;
mod cards;
mod examinations;
mod findings;
mod gates;
mod office;
mod parts;
mod people;
mod plans;
mod records;
mod repairs;
mod stores;
mod words;

pub use air::AirReading;
pub use attached::{FileDigest, Spot};
pub use cards::{
    AddStep, Answer, CardStep, Countersign, Disturb, Finish, HandOver, Hours, Inspect,
    IssueCard, Limit, Pause, Query, Reading, Reopen, SignStep, Start, TakeOver,
};
pub use examinations::{Equipment, Indication, Missed, ReportNdt, RequestNdt};
pub use findings::{
    AlsoChecked, Assign, Classify, Clear, Defer, Raise, Revive, Temporary,
};
pub use gates::{Evidence, OpenGate, Reconstruct, RightClock, ShutGate, Strike};
pub use office::{
    Directive, Duty, DutyDone, Letter, Modification, Provenance, Sample, Sampled, Spend,
    Total,
};
pub use parts::{
    Accept, Certificate, Chase, ClassPart, Despatch, Fit, Life, Move, Quarantine,
    Receive, Release, Rob, Scrap, Tag, Use,
};
pub use people::{Enrol, Grant, Withdraw};
pub use plans::{Adopt, DatedJob};
pub use records::Discard;
pub use repairs::{Make, Repair, Substitute};
pub use stores::{
    Batch, Calibrate, ClearTool, Draw, FindTool, LoseTool, StoreDone, StoreTask, ToolIn,
    ToolOut,
};
pub use words::{
    DirectiveState, EvidenceKind, Level, LifeUnit, Medium, Method, MoneyKind, Origin,
    Outcome, PartClass, Power, Rank, RecordClass, ScrapReason, StepWork, Verdict,
};

use jiff::civil::DateTime;

use crate::PersonId;

/// Who did something, when, and as which entry of the ledger.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stamp {
    /// The number of the entry; for an act that is still to be kept, the number that it
    /// would get.
    pub number: u64,
    /// When, on the workshop's clock.
    pub at: DateTime,
    /// Who.
    pub by: PersonId,
}

/// Declares the acts once: the enum, the word by which each is known in files and on the
/// command line, and the powers of which its signer must have one. An act without any asks
/// for no authority, or only in some cases: one's own hours are one's own to state.
macro_rules! acts {
    ($($(#[$doc:meta])* $act:ident $word:literal [$($power:ident),*],)*) => {
        /// One thing that one person did.
        #[derive(Debug, Clone, PartialEq)]
        pub enum Act {
            $($(#[$doc])* $act($act),)*
        }

        impl Act {
            /// The words of all acts, in the order in which they are listed.
            pub const WORDS: &'static [&'static str] = &[$($word),*];

            /// The powers of which whoever signs an act must have one, by its word; empty if it
            /// is asked for none in all cases. Nothing for a word that is no act's.
            pub fn powers(word: &str) -> Option<&'static [Power]> {
                match word {
                    $($word => Some(&[$(Power::$power),*]),)*
                    _ => None,
                }
            }

            /// Its word.
            pub const fn word(&self) -> &'static str {
                match self {
                    $(Self::$act(_) => $word,)*
                }
            }
        }

        $(
            impl From<$act> for Act {
                fn from(act: $act) -> Self {
                    Self::$act(act)
                }
            }
        )*
    };
}

acts! {
    /// Gives a person an authority.
    Grant "grant" [Appoint],
    /// Takes an authority away.
    Withdraw "withdraw" [],
    /// Gives a person a key that only their secret makes.
    Enrol "enrol" [],
    /// Issues a job card.
    IssueCard "issue-card" [Plan],
    /// Adds a step to a card.
    AddStep "add-step" [Plan],
    /// Begins or resumes work on a card.
    Start "start" [],
    /// Leaves a card for now.
    Pause "pause" [],
    /// Offers a card to the next person.
    HandOver "hand-over" [],
    /// Takes a card that was handed over.
    TakeOver "take-over" [],
    /// Signs that a step is done.
    SignStep "sign-step" [],
    /// Signs for the work of somebody who worked under supervision.
    Countersign "countersign" [Supervise],
    /// Inspects a step.
    Inspect "inspect" [Inspect],
    /// Says that signed steps were disturbed.
    Disturb "disturb" [],
    /// Asks about the data of a step.
    Query "query" [],
    /// Answers such a question.
    Answer "answer" [Plan, Engineer],
    /// States hours that were not counted as they went.
    Hours "hours" [],
    /// Certifies that a card is complete.
    Finish "finish" [Certify],
    /// Opens a card again.
    Reopen "reopen" [Certify],
    /// Raises a finding.
    Raise "raise" [],
    /// Says how bad a finding is and what it allows.
    Classify "classify" [Classify],
    /// Carries a finding forward.
    Defer "defer" [Classify],
    /// Puts a temporary repair in place, which opens its follow-up.
    Temporary "temporary" [Classify],
    /// Records what a look at a sister part or the other side gave.
    AlsoChecked "also-checked" [],
    /// Clears a finding.
    Clear "clear" [Classify],
    /// Opens a finding again.
    Revive "revive" [],
    /// Says in which pack a finding is worked on, and by which route.
    Assign "assign" [Plan],
    /// Adopts a plan.
    Adopt "adopt" [Plan],
    /// Asks for an examination.
    RequestNdt "request-ndt" [Plan],
    /// Reports an examination.
    ReportNdt "report-ndt" [Inspect],
    /// Enters a repair into the register.
    Repair "repair" [Certify],
    /// Puts one material in place of another.
    Substitute "substitute" [Engineer],
    /// Records a part that was made in-house.
    Make "make" [Certify],
    /// Tags a part that came off.
    Tag "tag" [],
    /// Says where a part is now.
    Move "move" [],
    /// Says what class a part is.
    ClassPart "class-part" [Stores, Certify],
    /// Sends a part to a firm.
    Despatch "despatch" [Stores],
    /// Asks a firm where a part is.
    Chase "chase" [],
    /// Takes a part in from a firm.
    Receive "receive" [],
    /// Accepts a part after its receiving check.
    Accept "accept" [Stores],
    /// Puts a part into quarantine.
    Quarantine "quarantine" [],
    /// Releases a part from quarantine.
    Release "release" [Stores],
    /// Writes a part off.
    Scrap "scrap" [Certify],
    /// Takes a part off one assembly or aircraft for another.
    Rob "rob" [Rob],
    /// Limits the life of a part.
    Life "life" [Engineer],
    /// Adds to the life that parts have used.
    Use "use" [Certify],
    /// Fits a part.
    Fit "fit" [],
    /// Takes in a batch of material.
    Batch "batch" [Stores],
    /// Draws from a batch for a card.
    Draw "draw" [],
    /// Asks for something to be done in store again and again.
    StoreTask "store-task" [],
    /// Says that it was done.
    StoreDone "store-done" [],
    /// Records that a tool was calibrated.
    Calibrate "calibrate" [Stores],
    /// Takes a tool out.
    ToolOut "tool-out" [],
    /// Brings a tool back.
    ToolIn "tool-in" [],
    /// Reports a tool lost.
    LoseTool "lose-tool" [],
    /// Reports a lost tool found.
    FindTool "find-tool" [],
    /// Clears a lost tool by a described search.
    ClearTool "clear-tool" [Release],
    /// States what the air was like.
    AirReading "air-reading" [],
    /// Gives evidence for a requirement.
    Evidence "evidence" [Certify],
    /// Opens a gate.
    OpenGate "open-gate" [Release],
    /// Shuts a gate.
    ShutGate "shut-gate" [],
    /// Files a letter.
    Letter "letter" [],
    /// Says how a directive stands.
    Directive "directive" [Certify],
    /// Records a modification.
    Modification "modification" [Certify],
    /// Says where an item comes from.
    Provenance "provenance" [],
    /// Sets up a sample of structure.
    Sample "sample" [Engineer],
    /// Records a look at one of a sample.
    Sampled "sampled" [Inspect],
    /// Sets up what is due in service.
    Duty "duty" [Engineer],
    /// Records that it was done.
    DutyDone "duty-done" [Certify],
    /// States what the aircraft had flown, run or landed before the record began.
    Total "total" [Certify],
    /// Counts money.
    Spend "spend" [Plan],
    /// Discards a copy of a record whose time is over.
    Discard "discard" [Release],
    /// Strikes an entry through.
    Strike "strike" [],
    /// Says that a clock was wrong and that time counts from now.
    RightClock "right-clock" [Appoint],
    /// Rebuilds what a lost record said.
    Reconstruct "reconstruct" [Certify],
}
