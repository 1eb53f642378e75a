//! Acts of people at a small invented aircraft: what is refused and by which rule, and how
//! one item goes from the survey to a signed gate.
//!
//! Each refusal names the published rule that asks for it. These names say where the rule
//! was taken from; whether it binds a workshop is for its own profile to say. Rows marked
//! *practice* rest on common practice, without a source.

#![expect(clippy::unwrap_used, reason = "a helper of a test fails as the test does")]
#![expect(clippy::too_many_lines, reason = "a table is as long as its rows")]

mod air;
mod balance;
mod cards;
mod corrections;
mod examinations;
mod findings;
mod gates;
mod inspections;
mod invariants;
mod office;
mod parts;
mod people;
mod plans;
mod ratios;
mod repairs;
mod retention;
mod scene;
mod stores;
mod story;
mod table;

/// The table is as long as it must be.
#[test]
fn there_are_at_least_a_hundred_and_twenty_refusals() {
    let rows = [
        people::rows().len(),
        repairs::rows().len(),
        retention::rows().len(),
        cards::rows().len(),
        inspections::rows().len(),
        examinations::rows().len(),
        findings::rows().len(),
        parts::rows().len(),
        stores::rows().len(),
        air::rows().len(),
        gates::rows().len(),
        office::rows().len(),
        plans::rows().len(),
        corrections::rows().len(),
    ];
    assert!(rows.iter().sum::<usize>() >= 120, "{rows:?}");
}
