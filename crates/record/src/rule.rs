//! The rules by which acts are refused, and the profile that says where each comes from.
//!
//! The rules themselves are the program's, in its own words. Which publication or approval
//! a rule rests on, whether it binds or was adopted as good practice, is data of the
//! programme: its *profile*. Nothing is ever cited that the profile does not carry.

use std::fmt;

/// How a rule came to hold for a programme.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Basis {
    /// It binds by law, approval or condition.
    Binding,
    /// It was adopted as good practice.
    Adopted,
    /// It is not kept, for a reason that is stated.
    Off,
}

impl Basis {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Binding, Self::Adopted, Self::Off];

    /// The word for it, as files write it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Binding => "binding",
            Self::Adopted => "adopted",
            Self::Off => "off",
        }
    }
}

/// What a programme says about a rule.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Rule {
    /// Which.
    pub id: RuleKey,
    /// How it came to hold.
    pub basis: Basis,
    /// The publication, approval or letter that it rests on, as it is to be printed.
    pub citation: Option<String>,
    /// What else there is to say; for a rule that is off, why.
    pub note: Option<String>,
}

/// Declares the rules: the word of each, whether it may be off, and what it says.
macro_rules! rules {
    ($($key:ident $word:literal $may:literal $says:literal,)*) => {
        /// A rule by which acts are refused.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum RuleKey {
            $(#[doc = $says] $key,)*
        }

        impl RuleKey {
            /// All of them.
            pub const ALL: [Self; [$($word),*].len()] = [$(Self::$key),*];

            /// Its word, as files write it.
            pub const fn word(self) -> &'static str {
                match self { $(Self::$key => $word,)* }
            }

            /// What it says, as a sentence without a full stop.
            pub const fn says(self) -> &'static str {
                match self { $(Self::$key => $says,)* }
            }

            /// Whether a programme may do without it.
            pub const fn may_be_off(self) -> bool {
                match self { $(Self::$key => $may,)* }
            }
        }
    };
}

rules! {
    Known "known names" false "An act names what exists, and does not do again what is done",
    Stated "stated facts" false "An act states what it must state, in words and figures that can be so",
    Authority "authority" false "A signature needs an authority that is valid on that day for that work",
    Appointment "appointment" false "Authorities are given and taken by somebody appointed to do so, never to oneself",
    Seal "own secret" false "Who has a secret of their own seals with it what they sign, and nobody else can",
    Presence "presence" false "Who signs work is at it: the work was begun and not left or handed over",
    StepOrder "order of steps" true "Steps are signed one by one, after they are done, in their order",
    Supervision "supervision" false "Work under supervision is signed for by an authorised person who was there",
    Data "data" true "A step follows data that are named with their revision",
    DataQuery "data query" true "A step waits while a question about its data is open",
    Limits "limits" false "A value that was asked for is measured and lies within its limits",
    Calibration "calibration" false "A value is measured with an instrument whose calibration has not run out",
    Independence "independence" false "A second inspection is made by somebody who neither did nor inspected the work",
    InspectionOrder "order of inspections" false "Work is signed first, then inspected, then inspected again, and what is disturbed begins anew",
    InspectionContent "what was inspected" true "An inspection lists what was looked at, item by item",
    Unforeseen "unforeseen absence" true "One person inspects twice only for an unforeseen reason that an authorised person allowed",
    FailedInspection "failed inspection" true "A failed inspection raises a finding",
    Completion "completion" false "A card is complete when each step is signed and each inspection has passed",
    ClearPlace "clear place" true "The place is clear of tools and loose parts before work is closed",
    ToolControl "tool control" true "Every tool is accounted for: nothing is closed with a tool out or lost",
    Handover "handover" true "Work passes from one to the next in writing and in words, and both sign",
    FoundDate "found date" false "The day on which something was found never moves and is not in the future",
    Classification "classification" false "How bad a finding is, and what it allows, is decided by an authorised person on a stated limit",
    Unknown "unknown" false "What is not known is never clear",
    Deferral "deferral" false "What is carried forward has a limitation, a season and its first day, and is no hazard",
    TemporaryRepair "temporary repair" false "A temporary repair opens the finding that asks for the lasting one",
    AlsoCheck "looking elsewhere" true "The places where the same may be wrong are looked at before a finding is cleared",
    Restored "restored condition" true "A repair leaves the item at least equal to its original condition, and somebody says so",
    Examination "examination" false "An examination is reported with procedure and revision, what was not examined, and the standard by which it was judged",
    Qualification "qualification" false "An examination is made by somebody who is qualified in its method on that day",
    Detectability "detectability" false "An examination that found nothing says what it would have found",
    Tagging "tagging" true "A part that comes off is tagged with what is known of it and where it was",
    PartClass "class of part" false "A part of unknown condition is unserviceable until an authorised person says otherwise",
    Writeoff "written off" false "What is written off never comes back and is made unusable or kept for display",
    Segregation "segregation" false "Nothing goes to work or onto the aircraft from quarantine",
    Robbery "robbery" true "A part is taken from one assembly for another by one act, with authority, and the donor is told what it lacks",
    Pedigree "pedigree" false "A part of unknown origin is accepted by engineering, after strip, test and measurement",
    Custody "custody" false "A part that is away is known to be away, with order, scope and date, until it is received",
    ReceivingCheck "receiving check" false "A part that comes back is checked against what was ordered before it goes anywhere",
    ReleaseDocument "release document" true "A release document names the part, one status, and data with revision",
    Life "life" false "A part is not fitted when its life is used up or not known",
    Conformity "conformity" true "Material is taken in with specification, batch, maker, supplier and statement of conformity",
    ShelfLife "shelf life" false "Material is not used past its shelf life",
    DangerousGoods "dangerous goods" false "Dangerous goods travel with a declaration",
    GateEvidence "evidence" false "A gate is clear only when each of its requirements has evidence",
    GateOrder "order of gates" false "A gate asks for all that the gates before it ask",
    GateHazard "hazard" false "No gate opens with a known hazard, or with a finding that does not allow it",
    GateLimitation "limitation" false "A release names the limitation of everything that is carried forward",
    GateCounts "counts" false "Items off, parts of unknown class and tools out are counted and accounted for at a gate",
    Directive "directive" false "A directive that applies is met by its day, and one that does not has a reason",
    Approval "approval" false "What changes the design follows approved data, and somebody entitled to has approved it",
    Sampling "sampling" false "A sample stands for all only while each one of it is sound",
    Service "due in service" false "What is due in service is done by when it is due",
    Retention "retention" false "A copy of a record is kept for the time of its class, and an entry for ever",
    Correction "correction" false "Nothing is erased: an entry is struck through with a reason, by its author or an authorised person, and stays legible",
    Reconstruction "reconstruction" false "A record that is rebuilt states the loss, its evidence and how sure it is",
    Clock "clock" false "What happened is entered when it happened, in the order in which it happened",
}

impl fmt::Display for RuleKey {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}

impl crate::Named for Rule {
    type Name = RuleKey;
    const NOUN: &'static str = "rule";

    fn name(&self) -> &RuleKey {
        &self.id
    }
}

/// Why an act is refused.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Refusal {
    /// The rule that it breaks.
    pub rule: RuleKey,
    /// Who, what and why, as a sentence without a full stop.
    pub what: String,
    /// What to do instead.
    pub hint: String,
}
