//! Rules to start from.

use quantity::{Estimate, Id, Work};

use crate::{CheckRule, CheckScope, CheckTrigger, ConnectionKind, Crew, SkillId};
use ConnectionKind::{
    Coolant, Electrical, EngineControl, Firewall, FlightControl, Fuel, Hydraulic, Oil,
    Pneumatic, Structural,
};

/// One line of the starter set.
struct Line {
    id: &'static str,
    name: &'static str,
    connections: &'static [ConnectionKind],
    vital: bool,
    scope: CheckScope,
    independent: bool,
    skill: &'static str,
    /// Quarters of an hour: low, likely, high.
    quarters: [i64; 3],
    after: &'static [&'static str],
}

impl Line {
    const fn leak(
        id: &'static str,
        name: &'static str,
        connections: &'static [ConnectionKind],
    ) -> Self {
        Self {
            id,
            name,
            connections,
            vital: false,
            scope: CheckScope::Connection,
            independent: false,
            skill: "fitter",
            quarters: [1, 2, 4],
            after: &[],
        }
    }
}

/// The starter set. Common practice of the trade; names, crews and hours are ours.
const LINES: [Line; 15] = [
    Line::leak("LEAK-FUEL", "Leak check, fuel", &[Fuel]),
    Line::leak("LEAK-OIL", "Leak check, oil", &[Oil]),
    Line::leak("LEAK-COOLANT", "Leak check, coolant", &[Coolant]),
    Line::leak("LEAK-HYDRAULIC", "Pressure and leak check, hydraulic", &[Hydraulic]),
    Line::leak("LEAK-PNEUMATIC", "Leak check, pneumatic", &[Pneumatic]),
    Line::leak("FUNCTION-ELECTRICAL", "Function check, electrical", &[Electrical]),
    Line {
        quarters: [2, 4, 8],
        ..Line::leak("TORQUE", "Torque and locking inspection", &[Structural])
    },
    Line::leak("FIREWALL", "Firewall sealing check", &[Firewall]),
    Line {
        quarters: [2, 4, 8],
        ..Line::leak(
            "RANGE-FLIGHT",
            "Range and sense of movement, flight control",
            &[FlightControl],
        )
    },
    Line {
        quarters: [1, 2, 4],
        ..Line::leak(
            "RANGE-ENGINE",
            "Range and sense of movement, engine control",
            &[EngineControl],
        )
    },
    Line {
        independent: true,
        skill: "inspector",
        quarters: [1, 2, 4],
        after: &["RANGE-FLIGHT", "RANGE-ENGINE"],
        ..Line::leak(
            "SECOND-CONTROL",
            "Independent inspection, control",
            &[FlightControl, EngineControl],
        )
    },
    Line {
        independent: true,
        skill: "inspector",
        vital: true,
        scope: CheckScope::Item,
        after: &["TORQUE"],
        ..Line::leak("SECOND-VITAL", "Independent inspection, vital item", &[])
    },
    Line {
        independent: true,
        skill: "inspector",
        vital: true,
        after: &["TORQUE"],
        ..Line::leak(
            "SECOND-JOINT",
            "Independent inspection, joint of a vital item",
            &[Structural],
        )
    },
    Line {
        skill: "engine",
        scope: CheckScope::Unit,
        quarters: [4, 8, 16],
        after: &[
            "LEAK-FUEL",
            "LEAK-OIL",
            "LEAK-COOLANT",
            "RANGE-ENGINE",
            "SECOND-CONTROL",
            "SECOND-VITAL",
            "FIREWALL",
            "TORQUE",
            "FUNCTION-ELECTRICAL",
        ],
        ..Line::leak("RUN", "Engine run", &[Fuel, Oil, Coolant, EngineControl])
    },
    Line {
        quarters: [1, 2, 3],
        after: &["RUN"],
        scope: CheckScope::Unit,
        ..Line::leak(
            "LEAK-AFTER-RUN",
            "Leak inspection after engine run",
            &[Fuel, Oil, Coolant, EngineControl],
        )
    },
];

/// A set of rules to start from, to be edited: leak, function, range and sense, torque,
/// sealing, independent inspection, engine run.
///
/// The skills that it names are `fitter`, `inspector` and `engine`. That such checks follow
/// such disturbances is common practice; crews and hours are modest guesses; the approved data
/// of the type and the authority's rules come first.
pub fn starter_rules() -> Vec<CheckRule> {
    LINES.iter().filter_map(rule).collect()
}

/// Nothing only if a name of the table could not be a name, which a test excludes.
fn rule(line: &Line) -> Option<CheckRule> {
    let [low, likely, high] = line.quarters.map(|q| Work::from_minutes(q * 15));
    let skill = SkillId::new(line.skill).ok()?;
    Some(CheckRule {
        id: Id::new(line.id).ok()?,
        name: line.name.to_owned(),
        trigger: CheckTrigger {
            connections: line.connections.to_vec(),
            vital: line.vital,
            ..CheckTrigger::default()
        },
        scope: line.scope,
        independent: line.independent,
        crew: vec![Crew { count: 1, skill }],
        hours: Estimate::new(low, likely, high).ok()?,
        after: line.after.iter().filter_map(|id| Id::new(id).ok()).collect(),
        source: Some("Common practice".to_owned()),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_line_is_a_rule() {
        let rules = starter_rules();
        assert_eq!(rules.len(), LINES.len());
        for (rule, line) in rules.iter().zip(&LINES) {
            assert_eq!(rule.after.len(), line.after.len(), "{}", line.id);
        }
    }
}
