//! A small folder to start from.

use record::{Basis, RuleKey};

/// The files of a commented folder, by name: an invented aircraft with one zone, three
/// items, a drawing, one finding, one pack, two people and a season; and, as a starting point that
/// cites nothing, gates with what they ask for, the rules, and how long records are kept. It
/// reads without a warning.
pub fn skeleton() -> Vec<(String, String)> {
    let files = [
        ("programme.toml", include_str!("skeleton/programme.toml")),
        ("gates.toml", include_str!("skeleton/gates.toml")),
        ("skills.toml", include_str!("skeleton/skills.toml")),
        ("zones.toml", include_str!("skeleton/zones.toml")),
        ("stands.toml", include_str!("skeleton/stands.toml")),
        ("places.toml", include_str!("skeleton/places.toml")),
        ("items.csv", include_str!("skeleton/items.csv")),
        ("connections.csv", include_str!("skeleton/connections.csv")),
        ("checks.toml", include_str!("skeleton/checks.toml")),
        ("people.csv", include_str!("skeleton/people.csv")),
        ("routes.toml", include_str!("skeleton/routes.toml")),
        ("seasons.toml", include_str!("skeleton/seasons.toml")),
        ("packs.csv", include_str!("skeleton/packs.csv")),
        ("findings.csv", include_str!("skeleton/findings.csv")),
        ("requirements.csv", include_str!("skeleton/requirements.csv")),
        ("retention.csv", include_str!("skeleton/retention.csv")),
        ("outlines.csv", include_str!("skeleton/outlines.csv")),
    ];
    let files = files.map(|(name, content)| (name.to_owned(), content.to_owned()));
    files.into_iter().chain([("rules.csv".to_owned(), rules())]).collect()
}

/// Every rule with what it says, adopted, so that none is forgotten when they are agreed.
fn rules() -> String {
    let head = include_str!("skeleton/rules.csv");
    let basis = Basis::Adopted.word();
    let each = RuleKey::ALL
        .map(|rule| format!("# {}.\n{},{basis},,\n", rule.says(), rule.word()));
    format!("{head}id,basis,citation,note\n{}", each.concat())
}
