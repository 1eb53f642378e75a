//! Batches of material, and what is due in store.

use std::collections::BTreeMap;
use std::sync::Arc;

use airframe::ItemId;
use jiff::civil::Date;

use super::cards::Mark;
use super::judge::Judge;
use crate::act::{Act, Batch, Draw, Power, Stamp, StoreDone, StoreTask};
use crate::{BatchId, JobKey, Programme, RuleKey};

/// Materials, and what is due for parts in store.
#[derive(Debug, Clone, PartialEq, Default, serde::Serialize, serde::Deserialize)]
pub struct Stores {
    /// Batches by name.
    pub batches: BTreeMap<BatchId, BatchState>,
    /// Tasks by part and what is done.
    pub tasks: BTreeMap<(ItemId, String), StoreTaskState>,
}

/// A batch.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct BatchState {
    /// As it came in.
    pub batch: Batch,
    /// By whom and when.
    pub taken_in: Mark,
    /// What is left.
    pub left: f64,
    /// What was drawn for which card, and when.
    pub drawn: Vec<(JobKey, f64, Mark)>,
}

/// Something that is due in store again and again.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct StoreTaskState {
    /// Every so many days.
    pub every: u32,
    /// When it was asked for, or last done.
    pub last: Date,
}

impl StoreTaskState {
    /// The day on which it is due.
    pub fn due(&self) -> Date {
        let days = jiff::Span::new().days(i64::from(self.every));
        self.last.checked_add(days).unwrap_or(Date::MAX)
    }
}

impl Judge<'_> {
    pub(super) fn batch(&mut self, act: &Batch) {
        let Batch {
            batch,
            material,
            specification,
            maker,
            supplier,
            conformity,
            quantity,
            unit,
            cured,
            expires,
            storage,
        } = act;
        self.power(Power::Stores, None);
        if self.shop().stores.batches.contains_key(batch) {
            self.taken("batch", batch);
        }
        self.all_stated(&[("material", material), ("unit", unit), ("storage", storage)]);
        for (field, text) in [
            ("specification", specification),
            ("maker", maker),
            ("supplier", supplier),
            ("conformity", conformity),
        ] {
            self.hold(
                !text.trim().is_empty(),
                RuleKey::Conformity,
                || format!("`{field}` of {batch} is not known"),
                "send it back, or keep it apart until the supplier has said it",
            );
        }
        self.amount("quantity", *quantity);
        if let Some(cured) = cured {
            self.past("cured", *cured, RuleKey::Stated);
        }
        if let Some(expires) = expires {
            self.not_over("expires", *expires, RuleKey::ShelfLife);
        }
        self.hold(
            cured.is_none() || expires.is_some(),
            RuleKey::ShelfLife,
            || format!("{batch} was cured and nobody says until when it may be used"),
            "give the last day, by the specification that it is marked to",
        );
    }

    pub(super) fn draw(&mut self, act: &Draw) {
        let Draw { batch, job, quantity } = act;
        self.amount("quantity", *quantity);
        self.open_card(job);
        let Some(state) = self.shop().stores.batches.get(batch) else {
            self.unknown("batch", batch);
            return;
        };
        let today = self.today();
        if let Some(expires) = state.batch.expires.filter(|expires| *expires < today) {
            let what = format!("{batch} was good until {expires}");
            self.refuse(
                RuleKey::ShelfLife,
                what,
                "take another batch and dispose of this one",
            );
        }
        self.hold(
            *quantity <= state.left,
            RuleKey::Stated,
            || format!("{batch} has {} {} left", state.left, state.batch.unit),
            "count what is there; draw the rest from another batch",
        );
    }

    pub(super) fn store_task(&mut self, act: &StoreTask) {
        let StoreTask { item, task, every } = act;
        self.item(item);
        self.stated("task", task);
        self.amount("every", f64::from(*every));
    }

    pub(super) fn store_done(&mut self, act: &StoreDone) {
        let StoreDone { item, task } = act;
        self.item(item);
        let key = (item.clone(), task.trim().to_owned());
        if !self.shop().stores.tasks.contains_key(&key) {
            let what = format!("nobody asked for `{task}` on {item}");
            self.refuse(RuleKey::Known, what, "name it as it was asked for");
        }
    }
}

pub(super) fn perform(programme: &mut Programme, act: &Act, stamp: &Stamp) {
    let mark = Mark::of(stamp);
    let today = stamp.at.date();
    let stores = &mut programme.shop.stores;
    match act {
        Act::Batch(act) => {
            let state = BatchState {
                batch: act.clone(),
                taken_in: mark,
                left: act.quantity,
                drawn: Vec::new(),
            };
            Arc::make_mut(stores).batches.insert(act.batch.clone(), state);
        }
        Act::Draw(act) => {
            if let Some(state) = Arc::make_mut(stores).batches.get_mut(&act.batch) {
                state.left -= act.quantity;
                state.drawn.push((act.job.clone(), act.quantity, mark));
            }
        }
        Act::StoreTask(act) => {
            let key = (act.item.clone(), act.task.trim().to_owned());
            let task = StoreTaskState { every: act.every, last: today };
            Arc::make_mut(stores).tasks.insert(key, task);
        }
        Act::StoreDone(act) => {
            let key = (act.item.clone(), act.task.trim().to_owned());
            if let Some(task) = Arc::make_mut(stores).tasks.get_mut(&key) {
                task.last = today;
            }
        }
        _ => {}
    }
}
