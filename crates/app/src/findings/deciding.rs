//! What can be decided about one finding, and what each decision would let the aircraft do.

use jiff::civil::Date;
use record::{Condition, FindingId, Gate, Programme};

use crate::sheets::ordered;

/// What can be decided about a finding.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Deciding {
    /// How it stands at each gate, in their order.
    pub gates: Vec<GateNow>,
    /// What can be signed.
    pub ways: Vec<Way>,
}

/// How a finding stands at a gate.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct GateNow {
    /// The gate.
    pub gate: String,
    /// What people call it.
    pub name: String,
    /// Why the finding stands before it; nothing if it does not.
    pub why: Option<String>,
}

/// Something that can be signed about a finding.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Way {
    /// What it says.
    pub says: String,
    /// The act, and the fields that it would have.
    pub act: (&'static str, Vec<(&'static str, String)>),
    /// The gates that the finding would then let the aircraft pass, if all else is clear.
    pub passes: Vec<String>,
    /// The gates before which it would still stand.
    pub before: Vec<String>,
}

/// What can be decided about a finding on a day; nothing if there is no such finding.
pub fn deciding(programme: &Programme, finding: &str, on: Date) -> Option<Deciding> {
    let id = FindingId::new(finding).ok().filter(|id| programme.has_finding(id))?;
    let gates = ordered(programme);
    let now = gates.iter().map(|gate| GateNow {
        gate: gate.id.to_string(),
        name: gate.name.clone(),
        why: programme.before_gate(&id, gate, on).map(|block| block.what),
    });
    let state = programme.shop.findings.states.get(&id);
    let cleared = state.is_some_and(record::shop::FindingState::is_cleared);
    let class = state.and_then(|state| state.class.as_ref());
    let known = class.filter(|class| class.condition != Condition::Unknown);
    let mut ways = Vec::new();
    if cleared {
        let says = "Open it again: what was known of it turned out to be wrong";
        ways.push(way(&gates, says.to_owned(), ("revive", finding), &[], Passes::None));
        return Some(Deciding { gates: now.collect(), ways });
    }
    classing(&gates, finding, &mut ways);
    if let Some(class) = known.filter(|class| class.condition != Condition::Hazard) {
        let most = class.allows.as_ref().and_then(|gate| programme.gates.get(gate));
        let may = gates.iter().filter(|gate| most.is_some_and(|m| gate.order <= m.order));
        let highest = may.last();
        if let Some(gate) = highest {
            let says = format!(
                "Carry it forward to a later season, under a limitation, up to {} at most",
                gate.name
            );
            let fields = [("allows", gate.id.to_string())];
            ways.push(way(&gates, says, ("defer", finding), &fields, Passes::UpTo(gate)));
        }
    }
    let says = "Give it a pack and a route: the season in which it is put right, and how";
    let still = known.and_then(|class| class.allows.as_ref());
    let still = still.and_then(|gate| programme.gates.get(gate));
    let passes = still.map_or(Passes::None, Passes::UpTo);
    ways.push(way(&gates, says.to_owned(), ("assign", finding), &[], passes));
    if known.is_some() {
        let says = "Clear it: it was put right, or is accepted as it is";
        ways.push(way(&gates, says.to_owned(), ("clear", finding), &[], Passes::All));
    }
    Some(Deciding { gates: now.collect(), ways })
}

/// Each class with each gate that it may allow.
fn classing(gates: &[&Gate], finding: &str, ways: &mut Vec<Way>) {
    let class = |condition: Condition, allows: Option<&Gate>| {
        let mut fields = vec![("condition", condition.word().to_owned())];
        fields.extend(allows.map(|gate| ("allows", gate.id.to_string())));
        fields
    };
    if let Some(last) = gates.last() {
        let fields = class(Condition::WithinLimits, Some(last));
        let says = format!(
            "Class it as within limits: it allows every gate up to {}",
            last.name
        );
        ways.push(way(gates, says, ("classify", finding), &fields, Passes::All));
    }
    for gate in gates.iter().rev() {
        let fields = class(Condition::OutsideLimits, Some(gate));
        let says = format!("Class it as outside limits: it allows {} at most", gate.name);
        ways.push(way(gates, says, ("classify", finding), &fields, Passes::UpTo(gate)));
    }
    let fields = class(Condition::OutsideLimits, None);
    let says = "Class it as outside limits: it allows no gate until it is put right";
    ways.push(way(gates, says.to_owned(), ("classify", finding), &fields, Passes::None));
    let fields = class(Condition::Hazard, None);
    let says = "Class it as a hazard: it allows no gate and can't wait";
    ways.push(way(gates, says.to_owned(), ("classify", finding), &fields, Passes::None));
}

enum Passes<'a> {
    All,
    UpTo(&'a Gate),
    None,
}

fn way(
    gates: &[&Gate],
    says: String,
    (word, finding): (&'static str, &str),
    fields: &[(&'static str, String)],
    passes: Passes<'_>,
) -> Way {
    let free = |gate: &Gate| match &passes {
        Passes::All => true,
        Passes::UpTo(most) => gate.order <= most.order,
        Passes::None => false,
    };
    let (passes, before): (Vec<&Gate>, Vec<&Gate>) =
        gates.iter().copied().partition(|gate| free(gate));
    let names =
        |gates: Vec<&Gate>| gates.iter().map(|gate| gate.id.to_string()).collect();
    let own = [("finding", finding.to_owned())];
    let fields = own.into_iter().chain(fields.iter().cloned()).collect();
    Way { says, act: (word, fields), passes: names(passes), before: names(before) }
}
