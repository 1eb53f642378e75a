//! What is wrong, and the work that puts it right.

use crate::fields::Shape as S;
use crate::fields::{Field, Form, Kind, may, must};
use crate::notation::{CONDITIONS, DECISIONS, REACHES, STEPS};

// Steps and written jobs say in the same fields who does them and where.
const CREW: Field = may(
    "crew",
    S::Crew,
    "Who it takes, if people of ours do it; with `hours`.",
    "1 fitter + 1 inspector",
);
const HOURS: Field = may(
    "hours",
    S::WorkEstimate,
    "How long it takes them; work pauses at the end of a shift.",
    "2 h / 3 h / 6 h",
);
const OR: Field = may(
    "or",
    S::Ways,
    "Other ways to crew it, each with its own hours.",
    "2 fitter: 2 h / 2 h / 4 h; 1 rigger: 5 h",
);
const UNBROKEN: Field = may(
    "unbroken",
    S::YesNo,
    "Whether it must not pause: a lift, a coat of paint.",
    "yes",
);
const FIRM: Field = may(
    "firm",
    S::Name("firm"),
    "The outside firm that does it, instead of a crew.",
    "PLATER",
);
const TURNAROUND: Field = may(
    "turnaround",
    S::ElapsedEstimate,
    "How long the firm keeps it, where that is not its usual turnaround.",
    "10 days / 14 days / 21 days",
);
const TAKES: Field = may(
    "takes",
    S::ElapsedEstimate,
    "How long it takes by itself, if nobody does it: curing, soaking, drying.",
    "24 h",
);
const PLACE: Field =
    may("place", S::Name("place"), "Where it is done, if it needs a place.", "PAINT");
const STAND: Field = may(
    "stand",
    S::Name("stand"),
    "A stand that it needs while it runs.",
    "ENGINE-STAND",
);
const WARM: Field = may(
    "warm",
    S::YesNo,
    "Whether it needs warmth: within a heating period, or in a heated place.",
    "yes",
);
const DRY: Field = may(
    "dry",
    S::YesNo,
    "Whether it needs dry air: not on a wet day, or in a dry place.",
    "yes",
);
const AT_LEAST: Field = may(
    "hold_at_least",
    S::Elapsed,
    "The least time between the end of what it follows and its start.",
    "24 h",
);
const AT_MOST: Field =
    may("hold_at_most", S::Elapsed, "The greatest such time.", "3 days");

pub(crate) static ROUTE: Kind = Kind {
    noun: "route",
    table: "route",
    file: "routes",
    doc: "The usual chain of jobs for a kind of item. Each job is a table `[[route.step]]` \
          below it. A finding that names the route becomes these jobs.",
    fields: &[
        must("id", S::Name("route"), "Its name in the programme.", "TUBE-REPAIR"),
        must("name", S::Text, "What people call it.", "Repair of a welded tube"),
        must(
            "reach",
            S::OneOf(&REACHES),
            "How the item must be got at: off, exposed where it is, or as it is.",
            "off",
        ),
        must("step", S::Rows(&STEP), "The jobs, in order.", ""),
    ],
    form: Form::TomlOnly,
};

pub(crate) static STEP: Kind = Kind {
    noun: "step",
    table: "step",
    file: "routes",
    doc: "One job of a route. It is done by a crew (`crew` and `hours`), by a firm (`firm`), \
          or takes its time by itself (`takes`): exactly one of the three.",
    fields: &[
        must("id", S::Name("step"), "Its name within the route.", "strip"),
        must(
            "name",
            S::Text,
            "What is done, as a job card would head it.",
            "Strip paint",
        ),
        must("kind", S::OneOf(&STEPS), "What kind of job it is.", "clean"),
        CREW,
        HOURS,
        OR,
        UNBROKEN,
        FIRM,
        TURNAROUND,
        TAKES,
        PLACE,
        STAND,
        WARM,
        DRY,
        may(
            "after",
            S::Names("step"),
            "The steps that it follows; not given means the one before it, and an empty list means none.",
            "strip",
        ),
        AT_LEAST,
        AT_MOST,
        may(
            "fails",
            S::Chance,
            "How likely it is to fail, if it is an inspection; with `then`.",
            "0.15",
        ),
        may(
            "then",
            S::Name("route"),
            "The route whose steps are done besides if it fails.",
            "TUBE-SPLICE",
        ),
    ],
    form: Form::TomlOnly,
};

