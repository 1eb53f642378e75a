//! Settings, which are kept beside the record and are no part of it.
//!
//! A setting belongs to an owner, is of a kind and has a name; what it holds is text that the
//! caller understands: how somebody wants to see quantities, the digest of a token. It may be
//! changed and taken away at any time, leaves no trace in the chain, and no verification says
//! anything of it. A backup holds all of them.

/// The longest owner, kind and name, in bytes.
pub const NAME_LIMIT: usize = 200;
/// The longest content, in bytes.
pub const CONTENT_LIMIT: usize = 64 * 1024;

/// Whose a setting is, and what it is.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct SettingKey {
    /// Of what kind it is.
    pub kind: String,
    /// Whose it is.
    pub owner: String,
    /// Which of that kind.
    pub name: String,
}

impl SettingKey {
    /// The key of an owner's setting.
    pub fn new(
        owner: impl Into<String>,
        kind: impl Into<String>,
        name: impl Into<String>,
    ) -> Self {
        Self { kind: kind.into(), owner: owner.into(), name: name.into() }
    }
}

/// A setting as it is kept.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Setting {
    /// Whose and what it is.
    pub key: SettingKey,
    /// What it holds.
    pub content: String,
}

/// What becomes of a setting.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Change {
    /// It stays as it is, or absent.
    Keep,
    /// It holds this from now on.
    Put(String),
    /// It is taken away.
    Remove,
}
