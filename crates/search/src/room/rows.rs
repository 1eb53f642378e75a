//! Which resources lie side by side, and what modes need of them.

use std::collections::{BTreeMap, BTreeSet};

use timetable::Tick;

use crate::model::{Model, Use, Way};
use crate::pattern::Pattern;
use crate::scarce::scarcity;
use crate::steps::Steps;

/// Numbers in a word.
const IN_WORD: usize = 8;
/// More than that of a resource, or by a task, is not written side by side.
const MOST: i32 = 100;
/// So many words all ticks together may have: 16 MB.
const MOST_WORDS: usize = 2 << 20;
/// Reading and writing a word of a tick takes one, a question to a resource by itself so many.
const QUESTION: u64 = 30;

/// What a mode needs of resources that lie side by side, and of others.
#[derive(Debug, Clone, Default)]
pub(super) struct Need {
    /// By word.
    pub(super) words: Vec<(u32, u64)>,
    /// The same as uses, for what lies behind the border.
    pub(super) beside: Vec<Use>,
    /// What it uses of other resources.
    pub(super) apart: Vec<Use>,
    /// Its number among modes of a kind: those that need the same side by side in the same pace,
    /// by their work. The kind ends before the second number.
    pub(super) kind: (usize, usize),
}

/// Which resources of a problem lie side by side, and what is free of them beside what is fixed.
#[derive(Debug)]
pub(crate) struct Rows {
    /// The first tick that is not written in words.
    pub(super) border: Tick,
    /// Words for each tick.
    pub(super) wide: usize,
    pub(super) words: Vec<u64>,
    /// By task and way.
    needs: Vec<Vec<Need>>,
    /// By resource.
    beside: Vec<bool>,
    /// Numbers of modes of all kinds.
    pub(super) kinds: usize,
}

impl Rows {
    /// Chooses what lies side by side.
    pub(crate) fn of(model: &Model) -> Self {
        let (chosen, border) = choose(model);
        let wide = chosen.len().div_ceil(IN_WORD);
        let mut beside = vec![false; model.static_free.len()];
        let mut words = vec![0; wide * border as usize];
        for (lane, &resource) in chosen.iter().enumerate() {
            beside[resource] = true;
            write(&mut words, wide, lane, &model.static_free[resource], border);
        }
        let need = |way: &Way| {
            let mut need = Need::default();
            for &entry in &way.uses {
                match chosen.iter().position(|&resource| resource == entry.resource) {
                    Some(lane) => need.add(lane, entry),
                    None => need.apart.push(entry),
                }
            }
            need.words.sort_unstable();
            need
        };
        let needs = model.acts.iter().map(|act| act.ways.iter().map(need).collect());
        let mut needs: Vec<Vec<Need>> = needs.collect();
        let kinds = sort_into_kinds(model, &mut needs);
        Self { border, wide, words, needs, beside, kinds }
    }

    /// What a way of a task needs.
    pub(super) fn need(&self, task: usize, way: u8) -> &Need {
        &self.needs[task][usize::from(way)]
    }

    /// Whether a resource lies beside others.
    pub(crate) fn holds(&self, resource: usize) -> bool {
        self.beside[resource]
    }
}

impl Need {
    fn add(&mut self, lane: usize, entry: Use) {
        let number = (lane / IN_WORD) as u32;
        // At most one of the two is more than 0 and neither more than MOST.
        let amount = (entry.throughout + entry.working) as u64;
        let amount = amount << (8 * (lane % IN_WORD));
        match self.words.iter_mut().find(|word| word.0 == number) {
            Some(word) => word.1 += amount,
            None => self.words.push((number, amount)),
        }
        self.beside.push(entry);
    }
}

