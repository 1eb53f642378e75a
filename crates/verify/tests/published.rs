//! Schedules of published instances, against their published optima.

use timetable::instance::{Instance, parse};
use timetable::{Assignment, Measures, ModeId, Schedule, Tick};
use verify::{Rule, check};

const J301: &str = include_str!("../../timetable/tests/data/j301_1.sm");
const M11: &str = include_str!("../../timetable/tests/data/m11_1.mm");

/// Starts in file order, dummies included, as computed once with OR-Tools CP-SAT 9.15
/// (single worker, proven optimal).
const J301_STARTS: [Tick; 32] = [
    0, 4, 0, 0, 12, 31, 4, 4, 10, 6, 12, 13, 4, 15, 12, 13, 23, 10, 18, 21, 29, 29, 36,
    38, 28, 21, 15, 35, 28, 41, 38, 43,
];

/// Likewise, with the renewable resources alone.
const M11_STARTS: [Tick; 18] =
    [0, 0, 0, 7, 2, 11, 7, 7, 2, 11, 18, 16, 27, 27, 30, 30, 36, 40];

fn schedule(instance: &Instance, starts: &[Tick]) -> Schedule {
    let skipped = usize::from(instance.dummies.opening);
    let tasks = instance.problem.tasks().iter().zip(&starts[skipped..]);
    let runs = tasks.map(|(task, &start)| Assignment {
        mode: ModeId(0),
        start,
        finish: start + task.modes[0].work,
    });
    Schedule { assignments: runs.collect() }
}

#[test]
fn a_lawful_schedule_has_the_published_length() {
    // 43 is the optimum of j301_1 in the table of optima that PSPLIB publishes.
    for (name, text, starts, length) in
        [("sm", J301, &J301_STARTS[..], 43), ("mm", M11, &M11_STARTS[..], 40)]
    {
        let instance = parse(name, text).unwrap();
        let schedule = schedule(&instance, starts);
        assert_eq!(check(&instance.problem, &schedule), []);
        assert_eq!(Measures::of(&instance.problem, &schedule).length, length);
        assert_eq!(instance.starts(&schedule), starts);
    }
}

#[test]
fn moving_a_job_by_a_tick_is_noticed_for_what_it_breaks() {
    // Jobs of a shortest schedule are held by other jobs or by resources. Whatever is moved
    // from where it is held must be noticed, with the reason that fits.
    let instance = parse("sm", J301).unwrap();
    let lawful = schedule(&instance, &J301_STARTS);
    let mut reasons = [0, 0];
    for task in 0..lawful.assignments.len() {
        for shift in [-1, 1] {
            let mut moved = lawful.clone();
            moved.assignments[task].start += shift;
            moved.assignments[task].finish += shift;
            for note in check(&instance.problem, &moved) {
                match note.rule {
                    Rule::LeastLag { found: -1, .. } => reasons[0] += 1,
                    Rule::CapacityExceeded { used, capacity, .. } => {
                        assert!(used > u64::from(capacity));
                        reasons[1] += 1;
                    }
                    Rule::BeforeOrigin { start: -1, .. } => {}
                    _ => panic!("{note}"),
                }
            }
        }
    }
    assert!(reasons.iter().all(|&count| count >= 10), "{reasons:?}");
}
