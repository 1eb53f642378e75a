//! The ledger and the programme that is folded from it.

use std::collections::BTreeSet;
use std::ops::ControlFlow;
use std::str::FromStr;
use std::time::{Duration, Instant};

use airframe::Severity;
use folder::Problem;
use folder::stored::Fact;
use ledger::{
    Access, Batch, Entry, LedgerError, NewEntry, Place, Receipt, RequestId, Store,
};
use record::act::Stamp;
use record::{Act, Command, Difference, PersonId, Programme, decide, difference};

use crate::importing::entries_of;
use crate::seal::{Sealer, peel};
use crate::touching::changed;
use crate::{
    AppError, Kept, ListImport, ListLoaded, Refused, Secret, Settings, judging, snapshot,
};

/// How long one waits for another who is at the ledger, and how often one looks.
const PATIENCE: Duration = Duration::from_secs(5);
const PAUSE: Duration = Duration::from_millis(20);
/// How often something is judged anew because others entered something meanwhile. Each time
/// somebody else was faster, so somebody gets on.
const TIMES: usize = 20;

/// After how many entries what was folded is worth being kept for the next start. Folding
/// so many takes about a tenth of a second.
const MANY: u64 = 20_000;

/// A ledger that is open, with the programme as it stands after its last entry.
pub struct Workshop {
    store: Box<dyn Store>,
    programme: Programme,
    number: u64,
    /// The entry up to which it was folded before, by whomever.
    kept: u64,
}

/// By whom and when something is entered.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Signed {
    /// Who.
    pub by: String,
    /// When, in the form of RFC 3339.
    pub at: String,
    /// The secret of whoever signs, if they have one.
    pub secret: Option<Secret>,
}

impl Workshop {
    /// Opens a ledger that exists, for reading.
    pub fn read(place: &Place) -> Result<Self, AppError> {
        Self::of(look_at(place)?)
    }

    /// Opens a ledger that exists, for writing.
    pub fn open(place: &Place) -> Result<Self, AppError> {
        Self::of(patient(place)?)
    }

    /// Opens a ledger for writing, and makes it first if there is none. Another one who is
    /// at it is waited for, some seconds: most commands are soon over.
    pub fn write(place: &Place) -> Result<Self, AppError> {
        match patient(place) {
            Err(AppError::NoLedger(_)) => {}
            other => return Self::of(other?),
        }
        match place.create() {
            // Somebody else made it at this moment.
            Err(LedgerError::Exists { .. } | LedgerError::InUse { .. }) => {
                Self::open(place)
            }
            made => Self::of(made.map_err(AppError::Ledger)?),
        }
    }

    fn of(store: Box<dyn Store>) -> Result<Self, AppError> {
        let (programme, kept) = resume(store.as_ref());
        let mut workshop = Self { store, programme, number: kept, kept };
        workshop.catch_up()?;
        Ok(workshop)
    }

    /// Holds the ledger for writing while something is done, after all that others entered
    /// was folded.
    ///
    /// # Errors
    /// If it can't be opened for writing, if another ledger stands there now, or those of
    /// what is done.
    pub(crate) fn writing<T>(
        &mut self,
        place: &Place,
        done: impl FnOnce(&mut Self) -> Result<T, AppError>,
    ) -> Result<T, AppError> {
        let writer = patient(place)?;
        let (mine, found) = (self.store.id(), writer.id());
        if mine.map_err(AppError::Ledger)? != found.map_err(AppError::Ledger)? {
            return Err(AppError::Unknown(format!(
                "another ledger stands at {place} now, and nothing was entered: start again"
            )));
        }
        let reader = std::mem::replace(&mut self.store, writer);
        let done = self.catch_up().and_then(|_| done(self));
        self.store = reader;
        done
    }

    /// The settings beside the record.
    pub(crate) fn settings(&self) -> Result<Settings, AppError> {
        Settings::read(self.store.as_ref())
    }

    /// How often settings were changed.
    pub(crate) fn setting_changes(&self) -> Result<u64, AppError> {
        self.store.setting_changes().map_err(AppError::Ledger)
    }

    /// Opens the ledger anew if it was brought up to date since it was opened.
    pub(crate) fn reopen_if_older(&mut self, place: &Place) -> Result<(), AppError> {
        let known = self.setting_changes()?;
        let store = look_at(place)?;
        if store.setting_changes().map_err(AppError::Ledger)? != known {
            self.store = store;
        }
        Ok(())
    }

