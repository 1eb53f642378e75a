//! Jobs that move from one plan to another: those that matter most at once, all of them on
//! request.

use app::{Matters, MovedJob, OtherDay};
use jiff::civil::DateTime;
use maud::{Markup, html};

use crate::links::link;

/// So many are shown at once.
const SHOWN: usize = 20;

/// Jobs that begin on another day than by the adopted plan.
pub(super) fn other_days(moved: &[OtherDay]) -> Markup {
    let heads = ["job", "why it matters", "by the adopted plan", "here", "days"];
    let row = |job: &OtherDay| {
        let (was, is) = job.begins;
        html! {
            td data-column="job" { span { (link("card", &job.job.0)) " " (job.name) } }
            (matters(job.matters))
            td data-column="by the adopted plan" { span { (was.date()) } }
            td data-column="here" { span { (is.date()) } }
            td.number data-column="days" { span { (signed(job.days())) } }
        }
    };
    html! {
        @if !moved.is_empty() {
            details { summary { "Jobs that begin on another day " span.count { (moved.len()) } }
                (listed("Jobs that begin on another day", &heads, moved, row)) }
        }
    }
}

/// Jobs that lie elsewhere in the second of two plans.
pub(super) fn jobs(moved: &[MovedJob]) -> Markup {
    let clock = |at: DateTime| at.strftime("%F %H:%M").to_string();
    let heads = ["job", "why it matters", "begins", "begins then", "days", "who"];
    let row = |job: &MovedJob| {
        html! {
            td data-column="job" { span { (link("card", &job.job)) " " (job.name) } }
            (matters(job.matters))
            td data-column="begins" { span { (clock(job.begins.0)) } }
            td data-column="begins then" { span { (clock(job.begins.1)) } }
            td.number data-column="days" { span { (signed(job.days)) } }
            td data-column="who" .blank[job.people.is_none()] { span {
                @if let Some((was, is)) = &job.people { (nobody(was)) " → " (nobody(is)) } } }
        }
    };
    listed("Jobs that move", &heads, moved, row)
}

fn nobody(people: &str) -> &str {
    if people.is_empty() { "nobody" } else { people }
}

fn matters(matters: Matters) -> Markup {
    let word = matters.word();
    html! {
        td data-column="why it matters" .blank[word.is_empty()] { span {
            @if !word.is_empty() { strong { (word) } } } }
    }
}

/// By how many days something is later; a sign stands before what is not nothing.
pub(super) fn signed(days: i32) -> String {
    if days == 0 { "0".to_owned() } else { format!("{days:+}") }
}

/// A table whose first rows are shown, and the others when they are asked for.
fn listed<T>(
    caption: &str,
    heads: &[&str],
    all: &[T],
    row: impl Fn(&T) -> Markup,
) -> Markup {
    let (first, rest) = all.split_at(all.len().min(SHOWN));
    let table = |rows: &[T], caption: &str| {
        html! {
            div.wide { table {
                caption.unseen { (caption) }
                thead { tr { @for head in heads { th scope="col" { (head) } } } }
                tbody { @for one in rows { tr { (row(one)) } } }
            } }
        }
    };
    html! {
        @if !first.is_empty() { (table(first, &format!("{caption}, what matters most first"))) }
        @if !rest.is_empty() {
            details { summary { "The others " span.count { (rest.len()) } }
                (table(rest, &format!("{caption}, the others"))) }
        }
    }
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

    fn moved(number: usize) -> OtherDay {
        let day = |day| date(2032, 1, day).at(8, 0, 0, 0);
        OtherDay {
            job: app::JobKey(format!("J-{number}")),
            name: "Strip".to_owned(),
            matters: Matters::Work,
            begins: (day(5), day(9)),
        }
    }

    #[test]
    fn every_job_is_listed_those_that_matter_most_at_once() {
        for (many, more) in [(0, 0), (1, 0), (SHOWN, 0), (SHOWN + 7, 7)] {
            let all: Vec<OtherDay> = (0..many).map(moved).collect();
            let page = other_days(&all).into_string();
            assert_eq!(page.matches("data-column=\"days\"").count(), many, "{many}");
            let told = format!("The others <span class=\"count\">{more}</span>");
            assert_eq!(page.contains(&told), more > 0, "{many}");
        }
    }

    #[test]
    fn days_have_a_sign_unless_there_are_none() {
        assert_eq!([-3, 0, 4].map(signed), ["-3", "0", "+4"]);
    }
}
