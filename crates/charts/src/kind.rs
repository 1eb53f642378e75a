//! What sort of work a job is, and how each sort is told apart.

/// What sort of work a job is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum JobKind {
    /// An item comes off.
    Remove,
    /// An item is taken apart, or its coating off.
    Strip,
    /// Cleaning.
    Clean,
    /// Looking and measuring.
    Inspect,
    /// Mending.
    Repair,
    /// Painting, plating, protecting.
    Finish,
    /// An item is put together.
    Assemble,
    /// An item goes back on.
    Refit,
    /// A check that a disturbance demands.
    Check,
    /// Away at a firm.
    Away,
    /// Time that nobody works: cure, drying, settling.
    Wait,
    /// Anything else.
    Other,
}

impl JobKind {
    /// All kinds in the order of the work, as the legend shows them.
    pub const ALL: [Self; 12] = [
        Self::Remove,
        Self::Strip,
        Self::Clean,
        Self::Inspect,
        Self::Repair,
        Self::Away,
        Self::Finish,
        Self::Wait,
        Self::Assemble,
        Self::Refit,
        Self::Check,
        Self::Other,
    ];

    /// The word for people.
    pub fn word(self) -> &'static str {
        match self {
            Self::Remove => "Off",
            Self::Strip => "Strip",
            Self::Clean => "Clean",
            Self::Inspect => "Inspect",
            Self::Repair => "Repair",
            Self::Finish => "Finish",
            Self::Assemble => "Assemble",
            Self::Refit => "Refit",
            Self::Check => "Check",
            Self::Away => "Away",
            Self::Wait => "Wait",
            Self::Other => "Other",
        }
    }

    /// One character that stands for the kind where a word has no room.
    pub fn mark(self) -> char {
        match self {
            Self::Remove => '▲',
            Self::Strip => 'S',
            Self::Clean => 'C',
            Self::Inspect => 'I',
            Self::Repair => 'R',
            Self::Finish => 'F',
            Self::Assemble => 'A',
            Self::Refit => '▼',
            Self::Check => 'K',
            Self::Away => '»',
            Self::Wait => '…',
            Self::Other => 'O',
        }
    }
}
