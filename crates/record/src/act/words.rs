//! Choices of one word among a few.

/// Declares a choice: its values in order, each with the word that files write.
macro_rules! choice {
    ($(#[$doc:meta])* $name:ident { $($(#[$each:meta])* $value:ident $word:literal,)* }) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        #[derive(serde::Serialize, serde::Deserialize)]
        pub enum $name {
            $($(#[$each])* $value,)*
        }

        impl $name {
            /// All of them.
            pub const ALL: [Self; [$($word),*].len()] = [$(Self::$value),*];

            /// The words for it, as files write them.
            pub const fn word(self) -> &'static str {
                match self {
                    $(Self::$value => $word,)*
                }
            }
        }
    };
}

choice! {
    /// What an authority allows.
    Power {
        /// Appoint people: give and take authorities.
        Appoint "appoint",
        /// Issue and change job cards.
        Plan "plan",
        /// Answer for those who work under supervision.
        Supervise "supervise",
        /// Certify that work is complete and right.
        Certify "certify",
        /// Inspect stages and, where two are asked for, first or second.
        Inspect "inspect",
        /// Decide how bad a finding is, clear and defer it.
        Classify "classify",
        /// Decide as engineering authority: concessions, unknown pedigree, lives.
        Engineer "engineer",
        /// Accept, quarantine and release parts and materials.
        Stores "stores",
        /// Allow a part to be taken from one assembly for another.
        Rob "rob",
        /// Open and shut gates.
        Release "release",
    }
}

choice! {
    /// What kind of work a step is.
    StepWork {
        /// Taking apart.
        Disassemble "disassemble",
        /// The task itself.
        Task "task",
        /// Putting together.
        Reassemble "reassemble",
        /// Trying out.
        Test "test",
        /// Looking for one's own mistakes.
        Capture "capture",
    }
}

choice! {
    /// What an inspection came to.
    Verdict {
        /// In order.
        Pass "pass",
        /// Not in order.
        Fail "fail",
    }
}

choice! {
    /// Classes of parts; each part has one at any time.
    PartClass {
        /// May be fitted.
        Serviceable "serviceable",
        /// May not be fitted as it is, or nobody knows.
        Unserviceable "unserviceable",
        /// Can never be made good.
        Unsalvageable "unsalvageable",
        /// Made to a published standard.
        Standard "standard part",
        /// Raw or consumable material.
        Material "material",
    }
}

choice! {
    /// Why a part can never be made good.
    ScrapReason {
        /// It can't be repaired.
        NotRepairable "not repairable",
        /// It is not to the design and can't be brought to it.
        OffDesign "off design",
        /// It was worked on wrongly for good.
        BadRework "bad rework",
        /// Its life is used up.
        LifeExpired "life expired",
        /// Its history can't be known.
        NoRecords "no records",
        /// It was exposed to what it can't bear.
        Exposure "exposure",
        /// A directive can't be met.
        Directive "directive",
        /// Nobody can tell where it comes from.
        NotTraceable "not traceable",
    }
}

choice! {
    /// What a life is counted in.
    LifeUnit {
        /// Hours of flight.
        FlightHours "flight hours",
        /// Hours of engine running, on the ground too.
        EngineHours "engine hours",
        /// Landings.
        Landings "landings",
        /// Cycles of what the part does.
        Cycles "cycles",
        /// Days since it was made, cured or overhauled.
        Days "days",
    }
}

choice! {
    /// What makes goods dangerous on the road.
    Medium {
        /// Oxygen or another gas under pressure.
        Gas "gas",
        /// Fuel, oil or another fluid that burns or harms.
        Fluid "fluid",
        /// Cartridges and other explosives.
        Explosive "explosive",
        /// Luminous paint and other sources of radiation.
        Radioactive "radioactive",
    }
}

choice! {
    /// What kinds of evidence there are.
    EvidenceKind {
        /// A card that is finished.
        Card "card",
        /// A document, with its number.
        Document "document",
        /// A statement by the signer.
        Statement "statement",
        /// A report of an examination or test.
        Report "report",
        /// A photograph.
        Photograph "photograph",
    }
}

choice! {
    /// How a directive stands.
    DirectiveState {
        /// It applies and is not met.
        Open "open",
        /// It is met for good.
        Met "met",
        /// It is met, and due again.
        Repeating "repeating",
        /// It does not apply.
        NotApplicable "not applicable",
    }
}

choice! {
    /// Where an item comes from.
    Origin {
        /// It was always part of this aircraft.
        Original "original",
        /// It comes from another aircraft.
        Donor "donor",
        /// It was newly made.
        NewMade "new-made",
        /// Nobody knows.
        NotKnown "not known",
    }
}

choice! {
    /// What money is.
    MoneyKind {
        /// What somebody thinks it will cost.
        Estimate "estimate",
        /// What was ordered.
        Commitment "commitment",
        /// What was paid.
        Payment "payment",
    }
}

choice! {
    /// Methods of examination.
    Method {
        /// A penetrant and a developer.
        Penetrant "penetrant",
        /// Magnetic particles.
        Magnetic "magnetic particle",
        /// Eddy current.
        EddyCurrent "eddy current",
        /// Ultrasound.
        Ultrasonic "ultrasonic",
        /// X-rays or gamma rays.
        Radiographic "radiographic",
        /// Looking, with a lens and good light.
        Visual "visual",
        /// Looking through a boroscope. An inspection, no testing.
        Boroscope "boroscope",
        /// Listening to taps. An inspection, no testing.
        CoinTap "coin tap",
    }
}

impl Method {
    /// Whether it asks for a level of qualification: the five that are testing in the
    /// narrow sense. The others are inspections; who makes them is trained and assessed.
    pub const fn has_levels(self) -> bool {
        !matches!(self, Self::Visual | Self::Boroscope | Self::CoinTap)
    }
}

choice! {
    /// Levels of qualification of an examiner.
    Level {
        /// Learns.
        Trainee "trainee",
        /// Makes certain examinations.
        Limited "level 1 limited",
        /// Makes examinations by a written procedure.
        One "level 1",
        /// Makes and judges them.
        Two "level 2",
        /// Makes techniques and approves procedures.
        Three "level 3",
    }
}

choice! {
    /// What an examination came to.
    Outcome {
        /// Within the standard.
        Accept "accept",
        /// Outside the standard.
        Reject "reject",
        /// The standard is silent: engineering rules.
        Refer "refer",
    }
}

choice! {
    /// What a response was found to be, each a kind of the one before.
    Rank {
        /// Something responded, whatever it is.
        Indication "indication",
        /// It comes from the item and not from its shape, surface or the method.
        Relevant "relevant indication",
        /// The item is interrupted there.
        Discontinuity "discontinuity",
        /// It does not meet the standard.
        Defect "defect",
    }
}

choice! {
    /// Classes of records, each kept for its time.
    RecordClass {
        /// Cards, with the work that was done.
        Work "work records",
        /// Evidence and releases.
        Release "release",
        /// Tags, release documents, lives.
        PartsHistory "parts history",
        /// Findings, repairs and modifications.
        Structure "structure",
        /// Requests and reports of examinations.
        Examinations "examinations",
        /// Statements of conformity.
        Materials "materials",
        /// Authorities, licences, training.
        People "people",
        /// Letters.
        Letters "letters",
    }
}
