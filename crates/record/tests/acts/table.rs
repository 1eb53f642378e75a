//! Rows of refusals.

use std::collections::BTreeSet;

use record::{Act, RuleKey};

use crate::scene::Scene;

/// Brings a scene to where an act is refused, and gives that act with its signer.
type Attempt = Box<dyn Fn(&mut Scene) -> (&'static str, Act)>;

/// An act that must be refused by one rule, and by no other.
pub(crate) struct Row {
    pub(crate) name: &'static str,
    /// The published rule that asks for it.
    pub(crate) source: &'static str,
    pub(crate) rule: RuleKey,
    pub(crate) act: Attempt,
}

pub(crate) fn row(
    name: &'static str,
    source: &'static str,
    rule: RuleKey,
    act: impl Fn(&mut Scene) -> (&'static str, Act) + 'static,
) -> Row {
    Row { name, source, rule, act: Box::new(act) }
}

/// Each row is refused by its rule alone, in words that say what and what to do; and
/// nothing of the scene changes by it.
pub(crate) fn check(rows: Vec<Row>) {
    let mut names = BTreeSet::new();
    for Row { name, source, rule, act } in rows {
        assert!(names.insert(name), "two rows are called {name}");
        assert!(!source.is_empty(), "{name} has no source");
        let mut scene = Scene::new();
        let (who, act) = act(&mut scene);
        let before = scene.programme.clone();
        let refusals = scene.refusals(who, &act);
        let rules: BTreeSet<RuleKey> = refusals.iter().map(|r| r.rule).collect();
        assert_eq!(rules, BTreeSet::from([rule]), "{name}: {refusals:#?}");
        for refusal in refusals {
            assert!(refusal.what.len() > 8 && refusal.hint.len() > 3, "{refusal:?}");
            assert!(!refusal.what.ends_with('.'), "{refusal:?}");
        }
        assert_eq!(scene.programme, before, "{name}");
    }
}