/// Numbers modes of a kind by their work, one kind after the other. How many numbers there are.
fn sort_into_kinds(model: &Model, needs: &mut [Vec<Need>]) -> usize {
    let pace = |way: &Way| match way.pattern {
        Pattern::Elapsed(_) => (0, 0),
        Pattern::Whole(calendar, _) => (1, std::ptr::from_ref(calendar).addr()),
        Pattern::Pausing(calendar, _) => (2, std::ptr::from_ref(calendar).addr()),
    };
    let mut kinds: BTreeMap<_, BTreeSet<Tick>> = BTreeMap::new();
    let all = model.acts.iter().zip(&*needs).flat_map(|(a, n)| a.ways.iter().zip(n));
    for (way, need) in all {
        let works = kinds.entry((pace(way), need.words.clone())).or_default();
        works.insert(way.pattern.work());
    }
    let mut count = 0;
    let mut first = BTreeMap::new();
    for (kind, works) in &kinds {
        first.insert(kind, count);
        count += works.len();
    }
    for (act, needs) in model.acts.iter().zip(needs) {
        for (way, need) in act.ways.iter().zip(needs) {
            let kind = (pace(way), need.words.clone());
            let works = &kinds[&kind];
            let begin = first[&kind];
            let number = works.range(..way.pattern.work()).count();
            need.kind = (begin + number, begin + works.len());
        }
    }
    count
}

/// Writes what is free of a resource into its lane.
fn write(words: &mut [u64], wide: usize, lane: usize, steps: &Steps, border: Tick) {
    let ends = steps.segments().skip(1).map(|segment| segment.0).chain([border]);
    for ((from, level), until) in steps.segments().zip(ends) {
        for tick in from.max(0)..until.min(border) {
            let word = &mut words[tick as usize * wide + lane / IN_WORD];
            *word |= (level as u64) << (8 * (lane % IN_WORD));
        }
    }
}

/// The resources that lie side by side, the scarcest first, and the border.
fn choose(model: &Model) -> (Vec<usize>, Tick) {
    let fits = fitting(model);
    let horizon = model.problem.horizon();
    let ratio = scarcity(&model.acts, &model.static_free, horizon);
    let mut chosen: Vec<usize> =
        (0..fits.len()).filter(|&resource| fits[resource]).collect();
    chosen.sort_by(|&a, &b| ratio[b].total_cmp(&ratio[a]).then(a.cmp(&b)));
    let room = MOST_WORDS / usize::try_from(horizon).unwrap_or(0).max(1);
    chosen.truncate(room.saturating_mul(IN_WORD));
    if chosen.is_empty() || !pays(model, &chosen) {
        return (Vec::new(), 0);
    }
    (chosen, horizon)
}

/// Ways of tasks that are still to be placed.
fn ways<'a>(model: &'a Model) -> impl Iterator<Item = &'a Way<'a>> {
    model.acts.iter().filter(|act| act.fixed.is_none()).flat_map(|act| &act.ways)
}

/// For each resource whether nothing but the work of tasks takes it, in small amounts.
fn fitting(model: &Model) -> Vec<bool> {
    let small =
        |steps: &Steps| steps.segments().all(|(_, free)| (0..=MOST).contains(&free));
    let mut fits: Vec<bool> = model.static_free.iter().map(small).collect();
    let mut used = vec![false; fits.len()];
    for hold in &model.holds {
        fits[hold.resource] = false;
    }
    for way in ways(model) {
        let pauses = matches!(way.pattern, Pattern::Pausing(..));
        for entry in &way.uses {
            let other = if pauses { entry.throughout } else { entry.working };
            let amount = entry.throughout.saturating_add(entry.working);
            fits[entry.resource] &= other == 0 && (0..=MOST).contains(&amount);
            used[entry.resource] = true;
        }
    }
    fits.iter().zip(used).map(|(&fits, used)| fits && used).collect()
}

/// Whether reading all of some resources tick by tick takes less than to ask each by itself.
fn pays(model: &Model, chosen: &[usize]) -> bool {
    let wide = chosen.len().div_ceil(IN_WORD) as u64;
    let (mut words, mut questions) = (0_u64, 0_u64);
    for way in ways(model) {
        let asked = way.uses.iter().filter(|entry| chosen.contains(&entry.resource));
        let asked = asked.count() as u64;
        if asked > 0 {
            words = words.saturating_add(wide * way.pattern.work().max(0) as u64);
            questions += asked;
        }
    }
    words <= questions.saturating_mul(QUESTION)
}
