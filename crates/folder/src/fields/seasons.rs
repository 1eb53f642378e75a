//! The programme, its gates and its seasons.

use crate::fields::Shape as S;
use crate::fields::{Form, Kind, may, must};

pub(crate) static PROGRAMME: Kind = Kind {
    noun: "programme",
    table: "programme",
    file: "programme",
    doc: "What the programme is about. There is one, in the table `[programme]` of \
          programme.toml, and its presence makes a folder a programme folder.",
    fields: &[
        must("name", S::Text, "What people call the programme.", "Return of the Petrel"),
        must(
            "aircraft",
            S::Text,
            "The type of the aircraft.",
            "Petrel II twin-engined amphibian",
        ),
        may("registration", S::Text, "Its registration or serial.", "X-0000"),
        may("keeper", S::Text, "Who keeps it.", "Petrel Trust"),
        may("datum", S::Text, "Where the datum is, in words.", "face of the hull's stem"),
        must(
            "currency",
            S::Currency,
            "The currency in which money is counted, by its three letters.",
            "GBP",
        ),
        may(
            "invented",
            S::YesNo,
            "Whether everything in it is invented, for trying things out.",
            "yes",
        ),
        may(
            "weighed_mass",
            S::Mass,
            "The mass of the complete aircraft when it was last weighed.",
            "8120 kg",
        ),
        may(
            "weighed_arm",
            S::Length,
            "Where its centre of gravity was then, aft of the datum.",
            "5.42 m",
        ),
    ],
    form: Form::TomlOnly,
};

pub(crate) static GATE: Kind = Kind {
    noun: "gate",
    table: "gate",
    file: "gates",
    doc: "Something that the aircraft may be allowed to do. Gates are ordered: each asks for \
          everything that the gates before it ask.",
    fields: &[
        must("id", S::Name("gate"), "Its name in the programme.", "TAXI"),
        must("name", S::Text, "What people call it.", "Taxi under own power"),
        must("order", S::Count, "Its place in the order; no two gates share one.", "3"),
    ],
    form: Form::Toml,
};

pub(crate) static SEASON: Kind = Kind {
    noun: "season",
    table: "season",
    file: "seasons",
    doc: "A closed period in which the aircraft is opened up. It ends on its gate date, by \
          the end of which the aircraft stands complete for the season's gate.",
    fields: &[
        must("id", S::Name("season"), "Its name in the programme.", "W31"),
        must("name", S::Text, "What people call it.", "Winter 2031/32"),
        must("from", S::Date, "The first day of work.", "2031-10-06"),
        must("until", S::Date, "The gate date, which is the last day.", "2032-04-30"),
        must("gate", S::Name("gate"), "The gate on which it must end.", "TAXI"),
        must(
            "shifts",
            S::Shifts,
            "The hours of work.",
            "Mon-Fri 08:00-12:00; Mon-Fri 12:30-16:30; Sat 09:00-15:00",
        ),
        may(
            "closed",
            S::Spans,
            "When nobody works, both days included.",
            "2031-12-20..2032-01-04",
        ),
        may(
            "heating",
            S::Heating,
            "When the hangar is warm: days, and the hours on each of them unless it is warm day and night.",
            "2031-10-01..2032-04-30 07:00-18:00",
        ),
        may(
            "wet",
            S::Spans,
            "Days too wet for dry work in places that do not keep the weather out.",
            "2031-11-10..2031-11-21",
        ),
        may(
            "arrangement",
            S::Name("arrangement"),
            "How the aircraft is supported while it is open.",
            "JACKS",
        ),
    ],
    form: Form::Toml,
};
