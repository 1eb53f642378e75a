//! Reading entries in order, each checked against the one before.

use std::ops::ControlFlow;

use super::rows::{self, Row};
use super::{Meta, has_more_than_entries, meta};
use crate::chain::{Chain, Digest, Link};
use crate::db::{Database, Reading, Value};
use crate::entry::{Entry, Head};
use crate::error::{LedgerError, Result};
use crate::sql;
use crate::verdict::{Fault, FaultKind};

/// Bytes of bodies up to which a page of entries may be made longer the next time.
const PAGE_BYTES: usize = 4 << 20;

/// Shows every stored row from number `from` on, sound or not, until `visit` breaks off.
///
/// A database that hands out rows as they are found gives all in one page. One that hands
/// out whole answers gives pages that grow as long as they stay small in bytes.
pub(super) fn rows(
    db: &dyn Database,
    doing: &'static str,
    from: i64,
    visit: &mut dyn FnMut(Row<'_>) -> ControlFlow<()>,
) -> Result<()> {
    let sql =
        if has_more_than_entries(db) { sql::SELECT_PAGE } else { sql::SELECT_PAGE_1 };
    let (mut page, most) = db.page();
    let mut from = from;
    loop {
        let (mut seen, mut bytes, mut flow) = (0, 0, ControlFlow::Continue(()));
        let mut last = None;
        let values = [Value::Integer(from), Value::Integer(page)];
        db.query(doing, sql, &values, &mut |row| {
            seen += 1;
            let row = rows::entry(row);
            if let Row::Sound(link, _) = &row {
                bytes += link.body.len();
            }
            last = row.number();
            flow = visit(row);
            flow
        })?;
        let Some(last) = last.filter(|_| flow.is_continue() && seen == page) else {
            return Ok(());
        };
        from = last as i64 + 1;
        page = if bytes < PAGE_BYTES { (2 * page).min(most) } else { (page / 2).max(1) };
    }
}

pub(crate) fn read(
    db: &dyn Database,
    after: u64,
    visit: &mut dyn FnMut(Entry) -> ControlFlow<()>,
) -> Result<()> {
    let _reading = Reading::begin(db)?;
    let meta = meta(db)?;
    if after > meta.head.number {
        let file = db.place().to_owned();
        return Err(LedgerError::Beyond { file, after, head: meta.head.number });
    }
    let mut reader = Reader::new(after, &meta);
    let mut outcome = Ok(ControlFlow::Continue(()));
    rows(db, "read entries", reader.from, &mut |row| {
        outcome = match row {
            Row::Sound(link, digest) => reader.take(&link, digest, visit),
            Row::Bad { number, kind } => Err(Fault { entry: number, kind }),
        };
        match outcome {
            Ok(flow) => flow,
            Err(_) => ControlFlow::Break(()),
        }
    })?;
    let fault = match outcome {
        Ok(ControlFlow::Break(())) => None,
        Ok(ControlFlow::Continue(())) => reader.chain.finish(&meta.head),
        Err(fault) => Some(fault),
    };
    fault.map_or(Ok(()), |fault| Err(LedgerError::damaged(db.place(), fault)))
}

struct Reader {
    chain: Chain,
    // From `after` itself, whose digest the next entry is checked against.
    from: i64,
    after: u64,
    skip_first: bool,
}

impl Reader {
    fn new(after: u64, meta: &Meta) -> Self {
        // A row before the first, which can't be there by right, is not to be overlooked.
        let from = if after == 0 { i64::MIN } else { after as i64 };
        let chain = Chain::from_start(Some(&meta.id));
        Self { chain, from, after, skip_first: after > 0 }
    }

    fn take(
        &mut self,
        link: &Link<'_>,
        digest: Digest,
        visit: &mut dyn FnMut(Entry) -> ControlFlow<()>,
    ) -> Result<ControlFlow<()>, Fault> {
        if std::mem::take(&mut self.skip_first) {
            if link.number != self.after {
                let kind = FaultKind::Missing { until: link.number - 1 };
                return Err(Fault::at(self.after, kind));
            }
            let head = Head { number: self.after, digest };
            self.chain = Chain::after(head, link.batch);
            return Ok(ControlFlow::Continue(()));
        }
        match self.chain.check(link, digest).into_iter().next() {
            Some(fault) => Err(fault),
            None => Ok(visit(Entry::from_link(link, digest))),
        }
    }
}
