//! What must come off, as the values that charts show.

use charts::{Setting, StepView, StepWeight, StepsView};

use super::{Reaching, ReachingStep, StepKindOf};

/// The steps as a graph in SVG. `link` says where an item's link leads.
pub fn reaching_svg(
    reaching: &Reaching,
    setting: Setting,
    link: &dyn Fn(&str) -> Option<String>,
) -> String {
    charts::steps_svg(&view(reaching, link), setting)
}

/// The same as a table of HTML, a row for each step, for whoever cannot see the graph.
pub fn reaching_table(
    reaching: &Reaching,
    link: &dyn Fn(&str) -> Option<String>,
) -> String {
    charts::steps_table(&view(reaching, link))
}

const COLUMNS: [&str; 10] = [
    "item",
    "name",
    "after",
    "what for",
    "crew",
    "off / on",
    "lift",
    "stand",
    "checks when back",
    "support",
];

fn view(reaching: &Reaching, link: &dyn Fn(&str) -> Option<String>) -> StepsView {
    let steps = reaching.steps.iter().enumerate().map(|(at, step)| StepView {
        level: step.level,
        name: if step.kind == StepKindOf::Exposed {
            format!("{} exposed", step.item)
        } else {
            format!("{} off", step.item)
        },
        lines: lines(step),
        weight: match step.kind {
            _ if step.support.careful => StepWeight::Careful,
            StepKindOf::Removal => StepWeight::Plain,
            StepKindOf::WantedOff | StepKindOf::Exposed => StepWeight::Goal,
        },
        link: link(&step.item),
        cells: cells(reaching, at, step),
    });
    let mut notices = reaching.warnings.clone();
    notices.push(
        "Supports, and never replaces, approved jacking, trestling and rigging data, licensed \
         engineers and the authority"
            .to_owned(),
    );
    StepsView {
        id: "reaching".to_owned(),
        title: format!("What must come off: {}", reaching.wanted.join(", ")),
        subtitle: subtitle(reaching),
        notices,
        steps: steps.collect(),
        edges: reaching.edges.clone(),
        columns: COLUMNS.map(str::to_owned).to_vec(),
    }
}

fn subtitle(reaching: &Reaching) -> String {
    let off =
        reaching.steps.iter().filter(|step| step.kind != StepKindOf::Exposed).count();
    let hours = |minutes: u64| minutes as f64 / 60.0;
    let proven = if reaching.optimal {
        "; no cheaper way exists".to_owned()
    } else {
        format!("; none below {:.1} is proven", hours(reaching.bound))
    };
    let stands = match &reaching.stands_on {
        Some(name) => format!("supported: {name}"),
        None => "no arrangement of supports is known, so nothing is said of tipping"
            .to_owned(),
    };
    format!(
        "{off} items come off, {:.1} person-hours to open and to close{proven}; {stands}",
        hours(reaching.cost)
    )
}

fn lines(step: &ReachingStep) -> Vec<String> {
    let mut lines = vec![step.name.clone()];
    if let Some((off, on)) = &step.hours {
        lines.push(format!("off {off}"));
        lines.push(format!("on {on}"));
        lines.push(step.crew.clone());
    }
    if !step.gear.is_empty() {
        lines.push(format!("lift: {}", lifted(step)));
    }
    if let Some(stand) = &step.stand {
        lines.push(format!("stand: {stand}"));
    }
    match step.checks.as_slice() {
        [] => {}
        [one] => lines.push(format!("check: {one}")),
        [_, rest @ ..] => {
            lines.push(format!("{} checks when it is back", rest.len() + 1));
        }
    }
    if !step.support.said.is_empty() {
        lines.push(step.support.said.clone());
    }
    lines
}

fn lifted(step: &ReachingStep) -> String {
    let mass = match (step.lifted_kg, step.without_mass.as_slice()) {
        (Some(kg), []) => format!("{kg:.0} kg"),
        (Some(kg), unknown) => format!("{kg:.0} kg and {} not known", unknown.join(", ")),
        (None, _) => "mass not known".to_owned(),
    };
    if step.gear.is_empty() { mass } else { format!("{mass}, {}", step.gear.join(", ")) }
}

fn cells(reaching: &Reaching, at: usize, step: &ReachingStep) -> Vec<String> {
    let before = reaching.edges.iter().filter(|(_, to)| *to == at);
    let before: Vec<&str> =
        before.map(|(from, _)| reaching.steps[*from].item.as_str()).collect();
    let hours = step.hours.as_ref().map(|(off, on)| format!("{off} / {on}"));
    let off = step.kind != StepKindOf::Exposed;
    vec![
        step.item.clone(),
        step.name.clone(),
        before.join(", "),
        step.why.join("; "),
        step.crew.clone(),
        hours.unwrap_or_default(),
        if off { lifted(step) } else { String::new() },
        step.stand.clone().unwrap_or_default(),
        step.checks.join("; "),
        step.support.said.clone(),
    ]
}
