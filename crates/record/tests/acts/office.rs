//! Letters, directives, modifications, samples, duties, money.

use jiff::civil::date;
use quantity::{Currency, Money};
use record::act::{
    Directive, DirectiveState as D, Duty, DutyDone, Letter, LifeUnit, Modification,
    MoneyKind, Origin, Provenance, Sample, Sampled, Spend, Total, Use, Verdict,
};
use record::{Act, Pack, RuleKey as R};

use crate::scene::{Scene, TODAY, id, job, open, tag};
use crate::table::{Row, check, row};

const DIRECTIVE: &str =
    "AMC M.A.305(c)1: status of directives, with the reason why one does not apply";
const APPROVED: &str = "ANO 2016 art 41: no modification or repair without approval";
const SAMPLE: &str = "AC 91-82A: structural inspection by sample, expanded on a finding";
const SERVICE: &str = "AMC M.A.305(c)3: tasks with last and next done, in the right unit";
const TOTAL: &str = "AMC M.A.305(g): lost records, best estimate of time in service";
const MONEY: &str = "practice: estimate, commitment and payment are kept apart";

fn letter(name: &str) -> Letter {
    Letter {
        letter: id(name),
        with: "the authority".into(),
        sent: true,
        on: TODAY,
        reference: "L/4".into(),
        subject: "survey of the hull".into(),
        answers: None,
        due: None,
    }
}

fn directive(state: D) -> Directive {
    Directive {
        directive: id("D-1"),
        source: "an invented one, revision 2".into(),
        subject: "look at the lugs".into(),
        state,
        method: Some("by eddy current".into()),
        job: Some(job("J")),
        due: None,
    }
}

fn modification() -> Modification {
    Modification {
        modification: id("M-1"),
        item: id("PUMP"),
        what: "a bracket of 2 mm instead of 1.6 mm".into(),
        data: "drawing 7 issue 2".into(),
        approval: "the authority, letter L/5".into(),
        job: job("J"),
    }
}

fn sample(size: u32) -> Sample {
    let (of, basis) = ("rivets of the step lap".into(), "report 3".into());
    Sample { sample: id("S-1"), of, all: 5, size, basis }
}

fn sampled(which: &str, verdict: Verdict) -> Sampled {
    let (which, reference) = (which.into(), "report 4".into());
    Sampled { sample: id("S-1"), which, verdict, reference }
}

fn duty(every: f64, unit: LifeUnit) -> Duty {
    let (what, source) = ("change the oil".into(), "the schedule, task 3".into());
    Duty { duty: id("OIL"), what, item: None, every, unit, source }
}

fn ran(amount: f64) -> Use {
    let (unit, what) = (LifeUnit::EngineHours, "ground run".into());
    Use { items: vec![], amount, unit, what, on: TODAY }
}

fn total(amount: f64) -> Total {
    let (basis, confidence) = ("log 1".into(), "to 80 h".into());
    Total { unit: LifeUnit::EngineHours, amount, basis, confidence }
}

fn spend(minor: i64, code: &str) -> Act {
    Spend {
        pack: id("HULL-WORK"),
        season: id("S1"),
        kind: MoneyKind::Payment,
        amount: Money::from_minor(minor, Currency::new(code).unwrap()),
        what: "rivets".into(),
    }
    .into()
}

fn with_pack(scene: &mut Scene) -> &mut Scene {
    let pack = Pack {
        id: id("HULL-WORK"),
        name: "Hull".into(),
        season: None,
        gate: None,
        off: vec![],
        exposed: vec![],
    };
    scene.programme.packs = [pack].into_iter().collect();
    scene
}