    /// Folds what was entered since, by whomever; how many entries that were.
    pub fn catch_up(&mut self) -> Result<u64, AppError> {
        let before = self.number;
        self.number = fold_after(self.store.as_ref(), &mut self.programme, before)?;
        Ok(self.number - before)
    }

    /// For when there is nothing else to do: keeps what was folded for the next start, if
    /// that was much. If it can't be kept, the next start takes longer, and that is all.
    pub fn rest(&mut self) {
        let _ = self.keep_snapshot(MANY);
    }

    /// Keeps what was folded for the next start, if that was so many entries or more since
    /// it was kept before; whether it did.
    ///
    /// # Errors
    /// If the ledger is open for reading only, or can't be written.
    pub fn keep_snapshot(&mut self, many: u64) -> Result<bool, AppError> {
        let head = self.store.head().map_err(AppError::Ledger)?;
        // What others entered since is folded by whoever asks for it.
        if head.number != self.number || self.number - self.kept < many {
            return Ok(false);
        }
        let Some(content) = snapshot::write(&self.programme) else { return Ok(false) };
        let put = self.store.put_snapshot(&head, snapshot::FORMAT, &content);
        put.map_err(AppError::Ledger)?;
        self.kept = self.number;
        Ok(true)
    }

    /// The programme as it stands.
    pub fn programme(&self) -> &Programme {
        &self.programme
    }

    /// The number of the last entry.
    pub fn number(&self) -> u64 {
        self.number
    }

    /// Checks a command, enters what follows from it durably, and only then applies it.
    /// All of it happens or nothing.
    pub fn enter(
        &mut self,
        command: &Command,
        signed: &Signed,
    ) -> Result<Vec<Difference>, AppError> {
        let entries = decide(&self.programme, command).map_err(AppError::Refused)?;
        if entries.is_empty() {
            return Ok(Vec::new());
        }
        self.may_restate(&entries, signed)?;
        let sealer = self.sealer(signed, "load")?;
        let batch: Vec<NewEntry> = entries
            .iter()
            .map(|change| {
                sealer.seal(self::entry(folder::stored::encode(change), signed))
            })
            .collect();
        let head = self.store.append(self.number, &batch).map_err(AppError::Ledger)?;
        let differences = difference(&self.programme, &entries);
        for entry in &entries {
            self.programme.apply(entry);
        }
        self.number = head.number;
        Ok(differences)
    }

    /// Judges acts, each as if those before it were done. What is refused is not done for
    /// those after it; what they are refused for only because of that, says so.
    ///
    /// # Errors
    /// [`AppError::Forbidden`] with every refusal, or an error if nobody can sign so.
    pub fn judge(&self, acts: &[Act], signed: &Signed) -> Result<Vec<Stamp>, AppError> {
        let (stamps, refused) = judged((&self.programme, self.number), acts, signed)?;
        if refused.is_empty() { Ok(stamps) } else { Err(AppError::Forbidden(refused)) }
    }

    /// Does acts: all of them are kept durably and only then count, or none. If somebody
    /// entered something meanwhile, that is folded first and the acts are judged anew.
    ///
    /// A `request` that is sent again, because its answer was lost, counts once: what it
    /// comes to is what the first one came to.
    ///
    /// # Errors
    /// [`AppError::Spent`] if the request stands for other acts, or for somebody else's: what
    /// was sent now was not entered, and nobody is to believe that it was.
    pub fn act(
        &mut self,
        acts: &[Act],
        signed: &Signed,
        request: Option<&str>,
    ) -> Result<Vec<Kept>, AppError> {
        self.act_having_seen(acts, signed, request, None)
    }

