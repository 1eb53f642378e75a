//! Settings that are kept beside the record: how somebody wants to see things, second
//! factors, tokens, links. They are no part of the record, and nothing is folded from them.

use std::collections::BTreeMap;

use ledger::{SettingKey, Store};

use crate::AppError;

pub use ledger::Change;

/// All settings as they stood at a moment.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Settings {
    pub(crate) changes: u64,
    all: BTreeMap<SettingKey, String>,
}

impl Settings {
    /// Those of a ledger.
    pub(crate) fn read(store: &dyn Store) -> Result<Self, AppError> {
        let changes = store.setting_changes().map_err(AppError::Ledger)?;
        let all = store.settings().map_err(AppError::Ledger)?;
        let all = all.into_iter().map(|setting| (setting.key, setting.content));
        Ok(Self { changes, all: all.collect() })
    }

    /// What one holds.
    pub fn get(&self, owner: &str, kind: &str, name: &str) -> Option<&str> {
        self.all.get(&SettingKey::new(owner, kind, name)).map(String::as_str)
    }

    /// All of a kind that somebody has, by name.
    pub fn of<'a>(
        &'a self,
        owner: &'a str,
        kind: &'a str,
    ) -> impl Iterator<Item = (&'a str, &'a str)> {
        let first = SettingKey::new(owner, kind, "");
        self.all
            .range(first..)
            .take_while(move |(key, _)| key.kind == kind && key.owner == owner)
            .map(|(key, content)| (key.name.as_str(), content.as_str()))
    }

    /// All of a kind: owner, name, content.
    pub fn of_kind<'a>(
        &'a self,
        kind: &'a str,
    ) -> impl Iterator<Item = (&'a str, &'a str, &'a str)> {
        let first = SettingKey::new("", kind, "");
        self.all
            .range(first..)
            .take_while(move |(key, _)| key.kind == kind)
            .map(|(key, content)| (&*key.owner, &*key.name, content.as_str()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn settings_are_found_by_owner_and_by_kind() {
        let mut settings = Settings::default();
        for (owner, kind, name) in [
            ("OP", "token", "1"),
            ("OP", "token", "2"),
            ("TR", "token", "1"),
            ("OP", "a", "1"),
        ] {
            let content = format!("{owner} {kind} {name}");
            settings.all.insert(SettingKey::new(owner, kind, name), content);
        }
        assert_eq!(settings.get("OP", "token", "2"), Some("OP token 2"));
        assert_eq!(settings.get("OP", "token", "3"), None);
        let names: Vec<&str> = settings.of("OP", "token").map(|(name, _)| name).collect();
        assert_eq!(names, ["1", "2"]);
        assert_eq!(settings.of_kind("token").count(), 3);
        assert_eq!(settings.of("O", "token").count(), 0);
    }
}