fn papers() -> Vec<Row> {
    vec![
        row("a letter has a name of its own", MONEY, R::Known, |s| {
            s.does("ben", letter("L-1"));
            ("ben", letter("L-1").into())
        }),
        row("a letter says what it is about", MONEY, R::Stated, |_| {
            ("ben", Letter { subject: " ".into(), ..letter("L-1") }.into())
        }),
        row("a letter answers one that there is", MONEY, R::Known, |_| {
            ("ben", Letter { answers: Some(id("L-0")), ..letter("L-1") }.into())
        }),
        row("an answer is not due before the letter", MONEY, R::Stated, |_| {
            ("ben", Letter { due: Some(date(2031, 1, 1)), ..letter("L-1") }.into())
        }),
        row(
            "who may not certify says nothing of directives",
            DIRECTIVE,
            R::Authority,
            |_| {
                let (method, job) = (None, None);
                ("dan", Directive { method, job, ..directive(D::Open) }.into())
            },
        ),
        row("a directive does not apply for a reason", DIRECTIVE, R::Directive, |_| {
            let (method, job) = (Some(" ".into()), None);
            ("ben", Directive { method, job, ..directive(D::NotApplicable) }.into())
        }),
        row("a directive is met on a card", DIRECTIVE, R::Directive, |_| {
            ("ben", Directive { job: None, ..directive(D::Met) }.into())
        }),
        row(
            "a directive is met on a card that is complete",
            DIRECTIVE,
            R::Directive,
            |s| {
                s.begun("J");
                ("ben", directive(D::Met).into())
            },
        ),
        row("a directive that is due again has a day", DIRECTIVE, R::Directive, |s| {
            s.finished("J");
            ("ben", directive(D::Repeating).into())
        }),
        row(
            "a directive that is overdue keeps gates shut",
            "AMC 145.A.50(a): an overdue directive",
            R::Directive,
            |s| {
                s.does("ben", tag("DINGHY")).survey_cleared().proven();
                let (method, job, due) = (None, None, Some(date(2032, 1, 10)));
                s.does("ben", Directive { method, job, due, ..directive(D::Open) });
                ("gina", open("run").into())
            },
        ),
        row("a modification is approved", APPROVED, R::Approval, |s| {
            s.finished("J");
            ("ben", Modification { approval: String::new(), ..modification() }.into())
        }),
        row("a modification follows data", APPROVED, R::Approval, |s| {
            s.finished("J");
            ("ben", Modification { data: " ".into(), ..modification() }.into())
        }),
        row(
            "a modification is done on a card that is complete",
            APPROVED,
            R::Approval,
            |s| {
                s.begun("J");
                ("ben", modification().into())
            },
        ),
        row(
            "an origin is shown by something",
            "CAA page: identity by plate or published evidence",
            R::Stated,
            |_| {
                let (item, evidence) = (id("PUMP"), String::new());
                ("ben", Provenance { item, origin: Origin::Donor, evidence }.into())
            },
        ),
    ]
}

fn counting() -> Vec<Row> {
    vec![
        row("only an engineer chooses a sample", SAMPLE, R::Authority, |_| {
            ("ben", sample(2).into())
        }),
        row("a sample is some of all", SAMPLE, R::Stated, |_| ("gina", sample(6).into())),
        row("who may not inspect looks at no sample", SAMPLE, R::Authority, |s| {
            s.does("gina", sample(2));
            ("ben", sampled("1", Verdict::Pass).into())
        }),
        row("one is looked at once", SAMPLE, R::Known, |s| {
            s.does("gina", sample(2)).does("dan", sampled("1", Verdict::Fail));
            ("dan", sampled("1", Verdict::Pass).into())
        }),
        row("a sample that is not done keeps gates shut", SAMPLE, R::Sampling, |s| {
            s.does("ben", tag("DINGHY")).survey_cleared().proven();
            s.does("gina", sample(2)).does("dan", sampled("1", Verdict::Pass));
            ("gina", open("run").into())
        }),
        row("one that fails widens the sample to all", SAMPLE, R::Sampling, |s| {
            s.does("ben", tag("DINGHY")).survey_cleared().proven();
            s.does("gina", sample(2)).does("dan", sampled("1", Verdict::Pass));
            s.does("dan", sampled("2", Verdict::Fail));
            ("gina", open("run").into())
        }),
        row("only an engineer sets up what is due", SERVICE, R::Authority, |_| {
            ("ben", duty(25.0, LifeUnit::EngineHours).into())
        }),
        row("what is due is due after something", SERVICE, R::Stated, |_| {
            ("gina", duty(0.0, LifeUnit::Days).into())
        }),
        row("what is due is done on a card that is complete", SERVICE, R::Service, |s| {
            s.does("gina", duty(25.0, LifeUnit::EngineHours)).begun("J");
            ("ben", DutyDone { duty: id("OIL"), job: job("J") }.into())
        }),
        row("what is overdue keeps gates shut", SERVICE, R::Service, |s| {
            s.does("ben", tag("DINGHY")).survey_cleared().proven();
            s.does("gina", duty(25.0, LifeUnit::EngineHours)).does("ben", ran(25.5));
            ("gina", open("run").into())
        }),
        row("a total rests on something", TOTAL, R::Reconstruction, |_| {
            ("ben", Total { basis: " ".into(), ..total(1500.0) }.into())
        }),
        row("a total says how sure it is", TOTAL, R::Reconstruction, |_| {
            ("ben", Total { confidence: String::new(), ..total(1500.0) }.into())
        }),
        row("a total is an amount", TOTAL, R::Stated, |_| ("ben", total(-1.0).into())),
        row("a total is not counted in days", TOTAL, R::Stated, |_| {
            ("ben", Total { unit: LifeUnit::Days, ..total(1.0) }.into())
        }),
        row("who may not certify states no total", TOTAL, R::Authority, |_| {
            ("dan", total(1500.0).into())
        }),
        row("money is in the programme's currency", MONEY, R::Stated, |s| {
            with_pack(s);
            ("ben", spend(100, "GBP"))
        }),
        row("money is for a pack that there is", MONEY, R::Known, |_| {
            ("ben", spend(100, "EUR"))
        }),
        row("who may not plan counts no money", MONEY, R::Authority, |s| {
            with_pack(s);
            ("dan", spend(100, "EUR"))
        }),
    ]
}

