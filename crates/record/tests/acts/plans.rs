//! Plans that people work by.

use jiff::civil::datetime;
use record::RuleKey as R;
use record::act::{Adopt, DatedJob};

use crate::scene::{Scene, id, job};
use crate::table::{Row, check, row};

const PLAN: &str = "145.A.47(a): a system to plan people, tools, data and facilities";
const WHO: &str = "145.A.47, AMC: planning is somebody's task";

fn dated(name: &str) -> DatedJob {
    DatedJob {
        job: job(name),
        from: datetime(2032, 1, 15, 8, 0, 0, 0),
        until: datetime(2032, 1, 15, 12, 0, 0, 0),
        people: vec![id("ben")],
    }
}

fn adopt() -> Adopt {
    Adopt {
        season: id("S1"),
        complete: datetime(2032, 3, 1, 16, 0, 0, 0),
        earliest: None,
        reason: "the first".into(),
        problem: "3f0a".into(),
        engine: "an engine 1".into(),
        seed: 1,
        jobs: vec![dated("J")],
    }
}

pub(crate) fn rows() -> Vec<Row> {
    vec![
        row("a plan is adopted by whoever plans", WHO, R::Authority, |_| {
            ("dan", adopt().into())
        }),
        row("a plan is of a season that there is", PLAN, R::Known, |_| {
            ("ben", Adopt { season: id("S9"), ..adopt() }.into())
        }),
        row("a plan says why it is adopted", PLAN, R::Stated, |_| {
            ("ben", Adopt { reason: String::new(), ..adopt() }.into())
        }),
        row("a plan has jobs", PLAN, R::Stated, |_| {
            ("ben", Adopt { jobs: Vec::new(), ..adopt() }.into())
        }),
        row("a plan has each job once", PLAN, R::Known, |_| {
            ("ben", Adopt { jobs: vec![dated("J"), dated("J")], ..adopt() }.into())
        }),
        row("a planned job ends after it begins", PLAN, R::Stated, |_| {
            let early = datetime(2032, 1, 14, 8, 0, 0, 0);
            let job = DatedJob { until: early, ..dated("J") };
            ("ben", Adopt { jobs: vec![job], ..adopt() }.into())
        }),
        row("who is planned in is known", PLAN, R::Known, |_| {
            let job = DatedJob { people: vec![id("nobody")], ..dated("J") };
            ("ben", Adopt { jobs: vec![job], ..adopt() }.into())
        }),
    ]
}

#[test]
fn plans_are_adopted_in_order() {
    check(rows());
}

#[test]
fn the_last_one_counts_and_those_before_are_counted() {
    let mut scene = Scene::new();
    scene.does("ben", adopt());
    scene.does("ben", Adopt { reason: "a slip".into(), ..adopt() });
    let adopted = &scene.programme.shop.plans.adopted[&id("S1")];
    assert_eq!((adopted.plan.reason.as_str(), adopted.before), ("a slip", 1));
    assert_eq!(adopted.jobs()[&job("J")], &dated("J"));
}
