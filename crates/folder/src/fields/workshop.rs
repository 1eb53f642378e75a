//! Who and what there is to work with.

use crate::fields::Shape as S;
use crate::fields::{Form, Kind, may, must};
use crate::notation::{STANDINGS, TAKES_ON};

pub(crate) static SKILL: Kind = Kind {
    noun: "skill",
    table: "skill",
    file: "skills",
    doc: "Something that people are able to do. Crews ask for skills, and people have them.",
    fields: &[
        must("id", S::Name("skill"), "Its name in the programme.", "fitter"),
        must("name", S::Text, "What people call it.", "Airframe fitter"),
    ],
    form: Form::Toml,
};

pub(crate) static STAND: Kind = Kind {
    noun: "stand",
    table: "stand",
    file: "stands",
    doc: "A class of stands: any jig, cradle, trestle or rack that an item occupies while it \
          is off. Those of one class are as good as each other.",
    fields: &[
        must("id", S::Name("stand"), "Its name in the programme.", "ENGINE-STAND"),
        must("name", S::Text, "What people call it.", "Engine stand"),
        must("count", S::Count, "How many there are.", "2"),
    ],
    form: Form::Toml,
};

pub(crate) static PLACE: Kind = Kind {
    noun: "place",
    table: "place",
    file: "places",
    doc: "A bay, booth or bench in which jobs are done.",
    fields: &[
        must("id", S::Name("place"), "Its name in the programme.", "PAINT"),
        must("name", S::Text, "What people call it.", "Paint booth"),
        must("room", S::Count, "How many jobs it holds at once.", "1"),
        may(
            "heated",
            S::YesNo,
            "Whether it is warm all the time, whatever the season's heating.",
            "yes",
        ),
        may(
            "dry",
            S::YesNo,
            "Whether it keeps the weather out, whatever the day.",
            "yes",
        ),
    ],
    form: Form::Toml,
};

pub(crate) static GEAR: Kind = Kind {
    noun: "lifting gear",
    table: "gear",
    file: "gear",
    doc: "A crane, hoist, sling or dolly that a removal or a refit needs. Check its limit \
          against the marked safe working load before each lift.",
    fields: &[
        must("id", S::Name("lifting gear"), "Its name in the programme.", "CRANE"),
        must("name", S::Text, "What people call it.", "Two-ton gantry"),
        must("count", S::Count, "How many there are.", "1"),
        may("limit", S::Mass, "The safe working load, if it lifts.", "2000 kg"),
    ],
    form: Form::Toml,
};

pub(crate) static PERSON: Kind = Kind {
    noun: "person",
    table: "person",
    file: "people",
    doc: "Somebody who works on the aircraft, or who may read the record.",
    fields: &[
        must("id", S::Name("person"), "Their name in the programme.", "edith"),
        must("name", S::Text, "Their full name.", "Edith Marlow"),
        must(
            "standing",
            S::OneOf(&STANDINGS),
            "On what footing they work; an observer only reads.",
            "staff",
        ),
        may(
            "skills",
            S::Names("skill"),
            "What they are able to do; without any no job can ask for them.",
            "fitter; rigger",
        ),
        may("days", S::Days, "The days of the week on which they come.", "Mon-Fri"),
        may(
            "hours",
            S::Hours,
            "Their own hours, where these are shorter than the shift; days before the hours only if they differ from `days`.",
            "09:00-15:00",
        ),
        may(
            "away",
            S::Spans,
            "When they are away, both days included.",
            "2031-12-01..2031-12-12",
        ),
        may(
            "from",
            S::Date,
            "The first day on which they are there at all.",
            "2031-11-03",
        ),
        may(
            "until",
            S::Date,
            "The last day on which they are there at all.",
            "2032-03-31",
        ),
        may(
            "authority",
            S::Authorities,
            "What they may sign, its reference in brackets, and the day on which it runs out.",
            "wooden structure (X-114) until 2032-05-01",
        ),
    ],
    form: Form::Csv,
};

pub(crate) static FIRM: Kind = Kind {
    noun: "firm",
    table: "firm",
    file: "firms",
    doc: "An outside firm: non-destructive testing, plating, machining, overhaul, paint.",
    fields: &[
        must("id", S::Name("firm"), "Its name in the programme.", "PLATER"),
        must("name", S::Text, "What people call it.", "Harbour Plating"),
        must(
            "does",
            S::Text,
            "What it does, in the programme's words.",
            "cadmium and chromium plating",
        ),
        may(
            "collects",
            S::Days,
            "Days of the week on which it collects and delivers; nothing means any working day.",
            "Tue Thu",
        ),
        must(
            "turnaround",
            S::ElapsedEstimate,
            "How long it keeps things unless a step says otherwise: low, likely and high.",
            "5 days / 8 days / 15 days",
        ),
        may(
            "at_once",
            S::Count,
            "How many pieces it takes in at once; nothing if it never says no.",
            "4",
        ),
        may(
            "closed",
            S::Spans,
            "When it is shut, both days included; what is in hand there waits.",
            "2031-12-22..2032-01-03",
        ),
        must(
            "takes_on",
            S::OneOf(&TAKES_ON),
            "Whether parts go away to it or it comes here.",
            "away",
        ),
    ],
    form: Form::Toml,
};
