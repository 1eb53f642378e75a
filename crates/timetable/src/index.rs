//! Dense identifiers: positions in the lists of a [`Problem`](crate::Problem).

/// Declares one identifier type; identifiers of different things do not compare.
macro_rules! index {
    ($(#[$doc:meta])* $name:ident) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub struct $name(pub u32);

        impl $name {
            /// The identifier of the thing at this position of its list.
            pub const fn new(position: usize) -> Self {
                Self(position as u32)
            }

            /// The position in its list.
            pub const fn at(self) -> usize {
                self.0 as usize
            }
        }
    };
}

index!(
    /// A task of a problem.
    TaskId
);
index!(
    /// A mode, counted within its task.
    ModeId
);
index!(
    /// A renewable resource of a problem.
    ResourceId
);
index!(
    /// A stock of a problem.
    StockId
);
index!(
    /// A calendar of a problem.
    CalendarId
);
index!(
    /// A link of a problem.
    LinkId
);
index!(
    /// An occupancy of a problem.
    OccupancyId
);
