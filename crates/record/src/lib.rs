//! The facts people sign, and the rules by which they change.
//!
//! A [`Programme`] is the whole return to flight of one aircraft, as plain values. It
//! changes in one way only: [`Command`]s are checked against it and become [`Entry`]s, and
//! [`Programme::apply`] folds an entry into it. Each area of the domain is one module that
//! holds its types, what can be wrong with them, and its line in the two enums.
//!
//! **Knows** quantities and the airframe. **Never knows** screens, files, solvers, SQL, or
//! the wall clock: the time of a command arrives with it.

pub mod act;
pub mod air;
mod area;
pub mod balance;
mod check;
mod entry;
pub mod finding;
pub mod firm;
pub mod gate;
mod info;
pub mod outline;
pub mod people;
mod programme;
pub mod ratios;
pub mod requirement;
pub mod retention;
pub mod route;
pub mod rule;
pub mod season;
pub mod shop;
pub mod stand;
pub mod tool;
pub mod work;

pub use act::{Act, Power, Stamp};
pub use area::{Change, Named, Register};
pub use entry::{Command, Difference, Entry, decide, difference};
pub use finding::{Condition, Decision, Disposition, Finding, Reach};
pub use firm::{Firm, TakesOn};
pub use gate::Gate;
pub use info::Info;
pub use outline::{DrawnPath, Outline, View};
pub use people::{Authority, Person, Skill, Standing};
pub use programme::Programme;
pub use requirement::Requirement;
pub use retention::{Keep, Retention};
pub use route::{Branch, Hold, Performer, Route, Step, StepKind};
pub use rule::{Basis, Refusal, Rule, RuleKey};
pub use season::{DateSpan, HeatingPeriod, Season, Shift, Weekday, Weekdays};
pub use shop::Shop;
pub use stand::{Place, Stand};
pub use tool::Tool;
pub use work::{Actual, Conditions, Job, JobKey, Pack, State};

use quantity::kind;

kind!(
    /// The name of a finding.
    FindingKind, FindingId, "finding"
);
kind!(
    /// The name of a person.
    PersonKind, PersonId, "person"
);
kind!(
    /// The name of an outside firm.
    FirmKind, FirmId, "firm"
);
kind!(
    /// The name of a gate.
    GateKind, GateId, "gate"
);
kind!(
    /// The name of a place in which work is done.
    PlaceKind, PlaceId, "place"
);
kind!(
    /// The name of a route.
    RouteKind, RouteId, "route"
);
kind!(
    /// The name of a step within its route.
    StepName, StepId, "step"
);
kind!(
    /// The name of a pack.
    PackKind, PackId, "pack"
);
kind!(
    /// The name of a job that somebody wrote down, not one that follows from a route.
    JobKind, JobId, "job"
);
kind!(
    /// The name of a season.
    SeasonKind, SeasonId, "season"
);
kind!(
    /// The name of an authority.
    AuthorityKind, AuthorityId, "authority"
);
kind!(
    /// The name of a batch of material.
    BatchKind, BatchId, "batch"
);
kind!(
    /// The name of a query about data.
    QueryKind, QueryId, "query"
);
kind!(
    /// The name of a requirement of a gate.
    RequirementKind, RequirementId, "requirement"
);
kind!(
    /// The name of a tool or instrument.
    ToolKind, ToolId, "tool"
);
kind!(
    /// The name of an outline.
    OutlineKind, OutlineId, "outline"
);
kind!(
    /// The name of a letter.
    LetterKind, LetterId, "letter"
);
kind!(
    /// The name of a directive.
    DirectiveKind, DirectiveId, "directive"
);
kind!(
    /// The name of a modification.
    ModificationKind, ModificationId, "modification"
);
kind!(
    /// The name of a sample of structure.
    SampleKind, SampleId, "sample"
);
kind!(
    /// The name of something that is due in service.
    DutyKind, DutyId, "duty"
);
kind!(
    /// The name of an examination that was asked for.
    ExaminationKind, ExaminationId, "examination"
);
kind!(
    /// The name of a report of an examination.
    ReportKind, ReportId, "report"
);
kind!(
    /// The name of a repair in the register.
    RepairKind, RepairId, "repair"
);
kind!(
    /// The name of a material in place of another.
    SubstitutionKind, SubstitutionId, "substitution"
);
