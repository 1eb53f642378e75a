//! Estimates held against what work of the same kind took.

use record::Programme;
use record::ratios::{FEWEST, Kind};

use crate::draft::{Draft, JobKind, Lasting};

impl Draft {
    /// Multiplies the hours of jobs that people do by what jobs of their kind took, measured
    /// against their estimates, where there are enough of them to say so; a sentence for each
    /// kind, with the ratio and on how many it rests, or that there are too few.
    pub fn measure(&mut self, programme: &Programme) -> Vec<String> {
        let measured = programme.measured_kinds();
        let mut sentences = Vec::new();
        for (kind, measured) in &measured {
            let what = kind.word();
            sentences.push(match measured.ratio() {
                Some(ratio) => format!(
                    "{what}: estimates times {ratio:.2}, by {} jobs that were measured",
                    measured.samples
                ),
                None => format!(
                    "{what}: estimates as they are, for only {} jobs were measured and {FEWEST} \
                     are needed",
                    measured.samples
                ),
            });
        }
        for job in &mut self.jobs {
            let kind =
                kind(job.kind, programme.jobs.names().any(|id| id.as_str() == job.key.0));
            let ratio = kind.and_then(|kind| measured.get(&kind)?.ratio());
            let Some(ratio) =
                ratio.filter(|_| matches!(job.lasting, Lasting::Worked { .. }))
            else {
                continue;
            };
            for way in &mut job.ways {
                let times = |minutes: i64| (minutes as f64 * ratio).round() as i64;
                let (low, likely, high) = way.minutes;
                way.minutes = (times(low), times(likely), times(high));
            }
        }
        sentences
    }
}

fn kind(kind: JobKind, written: bool) -> Option<Kind> {
    match kind {
        JobKind::Remove => Some(Kind::Removal),
        JobKind::Refit => Some(Kind::Refit),
        JobKind::Check => Some(Kind::Check),
        JobKind::Step(_) if written => Some(Kind::Written),
        JobKind::Step(step) => Some(Kind::Step(step)),
        JobKind::Despatch
        | JobKind::AtFirm
        | JobKind::Return
        | JobKind::Wait
        | JobKind::Begin
        | JobKind::Complete => None,
    }
}
