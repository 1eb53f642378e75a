//! Who may change what the lists of a programme say.

use jiff::civil::Date;

use crate::act::Power;
use crate::{Entry, PersonId, Programme, Refusal, RuleKey};

impl Programme {
    /// What forbids that somebody changes the programme's lists. Before the first authority
    /// is given, nothing does: somebody has to begin. After that it takes an authority to
    /// plan, and for what decides about gates, their requirements and the rules themselves,
    /// one to appoint.
    pub fn restate_refusals(
        &self,
        by: &str,
        on: Date,
        entries: &[Entry],
    ) -> Vec<Refusal> {
        let authorities = &self.shop.authorities;
        if authorities.given.is_empty() || entries.is_empty() {
            return Vec::new();
        }
        let person = PersonId::new(by).ok().filter(|person| self.people.has(person));
        let Some(person) = person else {
            let what = format!("`{by}` is nobody of the list of people");
            let hint = "say who loads it: `--by PERSON`, with an authority to plan";
            return vec![refusal(what, hint)];
        };
        let decides = |entry: &&Entry| {
            matches!(entry, Entry::Gate(_) | Entry::Requirement(_) | Entry::Rule(_))
        };
        let has = |power| authorities.covers(&person, power, None, on);
        let mut refusals = Vec::new();
        if let Some(entry) = entries.iter().find(decides).filter(|_| !has(Power::Appoint))
        {
            let (noun, name, _) = entry.about();
            let what = format!(
                "{person} has no authority to appoint, and {noun} {name} would change what a gate asks for"
            );
            refusals.push(refusal(what, "somebody who may appoint loads it"));
        }
        let plain = entries.iter().any(|entry| !decides(&entry));
        if plain && !has(Power::Plan) && !has(Power::Appoint) {
            let what = format!("{person} has no authority to plan");
            refusals.push(refusal(what, "somebody who may plan loads it"));
        }
        refusals
    }
}

fn refusal(what: String, hint: &str) -> Refusal {
    Refusal { rule: RuleKey::Authority, what, hint: hint.to_owned() }
}