    /// The same for somebody who looked at the record as it stood after entry `seen`. If
    /// others entered something after that which touches the same things (a step, a part,
    /// a finding, a tool, a gate), the acts are not kept but given back beside it.
    ///
    /// # Errors
    /// [`AppError::Changed`] with both, and those of [`Workshop::act`].
    pub fn act_having_seen(
        &mut self,
        acts: &[Act],
        signed: &Signed,
        request: Option<&str>,
        seen: Option<u64>,
    ) -> Result<Vec<Kept>, AppError> {
        let request = request.map(RequestId::from_str).transpose();
        let request = request.map_err(|error| AppError::Unknown(error.to_string()))?;
        let mut sealer = self.sealer(signed, word(acts))?;
        for _ in 0..TIMES {
            if let Some(request) = &request {
                let receipt = self.store.receipt(request).map_err(AppError::Ledger)?;
                if let Some(receipt) = receipt {
                    return self.repeated(acts, signed, &receipt);
                }
            }
            if let Some(seen) = seen {
                let changed = changed(self.store.as_ref(), acts, signed, seen)?;
                if let Some(changed) = changed {
                    return Err(AppError::Changed(Box::new(changed)));
                }
            }
            let stamps = self.judge(acts, signed)?;
            alone(acts)?;
            self.attached(acts)?;
            let entry = |act| sealer.seal(entry(folder::acts::encode(act), signed));
            let entries = acts.iter().map(entry).collect();
            let batch = Batch { request: request.clone(), entries };
            match self.store.append_all(self.number, &[batch]) {
                Ok(_) => return Ok(self.keep(acts, &stamps)),
                Err(LedgerError::Moved { .. }) => {
                    self.catch_up()?;
                    sealer = self.sealer(signed, word(acts))?;
                }
                Err(error) => return Err(AppError::Ledger(error)),
            }
        }
        Err(AppError::Unknown(
            "others are entering without a pause: try again".to_owned(),
        ))
    }

    /// What acts came to when they were sent the first time, if they are what was sent then.
    fn repeated(
        &self,
        acts: &[Act],
        signed: &Signed,
        receipt: &Receipt,
    ) -> Result<Vec<Kept>, AppError> {
        let mut entries = Vec::new();
        let mut visit = |entry: Entry| {
            let more = entry.number < receipt.head.number;
            entries.push(entry);
            if more { ControlFlow::Continue(()) } else { ControlFlow::Break(()) }
        };
        let before = receipt.first.saturating_sub(1);
        self.store.read(before, &mut visit).map_err(AppError::Ledger)?;
        let same = entries.len() == acts.len()
            && entries.iter().zip(acts).all(|(entry, act)| is_of(entry, act, signed));
        if !same {
            let by = entries.first().map_or_else(String::new, |entry| entry.by.clone());
            return Err(AppError::Spent { entry: receipt.first, by });
        }
        let kept = entries.iter().zip(acts).map(|(entry, act)| Kept {
            number: entry.number,
            word: act.word(),
            cautions: Vec::new(),
            repeated: true,
        });
        Ok(kept.collect())
    }

    /// Files that acts name by their digests are there.
    fn attached(&self, acts: &[Act]) -> Result<(), AppError> {
        let named: Vec<_> = acts.iter().flat_map(folder::acts::files).collect();
        if named.is_empty() {
            return Ok(());
        }
        let stored = self.store.attachments().map_err(AppError::Ledger)?;
        let stored: BTreeSet<String> =
            stored.into_iter().map(|stored| stored.digest.to_string()).collect();
        let missing = named.iter().filter(|(_, digest)| !stored.contains(digest));
        let problems: Vec<Problem> = missing
            .map(|(field, digest)| Problem {
                place: None,
                severity: Severity::Error,
                what: format!("`{field}`: no file is attached under the digest {digest}"),
                hint: Some("attach the file first, or leave it out".to_owned()),
            })
            .collect();
        if problems.is_empty() { Ok(()) } else { Err(AppError::Act(problems)) }
    }

    /// Loads a list from a file: all of it is kept durably and only then counts, or nothing.
    /// A request that is sent again counts once.
    ///
    /// # Errors
    /// [`AppError::Overtaken`] if it would change something else than whoever signs saw, and
    /// those of [`Workshop::enter`].
    pub(crate) fn load_list(
        &mut self,
        import: &ListImport,
        signed: &Signed,
        request: Option<&str>,
    ) -> Result<ListLoaded, AppError> {
        let request = request.map(RequestId::from_str).transpose();
        let request = request.map_err(|error| AppError::Unknown(error.to_string()))?;
        for _ in 0..TIMES {
            if let Some(request) = &request {
                let receipt = self.store.receipt(request).map_err(AppError::Ledger)?;
                if let Some(receipt) = receipt {
                    let entries = (receipt.first, receipt.head.number);
                    return Ok(ListLoaded { entries, repeated: true });
                }
            }
            let changes = entries_of(&self.programme, import)?;
            if changes.is_empty() {
                return Err(AppError::Unknown(
                    "the record says this already: there is nothing to enter".to_owned(),
                ));
            }
            self.may_restate(&changes, signed)?;
            let sealer = self.sealer(signed, "load")?;
            let stored = |change| entry(folder::stored::encode(change), signed);
            let entries = changes.iter().map(|change| sealer.seal(stored(change)));
            let batch = Batch { request: request.clone(), entries: entries.collect() };
            match self.store.append_all(self.number, &[batch]) {
                Ok(_) => {
                    let first = self.number + 1;
                    for change in &changes {
                        self.programme.apply(change);
                    }
                    self.number += changes.len() as u64;
                    let entries = (first, self.number);
                    return Ok(ListLoaded { entries, repeated: false });
                }
                Err(LedgerError::Moved { .. }) => {
                    self.catch_up()?;
                }
                Err(error) => return Err(AppError::Ledger(error)),
            }
        }
        Err(AppError::Unknown(
            "others are entering without a pause: try again".to_owned(),
        ))
    }

