//! The register of repairs, materials in place of others, parts that were made in-house.

use jiff::civil::date;
use record::act::{Draw, Limit, Make, Origin, Reading, Repair, Substitute};
use record::{Act, RuleKey as R};

use crate::examinations::{batch, rejection, request};
use crate::scene::{Scene, id, job};
use crate::table::{Row, check, row};

const REGISTER: &str = "AMC M.A.305(c)2: location, dimensions, remaining thickness, data";
const APPROVED: &str = "ANO 2016 art 41: no modification or repair without approval";
const MAJOR: &str = "14 CFR 43 App A: major or minor, by its criterion";
const OTHER: &str = "AC 23-27: substantiation of a material in place of another";
const MADE: &str = "AC 43-18: fabrication by data, with material, inspection and marking";

fn web(low: Option<f64>) -> Limit {
    Limit { name: "web".into(), low, high: None, unit: "mm".into() }
}

fn left(value: f64) -> Vec<Reading> {
    vec![Reading { name: "web".into(), value, instrument: Some(id("TW-1")) }]
}

fn repair(name: &str) -> Repair {
    Repair {
        repair: id(name),
        finding: id("F-1"),
        location: "frame 9, stringer 4".into(),
        what: "blended".into(),
        dimensions: "60 mm by 22 mm".into(),
        removed: true,
        limits: vec![web(Some(1.3))],
        remains: left(1.42),
        data: "scheme 12".into(),
        revision: Some("B".into()),
        major: false,
        criterion: "no primary member".into(),
        approval: "the designer, letter 7".into(),
        job: job("J"),
        duty: None,
    }
}

fn substitute() -> Substitute {
    Substitute {
        substitution: id("SUB-1"),
        item: id("HULL"),
        original: "sheet of 1941, 1.6 mm".into(),
        proposed: "clad sheet, 1.6 mm".into(),
        strength: "both higher".into(),
        thickness: "the same".into(),
        treatment: "as drawn".into(),
        corrosion: "clad, better".into(),
        reason: "no longer made".into(),
        data: "comparison 4".into(),
        approval: "the designer, letter 8".into(),
    }
}

fn make() -> Make {
    Make {
        item: id("PUMP-2"),
        drawing: "drawing 4".into(),
        revision: Some("C".into()),
        batches: vec![id("B-1")],
        treatment: "none".into(),
        first: "measured by dan".into(),
        mark: "4 C B-1".into(),
        report: None,
        job: job("J"),
    }
}

/// The card on which it was done is complete, with an instrument that is in order.
fn ready(s: &mut Scene) -> &mut Scene {
    let (until, certificate) = (date(2033, 1, 1), "C-4".into());
    s.does("frank", record::act::Calibrate { tool: id("TW-1"), until, certificate });
    s.finished("J")
}

fn drawn(s: &mut Scene) -> &mut Scene {
    s.does("frank", batch(date(2032, 6, 1))).begun("J");
    s.does("ben", Draw { batch: id("B-1"), job: job("J"), quantity: 0.5 });
    s.does("ben", crate::scene::sign("J", "one"));
    s.does("ben", crate::scene::sign("J", "two"));
    s.does("ben", crate::scene::finish("J"))
}

fn repaired(
    name: &'static str,
    source: &'static str,
    rule: R,
    change: fn(&mut Repair),
) -> Row {
    row(name, source, rule, move |s| {
        ready(s);
        let mut repair = repair("REP-1");
        change(&mut repair);
        ("ben", repair.into())
    })
}

fn register() -> Vec<Row> {
    vec![
        row("who may not certify enters no repair", REGISTER, R::Authority, |s| {
            ready(s);
            ("dan", repair("REP-1").into())
        }),
        row("a repair has a name of its own", REGISTER, R::Known, |s| {
            ready(s).does("ben", repair("REP-1"));
            ("ben", repair("REP-1").into())
        }),
        repaired("a repair says where it is", REGISTER, R::Stated, |r| {
            r.location = " ".into();
        }),
        repaired("a repair says how large it is", REGISTER, R::Stated, |r| {
            r.dimensions = String::new();
        }),
        repaired("a repair is major or not for a reason", MAJOR, R::Stated, |r| {
            r.criterion = String::new();
        }),
        repaired("a repair follows data with revision", REGISTER, R::Data, |r| {
            r.revision = None;
        }),
        repaired("a repair is approved", APPROVED, R::Approval, |r| {
            r.approval = " ".into();
        }),
        repaired("what was taken away leaves something", REGISTER, R::Limits, |r| {
            (r.limits, r.remains) = (vec![], vec![]);
        }),
        repaired("what is left is measured", REGISTER, R::Limits, |r| r.remains.clear()),
        repaired("what is left is enough", REGISTER, R::Limits, |r| {
            r.remains = left(1.29);
        }),
        repaired("the least thickness is a number", REGISTER, R::Stated, |r| {
            r.limits = vec![web(None)];
        }),
        repaired("the repeat inspection is set up", REGISTER, R::Known, |r| {
            r.duty = Some(id("D-9"));
        }),
        row("a repair is done on a card that is complete", REGISTER, R::Restored, |s| {
            ready(s).begun("K");
            ("ben", Repair { job: job("K"), ..repair("REP-1") }.into())
        }),
        row("what is left is measured with a good tool", REGISTER, R::Calibration, |s| {
            s.finished("J");
            ("ben", repair("REP-1").into())
        }),
    ]
}

