//! What work is measured with, what gates ask for, and what the rules rest on.

use record::{Requirement, Retention, Rule, Tool};

use crate::fields::{Kind, REQUIREMENT, RETENTION, RULE, Record, TOOL};
use crate::taker::{Giver, Taker};
use crate::things::Thing;

impl Thing for Tool {
    const KIND: &'static Kind = &TOOL;

    fn read(row: &mut Taker<'_>) -> Option<Self> {
        let (id, name) = (row.need("id"), row.need("name"));
        let (measures, range) = (row.flag("measures"), row.maybe("range"));
        Some(Self { id: id?, name: name?, measures, range })
    }

    fn write(&self) -> Record {
        let Self { id, name, measures, range } = self;
        Giver::new(&TOOL)
            .put("id", id)
            .put("name", name)
            .flag("measures", *measures)
            .maybe("range", range.as_ref())
            .done()
    }
}

impl Thing for Requirement {
    const KIND: &'static Kind = &REQUIREMENT;

    fn read(row: &mut Taker<'_>) -> Option<Self> {
        let (id, gate, what) = (row.need("id"), row.need("gate"), row.need("what"));
        let (kind, job) = (row.maybe("kind"), row.maybe("job"));
        let (fitted, citation) = (row.maybe("fitted"), row.maybe("citation"));
        Some(Self { id: id?, gate: gate?, what: what?, kind, job, fitted, citation })
    }

    fn write(&self) -> Record {
        let Self { id, gate, what, kind, job, fitted, citation } = self;
        Giver::new(&REQUIREMENT)
            .put("id", id)
            .put("gate", gate)
            .put("what", what)
            .maybe("kind", kind.as_ref())
            .maybe("job", job.as_ref())
            .maybe("fitted", fitted.as_ref())
            .maybe("citation", citation.as_ref())
            .done()
    }
}

impl Thing for Rule {
    const KIND: &'static Kind = &RULE;

    fn read(row: &mut Taker<'_>) -> Option<Self> {
        let (id, basis) = (row.need("id"), row.need("basis"));
        let (citation, note) = (row.maybe("citation"), row.maybe("note"));
        Some(Self { id: id?, basis: basis?, citation, note })
    }

    fn write(&self) -> Record {
        let Self { id, basis, citation, note } = self;
        Giver::new(&RULE)
            .put("id", id)
            .put("basis", basis)
            .maybe("citation", citation.as_ref())
            .maybe("note", note.as_ref())
            .done()
    }
}

impl Thing for Retention {
    const KIND: &'static Kind = &RETENTION;

    fn read(row: &mut Taker<'_>) -> Option<Self> {
        let (id, years) = (row.need("id"), row.maybe("years"));
        let (citation, note) = (row.maybe("citation"), row.maybe("note"));
        Some(Self { id: id?, years, citation, note })
    }

    fn write(&self) -> Record {
        let Self { id, years, citation, note } = self;
        Giver::new(&RETENTION)
            .put("id", id)
            .maybe("years", years.as_ref())
            .maybe("citation", citation.as_ref())
            .maybe("note", note.as_ref())
            .done()
    }
}
