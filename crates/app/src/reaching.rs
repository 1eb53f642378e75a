//! What must come off to get at something: the removals as steps, of which some come before
//! others, with all that each takes.

mod asked;
mod order;
mod svg;

pub use asked::{AskedWrong, ReachAsked, ReachChoices, reach_choices};
pub use svg::{reaching_svg, reaching_table};

use std::collections::BTreeMap;

use airframe::access::{Opening, Options, Removal, Target, open};
use airframe::disturbance::checks;
use airframe::support::{Event, Stage, stages};
use airframe::{Airframe, ArrangementId, Crew, Handling, Item, ItemId};
use jiff::civil::Date;
use record::Programme;

use crate::AppError;

/// What must come off to get at something.
#[derive(Debug, Clone, PartialEq)]
pub struct Reaching {
    /// What was wanted, in words.
    pub wanted: Vec<String>,
    /// The steps: removals in a lawful order, then each item that is only to be exposed.
    pub steps: Vec<ReachingStep>,
    /// Places in the list of steps: which comes before which, without those that follow from
    /// others.
    pub edges: Vec<(usize, usize)>,
    /// Items in the order in which they go back.
    pub refits: Vec<String>,
    /// Person-minutes of removal and refit, by the likely hours.
    pub cost: u64,
    /// No lawful way costs less.
    pub bound: u64,
    /// Whether the cost is proven to be the least.
    pub optimal: bool,
    /// On what the aircraft is taken to stand meanwhile; nothing if no way is known.
    pub stands_on: Option<String>,
    /// What somebody should look at before it is done.
    pub warnings: Vec<String>,
}

/// What a step is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum StepKindOf {
    /// Something comes off because it is in the way.
    Removal,
    /// What is wanted comes off.
    WantedOff,
    /// What is wanted can be seen and worked on where it is.
    Exposed,
}

/// One step.
#[derive(Debug, Clone, PartialEq)]
pub struct ReachingStep {
    /// The item.
    pub item: String,
    /// What people call it.
    pub name: String,
    /// What the step is.
    pub kind: StepKindOf,
    /// Its column: one more than the greatest of those before it; 0 for one that can be done
    /// at once.
    pub level: usize,
    /// What it is for.
    pub why: Vec<String>,
    /// Who it takes to take it off.
    pub crew: String,
    /// How long it takes them, and how long to put it back.
    pub hours: Option<(String, String)>,
    /// The stand that it then takes up.
    pub stand: Option<String>,
    /// Lifting gear that it takes.
    pub gear: Vec<String>,
    /// What is lifted, in kilograms; nothing if no mass is known, and then or in part by the
    /// items of [`without_mass`](Self::without_mass).
    pub lifted_kg: Option<f64>,
    /// Items among those lifted whose mass is not known.
    pub without_mass: Vec<String>,
    /// What goes along with it.
    pub travels: Vec<String>,
    /// The unit from which it is stripped off the aircraft.
    pub on_unit: Option<String>,
    /// Checks that are demanded once it is back.
    pub checks: Vec<String>,
    /// How the aircraft stands after it.
    pub support: Support,
}

/// How the aircraft stands after a removal, all of those listed before it done.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Support {
    /// In words.
    pub said: String,
    /// Whether somebody must do something about it first.
    pub careful: bool,
}

