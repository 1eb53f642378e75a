//! The aircraft.

use crate::fields::Shape as S;
use crate::fields::{Form, Kind, may, must};
use crate::notation::{CONNECTIONS, SCOPES, SUPPORTS, VIEWS};

pub(crate) static ZONE: Kind = Kind {
    noun: "zone",
    table: "zone",
    file: "zones",
    doc: "A region of the aircraft.",
    fields: &[
        must("id", S::Name("zone"), "Its name in the programme.", "HULL-FWD"),
        must("name", S::Text, "What people call it.", "Forward hull"),
        may("within", S::Name("zone"), "The greater zone in which it lies.", "HULL"),
    ],
    form: Form::Toml,
};

pub(crate) static OUTLINE: Kind = Kind {
    noun: "outline",
    table: "outline",
    file: "outlines",
    doc: "The line around a zone in a drawing of the aircraft, or a plain contour. The units \
          and the origin are the drawing's own, the same for all outlines of a view, x to the \
          right and y downwards. A zone may have several outlines in a view. Where there is \
          any outline, a zone that has none in either view gets a warning.",
    fields: &[
        must("id", S::Name("outline"), "Its name in the programme.", "HULL-FWD-SIDE"),
        must("view", S::OneOf(&VIEWS), "From where the aircraft is seen.", "side"),
        may(
            "zone",
            S::Name("zone"),
            "The zone that it goes round; nothing for a plain contour.",
            "HULL-FWD",
        ),
        must(
            "path",
            S::Drawn,
            "How it is drawn: path data of SVG with the letters M, L, H, V, C, S, Q, T, A and \
             Z, large or small, and numbers without exponents; at most 20 000 letters.",
            "M0 0 L120 -8 Q140 30 120 60 H0 Z",
        ),
        may(
            "order",
            S::Count,
            "When it is drawn: a greater one lies over a lesser one; nothing counts as 0.",
            "2",
        ),
    ],
    form: Form::Csv,
};

pub(crate) static ARRANGEMENT: Kind = Kind {
    noun: "arrangement",
    table: "arrangement",
    file: "arrangements",
    doc: "A way in which the aircraft is supported. Each place at which it rests is a table \
          `[[arrangement.point]]` below it. The margins that are computed from it warn and \
          never replace the approved jacking and trestling data of the type.",
    fields: &[
        must("id", S::Name("arrangement"), "Its name in the programme.", "JACKS"),
        must("name", S::Text, "What people call it.", "On jacks, tail trestled"),
        must("point", S::Rows(&POINT), "The places at which the aircraft rests.", ""),
    ],
    form: Form::TomlOnly,
};

pub(crate) static POINT: Kind = Kind {
    noun: "point",
    table: "point",
    file: "arrangements",
    doc: "One place at which the aircraft rests.",
    fields: &[
        must("name", S::Text, "What people call it.", "port main jack"),
        must("kind", S::OneOf(&SUPPORTS), "What the aircraft rests on there.", "jack"),
        must("arm", S::Length, "Where it is, aft of the datum.", "5.10 m"),
        must(
            "side",
            S::Length,
            "Where it is, to starboard of the centre line; to port it is negative.",
            "-2.2 m",
        ),
        may("capacity", S::Mass, "The greatest load that it may bear.", "6000 kg"),
        may("when_needed", S::YesNo, "Whether it is set only when it is needed.", "yes"),
    ],
    form: Form::TomlOnly,
};

