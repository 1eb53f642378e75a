//! The time chart for a screen: still, and as data.

#[path = "support/season.rs"]
mod season;

use charts::{Beside, Window, still, timeline_json};
use jiff::civil::date;

fn link(key: &str) -> String {
    format!("?job={key}&lanes=\"x\"#job")
}

#[test]
fn a_still_chart_shows_the_jobs_of_its_days_and_links_each() {
    let view = season::season();
    let whole = Window::whole(&view);
    let all = still(&view, 0, whole, Some("J3"), &link);
    for job in &view.jobs {
        assert!(
            all.contains(&format!("?job={}&amp;lanes=&quot;x&quot;#job", job.key)),
            "{}",
            job.key
        );
    }
    assert!(all.contains(" on\"") && !all.contains(" style="));
    // The first two jobs run from the first day to the fourth, the next two a week later.
    let week = Window { from: season::FIRST, until: date(2032, 1, 9) };
    let some = still(&view, 0, week, None, &link);
    assert!(
        some.contains("?job=J0") && some.contains("?job=J1") && !some.contains("?job=J2")
    );
    assert_eq!(still(&view, 99, whole, None, &link), "");
}

#[test]
fn a_still_chart_of_too_many_jobs_counts_them() {
    let jobs = (0..900_i64).map(|n| {
        season::job(&format!("J{n}"), "x", charts::JobKind::Check, (n % 60, n % 60 + 1))
    });
    let view = season::of_jobs(jobs.collect());
    let all = still(&view, 0, Window::whole(&view), None, &link);
    assert!(all.contains("900 jobs") && !all.contains("?job="), "{all}");
    assert!(all.len() < 40_000, "{}", all.len());
}

#[test]
fn the_data_has_every_job_once_and_bars_of_their_own_length() {
    let mut view = season::season();
    view.jobs[0].name = "a \"quoted\"\nname\\".to_owned();
    view.today = Some(date(2032, 1, 7));
    let was = (season::at(1, 8), season::at(2, 16));
    let mut beside = Beside { of: "the adopted plan".to_owned(), ..Beside::default() };
    beside.was.insert("J2".to_owned(), was);
    beside.hours[0] = vec![(480, 960)];
    beside.begun.insert("J1".to_owned());
    let data = timeline_json(&view, &beside);
    for part in [
        "\"from\":\"2032-01-05\"",
        "\"today\":2880",
        "\"hours\":[[[480,960]],[],",
        "a \\\"quoted\\\" name\\\\",
        "\"was\":[0,0,[1920,1920],0",
        // Done and begun is 2 + 4; what sets the date is 1.
        "\"flags\":[0,6,0,1,",
        // A job that is in no plan is nobody's forerunner.
        "\"after\":[[],[],[],[],[3],",
    ] {
        assert!(data.contains(part), "{part}: {data}");
    }
    assert_eq!(data, timeline_json(&view, &beside));
}

#[test]
fn three_thousand_jobs_are_little_data() {
    let jobs = (0..3_000_i64).map(|n| {
        season::job(
            &format!("GEN-{n:04}"),
            "Inspect fasteners of frame",
            charts::JobKind::Check,
            (n % 150, n % 150 + 1),
        )
    });
    let data = timeline_json(&season::of_jobs(jobs.collect()), &Beside::default());
    assert!(data.len() < 400_000, "{}", data.len());
}
