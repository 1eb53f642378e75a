//! What work is measured with, what gates ask for, and what the rules rest on.

use crate::fields::Shape as S;
use crate::fields::{Form, Kind, may, must};
use crate::notation::{BASES, EVIDENCE, RECORD_CLASSES, RULES};

pub(crate) static TOOL: Kind = Kind {
    noun: "tool",
    table: "tool",
    file: "tools",
    doc: "A tool that is counted out and in, or an instrument. When its calibration runs out \
          is recorded each time that it is calibrated, and stands in no file.",
    fields: &[
        must(
            "id",
            S::Name("tool"),
            "Its name in the programme, as it is marked on it.",
            "TW-3",
        ),
        must("name", S::Text, "What people call it.", "Torque wrench, small"),
        may(
            "measures",
            S::YesNo,
            "Whether it measures, and so needs a calibration that has not run out.",
            "yes",
        ),
        may("range", S::Text, "What it can measure, with the unit.", "10 to 150 lbf·in"),
    ],
    form: Form::Csv,
};

pub(crate) static REQUIREMENT: Kind = Kind {
    noun: "requirement",
    table: "requirement",
    file: "requirements",
    doc: "Something that a gate asks for, besides what every gate asks for: no finding in its \
          way, no tool out, everything that came off accounted for. A gate asks also for all \
          that the gates before it ask.",
    fields: &[
        must("id", S::Name("requirement"), "Its name in the programme.", "RUN-3"),
        must("gate", S::Name("gate"), "The gate that asks for it.", "engine-run"),
        must(
            "what",
            S::Text,
            "What must be so.",
            "Each fire bottle has been weighed and is full",
        ),
        may(
            "kind",
            S::OneOf(&EVIDENCE),
            "The kind of evidence that satisfies it; nothing means any kind.",
            "report",
        ),
        may("job", S::JobKey, "The job whose finished card is the evidence.", "ON:ENG-P"),
        may("fitted", S::Name("item"), "The item that must be fitted.", "ENG-P"),
        may(
            "citation",
            S::Text,
            "The condition, letter or publication that asks for it, as it is to be printed.",
            "Condition 4 of the permit conditions",
        ),
    ],
    form: Form::Csv,
};

pub(crate) static RULE: Kind = Kind {
    noun: "rule",
    table: "rule",
    file: "rules",
    doc: "What the programme says about a rule by which the signing of work is judged. The \
          rules themselves are the program's; which publication or approval one rests on is \
          yours to say, and nothing is cited that does not stand here. A rule that is not \
          named here holds as well, without a citation.",
    fields: &[
        must("id", S::OneOf(&RULES), "Which rule.", "calibration"),
        must(
            "basis",
            S::OneOf(&BASES),
            "How it came to hold: it binds, it was adopted as good practice, or it is off.",
            "binding",
        ),
        may(
            "citation",
            S::Text,
            "What it rests on, as it is to be printed; a rule that binds has one.",
            "Workshop manual, part 2, section 5",
        ),
        may(
            "note",
            S::Text,
            "What else there is to say; for a rule that is off, why.",
            "Agreed with the insurer in May 2031",
        ),
    ],
    form: Form::Csv,
};

pub(crate) static RETENTION: Kind = Kind {
    noun: "class of records",
    table: "retention",
    file: "retention",
    doc: "How long copies of records are kept: attachments, and paper. What is not named here \
          is kept for the life of the aircraft. The entries of the ledger are kept for ever, \
          whatever stands here.",
    fields: &[
        must("id", S::OneOf(&RECORD_CLASSES), "Which class.", "letters"),
        may(
            "years",
            S::Count,
            "For how many years after the work; nothing means for the life of the aircraft.",
            "10",
        ),
        may(
            "citation",
            S::Text,
            "The publication or approval that says so, as it is to be printed.",
            "Workshop manual, part 1, section 9",
        ),
        may("note", S::Text, "What else there is to say.", "Agreed with the keeper"),
    ],
    form: Form::Csv,
};
