//! Whether the parts of a programme fit together.

mod figures;
mod findings;
mod keys;
mod names;
mod notes;
mod outlines;
mod people;
mod references;
mod rings;
mod rules;
mod seasons;
mod texts;
mod work;

use airframe::{Kinds, Note, Parts};

use crate::Programme;
use notes::Notes;

impl Programme {
    /// Everything that does not fit together in the programme, and what somebody should look
    /// at: what the airframe has to say about itself, names that do not exist, rings, times
    /// that run backwards, decisions that contradict themselves, figures that cannot be.
    ///
    /// Errors come before warnings; within each, in order of noun and name. The subject of
    /// a step is the step of a route, as `route:step`.
    pub fn check(&self) -> Vec<Note> {
        let mut notes = Notes::default();
        if self.info.is_none() {
            notes
                .error("programme", "", "", "it does not say what it is about")
                .hint("give its name, aircraft and currency");
        }
        names::check(self, &mut notes);
        texts::check(self, &mut notes);
        references::check(self, &mut notes);
        rings::check(self, &mut notes);
        seasons::check(self, &mut notes);
        people::check(self, &mut notes);
        findings::check(self, &mut notes);
        work::check(self, &mut notes);
        figures::check(self, &mut notes);
        rules::check(self, &mut notes);
        outlines::check(self, &mut notes);
        let mut notes = notes.all();
        notes.extend(airframe::check(&self.airframe_parts(), &self.kinds()));
        notes.sort();
        notes.dedup();
        notes
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