    fn may_restate(
        &self,
        entries: &[record::Entry],
        signed: &Signed,
    ) -> Result<(), AppError> {
        let Signed { by, at, .. } = signed;
        let on = at.get(..10).and_then(|day| day.parse().ok());
        let on =
            on.ok_or_else(|| AppError::Unknown(format!("`{at}` begins with no day")))?;
        let refusals = self.programme.restate_refusals(by, on, entries);
        if refusals.is_empty() {
            return Ok(());
        }
        let refused = refusals.into_iter().map(|refusal| {
            let rule = self.programme.rules.get(&refusal.rule);
            let citation = rule.and_then(|rule| rule.citation.clone());
            Refused { act: (1, "load"), refusal, citation, follows: None }
        });
        Err(AppError::Forbidden(refused.collect()))
    }

    fn sealer(&self, signed: &Signed, word: &'static str) -> Result<Sealer, AppError> {
        let ledger = self.store.id().map_err(AppError::Ledger)?;
        Sealer::of(&self.programme, signed, &ledger, word)
    }

    /// Folds acts that are on disk.
    fn keep(&mut self, acts: &[Act], stamps: &[Stamp]) -> Vec<Kept> {
        let mut kept = Vec::new();
        for (act, stamp) in acts.iter().zip(stamps) {
            let cautions = self.programme.cautions(act, stamp);
            self.programme.perform(act, stamp);
            self.number = stamp.number;
            let (number, word) = (stamp.number, act.word());
            kept.push(Kept { number, word, cautions, repeated: false });
        }
        kept
    }
}

/// Judges acts as if they were entered after entry `number`, by which a programme stands as
/// it does: their stamps, and every refusal.
pub(crate) fn judged(
    (programme, number): (&Programme, u64),
    acts: &[Act],
    signed: &Signed,
) -> Result<(Vec<Stamp>, Vec<Refused>), AppError> {
    let stamps: Vec<Stamp> = (1..=acts.len() as u64)
        .map(|place| stamp(number + place, &signed.by, &signed.at))
        .collect::<Result<_, _>>()?;
    let refused = judging::judge(programme, acts, &stamps);
    Ok((stamps, refused))
}

/// What whoever signed an entry was told, of a programme as it stood before it.
pub(crate) fn cautions_of(before: &Programme, entry: &Entry) -> Vec<String> {
    let fact =
        folder::stored::decode_any(&entry.kind, entry.version, peel(&entry.body).body);
    let Ok(Fact::Act(act)) = fact else { return Vec::new() };
    let Ok(stamp) = stamp(entry.number, &entry.by, &entry.at) else { return Vec::new() };
    let cautions = before.cautions(&act, &stamp).into_iter();
    cautions.map(|caution| format!("{}: {}", caution.what, caution.hint)).collect()
}

/// What a refusal of all of several acts is said of.
fn word(acts: &[Act]) -> &'static str {
    acts.first().map_or("nothing", Act::word)
}

/// A key counts from the next entry on, so what gives one stands by itself.
fn alone(acts: &[Act]) -> Result<(), AppError> {
    let enrols = acts.iter().any(|act| matches!(act, Act::Enrol(_)));
    if enrols && acts.len() > 1 {
        let what =
            "`enrol` is entered by itself: what else is signed is sealed with the key";
        return Err(AppError::Unknown(what.to_owned()));
    }
    Ok(())
}

