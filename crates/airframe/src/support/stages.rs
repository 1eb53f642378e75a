//! The aircraft on its supports, stage by stage.

use std::collections::BTreeSet;

use quantity::{Length, Mass};

use super::ballast;
use super::base::{Base, Margin, Spot};
use super::loads::{Reactions, share};
use super::{Arrangement, SupportPoint};
use crate::{Airframe, ItemId};

/// What counts as safe, and where ballast can go.
#[derive(Debug, Clone, PartialEq)]
pub struct StageOptions {
    /// The least margin, as a part of the distance between the foremost and the aftmost
    /// point that is always set, from 0 to 0.5. The default of 0.02 is ours: it covers arms
    /// that are a few centimetres out and a person who climbs to the end of a hull, and
    /// no published figure is known to us.
    pub minimum: f64,
    /// Where ballast can be hung, aft of the datum, on the centre line. If none is given, at
    /// the foremost and at the aftmost point that is always set.
    pub ballast_at: Vec<Length>,
}

impl Default for StageOptions {
    fn default() -> Self {
        Self { minimum: 0.02, ballast_at: Vec::new() }
    }
}

/// What has just happened.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Event {
    /// Nothing yet.
    Start,
    /// An item came off.
    Off(ItemId),
    /// An item went back.
    On(ItemId),
}

/// The aircraft on its supports after something happened.
#[derive(Debug, Clone, PartialEq)]
pub struct Stage {
    /// What has just happened.
    pub after: Event,
    /// What rests on the supports.
    pub mass: Mass,
    /// Its centre of gravity, aft of the datum; nothing if no mass is known.
    pub arm: Option<Length>,
    /// What each point of the arrangement bears, with those of [`needs`](Self::needs) set;
    /// nothing for a point that is not set.
    pub loads: Vec<Option<Mass>>,
    /// How far it is from tipping on the points that are always set; nothing if no mass is
    /// known or no point is set. Places in [`Margin::over`] are those in the arrangement.
    pub margin: Option<Margin>,
    /// The least margin that was asked for.
    pub minimum: Length,
    /// It tips on the points that are always set.
    pub tips: bool,
    /// The points, set only when needed, that must be set for the least margin.
    pub needs: Vec<String>,
    /// The margin is short and no points that could be set mend it.
    pub unsafe_anyhow: bool,
    /// Points that bear more than they may.
    pub overloaded: Vec<Overload>,
    /// The least ballast that gives the least margin on the points that are always set;
    /// nothing if none is needed or none would do.
    pub ballast: Option<Ballast>,
    /// Items that left or stayed and whose mass or arm is not known.
    pub unknown: Vec<ItemId>,
}

/// A point that bears too much.
#[derive(Debug, Clone, PartialEq)]
pub struct Overload {
    /// The point.
    pub point: String,
    /// What it bears.
    pub load: Mass,
    /// What it may bear.
    pub capacity: Mass,
}

/// Mass to be hung on.
#[derive(Debug, Clone, PartialEq)]
pub struct Ballast {
    /// How much.
    pub mass: Mass,
    /// Where, aft of the datum.
    pub arm: Length,
}

impl Stage {
    /// The margin is less than was asked for, tipping or not.
    pub fn is_short(&self) -> bool {
        self.margin.as_ref().is_some_and(|margin| margin.distance < self.minimum)
    }
}

/// The margin of an aircraft that rests on all of the points; nothing without points.
pub fn margin(points: &[SupportPoint], arm: Length, side: Length) -> Option<Margin> {
    let points: Vec<_> = points.iter().collect();
    Base::of(&points).margin((arm.in_m(), side.in_m()))
}

/// The aircraft on its supports at the start and after each removal and refit.
///
/// `off` is what is off at the start, besides what is recorded as off. Names that are no
/// items, removals of what is off and refits of what is on change nothing.
pub fn stages(
    airframe: &Airframe,
    off: &BTreeSet<ItemId>,
    removals: &[ItemId],
    refits: &[ItemId],
    arrangement: &Arrangement,
    options: &StageOptions,
) -> Vec<Stage> {
    let removals = removals.iter().cloned().map(Event::Off);
    let events: Vec<Event> =
        removals.chain(refits.iter().cloned().map(Event::On)).collect();
    history(airframe, off, &events, arrangement, options)
}

/// The aircraft on its supports at the start and after each of the events, in their order:
/// [`stages`] for work in which some items go back before others come off.
pub fn history(
    airframe: &Airframe,
    off: &BTreeSet<ItemId>,
    events: &[Event],
    arrangement: &Arrangement,
    options: &StageOptions,
) -> Vec<Stage> {
    let mut balance = Balance::new(airframe, airframe.marked(off), arrangement, options);
    let mut stages = vec![balance.stage(Event::Start)];
    for event in events {
        match event {
            Event::Start => continue,
            Event::Off(item) | Event::On(item) => {
                if let Some(at) = airframe.layout().place(item) {
                    balance.set(at, matches!(event, Event::Off(_)));
                }
            }
        }
        stages.push(balance.stage(event.clone()));
    }
    stages
}