/// What must come off to free some items and to expose others, from the aircraft as it
/// stands by the record. The supports are those of the season of the day, or else of the
/// arrangement of that name.
///
/// # Errors
/// [`AppError::Unknown`] with everything that is in the way for ever, or if there is no such
/// item or arrangement; [`AppError::Refused`] if the airframe does not fit together.
pub fn reaching(
    programme: &Programme,
    (free, expose): (&[String], &[String]),
    arrangement: Option<&str>,
    on: Date,
) -> Result<Reaching, AppError> {
    let targets = crate::opening::targets(free, expose)?;
    let airframe = programme.airframe().map_err(AppError::Refused)?;
    let stands_on = stands_on(programme, arrangement, on)?;
    let options = Options { arrangement: stands_on.clone(), ..Options::default() };
    let already = crate::opening::off_now(programme);
    let opening = open(&airframe, &already, &targets, &options)
        .map_err(|refusal| AppError::Unknown(refusal.to_string()))?;
    let stages = staged(&airframe, &opening, stands_on.as_ref());
    let demanded = demanded(&airframe, &opening);
    let (steps, edges) = order::steps(&opening);
    let steps = steps.into_iter().map(|(what, level)| match what {
        order::What::Off(at) => {
            let removal = &opening.removals[at];
            let checks = demanded.get(&removal.item).cloned().unwrap_or_default();
            let wanted = targets.contains(&Target::Free(removal.item.clone()));
            let support = support(&stages, removal);
            off(programme, &airframe, removal, (level, wanted), checks, support)
        }
        order::What::Exposed(item) => exposed(programme, item, level),
    });
    Ok(Reaching {
        wanted: targets.iter().map(ToString::to_string).collect(),
        steps: steps.collect(),
        edges,
        refits: opening.refits.iter().map(|refit| refit.item.to_string()).collect(),
        cost: opening.cost,
        bound: opening.bound,
        optimal: opening.optimal,
        stands_on: stands_on.and_then(|id| Some(airframe.arrangement(&id)?.name.clone())),
        warnings: opening.warnings.iter().map(planner::opening_warning).collect(),
    })
}

/// The arrangement that is named, or that of the season under way or to come.
fn stands_on(
    programme: &Programme,
    named: Option<&str>,
    on: Date,
) -> Result<Option<ArrangementId>, AppError> {
    if let Some(named) = named {
        let found = programme.arrangements.names().find(|id| id.as_str() == named);
        return found.cloned().map(Some).ok_or_else(|| {
            let known: Vec<&str> =
                programme.arrangements.names().map(ArrangementId::as_str).collect();
            let known =
                if known.is_empty() { "none".to_owned() } else { known.join(", ") };
            AppError::Unknown(format!(
                "there is no arrangement {named}; there are {known}"
            ))
        });
    }
    let season = crate::choose_season(programme, None, Some(on)).ok();
    let season = season.and_then(|season| programme.seasons.get(&season));
    Ok(season.and_then(|season| season.arrangement.clone()))
}

fn staged(
    airframe: &Airframe,
    opening: &Opening,
    stands_on: Option<&ArrangementId>,
) -> Vec<Stage> {
    let Some(arrangement) = stands_on.and_then(|id| airframe.arrangement(id)) else {
        return Vec::new();
    };
    let removals: Vec<ItemId> = opening.removals.iter().map(|r| r.item.clone()).collect();
    let options = Options::default().stage;
    stages(airframe, &opening.off, &removals, &[], arrangement, &options)
}

/// The checks, by the refit after which each is due last.
fn demanded(airframe: &Airframe, opening: &Opening) -> BTreeMap<ItemId, Vec<String>> {
    let mut demanded: BTreeMap<ItemId, Vec<String>> = BTreeMap::new();
    for check in checks(airframe, opening) {
        let name = airframe.check_rule(&check.rule).map_or("", |rule| rule.name.as_str());
        let due = opening
            .refits
            .iter()
            .rev()
            .find(|refit| check.after_refit_of.contains(&refit.item));
        if let Some(refit) = due {
            let said = format!("{name} ({})", check.thing);
            demanded.entry(refit.item.clone()).or_default().push(said);
        }
    }
    demanded
}