/// Whether an entry is what somebody signs now. A key is made anew each time that its secret is
/// typed, so of that only whose it is counts, and why.
fn is_of(entry: &Entry, act: &Act, signed: &Signed) -> bool {
    let body = peel(&entry.body).body;
    let fact = folder::stored::decode_any(&entry.kind, entry.version, body);
    let same = match (fact, act) {
        (Ok(Fact::Act(Act::Enrol(one))), Act::Enrol(other)) => {
            (&one.person, &one.reason) == (&other.person, &other.reason)
        }
        (Ok(Fact::Act(kept)), act) => kept == *act,
        _ => false,
    };
    same && entry.by == signed.by
}

/// Opens a ledger that exists, for reading.
pub(crate) fn look_at(place: &Place) -> Result<Box<dyn Store>, AppError> {
    place.open(Access::ReadOnly).map_err(|error| absent(place, error))
}

/// Opens a ledger that exists, for writing, and waits for another who is at it.
pub(crate) fn patient(place: &Place) -> Result<Box<dyn Store>, AppError> {
    let begun = Instant::now();
    loop {
        match place.open(Access::ReadWrite) {
            Err(LedgerError::InUse { .. }) if begun.elapsed() < PATIENCE => {
                std::thread::sleep(PAUSE);
            }
            opened => return opened.map_err(|error| absent(place, error)),
        }
    }
}

fn absent(place: &Place, error: LedgerError) -> AppError {
    match error {
        LedgerError::NotFound { .. } => AppError::NoLedger(place.clone()),
        other => AppError::Ledger(other),
    }
}

/// What was folded before, and up to which entry; nothing if nothing can be made of it.
fn resume(store: &dyn Store) -> (Programme, u64) {
    let found = store.snapshot(snapshot::FORMAT).ok().and_then(|found| found.snapshot);
    let programme = found.as_ref().and_then(|found| snapshot::read(&found.content));
    let number = found.map_or(0, |found| found.head.number);
    programme.map_or_else(|| (Programme::default(), 0), |programme| (programme, number))
}

/// Folds all entries after one into a programme; the number of the last.
pub(crate) fn fold_after(
    store: &dyn Store,
    programme: &mut Programme,
    after: u64,
) -> Result<u64, AppError> {
    let mut number = after;
    let mut failed = None;
    let mut visit = |entry: Entry| {
        failed = fold_entry(programme, &entry).err();
        number = entry.number;
        match failed {
            Some(_) => ControlFlow::Break(()),
            None => ControlFlow::Continue(()),
        }
    };
    store.read(after, &mut visit).map_err(AppError::Ledger)?;
    failed.map_or(Ok(number), Err)
}

/// Folds an entry of the ledger into a programme.
pub(crate) fn fold_entry(
    programme: &mut Programme,
    entry: &Entry,
) -> Result<(), AppError> {
    let about = (entry.number, entry.kind.as_str(), entry.version);
    fold(programme, about, (&entry.by, &entry.at), &entry.body)
}

/// Folds one stored entry into a programme: its number, kind and version, by whom and when,
/// and its body, sealed or not.
pub(crate) fn fold(
    programme: &mut Programme,
    (number, kind, version): (u64, &str, u32),
    (by, at): (&str, &str),
    body: &[u8],
) -> Result<(), AppError> {
    let fact = folder::stored::decode_any(kind, version, peel(body).body);
    match fact.map_err(|source| AppError::Stored { number, source })? {
        Fact::Entry(change) => programme.apply(&change),
        Fact::Act(act) => programme.perform(&act, &stamp(number, by, at)?),
    }
    Ok(())
}

fn entry((kind, version, body): folder::stored::Stored, signed: &Signed) -> NewEntry {
    NewEntry {
        kind,
        version,
        body: body.into_bytes(),
        at: signed.at.clone(),
        by: signed.by.clone(),
    }
}

/// Who did an act and when, on the clock of whoever signed: the time as it is written, before
/// its offset.
fn stamp(number: u64, by: &str, at: &str) -> Result<Stamp, AppError> {
    let person = PersonId::new(by).map_err(|error| {
        AppError::Unknown(format!("nobody can sign as `{by}`: {error}"))
    })?;
    // A day alone would be taken for its first moment.
    let wall = at.get(..19).and_then(|wall| wall.parse().ok());
    let at = wall.ok_or_else(|| {
        AppError::Unknown(format!("`{at}` is no time such as 2032-01-14T09:30:00Z"))
    })?;
    Ok(Stamp { number, at, by: person })
}