pub(crate) fn rows() -> Vec<Row> {
    [papers(), counting()].into_iter().flatten().collect()
}

#[test]
fn the_office_keeps_to_the_rules_too() {
    check(rows());
}

#[test]
fn a_sample_is_done_when_all_that_are_wanted_were_seen() {
    let mut scene = Scene::new();
    scene.does("gina", sample(2));
    let done = |scene: &Scene| scene.programme.shop.office.samples[&id("S-1")].is_done();
    scene.does("dan", sampled("1", Verdict::Pass));
    assert!(!done(&scene));
    scene.does("dan", sampled("2", Verdict::Pass));
    assert!(done(&scene));
    scene.does("dan", sampled("3", Verdict::Fail));
    assert!(!done(&scene));
    scene
        .does("dan", sampled("4", Verdict::Pass))
        .does("dan", sampled("5", Verdict::Pass));
    assert!(done(&scene));
}

#[test]
fn what_is_due_counts_from_when_it_was_done() {
    let mut scene = Scene::new();
    scene.does("gina", duty(25.0, LifeUnit::EngineHours)).does("ben", ran(20.0));
    let left = |scene: &Scene| {
        let office = &scene.programme.shop.office;
        let count = office.count(LifeUnit::EngineHours);
        office.duties[&id("OIL")].left(count, scene.at.date())
    };
    assert_eq!(left(&scene), 5.0);
    scene.finished("J").does("ben", DutyDone { duty: id("OIL"), job: job("J") });
    assert_eq!(left(&scene), 25.0);
}

#[test]
fn a_total_is_not_known_until_somebody_states_what_was_before() {
    let mut scene = Scene::new();
    let all = |scene: &Scene| scene.programme.shop.office.total(LifeUnit::EngineHours);
    scene.does("ben", ran(2.5));
    assert_eq!(all(&scene), None);
    scene.does("ben", total(1500.0)).does("ben", ran(1.0));
    assert_eq!(all(&scene), Some(1503.5));
    scene.does("ben", total(1600.0));
    assert_eq!(all(&scene), Some(1603.5));
}

#[test]
fn money_adds_up() {
    let mut scene = Scene::new();
    with_pack(&mut scene)
        .does("ben", spend(1_250, "EUR"))
        .does("ben", spend(-250, "EUR"));
    let key = (id("HULL-WORK"), id("S1"), MoneyKind::Payment);
    assert_eq!(scene.programme.shop.office.money[&key].minor(), 1_000);
    let most = scene.refusals("ben", &spend(i64::MAX, "EUR"));
    assert_eq!(most[0].rule, R::Stated);
}