/// Sums of mass and moments, in kilograms and metres.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(super) struct Load {
    pub(super) mass: f64,
    pub(super) along: f64,
    pub(super) across: f64,
}

/// The aircraft on its supports, as things come off and go back.
#[derive(Debug, Clone)]
pub(crate) struct Balance<'a> {
    airframe: &'a Airframe,
    arrangement: &'a Arrangement,
    options: &'a StageOptions,
    off: Vec<bool>,
    load: Load,
    base: Base,
    minimum: f64,
}

impl<'a> Balance<'a> {
    pub(crate) fn new(
        airframe: &'a Airframe,
        off: Vec<bool>,
        arrangement: &'a Arrangement,
        options: &'a StageOptions,
    ) -> Self {
        let always: Vec<_> =
            arrangement.points.iter().filter(|point| !point.when_needed).collect();
        let base = Base::of(&always);
        let minimum = options.minimum.clamp(0.0, 0.5) * base.span();
        let load = Load::default();
        let mut balance =
            Self { airframe, arrangement, options, off, load, base, minimum };
        balance.load = balance.whole();
        balance
    }

    /// The load on the supports, summed afresh.
    fn whole(&self) -> Load {
        let items = &self.airframe.parts().items;
        let layout = self.airframe.layout();
        let aboard = |at: &usize| layout.aboard(*at, &self.off);
        let Some(weighed) = &self.airframe.parts().weighed else {
            return (0..items.len()).filter(aboard).map(|at| self.own(at)).sum();
        };
        let (mass, arm) = (weighed.mass.value().in_kg(), weighed.arm.value().in_m());
        let complete = Load { mass, along: mass * arm, across: 0.0 };
        let gone = (0..items.len()).filter(|at| !aboard(at)).map(|at| self.own(at));
        complete + -gone.sum::<Load>()
    }

    /// What an item adds by itself; nothing if its mass or arm is not known.
    fn own(&self, at: usize) -> Load {
        let item = &self.airframe.parts().items[at];
        let (Some(mass), Some(arm)) = (&item.mass, &item.arm) else {
            return Load::default();
        };
        let side = item.side.as_ref().map_or(0.0, |side| side.value().in_m());
        let mass = mass.value().in_kg();
        Load { mass, along: mass * arm.value().in_m(), across: mass * side }
    }

    /// Takes an item off or puts it back.
    pub(crate) fn set(&mut self, at: usize, gone: bool) {
        if self.off[at] == gone {
            return;
        }
        self.load = self.with(at, gone);
        self.off[at] = gone;
    }

    /// The load after an item came off or went back.
    fn with(&self, at: usize, gone: bool) -> Load {
        let layout = self.airframe.layout();
        let carried_away = layout.chain(at).skip(1).any(|carrier| self.off[carrier]);
        if carried_away {
            return self.load;
        }
        let along = layout.travels(at, &self.off);
        let unit: Load = along.into_iter().chain([at]).map(|at| self.own(at)).sum();
        if gone { self.load + -unit } else { self.load + unit }
    }

    /// The margin after an item came off, as it stands on what is always set, less what was
    /// asked for, in metres; 0 when nothing can be said.
    pub(crate) fn spare_without(&self, at: usize) -> f64 {
        let centre = self.with(at, true).centre();
        let margin = centre.and_then(|centre| self.base.margin(centre));
        margin.map_or(0.0, |margin| margin.distance.in_m() - self.minimum)
    }

    fn stage(&self, after: Event) -> Stage {
        let centre = self.load.centre();
        let always = |at: &usize| !self.arrangement.points[*at].when_needed;
        let set: Vec<usize> = (0..self.arrangement.points.len()).filter(always).collect();
        let mut margin = centre.and_then(|centre| self.base.margin(centre));
        if let Some(margin) = &mut margin {
            margin.over.iter_mut().for_each(|at| *at = set[*at]);
        }
        let spare = margin.as_ref().map(|m| m.distance.in_m() - self.minimum);
        let short = spare.is_some_and(|spare| spare < 0.0);
        let more = if short { self.needed(centre, &set) } else { Some(Vec::new()) };
        let needs = more.clone().unwrap_or_default();
        let loads = self.loads(centre, &set, &needs);
        let name = |at: &usize| self.arrangement.points[*at].name.clone();
        Stage {
            after,
            mass: Mass::from_kg(self.load.mass.max(0.0)).unwrap_or_default(),
            arm: centre.and_then(|(arm, _)| Length::from_m(arm).ok()),
            overloaded: self.overloaded(&loads),
            loads,
            tips: margin.as_ref().is_some_and(|m| m.distance < Length::ZERO),
            margin,
            minimum: Length::from_m(self.minimum).unwrap_or_default(),
            needs: needs.iter().map(name).collect(),
            unsafe_anyhow: more.is_none(),
            ballast: short.then(|| self.ballast()).flatten(),
            unknown: self.unknown(),
        }
    }

