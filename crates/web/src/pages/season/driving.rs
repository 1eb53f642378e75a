//! What sets the date of a plan, job by job in words.

use app::{DrivingJob, SeasonPlan};
use maud::{Markup, html};

use super::chart::moment;
use crate::links::link;

/// The jobs that set the date of a plan, on its page.
pub(super) fn section(planned: &SeasonPlan) -> Markup {
    let chain = app::driving(planned);
    html! {
        @if !chain.is_empty() {
            details #driving {
                summary { "What sets the date, and what would bring it forward "
                    span.count { (chain.len()) } }
                p { "Each of these jobs waits for the one before it, up to the last: where one of them is \
                    late, the aircraft is late. What is gained on one brings the date forward until other \
                    jobs set it: try it below." }
                (told(&chain, &[], ""))
            }
        }
    }
}

/// Jobs that set a date, in order; those that are not `among` others are marked with a word.
pub(super) fn told(chain: &[DrivingJob], among: &[DrivingJob], word: &str) -> Markup {
    let known = |job: &DrivingJob| among.iter().any(|other| other.job == job.job);
    html! {
        ol.driving { @for job in chain { li {
            p {
                (link("card", &job.job)) " " strong { (job.name) } ", "
                (moment(job.when.0))
                @if job.when.1 > job.when.0 { " to " (moment(job.when.1)) }
                @if !word.is_empty() && !known(job) { " " strong.flag { "(" (word) ")" } }
            }
            @if !job.why.is_empty() { p { "Why then: " (job.why) "." } }
            @if !job.forward.is_empty() { p.why { "Sooner by: " (job.forward.join("; ")) "." } }
        } } }
    }
}