fn off(
    programme: &Programme,
    airframe: &Airframe,
    removal: &Removal,
    (level, wanted): (usize, bool),
    checks: Vec<String>,
    support: Support,
) -> ReachingStep {
    let item = airframe.item(&removal.item);
    let names = |items: &[ItemId]| items.iter().map(ToString::to_string).collect();
    let handling = |pick: fn(&Item) -> Option<&Handling>| item.and_then(pick);
    let (away, back) = (handling(|i| i.removal.as_ref()), handling(|i| i.refit.as_ref()));
    let hours = |handling: &Handling| handling.hours.to_string();
    let stand = item.and_then(|item| item.stand.as_ref());
    let stand = stand.map(|id| {
        programme
            .stands
            .get(id)
            .map_or_else(|| id.to_string(), |stand| stand.name.clone())
    });
    ReachingStep {
        item: removal.item.to_string(),
        name: item.map(|item| item.name.clone()).unwrap_or_default(),
        kind: if wanted { StepKindOf::WantedOff } else { StepKindOf::Removal },
        level,
        why: crate::opening::reasons(removal),
        crew: away.map(|handling| crew(&handling.crew)).unwrap_or_default(),
        hours: away.zip(back).map(|(away, back)| (hours(away), hours(back))),
        stand,
        gear: away.map(|handling| gear(programme, handling)).unwrap_or_default(),
        lifted_kg: removal.lifted_mass.map(quantity::Mass::in_kg),
        without_mass: names(&removal.unknown_masses),
        travels: names(&removal.travels),
        on_unit: removal.on_unit.as_ref().map(ToString::to_string),
        checks,
        support,
    }
}

fn gear(programme: &Programme, handling: &Handling) -> Vec<String> {
    let name =
        |id| programme.gear.get(id).map_or_else(|| id.to_string(), |g| g.name.clone());
    handling.gear.iter().map(name).collect()
}

fn crew(crew: &[Crew]) -> String {
    let part = |crew: &Crew| format!("{} {}", crew.count, crew.skill);
    crew.iter().map(part).collect::<Vec<_>>().join(" + ")
}

fn exposed(programme: &Programme, item: &ItemId, level: usize) -> ReachingStep {
    let name =
        programme.items.get(item).map(|item| item.name.clone()).unwrap_or_default();
    ReachingStep {
        item: item.to_string(),
        name,
        kind: StepKindOf::Exposed,
        level,
        why: vec![format!("wanted: {}", Target::Expose(item.clone()))],
        crew: String::new(),
        hours: None,
        stand: None,
        gear: Vec::new(),
        lifted_kg: None,
        without_mass: Vec::new(),
        travels: Vec::new(),
        on_unit: None,
        checks: Vec::new(),
        support: Support::default(),
    }
}

/// How the aircraft stands after a removal, and what must be done about it.
fn support(stages: &[Stage], removal: &Removal) -> Support {
    let after = Event::Off(removal.item.clone());
    let Some(stage) = stages.iter().find(|stage| stage.after == after) else {
        return Support::default();
    };
    let Some(margin) = &stage.margin else {
        return Support {
            said: "not known: masses are missing".to_owned(),
            careful: true,
        };
    };
    let metres = margin.distance.in_m();
    let mut said =
        vec![format!("{metres:.2} m {} before it tips", margin.towards.word())];
    if stage.tips {
        said = vec![format!("would TIP {} by {:.2} m", margin.towards.word(), -metres)];
    } else if stage.is_short() {
        said.push("which is too little".to_owned());
    }
    if !stage.needs.is_empty() {
        said.push(format!("set {}", stage.needs.join(", ")));
    }
    if stage.unsafe_anyhow {
        said.push("no support that is listed mends it: DO NOT".to_owned());
    }
    for over in &stage.overloaded {
        let (load, may) = (over.load.in_kg(), over.capacity.in_kg());
        said.push(format!("{} bears {load:.0} kg of {may:.0} kg", over.point));
    }
    if !stage.unknown.is_empty() {
        said.push(format!("without the mass or arm of {} items", stage.unknown.len()));
    }
    let careful = stage.tips || stage.is_short() || stage.unsafe_anyhow;
    let careful = careful || !stage.overloaded.is_empty() || !stage.needs.is_empty();
    Support { said: said.join("; "), careful }
}