    /// The fewest points that, set besides, give the least margin; of as many, the first.
    fn needed(&self, centre: Option<Spot>, set: &[usize]) -> Option<Vec<usize>> {
        let centre = centre?;
        let points = &self.arrangement.points;
        let spare: Vec<usize> =
            (0..points.len()).filter(|at| points[*at].when_needed).take(12).collect();
        let mut choices: Vec<u32> = (1..1_u32 << spare.len()).collect();
        choices.sort_by_key(|choice| (choice.count_ones(), *choice));
        choices.into_iter().find_map(|choice| {
            let more = (0..spare.len()).filter(|bit| choice >> bit & 1 == 1);
            let more: Vec<usize> = more.map(|bit| spare[bit]).collect();
            let all = set.iter().chain(&more).map(|at| &points[*at]);
            let margin = Base::of(&all.collect::<Vec<_>>()).margin(centre)?;
            (margin.distance.in_m() >= self.minimum).then_some(more)
        })
    }

    fn loads(
        &self,
        centre: Option<Spot>,
        set: &[usize],
        more: &[usize],
    ) -> Vec<Option<Mass>> {
        let points = &self.arrangement.points;
        let mut loads = vec![None; points.len()];
        let mut resting = [set, more].concat();
        resting.sort_unstable();
        let Some(centre) = centre else { return loads };
        let mass = Mass::from_kg(self.load.mass).unwrap_or_default();
        let on: Vec<_> = resting.iter().map(|at| &points[*at]).collect();
        let Reactions { loads: shared, margin: _ } = share(&on, mass, centre);
        for (at, load) in resting.into_iter().zip(shared) {
            loads[at] = Some(load);
        }
        loads
    }

    fn overloaded(&self, loads: &[Option<Mass>]) -> Vec<Overload> {
        let points = self.arrangement.points.iter().zip(loads);
        let over = points.filter_map(|(point, load)| {
            let (load, capacity) = ((*load)?, point.capacity.as_ref()?.value());
            (load > capacity).then(|| Overload {
                point: point.name.clone(),
                load,
                capacity,
            })
        });
        over.collect()
    }

    fn ballast(&self) -> Option<Ballast> {
        let points = self.arrangement.points.iter().filter(|point| !point.when_needed);
        let arms: Vec<f64> = points.map(|point| point.arm.value().in_m()).collect();
        let ends = [f64::min, f64::max].map(|pick| arms.iter().copied().reduce(pick));
        let given = &self.options.ballast_at;
        let places: Vec<f64> = if given.is_empty() {
            ends.into_iter().flatten().collect()
        } else {
            given.iter().map(|arm| arm.in_m()).collect()
        };
        ballast::least(&self.base, self.load, &places, self.minimum)
    }

    /// When the whole was weighed, what is not known of what left; otherwise of what is there.
    fn unknown(&self) -> Vec<ItemId> {
        let layout = self.airframe.layout();
        let items = &self.airframe.parts().items;
        let weighed = self.airframe.parts().weighed.is_some();
        let counts = |at: usize| layout.aboard(at, &self.off) != weighed;
        let grouping =
            |at: usize| items[at].mass.is_none() && !layout.carried(at).is_empty();
        let known = |at: usize| items[at].mass.is_some() && items[at].arm.is_some();
        (0..items.len())
            .filter(|at| counts(*at) && !known(*at) && !grouping(*at))
            .map(|at| items[at].id.clone())
            .collect()
    }
}

impl Load {
    /// The centre of gravity; nothing without a mass.
    pub(super) fn centre(self) -> Option<Spot> {
        (self.mass > 0.0).then(|| (self.along / self.mass, self.across / self.mass))
    }
}

impl std::ops::Add for Load {
    type Output = Self;

    fn add(self, other: Self) -> Self {
        Self {
            mass: self.mass + other.mass,
            along: self.along + other.along,
            across: self.across + other.across,
        }
    }
}

impl std::ops::Neg for Load {
    type Output = Self;

    fn neg(self) -> Self {
        Self { mass: -self.mass, along: -self.along, across: -self.across }
    }
}

impl std::iter::Sum for Load {
    fn sum<I: Iterator<Item = Self>>(loads: I) -> Self {
        loads.fold(Self::default(), |sum, load| sum + load)
    }
}