pub(crate) static PACK: Kind = Kind {
    noun: "pack",
    table: "pack",
    file: "packs",
    doc: "Work that belongs together and is done in one season.",
    fields: &[
        must("id", S::Name("pack"), "Its name in the programme.", "WP-04"),
        must("name", S::Text, "What people call it.", "Port power unit"),
        may(
            "season",
            S::Name("season"),
            "The season in which it is done; nothing while that is open.",
            "W31",
        ),
        may(
            "gate",
            S::Name("gate"),
            "The gate for which it is needed; nothing means the season's own.",
            "TAXI",
        ),
        may(
            "off",
            S::Names("item"),
            "Items that come off for it whatever else is in it.",
            "ENG-P",
        ),
        may(
            "exposed",
            S::Names("item"),
            "Items that are to be exposed for it whatever else is in it.",
            "SPAR-P",
        ),
    ],
    form: Form::Csv,
};

pub(crate) static FINDING: Kind = Kind {
    noun: "finding",
    table: "finding",
    file: "findings",
    doc: "Something that the survey, or later work, found. The fields from `decision` on say \
          what was decided; that is for people with the authority to decide it.",
    fields: &[
        must(
            "id",
            S::Name("finding"),
            "Its name in the programme; it never changes.",
            "F-0112",
        ),
        must("item", S::Name("item"), "The item on which it was found.", "MOUNT-P"),
        may(
            "zone",
            S::Name("zone"),
            "Where on it, closer than the item's zone.",
            "NAC-P",
        ),
        must("what", S::Text, "What was seen.", "pitting under the lower attachment lug"),
        may(
            "measured",
            S::Text,
            "What was measured, as it was written down.",
            "0.012 in deep over 3/8 in",
        ),
        must(
            "condition",
            S::OneOf(&CONDITIONS),
            "How bad it is; unknown is never clear.",
            "outside limits",
        ),
        may("found", S::Date, "The day on which it was found.", "2031-06-14"),
        may("by", S::Name("person"), "Who found it.", "edith"),
        may(
            "photograph",
            S::Text,
            "A photograph, as a path within the folder.",
            "photographs/f-0112.jpg",
        ),
        may("decision", S::OneOf(&DECISIONS), "What was decided.", "repair"),
        may(
            "route",
            S::Name("route"),
            "The route by which it is carried out.",
            "TUBE-REPAIR",
        ),
        may(
            "allows",
            S::Name("gate"),
            "The highest gate that the aircraft may pass with the finding as it stands.",
            "TAXI",
        ),
        may("decided_by", S::Name("person"), "Who decided.", "edith"),
        may(
            "basis",
            S::Text,
            "The limit or data on which the decision rests.",
            "repair scheme 12",
        ),
        may("pack", S::Name("pack"), "The pack to which its work belongs.", "WP-04"),
    ],
    form: Form::Csv,
};

pub(crate) static JOB: Kind = Kind {
    noun: "job",
    table: "job",
    file: "jobs",
    doc: "A job that somebody wrote down, one that does not follow from a finding's route. Who \
          does it is said as in a step.",
    fields: &[
        must("id", S::Name("job"), "Its name in the programme.", "J-017"),
        must(
            "name",
            S::Text,
            "What is done, as a job card would head it.",
            "Swing the compasses",
        ),
        must("pack", S::Name("pack"), "The pack to which it belongs.", "WP-04"),
        may("item", S::Name("item"), "The item on which it is done.", "ENG-P"),
        may(
            "reach",
            S::OneOf(&REACHES),
            "How that item must be got at; nothing means as it is.",
            "exposed",
        ),
        CREW,
        HOURS,
        OR,
        UNBROKEN,
        FIRM,
        TURNAROUND,
        TAKES,
        PLACE,
        STAND,
        WARM,
        DRY,
        may(
            "after",
            S::JobKeys,
            "Jobs that it follows: `OFF:item`, `ON:item`, `CHECK:check:thing`, `finding:step`, or a written job.",
            "ON:ENG-P; F-0112:strip; J-016",
        ),
        AT_LEAST,
        AT_MOST,
    ],
    form: Form::Csv,
};

pub(crate) static ACTUAL: Kind = Kind {
    noun: "actual",
    table: "actual",
    file: "actuals",
    doc: "What has happened of a job: it was started and has so much left, or it was started \
          and finished. Either `left` or `finished` is given.",
    fields: &[
        must("job", S::JobKey, "Which job, named as in `after` of a job.", "OFF:ENG-P"),
        must("started", S::Moment, "When it was started.", "2031-10-06 08:00"),
        may("finished", S::Moment, "When it was finished.", "2031-10-07 11:30"),
        may(
            "left",
            S::Work,
            "How much work is left as people on the job see it; at a firm or while curing, how much time.",
            "4 h",
        ),
    ],
    form: Form::Csv,
};