pub(crate) static ITEM: Kind = Kind {
    noun: "item",
    table: "item",
    file: "items",
    doc: "A part of the aircraft that can be named, judged and, mostly, taken off. Crew and \
          hours for taking it off come together, and so do those for putting it back; an item \
          that can come off has both.",
    fields: &[
        must(
            "id",
            S::Name("item"),
            "Its name in the programme; it never changes.",
            "ENG-P",
        ),
        must("name", S::Text, "What people call it.", "Port engine"),
        may(
            "part_of",
            S::Name("item"),
            "The assembly to which it belongs in the breakdown.",
            "POWER-P",
        ),
        may(
            "mounted_on",
            S::Name("item"),
            "What it is fixed to, if that is not what it is a part of.",
            "MOUNT-P",
        ),
        may("zone", S::Name("zone"), "Where on the aircraft it is.", "NAC-P"),
        may(
            "chapter",
            S::Chapter,
            "Its system or structure, by the public list of chapter codes.",
            "7200",
        ),
        may(
            "part_number",
            S::Text,
            "Part number, as on its plate or drawing.",
            "P2-72-001",
        ),
        may("serial", S::Text, "Serial number, as on its plate.", "1147"),
        may("material", S::Text, "What it is made of.", "welded steel tube"),
        may(
            "mass",
            S::Mass,
            "Mass of the item alone, without what is mounted on it.",
            "612 kg",
        ),
        may("arm", S::Length, "Where its mass acts, aft of the datum.", "3.85 m"),
        may(
            "side",
            S::Length,
            "Where its mass acts, to starboard of the centre line; to port it is negative.",
            "-2.6 m",
        ),
        may(
            "behind",
            S::Needs,
            "What must be out of the way to see it and work on it where it is.",
            "COWL-P; PANEL-3 + PANEL-4 | DOOR-2",
        ),
        may(
            "held_by",
            S::Needs,
            "What must be out of the way, besides, to take it off.",
            "PROP-P; EXH-P",
        ),
        may(
            "fixed",
            S::Text,
            "Why it never comes off, where that is so.",
            "the hull is the structure that the rest hangs on",
        ),
        may("off_crew", S::Crew, "Who it takes to take it off.", "2 fitter + 1 rigger"),
        may(
            "off_hours",
            S::WorkEstimate,
            "How long that takes them: low, likely and high, or one figure.",
            "6 h / 8 h / 14 h",
        ),
        may(
            "off_gear",
            S::Names("lifting gear"),
            "Lifting gear in use for the whole of it.",
            "CRANE; ENGINE-SLING",
        ),
        may("on_crew", S::Crew, "Who it takes to put it back.", "2 fitter + 1 rigger"),
        may(
            "on_hours",
            S::WorkEstimate,
            "How long that takes them.",
            "8 h / 12 h / 18 h",
        ),
        may(
            "on_gear",
            S::Names("lifting gear"),
            "Lifting gear in use for the whole of it.",
            "CRANE; ENGINE-SLING",
        ),
        may(
            "stand",
            S::Name("stand"),
            "What it occupies while it is off.",
            "ENGINE-STAND",
        ),
        may(
            "refit_after",
            S::Names("item"),
            "Items that must be fitted before it goes back, where that is more than the removal reversed.",
            "MOUNT-P",
        ),
        may(
            "vital",
            S::YesNo,
            "Whether a mistake in its assembly could lose the aircraft.",
            "yes",
        ),
        may(
            "off",
            S::YesNo,
            "Whether it was off already when the survey was made.",
            "no",
        ),
    ],
    form: Form::Csv,
};

pub(crate) static CONNECTION: Kind = Kind {
    noun: "connection",
    table: "connection",
    file: "connections",
    doc: "A pipe, cable, rod, wire or structural joint between two items. It is broken when \
          one of them comes off without the other.",
    fields: &[
        must("id", S::Name("connection"), "Its name in the programme.", "FUEL-P-MAIN"),
        must("name", S::Text, "What people call it.", "Port main fuel feed"),
        must("kind", S::OneOf(&CONNECTIONS), "What runs through it.", "fuel"),
        must("from", S::Name("item"), "One of the items that it joins.", "ENG-P"),
        may(
            "to",
            S::Name("item"),
            "The other one; nothing if that is the airframe at large.",
            "FIREWALL-P",
        ),
    ],
    form: Form::Csv,
};

pub(crate) static CHECK: Kind = Kind {
    noun: "check",
    table: "check",
    file: "checks",
    doc: "A rule: when this is disturbed, that must be checked. Every condition that is given \
          must fit; a rule without conditions fits each removal. The rules are the programme's \
          own: take them from the approved data and have them agreed.",
    fields: &[
        must("id", S::Name("check"), "Its name in the programme.", "LEAK-FUEL"),
        must(
            "name",
            S::Text,
            "The check, as a job card would head it.",
            "Fuel leak check",
        ),
        may(
            "connections",
            S::SomeOf(&CONNECTIONS),
            "Condition: a connection of one of these kinds was broken.",
            "fuel; oil",
        ),
        may(
            "vital",
            S::YesNo,
            "Condition: the item that came off, or one at either end of the connection, is vital.",
            "yes",
        ),
        may(
            "chapters",
            S::Chapters,
            "Condition: the item's chapter is one of these or lies under one of them.",
            "27; 5700",
        ),
        may(
            "items",
            S::Names("item"),
            "Condition: the item is one of these.",
            "FLOAT-P; FLOAT-S",
        ),
        must(
            "scope",
            S::OneOf(&SCOPES),
            "How often it is done: for each connection, for each item, for each unit (the outermost assembly that came off), or once.",
            "connection",
        ),
        may(
            "independent",
            S::YesNo,
            "Whether it must be done by somebody who did not do the work.",
            "yes",
        ),
        must("crew", S::Crew, "Who it takes.", "1 inspector"),
        must("hours", S::WorkEstimate, "How long it takes them.", "1 h / 2 h / 3 h"),
        may(
            "after",
            S::Names("check"),
            "Checks that come before it where both are demanded.",
            "RANGE-SENSE",
        ),
        may(
            "source",
            S::Text,
            "Where the rule comes from, in the programme's words.",
            "maintenance manual, section 4",
        ),
    ],
    form: Form::Toml,
};
