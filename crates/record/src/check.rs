//! Whether the parts of a programme fit together.

use airframe::{Kinds, Note, Parts};

use crate::Programme;

impl Programme {
    /// Everything that does not fit together in the programme, and what should be looked
    /// at.
    pub fn check(&self) -> Vec<Note> {
        self.airframe().err().unwrap_or_default()
    }

    pub(crate) fn airframe_parts(&self) -> Parts {
        Parts {
            zones: self.zones.iter().cloned().collect(),
            items: self.items.iter().cloned().collect(),
            connections: self.connections.iter().cloned().collect(),
            checks: self.checks.iter().cloned().collect(),
            gear: self.gear.iter().cloned().collect(),
            arrangements: self.arrangements.iter().cloned().collect(),
            weighed: self.info.as_ref().and_then(|info| info.weighed.clone()),
        }
    }

    pub(crate) fn kinds(&self) -> Kinds {
        Kinds {
            skills: self.skills.names().cloned().collect(),
            stands: self.stands.names().cloned().collect(),
        }
    }
}