fn materials() -> Vec<Row> {
    vec![
        row(
            "only an engineer puts one material for another",
            OTHER,
            R::Authority,
            |_| ("ben", substitute().into()),
        ),
        row("a substitution has a name of its own", OTHER, R::Known, |s| {
            s.does("gina", substitute());
            ("gina", substitute().into())
        }),
        row("strengths are compared", OTHER, R::Stated, |_| {
            ("gina", Substitute { strength: " ".into(), ..substitute() }.into())
        }),
        row("corrosion is thought of", OTHER, R::Stated, |_| {
            ("gina", Substitute { corrosion: String::new(), ..substitute() }.into())
        }),
        row("a substitution is approved", APPROVED, R::Approval, |_| {
            ("gina", Substitute { approval: String::new(), ..substitute() }.into())
        }),
    ]
}

fn made() -> Vec<Row> {
    vec![
        row("who may not certify makes nothing", MADE, R::Authority, |s| {
            drawn(s);
            ("dan", make().into())
        }),
        row("a part is made to a drawing with revision", MADE, R::Data, |s| {
            drawn(s);
            ("ben", Make { revision: None, ..make() }.into())
        }),
        row("a part is made of a known batch", MADE, R::Conformity, |s| {
            drawn(s);
            ("ben", Make { batches: vec![], ..make() }.into())
        }),
        row("the batch was drawn for the card", MADE, R::Conformity, |s| {
            s.does("frank", batch(date(2032, 6, 1))).finished("J");
            ("ben", make().into())
        }),
        row("a made part is marked", MADE, R::Stated, |s| {
            drawn(s);
            ("ben", Make { mark: String::new(), ..make() }.into())
        }),
        row("the first one is checked", MADE, R::Stated, |s| {
            drawn(s);
            ("ben", Make { first: String::new(), ..make() }.into())
        }),
        row("a part is made on a card that is complete", MADE, R::Completion, |s| {
            s.does("frank", batch(date(2032, 6, 1))).begun("J");
            s.does("ben", Draw { batch: id("B-1"), job: job("J"), quantity: 0.5 });
            ("ben", make().into())
        }),
        row("a part that its report rejects is not made", MADE, R::Examination, |s| {
            drawn(s).does("ben", request("X-1"));
            s.does("dan", rejection("R-1", "F-9"));
            ("ben", Make { report: Some(id("R-1")), ..make() }.into())
        }),
        row("a part names a report that there is", MADE, R::Known, |s| {
            drawn(s);
            ("ben", Make { report: Some(id("R-1")), ..make() }.into())
        }),
    ]
}

pub(crate) fn rows() -> Vec<Row> {
    [register(), materials(), made()].into_iter().flatten().collect()
}

#[test]
fn repairs_keep_to_the_rules() {
    check(rows());
}

#[test]
fn the_register_knows_what_is_left() {
    let mut s = Scene::new();
    ready(&mut s).does("ben", repair("REP-1"));
    s.does(
        "ben",
        Repair { removed: false, limits: vec![], remains: vec![], ..repair("REP-2") },
    );
    let finding = id("F-1");
    let of: Vec<&str> =
        s.programme.shop.repairs.of(&finding).map(|(name, _)| name.as_str()).collect();
    assert_eq!(of, ["REP-1", "REP-2"]);
}

#[test]
fn what_was_made_here_is_new() {
    let mut s = Scene::new();
    drawn(&mut s).does("ben", make());
    let (origin, mark) = &s.programme.shop.office.origins[&id("PUMP-2")];
    assert_eq!((origin.origin, mark.by.as_str()), (Origin::NewMade, "ben"));
    let again: Act = make().into();
    assert_eq!(s.refusals("ben", &again), []);
}
